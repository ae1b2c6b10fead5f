"""Pain flags: each reason's sentence whole, and what silence must never say."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from gripbook.logs import load_logs
from gripbook.report.sections.pain import pain as pain_section
from gripbook.reviews import review
from gripbook.reviews.pain import Pain
from gripbook.words import pain as pain_words
from gripbook.words.fmt import NBSP
from tests.reviewed import reviewed
from tests.unit.test_reviews import add_rows


def read(folder: Path, *rows: str, athlete: str = "ada") -> Pain:
    """The athlete's pain with these rows added to pain.csv."""
    add_rows(folder, "pain.csv", *rows)
    return reviewed(folder, athlete).pain


def words(pain: Pain) -> list[str]:
    """The flags' sentences with plain spaces."""
    return [pain_words.flag_text(flag).replace(NBSP, " ") for flag in pain.flags]


def places(pain: Pain) -> list[str]:
    """The places of what was felt."""
    return [pain_words.place(e.site, e.side) for e in pain.felt.itertuples()]


def test_a_low_level_below_the_limit_is_no_flag(small_logs: Path) -> None:
    """Below the limit, once, not in the morning: shown in the timeline, but no flag."""
    pain = read(small_logs, "ada,2026-01-12,during,elbow_inner,right,2,,")
    assert pain.flags == ()
    assert places(pain) == ["right inner elbow"]


def test_level_at_the_limit_stops_that_side(small_logs: Path) -> None:
    """At the block's limit that hand is stopped, with whom to see and what came after."""
    pain = read(small_logs, "ada,2026-01-15,during,elbow_inner,right,3,,")
    assert words(pain) == [
        "Right inner elbow: 3 of 10 while training on 15 January (the block's limit is 3). No "
        "climbing or hanging with the right hand, two-hand hangs included. See a physician or "
        "physiotherapist this week."
    ]
    assert pain_words.flag_history(pain.flags[0]).replace(NBSP, " ") == (
        "The right inner elbow reached the block's limit of 3 on 15 January. Three finger days "
        "followed."
    )
    assert (pain.flags[0].reason, pain.flags[0].side, pain.flags[0].stop) == (
        "level",
        "right",
        True,
    )


def test_side_not_recorded_means_both(small_logs: Path) -> None:
    """Where the side is not recorded both hands are stopped."""
    pain = read(small_logs, "ada,2026-01-23,after,elbow_inner,,5,,")
    assert words(pain) == [
        "Inner elbow: 5 of 10 after training on 23 January (the block's limit is 3). No climbing "
        "or hanging (the side is not noted). See a physician or physiotherapist this week."
    ]
    assert pain.flags[0].side == "both"


def test_a_morning_entry_holds(small_logs: Path) -> None:
    """Pain on a morning, below the limit, holds the load of that hand."""
    pain = read(small_logs, "ada,2026-01-16,morning,ring,left,1,,")
    assert words(pain) == [
        "Left ring finger: 1 of 10 in the morning on 16 January, felt on the morning of "
        "16 January. No climbing or hanging with the left hand, two-hand hangs included. See a "
        "physician or physiotherapist this week."
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
        "Left outer elbow: 2 of 10 while training on 15 January, rising since 8 January. No "
        "climbing or hanging with the left hand, two-hand hangs included. See a physician or "
        "physiotherapist this week."
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
    ("entries", "rising"),
    [
        ({8: 1, 15: 2}, True),
        ({8: 1, 15: 2, 17: 2}, True),
        ({8: 1, 15: 3, 17: 2}, False),  # less than in its week
        ({8: 1, 15: 2, 17: 0}, False),  # none since
        ({6: 2, 13: 2, 20: 3, 21: 2}, False),
        ({6: 1, 12: 5, 13: 4, 16: 3, 19: 1, 22: 1}, False),
        ({8: 1, 15: 2, 21: 2}, True),  # 2 against 1, the 15th among the seven days
        ({8: 1, 15: 2, 22: 2}, False),  # 2 against 2: it rose, and stayed
    ],
)
def test_rising_is_said_to_the_last_entry_alone(
    small_logs: Path, entries: dict[int, int], rising: bool
) -> None:
    """Pain that rose and fell again holds as before, but nobody is told that it rises."""
    pain = read(
        small_logs,
        *(f"ada,2026-01-{day:02},during,elbow_outer,left,{n},," for day, n in entries.items()),
    )
    assert pain.flags[0].rising_since is not None
    assert pain.flags[0].rising is rising
    assert ("rising" in words(pain)[0]) is rising


def test_pain_that_rose_and_stayed_says_when_it_rose(small_logs: Path) -> None:
    """Where the rise alone holds the hand, its day stands there."""
    pain = read(
        small_logs,
        *(
            f"ada,2026-01-{day:02},during,elbow_outer,left,{n},,"
            for day, n in ((8, 1), (15, 2), (22, 2))
        ),
    )
    assert "2 of 10 while training on 15 January, risen after 8 January." in words(pain)[0]


