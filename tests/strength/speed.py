"""
Speed of the strength model: `python -m tests.strength.speed`.

CPU milliseconds of one fit, side by side with a bare solve of the same size by numpy, so
that machines can be compared; how the time grows with the sets; and a squad on two cores.
"""

from __future__ import annotations

import os

# before numpy: one core means one
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from typing import Any

import numpy as np

from gripbook.strength import fit_strength
from tests.strength.scenarios import SCENARIOS, Athlete, make_athlete

SQUAD = 1_000


def milliseconds(run: Callable[[], Any], times: int = 7) -> float:
    """CPU time, least of several runs."""
    found = []
    for _ in range(times):
        begun = time.process_time()
        run()
        found.append(time.process_time() - begun)
    return 1e3 * min(found)


def yardstick() -> float:
    """Milliseconds of a least-squares fit of 200 rows and 100 unknowns by numpy."""
    rng = np.random.default_rng(1)
    a, b = rng.normal(size=(200, 100)), rng.normal(size=200)
    return milliseconds(lambda: np.linalg.lstsq(a, b, rcond=None), 30)


def fit_many(athletes: list[Athlete], times: int) -> int:
    """Fit each athlete so many times; how many fits that were."""
    for _ in range(times):
        for a in athletes:
            fit_strength(a.sets, a.block)
    return len(athletes) * times


def main() -> None:
    """Print the table."""
    unit = yardstick()
    print(f"least squares of 200 rows and 100 unknowns by numpy: {unit:.2f} ms")
    print("sets  series  ms per fit (median)  times the least squares")
    for share in (0.5, 0.9, 1.8, 3.6):
        scenario = replace(SCENARIOS[0], name="speed", sets_share=share)
        athletes = [make_athlete(scenario, i) for i in range(15)]
        spent = [
            milliseconds(lambda a=a: fit_strength(a.sets, a.block))  # type: ignore[misc]
            for a in athletes
        ]
        sets = int(np.median([len(a.sets) for a in athletes]))
        ms = float(np.median(spent))
        print(f"{sets:4d}  {8:6d}  {ms:19.2f}  {ms / unit:23.1f}", flush=True)
    scenario = replace(SCENARIOS[0], name="speed", sets_share=0.9)
    athletes = [make_athlete(scenario, i) for i in range(50)]
    begun = time.perf_counter()
    with ProcessPoolExecutor(2) as pool:
        done = sum(pool.map(fit_many, [athletes[:25], athletes[25:]], [SQUAD // 50] * 2))
    seconds = time.perf_counter() - begun
    print(f"{done} athletes of about 200 sets on two cores: {seconds:.1f} s")


if __name__ == "__main__":
    main()
