"""Derived measures by an independent route, branch by branch."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from gripbook.derive import (
    best_loads,
    best_of_week,
    body_mass_on,
    changes_between_tests,
    completed_sets,
    count_sets,
    daily_load,
    days_by_kind,
    days_without,
    derive_sets,
    distinct_sets,
    finger_sessions,
    last_logged_day,
    loading_days,
    rest_between,
    weekly_finger_work,
    weekly_load,
)
from gripbook.errors import MissingColumnError
from gripbook.logs import Block, Logs, Phase, load_logs

START = dt.date(2026, 1, 5)
PHASES = (
    Phase("Hangs", 1, 1, exercise="hang", sets_per_session=4, set_rest_s=(120, 120)),
    Phase("Repeaters", 1, 2, exercise="repeater", set_rest_s=(120, 180)),
    Phase("Pulls", 1, 3, exercise="pull", set_rest_s=(180, 240), alternate_hands=True),
)
BLOCK = Block("B", START, 3, phases=PHASES, test_weeks=(1, 3))
GOOD: dict[str, Any] = {
    "athlete": "kim",
    "date": "2026-01-05",
    "exercise": "hang",
    "grip": "half_crimp",
    "hand": "both",
    "edge_mm": 20,
    "hang_s": 10,
}
REPEATER = {"exercise": "repeater", "hang_s": 7, "rest_s": 3, "reps": 6}
PULL = {"exercise": "pull", "hang_s": "", "scale_kg": 20, "hand": "left"}


def write(folder: Path, name: str, rows: list[dict[str, Any]]) -> None:
    """Write rows as CSV under the union of their keys."""
    header = list(dict.fromkeys(k for r in rows for k in r))
    lines = [",".join(header), *(",".join(str(r.get(h, "")) for h in header) for r in rows)]
    (folder / f"{name}.csv").write_text("\n".join(lines) + "\n")


def logs_of(
    folder: Path, *hangs: dict[str, Any], sessions: list[dict[str, Any]] | None = None
) -> Logs:
    """Logs with these rows of hangs.csv (GOOD changed by each) and an athlete of 60 kg."""
    write(folder, "hangs", [{**GOOD, **h} for h in hangs])
    write(folder, "body", [{"athlete": "kim", "date": START, "body_mass_kg": 60}])
    if sessions:
        write(folder, "sessions", [{"athlete": "kim", **s} for s in sessions])
    logs = load_logs(folder)
    assert logs.errors == ()
    return logs


def sets_of(folder: Path, *hangs: dict[str, Any]) -> pd.DataFrame:
    """Derived sets of such logs."""
    logs = logs_of(folder, *hangs)
    return derive_sets(logs.hangs, logs.body, BLOCK)


@pytest.mark.parametrize(
    ("change", "outcome", "tension", "duration"),
    [
        ({}, "finished", 10, 10),
        ({"failed_s": 6}, "failed", 6, 10),
        ({"hang_s": "", "failed_s": 14}, "failed", 14, 14),
        ({"failed_s": 6, "stopped": "slip"}, "stopped", 6, 10),
        ({"stopped": "pain"}, "stopped", None, 10),
        (REPEATER, "finished", 42, 60),
        ({**REPEATER, "reps_done": 4, "failed_s": 5}, "failed", 33, 60),
        ({**REPEATER, "reps_done": 0, "failed_s": 5}, "failed", 5, 60),
        ({**REPEATER, "failed_s": 5}, "failed", None, 60),
        ({**REPEATER, "reps_done": 4}, "failed", 28, 60),
        ({**REPEATER, "reps_done": 3, "stopped": "skin"}, "stopped", 21, 60),
        ({**REPEATER, "reps": "", "reps_done": 9, "failed_s": 2}, "failed", 65, 100),
        (PULL, "pull", 3, 3),
        ({**PULL, "hang_s": 5}, "pull", 5, 5),
        ({**PULL, "stopped": "pain"}, "stopped", None, 3),
    ],
)
def test_outcome_tension_duration(
    tmp_path: Path, change: dict[str, Any], outcome: str, tension: float | None, duration: float
) -> None:
    """How a set ended, its time under tension and its planned length, for each way to log it."""
    row = sets_of(tmp_path, change).iloc[0]
    assert row["outcome"] == outcome
    assert row["duration_s"] == duration
    if tension is None:
        assert np.isnan(row["tension_s"])
    else:
        assert row["tension_s"] == tension
        assert row["density"] == pytest.approx(tension / duration)


@pytest.mark.parametrize(
    ("change", "load", "source"),
    [
        ({}, 60, "body"),
        ({"added_kg": -10}, 50, "body"),
        ({**PULL, "scale_kg": 0, "added_kg": 5}, 65, "body"),
        ({**PULL, "stand_kg": 64}, 44, "stand"),
        ({**PULL, "force_kg": 41.5}, 41.5, "gauge"),
        ({"added_kg": -60}, None, ""),
        ({**PULL, "scale_kg": 70}, None, ""),
    ],
)
def test_load_and_its_source(
    tmp_path: Path, change: dict[str, Any], load: float | None, source: str
) -> None:
    """Load on the fingers by each way to log it; no load is made up where none was left."""
    row = sets_of(tmp_path, change).iloc[0]
    assert row["load_source"] == source
    if load is None:
        assert np.isnan(row["load_kg"])
        assert np.isnan(row["load_error_kg"])
    else:
        assert row["load_kg"] == load
        assert row["ratio"] == pytest.approx(load / 60)


def test_body_mass_between_weigh_ins() -> None:
    """A straight line between weigh-ins, the nearest outside, several of one day averaged."""
    body = pd.DataFrame(
        {
            "date": pd.to_datetime(["2026-01-01", "2026-01-11", "2026-01-11"]),
            "body_mass_kg": [60.0, 64.0, 66.0],
        }
    )
    asked = pd.Series(pd.to_datetime(["2025-12-31", "2026-01-01", "2026-01-03", "2026-03-08"]))
    found = body_mass_on(asked, body)
    assert list(found["body_mass_kg"]) == pytest.approx([60, 60, 61, 65])
    assert list(found["body_mass_age_days"]) == [1, 0, 2, 56]
    # 0.5 kg on the day, and a random walk of 0.9 kg a week
    assert list(found["body_mass_error_kg"] ** 2) == pytest.approx(
        [0.25 + 0.81 * weeks for weeks in (1 / 7, 0, 2 / 7, 8)]
    )


def test_old_weigh_ins_are_never_refused() -> None:
    """A year from the last weigh-in there is a mass, with an error that has grown on."""
    body = pd.DataFrame({"date": pd.to_datetime(["2025-01-05"]), "body_mass_kg": [60.0]})
    found = body_mass_on(pd.Series(pd.to_datetime(["2026-01-05"])), body)
    assert found["body_mass_kg"].iloc[0] == 60
    assert found["body_mass_error_kg"].iloc[0] == pytest.approx(
        math.hypot(0.5, 0.9 * math.sqrt(52)), rel=2e-3
    )


def test_weeks_phases_and_plan(tmp_path: Path) -> None:
    """Block weeks run from the first day; outside sets have no phase; tests belong to the plan."""
    sets = sets_of(
        tmp_path,
        {"date": "2026-01-04"},
        {"date": "2026-01-11"},
        {"date": "2026-01-12"},
        {"date": "2026-01-19", **PULL},
        {"date": "2026-01-20", "test": "yes"},
        {"date": "2026-01-20", **PULL, "warmup": "yes"},
        {"date": "2026-01-26"},
    )
    assert list(sets["week"]) == [0, 1, 2, 3, 3, 3, 4]
    assert list(sets["day"]) == [-1, 6, 7, 14, 15, 15, 21]
    assert list(sets["phase"]) == ["", "Hangs", "Repeaters", "Pulls", "Pulls", "Pulls", ""]
    assert list(sets["planned"]) == [False, True, False, True, True, False, False]


def test_rows_of_one_set(tmp_path: Path) -> None:
    """Rows that share an order on a day are one set; without an order each row is its own."""
    rows = [{"order": 1, "hand": "left"}, {"order": 1, "hand": "right"}, {"order": 2}, {}, {}]
    sets = sets_of(tmp_path, *rows)
    assert sets["set_id"].nunique() == 4
    one = distinct_sets(sets)
    assert sorted(one["hand"]) == ["both", "both", "both", "both"]


@pytest.mark.parametrize(
    ("rows", "date", "expected"),
    [
        ([{"hand": "left"}, {"hand": "right"}], "2026-01-19", 1),  # in turn by plan: a pair
        ([{"hand": "left", "sets": 3}, {"hand": "right", "sets": 2}], "2026-01-19", 3),
        ([{"hand": "left"}, {"hand": "right"}], "2026-01-05", 2),  # not in turn by plan
        ([{"order": 1, "hand": "left"}, {"order": 1, "hand": "right"}], "2026-01-05", 1),
    ],
)
def test_counting_sets(
    tmp_path: Path, rows: list[dict[str, Any]], date: str, expected: int
) -> None:
    """Where the plan says hands in turn a set is the pair; one order is one set anywhere."""
    sets = sets_of(tmp_path, *({**PULL, "date": date, **r} for r in rows))
    assert count_sets(sets, BLOCK).sum() == expected


def test_finger_session(tmp_path: Path) -> None:
    """A session's sums and minutes, by hand: 4 hangs of 10 s with 120 s between."""
    logs = logs_of(
        tmp_path,
        {"sets": 3, "added_kg": 5},
        {"added_kg": 0},
        sessions=[{"date": START, "kind": "fingers", "minutes": 25, "effort": 5}],
    )
    sets = derive_sets(logs.hangs, logs.body, BLOCK)
    (row,) = finger_sessions(sets, logs.sessions, BLOCK).to_dict("records")
    assert (row["sets"], row["tension_s"]) == (4, 40)
    assert row["impulse_kg_s"] == 3 * 10 * 65 + 10 * 60
    assert row["minutes_estimated"] == pytest.approx((4 * 10 + 3 * 120) / 60)
    assert row["minutes_logged"] == 25


