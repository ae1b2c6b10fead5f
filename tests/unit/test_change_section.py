"""The section on what changed: back to the log."""

from __future__ import annotations

from pathlib import Path

from gripbook.logs import load_logs
from gripbook.report import sections
from gripbook.report.sections.trace import row_ranges
from gripbook.reviews import review


def test_every_estimate_leads_back_to_its_rows(demo_logs_folder: Path) -> None:
    """Each series' row lists file and line of every set that its estimate rests on."""
    r = review(load_logs(demo_logs_folder), "celm")
    page = "".join(getattr(p, "html", "") for p in sections.change(r))
    assert "Sets that each series&#x27; estimate rests on" in page
    for s in r.change.series:
        rows = row_ranges((p.file, p.line) for p in s.fit.points)
        assert rows.startswith("hangs.csv:")
        assert rows in page


def test_sets_left_out_are_told_with_their_reason(small_logs: Path) -> None:
    """A guessed load is no evidence; the section says how many sets that left out."""
    with (small_logs / "hangs.csv").open(encoding="utf-8") as file:
        header = file.readline().strip().split(",")
    row = {
        "athlete": "ada", "date": "2026-01-14", "sets": "2", "exercise": "hang",
        "grip": "half_crimp", "hand": "both", "edge_mm": "20", "added_kg": "5", "hang_s": "10",
        "load_kind": "guess",
    }  # fmt: skip
    if "load_kind" not in header:
        text = (small_logs / "hangs.csv").read_text(encoding="utf-8").splitlines()
        text = [f"{line},{'load_kind' if i == 0 else ''}" for i, line in enumerate(text)]
        (small_logs / "hangs.csv").write_text("\n".join(text) + "\n", encoding="utf-8")
        header.append("load_kind")
    with (small_logs / "hangs.csv").open("a", encoding="utf-8") as file:
        file.write(",".join(row.get(c, "") for c in header) + "\n")
    r = review(load_logs(small_logs), "ada")
    page = "".join(getattr(p, "html", "") for p in sections.change(r))
    assert "Left out: 2 sets with a guessed load" in page
