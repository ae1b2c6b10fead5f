"""Rows to values: every kind of cell, every rule of hangs.csv, every suspicion."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from gripbook.errors import LogFolderError
from gripbook.logs import Logs, load_logs
from gripbook.logs.cells import parse_number
from gripbook.logs.schema import FILES
from gripbook.words.problems import problem_line, reason_and_remedy

TODAY = dt.date(2026, 6, 1)
GOOD: dict[str, Any] = {
    "athlete": "kim",
    "date": "2026-01-05",
    "exercise": "hang",
    "grip": "half_crimp",
    "hand": "both",
    "edge_mm": "20",
    "hang_s": "10",
}
REPEATER = {"exercise": "repeater", "hang_s": "7", "rest_s": "3", "reps": "6"}
PULL = {"exercise": "pull", "hang_s": "", "scale_kg": "18.5", "hand": "left"}


def write(folder: Path, name: str, rows: list[dict[str, Any]]) -> None:
    """Write rows as a CSV file whose header is the union of their keys."""
    header = list(dict.fromkeys(k for r in rows for k in r))
    lines = [",".join(header)]
    lines += [",".join(f'"{r.get(h, "")}"' for h in header) for r in rows]
    (folder / f"{name}.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def load(folder: Path, *hangs: dict[str, Any], **options: Any) -> Logs:
    """Load a folder whose hangs.csv holds GOOD changed by each of `hangs`."""
    write(folder, "hangs", [{**GOOD, **h} for h in hangs] or [GOOD])
    return load_logs(folder, today=TODAY, **options)


def told(logs: Logs, severity: str) -> list[tuple[str, int, str]]:
    """Code, line and column of the problems of one severity."""
    return [(p.code, p.line, p.column) for p in logs.problems if p.severity == severity]


def test_columns_are_those_of_the_format() -> None:
    """The schema names exactly the columns of log format 1, in their order."""
    assert {name: [c.name for c in f.columns] for name, f in FILES.items()} == {
        "hangs": [
            "athlete",
            "date",
            "session",
            "order",
            "sets",
            "exercise",
            "test",
            "warmup",
            "grip",
            "hand",
            "edge_mm",
            "board",
            "added_kg",
            "scale_kg",
            "stand_kg",
            "force_kg",
            "load_kind",
            "hang_s",
            "rest_s",
            "reps",
            "reps_done",
            "failed_s",
            "stopped",
            "reserve_s",
            "reserve_reps",
            "note",
        ],
        "body": ["athlete", "date", "body_mass_kg", "note"],
        "sessions": [
            "athlete",
            "date",
            "start",
            "session",
            "kind",
            "until",
            "minutes",
            "effort",
            "place",
            "note",
        ],
        "pain": ["athlete", "date", "when", "site", "side", "level", "sign", "note"],
        "measures": ["athlete", "date", "measure", "side", "value", "unit", "note"],
        "climbs": ["athlete", "date", "grade", "scale", "style", "place", "note"],
        "athletes": ["athlete", "name", "born", "fingers_since", "hand", "units", "show_body_mass"],
    }


def test_defaults(tmp_path: Path) -> None:
    """Columns left out get the format's defaults: one set, steady, no test, nothing added."""
    logs = load(tmp_path)
    row = logs.hangs.iloc[0]
    assert [problem_line(p) for p in logs.problems] == [
        "hangs.csv:2: warning: needs a body mass to know its load; 1 row of this athlete can count "
        "as work only. Add a weigh-in to body.csv."
    ]
    assert (row["sets"], row["load_kind"], row["test"], row["warmup"]) == (
        1,
        "steady",
        False,
        False,
    )
    assert row["added_kg"] == 0
    assert (row["board"], row["stopped"], row["note"]) == ("", "", "")
    assert np.isnan(row["order"])
    assert (row["file"], row["line"]) == ("hangs.csv", 2)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("2.5", 2.5),
        ("2,5", 2.5),
        ("-5", -5),
        ("+7.5", 7.5),
        ("\u22123", -3),
        (".5", 0.5),
        ("1e1", 10),
    ],
)
def test_numbers(text: str, value: float) -> None:
    """Point or comma, sign, true minus sign."""
    assert parse_number(text) == value


