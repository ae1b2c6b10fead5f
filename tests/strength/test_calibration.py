"""Calibration and robustness on few athletes; `python -m tests.strength.calibrate` does many."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from gripbook.strength import fit_strength, gather_evidence, share_noise
from gripbook.strength.model import SHAPES
from tests.strength.calibrate import CAPACITIES, band, calibration_ranks, score
from tests.strength.scenarios import SCENARIOS, Scenario, make_athlete
from tests.strength.worlds import WORLDS, make

BY_NAME = {s.name: s for s in SCENARIOS}


def test_ranks_under_the_own_prior() -> None:
    """The 90 % interval of the change holds the truth within the binomial band, per capacity."""
    for capacity, ranks in calibration_ranks(range(50)).items():
        inside = sum(0.05 < r < 0.95 for r in ranks)
        low, _ = band(len(ranks), 0.9)
        assert inside >= low, f"{capacity}: {inside} of {len(ranks)}"


@pytest.mark.parametrize("name", ["gain 5 %", "logarithm", "day SD 6 %", "smaller edges"])
def test_error_and_coverage(name: str) -> None:
    """On curves unlike the model's the error stays below the test pair's and intervals hold."""
    s = score([make_athlete(BY_NAME[name], i) for i in range(25)])
    assert s.ratio < 0.85
    for capacity in CAPACITIES:
        assert s.coverage[capacity] > 0.80


def test_no_change_gives_few_verdicts() -> None:
    """Without true change rises and falls are rare."""
    s = score([make_athlete(BY_NAME["no change"], i) for i in range(40)])
    assert s.rise < 0.08
    assert s.fall < 0.08
    assert abs(s.bias) < 0.01


def test_a_large_gain_is_found() -> None:
    """A true gain of 10 % is called a rise in most series, and never a fall."""
    s = score([make_athlete(BY_NAME["gain 10 %"], i) for i in range(25)])
    assert s.rise > 0.7
    assert s.fall == 0


@pytest.mark.parametrize("reserves", [0.0, 0.8])
def test_shared_noise_follows_the_squad(reserves: float) -> None:
    """Shared scales rise with the squad's days and stay sane where no reserves are logged."""
    calm = Scenario("calm", day_sd=0.01, capacity_day_sd=0.006, reserves=reserves)
    wild = dataclasses.replace(calm, name="wild", day_sd=0.05, capacity_day_sd=0.03)
    shared = []
    for sc in (calm, wild):
        squad = [make_athlete(sc, i) for i in range(12)]
        shared.append(share_noise([gather_evidence(a.sets, a.block) for a in squad]))
    assert shared[0].day < 0.025 < shared[1].day
    for noise in shared:
        assert noise.athletes == 12
        for sd in (noise.hang, noise.pull, noise.repeater):
            assert 0.01 < sd < 0.08


def test_an_athlete_alone_does_not_depend_on_the_squad() -> None:
    """Without sharing asked for there is nothing through which another log could act."""
    a, b = (make_athlete(BY_NAME["gain 5 %"], i) for i in range(2))
    before = fit_strength(a.sets, a.block)
    fit_strength(b.sets, b.block)
    after = fit_strength(a.sets, a.block)
    assert [s.change_pct for s in before.series] == [s.change_pct for s in after.series]
    assert np.isfinite([s.change_pct for s in before.series]).all()


@pytest.mark.parametrize("first", [51_000, 52_000])
def test_shapes_are_shared_too(first: int) -> None:
    """In a squad whose grips part, parting is expected more than in one whose grips don't."""
    of = {w.name: w for w in WORLDS}
    weight = {}
    for name in ("one grip, planned", "ordinary, planned"):
        squad = [make(of[name], first + i) for i in range(6)]
        noise = share_noise([gather_evidence(a.sets, a.block) for a in squad])
        assert len(noise.shapes) == len(SHAPES)
        assert 0 < sum(noise.shapes) < 1
        weight[name] = sum(w for w, (s, _) in zip(noise.shapes, SHAPES, strict=True) if s.apart > 1)
    default = sum(w for s, w in SHAPES if s.apart > 1)
    assert weight["one grip, planned"] > default + 0.02
    assert weight["ordinary, planned"] < default - 0.02


def test_a_shape_that_no_log_can_tell_keeps_its_weight() -> None:
    """Without pulls nothing is said of hands and scales."""
    made = make(next(w for w in WORLDS if w.name == "ordinary, club"), 53_000)
    hangs = made.sets[made.sets["exercise"] != "pull"]
    noise = share_noise([gather_evidence(hangs, made.block)])
    for (shape, default), weight in zip(SHAPES, noise.shapes, strict=True):
        if shape.hands > 1 or shape.scale > 1:
            assert weight == pytest.approx(default)
        else:
            assert weight != default
