"""Tests and strength: the answer, first and last tests, and in folds all series and their rows."""

from __future__ import annotations

import datetime as dt
import math
from typing import Any

from gripbook import charts, html, layout
from gripbook.charts import Picture
from gripbook.html import Fragment
from gripbook.report.sections.common import Parts, drawn, shown
from gripbook.report.sections.earlier import earlier
from gripbook.report.sections.loads import loads
from gripbook.report.sections.trace import row_ranges, rows_table
from gripbook.reviews import BlockReview
from gripbook.reviews.change_facts import SeriesChange
from gripbook.words import fmt, series
from gripbook.words import strength as words
from gripbook.words.fmt import in_own_units
from gripbook.words.heads import HEADS, head_in


@in_own_units
def strength(r: BlockReview) -> Parts:
    """The answer, first and last tests, the paths; every set, series and comparison in folds."""
    c = r.change
    if not c.series:
        return (html.paragraph(words.TITLES["no_strength"]),)
    last = r.last.date()
    text = words.answer(c)
    pictures = list(charts.draw_paths(c, r.block, last))
    first = pictures[0] if pictures else None
    if r.short:
        first = charts.draw_log(r.sets, r.done.refused, r.block, last)
    elif r.state.running and c.headline is not None:
        first = charts.draw_so_far(c.headline, r.block, last)
    others = [p for p in pictures if p is not first]
    reads = words.how_to_read_log() if r.short else words.how_to_read()
    return shown(
        html.paragraph(text) if text else None,
        *_tests(r),
        *drawn(first, caption=reads if first is not None else ""),
        *_folds(r, others),
    )


def _folds(r: BlockReview, others: list[Picture]) -> Parts:
    c = r.change
    sets = r.sets[r.sets["in_block"] & ~r.sets["warmup"]]
    counts = [
        words.sets_counted(kind, int(n))
        for kind, n in sets.groupby("exercise", sort=False)["sets"].sum().items()
    ]
    every = drawn(charts.draw_loads(r.sets, r.block, r.last.date()))
    weakest = [words.weakest(w) for w in c.weakest]
    compared = html.bullets([*weakest, *map(words.pair, c.pairs)]) if c.pairs else None
    ends = drawn(charts.draw_ends(c))
    holds = [words.series_counted(len(c.series))]
    if others:
        holds.append(words.TITLES["paths_of_other_grips"])
    if compared or ends:
        holds.append(words.TITLES["hands_and_grips_compared"])
    return (
        layout.fold(
            words.TITLES["every_set"],
            fmt.listing(counts),
            *every,
            *loads(r),
            _rows(r),
        ),
        layout.fold(
            words.TITLES["every_series"],
            fmt.listing(holds),
            *_every_series(r),
            *drawn(others),
            *shown(compared),
            *ends,
        ),
        *earlier(r),
    )


def _tests(r: BlockReview) -> Parts:
    """First and last test of each series; nothing without a test."""
    tested = [s for s in r.change.series if s.first_test is not None]
    if not tested:
        return ()
    columns = [(True, words.TITLES["first_test"])]
    if any(s.last_test is not s.first_test for s in tested):
        columns.append((False, words.TITLES["last_test"]))
    else:
        columns = [(True, words.TITLES["the_only_test"])]
    shared = [_head(tested, first=first) for first, _ in columns]
    rows = [
        (
            html.over(fmt.sentence(series.capacity(s)), _tested_on(s)),
            *(_test(s, day, first=first) for (first, _), day in zip(columns, shared, strict=True)),
        )
        for s in tested
    ]
    names = [
        f"{word}, {fmt.day(day, year=False)}" if day else word
        for (_, word), day in zip(columns, shared, strict=True)
    ]
    return (layout.record_table(words.TITLES["tests"], names, rows),)


def _tested_on(s: SeriesChange) -> str:
    """Grip, hand and the edge of its tests; no edge where they stand on two."""
    edges = {t.best.edge_mm for t in (s.first_test, s.last_test) if t is not None}
    return fmt.series(s.grip, s.hand, edges.pop() if len(edges) == 1 else math.nan)


def _head(tested: list[SeriesChange], *, first: bool) -> dt.date | None:
    """The day that all tests of a column share, to be said once in its head."""
    tests = [s.first_test if first else s.last_test for s in tested]
    if not first:
        tests = [s.last_test for s in tested if s.last_test is not s.first_test]
    days = {t.best.day.date() for t in tests if t is not None}
    return days.pop() if len(days) == 1 else None


def _test(s: SeriesChange, day_told: dt.date | None, *, first: bool) -> Fragment | str:
    test = s.first_test if first else s.last_test
    if test is None or (not first and test is s.first_test):
        return ""
    day = "" if day_told else fmt.day(test.best.day.date(), year=False)
    return html.over(
        words.test_words(test), ", ".join(filter(None, (day, words.test_detail(test))))
    )


def _every_series(r: BlockReview) -> Parts:
    """Each series in a sentence, the figures, and what to bear in mind."""
    c = r.change
    parts: list[Any] = [html.bullets(map(words.sentence, c.series)), _table(r)]
    parts += [html.paragraph(told) for told in words.hang_on(c)]
    for note in (words.chance_note(c), words.prior_pull(c)):
        if note:
            parts.append(html.paragraph(note))
    # an exponent beside the weights added on two edges is body mass
    shows = r.athlete.show_body_mass
    if shows and r.fit.edge_exponent is not None and any(s.fit.converted for s in c.series):
        parts.append(html.paragraph(words.edge_exponent(r.fit.edge_exponent)))
    return tuple(parts)


def _table(r: BlockReview) -> Fragment:
    show, unit = r.athlete.show_body_mass, fmt.mass_unit()
    rows = [
        {
            "series": series.name(s),
            "start": words.end_load(s, s.start_kg),
            "end": words.end_load(s, s.end_kg),
            "kg": series.range_kg(s.low_kg, s.high_kg) if s.measured else "",
            "pct": series.range_pct(s.low_pct, s.high_pct) if s.measured and show else "",
            "verdict": words.verdict(s.verdict, s.tenths),
            "sets": words.sets_used(s),
            "from": fmt.listing(fmt.with_unit(e, "mm") for e in s.fit.converted_mm),
        }
        for s in r.change.series
    ]
    columns = {"series": HEADS["series"]}
    if show:
        columns |= {
            "start": head_in("start", unit),
            "end": head_in("end", unit),
        }
    columns["kg"] = HEADS["change"]
    if show:
        columns["pct"] = HEADS["in_per_cent"]
    columns |= {"verdict": HEADS["verdict"], "sets": HEADS["sets_used"]}
    if any(row["from"] for row in rows):
        columns["from"] = HEADS["converted_from"]
    caption = words.TITLES["ends"] if show else words.TITLES["ends_added"]
    numbers = [c for c in ("start", "end", "kg", "pct") if c in columns]
    return layout.table(rows, caption, stack=True, columns=columns, numbers=numbers)


def _rows(r: BlockReview) -> Fragment:
    """Every set that a series' estimate rests on."""
    of = {
        series.name(s): row_ranges((p.file, p.line) for p in s.fit.points) for s in r.change.series
    }
    return rows_table(of, words.TITLES["rows_of_series"], HEADS["series"])
