"""Finger work and session load by week: one picture, its panels on one axis of weeks."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from gripbook.charts import look
from gripbook.logs import Block
from gripbook.words import charts as words
from gripbook.words import fmt


@dataclass(frozen=True)
class _Panel:
    """A figure by week: `whole` where all days of the week are known, `mean` over four weeks."""

    name: str
    unit: str
    levels: Sequence[float]
    whole: Sequence[bool]
    mean: Sequence[float]
    bars: bool


def draw_work(
    fingers: pd.DataFrame, weeks: pd.DataFrame, block: Block, last: dt.date
) -> look.Picture | None:
    """
    Minutes under load, mean load on one hand, and session load of all training by week.

    Bars of session load are pale where days of the week are not known; the line is the mean over
    four weeks. There is no target band. None where nothing is known.

    Parameters
    ----------
    fingers : the review's finger work by week (`week`, `tension_s`, `load_per_hand_kg`).
    weeks : the review's session load by week (`week`, `load_au`, `complete`, `mean4_au`).
    last : the log's last day.
    """
    begun = [w for w in range(1, block.weeks + 1) if _start(block, w) <= last]

    def by_week(frame: pd.DataFrame, column: str, factor: float = 1.0) -> list[float]:
        values = dict(zip(frame["week"], frame[column], strict=True))
        return [float(values.get(w, math.nan)) * factor for w in begun]

    none = [math.nan] * len(begun)
    yes = [True] * len(begun)
    kg = fmt.own_mass(1.0)
    complete = dict(zip(weeks["week"], weeks["complete"], strict=True))
    all_panels = [
        _Panel(
            words.LABELS["finger_work"],
            words.LABELS["minutes_under_load"],
            by_week(fingers, "tension_s", 1 / 60),
            yes,
            none,
            True,
        ),
        _Panel(
            words.LABELS["load_per_hand"],
            words.mean_of_week(fmt.mass_unit()),
            by_week(fingers, "load_per_hand_kg", kg),
            yes,
            none,
            False,
        ),
        _Panel(
            words.LABELS["all_training"],
            words.LABELS["effort_minutes"],
            by_week(weeks, "load_au"),
            [bool(complete.get(w, False)) for w in begun],
            by_week(weeks, "mean4_au"),
            True,
        ),
    ]
    panels = [p for p in all_panels if any(math.isfinite(v) and v > 0 for v in p.levels)]
    if not panels:
        return None
    name = words.by_block_week(fmt.listing(f"{p.name} ({p.unit})" for p in panels))
    return look.picture(name, lambda width: _sheet(panels, begun, block, width))


def _start(block: Block, week: int) -> dt.date:
    return block.start + dt.timedelta(days=7 * (week - 1))


def _sheet(
    panels: Sequence[_Panel], begun: Sequence[int], block: Block, width: float
) -> look.Sheet:
    sheet, rooms = look.grid(width, len(panels), 170, heads=[p.name for p in panels])
    for panel, room in zip(panels, rooms, strict=True):
        known = [v for v in panel.levels if math.isfinite(v)]
        if panel.bars:
            low, high, ticks = look.round_span(0, max(known), ticks=4)
        else:
            least = look.LEAST_SPAN * max(known)
            low, high, ticks = look.round_span(min(known), max(known), least=least, ticks=5)
        axis = max(sheet.box(fmt.number(t), 0, 0, size=look.TICK).right for t in ticks) + 8
        x = look.days(block.start, block.end, room.left + axis, room.right)
        y = look.Scale(low, high, room.bottom - 24, room.top + 44)
        sheet.head(panel.name, panel.unit, room.left, room.top + 12, under=True)
        sheet.levels(y, ticks, x.first, fmt.number)
        sheet.weeks(
            x, y.first, [_start(block, w) for w in range(1, block.weeks + 1)], words.short_day
        )
        _values(sheet, panel, begun, block, x, y)
    return sheet


def _values(
    sheet: look.Sheet,
    panel: _Panel,
    begun: Sequence[int],
    block: Block,
    x: look.Scale,
    y: look.Scale,
) -> None:
    rows = []
    for week, value, whole in zip(begun, panel.levels, panel.whole, strict=True):
        if not math.isfinite(value):
            continue
        middle = _start(block, week) + dt.timedelta(days=3)
        tip = words.value_of_week(
            week=week,
            value=fmt.number(value, 0 if panel.bars else 1),
            unit=panel.unit,
        )
        if not whole:
            tip = words.some_days_unknown(tip)
        rows.append((look.iso(middle), round(value, 2), whole, tip))
    if panel.bars:
        wide = 0.55 * (x.last - x.first) / block.weeks
        sheet.bars(
            x,
            y,
            [
                {
                    "x": day,
                    "y": y.low,
                    "y2": value,
                    "stroke": look.BAR if whole else look.RULE,
                    "width": round(wide, 1),
                    "tip": tip,
                }
                for day, value, whole, tip in rows
            ],
        )
    else:
        sheet.points(
            x,
            y,
            [
                {
                    "x": day,
                    "y": value,
                    "shape": "hang",
                    "r": 3.2,
                    "filled": True,
                    "colour": look.INK,
                    "tip": tip,
                }
                for day, value, _, tip in rows
            ],
        )
    middles = [look.iso(_start(block, w) + dt.timedelta(days=3)) for w in begun]
    mean = [(d, v) for d, v in zip(middles, panel.mean, strict=True) if math.isfinite(v)]
    sheet.lines(
        x, y, [{"x": d, "y": round(v, 1), "stroke": look.ACCENT, "piece": 0} for d, v in mean]
    )
    if mean:
        day, value = mean[-1]
        at = x(dt.date.fromisoformat(day))
        sheet.tag(
            [look.Line(words.LABELS["mean_of_four_weeks"], italic=True, colour=look.SOFT)],
            at,
            y(value),
            within=look.Box(x.first, y.last - 12, x.last + 4, y.first),
            aligns=("right",),
            gap=6,
        )
