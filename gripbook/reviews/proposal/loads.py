"""Start loads: the heaviest that the rules allow, with the rule that binds kept as data."""

from __future__ import annotations

import datetime as dt
import math
import re
import statistics
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property
from operator import attrgetter
from typing import Any, Literal

import pandas as pd

from gripbook.derive.records import records
from gripbook.logs import Block, Phase
from gripbook.reviews.block_facts import BlockFacts
from gripbook.reviews.plates import (
    STEP_KG,
    STEP_LB,
    STEP_ONE_HAND_KG,
    STEP_ONE_HAND_LB,
    loadable,
    spaced,
)
from gripbook.reviews.proposal.choices import Choices
from gripbook.reviews.proposal.holds import Hold, Holds
from gripbook.strength import SeriesKey
from gripbook.units import lb_to_kg

#: Grips in which nobody is led to more load than they chose themselves (own choice, no source).
DELICATE_GRIPS = ("full_crimp", "pocket_two", "pocket_one")
#: Half a kilogram is no other load: body mass moves by as much (own choice, no source).
SAME_LOAD_KG = 0.5
#: Sessions in so many days before the last one of a series tell how it is trained now.
RECENT_DAYS = 28
#: Days of a week ill, injured or away from which on its sessions are not asked for.
MOST_OF_A_WEEK = 4
#: A load mastered in so many days before the series' last session is the last one mastered: an
#: easier week in between takes nothing from it.
MASTERED_DAYS = 21

#: Nobody takes off more (kg).
MOST_OFF_KG = 100.0

Kind = Literal["start", "expect", "below", "hold", "open"]


class Reason(StrEnum):
    """What sets a load, or why there is none."""

    # rules of strength and step
    CHANCE = "chance"  # the heaviest that keeps the wanted chance for the last set
    KEEP = "keep"  # not lower than a share of the last load mastered
    STEP = "step"  # no more than a step above the last load mastered
    BLOCK_START = "block_start"  # a new block starts no heavier than the last load mastered
    ONE_STEP = "one_step"  # every set was finished: one step of the plates
    AGAIN = "again"  # the last load was not yet mastered in a whole session, or too little was left
    AS_BEFORE = "as_before"  # full crimp and small pockets: never more than before
    # named reasons that lower a start or hold it
    OFF = "off"
    ILL = "ill"
    SORE = "sore"
    BROKEN = "broken"
    LOW_DONE = "low_done"
    EASY_WEEK = "easy_week"
    BODY_MASS = "body_mass"
    RETURN = "return"
    # edges in place of weight
    EDGE_STEP = "edge_step"
    LARGER_EDGE = "larger_edge"
    # no load to set
    ALL_OUT = "all_out"
    HELD = "held"
    HELD_OTHER = "held_other"  # the other side hurts
    NO_DATA = "no_data"
    NO_WEIGHT = "no_weight"  # nothing there is goes low enough
    SMALL_EDGE = "small_edge"
    FIRST_BLOCK = "first_block"
    # rows of a week
    RULE = "rule"  # by the rule for adding
    EASIER = "easier"  # an easier week
    LATER = "later"  # worked out again before that week
    TEST = "test"
    RAMP = "ramp"


#: Reasons that are over after some weeks of regular sessions.
PASSING = (Reason.OFF, Reason.ILL, Reason.SORE, Reason.BROKEN, Reason.LOW_DONE)


@dataclass(frozen=True, slots=True)
class LoadLimit:
    """One rule and the most it allows: kg added, or kg on the block where a gauge read it."""

    reason: Reason
    most_kg: float


@dataclass(frozen=True, slots=True)
class Reduction:
    """
    A named reason to stay at or below a share of the last load, and no step above it.

    Attributes
    ----------
    share : of the last load mastered, 0 to 1.
    since, until : first and last day of what happened (off: last finger day and next start).
    days : days off, ill or sore.
    kinds : what was logged on days off.
    weeks : block weeks of broken limits; `stated` whether the block states limits.
    done, planned : finger sessions.
    """

    reason: Reason
    share: float
    since: dt.date | None = None
    until: dt.date | None = None
    days: int = 0
    kinds: tuple[str, ...] = ()
    weeks: tuple[int, ...] = ()
    stated: bool = True
    done: int = 0
    planned: int = 0


@dataclass(frozen=True, slots=True)
class LastLoad:
    """
    The last load of a series: what may be told of it, and where it stands.

    Attributes
    ----------
    kg : weight added, or on the block where `lifted` (pulls: on the fingers); NaN where the log
        is silent or it may not be told.
    day : its day.
    mastered : whether all sets of a session were finished with it.
    lifted : read by a gauge.
    row : `file:line`.
    """

    kg: float
    day: dt.date
    mastered: bool
    lifted: bool
    row: str


