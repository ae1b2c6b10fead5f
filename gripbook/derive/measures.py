"""
Core, mobility and other measures: an athlete's own error from repeats, and trends beside it.

The error is the athlete's own within-visit SD: readings of one measure and side on days at most
`REPEAT_DAYS` after the first of a visit are its repeats, since little is trained or lost in a few
days (own choice, no source). It is the root of the pooled variance within such visits; for pairs
sqrt(sum(d^2) / 2n), which is Bland and Altman's coefficient of repeatability 2 sqrt(mean(d^2)) over
2 sqrt(2) (Bland JM, Altman DG 1986, Lancet 1:307-310), and what Hopkins WG 2000 (Sports Medicine
30:1-15) calls typical error once a shift common to all pairs is taken out. Where the second reading
of each visit is better than the first, that shift is thus counted as error.
Ranges are +- t * SE with as many degrees of freedom as there are repeats (Swinton PA et al. 2018,
Frontiers in Nutrition 5:41), so a single repeat gives a wide one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import stdtrit

#: Readings at most this many days after a visit's first one are repeats of it.
REPEAT_DAYS = 4
#: Visits from so long before the block's first day to so long after its last belong to its trend
#: (own choice, no source).
AROUND_BLOCK_DAYS = 14
LEVEL = 0.90

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class OwnError:
    """
    An athlete's error of a measure, from repeats.

    `sd` in the measure's unit, `df` how many repeats it rests on (0 and NaN without any).
    """

    sd: float
    df: int

    @property
    def known(self) -> bool:
        """Whether there was a repeat."""
        return self.df > 0


@dataclass(frozen=True, slots=True)
class Interval:
    """A figure and its range; NaN ends where no error is known."""

    value: float
    low: float
    high: float


def pooled_error(groups: Iterable[Sequence[float]], resolution: float = 0.0) -> OwnError:
    """
    Within-group SD over groups of repeated readings.

    Parameters
    ----------
    groups : readings of one visit and its repeats; groups of one tell nothing.
    resolution : smallest step in which readings are written. The SD is at least that of rounding,
        resolution / sqrt(12), so that equal whole numbers do not pass for no error.
    """
    squares, df = 0.0, 0
    for group in groups:
        values = np.asarray(group, dtype=np.float64)
        if len(values) > 1:
            squares += float(((values - values.mean()) ** 2).sum())
            df += len(values) - 1
    if not df:
        return OwnError(math.nan, 0)
    return OwnError(max(math.sqrt(squares / df), resolution / math.sqrt(12)), df)


def interval(value: float, se: float, df: float, level: float = LEVEL) -> Interval:
    """
    Value +- t(df) * se; infinite `df` gives the normal multiplier.

    For a change between two single readings `se` is sqrt(2) times the typical error (Swinton 2018).
    """
    if not df or not math.isfinite(se):
        return Interval(value, math.nan, math.nan)
    half = float(stdtrit(df, 0.5 + level / 2)) * se
    return Interval(value, value - half, value + half)


def visit_groups(dates: pd.Series) -> npt.NDArray[np.intp]:
    """
    Number of the visit each reading belongs to, from 0 in time's order.

    A visit holds its first reading and those of the next `REPEAT_DAYS` days, so that someone who
    measures daily does not turn weeks of training into one visit.
    """
    day = dates.to_numpy().astype("datetime64[D]").astype(np.int64)
    out = np.empty(len(day), dtype=np.intp)
    visit, began = -1, 0
    for i in np.argsort(day, kind="stable"):
        if visit < 0 or day[i] - began > REPEAT_DAYS:
            visit, began = visit + 1, int(day[i])
        out[i] = visit
    return out


def by_day(rows: pd.DataFrame) -> pd.DataFrame:
    """
    One reading a day, the mean of its tries, in time's order: `date`, `value`, `tries`.

    Tries of one day share that day's form, so they are no repeat of a visit.
    """
    days = rows.groupby("date")["value"].agg(["mean", "size"]).sort_index().reset_index()
    return days.rename(columns={"mean": "value", "size": "tries"})


def resolution_of(values: Floats) -> float:
    """Smallest step in which readings are written, of 1, 0.5, 0.1, 0.05, 0.01; else 0."""
    for step in (1.0, 0.5, 0.1, 0.05, 0.01):
        if np.allclose(values / step, np.round(values / step), atol=1e-6):
            return step
    return 0.0


def error_of(rows: pd.DataFrame) -> OwnError:
    """Own error of one measure, side and unit, from all the athlete's days (`date`, `value`)."""
    values = rows["value"].to_numpy(dtype=np.float64)
    visits = visit_groups(rows["date"])
    groups = [values[visits == v] for v in np.unique(visits)]
    return pooled_error(groups, resolution_of(values))


@dataclass(frozen=True, slots=True)
class Trend:
    """
    A measure over its visits.

    `start` and `end` (of the line, or the raw first and last reading where no error is known),
    `change` with its range, `visits`. NaN change with one visit.
    """

    start: float
    end: float
    change: Interval
    visits: int


def trend(rows: pd.DataFrame, error: OwnError) -> Trend:
    """
    Change over the visits, first to last day.

    A least-squares line over all days; its SE comes from the own error, not from the scatter
    about the line, so that two visits do. Without a known error it is the last reading less the
    first, without a range.

    Parameters
    ----------
    rows : `date` and `value`, one row a day (`by_day`), at least one.
    """
    ordered = rows.sort_values("date", kind="stable")
    day = ordered["date"].to_numpy().astype("datetime64[D]").astype(np.float64)
    value = ordered["value"].to_numpy(dtype=np.float64)
    visits = len(np.unique(visit_groups(ordered["date"])))
    first, last = float(value[0]), float(value[-1])
    if visits < 2:
        return Trend(first, last, Interval(math.nan, math.nan, math.nan), visits)
    if not error.known:
        return Trend(first, last, Interval(last - first, math.nan, math.nan), visits)
    centred = day - day.mean()
    squares = float((centred**2).sum())
    span = float(day[-1] - day[0])
    slope = float(centred @ value) / squares
    start, end = (float(value.mean() + slope * x) for x in (centred[0], centred[-1]))
    return Trend(
        start,
        end,
        interval(slope * span, error.sd * span / math.sqrt(squares), error.df),
        visits,
    )


def last_visit(rows: pd.DataFrame) -> pd.DataFrame:
    """The readings of the last visit and its repeats."""
    visits = visit_groups(rows["date"])
    return rows[visits == visits.max()]


def difference(
    one: pd.DataFrame, other: pd.DataFrame, errors: tuple[OwnError, OwnError]
) -> Interval:
    """
    Mean of the last visit's readings of `one` less that of `other`, each with its own error.

    The degrees of freedom are those of the two errors together (Welch-Satterthwaite).
    """
    a, b = last_visit(one)["value"], last_visit(other)["value"]
    value = float(a.mean() - b.mean())
    if not (errors[0].known and errors[1].known):
        return Interval(value, math.nan, math.nan)
    parts = [e.sd**2 / len(x) for e, x in zip(errors, (a, b), strict=True)]
    se2 = sum(parts)
    df = se2**2 / sum(p**2 / e.df for p, e in zip(parts, errors, strict=True))
    return interval(value, math.sqrt(se2), df)
