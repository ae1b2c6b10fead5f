"""
Changes of several athletes together: their mean, how far they truly spread, what noise explains.

A random-effects mean of the athletes' changes from their SDs. The variance between athletes is the
restricted maximum likelihood (REML) estimate; where all errors are equal it is the square of
SD_IR = sqrt(SD_int^2 - SD_con^2), the noise known from each athlete's own error in place of a
control group (Swinton PA, Hemingway BS, Saunders B, Gualano B, Dolan E 2018, Frontiers in Nutrition
5:41). The mean's range is Hartung and Knapp's with t(k - 1), never narrower than without their
factor; the spread's is found by inverting Cochran's Q (Viechtbauer W 2007, Statistics in Medicine
26:37-52).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import chdtrc, chdtri, ndtr, stdtrit

LEVEL = 0.90

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Pooled:
    """
    Mean of `n` changes with its range, and the SD of the true changes (`spread`) with its own.

    In the unit of the changes. `alike` is the mean if all had truly changed alike.
    """

    n: int
    mean: float
    se: float
    low: float
    high: float
    spread: float
    spread_low: float
    spread_high: float
    alike: float


def _weighted(values: Floats, variances: Floats, tau2: float) -> tuple[Floats, float]:
    weights = 1.0 / (variances + tau2)
    return weights, float(weights @ values / weights.sum())


def between_variance(values: Floats, variances: Floats) -> float:
    """REML estimate of the variance between true changes; 0 where noise explains all of it."""
    if len(values) < 2:
        return 0.0

    def cost(tau2: float) -> float:
        weights, mean = _weighted(values, variances, tau2)
        log = np.log(variances + tau2).sum() + math.log(weights.sum())
        return float(log + weights @ (values - mean) ** 2)

    top = float(values.var(ddof=1) + variances.max()) * 10 + 1e-12
    # scanned first: the likelihood may have two humps
    grid = np.concatenate([[0.0], np.geomspace(top * 1e-8, top, 60)])
    costs = [cost(x) for x in grid]
    best = int(np.argmin(costs))
    if best == 0:
        return 0.0
    low, high = float(grid[best - 1]), float(grid[min(best + 1, len(grid) - 1)])
    from scipy.optimize import minimize_scalar  # costly to import, and no athlete's page needs it

    least = minimize_scalar(
        cost, bounds=(low, high), method="bounded", options={"xatol": 1e-10 * top}
    )
    return float(least.x) if least.fun <= costs[0] else 0.0


def spread_range(values: Floats, variances: Floats, level: float = LEVEL) -> tuple[float, float]:
    """Range of the SD between true changes: where Cochran's Q has its chi-squared quantiles."""
    from scipy.optimize import brentq  # as above: for a squad's page alone

    def q(tau2: float) -> float:
        weights, mean = _weighted(values, variances, tau2)
        return float(weights @ (values - mean) ** 2)

    df = len(values) - 1
    if df < 1:
        return math.nan, math.nan
    ends = []
    for quantile in (0.5 + level / 2, 0.5 - level / 2):
        target = float(chdtri(df, 1.0 - quantile))
        if q(0.0) <= target:
            ends.append(0.0)
            continue
        top = float(values.var(ddof=1)) + 1e-12
        while q(top) > target:
            top *= 2.0
        ends.append(math.sqrt(brentq(lambda x, at=target: q(x) - at, 0.0, top, xtol=1e-14)))
    return ends[0], ends[1]


def pool(values: Floats, sds: Floats, level: float = LEVEL, between: float | None = None) -> Pooled:
    """
    Pool the athletes' changes.

    Parameters
    ----------
    values, sds : (n,) changes and the SD of each one's error, same unit; n >= 2, sds > 0.
    between : variance between true changes; default: `between_variance`.

    Raises
    ------
    ValueError : fewer than two changes, or an SD that is not positive.
    """
    if len(values) < 2 or not (sds > 0).all():
        raise ValueError("pooling needs two changes or more, each with an SD above 0")
    variances = sds**2
    tau2 = between_variance(values, variances) if between is None else between
    weights, mean = _weighted(values, variances, tau2)
    df = len(values) - 1
    scale = float(weights @ (values - mean) ** 2) / df
    se = math.sqrt(max(scale, 1.0) / weights.sum())
    half = float(stdtrit(df, 0.5 + level / 2)) * se
    low, high = spread_range(values, variances, level)
    alike = _weighted(values, variances, 0.0)[1]
    return Pooled(
        len(values), mean, se, mean - half, mean + half, math.sqrt(tau2), low, high, alike
    )


def expected_above(sds: Floats, true: float, smallest: Floats | float) -> float:
    """
    How many of the athletes would show more than `smallest` if each had truly changed by `true`.

    With `true` 0 it is what noise alone puts there. `smallest` may differ by athlete.
    """
    return float(ndtr((true - smallest) / sds).sum())


def share_above(mean: float, spread: float, smallest: float) -> float:
    """Share of true changes above `smallest` (Swinton 2018); NaN where nothing spreads."""
    if not spread > 0:
        return math.nan
    return float(ndtr((mean - smallest) / spread))


def without_prior(
    mean: float, sd: float, prior_sd: float, prior_mean: float = 0.0
) -> tuple[float, float]:
    """
    What the log alone says of a change: a normal posterior with its normal prior taken out.

    Posterior means lie closer together than the truth; pooling them would tell too small a spread.
    Returns mean and SD; NaN, infinity where the log says nothing (sd not below the prior's).
    """
    information = 1 / sd**2 - 1 / prior_sd**2
    if not information > 0:
        return math.nan, math.inf
    return (mean / sd**2 - prior_mean / prior_sd**2) / information, information**-0.5


def chance_alike(values: Floats, sds: Floats) -> float:
    """
    Chance of differences as large as these had all truly changed alike (Cochran's Q), 0 to 1.

    Parameters
    ----------
    values, sds : (n,) changes and the SD of each one's error, same unit; n >= 2, sds > 0.
    """
    weights, mean = _weighted(values, sds**2, 0.0)
    return float(chdtrc(len(values) - 1, float(weights @ (values - mean) ** 2)))
