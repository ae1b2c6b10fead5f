"""Days and weeks: session load, monotony, frequency, spacing, counts, finger sessions."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from gripbook import derive
from gripbook.logs import Phase
from gripbook.words.block import LOAD_CONVENTION
from tests.derive_frames import (
    BLOCK,
    START,
    Row,
    day,
    derived,
    hang,
    pull,
    repeater,
    session,
    sessions,
)

UNKNOWN = math.nan
NO_SETS = derived()


def stamp(number: int) -> pd.Timestamp:
    """The block's day `number` as a timestamp."""
    return pd.Timestamp(day(number))


def daily(*rows: Row, sets: pd.DataFrame = NO_SETS, last: int = 6) -> pd.DataFrame:
    """Daily loads from the block's first day to its day `last`."""
    return derive.daily_load(sessions(*rows), sets, START, START + dt.timedelta(days=last))


def rated(on: int, load: float, **cells: Any) -> Row:
    """A session whose load (effort x minutes) is `load`."""
    return session(on, effort=5.0, minutes=load / 5.0, **cells)


# --- session load, days --------------------------------------------------------------------


def test_session_load() -> None:
    """Effort times minutes; unknown where one of them is not recorded; effort 0 is a load of 0."""
    rows = sessions(
        session(0, effort=6.0, minutes=50.0),
        session(0, effort=6.0),
        session(0, minutes=50.0),
        session(0, effort=0.0, minutes=30.0),
    )
    found = derive.session_load(rows)
    assert found.name == "load_au"
    assert found.tolist() == pytest.approx([300.0, UNKNOWN, UNKNOWN, 0.0], nan_ok=True)


def test_days_without_are_written_out() -> None:
    """A range until a later day gives each of its days; a training session gives none."""
    found = derive.days_without(
        sessions(
            session(0, "rest"),
            session(2, "ill", until=day(4)),
            session(5, "climbing"),
            session(6, "away", until=day(6)),
            session(8, "injured"),
        )
    )
    assert found["date"].tolist() == [stamp(n) for n in (0, 2, 3, 4, 6, 8)]
    assert found["kind"].tolist() == ["rest", "ill", "ill", "ill", "away", "injured"]
    assert found["date"].dtype == "datetime64[us]"


def test_last_logged_day() -> None:
    """The latest day of any frame; `until` counts where it says something."""
    logged = sessions(session(3), session(1, "away", until=day(9)))
    assert derive.last_logged_day(derived(hang(on=5)), logged) == dt.date(2026, 1, 14)
    assert derive.last_logged_day(derived(hang(on=12)), logged) == dt.date(2026, 1, 17)
    assert derive.last_logged_day(sessions(session(3))) == dt.date(2026, 1, 8)


def test_last_logged_day_leaves_an_unused_until_alone() -> None:
    """A training session lasts one day, whatever stands in `until`."""
    assert derive.last_logged_day(sessions(session(3, until=day(90)))) == dt.date(2026, 1, 8)


def test_last_logged_day_of_nothing() -> None:
    """Without a row there is no last day."""
    assert derive.last_logged_day(sessions(), NO_SETS) is None
    assert derive.last_logged_day() is None


def test_daily_load_sums_the_sessions_of_a_day() -> None:
    """Sessions of a day add up; what is unknown is counted beside the sum, not into it."""
    days = daily(
        rated(0, 300.0),
        rated(0, 120.0, kind="climbing"),
        session(1, "core"),
        rated(1, 80.0, kind="mobility"),
        session(2, "rest"),
        session(3, "ill", until=day(4)),
    )
    assert days["date"].tolist() == [stamp(n) for n in range(7)]
    assert days["load_au"].tolist() == [420.0, 80.0, 0.0, 0.0, 0.0, 0.0, 0.0]
    assert days["sessions"].tolist() == [2, 2, 0, 0, 0, 0, 0]
    assert days["unknown"].tolist() == [0, 1, 0, 0, 0, 0, 0]
    assert days["without"].tolist() == ["", "", "rest", "ill", "ill", "", ""]
    assert days["logged"].tolist() == [True, True, True, True, True, False, False]


def test_training_on_a_day_said_to_be_without() -> None:
    """A session on a day of rest counts with its load; the word stays."""
    days = daily(session(0, "rest"), rated(0, 100.0))
    assert days.loc[0, ["load_au", "sessions", "without"]].tolist() == [100.0, 1, "rest"]


