"""
A file's rows to a frame: each cell is judged by its column, each row by its cells together.

A cell that cannot be read, or a row that contradicts itself, refuses the row (error). What can be
read but looks wrong is used and told (warning). Logs repeat themselves, so each distinct text of
a column is judged once.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from gripbook.logs.cells import CONTROL, BadCellError, Context, empty_value, parser
from gripbook.logs.header import match_header
from gripbook.logs.judge import Cells, Judge
from gripbook.logs.problem import Code, Parameter, Problem, Severity
from gripbook.logs.reader import Table, Texts
from gripbook.logs.reread import Note, NoteKind, Rereading
from gripbook.logs.row_rules import check_rows
from gripbook.logs.schema import FILES, Column, LogFile
from gripbook.logs.words_read import proof_of_order, year_last


@dataclass(slots=True)
class FileReport:
    """
    How a file was read.

    `rows_used` + `rows_refused` = `rows_read`, always. `notes`: what was read though the format
    doesn't write it so.
    """

    file: str
    name: str
    rows_read: int
    rows_used: int
    rows_refused: int
    rows_blank: int
    encoding: str
    delimiter: str
    sha256: str
    notes: tuple[Note, ...] = ()


def judge_table(
    table: Table, kind: LogFile, context: Context
) -> tuple[pd.DataFrame, pd.DataFrame, list[Problem], FileReport]:
    """
    Give a split file its meaning.

    Returns
    -------
    The frame of usable rows (all columns of the format, and `file` and `line`), the unknown columns
    of the same rows as text, the problems (those of `table` first), and the file's counts.
    """
    header = match_header(table, kind, context.folder_athlete)
    n = len(table.lines)
    read = n + table.broken
    split = [*table.problems, *header.warnings, *header.fatal]
    notes = list(header.notes)
    if table.remarks:
        notes.append(Note("remark", table.file, "", "# ", "", table.remarks))
    if context.folder_athlete and "athlete" not in header.names:
        split = [replace(p, athlete=context.folder_athlete) for p in split]

    def report(used: int) -> FileReport:
        return FileReport(
            table.file,
            kind.name,
            read,
            used,
            read - used,
            table.blank,
            table.encoding,
            table.delimiter,
            table.sha256,
            tuple(notes),
        )

    if header.fatal:
        return empty_frame(kind), pd.DataFrame(), sorted(split, key=lambda p: p.line), report(0)

    texts_of = {name: t for name, t in zip(header.names, table.columns, strict=True) if name}
    if "athlete" not in texts_of:
        texts_of["athlete"] = _constant(context.folder_athlete, n)
    judge = Judge(table, header.renamed)
    context = _with_order(texts_of, kind, context, header.renamed, table.file, notes)
    for column in kind.columns:
        name, factor = header.renamed.get(column.name, (column.name, 1.0))
        texts = texts_of.pop(name, None)
        judge.columns[column.name] = (
            _absent(column, n)
            if texts is None
            else _convert(
                texts,
                column,
                parser(column, context, factor),
                judge,
                Rereading(column, factor, context.date_order, context.all_grips, context.today),
                notes,
            )
        )
    frame = _typed(judge.columns, kind, n)
    # apart from the frame: whatever they are called, no code finds them under a name it reads
    unknown = {
        name: _convert(texts, Column(name, "text", "unknown"), str, judge, None, notes).series(
            frame.index
        )
        for name, texts in texts_of.items()
    }
    extra = pd.DataFrame(unknown, index=frame.index)
    frame["file"] = _stripped(_constant(table.file, n)).series(frame.index)
    frame["line"] = table.lines
    check_rows(kind.name, frame, judge, context)
    if judge.refused.any():
        frame, extra = (f[~judge.refused].reset_index(drop=True) for f in (frame, extra))
    problems = sorted([*split, *judge.problems], key=lambda p: p.line)
    return frame, extra, problems, report(len(frame))


def _constant(text: str, n: int) -> Texts:
    """A column of one text."""
    return Texts(np.zeros(n, dtype=np.intp), np.array([text], dtype=object))


def _stripped(texts: Texts) -> Cells:
    """A column whose values are its texts."""
    stripped = np.array([text.strip() for text in texts.distinct], dtype=object)
    return Cells(texts.codes, stripped, stripped)


def _values(column: Column, values: list[Any]) -> npt.NDArray[Any]:
    if column.kind in ("number", "integer"):
        return np.array(values, dtype=np.float64)
    if column.kind == "date":
        return np.array(values, dtype="datetime64[us]")
    return np.array(values, dtype=object)


def _absent(column: Column, n: int) -> Cells:
    codes, texts = _constant("", n)
    return Cells(codes, texts, _values(column, [empty_value(column)]))


def _with_order(
    texts_of: Mapping[str, Texts],
    kind: LogFile,
    context: Context,
    renamed: Mapping[str, tuple[str, float]],
    file: str,
    notes: list[Note],
) -> Context:
    """The context with the order of day and month that the file's days prove, if none is given."""
    if context.date_order is not None:
        return context
    names = [renamed.get(c.name, (c.name, 1.0))[0] for c in kind.columns if c.kind == "date"]
    columns = [texts_of[name] for name in names if name in texts_of]
    proof = proof_of_order([str(text) for texts in columns for text in texts.held()])
    if proof is None:
        return context
    order, day = proof
    rows = sum(
        int(np.isin(texts.codes, [k for k, t in enumerate(texts.distinct) if year_last(t)]).sum())
        for texts in columns
    )
    notes.append(Note("order", file, "date", day, order, rows))
    return replace(context, date_order=order)


