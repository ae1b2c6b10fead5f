"""
One cell to a value, by its column.

A cell that can't be read raises `BadCellError`, which names what is wrong; nothing is guessed.
"""

from __future__ import annotations

import datetime as dt
import difflib
import math
import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence, Set
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np

from gripbook.logs.block import GRIPS, YEARS
from gripbook.logs.problem import Code, Parameter
from gripbook.logs.schema import PAIN_SITES, Column
from gripbook.logs.words_read import DateOrder as DateOrder
from gripbook.logs.words_read import meanings

_NUMBER = re.compile(r"[+\-\u2212]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?")
_THOUSANDS = re.compile(r"[+-]?\d{1,3}([.,]\d{3})+[.,]\d+")
_WITH_UNIT = re.compile(r"[+\-\u2212]?[\d.,]+\s*[a-zA-Z\"']+")
_ISO_DATE = re.compile(r"(\d{4})-(\d{2})-(\d{2})([T ]00:00(:00(\.0+)?)?)?")
_OTHER_DATE = re.compile(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4})\.?")
_SHORT_YEAR = re.compile(r"\d{1,2}[./-]\d{1,2}[./-]\d{2}")
_TIME = re.compile(r"(\d{1,2}):(\d{2})(:\d{2})?")
_MONTH = re.compile(r"(19|20)\d{2}(-(0[1-9]|1[0-2]))?")
#: Characters that can't be shown.
CONTROL: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffd]")


class BadCellError(Exception):
    """A cell that can't be read."""

    def __init__(self, code: Code, **parameters: Parameter) -> None:
        super().__init__(code)
        self.code: Code = code
        self.parameters = parameters


@dataclass(slots=True)
class Context:
    """
    What judging a file depends on besides its bytes.

    `grips` may be used by everyone, those of `owners` by the athletes in whose sub-folders they are
    declared. A file in a sub-folder speaks for `folder_athlete` alone.
    """

    date_order: DateOrder | None = None
    today: dt.date = field(default_factory=dt.date.today)
    grips: tuple[str, ...] = ()
    owners: Mapping[str, Set[str]] = field(default_factory=dict)
    folder_athlete: str = ""

    @property
    def all_grips(self) -> tuple[str, ...]:
        """Every grip that block files declare for all, and those of the folder's athlete."""
        alone = [grip for grip, owners in self.owners.items() if self.folder_athlete in owners]
        return (*self.grips, *alone)


def parse_number(text: str) -> float:
    """
    A number with decimal point or comma and an optional sign.

    Raises
    ------
    BadCellError : anything else, units and thousands signs too.
    """
    if _NUMBER.fullmatch(text):
        return float(text.replace(",", ".").replace("\u2212", "-"))
    if _THOUSANDS.fullmatch(text):
        raise BadCellError("thousands_sign")
    raise BadCellError("unit_in_cell" if _WITH_UNIT.fullmatch(text) else "not_a_number")


def parse_date(text: str, order: DateOrder | None) -> dt.date:
    """
    A day. ISO 8601 (year-month-day) always; day or month first only where `order` says so.

    Raises
    ------
    BadCellError : for a day that does not exist, and for any other order without `order`, since
        05.12.2026 may mean two days and guessing moves a session by months.
    """
    iso = _ISO_DATE.fullmatch(text)
    if iso:
        year, month, day = (int(iso.group(i)) for i in (1, 2, 3))
    else:
        other = _OTHER_DATE.fullmatch(text)
        if not other:
            raise BadCellError("year_of_two_digits" if _SHORT_YEAR.fullmatch(text) else "date")
        first, second, year = (int(other.group(i)) for i in (1, 2, 3))
        if order is None:
            day_first, month_first = _day_of(year, second, first), _day_of(year, first, second)
            raise BadCellError("date_order", day_first=day_first, month_first=month_first)
        day, month = (first, second) if order == "day-first" else (second, first)
    date = _day_of(year, month, day)
    if date is None:
        raise BadCellError("no_such_day", order="" if iso else order)
    earliest, latest = YEARS
    if not earliest <= year <= latest:
        raise BadCellError("year", first=earliest, last=latest)
    return date


def _day_of(year: int, month: int, day: int) -> dt.date | None:
    try:
        return dt.date(year, month, day)
    except ValueError:
        return None


