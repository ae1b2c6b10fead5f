"""Whatever a file holds: no row vanishes, none crashes the reader."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pandas as pd
from hypothesis import example, given, settings
from hypothesis import strategies as st

from gripbook.logs import Logs, load_logs
from gripbook.logs.reader import read_table
from gripbook.units import KG_PER_LB

HEADER = ["athlete", "date", "exercise", "grip", "hand", "edge_mm", "hang_s", "added_kg", "sets"]
GOOD = ["kim", "2026-01-05", "hang", "half_crimp", "both", "20", "10", "2.5", ""]

odd_text = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\r\n"), max_size=8)
odd_cell = st.one_of(
    st.sampled_from(
        ["", "x", "-1", "1e999", "nan", "NA", "05.01.2026", "2026-13-40", '"', "a,b", ";", "\0"]
    ),
    odd_text,
)


@st.composite
def damaged_row(draw: st.DrawFn) -> list[str]:
    """A good row with some cells changed, some taken away or added."""
    row = list(GOOD)
    for _ in range(draw(st.integers(0, 3))):
        row[draw(st.integers(0, len(row) - 1))] = draw(odd_cell)
    if draw(st.booleans()):
        row = row[: draw(st.integers(1, len(row)))]
    return row + draw(st.lists(odd_cell, max_size=2))


@st.composite
def damaged_file(draw: st.DrawFn) -> bytes:
    """Rows joined by any separator and line end, sometimes without care for quotes."""
    separator = draw(st.sampled_from([",", ";", "\t"]))
    end = draw(st.sampled_from(["\n", "\r\n", "\r"]))
    careful = draw(st.booleans())

    def cell(text: str) -> str:
        if careful and any(c in text for c in (separator, '"')):
            return '"' + text.replace('"', '""') + '"'
        return text

    rows = draw(st.lists(st.one_of(st.just(GOOD), damaged_row(), st.just([])), max_size=12))
    text = end.join(separator.join(map(cell, r)) for r in [HEADER, *rows]) + end
    encoding = draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]))
    return text.encode(encoding, errors="replace")


def load(**files: bytes) -> Logs:
    """Load a folder of these files."""
    with tempfile.TemporaryDirectory() as name:
        for file, data in files.items():
            path = Path(name, *file.split("__")).with_suffix(".csv")
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(data)
        return load_logs(name)


@settings(max_examples=30, deadline=None)
@given(damaged_file())
def test_every_row_is_used_or_listed(data: bytes) -> None:
    """Rows used + rows refused = rows read; each line of the file is accounted for."""
    logs = load(hangs=data)
    (report,) = logs.reports
    assert report.rows_used + report.rows_refused == report.rows_read
    assert len(logs.hangs) == report.rows_used
    used = set(logs.hangs["line"])
    assert len(used) == report.rows_used
    covered = {n for p in logs.errors for n in range(p.line, p.last_line + 1)}
    table = read_table(data, "hangs.csv", HEADER)
    for row in table.rows:
        assert row.line in used or covered & set(range(row.line, row.last_line + 1))
    refused = {row.line for row in table.rows} - used
    assert refused <= covered
    assert report.rows_refused == len(refused) + table.broken


@settings(max_examples=30, deadline=None)
@given(st.binary(max_size=300))
@example(b"#")
def test_no_bytes_crash_the_reader(data: bytes) -> None:
    """Any bytes give frames and problems, never an exception; a file refused whole says so."""
    logs = load(hangs=data)
    if not logs.reports:  # such as one whose first line is a remark
        assert [p for p in logs.errors if p.file.startswith("hangs")]
        assert logs.hangs.empty
        return
    assert logs.reports[0].rows_used == len(logs.hangs)


@settings(max_examples=30, deadline=None)
@given(st.lists(damaged_row(), min_size=1, max_size=8), st.randoms(use_true_random=False))
def test_order_of_rows_decides_nothing(rows: list[list[str]], random: object) -> None:
    """The same rows in another order: the same rows are used."""

    def text(of: list[list[str]]) -> bytes:
        quoted = [['"' + c.replace('"', '""') + '"' for c in r] for r in of]
        return "\n".join(",".join(r) for r in [HEADER, *quoted]).encode()

    mixed = list(rows)
    random.shuffle(mixed)  # type: ignore[attr-defined]

    def content(logs: Logs) -> list[tuple[object, ...]]:
        frame = logs.hangs.drop(columns=["line"]).astype("str")
        return sorted(map(tuple, frame.to_numpy()))

    assert content(load(hangs=text(rows))) == content(load(hangs=text(mixed)))


weights = st.lists(st.floats(-20, 60).map(lambda x: round(x, 2)), min_size=1, max_size=6)


@settings(max_examples=40, deadline=None)
@given(weights)
def test_pounds_are_kilograms(kilograms: list[float]) -> None:
    """A file in pounds gives the frame of the same file in kilograms."""

    def text(column: str, values: list[float]) -> bytes:
        header = [column if h == "added_kg" else h for h in HEADER]
        rows = [[*GOOD[:7], repr(v), ""] for v in values]
        return "\n".join(",".join(r) for r in [header, *rows]).encode()

    one = load(hangs=text("added_kg", kilograms)).hangs
    other = load(hangs=text("added_lb", [k / KG_PER_LB for k in kilograms])).hangs
    pd.testing.assert_frame_equal(one, other, rtol=1e-9)


@settings(max_examples=25, deadline=None)
@given(weights, st.integers(0, 6))
def test_split_over_folders(kilograms: list[float], cut: int) -> None:
    """Rows split over the top and a sub-folder are the rows of one file."""

    def text(values: list[float]) -> bytes:
        rows = [[*GOOD[:7], repr(v), ""] for v in values]
        return "\n".join(",".join(r) for r in [HEADER, *rows]).encode()

    whole = load(hangs=text(kilograms)).hangs
    parts = load(hangs=text(kilograms[:cut]), kim__hangs=text(kilograms[cut:])).hangs
    here = ["file", "line"]
    pd.testing.assert_frame_equal(parts.drop(columns=here), whole.drop(columns=here))


plain_text = st.text(
    st.characters(exclude_categories=["Cs"], exclude_characters='\r\n\0,"'), max_size=6
)
looks_like = st.sampled_from(["", " ", "7", "007", "7.0", "1e3", "nan", "NA", "True", "\x1f", "é"])
plain_rows = st.lists(st.lists(plain_text | looks_like, min_size=4, max_size=4), max_size=12)


@settings(max_examples=30, deadline=None)
@given(plain_rows, st.lists(st.booleans(), min_size=12, max_size=12), st.sampled_from("\n\r"))
def test_rows_split_in_bulk_are_those_of_the_csv_module(
    rows: list[list[str]], quoted: list[bool], end: str
) -> None:
    """A quote around each cell, which sends a row through the csv module, changes nothing."""
    header = ["athlete", "date", "note", "more"]

    def text(with_quotes: list[bool]) -> bytes:
        lines = [
            ",".join(f'"{c}"' if q else c for c in r)
            for r, q in zip(rows, with_quotes, strict=False)
        ]
        return end.join([",".join(header), *lines]).encode() + end.encode()

    bulk = read_table(text([False] * 12), "f.csv", header)
    expected = [(n, n, r) for n, r in enumerate(rows, 2) if "".join(r).strip()]
    for table in (bulk, read_table(text([True] * 12), "f.csv", header)):
        assert [tuple(r) for r in table.rows] == expected
    mixed = read_table(text(quoted), "f.csv", header)
    assert [tuple(r) for r in mixed.rows] == expected
    assert (mixed.blank, mixed.broken, mixed.problems) == (bulk.blank, 0, [])


notes = st.text(st.sampled_from('ab ,;."\n'), max_size=12)


@settings(max_examples=30, deadline=None)
@given(st.lists(notes, min_size=1, max_size=8), st.sampled_from(["\n", "\r\n", "\r"]))
def test_lines_are_those_of_an_editor(texts: list[str], end: str) -> None:
    """With quoted notes over several lines each row begins on the line an editor shows."""
    lines: list[str] = [",".join([*HEADER, "note"])]
    begins: list[int] = []
    for note in texts:
        begins.append(len(lines) + 1)
        # blanks behind commas: prose, not rows that an open quote has eaten
        note = note.replace(",", ", ")
        lines += (",".join(GOOD) + ',"' + note.replace('"', '""') + '"').split("\n")
    logs = load(hangs=(end.join(lines) + end).encode())
    assert [str(p) for p in logs.errors] == []
    assert list(logs.hangs["line"]) == begins
    assert list(logs.hangs["note"]) == [t.replace(",", ", ").strip() for t in texts]


@settings(max_examples=50, deadline=None)
@given(
    st.lists(st.sampled_from(["good", "open", "short", "long", "blank", "bad", "two"]), max_size=12)
)
def test_each_line_is_used_refused_or_blank(kinds: list[str]) -> None:
    """Every line below the header: in the frame, covered by an error, or empty."""
    good = ",".join([*GOOD, "note"])
    rows = {
        "good": good,
        "open": good.replace("note", '"note'),
        "short": ",".join(GOOD[:7]),
        "long": good + ",1,2",
        "blank": "",
        "bad": good.replace("half_crimp", "crimp"),
        "two": good.replace("note", '"one\ntwo"'),
    }
    text = "\n".join([",".join([*HEADER, "note"]), *(rows[k] for k in kinds)]) + "\n"
    logs = load(hangs=text.encode())
    covered = {n for p in logs.errors for n in range(p.line, p.last_line + 1)}
    used = set(logs.hangs["line"])
    assert not used & covered
    line = 2
    for kind in kinds:
        if kind in ("good", "short", "two"):
            assert line in used
        elif kind != "blank":
            assert line in covered
        line += 2 if kind == "two" else 1
