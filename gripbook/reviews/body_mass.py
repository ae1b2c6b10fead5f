"""
Body mass over the block, as facts.

The lines (4 % in four weeks, 5 % over the block) are cautious choices of our own, without a
source. The reason to ask is relative energy deficiency in sport (Mountjoy et al. 2023, IOC
consensus statement, British Journal of Sports Medicine 57(17):1073-1097). No cause is guessed, no
index is computed, no target exists, and a lower body mass is never praised.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import pandas as pd

from gripbook.logs import Block
from gripbook.reviews.people import Athlete

FALL_IN_FOUR_WEEKS_PCT: Final = 4.0
FALL_OVER_BLOCK_PCT: Final = 5.0
#: One weigh-in moves with a meal or a drink; an end is the mean of this many days.
WEIGH_INS_AT_AN_END: Final = 3
FOUR_WEEKS_DAYS: Final = 28
#: Under 18 a fall that no weigh-in breaks, over three or more of them, is asked about from here on
#: (own cautious choice, no source).
STEADY_FALL_PCT: Final = 3.0
#: Three weigh-ins further apart than this are no one end (own choice, no source).
END_DAYS: Final = 21
#: A weigh-in this long before the block still tells of its start (own choice, no source).
BEFORE_DAYS: Final = 7

# a fall of just the line does not pass it for a rounding residue
_ROUNDING: Final = 1e-9


class BodyMassState(StrEnum):
    """Whether a change of body mass can be told."""

    HIDDEN = "hidden"
    NOT_WEIGHED = "not_weighed"
    CANT_TELL = "cant_tell"
    """Fewer than three weigh-ins close together at one end of the block."""
    MEASURED = "measured"


class FallOver(StrEnum):
    """Over what time body mass fell beyond a line."""

    BLOCK = "block"
    FOUR_WEEKS = "four_weeks"


@dataclass(frozen=True, slots=True)
class End:
    """
    Mean body mass of weigh-in days that stand together.

    Attributes
    ----------
    mean_kg : their mean. first, last, middle : their days. weigh_ins : how many days.
    """

    mean_kg: float
    first: pd.Timestamp
    last: pd.Timestamp
    middle: pd.Timestamp
    weigh_ins: int = WEIGH_INS_AT_AN_END


@dataclass(frozen=True, slots=True)
class Fall:
    """
    A fall beyond a line, which is a point for a physician.

    Attributes
    ----------
    over : the time. pct : how far it fell, above 0. first, last : means before and after.
    """

    over: FallOver
    pct: float
    first: End
    last: End


@dataclass(frozen=True, slots=True, eq=False)
class BodyMass:
    """
    Body mass over the block; empty throughout where it is hidden.

    Attributes
    ----------
    state : whether a change can be told. weigh_ins : `date`, `body_mass_kg`, `file`, `line`.
    days : days with a weigh-in. start, end : means of three weigh-in days at each end, None unless
        `MEASURED`. change_pct : from one to the other, NaN unless `MEASURED`. fall : a fall beyond
        a line, None without one. fell : whether there is one, known where body mass is hidden too,
        since it holds loads.
    """

    state: BodyMassState
    weigh_ins: pd.DataFrame
    days: int
    start: End | None
    end: End | None
    change_pct: float
    fall: Fall | None
    fell: bool

    @property
    def measured(self) -> bool:
        """Whether a change of body mass can be told."""
        return self.state is BodyMassState.MEASURED

    @property
    def end_masses_kg(self) -> tuple[float, float] | None:
        """Means at both ends, None where a change can't be told."""
        return (self.start.mean_kg, self.end.mean_kg) if self.start and self.end else None


