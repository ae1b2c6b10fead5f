"""
A chart's specification as exact SVG, for the page: strict, so that no picture is wrong in silence.

It reads the one form of Vega-Lite that `gripbook.charts` writes: flat layers of rules, lines,
areas, points and words, each positional scale with its domain and its range in pixels, every size
and colour in the rows, no axes and no legends of the library's making. Tests hold words and marks
to where Vega itself puts them. Whatever else a specification says is refused by name.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import Any

from gripbook.charts.look import PALETTE
from gripbook.errors import GripbookError
from gripbook.html import Fragment, escape

Row = Mapping[str, Any]

#: What must stand in a specification word for word, since another value would draw another picture.
_FIXED = {
    "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
    "padding": 0,
    "autosize": {"type": "none"},
    "resolve": {"scale": {"x": "independent", "y": "independent"}},
}
_PARTS = {*_FIXED, "description", "width", "height", "config", "layer"}
_COLOURS = {colour: f"var(--{name})" for name, colour in PALETTE.items()}
#: Corners of Vega's symbols in units of half their width, y down.
_CORNERS = {
    "square": ((-1, -1), (1, -1), (1, 1), (-1, 1)),
    "diamond": ((-1, 0), (0, -1), (1, 0), (0, 1)),
    "triangle-up": ((0, -math.sqrt(0.75)), (-1, math.sqrt(0.75)), (1, math.sqrt(0.75))),
}
_CROSS = "M-1,-1L1,1M-1,1L1,-1"
_ANCHORS = {"left": "", "center": ' text-anchor="middle"', "right": ' text-anchor="end"'}


class PictureError(GripbookError):
    """A chart can't be drawn as a picture; the message names the part that is not known."""


@dataclass(frozen=True)
class Drawing:
    """
    A picture and what its marks say.

    `svg` is one `<svg>` element without ids; `spots` holds x, y and words of each mark that can be
    asked, in units of the picture.
    """

    svg: Fragment
    spots: tuple[tuple[float, float, str], ...]


def draw(spec: Mapping[str, Any], *, kind: str = "") -> Drawing:
    """
    Draw a chart.

    Parameters
    ----------
    spec : Vega-Lite specification, as the charts' `Picture` holds it.
    kind : class of the element, by which the page's style shows and hides it.

    Returns
    -------
    The picture as wide and as high as the specification says. Colours are names of the page's
    variables, so that dark mode and print are the style's.

    Raises
    ------
    PictureError : a part, mark, channel, symbol or colour that is not known here.
    """
    _known("chart", spec, _PARTS, _PARTS)
    for part, value in _FIXED.items():
        if spec[part] != value:
            raise PictureError(f"{part} of a chart: {spec[part]!r} is not {value!r}.")
    _known("config", spec["config"], {"view", "font"}, {"view"})
    if spec["config"]["view"] != {"stroke": None}:
        raise PictureError(f"config.view of a chart: {spec['config']['view']!r} draws a frame.")
    spots: list[tuple[float, float, str]] = []
    parts = [_layer(layer, spots) for layer in spec["layer"]]
    size = f'viewBox="0 0 {_n(spec["width"])} {_n(spec["height"])}"'
    name = escape(spec["description"])
    css = f' class="{escape(kind)}"' if kind else ""
    # words take the ink where a row says nothing else, shapes always say theirs
    head = f'<svg{css} {size} role="img" aria-label="{name}" font-size="13" fill="var(--ink)">'
    return Drawing(Fragment(f"{head}{''.join(parts)}</svg>"), tuple(spots))


# --- reading ----------------------------------------------------------------------------------


def _known(where: str, part: Any, allowed: set[str], needed: set[str]) -> None:
    if not isinstance(part, Mapping):
        raise PictureError(f"{where}: {part!r} is not a set of options.")
    for key in part:
        if key not in allowed:
            raise PictureError(f"{where}: {key!r} is not known; known are {sorted(allowed)}.")
    for key in sorted(needed):
        if key not in part:
            raise PictureError(f"{where}: {key!r} is missing.")


