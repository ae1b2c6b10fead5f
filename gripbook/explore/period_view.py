"""Two stretches of the block side by side, on the same scale."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pandas as pd

from gripbook import html, layout
from gripbook.explore import look
from gripbook.explore.opening import Explorer, bound_words, choose
from gripbook.explore.time_view import Period, days_of, drawn_sets, set_marks, set_rows
from gripbook.reviews.change_facts import PathKind
from gripbook.words import fmt
from gripbook.words.fmt import in_own_units
from gripbook.words.series import SHOWN_AS

_SIDES = ("first", "second")
_DAY_MS = 86_400_000


@in_own_units
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
    One series in two stretches of time: sets and strength side by side, with their figures.

    Series and days can be chosen in the chart. Strength is drawn where a set tells the limit; marks
    are hollow where a set was finished and so is a bound.

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
    every = set_rows(x.review)
    is_it = (every["exercise"] == name[0]) & (every["grip"] == name[1]) & (every["hand"] == name[2])
    rows = every[is_it]
    words = _series_words(name)
    about = {_id(s): _series_words(s) + bound_words(x, s) for s in x.series()}
    sets, paths = look.packed(_named(every)), _paths(x)
    parts = [
        look.sentence(look.case("series", about)),
        {
            "hconcat": [_side(sets, paths, side) for side in _SIDES],
            "resolve": {"scale": {"y": "shared"}},
        },
        {"hconcat": [_counted(every, side) for side in _SIDES], "spacing": 60},
    ]
    told = f"{words}: {'; '.join(_told(rows, days) for days in stretches)}"
    title = f"{x.review.athlete.name}, two periods"
    shown = look.finished(parts, title, f"{told}.", controls=_controls(x, name, stretches))
    return shown, layout.fold("Table of these values", "", _figures(rows, stretches, words))


def _id(series: tuple[str, str, str]) -> str:
    """A series as the control's value."""
    return "/".join(series)


def _series_words(series: tuple[str, str, str]) -> str:
    return f"{fmt.sentence(fmt.EXERCISE_WORDS[series[0]])}, {fmt.series(series[1], series[2])}"


def _controls(
    x: Explorer, name: tuple[str, str, str], stretches: list[tuple[dt.date, dt.date]]
) -> list[Any]:
    words = {_id(s): _series_words(s) for s in x.series()}
    found = [look.select("series", "Series", list(words), _id(name), words)]
    for side, days in zip(_SIDES, stretches, strict=True):
        found += [
            look.picked_day(f"{side}_{end}", f"{fmt.sentence(side)} period {end}", day)
            for end, day in zip(("from", "to"), days, strict=True)
        ]
    return found


def _between(frame: pd.DataFrame, days: tuple[dt.date, dt.date], column: str) -> pd.DataFrame:
    first, last = (pd.Timestamp(d) for d in days)
    return frame[(frame[column] >= first) & (frame[column] <= last)]


def _when(days: tuple[dt.date, dt.date]) -> str:
    return f"{fmt.day(days[0], year=False)} to {fmt.day(days[1])}"


def _here(side: str) -> str:
    """Whether a row is of the series and time chosen, as an expression."""
    return (
        f"datum.name === series && toDate(datum.day) >= toDate({side}_from)"
        f" && toDate(datum.day) <= toDate({side}_to)"
    )


def _named(rows: pd.DataFrame) -> list[dict[str, Any]]:
    return [
        {**row, "name": _id((row["capacity"], row["grip"], row["hand"]))}
        for row in drawn_sets(rows)
    ]


