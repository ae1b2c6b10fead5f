"""Best completed loads: per grip, hand and edge; per week; and on test days."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pandas as pd

from gripbook.derive.records import records
from gripbook.logs import Block

#: What tells one series of loads from another.
SERIES = ["exercise", "grip", "hand", "edge_mm", "board", "load_kind"]
#: What must be alike, within one grip, hand and edge, for two test days to make a pair.
_ALIKE = ["board", "load_kind", "hang_s", "rest_s", "reps"]


def completed_sets(sets: pd.DataFrame) -> pd.DataFrame:
    """
    Sets whose load was mastered and is known: finished, or an all-out pull that was not stopped.

    Warm-ups and guessed loads are left out: they say nothing about strength.
    """
    rows = records(sets, "outcome", "warmup", "load_kind", "load_kg")
    return sets[np.array([is_completed(row) for row in rows], dtype=bool)]


def is_completed(row: Any) -> bool:
    """Whether a row of derived sets is one of `completed_sets`."""
    evidence = not row.warmup and row.load_kind != "guess" and not math.isnan(row.load_kg)
    return evidence and row.outcome in ("finished", "pull")


def _best(sets: pd.DataFrame, by: list[str]) -> pd.DataFrame:
    """The row of the highest load in each group (the earliest of equals)."""
    rows = records(sets, "load_kg", "date")
    best: dict[tuple[Any, ...], int] = {}
    for i, key in enumerate(_keys(sets, by)):
        old = rows[best.setdefault(key, i)]
        if (-rows[i].load_kg, rows[i].date) < (-old.load_kg, old.date):
            best[key] = i
    # what is not recorded comes last
    order = sorted(best, key=lambda key: [(v is None, "" if v is None else v) for v in key])
    return sets.iloc[[best[key] for key in order]].reset_index(drop=True)


def _keys(sets: pd.DataFrame, by: list[str]) -> list[tuple[Any, ...]]:
    """Of each row what it is grouped by, None where not recorded (NaN is unlike itself)."""
    return [tuple(None if v != v else v for v in row) for row in records(sets, *by)]


def best_loads(sets: pd.DataFrame) -> pd.DataFrame:
    """
    Highest completed load per exercise, grip, hand, edge, board and kind of reading.

    Returns
    -------
    Rows of `sets`, one per series, all their columns (so `date`, `file` and `line` lead to the
    log). Edges are not converted into each other here.
    """
    return _best(completed_sets(sets), SERIES)


def best_of_week(sets: pd.DataFrame) -> pd.DataFrame:
    """Highest completed load per block week and series; rows of `sets` with all columns."""
    return _best(completed_sets(sets), ["week", *SERIES])


def to_the_limit(sets: pd.DataFrame) -> pd.Series:
    """
    Whether each set ended at the athlete's limit.

    It failed, was an all-out pull, or was finished with nothing judged to be left.
    """
    left = sets["reserve_s"].fillna(sets["reserve_reps"])
    nothing_left = (sets["outcome"] == "finished") & (left == 0)
    limit: pd.Series = sets["outcome"].isin(["failed", "pull"]) | nothing_left
    return limit


def sets_of_test_days(sets: pd.DataFrame, block: Block) -> pd.DataFrame:
    """
    Tests: sets marked `test`; where none is marked at all, those to the limit in test weeks.

    Whoever marks tests has marked them all: a set of another series in a test week is training. A
    set that leaves something in hand is no test of the limit. Warm-ups are never tests.
    """
    marked = sets["test"] & ~sets["warmup"]
    if marked.any():
        return sets[marked]
    return sets[sets["week"].isin(block.test_weeks) & ~sets["warmup"] & to_the_limit(sets)]


def _most_tested(sets: pd.DataFrame) -> pd.DataFrame:
    """Of one grip, hand and edge the series that was tested on the most days."""
    # an all-out pull ends by itself; its planned seconds tell nothing apart
    alike = sets.assign(hang_s=sets["hang_s"].mask(sets["exercise"] == "pull"))
    number = alike.groupby(_ALIKE, dropna=False).ngroup()
    size = pd.DataFrame(
        {
            "days": sets.groupby(number)["date"].nunique(),
            "steady": (sets["load_kind"] == "steady").groupby(number).all(),
            "sets": sets.groupby(number)["sets"].sum(),
        }
    )
    most = size.sort_values(list(size), ascending=False, kind="stable").index[0]
    return sets[number == most]


def changes_between_tests(sets: pd.DataFrame, block: Block) -> pd.DataFrame:
    """
    Best completed load on the first and the last test day of each series.

    Returns
    -------
    DataFrame, one row per (capacity, grip, hand, edge_mm): `start_kg`, `end_kg` (NaN where only
    one test day has a completed set), `start_date`, `end_date`, `change_pct`. The pair says
    nothing about noise: at a day-to-day error of 5 % a pair needs a change of 14 %.
    A pair is never made across boards, steady and peak readings, or holds of other length: of
    several such series the one with the most test days counts; of equals the steady one, then
    the one with the most sets.
    """
    tested = completed_sets(sets_of_test_days(sets[sets["in_block"]], block))
    keys = ["exercise", "grip", "hand", "edge_mm"]
    rows: list[dict[str, object]] = []
    for key, every in tested.groupby(keys, sort=True, dropna=False):
        series_sets = _most_tested(every)
        days = series_sets.groupby("date")["load_kg"].max().sort_index()
        two = len(days) > 1
        start, end = float(days.iloc[0]), float(days.iloc[-1]) if two else float("nan")
        rows.append(
            {
                **dict(zip(("capacity", "grip", "hand", "edge_mm"), key, strict=True)),
                "start_kg": start,
                "end_kg": end,
                "start_date": days.index[0],
                "end_date": days.index[-1] if two else pd.NaT,
                "change_pct": 100.0 * (end / start - 1.0),
            }
        )
    # named, so that a frame without rows has them too
    types = dict.fromkeys(["capacity", "grip", "hand"], "str")
    types |= dict.fromkeys(["edge_mm", "start_kg", "end_kg"], "float64")
    types |= dict.fromkeys(["start_date", "end_date"], "datetime64[us]")
    types["change_pct"] = "float64"
    return pd.DataFrame(rows, columns=list(types)).astype(types)
