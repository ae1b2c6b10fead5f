"""Loads that look like slips of the pen: 105 for 10.5."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
import pandas as pd

#: A load above this many times body mass is looked at; where none is known, above so many
#: kilograms (own choices, no source: strong climbers do hang twice their body mass by both hands).
TIMES_BODY_MASS: Final = 2.0
WITHOUT_BODY_MASS_KG: Final = 200.0
#: It looks wrong where it lies so far above every other set of its kind, and there are some (own
#: choices, no source). Two that agree stand by each other.
ABOVE_OTHERS: Final = 1.3
OTHERS: Final = 3
_KIND: Final = ["exercise", "grip", "hand"]


def high_loads(
    load_kg: npt.NDArray[np.float64], mass_kg: npt.NDArray[np.float64]
) -> npt.NDArray[np.bool_]:
    """Whether a load is high enough to be looked at, arrays of shape (N,)."""
    line = np.where(np.isfinite(mass_kg), TIMES_BODY_MASS * mass_kg, WITHOUT_BODY_MASS_KG)
    high: npt.NDArray[np.bool_] = load_kg > line
    return high


def wrong_looking(
    hangs: pd.DataFrame,
    load_kg: npt.NDArray[np.float64],
    mass_kg: npt.NDArray[np.float64],
    who: npt.NDArray[np.intp] | None = None,
) -> npt.NDArray[np.bool_]:
    """
    Rows whose load is high and stands alone, shape (N,).

    Such a load is taken as not known: one slip of the pen would else become the block's news and
    the next block's start.

    Parameters
    ----------
    hangs : rows with `exercise`, `grip` and `hand`.
    load_kg, mass_kg : load on the fingers and body mass of each, NaN where not known.
    who : numbers of the athletes; None: all of one.
    """
    wrong = np.zeros(len(hangs), dtype=bool)
    rows = np.flatnonzero(high_loads(load_kg, mass_kg))
    if not len(rows):
        return wrong
    near = np.arange(len(hangs)) if who is None else np.flatnonzero(np.isin(who, who[rows]))
    kinds = [hangs[name].iloc[near].to_numpy(dtype=object) for name in _KIND]
    kinds += [] if who is None else [who[near]]
    of = np.zeros(len(hangs), dtype=np.intp)
    of[near] = pd.DataFrame(dict(enumerate(kinds))).groupby(list(range(len(kinds)))).ngroup()
    known = near[np.isfinite(load_kg[near])]
    for row in rows.tolist():
        others = load_kg[known[(of[known] == of[row]) & (known != row)]]
        wrong[row] = len(others) >= OTHERS and load_kg[row] > ABOVE_OTHERS * others.max()
    return wrong
