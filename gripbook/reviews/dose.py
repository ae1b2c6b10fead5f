"""Did the dose keep to its limits: days a week, rest between, minutes, sets."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import pandas as pd

from gripbook.derive import (
    daily_load,
    days_by_kind,
    finger_sessions,
    loading_days,
    rest_between,
    weekly_load,
)
from gripbook.derive.records import records
from gripbook.derive.weeks import HARD_CLIMBING_EFFORT
from gripbook.logs import Block
from gripbook.reviews.people import Athlete
from gripbook.reviews.state import due_in_week

Limit = Literal[
    "fingers_per_week",
    "rest_days_between_finger_days",
    "finger_session_minutes",
    "sets_per_session",
    "pulls_in_first_block",
]

#: Step in load once the repetitions are passed, per cent (ACSM: Ratamess et al. 2009, Med Sci
#: Sports Exerc 41:687-708). Strength training in general; nothing of the kind is published for
#: finger hangs, so it is printed as a note and is no limit.
ACSM_STEP_PCT = (2.0, 10.0)


#: What loads the fingers on a day: finger work, or climbing of `HARD_CLIMBING_EFFORT` and more.
Cause = Literal["fingers", "climbing"]
YouthKind = Literal["pull", "test", "failed"]


@dataclass(frozen=True, slots=True)
class Breach:
    """
    One limit not kept.

    `week`: block week. `dates`: the days it lies on, in order: the week's finger days, else one.
    `figure` and `allowed`: in the limit's unit. `estimated`: minutes come from sets and rests,
    none are logged. `cause`, `before`, `before_cause`, `effort`: of too little rest, what the day
    held, the loading day before it, what that held, and the effort of the climbing among them
    (NaN: none). `rows`: the log rows it rests on, as `file:line`.
    """

    limit: Limit
    week: int
    dates: tuple[pd.Timestamp, ...]
    figure: float
    allowed: float
    estimated: bool = False
    cause: Cause = "fingers"
    before: pd.Timestamp | None = None
    before_cause: Cause = "fingers"
    effort: float = math.nan
    rows: tuple[str, ...] = ()

    @property
    def date(self) -> pd.Timestamp:
        """Its last day, by which "in the last two weeks" is counted."""
        return self.dates[-1]


@dataclass(frozen=True, slots=True)
class YouthWork:
    """Intensive finger work of someone under 18: the kind (`failed`: sets to failure), the days."""

    kind: YouthKind
    weeks: tuple[int, ...]
    dates: tuple[pd.Timestamp, ...]


@dataclass(frozen=True, slots=True)
class LoadSteps:
    """
    Steps up in load on the fingers from one week to the next, pulls left out.

    `up` of `known` comparisons; `over`: those above the range of `ACSM_STEP_PCT`. `top_pct`,
    `week`, `exercise`, `grip`, `hand`: the largest step.
    """

    up: int
    known: int
    over: int
    top_pct: float
    week: int
    exercise: str
    grip: str
    hand: str


@dataclass(frozen=True, slots=True, eq=False)
class Dose:
    """
    The dose and its limits.

    `days`: daily loads (`daily_load`; a day with climbs and no session is logged, its load not
    known). `weeks`: weekly loads (`weekly_load`).
    `kinds`: days a week by kind of work (index: block week). `sessions`: finger sessions.
    `targets`: days a week planned for other work, one row per week and kind with `planned`, `due`
    (of them what the log's last day leaves no more time for) and `done`; a target is no limit.
    `breaches`: limits not kept, in order of day. `youth`: what in the log of someone under 18 lies
    outside published advice.
    """

    days: pd.DataFrame
    weeks: pd.DataFrame
    kinds: pd.DataFrame
    sessions: pd.DataFrame
    targets: pd.DataFrame
    breaches: tuple[Breach, ...]
    youth: tuple[YouthWork, ...] = ()


def check_dose(
    sets: pd.DataFrame,
    sessions: pd.DataFrame,
    block: Block,
    last: pd.Timestamp,
    athlete: Athlete | None = None,
    climbs: pd.DataFrame | None = None,
) -> Dose:
    """
    Hold one athlete's block against its limits.

    Parameters
    ----------
    sets : derived sets.
    sessions : rows of sessions.csv.
    last : the log's last day, beyond which nothing is judged.
    athlete : decides whether a beginner's first block is assumed, whether advice for the young
        applies, and whether impulse may be told.
    climbs : rows of climbs.csv.
    """
    end = min(pd.Timestamp(block.end), last)
    days = daily_load(sessions, sets, block.start, max(end.date(), block.start))
    if climbs is not None:
        alone = days["date"].isin(climbs["date"]) & (days["sessions"] == 0)
        days = days.assign(
            logged=days["logged"] | alone,
            sessions=days["sessions"] + alone,
            unknown=days["unknown"] + alone,
        )
    kinds = days_by_kind(sessions, sets, block)
    done = finger_sessions(sets[sets["in_block"]], sessions, block)
    begun = [
        w for w in kinds.index if pd.Timestamp(block.start) + pd.Timedelta(7 * (w - 1), "D") <= end
    ]
    days_of = {kind: column.to_dict() for kind, column in kinds.items()}
    targets = pd.DataFrame(
        [
            {
                "week": w,
                "kind": kind,
                "planned": planned,
                "due": max(
                    due_in_week(planned, _days_left(block, w, end), 0),
                    min(days_of[kind][w], planned),
                ),
                "done": days_of[kind][w],
            }
            for w in begun
            for kind, planned in block.weekly_in(w).items()
        ],
        columns=["week", "kind", "planned", "due", "done"],
    )
    breaches = sorted(
        [
            *_too_many_days(kinds, block, sets, sessions),
            *_too_little_rest(sessions, sets, block),
            *_too_long(done, block, sets, sessions),
            *_too_many_sets(done, block, sets),
            *_pulls_of_beginner(sets, block, athlete),
        ],
        key=lambda b: (b.week, b.limit != "fingers_per_week", b.date, b.limit),
    )
    if athlete is not None and not athlete.show_body_mass:
        done = done.assign(impulse_kg_s=np.nan)  # beside the seconds it is kilograms
    youth = _youth(sets, block) if athlete is not None and athlete.minor else ()
    weeks = weekly_load(days, block)
    return Dose(days, weeks, kinds, done, targets, tuple(breaches), youth)


def _days_left(block: Block, week: int, end: pd.Timestamp) -> int:
    """Days of a block week after the last one that counts."""
    return int((pd.Timestamp(block.start) + pd.Timedelta(days=7 * week - 1) - end).days)


def first_block_assumed(block: Block, athlete: Athlete | None) -> bool:
    """Whether a beginner's first block is taken: no plan, and not a year of finger work known."""
    if block.given:
        return False
    since = athlete.fingers_since if athlete else ""
    year, _, month = since.partition("-")
    if not year.isdigit():
        return True
    begun = int(year) * 12 + (int(month) if month.isdigit() else 12)
    return block.start.year * 12 + block.start.month - begun < 12


def _pulls_of_beginner(sets: pd.DataFrame, block: Block, athlete: Athlete | None) -> list[Breach]:
    if not first_block_assumed(block, athlete):
        return []
    pulls = sets[sets["in_block"] & (sets["exercise"] == "pull") & ~sets["warmup"]]
    return [
        Breach(
            "pulls_in_first_block",
            int(day_sets["week"].iloc[0]),
            (day,),
            float(day_sets["sets"].sum()),
            0.0,
            rows=_rows_of(day_sets),
        )
        for day, day_sets in pulls.groupby("date")
    ]


def _youth(sets: pd.DataFrame, block: Block) -> tuple[YouthWork, ...]:
    """What someone under 18 logged of intensive finger work: pulls, tests, sets to failure."""
    work = sets[sets["in_block"] & ~sets["warmup"]]
    kinds: dict[YouthKind, pd.Series] = {
        "pull": work["exercise"] == "pull",
        "test": work["test"],
        "failed": work["outcome"] == "failed",
    }
    return tuple(
        YouthWork(
            kind,
            tuple(sorted({int(w) for w in work.loc[rows, "week"]})),
            tuple(sorted(set(work.loc[rows, "date"]))),
        )
        for kind, rows in kinds.items()
        if rows.any()
    )


def _rows_of(*frames: pd.DataFrame) -> tuple[str, ...]:
    """The log rows of some frames as `file:line`, each once."""
    places = [
        f"{file}:{line}"
        for frame in frames
        for file, line in zip(frame["file"], frame["line"], strict=True)
    ]
    return tuple(dict.fromkeys(places))


class _FingerRows:
    """The rows that make a day a finger day (`hard`: hard climbing too), found by the day."""

    def __init__(self, sets: pd.DataFrame, sessions: pd.DataFrame, *, hard: bool = False) -> None:
        loading = [
            row
            for row in records(sessions, "date", "file", "line", "kind", "effort")
            if row.kind == "fingers"
            or (hard and row.kind == "climbing" and row.effort >= HARD_CLIMBING_EFFORT)
        ]
        self._on: list[dict[pd.Timestamp, list[tuple[int, str]]]] = [{}, {}]
        for on, rows in zip(
            self._on, (records(sets, "date", "file", "line"), loading), strict=True
        ):
            for i, row in enumerate(rows):
                on.setdefault(row.date, []).append((i, f"{row.file}:{row.line}"))

    def of(self, days: Iterable[pd.Timestamp]) -> tuple[str, ...]:
        """The rows of some days as `file:line`."""
        rows = [sorted(row for day in days for row in on.get(day, ())) for on in self._on]
        return tuple(dict.fromkeys(place for part in rows for _, place in part))


def _too_many_days(
    kinds: pd.DataFrame, block: Block, sets: pd.DataFrame, sessions: pd.DataFrame
) -> list[Breach]:
    limit = block.limits.fingers_per_week
    over = kinds.loc[kinds["fingers"] > limit, "fingers"]
    breaches: list[Breach] = []
    if over.empty:
        return breaches
    fingers = set(sets["date"]) | set(sessions.loc[sessions["kind"] == "fingers", "date"])
    rows = _FingerRows(sets, sessions)
    for week, n in over.items():
        start = pd.Timestamp(block.start) + pd.Timedelta(days=7 * (int(str(week)) - 1))
        seven = list(pd.date_range(start, periods=7, freq="D"))
        breaches.append(
            Breach(
                "fingers_per_week",
                int(str(week)),
                tuple(day for day in seven if day in fingers),
                float(n),
                limit,
                rows=rows.of(seven),
            )
        )
    return breaches


def _too_little_rest(sessions: pd.DataFrame, sets: pd.DataFrame, block: Block) -> list[Breach]:
    limit = block.limits.rest_days_between_finger_days
    loading = loading_days(sessions, sets)
    rest = rest_between(loading)
    cause_on = dict(zip(loading["date"], loading["cause"], strict=True))
    start, end = pd.Timestamp(block.start), pd.Timestamp(block.end)
    effort_on: dict[pd.Timestamp, float] = {}
    for row in records(sessions, "date", "kind", "effort"):
        if row.kind == "climbing" and row.effort >= HARD_CLIMBING_EFFORT:
            effort_on[row.date] = max(row.effort, effort_on.get(row.date, 0.0))
    rows = _FingerRows(sets, sessions, hard=True)
    breaches = []
    for day, before, n in zip(rest["date"], rest["before"], rest["rest_days"], strict=True):
        causes = cause_on[day], cause_on[before]
        # a pair of hard climbing days is the climber's own affair; a limit on finger days needs one
        if n >= limit or not start <= day <= end or "fingers" not in causes:
            continue
        climbed = next((d for d in (day, before) if cause_on[d] == "climbing"), None)
        breaches.append(
            Breach(
                "rest_days_between_finger_days",
                block.week_of(day.date()),
                (day,),
                float(n),
                limit,
                cause=causes[0],
                before=before,
                before_cause=causes[1],
                effort=float(effort_on[climbed]) if climbed is not None else math.nan,
                rows=rows.of([before, day]),
            )
        )
    return breaches


def _too_long(
    done: pd.DataFrame, block: Block, sets: pd.DataFrame, sessions: pd.DataFrame
) -> list[Breach]:
    limit = block.limits.finger_session_minutes
    # the minutes logged count; where none are, those estimated from sets and rests
    breaches = []
    for s in records(done):
        estimated = math.isnan(s.minutes_logged)
        minutes = s.minutes_estimated if estimated else s.minutes_logged
        if minutes > limit:
            logged = sessions[(sessions["kind"] == "fingers") & (sessions["date"] == s.date)]
            breaches.append(
                Breach(
                    "finger_session_minutes",
                    int(s.week),
                    (s.date,),
                    float(minutes),
                    limit,
                    estimated=estimated,
                    rows=_rows_of(_sets_of(sets, s), logged),
                )
            )
    return breaches


def _too_many_sets(done: pd.DataFrame, block: Block, sets: pd.DataFrame) -> list[Breach]:
    """More sets than planned; test days are exempt, for a plan counts its ordinary sets."""
    tests = days_of_tests(sets, block)
    breaches = []
    for s in records(done):
        phase = block.phase_in(int(s.week), s.exercise)
        planned = phase.sets_per_session if phase and phase.exercise == s.exercise else None
        if planned is not None and s.sets > planned and s.date not in tests:
            rows = _rows_of(_sets_of(sets, s))
            breaches.append(
                Breach(
                    "sets_per_session",
                    int(s.week),
                    (s.date,),
                    float(s.sets),
                    float(planned),
                    rows=rows,
                )
            )
    return breaches


def days_of_tests(sets: pd.DataFrame, block: Block) -> frozenset[pd.Timestamp]:
    """
    Test days of a block: those with a set marked as a test.

    In a test week in which no set is marked any finger day may be the one, so all of them are.
    """
    inside = [row for row in records(sets, "date", "week", "test", "in_block") if row.in_block]
    silent = set(block.test_weeks) - {row.week for row in inside if row.test}
    return frozenset(row.date for row in inside if row.test or row.week in silent)


def _sets_of(sets: pd.DataFrame, session: Any) -> pd.DataFrame:
    return sets[(sets["date"] == session.date) & (sets["session"] == session.session)]


def missing_minutes(dose: Dose) -> int:
    """Finger sessions whose minutes were not logged."""
    return int(np.count_nonzero(dose.sessions["minutes_logged"].isna()))


def load_steps(steps: pd.DataFrame) -> LoadSteps | None:
    """
    Steps up in load from week to week; None where there is none.

    Parameters
    ----------
    steps : `Done.steps`. All-out pulls are left out: their load is a result, not a choice.
    """
    known = steps[(steps["exercise"] != "pull") & steps["step_pct"].notna()]
    up = known[known["step_pct"] >= 0.5]  # less is body mass, not a step
    if up.empty:
        return None
    top = up.loc[up["step_pct"].idxmax()]
    return LoadSteps(
        up=len(up),
        known=len(known),
        over=int((up["step_pct"] > ACSM_STEP_PCT[1] + 1e-9).sum()),
        top_pct=float(top["step_pct"]),
        week=int(top["week"]),
        exercise=str(top["exercise"]),
        grip=str(top["grip"]),
        hand=str(top["hand"]),
    )
