"""Climbs on one scale of difficulty, by month before, during and after a block."""

from __future__ import annotations

import datetime as dt
import statistics
from collections import Counter
from typing import Any

import numpy as np
import pandas as pd

from gripbook.derive.records import records
from gripbook.logs import Block
from gripbook.logs.grades import UnknownGradeError, nearest_grade, read_grade

#: Climbs this long before and after the block are looked at; eight weeks, since what was trained
#: shows in climbing late, if at all (own choice, no source).
AROUND_DAYS = 56
#: A month's figure is the median of this many of its hardest climbs.
BEST = 5
PERIODS = ("before", "during", "after")
#: Climbs are counted apart by these.
GROUPS = ["discipline", "place"]


def grade_climbs(climbs: pd.DataFrame) -> pd.DataFrame:
    """
    One athlete's climbs with their grades on the IRCRA scale.

    Adds `ircra` (middle of the grade's rows), `ircra_low`, `ircra_high` (NaN where the grade is not
    in the published comparison) and `discipline` (`route`, `boulder`, "").

    Parameters
    ----------
    climbs : frame of climbs.csv. Index and rows are kept.
    """
    read: dict[tuple[str, str], tuple[float, float, float, str]] = {}
    for grade, scale in zip(climbs["grade"], climbs["scale"], strict=True):
        if (grade, scale) in read:
            continue
        try:
            g = read_grade(grade, scale)
            read[grade, scale] = (g.index, g.low, g.high, g.discipline)
        except UnknownGradeError:
            read[grade, scale] = (np.nan, np.nan, np.nan, "")
    values = [read[p] for p in zip(climbs["grade"], climbs["scale"], strict=True)]
    names = ["ircra", "ircra_low", "ircra_high", "discipline"]
    return climbs.join(pd.DataFrame(values, columns=names, index=climbs.index))


def climbs_around(graded: pd.DataFrame, block: Block) -> pd.DataFrame:
    """
    Climbs done around the block whose grade is known, with `period` and `month` (its first day).

    From `AROUND_DAYS` before the block to as long after it; attempts are left out. An empty style
    counts as done.
    """
    start, end = pd.Timestamp(block.start), pd.Timestamp(block.end)
    around = pd.Timedelta(days=AROUND_DAYS)
    here = graded["date"].between(start - around, end + around)
    climbs = graded[here & graded["ircra"].notna() & (graded["style"] != "attempt")]
    period = np.select(
        [climbs["date"] < start, climbs["date"] <= end], PERIODS[:2], default=PERIODS[2]
    )
    return climbs.assign(
        period=pd.Series(period, index=climbs.index, dtype="str"),
        month=climbs["date"].to_numpy().astype("datetime64[M]").astype("datetime64[us]"),
    )


def climbs_by(around: pd.DataFrame, by: list[str]) -> pd.DataFrame:
    """
    Hardest climb and median of the best five of each group.

    Parameters
    ----------
    around : from `climbs_around`.
    by : column names, for example `[*GROUPS, "period", "month"]`.

    Returns
    -------
    DataFrame, one row per group in the order of `by` (periods in time's order): `climbs` (how
    many), `best_of` (how many the median is of: five, or fewer where there were fewer),
    `hardest`, `hardest_error`, `median`, `median_error` (IRCRA; half-widths), `scale` (the one
    most used in discipline and place), `hardest_grade` and `median_grade` in it, and `file`, `line`
    of the hardest.
    """
    scales: dict[tuple[str, str], Counter[str]] = {}
    groups: dict[tuple[Any, ...], list[Any]] = {}
    for climb in records(around):
        scales.setdefault((climb.discipline, climb.place), Counter())[climb.scale] += 1
        groups.setdefault(tuple(getattr(climb, name) for name in by), []).append(climb)
    # of equals the first by name
    scale_of = {key: max(sorted(counts), key=counts.__getitem__) for key, counts in scales.items()}
    rows: list[dict[str, object]] = []
    for key in sorted(groups, key=lambda key: _in_time(by, key)):
        ordered = sorted(groups[key], key=lambda climb: (-climb.ircra, climb.date))
        best, top = ordered[:BEST], ordered[0]
        middle = statistics.median(climb.ircra for climb in best)
        half = [(climb.ircra_high - climb.ircra_low) / 2 for climb in best]
        scale = scale_of[top.discipline, top.place]
        rows.append(
            {
                **dict(zip(by, key, strict=True)),
                "climbs": len(ordered),
                "best_of": len(best),
                "hardest": top.ircra,
                "hardest_error": half[0],
                "median": middle,
                "median_error": max(half),
                "scale": scale,
                "hardest_grade": nearest_grade(top.ircra, scale),
                "median_grade": nearest_grade(middle, scale),
                "file": top.file,
                "line": top.line,
            }
        )
    numbers = ["hardest", "hardest_error", "median", "median_error"]
    columns = [*by, "climbs", "best_of", *numbers, "scale", "hardest_grade", "median_grade"]
    return pd.DataFrame(rows, columns=[*columns, "file", "line"])


def _in_time(by: list[str], key: tuple[Any, ...]) -> tuple[Any, ...]:
    """A group's key for sorting: periods in time's order."""
    return tuple(
        PERIODS.index(value) if name == "period" else value
        for name, value in zip(by, key, strict=True)
    )


def month_span(month: pd.Timestamp, period: str, block: Block) -> tuple[dt.date, dt.date]:
    """First and last day of a month that fall into a period of the block."""
    first = month.date()
    last = (month + pd.offsets.MonthEnd(1)).date()
    around = dt.timedelta(days=AROUND_DAYS)
    day = dt.timedelta(days=1)
    low, high = {
        "before": (block.start - around, block.start - day),
        "during": (block.start, block.end),
        "after": (block.end + day, block.end + around),
    }[period]
    return max(first, low), min(last, high)
