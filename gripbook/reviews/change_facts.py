"""
What changed, as facts: numbers, dates and enums, no sentence and no language.

Where an athlete's body mass is hidden, a field that would lead back to it is NaN, and paths and
points are empty: whole loads, per cent of a load, and loads over body mass.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

import numpy as np
import pandas as pd

from gripbook.derive.records import records
from gripbook.strength import Cause, Estimate, SeriesFit
from gripbook.strength.reasons import LeftOut, NoChange, SeriesReason

#: Chance of a rise (or fall) from which a change that is not sure is called probable.
PROBABLE: Final = 0.80


class ChangeVerdict(StrEnum):
    """
    What a page says of a series.

    `STRONGER`: a rise in results.csv, or a chance of 95 % or more; `PROBABLY_STRONGER`: a chance of
    80 to 95 %; `WEAKER` and `PROBABLY_WEAKER` likewise; `NO_CHANGE`: the whole 90 % range within
    the smallest change that matters; `AT_LEAST`: every set was finished, so there is no upper end;
    `NOT_MEASURED`: no sets at an end of the block, or not told (`reasons` says which); `CANT_TELL`:
    else.
    """

    STRONGER = "stronger"
    PROBABLY_STRONGER = "probably_stronger"
    NO_CHANGE = "no_change"
    PROBABLY_WEAKER = "probably_weaker"
    WEAKER = "weaker"
    CANT_TELL = "cant_tell"
    AT_LEAST = "at_least"
    NOT_MEASURED = "not_measured"


class PathKind(StrEnum):
    """What a path's loads are: estimates, or bounds where no set tells the limit."""

    ESTIMATE = "estimate"
    AT_LEAST = "at_least"
    AT_MOST = "at_most"


class OutsideReason(StrEnum):
    """Why an estimate lies outside what the tests of that day show."""

    RESERVE_GUESS = "reserve_guess"
    """It rests on the athlete's guess of what was left."""
    GOOD_DAY = "good_day"
    """More was mastered than the other sets lead to expect."""
    WEAK_DAY = "weak_day"
    """Other sets lead to expect more than was mastered."""
    FATIGUE = "fatigue"
    """Sets came before it on that day; the estimate is of a day's first set."""
    EDGE = "edge"
    """It was done on another edge than the one that strength is stated for."""
    LENGTH = "length"
    """It was held for another time, or for other holds, than strength is stated for."""


def path_kind(s: SeriesFit) -> PathKind:
    """What a series' loads are: bounds where every set is one."""
    kinds = {p.kind for p in s.points}
    if kinds == {"at least"}:
        return PathKind.AT_LEAST
    return PathKind.AT_MOST if kinds == {"at most"} else PathKind.ESTIMATE


@dataclass(frozen=True, slots=True)
class LoggedSet:
    """
    One set as logged.

    Attributes
    ----------
    day : its day (midnight).
    edge_mm, board : NaN and "" where not recorded.
    added_kg : added weight in kg, below 0 where taken off; NaN for pulls over a scale or gauge.
    load_kg : load on the fingers in kg; NaN where body mass is hidden.
    shown_kg : what a page may show: `load_kg`; where body mass is hidden the added weight, for
        pulls over a scale the difference to the first one. shown_as : which of them it is, by
        the names of `reviews.shown`.
    hang_s : seconds of each hold; reps : holds of a repeater set; both NaN where not planned.
    held_s, reps_done : seconds and whole holds reached where it failed, else NaN.
    left : seconds (hang) or holds (repeater) judged to be left, NaN where not noted.
    outcome : `finished`, `failed`, `stopped` or `pull`.
    file, line : where it stands in the log.
    """

    day: pd.Timestamp
    edge_mm: float
    board: str
    added_kg: float
    load_kg: float
    shown_kg: float
    shown_as: str
    hang_s: float
    reps: float
    held_s: float
    reps_done: float
    left: float
    outcome: str
    file: str
    line: int


@dataclass(frozen=True, slots=True)
class TestDay:
    """
    A test day of one series.

    Attributes
    ----------
    best : the highest load mastered; where none was, the lightest that failed.
    failed : the lightest set above it that failed on that day, None where none did.
    sets : test sets of the series on that day.
    """

    __test__ = False  # pytest would take it for a test

    best: LoggedSet
    failed: LoggedSet | None
    sets: int


@dataclass(frozen=True, slots=True)
class Outside:
    """
    An estimate that lies outside what a reader sees in a test.

    Attributes
    ----------
    at_end : the block's end, else its start. estimate_kg : the model's load; seen_kg : the highest
        load mastered in that test. left : seconds or holds judged to be left (`RESERVE_GUESS`),
        sets_before : sets of that day before it (`FATIGUE`), edge_mm : its edge (`EDGE`).
    """

    at_end: bool
    reason: OutsideReason
    estimate_kg: float
    seen_kg: float
    left: float = math.nan
    sets_before: int = 0
    edge_mm: float = math.nan


