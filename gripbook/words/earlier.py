"""Several blocks in words: a line each, and what the paths leave open."""

from __future__ import annotations

from collections.abc import Iterator

from gripbook.logs import Block
from gripbook.reviews.change_facts import SeriesChange
from gripbook.reviews.earlier import BlockLine, Earlier
from gripbook.words import Table, fmt, mark, say, series, strength

#: Titles of the section's folds and tables, and what stands where one is empty.
TITLES = Table(
    {
        "blocks_so_far": mark("Blocks so far"),
    }
)


def line(x: BlockLine) -> str:
    """One block: its days, sessions done, and the followed series."""
    title = _title(x.block)
    if x.failed:
        return say("{title}: could not be read.", title=title)
    if x.sessions_planned is None:
        done = fmt.count(x.sessions_done, "{n} finger session", "{n} finger sessions")
    else:
        done = say(
            "{done} of {planned} finger sessions",
            done=x.sessions_done,
            planned=x.sessions_planned,
        )
    text = (
        say("the series followed here is not in its log")
        if x.series is None
        else strength.summary(x.series)
    )
    return f"{fmt.headed(title, fmt.clauses([done, text]))}."


def notes(e: Earlier) -> Iterator[str]:
    """What the paths across blocks leave open."""
    if len(e.paths) > 1:
        yield say(
            "Each block is estimated from its own sets alone; where two bands lie apart, what "
            "happened in between is not measured."
        )
    if e.missing:
        yield say(
            "Not in the chart: {missing}, which did not load that series or states strength for "
            "another edge or hold.",
            missing=fmt.listing(b.name for b in e.missing),
        )


def _title(block: Block) -> str:
    return say(
        "{name}, {start} to {end}",
        name=block.name,
        start=fmt.day(block.start),
        end=fmt.day(block.end),
    )


def across_blocks(followed: SeriesChange) -> str:
    """Caption of the table of a series in each block."""
    return say(
        "{followed}: strength at both ends of each block",
        followed=fmt.sentence(series.name(followed)),
    )


def blocks(n: int) -> str:
    """So many blocks."""
    return fmt.count(n, "{n} block", "{n} blocks")
