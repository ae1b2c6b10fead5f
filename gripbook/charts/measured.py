"""Measures by day, one small chart for each measure."""

from __future__ import annotations

from typing import Any

import altair as alt
import pandas as pd

from gripbook.charts import style
from gripbook.reviews import BlockReview
from gripbook.reviews.measured import MeasureTrend
from gripbook.reviews.people import in_own_units
from gripbook.words import Table, fmt, mark, say
from gripbook.words.other import measure, measure_name

_SIDE_WORDS = Table(
    {"": mark("no side"), "both": mark("both sides"), "left": mark("left"), "right": mark("right")}
)


@in_own_units
def measured(review: BlockReview) -> tuple[Any, ...]:
    """A chart for each measure with at least two days: its sides, upright lines one own error."""
    groups: dict[tuple[str, str], list[MeasureTrend]] = {}
    for t in review.measured.trends:
        if len(t.rows) > 1:
            groups.setdefault((t.measure, t.unit), []).append(t)
    return tuple(_chart(review, own) for own in groups.values())


def _chart(review: BlockReview, own: list[MeasureTrend]) -> Any:
    unit = own[0].unit
    words = measure_name(own[0].measure)
    title = f"{words} ({unit})" if unit else words
    rows = pd.concat(
        [
            t.rows.assign(
                side=_SIDE_WORDS[t.side],
                low=t.rows["value"] - t.error.sd,
                high=t.rows["value"] + t.error.sd,
                day_words=[fmt.day(d.date()) for d in t.rows["date"]],
            )
            for t in own
        ],
        ignore_index=True,
    )
    sides = [s for s in _SIDE_WORDS.values() if (rows["side"] == s).any()]
    columns = {
        "date": "day",
        "value": "value",
        "side": "side",
        "day_words": "date",
    }
    if rows["low"].notna().any():
        columns |= {"low": "low", "high": "high"}
    base = alt.Chart(style.values(rows, columns))
    x = alt.X(
        field="day",
        type="temporal",
        title=None,
        axis=alt.Axis(format=say("%-d %b"), labelOverlap=True, tickCount=6, grid=False),
    )
    y = alt.Y(
        field="value",
        type="quantitative",
        title=unit or None,
        scale=alt.Scale(zero=False, padding=8),
    )
    shape = alt.Shape(
        field="side",
        type="nominal",
        title=None,
        scale=alt.Scale(domain=sides, range=["circle", "square", "triangle-up"][: len(sides)]),
        legend=alt.Legend() if len(sides) > 1 else None,
    )
    layers = []
    if "low" in columns:
        layers.append(
            base.transform_filter("isValid(datum.low)")
            .mark_rule(color=style.SOFT, opacity=0.7)
            .encode(
                x,
                alt.Y(field="low", type="quantitative", scale=alt.Scale(zero=False, padding=8)),
                alt.Y2(field="high"),
            )
        )
    layers.append(
        base.mark_point(color=style.INK, filled=False, size=50, strokeWidth=1.5).encode(
            x,
            y,
            shape,
            tooltip=[
                alt.Tooltip(field="date", type="nominal", title=say("day")),
                alt.Tooltip(field="side", type="nominal", title=say("side")),
                alt.Tooltip(field="value", type="quantitative", title=unit or words),
            ],
        )
    )
    bars = say(" Upright lines: one own error to either side.") if "low" in columns else ""
    told = " ".join(map(measure, own)) + bars
    return style.finished(alt.layer(*layers), fmt.sentence(title), told, height=110)
