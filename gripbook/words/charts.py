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
#: Kinds of work at lanes and phases of a chart.
WORK = Table({"hang": mark("hangs"), "repeater": mark("repeaters"), "pull": mark("pulls")})
OUTCOMES = Table(
    {
        "finished": mark("finished"),
        "pull": "",
        "failed": mark("to the limit"),
        "stopped": mark("stopped early"),
    }
)
SIDES = Table({"left": mark("left"), "right": mark("right"), "both": mark("both")})
PLACES = Table({"rock": mark("rock"), "indoor": mark("indoors"), "": mark("place not recorded")})


def short_day(day: dt.date) -> str:
    """A day as axes write it: 5 Jan."""
    return say("{day}~{month}", day=str(day.day), month=short_month(day))


def short_month(day: dt.date) -> str:
    """A month as axes write it: Jan."""
    return say(_MONTHS[day.month - 1])


def where(grip: str, hand: str, edge_mm: float = math.nan) -> str:
    """Grip, hand and edge: half crimp, left, 20 mm."""
    words = fmt.HAND_WORDS[hand] if hand == "both" else SIDES[hand]
    edge = f", {fmt.with_unit(edge_mm, 'mm')}" if math.isfinite(edge_mm) else ""
    return f"{fmt.grip(grip)}, {words}{edge}"


def grip_and_side(grip: str, hand: str) -> str:
    """Grip, and the hand where it is one: half crimp, left."""
    return fmt.grip(grip) if hand == "both" else f"{fmt.grip(grip)}, {SIDES[hand]}"


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
    return f"{SIDES[hand]} {fmt.mass(kg, 0)}"
