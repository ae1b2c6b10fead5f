"""Days and weeks: session load, weekly sums, monotony, frequency, spacing, finger work."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from gripbook.derive.records import frame_of, records
from gripbook.logs import Block
from gripbook.logs.block import SET_REST_S
from gripbook.logs.schema import CLEARED, DAYS_WITHOUT, KINDS

#: A climbing session rated at least this (0 to 10) loads the fingers like a finger day
#: (common practice, no source).
HARD_CLIMBING_EFFORT = 7.0


def session_load(sessions: pd.DataFrame) -> pd.Series:
    """
    Session RPE times minutes, in arbitrary units (NaN where either is not recorded).

    Source: Foster et al. 2001, J Strength Cond Res 15(1):109-115.
    """
    load: pd.Series = sessions["effort"] * sessions["minutes"]
    return load.rename("load_au")


_DAY = pd.Timedelta(days=1)


def days_without(sessions: pd.DataFrame) -> pd.DataFrame:
    """Each day logged as rest, ill, away or injured: `date` and `kind`, ranges written out."""
    out: list[tuple[pd.Timestamp, str]] = []
    for date, until, kind in records(sessions, "date", "until", "kind"):
        if kind not in DAYS_WITHOUT:
            continue
        day, last = date, date if until is pd.NaT else until
        while day <= last:
            out.append((day, kind))
            day += _DAY
    return frame_of(out, {"date": "datetime64[us]", "kind": "str"})


def week_of_day(dates: pd.Series, block: Block) -> pd.Series:
    """Block week of each day, from 1; 0 or less before the block, above its weeks after it."""
    weeks: pd.Series = (dates - pd.Timestamp(block.start)).dt.days // 7 + 1
    return weeks.astype("int64").rename("week")


def last_logged_day(*frames: pd.DataFrame) -> dt.date | None:
    """The latest day (`date`, or `until` where given) in any of the frames, None without rows."""
    days = [frame["date"].max() for frame in frames if len(frame)]
    # `until` says something only on days without training
    ends = [f.loc[f["kind"].isin(DAYS_WITHOUT), "until"].max() for f in frames if "until" in f]
    days += [end for end in ends if not pd.isna(end)]
    return max(days).date() if days else None


def daily_load(
    sessions: pd.DataFrame, sets: pd.DataFrame, first: dt.date, last: dt.date
) -> pd.DataFrame:
    """
    One athlete's load by day.

    Parameters
    ----------
    sessions : rows of sessions.csv.
    sets : derived sets; a finger session that stands only there has a load that is not known.
        Sessions are told apart by number: two in the sets and one of kind `fingers` on that day
        leave one unknown, unless that one has no label and so may stand for both.
    first, last : the days covered, both included.

    Returns
    -------
    DataFrame, one row per day: `date`, `load_au` (sum of the known session loads), `sessions`
    (int), `unknown` (int: sessions without effort or minutes), `logged` (bool: a session, or a day
    said to be without), `without` (str: rest, ill, away, injured or "").
    """
    load: dict[pd.Timestamp, float] = {}
    count: Counter[pd.Timestamp] = Counter()
    unknown: Counter[pd.Timestamp] = Counter()
    rated: Counter[pd.Timestamp] = Counter()
    unlabelled: set[pd.Timestamp] = set()
    for row in records(sessions, "date", "kind", "session", "effort", "minutes"):
        if row.kind in DAYS_WITHOUT or row.kind == CLEARED:
            continue
        count[row.date] += 1
        session_load = row.effort * row.minutes
        if math.isnan(session_load):
            unknown[row.date] += 1
        else:
            load[row.date] = load.get(row.date, 0.0) + session_load
        if row.kind == "fingers":
            rated[row.date] += 1
            if not row.session:
                unlabelled.add(row.date)
    done = Counter(date for date, _ in set(zip(sets["date"], sets["session"], strict=True)))
    for date, n in done.items():
        if date not in unlabelled and n > rated[date]:
            count[date] += n - rated[date]
            unknown[date] += n - rated[date]
    away: dict[pd.Timestamp, str] = {}
    off = days_without(sessions)
    for date, kind in zip(off["date"], off["kind"], strict=True):
        away.setdefault(date, kind)
    dates = pd.date_range(first, last, freq="D").astype("datetime64[us]")
    days = list(dates)
    return pd.DataFrame(
        {
            "date": dates,
            "load_au": [load.get(day, 0.0) for day in days],
            "sessions": [count[day] for day in days],
            "unknown": [unknown[day] for day in days],
            "without": pd.Series([away.get(day, "") for day in days], dtype="str"),
            "logged": [count[day] > 0 or day in away for day in days],
        }
    ).astype({"load_au": "float64", "sessions": "int64", "unknown": "int64", "logged": "bool"})


def monotony(daily: npt.ArrayLike) -> float:
    """
    Mean over population SD of daily loads.

    NaN where all days are equal (undefined, not infinite) or there are none.

    Source: Foster 1998, Med Sci Sports Exerc 30(7):1164-1168, which leaves the kind of SD open;
    with the sample SD the figure is 0.926 times as large for seven days.
    """
    loads = np.asarray(daily, dtype=np.float64)
    if not loads.size:
        return np.nan
    spread = float(loads.std())
    # equal loads leave a rounding residue in the SD
    return float(loads.mean()) / spread if spread > 1e-9 * max(1.0, abs(loads.max())) else np.nan


# the dtypes are named, so that frames without rows have them too
_WEEK_TYPES = {
    "week": "int64",
    "start": "datetime64[us]",
    "load_au": "float64",
    "sessions": "int64",
    "unknown": "int64",
    "open_days": "int64",
    "part": "bool",
    "complete": "bool",
    "monotony": "float64",
    "strain": "float64",
}


def weekly_load(days: pd.DataFrame, block: Block) -> pd.DataFrame:
    """
    Daily loads to block weeks.

    Parameters
    ----------
    days : from `daily_load`; its last day is the end of the log.
    block : gives the weeks.

    Returns
    -------
    DataFrame, one row per block week that has begun: `week`, `start` (date), `load_au` (sum of
    the known loads), `sessions`, `unknown`, `open_days` (days neither logged nor confirmed),
    `part` (bool: the log ends inside the week), `complete` (bool: seven known days), and, NaN
    unless complete: `monotony`, `strain`, `change_pct` (on the week before, when that is complete
    and above 0 too), `mean4_au` (mean of this and the three weeks before, all complete).
    """
    start = pd.Timestamp(block.start)
    week_of = week_of_day(days["date"], block).to_numpy()
    columns = ("load_au", "sessions", "unknown", "logged")
    loads, sessions, unknowns, logged = (days[name].to_numpy() for name in columns)
    rows: list[tuple[object, ...]] = []
    for week in range(1, block.weeks + 1):
        here = week_of == week
        if not here.any():
            continue
        part = int(here.sum()) < 7
        open_days = int((~logged[here]).sum())
        unknown = int(unknowns[here].sum())
        complete = not part and open_days == 0 and unknown == 0
        load = float(loads[here].sum())
        mono = monotony(loads[here]) if complete else np.nan
        began = start + pd.Timedelta(days=7 * (week - 1))
        n = int(sessions[here].sum())
        rows.append((week, began, load, n, unknown, open_days, part, complete, mono, load * mono))
    weeks = frame_of(rows, _WEEK_TYPES)
    known = weeks["load_au"].where(weeks["complete"])
    before = known.shift()
    weeks["change_pct"] = 100.0 * (known / before.where(before > 0) - 1.0)
    weeks["mean4_au"] = known.rolling(4).mean()
    return weeks


def days_by_kind(sessions: pd.DataFrame, sets: pd.DataFrame, block: Block) -> pd.DataFrame:
    """
    Days a week by kind of work, one row per block week, one column (int) per kind.

    A finger day is a day with sets or with a session of kind `fingers`.
    """
    both = set(zip(sessions["date"], sessions["kind"], strict=True))
    both |= {(date, "fingers") for date in sets["date"].unique()}
    start = pd.Timestamp(block.start)
    counts = Counter(((date - start).days // 7 + 1, kind) for date, kind in both)
    weeks = pd.RangeIndex(1, block.weeks + 1, name="week")
    # Counter gives 0 for what it has not met
    columns = {kind: [counts[week, kind] for week in weeks] for kind in KINDS}
    return pd.DataFrame(columns, index=weeks, dtype="int64").rename_axis(columns="kind")


def loading_days(sessions: pd.DataFrame, sets: pd.DataFrame) -> pd.DataFrame:
    """
    Days that load the fingers, in order.

    `date`, `cause` (`fingers`, or `climbing` for a climbing session of effort 7 or more on a day
    without finger work).
    """
    causes: dict[pd.Timestamp, str] = {}
    for row in records(sessions, "date", "kind", "effort"):
        if row.kind == "climbing" and row.effort >= HARD_CLIMBING_EFFORT:
            causes.setdefault(row.date, "climbing")
        elif row.kind == "fingers":
            causes[row.date] = "fingers"
    causes |= dict.fromkeys(sets["date"], "fingers")
    return frame_of(sorted(causes.items()), {"date": "datetime64[us]", "cause": "str"})


def rest_between(loading: pd.DataFrame) -> pd.DataFrame:
    """
    Rest days before each loading day.

    `date`, `cause`, `before` (the loading day before), `rest_days` (whole days between the two).
    The first day has none and is left out.
    """
    days = loading["date"].tolist()
    rest = [(day - before).days - 1 for before, day in pairwise(days)]
    out = loading.iloc[1:].reset_index(drop=True)
    return out.assign(
        before=loading["date"].iloc[: len(out)].to_numpy(),
        rest_days=np.array(rest, dtype=np.int64),
    )


def distinct_sets(sets: pd.DataFrame) -> pd.DataFrame:
    """
    One row per set: rows that share a `set_id` (left and right in turn, two grips mixed) are one.

    Returns
    -------
    The first row of each set with `sets` (how many it stands for: the largest of its rows) and
    `hand` (`left`, `right`, or `both` where the set used both, at once or in turn).
    """
    first = sets.drop_duplicates("set_id").copy()
    grouped = sets.groupby("set_id", sort=False)
    first["sets"] = grouped["sets"].max().to_numpy()
    mixed = grouped["hand"].nunique().to_numpy() > 1
    first["hand"] = first["hand"].mask(mixed, "both")
    return first


def count_sets(sets: pd.DataFrame, block: Block) -> pd.Series:
    """
    Number of sets in each finger session.

    Where the phase plans hands in turn (`alternate_hands`), a set is the pair, so one-handed sets
    count as the larger of left and right.

    Returns
    -------
    Series of int, indexed by (`date`, `session`, `exercise`).
    """
    keys = ["date", "session", "exercise"]
    counts = _counts(sets, block)
    index = sets[keys].iloc[:0] if not counts else pd.DataFrame(sorted(counts), columns=keys)
    index = index.astype({k: sets[k].dtype for k in keys})
    return pd.Series(
        [counts[key] for key in sorted(counts)],
        index=pd.MultiIndex.from_frame(index),
        dtype="int64",
        name="sets",
    )


def _counts(sets: pd.DataFrame, block: Block) -> dict[tuple[pd.Timestamp, str, str], int]:
    """What `count_sets` counts, by date, session and exercise."""
    first: dict[int, Any] = {}
    most: dict[int, int] = {}
    hands: dict[int, set[str]] = {}
    for row in records(sets, "set_id", "date", "session", "exercise", "week", "sets", "hand"):
        first.setdefault(row.set_id, row)
        most[row.set_id] = max(row.sets, most.get(row.set_id, 0))
        hands.setdefault(row.set_id, set()).add(row.hand)
    turns: dict[tuple[int, str], bool] = {}
    totals: dict[tuple[pd.Timestamp, str, str], list[int]] = {}
    for number, row in first.items():
        pair = row.week, row.exercise
        if pair not in turns:
            phase = block.phase_in(*pair)
            turns[pair] = phase is not None and phase.alternate_hands
        # all, left in turn, right in turn
        sums = totals.setdefault((row.date, row.session, row.exercise), [0, 0, 0])
        sums[0] += most[number]
        if turns[pair] and len(hands[number]) == 1 and row.hand != "both":
            sums[1 if row.hand == "left" else 2] += most[number]
    return {key: every - min(left, right) for key, (every, left, right) in totals.items()}


_SESSION_TYPES = {
    "date": "datetime64[us]",
    "session": "str",
    "week": "int64",
    "phase": "str",
    "exercise": "str",
    "sets": "int64",
    "tension_s": "float64",
    "impulse_kg_s": "float64",
    "unknown_sets": "int64",
    "minutes_estimated": "float64",
    "minutes_logged": "float64",
}


_FIGURES = ("tension_s", "impulse_kg_s", "duration_s")


def finger_sessions(sets: pd.DataFrame, sessions: pd.DataFrame, block: Block) -> pd.DataFrame:
    """
    One athlete's finger sessions: what was done in each and how long it took.

    Returns
    -------
    DataFrame, one row per (date, session): `date`, `session`, `week`, `phase`, `exercise` (the
    most frequent, warm-ups only where there is nothing else), `sets` (int, without warm-ups),
    `tension_s`, `impulse_kg_s` (sums of what is known, warm-ups included), `unknown_sets` (int:
    sets whose time or load is not known), `minutes_estimated` (sets and the planned rests between
    them), `minutes_logged` (NaN: not logged).
    """
    if sets.empty:
        return frame_of([], _SESSION_TYPES)
    rows = records(
        sets, "date", "session", "week", "phase", "exercise", "sets", "warmup", *_FIGURES
    )
    rows_of: dict[tuple[pd.Timestamp, str], list[Any]] = {}
    for row in rows:
        rows_of.setdefault((row.date, row.session), []).append(row)
    done: Counter[tuple[pd.Timestamp, str]] = Counter()
    for (date, session, _), n in _counts(sets[~sets["warmup"]], block).items():
        done[date, session] += n
    # a rest after every set but the last
    rests = dict.fromkeys(rows_of, 0.0)
    for (date, session, exercise), n in sorted(_counts(sets, block).items()):
        its = rows_of[date, session]
        rest = _rest_after_set(block, its[0].week, exercise)
        rests[date, session] += (n - 1 if exercise == its[-1].exercise else n) * rest
    logged = _logged_minutes(sessions)
    any_work = not all(row.warmup for row in rows)
    out = []
    for pair, its in sorted(rows_of.items()):
        tension, impulse, seconds = (
            math.fsum(x * row.sets for row in its if not math.isnan(x := getattr(row, name)))
            for name in _FIGURES
        )
        kinds: Counter[str] = Counter()
        for row in its:
            if not (any_work and row.warmup):
                kinds[row.exercise] += row.sets
        # of equals the first by name
        exercise = max(sorted(kinds), key=kinds.__getitem__, default=its[0].exercise)
        unknown = sum(row.sets for row in its if math.isnan(row.impulse_kg_s))
        minutes = max(seconds + rests[pair], 0.0) / 60.0
        out.append(
            (
                *pair,
                its[0].week,
                its[0].phase,
                exercise,
                done[pair],
                tension,
                impulse,
                unknown,
                minutes,
                logged(*pair),
            )
        )
    return frame_of(out, _SESSION_TYPES)


def _rest_after_set(block: Block, week: int, exercise: str) -> float:
    """Planned rest between sets in seconds, the middle of its range."""
    phase = block.phase_in(week, exercise)
    planned = phase.set_rest_s if phase and phase.exercise == exercise else None
    low, high = planned or SET_REST_S[exercise]
    return (low + high) / 2


def _logged_minutes(sessions: pd.DataFrame) -> Callable[[pd.Timestamp, str], float]:
    """
    What gives the minutes of a finger session by its day and label, NaN where none are logged.

    Its own label's, else those the day has without a label; sets without a label take all of the
    day's. Another label's minutes are never taken.
    """
    of: dict[tuple[pd.Timestamp, str | None], list[float]] = {}
    for row in records(sessions, "date", "session", "kind", "minutes"):
        if row.kind == "fingers":
            for label in (row.session, None):  # None: whatever the label
                of.setdefault((row.date, label), []).append(row.minutes)

    def logged(day: pd.Timestamp, label: str) -> float:
        rest = of.get((day, "" if label else None), [])
        known = [m for m in of.get((day, label), rest) if not math.isnan(m)]
        return math.fsum(known) if known else math.nan

    return logged


def weekly_finger_work(sets: pd.DataFrame, block: Block) -> pd.DataFrame:
    """
    Finger work by block week, warm-ups left out.

    Returns
    -------
    DataFrame, one row per block week: `week`, `phase`, `sets` (int, rows times `sets`),
    `tension_s`, `impulse_kg_s` (sums of what is known), `unknown_sets` (int), `load_per_hand_kg`
    (mean over the time under tension of the load on one hand: a two-hand load counts half).
    Impulse alone misleads: it falls when the hardest work begins, because that work is short.
    """
    names = ("week", "in_block", "warmup", "hand", "sets", "tension_s", "impulse_kg_s")
    work: dict[int, list[Any]] = {week: [] for week in range(1, block.weeks + 1)}
    for row in records(sets, *names):
        if row.in_block and not row.warmup:
            work[row.week].append(row)
    rows = []
    for week, done in work.items():
        known = [row for row in done if not math.isnan(row.impulse_kg_s)]
        hands = [2.0 if row.hand == "both" else 1.0 for row in known]
        per_hand = [row.impulse_kg_s * row.sets / n for row, n in zip(known, hands, strict=True)]
        under_load = math.fsum(row.tension_s * row.sets for row in known)
        rows.append(
            {
                "week": week,
                "phase": phase.name if (phase := block.phase_in(week)) else "",
                "sets": sum(row.sets for row in done),
                "tension_s": math.fsum(
                    row.tension_s * row.sets for row in done if not math.isnan(row.tension_s)
                ),
                "impulse_kg_s": math.fsum(row.impulse_kg_s * row.sets for row in known),
                "unknown_sets": sum(row.sets for row in done if math.isnan(row.impulse_kg_s)),
                "load_per_hand_kg": math.fsum(per_hand) / under_load
                if under_load > 0
                else math.nan,
            }
        )
    return pd.DataFrame(rows)


def main_sets(sets: pd.DataFrame) -> pd.DataFrame:
    """
    The set that tells how hard each week ended, for each kind of work, grip and hand.

    It is the heaviest one of the week's last session, on its smallest edge.

    Warm-ups, guessed loads and tests are left out (a test is no step of the plan), but all-out
    pulls stay, tests too: each one is a maximum.

    Returns
    -------
    Rows of `sets` in the block with `lever_kg` and `lever`: the added weight (`added`) where the
    load comes from body mass and nothing is read from a scale, else the load itself (`load`).
    """
    names = ["week", "exercise", "grip", "hand", "date", "edge_mm", "test", "in_block", "warmup"]
    names += ["load_kind", "load_source", "scale_kg", "stand_kg", "added_kg", "load_kg"]
    levers: list[tuple[bool, float]] = []
    last: dict[tuple[Any, ...], pd.Timestamp] = {}
    rows = records(sets, *names)
    for row in rows:
        hung = row.load_source != "gauge" and not row.scale_kg > 0 and math.isnan(row.stand_kg)
        # an added weight that is empty is none
        added = 0.0 if math.isnan(row.added_kg) else row.added_kg
        levers.append((hung, added if hung else row.load_kg))
    kept = [
        i
        for i, (row, (_, kg)) in enumerate(zip(rows, levers, strict=True))
        if row.in_block
        and not row.warmup
        and not (row.test and row.exercise != "pull")
        and row.load_kind != "guess"
        and not math.isnan(kg)
    ]
    for i in kept:
        last[rows[i][:4]] = max(rows[i].date, last.get(rows[i][:4], rows[i].date))
    main: dict[tuple[Any, ...], int] = {}
    for i in sorted(
        (i for i in kept if rows[i].date == last[rows[i][:4]]),
        # an edge that is not recorded comes last
        key=lambda i: (
            rows[i].week,
            math.isnan(rows[i].edge_mm),
            0.0 if math.isnan(rows[i].edge_mm) else rows[i].edge_mm,
            -levers[i][1],
        ),
    ):
        main.setdefault(rows[i][:4], i)
    chosen = list(main.values())
    hardest = sets.iloc[chosen].reset_index(drop=True)
    words = ["added" if levers[i][0] else "load" for i in chosen]
    return hardest.assign(
        lever=pd.Series(words, dtype="str"),
        lever_kg=pd.Series([levers[i][1] for i in chosen], dtype="float64"),
    )
