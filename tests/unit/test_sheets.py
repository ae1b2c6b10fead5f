"""The sheet of a week: planned sets in order, hands in turn, and their paper."""

from __future__ import annotations

import datetime as dt
import shutil
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from gripbook.errors import GripbookError
from gripbook.logs.block import Block, Phase
from gripbook.reviews import check_begun, propose_next
from gripbook.reviews.proposal import Choices, Holds, Reason
from gripbook.sheets import paper_page, phone_page, proposed_week, sheet_plan
from gripbook.sheets.phone import in_unit
from gripbook.words import fmt
from tests.reviewed import reviewed

DAY = dt.date(2026, 1, 6)
PHASES = (Phase("Repeaters", 4, "repeater", rest_s=3.0), Phase("Pulls", 4, "pull"))
PLATES = (10.0, 5.0, 2.5, 2.5)
BLOCK = Block(name="Winter", start=dt.date(2026, 1, 5), weeks=4, phases=PHASES, plates_kg=PLATES)


def row(**changes: Any) -> SimpleNamespace:
    """A proposed series."""
    usual = {
        **{"week": 1, "session": 1, "day": DAY, "phase": "Repeaters", "exercise": "repeater"},
        **{"grip": "half_crimp", "hand": "both", "edge_mm": 20.0, "sets": 2, "reps": 6},
        **{"hang_s": 7.0, "added_kg": 7.5, "force_kg": None, "test": False, "easy": False},
        **{"reason": Reason.CHANCE, "low_kg": None, "high_kg": None, "left_s": None},
        **{"left_reps": 1, "aim_kg": None, "aim_gauge": False, "warm_up_kg": ()},
    }
    return SimpleNamespace(**(usual | changes))


def proposal(*rows: SimpleNamespace, units: str = "kg") -> SimpleNamespace:
    """A proposed week."""
    return SimpleNamespace(
        **{"athlete": "kim", "rows": rows, "units": units, "start": DAY, "week": 1, "loads": ()},
        **{"set_rests_s": {"Repeaters": (120.0, 180.0)}, "holds": Holds(False, ())},
        **{"minor": False, "held": (), "choices": Choices(), "watch": None, "late_from": None},
    )


def test_sets_stand_in_order_and_hands_in_turn_share_one() -> None:
    """Two repeaters, then three pulls of each hand by turns."""
    pull = {"phase": "Pulls", "exercise": "pull", "sets": 3, "reps": None, "hang_s": None}
    pull |= {"added_kg": None}
    plan = sheet_plan(proposal(row(), row(hand="left", **pull), row(hand="right", **pull)), BLOCK)
    (session,) = plan.sessions
    assert [(s.order, s.exercise, s.hand) for s in session.sets] == [
        *((1, "repeater", "both"), (2, "repeater", "both")),
        *((n, "pull", hand) for n in (3, 4, 5) for hand in ("left", "right")),
    ]
    assert [s.rest_s for s in session.sets][:3] == [3, 3, None]


def test_nothing_proposed_is_no_sheet() -> None:
    """Without sets there is no sheet, and the message says what to do."""
    with pytest.raises(GripbookError, match="Name a later one with --week"):
        sheet_plan(proposal(row(sets=None)), BLOCK)


@pytest.mark.parametrize(
    ("name", "week", "why"),
    [
        ("hurt", None, "No climbing or hanging with the left hand"),
        ("minor", None, "Coach, guardian and physician decide"),
        ("running", 7, "Nothing of One-arm pulls in week 7 has been logged"),
    ],
)
def test_no_sheet_says_the_reason_itself(name: str, week: int | None, why: str) -> None:
    """Pain, age, or nothing to go by: told in the message, not somewhere else."""
    seen = reviewed(Path(__file__).parents[1] / "data" / "by_hand" / name, "")
    with pytest.raises(GripbookError, match="No sets are proposed") as told:
        sheet_plan(proposed_week(seen, week)[0], seen.block)
    assert why in str(told.value)


