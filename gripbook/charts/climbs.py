"""Climbs by month around a block: the hardest, and the median of the best five."""

from __future__ import annotations

import datetime as dt
import math

import pandas as pd

from gripbook.charts import look
from gripbook.derive.climbs import AROUND_DAYS, month_span
from gripbook.logs import Block
from gripbook.logs.grades import nearest_grade
from gripbook.reviews.climbed import Climbed
from gripbook.words import charts as words
from gripbook.words import fmt, other

_SHAPES = {"rock": "rock", "indoor": "hang", "": "pull"}
_STEP = 16.0  # a grade of the scale, pixels, at least


def draw_climbs(facts: Climbed, block: Block) -> look.Picture | None:
    """
    A panel for each discipline: hollow marks the month's hardest, filled the median of the best.

    Triangles are rock, circles indoors; an upright line is what a grade is known to. The block's
    days are tinted. None without climbs.
    """
    months = facts.months
    if months.empty:
        return None
    disciplines = [str(d) for d in dict.fromkeys(months["discipline"])]
    what = fmt.listing(other.DISCIPLINES[d] for d in disciplines)
    name = words.climbs_by_month(what)
    return look.picture(name, lambda width: _sheet(months, disciplines, block, width))


def _sheet(months: pd.DataFrame, disciplines: list[str], block: Block, width: float) -> look.Sheet:
    rows = {d: months[months["discipline"] == d] for d in disciplines}
    grades = max(
        _range(of_discipline)[1] - _range(of_discipline)[0] for of_discipline in rows.values()
    )
    height = 76 + max(96.0, min(_STEP * grades, 260.0))
    sheet, rooms = look.grid(width, len(disciplines), height)
    for discipline, room in zip(disciplines, rooms, strict=True):
        _panel(sheet, rows[discipline], discipline, block, room)
    return sheet


def _range(rows: pd.DataFrame) -> tuple[int, int]:
    least = float((rows["median"] - rows["median_error"]).min())
    return math.floor(least), math.ceil(float(rows["hardest"].max()))


def _panel(
    sheet: look.Sheet, rows: pd.DataFrame, discipline: str, block: Block, room: look.Box
) -> None:
    low, high = _range(rows)
    scale_name = str(rows["scale"].mode().iloc[0])
    levels = range(low, high + 1)
    every = max(1, math.ceil(len(levels) * _STEP / (room.bottom - room.top - 76)))
    shown = list(levels)[::every]
    labels = {level: nearest_grade(float(level), scale_name) for level in shown}
    axis = max(sheet.box(t, 0, 0, size=look.TICK).right for t in labels.values()) + 8
    around = dt.timedelta(days=AROUND_DAYS)
    x = look.days(block.start - around, block.end + around, room.left + axis, room.right)
    y = look.Scale(low - 0.5, high + 0.5, room.bottom - 24, room.top + 52)
    hollow, filled = words.LABELS["hollow_the_hardest"], words.LABELS["filled_median"]
    sheet.head(other.DISCIPLINES[discipline], "", room.left, room.top + 12)
    text = f"{hollow}, {filled}"
    if sheet.box(text, room.left, 0, italic=True, size=look.TICK).right <= room.right:
        sheet.words(text, room.left, room.top + 29, size=look.TICK, italic=True, colour=look.SOFT)
    else:
        for i, part in enumerate((hollow, filled)):
            sheet.words(
                part,
                room.left,
                room.top + 28 + 14 * i,
                size=look.TICK,
                italic=True,
                colour=look.SOFT,
            )
    sheet.levels(y, shown, x.first, lambda level: labels[int(level)])
    firsts = [
        day.date() for day in pd.date_range(block.start - around, block.end + around, freq="MS")
    ]
    sheet.months(x, y.first, firsts, words.short_month)
    days = [look.iso(d) for d in (block.start, block.end)]
    sheet.areas(
        x,
        y,
        [{"x": d, "y": y.low, "y2": y.high, "fill": look.PALE, "piece": "block"} for d in days],
    )
    marks, errors = [], []
    places = [p for p in _SHAPES if (rows["place"] == p).any()]
    for row in rows.to_dict("records"):
        first, last = month_span(row["month"], row["period"], block)
        # places of one month stand beside one another
        share = (places.index(row["place"]) + 1) / (len(places) + 1)
        day = look.iso(first + (last - first) * share)
        tip = words.climbs_of_month(
            month=words.short_month(row["month"]),
            place=other.PLACE_WORDS[row["place"]],
            n=int(row["climbs"]),
            hardest=row["hardest_grade"],
            median=row["median_grade"],
        )
        shape = _SHAPES[row["place"]]
        base = {"x": day, "shape": shape, "colour": look.INK}
        marks.append({**base, "y": float(row["hardest"]), "r": 4.2, "filled": False, "tip": tip})
        marks.append({**base, "y": float(row["median"]), "r": 3.2, "filled": True, "tip": ""})
        if row["median_error"] > 0:
            ends = [float(row["median"]) + s * float(row["median_error"]) for s in (-1, 1)]
            errors.append(
                {"x": day, "y": ends[0], "y2": ends[1], "stroke": look.AXIS, "width": 0.75}
            )
    sheet.bars(x, y, errors)
    sheet.points(x, y, marks)
    sheet.words(
        words.LABELS["the_block"],
        x(block.start) + 4,
        y.last - 4,
        size=look.TICK,
        italic=True,
        colour=look.SOFT,
        halo=True,
    )
    if len(places) > 1:
        _name_places(sheet, rows, places, x, y, block, room)


def _name_places(
    sheet: look.Sheet,
    rows: pd.DataFrame,
    places: list[str],
    x: look.Scale,
    y: look.Scale,
    block: Block,
    room: look.Box,
) -> None:
    """The place's name at its last mark."""
    for i, place in enumerate(places):
        row = rows[rows["place"] == place].sort_values("month").iloc[-1]
        first, last = month_span(row["month"], row["period"], block)
        day = first + (last - first) * ((i + 1) / (len(places) + 1))
        line = look.Line(other.PLACE_WORDS[place], bold=True)
        sheet.tag(
            [line],
            x(day),
            y(float(row["hardest"])),
            within=look.Box(room.left, room.top + 34, room.right, y.first),
            aligns=("right", "center", "left"),
        )
