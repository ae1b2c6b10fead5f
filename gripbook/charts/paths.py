"""Strength over the block: a panel for each capacity, all on one time axis."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from typing import NamedTuple

import pandas as pd

from gripbook.charts import look
from gripbook.derive.records import records
from gripbook.logs import Block
from gripbook.reviews.change_facts import Change, LoggedSet, PathKind, SeriesChange
from gripbook.words import charts as words
from gripbook.words import fmt, series

_TEST, _SET = 4.2, 2.7  # half widths of circles, pixels
#: Sets this far outside the axis, as share of its span, are told by their number.
_ROOM = 0.2
_CAPACITIES = ("hang", "repeater", "pull")


class _Set(NamedTuple):
    """A set at the reference, in the unit in use; `labelled`: it is the first or last test."""

    day: dt.date
    kg: float
    kind: str
    known: bool
    load_kg: float
    place: tuple[str, int]
    labelled: bool


@dataclass(frozen=True)
class _Line:
    """A series with its path and sets up to the log's last day."""

    series: SeriesChange
    track: list[look.Step]
    sets: list[_Set]


@dataclass(frozen=True)
class _Panel:
    """One capacity of one grip: a series, or two where hands are apart."""

    capacity: str
    grip: str
    lines: tuple[_Line, ...]


def draw_paths(facts: Change, block: Block, last: dt.date) -> tuple[look.Picture, ...]:
    """
    The strength path of every series with its 90 % range, and the sets it rests on.

    Panels of a picture are the capacities of one grip; the headline's grip comes first, the others
    follow in pictures of their own. A path is drawn in weeks with such sets; in others only the
    range goes on, paler. Filled marks are known limits, hollow ones "at least this"; the first and
    the last test are labelled. None where body mass is hidden: a path is a whole load.

    Parameters
    ----------
    last : the log's last day; nothing is drawn after it.
    """
    end = min(last, block.end)
    lines = [_Line(s, track(s, end), _sets(s, block, end)) for s in facts.series]
    lines = [line for line in lines if line.sets]
    panels: dict[str, list[_Panel]] = {}
    for s in (line.series for line in lines):
        of_grip = panels.setdefault(s.grip, [])
        if any(p.capacity == s.capacity for p in of_grip):
            continue
        hands = [x for x in lines if (x.series.capacity, x.series.grip) == (s.capacity, s.grip)]
        # both hands together stand apart from each hand alone: their loads differ by half
        for part in (
            tuple(x for x in hands if x.series.hand == "both"),
            tuple(x for x in hands if x.series.hand != "both"),
        ):
            if part:
                of_grip.append(_Panel(s.capacity, s.grip, part))
    out = []
    for grip, of_grip in panels.items():
        of_grip.sort(key=lambda p: _CAPACITIES.index(p.capacity))
        name = words.strength_over_block(fmt.grip(grip))
        for i in range(0, len(of_grip), 3):
            row = of_grip[i : i + 3]
            out.append(look.picture(name, partial(_sheet, row, block)))
    return tuple(out)


def _sheet(panels: Sequence[_Panel], block: Block, width: float) -> look.Sheet:
    height = 222 if width < look.WIDE else 276
    heads = [series.capacity(p.lines[0].series) for p in panels]
    sheet, rooms = look.grid(width, len(panels), height, heads=heads)
    for panel, room in zip(panels, rooms, strict=True):
        _panel(sheet, panel, block, room)
    return sheet


def _panel(sheet: look.Sheet, panel: _Panel, block: Block, room: look.Box) -> None:
    first = panel.lines[0].series
    apart = first.hand != "both"
    low, high, ticks, outside = _levels(panel.lines)
    hand_words = [fmt.SIDE_WORDS[line.series.hand] for line in panel.lines] if apart else []
    margin = max([sheet.box(w, 0, 0).right + 6 for w in hand_words], default=0.0)
    axis = max(sheet.box(fmt.number(t), 0, 0, size=look.TICK).right for t in ticks) + 8
    x = look.days(block.start, block.end, room.left + axis, room.right - margin)
    # where tests are labelled, their words find room above the axis
    head = 84 if any(one.labelled for line in panel.lines for one in line.sets) else 66
    y = look.Scale(low, high, room.bottom - 24, room.top + head)
    sheet.head(
        fmt.sentence(series.capacity(first)),
        words.each_hand(fmt.grip(panel.grip)) if apart else words.where(panel.grip, first.hand),
        room.left,
        room.top + 12,
        under=True,
    )
    # what is corrected is said where the figures stand
    sheet.words(
        words.unit_and_edge(unit=fmt.mass_unit(), edge=fmt.with_unit(first.edge_mm, "mm")),
        room.left,
        room.top + 45,
        size=look.TICK,
        italic=True,
        colour=look.SOFT,
    )
    sheet.levels(y, ticks, x.first, fmt.number)
    starts = [block.start + dt.timedelta(days=7 * w) for w in range(block.weeks)]
    sheet.weeks(x, y.first, starts, words.short_day)
    for line in panel.lines:
        look.band(sheet, x, y, line.track, broken=apart and line.series.hand == "left")
    for line in panel.lines:
        _draw_sets(sheet, line, x, y)
    if apart:
        _hands(sheet, panel.lines, x, y)
    _label_tests(sheet, panel.lines, x, y, room)
    _tell_outside(sheet, outside, x, y, x.last)


