"""The endurance curves against published ones."""

from __future__ import annotations

import numpy as np
import pytest

from gripbook.strength.endurance import (
    hold_drop,
    repeater_drop,
    rohmert_seconds,
    rohmert_share,
)


@pytest.mark.parametrize(
    ("share", "seconds"), [(0.15, 927.778), (0.2, 390.0), (0.5, 66.0), (1.0, 6.0)]
)
def test_rohmert(share: float, seconds: float) -> None:
    """Rohmert 1960 in the common fit, from its table in secondary texts."""
    assert float(rohmert_seconds(share)) == pytest.approx(seconds, rel=1e-5)


@pytest.mark.parametrize(
    ("seconds", "share"), [(7, 0.9863), (10, 0.9467), (30, 0.7341), (60, 0.5294)]
)
def test_rohmert_inverse(seconds: float, share: float) -> None:
    """The share for a time, by arithmetic from the same curve."""
    assert rohmert_share(seconds) == pytest.approx(share, abs=1e-4)


def test_middle_curve_lies_among_rohmerts() -> None:
    """From 7 to 60 s the middle drop stays within Rohmert's scaled to 0.7 and 1.4 of its times."""
    for seconds in (7.0, 15.0, 20.0, 30.0, 60.0):
        ours = float(hold_drop(np.array([seconds]), 10.0).value[0])
        published = []
        for scale in (0.7, 1.0, 1.4):
            if seconds / scale > 6.5 and 10 / scale > 6.5:
                ratio = rohmert_share(10 / scale) / rohmert_share(seconds / scale)
                published.append(float(np.log(ratio)))
        assert min(published) - 0.05 < ours < max(published) + 0.05


def test_slopes_are_derivatives() -> None:
    """Slopes by log time equal differences of the curves (arithmetic)."""
    t = np.geomspace(3, 90, 12)
    step = 1e-6
    for curve, reference in ((hold_drop, 10.0), (repeater_drop, 42.0)):
        at, more = curve(t, reference), curve(t * np.exp(step), reference)
        np.testing.assert_allclose((more.value - at.value) / step, at.slope, rtol=1e-4)
        np.testing.assert_allclose(
            (more.basis - at.basis) / step, at.basis_slope, rtol=1e-4, atol=1e-6
        )
        assert float(curve(np.array([reference]), reference).value[0]) == pytest.approx(0)
