"""
One look for every chart: a palette, few sizes of type, and marks placed so that no words collide.

A chart is a Vega-Lite specification in a strict form, written twice, for 740 and for 350 units of
width: the type never shrinks, what stands where differs. Marks of data stand in the units of the
data, each with a scale whose domain and range are given; axes, leaders and words stand in pixels,
since their places come from the widths of the words. `Picture.altair` gives the chart to whoever
wants to alter it.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise
from typing import Any, Literal, NamedTuple

from gripbook.charts.widths import text_width
from gripbook.display import Displayed

#: Colours on light paper by the name of the page's variable: light, dark and print are its style's.
PALETTE = {
    "paper": "#fbf9f3",
    "ink": "#211f1b",
    "ink2": "#5a544b",
    "rule": "#d9d3c6",
    "axis": "#8d8678",
    "accent": "#93351e",
    "tint": "#93351e33",
    "pale": "#93351e14",
    "bar": "#9a9283",
}
PAPER, INK, SOFT, RULE, AXIS, ACCENT = (
    PALETTE[name] for name in ("paper", "ink", "ink2", "rule", "axis", "accent")
)
TINT, PALE, BAR = PALETTE["tint"], PALETTE["pale"], PALETTE["bar"]
WIDE, NARROW = 740, 350
#: Sizes of type: what a row is, what stands at marks, ticks of axes.
NAME, TEXT, TICK = 15.0, 13.0, 12.5
LINE = 15.0  # from one line of words to the next
#: A y axis spans at least this share of its level, so that small steps look small.
LEAST_SPAN = 0.15
SHAPES = {
    "hang": "circle",
    "repeater": "square",
    "pull": "diamond",
    "rock": "triangle-up",
    "unread": "M-1,-1L1,1M-1,1L1,-1",
}
#: An area that looks as large as a circle's of the same half width, as share of its square.
_EVEN = {"circle": 1.0, "square": 0.78, "diamond": 1.54, "triangle-up": 1.3}
Align = Literal["left", "center", "right"]


#: The same words are measured at many places before they find theirs.
_width = lru_cache(maxsize=4096)(text_width)


class Box(NamedTuple):
    """A rectangle in pixels, y down."""

    left: float
    top: float
    right: float
    bottom: float

    def shared(self, other: Box) -> float:
        """Area that both cover."""
        wide = min(self.right, other.right) - max(self.left, other.left)
        high = min(self.bottom, other.bottom) - max(self.top, other.top)
        return wide * high if wide > 0 and high > 0 else 0.0


@dataclass(frozen=True, repr=False)
class Picture(Displayed):
    """
    A chart at both widths; a notebook shows it as its picture.

    `name` says what it shows and is read aloud in its place; `wide` and `narrow` are Vega-Lite
    specifications of 740 and 350 units. `thinned`: marks that there was no room for, and all
    there are; of a week, or several, the highest and the lowest are drawn.
    """

    name: str
    wide: dict[str, Any]
    narrow: dict[str, Any]
    thinned: tuple[int, int] = (0, 0)

    def altair(self, *, narrow: bool = False) -> Any:
        """
        Give the chart to Altair, to look at, alter or save.

        Returns
        -------
        An `altair.LayerChart`, checked against Vega-Lite's schema.
        """
        import altair as alt

        return alt.LayerChart.from_dict(self.narrow if narrow else self.wide)

    def __repr__(self) -> str:
        return f"Figure: {self.name}"


@dataclass(frozen=True)
class Scale:
    """
    A line of numbers, or of days where `days` is true.

    `low` stands at pixel `first`, `high` at pixel `last`.
    """

    low: float
    high: float
    first: float
    last: float
    days: bool = False

    def __call__(self, value: Any) -> float:
        """Pixel of a value."""
        number = _milliseconds(value) if self.days else float(value)
        return self.first + (number - self.low) * (self.last - self.first) / (self.high - self.low)

    def channel(self, name: str) -> dict[str, Any]:
        """The channel of a field of that name."""
        scale: dict[str, Any] = {"domain": [self.low, self.high], "range": [self.first, self.last]}
        if self.days:
            scale["type"] = "utc"
        kind = "temporal" if self.days else "quantitative"
        return {"field": name, "type": kind, "scale": scale, "axis": None}


def days(first: dt.date, last: dt.date, left: float, right: float) -> Scale:
    """A line of days from the first to the last pixel."""
    return Scale(_milliseconds(first), _milliseconds(last), left, right, days=True)


def _milliseconds(day: dt.date) -> float:
    """A day as milliseconds since 1970, in which Vega counts days."""
    return float((dt.date(day.year, day.month, day.day) - dt.date(1970, 1, 1)).days * 86_400_000)


def _value(scale: Scale, value: Any) -> Any:
    """A row's value as its scale takes it."""
    return dt.date.fromisoformat(value) if scale.days else value


