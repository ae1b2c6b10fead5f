"""Laws that derived measures keep, whatever the log."""

from __future__ import annotations

import dataclasses
import datetime as dt
import tempfile
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gripbook.derive import derive_sets, finger_sessions, monotony, weekly_finger_work
from gripbook.logs import Block, load_logs

START = dt.date(2026, 1, 5)
BLOCK = Block("B", START, 4)
HEADER = "athlete,date,sets,exercise,grip,hand,edge_mm,added_kg,scale_kg,hang_s,rest_s,reps\n"

row = st.tuples(
    st.integers(0, 27),
    st.integers(1, 4),
    st.sampled_from(["hang", "repeater", "pull"]),
    st.sampled_from(["half_crimp", "open_four"]),
    st.sampled_from(["both", "left", "right"]),
    st.integers(-10, 40),
)
rows = st.lists(row, min_size=1, max_size=15)

Row = tuple[int, int, str, str, str, int]


def derive(of: list[Row], shift: int = 0) -> pd.DataFrame:
    """Derived sets of such rows, the block and all days moved by `shift` days."""
    lines = []
    for day, sets, exercise, grip, hand, added in of:
        date = START + dt.timedelta(days=day + shift)
        more = {"hang": ",10,,", "repeater": ",7,3,6", "pull": "15,,,"}[exercise]
        lines.append(f"kim,{date},{sets},{exercise},{grip},{hand},20,{added},{more}")
    weighed = START + dt.timedelta(days=shift)
    with tempfile.TemporaryDirectory() as name:
        Path(name, "hangs.csv").write_text(HEADER + "\n".join(lines) + "\n")
        Path(name, "body.csv").write_text(f"athlete,date,body_mass_kg\nkim,{weighed},60\n")
        logs = load_logs(name)
    assert logs.errors == ()
    block = dataclasses.replace(BLOCK, start=weighed)
    return derive_sets(logs.hangs, logs.body, block)


def sessions() -> pd.DataFrame:
    """No sessions."""
    columns = ["date", "session", "kind", "until", "minutes", "effort"]
    frame = pd.DataFrame(columns=columns).astype({"minutes": float, "effort": float})
    return frame.astype({"date": "datetime64[us]", "until": "datetime64[us]"})


@settings(max_examples=20, deadline=None)
@given(rows)
def test_weeks_sum_to_the_whole(of: list[Row]) -> None:
    """Time and impulse of the weeks, and of the sessions, sum to those of all sets."""
    sets = derive(of)
    for frame in (weekly_finger_work(sets, BLOCK), finger_sessions(sets, sessions(), BLOCK)):
        for column in ("tension_s", "impulse_kg_s"):
            whole = (sets[column] * sets["sets"]).sum()
            assert frame[column].sum() == pytest.approx(whole)


@settings(max_examples=20, deadline=None)
@given(rows)
def test_a_row_of_n_sets_is_n_rows(of: list[Row]) -> None:
    """sets = n gives the sums and counts of n equal rows."""
    spread = [(d, 1, e, g, h, a) for d, n, e, g, h, a in of for _ in range(n)]
    one, other = derive(of), derive(spread)
    for column in ("sets", "tension_s", "impulse_kg_s", "load_per_hand_kg"):
        assert weekly_finger_work(one, BLOCK)[column].to_numpy() == pytest.approx(
            weekly_finger_work(other, BLOCK)[column].to_numpy(), nan_ok=True
        )
    assert list(finger_sessions(one, sessions(), BLOCK)["sets"]) == list(
        finger_sessions(other, sessions(), BLOCK)["sets"]
    )


@settings(max_examples=30, deadline=None)
@given(rows, st.randoms(use_true_random=False))
def test_order_of_rows_decides_nothing(of: list[Row], random: object) -> None:
    """Weekly work is the same for any order of the rows."""
    mixed = list(of)
    random.shuffle(mixed)  # type: ignore[attr-defined]
    pd.testing.assert_frame_equal(
        weekly_finger_work(derive(of), BLOCK), weekly_finger_work(derive(mixed), BLOCK)
    )


@settings(max_examples=20, deadline=None)
@given(rows, st.integers(-60, 60))
def test_moving_block_and_log_together(of: list[Row], weeks: int) -> None:
    """Whole weeks later, block and log alike: every derived figure stays."""
    one, other = derive(of), derive(of, 7 * weeks)
    pd.testing.assert_frame_equal(one.drop(columns="date"), other.drop(columns="date"))


@settings(max_examples=30, deadline=None)
@given(st.lists(st.integers(0, 1000), min_size=7, max_size=7), st.floats(0.1, 10))
def test_monotony_knows_no_unit(loads: list[int], factor: float) -> None:
    """Loads on another scale have the same monotony."""
    one, other = monotony(loads), monotony([factor * x for x in loads])
    assert (np.isnan(one) and np.isnan(other)) or one == pytest.approx(other)
