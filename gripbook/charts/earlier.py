"""The strength path across several blocks."""

from __future__ import annotations

from typing import Any

import altair as alt
import pandas as pd

from gripbook.charts import style
from gripbook.reviews import BlockReview
from gripbook.reviews.people import in_own_units
from gripbook.words import fmt, say, series, strength


@in_own_units
def across_blocks(review: BlockReview) -> Any:
    """
    Path and 90 % band of the followed series in each block, on one axis of days.

    None where fewer than two blocks measure it, and where body mass is hidden.
    """
    paths = review.earlier.paths
    if len(paths) < 2:
        return None
    title = say("load ({unit})", unit=fmt.mass_unit())
    rows = pd.concat(
        [
            x.series.path.assign(block=x.block.name)
            for x in paths
            if x.series is not None  # paths hold measured series only
        ],
        ignore_index=True,
    )
    rows = rows[rows["kg"].notna()]
    grip = next(x.series.fit.grip for x in paths if x.series is not None)
    colour = style.grip_colour(grip)
    columns = {
        "day": "day",
        "kg": "kg",
        "low_kg": "low",
        "high_kg": "high",
        "block": "block",
    }
    base = alt.Chart(style.values(rows, columns))
    x = alt.X(
        field="day",
        type="temporal",
        title=None,
        axis=alt.Axis(format="%b %Y", labelOverlap=True, tickCount="month", grid=False),
    )
    scale = alt.Scale(zero=False, padding=8)
    part = alt.Detail(field="block", type="nominal")
    tooltip = [
        alt.Tooltip(field="block", type="nominal", title=say("block")),
        alt.Tooltip(field="kg", type="quantitative", title=title, format=".1f"),
    ]
    layers = [
        base.mark_area(color=colour, opacity=0.16).encode(
            x,
            alt.Y(field="low", type="quantitative", title=title, scale=scale),
            alt.Y2(field="high"),
            part,
        ),
        base.mark_line(color=colour, strokeWidth=2).encode(
            x,
            alt.Y(field="kg", type="quantitative", title=title, scale=scale),
            part,
            tooltip=tooltip,
        ),
    ]
    followed = review.earlier.followed
    name = fmt.sentence(series.name(followed)) if followed is not None else ""
    told = " ".join(
        f"{fmt.headed(x.block.name, strength.summary(x.series))}."
        for x in paths
        if x.series is not None
    )
    return style.finished(
        alt.layer(*layers),
        say("{name}: strength across {paths} blocks", name=name, paths=len(paths)),
        told,
        height=200,
    )
