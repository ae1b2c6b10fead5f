"""Title, dates and the first screen's lines."""

from __future__ import annotations

from gripbook import html
from gripbook.report.sections.common import Parts
from gripbook.reviews import BlockReview
from gripbook.reviews.people import in_own_units
from gripbook.words import fmt, say
from gripbook.words.lead import LEAD_WORDS, LeadLine, LeadWord, lead


@in_own_units
def opening(r: BlockReview) -> Parts:
    """Title, the block's dates, and at most four lines, each led by its word."""
    block = r.block
    name = block.name if block.planned else say("Whole log")
    when = say(
        "{start} to {end}, {weeks}",
        start=fmt.day(block.start),
        end=fmt.day(block.end),
        weeks=fmt.count(block.weeks, "{n} week", "{n} weeks"),
    )
    if r.last.date() < block.end:
        when += say("; logged to {last}", last=fmt.day(r.last.date()))
    return (
        html.heading(1, fmt.headed(r.athlete.name, name)),
        html.paragraph(fmt.sentence(when) + "."),
        *(html.paragraph(_line(line)) for line in lead(r)),
    )


def _line(line: LeadLine) -> html.Fragment:
    text = html.strong(line.text) if line.word is LeadWord.WRONG else line.text
    return html.join([html.strong(LEAD_WORDS[line.word]), text])
