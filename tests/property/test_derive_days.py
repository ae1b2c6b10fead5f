"""Laws of rows, days and weeks that hold for any log."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gripbook import derive
from tests.derive_frames import (
    BLOCK,
    START,
    Row,
    day,
    hang,
    hangs,
    pull,
    repeater,
    session,
    sessions,
    weigh_ins,
)

LAST = 7 * BLOCK.weeks - 1
BODY = weigh_ins((0, 70.0), (40, 72.0))
quick = settings(max_examples=15, deadline=None)


@st.composite
def sets_row(draw: st.DrawFn) -> Row:
    """Any row of hangs.csv that a reader accepts."""
    # few days, so that rows meet on a day, in a session, in a week
    on = draw(st.sampled_from([-1, 0, 1, 14, 14, 15, 42, 42, 62, 63]))
    cells: Row = {
        "session": draw(st.sampled_from(["", "am", "pm"])),
        "order": draw(st.sampled_from([np.nan, 1.0, 2.0, 3.0])),
        "sets": draw(st.integers(1, 4)),
        "hand": draw(st.sampled_from(["both", "left", "right"])),
        "grip": draw(st.sampled_from(["half_crimp", "open_four"])),
        "board": draw(st.sampled_from(["", "gym"])),
        "load_kind": draw(st.sampled_from(["steady", "peak", "guess"])),
        "added_kg": float(draw(st.integers(-20, 40))),
        "test": draw(st.booleans()),
        "warmup": draw(st.integers(0, 4)) == 0,
        "stopped": draw(st.sampled_from(["", "", "", "slip", "pain"])),
        "failed_s": draw(st.sampled_from([np.nan, np.nan, 0.0, 2.5])),
    }
    make = draw(st.sampled_from([hang, repeater, pull]))
    if make is repeater:
        cells["reps_done"] = draw(st.sampled_from([np.nan, 0.0, 3.0, 5.0]))
    return make(on=on, **cells)


@st.composite
def sessions_row(draw: st.DrawFn) -> Row:
    """Any row of sessions.csv that a reader accepts, days without training included."""
    on = draw(st.sampled_from([-1, 0, 0, 1, 2, 3, 8, 14, 14, 42, LAST, LAST + 1]))
    kinds = ["fingers", "core", "mobility", "climbing", "rest", "ill"]
    kind = draw(st.sampled_from(kinds))
    if kind in ("rest", "ill"):
        return session(on, kind, until=day(on + draw(st.integers(0, 10))))
    return session(
        on,
        kind,
        session=draw(st.sampled_from(["", "am"])),
        effort=draw(st.sampled_from([np.nan, 2.0, 6.0, 7.0, 9.5])),
        minutes=draw(st.sampled_from([np.nan, 20.0, 45.0, 90.0])),
    )


many_sets = st.lists(sets_row(), max_size=12)
many_sessions = st.lists(sessions_row(), max_size=20)


def derived(rows: pd.DataFrame, block: Any = BLOCK, body: pd.DataFrame = BODY) -> pd.DataFrame:
    """Derived sets with two weigh-ins."""
    return derive.derive_sets(rows, body, block)


def whole_weeks(rows: pd.DataFrame, sets: pd.DataFrame) -> pd.DataFrame:
    """Weekly loads of the whole block."""
    last = START + dt.timedelta(days=LAST)
    return derive.weekly_load(derive.daily_load(rows, sets, START, last), BLOCK)


@quick
@given(many_sets, st.randoms(use_true_random=False))
def test_row_order_decides_nothing(rows: list[Row], random: Any) -> None:
    """Frames whose rows were shuffled give the same sets, counts, sessions and bests."""
    frame = hangs(*rows)
    mixed = frame.iloc[random.sample(range(len(frame)), len(frame))]
    one, other = derived(frame), derived(mixed)
    pd.testing.assert_frame_equal(one, other)
    for measure in (
        lambda s: derive.finger_sessions(s, sessions(), BLOCK),
        lambda s: derive.count_sets(s, BLOCK),
        lambda s: derive.best_of_week(s),
        lambda s: derive.changes_between_tests(s, BLOCK),
    ):
        assert measure(one).equals(measure(other))


@quick
@given(many_sets)
def test_a_row_means_the_same_alone(rows: list[Row]) -> None:
    """Load, time and outcome of a row do not hang on the other rows."""
    frame = hangs(*rows)
    whole = derived(frame).set_index("line")
    own = ["load_kg", "load_error_kg", "load_source", "tension_s", "duration_s", "density"]
    own += ["impulse_kg_s", "ratio", "outcome", "week", "phase", "planned", "body_mass_kg"]
    for i in range(len(frame)):
        alone = derived(frame.iloc[[i]]).iloc[0]
        assert whole.loc[alone["line"], own].equals(alone[own])


@quick
@given(many_sets)
def test_values_stay_in_their_bounds(rows: list[Row]) -> None:
    """Loads are positive or unknown, time under tension never exceeds the planned length."""
    sets = derived(hangs(*rows))
    assert len(sets) == len(rows)
    load = sets["load_kg"]
    assert (load.isna() | (load > 0)).all()
    assert (load.isna() == (sets["load_source"] == "")).all()
    density = sets["density"].dropna()
    assert density.between(0, 1).all()
    assert sets["outcome"].isin(["finished", "failed", "stopped", "pull"]).all()
    assert sets.loc[sets["outcome"] == "finished", "tension_s"].notna().all()


@quick
@given(many_sets)
def test_counts_lie_between_pairs_and_hands(rows: list[Row]) -> None:
    """Counted sets are at most the sets of all rows and at least one a session."""
    sets = derived(hangs(*rows))
    counts = derive.count_sets(sets, BLOCK)
    every = sets.groupby(["date", "session", "exercise"])["sets"].sum()
    assert counts.sum() <= every.sum()
    assert (counts >= 1).all()
    assert (derive.distinct_sets(sets)["sets"].sum()) >= counts.sum()


@quick
@given(many_sets, many_sessions)
def test_weekly_loads_sum_to_the_sessions(of: list[Row], logged: list[Row]) -> None:
    """The weeks' loads sum to effort x minutes of all sessions in the block."""
    rows, sets = sessions(*logged), derived(hangs(*of))
    inside = rows["date"].between(pd.Timestamp(day(0)), pd.Timestamp(day(LAST)))
    trained = ~rows["kind"].isin(["rest", "ill"])
    expected = (rows["effort"] * rows["minutes"])[inside & trained].sum()
    weeks = whole_weeks(rows, sets)
    assert len(weeks) == BLOCK.weeks
    assert weeks["load_au"].sum() == pytest.approx(expected)
    assert not (weeks["monotony"].notna() & ~weeks["complete"]).any()


