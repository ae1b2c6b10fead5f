"""Whatever a spreadsheet holds: rows in are used, refused or ignored, and never taken twice."""

from __future__ import annotations

import csv
import io
import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from gripbook.logs import load_logs
from gripbook.logs.adopt import adopt

HEADER = ["Datum", "Griff", "Leiste", "Gewicht", "Dauer", "Satz1", "Satz2", "Bemerkung"]
cells = {
    "Datum": ["17.09.2026", "5. Januar 2026", "05.10.2026", "", "gestern", "Summe", "31.02.2026"],
    "Griff": ["Halbcrimp", "half crimp", "crimp", "Sloper", "", "12"],
    "Leiste": ["20 mm", "2 cm", "20", "", "9999"],
    "Gewicht": ["+5", "BW", "-10 kg", "", "viel", "62"],
    "Dauer": ["10", "10s", ""],
    "Satz1": ["10", "8", "", "x"],
    "Satz2": ["10", "", "7 s"],
    "Bemerkung": ["", "=1", 'a "b"', "a\nb", "ä;ö"],
}
rows = st.tuples(*(st.sampled_from(cells[name]) for name in HEADER))
ANSWERS = {
    '"Gewicht" = "?"': '"Gewicht" = "added_kg"',
    'athlete = "?"': 'athlete = "kim"',
    'exercise = "?"': 'exercise = "hang"',
    '"crimp" = "?"': '"crimp" = "full_crimp"',
    '"12" = "?"': '"12" = ""',
    '"?" = ["Satz': 'held_s = ["Satz',
    'hang_s = "?"': 'hang_s = "10"',
    'edge_mm = "?"': 'edge_mm = "20"',
    'grip = "?"': 'grip = "half_crimp"',
    'date = "?"': 'date = "2026-01-05"',
    'dates = "?"': 'dates = "day-first"',
    'added_kg = ["Satz': 'held_s = ["Satz',
}


def written(path: Path, table: list[tuple[str, ...]]) -> None:
    """A spreadsheet of these rows."""
    out = io.StringIO()
    csv.writer(out, delimiter=";").writerows([HEADER, *table])
    path.write_text(out.getvalue(), encoding="utf-8")


@settings(max_examples=60, deadline=None)
@given(st.lists(rows, min_size=1, max_size=12), st.integers(0, 12))
def test_every_row_is_used_refused_or_ignored_once(table: list[tuple[str, ...]], n: int) -> None:
    """Also of a part of the sheet first and then of all; what is written the reader accepts."""
    with tempfile.TemporaryDirectory() as name:
        path, logs = Path(name) / "training.csv", Path(name) / "logs"
        written(path, table)
        adopt([path], logs)
        text = (logs / "map.toml").read_text(encoding="utf-8")
        for question, answer in ANSWERS.items():
            text = text.replace(question, answer)
        (logs / "map.toml").write_text(text, encoding="utf-8")
        written(path, table[:n])
        adopt([path], logs)
        written(path, table)
        done = adopt([path], logs)
        assert done.questions == ()
        outcome = done.outcome
        filled = sum(any(cell.strip() for cell in row) for row in table)
        assert outcome.rows_in == filled
        assert outcome.used + len(outcome.refused) + len(outcome.ignored) == filled
        before = {p.name: p.read_bytes() for p in logs.iterdir()}
        again = adopt([path], logs)
        assert (again.added, again.known) == (0, len(outcome.rows) - len(again.conflicts))
        assert {p.name: p.read_bytes() for p in logs.iterdir()} == before
        hangs = [row for row in outcome.rows if row.file == "hangs"]
        if hangs:
            read = load_logs(logs)
            assert read.errors == ()
            assert len(read.hangs) + len(again.conflicts) >= len(hangs)
