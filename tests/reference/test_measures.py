"""Typical error and ranges of change, against published worked examples."""

from __future__ import annotations

import math

import numpy as np
import pytest

from gripbook.derive.measures import interval, pooled_error

# Peak flow of 17 people, two readings on each of two meters: Bland JM, Altman DG 1986, Lancet
# 1:307-310 (data as transcribed in several places).
LARGE = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
LARGE_2 = [490, 397, 512, 401, 470, 611, 415, 431, 638, 429, 420, 633, 275, 492, 165, 372, 421]
MINI = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]
MINI_2 = [525, 415, 508, 444, 500, 625, 460, 390, 642, 432, 420, 605, 227, 467, 268, 370, 443]
# Weir JP 2005, Journal of Strength and Conditioning Research 19(1):231-240, data set A.
TRIAL_1 = [146, 148, 170, 90, 157, 156, 176, 205]
TRIAL_2 = [140, 152, 152, 99, 145, 153, 167, 218]


@pytest.mark.parametrize(
    ("first", "second", "repeatability"), [(LARGE, LARGE_2, 43.29), (MINI, MINI_2, 56.32)]
)
def test_repeatability_of_peak_flow(
    first: list[int], second: list[int], repeatability: float
) -> None:
    """2 sqrt(mean(d^2)), Bland and Altman's coefficient, is 2 sqrt(2) times the pooled error."""
    error = pooled_error(zip(first, second, strict=True))
    assert 2 * math.sqrt(2) * error.sd == pytest.approx(repeatability, abs=0.005)
    assert error.df == 17


@pytest.mark.parametrize(
    ("first", "second", "te"), [(LARGE, LARGE_2, 15.361), (MINI, MINI_2, 20.416)]
)
def test_typical_error_of_peak_flow(first: list[int], second: list[int], te: float) -> None:
    """With the shift common to all pairs taken out it is SD(d) / sqrt(2) (Hopkins 2000)."""
    shift = float(np.mean(second) - np.mean(first))
    error = pooled_error((a, b - shift) for a, b in zip(first, second, strict=True))
    # the shift costs one repeat
    assert error.sd * math.sqrt(17 / 16) == pytest.approx(te, abs=1e-3)


def test_weirs_error_and_one_way_icc() -> None:
    """Data set A: SEM 7.6 (7.5569) without the shift; ICC(1,1) 0.95 from the pooled error."""
    shift = float(np.mean(TRIAL_2) - np.mean(TRIAL_1))
    pairs = list(zip(TRIAL_1, TRIAL_2, strict=True))
    sem = pooled_error((a, b - shift) for a, b in pairs).sd * math.sqrt(8 / 7)
    assert sem == pytest.approx(7.5569, abs=1e-4)
    within = pooled_error(pairs).sd ** 2
    between = 2 * float(np.var([(a + b) / 2 for a, b in pairs], ddof=1))
    assert (between - within) / (between + within) == pytest.approx(0.9501, abs=5e-5)


@pytest.mark.parametrize(
    ("df", "level", "expected"),
    [
        (math.inf, 0.95, (10.28, 12.32)),
        (4, 0.95, (9.85, 12.75)),
    ],
)
def test_true_score(df: float, level: float, expected: tuple[float, float]) -> None:
    """Score 11.3, typical error 0.52, z and t of five pairs (Swinton et al. 2018)."""
    found = interval(11.3, 0.52, df, level)
    assert (found.low, found.high) == pytest.approx(expected, abs=0.02)


def test_range_of_a_change() -> None:
    """Change 4.37, typical error 0.52, 50 %: 3.9 to 4.9 (Swinton et al. 2018)."""
    found = interval(4.37, math.sqrt(2) * 0.52, math.inf, 0.50)
    assert (found.low, found.high) == pytest.approx((3.877, 4.863), abs=0.005)


def test_range_from_a_coefficient_of_variation() -> None:
    """Score 43.0 kJ, CV 4.94 %, 75 %: 40.6 to 45.4 (Swinton et al. 2018)."""
    found = interval(43.0, 0.0494 * 43.0, math.inf, 0.75)
    assert (found.low, found.high) == pytest.approx((40.56, 45.44), abs=0.01)


def test_multipliers() -> None:
    """t multipliers of Swinton's table (n - 1 degrees of freedom)."""
    table = {
        (math.inf, 0.5): 0.67,
        (49, 0.9): 1.68,
        (29, 0.8): 1.31,
        (9, 0.95): 2.26,
        (4, 0.9): 2.13,
        (4, 0.99): 4.60,
    }
    for (df, level), multiplier in table.items():
        assert interval(0.0, 1.0, df, level).high == pytest.approx(multiplier, abs=0.006)


@pytest.mark.parametrize("seed", [8, 9, 10])
def test_coverage_with_few_repeats(seed: int) -> None:
    """
    Two readings at either end, error from two repeats: the 90 % range of the change holds the truth
    in 90 % of cases (exact theory of the t distribution).
    """
    rng = np.random.default_rng(seed)
    hits, n = 0, 4000
    for _ in range(n):
        start, end = rng.normal(0, 2, 2), rng.normal(5, 2, 2)
        error = pooled_error([start.tolist(), end.tolist()])
        found = interval(float(end.mean() - start.mean()), error.sd, error.df)
        hits += found.low <= 5 <= found.high
    assert hits / n == pytest.approx(0.90, abs=0.016)