def _layer(layer: Mapping[str, Any], spots: list[tuple[float, float, str]]) -> str:
    keys = {"data", "mark", "encoding"}
    _known("layer", layer, keys, keys)
    _known("data", layer["data"], {"values"}, {"values"})
    mark, encoding, rows = layer["mark"], layer["encoding"], layer["data"]["values"]
    kind = mark.get("type") if isinstance(mark, Mapping) else mark
    if kind not in _MARKS:
        raise PictureError(f"mark: {kind!r} is not known; known are {sorted(_MARKS)}.")
    form = _MARKS[kind]
    _known(f"{kind} mark", mark, {*form.options, *form.more}, {*form.options})
    for key, value in form.options.items():
        if value is not None and mark[key] != value:
            raise PictureError(f"{kind} mark: {key} {mark[key]!r} is not {value!r}.")
    _known(f"{kind} encoding", encoding, {*form.needed, *form.maybe}, {*form.needed})
    read = {channel: _reader(channel, encoding) for channel in encoding}
    items = [{name: get(row) for name, get in read.items()} for row in rows]
    spots += [(i["x"], i["y"], i["tooltip"]) for i in items if i.get("tooltip")]
    return form.draw(mark, items, rows)


def _reader(channel: str, encoding: Mapping[str, Any]) -> Callable[[Row], Any]:
    """What gives a row's value in a channel: a place in pixels, a colour, a size or words."""
    where = f"channel {channel}"
    part = encoding[channel]
    if channel in ("x2", "y2"):
        _known(where, part, {"field"}, {"field"})
        return _place(where, {**encoding[channel[0]], "field": part["field"]})
    if channel in ("x", "y"):
        _known(where, part, {"field", "type", "scale", "axis"}, {"field", "type", "scale", "axis"})
        if part["axis"] is not None:
            raise PictureError(f"{where}: an axis is not known, axes are rules and words.")
        return _place(where, part)
    keys = {"field", "type"} | ({"scale"} if channel in _UNSCALED else set())
    _known(where, part, keys, keys)
    if part.get("scale") is not None:
        raise PictureError(f"{where}: a scale is not known; rows hold what is drawn.")
    field = part["field"]
    if channel in ("fill", "stroke"):
        return lambda row: _colour(where, row[field])
    return lambda row: row[field]


_UNSCALED = {"fill", "stroke", "strokeWidth", "opacity", "size", "shape"}


def _place(where: str, part: Mapping[str, Any]) -> Callable[[Row], float]:
    """What turns a row into pixels."""
    field, scale = part["field"], part["scale"]
    if part["type"] not in ("quantitative", "temporal"):
        raise PictureError(f"{where}: type {part['type']!r} is not known.")
    if scale is None:
        return lambda row: float(row[field])
    keys = {"domain", "range"}
    days = part["type"] == "temporal"
    _known(f"{where} scale", scale, keys | {"type", "zero", "nice"}, keys)
    if scale.get("type", "linear") != ("utc" if days else "linear"):
        raise PictureError(f"{where} scale: type {scale.get('type')!r} is not known.")
    if scale.get("zero") or scale.get("nice"):
        raise PictureError(f"{where} scale: zero and nice would move its ends.")
    (low, high), (first, last) = scale["domain"], scale["range"]
    factor = (last - first) / (high - low)
    value = milliseconds if days else float
    return lambda row: first + (value(row[field]) - low) * factor


def milliseconds(day: str | float) -> float:
    """An ISO day as milliseconds since 1970, as charts count days; a number is taken as such."""
    if isinstance(day, str):
        moment = dt.datetime.fromisoformat(day).replace(tzinfo=dt.UTC)
        return moment.timestamp() * 1000
    return float(day)


