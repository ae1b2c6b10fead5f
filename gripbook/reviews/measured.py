"""Core, mobility and other measures: what moved beyond the athlete's error from day to day."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Literal

import pandas as pd

from gripbook.derive.measures import (
    AROUND_BLOCK_DAYS,
    Interval,
    OwnError,
    Trend,
    by_day,
    difference,
    error_of,
    last_visit,
    trend,
)
from gripbook.derive.records import records
from gripbook.logs import Block
from gripbook.reviews.dose import Dose
from gripbook.reviews.people import Athlete
from gripbook.units import kg_to_lb

FRONT, SIDE = "front_split_gap", "side_split_gap"
#: Names that speak of the body itself: left out where body mass is hidden, like all in kilograms.
_BODY = re.compile(r"mass|weigh|bmi|fat|waist|hip_circ|skin_?fold|lean|muscle|lb\b|kg")


class MeasureVerdict(StrEnum):
    """What can be said of a measure's change: the whole 90 % range decides."""

    BETTER = "better"
    WORSE = "worse"
    UNCLEAR = "unclear"
    NO_REPEAT = "no_repeat"
    ONE_VISIT = "one_visit"


@dataclass(frozen=True, slots=True, eq=False)
class MeasureTrend:
    """
    One measure and side over the block.

    `rows`: DataFrame of `date`, `value` (the day's mean), `tries`. `error`: the athlete's error
    from repeats. `trend`: start, end and change with its 90 % range, in `unit`. `first_row`,
    `last_row`: where in the log the first and the last reading stand.
    """

    measure: str
    side: str
    unit: str
    error: OwnError
    trend: Trend
    rows: pd.DataFrame
    first_row: str
    last_row: str

    @property
    def down_is_better(self) -> bool:
        """Whether the measure gets better downwards."""
        return self.measure.endswith("_gap")

    @property
    def verdict(self) -> MeasureVerdict:
        """What can be said of its change."""
        change = self.trend.change
        if self.trend.visits < 2:
            return MeasureVerdict.ONE_VISIT
        if not self.error.known:
            return MeasureVerdict.NO_REPEAT
        if change.low <= 0 <= change.high:
            return MeasureVerdict.UNCLEAR
        better = (change.high < 0) == self.down_is_better
        return MeasureVerdict.BETTER if better else MeasureVerdict.WORSE


@dataclass(frozen=True, slots=True)
class MeasureDifference:
    """
    Two measures at the last visit, compared.

    `sides` (left less right of `measure`) or `splits` (side split gap less front split gap, `front`
    and `side` their means, `front_sides` how many sides the front's is of). `difference`: in
    `unit`, NaN ends where no error is known.
    """

    kind: Literal["sides", "splits"]
    measure: str
    unit: str
    difference: Interval
    front: float = float("nan")
    side: float = float("nan")
    front_sides: int = 0


@dataclass(frozen=True, slots=True)
class OtherWork:
    """Days of other work: `done`, `due`; `met`: weeks of those due in full (`weeks`) with all."""

    kind: str
    done: int
    due: int
    met: int
    weeks: int


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """
    Measures and other work of a block.

    `trends`: one a measure, side and unit. `compared`: left against right, front against side
    split. `work`: core, antagonist, mobility and the like against their target. `left_out`: how
    many measures the page may not show.
    """

    trends: tuple[MeasureTrend, ...]
    compared: tuple[MeasureDifference, ...]
    work: tuple[OtherWork, ...]
    left_out: int

    @property
    def with_range(self) -> int:
        """How many measures have a change with a range."""
        return sum(1 for t in self.trends if t.error.known and t.trend.visits > 1)


def describe_measures(
    measures: pd.DataFrame, block: Block, athlete: Athlete, dose: Dose
) -> Measured:
    """
    One athlete's measures.

    Parameters
    ----------
    measures : frame of measures.csv. All its repeats tell the error; the trend is that of the block
        and two weeks on either side.
    """
    around = pd.Timedelta(days=AROUND_BLOCK_DAYS)
    low, high = pd.Timestamp(block.start) - around, pd.Timestamp(block.end) + around
    trends: list[MeasureTrend] = []
    left_out = 0
    if athlete.units == "lb":  # a measure of a mass is told as all others are
        in_kg = measures["unit"] == "kg"
        value = measures["value"].where(~in_kg, kg_to_lb(1.0) * measures["value"])
        measures = measures.assign(value=value, unit=measures["unit"].where(~in_kg, "lb"))
    for (measure, side, unit), readings in measures.groupby(["measure", "side", "unit"], sort=True):
        inside = readings[readings["date"].between(low, high)]
        if inside.empty:
            continue
        if not athlete.show_body_mass and (unit in ("kg", "lb") or _BODY.search(measure.lower())):
            left_out += 1
            continue
        trends.append(_trend_of(measure, side, unit, readings, inside))
    compared = (*_sides(trends), *_splits(trends))
    return Measured(tuple(trends), compared, tuple(_other_work(dose)), left_out)


