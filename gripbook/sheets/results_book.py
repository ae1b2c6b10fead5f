"""`results --xlsx`: results, tests, weeks and what comes next, a sheet each."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Final

import pandas as pd

from gripbook.logs import Logs
from gripbook.report.next_block import next_table
from gripbook.report.results import rounded_results
from gripbook.report.spreadsheet import bare_cell
from gripbook.reviews import propose_next, review
from gripbook.sheets.workbook import write_tables

#: What a row of the sheet of tests says: the set as it was logged, and its load.
TESTS: Final = (
    *("date", "session", "exercise", "grip", "hand", "edge_mm", "board", "added_kg", "scale_kg"),
    *("stand_kg", "force_kg", "load_kind", "hang_s", "rest_s", "reps", "reps_done", "failed_s"),
    *("stopped", "reserve_s", "reserve_reps", "shown_kg", "shown_as", "outcome", "note"),
)
#: Headers that would lack their unit.
_UNITS: Final = {"left": "left_s_or_holds", "without": "without_days"}


def write_results_book(path: Path, logs: Logs, results: pd.DataFrame, block: str = "") -> None:
    """
    Write the results of every athlete with what stands behind them.

    The plan is the coming week's, after a block's end the next block's.

    Parameters
    ----------
    results : rows of results.csv, exact.
    block : only the block of this name; "" each athlete's latest, for tests, weeks and plan.
    """
    tests: list[pd.DataFrame] = []
    weeks: list[pd.DataFrame] = []
    plans = []
    for athlete in dict.fromkeys(results["athlete"]):
        seen = review(logs, athlete, block)
        done = seen.done.weeks.drop(columns=["athlete", "block"], errors="ignore")
        done["without"] = [
            ", ".join(f"{kind} {days}" for kind, days in reasons) for reasons in done["without"]
        ]
        for frame, into in (
            (seen.tests[[c for c in TESTS if c in seen.tests]], tests),
            (done, weeks),
        ):
            into.append(frame.copy())
            into[-1].insert(0, "athlete", athlete)
            into[-1].insert(1, "block", seen.block.name)
        plan = propose_next(seen, week=True)
        plans.append(propose_next(seen) if plan.over else plan)
    plan_frame = pd.read_csv(io.StringIO(next_table(plans)), dtype={"athlete": "str"})
    plan_frame = plan_frame.map(lambda cell: bare_cell(cell) if isinstance(cell, str) else cell)
    sheets = [("results", rounded_results(results))]
    for name, parts in (("tests", tests), ("weeks", weeks), ("plan", [plan_frame])):
        filled = [part for part in parts if len(part)]
        if filled or parts:
            frame = pd.concat(filled) if filled else parts[0]
            sheets.append((name, frame.rename(columns=_UNITS)))
    write_tables(path, sheets)
