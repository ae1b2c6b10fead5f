"""
Where an assumption fails: few athletes of each world, on seeds not tuned on, by two generators.

Bounds lie between what the model does and what it did without the part in question (named beside
each); `python -m tests.strength.calibrate` gives the figures on many athletes.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from gripbook.strength import fit_strength
from tests.strength.calibrate import Seen, look
from tests.strength.worlds import WORLDS, make

BY_NAME = {w.name: w for w in WORLDS}
BOTH = pytest.mark.parametrize("generator", ["planned", "club"])
SEEDS = pytest.mark.parametrize("first", [200_000, 300_000])


def seen(world: str, generator: str, first: int, still: bool = False, n: int = 10) -> Seen:
    """Some athletes of a world."""
    chosen = BY_NAME[f"{world}, {generator}"]
    return look(chosen.twin if still else chosen, range(first, first + n))


def untouched(s: Seen, which: str) -> float:
    """Share of the series that don't change called so."""
    return float(getattr(s, which)[np.abs(s.truth) < 1e-9].mean())


@BOTH
@SEEDS
def test_one_grip_gains(generator: str, first: int) -> None:
    """The other grip is seldom called stronger (a shared trend: 33 to 44 %), ranges hold (.68)."""
    s = seen("one grip", generator, first)
    assert untouched(s, "rise") <= 0.20
    assert s.held.mean() >= 0.78


@SEEDS
def test_hands_part(first: int) -> None:
    """The comparison of hands that part by 12 % holds the truth (with a tight prior: 0.02)."""
    held = [seen("hands apart", g, first).compared.mean() for g in ("planned", "club")]
    assert np.mean(held) >= 0.6


@BOTH
@SEEDS
def test_a_taper_is_no_fall(generator: str, first: int) -> None:
    """Fatigue that easy days free is not called weaker (without its term: 20 to 80 %)."""
    s = seen("taper, fewer sets", generator, first, still=True)
    assert untouched(s, "fall") <= 0.15
    assert s.held.mean() >= 0.8


@BOTH
@SEEDS
def test_one_weigh_in_gives_no_rise(generator: str, first: int) -> None:
    """Body mass lost unweighed is not called strength (as each set's own error: 28 to 63 %)."""
    s = seen("one weigh-in", generator, first, still=True)
    assert untouched(s, "rise") <= 0.15
    assert s.held.mean() >= 0.8


@SEEDS
def test_poor_fortnights(first: int) -> None:
    """Where form has memory ranges still hold (days on their own: 0.53 to 0.74)."""
    both = [seen("days with memory", g, first, n=16) for g in ("planned", "club")]
    assert np.concatenate([s.held for s in both]).mean() >= 0.76


@SEEDS
def test_a_beginner_s_gain(first: int) -> None:
    """20 % gained is not shrunk away: within 4 % on average, and nearly always called a rise."""
    s = seen("beginner", "club", first)
    assert abs(s.error.mean()) < 0.04
    assert s.held.mean() >= 0.7
    assert s.rise.mean() > 0.8


@SEEDS
def test_a_scale_that_came_to_show_less(first: int) -> None:
    """1.5 kg less from mid-block on is seldom called a rise of pulls (as one walk: 11 to 18 %)."""
    both = [seen("scale off", g, first, still=True, n=14) for g in ("planned", "club")]
    pulls = np.concatenate([s.rise[s.capacity == 1] for s in both])
    assert pulls.mean() <= 0.11
    assert np.concatenate([s.held[s.capacity == 1] for s in both]).mean() >= 0.85


@SEEDS
def test_sets_twice_as_noisy(first: int) -> None:
    """Their error is learned (as the usual one: ranges hold .82, false rises 16 %)."""
    both = [seen("noisy sets", g, first, still=True, n=12) for g in ("planned", "club")]
    assert np.concatenate([s.held for s in both]).mean() >= 0.87
    assert np.concatenate([s.rise for s in both]).mean() <= 0.12


@BOTH
@SEEDS
def test_body_mass_is_not_made_up(generator: str, first: int) -> None:
    """
    With one weigh-in and body mass unchanged no gain of it is inferred: by each set's own load a
    walk explained the loads' noise and always came out at 3 kg more.
    """
    world = dataclasses.replace(BY_NAME[f"one weigh-in, {generator}"].twin, mass=0.0)
    found = []
    for seed in range(first, first + 8):
        a = make(world, seed)
        fit = fit_strength(a.sets, a.block)
        mixture, ev = fit._mixture, fit.evidence
        assert mixture is not None
        at = mixture.layout.at["mass"]
        mean = sum(w * p.mode[at] for w, p in zip(mixture.weight, mixture.nodes, strict=True))
        late = ev.day > ev.last_day - 10
        found.append(float(np.mean(-(ev.mass_log[late] @ mean) * np.exp(ev.log_load[late]))))
    assert abs(np.mean(found)) < 1.3
