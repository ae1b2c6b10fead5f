"""Tests and strength: the answer, first and last tests, and in folds all series and their rows."""

from __future__ import annotations

import datetime as dt
from collections.abc import Hashable
from typing import Any

from gripbook import charts, html
from gripbook.charts import Picture
from gripbook.html import Fragment
from gripbook.report.sections.common import Parts, drawn, shown
from gripbook.report.sections.earlier import earlier
from gripbook.report.sections.loads import loads
from gripbook.report.sections.trace import row_ranges, rows_table
from gripbook.reviews import BlockReview
from gripbook.reviews.change_facts import PathKind, SeriesChange
from gripbook.words import fmt, say, series
from gripbook.words import strength as words
from gripbook.words.fmt import in_own_units


@in_own_units
def strength(r: BlockReview) -> Parts:
    """The answer, first and last tests, the paths; every set, series and comparison in folds."""
    c = r.change
    if not c.series:
        return (html.paragraph(say("No set with a known load shows strength.")),)
    last = r.last.date()
    told = words.answer(c)
    pictures = list(charts.draw_paths(c, r.block, last))
    first = pictures[0] if pictures else None
    if r.short:
        first = charts.draw_log(r.sets, r.done.refused, r.block, last)
    elif r.state.running and c.headline is not None:
        first = charts.draw_so_far(c.headline, r.block, last)
    others = [p for p in pictures if p is not first]
    reads = words.how_to_read_log() if r.short else words.how_to_read()
    return shown(
        html.paragraph(told) if told else None,
        *_tests(r),
        *drawn(first, caption=reads if first is not None else ""),
        *_folds(r, others),
    )


def _sets(kind: Hashable, n: int) -> str:
    if kind == "hang":
        return fmt.count(n, "{n} hang", "{n} hangs")
    if kind == "repeater":
        return fmt.count(n, "{n} repeater set", "{n} repeater sets")
    return fmt.count(n, "{n} pull", "{n} pulls")


def _folds(r: BlockReview, others: list[Picture]) -> Parts:
    c = r.change
    sets = r.sets[r.sets["in_block"] & ~r.sets["warmup"]]
    counts = [
        _sets(kind, int(n))
        for kind, n in sets.groupby("exercise", sort=False)["sets"].sum().items()
    ]
    every = drawn(charts.draw_loads(r.sets, r.block, r.last.date()))
    weakest = [words.weakest(w) for w in c.weakest]
    compared = html.bullets([*weakest, *map(words.pair, c.pairs)]) if c.pairs else None
    ends = drawn(charts.draw_ends(c))
    holds = [fmt.count(len(c.series), "{n} series", "{n} series")]
    if others:
        holds.append(say("paths of other grips"))
    if compared or ends:
        holds.append(say("hands and grips compared"))
    return (
        html.fold(
            say("Every set"),
            fmt.listing(counts),
            *every,
            *loads(r),
            _rows(r),
        ),
        html.fold(
            say("Every series"),
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
    columns = [(True, say("first test"))]
    if any(s.last_test is not s.first_test for s in tested):
        columns.append((False, say("last test")))
    else:
        columns = [(True, say("the only test"))]
    shared = [_head(tested, first=first) for first, _ in columns]
    rows = [
        (
            html.over(fmt.sentence(series.capacity(s)), series.conditions(s)),
            *(_test(s, day, first=first) for (first, _), day in zip(columns, shared, strict=True)),
        )
        for s in tested
    ]
    names = [
        f"{word}, {fmt.day(day, year=False)}" if day else word
        for (_, word), day in zip(columns, shared, strict=True)
    ]
    return (html.record_table(say("First and last test of each series"), names, rows),)


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
            "start": _end(s, s.start_kg),
            "end": _end(s, s.end_kg),
            "kg": series.range_kg(s.low_kg, s.high_kg) if s.measured else "",
            "pct": series.range_pct(s.low_pct, s.high_pct) if s.measured and show else "",
            "verdict": words.verdict(s.verdict, s.tenths),
            "sets": say(
                "{sets} on {days}, {exact} exact",
                sets=s.fit.sets,
                days=fmt.count(s.fit.days, "{n} day", "{n} days"),
                exact=s.fit.exact_sets,
            ),
            "from": fmt.listing(fmt.with_unit(e, "mm") for e in s.fit.converted_mm),
        }
        for s in r.change.series
    ]
    columns = {"series": say("series")}
    if show:
        columns |= {
            "start": say("start ({unit})", unit=unit),
            "end": say("end ({unit})", unit=unit),
        }
    columns["kg"] = say("change")
    if show:
        columns["pct"] = say("in per cent")
    columns |= {"verdict": say("verdict"), "sets": say("sets used")}
    if any(row["from"] for row in rows):
        columns["from"] = say("converted from")
    caption = (
        say("Load at the block's first and last day, and the change with its 90~% range")
        if show
        else say("Change of the weight that can be added, with its 90~% range")
    )
    numbers = [c for c in ("start", "end", "kg", "pct") if c in columns]
    return html.table(rows, caption, stack=True, columns=columns, numbers=numbers)


def _end(s: SeriesChange, kg: float) -> str:
    width = s.high_kg - s.low_kg if s.measured else 9.0
    load = fmt.mass_number(kg, series.digits(kg, width))
    if load == "\u2013":
        return load
    if s.path_kind is PathKind.AT_LEAST:
        return say("at least {load}", load=load)
    return say("at most {load}", load=load) if s.path_kind is PathKind.AT_MOST else load


def _rows(r: BlockReview) -> Fragment:
    """Every set that a series' estimate rests on."""
    of = {
        series.name(s): row_ranges((p.file, p.line) for p in s.fit.points) for s in r.change.series
    }
    return rows_table(of, say("Sets that each series' estimate rests on"), say("series"))
