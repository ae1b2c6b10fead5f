"""What each set was: load, outcome, time under tension, duration, place in the block."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from gripbook import derive
from gripbook.errors import MissingColumnError
from gripbook.logs import Phase
from tests.derive_frames import (
    BLOCK,
    Row,
    derived,
    hang,
    hangs,
    pull,
    repeater,
    weigh_ins,
)

UNKNOWN = math.nan
#: Columns of hangs.csv, and the place in the log, that a measure rests on.
NEEDED = [
    "athlete",
    "date",
    "session",
    "order",
    "sets",
    "exercise",
    "grip",
    "hand",
    "test",
    "warmup",
]
NEEDED += ["added_kg", "scale_kg", "stand_kg", "force_kg", "load_kind", "hang_s", "rest_s"]
NEEDED += ["reps", "reps_done", "failed_s", "stopped", "file", "line"]


def one(row: Row, **how: Any) -> pd.Series:
    """The one derived set of a row."""
    found = derived(row, **how)
    assert len(found) == 1
    return found.iloc[0]


# --- load ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "load", "source"),
    [
        (hang(), 70.0, "body"),
        (hang(added_kg=12.5), 82.5, "body"),
        (hang(added_kg=-15.0), 55.0, "body"),  # a counterweight
        (hang(scale_kg=8.0), 62.0, "body"),  # toes on a scale
        (pull(scale_kg=18.5), 51.5, "body"),
        (pull(scale_kg=18.5, added_kg=5.0), 56.5, "body"),
        (pull(scale_kg=0.0), 70.0, "body"),  # feet in the air
        (pull(stand_kg=75.0, scale_kg=20.0), 55.0, "stand"),
        (pull(stand_kg=75.0, scale_kg=20.0, added_kg=5.0), 55.0, "stand"),  # 5 kg stood with
        (pull(stand_kg=75.0, scale_kg=0.0), 75.0, "stand"),
        (pull(force_kg=48.0, scale_kg=UNKNOWN), 48.0, "gauge"),
        (pull(force_kg=48.0, stand_kg=75.0, scale_kg=20.0), 48.0, "gauge"),
        (pull(scale_kg=70.0), UNKNOWN, ""),  # all of it stands on the floor
        (pull(scale_kg=71.0), UNKNOWN, ""),
        (hang(added_kg=-70.0), UNKNOWN, ""),
        (pull(force_kg=0.0, scale_kg=20.0), UNKNOWN, ""),  # the gauge read nothing
    ],
)
def test_load_and_its_source(row: Row, load: float, source: str) -> None:
    """The gauge, else standing minus pulling, else body mass + added - scale; never 0 or less."""
    found = one(row)
    assert found["load_kg"] == pytest.approx(load, abs=1e-12, nan_ok=True)
    assert found["load_source"] == source
    assert found["force_n"] == pytest.approx(load * 9.80665, rel=1e-12, nan_ok=True)
    assert found["ratio"] == pytest.approx(load / 70.0, rel=1e-12, nan_ok=True)
    assert math.isnan(found["load_error_kg"]) == math.isnan(load)


#: SD of body mass eight weeks from a weigh-in: that of the day, and a walk of 0.9 kg a week.
EIGHT_WEEKS = math.sqrt(0.5**2 + 8 * 0.9**2)


@pytest.mark.parametrize(
    ("row", "error"),
    [
        (hang(), 0.5),
        (hang(on=56), EIGHT_WEEKS),
        (pull(on=0), math.sqrt(0.5**2 + 1.0**2)),
        (pull(on=56), math.hypot(EIGHT_WEEKS, 1.0)),
        (pull(on=56, scale_kg=0.0), EIGHT_WEEKS),  # feet in the air: no reading
        (pull(on=56, stand_kg=90.0), 1.0),
        (pull(on=56, force_kg=50.0), 0.0),
    ],
)
def test_error_of_the_load(row: Row, error: float) -> None:
    """The SD of body mass and of the scale add up as squares, where each was used."""
    assert one(row)["load_error_kg"] == pytest.approx(error, abs=1e-12)


def test_load_without_body_mass() -> None:
    """Without a weigh-in a body load is unknown; a gauge's and a standing reading's is known."""
    found = derived(hang(), pull(), pull(force_kg=48.0), pull(stand_kg=75.0), mass=None)
    assert found["load_kg"].tolist() == pytest.approx([UNKNOWN, UNKNOWN, 48.0, 55.0], nan_ok=True)
    assert found["load_source"].tolist() == ["", "", "gauge", "stand"]
    assert found["load_error_kg"].tolist() == pytest.approx([UNKNOWN, UNKNOWN, 0, 1], nan_ok=True)
    assert found["ratio"].isna().all()
    assert found["impulse_kg_s"].isna().tolist() == [True, True, False, False]


def test_load_uses_the_body_mass_of_the_day() -> None:
    """Half-way between 70 and 72 kg a hang with 5 kg is 76 kg."""
    body = weigh_ins((0, 70.0), (10, 72.0))
    found = derive.derive_sets(hangs(hang(on=5, added_kg=5.0)), body, BLOCK)
    assert found["load_kg"].item() == pytest.approx(76.0, abs=1e-12)
    assert found["body_mass_age_days"].item() == 5


def test_load_on_fingers_of_arrays() -> None:
    """The bare function takes arrays; what is not recorded of added weight and scale is 0."""
    nan = np.array([UNKNOWN, UNKNOWN])
    found = derive.load_on_fingers_kg(
        body_mass_kg=np.array([72.0, 72.0]),
        added_kg=np.array([25.0, UNKNOWN]),
        scale_kg=np.array([UNKNOWN, 18.5]),
        stand_kg=nan,
        force_kg=nan,
    )
    assert found.tolist() == [97.0, 53.5]


# --- outcome, tension, duration ------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "outcome", "tension", "duration"),
    [
        # hangs
        (hang(), "finished", 10, 10),
        (hang(failed_s=6.0), "failed", 6, 10),
        (hang(failed_s=0.0), "failed", 0, 10),
        (hang(hang_s=UNKNOWN, failed_s=23.0), "failed", 23, 23),  # held to failure
        (hang(failed_s=4.0, stopped="slip"), "stopped", 4, 10),
        (hang(stopped="skin"), "stopped", UNKNOWN, 10),
        (hang(stopped="pain"), "stopped", UNKNOWN, 10),
        (hang(stopped="choice"), "stopped", UNKNOWN, 10),
        (hang(reserve_s=6.0), "finished", 10, 10),
        # repeaters: 6 x (7 s + 3 s)
        (repeater(), "finished", 42, 60),
        (repeater(reps_done=6.0), "finished", 42, 60),
        (repeater(reps_done=4.0, failed_s=5.0), "failed", 33, 60),
        (repeater(reps_done=4.0), "failed", 28, 60),
        (repeater(reps_done=0.0, failed_s=5.0), "failed", 5, 60),
        (repeater(failed_s=5.0), "failed", UNKNOWN, 60),  # holds before it not counted
        (repeater(reps_done=4.0, failed_s=2.0, stopped="slip"), "stopped", 30, 60),
        (repeater(reps_done=4.0, stopped="pain"), "stopped", 28, 60),
        (repeater(stopped="pain"), "stopped", UNKNOWN, 60),
        (repeater(failed_s=2.0, stopped="pain"), "stopped", UNKNOWN, 60),
        # to failure: eight holds and 4 s of the ninth, so nine rounds
        (repeater(reps=UNKNOWN, reps_done=8.0, failed_s=4.0), "failed", 60, 90),
        (repeater(reps=UNKNOWN, failed_s=4.0), "failed", UNKNOWN, UNKNOWN),
        # no planned seconds: only the hold that failed is known
        (repeater(hang_s=UNKNOWN, reps_done=0.0, failed_s=4.0), "failed", 4, UNKNOWN),
        (repeater(hang_s=UNKNOWN, reps_done=2.0, failed_s=4.0), "failed", UNKNOWN, UNKNOWN),
        # pulls
        (pull(), "pull", 3, 3),
        (pull(hang_s=5.0), "pull", 5, 5),
        (pull(hang_s=5.0, failed_s=2.0), "pull", 2, 5),
        (pull(stopped="slip"), "stopped", UNKNOWN, 3),
        (pull(stopped="slip", failed_s=1.0), "stopped", 1, 3),
        (pull(hang_s=5.0, stopped="pain"), "stopped", UNKNOWN, 5),
    ],
)
def test_outcome_tension_duration(row: Row, outcome: str, tension: float, duration: float) -> None:
    """How a set ended, its time under tension and its planned length, each branch by hand."""
    found = one(row)
    assert found["outcome"] == outcome
    assert found["tension_s"] == pytest.approx(tension, abs=1e-12, nan_ok=True)
    assert found["duration_s"] == pytest.approx(duration, abs=1e-12, nan_ok=True)
    assert found["density"] == pytest.approx(tension / duration, abs=1e-12, nan_ok=True)
    load = found["load_kg"]
    assert found["impulse_kg_s"] == pytest.approx(tension * load, rel=1e-12, nan_ok=True)


def test_values_are_of_one_set() -> None:
    """A row of three sets gives the values of one of them and keeps the three beside it."""
    found = one(repeater(sets=3))
    assert found["sets"] == 3
    assert found["tension_s"] == 42
    assert found["impulse_kg_s"] == pytest.approx(42 * 70.0)


def test_guessed_load_counts_as_work() -> None:
    """A guessed load has an impulse like any other."""
    assert one(hang(load_kind="guess", added_kg=-20.0))["impulse_kg_s"] == pytest.approx(500.0)


# --- place in the block --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("on", "week", "inside", "phase"),
    [
        (-8, -1, False, ""),
        (-7, 0, False, ""),
        (-1, 0, False, ""),
        (0, 1, True, "Hangs"),
        (6, 1, True, "Hangs"),
        (7, 2, True, "Hangs"),
        (13, 2, True, "Hangs"),
        (14, 3, True, "Repeaters"),
        (42, 7, True, "Pulls"),
        (62, 9, True, "Pulls"),
        (63, 10, False, ""),
        (400, 58, False, ""),
    ],
)
def test_day_week_phase(on: int, week: int, inside: bool, phase: str) -> None:
    """Weeks run from the block's first day; days outside have no phase."""
    found = one(hang(on=on))
    assert (found["day"], found["week"], found["in_block"], found["phase"]) == (
        on,
        week,
        inside,
        phase,
    )