def iso(day: dt.date) -> str:
    """A day as rows hold it, without a time that a time zone could move."""
    return f"{day:%Y-%m-%d}"


def fitted(
    low: float,
    high: float,
    at_least: Iterable[tuple[float, float]],
    at_most: Iterable[tuple[float, float]],
) -> Scale:
    """
    The longest line of numbers that leaves the words at its marks their room.

    Parameters
    ----------
    low, high : its ends.
    at_least : values with the pixel that they may not stand left of.
    at_most : values with the pixel that they may not stand right of.
    """
    lefts, rights = list(at_least), list(at_most)
    unit = min(
        (right - left) / (high_value - low_value)
        for low_value, left in lefts
        for high_value, right in rights
        if high_value > low_value
    )
    zero = max(left - unit * value for value, left in lefts)
    return Scale(low, high, zero + unit * low, zero + unit * high)


def round_span(
    low: float, high: float, *, least: float = 0.0, ticks: int = 4
) -> tuple[float, float, list[float]]:
    """
    Ends of an axis at round numbers about a range, and its ticks.

    Parameters
    ----------
    least : what the axis spans at least.
    ticks : how many steps it may have at most.
    """
    if high - low < least:
        middle = (low + high) / 2
        low, high = middle - least / 2, middle + least / 2
    if high <= low:
        low, high = low - 1, high + 1
    for exponent in range(-3, 7):
        for factor in (1.0, 2.0, 5.0):
            step = factor * 10.0**exponent
            first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
            if last - first <= ticks:
                return first * step, last * step, [i * step for i in range(first, last + 1)]
    raise ValueError(f"no round steps from {low} to {high}")


#: Most marks put down at a time; more would neither be told apart nor fit in a page.
MARKS = 400
#: Most ticks of weeks beneath a panel.
_TICKS = 200


def thinned(rows: Sequence[Mapping[str, Any]], x: Scale) -> Sequence[Mapping[str, Any]]:
    """
    Give at most `MARKS` of the rows of a log's days, in their order.

    Of each week and of marks that look alike the highest and the lowest are kept; where those are
    still too many, of two weeks, of four and so on.
    """
    if len(rows) <= MARKS or not x.days:
        return rows
    days = [dt.date.fromisoformat(row["x"]).toordinal() for row in rows]
    weeks, kept = 1, list(range(len(rows)))
    while len(kept) > MARKS and weeks < 100_000:
        ends: dict[Any, tuple[int, int]] = {}
        for i, row in enumerate(rows):
            looks = (
                str(row.get(name)) for name in ("shape", "filled", "colour", "stroke", "piece")
            )
            key = days[i] // (7 * weeks), *looks
            low, high = ends.get(key, (i, i))
            ends[key] = (
                i if row["y"] < rows[low]["y"] else low,
                i if row["y"] > rows[high]["y"] else high,
            )
        kept = sorted({i for pair in ends.values() for i in pair})
        weeks *= 2
    return [rows[i] for i in kept]


class Line(NamedTuple):
    """A line of words at a mark."""

    text: str
    bold: bool = False
    italic: bool = False
    colour: str = INK


