"""Strength and body mass in words: neutral, without praise, cause or target."""

from __future__ import annotations

import math

from gripbook.reviews.body_mass import (
    WEIGH_INS_AT_AN_END,
    BodyMass,
    BodyMassState,
    End,
    Fall,
    FallOver,
)
from gripbook.reviews.change_facts import RatioChange
from gripbook.reviews.people import Athlete
from gripbook.words import Table, fmt, mark, say, say_count, series

#: The section's heading, to which the first screen leads.

#: Titles of the section's folds and tables, and what stands where one is empty.
TITLES = Table(
    {
        "ratio": mark("Estimated load over the body mass of that day"),
        "best_ratio": mark(
            "Best set of each week, on the edge used most, over the body mass of that day"
        ),
        "every_weigh_in": mark("Every weigh-in"),
    }
)


def body_mass(b: BodyMass) -> str:
    """What the weigh-ins say; "" where body mass is hidden."""
    if b.state is BodyMassState.HIDDEN:
        return ""
    if b.state is BodyMassState.NOT_WEIGHED:
        return say("No weigh-in is logged.")
    if b.start is None or b.end is None:
        return say(
            "We can't tell how body mass changed: {days}, and it takes {number} close together at "
            "each end of the block.",
            days=say_count(b.days, "{n} weigh-in", "{n} weigh-ins", n=fmt.in_words(b.days)),
            number=fmt.in_words(WEIGH_INS_AT_AN_END),
        )
    return say(
        "Body mass: {start} ({first_days}), then {end} ({last_days}), {pct}~%; each is a mean of "
        "{number} weigh-ins.",
        start=fmt.mass(b.start.mean_kg),
        first_days=_days(b.start),
        end=fmt.mass(b.end.mean_kg),
        last_days=_days(b.end),
        pct=fmt.number(b.change_pct, 1, sign=True),
        number=fmt.in_words(WEIGH_INS_AT_AN_END),
    )


def _days(end: End) -> str:
    return say(
        "{first} to {last}",
        first=fmt.day(end.first.date(), year=False),
        last=fmt.day(end.last.date(), year=False),
    )


def fall(f: Fall) -> str:
    """A fall in figures: body mass is 6.5 % lower than at the block's start."""
    pct = fmt.number(f.pct)
    if f.over is FallOver.BLOCK:
        return say("body mass is {pct}~% lower than at the block's start", pct=pct)
    return say(
        "body mass fell by {pct}~% in four weeks, {first} to {last}",
        pct=pct,
        first=fmt.day(f.first.first.date(), year=False),
        last=fmt.day(f.last.last.date(), year=False),
    )


def physician(f: Fall, athlete: Athlete) -> str:
    """The point for a physician, with its figure and the next step."""
    return say(
        "{fell}. Whatever the reason, see {who} before a harder block.",
        fell=fmt.sentence(fall(f)),
        who=whom(athlete),
    )


def why_physician() -> str:
    """Why a fall of body mass is a point for a physician."""
    return say(
        "Too little energy for the training done harms health (relative energy deficiency in "
        "sport, IOC 2023)."
    )


def whom(athlete: Athlete) -> str:
    """Who is to be asked about body mass."""
    return say("a physician, together with a guardian") if athlete.minor else say("a physician")


def answer(r: RatioChange, b: BodyMass) -> str:
    """The section's answer: load over body mass at both ends, like with like."""
    edge = r.series.edge_mm
    mass = (
        say("body mass (a mean of {number} weigh-ins)", number=fmt.in_words(WEIGH_INS_AT_AN_END))
        if b.measured
        else say("body mass")
    )
    parts = [
        say(
            "{name} over {mass}: {start} at the start, {end} at the end{where}, {low} to "
            "{high}~% (90~% range).",
            name=fmt.sentence(series.capacity(r.series)),
            mass=mass,
            start=fmt.number(r.start, 2, trim=False),
            end=fmt.number(r.end, 2, trim=False),
            where=say(", on {edge} both times", edge=fmt.with_unit(edge, "mm"))
            if math.isfinite(edge)
            else "",
            low=fmt.number(r.ratio_pct.low, 0, sign=True),
            high=fmt.number(r.ratio_pct.high, 0, sign=True),
        )
    ]
    if b.fall is not None:
        parts.append(say("A ratio that rises because body mass falls is no gain in strength."))
    return " ".join(parts)


def weigh_ins(unit: str) -> str:
    """Caption of the table of weigh-ins."""
    return say("Weigh-ins of the block and the week before it, in {unit}", unit=unit)


def weigh_ins_counted(n: int) -> str:
    """So many weigh-ins."""
    return fmt.count(n, "{n} weigh-in", "{n} weigh-ins")
