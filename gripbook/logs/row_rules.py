"""What the cells of one row say together: the rules of each file."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

import numpy as np
import numpy.typing as npt
import pandas as pd

from gripbook.logs.block import EXERCISES
from gripbook.logs.cells import Context
from gripbook.logs.grades import UnknownGradeError, near_grades, read_grade
from gripbook.logs.judge import Judge
from gripbook.logs.problem import Code, Parameter
from gripbook.logs.reader import BoolArray
from gripbook.logs.schema import DAYS_WITHOUT

#: Edges below this depth are told, as they aren't compared with others (mm).
SMALL_EDGE_MM: Final = 6.0


def check_rows(name: str, frame: pd.DataFrame, judge: Judge, context: Context) -> None:
    """Judge the rows of one file, `name` in the format; empty added weights in `frame` become 0."""
    if name in _RULES:
        _RULES[name](frame, judge)
    for grip, owners in context.owners.items() if "grip" in judge.columns else ():
        others = ~frame["athlete"].isin(owners).to_numpy()
        judge.add(
            "error", "grip_of_another", judge.columns["grip"].where_value(grip) & others, "grip"
        )
    if "date" in frame:
        future = frame["date"].to_numpy() > np.datetime64(context.today, "us")
        judge.add("warning", "future_date", future & ~judge.refused, "date")


def _check_hangs(frame: pd.DataFrame, judge: Judge) -> None:
    cells = judge.columns
    hang, repeater, pull = (cells["exercise"].where_value(e) for e in EXERCISES)

    def missing(column: str) -> BoolArray:
        # an unreadable cell has its problem already; here only the empty ones count
        return cells[column].where("")

    def number(column: str) -> npt.NDArray[np.float64]:
        values: npt.NDArray[np.float64] = frame[column].to_numpy(dtype=np.float64)
        return values

    def error(code: Code, rows: BoolArray, column: str) -> None:
        judge.add("error", code, rows, column)

    def warn(code: Code, rows: BoolArray, column: str, **parameters: Parameter) -> None:
        judge.add("warning", code, rows & ~judge.refused, column, **parameters)

    sloper = cells["grip"].where_value("sloper")
    error("edge_missing", missing("edge_mm") & ~sloper, "edge_mm")
    no_hold = missing("hang_s") & missing("failed_s")
    error("hang_s_missing", (hang | repeater) & no_hold, "hang_s")
    error("rest_s_missing", repeater & missing("rest_s"), "rest_s")
    error("reps_missing", repeater & missing("reps") & missing("failed_s"), "reps")
    error("load_missing", pull & missing("scale_kg") & missing("force_kg"), "scale_kg")
    stand, scale = number("stand_kg"), number("scale_kg")
    error("scale_above_stand", (scale >= stand) & missing("force_kg"), "scale_kg")
    failed, hold = number("failed_s"), number("hang_s")
    error("failed_too_long", failed > hold, "failed_s")
    done, planned = number("reps_done"), number("reps")
    error("reps_done_too_many", done > planned, "reps_done")
    error("nothing_failed", (done == planned) & (failed >= 0) & repeater, "reps_done")

    # the contract's reading of a gap: 0 with a warning, and only where others are filled
    gap = missing("added_kg")
    if gap.all():
        gap[:] = False
    force = number("force_kg")
    warn("added_empty", gap & np.isnan(force) & np.isnan(stand), "added_kg")
    frame["added_kg"] = frame["added_kg"].fillna(0.0)
    warn("reps_done_unknown", repeater & (failed >= 0) & np.isnan(done), "reps_done")
    warn("failed_at_plan", (failed == hold) & (failed > 0), "failed_s")
    for column, rows, exercise in (
        ("reserve_s", hang, "hang"),
        ("reserve_reps", repeater, "repeater"),
    ):
        warn("not_used", ~rows & ~np.isnan(number(column)), column, exercise=exercise)
    warn("two_loads", ~np.isnan(force) & ~np.isnan(scale), "force_kg")
    small = (number("edge_mm") < SMALL_EDGE_MM) & ~cells["grip"].where_value("pinch")
    warn("edge_small", small, "edge_mm", least=SMALL_EDGE_MM)


def _check_sessions(frame: pd.DataFrame, judge: Judge) -> None:
    until = frame["until"].to_numpy()
    given = ~np.isnat(until)
    judge.add("error", "until_before_date", given & (until < frame["date"].to_numpy()), "until")
    training = ~frame["kind"].isin(DAYS_WITHOUT).to_numpy()
    unused = given & training & ~judge.refused
    judge.add("warning", "until_not_used", unused, "until", kinds=DAYS_WITHOUT)


def _check_pain(frame: pd.DataFrame, judge: Judge) -> None:
    empty = judge.columns["level"].where("") & judge.columns["sign"].where("")
    judge.add("error", "level_missing", empty, "level")


def _check_climbs(frame: pd.DataFrame, judge: Judge) -> None:
    # the row stays: that a climb was done is known, only where it stands on the scale is not
    pairs = frame[["grade", "scale"]].drop_duplicates()
    for grade, scale in pairs.itertuples(index=False, name=None):
        if not grade or not scale:
            continue  # refused already
        try:
            read_grade(grade, scale)
        except UnknownGradeError:
            rows = ((frame["grade"] == grade) & (frame["scale"] == scale)).to_numpy()
            near = near_grades(grade, scale)
            judge.add(
                "warning", "unknown_grade", rows & ~judge.refused, "grade", scale=scale, near=near
            )


_RULES: Final[Mapping[str, Callable[[pd.DataFrame, Judge], None]]] = {
    "hangs": _check_hangs,
    "sessions": _check_sessions,
    "pain": _check_pain,
    "climbs": _check_climbs,
}
