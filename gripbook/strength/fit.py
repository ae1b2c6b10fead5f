"""`fit_strength`: one athlete's sets to strength paths, changes with intervals, and verdicts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import log_ndtr, ndtr, ndtri

from gripbook.logs.block import SMALLEST_CHANGE_PCT, Block
from gripbook.strength.endurance import hold_drop, repeater_drop
from gripbook.strength.evidence import (
    AT_LEAST,
    AT_MOST,
    CAPACITIES,
    EXACT,
    Evidence,
    SeriesKey,
    gather_evidence,
    log_over,
)
from gripbook.strength.model import (
    PRIORS,
    SHAPES,
    Layout,
    Mixture,
    Node,
    NoiseScales,
    build_layout,
    solve,
    solve_shapes,
    told_by,
    weighed_shapes,
)
from gripbook.strength.reasons import NoChange, NoFit, SeriesReason

Floats = npt.NDArray[np.float64]
Verdict = Literal["rise", "fall", "steady", "unclear"]
TAIL = 0.05
#: No larger rise over a block is looked at, in log load (own choice, no source).
MOST_RISE = 0.4
#: Chance of a rise (or fall) from which the verdict says so.
SURE = 0.95
#: By how much the model is too cautious about whole sessions, in the normal score of the chance:
#: the middle of worlds made by its own prior (0.05) and of worlds unlike it (0.2 to 0.3).
CAUTION = 0.15
#: Points and weights of a mean over a standard normal.
_HERMITE_X, _HERMITE_W = np.polynomial.hermite_e.hermegauss(31)
_HERMITE_W = _HERMITE_W / _HERMITE_W.sum()
#: Nodes of the log day factor in units of the noise's spread, log set factor, prior weight. More
#: to the right: some athletes' days differ far more than usual.
_NODES = (
    (-1.2, 0.0, 0.22),
    (0.0, 0.0, 0.40),
    (1.1, 0.0, 0.26),
    (2.2, 0.0, 0.12),
)


@dataclass(frozen=True, slots=True)
class Estimate:
    """A number with its 90 % interval."""

    value: float
    low: float
    high: float


#: What may widen a change beside the sets' own noise: body mass that was not weighed, a scale that
#: may have changed, fatigue that easy days at the end set free, the order of exercises, the edges.
Cause = Literal["body_mass", "scale", "fatigue", "order", "edge"]


class Doubt(NamedTuple):
    """
    One cause of doubt about a change.

    Its share of the change's variance, and what would stand were it known to be as the log assumes
    (body mass as last weighed, no fatigue, ...): verdict and chance of a rise. Where that verdict
    differs from the one told, this cause decided it.
    """

    cause: Cause
    share: float
    verdict: Verdict
    prob_rise: float


class EvidencePoint(NamedTuple):
    """One set at the reference edge and hold: `kind` is `exact`, `at least` or `at most`."""

    day: int
    load_kg: float
    kind: str
    file: str
    line: int


@dataclass(frozen=True, eq=False)
class SeriesFit:
    """
    Strength of one capacity, grip and hand over the block.

    Loads are kg at the reference edge and hold. What could not be measured is NaN and `reasons`
    says why. `at_least`: only lower bounds, so loads are bounds and there is no upper end.
    """

    capacity: str
    grip: str
    hand: str
    load_kind: str
    edge_mm: float
    ok: bool
    reasons: tuple[SeriesReason, ...]
    verdict: Verdict
    start_kg: float
    end_kg: float
    start_low_kg: float
    start_high_kg: float
    end_low_kg: float
    end_high_kg: float
    change_pct: float
    low_pct: float
    high_pct: float
    prob_rise: float
    smallest_pct: float
    at_least: bool
    sets: int
    days: int
    exact_sets: int
    converted_mm: tuple[float, ...]
    """Edges other than the reference whose loads were converted."""
    edge_share: float
    """Share of the change's variance that is due to the edge exponent."""
    edge_shift_pct: float
    """How far the change moves when the exponent is 0.1 larger, in points."""
    path_day: Floats
    path_load_kg: Floats
    path_low_kg: Floats
    path_high_kg: Floats
    points: tuple[EvidencePoint, ...]
    doubts: tuple[Doubt, ...] = ()
    """Causes with a twentieth of the change's variance or more, the largest first."""
    prior_pull_pct: float = 0.0
    """How far the prior, which expects no change, pulled the change towards none, in points."""

    @property
    def key(self) -> SeriesKey:
        """Capacity, grip, hand, kind of reading."""
        return SeriesKey(self.capacity, self.grip, self.hand, self.load_kind)

    @property
    def converted(self) -> bool:
        """Whether loads from other edges were converted."""
        return bool(self.converted_mm)


