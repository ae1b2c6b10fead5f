"""
The solver: a latent normal model with exact and one-sided observations, days eliminated.

An exact observation is normal about its predictor; a bound has the tail's probability, as in a
censored regression (Tobin 1958, Econometrica 26:24-36). The unknowns have independent normal
priors, so without bounds it is a linear mixed model. Given the scales the posterior is
log-concave: Newton finds the mode and the curvature there is the spread (Laplace).

Effects of days, and of one capacity on one day, are eliminated one by one before the dense system
is solved, so that the cost grows with the number of sets, not with the cube of the days.
"""

from __future__ import annotations

import math
from copy import copy
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy.linalg.lapack import dpotrf, dpotrs, dtrtrs
from scipy.special import log_ndtr

from gripbook.strength.evidence import AT_MOST, EXACT

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
_LOG_2PI: Final = math.log(2 * math.pi)
_MOST_STEPS: Final = 100
_NONE: Final = np.zeros(0)


@dataclass(frozen=True, slots=True, eq=False)
class Days:
    """
    D days and C parts of them (one capacity on one day), N observations in order of both.

    `part_start` (C,) first observation of each part, `part_of` (N,) its part, `day_start` (D,)
    first part of each day, `day_of_part` (C,).
    """

    part_start: Ints
    part_of: Ints
    day_start: Ints
    day_of_part: Ints

    @classmethod
    def of(cls, day: Ints, part: Ints) -> Days:
        """From labels in order: `day` (N,), and `part` (N,) within the day."""
        new_day = _begins(day)
        new_part = new_day | _begins(part)
        part_start = np.flatnonzero(new_part)
        part_of = np.cumsum(new_part) - 1
        day_of_part = (np.cumsum(new_day) - 1)[part_start]
        day_start = part_of[np.flatnonzero(new_day)]
        return cls(part_start, part_of, day_start, day_of_part)


def _begins(label: Ints) -> npt.NDArray[np.bool_]:
    """(N,) where a stretch of equal labels begins."""
    return np.concatenate([[True], label[1:] != label[:-1]])[: len(label)]


@dataclass(frozen=True, slots=True, eq=False)
class Jacobian:
    """
    Sum over exact sets of `weight * log(1 + ratio @ unknowns[columns])`.

    The load is chosen and the time is the outcome, so a curve with free coefficients needs dD/dlogT
    in the likelihood.

    `ratio` (S, C): slope of each coefficient over the prior curve's. `weight` (S,): share of the
    set's variance that is no error of the time. `columns`: the C coefficients among the unknowns.
    """

    ratio: Floats
    weight: Floats
    columns: slice


