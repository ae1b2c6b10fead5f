"""One series across several blocks."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pandas as pd

from gripbook.charts import look
from gripbook.charts.paths import track
from gripbook.logs import Block
from gripbook.reviews.change_facts import SeriesChange
from gripbook.words import charts as words
from gripbook.words import fmt, series

_HEIGHT = 168.0


def draw_blocks(lines: Sequence[tuple[Block, SeriesChange]]) -> look.Picture | None:
    """
    Path and 90 % range of one series in each block, on one axis of days.

    None with fewer than two blocks that measure it. Nothing is drawn between blocks.

    Parameters
    ----------
    lines : each block with the series in it, in order of time.
    """
    known = [(block, s) for block, s in lines if track(s, block.end)]
    if len(known) < 2:
        return None
    name = words.across_blocks(fmt.sentence(series.name(known[0][1])))
    return look.picture(name, lambda width: _sheet(known, width))


def _sheet(lines: Sequence[tuple[Block, SeriesChange]], width: float) -> look.Sheet:
    sheet = look.Sheet(width, _HEIGHT + 92)
    paths = [track(s, block.end) for block, s in lines]
    levels = [v for path in paths for step in path for v in step[1:4] if math.isfinite(v)]
    least = look.LEAST_SPAN * max(levels)
    low, high, ticks = look.round_span(min(levels), max(levels), least=least, ticks=6)
    first, last = lines[0][0].start, max(block.end for block, _ in lines)
    x = look.days(first, last, 34, width - 8)
    y = look.Scale(low, high, 68 + _HEIGHT, 68)
    s = lines[0][1]
    sheet.head(
        fmt.sentence(series.capacity(s)), words.where(s.grip, s.hand, s.edge_mm), 0, 12, under=True
    )
    unit = words.as_first_set(fmt.mass_unit())
    sheet.words(unit, 0, 45, size=look.TICK, italic=True, colour=look.SOFT)
    sheet.levels(y, ticks, x.first, fmt.number)
    sheet.months(
        x,
        y.first,
        [day.date() for day in pd.date_range(first, last, freq="MS")],
        lambda day: (
            f"{words.short_month(day)} {day.year}" if day.month == 1 else words.short_month(day)
        ),
    )
    for (block, s), path in zip(lines, paths, strict=True):
        look.band(sheet, x, y, path)
        _end(sheet, block, s, path, x, y)
    return sheet


def _end(
    sheet: look.Sheet,
    block: Block,
    s: SeriesChange,
    path: Sequence[look.Step],
    x: look.Scale,
    y: look.Scale,
) -> None:
    """A mark at the path's end with the block's name and its load there."""
    day, kg = path[-1].day, path[-1].kg
    width = s.high_kg - s.low_kg if math.isfinite(s.high_kg) else 4.0
    load = series.load(s.end_kg, width) if math.isfinite(s.end_kg) else ""
    sheet.points(
        x,
        y,
        [
            {
                "x": look.iso(day),
                "y": round(kg, 3),
                "shape": s.capacity,
                "r": 4.2,
                "filled": True,
                "colour": look.ACCENT,
                "tip": f"{block.name}: {load}" if load else block.name,
            }
        ],
    )
    lines = [look.Line(load, bold=True)] if load else []
    lines.append(look.Line(_short(block.name), italic=True, colour=look.SOFT))
    within = look.Box(0, 50, sheet.width, y.first)
    sheet.tag(lines, x(day), y(kg), within=within, aligns=("right", "center", "left"))


def _short(name: str, most: int = 26) -> str:
    return name if len(name) <= most else name[: most - 1].rsplit(" ", 1)[0] + "…"
