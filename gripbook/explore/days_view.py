"""What was done on the best days: rest before, place in the session, minutes under load."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd

from gripbook import html, layout
from gripbook.explore import picker
from gripbook.explore.opening import Explorer, choose
from gripbook.reviews import SeriesChange
from gripbook.reviews.change_facts import PathKind
from gripbook.words import fmt

#: Days that must tell of a limit before some are called the best (own choice, no source).
FEWEST_DAYS: Final = 6
#: The share of them that are called the best (own choice, no source).
BEST_SHARE: Final = 1 / 3
#: Days over which work before a day is counted (own choice, no source).
BEFORE_DAYS: Final = 7

FEW = (
    "Few days, and they differ in more than this: a difference here may be chance. Take it as a "
    "question for the next weeks, not as an answer."
)


@dataclass(frozen=True, slots=True)
class LimitDay:
    """
    A day on which a set told of the limit.

    Attributes
    ----------
    day : midnight. above_pct : by how much its best set stood above (below 0: below) what the other
        days lead to expect, in per cent of the load. file, line : that set. rest_days : days
        without finger sets before it; NaN for the log's first. sets_before : finger sets of that
        day before it. minutes : under load on that day. minutes_before : in the seven days before.
    """

    day: pd.Timestamp
    above_pct: float
    file: str
    line: int
    rest_days: float
    sets_before: int
    minutes: float
    minutes_before: float


def limit_days(x: Explorer, series: Sequence[SeriesChange]) -> list[LimitDay]:
    """The block's days on which a set of the series told of the limit, the best first."""
    start, best = pd.Timestamp(x.review.block.start), dict[pd.Timestamp, tuple[Any, ...]]()
    for s in series:
        if s.path_kind is not PathKind.ESTIMATE or not len(s.fit.path_day):
            continue
        for p in s.fit.points:
            expected = float(np.interp(p.day, s.fit.path_day, s.fit.path_load_kg))
            above = 100 * (p.load_kg / expected - 1)
            # a set that was finished below the limit, or failed above it, tells nothing of the day
            if p.day < 0 or (p.kind == "at least" and above < 0) or p.kind == "at most":
                continue
            day = start + pd.Timedelta(days=p.day)
            best[day] = max(best.get(day, (-math.inf,)), (above, p.file, p.line))
    sets = x.review.sets
    found = [_about(sets[~sets["warmup"]], day, *told) for day, told in best.items()]
    return sorted(found, key=lambda d: (-d.above_pct, d.day))


def _about(sets: pd.DataFrame, day: pd.Timestamp, above: float, file: str, line: int) -> LimitDay:
    today = sets[sets["date"] == day]
    earlier = sets["date"][sets["date"] < day]
    here = [*zip(today["file"], today["line"], strict=True)].index((file, line))
    minutes = sets["tension_s"] * sets["sets"] / 60
    since = day - pd.Timedelta(days=BEFORE_DAYS)
    return LimitDay(
        day=day,
        above_pct=above,
        file=file,
        line=line,
        rest_days=(day - earlier.max()).days - 1 if len(earlier) else math.nan,
        sets_before=int(today["sets"].iloc[:here].sum()),
        minutes=float(minutes[today.index].sum()),
        minutes_before=float(minutes[(sets["date"] >= since) & (sets["date"] < day)].sum()),
    )


def best_days(x: Explorer, *, capacity: str = "", grip: str = "", hand: str = "") -> Any:
    """
    What was done on the best days and on the others, counted, with ranges.

    The best days are the third on which a set stood highest above what the log leads to expect;
    only days that tell of the limit are counted. It describes and explains nothing.

    Parameters
    ----------
    x : from `open_log`.
    capacity, grip, hand : which series; empty: all of them.

    Raises
    ------
    GripbookError : no such series.
    """
    chosen = None
    if capacity or grip or hand:
        chosen = choose(x, capacity, grip, hand)
    of = [
        s
        for s in x.review.change.series
        if chosen is None or (s.capacity, s.grip, s.hand) == chosen
    ]
    days = limit_days(x, of)
    pick = picker.series("best_days", x.series(), chosen)
    if len(days) < FEWEST_DAYS:
        counted = fmt.count(len(days), "{n} day tells", "{n} days tell")
        return pick, html.paragraph(
            f"{fmt.sentence(counted)} of your limit here; {FEWEST_DAYS} are needed to compare. "
            "Days tell more when what was left is noted after each set."
        )
    n = max(2, round(BEST_SHARE * len(days)))
    return (
        pick,
        html.paragraph(_caution(n, len(days))),
        _compared(days[:n], days[n:]),
        layout.fold("The best days", "", _each(x, days[:n])),
    )


def _caution(best: int, every: int) -> str:
    return f"{best} best days of {every} that tell of your limit. {FEW}"


def _range(values: Sequence[float], places: int) -> str:
    """Median with lowest and highest; of one value it alone."""
    known = [v for v in values if math.isfinite(v)]
    if not known:
        return "not known"
    ends = [fmt.number(v, places) for v in (min(known), max(known))]
    middle = fmt.number(float(np.median(known)), places)
    return middle if ends[0] == ends[1] else f"{middle} ({ends[0]} to {ends[1]})"


def _compared(best: Sequence[LimitDay], others: Sequence[LimitDay]) -> html.Fragment:
    facts = (
        ("rest days before", "rest_days", 1),
        ("sets before it that day", "sets_before", 1),
        ("minutes under load that day", "minutes", 1),
        ("minutes under load in the seven days before", "minutes_before", 0),
    )
    rows = [
        {
            "what": words,
            "best": _range([getattr(d, name) for d in best], places),
            "others": _range([getattr(d, name) for d in others], places),
        }
        for words, name, places in facts
    ]
    columns = {
        "what": "median (lowest to highest)",
        "best": f"best days ({len(best)})",
        "others": f"other days ({len(others)})",
    }
    return layout.table(rows, "Best days and the others", columns=columns)


def _each(x: Explorer, days: Sequence[LimitDay]) -> html.Fragment:
    shown = x.review.athlete.show_body_mass  # per cent of a load would lead back to body mass
    rows = [
        {
            "day": d.day.date(),
            "above": f"{fmt.number(d.above_pct, 0, sign=True)}{fmt.NBSP}%" if shown else "",
            "rest": "not known" if math.isnan(d.rest_days) else fmt.number(d.rest_days),
            "before": d.sets_before,
            "minutes": d.minutes,
            "row": f"{d.file}:{d.line}",
        }
        for d in days
    ]
    columns = {
        "day": "day",
        "above": "above what was expected",
        "rest": "rest days before",
        "before": "sets before it",
        "minutes": "minutes under load",
        "row": "row of the log",
    }
    if not shown:
        del columns["above"]
    return layout.table(rows, "The best first", columns=columns)
