"""Did the dose keep to its limits."""

from __future__ import annotations

from typing import Any

import numpy as np

from gripbook import charts, fmt, html
from gripbook.derive import LOAD_CONVENTION
from gripbook.html import Fragment
from gripbook.report.sections.common import Parts, of_planned
from gripbook.reviews import BlockReview

_KIND_WORDS = {
    "fingers": "finger work",
    "core": "core",
    "antagonist": "antagonist",
    "mobility": "mobility",
    "climbing": "climbing",
    "other": "other",
}


def dose(r: BlockReview) -> Parts:
    """Weekly load, days by kind of work, and the limits."""
    parts: list[Any] = [_limits(r)]
    chart = charts.weekly_load(r)
    if chart is None:
        parts.append(
            html.paragraph("No session has both effort and minutes, so no load can be given.")
        )
    else:
        parts += [
            html.paragraph(
                "Session load is effort times minutes. Bars: the week's sum, pale where a day is "
                "not known and the sum may be more. Line: mean of four weeks, where all are known."
            ),
            chart,
        ]
    parts += [_week_table(r), _session_table(r), _kind_table(r)]
    return tuple(parts)


def _limits(r: BlockReview) -> Fragment:
    limits = r.block.limits
    minutes = fmt.number(limits.finger_session_minutes, 0)
    rest = limits.rest_days_between_finger_days
    text = (
        f"Limits of this block: {limits.fingers_per_week} finger days a week, "
        f"{fmt.count(rest, 'rest day')} between them (for the rest days a climbing session of "
        f"effort 7 or more counts too), {minutes} minutes a finger session."
    )
    if not r.dose.breaches:
        return html.paragraph(text + " None was broken by what is logged.")
    return html.paragraph(text + " Not kept:") + html.bullets(b.text for b in r.dose.breaches)


def _week_table(r: BlockReview) -> Fragment:
    rows = [
        {
            "week": int(w.week),
            "load": fmt.number(w.load_au, 0) + ("" if w.complete else " or more"),
            "change": fmt.with_unit(w.change_pct, "%", 0, sign=True),
            "mean": fmt.number(w.mean4_au, 0),
            "monotony": fmt.number(w.monotony, 2, trim=False),
            "strain": fmt.number(w.strain, 0),
            "note": _load_note(w),
        }
        for w in r.dose.weeks.itertuples()
    ]
    return html.details(
        "Session load by week, with monotony and strain",
        html.table(
            rows,
            "Session load by block week (effort \u00d7 minutes)",
            columns={
                "week": "week",
                "load": "load",
                "change": "on the week before",
                "mean": "four-week mean",
                "monotony": "monotony",
                "strain": "weekly strain",
                "note": "note",
            },
            numbers=["load", "change", "mean", "monotony", "strain"],
        ),
        html.paragraph(LOAD_CONVENTION + " No figure here says anything about injury."),
    )


def _session_table(r: BlockReview) -> Fragment:
    rows = [
        {
            "day": fmt.day(s.date.date(), year=False) + (f", {s.session}" if s.session else ""),
            "kind": fmt.EXERCISE_WORDS[s.exercise],
            "sets": s.sets,
            "logged": fmt.number(s.minutes_logged, 0),
            "estimated": fmt.number(s.minutes_estimated, 0),
        }
        for s in r.dose.sessions.itertuples()
    ]
    return html.details(
        "Finger sessions: minutes logged and estimated",
        html.table(
            rows,
            "Minutes of each finger session: logged, and estimated from its sets and the planned "
            "rests between them (warming up and chatting are not in the estimate)",
            columns={
                "day": "day",
                "kind": "kind of work",
                "sets": "sets",
                "logged": "minutes logged",
                "estimated": "estimated",
            },
            numbers=["logged", "estimated"],
            empty="No finger session is logged in this block.",
        ),
    )


def _load_note(week: Any) -> str:
    words = []
    if week.part:
        words.append("part of a week")
    if week.open_days:
        words.append(f"{fmt.count(week.open_days, 'day')} neither logged nor confirmed")
    if week.unknown:
        words.append(f"{fmt.count(week.unknown, 'session')} without effort or minutes")
    return ", ".join(words)


def _kind_table(r: BlockReview) -> Fragment:
    kinds = [k for k in _KIND_WORDS if r.dose.kinds[k].any() or k == "fingers"]
    planned = r.dose.targets
    kinds += [k for k in dict.fromkeys(planned["kind"]) if k not in kinds]
    targets = {(t.week, t.kind): t.planned for t in planned.itertuples()}
    begun = r.done.weeks.loc[r.done.weeks["state"] != "ahead", "week"]
    rows = [
        {"week": int(w)}
        | {k: of_planned(r.dose.kinds.loc[w, k], float(targets.get((w, k), np.nan))) for k in kinds}
        for w in begun
    ]
    return html.table(
        rows,
        "Days a week by kind of work, done of planned (a plan for other work is a target, "
        "not a limit)",
        columns={"week": "week", **{k: _KIND_WORDS[k] for k in kinds}},
        numbers=kinds,
    )
