"""What holds a proposal: pain, words of injury, body mass, age; and what ends a hold."""

from __future__ import annotations

import datetime as dt
import math
from bisect import bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cache, partial
from typing import Literal

import pandas as pd

from gripbook.reviews.block_facts import BlockFacts
from gripbook.reviews.body_mass import FallOver
from gripbook.reviews.notes import Note
from gripbook.reviews.pain import PainFlag

Side = Literal["left", "right"]
_TrainedAfter = Callable[[dt.date], tuple[dt.date, ...]]
SIDES: tuple[Side, ...] = ("left", "right")


@dataclass(frozen=True, slots=True)
class Hold:
    """
    One reason to leave a hand alone: pain (`flag`) or a note with words of injury (`note`).

    Attributes
    ----------
    side : the hand held.
    flag, note : what was felt, or what was written; the other one is None.
    trained_on : finger days since it was last felt or written down.
    """

    side: Side
    flag: PainFlag | None = None
    note: Note | None = None
    trained_on: tuple[dt.date, ...] = ()

    @property
    def date(self) -> dt.date:
        """The last day it was felt or written down."""
        return _date(self.flag.last if self.flag is not None else self._noted.date)

    @property
    def first(self) -> dt.date:
        """The first day of it; what was loaded before was painless."""
        return _date(self.flag.first if self.flag is not None else self._noted.date)

    @property
    def ended(self) -> bool:
        """Whether a physician or physiotherapist has cleared it since; nothing else ends it."""
        over = self.flag.cleared if self.flag is not None else self._noted.past
        return over is not None

    @property
    def _noted(self) -> Note:
        assert self.note is not None
        return self.note


@dataclass(frozen=True, slots=True)
class Cleared:
    """A day on which a physician or physiotherapist ended a hold; `note`: who, with what limits."""

    date: dt.date
    note: str = ""


@dataclass(frozen=True, slots=True)
class MassFall:
    """Body mass fell: `pct` over the block (positive), or `fast` within four weeks."""

    pct: float
    fast: bool


@dataclass(frozen=True, slots=True)
class Holds:
    """
    All that holds a proposal.

    Attributes
    ----------
    minor : under 18: nothing is proposed at all.
    holds : all reasons, most urgent first; one that means both hands stands once for each.
    returning : holds that `cleared` ended, one a hand: the way back.
    cleared : the last day that ended a hold, None where there is none.
    mass : set where body mass fell too far or too fast.
    """

    minor: bool
    holds: tuple[Hold, ...]
    returning: tuple[Hold, ...] = ()
    cleared: Cleared | None = None
    mass: MassFall | None = None

    @property
    def sides(self) -> tuple[Side, ...]:
        """The hands held."""
        return tuple(s for s in SIDES if any(h.side == s for h in self.holds))

    def on(self, hand: str) -> Hold | None:
        """What holds work of this hand; two-hand work is held by either."""
        return next((h for h in self.holds if hand in ("both", h.side)), None)

    def on_all_out(self, hand: str) -> Hold | None:
        """What holds all-out work of this hand: a side that hurts holds the other one's too."""
        return self.on(hand) or next(iter(self.holds), None)

    def return_of(self, hand: str) -> Hold | None:
        """The ended hold from which this hand is on its way back."""
        return next((h for h in self.returning if hand in ("both", h.side)), None)


def gather_holds(r: BlockFacts) -> Holds:
    """
    Gather what holds the athlete's proposal.

    A `cleared` day ends what was felt on or before it and written before it; what is felt at the
    limit, or written down with a sign, after it holds anew. Nothing else ends a hold: a level 0
    written by oneself does not.
    """
    # once for each day of thousands of notes
    trained_after = cache(partial(_trained_after, sorted({_date(d) for d in r.sets["date"]})))
    found = [*_of_pain(r, trained_after), *_of_notes(r, trained_after)]
    standing = tuple(h for h in found if not h.ended)
    ended = {h.side: h for h in reversed(found) if h.ended}
    held = {h.side for h in standing}
    cleared = [Cleared(_date(c.date), c.note) for c in r.pain_to_date.cleared]
    return Holds(
        r.athlete.minor is True,
        standing,
        tuple(ended[s] for s in SIDES if s in ended and s not in held),
        max(cleared, key=lambda c: c.date, default=None) if ended else None,
        _mass_fall(r),
    )


def _of_pain(r: BlockFacts, trained_after: _TrainedAfter) -> Iterable[Hold]:
    for flag in r.pain_to_date.all_flags:
        for side in SIDES if flag.side == "both" else (flag.side,):
            yield Hold(side, flag=flag, trained_on=trained_after(_date(flag.last)))  # type: ignore[arg-type]


def _of_notes(r: BlockFacts, trained_after: _TrainedAfter) -> Iterable[Hold]:
    for note in r.notes.all:
        if note.injury:
            for side in note.hands:
                yield Hold(side, note=note, trained_on=trained_after(_date(note.date)))


def _trained_after(days: Sequence[dt.date], day: dt.date) -> tuple[dt.date, ...]:
    """Of the finger days, rising, those after a day; of itself nobody knows what came first."""
    return tuple(days[bisect_right(days, day) :])


def _mass_fall(r: BlockFacts) -> MassFall | None:
    """Whether body mass fell too far over the block, or fast; where hidden, without a figure."""
    mass = r.body_mass
    if not mass.fell:
        return None
    over_block = mass.fall is not None and mass.fall.over is FallOver.BLOCK
    return MassFall(mass.fall.pct if mass.fall and over_block else math.nan, not over_block)


def _date(day: dt.date) -> dt.date:
    return day.date() if isinstance(day, pd.Timestamp) else day