@pytest.mark.parametrize(
    ("cell", "reason"),
    [
        ("ten", "isn't a number."),
        ("nan", "isn't a number."),
        ("inf", "isn't a number."),
        ("1_0", "isn't a number."),
        ("10 kg", "holds a unit."),
        ("1.234,5", "has two kinds of separators."),
        ("-1", "is outside 0.5 to 900 s."),
    ],
)
def test_bad_numbers_refuse_the_row(tmp_path: Path, cell: str, reason: str) -> None:
    """What is no plain number in range refuses its row, with the raw text and the reason."""
    logs = load(tmp_path, {}, {"hang_s": cell})
    assert len(logs.hangs) == 1
    (problem,) = logs.errors
    assert (problem.line, problem.column, problem.value) == (3, "hang_s", cell)
    assert reason_and_remedy(problem)[0] == reason
    assert problem.athlete == "kim"


@pytest.mark.parametrize(
    ("cell", "order", "expected"),
    [
        ("2026-01-05", None, "2026-01-05"),
        ("2026-01-05T00:00:00", None, "2026-01-05"),
        ("05.01.2026", None, "may mean two different days."),
        ("5/1/2026", None, "may mean two different days."),
        ("2026-12-25 25.12.2026", None, "isn't a date in the order year-month-day."),
        ("05.01.2026", "day-first", "2026-01-05"),
        ("05.01.2026", "month-first", "2026-05-01"),
        ("25.12.2025", "month-first", "isn't a day of the calendar when read month-first."),
        ("2026-02-30", None, "isn't a day of the calendar."),
        ("2026/13/05", None, "isn't a date in the order year-month-day."),
        ("05.01.26", None, "has a year of two digits."),
        ("05-01-26", "day-first", "has a year of two digits."),
        ("05.01.27", "day-first", "has a year of two digits."),
        ("1026-01-05", None, "is outside the years 1950 to 2200."),
        ("Monday", None, "isn't a date in the order year-month-day."),
        ("", None, "is empty."),
    ],
)
def test_dates(tmp_path: Path, cell: str, order: Any, expected: str) -> None:
    """ISO always; another order only where it is said; nothing is guessed."""
    logs = load(tmp_path, {"date": cell}, dates=order)
    if expected.startswith("2026"):
        assert [f"{d:%Y-%m-%d}" for d in logs.hangs["date"]] == [expected]
    else:
        assert [reason_and_remedy(p)[0] for p in logs.errors] == [expected]
        assert logs.hangs.empty


HANG_ERRORS = [
    ({"athlete": ""}, "empty", "athlete"),
    ({"exercise": "deadhang"}, "unknown_word", "exercise"),
    ({"grip": "halfcrump"}, "unknown_grip", "grip"),
    ({"hand": "lft"}, "unknown_word", "hand"),
    ({"edge_mm": ""}, "edge_missing", "edge_mm"),
    ({"hang_s": ""}, "hang_s_missing", "hang_s"),
    ({**REPEATER, "rest_s": ""}, "rest_s_missing", "rest_s"),
    ({**REPEATER, "reps": ""}, "reps_missing", "reps"),
    ({**REPEATER, "reps": "5.5"}, "not_whole", "reps"),
    ({**PULL, "scale_kg": ""}, "load_missing", "scale_kg"),
    ({**PULL, "stand_kg": "18"}, "scale_above_stand", "scale_kg"),
    ({**PULL, "stand_kg": "18.5"}, "scale_above_stand", "scale_kg"),
    ({"failed_s": "12"}, "failed_too_long", "failed_s"),
    ({**REPEATER, "reps_done": "7"}, "reps_done_too_many", "reps_done"),
    ({**REPEATER, "reps_done": "6", "failed_s": "3"}, "nothing_failed", "reps_done"),
    ({"stopped": "tired"}, "unknown_word", "stopped"),
    ({"test": "maybe"}, "unknown_word", "test"),
    ({"sets": "0"}, "out_of_range", "sets"),
    ({"load_kind": "max"}, "unknown_word", "load_kind"),
]


@pytest.mark.parametrize(("change", "code", "column"), HANG_ERRORS)
def test_rows_that_cannot_be_used(
    tmp_path: Path, change: dict[str, str], code: str, column: str
) -> None:
    """Each rule of hangs.csv refuses the one row that breaks it, naming line and column."""
    logs = load(tmp_path, {"note": "x"}, change)
    assert told(logs, "error") == [(code, 3, column)]
    assert list(logs.hangs["line"]) == [2]
    assert all(reason_and_remedy(p)[1] for p in logs.errors)


