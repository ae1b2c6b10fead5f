"""The words of a page that don't come out of its notebook's cells."""

from __future__ import annotations

from gripbook.words.messages import Table, mark, say

WORDS = Table(
    {
        "skip": mark("Skip to the sections"),
        "values": mark("Values one by one: arrow keys"),
        "code": mark("Code"),
        "noscript": mark(
            "Charts drawn by a script show only with scripts, in a browser from 2023 or newer."
        ),
        "undrawn": mark("This chart is drawn by a script, in a browser from 2023 or newer."),
    }
)


def translated(source: str) -> str:
    """Text of a page's notebook, which stands in the catalogues as it is in the notebook."""
    return say(source)
