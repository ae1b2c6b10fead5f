"""Strength over the block: a panel for each capacity, all on one time axis."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from gripbook.charts import look
from gripbook.logs import Block
from gripbook.reviews.change_facts import Change, LoggedSet, PathKind, SeriesChange
from gripbook.words import charts as words
from gripbook.words import fmt, say, series

_TEST, _SET = 4.2, 2.7  # half widths of circles, pixels
#: Sets this far outside the axis, as share of its span, are told by their number.
_ROOM = 0.2
_CAPACITIES = ("hang", "repeater", "pull")


@dataclass(frozen=True)
class _Panel:
    """One capacity of one grip: a series, or two where hands are apart."""

    capacity: str
    grip: str
    series: tuple[SeriesChange, ...]


def paths(facts: Change, block: Block, last: dt.date) -> tuple[look.Picture, ...]:
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
    known = [s for s in facts.series if len(s.points[s.points["day"] >= pd.Timestamp(block.start)])]
    panels: dict[str, list[_Panel]] = {}
    for s in known:
        found = panels.setdefault(s.grip, [])
        if not any(p.capacity == s.capacity for p in found):
            hands = tuple(x for x in known if (x.capacity, x.grip) == (s.capacity, s.grip))
            # both hands together are told apart from each hand alone: their loads differ by half
            together = tuple(x for x in hands if x.hand == "both")
            for part in (together, tuple(x for x in hands if x.hand != "both")):
                if part:
                    found.append(_Panel(s.capacity, s.grip, part))
    out = []
    for grip, found in panels.items():
        found.sort(key=lambda p: _CAPACITIES.index(p.capacity))
        name = say("Strength over the block, {grip}", grip=fmt.grip(grip))
        for i in range(0, len(found), 3):
            row = found[i : i + 3]
            out.append(
                look.picture(name, lambda width, row=row: _sheet(row, block, last, width))  # type: ignore[misc]
            )
    return tuple(out)


def _sheet(panels: Sequence[_Panel], block: Block, last: dt.date, width: float) -> look.Sheet:
    sheet, rooms = look.grid(width, len(panels), 222 if width < look.WIDE else 276)
    for panel, room in zip(panels, rooms, strict=True):
        _panel(sheet, panel, block, last, room)
    return sheet


def _panel(sheet: look.Sheet, panel: _Panel, block: Block, last: dt.date, room: look.Box) -> None:
    apart = panel.series[0].hand != "both"
    first = panel.series[0]
    end = min(last, block.end)
    tracks = [_track(s, end) for s in panel.series]
    points = [_points(s, block, end) for s in panel.series]
    low, high, ticks, outside = _levels(tracks, points)
    hand_words = [words.SIDES[s.hand] for s in panel.series] if apart else []
    margin = max([sheet.box(w, 0, 0).right + 6 for w in hand_words], default=0.0)
    axis = max(sheet.box(fmt.number(t), 0, 0, size=look.TICK).right for t in ticks) + 8
    x = look.days(block.start, block.end, room.left + axis, room.right - margin)
    # where tests are labelled, their words find room above the axis
    head = 84 if any(own["labelled"].any() for own in points) else 66
    y = look.Scale(low, high, room.bottom - 24, room.top + head)
    sheet.head(
        fmt.sentence(series.capacity(first)),
        say("{grip}, each hand", grip=fmt.grip(panel.grip))
        if apart
        else words.where(panel.grip, first.hand),
        room.left,
        room.top + 12,
        under=True,
    )
    # what is corrected is said where the figures stand
    sheet.words(
        say(
            "{unit}, as first set on {edge}",
            unit=fmt.mass_unit(),
            edge=fmt.with_unit(first.edge_mm, "mm"),
        ),
        room.left,
        room.top + 45,
        size=look.TICK,
        italic=True,
        colour=look.SOFT,
    )
    sheet.levels(y, ticks, x.first, fmt.number)
    starts = [block.start + dt.timedelta(days=7 * w) for w in range(block.weeks)]
    sheet.weeks(x, y.first, starts, words.short_day)
    for i, track in enumerate(tracks):
        look.band(
            sheet,
            x,
            y,
            [look.iso(d) for d in track["day"]],
            {c: [round(float(v), 3) for v in track[c]] for c in ("kg", "low_kg", "high_kg")},
            [bool(v) for v in track["logged"]],
            broken=apart and panel.series[i].hand == "left",
        )
    for s, own in zip(panel.series, points, strict=True):
        _draw_points(sheet, s, own[(own["kg"] >= low) & (own["kg"] <= high)], x, y)
    if apart:
        _hands(sheet, panel, tracks, x, y)
    _label_tests(sheet, panel, points, x, y, room)
    _tell_outside(sheet, outside, x, y)


def so_far(s: SeriesChange, block: Block, last: dt.date) -> look.Picture | None:
    """
    The headline's path in a running block: up to the log's last day, then what is to come.

    None where it has no path, or body mass is hidden.

    Parameters
    ----------
    last : the log's last day.
    """
    if s.path_kind is not PathKind.ESTIMATE or not s.path["kg"].notna().any():
        return None
    name = say("{series}: the path so far", series=fmt.sentence(series.name(s)))
    return look.picture(name, lambda width: _so_far(s, block, last, width))


def _so_far(s: SeriesChange, block: Block, last: dt.date, width: float) -> look.Sheet:
    sheet = look.Sheet(width, 236)
    end = min(last, block.end)
    track, points = _track(s, end), _points(s, block, end)
    low, high, ticks, outside = _levels([track], [points])
    axis = max(sheet.box(fmt.number(t), 0, 0, size=look.TICK).right for t in ticks) + 8
    x = look.days(block.start, block.end, axis, width - 8)
    y = look.Scale(low, high, sheet.height - 24, 66)
    sheet.words(
        say("{unit}, as first set", unit=fmt.mass_unit()),
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
    look.band(
        sheet,
        x,
        y,
        [look.iso(d) for d in track["day"]],
        {c: [round(float(v), 3) for v in track[c]] for c in ("kg", "low_kg", "high_kg")},
        [bool(v) for v in track["logged"]],
    )
    _draw_points(sheet, s, points[(points["kg"] >= low) & (points["kg"] <= high)], x, y)
    _to_come(sheet, block, end, x, y)
    if len(track):
        _now(sheet, track, end, x, y)
    panel = _Panel(s.capacity, s.grip, (s,))
    _label_tests(sheet, panel, [points], x, y, look.Box(0, 0, width, sheet.height))
    _tell_outside(sheet, outside, x, y)
    return sheet


def _phases(sheet: look.Sheet, block: Block, x: look.Scale, y: look.Scale) -> None:
    """The block's phases by their names, a rule where a new one begins."""
    starts = [x(block.start + dt.timedelta(days=7 * (p.from_week - 1))) for p in block.phases]
    for phase, at, until in zip(block.phases, starts, [*starts[1:], x.last], strict=True):
        if phase.from_week > 1:
            sheet.rule(at, 20, at, y.first, colour=look.RULE, width=1)
            at += 5
        names = [phase.name, *([words.WORK[phase.exercise]] if phase.exercise else [])]
        fit = [n for n in names if sheet.box(n, at, 0, bold=True).right < until - 2]
        if not fit:
            continue  # the dates beneath tell how short it is
        box = sheet.words(fit[0], at, 12, bold=True)
        last = phase.from_week + phase.weeks - 1
        weeks = (
            fmt.weeks([last])
            if phase.weeks == 1
            else say("weeks {first} to {last}", first=phase.from_week, last=last)
        )
        if sheet.box(weeks, box.right + 4, 0).right < until - 2:
            sheet.words(weeks, box.right + 4, 12, colour=look.SOFT)


