"""
A still picture of a chart, as small inline SVG, for readers without script and for paper.

Draws what the charts of `gripbook.charts` use of Vega-Lite, in plain Python: the chart library's
own SVG would cost more than the rest of the page. Scales, ticks and symbols follow Vega's rules, so
that the picture shows what the drawn chart shows; pointing, picking and zooming are left out. What
is not known here raises `SketchError`, never a wrong picture.
"""

from __future__ import annotations

import datetime as dt
import json
import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from gripbook.charts.widths import text_width
from gripbook.html import escape
from gripbook.report.render import title_text
from gripbook.report.sketch_paths import coordinate, number, pair, path, symbol, tenths, thinned
from gripbook.report.sketch_scales import (
    Row,
    Scale,
    SketchError,
    Value,
    day_number,
    day_ticks,
    expression,
    nice_ends,
    number_words,
    padded,
    round_ticks,
    unknown,
)

__all__ = ["SketchError", "sketch"]

#: Size of letters in units of the picture; the page's style may set smaller ones on wide screens.
_FONT = 12
#: Heights, strokes and symbols against the drawn chart's, as the picture is scaled up on a desk.
_FLAT, _FINE = 0.68, 0.72
_DRAWN_WIDTH = 560.0  # of a drawn chart's axis on a desk, in whose units bars are given
_LINE = 17.0  # height of a line of words
_SOFT_OPACITY = 0.75

_PARTS = {"mark", "layer", "encoding", "data", "transform", "params", "name", "title", "height"}
_PARTS |= {"width", "config", "description", "datasets", "$schema", "usermeta", "autosize"}
_PARTS |= {"padding", "background", "view"}
_CHANNELS = {"x", "y", "x2", "y2", "color", "stroke", "fill", "shape", "strokeDash", "opacity"}
_CHANNELS |= {"fillOpacity", "strokeOpacity", "size", "text", "detail"}
_UNSEEN = {"tooltip", "href", "key", "description"}
_MARKS = {"line", "area", "point", "circle", "square", "bar", "rule", "text"}
_MARK_OPTIONS = {"type", "color", "fill", "stroke", "filled", "size", "shape", "opacity", "width"}
_MARK_OPTIONS |= {"fillOpacity", "strokeWidth", "strokeDash", "point", "align", "dx", "dy"}
_MARK_OPTIONS |= {"fontSize", "tooltip", "description"}
_SCALE_OPTIONS = {"type", "domain", "range", "zero", "nice", "padding"}
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_DEFAULT_COLOUR = "#4c78a8"  # Vega-Lite's own


def sketch(
    spec: Mapping[str, Any], datasets: Mapping[str, Sequence[Row]], width: float = 380
) -> str:
    """
    Give the still picture of a chart.

    Parameters
    ----------
    spec : Vega-Lite specification of one chart, single or layered, as a page holds it.
    datasets : name -> rows, for the data that `spec` names.
    width : of the picture in its own units, of which a letter is 12 high. It is shown as wide as
        the page allows; 380 reads well on a phone and on a desk.

    Returns
    -------
    One `<svg>` element without ids, told by the chart's title; all text in it is escaped. Where the
    chart has the colours of its axes the picture has the text's colour about it.

    Raises
    ------
    SketchError : an unknown mark, channel, transform, scale or format.
    """
    try:
        return _Picture(spec, datasets, width).draw()
    except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError) as error:
        what = f"{type(error).__name__}: {error}"
        raise SketchError(f"Chart {title_text(dict(spec))!r} can't be sketched: {what}") from error


@dataclass
class _Layer:
    """A mark with its channels and the rows left by its filters."""

    mark: dict[str, Any]
    encoding: dict[str, Any]
    rows: Sequence[Row]

    @property
    def kind(self) -> str:
        return str(self.mark["type"])


@dataclass(frozen=True)
class _Pen:
    """How a path is painted; colours as in the chart, "" for none."""

    fill: str = ""
    fill_opacity: float = 1.0
    stroke: str = ""
    stroke_opacity: float = 1.0
    width: float = 0.0
    dash: tuple[float, ...] = ()
    opacity: float = 1.0
    round: bool = False


