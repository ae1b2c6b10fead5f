"""What was climbed before, during and after the block; no grade is foretold from grip."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from gripbook.derive.climbs import (
    AROUND_DAYS,
    GROUPS,
    PERIODS,
    climbs_around,
    climbs_by,
    grade_climbs,
)
from gripbook.logs import Block


@dataclass(frozen=True, slots=True, eq=False)
class Climbed:
    """
    Climbs around a block.

    `months`: one row per discipline, place, period and month; `periods`: the same without months
    (columns of `climbs_by`). `begun`: the periods that the log has reached: one not yet reached is
    not "none". `attempts`, `unstyled`, `unknown`: climbs around the block that were attempts, that
    have no style (counted as done), whose grade is not in the comparison.
    """

    months: pd.DataFrame
    periods: pd.DataFrame
    begun: tuple[str, ...]
    attempts: int
    unstyled: int
    unknown: int


def describe_climbs(climbs: pd.DataFrame, block: Block, last: pd.Timestamp) -> Climbed:
    """
    One athlete's climbs around a block.

    Parameters
    ----------
    climbs : frame of climbs.csv.
    last : the log's last day.
    """
    graded = grade_climbs(climbs)
    around = climbs_around(graded, block)
    span = pd.Timedelta(days=AROUND_DAYS)
    here = graded[
        graded["date"].between(pd.Timestamp(block.start) - span, pd.Timestamp(block.end) + span)
    ]
    return Climbed(
        months=climbs_by(around, [*GROUPS, "period", "month"]),
        periods=climbs_by(around, [*GROUPS, "period"]),
        begun=tuple(p for p in PERIODS if p != "after" or last > pd.Timestamp(block.end)),
        attempts=int((here["style"] == "attempt").sum()),
        unstyled=int((around["style"] == "").sum()),
        unknown=int(here["ircra"].isna().sum()),
    )


def climbs_table(climbed: Climbed) -> pd.DataFrame:
    """
    Climbs around a block as a tidy frame.

    Returns
    -------
    DataFrame, one row per discipline, place, period and month: the columns of `climbs_by`
    (`discipline`, `place`, `period`, `month`, `climbs`, `best_of`, `hardest`, `median` with their
    errors on the IRCRA scale, `hardest_grade`, `median_grade`, `scale`, `file`, `line`).
    """
    return climbed.months.copy()