@dataclass(frozen=True, slots=True)
class NextLoad:
    """
    One exercise, grip, hand and edge of the coming block or week.

    Attributes
    ----------
    kind : `start` (load it), `expect` (an all-out pull: no load to set, `force_kg` is what the
        day's last pull still reaches), `below` (a pull held back: at most `force_kg`), `hold` (no
        load), `open` (nothing to go by).
    reason : the rule that binds, or why there is no load; `reasons`: all that bind alike.
    limits : every rule that was looked at, with the most it allows.
    keep_kg : the least that the rules want kept (NaN: none).
    added_kg, force_kg : None where there is none or it may not be told. `pieces`: plates, kg.
    sets : sets a session of this series, as trained; `reps`, `hang_s`, `rest_s` of one set.
    chance, again : wanted chance of the session's last set; that with the last load (NaN: unknown).
    from_edge_mm : the edge before, where the edge changes.
    add_kg : the next step of the plates above the start, None where none is small enough.
    room_kg : the most that the load is planned to rise in the block.
    hold : what holds it.
    """

    phase: str
    exercise: str
    grip: str
    hand: str
    edge_mm: float
    kind: Kind
    reason: Reason
    reasons: tuple[Reason, ...] = ()
    limits: tuple[LoadLimit, ...] = ()
    keep_kg: float = math.nan
    added_kg: float | None = None
    force_kg: float | None = None
    pieces: tuple[float, ...] = ()
    sets: int | None = None
    reps: int | None = None
    hang_s: float | None = None
    rest_s: float | None = None
    last: LastLoad | None = None
    chance: float = math.nan
    again: float = math.nan
    share: float = 1.0
    from_edge_mm: float = math.nan
    add_kg: float | None = None
    room_kg: float = 0.0
    hold: Hold | None = None

    @property
    def kg(self) -> float | None:
        """The load to set: kg added, or kg on the block."""
        return self.added_kg if self.force_kg is None else self.force_kg


# --- deciding -----------------------------------------------------------------------------------


def decide(
    limits: Sequence[LoadLimit], keep_kg: float, options: Sequence[float]
) -> tuple[float, tuple[Reason, ...]] | None:
    """
    The heaviest option that all rules allow, and the rules that bind.

    Parameters
    ----------
    limits : the most each rule allows.
    keep_kg : the least wanted (NaN: none): it lifts what `Reason.CHANCE` allows, no other rule.
    options : what can be loaded, kg.

    Returns
    -------
    The load and the binding reasons: without all of them together it would be another load, and
    the first alone would do where one alone does. None where no option is low enough.
    """
    kg = _heaviest(limits, keep_kg, options)
    if kg is None:
        return None
    chance = next((x.most_kg for x in limits if x.reason is Reason.CHANCE), math.inf)
    kept = chance < kg - 1e-9 and math.isfinite(keep_kg)
    # a rule binds where the next heavier option is beyond it
    above = min((x for x in options if x > kg + 1e-9), default=math.inf)
    tight = [
        x for x in limits if x.most_kg < above - 1e-9 and not (kept and x.reason is Reason.CHANCE)
    ]
    tight.sort(key=lambda x: x.most_kg)
    reasons = [x.reason for x in tight]
    if kept:
        # the chance alone would have allowed less: what keeps it up is named, unless another
        # rule holds the load below what is to be kept
        others = [x for x in limits if x.reason is not Reason.CHANCE]
        if _heaviest(others, math.nan, options) != kg:
            return kg, (Reason.KEEP,)
        return kg, tuple(reasons) or (Reason.KEEP,)
    return kg, tuple(dict.fromkeys(reasons))


def _heaviest(
    limits: Sequence[LoadLimit], keep_kg: float, options: Sequence[float]
) -> float | None:
    most = min((x.most_kg for x in limits if x.reason is not Reason.CHANCE), default=math.inf)
    chance = [x.most_kg for x in limits if x.reason is Reason.CHANCE]
    if chance:
        by_strength = chance[0]
        if math.isfinite(keep_kg):
            least = min((x for x in options if x >= keep_kg - 1e-6), default=-math.inf)
            by_strength = max(by_strength, least)
        most = min(most, by_strength)
    return max((x for x in options if x <= most + 1e-6), default=None)


# --- what lowers ----------------------------------------------------------------------------------


def reductions(
    r: BlockFacts, choices: Choices, holds: Holds, week: int, rested: dt.date
) -> tuple[Reduction, ...]:
    """
    Every named reason to start below the last loads, or to take no step.

    Parameters
    ----------
    week : the running block's week that is planned, 0 for a new block.
    rested : the first day on which fingers are loaded again.
    """
    found = [
        _off(r, choices, rested),
        _sore(r, choices),
        _broken(r, choices),
        _low(r, choices, week),
    ]
    if week and week in r.block.easy_weeks:
        found.append(Reduction(Reason.EASY_WEEK, 1.0))
    if holds.mass is not None:
        found.append(Reduction(Reason.BODY_MASS, 1.0))
    return tuple(x for x in found if x is not None)


