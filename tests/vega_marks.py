"""Where the marks of an SVG stand: of Vega's own drawing and of ours, in one form to compare."""

from __future__ import annotations

import json
import math
import re
from typing import Any
from xml.etree import ElementTree

from gripbook.charts.look import PALETTE

_NAMES = {colour: name for name, colour in PALETTE.items()}
Mark = tuple[str, list[float]]


def vega_svg(spec: dict[str, Any]) -> str:
    """What Vega draws of a specification (vl-convert, without a window)."""
    import vl_convert

    return str(vl_convert.vegalite_to_svg(json.dumps(spec), vl_version="6.4"))


def places(svg: str) -> list[Mark]:
    """
    Marks in the order they are painted: what they are and how painted, and their figures.

    Lines of one path are parted into single strokes, so that it doesn't matter how many a path has.
    """
    root = ElementTree.fromstring(re.sub(r' xmlns(:\w+)?="[^"]*"', "", svg))
    found: list[Mark] = []
    _walk(root, {"fill": "", "font-size": "13"}, (0.0, 0.0), found)
    return found


_INHERITED = (
    "fill",
    "stroke",
    "stroke-width",
    "font-size",
    "font-weight",
    "font-style",
    "text-anchor",
    "stroke-dasharray",
    "opacity",
    "paint-order",
)


def _walk(
    node: ElementTree.Element, style: dict[str, str], at: tuple[float, float], found: list[Mark]
) -> None:
    if node.attrib.get("class") in ("background", "foreground") or node.tag == "rect":
        return
    style = {**style, **{k: node.attrib[k] for k in _INHERITED if k in node.attrib}}
    if move := re.match(r"translate\(([-\d.e]+),([-\d.e]+)\)", node.attrib.get("transform", "")):
        at = at[0] + float(move[1]), at[1] + float(move[2])
    if node.tag == "text" and node.text:
        x, y = float(node.attrib.get("x", 0)), float(node.attrib.get("y", 0))
        size = float(style["font-size"].removesuffix("px"))
        anchor = {"start": "", "middle": "center", "end": "right"}[
            style.get("text-anchor", "start")
        ]
        kind = (
            f"text {node.text!r} {_colour(style['fill'] or 'ink')} {anchor} "
            f"{style.get('font-weight', '400')} {style.get('font-style', 'normal')}"
        )
        found.append((kind, [x + at[0], y + at[1], size]))
    elif node.tag == "line":
        ends = [at[0], at[1], at[0] + float(node.attrib["x2"]), at[1] + float(node.attrib["y2"])]
        found.append((_pen("stroke", style), [*ends, float(style["stroke-width"])]))
    elif node.tag == "circle":
        r = float(node.attrib["r"])
        x, y = float(node.attrib["cx"]), float(node.attrib["cy"])
        found.append((_pen("symbol", style), [x - r, y - r, x + r, y + r]))
    elif node.tag == "path" and node.attrib.get("d"):
        _path(node.attrib["d"], style, at, found)
    for child in node:
        _walk(child, style, at, found)


def _path(d: str, style: dict[str, str], at: tuple[float, float], found: list[Mark]) -> None:
    pieces: list[list[tuple[float, float]]] = []
    x = y = 0.0
    closed = "z" in d.lower()
    for command, numbers in re.findall(r"([A-Za-z])([^A-Za-z]*)", d):
        n = [float(v) for v in re.findall(r"-?[\d.]+(?:e-?\d+)?", numbers)]
        if command == "M":
            pieces.append([])
        relative = command.islower()
        if command in "MLml":
            for a, b in zip(n[::2], n[1::2], strict=True):
                x, y = (x + a, y + b) if relative else (a, b)
                pieces[-1].append((x, y))
        elif command in "Hh":
            x = x + n[0] if relative else n[0]
            pieces[-1].append((x, y))
        elif command in "Vv":
            y = y + n[0] if relative else n[0]
            pieces[-1].append((x, y))
        elif command == "A":  # a circle: all its points lie within its radius
            pieces[-1] += [(-n[0], -n[0]), (n[0], n[0])]
    shifted = [[(a + at[0], b + at[1]) for a, b in piece] for piece in pieces]
    if closed or "A" in d:
        points = [p for piece in shifted for p in piece]
        if len(points) > 4 and "A" not in d:
            found.append((_pen("area", style), [v for p in points for v in p]))
            return
        found.append((_pen("symbol", style), _bounds(points)))
    elif len(shifted) == 2 and _bounds(shifted[0]) == _bounds(shifted[1]):  # a cross
        found.append((_pen("symbol", style), _bounds(shifted[0])))
    elif all(len(piece) == 2 for piece in shifted) and "stroke" in style:
        width = float(style["stroke-width"])
        for (x1, y1), (x2, y2) in shifted:
            found.append((_pen("stroke", style), [x1, y1, x2, y2, width]))
    else:
        found += [(_pen("line", style), [v for p in piece for v in p]) for piece in shifted]


def _bounds(points: list[tuple[float, float]]) -> list[float]:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return [min(xs), min(ys), max(xs), max(ys)]


def _pen(kind: str, style: dict[str, str]) -> str:
    stroke = _colour(style.get("stroke", "none"))
    dash = style.get("stroke-dasharray", "").replace(",", " ")
    opacity = float(style.get("opacity", 1))
    fill = "" if kind in ("stroke", "line") else _colour(style.get("fill", "none"))
    edge = "" if stroke == "none" or kind == "stroke" else f"{float(style['stroke-width']):g}"
    assert math.isfinite(opacity)
    return f"{kind} {fill} {stroke} {edge} {dash} {opacity:g}"


def _colour(colour: str) -> str:
    """A colour by its name in the palette."""
    if colour.startswith("var("):
        return colour.removeprefix("var(--").removesuffix(")")
    return _NAMES.get(colour, colour)
