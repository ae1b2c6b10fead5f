"""On the demo squad each planted event is found, and nothing else is flagged."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from gripbook.reviews import BlockReview
from gripbook.words import block as block_words
from gripbook.words import pain as pain_words
from gripbook.words.fmt import NBSP
from gripbook.words.lead import lead
from tests.reviewed import reviewed

DEMO = Path(__file__).parents[2] / "data_demo"
SQUAD = ("arvo", "brin", "celm", "dova", "eske", "fenn", "galo", "hesk")


@cache
def of(athlete: str) -> BlockReview:
    """The review of one of the demo squad."""
    return reviewed(DEMO, athlete)


def test_only_the_sore_elbow_is_flagged() -> None:
    """The elbow is one flag with all its reasons, whole; nobody else has any."""
    flags = {
        a: [pain_words.flag_text(f).replace(NBSP, " ") for f in of(a).pain.flags] for a in SQUAD
    }
    assert {a for a, told in flags.items() if told} == {"celm"}
    assert flags["celm"] == [
        "Right inner elbow: 4 of 10 while training on 3 March (the block's limit is 3), felt on "
        "four mornings, rising since 10 February. No climbing or hanging with the right hand, "
        "two-hand hangs included. See a physician or physiotherapist this week."
    ]
    assert pain_words.flag_history(of("celm").pain.flags[0]).replace(NBSP, " ") == (
        "The right inner elbow reached the block's limit of 3 on 25 February. "
        "Two finger days followed."
    )
    assert of("celm").pain.flags[0].reasons == ("level", "morning", "rising")


def test_only_the_breach_is_found() -> None:
    """Four finger days in weeks 5 to 7, twice on days in a row, and one set too many of hesk."""
    told = {
        a: [t.replace(NBSP, " ") for t in block_words.breaches(of(a).dose.breaches)] for a in SQUAD
    }
    assert {a for a, breaches in told.items() if breaches} == {"galo", "hesk"}
    assert told["hesk"] == ["6 sets on 20 January (planned: 5 a session)."]  # one is `halfcrimp`
    assert told["galo"] == [
        "4 finger days in weeks 5, 6 and 7 (limit 3).",
        "Fingers the day after fingers, on 9 February and 16 February (limit: one rest day "
        "between).",
    ]
    assert all(b.rows for b in of("galo").dose.breaches)


def test_only_the_fall_of_body_mass_is_a_point_for_a_physician() -> None:
    """The fall is flagged; the gain is given neutrally."""
    assert {a for a in SQUAD if of(a).body_mass.fall} == {"fenn"}
    assert of("galo").body_mass.change_pct == pytest.approx(4.1, abs=0.05)
    assert of("fenn").body_mass.change_pct == pytest.approx(-6.5, abs=0.05)


def test_missed_weeks() -> None:
    """The ill week has no session and says why; only those with a gap have a missed week."""
    assert of("brin").done.missed_weeks == [4]
    weeks = of("brin").done.weeks.set_index("week")["without"]
    assert weeks[4] == (("ill", 7),)
    assert {a for a in SQUAD if of(a).done.missed_weeks} == {"brin", "hesk"}


def test_other_board_is_a_substitution() -> None:
    """The trip's board is told on its two days, and no step in load is made across boards."""
    swaps = of("brin").done.swaps
    told = [block_words.swap(row) for row in swaps.itertuples()]
    assert told == ["board cabin in place of loft"] * 2
    assert set(swaps["week"]) == {6}
    across = of("brin").done.steps
    assert across.loc[across["board"] == "cabin", "step_pct"].isna().all()
    assert {a for a in SQUAD if len(of(a).done.swaps)} == {"brin"}


def test_edge_switch_is_a_step() -> None:
    """The edge went down in place of weight: told as a step of the edge, with no kilograms."""
    steps = of("eske").done.steps
    moved = steps[steps["edge_mm"] != steps["edge_before_mm"]]
    assert set(zip(moved["edge_before_mm"], moved["edge_mm"], strict=True)) == {
        (20.0, 15.0),
        (18.0, 15.0),
    }
    assert (moved["step_kg"] == 0).all()
    others = [of(a).done.steps for a in SQUAD if a not in ("arvo", "eske")]
    assert all((s["edge_mm"] == s["edge_before_mm"]).all() for s in others)


@pytest.mark.parametrize("athlete", ["dova", "eske"])
def test_hidden_body_mass_has_no_per_cent(athlete: str) -> None:
    """Where body mass is hidden no step is in per cent and no session has an impulse."""
    assert of(athlete).done.steps["step_pct"].isna().all()
    assert of(athlete).done.spans["step_pct"].isna().all()
    assert of(athlete).dose.sessions["impulse_kg_s"].isna().all()


def test_minor_with_easy_hangs_is_not_told_off() -> None:
    """Easy hangs without tests or pulls bring no remark on the young beyond the advice itself."""
    assert of("dova").athlete.minor
    assert of("dova").dose.youth == ()


@pytest.mark.parametrize(
    ("athlete", "said"),
    [
        ("arvo", "2 harder, 6 the same"),
        ("brin", "4 harder, 2 not comparable"),
        ("eske", "4 harder, 4 the same"),
        ("dova", "0 harder, 16 the same"),
    ],
)
def test_did_it_get_harder(athlete: str, said: str) -> None:
    """Steps are counted: weight for one, edge for another, never across boards."""
    assert block_words.comparisons(of(athlete).done) == (
        f"Load or edge from week to week, grip by grip: {said} (hangs and repeaters, no tests)."
    )


def test_a_page_in_pounds_names_no_kilogram_alone() -> None:
    """Whoever logs in pounds reads pounds: kilograms stand only in brackets beside them."""
    own = of("galo")
    text = " ".join(line.text for line in lead(own)).replace(NBSP, " ")
    assert " lb" in text
    assert re.findall(r"(?<!\([+\d.]) kg", re.sub(r"\([^()]*kg\)", "", text)) == []