@pytest.mark.parametrize(
    "change",
    [
        {"grip": "sloper", "edge_mm": ""},
        {"hang_s": "", "failed_s": "14"},
        {**REPEATER, "reps": "", "reps_done": "9", "failed_s": "4"},
        {**PULL, "scale_kg": "", "force_kg": "41"},
        {**PULL, "scale_kg": "0"},
        {**PULL, "stand_kg": "72"},
        {"exercise": "Hang", "grip": "Half_Crimp", "hand": "BOTH"},
        {"stopped": "slip", "failed_s": "4"},
    ],
)
def test_rows_that_can(tmp_path: Path, change: dict[str, str]) -> None:
    """Each form the format allows is used without an error."""
    assert told(load(tmp_path, change), "error") == []


HANG_WARNINGS = [
    ({**REPEATER, "failed_s": "3"}, "reps_done_unknown", "reps_done"),
    ({"failed_s": "10"}, "failed_at_plan", "failed_s"),
    ({**PULL, "reserve_s": "2"}, "not_used", "reserve_s"),
    ({"reserve_reps": "2"}, "not_used", "reserve_reps"),
    ({**PULL, "force_kg": "40"}, "two_loads", "force_kg"),
    ({"edge_mm": "4"}, "edge_small", "edge_mm"),
    ({"date": "2026-06-02"}, "future_date", "date"),
]


@pytest.mark.parametrize(("change", "code", "column"), HANG_WARNINGS)
def test_suspicious_rows_are_used(
    tmp_path: Path, change: dict[str, str], code: str, column: str
) -> None:
    """What is usable but looks wrong is told and used."""
    write(tmp_path, "body", [{"athlete": "kim", "date": "2026-01-05", "body_mass_kg": 70}])
    logs = load(tmp_path, {}, change)
    assert told(logs, "warning") == [(code, 3, column)]
    assert len(logs.hangs) == 2


@pytest.mark.parametrize(("edge", "small"), [("5.99", True), ("6", False), ("6.01", False)])
def test_an_edge_of_six_millimetres_is_compared(tmp_path: Path, edge: str, small: bool) -> None:
    """Below 6 mm an edge is told to be small; 6 mm itself is not."""
    logs = load(tmp_path, {"edge_mm": edge})
    assert ("edge_small" in {p.code for p in logs.warnings}) is small


@pytest.mark.parametrize(
    ("born", "used"), [("1899", False), ("1900", True), ("2100", True), ("2101", False)]
)
def test_years_of_birth(tmp_path: Path, born: str, used: bool) -> None:
    """Born from 1900 to 2100, both years included."""
    write(tmp_path, "athletes", [{"athlete": "kim", "born": born}])
    assert [p.code for p in load(tmp_path).errors] == ([] if used else ["out_of_range"])


@pytest.mark.parametrize(
    ("date", "used"),
    [("1949-12-31", False), ("1950-01-01", True), ("2200-12-31", True), ("2201-01-01", False)],
)
def test_years_of_entries(tmp_path: Path, date: str, used: bool) -> None:
    """Days from 1950 to 2200, both years included."""
    assert [p.code for p in load(tmp_path, {"date": date}).errors] == ([] if used else ["year"])


@pytest.mark.parametrize(("scale", "used"), [("18.4", True), ("18.5", False), ("18.6", False)])
def test_a_reading_equal_to_standing_is_no_load(tmp_path: Path, scale: str, used: bool) -> None:
    """Only a reading below the one standing puts load on the fingers."""
    logs = load(tmp_path, {**PULL, "scale_kg": scale, "stand_kg": "18.5"})
    assert [p.code for p in logs.errors] == ([] if used else ["scale_above_stand"])


def test_added_weight_left_empty(tmp_path: Path) -> None:
    """A gap among filled cells counts as 0 with a warning; a column without any does not."""
    write(tmp_path, "body", [{"athlete": "kim", "date": "2026-01-05", "body_mass_kg": 70}])
    logs = load(
        tmp_path, {"added_kg": "5"}, {"added_kg": ""}, {**PULL, "scale_kg": "", "force_kg": "9"}
    )
    assert told(logs, "warning") == [("added_empty", 3, "added_kg")]
    assert list(logs.hangs["added_kg"]) == [5, 0, 0]
    assert told(load(tmp_path, {"added_kg": ""}), "warning") == []


