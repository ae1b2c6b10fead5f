"""
The joint model of one athlete as a linear one with censoring.

`log load = design @ unknowns - D(T) + day + error`: unknowns, effects of days and errors are
normal, each set tells the load exactly, at least or at most. `solver` finds mode and spread given
the scales; the scales are integrated over here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from gripbook.strength.endurance import HOLD_SD, REPEATER_SD
from gripbook.strength.evidence import CAPACITIES, EXACT, Evidence
from gripbook.strength.solver import Days, Jacobian, Posterior, find_posterior

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class NoiseScales:
    """
    SDs in log load of days and sets.

    Defaults [own choice between published figures]: day-to-day CV of two-arm hangs 2 to 5 %, of
    one-arm pulls over a scale 3 to 8 %; within a session 1.8 to 3.1 % (see the strength page of the
    documentation). `spread` is how unsure the log of the day scales is for one athlete.
    """

    day: float = 0.025
    capacity_day: float = 0.015
    hang: float = 0.025
    pull: float = 0.030
    repeater: float = 0.035
    spread: float = 0.45
    athletes: int = 0
    """Over how many athletes they were estimated; 0: the defaults."""

    @property
    def of_set(self) -> Floats:
        """Set SD in the order of `CAPACITIES`."""
        return np.array([getattr(self, c) for c in CAPACITIES])


@dataclass(frozen=True, slots=True)
class Priors:
    """
    Prior SDs in log load of what moves slowly, per week or per root week where said.

    The rates are those of a block of nine weeks; the SD of the whole change grows with the root of
    the weeks. The rate's mean is zero, so that no gain is assumed; published blocks gain 1.6 to
    2.3 % a week, controls 0 to 1 %.
    """

    level: float = 2.0
    slope: float = 0.008
    capacity_slope: float = 0.0025
    series_slope: float = 0.002
    before: float = 0.0075
    series_before: float = 0.004
    wiggle: float = 0.006
    series_wiggle: float = 0.004
    edge_mean: float = 0.25
    edge: float = 0.10
    grip_edge: float = 0.04
    fading: tuple[float, float, float] = (0.010, 0.012, 0.008)
    fading_sd: float = 0.006
    guess_bias: float = 0.2
    curve: tuple[float, float, float] = (*HOLD_SD, *REPEATER_SD)


PRIORS = Priors()
SHARED_WIGGLES = 3


@dataclass(frozen=True, eq=False)
class Layout:
    """
    Which columns of the design are what, and the design itself with unit priors.

    `at` names slices; `path_rows` turns days into functionals of a series' level.
    """

    evidence: Evidence
    design: Floats
    offset: Floats
    """(N,) what is subtracted from log load before the fit: centre, prior means, prior curve."""
    at: dict[str, slice]
    jacobian: Jacobian | None
    centre: float
    priors: Priors
    days: Days
    grips: tuple[str, ...]
    edge_grips: tuple[int, ...]
    curves: tuple[int, ...]
    capacity: Ints
    timed: npt.NDArray[np.bool_]
    """(N,) sets whose time was the outcome."""

    @property
    def unknowns(self) -> int:
        """How many."""
        return int(self.design.shape[1])

    def path_rows(self, series: int | Ints, day: Floats) -> Floats:
        """(len(day), P): log level (centre taken out) of the series, on those days of the block."""
        rows = np.zeros((len(day), self.unknowns))
        k = np.broadcast_to(np.asarray(series), day.shape)
        capacity = capacity_of(self.evidence)[k]
        slot, last_day = self.capacity_slot, self.evidence.last_day
        _fill_path(rows, self.at, self.priors, k, capacity, day, last_day, slot)
        return rows

    @property
    def capacity_slot(self) -> Ints:
        """Place of each capacity among those present."""
        present = sorted(set(capacity_of(self.evidence).tolist()))
        slot = np.zeros(len(CAPACITIES), dtype=np.intp)
        slot[present] = np.arange(len(present))
        return slot


def capacity_of(evidence: Evidence) -> Ints:
    """(K,) place in `CAPACITIES` of each series."""
    return np.array([CAPACITIES.index(s.capacity) for s in evidence.series], dtype=np.intp)


def _fill_path(
    rows: Floats,
    at: dict[str, slice],
    priors: Priors,
    k: Ints,
    capacity: Ints,
    day: npt.NDArray[Any],
    last_day: int,
    slot: Ints,
) -> None:
    """Write level, slopes, wiggles and the stretch before the block into the rows."""
    n = np.arange(len(day))
    weeks = max(last_day, 1) / 7.0
    inside = np.clip(day, 0, last_day) / 7.0
    # changes of short blocks may be fast: the prior SD of a change grows with the root of weeks
    per_week = inside * math.sqrt(9.0 / weeks)
    rows[n, at["level"].start + k] = priors.level
    rows[n, at["slope"].start] = priors.slope * per_week
    rows[n, at["capacity_slope"].start + slot[capacity]] = priors.capacity_slope * per_week
    rows[n, at["series_slope"].start + k] = priors.series_slope * per_week
    # Brownian bridge by its first sine terms: zero at both ends, so the change is the slope's
    s = inside / weeks
    root = math.sqrt(2 * weeks)
    for j in range(1, SHARED_WIGGLES + 1):
        wave = root * np.sin(math.pi * j * s) / (math.pi * j)
        rows[n, at["wiggle"].start + j - 1] = priors.wiggle * wave
        if j == 1:
            rows[n, at["series_wiggle"].start + k] = priors.series_wiggle * wave
    if "before" in at:
        before = np.minimum(day, 0) / 7.0
        rows[n, at["before"].start] = priors.before * before
        rows[n, at["before"].start + 1 + k] = priors.series_before * before


def build_layout(evidence: Evidence, priors: Priors = PRIORS) -> Layout:
    """Design matrix with unit priors, from arrays."""
    ev = evidence
    n, n_series = len(ev), len(ev.series)
    capacity = capacity_of(ev)[ev.series_of]
    slot_of = sorted(set(capacity.tolist()))
    slot = np.zeros(len(CAPACITIES), dtype=np.intp)
    slot[slot_of] = np.arange(len(slot_of))

    at: dict[str, slice] = {}
    size = 0

    def add(name: str, count: int) -> None:
        nonlocal size
        at[name] = slice(size, size + count)
        size += count

    add("level", n_series)
    add("slope", 1)
    add("capacity_slope", len(slot_of))
    add("series_slope", n_series)
    add("wiggle", SHARED_WIGGLES)
    add("series_wiggle", n_series)
    if (ev.day < 0).any():
        add("before", 1 + n_series)
    has_curve = np.abs(ev.drop.basis).max(axis=0, initial=0.0) > 0
    has_curve |= np.array([bool(((ev.kind == EXACT) & (capacity == c)).any()) for c in (0, 0, 1)])
    curves = np.flatnonzero(has_curve)
    add("curve", len(curves))
    edged = np.abs(ev.edge_log) > 1e-12
    grips = tuple(sorted({s.grip for s in ev.series}))
    grip = np.array([grips.index(s.grip) for s in ev.series], dtype=np.intp)[ev.series_of]
    edge_grips = sorted(set(grip[edged].tolist()))
    if edge_grips:
        add("edge", 1 + (len(edge_grips) if len(edge_grips) > 1 else 0))
    if ev.offsets:
        add("board", len(ev.offsets))
    add("fading", len(slot_of))
    guessed = ev.reserve_log > 0
    guess_caps = [c for c in (0, 1) if (guessed & (capacity == c)).any()]
    if guess_caps:
        add("guess", len(guess_caps))
    if (ev.drift_log > 0).any():
        add("mass", 2)

    design = np.zeros((n, size))
    rows = np.arange(n)
    _fill_path(design, at, priors, ev.series_of, capacity, ev.day, ev.last_day, slot)
    for j, c in enumerate(curves):
        design[:, at["curve"].start + j] = -priors.curve[c] * ev.drop.basis[:, c]
    if edge_grips:
        common = priors.edge if len(edge_grips) > 1 else math.hypot(priors.edge, priors.grip_edge)
        design[:, at["edge"].start] = common * ev.edge_log
        if len(edge_grips) > 1:
            for j, g in enumerate(edge_grips):
                design[:, at["edge"].start + 1 + j] = np.where(
                    grip == g, priors.grip_edge * ev.edge_log, 0.0
                )
    if ev.offsets:
        other = ev.offset >= 0
        design[rows[other], at["board"].start + ev.offset[other]] = ev.offset_sd[ev.offset[other]]
    design[rows, at["fading"].start + slot[capacity]] = -priors.fading_sd * ev.position
    for j, code in enumerate(guess_caps):
        mine = guessed & (capacity == code)
        # guesses run long: less was left than said
        design[mine, at["guess"].start + j] = priors.guess_bias * ev.reserve_log[mine]
    if "mass" in at:
        late = ev.day > ev.last_day / 2
        design[rows, at["mass"].start + late.astype(np.intp)] = ev.drift_log

    known = -ev.drop.value + priors.edge_mean * ev.edge_log
    known -= np.asarray(priors.fading)[capacity] * ev.position
    bare = ev.log_load - known
    # any centre near the levels does: their prior SD is 2
    centre = float(np.round(np.median(bare), 1)) if n else 0.0

    jacobian = None
    timed = (ev.kind == EXACT) & (capacity != 2)
    if timed.any():
        slope = ev.drop.slope[timed]
        ratio = np.asarray(priors.curve)[curves] * ev.drop.basis_slope[timed][:, curves]
        jacobian = Jacobian(ratio / slope[:, None], np.ones(len(ratio)), at["curve"])
    return Layout(
        evidence=ev,
        design=design,
        offset=known + centre,
        at=at,
        jacobian=jacobian,
        centre=centre,
        priors=priors,
        days=Days.of(ev.day, capacity),
        grips=grips,
        edge_grips=tuple(edge_grips),
        curves=tuple(curves.tolist()),
        capacity=capacity,
        timed=timed,
    )


@dataclass(frozen=True, eq=False)
class Mixture:
    """Posteriors at the nodes of the noise scales with their weights."""

    layout: Layout
    noise: NoiseScales
    nodes: tuple[Posterior, ...]
    day_factor: Floats
    set_factor: Floats
    weight: Floats

    def moments(self, functionals: Floats) -> tuple[Floats, Floats]:
        """(nodes, R) means and SDs of linear functionals (R, P) of the unknowns."""
        means = np.array([p.mode @ functionals.T for p in self.nodes])
        sds = np.array([np.sqrt(p.variance(functionals)) for p in self.nodes])
        return means, sds


def solve(
    layout: Layout, noise: NoiseScales, nodes: tuple[tuple[float, float, float], ...]
) -> Mixture:
    """
    Posterior at each node (log day factor, log set factor, prior weight), Newton from the last.
    """
    ev = layout.evidence
    y = ev.log_load - layout.offset
    set_sd = noise.of_set[layout.capacity]
    precision = np.ones(layout.unknowns)
    found: list[Posterior] = []
    for log_day, log_set, _ in nodes:
        own2 = (set_sd * math.exp(log_set)) ** 2 + ev.load_error_log**2
        variance = own2 + ev.time_error_log**2
        jacobian = layout.jacobian
        if jacobian is not None:
            jacobian = replace(jacobian, weight=(own2 / variance)[layout.timed])
        found.append(
            find_posterior(
                layout.design,
                y,
                np.sqrt(variance),
                ev.kind,
                precision,
                jacobian=jacobian,
                days=layout.days,
                day_sd=noise.day * math.exp(log_day),
                part_sd=noise.capacity_day * math.exp(log_day),
                weight=ev.weight,
                start=found[-1] if found else None,
                tolerance=1e-2,
            )
        )
    log_weight = np.array([p.log_evidence for p in found])
    log_weight += np.log([w for _, _, w in nodes])
    weight = np.exp(log_weight - log_weight.max())
    return Mixture(
        layout,
        noise,
        tuple(found),
        np.exp([d for d, _, _ in nodes]),
        np.exp([s for _, s, _ in nodes]),
        weight / weight.sum(),
    )


__all__ = [
    "Layout",
    "Mixture",
    "NoiseScales",
    "Priors",
    "build_layout",
    "solve",
]
