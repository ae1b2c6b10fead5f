"""The block: done of planned, the calendar, limits with their dates; the rest in folds."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from gripbook import charts, html, layout
from gripbook.derive.records import records
from gripbook.html import Fragment
from gripbook.layout import CalendarWeek
from gripbook.logs.schema import KINDS
from gripbook.report.sections.common import Parts, drawn, shown
from gripbook.report.sections.loads import finger_work
from gripbook.report.sections.trace import row_ranges, rows_table, split_place
from gripbook.reviews import BlockReview
from gripbook.reviews.dose import first_block_assumed, load_steps
from gripbook.words import block as words
from gripbook.words import fmt
from gripbook.words.charts import short_day
from gripbook.words.fmt import in_own_units
from gripbook.words.heads import HEADS, head_in

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
        layout.caution(youth) if youth else None,
        layout.note(words.youth_notes()) if r.athlete.minor else None,
        *_calendar(r),
        layout.fold(words.TITLES["week_by_week"], words.TITLES["week_by_week_holds"], *_weeks(r)),
        layout.fold(
            words.TITLES["load_by_week"],
            words.TITLES["load_by_week_holds"],
            *drawn(charts.draw_work(r.work, r.dose.weeks, r.block, r.last.date())),
            *finger_work(r),
            *((_week_table(r),) if _some_load(r) else ()),
            _session_table(r),
            _kind_table(r),
            html.paragraph(words.no_ratio()),
        ),
        _swaps(r) if len(_swapped(r)) else None,
        _outside(r) if len(r.done.outside) else None,
    )


def _limits(r: BlockReview) -> Parts:
    """The limits with their sources, and the rows behind each that was broken."""
    text = words.limits(r.block.limits, first_block=first_block_assumed(r.block, r.athlete))
    rows = {
        fmt.sentence(words.breach(b)): row_ranges(split_place(place) for place in b.rows)
        for b in r.dose.breaches
    }
    behind = words.TITLES["rows_behind_limits"]
    return (
        html.paragraph(text),
        *((rows_table(rows, behind, HEADS["limit_not_kept"]),) if rows else ()),
    )


# --- calendar ---------------------------------------------------------------------------------


def _calendar(r: BlockReview) -> Parts:
    """The block day by day: weeks down, days across, phases over their weeks, notes beside."""
    weeks = r.done.weeks if r.state.running else r.done.weeks[r.done.weeks["state"] != "ahead"]
    if weeks.empty:
        return ()
    first = r.block.start.weekday()
    heads = [HEADS["week"], *(words.weekday(first + i) for i in range(7))]
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
        remarks = words.calendar_remarks(w, tested=tested, minor=bool(r.athlete.minor))
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
    codes: list[tuple[str, layout.CodeKind, str]] = [
        (words.CODES[c], _WEIGHT.get(c, "other"), words.CODE_WORDS[c])
        for c in words.CODES
        if c in used
    ]
    if any(day.unreadable for day in every_day):
        codes.append((words.KEY["unreadable_code"], "other", words.KEY["unreadable"]))
    if any(day.planned for day in every_day):
        # what a hold stops is planned all the same, and said to be on hold
        ahead = words.KEY["on_hold" if r.coming.held else "to_come"]
        codes.append((words.CODES["fingers"], "planned", ahead))
    silent = any(not (day.codes or day.unreadable or day.ahead) for day in every_day)
    blank = words.KEY["nothing"] if silent else ""
    table = layout.calendar(words.TITLES["day_by_day"], heads, groups) + layout.key(codes, blank)
    if len(weeks) >= CALENDAR_WEEKS or r.short:
        return (layout.fold(words.TITLES["day_by_day"], "", table),)
    return (table,)


#: How much a code weighs in the calendar.
_WEIGHT: dict[str, layout.CodeKind] = {
    "test": "test",
    "fingers": "fingers",
    **dict.fromkeys(("rest", "ill", "away", "injured"), "rest"),
}


def _beside(remarks: list[str], notes: dict[Any, list[str]]) -> Fragment:
    """What stands beside a week: remarks, then the athlete's words in italics, by day."""
    parts: list[str | Fragment] = list(filter(None, [fmt.clauses(remarks)]))
    for date, texts in notes.items():
        weekday = words.weekday_head(date)
        parts.append(html.inline(weekday, html.quoted(fmt.clauses(texts))))
    return html.inline(*[p for part in parts for p in (fmt.clauses(("", "")), part)][1:])


