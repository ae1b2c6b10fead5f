"""What a planned block can show, before it is done, and what other ways of logging would buy."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from gripbook.logs import Block, Phase
from gripbook.logs.block import SMALLEST_CHANGE_PCT
from gripbook.reviews.block_facts import BlockFacts
from gripbook.reviews.proposal import Choices, propose_next
from gripbook.reviews.proposal.holds import gather_holds
from gripbook.strength import SeriesKey
from gripbook.strength.model import NoiseScales
from gripbook.strength.planned import Series, SetsOfDay, smallest_rises

#: Strength assumed where there is no log, kg; what is shown is in per cent and hardly depends on it
#: (own choice, no source).
_ASSUMED_KG: Final = {"hang": 80.0, "repeater": 62.0, "pull": 45.0}
#: From this share of last sets on, noting what is left can hardly add (own choice, no source).
_NEARLY_ALL: Final = 0.9
#: Days of the week on which so many sessions are taken to fall.
_OFFSETS: Final = {1: (1,), 2: (1, 4), 3: (0, 2, 4), 4: (0, 2, 4, 6)}


class Way(StrEnum):
    """A way of testing and logging."""

    PLANNED = "planned"
    LEFT_NOTED = "left_noted"  # what is left after the last set of each session is noted
    ONE_EDGE = "one_edge"  # the reference edge alone
    SECOND_DAY = "second_day"  # a second test day at each end


@dataclass(frozen=True, slots=True)
class DesignLine:
    """
    One series and one way.

    Attributes
    ----------
    rise_pct : smallest rise that would show at 90 %, per cent of the load; NaN: no change could be
        told. `rise_kg`: the same in kg (NaN where strength or body mass is not to be told).
    smallest_pct : the change that matters, from the plan.
    sets, test_days : of this series in the block.
    """

    way: Way
    capacity: str
    grip: str
    hand: str
    rise_pct: float
    rise_kg: float
    smallest_pct: float
    sets: int
    test_days: int


@dataclass(frozen=True, slots=True)
class Design:
    """
    What one block can show.

    `athlete` is "" where a block file stands alone. `proposed`: the block is the one that `next`
    proposes. `lines` by series in the plan's order, each with every way that the plan leaves open.
    `left_noted`: share of last sets with what was left, as taken for the plan. `nothing`: why there
    is none: `minor`, `held` (pain, an injury, the way back, a fall of body mass), `no_plan` or "".
    `units`: kg or lb, as the athlete counts.
    """

    athlete: str
    block: Block
    proposed: bool
    lines: tuple[DesignLine, ...]
    left_noted: float
    nothing: str = ""
    units: str = "kg"

    @property
    def ways(self) -> tuple[Way, ...]:
        """The ways compared, the planned one first."""
        return tuple(w for w in Way if any(x.way is w for x in self.lines))

    def other(self, line: DesignLine, way: Way) -> DesignLine:
        """The same series in another way."""
        name = (line.capacity, line.grip, line.hand)
        return next(x for x in self.of(way) if (x.capacity, x.grip, x.hand) == name)

    def of(self, way: Way) -> tuple[DesignLine, ...]:
        """The lines of one way, a series each."""
        return tuple(x for x in self.lines if x.way is way)


def design_block(block: Block) -> Design:
    """Work out what a block could show, for an athlete of whom nothing is known."""
    return _design(block, "", proposed=False, load_kg={}, left=0.0, shown=False)


def design_next(r: BlockFacts, coming: Block | None = None) -> Design:
    """
    Work out what the coming block of an athlete could show, from what the log so far tells.

    Parameters
    ----------
    coming : a block that is planned and not yet begun; None: the one that is proposed, or the
        running one.
    """
    running = r.last.date() < r.block.end and r.block.planned
    block = coming or (r.block if running else None)
    proposed = block is None
    units = r.athlete.units
    if r.athlete.minor:
        return Design(r.athlete.id, r.block, False, (), 0.0, "minor", units)
    holds = gather_holds(r)
    if holds.sides or holds.returning or holds.mass is not None:
        return Design(r.athlete.id, r.block, proposed, (), 0.0, "held", units)
    if block is None:
        block = propose_next(r).block
        if block is None:
            return Design(r.athlete.id, r.block, True, (), 0.0, "no_plan", units)
    known = {
        (s.capacity, s.grip, s.hand): s.end_kg if math.isfinite(s.end_kg) else s.start_kg
        for s in r.fit.series
        if s.load_kind == "steady"
    }
    noise = NoiseScales()
    usual = 100 * math.hypot(noise.day, noise.capacity_day)
    factor = r.fit.day_sd_pct / usual if math.isfinite(r.fit.day_sd_pct) else 1.0
    return _design(
        block,
        r.athlete.id,
        proposed=proposed,
        load_kg={k: v for k, v in known.items() if math.isfinite(v)},
        left=_left_noted(r),
        shown=r.athlete.show_body_mass,
        day_factor=factor,
        units=units,
    )


def _left_noted(r: BlockFacts) -> float:
    """Share of the sessions' last finished sets with what was left."""
    sets = r.sets[r.sets["in_block"] & ~r.sets["warmup"] & ~r.sets["test"]]
    done = sets[(sets["outcome"] == "finished") & sets["exercise"].isin(["hang", "repeater"])]
    if done.empty:
        return 0.0
    keys = ["date", "session", "exercise", "grip", "hand"]
    last = done.groupby(keys, sort=False)[["reserve_s", "reserve_reps"]].last()
    return float(last.notna().any(axis=1).mean())