def _off(r: BlockFacts, c: Choices, rested: dt.date) -> Reduction | None:
    """Days off before the start, or ill days close to it."""
    days = finger_days(r)
    if not days:
        return None
    last = days[-1]
    off = (rested - last).days - 1
    away = r.away[r.away["date"] < pd.Timestamp(rested)]
    if off >= c.off_days:
        since = away[(away["date"] > pd.Timestamp(last)) & (away["kind"] != "rest")]
        kinds = tuple(sorted(set(since["kind"])))
        return Reduction(Reason.OFF, c.off_share, last, rested, off, kinds)
    recent = away[away["date"] >= pd.Timestamp(rested) - pd.Timedelta(days=c.off_days + 7)]
    ill = recent[recent["kind"].isin(["ill", "injured"])]["date"].drop_duplicates()
    if len(ill) >= c.off_days:
        return Reduction(Reason.ILL, c.off_share, ill.min().date(), ill.max().date(), days=len(ill))
    return None


def _sore(r: BlockFacts, c: Choices) -> Reduction | None:
    felt = r.pain_to_date.felt
    recent = felt[felt["date"] >= r.last - pd.Timedelta(days=c.off_days + 7)]
    recent = recent[recent["date"] <= r.last]
    if recent.empty:
        return None
    first, last = recent["date"].min(), recent["date"].max()
    days = (last - first).days + 1
    if days < c.off_days:
        return None
    return Reduction(Reason.SORE, c.off_share, first.date(), last.date(), days)


def _broken(r: BlockFacts, c: Choices) -> Reduction | None:
    """Limits broken in the last days before the log ends."""
    since = r.last - pd.Timedelta(days=c.broken_days - 1)
    weeks = tuple(sorted({b.week for b in r.dose.breaches if b.date >= since}))
    if not weeks:
        return None
    stated = bool(r.block.limits.stated)
    return Reduction(Reason.BROKEN, c.lowered_share, weeks=weeks, stated=stated)


def _low(r: BlockFacts, c: Choices, week: int) -> Reduction | None:
    """
    Too few of the sessions that were due; of a running block in the last four weeks.

    Weeks mostly ill, injured or away are left out.
    """
    weeks = r.done.weeks[r.done.weeks["state"] != "ahead"]
    weeks = weeks[weeks["sessions_planned"].notna()]
    # who is ill or away misses sessions for that reason, which has its own rule
    without = weeks["without"].map(lambda kinds: sum(n for _, n in kinds))
    weeks = weeks[without < MOST_OF_A_WEEK]
    if week:
        weeks = weeks[weeks["sessions_due"] > 0].tail(4)
    planned, done = int(weeks["sessions_due"].sum()), int(weeks["sessions_done"].sum())
    if not planned or done >= c.low_done * planned:
        return None
    return Reduction(Reason.LOW_DONE, c.lowered_share, done=done, planned=planned)


# --- what was trained -----------------------------------------------------------------------------


def known_sets(r: BlockFacts) -> pd.DataFrame:
    """The athlete's sets with loads; without evidence those of the page, which may lack them."""
    return r.fit.sets if len(r.fit.sets) else r.sets


def finger_days(r: BlockFacts) -> list[dt.date]:
    """Days with finger sets, warm-ups alone left out, in order."""
    sets = known_sets(r)
    return sorted({day.date() for day in sets.loc[~sets["warmup"], "date"]})


def months_between(since: str, day: dt.date) -> float | None:
    """Months from a year or year-month to a day, None where not recorded; taken short."""
    found = re.fullmatch(r"(\d{4})(?:-(\d{1,2}))?", since.strip())
    if not found:
        return None
    # of a year alone the last month is taken, so that nobody passes for trained too early
    month = int(found.group(2)) if found.group(2) else 12
    return max(0.0, 12 * (day.year - int(found.group(1))) + day.month - month)


@dataclass(frozen=True, slots=True)
class Experience:
    """How long and how often: `new` and `beginner` decide; `months` None where not recorded."""

    months: float | None
    days: int
    new: bool
    beginner: bool


def experience(r: BlockFacts, choices: Choices, start: dt.date) -> Experience:
    """Whether the athlete is new to finger training, or a beginner."""
    months = months_between(r.athlete.fingers_since, start)
    days = len(finger_days(r))
    new = days < choices.new_finger_days and (months is None or months < choices.new_months)
    beginner = new or months is None or months < choices.beginner_months
    return Experience(months, days, new, beginner)


@dataclass(frozen=True, slots=True)
class Trained:
    """One series as it was trained: the edge, and sets a session (median of the recent ones)."""

    exercise: str
    grip: str
    hand: str
    edge_mm: float
    sets: int
    days: int
    last: dt.date


