"""Rows of the log as they stand there, and notes and pain as a table."""

from __future__ import annotations

import pandas as pd

from gripbook import html
from gripbook.errors import GripbookError
from gripbook.explore.opening import Explorer, plain_note
from gripbook.html import Fragment
from gripbook.reviews.shown import REVEALING
from gripbook.words import fmt

#: Cells of a row of the log, in the order of its file.
_COLUMNS = (
    "exercise", "grip", "hand", "edge_mm", "board", "sets", "added_kg", "scale_kg", "stand_kg",
    "force_kg", "load_kind", "hang_s", "rest_s", "reps", "reps_done", "failed_s", "stopped",
    "reserve_s", "reserve_reps", "test", "warmup", "note",
)  # fmt: skip


def cells_of(x: Explorer, row: pd.Series) -> dict[str, str]:
    """
    What stands in a row of hangs.csv, column -> text; empty cells are left out.

    Where body mass is hidden, so is what would reveal it, and a note with a figure in it.
    """
    hidden = () if x.review.athlete.show_body_mass else REVEALING
    found = {}
    for name in _COLUMNS:
        if name in hidden or name not in row.index:
            continue
        value = row[name]
        if name == "note":
            value = plain_note(str(value), x.review)
        if isinstance(value, str):
            text = value
        elif name in ("test", "warmup"):
            text = "yes" if value else ""
        else:
            text = "" if pd.isna(value) else fmt.number(float(value), 2)
        if text:
            found[name] = text
    return found


def log_row(x: Explorer, file: str, line: int) -> Fragment:
    """
    One row of hangs.csv as a table; `file` and `line` as a view shows them.

    Raises
    ------
    GripbookError : no such row was used; the message names the file's lines.
    """
    sets = x.review.sets
    here = sets[sets["file"] == file]
    found = here[here["line"] == line]
    if found.empty:
        files = sorted(set(sets["file"]))
        if here.empty:
            raise GripbookError(
                f"No set of {x.review.athlete.name} stands in {file!r}. "
                f"Their sets stand in {fmt.listing(files) or 'no file'}."
            )
        raise GripbookError(
            f"No set of {x.review.athlete.name} stands in line {line} of {file}. Theirs stand in "
            f"lines {here['line'].min()} to {here['line'].max()}; a row that was refused is not "
            "shown here (`gripbook check` lists those)."
        )
    row = found.iloc[0]
    cells = {"date": fmt.day(row["date"].date()), **cells_of(x, row)}
    rows = [{"column": name, "value": value} for name, value in cells.items()]
    return html.table(rows, f"{file}, line {line}")


def notes(x: Explorer) -> Fragment:
    """Notes and pain entries of the block, by day."""
    rows = [
        {
            "day": m.date.date(),
            "what": m.kind,
            "words": m.words,
            "row": f"{m.file}:{m.line}",
        }
        for m in x.marks.itertuples()
    ]
    return html.table(
        rows,
        "Notes and pain entries",
        columns={"day": "day", "what": "what", "words": "words", "row": "row of the log"},
        empty="No note and no pain entry in this block.",
    )
