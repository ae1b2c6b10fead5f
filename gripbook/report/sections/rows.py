"""What the log leaves open, and its rows that need a look."""

from __future__ import annotations

from gripbook import html
from gripbook.report.sections.common import Parts
from gripbook.reviews import BlockReview
from gripbook.reviews.people import in_own_units
from gripbook.words import fmt, say
from gripbook.words.problems import reason_and_remedy


@in_own_units
def gaps(r: BlockReview) -> Parts:
    """What the log leaves open."""
    if not r.gaps:
        return (html.paragraph(say("Nothing that this page asks for is missing in the log.")),)
    return (html.bullets(r.gaps),)


@in_own_units
def rows(r: BlockReview) -> Parts:
    """Rows of the log that were refused, or used with a doubt."""
    if not r.problems:
        return (html.paragraph(say("Every row of the log was used, without a doubt about any.")),)
    refused = {(p.file, p.line) for p in r.problems if p.severity == "error"}
    doubts = sum(1 for p in r.problems if p.severity == "warning")
    text = say(
        "{rows} could not be used; {notes} on rows that were.",
        rows=fmt.sentence(fmt.count(len(refused), "{n} row", "{n} rows")),
        notes=fmt.count(doubts, "{n} note", "{n} notes"),
    )
    table = [
        {
            "row": p.place,
            "kind": say("not used") if p.severity == "error" else say("used, but look"),
            "what": f"{p.column} {p.value}".strip(),
            "why": " ".join(reason_and_remedy(p)),
        }
        for p in r.problems
    ]
    return (
        html.paragraph(text),
        html.details(
            say("The rows, why, and what to do"),
            html.table(
                table,
                say("Rows of the log that need a look"),
                stack=True,
                columns={
                    "row": say("row"),
                    "kind": say("used?"),
                    "what": say("cell"),
                    "why": say("why, and what to do"),
                },
            ),
        ),
    )