def trained_series(
    rows: Sequence[Any], block: Block, choices: Choices, exercise: str
) -> tuple[Trained, ...]:
    """
    Every grip, hand and edge of an exercise trained in the block.

    A grip counts from `trained_days` days on (or where the plan names it); of its edges those of
    the last two weeks of that series, the latest first. Tests and warm-ups are no training; where
    there is nothing else the tests stand in.

    Parameters
    ----------
    rows : `Loader.rows`.
    """
    named = {t.grip for p in block.phases for t in p.targets} | set(block.grips)
    if block.headline:
        named.add(block.headline.grip)
    found: list[Trained] = []
    own = (row for row in rows if row.in_block and not row.warmup and row.exercise == exercise)
    for (grip, hand), every in sorted(_grouped(own, "grip", "hand").items()):
        work = [row for row in every if not row.test] or every
        if len({row.date for row in work}) < choices.trained_days and grip not in named:
            continue
        last = max(row.date for row in work)
        near = [row for row in work if row.date > last - pd.Timedelta(days=14)]
        falling = _edges_fell(work)
        for edge in _latest_edges(near)[: 1 if falling else None]:
            of_edge = [row for row in work if _same_edge(row.edge_mm, edge)]
            recent = [r for r in of_edge if r.date > last - pd.Timedelta(days=RECENT_DAYS)]
            sessions = _grouped(recent, "date", "session").values()
            usual_sets = statistics.median(sum(row.sets for row in rows) for rows in sessions)
            found.append(
                Trained(
                    exercise,
                    grip,
                    hand,
                    edge,
                    max(1, math.floor(usual_sets + 0.5)),
                    len({row.date for row in of_edge}),
                    max(row.date for row in of_edge).date(),
                )
            )
    return tuple(found)


def _grouped(rows: Iterable[Any], *columns: str) -> dict[tuple[Any, ...], list[Any]]:
    """The rows by what they hold in some columns."""
    groups: dict[tuple[Any, ...], list[Any]] = {}
    of = attrgetter(*columns)
    for row in rows:
        groups.setdefault(of(row), []).append(row)
    return groups


def _same_edge(one: float, other: float) -> bool:
    return one == other or (math.isnan(one) and math.isnan(other))


def _latest_edges(rows: Iterable[Any]) -> list[float]:
    """The edges of some rows, the last used first; of one day the smallest, an unknown one last."""
    last: dict[float, pd.Timestamp] = {}
    for row in rows:
        edge = math.inf if math.isnan(row.edge_mm) else row.edge_mm
        last[edge] = max(row.date, last.get(edge, row.date))
    edges = sorted(sorted(last), key=last.__getitem__, reverse=True)
    return [math.nan if math.isinf(edge) else edge for edge in edges]


def _edges_fell(rows: Iterable[Any]) -> bool:
    """Whether the edge got smaller in the block: then the last edge stands for the others."""
    edges = [row.edge_mm for row in rows if not math.isnan(row.edge_mm)]
    return bool(edges) and edges[-1] < edges[0]


def usual(values: pd.Series) -> float | None:
    """The most frequent value, None where none is known."""
    known = values.dropna()
    return float(known.mode().iloc[0]) if len(known) else None


