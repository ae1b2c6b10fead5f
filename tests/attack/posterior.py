"""
Body mass from what a page gives away.

The attacker knows how loads are brought to one edge, hold and place in a session, though not by
how much: load = body mass + added weight, times a factor of its edge, place and outcome. Two
factors at two added weights each are enough to find body mass, whatever the factors are, so they
are left free and the fit is a straight line for each. Beside that the attacker uses kilograms over
per cent, best weights on two edges, and best weights of one hand and two.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pandas as pd

from tests.attack.collect import Range, Seen

Floats = npt.NDArray[np.float64]

#: Adults: normal 68 kg, SD 12 kg, between 40 and 110 kg (own choice, no source).
GRID_KG: Floats = np.arange(40.0, 110.01, 0.5)
_PRIOR: Floats = -0.5 * ((GRID_KG - 68.0) / 12.0) ** 2
#: Edge exponent 0.25, SD 0.08 (the strength model's own prior), and how much the best weights of
#: two edges scatter about it, in logs (own choice, no source).
_EXPONENT, _EXPONENT_SD, _BEST_SD = 0.25, 0.08, 0.05
#: One hand of two, SD in logs (from memory: about 0.55 to 0.6 of what both hold).
_ONE_HAND, _ONE_HAND_SD = 0.57, 0.12
#: A fit tells of body mass only where half the sets meet it to this: unlike quantities don't.
_FITS_KG = 0.1
#: Error of a figure that stands for a set, kg.
_ERROR_KG = 0.01


@dataclass(frozen=True, slots=True)
class Posterior:
    """Mean and SD of body mass, kg, and what each source adds: name and SD by it alone."""

    mean_kg: float
    sd_kg: float
    by_source: dict[str, float]


def mass_posterior(seen: Seen, pounds: bool = False) -> Posterior:
    """
    The attacker's distribution of body mass.

    Parameters
    ----------
    seen : from `collect`.
    pounds : the page is in pounds.
    """
    unit = 0.45359237 if pounds else 1.0
    terms = list(_terms(seen, unit))
    total = _PRIOR + sum((t for _, t in terms), np.zeros_like(GRID_KG))
    alone = {name: _moments(_PRIOR + t)[1] for name, t in terms}
    return Posterior(*_moments(total), alone)


def _moments(log: Floats) -> tuple[float, float]:
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    mean = float(weight @ GRID_KG)
    return mean, math.sqrt(float(weight @ (GRID_KG - mean) ** 2))


def _terms(seen: Seen, unit: float) -> Iterator[tuple[str, Floats]]:
    for i, weights in enumerate(seen.weights):
        own = weights.assign(kg=weights["kg"] * unit)
        for series, rows in own.groupby("series"):
            best: tuple[float, str, Floats] | None = None
            for name, figures in seen.figures:
                term = _free_factors(rows, figures.assign(kg=figures["kg"] * unit))
                if term is not None and (best is None or term[0] > best[0]):
                    best = (term[0], name, term[1])
            if best is not None:
                yield f"{best[1]} beside weights {i}, {series}", best[2]
            yield from _of_edges(str(series), rows, seen.exponents)
            yield from _of_percent(str(series), rows, seen.ranges, unit)
        yield from _of_hands(i, own)


def _free_factors(weights: pd.DataFrame, figures: pd.DataFrame) -> tuple[float, Floats] | None:
    """
    Sets and figures of the same days side by side; a factor for each edge, place and outcome.

    Figure = factor (mass + added) - constant. Returns how many more sets than unknowns there were,
    and the log likelihood; None where nothing fits.
    """
    counts = weights.groupby("day")["kg"].count()
    same = counts[counts.eq(figures.groupby("day")["kg"].count().reindex(counts.index))].index
    rows = weights[weights["day"].isin(same)].merge(
        figures, on=["day", "place"], suffixes=("", "_figure")
    )
    alike = ["edge_mm", "place", "ended", "sets", "kind"]
    known = rows.groupby(alike, dropna=False)["kg"]
    rows = rows[(known.transform("count") >= 3) & (known.transform("nunique") >= 2)]
    group = rows.groupby(alike, dropna=False).ngroup().to_numpy()
    n, k = len(rows), len(set(group))
    if k < 2 or n < k + 4 or np.ptp(rows["kg_figure"]) == 0:
        return None
    added, figure = rows["kg"].to_numpy(), rows["kg_figure"].to_numpy()
    one_of = (group[:, None] == np.unique(group)).astype(float)
    logs, near = np.empty_like(GRID_KG), np.empty_like(GRID_KG)
    for j, mass in enumerate(GRID_KG):
        error = _robust(np.column_stack([one_of * (mass + added)[:, None], -np.ones(n)]), figure)
        # a few sets carry what the page doesn't tell (a reserve): they are let go
        logs[j] = -np.log1p((error / _ERROR_KG) ** 2).sum()
        near[j] = np.median(np.abs(error))
    return None if near.min() > _FITS_KG else (float(n - k), logs)


def _robust(design: Floats, figure: Floats) -> Floats:
    """What is left after a fit of heavy tails (Cauchy, by reweighting)."""
    scale, error = 1.0, figure - design @ np.linalg.lstsq(design, figure, rcond=None)[0]
    for _ in range(12):
        root = 1 / np.sqrt(1 + (error / scale) ** 2)
        solved = np.linalg.lstsq(design * root[:, None], figure * root, rcond=None)[0]
        error, scale = figure - design @ solved, max(scale / 1.5, _ERROR_KG)
    return error


def _of_edges(series: str, rows: pd.DataFrame, told: list[float]) -> Iterator[tuple[str, Floats]]:
    """
    Best weights of two edges: (m + a) / (m + b) is the edges' ratio to the exponent.

    Only sets that failed tell what was possible; finished ones tell what was chosen.
    """
    best = rows[rows["ended"] == "not finished"].groupby("edge_mm")["kg"].max()
    best = best[best.index > 0]
    mean = told[0] if told else _EXPONENT
    sd = 0.02 if told else _EXPONENT_SD
    for (e, a), (f, b) in pairwise(best.items()):
        width = abs(math.log(f / e))
        if width < 0.05:
            continue
        with np.errstate(invalid="ignore", divide="ignore"):
            ratio = np.log((GRID_KG + b) / (GRID_KG + a))
        error = math.hypot(sd * width, _BEST_SD)
        log = -0.5 * ((ratio - mean * math.log(f / e)) / error) ** 2
        yield f"edges {e:g} and {f:g} mm, {series}", np.nan_to_num(log, nan=-50.0)


def _of_percent(
    series: str, rows: pd.DataFrame, ranges: list[Range], unit: float
) -> Iterator[tuple[str, Floats]]:
    """Kilograms over per cent is the load; less what was added, body mass."""
    named = [r for r in ranges if series in r.where or r.where == "sentence"]
    kilograms = [r for r in named if r.unit in ("kg", "lb") and r.high > r.low]
    shares = [r for r in named if r.unit == "%" and r.high > r.low]
    for kg in kilograms:
        for pct in shares:
            if (kg.low < 0) != (pct.low < 0) or (kg.high < 0) != (pct.high < 0):
                continue
            width, share = (kg.high - kg.low) * unit, (pct.high - pct.low) / 100
            load = width / share
            error = load * math.hypot(0.41 / max(width, 0.41), 0.0041 / share, 0.05)
            mass = load - float(rows["kg"].quantile(0.8))
            if 20 < mass < 150:
                yield f"{kg.where}: kg over %", -0.5 * ((GRID_KG - mass) / error) ** 2


def _of_hands(i: int, rows: pd.DataFrame) -> Iterator[tuple[str, Floats]]:
    """Best weights of one hand and of both."""
    one = rows["series"].str.contains("left|right")
    if one.any() and not one.all():
        both, single = rows.loc[~one, "kg"].max(), rows.loc[one, "kg"].max()
        with np.errstate(invalid="ignore", divide="ignore"):
            ratio = np.log((GRID_KG + single) / (GRID_KG + both))
        log = -0.5 * ((ratio - math.log(_ONE_HAND)) / _ONE_HAND_SD) ** 2
        yield f"hands, weights {i}", np.nan_to_num(log, nan=-50.0)
