"""The block: done of planned, the calendar, limits with their dates; the rest in folds."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from gripbook import charts, html
from gripbook.derive.records import records
from gripbook.html import CalendarWeek, Fragment
from gripbook.logs.schema import KINDS
from gripbook.report.sections.common import Parts, drawn, of_planned, shown
from gripbook.report.sections.loads import finger_work
from gripbook.report.sections.trace import row_ranges, rows_table, split_place
from gripbook.reviews import BlockReview
from gripbook.reviews.dose import first_block_assumed, load_steps
from gripbook.words import block as words
from gripbook.words import fmt, say
from gripbook.words.charts import short_day
from gripbook.words.fmt import in_own_units

#: From so many weeks on the calendar stands in a fold: a log without a plan may run for years.
CALENDAR_WEEKS = 20


@in_own_units
def block(r: BlockReview) -> Parts:
    """Done of planned, limits with their dates, the calendar; weeks, sessions and load in folds."""
    youth = words.youth(r.dose.youth) if r.athlete.minor else ""
    kept = words.limits_kept(r.block.limits, r.dose)
    broken = html.bullets(words.breaches(r.dose.breaches)) if r.dose.breaches else None
    answer = words.answer(r.done)
    return shown(
        html.paragraph(answer if broken else " ".join(filter(None, (answer, kept)))),
        broken,
        html.caution(youth) if youth else None,
        html.note(" ".join(map(say, words.YOUTH_NOTES))) if r.athlete.minor else None,
        *_calendar(r),
        html.fold(say("Week by week"), say("sessions, sets, load or edge, limits"), *_weeks(r)),
        html.fold(
            say("Load by week"),
            say("effort × minutes, finger work, days by kind"),
            *drawn(charts.draw_work(r.work, r.dose.weeks, r.block, r.last.date())),
            *finger_work(r),
            _week_table(r),
            _session_table(r),
            _kind_table(r),
            html.paragraph(say(words.NO_RATIO)),
        ),
        _swaps(r) if len(r.done.swaps) else None,
        _outside(r) if len(r.done.outside) else None,
    )


def _limits(r: BlockReview) -> Parts:
    """The limits with their sources, and the rows behind each that was broken."""
    text = words.limits(r.block.limits, first_block=first_block_assumed(r.block, r.athlete))
    rows = {
        fmt.sentence(words.breach(b)): row_ranges(split_place(place) for place in b.rows)
        for b in r.dose.breaches
    }
    behind = say("Rows of the log behind each limit not kept")
    return (
        html.paragraph(text),
        *((rows_table(rows, behind, say("limit not kept")),) if rows else ()),
    )


# --- calendar ---------------------------------------------------------------------------------


def _calendar(r: BlockReview) -> Parts:
    """The block day by day: weeks down, days across, phases over their weeks, notes beside."""
    weeks = r.done.weeks if r.state.running else r.done.weeks[r.done.weeks["state"] != "ahead"]
    if weeks.empty:
        return ()
    first = r.block.start.weekday()
    heads = [say("week"), *(say(words.WEEKDAYS[(first + i) % 7]) for i in range(7))]
    days: dict[int, list[Any]] = {}
    for day in records(r.done.days):
        days.setdefault(day.week, []).append(day)
    notes: dict[int, dict[Any, list[str]]] = {}
    for note in r.notes.inside:
        of_day = notes.setdefault(r.block.week_of(note.date.date()), {}).setdefault(note.date, [])
        if note.text not in of_day:
            of_day.append(note.text)
    # of a block that is over nothing is "so far", though its log may end before its last day
    over = {
        int(p.first_week): p if r.state.running or p.state != "part" else p._replace(state="done")
        for p in records(r.done.phases)
    }
    used: set[str] = set()
    groups: list[tuple[str, str, list[CalendarWeek]]] = []
    for w in records(weeks):
        if not groups or (w.week in over and r.block.phases):
            phase = over.get(w.week) if r.block.phases else None
            groups.append((*(words.phase_head(phase) if phase else ("", "")), []))
        in_week = days[int(w.week)]
        used |= {code for day in in_week for code in day.codes}
        tested = any("test" in day.codes for day in in_week)
        remarks = _calendar_remarks(w, r, tested=tested)
        said = _beside(remarks, notes.get(int(w.week), {}))
        groups[-1][2].append(
            CalendarWeek(
                str(w.week),
                short_day(w.start.date()),
                [_day(day) for day in in_week],
                said,
            )
        )
    every_day = [day for in_week in days.values() for day in in_week]
    codes: list[tuple[str, html.CodeKind, str]] = [
        (words.CODES[c], _WEIGHT.get(c, "other"), words.CODE_WORDS[c])
        for c in words.CODES
        if c in used
    ]
    if any(day.unreadable for day in every_day):
        codes.append((say(words.UNREADABLE_CODE), "other", say(words.UNREADABLE_WORDS)))
    if any(day.planned for day in every_day):
        # what a hold stops is planned all the same, and said to be on hold
        ahead = words.ON_HOLD if r.coming.held else words.TO_COME
        codes.append((words.CODES["fingers"], "planned", say(ahead)))
    silent = any(not (day.codes or day.unreadable or day.ahead) for day in every_day)
    blank = say(words.NOTHING_LOGGED) if silent else ""
    table = html.calendar(say("Day by day"), heads, groups) + html.key(codes, blank)
    if len(weeks) >= CALENDAR_WEEKS or r.short:
        return (html.fold(say("Day by day"), "", table),)
    return (table,)


#: How much a code weighs in the calendar.
_WEIGHT: dict[str, html.CodeKind] = {
    "test": "test",
    "fingers": "fingers",
    **dict.fromkeys(("rest", "ill", "away", "injured"), "rest"),
}


def _beside(remarks: list[str], notes: dict[Any, list[str]]) -> Fragment:
    """What stands beside a week: remarks, then the athlete's words in italics, by day."""
    parts: list[str | Fragment] = list(filter(None, [fmt.clauses(remarks)]))
    for date, texts in notes.items():
        weekday = say("{weekday}: ", weekday=say(words.WEEKDAYS[date.weekday()]))
        parts.append(html.inline(weekday, html.quoted(fmt.clauses(texts))))
    return html.inline(*[p for part in parts for p in (say("; "), part)][1:])


