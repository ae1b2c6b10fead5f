"""Other work and climbing: a line each, charts and figures after them."""

from __future__ import annotations

from typing import Any

import numpy as np

from gripbook import charts, html
from gripbook.derive.climbs import month_span
from gripbook.derive.records import records
from gripbook.html import Fragment
from gripbook.report.sections.common import Parts, drawn, shown
from gripbook.reviews import BlockReview
from gripbook.reviews.measured import MeasureTrend
from gripbook.words import fmt, say
from gripbook.words import other as words
from gripbook.words.fmt import in_own_units


@in_own_units
def other(r: BlockReview) -> Parts:
    """Other work of its target, measures first to last, climbs before, during and after."""
    m, c = r.measured, r.climbed
    work = words.work(m.work) if any(w.done for w in m.work) else ""
    lines = [
        *(((say("Done"), work),) if work else ()),
        *words.measures(m.trends),
        *words.climbs(c),
    ]
    left_out = words.measures_left_out(m)
    drawings = [
        fmt.count(len(m.trends), "{n} measure", "{n} measures") if m.trends else "",
        say("climbs by month") if len(c.months) else "",
    ]
    compared = [*map(words.difference, m.compared)]
    notes = [*words.climbs_notes(c)]
    inside: list[Fragment] = []
    if m.trends:
        inside += [*drawn(charts.draw_measures(m)), _measures(r), html.bullets(compared)]
    if len(c.months):
        inside += [*drawn(charts.draw_climbs(c, r.block)), _climbs(r), html.bullets(notes)]
    return shown(
        html.terms(lines),
        html.paragraph(left_out) if left_out else None,
        html.fold(say("Charts and figures"), fmt.listing(filter(None, drawings)), *inside),
    )


def _measures(r: BlockReview) -> Fragment:
    note = words.measures_note(r.measured)
    table = html.table(
        [_measure_row(t) for t in r.measured.trends],
        say("Measures by side, first and last day as logged; error from repeats"),
        stack=True,
        columns={
            "name": say("measure"),
            "unit": say("unit"),
            "first": say("first"),
            "last": say("last"),
            "change": say("change, 90 % range"),
            "error": say("error of a reading"),
            "repeats": say("repeats"),
            "rows": say("rows of the log"),
        },
        numbers=["first", "last", "change", "error"],
    )
    return html.paragraph(note) + table if note else table


def _measure_row(t: MeasureTrend) -> dict[str, object]:
    change = t.trend.change
    digits = 0 if change.high - change.low >= 3 else 1
    known = np.isfinite(change.low)
    return {
        "name": words.trend_name(t),
        "unit": t.unit,
        "first": fmt.number(float(t.rows["value"].iloc[0])),
        "last": fmt.number(float(t.rows["value"].iloc[-1])) if len(t.rows) > 1 else "",
        "change": say(
            "{low} to {high}",
            low=fmt.number(change.low, digits, sign=True),
            high=fmt.number(change.high, digits, sign=True),
        )
        if known
        else "",
        "error": fmt.number(t.error.sd) if t.error.known else "",
        "repeats": t.error.df,
        "rows": ", ".join(dict.fromkeys([t.first_row, t.last_row])),
    }


def _climbs(r: BlockReview) -> Fragment:
    rows = [
        {
            "group": words.group(m.discipline, m.place),
            "when": _span(m, r),
            "climbs": int(m.climbs),
            "hardest": m.hardest_grade,
            "median": m.median_grade,
            "of": int(m.best_of),
            "ircra": fmt.number(m.median)
            + (f" \u00b1 {fmt.number(m.median_error)}" if m.median_error else ""),
            "row": f"{m.file}:{m.line}",
        }
        for m in records(r.climbed.months)
    ]
    return html.table(
        rows,
        say(
            "Climbs done by month; median of the best five or fewer, also on the "
            "IRCRA scale (1 to 32; Draper and others 2015)"
        ),
        stack=True,
        columns={
            "group": say("what and where"),
            "when": say("days"),
            "climbs": say("climbs"),
            "hardest": say("hardest"),
            "median": say("median of the best"),
            "of": say("of how many"),
            "ircra": "IRCRA",
            "row": say("row of the hardest"),
        },
        numbers=["ircra"],
    )


def _span(m: Any, r: BlockReview) -> str:
    first, last = month_span(m.month, m.period, r.block)
    return say(
        "{first} to {last}, {period}",
        first=fmt.day(first, year=False),
        last=fmt.day(last),
        period=words.PERIOD_WORDS[m.period],
    )
