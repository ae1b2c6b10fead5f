"""Title, dates and the first sentences."""

from __future__ import annotations

from gripbook import fmt, html
from gripbook.report.sections.common import Parts
from gripbook.reviews import BlockReview
from gripbook.reviews.sentences import CAUTION_MINOR


def opening(r: BlockReview) -> Parts:
    """Title, the block's dates, and the first sentences."""
    block = r.block
    title = f"{r.athlete.name}: {block.name}"
    when = f"{fmt.day(block.start)} to {fmt.day(block.end)}, {fmt.count(block.weeks, 'week')}"
    if r.last.date() < block.end:
        when += f"; logged to {fmt.day(r.last.date())}, so this is the block to date"
    return (
        html.heading(1, title),
        html.paragraph(fmt.sentence(when) + "."),
        *(html.paragraph(html.strong(text) if urgent else text) for text, urgent in r.told),
        *((html.paragraph(html.strong(CAUTION_MINOR)),) if r.athlete.minor else ()),
    )
