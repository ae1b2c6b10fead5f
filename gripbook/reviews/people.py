"""Who the athlete is, and what a page may show of them."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import pandas as pd

ADULT_AGE = 18


@dataclass(frozen=True, slots=True)
class Athlete:
    """
    One athlete as the page needs them.

    `minor` is None where the year of birth is not recorded. `units` is what the athlete's page
    speaks in. `show_body_mass` decides whether body mass, and whatever would reveal it, is shown.
    """

    id: str
    name: str
    born: int | None
    minor: bool | None
    fingers_since: str
    units: str
    show_body_mass: bool


def describe_athlete(athlete: str, rows: pd.DataFrame, as_of: dt.date) -> Athlete:
    """
    Read one athlete's row of athletes.csv (the last one where there are several).

    Age is taken low: whoever turns 18 in the year of `as_of` counts as under 18. Under 18 body
    mass is hidden unless `show_body_mass` says yes.
    """
    if rows.empty:
        return Athlete(athlete, athlete, None, None, "", "kg", True)
    row = rows.iloc[-1]
    born = None if pd.isna(row["born"]) else int(row["born"])
    minor = None if born is None else as_of.year - born <= ADULT_AGE
    said = row["show_body_mass"]
    return Athlete(
        id=athlete,
        name=row["name"] or athlete,
        born=born,
        minor=minor,
        fingers_since=row["fingers_since"],
        units=row["units"] or "kg",
        show_body_mass=said == "yes" or (said == "" and minor is not True),
    )
