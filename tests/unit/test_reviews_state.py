"""Where a block stands: only what was due by the log's last day counts, and rows not readable."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pandas as pd
import pytest

from gripbook.html import Fragment
from gripbook.logs import Problem
from gripbook.report import sections
from gripbook.reviews import BlockReview
from gripbook.reviews.done import DayCode, Done, compare_with_plan
from gripbook.reviews.state import BlockState, due_in_week, sessions_that_fit, state_of
from gripbook.words import block as words
from gripbook.words import log as log_words
from gripbook.words.fmt import NBSP
from gripbook.words.lead import lead
from tests.derive_frames import BLOCK, START, derived, hang, session, sessions
from tests.reviewed import reviewed

PHASE = dataclasses.replace(
    BLOCK.phases[0], from_week=1, weeks=8, sessions_per_week=2, sets_per_session=4
)
#: Eight weeks of two hang sessions each.
EIGHT = dataclasses.replace(BLOCK, weeks=8, phases=(PHASE,), test_weeks=())


def day(n: int) -> pd.Timestamp:
    """The n-th day of the block, from 0."""
    return pd.Timestamp(START) + pd.Timedelta(days=n)


def done_to(last: int, days: list[int], **more: object) -> Done:
    """The plan of eight weeks against hangs on these days, in a log that ends on day `last`."""
    sets = derived(*(hang(on=n) for n in days), block=EIGHT)
    return compare_with_plan(sets, sessions(), EIGHT, day(last), **more)  # type: ignore[arg-type]


def test_a_log_that_ends_in_week_four_of_eight_is_a_running_block() -> None:
    """Weeks ahead are neither due nor missing, and the week under way is told apart."""
    done = done_to(21, [0, 3, 7, 14, 17, 21])
    assert (done.state.state, done.state.week, done.state.weeks) == (BlockState.RUNNING, 4, 8)
    assert done.over == (5, 6, 0, 1)
    assert done.this_week == (1, 2, 0, 0)
    assert done.missing == {2: 1}
    assert done.missed_weeks == []
    assert words.sessions(done) == (
        "5 of 6 finger sessions due in weeks 1 to 3; 1 of 2 this week. One is missing in week 2."
    )
    assert done.sessions_planned == 7  # one of the week under way is done, so it was due


def test_a_session_is_due_once_it_no_longer_fits() -> None:
    """The plan names no days: Friday leaves room for one more session, Sunday for none."""
    assert done_to(4, []).weeks["sessions_missing"].tolist()[:2] == [1, 0]
    assert done_to(3, []).weeks["sessions_missing"].tolist()[:2] == [0, 0]
    assert done_to(6, []).weeks["sessions_missing"].tolist()[:2] == [2, 0]


@pytest.mark.parametrize(
    ("days", "rest", "fit"), [(0, 1, 0), (1, 1, 1), (2, 1, 1), (3, 1, 2), (6, 2, 2), (-3, 1, 0)]
)
def test_sessions_that_fit(days: int, rest: int, fit: int) -> None:
    """Each session takes its day and the rest after it, the last one its day alone."""
    assert sessions_that_fit(days, rest) == fit


def test_no_plan_is_no_due() -> None:
    """Where nothing is planned nothing is due; more days than sessions, none is."""
    assert due_in_week(float("nan"), 3, 1) != due_in_week(float("nan"), 3, 1)
    assert due_in_week(1, 6, 1) == 0


@pytest.mark.parametrize(
    ("last", "done", "state"),
    [
        (-1, 0, BlockState.NOT_BEGUN),
        (0, 0, BlockState.RUNNING),
        (48, 2, BlockState.RUNNING),  # week 8 is still to come
        (53, 1, BlockState.RUNNING),  # Saturday of the last week, a session open
        (53, 2, BlockState.ENDED),  # nothing is left to do
        (55, 0, BlockState.ENDED),
        (99, 0, BlockState.ENDED),
    ],
)
def test_state_of_a_block(last: int, done: int, state: BlockState) -> None:
    """A block runs as long as a planned session can still be done."""
    assert state_of(EIGHT, day(last), done).state is state


def test_without_a_plan_there_is_no_state() -> None:
    """A block made to span the log neither runs nor has ended."""
    plan = dataclasses.replace(EIGHT, planned=False)
    found = state_of(plan, day(9), 1)
    assert (found.state, found.week, found.running) == (BlockState.NO_PLAN, None, False)


def refused(n: int, *, file: str = "hangs.csv", line: int = 9) -> Problem:
    """A refused row of day n."""
    return Problem("error", "x", file, line, "edge_mm", "", "is empty.", "", day=day(n).date())


def test_a_refused_row_with_a_day_is_no_missed_session() -> None:
    """It counts as a session with rows that could not be read, not as done, not as missing."""
    done = done_to(6, [0], problems=[refused(3)])
    week = done.weeks.iloc[0]
    assert (week["sessions_done"], week["sessions_unreadable"], week["sessions_missing"]) == (
        1,
        1,
        0,
    )
    assert "One more session has rows we could not read." in words.sessions(done)
    assert done.days.loc[3, ["codes", "logged", "unreadable"]].tolist() == [(), True, True]
    assert log_words.rows_refused(done).replace(NBSP, " ") == (
        "One row couldn't be read. The finger session on 8 January counts neither as done nor as "
        "missing."
    )
    empty = done_to(6, [], problems=[refused(3)])
    assert empty.missed_weeks == []


def test_refused_rows_that_make_no_session() -> None:
    """Rows of one day are one session; a day with readable sets, another file, a warning: none."""
    problems = [
        refused(0),
        refused(3, line=10),
        refused(3, line=11),
        refused(4, file="pain.csv"),
        dataclasses.replace(refused(5), severity="warning"),
        dataclasses.replace(refused(5, line=77), day=None),
    ]
    done = done_to(6, [0], problems=problems)
    assert done.unreadable_sessions == 1
    assert len(done.refused) == 5
    assert done.days["unreadable"].tolist()[:6] == [True, False, False, True, False, False]


def test_first_screen_says_how_many_rows_could_not_be_read(small_logs: Path) -> None:
    """A typing slip in a row is told at the top, with the session it hides."""
    path = small_logs / "hangs.csv"
    rows = path.read_text().splitlines()
    at = next(i for i, row in enumerate(rows) if row.startswith("ada,2026-01-23"))
    day_rows = [i for i, row in enumerate(rows) if row.startswith("ada,2026-01-23")]
    for i in day_rows:
        rows[i] = rows[i].replace("half_crimp", "half_crmp").replace("open_four", "open_fuor")
    path.write_text("\n".join(rows) + "\n")
    r = reviewed(small_logs, "ada")
    assert at
    assert r.done.unreadable_sessions == 1
    assert "couldn't be read" in " ".join(line.text for line in lead(r))
    page = page_words(r)
    assert "??" in page


def page_words(r: BlockReview) -> str:
    """The words of the block's section."""
    return "\n".join(repr(p) for p in sections.block(r) if isinstance(p, Fragment))


