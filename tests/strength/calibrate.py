"""
The checks that need many athletes: `python -m tests.strength.calibrate` prints their tables.

Simulation-based calibration (Talts et al. 2018, arXiv:1804.06788) under the model's own prior;
error, coverage and false verdicts on scenarios unlike it; the same in worlds where one assumption
fails; and how often what was given a chance came true.
"""

from __future__ import annotations

import argparse
import math
import re
import time
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, fields
from pathlib import Path

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr
from scipy.stats import binom

from gripbook.strength import NoiseScales, SeriesKey, fit_strength, gather_evidence, share_noise
from gripbook.strength.fit import StrengthFit
from tests.strength.scenarios import SCENARIOS, Athlete, make_athlete, make_own
from tests.strength.worlds import REPORT, WORLDS, World, luck, make, strength_at_end

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


@dataclass(frozen=True)
class Seen:
    """Series of a world's athletes, one row each (arrays of shape (N,)), and chances of sets."""

    capacity: npt.NDArray[np.int64]
    error: npt.NDArray[np.float64]
    held: npt.NDArray[np.bool_]
    width: npt.NDArray[np.float64]
    rise: npt.NDArray[np.bool_]
    fall: npt.NDArray[np.bool_]
    prob_rise: npt.NDArray[np.float64]
    truth: npt.NDArray[np.float64]
    pair_error: npt.NDArray[np.float64]
    compared: npt.NDArray[np.bool_]
    """Whether the comparison of the hands at the end holds the truth, one a grip."""
    said: npt.NDArray[np.float64]
    """Chances given to first sets of 10 s on the last day, and the true ones."""
    true: npt.NDArray[np.float64]

    def cover(self) -> list[float]:
        """Coverage by capacity."""
        return [float(self.held[self.capacity == j].mean()) for j in range(3)]

    def false(self, which: str) -> list[float]:
        """Share of series without any change that were called a rise or a fall, by capacity."""
        still = np.abs(self.truth) < 1e-9
        called = getattr(self, which)
        of = [still & (self.capacity == j) for j in range(3)]
        return [float(called[m].mean()) if m.any() else math.nan for m in of]


#: Worlds in which chances of sets are looked at.
PLAIN = ("mixed", "ordinary")
#: Loads at which chances are asked for, as log shares of the true strength.
ASKED = (-0.12, -0.09, -0.06, -0.04, -0.02, 0.0, 0.02)


def look(world: World, seeds: Iterable[int]) -> Seen:
    """Fit a world's athletes and compare with the truth."""
    rows, compared, chances = [], [], []
    for seed in seeds:
        a = make(world, seed)
        end = strength_at_end(world, seed)
        fit = fit_strength(a.sets, a.block)
        for s in fit.series:
            name = (s.capacity, s.grip, s.hand)
            if not np.isfinite(s.change_pct):
                continue
            truth = a.truth[name]
            change, low, high = np.log1p(np.array([s.change_pct, s.low_pct, s.high_pct]) / 100)
            rows.append(
                (
                    CAPACITIES.index(s.capacity), change - truth, low <= truth <= high,
                    (high - low) / 2, s.verdict == "rise", s.verdict == "fall", s.prob_rise, truth,
                    a.pair.get(name, np.nan) - truth,
                )
            )  # fmt: skip
            if s.capacity == "hang" and world.name.startswith(PLAIN):
                for off in ASKED:
                    load = math.exp(end[name] + off)
                    said = fit.predict(s.key, edge_mm=20.0, load_kg=load)
                    chances.append((said, float(ndtr(-off / luck(world, "hang")))))
        for grip in {n[1] for n in a.truth}:
            hands = [SeriesKey("pull", grip, h, "steady") for h in ("left", "right")]
            if all(h in fit.evidence.series for h in hands):
                found = fit.difference(*hands)
                left, right = (end["pull", grip, h] for h in ("left", "right"))
                true = 100 * math.expm1(left - right)
                compared.append(found.low <= true <= found.high)
    r, c = np.array(rows, dtype=np.float64), np.array(chances, dtype=np.float64).reshape(-1, 2)
    return Seen(
        r[:, 0].astype(np.int64), r[:, 1], r[:, 2] > 0, r[:, 3], r[:, 4] > 0, r[:, 5] > 0, r[:, 6],
        r[:, 7], r[:, 8], np.array(compared, dtype=bool), c[:, 0], c[:, 1],
    )  # fmt: skip


#: Athletes of a world that are looked at in one go, and kept.
CHUNK = 50


def looked(job: tuple[World, bool, int, int, Path | None]) -> tuple[World, bool, Seen]:
    """`look`, for a pool of processes; what was kept of an earlier run is not done again."""
    world, still, first, n, folder = job
    file = None if folder is None else folder / f"{world.name}{' still' * still} {first} {n}.npz"
    if file is not None and file.exists():
        with np.load(file) as kept:
            return world, still, Seen(**kept)
    seen = look(world.twin if still else world, range(first, first + n))
    if file is not None:
        aside = file.with_suffix(".part.npz")
        np.savez(aside, **{f.name: getattr(seen, f.name) for f in fields(Seen)})
        aside.rename(file)
    return world, still, seen


