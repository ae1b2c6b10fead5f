"""
What the weights of shapes buy and cost: `python -m tests.strength.weights` prints a table.

Each athlete's posterior is found once with all nodes kept; other weights only mix them anew. Seeds
are those for tuning (below `worlds.REPORT`).
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Iterable
from typing import NamedTuple
from unittest import mock

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from gripbook.strength import fit_strength, verdict_of
from gripbook.strength.fit import _quantiles
from gripbook.strength.model import SHAPES, Shape
from tests.strength.worlds import WORLDS, World, make

Floats = npt.NDArray[np.float64]

#: Factors on the weights of all shapes but the usual one.
PARTS = {"a quarter": 0.25, "half": 0.5, "three quarters": 0.75, "as they are": 1.0}
#: Shares of form that wanders, doubled about, the others as many less.
MORE_FORM = "more form"


class Row(NamedTuple):
    """One series of measured change under one set of weights."""

    truth: float
    held: bool
    half_width: float
    rise: bool
    fall: bool
    pull: bool


class Kept(NamedTuple):
    """An athlete's nodes: shape, weight, and of each change mean and SD, (nodes, K)."""

    shapes: tuple[Shape, ...]
    weight: Floats
    means: Floats
    sds: Floats
    truth: list[float]
    pull: list[bool]


def kept(world: World, seeds: Iterable[int]) -> list[Kept]:
    """Athletes' nodes, of series whose change was measured."""
    out = []
    for seed in seeds:
        a = make(world, seed)
        with mock.patch("gripbook.strength.model._NO_WEIGHT", 1e-12):
            fit = fit_strength(a.sets, a.block)
        told = [s for s in fit.series if math.isfinite(s.change_pct)]
        if not told:
            continue
        rows = []
        for s in told:
            mixture, k = fit.posterior_of(s.key)
            ends = np.array([0.0, float(fit.evidence.last_day)])
            rows.append(np.diff(mixture.layout.path_rows(k, ends), axis=0)[0])
        means, sds = mixture.moments(np.array(rows))
        truth = [a.truth[s.capacity, s.grip, s.hand] for s in told]
        pull = [s.capacity == "pull" for s in told]
        out.append(Kept(mixture.shapes, mixture.weight, means, sds, truth, pull))
    return out


def rows_under(athletes: list[Kept], factor: dict[Shape, float]) -> list[Row]:
    """Every series, with the nodes' weights times the factor of their shape."""
    out = []
    for a in athletes:
        weight = a.weight * np.array([factor[s] for s in a.shapes])
        weight /= weight.sum()
        mean, low, high = _quantiles(weight, a.means, a.sds)
        prob = weight @ ndtr(a.means / a.sds)
        for k, truth in enumerate(a.truth):
            pct = [100 * math.expm1(x[k]) for x in (mean, low, high)]
            verdict = verdict_of(float(prob[k]), *pct, smallest_pct=3.0)
            out.append(
                Row(
                    truth, bool(low[k] <= truth <= high[k]), float(high[k] - low[k]) / 2,
                    verdict == "rise", verdict == "fall", a.pull[k],
                )
            )  # fmt: skip
    return out


def factors() -> dict[str, dict[Shape, float]]:
    """Factors on the nodes' weights, by the name of a setting."""
    settings = {name: {s: part * w for s, w in SHAPES} for name, part in PARTS.items()}
    settings[MORE_FORM] = {s: (1.45 if s.wander else 0.8) * w for s, w in SHAPES}
    usual = 1.0 - sum(w for _, w in SHAPES)
    return {
        name: {s: given[s] / w for s, w in SHAPES} | {Shape(): (1.0 - sum(given.values())) / usual}
        for name, given in settings.items()
    }


#: What is printed: name, beginning of the worlds' names, whether nobody changes there, what of the
#: series, and which of them.
LINES = (
    ("range holds 5 % gained", "ordinary", False, "held", ""),
    ("half width there", "ordinary", False, "half_width", ""),
    ("rises told of 5 %", "ordinary", False, "rise", ""),
    ("rises told of 12 %", "gain 12 %", False, "rise", ""),
    ("false rises, nobody changes", "ordinary", True, "rise", ""),
    ("false falls, nobody changes", "ordinary", True, "fall", ""),
    ("false rises, days with memory", "days with memory", True, "rise", ""),
    ("false falls, days with memory", "days with memory", True, "fall", ""),
    ("false rises of pulls, scale off", "scale off", True, "rise", "pulls"),
    ("false rises, the other grip gains", "one grip", False, "rise", "still"),
    ("false falls after easy days", "taper, fewer sets", True, "fall", ""),
)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--athletes", type=int, default=60, help="by each generator (default 60)")
    parser.add_argument("--seed", type=int, default=30_000)
    given = parser.parse_args()
    seeds = range(given.seed, given.seed + given.athletes)
    found: dict[tuple[str, bool], list[Kept]] = {}
    for begin, still in sorted({(begin, still) for _, begin, still, *_ in LINES}):
        of = [w.twin if still else w for w in WORLDS if w.name.startswith(begin)]
        found[begin, still] = [a for w in of for a in kept(w, seeds)]
        print(f"  {begin}{', nobody changes' * still}", flush=True)
    settings = factors()
    print(f"{'per cent of series':36s}" + "".join(f"{name:>16s}" for name in settings))
    for name, begin, still, what, which in LINES:
        cells = []
        for factor in settings.values():
            rows = rows_under(found[begin, still], factor)
            if which == "pulls":
                rows = [r for r in rows if r.pull]
            if which == "still":
                rows = [r for r in rows if abs(r.truth) < 1e-9]
            cells.append(100 * float(np.mean([getattr(r, what) for r in rows])))
        print(f"{name:36s}" + "".join(f"{c:16.1f}" for c in cells))


if __name__ == "__main__":
    main()