def test_daily_load_leaves_out_other_days() -> None:
    """Sessions before the first and after the last day asked for do not count."""
    days = daily(rated(-1, 100.0), rated(7, 100.0), session(-3, "away", until=day(0)))
    assert days["load_au"].sum() == 0.0
    assert days["without"].tolist() == ["away", "", "", "", "", "", ""]


def test_sets_without_a_session_are_an_unknown_load() -> None:
    """A finger day that stands in hangs.csv alone is logged, and its load unknown."""
    sets = derived(hang(on=0), hang(on=2), hang(on=4))
    days = daily(rated(0, 300.0), rated(2, 90.0, kind="core"), sets=sets)
    assert days["sessions"].tolist() == [1, 0, 2, 0, 1, 0, 0]
    assert days["unknown"].tolist() == [0, 0, 1, 0, 1, 0, 0]
    assert days["logged"].tolist() == [True, False, True, False, True, False, False]


@pytest.mark.parametrize(
    ("labels", "unknown"),
    [
        ((), 2),
        (("am",), 1),
        (("am", "pm"), 0),
        (("",), 0),  # one row without a label may stand for both
        (("first", "second"), 0),  # other words for the same two
        (("am", "am", "am"), 0),
    ],
)
def test_two_finger_sessions_a_day(labels: tuple[str, ...], unknown: int) -> None:
    """Where two sessions have sets and one is rated, the other's load is unknown."""
    sets = derived(hang(session="am"), hang(session="pm"))
    days = daily(*(rated(0, 100.0, session=label) for label in labels), sets=sets)
    assert days.loc[0, "unknown"] == unknown
    assert days.loc[0, "sessions"] == len(labels) + unknown
    assert days.loc[0, "load_au"] == 100.0 * len(labels)


# --- monotony, weeks -----------------------------------------------------------------------


@pytest.mark.parametrize("loads", [[], [0.0] * 7, [300.0] * 7, [0.1] * 7, [100.0]])
def test_monotony_undefined(loads: list[float]) -> None:
    """Equal loads, one load and none have no monotony: neither 0 nor infinity."""
    assert math.isnan(derive.monotony(loads))


def test_monotony_with_an_unknown_day() -> None:
    """A day that is not known leaves monotony unknown."""
    assert math.isnan(derive.monotony([100.0, UNKNOWN, 0.0]))


def test_monotony_of_two_values() -> None:
    """Mean 2 over population SD 1 is 2."""
    assert derive.monotony([1.0, 3.0, 1.0, 3.0]) == pytest.approx(2.0, abs=1e-12)


def full_week(week: int, loads: list[float]) -> list[Row]:
    """Seven rated days of block week `week`; a load of 0 is a day of rest."""
    first = 7 * (week - 1)
    return [
        rated(first + i, load) if load else session(first + i, "rest")
        for i, load in enumerate(loads)
    ]


def test_weekly_load() -> None:
    """Sum, monotony, strain and change of two full weeks, worked by hand."""
    # week 1: sum 700, mean 100, deviations +-100 and 0 twice each: SD sqrt(4e4/7)
    rows = full_week(1, [200.0, 0.0, 100.0, 100.0, 100.0, 200.0, 0.0])
    rows += full_week(2, [400.0, 0.0, 200.0, 0.0, 0.0, 240.0, 0.0])
    weeks = derive.weekly_load(daily(*rows, last=13), BLOCK)
    assert weeks["week"].tolist() == [1, 2]
    assert weeks["start"].tolist() == [stamp(0), stamp(7)]
    assert weeks["load_au"].tolist() == [700.0, 840.0]
    assert weeks["sessions"].tolist() == [5, 3]
    assert weeks["complete"].all()
    assert not weeks["part"].any()
    first = 100.0 / math.sqrt(4e4 / 7.0)
    assert weeks["monotony"].iloc[0] == pytest.approx(first, rel=1e-12)
    assert weeks["strain"].iloc[0] == pytest.approx(700.0 * first, rel=1e-12)
    assert weeks["change_pct"].tolist() == pytest.approx([UNKNOWN, 20.0], nan_ok=True)


def test_mean_of_four_weeks() -> None:
    """The mean of four weeks needs all four."""
    rows = [r for w in range(1, 6) for r in full_week(w, [100.0 * w, 0, 0, 0, 0, 0, 0])]
    weeks = derive.weekly_load(daily(*rows, last=34), BLOCK)
    assert weeks["mean4_au"].tolist() == pytest.approx([UNKNOWN] * 3 + [250.0, 350.0], nan_ok=True)