def test_paper_has_a_row_a_set_with_weight_and_plates() -> None:
    """Weight with its sign, the plates of every weight that they make, and what is asked."""
    rows = (row(), row(added_kg=-10.0), row(added_kg=5.0), row(added_kg=6.0))
    page = paper_page(sheet_plan(proposal(*rows), BLOCK))
    assert page.count('class="box"') == 8
    assert page.count("+7.5 kg <small>5 + 2.5</small>") == 2
    assert page.count("\u221210 kg <small>pulley: 10</small>") == 2
    assert page.count("+5 kg <small>5</small>") == 2
    assert page.count("+6 kg</td>") == 2  # not from these plates
    assert "6 × 7/3 s" in page
    assert "<h1>kim, week 1</h1>" in page
    assert "The weights follow" not in page
    assert "<script" not in page


def test_a_test_and_pulls_say_what_they_are() -> None:
    """A test is to the limit, pulls all out; sets before them say what to leave."""
    test = row(exercise="hang", hang_s=10.0, reps=None, added_kg=None, test=True, sets=1)
    pull = row(exercise="pull", reps=None, hang_s=None, added_kg=None, sets=1, left_reps=None)
    page = paper_page(sheet_plan(proposal(test, row(sets=1), pull), BLOCK)).replace(fmt.NBSP, " ")
    assert "half crimp, both hands, 20 mm, test</td>" in page
    assert "to the limit</td>" in page
    assert "<small>leave one hold</small>" in page
    assert "all out</td>" in page
    assert "Test, half crimp, both hands: One set to the limit; note the seconds." in page
    assert "Rest 2 to 3 min between sets." in page
    assert "A, Tuesday 6 January 2026</h2>" in page


def test_a_weight_that_may_rise_is_a_most() -> None:
    """Of a later week paper says "up to"; the phone begins at the weight that is known."""
    ranged = row(low_kg=7.5, high_kg=10.0, added_kg=10.0, easy=True)
    plan = sheet_plan(proposal(ranged), BLOCK)
    page = paper_page(plan).replace(fmt.NBSP, " ")
    assert "up to +10 kg</td>" in page
    assert "A, Tuesday 6 January 2026 (easier week)</h2>" in page
    assert {x.added_kg for x in plan.sessions[0].sets} == {7.5}
    later = row(low_kg=7.5, high_kg=10.0, added_kg=None)
    assert {x.says for x in sheet_plan(proposal(later), BLOCK).sessions[0].sets} == {
        f"up to +10{fmt.NBSP}kg"
    }


def test_a_load_lifted_from_the_floor_has_its_plates() -> None:
    """A weight that hangs on a small edge is made of plates too, in the athlete's units."""
    lifted = row(added_kg=None, force_kg=12.5)
    page = paper_page(sheet_plan(proposal(lifted), BLOCK))
    assert "12.5 kg <small>10 + 2.5</small>" in page
    pounds = paper_page(sheet_plan(proposal(lifted, units="lb"), BLOCK))
    assert "27.56 lb <small>22.05 + 5.51</small>" in pounds


def test_without_plates_in_the_block_no_plates_are_named() -> None:
    """The weight stands alone."""
    page = paper_page(sheet_plan(proposal(row()), replace(BLOCK, plates_kg=())))
    assert "+7.5 kg</td>" in page


def test_a_later_week_says_what_its_weights_rest_on() -> None:
    """The log's last day, and to print the sheet again."""
    page = paper_page(sheet_plan(proposal(row()), BLOCK, as_of=dt.date(2026, 1, 4)))
    page = page.replace(fmt.NBSP, " ")
    assert "The weights follow from the log up to 4 January 2026. Print the sheet again" in page


def test_names_are_only_text() -> None:
    """A name with markup opens no element, in neither page."""
    plan = sheet_plan(proposal(row(grip="</script><b>x")), BLOCK, "<i>Kim</i>")
    assert "<i>Kim" not in paper_page(plan)
    phone = phone_page(plan)
    assert "<i>Kim" not in phone
    assert phone.count("</script>") == 2  # the plan's and the script's own