class _Picture:
    """One chart on its way to SVG."""

    def __init__(
        self, spec: Mapping[str, Any], datasets: Mapping[str, Sequence[Row]], width: float
    ) -> None:
        self.title = title_text(dict(spec)) or str(spec.get("description", ""))
        self.config: Mapping[str, Any] = spec.get("config", {})
        axis = self.config.get("axis", {})
        self.soft = str(axis.get("labelColor", "#000"))
        self.ink = str(self.config.get("legend", {}).get("labelColor", "#000"))
        locale = self.config.get("locale", {})
        self.months: Sequence[str] = locale.get("time", {}).get("shortMonths", _MONTHS)
        signs = locale.get("number", {})
        self.signs = str.maketrans(
            {",": signs.get("thousands", ","), ".": signs.get("decimal", ".")}
        )
        self.datasets = {**datasets, **spec.get("datasets", {})}
        self.layers: list[_Layer] = []
        self._collect(spec, {}, None, [])
        height = spec.get("height", 200)
        self.height = float(height) if isinstance(height, int | float) else 200.0
        self.high = self.height * _FLAT
        self.width = width
        self.x, self.y = self._scale("x"), self._scale("y")
        self.out: list[str] = []

    # what there is to draw

    def _collect(
        self,
        part: Mapping[str, Any],
        channels: Mapping[str, Any],
        rows: Sequence[Row] | None,
        filters: list[Value],
    ) -> None:
        """Flatten layers; what stands above them holds for each."""
        for key in part:
            if key not in _PARTS:
                raise unknown("part of a chart", key)
        data = part.get("data")
        if data is not None:
            rows = data["values"] if "values" in data else self.datasets[data["name"]]
        filters = [*filters, *(self._filter(t) for t in part.get("transform", ()))]
        channels = {**channels, **part.get("encoding", {})}
        if "layer" in part:
            for layer in part["layer"]:
                self._collect(layer, channels, rows, filters)
            return
        mark = part["mark"]
        mark = {"type": mark} if isinstance(mark, str) else dict(mark)
        if mark["type"] not in _MARKS:
            raise unknown("mark", mark["type"])
        for option in mark:
            if option not in _MARK_OPTIONS:
                raise unknown(f"option of mark {mark['type']}", option)
        own = {}
        for name, channel in channels.items():
            if name in _UNSEEN:
                continue
            if name not in _CHANNELS:
                raise unknown("channel", name)
            for option in ("aggregate", "bin", "timeUnit", "stack", "impute", "bandPosition"):
                if isinstance(channel, Mapping) and channel.get(option):
                    raise unknown(f"option of channel {name}", option)
            for option in (isinstance(channel, Mapping) and channel.get("scale")) or ():
                if option not in _SCALE_OPTIONS:
                    raise unknown(f"option of the scale of {name}", option)
            own[name] = channel
        if mark["type"] in ("bar", "area") and "y2" not in own:
            for name in ("color", "fill", "detail"):  # Vega-Lite would stack them
                if name in own and "value" not in own[name]:
                    raise unknown(f"stack of marks {mark['type']} by", name)
        kept = [row for row in rows or () if all(f(row) for f in filters)]
        self.layers.append(_Layer(mark, own, kept))

    @staticmethod
    def _filter(transform: Mapping[str, Any]) -> Value:
        test = transform.get("filter")
        if len(transform) != 1 or test is None:
            raise unknown("transform", ", ".join(transform))
        if isinstance(test, str):
            return expression(test)
        if isinstance(test, Mapping) and "param" in test:  # nothing is picked in a picture
            empty = bool(test.get("empty", True))
            return lambda row: empty
        raise unknown("filter", test)

    # scales

    def _of(self, channel: str) -> list[tuple[_Layer, Mapping[str, Any]]]:
        """The layers that place something on x or y, with how."""
        return [
            (layer, layer.encoding[name])
            for layer in self.layers
            for name in (channel, f"{channel}2")
            if isinstance(layer.encoding.get(name), Mapping) and "field" in layer.encoding[name]
        ]

    def _option(self, channel: str, of: str, key: str, default: Any = None) -> Any:
        """The first layer's word on an option of a scale or an axis."""
        for _, how in self._of(channel):
            part = how.get(of)
            if isinstance(part, Mapping) and key in part:
                return part[key]
        return default

    def _scale(self, channel: str) -> Scale | None:
        found = self._of(channel)
        if not found:
            return None
        kinds = {how["type"] for _, how in found if "type" in how}
        if len(kinds) != 1 or not kinds <= {"temporal", "quantitative", "nominal", "ordinal"}:
            raise unknown(f"type of {channel}", sorted(kinds))
        (kind,) = kinds
        if (scale_type := self._option(channel, "scale", "type", "utc")) not in (
            *("utc", "time", "linear", "band", "point"),
        ):
            raise unknown("scale", scale_type)
        given = self._option(channel, "scale", "domain")
        if kind in ("nominal", "ordinal"):
            seen = dict.fromkeys(row.get(how["field"]) for la, how in found for row in la.rows)
            sort: Any = next((how["sort"] for _, how in found if "sort" in how), [])
            if not isinstance(sort, list):
                raise unknown("order", sort)
            order = given or [*sort, *(v for v in _sorted(seen) if v not in sort)]
            return Scale("discrete", [v for v in order if v is not None])
        scale = Scale(kind, [])
        if given is not None:
            ends = [scale.value(v) or 0.0 for v in given]
            low, high = ends[0], ends[-1]
            if kind == "temporal" and any(la.kind == "bar" for la in self.layers):
                # room for the bars at the ends, as Vega-Lite leaves
                low, high = padded(low, high, 5.0, _DRAWN_WIDTH)
            scale.domain = [low, high]
            return scale
        values = [
            v
            for layer, how in found
            for row in layer.rows
            if (v := scale.value(row.get(how["field"]))) is not None
        ]
        if not values:
            values = [0.0, 1.0]
        low, high = min(values), max(values)
        if kind == "quantitative":
            whole = self.height if channel == "y" else _DRAWN_WIDTH
            padding = float(self._option(channel, "scale", "padding", 0.0))
            if padding and high > low:
                # in units of the drawn chart, so that both show the same span
                low, high = padded(low, high, padding, whole)
            if self._option(channel, "scale", "zero", True):
                low, high = min(low, 0.0), max(high, 0.0)
            nice = self._option(channel, "scale", "nice", True)
            if not isinstance(nice, bool):
                raise unknown("rounding of ends", nice)
            if nice:
                low, high = nice_ends(low, high)
        scale.domain = [low, high]
        return scale

    # paint

    def _paint(self, colour: str) -> tuple[str, float]:
        """A colour and its opacity; the axes' own are the text's, so that they suit any ground."""
        if colour == self.ink:
            return "currentColor", 1.0
        if colour == self.soft:
            return "currentColor", _SOFT_OPACITY
        return escape(colour), 1.0

    def _add(self, pen: _Pen, paths: Iterable[str]) -> None:
        drawn = "".join(paths)
        if not drawn:
            return
        options = []
        if pen.fill:
            colour, opacity = self._paint(pen.fill)
            options.append(f'fill="{colour}"')
            if (opacity := opacity * pen.fill_opacity) < 1:
                options.append(f'fill-opacity="{opacity:.2g}"')
        else:
            options.append('fill="none"')
        if pen.stroke:
            colour, opacity = self._paint(pen.stroke)
            options.append(f'stroke="{colour}"')
            if (opacity := opacity * pen.stroke_opacity) < 1:
                options.append(f'stroke-opacity="{opacity:.2g}"')
            if pen.width != 1:
                options.append(f'stroke-width="{coordinate(pen.width)}"')
            if pen.dash:
                options.append(f'stroke-dasharray="{" ".join(coordinate(d) for d in pen.dash)}"')
            if pen.round:
                options.append('stroke-linecap="round"')
        if pen.opacity < 1:
            options.append(f'opacity="{pen.opacity:.2g}"')
        self.out.append(f'<path {" ".join(options)} d="{drawn}"/>')

    def _constant(self, layer: _Layer, channel: str, row: Row, default: Any) -> Any:
        """A channel's value at a row: set, under a condition, or through a scale with a range."""
        how = layer.encoding.get(channel)
        if how is None:
            return default
        conditions = how.get("condition", ())
        for condition in [conditions] if isinstance(conditions, Mapping) else conditions:
            if "param" in condition:  # nothing is picked: all is, unless the chart says otherwise
                holds = bool(condition.get("empty", True))
            else:
                holds = bool(expression(condition["test"])(row))
            if holds:
                return condition["value"]
        if "value" in how:
            return how["value"]
        if "field" in how:
            scale = how.get("scale") or {}
            domain, given = scale.get("domain"), scale.get("range")
            if how["type"] not in ("nominal", "ordinal") or not domain or not given:
                raise unknown(f"scale without domain and range, channel {channel},", how["field"])
            value = row.get(how["field"])
            return given[domain.index(value) % len(given)] if value in domain else default
        return default

    def _pen(self, layer: _Layer, row: Row) -> _Pen:
        """How a row of a layer is painted."""
        mark, kind = layer.mark, layer.kind
        colour = self._constant(layer, "color", row, mark.get("color", _DEFAULT_COLOUR))
        fill = self._constant(layer, "fill", row, mark.get("fill", colour))
        line = kind in ("line", "rule", "tick")
        hollow = kind == "point" and not mark.get("filled", False)
        filled = not line and not hollow
        own_stroke = colour if line or hollow else mark.get("stroke")
        stroke = self._constant(layer, "stroke", row, own_stroke)
        faint = 0.7 if kind in ("point", "circle", "square", "tick") else 1.0
        dash = self._constant(layer, "strokeDash", row, mark.get("strokeDash", ())) or ()
        dash = tuple(float(d) * _FINE for d in dash)
        width = float(mark.get("strokeWidth", 2 if kind in ("line", "point") else 1))
        return _Pen(
            fill=fill if filled else "",
            fill_opacity=self._constant(layer, "fillOpacity", row, mark.get("fillOpacity", 1.0)),
            stroke=stroke or "",
            stroke_opacity=self._constant(layer, "strokeOpacity", row, 1.0),
            width=max(width * _FINE, 0.8) if stroke else 0.0,
            dash=dash if len(dash) > 1 and dash[1] > 0 else (),
            opacity=self._constant(layer, "opacity", row, mark.get("opacity", faint)),
        )

    # marks

    def _place(self, layer: _Layer, row: Row, channel: str, scale: Scale | None) -> float | None:
        how = layer.encoding.get(channel)
        if how is None or scale is None:
            return None
        if "field" not in how:
            raise unknown(f"channel {channel} without a field", how)
        return scale.at(row.get(how["field"]))

    def _points_of(self, layer: _Layer, row: Row) -> tuple[float, float] | None:
        x, y = self._place(layer, row, "x", self.x), self._place(layer, row, "y", self.y)
        return None if x is None or y is None else (x, y)

    def _draw_layer(self, layer: _Layer) -> None:
        kind = layer.kind
        if kind in ("line", "area"):
            self._draw_lines(layer)
        elif kind in ("point", "circle", "square"):
            self._draw_points(layer, layer.mark)
        elif kind == "bar":
            self._draw_bars(layer)
        elif kind == "rule":
            self._draw_rules(layer)
        elif kind == "text":
            self._draw_words(layer)
        else:
            raise unknown("mark", kind)

    def _runs(self, layer: _Layer) -> list[list[Row]]:
        """Rows of one line or area each, told apart by colour, dash and detail, in order of x."""
        names = []
        for channel in ("color", "stroke", "fill", "strokeDash", "shape", "opacity", "detail"):
            how = layer.encoding.get(channel, ())
            for part in how if isinstance(how, list | tuple) else (how,):
                if "field" in part:
                    names.append(part["field"])
        runs: dict[tuple[Any, ...], list[Row]] = {}
        for row in layer.rows:
            runs.setdefault(tuple(row.get(n) for n in names), []).append(row)
        for run in runs.values():
            run.sort(key=lambda row: self._place(layer, row, "x", self.x) or 0.0)
        return list(runs.values())

    def _draw_lines(self, layer: _Layer) -> None:
        drawn: dict[_Pen, list[str]] = {}
        area = layer.kind == "area"
        if area and "y2" not in layer.encoding and not (self.y and self.y.kind == "quantitative"):
            raise unknown("area over", "a discrete axis")
        for run in self._runs(layer):
            pen = self._pen(layer, run[0])
            piece: list[tuple[float, float]] = []
            back: list[tuple[float, float]] = []
            for row in [*run, None]:
                at = None if row is None else self._points_of(layer, row)
                under = at
                if area and row is not None and at is not None:
                    low = (
                        self._place(layer, row, "y2", self.y)
                        if "y2" in layer.encoding
                        else self._zero(self.y)
                    )
                    under = None if low is None else (at[0], low)
                if at is not None and under is not None:
                    piece.append(at)
                    back.append(under)
                    continue
                if len(piece) > 1:
                    line = thinned(piece) + (thinned(back)[::-1] if area else [])
                    drawn.setdefault(pen, []).append(path(line, close=area))
                piece, back = [], []
        for pen, paths in drawn.items():
            self._add(pen, paths)
        points = layer.mark.get("point")
        if isinstance(points, str):
            raise unknown("points of a line", points)
        if points:
            own = points if isinstance(points, Mapping) else {}
            mark = {"type": "point", "filled": True, "opacity": 1, "size": 30, **own}
            mark.setdefault("color", layer.mark.get("color", _DEFAULT_COLOUR))
            self._draw_points(_Layer(mark, layer.encoding, layer.rows), mark)

    def _draw_points(self, layer: _Layer, mark: Mapping[str, Any]) -> None:
        if "field" in layer.encoding.get("size", ()):
            raise unknown("field of sizes", layer.encoding["size"]["field"])
        drawn: dict[tuple[_Pen, str, float], dict[tuple[int, int], tuple[int, int]]] = {}
        own_shape = mark.get("shape", "square" if layer.kind == "square" else "circle")
        for row in layer.rows:
            at = self._points_of(layer, row)
            if at is None or not self._within(at[0]):
                continue
            shape = self._constant(layer, "shape", row, own_shape)
            size = float(self._constant(layer, "size", row, mark.get("size", 30))) * _FINE**2
            x, y = tenths(at[0]), tenths(at[1])
            places = drawn.setdefault((self._pen(layer, row), shape, size), {})
            places.setdefault((x // 3, y // 3), (x, y))  # marks upon marks aren't seen
        for (pen, shape, size), places in drawn.items():
            if shape == "circle" and pen.fill and not pen.stroke:
                dot = _Pen(stroke=pen.fill, width=math.sqrt(size), round=True, opacity=pen.opacity)
                self._add(dot, (f"M{pair(x, y)}h0" for x, y in places.values()))
                continue
            dx, dy, rest = symbol(shape, size)
            self._add(pen, (f"M{pair(x + dx, y + dy)}{rest}" for x, y in places.values()))

    def _within(self, x: float) -> bool:
        """Not left or right of the axes: there's no room in the picture there."""
        return self.x is None or self.x.start - 1 <= x <= self.x.end + 1

    @staticmethod
    def _zero(scale: Scale | None) -> float:
        """Where bars stand: at zero, or the end of the axis nearest to it."""
        if scale is None or scale.kind != "quantitative":
            raise unknown("bars over", scale and scale.kind)
        return scale.place(min(max(0.0, scale.domain[0]), scale.domain[1]))

    def _draw_bars(self, layer: _Layer) -> None:
        if self.x is None or self.x.kind == "quantitative":
            raise unknown("bars along", "x")
        thick = self.x.band
        if self.x.kind == "temporal":
            share = (self.x.end - self.x.start) / _DRAWN_WIDTH
            thick = max(float(layer.mark.get("width", 5)) * share, 1.5)
        drawn: dict[_Pen, list[str]] = {}
        for row in layer.rows:
            at = self._points_of(layer, row)
            if at is None:
                continue
            foot = self._zero(self.y)
            if "y2" in layer.encoding:
                other = self._place(layer, row, "y2", self.y)
                foot = foot if other is None else other
            x, wide = tenths(at[0] - thick / 2), tenths(thick)
            top, low = tenths(at[1]), tenths(foot)
            up = number(top - low)
            way = f"v{up}h{number(wide)}v{number(low - top)}z"
            drawn.setdefault(self._pen(layer, row), []).append(f"M{pair(x, low)}{way}")
        for pen, paths in drawn.items():
            self._add(pen, paths)

    def _draw_rules(self, layer: _Layer) -> None:
        drawn: dict[_Pen, dict[str, None]] = {}
        for row in layer.rows:
            x, y = self._place(layer, row, "x", self.x), self._place(layer, row, "y", self.y)
            x2, y2 = self._place(layer, row, "x2", self.x), self._place(layer, row, "y2", self.y)
            if x is not None and not self._within(x):
                continue
            if x is not None and y is not None and x2 is not None:
                ends = (x, y, x2, y)
            elif x is not None and y is not None and y2 is not None:
                ends = (x, y, x, y2)
            elif x is not None and "y" not in layer.encoding:
                ends = (x, self.top, x, self.top + self.high)
            elif y is not None and "x" not in layer.encoding:
                ends = (self.left, y, self.right, y)
            else:
                continue
            x, y, x2, y2 = ends
            end = f"H{coordinate(x2)}" if y == y2 else f"V{coordinate(y2)}"
            path = f"M{pair(tenths(x), tenths(y))}{end}"
            drawn.setdefault(self._pen(layer, row), {})[path] = None
        for pen, paths in drawn.items():
            self._add(pen, paths)

    def _words_of(self, layer: _Layer) -> list[tuple[float, float, str, str]]:
        """Place, words and colour of each text of a layer."""
        how = layer.encoding["text"]
        if layer.mark.get("align") not in (None, "left", "center", "right") or "format" in how:
            raise unknown("text", how)
        found = []
        for row in layer.rows:
            at = self._points_of(layer, row)
            words = how.get("value") if "value" in how else row.get(how["field"])
            if at is not None and words is not None:
                x = at[0] + float(layer.mark.get("dx", 0))
                y = at[1] + float(layer.mark.get("dy", 0))
                found.append((x, y, str(words), self._pen(layer, row).fill))
        return found

    def _draw_words(self, layer: _Layer) -> None:
        align = layer.mark.get("align", "center")
        anchor = {"left": "", "center": "middle", "right": "end"}[align]
        before: list[tuple[float, float]] = []
        for x, y, words, colour in sorted(self._words_of(layer), key=lambda w: w[1]):
            # words at one place would lie upon each other: those below move down
            near = [b for a, b in before if abs(a - x) < text_width(words, _FONT)]
            y = max([y, *(b + _FONT for b in near if b + _FONT > y)])
            before.append((x, y))
            paint, opacity = self._paint(colour)
            faint = f' fill-opacity="{opacity:g}"' if opacity < 1 else ""
            self._text(x, y + 4, words, anchor, f' fill="{paint}"{faint}')

    def _text(self, x: float, y: float, words: str, anchor: str = "", more: str = "") -> None:
        where = f' text-anchor="{anchor}"' if anchor else ""
        self.out.append(
            f'<text x="{coordinate(x)}" y="{coordinate(y)}"{where}{more}>{escape(words)}</text>'
        )

    # axes and legends

    def _axis_title(self, channel: str) -> str:
        """The titles the layers give; where none gives one, the first field's name."""
        found = [how for _, how in self._of(channel)]
        given = [how["title"] for how in found if "title" in how]
        given += [
            how["axis"]["title"]
            for how in found
            if isinstance(how.get("axis"), Mapping) and "title" in how["axis"]
        ]
        if given:
            return ", ".join(dict.fromkeys(str(t) for t in given if t))
        return str(found[0]["field"]) if found else ""

    def _labels(self, channel: str, scale: Scale) -> list[tuple[float, str]]:
        """Place and words of each tick of an axis."""
        values = self._option(channel, "axis", "values")
        pattern = self._option(channel, "axis", "format")
        if scale.kind == "discrete":
            shown = scale.domain if values is None else values
            labels = [(scale.at(v) or 0.0, str(v)) for v in shown]
        elif scale.kind == "temporal":
            if values is None:
                count = self._option(channel, "axis", "tickCount", 10)
                days = day_ticks(scale.domain[0], scale.domain[1], count)
            else:
                days = [day_number(v) for v in values]
            pattern = pattern or "%-d %b"
            labels = [(scale.place(d), self._day_words(d, pattern)) for d in days]
        else:
            low, high = scale.domain
            if values is None:
                room = self.height if channel == "y" else _DRAWN_WIDTH
                count = self._option(channel, "axis", "tickCount", math.ceil(room / 40))
                numbers, step = round_ticks(low, high, float(count))
            else:
                numbers = [float(v) for v in values]
                step = min((abs(b - a) for a, b in _pairs(numbers)), default=1.0) or 1.0
            words = self._number_labels(channel, numbers, step, pattern)
            labels = [(scale.place(v), w) for v, w in zip(numbers, words, strict=True)]
        low, high = sorted((scale.start, scale.end))
        return [(at, words) for at, words in labels if low - 0.5 <= at <= high + 0.5]

    def _number_labels(
        self, channel: str, numbers: list[float], step: float, pattern: str | None
    ) -> list[str]:
        expression = self._option(channel, "axis", "labelExpr")
        if expression is not None:
            table = re.fullmatch(r"(\{.*\})\[datum\.value\]", expression, re.DOTALL)
            if table is None:
                raise unknown("expression of labels", expression)
            words = json.loads(table[1])
            return [str(words.get(f"{v:g}", "")) for v in numbers]
        if pattern is None:
            return [number_words(v, step).translate(self.signs) for v in numbers]
        digits = re.fullmatch(r",?\.(\d)f", pattern)
        if digits is None:
            raise unknown("format of numbers", pattern)
        return [number_words(v, 10.0 ** -int(digits[1])).translate(self.signs) for v in numbers]

    def _day_words(self, ordinal: float, pattern: str) -> str:
        day = dt.date.fromordinal(int(ordinal))
        parts = {
            "%-d": str(day.day),
            "%d": f"{day.day:02}",
            "%b": self.months[day.month - 1],
            "%m": f"{day.month:02}",
            "%Y": str(day.year),
            "%%": "%",
        }

        def word(match: re.Match[str]) -> str:
            if match[0] not in parts:
                raise unknown("format of days", pattern)
            return parts[match[0]]

        return re.sub(r"%-?.", word, pattern)

    def _legend(self) -> list[tuple[str, list[tuple[str, _Pen, str, float]]]]:
        """Each legend: its title and its entries as words, pen, shape ("" for a line) and size."""
        found: dict[str, tuple[str, list[tuple[str, _Pen, str, float]]]] = {}
        for layer in self.layers:
            for channel in ("color", "stroke", "fill", "strokeDash", "shape"):
                how = layer.encoding.get(channel, {})
                if "field" not in how or how.get("legend", 0) is None or how["field"] in found:
                    continue
                name = how["field"]
                domain = (how.get("scale") or {}).get("domain")
                if not domain:
                    raise unknown("scale without domain and range, field", name)
                legend = how.get("legend") or {}
                line = layer.kind in ("line", "rule") or legend.get("symbolType") == "stroke"
                size = float(layer.mark.get("size", 30)) * _FINE**2
                entries = []
                for value in domain:
                    row = {name: value}
                    pen = self._pen(layer, row)
                    shape = "" if line else self._constant(layer, "shape", row, "circle")
                    if line and not pen.stroke:
                        pen = _Pen(stroke=pen.fill, width=1.6)
                    entries.append((str(value), pen, shape, size))
                title = how["title"] if "title" in how else legend.get("title", name)
                found[name] = (str(title or ""), entries)
        return list(found.values())

    def _draw_legends(self, top: float) -> float:
        """Draw the legends as lines of words; give the place beneath them."""
        for title, entries in self._legend():
            x, y = 2.0, top + 12
            if title:
                self._text(x, y, title, "", f' fill-opacity="{_SOFT_OPACITY}"')
                x += text_width(title, _FONT) + 8
            for words, pen, shape, size in entries:
                sample = 24.0 if not shape else 12.0
                wide = sample + 5 + text_width(words, _FONT)
                if x + wide > self.width and x > 2:
                    x, y = 2.0, y + _LINE
                if shape:
                    dx, dy, rest = symbol(shape, size)
                    at = pair(tenths(x + 6) + dx, tenths(y - 4) + dy)
                    self._add(pen, [f"M{at}{rest}"])
                else:
                    self._add(pen, [f"M{pair(tenths(x), tenths(y - 4))}h{coordinate(sample)}"])
                self._text(x + sample + 5, y, words)
                x += wide + 14
            top = y + 8
        return top

    def draw(self) -> str:
        """The whole picture."""
        x, y = self.x, self.y
        if x is None:
            raise unknown("chart without", "x")
        top = self._draw_legends(0.0)
        title_y, title_x = self._axis_title("y") if y else "", self._axis_title("x")
        discrete_y = y is not None and y.kind == "discrete"
        if title_y:
            self._text(2, top + 12, title_y, "", f' fill-opacity="{_SOFT_OPACITY}"')
            top += _LINE
        self.top = top + (8 if not discrete_y else 2)
        if y is not None:
            if discrete_y:
                y.span(self.top, self.top + self.high)
            else:
                y.span(self.top + self.high, self.top)
        labels_y = self._labels("y", y) if y else []
        widest = max((text_width(words, _FONT) for _, words in labels_y), default=0.0)
        self.left = 10.0 if discrete_y else max(widest + 9, 14.0)
        self.right = self.width - 10
        x.span(self.left, self.right)
        over = [
            at + text_width(words, _FONT) - (self.width - 1)
            for layer in self.layers
            if layer.kind == "text"
            for at, _, words, _ in self._words_of(layer)
        ]
        if over and max(over) > 0:
            self.right -= max(over)
            x.span(self.left, self.right)
        labels_x = self._labels("x", x)
        bottom = self.top + self.high
        self._draw_axes(labels_x, labels_y, bottom, discrete_y)
        for layer in self.layers:
            self._draw_layer(layer)
        whole = bottom + 21
        if title_x:
            self._text(self.right, bottom + 34, title_x, "end", f' fill-opacity="{_SOFT_OPACITY}"')
            whole += 18
        frame = f"0 0 {coordinate(self.width)} {coordinate(whole)}"
        return (
            f'<svg class="sketch" viewBox="{frame}" role="img" '
            f'aria-label="{escape(self.title)}" font-size="{_FONT}" fill="currentColor">'
            f"{''.join(self.out)}</svg>"
        )

    def _draw_axes(
        self,
        labels_x: list[tuple[float, str]],
        labels_y: list[tuple[float, str]],
        bottom: float,
        discrete_y: bool,
    ) -> None:
        x, y = self.x, self.y
        grid, ticks = [], []
        if x is not None and self._option("x", "axis", "grid", x.kind != "discrete"):
            grid += [
                f"M{coordinate(at)} {coordinate(self.top)}V{coordinate(bottom)}"
                for at, _ in labels_x
            ]
        if y is not None and self._option("y", "axis", "grid", not discrete_y):
            grid += [
                f"M{coordinate(self.left)} {coordinate(at)}H{coordinate(self.right)}"
                for at, _ in labels_y
            ]
        self._add(_Pen(stroke=self.ink, stroke_opacity=0.14, width=0.8), grid)
        ticks = [f"M{coordinate(self.left)} {coordinate(bottom)}H{coordinate(self.right)}"]
        ticks += [f"M{coordinate(at)} {coordinate(bottom)}v4" for at, _ in labels_x]
        if y is not None and not discrete_y:
            ticks.append(f"M{coordinate(self.left)} {coordinate(self.top)}V{coordinate(bottom)}")
            ticks += [f"M{coordinate(self.left)} {coordinate(at)}h-4" for at, _ in labels_y]
        self._add(_Pen(stroke=self.soft, width=1), ticks)
        self.out.append(f'<g fill-opacity="{_SOFT_OPACITY}" text-anchor="middle">')
        gap = float(self._option("x", "axis", "labelSeparation", 0) or 0) / 2 + 3
        for at, words in _apart(labels_x, lambda words: text_width(words, _FONT) + gap):
            self._text(at, bottom + 16, words)
        self.out.append("</g>")
        if discrete_y:  # words as long as these stand above their marks, which leaves more room
            lift = self.high / max(len(labels_y), 1) / 2 - 11
            for at, words in labels_y:
                self._text(self.left, at - lift, words)
        elif labels_y:
            self.out.append(f'<g fill-opacity="{_SOFT_OPACITY}" text-anchor="end">')
            for at, words in _apart(labels_y, lambda _: _FONT - 0.5):
                self._text(self.left - 6, at + 4, words)
            self.out.append("</g>")


def _apart(
    labels: list[tuple[float, str]], room: Callable[[str], float]
) -> list[tuple[float, str]]:
    """Every label, or every second, fourth and so on, until none touches the next."""
    while len(labels) > 1 and any(
        abs(b[0] - a[0]) < (room(a[1]) + room(b[1])) / 2 for a, b in _pairs(labels)
    ):
        labels = labels[::2]
    return labels


def _pairs(items: Sequence[Any]) -> Iterable[tuple[Any, Any]]:
    return pairwise(items)


def _sorted(values: Iterable[Any]) -> list[Any]:
    known = [v for v in values if v is not None]
    return sorted(known, key=lambda v: (isinstance(v, str), v))
