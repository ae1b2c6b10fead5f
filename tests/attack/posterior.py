"""
Body mass from what a page gives away.

The attacker knows how loads are brought to one edge, hold and place in a session, though not by
how much: load = body mass + added weight, times a factor of its edge, place and outcome. Two
factors at two added weights each are enough to find body mass, whatever the factors are, so they
are left free and the fit is a straight line for each. Beside that the attacker uses kilograms over
per cent, a load less what was added, body mass where it is named, best weights on two edges, and
best weights of one hand and two.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from gripbook.logs import Block
from gripbook.reviews.shown import HEAVY_KG, LIGHT_KG, STAND_IN_KG, hung_kinds, with_stand_in
from gripbook.strength import fit_strength, results_rows
from tests.attack.collect import Load, Range, Seen

Floats = npt.NDArray[np.float64]

#: Adults: normal 68 kg, SD 12 kg, between 40 and 110 kg (own choice, no source).
GRID_KG: Floats = np.arange(40.0, 110.01, 0.5)
_PRIOR: Floats = -0.5 * ((GRID_KG - 68.0) / 12.0) ** 2
#: Edge exponent 0.25, SD 0.08 (the strength model's own prior), and how much the best weights of
#: two edges scatter about it, in logs (own choice, no source).
_EXPONENT, _EXPONENT_SD, _BEST_SD = 0.25, 0.08, 0.05
#: One hand of two, SD in logs (from memory: about 0.55 to 0.6 of what both hold).
_ONE_HAND, _ONE_HAND_SD = 0.57, 0.12
#: How far one hand's or day's pull may lie from the middle of all, in logs (own choice, no source).
_HANDS_SD = 0.15
#: A fit tells of body mass only where half the sets meet it to this: unlike quantities don't.
_FITS_KG = 0.1
#: Error of a figure that stands for a set, kg.
_ERROR_KG = 0.01
#: Body mass moves by about this from day to day, kg (from memory).
_DAYS_KG = 0.5
#: By how much of it a load at the reference lies above that of the heaviest set tried, mean and SD
#: by capacity (own choice, after simulated athletes whose pages show both).
_ABOVE = {"hang": (-0.01, 0.05), "repeater": (0.05, 0.08), "pull": (0.0, 0.05)}
#: A drawn set meets the one that the model predicts to this, kg: body mass differs from day to day.
_MEETS_KG = 0.5
#: The same for the bounds of a change, per cent.
_MEETS_PCT = 0.1


@dataclass(frozen=True, slots=True)
class Posterior:
    """Mean and SD of body mass, kg, and what each source adds: name and SD by it alone."""

    mean_kg: float
    sd_kg: float
    by_source: dict[str, float]


def mass_posterior(
    seen: Seen, sets: pd.DataFrame | None = None, block: Block | None = None
) -> Posterior:
    """
    The attacker's distribution of body mass.

    Parameters
    ----------
    seen : from `collect`, of a page in kilograms.
    sets, block : the athlete's derived sets and plan, where the attacker knows the log; body mass
        in them is not looked at. The page tells nearly all of the rest.
    """
    shown = _of_loads_shown(seen)
    if sets is not None and block is not None:
        shown |= _of_model(seen, sets, block)
    terms = {name: _or_stand_in(term) for name, term in shown.items()}
    terms |= _of_weights(seen)
    total = _PRIOR + sum(terms.values(), np.zeros_like(GRID_KG))
    alone = {name: _moments(_PRIOR + term)[1] for name, term in terms.items()}
    return Posterior(*_moments(total), alone)


def _or_stand_in(term: Floats) -> Floats:
    """
    The attacker knows the package: what fits its stand-in as well may be nobody's mass.

    Half of the weight goes to "the page rests on the stand-in", under which it says nothing.
    """
    as_stand_in = float(np.interp(STAND_IN_KG, GRID_KG, term))
    mixed: Floats = np.logaddexp(term, as_stand_in)
    return mixed


def _moments(log: Floats) -> tuple[float, float]:
    weight = np.exp(log - log.max())
    weight /= weight.sum()
    mean = float(weight @ GRID_KG)
    return mean, math.sqrt(float(weight @ (GRID_KG - mean) ** 2))


def _of_weights(seen: Seen) -> dict[str, Floats]:
    """What the weights added tell by themselves, whatever else the page does."""
    terms: dict[str, Floats] = {}
    for rows in _of_each_series(seen):
        terms |= dict(_of_edges(rows["series"].iloc[0], rows, seen.exponents))
    if seen.weights:
        terms |= dict(_of_hands(pd.concat(seen.weights)))
    return terms | _of_force(seen)


def _of_force(seen: Seen) -> dict[str, Floats]:
    """
    Kilograms over per cent of a pull over a scale are the hand's force, where not the stand-in's.

    What both hands hold is about twice that, and less what was added it is body mass.
    """
    hangs = [r for r in _of_each_series(seen) if _about(r["series"].iloc[0])[0] == "hang"]
    pulls = [r for r in seen.ranges if _about(r.where)[0] == "pull"]
    forces = [
        _load_of(kg, pct)
        for kg in pulls
        for pct in pulls
        if kg.unit == "kg" and pct.unit == "%" and _one_change(kg, pct)
    ]
    if not hangs or not forces:
        return {}
    force, error = min(forces, key=lambda f: f[1] / f[0])
    added = max(float(r["kg"].max()) for r in hangs)
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = np.log(force / np.maximum(GRID_KG + added, 1.0))
    sd = math.hypot(_ONE_HAND_SD, error / force)
    # the attacker knows the package: as likely the force rests on its stand-in, and is nobody's
    as_stand_in = -0.5 * (math.log(force / (STAND_IN_KG / 2)) / _HANDS_SD) ** 2
    theirs = _gauss(ratio - math.log(_ONE_HAND), sd) - math.log(sd)
    return {"force of one hand": np.logaddexp(theirs, as_stand_in - math.log(_HANDS_SD))}


def _of_loads_shown(seen: Seen) -> dict[str, Floats]:
    """What follows from loads, or from figures that grow with them: a term a way."""
    ways: dict[str, list[Floats]] = {}
    for rows in _of_each_series(seen):
        series = rows["series"].iloc[0]
        pairs = [pair for _, f in seen.figures if len(pair := _side_by_side(rows, f)) >= 4]
        for way, terms in (
            ("points beside weights", map(_free_factors, pairs)),
            ("loads beside weights", map(_plain_loads, pairs)),
            ("kilograms over per cent", _of_percent(series, rows, seen.ranges)),
            ("load less weight", [_of_load(series, rows, seen.loads)]),
        ):
            ways.setdefault(way, []).extend(t for t in terms if t is not None)
    masses = [x.kg / x.ratio for x in seen.loads if x.ratio]
    masses += [f["kg"].median() for name, f in seen.figures if "body mass" in name.casefold()]
    masses = [m for m in masses if _possible(m) and m not in (LIGHT_KG, STAND_IN_KG, HEAVY_KG)]
    if masses:
        ways["body mass itself"] = [_gauss(GRID_KG - float(np.median(masses)), _DAYS_KG)]
    # several figures of one thing, and series with one slack, are no more than the best of them
    return {
        way: min(terms, key=lambda t: _moments(_PRIOR + t)[1])
        for way, terms in ways.items()
        if terms
    }


def _of_model(seen: Seen, sets: pd.DataFrame, block: Block) -> dict[str, Floats]:
    """
    Figures that are what the package itself would say, were body mass so and so.

    Loads of sets and of series are worked out with four masses and change in between as good as in
    a line.
    """
    tried = (40.0, 60.0, 80.0, 110.0)
    fits = [fit_strength(_with_mass(sets, mass), block) for mass in tried]
    points = [[p for s in fit.series for p in s.points] for fit in fits]
    start = pd.Timestamp(block.start)
    days = np.array([f"{start + pd.Timedelta(days=p.day):%Y-%m-%d}" for p in points[0]])
    drawn = _between(tried, [[p.load_kg for p in of_fit] for of_fit in points])
    tables = [results_rows(fit, "", block, show_ratio=False) for fit in fits]
    names = tables[0][["capacity", "grip", "hand"]].agg(" ".join, axis=1).to_numpy()
    ends = _between(tried, [[*t["start_kg"], *t["end_kg"]] for t in tables])
    told = _told((x.where, x.kg) for x in seen.loads)
    changes = _between(tried, [[*t["low_pct"], *t["high_pct"]] for t in tables])
    exact = [r for r in seen.ranges if r.unit == "%" and r.step < 0.01]
    bounds = _told((r.where, v) for r in exact for v in (r.low, r.high))
    out = {}
    for way, terms in (
        ("sets as the model has them", [_meets(f, days, drawn) for _, f in seen.figures]),
        ("loads as the model has them", [_meets(told, np.tile(names, 2), ends)]),
        (
            "changes as the model has them",
            [_meets(bounds, np.tile(names, 2), changes, _MEETS_PCT)],
        ),
    ):
        known = [t for t in terms if t is not None]
        if known:
            out[way] = min(known, key=lambda t: _moments(_PRIOR + t)[1])
    return out


def _with_mass(sets: pd.DataFrame, mass_kg: float) -> pd.DataFrame:
    """The sets were that the body mass of hung loads; a pull over a scale rests on the stand-in."""
    out = with_stand_in(sets)
    hung = with_stand_in(sets, mass_kg)["load_kg"]
    out["load_kg"] = out["load_kg"].where(~hung_kinds(sets), hung)
    return out


def _told(items: Iterable[tuple[str, float]]) -> pd.DataFrame:
    """Figures of series, by what the series is called."""
    return pd.DataFrame(list(items), columns=["day", "kg"])


def _between(tried: Sequence[float], values: Sequence[Sequence[float]]) -> Floats:
    """Values by row for every mass of the grid, given those for the masses tried."""
    columns = np.nan_to_num(np.array(values, dtype=float), nan=np.inf).T
    return np.array([np.interp(GRID_KG, tried, column) for column in columns])


def _meets(
    figures: pd.DataFrame, days: npt.NDArray[Any], loads: Floats, near: float = _MEETS_KG
) -> Floats | None:
    """How well figures meet predicted loads of their days; None where they never do."""
    figures = figures[figures["day"].isin(days)]
    if len(figures) < 2:
        return None
    apart = np.full((len(figures), len(GRID_KG)), np.inf)
    for i, (day, kg) in enumerate(zip(figures["day"], figures["kg"], strict=True)):
        on_day = loads[days == day]
        if len(on_day):
            apart[i] = np.abs(on_day - kg).min(axis=0)
    if np.median(apart, axis=0).min() > near:
        return None
    # far is far: a figure that no set of the day explains says nothing
    log: Floats = -np.log1p((np.minimum(apart, 10 * near) / near) ** 2).sum(axis=0)
    return log


def _of_each_series(seen: Seen) -> Iterator[pd.DataFrame]:
    """The sets of each series, once; both widths of a picture say the same."""
    met: set[str] = set()
    for weights in seen.weights:
        for series, rows in weights.groupby("series"):
            if series not in met:
                met.add(str(series))
                yield rows


def _possible(mass_kg: float) -> bool:
    return 30 < mass_kg < 130


def _gauss(distance: Floats, error: float) -> Floats:
    log: Floats = -0.5 * (distance / error) ** 2
    return log


def _side_by_side(weights: pd.DataFrame, figures: pd.DataFrame) -> pd.DataFrame:
    """Sets and figures of the days that have as many of both, in their order."""
    counts, others = Counter(weights["day"]), Counter(figures["day"])
    same = [day for day, n in counts.items() if others.get(day) == n]
    if not same:
        return weights.iloc[:0]
    return weights[weights["day"].isin(same)].merge(
        figures, on=["day", "place"], suffixes=("", "_figure")
    )


def _plain_loads(rows: pd.DataFrame) -> Floats | None:
    """Figures that are the weights plus one and the same mass."""
    if rows["kg"].nunique() < 3:
        return None
    apart = rows["kg_figure"] - rows["kg"]
    mass = float(apart.median())
    if not _possible(mass) or float((apart - mass).abs().median()) > _DAYS_KG:
        return None
    return _gauss(GRID_KG - mass, _DAYS_KG)


def _free_factors(rows: pd.DataFrame) -> Floats | None:
    """
    Sets and figures of the same days side by side; a factor for each edge, place and outcome.

    Figure = factor (mass + added) - constant. Returns the log likelihood; None where nothing fits.
    """
    if np.ptp(rows["kg_figure"] - rows["kg"]) < 0.1:
        return None  # the weights themselves
    alike = ["edge_mm", "place", "ended", "sets", "kind"]
    known = rows.groupby(alike, dropna=False)["kg"]
    rows = rows[(known.transform("count") >= 3) & (known.transform("nunique") >= 2)]
    group = rows.groupby(alike, dropna=False).ngroup().to_numpy()
    n, k = len(rows), len(set(group))
    if k < 2 or n < k + 4 or np.ptp(rows["kg_figure"]) == 0:
        return None
    added, figure = rows["kg"].to_numpy(), rows["kg_figure"].to_numpy()
    one_of = (group[:, None] == np.unique(group)).astype(float)

    def left_at(mass: float) -> Floats:
        design = np.column_stack([one_of * (mass + added)[:, None], -np.ones(n)])
        return np.abs(_robust(design, figure))

    # a first look every 5 kg, as most figures have nothing to do with loads
    if min(np.median(left_at(mass)) for mass in GRID_KG[::10]) > 10 * _FITS_KG:
        return None
    left = np.array([left_at(mass) for mass in GRID_KG])
    if np.median(left, axis=1).min() > _FITS_KG:
        return None
    # a few sets carry what the page doesn't tell (a reserve): they are let go
    log: Floats = -np.log1p((left / _ERROR_KG) ** 2).sum(axis=1)
    return log


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
    best = rows[rows["ended"] == "to the limit"].groupby("edge_mm")["kg"].max()
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


def _of_percent(series: str, rows: pd.DataFrame, ranges: list[Range]) -> Iterator[Floats]:
    """Kilograms over per cent is the load; less what was added, body mass."""
    mine = [r for r in ranges if _same_series(r.where, series) and r.high - r.low > 2 * r.step]
    for kg in (r for r in mine if r.unit == "kg"):
        for pct in (r for r in mine if r.unit == "%"):
            load, error = _load_of(kg, pct)
            mass, spread = _less_weight(load, series, rows)
            if _one_change(kg, pct) and _possible(mass):
                yield _gauss(GRID_KG - mass, math.hypot(error, spread))


def _one_change(kg: Range, pct: Range) -> bool:
    """Whether kilograms and per cent can be of one change: both ends must lead to one load."""
    load, _ = _load_of(kg, pct)
    return all(
        abs(a - b / 100 * load) <= 1.5 * (kg.step + pct.step / 100 * load)
        for a, b in ((kg.low, pct.low), (kg.high, pct.high))
    )


def _load_of(kg: Range, pct: Range) -> tuple[float, float]:
    """The load whose change both tell, and its error: kilograms are rounded outward."""
    width = kg.high - kg.low - kg.step * (kg.step >= 1)
    share = (pct.high - pct.low) / 100
    load = width / share
    return load, load * math.hypot(0.41 * kg.step / width, 0.0041 * pct.step / share)


def _of_load(series: str, rows: pd.DataFrame, loads: list[Load]) -> Floats | None:
    """A whole load less what was added."""
    told = [x.kg for x in loads if _same_series(x.where, series)]
    told = [kg for kg in told if _possible(_less_weight(kg, series, rows)[0])]
    if not told:
        return None
    mass, spread = _less_weight(float(np.median(told)), series, rows)
    return _gauss(GRID_KG - mass, spread)


def _less_weight(load: float, series: str, rows: pd.DataFrame) -> tuple[float, float]:
    """Body mass and its error, kg, out of a load at the reference and the heaviest set done."""
    mean, sd = _ABOVE[_about(series)[0]]
    return load * (1 - mean) - float(rows["kg"].max()), sd * load


def _same_series(text: str, series: str) -> bool:
    """Whether words are about a series: its capacity, and no other grip or hand."""
    (one, other) = (_about(x) for x in (text, series))
    capacity, *rest = zip(one, other, strict=True)
    return capacity[0] == capacity[1] != "" and all(not a or not b or a == b for a, b in rest)


def _about(text: str) -> tuple[str, str, str]:
    """Capacity, grip and hand that words name; "" for none, or for more than one."""
    plain = text.casefold().replace("_", " ")
    kinds = (
        ("repeater", "pull", "hang"),
        ("half", "full", "four", "three", "two", "pinch", "sloper"),
        ("left", "right"),
    )
    found = [[word for word in words if word in plain] for words in kinds]
    capacity, grip, hand = (f[0] if len(f) == 1 else "" for f in found)
    return capacity, grip, hand


def _of_hands(rows: pd.DataFrame) -> Iterator[tuple[str, Floats]]:
    """Best weights of one hand and of both."""
    one = rows["series"].str.contains("left|right")
    if one.any() and not one.all():
        both, single = rows.loc[~one, "kg"].max(), rows.loc[one, "kg"].max()
        with np.errstate(invalid="ignore", divide="ignore"):
            ratio = np.log((GRID_KG + single) / (GRID_KG + both))
        log = _gauss(ratio - math.log(_ONE_HAND), _ONE_HAND_SD)
        yield "hands", np.nan_to_num(log, nan=-50.0)
