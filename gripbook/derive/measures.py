"""
Core, mobility and other measures: an athlete's own error from repeats, and trends beside it.

The error is the athlete's own within-visit SD: visits of one measure and side that follow each
other within `REPEAT_DAYS` days are repeats of one another, since nothing trains or is lost in a few
days (own choice, no source). It is the root of the pooled variance within such groups; for pairs
that is sqrt(sum(d^2) / 2n), half the square of Bland and Altman's coefficient of repeatability
2 * sqrt(mean(d^2)) being its variance (Bland JM, Altman DG 1986, Lancet 1:307-310), and what Hopkins
WG 2000 (Sports Medicine 30:1-15) calls typical error once a shift common to all pairs is taken out.
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
from scipy.stats import t as student

#: Visits at most this many days after the one before are repeats of it.
REPEAT_DAYS = 4
#: Visits from so long before the block's first day to so long after its last belong to its trend
#: (own choice, no source).
AROUND_BLOCK_DAYS = 14
LEVEL = 0.90

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class OwnError:
    """
    An athlete's own error of a measure: `sd` in its unit, `df` (how many repeats it rests on; 0 and
    NaN without any).
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
    half = float(student.ppf(0.5 + level / 2, df)) * se
    return Interval(value, value - half, value + half)


def visit_groups(dates: pd.Series) -> npt.NDArray[np.intp]:
    """Number of the visit each reading belongs to: a new one after more than `REPEAT_DAYS` days."""
    order = np.argsort(dates.to_numpy(), kind="stable")
    day = dates.to_numpy().astype("datetime64[D]").astype(np.int64)
    gaps = np.diff(day[order], prepend=day[order][:1]) > REPEAT_DAYS
    out = np.empty(len(dates), dtype=np.intp)
    out[order] = np.cumsum(gaps)
    return out


def resolution_of(values: Floats) -> float:
    """Smallest step in which readings are written, of 1, 0.5, 0.1, 0.05, 0.01; else 0."""
    for step in (1.0, 0.5, 0.1, 0.05, 0.01):
        if np.allclose(values / step, np.round(values / step), atol=1e-6):
            return step
    return 0.0


def error_of(rows: pd.DataFrame) -> OwnError:
    """Own error of one measure, side and unit, from all the athlete's repeats (`date`, `value`)."""
    values = rows["value"].to_numpy(dtype=np.float64)
    visits = visit_groups(rows["date"])
    groups = [values[visits == v] for v in np.unique(visits)]
    return pooled_error(groups, resolution_of(values))


def trend(rows: pd.DataFrame, error: OwnError) -> Interval:
    """
    Change over the visits, first to last day.

    A least-squares line over all readings; its SE comes from the own error, not from the scatter
    about the line, so that two visits do. Without a known error it is the last reading less the
    first, and the ends are NaN. All NaN with fewer than two visits.
    """
    ordered = rows.sort_values("date", kind="stable")
    day = ordered["date"].to_numpy().astype("datetime64[D]").astype(np.float64)
    value = ordered["value"].to_numpy(dtype=np.float64)
    if len(np.unique(visit_groups(ordered["date"]))) < 2:
        return Interval(math.nan, math.nan, math.nan)
    if not error.known:
        return Interval(float(value[-1] - value[0]), math.nan, math.nan)
    centred = day - day.mean()
    spread = float((centred**2).sum())
    span = float(day[-1] - day[0])
    slope = float(centred @ value) / spread
    return interval(slope * span, error.sd * span / math.sqrt(spread), error.df)


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
