"""An athlete's changes in a row of the squad page: three lanes on one scale, as small SVG."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from gripbook.html import Fragment, escape

#: Widths of the pictures on a desk and on a phone, distance of lanes, and where marks may stand.
WIDTHS = {"wide": 392.0, "narrow": 350.0}
_STEP = {"wide": 16.5, "narrow": 18.0}
_MARKS = {"wide": (90.0, 290.0), "narrow": (78.0, 252.0)}
_HALF = 4.2


@dataclass(frozen=True)
class Lane:
    """
    One kind of work of an athlete.

    Attributes
    ----------
    name : its word. shape : `hang`, `repeater` or `pull`. low, middle, high : change in per cent
        with its 90 % range, NaN where there is none. text : the range in figures, or why there is
        none. sure : whether the whole range lies on one side of no change.
    """

    name: str
    shape: str
    low: float
    middle: float
    high: float
    text: str
    sure: bool = False


def lanes(rows: Sequence[Lane], low: float, high: float, told: str) -> Fragment:
    """
    Draw an athlete's lanes at both widths.

    The line of no change runs from edge to edge, so that it goes on through the rows of a table.

    Parameters
    ----------
    low, high : ends of the scale all athletes share, per cent. told : what the picture says, read
        aloud in its place.
    """
    return Fragment("".join(_picture(kind, rows, low, high, told) for kind in WIDTHS))


def scale(low: float, high: float, ticks: Sequence[tuple[float, str]]) -> Fragment:
    """Draw the axis that stands once under the last row, with its ticks' words."""
    out = []
    for kind, width in WIDTHS.items():
        first, last = _place(kind, low, low, high), _place(kind, high, low, high)
        marks = "".join(
            f'<path d="M{_n(_place(kind, value, low, high))} .5v4" stroke="var(--axis)"/>'
            f'<text x="{_n(_place(kind, value, low, high))}" y="18">{escape(text)}</text>'
            for value, text in ticks
        )
        out.append(
            f'<svg class="{kind}" viewBox="0 0 {_n(width)} 22" aria-hidden="true" font-size="12.5" '
            f'fill="var(--ink2)" text-anchor="middle" stroke-width=".75">'
            f'<path d="M{_n(first)} .5H{_n(last)}" stroke="var(--axis)"/>{marks}</svg>'
        )
    return Fragment("".join(out))


def _place(kind: str, value: float, low: float, high: float) -> float:
    left, right = _MARKS[kind]
    return left + (value - low) * (right - left) / (high - low)


def _picture(kind: str, rows: Sequence[Lane], low: float, high: float, told: str) -> str:
    width, step = WIDTHS[kind], _STEP[kind]
    height = step * len(rows) + 3
    zero = _n(_place(kind, 0.0, low, high))
    parts = [f'<path d="M{zero} 0V{_n(height)}" stroke="var(--axis)" stroke-width=".75"/>']
    for i, row in enumerate(rows):
        base = step * i + 14.5
        parts.append(f'<text y="{_n(base)}" fill="var(--ink2)">{escape(row.name)}</text>')
        style = ""
        if math.isfinite(row.low + row.high):
            ends = [_place(kind, v, low, high) for v in (row.low, row.high)]
            middle = _place(kind, row.middle, low, high)
            parts.append(
                f'<path d="M{_n(ends[0])} {_n(base - 4.5)}H{_n(ends[1])}" stroke="var(--tint)" '
                f'stroke-width="7"/>{_mark(row.shape, middle, base - 4.5)}'
            )
            style = ' font-weight="600"' if row.sure else ""
        else:
            style = ' font-style="italic" fill="var(--ink2)"'
        parts.append(
            f'<text x="{_n(width)}" y="{_n(base)}" text-anchor="end"{style}>{escape(row.text)}</text>'
        )
    return (
        f'<svg class="{kind}" viewBox="0 0 {_n(width)} {_n(height)}" role="img" '
        f'aria-label="{escape(told)}" font-size="13" fill="var(--ink)">{"".join(parts)}</svg>'
    )


def _mark(shape: str, x: float, y: float) -> str:
    fill = 'fill="var(--accent)"'
    if shape == "hang":
        return f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(_HALF)}" {fill}/>'
    if shape == "repeater":
        half = 0.88 * _HALF
        corner = f'x="{_n(x - half)}" y="{_n(y - half)}"'
        return f'<rect {corner} width="{_n(2 * half)}" height="{_n(2 * half)}" {fill}/>'
    half = 1.24 * _HALF
    h = _n(half)
    return f'<path d="M{_n(x)} {_n(y - half)}l{h} {h}l-{h} {h}l-{h} -{h}z" {fill}/>'


def _n(value: float) -> str:
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text
