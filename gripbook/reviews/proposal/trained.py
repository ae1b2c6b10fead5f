"""How a block was trained: its series with their edges and sets, and the athlete's experience."""

from __future__ import annotations

import datetime as dt
import math
import re
import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from gripbook.logs import Phase, Target
from gripbook.reviews.block_facts import BlockFacts
from gripbook.reviews.proposal.choices import Choices
from gripbook.reviews.proposal.running import grouped

#: Sessions in so many days before the last one of a series tell how it is trained now.
RECENT_DAYS = 28
#: A grip's share of a session is no less than so many sets, where the session has them.
LEAST_SETS = 2


def known_sets(r: BlockFacts) -> pd.DataFrame:
    """The athlete's sets with loads; without evidence those of the page, which may lack them."""
    return r.fit.sets if len(r.fit.sets) else r.sets


def finger_days(r: BlockFacts) -> list[dt.date]:
    """Days with finger sets, warm-ups alone left out, in order."""
    sets = known_sets(r)
    return sorted({day.date() for day in sets.loc[~sets["warmup"], "date"]})


def months_between(since: str, day: dt.date) -> float | None:
    """Months from a year or year-month to a day, None where not recorded; taken short."""
    found = re.fullmatch(r"(\d{4})(?:-(\d{1,2}))?", since.strip())
    if not found:
        return None
    # of a year alone the last month is taken, so that nobody passes for trained too early
    month = int(found.group(2)) if found.group(2) else 12
    return max(0.0, 12 * (day.year - int(found.group(1))) + day.month - month)


@dataclass(frozen=True, slots=True)
class Experience:
    """How long and how often: `new` and `beginner` decide; `months` None where not recorded."""

    months: float | None
    days: int
    new: bool
    beginner: bool


def experience(r: BlockFacts, choices: Choices, start: dt.date) -> Experience:
    """Whether the athlete is new to finger training, or a beginner."""
    months = months_between(r.athlete.fingers_since, start)
    days = len(finger_days(r))
    new = days < choices.new_finger_days and (months is None or months < choices.new_months)
    beginner = new or months is None or months < choices.beginner_months
    return Experience(months, days, new, beginner)


@dataclass(frozen=True, slots=True)
class Trained:
    """One series as it was trained: the edge, and sets a session (median of the recent ones)."""

    exercise: str
    grip: str
    hand: str
    edge_mm: float
    sets: int
    days: int
    last: dt.date


def trained_series(
    rows: Sequence[Any],
    r: BlockFacts,
    choices: Choices,
    exercise: str,
    *,
    targets: Iterable[Target] = (),
    running: bool = False,
) -> tuple[Trained, ...]:
    """
    Every grip, hand and edge of an exercise trained in the block, in the log's order.

    A grip counts from `trained_days` days on (or where the plan names it); of its edges those of
    the last two weeks of that series, the latest first, one alone where the edge was changed. Tests
    and warm-ups are no training; where there is nothing else the tests stand in.

    Parameters
    ----------
    rows : `Loader.rows`.
    targets : what the phase names; in a running block it may have been trained before it alone.
    running : whether the block runs: what it has not had yet is known from before it.
    """
    every = [row for row in rows if not row.warmup and row.exercise == exercise]
    own = [row for row in every if row.in_block]
    if running:
        known = {(row.grip, row.hand) for row in own if not row.test}
        wanted = {(t.grip, t.hand) for t in targets} - known
        if not known and not wanted:
            own = every
        else:
            own = [
                row
                for row in every
                if (row.grip, row.hand) in wanted
                or (row.in_block and (row.grip, row.hand) in known)
            ]
    named = {t.grip for p in r.block.phases for t in p.targets} | set(r.block.grips)
    if r.block.headline:
        named.add(r.block.headline.grip)
    found: list[Trained] = []
    for (grip, hand), of_series in grouped(own, "grip", "hand").items():
        work = [row for row in of_series if not row.test] or of_series
        days = {row.date for row in work}
        if len(days) < choices.trained_days and grip not in named and not running:
            continue
        last = max(days)
        near = [row for row in work if row.date > last - pd.Timedelta(days=14)]
        for edge in _edges_now(near, work):
            of_edge = [row for row in work if same_edge(row.edge_mm, edge)]
            recent = [x for x in of_edge if x.date > last - pd.Timedelta(days=RECENT_DAYS)]
            whole = [
                sum(x.sets for x in session)
                / share_of_sets(r, choices, exercise, int(session[0].week))
                for session in grouped(recent, "date", "session").values()
            ]
            found.append(
                Trained(
                    exercise,
                    grip,
                    hand,
                    edge,
                    max(1, math.floor(statistics.median(whole) + 0.5)),
                    len({row.date for row in of_edge}),
                    max(row.date for row in of_edge).date(),
                )
            )
    return tuple(found)


