"""`propose_next(review)`: one athlete's coming block or week, put together."""

from __future__ import annotations

import datetime as dt
import itertools
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import pandas as pd

from gripbook.display import Displayed
from gripbook.errors import GripbookError
from gripbook.logs import Block, Limits, Phase, Target
from gripbook.reviews.block_facts import BlockFacts
from gripbook.reviews.dose import days_of_tests
from gripbook.reviews.proposal import weeks as sessions
from gripbook.reviews.proposal.aims import with_aims
from gripbook.reviews.proposal.choices import Choices
from gripbook.reviews.proposal.holds import Holds, gather_holds
from gripbook.reviews.proposal.loads import BUILD_UP_WEEKS, DELICATE_GRIPS, Loader
from gripbook.reviews.proposal.lowered import Reduction, reductions
from gripbook.reviews.proposal.rules import NextLoad, Reason
from gripbook.reviews.proposal.tests import NextTests, plan_tests
from gripbook.reviews.proposal.trained import Experience, experience, finger_days, known_sets
from gripbook.reviews.proposal.weeks import NextRow, Slot, next_frame

#: Name of the phase of easy hangs for the new, as the facts hold it.
RAMP: Final = "ramp"
#: Weeks that are planned for what pain does not stop.
HELD_WEEKS: Final = 2
#: Named reasons that are said though no load of a running week rests on them.
ALWAYS_SAID: Final = (Reason.SORE, Reason.BODY_MASS)


@dataclass(frozen=True, slots=True)
class Ramp:
    """Easy hangs for the new: weeks, sets, seconds, edge (NaN: unknown), what is left, days."""

    weeks: int
    sets: int
    hang_s: float
    edge_mm: float
    left_s: float
    sessions: int


@dataclass(frozen=True, slots=True)
class DoneBefore:
    """What was done of one exercise, grip and hand in the block; no load, no next step."""

    exercise: str
    grip: str
    hand: str
    sets: int
    days: int
    edges_mm: tuple[float, ...]
    last: dt.date


@dataclass(frozen=True, slots=True)
class Watch:
    """Pain below the limit, felt in the last two weeks: ask before each session."""

    site: str
    side: str
    level: float
    date: dt.date
    limit: float


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class NextBlock(Displayed):
    """
    What next for one athlete.

    Attributes
    ----------
    start : first day of the block, or of the week; `moved` where the day asked for lay within the
        rest days of the last test.
    week : 0 for a whole block, else the block week meant; `over`: the block has no such week.
    weeks : weeks of the proposed block.
    shown : whether body mass, and what leads to it, may be shown. `units`: kg or lb.
    holds, reductions : what stops or lowers; `experience` who is new or a beginner.
    loads : start loads, in the plan's order. `rows`: every session.
    log_to : the log's last day, where the block before has weeks to come.
    easy_weeks : weeks with fewer sets. `weekdays`: Monday 0.
    tests : when to test; None where none is proposed. `test_waits`: the plan has one this week.
    late_from : from this first session on the loads start lower, None where that says nothing.
    late_loads : the loads of a start on that day, in the order of `loads`.
    set_rests_s : least and most seconds of rest between two sets, by phase, as planned.
    block : the block to write; None where nothing is proposed.
    before : what was done, for anyone under 18.
    watch, pain_asked : pain below the limit; whether pain was asked about at all.
    other_work : days a week by kind, in a running week.
    """

    athlete: str
    start: dt.date
    week: int
    weeks: int
    minor: bool
    shown: bool
    units: str
    age_known: bool
    choices: Choices
    holds: Holds
    experience: Experience
    block_name: str = ""
    block_end: dt.date | None = None
    log_to: dt.date | None = None
    moved: bool = False
    over: bool = False
    reductions: tuple[Reduction, ...] = ()
    loads: tuple[NextLoad, ...] = ()
    rows: tuple[NextRow, ...] = ()
    easy_weeks: tuple[int, ...] = ()
    weekdays: tuple[int, ...] = ()
    sessions: int = 0
    limits: Limits = field(default_factory=Limits)
    tests: NextTests | None = None
    test_waits: bool = False
    ramp: Ramp | None = None
    late_from: dt.date | None = None
    late_loads: tuple[NextLoad, ...] = ()
    set_rests_s: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    block: Block | None = None
    before: tuple[DoneBefore, ...] = ()
    watch: Watch | None = None
    pain_asked: bool = True
    other_work: Mapping[str, int] = field(default_factory=dict)

    def __repr__(self) -> str:
        what = f"week {self.week}" if self.week else f"{self.weeks} weeks"
        loads = f"{len(self.loads)} start loads in {len(self.rows)} rows"
        return f"<NextBlock of {self.athlete!r}: {what} from {self.start}; {loads}>"

    @property
    def held(self) -> tuple[str, ...]:
        """The hands that are held."""
        return self.holds.sides

    @property
    def share(self) -> float:
        """The smallest share of the last loads that a named reason asks for."""
        return min((x.share for x in self.reductions), default=1.0)

    def table(self) -> pd.DataFrame:
        """The rows as a tidy frame, a row a session and series (`next_frame`)."""
        return next_frame(self.rows)


