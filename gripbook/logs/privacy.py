"""What athletes.csv says of privacy, read for the most private."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import pandas as pd

from gripbook.logs.people import row_warning
from gripbook.logs.problem import Problem


class Privacy:
    """
    What the rows of athletes.csv say of privacy, read for the most private.

    Where two rows disagree, and where a row can't be read, nothing is shown that one of them may
    have meant to hide.
    """

    def __init__(self) -> None:
        self._unread: set[str] = set()
        self._anyone = False

    def note(self, problems: Iterable[Problem], folder_athlete: str) -> None:
        """Take in the problems of one athletes.csv."""
        for problem in problems:
            if problem.severity != "error" or problem.code == "other_athlete":
                continue
            athlete = problem.athlete or folder_athlete
            if athlete:
                self._unread.add(athlete)
            else:  # it may have been anybody's who has no other row
                self._anyone = True

    def apply(
        self, athletes: pd.DataFrame, ids: Iterable[str]
    ) -> tuple[pd.DataFrame, list[Problem]]:
        """The rows with what holds in `born` and `show_body_mass`, and what is told of it."""
        problems: list[Problem] = []
        for _, rows in athletes[athletes["athlete"].duplicated(keep=False)].groupby("athlete"):
            shown, born = rows["show_body_mass"], rows["born"]
            held = {"show_body_mass": min(shown, key=_MOST_PRIVATE.index), "born": born.max()}
            for column, value in held.items():
                for _, row in rows.iterrows():
                    if row[column] not in ("", value) and not pd.isna(row[column]):
                        problems.append(_overruled(row, column, value))
                athletes.loc[rows.index, column] = value
        unread = set(self._unread)
        if self._anyone:
            unread |= set(ids) - set(athletes["athlete"])
        if not unread:
            return athletes, problems
        athletes.loc[athletes["athlete"].isin(unread), "show_body_mass"] = "no"
        lost = sorted((unread & set(ids)) - set(athletes["athlete"]))
        if lost:
            blank: dict[str, object] = {"name": "", "fingers_since": "", "hand": "", "units": "kg"}
            blank |= {"born": np.nan, "show_body_mass": "no", "file": "athletes.csv", "line": 0}
            made = pd.DataFrame([{"athlete": athlete, **blank} for athlete in lost])
            made = made[list(athletes.columns)].astype(dict(athletes.dtypes))
            athletes = pd.concat([athletes, made], ignore_index=True)
        problems.append(Problem("warning", "body_mass_hidden", "athletes.csv"))
        return athletes, problems


#: Answers to show_body_mass; an empty one is decided by age.
_MOST_PRIVATE = ("no", "", "yes")


def _overruled(row: pd.Series, column: str, value: object) -> Problem:
    """The problem of a cell that another row's, more private one overrules."""
    held = f"{value:g}" if isinstance(value, float) else str(value)
    cell = f"{row[column]:g}" if isinstance(row[column], float) else str(row[column])
    return row_warning(row, "rows_disagree", column, cell, held=held)
