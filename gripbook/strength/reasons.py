"""Why a set was left out, and why a series has no change: enums, so that words stand elsewhere."""

from __future__ import annotations

from enum import StrEnum
from typing import NamedTuple


class LeftOutReason(StrEnum):
    """Why sets say nothing of strength."""

    GUESSED_LOAD = "guessed_load"
    UNKNOWN_LOAD = "unknown_load"
    SMALL_EDGE = "small_edge"
    LARGE_EDGE = "large_edge"
    NO_EDGE = "no_edge"
    FAR_OFF = "far_off"
    UNKNOWN_TIME = "unknown_time"


class LeftOut(NamedTuple):
    """
    Sets left out for one reason.

    Attributes
    ----------
    reason : why. sets : how many. rows : (file, line) of each row; given for `FAR_OFF` alone.
    """

    reason: LeftOutReason
    sets: int
    rows: tuple[tuple[str, int], ...] = ()


class NoChange(StrEnum):
    """Why a series has no measured change."""

    NO_START = "no_start"
    NO_END = "no_end"
    NOT_IN_BLOCK = "not_in_block"
    ALL_FINISHED = "all_finished"
    ALL_FAILED = "all_failed"
    HEALTH_FIRST = "health_first"
    """Food and energy are a question for a physician first; the fit itself knows no such reason."""


class SeriesReason(NamedTuple):
    """
    Why a series has no measured change.

    Attributes
    ----------
    why : the reason. week : block week of the first set (`NO_START`) or of the last (`NO_END`);
        0 elsewhere.
    """

    why: NoChange
    week: int = 0


class NoFit(StrEnum):
    """Why an athlete's fit measures no change at all."""

    NO_SET = "no_set"
    ONE_DAY = "one_day"
    NO_SERIES = "no_series"
