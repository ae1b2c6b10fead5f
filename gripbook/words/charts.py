"""The words at the marks and axes of charts."""

from __future__ import annotations

import datetime as dt
import math

from gripbook.reviews.change_facts import LoggedSet
from gripbook.words import fmt
from gripbook.words.messages import Table, mark, say

VERDICTS = Table(
    {
        "stronger": mark("stronger"),
        "probably_stronger": mark("probably stronger"),
        "no_change": mark("no change"),
        "probably_weaker": mark("probably weaker"),
        "weaker": mark("weaker"),
        "cant_tell": mark("can’t tell"),
        "at_least": mark("can’t tell"),
        "not_measured": mark("can’t tell"),
    }
)
_MONTHS = (
    mark("Jan"),
    mark("Feb"),
    mark("Mar"),
    mark("Apr"),
    mark("May"),
    mark("Jun"),
    mark("Jul"),
    mark("Aug"),
    mark("Sep"),
    mark("Oct"),
    mark("Nov"),
    mark("Dec"),
)
OUTCOMES = Table(
    {
        "finished": mark("finished"),
        "pull": "",
        "failed": mark("to the limit"),
        "stopped": mark("stopped early"),
    }
)

#: Names of pictures and panels, and what stands at marks, where nothing is to fill in.
LABELS = Table(
    {
        "coming": mark("Loads of the last block and of the coming one"),
        "0_asked": mark("0, asked"),
        "all_training": mark("All training"),
        "body_mass": mark("body mass"),
        "body_mass_by_day": mark("Body mass by day"),
        "body_mass_name": mark("Body mass"),
        "days_in_log": mark("Days with finger work in the log"),
        "effort_minutes": mark("effort × minutes"),
        "end": mark("end"),
        "filled_median": mark("filled the median of the best five"),
        "finger_load": mark("Finger load"),
        "finger_work": mark("Finger work"),
        "hollow_the_hardest": mark("hollow the hardest"),
        "in_all": mark("in all"),
        "load_per_hand": mark("Load per hand"),
        "loads_at_end": mark("Loads at the end of the block, grips and hands against one another"),
        "mean_of_four_weeks": mark("mean of four weeks"),
        "minutes_by_day": mark("minutes under load, by day"),
        "minutes_under_load": mark("minutes under load"),
        "no_change": mark("no change"),
        "no_level_noted": mark("no level noted"),
        "not_readable": mark("Not readable"),
        "pain": mark("Pain"),
        "range_90": mark("90~% range"),
        "start": mark("start"),
        "test": mark("test"),
        "the_block": mark("the block"),
        "to_come": mark("to come"),
        "what_changed": mark(
            "What changed: load at the end of the block against its start, with 90 % ranges"
        ),
    }
)


def short_day(day: dt.date) -> str:
    """A day as axes write it: 5 Jan."""
    return say("{day}~{month}", day=str(day.day), month=short_month(day))


def short_month(day: dt.date) -> str:
    """A month as axes write it: Jan."""
    return say(_MONTHS[day.month - 1])


def where(grip: str, hand: str, edge_mm: float = math.nan) -> str:
    """Grip, hand and edge: half crimp, left, 20 mm."""
    words = fmt.HAND_WORDS[hand] if hand == "both" else fmt.SIDE_WORDS[hand]
    edge = f", {fmt.with_unit(edge_mm, 'mm')}" if math.isfinite(edge_mm) else ""
    return f"{fmt.grip(grip)}, {words}{edge}"


def grip_and_side(grip: str, hand: str) -> str:
    """Grip, and the hand where it is one: half crimp, left."""
    return fmt.grip(grip) if hand == "both" else f"{fmt.grip(grip)}, {fmt.SIDE_WORDS[hand]}"


def set_done(row: LoggedSet) -> str:
    """A test as it was done: 95 kg × 10 s; 63 kg × 6 holds; 49 kg."""
    load = fmt.mass(row.load_kg, 0)
    if math.isfinite(row.reps):
        holds = row.reps_done if math.isfinite(row.reps_done) else row.reps
        return say("{load}~×~{holds}~holds", load=load, holds=fmt.number(holds))
    if math.isfinite(row.hang_s):
        hold = row.held_s if math.isfinite(row.held_s) else row.hang_s
        return say("{load}~×~{hold}~s", load=load, hold=fmt.number(hold))
    return load


def both_hands(left_kg: float, right_kg: float) -> str:
    """Both hands' loads of one day."""
    return say(
        "left {left}, right {right}", left=fmt.mass_number(left_kg, 0), right=fmt.mass(right_kg, 0)
    )


def one_hand(hand: str, kg: float) -> str:
    """One hand's load."""
    return f"{fmt.SIDE_WORDS[hand]} {fmt.mass(kg, 0)}"


def across_blocks(series: str) -> str:
    """Name of the picture of a series in several blocks."""
    return say("{series}, across blocks", series=series)


def as_first_set(unit: str) -> str:
    """Axis of loads as they would be in a day's first set."""
    return say("{unit}, as first set", unit=unit)


def with_range(change: str) -> str:
    """A change, and which range it is."""
    return say("{change} (90~% range)", change=change)


def ends_and_change(*, start: str, end: str, change: str) -> str:
    """Loads at both ends, and the change between them."""
    return say("{start} to {end}, {change}", start=start, end=end, change=change)


def climbs_by_month(what: str) -> str:
    """Name of the picture of climbs."""
    return say("{what} by month, before, during and after the block", what=what)


