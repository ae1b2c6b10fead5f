"""
The charts of a block: review data in, Altair chart out. They draw; they compute nothing.

Each function gives None, or no charts, where the review holds nothing to draw. Channels are
written with classes, not string shorthands (a shorthand costs milliseconds), and each chart
carries only what it shows.
"""

from __future__ import annotations

import datetime as dt
import math
from typing import Any

import altair as alt
import pandas as pd

from gripbook.charts import style
from gripbook.derive.records import records
from gripbook.reviews import BlockReview
from gripbook.reviews.people import in_own_units
from gripbook.words import Table, fmt, mark, say
from gripbook.words.pain import place

_OUTCOME_WORDS = Table(
    {
        "finished": mark("finished"),
        "pull": mark("pull"),
        "failed": mark("not finished"),
        "stopped": mark("stopped early"),
    }
)


#: What a chart of loads needs of the sets; all their columns would cost time.
_LOAD_COLUMNS = ["date", "grip", "hand", "edge_mm", "board", "sets", "test", "outcome"]
_LOAD_COLUMNS += ["shown_kg", "shown_as"]


@in_own_units
def loads(review: BlockReview) -> tuple[Any, ...]:
    """One chart of loads for each kind of finger work in the block, in the block's order."""
    order = [p.exercise for p in review.block.phases if p.exercise]
    here = list(review.sets.loc[review.sets["in_block"], "exercise"].unique())
    names = [e for e in dict.fromkeys([*order, "hang", "repeater", "pull"]) if e in here]
    found = (load_by_day(review, str(name)) for name in names)
    return tuple(chart for chart in found if chart is not None)


