"""What is read has limits, named and told; nothing that isn't a regular file is opened."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from gripbook.logs import Logs, bounds, load_logs
from gripbook.logs import judge as judge_module
from gripbook.logs import reader as reader_module
from gripbook.words.problems import problem_line

HEADER = "athlete,date,order,sets,exercise,grip,hand,edge_mm,added_kg,hang_s"
ROW = "kim,2026-01-05,1,1,hang,half_crimp,both,20,5,10"
BLOCK = '[block]\nname = "B"\nstart = 2026-01-05\nweeks = 6\n'


def folder(tmp_path: Path, hangs: str | bytes = f"{HEADER}\n{ROW}\n", block: str = BLOCK) -> Path:
    """A log folder of one row."""
    data = hangs if isinstance(hangs, bytes) else hangs.encode()
    (tmp_path / "hangs.csv").write_bytes(data)
    (tmp_path / "block.toml").write_text(block)
    return tmp_path


def codes(logs: Logs) -> list[str]:
    """Codes of the errors."""
    return [p.code for p in logs.problems if p.severity == "error"]


def test_limits_hold_at_their_edge(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As much as the limit is read, one more is refused and told with both figures."""
    hangs = f"{HEADER}\n{ROW}\n"
    data = hangs.encode()
    where = folder(tmp_path, hangs)

    columns = HEADER.count(",") + 1
    limits = {"FILE_BYTES": len(data), "LINES": 2, "COLUMNS": columns, "CELLS": columns}
    for name, limit in limits.items():
        with monkeypatch.context() as patch:
            if name == "FILE_BYTES":
                patch.setattr(bounds.read_file, "__defaults__", (limit,))
            else:
                patch.setattr(reader_module, name, limit)
            assert codes(load_logs(where)) == []
        with monkeypatch.context() as patch:
            if name == "FILE_BYTES":
                patch.setattr(bounds.read_file, "__defaults__", (limit - 1,))
            else:
                patch.setattr(reader_module, name, limit - 1)
            (problem,) = [p for p in load_logs(where).problems if p.code == "too_much"]
            assert (problem.parameters["count"], problem.parameters["limit"]) == (limit, limit - 1)
            assert problem_line(problem).startswith("hangs.csv: error: has ")


def test_the_limits_that_are_promised() -> None:
    """A million sets are about 70 MB and have 20 columns."""
    assert bounds.FILE_BYTES == 200_000_000
    assert bounds.LINES == 4_000_000
    assert bounds.COLUMNS == 200
    assert bounds.CELLS == 80_000_000
    assert bounds.PROBLEMS == 500_000
    assert bounds.BOOK_BYTES == 20_000_000


@pytest.mark.parametrize("line", ["x", ROW.replace("half_crimp", "?"), ROW.replace("20,5", ",5")])
def test_so_many_problems_are_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, line: str
) -> None:
    """Of short rows, cells and rows; one more refuses the file, lest they take all memory."""
    where = folder(tmp_path, f"{HEADER}\n{ROW}\n" + f"{line}\n" * 9)
    count = sum(p.file == "hangs.csv" and p.line > 2 for p in load_logs(where).problems)
    for limit, refused in ((count, False), (count - 1, True), (8, True)):
        for module in (reader_module, judge_module):
            monkeypatch.setattr(module, "PROBLEMS", limit)
        assert ("too_much" in codes(load_logs(where))) is refused
    (problem,) = [p for p in load_logs(where).problems if p.code == "too_much"]
    assert problem_line(problem) == (
        "hangs.csv: error: has more than 8 rows with something wrong, and was not read. Correct "
        "it; the first rows on their own show what it is."
    )


