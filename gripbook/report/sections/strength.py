"""Tests and strength: the answer, first and last tests, and in folds all series and their rows."""

from __future__ import annotations

from typing import Any

from gripbook import charts, html
from gripbook.html import Fragment
from gripbook.report.sections.common import Parts
from gripbook.report.sections.trace import row_ranges, rows_table
from gripbook.reviews import BlockReview
from gripbook.reviews.change_facts import PathKind, SeriesChange
from gripbook.reviews.people import in_own_units
from gripbook.words import fmt, say, series
from gripbook.words import strength as words


@in_own_units
def strength(r: BlockReview) -> Parts:
    """The answer, the table of tests, the paths, and in folds the figures and their rows."""
    c = r.change
    if not c.series:
        return (html.paragraph(say("No set with a known load shows strength.")),)
    parts: list[Any] = []
    if told := words.answer(c):
        parts.append(html.paragraph(told))
    parts += [*_tests(r), *charts.strength_path(r)]
    parts.append(html.details(say("Every series"), *_every_series(r)))
    parts.append(_rows(r))
    if c.pairs:
        compared = html.bullets(map(words.pair, c.pairs))
        parts.append(html.details(say("Hands and grips compared"), compared))
    if c.headline is not None and c.sharper:
        sharper = html.bullets(words.sharper(c.sharper, c.headline))
        parts.append(html.details(say("What would make this sharper"), sharper))
    return tuple(parts)


def _tests(r: BlockReview) -> Parts:
    """First and last test of each series; nothing without a test."""
    tested = [s for s in r.change.series if s.first_test is not None]
    if not tested:
        return ()
    rows = [
        {
            "series": html.lines(
                fmt.sentence(series.capacity(s)), html.small(series.conditions(s))
            ),
            "first": _test(s, first=True),
            "last": _test(s, first=False),
        }
        for s in tested
    ]
    return (
        html.table(
            rows,
            say("First and last test of each series"),
            stack=True,
            columns={
                "series": say("series"),
                "first": say("first test"),
                "last": say("last test"),
            },
        ),
    )


def _test(s: SeriesChange, *, first: bool) -> Fragment | str:
    test = s.first_test if first else s.last_test
    if test is None or (not first and test is s.first_test):
        return ""
    day = fmt.day(test.best.day.date(), year=False)
    detail = ", ".join(filter(None, (day, words.test_detail(test))))
    return html.lines(words.test_words(test), html.small(detail))


def _every_series(r: BlockReview) -> Parts:
    """Each series in a sentence, the figures, and what to bear in mind."""
    c = r.change
    parts: list[Any] = [html.bullets(map(words.sentence, c.series)), _table(r)]
    if note := words.chance_note(c):
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
            "series": html.of_series(series.name(s), s.grip, s.hand),
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
    """Every set that a series' estimate rests on, and what was left out with its reason."""
    of = {
        html.of_series(series.name(s), s.grip, s.hand): row_ranges(
            (p.file, p.line) for p in s.fit.points
        )
        for s in r.change.series
    }
    table = rows_table(of, say("Sets that each series' estimate rests on"), say("series"))
    if not r.change.left_out:
        return table
    left = html.bullets(map(words.left_out, r.change.left_out))
    return table + html.details(say("Sets that were left out"), left)
