"""Plans of logs written by hand, read as the coach would who puts their name under them."""

from __future__ import annotations

import datetime as dt
import itertools
import shutil
from pathlib import Path

import pytest

from gripbook.logs import load_logs
from gripbook.reviews import propose_next, review, review_squad
from gripbook.reviews.proposal import Reason
from gripbook.reviews.squad import FlagKind
from gripbook.strength.model import PRIORS
from gripbook.words import next as words
from gripbook.words.fmt import NBSP
from gripbook.words.lead import lead
from tests.unit.by_hand import BY_HAND, plan_of, reviewed

#: Logs of adults who may train.
TRAINING = ("adult", "beginner", "healthy", "ill", "one_arm", "refused", "running")


def said(name: str) -> str:
    """Every sentence of a plan, with common spaces."""
    return "\n".join(words.all_sentences(plan_of(name))).replace(NBSP, " ")


def starts(name: str) -> dict[tuple[str, str, str], float | None]:
    """Start loads by exercise, grip and hand, kg added or on the fingers."""
    return {(x.exercise, x.grip, x.hand): x.kg for x in plan_of(name).loads}


HALF = ("hang", "half_crimp", "both")


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        # five sets at +10 kg and a test of +12.5 kg with 2 s left: a coach writes +7.5
        ("adult", 6.0, 10.0),
        # the same with repeaters and pulls since
        ("healthy", 6.0, 10.0),
        # three sets at -2.5 kg with 3 s left on the last days
        ("beginner", -3.75, -2.5),
        # 90 % of 74 kg at 60 kg body mass, three weeks ill
        ("ill", 5.0, 6.5),
    ],
)
def test_starts_are_those_of_a_coach(name: str, low: float, high: float) -> None:
    """The start load of half crimp lies where a coach would write it."""
    kg = starts(name)[HALF]
    assert kg is not None
    assert low <= kg <= high


@pytest.mark.parametrize("name", TRAINING)
def test_steps_are_those_of_the_plates_worth_a_step(name: str) -> None:
    """Two hands go up by 1.25 kg though there are plates of 0.5 kg, one hand by half a kilogram."""
    for load in plan_of(name).loads:
        if load.kind == "start":
            assert load.add_kg == (1.25 if load.hand == "both" else 0.5)
    for row in plan_of(name).rows:
        assert 0.5 not in row.pieces or row.hand != "both"


@pytest.mark.parametrize("name", TRAINING)
def test_weeks_are_those_of_a_coach(name: str) -> None:
    """No week is empty, easy weeks don't follow each other, and the last test ends the block."""
    plan = plan_of(name)
    assert {x.week for x in plan.rows} == set(range(1, plan.weeks + 1))
    assert plan.easy_weeks == (4, 8)
    tests = sorted({x.day for x in plan.rows if x.test})
    days = sorted({x.day for x in plan.rows})
    if tests:
        assert tests[-1] == days[-1]
        before = max(d for d in days if d < tests[-1])
        assert (tests[-1] - before).days > 2
    gap = plan.limits.rest_days_between_finger_days
    assert all((b - a).days > gap for a, b in itertools.pairwise(days))


def test_a_beginner_of_four_months() -> None:
    """No tests and nothing all-out, the careful chance, and the grip with most sets first."""
    plan = plan_of("beginner")
    assert (plan.tests, plan.ramp) == (None, None)
    assert plan.experience.beginner
    assert [x.grip for x in plan.loads] == ["half_crimp", "open_four"]
    assert {x.chance for x in plan.loads} == {0.95}
    assert {x.exercise for x in plan.rows} == {"hang"}
    assert "No tests are planned in the first year" in said("beginner")


def test_back_after_three_weeks_ill() -> None:
    """One reason is named, the one that binds; missed sessions while ill are no reproach."""
    plan = plan_of("ill")
    assert [x.reason for x in plan.reductions] == [Reason.OFF]
    text = said("ill")
    assert "No finger work for 24 days, from 2 October to 25 October (ill on 21 of them)" in text
    # about half the sets in the first week, all in the second
    sets = {x.week: x.sets for x in plan.rows if not x.test}
    assert (sets[1], sets[2], sets[4]) == (3, 5, 3)
    assert {x.back for x in plan.rows if x.week == 1} == {True}
    assert "planned finger sessions were done" not in text
    assert min(x.week for x in plan.rows if x.test) == 3


