"""About this log: what was not logged, rows that could not be read or need a look, cautions."""

from __future__ import annotations

from gripbook import html, layout
from gripbook.html import Fragment
from gripbook.logs import Problem
from gripbook.report.sections.common import Parts, shown
from gripbook.reviews import BlockReview
from gripbook.reviews.gaps import GapKind
from gripbook.words import fmt, methods, strength
from gripbook.words import log as words
from gripbook.words.fmt import in_own_units
from gripbook.words.heads import HEADS
from gripbook.words.problems import reason_and_remedy

#: So many gaps stand open, the weightiest first; the others in a fold.
GAPS_OPEN = 2


@in_own_units
def log(r: BlockReview) -> Parts:
    """Rows that could not be read with what to write instead, gaps, cautions; methods in a fold."""
    refused = words.rows_refused(r.done)
    doubts = [p for p in r.problems if p.severity == "warning"]
    # what to log in the weeks to come stands under Next
    ahead = r.state.running and (r.state.week or 0) < r.block.weeks and not r.athlete.minor
    told = {GapKind.PAIN} if ahead else set()
    gaps = words.gaps((gap for gap in r.gaps if gap.kind not in told), r.block)
    h = r.change.headline
    sharper = words.without_told(r.gaps, r.change.sharper)
    more = strength.sharper(sharper, h) if h is not None else ()
    left_out = map(strength.left_out, r.change.left_out)
    return shown(
        html.paragraph(refused) + _to_correct(r) if refused else None,
        html.paragraph(words.TITLES["all_used"])
        if not (gaps or refused or doubts or r.change.left_out or more)
        else None,
        html.bullets([*gaps[:GAPS_OPEN], *left_out, *more]),
        layout.fold(
            words.TITLES["also_not_logged"],
            words.points(len(gaps) - GAPS_OPEN),
            html.bullets(gaps[GAPS_OPEN:]),
        )
        if len(gaps) > GAPS_OPEN
        else None,
        layout.note(words.cautions(mass=r.athlete.show_body_mass or r.athlete.minor is True)),
        _doubts(r, doubts) if doubts else None,
        layout.fold(
            words.TITLES["how_made"], words.TITLES["how_made_holds"], html.bullets(methods.lines(r))
        ),
    )


def _to_correct(r: BlockReview) -> Fragment:
    """What to write in place of rows not read, and in a fold why and where they stand."""
    rows = words.rows_to_correct(r.done, r.problems)
    short = layout.table(
        rows,
        words.TITLES["rows_to_correct"],
        stack=True,
        columns={
            "day": HEADS["day"],
            "cell": HEADS["in_your_log"],
            "remedy": HEADS["what_to_write"],
        },
    )
    why = layout.table(
        rows,
        words.TITLES["why_not_read"],
        stack=True,
        columns={"row": HEADS["row_of_the_log"], "cell": HEADS["in_your_log"], "why": HEADS["why"]},
    )
    return short + layout.fold(words.TITLES["where_and_why"], words.TITLES["where_holds"], why)


def _doubts(r: BlockReview, doubts: list[Problem]) -> Fragment:
    rows = [
        {
            "row": p.place,
            "what": f"{p.column} {p.value}".strip(),
            "why": " ".join(reason_and_remedy(p)),
        }
        for p in doubts
    ]
    return layout.fold(
        fmt.sentence(words.doubts(len(rows))),
        "",
        layout.table(
            rows,
            words.TITLES["doubts"],
            stack=True,
            columns={
                "row": HEADS["row"],
                "what": HEADS["cell"],
                "why": HEADS["why_and_what_to_do"],
            },
        ),
    )
