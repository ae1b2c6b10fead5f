"""Loads in words: weights in the athlete's unit, what to put on, what a scale shows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TypeGuard

from gripbook.reviews.proposal import NextBlock, NextLoad, NextRow, Reason
from gripbook.reviews.proposal.plan import RAMP
from gripbook.units import kg_to_lb
from gripbook.words import fmt, mark, say

RAMP_NAME = mark("Easy timed hangs")


def weight(kg: float, units: str, *, sign: bool = True, digits: int = 1) -> str:
    """A weight as its athlete speaks of it: +18.75 kg; +2.5 lb (1.13 kg)."""
    in_kg = fmt.with_unit(kg, "kg", 2, sign=sign)
    if units != "lb":
        return in_kg
    return f"{fmt.with_unit(kg_to_lb(kg), 'lb', digits, sign=sign)} ({in_kg})"


def plain_weight(kg: float, units: str, *, sign: bool = False, digits: int | None = None) -> str:
    """A weight in the athlete's unit alone."""
    value, places = (kg_to_lb(kg), 1) if units == "lb" else (kg, 2)
    return fmt.with_unit(
        value, units, places if digits is None or units == "kg" else digits, sign=sign
    )


def bare_weight(kg: float, units: str, *, sign: bool) -> str:
    """A weight without its unit."""
    return fmt.number(kg_to_lb(kg) if units == "lb" else kg, 1 if units == "lb" else 2, sign=sign)


def pieces_text(pieces: Sequence[float], units: str) -> str:
    """The plates that make up a weight: 5 + 2.5."""
    scale = kg_to_lb(1.0) if units == "lb" else 1.0
    digits = 1 if units == "lb" else 3
    return " + ".join(fmt.plain(round(round(p * scale, digits), 2)) for p in pieces)


def set_weight(kg: float, units: str, pieces: Sequence[float] = (), *, lifted: bool) -> str:
    """A weight and what makes it up: +7.5 kg (5 + 2.5); −5 kg (pulley: 5)."""
    text = plain_weight(kg, units, sign=not lifted)
    inside = [fmt.with_unit(kg, "kg", 2, sign=not lifted)] if units == "lb" else []
    if pieces and kg < 0:
        inside.append(say("pulley: {pieces}", pieces=pieces_text(pieces, units)))
    elif len(pieces) > 1:
        inside.append(pieces_text(pieces, units))
    return f"{text} ({fmt.clauses(inside)})" if inside else text


def reading(kg: float, load: NextLoad | None, plan: NextBlock) -> str:
    """A pull as it is read: 30 kg; 37 kg on the scale."""
    if not read_left(load):
        return weight(kg, plan.units, sign=False, digits=0)
    left = weight(on_scale(kg, load), plan.units, sign=False, digits=0)
    return say("{kg} on the scale", kg=left)


def read_left(load: NextLoad | None) -> TypeGuard[NextLoad]:
    """Whether a pull is read as what is left on a scale under the feet."""
    return load is not None and math.isfinite(load.stand_kg)


def on_scale(kg: float, load: NextLoad) -> float:
    """What the scale under the feet shows, kg, to the half on the side of less on the fingers."""
    return math.ceil(2 * (load.stand_kg - kg) - 1e-9) / 2


def load_text(load: NextLoad, plan: NextBlock, *, pieces: bool = True) -> str:
    """What to put on: +7.5 kg; −16.25 kg (pulley: 10 + 5 + 1.25); all out."""
    if load.kind == "hold":
        return say("none")
    if load.kind == "expect":
        if load.force_kg is None:
            return say("all out")
        return say("all out; stop for the day {beyond}", beyond=_beyond(load.force_kg, load, plan))
    if load.kind == "below":
        return _below(load.force_kg, load, plan)
    kg = load.kg
    if load.reason is Reason.AHEAD:
        return say("worked out once this block has had them")
    if kg is None:
        return say("clearly easy") if load.reason is Reason.RAMP else say("no load proposed")
    return set_weight(
        kg, plan.units, load.pieces if pieces else (), lifted=load.force_kg is not None
    )