@pytest.mark.parametrize(
    ("change", "column", "figure"),
    [
        ("unlogged", "open_days", 1),
        ("no effort", "unknown", 1),
        ("sets only", "unknown", 1),
    ],
)
def test_incomplete_week_is_marked_and_not_computed(change: str, column: str, figure: int) -> None:
    """One day not logged, or one load not known, and the week has no monotony, strain, change."""
    rows = full_week(1, [100.0, 0, 200.0, 0, 100.0, 0, 0])
    rows += full_week(2, [100.0, 0, 200.0, 0, 100.0, 0, 0])
    rows += full_week(3, [100.0, 0, 200.0, 0, 100.0, 0, 0])
    sets = NO_SETS
    if change == "unlogged":
        del rows[8]
    elif change == "no effort":
        rows[9] = session(9, minutes=40.0)
    else:
        rows[8] = session(8, "away")
        sets = derived(hang(on=8))
    weeks = derive.weekly_load(daily(*rows, sets=sets, last=20), BLOCK)
    assert weeks["complete"].tolist() == [True, False, True]
    assert weeks[column].tolist() == [0, figure, 0]
    assert weeks["monotony"].notna().tolist() == [True, False, True]
    assert weeks["strain"].notna().tolist() == [True, False, True]
    assert weeks["change_pct"].isna().all()  # week 3 has no known week before it


def test_part_week_is_marked_and_not_compared() -> None:
    """Where the log ends inside a week, the week is a part and has no change."""
    rows = [*full_week(1, [100.0, 0, 0, 0, 0, 0, 0]), rated(7, 500.0), session(8, "rest")]
    weeks = derive.weekly_load(daily(*rows, last=8), BLOCK)
    assert weeks["part"].tolist() == [False, True]
    assert weeks["load_au"].tolist() == [100.0, 500.0]
    assert weeks.loc[1, ["monotony", "strain", "change_pct"]].isna().all()


def test_change_after_a_week_of_rest() -> None:
    """A change on a week of load 0 is not computed; the drop to it is -100 %."""
    rows = [*full_week(1, [100.0, 0, 0, 0, 0, 0, 0]), session(7, "ill", until=day(13))]
    rows += full_week(3, [100.0, 0, 0, 0, 0, 0, 0])
    weeks = derive.weekly_load(daily(*rows, last=20), BLOCK)
    assert weeks["change_pct"].tolist() == pytest.approx([UNKNOWN, -100.0, UNKNOWN], nan_ok=True)
    assert math.isnan(weeks.loc[1, "monotony"])


def test_weeks_outside_the_block_are_left_out() -> None:
    """Days before the block's first and after its last day belong to no week of it."""
    days = derive.daily_load(
        sessions(rated(-1, 100.0), rated(63, 100.0)),
        NO_SETS,
        dt.date(2025, 12, 1),
        dt.date(2026, 5, 1),
    )
    weeks = derive.weekly_load(days, BLOCK)
    assert weeks["week"].tolist() == list(range(1, 10))
    assert weeks["load_au"].sum() == 0.0


# --- frequency and spacing -----------------------------------------------------------------


def test_days_by_kind() -> None:
    """Days, not sessions, are counted; sets make a finger day; days without count nowhere."""
    sets = derived(hang(on=0), hang(on=2), hang(on=7), hang(on=-1), hang(on=63))
    rows = sessions(
        session(0),
        session(0, "core"),
        session(1, "climbing"),
        session(1, "climbing"),
        session(3),
        session(4, "rest"),
        session(5, "mobility"),
        session(70, "core"),
    )
    found = derive.days_by_kind(rows, sets, BLOCK)
    assert found.index.tolist() == list(range(1, 10))
    kinds = ["fingers", "core", "antagonist", "mobility", "climbing", "other"]
    assert found.columns.tolist() == kinds
    assert found.loc[1].tolist() == [3, 1, 0, 1, 1, 0]
    assert found.loc[2].tolist() == [1, 0, 0, 0, 0, 0]
    assert found.loc[3:].to_numpy().sum() == 0


