"""What the log leaves open, and its rows that need a look."""

from __future__ import annotations

from gripbook import fmt, html
from gripbook.report.sections.common import Parts
from gripbook.reviews import BlockReview


def gaps(r: BlockReview) -> Parts:
    """What the log leaves open."""
    if not r.gaps:
        return (html.paragraph("Nothing that this page asks for is missing in the log."),)
    return (html.bullets(r.gaps),)


def rows(r: BlockReview) -> Parts:
    """Rows of the log that were refused, or used with a doubt."""
    if not r.problems:
        return (html.paragraph("Every row of the log was used, without a doubt about any."),)
    refused = {(p.file, p.line) for p in r.problems if p.severity == "error"}
    doubts = sum(1 for p in r.problems if p.severity == "warning")
    text = (
        f"{fmt.sentence(fmt.count(len(refused), 'row'))} could not be used; "
        f"{fmt.count(doubts, 'note')} on rows that were."
    )
    table = [
        {
            "row": p.place,
            "kind": "not used" if p.severity == "error" else "used, but look",
            "what": f"{p.column} {p.value}".strip(),
            "why": f"{p.reason} {p.remedy}",
        }
        for p in r.problems
    ]
    return (
        html.paragraph(text),
        html.details(
            "The rows, why, and what to do",
            html.table(
                table,
                "Rows of the log that need a look",
                columns={
                    "row": "row",
                    "kind": "used?",
                    "what": "cell",
                    "why": "why, and what to do",
                },
            ),
        ),
    )
