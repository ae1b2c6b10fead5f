"""
The package's look for charts of several parts, and controls.

Charts are plain Vega-Lite: somebody waits for them, and making one through Altair takes several
times as long. `View.altair` gives a chart to whoever wants to go on with it there.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from gripbook.charts.look import PALETTE
from gripbook.words import fmt

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
    "pocket_two": "wedge",
    "pocket_one": "arrow",
}
_OTHER_COLOURS = ("#6a4fa0", "#a0522d", "#2f6f6f", "#7a3b69")
#: Marks of one hand point to its side: two hands of one grip share the colour.
_HAND_SHAPES = {"left": "triangle-left", "right": "triangle-right"}
_DASHES = {"both": [1, 0], "left": [6, 4], "right": [2, 3]}


def grip_colour(grip: str) -> str:
    """A grip's colour, the same everywhere; a grip of the block file's own gets a fixed one."""
    return GRIP_COLOURS.get(grip) or _OTHER_COLOURS[sum(map(ord, grip)) % len(_OTHER_COLOURS)]


def series_look(grip: str, hand: str) -> dict[str, Any]:
    """What a row holds so that its series is told apart: colour by grip, line and mark by hand."""
    return {
        "colour": grip_colour(grip),
        "shape": _HAND_SHAPES.get(hand) or _GRIP_SHAPES.get(grip, "circle"),
        "dash": _DASHES[hand],
    }


@dataclass(frozen=True, repr=False)
class View:
    """A chart that JupyterLab draws and `save_page` saves; `spec` is its Vega-Lite."""

    spec: dict[str, Any]

    @property
    def title(self) -> str:
        """What stands over it."""
        return str(self.spec["title"])

    def to_dict(self) -> dict[str, Any]:
        """Give its specification, in Vega-Lite 6."""
        return self.spec

    def altair(self) -> Any:
        """
        Give the chart to Altair, to look at, alter or save.

        Returns
        -------
        An `altair.Chart` of several parts, checked against Vega-Lite's schema.
        """
        import altair as alt

        return alt.Chart.from_dict(self.spec)

    def _repr_mimebundle_(self, **_: Any) -> tuple[dict[str, Any], dict[str, Any]]:
        from gripbook.report.lab import lab_bundle

        return lab_bundle(self.spec)

    def __repr__(self) -> str:
        return f"Figure: {self.spec['title']}"


def plain(field: str) -> dict[str, Any]:
    """A channel whose rows hold what is drawn, for colours, shapes and dashes."""
    return {"field": field, "type": "nominal", "scale": None, "legend": None}


def number(field: str, title: str | None = None, **more: Any) -> dict[str, Any]:
    """A channel of numbers; `title` None: the field's name."""
    told = {} if title is None else {"title": title}
    return {"field": field, "type": "quantitative", **told, **more}


def words(field: str, title: str | None = None) -> dict[str, Any]:
    """A channel of words; `title` None: the field's name."""
    told = {} if title is None else {"title": title}
    return {"field": field, "type": "nominal", **told}


def part(
    data: Mapping[str, Any],
    mark: str,
    channels: Mapping[str, Any],
    *transform: Mapping[str, Any],
    style: Mapping[str, Any] | None = None,
    **more: Any,
) -> dict[str, Any]:
    """One part of a chart: rows, what is done to them, and how each is drawn."""
    found = {"data": data, "mark": {"type": mark, **(style or {})}, "encoding": channels, **more}
    return {**found, "transform": list(transform)} if transform else found


def keep(expression: str) -> dict[str, Any]:
    """Rows for which an expression is true."""
    return {"filter": expression}


def work_out(**columns: str) -> list[dict[str, Any]]:
    """Columns added, each by an expression."""
    return [{"calculate": how, "as": name} for name, how in columns.items()]


def when(parameter: str, value: Any, other: Any, **more: Any) -> dict[str, Any]:
    """A channel with one value where a selection holds a row, and else another."""
    return {"condition": {"param": parameter, "value": value, **more}, "value": other}


def said(
    data: Mapping[str, Any],
    *transform: Mapping[str, Any],
    field: str = "text",
    y: float = 0,
    style: Mapping[str, Any] | None = None,
    **more: Any,
) -> dict[str, Any]:
    """Words at the left, one row's or line by line."""
    channels = {"text": words(field), "x": {"value": 0}, "y": {"value": y}}
    style = {"align": "left", "baseline": "top", "lineHeight": 18, **(style or {})}
    return part(data, "text", channels, *transform, style=style, **more)