def _to_come(sheet: look.Sheet, block: Block, end: dt.date, x: look.Scale, y: look.Scale) -> None:
    """The weeks ahead: said to be so, with the test where one is planned."""
    middle = (x(end) + x.last) / 2
    if x.last - x(end) > 90:
        sheet.words(
            say("to come"),
            middle,
            (y.first + y.last) / 2,
            italic=True,
            colour=look.SOFT,
            align="center",
            halo=True,
        )
    for week in block.test_weeks:
        day = block.start + dt.timedelta(days=7 * (week - 1) + 3)
        if day > end:
            at = x(day)
            sheet.rule(at, y.first, at, y.first - 18, colour=look.ACCENT, width=1.25, dotted=True)
            sheet.words(say("test"), at, y.first - 24, bold=True, align="center")


def _now(
    sheet: look.Sheet, track: pd.DataFrame, end: dt.date, x: look.Scale, y: look.Scale
) -> None:
    """The estimate at the log's last day with its range."""
    row = track.iloc[-1]
    wide = float(row["high_kg"] - row["low_kg"])
    digits = series.digits(float(row["kg"]), wide)
    unit = fmt.mass_unit()
    bounds = say(
        "{low} to {high}",
        low=fmt.number(float(row["low_kg"]), digits),
        high=fmt.with_unit(float(row["high_kg"]), unit, digits),
    )
    at, level = x(end) + 8, y(float(row["kg"]))
    if at + sheet.box(bounds, 0, 0).right > sheet.width:
        at = x(end) - 8 - sheet.box(bounds, 0, 0).right
    now = fmt.with_unit(float(row["kg"]), unit, digits)
    sheet.words(now, at, level - 4, size=look.NAME, bold=True, halo=True)
    sheet.words(bounds, at, level + 12, halo=True)
    sheet.words(say("90~% range"), at, level + 27, italic=True, colour=look.SOFT, halo=True)


