"""
What a page may say where body mass is hidden: the policy, in one place.

The load of a hang is body mass plus what was added, and the added weight stands on the page. So
whatever follows from the load leads back to body mass: a load, its ratio, impulse beside time,
kilograms beside per cent, loads of several edges or of a tired hand beside the weights added, even
the width of a range, which grows with the load. Rounding only slows that down. Therefore:

1. **The page knows no body mass.** Before anything is worked out for such a page,
   `with_stand_in` puts `STAND_IN_KG` in the place of body mass in every hung set, and moves pulls
   over a scale to half of it. Fit, changes, limits, proposals and all text rest on that, so two
   logs that differ in body mass alone give the same page, byte for byte; a test holds every page
   to it. What is told is strength as weight that can be added at an unchanged body mass.
2. **No load of a set at all**: `shown_loads` drops the columns in `REVEALING`; a set is given by
   the weight added, a pull over a scale by its difference to the first one. A gauge's reading is
   given only where nothing of that exercise, grip and hand was hung: there it is body mass too.
3. **No path, no points, no ends, no per cent**, here or on the squad page: a change has a verdict
   and a range in whole kilograms, rounded outward.
4. **Problems quote no cell** of a column in which body mass stands (`shown_problems`).

The stand-in is heavier than most climbers are, so ranges are rather too wide than too narrow: at
`m` kilograms of body mass and `a` added, a range is `(STAND_IN_KG + a) / (m + a)` times as wide as
with the true one. What a proposal promises must hold for light and heavy: it is tried with
`LIGHT_KG` and `HEAVY_KG` too and has to hold for each.

results.csv is the coach's and keeps the figures of the true loads; it must not be handed on.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from typing import Final

import numpy as np
import pandas as pd

from gripbook.logs import Problem

#: What a load is shown as, in the column `shown_as`.
LOAD = "load on the fingers"
ADDED = "added weight"
DIFFERENCE = "difference to the first pull"

#: What stands for body mass where it is hidden, kg (own choice, no source).
STAND_IN_KG: Final = 80.0
#: The lightest and the heaviest body mass that a proposal must suit (own choices, no source).
LIGHT_KG: Final = 40.0
HEAVY_KG: Final = 110.0

#: Columns from which body mass could be read or worked out.
REVEALING = (
    "body_mass_kg",
    "body_mass_error_kg",
    "body_mass_age_days",
    "load_kg",
    "wrong_kg",
    "load_error_kg",
    "force_n",
    "impulse_kg_s",
    "ratio",
    "scale_kg",
    "stand_kg",
    "force_kg",
)


_KIND: Final = ["exercise", "grip", "hand"]


def with_stand_in(sets: pd.DataFrame, mass_kg: float = STAND_IN_KG) -> pd.DataFrame:
    """
    The sets as if body mass had been `mass_kg` on every day.

    Parameters
    ----------
    sets : derived sets of one athlete.
    mass_kg : kilograms.

    Returns
    -------
    DataFrame of the same shape. Where a kind of set (exercise, grip, hand) was hung, its loads
    move by the difference. Where it was only ever pulled over a scale, all loads move alike, so
    that the middle one is half of `mass_kg`: the force of one hand is about half of what two hold,
    and kilograms over per cent would give it. A gauge's reading is shown as it is and stays. A
    load that looked wrong stays unknown.
    """
    out = sets.copy()
    hung = hung_kinds(sets)
    change = (mass_kg - sets["body_mass_kg"]).where(hung, 0.0)
    pulled = (
        sets["load_kg"]
        .where(~hung & sets["scale_kg"].notna())
        .where(sets["load_source"] != "gauge")
    )
    # no load may fall to nothing by it
    moved = max(mass_kg / 2 - pulled.median(), 1.0 - pulled.min())
    load = sets["load_kg"] + change.where(pulled.isna(), moved)
    out["load_kg"] = load.where(load > 0)
    out["body_mass_kg"] = pd.Series(mass_kg, index=sets.index).where(sets["body_mass_kg"].notna())
    out["wrong_kg"] = sets["wrong_kg"] * np.nan
    out["force_n"] = sets["force_n"] * (out["load_kg"] / sets["load_kg"])
    out["impulse_kg_s"] = out["load_kg"] * sets["tension_s"]
    out["ratio"] = out["load_kg"] / out["body_mass_kg"]
    return out


def hung_kinds(sets: pd.DataFrame) -> pd.Series:
    """
    Whether each set is of a kind (exercise, grip, hand) that was hung freely at least once.

    Body mass is in the loads of such a kind, also where a gauge or a scale read them. Booleans
    with the index of `sets`, which are derived sets.
    """
    free = (sets["load_source"] == "body") & ~(sets["scale_kg"] > 0)
    carried = (sets["load_source"] == "gauge") & (sets["added_kg"].fillna(0.0) != 0.0)
    mine: pd.Series = (free | carried).groupby([sets[k] for k in _KIND]).transform("any")
    return mine


def shown_loads(sets: pd.DataFrame, *, show_body_mass: bool) -> pd.DataFrame:
    """
    The sets with `shown_kg` (float) and `shown_as` (str), and nothing a page may not tell.

    Parameters
    ----------
    sets : derived sets of one athlete.
    show_body_mass : where False, the columns in `REVEALING` are left out and `shown_kg` is the
        added weight, for over-scale sets the difference in kilograms to the first of the series,
        and the load itself only where a gauge read it and nothing of that kind was hung.
    """
    out = sets.copy()
    if show_body_mass:
        out["shown_kg"] = out["load_kg"]
        out["shown_as"] = pd.Series(LOAD, index=out.index, dtype="str")
        return out
    over_scale = out["scale_kg"].notna() & (out["load_source"] != "gauge")
    keys = ["exercise", "grip", "hand", "edge_mm", "board", "load_kind"]
    first = out["load_kg"].where(over_scale).groupby([out[k] for k in keys], dropna=False)
    difference = out["load_kg"] - first.transform("first")
    gauge = ((out["load_source"] == "gauge") & ~hung_kinds(out)).to_numpy()
    out["shown_kg"] = np.select(
        [gauge, over_scale.to_numpy()],
        [out["load_kg"].to_numpy(), difference.to_numpy()],
        default=out["added_kg"].where(out["wrong_kg"].isna()).to_numpy(),
    )
    words = np.select([gauge, over_scale.to_numpy()], [LOAD, DIFFERENCE], default=ADDED)
    out["shown_as"] = pd.Series(words, index=out.index, dtype="str")
    return out.drop(columns=list(REVEALING))


#: Columns of body mass in a log, in kilograms or pounds, as a problem may name or quote them.
#: A gauge's `force_kg` is no body mass, but a free hang's reading is.
_MASS_COLUMN: Final = re.compile(r"(body_mass|stand|scale|force)_(kg|lb)", re.IGNORECASE)
#: Problems that are about body mass or follow from it.
_OF_MASS: Final = ("load_high", "load_not_positive", "body_mass_jump")
_ABOUT_BODY: Final = re.compile(r"(?:^|[\\/])body\.csv$", re.IGNORECASE)


def shown_problems(problems: Iterable[Problem], *, show_body_mass: bool) -> tuple[Problem, ...]:
    """
    Problems that a page may tell: none of the future, which depends on the day of printing.

    Where body mass is hidden a problem of a mass column says that its cell could not be used, not
    what stands in it, and the file of weigh-ins is left out, however its name is written.
    """
    kept = [p for p in problems if p.code != "future_date"]
    if show_body_mass:
        return tuple(kept)
    kept = [p for p in kept if p.code not in _OF_MASS and not _ABOUT_BODY.search(p.file)]
    return tuple(_without_value(p) for p in kept)


def _without_value(problem: Problem) -> Problem:
    """The problem without its cell, if that may hold body mass; a row without a column is whole."""
    if problem.column and not _MASS_COLUMN.search(problem.column):
        return problem
    return replace(problem, value="")