def propose_next(
    review: BlockFacts, *, week: bool = False, start: dt.date | None = None, number: int = 0
) -> NextBlock:
    """
    Propose the coming block, or with `week` the coming week of the running one.

    Parameters
    ----------
    review : of the block that ends or runs; it may be viewed midway.
    week : the running week where sessions of it are still open, else the week after the last
        logged day; in place of the next block.
    start : first day of the next block; default: after a rest week, the first day after block and
        log that is the same day of the week as the block's first. A day within the rest days of
        the last test is moved.
    number : with `week` another week of the block than the coming one, a later one; its loads are
        those of today's log.

    Returns
    -------
    NextBlock; for anyone under 18 it only says what was done.

    Raises
    ------
    ValueError : the block has no such week, or it is over.
    """
    choices = Choices.of(review.block)
    holds = gather_holds(review)
    if week:
        return _week(review, choices, holds, number)
    return _block(review, choices, holds, start)


def check_begun(review: BlockFacts) -> None:
    """
    Refuse to propose a week of a block that the log hasn't reached: nothing is known of its loads.

    Raises
    ------
    GripbookError : the block begins after the log's last day.
    """
    first, last = review.block.start, review.last.date()
    if review.block.planned and last < first:
        raise GripbookError(
            f"{review.block.name} begins on {first}, after {review.athlete.id}'s last entry "
            f"({last}). Leave --block out: its weeks are then proposed from the block before."
        )


def _blank(r: BlockFacts, choices: Choices, holds: Holds, start: dt.date, week: int) -> NextBlock:
    """What is known before any load is worked out."""
    return NextBlock(
        athlete=r.athlete.id,
        start=start,
        week=week,
        weeks=r.block.weeks if r.block.planned else choices.unplanned_weeks,
        minor=holds.minor,
        shown=r.athlete.show_body_mass,
        units=r.athlete.units,
        age_known=r.athlete.born is not None,
        choices=choices,
        holds=holds,
        experience=experience(r, choices, start),
        block_name=r.block.name,
        block_end=r.block.end if r.block.planned else None,
        limits=r.block.limits,
        watch=None if holds.minor else _watch(r, choices, holds),
        pain_asked=r.pain_to_date.recorded,
        before=_before(r) if holds.minor else (),
    )


def _before(r: BlockFacts) -> tuple[DoneBefore, ...]:
    work = r.sets[r.sets["in_block"] & ~r.sets["warmup"]]
    return tuple(
        DoneBefore(
            str(exercise),
            str(grip),
            str(hand),
            int(rows["sets"].sum()),
            int(rows["date"].nunique()),
            tuple(float(e) for e in sorted(rows["edge_mm"].dropna().unique())),
            rows["date"].max().date(),
        )
        for (exercise, grip, hand), rows in work.groupby(["exercise", "grip", "hand"], sort=True)
    )


