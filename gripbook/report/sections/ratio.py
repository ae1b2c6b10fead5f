"""Strength and body mass. No section at all where body mass is hidden."""

from __future__ import annotations

from typing import Any

from gripbook import html
from gripbook.report.sections.common import FIGURES, Parts
from gripbook.report.sections.trace import ROWS
from gripbook.reviews import BlockReview
from gripbook.reviews.people import in_own_units
from gripbook.words import fmt, say
from gripbook.words import ratio as words


@in_own_units
def ratio(r: BlockReview) -> Parts:
    """Heading, the point for a physician if there is one, the ratio, body mass and its rows."""
    if not r.athlete.show_body_mass:
        return ()
    b, change = r.body_mass, r.change.ratio
    parts: list[Any] = [html.heading(2, say(words.HEADING))]
    if b.fall is not None:
        parts.append(html.paragraph(html.strong(words.physician(b.fall, r.athlete))))
        parts.append(html.paragraph(words.why_physician()))
    if change is not None:
        parts.append(html.paragraph(words.answer(change, b)))
    parts.append(html.paragraph(words.body_mass(b)))
    if change is not None:
        rows = [
            {
                "day": x.day.date(),
                "ratio": fmt.number(x.ratio, 2, trim=False),
                "low": fmt.number(x.low, 2, trim=False),
                "high": fmt.number(x.high, 2, trim=False),
            }
            for x in change.path.itertuples()
        ]
        columns = {
            "day": say("day"),
            "ratio": say("load / body mass"),
            "low": say("from"),
            "high": say("to"),
        }
        caption = say("Estimated load over the body mass of that day")
        table = html.table(rows, caption, columns=columns, numbers=["ratio", "low", "high"])
        parts.append(html.details(say(FIGURES), table))
    if len(b.weigh_ins):
        parts.append(html.details(say(ROWS), _weigh_ins(r)))
    return tuple(parts)


def _weigh_ins(r: BlockReview) -> html.Fragment:
    unit = fmt.mass_unit()
    rows = [
        {
            "day": w.date.date(),
            "kg": fmt.mass_number(w.body_mass_kg, 1, trim=False),
            "row": f"{w.file}:{w.line}",
        }
        for w in r.body_mass.weigh_ins.itertuples()
    ]
    return html.table(
        rows,
        say("Weigh-ins of the block and the week before it, in {unit}", unit=unit),
        columns={"day": say("day"), "kg": unit, "row": say("row of the log")},
        numbers=["kg"],
    )
