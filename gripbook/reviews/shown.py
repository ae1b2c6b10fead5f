"""
What a page may say of a load.

Where body mass is hidden, so is all that would give it away: the load of a hang with nothing added
is body mass itself, and kilograms and per cent of the same load together lead back to it. Such
pages speak of added weight, and of an over-scale pull only as the difference to the first one.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from gripbook.words import mark

#: What a load is shown as, by the name in the column `shown_as` (give it to `say` for a page).
LOAD = mark("load on the fingers")
ADDED = mark("added weight")
DIFFERENCE = mark("difference to the first pull")

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


def shown_loads(sets: pd.DataFrame, *, show_body_mass: bool) -> pd.DataFrame:
    """
    The sets with `shown_kg` (float) and `shown_as` (str), and nothing a page may not tell.

    Parameters
    ----------
    sets : derived sets of one athlete.
    show_body_mass : where False, the columns in `REVEALING` are left out and `shown_kg` is the
        added weight, for over-scale sets the difference in kilograms to the first of the series,
        and the load itself only where a gauge read it.
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
    gauge = (out["load_source"] == "gauge").to_numpy()
    out["shown_kg"] = np.select(
        [gauge, over_scale.to_numpy()],
        [out["load_kg"].to_numpy(), difference.to_numpy()],
        default=out["added_kg"].where(out["wrong_kg"].isna()).to_numpy(),
    )
    words = np.select([gauge, over_scale.to_numpy()], [LOAD, DIFFERENCE], default=ADDED)
    out["shown_as"] = pd.Series(words, index=out.index, dtype="str")
    return out.drop(columns=list(REVEALING))
