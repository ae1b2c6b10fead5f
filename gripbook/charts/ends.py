"""Grips and hands against one another: loads at the block's end, with their ranges."""

from __future__ import annotations

import math
from collections.abc import Sequence

from gripbook.charts import look
from gripbook.reviews.change_facts import Change, PathKind, SeriesChange
from gripbook.words import charts as words
from gripbook.words import fmt, series

_ROW = 24.0


def draw_ends(facts: Change) -> look.Picture | None:
    """
    A panel for each capacity with two series or more, the heaviest on top: load and 90 % range.

    It shows the weaker hand and grip. None where no capacity has two, or body mass is hidden, which
    a whole load would tell.
    """
    known = [
        s for s in facts.series if math.isfinite(s.end_kg) and s.path_kind is PathKind.ESTIMATE
    ]
    groups = [
        sorted((s for s in known if s.capacity == c), key=lambda s: -s.end_kg)
        for c in dict.fromkeys(s.capacity for s in known)
    ]
    groups = [rows for rows in groups if len(rows) > 1]
    if not groups:
        return None
    name = words.LABELS["loads_at_end"]
    return look.picture(name, lambda width: _sheet(groups, width))


def _sheet(groups: Sequence[Sequence[SeriesChange]], width: float) -> look.Sheet:
    blank = look.Sheet(width, 0)
    named = max(
        blank.box(words.grip_and_side(s.grip, s.hand), 0, 0).right for rows in groups for s in rows
    )
    heights = [30 + _ROW * len(rows) + 40 for rows in groups]
    sheet = look.Sheet(width, sum(heights) - 12)
    top = 0.0
    for rows, height in zip(groups, heights, strict=True):
        _panel(sheet, rows, top, named)
        top += height
    return sheet


def _panel(sheet: look.Sheet, rows: Sequence[SeriesChange], top: float, named: float) -> None:
    lows = [fmt.own_mass(s.fit.end_low_kg) for s in rows]
    highs = [fmt.own_mass(s.fit.end_high_kg) for s in rows]
    low, high, ticks = look.round_span(min(lows), max(highs), ticks=6)
    x = look.Scale(low, high, named + 20, sheet.width - 60)
    y = look.Scale(0, sheet.height, 0, sheet.height)
    sheet.head(
        fmt.sentence(series.capacity(rows[0])),
        words.unit_on_edge(
            unit=fmt.mass_unit(),
            edge=fmt.with_unit(rows[0].edge_mm, "mm"),
        ),
        0,
        top + 12,
    )
    bars, marks = [], []
    for i, (s, first, last) in enumerate(zip(rows, lows, highs, strict=True)):
        level = top + 36 + _ROW * i
        load = series.load(s.end_kg, s.fit.end_high_kg - s.fit.end_low_kg)
        sheet.words(words.grip_and_side(s.grip, s.hand), 0, level + 4, colour=look.SOFT)
        bars.append({"x": first, "x2": last, "y": level, "stroke": look.TINT, "width": 8})
        marks.append(
            {
                "x": fmt.own_mass(s.end_kg),
                "y": level,
                "shape": s.capacity,
                "r": 4.2,
                "filled": True,
                "colour": look.ACCENT,
                "tip": f"{words.grip_and_side(s.grip, s.hand)}: {load}",
            }
        )
        sheet.words(load, x(last) + 6, level + 4.5, bold=True)
    sheet.bars(x, y, bars)
    sheet.points(x, y, marks)
    end = top + 36 + _ROW * len(rows) - 6
    sheet.rule(x.first, end, x.last, end)
    for value in ticks:
        sheet.rule(x(value), end, x(value), end + 4)
        sheet.words(
            fmt.number(value), x(value), end + 18, size=look.TICK, colour=look.SOFT, align="center"
        )