def _colour(where: str, colour: Any) -> str:
    if colour is None:
        return "none"
    if colour not in _COLOURS:
        raise PictureError(f"{where}: colour {colour!r} stands in no palette.")
    return _COLOURS[colour]


# --- drawing ----------------------------------------------------------------------------------


def _n(value: float) -> str:
    """A number with at most one decimal, as short as it goes."""
    text = f"{value:.1f}"
    text = text.removesuffix(".0")
    return "0" if text == "-0" else text


def _grouped(items: Iterable[tuple[str, str]]) -> str:
    """Elements, those in a row with the same attributes written under one group."""
    out = []
    for attributes, group in groupby(items, key=lambda item: item[0]):
        elements = [element for _, element in group]
        out.append(f"<g{attributes}>{''.join(elements)}</g>")
    return "".join(out)


def _rules(mark: Row, items: Sequence[Row], _: Sequence[Row]) -> str:
    """Straight lines, one path for those of a pen."""
    dash = _dash(mark)
    out = []
    for (colour, width), group in groupby(items, key=lambda i: (i["stroke"], i["strokeWidth"])):
        steps = []
        for item in group:
            x, y = _n(item["x"]), _n(item["y"])
            x2, y2 = _n(item.get("x2", item["x"])), _n(item.get("y2", item["y"]))
            end = f"H{x2}" if y == y2 else f"V{y2}" if x == x2 else f"L{x2} {y2}"
            steps.append(f"M{x} {y}{end}")
        width = f"{width:.2f}".rstrip("0").rstrip(".")
        out.append(f'<path stroke="{colour}" stroke-width="{width}"{dash} d="{"".join(steps)}"/>')
    return "".join(out)


def _dash(mark: Row) -> str:
    """How a line is broken and how its ends are cut."""
    out = ""
    if "strokeDash" in mark:
        out += f' stroke-dasharray="{" ".join(map(_n, mark["strokeDash"]))}"'
    if "strokeCap" in mark:
        if mark["strokeCap"] not in ("butt", "round"):
            raise PictureError(f"strokeCap {mark['strokeCap']!r} is not known.")
        out += f' stroke-linecap="{mark["strokeCap"]}"'
    return out


def _pieces(items: Sequence[Row]) -> list[list[Row]]:
    """Rows of each piece of a line or area; Vega draws them by x, so they must stand so."""
    pieces: dict[Any, list[Row]] = {}
    for item in items:
        pieces.setdefault(item["detail"], []).append(item)
    for piece in pieces.values():
        if any(a["x"] > b["x"] for a, b in pairwise(piece)):
            raise PictureError(f"piece {piece[0]['detail']!r}: its rows are not in order of x.")
    return list(pieces.values())


def _steps(points: Iterable[tuple[float, float]]) -> str:
    return "L".join(f"{_n(x)} {_n(y)}" for x, y in points)


def _lines(mark: Row, items: Sequence[Row], _: Sequence[Row]) -> str:
    pen = f'fill="none" stroke-width="{mark["strokeWidth"]}"{_dash(mark)}'
    return "".join(
        f'<path {pen} stroke="{piece[0]["stroke"]}" '
        f'd="M{_steps((i["x"], i["y"]) for i in piece)}"/>'
        for piece in _pieces(items)
    )


def _areas(_: Row, items: Sequence[Row], __: Sequence[Row]) -> str:
    out = []
    for piece in _pieces(items):
        upper = [(i["x"], i["y"]) for i in piece]
        lower = [(i["x"], i["y2"]) for i in reversed(piece)]
        out.append(f'<path fill="{piece[0]["fill"]}" d="M{_steps([*upper, *lower])}z"/>')
    return "".join(out)


def _points(_: Row, items: Sequence[Row], __: Sequence[Row]) -> str:
    return _grouped((_pen(item), _symbol(item)) for item in items)


