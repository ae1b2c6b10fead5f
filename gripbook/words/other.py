"""Other work and climbing, a line each; no grade is foretold from grip."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from gripbook.derive.climbs import AROUND_DAYS, BEST, GROUPS
from gripbook.derive.measures import LEVEL, REPEAT_DAYS, Interval
from gripbook.derive.records import records
from gripbook.words import fmt
from gripbook.words.messages import Table, mark, say

if TYPE_CHECKING:
    from gripbook.reviews.climbed import Climbed
    from gripbook.reviews.measured import (
        Measured,
        MeasureDifference,
        MeasureTrend,
        OtherWork,
    )

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
        "core": mark("core"),
        "antagonist": mark("antagonists"),
        "mobility": mark("mobility"),
        "climbing": mark("climbing"),
        "other": mark("other work"),
    }
)
PERIOD_WORDS = Table({"before": mark("before"), "during": mark("during"), "after": mark("after")})
DISCIPLINES = Table({"route": mark("Routes"), "boulder": mark("Boulders")})
PLACE_WORDS = Table({"rock": mark("rock"), "indoor": mark("indoors"), "": mark("place not noted")})


# --- other work -------------------------------------------------------------------------------

#: Titles of the section's folds and tables, and what stands where one is empty.
TITLES = Table(
    {
        "measures": mark("Measures by side, first and last day as logged; error from repeats"),
        "climbs": mark(
            "Climbs done by month; median of the best five or fewer, also on the IRCRA "
            "scale (1 to 32; Draper and others 2015)"
        ),
        "climbs_by_month": mark("climbs by month"),
        "charts_and_figures": mark("Charts and figures"),
        "done": mark("Done"),
    }
)


def work(items: Iterable[OtherWork]) -> str:
    """Other work against its target, in one line: Core 13 of 18 planned days, mobility 23 of 27."""
    parts: list[str] = []
    due_told = False  # "planned days" is said once, at the first that names a plan
    for w in items:
        kind = _KIND_WORDS.get(w.kind, w.kind)
        if not w.due:
            days = fmt.count(w.done, "{n} day", "{n} days")
            parts.append(say("{kind} {days} (none planned)", kind=kind, days=days))
        elif due_told:
            parts.append(say("{kind} {done} of {due}", kind=kind, done=w.done, due=w.due))
        else:
            due_told = True
            parts.append(
                say("{kind} {done} of {due} planned days", kind=kind, done=w.done, due=w.due)
            )
    return f"{fmt.sentence(fmt.listing(parts))}." if parts else ""


# --- measures ---------------------------------------------------------------------------------


def measure_name(measure: str) -> str:
    """A measure in words: `front_split_gap` is front split gap."""
    if measure in _MEASURE_WORDS:
        return _MEASURE_WORDS[measure]
    return measure.replace("_", " ").strip()


def trend_name(t: MeasureTrend) -> str:
    """A measure with its side: front split gap, left."""
    name = measure_name(t.measure)
    return say("{name}, {side}", name=name, side=fmt.SIDE_WORDS[t.side]) if t.side else name


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


def measures(trends: Iterable[MeasureTrend]) -> tuple[tuple[str, str], ...]:
    """A line for each measure that changed; those whose change can't be told share one."""
    lines: list[tuple[str, str]] = []
    open_ones: list[str] = []
    once: list[str] = []
    for t in trends:
        if t.verdict in ("better", "worse"):
            lines.append((fmt.sentence(trend_name(t)), fmt.sentence(measure_change(t))))
        else:
            (once if t.verdict == "one_visit" else open_ones).append(trend_name(t))
    if open_ones and not lines:
        lines.append((say("Can't tell"), f"{fmt.sentence(fmt.listing(open_ones))}."))
    if once:
        lines.append((say("Measured once"), f"{fmt.sentence(fmt.listing(once))}."))
    return tuple(lines)


def measure(t: MeasureTrend) -> str:
    """A measure's first and last, and its change with the 90 % range where one is known."""
    return fmt.headed(fmt.sentence(trend_name(t)), measure_change(t))


