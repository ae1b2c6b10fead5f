"""What sets a load: rules, the most each allows, and the heaviest option within them."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from gripbook.reviews.proposal.holds import Hold

Kind = Literal["start", "expect", "below", "hold", "open"]


class Reason(StrEnum):
    """What sets a load, or why there is none."""

    # rules of strength and step
    CHANCE = "chance"  # the heaviest that keeps the wanted chance for the last set
    KEEP = "keep"  # not lower than a share of the last load mastered
    STEP = "step"  # no more than a step above the last load mastered
    BLOCK_START = "block_start"  # a new block starts no heavier than the last load mastered
    ONE_STEP = "one_step"  # every set was finished: one step of the plates
    AGAIN = "again"  # the last load was not yet mastered in a whole session, or too little was left
    AS_BEFORE = "as_before"  # full crimp and small pockets: never more than before
    # the rule for adding in a running block (up: `RULE`)
    ONE_A_WEEK = "one_a_week"  # a step was taken this week, or the block has just begun
    BACK = "back"  # missed in two sessions running
    AT_ONCE = "at_once"  # half the sets or more missed
    FELT = "felt"  # pain below the limit since the last session
    BLOCK_MOST = "block_most"  # no further above the block's first load
    PLANNED = "planned"  # the block file names it
    # named reasons that lower a start or hold it
    OFF = "off"
    ILL = "ill"
    SORE = "sore"
    BROKEN = "broken"
    LOW_DONE = "low_done"
    EASY_WEEK = "easy_week"
    BODY_MASS = "body_mass"
    RETURN = "return"
    # edges in place of weight
    EDGE_STEP = "edge_step"
    LARGER_EDGE = "larger_edge"
    # no load to set
    ALL_OUT = "all_out"
    HELD = "held"
    HELD_OTHER = "held_other"  # the other side hurts
    STOPPED = "stopped"  # cleared, but this grip, in which pain stopped a set, was not loaded since
    NO_DATA = "no_data"
    NOT_WEIGHED = "not_weighed"  # what hung on the fingers isn't known without a weigh-in
    NO_WEIGHT = "no_weight"  # nothing there is goes low enough
    SMALL_EDGE = "small_edge"
    FIRST_BLOCK = "first_block"
    AHEAD = "ahead"  # the running block has yet to come to it
    # rows of a week
    RULE = "rule"  # by the rule for adding
    EASIER = "easier"  # an easier week
    LATER = "later"  # worked out again before that week
    TEST = "test"
    RAMP = "ramp"
    PULL_GAP = "pull_gap"  # the first pulls after weeks without any


#: Reasons that are over after some weeks of regular sessions.
PASSING = (Reason.OFF, Reason.ILL, Reason.SORE, Reason.BROKEN, Reason.LOW_DONE)


@dataclass(frozen=True, slots=True)
class LoadLimit:
    """One rule and the most it allows: kg added, or kg on the block where a gauge read it."""

    reason: Reason
    most_kg: float


@dataclass(frozen=True, slots=True)
class LastLoad:
    """
    The last load of a series: what may be told of it, and where it stands.

    Attributes
    ----------
    kg : weight added, or on the block where `lifted` (pulls: on the fingers); NaN where the log
        is silent or it may not be told.
    day : its day.
    mastered : whether all sets of a session were finished with it.
    lifted : read by a gauge.
    row : `file:line`.
    """

    kg: float
    day: dt.date
    mastered: bool
    lifted: bool
    row: str


@dataclass(frozen=True, slots=True)
class NextLoad:
    """
    One exercise, grip, hand and edge of the coming block or week.

    Attributes
    ----------
    kind : `start` (load it), `expect` (an all-out pull: no load to set, `force_kg` is what the
        day's last pull still reaches), `below` (a pull held back: at most `force_kg`), `hold` (no
        load), `open` (nothing to go by).
    reason : the rule that binds, or why there is no load; `reasons`: all that bind alike.
    limits : every rule that was looked at, with the most it allows.
    keep_kg : the least that the rules want kept (NaN: none).
    added_kg, force_kg : None where there is none or it may not be told. `pieces`: plates, kg.
    sets : sets a session of this series, as trained; `reps`, `hang_s`, `rest_s` of one set.
    chance, again : wanted chance of the session's last set; that with the last load (NaN: unknown).
    from_edge_mm : the edge before, where the edge changes.
    add_kg : the next step of the plates above the start, None where none is small enough.
    ladder : the loads that the rule for adding goes through from the start, as far as a block goes.
    easy_sets : sets in an easier week, and in the first week back.
    hold : what holds it.
    stand_kg : of pulls read on a scale under the feet, the reading standing (NaN: read otherwise,
        or body mass may not be told).
    """

    phase: str
    exercise: str
    grip: str
    hand: str
    edge_mm: float
    kind: Kind
    reason: Reason
    reasons: tuple[Reason, ...] = ()
    limits: tuple[LoadLimit, ...] = ()
    keep_kg: float = math.nan
    added_kg: float | None = None
    force_kg: float | None = None
    pieces: tuple[float, ...] = ()
    sets: int | None = None
    reps: int | None = None
    hang_s: float | None = None
    rest_s: float | None = None
    last: LastLoad | None = None
    chance: float = math.nan
    again: float = math.nan
    share: float = 1.0
    from_edge_mm: float = math.nan
    add_kg: float | None = None
    ladder: tuple[float, ...] = ()
    easy_sets: int | None = None
    hold: Hold | None = None
    stand_kg: float = math.nan

    @property
    def kg(self) -> float | None:
        """The load to set: kg added, or kg on the block."""
        return self.added_kg if self.force_kg is None else self.force_kg


def decide(
    limits: Sequence[LoadLimit], keep_kg: float, options: Sequence[float]
) -> tuple[float, tuple[Reason, ...]] | None:
    """
    The heaviest option that all rules allow, and the rules that bind.

    Parameters
    ----------
    limits : the most each rule allows.
    keep_kg : the least wanted (NaN: none): it lifts what `Reason.CHANCE` allows, no other rule.
    options : what can be loaded, kg.

    Returns
    -------
    The load and the binding reasons: without all of them together it would be another load, and
    the first alone would do where one alone does. None where no option is low enough.
    """
    kg = heaviest(limits, keep_kg, options)
    if kg is None:
        return None
    chance = next((x.most_kg for x in limits if x.reason is Reason.CHANCE), math.inf)
    kept = chance < kg - 1e-9 and math.isfinite(keep_kg)
    # a rule binds where the next heavier option is beyond it
    above = min((x for x in options if x > kg + 1e-9), default=math.inf)
    tight = [
        x for x in limits if x.most_kg < above - 1e-9 and not (kept and x.reason is Reason.CHANCE)
    ]
    tight.sort(key=lambda x: x.most_kg)
    reasons = [x.reason for x in tight]
    if kept:
        # the chance alone would have allowed less: what keeps it up is named, unless another
        # rule holds the load below what is to be kept
        others = [x for x in limits if x.reason is not Reason.CHANCE]
        if heaviest(others, math.nan, options) != kg:
            return kg, (Reason.KEEP,)
        return kg, tuple(reasons) or (Reason.KEEP,)
    return kg, tuple(dict.fromkeys(reasons))


def heaviest(limits: Sequence[LoadLimit], keep_kg: float, options: Sequence[float]) -> float | None:
    """Give the heaviest option that all limits allow; see `decide`."""
    most = min((x.most_kg for x in limits if x.reason is not Reason.CHANCE), default=math.inf)
    chance = [x.most_kg for x in limits if x.reason is Reason.CHANCE]
    if chance:
        by_strength = chance[0]
        if math.isfinite(keep_kg):
            least = min((x for x in options if x >= keep_kg - 1e-6), default=-math.inf)
            by_strength = max(by_strength, least)
        most = min(most, by_strength)
    return max((x for x in options if x <= most + 1e-6), default=None)