@in_own_units
def load_by_day(review: BlockReview, exercise: str, *, grip: str = "", hand: str = "") -> Any:
    """
    Load of each set by day, in kilograms: the day's best joined by a line.

    Parameters
    ----------
    exercise : `hang`, `repeater` or `pull`. grip, hand : show one only.

    Notes
    -----
    Filled marks are finished sets and pulls, hollow ones ended early. Where body mass is hidden
    the axis shows added weight, or the difference to the first pull.
    """
    rows = review.sets.loc[
        (review.sets["exercise"] == exercise)
        & review.sets["in_block"]
        & ~review.sets["warmup"]
        & review.sets["shown_kg"].notna(),
        _LOAD_COLUMNS,
    ]
    if grip:
        rows = rows[rows["grip"] == grip]
    if hand:
        rows = rows[rows["hand"] == hand]
    if rows.empty:
        return None
    shown_as = rows["shown_as"].mode().iloc[0]
    others = int(rows.loc[rows["shown_as"] != shown_as, "sets"].sum())
    rows = rows[rows["shown_as"] == shown_as]
    rows = rows.assign(
        series=[fmt.series(g, h) for g, h in zip(rows["grip"], rows["hand"], strict=True)],
        edge_words=[
            "" if math.isnan(e) else fmt.with_unit(e, "mm") + (f", {b}" if b else "")
            for e, b in zip(rows["edge_mm"], rows["board"], strict=True)
        ],
        ended=[_OUTCOME_WORDS[o] for o in rows["outcome"]],
        whole=rows["outcome"].isin(["finished", "pull"]),
        day_words=[fmt.day(d.date()) for d in rows["date"]],
    )
    axis_title = f"{say(shown_as)} ({fmt.mass_unit()})"
    columns = {
        "date": "day",
        "shown_kg": "kg",
        "series": "series",
        "grip": "grip",
        "edge_words": "edge",
        "ended": "ended",
        "whole": "whole",
        "sets": "sets",
        "day_words": "date",
    }
    # tests and training loads differ by plan: a line from one to the other would look like a fall
    rows["run"] = rows["edge_words"] + rows["test"].map({True: " test", False: ""}).astype("str")
    columns["run"] = "run"
    pairs = list(zip(rows["grip"], rows["hand"], strict=True))
    marks = style.SeriesMarks(pairs)
    pick = alt.selection_point(fields=["series"], bind="legend")
    dim = alt.condition(pick, alt.value(1.0), alt.value(0.12))
    x = alt.X(
        field="day", type="temporal", title=None, scale=block_span(review), axis=week_ticks(review)
    )
    y = alt.Y(
        field="kg",
        type="quantitative",
        title=axis_title,
        scale=alt.Scale(zero=False, nice=True, padding=8),
    )
    mastered = rows["outcome"].isin(["finished", "pull"])
    best = (
        rows[mastered]
        .sort_values("shown_kg")
        .drop_duplicates(["date", "grip", "hand", "edge_mm", "board", "run"], keep="last")
        .sort_values("date")
    )
    line = (
        alt.Chart(style.values(best, columns))
        .mark_line(strokeWidth=1.5)
        .encode(
            x,
            y,
            marks.color,
            marks.dash,
            alt.Detail(field="run", type="nominal"),
            opacity=dim,
        )
    )
    points = alt.Chart(style.values(rows, columns)).encode(
        x,
        y,
        marks.color,
        marks.shape,
        opacity=dim,
        tooltip=[
            alt.Tooltip(field="date", type="nominal", title=say("day")),
            alt.Tooltip(field="kg", type="quantitative", title=axis_title, format=".1f"),
            alt.Tooltip(field="series", type="nominal", title=say("grip, hand")),
            alt.Tooltip(field="edge", type="nominal", title=say("edge")),
            alt.Tooltip(field="sets", type="quantitative", title=say("sets")),
            alt.Tooltip(field="ended", type="nominal", title=say("ended")),
        ],
    )
    whole = "datum.whole"
    layers = [
        line,
        points.transform_filter(whole)
        .mark_point(filled=True, size=55, strokeWidth=1.5)
        .add_params(pick),
    ]
    if len(ends := _hand_ends(best)):
        layers.append(_hand_words(ends, x, y, marks))
    hollow = not mastered.all()
    if hollow:
        layers.append(
            points.transform_filter(f"!({whole})").mark_point(
                filled=False, size=55, strokeWidth=1.5
            )
        )
    ended = say("; hollow marks ended early") if hollow else ""
    if others:  # a gauge's load and an added weight have no axis in common
        ended += say(
            "; {sets} measured otherwise stand in the table only",
            sets=fmt.count(others, "{n} set", "{n} sets"),
        )
    words = fmt.sentence(fmt.EXERCISE_WORDS[exercise])
    return style.finished(
        alt.layer(*layers),
        say(
            "{words}: {shown_as}, each set by day; the line joins the day's best finished{ended}",
            words=words,
            shown_as=say(shown_as),
            ended=ended,
        ),
        _describe_loads(best),
        series=dict.fromkeys(pairs),
    )


def _hand_ends(best: pd.DataFrame) -> pd.DataFrame:
    """The last point of each one-handed series, which gets the hand's name beside it."""
    one_handed = best[best["hand"] != "both"]
    return one_handed.drop_duplicates(["grip", "hand"], keep="last")


def _hand_words(ends: pd.DataFrame, x: alt.X, y: alt.Y, marks: style.SeriesMarks) -> Any:
    """The word left or right at the end of each one-handed line."""
    data = style.values(
        ends, {"date": "day", "shown_kg": "kg", "series": "series", "grip": "grip", "hand": "hand"}
    )
    return (
        alt.Chart(data)
        .mark_text(align="left", dx=7, fontSize=12)
        .encode(x, y, marks.color, alt.Text(field="hand", type="nominal"))
    )


def _describe_loads(best: pd.DataFrame) -> str:
    """The highest finished load of each series and its day."""
    tops: dict[tuple[str, str], Any] = {}
    for row in records(best, "grip", "hand", "shown_kg", "date"):
        top = tops.setdefault((row.grip, row.hand), row)
        if row.shown_kg > top.shown_kg:
            tops[row.grip, row.hand] = row
    told = []
    for (grip, hand), top in sorted(tops.items()):
        when = fmt.day(top.date.date(), year=False)
        told.append(
            say(
                "{grip}: {shown_kg} on {when}",
                grip=fmt.series(grip, hand),
                shown_kg=fmt.mass(top.shown_kg),
                when=when,
            )
        )
    return (
        say("Highest finished: {join}.", join=fmt.clauses(told))
        if told
        else say("No set was finished.")
    )


