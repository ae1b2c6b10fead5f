"""Two stretches of the block side by side, on the same scale."""

from __future__ import annotations

import datetime as dt
from typing import Any

import altair as alt
import pandas as pd

from gripbook import html
from gripbook.charts import style
from gripbook.explore import look
from gripbook.explore.opening import Explorer, choose
from gripbook.explore.time_view import Period, days_of, set_rows
from gripbook.words import fmt

_SIDE = (look.WIDTH - 90) // 2


def periods(
    x: Explorer,
    first: Period = (),
    second: Period = (),
    *,
    capacity: str = "",
    grip: str = "",
    hand: str = "",
) -> tuple[Any, ...]:
    """
    One series in two stretches of time: sets and strength side by side, then the figures.

    Parameters
    ----------
    first, second : first and last day, such as `("2026-01-05", "2026-02-01")`; empty: the first and
        the second half of the block.
    capacity, grip, hand : empty: the headline.

    Raises
    ------
    GripbookError : no such series, or a period is no two days of the block.
    """
    name = choose(x, capacity, grip, hand)
    start, end = x.review.block.start, x.review.block.end
    half = start + dt.timedelta(days=7 * ((x.review.block.weeks + 1) // 2) - 1)
    stretches = [
        days_of(x, first or (start, half)),
        days_of(x, second or (min(half + dt.timedelta(days=1), end), end)),
    ]
    rows = set_rows(x)
    is_it = (rows["exercise"] == name[0]) & (rows["grip"] == name[1]) & (rows["hand"] == name[2])
    rows = rows[is_it]
    words = f"{fmt.sentence(fmt.EXERCISE_WORDS[name[0]])}, {fmt.series(name[1], name[2])}"
    parts = [_side(x, rows, name, days) for days in stretches]
    table = _figures(x, rows, stretches, words)
    chart = alt.hconcat(*parts).resolve_scale(y="shared")
    told = "; ".join(_told(rows, days) for days in stretches)
    return look.finished(chart, f"{words}: two periods", f"{fmt.sentence(told)}."), table


def _between(frame: pd.DataFrame, days: tuple[dt.date, dt.date], column: str) -> pd.DataFrame:
    first, last = (pd.Timestamp(d) for d in days)
    return frame[(frame[column] >= first) & (frame[column] <= last)]


def _when(days: tuple[dt.date, dt.date]) -> str:
    return f"{fmt.day(days[0], year=False)} to {fmt.day(days[1])}"


def _side(
    x: Explorer, rows: pd.DataFrame, name: tuple[str, str, str], days: tuple[dt.date, dt.date]
) -> Any:
    show = x.review.athlete.show_body_mass
    colour = style.grip_colour(name[1])
    title = "kg" if show else "kg, as shown there"
    domain = [f"{days[0]:%Y-%m-%d}", f"{days[1] + dt.timedelta(days=1):%Y-%m-%d}"]
    axis_x = alt.X(
        field="day",
        type="temporal",
        title=None,
        scale=alt.Scale(type="utc", domain=domain, nice=False),
        axis=alt.Axis(format="%-d %b", labelOverlap="parity", labelSeparation=8, tickCount=5),
    )
    scale = alt.Scale(zero=False, padding=8)
    here = _between(rows, days, "date")
    here = here[here["shown_kg"].notna()]
    columns = {"date": "day", "shown_kg": "kg", "words": "words", "outcome": "ended", "key": "key"}
    points = (
        alt.Chart(look.rows(here, columns))
        .mark_point(filled=True, size=55, color=colour, opacity=0.85)
        .encode(
            axis_x,
            alt.Y(
                field="kg", type="quantitative", title=f"load of each set ({title})", scale=scale
            ),
            tooltip=[
                alt.Tooltip(field="words", type="nominal", title="day"),
                alt.Tooltip(field="kg", type="quantitative", title="kg", format=".1f"),
                alt.Tooltip(field="ended", type="nominal"),
                alt.Tooltip(field="key", type="nominal", title="row"),
            ],
        )
    )
    layers = [points]
    found = [s for s in x.review.change.series if (s.fit.capacity, s.fit.grip, s.fit.hand) == name]
    # added weight and the difference to the start have no axis in common
    if found and show:
        path = _between(found[0].path, days, "day")
        path = path[path["kg"].notna()]
        data = look.rows(path, {"day": "day", "kg": "kg", "low_kg": "low", "high_kg": "high"})
        band = (
            alt.Chart(data)
            .mark_area(color=colour, opacity=0.14)
            .encode(
                axis_x,
                alt.Y(field="low", type="quantitative", scale=scale),
                alt.Y2(field="high"),
            )
        )
        line = (
            alt.Chart(data)
            .mark_line(color=colour, strokeWidth=2)
            .encode(axis_x, alt.Y(field="kg", type="quantitative", scale=scale))
        )
        layers = [band, line, points]
    return alt.layer(*layers).properties(title=_when(days), width=_SIDE, height=220)


def _summary(rows: pd.DataFrame, days: tuple[dt.date, dt.date]) -> dict[str, float]:
    here = _between(rows, days, "date")
    mastered = here[here["outcome"].isin(["finished", "pull"])]
    return {
        "sets": float(here["sets"].sum()),
        "days": float(here["date"].nunique()),
        "minutes": float(here["minutes"].sum()),
        "best": float(mastered["shown_kg"].max()) if len(mastered) else float("nan"),
    }


def _told(rows: pd.DataFrame, days: tuple[dt.date, dt.date]) -> str:
    s = _summary(rows, days)
    best = f", highest finished {fmt.with_unit(s['best'], 'kg')}" if s["best"] == s["best"] else ""
    return (
        f"{_when(days)}: {fmt.count(int(s['sets']), '{n} set', '{n} sets')} on "
        f"{fmt.count(int(s['days']), '{n} day', '{n} days')}"
        f"{best}"
    )


def _figures(
    x: Explorer, rows: pd.DataFrame, stretches: list[tuple[dt.date, dt.date]], words: str
) -> html.Fragment:
    kinds = {str(k) for k in rows["shown_as"].dropna()}
    what = kinds.pop() if len(kinds) == 1 else "as shown for each set"
    table = []
    for days in stretches:
        s = _summary(rows, days)
        table.append(
            {
                "when": _when(days),
                "sets": int(s["sets"]),
                "days": int(s["days"]),
                "minutes": s["minutes"],
                "best": s["best"],
            }
        )
    return html.table(
        table,
        f"{words}; the highest finished set in kg ({what})",
        columns={
            "when": "period",
            "sets": "sets",
            "days": "days",
            "minutes": "minutes under load",
            "best": "highest finished (kg)",
        },
    )