@dataclass(frozen=True, slots=True)
class Deciding:
    """
    What the log doesn't settle, and what a verdict hangs on.

    Attributes
    ----------
    cause : what it is. verdict, tenths : what a page would say were it as the log assumes.
    """

    cause: Cause
    verdict: ChangeVerdict
    tenths: int


@dataclass(frozen=True, slots=True)
class Training:
    """
    Training sets of a series on its most used edge, board and length: no warm-ups, no tests.

    Attributes
    ----------
    first, last : the heaviest set of the first and of the last such day. rise_kg : how much more
        was on, in kg of added weight (of the reading where a gauge or scale read it). sets,
        finished : how many there were and how many of them were finished.
    """

    first: LoggedSet
    last: LoggedSet
    rise_kg: float
    sets: int
    finished: int


@dataclass(frozen=True, slots=True, eq=False)
class SeriesChange:
    """
    One series: a capacity of one grip and hand.

    Attributes
    ----------
    fit : the model's series, whole; the coach's where body mass is hidden.
    capacity, grip, hand, edge_mm, load_kind : what it is; loads are stated for `edge_mm`.
    reference_s, reference_reps : seconds of a hold, and holds of a repeater set, that loads are
        stated for; NaN for pulls, `reference_reps` NaN but for repeaters.
    verdict, chance : what a page says, and P(change > 0); NaN where not measured.
    reasons : why it was not measured, empty where it was.
    start_kg, end_kg : load at the block's ends; of `AT_LEAST` the highest that was finished near
        them. NaN where not known, or where body mass is hidden.
    change_kg, low_kg, high_kg : change in kg with its 90 % range; where body mass is hidden in
        whole kg, the range rounded outward.
    change_pct, low_pct, high_pct : in per cent of the start; NaN where body mass is hidden.
    smallest_pct : the smallest change that matters.
    first_test, last_test : its test days in the block; None without one; the same where only one.
    tests_alike : whether both stand on one edge and board, with holds of one length.
    best : the highest load mastered in the block; the earliest of equals.
    training : what the training sets did; None without two days of them.
    outside : estimates outside what the tests show.
    hangs_on : what a verdict that is sure, or would be, hangs on.
    prior_pull_pct : by how many points the expectation of no change drew the estimate towards none;
        NaN where not measured, or where body mass is hidden.
    path : `day`, `kg`, `low_kg`, `high_kg`, `kind` (`PathKind`), `logged` (whether sets of the
        series stand in that week). Of bounds only one side is known: the other is NaN.
    points : `day`, `kg` (at the reference), `kind` (`exact`, `at least`, `at most`), `known`
        (whether it is the limit itself), `test`, `load_kg` (as logged), `file`, `line`.
    """

    fit: SeriesFit = field(repr=False)
    capacity: str
    grip: str
    hand: str
    edge_mm: float
    load_kind: str
    reference_s: float
    reference_reps: float
    verdict: ChangeVerdict
    chance: float
    reasons: tuple[SeriesReason, ...]
    start_kg: float
    end_kg: float
    change_kg: float
    low_kg: float
    high_kg: float
    change_pct: float
    low_pct: float
    high_pct: float
    smallest_pct: float
    first_test: TestDay | None
    last_test: TestDay | None
    tests_alike: bool
    best: LoggedSet | None
    training: Training | None
    outside: tuple[Outside, ...]
    hangs_on: tuple[Deciding, ...]
    prior_pull_pct: float
    path: pd.DataFrame = field(repr=False)
    points: pd.DataFrame = field(repr=False)

    @property
    def measured(self) -> bool:
        """Whether there is a change with a range."""
        return self.verdict not in (ChangeVerdict.AT_LEAST, ChangeVerdict.NOT_MEASURED)

    @property
    def withheld(self) -> bool:
        """Whether its change is not told, since food and energy are a question first."""
        return any(reason.why is NoChange.HEALTH_FIRST for reason in self.reasons)

    @property
    def path_kind(self) -> PathKind:
        """What the loads of `path`, `start_kg` and `end_kg` are."""
        return path_kind(self.fit)

    def at(self, day: pd.Timestamp) -> tuple[float, float, float] | None:
        """
        The path at a day: load and 90 % range, straight between the days it is known for.

        Returns
        -------
        kg, low, high; those of the last known day where the path ends before. None where it does
        not begin by then, or has bounds only.
        """
        if self.path_kind is not PathKind.ESTIMATE:
            return None
        path = records(self.path, "day", "kg", "low_kg", "high_kg")
        known = [row for row in path if not math.isnan(row.kg)]
        if not any(row.day <= day for row in known):
            return None
        days = [(row.day - day).days for row in known]
        kg, low, high = (float(np.interp(0, days, [row[i] for row in known])) for i in (1, 2, 3))
        return kg, low, high

    @property
    def tenths(self) -> int:
        """Chance of what a probable verdict says, in tenths (8 or 9); 0 for other verdicts."""
        return tenths_of(self.verdict, self.chance)


