"""What next: start loads of the coming block, tests, first weeks, each with its because."""

from __future__ import annotations

import math
from typing import Any

from gripbook import html
from gripbook.html import Fragment
from gripbook.logs import Block
from gripbook.report.sections.common import Parts
from gripbook.reviews import BlockReview, NextBlock
from gripbook.reviews.people import in_own_units
from gripbook.words import fmt, mark, say

_OWN = mark("The choices behind this (own choice, no source)")

_TRY = mark(
    "What another edge, hold time or weight would do can be tried in the notebook that `gripbook "
    "explore` opens."
)


@in_own_units
def next_block(r: BlockReview) -> Parts:
    """The proposal for the coming block; for anyone under 18 what was done and who decides."""
    found = r.next_block
    if r.athlete.minor:
        return (
            html.paragraph(found.lines[0].text),
            html.paragraph(found.lines[0].because),
            html.bullets(line.text for line in found.lines[1:]),
        )
    begins = say(
        "For a block from {start}. A coach decides; this is where to begin.",
        start=fmt.day(found.start),
    )
    lead = [*found.lines[:1]] if found.held else []
    parts: list[Any] = [
        *(html.paragraph(html.strong(line.text), f" {line.because}") for line in lead),
        html.paragraph(begins),
        html.bullets(_line(x.text, x.because) for x in found.lines[len(lead) :]),
    ]
    if found.ramp:
        parts += [
            html.heading(3, say("The first two weeks")),
            html.paragraph(_line(found.ramp.text, found.ramp.because)),
        ]
    if found.block is not None:
        parts.append(_plan(found.block))
    parts.append(_loads(found))
    if found.tests:
        parts += [
            html.heading(3, say("When to test again")),
            html.paragraph(_line(found.tests.text, found.tests.because)),
        ]
    if not found.held:
        parts.append(html.paragraph(say(_TRY)))
    parts.append(html.details(say(_OWN), html.bullets(found.choices)))
    return tuple(parts)


def _line(text: str, because: str) -> str:
    return f"{text} {fmt.sentence(because)}"


def _plan(block: Block) -> Fragment:
    """The phases of the proposed block: when, how often, how much."""
    rows = [
        {
            "phase": p.name,
            "weeks": f"{p.from_week}–{p.to_week}" if p.weeks > 1 else p.from_week,
            "sessions": p.sessions_per_week,
            "sets": p.sets_per_session,
        }
        for p in block.phases
    ]
    return html.table(
        rows,
        say(
            "The proposed block, {weeks}: sessions and sets as in this one",
            weeks=fmt.count(block.weeks, "{n} week", "{n} weeks"),
        ),
        columns={
            "phase": say("phase"),
            "weeks": say("weeks"),
            "sessions": say("finger sessions a week"),
            "sets": say("sets a session"),
        },
        numbers=["weeks", "sessions", "sets"],
    )


def _loads(found: NextBlock) -> Fragment:
    rows = [
        {
            "what": fmt.headed(load.phase, fmt.series(load.grip, load.hand)),
            "edge": fmt.with_unit(load.edge_mm, "mm") if math.isfinite(load.edge_mm) else "",
            "load": load.load_words,
            "because": load.because,
            "rows": fmt.listing(load.rows),
        }
        for load in found.loads
    ]
    return html.table(
        rows,
        say("Where to begin, by phase, the weakest grip and hand first"),
        stack=True,
        columns={
            "what": say("what"),
            "edge": say("edge"),
            "load": say("start with"),
            "because": say("because"),
            "rows": say("log row"),
        },
        empty=say("Nothing logged tells where to begin."),
    )
