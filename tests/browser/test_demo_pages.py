"""The pages of the demo squad in a real browser, from disk, with any request failing the test."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import Open

pytestmark = pytest.mark.browser

PAGES = ["arvo", "brin", "celm", "dova", "eske", "fenn", "galo", "hesk", "index"]
FIGURES = ("figure", "figure > svg.wide", "figure > svg.narrow", "figure svg:not(:has(path))")
Seen = Callable[[str, int], dict[str, Any]]


def count(page: Any, selector: str) -> int:
    """How many elements match."""
    return int(page.locator(selector).count())


#: Words of a page as they show. A button that asks for values is there with script alone.
_WORDS = """() => {
  document.querySelectorAll('.values').forEach((e) => e.remove());
  return document.body.innerText.replaceAll(/\\s+/g, ' ');
}"""
_WIDE = """() => [document.documentElement.scrollWidth,
  [...document.querySelectorAll('figure svg.narrow')]
    .filter(s => s.getBoundingClientRect().right > innerWidth + 1).length]"""


@pytest.fixture(scope="module")
def seen(pages: Path, open_page: Open) -> Seen:
    """What a page shows at a width, opened once: counts, and how wide it is in either scheme."""

    @cache
    def look(name: str, width: int) -> dict[str, Any]:
        with open_page(pages / f"{name}.html", width=width) as page:
            found: dict[str, Any] = {s: count(page, s) for s in ("h1", *FIGURES)}
            for scheme in ("light", "dark"):
                page.emulate_media(color_scheme=scheme)
                found[scheme] = page.evaluate(_WIDE)
            found["shown"] = count(page, "figure > svg:visible")
            found["title"] = page.locator("h1").inner_text()
            found["words"] = page.evaluate(_WORDS)
        return found

    return look


@pytest.mark.parametrize("name", PAGES)
def test_page_draws_all_and_asks_for_nothing(seen: Seen, name: str) -> None:
    """Every figure of the page is drawn with marks in it; no request, no word on the console."""
    found = seen(name, 1100)
    figures, wide, narrow, empty = (found[selector] for selector in FIGURES)
    assert figures == wide == narrow
    assert (figures >= 4) is (name != "index")
    assert found["h1"] == 1
    assert empty == 0


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_page_fits_a_phone(seen: Seen, name: str, scheme: str) -> None:
    """At 390 px nothing makes the page scroll sideways, in either scheme."""
    assert seen(name, 390)[scheme] == [390, 0]


def test_squad_page_leads_to_every_athlete(seen: Seen, pages: Path, open_page: Open) -> None:
    """Each link of the squad page opens the page of the athlete it names."""
    with open_page(pages / "index.html", alone=False) as page:
        links = page.locator("main table a").all()
        targets = {link.inner_text(): link.get_attribute("href") for link in links}
    assert len(targets) == 8
    for name, target in targets.items():
        assert target in [f"{athlete}.html" for athlete in PAGES[:-1]]
        assert seen(Path(str(target)).stem, 1100)["title"] == name


def test_athlete_page_links_to_no_page(pages: Path, open_page: Open) -> None:
    """An athlete's page has links within itself only."""
    with open_page(pages / "arvo.html") as page:
        hrefs = [a.get_attribute("href") for a in page.locator("a").all()]
        assert hrefs
        assert all(h.startswith("#") for h in hrefs)


def test_page_without_script_shows_every_figure(pages: Path, open_page: Open) -> None:
    """With script off the figures show, and the tables are there to read."""
    with open_page(
        pages / "arvo.html", java_script_enabled=False, silent=False, wait=False
    ) as page:
        assert count(page, "figure:visible") >= 2
        tables = page.locator("details table").all()
        assert len(tables) >= 4


@pytest.mark.parametrize("name", PAGES[:-1])
@pytest.mark.parametrize("width", [390, 1100])
def test_the_page_is_the_same_without_script(
    seen: Seen, pages: Path, open_page: Open, name: str, width: int
) -> None:
    """Without script the same words and pictures show, but for the button that asks for values."""
    scripted = seen(name, width)
    options = {"java_script_enabled": False, "wait": False}
    with open_page(pages / f"{name}.html", width=width, **options) as page:
        assert page.evaluate(_WORDS) == scripted["words"]
        assert count(page, "figure > svg:visible") == scripted["shown"]
    assert scripted["shown"] > 0 or name == "dova"  # a minor's pictures are all folded in
