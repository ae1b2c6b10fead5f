"""The page's first words, each verdict's sentence whole."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

import pytest

from gripbook.logs import load_logs
from gripbook.report.sections.body_mass import body_mass
from gripbook.report.sections.opening import opening
from gripbook.reviews import BlockReview, review
from gripbook.reviews.sentences import lead, sentences_of
from gripbook.words import LANGUAGES, in_language
from gripbook.words.fmt import NBSP

WHERE = "in half crimp, both hands, on 20 mm"
LOAD = "the load you can hold for 10 s"


def told(r: BlockReview, **changes: Any) -> str:
    """The sentence on the headline with its verdict and figures replaced."""
    h = r.change.headline
    assert h is not None
    of_fit = {k: v for k, v in changes.items() if k not in ("low_kg", "high_kg")}
    of_change = {k: v for k, v in changes.items() if k in ("low_kg", "high_kg")}
    new = dataclasses.replace(h, fit=dataclasses.replace(h.fit, **of_fit), **of_change)
    change = dataclasses.replace(r.change, headline=new)
    return lead(dataclasses.replace(r, change=change))[0].replace(NBSP, " ")


@pytest.fixture
def ada(small_logs: Path) -> BlockReview:
    """An adult without pain."""
    return review(load_logs(small_logs), "ada")


KG = {"start_kg": 96.2, "end_kg": 101.9}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (
            {"verdict": "rise", "low_kg": 1.8, "high_kg": 9.4, **KG},
            f"You got stronger {WHERE}: {LOAD} went from about 96 kg to 102 kg, between 2 and 9 "
            "kg higher (in nine of ten cases).",
        ),
        (
            {"verdict": "fall", "low_kg": -9.4, "high_kg": -1.8, **KG},
            f"You got weaker {WHERE}: {LOAD} went from about 96 kg to 102 kg, between 2 and 9 "
            "kg lower (in nine of ten cases).",
        ),
        (
            {"verdict": "steady", "low_kg": -1.2, "high_kg": 1.4, **KG},
            f"You stayed as strong as you were, {WHERE}: {LOAD}, about 96.2 kg at the start and "
            "101.9 kg at the end, ended anything from 1.2 kg lower to 1.4 kg higher (in nine of "
            "ten cases).",
        ),
        (
            {"verdict": "unclear", "low_kg": -3.2, "high_kg": 7.4, **KG},
            f"It can't be told whether you got stronger {WHERE}: {LOAD}, about 96 kg at the start "
            "and 102 kg at the end, ended anything from 3 kg lower to 7 kg higher (in nine of ten "
            "cases).",
        ),
        (
            {"at_least": True},
            f"It can't be told whether you got stronger {WHERE}: you finished every set of timed "
            "hangs, so the log shows that these loads were possible, not how much more was.",
        ),
        (
            {"ok": False, "reasons": ("no hangs before week 6: change not measured",)},
            f"Your change {WHERE} is not measured: no hangs before week 6.",
        ),
    ],
)
def test_verdicts_of_the_first_words(ada: BlockReview, changes: dict[str, Any], words: str) -> None:
    """Each verdict has its one sentence, kilograms rounded to what the range supports."""
    assert told(ada, **changes) == words


def test_a_block_to_hold_is_told_as_planned(ada: BlockReview) -> None:
    """Where the plan was to hold, steady is success and says so."""
    r = dataclasses.replace(ada, block=dataclasses.replace(ada.block, goal="hold"))
    words = told(r, verdict="steady", low_kg=-1.2, high_kg=1.4)
    assert words.startswith(f"You stayed as strong as you were, as planned, {WHERE}: ")


def test_hidden_body_mass_leaves_whole_loads_out(ada: BlockReview) -> None:
    """Without body mass shown, only the change is told."""
    who = dataclasses.replace(ada.athlete, show_body_mass=False)
    words = told(
        dataclasses.replace(ada, athlete=who), verdict="rise", low_kg=1.8, high_kg=9.4, **KG
    )
    assert words == (
        f"You got stronger {WHERE}: {LOAD} moved, between 2 and 9 kg higher (in nine of ten cases)."
    )


def test_what_was_done_limits_and_pain(ada: BlockReview) -> None:
    """Counts, limits not kept by week, and pain as recorded stand in one part."""
    assert ada.lead[1].replace(NBSP, " ") == (
        "7 finger sessions, 6 planned. 3 finger days in week 3 (limit 2). Fingers on 12 January, "
        "the day after hard climbing (effort 7) (limit: one rest day between). Two more limits not "
        "kept. Pain: 0 on the one day you noted it; nothing noted on 6 of 7 finger days."
    )


def test_the_next_step_has_its_because(ada: BlockReview) -> None:
    """One start load with the day it begins, and the rule that set it."""
    told = ada.lead[2].replace(NBSP, " ")
    plan = ada.next_block
    start = plan.loads[1]
    assert start.exercise == "hang"
    assert told.startswith(
        "Next block from 2 February: timed hangs, half crimp, both hands, 20 mm, +3.5 kg. "
    )
    assert start.kg == 3.5
    assert "You should finish both sets 19 times in 20." in told


def test_nothing_is_proposed_under_18(small_logs: Path) -> None:
    """A minor's first words hold no load, no edge and no test to come."""
    words = " ".join(review(load_logs(small_logs), "bo").lead)
    assert "Next block" not in words
    assert "start at" not in words


