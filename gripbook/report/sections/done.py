"""Was the block done: plan against log."""

from __future__ import annotations

from typing import Any

from gripbook import html
from gripbook.derive.records import records
from gripbook.html import Fragment
from gripbook.report.sections.common import Parts, of_planned
from gripbook.report.sections.trace import row_ranges, rows_table, split_place
from gripbook.reviews import BlockReview
from gripbook.reviews.people import in_own_units
from gripbook.words import fmt, mark, say

#: Letter and words of each kind of work and of each kind of day without.
_LETTERS = {
    "fingers": ("F", mark("fingers")),
    "climbing": ("K", mark("climbing")),
    "core": ("C", mark("core")),
    "antagonist": ("A", mark("antagonist")),
    "mobility": ("M", mark("mobility")),
    "other": ("O", mark("other work")),
}
_WITHOUT = {
    "rest": ("r", mark("rest")),
    "ill": ("i", mark("ill")),
    "away": ("w", mark("away")),
    "injured": ("h", mark("hurt")),
}
_SILENT = "\u00b7"
_MISSED = "[\u00a0]"


@in_own_units
def done(r: BlockReview) -> Parts:
    """Plan against log, by week and by phase."""
    weeks = r.done.weeks
    planned = r.block.planned and weeks["sessions_planned"].notna().any()
    columns = {
        "week": say("week"),
        "from": say("from"),
        "sessions": say("finger sessions"),
        "sets": say("sets"),
        "time": say("time under load"),
        "harder": say("load or edge, on the week before"),
        "note": say("note"),
    }
    steps: dict[int, list[Any]] = {}
    for s in records(r.done.steps):
        steps.setdefault(s.week, []).append(s)
    rows = [
        {
            "week": int(w.week),
            "from": fmt.day(w.start.date(), year=False),
            "sessions": of_planned(w.sessions_done, w.sessions_planned),
            "sets": of_planned(w.sets_done, w.sets_planned),
            "time": fmt.minutes(w.tension_s) if w.tension_s else "",
            "harder": _steps_in(steps.get(w.week, []), w.week),
            "note": _week_note(w),
        }
        for w in records(weeks)
        if w.state != "ahead"
    ]
    parts: list[Any] = [html.paragraph(r.done.harder)] if r.done.harder else []
    if planned and len(r.done.phases) > 1:
        parts.append(_phase_table(r))
    words = say("done of planned") if planned else "done"
    parts.append(
        html.table(
            rows,
            say("Finger sessions and sets by block week, {words}", words=words),
            stack=True,
            columns=columns,
            numbers=["sessions", "sets", "time"],
        )
    )
    parts.append(_week_rows(r))
    if len(r.done.swaps):
        parts.append(_swaps(r))
    if len(r.done.outside):
        parts.append(_outside(r))
    return (*_calendar(r), *parts)


def _calendar(r: BlockReview) -> Parts:
    """The block day by day: a line a week, one table for each run of weeks of a phase."""
    used: dict[str, str] = {}
    weeks = r.done.weeks[r.done.weeks["state"] != "ahead"]
    run = (weeks["phase"] != weeks["phase"].shift()).cumsum()
    first = r.block.start.weekday()
    names = [say(fmt.WEEKDAYS[(first + i) % 7]) for i in range(7)]
    days: dict[int, list[Any]] = {}
    for day in records(r.done.days):
        days.setdefault(day.week, []).append(day)
    # nobody under 18 owes a finger session
    missed_any = bool(_missed(weeks).any()) and not r.athlete.minor
    tables = []
    for _, own in weeks.groupby(run, sort=False):
        rows = []
        for w, missed in zip(records(own), _missed(own), strict=True):
            row: dict[str, Any] = {"week": int(w.week)}
            for i, day in enumerate(days[int(w.week)]):
                row[f"day{i}"] = _day_cell(day, used)
            if missed_any:
                row["missed"] = " ".join([_MISSED] * int(missed)) or " "
            rows.append(row)
        phase = own["phase"].iloc[0] or (say("No phase") if r.block.phases else say("The weeks"))
        columns = {"week": say("wk"), **{f"day{i}": name for i, name in enumerate(names)}}
        if missed_any:
            columns["missed"] = say("not done")
        begun = fmt.day(own["start"].iloc[0].date(), year=False)
        tables.append(
            html.table(
                rows, say("{phase}, from {begun}", phase=phase, begun=begun), columns=columns
            )
        )
    if not tables:
        return ()
    every = [*_LETTERS.values(), *_WITHOUT.values()]
    key = [f"{letter} {say(words)}" for letter, words in every if letter in used]
    key.append(say("{silent} nothing logged", silent=_SILENT))
    if missed_any:
        key.append(
            say(
                "{missed} a planned finger session not done (the plan names no day, so "
                "it stands at the end of its week)",
                missed=_MISSED,
            )
        )
    text = say(
        "Day by day, a line a week: {join}. Warm-ups alone are left out.", join=", ".join(key)
    )
    return (html.paragraph(text), *tables)


