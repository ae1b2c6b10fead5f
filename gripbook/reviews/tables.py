"""
Tidy frames of a review, one row a thing, with documented columns.

`r.tables.tests` and the others are made when they are asked for. Where body mass is hidden, what
would lead back to it is NaN or not there.
"""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from gripbook.reviews.block_facts import BlockFacts
from gripbook.reviews.change_facts import SeriesChange
from gripbook.reviews.climbed import climbs_table
from gripbook.reviews.done import sets_table, weeks_table
from gripbook.reviews.measured import measures_table
from gripbook.reviews.proposal import propose_next

_SERIES = ["capacity", "grip", "hand", "edge_mm", "load_kind"]


def _of(series: SeriesChange) -> dict[str, object]:
    return {column: getattr(series, column) for column in _SERIES}


@dataclass(frozen=True, slots=True, eq=False)
class Tables:
    """The frames of one review."""

    review: BlockFacts

    @property
    def changes(self) -> pd.DataFrame:
        """
        A row a series.

        `capacity`, `grip`, `hand`, `edge_mm`, `load_kind`, `verdict`, `chance`, `start_kg`,
        `end_kg`, `change_kg`, `low_kg`, `high_kg`, `change_pct`, `low_pct`, `high_pct`, `bound`
        (whether loads are bounds), `sets`, `days`, `exact_sets`.
        """
        figures = ["verdict", "chance", "start_kg", "end_kg", "change_kg", "low_kg", "high_kg"]
        figures += ["change_pct", "low_pct", "high_pct"]
        of_fit = ["sets", "days", "exact_sets"]
        rows = [
            {
                **_of(s),
                **{c: getattr(s, c) for c in figures},
                "bound": s.path_kind != "estimate",
                **{c: getattr(s.fit, c) for c in of_fit},
            }
            for s in self.review.change.series
        ]
        return pd.DataFrame(rows, columns=[*_SERIES, *figures, "bound", *of_fit])

    @property
    def paths(self) -> pd.DataFrame:
        """
        A row a series and week.

        `capacity`, `grip`, `hand`, `edge_mm`, `load_kind`, and the columns of `SeriesChange.path`:
        `day`, `kg`, `low_kg`, `high_kg`, `kind`, `logged`.
        """
        return self._all("path")

    @property
    def points(self) -> pd.DataFrame:
        """
        A row a set that a series rests on.

        `capacity`, `grip`, `hand`, `edge_mm`, `load_kind`, and the columns of
        `SeriesChange.points`: `day`, `kg`, `kind`, `known`, `test`, `load_kg`, `file`, `line`.
        """
        return self._all("points")

    def _all(self, name: str) -> pd.DataFrame:
        frames = [getattr(s, name).assign(**_of(s)) for s in self.review.change.series]
        if not frames:
            return pd.DataFrame(columns=_SERIES)
        table = pd.concat(frames, ignore_index=True)
        return table[[*_SERIES, *(c for c in table.columns if c not in _SERIES)]]

    @property
    def tests(self) -> pd.DataFrame:
        """
        A row a test day and series, first and last.

        `capacity`, `grip`, `hand`, `which` (`first` or `last`), `edge_mm`, `load_kind`, and the
        fields of `LoggedSet`, `failed_kg` (the lightest that failed above it, as shown).
        """
        rows = []
        for s in self.review.change.series:
            for which, test in (("first", s.first_test), ("last", s.last_test)):
                if test is None or (which == "last" and test is s.first_test):
                    continue
                best = {name: getattr(test.best, name) for name in test.best.__slots__}
                failed = test.failed.shown_kg if test.failed else float("nan")
                rows.append({**_of(s), "which": which, **best, "failed_kg": failed})
        columns = [*_SERIES, "which", "day", "board", "added_kg", "load_kg", "shown_kg", "hang_s"]
        columns += ["reps", "held_s", "reps_done", "left", "outcome", "file", "line", "failed_kg"]
        return pd.DataFrame(rows, columns=columns)

    @property
    def sets(self) -> pd.DataFrame:
        """A row a row of hangs.csv in the block: see `reviews.done.sets_table`."""
        return sets_table(self.review.sets)

    @property
    def weeks(self) -> pd.DataFrame:
        """A row a block week, plan, work and load: see `reviews.done.weeks_table`."""
        return weeks_table(self.review.done, self.review.dose.weeks)

    @property
    def measures(self) -> pd.DataFrame:
        """A row a measure, side and unit: see `reviews.measured.measures_table`."""
        return measures_table(self.review.measured)

    @property
    def climbs(self) -> pd.DataFrame:
        """A row a discipline, place, period and month: see `reviews.climbed.climbs_table`."""
        return climbs_table(self.review.climbed)

    @property
    def ratio(self) -> pd.DataFrame:
        """A row a week, the headline's load over body mass; empty where body mass is hidden."""
        ratio = self.review.change.ratio
        return ratio.path.copy() if ratio else pd.DataFrame(columns=["day", "ratio", "low", "high"])

    @property
    def next(self) -> pd.DataFrame:
        """A row a session and grip of what is proposed next: see `reviews.proposal`."""
        return propose_next(self.review).frame