def _convert(
    texts: Texts,
    column: Column,
    parse: Callable[[str], Any],
    judge: Judge,
    rereading: Rereading | None,
    notes: list[Note],
) -> Cells:
    """
    One column's texts and values.

    What has one meaning only is read and noted, what can't be read is handed to `judge`.
    """
    stripped = _stripped(texts).texts
    empty = empty_value(column)
    values: list[Any] = []
    faults: dict[int, tuple[Severity, Code, Mapping[str, Parameter]]] = {}
    reread: dict[int, str] = {}
    for k, text in enumerate(stripped):
        value = empty
        if text:
            try:
                value = parse(text)
                if column.name == "site" and value != text.lower():  # another word of one meaning
                    reread[k] = value
            except BadCellError as bad:
                meant = rereading.read(text) if rereading else ()
                if len(meant) == 1:
                    try:
                        value = parse(meant[0])
                        reread[k] = meant[0]
                    except BadCellError as still:
                        faults[k] = ("error", still.code, still.parameters)
                else:
                    near = {"near": meant} if meant else {}
                    faults[k] = ("error", bad.code, {**bad.parameters, **near})
        elif column.needed:
            faults[k] = ("error", "empty", {})
        values.append(value)
    if column.kind == "text" and CONTROL.search("\n".join(stripped)):
        for k, text in enumerate(stripped):
            if CONTROL.search(text):
                values[k] = CONTROL.sub("\ufffd", text)
                faults.setdefault(k, ("warning", "control_character", {}))
    cells = Cells(texts.codes, stripped, _values(column, values))
    if reread and rereading:
        notes += _notes(cells, reread, rereading.kind, judge, column.name)
    if faults:
        for i in np.flatnonzero(np.isin(texts.codes, list(faults))).tolist():
            severity, code, parameters = faults[int(texts.codes[i])]
            judge.add_row(severity, code, i, column.name, cells, parameters)
    if column.kind == "number":
        read = [text if k not in faults else "" for k, text in enumerate(stripped)]
        comma = np.array(["," in text for text in read], dtype=bool)
        if comma.any() and any("." in text for text in read):
            row = int(np.argmax(comma[texts.codes]))
            judge.add_row("warning", "mixed_decimals", row, column.name, cells, {})
    return cells


def _notes(
    cells: Cells, reread: Mapping[int, str], kind: NoteKind, judge: Judge, column: str
) -> list[Note]:
    """One note for each word that was read as another, one for all numbers or days of a column."""
    counts = np.bincount(cells.codes, minlength=len(cells.texts))
    held = [k for k in reread if counts[k]]
    name = judge.renamed[column][0] if column in judge.renamed else column
    if kind == "word":
        by_word: dict[str, list[int]] = {}
        for k in held:
            by_word.setdefault(reread[k], []).append(k)
        groups = list(by_word.values())
    else:
        groups = [held] if held else []
    return [
        Note(kind, judge.file, name, str(cells.texts[g[0]]), reread[g[0]], int(counts[g].sum()))
        for g in groups
    ]


def _typed(columns: Mapping[str, Cells], kind: LogFile, n: int) -> pd.DataFrame:
    """The frame with the format's dtypes and column order."""
    index = pd.RangeIndex(n)
    out = {c.name: columns[c.name].series(index) for c in kind.columns}
    if kind.name == "hangs":
        out["sets"] = out["sets"].fillna(1).astype("int64")
        for flag in ("test", "warmup"):
            out[flag] = pd.Series(columns[flag].where_value("yes"), index=index)
    return pd.DataFrame(out, index=index, copy=False)  # copying would join 20 columns into one


def empty_frame(kind: LogFile) -> pd.DataFrame:
    """A frame of no rows with the columns and dtypes of `kind`."""
    return _empty_frame(kind.name).copy()


@cache
def _empty_frame(name: str) -> pd.DataFrame:
    # most folders lack most files, and making a typed column costs more than reading a short file
    kind = FILES[name]
    frame = _typed({c.name: _absent(c, 0) for c in kind.columns}, kind, 0)
    frame["file"] = pd.Series([], dtype="str")
    frame["line"] = pd.Series([], dtype="int64")
    return frame
