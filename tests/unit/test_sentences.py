"""The page's first words, each verdict's sentence whole."""

from __future__ import annotations

import dataclasses
import re
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
        "You did 7 finger sessions, 6 were planned; limits not kept: a finger session over its "
        "time in week 2; too little rest between finger days in weeks 2 and 3; more finger days "
        "than the limit in week 3; you wrote down 'no pain' on one day."
    )


def test_the_next_step_has_its_because(ada: BlockReview) -> None:
    """One start load, what was done last, and why it is lower."""
    assert ada.lead[2].replace(NBSP, " ") == (
        "Next block start timed hangs, half crimp, both hands, 20 mm, at +1.5 kg, last done +5 kg; "
        "a tenth less should the first finger session fall on 7 February 2026 or later. At most "
        "95 % of that load, body mass and weight together, since limits of the block were not kept "
        "in weeks 2 and 3."
    )


def test_nothing_is_proposed_under_18(small_logs: Path) -> None:
    """A minor's first words hold no load, no edge and no test to come."""
    words = " ".join(review(load_logs(small_logs), "bo").lead)
    assert "Next block" not in words
    assert "start at" not in words


@pytest.mark.parametrize("lang", LANGUAGES)
def test_five_sentences_at_most(demo_logs_folder: Path, small_logs: Path, lang: str) -> None:
    """The first screen of every athlete, the caution for minors counted with it."""
    with in_language(lang):
        for logs in (load_logs(demo_logs_folder), load_logs(small_logs)):
            for athlete in logs.athlete_ids:
                r = review(logs, athlete)
                told = [one for part in r.lead for one in sentences_of(part)]
                told += sentences_of(r.cautions[0]) if r.athlete.minor else []
                assert 2 <= len(told) <= 5, told


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
    said = re.search(r"the other about (\d+) % stronger", told)
    assert said is not None
    pairs = review(load_logs(demo_logs_folder), "arvo").change.pairs
    # the same figure as in the comparison
    assert any(f"{said[1]}" in p and "half crimp" in p for p in pairs)
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