@dataclass(frozen=True, eq=False)
class StrengthFit:
    """
    One athlete's fit.

    `ok` is False where nothing could be fitted; `reasons` says why, and `evidence.left_out` which
    sets say nothing.

    `edge_exponent` and `fading_pct` (per capacity, per further set of a session) are None or empty
    where the log tells nothing of them. `sets` are the rows of `derive_sets` the fit was given.
    """

    ok: bool
    reasons: tuple[NoFit, ...]
    series: tuple[SeriesFit, ...]
    edge_exponent: Estimate | None
    fading_pct: dict[str, Estimate]
    noise: NoiseScales
    day_sd_pct: float
    """Day-to-day SD of the athlete in per cent, posterior mean."""
    block: Block
    evidence: Evidence
    _mixture: Mixture | None = field(default=None, repr=False)

    def __repr__(self) -> str:
        told = f"{len(self.series)} series" if self.ok else ", ".join(map(str, self.reasons))
        return f"<StrengthFit of {self.block.name!r}: {told}; .find(...), .predict(...), .series>"

    def find(
        self, capacity: str, grip: str, hand: str, load_kind: str = "steady"
    ) -> SeriesFit | None:
        """The series of this name, or None."""
        key = SeriesKey(capacity, grip, hand, load_kind)
        return next((s for s in self.series if s.key == key), None)

    def predict(
        self,
        series: SeriesKey,
        *,
        edge_mm: float,
        load_kg: float,
        hang_s: float | None = None,
        reps: float | None = None,
        day: float | None = None,
        sets_before: int = 0,
    ) -> float:
        """
        Chance (0 to 1) that a set at this load is completed.

        After `sets_before` sets of its series on that day; on the block's last day unless `day`
        says otherwise. `hang_s` and `reps` default to the reference.
        """
        mean, sd, own, _ = self._margins(
            series, edge_mm, load_kg, hang_s, reps, day, sets_before=sets_before
        )
        return float(self._weight @ ndtr(mean / np.hypot(sd, own)))

    def predict_all(
        self,
        series: SeriesKey,
        *,
        edge_mm: float,
        load_kg: float,
        sets: int,
        hang_s: float | None = None,
        reps: float | None = None,
        day: float | None = None,
    ) -> float:
        """
        Chance (0 to 1) that each of a session's sets at this load is completed.

        It is below that of the last set alone: an earlier set may fail too. The day is common to
        all sets, so a good day helps each of them. Parameters as in `predict`. Source of the
        correction `CAUTION`: invented athletes, `tests/strength/proposals.py`.
        """
        # about the middle set, whose doubt about fading stands for that of all
        middle = (sets - 1) / 2
        mean, sd, own, fading = self._margins(
            series, edge_mm, load_kg, hang_s, reps, day, sets_before=middle
        )
        # what a session's sets share is integrated by Gauss and Hermite; given it they are apart
        common = mean[:, None] + sd[:, None] * _HERMITE_X
        each = common[:, :, None] + fading[:, None, None] * (middle - np.arange(sets))
        every = np.exp(log_ndtr(each / own[:, None, None]).sum(axis=2))
        # rounding may bring a sure thing above 1
        chance = min(float(self._weight @ (every @ _HERMITE_W)), 1.0)
        return float(ndtr(ndtri(chance) + CAUTION))

    @property
    def _weight(self) -> Floats:
        assert self._mixture is not None
        return self._mixture.weight

    def _margins(
        self,
        series: SeriesKey,
        edge_mm: float,
        load_kg: float,
        hang_s: float | None,
        reps: float | None,
        day: float | None,
        *,
        sets_before: float,
    ) -> tuple[Floats, Floats, Floats, Floats]:
        """
        By how much a set is within reach, in log load, by node of the posterior.

        Mean; SD of what the sets of the day share; SD of the set's own error; fading a set.
        """
        mixture, k = self.posterior_of(series)
        layout = mixture.layout
        at = float(self.evidence.last_day if day is None else day)
        row = layout.form_rows(k, np.array([at]))
        known = layout.centre
        log_edge = log_over(edge_mm, self.series[k].edge_mm, series.grip)
        known += PRIORS.edge_mean * log_edge
        extra = 0.0
        if log_edge and "edge" in layout.at:
            edge_row(layout, row[0], log_edge, series.grip)
        elif log_edge:
            extra = (math.hypot(PRIORS.edge, PRIORS.grip_edge) * log_edge) ** 2
        known -= duration_into(layout, row[0], series.capacity, hang_s, reps, self.evidence)
        c = CAPACITIES.index(series.capacity)
        known -= PRIORS.fading[c] * sets_before
        present = sorted(set(layout.capacity.tolist()))
        of_fading = layout.at["fading"].start + present.index(c)
        row[0, of_fading] -= PRIORS.fading_sd * sets_before
        means, sds = mixture.moments(row)
        noise = mixture.noise
        daily = math.hypot(noise.day, noise.capacity_day) * mixture.day_factor
        fading = np.array([p.mode[of_fading] for p in mixture.nodes])
        return (
            means[:, 0] + known - math.log(load_kg),
            np.sqrt(sds[:, 0] ** 2 + daily**2 + extra),
            noise.of_set[c] * mixture.set_factor,
            PRIORS.fading[c] + PRIORS.fading_sd * fading,
        )

    def difference(self, one: SeriesKey, other: SeriesKey, day: float | None = None) -> Estimate:
        """`one` over `other` in per cent with its 90 % interval, on the block's last day."""
        mixture, i = self.posterior_of(one)
        j = self.posterior_of(other)[1]
        at = np.array([float(self.evidence.last_day if day is None else day)])
        rows = mixture.layout.path_rows(i, at) - mixture.layout.path_rows(j, at)
        mean, low, high = _summaries(mixture, rows)
        pct = 100 * np.expm1(np.array([mean[0], low[0], high[0]]))
        return Estimate(*pct.tolist())

    def change_sd(self, series: SeriesKey, extra: pd.DataFrame | None = None) -> float:
        """
        Posterior SD of the series' log change, with hypothetical rows added.

        `extra` holds rows as `derive_sets` gives them; only what would be learned counts, not the
        loads: each exact row adds its information, a bound what it adds at the present estimate.
        """
        mixture, k = self.posterior_of(series)
        if extra is None:
            return float(_change_sd(mixture, mixture.layout, k))
        both = pd.concat([self.sets, extra], ignore_index=True)
        ev = gather_evidence(both, self.block)
        if series not in ev.series:
            return math.nan
        layout = build_layout(ev)
        return _expected_change_sd(self, layout, ev.series.index(series))

    def prior_change_sd(self, series: SeriesKey) -> float:
        """
        SD of the log change that the model expects before any set.

        It is at the shapes of the block that the log speaks for.
        """
        mixture, k = self.posterior_of(series)
        ends = np.array([0.0, float(self.evidence.last_day)])
        rows = mixture.layout.path_rows(k, ends)
        return float(np.sqrt(mixture.weight @ _prior_variance(mixture, rows[1:] - rows[:1])[:, 0]))

    def smallest_rise(self, series: SeriesKey, extra: pd.DataFrame | None = None) -> float:
        """
        Smallest true rise, in log load, whose 90 % range would leave out no change on average.

        In a block logged like this one, with hypothetical rows added (as in `change_sd`). Each
        shape of the block expects no change, so it tells 1 - (SD / prior SD)^2 of a rise; and the
        larger the rise, the more the log speaks for shapes that allow for one. Infinite where no
        rise up to `MOST_RISE` would show.
        """
        mixture, k = self.posterior_of(series)
        ends = mixture.layout.path_rows(k, np.array([0.0, float(self.evidence.last_day)]))
        row = ends[1:] - ends[:1]
        scale = 1.0 if extra is None else self.change_sd(series, extra) / self.change_sd(series)
        variance = (scale * mixture.moments(row)[1][:, 0]) ** 2
        before = np.maximum(_prior_variance(mixture, row)[:, 0], variance * (1 + 1e-9))
        told = 1.0 - variance / before
        log_weight = np.log(mixture.weight)

        def fall(rise: float) -> float:
            """Chance that is given to a fall."""
            weight = np.exp(log_weight - 0.5 * rise**2 * told / before)
            return float(weight @ ndtr(-rise * told / np.sqrt(variance)) / weight.sum())

        low, high = 0.0, MOST_RISE
        if not fall(high) <= TAIL:
            return math.inf
        for _ in range(40):
            middle = 0.5 * (low + high)
            low, high = (low, middle) if fall(middle) <= TAIL else (middle, high)
        return high

    def change_below(self, series: SeriesKey, log_change: float) -> float:
        """Posterior probability that the series' log change over the block lies below this."""
        mixture, k = self.posterior_of(series)
        rows = mixture.layout.path_rows(k, np.array([0.0, float(self.evidence.last_day)]))
        means, sds = mixture.moments(rows[1:] - rows[:1])
        return float(mixture.weight @ ndtr((log_change - means[:, 0]) / sds[:, 0]))

    def with_reserves(self, series: SeriesKey) -> float:
        """
        Posterior SD of the log change, had every finished set carried a guess of what was left.

        The guess is 2 s (hang) or 1 hold (repeater).
        """
        frame = self.sets.copy()
        done = (frame["outcome"] == "finished") & ~frame["warmup"]
        hang = done & (frame["exercise"] == "hang") & frame["reserve_s"].isna()
        rep = done & (frame["exercise"] == "repeater") & frame["reserve_reps"].isna()
        frame.loc[hang, "reserve_s"] = 2.0
        frame.loc[rep, "reserve_reps"] = 1.0
        ev = gather_evidence(frame, self.block)
        if series not in ev.series:
            return math.nan
        return _expected_change_sd(self, build_layout(ev), ev.series.index(series))

    sets: pd.DataFrame = field(default_factory=pd.DataFrame, repr=False)

    def posterior_of(self, series: SeriesKey) -> tuple[Mixture, int]:
        """
        The posterior, and the place of `series` in it.

        Raises
        ------
        KeyError : the fit has no such series.
        """
        if self._mixture is None or series not in self.evidence.series:
            known = ", ".join(f"{s.capacity} {s.grip} {s.hand}" for s in self.evidence.series)
            raise KeyError(f"No series {series}; found: {known or 'none'}.")
        return self._mixture, self.evidence.series.index(series)


