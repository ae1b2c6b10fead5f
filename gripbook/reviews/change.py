"""
What changed, in the columns of results.csv.

In this version start and end are the best completed loads of the first and the last test day of a
series; the columns of the interval and the verdict stay empty.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd

from gripbook.derive import changes_between_tests, completed_sets
from gripbook.logs import Block
from gripbook.reviews.people import Athlete

RESULT_COLUMNS: Final = (
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
)


def empty_results() -> pd.DataFrame:
    """A frame of no rows with the columns of results.csv."""
    return pd.DataFrame(columns=list(RESULT_COLUMNS))


def measure_change(sets: pd.DataFrame, block: Block, athlete: Athlete) -> pd.DataFrame:
    """
    One athlete's rows of results.csv, one per capacity, grip and hand.

    Parameters
    ----------
    sets : derived sets.

    Returns
    -------
    DataFrame with `RESULT_COLUMNS`; what is not known is NaN or "". Where a series was tested on
    several edges, the reference edge counts, else the edge most tested; nothing is converted.
    The split of the ratio is in log terms: 100 ln(end/start) of the load (`ratio_force_pct`) and
    of body mass (`ratio_mass_pct`); the ratio's own change is their difference.
    """
    inside = sets[sets["in_block"]]
    evidence = inside[
        ~inside["warmup"] & (inside["load_kind"] != "guess") & inside["load_kg"].notna()
    ]
    if evidence.empty:
        return empty_results()
    tests = changes_between_tests(sets, block)
    mass = completed_sets(inside).groupby("date")["body_mass_kg"].first()
    rows: list[dict[str, Any]] = []
    for (capacity, grip, hand), own in evidence.groupby(["exercise", "grip", "hand"], sort=True):
        here = tests[
            (tests["capacity"] == capacity) & (tests["grip"] == grip) & (tests["hand"] == hand)
        ]
        row = _pair(here, own, block)
        start, end = row["start_kg"], row["end_kg"]
        row |= {
            "athlete": athlete.id,
            "block": block.name,
            "capacity": capacity,
            "grip": grip,
            "hand": hand,
            "smallest_pct": block.smallest_change_pct[str(capacity)],
            "verdict": "",
            "sets": int(own["sets"].sum()),
            "days": int(own["date"].nunique()),
            "exact_sets": int(own.loc[own["outcome"].isin(["failed", "pull"]), "sets"].sum()),
        }
        if athlete.show_body_mass:
            first = float(mass.get(row.pop("start_date"), np.nan))
            last = float(mass.get(row.pop("end_date"), np.nan))
            row["start_ratio"], row["end_ratio"] = start / first, end / last
            row["ratio_force_pct"] = 100.0 * float(np.log(end / start))
            row["ratio_mass_pct"] = 100.0 * float(np.log(last / first))
        rows.append(row)
    return pd.DataFrame(rows).reindex(columns=list(RESULT_COLUMNS))


def _pair(tests: pd.DataFrame, own: pd.DataFrame, block: Block) -> dict[str, Any]:
    """Start, end and change on the edge that counts; NaN where there is no pair of test days."""
    at_reference = tests[tests["edge_mm"] == block.reference_edge_mm]
    usual = own["edge_mm"].mode()
    edge = (
        block.reference_edge_mm if len(at_reference) else (usual.iloc[0] if len(usual) else np.nan)
    )
    same = tests[(tests["edge_mm"] == edge) | (tests["edge_mm"].isna() & np.isnan(edge))]
    row = same.iloc[0] if len(same) else None
    return {
        "edge_mm": edge,
        "start_kg": np.nan if row is None else row["start_kg"],
        "end_kg": np.nan if row is None else row["end_kg"],
        "change_pct": np.nan if row is None else row["change_pct"],
        "start_date": pd.NaT if row is None else row["start_date"],
        "end_date": pd.NaT if row is None else row["end_date"],
    }
