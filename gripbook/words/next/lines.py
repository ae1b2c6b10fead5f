"""The plan in lines: in short by phase, and every session."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from gripbook.reviews.proposal import NextBlock, NextRow, Reason
from gripbook.words import Table, fmt, mark, say
from gripbook.words.block import WEEKDAYS
from gripbook.words.charts import short_day, short_month
from gripbook.words.next.tests import what_is_tested
from gripbook.words.next.weights import (
    aim_of,
    bare_weight,
    load_of,
    on_scale,
    percent,
    phase_name,
    pieces_text,
    plain_weight,
    read_left,
    row_load,
)

#: Grips as they stand beside a load where only one kind of open hand is planned.
_SHORT_GRIPS = Table({"open_four": mark("open hand"), "open_three": mark("open hand")})
#: The same where both are.
_EXACT_GRIPS = Table(
    {
        "open_four": mark("four-finger open hand"),
        "open_three": mark("three-finger open hand"),
    }
)


@dataclass(frozen=True, slots=True)
class PlanLine:
    """
    A line of the short plan.

    Attributes
    ----------
    weeks, days : `3–6`; `5, 8 May`, or from the first to the last day of several weeks.
    loads : each load and of which grip, hand or edge it is ("" where one holds for all).
    note : an easier week, a range to expect, rest before a test. `test`: the line is a test, whose
        load is the word and of what.
    """

    weeks: str
    days: str
    loads: tuple[tuple[str, str], ...]
    note: str
    test: bool = False


@dataclass(frozen=True, slots=True)
class PlanPhase:
    """A phase of the short plan: its name, its conditions said once, its lines."""

    name: str
    conditions: str
    lines: tuple[PlanLine, ...]


Series = tuple[str, str, float]


def plan_phases(plan: NextBlock) -> tuple[PlanPhase, ...]:
    """The plan by phase; weeks alike, and all weeks of a later phase, share a line."""
    names = list(dict.fromkeys(row.phase for row in plan.rows if not row.test))
    tests = [row for row in plan.rows if row.test]
    groups: dict[str, list[tuple[dt.date, PlanLine]]] = {name: [] for name in names}
    for name in names:
        rows = [row for row in plan.rows if row.phase == name and not row.test]
        groups[name] += _phase_lines(rows, plan)
    for day in dict.fromkeys(row.day for row in tests):
        of_day = [row for row in tests if row.day == day]
        line = _test_line(of_day, tests[0], plan)
        groups.setdefault(_phase_of_test(of_day[0], plan), []).append((day, line))
    out = []
    for name, lines in groups.items():
        rows = [row for row in plan.rows if row.phase == name and not row.test]
        ordered = sorted(lines, key=lambda of: of[0])
        out.append(
            PlanPhase(
                phase_name(name) if name else say("Test"),
                _conditions(rows),
                tuple(line for _, line in ordered),
            )
        )
    return tuple(out)


def _phase_of_test(test: NextRow, plan: NextBlock) -> str:
    """The phase whose work comes last before a test, else the first after it."""
    work = [row for row in plan.rows if not row.test]
    before = [row for row in work if row.day < test.day]
    return before[-1].phase if before else work[0].phase if work else ""


def _test_line(rows: Sequence[NextRow], first: NextRow, plan: NextBlock) -> PlanLine:
    row = rows[0]
    rest = plan.choices.rest_days_before_test
    if row.week != first.week and _series(row) == _series(first):
        again = say("as in week {week}", week=first.week)
        loads = ((say("test"), ""),)
        return PlanLine(str(row.week), short_day(row.day), loads, again, test=True)
    tested = what_is_tested(row.grip, [r.hand for r in rows], row.edge_mm)
    aims = list(dict.fromkeys(filter(None, (aim_of(r, plan) for r in rows))))
    rested = fmt.count(rest, "{n} rest day", "{n} rest days")
    return PlanLine(
        str(row.week),
        short_day(row.day),
        ((say("test"), f"{tested}, {_hold_text(row)}"),),
        say("to the limit, about {aims}", aims=fmt.listing(aims))
        if aims
        else say("to the limit, {rest} before", rest=rested),
        test=True,
    )


def _phase_lines(rows: Sequence[NextRow], plan: NextBlock) -> list[tuple[dt.date, PlanLine]]:
    order = _series_of(rows)
    weeks: dict[int, list[NextRow]] = {}
    for row in rows:
        weeks.setdefault(row.week, []).append(row)
    runs: list[list[int]] = []
    for week in weeks:
        if runs and _alike(weeks[runs[-1][-1]], weeks[week]) and week == runs[-1][-1] + 1:
            runs[-1].append(week)
        else:
            runs.append([week])
    return [
        _line([row for week in run for row in weeks[week]], run, rows, order, plan) for run in runs
    ]


def _alike(a: Sequence[NextRow], b: Sequence[NextRow]) -> bool:
    """Whether two weeks share a line: both only to expect, or with the same loads and sets."""
    if all(row.reason is Reason.LATER for row in (*a, *b)):
        return True
    return _week_key(a) == _week_key(b)


def _week_key(rows: Sequence[NextRow]) -> set[tuple[object, ...]]:
    # an easier week of the same load shares the line, whose note says so; an all-out pull has no
    # load, and one held back after a gap is named by its day
    return {
        (
            *_series(r),
            None if r.exercise == "pull" else r.low_kg,
            None if r.exercise == "pull" else r.high_kg,
            r.reason is Reason.RAMP,
            r.back,
        )
        for r in rows
    }


def _line(
    rows: Sequence[NextRow],
    weeks: Sequence[int],
    phase: Sequence[NextRow],
    order: Sequence[Series],
    plan: NextBlock,
) -> tuple[dt.date, PlanLine]:
    loads = [
        (_range_text([r for r in rows if _series(r) == key], plan), series_label(key, order))
        for key in order
        if any(_series(r) == key for r in rows)
    ]
    if len({text for text, _ in loads}) == 1:
        loads = [(loads[0][0], "")]
    else:
        loads = [(_unbroken(text), _unbroken(label)) for text, label in loads]
    days = sorted({row.day for row in rows})
    line = PlanLine(
        str(weeks[0]) if len(weeks) == 1 else f"{weeks[0]}\u2013{weeks[-1]}",
        _short_days(days, plan) if len(weeks) == 1 else _from_to(days),
        tuple(loads),
        _line_note(rows, weeks, phase, plan),
    )
    return days[0], line


def _line_note(
    rows: Sequence[NextRow], weeks: Sequence[int], phase: Sequence[NextRow], plan: NextBlock
) -> str:
    first = rows[0]
    notes = []
    easy = sorted({r.week for r in rows if r.easy})
    if easy and all(r.easy for r in phase):  # then the conditions name their sets
        notes.append(fmt.count(len(weeks), "easier week", "easier weeks"))
    elif easy:
        sets = _sets_in([r for r in rows if r.easy])
        notes.append(
            say("easier: {sets}", sets=sets)
            if len(weeks) == 1
            else say("{weeks} easier: {sets}", weeks=fmt.weeks(easy), sets=sets)
        )
    if first.exercise == "pull" and first.reason is not Reason.LATER:
        load = load_of(first, plan)
        if load is not None and load.kind == "expect" and load.force_kg is not None:
            notes.append(say("all out, on the scale") if read_left(load) else say("all out"))
        eased = sorted({r.day for r in rows if r.reason is Reason.PULL_GAP})
        if (load is not None and load.kind == "below") or len(eased) == len({r.day for r in rows}):
            notes.append(say("not all out"))
        elif eased:
            notes.append(
                say(
                    "on {day} not all out: at most {share} of the last",
                    day=short_day(eased[0]),
                    share=percent(plan.choices.pull_gap_share),
                )
            )
    if any(r.back for r in rows):
        notes.append(say("first week back: {sets}", sets=_sets_in([r for r in rows if r.back])))
    if math.isfinite(first.from_edge_mm):
        notes.append(say("{was} before", was=fmt.with_unit(first.from_edge_mm, "mm")))
    alone = len(_series_of(phase)) == 1
    if alone and first.pieces and first.low_kg is not None and first.low_kg < 0:
        notes.append(say("pulley: {pieces}", pieces=pieces_text(first.pieces, plan.units)))
    return fmt.clauses(notes)


def _sets_in(rows: Sequence[NextRow]) -> str:
    """How many sets of each series: 1 and 2 sets; 3 pulls each."""
    of = {_series(r): r.sets for r in rows}
    counts = [str(n) for n in of.values() if n is not None]
    if not counts:
        return say("fewer sets")
    pull = rows[0].exercise == "pull"
    if len(set(counts)) == 1:
        n = int(counts[0])
        text = (
            fmt.count(n, "{n} pull", "{n} pulls") if pull else fmt.count(n, "{n} set", "{n} sets")
        )
        return say("{sets} each", sets=text) if len(counts) > 1 else text
    listed = fmt.listing(counts)
    return say("{n} pulls", n=listed) if pull else say("{n} sets", n=listed)


def _range_text(rows: Sequence[NextRow], plan: NextBlock) -> str:
    """One series' load over some weeks, from the start to where the rule for adding may lead."""
    row = rows[0]
    load = load_of(row, plan)
    if load is not None and load.reason is Reason.AHEAD:
        return say("worked out once this block has had them")
    if row.exercise == "pull":
        eased = all(r.reason is Reason.PULL_GAP for r in rows)
        if eased or (load is not None and load.kind == "below"):
            kg = row.high_kg if eased or load is None else load.force_kg
            if kg is None:
                return say("clearly below the last pulls")
            if read_left(load):
                least = plain_weight(on_scale(kg, load), plan.units, sign=False, digits=0)
                return say("scale at least {least}", least=least)
            most = plain_weight(kg, plan.units, sign=False, digits=0)
            return say("at most {most}", most=most)
        if load is None or load.force_kg is None:
            return say("all out")
        if read_left(load):
            most = plain_weight(on_scale(load.force_kg, load), plan.units, sign=False, digits=0)
            return say("scale over {kg}: stop", kg=most)
        least = plain_weight(load.force_kg, plan.units, sign=False, digits=0)
        return say("stop below {kg}", kg=least)
    if row.reason is Reason.RAMP:
        return say("clearly easy: feet on something, or weight off")
    lows = [r.low_kg for r in rows if r.low_kg is not None]
    highs = [r.high_kg for r in rows if r.high_kg is not None]
    if not lows or not highs:
        return say("clearly easy")
    sign = not (load is not None and load.force_kg is not None)
    low, high = min(lows), max(highs)
    top = plain_weight(high, plan.units, sign=sign)
    if low == high:
        return top
    return say("{low} to {high}", low=bare_weight(low, plan.units, sign=sign), high=top)