def _design(
    block: Block,
    athlete: str,
    *,
    proposed: bool,
    load_kg: Mapping[Series, float],
    left: float,
    shown: bool,
    day_factor: float = 1.0,
    units: str = "kg",
) -> Design:
    plan = tuple(planned_sets(block, 1))
    if not plan:
        return Design(athlete, block, proposed, (), left, "no_plan", units)
    series = list(dict.fromkeys((x.capacity, x.grip, x.hand) for x in plan))
    loads = {s: load_kg.get(s, _ASSUMED_KG[s[0]]) for s in series}
    ways: dict[Way, tuple[Sequence[SetsOfDay], float]] = {Way.PLANNED: (plan, left)}
    if left < _NEARLY_ALL and any(x.capacity != "pull" for x in plan):
        ways[Way.LEFT_NOTED] = (plan, 1.0)
    if _edges_vary(plan):
        one = tuple(replace(x, edge_mm=block.reference_edge_mm) for x in plan)
        ways[Way.ONE_EDGE] = (one, left)
    twice = tuple(planned_sets(block, 2))
    if len({x.day for x in twice if x.test}) > len({x.day for x in plan if x.test}):
        ways[Way.SECOND_DAY] = (twice, left)
    lines: list[DesignLine] = []
    for way, (sets, noted) in ways.items():
        rises = smallest_rises(sets, block, load_kg=loads, left_noted=noted, day_factor=day_factor)
        for s in series:
            rise = rises.get(SeriesKey(*s, "steady"), math.inf)
            pct = 100 * math.expm1(rise) if math.isfinite(rise) else math.nan
            mine = [x for x in sets if (x.capacity, x.grip, x.hand) == s]
            tell = shown and s in load_kg
            lines.append(
                DesignLine(
                    way,
                    *s,
                    rise_pct=pct,
                    rise_kg=pct / 100 * load_kg[s] if tell else math.nan,
                    smallest_pct=float(
                        block.smallest_change_pct.get(s[0], SMALLEST_CHANGE_PCT[s[0]])
                    ),
                    sets=sum(x.sets for x in mine),
                    test_days=len({x.day for x in mine if x.test}),
                )
            )
    return Design(athlete, block, proposed, tuple(lines), left, units=units)


