"""Odd logs that somebody keeps: what each once hid, and the whole message it must give."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from gripbook.logs import Logs, load_logs
from gripbook.logs.reader import read_table
from gripbook.words.problems import problem_line, reason_and_remedy

HEADER = "athlete,date,exercise,grip,hand,edge_mm,added_kg,hang_s,note"
ROW = "kim,2026-01-0{day},hang,half_crimp,both,20,0,10,{note}"
KNOWN = HEADER.split(",")


def row(day: int, note: str = "") -> str:
    """A good row."""
    return ROW.format(day=day, note=note)


def load(folder: Path, *rows: str, header: str = HEADER, end: str = "\n", **files: str) -> Logs:
    """Load a folder whose hangs.csv holds the rows, beside other files."""
    text = end.join([header, *rows]) + end
    (folder / "hangs.csv").write_bytes(text.encode())
    for name, content in files.items():
        path = Path(folder, *name.split("__")).with_suffix(".csv")
        path.parent.mkdir(exist_ok=True)
        path.write_text(content, encoding="utf-8")
    return load_logs(folder, today=dt.date(2026, 6, 1))


def errors(logs: Logs) -> list[str]:
    """The errors, whole."""
    return [problem_line(p) for p in logs.errors]


BAD_QUOTE = (
    "holds a double quote that does not close where its cell ends. "
    'Close it, or write a quote inside a cell twice ("").'
)


@pytest.mark.parametrize(
    "rows",
    [
        [row(1), row(2, '"oops'), row(3), row(4), row(5, '"'), row(6)],
        [row(1), row(2, '"oops'), row(3), row(4, '"fine"'), row(5), row(6)],
        [row(1), row(2, '"oops'), row(3), row(4), row(5), row(6, "last")],
        [row(1), row(2).replace("hang,", '"hang,'), row(3), row(4, '"'), row(5), row(6)],
        [row(1), row(2, '"a"b'), row(3), row(4), row(5), row(6)],
    ],
)
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_an_open_quote_eats_no_rows(tmp_path: Path, rows: list[str], end: str) -> None:
    """A quote left open costs the rows with bad quotes; those between are read, on their lines."""
    logs = load(tmp_path, *rows, end=end)
    refused = {p.line for p in logs.errors}
    assert 3 in refused
    assert all(p.code == "broken_quote" for p in logs.errors)
    assert problem_line(logs.errors[0]).endswith(BAD_QUOTE)
    bad = {k for k, r in enumerate(rows, 2) if r.count('"') == 1 or '"a"b' in r}
    assert refused == bad
    assert set(logs.hangs["line"]) == set(range(2, 8)) - bad
    (report,) = logs.reports
    assert (report.rows_read, report.rows_refused) == (6, len(bad))


def test_a_note_of_several_lines_with_commas(tmp_path: Path) -> None:
    """Prose over several lines is one cell, however many commas it has; later lines are true."""
    note = '"slept badly, ate late, drank, talked\nso, well, I went, home, and, to, bed, again, ok"'
    logs = load(tmp_path, row(1, note), row(2))
    assert errors(logs) == []
    assert list(logs.hangs["line"]) == [2, 4]
    assert logs.hangs["note"].iloc[0] == note.strip('"')


def test_a_refused_row_covers_all_its_lines(tmp_path: Path) -> None:
    """A row over three lines with a bad cell is refused with its first and last line."""
    logs = load(tmp_path, row(1, '"a\nb\nc"').replace("half_crimp", "crimp"), row(2))
    (problem,) = logs.errors
    assert (problem.code, problem.line, problem.last_line) == ("unknown_grip", 2, 4)
    assert list(logs.hangs["line"]) == [5]


def test_a_note_of_several_lines_with_a_cell_too_many(tmp_path: Path) -> None:
    """Too many cells on two lines are one refused row, not two."""
    logs = load(tmp_path, row(1, '"a\nb",more'), row(2))
    (problem,) = logs.errors
    assert (problem.code, problem.line, problem.last_line) == ("too_many_cells", 2, 3)
    assert list(logs.hangs["line"]) == [4]


def test_the_first_comma_is_told_where_points_stand(tmp_path: Path) -> None:
    """Mixed decimal signs are told at the row with the first comma."""
    rows = [row(d).replace(",0,10", f",{kg},10") for d, kg in enumerate(("1.5", "2", '"2,5"'), 1)]
    logs = load(tmp_path, *rows, '"' + row(4) + '"')
    assert [problem_line(p) for p in logs.warnings if p.code == "mixed_decimals"] == [
        "hangs.csv:4: warning: added_kg = '2,5': has a decimal comma while other rows have a "
        "decimal point; both were read. Use one sign in a file."
    ]
    assert list(logs.hangs["added_kg"]) == [1.5, 2, 2.5]


def test_ids_that_look_like_numbers_stay_apart(tmp_path: Path) -> None:
    """Ids and labels are text: 007 is not 7, 1.0 is not 1, True is not true."""
    ids = ["007", "7", "1.0", "1", "True", "true", "NA", "nan", "None", "null", "1e3", "inf"]
    logs = load(tmp_path, *(row(1).replace("kim", i) for i in ids))
    assert list(logs.hangs["athlete"]) == ids
    only_numbers = load(tmp_path, *(row(1, i).replace("kim", i) for i in ids[:4]))
    assert list(only_numbers.hangs["athlete"]) == ids[:4]
    assert list(only_numbers.hangs["note"]) == ids[:4]


def test_a_nul_does_not_make_two_texts_one(tmp_path: Path) -> None:
    """Cells that are alike up to a NUL byte are told apart, also a number."""
    rows = [row(1), row(2).replace(",20,", ",20\0,"), row(3).replace("kim", "kim\0a")]
    logs = load(tmp_path, *rows)
    assert errors(logs) == [
        "hangs.csv:3: error: edge_mm = '20\\x00': isn't a number. "
        "Write a number, or leave the cell empty."
    ]
    assert list(logs.hangs["athlete"]) == ["kim", "kim\ufffda"]


def test_unit_columns_are_told_by_their_own_name(tmp_path: Path) -> None:
    """A rule broken in a pound column names the column that stands in the file."""
    header = "athlete,date,exercise,grip,hand,edge_mm,scale_lb,stand_lb"
    pull = "kim,2026-01-01,pull,half_crimp,left,20,"
    logs = load(tmp_path, pull + "160,150", pull + ",150", header=header)
    assert errors(logs) == [
        "hangs.csv:2: error: scale_lb = '160': is not below stand_kg, so there was no load on the "
        "fingers. Check both readings.",
        "hangs.csv:3: error: scale_lb: is empty, and so is force_kg. "
        "Write what the scale showed while pulling. A load read from a gauge goes into a column "
        "force_kg.",
    ]


def test_the_line_of_the_first_odd_byte_in_a_cr_file() -> None:
    """Where the encoding was guessed, the line is counted right in files of bare CR too."""
    for end in ("\n", "\r\n", "\r"):
        table = read_table(end.join([HEADER, row(1), row(2, "ä")]).encode("cp1252"), "f", KNOWN)
        assert [(p.code, p.line) for p in table.problems] == [("encoding", 3)]
        assert table.encoding == "cp1252"


def test_a_mark_before_other_bytes_is_told() -> None:
    """A UTF-8 mark before bytes that are not UTF-8 is read as Windows-1252 with a warning."""
    table = read_table(b"\xef\xbb\xbf" + f"{HEADER}\n{row(1, 'ä')}".encode("cp1252"), "f", KNOWN)
    assert table.header == KNOWN
    assert [p.code for p in table.problems] == ["encoding"]
    assert table.rows[0].cells[-1] == "ä"


def test_labelled_sessions_are_two_sessions(tmp_path: Path) -> None:
    """The same work in a morning and an evening session is not called entered twice."""
    header = f"{HEADER},session"

    def half(label: str) -> list[str]:
        return [row(1).replace(",0,10", f",{kg},10") + f",{label}" for kg in (1, 2, 3, 4)]

    def twice(*labels: str) -> list[int]:
        logs = load(tmp_path, *(r for x in labels for r in half(x)), header=header)
        return [p.line for p in logs.warnings if p.code == "session_twice"]

    assert twice("am", "pm") == []
    assert twice("", "") == [6]
    assert twice("am", "am") == [6]
    assert twice("am", "pm", "pm") == [10]


def test_a_known_site_in_capitals_is_the_known_site(tmp_path: Path) -> None:
    """Ring is ring; a site in words of one's own stays as written."""
    pain = "athlete,date,site,level\nkim,2026-01-01,Ring,2\nkim,2026-01-02,Left A2,1\n"
    logs = load(tmp_path, row(1), pain=pain)
    assert list(logs.pain["site"]) == ["ring", "Left A2"]


