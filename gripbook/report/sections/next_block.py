"""What next: the coming block in a few lines, every session in a fold, and why."""

from __future__ import annotations

from dataclasses import replace

from gripbook import charts, html, layout
from gripbook.html import Fragment
from gripbook.report.pictures import figure
from gripbook.report.sections.common import Parts, shown
from gripbook.reviews import BlockReview, NextBlock
from gripbook.reviews.proposal import Reason
from gripbook.words import fmt
from gripbook.words import next as words
from gripbook.words.fmt import in_own_units
from gripbook.words.heads import HEADS


@in_own_units
def next_block(r: BlockReview) -> Parts:
    """
    The coming block, or the coming week of a running one, in a few lines.

    For anyone under 18: who decides, and what was done.
    """
    plan = r.coming
    cautions, paragraphs = words.page_opening(plan)
    opening = (
        *(layout.caution(first, more) for first, more in cautions),
        *(html.paragraph(text) for text in paragraphs),
    )
    if plan.minor:
        return shown(*opening, html.bullets(words.before_text(x) for x in plan.before))
    why = (html.lines(html.strong(what), text) for what, text in words.why_lines(plan))
    to_log = words.to_log(r, plan)
    # loads that are to be set now; those of later phases are worked out again by then
    now = {row.phase for row in plan.rows if row.reason is not Reason.LATER and not row.easy}
    # the weakest grip of each; a page has little room, `charts.draw_coming` draws all
    first = {x.phase: x for x in reversed(plan.loads) if x.phase in now and x.kind == "start"}
    at_hand = replace(plan, loads=tuple(first.values()))
    picture = charts.draw_coming(at_hand, r.sets)
    return shown(
        *opening,
        _plan(plan),
        *(html.paragraph(text) for text in words.page_closing(plan)),
        html.heading(3, words.TITLES["what_to_log"]) if to_log else None,
        layout.terms(to_log),
        layout.fold(
            words.TITLES["every_session"],
            words.TITLES["every_session_holds"],
            # the table beneath says every value
            figure(picture, values=False) if picture is not None else Fragment(""),
            _sessions(plan),
        ),
        layout.fold(words.TITLES["why_these_loads"], "", html.bullets(why)) if plan.loads else None,
        layout.fold(words.TITLES["choices"], "", html.bullets(words.choice_lines(plan))),
    )


def _plan(plan: NextBlock) -> Fragment:
    """Weeks down under a row for each phase: days, loads, what is special."""
    phases = [
        (
            phase.name,
            phase.conditions,
            [
                (
                    line.weeks,
                    line.days,
                    _test(*line.loads[0]) if line.test else _loads(line.loads),
                    line.note,
                )
                for line in phase.lines
            ],
        )
        for phase in words.plan_phases(plan)
    ]
    return layout.plan(
        words.TITLES["plan"],
        [HEADS["week"], HEADS["days"], HEADS["load"], ""],
        phases,
    )


def _test(word: str, of: str) -> Fragment:
    return html.inline(html.accent(word), f" {of}" if of else "")


def _loads(loads: tuple[tuple[str, str], ...]) -> Fragment:
    """Loads beside each other, each with its grip or hand."""
    parts: list[str | Fragment] = []
    for load, label in loads:
        parts += [", "] if parts else []
        parts += [f"{label}{fmt.NBSP}", html.strong(load)] if label else [html.strong(load)]
    return html.inline(*parts)


def _sessions(plan: NextBlock) -> Fragment:
    """Every series of every week, with its days, sets and plates."""
    return (
        layout.table(
            [
                {
                    "week": line.week,
                    "days": line.days,
                    "what": fmt.headed(line.phase, line.what),
                    "load": line.load,
                    "sets": fmt.clauses(filter(None, (line.sets, line.note))),
                    "left": line.left,
                }
                for line in words.week_lines(plan)
            ],
            words.TITLES["sessions_of_plan"],
            stack=True,
            columns={
                "week": HEADS["week"],
                "days": HEADS["days"],
                "what": HEADS["what"],
                "load": HEADS["load"],
                "sets": HEADS["sets"],
                "left": HEADS["left_after_the_last"],
            },
        )
        if plan.rows
        else Fragment("")
    )
