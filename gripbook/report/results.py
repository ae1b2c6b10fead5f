"""results.csv and how well its estimates foretold each log, without rendering a page."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from typing import Final

import numpy as np
import pandas as pd

from gripbook.logs import Logs
from gripbook.report.spreadsheet import plain_cell
from gripbook.reviews import block_diagnostics, block_results
from gripbook.strength import RESULT_COLUMNS, Diagnostics, NoiseScales

DIAGNOSTICS_COLUMNS = [
    "athlete",
    "block",
    "chance_from",
    "chance_to",
    "sets",
    "expected_done",
    "done",
]

#: Columns in per cent that are rounded as the change's range supports.
_PER_CENT: Final = ("change_pct", "low_pct", "high_pct", "ratio_force_pct", "ratio_mass_pct")
#: Columns in kg and kg/kg, whose own size makes of the range's per cent a step.
_SIZES: Final = ("start_kg", "end_kg", "start_ratio", "end_ratio")
#: Decimals where there is no whole range, as where the log gives lower bounds alone.
_NO_RANGE: Final = {**dict.fromkeys(_PER_CENT, 1), "start_kg": 1, "end_kg": 1}
_NO_RANGE_RATIO: Final = 3
#: Decimals of a probability, and the surest that so many decimals can say.
_CHANCE_DIGITS: Final = 3
_SUREST: Final = 0.999
#: Standard deviations between the ends of a 90 % range.
_RANGE_SDS: Final = 2 * 1.6449


def results_table(
    logs: Logs,
    *,
    athletes: Sequence[str] = (),
    block: str = "",
    noise: NoiseScales | None = None,
) -> tuple[pd.DataFrame, dict[str, str]]:
    """
    All rows of results.csv, and for each athlete without one the reason of a failure.

    Parameters
    ----------
    athletes : ids; empty: all.
    block : name; empty: every block of each athlete.
    noise : see `review`.
    """
    frames: list[pd.DataFrame] = []
    failures: dict[str, str] = {}
    for athlete in athletes or logs.athlete_ids:
        for name in logs.block_names(athlete, block):
            try:
                frames.append(block_results(logs, athlete, name, noise))
            except Exception as err:  # one athlete's odd log must not cost the others theirs
                failures[athlete] = f"{type(err).__name__}: {err}"
    filled = [f for f in frames if len(f)]
    table = pd.concat(filled, ignore_index=True) if filled else pd.DataFrame(columns=RESULT_COLUMNS)
    return table, failures


def diagnostics_table(
    logs: Logs, *, block: str = "", noise: NoiseScales | None = None
) -> tuple[pd.DataFrame, list[str], dict[str, str]]:
    """
    How often sets were completed, against the chance given to each on the days before it.

    Parameters
    ----------
    block : name; empty: every block of each athlete.
    noise : see `review`.

    Returns
    -------
    Rows of `DIAGNOSTICS_COLUMNS`, one per athlete, block and class of chance; sentences on what
    lies further off than noise explains; for each athlete who failed, the reason.
    """
    frames, odd = [pd.DataFrame(columns=DIAGNOSTICS_COLUMNS)], list[str]()
    failures: dict[str, str] = {}
    for athlete in logs.athlete_ids:
        for name in logs.block_names(athlete, block):
            try:
                found = block_diagnostics(logs, athlete, name, noise)
            except Exception as err:  # one athlete's odd log must not cost the others theirs
                failures[athlete] = f"{type(err).__name__}: {err}"
                continue
            if found is None:
                continue
            of = found.classes
            rows = of[["sets", "done"]].assign(
                athlete=athlete,
                block=name,
                chance_from=of["low"],
                chance_to=of["high"],
                expected_done=of["said"] * of["sets"],
            )
            if len(rows):
                frames.append(rows[DIAGNOSTICS_COLUMNS])
            odd += [f"{athlete}, {name}: {text}" for text in _odd(found)]
    filled = [f for f in frames if len(f)] or frames
    return pd.concat(filled, ignore_index=True), odd, failures


def _odd(found: Diagnostics) -> list[str]:
    """A sentence for each thing that lies further off than noise explains."""
    told = []
    for suspect in found.suspects:
        if suspect == "chances":
            c = found.classes.loc[found.classes["sds"].abs().idxmax()]
            told.append(
                f"{c['done']:.0f} of {c['sets']:.0f} sets with a chance of {100 * c['low']:.0f} to "
                f"{100 * c['high']:.0f} % were completed, {c['said'] * c['sets']:.1f} were "
                "expected. Look whether what was left is guessed too long or too short."
            )
        elif suspect == "order":
            p = found.places.loc[(found.places["off_pct"] / found.places["sd_pct"]).abs().idxmax()]
            side = "above" if p["off_pct"] > 0 else "below"
            told.append(
                f"sets after {p['place']:.0f} others of their series lie "
                f"{abs(p['off_pct']):.0f} % {side} what tiring explains. Look at the order of sets "
                "in the log, and at rests."
            )
        else:
            pct = found.first_pct if suspect == "first_day" else found.last_pct
            side = "above" if pct > 0 else "below"
            day = suspect.replace("_", " ")
            told.append(
                f"the {day} lies {abs(pct):.0f} % {side} the other days. Fatigue, another board or "
                "scale, or a slip can do that: repeat the test before you rely on it."
            )
    return told


def chances_in_words(table: pd.DataFrame) -> list[str]:
    """All logs together, a sentence a class: Chance of 80 to 100 %: 40 sets, 35 expected ... ."""
    sums = table.groupby(["chance_from", "chance_to"])[["sets", "expected_done", "done"]].sum()
    return [
        f"Chance of {100 * low:.0f} to {100 * high:.0f} %: {row.sets} sets, "
        f"{row.expected_done:.0f} expected to be completed, {row.done} were."
        for (low, high), row in zip(sums.index, sums.itertuples(index=False), strict=True)
    ]


def rounded_results(table: pd.DataFrame) -> pd.DataFrame:
    """
    Round the results to what each row's range supports.

    Parameters
    ----------
    table : rows of results.csv, exact.

    Returns
    -------
    DataFrame of the same shape. Per cent end where the second digit of the change's standard
    deviation stands (a 90 % range of +5 to +17 has one of 3.6: one decimal); loads and ratios so
    that the change worked out from them is as exact. Probabilities: three decimals, 0.001 to 0.999.

    Notes
    -----
    Two digits of a standard deviation, and the estimate to the same place: JCGM 100:2008, 7.2.6
    (from memory).
    """
    out = table.copy()
    if not len(out):
        return out
    sd_pct = (out["high_pct"] - out["low_pct"]).to_numpy(dtype=np.float64) / _RANGE_SDS
    for name in (*_PER_CENT, *_SIZES):
        values = out[name].to_numpy(dtype=np.float64)
        sd = sd_pct if name in _PER_CENT else np.abs(values) * sd_pct / 100
        known = np.isfinite(sd) & (sd > 0)
        digits = np.full(len(out), _NO_RANGE.get(name, _NO_RANGE_RATIO))
        digits[known] = np.clip(1 - np.floor(np.log10(sd[known])), 0, 6).astype(int)
        # adding nothing makes of -0.0 a zero without a sign
        out[name] = [round(float(v), int(d)) + 0.0 for v, d in zip(values, digits, strict=True)]
    chance = out["prob_rise"].to_numpy(dtype=np.float64)
    out["prob_rise"] = np.clip(np.round(chance, _CHANCE_DIGITS), 1 - _SUREST, _SUREST).round(3)
    return out


def results_csv(table: pd.DataFrame) -> str:
    """
    The results as CSV text.

    Numbers as `rounded_results` has them, empty where not known; no text of the logs is a formula
    to a spreadsheet.
    """
    return _csv(rounded_results(table))


def diagnostics_csv(table: pd.DataFrame) -> str:
    """The diagnostics as CSV text, sets expected to a tenth; no text of the logs is a formula."""
    return _csv(table.round({"expected_done": 1}))


def _csv(table: pd.DataFrame) -> str:
    words = {
        name: [plain_cell(v) if isinstance(v, str) else v for v in column]
        for name, column in table.items()
        if not pd.api.types.is_numeric_dtype(column.dtype)
    }
    text: str = table.assign(**words).to_csv(index=False, float_format="%.6g", lineterminator="\n")
    return text


def table_json(table: pd.DataFrame, text: str) -> str:
    """
    Rows of a table as a JSON list of objects, with the figures rounded as in its CSV `text`.

    Keys are the columns. What isn't known is null; words stand as they are in the logs.
    """
    rounded = csv.DictReader(io.StringIO(text))
    rows = [
        {name: _as_json(value, row[name]) for name, value in own.items()}
        for own, row in zip(table.to_dict("records"), rounded, strict=True)
    ]
    return json.dumps(rows, ensure_ascii=False, indent=1) + "\n"


def _as_json(value: object, written: str) -> str | int | float | None:
    if isinstance(value, str):
        return value
    if not written:
        return None
    return int(written) if isinstance(value, int) else float(written)
