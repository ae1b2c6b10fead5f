"""What one pair of tests can tell: the figure the page prints, by formula and by simulation."""

from __future__ import annotations

import numpy as np
import pytest

from gripbook.reviews.sentences import PAIR_NOISE_PCT


def test_the_noise_of_a_pair() -> None:
    """
    1.96 x sqrt(2) x 5 % = 13.86 %, printed as 14 % (minimal detectable change, Weir 2005, J
    Strength Cond Res 19:231-240).
    """
    assert pytest.approx(13.859, abs=1e-3) == 1.96 * np.sqrt(2) * 5
    assert round(1.96 * np.sqrt(2) * 5) == PAIR_NOISE_PCT


def test_the_noise_of_a_pair_by_simulation() -> None:
    """Without any true change, 5 % of pairs differ by more than 13.86 points (40 000 pairs)."""
    rng = np.random.default_rng(7)
    first, last = rng.normal(100, 5, (2, 40_000))
    share = np.mean(np.abs(last - first) > 13.859)
    assert share == pytest.approx(0.05, abs=0.004)
