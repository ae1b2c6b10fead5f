"""What a sheet shows: an athlete's planned sets of one week, in the athlete's units."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from gripbook.errors import GripbookError
from gripbook.logs import Block
from gripbook.reviews import BlockReview, NextBlock, check_begun, propose_next
from gripbook.reviews.plates import loadable
from gripbook.words import next as words


@dataclass(frozen=True, slots=True)
class PlannedSet:
    """
    One set of one hand.

    Attributes
    ----------
    order : position in the session from 1; hands in turn share one.
    added_kg, force_kg : the planned load, both None where there is none to set.
    hang_s, rest_s : seconds; `reps` holds of a repeater.
    test : whether it is meant as a maximal test.
    pieces : the plates for the load, in kg, heaviest first; none where the block names none.
    says : what stands in place of a load, or beside it: "all out", "up to +10 kg".
    left : what should be left after the last of these sets; "" where nothing is asked.
    """

    order: int
    exercise: str
    grip: str
    hand: str
    edge_mm: float | None = None
    added_kg: float | None = None
    force_kg: float | None = None
    hang_s: float | None = None
    rest_s: float | None = None
    reps: int | None = None
    test: bool = False
    pieces: tuple[float, ...] = ()
    says: str = ""
    left: str = ""


@dataclass(frozen=True, slots=True)
class PlannedSession:
    """
    One session: its label in the log, its day, and its sets in order.

    `notes`: what holds for its tests and pulls; `easy`: it is of an easier week.
    """

    label: str
    day: dt.date
    sets: tuple[PlannedSet, ...]
    notes: tuple[str, ...] = ()
    easy: bool = False


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """
    A week's sessions of one athlete.

    `week`: of the block, 0 where it isn't known. `units`: kg or lb. `plates_kg`: the pieces there
    are. `pain_level`: from here on no load. `as_of`: the log's last day, where weeks lie between.
    `boards`: those of the log, the latest first, "" where rows name none; empty where no row does.
    `rules`: the way back and pain, the rests, the rule for adding.
    """

    athlete: str
    name: str
    start: dt.date
    units: str
    plates_kg: tuple[float, ...]
    pain_level: float
    sessions: tuple[PlannedSession, ...]
    week: int = 0
    as_of: dt.date | None = None
    boards: tuple[str, ...] = ()
    rules: tuple[str, ...] = ()


def proposed_week(review: BlockReview, week: int | None = None) -> tuple[NextBlock, bool]:
    """
    The week to make a sheet of, and whether other weeks lie before it.

    Parameters
    ----------
    review : of the athlete's block.
    week : of the block; None the coming one. After the block's end weeks are those of the next
        block as it is proposed, and the coming one is its first.

    Raises
    ------
    GripbookError : the block has no such week, it is over or has not begun.
    """
    check_begun(review)
    coming = propose_next(review, week=True)
    if not coming.over:
        if not week or week == coming.week:
            return coming, False
        block = review.block
        if not coming.week < week <= block.weeks:
            over = "over" if week < coming.week else f"not in the block of {block.weeks} weeks"
            raise GripbookError(
                f"Week {week} of {block.name} is {over}. "
                f"Weeks {coming.week} to {block.weeks} are left."
            )
        return propose_next(review, week=True, number=week), True
    proposed, number = propose_next(review), week or 1
    return (
        replace(
            proposed,
            week=number,
            start=proposed.start + dt.timedelta(days=7 * (number - 1)),
            rows=tuple(row for row in proposed.rows if row.week == number),
        ),
        number > 1,
    )


def sheet_plan(
    proposal: Any,
    block: Block,
    name: str = "",
    as_of: dt.date | None = None,
    boards: Iterable[str] = (),
) -> SheetPlan:
    """
    The sheet of a proposal for one week.

    Parameters
    ----------
    proposal : of `proposed_week(review)`.
    block : the athlete's block, for rests, plates and limits.
    as_of : the log's last day, where the sheet is of a later week than the coming one.
    boards : of the log's rows in order; "" where none is named.

    Raises
    ------
    GripbookError : no set is proposed, as for anyone under 18 or where pain holds.
    """
    rows = [row for row in proposal.rows if row.sets]
    if not rows:
        raise GripbookError(f"No sets are proposed for {proposal.athlete}. {_why(proposal, block)}")
    phases = {phase.name: phase for phase in block.phases}
    makeable = loadable(tuple(block.plates_kg)) if block.plates_kg else {}
    sessions: list[PlannedSession] = []
    for number in sorted({row.session for row in rows}):
        here = [row for row in rows if row.session == number]
        sets: list[PlannedSet] = []
        for group in _in_turn(here):
            for _ in range(max(int(row.sets) for row in group)):
                order = sets[-1].order + 1 if sets else 1
                for row in group:
                    phase = phases.get(row.phase)
                    says, kg = words.sheet_load(row, proposal), _kg(row)
                    lifted = words.is_lifted(row, proposal)
                    sets.append(
                        PlannedSet(
                            order=order,
                            exercise=row.exercise,
                            grip=row.grip,
                            hand=row.hand,
                            edge_mm=_given(row.edge_mm),
                            added_kg=None if lifted else kg,
                            force_kg=kg if lifted else None,
                            hang_s=_given(row.hang_s),
                            rest_s=phase.rest_s if phase and row.exercise == "repeater" else None,
                            reps=row.reps,
                            test=bool(row.test),
                            pieces=() if kg is None else makeable.get(round(abs(kg), 3), ()),
                            says=says,
                            left=words.left_text(row),
                        )
                    )
        sessions.append(
            PlannedSession(
                chr(64 + min(number, 26)),
                here[0].day,
                tuple(sets),
                words.sheet_notes(here, proposal),
                any(row.easy for row in here),
            )
        )
    named = tuple(dict.fromkeys(reversed(list(boards))))
    return SheetPlan(
        athlete=proposal.athlete,
        name=name or proposal.athlete,
        start=proposal.start,
        units=proposal.units,
        plates_kg=tuple(block.plates_kg),
        pain_level=block.limits.pain_level,
        sessions=tuple(sessions),
        week=proposal.week,
        as_of=as_of,
        boards=named if any(named) else (),
        rules=(
            *words.sheet_cautions(proposal),
            *filter(None, (words.rests_text(proposal), words.rule(proposal))),
        ),
    )


def _why(proposal: Any, block: Block) -> str:
    """Why a week has no sets, and what to do."""
    if proposal.minor or proposal.held:
        return " ".join(words.opening(proposal)[:1])
    phases = [p.name for p in block.phases if p.exercise and p.holds_week(proposal.week)]
    if phases and not proposal.loads:
        return (
            f"Nothing of {' and '.join(phases)} in week {proposal.week} has been logged, so there "
            "is no load to go by. Make the sheet again once the first such session is logged."
        )
    return f"Week {proposal.week} has no finger session left. Name a later one with --week."


def _in_turn(rows: Sequence[Any]) -> list[list[Any]]:
    """Rows that differ in the hand alone are done in turn, left and right."""
    groups: dict[tuple[Any, ...], list[Any]] = {}
    for row in rows:
        key = (row.phase, row.exercise, row.grip, row.edge_mm, row.sets, row.hand == "both")
        groups.setdefault((*key, row.test), []).append(row)
    return list(groups.values())


def _kg(row: Any) -> float | None:
    """The weight to start with; where the rule for adding may have raised it, the least."""
    if row.test or row.exercise == "pull":
        return None
    ranged = row.low_kg is not None and row.low_kg != row.high_kg
    return _given(row.low_kg if ranged else row.force_kg if row.added_kg is None else row.added_kg)


def _given(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else float(value)
