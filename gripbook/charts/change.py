"""What changed: every measured series on one scale, start against end."""

from __future__ import annotations

import math
from collections.abc import Sequence

from gripbook.charts import look
from gripbook.reviews.change_facts import Change, SeriesChange
from gripbook.words import charts as words
from gripbook.words import fmt, series

_MARK = 5.0  # half a circle's width
_HALF_BAR = 4.0


def draw_change(facts: Change) -> look.Picture | None:
    """
    A row for each measured series: its start, its end and the 90 % range, and the verdict.

    The scale is per cent of the start, so that all series share it, with kilograms at the marks;
    where body mass is hidden it is kilograms of change. None where no series is measured.
    """
    rows = [s for s in facts.series if s.measured and math.isfinite(s.low_kg + s.high_kg)]
    if not rows:
        return None
    name = words.LABELS["what_changed"]
    return look.picture(name, lambda width: _sheet(rows, width))


def _figures(s: SeriesChange) -> tuple[float, float, float]:
    """Low, middle and high of a row on the scale in use: per cent where they may be shown."""
    if math.isfinite(s.low_pct):
        return s.low_pct, s.change_pct, s.high_pct
    low, high = fmt.own_mass(s.low_kg), fmt.own_mass(s.high_kg)
    return low, fmt.own_mass(s.change_kg) if math.isfinite(s.change_kg) else (low + high) / 2, high


def _sheet(rows: Sequence[SeriesChange], width: float) -> look.Sheet:
    narrow = width < look.WIDE
    heads = [fmt.sentence(series.capacity(s)) for s in rows]
    soft = [
        words.grip_and_side(s.grip, s.hand) if narrow else words.where(s.grip, s.hand, s.edge_mm)
        for s in rows
    ]
    verdicts = [words.VERDICTS[s.verdict] for s in rows]
    blank = look.Sheet(width, 0)
    last = max(blank.box(v, 0, 0, size=look.NAME).right for v in verdicts)
    ends = [_figures(s) for s in rows]
    low, high, ticks = look.round_span(
        min(0.0, *(e[0] for e in ends)), max(0.0, *(e[2] for e in ends)), ticks=5
    )
    if narrow:
        # a name, its grip and the verdict stand in a line, or in two where they are too long
        room = [
            blank.box(h, 0, 0, size=look.NAME, bold=True).right
            + blank.box(g, 0, 0).right
            + blank.box(v, 0, 0, size=look.NAME).right
            for h, g, v in zip(heads, soft, verdicts, strict=True)
        ]
        lines = 1 if max(room) + 16 <= width else 2
        step, first = 56.0 + 16 * lines, 30.0 + 16 * lines
        left, right = 0.0, width
        end = first + step * (len(rows) - 1) + 42
    else:
        lines = 2
        step, first = 52.0 if len(rows) < 6 else 46.0, 52.0
        named = max(
            max(blank.box(h, 0, 0, size=look.NAME, bold=True).right for h in heads),
            max(blank.box(g, 0, 0).right for g in soft),
        )
        left, right = named + 14, width - last - 14
        end = first + step * (len(rows) - 1) + 22
    x = _scale(rows, low, high, left, right)
    sheet = look.Sheet(width, end + 24)
    y = look.Scale(0, sheet.height, 0, sheet.height)
    zero = x(0)
    if not narrow:
        sheet.rule(zero, 24, zero, end)
    for i, s in enumerate(rows):
        at = first + step * i
        if narrow:
            top = at - 22 - 8 * lines if lines == 1 else at - 46
            sheet.words(heads[i], 0, top, size=look.NAME, bold=True)
            if lines == 1:
                after = blank.box(heads[i], 0, 0, size=look.NAME, bold=True).right + 4
                sheet.words(soft[i], after, top, colour=look.SOFT)
            else:
                sheet.words(soft[i], 0, top + 16, colour=look.SOFT)
            sheet.words(verdicts[i], width, top, size=look.NAME, align="right")
            sheet.rule(zero, at - 20, zero, at + 9)
        else:
            sheet.words(heads[i], 0, at - 3, size=look.NAME, bold=True)
            sheet.words(soft[i], 0, at + 14, colour=look.SOFT)
            sheet.words(verdicts[i], width, at + 5, size=look.NAME, align="right")
        _row(sheet, s, x, at)
    _explain(sheet, rows[0], x, first)
    sheet.bars(x, y, [_bar(s, first + step * i) for i, s in enumerate(rows)])
    # the tick of the start stands over the bar
    for i in range(len(rows)):
        sheet.bars(x, y, [_start(first + step * i)])
    sheet.points(x, y, [_mark(s, first + step * i) for i, s in enumerate(rows)])
    _axis(sheet, x, ticks, end, in_percent=math.isfinite(rows[0].low_pct))
    return sheet


def _scale(
    rows: Sequence[SeriesChange], low: float, high: float, left: float, right: float
) -> look.Scale:
    """The scale between two pixels, with room for the figures at each row's marks."""
    blank = look.Sheet(right, 0)
    tick = blank.box(f"{fmt.number(high, sign=True)}{fmt.NBSP}%", 0, 0, size=look.TICK).right / 2
    at_least, at_most = [(low, left + 8)], [(high, right - tick)]
    for s in rows:
        first, middle, last = _figures(s)
        words_low, words_high = (blank.box(w, 0, 0).right for w in _range_ends(s))
        at_least.append((first, left + words_low + 6))
        at_most.append((last, right - words_high - 6))
        if math.isfinite(s.start_kg):
            start = blank.box(_load(s, s.start_kg), 0, 0, size=look.NAME).right + 7
            if middle >= 0:
                at_least.append((0.0, left + start))
            else:
                at_most.append((0.0, right - start))
    return look.fitted(low, high, at_least, at_most)


