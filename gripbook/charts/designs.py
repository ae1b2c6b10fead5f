"""What a planned block can show: the smallest rise of each capacity, by way of logging."""

from __future__ import annotations

import math

from gripbook.charts import look
from gripbook.reviews.design import Design, DesignLine
from gripbook.words import design as words
from gripbook.words import fmt

_ROW, _HEAD, _GAP = 22.0, 24.0, 12.0


def draw_design(d: Design) -> look.Picture | None:
    """
    A bar from nothing to the smallest rise that would show, for each series and way.

    A rule marks the change that matters. None where no change could be told.
    """
    groups: dict[tuple[str, str, str], list[DesignLine]] = {}
    for x in d.lines:
        if math.isfinite(x.rise_pct):
            groups.setdefault((x.capacity, x.grip, x.hand), []).append(x)
    if not groups:
        return None
    name = words.chart_name(d)
    return look.picture(name, lambda width: _sheet(list(groups.values()), width))


def _sheet(groups: list[list[DesignLine]], width: float) -> look.Sheet:
    rows = sum(len(g) for g in groups)
    sheet = look.Sheet(width, rows * _ROW + len(groups) * (_HEAD + _GAP) + 26)
    left = max(sheet.box(words.WAYS[x.way], 0, 0).right for g in groups for x in g) + 14
    most = max(x.rise_pct for g in groups for x in g)
    _, high, ticks = look.round_span(0.0, most, ticks=5)
    x = look.Scale(0.0, high, left, width - 60)
    y = look.Scale(0, sheet.height, 0, sheet.height)
    bars = []
    top = 0.0
    for group in groups:
        first = group[0]
        sheet.words(words.series_name(first), 0, top + 14, size=look.NAME, bold=True)
        sheet.words(words.matters(first), width, top + 14, colour=look.SOFT, align="right")
        at = x(first.smallest_pct)
        for i, line in enumerate(group):
            level = top + _HEAD + _ROW * i + 10
            way = words.WAYS[line.way]
            sheet.words(way, 0, level + 4, colour=look.SOFT)
            tip = fmt.headed(f"{words.series_name(line)}, {way}", words.rise(line))
            stroke = look.ACCENT if i == 0 else look.TINT
            bars.append(
                {
                    "x": 0.0,
                    "x2": line.rise_pct,
                    "y": level,
                    "stroke": stroke,
                    "width": 8,
                    "tip": tip,
                }
            )
            sheet.words(words.rise(line), x(line.rise_pct) + 6, level + 4.5, bold=i == 0)
        end = top + _HEAD + _ROW * len(group)
        if at <= x.last:
            sheet.rule(at, top + _HEAD, at, end, dotted=True)
        top = end + _GAP
    sheet.bars(x, y, bars)
    sheet.rule(x.first, top, x.last, top)
    for value in ticks:
        sheet.rule(x(value), top, x(value), top + 4)
        sheet.words(
            fmt.number(value), x(value), top + 18, size=look.TICK, colour=look.SOFT, align="center"
        )
    sheet.words("%", x.last + 14, top + 18, size=look.TICK, colour=look.SOFT)
    return sheet