def measure_change(t: MeasureTrend) -> str:
    """What a measure did, without its name."""
    first, last = t.rows.iloc[0], t.rows.iloc[-1]
    on_first = fmt.day(first["date"].date(), year=False)
    if t.verdict == "one_visit":
        value = _amount(float(t.rows["value"].mean()), t.unit)
        return say("{value} on {day}; measured once, so no change.", value=value, day=on_first)
    if t.verdict == "no_repeat":
        return say(
            "{first} on {on_first}, {last} on {on_last}; can't tell without a repeat within "
            "{days}~days.",
            first=_amount(first["value"], t.unit),
            on_first=on_first,
            last=_amount(last["value"], t.unit),
            on_last=fmt.day(last["date"].date(), year=False),
            days=REPEAT_DAYS,
        )
    change = t.trend.change
    digits = _digits(change.high - change.low)
    more, less = _more_less(t.measure, t.unit)
    ends = {
        "start": fmt.number(t.trend.start, digits),
        "end": _amount(t.trend.end, t.unit, digits),
    }
    if t.verdict == "unclear":
        return say(
            "{start} to {end}; can't tell, from {low} {less} to {high} {more}.",
            low=_amount(-change.low, t.unit, digits),
            less=less,
            high=_amount(change.high, t.unit, digits),
            more=more,
            **ends,
        )
    near, far = sorted((abs(change.low), abs(change.high)))
    values = {
        "near": fmt.number(near, digits),
        "far": _amount(far, t.unit, digits),
        "word": more if change.low > 0 else less,
        **ends,
    }
    if not t.down_is_better:
        return say("{start} to {end}, {near} to {far} {word}.", **values)
    if t.verdict == "better":
        return say("{start} to {end}, {near} to {far} {word} (better).", **values)
    return say("{start} to {end}, {near} to {far} {word} (worse).", **values)


def difference(d: MeasureDifference) -> str:
    """Left against right, or front against side split, at the last visit."""
    if d.kind == "sides":
        return say(
            "{measure}, left against right: {words}.",
            measure=fmt.sentence(measure_name(d.measure)),
            words=_against(d.difference, d.unit, _more_less(d.measure, d.unit)),
        )
    values = {
        "front": _amount(d.front, d.unit, 0),
        "side": _amount(d.side, d.unit, 0),
        "words": _against(d.difference, d.unit, (say("larger"), say("smaller"))),
    }
    if d.front_sides > 1:
        return say(
            "Front split gap {front} (mean of its sides), side split gap {side} at the last "
            "visit; side against front: {words}.",
            **values,
        )
    return say(
        "Front split gap {front}, side split gap {side} at the last visit; side against front: "
        "{words}.",
        **values,
    )


def _against(d: Interval, unit: str, words: tuple[str, str]) -> str:
    """How one compares with the other, `words` for more and less."""
    more, less = words
    if math.isnan(d.low):
        if d.value == 0:
            return say("the same as read; can't tell without a repeat")
        return say(
            "{amount} {word} as read; can't tell without a repeat",
            amount=_amount(abs(d.value), unit),
            word=more if d.value > 0 else less,
        )
    digits = _digits(d.high - d.low)
    if d.low > 0 or d.high < 0:
        near, far = sorted((abs(d.low), abs(d.high)))
        return say(
            "{near} to {far} {word}",
            near=fmt.number(near, digits),
            far=_amount(far, unit, digits),
            word=more if d.low > 0 else less,
        )
    return say(
        "can't tell, from {low} {less} to {high} {more}",
        low=_amount(-d.low, unit, digits),
        less=less,
        high=_amount(d.high, unit, digits),
        more=more,
    )


def measures_note(m: Measured) -> str:
    """How the ranges of measures are made, for a fold; "" without one."""
    if not m.with_range:
        return ""
    text = say(
        "A range holds the true change in about nine of ten cases. It rests on how far your "
        "readings on days at most {days} apart lie from each other.",
        days=REPEAT_DAYS,
    )
    if m.with_range < 3:
        return text
    chance = max(1, round(m.with_range * (1 - LEVEL)))
    more = say(
        "Of {measures} {few} may seem changed by chance alone.",
        measures=fmt.count(m.with_range, "{n} measure", "{n} measures"),
        few=fmt.in_words(chance),
    )
    return f"{text} {more}"


