"""The commands that bring logs in, as a coach types them."""

from __future__ import annotations

import json
import os
import re
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from gripbook.cli import main
from gripbook.logs.schema import FILES
from gripbook.strength import RESULT_COLUMNS
from tests.spreadsheets import SPREADSHEETS

HEAD = "athlete,date,exercise,grip,hand,edge_mm,hang_s\n"


def run(*arguments: object) -> Result:
    """Run the command line."""
    return CliRunner().invoke(main, [str(a) for a in arguments], catch_exceptions=False)


def test_adopt_asks_first_then_writes_then_does_nothing(tmp_path: Path) -> None:
    """Three runs: questions and exit 1, rows and exit 0, the same and exit 0."""
    sheet = SPREADSHEETS[1]
    path, logs = tmp_path / sheet.name, tmp_path / "logs"
    sheet.write(path)
    first = run("adopt", path, "--into", logs)
    assert first.exit_code == 1
    asked = "[sheet.values.grip] 'Open hand': which is it? (open_four or open_three)"
    assert asked in first.stdout
    assert "[sheet.default] athlete: what is it in every row? (the athlete's id, " in first.stdout
    assert "Nothing was written." in first.stdout
    text = (logs / "map.toml").read_text()
    for line, mended in sheet.edits.items():
        text = text.replace(line, mended)
    (logs / "map.toml").write_text(text)
    second = run("adopt", path, "--into", logs)
    assert second.exit_code == 0
    assert "4 rows: 4 used, 0 refused, 0 ignored" in second.stdout
    assert "fingers.csv:2  5 Jan 2026 | Half crimp 20mm" in second.stdout
    assert "8 rows added" in second.stdout
    assert second.stdout.splitlines()[-1] == f"`gripbook check {logs}` looks through the log."
    assert "Refused rows come in" not in second.stdout
    third = run("adopt", path, "--into", logs)
    assert third.exit_code == 0
    assert "0 rows added" in third.stdout
    assert run("check", logs).exit_code == 0


def test_check_says_the_same_in_four_ways(tmp_path: Path) -> None:
    """A line a fault, a line a row, JSON, and nothing; the same exit status."""
    (tmp_path / "hangs.csv").write_text(HEAD + "kim,2026-01-05,hang,Halbcrump,L,20,10s\n" * 3)
    grouped = run("check", tmp_path)
    assert grouped.exit_code == 1
    assert grouped.stdout.count("\n") == 1
    assert "hangs.csv:2, 3, 4: error: grip = 'Halbcrump' in three rows" in grouped.stdout
    assert "hangs.csv: hand: 'L' read as left, three rows" in grouped.stderr
    every = run("check", tmp_path, "--all")
    assert (every.exit_code, every.stdout.count("\n")) == (1, 3)
    quiet = run("check", tmp_path, "--quiet")
    assert (quiet.exit_code, quiet.output) == (1, "")
    data = json.loads(run("check", tmp_path, "--json").stdout)
    assert [(p["line"], p["code"]) for p in data["problems"]] == [
        *((2, "unknown_grip"), (3, "unknown_grip"), (4, "unknown_grip")),
    ]
    assert {"kind": "number", "file": "hangs.csv", "column": "hang_s", "written": "10s"} | {
        "read": "10",
        "rows": 3,
    } in data["notes"]
    assert data["files"][0]["rows_refused"] == 3


def test_columns_prints_the_format(tmp_path: Path) -> None:
    """Every column of every file, and of results.csv; one file alone; an unknown name is told."""
    text = run("columns").stdout
    for kind in FILES.values():
        assert f"{kind.name}.csv: " in text
        for column in kind.columns:
            assert f"\n  {column.name} " in text
    results = run("columns", "results").stdout
    assert re.findall(r"^  (\S+)", results, re.MULTILINE) == [*RESULT_COLUMNS]
    assert run("columns", "hang").exit_code == 1


def test_a_new_folder_has_examples_that_are_not_read(tmp_path: Path) -> None:
    """Each file has a remark, README.txt says what each column is, and `check` knows them."""
    run("new", tmp_path / "logs")
    for name in FILES:
        header, example = (tmp_path / "logs" / f"{name}.csv").read_text().splitlines()
        assert example.startswith("# kim,")
        assert header.count(",") == example.count(",")
    assert "reserve_reps" in (tmp_path / "logs" / "README.txt").read_text()
    checked = run("check", tmp_path / "logs")
    assert (checked.exit_code, checked.stdout) == (0, "")
    assert "hangs.csv: one row beginning with # left out as remarks" in checked.stderr


