"""
What still pictures know of Vega-Lite's scales: conditions over a row, days, ticks, places.

Rounding and ticks follow d3, which Vega-Lite draws with, so that pictures and drawn charts agree.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from gripbook.errors import GripbookError

Row = Mapping[str, Any]


class SketchError(GripbookError):
    """The chart uses something of Vega-Lite that still pictures don't know."""


def unknown(what: str, value: object) -> SketchError:
    """Give the error for something that pictures don't know; the caller raises it."""
    return SketchError(f"A still picture knows no {what} {value!r}.")


# --- expressions over a row ------------------------------------------------------------------

_TOKEN = re.compile(
    r"""\s*(?:(?P<op>===|!==|==|!=|<=|>=|\|\||&&|[!()<>,])|(?P<number>\d+\.?\d*|\.\d+)
    |(?P<text>'[^'\\]*'|"[^"\\]*")|datum\.(?P<field>\w+)
    |datum\[(?P<quoted>'[^'\\]*'|"[^"\\]*")\]|(?P<word>\w+))""",
    re.VERBOSE,
)
_COMPARE: dict[str, Callable[[Any, Any], bool]] = {
    "===": lambda a, b: bool(a == b),
    "==": lambda a, b: bool(a == b),
    "!==": lambda a, b: bool(a != b),
    "!=": lambda a, b: bool(a != b),
    "<": lambda a, b: a is not None and bool(a < b),
    ">": lambda a, b: a is not None and bool(a > b),
    "<=": lambda a, b: a is not None and bool(a <= b),
    ">=": lambda a, b: a is not None and bool(a >= b),
}
_CONSTANTS = {"true": True, "false": False, "null": None}
Value = Callable[[Row], Any]


@lru_cache(maxsize=200)
def expression(text: str) -> Value:
    """Compile a simple condition: comparisons of `datum.x`, isValid, `!`, `&&`, `||`, brackets."""
    tokens: list[tuple[str, str]] = []
    at = 0
    while text[at:].strip():
        match = _TOKEN.match(text, at)
        if match is None:
            raise unknown("expression", text)
        tokens.append((str(match.lastgroup), str(match[str(match.lastgroup)])))
        at = match.end()
    tokens.reverse()

    def take(*wanted: str) -> str:
        if tokens and tokens[-1][0] == "op" and tokens[-1][1] in wanted:
            return tokens.pop()[1]
        return ""

    def need(bracket: str) -> None:
        if not take(bracket):
            raise unknown("expression", text)

    def either() -> Value:
        found = [both()]
        while take("||"):
            found.append(both())
        return found[0] if len(found) == 1 else lambda row: any(f(row) for f in found)

    def both() -> Value:
        found = [inverse()]
        while take("&&"):
            found.append(inverse())
        return found[0] if len(found) == 1 else lambda row: all(f(row) for f in found)

    def inverse() -> Value:
        if take("!"):
            inner = inverse()
            return lambda row: not inner(row)
        left = single()
        sign = take(*_COMPARE)
        if not sign:
            return left
        compare, right = _COMPARE[sign], single()
        return lambda row: compare(left(row), right(row))

    def single() -> Value:
        if take("("):
            inner = either()
            need(")")
            return inner
        if not tokens:
            raise unknown("expression", text)
        kind, word = tokens.pop()
        if kind in ("field", "quoted"):
            name = word if kind == "field" else word[1:-1]
            return lambda row: row.get(name)
        if kind == "word" and word == "isValid":
            need("(")
            of = either()
            need(")")
            return lambda row: known(of(row))
        constants: dict[str, Any] = {"text": word[1:-1], **_CONSTANTS}
        if kind == "number":
            constant: Any = float(word)
        elif kind == "text" or word in _CONSTANTS:
            constant = constants["text" if kind == "text" else word]
        else:
            raise unknown("expression", text)
        return lambda row: constant

    whole = either()
    if tokens:
        raise unknown("expression", text)
    return whole


def known(value: Any) -> bool:
    """Whether a cell holds something: neither null nor NaN."""
    return value is not None and value == value


# --- days, numbers, ticks --------------------------------------------------------------------


@lru_cache(maxsize=5000)
def _iso_day(text: str) -> float:
    if len(text) == 10:
        return float(dt.date.fromisoformat(text).toordinal())
    moment = dt.datetime.fromisoformat(text)
    return moment.toordinal() + (moment.hour * 60 + moment.minute) / 1440


def day_number(value: Any) -> float:
    """Days since the calendar's first, of a date as Vega-Lite writes it."""
    if isinstance(value, str):
        return _iso_day(value)
    if isinstance(value, Mapping):
        day = dt.date(int(value["year"]), int(value.get("month", 1)), int(value.get("date", 1)))
        return float(day.toordinal())
    return float(value) / 86_400_000 + dt.date(1970, 1, 1).toordinal()