def measures_left_out(m: Measured) -> str:
    """How many measures a page without body mass leaves out; "" for none."""
    if not m.left_out:
        return ""
    return fmt.sentence(
        fmt.count(
            m.left_out,
            "{n} measure in kilograms or of the body left out: body mass is not shown on this "
            "page.",
            "{n} measures in kilograms or of the body left out: body mass is not shown on this "
            "page.",
        )
    )


# --- climbing ---------------------------------------------------------------------------------


def group(discipline: str, place: str) -> str:
    """Routes, rock."""
    return say(
        "{discipline}, {place}", discipline=DISCIPLINES[discipline], place=PLACE_WORDS[place]
    )


def climbs(c: Climbed) -> tuple[tuple[str, str], ...]:
    """A line for each discipline and place: before, during and after the block."""
    return tuple((group(*key), _periods(c.begun, own)) for key, own in _by_period(c).items())


def _periods(begun: Iterable[str], by_period: dict[str, Any]) -> str:
    """The periods with climbs, then those without: After 7a+ ...; none logged before, during."""
    parts = [_period(p, by_period[p]) for p in begun if p in by_period]
    none = [PERIOD_WORDS[p] for p in begun if p not in by_period]
    if none:
        parts.append(say("none logged {periods}", periods=fmt.one_of(none)))
    return f"{fmt.sentence(fmt.clauses(parts))}."


def _by_period(c: Climbed) -> dict[tuple[str, str], dict[str, Any]]:
    return {
        (str(key[0]), str(key[1])): {p.period: p for p in records(group)}
        for key, group in c.periods.groupby(GROUPS, sort=False)
    }


def _period(period: str, p: Any) -> str:
    word = PERIOD_WORDS[period]
    if p.climbs == 1:
        return say("{period} {grade} (one climb)", period=word, grade=p.hardest_grade)
    return say(
        "{period} median {median}, hardest {hardest} ({climbs})",
        period=word,
        median=p.median_grade,
        hardest=p.hardest_grade,
        climbs=fmt.count(p.climbs, "{n} climb", "{n} climbs"),
    )


def climbs_notes(c: Climbed) -> Iterable[str]:
    """How to read the grades, and what was not counted, for a fold."""
    if c.periods.empty and not c.unknown:
        return
    yield say(
        "Before and after are the {weeks} on either side of the block. The first grade is the "
        "median of the best {climbs}, of all where there are fewer.",
        weeks=fmt.count(AROUND_DAYS // 7, "{n} week", "{n} weeks"),
        climbs=fmt.count(BEST, "{n} climb", "{n} climbs"),
    )
    yield say(
        "A stronger grip need not show in the grade: skill, tactics, rock and conditions count "
        "too, and a few climbs are few data."
    )
    if (c.periods["discipline"] == "boulder").any():
        yield say("A boulder grade is known to plus or minus one on the scale of comparison.")
    if c.attempts:
        yield fmt.sentence(
            fmt.count(c.attempts, "{n} attempt not counted.", "{n} attempts not counted.")
        )
    if c.unstyled:
        yield fmt.sentence(
            fmt.count(
                c.unstyled,
                "{n} climb without a style counted as done; write attempt if it was not.",
                "{n} climbs without a style counted as done; write attempt where one was not.",
            )
        )
    if c.unknown:
        yield fmt.sentence(
            fmt.count(
                c.unknown,
                "{n} climb left out: the published comparison doesn't hold its grade.",
                "{n} climbs left out: the published comparison doesn't hold their grades.",
            )
        )


def span(first: dt.date, last: dt.date, period: str) -> str:
    """First and last day of a month's climbs, and whether before, during or after the block."""
    return say(
        "{first} to {last}, {period}",
        first=fmt.day(first, year=False),
        last=fmt.day(last),
        period=PERIOD_WORDS[period],
    )


def measures_counted(n: int) -> str:
    """So many measures."""
    return fmt.count(n, "{n} measure", "{n} measures")
