"""When to test in the coming block, and how small a rise such tests could show."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from gripbook.derive.best import sets_of_test_days
from gripbook.reviews.block_facts import BlockFacts
from gripbook.reviews.proposal.trained import known_sets
from gripbook.strength import SeriesKey

#: Days of tests at each end of a block that are tried.
TEST_DAYS: Final = (1, 2)


@dataclass(frozen=True, slots=True)
class NextTests:
    """
    When to test again.

    Attributes
    ----------
    series : what is tested; `edge_mm`, `hang_s`, `reps`: at which edge and length.
    hands : the hands tested: of one-hand work the other one too, where it is trained.
    weeks : block weeks with tests; empty where none is proposed.
    days_each_end : test days at each end of the block.
    rise_pct : smallest rise (per cent of the load) that so many days could show, by days at each
        end; empty where body mass is hidden.
    smallest_pct : the change that matters.
    load_kg : load of the series now (NaN where body mass is hidden).
    late : whether the first test waits until the loads are built up again.
    """

    series: SeriesKey
    edge_mm: float
    hang_s: float | None
    reps: int | None
    weeks: tuple[int, ...]
    days_each_end: int
    rise_pct: dict[int, float]
    smallest_pct: float
    load_kg: float
    late: bool = False
    hands: tuple[str, ...] = ()


def plan_tests(r: BlockFacts, weeks: int, first_week: int, sessions: int) -> NextTests | None:
    """
    Plan the tests of a block.

    Parameters
    ----------
    weeks : the coming block's weeks.
    first_week : the first week in which a test may be.
    sessions : the coming block's sessions: a second test day at each end must leave three of four
        to training.

    Returns
    -------
    None where nothing can be tested: no series is followed, or the block is too short.
    """
    key = _followed(r)
    if key is None or weeks < 2 or first_week >= weeks:
        return None
    series = r.fit.find(*key)
    smallest = float(r.block.smallest_change_pct.get(key.capacity, 5.0))
    before = _test_days(r, key)
    rises = {n: _rise_pct(r, key, n - before) for n in TEST_DAYS if n >= before}
    known = {n: x for n, x in rises.items() if math.isfinite(x)}
    room = max(1, sessions // 8, before)
    enough = [n for n, x in known.items() if x <= smallest and n <= room]
    # a second day only where it shows a change that matters: it costs a session and its rest
    days = enough[0] if enough else min(known, default=1)
    shown = r.athlete.show_body_mass
    kg = math.nan
    if series is not None and shown:
        kg = series.end_kg if math.isfinite(series.end_kg) else series.start_kg
    edge_mm, hang_s, reps = _as_tested(r, key)
    return NextTests(
        series=key,
        edge_mm=edge_mm,
        hang_s=hang_s,
        reps=reps,
        weeks=(first_week, weeks),
        days_each_end=days,
        rise_pct=known if shown else {},
        smallest_pct=smallest,
        load_kg=kg,
        late=first_week > 1,
        hands=_hands(r, key),
    )


def _hands(r: BlockFacts, key: SeriesKey) -> tuple[str, ...]:
    if key.hand == "both":
        return (key.hand,)
    other = key._replace(hand="right" if key.hand == "left" else "left")
    return (key.hand, other.hand) if other in r.fit.evidence.series else (key.hand,)


def _followed(r: BlockFacts) -> SeriesKey | None:
    """The series named beforehand, else the page's first, else the one with the most sets."""
    if not r.fit.evidence.series:
        return None
    named = r.block.headline
    if named is not None:
        for kind in ("steady", "peak"):
            key = SeriesKey(named.capacity, named.grip, named.hand, kind)
            if key in r.fit.evidence.series:
                return key
    if r.change.headline is not None:
        key = r.change.headline.fit.key
        return key if key in r.fit.evidence.series else None
    known = [s for s in r.fit.series if s.key in r.fit.evidence.series]
    return max(known, key=lambda s: s.sets).key if known else None


def _as_tested(r: BlockFacts, key: SeriesKey) -> tuple[float, float | None, int | None]:
    """Edge, seconds and holds of the test: as tested last, else as trained last."""
    rows = known_sets(r)
    rows = rows[
        (rows["exercise"] == key.capacity) & (rows["grip"] == key.grip) & (rows["hand"] == key.hand)
    ]
    rows = rows[rows["test"]] if rows["test"].any() else rows
    if rows.empty:
        return math.nan, None, None
    last = rows.iloc[-1]
    edge = float(last["edge_mm"])
    if key.capacity == "pull":
        return edge, None, None
    hang = float(last["hang_s"]) if np.isfinite(last["hang_s"]) else r.block.reference_hang_s
    reps = last["reps"]
    return edge, hang, int(reps) if key.capacity == "repeater" and np.isfinite(reps) else None


def _test_days(r: BlockFacts, key: SeriesKey) -> int:
    """Test days of the series at either end of the last block, at most all that are tried."""
    sets = known_sets(r)
    own = sets[sets["in_block"] & (sets["exercise"] == key.capacity)]
    own = own[(own["grip"] == key.grip) & (own["hand"] == key.hand)]
    days = sets_of_test_days(own, r.block)["day"].drop_duplicates()
    middle = r.fit.evidence.last_day / 2
    return min(int((days < middle).sum()), int((days > middle).sum()), max(TEST_DAYS))


def _rise_pct(r: BlockFacts, key: SeriesKey, more: int) -> float:
    """Rise (per cent) that shows in a block like the last one with so many more test days."""
    extra = _test_rows(known_sets(r), key, r.fit.evidence.last_day, more) if more else None
    if extra is not None and extra.empty:
        return math.nan
    rise = r.fit.smallest_rise(key, extra)
    return 100 * math.expm1(rise) if math.isfinite(rise) else math.nan


def _test_rows(sets: pd.DataFrame, key: SeriesKey, last_day: int, days: int) -> pd.DataFrame:
    """Sets to the limit on so many days near each end of the block, like those logged."""
    own = sets[
        (sets["exercise"] == key.capacity)
        & (sets["grip"] == key.grip)
        & (sets["hand"] == key.hand)
        & (sets["load_kind"] == key.load_kind)
        & ~sets["warmup"]
        & sets["load_kg"].notna()
    ]
    if own.empty:
        return own
    at = [d for k in range(days) for d in (2 + 3 * k, last_day - 2 - 3 * k)]
    out = own.iloc[[-1] * len(at)].copy()
    if key.capacity != "pull":
        out["outcome"] = "failed"
        out["failed_s"] = out["hang_s"] - 1.0
        out["reps_done"] = out["reps"] - 1.0
        total = out["tension_s"] if key.capacity == "repeater" else out["hang_s"]
        out["tension_s"] = total - 1.0
    out["day"], out["sets"], out["set_id"] = at, 1, [10_000 + d for d in at]
    return out.assign(line=[10_000_001 + k for k in range(len(at))])