def test_loading_days() -> None:
    """Finger days and hard climbing (effort 7 or more), in order; both on a day are fingers."""
    sets = derived(hang(on=4), hang(on=0))
    rows = sessions(
        session(2, "climbing", effort=7.0),
        session(3, "climbing", effort=6.9),
        session(5, "climbing"),
        session(4, "climbing", effort=9.0),
        session(6, "core", effort=9.0),
        session(8),
    )
    found = derive.loading_days(rows, sets)
    assert found["date"].tolist() == [stamp(n) for n in (0, 2, 4, 8)]
    assert found["cause"].tolist() == ["fingers", "climbing", "fingers", "fingers"]


def test_rest_between() -> None:
    """Whole days between loading days: the next day 0, the day after 1; the first has none."""
    loading = derive.loading_days(
        sessions(session(0), session(1), session(3), session(10)), NO_SETS
    )
    found = derive.rest_between(loading)
    assert found["date"].tolist() == [stamp(n) for n in (1, 3, 10)]
    assert found["before"].tolist() == [stamp(n) for n in (0, 1, 3)]
    assert found["rest_days"].tolist() == [0, 1, 6]


# --- counts --------------------------------------------------------------------------------


def test_distinct_sets() -> None:
    """A pair of hands under one order is one set of both; a mix of grips keeps its hand."""
    sets = derived(
        pull(order=1.0, sets=3),
        pull(order=1.0, sets=2, hand="right"),
        hang(on=43, order=1.0),
        hang(on=43, order=1.0, grip="open_four"),
        pull(on=44, sets=4),
    )
    found = derive.distinct_sets(sets)
    assert found["sets"].tolist() == [3, 1, 4]
    assert found["hand"].tolist() == ["both", "both", "left"]


def counted(*rows: Row, block: Any = BLOCK) -> dict[tuple[int, str, str], int]:
    """Counts of sets by (day, session, exercise)."""
    found = derive.count_sets(derived(*rows, block=block), block)
    return {
        ((date - stamp(0)).days, label, exercise): n for (date, label, exercise), n in found.items()
    }


def test_count_sets() -> None:
    """Rows count by their `sets`, apart by day, session and exercise."""
    assert counted(
        hang(on=0, sets=3),
        hang(on=0),
        hang(on=0, session="evening", sets=2),
        repeater(on=0, sets=2),
        hang(on=1),
    ) == {
        (0, "", "hang"): 4,
        (0, "", "repeater"): 2,
        (0, "evening", "hang"): 2,
        (1, "", "hang"): 1,
    }


@pytest.mark.parametrize(
    ("rows", "count"),
    [
        ([pull(sets=3), pull(hand="right", sets=3)], 3),
        ([pull(sets=3), pull(hand="right", sets=2)], 3),
        ([pull(sets=3)], 3),
        ([pull(order=1.0), pull(hand="right", order=1.0), pull(order=2.0)], 2),
        ([pull(order=1.0), pull(hand="right", order=2.0)], 1),
        ([pull(sets=2), pull(hand="right", sets=2), pull(hand="both", sets=5)], 7),
    ],
)
def test_hands_in_turn_count_as_pairs(rows: list[Row], count: int) -> None:
    """Where the phase plans hands in turn, a set is the pair."""
    assert counted(*rows) == {(42, "", "pull"): count}


def test_hands_one_by_one_count_each() -> None:
    """Without hands in turn in the plan, or outside its phase, left and right are two sets."""
    one_by_one = replace(BLOCK, phases=(Phase("Pulls", 9, 1, "pull"),))
    rows = (pull(sets=3), pull(hand="right", sets=3))
    assert counted(*rows, block=one_by_one) == {(42, "", "pull"): 6}
    tests = (pull(on=0), pull(on=0, hand="right"))
    assert counted(*tests) == {(0, "", "pull"): 2}


def test_hands_in_turn_in_overlapping_phases() -> None:
    """Only the exercise whose phase plans hands in turn is counted in pairs."""
    block = replace(
        BLOCK,
        phases=(Phase("Pulls", 9, 1, "pull", alternate_hands=True), Phase("Hangs", 9, 1, "hang")),
    )
    rows = [make(hand=hand) for make in (pull, hang) for hand in ("left", "right")]
    assert counted(*(r | {"date": day(0)} for r in rows), block=block) == {
        (0, "", "hang"): 2,
        (0, "", "pull"): 1,
    }


# --- finger sessions -----------------------------------------------------------------------


def finger_sessions(*rows: Row, logged: tuple[Row, ...] = ()) -> pd.DataFrame:
    """Finger sessions of rows of hangs.csv and of sessions.csv."""
    return derive.finger_sessions(derived(*rows), sessions(*logged), BLOCK)