def climbs_of_month(*, month: str, place: str, n: int, hardest: str, median: str) -> str:
    """A month's climbs."""
    return say(
        "{month}, {place}: {n}, hardest {hardest}, median {median}",
        month=month,
        place=place,
        n=fmt.count(n, "{n} climb", "{n} climbs"),
        hardest=hardest,
        median=median,
    )


def unit_on_edge(*, unit: str, edge: str) -> str:
    """Axis of loads on one edge."""
    return say("{unit} on {edge}, 90~% range", unit=unit, edge=edge)


def every_set(work: str) -> str:
    """Name of the picture of all sets of a kind."""
    return say("{work}, every set by day", work=work)


def what_in_unit(*, what: str, unit: str) -> str:
    """What an axis shows, and its unit."""
    return say("{what} ({unit})", what=what, unit=unit)


def measured_otherwise(*, unit: str, sets: str) -> str:
    """What an axis can't show: sets measured in another way."""
    return say("{unit}; {sets} measured otherwise", unit=unit, sets=sets)


def row_not_readable(day: str) -> str:
    """A day whose row could not be read."""
    return say("{day}: a row not readable", day=day)


def measures_by_day(names: str) -> str:
    """Name of the picture of measures."""
    return say("Measures by day: {names}", names=names)


def pain_by_day(places: str) -> str:
    """Name of the picture of pain."""
    return say("Pain by day, {places}, over minutes of finger load", places=places)


def limit_of_block(limit: str) -> str:
    """The level from which pain is flagged."""
    return say("limit of this block, {limit}", limit=limit)


def level_of_10(level: str) -> str:
    """A level of pain."""
    return say("{level} of 10", level=level)


def pain_scale(*, place: str, most: int) -> str:
    """Where pain was felt, and how far the axis reaches."""
    return say("{place}, 0 to 10 (shown to {most})", place=place, most=most)


def quoted(note: str) -> str:
    """What an athlete wrote."""
    return say("“{note}”", note=note)


def on_day(day: str) -> str:
    """When it was."""
    return say("on {day}", day=day)


def minutes_in_all(total: str) -> str:
    """Minutes of the whole block."""
    return say("{total}~min", total=total)


def minutes_of_day(*, day: str, minutes: str) -> str:
    """Minutes of one day."""
    return say("{day}: {minutes}~min under load", day=day, minutes=minutes)


def path_so_far(series: str) -> str:
    """Name of the picture of a running block."""
    return say("{series}: the path so far", series=series)


def path_at(*, day: str, kg: str) -> str:
    """Where the path is on a day."""
    return say("{day}: as a first set {kg}", day=day, kg=kg)


def strength_over_block(grip: str) -> str:
    """Name of the picture of paths."""
    return say("Strength over the block, {grip}", grip=grip)


def unit_and_edge(*, unit: str, edge: str) -> str:
    """Axis of loads on an edge."""
    return say("{unit}, {edge}", unit=unit, edge=edge)


def at_least(kg: str) -> str:
    """A bound from below."""
    return say("at least {kg}", kg=kg)


def set_at(*, day: str, load: str, kg: str) -> str:
    """A set as done, and what it would have been as a day's first."""
    return say("{day}: {load} done, as a first set {kg}", day=day, load=load, kg=kg)


def each_hand(grip: str) -> str:
    """A grip whose hands are followed apart."""
    return say("{grip}, each hand", grip=grip)


def weeks_from_to(*, first: int, last: int) -> str:
    """The weeks of a phase."""
    return say("weeks {first} to {last}", first=first, last=last)


def at_most(kg: str) -> str:
    """A bound from above."""
    return say("at most {kg}", kg=kg)


def ratio_since(*, name: str, day: str) -> str:
    """Name of the picture of strength and body mass."""
    return say("{name} and body mass, change in per cent since {day}", name=name, day=day)


def percent_since(day: str) -> str:
    """Axis of changes in per cent."""
    return say("% since {day}", day=day)


def by_block_week(panels: str) -> str:
    """Name of the picture of work by week."""
    return say("By block week: {panels}", panels=panels)


def value_of_week(*, week: int, value: str, unit: str) -> str:
    """A week's figure."""
    return say("week {week}: {value} {unit}", week=week, value=value, unit=unit)


def mean_of_week(unit: str) -> str:
    """Axis of a weekly mean."""
    return say("{unit}, mean of the week", unit=unit)


def some_days_unknown(tip: str) -> str:
    """A figure that days are missing from."""
    return say("{tip}, some days not known", tip=tip)


def sets_lower(n: int) -> str:
    """Sets that lie under a chart."""
    return fmt.count(n, "{n} set lower", "{n} sets lower")


def sets_higher(n: int) -> str:
    """Sets that lie over a chart."""
    return fmt.count(n, "{n} set higher", "{n} sets higher")


def without_day(n: int) -> str:
    """Rows that belong to no day."""
    return fmt.count(n, "{n} without a day", "{n} without a day")


def weight_in(unit: str, *, lifted: bool) -> str:
    """What a weight is in: kg added; kg on the block, where a gauge reads it."""
    return say("{unit} on the block", unit=unit) if lifted else say("{unit} added", unit=unit)


def from_to(low: str, high: str) -> str:
    """A range: +5 to +7.5."""
    return say("{low} to {high}", low=low, high=high)


def set_missed(what: str) -> str:
    """A session in which a set was missed."""
    return say("{what}, a set missed", what=what)


def thinned(left_out: int, there: int) -> str:
    """That a chart shows some of a long log's marks."""
    return say(
        "A long log: {left_out} of {there} marks are left out. Of each week, or of several, the "
        "highest and the lowest are drawn.",
        left_out=fmt.number(left_out),
        there=fmt.number(there),
    )
