"""
How a fit stands to its own log: chances given before each set, and what is left over.

Nothing here needs a truth: each day's sets are foretold from the days before it and compared with
how they ended, and what the path does not explain is gathered by day and by place in the session.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import ndtr

from gripbook.strength.evidence import EXACT, drops
from gripbook.strength.fit import StrengthFit
from gripbook.strength.model import Mixture, prior_precision
from gripbook.strength.solver import Days, Posterior, find_posterior

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Suspect = Literal["chances", "order", "first_day", "last_day"]

#: Ends of the classes of chance in which sets are counted.
CHANCE_ENDS: Final = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
#: Days before a set from which on it is foretold (own choice, no source).
LEAST_DAYS: Final = 3
#: The latest days are foretold: at least `FEW_DAYS`, and no more than have so many sets of the log
#: fitted for them together (own choices, no source). Each day costs a fit of all before it, so
#: that without a limit a log of twice the days would take four times as long.
FEW_DAYS: Final = 10
MOST_SETS: Final = 50_000
#: A test day, or a place in the session, that lies so many SDs off is named (own choice, no
#: source); so is a class of chances whose count has so small a probability.
FAR_OFF: Final = 2.5
#: Places in a session are counted up to this one, further sets with it.
LAST_PLACE: Final = 4


@dataclass(frozen=True, slots=True, eq=False)
class Diagnostics:
    """
    How well the model's chances, days and places in a session fit the log.

    `chances`: one row a hang or repeater set that was finished or failed: `day`, `capacity`,
    `file`, `line`, `sets`, `chance` given on the days before, `done`. `classes`: the same counted:
    `low`, `high`, `said` (mean chance), `sets`, `done`, `sds` (by how many SDs more were done than
    said). `days`: `day`, `off_pct` (how far the day's
    sets lie above the path, by the fit, form and fatigue included), `sd_pct`, `sets`. `places`:
    `place` (sets of the series before on the day), `off_pct`, `sd_pct`, `sets` of exact sets.
    `first_pct`, `last_pct`: `off_pct` of the first and last day with sets of the block. `suspects`:
    what lies further off than noise explains.
    """

    chances: pd.DataFrame
    classes: pd.DataFrame
    days: pd.DataFrame
    places: pd.DataFrame
    first_pct: float
    last_pct: float
    suspects: tuple[Suspect, ...]


def diagnose(fit: StrengthFit) -> Diagnostics:
    """
    Check a fit against its own log.

    Raises
    ------
    ValueError : the fit holds no evidence.

    Notes
    -----
    The noise and the shape of the block are those of the whole fit's likeliest node; strength,
    curve and fading are learned anew from the days before each day, for the latest days. A day
    costs a fit, so this is for when it is asked for.
    """
    mixture = fit._mixture
    if mixture is None:
        raise ValueError("The fit holds no evidence, so there is nothing to check it against.")
    node = int(np.argmax(mixture.weight))
    chances = _chances(fit, mixture, node)
    classes = _classes(chances)
    days = _days(mixture, node)
    places = _places(mixture, node)
    inside = days[days["day"] >= 0]
    first, last = (
        (inside.iloc[i] if len(inside) else pd.Series({"off_pct": math.nan, "sd_pct": math.nan}))
        for i in (0, -1)
    )
    suspects: list[Suspect] = []
    if (classes["sds"].abs() > FAR_OFF).any():
        suspects.append("chances")
    if (places["off_pct"].abs() > FAR_OFF * places["sd_pct"]).any():
        suspects.append("order")
    if abs(first["off_pct"]) > FAR_OFF * first["sd_pct"]:
        suspects.append("first_day")
    if abs(last["off_pct"]) > FAR_OFF * last["sd_pct"]:
        suspects.append("last_day")
    return Diagnostics(
        chances,
        classes,
        days,
        places,
        float(first["off_pct"]),
        float(last["off_pct"]),
        tuple(suspects),
    )


def _noise_at(mixture: Mixture, node: int) -> tuple[float, float, Floats]:
    """SD of days, of a capacity on a day, and of each observation's set and load."""
    noise, layout = mixture.noise, mixture.layout
    day = noise.day * float(mixture.day_factor[node])
    part = noise.capacity_day * float(mixture.day_factor[node])
    own = noise.of_set[layout.capacity] * float(mixture.set_factor[node])
    return day, part, np.hypot(own, layout.evidence.load_error_log)


