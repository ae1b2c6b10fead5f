"""Body mass: neutral words, one sentence beyond a line, nothing where it is hidden."""

from __future__ import annotations

import math
from pathlib import Path

import pandas as pd
import pytest

from gripbook.logs import load_logs
from gripbook.logs.block import Block
from gripbook.report.sections import ratio as section
from gripbook.reviews import review
from gripbook.reviews.body_mass import BodyMass, BodyMassState, FallOver, follow_body_mass
from gripbook.reviews.people import Athlete
from gripbook.words import ratio as words
from gripbook.words.fmt import NBSP
from tests.derive_frames import START


def who(*, minor: bool = False, shown: bool = True) -> Athlete:
    """An athlete whose body mass is shown or not."""
    return Athlete("ada", "Ada", 2010 if minor else 1990, minor, "", "kg", shown)


def follow(weighed: dict[int, float], athlete: Athlete | None = None, weeks: int = 9) -> BodyMass:
    """Weigh-ins by day of the block, followed."""
    days = [pd.Timestamp(START) + pd.Timedelta(days=d) for d in weighed]
    body = pd.DataFrame(
        {
            "date": pd.Series(days, dtype="datetime64[us]"),
            "body_mass_kg": pd.Series(list(weighed.values()), dtype="float64"),
            "file": "body.csv",
            "line": range(2, len(days) + 2),
        }
    )
    return follow_body_mass(body, Block("Small", START, weeks), athlete or who())


def test_change_in_neutral_words() -> None:
    """Means of three weigh-ins at each end with their days; a gain is no point for a physician."""
    found = follow({0: 70.0, 3: 70.3, 6: 69.7, 40: 72.0, 44: 72.1, 48: 72.2})
    assert found.state is BodyMassState.MEASURED
    assert words.body_mass(found).replace(NBSP, " ") == (
        "Body mass: 70 kg (5 January to 11 January), then 72.1 kg (14 February to 22 February), "
        "+3 %; each is a mean of three weigh-ins."
    )
    assert found.fall is None


def test_fall_over_the_block() -> None:
    """More than 5 % over the block is a point for a physician, with its figure."""
    found = follow({0: 70.0, 3: 70.0, 6: 70.0, 50: 66.0, 54: 66.0, 58: 66.0})
    assert found.fall is not None
    assert found.fall.over is FallOver.BLOCK
    assert words.physician(found.fall, who()).replace(NBSP, " ") == (
        "Body mass is 5.7 % lower than at the block's start. Whatever the reason, see a "
        "physician before a harder block."
    )


def test_fall_within_four_weeks() -> None:
    """More than 4 % within four weeks is a point though it came back by the end."""
    low = {20: 67.0, 22: 67.0, 24: 67.0}
    found = follow({0: 70.0, 2: 70.0, 4: 70.0} | low | {50: 70.0, 52: 70.0, 54: 70.0})
    assert found.fall is not None
    assert found.fall.over is FallOver.FOUR_WEEKS
    assert words.fall(found.fall).replace(NBSP, " ") == (
        "body mass fell by 4.3 % in four weeks, 5 January to 29 January"
    )


@pytest.mark.parametrize(
    ("end_kg", "days", "asked"),
    [
        (66.6, (50, 54, 58), False),  # 4.9 % over the block
        (66.5, (50, 54, 58), True),  # exactly 5 %
        (67.2, (20, 22, 24), False),  # exactly 4 % in four weeks
        (67.1, (20, 22, 24), True),
        (67.1, (50, 54, 58), False),  # 4.1 %, but over the block
    ],
)
def test_lines_of_a_fall(end_kg: float, days: tuple[int, ...], asked: bool) -> None:
    """The sentence stands beyond 4 % in four weeks, and from 5 % over the block on."""
    found = follow({0: 70.0, 2: 70.0, 4: 70.0} | dict.fromkeys(days, end_kg))
    assert (found.fall is not None) is asked


@pytest.mark.parametrize("weighed", [{0: 70.0, 58: 69.0}, {0: 70.0, 2: 70.0, 4: 70.0, 58: 66.6}])
def test_too_few_weigh_ins_say_no_change(weighed: dict[int, float]) -> None:
    """With fewer than three at an end no change is given, in figures or words."""
    found = follow(weighed)
    assert found.state is BodyMassState.CANT_TELL
    assert math.isnan(found.change_pct)
    assert found.fall is None
    assert words.body_mass(found).startswith("We can't tell how body mass changed")
    assert "%" not in words.body_mass(found)


@pytest.mark.parametrize(("last_kg", "fell"), [(66.6, False), (66.5, True)])
@pytest.mark.parametrize("shown", [True, False])
def test_a_fall_from_few_weigh_ins_is_asked_about(last_kg: float, fell: bool, shown: bool) -> None:
    """Two weigh-ins tell no change, but 5 % less holds loads, also where body mass is hidden."""
    found = follow({0: 70.0, 55: last_kg}, who(shown=shown))
    assert found.fell is fell
    assert math.isnan(found.change_pct)
    assert (found.fall is not None) is (fell and shown)


def test_several_weigh_ins_of_a_day_are_one() -> None:
    """Three readings of one morning are one weigh-in day."""
    body = follow({0: 70.0, 2: 70.0, 4: 70.0, 50: 69.0}).weigh_ins
    again = pd.concat([body, body[body["body_mass_kg"] == 69.0]] * 2, ignore_index=True)
    found = follow_body_mass(again, Block("Small", START, 9), who())
    assert (found.days, found.fall) == (4, None)


def test_a_minor_is_asked_with_the_guardian() -> None:
    """Where the coach turned it on, the sentence names guardian and physician."""
    found = follow({0: 50.0, 3: 50.0, 6: 50.0, 50: 47.0, 54: 47.0, 58: 47.0}, who(minor=True))
    assert found.fall is not None
    assert "a physician, together with a guardian" in words.physician(found.fall, who(minor=True))


def test_hidden_holds_nothing() -> None:
    """Where body mass is hidden there is no weigh-in, no change and no fall."""
    found = follow({0: 70.0, 3: 70.0, 6: 70.0, 50: 60.0, 54: 60.0, 58: 60.0}, who(shown=False))
    assert found.weigh_ins.empty
    assert (found.state, found.start, found.end, found.fall) == ("hidden", None, None, None)
    assert words.body_mass(found) == ""
    assert found.fell


def test_no_section_at_all_where_hidden(small_logs: Path) -> None:
    """A minor's page, or one that hides body mass, has nothing of it; others have it."""
    logs = load_logs(small_logs)
    assert section(review(logs, "bo")) == ()
    assert section(review(logs, "cy")) == ()
    assert section(review(logs, "ada"))
