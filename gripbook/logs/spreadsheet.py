"""Spreadsheet files (.xlsx, .ods) and other people's CSV as rows of text, cells as typed there."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from gripbook.errors import GripbookError
from gripbook.logs.bounds import BOOK_BYTES, check_file, read_file
from gripbook.logs.reader import DELIMITERS, decode

#: Endings of the files that hold sheets.
SHEET_FILES: Final = (".xlsx", ".ods", ".xlsm", ".xls")


@dataclass(frozen=True, slots=True)
class Sheet:
    """
    One sheet.

    `rows[i]` are the texts of its row `i + 1`; `merged` its joined cells as (first row, first
    column, last row, last column), from 0. `name` is "" for a CSV file.
    """

    file: str
    name: str
    rows: Sequence[Sequence[str]]
    merged: Sequence[tuple[int, int, int, int]] = ()

    @property
    def label(self) -> str:
        """`file`, or `file#sheet`."""
        return f"{self.file}#{self.name}" if self.name else self.file


def read_sheets(path: Path) -> list[Sheet]:
    """
    The sheets of a spreadsheet file, or the one of a CSV file.

    Raises
    ------
    GripbookError : the file can't be read, or the extra `sheets` isn't installed.
    """
    if path.suffix.lower() not in SHEET_FILES:
        return [Sheet(path.name, "", _csv_rows(read_file(path, path.name), path.name))]
    try:
        from python_calamine import CalamineError, load_workbook
    except ImportError as err:
        raise GripbookError(
            f"{path.name} needs the extra `sheets`: pip install 'gripbook[sheets]'. "
            "Or save the sheet as CSV."
        ) from err
    check_file(path, path.name, BOOK_BYTES)
    try:
        book = load_workbook(path)
    except (CalamineError, OSError) as err:
        raise GripbookError(
            f"{path} can't be read as a spreadsheet ({err}). Open it in the program that wrote it, "
            "and save it again."
        ) from err
    sheets = []
    for name in book.sheet_names:
        sheet = book.get_sheet_by_name(name)
        rows = [[cell_text(c) for c in row] for row in sheet.to_python(skip_empty_area=False)]
        merged = [(*first, *last) for first, last in sheet.merged_cell_ranges or []]
        sheets.append(Sheet(path.name, name, rows, merged))
    return sheets


def as_csv(sheet: Sheet) -> bytes:
    """A sheet as CSV whose lines are its rows; a cell over two lines becomes one line."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(
        [" ".join(cell.splitlines()) for cell in row] if any(row) else [] for row in sheet.rows
    )
    return out.getvalue().encode("utf-8")


def cell_text(value: Any) -> str:
    """A typed cell as the log format writes it: days and times in ISO order, yes and no."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.12g}"
    if isinstance(value, dt.datetime):
        return value.date().isoformat() if value.time() == dt.time() else value.isoformat(" ")
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, dt.time):
        return value.strftime("%H:%M")
    return str(value).strip()


def _csv_rows(data: bytes, file: str) -> list[list[str]]:
    """The records of a CSV file; its separator is the one that parts most lines alike."""
    text = decode(data, file)[0].replace("\r\n", "\n").replace("\r", "\n")
    head = [line for line in text.split("\n") if line.strip()][:30]

    def alike(delimiter: str) -> int:
        counts = [line.count(delimiter) for line in head if delimiter in line]
        return max((counts.count(n) * n for n in set(counts)), default=0)

    delimiter = max(DELIMITERS, key=alike)
    rows: list[list[str]] = []
    reader = csv.reader(text.split("\n"), delimiter=delimiter)
    for cells in reader:
        # a record of several lines leaves blank rows, so that a row's number is its line's
        rows += [[] for _ in range(reader.line_num - len(rows) - 1)]
        rows.append([c.strip() for c in cells])
    return rows
