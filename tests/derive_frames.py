"""Frames for tests of the derived measures, written row by row with the format's dtypes."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd

from gripbook import derive
from gripbook.logs import Block, Phase
from gripbook.logs.schema import BODY, HANGS, SESSIONS, LogFile

#: A Monday; the block's first day in these tests.
START = dt.date(2026, 1, 5)
#: Two weeks of hangs, four of repeaters, three of pulls with hands in turn.
BLOCK = Block(
    "Nine weeks",
    START,
    9,
    test_weeks=(1, 9),
    phases=(
        Phase("Hangs", 2, 1, "hang", set_rest_s=(120.0, 120.0)),
        Phase("Repeaters", 4, 3, "repeater", set_rest_s=(150.0, 180.0)),
        Phase("Pulls", 3, 7, "pull", set_rest_s=(180.0, 240.0), alternate_hands=True),
    ),
)

Row = dict[str, Any]


def day(number: int) -> str:
    """The block's day `number` (0 is its first) as an ISO date."""
    return (START + dt.timedelta(days=number)).isoformat()


def hang(on: int = 0, **cells: Any) -> Row:
    """A timed hang of 10 s with both hands."""
    return {"date": day(on), "exercise": "hang", "hang_s": 10.0} | cells


def repeater(on: int = 14, **cells: Any) -> Row:
    """A repeater set of 6 x (7 s + 3 s) with both hands."""
    own = {"exercise": "repeater", "hang_s": 7.0, "rest_s": 3.0, "reps": 6.0}
    return {"date": day(on)} | own | cells


def pull(on: int = 42, **cells: Any) -> Row:
    """An all-out pull of the left hand over a scale."""
    own = {"exercise": "pull", "hand": "left", "scale_kg": 20.0}
    return {"date": day(on)} | own | cells


def session(on: int, kind: str = "fingers", **cells: Any) -> Row:
    """A row of sessions.csv."""
    return {"date": day(on), "kind": kind} | cells


def _frame(kind: LogFile, rows: Sequence[Row], usual: Row) -> pd.DataFrame:
    out: dict[str, pd.Series] = {}
    for column in kind.columns:
        empty: Any = np.nan if column.kind in ("number", "integer") else ""
        empty = {"date": None, "yes": False}.get(column.kind, empty)
        cells = [row.get(column.name, usual.get(column.name, empty)) for row in rows]
        if column.name == "sets":
            dtype = "int64"
        elif column.kind in ("number", "integer"):
            dtype = "float64"
        elif column.kind == "date":
            dtype = "datetime64[us]"
        elif column.kind == "yes":
            dtype = "bool"
        else:
            dtype = "str"
        out[column.name] = pd.Series(cells, dtype=dtype)
    known = {c.name for c in kind.columns}
    assert all(set(row) <= known | {"file", "line"} for row in rows), "a cell of no column"
    out["file"] = pd.Series([r.get("file", f"{kind.name}.csv") for r in rows], dtype="str")
    out["line"] = pd.Series([r.get("line", i) for i, r in enumerate(rows, 2)], dtype="int64")
    return pd.DataFrame(out)


def hangs(*rows: Row) -> pd.DataFrame:
    """Rows of hangs.csv: half crimp, both hands, 20 mm, nothing added, unless a row says else."""
    usual: Row = {"athlete": "ada", "sets": 1, "grip": "half_crimp", "hand": "both"}
    usual |= {"edge_mm": 20.0, "added_kg": 0.0, "load_kind": "steady"}
    return _frame(HANGS, rows, usual)


def weigh_ins(*of: tuple[int, float]) -> pd.DataFrame:
    """Rows of body.csv: (day, kilograms)."""
    rows = [{"date": day(on), "body_mass_kg": mass} for on, mass in of]
    return _frame(BODY, rows, {"athlete": "ada"})


def sessions(*rows: Row) -> pd.DataFrame:
    """Rows of sessions.csv."""
    return _frame(SESSIONS, rows, {"athlete": "ada"})


def derived(*rows: Row, mass: float | None = 70.0, block: Block = BLOCK) -> pd.DataFrame:
    """Derived sets of rows of hangs.csv, with one weigh-in of `mass` on the block's first day."""
    body = weigh_ins() if mass is None else weigh_ins((0, mass))
    return derive.derive_sets(hangs(*rows), body, block)
