"""The coming block week by week and session by session: days, easier weeks, tests, loads."""

from __future__ import annotations

import datetime as dt
import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import pandas as pd

from gripbook.logs import Phase
from gripbook.logs.block import SET_REST_S
from gripbook.reviews.block_facts import BlockFacts
from gripbook.reviews.columns import columns_of, typed
from gripbook.reviews.dose import days_of_tests
from gripbook.reviews.proposal.choices import Choices
from gripbook.reviews.proposal.rules import NextLoad, Reason
from gripbook.reviews.proposal.tests import NextTests
from gripbook.reviews.proposal.trained import finger_days, known_sets, usual


@dataclass(frozen=True, slots=True)
class NextRow:
    """
    One thing to do in one session.

    Attributes
    ----------
    week, session : block week and the session's number in it, both from 1.
    day : the day it falls on, as the athlete has kept their days.
    added_kg, force_kg : the load to plan with; None where there is none to set (all-out pulls,
        tests), it may not be told, or it is worked out again before that week.
    low_kg, high_kg : what the load is expected to be between (kg added, or on the block); None
        where nothing is expected.
    left_s : seconds (repeaters: one hold, `left_reps`) that should be left after the last set.
    reason : the rule behind the load; `easy`, `test`: the week is an easier one, the row a test.
    back : the first week after days off or ill, with an easier week's sets.
    rest_s : seconds between the holds of a repeater.
    aim_kg, warm_up_kg : of a test, what it is likely to reach (kg added, or on the block where
        `aim_gauge`; pulls: on the fingers), and the warm-up sets before it; None and empty where
        the log doesn't tell.
    """

    week: int
    session: int
    day: dt.date
    phase: str
    exercise: str
    grip: str
    hand: str
    edge_mm: float
    sets: int | None
    reps: int | None
    hang_s: float | None
    reason: Reason
    added_kg: float | None = None
    force_kg: float | None = None
    low_kg: float | None = None
    high_kg: float | None = None
    left_s: float | None = None
    left_reps: int | None = None
    easy: bool = False
    test: bool = False
    back: bool = False
    rest_s: float | None = None
    aim_kg: float | None = None
    aim_gauge: bool = False
    warm_up_kg: tuple[float, ...] = ()
    from_edge_mm: float = math.nan
    pieces: tuple[float, ...] = ()

    @property
    def left(self) -> float | None:
        """What should be left after the last set: seconds, or holds of a repeater."""
        return self.left_s if self.left_reps is None else float(self.left_reps)


def next_frame(rows: Iterable[NextRow]) -> pd.DataFrame:
    """
    The rows as a tidy frame.

    One row per session and series; its columns are those of `next` in `reviews.columns`.
    """
    names = [c.name for c in columns_of("next")]
    return typed(pd.DataFrame([{c: getattr(row, c) for c in names} for row in rows]), "next")


# --- days -----------------------------------------------------------------------------------------


def kept_days(r: BlockFacts, sessions: int) -> tuple[int, ...]:
    """
    Days of the week (Monday 0) for so many sessions, those kept most often.

    They leave the rest days that the limits ask for; fewer where the week has no room for more.
    """
    rest = r.block.limits.rest_days_between_finger_days
    counts = [0] * 7
    for day in finger_days(r):
        if day >= r.block.start:
            counts[day.weekday()] += 1
    for n in range(min(sessions, 7), 0, -1):
        fits = [days for days in itertools.combinations(range(7), n) if _gaps(days) > rest]
        if fits:
            # of equals the most even, then the earliest
            return max(fits, key=lambda days: (sum(counts[d] for d in days), _gaps(days)))
    return ()


def _gaps(days: Sequence[int]) -> int:
    """The shortest way from one of the days to the next, round the week."""
    return min(((b - a) % 7 or 7) for a, b in zip(days, (*days[1:], days[0]), strict=True))


