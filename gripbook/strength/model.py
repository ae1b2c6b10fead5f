"""
The joint model of one athlete as a linear one with censoring, and its solver.

`log load = design @ unknowns - D(T) + error`: unknowns and errors are normal, each set tells the
load exactly, at least or at most. Given the scales the posterior is log-concave: Newton finds the
mode, its curvature gives the spread (Laplace).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.linalg.lapack import dpotrf, dpotrs, dtrtrs
from scipy.special import log_ndtr

from gripbook.strength.endurance import HOLD_SD, REPEATER_SD
from gripbook.strength.evidence import AT_LEAST, AT_MOST, CAPACITIES, EXACT, Evidence

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
_LOG_2PI = math.log(2 * math.pi)


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
    slope: float = 0.0075
    capacity_slope: float = 0.003
    series_slope: float = 0.003
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
class Jacobian:
    """
    Sum over exact sets of `weight * log(1 + ratio @ unknowns)`: the load is chosen and the time
    is the outcome, so a curve with free coefficients needs dD/dlogT in the likelihood.
    """

    ratio: Floats
    """(N, P) slope of each coefficient over the prior curve's slope."""
    weight: Floats


@dataclass(frozen=True, eq=False)
class Posterior:
    """Mode, lower Cholesky factor of the precision, log evidence (constants of the prior out)."""

    mode: Floats
    factor: Floats
    log_evidence: float
    log_posterior: float
    steps: int

    def spread(self, functionals: Floats) -> Floats:
        """`L^-1 f` for each row of `functionals` (R, P): (P, R), whose column norms are SDs."""
        out, info = dtrtrs(self.factor, np.ascontiguousarray(functionals.T), lower=1)
        if info:  # pragma: no cover - the factor has a positive diagonal
            raise np.linalg.LinAlgError("singular factor")
        return np.asarray(out)


def find_posterior(
    design: Floats,
    observed: Floats,
    sd: Floats,
    kind: Ints,
    precision: Floats,
    jacobian: Jacobian | None = None,
    start: Floats | None = None,
    tolerance: float = 1e-8,
    weight: Floats | None = None,
) -> Posterior:
    """
    Mode and curvature of a censored normal regression with normal priors of mean zero.

    Parameters
    ----------
    design : (N, P). observed, sd, kind : (N,); kind EXACT, AT_LEAST (the truth lies above
        `observed`) or AT_MOST. precision : (P,), 0 for a flat prior.
    jacobian : see `Jacobian`. start : where to begin, (P,). weight : (N,) how many equal
        observations each bound stands for; None: 1.

    With only exact sets and no Jacobian this is generalised least squares and the evidence is
    exact (the restricted likelihood where the fixed effects' precision is 0).
    """
    n_unknown = design.shape[1]
    exact = kind == EXACT
    all_exact = bool(exact.all())
    censored = ~exact
    sign = np.where(kind == AT_MOST, -1.0, 1.0)[censored]
    times = np.ones(int(censored.sum())) if weight is None else weight[censored]
    inverse = 1.0 / sd
    scaled = design * inverse[:, None]
    target = observed * inverse
    constant = -float(np.log(sd[exact]).sum()) - 0.5 * _LOG_2PI * int(exact.sum())
    x = np.zeros(n_unknown) if start is None else start

    def evaluate(at: Floats) -> tuple[float, Floats, Floats, Floats | None]:
        residual = target - scaled @ at
        gradient = residual.copy()
        curvature = np.ones(len(residual))
        value = constant - 0.5 * float(precision @ (at * at))
        if all_exact:
            value -= 0.5 * float(residual @ residual)
        else:
            r = residual[exact]
            value -= 0.5 * float(r @ r)
            e = -sign * residual[censored]
            log_p = log_ndtr(e)
            hazard = np.exp(-0.5 * e * e - log_p - 0.5 * _LOG_2PI)
            value += float(times @ log_p)
            gradient[censored] = times * sign * hazard
            curvature[censored] = times * hazard * (hazard + e)
        stretch = None
        if jacobian is not None:
            stretch = 1.0 + jacobian.ratio @ at
            if stretch.min(initial=1.0) <= 0:
                return -np.inf, gradient, curvature, stretch
            value += float(jacobian.weight @ np.log(stretch))
        return value, gradient, curvature, stretch

    value, gradient, curvature, stretch = evaluate(x)
    if not np.isfinite(value):
        x = np.zeros(n_unknown)
        value, gradient, curvature, stretch = evaluate(x)
    factor = np.eye(n_unknown)
    for steps in range(1, 101):  # noqa: B007 (the count is part of the answer)
        slope = scaled.T @ gradient - precision * x
        root = scaled * np.sqrt(curvature)[:, None]
        hessian = root.T @ root
        if jacobian is not None and stretch is not None:
            j = jacobian.ratio / stretch[:, None]
            slope += j.T @ jacobian.weight
            hessian += (j * jacobian.weight[:, None]).T @ j
        hessian.flat[:: n_unknown + 1] += precision
        factor, info = dpotrf(hessian, lower=1, clean=1)
        if info:
            hessian.flat[:: n_unknown + 1] += 1e-9 * np.trace(hessian) / n_unknown
            factor, info = dpotrf(hessian, lower=1, clean=1)
            if info:
                raise np.linalg.LinAlgError("the curvature is not positive definite")
        step, _ = dpotrs(factor, slope, lower=1)
        gain = float(slope @ step)
        if gain < tolerance:
            # the last step is still taken: it squares what is left of the error
            x = x + step
            value += 0.5 * gain
            break
        size = 1.0
        while True:
            new = evaluate(x + size * step)
            if new[0] >= value + 1e-4 * size * gain - 1e-10 * abs(value) or size < 1e-8:
                break
            size *= 0.5
        x = x + size * step
        value, gradient, curvature, stretch = new
    log_det = 2 * float(np.log(factor.diagonal()).sum())
    return Posterior(x, factor, value - 0.5 * log_det, value, steps)


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
    day_columns: slice
    jacobian: Jacobian | None
    centre: float
    priors: Priors
    days: Ints
    grips: tuple[str, ...]
    edge_grips: tuple[int, ...]
    curves: tuple[int, ...]
    capacity: Ints
    single: npt.NDArray[np.bool_]
    weight_time: Floats

    @property
    def unknowns(self) -> int:
        """How many."""
        return int(self.design.shape[1])

    def path_rows(self, series: int, day: Floats) -> Floats:
        """(len(day), P): the series' log level (centre taken out) on those days of the block."""
        rows = np.zeros((len(day), self.unknowns))
        _fill_path(
            rows,
            self.at,
            self.priors,
            np.full(len(day), series),
            np.full(len(day), capacity_of(self.evidence)[series]),
            day,
            self.evidence.last_day,
            self.capacity_slot,
        )
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


