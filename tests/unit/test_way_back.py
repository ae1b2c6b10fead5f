"""An injured finger, cleared within limits in a running block: page, plan and sheet agree."""

from __future__ import annotations

from dataclasses import replace

import pytest

from gripbook.reviews import NextBlock, propose_next
from gripbook.reviews.proposal import Reason, Reduction
from gripbook.sheets import proposed_week, sheet_plan
from gripbook.words import lead
from gripbook.words.fmt import NBSP
from gripbook.words.next.why import lowered_sentences
from tests.unit.by_hand import plan_of, reviewed

CLEARED = (
    "Cleared on 20 November (“physio Maren: half crimp and open hand only, no full crimp until "
    "18 December, light”): no load above those since."
)


@pytest.fixture(scope="module")
def week() -> NextBlock:
    """The rest of the week; nobody changes it."""
    return propose_next(reviewed("cleared"), week=True)


def plain(text: str) -> str:
    """The text with common spaces."""
    return text.replace(NBSP, " ")


def test_the_clearance_stands_in_the_first_lines(week: NextBlock) -> None:
    """Before what is open this week; and no test is promised that the way back leaves out."""
    r = reviewed("cleared")
    assert plain(lead.next_step(r, week)[1]).startswith(f"{CLEARED} One session is open")
    assert r.block.test_weeks[-1] > week.week
    assert "test" not in lead.so_far(r, week)
    assert "The test in week 8" in plain(
        lead.so_far(r, replace(week, holds=plan_of("adult").holds))
    )


def test_the_plan_names_the_way_back_first(week: NextBlock) -> None:
    """Of rules that allow the same, the one that a physician set; full crimp is left out."""
    half, full = week.loads
    assert (half.added_kg, half.reason) == (-17.5, Reason.RETURN)
    assert Reason.ONE_A_WEEK in {x.reason for x in half.limits}
    assert (full.grip, full.reason) == ("full_crimp", Reason.STOPPED)
    assert {row.grip for row in week.rows} == {"half_crimp"}


def test_a_grip_that_pain_did_not_stop_comes_back_too() -> None:
    """Open hand was held before the pain, and no set of it was stopped."""
    r = reviewed("cleared")
    sets = r.fit.sets
    other = replace(r, fit=replace(r.fit, sets=sets.assign(stopped="")))
    full = propose_next(other, week=True).loads[1]
    assert full.reason is not Reason.STOPPED


def test_the_sheet_says_what_the_plan_says(week: NextBlock) -> None:
    """Clearance, grip left out, pain below the limit, a late start: and the late start."""
    r = reviewed("cleared")
    coming, _ = proposed_week(r)
    told = [plain(text) for text in sheet_plan(coming, r.block).rules]
    assert told[0] == CLEARED
    assert told[2].startswith("Full crimp, both hands: Left out: pain stopped a set")
    assert told[3].startswith("Left ring finger: 1 of 10 on 22 November. Ask before each session")
    vera = reviewed("running")
    late = sheet_plan(proposed_week(vera)[0], vera.block).rules
    assert any(text.startswith("If you train fingers again only after") for text in late)


def test_pain_since_is_told_to_whoever_cleared() -> None:
    """Not sent to be looked at as if nobody had; with a hand held it goes there first."""
    told = " ".join(map(plain, lowered_sentences(plan_of("cleared"))))
    assert "(tell whoever cleared you): start at 90 %" in told
    assert "have it looked at" not in told


def test_what_is_held_is_not_lowered() -> None:
    """Where no load is left nothing starts at a share of the last one."""
    held = plan_of("hurt")
    why = Reduction(Reason.BROKEN, 0.95, weeks=(5,))
    nothing = tuple(replace(x, kind="hold") for x in held.loads)
    assert held.held
    assert lowered_sentences(replace(held, reductions=(why,), loads=nothing)) == []
    free = tuple(replace(x, kind="start") for x in held.loads)
    assert lowered_sentences(replace(held, reductions=(why,), loads=free))
