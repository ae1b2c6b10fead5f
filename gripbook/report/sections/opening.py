"""Title, dates and the first sentences."""

from __future__ import annotations

from gripbook import html
from gripbook.html import Fragment
from gripbook.report.sections.common import Parts
from gripbook.reviews import BlockReview
from gripbook.reviews.people import in_own_units
from gripbook.reviews.sentences import BODY_MASS_SECTION
from gripbook.words import fmt, say
from gripbook.words.log import CAUTION_MINOR


@in_own_units
def opening(r: BlockReview) -> Parts:
    """Title, the block's dates, and the first sentences."""
    block = r.block
    name = block.name if block.planned else say("Whole log")
    title = fmt.headed(r.athlete.name, name)
    when = say(
        "{start} to {end}, {weeks}",
        start=fmt.day(block.start),
        end=fmt.day(block.end),
        weeks=fmt.count(block.weeks, "{n} week", "{n} weeks"),
    )
    if r.last.date() < block.end:
        when += say("; logged to {last}", last=fmt.day(r.last.date()))
    return (
        html.heading(1, title),
        html.paragraph(fmt.sentence(when) + "."),
        *(html.paragraph(_strong(text) if urgent else text) for text, urgent in r.told),
        *((html.paragraph(html.strong(say(CAUTION_MINOR))),) if r.athlete.minor else ()),
    )


def _strong(text: str) -> Fragment:
    """Words of safety; a section that they name can be reached from there."""
    section = say(BODY_MASS_SECTION)
    if section not in text:
        return html.strong(text)
    return html.strong(html.filled(text, {section: html.link(section, f"#{html.slug(section)}")}))
