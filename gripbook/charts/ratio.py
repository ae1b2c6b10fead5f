"""Strength and body mass on one scale: per cent since the start, like with like."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from functools import partial
from typing import Any

import pandas as pd

from gripbook.charts import look
from gripbook.charts.paths import track
from gripbook.derive.records import records
from gripbook.logs import Block
from gripbook.reviews.body_mass import BodyMass
from gripbook.reviews.change_facts import RatioChange
from gripbook.words import charts as words
from gripbook.words import fmt, series

_HEIGHT = 168.0
#: The scale spans at least this, so that a steady body mass looks steady (per cent, own choice).
_LEAST_PCT = 15.0


def draw_ratio(
    facts: RatioChange, mass: BodyMass, block: Block, last: dt.date
) -> look.Picture | None:
    """
    The headline's load at one edge and body mass, each in per cent of its start.

    None where one of the two has no start to compare with.
    """
    start, weighed = facts.series.start_kg, mass.weigh_ins
    weighed = weighed[weighed["date"] >= pd.Timestamp(block.start)]
    if not math.isfinite(start) or len(weighed) < 2 or not math.isfinite(facts.start_mass_kg):
        return None
    name = words.ratio_since(
        name=fmt.sentence(series.capacity(facts.series)),
        day=words.short_day(block.start),
    )
    end = min(last, block.end)
    unit = 100 / fmt.own_mass(start)
    path = [
        step._replace(
            kg=step.kg * unit - 100,
            low_kg=step.low_kg * unit - 100,
            high_kg=step.high_kg * unit - 100,
        )
        for step in track(facts.series, end)
    ]
    days = [
        (r.date.date(), 100 * (r.body_mass_kg / facts.start_mass_kg - 1), r.body_mass_kg)
        for r in records(weighed, "date", "body_mass_kg")
        if r.date.date() <= end
    ]
    return look.picture(name, partial(_sheet, facts, path, days, block))


def _sheet(
    facts: RatioChange,
    path: Sequence[look.Step],
    weighed: Sequence[tuple[dt.date, float, float]],
    block: Block,
    width: float,
) -> look.Sheet:
    sheet = look.Sheet(width, _HEIGHT + 42)
    edges = [v for step in path for v in step[1:4]] + [pct for _, pct, _ in weighed] + [0.0]
    low, high, ticks = look.round_span(min(edges), max(edges), least=_LEAST_PCT, ticks=3)
    texts = _ends(facts, sheet.narrow)
    right = max(
        sheet.box(text, 0, 0, bold=i == 0).right
        for head, more in texts
        for i, text in enumerate([head, *more])
    )
    x = look.days(block.start, block.end, 34, width - right - 12)
    y = look.Scale(low, high, 18 + _HEIGHT, 18)
    sheet.levels(y, ticks, x.first, lambda v: fmt.number(v, sign=True))
    sheet.words(
        words.percent_since(words.short_day(block.start)),
        x.first + 6,
        y(high) + 4,
        size=look.TICK,
        italic=True,
        colour=look.SOFT,
    )
    sheet.rule(x.first, y(0), x.last, y(0))
    starts = [block.start + dt.timedelta(days=7 * w) for w in range(block.weeks)]
    sheet.weeks(x, y.first, starts, words.short_day)
    look.band(sheet, x, y, path)
    if path:
        sheet.points(x, y, [_end_mark(facts, path[-1])])
    sheet.points(
        x,
        y,
        [
            {
                "x": look.iso(day),
                "y": round(pct, 3),
                "shape": "hang",
                "r": 2.6,
                "filled": True,
                "colour": look.INK,
                "soft": True,
                "tip": f"{words.short_day(day)}: {fmt.mass(kg)}",
            }
            for day, pct, kg in weighed
        ],
    )
    latest = [pct for _, pct, _ in weighed[-3:]]
    levels = [
        y(path[-1].kg) if path else y(0),
        y(sum(latest) / len(latest)) if latest else y(0),
    ]
    _label(sheet, x.last + 10, levels, texts)
    return sheet


def _end_mark(facts: RatioChange, step: look.Step) -> dict[str, Any]:
    s = facts.series
    return {
        "x": look.iso(step.day),
        "y": round(step.kg, 3),
        "shape": s.capacity,
        "r": 4.2,
        "filled": True,
        "colour": look.ACCENT,
        "tip": f"{fmt.sentence(series.capacity(s))}: {_from_to(facts)}",
    }


def _from_to(facts: RatioChange) -> str:
    s = facts.series
    width = s.high_kg - s.low_kg
    if not math.isfinite(s.end_kg):
        return series.load(s.start_kg, width)
    return fmt.start_to_end(
        start=fmt.mass_number(s.start_kg, series.digits(s.start_kg, width)),
        end=series.load(s.end_kg, width),
    )


def _ends(facts: RatioChange, narrow: bool) -> list[tuple[str, list[str]]]:
    """What stands at the ends: name, and from what to what."""
    s = facts.series
    pct = fmt.with_unit(s.change_pct, "%", 0, sign=True) if math.isfinite(s.change_pct) else ""
    mass = ""
    if facts.mass_measured:
        mass = fmt.with_unit(facts.mass_pct.value, "%", 0, sign=True)
    both = fmt.start_to_end(
        start=fmt.mass_number(facts.start_mass_kg, trim=False),
        end=f"{fmt.mass_number(facts.end_mass_kg, trim=False)}{fmt.NBSP}{fmt.mass_unit()}",
    )
    strength = [pct] if narrow else [_from_to(facts), pct]
    body = [mass] if narrow else [both, mass]
    # on a phone the long name would take half of the picture
    name = fmt.WORK_WORDS[s.capacity] if narrow else fmt.EXERCISE_WORDS[s.capacity]
    return [
        (name, [t for t in strength if t]),
        (words.LABELS["body_mass"], [t for t in body if t]),
    ]


def _label(
    sheet: look.Sheet, x: float, levels: list[float], texts: list[tuple[str, list[str]]]
) -> None:
    """Words at the ends, kept apart from one another."""
    order = sorted(range(len(levels)), key=lambda i: levels[i])
    top = -math.inf
    for i in order:
        head, more = texts[i]
        at = max(levels[i] - 2, top)
        sheet.words(head, x, at, bold=True)
        for n, text in enumerate(more):
            sheet.words(text, x, at + look.LINE * (n + 1))
        top = at + look.LINE * (len(more) + 1) + 6
