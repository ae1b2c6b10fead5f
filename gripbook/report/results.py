"""results.csv and how well its estimates foretold each log, without rendering a page."""

from __future__ import annotations

from collections.abc import Sequence

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
            pct = found.first_pct if suspect == "first day" else found.last_pct
            side = "above" if pct > 0 else "below"
            told.append(
                f"the {suspect} lies {abs(pct):.0f} % {side} the other days. Fatigue, another "
                "board or scale, or a slip can do that: repeat the test before you rely on it."
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


def results_csv(table: pd.DataFrame) -> str:
    """
    The results, or another table for people, as CSV text.

    Numbers to six digits, empty where not known; no text of the logs is a formula to a spreadsheet.
    """
    words = {
        name: [plain_cell(v) if isinstance(v, str) else v for v in column]
        for name, column in table.items()
        if not pd.api.types.is_numeric_dtype(column.dtype)
    }
    text: str = table.assign(**words).to_csv(index=False, float_format="%.6g", lineterminator="\n")
    return text
