"""What a test is likely to reach, and the warm-up to it: for adults alone."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

import pandas as pd

from gripbook.reviews.block_facts import BlockFacts
from gripbook.reviews.plates import (
    STEP_KG,
    STEP_LB,
    STEP_ONE_HAND_KG,
    STEP_ONE_HAND_LB,
    loadable,
    spaced,
)
from gripbook.reviews.proposal.choices import Choices
from gripbook.reviews.proposal.trained import RECENT_DAYS
from gripbook.reviews.proposal.weeks import NextRow
from gripbook.strength import SeriesKey
from gripbook.units import lb_to_kg

#: The load of a test is one that is held as often as not, so it lies in the estimate's lower half
#: or at its middle; never more than one step above the last test (own choices, no source).
AS_OFTEN_AS_NOT: Final = 0.5
#: Warm-up sets before a test (own choice, no source).
WARM_UPS: Final = 3
#: A warm-up begins so much lighter than a test with weight off (kg), and at this share of a test
#: that a gauge reads (own choices, no source).
BELOW_KG: Final = 15.0
BELOW_SHARE: Final = 0.7
_STEPS: Final = 200  # more than anybody adds or takes off


def with_aims(
    r: BlockFacts, c: Choices, rows: tuple[NextRow, ...], share: float = 1.0
) -> tuple[NextRow, ...]:
    """
    The rows, those of the first tests with the load they are likely to reach and the warm-up to it.

    A later test's load follows from what is trained by then. Where a reason lowers the starts (off,
    ill) nobody knows what was lost until training tells, so no load is named.

    Parameters
    ----------
    share : of the last loads with which the block starts, where a reason lowers them.
    """
    if share < 1:
        return rows
    first = min((row.week for row in rows if row.test), default=0)
    return tuple(_with_aim(r, c, x) if x.test and x.week == first else x for x in rows)


def _with_aim(r: BlockFacts, c: Choices, row: NextRow) -> NextRow:
    sets = r.fit.sets
    if sets.empty:  # no set with a known load
        return row
    own = sets[
        (sets["exercise"] == row.exercise)
        & (sets["grip"] == row.grip)
        & (sets["hand"] == row.hand)
        & (sets["edge_mm"] == row.edge_mm)
        & (sets["load_source"] != "")
        & ~sets["warmup"]
    ]
    own = own[own["test"]] if own["test"].any() else own
    if own.empty:
        return row
    last = own[own["date"] == own["date"].max()].sort_values("load_kg").iloc[-1]
    if row.exercise == "pull":
        return _pull(r, row, last)
    gauge = last["load_source"] == "gauge"
    on = float(last["force_kg"] if gauge else last["added_kg"])
    base = 0.0 if gauge else float(last["load_kg"]) - on
    if not math.isfinite(on) or not math.isfinite(base):
        return row
    both = row.hand == "both"
    kg, pct = (c.step_kg, c.step_pct) if both else (c.step_one_hand_kg, c.step_one_hand_pct)
    # where body mass is hidden the step leads to none
    of = on + base if r.athlete.show_body_mass or gauge else max(c.light_kg + on, 0.0)
    most = on + min(kg, pct / 100 * of)
    options = _options(r, both)
    below = (x for x in reversed(options) if x <= most + 1e-6 and (x > 0 or not gauge))
    done = _finished(sets, row, last)
    aim = next((x for x in below if base + x <= done + 1e-6 or _held(r, row, base + x)), None)
    if aim is None:
        return row
    start = BELOW_SHARE * aim if gauge else 0.0 if aim > 0 else aim - BELOW_KG
    way = [start + k / WARM_UPS * (aim - start) for k in range(WARM_UPS)]
    up = [max((x for x in options if x <= y + 1e-6), default=math.nan) for y in way]
    warm = tuple(dict.fromkeys(x for x in up if x < aim and (x > 0 or not gauge)))
    return replace(row, aim_kg=aim, aim_gauge=gauge, warm_up_kg=warm)


def _finished(sets: pd.DataFrame, row: NextRow, last: pd.Series) -> float:
    """
    The heaviest load finished in training in the last weeks, as long as the test's or longer.

    A rested set is not expected to do less, whatever the estimate says.
    """
    own = sets[(sets["outcome"] == "finished") & ~sets["warmup"] & ~sets["test"]]
    for column in ("exercise", "grip", "hand", "edge_mm"):
        own = own[own[column] == getattr(row, column)]
    own = own[own["load_source"] == last["load_source"]]
    own = own[own["date"] > sets["date"].max() - pd.Timedelta(days=RECENT_DAYS)]
    for column in ("hang_s", "reps"):
        least = getattr(row, column)
        own = own[own[column] >= least] if least is not None else own
    return float(own["load_kg"].max()) if len(own) else -math.inf


def _pull(r: BlockFacts, row: NextRow, last: pd.Series) -> NextRow:
    """An all-out pull is expected to reach what the last test did, or less where strength fell."""
    shown = r.athlete.show_body_mass or last["load_source"] == "gauge"
    kg = float(last["load_kg"])
    for kind in ("peak", "steady"):
        series = r.fit.find(row.exercise, row.grip, row.hand, kind)
        if series is not None and math.isfinite(series.end_kg):
            kg = min(kg, series.end_kg) if series.edge_mm == row.edge_mm else kg
            break
    return replace(row, aim_kg=math.floor(2 * kg) / 2) if shown and math.isfinite(kg) else row


def _held(r: BlockFacts, row: NextRow, load_kg: float) -> bool:
    """Whether a rested set of the test's length is held as often as not."""
    if load_kg <= 0:
        return False
    for kind in ("steady", "peak"):
        key = SeriesKey(row.exercise, row.grip, row.hand, kind)
        if key in r.fit.evidence.series and r.fit.find(*key):
            chance = r.fit.predict(
                key, edge_mm=row.edge_mm, load_kg=load_kg, hang_s=row.hang_s, reps=row.reps
            )
            return chance >= AS_OFTEN_AS_NOT
    return False


def _options(r: BlockFacts, both: bool) -> list[float]:
    """What the plates make, on or off, in steps of the usual ones."""
    step = STEP_KG if both else STEP_ONE_HAND_KG
    if r.athlete.units == "lb":
        step = lb_to_kg(STEP_LB if both else STEP_ONE_HAND_LB)
    if not r.block.plates_kg:
        return [round(k * step, 3) for k in range(-_STEPS, _STEPS + 1)]
    sums = loadable(tuple(r.block.plates_kg))
    return spaced({*sums, *(-x for x in sums)}, 0.0, step)