def _watch(r: BlockFacts, c: Choices, holds: Holds) -> Watch | None:
    pain = r.pain_to_date
    since = r.last - pd.Timedelta(days=c.off_days)
    felt = pain.felt[(pain.felt["date"] > since) & ~pain.felt["side"].isin(list(holds.sides))]
    if felt.empty or len(holds.sides) == 2:
        return None
    row = felt.iloc[-1]
    return Watch(
        str(row["site"]),
        str(row["side"]),
        float(row["level"]),
        row["date"].date(),
        r.block.limits.pain_level,
    )


# --- a whole block --------------------------------------------------------------------------------


def _block(r: BlockFacts, c: Choices, holds: Holds, asked: dt.date | None) -> NextBlock:
    phases = _phases(r, c)
    count = sessions.sessions_a_week(r, phases)
    weekdays = sessions.kept_days(r, count)
    start, moved = _start(r, c, weekdays, asked)
    plan = replace(_blank(r, c, holds, start, 0), moved=moved, weekdays=weekdays, sessions=count)
    if holds.minor:
        return plan
    # a block that still runs goes on after the log's last day: only a start that is named tells
    # how long the fingers will have rested
    running = asked is None and r.last.date() < r.block.end
    first = _first_day(start, weekdays)
    rested = r.last.date() + dt.timedelta(days=1) if running else first
    lowered = reductions(r, c, holds, 0, rested)
    exp = plan.experience
    loader = Loader(r, c, holds, lowered, exp)
    ramp = _ramp(r, c) if exp.new and not holds.sides else None
    shift = ramp.weeks if ramp else 0
    phases = tuple(replace(p, from_week=p.from_week + shift) for p in phases)
    loads = _loads(loader, [p for p in phases if not (ramp and p.exercise == "pull")])
    calm = not (holds.sides or holds.returning or holds.mass or exp.new)
    if running and calm:
        loads = (*loads, *_ahead(r, c, phases, loads))
    phases = _without_holes(phases, loads)
    weeks = max([plan.weeks + shift, *(p.to_week for p in phases)])
    if holds.sides:  # nobody plans months around a finger that nobody has looked at
        weeks = min(weeks, HELD_WEEKS)
    tests = None
    if calm and loads and (not exp.beginner or _tests_known(r)):
        late = any(x.share < 1 for x in lowered)
        tests = plan_tests(r, weeks, BUILD_UP_WEEKS + 1 if late else 1, count * weeks)
    # on the way back every week has an easier week's sets
    easy = () if holds.sides or holds.returning else _easy(r, c, weeks, tests, shift)
    if ramp:
        phases, loads = _with_ramp(r, ramp, phases, loads)
    slots = sessions.calendar(
        start, range(1, weeks + 1), phases, weekdays, easy=easy, tests=tests, choices=c
    )
    slots = _only_trainable(slots, loads)
    away = any(x.reason in (Reason.OFF, Reason.ILL) for x in lowered)
    rows = sessions.plan_rows(
        slots,
        loads,
        tests,
        c,
        begins=_begins(phases),
        ceilings=_ceilings(loads, holds, lowered),
        back=1 if away else 0,
        pulled=sessions.last_pulls(r),
    )
    rows = with_aims(r, c, rows, min((x.share for x in lowered), default=1.0))
    can_write = any(x.kind in ("start", "expect", "below") for x in loads) and not holds.sides
    slips = _late_from(r, c, loads, lowered, first)
    return replace(
        plan,
        weeks=weeks,
        log_to=r.last.date() if running and (r.block.end - r.last.date()).days >= 7 else None,
        reductions=lowered,
        loads=loads,
        rows=rows,
        easy_weeks=easy,
        tests=tests,
        ramp=ramp,
        late_from=slips,
        late_loads=_late_loads(r, c, holds, exp, phases, slips, 0) if slips else (),
        set_rests_s=_set_rests(phases),
        block=_file(r, plan, weeks, phases, slots, rows, loads, easy) if can_write else None,
    )


