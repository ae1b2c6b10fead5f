"""Was the block done: plan against log by day, week and phase, and whether it got harder."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd

from gripbook.derive import count_sets, days_without, main_sets, week_of_day
from gripbook.derive.records import records
from gripbook.logs import Block
from gripbook.logs.schema import DAYS_WITHOUT, KINDS
from gripbook.words import fmt, mark, say, say_count


@dataclass(frozen=True, slots=True, eq=False)
class Done:
    """
    Plan against log.

    `weeks`: one row per block week: `week`, `start`, `phase`, `easy` and `test` (bool, planned as
    such), `sessions_planned`, `sessions_done`, `sets_planned`, `sets_done` (planned: NaN where
    the plan is silent), `tension_s`, `without` (words such as "ill 4 days"), `state` ("done",
    "part" where the log ends inside the week, "ahead" where it ends before).
    `phases`: the same summed by phase, weeks ahead left out.
    `outside`: sets that no phase asked for (warm-ups left out): `week`, `date`, `exercise`,
    `grip`, `hand`, `edge_mm`, `sets`, `file`, `line`.
    `days`: one row per block day: `date`, `week`, `kinds` (tuple of kinds of work, in the order of
    the log format), `without` (rest, ill, away, injured or ""), `ahead` (bool: after the log's
    last day).
    `steps`: whether load or edge got harder, one row per week and series that has a week before
    it in the same kind of work: `week`, `before` (the week compared with), `phase`, `exercise`,
    `grip`, `hand`, `edge_before_mm`, `edge_mm`, `board_before`, `board`, `step_kg` (of the added
    weight, or of the load where a scale or gauge read it), `step_pct` (of the load on the fingers;
    NaN where the edge or board changed, and throughout where body mass is hidden), `rows` (the two
    log rows). `spans`: the same from the first to the last week of each phase.
    `swaps`: what was done in place of the plan: `week`, `date`, `text`, `row`.
    `rows`: the log rows behind the counts: `week`, `file`, `line`.
    """

    weeks: pd.DataFrame
    phases: pd.DataFrame
    outside: pd.DataFrame
    days: pd.DataFrame
    steps: pd.DataFrame
    spans: pd.DataFrame
    swaps: pd.DataFrame
    rows: pd.DataFrame

    @property
    def sessions_done(self) -> int:
        """Finger sessions done in the block."""
        return int(self.weeks["sessions_done"].sum())

    @property
    def sessions_planned(self) -> int | None:
        """Finger sessions planned for the weeks that the log covers, None without a plan."""
        begun = self.weeks.loc[self.weeks["state"] != "ahead", "sessions_planned"]
        return None if begun.isna().all() else int(begun.sum())

    @property
    def missed_weeks(self) -> list[int]:
        """Weeks with sessions planned and none done."""
        w = self.weeks
        missed = (w["sessions_planned"] > 0) & (w["sessions_done"] == 0) & (w["state"] == "done")
        return [int(x) for x in w.loc[missed, "week"]]

    @property
    def harder(self) -> str:
        """
        Whether load or edge got harder from week to week, as counts in one sentence.

        Harder: more load on the same edge, or a smaller edge with no less load; easier: the other
        way round; both at once against each other, or another board, is not comparable. All-out
        pulls are left out: their load is a result, not a choice.
        """
        own = self.steps[self.steps["exercise"] != "pull"]
        if own.empty:
            return ""
        load = np.sign(own["step_kg"].where(own["step_kg"].abs() >= 0.05, 0.0 * own["step_kg"]))
        same_edge = (own["edge_mm"] == own["edge_before_mm"]) | own["edge_mm"].isna()
        edge = np.sign(own["edge_before_mm"] - own["edge_mm"]).where(~same_edge, 0.0)
        fits = (own["board"] == own["board_before"]) & load.notna() & (load * edge >= 0)
        way = (load + edge).where(fits)
        counts = {
            mark("{n} harder"): int((way > 0).sum()),
            mark("{n} the same"): int((way == 0).sum()),
            mark("{n} easier"): int((way < 0).sum()),
            mark("{n} not comparable"): int(way.isna().sum()),
        }
        told = [say(words, n=n) for words, n in counts.items() if n or words == "{n} harder"]
        return say(
            "Load or edge from week to week, grip by grip, in {comparisons}: {join} "
            "(hangs and repeaters; tests left out).",
            comparisons=fmt.count(len(own), "{n} comparison", "{n} comparisons"),
            join=", ".join(told),
        )


def compare_with_plan(
    sets: pd.DataFrame,
    sessions: pd.DataFrame,
    block: Block,
    last: pd.Timestamp,
    *,
    show_body_mass: bool = True,
) -> Done:
    """
    Compare one athlete's derived sets with the plan.

    Parameters
    ----------
    sets : derived sets; sessions : rows of sessions.csv; last : the log's last day.
    show_body_mass : where False no step is told in per cent, which beside the kilograms would
        give body mass away.
    """
    work = sets[sets["in_block"] & ~sets["warmup"]]
    sessions_done = work.drop_duplicates(["date", "session"]).groupby("week").size()
    week_on = dict(zip(work["date"], work["week"], strict=True))
    counted: Counter[int] = Counter()
    for (date, _, _), n in count_sets(work, block).items():
        counted[week_on[date]] += n
    tension = (work["tension_s"] * work["sets"]).groupby(work["week"]).sum()
    away = days_without(sessions)
    kinds_in: dict[int, Counter[str]] = {}
    for date, kind in _first_kinds(away).items():
        week = (date - pd.Timestamp(block.start)).days // 7 + 1
        kinds_in.setdefault(week, Counter())[kind] += 1
    rows: list[dict[str, object]] = []
    for week in range(1, block.weeks + 1):
        phases = [p for p in block.phases if p.holds_week(week) and p.exercise]
        start = pd.Timestamp(block.start) + pd.Timedelta(days=7 * (week - 1))
        asked = [p.sessions_per_week for p in phases if p.sessions_per_week is not None]
        asked_sets = [
            p.sessions_per_week * p.sets_per_session
            for p in phases
            if p.sessions_per_week is not None and p.sets_per_session is not None
        ]
        here = kinds_in.get(week, Counter()).most_common()
        words = [
            say(
                "{kind} {days}",
                kind=fmt.KIND_WORDS[kind],
                days=say_count(n, "{n} day", "{n} days", n=n),
            )
            for kind, n in here
            if kind != "rest"
        ]
        ends = start + pd.Timedelta(days=6)
        rows.append(
            {
                "week": week,
                "start": start,
                "phase": " + ".join(p.name for p in block.phases if p.holds_week(week)),
                "easy": week in block.easy_weeks,
                "test": week in block.test_weeks,
                "sessions_planned": float(sum(asked)) if asked else np.nan,
                "sessions_done": int(sessions_done.get(week, 0)),
                "sets_planned": float(sum(asked_sets)) if asked_sets else np.nan,
                "sets_done": int(counted.get(week, 0)),
                "tension_s": float(tension.get(week, 0.0)),
                "without": ", ".join(words),
                "state": "done" if last >= ends else "part" if last >= start else "ahead",
            }
        )
    weeks = pd.DataFrame(rows)
    begun = weeks[weeks["state"] != "ahead"]
    sums = ["sessions_planned", "sessions_done", "sets_planned", "sets_done", "tension_s"]
    phases_frame = begun.groupby("phase", sort=False)[sums].sum(min_count=1).reset_index()
    outside = work[~work["planned"]] if block.phases else work.iloc[:0]
    main = main_sets(sets)
    steps, spans = _steps(main, weekly=True), _steps(main, weekly=False)
    if not show_body_mass:
        steps, spans = steps.assign(step_pct=np.nan), spans.assign(step_pct=np.nan)
    return Done(
        weeks,
        phases_frame,
        outside[_OUTSIDE].reset_index(drop=True),
        _days(work, sessions, away, block, last),
        steps,
        spans,
        _swaps(work, block),
        _rows(sets, sessions, block),
    )


_OUTSIDE = ["week", "date", "exercise", "grip", "hand", "edge_mm", "sets", "file", "line"]


def _first_kinds(away: pd.DataFrame) -> dict[pd.Timestamp, str]:
    """The kind of each day without training, the first that was logged."""
    kinds: dict[pd.Timestamp, str] = {}
    for date, kind in zip(away["date"], away["kind"], strict=True):
        kinds.setdefault(date, kind)
    return kinds


def _days(
    work: pd.DataFrame,
    sessions: pd.DataFrame,
    away: pd.DataFrame,
    block: Block,
    last: pd.Timestamp,
) -> pd.DataFrame:
    """What was done on each day of the block, by kind."""
    dates = pd.date_range(block.start, block.end, freq="D")
    on: dict[pd.Timestamp, set[str]] = {}
    trained = sessions[sessions["kind"].isin(KINDS)]
    for date, kind in zip(trained["date"], trained["kind"], strict=True):
        on.setdefault(date, set()).add(kind)
    for date in work["date"]:
        on.setdefault(date, set()).add("fingers")
    without = _first_kinds(away)
    return pd.DataFrame(
        {
            "date": dates,
            "week": [i // 7 + 1 for i in range(len(dates))],
            "kinds": [tuple(k for k in KINDS if k in on.get(d, ())) for d in dates],
            "without": pd.Series([without.get(d, "") for d in dates], dtype="str"),
            "ahead": [d > last for d in dates],
        }
    )


_STEP_COLUMNS = [
    "week",
    "before",
    "phase",
    "exercise",
    "grip",
    "hand",
    "edge_before_mm",
    "edge_mm",
    "board_before",
    "board",
    "step_kg",
    "step_pct",
    "rows",
]


_SERIES = ("phase", "exercise", "grip", "hand")
_OF_STEP = ("week", "edge_mm", "board", "lever", "lever_kg", "load_kg", "file", "line")


def _steps(main: pd.DataFrame, *, weekly: bool) -> pd.DataFrame:
    """Each week's main set against the week before of its series, or a phase's last to first."""
    found: list[dict[str, object]] = []
    series: dict[tuple[str, ...], list[Any]] = {}
    for row in records(main, *_SERIES, *_OF_STEP):
        series.setdefault((row.phase, row.exercise, row.grip, row.hand), []).append(row)
    for (phase, exercise, grip, hand), own in series.items():
        own.sort(key=lambda row: row.week)
        pairs = list(pairwise(own))
        if not weekly:
            pairs = [(own[0], own[-1])] if len(own) > 1 else []
        for a, b in pairs:
            same_hold = _same(a.edge_mm, b.edge_mm) and a.board == b.board
            same_kind = a.lever == b.lever
            found.append(
                {
                    "week": b.week,
                    "before": a.week,
                    "phase": phase,
                    "exercise": exercise,
                    "grip": grip,
                    "hand": hand,
                    "edge_before_mm": a.edge_mm,
                    "edge_mm": b.edge_mm,
                    "board_before": a.board,
                    "board": b.board,
                    "step_kg": b.lever_kg - a.lever_kg if same_kind else np.nan,
                    "step_pct": 100.0 * (b.load_kg / a.load_kg - 1.0)
                    if same_hold and same_kind
                    else np.nan,
                    "rows": tuple(f"{x.file}:{x.line}" for x in (a, b)),
                }
            )
    steps = pd.DataFrame(found, columns=_STEP_COLUMNS)
    steps = steps.astype({"week": "int64", "step_kg": "float64", "step_pct": "float64"})
    return steps.sort_values("week", kind="stable").reset_index(drop=True)


def _same(a: float, b: float) -> bool:
    return bool(a == b or (np.isnan(a) and np.isnan(b)))


_OF_SWAP = ["date", "session", "week", "exercise", "grip", "hand", "edge_mm", "board"]
_OF_SWAP += ["planned", "test", "file", "line"]


def _swaps(work: pd.DataFrame, block: Block) -> pd.DataFrame:
    """
    Sessions with other work, another grip, edge or board than the plan's (the board: than most).

    Only where the plan names it is something swapped: a phase without targets leaves grip and
    edge to the athlete.
    """
    found: list[tuple[int, pd.Timestamp, str, str]] = []
    boards = work.groupby("board")["sets"].sum().sort_values(ascending=False, kind="stable")
    usual = str(boards.index[0]) if len(boards) else ""
    done: dict[tuple[pd.Timestamp, str], list[Any]] = {}
    for s in records(work, *_OF_SWAP):
        done.setdefault((s.date, s.session), []).append(s)
    for (date, _), own in sorted(done.items()):
        week = own[0].week
        row = f"{own[0].file}:{own[0].line}"
        wanted = [p for p in block.phases if p.holds_week(week) and p.exercise]
        kinds = list(dict.fromkeys(s.exercise for s in own))
        if wanted and not any(s.planned for s in own):
            instead = fmt.listing(fmt.EXERCISE_WORDS[k] for k in kinds)
            plan = fmt.one_of(fmt.EXERCISE_WORDS[str(p.exercise)] for p in wanted)
            found.append(
                (week, date, say("{instead} in place of {plan}", instead=instead, plan=plan), row)
            )
        for phase in wanted:
            plain = [s for s in own if s.exercise == phase.exercise and not s.test]
            if not phase.targets or not plain:
                continue
            grips = {t.grip for t in phase.targets}
            hung = list(dict.fromkeys(s.grip for s in plain))
            other = [g for g in hung if g not in grips]
            missed = [fmt.grip(g) for g in sorted(grips - set(hung))]
            if other and missed:
                instead = fmt.listing(fmt.grip(g) for g in other)
                found.append(
                    (
                        week,
                        date,
                        say(
                            "{instead} in place of {missed}",
                            instead=instead,
                            missed=fmt.listing(missed),
                        ),
                        row,
                    )
                )
            for target in phase.targets:
                there = [s for s in plain if (s.grip, s.hand) == (target.grip, target.hand)]
                edges = {s.edge_mm for s in there if not np.isnan(s.edge_mm)}
                if target.edge_mm is not None and edges and target.edge_mm not in edges:
                    mm = fmt.listing(fmt.number(e) for e in sorted(edges))
                    text = say(
                        "{grip} on {mm} mm in place of {edge_mm} mm",
                        grip=fmt.grip(target.grip),
                        mm=mm,
                        edge_mm=fmt.plain(target.edge_mm),
                    )
                    found.append((week, date, text, row))
        others = [b for b in dict.fromkeys(s.board for s in own) if b != usual]
        if others and usual:
            names = fmt.listing(b or say("not named") for b in others)
            found.append(
                (
                    week,
                    date,
                    say("board {names} in place of {usual}", names=names, usual=usual),
                    row,
                )
            )
    return pd.DataFrame(found, columns=["week", "date", "text", "row"])


def _rows(sets: pd.DataFrame, sessions: pd.DataFrame, block: Block) -> pd.DataFrame:
    """The rows of hangs.csv and sessions.csv that each week's counts rest on."""
    inside = sets.loc[sets["in_block"], ["week", "file", "line"]]
    first = week_of_day(sessions["date"], block)
    lasting = sessions["until"].notna() & sessions["kind"].isin(DAYS_WITHOUT)
    last = week_of_day(sessions["until"].where(lasting, sessions["date"]), block)
    spread = [
        (week, file, line)
        for a, b, file, line in zip(first, last, sessions["file"], sessions["line"], strict=True)
        for week in range(max(int(a), 1), min(int(b), block.weeks) + 1)
    ]
    other = pd.DataFrame(spread, columns=["week", "file", "line"])
    return (
        pd.concat([inside, other], ignore_index=True)
        if len(other)
        else inside.reset_index(drop=True)
    )
