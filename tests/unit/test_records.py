"""Rows of a frame as plain tuples, and frames of plain rows."""

from __future__ import annotations

import pandas as pd
import pytest

from gripbook.derive.records import frame_of, records

TYPES = {
    "date": "datetime64[us]",
    "name": "str",
    "sets": "int64",
    "load_kg": "float64",
    "easy": "bool",
    "rows": "object",
}
DAY = pd.Timestamp("2026-03-02")
ROWS = [
    (DAY, "a", 3, 41.5, True, ("hangs.csv:2", "hangs.csv:3")),
    (pd.NaT, "", 1, float("nan"), False, ()),
]


@pytest.mark.parametrize("rows", [ROWS, ROWS[:1], []])
def test_a_frame_of_rows_is_one_given_its_types_afterwards(rows: list[tuple[object, ...]]) -> None:
    """Values, types and index are pandas' own, without rows too."""
    usual = pd.DataFrame(rows, columns=list(TYPES)).astype(TYPES)
    pd.testing.assert_frame_equal(frame_of(rows, TYPES), usual)


def test_rows_come_back() -> None:
    """What went into a frame comes out of it, all columns or some in another order."""
    frame = frame_of(ROWS, TYPES)
    assert tuple(records(frame)[0]) == ROWS[0]
    assert records(frame)[1].date is pd.NaT
    assert [tuple(r) for r in records(frame, "sets", "name")] == [(3, "a"), (1, "")]
    assert records(frame.iloc[:0]) == []


def test_a_row_of_another_length_is_an_error() -> None:
    """No value is lost or shifted in silence."""
    with pytest.raises(ValueError, match=r"shorter|longer"):
        frame_of([ROWS[0], ROWS[1][:-1]], TYPES)
    with pytest.raises(ValueError, match=r"shorter|longer"):
        frame_of([r[:-1] for r in ROWS], TYPES)
