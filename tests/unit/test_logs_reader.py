"""Bytes to rows: encodings, separators, quotes, and lines as an editor counts them."""

from __future__ import annotations

import csv

import pytest

from gripbook.logs import reader
from gripbook.logs.reader import read_table, vote_delimiter
from gripbook.words.problems import problem_line, reason_and_remedy

KNOWN = ["athlete", "date", "added_kg", "note", "grip"]


def rows(data: bytes | str) -> list[tuple[int, list[str]]]:
    """Line and cells of each row."""
    raw = data.encode() if isinstance(data, str) else data
    return [(r.line, list(r.cells)) for r in read_table(raw, "f.csv", KNOWN).rows]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_separators_and_line_ends(separator: str, end: str) -> None:
    """Comma, semicolon and tab, with any line end, give the same rows on the same lines."""
    text = end.join(separator.join(r) for r in (["athlete", "date"], ["a", "b"], ["c", "d"], []))
    assert rows(text) == [(2, ["a", "b"]), (3, ["c", "d"])]


def test_header_decides_the_separator() -> None:
    """Commas in notes do not outvote the semicolons of the header."""
    text = "athlete;date;note\nkim;2026-01-05;one, two, three, four\n"
    assert rows(text) == [(2, ["kim", "2026-01-05", "one, two, three, four"])]
    assert vote_delimiter("athlete,date", KNOWN) == (",", 2)
    assert vote_delimiter("name", KNOWN) == (",", 0)


def test_spreadsheet_declaration_is_obeyed() -> None:
    """A first line sep=; names the separator and is no header."""
    assert rows("sep=;\nathlete;date\nkim;x\n") == [(3, ["kim", "x"])]


@pytest.mark.parametrize(
    ("data", "encoding"),
    [
        ("athlete,note\nkim,wärm\n".encode(), "utf-8"),
        ("athlete,note\nkim,wärm\n".encode("utf-8-sig"), "utf-8-sig"),
        ("athlete,note\nkim,wärm\n".encode("utf-16"), "utf-16"),
        ("athlete,note\nkim,wärm\n".encode("cp1252"), "cp1252"),
    ],
)
def test_encodings(data: bytes, encoding: str) -> None:
    """UTF-8 with and without mark, UTF-16 with mark, else Windows-1252 with a warning."""
    table = read_table(data, "f.csv", KNOWN)
    assert table.encoding == encoding
    assert table.header == ["athlete", "note"]
    assert table.rows[0].cells == ["kim", "wärm"]
    told = [problem_line(p) for p in table.problems]
    expected = [
        "f.csv:2: warning: isn't UTF-8; it was read as Windows-1252. "
        "Look at names with accents, or save the file as UTF-8."
    ]
    assert told == (expected if encoding == "cp1252" else [])


def test_lines_after_a_note_of_several_lines() -> None:
    """A quoted line break belongs to its cell, and later rows keep their physical lines."""
    text = 'athlete,note\nkim,"one\ntwo\n\nthree"\nlou,x\n'
    assert rows(text) == [(2, ["kim", "one\ntwo\n\nthree"]), (6, ["lou", "x"])]


def test_blank_rows_are_no_rows() -> None:
    """Empty lines and rows of separators alone are passed over and counted, lines kept."""
    table = read_table(b"\n\nathlete,date\n\na,b\n,\n  ,  \nc,d\n", "f.csv", KNOWN)
    assert [(r.line, r.cells) for r in table.rows] == [(5, ["a", "b"]), (8, ["c", "d"])]
    assert table.blank == 3
    assert table.header_line == 3


def test_short_row_is_filled_with_a_warning() -> None:
    """Missing cells at the end are taken as empty and told; nothing moves to another column."""
    table = read_table(b"athlete,date,note\na,b\n", "f.csv", KNOWN)
    assert table.rows[0].cells == ["a", "b", ""]
    assert problem_line(table.problems[0]) == (
        "f.csv:2: warning: 'a,b': has 2 cells under 3 column names; the missing ones were taken "
        "as empty. Add the missing separators at the end of the row."
    )