# --- one series -----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Loader:
    """What the loads of one proposal share; `load` works out one of them."""

    r: BlockFacts
    choices: Choices
    holds: Holds
    reductions: tuple[Reduction, ...]
    experience: Experience
    week: int = 0

    @cached_property
    def rows(self) -> list[Any]:
        """The rows of `known_sets`, plain: they are looked through for each series."""
        return records(known_sets(self.r))

    def loads(self, phase: Phase) -> tuple[NextLoad, ...]:
        """The loads of a phase, the athlete's weakest grip and hand first, unknown ones last."""
        assert phase.exercise is not None
        trained = trained_series(self.rows, self.r.block, self.choices, phase.exercise)
        sets = _as_trained(trained, phase, self.rows)
        there = {(t.grip, t.hand) for t in trained}
        lines = [self.load(phase, t, n) for t, n in zip(trained, sets, strict=True)]
        for target in phase.targets:
            if (target.grip, target.hand) not in there:
                lines.append(self._untrained(phase, target.grip, target.hand, target.edge_mm))
        return tuple(sorted(lines, key=self._weakness))

    def _weakness(self, load: NextLoad) -> tuple[bool, float]:
        own = [
            s.end_kg if math.isfinite(s.end_kg) else s.start_kg
            for s in self.r.fit.series
            if (s.capacity, s.grip, s.hand) == (load.exercise, load.grip, load.hand)
        ]
        return load.kind == "open", min((x for x in own if math.isfinite(x)), default=math.inf)

    def _line(self, phase: Phase, grip: str, hand: str, edge: float, sets: int | None) -> NextLoad:
        assert phase.exercise is not None
        line = NextLoad(
            phase.name,
            phase.exercise,
            grip,
            hand,
            edge,
            "open",
            Reason.NO_DATA,
            sets=sets,
            reps=phase.reps if phase.exercise == "repeater" else None,
            hang_s=phase.hang_s if phase.exercise != "pull" else None,
            rest_s=phase.rest_s if phase.exercise == "repeater" else None,
            chance=self._wanted,
        )
        hold = self.holds.on(hand)
        if hold is not None:
            return replace(line, kind="hold", reason=Reason.HELD, hold=hold)
        if phase.exercise == "pull":
            other = self.holds.on_all_out(hand)
            if other is not None:
                return replace(line, kind="hold", reason=Reason.HELD_OTHER, hold=other)
            if self.experience.new:
                return replace(line, reason=Reason.FIRST_BLOCK)
        return line

    def _untrained(self, phase: Phase, grip: str, hand: str, edge: float | None) -> NextLoad:
        return self._line(phase, grip, hand, math.nan if edge is None else edge, None)

    @property
    def _wanted(self) -> float:
        lowered = self.experience.beginner or any(x.share < 1 for x in self.reductions)
        return self.choices.chance_lowered if lowered else self.choices.chance

    def load(self, phase: Phase, trained: Trained, sets: int) -> NextLoad:
        """The load of one series in a phase."""
        line = self._line(phase, trained.grip, trained.hand, trained.edge_mm, sets)
        if line.kind == "hold" or line.reason is Reason.FIRST_BLOCK:
            return line
        key = self._key(line)
        if key is None:
            return line
        rows = self._rows(line, key)
        if not rows:
            if line.exercise == "pull" and self.holds.return_of(line.hand) is not None:
                return replace(line, kind="below", reason=Reason.RETURN, reasons=(Reason.RETURN,))
            return line
        last = _last_load(rows, sets, shown=self.r.athlete.show_body_mass, choices=self.choices)
        if last is None:
            return line
        line = replace(line, last=last.told)
        if math.isfinite(line.edge_mm) and line.edge_mm < self.choices.smallest_edge_mm:
            return replace(line, reason=Reason.SMALL_EDGE)
        if line.exercise == "pull":
            tellable = self.r.athlete.show_body_mass or last.told.lifted
            kg = last.load_kg if tellable else math.nan
            line = replace(line, last=replace(last.told, kg=kg, lifted=True))
            return self._pull(line, key, last)
        return self._weighted(line, key, last)

    def _key(self, line: NextLoad) -> SeriesKey | None:
        for kind in ("steady", "peak"):
            key = SeriesKey(line.exercise, line.grip, line.hand, kind)
            if key in self.r.fit.evidence.series and self.r.fit.find(*key):
                return key
        return None

    def _rows(self, line: NextLoad, key: SeriesKey) -> list[Any]:
        """The series' sets on this edge with a load; after a hold, those since it ended."""
        own = [
            row
            for row in self.rows
            if (row.exercise, row.grip, row.hand, row.load_kind) == key
            if not row.warmup and not math.isnan(row.load_kg)
        ]
        hung = [row for row in own if row.load_source != "gauge"]
        if hung and not self.r.athlete.show_body_mass:
            own = hung  # what a gauge read beside them would lead back to body mass
        own = [row for row in own if _same_edge(row.edge_mm, line.edge_mm)]
        back = self.holds.return_of(line.hand)
        if back is None or self.holds.cleared is None or back.first is None:
            return own
        since = [row for row in own if row.date.date() > self.holds.cleared.date]
        return since or [row for row in own if row.date.date() < back.first]

    def _shares(self, line: NextLoad, last: _Last) -> list[tuple[Reason, float]]:
        """The named reasons for this series with their shares of the last load."""
        out = [(x.reason, x.share) for x in self.reductions]
        back = self.holds.return_of(line.hand)
        cleared = self.holds.cleared
        if back is not None and cleared is not None and last.told.day <= cleared.date:
            out.append((Reason.RETURN, self.choices.return_share))
        return out

    def _pull(self, line: NextLoad, key: SeriesKey, last: _Last) -> NextLoad:
        """An all-out pull has no load to set: what its last one should still read."""
        tellable = self.r.athlete.show_body_mass or last.told.lifted
        shares = [(a, s) for a, s in self._shares(line, last) if s < 1 or a is Reason.BODY_MASS]
        if shares:
            reason, share = min(shares, key=lambda x: x[1])
            share = min(share, self.choices.off_share) if reason is Reason.BODY_MASS else share
            most = math.floor(2 * share * last.load_kg) / 2
            return replace(
                line,
                kind="below",
                reason=reason,
                reasons=(reason,),
                share=share,
                force_kg=most if tellable else None,
            )
        line = replace(line, kind="expect", reason=Reason.ALL_OUT)
        if not tellable:
            return line
        low, high = 0.3 * last.load_kg, 1.5 * last.load_kg
        for _ in range(40):  # the chance falls with the load
            middle = 0.5 * (low + high)
            enough = self._chance(key, line, middle) >= line.chance
            low, high = (middle, high) if enough else (low, middle)
        return replace(line, force_kg=math.floor(2 * low) / 2)

    def _chance(
        self, key: SeriesKey, line: NextLoad, load_kg: float, edge_mm: float | None = None
    ) -> float:
        """Chance that the session's sets of this series are finished; of pulls the last one's."""
        if load_kg <= 0:
            return 1.0
        edge = line.edge_mm if edge_mm is None else edge_mm
        sets, fit = line.sets or 1, self.r.fit
        if line.exercise == "pull":
            return fit.predict(key, edge_mm=edge, load_kg=load_kg, sets_before=sets - 1)
        return fit.predict_all(
            key, edge_mm=edge, load_kg=load_kg, sets=sets, hang_s=line.hang_s, reps=line.reps
        )

    def _base(self, last: _Last) -> float:
        """What carries the added weight: body mass now; where hidden, that of the last load."""
        if last.told.lifted:
            return 0.0
        masses = [m for m in (row.body_mass_kg for row in self.rows) if not math.isnan(m)]
        now = masses[-1] if masses else math.nan
        return now if self.r.athlete.show_body_mass else last.base_kg

    def _weighted(self, line: NextLoad, key: SeriesKey, last: _Last) -> NextLoad:
        """A hang or a repeater set: the heaviest load that all rules allow."""
        shown, lifted = self.r.athlete.show_body_mass or last.told.lifted, last.told.lifted
        base = self._base(last)
        if not math.isfinite(base):
            return line
        before = 0.0 if math.isnan(last.told.kg) else last.told.kg
        if shown and not lifted:
            # neither more weight because body mass fell, nor more load because it rose
            before = min(before, last.load_kg - base)
        shares = self._shares(line, last)
        fit = self.r.fit.find(*key)
        # where body mass is hidden the model's chance is left out: it rests on the load, and the
        # weight it allows would lead back to body mass
        by_chance = shown and fit is not None and not fit.at_least
        again = self._chance(key, line, base + before) if by_chance else math.nan
        line = replace(line, again=again, share=min((s for _, s in shares), default=1.0))

        counterweight = any(row.added_kg < 0 for row in self.rows)
        returning = any(a is Reason.RETURN for a, _ in shares)
        anchor = 0.0 if math.isnan(last.told.kg) else last.told.kg
        options = self._options(anchor, line.hand, lifted, off=counterweight or returning)
        delicate = line.grip in DELICATE_GRIPS
        free = not shares and last.told.mastered and not delicate

        smaller = self._smaller_edge(line) if free else None
        if smaller and before in options:
            enough = (
                self._chance(key, line, base + before, smaller) >= line.chance
                if by_chance
                else last.left_enough
            )
            if enough:
                edged = replace(
                    line,
                    edge_mm=smaller,
                    from_edge_mm=line.edge_mm,
                    reason=Reason.EDGE_STEP,
                    reasons=(Reason.EDGE_STEP,),
                )
                return self._at(edged, before, options, base, lifted)

        limits = self._limits(line, before, base, shares, last, options, lifted)
        if by_chance:
            limits.append(LoadLimit(Reason.CHANCE, self._by_chance(key, line, base, options)))
        keep = self._keep(before, base, line.share, last, lifted)
        line = replace(line, limits=tuple(limits), keep_kg=keep)
        made = decide(limits, keep, sorted(options))
        if made is None:
            return (
                replace(line, reason=Reason.NO_WEIGHT)
                if lifted
                else self._larger(line, key, base, by_chance=by_chance)
            )
        kg, reasons = made
        line = replace(line, reason=reasons[0], reasons=reasons)
        return self._at(line, kg, options, base, lifted)

    def _at(
        self,
        line: NextLoad,
        kg: float,
        options: dict[float, tuple[float, ...]],
        base: float,
        lifted: bool,
    ) -> NextLoad:
        add = self._add(kg, base, line.hand, options, lifted)
        return replace(
            line,
            kind="start",
            added_kg=None if lifted else kg,
            force_kg=kg if lifted else None,
            pieces=options[kg],
            add_kg=None if add is None else round(add, 3),
            room_kg=self.choices.expect_pct / 100 * self._of(kg, base, lifted, down=False),
        )

    def _options(
        self, anchor: float, hand: str, lifted: bool, *, off: bool
    ) -> dict[float, tuple[float, ...]]:
        """
        What can be loaded, kg to plates, in steps worth making from the last load.

        Weight taken off only for those who have done it.
        """
        plates = self.r.block.plates_kg
        if plates:
            sums = loadable(plates)
            options = {kg: pieces for kg, pieces in sums.items() if not (lifted and kg == 0)}
            if off and not lifted:
                options |= {-kg: pieces for kg, pieces in sums.items() if kg > 0}
        else:  # from what was loaded once, in steps of the smallest usual plate
            both = hand == "both"
            step = STEP_KG if both else STEP_ONE_HAND_KG
            if self.r.athlete.units == "lb":
                step = lb_to_kg(STEP_LB if both else STEP_ONE_HAND_LB)
            least = -MOST_OFF_KG if off and not lifted else 0.0
            steps = (round(anchor + k * step, 3) for k in range(-400, 401))
            options = {kg: () for kg in steps if kg >= least and (kg > 0 or not lifted)}
            if not lifted:
                options.setdefault(0.0, ())
        return {kg: options[kg] for kg in spaced(options, anchor, self._least_step(hand))}

    def _least_step(self, hand: str) -> float:
        c = self.choices
        return c.least_step_kg if hand == "both" else c.least_step_one_hand_kg

    def _add(
        self,
        kg: float,
        base: float,
        hand: str,
        options: dict[float, tuple[float, ...]],
        lifted: bool,
    ) -> float | None:
        """The next step above a load: worth making where one is allowed, else the largest."""
        most = self._step(kg, base, hand, lifted) + 1e-6
        above = loadable(self.r.block.plates_kg) if self.r.block.plates_kg else options
        every = {*options, *(x for x in above if not (lifted and x == 0))}
        steps = sorted(x - kg for x in every if 1e-6 < x - kg <= most)
        worth = [x for x in steps if x >= self._least_step(hand) - 1e-6]
        return worth[0] if worth else steps[-1] if steps else None

    def _of(self, before: float, base: float, lifted: bool, *, down: bool) -> float:
        """The load of which a share is taken."""
        if self.r.athlete.show_body_mass or lifted:
            return base + before
        kg = self.choices.heavy_kg if down else self.choices.light_kg
        return max(kg + before, 0.0)

    def _step(self, before: float, base: float, hand: str, lifted: bool) -> float:
        """The largest step up, kg."""
        c = self.choices
        kg, pct = (
            (c.step_kg, c.step_pct) if hand == "both" else (c.step_one_hand_kg, c.step_one_hand_pct)
        )
        return min(kg, pct / 100 * self._of(before, base, lifted, down=False))

    def _limits(
        self,
        line: NextLoad,
        before: float,
        base: float,
        shares: Iterable[tuple[Reason, float]],
        last: _Last,
        options: dict[float, tuple[float, ...]],
        lifted: bool,
    ) -> list[LoadLimit]:
        """The rules other than the chance."""
        out = [LoadLimit(Reason.STEP, before + self._step(before, base, line.hand, lifted))]
        if not self.week:
            out.append(LoadLimit(Reason.BLOCK_START, before))
        load = self._of(before, base, lifted, down=True)
        out += [LoadLimit(reason, before - (1 - share) * load) for reason, share in shares]
        fit = self.r.fit.find(line.exercise, line.grip, line.hand)
        if not last.told.mastered or not last.left_enough:
            out.append(LoadLimit(Reason.AGAIN, before))
        elif not self.r.athlete.show_body_mass or (fit is not None and fit.at_least):
            above = min((kg for kg in options if kg > before + 1e-6), default=before)
            out.append(LoadLimit(Reason.ONE_STEP, above))
        if line.grip in DELICATE_GRIPS:
            out.append(LoadLimit(Reason.AS_BEFORE, before))
        return out

    def _keep(self, before: float, base: float, share: float, last: _Last, lifted: bool) -> float:
        """The least wanted: a share of the last load mastered, below what a named reason asks."""
        if not last.told.mastered:
            return math.nan
        c = self.choices
        keep = c.keep_share_beginner if self.experience.beginner else c.keep_share
        return before - (1 - share * keep) * self._of(before, base, lifted, down=True)

    def _by_chance(
        self, key: SeriesKey, line: NextLoad, base: float, options: dict[float, tuple[float, ...]]
    ) -> float:
        """The heaviest option with the wanted chance; minus infinity where there is none."""
        kgs = sorted(options)
        low, high = 0, len(kgs)
        while low < high:  # the chance falls with the load
            middle = (low + high) // 2
            enough = self._chance(key, line, base + kgs[middle]) >= line.chance
            low, high = (middle + 1, high) if enough else (low, middle)
        return kgs[low - 1] if low else -math.inf

    def _smaller_edge(self, line: NextLoad) -> float | None:
        """The next smaller edge there is, for an athlete whose edges got smaller in the block."""
        series = line.exercise, line.grip, line.hand
        trained = [
            row
            for row in self.rows
            if row.in_block and not row.warmup and not row.test
            if (row.exercise, row.grip, row.hand) == series
        ]
        if not _edges_fell(trained):
            return None
        least = self.choices.smallest_edge_mm
        below = [e for e in self.r.block.edges_mm if least <= e < line.edge_mm]
        best = max(below, default=math.nan)
        return best if line.edge_mm - best <= self.choices.edge_step_mm else None

    def _larger(self, line: NextLoad, key: SeriesKey, base: float, *, by_chance: bool) -> NextLoad:
        """A larger edge with nothing added, where weight would have to come off."""
        there = {*self.r.block.edges_mm, *(row.edge_mm for row in self.rows)}
        for edge in sorted(e for e in there if e > line.edge_mm):
            if not by_chance or self._chance(key, line, base, edge) >= line.chance:
                return replace(
                    line,
                    kind="start",
                    edge_mm=edge,
                    from_edge_mm=line.edge_mm,
                    added_kg=0.0,
                    reason=Reason.LARGER_EDGE,
                    reasons=(Reason.LARGER_EDGE,),
                )
        return replace(line, reason=Reason.NO_WEIGHT)


