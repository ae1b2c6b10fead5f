"""Words, units, days and names of columns that can mean one thing only."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from gripbook.logs import load_logs
from gripbook.logs.block import GRIPS
from gripbook.logs.schema import FILES
from gripbook.logs.words_read import (
    WORDS,
    columns_named,
    date_in,
    meanings,
    number_in,
    proven_order,
)
from gripbook.words.notes import grouped_lines, note_line
from gripbook.words.problems import problem_line

HANGS = FILES["hangs"].by_name
TODAY = dt.date(2026, 11, 28)


@pytest.mark.parametrize(
    ("column", "cell", "read"),
    [
        ("grip", "Half crimp", ("half_crimp",)),
        ("grip", "half-crimp", ("half_crimp",)),
        ("grip", "HALBCRIMP", ("half_crimp",)),
        ("grip", "semi-arqué", ("half_crimp",)),
        ("grip", "crimp", ("half_crimp", "full_crimp")),
        ("grip", "open hand", ("open_four", "open_three")),
        ("grip", "3-finger drag", ("open_three",)),
        ("grip", "jug", ()),
        ("hand", "L", ("left",)),
        ("hand", "links", ("left",)),
        ("hand", "gauche", ("left",)),
        ("hand", "D", ("right",)),
        ("hand", "les deux", ("both",)),
        ("test", "x", ("yes",)),
        ("test", "OUI", ("yes",)),
        ("test", "wahr", ("yes",)),
        ("test", "0", ("no",)),
        ("test", "nein", ("no",)),
    ],
)
def test_words(column: str, cell: str, read: tuple[str, ...]) -> None:
    """One meaning, or all of them in the order of the tables."""
    allowed = {"grip": GRIPS, "test": ("yes", "no")}.get(column) or HANGS[column].choices
    assert meanings(cell, HANGS[column], allowed) == read


def test_every_meaning_is_a_word_of_the_format() -> None:
    """Each meaning in the tables is allowed by a column, and has words in three languages."""
    columns = [c for kind in FILES.values() for c in kind.columns]
    words = {w for c in columns for w in c.choices} | {*GRIPS, "yes", "no"}
    sites = {"index", "middle", "ring", "little", "thumb", "palm", "wrist", "forearm"}
    words |= sites | {"elbow_inner", "elbow_outer", "shoulder"}
    for table in WORDS.values():
        assert set(table) <= words
        assert {len(languages) for languages in table.values()} == {3}


@pytest.mark.parametrize(
    ("column", "cell", "read"),
    [
        ("added_kg", "+5 kg", "5"),
        ("added_kg", "-12,5kg", "-12.5"),
        ("added_kg", "BW", "0"),
        ("added_kg", "BW+5", "5"),
        ("added_kg", "bw - 7.5 kg", "-7.5"),
        ("added_kg", "10 lb", "4.5359237"),
        ("added_kg", "5 mm", None),
        ("added_kg", "5 kg 3", None),
        ("edge_mm", "20 mm", "20"),
        ("edge_mm", "2 cm", "20"),
        ("edge_mm", '0.75"', "19.05"),
        ("hang_s", "10s", "10"),
        ("hang_s", '10"', "10"),
        ("rest_s", "2 min", "120"),
        ("sets", "3x", "3"),
        ("hang_s", "BW", None),
    ],
)
def test_numbers_with_units(column: str, cell: str, read: str | None) -> None:
    """A unit of the column's dimension is taken off or converted, another isn't read."""
    assert number_in(cell, HANGS[column]) == read


@pytest.mark.parametrize(
    ("cell", "order", "read"),
    [
        ("2026/01/05", None, "2026-01-05"),
        ("2026-1-5", None, "2026-01-05"),
        ("5 Jan 2026", None, "2026-01-05"),
        ("5. Januar 2026", None, "2026-01-05"),
        ("Mo, 5. Januar 2026", None, "2026-01-05"),
        ("Di, 5. Januar 2026", None, None),
        ("5 août 2026", None, "2026-08-05"),
        ("Jan 5, 2026", None, "2026-01-05"),
        ("5 jui 2026", None, None),
        ("05.01.2026", None, None),
        ("05.05.2026", None, "2026-05-05"),
        ("05.01.2026", "day-first", "2026-01-05"),
        ("05.01.2026", "month-first", "2026-05-01"),
        ("05.01.26", "day-first", "2026-01-05"),
        ("05.01.27", "day-first", None),
        ("05-01-26", "day-first", None),
        ("31 Feb 2026", None, None),
    ],
)
def test_days(cell: str, order: str | None, read: str | None) -> None:
    """A day is read where it can be no other, and where a day of the week agrees with it."""
    assert date_in(cell, order, TODAY) == read  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("days", "order"),
    [
        (["05.01.2026", "17.09.2026"], "day-first"),
        (["5/1/2026", "1/13/2026"], "month-first"),
        (["05.01.2026", "12.12.2026"], None),
        (["17.09.2026", "09.17.2026"], None),
        (["17.09.26"], "day-first"),
        (["17-09-26"], None),
        (["13.13.2026"], None),
        (["32.01.2026"], None),
    ],
)
def test_the_order_that_a_day_proves(days: list[str], order: str | None) -> None:
    """One day that can't be read the other way proves it, a contradiction proves nothing."""
    assert proven_order(days) == order