def _series(row: NextRow) -> Series:
    # a missing edge is not equal to itself
    return row.grip, row.hand, row.edge_mm if math.isfinite(row.edge_mm) else -1.0


def _series_of(rows: Iterable[NextRow]) -> list[Series]:
    return list(dict.fromkeys(map(_series, rows)))


def series_label(key: Series, order: Sequence[Series], *, exact: bool = False) -> str:
    """What sets a series apart from the others of its phase: open hand; left; 15 mm."""
    grip, hand, edge = key
    grips = {of[0] for of in order}
    parts = []
    if len(grips) > 1:
        table = _EXACT_GRIPS if exact or {"open_four", "open_three"} <= grips else _SHORT_GRIPS
        parts.append(table.get(grip, fmt.grip(grip)))
    if len({of[1] for of in order}) > 1:
        parts.append(fmt.SIDE_WORDS[hand] if hand != "both" else fmt.HAND_WORDS[hand])
    if len({of[2] for of in order}) > 1 and edge > 0:
        parts.append(fmt.with_unit(edge, "mm"))
    return " ".join(parts)


def _conditions(rows: Sequence[NextRow]) -> str:
    """
    What holds for a whole phase, said once: half crimp, both hands, 20 mm; 5 × 10 s; 2 s left.
    """
    if not rows:
        return ""
    order = _series_of(rows)
    fullest: dict[Series, NextRow] = {}
    for row in rows:
        known = fullest.get(_series(row))
        if known is None or (row.sets or 0) > (known.sets or 0):
            fullest[_series(row)] = row
    work = {key: _unbroken(sets_text(row)) for key, row in fullest.items()}
    labels = {key: series_label(key, order, exact=True) for key in order}
    grip, hand, edge = order[0]
    common = []
    if len({of[0] for of in order}) == 1:
        common.append(fmt.grip(grip))
    if len({of[1] for of in order}) == 1:
        common.append(fmt.HAND_WORDS[hand])
    if len({of[2] for of in order}) == 1 and edge > 0:
        common.append(fmt.with_unit(edge, "mm"))
    parts = [", ".join(common)] if common else []
    if len(order) == 1:
        parts.append(work[order[0]])
    elif len(set(work.values())) == 1:
        sets = say("{sets} each", sets=work[order[0]])
        parts.append(f"{fmt.listing(labels.values())}, {sets}")
    else:
        parts.append(", ".join(f"{labels[key]} {work[key]}" for key in order))
    left = next((text for row in rows if (text := left_text(row))), "")
    if left:
        parts.append(say("leave {left}", left=left))
    return fmt.clauses(parts)


