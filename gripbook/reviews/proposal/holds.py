"""What holds a proposal: pain, words of injury, body mass, age; and what ends a hold."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

import pandas as pd

from gripbook.reviews.block_facts import BlockFacts
from gripbook.reviews.body_mass import FallOver
from gripbook.reviews.proposal.choices import Choices

Side = Literal["left", "right"]
SIDES: tuple[Side, ...] = ("left", "right")


class HoldReason(StrEnum):
    """Why a hand is held."""

    SIGN = "sign"
    UNDER_18 = "under_18"
    LEVEL = "level"
    STOPPED = "stopped"
    MORNING = "morning"
    RISING = "rising"
    NOTE = "note"  # a note with words of injury


@dataclass(frozen=True, slots=True)
class Hold:
    """
    One reason to leave a hand alone.

    Attributes
    ----------
    side : the hand held.
    reason : the most urgent reason.
    date : the last day it was felt or written down.
    site, entry_side : as logged; "" where not recorded.
    level : highest level logged, 0 to 10 (NaN where none), on `level_date`.
    limit : the block's limit.
    sign : pop, swelling, stiff or "".
    note : the note's text, for `HoldReason.NOTE`.
    first : the first day of this pain; what was loaded before it was painless.
    rows : log rows, as `file:line`.
    """

    side: Side
    reason: HoldReason
    date: dt.date
    site: str = ""
    entry_side: str = ""
    level: float = math.nan
    level_date: dt.date | None = None
    limit: float = math.nan
    sign: str = ""
    note: str = ""
    first: dt.date | None = None
    rows: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Cleared:
    """A day on which a physician or physiotherapist ended a hold; `note`: who, with what limits."""

    date: dt.date
    note: str = ""


@dataclass(frozen=True, slots=True)
class InjuryNote:
    """A note with words of injury, and a hand that it holds."""

    date: dt.date
    side: str
    text: str
    rows: tuple[str, ...] = ()


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
    holds : reasons by hand, most urgent first, one a hand.
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


def gather_holds(r: BlockFacts, choices: Choices) -> Holds:
    """
    Gather what holds the athlete's proposal.

    A `cleared` day ends every hold whose pain or note lies on or before it; what was felt at the
    limit, or written down with a sign, after it holds anew.
    """
    return holds_from(
        [*_of_pain(r, choices), *_of_notes(_notes(r))],
        _cleared(r),
        minor=r.athlete.minor is True,
        mass=_mass_fall(r),
    )


def holds_from(
    found: Iterable[Hold],
    cleared: Iterable[Cleared],
    *,
    minor: bool = False,
    mass: MassFall | None = None,
) -> Holds:
    """Sort reasons to hold into those that stand and those that a `cleared` day ended."""
    last = max(cleared, key=lambda c: c.date, default=None)
    standing: dict[Side, Hold] = {}
    ended: dict[Side, Hold] = {}
    for hold in found:
        over = last is not None and hold.date <= last.date
        (ended if over else standing).setdefault(hold.side, hold)
    back = tuple(ended[s] for s in SIDES if s in ended and s not in standing)
    return Holds(
        minor,
        tuple(standing[s] for s in SIDES if s in standing),
        back,
        last if ended else None,
        mass,
    )


# --- what the review knows; the only places that read it ----------------------------------------


def _cleared(r: BlockFacts) -> list[Cleared]:
    return [Cleared(_date(c.date), c.note) for c in r.pain_to_date.cleared]


def _notes(r: BlockFacts) -> Iterable[InjuryNote]:
    """Notes with words of injury: those that hold, and those whose hold was ended by `cleared`."""
    ended = {c.date for c in r.pain_to_date.cleared}
    for note in r.notes.all:
        if not note.injury:
            continue
        by_clearing = note.past is not None and note.past in ended
        sides = SIDES if note.side not in SIDES else (note.side,)
        for side in sides if by_clearing else note.open_sides:
            yield InjuryNote(_date(note.date), side, note.text, (f"{note.file}:{note.line}",))


def _mass_fall(r: BlockFacts) -> MassFall | None:
    """Whether body mass fell too far over the block, or fast; where hidden, without a figure."""
    mass = r.body_mass
    if not mass.fell:
        return None
    over_block = mass.fall is not None and mass.fall.over is FallOver.BLOCK
    return MassFall(mass.fall.pct if mass.fall and over_block else math.nan, not over_block)


def _date(day: dt.date) -> dt.date:
    return day.date() if isinstance(day, pd.Timestamp) else day


# --- pain and notes -----------------------------------------------------------------------------


def _of_pain(r: BlockFacts, choices: Choices) -> Iterable[Hold]:
    entries = r.pain_to_date.entries
    places = [f"{f}:{n}" for f, n in zip(entries["file"], entries["line"], strict=True)]
    limit = r.block.limits.pain_level
    for flag in r.pain_to_date.all_flags:
        rows = set(flag.rows)
        own = entries[[p in rows for p in places]]
        if flag.reason == "level" and _past(entries, own, limit, choices):
            continue
        worst = own.loc[own["level"].idxmax()] if own["level"].notna().any() else None
        signs = own.loc[own["sign"] != "", "sign"]
        # what was felt after a hold was ended holds anew only at the limit or with a sign
        at_limit = own[(own["level"] >= max(limit, 0.5)) | (own["sign"] != "")]
        last = (at_limit if len(at_limit) else own)["date"].max()
        for side in SIDES if flag.side == "both" else (flag.side,):
            yield Hold(
                side=side,  # type: ignore[arg-type]
                reason=HoldReason(flag.reason),
                date=_date(last),
                site=flag.site,
                entry_side=str(own["side"].iloc[-1]) if len(own) else "",
                level=float(worst["level"]) if worst is not None else math.nan,
                level_date=_date(worst["date"]) if worst is not None else None,
                limit=limit,
                sign=str(signs.iloc[-1]) if len(signs) else "",
                first=_date(own["date"].min()),
                rows=flag.rows,
            )


def _of_notes(notes: Iterable[InjuryNote]) -> Iterable[Hold]:
    for note in notes:
        yield Hold(
            side=note.side,  # type: ignore[arg-type]
            reason=HoldReason.NOTE,
            date=note.date,
            entry_side=note.side,
            note=note.text,
            first=note.date,
            rows=note.rows,
        )


def _past(entries: pd.DataFrame, own: pd.DataFrame, limit: float, choices: Choices) -> bool:
    """Whether a level at the limit is over: none since, and for long enough."""
    high = own.loc[own["level"] >= max(limit, 0.5), "date"].max()
    about = entries[
        entries.index.isin(own.index)
        | (entries["site"] == "")
        | (
            entries["site"].isin(own["site"])
            & entries["side"].isin(own["side"])
            & (entries["level"] == 0)
        )
    ]
    since = about[about["date"] > high]
    if since.empty or since.iloc[-1]["level"] > 0:
        return False
    return bool((since.iloc[-1]["date"] - high).days >= choices.pain_past_days)
