"""Numbers, dates and words as pages write them."""

from __future__ import annotations

import datetime as dt
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gripbook.logs.block import EXERCISES, GRIPS, HANDS
from gripbook.words import fmt, in_language

MINUS, DASH, NBSP = "\N{MINUS SIGN}", "\N{EN DASH}", "\N{NO-BREAK SPACE}"


@pytest.mark.parametrize(
    ("value", "how", "text"),
    [
        (2.5, {}, "2.5"),
        (2.0, {}, "2"),
        (2.0, {"trim": False}, "2.0"),
        (120.0, {"digits": 0}, "120"),  # a round number keeps its zeros
        (0.125, {"digits": 3}, "0.125"),
        (2.10, {"digits": 2}, "2.1"),
        (-3.04, {}, MINUS + "3"),
        (-0.04, {}, "0"),  # nothing is minus nothing
        (-0.04, {"trim": False}, "0.0"),
        (-0.0, {"sign": True}, "0"),
        (0.04, {"sign": True}, "0"),
        (7.0, {"sign": True}, "+7"),
        (-7.0, {"sign": True}, MINUS + "7"),
        (99.96, {}, "100"),
        (12345.0, {}, "12345"),
        (math.nan, {}, DASH),
        (math.inf, {}, DASH),
        (-math.inf, {"sign": True}, DASH),
        (None, {}, DASH),
    ],
)
def test_number(value: float, how: dict[str, int], text: str) -> None:
    """Decimals are cut, zeros trimmed, the minus is a true one, what is unknown is a dash."""
    assert fmt.number(value, **how) == text


@given(st.floats(-1e6, 1e6), st.integers(0, 3), st.booleans(), st.booleans())
def test_number_reads_back(value: float, digits: int, trim: bool, sign: bool) -> None:
    """What is written is the number to within half of its last digit."""
    text = fmt.number(value, digits, trim=trim, sign=sign)
    assert "-" not in text
    read = float(text.replace(MINUS, "-"))
    assert abs(read - value) <= 0.5 * 10**-digits + 1e-9


def test_with_unit() -> None:
    """A figure stays on one line with its unit; an unknown one has none."""
    assert fmt.with_unit(53.5, "kg") == f"53.5{NBSP}kg"
    assert fmt.with_unit(5.0, "%", sign=True) == f"+5{NBSP}%"
    assert fmt.with_unit(math.nan, "kg") == DASH


def test_day() -> None:
    """Dates are written out, with or without the year."""
    assert fmt.day(dt.date(2026, 1, 5)) == f"5{NBSP}January{NBSP}2026"
    assert fmt.day(dt.date(2026, 12, 31), year=False) == f"31{NBSP}December"


@pytest.mark.parametrize("month", range(1, 13))
def test_months(month: int) -> None:
    """Each month has the name the calendar gives it in English."""
    date = dt.date(2026, month, 1)
    assert fmt.day(date, year=False) == f"1{NBSP}{date:%B}"


@pytest.mark.parametrize(
    ("n", "words", "text"),
    [
        (0, ("{n} session", "{n} sessions"), "no session"),
        (1, ("{n} session", "{n} sessions"), "one session"),
        (2, ("{n} session", "{n} sessions"), "two sessions"),
        (10, ("{n} session", "{n} sessions"), "ten sessions"),
        (11, ("{n} session", "{n} sessions"), "11 sessions"),
        (0, ("{n} day was", "{n} days were"), "no day was"),
        (1, ("{n} day was", "{n} days were"), "one day was"),
        (3, ("{n} day was", "{n} days were"), "three days were"),
        (-1, ("{n} kilogram", "{n} kilograms"), "-1 kilograms"),
    ],
)
def test_count(n: int, words: tuple[str, ...], text: str) -> None:
    """Small counts are words, the noun follows the count."""
    assert fmt.count(n, *words) == text


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0.0, f"0{NBSP}s"),
        (59.4, f"59{NBSP}s"),
        (59.6, f"1{NBSP}min"),  # never 60 s
        (60.0, f"1{NBSP}min"),
        (252.0, f"4{NBSP}min 12{NBSP}s"),
        (119.7, f"2{NBSP}min"),
        (3600.0, f"60{NBSP}min"),
        (math.nan, DASH),
        (math.inf, DASH),
    ],
)
def test_minutes(seconds: float, text: str) -> None:
    """Seconds are rounded before they are split."""
    assert fmt.minutes(seconds) == text


