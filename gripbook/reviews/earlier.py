"""Several blocks of one athlete: what each one did, and the strength path across all of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property

import pandas as pd

from gripbook.derive import derive_sets
from gripbook.logs import Block, Logs
from gripbook.reviews.change import describe_change
from gripbook.reviews.change_facts import PathKind, SeriesChange
from gripbook.reviews.done import compare_with_plan
from gripbook.reviews.people import Athlete
from gripbook.reviews.shown import with_stand_in
from gripbook.strength import fit_strength


@dataclass(frozen=True, slots=True, eq=False)
class BlockLine:
    """
    One block in a line.

    Attributes
    ----------
    sessions_done, sessions_planned : finger sessions; None without a plan.
    series : the followed series in that block, None where its log does not measure it.
    failed : why the block could not be read.
    """

    block: Block
    sessions_done: int
    sessions_planned: int | None
    series: SeriesChange | None
    failed: str = ""


@dataclass(frozen=True, eq=False)
class Earlier:
    """
    The athlete's blocks in time's order.

    What is looked up is worked out when first asked for: a squad page does not need it.
    """

    _logs: Logs = field(repr=False)
    _block: Block
    _athlete: Athlete
    _last: pd.Timestamp
    _headline: SeriesChange | None = field(repr=False)

    @property
    def blocks(self) -> tuple[Block, ...]:
        """Blocks begun by the log's last day, in time's order."""
        begun = [b for b in self._logs.blocks if pd.Timestamp(b.start) <= self._last]
        return tuple(sorted(begun, key=lambda b: (b.start, b.name)))

    @cached_property
    def lines(self) -> tuple[BlockLine, ...]:
        """A line per block; none where there are fewer than two."""
        if len(self.blocks) < 2:
            return ()
        return tuple(self._line(b) for b in self.blocks)

    @property
    def followed(self) -> SeriesChange | None:
        """The series that is followed through the blocks; None where none is measured."""
        return self._headline or next((x.series for x in self.lines if x.series), None)

    @property
    def paths(self) -> tuple[BlockLine, ...]:
        """The lines whose path was measured and can stand on one axis."""
        return tuple(
            x
            for x in self.lines
            if x.series is not None
            and x.series.path_kind is PathKind.ESTIMATE
            and x.series.path["kg"].notna().any()
        )

    @property
    def missing(self) -> tuple[Block, ...]:
        """Blocks whose log lacks the followed series, or states it for another edge or hold."""
        return tuple(x.block for x in self.lines if x.series is None and not x.failed)

    def _line(self, block: Block) -> BlockLine:
        try:
            sets = derive_sets(self._logs.hangs, self._logs.body, block)
            if not self._athlete.show_body_mass:
                sets = with_stand_in(sets)
            done = compare_with_plan(sets, self._logs.sessions, block, self._last)
            change = describe_change(
                fit_strength(sets, block), sets, block, self._athlete, hurt=False
            )
        except Exception as err:  # an odd old block must not cost the new one its page
            return BlockLine(block, 0, None, None, f"{type(err).__name__}: {err}")
        series = _same_series(change.series, change.headline, self._headline)
        return BlockLine(block, done.sessions_done, done.sessions_planned, series)


def _same_series(
    all_series: Iterable[SeriesChange], headline: SeriesChange | None, wanted: SeriesChange | None
) -> SeriesChange | None:
    """The series like the newest block's headline (same reference too), else the block's own."""
    if wanted is None:
        return headline
    return next((s for s in all_series if _stated_for(s) == _stated_for(wanted)), None)


def _stated_for(s: SeriesChange) -> tuple[object, ...]:
    """What a series is and what its strength is stated for; NaN is like NaN."""
    return (s.fit.key, *map(str, (s.edge_mm, s.reference_s, s.reference_reps)))