def sessions_a_week(r: BlockFacts, phases: Sequence[Phase]) -> int:
    """
    Finger sessions a week, no more than planned or than the limit.

    As many as were really done in the weeks that were trained or planned, rounded up.
    """
    weeks = r.done.weeks
    over = weeks[(weeks["state"] == "done") & ~weeks["test"]]
    if r.block.planned:
        # a week away or ill tells nothing of how often the athlete trains
        over = over[(over["sessions_done"] > 0) | (over["without"] == "")]
    else:
        over = over[over["sessions_done"] > 0]
    if over.empty:
        over = weeks[weeks["sessions_done"] > 0]
    done = math.ceil(float(over["sessions_done"].mean()) - 0.05) if len(over) else 1
    planned = [p.sessions_per_week for p in phases if p.sessions_per_week is not None]
    most = r.block.limits.fingers_per_week
    if planned and r.block.planned:
        weekly = max(
            sum(p.sessions_per_week or 0 for p in phases if p.holds_week(w))
            for w in range(1, max(p.to_week for p in phases) + 1)
        )
        most = min(most, weekly)
    return max(1, min(done, most)) if most else 0


def easier_weeks(weeks: int, loading: int, last_test: int | None) -> tuple[int, ...]:
    """
    Weeks with fewer sets: one after at most `loading` weeks, and the week of the last test.

    Parameters
    ----------
    last_test : week of the last test, None where there is none.
    """
    if last_test is None:
        return tuple(w for w in range(loading + 1, weeks + 1, loading + 1))
    if last_test < 2:
        return ()
    # stretches as even as can be, each of at most `loading` weeks and an easier one; the last one's
    # is the week of the test, so that no two easy weeks follow each other
    stretches = math.ceil(last_test / (loading + 1))
    sizes = [last_test // stretches + (k < last_test % stretches) for k in range(stretches)]
    return tuple(itertools.accumulate(sizes))


def unplanned_phases(r: BlockFacts, choices: Choices) -> tuple[Phase, ...]:
    """
    Phases like what was done, where nothing was planned.

    Each exercise comes as often as it was trained, and is named by it.
    """
    sets = known_sets(r)
    work = sets[sets["in_block"] & ~sets["warmup"]]
    weeks = max(1, work.loc[~work["test"], "week"].nunique())
    latest = work.groupby("exercise")["date"].max().sort_values(ascending=False)
    found: list[Phase] = []
    for exercise in latest.index:
        rows = work[(work["exercise"] == exercise) & ~work["test"]]
        if rows.empty:
            rows = work[work["exercise"] == exercise]
        counts = rows.groupby(["date", "session"])["sets"].sum()
        found.append(
            Phase(
                name=str(exercise),
                weeks=choices.unplanned_weeks,
                from_week=1,
                exercise=exercise,
                hang_s=usual(rows["hang_s"]) if exercise != "pull" else None,
                rest_s=usual(rows["rest_s"]) if exercise == "repeater" else None,
                reps=_whole(usual(rows["reps"])) if exercise == "repeater" else None,
                sets_per_session=max(1, int(counts.median())),
                set_rest_s=SET_REST_S[str(exercise)],
                sessions_per_week=max(1, math.floor(len(counts) / weeks + 0.5)),
                alternate_hands=exercise == "pull",
            )
        )
    return tuple(found)


def _whole(value: float | None) -> int | None:
    return None if value is None else int(value)


# --- the calendar ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Slot:
    """One session: its day, its phases, and whether it is a test."""

    week: int
    day: dt.date
    phases: tuple[Phase, ...]
    test: bool = False
    easy: bool = False


def calendar(
    start: dt.date,
    weeks: Sequence[int],
    phases: Sequence[Phase],
    weekdays: Sequence[int],
    *,
    easy: Iterable[int],
    tests: NextTests | None,
    choices: Choices,
    rested_from: dt.date | None = None,
) -> tuple[Slot, ...]:
    """
    The sessions of some weeks.

    Parameters
    ----------
    start : first day of week 1.
    weeks : the weeks wanted, in order.
    weekdays : Monday 0.
    rested_from : the first day on which fingers may be loaded.
    """
    easy = set(easy)
    slots: list[Slot] = []
    for week in weeks:
        first = start + dt.timedelta(days=7 * (week - 1))
        days = sorted(first + dt.timedelta(days=(d - first.weekday()) % 7) for d in weekdays)
        here = [p for p in phases if p.holds_week(week) and p.sessions_per_week]
        shared = _shared(here, len(days))
        slots += [
            Slot(week, day, of_day, easy=week in easy)
            for day, of_day in zip(days, shared, strict=True)
            if of_day and (rested_from is None or day >= rested_from)
        ]
    if tests is None or not tests.weeks:
        return tuple(slots)
    return tuple(_with_tests(slots, tests, choices))


def _shared(phases: Sequence[Phase], days: int) -> list[tuple[Phase, ...]]:
    """The week's sessions by day: each phase as often as planned, the emptiest days first."""
    out: list[list[Phase]] = [[] for _ in range(days)]
    if not days:
        return []
    wanted = [[p] * min(p.sessions_per_week or 0, days) for p in phases]
    for phase in itertools.chain.from_iterable(itertools.zip_longest(*wanted)):
        if phase is None:
            continue
        free = [day for day in out if phase not in day]
        if free:
            min(free, key=len).append(phase)
    return [tuple(day) for day in out]


def _with_tests(slots: Sequence[Slot], tests: NextTests, choices: Choices) -> Iterator[Slot]:
    """
    Make the first and last sessions tests, rest days before each; what stands too close goes.
    """
    rest = choices.rest_days_before_test
    first, last = tests.weeks[0], tests.weeks[-1]
    starts = [s.day for s in slots if s.week >= first]
    ends = [s.day for s in slots if s.week == last][::-1]
    if not ends or not starts:
        yield from slots
        return
    at_start = _spaced(starts, rest, tests.days_each_end)
    at_end = _spaced(
        [*ends, *(s.day for s in reversed(slots) if s.week == last - 1)],
        rest,
        tests.days_each_end,
    )
    at = {*at_start, *at_end}
    for slot in slots:
        if slot.day in at:
            yield replace(slot, test=True, easy=False, phases=slot.phases)
        elif any(0 < (day - slot.day).days <= rest for day in at):
            continue  # rested before a test
        elif any(0 < (slot.day - day).days <= rest for day in at) and any(
            p.exercise == "pull" for p in slot.phases
        ):
            continue  # no all-out work within the rest days after one
        else:
            yield slot


def test_in_week(
    slots: Sequence[Slot], tests: NextTests, choices: Choices, *, first: bool
) -> tuple[Slot, ...]:
    """One test in a running week: its first session at the block's start, else its last."""
    rest = choices.rest_days_before_test
    day = slots[0].day if first else slots[-1].day
    out = []
    for slot in slots:
        if slot.day == day:
            out.append(replace(slot, test=True, easy=False))
        elif not 0 < (day - slot.day).days <= rest:
            out.append(slot)
    return tuple(out)


def _spaced(days: Sequence[dt.date], rest: int, wanted: int) -> list[dt.date]:
    """So many of the days, in their order, each with the rest days to the one before."""
    out: list[dt.date] = []
    for day in days:
        if len(out) < wanted and all(abs((day - other).days) > rest for other in out):
            out.append(day)
    return out


# --- the rows -------------------------------------------------------------------------------------


def plan_rows(
    slots: Sequence[Slot],
    loads: Sequence[NextLoad],
    tests: NextTests | None,
    choices: Choices,
    *,
    begins: Mapping[str, int],
    ceilings: Mapping[int, float] | None = None,
    back: int = 0,
    pulled: dt.date | None = None,
) -> tuple[NextRow, ...]:
    """
    What to do in each session.

    The first phases' loads are planned from their start by the rule for adding: one step of the
    plates in each further loading week, no further than `expect_pct`. Later phases get a range: one
    step more, since the weeks before may have earned it.

    Parameters
    ----------
    loads : start loads.
    begins : the first week of each phase, by name.
    ceilings : most kg by position in `loads`, where a reason allows no step up.
    back : the first week after days off or ill, 0 where there is none.
    pulled : the last day with all-out pulls, None where none is logged.
    """
    first_week = min((s.week for s in slots), default=1)
    loading = sorted({s.week for s in slots if not s.easy and not s.test})
    rows: list[NextRow] = []
    numbers: dict[int, int] = {}
    for slot in slots:
        numbers[slot.week] = numbers.get(slot.week, 0) + 1
        session = numbers[slot.week]
        all_out: dt.date | None = None
        if slot.test and tests is not None:
            hands = tests.hands or (tests.series.hand,)
            rows += [_test_row(slot, session, tests, hand) for hand in hands]
            continue
        for phase in slot.phases:
            for n, load in enumerate(loads):
                if load.phase != phase.name or load.kind == "hold":
                    continue
                ceiling = (ceilings or {}).get(n, math.inf)
                later = begins[phase.name] > first_week
                since = begins[phase.name] if later else first_week
                # an easier week keeps the weight of the week before it
                before = [w for w in loading if since <= w < slot.week]
                steps = len(before[: -1 if slot.easy else None]) + later
                row = _row(slot, session, load, steps, choices, ceiling, later=later)
                if slot.week == back and load.easy_sets and load.easy_sets < (row.sets or 0):
                    row = replace(row, back=True, sets=load.easy_sets)
                if load.exercise == "pull" and load.kind == "expect":
                    if pulled is None or (slot.day - pulled).days > choices.pull_gap_days:
                        most = _eased(load, choices)
                        row = replace(row, reason=Reason.PULL_GAP, low_kg=None, high_kg=most)
                    all_out = slot.day
                rows.append(row)
        pulled = all_out or pulled
    return tuple(rows)


def _eased(load: NextLoad, choices: Choices) -> float | None:
    """The most that a pull should reach where none was done for weeks; None where not told."""
    last = load.last.kg if load.last is not None else math.nan
    return math.floor(2 * choices.pull_gap_share * last) / 2 if math.isfinite(last) else None


def _test_row(slot: Slot, session: int, tests: NextTests, hand: str) -> NextRow:
    key = tests.series
    return NextRow(
        slot.week,
        session,
        slot.day,
        "",
        key.capacity,
        key.grip,
        hand,
        tests.edge_mm,
        1,
        tests.reps,
        tests.hang_s,
        Reason.TEST,
        test=True,
    )


def _row(
    slot: Slot,
    session: int,
    load: NextLoad,
    steps: int,
    choices: Choices,
    ceiling: float,
    *,
    later: bool,
) -> NextRow:
    sets = load.easy_sets if slot.easy and load.sets else load.sets
    row = NextRow(
        slot.week,
        session,
        slot.day,
        load.phase,
        load.exercise,
        load.grip,
        load.hand,
        load.edge_mm,
        sets,
        load.reps,
        load.hang_s,
        load.reason,
        easy=slot.easy,
        from_edge_mm=load.from_edge_mm,
        rest_s=load.rest_s if load.exercise == "repeater" else None,
        left_s=_left_s(load, choices),
        left_reps=1 if load.exercise == "repeater" else None,
    )
    kg = load.kg
    if load.reason is Reason.AHEAD:
        return replace(row, reason=Reason.LATER)
    if load.exercise == "pull":
        return replace(row, low_kg=load.force_kg)
    if load.kind != "start" or kg is None:
        return row
    high = _planned(kg, load, steps, ceiling)
    lifted = load.force_kg is not None
    if later:
        return replace(row, reason=Reason.LATER, low_kg=kg, high_kg=high)
    reason = load.reason if not steps else Reason.EASIER if slot.easy else Reason.RULE
    return replace(
        row,
        reason=reason,
        low_kg=kg,
        high_kg=high,
        pieces=load.pieces if high == kg else (),
        added_kg=None if lifted else high,
        force_kg=high if lifted else None,
    )


def _left_s(load: NextLoad, choices: Choices) -> float | None:
    if load.reason is Reason.RAMP:
        return choices.ramp_left_s
    return choices.add_when_left_s if load.exercise == "hang" else None


def _planned(kg: float, load: NextLoad, steps: int, ceiling: float) -> float:
    """The load after so many loading weeks, if the rule for adding allows a step in each."""
    return max((x for x in load.ladder[: steps + 1] if x <= max(kg, ceiling) + 1e-6), default=kg)


def last_all_out(r: BlockFacts) -> dt.date | None:
    """The last day with a test or all-out pulls in the log."""
    sets = known_sets(r)
    pulls = sets[(sets["exercise"] == "pull") & ~sets["warmup"]]
    days = [*days_of_tests(sets, r.block), *pulls["date"]]
    return max(days).date() if days else None


def last_pulls(r: BlockFacts) -> dt.date | None:
    """The last day with all-out pulls in the log."""
    sets = known_sets(r)
    days = sets.loc[(sets["exercise"] == "pull") & ~sets["warmup"], "date"]
    return days.max().date() if len(days) else None
