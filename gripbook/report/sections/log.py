"""About this log: what was not logged, rows that could not be read or need a look, cautions."""

from __future__ import annotations

from gripbook import html
from gripbook.html import Fragment
from gripbook.logs import Problem
from gripbook.report.sections.common import Parts, shown
from gripbook.report.sections.methods import methods
from gripbook.reviews import BlockReview
from gripbook.words import fmt, say, strength
from gripbook.words import log as words
from gripbook.words.fmt import in_own_units
from gripbook.words.problems import reason_and_remedy

#: So many gaps stand open, the weightiest first; the others in a fold.
GAPS_OPEN = 2


@in_own_units
def log(r: BlockReview) -> Parts:
    """Rows that could not be read with what to write instead, gaps, cautions; methods in a fold."""
    refused = words.rows_refused(r.done)
    doubts = [p for p in r.problems if p.severity == "warning"]
    gaps = words.gaps(r.gaps, r.block)
    h = r.change.headline
    sharper = words.without_told(r.gaps, r.change.sharper)
    more = strength.sharper(sharper, h) if h is not None else ()
    left_out = map(strength.left_out, r.change.left_out)
    cautions = (*words.CAUTIONS, *((words.CAUTION_MASS,) if r.athlete.show_body_mass else ()))
    return shown(
        html.paragraph(refused) + _to_correct(r) if refused else None,
        html.paragraph(say("Every row was used, and nothing that this page asks for is missing."))
        if not (gaps or refused or doubts or r.change.left_out or more)
        else None,
        html.bullets([*gaps[:GAPS_OPEN], *left_out, *more]),
        html.fold(
            say("Also not logged"),
            fmt.count(len(gaps) - GAPS_OPEN, "{n} point", "{n} points"),
            html.bullets(gaps[GAPS_OPEN:]),
        )
        if len(gaps) > GAPS_OPEN
        else None,
        html.note(" ".join(map(say, cautions))),
        _doubts(r, doubts) if doubts else None,
        html.fold(say("How the figures are made"), say("methods and sources"), *methods(r)),
    )


def _to_correct(r: BlockReview) -> Fragment:
    """What to write in place of rows not read, and in a fold why and where they stand."""
    rows = words.rows_to_correct(r.done, r.problems)
    short = html.table(
        rows,
        say("Rows to correct"),
        stack=True,
        columns={"day": say("day"), "cell": say("in your log"), "remedy": say("what to write")},
    )
    why = html.table(
        rows,
        say("Why they couldn't be read"),
        stack=True,
        columns={"row": say("row of the log"), "cell": say("in your log"), "why": say("why")},
    )
    return short + html.fold(say("Where they stand, and why"), say("file and line"), why)


def _doubts(r: BlockReview, doubts: list[Problem]) -> Fragment:
    rows = [
        {
            "row": p.place,
            "what": f"{p.column} {p.value}".strip(),
            "why": " ".join(reason_and_remedy(p)),
        }
        for p in doubts
    ]
    n = len(rows)
    return html.fold(
        fmt.sentence(
            fmt.count(n, "{n} row used, but worth a look", "{n} rows used, but worth a look")
        ),
        "",
        html.table(
            rows,
            say("Rows that were used, and may hold a slip"),
            stack=True,
            columns={
                "row": say("row"),
                "what": say("cell"),
                "why": say("why, and what to do"),
            },
        ),
    )
