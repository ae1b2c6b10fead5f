"""Earlier blocks: a line each, the strength path across them."""

from __future__ import annotations

from typing import Any

from gripbook import charts, html
from gripbook.report.sections.common import FIGURES, Parts
from gripbook.reviews import BlockReview
from gripbook.reviews.people import in_own_units
from gripbook.words import earlier as words
from gripbook.words import fmt, say, series


@in_own_units
def earlier(r: BlockReview) -> Parts:
    """A line per block and the path across all of them; nothing where there is one block."""
    e = r.earlier
    if not e.lines:
        return ()
    parts: list[Any] = [
        html.heading(2, say("Blocks so far")),
        html.bullets(map(words.line, e.lines)),
    ]
    drawn = charts.across_blocks(r)
    if drawn is not None:
        parts.append(drawn)
    parts += [html.paragraph(note) for note in words.notes(e)]
    rows = [
        {
            "block": x.block.name,
            "days": say("{start} to {end}", start=fmt.day(x.block.start), end=fmt.day(x.block.end)),
            "start": _kg(x.series.start_kg, r),
            "end": _kg(x.series.end_kg, r),
            "change": series.range_kg(x.series.low_kg, x.series.high_kg)
            if x.series.measured
            else "",
        }
        for x in e.paths
        if x.series is not None
    ]
    if rows and e.followed is not None:
        unit = fmt.mass_unit()
        columns = {"block": say("block"), "days": say("days")}
        if r.athlete.show_body_mass:
            columns |= {
                "start": say("start ({unit})", unit=unit),
                "end": say("end ({unit})", unit=unit),
            }
        columns["change"] = say("change, 90~% range")
        parts.append(
            html.details(
                say(FIGURES),
                html.table(
                    rows,
                    say(
                        "{followed}: strength at both ends of each block",
                        followed=fmt.sentence(series.name(e.followed)),
                    ),
                    stack=True,
                    columns=columns,
                    numbers=["change"],
                ),
            )
        )
    return tuple(parts)


def _kg(value: float, r: BlockReview) -> str:
    return fmt.mass_number(value) if r.athlete.show_body_mass else ""
