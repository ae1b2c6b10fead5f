"""A running block: the rule for adding on single sessions, and blocks followed as proposed."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest

from gripbook.logs.block import read_block
from gripbook.logs.block_writer import write_block
from gripbook.reviews.proposal import NextRow, Reason
from gripbook.reviews.proposal.running import Move, Session, next_move
from tests.unit.following import Following, as_asked

MONDAY = dt.date(2026, 3, 2)


def session(week: int, kg: float = 10.0, missed: int = 0, **more: object) -> Session:
    """Five sets asked for, with enough left."""
    at = Session(MONDAY, week, False, kg, 70 + kg, 70, 5 - missed, missed, 5, True, "hangs.csv:2")
    return replace(at, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("sessions", "week", "move"),
    [
        # all sets done with enough left: a step, but none in the first week, and one a week
        ([session(1)], 2, Move.UP),
        ([session(1)], 1, Move.WAIT),
        ([session(1), session(2, 11.25)], 2, Move.WAIT),
        ([session(1), session(2, 11.25)], 3, Move.UP),
        ([session(1), session(2)], 2, Move.UP),
        ([session(1, 50.0), session(2, 50.5)], 2, Move.WAIT),
        # fewer sets than asked, too little left, one set missed: the same again
        ([session(1, done=4)], 2, Move.AGAIN),
        ([session(1, left_enough=False)], 2, Move.AGAIN),
        ([session(1, missed=1)], 2, Move.AGAIN),
        ([session(1, missed=2)], 2, Move.AGAIN),
        # half the sets or more at once, or missed in two sessions running: back
        ([session(1, missed=3)], 2, Move.AT_ONCE),
        ([session(1, missed=2, done=2)], 2, Move.AT_ONCE),
        ([session(1, missed=1), session(2, missed=1)], 3, Move.BACK),
        ([session(1, missed=1), session(2), session(3, missed=1)], 4, Move.AGAIN),
        # after a step back the count begins anew
        ([session(1, 11.25, 1), session(1, 10.0, 1)], 2, Move.AGAIN),
        ([session(1, 50.5, 1), session(1, 50.0, 1)], 2, Move.AGAIN),
        # an easier week neither earns a step nor costs one
        ([session(1), session(2, done=3, easy=True)], 3, Move.UP),
        ([session(1, done=4), session(2, easy=True)], 3, Move.AGAIN),
        ([session(1), session(2, missed=1, easy=True)], 3, Move.AGAIN),
        ([session(1), session(2, easy=True, left_enough=False)], 3, Move.AGAIN),
    ],
)
def test_the_last_session_decides(sessions: list[Session], week: int, move: Move) -> None:
    """Up, wait, again, back: by what the last session was, and the one before."""
    assert next_move(sessions, week) is move


@pytest.mark.parametrize(("days", "move"), [(-1, Move.UP), (0, Move.FELT), (3, Move.FELT)])
def test_pain_since_the_last_session_takes_no_step(days: int, move: Move) -> None:
    """Below the limit it holds the weight; what was felt before the last session does not."""
    felt = MONDAY + dt.timedelta(days=days)
    assert next_move([session(1)], 2, felt=felt) is move
    assert next_move([session(1, missed=3)], 2, felt=felt) is Move.AT_ONCE


@pytest.mark.parametrize(("side", "then"), [("left", 8.75), ("", 8.75), (None, 10.0)])
def test_pain_below_the_limit_holds_the_weight(
    side: str | None, then: float, tmp_path: Path
) -> None:
    """Week 1 logged as planned, a finger felt after it: the same weight, and why."""
    following = Following.begin("adult", tmp_path)
    rows = [x for x in following.plan.rows if x.week == 1]
    following.log(rows)
    if side is not None:
        with (tmp_path / "pain.csv").open("a", encoding="utf-8") as file:
            file.write(f"ada,{rows[-1].day},after,ring,{side},2,,\n")
    plan = following.week()
    assert {x.high_kg for x in plan.rows if not x.test} == {then}
    assert {x.reason for x in plan.loads} == {Reason.RULE if side is None else Reason.FELT}


def test_a_later_phase_starts_no_heavier_than_before_the_block(tmp_path: Path) -> None:
    """Two weeks of hangs logged as planned: the first repeaters are those the plan foresaw."""
    following = Following.begin("healthy", tmp_path)
    following.log(x for x in following.plan.rows if x.week < 3)
    coming = [x for x in following.week().rows if x.exercise == "repeater"]
    assert len({x.grip for x in coming}) == 2
    assert {x.high_kg for x in coming} == {-8.75}
    assert {x.low_kg for x in following.plan.rows if x.exercise == "repeater"} == {-8.75}


#: Weeks whose first session is held against the plan, by log.
FOLLOWED = {
    "adult": range(1, 9),
    "beginner": (2, 5, 6),
    "healthy": (1, 2, 3, 5, 7),
    "ill": (1, 2, 3, 5, 8),
    "one_arm": (1, 2, 5),
}


@pytest.mark.parametrize("name", FOLLOWED)
def test_what_is_logged_as_planned_never_goes_back(name: str, tmp_path: Path) -> None:
    """All sets done with what was asked left: the coming week holds what the plan foresaw."""
    following = Following.begin(name, tmp_path)
    plan = following.plan
    last: dict[tuple[str, str, str], float] = {}
    days = sorted({row.day for row in plan.rows})
    seen: set[int] = set()
    for day in days:
        rows = [row for row in plan.rows if row.day == day]
        week = rows[0].week
        if week in FOLLOWED[name] and week not in seen and day != days[0]:
            seen.add(week)
            coming = [row for row in following.week().rows if row.day == day]
            assert keys(coming) == keys(rows)
            for row in coming:
                foreseen = next(x for x in rows if keys([x]) == keys([row]))
                assert row.sets == foreseen.sets
                if row.high_kg is None or row.exercise == "pull":
                    continue
                assert foreseen.low_kg is not None
                assert foreseen.high_kg is not None
                assert foreseen.low_kg <= row.high_kg <= foreseen.high_kg
                before = last.get((row.exercise, row.grip, row.hand), row.high_kg)
                step = next(x.add_kg for x in plan.loads if x.grip == row.grip) or 0.0
                assert before <= row.high_kg <= before + step
        following.log(rows)
        for row in rows:
            if row.high_kg is not None and not row.test:
                last[row.exercise, row.grip, row.hand] = row.high_kg
    assert seen == set(FOLLOWED[name])


def keys(rows: list[NextRow]) -> list[tuple[str, str, str, float, bool]]:
    """What is done in a session, in order: no edge changes and no dose is doubled."""
    return [(x.exercise, x.grip, x.hand, x.edge_mm, x.test) for x in rows]


@pytest.mark.parametrize(
    ("missed", "then"),
    [((1, 1), 8.75), ((1, 0), 10.0), ((0, 1), 10.0), ((0, 2), 10.0), ((0, 3), 8.75)],
)
def test_misses_cost_exactly_one_step(missed: tuple[int, int], then: float, tmp_path: Path) -> None:
    """Both sessions of week 2 at +10 kg: missed in two, or half the sets of one, is a step back."""
    following = Following.begin("adult", tmp_path)
    weeks = [[x for x in following.plan.rows if x.week == w] for w in (1, 2, 3)]
    following.log(weeks[0])
    for number, day in zip(missed, sorted({x.day for x in weeks[1]}), strict=True):

        def done(row: NextRow, failed: int = number) -> tuple[int, int, float]:
            sets, _, left = as_asked(row)
            return sets - failed, failed, left

        following.log([x for x in weeks[1] if x.day == day], done)
    coming = [x for x in following.week().rows if not x.test]
    assert {x.week for x in coming} == {3}
    # one missed, then a whole session: a step, since the last session decides
    assert {x.high_kg for x in coming} == ({11.25} if missed == (1, 0) else {then})


def test_a_block_file_keeps_the_split_and_what_is_a_most(tmp_path: Path) -> None:
    """Half crimp has four of six sets; what the rule may have reached by then is a most."""
    block = Following.begin("healthy", tmp_path).plan.block
    assert block is not None
    read, problems = read_block(write_block(block), "")
    assert problems == []
    assert read is not None
    assert read.phases == block.phases
    first, second = (p for p in block.phases if p.exercise == "hang")
    assert [(t.grip, t.sets, t.added_kg, t.at_most) for t in first.targets] == [
        ("half_crimp", 4, 7.5, False),
        ("open_four", 2, 0.0, False),
    ]
    assert [(t.sets, t.added_kg, t.at_most) for t in second.targets] == [
        (4, 8.75, True),
        (2, 1.25, True),
    ]
    later = next(p for p in block.phases if p.exercise == "repeater")
    assert [(t.added_kg, t.at_most) for t in later.targets] == [(-7.5, True), (-7.5, True)]
