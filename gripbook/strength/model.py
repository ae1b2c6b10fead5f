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

from gripbook.display import Displayed
from gripbook.strength.endurance import HOLD_SD, REPEATER_SD
from gripbook.strength.evidence import CAPACITIES, DAYS_BEFORE, EXACT, Evidence
from gripbook.strength.solver import Days, Jacobian, Likelihood, Posterior

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, repr=False)
class NoiseScales(Displayed):
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
    shapes: tuple[float, ...] = ()
    """Prior weights of `SHAPES`, in their order; empty: the defaults."""

    def __repr__(self) -> str:
        of = f"over {self.athletes} athletes" if self.athletes else "the defaults"
        days = math.hypot(self.day, self.capacity_day)
        return f"<NoiseScales, {of}: days {100 * days:.1f} %, sets {100 * self.hang:.1f} % (SD)>"

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
    grip_slope: float = 0.0014
    series_slope: float = 0.0014
    before: float = 0.0075
    series_before: float = 0.004
    wiggle: float = 0.006
    series_wiggle: float = 0.004
    edge_mean: float = 0.25
    edge: float = 0.10
    grip_edge: float = 0.04
    fading: tuple[float, float, float] = (0.010, 0.012, 0.008)
    fading_sd: float = 0.006
    others: float = 0.001
    others_sd: float = 0.002
    practice: float = 0.025
    wander: float = 0.02
    tired: float = 0.09
    scale_kg: float = 0.8
    guess_bias: float = 0.2
    curve: tuple[float, float, float] = (*HOLD_SD, *REPEATER_SD)


PRIORS = Priors()
SHARED_WIGGLES = 3
#: A good or poor fortnight is forgotten to 1/e in so many days (own choice, no source).
WANDER_DAYS = 12.0
#: From so many sets of other series on, further ones tire no more (own choice, no source).
OTHERS_AT_MOST = 15.0


@dataclass(frozen=True, slots=True)
class Shape:
    """
    What an athlete's block may be like: factors on prior SDs, told apart by the log itself.

    `slope`: of the change that all series share; `apart`: of what a capacity, a grip and a series
    add to it; `hands`: of what a hand adds; `wander`: of good and poor fortnights, 0 for none;
    `scale`: of what a scale may have come to show too little or too much.
    """

    slope: float = 1.0
    apart: float = 1.0
    hands: float = 1.0
    wander: float = 0.0
    scale: float = 1.0


@dataclass(frozen=True, slots=True)
class Node:
    """Noise and shape at which the posterior is found: logs of factors, and prior weight."""

    log_day: float
    log_set: float
    weight: float
    shape: Shape = Shape()


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
    new_day: npt.NDArray[np.bool_]
    new_part: npt.NDArray[np.bool_]
    """(D,) days on which all sets are of series that begin, (C,) parts in which one does."""
    wander_days: Floats
    slot: Ints
    grip: Ints
    """(K,) of each series: place of its capacity among those present, of its grip in `grips`."""
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
        slot, grip, last_day = self.slot[k], self.grip[k], self.evidence.last_day
        _fill_path(rows, self.at, self.priors, k, slot, grip, day, last_day)
        return rows

    def form_rows(self, series: int | Ints, day: Floats) -> Floats:
        """As `path_rows`, with the form of those days: good and poor fortnights."""
        rows = self.path_rows(series, day)
        rows[:, self.at["wander"]] = self.priors.wander * wander_rows(day, self.wander_days)
        return rows


