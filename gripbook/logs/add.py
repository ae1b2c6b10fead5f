"""`add`: rows in log format, several tables in one file, to a log folder."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from gripbook.errors import GripbookError
from gripbook.logs.append import Key, append_rows, key_of, rows_in, rows_there
from gripbook.logs.bounds import read_file
from gripbook.logs.canonical import Reading
from gripbook.logs.cells import Context
from gripbook.logs.header import known_names
from gripbook.logs.problem import Problem
from gripbook.logs.reader import DELIMITERS, Table, decode, read_table, tidy_header
from gripbook.logs.rows import judge_table
from gripbook.logs.schema import FILES, LogFile


@dataclass(frozen=True, slots=True)
class Conflict:
    """A session (athlete, day, label) of which a file holds `held` rows and `given` others came."""

    file: str
    session: str
    held: int
    given: int


@dataclass(frozen=True, slots=True)
class Added:
    """
    What was added: `added` rows, `known` that stood there.

    With `refused` rows none was; `conflicts` are sessions that the log has with other rows.
    """

    added: int
    known: int
    refused: int
    problems: Sequence[Problem]
    conflicts: Sequence[Conflict]


def tables_in(data: bytes, file: str) -> list[tuple[LogFile, int, str]]:
    """
    The tables of a file: what each is by its header, the line its header stands on, and its text.

    Raises
    ------
    GripbookError : a line before the first header, or no header at all.
    """
    text = decode(data, file)[0].replace("\r\n", "\n").replace("\r", "\n")
    tables: list[tuple[LogFile, int, list[str]]] = []
    for number, line in enumerate(text.split("\n"), 1):
        kind = _header_of(line)
        if kind is not None:
            tables.append((kind, number, [line]))
        elif tables:
            tables[-1][2].append(line)
        elif line.strip():
            raise GripbookError(
                f"{file}:{number}: no header of the log format stands above this line. "
                "`gripbook columns` lists its columns; a spreadsheet of your own comes in by "
                "`gripbook adopt`."
            )
    if not tables:
        raise GripbookError(f"{file} is empty.")
    return [(kind, line, "\n".join(lines) + "\n") for kind, line, lines in tables]


def _header_of(line: str) -> LogFile | None:
    """The file of the format whose header a line is."""
    for delimiter in DELIMITERS:
        names = [tidy_header(cell.strip('"')) for cell in line.split(delimiter)]
        if "date" not in names and "name" not in names:
            continue
        for kind in FILES.values():
            needed = {c.name for c in kind.columns if c.needed} - {"athlete"}
            if kind.name == "athletes" and "athlete" not in names:
                continue
            if kind.name == "pain" and "level" not in names and "sign" not in names:
                continue
            others = set(known_names(kind))
            if needed <= {n.replace("_lb", "_kg") for n in names} and set(names) <= others:
                return kind
    return None


def add_files(folder: Path, files: Sequence[Path]) -> Added:
    """
    Check rows and append them to a log folder.

    Raises
    ------
    GripbookError : the folder is missing, or a file has no header of the format.
    """
    if not folder.is_dir():
        raise GripbookError(f"{folder} is no folder. `gripbook new {folder}` makes one.")
    problems: list[Problem] = []
    rows: list[tuple[str, dict[str, str]]] = []
    for path in files:
        data = read_file(path, path.name)
        for kind, line, text in tables_in(data, path.name):
            table = _without_apostrophes(read_table(text.encode(), path.name, known_names(kind)))
            judged = judge_table(table, kind, Context())[2]
            problems += [
                replace(p, line=p.line + line - 1, last_line=p.last_line + line - 1) for p in judged
            ]
            rows += [(kind.name, cells) for cells in rows_in(table, kind, Reading())]
    refused = sum(p.severity == "error" for p in problems)
    if refused:
        return Added(0, 0, refused, problems, ())
    there = rows_there(folder)
    new, known, conflicts = _parted(rows, there)
    append_rows(folder, new)
    return Added(len(new), known, 0, problems, conflicts)


def _without_apostrophes(table: Table) -> Table:
    """The table without the apostrophe that a phone page puts before what begins like a formula."""
    columns = [
        texts._replace(distinct=np.array([_plain(text) for text in texts.distinct], dtype=object))
        for texts in table.columns
    ]
    return replace(table, columns=columns)


def _plain(text: str) -> str:
    return text[1:] if len(text) > 1 and text[0] == "'" and text[1] in "=+-@\t" else text


#: What makes a session, by file: rows that agree in these and not in the rest are in conflict.
_SESSION = ("athlete", "date", "session")
_ONE_A_DAY = {"body": ("athlete", "date"), "athletes": ("athlete",)}


def _parted(
    rows: Sequence[tuple[str, dict[str, str]]], there: Counter[Key]
) -> tuple[list[tuple[str, dict[str, str]]], int, list[Conflict]]:
    """New rows, how many are known, and sessions that the log has with other rows."""
    held: dict[tuple[str, ...], Counter[Key]] = {}
    for key, count in there.items():
        held.setdefault(_session(key[0], dict(key[1])), Counter())[key] += count
    groups: dict[tuple[str, ...], list[tuple[str, dict[str, str]]]] = {}
    for file, cells in rows:
        groups.setdefault(_session(file, cells), []).append((file, cells))
    new: list[tuple[str, dict[str, str]]] = []
    conflicts: list[Conflict] = []
    known = 0
    for session, group in groups.items():
        old = held.get(session, Counter())
        given = Counter(key_of(file, cells) for file, cells in group)
        if not old:
            new += group
        elif given <= old:
            known += given.total()
        elif session[0] not in ("hangs", "body", "athletes"):
            # another pain or another session of a day is no contradiction
            left = Counter(old)
            for file, cells in group:
                key = key_of(file, cells)
                if left[key] > 0:
                    left[key] -= 1
                    known += 1
                else:
                    new.append((file, cells))
        else:
            name = " ".join(part for part in session[1:] if part)
            conflicts.append(Conflict(session[0], name, old.total(), given.total()))
    return new, known, conflicts


def _session(file: str, cells: dict[str, str]) -> tuple[str, ...]:
    return (file, *(cells.get(name, "") for name in _ONE_A_DAY.get(file, _SESSION)))