def test_finger_session() -> None:
    """Work, counts and minutes of one session, by hand."""
    found = finger_sessions(
        repeater(on=14, warmup=True, added_kg=-20.0),
        repeater(on=14, sets=3),
        repeater(on=14, reps_done=4.0, failed_s=5.0, added_kg=5.0),
        repeater(on=14, failed_s=5.0),
        logged=(session(14, minutes=40.0), session(14, "core", minutes=20.0)),
    )
    assert len(found) == 1
    row = found.iloc[0]
    assert (row["date"], row["week"], row["phase"]) == (stamp(14), 3, "Repeaters")
    assert row["exercise"] == "repeater"
    assert row["sets"] == 5  # without the warm-up
    assert row["tension_s"] == 42 + 3 * 42 + 33
    assert row["impulse_kg_s"] == pytest.approx(42 * 50.0 + 3 * 42 * 70.0 + 33 * 75.0)
    assert row["unknown_sets"] == 1
    # six sets of 60 s with five rests of (150 s + 180 s) / 2 between
    assert row["minutes_estimated"] == pytest.approx((6 * 60 + 5 * 165) / 60)
    assert row["minutes_logged"] == 40.0


def test_unknown_sets_count_by_their_number() -> None:
    """A row of three sets whose load is unknown is three unknown sets."""
    sets = derived(hang(sets=3), mass=None)
    found = derive.finger_sessions(sets, sessions(), BLOCK)
    assert found["unknown_sets"].tolist() == [3]
    assert found["tension_s"].tolist() == [30.0]
    assert found["impulse_kg_s"].tolist() == [0.0]


def test_rest_without_a_plan() -> None:
    """Outside its phase an exercise rests as is common: pulls 210 s on the mean."""
    found = finger_sessions(pull(on=0), pull(on=0, hand="right"))
    assert found["minutes_estimated"].item() == pytest.approx((2 * 3 + 210) / 60)


@pytest.mark.parametrize(
    ("rows", "seconds"),
    [
        # 2 hangs of 10 s, 120 s after each; 2 repeaters of 60 s, 150 s after each but the last
        ([hang(sets=2, hang_s=10.0), repeater(on=0, sets=2)], 20 + 120 + 2 * 120 + 150),
        # the other way round the last rest saved is that of a hang
        ([repeater(on=0, sets=2), hang(sets=2, hang_s=10.0)], 20 + 120 + 2 * 150 + 120),
    ],
)
def test_no_rest_after_the_last_set(rows: list[Row], seconds: float) -> None:
    """The rest left out is the one after the set done last."""
    assert finger_sessions(*rows)["minutes_estimated"].item() == pytest.approx(seconds / 60)


def test_one_set_has_no_rest() -> None:
    """A session of one set lasts as long as the set."""
    assert finger_sessions(hang())["minutes_estimated"].item() == pytest.approx(10 / 60)


def test_pair_of_hands_rests_once() -> None:
    """Hands in turn: both hands' seconds, one rest after each pair but the last."""
    rows = [pull(order=float(i), hand=h) for i in (1, 2, 3) for h in ("left", "right")]
    found = finger_sessions(*rows)
    assert found["sets"].item() == 3
    assert found["minutes_estimated"].item() == pytest.approx((6 * 3 + 2 * 210) / 60)


def test_exercise_of_a_session() -> None:
    """The most frequent one, warm-ups only where there is nothing else."""
    found = finger_sessions(
        hang(on=0, warmup=True, sets=9),
        repeater(on=0, sets=3),
        pull(on=0, sets=2),
        hang(on=1, warmup=True),
    )
    assert found["exercise"].tolist() == ["repeater", "hang"]
    assert found["sets"].tolist() == [5, 0]


def test_only_warm_ups() -> None:
    """A log of warm-ups alone has sessions without sets."""
    found = finger_sessions(hang(warmup=True))
    assert found["sets"].tolist() == [0]
    assert found["exercise"].tolist() == ["hang"]
    assert found["tension_s"].tolist() == [10.0]


