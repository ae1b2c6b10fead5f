"""Athletes with no hangs at all, no sessions at all, or neither."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

import pandas as pd
import pytest

from gripbook import derive
from gripbook.logs import Block
from gripbook.logs.rows import empty_frame
from gripbook.logs.schema import BODY, HANGS, SESSIONS
from tests.derive_frames import BLOCK, START, derived, hang, session, sessions

NO_SETS = derive.derive_sets(empty_frame(HANGS), empty_frame(BODY), BLOCK)
NO_SESSIONS = empty_frame(SESSIONS)
LAST = START + dt.timedelta(days=6)


def test_no_hangs_give_all_columns() -> None:
    """Derived sets of nothing have the columns and dtypes of derived sets."""
    some = derived(hang())
    assert len(NO_SETS) == 0
    assert list(NO_SETS.columns) == list(some.columns)
    assert NO_SETS.dtypes.astype("str").to_dict() == some.dtypes.astype("str").to_dict()


@pytest.mark.parametrize(
    "measure",
    [
        derive.completed_sets,
        derive.best_loads,
        derive.best_of_week,
        derive.distinct_sets,
        lambda sets: derive.changes_between_tests(sets, BLOCK),
        lambda sets: derive.count_sets(sets, BLOCK),
        lambda sets: derive.finger_sessions(sets, NO_SESSIONS, BLOCK),
        lambda sets: derive.finger_sessions(sets, sessions(session(0, minutes=40.0)), BLOCK),
        lambda sets: derive.loading_days(NO_SESSIONS, sets),
        lambda sets: derive.rest_between(derive.loading_days(NO_SESSIONS, sets)),
    ],
)
def test_measures_of_no_sets(measure: Callable[[pd.DataFrame], pd.DataFrame]) -> None:
    """Each measure of an athlete without hangs is empty, with the dtypes it has otherwise."""
    none, some = measure(NO_SETS), measure(derived(hang(test=True), hang(on=2, test=True)))
    assert len(none) == 0
    if isinstance(some, pd.DataFrame):
        assert list(none.columns) == list(some.columns)
        assert none.dtypes.astype("str").to_dict() == some.dtypes.astype("str").to_dict()
    else:
        assert none.dtype == some.dtype
        assert none.index.names == some.index.names


def test_days_of_an_empty_log() -> None:
    """Without sets and sessions each day is there, unlogged, and the week is not computed."""
    days = derive.daily_load(NO_SESSIONS, NO_SETS, START, LAST)
    assert len(days) == 7
    assert not days["logged"].any()
    assert days["load_au"].eq(0).all()
    weeks = derive.weekly_load(days, BLOCK)
    assert weeks["open_days"].tolist() == [7]
    assert weeks["complete"].tolist() == [False]
    assert weeks[["monotony", "strain", "change_pct", "mean4_au"]].isna().all(axis=None)


def test_sets_without_any_session() -> None:
    """An athlete who keeps hangs.csv alone has finger days of unknown load."""
    sets = derived(hang(), hang(on=2))
    days = derive.daily_load(NO_SESSIONS, sets, START, LAST)
    assert days["unknown"].tolist() == [1, 0, 1, 0, 0, 0, 0]
    assert derive.days_by_kind(NO_SESSIONS, sets, BLOCK)["fingers"].tolist() == [2] + [0] * 8
    assert len(derive.loading_days(NO_SESSIONS, sets)) == 2
    assert derive.finger_sessions(sets, NO_SESSIONS, BLOCK)["minutes_logged"].isna().all()


def test_sessions_without_any_set() -> None:
    """An athlete who keeps sessions.csv alone has loads and finger days."""
    rows = sessions(session(0, effort=5.0, minutes=60.0), session(1, "rest"))
    days = derive.daily_load(rows, NO_SETS, START, LAST)
    assert days["load_au"].iloc[0] == 300.0
    assert days["unknown"].sum() == 0
    assert derive.days_by_kind(rows, NO_SETS, BLOCK).loc[1, "fingers"] == 1
    assert len(derive.loading_days(rows, NO_SETS)) == 1


def test_weeks_of_an_empty_log() -> None:
    """Each block week is there with nothing done."""
    work = derive.weekly_finger_work(NO_SETS, BLOCK)
    assert work["week"].tolist() == list(range(1, 10))
    assert work[["sets", "tension_s", "impulse_kg_s", "unknown_sets"]].eq(0).all(axis=None)
    assert work["load_per_hand_kg"].isna().all()
    kinds = derive.days_by_kind(NO_SESSIONS, NO_SETS, BLOCK)
    assert kinds.shape == (9, 6)
    assert kinds.eq(0).all(axis=None)


def test_log_that_ends_before_the_block() -> None:
    """No week has begun: no row, and the dtypes of weeks."""
    before = START - dt.timedelta(days=7)
    days = derive.daily_load(NO_SESSIONS, NO_SETS, before, before)
    none = derive.weekly_load(days, BLOCK)
    some = derive.weekly_load(derive.daily_load(NO_SESSIONS, NO_SETS, START, LAST), BLOCK)
    assert len(none) == 0
    assert none.dtypes.astype("str").to_dict() == some.dtypes.astype("str").to_dict()


def test_no_days_without() -> None:
    """Sessions without a day of rest give an empty frame of dates and words."""
    for rows in (NO_SESSIONS, sessions(session(0))):
        found = derive.days_without(rows)
        assert len(found) == 0
        assert found["date"].dtype == "datetime64[us]"


def test_block_of_one_week_without_a_plan() -> None:
    """A block that plans nothing works with every measure."""
    block = Block("One week", START, 1, planned=False)
    sets = derive.derive_sets(empty_frame(HANGS), empty_frame(BODY), block)
    assert derive.weekly_finger_work(sets, block)["phase"].tolist() == [""]
    assert len(derive.days_by_kind(NO_SESSIONS, sets, block)) == 1