def share_of_sets(r: BlockFacts, c: Choices, exercise: str, week: int) -> float:
    """The share of a whole session's sets that the plan asks for in a week."""
    phase = next((p for p in r.block.phases if p.exercise == exercise and p.holds_week(week)), None)
    if phase is None or not phase.sets_per_session:
        return 1.0
    most = full_sets(r, phase)
    if phase.sets_per_session < most:
        return phase.sets_per_session / most
    return math.ceil(most * c.easier_share) / most if week in r.block.easy_weeks else 1.0


def full_sets(r: BlockFacts, phase: Phase) -> int:
    """The most sets a session that the plan has for a phase of this name."""
    of_name = [p.sets_per_session or 0 for p in r.block.phases if p.name == phase.name]
    return max([phase.sets_per_session or 0, *of_name])


def _edges_now(near: Iterable[Any], rows: Iterable[Any]) -> list[float]:
    """The edges of the last two weeks, the latest first; one where another took its place."""
    days: dict[float, list[pd.Timestamp]] = {}
    for row in near:
        days.setdefault(math.inf if math.isnan(row.edge_mm) else row.edge_mm, []).append(row.date)
    # of one day the smallest, an unknown one last
    edges = sorted(sorted(days), key=lambda edge: max(days[edge]), reverse=True)
    if edges_fell(rows):
        edges = edges[:1]
    now = [e for e in edges if e == edges[0] or max(days[e]) >= min(days[edges[0]])]
    return [math.nan if math.isinf(edge) else edge for edge in now]


def same_edge(one: float, other: float) -> bool:
    """Whether two edges are one; unknown edges (NaN) are."""
    return one == other or (math.isnan(one) and math.isnan(other))


def edges_fell(rows: Iterable[Any]) -> bool:
    """Whether the edge got smaller in the block: then the last edge stands for the others."""
    edges = [row.edge_mm for row in rows if not math.isnan(row.edge_mm)]
    return bool(edges) and edges[-1] < edges[0]


def usual(values: pd.Series) -> float | None:
    """The most frequent value, None where none is known."""
    known = values.dropna()
    return float(known.mode().iloc[0]) if len(known) else None


def as_trained(
    trained: Sequence[Trained], phase: Phase, planned: int, rows: Sequence[Any]
) -> list[int]:
    """
    Sets a session of each series: as trained, and all together no more than the phase plans.

    Hands in turn are pairs: of a grip trained with left and right only one hand counts. No series
    has fewer than `LEAST_SETS` of a session that has them for each.
    """
    counts = [t.sets for t in trained]
    if not planned or not counts:
        return counts
    # series trained on different days do not share a session
    if not _share_sessions(trained, rows):
        return [min(n, planned) for n in counts]
    pairs: dict[tuple[str, str, float], list[int]] = {}
    for n, t in enumerate(trained):
        turn = "turn" if phase.alternate_hands and t.hand != "both" else t.hand
        pairs.setdefault((t.grip, turn, t.edge_mm), []).append(n)
    shared = _shared_out([max(counts[n] for n in of) for of in pairs.values()], planned)
    out = list(counts)
    for of, sets in zip(pairs.values(), shared, strict=True):
        for n in of:
            out[n] = min(sets, counts[n]) if len(of) > 1 else sets
    return out


def _shared_out(counts: Sequence[int], planned: int) -> list[int]:
    """So many sets shared out as they were trained, each series with `LEAST_SETS` of enough."""
    total = sum(counts)
    if total <= planned:
        out = list(counts)
    else:
        out = [max(1, n * planned // total) for n in counts]
        # what rounding left over goes where most of a set was cut
        rest = sorted(range(len(counts)), key=lambda n: -((counts[n] * planned / total) % 1))
        for n in rest[: max(0, planned - sum(out))]:
            out[n] += 1
    if sum(out) >= LEAST_SETS * len(out):
        while min(out) < LEAST_SETS:
            out[out.index(max(out))] -= 1
            out[out.index(min(out))] += 1
    return out


def _share_sessions(trained: Sequence[Trained], rows: Iterable[Any]) -> bool:
    """Whether the series of an exercise were mostly trained in one session."""
    if len({(t.grip, t.hand) for t in trained}) < max(2, len(trained)):
        return True  # two edges of one series are one dose
    exercise = trained[0].exercise
    work = [x for x in rows if not x.warmup and not x.test and x.exercise == exercise]
    own = [x for x in work if x.in_block] or work
    sessions = grouped(own, "date", "session").values()
    kinds = [len({(x.grip, x.hand) for x in session}) for session in sessions]
    return not kinds or statistics.median(kinds) > 1
