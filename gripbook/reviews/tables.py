"""
Tidy frames of a review, one row a thing, with documented columns.

`r.tables.tests` and the others are made when they are asked for. Columns, units and types are those
of `columns`, also in a frame without rows. Where body mass is hidden, what would lead back to it is
NaN, and so are frames of such figures without rows.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import pandas as pd

from gripbook.display import Displayed
from gripbook.reviews.block_facts import BlockFacts
from gripbook.reviews.change_facts import SeriesChange
from gripbook.reviews.climbed import climbs_table
from gripbook.reviews.columns import described, typed
from gripbook.reviews.done import sets_table, weeks_table
from gripbook.reviews.measured import measures_table
from gripbook.reviews.proposal import propose_next

_SERIES = ["capacity", "grip", "hand", "edge_mm", "load_kind"]
#: The frames of a review, in the order of its page.
FRAMES: Final = (
    "changes", "tests", "paths", "points", "sets", "weeks", "next", "ratio", "measures", "climbs",
)  # fmt: skip


def _of(series: SeriesChange) -> dict[str, object]:
    return {column: getattr(series, column) for column in _SERIES}


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Tables(Displayed):
    """The frames of one review; in a notebook it lists them."""

    review: BlockFacts

    def __repr__(self) -> str:
        return f"<Tables of {self.review.athlete.id!r}: {', '.join(FRAMES)}; see .columns>"

    @property
    def columns(self) -> pd.DataFrame:
        """Every column of every frame: `table`, `column`, `dtype`, `unit`, `meaning`."""
        return described(FRAMES)

    @property
    def changes(self) -> pd.DataFrame:
        """A row a series: start, end and change of its load, with its range."""
        rows = [
            {
                **{c: getattr(s.fit, c) for c in ("sets", "days", "exact_sets")},
                **{c: getattr(s, c) for c in _CHANGE},
                "bound": s.path_kind != "estimate",
            }
            for s in self.review.change.series
        ]
        return typed(pd.DataFrame(rows), "changes")

    @property
    def paths(self) -> pd.DataFrame:
        """A row a series and week: the load that a first set of the day could hold."""
        return self._all("path", "paths")

    @property
    def points(self) -> pd.DataFrame:
        """A row a set that a series rests on."""
        return self._all("points", "points")

    def _all(self, name: str, frame: str) -> pd.DataFrame:
        parts = [getattr(s, name).assign(**_of(s)) for s in self.review.change.series]
        parts = [part for part in parts if len(part)]
        return typed(pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(), frame)

    @property
    def tests(self) -> pd.DataFrame:
        """A row a test day and series, first and last: its best set."""
        rows = []
        for s in self.review.change.series:
            for which, test in (("first", s.first_test), ("last", s.last_test)):
                if test is None or (which == "last" and test is s.first_test):
                    continue
                best = {name: getattr(test.best, name) for name in test.best.__slots__}
                failed = test.failed.shown_kg if test.failed else float("nan")
                rows.append({**_of(s), "which": which, **best, "failed_kg": failed})
        return typed(pd.DataFrame(rows), "tests")

    @property
    def sets(self) -> pd.DataFrame:
        """A row a row of hangs.csv in the block, with what a page may show of its weight."""
        return typed(sets_table(self.review.sets), "sets")

    @property
    def weeks(self) -> pd.DataFrame:
        """A row a block week: plan, work and session load."""
        return typed(weeks_table(self.review.done, self.review.dose.weeks), "weeks")

    @property
    def measures(self) -> pd.DataFrame:
        """A row a measure, side and unit, first to last."""
        return typed(measures_table(self.review.measured), "measures")

    @property
    def climbs(self) -> pd.DataFrame:
        """A row a discipline, place, period and month."""
        return typed(climbs_table(self.review.climbed), "climbs")

    @property
    def ratio(self) -> pd.DataFrame:
        """A row a week: the main series' load over body mass."""
        ratio = self.review.change.ratio
        return typed(ratio.path if ratio else pd.DataFrame(), "ratio")

    @property
    def next(self) -> pd.DataFrame:
        """A row a session and series of what is proposed next."""
        return propose_next(self.review).table()


_CHANGE = [*_SERIES, "verdict", "chance", "start_kg", "end_kg", "change_kg", "low_kg", "high_kg"]
_CHANGE += ["change_pct", "low_pct", "high_pct"]
