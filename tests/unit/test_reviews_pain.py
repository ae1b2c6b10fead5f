"""Pain flags: each reason's sentence whole, and what silence must never say."""

from __future__ import annotations

from pathlib import Path

import pytest

from gripbook.logs import load_logs
from gripbook.report.sections.pain import pain as pain_section
from gripbook.reviews import review
from gripbook.reviews.pain import Pain, place_words
from gripbook.words.fmt import NBSP
from tests.unit.test_reviews import add_rows


def read(folder: Path, *rows: str, athlete: str = "ada") -> Pain:
    """The athlete's pain with these rows added to pain.csv."""
    add_rows(folder, "pain.csv", *rows)
    return review(load_logs(folder), athlete).pain


def words(pain: Pain) -> list[str]:
    """The flags' sentences with plain spaces."""
    return [flag.text.replace(NBSP, " ") for flag in pain.flags]


def test_a_low_level_below_the_limit_is_no_flag(small_logs: Path) -> None:
    """Below the limit, once, not in the morning: shown in the timeline, but no flag."""
    pain = read(small_logs, "ada,2026-01-12,during,elbow_inner,right,2,,")
    assert pain.flags == ()
    assert list(pain.felt["place"]) == ["right inner elbow"]


def test_level_at_the_limit_stops_that_side(small_logs: Path) -> None:
    """At the block's limit that hand is stopped, with whom to see and what came after."""
    pain = read(small_logs, "ada,2026-01-15,during,elbow_inner,right,3,,")
    assert words(pain) == [
        "Stop loading the right hand, two-hand hangs included, and have the right inner elbow "
        "looked at by a physician or physiotherapist this week: 3 of 10 while training on "
        "15 January (the block's limit is 3). Three finger days came after 15 January, the first "
        "day at the limit."
    ]
    assert (pain.flags[0].reason, pain.flags[0].side, pain.flags[0].stop) == (
        "level",
        "right",
        True,
    )


def test_side_not_recorded_means_both(small_logs: Path) -> None:
    """Where the side is not recorded both hands are stopped."""
    pain = read(small_logs, "ada,2026-01-23,after,elbow_inner,,5,,")
    assert words(pain) == [
        "Stop loading both hands (the side is not recorded) and have the inner elbow looked at by "
        "a physician or physiotherapist this week: 5 of 10 after training on 23 January (the "
        "block's limit is 3)."
    ]
    assert pain.flags[0].side == "both"


def test_a_morning_entry_holds(small_logs: Path) -> None:
    """Pain on a morning, below the limit, holds the load of that hand."""
    pain = read(small_logs, "ada,2026-01-16,morning,ring,left,1,,")
    assert words(pain) == [
        "Hold: nothing heavier, smaller or longer for the left hand, two-hand hangs included, "
        "until a physician or physiotherapist has looked at the left ring finger: 1 of 10 in the "
        "morning on 16 January, there on the morning of 16 January."
    ]
    assert not pain.flags[0].stop


def test_morning_without_pain_is_no_flag(small_logs: Path) -> None:
    """A morning asked about and free of pain asks for nothing."""
    assert read(small_logs, "ada,2026-01-16,morning,ring,left,0,,").flags == ()


def test_rising_pain_holds(small_logs: Path) -> None:
    """A week whose mean is a point above the week before's holds, though below the limit."""
    pain = read(
        small_logs,
        "ada,2026-01-08,during,elbow_outer,left,1,,",
        "ada,2026-01-15,during,elbow_outer,left,2,,",
    )
    assert words(pain) == [
        "Hold: nothing heavier, smaller or longer for the left hand, two-hand hangs included, "
        "until a physician or physiotherapist has looked at the left outer elbow: 2 of 10 while "
        "training on 15 January, rising since 8 January."
    ]


