"""Names of series, loads with their range, and logged sets, as a page writes them."""

from __future__ import annotations

import math
from collections.abc import Iterable

from gripbook.reviews.change_facts import LoggedSet, SeriesChange
from gripbook.reviews.shown import ADDED, DIFFERENCE, LOAD
from gripbook.strength import SeriesFit
from gripbook.words import Table, fmt, mark, say, say_count

#: What a load is shown as, by the column `shown_as` of a review's sets.
SHOWN_AS = Table(
    {
        LOAD: mark("load on the fingers"),
        ADDED: mark("added weight"),
        DIFFERENCE: mark("difference to the first pull"),
    }
)
_ONE_HAND_PULL = Table({"left": mark("left pull"), "right": mark("right pull")})


def capacity(s: SeriesChange) -> str:
    """What was done, with the hold it is stated for: timed hang, 10 s."""
    if s.capacity == "hang":
        return say("timed hang, {seconds}~s", seconds=fmt.number(s.reference_s))
    if s.capacity == "repeater":
        return say(
            "repeaters, {holds}~\u00d7~{seconds}~s",
            holds=fmt.number(s.reference_reps),
            seconds=fmt.number(s.reference_s),
        )
    return say("all-out pull") if s.hand == "both" else say("one-arm pull")


def conditions(s: SeriesChange | SeriesFit) -> str:
    """Grip, hand and edge: half crimp, both hands, 20 mm."""
    words = fmt.series(s.grip, s.hand, s.edge_mm)
    return say("{series}, highest reading", series=words) if s.load_kind == "peak" else words


def name(s: SeriesChange) -> str:
    """The whole name: timed hang, 10 s, half crimp, both hands, 20 mm."""
    return f"{capacity(s)}, {conditions(s)}"


def in_a_row(series: Iterable[SeriesChange], grip: str = "") -> str:
    """
    Several series in short: repeaters and both pulls.

    Parameters
    ----------
    grip : the grip that goes without saying; others are named.
    """
    left = list(series)
    out: list[str] = []
    for s in left:
        words = _short(s)
        both = any(
            (x.capacity, x.grip, x.hand) == (s.capacity, s.grip, "left") for x in left
        ) and any((x.capacity, x.grip, x.hand) == (s.capacity, s.grip, "right") for x in left)
        if s.capacity == "pull" and both:
            words = say("both pulls")
        if s.grip != grip:
            words = say("{work} ({grip})", work=words, grip=fmt.grip(s.grip))
        if words not in out:
            out.append(words)
    return fmt.listing(out)


def _short(s: SeriesChange) -> str:
    if s.capacity == "pull" and s.hand in ("left", "right"):
        return _ONE_HAND_PULL[s.hand]
    words = fmt.EXERCISE_WORDS[s.capacity]
    return words if s.hand == "both" else f"{words}, {fmt.HAND_WORDS[s.hand]}"


# --- loads with a range -----------------------------------------------------------------------


def digits(kg: float, width: float) -> int:
    """Decimals of kilograms that a range of this width (kg) supports, in the unit in use."""
    return 0 if fmt.own_mass(width) >= 3 and abs(fmt.own_mass(kg)) >= 1 else 1


def load(kg: float, width: float) -> str:
    """A load in the unit in use, rounded to what a range of this width (kg) supports."""
    return fmt.mass(kg, digits(kg, width))


def range_kg(low: float, high: float) -> str:
    """A change's range: +5 to +17 kg."""
    ends = [fmt.mass_number(x, digits(x, high - low), sign=True) for x in (low, high)]
    return say("{low} to {high}~{unit}", low=ends[0], high=ends[1], unit=fmt.mass_unit())


def range_pct(low: float, high: float) -> str:
    """A range in per cent: +5 to +18 %."""
    places = 0 if high - low >= 3 else 1
    ends = [fmt.number(x, 1 if abs(x) < 1 else places, sign=True) for x in (low, high)]
    return say("{low} to {high}~%", low=ends[0], high=ends[1])


# --- logged sets ------------------------------------------------------------------------------


def weight(row: LoggedSet) -> str:
    """The weight of a set: +23.75 kg where added; the load; where it is hidden, the difference."""
    if math.isfinite(row.added_kg):
        return fmt.mass(row.added_kg, 2, sign=True) if row.added_kg else say("body weight")
    if row.shown_as != DIFFERENCE:
        return fmt.mass(row.shown_kg)
    by = fmt.mass(abs(row.shown_kg))
    if abs(fmt.own_mass(row.shown_kg)) < 0.05:
        return say("as in the first pull")
    if row.shown_kg > 0:
        return say("{by} more than in the first pull", by=by)
    return say("{by} less than in the first pull", by=by)


def length(row: LoggedSet) -> str:
    """How long, of a failed set up to where it failed: 10 s; 6 holds; "" for a pull."""
    failed = row.outcome == "failed"
    reps = row.reps_done if failed and math.isfinite(row.reps_done) else row.reps
    if math.isfinite(reps):
        return say_count(int(reps), "{n}~hold", "{n}~holds", n=fmt.number(reps))
    seconds = row.held_s if failed and math.isfinite(row.held_s) else row.hang_s
    return fmt.with_unit(seconds, "s") if math.isfinite(seconds) else ""


def set_words(row: LoggedSet) -> str:
    """Weight and length: +23.75 kg × 10 s."""
    return " \u00d7 ".join(filter(None, (weight(row), length(row)))).replace(
        " \u00d7 ", f"{fmt.NBSP}\u00d7{fmt.NBSP}"
    )


def left(row: LoggedSet) -> str:
    """What was left, or when it failed: 3 s left; failed after 8 s; "" where not known."""
    if row.outcome == "failed":
        if math.isfinite(row.reps_done):
            return say(
                "failed after {holds}",
                holds=say_count(
                    int(row.reps_done), "{n}~hold", "{n}~holds", n=fmt.number(row.reps_done)
                ),
            )
        if math.isfinite(row.held_s):
            return say("failed after {seconds}~s", seconds=fmt.number(row.held_s))
        return say("failed")
    if row.outcome == "stopped":
        return say("stopped")
    return left_of(row.left, holds=math.isfinite(row.reps))


def ended(row: LoggedSet) -> str:
    """What stands beside `set_words`, which says how far a failed set went: 3 s left; failed."""
    return say("failed") if row.outcome == "failed" else left(row)


def left_of(number: float, *, holds: bool) -> str:
    """What was left: 3 s left; one hold left; nothing left; "" where not noted."""
    if not math.isfinite(number):
        return ""
    if number == 0:
        return say("nothing left")
    if holds:
        return say_count(int(number), "{n}~hold left", "{n}~holds left", n=fmt.number(number))
    return say("{n}~s left", n=fmt.number(number))
