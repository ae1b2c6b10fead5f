"""About this log: what was not logged, rows that could not be read or need a look, cautions."""

from __future__ import annotations

from typing import Any

from gripbook import html
from gripbook.html import Fragment
from gripbook.report.sections.common import Parts
from gripbook.reviews import BlockReview
from gripbook.reviews.people import in_own_units
from gripbook.words import fmt, say
from gripbook.words import log as words
from gripbook.words.problems import reason_and_remedy


@in_own_units
def log(r: BlockReview) -> Parts:
    """Rows that could not be read with what to write instead, gaps, rows with a doubt."""
    parts: list[Any] = []
    if refused := words.rows_refused(r.done):
        parts += [html.paragraph(refused), _to_correct(r)]
    if r.gaps:
        parts.append(html.bullets(words.gaps(r.gaps, r.block)))
    elif not refused:
        parts.append(
            html.paragraph(
                say("Every row was used, and nothing that this page asks for is missing.")
            )
        )
    doubts = [p for p in r.problems if p.severity == "warning"]
    if doubts:
        parts.append(_doubts(r))
    return tuple(parts)


def _to_correct(r: BlockReview) -> Fragment:
    rows = words.rows_to_correct(r.done, r.problems)
    return html.table(
        rows,
        say("Rows to correct"),
        stack=True,
        columns={
            "day": say("day"),
            "cell": say("in your log"),
            "why": say("why, and what to do"),
            "row": say("row of the log"),
        },
    )


def _doubts(r: BlockReview) -> Fragment:
    rows = [
        {
            "row": p.place,
            "what": f"{p.column} {p.value}".strip(),
            "why": " ".join(reason_and_remedy(p)),
        }
        for p in r.problems
        if p.severity == "warning"
    ]
    n = len(rows)
    return html.details(
        fmt.sentence(
            fmt.count(n, "{n} row used, but worth a look", "{n} rows used, but worth a look")
        ),
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
