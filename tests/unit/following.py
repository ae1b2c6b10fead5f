"""Logs by hand carried on: the proposed block is written, and its weeks are logged as proposed."""

from __future__ import annotations

import csv
import datetime as dt
import shutil
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from gripbook.logs import load_logs
from gripbook.logs.block_writer import write_block
from gripbook.reviews import BlockReview, NextBlock, propose_next, review
from gripbook.reviews.proposal import NextRow

BY_HAND = Path(__file__).parents[1] / "data" / "by_hand"
#: What is done of a row: sets finished, sets failed, seconds or holds left.
Done = Callable[[NextRow], tuple[int, int, float]]


def as_asked(row: NextRow) -> tuple[int, int, float]:
    """All sets, with what was asked left."""
    return int(row.sets or 1), 0, float(row.left or 2)


@dataclass
class Following:
    """A log by hand in a folder of its own, with the block proposed after it."""

    folder: Path
    athlete: str
    plan: NextBlock

    @classmethod
    def begin(cls, name: str, folder: Path) -> Following:
        """Copy the log, and write the block proposed after it beside the old one."""
        shutil.copytree(BY_HAND / name, folder, dirs_exist_ok=True)
        (folder / "block.toml").rename(folder / "block-1.toml")
        logs = load_logs(folder)
        (athlete,) = logs.athlete_ids
        plan = propose_next(review(logs, athlete))
        assert plan.block is not None
        (folder / "block-2.toml").write_text(write_block(plan.block), encoding="utf-8")
        return cls(folder, athlete, plan)

    def review(self) -> BlockReview:
        """The review of the log as it stands."""
        return review(load_logs(self.folder), self.athlete)

    def week(self) -> NextBlock:
        """The coming week."""
        return propose_next(self.review(), week=True)

    def log(self, rows: Iterable[NextRow], done: Done = as_asked) -> None:
        """Log these rows as done, and pain 0 on their days."""
        path = self.folder / "hangs.csv"
        with path.open(encoding="utf-8", newline="") as file:
            columns = next(csv.reader(file))
        days: dict[dt.date, None] = {}
        with path.open("a", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, columns, restval="", lineterminator="\n")
            for row in rows:
                days[row.day] = None
                for cells in self._cells(row, done):
                    if row.exercise == "pull" and "force_kg" not in columns:
                        force = float(str(cells.pop("force_kg")))
                        cells |= {"scale_kg": 40.0, "stand_kg": 40.0 + force}
                    cells["order"] = len(days)
                    writer.writerow({k: v for k, v in cells.items() if k in columns})
        if not (self.folder / "pain.csv").exists():
            return
        with (self.folder / "pain.csv").open(encoding="utf-8", newline="") as file:
            columns = next(csv.reader(file))
        with (self.folder / "pain.csv").open("a", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, columns, restval="", lineterminator="\n")
            for day in days:
                writer.writerow({"athlete": self.athlete, "date": day, "when": "after", "level": 0})

    def _cells(self, row: NextRow, done: Done) -> Iterator[dict[str, object]]:
        kg = row.high_kg if row.low_kg is not None else None
        common: dict[str, object] = {
            "athlete": self.athlete,
            "date": row.day,
            "exercise": row.exercise,
            "grip": row.grip,
            "hand": row.hand,
            "edge_mm": f"{row.edge_mm:g}",
            "hang_s": row.hang_s or "",
            "reps": row.reps or "",
            "rest_s": 3 if row.exercise == "repeater" else "",
        }
        if row.test:
            common |= {"sets": 1, "test": "yes", "reserve_s": 2, **self._test_load(row)}
            yield common
            return
        finished, failed, left = done(row)
        lifted = row.force_kg is not None or row.exercise == "pull"
        common |= {"force_kg": kg if kg is not None else 25.0} if lifted else {"added_kg": kg}
        hold = "reserve_reps" if row.exercise == "repeater" else "reserve_s"
        if finished:
            yield common | {"sets": finished} | ({} if row.exercise == "pull" else {hold: left})
        if failed:
            cut = {"reps_done": 4, "failed_s": 5} if row.exercise == "repeater" else {"failed_s": 6}
            yield common | {"sets": failed} | cut

    def _test_load(self, row: NextRow) -> dict[str, object]:
        """A test of the heaviest weight planned and two steps."""
        of_hand = [
            x.kg
            for x in self.plan.loads
            if (x.grip, x.hand, x.exercise) == (row.grip, row.hand, row.exercise)
        ]
        kg = max((x for x in of_hand if x is not None), default=0.0)
        lifted = any(
            x.force_kg is not None
            for x in self.plan.loads
            if (x.grip, x.hand) == (row.grip, row.hand)
        )
        return {"force_kg": kg + 2.5} if lifted else {"added_kg": kg + 2.5}
