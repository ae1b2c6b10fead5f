"""What the log's own reader says of rows before they are written."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence

from gripbook.logs.canonical import Reading
from gripbook.logs.cells import Context
from gripbook.logs.problem import Problem
from gripbook.logs.reader import read_table
from gripbook.logs.rows import judge_table
from gripbook.logs.schema import LogFile


def as_csv(kind: LogFile, rows: Sequence[Mapping[str, str]]) -> str:
    """Rows as CSV with the columns of `kind` that any of them fills, and those that are needed."""
    names = [c.name for c in kind.columns if c.needed or any(r.get(c.name) for r in rows)]
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(names)
    # a text over two lines would move the lines of all that follow
    writer.writerows([" ".join(row.get(n, "").split()) for n in names] for row in rows)
    return out.getvalue()


def refusals(
    kind: LogFile, rows: Sequence[Mapping[str, str]], reading: Reading
) -> dict[int, Problem]:
    """The rows that the log's reader would refuse, by position, with why."""
    if not rows:
        return {}
    table = read_table(as_csv(kind, rows).encode(), f"{kind.name}.csv", list(kind.by_name))
    context = Context(reading.order, reading.today, tuple(reading.grips))
    problems = judge_table(table, kind, context)[2]
    said: dict[int, Problem] = {}
    for problem in problems:
        if problem.severity != "error":
            continue
        for line in range(max(problem.line, 2), problem.last_line + 1):
            said.setdefault(line - 2, problem)
    return {row: problem for row, problem in said.items() if row < len(rows)}
