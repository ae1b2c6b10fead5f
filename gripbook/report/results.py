"""results.csv: what the package gives back, without rendering a page."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from gripbook.logs import Logs
from gripbook.report.spreadsheet import plain_cell
from gripbook.reviews import block_results
from gripbook.strength import RESULT_COLUMNS, NoiseScales


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


def results_csv(table: pd.DataFrame) -> str:
    """
    The results as CSV text.

    Numbers to six digits, empty where not known; no text of the logs is a formula to a spreadsheet.
    """
    words = {
        name: [plain_cell(v) if isinstance(v, str) else v for v in column]
        for name, column in table.items()
        if not pd.api.types.is_numeric_dtype(column.dtype)
    }
    text: str = table.assign(**words).to_csv(index=False, float_format="%.6g", lineterminator="\n")
    return text
