"""What next: one table of the coming block, week by week, and why in a fold."""

from __future__ import annotations

from typing import Any

from gripbook import html
from gripbook.html import Fragment
from gripbook.report.sections.common import Parts
from gripbook.reviews import BlockReview, NextBlock
from gripbook.reviews.people import in_own_units
from gripbook.words import next as words
from gripbook.words import say


@in_own_units
def next_block(r: BlockReview) -> Parts:
    """The coming block as one table; for anyone under 18 who decides, and what was done."""
    plan = r.next_block
    opening = words.opening(plan)
    parts: list[Any] = [html.paragraph(html.strong(text)) for text in opening[:1]]
    parts += [html.paragraph(text) for text in opening[1:]]
    if plan.minor:
        return (*parts, html.bullets(words.before_text(x) for x in plan.before))
    parts.append(_table(plan))
    parts += [html.paragraph(text) for text in words.closing(plan)]
    if plan.loads:
        why = (html.lines(html.strong(what), text) for what, text in words.why_lines(plan))
        parts.append(html.details(say("Why these loads"), html.bullets(why)))
    parts.append(
        html.details(say("The choices behind this"), html.bullets(words.choice_lines(plan)))
    )
    return tuple(parts)


def _table(plan: NextBlock) -> Fragment:
    rows: list[dict[str, object]] = []
    week = 0
    for line in words.week_lines(plan):
        rows.append(
            {
                "week": line.week if line.week != week else "",
                "days": line.days,
                "what": html.lines(html.strong(line.phase), line.what),
                "load": line.load,
                "sets": line.sets,
                "left": line.left,
                "note": line.note,
            }
        )
        week = line.week
    return html.table(
        rows,
        say("Week by week, the weakest grip and hand first"),
        stack=True,
        columns={
            "week": say("week"),
            "days": say("days"),
            "what": say("what"),
            "load": say("load"),
            "sets": say("sets"),
            "left": say("left after the last set"),
            "note": say("note"),
        },
        empty=say("No sessions are proposed."),
    )
