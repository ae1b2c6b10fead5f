"""The block on one time axis: strength, sets, load, body mass, notes and pain, linked."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

import pandas as pd

from gripbook.errors import GripbookError
from gripbook.explore import look
from gripbook.explore.opening import CAPACITIES, Explorer, bound_words, choose
from gripbook.explore.rows import set_in_words
from gripbook.reviews import BlockReview
from gripbook.reviews.change_facts import PathKind
from gripbook.words import fmt, series
from gripbook.words.fmt import in_own_units
from gripbook.words.lead import lead
from gripbook.words.series import SHOWN_AS

_ALL = "all"
_ALL_WORDS = {_ALL: "all"}
_CHOSEN = (
    "datum.capacity === measure && (grip === 'all' || datum.grip === grip)"
    " && (hand === 'all' || datum.hand === hand)"
)
_NO_MARK = "!event.item || event.item.mark.marktype !== 'symbol'"
_DAY_MS = 86_400_000
#: Fill of a hollow mark: it can be clicked in its middle, where one without fill can't.
HOLLOW = "transparent"
Period = Sequence[str | dt.date]


@in_own_units
def timeline(
    x: Explorer, *, capacity: str = "", grip: str = "", hand: str = "", period: Period = ()
) -> Any:
    """
    Strength path, sets, load and body mass over the block, with notes and pain, all linked.

    A series of which every set was finished (or failed) has no path: its sets stand as hollow marks
    that say "at least" (or "at most"). Filled marks are known limits, on the whole chart.

    Drag over any part to choose a time: the rest is dimmed in every part and the figures of the
    time stand beneath; so do those of the weeks chosen by slider, where nothing is dragged. Click a
    set, a note or a pain entry to read its row in the log. The controls choose measure, grip, hand
    and weeks.

    Parameters
    ----------
    x : from `open_log`.
    capacity, grip, hand : what is chosen at first; empty: the headline.
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
    rows = set_rows(x.review)
    key, key_columns = _key(x)
    parts, views, clicked = [key], ["sets", "load"], ["sets"]
    if any(len(s.path) for s in x.review.change.series):
        views.insert(0, "strength")
        held = f"'Strength in a first set ({fmt.mass_unit()}), 90\u00a0% range'"
        parts += [look.sentence(held, size=12), _paths(x)]
    kinds = _shown_as(rows)
    unit = look.case("measure", {c: f"Each set: {w}" for c, w in kinds.items()})
    parts += [look.sentence(unit, size=12), _sets(x, rows), _row(x, rows)]
    dose = f"'Each day, of what is chosen: ' + {look.case('dose', _dose_words())}"
    parts += [look.sentence(dose, size=12), _dose(x, rows)]
    if len(x.body):
        views.append("body_mass")
        parts.append(_body(x))
    if len(x.marks):
        views.append("notes")
        clicked.append("notes")
        parts.append(_marks(x))
    parts.append(_figures(x, rows))
    return look.finished(
        parts,
        f"{x.review.athlete.name}, {x.review.block.name} (drag to choose a time, click a set)",
        _told(x, rows),
        controls=[*_controls(x, first), key_columns],
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


def _dose_words() -> dict[str, str]:
    impulse = f"impulse ({fmt.mass_unit()}\u00b7s)"
    return {"minutes": "minutes under load", "sets": "sets", "impulse": impulse}


def _value(days: tuple[dt.date, dt.date] | None) -> dict[str, Any]:
    if days is None:
        return {}
    zero = dt.date(1970, 1, 1)
    ends = [(d - zero).days * _DAY_MS for d in (days[0], days[1] + dt.timedelta(days=1))]
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
    known = x.series()
    capacities = [c for c in CAPACITIES if any(s[0] == c for s in known)]
    grips = sorted({s[1] for s in known})
    hands = sorted({s[2] for s in known})
    weeks = x.review.block.weeks
    doses = ["minutes", "sets", *(["impulse"] if x.review.athlete.show_body_mass else [])]
    return [
        look.select("measure", "Measure", capacities, first[0], dict(fmt.EXERCISE_WORDS)),
        look.select(
            "grip", "Grip", [_ALL, *grips], first[1], {g: fmt.grip(g) for g in grips} | _ALL_WORDS
        ),
        look.select("hand", "Hand", [_ALL, *hands], first[2], {**fmt.HAND_WORDS, **_ALL_WORDS}),
        look.select("dose", "Load", doses, "minutes", _dose_words()),
        look.slider("from_week", "From week", 1, weeks, 1, 1),
        look.slider("to_week", "To week", 1, weeks, 1, weeks),
    ]


def _shown_as(rows: pd.DataFrame) -> dict[str, str]:
    """What the weights of each measure's sets are, with their unit."""
    found = {}
    for capacity, own in rows.groupby("exercise"):
        kinds = sorted({SHOWN_AS[k] for k in own["shown_as"] if k})
        what = kinds[0] if len(kinds) == 1 else "as each set says"
        found[str(capacity)] = f"{what} ({fmt.mass_unit()})"
    return found


def _ends(x: Explorer) -> tuple[str, str]:
    """Both ends of the weeks chosen, as expressions: first day, and the day after the last."""
    start = x.review.block.start
    week_ms, zero = 7 * _DAY_MS, f"utc({start.year}, {start.month - 1}, {start.day})"
    return (
        f"{zero} + (min(from_week, to_week) - 1) * {week_ms}",
        f"{zero} + max(from_week, to_week) * {week_ms}",
    )


def _x(x: Explorer) -> dict[str, Any]:
    """The time axis of every part: the weeks chosen, in days that no time zone moves."""
    first, after = _ends(x)
    # marks of the first and last day stand whole
    domain = [{"expr": f"{first} - {0.8 * _DAY_MS}"}, {"expr": f"{after} - {0.2 * _DAY_MS}"}]
    block = x.review.block
    mondays = [block.start + dt.timedelta(days=7 * w) for w in range(block.weeks)]
    axis = {
        "values": [f"{day:%Y-%m-%d}" for day in mondays],
        "format": "%-d %b",
        "labelOverlap": "parity",
        "labelSeparation": 8,
    }
    scale = {"type": "utc", "domain": domain, "nice": False, "padding": 0}
    return {"field": "day", "type": "temporal", "title": None, "scale": scale, "axis": axis}


_DIM = look.when("time", 0.9, 0.15)


def _key(x: Explorer) -> tuple[Any, Any]:
    """
    Which line and mark is which series, of those chosen alone; bounds are named.

    Also how many stand beside each other, as a parameter: a page sets it to one on a phone.
    """
    rows = [
        {
            "capacity": capacity,
            "grip": grip,
            "hand": hand,
            "words": fmt.series(grip, hand) + bound_words(x, (capacity, grip, hand)),
            **look.series_look(grip, hand),
        }
        for capacity, grip, hand in x.series()
    ]
    most = max(sum(r["capacity"] == c for r in rows) for c in {r["capacity"] for r in rows})
    across = 1 if any(len(r["words"]) > 38 for r in rows) else 2
    data, column = look.packed(rows), f"((datum.place - 1) % key_columns) * {look.WIDTH // 2}"
    placed = [
        look.keep(_CHOSEN),
        {"window": [{"op": "row_number", "as": "place"}]},
        *look.work_out(
            left=column,
            right=f"{column} + 30",
            top="floor((datum.place - 1) / key_columns) * 18 + 9",
        ),
    ]
    y = look.number("top", scale=None, axis=None)
    left = look.number("left", scale=None, axis=None)
    colour = look.plain("colour")
    line = {"x": left, "y": y, "x2": {"field": "right"}, "color": colour}
    line["strokeDash"] = look.plain("dash")
    mark = {"x": left, "y": y, "color": colour, "shape": look.plain("shape")}
    text = {"x": left, "y": y, "text": look.words("words")}
    layers = [
        look.part(data, "rule", line, *placed, style={"strokeWidth": 2}),
        look.part(
            data,
            "point",
            mark,
            *placed,
            *look.work_out(left="datum.left + 15"),
            style={"filled": True, "size": 55, "opacity": 1},
        ),
        look.part(
            data,
            "text",
            text,
            *placed,
            *look.work_out(left="datum.left + 38"),
            style={"align": "left", "baseline": "middle"},
        ),
    ]
    # an empty chart says why, where it is looked for
    names = [{c: row[c] for c in ("capacity", "grip", "hand")} for row in rows]
    layers.append(
        look.said(
            look.packed([*names, {"always": True}]),
            look.keep(f"datum.always || ({_CHOSEN})"),
            {"aggregate": [{"op": "count", "as": "found"}]},
            look.keep("datum.found === 1"),
            *look.work_out(text="'No such sets: choose another grip or hand.'"),
        )
    )
    height = 18 * -(-most // across)
    key = {"layer": layers, "name": "key", "width": look.WIDTH, "height": height}
    return key, {"name": "key_columns", "value": across}


def _paths(x: Explorer) -> Any:
    """The strength paths with their bands; of series that never met a limit, bounds."""
    lines, bounds = [], []
    for s in x.review.change.series:
        one = {
            "capacity": s.capacity,
            "grip": s.grip,
            "hand": s.hand,
            "name": series.name(s),
            **look.series_look(s.grip, s.hand),
        }
        if s.path_kind is PathKind.ESTIMATE:
            known = s.path[s.path["kg"].notna()]
            columns = {c: c for c in ("day", "kg", "low_kg", "high_kg")}
            lines += [
                {**row, **one, "words": _day_words(day)}
                for row, day in zip(look.records(known, columns), known["day"], strict=True)
            ]
        else:
            bounds += [
                {**row, **one, "words": _day_words(day), "key": f"{file}:{line}"}
                for row, day, file, line in zip(
                    look.records(s.points, {"day": "day", "kg": "kg", "kind": "says"}),
                    s.points["day"],
                    s.points["file"],
                    s.points["line"],
                    strict=True,
                )
            ]
    scale = {"zero": False, "padding": 10}
    y = look.number("kg", fmt.mass_unit(), scale=scale)
    colour, chosen, data = look.plain("colour"), look.keep(_CHOSEN), look.packed(lines)
    place = {"x": _x(x), "y": y}
    band = {"x": _x(x), "y": {**y, "field": "low_kg"}, "y2": {"field": "high_kg"}}
    drawn = {**place, "detail": look.words("name"), "color": colour}
    drawn["strokeDash"] = look.plain("dash")
    about = [look.words("words", "day"), look.words("name", "series")]
    tips = [
        *about,
        look.number("kg", f"strength ({fmt.mass_unit()})", format=".1f"),
        look.number("low_kg", "from", format=".1f"),
        look.number("high_kg", "to", format=".1f"),
    ]
    line = {"strokeWidth": 2, "clip": True}
    layers = [
        look.part(
            data,
            "area",
            {**band, "detail": look.words("name"), "color": colour},
            chosen,
            style={"opacity": 0.14, "clip": True},
        ),
        # the line once faint and once within the chosen time: its opacity can't change midway
        look.part(data, "line", drawn, chosen, style={**line, "opacity": 0.25}),
        look.part(data, "line", drawn, chosen, {"filter": {"param": "time"}}, style=line),
        look.part(
            data,
            "point",
            {**place, "tooltip": tips},
            chosen,
            style={"size": 60, "opacity": 0, "filled": True, "clip": True},
            name="strength",
        ),
    ]
    if bounds:
        says = [
            look.words("says", "this set says"),
            look.number("kg", fmt.mass_unit(), format=".1f"),
        ]
        hollow = {
            **place,
            "color": colour,
            "shape": look.plain("shape"),
            "opacity": _DIM,
            "tooltip": [*about, *says, look.words("key", "row")],
        }
        style = {"size": 55, "filled": False, "strokeWidth": 1.5, "clip": True}
        layers.append(look.part(look.packed(bounds), "point", hollow, chosen, style=style))
    return {"layer": layers, "width": look.WIDTH, "height": 170}


def _day_words(day: pd.Timestamp) -> str:
    return fmt.day(day.date())


def set_rows(r: BlockReview) -> pd.DataFrame:
    """The block's sets without warm-ups, with `series`, `key` (file:line), `words`, `minutes`."""
    rows = r.sets
    rows = rows[rows["in_block"] & ~rows["warmup"]]
    return rows.assign(
        series=[fmt.series(g, h) for g, h in zip(rows["grip"], rows["hand"], strict=True)],
        key=[f"{f}:{n}" for f, n in zip(rows["file"], rows["line"], strict=True)],
        words=[_day_words(d) for d in rows["date"]],
        minutes=rows["tension_s"] * rows["sets"] / 60.0,
    )


def drawn_sets(rows: pd.DataFrame) -> list[dict[str, Any]]:
    """Rows of sets as charts draw them; `fill` is `HOLLOW` where a set was not to the limit."""
    columns = {
        "date": "day",
        "shown_kg": "kg",
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
    found = []
    kinds = [SHOWN_AS.get(k, "") for k in rows["shown_as"]]
    for row, told in zip(look.records(rows, columns), kinds, strict=True):
        looks = look.series_look(row["grip"], row["hand"])
        known = row["ended"] in ("failed", "pull")
        found.append({**row, **looks, "told": told, "fill": looks["colour"] if known else HOLLOW})
    return found


def _set_tips() -> list[dict[str, Any]]:
    """What a set answers with."""
    return [
        look.words("words", "day"),
        look.words("series", "grip, hand"),
        look.number("kg", fmt.mass_unit(), format=".1f"),
        look.words("told", f"the {fmt.mass_unit()} are"),
        look.number("sets"),
        look.words("ended"),
        look.words("key", "row"),
    ]


def set_marks(place: dict[str, Any]) -> dict[str, Any]:
    """The channels of sets as points."""
    return {
        **place,
        "stroke": look.plain("colour"),
        "fill": look.plain("fill"),
        "shape": look.plain("shape"),
        "tooltip": _set_tips(),
    }


def _sets(x: Explorer, rows: pd.DataFrame) -> Any:
    """Each set's load."""
    scale = {"zero": False, "padding": 10}
    place = {"x": _x(x), "y": look.number("kg", fmt.mass_unit(), scale=scale)}
    channels = {
        **set_marks(place),
        "opacity": _DIM,
        "size": look.when("row", 220, 55, empty=False),
    }
    return look.part(
        look.packed(drawn_sets(rows)),
        "point",
        channels,
        look.keep(f"{_CHOSEN} && isValid(datum.kg)"),
        style={"clip": True, "cursor": "pointer", "strokeWidth": 1.5},
        name="sets",
        width=look.WIDTH,
        height=170,
    )


def _dose(x: Explorer, rows: pd.DataFrame) -> Any:
    """Finger work of what is chosen, by day."""
    rows = rows.assign(count=rows["sets"].astype("float64"))
    columns = {"date": "day", "exercise": "capacity", "grip": "grip", "hand": "hand"}
    columns |= {"minutes": "minutes", "count": "sets", "words": "words"}
    if x.review.athlete.show_body_mass:
        rows = rows.assign(day_kg_s=rows["impulse_kg_s"] * rows["sets"])
        columns["day_kg_s"] = "impulse"
    channels = {
        "x": _x(x),
        "y": {**look.number("value", stack=None), "title": None},
        "opacity": _DIM,
        "tooltip": [look.words("words", "day"), look.number("value", "of the day", format=".1f")],
    }
    summed = {"op": "sum", "field": "part", "as": "value"}
    return look.part(
        look.rows(rows, columns),
        "bar",
        channels,
        look.keep(_CHOSEN),
        *look.work_out(part="datum[dose]"),
        {"aggregate": [summed], "groupby": ["day", "words"]},
        style={"color": look.SOFT, "width": 7, "clip": True},
        name="load",
        width=look.WIDTH,
        height=80,
    )


def _body(x: Explorer) -> Any:
    """Weigh-ins."""
    rows = x.body.assign(words=[fmt.day(d.date()) for d in x.body["date"]])
    data = look.rows(rows, {"date": "day", "body_mass_kg": "mass", "words": "words"})
    scale = {"zero": False, "padding": 8}
    place = {"x": _x(x), "y": look.number("mass", f"body mass ({fmt.mass_unit()})", scale=scale)}
    tips = [look.words("words", "day"), look.number("mass", fmt.mass_unit(), format=".1f")]
    layers = [
        look.part(data, "line", place, style={"color": look.SOFT, "strokeWidth": 1, "clip": True}),
        look.part(
            data,
            "point",
            {**place, "opacity": _DIM, "tooltip": tips},
            style={"color": look.SOFT, "filled": True, "size": 50, "clip": True},
            name="body_mass",
        ),
    ]
    return {"layer": layers, "width": look.WIDTH, "height": 90}


def _marks(x: Explorer) -> Any:
    """Notes and pain entries on the time axis."""
    rows = x.marks.assign(
        key=[f"{f}:{n}" for f, n in zip(x.marks["file"], x.marks["line"], strict=True)],
        day_words=[fmt.day(d.date()) for d in x.marks["date"]],
    )
    columns = {"date": "day", "kind": "kind", "words": "words", "key": "key", "day_words": "on"}
    kinds = ["pain", "note"]
    shapes = {"domain": kinds, "range": ["triangle-down", "square"]}
    pain = {"test": "datum.kind === 'pain'", "value": look.ACCENT}
    channels = {
        "x": _x(x),
        "y": {"field": "kind", "type": "nominal", "title": None, "scale": {"domain": kinds}},
        "shape": {"field": "kind", "type": "nominal", "scale": shapes, "legend": None},
        "color": {"condition": pain, "value": look.INK},
        "opacity": _DIM,
        "tooltip": [look.words("on", "day"), look.words("words", "says"), look.words("key", "row")],
    }
    return look.part(
        look.rows(rows, columns),
        "point",
        channels,
        style={"size": 80, "clip": True, "cursor": "pointer", "strokeWidth": 2},
        name="notes",
        width=look.WIDTH,
        height=50,
    )


def _figures(x: Explorer, rows: pd.DataFrame) -> Any:
    """What stands in the chosen time, as a line of words."""
    from_ms, to_ms = _ends(x)
    columns = {"date": "day", "shown_kg": "kg", "exercise": "capacity", "grip": "grip"}
    columns |= {"hand": "hand", "sets": "sets", "minutes": "minutes"}
    # a row that is always there, so that a time without sets is told too
    always = {"always": True, "sets": 0, "minutes": 0.0, "kg": None, "day": None}
    unit = fmt.mass_unit()
    words = (
        "['Chosen time: ' + format(datum.all_sets, ',d') + (datum.all_sets === 1 ? ' set' : "
        "' sets') + ' on ' + (datum.days - 1) + (datum.days === 2 ? ' day,' : ' days,'), "
        "format(datum.all_minutes, '.1f') + ' min under load; heaviest ' + "
        f"(isValid(datum.top) ? format(datum.top, '.1f') + ' {unit}' : 'not known')]"
    )
    summed = [
        {"op": "sum", "field": "sets", "as": "all_sets"},
        {"op": "distinct", "field": "day", "as": "days"},
        {"op": "sum", "field": "minutes", "as": "all_minutes"},
        {"op": "max", "field": "kg", "as": "top"},
    ]
    return look.said(
        look.packed([*look.records(rows, columns), always]),
        # the brush holds times, a day without an axis would stay text
        *look.work_out(day="datum.always ? null : toDate(datum.day)"),
        look.keep(f"datum.always || ({_CHOSEN})"),
        # the weeks chosen by slider count too: a drag can't be done by keyboard
        look.keep(f"datum.always || (datum.day >= {from_ms} && datum.day < {to_ms})"),
        {"filter": {"or": [{"param": "time"}, "datum.always"]}},
        {"aggregate": summed},
        *look.work_out(text=f"datum.all_sets > 0 ? {words} : 'Chosen time: no such set'"),
        y=2,
        width=look.WIDTH,
        height=38,
    )


def _row(x: Explorer, rows: pd.DataFrame) -> Any:
    """The row that was clicked."""
    told = {str(row["key"]): set_in_words(x, row) for _, row in rows.iterrows()}
    for m in x.marks.itertuples():
        key, day = f"{m.file}:{m.line}", fmt.day(m.date.date())
        told.setdefault(key, [f"{day} ({m.file}, line {m.line})", str(m.words)])
    found = [{"key": key, "text": [_cut(line) for line in lines]} for key, lines in told.items()]
    words = [  # fits a phone
        "Click a set, a note or a pain entry:",
        "its row stands here.",
        "Filled: a known limit. Hollow: at least.",
    ]
    layers = [
        look.said(
            look.packed([{"text": words}]),
            look.keep("!length(data('row_store'))"),
            y=2,
            style={"color": look.SOFT},
        ),
        look.said(look.packed(found), {"filter": {"param": "row", "empty": False}}, y=2),
    ]
    return {"layer": layers, "width": look.WIDTH, "height": 56}


def _cut(text: str, longest: int = 96) -> str:
    return text if len(text) <= longest else text[: longest - 1] + "\u2026"


def _told(x: Explorer, rows: pd.DataFrame) -> str:
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
