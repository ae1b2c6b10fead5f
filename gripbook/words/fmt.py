"""Numbers, dates and words as a page writes them: one place, so that all pages write alike."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from functools import wraps
from typing import Any, Final, ParamSpec, TypeVar

from gripbook.units import kg_to_lb
from gripbook.words.messages import (
    DECIMAL_SIGNS,
    FIRST_OF_MONTH,
    Table,
    language,
    mark,
    say,
    say_count,
)

MINUS = "\u2212"
#: Between a figure and its unit, so that no line breaks there.
NBSP = "\u00a0"
_mass_unit: ContextVar[str] = ContextVar("mass_unit", default="kg")

_MONTHS = (
    mark("January"),
    mark("February"),
    mark("March"),
    mark("April"),
    mark("May"),
    mark("June"),
    mark("July"),
    mark("August"),
    mark("September"),
    mark("October"),
    mark("November"),
    mark("December"),
)
#: Weekdays in short from Monday on; give them to `say`.
WEEKDAYS = (
    mark("Mo"),
    mark("Tu"),
    mark("We"),
    mark("Th"),
    mark("Fr"),
    mark("Sa"),
    mark("Su"),
)
_SMALL = (
    mark("no"),
    mark("one"),
    mark("two"),
    mark("three"),
    mark("four"),
    mark("five"),
    mark("six"),
    mark("seven"),
    mark("eight"),
    mark("nine"),
    mark("ten"),
)

#: Words for what stands in the logs as `half_crimp`.
GRIP_WORDS = Table(
    {
        "half_crimp": mark("half crimp"),
        "full_crimp": mark("full crimp"),
        "open_four": mark("open hand, four fingers"),
        "open_three": mark("open hand, three fingers"),
        "pinch": mark("pinch"),
        "sloper": mark("sloper"),
        "pocket_two": mark("two-finger pocket"),
        "pocket_one": mark("one-finger pocket"),
    }
)
HAND_WORDS = Table(
    {"both": mark("both hands"), "left": mark("left hand"), "right": mark("right hand")}
)
#: One side as it stands in a list of sides.
SIDE_WORDS = Table({"both": mark("both"), "left": mark("left"), "right": mark("right")})
#: Kinds of work and kinds of days without.
KIND_WORDS = Table(
    {
        "fingers": mark("finger work"),
        "core": mark("core"),
        "antagonist": mark("antagonist"),
        "mobility": mark("mobility"),
        "climbing": mark("climbing"),
        "other": mark("other"),
        "rest": mark("rest"),
        "ill": mark("ill"),
        "away": mark("away"),
        "injured": mark("injured"),
    }
)
#: When pain was felt, and what was seen or heard of it.
WHEN_WORDS = Table(
    {
        "during": mark("during"),
        "after": mark("after"),
        "morning": mark("morning"),
        "": mark("not recorded"),
    }
)
SIGN_WORDS = Table(
    {"pop": mark("pop"), "swelling": mark("swelling"), "stiff": mark("stiff"), "": ""}
)
#: Kinds of work in short, at lanes and phases of a chart and in a squad's row.
WORK_WORDS = Table({"hang": mark("hangs"), "repeater": mark("repeaters"), "pull": mark("pulls")})
EXERCISE_WORDS = Table(
    {
        "hang": mark("timed hangs"),
        "repeater": mark("repeaters"),
        "pull": mark("all-out pulls"),
    }
)


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
    lead = "" if float(text) == 0 else MINUS if value < 0 else "+" if sign else ""
    return lead + text.replace(".", DECIMAL_SIGNS[language()])


def with_unit(value: float, unit: str, digits: int = 1, *, sign: bool = False) -> str:
    """A number and its unit, kept on one line; "–" alone for NaN."""
    text = number(value, digits, sign=sign)
    return text if text == "\u2013" else f"{text}{NBSP}{unit}"


@contextmanager
def in_mass_unit(unit: str) -> Iterator[None]:
    """Write masses and loads in `kg` or `lb` within a `with` block."""
    token = _mass_unit.set(unit)
    try:
        yield
    finally:
        _mass_unit.reset(token)


def mass_unit() -> str:
    """The unit in which masses and loads are written: kg or lb."""
    return _mass_unit.get()


def own_mass(kg: float) -> float:
    """A mass in kg, or something per or times kg, in the unit in which it is written."""
    return kg if _mass_unit.get() == "kg" else kg_to_lb(kg)


def mass_number(kg: float, digits: int = 1, *, trim: bool = True, sign: bool = False) -> str:
    """A mass or load in kg as a number in the unit in use."""
    return number(own_mass(kg), digits, trim=trim, sign=sign)


def mass(kg: float, digits: int = 1, *, sign: bool = False) -> str:
    """A mass or load in kg with the unit in use."""
    return with_unit(own_mass(kg), _mass_unit.get(), digits, sign=sign)


def day(date: dt.date, *, year: bool = True) -> str:
    """A date written out: 5 January 2026."""
    month = say(_MONTHS[date.month - 1])
    number = FIRST_OF_MONTH.get(language(), "1") if date.day == 1 else str(date.day)
    if year:
        return say("{day}~{month}~{year}", day=number, month=month, year=date.year)
    return say("{day}~{month}", day=number, month=month)


def plain(value: float) -> str:
    """A number as a log holds it, but with the decimal sign of the language in use."""
    return f"{value:g}".replace(".", DECIMAL_SIGNS[language()])


def count(n: int, one: str, many: str) -> str:
    """
    A count with its noun, small numbers in words: one session, two sessions, 14 sessions.

    Parameters
    ----------
    one, many : both forms, `{n} session` and `{n} sessions`.
    """
    return say_count(n, one, many, n=in_words(n))


def athletes(n: int) -> str:
    """So many athletes."""
    return count(n, "{n} athlete", "{n} athletes")


def days(n: int) -> str:
    """So many days."""
    return count(n, "{n} day", "{n} days")


def rows(n: int) -> str:
    """So many rows."""
    return count(n, "{n} row", "{n} rows")


def sets(n: int) -> str:
    """So many sets."""
    return count(n, "{n} set", "{n} sets")


def in_words(n: int) -> str:
    """A small number in words, a larger one in figures."""
    return say(_SMALL[n]) if 0 <= n < len(_SMALL) else str(n)


def minutes(seconds: float) -> str:
    """Seconds as minutes and seconds: 4 min 12 s."""
    if not math.isfinite(seconds):
        return "\u2013"
    whole = round(seconds)
    if whole < 60:
        return f"{whole}{NBSP}s"
    rest = f" {whole % 60}{NBSP}s" if whole % 60 else ""
    return f"{whole // 60}{NBSP}min{rest}"


def listing(words: Iterable[str]) -> str:
    """Words in a row: a, b and c."""
    items = list(words)
    if len(items) < 2:
        return "".join(items)
    return say("{first} and {last}", first=", ".join(items[:-1]), last=items[-1])


#: Most names in a row.
NAMES: Final = 20


def some(words: Sequence[str]) -> str:
    """Words in a row, of many the first: a, b and c; a, b, c and 17 more."""
    left = len(words) - NAMES
    more = [say("{n} more", n=number(left))] if left > 0 else []
    return listing([*words[:NAMES], *more])


def low_to_high(low: str, high: str) -> str:
    """A range in figures: +1.5 to +4 kg."""
    return say("{low} to {high}", low=low, high=high)


def start_to_end(start: str, end: str) -> str:
    """What was first and what came of it: 60 to 65 kg; 5 January to 1 March."""
    return say("{start} to {end}", start=start, end=end)


def clauses(parts: Iterable[str]) -> str:
    """Clauses in a row: a; b; c."""
    return say("; ").join(parts)


def headed(head: str, words: str) -> str:
    """What something is, and what is said of it: half crimp: stronger."""
    return say("{head}: {words}", head=head, words=words)


def one_of(words: Iterable[str]) -> str:
    """Words to choose from: a, b or c."""
    items = list(words)
    if len(items) < 2:
        return "".join(items)
    return say("{first} or {last}", first=", ".join(items[:-1]), last=items[-1])


def weeks(numbers: Iterable[int]) -> str:
    """Block weeks in words: week 3; weeks 3, 4 and 7."""
    found = [str(n) for n in sorted(set(numbers))]
    return say("week {n}", n=found[0]) if len(found) == 1 else say("weeks {n}", n=listing(found))


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


P = ParamSpec("P")
T = TypeVar("T")


def in_own_units(function: Callable[P, T]) -> Callable[P, T]:
    """
    Make a function of a review write masses and loads in the units of the review's athlete.

    Its first argument is the review, or whatever else has an `athlete` with `units`.
    """

    @wraps(function)
    def wrapped(*args: P.args, **kwargs: P.kwargs) -> T:
        review: Any = args[0] if args else next(iter(kwargs.values()))
        with in_mass_unit(review.athlete.units):
            return function(*args, **kwargs)

    return wrapped


def rows_left_out(n: int) -> str:
    """That a long table holds its first and last rows."""
    return say_count(n, "{n} row left out", "{n} rows left out", n=number(n))


def athletes_left_out(n: int) -> str:
    """That the squad's table ends before so many athletes."""
    return say_count(
        n,
        "{n} more athlete is left out here: this page would get too large. Their own page is in "
        "this folder.",
        "{n} more athletes are left out here: this page would get too large. Their own pages are "
        "in this folder.",
        n=number(n),
    )


def parts_left_out(n: int, size: int) -> str:
    """That so many parts of a section, of so many bytes together, are not on the page."""
    return say_count(
        n,
        "One part is left out here: {size} MB are too much for a page. A notebook shows it.",
        "{n} parts are left out here: {size} MB are too much for a page. A notebook shows them.",
        n=number(n),
        size=number(size / 1e6, 1),
    )
