"""Loads of the last block and of the coming one, on one axis of days."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from typing import Any

import pandas as pd

from gripbook.charts import look
from gripbook.derive.records import records
from gripbook.reviews import NextBlock, NextLoad
from gripbook.reviews.proposal import NextRow
from gripbook.words import charts as words
from gripbook.words import fmt

_HEAD, _HEIGHT, _GAP = 52.0, 70.0, 16.0


@dataclass(frozen=True)
class _Panel:
    """A series: marks of what was loaded, and bars of what is planned, in the athlete's unit."""

    load: NextLoad
    done: tuple[tuple[dt.date, float, bool], ...]  # day, weight, whether all was finished
    planned: tuple[NextRow, ...]

    @property
    def lifted(self) -> bool:
        return self.load.force_kg is not None

    @property
    def weights(self) -> list[float]:
        bars = [v for r in self.planned for v in (r.low_kg, r.high_kg) if v is not None]
        return [*(kg for _, kg, _ in self.done), *map(fmt.own_mass, bars)]


def draw_coming(plan: NextBlock, sets: pd.DataFrame) -> look.Picture | None:
    """
    What was loaded in the last block and what is planned, a panel for each grip and hand.

    Weights as they hang on the harness, or stand on the block, the heaviest of each week. Filled:
    every set finished; hollow: one was missed. Of coming weeks that are alike the first and the
    last have a mark; bars reach to what the rule for adding may lead to. Pulls have no load to set
    and are left out. None where no load is proposed.

    Parameters
    ----------
    plan : from `propose_next`.
    sets : the review's sets.
    """
    panels = [p for load in plan.loads if (p := _panel(load, plan, sets)) is not None]
    if not panels:
        return None
    first = min((day for p in panels for day, _, _ in p.done), default=plan.start)
    last = max(row.day for p in panels for row in p.planned)
    name = words.LABELS["coming"]
    return look.picture(name, lambda width: _sheet(panels, first, last, plan, width))


def _panel(load: NextLoad, plan: NextBlock, sets: pd.DataFrame) -> _Panel | None:
    if load.kind != "start" or load.kg is None or load.exercise == "pull":
        return None
    own = sets[
        sets["in_block"]
        & ~sets["warmup"]
        & ~sets["test"]
        & (sets["exercise"] == load.exercise)
        & (sets["grip"] == load.grip)
        & (sets["hand"] == load.hand)
    ]
    edges = [e for e in (load.edge_mm, load.from_edge_mm) if math.isfinite(e)]
    if edges:
        own = own[own["edge_mm"].isin(edges)]
    lever = "added_kg" if load.force_kg is None else "force_kg"
    if lever not in own:  # what a gauge read is not shown where body mass is hidden
        own = own.iloc[:0].assign(**{lever: math.nan})
    done = []
    for _, rows in own.groupby("week", sort=True):
        known = [
            r for r in records(rows, "date", lever, "outcome") if math.isfinite(getattr(r, lever))
        ]
        if known:
            top = max(getattr(r, lever) for r in known)
            whole = all(r.outcome != "failed" for r in known)
            done.append((known[-1].date.date(), fmt.own_mass(top), whole))
    planned = tuple(
        row
        for row in plan.rows
        if not row.test
        and (row.phase, row.grip, row.hand) == (load.phase, load.grip, load.hand)
        and (row.edge_mm == load.edge_mm or math.isnan(load.edge_mm))
        and row.low_kg is not None
    )
    # one mark a week, since its sessions are alike, and of weeks alike the first and the last
    weekly = list({row.week: row for row in reversed(planned)}.values())[::-1]
    ends = [
        row
        for before, row, after in zip([None, *weekly], weekly, [*weekly[1:], None], strict=False)
        if not (_alike(before, row) and _alike(row, after))
    ]
    return _Panel(load, tuple(done), tuple(ends)) if ends else None


def _alike(one: NextRow | None, other: NextRow | None) -> bool:
    return one is not None and other is not None and one.high_kg == other.high_kg


def _sheet(
    panels: list[_Panel], first: dt.date, last: dt.date, plan: NextBlock, width: float
) -> look.Sheet:
    step = _HEAD + _HEIGHT + _GAP
    sheet = look.Sheet(width, step * len(panels) + 12)
    x = look.days(first, last, 44, width - 8)
    end = step * len(panels) - _GAP
    for i, panel in enumerate(panels):
        _paint(sheet, panel, x, step * i)
    at = x(plan.start)
    sheet.rule(at, 40, at, end, dotted=True)
    months = [day.date() for day in pd.date_range(first, last, freq="MS")]
    sheet.months(x, end, months, words.short_month)
    return sheet


def _paint(sheet: look.Sheet, panel: _Panel, x: look.Scale, top: float) -> None:
    load = panel.load
    unit = fmt.mass_unit()
    what = words.weight_in(unit, lifted=panel.lifted)
    where = words.where(load.grip, load.hand, load.edge_mm)
    head = fmt.sentence(fmt.EXERCISE_WORDS[load.exercise])
    sheet.head(head, f"{where}; {what}", 0, top + 12, under=True)
    values = panel.weights
    low, high, ticks = look.round_span(min(values), max(values), least=5.0, ticks=3)
    bottom = top + _HEAD + _HEIGHT
    y = look.Scale(low, high, bottom - 6, top + _HEAD - 8)
    sheet.levels(y, ticks, x.first - 4, lambda v: fmt.number(v, 1, sign=not panel.lifted))
    bars: list[dict[str, Any]] = []
    marks: list[dict[str, Any]] = []
    for day, kg, whole in panel.done:
        marks.append(_mark(day, kg, panel, whole=whole, colour=look.SOFT))
    for row in panel.planned:
        least, most = fmt.own_mass(row.low_kg or 0.0), fmt.own_mass(row.high_kg or 0.0)
        if most > least:
            bars.append(
                {
                    "x": look.iso(row.day),
                    "y": least,
                    "y2": most,
                    "stroke": look.TINT,
                    "width": 4,
                }
            )
        marks.append(_mark(row.day, least, panel, whole=True, colour=look.ACCENT, most=most))
    sheet.bars(x, y, bars)
    sheet.points(x, y, marks)


def _mark(
    day: dt.date,
    kg: float,
    panel: _Panel,
    *,
    whole: bool,
    colour: str,
    most: float | None = None,
) -> dict[str, Any]:
    sign = not panel.lifted
    told = fmt.number(kg, 2, sign=sign)
    if most is not None and most > kg:
        told = words.from_to(told, fmt.number(most, 2, sign=sign))
    tip = fmt.headed(words.short_day(day), f"{told}{fmt.NBSP}{fmt.mass_unit()}")
    return {
        "x": look.iso(day),
        "y": round(kg, 3),
        "shape": panel.load.exercise,
        "r": 3.2,
        "filled": whole,
        "colour": colour,
        "tip": tip if whole else words.set_missed(tip),
    }
