"""Lines and symbols of still pictures as SVG paths: short ones, in tenths of a unit."""

from __future__ import annotations

import math
from functools import lru_cache

from gripbook.report.sketch_scales import unknown


@lru_cache(maxsize=20_000)
def number(tenths: int) -> str:
    """Tenths as SVG takes them shortest: -.7, 12, 3.5."""
    sign = "-" if tenths < 0 else ""
    whole, rest = divmod(abs(tenths), 10)
    if not rest:
        return f"{sign}{whole}"
    return f"{sign}{whole or ''}.{rest}"


def pair(x: int, y: int) -> str:
    """Two numbers of tenths, parted by no more than they need."""
    second = number(y)
    return number(x) + (second if second[0] == "-" else f" {second}")


def tenths(value: float) -> int:
    """A length in tenths of a unit."""
    return round(value * 10)


def coordinate(value: float) -> str:
    """A length as SVG takes it, rounded to a tenth."""
    return number(round(value * 10))


def thinned(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Points of a line without those that lie within 0.3 of it. Douglas and Peucker, 1973."""
    if len(points) < 3:
        return points
    keep = {0, len(points) - 1}
    spans = [(0, len(points) - 1)]
    while spans:
        first, last = spans.pop()
        (x1, y1), (x2, y2) = points[first], points[last]
        dx, dy = x2 - x1, y2 - y1
        length = math.hypot(dx, dy) or 1.0
        most, where = 0.0, 0
        for i in range(first + 1, last):
            off = abs(dy * (points[i][0] - x1) - dx * (points[i][1] - y1))
            if off > most:
                most, where = off, i
        if most > 0.3 * length:
            keep.add(where)
            spans += [(first, where), (where, last)]
    return [points[i] for i in sorted(keep)]


def path(points: list[tuple[float, float]], close: bool = False) -> str:
    """A line through points, each after the first told by its distance from the one before."""
    cells = [(tenths(x), tenths(y)) for x, y in points]
    (px, py), *others = cells
    out = [f"M{pair(px, py)}"]
    lead = "l"
    for x, y in others:
        if (x, y) == (px, py):
            continue
        step = pair(x - px, y - py)
        out.append(lead + step if lead or step[0] == "-" else f" {step}")
        lead, px, py = "", x, y
    return "".join(out) + ("z" if close else "")


@lru_cache(maxsize=100)
def symbol(shape: str, size: float) -> tuple[int, int, str]:
    """A symbol as the way from its middle to its first corner, and the rest. As Vega's symbols."""
    r = math.sqrt(size) / 2
    h = r * math.sqrt(3) / 2
    corners = {
        "square": [(-r, -r), (r, -r), (r, r), (-r, r)],
        "diamond": [(-r, 0), (0, -r), (r, 0), (0, r)],
        "triangle-up": [(0, -h), (-r, h), (r, h)],
        "triangle-down": [(0, h), (-r, -h), (r, -h)],
        "triangle-right": [(h, 0), (-h, -r), (-h, r)],
        "triangle-left": [(-h, 0), (h, -r), (h, r)],
    }
    if shape == "circle":
        radius = coordinate(r)
        # nearly the whole way round, which is shorter than two halves
        return tenths(-r), 0, f"a{radius} {radius} 0 1 1 0 .1z"
    if shape == "cross":
        s = r / 2.5
        x = [-r, -s, -s, s, s, r, r, s, s, -s, -s, -r]
        y = [-s, -s, -r, -r, -s, -s, s, s, r, r, s, s]
        found = list(zip(x, y, strict=True))
    elif shape in corners:
        found = corners[shape]
    else:
        raise unknown("shape", shape)
    rest = path(found, close=True)
    start_x, start_y = tenths(found[0][0]), tenths(found[0][1])
    return start_x, start_y, rest[rest.index("l") :]
