"""Climbs before, during and after the block, beside the strength path."""

from __future__ import annotations

from typing import Any

from gripbook import charts, html
from gripbook.derive.climbs import month_span
from gripbook.report.sections.common import FIGURES, Parts
from gripbook.reviews import BlockReview
from gripbook.reviews.climbed import PERIOD_WORDS, group_words
from gripbook.reviews.people import in_own_units
from gripbook.words import fmt, say


@in_own_units
def climbed(r: BlockReview) -> Parts:
    """Grades by discipline and place in words, by month beside the strength path, the figures."""
    c = r.climbed
    if c.months.empty:
        nothing = say("No finished climb with a known grade is logged in or around this block.")
        return (html.paragraph(nothing), *(html.paragraph(n) for n in c.notes))
    parts: list[Any] = [html.bullets(c.sentences), *(html.paragraph(n) for n in c.notes)]
    parts += charts.climbed(r)
    rows = [
        {
            "group": group_words(m.discipline, m.place),
            "when": _span(m, r),
            "climbs": int(m.climbs),
            "hardest": m.hardest_grade,
            "median": m.median_grade,
            "of": int(m.best_of),
            "ircra": fmt.number(m.median)
            + (f" \u00b1 {fmt.number(m.median_error)}" if m.median_error else ""),
            "row": f"{m.file}:{m.line}",
        }
        for m in c.months.itertuples()
    ]
    parts.append(
        html.details(
            say(FIGURES),
            html.table(
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
            ),
        )
    )
    return tuple(parts)


def _span(m: Any, r: BlockReview) -> str:
    first, last = month_span(m.month, m.period, r.block)
    return say(
        "{first} to {last}, {period}",
        first=fmt.day(first, year=False),
        last=fmt.day(last),
        period=PERIOD_WORDS[m.period],
    )