@quick
@given(many_sessions, st.floats(0.1, 1.0))
def test_scaled_effort_scales_load_and_leaves_monotony(logged: list[Row], factor: float) -> None:
    """Efforts times a factor: load and strain times it, monotony and changes as before."""
    # without a gap, two weeks have a monotony to compare
    full = [session(i, "core", effort=1.0 + i % 5, minutes=30.0) for i in range(14)]
    rows = sessions(*full, *logged)
    rows = rows.assign(effort=rows["effort"].fillna(3.0), minutes=rows["minutes"].fillna(30.0))
    sets = derived(hangs())
    one = whole_weeks(rows, sets)
    assert one["monotony"].notna().sum() >= 2
    other = whole_weeks(rows.assign(effort=rows["effort"] * factor), sets)
    for column, by in [("load_au", factor), ("strain", factor), ("monotony", 1), ("change_pct", 1)]:
        assert other[column].to_numpy() == pytest.approx(
            one[column].to_numpy() * by, abs=1e-9, nan_ok=True
        )


@quick
@given(many_sets, many_sessions, st.integers(-30, 30))
def test_moving_everything_by_weeks_moves_nothing_else(
    of: list[Row], logged: list[Row], weeks: int
) -> None:
    """Log and block later by whole weeks: sets, loads, frequency and spacing are the same."""
    by = pd.Timedelta(days=7 * weeks)
    later = replace(BLOCK, start=START + by.to_pytimedelta())
    rows, moved = sessions(*logged), sessions(*logged)
    moved["date"], moved["until"] = moved["date"] + by, moved["until"] + by
    frame, moved_frame = hangs(*of), hangs(*of)
    moved_frame["date"] = moved_frame["date"] + by
    body = BODY.assign(date=BODY["date"] + by)
    one, other = derived(frame), derived(moved_frame, later, body)
    pd.testing.assert_frame_equal(one.drop(columns="date"), other.drop(columns="date"))
    pd.testing.assert_frame_equal(
        derive.days_by_kind(rows, one, BLOCK), derive.days_by_kind(moved, other, later)
    )
    pd.testing.assert_frame_equal(
        derive.finger_sessions(one, rows, BLOCK).drop(columns="date"),
        derive.finger_sessions(other, moved, later).drop(columns="date"),
    )
    assert (
        derive.rest_between(derive.loading_days(rows, one))["rest_days"].tolist()
        == derive.rest_between(derive.loading_days(moved, other))["rest_days"].tolist()
    )
    last = START + dt.timedelta(days=LAST)
    first_days = derive.daily_load(rows, one, START, last)
    later_days = derive.daily_load(moved, other, later.start, last + by.to_pytimedelta())
    pd.testing.assert_frame_equal(
        derive.weekly_load(first_days, BLOCK).drop(columns="start"),
        derive.weekly_load(later_days, later).drop(columns="start"),
    )


@quick
@given(many_sessions, st.randoms(use_true_random=False))
def test_order_of_sessions_decides_nothing(logged: list[Row], random: Any) -> None:
    """Shuffled rows of sessions.csv give the same loads and frequencies."""
    rows = sessions(*logged)
    mixed = rows.iloc[random.sample(range(len(rows)), len(rows))]
    sets = derived(hangs(hang()))
    drop = "without"  # of two words for one day the first counts
    last = START + dt.timedelta(days=LAST)
    pd.testing.assert_frame_equal(
        derive.daily_load(rows, sets, START, last).drop(columns=drop),
        derive.daily_load(mixed, sets, START, last).drop(columns=drop),
    )
    pd.testing.assert_frame_equal(
        derive.days_by_kind(rows, sets, BLOCK), derive.days_by_kind(mixed, sets, BLOCK)
    )
