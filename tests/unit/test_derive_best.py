"""Best completed loads, by series, week and test day."""

from __future__ import annotations

import math

import pandas as pd
import pytest

from gripbook import derive
from gripbook.derive import best
from tests.derive_frames import BLOCK, Row, day, derived, hang, pull, repeater


def test_completed_sets() -> None:
    """Finished sets and pulls with a known load count; warm-ups, guesses and misses do not."""
    sets = derived(
        hang(note="yes"),
        hang(failed_s=9.0),
        hang(stopped="slip", failed_s=9.0),
        hang(warmup=True),
        hang(load_kind="guess"),
        hang(load_kind="peak", note="yes"),
        hang(added_kg=-70.0),
        pull(note="yes"),
        pull(stopped="choice"),
        repeater(note="yes"),
        repeater(reps_done=5.0),
    )
    found = derive.completed_sets(sets)
    assert found["note"].tolist() == ["yes"] * 4
    assert len(derive.completed_sets(derived(hang(), mass=None))) == 0


def test_best_loads() -> None:
    """The heaviest of each series, the earlier of equals, with its place in the log."""
    sets = derived(
        hang(on=0, added_kg=5.0),
        hang(on=2, added_kg=10.0),
        hang(on=4, added_kg=10.0),
        hang(on=5, added_kg=20.0, failed_s=9.0),
        hang(on=5, edge_mm=15.0),
        hang(on=5, grip="sloper", edge_mm=math.nan, added_kg=1.0),
        hang(on=6, grip="sloper", edge_mm=math.nan, added_kg=2.0),
        hang(on=5, board="gym", added_kg=30.0),
        hang(on=5, hand="left", scale_kg=30.0),
        repeater(on=5),
    )
    found = derive.best_loads(sets)
    assert len(found) == 6
    usual = found[
        (found["exercise"] == "hang")
        & (found["hand"] == "both")
        & (found["edge_mm"] == 20.0)
        & (found["board"] == "")
    ]
    assert usual[["load_kg", "line"]].to_numpy().tolist() == [[80.0, 3]]
    sloper = found[found["grip"] == "sloper"]
    assert sloper["load_kg"].tolist() == [72.0]


def test_peak_and_steady_are_apart() -> None:
    """The highest reading of a pull does not hide the best steady one."""
    found = derive.best_loads(derived(pull(scale_kg=20.0), pull(scale_kg=12.0, load_kind="peak")))
    assert dict(zip(found["load_kind"], found["load_kg"], strict=True)) == {
        "steady": 50.0,
        "peak": 58.0,
    }


def test_best_of_week() -> None:
    """One row per week and series; weeks outside the block are kept apart by their number."""
    sets = derived(
        hang(on=0, added_kg=1.0),
        hang(on=6, added_kg=3.0),
        hang(on=7, added_kg=2.0),
        hang(on=-1, added_kg=9.0),
    )
    found = derive.best_of_week(sets)
    assert found["week"].tolist() == [0, 1, 2]
    assert found["load_kg"].tolist() == [79.0, 73.0, 72.0]
    assert found["ratio"].tolist() == pytest.approx([79 / 70, 73 / 70, 72 / 70])


def test_sets_of_test_days() -> None:
    """Where tests are marked, marked sets alone: another series in a test week is training."""
    sets = derived(
        hang(on=0, test=True, note="yes"),
        hang(on=0, test=True, warmup=True),
        hang(on=1, failed_s=5.0),
        hang(on=30, test=True, note="yes"),
        pull(on=1),
        pull(on=57),
    )
    assert best.sets_of_test_days(sets, BLOCK)["note"].tolist() == ["yes"] * 2


def test_without_any_mark_sets_to_the_limit_in_test_weeks_are_tests() -> None:
    """Failed sets, pulls, and sets with nothing left; not what leaves something in hand."""
    sets = derived(
        hang(on=0, failed_s=8.0, note="yes"),
        hang(on=0, reserve_s=0.0, note="yes"),
        hang(on=0, reserve_s=1.0),
        hang(on=0),
        hang(on=0, failed_s=8.0, warmup=True),
        pull(on=1, note="yes"),
        pull(on=30),
        repeater(on=57, reserve_reps=0.0, note="yes"),
        repeater(on=57, reserve_reps=2.0),
    )
    assert best.sets_of_test_days(sets, BLOCK)["note"].tolist() == ["yes"] * 4


