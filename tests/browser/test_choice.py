"""One choice of grip, hand and weeks for all charts; their values by keyboard."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from gripbook.logs import load_logs
from gripbook.report.batch import render_reports
from tests.browser.conftest import Open

pytestmark = pytest.mark.browser

DEMO = Path(__file__).parents[2] / "data_demo"


@pytest.fixture(scope="module")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A demo athlete's page with several grips and both hands."""
    out = tmp_path_factory.mktemp("choice")
    assert render_reports(load_logs(DEMO), out, athletes=["arvo"], workers=1).failed == []
    return out / "arvo.html"


def choose(page: Any, name: str, value: str) -> str:
    """Choose, wait for the charts, and give what the page says of it."""
    page.evaluate("document.querySelector('.choice output').textContent = ''")
    page.select_option(f".choice select[name={name}]", value)
    page.wait_for_function("document.querySelector('.choice output').textContent")
    return str(page.locator(".choice output").inner_text())


def shown_series(page: Any) -> list[list[list[str]]]:
    """Grip, hand and words of the series of each figure shown that follows the choice."""
    scripts = page.locator("figure:not([hidden]) > script").all_text_contents()
    return [found["series"] for found in map(json.loads, scripts) if "series" in found]


@pytest.mark.parametrize(("width", "scheme"), [(1100, "light"), (390, "dark")])
def test_a_hand_is_chosen_for_all_charts(
    page_file: Path, open_page: Open, width: int, scheme: str
) -> None:
    """Charts without the hand are gone, those of both hands draw it alone; the page says so."""
    with open_page(page_file, width=width, color_scheme=scheme) as page:
        figures = page.locator("figure").count()
        assert page.locator("figure:visible").count() == figures
        said = choose(page, "hand", "right")
        left = page.locator("figure:visible").count()
        assert 0 < left < figures
        assert said == f"{left} of {figures} figures are shown."
        assert all(any(s[1] == "right" for s in series) for series in shown_series(page))
        lines = "figure:visible svg.marks .role-legend-label text"
        assert not [t for t in page.locator(lines).all_text_contents() if "left hand" in t]
        assert page.evaluate("document.documentElement.scrollWidth") == width
        assert choose(page, "hand", "") == f"{figures} of {figures} figures are shown."
        assert page.locator("figure:visible").count() == figures


def test_weeks_are_chosen_for_all_charts(page_file: Path, open_page: Open) -> None:
    """The axes of days and of weeks narrow to the weeks chosen, and no week before the first."""
    with open_page(page_file) as page:
        days = page.locator("figure").first.locator(".role-axis-label text")
        assert days.first.text_content() == "5 Jan"
        choose(page, "from", "3")
        choose(page, "to", "4")
        assert [t for t in days.all_text_contents() if "Jan" in t or "Feb" in t] == [
            "19 Jan",
            "26 Jan",
        ]
        bars = page.locator("figure:has-text('Minutes under load by block week')")
        weeks = bars.locator("[aria-label^='X-axis'] .role-axis-label text")
        assert weeks.all_text_contents() == ["3", "4"]
        assert bars.locator(".mark-rect path").count() == 2
        assert page.locator(".choice select[name=from]").input_value() == "3"
        choose(page, "from", "6")
        assert page.locator(".choice select[name=to]").input_value() == "6"


def test_values_by_keyboard(page_file: Path, open_page: Open) -> None:
    """Arrow keys go from value to value in the order of days; Escape clears; Tab leads on."""
    with open_page(page_file) as page:
        figure = page.locator("figure").first
        button = figure.locator(".values button")
        button.focus()
        told = figure.locator(".values output")
        read = []
        for _ in range(3):
            page.keyboard.press("ArrowRight")
            read.append(told.inner_text())
            assert figure.locator(".pointed").count() == 1
        page.keyboard.press("ArrowLeft")
        assert told.inner_text() == read[1]
        log = (DEMO / "hangs.csv").read_text("utf-8").splitlines()
        for text in read:
            parts = dict(part.split(": ", 1) for part in text.split(", "))
            assert parts["file"] == "hangs.csv"
            row = log[int(parts["line"]) - 1].split(",")
            assert row[0] == "arvo"
            assert parts["day"].startswith(str(int(row[1][-2:])))
        page.keyboard.press("Escape")
        assert told.inner_text() == ""
        page.keyboard.press("Tab")
        assert not figure.evaluate("f => f.contains(document.activeElement)")


def test_nothing_to_choose_without_script(page_file: Path, open_page: Open) -> None:
    """Where no script runs there is no choice that would do nothing."""
    with open_page(page_file, java_script_enabled=False, silent=False, wait=False) as page:
        assert page.locator(".choice, .values").count() == 0
