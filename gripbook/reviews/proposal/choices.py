"""What a proposal may do: every figure once, with its source; pages print these very values."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from enum import StrEnum
from typing import Any

from gripbook.logs import Block
from gripbook.reviews.body_mass import FALL_OVER_BLOCK_PCT
from gripbook.reviews.pain import HELD_BEFORE_DAYS


class Source(StrEnum):
    """Where a choice comes from."""

    OWN = "own"  # own choice, no source
    COMMON = "common"  # common practice, no source
    #: Ratamess et al. 2009, Med Sci Sports Exerc 41:687-708: add load once the repetitions asked
    #: for are passed. Strength training in general, not finger hangs.
    ACSM = "acsm"
    #: Magnusson, Langberg, Kjaer 2010, Nat Rev Rheumatol 6:262-268: collagen synthesis stays raised
    #: for about three days after loading.
    TENDON = "tendon"


def _choice(default: Any, source: Source = Source.OWN, *, key: bool = False) -> Any:
    return field(default=default, metadata={"source": source, "key": key})


@dataclass(frozen=True, slots=True)
class Choices:
    """
    The limits and rules of a proposal.

    The first group are keys of `[choices]` in block.toml; a coach may change them. The others are
    fixed. `source_of` gives each one's source.

    Attributes
    ----------
    chance : that a session's sets are all finished, the last one included, 0 to 1.
    chance_lowered : the same for beginners and where a named reason lowers the start.
    step_kg, step_pct : largest step above the last load mastered, the lesser of both.
    step_one_hand_kg, step_one_hand_pct : the same for one hand.
    edge_step_mm : largest step to a smaller edge.
    add_when_left_s : seconds left after all sets that allow to add next time.
    loading_weeks : at most so many, then an easier week with `easier_share` of the sets; so many
        has the first week after days off or ill, and the way back.
    rest_days_before_test, rest_days_after_block : rest days.
    keep_share : a start is not lower than this share of the last load mastered with all sets,
        unless a named reason says so; `keep_share_beginner` for beginners.
    off_share, off_days : share of the last load after so many days off, ill or sore.
    lowered_share : share after a limit broken within `broken_days`, or where less than `low_done`
        of the planned sessions was done.
    return_share : share of the last painless load on the way back after a hold was ended.
    mass_fall_pct : fall of body mass over the block from which on no load rises.
    least_step_kg, least_step_one_hand_kg : a step of the plates is at least so large, where one
        so large is allowed: smaller plates are there to make a step, not to be one.
    smallest_edge_mm : no load is worked out on edges below it.
    beginner_months, new_months, new_finger_days : who is a beginner, and who is new.
    ramp_weeks, ramp_sets, ramp_hang_s, ramp_left_s, ramp_sessions : easy hangs for the new.
    held_before_days : what asked for a hold so long before the block, uncleared, holds in it too.
    trained_days : a grip was trained from so many days in the block on.
    unplanned_weeks : weeks of a block where none was planned.
    expect_pct : over a block the rule for adding goes no further above its first load than this.
    pull_gap_days, pull_gap_share : after more days without all-out pulls the first ones stay at
        that share of the last.
    light_kg, heavy_kg : where body mass is hidden, shares of a load are taken as if it were this,
        so that no proposal leads back to it: light for steps up, heavy for steps down.
    """

    chance: float = _choice(0.90, key=True)
    chance_lowered: float = _choice(0.95)
    step_kg: float = _choice(2.5, key=True)
    step_pct: float = _choice(3.0, key=True)
    step_one_hand_kg: float = _choice(1.0, key=True)
    step_one_hand_pct: float = _choice(2.0, key=True)
    edge_step_mm: float = _choice(3.0, key=True)
    add_when_left_s: float = _choice(2.0, Source.ACSM, key=True)
    loading_weeks: int = _choice(3, Source.COMMON, key=True)
    easier_share: float = _choice(0.5, key=True)
    rest_days_before_test: int = _choice(2, Source.TENDON, key=True)
    rest_days_after_block: int = _choice(7, Source.COMMON, key=True)

    keep_share: float = _choice(0.95)
    keep_share_beginner: float = _choice(0.90)
    off_share: float = _choice(0.90)
    off_days: int = _choice(14)
    lowered_share: float = _choice(0.95)
    broken_days: int = _choice(14)
    low_done: float = _choice(0.75)
    return_share: float = _choice(0.60)
    mass_fall_pct: float = _choice(FALL_OVER_BLOCK_PCT)
    least_step_kg: float = _choice(1.0, Source.COMMON)
    least_step_one_hand_kg: float = _choice(0.5, Source.COMMON)
    smallest_edge_mm: float = _choice(10.0)
    beginner_months: int = _choice(12)
    new_months: int = _choice(6)
    new_finger_days: int = _choice(12)
    ramp_weeks: int = _choice(2, Source.COMMON)
    ramp_sets: int = _choice(5, Source.COMMON)
    ramp_hang_s: float = _choice(10.0, Source.COMMON)
    ramp_left_s: float = _choice(5.0, Source.COMMON)
    ramp_sessions: int = _choice(2, Source.COMMON)
    held_before_days: int = _choice(HELD_BEFORE_DAYS)
    trained_days: int = _choice(2)
    unplanned_weeks: int = _choice(8)
    expect_pct: float = _choice(10.0)
    pull_gap_days: int = _choice(42)
    pull_gap_share: float = _choice(0.85)
    light_kg: float = _choice(40.0)
    heavy_kg: float = _choice(110.0)

    @classmethod
    def of(cls, block: Block) -> Choices:
        """The choices of a block: its `[choices]`, and the defaults for what it leaves out."""
        given: dict[str, Any] = {k: v for k, v in block.choices.items() if k in cls.keys()}  # noqa: SIM118
        lowered = max(cls().chance_lowered, given.get("chance", 0.0))
        return cls(**given, chance_lowered=lowered)

    @classmethod
    def keys(cls) -> tuple[str, ...]:
        """The names that a block file may set."""
        return tuple(f.name for f in fields(cls) if f.metadata["key"])

    @classmethod
    def source_of(cls, name: str) -> Source:
        """Where a choice comes from."""
        found: Source = next(f.metadata["source"] for f in fields(cls) if f.name == name)
        return found
