"""Every set of the block as it was done: a picture for each kind of work, a panel for each grip."""

from __future__ import annotations

import datetime as dt
import math
import statistics
from collections import Counter
from collections.abc import Iterable, Sequence
from functools import partial
from typing import Any, NamedTuple

import pandas as pd

from gripbook.charts import look
from gripbook.derive.records import records
from gripbook.logs import Block
from gripbook.words import charts as words
from gripbook.words import fmt, series


def draw_loads(sets: pd.DataFrame, block: Block, last: dt.date) -> tuple[look.Picture, ...]:
    """
    Load of each set by day.

    Filled: a known limit (a failed set, a pull), hollow: at least this. A line joins the day's best
    mastered where weeks follow one another on one edge and board, tests apart from training; it is
    dashed for the left hand. Where body mass is hidden the axis shows added weight, and for pulls
    over a scale the difference to the first.

    Parameters
    ----------
    sets : the review's sets.
    last : the log's last day.
    """
    inside = [
        row
        for row in records(sets, *_COLUMNS)
        if row.in_block and not row.warmup and not math.isnan(row.shown_kg)
    ]
    order = [p.exercise for p in block.phases if p.exercise]
    out = []
    for exercise in dict.fromkeys([*order, "hang", "repeater", "pull"]):
        every = [row for row in inside if row.exercise == exercise]
        if not every:
            continue
        # a gauge's load and an added weight have no axis in common: the rest is in the table
        shown_as = statistics.mode(sorted(row.shown_as for row in every))
        others = sum(row.sets for row in every if row.shown_as != shown_as)
        rows = [row for row in every if row.shown_as == shown_as]
        grips = [grip for grip, _ in Counter(row.grip for row in rows).most_common()]
        name = words.every_set(fmt.sentence(fmt.EXERCISE_WORDS[exercise]))
        unit = words.what_in_unit(what=series.SHOWN_AS[shown_as], unit=fmt.mass_unit())
        if others:
            n = fmt.sets(others)
            unit = words.measured_otherwise(unit=unit, sets=n)
        out.append(look.picture(name, partial(_sheet, _sets(rows), grips, unit, block)))
    return tuple(out)


class _Set(NamedTuple):
    """A set, its load in the unit in use; `run`: the loads that one line may join."""

    day: dt.date
    week: int
    kg: float
    exercise: str
    grip: str
    hand: str
    edge_mm: float
    sets: int
    outcome: str
    run: str


_COLUMNS = ["date", "week", "shown_kg", "exercise", "grip", "hand", "edge_mm", "board", "test"]
_COLUMNS += ["sets", "outcome", "shown_as", "in_block", "warmup"]


def _sets(rows: Iterable[Any]) -> list[_Set]:
    unit = fmt.own_mass(1.0)
    return [
        _Set(
            r.date.date(),
            r.week,
            r.shown_kg * unit,
            r.exercise,
            r.grip,
            r.hand,
            r.edge_mm,
            r.sets,
            r.outcome,
            # tests and training loads differ by plan: a line between them would look like a fall
            f"{r.hand} {r.edge_mm} {r.board} {r.test}",
        )
        for r in rows
    ]


def _sheet(
    sets: Sequence[_Set], grips: Sequence[str], unit: str, block: Block, width: float
) -> look.Sheet:
    sheet, rooms = look.grid(width, len(grips), 200, heads=map(fmt.grip, grips))
    for grip, room in zip(grips, rooms, strict=True):
        _panel(sheet, [one for one in sets if one.grip == grip], unit, block, room)
    return sheet


def _panel(
    sheet: look.Sheet, sets: Sequence[_Set], unit: str, block: Block, room: look.Box
) -> None:
    hands = [h for h in ("both", "left", "right") if any(one.hand == h for one in sets)]
    apart = hands != ["both"]
    loads = [one.kg for one in sets]
    least = look.LEAST_SPAN * max(abs(kg) for kg in loads)
    low, high, ticks = look.round_span(min(loads), max(loads), least=least, ticks=6)
    margin = max(sheet.box(fmt.SIDE_WORDS[h], 0, 0).right for h in hands) + 6 if apart else 0.0
    axis = max(sheet.box(fmt.number(t), 0, 0, size=look.TICK).right for t in ticks) + 8
    x = look.days(block.start, block.end, room.left + axis, room.right - margin)
    y = look.Scale(low, high, room.bottom - 24, room.top + 56)
    sheet.words(
        fmt.sentence(fmt.grip(sets[0].grip)), room.left, room.top + 12, size=look.NAME, bold=True
    )
    sheet.words(unit, room.left, room.top + 29, size=look.TICK, italic=True, colour=look.SOFT)
    sheet.levels(y, ticks, x.first, fmt.number)
    starts = [block.start + dt.timedelta(days=7 * w) for w in range(block.weeks)]
    sheet.weeks(x, y.first, starts, words.short_day)
    ends = []
    for hand in hands:
        best = _best([one for one in sets if one.hand == hand])
        sheet.lines(x, y, _joined(best), broken=hand == "left")
        if apart and best:
            end = max(best, key=lambda one: one.day)
            ends.append((y(end.kg), x(end.day), fmt.SIDE_WORDS[hand]))
    sheet.points(x, y, [_mark(one) for one in sets])
    free = -math.inf
    for level, at, word in sorted(ends):
        level = max(level + 4, free + look.LINE)
        sheet.words(word, at + 7, level, bold=True, halo=True)
        free = level


def _best(sets: Iterable[_Set]) -> list[_Set]:
    """The best mastered of each day and run, in order of days."""
    best: dict[tuple[dt.date, str], _Set] = {}
    for one in sets:
        known = best.get((one.day, one.run))
        if one.outcome in ("finished", "pull") and (known is None or one.kg > known.kg):
            best[one.day, one.run] = one
    return sorted(best.values(), key=lambda one: (one.run, one.day))


def _joined(best: Sequence[_Set]) -> list[dict[str, Any]]:
    """The lines: a new piece wherever a week without such sets lies between."""
    out: list[dict[str, Any]] = []
    piece = 0
    for i, one in enumerate(best):
        before = best[i - 1] if i else one
        if before.run != one.run or one.week - before.week > 1:
            piece += 1
        row = {"x": look.iso(one.day), "y": round(one.kg, 3), "stroke": look.ACCENT}
        out.append({**row, "piece": piece})
    return out


def _mark(one: _Set) -> dict[str, Any]:
    edge = fmt.with_unit(one.edge_mm, "mm") if math.isfinite(one.edge_mm) else ""
    n = fmt.sets(one.sets)
    load = fmt.with_unit(one.kg, fmt.mass_unit(), 2)
    hand = "" if one.hand == "both" else fmt.SIDE_WORDS[one.hand]
    parts = (load, n, hand, edge, words.OUTCOMES[one.outcome])
    return {
        "x": look.iso(one.day),
        "y": round(one.kg, 3),
        "shape": one.exercise,
        "r": 2.7,
        "filled": one.outcome in ("failed", "pull"),
        "colour": look.ACCENT,
        "soft": True,
        "tip": f"{words.short_day(one.day)}: " + ", ".join(filter(None, parts)),
    }