@pytest.mark.parametrize(
    ("name", "file", "column", "factor"),
    [
        ("datum", "hangs", "date", 1),
        ("Griff", "hangs", "grip", 1),
        ("Leiste (cm)", "hangs", "edge_mm", 10),
        ("Gewicht", "hangs", "added_kg", 1),
        ("Gewicht", "body", "body_mass_kg", 1),
        ("Sätze", "hangs", "sets", 1),
        ("weight lbs", "hangs", "added_kg", 0.45359237),
        ("réglette [mm]", "hangs", "edge_mm", 1),
    ],
)
def test_names_of_columns(name: str, file: str, column: str, factor: float) -> None:
    """Names in three languages, with units."""
    (read,) = columns_named(name, file)
    assert read.column == column
    assert read.factor == pytest.approx(factor)


GERMAN = """\
Datum;Wer;Griff;Leiste (cm);Hand;Übung;Gewicht;Dauer;Test
# kim;;;;;;;;
5. Januar 2026;kim;Half crimp;2;beide;Hang;+5 kg;10s;ja
17.09.2026;kim;crimp;2;L;Hang;BW;10s;x
05.10.2026;kim;Halbcrimp;2;R;Hang;-10;10s;nein
"""


def test_a_file_in_german_is_read_and_noted(tmp_path: Path) -> None:
    """Header, words, units and days at once; what may be two things is refused with both."""
    (tmp_path / "hangs.csv").write_text(GERMAN)
    logs = load_logs(tmp_path, today=TODAY)
    (problem,) = logs.errors
    assert (problem.line, problem.value) == (4, "crimp")
    assert "half_crimp or full_crimp" in problem_line(problem)
    assert logs.hangs["edge_mm"].tolist() == [20, 20]
    assert logs.hangs["added_kg"].tolist() == [5, -10]
    assert logs.hangs["test"].tolist() == [True, False]
    assert [f"{d:%Y-%m-%d}" for d in logs.hangs["date"]] == ["2026-01-05", "2026-10-05"]
    (report,) = logs.reports
    said = {note_line(note) for note in report.notes}
    assert "hangs.csv: column 'datum' read as date" in said
    assert "hangs.csv: days read day-first, as 17.09.2026 proves, two rows" in said
    assert "hangs.csv: gewicht: cells such as '+5 kg' read as 5, two rows" in said
    assert (report.rows_read, report.rows_used, report.rows_refused) == (3, 2, 1)
    assert not [p for p in logs.warnings if p.code == "unknown_column"]


def test_a_second_load_is_not_read_from_a_name_for_any(tmp_path: Path) -> None:
    """Beside force_kg a column `weight` may be body mass or anything: it stays unknown."""
    rows = "athlete,date,exercise,grip,hand,edge_mm,hang_s,force_kg,weight\n"
    rows += "kim,2026-01-05,hang,half_crimp,both,20,10,50,62\n"
    (tmp_path / "hangs.csv").write_text(rows)
    logs = load_logs(tmp_path, today=TODAY)
    assert logs.hangs["added_kg"].tolist() == [0]
    assert [p.column for p in logs.warnings if p.code == "unknown_column"] == ["weight"]


WEIGHTS = "athlete,date,exercise,grip,hand,edge_mm,hang_s,weight{more}\n"


