"""The proposals of a log folder as text, table and block files."""

from __future__ import annotations

import csv
import datetime as dt
import io
import math
from collections.abc import Iterable, Sequence
from pathlib import Path

from gripbook.errors import GripbookError
from gripbook.logs import Logs
from gripbook.logs.block_writer import write_block
from gripbook.report.names import page_names
from gripbook.report.spreadsheet import plain_cell
from gripbook.reviews import NextBlock, propose_next, review
from gripbook.words import fmt

#: Columns of the table of a week.
COLUMNS = (
    "athlete",
    "week",
    "start",
    "phase",
    "exercise",
    "grip",
    "hand",
    "edge_mm",
    "sets",
    "added_kg",
    "force_kg",
    "what",
    "because",
)


def proposals(
    logs: Logs,
    athletes: Sequence[str] = (),
    *,
    block: str = "",
    week: bool = False,
    start: dt.date | None = None,
) -> list[NextBlock]:
    """
    The proposals for these athletes, or for all of the folder in order of their names.

    Raises
    ------
    UnknownAthleteError, UnknownBlockError : name what there is.
    """
    ids = dict.fromkeys(athletes) if athletes else logs.athlete_ids
    return [propose_next(review(logs, a, block), week=week, start=start) for a in ids]


def next_text(proposal: NextBlock) -> str:
    """A proposal for the screen: each line, and under it why."""
    when = f"week {proposal.week}, from" if proposal.week else "next block, from"
    lines = [f"{_plain(proposal.athlete)}: {when} {fmt.day(proposal.start)}"]
    for text, because in proposal.all_lines:
        lines += [f"- {_plain(text)}", f"  {_plain(fmt.sentence(because))}"]
    if proposal.choices:
        lines.append("Own choices, no source:")
        lines += [f"- {text}" for text in proposal.choices]
    return "\n".join(lines) + "\n"


def _plain(text: str) -> str:
    """Text for a terminal: names from a log must not move its cursor."""
    return "".join(c if c.isprintable() or c == fmt.NBSP else "\ufffd" for c in text)


def next_table(made: Iterable[NextBlock]) -> str:
    """The proposals as CSV, one row a line: loads with their figures, the others with words."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\n")
    writer.writeheader()
    for proposal in made:
        who = {
            "athlete": _cell(proposal.athlete),
            "week": proposal.week or "",
            "start": proposal.start.isoformat(),
        }
        beside = [*proposal.lines, *([proposal.ramp] if proposal.ramp else [])]
        for line in beside:
            writer.writerow(who | {"what": _cell(line.text), "because": _cell(line.because)})
        for load in proposal.loads:
            writer.writerow(
                who
                | {
                    "phase": _cell(load.phase),
                    "exercise": load.exercise,
                    "grip": _cell(load.grip),
                    "hand": load.hand,
                    "edge_mm": _figure(load.edge_mm),
                    "sets": load.sets or "",
                    "added_kg": _figure(load.added_kg),
                    "force_kg": _figure(load.force_kg),
                    "what": _cell(load.load_words),
                    "because": _cell(load.because),
                }
            )
        if proposal.tests:
            tests = proposal.tests
            writer.writerow(who | {"what": _cell(tests.text), "because": _cell(tests.because)})
    return out.getvalue()


def _figure(value: float | None) -> str:
    return "" if value is None or not math.isfinite(value) else f"{value:g}"


def _cell(text: str) -> str:
    """Words for a spreadsheet, on one line."""
    return plain_cell(" ".join(text.split()))


def next_files(made: Sequence[NextBlock], out: Path) -> list[tuple[Path, str]]:
    """
    Path and text of each block file: `out` itself for one athlete, else with the athlete's name
    before the ending. A proposal without a block gives none.

    Raises
    ------
    GripbookError : a file of that name exists; a coach may have edited it.
    """
    names = page_names(p.athlete for p in made)
    files = [
        (_path(out, names[p.athlete], alone=len(made) == 1), write_block(p.block, _comments(p)))
        for p in made
        if p.block is not None
    ]
    for path, _ in files:
        if path.exists():
            raise GripbookError(f"{path} exists and may have been edited. Name another file.")
    return files


def _path(out: Path, page: str, *, alone: bool) -> Path:
    return out if alone else out.with_name(f"{out.stem}-{page.removesuffix('.html')}{out.suffix}")


def _comments(proposal: NextBlock) -> list[str]:
    lines = ["A proposal to edit, not a plan to follow blindly. Why each line stands here:"]
    lines += [f"- {text} {fmt.sentence(because)}" for text, because in proposal.all_lines]
    lines += ["Own choices, no source:", *(f"- {text}" for text in proposal.choices)]
    return [line.replace(fmt.NBSP, " ") for line in lines]