def _fill_path(
    rows: Floats,
    at: dict[str, slice],
    priors: Priors,
    k: Ints,
    slot: Ints,
    grip: Ints,
    day: npt.NDArray[Any],
    last_day: int,
) -> None:
    """Write level, slopes, wiggles and the stretch before the block into the rows."""
    n = np.arange(len(day))
    weeks = max(last_day, 1) / 7.0
    inside = np.clip(day, 0, last_day) / 7.0
    # changes of short blocks may be fast: the prior SD of a change grows with the root of weeks
    per_week = inside * math.sqrt(9.0 / weeks)
    rows[n, at["level"].start + k] = priors.level
    rows[n, at["slope"].start] = priors.slope * per_week
    rows[n, at["capacity_slope"].start + slot] = priors.capacity_slope * per_week
    rows[n, at["grip_slope"].start + grip] = priors.grip_slope * per_week
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
    of_series = [CAPACITIES.index(s.capacity) for s in ev.series]
    present = sorted(set(of_series))
    slots = np.array([present.index(c) for c in of_series], dtype=np.intp)
    capacity = np.array(of_series, dtype=np.intp)[ev.series_of]
    slot = slots[ev.series_of]

    grips = tuple(sorted({s.grip for s in ev.series}))
    of_grip = np.array([grips.index(s.grip) for s in ev.series], dtype=np.intp)
    grip = of_grip[ev.series_of]
    at: dict[str, slice] = {}
    size = 0

    def add(name: str, count: int) -> None:
        nonlocal size
        at[name] = slice(size, size + count)
        size += count

    add("level", n_series)
    add("slope", 1)
    add("capacity_slope", len(present))
    add("grip_slope", len(grips))
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
    edge_grips = sorted(set(grip[edged].tolist()))
    if edge_grips:
        add("edge", 1 + (len(edge_grips) if len(edge_grips) > 1 else 0))
    if ev.offsets:
        add("board", len(ev.offsets))
    add("fading", len(present))
    add("others", 1)
    if len(ev.tired):
        add("tired", 1)
    if (ev.scale_log > 0).any():
        add("scale", 1)
    guessed = ev.reserve_log > 0
    guess_caps = [c for c in (0, 1) if (guessed & (capacity == c)).any()]
    if guess_caps:
        add("guess", len(guess_caps))
    if ev.mass_log.shape[1]:
        add("mass", ev.mass_log.shape[1])
    # last, so that where form doesn't wander the columns before them stand alone
    wander_days = _knots(ev)
    add("wander", len(wander_days))

    design = np.zeros((n, size))
    rows = np.arange(n)
    _fill_path(design, at, priors, ev.series_of, slot, grip, ev.day, ev.last_day)
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
    design[rows, at["fading"].start + slot] = -priors.fading_sd * ev.position
    for j, code in enumerate(guess_caps):
        mine = guessed & (capacity == code)
        # guesses run long: less was left than said
        design[mine, at["guess"].start + j] = priors.guess_bias * ev.reserve_log[mine]
    others = np.minimum(ev.others, OTHERS_AT_MOST)
    design[:, at["others"].start] = -priors.others_sd * others
    design[:, at["wander"]] = priors.wander * wander_rows(ev.day, wander_days)
    if "tired" in at:
        design[:, at["tired"].start] = -priors.tired * ev.tired[ev.day + DAYS_BEFORE]
    if "scale" in at:
        part = np.clip(ev.day / max(ev.last_day, 1), 0.0, 1.0)
        design[:, at["scale"].start] = priors.scale_kg * ev.scale_log * np.sin(0.5 * math.pi * part)
    if "mass" in at:
        design[:, at["mass"]] = ev.mass_log

    known = -ev.drop.value + priors.edge_mean * ev.edge_log
    known -= np.asarray(priors.fading)[capacity] * ev.position + priors.others * others
    bare = ev.log_load - known
    # any centre near the levels does: their prior SD is 2
    centre = float(np.round(np.median(bare), 1)) if n else 0.0

    jacobian = None
    timed = (ev.kind == EXACT) & (capacity != 2)
    if timed.any():
        slope = ev.drop.slope[timed]
        ratio = np.asarray(priors.curve)[curves] * ev.drop.basis_slope[timed][:, curves]
        jacobian = Jacobian(ratio / slope[:, None], np.ones(len(ratio)), at["curve"])
    days = Days.of(ev.day, capacity)
    first = ev.first.astype(np.intp)
    new_part = np.maximum.reduceat(first, days.part_start) > 0 if n else np.zeros(0, dtype=bool)
    part_all = np.minimum.reduceat(first, days.part_start) if n else first
    new_day = np.minimum.reduceat(part_all, days.day_start) > 0 if n else np.zeros(0, dtype=bool)
    return Layout(
        evidence=ev,
        design=design,
        offset=known + centre,
        at=at,
        jacobian=jacobian,
        centre=centre,
        priors=priors,
        days=days,
        new_day=new_day,
        new_part=new_part,
        wander_days=wander_days,
        slot=slots,
        grip=of_grip,
        grips=grips,
        edge_grips=tuple(edge_grips),
        curves=tuple(curves.tolist()),
        capacity=capacity,
        timed=timed,
    )


def _knots(ev: Evidence) -> Floats:
    """Days between which good and poor fortnights are read along a line."""
    if not len(ev):
        return np.zeros(0)
    first, last = float(ev.day.min()), float(max(ev.last_day, ev.day.max()))
    return np.linspace(first, last, int(np.clip(round((last - first) / 7.0), 1, 10)) + 1)


def wander_rows(day: npt.NDArray[Any], knots: Floats) -> Floats:
    """
    Rows, (len(day), knots), of a stationary form of SD 1, from independent unknowns of SD 1.

    Its memory falls by `WANDER_DAYS`.
    """
    step = knots[1] - knots[0]
    if step <= 0:
        return np.zeros((len(day), len(knots)))
    memory = np.exp(-np.abs(knots[:, None] - knots) / WANDER_DAYS)
    hats = np.maximum(1.0 - np.abs(np.asarray(day)[:, None] - knots) / step, 0.0)
    return np.asarray(hats @ np.linalg.cholesky(memory))


