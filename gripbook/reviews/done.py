"""Was the block done: plan against log by day, week and phase, and whether it got harder."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from itertools import groupby, pairwise
from pathlib import PurePosixPath
from typing import Any, Literal, NamedTuple

import numpy as np
import pandas as pd

from gripbook.derive import count_sets, days_without, main_sets
from gripbook.derive.records import frame_of, records
from gripbook.logs import Block, Problem
from gripbook.logs.schema import CLEARED, DAYS_WITHOUT, KINDS
from gripbook.reviews.state import State, due_in_week, state_of


class DayCode(StrEnum):
    """What a day of the calendar holds, in the order in which a day shows them."""

    TEST = "test"
    FINGERS = "fingers"
    CORE = "core"
    ANTAGONIST = "antagonist"
    MOBILITY = "mobility"
    CLIMBING = "climbing"
    OTHER = "other"
    REST = "rest"
    ILL = "ill"
    AWAY = "away"
    INJURED = "injured"
    CLEARED = "cleared"


WeekState = Literal["done", "part", "ahead"]
SwapKind = Literal["exercise", "grip", "edge", "board"]


class Sessions(NamedTuple):
    """
    Finger sessions of some weeks.

    `done`, `planned`, `unreadable` (days whose rows could not be read, neither done nor missed) and
    `missing` (due, and neither done nor unreadable).
    """

    done: int
    planned: int
    unreadable: int
    missing: int


class Comparisons(NamedTuple):
    """Steps of load or edge from week to week, hangs and repeaters, grip by grip."""

    harder: int
    same: int
    easier: int
    not_comparable: int

    @property
    def total(self) -> int:
        """How many steps there are."""
        return sum(self)


@dataclass(frozen=True, slots=True, eq=False)
class Done:
    """
    Plan against log.

    Parameters
    ----------
    state : where the block stands at the log's last day.
    weeks : DataFrame, one row per block week: `week`, `start`, `phase`, `easy` and `test` (bool,
        planned as such), `sessions_planned`, `sets_planned` (NaN where the plan is silent),
        `sessions_due`, `sets_due` (of them what the log's last day leaves no more time for; 0 in
        weeks ahead), `sessions_done`, `sets_done`, `sessions_unreadable` (days with refused rows
        of hangs.csv and no others), `sessions_missing` (due, neither done nor unreadable),
        `tension_s`, `without` (tuple of (kind, days), rest left out, most days first), `state`
        ("done", "part" where the log ends inside the week, "ahead" where it ends before).
    phases : DataFrame, one row per run of weeks of one phase (a running block's later phases too):
        `phase`, `first_week`, `last_week`, `state`, and the sums of the columns of `weeks`.
    outside : DataFrame, sets that no phase asked for (warm-ups left out): `week`, `date`,
        `exercise`, `grip`, `hand`, `edge_mm`, `sets`, `file`, `line`.
    days : DataFrame, one row per block day: `date`, `week`, `codes` (tuple of `DayCode`; a day
        with a marked test holds TEST in place of FINGERS; a climb counts as climbing), `logged`
        (bool: any row of work, rest or climbs, read or not), `unreadable` (bool: a row of
        hangs.csv was refused), `planned` (bool: a weekday ahead on which sessions of a running
        block fell most often so far; the plan itself names no days), `ahead` (bool: after the
        log's last day).
    steps : DataFrame, whether load or edge got harder, one row per week and series that has a week
        before it in the same kind of work: `week`, `before` (the week compared with), `phase`,
        `exercise`, `grip`, `hand`, `edge_before_mm`, `edge_mm`, `board_before`, `board`, `step_kg`
        (of the added weight, or of the load where a scale or gauge read it), `step_pct` (of the
        load on the fingers; NaN where the edge or board changed, and throughout where body mass is
        hidden), `rows` (the two log rows).
    spans : DataFrame, the same from the first to the last week of each phase.
    swaps : DataFrame, what was done in place of the plan: `week`, `date`, `kind` (exercise, grip,
        edge, board), `grip` (of an edge), `instead`, `plan` (tuples of names as logged, or of mm),
        `row` (first log row of the session).
    refused : DataFrame, rows of this athlete that were not used: `name` (file of the format),
        `date` (NaT: not readable), `file`, `line`, `column`, `value`, `session` (bool: counted as a
        session with rows that could not be read).
    rows : DataFrame, the log rows behind the counts: `week`, `file`, `line`.
    """

    state: State
    weeks: pd.DataFrame
    phases: pd.DataFrame
    outside: pd.DataFrame
    days: pd.DataFrame
    steps: pd.DataFrame
    spans: pd.DataFrame
    swaps: pd.DataFrame
    refused: pd.DataFrame
    rows: pd.DataFrame

    @property
    def sessions_done(self) -> int:
        """Finger sessions done in the block."""
        return int(self.weeks["sessions_done"].sum())

    @property
    def sessions_planned(self) -> int | None:
        """Finger sessions that were due by the log's last day, None without a plan."""
        if self.weeks["sessions_planned"].isna().all():
            return None
        return int(self.weeks["sessions_due"].sum())

    @property
    def over(self) -> Sessions:
        """Finger sessions of the weeks that are over; of all weeks once the block has ended."""
        return _sum_sessions(self.weeks[self.weeks["week"] != self._open_week], "sessions_due")

    @property
    def this_week(self) -> Sessions | None:
        """Finger sessions of the week that a running block's log ends in, None where it is over."""
        week = self.weeks[self.weeks["week"] == self._open_week]
        return _sum_sessions(week, "sessions_planned") if len(week) else None

    @property
    def _open_week(self) -> int:
        parts = self.weeks.loc[self.weeks["state"] == "part", "week"]
        return int(parts.iloc[0]) if self.state.running and len(parts) else 0

    @property
    def missing(self) -> dict[int, int]:
        """Finger sessions missing by block week, weeks without any left out."""
        short = self.weeks[self.weeks["sessions_missing"] > 0]
        return {
            int(w): int(n) for w, n in zip(short["week"], short["sessions_missing"], strict=True)
        }

    @property
    def unreadable_sessions(self) -> int:
        """Days of the block with refused finger rows and no others."""
        return int(self.weeks["sessions_unreadable"].sum())

    @property
    def days_without(self) -> pd.Series:
        """Days ill, injured or away of each block week, in the order of `weeks`."""
        return self.weeks["without"].map(lambda kinds: sum(days for _, days in kinds))

    @property
    def missed_weeks(self) -> list[int]:
        """Weeks that are over with sessions planned, none done and no rows that were refused."""
        w = self.weeks
        none = (w["sessions_done"] == 0) & (w["sessions_unreadable"] == 0)
        return [
            int(x) for x in w.loc[none & (w["sessions_due"] > 0) & (w["state"] == "done"), "week"]
        ]

    @property
    def comparisons(self) -> Comparisons:
        """
        Whether load or edge got harder from week to week.

        Harder: more load on the same edge, or a smaller edge with no less load; easier: the other
        way round; both at once against each other, or another board, is not comparable. All-out
        pulls are left out: their load is a result, not a choice.
        """
        s = self.steps[self.steps["exercise"] != "pull"]
        load = np.sign(s["step_kg"].where(s["step_kg"].abs() >= 0.05, 0.0 * s["step_kg"]))
        same_edge = (s["edge_mm"] == s["edge_before_mm"]) | s["edge_mm"].isna()
        edge = np.sign(s["edge_before_mm"] - s["edge_mm"]).where(~same_edge, 0.0)
        fits = (s["board"] == s["board_before"]) & load.notna() & (load * edge >= 0)
        way = (load + edge).where(fits)
        return Comparisons(
            int((way > 0).sum()), int((way == 0).sum()), int((way < 0).sum()), int(way.isna().sum())
        )


def _sum_sessions(weeks: pd.DataFrame, planned: str) -> Sessions:
    columns = ("sessions_done", planned, "sessions_unreadable", "sessions_missing")
    return Sessions(*(int(weeks[c].sum()) for c in columns))


def compare_with_plan(
    sets: pd.DataFrame,
    sessions: pd.DataFrame,
    block: Block,
    last: pd.Timestamp,
    *,
    climbs: pd.DataFrame | None = None,
    problems: Iterable[Problem] = (),
    show_body_mass: bool = True,
) -> Done:
    """
    Compare one athlete's derived sets with the plan.

    Parameters
    ----------
    sets : derived sets.
    sessions : rows of sessions.csv.
    last : the log's last day.
    climbs : rows of climbs.csv, whose days are days of climbing.
    problems : the athlete's problems; refused rows of hangs.csv with a day that can be read are
        neither done nor missed.
    show_body_mass : where False no step is given in per cent, which beside the kilograms would give
        body mass away.
    """
    work = sets[sets["in_block"] & ~sets["warmup"]]
    refused = _refused(problems, work, block)
    weeks = _weeks(work, sessions, refused, block, last)
    within = min(max(block.week_of(last.date()), 1), block.weeks)
    state = state_of(block, last, int(weeks["sessions_done"].iloc[within - 1]))
    main = main_sets(sets)
    steps, spans = _steps(main, weekly=True), _steps(main, weekly=False)
    if not show_body_mass:
        steps, spans = steps.assign(step_pct=np.nan), spans.assign(step_pct=np.nan)
    outside = work[~work["planned"]] if block.phases else work.iloc[:0]
    return Done(
        state=state,
        weeks=weeks,
        phases=_phases(weeks),
        outside=outside[_OUTSIDE].reset_index(drop=True),
        days=_days(work, sessions, climbs, refused, weeks, block, state),
        steps=steps,
        spans=spans,
        swaps=_swaps(work, block),
        refused=refused,
        rows=_rows(sets, sessions, block),
    )


#: A week with so many days ill, injured or away is not asked for its sessions (own choice, no
#: source).
MOST_OF_A_WEEK = 4

_OUTSIDE = ["week", "date", "exercise", "grip", "hand", "edge_mm", "sets", "file", "line"]
_REFUSED = {
    "name": "str",
    "date": "datetime64[us]",
    "file": "str",
    "line": "int64",
    "column": "str",
    "value": "str",
    "session": "bool",
}


def _refused(problems: Iterable[Problem], work: pd.DataFrame, block: Block) -> pd.DataFrame:
    """Each refused row once, with whether its day counts as a session that could not be read."""
    done = set(work["date"])
    first, end = pd.Timestamp(block.start), pd.Timestamp(block.end)
    rows: dict[tuple[str, int], tuple[object, ...]] = {}
    for p in problems:
        if p.severity != "error":
            continue
        name = PurePosixPath(p.file).stem.lower()
        day = pd.NaT if p.day is None else pd.Timestamp(p.day)
        session = name == "hangs" and first <= day <= end and day not in done
        rows.setdefault((p.file, p.line), (name, day, p.file, p.line, p.column, p.value, session))
    return frame_of(rows.values(), _REFUSED)


_SUMS = ["sessions_planned", "sets_planned", "sessions_due", "sets_due", "sessions_done"]
_SUMS += ["sets_done", "sessions_unreadable", "sessions_missing", "tension_s"]


def _weeks(
    work: pd.DataFrame,
    sessions: pd.DataFrame,
    refused: pd.DataFrame,
    block: Block,
    last: pd.Timestamp,
) -> pd.DataFrame:
    rows_of_work = records(work, "date", "session", "week", "tension_s", "sets")
    sessions_done = Counter(week for _, _, week in {row[:3] for row in rows_of_work})
    week_on = {row.date: row.week for row in rows_of_work}
    counted: Counter[int] = Counter()
    for (date, _, _), n in count_sets(work, block).items():
        counted[week_on[date]] += n
    tension: dict[int, list[float]] = {}
    for row in rows_of_work:
        if not math.isnan(row.tension_s):
            tension.setdefault(row.week, []).append(row.tension_s * row.sets)
    unread = Counter(
        block.week_of(day.date()) for day in set(refused.loc[refused["session"], "date"])
    )
    kinds_in: dict[int, Counter[str]] = {}
    for date, kind in _first_kinds(days_without(sessions)).items():
        kinds_in.setdefault(block.week_of(date.date()), Counter())[kind] += 1
    rest_days = block.limits.rest_days_between_finger_days
    rows: list[dict[str, object]] = []
    for week in range(1, block.weeks + 1):
        phases = [p for p in block.phases if p.holds_week(week) and p.exercise]
        start = pd.Timestamp(block.start) + pd.Timedelta(days=7 * (week - 1))
        end = start + pd.Timedelta(days=6)
        asked = [p for p in phases if p.sessions_per_week is not None]
        planned = float(sum(p.sessions_per_week or 0 for p in asked)) if asked else np.nan
        with_sets = [p for p in asked if p.sets_per_session is not None]
        sets_planned = (
            float(sum((p.sessions_per_week or 0) * (p.sets_per_session or 0) for p in with_sets))
            if with_sets
            else np.nan
        )
        state: WeekState = "done" if last >= end else "part" if last >= start else "ahead"
        done, unreadable = sessions_done[week], unread[week]
        due = 0.0
        if state != "ahead":
            # what was done of the plan was due, however many days are left
            due = max(due_in_week(planned, (end - last).days, rest_days), min(done, planned))
        rows.append(
            {
                "week": week,
                "start": start,
                "phase": " + ".join(p.name for p in block.phases if p.holds_week(week)),
                "easy": week in block.easy_weeks,
                "test": week in block.test_weeks,
                "sessions_planned": planned,
                "sessions_due": due,
                "sessions_done": done,
                "sessions_unreadable": unreadable,
                "sessions_missing": max(0, int(np.nan_to_num(due)) - done - unreadable),
                "sets_planned": sets_planned,
                "sets_due": sets_planned * due / planned if planned else 0.0,
                "sets_done": counted[week],
                "tension_s": math.fsum(tension.get(week, ())),
                "without": tuple(
                    (kind, n)
                    for kind, n in kinds_in.get(week, Counter()).most_common()
                    if kind != "rest"
                ),
                "state": state,
            }
        )
    return pd.DataFrame(rows)


def _phases(weeks: pd.DataFrame) -> pd.DataFrame:
    rows = []
    for phase, run in groupby(records(weeks), key=lambda week: week.phase):
        run_weeks = list(run)
        states = {week.state for week in run_weeks}
        rows.append(
            {
                "phase": phase,
                "first_week": run_weeks[0].week,
                "last_week": run_weeks[-1].week,
                "state": states.pop() if len(states) == 1 else "part",
                **{name: _sum([getattr(week, name) for week in run_weeks]) for name in _SUMS},
            }
        )
    return pd.DataFrame(rows)


def _sum(figures: list[float]) -> float:
    """The sum of what is known, NaN where nothing is."""
    known = [x for x in figures if not math.isnan(x)]
    return float(sum(known)) if known else math.nan


def _first_kinds(away: pd.DataFrame) -> dict[pd.Timestamp, str]:
    """The kind of each day without training, the first that was logged."""
    kinds: dict[pd.Timestamp, str] = {}
    for date, kind in zip(away["date"], away["kind"], strict=True):
        kinds.setdefault(date, kind)
    return kinds


def _days(
    work: pd.DataFrame,
    sessions: pd.DataFrame,
    climbs: pd.DataFrame | None,
    refused: pd.DataFrame,
    weeks: pd.DataFrame,
    block: Block,
    state: State,
) -> pd.DataFrame:
    """What was done on each day of the block, by kind."""
    dates = pd.date_range(block.start, block.end, freq="D").astype("datetime64[us]")
    days = list(dates)
    on: dict[pd.Timestamp, set[str]] = {}
    for date, kind in records(sessions, "date", "kind"):
        if kind in KINDS or kind == CLEARED:
            on.setdefault(date, set()).add(kind)
    for date, test in records(work, "date", "test"):
        on.setdefault(date, set()).add("test" if test else "fingers")
    for date in () if climbs is None else climbs["date"]:
        on.setdefault(date, set()).add("climbing")
    for kinds in on.values():
        if "test" in kinds:
            kinds.discard("fingers")
    for date, kind in _first_kinds(days_without(sessions)).items():
        # a day said to be without is told by what was done on it all the same
        if not on.get(date, set()) - {CLEARED}:
            on.setdefault(date, set()).add(kind)
    unread = set(refused.loc[refused["name"] == "hangs", "date"])
    expected = _usual_days(work, weeks, block, state)
    return pd.DataFrame(
        {
            "date": dates,
            "week": [i // 7 + 1 for i in range(len(days))],
            "codes": [tuple(c for c in DayCode if c in on.get(d, ())) for d in days],
            "logged": [bool(on.get(d)) or d in unread for d in days],
            "unreadable": [d in unread for d in days],
            "planned": [d in expected for d in days],
            "ahead": dates > state.last,
        }
    )


def _usual_days(
    work: pd.DataFrame, weeks: pd.DataFrame, block: Block, state: State
) -> set[pd.Timestamp]:
    """Days ahead on which a running block's sessions would fall, by the weekdays used so far."""
    if not state.running:
        return set()
    used = Counter((d - pd.Timestamp(block.start)).days % 7 for d in set(work["date"]))
    gap = block.limits.rest_days_between_finger_days + 1
    expected: set[pd.Timestamp] = set()
    for w in records(weeks[weeks["state"] != "done"]):
        still = int(np.nan_to_num(w.sessions_planned)) - int(w.sessions_done)
        for place, _ in sorted(used.items(), key=lambda x: (-x[1], x[0])):
            day = w.start + pd.Timedelta(days=place)
            near = expected | set(work["date"])
            if still > 0 and day > state.last and all(abs((day - d).days) >= gap for d in near):
                expected.add(day)
                still -= 1
    return expected


_STEP_TYPES = {
    "week": "int64",
    "before": "int64",
    "phase": "str",
    "exercise": "str",
    "grip": "str",
    "hand": "str",
    "edge_before_mm": "float64",
    "edge_mm": "float64",
    "board_before": "str",
    "board": "str",
    "step_kg": "float64",
    "step_pct": "float64",
    "rows": "object",
}


_SERIES = ("phase", "exercise", "grip", "hand")
_OF_STEP = ("week", "edge_mm", "board", "lever", "lever_kg", "load_kg", "file", "line")


def _steps(main: pd.DataFrame, *, weekly: bool) -> pd.DataFrame:
    """Each week's main set against the week before of its series, or a phase's last to first."""
    compared: list[tuple[Any, ...]] = []
    series: dict[tuple[str, ...], list[Any]] = {}
    for row in records(main, *_SERIES, *_OF_STEP):
        series.setdefault((row.phase, row.exercise, row.grip, row.hand), []).append(row)
    for (phase, exercise, grip, hand), rows in series.items():
        rows.sort(key=lambda row: row.week)
        pairs = list(pairwise(rows))
        if not weekly:
            pairs = [(rows[0], rows[-1])] if len(rows) > 1 else []
        for a, b in pairs:
            same_hold = _same(a.edge_mm, b.edge_mm) and a.board == b.board
            same_kind = a.lever == b.lever
            kg = b.lever_kg - a.lever_kg if same_kind else np.nan
            pct = 100.0 * (b.load_kg / a.load_kg - 1.0) if same_hold and same_kind else np.nan
            holds = (a.edge_mm, b.edge_mm, a.board, b.board)
            places = tuple(f"{x.file}:{x.line}" for x in (a, b))
            compared.append((b.week, a.week, phase, exercise, grip, hand, *holds, kg, pct, places))
    compared.sort(key=lambda step: step[0])
    return frame_of(compared, _STEP_TYPES)


def _same(a: float, b: float) -> bool:
    return bool(a == b or (np.isnan(a) and np.isnan(b)))


_OF_SWAP = ["date", "session", "week", "exercise", "grip", "hand", "edge_mm", "board"]
_OF_SWAP += ["planned", "test", "file", "line"]
_SWAP_COLUMNS = ["week", "date", "kind", "grip", "instead", "plan", "row"]


def _swaps(work: pd.DataFrame, block: Block) -> pd.DataFrame:
    """
    Sessions with other work, another grip, edge or board than the plan's (the board: than most).

    Only where the plan names it is something swapped: a phase without targets leaves grip and
    edge to the athlete.
    """
    rows: list[tuple[object, ...]] = []
    boards = work.groupby("board")["sets"].sum().sort_values(ascending=False, kind="stable")
    usual = str(boards.index[0]) if len(boards) else ""
    done: dict[tuple[pd.Timestamp, str], list[Any]] = {}
    for s in records(work, *_OF_SWAP):
        done.setdefault((s.date, s.session), []).append(s)
    for (date, _), sets in sorted(done.items()):
        week, row = sets[0].week, f"{sets[0].file}:{sets[0].line}"

        def add(
            kind: SwapKind,
            instead: Iterable[object],
            plan: Iterable[object],
            grip: str = "",
            *,
            of: tuple[object, ...] = (week, date),
            at: str = row,
        ) -> None:
            rows.append((*of, kind, grip, tuple(instead), tuple(plan), at))

        wanted = [p for p in block.phases if p.holds_week(week) and p.exercise]
        if wanted and not any(s.planned for s in sets):
            add(
                "exercise",
                dict.fromkeys(s.exercise for s in sets),
                (str(p.exercise) for p in wanted),
            )
        for phase in wanted:
            plain = [s for s in sets if s.exercise == phase.exercise and not s.test]
            if not phase.targets or not plain:
                continue
            grips = {t.grip for t in phase.targets}
            hung = list(dict.fromkeys(s.grip for s in plain))
            other, missed = [g for g in hung if g not in grips], sorted(grips - set(hung))
            if other and missed:
                add("grip", other, missed)
            for target in phase.targets:
                there = [s for s in plain if (s.grip, s.hand) == (target.grip, target.hand)]
                edges = {s.edge_mm for s in there if not np.isnan(s.edge_mm)}
                if target.edge_mm is not None and edges and target.edge_mm not in edges:
                    add("edge", sorted(edges), [target.edge_mm], target.grip)
        others = [b for b in dict.fromkeys(s.board for s in sets) if b != usual]
        if others and usual:
            add("board", others, [usual])
    return pd.DataFrame(rows, columns=_SWAP_COLUMNS)


def _rows(sets: pd.DataFrame, sessions: pd.DataFrame, block: Block) -> pd.DataFrame:
    """The rows of hangs.csv and sessions.csv that each week's counts rest on."""
    inside = sets.loc[sets["in_block"], ["week", "file", "line"]]
    spread = []
    for row in records(sessions, "date", "until", "kind", "file", "line"):
        lasting = row.until is not pd.NaT and row.kind in DAYS_WITHOUT
        first, last = (
            block.week_of(day.date()) for day in (row.date, row.until if lasting else row.date)
        )
        weeks = range(max(first, 1), min(last, block.weeks) + 1)
        spread += [(week, row.file, row.line) for week in weeks]
    other = pd.DataFrame(spread, columns=["week", "file", "line"])
    return (
        pd.concat([inside, other], ignore_index=True)
        if len(other)
        else inside.reset_index(drop=True)
    )


def weeks_table(done: Done, dose_weeks: pd.DataFrame) -> pd.DataFrame:
    """
    Plan, work and load by block week as a tidy frame.

    Parameters
    ----------
    dose_weeks : `Dose.weeks`.

    Returns
    -------
    DataFrame, one row per block week: `week`, `start`, `phase`, `state`, `easy`, `test`,
    `sessions_planned`, `sessions_due`, `sessions_done`, `sessions_unreadable`, `sessions_missing`,
    `sets_planned`, `sets_due`, `sets_done`, `tension_s`, `days_without` (ill, away or injured),
    and of the session load `load_au`, `load_complete` (bool), `change_pct`, `mean4_au`, `monotony`,
    `strain` (NaN where not computed).
    """
    weeks = done.weeks.assign(days_without=done.days_without)
    load = dose_weeks.rename(columns={"complete": "load_complete"})
    columns = ["load_au", "load_complete", "change_pct", "mean4_au", "monotony", "strain"]
    table = weeks.drop(columns="without").merge(load[["week", *columns]], on="week", how="left")
    complete = [bool(c) if c == c else False for c in table["load_complete"]]
    return table.assign(load_complete=complete)


_SETS = ["date", "week", "phase", "session", "order", "sets", "exercise", "test", "warmup", "grip"]
_SETS += ["hand", "edge_mm", "board", "shown_kg", "shown_as", "hang_s", "reps", "reps_done"]
_SETS += ["failed_s", "stopped", "reserve_s", "reserve_reps", "outcome", "note", "file", "line"]


def sets_table(shown: pd.DataFrame) -> pd.DataFrame:
    """
    Sets of the block as a tidy frame, holding only what the page may show.

    Parameters
    ----------
    shown : `BlockReview.sets`.

    Returns
    -------
    DataFrame, one row per row of hangs.csv in the block, in order: its columns as logged, `week`,
    `phase`, `outcome`, and `shown_kg` with `shown_as` (which weight it is).
    """
    return shown.loc[shown["in_block"], _SETS].reset_index(drop=True)
