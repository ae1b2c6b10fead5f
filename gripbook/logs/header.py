"""A file's header against the columns of the format."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from gripbook.logs.problem import TEXT_LIMIT, Code, Parameter, Problem, Severity
from gripbook.logs.reader import Table
from gripbook.logs.reread import Note
from gripbook.logs.schema import FILES, LogFile, other_unit
from gripbook.logs.words_read import columns_named, may_be_any_mass, proves_added


@dataclass(frozen=True, slots=True)
class Header:
    """
    A file's header, read.

    `names` of the columns in order ("" = left out: no name and no cells); `renamed`: for columns
    that stand under another name or in another unit the name and factor; `notes`: the names that
    were read; `fatal` problems refuse the whole file.
    """

    names: list[str]
    renamed: Mapping[str, tuple[str, float]]
    fatal: list[Problem]
    warnings: list[Problem]
    notes: list[Note]


def known_names(kind: LogFile) -> list[str]:
    """Every name that a file's header may hold, those in other units too."""
    names = [c.name for c in kind.columns]
    return names + [other[0] for c in kind.columns if (other := other_unit(c))]


def match_header(table: Table, kind: LogFile, folder_athlete: str) -> Header:
    """Match a header with the columns of `kind`; a sub-folder's athlete needs no column."""
    fatal: list[Problem] = []
    names = list(table.header)
    for i, name in enumerate(names):
        if name == "" and any(text.strip() for text in table.columns[i].held()):
            names[i] = f"column_{i + 1}"
            while names[i] in table.header:
                names[i] += "_"
    units = {c.name: other for c in kind.columns if (other := other_unit(c))}
    renamed = {name: (lb, factor) for name, (lb, factor) in units.items() if lb in names}
    for name, (other_name, _) in renamed.items():
        if name in names:
            fatal.append(_problem("error", "two_units", table, other_name, name=name))
    renamed |= _other_names(names, kind, renamed)
    load, factor = renamed.get("added_kg", ("", 1.0))
    if load and may_be_any_mass(load) and not _proves_added(table, names, load, factor):
        fatal.append(_problem("error", "weight_or_body_mass", table, load))
    notes = [
        Note("column", table.file, column, name, column, len(table.lines))
        for column, (name, _) in renamed.items()
        if name not in {other for other, _ in units.values()}
    ]
    for name in sorted({x for x in names if x and names.count(x) > 1}):
        fatal.append(_problem("error", "column_twice", table, name))
    for column in kind.columns:
        if not column.needed or column.name in names or column.name in renamed:
            continue
        if column.name == "athlete" and folder_athlete:
            continue
        header = ", ".join(n for n in table.header if n)[:TEXT_LIMIT]
        fatal.append(_problem("error", "column_missing", table, column.name, header))
    known = known_names(kind)
    read = {*kind.by_name, *(name for name, _ in renamed.values())}
    warnings = [
        _problem("warning", "unknown_column", table, name, near=_near(name, known))
        for name in names
        if name and name not in read
    ]
    return Header(names, renamed, fatal, warnings, notes)


#: The columns that say what was on the fingers.
_LOADS: Final = frozenset({"added_kg", "scale_kg", "stand_kg", "force_kg"})


def _proves_added(table: Table, names: Sequence[str], load: str, factor: float) -> bool:
    """Whether a column called `weight` holds weight added; an empty one holds nothing else."""
    cells = {name: table.columns[i].held() for i, name in enumerate(names) if name}
    body = [
        text
        for name, texts in cells.items()
        if not may_be_any_mass(name)
        and any(c.column == "body_mass_kg" for c in columns_named(name, "body"))
        for text in texts
    ]
    filled = [text for text in cells[load] if text.strip()]
    return not filled or proves_added(filled, factor, body)


def _other_names(
    names: Sequence[str], kind: LogFile, renamed: Mapping[str, tuple[str, float]]
) -> dict[str, tuple[str, float]]:
    """Columns that stand under another name with one meaning, and the name's factor."""
    # what is a column of another file isn't another name of one here
    known = {*known_names(kind), *(n for other in FILES.values() for n in other.by_name)} - {"name"}
    known |= set(kind.by_name)
    there = {c for c in kind.by_name if c in names} | set(renamed)
    read: dict[str, list[tuple[str, float]]] = {}
    for name in names:
        if not name or name in known or names.count(name) > 1:
            continue
        meant = [m for m in columns_named(name, kind.name) if m.column not in there]
        if len(meant) != 1 or (may_be_any_mass(name) and there & _LOADS):
            continue
        read.setdefault(meant[0].column, []).append((name, meant[0].factor))
    return {column: by[0] for column, by in read.items() if len(by) == 1}


def _problem(
    severity: Severity,
    code: Code,
    table: Table,
    column: str,
    value: str = "",
    **parameters: Parameter,
) -> Problem:
    """A problem of the header; as an error it refuses every row below it."""
    line = table.header_line
    last = table.last_line if severity == "error" else line
    return Problem(severity, code, table.file, line, column, value, parameters, last_line=last)


def _near(name: str, known: Sequence[str]) -> str:
    """The column that may have been meant, "" where none is near."""
    without_unit = {k.rsplit("_", 1)[0]: k for k in known if "_" in k}
    near = difflib.get_close_matches(name, [*known, *without_unit], n=1, cutoff=0.75)
    return without_unit.get(near[0], near[0]) if near else ""
