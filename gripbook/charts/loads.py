"""Every set of the block as it was done: a picture for each kind of work, a panel for each grip."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from typing import Any

import pandas as pd

from gripbook.charts import look
from gripbook.logs import Block
from gripbook.words import charts as words
from gripbook.words import fmt, say

_WITHIN = ["edge_mm", "board", "test"]  # loads that one line may join


def loads(sets: pd.DataFrame, block: Block, last: dt.date) -> tuple[look.Picture, ...]:
    """
    Load of each set by day.

    Filled: a known limit (a failed set, a pull), hollow: at least this. A line joins the day's best
    mastered where weeks follow one another on one edge and board, tests apart from training; it is
    dashed for the left hand. Where body mass is hidden the axis shows added weight, and for pulls
    over a scale the difference to the first.

    Parameters
    ----------
    sets : the review's sets. last : the log's last day.
    """
    inside = sets[sets["in_block"] & ~sets["warmup"] & sets["shown_kg"].notna()]
    order = [p.exercise for p in block.phases if p.exercise]
    out = []
    for exercise in dict.fromkeys([*order, "hang", "repeater", "pull"]):
        rows = inside[inside["exercise"] == exercise]
        if rows.empty:
            continue
        # a gauge's load and an added weight have no axis in common: the rest is in the table
        shown_as = rows["shown_as"].mode().iloc[0]
        others = int(rows.loc[rows["shown_as"] != shown_as, "sets"].sum())
        rows = rows[rows["shown_as"] == shown_as].assign(
            kg=lambda r: [fmt.own_mass(float(v)) for v in r["shown_kg"]]
        )
        grips = list(rows["grip"].value_counts().index)
        name = say("{work}, every set by day", work=fmt.sentence(fmt.EXERCISE_WORDS[str(exercise)]))
        unit = say("{what} ({unit})", what=say(shown_as), unit=fmt.mass_unit())
        if others:
            n = fmt.count(others, "{n} set", "{n} sets")
            unit = say("{unit}; {sets} measured otherwise", unit=unit, sets=n)
        out.append(look.picture(name, _painter(rows, grips, unit, str(exercise), block)))
    return tuple(out)


def _painter(
    rows: pd.DataFrame, grips: Sequence[str], unit: str, exercise: str, block: Block
) -> Any:
    def paint(width: float) -> look.Sheet:
        sheet, rooms = look.grid(width, len(grips), 200)
        for i, (grip, room) in enumerate(zip(grips, rooms, strict=True)):
            head = fmt.sentence(fmt.EXERCISE_WORDS[exercise]) if not i else ""
            _panel(sheet, rows[rows["grip"] == grip], head, grip, unit, exercise, block, room)
        return sheet

    return paint


def _panel(
    sheet: look.Sheet,
    rows: pd.DataFrame,
    head: str,
    grip: str,
    unit: str,
    exercise: str,
    block: Block,
    room: look.Box,
) -> None:
    hands = [h for h in ("both", "left", "right") if (rows["hand"] == h).any()]
    apart = hands != ["both"]
    # loads that differ in sign need no share of their level
    top = float(rows["kg"].abs().max())
    low, high, ticks = look.round_span(
        float(rows["kg"].min()), float(rows["kg"].max()), least=look.LEAST_SPAN * top, ticks=6
    )
    margin = max(sheet.box(words.SIDES[h], 0, 0).right for h in hands) + 6 if apart else 0.0
    axis = max(sheet.box(fmt.number(t), 0, 0, size=look.TICK).right for t in ticks) + 8
    x = look.days(block.start, block.end, room.left + axis, room.right - margin)
    y = look.Scale(low, high, room.bottom - 24, room.top + 56)
    sheet.words(fmt.sentence(fmt.grip(grip)), room.left, room.top + 12, size=look.NAME, bold=True)
    sheet.words(unit, room.left, room.top + 29, size=look.TICK, italic=True, colour=look.SOFT)
    sheet.levels(y, ticks, x.first, fmt.number)
    starts = [block.start + dt.timedelta(days=7 * w) for w in range(block.weeks)]
    sheet.weeks(x, y.first, starts, words.short_day)
    ends = []
    for hand in hands:
        of_hand = rows[rows["hand"] == hand]
        best = _best(of_hand)
        sheet.lines(x, y, _joined(best), broken=hand == "left")
        if apart and len(best):
            end = best.sort_values("date").iloc[-1]
            ends.append((y(end["kg"]), x(end["date"]), words.SIDES[hand]))
    sheet.points(x, y, [_mark(r, exercise) for r in rows.to_dict("records")])
    free = -math.inf
    for level, at, word in sorted(ends):
        level = max(level + 4, free + look.LINE)
        sheet.words(word, at + 7, level, bold=True, halo=True)
        free = level


def _best(rows: pd.DataFrame) -> pd.DataFrame:
    """The day's best mastered on each edge and board, tests apart."""
    mastered = rows[rows["outcome"].isin(["finished", "pull"])]
    return mastered.sort_values("kg").drop_duplicates(["date", *_WITHIN], keep="last")


def _joined(best: pd.DataFrame) -> list[dict[str, Any]]:
    """The lines: a new piece wherever a week without such sets lies between."""
    out = []
    for number, (_, run) in enumerate(best.groupby(_WITHIN, dropna=False, sort=True)):
        piece, week = 0, -1
        for row in run.sort_values("date").to_dict("records"):
            if week >= 0 and row["week"] - week > 1:
                piece += 1
            week = row["week"]
            out.append(
                {
                    "x": look.iso(row["date"]),
                    "y": round(row["kg"], 3),
                    "stroke": look.ACCENT,
                    "piece": f"{number}.{piece}",
                }
            )
    return out


def _mark(row: dict[Any, Any], exercise: str) -> dict[str, Any]:
    edge = fmt.with_unit(row["edge_mm"], "mm") if math.isfinite(row["edge_mm"]) else ""
    n = fmt.count(int(row["sets"]), "{n} set", "{n} sets")
    load = fmt.with_unit(row["kg"], fmt.mass_unit(), 2)
    hand = "" if row["hand"] == "both" else words.SIDES[row["hand"]]
    parts = (load, n, hand, edge, words.OUTCOMES[row["outcome"]])
    return {
        "x": look.iso(row["date"]),
        "y": round(row["kg"], 3),
        "shape": exercise,
        "r": 2.7,
        "filled": row["outcome"] in ("failed", "pull"),
        "colour": look.ACCENT,
        "soft": True,
        "tip": f"{words.short_day(row['date'])}: " + ", ".join(filter(None, parts)),
    }
