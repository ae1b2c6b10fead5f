"""The pages of the demo squad in a real browser, from disk, with any request failing the test."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import Open

pytestmark = pytest.mark.browser

PAGES = ["arvo", "brin", "celm", "dova", "eske", "fenn", "galo", "hesk", "index"]


def count(page: Any, selector: str) -> int:
    """How many elements match."""
    return int(page.locator(selector).count())


@pytest.mark.parametrize("name", PAGES)
def test_page_draws_all_and_asks_for_nothing(pages: Path, open_page: Open, name: str) -> None:
    """Every figure of the page is drawn with marks in it; no request, no word on the console."""
    with open_page(pages / f"{name}.html") as page:
        figures = count(page, "figure")
        assert figures == count(page, "figure svg.marks")
        assert (figures >= 4) is (name != "index")
        assert count(page, "h1") == 1
        assert count(page, "figure svg:not(:has(path))") == 0


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_page_fits_a_phone(pages: Path, open_page: Open, name: str, scheme: str) -> None:
    """At 390 px nothing makes the page scroll sideways, in either scheme."""
    with open_page(pages / f"{name}.html", width=390, color_scheme=scheme) as page:
        assert page.evaluate("document.documentElement.scrollWidth") == 390
        wide = page.evaluate(
            "[...document.querySelectorAll('figure svg.marks')]"
            ".filter(s => s.getBoundingClientRect().right > 391).length"
        )
        assert wide == 0


def test_squad_page_leads_to_every_athlete(pages: Path, open_page: Open) -> None:
    """Each link of the squad page opens the page of the athlete it names."""
    with open_page(pages / "index.html", alone=False) as page:
        links = page.locator("main table a").all()
        targets = {link.inner_text(): link.get_attribute("href") for link in links}
    assert len(targets) == 8
    for name, target in targets.items():
        with open_page(pages / str(target)) as page:
            assert page.locator("h1").inner_text().startswith(f"{name}:")


def test_athlete_page_links_to_no_page(pages: Path, open_page: Open) -> None:
    """An athlete's page has links within itself only."""
    with open_page(pages / "arvo.html") as page:
        hrefs = [a.get_attribute("href") for a in page.locator("a").all()]
        assert hrefs
        assert all(h.startswith("#") for h in hrefs)


def test_page_without_script_shows_every_figure(pages: Path, open_page: Open) -> None:
    """With script off the figures' words and tables are there to read."""
    with open_page(
        pages / "arvo.html", java_script_enabled=False, silent=False, wait=False
    ) as page:
        assert count(page, "figure figcaption") >= 4
        tables = page.locator("details table").all()
        assert len(tables) >= 4


def axis_titles(figure: Any) -> set[str]:
    """Titles of a figure's axes as its specification has them."""
    spec = json.loads(figure.locator("script").text_content())["spec"]
    layers = spec.get("layer", [spec])
    channels = [layer["encoding"].get(c, {}) for layer in layers for c in ("x", "y")]
    return {channel["title"] for channel in channels if channel.get("title")}


@pytest.mark.parametrize("name", PAGES[:-1])
@pytest.mark.parametrize("width", [390, 1100])
def test_without_script_figures_are_still_pictures(
    pages: Path, open_page: Open, name: str, width: int
) -> None:
    """With script off each figure is a picture with its axes' titles, of readable, uncut words."""
    options = {"java_script_enabled": False, "silent": False, "wait": False}
    with open_page(pages / f"{name}.html", width=width, **options) as page:
        figures = page.locator("figure").all()
        assert len(figures) >= 4
        assert count(page, ".undrawn") == 0
        for figure in figures:
            picture = figure.locator(".drawing > svg.sketch")
            box = picture.bounding_box()
            assert 0.88 * min(width, 640) < box["width"] <= width - 30
            words = picture.locator("text")
            assert axis_titles(figure) <= set(words.all_text_contents())
            for word in words.all():
                place = word.bounding_box()
                assert box["x"] - 1 <= place["x"]
                assert place["x"] + place["width"] <= box["x"] + box["width"] + 1
                assert box["y"] - 1 <= place["y"]
                assert place["y"] + place["height"] <= box["y"] + box["height"] + 1
        drawn_px = picture.locator("text").first.evaluate(
            "t => parseFloat(getComputedStyle(t).fontSize) * t.getScreenCTM().a"
        )
        assert 10.5 <= drawn_px <= 17


def test_pictures_stay_until_charts_are_drawn(pages: Path, open_page: Open) -> None:
    """At no moment is a figure empty, and in the end each holds the drawn chart alone."""
    watch = """
      window.empty = 0;
      new MutationObserver(() => {
        for (const box of document.querySelectorAll("figure:has(figcaption)"))
          if (!box.querySelector(".drawing:not(.aside) > svg, .drawing:not(.aside) svg.marks"))
            window.empty += 1;
      }).observe(document, {childList: true, subtree: true, attributes: true});
    """
    with open_page(pages / "arvo.html", before=watch) as page:
        assert page.evaluate("window.empty") == 0
        assert count(page, ".sketch, .aside, .note:visible") == 0
        assert count(page, "figure .drawing") == count(page, "figure svg.marks") > 0


def test_pictures_stay_where_charts_cannot_be_drawn(pages: Path, open_page: Open) -> None:
    """In a browser that is too old the pictures stay, and the page says what they lack."""
    lack = "delete window.DecompressionStream"
    with open_page(pages / "brin.html", before=lack, silent=False) as page:
        assert count(page, "figure .drawing > svg.sketch:visible") == count(page, "figure") > 0
        assert "still pictures" in page.locator(".note:visible").inner_text()


def test_a_chart_that_fails_leaves_its_picture(pages: Path, open_page: Open) -> None:
    """Where the library stumbles over a chart its picture stays, and the others are drawn."""
    broken = """
      const parse = JSON.parse;
      let first = true;
      JSON.parse = (text) => {
        const found = parse(text);
        if (found.spec && first) { first = false; found.spec = { mark: 7 }; }
        return found;
      };
    """
    with open_page(pages / "brin.html", before=broken, silent=False) as page:
        figures = count(page, "figure")
        page.wait_for_function(f"document.querySelectorAll('.drawn').length == {figures - 1}")
        assert page.evaluate("document.documentElement.dataset.charts") == "failed"
        assert count(page, "#figure-1 > .drawing > svg.sketch:visible") == 1
        assert count(page, ".sketch") == 1
        assert count(page, "figure > .drawing") == figures
        assert count(page, ".aside") == 0
