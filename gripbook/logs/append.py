"""Rows added to the files of a log folder: nothing is overwritten, written aside and renamed."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path

from gripbook.errors import GripbookError
from gripbook.logs.bounds import read_file
from gripbook.logs.canonical import NotReadError, Reading, canonical, column_of
from gripbook.logs.header import known_names
from gripbook.logs.reader import Table, read_table
from gripbook.logs.schema import FILES, LogFile
from gripbook.logs.words_read import columns_named
from gripbook.writing import make_folder, write_file

#: A row's file and its filled cells in the format's words and order.
Key = tuple[str, tuple[tuple[str, str], ...]]


def key_of(file: str, cells: Mapping[str, str]) -> Key:
    """What makes two rows the same: every filled cell, as the format writes it."""
    names = [c.name for c in FILES[file].columns]
    return file, tuple((n, cells[n]) for n in names if cells.get(n))


def _named(table: Table, kind: LogFile) -> list[tuple[str, float] | None]:
    """The column and factor of each name of a header, None for one that isn't the format's."""
    named: list[tuple[str, float] | None] = []
    for name in table.header:
        read = column_of(kind.name, name)
        if read is None:
            words = columns_named(name, kind.name)
            named.append((words[0].column, words[0].factor) if len(words) == 1 else None)
        else:
            named.append((read[0].name, read[1]))
    return named


def rows_in(
    table: Table, kind: LogFile, reading: Reading, athlete: str = ""
) -> list[dict[str, str]]:
    """
    The rows of a file in the format's words; a cell that can't be read stands as it is.

    Parameters
    ----------
    athlete : whose the file is, where it has no such column.
    """
    named = _named(table, kind)
    rows = []
    for row in table.rows:
        cells = {"athlete": athlete} if athlete else {}
        for read, text in zip(named, row.cells, strict=True):
            if read is None or not text.strip():
                continue
            column = kind.by_name[read[0]]
            try:
                cells[column.name] = canonical(text, column, reading, read[1])
            except NotReadError:
                cells[column.name] = text.strip()
        rows.append(cells)
    return rows


def file_for(folder: Path, file: str, athlete: str) -> Path:
    """Where rows of an athlete go: the athlete's sub-folder where only that has logs."""
    top = folder / f"{file}.csv"
    sub = folder / athlete
    if (
        not top.exists()
        and athlete
        and sub.is_dir()
        and any((sub / f"{f}.csv").exists() for f in FILES)
    ):
        return sub / f"{file}.csv"
    return top


def rows_there(folder: Path, reading: Reading | None = None) -> Counter[Key]:
    """The rows that stand in a log folder, top and sub-folders, and how often each does."""
    reading = reading or Reading()
    there: Counter[Key] = Counter()
    if not folder.is_dir():
        return there
    for sub in (folder, *sorted(p for p in folder.iterdir() if p.is_dir())):
        for file, kind in FILES.items():
            path = sub / f"{file}.csv"
            if not path.is_file():
                continue
            table = read_table(read_file(path, path.name), path.name, known_names(kind))
            athlete = "" if sub == folder or "athlete" in table.header else sub.name
            there.update(key_of(file, cells) for cells in rows_in(table, kind, reading, athlete))
    return there


def appended(path: Path, file: str, rows: Sequence[Mapping[str, str]]) -> bytes:
    """
    The bytes of a log file with rows behind its own.

    Columns that the file lacks are added to its header, and then to each of its rows, empty.

    Raises
    ------
    GripbookError : the file has rows that can't be split; adding columns would move them.
    """
    kind = FILES[file]
    used = [c.name for c in kind.columns if any(r.get(c.name) for r in rows)]
    needed = [c.name for c in kind.columns if c.needed]
    if not path.exists():
        names = [c.name for c in kind.columns if c.name in {*used, *needed}]
        return _text([names, *([r.get(n, "") for n in names] for r in rows)], ",").encode()
    data = read_file(path, path.name)
    table = read_table(data, path.name, known_names(kind))
    if not table.header:
        names = [c.name for c in kind.columns if c.name in {*used, *needed}]
        return _text([names, *([r.get(n, "") for n in names] for r in rows)], ",").encode()
    named = _named(table, kind)
    own = {read[0] for read in named if read}
    missing = [
        n
        for n in used
        if n not in own and not (n == "athlete" and path.parent.name == rows[0]["athlete"])
    ]
    lines = [
        [*(_written(row, read) for read in named), *(row.get(n, "") for n in missing)]
        for row in rows
    ]
    delimiter = table.delimiter or ","
    encoding = table.encoding if table.encoding != "utf-16" else "utf-8-sig"
    if not missing:
        ending = b"\r\n" if b"\r\n" in data else b"\n"
        more = (
            _text(lines, delimiter)
            .replace("\n", ending.decode())
            .encode(encoding.replace("-sig", ""), "strict")
        )
        if table.encoding == "utf-16":
            return data.decode("utf-16").encode("utf-8-sig") + more
        return data + (b"" if data.endswith((b"\n", b"\r")) else ending) + more
    if table.broken:
        raise GripbookError(
            f"{path} has rows that can't be split (`gripbook check {path.parent}`), and lacks the "
            f"columns {', '.join(missing)}. Correct those rows first."
        )
    pad = [""] * len(missing)
    old = {row.line: _text([[*row.cells, *pad]], delimiter) for row in table.rows}
    old |= _remarks(data.decode(table.encoding), table)
    head = _text([[*table.header, *missing]], delimiter)
    return (head + "".join(old[n] for n in sorted(old)) + _text(lines, delimiter)).encode(encoding)


def _remarks(text: str, table: Table) -> dict[int, str]:
    """A file's lines that begin with "# " and are no part of a row, by line from 1."""
    within = {n for row in table.rows for n in range(row.line + 1, row.last_line + 1)}
    return {
        n: line + "\n"
        for n, line in enumerate(re.split(r"\r\n|\n|\r", text), 1)
        if line.startswith("# ") and n not in within
    }


def _written(row: Mapping[str, str], read: tuple[str, float] | None) -> str:
    """A row's cell under a name of the file, in that name's unit."""
    text = row.get(read[0], "") if read else ""
    if not text or read is None or read[1] == 1.0:
        return text
    return f"{float(text) / read[1]:.10g}"


def _text(rows: Sequence[Sequence[str]], delimiter: str) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="\n").writerows(rows)
    return out.getvalue()


def append_rows(folder: Path, rows: Sequence[tuple[str, Mapping[str, str]]]) -> list[Path]:
    """
    Append rows, each with its file of the format, to the files of a log folder.

    Every file's new bytes are made before the first is written.

    Returns
    -------
    The files written.
    """
    by_path: dict[Path, tuple[str, list[Mapping[str, str]]]] = {}
    for file, cells in rows:
        path = file_for(folder, file, cells.get("athlete", ""))
        by_path.setdefault(path, (file, []))[1].append(cells)
    made = {path: appended(path, file, of) for path, (file, of) in by_path.items()}
    for path, data in made.items():
        make_folder(path.parent)
        write_file(path, data)
    return list(made)
