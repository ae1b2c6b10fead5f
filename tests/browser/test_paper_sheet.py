"""The sheet on paper, printed by Chromium."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from gripbook.cli import main
from gripbook.sheets import PlannedSession, PlannedSet, SheetPlan, paper_page
from gripbook.sheets.paper import ROWS_A_PAGE

pytestmark = pytest.mark.browser

DAY = dt.date(2026, 1, 6)
SET = PlannedSet(
    1, "repeater", "open_three", "left", 20, -12.5, hang_s=7, rest_s=3, reps=6, pieces=(10, 2.5)
)


def pages_of(browser: Any, plan: SheetPlan, folder: Path) -> tuple[int, list[float]]:
    """How many A4 pages a sheet takes, and the heights of its rows in mm."""
    path = folder / "sheet.html"
    path.write_text(paper_page(plan), encoding="utf-8")
    page = browser.new_page(viewport={"width": 703, "height": 1000})  # 186 mm at 96 dots an inch
    try:
        page.goto(path.as_uri())
        page.emulate_media(media="print")
        heights = page.eval_on_selector_all(
            "tbody tr", "rows => rows.map(r => r.getBoundingClientRect().height * 25.4 / 96)"
        )
        pdf = page.pdf(prefer_css_page_size=True)
    finally:
        page.close()
    return len(re.findall(rb"/Type\s*/Page\b", pdf)), heights


def week(sets: int) -> SheetPlan:
    """Two sessions of so many sets each."""
    sessions = [
        PlannedSession(label, day, tuple(replace(SET, order=i) for i in range(1, sets + 1)))
        for label, day in (("A", DAY), ("B", DAY + dt.timedelta(days=3)))
    ]
    return SheetPlan("kim", "Kim", DAY, "kg", (10, 2.5), 3, tuple(sessions), week=4, as_of=DAY)


def test_a_usual_week_is_one_page_with_room_to_write(browser: Any, tmp_path: Path) -> None:
    """Two sessions of eight sets on one A4 page, rows 9 mm or higher; more take a page each."""
    pages, heights = pages_of(browser, week(ROWS_A_PAGE // 2), tmp_path)
    assert pages == 1
    assert min(heights) >= 9
    assert pages_of(browser, week(ROWS_A_PAGE // 2 + 1), tmp_path)[0] == 2


def test_rules_and_notes_leave_it_one_page(browser: Any, tmp_path: Path) -> None:
    """A test's note takes the room of a row, rests and the rule for adding fit above."""
    rules = (
        "Warm up with two or three easy sets. Rest 2 to 3 min between sets.",
        "All sets. " * 18,
    )
    plan = week(ROWS_A_PAGE // 2 - 1)
    noted = tuple(replace(x, notes=("Test, half crimp. " * 8,), easy=True) for x in plan.sessions)
    plan = replace(plan, rules=rules, sessions=noted)
    pages, heights = pages_of(browser, plan, tmp_path)
    assert pages == 1
    assert min(heights) >= 9
    more = replace(noted[0], sets=(*noted[0].sets, SET))
    assert pages_of(browser, replace(plan, sessions=(more, noted[1])), tmp_path)[0] == 2


def test_the_command_prints_a_pdf(demo_logs_folder: Path, chromium: str, tmp_path: Path) -> None:
    """`--out kim.pdf` gives the PDF, and the page beside it."""
    out = tmp_path / "brin.pdf"
    words = ["sheet", str(demo_logs_folder), "--athlete", "brin", "--out", str(out)]
    done = CliRunner().invoke(main, words, catch_exceptions=False)
    assert (done.exit_code, done.stdout.strip()) == (0, str(out))
    assert out.read_bytes().startswith(b"%PDF")
    assert out.with_suffix(".html").exists()
