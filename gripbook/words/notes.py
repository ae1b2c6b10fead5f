"""What was read though the format doesn't write it so, and problems of a log by the dozen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from gripbook.logs.problem import Problem
from gripbook.logs.reread import Note
from gripbook.words import fmt
from gripbook.words.messages import say
from gripbook.words.problems import problem_line, reason_and_remedy

#: So many places of one fault are named.
_PLACES: Final = 5
#: Faults of one column that differ in the cell alone are one from this many on.
_CELLS: Final = 4
#: So many cells are quoted then.
_EXAMPLES: Final = 3


def note_line(note: Note) -> str:
    """One note: `file: what was read as what`."""
    rows = fmt.count(note.rows, "{n} row", "{n} rows")
    if note.kind == "column":
        said = say("column {written} read as {read}", written=repr(note.written), read=note.read)
    elif note.kind == "order":
        said = say(
            "days read {order}, as {written} proves, {rows}",
            order=note.read,
            written=note.written,
            rows=rows,
        )
    elif note.kind == "remark":
        said = say("{rows} beginning with # left out as remarks", rows=rows)
    elif note.kind == "word":
        said = say(
            "{column}: {written} read as {read}, {rows}",
            column=note.column,
            written=repr(note.written),
            read=note.read,
            rows=rows,
        )
    else:
        said = say(
            "{column}: cells such as {written} read as {read}, {rows}",
            column=note.column,
            written=repr(note.written),
            read=note.read,
            rows=rows,
        )
    return f"{note.file}: {said}"


def grouped_lines(problems: Sequence[Problem]) -> list[str]:
    """One line a fault, in the order of the first of each; a fault of one place as it is alone."""
    by_cell: dict[tuple[str, ...], list[Problem]] = {}
    for problem in problems:
        key: tuple[str, ...] = (problem.severity, problem.code, problem.column, problem.value)
        if not problem.line:  # of a whole file: each says something else
            key += (problem.file, problem.athlete, str(problem.parameters))
        by_cell.setdefault(key, []).append(problem)
    by_column: dict[tuple[str, ...], list[list[Problem]]] = {}
    for cell, group in by_cell.items():
        by_column.setdefault(cell[:3], []).append(group)
    groups: list[list[Problem]] = []
    for alike in by_column.values():
        if len(alike) >= _CELLS and alike[0][0].column and alike[0][0].line:
            groups.append([p for group in alike for p in group])
        else:
            groups += alike
    order = {id(p): i for i, p in enumerate(problems)}
    groups.sort(key=lambda group: order[id(group[0])])
    return [_group_line(sorted(group, key=lambda p: order[id(p)])) for group in groups]


def _group_line(group: Sequence[Problem]) -> str:
    first = group[0]
    if len(group) == 1:
        return problem_line(first)
    reason, remedy = reason_and_remedy(first)
    values = list(dict.fromkeys(p.value for p in group))
    rows = fmt.count(len(group), "{n} row", "{n} rows")
    if len(values) == 1:
        what = say("{cell} in {rows}", cell=first.subject, rows=rows) if first.subject else rows
    else:
        examples = ", ".join(map(repr, values[:_EXAMPLES]))
        what = say(
            "{column} in {rows}, such as {cells}", column=first.column, rows=rows, cells=examples
        )
    return f"{_places(group)}: {first.severity}: {what}: {reason} {remedy}"


def _places(group: Sequence[Problem]) -> str:
    """`hangs.csv:2, 3, 4 and 797 more`, over several files each with its name."""
    shown: list[str] = []
    file = ""
    for problem in group[:_PLACES]:
        shown.append(str(problem.line) if problem.file == file and problem.line else problem.place)
        file = problem.file
    more = len(group) - len(shown)
    listed = ", ".join(shown)
    return say("{places} and {n} more", places=listed, n=str(more)) if more else listed