def test_two_sessions_of_a_day(tmp_path: Path) -> None:
    """Labels keep two finger sessions of one day apart, also in the minutes logged."""
    logs = logs_of(
        tmp_path,
        {"session": "am"},
        {"session": "pm", "sets": 2},
        sessions=[
            {"date": START, "session": "am", "kind": "fingers", "minutes": 10, "effort": 1},
            {"date": START, "session": "pm", "kind": "fingers", "minutes": 20, "effort": 1},
        ],
    )
    sets = derive_sets(logs.hangs, logs.body, BLOCK)
    found = finger_sessions(sets, logs.sessions, BLOCK)
    assert list(found["session"]) == ["am", "pm"]
    assert list(found["sets"]) == [1, 2]
    assert list(found["minutes_logged"]) == [10, 20]


def test_days_without_and_loads(tmp_path: Path) -> None:
    """A time without training is written out day by day; a finger day alone has unknown load."""
    logs = logs_of(
        tmp_path,
        {"date": "2026-01-06"},
        sessions=[
            {"date": "2026-01-07", "kind": "ill", "until": "2026-01-09"},
            {"date": "2026-01-10", "kind": "core", "minutes": 30, "effort": 4},
            {"date": "2026-01-10", "kind": "mobility", "minutes": 20},
        ],
    )
    assert list(days_without(logs.sessions)["kind"]) == ["ill"] * 3
    sets = derive_sets(logs.hangs, logs.body, BLOCK)
    days = daily_load(logs.sessions, sets, START, dt.date(2026, 1, 11))
    assert list(days["load_au"]) == [0, 0, 0, 0, 0, 120, 0]
    assert list(days["unknown"]) == [0, 1, 0, 0, 0, 1, 0]
    assert list(days["logged"]) == [False, True, True, True, True, True, False]
    assert list(days["without"]) == ["", "", "ill", "ill", "ill", "", ""]
    assert last_logged_day(logs.hangs, logs.sessions) == dt.date(2026, 1, 10)
    only_ill = logs.sessions[logs.sessions["kind"] == "ill"]
    assert last_logged_day(only_ill) == dt.date(2026, 1, 9)