def fit_strength(
    sets: pd.DataFrame, block: Block, squad_prior: NoiseScales | None = None
) -> StrengthFit:
    """
    Fit one athlete's strength over one block.

    Parameters
    ----------
    sets : one athlete's rows of `derive_sets(hangs, body, block)`, all of them: warm-ups and
        guesses are left out here, rows before the block sharpen the start.
    block : its dates, reference edge, hold and set, and smallest changes.
    squad_prior : noise scales shared over a squad (`share_noise`); None: the defaults, so that no
        athlete's numbers depend on another's log.

    Returns
    -------
    StrengthFit; with `ok` False and reasons where there is no evidence, never an exception for
    odd data.
    """
    evidence = gather_evidence(sets, block)
    noise = squad_prior or NoiseScales()
    if not len(evidence):
        return StrengthFit(False, (NoFit.NO_SET,), (), None, {}, noise, math.nan, block, evidence)
    layout = build_layout(evidence)
    mixture = solve_shapes(layout, noise, nodes_for(noise))
    series, edge_exponent, fading_pct = _told(mixture, block)
    reasons: list[NoFit] = []
    if len(np.unique(evidence.day)) < 2:
        reasons.append(NoFit.ONE_DAY)
    ok = any(s.ok for s in series)
    if not ok:
        reasons.append(NoFit.NO_SERIES)
    daily = math.hypot(noise.day, noise.capacity_day) * float(mixture.weight @ mixture.day_factor)
    return StrengthFit(
        ok=ok,
        reasons=tuple(reasons),
        series=series,
        edge_exponent=edge_exponent,
        fading_pct=fading_pct,
        noise=noise,
        day_sd_pct=100 * daily,
        block=block,
        evidence=evidence,
        _mixture=mixture,
        sets=sets,
    )


