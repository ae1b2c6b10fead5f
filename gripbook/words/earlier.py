"""Several blocks in words: a line each, and what the paths leave open."""

from __future__ import annotations

import math
from collections.abc import Iterator

from gripbook.logs import Block
from gripbook.reviews.change_facts import PathKind, SeriesChange
from gripbook.reviews.earlier import BlockLine, Differs, Earlier, Figure, TwoBlocks
from gripbook.words import Table, fmt, mark, say, series, strength

#: Figures of a block that are held against those of the one before.
FIGURES = Table(
    {
        Figure.WEEKS: mark("weeks"),
        Figure.SESSIONS_PLANNED: mark("finger sessions planned"),
        Figure.SESSIONS_DONE: mark("finger sessions done"),
        Figure.SETS_PLANNED: mark("sets planned"),
        Figure.SETS_DONE: mark("sets done"),
    }
)
#: Titles of the section's folds and tables, and what stands where one is empty.
TITLES = Table(
    {
        "blocks_so_far": mark("Blocks so far"),
        "change_in_each": mark("Change in each block, 90~% range"),
        "what_differed": mark("What differed"),
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


def two_heading(t: TwoBlocks) -> str:
    """Which block stands beside which."""
    return say("{now} beside {before}", now=t.now.name, before=t.before.name)


def two_notes(t: TwoBlocks) -> Iterator[str]:
    """What does not compare, and why a difference is no effect of the plan."""
    if t.apart:
        yield say(
            "Not compared, since edge, board or hold differ: {series}.",
            series=fmt.clauses(series.name(s) for s in t.apart),
        )
    if t.pairs and t.differs:
        yield say(
            "Two blocks differ in more than the plan, so this doesn’t tell which part of it helped."
        )


def figure(x: Differs) -> tuple[str, str, str]:
    """A figure in both blocks: what it is, before, now."""
    return FIGURES[x.what], _count(x.before), _count(x.now)


def _count(value: float | None) -> str:
    return say("not planned") if value is None else fmt.number(value)


def ends_caption() -> str:
    """Caption of the table of a series' ends in two blocks."""
    return say("Start and end of each block ({unit})", unit=fmt.mass_unit())


def ends(s: SeriesChange, *, shown: bool) -> str:
    """
    Start and end of a series in a block: 81 to 84; where hidden its change.

    Parameters
    ----------
    shown : whether body mass, and with it whole loads, may be shown.
    """
    if not shown:
        return series.range_kg(s.low_kg, s.high_kg) if s.measured else say("can’t tell")
    both = [
        fmt.mass_number(kg) if math.isfinite(kg) else say("not measured")
        for kg in (s.start_kg, s.end_kg)
    ]
    text = say("{low} to {high}", low=both[0], high=both[1])
    if s.path_kind is PathKind.ESTIMATE:
        return text
    return say("at least {range}", range=text)