@pytest.mark.parametrize("lang", LANGUAGES)
def test_the_first_screen_is_short(demo_logs_folder: Path, small_logs: Path, lang: str) -> None:
    """The first screen of every athlete: six parts and twelve sentences at most."""
    with in_language(lang):
        for logs in (load_logs(demo_logs_folder), load_logs(small_logs)):
            for athlete in logs.athlete_ids:
                r = review(logs, athlete)
                told = [one for part in r.lead for one in sentences_of(part)]
                assert 2 <= len(r.lead) <= 6, r.lead
                assert len(told) <= 12, told


def test_sentences_end_at_their_stops() -> None:
    """A date, a number and a bracket don't end one."""
    text = "Bis 6. M\u00e4rz ging es. Dann 2.5 kg (in 9 of 10). Und so?"
    assert sentences_of(text.replace("6. M", "6.\u00a0M")) == [
        "Bis 6.\u00a0M\u00e4rz ging es.",
        "Dann 2.5 kg (in 9 of 10).",
        "Und so?",
    ]


def test_the_weaker_hand_and_grip_are_named(demo_logs_folder: Path, small_logs: Path) -> None:
    """One sentence where the log tells hands or grips apart, none where it does not."""
    told = review(load_logs(demo_logs_folder), "arvo").lead[-1].replace(NBSP, " ")
    assert told.startswith(
        "Your left hand is the weaker one in all-out pulls, half crimp, the other"
    )
    assert "at the block's start: open hand, three fingers, the other about 6 % stronger" in told
    (pair,) = (p for p in review(load_logs(demo_logs_folder), "arvo").change.pairs if "+6" in p)
    assert "open hand, three fingers" in pair  # the same figure as in the comparison
    assert review(load_logs(demo_logs_folder), "eske").change.weaker == ""  # not told apart


def test_a_point_for_a_physician_leads_to_its_place(demo_logs_folder: Path) -> None:
    """The first words link to the section; there a rising ratio is not left as praise."""
    r = review(load_logs(demo_logs_folder), "fenn")
    first = "".join(getattr(part, "html", "") for part in opening(r))
    assert 'href="#strength-and-body-mass"' in first
    assert 'id="strength-and-body-mass"' in "".join(
        getattr(part, "html", "") for part in body_mass(r)
    )
    assert "is no gain in strength" in "".join(getattr(part, "html", "") for part in body_mass(r))
    other = "".join(
        getattr(part, "html", "") for part in body_mass(review(load_logs(demo_logs_folder), "arvo"))
    )
    assert "is no gain in strength" not in other