_CONFIG = {
    "font": FONT,
    "background": "transparent",
    "padding": {"left": 4, "right": 12, "top": 8, "bottom": 4},
    "view": {"stroke": None, "continuousWidth": 300, "continuousHeight": 300},
    "concat": {"spacing": 14},
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
    "title": {"color": INK, "fontSize": 14, "fontWeight": "normal", "anchor": "start"},
    "text": {"color": INK, "fontSize": 13},
}


def finished(
    parts: Sequence[Mapping[str, Any]],
    title: str,
    told: str,
    *,
    controls: Sequence[Mapping[str, Any]] = (),
    selections: Sequence[Mapping[str, Any]] = (),
    **more: Any,
) -> View:
    """
    Parts one under the other with the package's look.

    Parameters
    ----------
    title : set over the chart in a notebook, the caption on a page.
    told : words told from the numbers, read aloud and set beneath.
    controls : as `select` and `slider` give them.
    selections : in Vega-Lite's own terms, with the `views` they act on.
    """
    spec = {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "title": title,
        "description": f"{title}. {told}",
        "vconcat": parts,
        "params": [*selections, *controls],
        "config": _CONFIG,
        **more,
    }
    shared: dict[str, str] = {}  # several layers show the same rows: they stand there once
    spec = _hoisted(spec, shared)
    return View({**spec, "datasets": {name: text for text, name in shared.items()}})


def _hoisted(value: Any, shared: dict[str, str]) -> Any:
    """The same with each part's rows named and gathered in `shared`, text -> name."""
    if isinstance(value, list | tuple):
        return [_hoisted(one, shared) for one in value]
    if not isinstance(value, Mapping):
        return value
    if value.keys() == {"rows"}:
        name = shared.setdefault(value["rows"], f"rows_{len(shared) + 1}")
        return {"name": name, "format": {"type": "json"}}
    return {key: _hoisted(one, shared) for key, one in value.items()}


def rows(frame: pd.DataFrame, columns: Mapping[str, str]) -> dict[str, Any]:
    """
    The columns a chart shows, and no others, in one piece of text.

    Parameters
    ----------
    columns : name in the frame -> name in the chart. Dates become ISO days, so that no time zone
        moves them; what is not known becomes null.
    """
    return packed(records(frame, columns))


def records(frame: pd.DataFrame, columns: Mapping[str, str]) -> list[dict[str, Any]]:
    """The columns a chart shows as rows; see `rows`. Kilograms come in the unit in use."""
    out: dict[str, list[Any]] = {}
    for name, shown in columns.items():
        series = frame[name]
        if re.search(r"(^|_)kg(_s)?$", name):
            series = series.map(fmt.own_mass)
        if series.dtype.kind == "M":
            out[shown] = [None if v is pd.NaT else f"{v:%Y-%m-%d}" for v in series.tolist()]
        elif series.dtype.kind == "f":
            out[shown] = [None if math.isnan(v) else round(v, 3) for v in series.tolist()]
        else:
            out[shown] = [v.item() if hasattr(v, "item") else v for v in series.tolist()]
    return [dict(zip(out, row, strict=True)) for row in zip(*out.values(), strict=True)]


def own_mass(kg: float) -> float:
    """A weight as charts and their controls hold it, in the unit in use."""
    return round(fmt.own_mass(kg), 3)


def packed(records: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Rows for a chart as one piece of JSON text, so that layers can share it."""
    return {"rows": json.dumps(records, separators=(",", ":"), allow_nan=False)}


def select(
    name: str, label: str, values: list[Any], value: Any, words: Mapping[Any, str]
) -> dict[str, Any]:
    """A list to choose from; `words` says what is read for a value."""
    labels = [words.get(v, str(v)) for v in values]
    bind = {"input": "select", "options": values, "labels": labels, "name": f"{label} "}
    return {"name": name, "value": value, "bind": bind}


def slider(
    name: str, label: str, low: float, high: float, step: float, value: float
) -> dict[str, Any]:
    """A slider."""
    bind = {"input": "range", "min": low, "max": high, "step": step, "name": f"{label} "}
    return {"name": name, "value": value, "bind": bind}


def picked_day(name: str, label: str, value: Any) -> dict[str, Any]:
    """A day to choose."""
    bind = {"input": "date", "name": f"{label} "}
    return {"name": name, "value": f"{value:%Y-%m-%d}", "bind": bind}


def sentence(expression: str, *, width: int = WIDTH, size: int = 13) -> dict[str, Any]:
    """A line of words that follow the controls."""
    calculated = work_out(text=expression)
    style = {"fontSize": size, "color": INK}
    return said(packed([{}]), *calculated, style=style, width=width, height=18)


def case(name: str, words: Mapping[str, str]) -> str:
    """A Vega expression: the words of what the control of that name stands on."""
    cases = "".join(f"{name} === {json.dumps(k)} ? {json.dumps(w)} : " for k, w in words.items())
    return f"({cases}'')"
