"""The strength path of each series with its range, and the sets it rests on."""

from __future__ import annotations

from typing import Any

import altair as alt
import numpy as np
import pandas as pd

from gripbook.charts import style
from gripbook.charts.block import block_span, week_ticks
from gripbook.reviews import BlockReview, SeriesChange
from gripbook.reviews.people import in_own_units
from gripbook.words import Table, fmt, mark, say, series
from gripbook.words import strength as strength_words

_TELLS = Table({"exact": mark("exact"), "at least": mark("at least"), "at most": mark("at most")})
_SHAPES = {"exact": "circle", "at least": "triangle-up", "at most": "triangle-down"}


@in_own_units
def strength_path(
    review: BlockReview, *, capacity: str = "", grip: str = "", hand: str = ""
) -> tuple[Any, ...]:
    """
    A chart for each series whose change was measured: path, 90 % band, sets, test days.

    Parameters
    ----------
    capacity, grip, hand : show only these, for example `grip="half_crimp"`.

    Notes
    -----
    Filled circles are sets that tell the load (failed sets, pulls); hollow triangles pointing up
    are finished sets, which tell that at least this was possible. Nothing is drawn where body mass
    is hidden.
    """
    return tuple(
        _path(review, s)
        for s in review.change.series
        if s.fit.ok
        and len(s.path)
        and capacity in ("", s.fit.capacity)
        and grip in ("", s.fit.grip)
        and hand in ("", s.fit.hand)
    )


@in_own_units
def grips_at_the_end(review: BlockReview) -> tuple[Any, ...]:
    """
    A chart for each capacity with two series or more: load at the block's end, heaviest on top.

    Each grip and hand is a dot with its 90 % interval. Nothing is drawn where body mass is hidden,
    which a whole load would tell.
    """
    if not review.athlete.show_body_mass:
        return ()
    known = [s for s in review.change.series if np.isfinite(s.fit.end_kg) and not s.fit.at_least]
    drawn = []
    for capacity in dict.fromkeys(s.fit.capacity for s in known):
        own = sorted((s for s in known if s.fit.capacity == capacity), key=lambda s: -s.fit.end_kg)
        if len(own) > 1:
            drawn.append(_ends(capacity, own))
    return tuple(drawn)


def _ends(capacity: str, own: list[SeriesChange]) -> Any:
    what = fmt.EXERCISE_WORDS[capacity]
    frame = pd.DataFrame(
        {
            "series": [series.conditions(s) for s in own],
            "grip": [fmt.grip(s.fit.grip) for s in own],
            "kg": [s.fit.end_kg for s in own],
            "low_kg": [s.fit.end_low_kg for s in own],
            "high_kg": [s.fit.end_high_kg for s in own],
        }
    )
    data = style.values(frame, {c: c.removesuffix("_kg") for c in frame.columns})
    load = say("load ({unit})", unit=fmt.mass_unit())
    colours = {fmt.grip(s.fit.grip): style.grip_colour(s.fit.grip) for s in own}
    colour = alt.Color(
        field="grip",
        type="nominal",
        scale=alt.Scale(domain=list(colours), range=list(colours.values())),
        legend=None,
    )
    y = alt.Y(
        field="series",
        type="nominal",
        title=None,
        sort=list(frame["series"]),
        axis=alt.Axis(labelLimit=240, ticks=False, domain=False, labelColor=style.INK),
    )
    axis = alt.Axis(tickCount=5)
    scale = alt.Scale(zero=False, nice=True)
    x = alt.X(field="kg", type="quantitative", title=load, scale=scale, axis=axis)
    tooltip = [
        alt.Tooltip(field="series", type="nominal", title=say("grip, hand, edge")),
        alt.Tooltip(field="kg", type="quantitative", title=load, format=".1f"),
        alt.Tooltip(field="low", type="quantitative", title=say("from"), format=".1f"),
        alt.Tooltip(field="high", type="quantitative", title=say("to"), format=".1f"),
    ]
    lines = (
        alt.Chart(data)
        .mark_rule(strokeWidth=2)
        .encode(
            alt.X(field="low", type="quantitative", title=load, scale=scale, axis=axis),
            alt.X2(field="high"),
            y,
            colour,
        )
    )
    dots = (
        alt.Chart(data)
        .mark_point(filled=True, size=70, opacity=1, shape="circle")
        .encode(x, y, colour, tooltip=tooltip)
    )
    told = fmt.listing(
        say(
            "{short}, {end} (between {low} and {high})",
            short=series.conditions(s),
            end=fmt.mass(s.fit.end_kg, 0),
            low=fmt.mass_number(s.fit.end_low_kg, 0),
            high=fmt.mass_number(s.fit.end_high_kg, 0),
        )
        for s in own
    )
    return style.finished(
        alt.layer(lines, dots),
        say(
            "{what}: load at the block's end with the range that holds it in nine of ten cases",
            what=fmt.sentence(what),
        ),
        f"{fmt.sentence(told)}.",
        height=46 * len(own) + 20,
    )


