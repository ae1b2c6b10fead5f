"""
Body mass over the block: told neutrally, and one sentence where it fell fast.

The lines (4 % in four weeks, 5 % over the block) are cautious choices of our own, without a
source. The reason to ask is relative energy deficiency in sport (Mountjoy et al. 2023, IOC
consensus statement, British Journal of Sports Medicine 57(17):1073-1097). No cause is guessed, no
index is computed, no target exists, and a lower body mass is never praised.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import pandas as pd

from gripbook.logs import Block
from gripbook.reviews.people import Athlete
from gripbook.words import fmt, say

FALL_IN_FOUR_WEEKS_PCT: Final = 4.0
FALL_OVER_BLOCK_PCT: Final = 5.0
#: One weigh-in moves with a meal or a drink; an end is the mean of this many days.
WEIGH_INS_AT_AN_END: Final = 3
FOUR_WEEKS_DAYS: Final = 28
#: Three weigh-ins further apart than this are no one end (own choice, no source).
END_DAYS: Final = 21
#: A weigh-in this long before the block still tells of its start (own choice, no source).
BEFORE_DAYS: Final = 7

# a fall of just the line does not pass it for a rounding residue
_ROUNDING: Final = 1e-9


@dataclass(frozen=True, slots=True)
class End:
    """Mean body mass of some weigh-in days that stand together."""

    mean_kg: float
    first: pd.Timestamp
    last: pd.Timestamp
    middle: pd.Timestamp


@dataclass(frozen=True, slots=True, eq=False)
class BodyMass:
    """
    Body mass over the block; empty throughout where it is hidden.

    `weigh_ins`: `date`, `body_mass_kg`, `file`, `line`. `start`, `end`: means of three weigh-in
    days, None where there are fewer. `text`: the change in plain words. `sentence`: the one
    sentence to a physician, "" where no line is passed.
    """

    weigh_ins: pd.DataFrame
    start: End | None
    end: End | None
    text: str
    sentence: str


def follow_body_mass(body: pd.DataFrame, block: Block, athlete: Athlete) -> BodyMass:
    """
    Follow one athlete's weigh-ins through the block.

    Parameters
    ----------
    body : rows of body.csv (`date`, `body_mass_kg`, `file`, `line`).
    athlete : where their body mass is hidden, nothing is told at all.
    """
    first, last = pd.Timestamp(block.start), pd.Timestamp(block.end)
    near = (body["date"] >= first - pd.Timedelta(days=BEFORE_DAYS)) & (body["date"] <= last)
    columns = ["date", "body_mass_kg", "file", "line"]
    own = body.loc[near, columns].sort_values(["date", "file", "line"], kind="stable")
    own = own[own["body_mass_kg"].notna()].reset_index(drop=True)
    if not athlete.show_body_mass:
        return BodyMass(own.iloc[:0], None, None, "", "")
    days = own.groupby("date")["body_mass_kg"].mean()
    ends = _ends(days)
    if len(days) < 2 * WEIGH_INS_AT_AN_END or ends[0] is None or ends[-1] is None:
        n = fmt.count(len(days), "{n} day", "{n} days")
        text = say(
            "Body mass was weighed on {n}; a change is told only from three "
            "weigh-ins close together at each end.",
            n=n,
        )
        return BodyMass(own, None, None, text, _sentence(ends, None, athlete))
    start, end = ends[0], ends[-1]
    change = 100.0 * (end.mean_kg / start.mean_kg - 1.0)
    moved = fmt.number(change, 1, sign=True)
    text = say(
        "Body mass: {mean_kg} at first (mean of three weigh-ins, {span}), "
        "{mean_kg_2} at last ({span_2}): {moved}~%.",
        mean_kg=fmt.mass(start.mean_kg),
        span=_span(start),
        mean_kg_2=fmt.mass(end.mean_kg),
        span_2=_span(end),
        moved=moved,
    )
    return BodyMass(own, start, end, text, _sentence(ends, change, athlete))


def _ends(days: pd.Series) -> list[End | None]:
    """Each run of three weigh-in days, in order; None where they stand too far apart."""
    n = WEIGH_INS_AT_AN_END
    found: list[End | None] = []
    for i in range(len(days) - n + 1):
        own = days.iloc[i : i + n]
        first, last = own.index[0], own.index[-1]
        close = (last - first).days <= END_DAYS
        middle = first + (own.index - first).to_series().mean()
        found.append(End(float(own.mean()), first, last, middle) if close else None)
    return found or [None]


def _sentence(ends: list[End | None], change_pct: float | None, athlete: Athlete) -> str:
    """One neutral sentence where body mass fell beyond a line, else nothing."""
    fast = _fastest_fall(ends)
    if change_pct is not None and change_pct < -FALL_OVER_BLOCK_PCT - _ROUNDING:
        fell = say(
            "Body mass is {change_pct}~% lower at the end of the block than at its "
            "start (means of three weigh-ins)",
            change_pct=fmt.number(-change_pct),
        )
    elif fast is not None and fast[0] > FALL_IN_FOUR_WEEKS_PCT + _ROUNDING:
        fell = say(
            "Body mass fell by {fast}~% within four weeks, {first} to {last} (means "
            "of three weigh-ins)",
            fast=fmt.number(fast[0]),
            first=fmt.day(fast[1].first.date(), year=False),
            last=fmt.day(fast[2].last.date(), year=False),
        )
    else:
        return ""
    who = with_whom(athlete)
    return say(
        "{fell}: whatever the reason, please talk it over {who}, because too "
        "little energy for the training done harms health (relative energy "
        "deficiency in sport, IOC 2023).",
        fell=fell,
        who=who,
    )


def with_whom(athlete: Athlete) -> str:
    """Who is to be asked about body mass."""
    return say("with guardian and physician") if athlete.minor else say("with a physician")


def _fastest_fall(ends: list[End | None]) -> tuple[float, End, End] | None:
    """The largest fall in per cent between two ends at most four weeks apart, and the two."""
    best: tuple[float, End, End] | None = None
    for i, before in enumerate(ends):
        # ends that share a weigh-in are not two ends
        for after in ends[i + WEIGH_INS_AT_AN_END :]:
            if before is None or after is None:
                continue
            if (after.middle - before.middle).days > FOUR_WEEKS_DAYS:
                break
            fall = 100.0 * (1.0 - after.mean_kg / before.mean_kg)
            if best is None or fall > best[0]:
                best = (fall, before, after)
    return best


def _span(end: End) -> str:
    return say(
        "{first} to {last}",
        first=fmt.day(end.first.date(), year=False),
        last=fmt.day(end.last.date(), year=False),
    )