def _from_to(days: pd.Series, digits: int) -> str:
    """The first and last of some values, in words."""
    first = fmt.number(days.iloc[0], digits)
    if len(days) == 1:
        return say("{first} once", first=first)
    last = fmt.number(days.iloc[-1], digits)
    return say("{first} at first, {last} last", first=first, last=last)


def block_span(review: BlockReview) -> alt.Scale:
    """The block's days as the scale of a time axis."""
    start, end = review.block.start, review.block.end
    # days are written as ISO dates, which a browser reads as UTC: so the axis must be UTC too
    return alt.Scale(type="utc", domain=[f"{start:%Y-%m-%d}", f"{end:%Y-%m-%d}"])


def week_ticks(review: BlockReview) -> alt.Axis:
    """An axis with a tick at the first day of each block week."""
    starts = [review.block.start + dt.timedelta(days=7 * w) for w in range(review.block.weeks)]
    return alt.Axis(
        values=[f"{day:%Y-%m-%d}" for day in starts],
        format=say("%-d %b"),
        labelOverlap="parity",
        labelSeparation=8,
    )


def _week_x(review: BlockReview) -> alt.X:
    weeks = list(range(1, review.block.weeks + 1))
    return alt.X(
        field="week",
        type="ordinal",
        title=say("block week"),
        scale=alt.Scale(domain=weeks),
        axis=alt.Axis(labelAngle=0, labelOverlap=True, grid=False),
    )


def _week_bars(review: BlockReview, frame: pd.DataFrame, column: str, title: str, text: str) -> Any:
    """Bars of one figure by block week."""
    shown = frame[frame[column].notna()]
    if shown.empty or not (shown[column] > 0).any():
        return None
    data = style.values(shown, {"week": "week", column: "value", "phase": "phase"})
    chart = (
        alt.Chart(data)
        .mark_bar(color=style.SOFT, opacity=0.85)
        .encode(
            _week_x(review),
            alt.Y(field="value", type="quantitative", title=title),
            tooltip=[
                alt.Tooltip(field="week", type="ordinal", title=say("block week")),
                alt.Tooltip(field="phase", type="nominal", title=say("phase")),
                alt.Tooltip(field="value", type="quantitative", title=title, format=".0f"),
            ],
        )
    )
    return style.finished(chart, text, _least_and_most(shown, column, 0), height=130)


def _least_and_most(weeks: pd.DataFrame, column: str, digits: int) -> str:
    """The weeks of the smallest and the largest figure, in words."""
    low, high = weeks.loc[weeks[column].idxmin()], weeks.loc[weeks[column].idxmax()]
    return say(
        "Least in week {week} ({low}), most in week {week_2} ({high}).",
        week=low["week"],
        low=fmt.number(_own(column, low[column]), digits),
        week_2=high["week"],
        high=fmt.number(_own(column, high[column]), digits),
    )


def _own(column: str, value: float) -> float:
    """A value as charts show it, see `style.values`."""
    return fmt.own_mass(value) if style.is_mass(column) else value


@in_own_units
def finger_work(review: BlockReview) -> tuple[Any, ...]:
    """
    Finger work by week, three charts one above the other: time under tension, impulse, and mean
    load on one hand. They belong together: impulse falls when the hardest work begins.
    """
    begun = review.done.weeks.loc[review.done.weeks["state"] != "ahead", "week"]
    frame = review.work[review.work["week"].isin(begun)]
    frame = frame.assign(minutes=frame["tension_s"] / 60.0)
    found = (
        _week_bars(
            review,
            frame,
            "minutes",
            say("minutes under load"),
            say("Minutes under load by block week"),
        ),
        _week_bars(
            review,
            frame,
            "impulse_kg_s",
            say("impulse ({unit}·s)", unit=fmt.mass_unit()),
            say("Impulse in {unit}·s by block week", unit=fmt.mass_unit()),
        ),
        _load_per_hand(review, frame),
    )
    return tuple(chart for chart in found if chart is not None)