def _phases(r: BlockFacts, c: Choices) -> tuple[Phase, ...]:
    """The phases of finger work: the plan's, else as trained."""
    planned = tuple(p for p in r.block.phases if p.exercise)
    if not r.block.planned or not planned:
        return sessions.unplanned_phases(r, c)
    return planned


def _start(
    r: BlockFacts, c: Choices, weekdays: Sequence[int], asked: dt.date | None
) -> tuple[dt.date, bool]:
    """The block's first day, and whether the one asked for had to move."""
    tested = sessions.last_all_out(r)
    earliest = r.block.start
    if tested is not None:
        earliest = tested + dt.timedelta(days=c.rest_days_before_test + 1)
    if asked is not None:
        return max(asked, earliest), asked < earliest
    fingers = finger_days(r)
    if not r.block.planned:  # no block has ended that asks for a rest week: training goes on
        gap = r.block.limits.rest_days_between_finger_days + 1
        after = [r.last.date() + dt.timedelta(days=1), earliest]
        after += [day + dt.timedelta(days=gap) for day in fingers[-1:]]
        first = _first_day(max(after), weekdays)
        return first, False
    rested = earliest
    if fingers:
        # a block that still runs is trained to its end
        last = r.block.end if r.last.date() < r.block.end else fingers[-1]
        rested = last + dt.timedelta(days=c.rest_days_after_block + 1)
    start = max(r.block.end, r.last.date()) + dt.timedelta(days=1)
    start += dt.timedelta(days=(r.block.start - start).days % 7)
    while start < earliest or _first_day(start, weekdays) < rested:
        start += dt.timedelta(days=7)
    return start, False


def _first_day(start: dt.date, weekdays: Sequence[int]) -> dt.date:
    """The first session's day."""
    return start + dt.timedelta(days=min(((d - start.weekday()) % 7 for d in weekdays), default=0))


def _loads(loader: Loader, phases: Sequence[Phase]) -> tuple[NextLoad, ...]:
    """The loads of each phase; of phases of one name the one with the most sets speaks for all."""
    fullest: dict[str, Phase] = {}
    for p in phases:
        known = fullest.get(p.name)
        if known is None or (p.sets_per_session or 0) > (known.sets_per_session or 0):
            fullest[p.name] = p
    return tuple(load for p in fullest.values() for load in loader.loads(p))


def _ahead(
    r: BlockFacts, c: Choices, phases: Iterable[Phase], loads: Sequence[NextLoad]
) -> tuple[NextLoad, ...]:
    """What the running block has yet to come to: in the plan, its loads left to then."""
    known = {x.phase for x in loads}
    sets = known_sets(r)
    grip, edge = "half_crimp", r.block.reference_edge_mm
    if len(sets):
        last = sets[sets["in_block"]].iloc[-1] if sets["in_block"].any() else sets.iloc[-1]
        grip, edge = str(last["grip"]), float(last["edge_mm"])
    if r.block.headline is not None:
        grip = r.block.headline.grip
    now = r.block.week_of(r.last.date())
    return tuple(
        NextLoad(
            p.name,
            str(p.exercise),
            grip,
            hand,
            edge,
            "open",
            Reason.AHEAD,
            sets=p.sets_per_session,
            easy_sets=math.ceil((p.sets_per_session or 0) * c.easier_share) or None,
            reps=p.reps if p.exercise == "repeater" else None,
            hang_s=p.hang_s if p.exercise != "pull" else None,
        )
        for p in phases
        if p.name not in known and p.from_week > now
        for hand in (("left", "right") if p.alternate_hands else ("both",))
    )


def _tests_known(r: BlockFacts) -> bool:
    """Whether tests were planned or done: a beginner is not led to their first."""
    return bool(r.block.test_weeks) or bool(known_sets(r)["test"].any())