def nodes_for(noise: NoiseScales) -> tuple[Node, ...]:
    """Quadrature nodes over the noise scales."""
    return tuple(Node(d * noise.spread, s, w) for d, s, w in _NODES)


def verdict_of(
    prob_rise: float, change_pct: float, low_pct: float, high_pct: float, smallest_pct: float
) -> Verdict:
    """
    Verdict on a change, by a stated rule.

    `rise` where P(change > 0) >= 0.95 and the change is at least half the smallest that matters;
    `fall` likewise; `steady` where the 90 % interval lies within plus or minus the smallest; else
    `unclear`.
    """
    if not math.isfinite(change_pct):
        return "unclear"
    if prob_rise >= SURE and change_pct >= smallest_pct / 2:
        return "rise"
    if prob_rise <= 1 - SURE and change_pct <= -smallest_pct / 2:
        return "fall"
    if low_pct >= -smallest_pct and high_pct <= smallest_pct:
        return "steady"
    return "unclear"


def _summaries(mixture: Mixture, rows: Floats) -> tuple[Floats, Floats, Floats]:
    """Mean and 5 % and 95 % quantiles of functionals (R, P) under the mixture."""
    means, sds = mixture.moments(rows)
    return _quantiles(mixture.weight, means, sds)


def _quantiles(weight: Floats, means: Floats, sds: Floats) -> tuple[Floats, Floats, Floats]:
    """Mean, 5 % and 95 % quantile of normal mixtures; means and SDs (nodes, R)."""
    sds = np.maximum(sds, 1e-12)
    mean = weight @ means
    spread = np.sqrt(weight @ (sds**2 + (means - mean) ** 2))
    # both tails side by side
    tails = np.repeat([TAIL, 1 - TAIL], len(mean))
    x = np.concatenate([mean - 1.6449 * spread, mean + 1.6449 * spread])
    low, high = np.tile(mean - 8 * spread, 2), np.tile(mean + 8 * spread, 2)
    means, inverse = np.tile(means, 2), np.tile(1 / sds, 2)
    of_density = 0.3989422804014327 * weight
    for _ in range(60):
        z = (x - means) * inverse
        error = weight @ ndtr(z) - tails
        if np.abs(error).max(initial=0.0) < 1e-11:
            break
        density = of_density @ (inverse * np.exp(-0.5 * z * z))
        high, low = np.where(error > 0, x, high), np.where(error > 0, low, x)
        step = x - error / np.maximum(density, 1e-12)
        # Newton, kept inside the bracket; next to the root rounding may put it just outside
        keep = ((step > low) & (step < high)) | (np.abs(error) < 1e-8)
        x = np.where(keep, step, 0.5 * (low + high))
    x = x.reshape(2, -1)
    return mean, x[0], x[1]


def edge_row(layout: Layout, row: Floats, log_edge: float, grip: str) -> None:
    """Add the exponent's part for an edge to a functional."""
    at = layout.at["edge"]
    count = at.stop - at.start
    p = layout.priors
    if count == 1:
        row[at.start] += math.hypot(p.edge, p.grip_edge) * log_edge
        return
    row[at.start] += p.edge * log_edge
    if (g := layout.grips.index(grip)) in layout.edge_grips:
        row[at.start + 1 + layout.edge_grips.index(g)] += p.grip_edge * log_edge


def duration_into(
    layout: Layout,
    row: Floats,
    capacity: str,
    hang_s: float | None,
    reps: float | None,
    ev: Evidence,
) -> float:
    """D of a planned hold or set; its curve coefficients go into the functional."""
    if capacity == "pull":
        return 0.0
    p = layout.priors
    if capacity == "hang":
        seconds = np.array([hang_s or ev.reference.hang_s])
        drop, first = hold_drop(seconds, ev.reference.hang_s), 0
    else:
        total = reps * (hang_s or ev.reference.repeater_hold_s) if reps else ev.reference.repeater_s
        drop, first = repeater_drop(np.array([total]), ev.reference.repeater_s), 2
    at = layout.at["curve"].start
    for j, c in enumerate(layout.curves):
        if first <= c < first + drop.basis.shape[1]:
            row[at + j] -= p.curve[c] * drop.basis[0, c - first]
    return float(drop.value[0])


def _edge_vector(layout: Layout) -> Floats | None:
    """The common exponent (less its prior mean) as a functional, None where one edge is used."""
    if "edge" not in layout.at:
        return None
    row = np.zeros(layout.unknowns)
    at, p = layout.at["edge"], layout.priors
    one = at.stop - at.start == 1
    row[at.start] = math.hypot(p.edge, p.grip_edge) if one else p.edge
    return row


def _fading_rows(layout: Layout) -> Floats:
    """Fading a set as functionals, one for each capacity that is present."""
    at = layout.at["fading"]
    return layout.priors.fading_sd * np.eye(layout.unknowns)[at]