@pytest.mark.parametrize(
    ("sign", "word"), [("pop", "a pop"), ("swelling", "swelling"), ("stiff", "stiffness")]
)
def test_signs_stop_today(small_logs: Path, sign: str, word: str) -> None:
    """A pop, swelling or stiffness stops at once and sends to a doctor, without any level."""
    pain = read(small_logs, f"ada,2026-01-15,during,middle,left,,{sign},")
    assert words(pain) == [
        f"Left middle finger: {word} on 15 January. No climbing or hanging with the left hand, "
        "two-hand hangs included. See a physician or physiotherapist this week."
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
    assert {pain_words.flag_place(flag): flag.reason for flag in pain.flags} == {
        "right ring finger": "under_18",
        "place not recorded": "under_18",
    }
    assert words(pain)[0] == (
        "Place not recorded: 1 of 10 after training on 20 January. No climbing or hanging (the "
        "side is not noted). See a physician promptly, with a guardian."
    )


def test_a_set_stopped_for_pain_enters_the_timeline(small_logs: Path) -> None:
    """Without an entry in pain.csv its level is not recorded, never none, and it holds."""
    add_rows(
        small_logs, "hangs.csv", "ada,2026-01-24,1,hang,,,half_crimp,left,20,5,,10,,,,3,pain,,"
    )
    pain = reviewed(small_logs, "ada").pain
    assert words(pain) == [
        "Left side, place not recorded: a set stopped on 24 January, no level noted. No "
        "climbing or hanging with the left hand, two-hand hangs included. See a physician or "
        "physiotherapist this week."
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
    assert places(pain) == ["left ring finger", "left ring finger"]


def test_page_counts_silence_apart(small_logs: Path) -> None:
    """Finger days without an entry are told as not recorded."""
    text = " ".join(str(p) for p in map(repr, pain_section(reviewed(small_logs, "ada"))))
    assert (
        "You noted pain 0 on one day. For 6 of 7 finger days you noted nothing, "
        "which doesn't mean no pain."
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
    assert pain_words.place(site, side) == said


STOPPED = "ada,2026-01-24,1,hang,,,half_crimp,{hand},20,5,,10,,,,3,pain,,"


def test_a_stopped_set_gives_its_hand_to_an_entry_without_side(small_logs: Path) -> None:
    """The day's sets stopped for pain were of one hand: an entry without a side is that hand's."""
    add_rows(small_logs, "hangs.csv", STOPPED.format(hand="left"))
    pain = read(
        small_logs,
        "ada,2026-01-23,during,ring,,5,,",  # another day: no set says which hand
        "ada,2026-01-24,during,ring,,5,,",
        "ada,2026-01-24,after,,,0,,",
    )
    assert [(f.logged_side, f.side, f.date.day) for f in pain.flags] == [
        ("", "both", 23),
        ("left", "left", 24),
    ]
    none = (pain.entries["level"] == 0) & (pain.entries["date"].dt.day == 24)
    assert set(pain.entries.loc[none, "side"]) == {""}


def test_stopped_sets_of_both_hands_leave_the_side_open(small_logs: Path) -> None:
    """Two hands stopped, or a two-hand hang: the entry's side stays unknown, so both are held."""
    for hand in ("left", "right"):
        add_rows(small_logs, "hangs.csv", STOPPED.format(hand=hand))
    pain = read(small_logs, "ada,2026-01-24,during,ring,,5,,")
    assert {f.side for f in pain.flags} == {"both"}


def test_stopped_comes_before_morning(small_logs: Path) -> None:
    """A set stopped without a level is more urgent than a morning, a high level more yet."""
    add_rows(small_logs, "hangs.csv", STOPPED.format(hand="left"))
    pain = read(
        small_logs,
        "ada,2026-01-20,morning,,left,1,,",
        "ada,2026-01-21,morning,ring,right,1,,",
        "ada,2026-01-22,during,wrist,right,3,,",
    )
    assert [f.reasons for f in pain.flags] == [
        ("level",),
        ("stopped", "morning"),
        ("morning",),
    ]


def test_falling_pain_is_said(small_logs: Path) -> None:
    """A week whose mean is a point below the week before's is told as falling; less is not."""
    pain = read(
        small_logs,
        "ada,2026-01-08,during,elbow_outer,left,4,,",
        "ada,2026-01-15,during,elbow_outer,left,3,,",
    )
    assert pain.flags[0].falling_since is not None
    assert words(pain)[0].startswith(
        "Left outer elbow: 4 of 10 while training on 8 January (the block's limit is 3), falling "
        "since 8 January."
    )
    pain = read(small_logs, "ada,2026-01-16,during,elbow_outer,left,4,,")
    assert pain.flags[0].falling_since is None


def test_none_is_a_headline_from_half_of_the_finger_days(small_logs: Path) -> None:
    """With 3 of 7 finger days asked the silence is said; with 4 of 7 "0 on all days" may lead."""
    three = read(small_logs, *(f"ada,2026-01-{d:02},after,,,0,," for d in (12, 19)))
    assert (len(three.none_dates), len(three.finger_days), three.none_is_known) == (3, 7, False)
    assert pain_words.headline(three) == (
        "Pain: 0 on the three days you noted it; nothing noted on 4 of 7 finger days."
    )
    four = read(small_logs, "ada,2026-01-22,after,,,0,,")
    assert four.none_is_known
    assert pain_words.headline(four) == "Pain: 0 on all four days you noted it."
    felt = read(small_logs, "ada,2026-01-23,after,ring,left,1,,")
    assert (felt.none_is_known, pain_words.headline(felt)) == (False, "")


def test_cleared_ends_what_came_before(small_logs: Path) -> None:
    """A day of kind `cleared` ends a flag and is told with its note; pain after it is a new one."""
    rows = ("ada,2026-01-12,during,ring,left,4,,", "ada,2026-01-20,during,ring,left,5,,")
    pain = read(small_logs, *rows)
    assert len(pain.flags) == 1
    add_rows(small_logs, "sessions.csv", "ada,2026-01-21,cleared,,,,,physio: open hand only")
    r = reviewed(small_logs, "ada")
    assert r.pain.flags == ()
    assert [f.cleared for f in r.pain.all_flags] == [pd.Timestamp(2026, 1, 21)]
    assert [t.replace(NBSP, " ") for t in pain_words.cleared(r.pain)] == [
        "Cleared on 21 January: \u201cphysio: open hand only\u201d"
    ]
    assert "Cleared on 21" in " ".join(map(repr, pain_section(r)))
    again = read(small_logs, "ada,2026-01-23,during,ring,left,3,,")
    assert [(f.cleared is None, f.first.day) for f in again.all_flags] == [(True, 23), (False, 12)]


@pytest.mark.parametrize(("days", "held"), [(183, True), (184, False)])
@pytest.mark.parametrize(("level", "sign"), [("3", ""), ("", "pop")])
def test_pain_before_the_block_still_holds(
    small_logs: Path, days: int, held: bool, level: str, sign: str
) -> None:
    """What was never cleared holds in the next block too, though its entry is not of the block."""
    start = pd.Timestamp(review(load_logs(small_logs), "ada").block.start)
    day = (start - pd.Timedelta(days=days)).date()
    pain = read(small_logs, f"ada,{day},during,ring,left,{level},{sign},")
    assert bool(pain.flags) is held
    assert not (pain.entries["date"] < start).any()
    add_rows(small_logs, "sessions.csv", f"ada,{start.date()},cleared,,,,,physio")
    assert review(load_logs(small_logs), "ada").pain.flags == ()


def test_low_pain_before_the_block_is_history(small_logs: Path) -> None:
    """Below the limit, or cleared before the block, nothing is carried into it."""
    assert read(small_logs, "ada,2026-01-02,during,ring,left,2,,").flags == ()
    assert read(small_logs, "ada,2026-01-02,during,ring,left,4,,").flags != ()
    add_rows(small_logs, "sessions.csv", "ada,2026-01-02,cleared,,,,,physio")
    assert review(load_logs(small_logs), "ada").pain.all_flags == ()


def test_the_last_zero_is_known_and_ends_nothing(small_logs: Path) -> None:
    """A later 0 at that place is told beside the flag, one of another place is not."""
    pain = read(
        small_logs,
        "ada,2026-01-12,during,ring,left,4,,",
        "ada,2026-01-16,after,ring,left,0,,",
        "ada,2026-01-19,after,ring,right,0,,",
        "ada,2026-01-20,after,ring,left,0,swelling,",
    )
    (flag,) = pain.flags
    assert flag.none_since is None  # the swelling of the 20th is felt, and the last
    read_on = read(small_logs, "ada,2026-01-21,after,,,0,,")
    assert read_on.flags[0].none_since == pd.Timestamp(2026, 1, 21)


def test_the_day_itself_is_cleared(small_logs: Path) -> None:
    """What was felt on the day of clearing is among what was looked at."""
    add_rows(small_logs, "sessions.csv", "ada,2026-01-20,cleared,,,,,")
    assert read(small_logs, "ada,2026-01-20,during,ring,left,5,,").flags == ()
    assert read(small_logs, "ada,2026-01-21,during,ring,left,5,,").flags != ()


def test_cleared_is_no_work_and_no_rest(small_logs: Path) -> None:
    """Such a row loads nothing, leaves no session unknown and is no day off."""
    r = reviewed(small_logs, "ada")
    add_rows(small_logs, "sessions.csv", "ada,2026-01-21,cleared,,,,,")
    logs = load_logs(small_logs)
    assert not [p for p in logs.problems if p.file == "sessions.csv"]
    after = review(logs, "ada")
    pd.testing.assert_frame_equal(r.dose.days, after.dose.days)
    pd.testing.assert_frame_equal(r.away, after.away)


def test_load_beside_pain(small_logs: Path) -> None:
    """The finger work of each finger day stands beside the pain, with the block's limit."""
    r = reviewed(small_logs, "ada")
    assert list(r.pain.load.columns) == ["date", "sets", "tension_s"]
    assert len(r.pain.load) == r.sets.loc[r.sets["in_block"], "date"].nunique()
    assert r.pain.limit == 3
