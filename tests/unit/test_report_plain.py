"""Facts as JSON and back."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from gripbook.report.run.plain import from_plain, to_plain
from gripbook.reviews import SquadRow
from tests.reviewed import reviewed_squad

DEMO = Path(__file__).parents[2] / "data_demo"


def test_rows_of_a_squad_come_back_as_they_were() -> None:
    """Enums, days, reasons, NaN and infinity included; a row holds no other types."""
    rows = reviewed_squad(DEMO).rows
    assert any(m.reasons for row in rows for m in row.marks)
    for row in rows:
        back = from_plain(SquadRow, json.loads(json.dumps(to_plain(row), allow_nan=False)))
        assert to_plain(back) == to_plain(row)  # NaN is not itself, its word is


@pytest.mark.parametrize("broken", [[], "x", {"athlete": "a"}, {"nonsense": 1}])
def test_what_is_no_row_is_refused(broken: object) -> None:
    """A damaged record is an error that the manifest knows."""
    with pytest.raises((TypeError, ValueError, KeyError)):
        from_plain(SquadRow, broken)