def _trend_of(
    measure: str, side: str, unit: str, readings: pd.DataFrame, inside: pd.DataFrame
) -> MeasureTrend:
    error, rows = error_of(by_day(readings)), by_day(inside)
    ordered = inside.sort_values(["date", "line"], kind="stable")
    first, last = ordered.iloc[0], ordered.iloc[-1]
    return MeasureTrend(
        measure=measure,
        side=side,
        unit=unit,
        error=error,
        trend=trend(rows, error),
        rows=rows,
        first_row=f"{first['file']}:{first['line']}",
        last_row=f"{last['file']}:{last['line']}",
    )


def _sides(trends: list[MeasureTrend]) -> Iterable[MeasureDifference]:
    """Left against right at the last visit."""
    for left in trends:
        right = next(
            (
                t
                for t in trends
                if (t.measure, t.unit, t.side) == (left.measure, left.unit, "right")
            ),
            None,
        )
        if left.side == "left" and right is not None:
            d = difference(left.rows, right.rows, (left.error, right.error))
            yield MeasureDifference("sides", left.measure, left.unit, d)


def _splits(trends: list[MeasureTrend]) -> Iterable[MeasureDifference]:
    """Front split (mean of its sides) against side split at the last visit, in the same unit."""
    side = next((t for t in trends if t.measure == SIDE and t.side in ("", "both")), None)
    fronts = [t for t in trends if t.measure == FRONT and side and t.unit == side.unit]
    if side is None or not fronts:
        return
    front = pd.concat([t.rows for t in fronts])
    both = by_day(front[front.groupby("date")["value"].transform("size") == len(fronts)])
    if both.empty:
        return
    d = difference(side.rows, both, (side.error, error_of(both)))
    ends = [float(last_visit(x)["value"].mean()) for x in (both, side.rows)]
    yield MeasureDifference("splits", SIDE, side.unit, d, ends[0], ends[1], len(fronts))


def _other_work(dose: Dose) -> Iterable[OtherWork]:
    """Days of other work done against those due, and in how many weeks as many as planned."""
    weeks_of: dict[str, list[Any]] = {}
    for week in records(dose.targets):
        weeks_of.setdefault(week.kind, []).append(week)
    for kind, weeks in weeks_of.items():
        if kind != "fingers":
            over = [week for week in weeks if week.due >= week.planned]
            met = sum(week.done >= week.planned for week in over)
            done, due = int(sum(w.done for w in weeks)), int(sum(w.due for w in weeks))
            yield OtherWork(kind, done, due, met, len(over))


_TABLE = ["measure", "side", "unit", "first_date", "first", "last_date", "last", "change"]
_TABLE += ["low", "high", "verdict", "error_sd", "repeats", "first_row", "last_row"]


def measures_table(measured: Measured) -> pd.DataFrame:
    """
    Measures of a block as a tidy frame.

    Returns
    -------
    DataFrame, one row per measure, side and unit: `measure`, `side`, `unit`, `first_date`, `first`,
    `last_date`, `last` (days' means as logged, in `unit`), `change`, `low`, `high` (of the line
    through all days, 90 % range; NaN where unknown), `verdict`, `error_sd` (NaN without repeats),
    `repeats`, `first_row`, `last_row` (`file:line`).
    """
    rows = [
        (
            *(t.measure, t.side, t.unit),
            *(t.rows["date"].iloc[0], t.rows["value"].iloc[0]),
            *(t.rows["date"].iloc[-1], t.rows["value"].iloc[-1]),
            *(t.trend.change.value, t.trend.change.low, t.trend.change.high, str(t.verdict)),
            *(t.error.sd, t.error.df, t.first_row, t.last_row),
        )
        for t in measured.trends
    ]
    return pd.DataFrame(rows, columns=_TABLE)