@pytest.mark.parametrize("levels", [(2, 2), (2, 1), (0, 2)])
def test_steady_falling_or_new_pain_is_not_rising(
    small_logs: Path, levels: tuple[int, int]
) -> None:
    """The same, less, or pain that only began is not told as rising."""
    pain = read(
        small_logs,
        f"ada,2026-01-08,during,elbow_outer,left,{levels[0]},,",
        f"ada,2026-01-15,during,elbow_outer,left,{levels[1]},,",
    )
    assert pain.flags == ()


@pytest.mark.parametrize(
    ("sign", "word"), [("pop", "a pop"), ("swelling", "swelling"), ("stiff", "stiffness")]
)
def test_signs_stop_today(small_logs: Path, sign: str, word: str) -> None:
    """A pop, swelling or stiffness stops at once and sends to a doctor, without any level."""
    pain = read(small_logs, f"ada,2026-01-15,during,middle,left,,{sign},")
    assert words(pain) == [
        f"Stop today: {word} in the left middle finger on 15 January. Don't load the left hand, "
        "two-hand hangs included, again before a doctor has looked at it."
    ]


def test_a_sign_stops_even_at_level_none(small_logs: Path) -> None:
    """A pop that does not hurt is still a pop."""
    pain = read(small_logs, "ada,2026-01-15,during,middle,left,0,pop,")
    assert pain.flags[0].reason == "sign"


def test_under_18_a_place_not_recorded_may_be_a_finger(small_logs: Path) -> None:
    """Under 18 pain without a place is treated as finger pain; an elbow below the limit is not."""
    pain = read(
        small_logs,
        "bo,2026-01-20,after,,,1,,",
        "bo,2026-01-20,after,elbow_inner,left,1,,",
        athlete="bo",
    )
    assert {flag.place: flag.reason for flag in pain.flags} == {
        "right ring finger": "under_18",
        "place not recorded": "under_18",
    }
    assert words(pain)[0] == (
        "Stop loading both hands (the side is not recorded) and have it looked at by a physician "
        "promptly, as any finger pain under 18: 1 of 10 after training on 20 January."
    )


def test_a_set_stopped_for_pain_enters_the_timeline(small_logs: Path) -> None:
    """Without an entry in pain.csv its level is not recorded, never none, and it holds."""
    add_rows(
        small_logs, "hangs.csv", "ada,2026-01-24,1,hang,,,half_crimp,left,20,5,,10,,,,3,pain,,"
    )
    pain = review(load_logs(small_logs), "ada").pain
    assert words(pain) == [
        "Hold: nothing heavier, smaller or longer for the left hand, two-hand hangs included, "
        "until a physician or physiotherapist has looked at it: pain on 24 January, its level not "
        "recorded."
    ]
    assert pain.felt["level"].isna().all()
    assert pain.flags[0].rows == ("hangs.csv:16",)


def test_a_stopped_set_takes_the_place_of_that_day(small_logs: Path) -> None:
    """Where pain.csv names the place that day, the stopped set stands there and adds no flag."""
    add_rows(
        small_logs, "hangs.csv", "ada,2026-01-24,1,hang,,,half_crimp,left,20,5,,10,,,,3,pain,,"
    )
    pain = read(small_logs, "ada,2026-01-24,during,ring,left,2,,")
    assert pain.flags == ()
    assert list(pain.felt["place"]) == ["left ring finger", "left ring finger"]


def test_page_counts_silence_apart(small_logs: Path) -> None:
    """Finger days without an entry are told as not recorded."""
    text = " ".join(str(p) for p in map(repr, pain_section(review(load_logs(small_logs), "ada"))))
    assert (
        "Pain was written down on one day: none on any of them. For 6 of 7 finger days it was not "
        "recorded, which is not the same as none."
    ) in text


@pytest.mark.parametrize(
    ("site", "side", "said"),
    [
        ("ring", "left", "left ring finger"),
        ("thumb", "", "thumb"),
        ("elbow_outer", "both", "outer elbow, both sides"),
        ("", "right", "right side, place not recorded"),
        ("", "", "place not recorded"),
        ("big toe", "left", "left big toe"),
    ],
)
def test_places_in_words(site: str, side: str, said: str) -> None:
    """Site and side read as words."""
    assert place_words(site, side) == said
