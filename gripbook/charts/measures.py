"""Measures by day, a small panel for each, and body mass where it stands alone."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from gripbook.charts import look
from gripbook.reviews.body_mass import BodyMass
from gripbook.reviews.measured import Measured, MeasureTrend
from gripbook.words import charts as words
from gripbook.words import fmt, other

_SIDE_SHAPES = {"": "hang", "both": "hang", "left": "repeater", "right": "pull"}


@dataclass(frozen=True)
class _Side:
    """One side of a measure: days, levels, the error from repeats (NaN where not known)."""

    word: str
    shape: str
    days: Sequence[dt.date]
    levels: Sequence[float]
    error: float


@dataclass(frozen=True)
class _Panel:
    name: str
    unit: str
    sides: tuple[_Side, ...]


def draw_measures(facts: Measured) -> look.Picture | None:
    """
    A panel for each measure of two days or more; upright lines are the error from repeats.

    Sides are told apart by shape and by the word at their last mark. None without any.
    """
    groups: dict[tuple[str, str], list[MeasureTrend]] = {}
    for t in facts.trends:
        if len(t.rows) > 1:
            groups.setdefault((t.measure, t.unit), []).append(t)
    panels = [
        _Panel(
            fmt.sentence(other.measure_name(measure)),
            unit,
            tuple(
                _Side(
                    fmt.SIDE_WORDS[t.side] if t.side else "",
                    _SIDE_SHAPES.get(t.side, "hang"),
                    [d.date() for d in t.rows["date"]],
                    [float(v) for v in t.rows["value"]],
                    float(t.error.sd),
                )
                for t in trends
            ),
        )
        for (measure, unit), trends in groups.items()
    ]
    return _picture(words.measures_by_day(_names(panels)), panels)


def draw_body_mass(facts: BodyMass) -> look.Picture | None:
    """Weigh-ins by day; None with fewer than two or where body mass is hidden."""
    if len(facts.weigh_ins) < 2:
        return None
    by_day = facts.weigh_ins.groupby("date", sort=True)["body_mass_kg"].mean()
    days = [pd.Timestamp(str(d)).date() for d in by_day.index]
    side = _Side("", "hang", days, [fmt.own_mass(float(v)) for v in by_day], math.nan)
    name = words.LABELS["body_mass_name"]
    return _picture(words.LABELS["body_mass_by_day"], [_Panel(name, fmt.mass_unit(), (side,))])


def _names(panels: Sequence[_Panel]) -> str:
    return fmt.listing(panel.name for panel in panels)


def _picture(name: str, panels: Sequence[_Panel]) -> look.Picture | None:
    if not panels:
        return None
    return look.picture(name, lambda width: _sheet(panels, width))


def _sheet(panels: Sequence[_Panel], width: float) -> look.Sheet:
    sheet, rooms = look.grid(width, len(panels), 170, heads=[p.name for p in panels])
    days = [day for panel in panels for side in panel.sides for day in side.days]
    first, last = min(days), max(days)
    if first == last:
        last = first + dt.timedelta(days=1)
    for panel, room in zip(panels, rooms, strict=True):
        _panel(sheet, panel, first, last, room)
    return sheet


def _panel(sheet: look.Sheet, panel: _Panel, first: dt.date, last: dt.date, room: look.Box) -> None:
    ends = [
        v + sign * (side.error if math.isfinite(side.error) else 0.0)
        for side in panel.sides
        for v in side.levels
        for sign in (-1, 1)
    ]
    least = look.LEAST_SPAN * abs(max(ends, key=abs))
    low, high, ticks = look.round_span(min(ends), max(ends), least=least, ticks=5)
    axis = max(sheet.box(fmt.number(t), 0, 0, size=look.TICK).right for t in ticks) + 8
    margin = max(sheet.box(side.word, 0, 0).right for side in panel.sides) + 8
    x = look.days(first, last, room.left + axis + 4, room.right - margin)
    y = look.Scale(low, high, room.bottom - 24, room.top + 44)
    sheet.head(panel.name, panel.unit, room.left, room.top + 12, under=True)
    sheet.levels(y, ticks, x.first - 4, fmt.number)
    sheet.rule(x.first - 4, y.first, x.last, y.first)
    for day, align in ((first, "left"), (last, "right")):
        sheet.rule(x(day), y.first, x(day), y.first + 5)
        place = x(day) - 4 if align == "left" else x(day)
        sheet.words(
            words.short_day(day),
            place,
            y.first + 18,
            size=look.TICK,
            colour=look.SOFT,
            align="left" if align == "left" else "right",
        )
    last_marks = []
    for side in panel.sides:
        if math.isfinite(side.error) and side.error > 0:
            sheet.bars(
                x,
                y,
                [
                    {
                        "x": look.iso(day),
                        "y": round(v - side.error, 3),
                        "y2": round(v + side.error, 3),
                        "stroke": look.AXIS,
                        "width": 0.75,
                    }
                    for day, v in zip(side.days, side.levels, strict=True)
                ],
            )
        sheet.points(
            x,
            y,
            [
                {
                    "x": look.iso(day),
                    "y": round(v, 3),
                    "shape": side.shape,
                    "r": 3.2,
                    "filled": True,
                    "colour": look.INK,
                    "rim": False,
                    "tip": _tip(panel, side, day, v),
                }
                for day, v in zip(side.days, side.levels, strict=True)
            ],
        )
        last_marks.append((y(side.levels[-1]), x(side.days[-1]), side.word))
    free = -math.inf
    for level, at, word in sorted(last_marks):
        if word:
            level = max(level + 4, free + look.LINE)
            sheet.words(word, at + 8, level, bold=True)
            free = level


def _tip(panel: _Panel, side: _Side, day: dt.date, value: float) -> str:
    figure = fmt.with_unit(value, panel.unit) if panel.unit else fmt.number(value)
    what = f"{panel.name}, {side.word}" if side.word else panel.name
    return f"{what}, {words.short_day(day)}: {figure}"
