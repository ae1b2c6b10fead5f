"""One choice of grip, hand and weeks for all charts; their values by keyboard."""

from __future__ import annotations

import csv
import datetime as dt
import json
import re
from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import Open

pytestmark = pytest.mark.browser

DEMO = Path(__file__).parents[2] / "data_demo"


@pytest.fixture(scope="module")
def page_file(pages: Path) -> Path:
    """A demo athlete's page with several grips and both hands."""
    return pages / "arvo.html"


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


def test_fast_choices_leave_one_drawing_each(page_file: Path, open_page: Open) -> None:
    """Choices faster than the charts are drawn leave one drawing a figure, of the last choice."""
    with open_page(page_file) as page:
        drawn = "figure .drawing"
        figures = page.locator(drawn).count()
        page.evaluate(
            """() => {
                const select = document.querySelector(".choice select[name=from]");
                for (const week of ["2", "3", "4", "5"]) {
                    select.value = week;
                    select.dispatchEvent(new Event("change"));
                }
            }"""
        )
        page.wait_for_function("document.querySelector('.choice output').textContent")
        assert page.locator(drawn).count() == figures
        assert page.locator(".aside").count() == 0
        days = page.locator("figure").first.locator(".role-axis-label text")
        assert days.first.text_content() == "2 Feb"


@pytest.mark.parametrize(("width", "scheme"), [(1100, "light"), (390, "dark")])
def test_rows_of_strength_tables_follow(
    page_file: Path, open_page: Open, width: int, scheme: str
) -> None:
    """Rows of other hands are not seen, as blocks on a phone neither, nor a table without rows."""
    with open_page(page_file, width=width, color_scheme=scheme) as page:
        for fold in page.locator("details:has([data-grip])").all():
            fold.evaluate("fold => { fold.open = true; }")
        seen = page.locator("[data-grip]:visible")
        hands = seen.evaluate_all("found => found.map((one) => one.dataset.hand)")
        assert set(hands) == {"both", "left", "right"}
        choose(page, "hand", "right")
        right = seen.evaluate_all("found => found.map((one) => one.dataset.hand)")
        assert right == ["right"] * hands.count("right")
        assert page.locator("tr:visible:has([data-hand=left])").count() == 0
        choose(page, "grip", "open_three")  # no strength of it is known
        assert page.locator("details:visible:has([data-grip])").count() == 0
        choose(page, "grip", "")
        choose(page, "hand", "")
        assert seen.count() == len(hands)


def test_one_button_shows_all_again(page_file: Path, open_page: Open) -> None:
    """The button is there once something is chosen, shows all again, and leaves the focus near."""
    with open_page(page_file) as page:
        button = page.locator(".choice button")
        figures = page.locator("figure:visible").count()
        assert not button.is_visible()
        choose(page, "hand", "left")
        choose(page, "from", "4")
        assert button.bounding_box()["height"] >= 44
        page.evaluate("document.querySelector('.choice output').textContent = ''")
        button.press("Enter")
        page.wait_for_function("document.querySelector('.choice output').textContent")
        assert page.locator("figure:visible").count() == figures
        values = page.locator(".choice select").evaluate_all("all => all.map((s) => s.value)")
        assert values == ["", "", "1", page.locator("select[name=to] option").last.inner_text()]
        assert not button.is_visible()
        assert page.evaluate("document.activeElement.name") == "grip"


def test_paper_says_what_was_chosen(page_file: Path, open_page: Open) -> None:
    """Printed whole there is no word of a choice; printed in part the choice stands there."""
    with open_page(page_file) as page:
        page.emulate_media(media="print")
        assert not page.locator(".choice").is_visible()
        page.emulate_media(media="screen")
        choose(page, "hand", "right")
        page.emulate_media(media="print")
        assert page.locator(".choice select[name=hand]").is_visible()
        assert "figures are shown" in page.locator(".choice output").inner_text()
        assert not page.locator(".choice button").is_visible()


