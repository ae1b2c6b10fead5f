"""What was not logged, so that silence is not read as good news."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import pandas as pd

from gripbook.derive.body import OLD_WEIGH_IN_DAYS
from gripbook.derive.records import records
from gripbook.logs import Block
from gripbook.reviews.done import Done
from gripbook.reviews.dose import Dose, missing_minutes
from gripbook.reviews.pain import Pain
from gripbook.reviews.people import Athlete


class GapKind(StrEnum):
    """What a log leaves open, most telling first."""

    BLOCK_ASIDE = "block_aside"
    NO_PLAN = "no_plan"
    NO_LIMITS = "no_limits"
    SILENT_WEEKS = "silent_weeks"
    PAIN = "pain"
    BODY_MASS = "body_mass"
    LOAD_UNKNOWN = "load_unknown"
    LOAD_GUESSED = "load_guessed"
    TIME_UNKNOWN = "time_unknown"
    RESERVE = "reserve"
    OPEN_DAYS = "open_days"
    EFFORT = "effort"
    MINUTES = "minutes"
    BORN = "born"


@dataclass(frozen=True, slots=True)
class Gap:
    """
    One thing that the log leaves open.

    `n` of `of`: how many, in what the kind counts (finger days without a word of pain, finger days
    far from a weigh-in, sets, days, sessions; 0 where nothing is counted). `weeks`: silent weeks.
    `low_kg`, `high_kg`: error of body mass on those days.
    """

    kind: GapKind
    n: int = 0
    of: int = 0
    weeks: tuple[int, ...] = ()
    low_kg: float = math.nan
    high_kg: float = math.nan


def find_gaps(
    sets: pd.DataFrame, athlete: Athlete, block: Block, done: Done, dose: Dose, pain: Pain
) -> tuple[Gap, ...]:
    """What the log leaves open, most telling first."""
    open_days = set(dose.days.loc[~dose.days["logged"], "date"])
    gaps = [
        *_plan(block, done),
        *_pain(pain),
        *_body_mass(sets, athlete),
        *_sets(sets),
        # a day of clearing is told of, if not trained on
        _counted(GapKind.OPEN_DAYS, len(open_days - {c.date for c in pain.cleared})),
        _counted(GapKind.EFFORT, int(dose.days["unknown"].sum())),
        _counted(GapKind.MINUTES, missing_minutes(dose), len(dose.sessions)),
        Gap(GapKind.BORN) if athlete.born is None else None,
    ]
    return tuple(gap for gap in gaps if gap is not None)


def _counted(kind: GapKind, n: int, of: int = 0) -> Gap | None:
    return Gap(kind, n, of) if n else None


def _plan(block: Block, done: Done) -> list[Gap]:
    gaps = []
    if block.aside:
        gaps.append(Gap(GapKind.BLOCK_ASIDE))
    elif not block.planned:
        gaps.append(Gap(GapKind.NO_PLAN))
    if block.given and not block.limits.stated:
        gaps.append(Gap(GapKind.NO_LIMITS))
    w = done.weeks
    silent = w[
        (w["sessions_done"] == 0)
        & (w["sessions_unreadable"] == 0)
        & (w["without"].map(len) == 0)
        & (w["state"] == "done")
    ]
    if len(silent):
        gaps.append(Gap(GapKind.SILENT_WEEKS, weeks=tuple(map(int, silent["week"]))))
    return gaps


def _pain(pain: Pain) -> list[Gap]:
    silent, days = len(pain.silent_dates), len(pain.finger_days)
    return [Gap(GapKind.PAIN, silent, days)] if silent or not pain.recorded else []


def _body_mass(sets: pd.DataFrame, athlete: Athlete) -> list[Gap]:
    if not athlete.show_body_mass:
        return []
    leaning = sets[(sets["load_source"] == "body") & sets["in_block"]]
    old = leaning[leaning["body_mass_age_days"] > OLD_WEIGH_IN_DAYS]
    if old.empty:
        return []
    return [
        Gap(
            GapKind.BODY_MASS,
            old["date"].nunique(),
            leaning["date"].nunique(),
            low_kg=float(old["body_mass_error_kg"].min()),
            high_kg=float(old["body_mass_error_kg"].max()),
        )
    ]


_OF_SETS = ["in_block", "warmup", "sets", "exercise", "reserve_s", "reserve_reps"]
_OF_SETS += ["load_kg", "load_kind", "tension_s"]


def _sets(sets: pd.DataFrame) -> list[Gap | None]:
    inside = [row for row in records(sets, *_OF_SETS) if row.in_block and not row.warmup]

    def counted(kind: GapKind, which: Iterable[Any]) -> Gap | None:
        return _counted(kind, _number(which), _number(inside))

    held = [row for row in inside if row.exercise != "pull"]
    no_reserves = all(math.isnan(row.reserve_s) and math.isnan(row.reserve_reps) for row in held)
    return [
        counted(GapKind.LOAD_UNKNOWN, (row for row in inside if math.isnan(row.load_kg))),
        counted(GapKind.LOAD_GUESSED, (row for row in inside if row.load_kind == "guess")),
        counted(GapKind.TIME_UNKNOWN, (row for row in inside if math.isnan(row.tension_s))),
        Gap(GapKind.RESERVE, 0, _number(held)) if held and no_reserves else None,
    ]


def _number(rows: Iterable[Any]) -> int:
    """How many sets the rows stand for."""
    return sum(row.sets for row in rows)
