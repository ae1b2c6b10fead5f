"""Pain by day, over what the fingers did."""

from __future__ import annotations

import datetime as dt
import math
from typing import Any

import pandas as pd

from gripbook.charts import look
from gripbook.logs import Block
from gripbook.reviews.pain import Pain
from gripbook.words import charts as words
from gripbook.words import fmt
from gripbook.words import pain as pain_words

#: Notes that stand at marks; the others are in the table of entries.
_NOTES = 4
_LONGEST_NOTE = 32  # letters
_TOP = 48.0  # from a panel's head to its highest level, pixels; notes stand in it
_LEVEL = 26.0  # a step of the scale of pain, pixels
_HEAD, _LOAD = 40.0, 70.0  # head and height of the bars' panel


def draw_pain(facts: Pain, sets: pd.DataFrame, block: Block, last: dt.date) -> look.Picture | None:
    """
    Levels of pain by day with the block's limit, a panel for each place, over the finger load.

    An entry without a level is a dotted line, never a 0; a day asked and answered with none is a
    tick. None where nothing was felt.

    Parameters
    ----------
    sets : the review's sets.
    last : the log's last day.
    """
    felt = facts.felt
    if felt.empty:
        return None
    places = list(
        felt.groupby(["site", "side"], sort=False).size().sort_values(ascending=False).index
    )
    name = words.pain_by_day(
        fmt.listing(pain_words.place(site, side) for site, side in places),
    )
    inside = sets[sets["in_block"]]
    minutes = (inside["tension_s"] * inside["sets"]).groupby(inside["date"]).sum() / 60
    minutes = minutes[minutes > 0]
    return look.picture(name, lambda width: _sheet(facts, places, minutes, block, last, width))


def _sheet(
    facts: Pain,
    places: list[tuple[str, str]],
    minutes: pd.Series,
    block: Block,
    last: dt.date,
    width: float,
) -> look.Sheet:
    most = [_top_level(facts, place) for place in places]
    heights = [_TOP + _LEVEL * n + 34 for n in most]
    sheet = look.Sheet(width, sum(heights) + _HEAD + _LOAD + 26)
    x = look.days(block.start, block.end, 24, width - 8 if sheet.narrow else width - 92)
    top = 0.0
    for place, n, height in zip(places, most, heights, strict=True):
        _place(sheet, facts, place, n, x, top)
        top += height
    _load(sheet, minutes, block, last, x, top)
    return sheet


def _entries(facts: Pain, place: tuple[str, str]) -> pd.DataFrame:
    entries = facts.entries
    return entries[(entries["site"] == place[0]) & (entries["side"] == place[1])]


def _top_level(facts: Pain, place: tuple[str, str]) -> int:
    """The highest level drawn: the scale's lower half unless more was felt."""
    highest = _entries(facts, place)["level"].max()
    needed = max(facts.limit, highest if math.isfinite(highest) else 0.0) + 1
    return int(min(10, max(5, math.ceil(needed))))


def _place(
    sheet: look.Sheet, facts: Pain, place: tuple[str, str], most: int, x: look.Scale, top: float
) -> None:
    base = top + _TOP + _LEVEL * most
    y = look.Scale(0, most, base, top + _TOP)
    sheet.head(
        words.LABELS["pain"],
        words.pain_scale(place=pain_words.place(*place), most=most),
        0,
        top + 12,
    )
    sheet.levels(y, range(most + 1), x.first, str)
    sheet.rule(x.first, base, x.last, base)
    limit = words.limit_of_block(fmt.number(facts.limit))
    if 0 < facts.limit <= most:
        level = y(facts.limit)
        sheet.rule(x.first, level, x.last, level, colour=look.SOFT, dotted=True)
    entries = _entries(facts, place)
    known = entries[entries["level"].notna() & (entries["level"] > 0)]
    # a set stopped for pain has no level of its own; the day's entry has one
    unknown = entries[entries["level"].isna() & ~entries["date"].isin(known["date"])]
    rows = known.to_dict("records")
    sheet.bars(
        x,
        y,
        [
            {
                "x": look.iso(r["date"]),
                "y": 0,
                "y2": r["level"],
                "stroke": look.ACCENT,
                "width": 1.25,
            }
            for r in rows
        ],
    )
    sheet.points(
        x,
        y,
        [
            {
                "x": look.iso(r["date"]),
                "y": r["level"],
                "shape": "hang",
                "r": 4.0,
                "filled": True,
                "colour": look.ACCENT,
                "rim": False,
                "tip": _tip(r),
            }
            for r in rows
        ],
    )
    for r in rows:  # stems are in the way of words too
        at = x(r["date"])
        sheet.taken.append(look.Box(at - 2, y(r["level"]), at + 2, base))
    within = look.Box(x.first, top + 17, sheet.width, base)
    for i, day in enumerate(sorted(set(unknown["date"]))):
        sheet.rule(x(day), base, x(day), y(most), colour=look.ACCENT, width=1.25, dotted=True)
        if not i:
            line = look.Line(words.LABELS["no_level_noted"], italic=True, colour=look.SOFT)
            sheet.tag([line], x(day), y(most), within=within, gap=5)
    asked = sorted(set(facts.none_dates) - set(unknown["date"]))
    for day in asked:
        sheet.rule(x(day), base - 5, x(day), base + 5, colour=look.INK, width=1.25)
    if asked:
        sheet.words(
            words.LABELS["0_asked"],
            x(asked[0]),
            base - 10,
            italic=True,
            colour=look.SOFT,
            halo=True,
        )
    if 0 < facts.limit <= most:
        sheet.words(limit, x.first + 4, y(facts.limit) - 5, italic=True, colour=look.SOFT)
    _notes(sheet, known, x, y, within)
    if not sheet.narrow and len(known):
        worst = known.loc[known["level"] == known["level"].max()].iloc[0]
        sheet.words(fmt.number(worst["level"]), x.last + 8, y(worst["level"]) - 2, bold=True)
        sheet.words(
            words.on_day(words.short_day(worst["date"])),
            x.last + 8,
            y(worst["level"]) + 13,
            colour=look.SOFT,
        )