def test_weeks_chosen_move_the_marks(page_file: Path, open_page: Open) -> None:
    """With fewer weeks sets lie further apart, by as much as the axis has fewer days."""
    with open_page(page_file) as page:
        figure = page.locator("figure").first
        places = """figure => [...figure.querySelectorAll(".mark-symbol path")]
            .filter((path) => path.__data__?.tooltip)
            .map((path) => [path.__data__.tooltip.line, path.__data__.x])"""
        before = dict(figure.evaluate(places))
        weeks = page.locator("select[name=to] option").count()
        choose(page, "from", "5")
        after = dict(figure.evaluate(places))
        assert len(before) == len(after) > 5
        ends = [min(before, key=before.__getitem__), max(before, key=before.__getitem__)]
        # days are as far apart as the axis of fewer days has it (both axes end on the last day)
        days = weeks * 7 - 1
        stretched = days / (days - 28)
        spread = [found[ends[1]] - found[ends[0]] for found in (before, after)]
        assert spread[1] / spread[0] == pytest.approx(stretched, rel=0.02)


def test_keyboard_reads_only_weeks_chosen(page_file: Path, open_page: Open) -> None:
    """Sets of weeks that were not chosen are not drawn, so the keyboard passes over them."""
    with open_page(page_file) as page:
        choose(page, "from", "5")
        for at in (0, 2):
            figure = page.locator("figure").nth(at)
            figure.locator(".values button").focus()
            page.keyboard.press("ArrowRight")
            said = figure.locator(".values output").inner_text()
            assert "February" in said or "March" in said, said


def test_values_by_keyboard_are_the_logs(page_file: Path, open_page: Open) -> None:
    """A pull's load as read is body mass less what the scale stood at, as the logs have them."""
    with (DEMO / "hangs.csv").open(encoding="utf-8", newline="") as file:
        pulls = [
            row
            for row in csv.DictReader(file)
            if (row["athlete"], row["exercise"]) == ("arvo", "pull")
        ]
    with (DEMO / "body.csv").open(encoding="utf-8", newline="") as file:
        body = [row for row in csv.DictReader(file) if row["athlete"] == "arvo"]
    with open_page(page_file) as page:
        figure = page.locator("figure:has(.title:text('All-out pulls: load on the fingers'))")
        figure.locator(".values button").focus()
        read: list[str] = []
        while True:
            page.keyboard.press("ArrowRight")
            text = figure.locator(".values output").inner_text()
            if read and read[-1] == text:
                break
            read.append(text)
    assert len(read) == len(pulls) > 20
    found: dict[tuple[str, str], list[float]] = {}
    for text in read:
        parts = re.match(r"day: (\d+)\s(\w+)\s(\d+), .*?\(kg\): ([\d.]+), .* (\w+)\shand,", text)
        assert parts, text
        day = dt.datetime.strptime(" ".join(parts.groups()[:3]), "%d %B %Y").date()
        found.setdefault((day.isoformat(), parts[5]), []).append(float(parts[4]))
    for (date, hand), loads_kg in found.items():
        # body mass of a day lies between the weighings around it
        before = [row for row in body if row["date"] <= date][-1:]
        after = [row for row in body if row["date"] >= date][:1]
        masses_kg = [float(row["body_mass_kg"]) for row in before + after]
        rows = [row for row in pulls if (row["date"], row["hand"]) == (date, hand)]
        scales_kg = sorted((float(row["scale_kg"]) for row in rows), reverse=True)
        for load_kg, scale_kg in zip(sorted(loads_kg), scales_kg, strict=True):
            least_kg, most_kg = min(masses_kg) - scale_kg, max(masses_kg) - scale_kg
            assert least_kg - 0.051 <= load_kg <= most_kg + 0.051, (date, hand, load_kg)


def test_nothing_to_choose_without_script(page_file: Path, open_page: Open) -> None:
    """Where no script runs there is no choice that would do nothing."""
    with open_page(page_file, java_script_enabled=False, silent=False, wait=False) as page:
        assert page.locator(".choice, .values").count() == 0