@dataclass(frozen=True, eq=False)
class Mixture:
    """Posteriors at the nodes of the noise scales with their weights."""

    layout: Layout
    noise: NoiseScales
    nodes: tuple[Posterior, ...]
    day_factor: Floats
    set_factor: Floats
    weight: Floats
    shapes: tuple[Shape, ...]
    precision: Floats
    """(nodes, P) of the unknowns' prior."""

    @property
    def modes(self) -> Floats:
        """(nodes, P) modes of the unknowns."""
        return np.array([p.mode for p in self.nodes])

    def moments(self, functionals: Floats) -> tuple[Floats, Floats]:
        """(nodes, R) means and SDs of linear functionals (R, P) of the unknowns."""
        means = self.modes @ functionals.T
        sds = np.array([np.sqrt(p.variance(functionals)) for p in self.nodes])
        return means, sds


#: Shapes other than the usual one with their prior weights (chosen on simulated athletes): what
#: all series share may be large, series may part, hands may part, form may wander (while little or
#: much is gained), a scale may have come to show less or more.
SHAPES = (
    (Shape(slope=3.0), 0.13),
    (Shape(apart=2.5), 0.15),
    (Shape(apart=5.0), 0.14),
    (Shape(hands=5.0), 0.08),
    (Shape(wander=1.0), 0.15),
    (Shape(wander=2.0), 0.08),
    (Shape(wander=2.0, slope=3.0), 0.05),
    (Shape(scale=4.0), 0.09),
)
#: Some athletes' sets differ more among themselves than usual: factors on the error of a set, with
#: their prior weights (chosen on simulated athletes). None is below 1: how small the error is hangs
#: on what guesses of a reserve are worth.
SET_FACTORS = ((1.8, 0.2),)
#: Nodes of less weight are dropped.
_NO_WEIGHT = 2e-3
#: Where the log of a node's worth falls by so much from the last one's, the next one falls by more
#: (the worth is concave in the log of the noise), so that it has no weight.
_FALLS = -0.5 * math.log(_NO_WEIGHT)
#: Precision that holds an unknown at nothing.
_OFF = 1e6


def prior_precision(layout: Layout, shape: Shape) -> Floats:
    """(P,) prior precisions of the unknowns."""
    out = np.ones(layout.unknowns)
    factors = {
        "slope": shape.slope,
        "capacity_slope": shape.apart,
        "grip_slope": shape.apart,
        "series_slope": shape.apart,
        "wander": shape.wander,
        "scale": shape.scale,
    }
    for name, factor in factors.items():
        if name in layout.at:
            out[layout.at[name]] = 1.0 / factor**2 if factor else _OFF
    if shape.hands != 1.0:
        one_hand = [s.hand != "both" for s in layout.evidence.series]
        out[layout.at["series_slope"]] /= np.where(one_hand, shape.hands**2, 1.0)
    return out


def solve(layout: Layout, noise: NoiseScales, nodes: tuple[Node, ...]) -> Mixture:
    """Posterior at each node, Newton from the last one's mode."""
    found: list[Posterior] = []
    known: _Known = {}
    for node in nodes:
        found.append(_at(layout, noise, node, found[-1] if found else None, known))
    return _mix(layout, noise, list(nodes), found)


def solve_shapes(layout: Layout, noise: NoiseScales, nodes: tuple[Node, ...]) -> Mixture:
    """
    As `solve`, then larger errors of sets, and every other shape, each at the likeliest noise.

    A shape's weight is its prior's times how much better than the usual shape it explains the log
    there; what is not known of the noise is carried by the usual shape alone.
    """
    found: list[Posterior] = []
    logs: list[float] = []
    known: _Known = {}
    for node in nodes:
        found.append(_at(layout, noise, node, found[-1] if found else None, known))
        logs.append(found[-1].log_evidence + math.log(node.weight))
        if len(logs) > 1 and logs[-1] < logs[-2] - _FALLS:
            break
    nodes, worth = nodes[: len(found)], np.array(logs)
    best = int(np.argmax(worth))
    usual = 1.0 - sum(w for _, w in SET_FACTORS)
    # what the likeliest node stands for: all nodes of its set error
    share = math.exp(_log_sum(worth) - found[best].log_evidence)
    tried = [replace(n, weight=usual * n.weight) for n in nodes]
    for factor, weight in SET_FACTORS:
        tried.append(replace(nodes[best], log_set=math.log(factor), weight=weight * share))
        found.append(_at(layout, noise, tried[-1], found[best], known))
    worth = np.array([p.log_evidence for p in found]) + np.log([n.weight for n in tried])
    best = int(np.argmax(worth))
    total = _log_sum(worth)
    shapes = weighed_shapes(noise)
    rest = 1.0 - sum(w for _, w in shapes)
    # of the likeliest node the evidence, of all nodes the weight
    share = math.exp(total - found[best].log_evidence)
    others: list[Node] = []
    for shape, weight in shapes:
        if not told_by(layout, shape):
            continue
        # where form wanders, days differ less of themselves
        day = tried[best].log_day
        if shape.wander:
            day = max((n.log_day for n in nodes if n.log_day < day), default=day)
        node = replace(tried[best], log_day=day, weight=weight * share, shape=shape)
        others.append(node)
        found.append(_at(layout, noise, node, found[best], known))
    tried = [replace(n, weight=rest * n.weight) for n in tried]
    return _mix(layout, noise, tried + others, found)