def test_pain_in_week_six_holds_the_left_hand() -> None:
    """4 of 10 in the left ring finger: no session, no file, and what ends the hold."""
    plan = plan_of("hurt")
    assert plan.held == ("left",)
    assert (plan.rows, plan.block, plan.tests) == ((), None, None)
    text = said("hurt")
    assert text.startswith(
        "No climbing or hanging with the left hand, two-hand hangs included. See a physician or "
        "physiotherapist this week."
    )
    assert (
        "Left ring finger, 4 of 10 while training on 6 October (the block's limit is 3), felt on "
        "the morning of 7 October" in text
    )
    assert "“cleared”" in text


#: Rows of pain.csv by which the athletes tell themselves that nothing hurts any more.
ZEROS = {
    "one hand": ("notes", ["nils,2026-10-10,after,ring,left,0,,"]),
    "both hands": (
        "notes",
        ["nils,2026-10-12,after,ring,left,0,,", "nils,2026-10-12,after,ring,right,0,,"],
    ),
    "after two weeks": ("hurt", ["piet,2026-10-20,after,ring,left,0,,"]),
}


@pytest.mark.parametrize("of", ZEROS)
def test_only_clearing_ends_a_hold(of: str, tmp_path: Path) -> None:
    """Zeros of one's own change neither what is held nor what any part of the page says of it."""
    name, rows = ZEROS[of]
    folder = tmp_path / name
    shutil.copytree(BY_HAND / name, folder)
    with (folder / "pain.csv").open("a", encoding="utf-8") as pain_csv:
        pain_csv.write("\n".join(rows) + "\n")
    r = review(load_logs(folder))
    plan = propose_next(r)
    assert plan.held == plan_of(name).held != ()
    assert plan.rows == ()
    stop = words.opening(plan)[0]
    assert stop == words.opening(plan_of(name))[0]
    # the same words in the plan, the first screen and under Next
    assert stop in lead(r)[0].text
    assert stop in words.page_opening(plan)[0][0]
    assert any("A 0 you write yourself doesn't end it" in x for x in words.opening(plan))
    athlete = r.athlete.id
    with (folder / "sessions.csv").open("a", encoding="utf-8") as sessions_csv:
        head = (folder / "sessions.csv").read_text(encoding="utf-8").splitlines()[0].split(",")
        cells = {"athlete": athlete, "date": "2026-10-24", "kind": "cleared", "note": "physio"}
        sessions_csv.write(",".join(cells.get(column, "") for column in head) + "\n")
    back = propose_next(review(load_logs(folder)))
    assert back.held == ()
    assert back.holds.returning


def test_the_squad_page_calls_whom_the_plan_holds(tmp_path: Path) -> None:
    """A zero of one's own takes nobody off the list of those to call first."""
    folder = tmp_path / "hurt"
    shutil.copytree(BY_HAND / "hurt", folder)
    with (folder / "pain.csv").open("a", encoding="utf-8") as pain_csv:
        pain_csv.write("piet,2026-10-20,after,ring,left,0,,\n")
    (row,) = review_squad(load_logs(folder)).rows
    assert row.flags[0].kind is FlagKind.PAIN_AT_LIMIT


def test_nothing_for_the_minor_and_the_injured() -> None:
    """Under 18 nothing at all; after a note of a pop in a finger no load."""
    assert plan_of("minor").rows == plan_of("minor").loads == ()
    assert plan_of("notes").rows == ()
    # nothing is foreseen either, though pulls were still to come
    assert {x.exercise for x in plan_of("notes").loads} == {"hang", "repeater"}
    assert plan_of("notes").held


def test_a_heavy_lifter_one_arm_at_a_time() -> None:
    """What was lifted last, each hand by itself, the weaker first; both hands are tested."""
    assert starts("one_arm") == {
        ("hang", "half_crimp", "left"): 51.0,
        ("hang", "half_crimp", "right"): 54.0,
    }
    plan = plan_of("one_arm")
    assert [x.hand for x in plan.loads] == ["left", "right"]
    tested = [(x.day, x.hand) for x in plan.rows if x.test]
    assert [hand for _, hand in tested] == ["left", "right"] * 2
    assert "half crimp, each hand on 2 November and 24 December" in said("one_arm")
    lines = [line for p in words.plan_phases(plan) for line in p.lines if line.test]
    assert [line.days.replace(NBSP, " ") for line in lines] == ["2 Nov", "24 Dec"]
    step = min(plan.choices.step_one_hand_kg, plan.choices.step_one_hand_pct / 100 * 51)
    for hand in ("left", "right"):
        rise = [x.high_kg for x in plan.rows if x.hand == hand and x.high_kg is not None]
        assert all(0 <= b - a <= step for a, b in itertools.pairwise(rise))