def _begins(phases: Iterable[Phase]) -> dict[str, int]:
    """The first week of each phase, by name."""
    out: dict[str, int] = {}
    for p in phases:
        out[p.name] = min(p.from_week, out.get(p.name, p.from_week))
    return out


def _ceilings(
    loads: Sequence[NextLoad], holds: Holds, lowered: Sequence[Reduction]
) -> dict[int, float]:
    """The most a load may be planned to rise to, where a reason allows no step up."""
    out: dict[int, float] = {}
    for n, load in enumerate(loads):
        back = Reason.RETURN in (x.reason for x in load.limits)
        if back or load.grip in DELICATE_GRIPS:
            out[n] = load.kg if load.kg is not None else math.inf
        elif holds.mass is not None:
            out[n] = next(
                (x.most_kg for x in load.limits if x.reason is Reason.BODY_MASS), -math.inf
            )
    return out


def _easy(
    r: BlockFacts, c: Choices, weeks: int, tests: NextTests | None, shift: int
) -> tuple[int, ...]:
    """The plan's easier weeks where they suffice, else as the choices ask."""
    last = tests.weeks[-1] if tests else None
    planned = tuple(w + shift for w in r.block.easy_weeks if w + shift <= weeks)
    marks = [0, *planned, last if last is not None else weeks + 1]
    if planned and all(b - a - 1 <= c.loading_weeks for a, b in itertools.pairwise(marks)):
        return tuple(sorted({*planned, *([last] if last else [])}))
    return sessions.easier_weeks(weeks, c.loading_weeks, last)


def _only_trainable(slots: Sequence[Slot], loads: Sequence[NextLoad]) -> tuple[Slot, ...]:
    """Sessions with something to do: those whose every load is held are left out."""
    free = {x.phase for x in loads if x.kind != "hold"}
    out = []
    for slot in slots:
        here = tuple(p for p in slot.phases if p.name in free)
        if here or slot.test:
            out.append(replace(slot, phases=here))
    return tuple(out)


def _late_from(
    r: BlockFacts,
    c: Choices,
    loads: Sequence[NextLoad],
    lowered: Sequence[Reduction],
    first: dt.date,
) -> dt.date | None:
    """From which first session on two weeks off lower the loads, where they don't already."""
    days = finger_days(r)
    rested = all(x.share > c.off_share for x in lowered)
    if not days or not rested or not any(x.kind == "start" for x in loads):
        return None
    late = days[-1] + dt.timedelta(days=c.off_days + 1)
    # of a block that still runs the fingers are loaded until the new one starts
    return late if late > first else None


def _late_loads(
    r: BlockFacts,
    c: Choices,
    holds: Holds,
    exp: Experience,
    phases: Sequence[Phase],
    late: dt.date,
    week: int,
) -> tuple[NextLoad, ...]:
    """The loads of a start on a later day, worked out as for that day itself."""
    return _loads(Loader(r, c, holds, reductions(r, c, holds, week, late), exp, week), phases)


def _set_rests(phases: Iterable[Phase]) -> dict[str, tuple[float, float]]:
    return {p.name: p.set_rest_s for p in phases if p.set_rest_s is not None}


def _without_holes(phases: tuple[Phase, ...], loads: Sequence[NextLoad]) -> tuple[Phase, ...]:
    """
    The phases that have something to do; weeks of one that has not go to the phase before it.

    Where it is the first they go to the one after it.
    """
    named = {x.phase for x in loads}
    if not named or all(p.name in named for p in phases):
        return phases
    out: list[Phase] = []
    first = min(p.from_week for p in phases)
    for p in sorted(phases, key=lambda p: p.from_week):
        if p.name in named:
            start = p.from_week if out else first
            weeks = p.weeks + p.from_week - start
            out.append(replace(p, from_week=start, weeks=weeks))
        elif out and out[-1].to_week < p.to_week:
            out[-1] = replace(out[-1], weeks=out[-1].weeks + p.to_week - out[-1].to_week)
    return tuple(out)


