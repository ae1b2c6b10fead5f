"""What is read has limits, named and told; nothing that isn't a regular file is opened."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from gripbook.logs import Logs, bounds, load_logs
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

    limits = {"FILE_BYTES": len(data), "LINES": 2, "COLUMNS": HEADER.count(",") + 1}
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
    assert bounds.BOOK_BYTES == 20_000_000


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