def test_a_block_that_runs_is_not_called_late() -> None:
    """Of a block that goes on no late start is told, and no week stands empty for want of pulls."""
    plan = plan_of("running")
    assert plan.late_from is None
    assert {(x.exercise, x.hand, x.sets) for x in plan.rows if x.week == 7} == {
        ("pull", "left", 6),
        ("pull", "right", 6),
    }
    assert plan.log_to == dt.date(2026, 9, 22)
    assert "Provisional: the log ends on 22 September" in said("running")
    assert plan_of("adult").late_from == dt.date(2026, 11, 6)


def test_the_last_load_is_that_of_its_last_day() -> None:
    """Of sessions with +10 kg the last one counts, though body mass was a little higher before."""
    (load,) = plan_of("adult").loads
    assert load.last is not None
    assert (load.last.kg, load.last.day) == (10.0, dt.date(2026, 10, 19))
    # nine in ten with both loads would read like a slip
    assert words.reason_text(load, plan_of("adult")).count("nine times in ten") == 1


def test_a_hold_missed_once_is_done_again() -> None:
    """One of five sets failed at -10 kg on the last day: the same again, not two steps back."""
    (load,) = propose_next(reviewed("running"), week=True).loads
    assert (load.added_kg, load.reason) == (-10.0, Reason.AGAIN)


def test_days_that_could_not_be_read_are_not_missed() -> None:
    """10 of 15 sessions are known, but two days could not be read: no reason to start lower."""
    plan = plan_of("refused")
    assert plan.reductions == ()
    assert starts("refused")[HALF] == 10.0
    assert starts("refused")["repeater", "half_crimp", "both"] == -3.75
    assert not any(x.reason is Reason.LATER and x.exercise == "pull" for x in plan.rows)


def test_the_way_back_is_the_same_force_on_a_larger_edge(tmp_path: Path) -> None:
    """Nothing makes 60 % of 87.75 kg on 20 mm: 25 mm, converted, with half the sets."""
    shutil.copytree(BY_HAND / "hurt", tmp_path, dirs_exist_ok=True)
    with (tmp_path / "sessions.csv").open("a", encoding="utf-8") as file:
        file.write("piet,2026-10-20,cleared,,,,physio Test\n")
    r = review(load_logs(tmp_path), "piet")
    plan = propose_next(r)
    (load,) = plan.loads
    assert (load.reason, load.edge_mm, load.added_kg) == (Reason.LARGER_EDGE, 25.0, -18.75)
    exponent = r.fit.edge_exponent.value if r.fit.edge_exponent else PRIORS.edge_mean
    most = 0.6 * (74.0 + 13.75) * (25 / 20) ** exponent
    assert 74.0 - 18.75 <= most < 74.0 - 18.75 + 1.25
    assert {x.sets for x in plan.rows} == {3}
    assert plan.easy_weeks == ()
    assert {x.high_kg for x in plan.rows} == {-18.75}
    text = words.reason_text(load, plan).replace(NBSP, " ")
    assert text.startswith("The way back: 60 % of the last painless load (+13.75 kg on 2 October)")
    assert "No weight there is goes low enough for that on 20 mm; so 25 mm" in text


def test_a_running_block_is_trained_to_its_end_before_the_rest() -> None:
    """The log ends five weeks before the block; the next one still comes after seven rest days."""
    plan = plan_of("running")
    assert plan.start == dt.date(2026, 11, 2)  # the block ends on Sunday, 25 October
    assert min(x.day for x in plan.rows) >= dt.date(2026, 11, 2)


def test_an_easier_week_of_a_phase_still_ahead_has_the_share_that_is_chosen(tmp_path: Path) -> None:
    """Six pulls and a fifth of the sets: two."""
    folder = tmp_path / "running"
    shutil.copytree(BY_HAND / "running", folder)
    block = folder / "block.toml"
    block.write_text(block.read_text(encoding="utf-8") + "\n[choices]\neasier_share = 0.2\n")
    plan = propose_next(review(load_logs(folder), "vera"))
    pulls = {x.sets for x in plan.rows if x.exercise == "pull" and x.easy}
    assert pulls == {2}
    assert {x.sets for x in plan_of("running").rows if x.exercise == "pull" and x.easy} == {3}