@dataclass(frozen=True, slots=True, eq=False)
class _Eliminated:
    """
    What takes the dense solution back to the C parts and D days.

    `weight` (C,): of each part's sets. `pivot` (C + D,): precision of parts, then of days, with all
    else held; `rows` (C + D, P): what the unknowns take from them.
    """

    weight: Floats
    pivot: Floats
    rows: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """
    Mode and spread of the P unknowns, effects of days integrated out.

    `mode` (P,); `factor` (P, P) lower Cholesky factor of their precision; `day` (D,), `part` (C,):
    modes of the effects. `log_evidence`: log of the integral over all unknowns, constants of the
    priors out (Laplace; exact without bounds). `log_posterior`: at the mode. `steps`: of Newton.
    """

    mode: Floats
    factor: Floats
    day: Floats
    part: Floats
    log_evidence: float
    log_posterior: float
    steps: int
    back: _Eliminated | None = None

    def widened(self, precision: Floats) -> Posterior:
        """With further unknowns (Q,) of mean zero that no observation touches."""
        more = len(precision)
        if not more:
            return self
        size = len(self.mode)
        factor = np.zeros((size + more, size + more), order="F")
        factor[:size, :size] = self.factor
        factor.flat[size * (size + more + 1) :: size + more + 1] = np.sqrt(precision)
        mode = np.concatenate([self.mode, np.zeros(more)])
        if self.back is None:
            return replace(self, mode=mode, factor=factor)
        rows = np.hstack([self.back.rows, np.zeros((len(self.back.rows), more))])
        return replace(self, mode=mode, factor=factor, back=replace(self.back, rows=rows))

    def spread(self, functionals: Floats) -> Floats:
        """`L^-1 f` for each row of `functionals` (R, P): (P, R), whose column norms are SDs."""
        out, info = dtrtrs(self.factor, functionals.T, lower=1)
        if info:  # pragma: no cover - the factor has a positive diagonal
            raise np.linalg.LinAlgError("singular factor")
        return np.asarray(out)

    def variance(self, functionals: Floats) -> Floats:
        """Variances (R,) of functionals (R, P)."""
        spread = self.spread(functionals)
        return np.asarray(np.einsum("pr,pr->r", spread, spread))

    def of_observations(self, design: Floats, days: Days | None) -> tuple[Floats, Floats]:
        """Mode and variance (N,) of each observation's predictor, days included."""
        mean = design @ self.mode
        if days is None or self.back is None:
            return mean, self.variance(design)
        b, part, day = self.back, days.part_of, days.day_of_part
        mean += (self.part + self.day[day])[part]
        of_part, of_day = np.split(b.rows / b.pivot[:, None], [len(day)])
        part_pivot, day_pivot = np.split(b.pivot, [len(day)])
        left = 1.0 - b.weight / part_pivot
        rows = of_part + left[:, None] * of_day[day]
        own = 1.0 / part_pivot + left**2 / day_pivot[day]
        return mean, own[part] + self.variance(design - rows[part])

    def of_effects(self, days: Days) -> tuple[Floats, Floats]:
        """Variances of the effects of days (D,) and of their parts (C,)."""
        b, day = self.back, days.day_of_part
        if b is None:
            return _NONE, _NONE
        of_part, of_day = np.split(b.rows / b.pivot[:, None], [len(day)])
        part_pivot, day_pivot = np.split(b.pivot, [len(day)])
        share = b.weight / part_pivot
        own = self.variance(of_part - share[:, None] * of_day[day])
        own += 1.0 / part_pivot + share**2 / day_pivot[day]
        return 1.0 / day_pivot + self.variance(of_day), own


@dataclass(frozen=True, slots=True, eq=False)
class _Point:
    """
    A place and the likelihood there.

    `effect` (C + D,): of parts, then of days. `value`, its `gradient` by predictor (N,) and its
    `curvature` by the predictor of bounds.
    """

    x: Floats
    effect: Floats
    value: float
    gradient: Floats
    curvature: Floats
    stretch: Floats | None


@dataclass(frozen=True, slots=True, eq=False)
class _Equations:
    """
    Of a step from `point`, days and their parts eliminated, the unknowns' prior left out.

    `of_effect` (C + D,): slope by effects.
    """

    point: _Point
    slope: Floats
    hessian: Floats
    of_effect: Floats
    gain: float
    back: _Eliminated | None


