"""A folder with every defect the format names: each is told with its line, good rows live on."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from click.testing import CliRunner

from gripbook.cli import main
from gripbook.logs import Logs, load_logs

TODAY = dt.date(2026, 6, 1)
HANGS = """\
athlete,date,exercise,grip,hand,edge_mm,added_kg,scale_kg,hang_s,rest_s,reps,reps_done,failed_s,mood
kim,2026-01-05,hang,half_crimp,both,20,5,,10,,,,,
kim,2026-01-05,hang,half_crimp,both,20,,,10,,,,,
kim,2026-01-06,hang,half_crimp,both,20,90,,10,,,,,
kim,2026-01-07,repeater,half_crimp,both,20,0,,7,3,6,,4,
kim,2026-01-08,hang,half_crimp,both,20,5,,10,,,,,
kim,2026-01-08,hang,open_four,both,20,0,,10,,,,,
kim,2026-01-08,hang,open_three,both,20,0,,10,,,,,
kim,2026-01-08,hang,half_crimp,both,20,5,,10,,,,,
kim,2026-01-08,hang,open_four,both,20,0,,10,,,,,
kim,2026-01-08,hang,open_three,both,20,0,,10,,,,,
kim,2099-01-05,hang,half_crimp,both,20,5,,10,,,,,
kim,05.01.2026,hang,half_crimp,both,20,5,,10,,,,,
kim,2026-01-09,hang,half_crimp,both,20,x,,10,,,,,
kim,2026-01-09,hang,half_crimp,both,20,5,,10,,,,,,extra
kim,2026-01-09,hang,half_crimp,both,20,5,,10,,,,,"open
lou,2026-01-10,hang,half_crimp,both,20,5,,10,,,,,
kim,2026-01-11,hang,half_crimp,both,20,-70,,10,,,,,
kim,2026-01-12,hang,half_crimp,both,20,0,,10
"""
BODY = """\
athlete,date,body_mass_kg
kim,2026-01-05,60
kim,2026-01-06,64
"""
EXPECTED = {
    ("error", "date_order", "hangs.csv", 13),
    ("error", "not_a_number", "hangs.csv", 14),
    ("error", "too_many_cells", "hangs.csv", 15),
    ("error", "broken_quote", "hangs.csv", 16),
    ("warning", "unknown_column", "hangs.csv", 1),
    ("warning", "added_empty", "hangs.csv", 3),
    ("warning", "load_high", "hangs.csv", 4),
    ("warning", "reps_done_unknown", "hangs.csv", 5),
    ("warning", "session_twice", "hangs.csv", 9),
    ("warning", "future_date", "hangs.csv", 12),
    ("warning", "body_mass_missing", "hangs.csv", 17),
    ("warning", "athlete_in_one_file", "hangs.csv", 17),
    ("warning", "load_not_positive", "hangs.csv", 18),
    ("warning", "too_few_cells", "hangs.csv", 19),
    ("warning", "body_mass_jump", "body.csv", 3),
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A log folder with the defects above."""
    (tmp_path / "hangs.csv").write_text(HANGS, encoding="utf-8")
    (tmp_path / "body.csv").write_text(BODY, encoding="utf-8")
    return tmp_path


def test_each_defect_is_told_once_with_its_line(folder: Path) -> None:
    """Every defect stands among the problems at its line, and nothing else does."""
    logs = load_logs(folder, today=TODAY)
    told = [(p.severity, p.code, p.file, p.line) for p in logs.problems]
    assert sorted(told) == sorted(EXPECTED)
    assert (logs.reports[1].name, logs.reports[1].rows_read) == ("hangs", 18)
    assert (logs.reports[1].rows_used, logs.reports[1].rows_refused) == (14, 4)


def test_check_lists_them_and_exits_1(folder: Path) -> None:
    """The command prints each place and fails, since rows were refused."""
    result = CliRunner().invoke(main, ["check", str(folder)])
    assert result.exit_code == 1
    for _, _, file, line in EXPECTED:
        assert f"{file}:{line}:" in result.output


