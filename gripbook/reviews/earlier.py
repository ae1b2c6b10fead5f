"""Several blocks of one athlete: a line for each, and the strength path across all of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property

import pandas as pd

from gripbook.derive import derive_sets
from gripbook.logs import Block, Logs
from gripbook.reviews.change import SeriesChange, describe_change
from gripbook.reviews.done import compare_with_plan
from gripbook.reviews.people import Athlete
from gripbook.reviews.shown import with_stand_in
from gripbook.strength import fit_strength
from gripbook.words import fmt, say


@dataclass(frozen=True, slots=True, eq=False)
class BlockLine:
    """
    One block in a line. `series` is the followed series in that block (None where its log does not
    measure it); `failed` tells why the block could not be read.
    """

    block: Block
    text: str
    series: SeriesChange | None
    failed: str = ""


@dataclass(frozen=True, eq=False)
class Earlier:
    """
    The athlete's blocks in time's order. What is looked up is worked out when first asked for: a
    squad page does not need it.
    """

    _own: Logs = field(repr=False)
    _block: Block
    _athlete: Athlete
    _last: pd.Timestamp
    _headline: SeriesChange | None = field(repr=False)

    @property
    def blocks(self) -> tuple[Block, ...]:
        """Blocks begun by the log's last day, in time's order."""
        begun = [b for b in self._own.blocks if pd.Timestamp(b.start) <= self._last]
        return tuple(sorted(begun, key=lambda b: (b.start, b.name)))

    @cached_property
    def lines(self) -> tuple[BlockLine, ...]:
        """A line per block; none where there are fewer than two."""
        if len(self.blocks) < 2:
            return ()
        return tuple(self._line(b) for b in self.blocks)

    @property
    def followed(self) -> str:
        """The series that is followed through the blocks, in words; "" where none is measured."""
        found = self._headline or next((x.series for x in self.lines if x.series), None)
        return found.name if found else ""

    @property
    def paths(self) -> tuple[BlockLine, ...]:
        """The lines whose path was measured and can stand on one axis."""
        return tuple(
            x
            for x in self.lines
            if x.series is not None
            and not x.series.fit.at_least
            and x.series.path["kg"].notna().any()
        )

    @property
    def notes(self) -> tuple[str, ...]:
        """What the paths leave open."""
        return tuple(_notes(self))

    def _line(self, block: Block) -> BlockLine:
        try:
            sets = derive_sets(self._own.hangs, self._own.body, block)
            if not self._athlete.show_body_mass:
                sets = with_stand_in(sets)
            done = compare_with_plan(sets, self._own.sessions, block, self._last)
            change = describe_change(
                fit_strength(sets, block), sets, block, self._athlete, hurt=False
            )
        except Exception as err:  # an odd old block must not cost the new one its page
            reason = f"{type(err).__name__}: {err}"
            return BlockLine(
                block, say("{title}: could not be read.", title=_title(block)), None, reason
            )
        series = _same_series(change.series, change.headline, self._headline)
        planned = done.sessions_planned
        told = say("{sessions_done} finger sessions", sessions_done=done.sessions_done)
        if planned is not None:
            told = say(
                "{sessions_done} of {planned} finger sessions",
                sessions_done=done.sessions_done,
                planned=planned,
            )
        if series is None:
            strength = say("the series followed here is not in its log")
        else:
            strength = fmt.without_head(series.sentence, fmt.sentence(series.name)).rstrip(".")
        return BlockLine(
            block, fmt.headed(_title(block), fmt.clauses([told, strength]) + "."), series
        )


def _title(block: Block) -> str:
    return say(
        "{name}, {start} to {end}",
        name=block.name,
        start=fmt.day(block.start),
        end=fmt.day(block.end),
    )


def _same_series(
    told: Iterable[SeriesChange], own: SeriesChange | None, wanted: SeriesChange | None
) -> SeriesChange | None:
    """The series like the newest block's headline (same reference too), else the block's own."""
    if wanted is None:
        return own
    for s in told:
        # the name holds hold, holds and edge: what strength is stated for
        if s.fit.key == wanted.fit.key and s.name == wanted.name:
            return s
    return None


def _notes(earlier: Earlier) -> Iterable[str]:
    if len(earlier.paths) > 1:
        yield (
            say(
                "Each block is estimated from its own sets alone; where two bands lie "
                "apart, what happened in between is not measured."
            )
        )
    missing = [x.block.name for x in earlier.lines if x.series is None and not x.failed]
    if missing:
        yield (
            say(
                "Not in the chart: {missing}, which did not load that series or states "
                "strength for another edge or hold.",
                missing=fmt.listing(missing),
            )
        )
