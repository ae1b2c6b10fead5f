"""What a fit says of sets not yet done: many edges, lengths and loads at once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from gripbook.strength.evidence import CAPACITIES, SeriesKey, log_over
from gripbook.strength.fit import TAIL, StrengthFit, duration_into, edge_row
from gripbook.strength.model import PRIORS

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Outlook:
    """
    Chances (0 to 1) that a first set of the day is completed; arrays (edges, lengths, loads).

    `chance` is what `StrengthFit.predict` gives. `low` to `high` is the 90 % interval of the
    chance itself: good and bad days are in the chance, what is not known of the athlete's strength
    is in the interval.
    """

    chance: Floats
    low: Floats
    high: Floats


def outlook(
    fit: StrengthFit,
    series: SeriesKey,
    *,
    edges_mm: Sequence[float],
    lengths: Sequence[float],
    loads_kg: Sequence[float],
    hold_s: float | None = None,
) -> Outlook:
    """
    Chances over a grid, on the block's last day.

    Parameters
    ----------
    fit : from `fit_strength`.
    series : one of its series.
    edges_mm : NaN stands for no edge (slopers).
    loads_kg : loads on the fingers.
    lengths : seconds of a hang, holds of a repeater set; for pulls one value, which says nothing.
    hold_s : seconds of one hold of a repeater set; None: the reference.

    Raises
    ------
    KeyError : the fit has no such series.
    """
    mixture, k = fit.posterior_of(series)
    layout = mixture.layout
    level = layout.form_rows(k, np.array([float(fit.evidence.last_day)]))[0]
    capacity = series.capacity
    rows: list[Floats] = []
    known: list[float] = []
    extra: list[float] = []
    for edge in edges_mm:
        log_edge = log_over(edge, fit.series[k].edge_mm, series.grip)
        learned = "edge" in layout.at
        for length in lengths:
            row = level.copy()
            if log_edge and learned:
                edge_row(layout, row, log_edge, series.grip)
            hang_s, reps = (hold_s, length) if capacity == "repeater" else (length, None)
            drop = duration_into(layout, row, capacity, hang_s, reps, fit.evidence)
            rows.append(row)
            known.append(layout.centre + PRIORS.edge_mean * log_edge - drop)
            unlearned = math.hypot(PRIORS.edge, PRIORS.grip_edge) * log_edge
            extra.append(0.0 if learned else unlearned**2)
    means, sds = mixture.moments(np.array(rows))
    means = means + np.array(known)
    unsure = np.sqrt(sds**2 + np.array(extra))
    noise = mixture.noise
    own = noise.of_set[CAPACITIES.index(capacity)] * mixture.set_factor
    daily = np.hypot(noise.day, noise.capacity_day) * mixture.day_factor
    spread = np.hypot(own, daily)[:, None, None]
    # nodes by (edges x lengths) by loads
    margin = means[:, :, None] - np.log(np.asarray(loads_kg, dtype=np.float64))
    weight = mixture.weight[:, None, None]
    chance = (weight * ndtr(margin / np.hypot(unsure[:, :, None], spread))).sum(axis=0)
    low, high = (_quantile(tail, weight, margin, unsure[:, :, None], spread) for tail in _ENDS)
    shape = (len(edges_mm), len(lengths), len(loads_kg))
    return Outlook(chance.reshape(shape), low.reshape(shape), high.reshape(shape))


_ENDS = (TAIL, 1 - TAIL)


def _quantile(
    tail: float, weight: Floats, margin: Floats, unsure: Floats, spread: Floats
) -> Floats:
    """
    Quantile of the chance given the strength, by bisection in its normal score.

    At a node the chance is Phi(x / spread) with x normal about `margin` with SD `unsure`.
    """
    low, high = np.full(margin.shape[1:], -12.0), np.full(margin.shape[1:], 12.0)
    for _ in range(40):
        middle = 0.5 * (low + high)
        below = (weight * ndtr((middle * spread - margin) / np.maximum(unsure, 1e-9))).sum(axis=0)
        low, high = np.where(below < tail, middle, low), np.where(below < tail, high, middle)
    return np.asarray(ndtr(0.5 * (low + high)), dtype=np.float64)
