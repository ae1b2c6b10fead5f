"""Other work and climbing: a line each, charts and figures after them."""

from __future__ import annotations

import numpy as np

from gripbook import charts, html, layout
from gripbook.derive.climbs import month_span
from gripbook.derive.records import records
from gripbook.html import Fragment
from gripbook.report.sections.common import Parts, drawn, shown
from gripbook.reviews import BlockReview
from gripbook.reviews.measured import MeasureTrend
from gripbook.words import fmt
from gripbook.words import other as words
from gripbook.words.fmt import in_own_units
from gripbook.words.heads import HEADS


@in_own_units
def other(r: BlockReview) -> Parts:
    """Other work of its target, measures first to last, climbs before, during and after."""
    m, c = r.measured, r.climbed
    work = words.work(m.work) if any(w.done for w in m.work) else ""
    lines = [
        *(((words.TITLES["done"], work),) if work else ()),
        *words.measures(m.trends),
        *words.climbs(c),
    ]
    left_out = words.measures_left_out(m)
    drawings = [
        words.measures_counted(len(m.trends)) if m.trends else "",
        words.TITLES["climbs_by_month"] if len(c.months) else "",
    ]
    compared = [*map(words.difference, m.compared)]
    notes = [*words.climbs_notes(c)]
    inside: list[Fragment] = []
    if m.trends:
        inside += [*drawn(charts.draw_measures(m)), _measures(r), html.bullets(compared)]
    if len(c.months):
        inside += [*drawn(charts.draw_climbs(c, r.block)), _climbs(r), html.bullets(notes)]
    return shown(
        layout.terms(lines),
        html.paragraph(left_out) if left_out else None,
        layout.fold(
            words.TITLES["charts_and_figures"], fmt.listing(filter(None, drawings)), *inside
        ),
    )


def _measures(r: BlockReview) -> Fragment:
    note = words.measures_note(r.measured)
    table = layout.table(
        [_measure_row(t) for t in r.measured.trends],
        words.TITLES["measures"],
        stack=True,
        columns={
            "name": HEADS["measure"],
            "unit": HEADS["unit"],
            "first": HEADS["first"],
            "last": HEADS["last"],
            "change": HEADS["change_90_range"],
            "error": HEADS["error_of_a_reading"],
            "repeats": HEADS["repeats"],
            "rows": HEADS["rows_of_the_log"],
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
        "change": fmt.low_to_high(
            fmt.number(change.low, digits, sign=True), fmt.number(change.high, digits, sign=True)
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
            "when": words.span(*month_span(m.month, m.period, r.block), m.period),
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
    return layout.table(
        rows,
        words.TITLES["climbs"],
        stack=True,
        columns={
            "group": HEADS["what_and_where"],
            "when": HEADS["days"],
            "climbs": HEADS["climbs"],
            "hardest": HEADS["hardest"],
            "median": HEADS["median_of_the_best"],
            "of": HEADS["of_how_many"],
            "ircra": "IRCRA",
            "row": HEADS["row_of_the_hardest"],
        },
        numbers=["ircra"],
    )