def _edge_and_fading(layout: Layout, three: Floats) -> tuple[Estimate | None, dict[str, Estimate]]:
    """
    The exponent's estimate, None where one edge is used, and fading by capacity in per cent.

    From middle, low and high end of the rows of fading, then the exponent's.
    """
    p = layout.priors
    fading = {
        CAPACITIES[c]: Estimate(*(100 * (p.fading[c] + three[:, j])).tolist())
        for j, c in enumerate(sorted(set(layout.capacity.tolist())))
    }
    if "edge" not in layout.at:
        return None, fading
    return Estimate(*(p.edge_mean + three[:, -1]).tolist()), fading


def _prior_variance(mixture: Mixture, rows: Floats) -> Floats:
    """(nodes, R) variances of functionals before any set."""
    return np.asarray((1.0 / mixture.precision) @ np.square(rows).T)


_CAUSES: tuple[tuple[Cause, str], ...] = (
    ("body_mass", "mass"),
    ("scale", "scale"),
    ("fatigue", "tired"),
    ("order", "others"),
    ("edge", "edge"),
)
#: From this share of a change's variance on a cause of doubt is told.
_DOUBT_SHARE = 0.05


def _doubts(
    mixture: Mixture,
    spreads: list[Floats],
    means: Floats,
    sds: Floats,
    smallest: list[float],
) -> list[tuple[Doubt, ...]]:
    """Causes of doubt of each of K changes: by node `L^-1 change` (P, K), means and SDs (K,)."""
    layout, out = mixture.layout, [list[Doubt]() for _ in smallest]
    # the nodes that matter: a share is told to no more than a few per cent
    main = np.flatnonzero(mixture.weight > 0.5 * mixture.weight.max())
    weight = mixture.weight[main] / mixture.weight[main].sum()
    nodes, spreads = [mixture.nodes[i] for i in main], [spreads[i] for i in main]
    means, sds = means[main], sds[main]
    moved = np.abs(layout.design).max(axis=0) > 0
    at = {c: layout.at[n] for c, n in _CAUSES if n in layout.at and moved[layout.at[n]].any()}
    if not at:
        return [() for _ in smallest]
    unit = np.eye(layout.unknowns)[np.concatenate([np.r_[a] for a in at.values()])]
    owns = [p.spread(unit) for p in nodes]
    begin = 0
    for cause, columns in at.items():
        mine = slice(begin, begin + columns.stop - columns.start)
        begin = mine.stop
        share, known, left = np.empty_like(means), means.copy(), np.empty_like(sds)
        for i, post in enumerate(nodes):
            own = owns[i][:, mine]
            both = own.T @ spreads[i]
            # what the change would be were these unknowns 0, by the normal posterior
            slope = np.linalg.solve(own.T @ own, both)
            explained = (slope * both).sum(axis=0)
            share[i] = explained / sds[i] ** 2
            known[i] -= post.mode[columns] @ slope
            left[i] = np.sqrt(np.maximum(sds[i] ** 2 - explained, 1e-12))
        parts = weight @ share
        if not (parts >= _DOUBT_SHARE).any():
            continue
        mean, low, high = _quantiles(weight, known, left)
        prob = weight @ ndtr(known / left)
        pct = 100 * np.expm1(np.array([mean, low, high]))
        for k, part in enumerate(parts):
            if part >= _DOUBT_SHARE:
                middle, least, most = pct[:, k].tolist()
                verdict = verdict_of(float(prob[k]), middle, least, most, smallest[k])
                out[k].append(Doubt(cause, float(part), verdict, float(prob[k])))
    return [tuple(sorted(d, key=lambda x: -x.share)) for d in out]