def _tip(row: dict[Any, Any]) -> str:
    when = fmt.WHEN_WORDS[row["when"]] if row["when"] else ""
    note = words.quoted(row["note"]) if row["note"] else ""
    level = words.level_of_10(fmt.number(row["level"]))
    sign = fmt.SIGN_WORDS[row["sign"]]
    return f"{words.short_day(row['date'])}: " + ", ".join(filter(None, (level, when, sign, note)))


def _notes(
    sheet: look.Sheet, known: pd.DataFrame, x: look.Scale, y: look.Scale, within: look.Box
) -> None:
    """The athlete's words at the marks: of the highest levels where there are many."""
    noted = known[known["note"].str.strip() != ""]
    noted = noted.sort_values("level", ascending=False, kind="stable").head(_NOTES)
    for row in noted.sort_values("date").to_dict("records"):
        text = str(row["note"]).strip()
        if len(text) > _LONGEST_NOTE:
            text = text[: _LONGEST_NOTE - 1].rsplit(" ", 1)[0] + "…"
        line = look.Line(words.quoted(text), italic=True)
        at = x(row["date"])
        aligns: tuple[look.Align, ...] = ("right", "center", "left")
        if at < (x.first + x.last) / 2:
            aligns = ("left", "center", "right")
        sheet.tag([line], at, y(row["level"]), within=within, aligns=aligns)


def _load(
    sheet: look.Sheet,
    minutes: pd.Series,
    block: Block,
    last: dt.date,
    x: look.Scale,
    top: float,
) -> None:
    """Minutes under load by day, with the block's phases."""
    highest = float(minutes.max()) if len(minutes) else 1.0
    _, high, ticks = look.round_span(0, highest, ticks=3)
    base = top + _HEAD + _LOAD
    y = look.Scale(0, high, base, top + _HEAD)
    sheet.head(words.LABELS["finger_load"], words.LABELS["minutes_by_day"], 0, top + 12)
    sheet.levels(y, ticks, x.first, fmt.number)
    end = pd.Timestamp(last)
    sheet.bars(
        x,
        y,
        [
            {
                "x": look.iso(day),
                "y": 0,
                "y2": round(float(value), 2),
                "stroke": look.BAR,
                "width": 3 if sheet.narrow else 6,
                "tip": words.minutes_of_day(
                    day=words.short_day(day),
                    minutes=fmt.number(float(value)),
                ),
            }
            for day, value in minutes.items()
            if isinstance(day, pd.Timestamp) and day <= end
        ],
    )
    starts = [block.start + dt.timedelta(days=7 * w) for w in range(block.weeks)]
    sheet.weeks(x, base, starts, words.short_day)
    for phase in block.phases:
        if not phase.exercise:
            continue
        at = x(block.start + dt.timedelta(days=7 * (phase.from_week - 1)))
        if phase.from_week > 1:
            sheet.rule(at, top + _HEAD - 14, at, base)
        sheet.words(
            fmt.WORK_WORDS[phase.exercise],
            at + 5,
            top + _HEAD - 6,
            italic=True,
            colour=look.SOFT,
            halo=True,
        )
    if not sheet.narrow and len(minutes):
        total = fmt.number(float(minutes.sum()), 0)
        sheet.words(words.minutes_in_all(total), x.last + 8, base - 15, bold=True)
        sheet.words(words.LABELS["in_all"], x.last + 8, base, colour=look.SOFT)