class Likelihood:
    """
    What N observations say of P unknowns, whatever the prior of these.

    Parameters are those of `find_posterior`. Several priors share one, and the equations of their
    first step where they begin alike.
    """

    def __init__(
        self,
        design: Floats,
        observed: Floats,
        sd: Floats,
        kind: Ints,
        *,
        jacobian: Jacobian | None = None,
        days: Days | None = None,
        day_sd: float | Floats = 1.0,
        part_sd: float | Floats = 1.0,
        weight: Floats | None = None,
    ) -> None:
        exact = kind == EXACT
        bound = np.flatnonzero(~exact)
        self.design, self.observed, self.bound = design, observed, bound
        self.jacobian, self.days = jacobian, days
        self.sign = np.where(kind[bound] == AT_MOST, -1.0, 1.0)
        self.times = np.ones(len(bound)) if weight is None else weight[bound]
        self.of_exact = exact / sd**2
        self.of_bound = -self.sign / sd[bound]
        self.constant = -float(np.log(sd[exact]).sum()) - 0.5 * _LOG_2PI * int(exact.sum())
        # what exact sets say of the curvature is the same at every step
        self.bound_design = design[bound]
        weighted = self.of_exact[:, None] * design
        self.exact_hessian = design.T @ weighted
        if days is not None:
            self.bound_part = days.part_of[bound]
            self.bound_start = np.flatnonzero(_begins(self.bound_part))
            self.bounded = self.bound_part[self.bound_start]
            self.exact_rows = np.add.reduceat(weighted, days.part_start)
            self.exact_weight = np.bincount(days.part_of, self.of_exact).astype(np.float64)
        self._let_differ(day_sd, part_sd)

    def with_days(self, day_sd: float | Floats, part_sd: float | Floats) -> Likelihood:
        """The same observations where days and their parts differ by other SDs."""
        other = copy(self)
        other._let_differ(day_sd, part_sd)
        return other

    def _let_differ(self, day_sd: float | Floats, part_sd: float | Floats) -> None:
        self._begun: tuple[Posterior | None, _Equations] | None = None
        days = self.days
        count = (0, 0) if days is None else (len(days.part_start), len(days.day_start))
        sds = np.concatenate([np.full(count[0], part_sd), np.full(count[1], day_sd)])
        self.effect_precision = 1.0 / sds**2

    def _begin(self, start: Posterior | None) -> _Equations:
        """To begin at the mode of a similar problem, of more or fewer unknowns; else at nothing."""
        if self._begun is None or self._begun[0] is not start:
            self._begun = (start, self._equations(self._first(start)))
        return self._begun[1]

    def _first(self, start: Posterior | None) -> _Point:
        mode = np.zeros(self.design.shape[1])
        if start is not None:
            both = min(len(mode), len(start.mode))
            mode[:both] = start.mode[:both]
            point = self._evaluate(mode, np.concatenate([start.part, start.day]))
            if np.isfinite(point.value):
                return point
            mode = np.zeros(len(mode))
        return self._evaluate(mode, np.zeros(len(self.effect_precision)))

    def _evaluate(self, x: Floats, effect: Floats) -> _Point:
        days, bound = self.days, self.bound
        residual = self.observed - self.design @ x
        if days is not None:
            parts = len(days.part_start)
            residual -= (effect[:parts] + effect[parts:][days.day_of_part])[days.part_of]
        gradient = self.of_exact * residual
        value = self.constant - 0.5 * float(gradient @ residual)
        curvature = _NONE
        if len(bound):
            e = self.of_bound * residual[bound]
            log_p = log_ndtr(e)
            hazard = np.exp(-0.5 * e * e - log_p - 0.5 * _LOG_2PI)
            value += float(self.times @ log_p)
            slope = self.times * hazard * self.of_bound
            gradient[bound] = -slope
            curvature = slope * (hazard + e) * self.of_bound
        value -= 0.5 * float(self.effect_precision @ (effect * effect))
        stretch = None
        if self.jacobian is not None:
            stretch = 1.0 + self.jacobian.ratio @ x[self.jacobian.columns]
            if stretch.min(initial=1.0) <= 0:
                return _Point(x, effect, -np.inf, gradient, curvature, stretch)
            value += float(self.jacobian.weight @ np.log(stretch))
        return _Point(x, effect, value, gradient, curvature, stretch)

    def _equations(self, point: _Point) -> _Equations:
        days = self.days
        weighted = point.curvature[:, None] * self.bound_design
        slope = self.design.T @ point.gradient
        hessian = self.exact_hessian + self.bound_design.T @ weighted
        if self.jacobian is not None and point.stretch is not None:
            j = self.jacobian.ratio / point.stretch[:, None]
            c = self.jacobian.columns
            slope[c] += j.T @ self.jacobian.weight
            hessian[c, c] += (j * self.jacobian.weight[:, None]).T @ j
        if days is None:
            return _Equations(point, slope, hessian, _NONE, 0.0, None)
        # --- parts, then days
        parts, day_of_part = len(days.part_start), days.day_of_part
        weight = self.exact_weight + np.bincount(self.bound_part, point.curvature, parts)
        pivot = weight + self.effect_precision[:parts]
        left = 1.0 - weight / pivot
        of_day = np.bincount(day_of_part, weight * left) + self.effect_precision[parts:]
        pivot = np.concatenate([pivot, of_day])
        rows = self.exact_rows.copy()
        rows[self.bounded] += np.add.reduceat(weighted, self.bound_start)
        rows = np.concatenate([rows, np.add.reduceat(rows * left[:, None], days.day_start)])
        of_part = np.bincount(days.part_of, point.gradient)
        effect = np.concatenate([of_part, np.bincount(day_of_part, of_part)])
        effect = effect - self.effect_precision * point.effect
        effect[parts:] -= np.bincount(day_of_part, weight * effect[:parts] / pivot[:parts])
        # --- what is left for the unknowns
        passed = effect / pivot
        slope -= passed @ rows
        hessian -= (rows / pivot[:, None]).T @ rows
        back = _Eliminated(weight, pivot, rows)
        return _Equations(point, slope, hessian, effect, float(effect @ passed), back)

    def posterior(
        self, precision: Floats, start: Posterior | None = None, tolerance: float = 1e-8
    ) -> Posterior:
        """
        Under a prior of mean zero and this precision (P,): see `find_posterior`.

        `start`: of a similar problem, to begin at its mode.
        """
        days = self.days
        here = self._begin(start)
        value = here.point.value - 0.5 * float(precision @ here.point.x**2)
        for steps in range(1, _MOST_STEPS + 1):  # noqa: B007 (the count is part of the answer)
            x, effect, back = here.point.x, here.point.effect, here.back
            slope = here.slope - precision * x
            factor = _factor(here.hessian, precision)
            # --- the step
            step, _ = dpotrs(factor, slope, lower=1)
            gain = here.gain + float(slope @ step)
            move = effect
            if days is not None and back is not None:
                move = (here.of_effect - back.rows @ step) / back.pivot
                parts = len(back.weight)
                of_day = move[parts:][days.day_of_part]
                move[:parts] -= back.weight / back.pivot[:parts] * of_day
            if gain < tolerance:
                # the last step is still taken: it squares what is left of the error
                x, effect, value = x + step, effect + move, value + 0.5 * gain
                break
            size = 1.0
            while True:
                new = self._evaluate(x + size * step, effect + size * move)
                new_value = new.value - 0.5 * float(precision @ new.x**2)
                if new_value >= value + 1e-4 * size * gain - 1e-10 * abs(value) or size < 1e-8:
                    break
                size *= 0.5
            value, here = new_value, self._equations(new)
            x, effect = new.x, new.effect
        half_log_det = float(np.log(factor.diagonal()).sum())
        part, day = effect, effect
        if days is not None and back is not None:
            part, day = effect[: len(back.weight)], effect[len(back.weight) :]
            half_log_det += 0.5 * float(np.log(back.pivot / self.effect_precision).sum())
        return Posterior(x, factor, day, part, value - half_log_det, value, steps, back)


