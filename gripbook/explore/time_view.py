"""The block on one time axis: strength, sets, load, body mass, notes and pain, linked."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

import altair as alt
import pandas as pd

from gripbook.charts import style
from gripbook.charts.block import week_ticks
from gripbook.errors import GripbookError
from gripbook.explore import look
from gripbook.explore.opening import CAPACITIES, Explorer, choose
from gripbook.explore.rows import cells_of
from gripbook.words import fmt, series
from gripbook.words.lead import lead

_ALL = "all"
_ALL_WORDS = {_ALL: "all"}
_CHOSEN = (
    "datum.capacity === measure && (grip === 'all' || datum.grip === grip)"
    " && (hand === 'all' || datum.hand === hand)"
)
_NO_MARK = "!event.item || event.item.mark.marktype !== 'symbol'"
_DOSE_WORDS = {"minutes": "minutes under load", "sets": "sets", "impulse": "impulse (kg\u00b7s)"}
Period = Sequence[str | dt.date]


def timeline(
    x: Explorer, *, capacity: str = "", grip: str = "", hand: str = "", period: Period = ()
) -> Any:
    """
    Strength path, sets, load and body mass over the block, with notes and pain, all linked.

    Drag over any part to choose a time: the rest is dimmed in every part and the figures of the
    time stand beneath; so do those of the weeks chosen by slider, where nothing is dragged. Click a
    set, a note or a pain entry to read its row in the log. The controls choose measure, grip, hand
    and weeks.

    Parameters
    ----------
    x : from `open_log`. capacity, grip, hand : what is chosen at first; empty: the headline.
    period : first and last day chosen at first, as `("2026-01-05", "2026-02-01")`.

    Raises
    ------
    GripbookError : the block has no such series, or `period` is no two days of it.
    """
    first = choose(x, capacity, grip, hand)
    if not (grip or hand or capacity):
        first = (first[0], _ALL, _ALL)
    else:
        first = (first[0], first[1] if grip else _ALL, first[2] if hand else _ALL)
    brush = alt.selection_interval(name="time", encodings=["x"])
    picked = alt.selection_point(name="row", fields=["key"], empty=False)
    # Altair adds a part's position to the names of its layers
    views = ["strength_0", "sets", "load"]
    parts = [_paths(x, brush), _sets(x, brush, picked), _dose(x, brush)]
    if len(x.body):
        views.append(f"body_mass_{len(parts)}")
        parts.append(_body(x, brush))
    clicked = ["sets"]
    if len(x.marks):
        views.append("notes")
        clicked.append("notes")
        parts.append(_marks(x, brush, picked))
    parts += [_figures(x, brush), _row(x, picked)]
    chart = alt.vconcat(*parts).resolve_scale(
        color="shared", strokeDash="shared", shape="independent"
    )
    return look.finished(
        chart,
        f"{x.review.athlete.name}, {x.review.block.name} (drag to choose a time, click a set for "
        "its row)",
        _told(x),
        controls=_controls(x, first),
        selections=[
            {
                "name": "time",
                # not from a mark on: a click on one shows its row and leaves the chosen time be
                "select": {
                    "type": "interval",
                    "encodings": ["x"],
                    "on": f"[pointerdown[{_NO_MARK}], window:pointerup] > window:pointermove!",
                    "translate": False,
                    "zoom": False,
                },
                "views": views,
                **_value(days_of(x, period) if period else None),
            },
            {
                "name": "row",
                "select": {"type": "point", "fields": ["key"], "toggle": False},
                "views": clicked,
            },
        ],
    )


def _value(days: tuple[dt.date, dt.date] | None) -> dict[str, Any]:
    if days is None:
        return {}
    zero = dt.date(1970, 1, 1)
    ends = [(d - zero).days * 86_400_000 for d in (days[0], days[1] + dt.timedelta(days=1))]
    return {"value": {"x": ends}}


def days_of(x: Explorer, period: Period) -> tuple[dt.date, dt.date]:
    """
    First and last day of a period.

    Raises
    ------
    GripbookError : not two days, not in order, or wholly outside the block.
    """
    example = f'("{x.review.block.start}", "{x.review.block.end}")'
    if isinstance(period, str) or len(period) != 2:
        raise GripbookError(f"A period is two days, such as {example}; this is {period!r}.")
    days = []
    for day in period:
        try:
            days.append(day if isinstance(day, dt.date) else dt.date.fromisoformat(str(day)))
        except ValueError:
            raise GripbookError(
                f"{day!r} is no day. Write it year-month-day, as in {example}."
            ) from None
    first, last = days
    if last < first:
        raise GripbookError(f"The period ends ({last}) before it begins ({first}).")
    if last < x.review.block.start or first > x.review.block.end:
        raise GripbookError(
            f"{first} to {last} lies outside the block, which runs from "
            f"{x.review.block.start} to {x.review.block.end}."
        )
    return first, last


def _controls(x: Explorer, first: tuple[str, str, str]) -> list[Any]:
    series = x.series()
    capacities = [c for c in CAPACITIES if any(s[0] == c for s in series)]
    grips = sorted({s[1] for s in series})
    hands = sorted({s[2] for s in series})
    weeks = x.review.block.weeks
    doses = ["minutes", "sets", *(["impulse"] if x.review.athlete.show_body_mass else [])]
    return [
        look.select("measure", "Measure", capacities, first[0], dict(fmt.EXERCISE_WORDS)),
        look.select(
            "grip", "Grip", [_ALL, *grips], first[1], {g: fmt.grip(g) for g in grips} | _ALL_WORDS
        ),
        look.select("hand", "Hand", [_ALL, *hands], first[2], {**fmt.HAND_WORDS, **_ALL_WORDS}),
        look.select("dose", "Load", doses, "minutes", _DOSE_WORDS),
        look.slider("from_week", "From week", 1, weeks, 1, 1),
        look.slider("to_week", "To week", 1, weeks, 1, weeks),
    ]


def _ends(x: Explorer) -> tuple[str, str]:
    """Both ends of the weeks chosen, as expressions."""
    start = x.review.block.start
    week_ms, zero = 7 * 86_400_000, f"utc({start.year}, {start.month - 1}, {start.day})"
    return (
        f"{zero} + (min(from_week, to_week) - 1) * {week_ms}",
        f"{zero} + max(from_week, to_week) * {week_ms} - 43200000",
    )


def _x(x: Explorer, *, labels: bool = False) -> alt.X:
    """The time axis of every part: the weeks chosen, in days that no time zone moves."""
    domain = [{"expr": end} for end in _ends(x)]
    axis = week_ticks(x.review)
    if not labels:
        axis.labels = False
        axis.ticks = False
    return alt.X(
        field="day",
        type="temporal",
        title=None,
        scale=alt.Scale(type="utc", domain=domain, nice=False, padding=0),
        axis=axis,
    )


def _dim(brush: Any) -> Any:
    return alt.condition(brush, alt.value(0.9), alt.value(0.15))


def _marks_of(x: Explorer) -> style.SeriesMarks:
    pairs = sorted({(g, h) for _, g, h in x.series()})
    return style.SeriesMarks(pairs)


def _paths(x: Explorer, brush: Any) -> Any:
    """The strength paths with their bands."""
    show = x.review.athlete.show_body_mass
    title = "strength (kg)" if show else "to the start (kg)"
    frames = []
    for s in x.review.change.series:
        known = s.path[s.path["kg"].notna()]
        frames.append(
            known.assign(
                capacity=s.fit.capacity,
                grip=s.fit.grip,
                hand=s.fit.hand,
                series=fmt.series(s.fit.grip, s.fit.hand),
                name=series.name(s),
                words=[fmt.day(d.date()) for d in known["day"]],
            )
        )
    columns = ["day", "kg", "low_kg", "high_kg", "capacity", "grip", "hand", "series", "name"]
    columns.append("words")
    frame = pd.concat(frames) if frames else pd.DataFrame(columns=columns)
    data = look.rows(frame, {c: c for c in columns})
    marks = _marks_of(x)
    scale = alt.Scale(zero=False, padding=8)
    y = alt.Y(field="kg", type="quantitative", title=title, scale=scale)
    detail = alt.Detail(field="name", type="nominal")
    base = alt.Chart(data).transform_filter(_CHOSEN)
    band = base.mark_area(opacity=0.14, clip=True).encode(
        _x(x),
        alt.Y(field="low_kg", type="quantitative", title=title, scale=scale),
        alt.Y2(field="high_kg"),
        marks.color,
        detail,
    )
    # the line once faint and once within the chosen time: a line's opacity can't change midway
    line = base.mark_line(strokeWidth=2, clip=True, opacity=0.25).encode(
        _x(x), y, marks.color, marks.dash, detail
    )
    bright = (
        base.transform_filter(brush)
        .mark_line(strokeWidth=2, clip=True)
        .encode(_x(x), y, marks.color, marks.dash, detail)
    )
    dots = (
        base.properties(name="strength")
        .mark_point(size=60, opacity=0, filled=True, clip=True)
        .encode(
            _x(x),
            y,
            tooltip=[
                alt.Tooltip(field="words", type="nominal", title="day"),
                alt.Tooltip(field="name", type="nominal", title="series"),
                alt.Tooltip(field="kg", type="quantitative", title=title, format=".1f"),
                alt.Tooltip(field="low_kg", type="quantitative", title="from", format=".1f"),
                alt.Tooltip(field="high_kg", type="quantitative", title="to", format=".1f"),
            ],
        )
    )
    return alt.layer(band, line, bright, dots).properties(width=look.WIDTH, height=170)


def set_rows(x: Explorer) -> pd.DataFrame:
    """The block's sets without warm-ups, with `series`, `key` (file:line), `words`, `minutes`."""
    rows = x.review.sets
    rows = rows[rows["in_block"] & ~rows["warmup"]]
    return rows.assign(
        series=[fmt.series(g, h) for g, h in zip(rows["grip"], rows["hand"], strict=True)],
        key=[f"{f}:{n}" for f, n in zip(rows["file"], rows["line"], strict=True)],
        words=[fmt.day(d.date()) for d in rows["date"]],
        minutes=rows["tension_s"] * rows["sets"] / 60.0,
    )