@pytest.mark.parametrize(
    ("row", "planned"),
    [
        (hang(on=8), True),
        (hang(on=8, warmup=True), False),
        (hang(on=16), False),  # the phase asks for repeaters
        (repeater(on=16), True),
        (repeater(on=16, warmup=True), False),
        (repeater(on=63), False),
        (hang(on=-1), False),
        (pull(on=1), False),  # a test week, but not marked as a test
        (pull(on=1, test=True), True),
        (pull(on=1, test=True, warmup=True), False),
        (pull(on=16, test=True), False),  # no test week
    ],
)
def test_planned(row: Row, planned: bool) -> None:
    """Planned is what the phase of the day asks for, and a test in a test week."""
    assert one(row)["planned"] == planned


def test_overlapping_phases() -> None:
    """Where phases overlap each exercise belongs to its own; another one to the first there."""
    phases = (Phase("Hangs", 4, 1, "hang"), Phase("Pulls", 3, 2, "pull"))
    block = replace(BLOCK, phases=phases, test_weeks=())
    rows = (hang(on=7), pull(on=7), repeater(on=7), pull(on=0), pull(on=28), hang(on=28))
    found = derived(*rows, block=block).set_index(["day", "exercise"])
    assert found["phase"].to_dict() == {
        (7, "hang"): "Hangs",
        (7, "pull"): "Pulls",
        (7, "repeater"): "Hangs",
        (0, "pull"): "Hangs",
        (28, "pull"): "",
        (28, "hang"): "",
    }
    assert found["planned"].to_dict() == {
        (7, "hang"): True,
        (7, "pull"): True,
        (7, "repeater"): False,
        (0, "pull"): False,
        (28, "pull"): False,
        (28, "hang"): False,
    }


