"""What each set was: load on the fingers, time under tension, impulse, and how it ended."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import numpy.typing as npt
import pandas as pd

from gripbook.derive.body import body_mass_on
from gripbook.errors import MissingColumnError
from gripbook.logs import Block
from gripbook.logs.odd import wrong_looking
from gripbook.units import STANDARD_GRAVITY

#: SD of a bathroom scale read while pulling over it, in kg (own choice, no source).
SCALE_ERROR_KG = 1.0
#: Seconds an all-out pull counts for where none are logged: a steady pull is held 2 to 3 s
#: (common practice, no source).
PULL_S = 3.0

Floats = npt.NDArray[np.float64]

_NEEDED = (
    "athlete",
    "date",
    "session",
    "order",
    "sets",
    "exercise",
    "grip",
    "hand",
    "test",
    "warmup",
    "added_kg",
    "scale_kg",
    "stand_kg",
    "force_kg",
    "load_kind",
    "hang_s",
    "rest_s",
    "reps",
    "reps_done",
    "failed_s",
    "stopped",
    "file",
    "line",
)


def load_on_fingers_kg(
    *,
    body_mass_kg: Floats,
    added_kg: Floats,
    scale_kg: Floats,
    stand_kg: Floats,
    force_kg: Floats,
) -> Floats:
    """
    Load on the fingers in kilograms-force, arrays of shape (N,), NaN where not recorded.

    The gauge's reading; else standing minus pulling on the same scale; else body mass plus added
    weight minus what still stands on the scale. A counterweight is a negative added weight.

    >>> one = np.array
    >>> nan = one([np.nan])
    >>> load_on_fingers_kg(body_mass_kg=one([72.0]), added_kg=one([0.0]), scale_kg=one([18.5]),
    ...                    stand_kg=nan, force_kg=nan)
    array([53.5])
    """
    hung = body_mass_kg + np.nan_to_num(added_kg) - np.nan_to_num(scale_kg)
    stood = stand_kg - scale_kg
    return np.where(np.isfinite(force_kg), force_kg, np.where(np.isfinite(stood), stood, hung))


#: Rows from which on a log is long (own choice, no source).
_LONG: Final = 10_000


def derive_sets(hangs: pd.DataFrame, body: pd.DataFrame, block: Block) -> pd.DataFrame:
    """
    One athlete's sets with everything that follows from a row.

    Parameters
    ----------
    hangs, body : one athlete's rows of hangs.csv and body.csv as `load_logs` gives them.
    block : gives the weeks and phases.

    Returns
    -------
    DataFrame, one row per row of `hangs` in order of day and position, its columns and:

    - `day` (int, days since the block's first day), `week` (int, block week from 1; below 1 or
      above the block's weeks outside it), `in_block` (bool), `phase` (str, "" outside),
      `planned` (bool: in the block, no warm-up, and of the exercise its phase asks for, or a test
      in a test week)
    - `set_id` (int): rows of one set share it
    - `body_mass_kg`, `body_mass_error_kg`, `body_mass_age_days` (see `body_mass_on`)
    - `load_kg`, `load_error_kg` (SD from body mass and scale), `load_source` (`gauge`, `stand`,
      `body`, "" unknown), `force_n`; NaN where no load can be known or none was on the fingers
    - `wrong_kg`: the load of a set that looks wrong (see `wrong_looking`) and so counts as not
      known; NaN elsewhere
    - `outcome`: `finished`, `failed` (the fingers opened), `stopped` (slip, skin, pain, choice),
      `pull`
    - `tension_s` time under tension, `duration_s` planned length with a rest after each hold,
      `density` their ratio, `impulse_kg_s` load times tension: all of one set of the row;
      NaN where the log does not say. A row stands for `sets` of them.
    - `ratio`: load over body mass

    Raises
    ------
    MissingColumnError : names the column of `hangs` that is not there.
    """
    for column in _NEEDED:
        if column not in hangs:
            raise MissingColumnError(
                f"derive_sets needs the column {column!r}; found: {', '.join(hangs.columns)}. "
                "Pass the frame `load_logs(...).hangs`."
            )
    sets = _in_order(hangs)
    _place(sets, block)
    mass = body_mass_on(sets["date"], body)
    for name in mass.columns:
        sets[name] = mass[name]
    _load(sets)
    _work(sets)
    sets["impulse_kg_s"] = sets["load_kg"] * sets["tension_s"]
    sets["ratio"] = sets["load_kg"] / sets["body_mass_kg"]
    # its columns side by side: choosing rows is then faster by a third, which pays for short logs
    return sets.copy() if len(sets) < _LONG else sets


def _in_order(hangs: pd.DataFrame) -> pd.DataFrame:
    """The rows by day, session and position: `order`, or the place among the session's rows."""
    date = hangs["date"].to_numpy().astype(np.int64)
    session, file = _ranks(hangs["session"]), _ranks(hangs["file"])
    rows = _sorted_rows([date, session, file, hangs["line"].to_numpy()])
    order = hangs["order"].to_numpy(dtype=np.float64)[rows]
    if not np.isnan(order).all():
        d, s = date[rows], session[rows]
        new = np.ones(len(rows), dtype=bool)
        new[1:] = (d[1:] != d[:-1]) | (s[1:] != s[:-1])
        place = np.arange(len(rows)) - np.flatnonzero(new)[np.cumsum(new) - 1] + 1.0
        rows = rows[_sorted_rows([d, s, np.where(np.isnan(order), place, order)])]
    if (rows[1:] > rows[:-1]).all():  # as logs mostly are
        return hangs.reset_index(drop=True)
    return hangs.take(rows).reset_index(drop=True)


def _sorted_rows(
    keys: Sequence[npt.NDArray[np.int64 | np.float64]],
) -> npt.NDArray[np.intp]:
    """Rows by the first key, then the second and so on; as they stand where that is so already."""
    tied = np.ones(max(len(keys[0]) - 1, 0), dtype=bool)
    for key in keys:
        step = np.diff(key)
        if (step[tied] < 0).any():
            rows: npt.NDArray[np.intp] = np.lexsort(keys[::-1])
            return rows
        tied &= step == 0
    return np.arange(len(keys[0]))


def _ranks(words: pd.Series) -> npt.NDArray[np.int64]:
    """Numbers in the order of the words; most often all are the same."""
    values = words.to_numpy(dtype=object)
    if not len(values) or (values == values[0]).all():
        return np.zeros(len(values), dtype=np.int64)
    ranks: npt.NDArray[np.int64] = pd.factorize(values, sort=True)[0].astype(np.int64)
    return ranks


def _place(sets: pd.DataFrame, block: Block) -> None:
    """Day, week, phase and set of each row."""
    start = np.datetime64(block.start, "D")
    days = (sets["date"].to_numpy().astype("datetime64[D]") - start).astype(np.int64)
    week = days // 7 + 1
    in_block = (week >= 1) & (week <= block.weeks)
    # the plan is asked once for each pair of week and exercise of the block, not for each row
    inside = np.flatnonzero(in_block)
    inside_week, exercise = week[inside], sets["exercise"].iloc[inside]
    number = pd.factorize(inside_week * 100 + _ranks(exercise))[0]
    # numbers are given in the order of the rows: a new one is greater than all before
    first = np.flatnonzero(np.diff(np.maximum.accumulate(number), prepend=-1))
    names, asked = [""], [False]  # those outside the block have number 0
    for one_week, one in zip(inside_week[first].tolist(), exercise.iloc[first], strict=True):
        named = block.phase_in(one_week, one)
        phase = named or block.phase_in(one_week)
        names.append(phase.name if phase else "")
        asked.append(named is not None)
    code = np.zeros(len(sets), dtype=np.intp)
    code[inside] = number + 1
    of_phase = np.array(asked, dtype=bool)[code]
    test = sets["test"].to_numpy() & np.isin(week, list(block.test_weeks))
    warmup = sets["warmup"].to_numpy()
    sets["day"], sets["week"], sets["in_block"] = days, week, in_block
    sets["phase"] = _texts(names, code)
    sets["planned"] = in_block & ~warmup & (of_phase | test)
    sets["set_id"] = _set_ids(sets)


def _texts(words: list[str], codes: npt.NDArray[np.intp]) -> pd.api.extensions.ExtensionArray:
    """A column of few distinct words, each row's by its number."""
    column: pd.api.extensions.ExtensionArray = pd.array(words, dtype="str").take(codes)
    return column


def _set_ids(sets: pd.DataFrame) -> npt.NDArray[np.int64]:
    """One number for the rows of a set; a row without an order is a set of its own."""
    order = sets["order"].to_numpy(dtype=np.float64)
    alone = np.isnan(order)
    if alone.all():
        return np.arange(len(sets))
    if alone.any():  # such rows may stand between those of one set
        same = sets.groupby(["date", "session", "order"], sort=False, dropna=False).ngroup()
        mixed: npt.NDArray[np.int64] = np.where(alone, -1 - np.arange(len(sets)), same)
        ids: npt.NDArray[np.int64] = pd.factorize(mixed)[0].astype(np.int64)
        return ids
    date, session = sets["date"].to_numpy().astype(np.int64), _ranks(sets["session"])
    new = np.ones(len(sets), dtype=bool)
    for values in (date, session, order):
        new[1:] &= values[1:] == values[:-1]
    new[1:] = ~new[1:]
    numbers: npt.NDArray[np.int64] = np.cumsum(new) - 1
    return numbers


def _load(sets: pd.DataFrame) -> None:
    columns = ("body_mass_kg", "added_kg", "scale_kg", "stand_kg", "force_kg")
    known = {c: sets[c].to_numpy(dtype=np.float64) for c in columns}
    load = load_on_fingers_kg(**known)
    load = np.where(load > 0, load, np.nan)
    wrong = wrong_looking(sets, load, known["body_mass_kg"])
    sets["wrong_kg"] = np.where(wrong, load, np.nan)
    load = np.where(wrong, np.nan, load)
    gauge = np.isfinite(known["force_kg"])
    stand = np.isfinite(known["stand_kg"] - known["scale_kg"]) & ~gauge
    # 0 says that the feet were in the air, and is no reading
    scale = np.where(known["scale_kg"] > 0, SCALE_ERROR_KG, 0.0)
    from_body = np.hypot(sets["body_mass_error_kg"].to_numpy(dtype=np.float64), scale)
    sets["load_kg"] = load
    error = np.where(gauge, 0.0, np.where(stand, SCALE_ERROR_KG, from_body))
    sets["load_error_kg"] = np.where(np.isnan(load), np.nan, error)
    source = np.where(gauge, 1, np.where(stand, 2, 3))
    sets["load_source"] = _texts(["", "gauge", "stand", "body"], source * np.isfinite(load))
    sets["force_n"] = load * STANDARD_GRAVITY


def _work(sets: pd.DataFrame) -> None:
    """Outcome, time under tension, duration and density of one set of each row."""
    exercise = sets["exercise"].to_numpy(dtype=object)
    repeater, pull = exercise == "repeater", exercise == "pull"
    hold, rest, reps, done, failed = (
        sets[c].to_numpy(dtype=np.float64)
        for c in ("hang_s", "rest_s", "reps", "reps_done", "failed_s")
    )
    missed = np.isfinite(failed) | (repeater & (done < reps))
    stopped = (sets["stopped"].to_numpy(dtype=object) != "").astype(bool)
    outcome = np.select([stopped, pull, missed], [0, 1, 2], default=3)
    sets["outcome"] = _texts(["stopped", "pull", "failed", "finished"], outcome)

    # a hold that ended early without its seconds, and a repeater whose finished holds were not
    # counted, have an unknown time under tension; it is not made up
    planned = np.where(pull & ~np.isfinite(hold), PULL_S, hold)
    one_hold = np.where(np.isfinite(failed), failed, np.where(stopped, np.nan, planned))
    finished = np.where(np.isfinite(done), done, np.where(missed | stopped, np.nan, reps))
    of_last = np.where(np.isnan(failed), 0.0, failed)
    of_repeater = np.where(finished == 0, 0.0, finished * hold) + of_last
    tension = np.where(repeater, of_repeater, one_hold)
    # each hold of a set is followed by its rest: 6 x (7 s + 3 s) = 60 s
    holds = np.where(np.isfinite(reps), reps, done + 1)
    duration = np.where(
        repeater, holds * (hold + rest), np.where(np.isfinite(planned), planned, one_hold)
    )
    sets["tension_s"] = tension
    sets["duration_s"] = duration
    with np.errstate(divide="ignore", invalid="ignore"):
        sets["density"] = tension / duration
