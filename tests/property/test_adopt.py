"""Whatever a spreadsheet holds: rows in are used, refused or ignored, and never taken twice."""

from __future__ import annotations

import csv
import io
import re
import tempfile
from collections.abc import Iterable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gripbook.logs import load_logs
from gripbook.logs.adopt import adopt

#: By spreadsheet its columns, and what may stand in their cells.
SHAPES: dict[str, dict[str, list[str]]] = {
    "german": {
        "Datum": ["17.09.2026", "5. Januar 2026", "05.10.2026", "", "gestern", "Summe"],
        "Griff": ["Halbcrimp", "half crimp", "crimp", "Sloper", "", "12"],
        "Leiste": ["20 mm", "2 cm", "20", "", "9999"],
        "Gewicht": ["+5", "BW", "-10 kg", "", "viel", "62"],
        "Dauer": ["10", "10s", ""],
        "Satz1": ["10", "8", "", "x"],
        "Satz2": ["10", "", "7 s"],
        "Bemerkung": ["", "=1", 'a "b"', "a\nb", "ä;ö"],
    },
    "english": {
        "Day": ["5 Jan 2026", "Mon 5 Jan 2026", "31 Feb 2026", "1/13/2026", "1/2/2026", "", "Day"],
        "What": ["Half crimp 20mm", "open hand 20 mm", "Half crimp", "20mm", "", "rest"],
        "Scheme": ["3x6 7/3", "4 x 6 7/3", "8x10s", "", "lots"],
        "Added": ["+12.5kg", "BW", "BW+5", "10 lb", "", "?"],
        "RPE": ["7", "7/10", "", "hard"],
        "Notes": ["", "-", "felt solid", "'quoted'"],
    },
    "squad": {
        "Wer": ["K", "L", "", "Summe"],
        "Tag": ["5. Januar 2026", "2026-01-08", "8.1.2026", ""],
        "Übung": ["Hängen", "Intervalle", "Klettern", ""],
        "Griff": ["Halbcrimp", "Sloper", "offen", ""],
        "Hand": ["beide", "L", "rechts", "mal so"],
        "mm": ["20", "2", "", "zwei"],
        "Zusatz": ["12,5", "-10", "+5 kg", ""],
        "Dauer": ["10", "0", ""],
        "Sätze": ["4", "2,5", ""],
        "Körpergewicht": ["62,4", "", "6240"],
    },
}
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
    '"open hand" = "?"': '"open hand" = "open_four"',
    '"offen" = "?"': '"offen" = ""',
    '"mal so" = "?"': '"mal so" = "both"',
    '"Klettern" = "?"': '"Klettern" = "hang"',
}


def written(path: Path, header: Iterable[str], table: list[tuple[str, ...]]) -> None:
    """A spreadsheet of these rows."""
    out = io.StringIO()
    csv.writer(out, delimiter=";").writerows([header, *table])
    path.write_text(out.getvalue(), encoding="utf-8")


@pytest.mark.parametrize("shape", SHAPES)
@settings(max_examples=25, deadline=None)
@given(data=st.data())
def test_every_row_is_used_refused_or_ignored_once(shape: str, data: st.DataObject) -> None:
    """Also of a part of the sheet first and then of all; what is written the reader accepts."""
    cells = SHAPES[shape]
    rows = st.tuples(*map(st.sampled_from, cells.values()))
    table = data.draw(st.lists(rows, min_size=1, max_size=12))
    n = data.draw(st.integers(0, 12))
    with tempfile.TemporaryDirectory() as name:
        path, logs = Path(name) / "training.csv", Path(name) / "logs"
        written(path, cells, table)
        adopt([path], logs)
        text = (logs / "map.toml").read_text(encoding="utf-8")
        for question, answer in ANSWERS.items():
            text = text.replace(question, answer)
        # whatever else was asked gets an answer that may be wrong: rows are then refused
        text = re.sub(r'(?<== )"\?"', '""', text)
        (logs / "map.toml").write_text(text, encoding="utf-8")
        written(path, cells, table[:n])
        adopt([path], logs)
        written(path, cells, table)
        done = adopt([path], logs)
        assert done.questions == ()
        outcome = done.outcome
        filled = sum(any(cell.strip() for cell in row) for row in table)
        assert outcome.rows_in == filled
        assert outcome.used + len(outcome.refused) + len(outcome.ignored) == filled
        before = {p.name: p.read_bytes() for p in logs.iterdir()}
        if (logs / "hangs.csv").exists():
            assert load_logs(logs).errors == ()
        again = adopt([path], logs)
        assert (again.added, again.known) == (0, len(outcome.rows) - len(again.conflicts))
        assert {p.name: p.read_bytes() for p in logs.iterdir()} == before
        hangs = [row for row in outcome.rows if row.file == "hangs"]
        if hangs:
            read = load_logs(logs)
            assert read.errors == ()
            assert len(read.hangs) + len(again.conflicts) >= len(hangs)