def _path(review: BlockReview, s: SeriesChange) -> Any:
    colour = style.grip_colour(s.fit.grip)
    title = say("load ({unit})", unit=fmt.mass_unit())
    known = s.path[s.path["kg"].notna()]
    path = style.values(known, {"day": "day", "kg": "kg", "low_kg": "low", "high_kg": "high"})
    x = alt.X(
        field="day", type="temporal", title=None, scale=block_span(review), axis=week_ticks(review)
    )
    y = alt.Y(field="kg", type="quantitative", title=title, scale=alt.Scale(zero=False, padding=8))
    inside = s.points[s.points["day"] >= pd.Timestamp(review.block.start)]
    points = inside.assign(
        day_words=[fmt.day(d.date()) for d in inside["day"]],
        tells=[_TELLS[kind] for kind in inside["kind"]],
    )
    marks = style.values(
        points,
        {
            "day": "day",
            "kg": "kg",
            "kind": "kind",
            "tells": "tells",
            "day_words": "date",
            "file": "file",
            "line": "line",
        },
    )
    layers = [
        alt.Chart(path)
        .mark_area(color=colour, opacity=0.16)
        .encode(
            x,
            alt.Y(field="low", type="quantitative", title=title, scale=alt.Scale(zero=False)),
            alt.Y2(field="high"),
        ),
        alt.Chart(path)
        .mark_line(
            color=colour, strokeWidth=2, strokeDash=[6, 4] if s.fit.hand == "right" else [1, 0]
        )
        .encode(x, y),
    ]
    tests = sorted({t.best.day for t in (s.first_test, s.last_test) if t is not None})
    if tests:
        days = alt.Data(values=[{"day": f"{d:%Y-%m-%d}"} for d in tests])
        layers.insert(
            0,
            alt.Chart(days).mark_rule(color=style.SOFT, strokeDash=[2, 3], opacity=0.6).encode(x),
        )
    tooltip = [
        alt.Tooltip(field="date", type="nominal", title=say("day")),
        alt.Tooltip(field="kg", type="quantitative", title=title, format=".1f"),
        alt.Tooltip(field="tells", type="nominal", title=say("tells")),
        alt.Tooltip(field="file", type="nominal", title=say("file")),
        alt.Tooltip(field="line", type="quantitative", title=say("line")),
    ]
    shape = alt.Shape(
        field="kind",
        type="nominal",
        title=None,
        scale=alt.Scale(domain=list(_SHAPES), range=list(_SHAPES.values())),
        legend=None,
    )
    for kind, filled in (("exact", True), ("other", False)):
        chosen = "datum.kind === 'exact'" if filled else "datum.kind !== 'exact'"
        if (points["kind"] == "exact").any() if filled else (points["kind"] != "exact").any():
            layers.append(
                alt.Chart(marks)
                .transform_filter(chosen)
                .mark_point(
                    color=colour, filled=filled, size=45 if kind == "exact" else 40, opacity=0.75
                )
                .encode(x, y, shape, tooltip=tooltip)
            )
    words = fmt.sentence(series.name(s))
    told = f"{strength_words.summary(s)}."
    return style.finished(
        alt.layer(*layers),
        say("{words}: strength over the block", words=words),
        fmt.sentence(told),
        height=220,
        series=[(s.fit.grip, s.fit.hand)],
    )