def _sets(x: Explorer, brush: Any, picked: Any) -> Any:
    """Each set's load."""
    rows = set_rows(x)
    show = x.review.athlete.show_body_mass
    columns = {
        "date": "day",
        "shown_kg": "kg",
        "shown_as": "told",
        "exercise": "capacity",
        "grip": "grip",
        "hand": "hand",
        "series": "series",
        "sets": "sets",
        "outcome": "ended",
        "key": "key",
        "words": "words",
        "minutes": "minutes",
    }
    data = look.rows(rows, columns)
    title = "load of each set (kg)" if show else "each set (kg)"
    marks = _marks_of(x)
    points = (
        alt.Chart(data)
        .transform_filter(f"{_CHOSEN} && isValid(datum.kg)")
        .mark_point(filled=True, clip=True, cursor="pointer")
        .encode(
            _x(x),
            alt.Y(
                field="kg",
                type="quantitative",
                title=title,
                scale=alt.Scale(zero=False, padding=10),
            ),
            marks.color,
            marks.shape,
            opacity=_dim(brush),
            size=alt.condition(picked, alt.value(220), alt.value(60)),
            tooltip=[
                alt.Tooltip(field="words", type="nominal", title="day"),
                alt.Tooltip(field="series", type="nominal", title="grip, hand"),
                alt.Tooltip(field="kg", type="quantitative", title="kg", format=".1f"),
                alt.Tooltip(field="told", type="nominal", title="the kg are"),
                alt.Tooltip(field="sets", type="quantitative"),
                alt.Tooltip(field="ended", type="nominal"),
                alt.Tooltip(field="key", type="nominal", title="row"),
            ],
        )
    )
    return points.properties(name="sets", width=look.WIDTH, height=170)


