"""Where a block stands at the log's last day: nothing here asks the clock."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import pandas as pd

from gripbook.logs import Block


class BlockState(StrEnum):
    """Where a block stands: `running` as long as a planned session can still be done."""

    NO_PLAN = "no_plan"
    NOT_BEGUN = "not_begun"
    RUNNING = "running"
    ENDED = "ended"


@dataclass(frozen=True, slots=True)
class State:
    """
    Where the block stands at the log's last day.

    `week`: block week of that day, 1 to `weeks` (None before the block and without a plan).
    `last`: the log's last day. `due_to`: the last day of the block that counts as due, the earlier
    of `last` and the block's end.
    """

    state: BlockState
    week: int | None
    weeks: int
    last: pd.Timestamp
    due_to: pd.Timestamp

    @property
    def running(self) -> bool:
        """Whether planned sessions can still be done, so that nothing ahead is missing."""
        return self.state is BlockState.RUNNING


def sessions_that_fit(days: int, rest_days: int) -> int:
    """
    Most finger sessions that fit into some days with the rest between them that the limits ask.

    >>> sessions_that_fit(6, 1), sessions_that_fit(1, 1), sessions_that_fit(0, 1)
    (3, 1, 0)
    """
    return -(-max(days, 0) // (rest_days + 1))


def due_in_week(planned: float, days_left: int, rest_days: int) -> float:
    """
    Sessions of a week that can no longer be done in its days left, so were due (NaN: no plan).

    The plan names no days: a session is due once the days left hold one fewer than are planned.

    >>> due_in_week(2, 6, 1), due_in_week(2, 1, 1), due_in_week(2, 0, 1)
    (0.0, 1.0, 2.0)
    """
    fit = sessions_that_fit(days_left, rest_days)
    return float("nan") if planned != planned else float(max(0, planned - fit))


def state_of(block: Block, last: pd.Timestamp, done_in_last_week: int) -> State:
    """
    Give the state of a block.

    Parameters
    ----------
    last : the log's last day.
    done_in_last_week : finger sessions done in the week of that day.
    """
    start, end = pd.Timestamp(block.start), pd.Timestamp(block.end)
    week = block.week_of(last.date())
    within = min(max(week, 1), block.weeks)
    due_to = min(last, end)
    if not block.planned:
        return State(BlockState.NO_PLAN, None, block.weeks, last, due_to)
    if last < start:
        return State(BlockState.NOT_BEGUN, None, block.weeks, last, due_to)
    asked = [p.sessions_per_week or 0 for p in block.phases if p.holds_week(within) and p.exercise]
    rest = block.limits.rest_days_between_finger_days
    fit = sessions_that_fit((end - last).days, rest)
    still = min(fit, max(0, sum(asked) - done_in_last_week)) > 0
    running = week < block.weeks or (week == block.weeks and still)
    return State(
        BlockState.RUNNING if running else BlockState.ENDED, within, block.weeks, last, due_to
    )