def test_after_a_block_the_sheet_is_of_the_next(demo_logs_folder: Path) -> None:
    """Its first week by default, with the loads and days of the proposal; week 12 isn't in it."""
    seen = reviewed(demo_logs_folder, "arvo")
    proposed = propose_next(seen)
    first, later = proposed_week(seen)
    assert (first.week, first.start, later) == (1, proposed.start, False)
    assert repr(first.rows) == repr(tuple(row for row in proposed.rows if row.week == 1))
    plan = sheet_plan(first, seen.block, "Arvo")
    assert [x.day for x in plan.sessions] == sorted({row.day for row in first.rows})
    assert plan.sessions[0].sets[0].added_kg == first.rows[0].added_kg
    second, later = proposed_week(seen, 2)
    assert (second.start - first.start, later) == (dt.timedelta(days=7), True)
    with pytest.raises(GripbookError, match="No sets are proposed for arvo"):
        sheet_plan(proposed_week(seen, 12)[0], seen.block)


def test_a_week_that_is_not_left_is_told(demo_logs_folder: Path, tmp_path: Path) -> None:
    """One that is over and one that the block hasn't, with those that are left."""
    shutil.copy(demo_logs_folder / "block-loft.toml", tmp_path)
    header, *rows = (demo_logs_folder / "hangs.csv").read_text().splitlines()
    kept = [row for row in rows if row.startswith("arvo,") and row[5:15] < "2026-01-20"]
    (tmp_path / "hangs.csv").write_text("\n".join([header, *kept]) + "\n")
    seen = reviewed(tmp_path, "arvo")
    left = "Weeks 3 to 9 are left."
    for week, why in ((10, "not in the block of 9 weeks"), (2, "over")):
        with pytest.raises(GripbookError) as told:
            proposed_week(seen, week)
        assert str(told.value) == f"Week {week} of Winter in the loft is {why}. {left}"
    assert repr(proposed_week(seen, 3)[0].rows) == repr(proposed_week(seen)[0].rows)
    assert [proposed_week(seen, week)[1] for week in (3, 4, 9)] == [False, True, True]


@pytest.mark.parametrize(
    ("logged", "offered"),
    [
        (["loft", "gym", "loft"], ("loft", "gym")),
        (["loft", "gym"], ("gym", "loft")),
        (["", "gym", ""], ("", "gym")),
        (["", ""], ()),
    ],
)
def test_boards_are_offered_the_latest_first(logged: list[str], offered: tuple[str, ...]) -> None:
    """Rows that name none are a board of their own, unless no row names one."""
    assert sheet_plan(proposal(row()), BLOCK, boards=logged).boards == offered


@pytest.mark.parametrize(
    ("kilograms", "pounds"),
    [
        (-10.21, -22.5),
        (1.13, 2.5),
        (4.54, 10.0),
        (10.0, 22.05),
        (2.5, 5.51),
        (1.37, 3.02),
        (1.14, 2.5),
    ],
)
def test_pounds_are_those_of_the_plates(kilograms: float, pounds: float) -> None:
    """A block file keeps hundredths of a kilogram; a quarter of a pound is meant within 0.02 lb."""
    assert in_unit(kilograms, "lb") == pounds
    assert in_unit(kilograms, "kg") == kilograms


@pytest.mark.parametrize(("start", "begun"), [("2026-01-24", False), ("2026-01-23", True)])
def test_no_week_of_a_block_that_has_not_begun(small_logs: Path, start: str, begun: bool) -> None:
    """Its loads follow from the block before, which is what the message says to ask for."""
    second = f'[block]\nname = "Second"\nstart = {start}\nweeks = 3\n'
    (small_logs / "block-2.toml").write_text(second)
    r = reviewed(small_logs, "ada", "Second")
    if begun:
        check_begun(r)
        return
    with pytest.raises(GripbookError, match="begins on 2026-01-24, after ada's last entry"):
        proposed_week(r)
