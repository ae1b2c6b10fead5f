"""The squad's page."""

from __future__ import annotations

from typing import Any

import numpy as np

from gripbook import fmt, html
from gripbook.report.names import page_names
from gripbook.report.sections.common import Parts, of_planned
from gripbook.reviews import SquadReview


def squad_opening(s: SquadReview) -> Parts:
    """Title and what the page is."""
    first = [row for row in s.rows if row.open_first]
    text = (
        f"{fmt.sentence(fmt.count(len(s.rows), 'athlete'))}, logged to {fmt.day(s.last.date())}. "
        "This is the coach's own page; the athletes' pages do not link to it or to each other."
    )
    parts: list[Any] = [html.heading(1, f"Squad: {s.name}"), html.paragraph(text)]
    if first:
        names = fmt.listing(row.name for row in s.by_need if row.open_first)
        parts.append(html.paragraph(f"Open first: {names}."))
    if s.unplaced:
        parts.append(
            html.paragraph(
                f"{fmt.sentence(fmt.count(s.unplaced, 'refused row'))} could be placed with no "
                "athlete; `gripbook check` lists them."
            )
        )
    return tuple(parts)


def squad_table(s: SquadReview) -> Parts:
    """One row an athlete, those to open first on top, then by name."""
    names = page_names(row.athlete for row in s.rows)
    rows = [
        {
            "name": html.link(row.name, names[row.athlete]),
            "first": row.failed or row.open_first,
            "block": row.block,
            "change": row.change,
            "sessions": ""
            if row.sessions_done is None
            else of_planned(row.sessions_done, _nan(row.sessions_planned)),
            "breaches": row.breaches,
            "pain": row.pain_words,
            "last": "" if row.last is None else fmt.day(row.last.date(), year=False),
        }
        for row in s.by_need
    ]
    return (
        html.table(
            rows,
            "Finger sessions done of planned; limits not kept; days as logged",
            columns={
                "name": "athlete",
                "first": "open first because",
                "block": "block",
                "change": "change, 90 % range",
                "sessions": "finger sessions",
                "breaches": "limits broken",
                "pain": "pain",
                "last": "last entry",
            },
            numbers=["sessions"],
        ),
    )


def _nan(value: int | None) -> float:
    return np.nan if value is None else float(value)


def squad_cautions(s: SquadReview) -> Parts:
    """What the squad page must say."""
    return (
        html.bullets(
            [
                "A row without a reason to open it first is not a row without trouble: it says "
                "what was logged, no more.",
                "No athlete is ranked; the order is reasons to look, then names.",
                "The pages hold health data (pain, illness, body mass). Keep them where only those "
                "who need them can read them, and delete them on request. results.csv is the "
                "coach's too: from a load and the weight added body mass can be worked out, also "
                "for athletes whose pages hide it.",
            ]
        ),
    )