def _dose(x: Explorer, brush: Any) -> Any:
    """All finger work by day."""
    rows = set_rows(x)
    by_day = rows.assign(all_sets=rows["sets"]).groupby("date")
    frame = pd.DataFrame({"minutes": by_day["minutes"].sum(), "sets": by_day["sets"].sum()})
    if x.review.athlete.show_body_mass:
        frame["impulse"] = (rows["impulse_kg_s"] * rows["sets"]).groupby(rows["date"]).sum()
    long = frame.reset_index().melt("date", var_name="dose_kind")
    long["value"] = long["value"].astype("float64")
    long["words"] = [fmt.day(d.date()) for d in long["date"]]
    data = look.rows(long, {"date": "day", "dose_kind": "kind", "value": "value", "words": "words"})
    bars = (
        alt.Chart(data)
        .transform_filter("datum.kind === dose")
        .mark_bar(color=style.SOFT, width=7, clip=True)
        .encode(
            _x(x),
            alt.Y(field="value", type="quantitative", title="load of the day", stack=None),
            opacity=_dim(brush),
            tooltip=[
                alt.Tooltip(field="words", type="nominal", title="day"),
                alt.Tooltip(field="kind", type="nominal", title="what"),
                alt.Tooltip(field="value", type="quantitative", title="load", format=".1f"),
            ],
        )
    )
    return bars.properties(name="load", width=look.WIDTH, height=90)