def _load_per_hand(review: BlockReview, frame: pd.DataFrame) -> Any:
    shown = frame[frame["load_per_hand_kg"].notna()]
    if shown.empty:
        return None
    data = style.values(shown, {"week": "week", "load_per_hand_kg": "value", "phase": "phase"})
    x = _week_x(review)
    y = alt.Y(
        field="value",
        type="quantitative",
        title=say("load per hand ({unit})", unit=fmt.mass_unit()),
        scale=alt.Scale(zero=False),
    )
    base = alt.Chart(data)
    line = base.mark_line(color=style.INK, strokeWidth=1.5).encode(x, y)
    points = base.mark_point(color=style.INK, filled=True, size=50).encode(
        x,
        y,
        tooltip=[
            alt.Tooltip(field="week", type="ordinal", title=say("block week")),
            alt.Tooltip(field="phase", type="nominal", title=say("phase")),
            alt.Tooltip(
                field="value",
                type="quantitative",
                title=say("load per hand ({unit})", unit=fmt.mass_unit()),
                format=".1f",
            ),
        ],
    )
    text = say("Mean load on one hand by block week")
    words = _least_and_most(shown, "load_per_hand_kg", 1)
    return style.finished(alt.layer(line, points), text, words, height=130)


@in_own_units
def strength_to_weight(review: BlockReview) -> tuple[Any, ...]:
    """
    Best load of the week over body mass, a chart for each kind of work.

    None at all where body mass is hidden.
    """
    names = list(dict.fromkeys(review.ratio["exercise"]))
    return tuple(
        _ratio_of(review, str(name)) for name in ("hang", "repeater", "pull") if name in names
    )


def _ratio_of(review: BlockReview, exercise: str) -> Any:
    rows = review.ratio[review.ratio["exercise"] == exercise]
    rows = rows.assign(
        series=[fmt.series(g, h) for g, h in zip(rows["grip"], rows["hand"], strict=True)],
        edge_words=["" if math.isnan(e) else fmt.with_unit(e, "mm") for e in rows["edge_mm"]],
    )
    pairs = list(zip(rows["grip"], rows["hand"], strict=True))
    marks = style.SeriesMarks(pairs)
    data = style.values(
        rows,
        {
            "week": "week",
            "ratio": "ratio",
            "series": "series",
            "grip": "grip",
            "edge_words": "edge",
        },
    )
    x = _week_x(review)
    y = alt.Y(
        field="ratio",
        type="quantitative",
        title=say("load / body mass"),
        scale=alt.Scale(zero=False, padding=8),
    )
    base = alt.Chart(data)
    line = base.mark_line(strokeWidth=1.5).encode(
        x, y, marks.color, marks.dash, alt.Detail(field="edge", type="nominal")
    )
    points = base.mark_point(filled=True, size=50).encode(
        x,
        y,
        marks.color,
        marks.shape,
        tooltip=[
            alt.Tooltip(field="week", type="ordinal", title=say("block week")),
            alt.Tooltip(field="series", type="nominal", title=say("grip, hand")),
            alt.Tooltip(field="edge", type="nominal", title=say("edge")),
            alt.Tooltip(field="ratio", type="quantitative", title=say("ratio"), format=".2f"),
        ],
    )
    told = [
        fmt.headed(str(series), _from_to(own.sort_values("week")["ratio"], 2))
        for series, own in rows.groupby("series", sort=True)
    ]
    words = fmt.sentence(fmt.EXERCISE_WORDS[exercise])
    title = say("{words}: best load of the week over body mass", words=words)
    said = f"{fmt.sentence(fmt.clauses(told))}."
    return style.finished(
        alt.layer(line, points), title, said, height=200, series=dict.fromkeys(pairs)
    )


