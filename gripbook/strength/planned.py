"""What a planned block could show: posteriors of logs drawn from the plan by the model itself."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import pandas as pd

from gripbook.derive.body import ERROR_ON_DAY_KG
from gripbook.derive.loading import SCALE_ERROR_KG
from gripbook.logs.block import Block
from gripbook.strength.endurance import hold_drop, repeater_drop
from gripbook.strength.evidence import CAPACITIES, REFERENCE_SET, RESERVE_ERROR, SeriesKey, log_over
from gripbook.strength.fit import fit_strength
from gripbook.strength.model import PRIORS, NoiseScales

Floats = npt.NDArray[np.float64]

Series = tuple[str, str, str]

#: Sets in training are planned so far below strength (log load): most are finished.
_BELOW: Final = 0.09
#: A set to the limit is loaded so far above (log load), so that it fails after most of its time.
_ABOVE: Final = 0.02


@dataclass(frozen=True, slots=True)
class SetsOfDay:
    """
    Sets of one series on one day of a block.

    Attributes
    ----------
    day : days since the block's first day. `sets`: how many, at `edge_mm` (NaN: no edge).
    hang_s, reps : of a set; None for pulls.
    test : to the limit, with the time it failed at; else training.
    """

    day: int
    capacity: str
    grip: str
    hand: str
    edge_mm: float
    sets: int
    hang_s: float | None = None
    reps: int | None = None
    test: bool = False


def smallest_rises(
    plan: Sequence[SetsOfDay],
    block: Block,
    *,
    load_kg: Mapping[Series, float],
    left_noted: float = 0.0,
    day_factor: float = 1.0,
    draws: int = 6,
    seed: int = 1,
) -> dict[SeriesKey, float]:
    """
    Find the smallest true rise of each series whose 90 % range leaves out no change on average.

    Logs without any change are drawn from the plan with the model's own noise, and fitted; each
    gives `StrengthFit.smallest_rise`, and the mean is taken. A series that most logs leave
    unmeasured is missing.

    Parameters
    ----------
    load_kg : strength of each capacity, grip and hand, at the reference edge and hold.
    left_noted : share of the sessions' last sets for which it is noted what was left.
    day_factor : by how much the athlete's days differ more than usual.
    draws, seed : the same seed gives the same good and bad days to every plan, so that two plans
        differ by what is logged.

    Returns
    -------
    The rises in log load.
    """
    found: dict[SeriesKey, list[float]] = {}
    for number in range(draws):
        sets = draw_log(
            plan,
            block,
            load_kg=load_kg,
            left_noted=left_noted,
            day_factor=day_factor,
            seed=(seed, number // 2),
            turned=bool(number % 2),
        )
        fit = fit_strength(sets, block)
        for s in fit.series:
            if math.isfinite(s.low_pct):
                found.setdefault(s.key, []).append(fit.smallest_rise(s.key))
    return {k: float(np.mean(x)) for k, x in found.items() if 2 * len(x) > draws}


def draw_log(
    plan: Sequence[SetsOfDay],
    block: Block,
    *,
    load_kg: Mapping[Series, float],
    left_noted: float,
    day_factor: float = 1.0,
    rise: Mapping[Series, float] | None = None,
    seed: tuple[int, ...] = (1,),
    turned: bool = False,
) -> pd.DataFrame:
    """
    Draw the sets of a planned block, as `derive_sets` gives them, with the model's own noise.

    Parameters
    ----------
    rise : change of each series over the block, in log load. Others as in `smallest_rises`.
    turned : good days and sets bad and bad ones good: in the mean of both the luck is gone.
    """
    rows: list[dict[str, object]] = []
    noise, last = NoiseScales(), 7 * block.weeks - 1
    general = np.random.default_rng([*seed, 0])
    bias = dict(zip(CAPACITIES, PRIORS.guess_bias * general.normal(size=3), strict=True))
    for part in sorted(plan, key=lambda x: x.day):
        # by day and series, so that a plan with one day more has the same days otherwise
        c = CAPACITIES.index(part.capacity)
        name = f"{part.capacity}/{part.grip}/{part.hand}".encode()
        of_day = np.random.default_rng([*seed, 1, part.day])
        of_part = np.random.default_rng([*seed, 2, part.day, c])
        own = np.random.default_rng([*seed, 3, part.day, int(part.test), *name])
        luck = -1.0 if turned else 1.0
        form = (
            luck
            * day_factor
            * (noise.day * of_day.normal() + noise.capacity_day * of_part.normal())
        )
        series = (part.capacity, part.grip, part.hand)
        base, gain = math.log(load_kg[series]), (rise or {}).get(series, 0.0)
        reached = base + gain * min(max(part.day / last, 0.0), 1.0)
        able = reached + form
        edge = PRIORS.edge_mean * log_over(part.edge_mm, block.reference_edge_mm, part.grip)
        for place in range(part.sets):
            one = able - PRIORS.fading[c] * place + luck * noise.of_set[c] * own.normal()
            noted = place == part.sets - 1 and own.random() < left_noted
            planned = reached + edge + (_ABOVE if part.test else -_BELOW)
            rows.append(
                _row(part, planned, one + edge, own, place, noted=noted, bias=bias[part.capacity])
            )
    frame = pd.DataFrame(rows)
    frame["line"] = np.arange(2, len(frame) + 2)
    return frame


def _row(
    part: SetsOfDay,
    planned: float,
    able: float,
    rng: np.random.Generator,
    place: int,
    *,
    noted: bool,
    bias: float,
) -> dict[str, object]:
    """One set as its log row would be derived; `planned` and `able` are log loads on that edge."""
    pull = part.capacity == "pull"
    load = math.exp(able) + SCALE_ERROR_KG * rng.normal() if pull else math.exp(planned)
    row: dict[str, object] = {
        "exercise": part.capacity, "grip": part.grip, "hand": part.hand, "load_kind": "steady",
        "warmup": False, "test": part.test, "day": part.day, "session": "", "order": math.nan,
        "file": "plan", "sets": 1, "edge_mm": part.edge_mm, "board": "", "load_kg": load,
        "load_error_kg": math.hypot(ERROR_ON_DAY_KG, SCALE_ERROR_KG) if pull else ERROR_ON_DAY_KG,
        "load_source": "body", "body_mass_age_days": float(part.day % 7), "body_mass_kg": math.nan,
        "scale_kg": 20.0 if pull else math.nan, "hang_s": math.nan, "rest_s": math.nan,
        "reps": math.nan, "reps_done": math.nan, "failed_s": math.nan, "reserve_s": math.nan,
        "reserve_reps": math.nan, "tension_s": 3.0, "outcome": "pull",
        "set_id": 1000 * part.day + place,
    }  # fmt: skip
    if pull:
        return row
    hang = part.capacity == "hang"
    hold = part.hang_s or (10.0 if hang else REFERENCE_SET[1])
    reps = part.reps or REFERENCE_SET[0]
    whole = hold if hang else reps * hold
    held = _held_s(able - planned, part.capacity, whole)
    failed = held < whole or part.test
    row |= {"hang_s": hold, "outcome": "failed" if failed else "finished"}
    row["tension_s"] = held if failed else whole
    if not hang:
        row |= {"rest_s": REFERENCE_SET[2], "reps": float(reps)}
    if failed:
        row["failed_s"] = round(2 * (held if hang else held % hold)) / 2
        if not hang:
            row["reps_done"] = float(held // hold)
    elif noted:
        unit = 1.0 if hang else hold
        guess = (held - whole) / unit * math.exp(bias + RESERVE_ERROR * rng.normal())
        row["reserve_s" if hang else "reserve_reps"] = float(min(round(guess), 10))
    return row


_TIMES = np.exp(np.linspace(math.log(0.5), math.log(240.0), 300))


def _held_s(margin: float, capacity: str, whole_s: float) -> float:
    """Seconds under load at a load so far (log) below what lasts for `whole_s`."""
    drop = (hold_drop if capacity == "hang" else repeater_drop)(_TIMES, whole_s).value
    return float(np.interp(margin, np.maximum.accumulate(drop), _TIMES))
