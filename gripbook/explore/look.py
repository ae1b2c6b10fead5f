"""The package's look for charts of several parts, and controls."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

import altair as alt
import pandas as pd

from gripbook.charts import style

#: Width in pixels of the charts here: a notebook's cell shows them whole.
WIDTH = 620


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
            font=style.FONT,
            background="transparent",
            padding={"left": 4, "right": 12, "top": 8, "bottom": 4},
        )
        .configure_view(stroke=None)
        .configure_concat(spacing=14)
        .configure_axis(
            labelColor=style.SOFT,
            titleColor=style.SOFT,
            labelFontSize=12,
            titleFontSize=12,
            titleFontWeight="normal",
            gridColor=style.RULE,
            gridOpacity=0.7,
            domainColor=style.SOFT,
            tickColor=style.SOFT,
            labelFlush=False,
        )
        .configure_legend(
            orient="top",
            direction="vertical",
            columns=2,
            labelColor=style.INK,
            labelFontSize=12,
            symbolStrokeWidth=2,
            symbolOpacity=1,
            labelLimit=280,
        )
        .configure_title(color=style.INK, fontSize=14, fontWeight="normal", anchor="start")
        .configure_text(color=style.INK, fontSize=13)
    )
    own = [alt.TopLevelSelectionParameter(**selection) for selection in selections]
    # set, not added: `add_params` would hand the controls down to the parts and gather them again
    finished.params = [*own, *(control.param for control in controls)]
    return finished


def rows(frame: pd.DataFrame, columns: Mapping[str, str]) -> alt.Data:
    """The columns a chart shows, as `style.values` gives them, in one piece of text."""
    return packed(style.values(frame, dict(columns)).to_dict()["values"])


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