@in_own_units
def weekly_load(review: BlockReview) -> Any:
    """Weekly session load as bars and the four-week mean as a line; no target band."""
    weeks = review.dose.weeks
    if weeks.empty or not (weeks["load_au"] > 0).any():
        return None
    rows = weeks.assign(
        state=[
            say("all days known") if c else say("some days not known") for c in weeks["complete"]
        ]
    )
    data = style.values(
        rows,
        {
            "week": "week",
            "load_au": "load",
            "mean4_au": "mean",
            "state": "state",
            "complete": "whole",
        },
    )
    base = alt.Chart(data)
    bars = base.mark_bar().encode(
        _week_x(review),
        alt.Y(field="load", type="quantitative", title=say("session load (effort × min)")),
        fillOpacity=alt.condition("datum.whole", alt.value(0.85), alt.value(0.15)),
        tooltip=[
            alt.Tooltip(field="week", type="ordinal", title=say("block week")),
            alt.Tooltip(field="load", type="quantitative", title=say("session load"), format=".0f"),
            alt.Tooltip(
                field="mean", type="quantitative", title=say("four-week mean"), format=".0f"
            ),
            alt.Tooltip(field="state", type="nominal", title=say("state")),
        ],
        color=alt.value(style.SOFT),
        stroke=alt.value(style.SOFT),
    )
    layers = [bars]
    if rows["mean4_au"].notna().any():  # a line of nothing would warn in the browser
        layers.append(
            base.transform_filter("isValid(datum.mean)")
            .mark_line(color=style.ACCENT, strokeWidth=2, point={"color": style.ACCENT, "size": 30})
            .encode(_week_x(review), alt.Y(field="mean", type="quantitative"))
        )
    title = say("Session load by block week")
    unknown = int((~weeks["complete"]).sum())
    told = _least_and_most(weeks, "load_au", 0)
    if unknown:
        told += say(
            " {weeks} may have been more.",
            weeks=fmt.sentence(fmt.count(unknown, "{n} week", "{n} weeks")),
        )
    return style.finished(alt.layer(*layers), title, told, height=200)


@in_own_units
def pain_and_load(review: BlockReview) -> tuple[Any, ...]:
    """
    Pain by day, one chart for each site and side, and beneath them the days' time under load on
    the same axis. A level that was not written down is a dashed line, never a 0. None at all where
    nothing was felt.
    """
    if review.pain.felt.empty:
        return ()
    charts = _pain_by_place(review)
    x = _day_x(review)
    work = review.sets[review.sets["in_block"]].copy()
    work["minutes"] = work["tension_s"] * work["sets"] / 60.0
    by_day = work.groupby("date", as_index=False)["minutes"].sum()
    by_day["day_words"] = [fmt.day(d.date()) for d in by_day["date"]]
    if len(by_day):
        bars = (
            alt.Chart(
                style.values(by_day, {"date": "day", "minutes": "minutes", "day_words": "date"})
            )
            .mark_bar(color=style.SOFT, width=6)
            .encode(
                x,
                alt.Y(field="minutes", type="quantitative", title=say("minutes under load")),
                tooltip=[
                    alt.Tooltip(field="date", type="nominal", title=say("day")),
                    alt.Tooltip(
                        field="minutes", type="quantitative", title=say("minutes"), format=".1f"
                    ),
                ],
            )
        )
        total = fmt.number(float(by_day["minutes"].sum()), 0)
        text = say(
            "{finger_days}, {total} min in all.",
            finger_days=fmt.sentence(fmt.count(len(by_day), "{n} finger day", "{n} finger days")),
            total=total,
        )
        charts.append(style.finished(bars, say("Minutes under load by day"), text, height=110))
    return tuple(charts)


def _day_x(review: BlockReview) -> alt.X:
    return alt.X(
        field="day", type="temporal", title=None, scale=block_span(review), axis=week_ticks(review)
    )