def tenths_of(verdict: ChangeVerdict, prob_rise: float) -> int:
    """Chance of what a probable verdict says, in tenths (8 or 9); 0 for other verdicts."""
    if verdict is ChangeVerdict.PROBABLY_STRONGER:
        return min(9, math.floor(10 * prob_rise + 0.5))
    if verdict is ChangeVerdict.PROBABLY_WEAKER:
        return min(9, math.floor(10 * (1 - prob_rise) + 0.5))
    return 0


@dataclass(frozen=True, slots=True)
class Pair:
    """
    Two series compared: hands of one grip, or grips of one hand.

    Attributes
    ----------
    one, other : the series. of : "hand" or "grip". at_end : at the block's end, else its start.
    apart : whether the 90 % range of their ratio holds no 1. stronger : which of the two is, None
        where they are not apart. one_over_other : in per cent; NaN where body mass is hidden.
    """

    one: SeriesFit
    other: SeriesFit
    of: str
    at_end: bool
    apart: bool
    stronger: SeriesFit | None
    one_over_other: Estimate


@dataclass(frozen=True, slots=True)
class Weakest:
    """
    The weaker hand, or the weakest grip of all that can be compared.

    Attributes
    ----------
    of : "hand" or "grip". capacity, edge_mm : of what. weakest : series below `strongest`; several
        where the lowest are not apart from one another, lowest estimate first. strongest : the
        series they are compared with. compared : all compared, strongest estimate first.
    at_end : at the block's end, else its start. below_pct : how far the lowest stands below the
        strongest, with its 90 % range, in per cent; NaN where body mass is hidden.
    """

    of: str
    capacity: str
    edge_mm: float
    weakest: tuple[SeriesFit, ...]
    strongest: SeriesFit
    compared: tuple[SeriesFit, ...]
    at_end: bool
    below_pct: Estimate


@dataclass(frozen=True, slots=True, eq=False)
class RatioChange:
    """
    The headline's load at the reference edge over body mass: like with like.

    Attributes
    ----------
    series : the headline. start, end : the ratio at the block's ends, NaN where not known.
    start_mass_kg, end_mass_kg : body mass there. mass_measured : whether the change of body mass
        can be told (three weigh-ins close together at each end). ratio_pct, force_pct, mass_pct :
        changes with 90 % ranges, NaN where not known.
    path : `day`, `ratio`, `low`, `high`, `logged`: the model's load at the reference edge over the
        body mass of that day.
    """

    series: SeriesChange
    start: float
    end: float
    start_mass_kg: float
    end_mass_kg: float
    mass_measured: bool
    ratio_pct: Estimate
    force_pct: Estimate
    mass_pct: Estimate
    path: pd.DataFrame


class SharperBy(StrEnum):
    """What would make the headline's range narrower."""

    RESERVES = "reserves"
    """Writing down what was left after finished sets."""
    SAME_EDGE = "same_edge"
    """A set on the reference edge in the last week."""
    TEST_DAYS = "test_days"
    """One more test to the limit in the first and in the last week, two days rested."""


@dataclass(frozen=True, slots=True)
class Sharper:
    """A way to a narrower range; `narrower` is the share (0 to 1), NaN where not worked out."""

    by: SharperBy
    narrower: float


@dataclass(frozen=True, slots=True, eq=False)
class Change:
    """
    All series of a block, the headline first.

    Attributes
    ----------
    series : all of them. headline : the one the plan named beforehand, without a plan the one with
        most sets; None where the log lacks it. judged : how many have a change with a range;
        false_rises : share of athletes who would see a rise in one of them had nothing changed.
    pairs : hands and grips compared. weakest : the weaker hand and the weakest grip, where the log
        tells them apart. ratio : None where body mass is hidden or not known.
    sharper : what would make the headline's range narrower. left_out : sets that say nothing.
    """

    series: tuple[SeriesChange, ...]
    headline: SeriesChange | None
    judged: int
    false_rises: float
    pairs: tuple[Pair, ...]
    weakest: tuple[Weakest, ...]
    ratio: RatioChange | None
    sharper: tuple[Sharper, ...]
    left_out: tuple[LeftOut, ...]
