"""The sheet of a week: planned sets in order, hands in turn, and their paper."""

from __future__ import annotations

import datetime as dt
from types import SimpleNamespace
from typing import Any

import pytest

from gripbook.errors import GripbookError
from gripbook.logs.block import Block, Phase
from gripbook.sheets import paper_page, phone_page, sheet_plan

DAY = dt.date(2026, 1, 6)
PHASES = (Phase("Repeaters", 4, "repeater", rest_s=3.0), Phase("Pulls", 4, "pull"))
BLOCK = Block(name="Winter", start=dt.date(2026, 1, 5), weeks=4, phases=PHASES)


def row(**changes: Any) -> SimpleNamespace:
    """A proposed series."""
    usual = {
        **{"week": 1, "session": 1, "day": DAY, "phase": "Repeaters", "exercise": "repeater"},
        **{"grip": "half_crimp", "hand": "both", "edge_mm": 20.0, "sets": 2, "reps": 6},
        **{"hang_s": 7.0, "added_kg": 7.5, "force_kg": None, "test": False, "pieces": (5, 2.5)},
    }
    return SimpleNamespace(**(usual | changes))


def proposal(*rows: SimpleNamespace, units: str = "kg") -> SimpleNamespace:
    """A proposed week."""
    return SimpleNamespace(athlete="kim", rows=rows, units=units, start=DAY)


def test_sets_stand_in_order_and_hands_in_turn_share_one() -> None:
    """Two repeaters, then three pulls of each hand by turns."""
    pull = {"phase": "Pulls", "exercise": "pull", "sets": 3, "reps": None, "hang_s": None}
    pull |= {"added_kg": None, "pieces": ()}
    plan = sheet_plan(proposal(row(), row(hand="left", **pull), row(hand="right", **pull)), BLOCK)
    (session,) = plan.sessions
    assert [(s.order, s.exercise, s.hand) for s in session.sets] == [
        *((1, "repeater", "both"), (2, "repeater", "both")),
        *((n, "pull", hand) for n in (3, 4, 5) for hand in ("left", "right")),
    ]
    assert [s.rest_s for s in session.sets][:3] == [3, 3, None]


def test_nothing_proposed_is_no_sheet() -> None:
    """For a minor, or where pain holds, the proposal has no sets: it says where to look."""
    with pytest.raises(GripbookError, match="gripbook next"):
        sheet_plan(proposal(row(sets=None)), BLOCK)


def test_paper_has_a_row_a_set_with_weight_and_plates() -> None:
    """Weight with its sign, plates, and what is asked."""
    page = paper_page(sheet_plan(proposal(row(), row(added_kg=-10.0, pieces=(10,))), BLOCK))
    assert page.count('class="box"') == 4
    assert page.count("+7.5 kg <small>5 + 2.5</small>") == 2
    assert page.count("\u221210 kg <small>10</small>") == 2
    assert "6 × 7/3 s" in page
    assert "<script" not in page


def test_names_are_only_text() -> None:
    """A name with markup opens no element, in neither page."""
    plan = sheet_plan(proposal(row(grip="</script><b>x")), BLOCK, "<i>Kim</i>")
    assert "<i>Kim" not in paper_page(plan)
    phone = phone_page(plan)
    assert "<i>Kim" not in phone
    assert phone.count("</script>") == 2  # the plan's and the script's own