def _edges_vary(plan: Sequence[SetsOfDay]) -> bool:
    edges: dict[Series, set[float]] = {}
    for x in plan:
        edges.setdefault((x.capacity, x.grip, x.hand), set()).add(x.edge_mm)
    return any(len(e) > 1 for e in edges.values())


# --- the plan's sets ------------------------------------------------------------------------------


def planned_sets(block: Block, test_days: int) -> Iterator[SetsOfDay]:
    """
    The sets of a block, and on its test days one to the limit of each capacity.

    Parameters
    ----------
    test_days : at each end. A second one takes the place of another session of the test week, at
        least the rest days before a test away; there is none where the week has no such session.
    """
    phases = [p for p in block.phases if p.exercise and p.sets_per_session]
    work = {p.name: tuple(_series(p, block)) for p in phases}
    # the grip named, else the first of each capacity, with every hand it is trained with
    tested = _tested(block, [s for p in phases for s in work[p.name]])
    first, final = (block.test_weeks[0], block.test_weeks[-1]) if block.test_weeks else (None, None)
    rest = Choices.of(block).rest_days_before_test
    for week in range(1, block.weeks + 1):
        here = [p for p in phases if p.holds_week(week)]
        count = sum(p.sessions_per_week or 1 for p in here)
        # overlapping phases share sessions where the limit asks for it
        days = _OFFSETS[min(max(1, min(count, block.limits.fingers_per_week)), 4)]
        at = [7 * (week - 1) + d for d in days]
        tests: list[int] = []
        if week in block.test_weeks:
            order = at if week == first else at[::-1]
            for day in order:
                if len(tests) < test_days and all(abs(day - t) > rest for t in tests):
                    tests.append(day)
                if week not in (first, final) and tests:
                    break
        for number, day in enumerate(at):
            if day in tests:
                yield from (replace(t, day=day) for t in tested)
                continue
            phase = here[number % len(here)] if here else None
            if phase is not None:
                yield from (replace(s, day=day) for s in work[phase.name])


def _series(p: Phase, block: Block) -> Iterator[SetsOfDay]:
    """A session's sets of a phase, its targets' grips sharing them."""
    assert p.exercise is not None
    named = [
        (t.grip, t.hand, t.edge_mm if t.edge_mm is not None else block.reference_edge_mm)
        for t in p.targets
    ]
    if not named:
        grips = block.grips or ((block.headline.grip,) if block.headline else ("half_crimp",))
        hands = ("left", "right") if p.exercise == "pull" else ("both",)
        named = [(g, h, block.reference_edge_mm) for g in grips for h in hands]
    shares = len({(g, e) for g, _, e in named}) if p.alternate_hands else len(named)
    even = max(1, (p.sets_per_session or 1) // max(1, shares))
    asked = {(t.grip, t.hand): t.sets for t in p.targets if t.sets is not None}
    for grip, hand, edge in named:
        sets = asked.get((grip, hand), even)
        hang = p.hang_s if p.exercise != "pull" else None
        reps = p.reps if p.exercise == "repeater" else None
        yield SetsOfDay(0, p.exercise, grip, hand, edge, sets, hang, reps)


def _tested(block: Block, trained: Sequence[SetsOfDay]) -> tuple[SetsOfDay, ...]:
    """One set to the limit of each capacity, of the grip named beforehand where it is trained."""
    out: dict[Series, SetsOfDay] = {}
    for capacity in dict.fromkeys(s.capacity for s in trained):
        own = [s for s in trained if s.capacity == capacity]
        wanted = block.headline.grip if block.headline else own[0].grip
        grip = wanted if any(s.grip == wanted for s in own) else own[0].grip
        for s in own:
            if s.grip == grip:
                edge = block.reference_edge_mm if math.isfinite(s.edge_mm) else math.nan
                one = replace(s, edge_mm=edge, sets=1, test=True)
                out.setdefault((s.capacity, s.grip, s.hand), one)
    return tuple(out.values())