def follow_body_mass(body: pd.DataFrame, block: Block, athlete: Athlete) -> BodyMass:
    """
    Follow one athlete's weigh-ins through the block.

    Parameters
    ----------
    body : rows of body.csv (`date`, `body_mass_kg`, `file`, `line`).
    athlete : where their body mass is hidden, nothing is given but whether it fell.
    """
    first, last = pd.Timestamp(block.start), pd.Timestamp(block.end)
    near = (body["date"] >= first - pd.Timedelta(days=BEFORE_DAYS)) & (body["date"] <= last)
    columns = ["date", "body_mass_kg", "file", "line"]
    weighed = body.loc[near, columns].sort_values(["date", "file", "line"], kind="stable")
    weighed = weighed[weighed["body_mass_kg"].notna()].reset_index(drop=True)
    seen = _follow(weighed, minor=athlete.minor is True)
    if athlete.show_body_mass:
        return seen
    nan = float("nan")
    return BodyMass(BodyMassState.HIDDEN, weighed.iloc[:0], 0, None, None, nan, None, seen.fell)


def _follow(weighed: pd.DataFrame, *, minor: bool) -> BodyMass:
    nan = float("nan")
    days = weighed.groupby("date")["body_mass_kg"].mean()
    ends = _ends(days)
    start, end = ends[0], ends[-1]
    if start is None or end is None or len(days) < 2 * WEIGH_INS_AT_AN_END:
        state = BodyMassState.CANT_TELL if len(days) else BodyMassState.NOT_WEIGHED
        fall = _fall_in_four_weeks(ends) or _fall_of_single(days) or _steady(days, minor=minor)
        return BodyMass(state, weighed, len(days), None, None, nan, fall, fall is not None)
    change = 100.0 * (end.mean_kg / start.mean_kg - 1.0)
    fall = _fall_in_four_weeks(ends)
    if change <= -FALL_OVER_BLOCK_PCT + _ROUNDING:
        fall = Fall(FallOver.BLOCK, -change, start, end)
    fall = fall or _steady(days, minor=minor)
    state = BodyMassState.MEASURED
    return BodyMass(state, weighed, len(days), start, end, change, fall, fall is not None)


def _steady(days: pd.Series, *, minor: bool) -> Fall | None:
    """Under 18: a fall from the first to the last weigh-in, with no rise between."""
    if not minor or len(days) < WEIGH_INS_AT_AN_END or not days.is_monotonic_decreasing:
        return None
    return _fall_of_single(days, STEADY_FALL_PCT)


def _fall_of_single(days: pd.Series, least_pct: float = FALL_OVER_BLOCK_PCT) -> Fall | None:
    """
    A fall from the first to the last weigh-in, where there are too few for means.

    Too few to tell a change, yet a fall this far is asked about rather than passed over.
    """
    if len(days) < 2:
        return None
    pct = 100.0 * (1.0 - float(days.iloc[-1]) / float(days.iloc[0]))
    if pct < least_pct - _ROUNDING:
        return None
    ends = [
        End(float(days.loc[day]), day, day, day, weigh_ins=1)
        for day in (days.index[0], days.index[-1])
    ]
    return Fall(FallOver.BLOCK, pct, *ends)


def _ends(days: pd.Series) -> list[End | None]:
    """Each run of three weigh-in days, in order; None where they stand too far apart."""
    n = WEIGH_INS_AT_AN_END
    runs: list[End | None] = []
    for i in range(len(days) - n + 1):
        run = days.iloc[i : i + n]
        first, last = run.index[0], run.index[-1]
        close = (last - first).days <= END_DAYS
        middle = first + (run.index - first).to_series().mean()
        runs.append(End(float(run.mean()), first, last, middle) if close else None)
    return runs or [None]


def _fall_in_four_weeks(ends: list[End | None]) -> Fall | None:
    """The largest fall between two ends at most four weeks apart, where it passes the line."""
    best: Fall | None = None
    for i, before in enumerate(ends):
        # ends that share a weigh-in are not two ends
        for after in ends[i + WEIGH_INS_AT_AN_END :]:
            if before is None or after is None:
                continue
            if (after.middle - before.middle).days > FOUR_WEEKS_DAYS:
                break
            pct = 100.0 * (1.0 - after.mean_kg / before.mean_kg)
            if pct > FALL_IN_FOUR_WEEKS_PCT + _ROUNDING and (best is None or pct > best.pct):
                best = Fall(FallOver.FOUR_WEEKS, pct, before, after)
    return best
