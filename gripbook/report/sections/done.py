"""Was the block done: plan against log."""

from __future__ import annotations

from typing import Any

from gripbook import fmt, html
from gripbook.html import Fragment
from gripbook.report.sections.common import Parts, of_planned
from gripbook.reviews import BlockReview


def done(r: BlockReview) -> Parts:
    """Plan against log, by week and by phase."""
    weeks = r.done.weeks
    planned = r.block.planned and weeks["sessions_planned"].notna().any()
    columns = (
        {"week": "week", "from": "from", "phase": "phase"}
        if r.block.phases
        else {
            "week": "week",
            "from": "from",
        }
    )
    columns |= {"sessions": "finger sessions", "sets": "sets", "time": "time under load"}
    columns |= {"note": "note"}
    rows = [
        {
            "week": int(w.week),
            "from": fmt.day(w.start.date(), year=False),
            "phase": w.phase,
            "sessions": of_planned(w.sessions_done, w.sessions_planned),
            "sets": of_planned(w.sets_done, w.sets_planned),
            "time": fmt.minutes(w.tension_s) if w.tension_s else "",
            "note": _week_note(w),
        }
        for w in weeks.itertuples()
        if w.state != "ahead"
    ]
    parts: list[Any] = []
    if planned and len(r.done.phases) > 1:
        parts.append(_phase_table(r))
    words = "done of planned" if planned else "done"
    parts.append(
        html.table(
            rows,
            f"Finger sessions and sets by block week, {words}",
            columns=columns,
            numbers=["sessions", "sets", "time"],
        )
    )
    if len(r.done.outside):
        parts.append(_outside(r))
    return tuple(parts)


def _phase_table(r: BlockReview) -> Fragment:
    rows = [
        {
            "phase": p.phase or "no phase",
            "sessions": of_planned(p.sessions_done, p.sessions_planned),
            "sets": of_planned(p.sets_done, p.sets_planned),
            "time": fmt.minutes(p.tension_s) if p.tension_s else "",
        }
        for p in r.done.phases.itertuples()
    ]
    columns = {
        "phase": "phase",
        "sessions": "finger sessions",
        "sets": "sets",
        "time": "time under load",
    }
    return html.table(
        rows,
        "Finger sessions and sets by phase, done of planned",
        columns=columns,
        numbers=["sessions", "sets", "time"],
    )


def _outside(r: BlockReview) -> Fragment:
    outside = r.done.outside
    n = int(outside["sets"].sum())
    rows = [
        {
            "day": o.date.date(),
            "what": f"{fmt.EXERCISE_WORDS[o.exercise]}, {fmt.series(o.grip, o.hand, o.edge_mm)}",
            "sets": int(o.sets),
            "row": f"{o.file}:{o.line}",
        }
        for o in outside.itertuples()
    ]
    return html.details(
        f"{fmt.sentence(fmt.count(n, 'set'))} outside the plan",
        html.table(
            rows,
            "Sets of another kind than their phase plans, or in a week without a phase",
            columns={"day": "day", "what": "set", "sets": "sets", "row": "row of the log"},
        ),
    )


def _week_note(week: Any) -> str:
    words = []
    if week.test:
        words.append("test week")
    if week.easy:
        words.append("easy week")
    if week.without:
        words.append(week.without)
    if week.state == "part":
        words.append("part of a week: the log ends here")
    return ", ".join(words)