def _day(day: Any) -> Fragment:
    if day.planned:
        return html.codes([(words.CODES["fingers"], "planned")])
    codes: list[tuple[str, html.CodeKind]] = [
        (words.CODES[c], _WEIGHT.get(c, "other")) for c in day.codes
    ]
    if day.unreadable:
        codes.append((say(words.UNREADABLE_CODE), "other"))
    return html.codes(codes)


def _calendar_remarks(week: Any, r: BlockReview, *, tested: bool) -> list[str]:
    """What the calendar's days don't show: a test to come or left out, an easy week, a gap."""
    parts = []
    if week.test and not tested and not r.athlete.minor:
        over = week.state == "done"
        parts.append(say(words.NO_TEST) if over else say("test week"))
    if week.easy:
        parts.append(say("easy week"))
    # nobody under 18 owes a finger session
    if week.sessions_missing and not r.athlete.minor:
        parts.append(words.missing_in_week(int(week.sessions_missing)))
    if week.state == "part":
        parts.append(say("the log ends here"))
    return parts


def _remarks(week: Any, r: BlockReview) -> list[str]:
    """What a week's row says beside its notes."""
    parts = []
    if week.test:
        parts.append(say("test week"))
    if week.easy:
        parts.append(say("easy week"))
    # nobody under 18 owes a finger session
    if week.sessions_missing and not r.athlete.minor:
        parts.append(words.missing_in_week(int(week.sessions_missing)))
    if week.without:
        parts.append(words.days_without(week.without))
    if week.state == "part":
        parts.append(say("the log ends here"))
    return parts


# --- week by week -----------------------------------------------------------------------------


def _weeks(r: BlockReview) -> tuple[Fragment, ...]:
    """Done of planned and load or edge, by week and by phase."""
    notes = [words.comparisons(r.done), words.load_steps(load_steps(r.done.steps))]
    return (
        *(html.paragraph(text) for text in notes if text),
        *_limits(r),
        *((_phase_table(r),) if r.block.planned and len(r.done.phases) > 1 else ()),
        _done_table(r),
        _week_rows(r),
    )


def _done_table(r: BlockReview) -> Fragment:
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
            "note": ", ".join(_remarks(w, r)),
        }
        for w in records(r.done.weeks)
        if w.state != "ahead"
    ]
    return html.table(
        rows,
        say("Finger sessions and sets by block week, done of planned"),
        stack=True,
        columns={
            "week": say("week"),
            "from": say("from"),
            "sessions": say("finger sessions"),
            "sets": say("sets"),
            "time": say("time under load"),
            "harder": say("load or edge, on the week before"),
            "note": say("note"),
        },
        numbers=["sessions", "sets", "time"],
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
        if p.state != "ahead"
    ]
    return html.table(
        rows,
        say("Finger sessions and sets by phase, done of planned"),
        stack=True,
        columns={
            "phase": say("phase"),
            "sessions": say("finger sessions"),
            "sets": say("sets"),
            "time": say("time under load"),
            "harder": say("load or edge, first to last week"),
        },
        numbers=["sessions", "sets", "time"],
    )


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
        {"day": s.date.date(), "what": fmt.sentence(words.swap(s)), "row": s.row}
        for s in records(r.done.swaps)
    ]
    n = len(rows)
    return html.fold(
        fmt.sentence(fmt.count(n, "{n} substitution", "{n} substitutions")),
        "",
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
    return html.fold(
        say("{sets} outside the plan", sets=fmt.sentence(fmt.count(n, "{n} set", "{n} sets"))),
        "",
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
    return html.fold(
        say("Session load by week, with monotony and strain"),
        "",
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
        html.paragraph(
            say(words.LOAD_CONVENTION) + say(" No figure here says anything about injury.")
        ),
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
    return html.fold(
        say("Finger sessions: minutes logged and estimated"),
        "",
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
