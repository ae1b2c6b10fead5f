"""`Logs`: everything a log folder says, and how to cut it by athlete and block."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd

from gripbook.display import Displayed
from gripbook.errors import UnknownAthleteError, UnknownBlockError
from gripbook.logs.block import Block
from gripbook.logs.problem import Problem
from gripbook.logs.rows import FileReport
from gripbook.logs.schema import FILES

#: The files of days, the finger work first.
DATED = ("hangs", "body", "sessions", "pain", "measures", "climbs")


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Logs(Displayed):
    """
    Everything a log folder says, in canonical units (kg, mm, s).

    The frames hold the usable rows with the columns of the log format, `file` and `line` of each.
    Text that was not recorded is "", a number NaN, a day NaT. `extra` holds by the file's name,
    row by row with its frame, the columns that the format doesn't know, as text.
    `problems` lists refused rows (errors) and suspicious ones (warnings); `reports` says for each
    file how many rows were read, used and refused.
    """

    folder: Path
    hangs: pd.DataFrame
    body: pd.DataFrame
    sessions: pd.DataFrame
    pain: pd.DataFrame
    measures: pd.DataFrame
    climbs: pd.DataFrame
    athletes: pd.DataFrame
    blocks: tuple[Block, ...]
    problems: tuple[Problem, ...]
    reports: tuple[FileReport, ...]
    extra: Mapping[str, pd.DataFrame] = field(default_factory=dict)
    _places: dict[str, Mapping[str, npt.NDArray[np.intp]]] = field(default_factory=dict, repr=False)

    def __repr__(self) -> str:
        """Name folder and numbers; the rest is in its fields."""
        rows = sum(len(self.frame(name)) for name in DATED)
        return (
            f"<Logs of {self.folder.name!r}: {rows} rows of {len(self.athlete_ids)} athletes, "
            f"{len(self.errors)} refused, {len(self.warnings)} warnings>"
        )

    def _rows_of(self, name: str) -> Mapping[str, npt.NDArray[np.intp]]:
        """Positions of each athlete's rows in one frame, found once: slices are cut often."""
        if name not in self._places:
            self._places[name] = self.frame(name).groupby("athlete", sort=False).indices
        return self._places[name]

    def frame(self, name: str) -> pd.DataFrame:
        """The frame of one file of the format, for example `frame("hangs")`."""
        frame: pd.DataFrame = getattr(self, name)
        return frame

    @property
    def athlete_ids(self) -> tuple[str, ...]:
        """Every athlete with a usable row in any file, in alphabetical order."""
        return tuple(sorted({a for name in FILES for a in self._rows_of(name)}))

    @property
    def errors(self) -> tuple[Problem, ...]:
        """The problems that refuse rows."""
        return tuple(p for p in self.problems if p.severity == "error")

    @property
    def warnings(self) -> tuple[Problem, ...]:
        """The problems of rows that are used all the same."""
        return tuple(p for p in self.problems if p.severity == "warning")

    def places(self, name: str, athlete: str) -> npt.NDArray[np.intp]:
        """Positions of an athlete's rows in one frame."""
        return self._rows_of(name).get(athlete, np.array([], dtype=np.intp))

    def check_athlete(self, athlete: str) -> None:
        """
        See that there is a row of an athlete.

        Raises
        ------
        UnknownAthleteError : there is none; names the athletes there are.
        """
        if not any(athlete in self._rows_of(name) for name in FILES):
            raise UnknownAthleteError(
                f"No row for athlete {athlete!r} in {self.folder.name}. "
                f"Athletes there: {', '.join(self.athlete_ids) or 'none'}."
            )

    def for_athlete(self, athlete: str) -> Logs:
        """
        One athlete's slice: rows, blocks and problems of this athlete and of nobody else.

        Raises
        ------
        UnknownAthleteError : names the athletes there are.
        """
        self.check_athlete(athlete)
        frames = {
            name: self.frame(name).take(self.places(name, athlete)).reset_index(drop=True)
            for name in FILES
        }
        extra = {
            name: frame.take(self.places(name, athlete)).reset_index(drop=True)
            for name, frame in self.extra.items()
        }
        blocks = tuple(b.for_athlete(athlete) for b in self.blocks if b.holds_for(athlete))
        problems = tuple(p for p in self.problems if p.athlete == athlete)
        return replace(
            self,
            **frames,
            extra=extra,
            blocks=blocks,
            problems=problems,
            reports=(),
            _places={},
        )

    def block_for(self, athlete: str, name: str = "") -> Block:
        """
        An athlete's block: the one named, else the latest one begun, else the whole log.

        The whole log also where nothing is logged in the days of the latest block: its first day
        may be mistaken, and no entry, least of all one of pain, may be left out for that.

        Raises
        ------
        UnknownBlockError : `name` is given and no such block holds for the athlete.
        """
        plans = [b.for_athlete(athlete) for b in self.blocks if b.holds_for(athlete)]
        if name:
            for planned in plans:
                if planned.name == name:
                    return planned
            raise UnknownBlockError(
                f"No block named {name!r} holds for {athlete}. "
                f"Blocks there: {', '.join(b.name for b in plans) or 'none'}."
            )
        never = dt.date(2000, 1, 3)
        work = self.span(athlete, "hangs")
        last = (work or self.span(athlete, *DATED) or (never, never))[1]
        block: Block | None = None
        if plans:
            begun = [b for b in plans if b.start <= last]
            block = max(begun or plans, key=lambda b: b.start)
            if block.start <= last <= block.end or self._any_in(athlete, block):
                return block
        names = ("hangs", "pain") if work else DATED
        first, last = self.span(athlete, *names) or (never, never)
        weeks = max(1, (last - first).days // 7 + 1)
        whole = Block(name="Whole log", start=first, weeks=weeks, planned=False)
        if block is None:
            return whole
        # what doesn't hang on weeks still holds: limits, plates, edges, what strength is stated for
        return replace(
            block,
            name=whole.name,
            start=whole.start,
            weeks=whole.weeks,
            planned=False,
            phases=(),
            test_weeks=(),
            easy_weeks=(),
            weekly={},
            aside=block,
        )

    def block_names(self, athlete: str, name: str = "") -> tuple[str, ...]:
        """
        What to review of an athlete.

        The blocks planned (of them the one named), and "", which is the whole log, where there is
        none or nothing is logged in the latest.
        """
        names = [b.name for b in self.blocks if b.holds_for(athlete) and name in ("", b.name)]
        whole = not name and not self.block_for(athlete).planned
        return (*names, "") if whole else tuple(names)

    def _any_in(self, athlete: str, block: Block) -> bool:
        """Whether anything of an athlete is logged in a block's days."""
        days = self._days(athlete, *DATED)
        return bool(
            ((days >= np.datetime64(block.start)) & (days <= np.datetime64(block.end))).any()
        )

    def span(self, athlete: str, *names: str) -> tuple[dt.date, dt.date] | None:
        """First and last day of an athlete's entries in these files."""
        days = self._days(athlete, *names)
        return (days.min().item(), days.max().item()) if len(days) else None

    def _days(self, athlete: str, *names: str) -> npt.NDArray[np.datetime64]:
        """The days of an athlete's entries in these files."""
        dates = [self.frame(n)["date"].to_numpy()[self.places(n, athlete)] for n in names]
        return np.concatenate(dates).astype("datetime64[D]")
