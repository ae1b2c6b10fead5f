"""Core, mobility and other measures: what moved beyond the athlete's own error, in words."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from gripbook.derive.measures import (
    AROUND_BLOCK_DAYS,
    LEVEL,
    REPEAT_DAYS,
    Interval,
    OwnError,
    Trend,
    by_day,
    difference,
    error_of,
    last_visit,
    trend,
)
from gripbook.logs import Block
from gripbook.reviews.dose import Dose
from gripbook.reviews.people import Athlete
from gripbook.units import kg_to_lb
from gripbook.words import Table, fmt, mark, say

NO_REPEAT = mark("no repeat, so no error known")
FRONT, SIDE = "front_split_gap", "side_split_gap"
#: Names that speak of the body itself: left out where body mass is hidden, like all in kilograms.
_BODY = re.compile(r"mass|weigh|bmi|fat|waist|hip_circ|skin_?fold|lean|muscle|lb\b|kg")
#: Measures that the log format names; another one is told as it is written.
_MEASURE_WORDS = Table(
    {
        "front_split_gap": mark("front split gap"),
        "side_split_gap": mark("side split gap"),
        "handstand_hold": mark("handstand hold"),
        "l_sit_hold": mark("L-sit hold"),
    }
)
_KIND_WORDS = Table(
    {
        "core": mark("Core"),
        "antagonist": mark("Antagonists"),
        "mobility": mark("Mobility"),
        "climbing": mark("Climbing"),
        "other": mark("Other work"),
    }
)


@dataclass(frozen=True, slots=True, eq=False)
class MeasureTrend:
    """
    One measure and side over the block.

    `rows`: `date`, `value` (the day's mean), `tries`. `first_row`, `last_row`: where in the log
    the first and the last reading stand.
    """

    measure: str
    side: str
    unit: str
    name: str
    error: OwnError
    trend: Trend
    rows: pd.DataFrame
    sentence: str
    first_row: str
    last_row: str

    @property
    def down_is_better(self) -> bool:
        """Whether the measure gets better downwards."""
        return self.measure.endswith("_gap")


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """
    All measures of a block, `compared` (left and right, front and side split) in sentences,
    `plan` what core, antagonist and mobility days came to, `note` what to bear in mind, `left_out`
    how many measures the page may not show.
    """

    trends: tuple[MeasureTrend, ...]
    compared: tuple[str, ...]
    plan: tuple[str, ...]
    note: str
    left_out: int


def describe_measures(
    measures: pd.DataFrame, block: Block, athlete: Athlete, dose: Dose
) -> Measured:
    """
    Put one athlete's measures into words.

    Parameters
    ----------
    measures : frame of measures.csv. All its repeats tell the error; the trend is that of the block
        and two weeks on either side.
    """
    around = pd.Timedelta(days=AROUND_BLOCK_DAYS)
    low, high = pd.Timestamp(block.start) - around, pd.Timestamp(block.end) + around
    found: list[MeasureTrend] = []
    left_out = 0
    if athlete.units == "lb":  # a measure of a mass is told as all others are
        in_kg = measures["unit"] == "kg"
        value = measures["value"].where(~in_kg, kg_to_lb(1.0) * measures["value"])
        measures = measures.assign(value=value, unit=measures["unit"].where(~in_kg, "lb"))
    for (measure, side, unit), own in measures.groupby(["measure", "side", "unit"], sort=True):
        inside = own[own["date"].between(low, high)]
        if inside.empty:
            continue
        if not athlete.show_body_mass and (unit in ("kg", "lb") or _BODY.search(measure.lower())):
            left_out += 1
            continue
        found.append(_describe(measure, side, unit, own, inside))
    return Measured(
        tuple(found),
        (*_sides(found), *_splits(found)),
        tuple(_plan(dose)),
        _note(found),
        left_out,
    )


def measure_words(measure: str) -> str:
    """A measure in words: `front_split_gap` is front split gap."""
    if measure in _MEASURE_WORDS:
        return _MEASURE_WORDS[measure]
    return measure.replace("_", " ").strip()


def _describe(
    measure: str, side: str, unit: str, own: pd.DataFrame, inside: pd.DataFrame
) -> MeasureTrend:
    error = error_of(by_day(own))
    rows = by_day(inside)
    name = measure_words(measure) + (f", {fmt.SIDE_WORDS[side]}" if side else "")
    found = trend(rows, error)
    ordered = inside.sort_values(["date", "line"], kind="stable")
    first, last = ordered.iloc[0], ordered.iloc[-1]
    return MeasureTrend(
        measure=measure,
        side=side,
        unit=unit,
        name=name,
        error=error,
        trend=found,
        rows=rows,
        sentence=fmt.headed(fmt.sentence(name), _words(measure, unit, rows, error, found)),
        first_row=f"{first['file']}:{first['line']}",
        last_row=f"{last['file']}:{last['line']}",
    )


def _digits(width: float) -> int:
    return 0 if width >= 3 else 1


def _amount(value: float, unit: str, digits: int = 1) -> str:
    if digits == 0 and abs(value) < 0.5:
        digits = 1  # an end of a range that is not nothing must not read as nothing
    return fmt.with_unit(value, unit, digits) if unit else fmt.number(value, digits)


def _more_less(measure: str, unit: str) -> tuple[str, str]:
    if measure.endswith("_gap"):
        return say("larger"), say("smaller")
    return (say("longer"), say("shorter")) if unit == "s" else (say("more"), say("less"))


def _words(measure: str, unit: str, rows: pd.DataFrame, error: OwnError, found: Trend) -> str:
    first, last = rows.iloc[0], rows.iloc[-1]
    if found.visits < 2:
        value = _amount(float(rows["value"].mean()), unit)
        return say(
            "{value} on {date}; one visit, so no change can be told.",
            value=value,
            date=fmt.day(first["date"].date()),
        )
    if not error.known:
        return say(
            "{amount} on {date}, {amount_2} on {date_2}; {no_repeat}.",
            amount=_amount(first["value"], unit),
            date=fmt.day(first["date"].date()),
            amount_2=_amount(last["value"], unit),
            date_2=fmt.day(last["date"].date()),
            no_repeat=say(NO_REPEAT),
        )
    change = found.change
    digits = _digits(change.high - change.low)
    more, less = _more_less(measure, unit)
    ends = say(
        "{start} to {amount}",
        start=fmt.number(found.start, digits),
        amount=_amount(found.end, unit, digits),
    )
    if change.low > 0 or change.high < 0:
        word = more if change.low > 0 else less
        near, far = sorted((abs(change.low), abs(change.high)))
        better = ""
        if measure.endswith("_gap"):
            better = say(" (better)") if change.high < 0 else say(" (worse)")
        amounts = say(
            "{near} to {amount}", near=fmt.number(near, digits), amount=_amount(far, unit, digits)
        )
        return say(
            "from about {ends}, {amounts} {word}{better}.",
            ends=ends,
            amounts=amounts,
            word=word,
            better=better,
        )
    return say(
        "about {ends}; unclear: anything from {amount} {less} to {amount_2} {more}.",
        ends=ends,
        amount=_amount(-change.low, unit, digits),
        less=less,
        amount_2=_amount(change.high, unit, digits),
        more=more,
    )


def _against(found: Interval, unit: str, words: tuple[str, str]) -> str:
    """How one compares with the other, `words` for more and less."""
    more, less = words
    if np.isnan(found.low):
        if found.value == 0:
            return say("the same; {no_repeat}", no_repeat=say(NO_REPEAT))
        word = more if found.value > 0 else less
        return fmt.clauses([f"{_amount(abs(found.value), unit)} {word}", say(NO_REPEAT)])
    digits = _digits(found.high - found.low)
    if found.low > 0 or found.high < 0:
        near, far = sorted((abs(found.low), abs(found.high)))
        word = more if found.low > 0 else less
        return say(
            "{near} to {amount} {word}",
            near=fmt.number(near, digits),
            amount=_amount(far, unit, digits),
            word=word,
        )
    return say(
        "not distinguishable (from {amount} {less} to {amount_2} {more})",
        amount=_amount(-found.low, unit, digits),
        less=less,
        amount_2=_amount(found.high, unit, digits),
        more=more,
    )


def _sides(found: list[MeasureTrend]) -> Iterable[str]:
    """Left against right at the last visit."""
    for left in found:
        right = next(
            (t for t in found if (t.measure, t.unit, t.side) == (left.measure, left.unit, "right")),
            None,
        )
        if left.side != "left" or right is None:
            continue
        d = difference(left.rows, right.rows, (left.error, right.error))
        words = _against(d, left.unit, _more_less(left.measure, left.unit))
        yield say(
            "{measure_words}, left against right: {words}.",
            measure_words=fmt.sentence(measure_words(left.measure)),
            words=words,
        )


def _splits(found: list[MeasureTrend]) -> Iterable[str]:
    """Front split (mean of its sides) against side split at the last visit, in the same unit."""
    side = next((t for t in found if t.measure == SIDE and t.side in ("", "both")), None)
    fronts = [t for t in found if t.measure == FRONT and side and t.unit == side.unit]
    if side is None or not fronts:
        return
    front = pd.concat([t.rows for t in fronts])
    both = by_day(front[front.groupby("date")["value"].transform("size") == len(fronts)])
    if both.empty:
        return
    d = difference(side.rows, both, (side.error, error_of(both)))
    ends = [float(last_visit(x)["value"].mean()) for x in (both, side.rows)]
    of = say(" (mean of its sides)") if len(fronts) > 1 else ""
    yield (
        say(
            "Front split gap {amount}{of}, side split gap {amount_2} at the last "
            "visit: the side split's is {against}.",
            amount=_amount(ends[0], side.unit, 0),
            of=of,
            amount_2=_amount(ends[1], side.unit, 0),
            against=_against(d, side.unit, (say("larger"), say("smaller"))),
        )
    )


def _plan(dose: Dose) -> Iterable[str]:
    """Days of other work done against those planned, and in how many weeks the plan was met."""
    for kind, own in dose.targets.groupby("kind", sort=False):
        if kind == "fingers":
            continue
        weeks = len(own)
        met = int((own["done"] >= own["planned"]).sum())
        yield (
            say(
                "{get}: {sum} days done, {sum_2} planned; as many as planned in {met} of "
                "{weeks} weeks.",
                get=_KIND_WORDS.get(str(kind), str(kind)),
                sum=int(own["done"].sum()),
                sum_2=int(own["planned"].sum()),
                met=met,
                weeks=weeks,
            )
        )


def _note(found: list[MeasureTrend]) -> str:
    known = [t for t in found if t.error.known and t.trend.visits > 1]
    if not known:
        return ""
    text = say(
        "A range holds the true change in about nine of ten cases. It rests on "
        "the athlete's own error: how far readings on days at most {repeat_days} "
        "apart lie from each other.",
        repeat_days=REPEAT_DAYS,
    )
    if len(known) > 2:
        chance = max(1, round(len(known) * (1 - LEVEL)))
        text += say(
            " Of {measures} {few} may seem changed by chance alone.",
            measures=fmt.count(len(known), "{n} measure", "{n} measures"),
            few=fmt.in_words(chance),
        )
    return text