def _beyond(kg: float, load: NextLoad, plan: NextBlock) -> str:
    """Weaker than so much on the fingers, as it is read: below 27 kg; above 40 kg on the scale."""
    if not read_left(load):
        return say("below {kg}", kg=weight(kg, plan.units, sign=False, digits=0))
    left = weight(on_scale(kg, load), plan.units, sign=False, digits=0)
    return say("above {kg} on the scale", kg=left)


def _below(most_kg: float | None, load: NextLoad | None, plan: NextBlock) -> str:
    """Pulls that are held back: not all out: at most 32 kg on the fingers."""
    if most_kg is None:
        return say("not all out: clearly below the last pulls")
    if read_left(load):
        least = weight(on_scale(most_kg, load), plan.units, sign=False, digits=0)
        return say("not all out: at least {least} left on the scale", least=least)
    most = weight(most_kg, plan.units, sign=False, digits=0)
    return say("not all out: at most {most} on the fingers", most=most)


def row_load(row: NextRow, plan: NextBlock) -> str:
    """A row's load for the table: +7.5 kg; +7.5 to +10 kg; all out."""
    if row.test:
        aim = aim_of(row, plan)
        if not aim:
            return say("one set to the limit")
        return say("one set to the limit, about {aim}", aim=aim)
    load = load_of(row, plan)
    if load is not None and load.reason is Reason.AHEAD:
        return say("worked out once this block has had them")
    if row.reason is Reason.PULL_GAP:
        return _below(row.high_kg, load, plan)
    if row.exercise == "pull" and load is not None:
        return load_text(load, plan)
    if row.reason is Reason.RAMP:
        return say("clearly easy: feet on something, or weight off")
    if row.low_kg is None or row.high_kg is None:
        return say("no load proposed")
    lifted = load is not None and load.force_kg is not None
    if row.low_kg == row.high_kg:
        return set_weight(row.low_kg, plan.units, row.pieces, lifted=lifted)
    low = bare_weight(row.low_kg, plan.units, sign=not lifted)
    return say("{low} to {high}", low=low, high=weight(row.high_kg, plan.units, sign=not lifted))


def aim_of(row: NextRow, plan: NextBlock) -> str:
    """What a test is likely to reach; "" where the log doesn't tell."""
    if row.aim_kg is None:
        return ""
    if row.exercise == "pull":
        return reading(row.aim_kg, load_of(row, plan), plan)
    return plain_weight(row.aim_kg, plan.units, sign=not row.aim_gauge)


def load_of(row: NextRow, plan: NextBlock) -> NextLoad | None:
    """The start load that a row rests on."""
    return next(
        (
            x
            for x in plan.loads
            if (x.phase, x.grip, x.hand) == (row.phase, row.grip, row.hand)
            and same_edge(x.edge_mm, row.edge_mm)
        ),
        None,
    )


def same_edge(a: float, b: float) -> bool:
    """Whether two edges are of one depth, mm; two that are not known are too."""
    return a == b or (math.isnan(a) and math.isnan(b))


def phase_name(name: str) -> str:
    """A phase's name; one that the facts named themselves in words."""
    if name == RAMP:
        return say(RAMP_NAME)
    if name in fmt.EXERCISE_WORDS:
        return fmt.sentence(fmt.EXERCISE_WORDS[name])
    return name


def last_text(load: NextLoad, plan: NextBlock) -> str:
    """The last load and its day: +10 kg on 26 March."""
    assert load.last is not None
    if load.exercise == "pull" and math.isnan(load.last.kg):
        return say("the pulls of {day}", day=fmt.day(load.last.day, year=False))
    kg = 0.0 if math.isnan(load.last.kg) else load.last.kg
    what = set_weight(kg, plan.units, lifted=load.last.lifted)
    return say("{what} on {day}", what=what, day=fmt.day(load.last.day, year=False))


def often(chance: float) -> str:
    """A chance in words: nine times in ten; 19 times in 20."""
    known = {0.9: mark("nine times in ten"), 0.95: mark("19 times in 20")}
    nearest = next((text for value, text in known.items() if abs(value - chance) < 1e-9), None)
    if nearest is not None:
        return say(nearest)
    return say("{n} times in 100", n=round(100 * chance))


def percent(share: float) -> str:
    """A share in per cent: 0.925 is 92.5 %."""
    return f"{fmt.number(100 * share, 2)}{fmt.NBSP}%"