# --- easy hangs for the new -----------------------------------------------------------------------


def _ramp(r: BlockFacts, c: Choices) -> Ramp:
    edges = [*r.block.edges_mm, *known_sets(r)["edge_mm"].dropna()]
    return Ramp(
        c.ramp_weeks,
        c.ramp_sets,
        c.ramp_hang_s,
        float(max(edges, default=math.nan)),
        c.ramp_left_s,
        min(c.ramp_sessions, r.block.limits.fingers_per_week),
    )


def _with_ramp(
    r: BlockFacts, ramp: Ramp, phases: tuple[Phase, ...], loads: tuple[NextLoad, ...]
) -> tuple[tuple[Phase, ...], tuple[NextLoad, ...]]:
    phase = Phase(
        name=RAMP,
        weeks=ramp.weeks,
        from_week=1,
        exercise="hang",
        hang_s=ramp.hang_s,
        sets_per_session=ramp.sets,
        set_rest_s=(120.0, 180.0),
        sessions_per_week=ramp.sessions,
    )
    sets = known_sets(r)
    grips = sets.loc[~sets["grip"].isin(DELICATE_GRIPS), "grip"].mode()
    load = NextLoad(
        RAMP,
        "hang",
        str(grips.iloc[0]) if len(grips) else "half_crimp",
        "both",
        ramp.edge_mm,
        "open",
        Reason.RAMP,
        sets=ramp.sets,
        hang_s=ramp.hang_s,
    )
    return (phase, *phases), (load, *loads)


# --- the coming week ------------------------------------------------------------------------------


def _week(r: BlockFacts, c: Choices, holds: Holds, asked_for: int) -> NextBlock:
    number = max(1, r.block.week_of(r.last.date()))
    open_days = _open_days(r, c, number)
    if not open_days:
        number = max(1, r.block.week_of(r.last.date()) + 1)
    # before a later week the weeks up to it will be trained
    rested = max(_first_of(r, number), r.last.date() + dt.timedelta(days=1))
    rested = open_days[0] if open_days else rested
    if asked_for and asked_for != number:
        if not number < asked_for <= r.block.weeks:
            raise ValueError(asked_for)
        number, open_days = asked_for, []
    start = _first_of(r, number)
    plan = _blank(r, c, holds, start, number)
    if holds.minor:
        return plan
    if r.block.planned and number > r.block.weeks:
        return replace(plan, over=True)
    phases = tuple(p for p in r.block.phases if p.exercise and p.holds_week(number))
    if not r.block.planned:
        phases = sessions.unplanned_phases(r, c)
        phases = tuple(replace(p, weeks=max(number, r.block.weeks)) for p in phases)
    asked = sum(p.sessions_per_week or 0 for p in phases)
    count = min(asked, r.block.limits.fingers_per_week)
    weekdays = sessions.kept_days(r, count)
    from_day = max(start, _rested_from(r, c, number, phases))
    lowered = reductions(r, c, holds, number, rested)
    exp = plan.experience
    loads = _loads(Loader(r, c, holds, lowered, exp, number), phases)
    lowered = tuple(x for x in lowered if x.reason in ALWAYS_SAID or _counts(x.reason, loads))
    calm = not (holds.sides or holds.returning or holds.mass or exp.new)
    due = number in r.block.test_weeks and not _tested_in(r, number)
    tests = None
    if due and calm and not any(x.share < 1 for x in lowered):
        whole = plan_tests(r, max(2, r.block.weeks), 1, 0)
        tests = replace(whole, weeks=(number,), days_each_end=1) if whole else None
    slots = sessions.calendar(
        r.block.start,
        [number],
        phases,
        weekdays,
        easy=r.block.easy_weeks,
        tests=None,
        choices=c,
        rested_from=from_day,
    )
    if open_days:
        slots = tuple(s for s in slots if s.day in open_days)
    slots = _only_trainable(slots, loads)
    if tests is not None and slots:
        slots = sessions.test_in_week(slots, tests, c, first=number == min(r.block.test_weeks))
    rows = sessions.plan_rows(
        slots,
        loads,
        tests,
        c,
        begins=_begins(phases),
        back=number if _is_back(r, c, number, lowered) else 0,
        pulled=sessions.last_pulls(r),
    )
    rows = with_aims(r, c, rows, min((x.share for x in lowered), default=1.0))
    ramp = _ramp(r, c) if exp.new and not holds.sides and number <= c.ramp_weeks else None
    slips = _late_from(r, c, loads, lowered, rested)
    return replace(
        plan,
        weekdays=weekdays,
        sessions=len(slots),
        reductions=lowered,
        loads=loads,
        rows=rows,
        easy_weeks=tuple(w for w in r.block.easy_weeks if w == number),
        tests=tests,
        test_waits=due and tests is None and not holds.sides,
        ramp=ramp,
        late_from=slips,
        late_loads=_late_loads(r, c, holds, exp, phases, slips, number) if slips else (),
        set_rests_s=_set_rests(phases),
        other_work=r.block.weekly_in(number),
    )