# --- what is drawn ----------------------------------------------------------------------------


def _track(s: SeriesChange, end: dt.date) -> pd.DataFrame:
    """The path up to a day, in the unit in use; bounds without a range have none to draw."""
    if s.path_kind is not PathKind.ESTIMATE:
        return s.path.iloc[:0]  # a floor is no path: its sets alone are drawn
    path = s.path[["day", "kg", "low_kg", "high_kg", "logged"]].copy()
    stop = pd.Timestamp(end)
    known = path[path["kg"].notna()]
    if len(known) > 1 and known["day"].iloc[-1] > stop > known["day"].iloc[0]:
        after = known[known["day"] > stop].iloc[0]
        before = known[known["day"] <= stop].iloc[-1]
        share = (stop - before["day"]) / (after["day"] - before["day"])
        cut = before.copy()
        cut["day"] = stop
        for column in ("kg", "low_kg", "high_kg"):
            cut[column] = before[column] + share * (after[column] - before[column])
        known = pd.concat([known[known["day"] < stop], cut.to_frame().T], ignore_index=True)
    known = known[known["day"] <= stop]
    for column in ("kg", "low_kg", "high_kg"):
        known[column] = [fmt.own_mass(float(v)) for v in known[column]]
    return known.reset_index(drop=True)


def _points(s: SeriesChange, block: Block, end: dt.date) -> pd.DataFrame:
    """The block's sets at the reference, in the unit in use."""
    days = (s.points["day"] >= pd.Timestamp(block.start)) & (s.points["day"] <= pd.Timestamp(end))
    own = s.points[days].copy()
    own["kg"] = [fmt.own_mass(float(v)) for v in own["kg"]]
    labelled = {
        (test.best.file, test.best.line) for test in (s.first_test, s.last_test) if test is not None
    }
    own["labelled"] = [key in labelled for key in zip(own["file"], own["line"], strict=True)]
    if s.capacity == "pull":  # many in a session: the day's best tells of the day
        best = own.sort_values("kg").drop_duplicates("day", keep="last")
        own = own[own["labelled"] | own.index.isin(best.index)]
    return own.reset_index(drop=True)


def _levels(
    tracks: Sequence[pd.DataFrame], points: Sequence[pd.DataFrame]
) -> tuple[float, float, list[float], list[float]]:
    """
    Ends of the axis, its ticks, and the loads outside it.

    Range and labelled tests always fit; other sets stretch the axis a little, but one far off
    doesn't take half of the panel.
    """
    needed = [
        float(v)
        for track in tracks
        for column in ("kg", "low_kg", "high_kg")
        for v in track[column]
        if math.isfinite(v)
    ]
    needed += [float(v) for own in points for v in own.loc[own["labelled"], "kg"]]
    others = [float(v) for own in points for v in own.loc[~own["labelled"], "kg"]]
    needed = needed or others
    low, high = min(needed), max(needed)
    span = max(high - low, look.LEAST_SPAN * high)
    near = [v for v in others if low - _ROOM * span <= v <= high + _ROOM * span]
    low, high = min([low, *near]), max([high, *near])
    least = look.LEAST_SPAN * (low + high) / 2
    low, high, ticks = look.round_span(low, high, least=least, ticks=6)
    return low, high, ticks, [v for v in others if not low <= v <= high]


def _draw_points(
    sheet: look.Sheet, s: SeriesChange, points: pd.DataFrame, x: look.Scale, y: look.Scale
) -> None:
    rows = []
    for row in points.sort_values("labelled", kind="stable").to_dict("records"):
        rows.append(
            {
                "x": look.iso(row["day"]),
                "y": round(row["kg"], 3),
                "shape": s.capacity,
                "r": _TEST if row["labelled"] else _SET,
                "filled": bool(row["known"]),
                "colour": look.ACCENT,
                "soft": not row["labelled"],
                "tip": _tip(row),
            }
        )
    sheet.points(x, y, rows)