def _step(start: float, stop: float, count: float) -> float:
    """The distance of about `count` round ticks. As d3's tickStep."""
    rough = (stop - start) / max(count, 1e-9)
    power = 10.0 ** math.floor(math.log10(rough))
    share = rough / power
    factor = 10 if share >= 50**0.5 else 5 if share >= 10**0.5 else 2 if share >= 2**0.5 else 1
    return factor * power


def round_ticks(start: float, stop: float, count: float) -> tuple[list[float], float]:
    """Round numbers from start to stop, and their distance."""
    if stop <= start:
        return [start], 1.0
    step = _step(start, stop, count)
    first, last = math.ceil(start / step - 1e-9), math.floor(stop / step + 1e-9)
    return [i * step for i in range(first, last + 1)], step


def nice_ends(start: float, stop: float, count: int = 10) -> tuple[float, float]:
    """Ends moved out to round numbers. As d3's linear nice, to its last rounding."""
    before = 0.0
    for _ in range(10):
        if stop <= start:
            break
        step = _step(start, stop, count)
        if step == before:
            break
        if step >= 1:
            start, stop = math.floor(start / step) * step, math.ceil(stop / step) * step
        else:
            inverse = round(1 / step)  # what d3 reckons with, and rounds with
            start, stop = math.floor(start * inverse) / inverse, math.ceil(stop * inverse) / inverse
        before = step
    return start, stop


#: Distances of d3's ticks of days: name, every how many, days.
_DAY_STEPS = (
    ("day", 1, 1.0),
    ("day", 2, 2.0),
    ("week", 1, 7.0),
    ("month", 1, 30.0),
    ("month", 3, 90.0),
    ("year", 1, 365.0),
)


def day_ticks(start: float, stop: float, count: Any) -> list[float]:
    """Days that begin a month or another round span, `count` being that span or about how many."""
    if count in ("day", "week", "month", "year"):
        kind, every = str(count), 1
    elif isinstance(count, str):
        raise unknown("distance of ticks", count)
    else:
        aim = (stop - start) / max(float(count), 1e-9)
        place = sum(days <= aim for *_, days in _DAY_STEPS)
        if 0 < place < len(_DAY_STEPS):
            place -= aim / _DAY_STEPS[place - 1][2] < _DAY_STEPS[place][2] / aim
        kind, every, _ = _DAY_STEPS[min(place, len(_DAY_STEPS) - 1)]
        if kind == "year":
            every = max(1, round(_step(start / 365, stop / 365, float(count))))
    found = []
    for ordinal in range(math.ceil(start), math.floor(stop) + 1):
        day = dt.date.fromordinal(ordinal)
        if (
            (kind == "day" and (day.day - 1) % every == 0)
            or (kind == "week" and day.isoweekday() == 7)
            or (kind == "month" and day.day == 1 and (day.month - 1) % every == 0)
            or (kind == "year" and day.day == day.month == 1 and day.year % every == 0)
        ):
            found.append(float(ordinal))
    return found


def padded(low: float, high: float, padding: float, whole: float) -> tuple[float, float]:
    """Ends moved out by so much of an axis that is `whole` long."""
    more = (high - low) * padding / (whole - 2 * padding)
    return low - more, high + more


def number_words(value: float, step: float) -> str:
    """A number with the decimals that ticks so far apart need, and a true minus."""
    digits = max(0, -math.floor(math.log10(step) + 1e-9))
    text = f"{abs(value):,.{digits}f}"
    return f"\u2212{text}" if value < 0 and float(text.replace(",", "")) else text


# --- scales ----------------------------------------------------------------------------------


@dataclass
class Scale:
    """Values of one axis to places. `kind` is temporal, quantitative or discrete."""

    kind: str
    domain: list[Any]
    start: float = 0.0
    end: float = 1.0
    _at: dict[Any, float] = field(default_factory=dict)

    def span(self, start: float, end: float) -> None:
        """Set the places of the domain's ends."""
        self.start, self.end = start, end
        if self.kind == "discrete":
            step = (end - start) / max(len(self.domain), 1)
            self._at = {v: start + step * (i + 0.5) for i, v in enumerate(self.domain)}

    @property
    def band(self) -> float:
        """Width of a bar on a discrete axis: the step less the gap Vega-Lite leaves."""
        return abs(self.end - self.start) / max(len(self.domain), 1) * 0.9

    def value(self, raw: Any) -> float | None:
        """A number out of a cell; None where nothing is known."""
        if not known(raw):
            return None
        return day_number(raw) if self.kind == "temporal" else float(raw)

    def place(self, value: float) -> float:
        """Place of a number on a continuous axis."""
        low, high = self.domain
        share = (value - low) / (high - low) if high > low else 0.5
        return self.start + share * (self.end - self.start)

    def at(self, raw: Any) -> float | None:
        """Place of a cell's value; None where it has none."""
        if self.kind == "discrete":
            return self._at.get(raw)
        value = self.value(raw)
        return None if value is None else self.place(value)