def _pain_by_place(review: BlockReview) -> list[Any]:
    """A chart of each place where pain was felt, most entries first."""
    entries, felt = review.pain.entries, review.pain.felt
    counts = felt.groupby(["site", "side"]).size().to_dict()
    charts = []
    for site, side in sorted(counts, key=lambda key: (-counts[key], place(*key))):
        # days asked without a place say of every place that there was none
        asked = (entries["level"] == 0) & entries["site"].isin(["", site])
        here = (entries["site"] == site) & (entries["side"] == side)
        own = entries[here | (asked & (entries["sign"] == ""))]
        charts.append(_pain_at(review, own, place(site, side)))
    return charts


_WHEN_SHAPES = {
    "during": "circle",
    "after": "square",
    "morning": "triangle-up",
    "": "diamond",
}


def _pain_at(review: BlockReview, own: pd.DataFrame, where: str) -> Any:
    x = _day_x(review)
    rows = own.assign(
        when_words=[fmt.WHEN_WORDS[w] for w in own["when"]],
        sign_words=[fmt.SIGN_WORDS[s] for s in own["sign"]],
        day_words=[fmt.day(d.date()) for d in own["date"]],
    )
    names = {
        "date": "day",
        "level": "level",
        "when_words": "when",
        "sign_words": "sign",
        "day_words": "date",
    }
    tooltip = [
        alt.Tooltip(field="date", type="nominal", title=say("day")),
        alt.Tooltip(field="level", type="quantitative", title=say("level")),
        alt.Tooltip(field="when", type="nominal", title=say("when")),
        alt.Tooltip(field="sign", type="nominal", title=say("sign")),
    ]
    known = rows[rows["level"].notna()]
    whens = [w for w in _WHEN_SHAPES if (known["when"] == w).any()]
    layers = []
    if len(known):
        layers.append(
            alt.Chart(style.values(known, names))
            .mark_point(size=70, strokeWidth=1.5, color=style.ACCENT)
            .encode(
                x,
                alt.Y(
                    field="level",
                    type="quantitative",
                    title=say("pain (0 to 10)"),
                    scale=alt.Scale(domain=[0, 10]),
                ),
                alt.Shape(
                    field="when",
                    type="nominal",
                    title=say("when"),
                    scale=alt.Scale(
                        domain=[fmt.WHEN_WORDS[w] for w in whens],
                        range=[_WHEN_SHAPES[w] for w in whens],
                    ),
                ),
                tooltip=tooltip,
            )
        )
    unknown = rows[rows["level"].isna()]
    if len(unknown):
        layers.append(
            alt.Chart(style.values(unknown, {k: v for k, v in names.items() if k != "level"}))
            .mark_rule(strokeDash=[3, 3], color=style.ACCENT)
            .encode(x, tooltip=[tooltip[0], *tooltip[2:]])
        )
    felt = rows[(rows["level"] != 0) | (rows["sign"] != "")]
    levels = felt["level"].dropna()
    told = []
    if len(felt):
        words = say(
            "{entrys} from {min} to {max}",
            entrys=fmt.count(len(felt), "{n} entry", "{n} entries"),
            min=fmt.day(felt["date"].min().date(), year=False),
            max=fmt.day(felt["date"].max().date(), year=False),
        )
        if len(levels):
            words += say(
                ", {min} to {max} of 10", min=fmt.number(levels.min()), max=fmt.number(levels.max())
            )
        told.append(words)
    if len(unknown):
        told.append(
            say(
                "{entrys} without a level (dashed), which is not the same as none",
                entrys=fmt.count(len(unknown), "{n} entry", "{n} entries"),
            )
        )
    told.append(
        say(
            "{entrys} saying none",
            entrys=fmt.count(len(rows) - len(felt), "{n} entry", "{n} entries"),
        )
    )
    title = say("{place}: pain as logged, by day", place=fmt.sentence(where))
    return style.finished(
        alt.layer(*layers), title, f"{fmt.sentence(fmt.clauses(told))}.", height=150
    )