@dataclass
class Sheet:
    """
    What is drawn of one picture at one width.

    Rules of axes lie beneath, then marks in the order they are put down, then all words. `taken`
    holds the boxes that words keep clear of, `tinted` those that they would rather not stand on.
    """

    width: float
    height: float
    taken: list[Box] = field(default_factory=list)
    tinted: list[Box] = field(default_factory=list)
    thinned: tuple[int, int] = (0, 0)
    _rules: list[dict[str, Any]] = field(default_factory=list)
    _dotted: list[dict[str, Any]] = field(default_factory=list)
    _layers: list[dict[str, Any]] = field(default_factory=list)
    _words: list[dict[str, Any]] = field(default_factory=list)

    @property
    def narrow(self) -> bool:
        """Whether this is the picture for a phone."""
        return self.width < WIDE

    # marks of data ---------------------------------------------------------------------------

    def _layer(self, mark: dict[str, Any], rows: list[Any], encoding: Mapping[str, Any]) -> None:
        if rows:
            self._layers.append({"data": {"values": rows}, "mark": mark, "encoding": {**encoding}})

    def _few(self, x: Scale, rows: Iterable[Mapping[str, Any]]) -> Sequence[Mapping[str, Any]]:
        """The rows that there is room for; the others are counted."""
        rows = list(rows)
        kept = thinned(rows, x)
        if len(kept) < len(rows):
            left, there = self.thinned
            self.thinned = left + len(rows) - len(kept), there + len(rows)
        return kept

    def areas(self, x: Scale, y: Scale, rows: Iterable[Mapping[str, Any]]) -> None:
        """Put down areas; rows of `x`, `y`, `y2`, `fill` and the `piece` they belong to."""
        encoding = {
            "x": x.channel("x"),
            "y": y.channel("y"),
            "y2": {"field": "y2"},
            "fill": _plain("fill"),
            "detail": {"field": "piece", "type": "nominal"},
        }
        rows = list(rows)
        self._layer({"type": "area", "opacity": 1}, rows, encoding)
        for one, other in pairwise(rows):
            if one["piece"] == other["piece"]:
                left, right = (x(_value(x, row["x"])) for row in (one, other))
                ends = [y(row[c]) for row in (one, other) for c in ("y", "y2")]
                self.tinted.append(Box(left, min(ends), right, max(ends)))

    def lines(
        self, x: Scale, y: Scale, rows: Iterable[Mapping[str, Any]], *, broken: bool = False
    ) -> None:
        """Put down lines, solid or broken; rows of `x`, `y`, `stroke` and their `piece`."""
        mark: dict[str, Any] = {"type": "line", "opacity": 1, "strokeWidth": 1.75}
        mark |= (
            {"strokeCap": "butt", "strokeDash": [4.5, 3.5]} if broken else {"strokeCap": "round"}
        )
        encoding = {
            "x": x.channel("x"),
            "y": y.channel("y"),
            "stroke": _plain("stroke"),
            "detail": {"field": "piece", "type": "nominal"},
        }
        rows = thinned(list(rows), x)
        long = Counter(row["piece"] for row in rows)
        rows = [row for row in rows if long[row["piece"]] > 1]  # a line of one day is none
        self._layer(mark, rows, encoding)
        pieces: dict[Any, list[tuple[float, float]]] = {}
        for row in rows:
            place = x(_value(x, row["x"])), y(row["y"])
            pieces.setdefault(row["piece"], []).append(place)
        for piece in pieces.values():
            for (x1, y1), (x2, y2) in pairwise(piece):
                for i in range(3):  # a slanting line's box would forbid half the panel
                    a, b = y1 + (y2 - y1) * i / 3, y1 + (y2 - y1) * (i + 1) / 3
                    left, right = x1 + (x2 - x1) * i / 3, x1 + (x2 - x1) * (i + 1) / 3
                    self.taken.append(Box(left, min(a, b) - 2, right, max(a, b) + 2))

    def bars(self, x: Scale, y: Scale, rows: Iterable[Mapping[str, Any]]) -> None:
        """
        Put down upright or level bars and stems: thick straight lines.

        Rows of `x`, `y`, and `x2` or `y2` or both, `stroke`, `width`, and `tip`, the words it
        answers with, "" for none.
        """
        rows = [{"x2": row["x"], "y2": row["y"], "tip": "", **row} for row in self._few(x, rows)]
        encoding = {
            "x": x.channel("x"),
            "y": y.channel("y"),
            "x2": {"field": "x2"},
            "y2": {"field": "y2"},
            "stroke": _plain("stroke"),
            "strokeWidth": _plain("width", "quantitative"),
        }
        if any(row["tip"] for row in rows):
            encoding["tooltip"] = {"field": "tip", "type": "nominal"}
        self._layer({"type": "rule", "opacity": 1}, rows, encoding)
        for row in rows:
            if row["width"] >= 3 and row["x"] == row["x2"]:
                at, half = x(_value(x, row["x"])), row["width"] / 2
                ends = y(row["y"]), y(row["y2"])
                self.taken.append(Box(at - half, min(ends), at + half, max(ends)))

    def points(self, x: Scale, y: Scale, rows: Iterable[Mapping[str, Any]]) -> None:
        """
        Put down marks.

        Rows of `x`, `y`, `shape` (a key of `SHAPES`), `r` (half the width of a circle of its size,
        pixels), `filled`, `colour`, `soft` (a mark among many), `rim` (of paper about a filled
        one; True unless said) and `tip`.
        """
        put = []
        for row in self._few(x, rows):
            shape, colour, soft = SHAPES[row["shape"]], row["colour"], row.get("soft", False)
            cross, rim = row["shape"] == "unread", row.get("rim", True)
            filled = row["filled"] and not cross
            put.append(
                {
                    "x": row["x"],
                    "y": row["y"],
                    "shape": shape,
                    "size": round((2 * row["r"]) ** 2 * _EVEN.get(shape, 1.0), 2),
                    "fill": colour if filled else PAPER if not cross else None,
                    # a filled mark keeps a rim of paper from lines beneath, unless it is small
                    "stroke": colour if not filled else PAPER if rim and not soft else None,
                    "strokeWidth": (1.0 if soft else 1.4) if not filled else 1.5,
                    "opacity": 0.8 if soft else 1,
                    "tip": row.get("tip", ""),
                }
            )
            at = _value(x, row["x"])
            r = row["r"] + 1.5
            self.taken.append(Box(x(at) - r, y(row["y"]) - r, x(at) + r, y(row["y"]) + r))
        encoding = {
            "x": x.channel("x"),
            "y": y.channel("y"),
            **{name: _plain(name) for name in ("shape", "fill", "stroke")},
            **{name: _plain(name, "quantitative") for name in ("size", "strokeWidth", "opacity")},
        }
        if any(row["tip"] for row in put):
            encoding["tooltip"] = {"field": "tip", "type": "nominal"}
        self._layer({"type": "point"}, put, encoding)

    # rules and words, in pixels --------------------------------------------------------------

    def rule(
        self,
        x: float,
        y: float,
        x2: float,
        y2: float,
        *,
        colour: str = AXIS,
        width: float = 0.75,
        dotted: bool = False,
    ) -> None:
        """Put down a fine straight line beneath all marks."""
        row = {"x": x, "y": y, "x2": x2, "y2": y2, "stroke": colour, "width": width}
        (self._dotted if dotted else self._rules).append(row)

    def words(
        self,
        text: str,
        x: float,
        y: float,
        *,
        size: float = TEXT,
        bold: bool = False,
        italic: bool = False,
        colour: str = INK,
        align: Align = "left",
        halo: bool = False,
        clear: bool = True,
    ) -> Box:
        """
        Put down words with their baseline at y. `clear`: other words keep clear of them.

        Words that would leave the picture are moved inwards.
        """
        box = self.box(text, x, y, size=size, bold=bold, italic=italic, align=align)
        moved = max(0.0, -box.left) or min(0.0, self.width - box.right)
        row = {
            "x": round(x + moved, 2),
            "y": round(y, 2),
            "text": text,
            "size": size,
            "weight": 600 if bold else 400,
            "style": "italic" if italic else "normal",
            "fill": colour,
            "align": align,
            "halo": halo,
        }
        self._words.append(row)
        box = Box(box.left + moved, box.top, box.right + moved, box.bottom)
        if clear:
            self.taken.append(box)
        return box

    def box(
        self,
        text: str,
        x: float,
        y: float,
        *,
        size: float = TEXT,
        bold: bool = False,
        italic: bool = False,
        align: Align = "left",
    ) -> Box:
        """Where words would stand."""
        wide = _width(text, size, weight=600 if bold else 400, italic=italic)
        left = x - {"left": 0.0, "center": 0.5, "right": 1.0}[align] * wide
        return Box(left, y - 0.76 * size, left + wide, y + 0.24 * size)

    def tag(
        self,
        lines: Sequence[Line],
        x: float,
        y: float,
        *,
        within: Box,
        aligns: Sequence[Align] = ("center", "left", "right"),
        gap: float = 9.0,
        halo: bool = True,
    ) -> None:
        """
        Put words at a mark: the nearest free place above it, else below, with a leader if far.

        Parameters
        ----------
        x, y : the mark, in pixels.
        within : what the words may not leave.
        aligns : how they may stand to it, the best first.
        gap : from the mark's middle to the words, pixels.
        """
        high = LINE * len(lines)
        best: tuple[float, float, Align, bool] | None = None
        # all that the words or their leader can ever cover: they move up and down alone
        spans = [box for align in aligns for box in self._boxes(lines, x, y, align)]
        left, right = min(box.left for box in spans), max(box.right for box in spans)
        reach = Box(left, within.top, right, within.bottom)
        near = [b for b in self.taken if _meet(b, reach)]
        soft = [b for b in self.tinted if _meet(b, reach)]
        beside = Box(x - 1, -math.inf, x + 1, math.inf)
        said = [b for b in self._word_boxes() if _meet(b, beside)]
        for step in range(60):
            lift = gap + step * 4.0
            if best is not None and lift - gap > best[0]:
                break  # nothing further away can be better
            for above in (True, False):
                base = y - lift if above else y + lift + high - 4
                for place, align in enumerate(aligns):
                    cost = lift - gap + 3.0 * place + (0.0 if above else 60.0)
                    if best is not None and cost >= best[0]:
                        continue
                    boxes = self._boxes(lines, x, base, align)
                    if any(_outside(box, within) for box in boxes):
                        continue
                    cost += sum(box.shared(other) for box in boxes for other in near) * 4
                    cost += sum(box.shared(other) for box in boxes for other in soft) / 12
                    if above and lift > gap + 8:
                        leader = Box(x - 1, base + 4, x + 1, y - gap)
                        cost += sum(leader.shared(w) for w in said) * 4
                    if best is None or cost < best[0]:
                        best = cost, base, align, above
        if best is None:  # too long for the room: at its upper edge
            best = 0.0, max(y - gap, within.top + high), aligns[0], True
        _, base, align, above = best
        if above and y - base > gap + 8:
            self.rule(x, base + 5, x, y - gap + 2, width=0.6)
        at = x + _SHIFT[align]
        for i, line in enumerate(lines):
            self.words(
                line.text,
                at,
                base - LINE * (len(lines) - 1 - i),
                bold=line.bold,
                italic=line.italic,
                colour=line.colour,
                align=align,
                halo=halo,
            )

    def _boxes(self, lines: Sequence[Line], x: float, base: float, align: Align) -> list[Box]:
        at = x + _SHIFT[align]
        return [
            self.box(
                line.text,
                at,
                base - LINE * (len(lines) - 1 - i),
                bold=line.bold,
                italic=line.italic,
                align=align,
            )
            for i, line in enumerate(lines)
        ]

    def _word_boxes(self) -> list[Box]:
        return [
            self.box(
                w["text"],
                w["x"],
                w["y"],
                size=w["size"],
                bold=w["weight"] == 600,
                italic=w["style"] == "italic",
                align=w["align"],
            )
            for w in self._words
        ]

    # axes ------------------------------------------------------------------------------------

    def head(self, bold: str, soft: str, x: float, y: float, *, under: bool = False) -> None:
        """What a panel or row shows: its name, and what it is told in, beside it or under it."""
        box = self.words(bold, x, y, size=NAME, bold=True)
        if soft and under:
            self.words(soft, x, y + LINE + 1, colour=SOFT)
        elif soft:
            self.words(soft, box.right + 4, y, colour=SOFT)

    def levels(
        self, scale: Scale, ticks: Iterable[float], x: float, word: Callable[[float], str]
    ) -> None:
        """Ticks of an upright axis left of pixel x."""
        for value in ticks:
            y = scale(value)
            self.rule(x - 4, y, x, y)
            self.words(word(value), x - 7, y + 4, size=TICK, colour=SOFT, align="right")

    def weeks(
        self, scale: Scale, y: float, starts: Sequence[dt.date], word: Callable[[dt.date], str]
    ) -> None:
        """The line beneath a panel with a tick a week and a few dates; `starts`: days of weeks."""
        self.rule(scale.first, y, scale.last, y)
        most = 4 if scale.last - scale.first > 600 else 2
        step = max(1, (len(starts) - 1) // most)
        free = -math.inf
        for i, day in enumerate(starts):
            x = scale(day)
            named = i % step == 0
            if not named and len(starts) > _TICKS:
                continue
            self.rule(x, y, x, y + (5 if named else 3))
            if named:
                align: Align = "left" if i == 0 else "center"
                if self.box(word(day), x, y, size=TICK, align=align).right > scale.last + 12:
                    x, align = scale.last, "right"
                if self.box(word(day), x, y, size=TICK, align=align).left > free + 4:
                    free = self.words(
                        word(day), x, y + 18, size=TICK, colour=SOFT, align=align
                    ).right
        self.rule(scale.last, y, scale.last, y + 3)

    def months(
        self, scale: Scale, y: float, days: Iterable[dt.date], word: Callable[[dt.date], str]
    ) -> None:
        """The line beneath a panel with a tick at each of these days, named where there is room."""
        self.rule(scale.first, y, scale.last, y)
        free = -math.inf
        for day in days:
            x = scale(day)
            box = self.box(word(day), x, y + 18, size=TICK, align="center")
            named = box.left > free and box.left >= 0 and box.right <= scale.last + 12
            self.rule(x, y, x, y + (5 if named else 3))
            if named:
                free = (
                    self.words(word(day), x, y + 18, size=TICK, colour=SOFT, align="center").right
                    + 8
                )

    def spec(self, name: str) -> dict[str, Any]:
        """The chart as Vega-Lite writes it."""
        beneath = []
        for rows, dots in ((self._rules, False), (self._dotted, True)):
            mark: dict[str, Any] = {"type": "rule", "opacity": 1}
            if dots:
                mark |= {"strokeDash": [1, 3], "strokeCap": "round"}
            encoding = {
                **{c: {"field": c, **_PIXELS} for c in ("x", "y")},
                **{c: {"field": c} for c in ("x2", "y2")},
                "stroke": _plain("stroke"),
                "strokeWidth": _plain("width", "quantitative"),
            }
            if rows:
                layer = {"data": {"values": rows}, "mark": mark, "encoding": encoding}
                beneath.append(layer)
        text = {
            "data": {"values": self._words},
            "mark": _TEXT_MARK,
            "encoding": {
                **{c: {"field": c, **_PIXELS} for c in ("x", "y")},
                "text": {"field": "text", "type": "nominal"},
                "fill": _plain("fill"),
            },
        }
        return {
            "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
            "description": name,
            "width": self.width,
            "height": self.height,
            "padding": 0,
            "autosize": {"type": "none"},
            "config": {"view": {"stroke": None}, "font": "serif"},
            "resolve": {"scale": {"x": "independent", "y": "independent"}},
            "layer": [*beneath, *self._layers, text],
        }


class Step(NamedTuple):
    """A day of a path: load with its range, and whether sets stand in the week that begins."""

    day: dt.date
    kg: float
    low_kg: float
    high_kg: float
    logged: bool


def band(sheet: Sheet, x: Scale, y: Scale, path: Sequence[Step], *, broken: bool = False) -> None:
    """
    Put down a path with its range: the line in weeks with sets, else the range alone and paler.

    Parameters
    ----------
    path : in order of days; the last day only ends its week.
    broken : whether the line is dashed.
    """
    tint: list[dict[str, Any]] = []
    pale: list[dict[str, Any]] = []
    line: list[dict[str, Any]] = []
    start, weeks = 0, len(path) - 1
    for i in range(1, weeks + 1):
        logged = path[start].logged
        if i < weeks and path[i].logged == logged:
            continue
        for step in path[start : i + 1]:
            day = iso(step.day)
            if math.isfinite(step.low_kg + step.high_kg):
                fill, ends = (TINT if logged else PALE), (step.low_kg, step.high_kg)
                row = {"x": day, "y": round(ends[0], 3), "y2": round(ends[1], 3)}
                (tint if logged else pale).append({**row, "fill": fill, "piece": start})
            if logged:
                line.append({"x": day, "y": round(step.kg, 3), "stroke": ACCENT, "piece": start})
        start = i
    sheet.areas(x, y, [*pale, *tint])
    sheet.lines(x, y, line, broken=broken)


#: Words beside a mark start a little before it, so that they read as its.
_SHIFT: dict[Align, float] = {"left": -4.0, "center": 0.0, "right": 5.0}
_PIXELS = {"type": "quantitative", "scale": None, "axis": None}
_TEXT_MARK = {
    "type": "text",
    "baseline": "alphabetic",
    "align": {"expr": "datum.align"},
    "fontSize": {"expr": "datum.size"},
    "fontWeight": {"expr": "datum.weight"},
    "fontStyle": {"expr": "datum.style"},
}


def _plain(name: str, kind: str = "nominal") -> dict[str, Any]:
    """A channel whose rows hold what is drawn."""
    return {"field": name, "type": kind, "scale": None}


def _meet(one: Box, other: Box) -> bool:
    return one.shared(other) > 0


def _outside(box: Box, within: Box) -> bool:
    return (
        box.left < within.left
        or box.right > within.right
        or box.top < within.top
        or box.bottom > within.bottom
    )


def grid(
    width: float, panels: int, height: float, *, heads: Iterable[str] = (), gap: float = 27.0
) -> tuple[Sheet, list[Box]]:
    """
    A sheet with room for panels: beside one another, up to three in a row; on a phone stacked.

    Parameters
    ----------
    height : of a panel, pixels.
    heads : names of panels, for which each must have room.
    gap : between panels beside one another, pixels.
    """
    across = 1 if width < WIDE else min(panels, 3)
    longest = max((_width(head, NAME, weight=600) for head in heads), default=0.0)
    while across > 1 and (width - gap * (across - 1)) / across < longest:
        across -= 1
    rows = math.ceil(panels / across)
    below = 22.0
    sheet = Sheet(width, rows * (height + below) - below)
    wide = (width - gap * (across - 1)) / across
    rooms = []
    for i in range(panels):
        left, top = (i % across) * (wide + gap), (i // across) * (height + below)
        rooms.append(Box(left, top, left + wide, top + height))
    return sheet, rooms


def picture(name: str, paint: Callable[[float], Sheet]) -> Picture:
    """
    A chart at both widths.

    Parameters
    ----------
    name : what it shows.
    paint : gives the sheet of a width.
    """
    wide, narrow = paint(WIDE), paint(NARROW)
    return Picture(name, wide.spec(name), narrow.spec(name), wide.thinned)