def _as_trained(trained: Sequence[Trained], phase: Phase, rows: Sequence[Any]) -> list[int]:
    """
    Sets a session of each series: as trained, and all together no more than the phase plans.

    Hands in turn are pairs: of a grip trained with left and right only one hand counts.
    """
    counts = [t.sets for t in trained]
    planned = phase.sets_per_session
    if not planned or not counts:
        return counts
    seen: set[tuple[str, float]] = set()
    total = 0
    for t in trained:
        pair = (t.grip, t.edge_mm)
        if phase.alternate_hands and t.hand != "both" and pair in seen:
            continue
        seen.add(pair)
        total += t.sets
    # series trained on different days do not share a session
    together = max(1, total)
    if together <= planned or not _share_sessions(trained, rows):
        return [min(n, planned) for n in counts]
    return [max(1, math.floor(n * planned / together)) for n in counts]


def _share_sessions(trained: Sequence[Trained], rows: Iterable[Any]) -> bool:
    """Whether the series of an exercise were mostly trained in one session."""
    if len(trained) < 2:
        return True
    exercise = trained[0].exercise
    own = (row for row in rows if row.in_block and not row.warmup and row.exercise == exercise)
    sessions = _grouped(own, "date", "session").values()
    return statistics.median(len({(row.grip, row.hand) for row in s}) for s in sessions) > 1


