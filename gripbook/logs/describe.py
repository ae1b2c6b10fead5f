"""The log format in words, for people: `gripbook columns` and the README.txt of a new folder."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import Final

from gripbook.errors import GripbookError
from gripbook.logs.block import GRIPS
from gripbook.logs.schema import FILES, Column, LogFile, other_unit

#: What each file is for.
PURPOSE: Final[Mapping[str, str]] = {
    "hangs": "one row per set, or per run of identical sets. The one file that is needed.",
    "body": "body mass by day.",
    "sessions": "one row per session of any kind, and days without training.",
    "pain": "one row per answer about pain; level 0 means asked, none.",
    "measures": "mobility and other tests.",
    "climbs": "routes and boulders climbed.",
    "athletes": "one row per athlete.",
}

#: The columns of results.csv, which comes back.
RESULTS: Final[Mapping[str, str]] = {
    "athlete": "id, as in the logs",
    "block": "the block's name; 'Whole log' where no block was planned",
    "capacity": "hang: the largest load you could hold for the reference seconds; pull: the "
    "largest load of an all-out pull; repeater: the largest load at which you finish the "
    "plan's set",
    "grip": "as in the logs",
    "hand": "as in the logs",
    "edge_mm": "the edge, in mm, that the loads are stated for",
    "start_kg": "estimated load on the block's first day, in kg; where every set was finished, "
    "what was finished at least; empty where not known",
    "end_kg": "estimated load on its last day, in kg; likewise",
    "change_pct": "the change in per cent: 100 * (end / start - 1); empty where not known",
    "low_pct": "lower end of the change's 90 % range, in per cent",
    "high_pct": "upper end of the change's 90 % range, in per cent",
    "prob_rise": "probability that the change is above 0, from 0.001 to 0.999",
    "smallest_pct": "the smallest change that matters, in per cent, as the verdict used it",
    "verdict": "rise (prob_rise at least 0.95, and half of smallest_pct or more), fall (the same "
    "downwards), steady (the whole range within smallest_pct), else unclear",
    "start_ratio": "load / body mass at the start; empty without body.csv or if hidden",
    "end_ratio": "load / body mass at the end; empty likewise",
    "ratio_force_pct": "the part of the ratio's change that comes from the load, 100 * "
    "ln(end_kg / start_kg); empty likewise",
    "ratio_mass_pct": "the part of the ratio's change that comes from body mass, 100 * ln(mass at "
    "the end / mass at the start), which lowers the ratio; empty likewise",
    "sets": "sets that the estimate rests on",
    "days": "days of those sets",
    "exact_sets": "sets among them that ended in failure or were pulls",
}

_WIDTH: Final = 96


def column_text(column: Column) -> str:
    """What a column holds, in one sentence: its meaning, its words or range, and its other unit."""
    parts = [column.meaning]
    words = [c for c in column.choices if c]
    if column.kind == "grip":
        words = list(GRIPS)
    if column.kind == "yes":
        words = ["yes", "no"]
    if words:
        more = ", or a name that block.toml declares" if column.kind == "grip" else ""
        parts.append(f"one of {', '.join(words)}{more}")
    if column.kind == "date":
        parts.append("year-month-day, such as 2026-12-05")
    if column.kind == "time":
        parts.append("hours:minutes")
    if column.kind in ("number", "integer") and column.high != float("inf"):
        whole = "whole number, " if column.kind == "integer" else ""
        parts.append(f"{whole}{column.low:g} to {column.high:g}")
    if column.default:
        parts.append(f"empty: {column.default}")
    other = other_unit(column)
    if other:
        parts.append(f"or {other[0]} instead")
    return "; ".join(parts)


def file_text(kind: LogFile) -> str:
    """A file and its columns; needed ones are marked."""
    lines = [f"{kind.name}.csv: {PURPOSE[kind.name]}"]
    for column in kind.columns:
        needed = " (needed)" if column.needed else ""
        lines.append(_entry(column.name + needed, column_text(column)))
    return "\n".join(lines)


def results_text() -> str:
    """results.csv and its columns."""
    lines = [
        "results.csv, which comes back: one row per athlete, block, capacity, grip and hand.",
        "Figures end where their 90 % range makes further digits meaningless.",
    ]
    return "\n".join([*lines, *(_entry(name, text) for name, text in RESULTS.items())])


def _entry(name: str, text: str) -> str:
    return textwrap.fill(text, _WIDTH, initial_indent=f"  {name:<20} ", subsequent_indent=" " * 23)


def format_text(names: Sequence[str] = ()) -> str:
    """
    The format in words.

    Parameters
    ----------
    names : files (without .csv), `results` among them; none: all.

    Raises
    ------
    GripbookError : there is no such file.
    """
    known = [*FILES, "results"]
    strange = [name for name in names if name not in known]
    if strange:
        raise GripbookError(
            f"{strange[0]}.csv is no file of the log. There are {', '.join(known)}."
        )
    parts = [
        results_text() if name == "results" else file_text(FILES[name]) for name in names or known
    ]
    return "\n\n".join(parts)


README: Final = """\
A log folder of gripbook
========================

Write into the .csv files with any spreadsheet program or text editor. Only hangs.csv is needed.
Leave a cell empty where nothing was recorded, and delete the columns you don't use.
The rows that begin with "# " are examples: they aren't read. Delete them or write below them.

  gripbook check FOLDER       tells what can't be read, and what to do about it
  gripbook report FOLDER      makes a page for each athlete

Stop a set at once when a finger, hand or elbow hurts; see a physician or physiotherapist.

"""


def readme_text() -> str:
    """The README.txt of a new log folder."""
    return README + format_text() + "\n"
