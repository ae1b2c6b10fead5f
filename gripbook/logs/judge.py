"""A file's columns while its rows are judged, and who collects what is wrong with them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from gripbook.logs.bounds import PROBLEMS, check_count
from gripbook.logs.problem import TEXT_LIMIT, Code, Parameter, Problem, Severity
from gripbook.logs.reader import BoolArray, ObjectArray, Table


@dataclass(frozen=True, slots=True)
class Cells:
    """
    One column of a file, read cell by distinct cell.

    The stripped text of each distinct cell, what it was read as (`words`: numbers, days or text; as
    if empty where it could not be read), and which of them each row holds.
    """

    codes: npt.NDArray[np.intp]
    texts: ObjectArray
    words: npt.NDArray[Any]

    def text_at(self, row: int) -> str:
        """The text of one row."""
        return str(self.texts[self.codes[row]])

    def word_at(self, row: int) -> str:
        """The value of one row, as text."""
        return str(self.words[self.codes[row]])

    def where(self, text: str) -> BoolArray:
        """Rows whose text is `text`."""
        rows: BoolArray = (self.texts == text)[self.codes]
        return rows

    def where_value(self, value: object) -> BoolArray:
        """Rows whose value is `value`."""
        rows: BoolArray = (self.words == value)[self.codes]
        return rows

    def series(self, index: pd.Index) -> pd.Series:
        """The values as a column: numbers float64, days datetime64, everything else str."""
        if self.words.dtype != object:
            return pd.Series(self.words[self.codes], index=index, copy=False)
        words = pd.array(self.words, dtype="str")
        return pd.Series(words.take(self.codes), index=index, copy=False)


class Judge:
    """Collects the problems of one file and which of its rows they refuse."""

    def __init__(self, table: Table, renamed: Mapping[str, tuple[str, float]]) -> None:
        self.file = table.file
        self.lines = table.lines
        self.last_lines = table.last_lines
        self.renamed = renamed
        self.columns: dict[str, Cells] = {}
        self.refused: BoolArray = np.zeros(len(table.lines), dtype=bool)
        self.problems: list[Problem] = []
        self._count = len(table.problems)

    def add(
        self,
        severity: Severity,
        code: Code,
        rows: BoolArray,
        column: str,
        **parameters: Parameter,
    ) -> None:
        """Add one problem of `column` for each of `rows` (a mask); errors refuse them."""
        for i in np.flatnonzero(rows).tolist():
            self.add_row(severity, code, i, column, self.columns[column], parameters)

    def add_row(
        self,
        severity: Severity,
        code: Code,
        row: int,
        column: str,
        cells: Cells,
        parameters: Mapping[str, Parameter],
    ) -> None:
        """
        Add one problem of one row; an error refuses it.

        Raises
        ------
        FileRefusedError : the file has too many problems.
        """
        self._count += 1
        check_count(self.file, "problems", self._count, PROBLEMS)
        athletes = self.columns.get("athlete")
        self.problems.append(
            Problem(
                severity,
                code,
                self.file,
                int(self.lines[row]),
                self.renamed[column][0] if column in self.renamed else column,
                cells.text_at(row)[:TEXT_LIMIT],
                parameters,
                athlete=athletes.word_at(row) if athletes else "",
                last_line=int((self.last_lines if severity == "error" else self.lines)[row]),
                day=self._day(row),
            )
        )
        if severity == "error":
            self.refused[row] = True

    def _day(self, row: int) -> dt.date | None:
        """The date of a row, None where it cannot be read."""
        dates = self.columns.get("date")
        if dates is None:
            return None
        day = dates.words[dates.codes[row]]
        return None if np.isnat(day) else day.astype("datetime64[D]").item()