def _factor(hessian: Floats, precision: Floats) -> Floats:
    """Lower Cholesky factor of the curvature with the prior's precision."""
    size = len(precision)
    whole = hessian.copy()
    whole.ravel()[:: size + 1] += precision
    # a symmetric matrix is its own transpose, which is in LAPACK's order
    factor, info = dpotrf(whole.T, lower=1, clean=1)
    if info:
        whole.ravel()[:: size + 1] += 1e-9 * np.trace(whole) / size
        factor, info = dpotrf(whole.T, lower=1, clean=1)
        if info:
            raise np.linalg.LinAlgError("the curvature is not positive definite")
    return np.asarray(factor)


def find_posterior(
    design: Floats,
    observed: Floats,
    sd: Floats,
    kind: Ints,
    precision: Floats,
    *,
    jacobian: Jacobian | None = None,
    days: Days | None = None,
    day_sd: float | Floats = 1.0,
    part_sd: float | Floats = 1.0,
    weight: Floats | None = None,
    tolerance: float = 1e-8,
) -> Posterior:
    """
    Mode and curvature of a censored normal regression with normal priors of mean zero.

    Parameters
    ----------
    design : (N, P).
    observed, sd, kind : (N,); kind EXACT, AT_LEAST (the truth lies above `observed`) or AT_MOST.
    precision : (P,), 0 for a flat prior.
    jacobian : see `Jacobian`.
    days : effects shared by the sets of a day and of a part of it, with SDs
        `day_sd` (one, or (D,)) and `part_sd` (one, or (C,)).
    weight : (N,) how many equal observations each bound stands for; None: 1.

    Raises
    ------
    numpy.linalg.LinAlgError : the curvature is not positive definite.

    Notes
    -----
    With only exact sets and no Jacobian this is generalised least squares and the evidence is
    exact (the restricted likelihood where the fixed effects' precision is 0).
    """
    likelihood = Likelihood(
        design,
        observed,
        sd,
        kind,
        jacobian=jacobian,
        days=days,
        day_sd=day_sd,
        part_sd=part_sd,
        weight=weight,
    )
    return likelihood.posterior(precision, tolerance=tolerance)
