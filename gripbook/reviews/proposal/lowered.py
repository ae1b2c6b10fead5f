"""What lowers a start or holds it: days off, illness, pain, broken limits, sessions missed."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import pandas as pd

from gripbook.reviews.block_facts import BlockFacts
from gripbook.reviews.done import MOST_OF_A_WEEK
from gripbook.reviews.proposal.choices import Choices
from gripbook.reviews.proposal.holds import Holds
from gripbook.reviews.proposal.rules import Reason
from gripbook.reviews.proposal.trained import finger_days


@dataclass(frozen=True, slots=True)
class Reduction:
    """
    A named reason to stay at or below a share of the last load, and no step above it.

    Attributes
    ----------
    share : of the last load mastered, 0 to 1.
    since, until : first and last day of what happened (off: last finger day and next start).
    days : days off, ill or sore.
    kinds : what was logged on days off; `kind_days`: on how many of them.
    weeks : block weeks of broken limits; `stated` whether the block states limits.
    done, planned, unread : finger sessions; those whose rows could not be read are neither done
        nor missed.
    """

    reason: Reason
    share: float
    since: dt.date | None = None
    until: dt.date | None = None
    days: int = 0
    kinds: tuple[str, ...] = ()
    kind_days: tuple[int, ...] = ()
    weeks: tuple[int, ...] = ()
    stated: bool = True
    done: int = 0
    planned: int = 0
    unread: int = 0


def reductions(
    r: BlockFacts, choices: Choices, holds: Holds, week: int, rested: dt.date
) -> tuple[Reduction, ...]:
    """
    Every named reason to start below the last loads, or to take no step.

    Parameters
    ----------
    week : the running block's week that is planned, 0 for a new block.
    rested : the first day on which fingers are loaded again.
    """
    found = [
        _off(r, choices, rested),
        _sore(r, choices),
        _broken(r, choices),
        _low(r, choices, week),
    ]
    if week and week in r.block.easy_weeks:
        found.append(Reduction(Reason.EASY_WEEK, 1.0))
    if holds.mass is not None:
        found.append(Reduction(Reason.BODY_MASS, 1.0))
    return tuple(x for x in found if x is not None)


def _off(r: BlockFacts, c: Choices, rested: dt.date) -> Reduction | None:
    """Days off before the start, or ill days close to it."""
    days = finger_days(r)
    if not days:
        return None
    last = days[-1]
    off = (rested - last).days - 1
    away = r.away[r.away["date"] < pd.Timestamp(rested)]
    if off >= c.off_days:
        since = away[(away["date"] > pd.Timestamp(last)) & (away["kind"] != "rest")]
        on = since.groupby("kind")["date"].nunique()
        return Reduction(
            Reason.OFF, c.off_share, last, rested, off, tuple(on.index), tuple(map(int, on))
        )
    recent = away[away["date"] >= pd.Timestamp(rested) - pd.Timedelta(days=c.off_days + 7)]
    ill = recent[recent["kind"].isin(["ill", "injured"])]["date"].drop_duplicates()
    if len(ill) >= c.off_days:
        return Reduction(Reason.ILL, c.off_share, ill.min().date(), ill.max().date(), days=len(ill))
    return None


def _sore(r: BlockFacts, c: Choices) -> Reduction | None:
    felt = r.pain_to_date.felt
    recent = felt[felt["date"] >= r.last - pd.Timedelta(days=c.off_days + 7)]
    recent = recent[recent["date"] <= r.last]
    if recent.empty:
        return None
    first, last = recent["date"].min(), recent["date"].max()
    days = (last - first).days + 1
    if days < c.off_days:
        return None
    return Reduction(Reason.SORE, c.off_share, first.date(), last.date(), days)


def _broken(r: BlockFacts, c: Choices) -> Reduction | None:
    """Limits broken in the last days before the log ends."""
    since = r.last - pd.Timedelta(days=c.broken_days - 1)
    broken = [b for b in r.dose.breaches if b.date >= since]
    if not broken:
        return None
    days = [b.date.date() for b in broken]
    return Reduction(
        Reason.BROKEN,
        c.lowered_share,
        min(days),
        max(days),
        weeks=tuple(sorted({b.week for b in broken})),
        stated=bool(r.block.limits.stated),
    )


def _low(r: BlockFacts, c: Choices, week: int) -> Reduction | None:
    """
    Too few of the sessions that were due; of a running block in the last four weeks.

    Weeks mostly ill, injured or away are left out.
    """
    # who is ill or away misses sessions for that reason, which has its own rule
    weeks = r.done.weeks[r.done.days_without < MOST_OF_A_WEEK]
    weeks = weeks[(weeks["state"] != "ahead") & weeks["sessions_planned"].notna()]
    if week:
        weeks = weeks[weeks["sessions_due"] > 0].tail(4)
    planned, done = int(weeks["sessions_due"].sum()), int(weeks["sessions_done"].sum())
    # a day whose rows could not be read is no missed one
    unread = max(0, planned - done - int(weeks["sessions_missing"].sum()))
    if not planned or done >= c.low_done * (planned - unread):
        return None
    return Reduction(Reason.LOW_DONE, c.lowered_share, done=done, planned=planned, unread=unread)