def test_long_row_is_refused() -> None:
    """A row with more filled cells than the header has names cannot be placed."""
    table = read_table(b"athlete,date\na,2,5\nb,c\n", "f.csv", KNOWN)
    assert [r.cells for r in table.rows] == [["b", "c"]]
    assert table.broken == 1
    assert problem_line(table.problems[0]) == (
        "f.csv:2: error: 'a,2,5': has 3 cells under 2 column names. Put text or decimals that "
        "hold the separator in double quotes."
    )


def test_separators_at_the_end() -> None:
    """
    Of every row they are a spreadsheet's and harmless; of one row alone they tell that a decimal
    comma moved its cells on: 62,4 must not be read as 62.
    """
    every = read_table(b"athlete,date\na,b,\nc,d,\n", "f.csv", KNOWN)
    assert [r.cells for r in every.rows] == [["a", "b"], ["c", "d"]]
    one = read_table(b"athlete,added_kg,note\na,62.4,\nb,62,4,\n", "f.csv", KNOWN)
    assert [(r.line, r.cells) for r in one.rows] == [(2, ["a", "62.4", ""])]
    assert [(p.code, p.line) for p in one.problems] == [("too_many_cells", 3)]
    assert one.broken == 1


@pytest.mark.parametrize(
    "text",
    [
        'athlete,note\na,"open\nb,x\nc,y\n',  # never closed
        'athlete,note\na,"open\nb,x\nc,"y"\n',  # closed by a later row's quote
        'athlete,note\na,"open" tail\nb,x\nc,y\n',  # text after the closing quote
    ],
)
def test_one_bad_quote_costs_one_row(text: str) -> None:
    """The row with the bad quote is refused with its line; the rows below it are freed."""
    table = read_table(text.encode(), "f.csv", KNOWN)
    assert [(r.line, r.cells) for r in table.rows] == [(3, ["b", "x"]), (4, ["c", "y"])]
    errors = [p for p in table.problems if p.severity == "error"]
    assert [p.line for p in errors] == [2]
    assert (
        reason_and_remedy(errors[0])[0]
        == "holds a double quote that does not close where its cell ends."
    )


@pytest.mark.parametrize("data", [b"", b"\n\n", b"\xef\xbb\xbf", b",,,\n"])
def test_files_without_anything(data: bytes) -> None:
    """An empty file is no crash: no header, no rows."""
    table = read_table(data, "f.csv", KNOWN)
    assert table.rows == []


def test_nul_bytes_do_not_stop_reading() -> None:
    """A NUL byte stays in its cell for the rules to tell."""
    assert rows(b"athlete,note\nkim,a\x00b\n") == [(2, ["kim", "a\x00b"])]


@pytest.mark.parametrize("block_lines", [1, 3, 1000])
def test_cells_of_any_length(monkeypatch: pytest.MonkeyPatch, block_lines: int) -> None:
    """Cells that differ by their last letter alone stay apart, however long and wherever split."""
    monkeypatch.setattr(reader, "_BLOCK_LINES", block_lines)
    words = [letter * n + last for n in range(70) for letter in "aé" for last in ("", "b", "ab")]
    lines = [f"{word},{i % 3},{words[-1 - i]}" for i, word in enumerate(words)]
    lines += [*lines[:9], "short", *lines[5:20], '"in\n1, 2, 3\nquotes",,', *lines[::-1]]
    text = "\n".join(["athlete,grip,note", *lines])
    expected = [row + [""] * (3 - len(row)) for row in csv.reader(text.splitlines(True)[1:])]
    assert [cells for _, cells in rows(text)] == expected


def test_cells_inside_a_record_are_not_held() -> None:
    """What stands in a note of several lines is no cell of any column, though it looks like one."""
    table = read_table(b'athlete,note\nkim,"on\nsam,two\nmore"\nkim,x\n', "f.csv", KNOWN)
    assert [sorted(set(texts.held())) for texts in table.columns] == [
        ["kim"],
        ["on\nsam,two\nmore", "x"],
    ]
    assert [list(texts.distinct).count("sam") for texts in table.columns] == [0, 0]
