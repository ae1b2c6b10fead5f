"""
Force and duration: which share of the load for a reference hold can be held for how long.

A curve is written as the drop `D(T)`: the log of the load for the reference time over the load for
`T` seconds. `log load + D(T)` is then the log load for the reference time. The curves are our own
smooth forms through the middle of a family of published ones (Rohmert's scaled to 0.7 to 1.4 of
its times, hyperbolas, powers, exponentials); how far an athlete may lie from the middle is a prior
on the coefficients, which failures move. Grip power laws such as Frey Law & Avin's (Ergonomics
2010, 53(1):109-129, doi 10.1080/00140130903389068) hold for long times only: at 7 s they ask for
2.7 times the maximum, so none is inverted here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

#: SD of an athlete's coefficients about the middle curve: two for holds, one for repeaters.
HOLD_SD: Final = (0.23, 0.034)
REPEATER_SD: Final = (0.10,)
#: Share of the reference load that a repeater set could ask for endlessly, in the middle curve.
REPEATER_FLOOR: Final = 0.62
#: Times beyond these say no more than "at least so long": the curves are not meant for them.
LONGEST_HOLD_S: Final = 120.0
LONGEST_REPEATER_S: Final = 300.0


@dataclass(frozen=True, slots=True, eq=False)
class Drop:
    """
    A curve at N times, centred at the reference time.

    `value` (N,): middle drop in log terms. `slope` (N,): its derivative by log time, positive.
    `basis` (N, M) and `basis_slope` (N, M): the same of the M coefficients' shapes, so that an
    athlete's drop is `value + basis @ coefficients` and its slope `slope + basis_slope @ ...`.
    """

    value: Floats
    slope: Floats
    basis: Floats
    basis_slope: Floats


def hold_drop(hold_s: Floats, reference_s: float) -> Drop:
    """
    Drop of single holds of `hold_s` seconds, shape (N,), against a hold of `reference_s`.

    `0.458 log((T + 20) / (R + 20)) - 0.0147 log((T + 1) / (R + 1))`; the shapes are the two logs.
    """
    t = np.asarray(hold_s, dtype=np.float64)
    basis = np.column_stack(
        [np.log((t + 20.0) / (reference_s + 20.0)), np.log((t + 1.0) / (reference_s + 1.0))]
    )
    basis_slope = np.column_stack([t / (t + 20.0), t / (t + 1.0)])
    middle = np.array([0.458, -0.0147])
    return Drop(basis @ middle, basis_slope @ middle, basis, basis_slope)


def repeater_drop(total_s: Floats, reference_s: float) -> Drop:
    """
    Drop of repeater sets that last `total_s` seconds under load, shape (N,).

    `-log(c + (1 - c) R / T)` with `c = 0.62`, a critical-force curve for intermittent holds: a
    share `c` lasts, the rest is a store used up. The one shape is the derivative by `c`; the sign
    is turned so that a larger coefficient is a steeper curve.
    """
    t = np.asarray(total_s, dtype=np.float64)
    c, part = REPEATER_FLOOR, reference_s / t
    load = c + (1.0 - c) * part
    slope = (1.0 - c) * part / load
    basis = (1.0 - part) / load
    # d/dlogT: part falls by itself, load by (1 - c) part
    basis_slope = (part * load + (1.0 - part) * (1.0 - c) * part) / load**2
    return Drop(-np.log(load), slope, basis[:, None], basis_slope[:, None])


def rohmert_seconds(share: float | Floats) -> Floats:
    """
    Seconds for which a share of the maximum (0.15 to 1) can be held; NaN outside.

    `T = -1.5 + 2.1/f - 0.6/f^2 + 0.1/f^3` minutes (Rohmert 1960, Int Z angew Physiol 18:123-164;
    the coefficients from secondary texts). For comparison; the model's own curve is `hold_drop`.
    """
    f = np.asarray(share, dtype=np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        minutes = -1.5 + 2.1 / f - 0.6 / f**2 + 0.1 / f**3
    return np.where((f >= 0.15) & (f <= 1.0), 60.0 * minutes, np.nan)


def rohmert_share(hold_s: float) -> float:
    """Inverse of `rohmert_seconds`; NaN below 6 s and above 928 s, where the curve ends."""
    from scipy.optimize import brentq  # takes a fifth of a second to import, and no page needs it

    if not rohmert_seconds(1.0) <= hold_s <= rohmert_seconds(0.15):
        return float("nan")
    return float(brentq(lambda f: float(rohmert_seconds(f)) - hold_s, 0.15, 1.0, xtol=1e-12))
