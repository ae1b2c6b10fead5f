"""Review data to Altair charts, in one look."""

from __future__ import annotations

from gripbook.charts.block import (
    finger_work,
    load_by_day,
    loads,
    pain_and_load,
    strength_to_weight,
    weekly_load,
)
from gripbook.charts.climbed import climbed
from gripbook.charts.earlier import across_blocks
from gripbook.charts.measured import measured
from gripbook.charts.strength import grips_at_the_end, strength_path

__all__ = [
    "across_blocks",
    "climbed",
    "finger_work",
    "grips_at_the_end",
    "load_by_day",
    "loads",
    "measured",
    "pain_and_load",
    "strength_path",
    "strength_to_weight",
    "weekly_load",
]