def _body(x: Explorer, brush: Any) -> Any:
    """Weigh-ins."""
    rows = x.body.assign(words=[fmt.day(d.date()) for d in x.body["date"]])
    data = look.rows(rows, {"date": "day", "body_mass_kg": "mass", "words": "words"})
    y = alt.Y(
        field="mass",
        type="quantitative",
        title="body mass (kg)",
        scale=alt.Scale(zero=False, padding=8),
    )
    line = alt.Chart(data).mark_line(color=style.SOFT, strokeWidth=1, clip=True).encode(_x(x), y)
    dots = (
        alt.Chart(data)
        .properties(name="body_mass")
        .mark_point(color=style.SOFT, filled=True, size=50, clip=True)
        .encode(
            _x(x),
            y,
            opacity=_dim(brush),
            tooltip=[
                alt.Tooltip(field="words", type="nominal", title="day"),
                alt.Tooltip(field="mass", type="quantitative", title="kg", format=".1f"),
            ],
        )
    )
    return alt.layer(line, dots).properties(width=look.WIDTH, height=90)


def _marks(x: Explorer, brush: Any, picked: Any) -> Any:
    """Notes and pain entries on the time axis."""
    rows = x.marks.assign(
        key=[f"{f}:{n}" for f, n in zip(x.marks["file"], x.marks["line"], strict=True)],
        day_words=[fmt.day(d.date()) for d in x.marks["date"]],
    )
    columns = {"date": "day", "kind": "kind", "words": "words", "key": "key", "day_words": "on"}
    kinds = ["pain", "note"]
    points = (
        alt.Chart(look.rows(rows, columns))
        .mark_point(size=80, clip=True, cursor="pointer", strokeWidth=2)
        .encode(
            _x(x, labels=True),
            alt.Y(field="kind", type="nominal", title=None, scale=alt.Scale(domain=kinds)),
            alt.Shape(
                field="kind",
                type="nominal",
                scale=alt.Scale(domain=kinds, range=["triangle-down", "square"]),
                legend=None,
            ),
            color=alt.condition(
                "datum.kind === 'pain'", alt.value(style.ACCENT), alt.value(style.INK)
            ),
            opacity=_dim(brush),
            tooltip=[
                alt.Tooltip(field="on", type="nominal", title="day"),
                alt.Tooltip(field="words", type="nominal", title="says"),
                alt.Tooltip(field="key", type="nominal", title="row"),
            ],
        )
    )
    return points.properties(name="notes", width=look.WIDTH, height=50)