def together(parts: list[Seen]) -> Seen:
    """Several looks at a world as one."""
    return Seen(*(np.concatenate([getattr(p, f.name) for p in parts]) for f in fields(Seen)))


def print_worlds(
    athletes: int,
    first: int,
    processes: int,
    name: str = "",
    which: str = "",
    folder: Path | None = None,
) -> None:
    """Look at the worlds, on the seeds from `first` on, and print their table."""
    if folder is not None:
        folder.mkdir(parents=True, exist_ok=True)
    # all worlds' first athletes come first: a run that is stopped has some of each
    jobs = [
        (*job, begin, min(CHUNK, first + athletes - begin), folder)
        for begin in range(first, first + athletes, CHUNK)
        for job in jobs_of(name, which)
    ]
    parts: dict[tuple[str, bool], list[Seen]] = {}
    begun = time.perf_counter()
    with ProcessPoolExecutor(processes) as pool:
        # one alone needs no other process, which would outlive a kill
        each = map(looked, jobs) if processes == 1 else pool.map(looked, jobs)
        for number, (w, still, s) in enumerate(each, 1):
            parts.setdefault((w.name, still), []).append(s)
            done = f"{number} of {len(jobs)}, {time.perf_counter() - begun:.0f} s"
            print(f"  {done}: {w.name}{', nobody changes' * still}", flush=True)
    print(f"\nWorlds of {athletes} athletes, seeds from {first}")
    print_seen({key: together(of) for key, of in parts.items()})


def jobs_of(name: str = "", which: str = "") -> list[tuple[World, bool]]:
    """
    Worlds whose name this pattern finds, and whether nobody changes in them.

    `which`: "still" for those alone where nobody does, "changed" for the others. Worlds that
    differ in the change alone have one such twin, the ordinary one's.
    """
    jobs = [(w, still) for w in WORLDS if re.search(name, w.name) for still in (False, True)]
    gains = tuple(f"{n}, " for n in ("beginner", "gain 12 %"))
    return [
        (w, still)
        for w, still in jobs
        if not (still and (w.apart or w.change_sd > 0.04 or w.name.startswith(gains)))
        and which in ("", "still" if still else "changed")
    ]


def print_seen(seen: dict[tuple[str, bool], Seen]) -> None:
    """The table of the worlds, and of chances where ordinary and mixed ones are among them."""
    print("in per cent, hang / pull / repeater")
    print("false: in a world where nobody changes (where series part: those that do not)")

    def three(values: list[float], scale: float = 100.0, form: str = "3.0f") -> str:
        return "/".join(f"{scale * v:{form}}" for v in values)

    for (world, still), s in seen.items():
        if still and (world, False) in seen:
            continue
        of = seen.get((world, True), s)
        bias = [float(s.error[s.capacity == j].mean()) for j in range(3)]
        both = np.isfinite(s.pair_error)
        ratio = math.nan
        if both.any():
            ratio = math.sqrt((s.error[both] ** 2).mean() / (s.pair_error[both] ** 2).mean())
        print(
            f"{world:30s} holds {three(s.cover())}, still {three(of.cover())}; bias "
            f"{three(bias, form='+4.1f')}; error {ratio:.2f} of the pair's; half width "
            f"{100 * s.width.mean():.1f}; false rise {three(of.false('rise'))} fall "
            f"{three(of.false('fall'))}; told rise {100 * s.rise.mean():.0f}; hands "
            f"{100 * s.compared.mean():.0f}",
            flush=True,
        )
    plain = [s for (world, _), s in seen.items() if world.startswith(PLAIN)]
    mixed = [s for (world, _), s in seen.items() if world.startswith("mixed")]
    if not mixed:
        return
    print("\nChance of a rise that was told, and how often it was one (mixed worlds)")
    told = np.concatenate([s.prob_rise for s in mixed])
    _classes(told, np.concatenate([s.truth > 0 for s in mixed]).astype(float))
    print("Chance that a hang is completed, and the true one (ordinary and mixed worlds)")
    _classes(np.concatenate([s.said for s in plain]), np.concatenate([s.true for s in plain]))


def _classes(said: npt.NDArray[np.float64], came: npt.NDArray[np.float64]) -> None:
    """Means of what was said and of what came, by tenths of what was said."""
    place = np.minimum((said * 10).astype(int), 9)
    for i in range(10):
        mine = place == i
        if mine.any():
            print(f"  said {said[mine].mean():.3f}  came {came[mine].mean():.3f}  n {mine.sum()}")


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--athletes", type=int, default=300, help="per scenario (default 300)")
    parser.add_argument("--ranks", type=int, default=1000, help="for the ranks (default 1000)")
    parser.add_argument("--worlds", type=int, default=300, help="per world (default 300)")
    parser.add_argument("--seed", type=int, default=REPORT, help=f"first, of worlds ({REPORT})")
    parser.add_argument("--only-worlds", action="store_true")
    parser.add_argument("--world", default="", help="only worlds whose name this pattern finds")
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--which", choices=("", "still", "changed"), default="")
    parser.add_argument("--keep", type=Path, help="folder of what was looked at; to go on there")
    given = parser.parse_args()
    print_worlds(given.worlds, given.seed, given.processes, given.world, given.which, given.keep)
    if given.only_worlds or given.world:
        return
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
