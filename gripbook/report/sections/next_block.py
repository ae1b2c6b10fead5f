"""What next: one table of the coming block, week by week, and why in a fold."""

from __future__ import annotations

from gripbook import html
from gripbook.html import Fragment
from gripbook.report.sections.common import Parts, shown
from gripbook.reviews import BlockReview, NextBlock
from gripbook.words import fmt, say
from gripbook.words import next as words
from gripbook.words.fmt import in_own_units


@in_own_units
def next_block(r: BlockReview) -> Parts:
    """The coming block as one table; for anyone under 18 who decides, and what was done."""
    plan = r.next_block
    first, *more = words.opening(plan) or ("",)
    opening = (
        html.caution(first) if first and plan.minor else html.paragraph(first) if first else None,
        *(html.paragraph(text) for text in more),
    )
    if plan.minor:
        return shown(*opening, html.bullets(words.before_text(x) for x in plan.before))
    why = (html.lines(html.strong(what), text) for what, text in words.why_lines(plan))
    return shown(
        *opening,
        _table(plan),
        *(html.paragraph(text) for text in words.closing(plan)),
        html.fold(say("Why these loads"), "", html.bullets(why)) if plan.loads else None,
        html.fold(say("The choices behind this"), "", html.bullets(words.choice_lines(plan))),
    )


def _table(plan: NextBlock) -> Fragment:
    """Weeks down, under a row for each phase: week, days, load and sets, remark."""
    phases: list[tuple[str, str, list[tuple[str | Fragment, ...]]]] = []
    week = 0
    for line in words.week_lines(plan):
        if not phases or phases[-1][0] != line.phase:
            phases.append((line.phase, "", []))
        load = html.over(html.strong(line.load), ", ".join(filter(None, (line.what, line.sets))))
        remark = fmt.clauses(filter(None, (_left(line.left), line.note)))
        phases[-1][2].append((str(line.week) if line.week != week else "", line.days, load, remark))
        week = line.week
    heads = [say("week"), say("days"), say("load and sets"), ""]
    return html.plan(say("Week by week, the weakest grip and hand first"), heads, phases)


def _left(left: str) -> str:
    return say("{left} left after the last set", left=left) if left else ""