def _parse_choice(text: str, choices: Sequence[str]) -> str:
    word = text.lower()
    if word in choices:
        return word
    allowed = tuple(c for c in choices if c)
    raise BadCellError("unknown_word", allowed=allowed, near=_near(word, allowed))


#: How words begin that are often written for one of the format's.
_MEANT: Final[Mapping[str, str]] = {
    "boulder": "climbing",
    "kletter": "climbing",
    "escalad": "climbing",
    "stretch": "mobility",
    "flexib": "mobility",
    "hangboard": "fingers",
}


def _near(word: str, allowed: Sequence[str]) -> tuple[str, ...]:
    """The words that may be meant by one that isn't allowed."""
    bare = word[:40].replace(" ", "_").replace("-", "_")
    near = [c for c in allowed if bare in c.split("_")]  # crimp: half or full?
    near = near or [c for begin, c in _MEANT.items() if bare.startswith(begin) and c in allowed]
    return tuple(near or difflib.get_close_matches(bare, allowed, n=1, cutoff=0.6))


def _parse_time(text: str) -> str:
    time = _TIME.fullmatch(text)
    if not time or int(time.group(1)) > 23 or int(time.group(2)) > 59:
        raise BadCellError("time")
    return f"{int(time.group(1)):02d}:{time.group(2)}"


def _parse_month(text: str) -> str:
    if not _MONTH.fullmatch(text):
        raise BadCellError("month")
    return text


def _parse_grip(text: str, allowed: Sequence[str], others: Set[str]) -> str:
    for word in (text, text.lower()):
        # whose a grip of one athlete's is, is seen when the row is known
        if word in allowed or word in others:
            return word
    word = text.lower()
    raise BadCellError("unknown_grip", allowed=tuple(allowed), near=_near(word, allowed))


def _parse_bounded(text: str, column: Column, factor: float) -> float:
    value = parse_number(text)
    if column.kind == "integer" and math.isfinite(value) and value != int(value):
        raise BadCellError("not_whole")
    value *= factor
    if not column.low <= value <= column.high:
        unit = column.name.rsplit("_", 1)[-1] if column.kind == "number" else ""
        raise BadCellError("out_of_range", low=column.low, high=column.high, unit=unit)
    return value


def _same_athlete(text: str, folder_athlete: str) -> str:
    if unicodedata.normalize("NFC", text) == folder_athlete:
        return folder_athlete
    raise BadCellError("other_athlete", athlete=folder_athlete)


def parser(column: Column, context: Context, factor: float) -> Callable[[str], Any]:
    """
    The function that reads one non-empty cell of `column`, or raises BadCellError.

    Parameters
    ----------
    factor : what a number is multiplied by, to have the unit of the column's name.
    """
    kind = column.kind
    if kind in ("number", "integer"):
        return lambda text: _parse_bounded(text, column, factor)
    if kind == "date":
        return lambda text: np.datetime64(parse_date(text, context.date_order), "us")
    if kind == "yes":
        return lambda text: _parse_choice(text, ("yes", "no"))
    if kind == "choice":
        return lambda text: _parse_choice(text, column.choices)
    if kind == "time":
        return _parse_time
    if kind == "month":
        return _parse_month
    if kind == "grip":
        # in a sub-folder the grips of the others are none, and none of theirs is ever named
        others = set() if context.folder_athlete else set(context.owners)
        allowed = (*GRIPS, *context.all_grips)
        return lambda text: _parse_grip(text, allowed, others)
    if column.name == "athlete" and context.folder_athlete:
        return lambda text: _same_athlete(text, context.folder_athlete)
    if column.name == "site":  # other text is allowed, so only known words are put in lower case
        return lambda text: _site(text, column)
    return lambda text: text


def _site(text: str, column: Column) -> str:
    if text.lower() in PAIN_SITES:
        return text.lower()
    meant = meanings(text, column, PAIN_SITES)
    return meant[0] if len(meant) == 1 else text


_EMPTY: Final[Mapping[str, Any]] = {
    "number": np.nan,
    "integer": np.nan,
    "date": np.datetime64("NaT", "us"),
}


def empty_value(column: Column) -> Any:
    """What an empty cell of a column is read as."""
    return _EMPTY.get(column.kind, column.default)
