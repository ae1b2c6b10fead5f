"""Spreadsheet files that we write: a log to fill, and what comes back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np
import pandas as pd

from gripbook.errors import GripbookError
from gripbook.logs.block import GRIPS
from gripbook.logs.describe import column_text
from gripbook.logs.schema import FILES, Column
from gripbook.logs.template import HANGS_HEADER
from gripbook.writing import write_named

#: Rows of a log's sheet that have drop-downs and date cells ready.
_ROWS: Final = 1000


def _openpyxl() -> Any:
    try:
        import openpyxl
        import openpyxl.comments
        import openpyxl.worksheet.datavalidation
    except ImportError as err:
        raise GripbookError(
            "Spreadsheet files need the extra `sheets`: pip install 'gripbook[sheets]'."
        ) from err
    return openpyxl


def _saved(book: Any, path: Path) -> None:
    """Write a book whole, with no day of its own: the same data give the same cells."""
    import io

    out = io.BytesIO()
    book.save(out)
    write_named(path, out.getvalue())


def write_log_book(path: Path) -> None:
    """
    Write one file with a sheet for each file of the log format.

    Headers are frozen and say in a comment what the column is; words have drop-downs, days are
    date cells. `gripbook check` and `report` read it as it is.

    Raises
    ------
    GripbookError : the file exists, or the extra `sheets` isn't installed.
    """
    if path.exists():
        raise GripbookError(f"{path} exists. Name a new file.")
    openpyxl = _openpyxl()
    book = openpyxl.Workbook()
    book.remove(book.active)
    for kind in FILES.values():
        names = HANGS_HEADER if kind.name == "hangs" else tuple(kind.by_name)
        sheet = book.create_sheet(kind.name)
        sheet.append(list(names))
        sheet.freeze_panes = "A2"
        for k, name in enumerate(names, 1):
            column = kind.by_name[name]
            cell = sheet.cell(1, k)
            cell.font = openpyxl.styles.Font(bold=column.needed)
            cell.comment = openpyxl.comments.Comment(column_text(column), "gripbook")
            letter = cell.column_letter
            sheet.column_dimensions[letter].width = max(10, len(name) + 2)
            area = f"{letter}2:{letter}{_ROWS}"
            words = _words(column)
            if words:
                choice = openpyxl.worksheet.datavalidation.DataValidation(
                    type="list",
                    formula1='"' + ",".join(words) + '"',
                    # a grip of one's own, or another site, is no mistake
                    showErrorMessage=column.kind != "grip",
                )
                choice.add(area)
                sheet.add_data_validation(choice)
            if column.kind == "date":
                for i in range(2, _ROWS + 1):
                    sheet.cell(i, k).number_format = "yyyy-mm-dd"
    _saved(book, path)


def _words(column: Column) -> Sequence[str]:
    if column.kind == "yes":
        return ("yes", "no")
    return GRIPS if column.kind == "grip" else [c for c in column.choices if c]


def write_tables(path: Path, tables: Sequence[tuple[str, pd.DataFrame]]) -> None:
    """
    Write tables as the sheets of one file: header frozen, text as text, numbers as numbers.

    Parameters
    ----------
    tables : name and frame of each sheet; units stand in the names of the columns.
    """
    openpyxl = _openpyxl()
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, frame in tables:
        sheet = book.create_sheet(name)
        sheet.append([str(column) for column in frame.columns])
        sheet.freeze_panes = "A2"
        for k, column in enumerate(frame.columns, 1):
            sheet.cell(1, k).font = openpyxl.styles.Font(bold=True)
            sheet.column_dimensions[sheet.cell(1, k).column_letter].width = max(
                10, len(str(column)) + 2
            )
            for i, value in enumerate(frame[column].tolist(), 2):
                cell = sheet.cell(i, k)
                shown = _cell(value)
                if isinstance(shown, str):
                    # never a formula, whatever a log's text begins with
                    cell.data_type = "s"
                    cell._value = shown
                elif shown is not None:
                    cell.value = shown
                if isinstance(shown, dt.date):
                    cell.number_format = "yyyy-mm-dd"
    _saved(book, path)


def _cell(value: Any) -> Any:
    if value is None or value is pd.NaT or (isinstance(value, float) and not np.isfinite(value)):
        return None
    if isinstance(value, pd.Timestamp):
        return value.date()
    if isinstance(value, np.generic):
        return value.item()
    if isinstance(value, float):
        return float(f"{value:.6g}")
    return value if isinstance(value, (int, bool, dt.date)) else str(value)