def test_a_day_with_a_climb_is_logged() -> None:
    """A row of climbs.csv makes a day of climbing, in the calendar and among the days logged."""
    done = done_to(6, [0], climbs=pd.DataFrame({"date": [day(2)]}))
    assert done.days.loc[2, ["codes", "logged"]].tolist() == [(DayCode.CLIMBING,), True]
    assert done.days.loc[1, ["codes", "logged"]].tolist() == [(), False]


def test_codes_of_a_day_stand_in_one_order() -> None:
    """A marked test stands in place of fingers; rest is not told of a day with work."""
    sets = derived(hang(on=0, test=True), hang(on=0), hang(on=3), block=EIGHT)
    rows = sessions(
        session(0, "mobility"),
        session(0, "core"),
        session(1, "rest"),
        session(3, "rest"),
        session(4, "cleared"),
    )
    codes = compare_with_plan(sets, rows, EIGHT, day(6)).days["codes"].tolist()
    assert codes[:5] == [
        (DayCode.TEST, DayCode.CORE, DayCode.MOBILITY),
        (DayCode.REST,),
        (),
        (DayCode.FINGERS,),
        (DayCode.CLEARED,),
    ]


def test_days_to_come_fall_on_the_usual_weekdays() -> None:
    """Planned days lie ahead alone, keep the rest between, and are as many as are open."""
    days = done_to(21, [0, 3, 7, 10, 14, 17, 21]).days
    ahead = days.loc[days["planned"], "date"]
    assert [(d - day(0)).days for d in ahead] == [24, 28, 31, 35, 38, 42, 45, 49, 52]
    assert days.loc[days["planned"], "ahead"].all()
    assert not done_to(55, [0, 3]).days["planned"].any()


def test_phases_of_a_running_block() -> None:
    """A phase to come says what is planned, one under way both, one over done of planned."""
    phases = (
        dataclasses.replace(PHASE, weeks=2),
        dataclasses.replace(PHASE, name="Later", from_week=3, weeks=2),
        dataclasses.replace(PHASE, name="Last", from_week=5, weeks=4),
    )
    plan = dataclasses.replace(EIGHT, phases=phases)
    sets = derived(*(hang(on=n) for n in (0, 3, 7, 14)), block=plan)
    done = compare_with_plan(sets, sessions(), plan, day(15))
    heads = [", ".join(words.phase_head(p)) for p in done.phases.itertuples(index=False)]
    assert heads == [
        "Hangs, 3 of 4 sessions, 3 of 16 sets",
        "Later, 1 of 4 sessions so far",
        "Last, eight sessions planned",
    ]


def test_many_missing_weeks_are_drawn_together() -> None:
    """Up to three weeks one by one, more as a sum."""
    assert words.missing(done_to(20, [0, 3, 7])) == "one is missing in week 2, two in week 3"
    assert words.missing(done_to(27, [0])) == "seven are missing in four weeks"