def _day(day: Any) -> Fragment:
    if day.planned:
        return layout.codes([(words.CODES["fingers"], "planned")])
    codes: list[tuple[str, layout.CodeKind]] = [
        (words.CODES[c], _WEIGHT.get(c, "other")) for c in day.codes
    ]
    if day.unreadable:
        codes.append((words.KEY["unreadable_code"], "other"))
    return layout.codes(codes)


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
            "sessions": words.of_planned(w.sessions_done, w.sessions_planned),
            "sets": words.of_planned(w.sets_done, w.sets_planned),
            "time": fmt.minutes(w.tension_s) if w.tension_s else "",
            "harder": words.steps_in(steps.get(w.week, []), w.week),
            "note": ", ".join(words.remarks(w, minor=bool(r.athlete.minor))),
        }
        for w in records(r.done.weeks)
        if w.state != "ahead"
    ]
    return layout.table(
        rows,
        words.TITLES["by_week"],
        stack=True,
        columns={
            "week": HEADS["week"],
            "from": HEADS["from"],
            "sessions": HEADS["finger_sessions"],
            "sets": HEADS["sets"],
            "time": HEADS["time_under_load"],
            "harder": HEADS["load_or_edge_on_the_week_before"],
            "note": HEADS["note"],
        },
        numbers=["sessions", "sets", "time"],
    )


def _phase_table(r: BlockReview) -> Fragment:
    spans = records(r.done.spans)
    rows = [
        {
            "phase": p.phase or words.TITLES["no_phase"],
            "sessions": words.of_planned(p.sessions_done, p.sessions_planned),
            "sets": words.of_planned(p.sets_done, p.sets_planned),
            "time": fmt.minutes(p.tension_s) if p.tension_s else "",
            "harder": fmt.clauses(words.step(s) for s in spans if s.phase == p.phase),
        }
        for p in records(r.done.phases)
        if p.state != "ahead"
    ]
    return layout.table(
        rows,
        words.TITLES["by_phase"],
        stack=True,
        columns={
            "phase": HEADS["phase"],
            "sessions": HEADS["finger_sessions"],
            "sets": HEADS["sets"],
            "time": HEADS["time_under_load"],
            "harder": HEADS["load_or_edge_first_to_last_week"],
        },
        numbers=["sessions", "sets", "time"],
    )


def _week_rows(r: BlockReview) -> Fragment:
    counted: dict[int, list[tuple[str, int]]] = {}
    for row in records(r.done.rows):
        counted.setdefault(row.week, []).append((row.file, row.line))
    compared: dict[int, list[tuple[str, int]]] = {}
    for step in records(r.done.steps, "week", "rows"):
        compared.setdefault(step.week, []).extend(map(split_place, step.rows))
    of = {words.week(week): row_ranges(group) for week, group in sorted(counted.items())}
    of |= {words.step_week(week): row_ranges(group) for week, group in sorted(compared.items())}
    return rows_table(of, words.TITLES["rows_of_weeks"], HEADS["figures"])


def _swapped(r: BlockReview) -> pd.DataFrame:
    """What was done in place of the plan; nobody under 18 owes an all-out pull."""
    swaps = r.done.swaps
    if r.athlete.minor is not True:
        return swaps
    pulls = [
        kind == "exercise" and "pull" in plan
        for kind, plan in zip(swaps["kind"], swaps["plan"], strict=True)
    ]
    return swaps[[not x for x in pulls]]


