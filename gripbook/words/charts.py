"""The words at the marks and axes of charts."""

from __future__ import annotations

import datetime as dt
import math

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
SIDES = Table({"left": mark("left"), "right": mark("right"), "both": mark("both")})
PLACES = Table({"rock": mark("rock"), "indoor": mark("indoors"), "": mark("place not recorded")})


def short_day(day: dt.date) -> str:
    """A day as axes write it: 5 Jan."""
    return say("{day}~{month}", day=str(day.day), month=short_month(day))


def short_month(day: dt.date) -> str:
    """A month as axes write it: Jan."""
    return say(_MONTHS[day.month - 1])


def capacity(name: str, hold_s: float, holds: float, *, one_arm: bool) -> str:
    """What was measured: Timed hang, 10 s; Repeaters, 6 × 7 s; One-arm pull."""
    if name == "hang":
        return say("Timed hang, {hold}~s", hold=fmt.number(hold_s))
    if name == "repeater":
        return say("Repeaters, {holds}~×~{hold}~s", holds=fmt.number(holds), hold=fmt.number(hold_s))
    return say("One-arm pull") if one_arm else say("All-out pull")


def where(grip: str, hand: str, edge_mm: float = math.nan) -> str:
    """Grip, hand and edge: half crimp, left, 20 mm."""
    words = fmt.HAND_WORDS[hand] if hand == "both" else SIDES[hand]
    edge = f", {fmt.with_unit(edge_mm, 'mm')}" if math.isfinite(edge_mm) else ""
    return f"{fmt.grip(grip)}, {words}{edge}"


def grip_and_side(grip: str, hand: str) -> str:
    """Grip, and the hand where it is one: half crimp, left."""
    return fmt.grip(grip) if hand == "both" else f"{fmt.grip(grip)}, {SIDES[hand]}"


def kilograms(kg: float, width_kg: float, *, unit: bool = True, sign: bool = False) -> str:
    """A load with the decimals that its range supports: 108 kg; +1.5 kg of a narrow range."""
    digits = 0 if fmt.own_mass(width_kg) >= 4 else 1
    if kg and abs(fmt.own_mass(kg)) < 0.5:
        digits = 1  # -0.4 is not 0: the range ends below it
    number = fmt.mass_number(kg, digits, sign=sign)
    return f"{number}{fmt.NBSP}{fmt.mass_unit()}" if unit else number


def set_done(
    name: str, load_kg: float, hold_s: float, holds: float, *, whole: bool = True
) -> str:
    """A set as it was done: 95 kg × 10 s; 63 kg × 6 holds; 49 kg."""
    load = fmt.mass(load_kg, 0 if whole else 1)
    if name == "hang" and math.isfinite(hold_s):
        return say("{load}~× {hold}~s", load=load, hold=fmt.number(hold_s))
    if name == "repeater" and math.isfinite(holds):
        return say("{load}~× {holds}~holds", load=load, holds=fmt.number(holds))
    return load


def set_left(name: str, left: float, outcome: str) -> str:
    """What was left after a set: 3 s left; to the limit; "" where nothing is known."""
    if outcome == "failed":
        return say("to the limit")
    if not math.isfinite(left):
        return ""
    if name == "hang":
        return say("{n}~s left", n=fmt.number(left))
    return say("{n}~left", n=fmt.number(left))


def both_hands(left_kg: float, right_kg: float) -> str:
    """Both hands' loads of one day."""
    return say(
        "left {left}, right {right}", left=fmt.mass_number(left_kg, 0), right=fmt.mass(right_kg, 0)
    )


def one_hand(hand: str, kg: float) -> str:
    """One hand's load."""
    return f"{SIDES[hand]} {fmt.mass(kg, 0)}"