def test_spacing_counts_hard_climbing(tmp_path: Path) -> None:
    """Rest days are whole days between loading days; climbing counts from effort 7 on."""
    logs = logs_of(
        tmp_path,
        {"date": "2026-01-05"},
        {"date": "2026-01-08"},
        sessions=[
            {"date": "2026-01-06", "kind": "climbing", "effort": 6.5, "minutes": 90},
            {"date": "2026-01-07", "kind": "climbing", "effort": 7, "minutes": 90},
        ],
    )
    sets = derive_sets(logs.hangs, logs.body, BLOCK)
    found = loading_days(logs.sessions, sets)
    assert [(f"{d:%d}", c) for d, c in zip(found["date"], found["cause"], strict=True)] == [
        ("05", "fingers"),
        ("07", "climbing"),
        ("08", "fingers"),
    ]
    assert list(rest_between(found)["rest_days"]) == [1, 0]


def test_days_by_kind(tmp_path: Path) -> None:
    """A day counts once a kind, however many sessions it had; weeks are block weeks."""
    logs = logs_of(
        tmp_path,
        {},
        {"date": "2026-01-12"},
        sessions=[
            {"date": START, "kind": "fingers"},
            {"date": START, "kind": "core"},
            {"date": "2026-01-06", "kind": "core"},
            {"date": "2026-01-07", "kind": "rest"},
        ],
    )
    sets = derive_sets(logs.hangs, logs.body, BLOCK)
    kinds = days_by_kind(logs.sessions, sets, BLOCK)
    assert list(kinds["fingers"]) == [1, 1, 0]
    assert list(kinds["core"]) == [2, 0, 0]
    assert "rest" not in kinds