def _figures(x: Explorer, brush: Any) -> Any:
    """What stands in the chosen time, as a line of words."""
    rows = set_rows(x)
    from_ms, to_ms = _ends(x)
    records = [
        {
            "day": f"{r.date:%Y-%m-%d}",
            "kg": None if pd.isna(r.shown_kg) else round(float(r.shown_kg), 3),
            "capacity": r.exercise,
            "grip": r.grip,
            "hand": r.hand,
            "sets": int(r.sets),
            "minutes": None if pd.isna(r.minutes) else round(float(r.minutes), 3),
        }
        for r in rows.itertuples()
    ]
    # a row that is always there, so that a time without sets is told too
    records.append({"always": True, "sets": 0, "minutes": 0.0, "kg": None, "day": None})
    words = (
        "['Chosen time: ' + format(datum.all_sets, ',d') + (datum.all_sets === 1 ? ' set' : "
        "' sets') + ' on ' + (datum.days - 1) + (datum.days === 2 ? ' day,' : ' days,'), "
        "format(datum.all_minutes, '.1f') + ' min under load; heaviest ' + "
        "(isValid(datum.top) ? format(datum.top, '.1f') + ' kg' : 'not known')]"
    )
    text = (
        alt.Chart(look.packed(records))
        # the brush holds times, a day without an axis would stay text
        .transform_calculate(day="datum.always ? null : toDate(datum.day)")
        .transform_filter(f"datum.always || ({_CHOSEN})")
        # the weeks chosen by slider count too: a drag can't be done by keyboard
        .transform_filter(f"datum.always || (datum.day >= {from_ms} && datum.day <= {to_ms})")
        .transform_filter({"or": [{"param": brush.name}, "datum.always"]})
        .transform_aggregate(
            all_sets="sum(sets)", days="distinct(day)", all_minutes="sum(minutes)", top="max(kg)"
        )
        .transform_calculate(text=f"datum.all_sets > 0 ? {words} : 'Chosen time: no such set'")
        .mark_text(align="left", baseline="top", lineHeight=18)
        .encode(text=alt.Text(field="text", type="nominal"), x=alt.value(0), y=alt.value(2))
    )
    return text.properties(width=look.WIDTH, height=38)


def row_words(x: Explorer, row: Any) -> list[str]:
    """A row of hangs.csv as lines of `column: value`."""
    cells = [f"{name}: {value}" for name, value in cells_of(x, row).items()]
    lines = [", ".join(cells[i : i + 4]) for i in range(0, len(cells), 4)]
    return [f"{row['file']}, line {row['line']}: {fmt.day(row['date'].date())}", *lines]


def _row(x: Explorer, picked: Any) -> Any:
    """The row that was clicked."""
    told = {str(row["key"]): row_words(x, row) for _, row in set_rows(x).iterrows()}
    for m in x.marks.itertuples():
        key, day = f"{m.file}:{m.line}", fmt.day(m.date.date())
        told.setdefault(key, [f"{m.file}, line {m.line}: {day}", _cut(str(m.words))])
    rows = [{"key": key, "text": [_cut(line) for line in lines]} for key, lines in told.items()]
    # two lines, as a phone is 350 pixels wide
    words = ["Click a set, a note or a pain entry:", "its row stands here."]
    hint = look.packed([{"text": words}])
    place: dict[str, Any] = {"x": alt.value(0), "y": alt.value(2)}
    invite = (
        alt.Chart(hint)
        .mark_text(align="left", baseline="top", lineHeight=18, color=style.SOFT)
        .encode(text=alt.Text(field="text", type="nominal"), **place)
        .transform_filter("!length(data('row_store'))")
    )
    text = (
        alt.Chart(look.packed(rows))
        .transform_filter(picked)
        .mark_text(align="left", baseline="top", lineHeight=18)
        .encode(text=alt.Text(field="text", type="nominal"), **place)
    )
    return alt.layer(invite, text).properties(width=look.WIDTH, height=110)


def _cut(text: str, longest: int = 96) -> str:
    return text if len(text) <= longest else text[: longest - 1] + "\u2026"


def _told(x: Explorer) -> str:
    rows = set_rows(x)
    told = (
        f"{fmt.sentence(fmt.count(int(rows['sets'].sum()), '{n} set', '{n} sets'))} on "
        f"{fmt.count(rows['date'].nunique(), '{n} day', '{n} days')}, "
        f"{fmt.number(rows['minutes'].sum(), 0)} minutes under load"
    )
    kinds = x.marks["kind"].value_counts()
    notes = [
        fmt.count(int(kinds[k]), one, many)
        for k, one, many in (
            ("pain", "{n} pain entry", "{n} pain entries"),
            ("note", "{n} note", "{n} notes"),
        )
        if k in kinds
    ]
    more = f"; {fmt.listing(notes)}" if notes else ""
    lines = lead(x.review)
    first = lines[0].text if lines else ""
    return f"{told}{more}. {first}".strip()