def _missed(weeks: Any) -> Any:
    """Planned finger sessions not done in each week that is over."""
    left = (weeks["sessions_planned"] - weeks["sessions_done"]).fillna(0).clip(lower=0)
    return left.where(weeks["state"] == "done", 0)


def _day_cell(day: Any, used: dict[str, str]) -> str | Fragment:
    if day.ahead:
        return " "
    marks = [(*_LETTERS[k], k) for k in day.kinds]
    if not marks and day.without:
        marks = [(*_WITHOUT[day.without], "without")]
    used.update({letter: words for letter, words, _ in marks})
    if not marks:
        return _SILENT
    return html.marks((letter, kind, say(words)) for letter, words, kind in marks)


def _steps_in(own: list[Any], week: int) -> str:
    told = []
    for s in own:
        gap = "" if s.before == week - 1 else say(" since week {before}", before=s.before)
        told.append(f"{_step_words(s)} {_grip_hand(s)}{gap}")
    return fmt.clauses(told)


def _grip_hand(step: Any) -> str:
    grip = fmt.grip(step.grip)
    return grip if step.hand == "both" else f"{grip} {fmt.SIDE_WORDS[step.hand]}"


def _step_words(step: Any) -> str:
    words = []
    if step.edge_mm != step.edge_before_mm and step.edge_mm == step.edge_mm:
        old, new = fmt.number(step.edge_before_mm), fmt.number(step.edge_mm)
        words.append(say("edge {old} to {new}~mm", old=old, new=new))
    if step.board != step.board_before:
        words.append(say("other board ({value})", value=step.board or say("not named")))
    if step.step_kg != step.step_kg:
        words.append(say("not comparable"))
    elif abs(step.step_kg) >= 0.05:
        words.append(fmt.mass(step.step_kg, 2, sign=True))
    elif not words:
        words.append(say("same"))
    return ", ".join(words)


def _week_rows(r: BlockReview) -> Fragment:
    counted: dict[int, list[tuple[str, int]]] = {}
    for row in records(r.done.rows):
        counted.setdefault(row.week, []).append((row.file, row.line))
    compared: dict[int, list[tuple[str, int]]] = {}
    for step in records(r.done.steps, "week", "rows"):
        compared.setdefault(step.week, []).extend(map(split_place, step.rows))
    of = {say("week {week}", week=week): row_ranges(own) for week, own in sorted(counted.items())}
    of |= {
        say("load or edge, week {week}", week=week): row_ranges(own)
        for week, own in sorted(compared.items())
    }
    return rows_table(
        of, say("Rows counted in each block week, and compared between weeks"), say("figures")
    )


def _swaps(r: BlockReview) -> Fragment:
    rows = [
        {"day": s.date.date(), "what": fmt.sentence(s.text), "row": s.row}
        for s in records(r.done.swaps)
    ]
    n = len(rows)
    return html.details(
        fmt.sentence(fmt.count(n, "{n} substitution", "{n} substitutions")),
        html.table(
            rows,
            say("What was done in place of the plan (a board: of the one used most)"),
            columns={
                "day": say("day"),
                "what": say("what"),
                "row": say("first row of the session"),
            },
        ),
    )


def _phase_table(r: BlockReview) -> Fragment:
    spans = records(r.done.spans)
    rows = [
        {
            "phase": p.phase or say("no phase"),
            "sessions": of_planned(p.sessions_done, p.sessions_planned),
            "sets": of_planned(p.sets_done, p.sets_planned),
            "time": fmt.minutes(p.tension_s) if p.tension_s else "",
            "harder": fmt.clauses(
                f"{_step_words(s)} {_grip_hand(s)}" for s in spans if s.phase == p.phase
            ),
        }
        for p in records(r.done.phases)
    ]
    columns = {
        "phase": say("phase"),
        "sessions": say("finger sessions"),
        "sets": say("sets"),
        "time": say("time under load"),
        "harder": say("load or edge, first to last week"),
    }
    return html.table(
        rows,
        say("Finger sessions and sets by phase, done of planned"),
        stack=True,
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
        for o in records(outside)
    ]
    return html.details(
        say("{sets} outside the plan", sets=fmt.sentence(fmt.count(n, "{n} set", "{n} sets"))),
        html.table(
            rows,
            say("Sets of another kind than their phase plans, or in a week without a phase"),
            columns={
                "day": say("day"),
                "what": say("set"),
                "sets": say("sets"),
                "row": say("row of the log"),
            },
        ),
    )


def _week_note(week: Any) -> str:
    words = []
    if week.test:
        words.append(say("test week"))
    if week.easy:
        words.append(say("easy week"))
    if week.without:
        words.append(week.without)
    if week.state == "part":
        words.append(say("part of a week: the log ends here"))
    return ", ".join(words)
