"""The tab that tests share: nothing stays of a page, and what it must not do still fails."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.browser.conftest import Open

pytestmark = pytest.mark.browser

_LOOKS = """() => [innerWidth, matchMedia("(prefers-color-scheme: dark)").matches,
  matchMedia("print").matches, window.left ?? "nothing", scrollY,
  document.querySelector(":hover p, p:hover") !== null]"""


def written(folder: Path, name: str, body: str) -> Path:
    """A tall page with a line of text and whatever else."""
    path = folder / f"{name}.html"
    text = '<p style="margin: 300px 0 3000px">Words</p>'
    path.write_text(f'<html data-charts="none"><body>{text}{body}', "utf-8")
    return path


def test_a_shared_tab_keeps_nothing(tmp_path: Path, open_page: Open) -> None:
    """A page opens as in a new tab: size, colours, medium, script, scroll, pointer."""
    path = written(tmp_path, "quiet", "")
    new = [1100, False, False, "nothing", 0, False]
    with open_page(path) as page:
        assert page.evaluate(_LOOKS) == new
    with open_page(path, width=390, color_scheme="dark") as page:
        page.evaluate("window.left = 'something'; scrollTo(0, 5)")
        page.emulate_media(media="print")
        page.mouse.move(20, 308)
        assert page.evaluate(_LOOKS) == [390, True, True, "something", 5, True]
    with open_page(path) as again:
        assert again is page
        assert again.evaluate(_LOOKS) == new


@pytest.mark.parametrize(
    "body",
    ["<script>console.log('a word')</script>", "<img src='other.png'>", "<script>x()</script>"],
)
def test_a_page_that_speaks_or_asks_fails(tmp_path: Path, open_page: Open, body: str) -> None:
    """A word on the console, a request, an error: also in a tab used before; the next is clean."""
    for _ in range(2):
        with pytest.raises(AssertionError), open_page(written(tmp_path, "loud", body)):
            pass
        for _ in range(2):
            with open_page(written(tmp_path, "quiet", "")):
                pass