def test_pounds_and_inches(tmp_path: Path) -> None:
    """_lb and edge_in columns are converted exactly; both units in one file refuse it."""
    row = {**GOOD, "added_lb": "10", "edge_in": "1"}
    del row["edge_mm"]
    write(tmp_path, "hangs", [row])
    logs = load_logs(tmp_path, today=TODAY)
    assert logs.hangs["added_kg"].iloc[0] == pytest.approx(4.5359237, abs=1e-12)
    assert logs.hangs["edge_mm"].iloc[0] == pytest.approx(25.4)
    write(tmp_path, "hangs", [{**GOOD, "added_kg": "5", "added_lb": "10"}, GOOD])
    both = load_logs(tmp_path, today=TODAY)
    (problem,) = both.errors
    assert (problem.code, problem.line, problem.last_line) == ("two_units", 1, 3)
    assert both.reports[0].rows_refused == 2


def test_words_that_pandas_eats(tmp_path: Path) -> None:
    """NA, None and null are ordinary text: an athlete may be called so."""
    logs = load(tmp_path, {"athlete": "None", "note": "NA"}, {"athlete": "null"})
    assert list(logs.hangs["athlete"]) == ["None", "null"]
    assert logs.hangs["note"].iloc[0] == "NA"


def test_headers(tmp_path: Path) -> None:
    """Case and blanks in a header do not matter; an unknown column is kept and told once."""
    text = " Athlete ,DATE,exercise,grip,hand,edge_mm,hang_s,mood,\nkim,2026-01-05,hang,half_crimp,"
    (tmp_path / "hangs.csv").write_text(text + "both,20,10,good,\n")
    logs = load_logs(tmp_path, today=TODAY)
    assert told(logs, "warning")[0] == ("unknown_column", 1, "mood")
    assert list(logs.extra["hangs"]["mood"]) == ["good"]
    assert "mood" not in logs.hangs


@pytest.mark.parametrize(
    ("header", "code", "column"),
    [
        ("date,exercise,grip,hand,edge_mm,hang_s", "column_missing", "athlete"),
        ("athlete,date,date,exercise,grip,hand,edge_mm", "column_twice", "date"),
    ],
)
def test_headers_that_refuse_a_file(tmp_path: Path, header: str, code: str, column: str) -> None:
    """A needed column missing or a column twice refuses all rows, with one problem for them."""
    cells = ",".join("x" for _ in header.split(","))
    (tmp_path / "hangs.csv").write_text(f"{header}\n{cells}\n{cells}\n")
    logs = load_logs(tmp_path, today=TODAY)
    (problem,) = logs.errors
    assert (problem.code, problem.column, problem.line, problem.last_line) == (code, column, 1, 3)
    assert (logs.reports[0].rows_read, logs.reports[0].rows_refused) == (2, 2)


def test_sessions_and_pain_rules(tmp_path: Path) -> None:
    """until before date, effort above 10, an unknown kind, and pain without level or sign."""
    day = {"athlete": "kim", "date": "2026-01-05"}
    write(
        tmp_path,
        "sessions",
        [
            {**day, "kind": "ill", "until": "2026-01-04"},
            {**day, "kind": "fingers", "effort": "11"},
            {**day, "kind": "yoga"},
            {**day, "kind": "core", "start": "25:00"},
            {**day, "kind": "core", "until": "2026-01-06"},
        ],
    )
    write(
        tmp_path, "pain", [{**day, "site": "ring"}, {**day, "sign": "pop"}, {**day, "level": "12"}]
    )
    logs = load(tmp_path)
    assert {(p.file, p.line, p.code) for p in logs.errors} == {
        ("sessions.csv", 2, "until_before_date"),
        ("sessions.csv", 3, "out_of_range"),
        ("sessions.csv", 4, "unknown_word"),
        ("sessions.csv", 5, "time"),
        ("pain.csv", 2, "level_missing"),
        ("pain.csv", 4, "out_of_range"),
    }
    assert ("until_not_used", 6, "until") in told(logs, "warning")
    assert len(logs.pain) == 1


def test_body_mass_jump_and_heavy_load(tmp_path: Path) -> None:
    """5 % in a day and a load above twice body mass are told; the load's note names no mass."""
    days = [("2026-01-05", 70), ("2026-01-06", 74), ("2026-01-20", 72)]
    write(
        tmp_path,
        "body",
        [{"athlete": "kim", "date": d, "body_mass_kg": m} for d, m in days],
    )
    logs = load(tmp_path, {"added_kg": "80"})
    assert [(p.code, p.file, p.line) for p in logs.warnings] == [
        ("body_mass_jump", "body.csv", 3),
        ("load_high", "hangs.csv", 2),
    ]
    assert "70" not in problem_line(logs.warnings[1])