def test_block_without_phases() -> None:
    """Without a plan nothing is planned and no day has a phase, but weeks count."""
    found = one(hang(on=9), block=replace(BLOCK, phases=(), test_weeks=(), planned=False))
    assert (found["week"], found["phase"], found["planned"]) == (2, "", False)
    assert found["in_block"]


def test_rows_sharing_an_order_are_one_set() -> None:
    """Same day, session and order: one set; without an order each row is its own."""
    found = derived(
        pull(order=1.0),
        pull(order=1.0, hand="right"),
        pull(order=2.0),
        pull(order=2.0, session="evening"),
        pull(),
        pull(),
        pull(on=43, order=1.0),
    )
    groups = found.groupby("set_id").size()
    assert sorted(groups) == [1, 1, 1, 1, 1, 2]
    pair = found[found["order"].eq(1.0) & found["day"].eq(42)]
    assert len(set(pair["set_id"])) == 1
    assert set(pair["hand"]) == {"left", "right"}


def test_order_is_not_mixed_up_with_row_order() -> None:
    """The second row without an order is not the same set as the row with order 2."""
    found = derived(hang(order=2.0), hang(), hang())
    assert found["set_id"].nunique() == 3


def test_rows_come_by_day_session_and_order() -> None:
    """Rows are sorted by day, session and `order`; without an order by their line."""
    rows = hangs(
        hang(on=1, note="e"),
        hang(on=0, session="b", order=2.0, note="d"),
        hang(on=0, session="b", order=1.0, note="c"),
        hang(on=0, session="a", note="a"),
        hang(on=0, session="a", note="b"),
    )
    found = derive.derive_sets(rows.iloc[::-1], weigh_ins((0, 70.0)), BLOCK)
    assert found["note"].tolist() == list("abcde")
    assert found.index.tolist() == [0, 1, 2, 3, 4]


