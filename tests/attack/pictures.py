"""What a picture gives away: its marks by their place, measured against the axes' labels."""

from __future__ import annotations

import contextlib
import datetime as dt
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple
from xml.etree import ElementTree

import numpy as np

#: Sides of the box that a mark fits into, and the greatest length of an axis' tick, pixels.
_MARK_PX, _TICK_PX = 18.0, 6.0
#: A bar that stands for a range is drawn with a pen of this width at least, pixels.
_BAR_PX = 4.0
#: Words at a tick are this far beneath it, and it is looked for so far around.
_BASELINE_PX, _NEAR_PX = 4.0, 8.0
_NUMBER = re.compile(r"^([+\-\u2212]?\d+(?:\.\d+)?)\s*(kg|lb|%)?$")
_DAY = re.compile(r"^(\d{1,2}) ([A-Z][a-z]{2})$")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

Point = tuple[float, float]


class Text(NamedTuple):
    """Words at a place; `anchor` is start, middle or end."""

    x: float
    y: float
    anchor: str
    words: str


class Mark(NamedTuple):
    """A point, an end of a rule, or a corner of a line or an area; `kind` says which."""

    x: float
    y: float
    kind: str


class Bar(NamedTuple):
    """A level bar from `first` to `last`."""

    y: float
    first: float
    last: float


@dataclass(frozen=True)
class Axis:
    """
    A scale: value = `slope` times pixels + `offset`.

    `at`: where it stands across (x of an upright one, y of a level one); `low`, `high`: pixels of
    its outermost labels; `unit`: kg, lb, %, "day" or "".
    """

    at: float
    low: float
    high: float
    slope: float
    offset: float
    unit: str = ""

    def __call__(self, pixels: float) -> float:
        """The value at a place."""
        return self.slope * pixels + self.offset


@dataclass
class Picture:
    """One drawing taken apart. `name`: what is read aloud; days are ordinals."""

    name: str
    texts: list[Text] = field(default_factory=list)
    ticks: list[tuple[Point, Point]] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    bars: list[Bar] = field(default_factory=list)
    upright: list[Axis] = field(default_factory=list)
    level: list[Axis] = field(default_factory=list)

    def upright_of(self, x: float, y: float) -> Axis | None:
        """The axis on which a mark's height is read: the next to its left at that height."""
        near = [a for a in self.upright if a.at <= x + 1 and a.low - 3 <= y <= a.high + 3]
        return max(near, key=lambda a: a.at, default=None)

    def level_of(self, x: float, y: float) -> Axis | None:
        """The axis on which a mark's place across is read: the next beneath it."""
        below = [a for a in self.level if a.at > y and a.low - 12 <= x]
        return min(below, key=lambda a: (a.at, -a.low), default=None)

    def heads(self, axis: Axis) -> str:
        """The words above an upright axis, up to its neighbour's."""
        right = min((a.at for a in self.upright if a.at > axis.at + 20), default=math.inf) - 40
        above = max(
            (a.high for a in self.upright if a.high < axis.low and abs(a.at - axis.at) < 60),
            default=-math.inf,
        )
        inside = [
            t.words
            for t in self.texts
            if above + 24 < t.y < axis.low - 8 and axis.at - 40 < t.x < right
        ]
        return ", ".join(inside)


def read_picture(svg: str, near: dt.date) -> Picture:
    """Take an `<svg>` element apart; days without a year are the ones next to `near`."""
    root = ElementTree.fromstring(svg)
    out = Picture(root.get("aria-label", ""))
    _walk(root, {}, out)
    out.upright = list(_upright(out, near))
    out.level = list(_level(out, near))
    return out


def day_near(words: str, near: dt.date) -> dt.date | None:
    """The date that "7 Jan" means: the one next to `near`; None where the words are no day."""
    found = _DAY.match(words)
    if not found or found[2] not in _MONTHS:
        return None
    month, day = _MONTHS.index(found[2]) + 1, int(found[1])
    with contextlib.suppress(ValueError):  # 29 February is no day of most years
        days = [dt.date(near.year + k, month, day) for k in (-1, 0, 1)]
        return min(days, key=lambda d: abs(d - near))
    return None


def _walk(element: ElementTree.Element, above: dict[str, str], out: Picture) -> None:
    given = {**above, **element.attrib}
    tag = element.tag.rpartition("}")[2]
    if tag == "text":
        words = " ".join("".join(element.itertext()).split())
        place = float(given["x"]), float(given["y"])
        out.texts.append(Text(*place, element.get("text-anchor", "start"), words))
    elif tag == "circle":
        out.marks.append(Mark(float(given["cx"]), float(given["cy"]), _kind(given)))
    elif tag == "rect":
        x, y, wide, high = (float(given[k]) for k in ("x", "y", "width", "height"))
        if wide > high:
            out.bars.append(Bar(y + high / 2, x, x + wide))
        else:
            out.marks.append(Mark(x + wide / 2, y + high / 2, _kind(given)))
    elif tag == "path":
        _path(given, out)
    for child in element:
        _walk(child, given, out)