def test_weekly_finger_work(tmp_path: Path) -> None:
    """Time, impulse and load on one hand by week; two-hand load counts half a hand's."""
    sets = sets_of(
        tmp_path,
        {"sets": 2},
        {"date": "2026-01-19", **PULL, "scale_kg": 15},
        {"warmup": "yes"},
        {"stopped": "skin"},
    )
    work = weekly_finger_work(sets, BLOCK)
    assert list(work["tension_s"]) == [20, 0, 3]
    assert list(work["impulse_kg_s"]) == [1200, 0, 135]
    assert list(work["load_per_hand_kg"].fillna(0)) == [30, 0, 45]
    assert list(work["unknown_sets"]) == [1, 0, 0]


def test_best_loads(tmp_path: Path) -> None:
    """Only mastered, known, unguessed, working sets compete; the earliest of equals wins."""
    sets = sets_of(
        tmp_path,
        {"added_kg": 5},
        {"added_kg": 20, "failed_s": 4},
        {"added_kg": 30, "load_kind": "guess"},
        {"added_kg": 40, "warmup": "yes"},
        {"date": "2026-01-13", "added_kg": 5},
        {"date": "2026-01-13", "added_kg": 0, "edge_mm": 15},
    )
    assert len(completed_sets(sets)) == 3
    best = best_loads(sets)
    assert list(zip(best["edge_mm"], best["load_kg"], strict=True)) == [(15, 60), (20, 65)]
    assert f"{best['date'].iloc[1]:%Y-%m-%d}" == "2026-01-05"
    assert list(best_of_week(sets)["week"]) == [1, 2, 2]


def test_changes_between_test_days(tmp_path: Path) -> None:
    """First and last test day of a series; a lone test day has a start and no end."""
    sets = sets_of(
        tmp_path,
        {"test": "yes", "added_kg": 0},
        {"date": "2026-01-08", "added_kg": 10},
        {"date": "2026-01-20", "test": "yes", "added_kg": 6},
        {"date": "2026-01-20", **PULL, "test": "yes"},
    )
    found = changes_between_tests(sets, BLOCK).set_index("capacity")
    assert found.loc["hang", ["start_kg", "end_kg"]].tolist() == [60, 66]
    assert found.loc["hang", "change_pct"] == pytest.approx(10)
    assert np.isnan(found.loc["pull", "end_kg"])


def test_a_missing_column_is_named(tmp_path: Path) -> None:
    """A frame that is no hangs frame is answered with the column it lacks."""
    logs = logs_of(tmp_path, {})
    with pytest.raises(MissingColumnError, match="needs the column 'exercise'"):
        derive_sets(logs.hangs.drop(columns="exercise"), logs.body, BLOCK)


def test_nothing_logged_breaks_nothing(tmp_path: Path) -> None:
    """Every function takes frames without rows and gives frames without, or with zeros."""
    logs = logs_of(tmp_path, {})
    hangs, body, sessions = logs.hangs.iloc[:0], logs.body.iloc[:0], logs.sessions
    sets = derive_sets(hangs, body, BLOCK)
    assert len(sets) == 0
    assert finger_sessions(sets, sessions, BLOCK).empty
    assert weekly_finger_work(sets, BLOCK)["tension_s"].sum() == 0
    assert days_by_kind(sessions, sets, BLOCK).to_numpy().sum() == 0
    assert best_loads(sets).empty
    assert best_of_week(sets).empty
    assert changes_between_tests(sets, BLOCK).empty
    assert rest_between(loading_days(sessions, sets)).empty
    assert days_without(sessions).empty
    assert last_logged_day(hangs, sessions) is None
    days = daily_load(sessions, sets, START, BLOCK.end)
    assert days["load_au"].sum() == 0
    assert not weekly_load(days, BLOCK)["complete"].any()