def _counts(reason: Reason, loads: Iterable[NextLoad]) -> bool:
    """Whether a named reason was among the rules of any load."""
    return any(reason in (x.reason, *x.reasons, *(y.reason for y in x.limits)) for x in loads)


def _is_back(r: BlockFacts, c: Choices, week: int, lowered: Iterable[Reduction]) -> bool:
    """Whether a week is the first after days off or ill."""
    if any(x.reason in (Reason.OFF, Reason.ILL) for x in lowered):
        return True
    days = finger_days(r)
    return any(
        (b - a).days > c.off_days and r.block.week_of(b) == week
        for a, b in itertools.pairwise(days)
    )


def _first_of(r: BlockFacts, week: int) -> dt.date:
    return r.block.start + dt.timedelta(days=7 * (week - 1))


def _tested_in(r: BlockFacts, week: int) -> bool:
    sets = known_sets(r)
    return bool((sets["test"] & (sets["week"] == week)).any())


def _rested_from(r: BlockFacts, c: Choices, week: int, phases: Iterable[Phase]) -> dt.date:
    """The first day on which the week's work leaves the rest days since the last."""
    days = finger_days(r)
    first: dt.date = r.last.date() + dt.timedelta(days=1)
    if not days:
        return first
    rest = r.block.limits.rest_days_between_finger_days
    first = max(first, days[-1] + dt.timedelta(days=rest + 1))
    tests = days_of_tests(known_sets(r), r.block)
    all_out = week in r.block.test_weeks or any(p.exercise == "pull" for p in phases)
    if tests and all_out:
        first = max(first, max(tests).date() + dt.timedelta(days=c.rest_days_before_test + 1))
    return first


def _open_days(r: BlockFacts, c: Choices, week: int) -> list[dt.date]:
    """Days of the running week on which sessions that are still open would fall."""
    if week > r.block.weeks or r.last.date() >= r.block.start + dt.timedelta(days=7 * week - 1):
        return []
    phases = [p for p in r.block.phases if p.exercise and p.holds_week(week)]
    asked = min(sum(p.sessions_per_week or 0 for p in phases), r.block.limits.fingers_per_week)
    weeks = r.done.weeks
    done = int(weeks.loc[weeks["week"] == week, "sessions_done"].sum())
    if done >= asked:
        return []
    start = r.block.start + dt.timedelta(days=7 * (week - 1))
    first = _rested_from(r, c, week, phases)
    kept = sessions.kept_days(r, asked)
    days = sorted(start + dt.timedelta(days=(d - start.weekday()) % 7) for d in kept)
    return [d for d in days if d >= first][: asked - done]


# --- the file -------------------------------------------------------------------------------------