def draw_so_far(s: SeriesChange, block: Block, last: dt.date) -> look.Picture | None:
    """
    The headline's path in a running block: up to the log's last day, then what is to come.

    None where it has no path, or body mass is hidden.

    Parameters
    ----------
    last : the log's last day.
    """
    if s.path_kind is not PathKind.ESTIMATE or not s.path["kg"].notna().any():
        return None
    name = words.path_so_far(fmt.sentence(series.name(s)))
    end = min(last, block.end)
    line = _Line(s, track(s, end), _sets(s, block, end))
    return look.picture(name, partial(_so_far, line, block, end))


def _so_far(line: _Line, block: Block, end: dt.date, width: float) -> look.Sheet:
    sheet = look.Sheet(width, 236)
    low, high, ticks, outside = _levels([line])
    axis = max(sheet.box(fmt.number(t), 0, 0, size=look.TICK).right for t in ticks) + 8
    x = look.days(block.start, block.end, axis, width - 8)
    y = look.Scale(low, high, sheet.height - 24, 66)
    sheet.words(
        words.as_first_set(fmt.mass_unit()),
        0,
        32,
        size=look.TICK,
        italic=True,
        colour=look.SOFT,
    )
    sheet.levels(y, ticks, x.first, fmt.number)
    _phases(sheet, block, x, y)
    starts = [block.start + dt.timedelta(days=7 * w) for w in range(block.weeks)]
    sheet.weeks(x, y.first, starts, words.short_day)
    look.band(sheet, x, y, line.track)
    _draw_sets(sheet, line, x, y)
    if line.track:
        _now(sheet, line.track[-1], x, y)
    _to_come(sheet, block, end, x, y)
    _label_tests(sheet, [line], x, y, look.Box(0, 0, width, sheet.height))
    _tell_outside(sheet, outside, x, y, x(end))
    return sheet


def _phases(sheet: look.Sheet, block: Block, x: look.Scale, y: look.Scale) -> None:
    """The block's phases by their names, a rule where a new one begins."""
    starts = [x(block.start + dt.timedelta(days=7 * (p.from_week - 1))) for p in block.phases]
    for phase, at, until in zip(block.phases, starts, [*starts[1:], x.last], strict=True):
        if phase.from_week > 1:
            sheet.rule(at, 20, at, y.first, colour=look.RULE, width=1)
            at += 5
        names = [phase.name, *([fmt.WORK_WORDS[phase.exercise]] if phase.exercise else [])]
        fit = [n for n in names if sheet.box(n, at, 0, bold=True).right < until - 2]
        if not fit:
            continue  # the dates beneath tell how short it is
        box = sheet.words(fit[0], at, 12, bold=True)
        last = phase.from_week + phase.weeks - 1
        weeks = (
            fmt.weeks([last])
            if phase.weeks == 1
            else words.weeks_from_to(first=phase.from_week, last=last)
        )
        if sheet.box(weeks, box.right + 4, 0).right < until - 2:
            sheet.words(weeks, box.right + 4, 12, colour=look.SOFT)


def _to_come(sheet: look.Sheet, block: Block, end: dt.date, x: look.Scale, y: look.Scale) -> None:
    """The weeks ahead: said to be so, with the test where one is planned."""
    # in the widest stretch between the rules of phases
    text = words.LABELS["to_come"]
    begins = [x(block.start + dt.timedelta(days=7 * (p.from_week - 1))) for p in block.phases]
    stops = [x(end), *(at for at in begins if at > x(end)), x.last]
    left, right = max(pairwise(stops), key=lambda ends: ends[1] - ends[0])
    middle = (left + right) / 2
    for share in (0.5, 0.2, 0.8):
        level = y.first + share * (y.last - y.first)
        box = sheet.box(text, middle, level, italic=True, align="center")
        free = box.left > x(end) and not any(box.shared(other) for other in sheet.taken)
        if free:
            sheet.words(
                text, middle, level, italic=True, colour=look.SOFT, align="center", halo=True
            )
            break
    for week in block.test_weeks:
        day = block.start + dt.timedelta(days=7 * (week - 1) + 3)
        if day > end:
            at = x(day)
            sheet.rule(at, y.first, at, y.first - 18, colour=look.ACCENT, width=1.25, dotted=True)
            sheet.taken.append(look.Box(at - 1, y.first - 18, at + 1, y.first))
            sheet.words(words.LABELS["test"], at, y.first - 24, bold=True, align="center")


