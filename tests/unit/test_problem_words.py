"""What is wrong with a log is data first; it is said later, in whatever language."""

from __future__ import annotations

import dataclasses
import pickle
from pathlib import Path
from typing import get_args

import pytest

from gripbook.logs import Problem, load_logs
from gripbook.logs import problem as problem_module
from gripbook.logs.problem import Code
from gripbook.words import in_language
from gripbook.words.problems import (
    CODES,
    PROBLEM_COLUMNS,
    problem_line,
    problems_frame,
    reason_and_remedy,
)

HEAD = "athlete,date,exercise,grip,hand,edge_mm,hang_s,added_kg\n"
BAD = """\
kim,2026-01-05,hang,half_crimp,both,20,10,
kim,05.01.2026,hang,half_crimp,both,20,10,5
kim,25-01-26,hang,half_crimp,both,20,10,5
kim,2026-02-30,hang,half_crimp,both,20,10,5
kim,2026-01-05,hang,crimp,both,20,10,5
kim,2026-01-05,hang,half_crimp,both,20,ten,5
kim,2026-01-05,hang,half_crimp,both,20,9000,5
kim,2026-01-05,hang,half_crimp,,20,10,5
"""


def test_every_code_can_be_said_and_is_used() -> None:
    """Each kind of problem has its words, no words are of none, and some reader finds each."""
    codes = set(get_args(Code))
    assert codes == CODES
    folder = Path(problem_module.__file__).parent
    sources = [p.read_text() for p in folder.glob("*.py") if p.name != "problem.py"]
    unused = {c for c in codes if not any(f'"{c}"' in source for source in sources)}
    assert unused == set()


def test_problems_are_said_in_the_language_of_the_moment(tmp_path: Path) -> None:
    """A log is read once, then told in German and in English, with nothing read anew."""
    (tmp_path / "hangs.csv").write_text(HEAD + BAD)
    with in_language("de"):
        logs = load_logs(tmp_path)
        german = [reason_and_remedy(p) for p in logs.problems]
    english = [reason_and_remedy(p) for p in logs.problems]
    empty = [p.code for p in logs.problems].index("empty")
    assert english[empty] == ("is empty.", "Fill in the cell.")
    assert german[empty][0] != english[empty][0]
    fields = {f.name for f in dataclasses.fields(Problem)}
    assert fields == {
        *("severity", "code", "file", "line", "column", "value", "parameters", "athlete"),
        *("last_line", "day"),
    }
    assert pickle.loads(pickle.dumps(logs.problems)) == logs.problems
    hash(logs.problems)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (2, "added_kg: is empty while other rows are filled; 0 was taken. Write 0 where nothing "),
        (
            3,
            "date = '05.01.2026': may mean two different days. Write it as 2026-01-05 if the day "
            "comes first, as 2026-05-01 if the month does; or say --dates day-first or --dates "
            "month-first.",
        ),
        (
            4,
            "date = '25-01-26': has a year of two digits. Write year-month-day, for example "
            "2026-12-05.",
        ),
        (5, "date = '2026-02-30': isn't a day of the calendar. Correct the date."),
        (
            6,
            "grip = 'crimp': isn't half_crimp, full_crimp, open_four, open_three, pinch, sloper, "
            "pocket_two or pocket_one. Did you mean half_crimp or full_crimp? A grip of your own "
            "goes into block.toml: grips = [...].",
        ),
        (7, "hang_s = 'ten': isn't a number. Write a number, or leave the cell empty."),
        (8, "hang_s = '9000': is outside 0.5 to 900 s. Correct the number."),
        (9, "hand: is empty. Fill in the cell."),
    ],
)
def test_places_are_filled_from_the_parameters(tmp_path: Path, line: int, said: str) -> None:
    """The whole line, as `gripbook check` prints it."""
    (tmp_path / "hangs.csv").write_text(HEAD + BAD)
    problems = [p for p in load_logs(tmp_path).problems if p.line == line and p.column]
    (found,) = map(problem_line, problems)
    severity = "warning" if line == 2 else "error"
    assert found.startswith(f"hangs.csv:{line}: {severity}: {said}")


@pytest.mark.parametrize("lang", ["en", "de", "fr"])
def test_no_place_is_left_open(lang: str) -> None:
    """Every sentence of every code fills all its places, whatever the language."""
    parameters = {
        **dict.fromkeys(("cells", "width", "low", "high", "first", "last", "least"), 1),
        **dict.fromkeys(("most", "count", "week", "weeks", "rows", "days"), 2),
        **dict.fromkeys(("fault", "name", "unit", "order", "scale", "file", "twin"), "x"),
        **dict.fromkeys(("twin_file", "table", "held", "athlete", "start", "end"), "x"),
        **dict.fromkeys(("allowed", "kinds", "names"), ("x", "y")),
        **dict.fromkeys(("day_first", "month_first"), None),
        **{"near": (), "change_pct": 7.0, "exercise": "hang", "left_out": False},
        **{"times_body_mass": 2.0, "what": "lines", "limit": 1},
    }
    with in_language(lang):
        for code in get_args(Code):
            problem = Problem("error", code, "hangs.csv", 2, "note", "v", parameters)
            line = problem_line(problem)
            assert line.startswith("hangs.csv:2: error: note = 'v': ")
            assert not any(f"{{{name}}}" in line for name in (*parameters, "column"))
            assert line.endswith((".", "?", ".)", "…"))


def test_a_frame_of_problems(tmp_path: Path) -> None:
    """One row a problem, with its sentences."""
    (tmp_path / "hangs.csv").write_text(HEAD + BAD)
    logs = load_logs(tmp_path)
    frame = problems_frame(logs.problems)
    assert tuple(frame.columns) == PROBLEM_COLUMNS
    assert len(frame) == len(logs.problems)
    assert frame["reason"].str.len().min() > 5
    assert problems_frame([]).empty
