"""A series in the running block: its sessions, and where the rule for adding goes from the last."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from operator import attrgetter
from typing import Any, Final

#: Half a kilogram is no other load (own choice, no source).
SAME_LOAD_KG: Final = 0.5
#: From this share of a session's sets missed on the load goes back at once.
BACK_AT_ONCE: Final = 0.5


class Move(StrEnum):
    """Where the load goes after the last session."""

    UP = "up"
    WAIT = "wait"  # a step was taken this week, or this is the first week
    AGAIN = "again"  # missed once, not a whole session, or too little left
    BACK = "back"  # missed in two sessions running
    AT_ONCE = "at_once"  # half the sets or more missed
    FELT = "felt"  # pain below the limit on the last session's day or since


@dataclass(frozen=True, slots=True)
class Session:
    """
    One session of a series.

    Attributes
    ----------
    week : block week. easy : whether it is an easier one.
    kg : weight of most of its sets: kg added, or on the block where a gauge read it.
    load_kg, base_kg : on the fingers, and body mass then.
    done, missed : sets finished with it or more; sets that failed with it or less.
    asked : sets that make a whole session in that week.
    left_enough : whether what the rule for adding asks was left, or nothing was noted.
    row : `file:line` of its last set.
    """

    day: dt.date
    week: int
    easy: bool
    kg: float
    load_kg: float
    base_kg: float
    done: int
    missed: int
    asked: int
    left_enough: bool
    row: str

    @property
    def mastered(self) -> bool:
        """Whether every set asked for was finished, and none failed."""
        return not self.missed and self.done >= self.asked


def grouped(rows: Iterable[Any], *columns: str) -> dict[tuple[Any, ...], list[Any]]:
    """The rows by what they hold in some columns."""
    groups: dict[tuple[Any, ...], list[Any]] = {}
    of = attrgetter(*columns)
    for row in rows:
        groups.setdefault(of(row), []).append(row)
    return groups


def sessions_of(
    rows: Sequence[Any],
    asked: Callable[[int], int],
    easy_weeks: Collection[int],
    left_s: float,
) -> list[Session]:
    """
    The sessions of one series on one edge, in order.

    Parameters
    ----------
    rows : sets with a load, without warm-ups and tests, as plain rows: `date`, `session`, `week`,
        `sets`, `added_kg`, `force_kg`, `load_source`, `load_kg`, `body_mass_kg`, `outcome`,
        `reserve_s`, `reserve_reps`, `file`, `line`.
    asked : sets that make a whole session, by block week.
    easy_weeks : block weeks with fewer sets.
    left_s : seconds that must be left, one hold of a repeater.
    """
    lifted = len(rows) > 0 and rows[-1].load_source == "gauge"

    def weight(row: Any) -> float:
        if lifted:
            return float(row.force_kg)
        return 0.0 if math.isnan(row.added_kg) else float(row.added_kg)

    out = []
    for _, every in sorted(grouped(rows, "date", "session").items()):
        of_kg: dict[float, int] = {}
        for row in every:
            of_kg[weight(row)] = of_kg.get(weight(row), 0) + int(row.sets)
        kg = max(of_kg, key=lambda x: (of_kg[x], x))
        good = [
            x for x in every if x.outcome in ("finished", "pull") and weight(x) > kg - SAME_LOAD_KG
        ]
        bad = [x for x in every if x.outcome == "failed" and weight(x) < kg + SAME_LOAD_KG]
        at = [x for x in every if weight(x) == kg]
        short = any(x.reserve_s < left_s or x.reserve_reps < 1 for x in at)
        last = at[-1]
        out.append(
            Session(
                day=last.date.date(),
                week=int(last.week),
                easy=int(last.week) in easy_weeks,
                kg=kg,
                load_kg=float(last.load_kg),
                base_kg=float(last.body_mass_kg),
                done=sum(int(x.sets) for x in good),
                missed=sum(int(x.sets) for x in bad),
                asked=asked(int(last.week)),
                left_enough=not short,
                row=f"{last.file}:{int(last.line)}",
            )
        )
    return out


def next_move(
    sessions: Sequence[Session],
    week: int,
    *,
    felt: dt.date | None = None,
    at_once: float = BACK_AT_ONCE,
) -> Move:
    """
    Where the load goes from the last session's, by the rule for adding.

    One step up after a whole session with enough left, at most one a week; an easier week neither
    earns a step nor costs one. No step where pain was felt on the last session's day or since. Back
    one step after misses in two sessions running with the same load, or when half the sets or more
    of one were missed.

    Parameters
    ----------
    sessions : of this block, in order; at least one.
    week : the block week that is planned.
    felt : the last day on which pain was felt there.
    at_once : share of a session's sets missed that costs a step at once.
    """
    last = sessions[-1]
    if last.missed:
        if last.missed >= at_once * (last.done + last.missed):
            return Move.AT_ONCE
        before = sessions[-2] if len(sessions) > 1 else None
        if before is not None and before.missed and before.kg < last.kg + SAME_LOAD_KG:
            return Move.BACK
        return Move.AGAIN
    whole = next((n for n in reversed(range(len(sessions))) if not sessions[n].easy), 0)
    if not sessions[whole].mastered or not all(s.left_enough for s in sessions[whole:]):
        return Move.AGAIN
    earlier = [s for s in sessions if s.week < week]
    if not earlier or last.kg >= earlier[-1].kg + SAME_LOAD_KG:
        return Move.WAIT
    return Move.FELT if felt is not None and felt >= last.day else Move.UP