def _bar(s: SeriesChange, at: float) -> dict[str, object]:
    low, _, high = _figures(s)
    return {"x": low, "x2": high, "y": at, "stroke": look.TINT, "width": 2 * _HALF_BAR}


def _start(at: float) -> dict[str, object]:
    return {"x": 0, "y": at - 6, "y2": at + 6, "stroke": look.INK, "width": 1.25}


def _mark(s: SeriesChange, at: float) -> dict[str, object]:
    where = words.where(s.grip, s.hand, s.edge_mm)
    name = fmt.sentence(series.capacity(s))
    text = words.with_range(series.range_kg(s.low_kg, s.high_kg))
    if math.isfinite(s.start_kg):
        text = words.ends_and_change(
            start=_load(s, s.start_kg),
            end=_load(s, s.end_kg),
            change=text,
        )
    return {
        "x": _figures(s)[1],
        "y": at,
        "shape": s.capacity,
        "r": _MARK,
        "filled": True,
        "colour": look.ACCENT,
        "tip": f"{name}, {where}: {text}",
    }


def _load(s: SeriesChange, kg: float) -> str:
    return series.load(kg, s.high_kg - s.low_kg)


def _range_ends(s: SeriesChange) -> tuple[str, str]:
    low, high = (
        fmt.mass_number(kg, series.digits(kg, s.high_kg - s.low_kg), sign=True)
        for kg in (s.low_kg, s.high_kg)
    )
    return low, f"{high}{fmt.NBSP}{fmt.mass_unit()}"


def _row(sheet: look.Sheet, s: SeriesChange, x: look.Scale, at: float) -> None:
    """The figures of a row."""
    low, middle, high = _figures(s)
    zero, mark = x(0), x(middle)
    rose = middle >= 0
    beside, away = (-7.0, "right") if rose else (7.0, "left")
    known = math.isfinite(s.start_kg)
    align: look.Align = "right" if away == "right" else "left"
    bold = (
        _load(s, s.end_kg)
        if known
        else fmt.mass(s.change_kg, series.digits(s.change_kg, s.high_kg - s.low_kg), sign=True)
    )
    half = sheet.box(bold, 0, 0, size=look.NAME, bold=True).right / 2
    # the end's figure keeps to its side of the line of no change
    at_end = max(mark, zero + 7 + half) if rose else min(mark, zero - 7 - half)
    if known:
        start = _load(s, s.start_kg)
        sheet.words(
            start, zero + beside, at - 10, size=look.NAME, colour=look.SOFT, align=align, halo=True
        )
    sheet.words(bold, at_end, at - 10, size=look.NAME, bold=True, align="center")
    # the range's ends keep off the line of no change
    for text, place, side in zip(_range_ends(s), (x(low) - 6, x(high) + 6), _SIDES, strict=True):
        box = sheet.box(text, place, at + 4.5, align=side)
        if box.left - 3 < zero < box.right + 3:
            place = zero + (6 if side == "left" else -6)
        sheet.words(text, place, at + 4.5, align=side, halo=True)


#: How the words of a range's lower and upper end stand to their place.
_SIDES: tuple[look.Align, look.Align] = ("right", "left")


def _explain(sheet: look.Sheet, s: SeriesChange, x: look.Scale, at: float) -> None:
    """Say once, at the first row, what its figures are."""
    low, middle, high = _figures(s)
    y = at + 21 if sheet.narrow else at - 27
    zero = x(0) - 7 if middle >= 0 else x(0) + 7
    align: look.Align = "right" if middle >= 0 else "left"
    places: list[tuple[str, list[tuple[float, float, look.Align]]]] = [
        (words.LABELS["start"], [(zero, y, align)]),
        (words.LABELS["end"], [(x(middle), y, "center"), (x(middle), at + 21, "center")]),
        (
            words.LABELS["range_90"],
            [
                (x(high) + 6, at - 10, "left"),
                (x(high) + 6, at + 21, "center"),
                (x(low), at + 21, "left"),
                (x(low) - 6, at - 10, "right"),
            ],
        ),
    ]
    for text, candidates in places:
        for place, base, side in candidates:
            box = sheet.box(text, place, base, italic=True, align=side)
            inside = box.left >= 0 and box.right <= sheet.width
            if inside and not any(box.shared(other) for other in sheet.taken):
                sheet.words(text, place, base, italic=True, colour=look.SOFT, align=side, halo=True)
                break


def _axis(
    sheet: look.Sheet, x: look.Scale, ticks: Sequence[float], y: float, *, in_percent: bool
) -> None:
    sheet.rule(x.first, y, x.last, y)
    unit = "%" if in_percent else fmt.mass_unit()
    for value in [0.0, *(t for t in ticks if t)]:  # what must not be left out comes first
        sheet.rule(x(value), y, x(value), y + 4)
        text = words.LABELS["no_change"] if not value else fmt.number(value, sign=True)
        if (value == ticks[-1] and value) or (value == ticks[0] and not ticks[-1]):
            text = f"{text}{fmt.NBSP}{unit}"
        box = sheet.box(text, x(value), y + 18, size=look.TICK, align="center")
        if not any(box.shared(other) for other in sheet.taken if other.top > y):
            sheet.words(text, x(value), y + 18, size=look.TICK, colour=look.SOFT, align="center")
