"""The first screen: name and dates, at most four lines, and one chart of all that changed."""

from __future__ import annotations

from gripbook import charts, layout
from gripbook.report.sections.common import Parts, drawn, shown
from gripbook.reviews import BlockReview
from gripbook.words import fmt, strength
from gripbook.words.fmt import in_own_units
from gripbook.words.lead import LEAD_WORDS, block_line, lead


@in_own_units
def opening(r: BlockReview) -> Parts:
    """Name, block and dates, and the lines that answer first."""
    lines = [
        layout.lead_line(LEAD_WORDS[line.word], line.text, wrong=line.word.wrong)
        for line in lead(r)
    ]
    name, when = block_line(r)
    return (
        layout.masthead(r.athlete.name, name, when, name=fmt.headed(r.athlete.name, name)),
        layout.lead(*lines),
    )


@in_own_units
def changed(r: BlockReview) -> Parts:
    """One chart of all that changed; series without an end in one line of words."""
    if r.state.running:
        return ()
    picture = charts.draw_change(r.change)
    if picture is None:
        return ()
    rest = strength.without_end(r.change)
    return shown(
        layout.aside(strength.TITLES["end_against_start"]),
        *drawn(picture),
        layout.note(rest) if rest else None,
    )