@pytest.mark.parametrize(
    ("words", "text"),
    [
        ([], ""),
        (["a"], "a"),
        (["a", "b"], "a and b"),
        (["a", "b", "c"], "a, b and c"),
    ],
)
def test_listing(words: list[str], text: str) -> None:
    """Words in a row, the last one joined by a word; any iterable will do."""
    assert fmt.listing(words) == text
    assert fmt.listing(w for w in words) == text
    assert fmt.one_of(words) == text.replace(" and ", " or ")


@pytest.mark.parametrize(
    ("numbers", "text"),
    [
        ([3], "week 3"),
        ([3, 3], "week 3"),
        ([7, 3, 4], "weeks 3, 4 and 7"),
        ([10, 9], "weeks 9 and 10"),  # by number, not by letter
    ],
)
def test_weeks(numbers: list[int], text: str) -> None:
    """Weeks come once each and in order."""
    assert fmt.weeks(numbers) == text


def test_every_word_of_the_logs_has_words() -> None:
    """Each grip, hand and exercise the logs know is written without an underscore."""
    for table, known in [
        (fmt.GRIP_WORDS, GRIPS),
        (fmt.HAND_WORDS, HANDS),
        (fmt.EXERCISE_WORDS, EXERCISES),
    ]:
        assert set(table) == set(known)
        assert not any("_" in words for words in table.values())
        assert len(set(table.values())) == len(table)


def test_grip_of_ones_own() -> None:
    """A grip that the block file names is written as it stands there."""
    assert fmt.grip("half_crimp") == "half crimp"
    assert fmt.grip("wide_pinch_block") == "wide pinch block"


def test_series() -> None:
    """Grip, hand and edge; no edge where none is recorded."""
    assert fmt.series("open_three", "left", 20.0) == (
        f"open hand, three fingers, left hand, 20{NBSP}mm"
    )
    assert fmt.series("half_crimp", "right", 12.5) == f"half crimp, right hand, 12.5{NBSP}mm"
    assert fmt.series("sloper", "both") == "sloper, both hands"


@pytest.mark.parametrize(
    ("text", "found"), [("two hangs", "Two hangs"), ("", ""), ("x", "X"), ("aB C", "AB C")]
)
def test_sentence(text: str, found: str) -> None:
    """Only the first letter changes."""
    assert fmt.sentence(text) == found


def test_masses_in_the_units_in_use() -> None:
    """A mass is written in kg, within the block in lb (1 lb = 0.45359237 kg exactly, 1959)."""
    assert fmt.mass(0.45359237 * 35) == f"15.9{NBSP}kg"
    with fmt.in_mass_unit("lb"):
        assert fmt.mass(0.45359237 * 35) == f"35{NBSP}lb"
        assert fmt.mass_number(-0.45359237 * 2.5, sign=True) == f"{fmt.MINUS}2.5"
        assert fmt.mass_unit() == "lb"
    assert fmt.mass_unit() == "kg"


def test_a_date_in_other_languages() -> None:
    """The first of a month is 1er in French; German sets a point after the day."""
    first, third = dt.date(2026, 4, 1), dt.date(2026, 3, 3)
    with in_language("fr"):
        assert fmt.day(first) == f"1er{NBSP}avril{NBSP}2026"
        assert fmt.day(third, year=False) == f"3{NBSP}mars"
        assert fmt.plain(1.25) == "1,25"
    with in_language("de"):
        assert fmt.day(first, year=False) == f"1.{NBSP}April"
        assert fmt.number(2.5) == "2,5"