def _pen(item: Row) -> str:
    soft = f' opacity="{item["opacity"]:g}"' if item["opacity"] != 1 else ""
    edge = ""
    if item["stroke"] != "none":
        edge = f' stroke="{item["stroke"]}" stroke-width="{item["strokeWidth"]:g}"'
    return f' fill="{item["fill"]}"{edge}{soft}'


def _symbol(item: Row) -> str:
    shape, x, y, half = item["shape"], item["x"], item["y"], math.sqrt(item["size"]) / 2
    if shape == "circle":
        return f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(half)}"/>'
    if shape == _CROSS:
        a, b, c, d = (_n(v) for v in (x - half, x + half, y - half, y + half))
        return f'<path d="M{a} {c}L{b} {d}M{a} {d}L{b} {c}"/>'
    if shape not in _CORNERS:
        raise PictureError(f"shape {shape!r} is not known; known are circle, {sorted(_CORNERS)}.")
    corners = [(x + half * dx, y + half * dy) for dx, dy in _CORNERS[shape]]
    return f'<path d="M{_steps(corners)}z"/>'


def _texts(_: Row, items: Sequence[Row], rows: Sequence[Row]) -> str:
    return _grouped(
        (
            _type(item, row),
            f'<text x="{_n(item["x"])}" y="{_n(item["y"])}"{_anchor(row)}>'
            f"{escape(item['text'])}</text>",
        )
        for item, row in zip(items, rows, strict=True)
        if item["text"]
    )


def _anchor(row: Row) -> str:
    if row["align"] not in _ANCHORS:
        raise PictureError(f"align {row['align']!r} is not known; known are {sorted(_ANCHORS)}.")
    return _ANCHORS[row["align"]]


def _type(item: Row, row: Row) -> str:
    """Size, weight, slope and colour of words, as far as they differ from the picture's."""
    out = f' font-size="{row["size"]:g}"' if row["size"] != 13 else ""
    out += f' font-weight="{row["weight"]:d}"' if row["weight"] != 400 else ""
    if row["style"] not in ("normal", "italic"):
        raise PictureError(f"style {row['style']!r} of words is not known.")
    out += ' font-style="italic"' if row["style"] == "italic" else ""
    out += f' fill="{item["fill"]}"' if item["fill"] != "var(--ink)" else ""
    if row["halo"]:
        out += (
            ' paint-order="stroke" stroke="var(--paper)" stroke-width="4" stroke-linejoin="round"'
        )
    return out


@dataclass(frozen=True)
class _Form:
    """A mark's known form: options with their fixed value (None: any), channels, what draws it."""

    draw: Callable[[Row, Sequence[Row], Sequence[Row]], str]
    options: Mapping[str, Any]
    needed: Sequence[str]
    maybe: Sequence[str] = ()
    more: Sequence[str] = ()


_BY_ROW = {
    option: {"expr": f"datum.{field}"}
    for option, field in (
        ("align", "align"),
        ("fontSize", "size"),
        ("fontWeight", "weight"),
        ("fontStyle", "style"),
    )
}
_MARKS = {
    "rule": _Form(
        _rules,
        {"type": "rule", "opacity": 1},
        ("x", "y", "stroke", "strokeWidth"),
        ("x2", "y2", "tooltip"),
        ("strokeDash", "strokeCap"),
    ),
    "line": _Form(
        _lines,
        {"type": "line", "opacity": 1, "strokeWidth": None, "strokeCap": None},
        ("x", "y", "stroke", "detail"),
        more=("strokeDash",),
    ),
    "area": _Form(_areas, {"type": "area", "opacity": 1}, ("x", "y", "y2", "fill", "detail")),
    "point": _Form(
        _points,
        {"type": "point"},
        ("x", "y", "shape", "size", "fill", "stroke", "strokeWidth", "opacity"),
        ("tooltip",),
    ),
    "text": _Form(
        _texts,
        {"type": "text", "baseline": "alphabetic", **_BY_ROW},
        ("x", "y", "text", "fill"),
    ),
}