def _unbroken(text: str) -> str:
    """The text on one line."""
    return text.replace(" ", fmt.NBSP)


def _hold_text(row: NextRow) -> str:
    hold = fmt.with_unit(row.hang_s, "s") if row.hang_s is not None else ""
    if row.exercise == "pull":
        return say("one pull")
    if row.reps:
        return f"{row.reps} × {hold}" if hold else fmt.count(row.reps, "{n} hold", "{n} holds")
    return hold or say("as long as you can")


def _short_days(days: Sequence[dt.date], plan: NextBlock) -> str:
    """The days of a week: 21, 24 Apr; of a running week with their weekdays: Tue 3, Fri 6 Mar."""

    def number(day: dt.date) -> str:
        date = _day_alone(day)
        return f"{say(WEEKDAYS[day.weekday()])}{fmt.NBSP}{date}" if plan.week else date

    out = []
    for day, after in zip(days, [*days[1:], None], strict=True):
        named = after is None or after.month != day.month
        out.append(f"{number(day)}{fmt.NBSP}{short_month(day)}" if named else number(day))
    return ", ".join(out)


def _from_to(days: Sequence[dt.date]) -> str:
    if days[0].month == days[-1].month:
        return say("{first} to {last}", first=_day_alone(days[0]), last=short_day(days[-1]))
    return say("{first} to {last}", first=short_day(days[0]), last=short_day(days[-1]))


