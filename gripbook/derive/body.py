"""Body mass on any day, and how far it can be trusted."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

#: SD of body mass in kg on a weigh-in day, and of what it walks at random in a week away from one;
#: the walk grows with the root of time (own choices, no source).
ERROR_ON_DAY_KG, WALK_KG = 0.5, 0.9
#: Beyond this distance from a weigh-in a page says so (own choice, no source).
OLD_WEIGH_IN_DAYS = 14


def body_mass_error_kg(age_days: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """SD of a body mass taken `age_days` from the nearest weigh-in, in kg."""
    return np.hypot(ERROR_ON_DAY_KG, WALK_KG * np.sqrt(age_days / 7.0))


def body_mass_on(dates: pd.Series, body: pd.DataFrame) -> pd.DataFrame:
    """
    One athlete's body mass on given days.

    Parameters
    ----------
    dates : days, any order, repeats allowed.
    body : the athlete's weigh-ins (`date`, `body_mass_kg`); several of one day are averaged.

    Returns
    -------
    DataFrame with the index of `dates`: `body_mass_kg` (a straight line between weigh-ins, the
    nearest one before the first and after the last), `body_mass_error_kg` (SD) and
    `body_mass_age_days` (distance to the nearest weigh-in). All NaN without any weigh-in. A mass
    is never refused for its age; its error grows instead.
    """
    if body.empty:
        values = np.full((len(dates), 3), np.nan)
    else:
        weighed = body.groupby("date")["body_mass_kg"].mean().sort_index()
        known = _day_numbers(weighed.index.to_series())
        asked = _day_numbers(dates)
        right = np.searchsorted(known, asked).clip(0, len(known) - 1)
        left = (right - 1).clip(0)
        age = np.minimum(np.abs(known[right] - asked), np.abs(known[left] - asked))
        mass = np.interp(asked, known, weighed.to_numpy(dtype=np.float64))
        values = np.column_stack([mass, body_mass_error_kg(age), age])
    names = ["body_mass_kg", "body_mass_error_kg", "body_mass_age_days"]
    return pd.DataFrame(values, columns=names, index=dates.index)


def _day_numbers(dates: pd.Series) -> npt.NDArray[np.float64]:
    days: npt.NDArray[np.float64] = dates.to_numpy().astype("datetime64[D]").astype(np.float64)
    return days