def test_no_load_left(tmp_path: Path) -> None:
    """A counterweight as heavy as the athlete leaves no load, and that is told."""
    write(tmp_path, "body", [{"athlete": "kim", "date": "2026-01-05", "body_mass_kg": 60}])
    logs = load(tmp_path, {"added_kg": "-60"})
    assert told(logs, "warning") == [("load_not_positive", 2, "added_kg")]


def session(*added: float) -> list[dict[str, str]]:
    """A session of sets told apart by their added weight."""
    return [{"added_kg": str(a)} for a in added]


def twice(logs: Logs) -> list[int]:
    """Lines at which a session is said to be entered twice."""
    return [p.line for p in logs.warnings if p.code == "session_twice"]


def test_a_session_entered_twice(tmp_path: Path) -> None:
    """The same rows again, apart from the first or right below them, are told where they begin."""
    other = {"date": "2026-01-07", "added_kg": "1"}
    apart = [*session(1, 2), other, *session(1, 2)]
    assert twice(load(tmp_path, *apart)) == [5]
    assert twice(load(tmp_path, *session(1, 2, 3, 1, 2, 3))) == [5]
    ordered = [{"order": str(i), "added_kg": "5"} for i in (1, 2, 1, 2)]
    assert twice(load(tmp_path, *ordered)) == [4]


def test_equal_sets_are_how_people_train(tmp_path: Path) -> None:
    """Equal sets in a row, and hands in turn, are not called a session entered twice."""
    assert twice(load(tmp_path, *session(5, 5, 5, 5))) == []
    hands = [{"hand": h, "added_kg": "0"} for h in ("left", "right", "left", "right")]
    assert twice(load(tmp_path, *hands)) == []
    ordered = [{"order": str(i), "added_kg": "5"} for i in (1, 2, 3, 4)]
    assert twice(load(tmp_path, *ordered)) == []


def test_an_athlete_in_one_file_only(tmp_path: Path) -> None:
    """An id that stands in one of several files is told: it may be misspelt."""
    write(
        tmp_path,
        "body",
        [{"athlete": a, "date": "2026-01-05", "body_mass_kg": 60} for a in ("kim", "kin")],
    )
    logs = load(tmp_path)
    assert [(p.code, p.file, p.value) for p in logs.warnings] == [
        ("athlete_in_one_file", "body.csv", "kin")
    ]


def test_sub_folders(tmp_path: Path) -> None:
    """A sub-folder's name is its athlete, with the column or without; top and subs go together."""
    load(tmp_path)
    for name, row in (
        ("lou", {k: v for k, v in GOOD.items() if k != "athlete"}),
        ("mo", {**GOOD, "athlete": "mo"}),
    ):
        (tmp_path / name).mkdir()
        write(tmp_path / name, "hangs", [row])
    (tmp_path / "notes").mkdir()
    (tmp_path / "notes" / "other.csv").write_text("x\n")
    logs = load_logs(tmp_path, today=TODAY)
    assert sorted(zip(logs.hangs["athlete"], logs.hangs["file"], strict=True)) == [
        ("kim", "hangs.csv"),
        ("lou", "lou/hangs.csv"),
        ("mo", "mo/hangs.csv"),
    ]
    assert logs.for_athlete("lou").hangs["athlete"].tolist() == ["lou"]


def test_stray_files_are_told(tmp_path: Path) -> None:
    """A CSV file of another name beside the logs is not read, and that is said."""
    (tmp_path / "hang.csv").write_text("x\n")
    assert ("unknown_file", 0, "") in told(load(tmp_path), "warning")


def test_folders_without_logs(tmp_path: Path) -> None:
    """No folder, a file, or a folder without hangs.csv is an error that says what to do."""
    for path, words in (
        (tmp_path / "none", "does not exist"),
        (tmp_path, "holds no hangs.csv"),
    ):
        with pytest.raises(LogFolderError, match=words):
            load_logs(path)
    (tmp_path / "file").write_text("")
    with pytest.raises(LogFolderError, match="is a file, not a folder"):
        load_logs(tmp_path / "file")