def _kind(given: dict[str, str]) -> str:
    return "hollow" if given.get("fill") == "var(--paper)" else "filled"


def _path(given: dict[str, str], out: Picture) -> None:
    pieces = list(_pieces(given["d"]))
    if "z" not in given["d"] and given.get("fill") not in (None, "none", "var(--ink)"):
        # a cross is drawn as two strokes in one path
        x, y = (np.mean([p[i] for piece in pieces for p in piece]) for i in (0, 1))
        out.marks.append(Mark(float(x), float(y), _kind(given)))
        return
    for points in pieces:
        wide, high = (np.ptp([p[i] for p in points]) for i in (0, 1))
        if "z" in given["d"]:
            if max(wide, high) <= _MARK_PX:
                x, y = ((max(p[i] for p in points) + min(p[i] for p in points)) / 2 for i in (0, 1))
                out.marks.append(Mark(x, y, _kind(given)))
            else:
                out.marks.extend(Mark(*p, "area") for p in points)
        elif len(points) == 2 and high == 0 and float(given.get("stroke-width", 1)) >= _BAR_PX:
            out.bars.append(Bar(points[0][1], points[0][0], points[1][0]))
        elif len(points) == 2 and max(wide, high) <= _TICK_PX:
            out.ticks.append((points[0], points[1]))
        elif len(points) > 2 or high > 0 == wide:
            out.marks.extend(Mark(*p, "line" if len(points) > 2 else "rule") for p in points)


def _pieces(d: str) -> Iterator[list[Point]]:
    """The corners of each part of a path."""
    points: list[Point] = []
    for letter, numbers in re.findall(r"([MLHVz])([^MLHVz]*)", d):
        values = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", numbers)]
        if letter == "M" and points:
            yield points
            points = []
        if letter == "H":
            points.append((values[0], points[-1][1]))
        elif letter == "V":
            points.append((points[-1][0], values[0]))
        elif letter != "z":
            points.append((values[0], values[1]))
    if points:
        yield points


def _value(words: str, near: dt.date) -> tuple[float, str] | None:
    """A label's value with its unit."""
    if words == "no change":
        return 0.0, ""
    if day := day_near(words, near):
        return float(day.toordinal()), "day"
    if found := _NUMBER.match(words):
        return float(found[1].replace("\u2212", "-")), found[2] or ""
    return None


def _upright(out: Picture, near: dt.date) -> Iterator[Axis]:
    """Axes of numbers one above the other, all ending at one place."""
    columns: dict[float, list[Text]] = {}
    for text in out.texts:
        if text.anchor == "end" and _NUMBER.match(text.words):
            columns.setdefault(text.x, []).append(text)
    for x, texts in columns.items():
        levels = [a[1] for a, b in out.ticks if a[1] == b[1] and abs(a[0] - x) < 12]
        labels = [
            (_nearest(levels, t.y - _BASELINE_PX), found[0])
            for t in sorted(texts, key=lambda t: t.y)
            if (found := _value(t.words, near))
        ]
        for run in _runs(labels, rising=False):
            yield _axis(x, run)


def _level(out: Picture, near: dt.date) -> Iterator[Axis]:
    """Axes of days or numbers side by side."""
    lines: dict[float, list[tuple[float, float, str]]] = {}
    for text in out.texts:
        if found := _value(text.words, near):
            lines.setdefault(text.y, []).append((text.x, *found))
    for y, texts in lines.items():
        across = [
            a[0] for a, b in out.ticks if a[0] == b[0] and -30 < max(a[1], b[1]) - y < -_BASELINE_PX
        ]
        units = {unit for _, _, unit in texts} - {""}
        if across and len(units) == 1:
            labels = [(_nearest(across, x), value) for x, value, _ in sorted(texts)]
            for run in _runs(labels, rising=True):
                yield _axis(y, run, *units)


def _nearest(places: Sequence[float], wanted: float) -> float:
    """The place next to the one wanted, or that itself where none is near."""
    near = min(places, key=lambda p: abs(p - wanted), default=math.inf)
    return near if abs(near - wanted) <= _NEAR_PX else wanted


def _runs(
    labels: Sequence[tuple[float, float]], *, rising: bool
) -> Iterator[list[tuple[float, float]]]:
    """Labels of one axis: cut where values go the wrong way or their step is another."""
    run: list[tuple[float, float]] = []
    for place, value in labels:
        if run:
            right = value > run[-1][1] if rising else value < run[-1][1]
            if right and len(run) > 1:
                slope = (run[-1][1] - run[0][1]) / (run[-1][0] - run[0][0])
                new = (value - run[-1][1]) / (place - run[-1][0])
                right = math.isclose(slope, new, rel_tol=0.05)
            if not right or place == run[-1][0]:
                if len(run) > 1:
                    yield run
                run = []
        run.append((place, value))
    if len(run) > 1:
        yield run


def _axis(at: float, labels: list[tuple[float, float]], unit: str = "") -> Axis:
    places = np.array([p for p, _ in labels])
    slope, offset = np.polyfit(places, [v for _, v in labels], 1)
    return Axis(at, float(places.min()), float(places.max()), float(slope), float(offset), unit)
