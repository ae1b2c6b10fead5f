"""Climbs by month, with the strength path on the same days above them."""

from __future__ import annotations

import datetime as dt
import json
from typing import Any

import altair as alt
import pandas as pd

from gripbook.charts import style
from gripbook.derive.climbs import AROUND_DAYS, month_span
from gripbook.logs.grades import nearest_grade
from gripbook.reviews import BlockReview, SeriesChange
from gripbook.reviews.people import in_own_units
from gripbook.words import Table, fmt, mark, say, series
from gripbook.words.other import DISCIPLINES, climbs_of

_PLACES = Table({"rock": mark("rock"), "indoor": mark("indoors"), "": mark("place not recorded")})
_SHAPES = {"rock": "triangle-up", "indoor": "circle", "": "diamond"}
#: Room for the labels of both charts, so that their days stand above one another.
_LABELS = 46


@in_own_units
def climbed(review: BlockReview) -> tuple[Any, ...]:
    """The headline's strength path, then a chart of grades by month for each discipline."""
    months = review.climbed.months
    if months.empty:
        return ()
    headline = review.change.headline
    found = [_path(review, headline)] if headline and headline.fit.ok and len(headline.path) else []
    found += [_grades(review, str(d), own) for d, own in months.groupby("discipline", sort=False)]
    return tuple(found)


def _x(review: BlockReview) -> alt.X:
    around = dt.timedelta(days=AROUND_DAYS)
    ends = [review.block.start - around, review.block.end + around]
    days = [alt.DateTime(year=d.year, month=d.month, date=d.day) for d in ends]
    return alt.X(
        field="day",
        type="temporal",
        title=None,
        scale=alt.Scale(domain=days),
        axis=alt.Axis(format="%b", tickCount="month", grid=False),
    )


def _block_lines(review: BlockReview) -> Any:
    days = [{"day": f"{d:%Y-%m-%d}"} for d in (review.block.start, review.block.end)]
    return (
        alt.Chart(alt.Data(values=days))
        .mark_rule(color=style.SOFT, strokeDash=[2, 3], opacity=0.7)
        .encode(_x(review))
    )


def _path(review: BlockReview, s: SeriesChange) -> Any:
    title = fmt.mass_unit()
    known = s.path[s.path["kg"].notna()]
    data = style.values(known, {"day": "day", "kg": "kg", "low_kg": "low", "high_kg": "high"})
    x = _x(review)
    scale = alt.Scale(zero=False, padding=6)
    axis = alt.Axis(minExtent=_LABELS, maxExtent=_LABELS, tickCount=4)
    y = alt.Y(field="kg", type="quantitative", title=title, scale=scale, axis=axis)
    low = alt.Y(field="low", type="quantitative", title=title, scale=scale, axis=axis)
    colour = style.grip_colour(s.fit.grip)
    base = alt.Chart(data)
    return style.finished(
        alt.layer(
            _block_lines(review),
            base.mark_area(color=colour, opacity=0.16).encode(x, low, alt.Y2(field="high")),
            base.mark_line(color=colour, strokeWidth=2).encode(x, y),
        ),
        say("{name}: strength over the block", name=fmt.sentence(series.name(s))),
        say(
            "The same path as above, on the days of the climbs below. Dotted lines: "
            "first and last day of the block."
        ),
        height=110,
    )


def _grades(review: BlockReview, discipline: str, months: pd.DataFrame) -> Any:
    rows = months.assign(
        day=[_middle(m, p, review) for m, p in zip(months["month"], months["period"], strict=True)],
        where=[_PLACES[p] for p in months["place"]],
        low=months["median"] - months["median_error"],
        high=months["median"] + months["median_error"],
    )
    scale_name = str(rows["scale"].mode().iloc[0])
    data = style.values(
        rows,
        {
            "day": "day",
            "where": "where",
            "median": "median",
            "hardest": "hardest",
            "low": "low",
            "high": "high",
            "climbs": "climbs",
            "median_grade": "median_grade",
            "hardest_grade": "hardest_grade",
        },
    )
    least = int(rows[["median", "low"]].min().min()) - 1
    most = int(rows["hardest"].max()) + 1
    labels = {str(i): nearest_grade(float(i), scale_name) for i in range(least, most + 1)}
    places = [p for p in _SHAPES if (rows["place"] == p).any()]
    x = _x(review)
    axis = alt.Axis(
        values=list(range(least, most + 1)),
        labelExpr=f"{json.dumps(labels)}[datum.value]",
        minExtent=_LABELS,
        maxExtent=_LABELS,
    )

    def y(field: str) -> alt.Y:
        return alt.Y(
            field=field,
            type="quantitative",
            title=say("grade"),
            scale=alt.Scale(domain=[least, most], nice=False),
            axis=axis,
        )

    shape = alt.Shape(
        field="where",
        type="nominal",
        title=None,
        scale=alt.Scale(domain=[_PLACES[p] for p in places], range=[_SHAPES[p] for p in places]),
    )
    tooltip = [
        alt.Tooltip(field="where", type="nominal", title=say("where")),
        alt.Tooltip(field="climbs", type="quantitative", title=say("climbs")),
        alt.Tooltip(field="median_grade", type="nominal", title=say("median of the best")),
        alt.Tooltip(field="hardest_grade", type="nominal", title=say("hardest")),
    ]
    base = alt.Chart(data)
    layers = [_block_lines(review)]
    if rows["median_error"].gt(0).any():
        layers.append(base.mark_rule(color=style.SOFT).encode(x, y("low"), alt.Y2(field="high")))
    layers += [
        base.mark_point(color=style.INK, filled=False, size=70, strokeWidth=1.3).encode(
            x, y("hardest"), shape, tooltip=tooltip
        ),
        base.mark_point(color=style.INK, filled=True, size=45, opacity=0.9).encode(
            x, y("median"), shape, tooltip=tooltip
        ),
    ]
    what = DISCIPLINES[discipline]
    told = [*climbs_of(review.climbed, discipline)]
    if rows["median_error"].gt(0).any():
        told.append(say("Upright lines: plus or minus what the grade is known to."))
    return style.finished(
        alt.layer(*layers),
        say("{what} by month: hollow the hardest, filled the median of the best five", what=what),
        " ".join(told),
        height=170,
    )


def _middle(month: pd.Timestamp, period: str, review: BlockReview) -> pd.Timestamp:
    """The middle day of a month's part, where its marks stand."""
    first, last = month_span(month, period, review.block)
    return pd.Timestamp(first + (last - first) / 2)