@pytest.mark.parametrize(
    ("name", "cells", "added"),
    [
        ("weight", ["15", "60"], None),
        ("weight", ["14.9", "60"], [14.9, 60]),
        ("weight", ["+20", "60"], [20, 60]),
        ("weight", ["60", "-20"], [60, -20]),
        ("weight", ["20", "BW+5"], [20, 5]),
        ("weight", ["20", "BW"], [20, 0]),
        ("gewicht (kg)", ["20", "25"], None),
        ("kg", ["20", "25"], None),
        ("weight lbs", ["34", "60"], None),
        ("weight lbs", ["33", "60"], [14.9685, 27.2155]),
        ("added weight", ["20", "60"], [20, 60]),
    ],
)
def test_weight_may_be_body_mass(
    tmp_path: Path, name: str, cells: list[str], added: list[float] | None
) -> None:
    """Read as weight added where a cell proves it (15 kg: the least body mass), else refused."""
    rows = [f"kim,2026-01-05,hang,half_crimp,both,20,10,{cell}" for cell in cells]
    head = WEIGHTS.format(more="").replace("weight", name)
    (tmp_path / "hangs.csv").write_text(head + "\n".join(rows) + "\n")
    logs = load_logs(tmp_path, today=TODAY)
    if added is None:
        (problem,) = logs.errors
        assert problem_line(problem) == (
            f"hangs.csv:1: error: {name}: may be the weight added or body mass, and no cell shows "
            "which. Call the column added_kg, or move it to body.csv as body_mass_kg."
        )
        assert [(r.rows_read, r.rows_refused) for r in logs.reports] == [(2, 2)]
    else:
        assert logs.errors == ()
        assert logs.hangs["added_kg"].tolist() == pytest.approx(added, abs=1e-3)


@pytest.mark.parametrize(("weight", "read"), [("61.9", True), ("62", False)])
def test_weight_beside_body_mass(tmp_path: Path, weight: str, read: bool) -> None:
    """Below the body mass beside it, it is weight added; else it may be the sum."""
    head = WEIGHTS.format(more=",body weight")
    row = f"kim,2026-01-05,hang,half_crimp,both,20,10,{weight},62\n"
    (tmp_path / "hangs.csv").write_text(head + row)
    logs = load_logs(tmp_path, today=TODAY)
    assert (logs.errors == ()) is read


def test_eight_hundred_rows_with_one_fault_are_one_line(tmp_path: Path) -> None:
    """A fault is told once, with its count, its first places and the remedy."""
    head = "athlete,date,exercise,grip,hand,edge_mm,hang_s\n"
    row = "kim,2026-01-05,hang,Halbcrump,both,20,10\n"
    (tmp_path / "hangs.csv").write_text(head + row * 800)
    logs = load_logs(tmp_path, today=TODAY)
    (line,) = grouped_lines(logs.errors)
    assert line.startswith(
        "hangs.csv:2, 3, 4, 5, 6 and 795 more: error: grip = 'Halbcrump' in 800 rows: "
    )
    assert line.count("half_crimp") == 2  # in the list, and as what was meant


def test_cells_that_differ_are_one_fault_from_four_on(tmp_path: Path) -> None:
    """Three different cells stand each alone, four are one line with examples."""
    head = "athlete,date,exercise,grip,hand,edge_mm,hang_s\n"
    rows = [f"kim,0{d}.02.2026,hang,half_crimp,both,20,10\n" for d in (3, 4, 5, 6)]
    (tmp_path / "hangs.csv").write_text(head + "".join(rows[:3]))
    assert len(grouped_lines(load_logs(tmp_path, today=TODAY).errors)) == 3
    (tmp_path / "hangs.csv").write_text(head + "".join(rows))
    (line,) = grouped_lines(load_logs(tmp_path, today=TODAY).errors)
    assert "date in four rows, such as '03.02.2026', '04.02.2026', '05.02.2026': may" in line


def test_remarks_are_counted_and_not_read(tmp_path: Path) -> None:
    """A line that begins with a hash and a blank is none; one inside a note is the note's."""
    head = "athlete,date,exercise,grip,hand,edge_mm,hang_s,note\n"
    row = "kim,2026-01-05,hang,half_crimp,both,20,10,"
    (tmp_path / "hangs.csv").write_text(
        head + "# example,2026-01-05,hang\n" + row + '"a\n# b"\n' + "#1,2026-01-05,x\n"
    )
    logs = load_logs(tmp_path, today=TODAY)
    assert logs.hangs["note"].tolist() == ["a\n# b"]
    assert [(p.line, p.code) for p in logs.errors][-1][0] == 5
    (report,) = logs.reports
    assert (report.rows_read, report.rows_used, report.rows_refused) == (2, 1, 1)
    assert [(n.kind, n.rows) for n in report.notes] == [("remark", 1)]
