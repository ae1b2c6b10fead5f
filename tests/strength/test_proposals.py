"""Proposals against simulated truth, on few athletes; `make calibrate` takes many."""

from __future__ import annotations

import numpy as np
import pytest

from gripbook.reviews import propose_next
from tests.strength.proposals import REACTIONS, Followed, chances, follow, made, reviewed


@pytest.mark.parametrize("first", [0, 40])
def test_sessions_come_true_as_often_as_stated(first: int) -> None:
    """What is stated comes true in the mean, in worlds of the model's own prior and unlike it."""
    pairs = [
        pair
        for world in ("own", "ordinary, planned", "ordinary, club")
        for pair in chances(world, range(first, first + 3))
    ]
    stated, came = np.array(pairs).T
    told = (stated > 0.5) & (stated < 0.95)
    assert told.sum() > 20
    # three athletes a world: the mean has a standard error of about 3 points
    assert abs(float((came - stated)[told].mean())) < 0.10


@pytest.mark.parametrize("seed", [0, 1])
def test_a_followed_block_keeps_to_its_steps(seed: int) -> None:
    """No load leaps beyond the step; who gains misses few sets, who loses form is held back."""
    athlete, truth = made("ordinary, planned", seed)
    r = reviewed(athlete)
    plan = propose_next(r)
    total = {name: Followed() for name in REACTIONS}
    for load in plan.loads:
        if load.kind == "start" and load.added_kg is not None and load.edge_mm == 20.0:
            for name in REACTIONS:
                total[name].add(follow(r, plan, load, truth, name, seed))
    assert all(f.breaches == 0 for f in total.values())
    assert all(f.sets > 40 for f in total.values())
    gains, loses = total["gains 6 % evenly"], total["loses 8 %"]
    assert gains.missed < 0.12 * gains.sets
    assert loses.up <= gains.up
    assert loses.missed >= gains.missed
