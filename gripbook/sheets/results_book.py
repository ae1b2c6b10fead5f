"""`results --xlsx`: results, tests, weeks and the coming week's plan, a sheet each."""

from __future__ import annotations

import io
from pathlib import Path

import pandas as pd

from gripbook.logs import Logs
from gripbook.report.next_block import next_table, proposals
from gripbook.reviews import review
from gripbook.sheets.workbook import write_tables


def write_results_book(path: Path, logs: Logs, results: pd.DataFrame, block: str = "") -> None:
    """
    Write the results of every athlete with what stands behind them.

    Parameters
    ----------
    results : rows of results.csv.
    block : only the block of this name; "" each athlete's latest, for tests, weeks and plan.
    """
    tests: list[pd.DataFrame] = []
    weeks: list[pd.DataFrame] = []
    plans: list[pd.DataFrame] = []
    for athlete in dict.fromkeys(results["athlete"]):
        seen = review(logs, athlete, block)
        for frame, into in ((seen.tests, tests), (seen.done.weeks, weeks)):
            more = frame.drop(columns=[c for c in ("athlete", "block") if c in frame])
            more.insert(0, "athlete", athlete)
            more.insert(1, "block", seen.block.name)
            into.append(more)
        plan = next_table(proposals(logs, [athlete], block=block, week=True))
        plans.append(pd.read_csv(io.StringIO(plan), dtype={"athlete": "str"}))
    sheets = [("results", results)]
    for name, parts in (("tests", tests), ("weeks", weeks), ("plan", plans)):
        filled = [part for part in parts if len(part)]
        if filled or parts:
            sheets.append((name, pd.concat(filled) if filled else parts[0]))
    write_tables(path, sheets)
