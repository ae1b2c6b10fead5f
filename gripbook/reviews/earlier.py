"""Several blocks of one athlete: what each one did, and the strength path across all of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property

import pandas as pd

from gripbook.derive import derive_sets
from gripbook.logs import Block, Logs
from gripbook.reviews.body_mass import follow_body_mass
from gripbook.reviews.change import describe_change, health_first
from gripbook.reviews.change_facts import PathKind, SeriesChange
from gripbook.reviews.done import Done, compare_with_plan
from gripbook.reviews.notes import read_notes
from gripbook.reviews.people import Athlete
from gripbook.reviews.shown import with_stand_in
from gripbook.strength import SeriesKey, fit_strength

#: Edge (as text) and board of a set.
Place = tuple[str, str]


@dataclass(frozen=True, slots=True, eq=False)
class BlockLine:
    """
    One block in a line.

    Attributes
    ----------
    sessions_done, sessions_planned : finger sessions; None without a plan.
    series : the followed series in that block, None where its log does not measure it.
    failed : why the block could not be read.
    every : all series of the block; `places`: edges and boards of each. `done`: plan and work.
    """

    block: Block
    sessions_done: int
    sessions_planned: int | None
    series: SeriesChange | None
    failed: str = ""
    every: tuple[SeriesChange, ...] = ()
    done: Done | None = None
    places: Mapping[SeriesKey, frozenset[Place]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, eq=False)
class SeriesPair:
    """One series in two blocks; `places` are the edges and boards that both have."""

    before: SeriesChange
    now: SeriesChange
    places: frozenset[Place]


@dataclass(frozen=True, slots=True)
class Differs:
    """
    What differed between two blocks: a figure of the plan, or of what was done.

    None: not planned.
    """

    what: Figure
    before: float | None
    now: float | None


class Figure(StrEnum):
    """Figures of a block that are held against those of another."""

    WEEKS = "weeks"
    SESSIONS_PLANNED = "sessions_planned"
    SESSIONS_DONE = "sessions_done"
    SETS_PLANNED = "sets_planned"
    SETS_DONE = "sets_done"


@dataclass(frozen=True, slots=True, eq=False)
class TwoBlocks:
    """
    The block before and the one reviewed, side by side.

    Attributes
    ----------
    pairs : the series that stand in both on an edge and a board they share, and are stated for the
        same edge and length.
    apart : series of both blocks that don't compare: other edges, boards or lengths.
    differs : what differed in plan and in what was done; what did not is left out.
    """

    before: Block
    now: Block
    pairs: tuple[SeriesPair, ...]
    apart: tuple[SeriesChange, ...]
    differs: tuple[Differs, ...]


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
    _read: dict[str, BlockLine] = field(default_factory=dict, repr=False)

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

    @cached_property
    def two(self) -> TwoBlocks | None:
        """The block before the reviewed one beside it; None where there is none to read."""
        at = next((i for i, b in enumerate(self.blocks) if b.name == self._block.name), 0)
        if not at:
            return None
        before, now = (self._line(b) for b in self.blocks[at - 1 : at + 1])
        if before.failed or now.failed or before.done is None or now.done is None:
            return None
        pairs: list[SeriesPair] = []
        apart: list[SeriesChange] = []
        for s in now.every:
            other = next((x for x in before.every if x.fit.key == s.fit.key), None)
            if other is None:
                continue
            shared = before.places.get(s.fit.key, frozenset()) & now.places[s.fit.key]
            if shared and _stated_for(other) == _stated_for(s):
                pairs.append(SeriesPair(other, s, shared))
            else:
                apart.append(s)
        differs = _differs(before, before.done, now, now.done)
        return TwoBlocks(before.block, now.block, tuple(pairs), tuple(apart), differs)

    @property
    def missing(self) -> tuple[Block, ...]:
        """Blocks whose log lacks the followed series, or states it for another edge or hold."""
        return tuple(x.block for x in self.lines if x.series is None and not x.failed)

    def _line(self, block: Block) -> BlockLine:
        """A block's line, worked out when it is first asked for."""
        if block.name not in self._read:
            self._read[block.name] = self._work_out(block)
        return self._read[block.name]

    def _work_out(self, block: Block) -> BlockLine:
        try:
            sets = derive_sets(self._logs.hangs, self._logs.body, block)
            if not self._athlete.show_body_mass:
                sets = with_stand_in(sets)
            done = compare_with_plan(sets, self._logs.sessions, block, self._last)
            mass = follow_body_mass(self._logs.body, block, self._athlete)
            notes = read_notes(self._logs, pd.Timestamp(block.start), pd.Timestamp(block.end))
            change = describe_change(
                fit_strength(sets, block),
                sets,
                block,
                self._athlete,
                hurt=False,
                withheld=health_first(self._athlete, mass, notes),
            )
        except Exception as err:  # an odd old block must not cost the new one its page
            return BlockLine(block, 0, None, None, f"{type(err).__name__}: {err}")
        series = _same_series(change.series, change.headline, self._headline)
        return BlockLine(
            block,
            done.sessions_done,
            done.sessions_planned,
            series,
            every=change.series,
            done=done,
            places={s.fit.key: _places(sets, s.fit.key) for s in change.series},
        )


def _same_series(
    all_series: Iterable[SeriesChange], headline: SeriesChange | None, wanted: SeriesChange | None
) -> SeriesChange | None:
    """The series like the newest block's headline (same reference too), else the block's own."""
    if wanted is None:
        return headline
    return next((s for s in all_series if _stated_for(s) == _stated_for(wanted)), None)


def _places(sets: pd.DataFrame, key: SeriesKey) -> frozenset[Place]:
    """Edges and boards of a series' sets in the block."""
    own = sets[
        sets["in_block"]
        & ~sets["warmup"]
        & (sets["exercise"] == key.capacity)
        & (sets["grip"] == key.grip)
        & (sets["hand"] == key.hand)
    ]
    # a missing edge is like another missing one
    edges = own["edge_mm"].map(str)
    return frozenset(zip(edges, own["board"], strict=True))


def _differs(before: BlockLine, was: Done, now: BlockLine, done: Done) -> tuple[Differs, ...]:
    """The figures of plan and work that are not the same in both blocks."""
    out = [
        Differs(Figure.WEEKS, before.block.weeks, now.block.weeks),
        Differs(
            Figure.SESSIONS_PLANNED,
            _total(was, "sessions_planned"),
            _total(done, "sessions_planned"),
        ),
        Differs(Figure.SESSIONS_DONE, before.sessions_done, now.sessions_done),
        Differs(Figure.SETS_PLANNED, _total(was, "sets_planned"), _total(done, "sets_planned")),
        Differs(Figure.SETS_DONE, _total(was, "sets_done"), _total(done, "sets_done")),
    ]
    return tuple(x for x in out if x.before != x.now)


def _total(done: Done, column: str) -> float | None:
    known = done.weeks[column].dropna()
    return float(known.sum()) if len(known) else None


def _stated_for(s: SeriesChange) -> tuple[object, ...]:
    """What a series is and what its strength is stated for; NaN is like NaN."""
    return (s.fit.key, *map(str, (s.edge_mm, s.reference_s, s.reference_reps)))