def _chances(fit: StrengthFit, mixture: Mixture, node: int) -> pd.DataFrame:
    layout, ev = mixture.layout, mixture.layout.evidence
    frame = fit.sets
    outcome = frame["outcome"].to_numpy(dtype=object)[ev.row]
    hold, reps = (frame[c].to_numpy(dtype=np.float64)[ev.row] for c in ("hang_s", "reps"))
    planned = np.where(layout.capacity == 0, hold, hold * reps)
    asked = np.isin(outcome, ["finished", "failed"]) & (layout.capacity != 2) & (planned > 0)
    # the design of the set as planned: its whole time, and no reserve
    drop = drops(layout.capacity, np.where(asked, planned, 1.0), ev.reference)
    design = layout.design.copy()
    at = layout.at["curve"].start
    for j, c in enumerate(layout.curves):
        design[:, at + j] = -layout.priors.curve[c] * drop.basis[:, c]
    if "guess" in layout.at:
        design[:, layout.at["guess"]] = 0.0
    need = ev.log_load - (layout.offset + ev.drop.value - drop.value)
    day_sd, part_sd, own = _noise_at(mixture, node)
    rows = []
    later = np.setdiff1d(np.unique(ev.day[asked]), np.unique(ev.day)[:LEAST_DAYS])
    for day in later[-max(FEW_DAYS, MOST_SETS // len(ev)) :].tolist():
        mine = np.flatnonzero(asked & (ev.day == day))
        post = _before(mixture, node, ev.day < day)
        mean = design[mine] @ post.mode
        sd = np.sqrt(post.variance(design[mine]) + day_sd**2 + part_sd**2 + own[mine] ** 2)
        chance = ndtr((mean - need[mine]) / sd)
        rows += [
            (day, ev.series[ev.series_of[i]].capacity, ev.file[i], int(ev.line[i]), ev.weight[i],
             float(p), outcome[i] == "finished")
            for i, p in zip(mine.tolist(), chance.tolist(), strict=True)
        ]  # fmt: skip
    names = ["day", "capacity", "file", "line", "sets", "chance", "done"]
    return pd.DataFrame(rows, columns=names)


def _before(mixture: Mixture, node: int, past: npt.NDArray[np.bool_]) -> Posterior:
    """Posterior from some of the observations, at one node."""
    layout, ev = mixture.layout, mixture.layout.evidence
    day_sd, part_sd, own = _noise_at(mixture, node)
    variance = own**2 + ev.time_error_log**2
    jacobian = layout.jacobian
    if jacobian is not None:
        used = past[layout.timed]
        weight = (own**2 / variance)[layout.timed][used]
        jacobian = replace(jacobian, ratio=jacobian.ratio[used], weight=weight)
    return find_posterior(
        layout.design[past],
        (ev.log_load - layout.offset)[past],
        np.sqrt(variance)[past],
        ev.kind[past],
        prior_precision(layout, mixture.shapes[node]),
        jacobian=jacobian,
        days=Days.of(ev.day[past], layout.capacity[past]),
        day_sd=day_sd,
        part_sd=part_sd,
        weight=ev.weight[past],
        tolerance=1e-2,
    )


def _classes(chances: pd.DataFrame) -> pd.DataFrame:
    """Chances counted in classes; `sds`: by how many SDs more was done than was said."""
    rows = []
    p, n = chances["chance"].to_numpy(dtype=float), chances["sets"].to_numpy(dtype=float)
    done = chances["done"].to_numpy(dtype=float)
    day = chances["day"].to_numpy()
    for low, high in pairwise(CHANCE_ENDS):
        mine = (p >= low) & ((p < high) | (high == 1.0))
        if not mine.any():
            continue
        sets = float(n[mine].sum())
        off = n[mine] * (done[mine] - p[mine])
        # the sets of a day share its luck: they count as one
        of_day = pd.Series(off).groupby(day[mine]).sum().to_numpy()
        sd = math.sqrt(float(np.square(of_day).sum())) if len(of_day) > LEAST_DAYS else math.inf
        z = float(off.sum()) / sd if sd > 0 else 0.0
        said = float((n * p)[mine].sum()) / sets
        rows.append((low, high, said, int(sets), int((n * done)[mine].sum()), z))
    return pd.DataFrame(rows, columns=["low", "high", "said", "sets", "done", "sds"])


def _days(mixture: Mixture, node: int) -> pd.DataFrame:
    """What each day's sets did beside the path: the day's effect, with form and fatigue."""
    layout, ev, post = mixture.layout, mixture.layout.evidence, mixture.nodes[node]
    days, day_of_part = layout.days, layout.days.day_of_part
    number = ev.day[days.part_start[days.day_start]]
    form = np.zeros(len(ev))
    for name in ("wander", "tired"):
        if name in layout.at:
            form += layout.design[:, layout.at[name]] @ post.mode[layout.at[name]]
    sets = np.bincount(day_of_part[days.part_of], ev.weight)
    by_day = np.bincount(day_of_part[days.part_of], ev.weight * form) / sets
    in_part = np.bincount(days.part_of, ev.weight)
    part = np.bincount(day_of_part, in_part * post.part) / np.bincount(day_of_part, in_part)
    day_sd, part_sd, _ = _noise_at(mixture, node)
    off = post.day + part + by_day
    return pd.DataFrame(
        {
            "day": number,
            "off_pct": 100 * np.expm1(off),
            "sd_pct": 100 * math.hypot(day_sd, part_sd),
            "sets": sets.astype(int),
        }
    )


def _places(mixture: Mixture, node: int) -> pd.DataFrame:
    """What exact sets did beside all that is fitted, by how many of the series came before."""
    layout, ev, post = mixture.layout, mixture.layout.evidence, mixture.nodes[node]
    mean, _ = post.of_observations(layout.design, layout.days)
    left = ev.log_load - layout.offset - mean
    _, _, own = _noise_at(mixture, node)
    sd = np.hypot(own, ev.time_error_log)
    exact = ev.kind == EXACT
    place = np.minimum(ev.position, LAST_PLACE).astype(int)
    rows = []
    for at in np.unique(place[exact]).tolist():
        mine = exact & (place == at)
        precision = 1.0 / sd[mine] ** 2
        off = float(precision @ left[mine] / precision.sum())
        rows.append((at, 100 * off, 100 / math.sqrt(float(precision.sum())), int(mine.sum())))
    return pd.DataFrame(rows, columns=["place", "off_pct", "sd_pct", "sets"])
