"""One look for every chart: ink, quiet axes, the same colour for the same grip everywhere."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

import altair as alt
import pandas as pd

from gripbook.words import DECIMAL_SIGNS, GROUP_SIGNS, LANGUAGES, fmt, language, mark, say

INK, SOFT, RULE, ACCENT = "#22262e", "#5d6470", "#d8d9d4", "#8c3b2e"
FONT = "'Gripbook Serif', Georgia, 'Times New Roman', serif"  # the first is the page's alone

#: Colours after Okabe and Ito's palette (2008), darkened where it falls below a contrast of 3 to
#: 1 on white; told apart by marks too, so that grey print keeps them apart.
GRIP_COLOURS = {
    "half_crimp": "#0072b2",
    "open_four": "#b8500a",
    "full_crimp": "#00795a",
    "open_three": "#a85a8a",
    "pinch": "#8a6d00",
    "sloper": "#3a87b5",
    "pocket_two": "#4b4b4b",
    "pocket_one": "#7a7a7a",
}
GRIP_SHAPES = {
    "half_crimp": "circle",
    "open_four": "square",
    "full_crimp": "triangle-up",
    "open_three": "diamond",
    "pinch": "cross",
    "sloper": "triangle-down",
    "pocket_two": "triangle-left",
    "pocket_one": "triangle-right",
}
_OTHER_COLOURS = ("#6a4fa0", "#a0522d", "#2f6f6f", "#7a3b69")


def grip_colour(grip: str) -> str:
    """A grip's colour, the same everywhere; a grip of the block file's own gets a fixed one."""
    return GRIP_COLOURS.get(grip) or _OTHER_COLOURS[sum(map(ord, grip)) % len(_OTHER_COLOURS)]


_DASHES = {"both": [1, 0], "left": [1, 0], "right": [6, 4]}


class SeriesMarks:
    """
    Channels that tell series of one chart apart: colour and shape by grip, line by hand.

    Colour and line stand on the field `series` and share one legend, shape on the field `grip`.
    The right hand's line is broken.
    """

    def __init__(self, pairs: Sequence[tuple[str, str]]) -> None:
        own = sorted({g for g, _ in pairs} - set(GRIP_COLOURS))
        grips = [*GRIP_COLOURS, *own]
        found = sorted(set(pairs), key=lambda p: (grips.index(p[0]), list(_DASHES).index(p[1])))
        words = [fmt.series(g, h) for g, h in found]

        def scale(values: list[Any]) -> alt.Scale:
            return alt.Scale(domain=words, range=values)

        common: dict[str, Any] = {"field": "series", "type": "nominal", "title": None}
        legend = alt.Legend(symbolType="stroke", symbolSize=300, symbolStrokeWidth=2)
        self.color = alt.Color(
            **common, scale=scale([grip_colour(g) for g, _ in found]), legend=legend
        )
        # on a field of its own: a shared one would draw the legend's lines as dashed shapes
        shapes = {g: GRIP_SHAPES.get(g, "circle") for g, _ in found}
        self.shape = alt.Shape(
            field="grip",
            type="nominal",
            scale=alt.Scale(domain=list(shapes), range=list(shapes.values())),
            legend=None,
        )
        self.dash = alt.StrokeDash(
            **common, scale=scale([_DASHES[h] for _, h in found]), legend=legend
        )


def finished(
    chart: Any,
    title: str,
    told: str,
    *,
    height: int = 240,
    series: Iterable[tuple[str, str]] = (),
) -> Any:
    """
    A chart with the package's look, filling the page's width.

    Parameters
    ----------
    chart : a single or layered Altair chart.
    title : what it shows, with its unit; the page sets it as the caption.
    told : what the numbers say, in words. Title and told together are read aloud by screen
        readers and stand beneath the chart. Required.
    """
    if not told:
        raise ValueError("A chart needs words told from its numbers.")
    out = chart.properties(
        title=title, width="container", height=height, description=f"{title}. {told}"
    )
    followed = [[g, h, fmt.grip(g), fmt.HAND_WORDS[h], fmt.series(g, h)] for g, h in series]
    if followed:
        out.usermeta = {"series": followed}
    # at once: each `configure_...` would copy the whole chart
    out.config = _LOOK if language() == LANGUAGES[0] else {**_LOOK, "locale": _locale()}
    return out


def _locale() -> dict[str, Any]:
    """The language in use, as Vega-Lite's config has it."""
    code = language()
    short = [say(month) for month in _SHORT_MONTHS]
    days = [say(day) for day in (*fmt.WEEKDAYS[-1:], *fmt.WEEKDAYS[:-1])]  # from Sunday on
    return {
        "number": {
            "decimal": DECIMAL_SIGNS[code],
            "thousands": GROUP_SIGNS[code],
            "grouping": [3],
            "currency": ["", ""],
        },
        "time": {
            "dateTime": "%x %X",
            "date": "%Y-%m-%d",
            "time": "%H:%M:%S",
            "periods": ["AM", "PM"],
            "days": days,
            "shortDays": days,
            "months": short,
            "shortMonths": short,
        },
    }


_SHORT_MONTHS = (
    mark("Jan"),
    mark("Feb"),
    mark("Mar"),
    mark("Apr"),
    mark("May"),
    mark("Jun"),
    mark("Jul"),
    mark("Aug"),
    mark("Sep"),
    mark("Oct"),
    mark("Nov"),
    mark("Dec"),
)


#: The look of all charts, as Vega-Lite's config has it.
_LOOK: dict[str, Any] = {
    "font": FONT,
    "background": "transparent",
    "padding": {"left": 4, "right": 12, "top": 8, "bottom": 4},
    "view": {"stroke": None},
    "axis": {
        "labelColor": SOFT,
        "titleColor": SOFT,
        "labelFontSize": 12,
        "titleFontSize": 12,
        "titleFontWeight": "normal",
        "gridColor": RULE,
        "gridOpacity": 0.7,
        "domainColor": SOFT,
        "tickColor": SOFT,
        "labelFlush": False,
    },
    "legend": {
        "orient": "top",
        "direction": "vertical",
        "labelColor": INK,
        "titleColor": SOFT,
        "labelFontSize": 12,
        "titleFontSize": 12,
        "titleFontWeight": "normal",
        "symbolStrokeWidth": 2,
        "columns": 1,
        "labelLimit": 260,
    },
    "title": {"color": INK, "fontSize": 14, "fontWeight": "normal", "anchor": "start"},
}


def is_mass(name: str) -> bool:
    """Whether a column holds masses or loads, by its name; charts show it in the unit in use."""
    return name.endswith(("kg", "kg_s"))


def values(frame: pd.DataFrame, columns: dict[str, str]) -> alt.Data:
    """
    The columns a chart shows, and no others, as inline data.

    Parameters
    ----------
    frame : rows to draw.
    columns : name in the frame -> name in the chart. Dates become ISO days, so that no time zone
        moves them; what is not known becomes null.
    """
    out: dict[str, list[Any]] = {}
    for name, shown in columns.items():
        series = frame[name]
        if series.dtype.kind == "M":
            out[shown] = [None if v is pd.NaT else f"{v:%Y-%m-%d}" for v in series.tolist()]
        elif series.dtype.kind == "f":
            if is_mass(name):
                series = series * fmt.own_mass(1.0)
            out[shown] = [None if math.isnan(v) else round(v, 3) for v in series.tolist()]
        else:
            out[shown] = [v.item() if hasattr(v, "item") else v for v in series.tolist()]
    rows = [dict(zip(out, row, strict=True)) for row in zip(*out.values(), strict=True)]
    return alt.Data(values=rows)