def _side(sets: Any, paths: list[dict[str, Any]], side: str) -> Any:
    domain = [
        {"expr": f"toDate({side}_from) - {0.8 * _DAY_MS}"},
        {"expr": f"toDate({side}_to) - 0 + {0.8 * _DAY_MS}"},
    ]
    axis_x = {
        "field": "day",
        "type": "temporal",
        "title": None,
        "scale": {"type": "utc", "domain": domain, "nice": False},
        "axis": {
            "format": "%-d %b",
            "labelOverlap": "parity",
            "labelSeparation": 8,
            "tickCount": 5,
        },
    }
    scale = {"zero": False, "padding": 10}
    place = {"x": axis_x, "y": look.number("kg", fmt.mass_unit(), scale=scale)}
    marks = set_marks(place)
    layers = [
        look.part(
            sets,
            "point",
            marks,
            look.keep(f"{_here(side)} && isValid(datum.kg)"),
            style={"size": 55, "opacity": 0.85, "strokeWidth": 1.5, "clip": True},
        )
    ]
    if paths:
        data, here, colour = look.packed(paths), look.keep(_here(side)), look.plain("colour")
        band = {**place, "y": {**place["y"], "field": "low"}, "y2": {"field": "high"}}
        layers[:0] = [
            look.part(
                data,
                "area",
                {**band, "color": colour},
                here,
                style={"opacity": 0.14, "clip": True},
            ),
            look.part(
                data,
                "line",
                {**place, "color": colour},
                here,
                style={"strokeWidth": 2, "clip": True},
            ),
        ]
    return {"layer": layers, "width": look.HALF, "height": 220}


def _paths(x: Explorer) -> list[dict[str, Any]]:
    """Estimated strength of every series; of bounds none, since a floor is no path."""
    found = []
    for s in x.review.change.series:
        if s.path_kind is PathKind.ESTIMATE:
            known = s.path[s.path["kg"].notna()]
            columns = {"day": "day", "kg": "kg", "low_kg": "low", "high_kg": "high"}
            one = {"name": _id((s.capacity, s.grip, s.hand)), "colour": look.grip_colour(s.grip)}
            found += [{**row, **one} for row in look.records(known, columns)]
    return found


def _counted(rows: pd.DataFrame, side: str) -> Any:
    """Sets, days, minutes and the highest finished set of one side, as two lines of words."""
    columns = ("name", "day", "sets", "minutes", "kg", "ended")
    data = [{c: row[c] for c in columns} for row in _named(rows)]
    data.append({"always": True, "sets": 0, "minutes": 0.0})  # a time without sets is told too
    first = (
        "format(datum.all_sets, ',d') + (datum.all_sets === 1 ? ' set on ' : ' sets on ')"
        " + (datum.days - 1) + (datum.days === 2 ? ' day, ' : ' days, ')"
        " + format(datum.all_minutes, '.1f') + ' min under load'"
    )
    unit = fmt.mass_unit()
    second = f"isValid(datum.top) ? 'highest finished ' + format(datum.top, '.1f') + ' {unit}' : ''"
    summed = [
        {"op": "sum", "field": "sets", "as": "all_sets"},
        {"op": "distinct", "field": "on", "as": "days"},
        {"op": "sum", "field": "minutes", "as": "all_minutes"},
        {"op": "max", "field": "done", "as": "top"},
    ]
    return look.said(
        look.packed(data),
        look.keep(f"datum.always || ({_here(side)})"),
        *look.work_out(
            done="datum.ended === 'finished' || datum.ended === 'pull' ? datum.kg : null",
            on="datum.always ? 'none' : datum.day",
        ),
        {"aggregate": summed},
        *look.work_out(text=f"[{first}, {second}]"),
        width=look.HALF,
        height=38,
    )


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
    best = f", highest finished {fmt.mass(s['best'])}" if s["best"] == s["best"] else ""
    return (
        f"{_when(days)}: {fmt.count(int(s['sets']), '{n} set', '{n} sets')} on "
        f"{fmt.count(int(s['days']), '{n} day', '{n} days')}"
        f"{best}"
    )


def _figures(
    rows: pd.DataFrame, stretches: list[tuple[dt.date, dt.date]], words: str
) -> html.Fragment:
    kinds = {SHOWN_AS[k] for k in rows["shown_as"] if k}
    what = kinds.pop() if len(kinds) == 1 else "as shown for each set"
    table, unit = [], fmt.mass_unit()
    for days in stretches:
        s = _summary(rows, days)
        table.append(
            {
                "when": _when(days),
                "sets": int(s["sets"]),
                "days": int(s["days"]),
                "minutes": s["minutes"],
                "best": fmt.own_mass(s["best"]),
            }
        )
    return layout.table(
        table,
        f"{words}; the highest finished set in {unit} ({what})",
        columns={
            "when": "period",
            "sets": "sets",
            "days": "days",
            "minutes": "minutes under load",
            "best": f"highest finished ({unit})",
        },
    )
