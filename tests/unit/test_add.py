"""Rows of a session, in log format, added to a log folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from gripbook.errors import GripbookError
from gripbook.logs import load_logs
from gripbook.logs.add import add_files, tables_in

SESSION = """\
athlete,date,order,exercise,grip,hand,edge_mm,added_kg,hang_s,note\r
kim,2026-01-05,1,hang,half_crimp,both,20,5,10,'=1+1\r
kim,2026-01-05,2,hang,half_crimp,both,20,5,10,\r
\r
athlete,date,kind,minutes,effort\r
kim,2026-01-05,fingers,45,6\r
\r
athlete,date,when,site,side,level\r
kim,2026-01-05,during,,,0\r
"""
HANGS = "athlete;date;exercise;grip;hand;edge_mm;hang_s;added_lb\n"
HANGS += "kim;2026-01-01;hang;half_crimp;both;20;10;11"


def phone(folder: Path, text: str = SESSION) -> Path:
    """A file as a phone hands it over, beside a log folder `logs` of one row without an end."""
    (folder / "logs").mkdir(exist_ok=True)
    if not (folder / "logs" / "hangs.csv").exists():
        (folder / "logs" / "hangs.csv").write_text(HANGS)
    path = folder / "kim.csv"
    path.write_bytes(text.encode())
    return path


def test_a_file_holds_several_tables() -> None:
    """Each is known by its header and keeps its lines."""
    tables = tables_in(SESSION.encode(), "kim.csv")
    assert [(kind.name, line) for kind, line, _ in tables] == [
        *(("hangs", 1), ("sessions", 5), ("pain", 8)),
    ]


def test_rows_are_added_in_the_units_of_the_file(tmp_path: Path) -> None:
    """Behind a row without a line end, in pounds where the file has them, old rows as they were."""
    path = phone(tmp_path)
    done = add_files(tmp_path / "logs", [path])
    assert (done.added, done.known, done.refused) == (4, 0, 0)
    logs = load_logs(tmp_path / "logs")
    assert logs.errors == ()
    assert logs.hangs["added_kg"].tolist() == pytest.approx([4.98952, 5, 5], abs=1e-4)
    assert logs.hangs["note"].tolist() == ["", "=1+1", ""]
    assert logs.sessions["minutes"].tolist() == [45]
    assert logs.pain["level"].tolist() == [0]


def test_the_same_rows_again_change_nothing(tmp_path: Path) -> None:
    """Twice the same session is recognised."""
    path = phone(tmp_path)
    add_files(tmp_path / "logs", [path])
    before = {p.name: p.read_bytes() for p in (tmp_path / "logs").iterdir()}
    done = add_files(tmp_path / "logs", [path])
    assert (done.added, done.known, done.conflicts) == (0, 4, [])
    assert {p.name: p.read_bytes() for p in (tmp_path / "logs").iterdir()} == before


def test_a_session_with_other_rows_is_shown(tmp_path: Path) -> None:
    """Nothing of it is added, what doesn't contradict is."""
    add_files(tmp_path / "logs", [phone(tmp_path)])
    changed = SESSION.replace(",2,hang,half_crimp,both,20,5,", ",2,hang,half_crimp,both,20,7.5,")
    done = add_files(tmp_path / "logs", [phone(tmp_path, changed)])
    assert (done.added, done.known) == (0, 2)
    (conflict,) = done.conflicts
    assert (conflict.file, conflict.session) == ("hangs", "kim 2026-01-05")
    assert (conflict.held, conflict.given) == (2, 2)


def test_a_faulty_row_keeps_the_file_out(tmp_path: Path) -> None:
    """The line told is that of the file, and nothing is written."""
    path = phone(tmp_path, SESSION.replace(",45,6", ",45,60"))
    done = add_files(tmp_path / "logs", [path])
    assert (done.added, done.refused) == (0, 1)
    assert [(p.file, p.line, p.column) for p in done.problems] == [("kim.csv", 6, "effort")]
    assert not (tmp_path / "logs" / "sessions.csv").exists()


def test_rows_without_a_header_are_told(tmp_path: Path) -> None:
    """The line and what is missing."""
    with pytest.raises(GripbookError, match=r"kim\.csv:1: no header"):
        add_files(tmp_path / "logs", [phone(tmp_path, "kim,2026-01-05\n")])


def test_rows_go_to_the_sub_folder_of_their_athlete(tmp_path: Path) -> None:
    """Where an athlete's logs stand in a sub-folder, rows go there."""
    sub = tmp_path / "logs" / "kim"
    sub.mkdir(parents=True)
    lines = [line.split(";", 1)[1] for line in HANGS.split("\n")]
    (sub / "hangs.csv").write_text("\n".join(lines) + "\n")
    path = tmp_path / "kim.csv"
    path.write_text(SESSION)
    assert add_files(tmp_path / "logs", [path]).added == 4
    assert sorted(p.name for p in sub.iterdir()) == ["hangs.csv", "pain.csv", "sessions.csv"]
    assert load_logs(tmp_path / "logs").errors == ()


def test_remarks_stay_where_columns_are_added(tmp_path: Path) -> None:
    """A file that lacks a column is written anew with its remarks at their places."""
    (tmp_path / "logs").mkdir()
    hangs = tmp_path / "logs" / "hangs.csv"
    hangs.write_text(
        "athlete,date,exercise,grip,hand,edge_mm,hang_s,note\n"
        '# kim,example\nkim,2026-01-01,hang,half_crimp,both,20,10,"one\n# two"\n# the end\n'
    )
    before = load_logs(tmp_path / "logs").hangs
    assert add_files(tmp_path / "logs", [phone(tmp_path)]).refused == 0
    lines = hangs.read_text().splitlines()
    assert [line for line in lines if line.startswith("# ")] == [
        *("# kim,example", '# two",,', "# the end"),
    ]
    assert lines[-3] == "# the end"
    after = load_logs(tmp_path / "logs").hangs
    assert after["note"].tolist()[:1] == before["note"].tolist()
    assert len(after) == 3