def _told(
    mixture: Mixture, block: Block
) -> tuple[tuple[SeriesFit, ...], Estimate | None, dict[str, Estimate]]:
    """Each series' path and change, the exponent of edges, and fading."""
    layout, ev = mixture.layout, mixture.layout.evidence
    last = ev.last_day
    grid = np.array([*range(0, last, 7), last], dtype=np.float64)
    n_grid, n_series = len(grid), len(ev.series)
    rows = layout.path_rows(np.repeat(np.arange(n_series), n_grid), np.tile(grid, n_series))
    starts = rows[::n_grid]
    ends = rows[n_grid - 1 :: n_grid]
    exponent = _edge_vector(layout)
    all_rows = [rows, ends - starts, _fading_rows(layout)]
    if exponent is not None:
        all_rows.append(exponent[None])
    stacked = np.concatenate(all_rows)
    spreads = [p.spread(stacked) for p in mixture.nodes]
    modes = mixture.modes
    means = modes @ stacked.T
    sds = np.array([np.sqrt(np.einsum("pr,pr->r", s, s)) for s in spreads])
    mean, low, high = _quantiles(mixture.weight, means, sds)
    change = slice(n_series * n_grid, n_series * n_grid + n_series)
    prob = mixture.weight @ ndtr(means[:, change] / sds[:, change])
    share, shift = np.zeros(n_series), np.zeros(n_series)
    if exponent is not None:
        covariance = np.array([s[:, change].T @ s[:, -1] for s in spreads])
        variance = sds[:, -1] ** 2
        share = mixture.weight @ (covariance**2 / (variance[:, None] * sds[:, change] ** 2))
        shift = mixture.weight @ (covariance / variance[:, None])

    sizes_of = [
        float(block.smallest_change_pct.get(k.capacity, SMALLEST_CHANGE_PCT[k.capacity]))
        for k in ev.series
    ]
    of_change = [s[:, change] for s in spreads]
    doubts = _doubts(mixture, of_change, means[:, change], sds[:, change], sizes_of)
    before = _prior_variance(mixture, stacked[change])
    # without the prior the mean would be larger by its part of the precision
    bare = means[:, change] / np.maximum(1.0 - sds[:, change] ** 2 / before, 0.05)
    pull = mixture.weight @ (bare - means[:, change])

    # each set at the reference: what the load says of the level on that day, less its conversions
    curve = layout.at["curve"]
    mode = mixture.weight @ modes
    nuisance = layout.design[:, curve] @ mode[curve]
    for name in ("edge", "board", "fading", "others", "guess"):
        if name in layout.at:
            nuisance = nuisance + layout.design[:, layout.at[name]] @ mode[layout.at[name]]
    at_reference = np.exp(ev.log_load - (layout.offset - layout.centre) - nuisance)

    fits = []
    near = max(14, last // 4)
    for k, key in enumerate(ev.series):
        mine = np.flatnonzero(ev.series_of == k)
        own = slice(k * n_grid, (k + 1) * n_grid)
        c = change.start + k
        reasons: list[SeriesReason] = []
        days = ev.day[mine]
        first, final = int(days.min()), int(days.max())
        if first > near:
            reasons.append(SeriesReason(NoChange.NO_START, first // 7 + 1))
        if final < last - near:
            no_end = SeriesReason(NoChange.NO_END, final // 7 + 1)
            reasons.append(no_end if final >= 0 else SeriesReason(NoChange.NOT_IN_BLOCK))
        at_least = bool((ev.kind[mine] == AT_LEAST).all())
        at_most = bool((ev.kind[mine] == AT_MOST).all())
        path = np.exp(np.stack([mean[own], low[own], high[own]]) + layout.centre)
        start, end = path[:, 0].copy(), path[:, -1].copy()
        pct = 100 * np.expm1(np.array([mean[c], low[c], high[c]]))
        p_rise = float(prob[k])
        measured = not reasons
        if at_least:
            reasons.append(SeriesReason(NoChange.ALL_FINISHED))
            floor = _floors(at_reference[mine], days, near, last)
            start[:] = (floor[0], floor[0], math.nan)
            end[:] = (floor[1], floor[1], math.nan)
            path[0], path[1], path[2] = path[1], path[1], math.nan
        if at_most:
            reasons.append(SeriesReason(NoChange.ALL_FAILED))
        if at_most or at_least or not measured:
            pct[:], p_rise = math.nan, math.nan
        if not measured and not at_least:
            if first > near:
                start[:] = math.nan
            if final < last - near:
                end[:] = math.nan
        if first > near:
            path[:, grid < first - 7] = math.nan
        if final < last - near:
            path[:, grid > final + 7] = math.nan
        smallest = sizes_of[k]
        sizes = _edges_of(ev, mine)
        fits.append(
            SeriesFit(
                capacity=key.capacity,
                grip=key.grip,
                hand=key.hand,
                load_kind=key.load_kind,
                edge_mm=ev.stated_mm(key.grip),
                ok=measured and not at_least and not at_most,
                reasons=tuple(reasons),
                verdict=verdict_of(p_rise, pct[0], pct[1], pct[2], smallest),
                start_kg=float(start[0]),
                end_kg=float(end[0]),
                start_low_kg=float(start[1]),
                start_high_kg=float(start[2]),
                end_low_kg=float(end[1]),
                end_high_kg=float(end[2]),
                change_pct=float(pct[0]),
                low_pct=float(pct[1]),
                high_pct=float(pct[2]),
                prob_rise=p_rise,
                smallest_pct=smallest,
                at_least=at_least,
                sets=int(ev.weight[mine].sum()),
                days=len(set(days.tolist())),
                exact_sets=int(ev.failed_or_pulled[mine].sum()),
                converted_mm=tuple(float(x) for x in sizes),
                edge_share=float(share[k]),
                edge_shift_pct=float(10 * shift[k]),
                path_day=grid,
                path_load_kg=path[0],
                path_low_kg=path[1],
                path_high_kg=path[2],
                points=_points(ev, mine, at_reference),
                doubts=doubts[k] if np.isfinite(pct[0]) else (),
                prior_pull_pct=100 * float(pull[k]) if np.isfinite(pct[0]) else math.nan,
            )
        )
    three = np.stack([mean, low, high])[:, change.stop :]
    return tuple(fits), *_edge_and_fading(layout, three)


_KIND_WORDS = {EXACT: "exact", AT_LEAST: "at least", AT_MOST: "at most"}


def _points(ev: Evidence, mine: npt.NDArray[np.intp], load: Floats) -> tuple[EvidencePoint, ...]:
    return tuple(
        EvidencePoint(day, kg, _KIND_WORDS[kind], file, line)
        for day, kg, kind, file, line in zip(
            ev.day[mine].tolist(),
            load[mine].tolist(),
            ev.kind[mine].tolist(),
            ev.file[mine].tolist(),
            ev.line[mine].tolist(),
            strict=True,
        )
    )


def _floors(
    load: Floats, day: npt.NDArray[np.intp], near: int, last_day: int
) -> tuple[float, float]:
    """Largest load finished near the block's start and near its end, NaN where there is none."""
    early, late = load[day <= near], load[day >= last_day - near]
    return (
        float(early.max()) if len(early) else math.nan,
        float(late.max()) if len(late) else math.nan,
    )


def _change_sd(mixture: Mixture, layout: Layout, k: int) -> float:
    row = layout.path_rows(k, np.array([0.0, float(layout.evidence.last_day)]))
    means, sds = mixture.moments(row[1:] - row[:1])
    mean = mixture.weight @ means
    return float(np.sqrt(mixture.weight @ (sds**2 + (means - mean) ** 2))[0])


def _expected_change_sd(fit: StrengthFit, layout: Layout, k: int) -> float:
    """
    SD of the change under another layout.

    It is the present SD times the ratio of the two fits' SDs at the likeliest noise scales.
    """
    mixture = fit._mixture
    if mixture is None:
        return math.nan
    best = int(np.argmax(mixture.weight))
    day, own = math.log(mixture.day_factor[best]), math.log(mixture.set_factor[best])
    node = (Node(day, own, 1.0, mixture.shapes[best]),)
    key = layout.evidence.series[k]
    new = _change_sd(solve(layout, fit.noise, node), layout, k)
    if key not in fit.evidence.series:
        return new
    old_k = fit.evidence.series.index(key)
    old = _change_sd(solve(mixture.layout, fit.noise, node), mixture.layout, old_k)
    return new / old * _change_sd(mixture, mixture.layout, old_k)


@dataclass(frozen=True, slots=True)
class RatioSplit:
    """
    Load over body mass at both ends, and its change in log terms: force part minus mass part.

    `force`, `mass`, `ratio` are changes in per cent with 90 % intervals; `force_log_pct` and
    `mass_log_pct` are 100 times the log terms, whose difference is the ratio's.
    """

    start_ratio: float
    end_ratio: float
    force: Estimate
    mass: Estimate
    ratio: Estimate
    force_log_pct: float
    mass_log_pct: float


def split_ratio(
    series: SeriesFit, start_mass_kg: float, end_mass_kg: float, mass_error_kg: float = 0.5
) -> RatioSplit:
    """
    Split the change of load per kilogram of body mass into its force and body-mass parts.

    `mass_error_kg` is the SD of each body mass; it is taken as independent of the load's error.
    """
    mass = math.log(end_mass_kg / start_mass_kg)
    mass_half = 1.6449 * mass_error_kg * math.hypot(1 / start_mass_kg, 1 / end_mass_kg)
    force, low, high = (math.log1p(x / 100) for x in _change_of(series))
    down, up = math.hypot(force - low, mass_half), math.hypot(high - force, mass_half)
    ratio = force - mass

    def pct(*logs: float) -> Estimate:
        return Estimate(*(100 * math.expm1(x) for x in logs))

    return RatioSplit(
        series.start_kg / start_mass_kg,
        series.end_kg / end_mass_kg,
        pct(force, low, high),
        pct(mass, mass - mass_half, mass + mass_half),
        pct(ratio, ratio - down, ratio + up),
        100 * force,
        100 * mass,
    )


def _change_of(series: SeriesFit) -> tuple[float, float, float]:
    return series.change_pct, series.low_pct, series.high_pct


RESULT_COLUMNS = [
    "athlete",
    "block",
    "capacity",
    "grip",
    "hand",
    "edge_mm",
    "start_kg",
    "end_kg",
    "change_pct",
    "low_pct",
    "high_pct",
    "prob_rise",
    "smallest_pct",
    "verdict",
    "start_ratio",
    "end_ratio",
    "ratio_force_pct",
    "ratio_mass_pct",
    "sets",
    "days",
    "exact_sets",
]


def results_rows(
    fit: StrengthFit,
    athlete: str,
    block: Block,
    show_ratio: bool = False,
    end_masses_kg: tuple[float, float] | None = None,
) -> pd.DataFrame:
    """
    Rows of results.csv: one per capacity, grip and hand.

    Where an athlete has both steady and peak readings the steady series is given. The ratio
    columns are filled with `show_ratio` (the caller knows whether body mass is logged and shown),
    with body mass at the block's ends where it is given, else that of the nearest logged days.
    """
    chosen: dict[tuple[str, str, str], SeriesFit] = {}
    for s in fit.series:
        name = (s.capacity, s.grip, s.hand)
        if name not in chosen or (s.load_kind == "steady"):
            chosen[name] = s
    masses = (end_masses_kg or _end_masses(fit)) if show_ratio else None
    rows = []
    for s in chosen.values():
        row: dict[str, object] = {
            "athlete": athlete,
            "block": block.name,
            **{c: getattr(s, c) for c in RESULT_COLUMNS if hasattr(s, c)},
            "start_ratio": math.nan,
            "end_ratio": math.nan,
            "ratio_force_pct": math.nan,
            "ratio_mass_pct": math.nan,
        }
        if masses is not None:
            split = split_ratio(s, *masses)
            row |= {
                "start_ratio": split.start_ratio,
                "end_ratio": split.end_ratio,
                "ratio_force_pct": split.force_log_pct,
                "ratio_mass_pct": split.mass_log_pct if math.isfinite(s.change_pct) else math.nan,
            }
        rows.append(row)
    return pd.DataFrame(rows, columns=RESULT_COLUMNS)


def _end_masses(fit: StrengthFit) -> tuple[float, float] | None:
    """Body mass on the logged days nearest the block's ends, None where none is known."""
    known = fit.sets[np.isfinite(fit.sets["body_mass_kg"])] if len(fit.sets) else fit.sets
    if not len(known):
        return None
    day, mass = known["day"].to_numpy(), known["body_mass_kg"].to_numpy(dtype=np.float64)
    start = mass[np.argmin(np.abs(day))]
    end = mass[np.argmin(np.abs(day - fit.evidence.last_day))]
    return float(start), float(end)


def share_noise(evidences: Sequence[Evidence], rounds: int = 12) -> NoiseScales:
    """
    Noise scales of a squad by expectation maximisation over its athletes (empirical Bayes).

    Only noise is shared, and how often series part, form wanders and changes are large, never a
    trend: in a squad where most gain, a shared trend would lend the others a rise they do not have.
    Defaults count as 40 days, 100 sets and 40 athletes. The error of a set may only grow: how small
    it is hangs on what guesses of a reserve are worth.
    """
    noise = NoiseScales()
    used = [build_layout(e) for e in evidences if len(e)]
    if not used:
        return noise
    default = NoiseScales()
    for _ in range(rounds):
        total = np.zeros((5, 2))
        total[:2] = [
            (40 * default.day**2, 40.0),
            (40 * default.capacity_day**2, 40.0),
        ]
        total[2:, 0], total[2:, 1] = 100 * default.of_set**2, 100.0
        log2 = [40 * default.spread**2, 40.0]
        for layout in used:
            mixture = solve(layout, noise, nodes_for(noise))
            for j, w in enumerate(mixture.weight):
                if w > 1e-3:
                    total += w * _noise_moments(mixture, j)
            log2[0] += float(mixture.weight @ np.log(mixture.day_factor) ** 2)
            log2[1] += 1.0
        sds = np.sqrt(total[:, 0] / total[:, 1])
        sds[2:] = np.maximum(sds[2:], default.of_set)
        before = noise
        noise = replace(
            default,
            **dict(zip(("day", "capacity_day", *CAPACITIES), sds.tolist(), strict=True)),
            spread=math.sqrt(log2[0] / log2[1]),
            athletes=len(used),
        )
        moved = max(
            abs(math.log(getattr(noise, c) / getattr(before, c)))
            for c in ("day", "capacity_day", *CAPACITIES)
        )
        if moved < 0.01:
            break
    for _ in range(SHAPE_ROUNDS):
        noise = replace(noise, shapes=_shared_shapes(used, noise))
    return noise


#: Rounds over the weights of shapes, which the defaults, as 40 athletes, hold near themselves.
SHAPE_ROUNDS = 3


def _shared_shapes(layouts: list[Layout], noise: NoiseScales) -> tuple[float, ...]:
    """How often each shape is found among the athletes; where a log can't tell, as expected."""
    weighed = weighed_shapes(noise)
    found = 40.0 * np.array([w for _, w in SHAPES])
    for layout in layouts:
        mixture = solve_shapes(layout, noise, nodes_for(noise))
        unsaid = sum(w for s, w in weighed if not told_by(layout, s))
        for i, (shape, weight) in enumerate(weighed):
            if told_by(layout, shape):
                mine = [
                    w for w, s in zip(mixture.weight, mixture.shapes, strict=True) if s == shape
                ]
                found[i] += (1.0 - unsaid) * sum(mine)
            else:
                found[i] += weight
    return tuple((found / (40.0 + len(layouts))).tolist())


def _noise_moments(mixture: Mixture, node: int) -> Floats:
    """(5, 2) expected squares and counts: day, capacity and day, and the three set errors."""
    layout, noise, post = mixture.layout, mixture.noise, mixture.nodes[node]
    ev = layout.evidence
    out = np.zeros((5, 2))
    # the node's factor is the athlete's own; what is left is the squad's
    own_factor2 = float(mixture.day_factor[node]) ** 2
    of_day, of_part = post.of_effects(layout.days)
    for j, (mode, variance, new) in enumerate(
        ((post.day, of_day, layout.new_day), (post.part, of_part, layout.new_part))
    ):
        # what a first session adds is practice, no noise
        out[j] = float((mode**2 + variance)[~new].sum()) / own_factor2, float((~new).sum())
    own2 = noise.of_set[layout.capacity] ** 2
    s2 = own2 + ev.load_error_log**2 + ev.time_error_log**2
    mean, variance = post.of_observations(layout.design, layout.days)
    residual = ev.log_load - layout.offset - mean
    sign = np.where(ev.kind == AT_MOST, -1.0, 1.0)
    e = -sign * residual / np.sqrt(s2)
    log_p = log_ndtr(e)
    hazard = np.exp(-0.5 * e * e - log_p - 0.5 * math.log(2 * math.pi))
    h = hazard * (hazard + e)
    # second order of s^2 (1 - e hazard) in the predictor
    bend = np.maximum(h + 0.5 * e * (hazard * (1 - h) - h * (hazard + e)), 0.0)
    square = np.where(
        ev.kind == EXACT, residual**2 + variance, s2 * (1 - e * hazard) + bend * variance
    )
    of_set = own2 / s2
    own_square = of_set**2 * square + own2 * (1 - of_set)
    for k in range(3):
        mine = layout.capacity == k
        out[2 + k] += (ev.weight[mine] @ own_square[mine], ev.weight[mine].sum())
    return out


def _edges_of(ev: Evidence, mine: npt.NDArray[np.intp]) -> list[float]:
    """Edges in mm of the entries that were converted to the reference edge."""
    if not ev.edge_log[mine].any():
        return []
    logs = np.unique(np.round(ev.edge_log[mine], 9))
    return [round(ev.reference.edge_mm * math.exp(x), 3) for x in logs.tolist() if abs(x) > 1e-9]