def _now(sheet: look.Sheet, step: look.Step, x: look.Scale, y: look.Scale) -> None:
    """The estimate with its range at the end of the path."""
    digits = series.digits(step.kg, step.high_kg - step.low_kg)
    unit = fmt.mass_unit()
    bounds = fmt.low_to_high(
        low=fmt.number(step.low_kg, digits),
        high=fmt.with_unit(step.high_kg, unit, digits),
    )
    at, level = x(step.day) + 8, y(step.kg)
    wide = sheet.box(bounds, 0, 0).right
    if at + wide > sheet.width:
        at = x(step.day) - 8 - wide
    now = fmt.with_unit(step.kg, unit, digits)
    sheet.words(now, at, level - 4, size=look.NAME, bold=True, halo=True)
    sheet.words(bounds, at, level + 12, halo=True)
    sheet.words(words.LABELS["range_90"], at, level + 27, italic=True, colour=look.SOFT, halo=True)


# --- what is drawn ----------------------------------------------------------------------------


def track(s: SeriesChange, end: dt.date) -> list[look.Step]:
    """
    The path of a series up to a day, in the unit in use; none of bounds, since a floor is no path.
    """
    if s.path_kind is not PathKind.ESTIMATE:
        return []
    unit = fmt.own_mass(1.0)
    steps = [
        look.Step(r.day.date(), r.kg * unit, r.low_kg * unit, r.high_kg * unit, r.logged)
        for r in records(s.path, "day", "kg", "low_kg", "high_kg", "logged")
        if math.isfinite(r.kg)
    ]
    kept = [step for step in steps if step.day <= end]
    now = s.at(pd.Timestamp(end))
    if now is not None and kept and len(kept) < len(steps) and kept[-1].day < end:
        kg, low, high = (unit * x for x in now)
        kept.append(look.Step(end, kg, low, high, kept[-1].logged))
    return kept


def _sets(s: SeriesChange, block: Block, end: dt.date) -> list[_Set]:
    """The block's sets at the reference; of a day's pulls the best, since there are many."""
    tests = {(t.best.file, t.best.line) for t in (s.first_test, s.last_test) if t is not None}
    unit = fmt.own_mass(1.0)
    points = [
        _Set(
            r.day.date(),
            r.kg * unit,
            r.kind,
            r.known,
            r.load_kg,
            (r.file, r.line),
            (r.file, r.line) in tests,
        )
        for r in records(s.points, "day", "kg", "kind", "known", "load_kg", "file", "line")
        if block.start <= r.day.date() <= end
    ]
    if s.capacity == "pull":
        best: dict[dt.date, float] = {}
        for one in points:
            best[one.day] = max(one.kg, best.get(one.day, -math.inf))
        points = [one for one in points if one.labelled or one.kg == best[one.day]]
    return sorted(points, key=lambda one: one.labelled)  # tests are drawn over the others


def _levels(lines: Sequence[_Line]) -> tuple[float, float, list[float], list[float]]:
    """
    Ends of the axis, its ticks, and the loads outside it.

    Range and labelled tests always fit; other sets stretch the axis a little, but one far off
    doesn't take half of the panel.
    """
    needed = [v for line in lines for step in line.track for v in step[1:4] if math.isfinite(v)]
    needed += [one.kg for line in lines for one in line.sets if one.labelled]
    others = [one.kg for line in lines for one in line.sets if not one.labelled]
    needed = needed or others
    low, high = min(needed), max(needed)
    room = _ROOM * max(high - low, look.LEAST_SPAN * high)
    near = [v for v in others if low - room <= v <= high + room]
    low, high = min([low, *near]), max([high, *near])
    least = look.LEAST_SPAN * (low + high) / 2
    low, high, ticks = look.round_span(low, high, least=least, ticks=5)
    return low, high, ticks, [v for v in others if not low <= v <= high]


