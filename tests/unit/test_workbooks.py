"""Spreadsheet files: read as a log as they are, written with choices, and results."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import openpyxl
import pandas as pd
import pytest

from gripbook.errors import LogFolderError
from gripbook.logs import load_logs
from gripbook.logs.template import write_template
from gripbook.report.results import results_csv, results_table
from gripbook.sheets.results_book import write_results_book
from gripbook.sheets.workbook import write_log_book
from gripbook.words.problems import problem_line

ROW = {
    **{"athlete": "kim", "exercise": "hang", "grip": "half_crimp", "hand": "both"},
    **{"edge_mm": 20, "added_kg": 7.5, "hang_s": 10, "test": "yes"},
}


def filled(path: Path, *rows: dict[str, object]) -> None:
    """A log's book with these rows in its first sheet."""
    import datetime as dt

    write_log_book(path)
    book = openpyxl.load_workbook(path)
    sheet = book["hangs"]
    names = [cell.value for cell in sheet[1]]
    for i, row in enumerate(rows, 2):
        for name, value in ({"date": dt.date(2026, 1, 5), **ROW} | row).items():
            sheet.cell(i, names.index(name) + 1, value)
    book.save(path)


def test_a_book_is_read_as_a_log(tmp_path: Path) -> None:
    """Days are days, numbers numbers; an error names sheet and row."""
    filled(tmp_path / "log.xlsx", {}, {"grip": "crimp"}, {"edge_mm": 18})
    logs = load_logs(tmp_path)
    assert logs.hangs["edge_mm"].tolist() == [20, 18]
    assert logs.hangs["test"].tolist() == [True, True]
    assert [f"{d:%Y-%m-%d}" for d in logs.hangs["date"]] == ["2026-01-05"] * 2
    (problem,) = logs.errors
    assert problem_line(problem).startswith("log.xlsx#hangs:3: error: grip = 'crimp'")
    counted = {r.file: (r.rows_read, r.rows_used) for r in logs.reports}
    assert counted["log.xlsx#hangs"] == (3, 2)


def test_a_new_book_has_choices_and_a_frozen_header(tmp_path: Path) -> None:
    """Drop-downs for words, a date format, and it checks clean."""
    write_template(tmp_path / "new", tables=False)
    write_log_book(tmp_path / "new" / "log.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "new" / "log.xlsx")["hangs"]
    assert sheet.freeze_panes == "A2"
    lists = {v.formula1 for v in sheet.data_validations.dataValidation}
    assert '"hang,repeater,pull"' in lists
    assert '"yes,no"' in lists
    assert sheet["B2"].number_format == "yyyy-mm-dd"
    assert load_logs(tmp_path / "new").problems == ()


def test_a_folder_with_another_spreadsheet_alone(tmp_path: Path) -> None:
    """It is told what to do with it, and so is a file in place of a folder."""
    openpyxl.Workbook().save(tmp_path / "training.xlsx")
    with pytest.raises(LogFolderError, match=r"training\.xlsx comes in by `gripbook adopt`"):
        load_logs(tmp_path)
    with pytest.raises(LogFolderError, match="is a file, not a folder"):
        load_logs(tmp_path / "training.xlsx")


def test_a_damaged_book_is_told(tmp_path: Path, small_logs: Path) -> None:
    """Beside good logs a file that is no spreadsheet is a problem, not an end."""
    (small_logs / "log.xlsx").write_bytes(b"no zip")
    logs = load_logs(small_logs)
    assert [(p.code, p.file) for p in logs.errors] == [("unreadable", "log.xlsx")]
    assert len(logs.hangs)


def test_results_as_a_book(tmp_path: Path, small_logs: Path) -> None:
    """A sheet each, header frozen, the same rows and figures as results.csv."""
    logs = load_logs(small_logs)
    table, _ = results_table(logs)
    write_results_book(tmp_path / "results.xlsx", logs, table)
    book = openpyxl.load_workbook(tmp_path / "results.xlsx")
    assert book.sheetnames == ["results", "tests", "weeks", "plan"]
    assert {sheet.freeze_panes for sheet in book} == {"A2"}
    sheet = book["results"]
    rows = list(sheet.iter_rows(values_only=True))
    assert list(rows[0]) == list(table.columns)
    assert len(rows) == len(table) + 1
    given = list(csv.DictReader(io.StringIO(results_csv(table))))
    for name in ("start_kg", "high_pct", "prob_rise", "verdict", "sets"):
        place = list(table.columns).index(name)
        cells = ["" if row[place] is None else f"{row[place]}" for row in rows[1:]]
        assert cells == [row[name] for row in given]


def test_every_figure_of_a_book_has_its_unit(tmp_path: Path, small_logs: Path) -> None:
    """Numbers with a fraction stand under a header that ends in a unit; no cell is armed."""
    logs = load_logs(small_logs)
    write_results_book(tmp_path / "results.xlsx", logs, results_table(logs)[0])
    units = ("_kg", "_pct", "_mm", "_s", "_holds", "_days", "_ratio", "_rise")
    for sheet in openpyxl.load_workbook(tmp_path / "results.xlsx"):
        header, *rows = sheet.iter_rows(values_only=True)
        assert len(set(header)) == len(header)
        for row in rows:
            for name, cell in zip(header, row, strict=True):
                if isinstance(cell, float):
                    assert name.endswith(units), name
                if isinstance(cell, str):
                    assert not cell.startswith("'")
    names = set(next(iter(openpyxl.load_workbook(tmp_path / "results.xlsx")["plan"].values)))
    assert "left_s_or_holds" in names


def test_frames_are_read_as_files_are(small_logs: Path) -> None:
    """The same rows, refusals with the line they would have."""
    kept = load_logs(small_logs)
    frame = pd.read_csv(small_logs / "hangs.csv", dtype="str")
    frame.loc[1, "grip"] = "crimp"
    logs = load_logs({"hangs": frame})
    assert [(p.file, p.line, p.value) for p in logs.errors] == [("hangs.csv", 3, "crimp")]
    whole = kept.hangs.drop(index=1).reset_index(drop=True)
    assert logs.hangs.drop(columns="file").equals(whole.drop(columns="file"))
    with pytest.raises(LogFolderError, match="'hang' is no file of the log"):
        load_logs({"hang": frame})