def changes(*rows: Row) -> pd.DataFrame:
    """Changes between test days of rows of hangs.csv."""
    return derive.changes_between_tests(derived(*rows), BLOCK)


def test_change_between_test_days() -> None:
    """The best of the first and of the last test day: 75 to 81 kg is 8 %."""
    found = changes(
        hang(on=0, test=True, added_kg=5.0),
        hang(on=0, test=True, added_kg=2.0),
        hang(on=0, test=True, added_kg=9.0, failed_s=8.0),
        hang(on=20, test=True, added_kg=30.0),
        hang(on=56, test=True, added_kg=8.0),
        hang(on=56, test=True, added_kg=11.0),
        hang(on=57, added_kg=40.0),
    )
    assert len(found) == 1
    row = found.iloc[0]
    assert row[["capacity", "grip", "hand", "edge_mm"]].tolist() == [
        "hang",
        "half_crimp",
        "both",
        20.0,
    ]
    assert (row["start_kg"], row["end_kg"]) == (75.0, 81.0)
    assert (row["start_date"], row["end_date"]) == (
        pd.Timestamp(day(0)),
        pd.Timestamp(day(56)),
    )
    assert row["change_pct"] == pytest.approx(8.0)


def test_one_test_day_has_no_end() -> None:
    """With one test day there is a start, and neither end nor change."""
    row = changes(hang(on=0, test=True)).iloc[0]
    assert row["start_kg"] == 70.0
    assert row[["end_kg", "end_date", "change_pct"]].isna().all()


def test_tests_outside_the_block_do_not_count() -> None:
    """A test before the first or after the last day is none of the block's."""
    assert len(changes(hang(on=-1, test=True), hang(on=63, test=True))) == 0


def test_edges_and_hands_are_apart() -> None:
    """Each grip, hand and edge has its own row; an edge that is not recorded too."""
    found = changes(
        pull(on=0, test=True),
        pull(on=0, test=True, hand="right"),
        pull(on=0, test=True, edge_mm=15.0),
        hang(on=0, test=True, grip="sloper", edge_mm=math.nan),
    )
    assert len(found) == 4


@pytest.mark.parametrize(
    "other",
    [
        {"board": "gym"},
        {"load_kind": "peak"},
        {"hang_s": 5.0},
    ],
)
def test_no_pair_across_series(other: Row) -> None:
    """Another board, kind of reading or length of hold is no second test day."""
    row = changes(hang(on=0, test=True), hang(on=56, test=True, added_kg=20.0, **other)).iloc[0]
    assert math.isnan(row["end_kg"])


def test_most_tested_series_counts() -> None:
    """Of two boards the one tested on more days gives the pair."""
    row = changes(
        hang(on=0, test=True, board="gym", added_kg=30.0, sets=9),
        hang(on=1, test=True, board="home", added_kg=1.0),
        hang(on=56, test=True, board="home", added_kg=2.0),
    ).iloc[0]
    assert (row["start_kg"], row["end_kg"]) == (71.0, 72.0)


def test_steady_comes_before_peak() -> None:
    """Where each test day has a steady and a peak reading, the steady ones make the pair."""
    rows = [
        pull(on=on, test=True, scale_kg=scale, load_kind=kind)
        for on, kind, scale in [
            (0, "peak", 10.0),
            (0, "steady", 20.0),
            (56, "peak", 8.0),
            (56, "steady", 18.0),
        ]
    ]
    row = changes(*rows).iloc[0]
    assert (row["start_kg"], row["end_kg"]) == (50.0, 52.0)


def test_planned_seconds_of_a_pull_do_not_part_it() -> None:
    """Pulls with and without planned seconds are one series."""
    row = changes(pull(on=0, test=True), pull(on=56, test=True, hang_s=3.0)).iloc[0]
    assert row["change_pct"] == pytest.approx(0.0)