def _draw_sets(sheet: look.Sheet, line: _Line, x: look.Scale, y: look.Scale) -> None:
    """The sets that lie on the axis."""
    sheet.points(
        x,
        y,
        [
            {
                "x": look.iso(one.day),
                "y": round(one.kg, 3),
                "shape": line.series.capacity,
                "r": _TEST if one.labelled else _SET,
                "filled": one.known,
                "colour": look.ACCENT,
                "soft": not one.labelled,
                "tip": _tip(one),
            }
            for one in line.sets
            if y.low <= one.kg <= y.high
        ],
    )


def _tip(one: _Set) -> str:
    kg = fmt.with_unit(one.kg, fmt.mass_unit(), 0)
    if one.kind == "at least":
        kg = words.at_least(kg)
    elif one.kind == "at most":
        kg = words.at_most(kg)
    day = words.short_day(one.day)
    if math.isfinite(one.load_kg):
        return words.set_at(day=day, load=fmt.mass(one.load_kg), kg=kg)
    return words.path_at(day=day, kg=kg)


def _hands(sheet: look.Sheet, lines: Sequence[_Line], x: look.Scale, y: look.Scale) -> None:
    """The word of each hand at the end of its line, kept apart from the other's."""
    ends = sorted(
        (y(line.track[-1].kg), fmt.SIDE_WORDS[line.series.hand], x(line.track[-1].day))
        for line in lines
        if line.track
    )
    if len(ends) == 2 and ends[1][0] - ends[0][0] < look.LINE:
        middle = (ends[0][0] + ends[1][0]) / 2
        ends = [(middle - look.LINE / 2, *ends[0][1:]), (middle + look.LINE / 2, *ends[1][1:])]
    for level, word, at in ends:
        sheet.words(word, at + 5, level + 4, bold=True, halo=at < x.last - 1)


def _label_tests(
    sheet: look.Sheet,
    lines: Sequence[_Line],
    x: look.Scale,
    y: look.Scale,
    room: look.Box,
) -> None:
    """What was done in the first and in the last test, at their marks."""
    within = look.Box(room.left, room.top + 50, room.right, y.first - 2)
    tests: dict[dt.date, list[tuple[SeriesChange, LoggedSet, float]]] = {}
    for line in lines:
        s, levels = line.series, {one.place: one.kg for one in line.sets if one.labelled}
        for test in dict.fromkeys((s.first_test, s.last_test)):
            place = (test.best.file, test.best.line) if test is not None else ("", 0)
            if test is not None and place in levels and math.isfinite(test.best.load_kg):
                tests.setdefault(test.best.day.date(), []).append((s, test.best, levels[place]))
    for day, done in sorted(tests.items()):
        s, best, _ = done[0]
        if len(done) == 2:
            loads = {other.hand: row.load_kg for other, row, _ in done}
            said = [look.Line(words.both_hands(loads["left"], loads["right"]), bold=True)]
        elif s.hand != "both":
            said = [look.Line(words.one_hand(s.hand, best.load_kg), bold=True)]
        else:
            said = [look.Line(words.set_done(best), bold=True)]
            if ended := series.ended(best):
                said.append(look.Line(ended, italic=True, colour=look.SOFT))
        aligns: tuple[look.Align, ...] = ("left", "center", "right")
        if x(day) > (x.first + x.last) / 2:
            aligns = ("right", "center", "left")
        level = min(y(kg) for _, _, kg in done)
        sheet.tag(said, x(day), level, within=within, aligns=aligns)


def _tell_outside(
    sheet: look.Sheet, outside: Sequence[float], x: look.Scale, y: look.Scale, until: float
) -> None:
    """How many sets lie beneath or above the axis; before the log's end (`until`) if it fits."""
    below = sum(v < y.low for v in outside)
    above = len(outside) - below
    for n, text, level, step in (
        (below, words.sets_lower(below), y.first - 5, -8.0),
        (above, words.sets_higher(above), y.last + 4, 8.0),
    ):
        if not n:
            continue
        wide = sheet.box(text, 0, 0, size=look.TICK, italic=True).right
        places = [
            (end - 12.0 * i, level + step * k)
            for end in dict.fromkeys((max(until, x.first + wide + 6), x.last))
            for k in range(4)
            for i in range(max(1, int((end - x.first - wide - 6) / 12) + 1))
        ]
        best = (math.inf, *places[0])
        for right, base in places:
            box = look.Box(right - wide, base - look.TICK, right, base + 3)
            clash = sum(box.shared(other) for other in sheet.taken)
            best = min(best, (clash, right, base), key=lambda found: found[0])
            if not clash:
                break
        sheet.words(
            text,
            best[1],
            best[2],
            size=look.TICK,
            italic=True,
            colour=look.SOFT,
            align="right",
            halo=True,
        )