@pytest.mark.parametrize("remark", ["# my log, by hand", "#my log", "# a; b"])
def test_a_remark_above_the_header(tmp_path: Path, remark: str) -> None:
    """It is no header: one line says where it may stand, and there it is left out."""
    logs = load_logs(folder(tmp_path, f"\n{remark}\n{HEADER}\n{ROW}\n"))
    assert [problem_line(p) for p in logs.errors] == [
        f"hangs.csv:2: error: {remark!r}: stands above the header, so the file was not read. "
        "Delete that line, or move it below the header. Below it, lines that begin with # and a "
        "blank are left out."
    ]
    below = load_logs(folder(tmp_path, f"{HEADER}\n# {remark}\n{ROW}\n"))
    assert (codes(below), len(below.hangs)) == ([], 1)
    numbered = load_logs(folder(tmp_path, f"#,{HEADER}\n1,{ROW}\n"))  # a column of that name
    assert (codes(numbered), len(numbered.hangs)) == ([], 1)


@pytest.mark.parametrize("key", ["{0}", "[{0}]", "x = {{{0} = 1}}", "y = {{a = 2,{0} = 1}}"])
@pytest.mark.parametrize(("parts", "code"), [(20, []), (21, ["block_toml"])])
def test_a_key_of_many_parts(tmp_path: Path, key: str, parts: int, code: list[str]) -> None:
    """What the parser keeps of one grows with the square of its parts, quoted ones too."""
    dotted = ".".join(['"a b"', "'c'", *["d"] * (parts - 2)])
    line = key.format(dotted) + ("" if key != "{0}" else " = 1")
    logs = load_logs(folder(tmp_path, block=f"{BLOCK}{line}\n"))
    assert codes(logs) == code
    if code:
        assert problem_line(logs.errors[0]).startswith(
            "block.toml:5: error: isn't valid TOML: a key"
        )


@pytest.mark.parametrize(("more", "read"), [(0, True), (1, False)])
def test_a_long_cell_costs_its_row(tmp_path: Path, more: int, read: bool) -> None:
    """In quotes or without; its reason is its length, not a quote."""
    note = "x" * (bounds.CELL_CHARACTERS + more)
    for text in (note, f'"{note}"'):
        where = folder(tmp_path, f"{HEADER},note\n{ROW},{text}\n{ROW.replace('-05', '-06')},\n")
        logs = load_logs(where)
        assert codes(logs) == ([] if read else ["cell_too_long"])
        assert len(logs.hangs) == 1 + read
    assert "131072 characters" in problem_line(load_logs(where).problems[0]) or read


@pytest.mark.parametrize(("lines", "rows"), [(50, 2), (51, 1)])
def test_a_record_ends_after_so_many_lines(tmp_path: Path, lines: int, rows: int) -> None:
    """A quote that never closes doesn't make the rest of the file be read for each line."""
    note = "\n".join(["a"] * lines)
    text = f'{HEADER},note\n{ROW},"{note}"\n{ROW.replace("-05", "-06")},\n'
    assert len(load_logs(folder(tmp_path, text)).hangs) == rows


def test_empty_lines_are_blank_but_in_a_cell(tmp_path: Path) -> None:
    """Thousands of them cost nothing and are counted; those of a note are the note's."""
    text = "\n" * 3 + f"{HEADER},note\n" + "\n" * 5000 + f'{ROW},"one\n\n\ntwo"\n\n{ROW},x\n\n'
    logs = load_logs(folder(tmp_path, text))
    (report,) = logs.reports
    assert report.rows_blank == 5002
    assert logs.hangs["note"].tolist() == ["one\n\n\ntwo", "x"]


@pytest.mark.parametrize(("count", "code"), [(100, []), (101, ["block_unknown_keys"])])
def test_keys_that_no_block_has(tmp_path: Path, count: int, code: list[str]) -> None:
    """A hundred are warned of one by one; beyond, the file is refused."""
    block = BLOCK + "".join(f"k{i} = 1\n" for i in range(count))
    logs = load_logs(folder(tmp_path, block=block))
    assert codes(logs) == code
    told = [p for p in logs.problems if p.code == "block_unknown_key"]
    assert len(told) == (0 if code else count)


