"""
Defaults and counts against general guidance. What the package does not use is not checked: it
keeps no seconds of stretching (ACSM 2011: 60 s an exercise in all).
"""

from __future__ import annotations

import pytest

from gripbook import derive
from gripbook.logs.block import SET_REST_S, Block, Limits, read_block
from gripbook.logs.template import BLOCK_TEMPLATE
from gripbook.reviews.done import compare_with_plan
from gripbook.reviews.dose import ACSM_STEP_PCT, load_steps
from gripbook.words.block import NO_RATIO, YOUTH_NOTES
from gripbook.words.block import load_steps as load_steps_words
from tests.derive_frames import BLOCK, START, derived, hang, pull, repeater, session, sessions


def first_block() -> Block:
    """The block that an empty log folder starts with."""
    block, problems = read_block(BLOCK_TEMPLATE.format(start=START), "block.toml")
    assert problems == []
    assert block is not None
    return block


def test_rest_between_pulls_is_that_of_heavy_lifts() -> None:
    """
    All-out pulls are few, heavy efforts: 3 to 5 minutes between sets of 1 to 6 RM (ACSM,
    Ratamess et al. 2009, Med Sci Sports Exerc 41:687-708).
    """
    shortest, longest = SET_REST_S["pull"]
    assert 180 <= shortest <= longest <= 300


def test_rest_between_repeater_sets() -> None:
    """2 to 3 minutes between repeater sets, shorter than between pulls (common practice)."""
    assert SET_REST_S["repeater"] == (120, 180)
    assert SET_REST_S["repeater"][1] <= SET_REST_S["pull"][0]


def test_defaults_are_those_of_a_novice() -> None:
    """Novices train 2 to 3 days a week (ACSM, Ratamess et al. 2009), with a day between."""
    limits = Limits()
    assert limits.fingers_per_week == 2
    assert limits.fingers_per_week * (1 + limits.rest_days_between_finger_days) <= 7


def test_flexibility_days_of_the_first_block() -> None:
    """
    Flexibility work on at least 2 days a week, more being better (ACSM, Garber et al. 2011, Med
    Sci Sports Exerc 43:1334-1359), is planned in every week.
    """
    block = first_block()
    assert all(block.weekly_in(week)["mobility"] >= 2 for week in range(1, block.weeks + 1))


@pytest.mark.parametrize(("days", "enough"), [((1, 3), True), ((1,), False), ((1, 1), False)])
def test_two_days_of_flexibility_are_days(days: tuple[int, ...], enough: bool) -> None:
    """Two sessions on one day are one day of at least 2 a week (Garber et al. 2011)."""
    rows = sessions(*(session(day, "mobility") for day in days))
    found = derive.days_by_kind(rows, derived(), BLOCK)
    assert (found.loc[1, "mobility"] >= 2) == enough


def test_planned_sessions_fit_in_an_hour() -> None:
    """
    The sessions of a common block, with their planned rests, stay below an hour (common
    practice, no source): 8 hangs, 5 repeater sets, 6 pulls of each hand.
    """
    sets = derived(
        hang(on=0, sets=8),
        repeater(on=14, sets=5),
        pull(on=42, sets=6),
        pull(on=42, sets=6, hand="right"),
    )
    found = derive.finger_sessions(sets, sessions(), BLOCK)
    minutes = found["minutes_estimated"].tolist()
    # 8 x 10 s + 7 x 120 s; 5 x 60 s + 4 x 165 s; 12 x 3 s + 5 x 210 s
    assert minutes == pytest.approx([920 / 60, 960 / 60, 1086 / 60])
    assert max(minutes) < Limits().finger_session_minutes == 60


def test_two_to_three_finger_days_a_week_can_keep_a_day_between() -> None:
    """Monday, Wednesday, Friday: three finger days with one rest day before each (arithmetic)."""
    sets = derived(*(hang(on=day) for day in (0, 2, 4, 7)))
    kinds = derive.days_by_kind(sessions(), sets, BLOCK)
    assert kinds["fingers"].tolist()[:2] == [3, 1]
    rest = derive.rest_between(derive.loading_days(sessions(), sets))
    assert rest["rest_days"].tolist() == [1, 1, 2]


@pytest.mark.parametrize(("rise", "over"), [(3.0, False), (10.0, False), (15.0, True)])
def test_step_in_load_beside_general_guidance(rise: float, over: bool) -> None:
    """
    A rise of 3 % is inside the step of 2 to 10 %, one of 15 % is above it and told as a note, not
    as a breach (ACSM, Ratamess et al. 2009, Med Sci Sports Exerc 41:687-708).
    """
    sets = derived(hang(on=0, force_kg=100.0), hang(on=7, force_kg=100.0 + rise))
    steps = compare_with_plan(sets, sessions(), BLOCK, sets["date"].max()).steps
    assert steps["step_pct"].tolist() == pytest.approx([rise])
    note = load_steps_words(load_steps(steps))
    assert ACSM_STEP_PCT == (2.0, 10.0)
    assert ("; above 10" in note) is over
    assert "A note, not a limit" in note
    assert "for finger hangs nothing of the kind is published" in note


def test_a_smaller_edge_is_no_step_in_per_cent() -> None:
    """Per cent of load on another edge is no step in load (definition)."""
    sets = derived(hang(on=0, force_kg=60.0, edge_mm=20.0), hang(on=7, force_kg=60.0, edge_mm=18.0))
    steps = compare_with_plan(sets, sessions(), BLOCK, sets["date"].max()).steps
    assert steps["step_pct"].isna().all()
    assert (steps["edge_before_mm"].iloc[0], steps["edge_mm"].iloc[0]) == (20.0, 18.0)
    assert load_steps(steps) is None
    assert load_steps_words(None) == ""


def test_ratio_of_loads_predicts_nothing() -> None:
    """
    The page gives its reasons by source: Impellizzeri et al. 2020 (Sports Med; J Athl Train
    55:893-901), Lolli et al. 2019 (Br J Sports Med 53:921-922), Wang et al. 2020 (Sports Med
    50:1243-1254).
    """
    for source in ("10.1007/s40279-020-01378-6", "55:893-901", "53:921-922", "50:1243-1254"):
        assert source in NO_RATIO


def test_advice_for_the_young_is_published() -> None:
    """
    Intensive finger training is not recommended for adolescents (Morrison and Schöffl 2007, Br
    J Sports Med 41:852-861); pain at the back of a middle joint is investigated promptly (Jones et
    al. 2022, Curr Sports Med Rep 21:436-442).
    """
    told = " ".join(YOUTH_NOTES)
    assert "not recommended for adolescents" in told
    assert "promptly" in told
    assert "41:852-861" in told
    assert "21:436-442" in told
