"""Did the dose keep to its limits."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from gripbook import charts, html
from gripbook.derive import LOAD_CONVENTION
from gripbook.derive.records import records
from gripbook.html import Fragment
from gripbook.logs.schema import KINDS
from gripbook.report.sections.common import Parts, of_planned
from gripbook.report.sections.trace import row_ranges, rows_table, split_place
from gripbook.reviews import BlockReview
from gripbook.reviews.dose import NO_RATIO, YOUTH_NOTES, first_block_assumed, step_note
from gripbook.reviews.people import in_own_units
from gripbook.words import fmt, say


@in_own_units
def dose(r: BlockReview) -> Parts:
    """Weekly load, days by kind of work, and the limits."""
    parts: list[Any] = [_limits(r)]
    if r.athlete.minor:
        parts += [html.paragraph(html.strong(text)) for text in r.dose.youth]
        parts.append(html.bullets(map(say, YOUTH_NOTES)))
    chart = charts.weekly_load(r)
    if chart is None:
        parts.append(
            html.paragraph(say("No session has both effort and minutes, so no load can be given."))
        )
    else:
        parts += [
            html.paragraph(
                say(
                    "Session load is effort times minutes. Bars: the week's sum, pale where "
                    "a day is not known and the sum may be more. Line: mean of four weeks, "
                    "where all are known."
                )
            ),
            chart,
        ]
    note = step_note(r.done.steps)
    parts += [
        _week_table(r),
        html.details(
            say("Why no risk of injury is worked out from load"), html.paragraph(say(NO_RATIO))
        ),
        *((html.paragraph(note),) if note else ()),
        _session_table(r),
        _kind_table(r),
    ]
    return tuple(parts)


def _limits(r: BlockReview) -> Fragment:
    limits = r.block.limits

    def marked(words: str, key: str) -> str:
        return (
            words
            if key in limits.stated
            else say("{words} (common practice, no source)", words=words)
        )

    rest = limits.rest_days_between_finger_days
    told = [
        marked(
            say("{fingers_per_week} finger days a week", fingers_per_week=limits.fingers_per_week),
            "fingers_per_week",
        ),
        marked(
            say(
                "{rest_days} between them, where a climbing session of effort 7 or more counts too",
                rest_days=fmt.count(rest, "{n} rest day", "{n} rest days"),
            ),
            "rest_days_between_finger_days",
        ),
        marked(
            say(
                "{finger_session_minutes} minutes a finger session",
                finger_session_minutes=fmt.number(limits.finger_session_minutes, 0),
            ),
            "finger_session_minutes",
        ),
    ]
    if first_block_assumed(r.block, r.athlete):
        told.append(
            say("no all-out pulls, as in a beginner's first block (common practice, no source)")
        )
    text = say("Limits of this block: {join}.", join=fmt.clauses(told))
    if not r.dose.breaches:
        return html.paragraph(
            text + say(" None was broken by what is logged, which is not the same as safe.")
        )
    of = {b.text: row_ranges(split_place(place) for place in b.rows) for b in r.dose.breaches}
    return (
        html.paragraph(text + say(" Not kept:"))
        + html.bullets(b.text for b in r.dose.breaches)
        + rows_table(of, say("Rows of the log behind each limit not kept"), say("limit not kept"))
    )


def _week_table(r: BlockReview) -> Fragment:
    impulse = _impulse(r)
    rows_of = {
        say("week {week}", week=week): row_ranges(zip(own["file"], own["line"], strict=True))
        for week, own in r.done.rows.groupby("week")
    }
    rows = [
        {
            "week": int(w.week),
            "load": fmt.number(w.load_au, 0) + ("" if w.complete else say(" or more")),
            "change": fmt.with_unit(w.change_pct, "%", 0, sign=True),
            "mean": fmt.number(w.mean4_au, 0),
            "monotony": fmt.number(w.monotony, 2, trim=False),
            "strain": fmt.number(w.strain, 0),
            **impulse.get(int(w.week), {"impulse": "", "rise": ""}),
            "note": _load_note(w),
        }
        for w in r.dose.weeks.itertuples()
    ]
    return html.details(
        say("Session load by week, with monotony and strain"),
        html.table(
            rows,
            say("Session load by block week (effort × minutes)"),
            stack=True,
            columns={
                "week": say("week"),
                "load": say("load"),
                "change": say("on the week before"),
                "mean": say("four-week mean"),
                "monotony": say("monotony"),
                "strain": say("weekly strain"),
                **(
                    {
                        "impulse": say("finger impulse ({unit}·s)", unit=fmt.mass_unit()),
                        "rise": say("impulse on the week before"),
                    }
                    if impulse
                    else {}
                ),
                "note": say("note"),
            },
            numbers=["load", "change", "mean", "monotony", "strain", "impulse", "rise"],
        ),
        html.paragraph(say(LOAD_CONVENTION) + say(" No figure here says anything about injury.")),
        rows_table(rows_of, say("Rows of the log behind each week's load"), say("week")),
    )


def _impulse(r: BlockReview) -> dict[int, dict[str, str]]:
    """Finger impulse by week and its rise, a figure without a line; none where it is hidden."""
    work = r.work.set_index("week")
    known = work["impulse_kg_s"].where((work["unknown_sets"] == 0) & (work["sets"] > 0))
    if not known.notna().any():
        return {}
    rise: pd.Series = 100.0 * (known / known.shift().where(known.shift() > 0) - 1.0)
    return {
        int(week): {
            "impulse": fmt.mass_number(known[week], 0),
            "rise": fmt.with_unit(rise[week], "%", 0, sign=True),
        }
        for week in work.index
    }


def _session_table(r: BlockReview) -> Fragment:
    places: dict[tuple[Any, str], list[tuple[str, int]]] = {}
    for row in records(r.sets, "in_block", "date", "session", "file", "line"):
        if row.in_block:
            places.setdefault((row.date, row.session), []).append((row.file, row.line))
    rows_of = {key: row_ranges(own) for key, own in places.items()}
    rows = [
        {
            "day": fmt.day(s.date.date(), year=False) + (f", {s.session}" if s.session else ""),
            "kind": fmt.EXERCISE_WORDS[s.exercise],
            "sets": s.sets,
            "logged": fmt.number(s.minutes_logged, 0),
            "estimated": fmt.number(s.minutes_estimated, 0),
            "rows": rows_of.get((s.date, s.session), ""),
        }
        for s in records(r.dose.sessions)
    ]
    return html.details(
        say("Finger sessions: minutes logged and estimated"),
        html.table(
            rows,
            say(
                "Minutes of each finger session: logged, and estimated from its sets and "
                "the planned rests between them (warming up and chatting are not in the "
                "estimate)"
            ),
            stack=True,
            columns={
                "day": say("day"),
                "kind": say("kind of work"),
                "sets": say("sets"),
                "logged": say("minutes logged"),
                "estimated": say("estimated"),
                "rows": say("rows of the log"),
            },
            numbers=["logged", "estimated"],
            empty=say("No finger session is logged in this block."),
        ),
    )


def _load_note(week: Any) -> str:
    words = []
    if week.part:
        words.append(say("part of a week"))
    if week.open_days:
        words.append(
            say(
                "{days} neither logged nor confirmed",
                days=fmt.count(week.open_days, "{n} day", "{n} days"),
            )
        )
    if week.unknown:
        words.append(
            say(
                "{sessions} without effort or minutes",
                sessions=fmt.count(week.unknown, "{n} session", "{n} sessions"),
            )
        )
    return ", ".join(words)


def _kind_table(r: BlockReview) -> Fragment:
    kinds = [k for k in KINDS if r.dose.kinds[k].any() or k == "fingers"]
    planned = r.dose.targets
    kinds += [k for k in dict.fromkeys(planned["kind"]) if k not in kinds]
    targets = {(t.week, t.kind): t.planned for t in records(planned)}
    days_of = {k: r.dose.kinds[k].to_dict() for k in kinds}
    begun = r.done.weeks.loc[r.done.weeks["state"] != "ahead", "week"]
    rows = [
        {"week": int(w)}
        | {k: of_planned(days_of[k][w], float(targets.get((w, k), np.nan))) for k in kinds}
        for w in begun
    ]
    return html.table(
        rows,
        say(
            "Days a week by kind of work, done of planned (a plan for other work is "
            "a target, not a limit)"
        ),
        columns={"week": say("week"), **{k: fmt.KIND_WORDS[k] for k in kinds}},
        numbers=kinds,
    )