@pytest.mark.parametrize(("count", "code"), [(30, []), (31, ["block_list_length"])])
def test_grips_of_ones_own(tmp_path: Path, count: int, code: list[str]) -> None:
    """Thirty names in a list, or named by the targets of phases; the usual grips don't count."""
    names = ["half_crimp", *(f"grip {i}" for i in range(count))]
    listed = f"{BLOCK}grips = [{', '.join(map(repr, names))}]\n"
    target = "".join(f"[[phase.target]]\ngrip = '{name}'\n" for name in names)
    phase = "[[phase]]\nname = 'A'\nweeks = 1\nexercise = 'hang'\n"
    for block in (listed, f"{BLOCK}{phase}{target}"):
        logs = load_logs(folder(tmp_path, block=block))
        assert codes(logs) == code
        if code:
            assert "needs 0 to 30 entries and has 31" in problem_line(logs.errors[0])


@pytest.mark.parametrize(
    "number", ["0x" + "f" * 5000, str(2**63), str(-(2**63) - 1), f"[1, {2**63}]"]
)
def test_a_number_without_end_is_no_crash(tmp_path: Path, number: str) -> None:
    """TOML has whole numbers of 64 bits; Python would not even print a longer one."""
    for block in (BLOCK.replace("weeks = 6", f"weeks = {number}"), f"{BLOCK}[own]\nx = {number}\n"):
        assert codes(load_logs(folder(tmp_path, block=block))) == ["block_number"]


def test_a_large_block_file_is_refused(tmp_path: Path) -> None:
    """A comment may fill it to the limit and not beyond."""
    for more, code in ((0, []), (1, ["too_much"])):
        block = BLOCK + "#" * (bounds.BLOCK_BYTES - len(BLOCK) + more)
        assert codes(load_logs(folder(tmp_path, block=block))) == code


@pytest.mark.parametrize("number", [2**63 - 1, -(2**63)])
def test_the_longest_number_of_toml_is_only_out_of_range(tmp_path: Path, number: int) -> None:
    """It is read, and refused for what it says."""
    block = BLOCK.replace("weeks = 6", f"weeks = {number}")
    assert codes(load_logs(folder(tmp_path, block=block))) == ["block_range"]


@pytest.mark.skipif(sys.platform == "win32", reason="pipes and devices of Unix")
@pytest.mark.parametrize("name", ["body.csv", "block-two.toml", "body.xlsx"])
@pytest.mark.parametrize("kind", ["folder", "pipe", "device"])
def test_only_regular_files_are_read(tmp_path: Path, name: str, kind: str) -> None:
    """A pipe would wait for ever and a device never end; both are told, and the rest is read."""
    where = folder(tmp_path)
    if kind == "folder":
        (where / name).mkdir()
    elif kind == "pipe":
        os.mkfifo(where / name)
    else:
        (where / name).symlink_to("/dev/zero")
    logs = load_logs(where)
    (problem,) = [p for p in logs.problems if p.severity == "error"]
    assert problem.file == name
    assert problem.code == ("link" if kind == "device" else "no_regular_file")
    assert len(logs.hangs) == 1


@pytest.mark.parametrize("kind", ["utf-16-le", "utf-16-be"])
def test_utf_16_without_a_mark(tmp_path: Path, kind: str) -> None:
    """Some spreadsheets write it."""
    text = f"{HEADER},note\n{ROW},äöü\n"
    logs = load_logs(folder(tmp_path, text.encode(kind)))
    assert logs.hangs["note"].tolist() == ["äöü"]
    assert codes(logs) == []


def test_a_name_acts_on_no_terminal(tmp_path: Path) -> None:
    """Escape sequences, turned-round text and ends of lines in names are shown, not obeyed."""
    title = "\x1b]0;x\x07col\u202e"
    logs = load_logs(folder(tmp_path, f'{HEADER},{title},"a\nb"\n{ROW},1,2\n'))
    lines = [problem_line(p) for p in logs.problems]
    assert not any(set("\x1b\x07\u202e\n") & set(line) for line in lines)
    assert any("\\x1b]0;x\\x07col\\u202e" in line for line in lines)
