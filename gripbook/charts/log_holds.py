"""What a short log holds: a lane for each kind of work, a mark for each day."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from gripbook.charts import look
from gripbook.derive.records import records
from gripbook.logs import Block
from gripbook.words import charts as words
from gripbook.words import fmt

_STEP = {True: 88.0, False: 56.0}  # from lane to lane, narrow and wide, pixels


@dataclass(frozen=True)
class _Lane:
    """A kind of work: its head, what it was done on, how much there is, and its marks."""

    name: str
    under: str
    amount: str
    shape: str
    marks: tuple[tuple[dt.date, bool, str, str], ...]  # day, limit known, label, words


def draw_log(
    sets: pd.DataFrame, refused: pd.DataFrame, block: Block, last: dt.date
) -> look.Picture | None:
    """
    Days with finger work in a log too short for paths, and days whose rows could not be read.

    Filled: a known limit, hollow: at least this, a cross: a row not readable. None without either.

    Parameters
    ----------
    sets : the review's sets.
    refused : the review's rows that were not used (`date`, `name`).
    last : the log's last day.
    """
    lanes = [*_work(sets), *_unread(refused, block)]
    if not lanes:
        return None
    name = words.LABELS["days_in_log"]
    return look.picture(name, lambda width: _sheet(lanes, block, width))


def _work(sets: pd.DataFrame) -> list[_Lane]:
    inside = sets[sets["in_block"] & ~sets["warmup"]]
    rows = records(inside, *_COLUMNS)
    lanes = []
    for exercise in ("hang", "repeater", "pull"):
        done = [r for r in rows if r.exercise == exercise]
        if not done:
            continue
        marks = []
        for day in sorted({r.date for r in done}):
            on_day = [r for r in done if r.date == day]
            known = any(r.outcome in ("failed", "pull") for r in on_day)
            label = _loads(on_day)
            n = fmt.sets(sum(r.sets for r in on_day))
            tip = f"{words.short_day(day)}: {n}" + (f", {label}" if label else "")
            marks.append((day.date(), known, label, tip))
        edges = sorted({r.edge_mm for r in done if math.isfinite(r.edge_mm)})
        under = fmt.listing(dict.fromkeys(fmt.grip(r.grip) for r in done))
        if len(edges) == 1:
            under = f"{under}, {fmt.with_unit(edges[0], 'mm')}"
        amount = fmt.days(len(marks))
        name = fmt.sentence(fmt.EXERCISE_WORDS[exercise])
        lanes.append(_Lane(name, under, amount, exercise, tuple(marks)))
    return lanes


_COLUMNS = ["date", "exercise", "grip", "hand", "edge_mm", "added_kg", "shown_kg", "sets"]
_COLUMNS += ["outcome"]


def _loads(rows: Sequence[Any]) -> str:
    """The day's heaviest load of each hand: as it is on the harness, else on the fingers."""
    tops: list[str] = []
    for hand in sorted({r.hand for r in rows}):
        of_hand = [r for r in rows if r.hand == hand]
        added = [r.added_kg for r in of_hand if r.exercise != "pull" and math.isfinite(r.added_kg)]
        shown = [r.shown_kg for r in of_hand if math.isfinite(r.shown_kg)]
        if added:
            tops.append(fmt.mass_number(max(added), 2, sign=True))
        elif shown:
            tops.append(fmt.mass_number(max(shown), 0))
    loads = fmt.listing(dict.fromkeys(tops))
    return f"{loads}{fmt.NBSP}{fmt.mass_unit()}" if loads else ""


def _unread(refused: pd.DataFrame, block: Block) -> list[_Lane]:
    if refused.empty:
        return []
    first, end = pd.Timestamp(block.start), pd.Timestamp(block.end)
    days = [d for d in refused["date"] if d is not pd.NaT and first <= d <= end]
    marks = tuple(
        (day.date(), False, "", words.row_not_readable(words.short_day(day))) for day in days
    )
    undated = len(refused) - len(days)
    under = words.without_day(undated) if undated else ""
    amount = fmt.rows(len(refused))
    return [_Lane(words.LABELS["not_readable"], under, amount, "unread", marks)]


def _sheet(lanes: list[_Lane], block: Block, width: float) -> look.Sheet:
    narrow = width < look.WIDE
    step = _STEP[narrow]
    end = step * len(lanes) + (2 if narrow else 22)
    sheet = look.Sheet(width, end + 24)
    if narrow:
        left, right = 4.0, width - 4
    else:
        named = max(
            max(
                sheet.box(lane.name, 0, 0, size=look.NAME, bold=True).right,
                sheet.box(lane.under, 0, 0).right,
            )
            for lane in lanes
        )
        amount = max(sheet.box(lane.amount, 0, 0, size=look.NAME).right for lane in lanes)
        left, right = min(named, 300.0) + 24, width - amount - 24
    x = look.days(block.start, block.end, left, right)
    y = look.Scale(0, sheet.height, 0, sheet.height)
    levels = []
    for i, lane in enumerate(lanes):
        top = step * i + (14 if narrow else 22)
        level = top + (50 if narrow else 20)
        levels.append(level)
        sheet.words(lane.name, 0, top + (0 if narrow else 18), size=look.NAME, bold=True)
        sheet.words(lane.under, 0, top + (16 if narrow else 35), colour=look.SOFT)
        sheet.words(lane.amount, width, top + (0 if narrow else 24), size=look.NAME, align="right")
        sheet.rule(x.first, level, x.last, level, colour=look.RULE, width=1)
        sheet.points(
            x,
            y,
            [
                {
                    "x": look.iso(day),
                    "y": level,
                    "shape": lane.shape,
                    "r": 4.2,
                    "filled": known,
                    "colour": look.SOFT if lane.shape == "unread" else look.ACCENT,
                    "tip": tip,
                }
                for day, known, _, tip in lane.marks
            ],
        )
    for lane, level in zip(lanes, levels, strict=True):
        _labels(sheet, lane, x, level)
    starts = [block.start + dt.timedelta(days=7 * w) for w in range(block.weeks)]
    sheet.weeks(x, end, starts, words.short_day)
    return sheet


def _labels(sheet: look.Sheet, lane: _Lane, x: look.Scale, level: float) -> None:
    """Loads over their marks; where days stand too close, those of the first and the last."""
    labelled = [mark for mark in lane.marks if mark[2]]
    free = -math.inf
    for i, (day, _, label, _) in enumerate(labelled):
        at = x(day)
        box = sheet.box(label, at, level - 10, bold=True, align="center")
        shift = max(0.0, max(0.0, x.first - 14) - box.left) + min(0.0, sheet.width - box.right)
        last = i == len(labelled) - 1
        if box.left + shift > free + 6 or (last and box.left + shift > free):
            free = sheet.words(label, at + shift, level - 10, bold=True, align="center").right