@pytest.mark.parametrize(
    ("done", "logged", "minutes"),
    [
        (("",), (("", 40.0),), [40.0]),
        (("",), (("am", 40.0), ("pm", 30.0)), [70.0]),  # sets without a label: all of the day
        (("",), (("", 40.0), ("", 5.0)), [45.0]),
        (("",), (("", UNKNOWN),), [UNKNOWN]),
        (("",), (), [UNKNOWN]),
        (("am", "pm"), (("am", 40.0), ("pm", 30.0)), [40.0, 30.0]),
        (("am", "pm"), (("am", 40.0),), [40.0, UNKNOWN]),  # never another session's
        (("am", "pm"), (("am", 40.0), ("pm", UNKNOWN)), [40.0, UNKNOWN]),
        (("am", "pm"), (("am", 40.0), ("", 30.0)), [40.0, 30.0]),
    ],
)
def test_minutes_logged(
    done: tuple[str, ...], logged: tuple[tuple[str, float], ...], minutes: list[float]
) -> None:
    """A session takes the minutes of its own label, never those of another."""
    found = finger_sessions(
        *(hang(session=label) for label in done),
        logged=tuple(session(0, session=label, minutes=m) for label, m in logged),
    )
    assert found["session"].tolist() == list(done)
    assert found["minutes_logged"].tolist() == pytest.approx(minutes, nan_ok=True)


def test_minutes_of_another_kind_do_not_count() -> None:
    """Minutes of climbing are not those of the finger session."""
    found = finger_sessions(hang(), logged=(session(0, "climbing", minutes=90.0),))
    assert found["minutes_logged"].isna().all()


# --- finger work by week -------------------------------------------------------------------


def test_weekly_finger_work() -> None:
    """Sets, time, impulse and load per hand by week, by hand; warm-ups and other days left out."""
    found = derive.weekly_finger_work(
        derived(
            hang(on=-1),
            hang(on=63),
            hang(on=0, warmup=True),
            hang(on=0, sets=2),
            hang(on=1, hand="left", scale_kg=30.0, hang_s=5.0),
            hang(on=2, stopped="slip", sets=2),
            pull(on=42, sets=2),
            pull(on=42, hand="right", scale_kg=30.0),
        ),
        BLOCK,
    )
    assert found["week"].tolist() == list(range(1, 10))
    assert found["phase"].tolist() == ["Hangs"] * 2 + ["Repeaters"] * 4 + ["Pulls"] * 3
    assert found["sets"].tolist() == [5, 0, 0, 0, 0, 0, 3, 0, 0]
    assert found["unknown_sets"].tolist() == [2, 0, 0, 0, 0, 0, 0, 0, 0]
    assert found["tension_s"].tolist() == [25.0, 0, 0, 0, 0, 0, 9.0, 0, 0]
    impulse = [20 * 70.0 + 5 * 40.0, 6 * 50.0 + 3 * 40.0]
    assert found.loc[[0, 6], "impulse_kg_s"].tolist() == pytest.approx(impulse)
    # both hands carry half each: (20 s x 35 kg + 5 s x 40 kg) / 25 s
    per_hand = [(20 * 35.0 + 5 * 40.0) / 25, (6 * 50.0 + 3 * 40.0) / 9]
    assert found.loc[[0, 6], "load_per_hand_kg"].tolist() == pytest.approx(per_hand)
    assert found.loc[[1, 2, 3, 4, 5, 7, 8], "load_per_hand_kg"].isna().all()


def test_load_per_hand_leaves_unknown_loads_out() -> None:
    """Time under an unknown load counts as time, not in the mean of the load."""
    rows = (hang(force_kg=80.0), hang())
    found = derive.weekly_finger_work(derived(*rows, mass=None), BLOCK).iloc[0]
    assert found["tension_s"] == 20.0
    assert found["unknown_sets"] == 1
    assert found["load_per_hand_kg"] == pytest.approx(40.0)


def test_impulse_falls_as_loads_rise() -> None:
    """Six repeater sets outweigh six pulls in impulse though the load per hand is lower."""
    found = derive.weekly_finger_work(derived(repeater(sets=6), pull(sets=6)), BLOCK)
    repeaters, pulls = found.iloc[2], found.iloc[6]
    assert repeaters["impulse_kg_s"] > pulls["impulse_kg_s"]
    assert repeaters["load_per_hand_kg"] < pulls["load_per_hand_kg"]


def test_convention_names_its_choices() -> None:
    """The printed convention says which SD, how many days, and what a day without counts."""
    words = LOAD_CONVENTION
    assert "population SD" in words
    assert "seven days" in words
    assert "counts 0" in words
    assert np.all([word in words for word in ("rest", "ill", "away", "injured")])
