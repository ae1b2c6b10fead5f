"""The package's look for charts of several parts, and controls."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from typing import Any

import altair as alt
import pandas as pd

from gripbook.charts.look import PALETTE

INK, SOFT, RULE, ACCENT = (PALETTE[name] for name in ("ink", "ink2", "rule", "accent"))

FONT = "'Gripbook Serif', Georgia, 'Times New Roman', serif"  # the first is the page's alone
#: Width in pixels of the charts here: a notebook's cell shows them whole, controls beside them.
WIDTH = 620
#: Half of that, for two parts side by side.
HALF = (WIDTH - 90) // 2

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
_GRIP_SHAPES = {
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
_DASHES = {"both": [1, 0], "left": [6, 4], "right": [2, 3]}


def grip_colour(grip: str) -> str:
    """A grip's colour, the same everywhere; a grip of the block file's own gets a fixed one."""
    return GRIP_COLOURS.get(grip) or _OTHER_COLOURS[sum(map(ord, grip)) % len(_OTHER_COLOURS)]


def series_look(grip: str, hand: str) -> dict[str, Any]:
    """What a row holds so that its series is told apart: colour and shape by grip, line by hand."""
    return {
        "colour": grip_colour(grip),
        "shape": _GRIP_SHAPES.get(grip, "circle"),
        "dash": _DASHES[hand],
    }


def plain(field: str) -> dict[str, Any]:
    """A channel whose rows hold what is drawn, for colours, shapes and dashes."""
    return {"field": field, "type": "nominal", "scale": None, "legend": None}


def finished(
    chart: Any,
    title: str,
    told: str,
    *,
    controls: Sequence[Any] = (),
    selections: Sequence[Mapping[str, Any]] = (),
) -> Any:
    """
    A concatenated chart with the package's look.

    Parameters
    ----------
    title : set over the chart in a notebook, the caption on a page.
    told : words told from the numbers, read aloud and set beneath.
    controls : as `select` and `slider` give them.
    selections : in Vega-Lite's own terms, with the `views` they act on. Altair 6 can't give one
        selection to several parts of which some have layers: it names views that are not there.
    """
    finished = (
        chart.properties(title=title, description=f"{title}. {told}")
        .configure(
            font=FONT,
            background="transparent",
            padding={"left": 4, "right": 12, "top": 8, "bottom": 4},
        )
        .configure_view(stroke=None)
        .configure_concat(spacing=14)
        .configure_axis(
            labelColor=SOFT,
            titleColor=SOFT,
            labelFontSize=12,
            titleFontSize=12,
            titleFontWeight="normal",
            gridColor=RULE,
            gridOpacity=0.7,
            domainColor=SOFT,
            tickColor=SOFT,
            labelFlush=False,
        )
        .configure_title(color=INK, fontSize=14, fontWeight="normal", anchor="start")
        .configure_text(color=INK, fontSize=13)
    )
    own = [alt.TopLevelSelectionParameter(**selection) for selection in selections]
    # set, not added: `add_params` would hand the controls down to the parts and gather them again
    finished.params = [*own, *(control.param for control in controls)]
    return finished


def rows(frame: pd.DataFrame, columns: Mapping[str, str]) -> alt.Data:
    """
    The columns a chart shows, and no others, in one piece of text.

    Parameters
    ----------
    columns : name in the frame -> name in the chart. Dates become ISO days, so that no time zone
        moves them; what is not known becomes null.
    """
    return packed(records(frame, columns))


def records(frame: pd.DataFrame, columns: Mapping[str, str]) -> list[dict[str, Any]]:
    """The columns a chart shows as rows; see `rows`."""
    out: dict[str, list[Any]] = {}
    for name, shown in columns.items():
        series = frame[name]
        if series.dtype.kind == "M":
            out[shown] = [None if v is pd.NaT else f"{v:%Y-%m-%d}" for v in series.tolist()]
        elif series.dtype.kind == "f":
            out[shown] = [None if math.isnan(v) else round(v, 3) for v in series.tolist()]
        else:
            out[shown] = [v.item() if hasattr(v, "item") else v for v in series.tolist()]
    return [dict(zip(out, row, strict=True)) for row in zip(*out.values(), strict=True)]


def packed(records: Sequence[Mapping[str, Any]]) -> alt.Data:
    """
    Rows for a chart as one piece of JSON text.

    Altair checks each cell of rows against a grammar, seconds for a thousand rows; a text is one.
    """
    text = json.dumps(records, separators=(",", ":"), allow_nan=False)
    return alt.InlineData(values=text, format=alt.JsonDataFormat(type="json"))


def select(name: str, label: str, values: list[Any], value: Any, words: dict[Any, str]) -> Any:
    """A list to choose from; `words` says what is read for a value."""
    bind = alt.binding_select(
        options=values, labels=[words.get(v, str(v)) for v in values], name=f"{label} "
    )
    return alt.param(name=name, value=value, bind=bind)


def slider(name: str, label: str, low: float, high: float, step: float, value: float) -> Any:
    """A slider."""
    bind = alt.binding_range(min=low, max=high, step=step, name=f"{label} ")
    return alt.param(name=name, value=value, bind=bind)


def picked_day(name: str, label: str, value: Any) -> Any:
    """A day to choose."""
    bind = alt.BindInput(input="date", name=f"{label} ")
    return alt.param(name=name, value=f"{value:%Y-%m-%d}", bind=bind)


def sentence(expression: str, *, width: int = WIDTH, size: int = 13) -> Any:
    """A line of words that follow the controls."""
    return (
        alt.Chart(packed([{}]))
        .transform_calculate(text=expression)
        .mark_text(align="left", baseline="top", fontSize=size, lineHeight=18, color=INK)
        .encode(text=alt.Text(field="text", type="nominal"), x=alt.value(0), y=alt.value(0))
        .properties(width=width, height=18)
    )


def case(name: str, words: Mapping[str, str]) -> str:
    """A Vega expression: the words of what the control of that name stands on."""
    cases = "".join(f"{name} === {json.dumps(k)} ? {json.dumps(w)} : " for k, w in words.items())
    return f"({cases}'')"
