"""Pooling changes of several athletes, against published worked examples."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from scipy.stats import norm
from statsmodels.stats.meta_analysis import combine_effects

from gripbook.derive.pooled import (
    between_variance,
    expected_above,
    pool,
    share_above,
    spread_range,
    without_prior,
)

Floats = npt.NDArray[np.float64]

# Thirteen trials of a vaccine: cases and non-cases, treated then control. Colditz GA et al. 1994,
# JAMA 271:698-702, as reprinted in Viechtbauer W 2010, Journal of Statistical Software 36(3).
TRIALS = np.array(
    [
        [4, 119, 11, 128],
        [6, 300, 29, 274],
        [3, 228, 11, 209],
        [62, 13536, 248, 12619],
        [33, 5036, 47, 5761],
        [180, 1361, 372, 1079],
        [8, 2537, 10, 619],
        [505, 87886, 499, 87892],
        [29, 7470, 45, 7232],
        [17, 1699, 65, 1600],
        [186, 50448, 141, 27197],
        [5, 2493, 3, 2338],
        [27, 16886, 29, 17825],
    ],
    dtype=np.float64,
)


def trials() -> tuple[Floats, Floats]:
    """Log relative risks and their variances."""
    a, b, c, d = TRIALS.T
    return np.log(a / (a + b) / (c / (c + d))), 1 / a - 1 / (a + b) + 1 / c - 1 / (c + d)


def test_reml_mean_and_spread() -> None:
    """REML of the thirteen trials: mean -0.7145, tau^2 0.3132 (Viechtbauer 2010; from memory)."""
    y, v = trials()
    found = pool(y, np.sqrt(v), 0.95)
    assert found.mean == pytest.approx(-0.7145, abs=5e-5)
    assert found.spread**2 == pytest.approx(0.3132, abs=5e-5)
    assert found.se == pytest.approx(0.1808, abs=5e-5)


def test_range_of_the_spread() -> None:
    """Q inverted for the thirteen trials: tau^2 0.1197 to 1.1115 (same source; from memory)."""
    y, v = trials()
    low, high = spread_range(y, v, 0.95)
    assert (low**2, high**2) == pytest.approx((0.1197, 1.1115), abs=5e-5)


def test_mean_and_error_against_statsmodels() -> None:
    """With another tau^2 (DerSimonian and Laird) mean and Hartung-Knapp error are statsmodels'."""
    y, v = trials()
    theirs = combine_effects(y, v, method_re="dl")
    ours = pool(y, np.sqrt(v), 0.95, between=theirs.tau2)
    assert ours.mean == pytest.approx(theirs.mean_effect_re, abs=1e-12)
    assert ours.se == pytest.approx(theirs.sd_eff_w_re_hksj, abs=1e-12)
    assert ours.alike == pytest.approx(theirs.mean_effect_fe, abs=1e-12)


def scaled(sd: float, mean: float = 0.0, n: int = 20) -> Floats:
    """Values of exactly this mean and SD (n - 1)."""
    x = np.linspace(-1, 1, n) ** 3 + 0.2 * np.linspace(-1, 1, n)
    out: Floats = mean + sd * (x - x.mean()) / x.std(ddof=1)
    return out


def test_spread_is_swintons_with_equal_errors() -> None:
    """
    SD 5.22217 of changes, 1.24009 of noise: SD_IR 5.0728; mean 10.195, smallest 1.99883: share of
    response 0.947 (Swinton et al. 2018, carnosine example; more digits re-run from its data).
    """
    found = pool(scaled(5.22217, 10.195), np.full(20, 1.24009))
    assert found.spread == pytest.approx(5.0728, abs=1e-4)
    assert found.mean == pytest.approx(10.195)
    assert share_above(found.mean, found.spread, 1.99883) == pytest.approx(0.947, abs=5e-4)


def test_no_spread_where_noise_is_wider() -> None:
    """Noise wider than the changes differ: no spread and no share (the root would be imaginary)."""
    found = pool(scaled(1.0), np.full(20, 1.3))
    assert found.spread == 0.0
    assert np.isnan(share_above(found.mean, found.spread, 0.5))


@pytest.mark.parametrize("seed", [5, 6, 7])
def test_noise_alone_by_simulation(seed: int) -> None:
    """The expected count above the smallest change is what drawing the noise gives."""
    rng = np.random.default_rng(seed)
    sds = np.array([0.02, 0.03, 0.05, 0.08])
    drawn = (rng.normal(0.01, sds, (40_000, 4)) > 0.03).sum(axis=1).mean()
    assert expected_above(sds, 0.01, 0.03) == pytest.approx(drawn, abs=0.02)


def test_prior_taken_out_and_put_back() -> None:
    """Log and prior make the posterior again: precisions add, means by precision."""
    mean, sd = without_prior(0.05, 0.03, 0.08)
    precision = 1 / sd**2 + 1 / 0.08**2
    assert precision**-0.5 == pytest.approx(0.03)
    assert mean / sd**2 / precision == pytest.approx(0.05)
    assert np.isnan(without_prior(0.05, 0.09, 0.08)[0])


@pytest.mark.parametrize("seed", [11, 12, 13])
def test_posteriors_would_hide_the_spread(seed: int) -> None:
    """
    True changes with SD 0.04 seen through a model with a prior: pooled after the prior is taken
    out the spread is found; pooled as they stand it is too small.
    """
    rng = np.random.default_rng(seed)
    n, prior, noise = 3000, 0.08, 0.04
    truth = rng.normal(0.02, 0.04, n)
    seen = truth + rng.normal(0, noise, n)
    kept = prior**2 / (prior**2 + noise**2)
    posterior, sd = kept * seen, np.full(n, kept**0.5 * noise)
    alone = np.array([without_prior(m, s, prior) for m, s in zip(posterior, sd, strict=True)])
    assert alone[:, 1] == pytest.approx(noise)
    assert between_variance(alone[:, 0], alone[:, 1] ** 2) ** 0.5 == pytest.approx(0.04, abs=0.003)
    assert between_variance(posterior, sd**2) ** 0.5 < 0.03


@pytest.mark.parametrize("seed", [3, 4, 5])
def test_range_of_the_mean_holds_what_it_says(seed: int) -> None:
    """Seven athletes, errors of many sizes, true spread: the 90 % range holds the mean so often."""
    rng = np.random.default_rng(seed)
    hits = 0
    for _ in range(600):
        sds = rng.uniform(0.02, 0.06, 7)
        found = pool(0.03 + rng.normal(0, 0.03, 7) + rng.normal(0, sds), sds)
        hits += found.low <= 0.03 <= found.high
    # 600 at 0.90: below 0.87 one time in a hundred by chance
    assert hits / 600 > norm.ppf(0.01) * (0.09 / 600) ** 0.5 + 0.90


def test_one_change_is_not_pooled() -> None:
    """One athlete, or one without an error, makes no squad."""
    with pytest.raises(ValueError, match="two changes or more"):
        pool(np.array([0.1]), np.array([0.1]))
    with pytest.raises(ValueError, match="above 0"):
        pool(np.array([0.1, 0.2]), np.array([0.1, 0.0]))
