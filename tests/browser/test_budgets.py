"""
Budgets of the demo's pages as a reader meets them: folds closed, at a desk, on a phone, on paper.

The figures are our choice (no source): what a coach reads through, and what fits a first screen.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import Open

pytestmark = pytest.mark.browser

#: Most of each for a page: words, figures, height in px at 1000 and 390 px width, sheets of A4, kB.
BUDGETS = {
    "full": {"words": 1300, "figures": 7, "desk": 5000, "phone": 7000, "sheets": 5, "kB": 320},
    "short": {"words": 600, "figures": 3, "desk": 2500, "phone": 4000, "sheets": 2, "kB": 320},
}
Measured = Callable[[str], dict[str, Any]]
ATHLETES = ["arvo", "brin", "celm", "dova", "eske", "fenn", "galo"]

#: Words and figures that show: what a closed fold holds has no box, or is left out of innerText.
_SHOWN = """() => ({
  words: (document.body.innerText.match(/\\S+/g) || []).length,
  figures: [...document.querySelectorAll('figure')].filter(e => e.getClientRects().length).length,
  height: document.documentElement.scrollHeight,
  wide: document.documentElement.scrollWidth,
})"""


def box(page: Any, selector: str) -> dict[str, float]:
    """Where the first that fits a selector and shows stands on the page, in px."""
    found = page.locator(f"{selector}:visible").first.bounding_box()
    assert found is not None
    return dict(found)


@pytest.fixture(scope="module")
def measured(pages: Path, open_page: Open) -> Measured:
    """All that a budget bounds, of a page opened once at a desk and then made a phone's width."""

    @cache
    def measure(name: str) -> dict[str, Any]:
        path = pages / f"{name}.html"
        with open_page(path, width=1000, height=800) as page:
            desk = page.evaluate(_SHOWN)
            chart = box(page, "figure") if desk["figures"] else {}
            lead = page.locator(".lead dt").all_inner_texts()
            sheets = len(re.findall(rb"/Type\s*/Page[^s]", page.pdf(format="A4")))
            page.set_viewport_size({"width": 390, "height": 844})
            phone = page.evaluate(_SHOWN)
            narrow = box(page, "figure") if phone["figures"] else {}
        assert desk["wide"] == 1000
        assert phone["wide"] == 390
        bounded = {
            "words": max(desk["words"], phone["words"]),
            "figures": desk["figures"],
            "desk": desk["height"],
            "phone": phone["height"],
            "sheets": sheets,
            "kB": path.stat().st_size / 1000,
        }
        return {"bounded": bounded, "chart": chart, "narrow": narrow, "lead": lead}

    return measure


@pytest.mark.parametrize("athlete", ATHLETES)
def test_an_athletes_page(measured: Measured, athlete: str) -> None:
    """Words, figures, heights, sheets and weight of a full page."""
    found = measured(athlete)["bounded"]
    assert {k: v for k, v in found.items() if v > BUDGETS["full"][k]} == {}


def test_a_short_logs_page(measured: Measured) -> None:
    """A log of five sessions has a short page."""
    found = measured("hesk")["bounded"]
    assert {k: v for k, v in found.items() if v > BUDGETS["short"][k]} == {}


@pytest.mark.parametrize("athlete", ["arvo", "brin", "celm", "eske", "fenn", "galo"])
def test_the_change_chart_is_on_the_first_screen(measured: Measured, athlete: str) -> None:
    """Whole within 1000 x 800, begun within 390 x 844."""
    found = measured(athlete)
    assert found["chart"]["y"] + found["chart"]["height"] <= 800
    assert found["narrow"]["y"] < 844


@pytest.mark.parametrize("athlete", [*ATHLETES, "hesk"])
def test_the_lead_is_at_most_four_lines(measured: Measured, athlete: str) -> None:
    """Each line led by its word, none of them twice."""
    words = measured(athlete)["lead"]
    assert 2 <= len(words) == len(set(words)) <= 4


def test_the_squad_page(pages: Path, open_page: Open) -> None:
    """Eight athletes and the header within 1000 x 900; at most 2 500 px on a phone."""
    with open_page(pages / "index.html", width=1000, height=900) as page:
        rows = page.locator(".squad tbody tr")
        assert rows.count() == 8
        last = rows.last.bounding_box()
        assert last["y"] + last["height"] <= 900
        page.set_viewport_size({"width": 390, "height": 844})
        found = page.evaluate(_SHOWN)
    assert found["height"] <= 2500
    assert found["wide"] == 390


def test_a_closed_fold_lays_out_no_figure_but_its_words_can_be_found(
    pages: Path, open_page: Open
) -> None:
    """Find-in-page opens a fold at its words; pictures take room only once it is open."""
    with open_page(pages / "arvo.html") as page:
        folded = page.locator("details:not([open]) figure")
        assert folded.count() > 0
        assert page.evaluate(_SHOWN)["figures"] < page.locator("figure").count()
        words = "details:not([open]) .inside > *:not(figure)"
        hidden = "e => getComputedStyle(e).display === 'none'"
        assert not page.locator(words).first.evaluate(hidden)
        page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
        assert page.evaluate(_SHOWN)["figures"] == page.locator("figure").count()
