"""The section on tests and strength: back to the log."""

from __future__ import annotations

from pathlib import Path

from gripbook.report import sections
from gripbook.report.sections.trace import row_ranges
from tests.reviewed import reviewed


def test_every_estimate_leads_back_to_its_rows(demo_logs_folder: Path) -> None:
    """Each series' row lists file and line of every set that its estimate rests on."""
    r = reviewed(demo_logs_folder, "celm")
    page = "".join(getattr(p, "html", "") for p in sections.strength(r))
    assert "Sets that each series&#x27; estimate rests on" in page
    for s in r.change.series:
        rows = row_ranges((p.file, p.line) for p in s.fit.points)
        assert rows.startswith("hangs.csv:")
        assert rows in page


def test_first_and_last_tests_stand_in_a_table(demo_logs_folder: Path) -> None:
    """Weight, length and what was left, as logged."""
    r = reviewed(demo_logs_folder, "arvo")
    page = "".join(getattr(p, "html", "") for p in sections.strength(r)).replace("\u00a0", " ")
    assert "+23.75 kg × 10 s" in page
    assert "95.1 kg, 3 s left" in page
    assert "102.8 kg, 7 s left" in page


def test_the_error_of_body_mass_is_the_model_s(demo_logs_folder: Path) -> None:
    """0.5 kg on the day; with a walk of 0.9 kg a week 2.6 kg at eight weeks."""
    r = reviewed(demo_logs_folder, "arvo")
    page = "".join(getattr(p, "html", "") for p in sections.log(r)).replace("\u00a0", " ")
    assert "is taken as 0.5 kg on the day of a weigh-in and grows to 2.6 kg at eight weeks" in page