def _swaps(r: BlockReview) -> Fragment:
    rows = [
        {"day": s.date.date(), "what": fmt.sentence(words.swap(s)), "row": s.row}
        for s in records(_swapped(r))
    ]
    return layout.fold(
        fmt.sentence(words.substitutions(len(rows))),
        "",
        layout.table(
            rows,
            words.TITLES["swaps"],
            columns={
                "day": HEADS["day"],
                "what": HEADS["what"],
                "row": HEADS["first_row_of_the_session"],
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
    return layout.fold(
        words.outside(n),
        "",
        layout.table(
            rows,
            words.TITLES["outside"],
            columns={
                "day": HEADS["day"],
                "what": HEADS["set"],
                "sets": HEADS["sets"],
                "row": HEADS["row_of_the_log"],
            },
        ),
    )


def _some_load(r: BlockReview) -> bool:
    """Whether any week's session load is known: without an effort they are all "0 or more"."""
    weeks = r.dose.weeks
    return bool(((weeks["load_au"] > 0) | weeks["complete"]).any())


def _week_table(r: BlockReview) -> Fragment:
    impulse = _impulse(r)
    rows_of = {
        words.week(week): row_ranges(zip(group["file"], group["line"], strict=True))
        for week, group in r.done.rows.groupby("week")
    }
    rows = [
        {
            "week": int(w.week),
            "load": words.week_load(w.load_au, complete=w.complete),
            "change": fmt.with_unit(w.change_pct, "%", 0, sign=True),
            "mean": fmt.number(w.mean4_au, 0),
            "monotony": fmt.number(w.monotony, 2, trim=False),
            "strain": fmt.number(w.strain, 0),
            **impulse.get(int(w.week), {"impulse": "", "rise": ""}),
            "note": words.load_note(w),
        }
        for w in r.dose.weeks.itertuples()
    ]
    return layout.fold(
        words.TITLES["session_load"],
        "",
        layout.table(
            rows,
            words.TITLES["load_by_block_week"],
            stack=True,
            columns={
                "week": HEADS["week"],
                "load": HEADS["load"],
                "change": HEADS["on_the_week_before"],
                "mean": HEADS["four_week_mean"],
                "monotony": HEADS["monotony"],
                "strain": HEADS["weekly_strain"],
                **(
                    {
                        "impulse": head_in("finger_impulse", fmt.mass_unit()),
                        "rise": HEADS["impulse_on_the_week_before"],
                    }
                    if impulse
                    else {}
                ),
                "note": HEADS["note"],
            },
            numbers=["load", "change", "mean", "monotony", "strain", "impulse", "rise"],
        ),
        html.paragraph(words.load_convention()),
        rows_table(rows_of, words.TITLES["rows_behind_loads"], HEADS["week"]),
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
    rows_of = {key: row_ranges(group) for key, group in places.items()}
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
    return layout.fold(
        words.TITLES["minutes"],
        "",
        layout.table(
            rows,
            words.TITLES["minutes_of_sessions"],
            stack=True,
            columns={
                "day": HEADS["day"],
                "kind": HEADS["kind_of_work"],
                "sets": HEADS["sets"],
                "logged": HEADS["minutes_logged"],
                "estimated": HEADS["estimated"],
                "rows": HEADS["rows_of_the_log"],
            },
            numbers=["logged", "estimated"],
            empty=words.TITLES["no_session"],
        ),
    )


def _kind_table(r: BlockReview) -> Fragment:
    kinds = [k for k in KINDS if r.dose.kinds[k].any() or k == "fingers"]
    planned = r.dose.targets
    kinds += [k for k in dict.fromkeys(planned["kind"]) if k not in kinds]
    targets = {(t.week, t.kind): t.planned for t in records(planned)}
    days_of = {k: r.dose.kinds[k].to_dict() for k in kinds}
    begun = r.done.weeks.loc[r.done.weeks["state"] != "ahead", "week"]
    rows = [
        {"week": int(w)}
        | {k: words.of_planned(days_of[k][w], float(targets.get((w, k), np.nan))) for k in kinds}
        for w in begun
    ]
    return layout.table(
        rows,
        words.TITLES["days_by_kind"],
        columns={"week": HEADS["week"], **{k: fmt.KIND_WORDS[k] for k in kinds}},
        numbers=kinds,
    )