def test_check_of_a_warned_folder_exits_0(tmp_path: Path) -> None:
    """Warnings alone do not fail the check."""
    good = "\n".join(HANGS.splitlines()[:4]) + "\n"
    (tmp_path / "hangs.csv").write_text(good, encoding="utf-8")
    (tmp_path / "body.csv").write_text(BODY, encoding="utf-8")
    result = CliRunner().invoke(main, ["check", str(tmp_path)])
    assert result.exit_code == 0, result.output
    assert "hangs.csv:3:" in result.output


def load(tmp_path: Path, text: bytes) -> Logs:
    """A folder of this hangs.csv."""
    (tmp_path / "hangs.csv").write_bytes(text)
    return load_logs(tmp_path, today=TODAY)


def test_decimal_commas_in_a_comma_file(tmp_path: Path) -> None:
    """A quoted decimal comma is read; an unquoted one shifts the cells and refuses its row."""
    head = b"athlete,date,exercise,grip,hand,edge_mm,hang_s,added_kg\n"
    row = b"kim,2026-01-05,hang,half_crimp,both,20,10,"
    logs = load(tmp_path, head + row + b'"2,5"\n' + row + b"2,5\n")
    assert list(logs.hangs["added_kg"]) == [2.5]
    assert [(p.code, p.line) for p in logs.errors] == [("too_many_cells", 3)]


def test_decimal_commas_in_a_semicolon_file(tmp_path: Path) -> None:
    """A semicolon file with decimal commas, a mark and CRLF is read whole."""
    text = "\ufeffathlete;date;exercise;grip;hand;edge_mm;hang_s;added_kg\r\n"
    text += "kim;2026-01-05;hang;half_crimp;both;20;10;-2,25\r\n"
    logs = load(tmp_path, text.encode())
    assert list(logs.hangs["added_kg"]) == [-2.25]
    assert logs.errors == ()


def test_empty_files_are_told(tmp_path: Path) -> None:
    """A hangs.csv without a header is an error of the file, never silence."""
    logs = load(tmp_path, b"")
    assert {p.code for p in logs.errors} == {"column_missing"}


def test_control_characters_are_shown_as_such(tmp_path: Path) -> None:
    """A NUL in a note or an id is replaced and told, wherever it stands."""
    head = b"athlete,date,exercise,grip,hand,edge_mm,hang_s,note\n"
    logs = load(tmp_path, head + b"k\x00im,2026-01-05,hang,half_crimp,both,20,10,a\x01b\n")
    assert logs.hangs["note"].iloc[0] == "a\ufffdb"
    assert logs.hangs["athlete"].iloc[0] == "k\ufffdim"
    assert [(p.line, p.column) for p in logs.warnings if p.code == "control_character"] == [
        (2, "athlete"),
        (2, "note"),
    ]


def test_an_endless_number_refuses_its_row(tmp_path: Path) -> None:
    """A whole number beyond all bounds is out of range, no crash."""
    head = b"athlete,date,exercise,grip,hand,edge_mm,hang_s,sets\n"
    logs = load(tmp_path, head + b"kim,2026-01-05,hang,half_crimp,both,20,10,1e999\n")
    assert [(p.code, p.line, p.column) for p in logs.errors] == [("out_of_range", 2, "sets")]


def test_unknown_columns_never_hide_each_other(tmp_path: Path) -> None:
    """Columns named as the reader's own, or without a name, are all kept."""
    head = b"athlete,date,exercise,grip,hand,edge_mm,hang_s,file,file_,column_11,\n"
    logs = load(tmp_path, head + b"kim,2026-01-05,hang,half_crimp,both,20,10,a,b,c,d\n")
    assert logs.errors == ()
    assert logs.hangs["file"].iloc[0] == "hangs.csv"
    names = ("file", "file_", "column_11", "column_11_")
    kept = [logs.extra["hangs"][c].iloc[0] for c in names]
    assert kept == ["a", "b", "c", "d"]
