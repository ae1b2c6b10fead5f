"""Numbers, dates and words as a page writes them: one place, so that all pages write alike."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable

MINUS = "\u2212"
#: Between a figure and its unit, so that no line breaks there.
NBSP = "\u00a0"

_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
_SMALL = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")

#: Words for what stands in the logs as `half_crimp`.
GRIP_WORDS = {
    "half_crimp": "half crimp",
    "full_crimp": "full crimp",
    "open_four": "open hand, four fingers",
    "open_three": "open hand, three fingers",
    "pinch": "pinch",
    "sloper": "sloper",
    "pocket_two": "two-finger pocket",
    "pocket_one": "one-finger pocket",
}
HAND_WORDS = {"both": "both hands", "left": "left hand", "right": "right hand"}
EXERCISE_WORDS = {"hang": "timed hangs", "repeater": "repeaters", "pull": "all-out pulls"}


def number(value: float, digits: int = 1, *, trim: bool = True, sign: bool = False) -> str:
    """
    A number with at most `digits` decimals, a true minus sign, "–" for NaN.

    >>> number(2.50), number(-3.04), number(7, sign=True), number(float("nan"))
    ('2.5', '\u22123', '+7', '\u2013')
    """
    if value is None or not math.isfinite(value):
        return "\u2013"
    text = f"{abs(value):.{digits}f}"
    if trim and "." in text:
        text = text.rstrip("0").rstrip(".")
    if float(text) == 0:
        return text
    return (MINUS if value < 0 else "+" if sign else "") + text


def with_unit(value: float, unit: str, digits: int = 1, *, sign: bool = False) -> str:
    """A number and its unit, kept on one line; "–" alone for NaN."""
    text = number(value, digits, sign=sign)
    return text if text == "\u2013" else f"{text}{NBSP}{unit}"


def day(date: dt.date, *, year: bool = True) -> str:
    """A date written out: 5 January 2026."""
    text = f"{date.day}{NBSP}{_MONTHS[date.month - 1]}"
    return f"{text}{NBSP}{date.year}" if year else text


def count(n: int, one: str, many: str = "") -> str:
    """A count with its noun, small numbers in words: one session, two sessions, 14 sessions."""
    word = _SMALL[n] if 0 <= n < len(_SMALL) else str(n)
    plural = many or one + "s"
    return f"{word} {one if n == 1 or (n == 0 and not many) else plural}"


def minutes(seconds: float) -> str:
    """Seconds as minutes and seconds: 4 min 12 s."""
    if not math.isfinite(seconds):
        return "\u2013"
    whole = round(seconds)
    if whole < 60:
        return f"{whole}{NBSP}s"
    rest = f" {whole % 60}{NBSP}s" if whole % 60 else ""
    return f"{whole // 60}{NBSP}min{rest}"


def listing(words: Iterable[str], last: str = "and") -> str:
    """Words in a row: a, b and c."""
    items = list(words)
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def weeks(numbers: Iterable[int]) -> str:
    """Block weeks in words: week 3; weeks 3, 4 and 7."""
    found = [str(n) for n in sorted(set(numbers))]
    return ("week " if len(found) == 1 else "weeks ") + listing(found)


def grip(name: str) -> str:
    """A grip in words; a grip of the block file's own as it is written, without underscores."""
    return GRIP_WORDS.get(name, name.replace("_", " "))


def series(grip_name: str, hand: str, edge_mm: float = math.nan) -> str:
    """A series in words: half crimp, left hand, 20 mm."""
    edge = f", {number(edge_mm)}{NBSP}mm" if math.isfinite(edge_mm) else ""
    return f"{grip(grip_name)}, {HAND_WORDS[hand]}{edge}"


def sentence(text: str) -> str:
    """The text with a capital first letter."""
    return text[:1].upper() + text[1:]