def build_layout(evidence: Evidence, noise: NoiseScales, priors: Priors = PRIORS) -> Layout:
    """Design matrix with unit priors, from arrays."""
    ev = evidence
    n, n_series = len(ev), len(ev.series)
    capacity = capacity_of(ev)[ev.series_of]
    slot_of = sorted(set(capacity.tolist()))
    slot = np.zeros(len(CAPACITIES), dtype=np.intp)
    slot[slot_of] = np.arange(len(slot_of))

    days, day_index = np.unique(ev.day, return_inverse=True)
    pair = day_index * 3 + capacity
    pairs, pair_index = np.unique(pair, return_inverse=True)
    per_day = np.bincount(pairs // 3, minlength=len(days))
    # a day with one capacity needs one unknown, a day with more one shared and one for each
    single = per_day == 1
    n_single_and_shared = len(days)
    many = np.flatnonzero(~single[pairs // 3])
    many_index = np.full(len(pairs), -1, dtype=np.intp)
    many_index[many] = np.arange(len(many))

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
    add("day", n_single_and_shared)
    add("capacity_day", len(many))

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
    both = math.hypot(noise.day, noise.capacity_day)
    design[rows, at["day"].start + day_index] = np.where(single[day_index], both, noise.day)
    m = many_index[pair_index]
    design[rows[m >= 0], at["capacity_day"].start + m[m >= 0]] = noise.capacity_day

    known = -ev.drop.value + priors.edge_mean * ev.edge_log
    known -= np.asarray(priors.fading)[capacity] * ev.position
    bare = ev.log_load - known
    # any centre near the levels does: their prior SD is 2
    centre = float(np.round(np.median(bare), 1)) if n else 0.0

    jacobian = None
    timed = (ev.kind == EXACT) & (capacity != 2)
    if timed.any():
        ratio = np.zeros((int(timed.sum()), size))
        for j, c in enumerate(curves):
            ratio[:, at["curve"].start + j] = (
                priors.curve[c] * ev.drop.basis_slope[timed, c] / ev.drop.slope[timed]
            )
        jacobian = Jacobian(ratio, np.ones(len(ratio)))
    return Layout(
        evidence=ev,
        design=design,
        offset=known + centre,
        at=at,
        day_columns=slice(at["day"].start, size),
        jacobian=jacobian,
        centre=centre,
        priors=priors,
        days=days,
        grips=grips,
        edge_grips=tuple(edge_grips),
        curves=tuple(curves.tolist()),
        capacity=capacity,
        single=single,
        weight_time=timed,
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
        """(nodes, R) means and SDs of linear functionals of the unknowns (no day columns)."""
        means = np.array([p.mode @ functionals.T for p in self.nodes])
        sds = np.array([np.sqrt((p.spread(functionals) ** 2).sum(axis=0)) for p in self.nodes])
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
    start: Floats | None = None
    last = 0.0
    for log_day, log_set, _ in nodes:
        if start is not None:
            # day effects stay about as large: in units of their SD they shrink
            start[layout.day_columns] *= math.exp(last - log_day)
        design = layout.design
        if log_day:
            design = design.copy()
            design[:, layout.day_columns] *= math.exp(log_day)
        own2 = (set_sd * math.exp(log_set)) ** 2 + ev.load_error_log**2
        sd = np.sqrt(own2 + ev.time_error_log**2)
        post = find_posterior(
            design, y, sd, ev.kind, precision, layout.jacobian, start, 1e-2, ev.weight
        )
        found.append(post)
        start, last = post.mode.copy(), log_day
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
    "AT_LEAST",
    "AT_MOST",
    "EXACT",
    "Layout",
    "Mixture",
    "NoiseScales",
    "Posterior",
    "Priors",
    "build_layout",
    "find_posterior",
    "solve",
]