def test_a_row_without_an_order_keeps_its_place() -> None:
    """Among rows with an order, one without stands where it stands in the file."""
    found = derived(hang(order=3.0, note="c"), hang(note="b"), hang(order=1.0, note="a"))
    assert found["note"].tolist() == list("abc")


def test_input_is_left_alone() -> None:
    """The frames handed in are not changed, and unknown columns are carried along."""
    rows = hangs(hang(order=2.0), hang(order=1.0)).assign(own="x")
    before = rows.copy(deep=True)
    found = derive.derive_sets(rows, weigh_ins((0, 70.0)), BLOCK)
    pd.testing.assert_frame_equal(rows, before)
    assert found["own"].tolist() == ["x", "x"]
    assert list(found.columns[: len(rows.columns)]) == list(rows.columns)


@pytest.mark.parametrize(
    "column",
    NEEDED,
)
def test_missing_column_is_named(column: str) -> None:
    """A frame without a needed column is refused with the column's name and what to pass."""
    rows = hangs(hang()).drop(columns=column)
    with pytest.raises(MissingColumnError, match=f"'{column}'.*load_logs"):
        derive.derive_sets(rows, weigh_ins(), BLOCK)


def test_columns_it_does_not_need() -> None:
    """Columns that no measure rests on may be missing."""
    spare = ["edge_mm", "board", "reserve_s", "reserve_reps", "note"]
    found = derive.derive_sets(hangs(hang()).drop(columns=spare), weigh_ins((0, 70.0)), BLOCK)
    assert found["load_kg"].item() == 70.0
