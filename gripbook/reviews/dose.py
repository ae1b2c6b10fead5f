"""Did the dose keep to its limits: days a week, rest between, minutes, sets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import pandas as pd

from gripbook import fmt
from gripbook.derive import (
    daily_load,
    days_by_kind,
    finger_sessions,
    loading_days,
    rest_between,
    weekly_load,
)
from gripbook.logs import Block

Limit = Literal[
    "fingers_per_week",
    "rest_days_between_finger_days",
    "finger_session_minutes",
    "sets_per_session",
]


@dataclass(frozen=True, slots=True)
class Breach:
    """One limit not kept: which, in which block week, on which day (None: the week), figures."""

    limit: Limit
    week: int
    date: pd.Timestamp | None
    figure: float
    allowed: float

    @property
    def text(self) -> str:
        """The breach in one sentence."""
        day = fmt.day(self.date.date(), year=False) if self.date is not None else ""
        allowed = fmt.number(self.allowed, 0)
        figure = fmt.number(self.figure, 0)
        if self.limit == "fingers_per_week":
            return f"Week {self.week}: {figure} finger days, limit {allowed}."
        if self.limit == "rest_days_between_finger_days":
            between = fmt.count(int(self.figure), "rest day")
            since = f"{between} since the finger day before"
            return f"Week {self.week}, {day}: {since}, at least {allowed}."
        if self.limit == "finger_session_minutes":
            return f"Week {self.week}, {day}: {figure} minutes of finger work, limit {allowed}."
        return f"Week {self.week}, {day}: {figure} sets, planned {allowed} a session."


@dataclass(frozen=True, slots=True, eq=False)
class Dose:
    """
    The dose and its limits.

    `days`: daily loads (`daily_load`). `weeks`: weekly loads (`weekly_load`).
    `kinds`: days a week by kind of work (index: block week). `sessions`: finger sessions.
    `targets`: days a week planned for other work, one row per week and kind with `planned` and
    `done`; a target is no limit. `breaches`: limits not kept, in order of day.
    """

    days: pd.DataFrame
    weeks: pd.DataFrame
    kinds: pd.DataFrame
    sessions: pd.DataFrame
    targets: pd.DataFrame
    breaches: tuple[Breach, ...]


def check_dose(
    sets: pd.DataFrame, sessions: pd.DataFrame, block: Block, last: pd.Timestamp
) -> Dose:
    """
    Hold one athlete's block against its limits.

    Parameters
    ----------
    sets : derived sets; sessions : rows of sessions.csv; last : the log's last day, beyond which
        nothing is judged.
    """
    end = min(pd.Timestamp(block.end), last)
    days = daily_load(sessions, sets, block.start, max(end.date(), block.start))
    kinds = days_by_kind(sessions, sets, block)
    done = finger_sessions(sets[sets["in_block"]], sessions, block)
    begun = [
        w for w in kinds.index if pd.Timestamp(block.start) + pd.Timedelta(7 * (w - 1), "D") <= end
    ]
    targets = pd.DataFrame(
        [
            {"week": w, "kind": kind, "planned": planned, "done": int(kinds.loc[w, kind])}
            for w in begun
            for kind, planned in block.weekly_in(w).items()
        ],
        columns=["week", "kind", "planned", "done"],
    )
    breaches = sorted(
        [
            *_too_many_days(kinds, block),
            *_too_little_rest(sessions, sets, block),
            *_too_long(done, block),
            *_too_many_sets(done, block),
        ],
        key=lambda b: (b.week, b.date or pd.Timestamp.min, b.limit),
    )
    return Dose(days, weekly_load(days, block), kinds, done, targets, tuple(breaches))


def _too_many_days(kinds: pd.DataFrame, block: Block) -> list[Breach]:
    limit = block.limits.fingers_per_week
    over = kinds.loc[kinds["fingers"] > limit, "fingers"]
    return [Breach("fingers_per_week", int(w), None, float(n), limit) for w, n in over.items()]


def _too_little_rest(sessions: pd.DataFrame, sets: pd.DataFrame, block: Block) -> list[Breach]:
    limit = block.limits.rest_days_between_finger_days
    rest = rest_between(loading_days(sessions, sets))
    start, end = pd.Timestamp(block.start), pd.Timestamp(block.end)
    # a pair of hard climbing days is the climber's own affair; a limit on finger days needs one
    fingers = set(sets["date"]) | set(sessions.loc[sessions["kind"] == "fingers", "date"])
    involved = rest["date"].isin(fingers) | rest["before"].isin(fingers)
    inside = (rest["date"] >= start) & (rest["date"] <= end)
    short = rest[(rest["rest_days"] < limit) & involved & inside]
    return [
        Breach(
            "rest_days_between_finger_days",
            int((day - start).days // 7 + 1),
            day,
            float(n),
            limit,
        )
        for day, n in zip(short["date"], short["rest_days"], strict=True)
    ]


def _too_long(done: pd.DataFrame, block: Block) -> list[Breach]:
    limit = block.limits.finger_session_minutes
    # the minutes logged count; where none are, those estimated from sets and rests
    minutes = done["minutes_logged"].fillna(done["minutes_estimated"])
    long = done[minutes > limit]
    return [
        Breach("finger_session_minutes", int(w), day, float(minutes[i]), limit)
        for i, w, day in zip(long.index, long["week"], long["date"], strict=True)
    ]


def _too_many_sets(done: pd.DataFrame, block: Block) -> list[Breach]:
    found = []
    for week, day, exercise, n in zip(
        done["week"], done["date"], done["exercise"], done["sets"], strict=True
    ):
        phase = block.phase_in(int(week), exercise)
        planned = phase.sets_per_session if phase and phase.exercise == exercise else None
        if planned is not None and n > planned:
            found.append(Breach("sets_per_session", int(week), day, float(n), float(planned)))
    return found


def missing_minutes(dose: Dose) -> int:
    """Finger sessions whose minutes were not logged."""
    return int(np.count_nonzero(dose.sessions["minutes_logged"].isna()))