# --- the last load --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Last:
    """The last load in full: `load_kg` on the fingers, of `base_kg` body mass."""

    told: LastLoad
    load_kg: float
    base_kg: float
    left_enough: bool


def _last_load(rows: Sequence[Any], sets: int, *, shown: bool, choices: Choices) -> _Last | None:
    """
    The last load mastered with all sets; where there is none, the heaviest finished last.

    A session masters the heaviest load with which, or with more, as many sets as usual were
    finished, none failing at it or below. Of the last sessions the heaviest counts, unless two
    later ones failed with it.
    """
    lifted = rows[-1].load_source == "gauge"

    def lever(row: Any) -> float:
        if lifted:
            return float(row.force_kg)
        return 0.0 if math.isnan(row.added_kg) else float(row.added_kg)

    def measure(row: Any) -> float:
        return float(row.load_kg) if shown or lifted else lever(row)

    work = [row for row in rows if not row.test]
    sessions = [own for _, own in sorted(_grouped(work, "date", "session").items())]
    mastered = [
        (n, row)
        for n, own in enumerate(sessions)
        if (row := _mastered(own, sets, measure)) is not None
    ]
    row = None
    if mastered:
        row = mastered[-1][1]
        since = max(x.date for x in work) - pd.Timedelta(days=MASTERED_DAYS)
        recent = [(n, x) for n, x in mastered if x.date > since]
        for n, candidate in sorted(recent, key=lambda x: (-measure(x[1]), -x[0])):
            most = measure(candidate) + SAME_LOAD_KG
            failed = sum(
                any(x.outcome == "failed" and measure(x) <= most for x in own)
                for own in sessions[n + 1 :]
            )
            if failed < 2:
                # body mass moves a little: of sessions with the same weight the last one counts
                same = [x for k, x in recent if k > n and lever(x) == lever(candidate)]
                row = same[-1] if same else candidate
                break
    whole = row is not None
    if row is None:
        done = [row for row in rows if row.outcome in ("finished", "pull")]
        if not done:
            return None
        day = max(row.date for row in done)
        row = max((row for row in done if row.date == day), key=measure)
    session = [x for x in rows if (x.date, x.session) == (row.date, row.session)]
    # seconds, or holds of a repeater; what was not judged (NaN) is below nothing
    short = any(x.reserve_s < choices.add_when_left_s or x.reserve_reps < 1 for x in session)
    return _Last(
        LastLoad(
            kg=row.force_kg if lifted else row.added_kg,
            day=row.date.date(),
            mastered=whole,
            lifted=lifted,
            row=f"{row.file}:{row.line}",
        ),
        load_kg=row.load_kg,
        base_kg=row.body_mass_kg,
        left_enough=not short,
    )


def _mastered(session: Iterable[Any], sets: int, measure: Callable[[Any], float]) -> Any | None:
    """The row of the heaviest load mastered in a session, None where it was not."""
    finished = [row for row in session if row.outcome in ("finished", "pull")]
    done = 0
    for row in sorted(finished, key=measure, reverse=True):
        done += row.sets
        if done >= sets:
            most = measure(row) + SAME_LOAD_KG
            missed = any(x.outcome == "failed" and measure(x) <= most for x in session)
            return None if missed else row
    return None