def test_an_athlete_in_two_rows_is_told(tmp_path: Path) -> None:
    """athletes.csv has one row for each athlete; another is told, and what of it holds."""
    logs = load(tmp_path, row(1), athletes="athlete,born\nkim,1999\nkim,2009\n")
    assert [problem_line(p) for p in logs.warnings if p.file == "athletes.csv"] == [
        "athletes.csv:2: warning: born = '1999': is not what another row says; the more private "
        "one holds (2009). Keep one row for each athlete.",
        "athletes.csv:3: warning: athlete = 'kim': has more than one row; "
        "the last one counts. Keep one row for each athlete.",
    ]


def test_files_that_are_not_read_are_told(tmp_path: Path) -> None:
    """A misspelt name in a sub-folder, and a log two folders down, are told; hidden ones not."""
    rows = f"{HEADER}\n{row(1)}\n"
    logs = load(tmp_path, row(1), kim__hang=rows, kim__results=rows)
    for folder in ("old/2025", ".git/x"):
        (tmp_path / folder).mkdir(parents=True)
        (tmp_path / folder / "hangs.csv").write_text(rows)
    logs = load_logs(tmp_path)
    assert [
        (p.file, reason_and_remedy(p)[0])
        for p in logs.warnings
        if p.code in ("unknown_file", "file_too_deep")
    ] == [
        ("kim/hang.csv", "isn't a file of the log format and was not read."),
        ("old/2025/hangs.csv", "lies too deep and was not read."),
    ]
    assert len(logs.hangs) == 1


def test_a_broken_row_in_a_sub_folder_is_its_athletes(tmp_path: Path) -> None:
    """A row that cannot be split still belongs to the athlete whose folder it lies in."""
    header = HEADER.removeprefix("athlete,")
    rows = [row(1).removeprefix("kim,"), row(2, '"x').removeprefix("kim,"), "1,2,3,4,5,6,7,8,9"]
    (tmp_path / "lou").mkdir()
    (tmp_path / "lou" / "hangs.csv").write_text("\n".join([header, *rows]))
    logs = load_logs(tmp_path)
    assert [(p.code, p.line, p.athlete) for p in logs.errors] == [
        ("broken_quote", 3, "lou"),
        ("too_many_cells", 4, "lou"),
    ]
    assert {p.code for p in logs.for_athlete("lou").errors} == {"broken_quote", "too_many_cells"}


def test_every_open_quote_is_quick(tmp_path: Path) -> None:
    """20 000 rows that each leave a quote open are refused one by one in seconds, not minutes."""
    logs = load(tmp_path, *[row(1, '"x')] * 20_000, row(2))
    assert len(logs.errors) == 20_000
    assert list(logs.hangs["line"]) == [20_002]