def test_examples_are_good_rows(tmp_path: Path) -> None:
    """Without the sign in front each example is a row that is used."""
    run("new", tmp_path)
    for name in FILES:
        path = tmp_path / f"{name}.csv"
        path.write_text(path.read_text().replace("# kim", "kim"))
    data = json.loads(run("check", tmp_path, "--json").stdout)
    assert [f["rows_used"] for f in data["files"]] == [1] * len(FILES)
    assert [p for p in data["problems"] if p["severity"] == "error"] == []


def test_add_tells_what_it_left_out(tmp_path: Path) -> None:
    """Rows are added once; a session that differs is shown with exit status 1."""
    (tmp_path / "logs").mkdir()
    path = tmp_path / "kim.csv"
    path.write_text(HEAD + "kim,2026-01-05,hang,half_crimp,both,20,10\n")
    assert run("add", tmp_path / "logs", path).exit_code == 0
    assert "0 rows added, 1 were there" in run("add", tmp_path / "logs", path).stderr
    path.write_text(path.read_text().replace(",20,", ",18,"))
    third = run("add", tmp_path / "logs", path)
    assert third.exit_code == 1
    assert "hangs.csv has kim 2026-01-05 already" in third.stdout


def test_a_place_that_cant_be_written_is_told(small_logs: Path, tmp_path: Path) -> None:
    """What the system refuses is an error of one line, with the path."""
    (tmp_path / "file").write_text("")
    done = run("results", small_logs, "--out", tmp_path / "file" / "results.csv")
    assert done.exit_code == 1
    assert done.stderr.splitlines()[-1] == (
        f"Error: {tmp_path / 'file' / 'results.csv'} can't be written: Not a directory. "
        "What stood there before is unchanged. Make its folder first, or name another place."
    )


def test_a_sheet_on_paper_and_for_the_phone(demo_logs_folder: Path, tmp_path: Path) -> None:
    """Both pages are written, a PDF of the phone's isn't; a week that is over is told."""
    who = ("sheet", demo_logs_folder, "--athlete", "brin")
    assert run(*who, "--out", tmp_path / "new" / "brin.html").exit_code == 0
    assert "<table>" in (tmp_path / "new" / "brin.html").read_text()
    assert run(*who, "--phone", "--out", tmp_path / "phone.html").exit_code == 0
    assert "<script" in (tmp_path / "phone.html").read_text()
    assert run(*who, "--phone", "--out", tmp_path / "phone.pdf").exit_code == 2
    assert run(*who, "--week", 0, "--out", tmp_path / "b.html").exit_code == 2
    minor = run("sheet", demo_logs_folder, "--athlete", "dova", "--out", tmp_path / "d.html")
    assert (minor.exit_code, (tmp_path / "d.html").exists()) == (1, False)


def test_what_a_block_lacks_is_said_of_each_athlete(tmp_path: Path) -> None:
    """A problem of a whole file isn't one line for several athletes, of whom it names one."""
    rows = "".join(f"{who},2026-01-05,hang,half_crimp,both,20,10\n" for who in "abcde")
    (tmp_path / "hangs.csv").write_text(HEAD + rows)
    (tmp_path / "block.toml").write_text('[block]\nname = "W"\nstart = 2026-11-30\nweeks = 4\n')
    said = [x for x in run("check", tmp_path).stdout.splitlines() if x.startswith("block.toml")]
    assert [line.split("no entry of ")[1][0] for line in said] == [*"abcde"]


@pytest.mark.skipif(sys.platform == "win32", reason="pipes of Unix")
def test_a_file_that_is_none_is_told_as_in_check(small_logs: Path, tmp_path: Path) -> None:
    """A pipe in place of a file, which would wait for ever, is refused with what to do."""
    os.mkfifo(tmp_path / "pipe.csv")
    for words in (("add", small_logs), ("adopt", "--into", tmp_path / "new")):
        done = run(*words, tmp_path / "pipe.csv")
        assert done.exit_code == 1
        assert "pipe.csv: error: is no file (a folder, a pipe or a device)" in done.stderr, words
