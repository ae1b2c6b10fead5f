"""Core, mobility and other measures."""

from __future__ import annotations

from typing import Any

import numpy as np

from gripbook import charts, html
from gripbook.report.sections.common import FIGURES, Parts
from gripbook.reviews import BlockReview
from gripbook.reviews.measured import MeasureTrend
from gripbook.reviews.people import in_own_units
from gripbook.words import fmt, say


@in_own_units
def measured(r: BlockReview) -> Parts:
    """Other work against its plan, each measure in words, its path, the figures."""
    m = r.measured
    parts: list[Any] = []
    if m.plan:
        parts.append(html.bullets(m.plan))
    if m.left_out:
        parts.append(
            html.paragraph(
                say(
                    "{measures} in kilograms or of the body left out: body mass is not shown "
                    "on this page.",
                    measures=fmt.sentence(fmt.count(m.left_out, "{n} measure", "{n} measures")),
                )
            )
        )
    if not m.trends:
        parts.append(
            html.paragraph(
                say("No hold, split or other measure is logged in or around this block.")
            )
        )
        return tuple(parts)
    parts.append(html.bullets([*(t.sentence for t in m.trends), *m.compared]))
    if m.note:
        parts.append(html.paragraph(m.note))
    parts += charts.measured(r)
    parts.append(
        html.details(
            say(FIGURES),
            html.table(
                [_row(t) for t in m.trends],
                say("Measures by side, first and last day as logged; error from repeats"),
                stack=True,
                columns={
                    "name": say("measure"),
                    "unit": say("unit"),
                    "first": say("first"),
                    "last": say("last"),
                    "change": say("change, 90 % range"),
                    "error": say("own error"),
                    "repeats": say("repeats"),
                    "rows": say("rows of the log"),
                },
                numbers=["first", "last", "change", "error"],
            ),
        )
    )
    return tuple(parts)


def _row(t: MeasureTrend) -> dict[str, object]:
    change = t.trend.change
    digits = 0 if change.high - change.low >= 3 else 1
    known = np.isfinite(change.low)
    return {
        "name": t.name,
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