def _file(
    r: BlockFacts,
    plan: NextBlock,
    weeks: int,
    phases: Sequence[Phase],
    slots: Sequence[Slot],
    rows: Sequence[NextRow],
    loads: Sequence[NextLoad],
    easy: tuple[int, ...],
) -> Block:
    """The block to write: a phase for each run of weeks that are planned alike, with targets."""
    out: list[Phase] = []
    for name in dict.fromkeys(p.name for p in phases):
        for week in range(1, weeks + 1):
            phase = next((p for p in phases if p.name == name and p.holds_week(week)), None)
            if phase is None:
                continue
            here = [s for s in slots if s.week == week and any(p.name == name for p in s.phases)]
            of_week = [x for x in rows if x.week == week and x.phase == name]
            if not of_week:  # a week of tests alone has the phase's usual targets
                of_week = [x for x in rows if x.phase == name and x.week > week][:1] and [
                    x
                    for x in rows
                    if x.phase == name
                    and x.week == min(y.week for y in rows if y.phase == name and y.week > week)
                ]
            targets = tuple(dict.fromkeys(_target(x, _lifted(x, loads)) for x in of_week))
            seen: dict[int, int] = {}
            for x in of_week:
                seen[x.session] = seen.get(x.session, 0) + (x.sets or 0)
            sets = max(seen.values(), default=0) or phase.sets_per_session
            if phase.alternate_hands and sets and {x.hand for x in of_week} >= {"left", "right"}:
                sets = max(1, math.ceil(sets / 2))
            one = replace(
                phase,
                weeks=1,
                from_week=week,
                sessions_per_week=len(here),
                sets_per_session=sets,
                targets=targets,
            )
            before = out[-1] if out else None
            if before is not None and before.to_week == week - 1 and _alike(before, one):
                out[-1] = replace(before, weeks=before.weeks + 1)
            else:
                out.append(one)
    last = r.block
    headline = last.headline
    if headline and plan.experience.new and headline.capacity == "pull":
        headline = None
    grips = {x.grip for x in rows}
    return replace(
        last,
        name=_next_name((last.aside or last).name),
        start=plan.start,
        weeks=weeks,
        headline=headline,
        phases=tuple(sorted(out, key=lambda p: p.from_week)),
        test_weeks=tuple(sorted({s.week for s in slots if s.test})),
        easy_weeks=easy,
        athletes=(r.athlete.id,),
        limits=last.limits if last.given else Limits(),
        grips=tuple(sorted(set(last.grips) & grips)),
        overrides={},
        file="",
        planned=True,
        aside=None,
    )


def _lifted(row: NextRow, loads: Iterable[NextLoad]) -> bool:
    return any(
        x.force_kg is not None and (x.phase, x.grip, x.hand) == (row.phase, row.grip, row.hand)
        for x in loads
    )


def _alike(a: Phase, b: Phase) -> bool:
    return replace(a, weeks=1, from_week=1) == replace(b, weeks=1, from_week=1)


def _target(row: NextRow, lifted: bool) -> Target:
    """A row's load and sets; what the rule for adding may have reached by then is a most."""
    edge = row.edge_mm if math.isfinite(row.edge_mm) else None
    added, force = row.added_kg, row.force_kg
    ranged = row.exercise != "pull" and row.high_kg is not None and row.low_kg is not None
    if ranged and row.reason is Reason.LATER:
        added, force = (None, row.high_kg) if lifted else (row.high_kg, None)
    at_most = ranged and (row.reason is Reason.LATER or row.low_kg != row.high_kg)
    return Target(row.grip, row.hand, edge, added, force, row.sets, at_most)


def _next_name(name: str) -> str:
    """`Winter 2` after `Winter`, `Winter 3` after `Winter 2`."""
    found = re.fullmatch(r"(.*\S)\s+(\d{1,3})", name)
    return f"{found.group(1)} {int(found.group(2)) + 1}" if found else f"{name} 2"
