"""Rows of the log as they stand there, and notes and pain as a table."""

from __future__ import annotations

import math

import pandas as pd

from gripbook import layout
from gripbook.errors import GripbookError
from gripbook.explore.opening import Explorer, plain_note
from gripbook.html import Fragment
from gripbook.reviews.change_facts import LoggedSet
from gripbook.reviews.shown import REVEALING
from gripbook.words import fmt, series

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


def set_in_words(x: Explorer, row: pd.Series) -> list[str]:
    """A row of the review's sets as lines of plain words."""
    hang, pull = row["exercise"] == "hang", row["exercise"] == "pull"
    over_body = not (pull or row["load_source"] == "gauge")
    failed = row["outcome"] == "failed"
    done = LoggedSet(
        day=row["date"],
        edge_mm=float(row["edge_mm"]),
        board=str(row["board"]),
        added_kg=float(row["added_kg"]) if over_body else math.nan,
        load_kg=math.nan,
        shown_kg=float(row["shown_kg"]),
        shown_as=str(row["shown_as"]),
        hang_s=math.nan if pull else float(row["hang_s"]),
        reps=float(row["reps"]) if row["exercise"] == "repeater" else math.nan,
        held_s=float(row["failed_s"]) if failed else math.nan,
        reps_done=float(row["reps_done"]) if failed else math.nan,
        left=math.nan if pull else float(row["reserve_s" if hang else "reserve_reps"]),
        outcome=str(row["outcome"]),
        file=str(row["file"]),
        line=int(row["line"]),
    )
    what = f"{fmt.EXERCISE_WORDS[row['exercise']]}, {fmt.series(row['grip'], row['hand'])}"
    if math.isfinite(done.edge_mm):
        what += f", {fmt.with_unit(done.edge_mm, 'mm')}"
    known = math.isfinite(done.shown_kg)
    ended = [] if pull else [(series.ended if known else series.left)(done) or done.outcome]
    if row["exercise"] == "repeater" and math.isfinite(done.hang_s):
        ended.insert(0, f"holds of {fmt.with_unit(done.hang_s, 's')}")
    load = series.set_words(done) if known else "load not known"
    sets = fmt.count(int(row["sets"]), "{n} set", "{n} sets")
    lines = [
        f"{fmt.day(done.day.date())} ({done.file}, line {done.line})",
        f"{fmt.sentence(what)}: {', '.join([load, *ended, sets])}",
    ]
    note = plain_note(str(row["note"]), x.review)
    return [*lines, f"Note: {note}"] if note else lines


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
    return layout.table(rows, f"{file}, line {line}")


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
    return layout.table(
        rows,
        "Notes and pain entries",
        columns={"day": "day", "what": "what", "words": "words", "row": "row of the log"},
        empty="No note and no pain entry in this block.",
    )