def _day_alone(day: dt.date) -> str:
    """A day whose month follows later: 9, and 9. where a language writes its dates so."""
    return say("{day}", day=day.day)


# --- every session --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class WeekLine:
    """One line of the table: a series in a week, its sessions taken together where alike."""

    week: int
    days: str
    phase: str
    what: str
    load: str
    sets: str
    left: str
    note: str
    sessions: int
    test: bool


def week_lines(plan: NextBlock) -> tuple[WeekLine, ...]:
    """The table of a proposal: week by week, what to do on which days."""
    groups: dict[tuple[object, ...], list[NextRow]] = {}
    for row in plan.rows:
        key = (row.week, row.phase, row.exercise, row.grip, row.hand, str(row.edge_mm), row.sets)
        groups.setdefault((*key, row.test, row.reason, row.low_kg, row.high_kg), []).append(row)
    return tuple(_week_line(rows, plan) for rows in groups.values())


def week_head(week: int, plan: NextBlock) -> str:
    """The line over a week's sessions: Week 4 (easier)."""
    if week in plan.easy_weeks:
        return say("Week {week} (easier)", week=week)
    return say("Week {week}", week=week)


def _week_line(rows: Sequence[NextRow], plan: NextBlock) -> WeekLine:
    row = rows[0]
    return WeekLine(
        week=row.week,
        days=_days(rows),
        phase=phase_name(row.phase) if row.phase else say("Test"),
        what=fmt.series(row.grip, row.hand, row.edge_mm),
        load=row_load(row, plan),
        sets=sets_text(row),
        left=left_text(row),
        note=note_text(row),
        sessions=len(rows),
        test=row.test,
    )


def _days(rows: Sequence[NextRow]) -> str:
    return ", ".join(
        f"{say(fmt.WEEKDAYS[row.day.weekday()])}{fmt.NBSP}{fmt.day(row.day, year=False)}"
        for row in rows
    )


def sets_text(row: NextRow, *, whole: bool = False) -> str:
    """
    Sets and their length: 5 × 10 s; 3 × 6 × 7/3 s; 6 pulls.

    With `whole` the rest between holds in words: 3 × 6 × 7 s, 3 s off.
    """
    n = "–" if row.sets is None else str(row.sets)
    hold = fmt.with_unit(row.hang_s, "s") if row.hang_s is not None else ""
    if row.exercise == "pull":
        return say("{n} pulls", n=n) if row.sets != 1 else say("one pull")
    if row.reps and hold and row.rest_s:
        if whole:
            rest = fmt.with_unit(row.rest_s, "s")
            return say("{sets}, {rest} off", sets=f"{n} × {row.reps} × {hold}", rest=rest)
        return f"{n} × {row.reps} × {fmt.number(row.hang_s or 0)}/{fmt.with_unit(row.rest_s, 's')}"
    if row.reps:
        return f"{n} × {row.reps} × {hold}" if hold else f"{n} × {row.reps}"
    return f"{n} × {hold}" if hold else n


def left_text(row: NextRow) -> str:
    """What should be left after the last set."""
    if row.test:
        return ""
    if row.left_reps is not None:
        return fmt.count(row.left_reps, "one hold", "{n} holds")
    return fmt.with_unit(row.left_s, "s") if row.left_s is not None else ""


def note_text(row: NextRow) -> str:
    """What is special about a row."""
    if row.test:
        return say("test, rested")
    if row.back:
        return say("first week back: fewer sets")
    if row.easy:
        return fmt.count(1, "easier week", "easier weeks")
    if math.isfinite(row.from_edge_mm):
        return say("{was} before", was=fmt.with_unit(row.from_edge_mm, "mm"))
    return ""