def _tip(row: dict[Any, Any]) -> str:
    kg = fmt.with_unit(row["kg"], fmt.mass_unit(), 0)
    if row["kind"] == "at least":
        kg = say("at least {kg}", kg=kg)
    elif row["kind"] == "at most":
        kg = say("at most {kg}", kg=kg)
    day = words.short_day(row["day"])
    if math.isfinite(row["load_kg"]):
        return say(
            "{day}: {load} done, as a first set {kg}", day=day, load=fmt.mass(row["load_kg"]), kg=kg
        )
    return say("{day}: as a first set {kg}", day=day, kg=kg)


def _hands(
    sheet: look.Sheet,
    panel: _Panel,
    tracks: Sequence[pd.DataFrame],
    x: look.Scale,
    y: look.Scale,
) -> None:
    """The word of each hand at the end of its line, kept apart from the other's."""
    ends = sorted(
        (y(track["kg"].iloc[-1]), words.SIDES[s.hand], x(track["day"].iloc[-1]))
        for s, track in zip(panel.series, tracks, strict=True)
        if len(track)
    )
    if len(ends) == 2 and ends[1][0] - ends[0][0] < look.LINE:
        middle = (ends[0][0] + ends[1][0]) / 2
        ends = [(middle - look.LINE / 2, *ends[0][1:]), (middle + look.LINE / 2, *ends[1][1:])]
    for level, word, at in ends:
        sheet.words(word, at + 5, level + 4, bold=True, halo=at < x.last - 1)


def _label_tests(
    sheet: look.Sheet,
    panel: _Panel,
    points: Sequence[pd.DataFrame],
    x: look.Scale,
    y: look.Scale,
    room: look.Box,
) -> None:
    """What was done in the first and in the last test, at their marks."""
    within = look.Box(room.left, room.top + 50, room.right, y.first - 2)
    tests: dict[Any, list[tuple[SeriesChange, LoggedSet, float]]] = {}
    for s, own in zip(panel.series, points, strict=True):
        for test in dict.fromkeys((s.first_test, s.last_test)):
            if test is None:
                continue
            best = test.best
            at = own[(own["file"] == best.file) & (own["line"] == best.line)]
            if len(at) and math.isfinite(best.load_kg):
                tests.setdefault(best.day, []).append((s, best, float(at["kg"].iloc[0])))
    days = sorted(tests)
    for day in days:
        on_day = tests[day]
        s, best, _ = on_day[0]
        top = max(level for _, _, level in on_day)
        if len(on_day) == 2:
            loads = {x.hand: b.load_kg for x, b, _ in on_day}
            lines = [look.Line(words.both_hands(loads["left"], loads["right"]), bold=True)]
        elif s.hand != "both":
            lines = [look.Line(words.one_hand(s.hand, best.load_kg), bold=True)]
        else:
            lines = [look.Line(words.set_done(best), bold=True)]
            if left := series.left(best):
                lines.append(look.Line(left, italic=True, colour=look.SOFT))
        aligns: tuple[look.Align, ...] = ("left", "center", "right")
        if x(day) > (x.first + x.last) / 2:
            aligns = ("right", "center", "left")
        sheet.tag(lines, x(day), y(top), within=within, aligns=aligns)


def _tell_outside(
    sheet: look.Sheet, outside: Sequence[float], x: look.Scale, y: look.Scale
) -> None:
    """How many sets lie beneath or above the axis."""
    below = sum(v < y.low for v in outside)
    above = len(outside) - below
    for n, text, level in (
        (below, fmt.count(below, "{n} set lower", "{n} sets lower"), y.first - 5),
        (above, fmt.count(above, "{n} set higher", "{n} sets higher"), y.last + 4),
    ):
        if not n:
            continue
        wide = sheet.box(text, 0, 0, size=look.TICK, italic=True).right
        places = [x.last - 12.0 * i for i in range(int((x.last - x.first - wide - 6) / 12) + 1)]
        clashes = [
            sum(
                sheet.box(text, at, level, size=look.TICK, italic=True, align="right").shared(other)
                for other in sheet.taken
            )
            for at in places
        ]
        at = places[clashes.index(min(clashes))]
        sheet.words(
            text, at, level, size=look.TICK, italic=True, colour=look.SOFT, align="right", halo=True
        )
