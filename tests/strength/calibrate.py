"""
The checks that need many athletes: `python -m tests.strength.calibrate` prints their tables.

Simulation-based calibration (Talts et al. 2018, arXiv:1804.06788) under the model's own prior, and
error, coverage and false verdicts on scenarios unlike it.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.stats import binom

from gripbook.strength import NoiseScales, SeriesKey, fit_strength, gather_evidence, share_noise
from gripbook.strength.fit import StrengthFit
from tests.strength.scenarios import SCENARIOS, Athlete, make_athlete, make_own

CAPACITIES = ("hang", "pull", "repeater")
BINS = 20


def rank_of(fit: StrengthFit, key: SeriesKey, truth: float) -> float:
    """Share of the posterior of the series' log change that lies below the truth."""
    return fit.change_below(key, truth)


def calibration_ranks(seeds: Iterable[int], progress: bool = False) -> dict[str, list[float]]:
    """Ranks of the true change, by capacity; one series of each capacity and athlete."""
    ranks: dict[str, list[float]] = {c: [] for c in CAPACITIES}
    for number, seed in enumerate(seeds, 1):
        athlete = make_own(seed)
        fit = fit_strength(athlete.sets, athlete.block)
        seen = set()
        for s in fit.series:
            if s.ok and s.capacity not in seen:
                seen.add(s.capacity)
                truth = athlete.truth[s.capacity, s.grip, s.hand]
                ranks[s.capacity].append(rank_of(fit, s.key, truth))
        if progress and number % 100 == 0:
            print(f"  {number} athletes", flush=True)
    return ranks


def histogram(ranks: list[float], bins: int = BINS) -> npt.NDArray[np.int64]:
    """Counts of the ranks in equal bins."""
    return np.bincount(np.minimum((np.array(ranks) * bins).astype(int), bins - 1), minlength=bins)


def band(n: int, probability: float, level: float = 0.998) -> tuple[int, int]:
    """Binomial band of a count."""
    low, high = binom.interval(level, n, probability)
    return int(low), int(high)


@dataclass(frozen=True)
class Score:
    """One scenario. Errors in log terms; rates over series that were measured."""

    ratio: float
    """RMSE of the change over that of the before/after test pair."""
    bias: float
    coverage: dict[str, float]
    rise: float
    fall: float
    series: int
    missing: int
    seconds: float


def score(athletes: list[Athlete], noise: NoiseScales | None = None) -> Score:
    """Fit each athlete and compare with the truth."""
    rows = []
    missing = 0
    begun = time.perf_counter()
    for a in athletes:
        for s in fit_strength(a.sets, a.block, noise).series:
            name = (s.capacity, s.grip, s.hand)
            if not np.isfinite(s.change_pct):
                missing += 1
                continue
            truth = a.truth[name]
            change, low, high = np.log1p(np.array([s.change_pct, s.low_pct, s.high_pct]) / 100)
            rows.append(
                (
                    CAPACITIES.index(s.capacity),
                    change - truth,
                    low <= truth <= high,
                    a.pair.get(name, np.nan) - truth,
                    s.verdict == "rise",
                    s.verdict == "fall",
                )
            )
    seconds = time.perf_counter() - begun
    r = np.array(rows, dtype=np.float64)
    paired = np.isfinite(r[:, 3])
    return Score(
        ratio=float(np.sqrt((r[paired, 1] ** 2).mean() / (r[paired, 3] ** 2).mean())),
        bias=float(r[:, 1].mean()),
        coverage={c: float(r[r[:, 0] == j, 2].mean()) for j, c in enumerate(CAPACITIES)},
        rise=float(r[:, 4].mean()),
        fall=float(r[:, 5].mean()),
        series=len(r),
        missing=missing,
        seconds=seconds / len(athletes),
    )


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--athletes", type=int, default=300, help="per scenario (default 300)")
    parser.add_argument("--ranks", type=int, default=1000, help="for the ranks (default 1000)")
    given = parser.parse_args()
    print(f"Simulation-based calibration, {given.ranks} athletes of the model's own prior")
    for capacity, ranks in calibration_ranks(range(given.ranks), progress=True).items():
        n = len(ranks)
        inside = int(((np.array(ranks) > 0.05) & (np.array(ranks) < 0.95)).sum())
        print(
            f"{capacity:9s} n {n}, 90 % interval holds {inside / n:.3f} "
            f"(99.8 % band {band(n, 0.9)[0] / n:.3f} to {band(n, 0.9)[1] / n:.3f}); ranks in "
            f"{BINS} bins, band {band(n, 1 / BINS)}: {histogram(ranks).tolist()}"
        )
    for shared in (False, True):
        print("\nNoise shared over the squad" if shared else "\nEach athlete alone")
        print(
            "scenario         ratio  bias %  coverage hang pull repeater  rise  fall series (none)"
        )
        ratios = []
        for sc in SCENARIOS:
            athletes = [make_athlete(sc, i) for i in range(given.athletes)]
            noise = None
            if shared:
                noise = share_noise([gather_evidence(a.sets, a.block) for a in athletes])
            s = score(athletes, noise)
            ratios.append(s.ratio)
            cover = "  ".join(f"{s.coverage[c]:.3f}" for c in CAPACITIES)
            print(
                f"{sc.name:16s} {s.ratio:.3f}  {100 * s.bias:+.2f}   {cover}          "
                f"{s.rise:.3f} {s.fall:.3f} {s.series} ({s.missing})",
                flush=True,
            )
        print(f"error against the test pair: mean {np.mean(ratios):.3f}, worst {max(ratios):.3f}")


if __name__ == "__main__":
    main()