def weighed_shapes(noise: NoiseScales) -> tuple[tuple[Shape, float], ...]:
    """Shapes other than the usual one with their prior weights."""
    given = noise.shapes or tuple(w for _, w in SHAPES)
    return tuple((s, w) for (s, _), w in zip(SHAPES, given, strict=True))


def told_by(layout: Layout, shape: Shape) -> bool:
    """Whether a log has what the shape speaks of: single hands, a scale."""
    if shape.hands != 1.0:
        return any(s.hand != "both" for s in layout.evidence.series)
    return shape.scale == 1.0 or "scale" in layout.at


def _log_sum(logs: Floats) -> float:
    return float(logs.max() + math.log(np.exp(logs - logs.max()).sum()))


def _mix(layout: Layout, noise: NoiseScales, nodes: list[Node], found: list[Posterior]) -> Mixture:
    log_weight = np.array([p.log_evidence for p in found])
    log_weight += np.log([n.weight for n in nodes])
    weight = np.exp(log_weight - log_weight.max())
    kept = np.flatnonzero(weight > _NO_WEIGHT * weight.sum()).tolist()
    weight = weight[kept]
    precision = [prior_precision(layout, nodes[i].shape) for i in kept]
    return Mixture(
        layout,
        noise,
        # what was left out of a shape stands as its prior says
        tuple(
            found[i].widened(p[len(found[i].mode) :]) for i, p in zip(kept, precision, strict=True)
        ),
        np.exp([nodes[i].log_day for i in kept]),
        np.exp([nodes[i].log_set for i in kept]),
        weight / weight.sum(),
        tuple(nodes[i].shape for i in kept),
        np.array(precision),
    )


#: Likelihoods by log of the set factor, whether form wanders, and log of the day factor.
_Known = dict[tuple[float, bool], dict[float, Likelihood]]


def _at(
    layout: Layout, noise: NoiseScales, node: Node, start: Posterior | None, known: _Known
) -> Posterior:
    """Posterior at one node; nodes that differ by their priors alone share a likelihood."""
    alike = known.setdefault((node.log_set, node.shape.wander > 0), {})
    if node.log_day not in alike:
        factor, practice = math.exp(node.log_day), layout.priors.practice
        # the first session of a series is practice, too
        day_sd = np.hypot(noise.day * factor, practice * layout.new_day)
        part_sd = np.hypot(noise.capacity_day * factor, practice * layout.new_part)
        one = next(iter(alike.values()), None) or _likelihood(layout, noise, node)
        alike[node.log_day] = one.with_days(day_sd, part_sd)
    likelihood = alike[node.log_day]
    precision = prior_precision(layout, node.shape)[: likelihood.design.shape[1]]
    post = likelihood.posterior(precision, start, tolerance=1e-2)
    # the solver leaves the priors' constants out: they differ from shape to shape
    return replace(post, log_evidence=post.log_evidence + 0.5 * float(np.log(precision).sum()))


def _likelihood(layout: Layout, noise: NoiseScales, node: Node) -> Likelihood:
    """Of one set factor, whatever days differ by."""
    # what does not wander needs no columns for it
    used = layout.unknowns if node.shape.wander else layout.at["wander"].start
    ev = layout.evidence
    set_sd = noise.of_set[layout.capacity]
    own2 = (set_sd * math.exp(node.log_set)) ** 2 + ev.load_error_log**2
    variance = own2 + ev.time_error_log**2
    jacobian = layout.jacobian
    if jacobian is not None:
        jacobian = replace(jacobian, weight=(own2 / variance)[layout.timed])
    return Likelihood(
        layout.design[:, :used],
        ev.log_load - layout.offset,
        np.sqrt(variance),
        ev.kind,
        jacobian=jacobian,
        days=layout.days,
        weight=ev.weight,
    )


__all__ = [
    "Layout",
    "Mixture",
    "Node",
    "NoiseScales",
    "Priors",
    "Shape",
    "build_layout",
    "prior_precision",
    "solve",
    "solve_shapes",
    "told_by",
    "weighed_shapes",
]
