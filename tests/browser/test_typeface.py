"""The typeface in a real Chromium: it is what a reader sees, and as wide as the table says."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest

from gripbook.charts.width_table import WIDTHS
from gripbook.charts.widths import text_width
from gripbook.report.page.typeface import FAMILY, NAME_FAMILY, face_css
from tests.browser.conftest import FLAGS, Open
from tests.fonts import only_fonts

pytestmark = pytest.mark.browser

STYLES: list[dict[str, Any]] = [{}, {"weight": 500}, {"weight": 600}, {"italic": True}]
LABELS = [
    "95 kg × 10 s",
    "−1 to +5 kg",
    "at least 12 s left",
    "Probably stronger, about 9 in 10",
    "no end test",
    "left hand",
    "three-finger open hand",
    "Tests and strength",
    "12 January 2026",
    "Gewöhnlich größer als über Ärger",
    "écart de 3 à 5 % après l’été",
]


@pytest.fixture
def ruler(tmp_path: Path, open_page: Open) -> Any:
    """A page that measures texts set at 100 px: `ruler(texts, style, css)` gives their widths."""
    path = tmp_path / "ruler.html"
    path.write_text(
        f"<!DOCTYPE html><meta charset=utf-8><style>{face_css()}\n"
        f'span {{ font: 100px "{FAMILY}"; white-space: pre; '
        "text-rendering: geometricPrecision; font-variant-numeric: lining-nums tabular-nums }"
        "</style><body>",
        encoding="utf-8",
    )
    with open_page(path, wait=False) as page:

        def measure(texts: list[str], style: dict[str, Any], css: str = "") -> list[float]:
            css += f"; font-weight: {style.get('weight', 400)}"
            css += "; font-style: italic" if style.get("italic") else ""
            return page.evaluate(
                """async ([texts, css]) => {
                  await Promise.all([...document.fonts].map((face) => face.load()));
                  return texts.map((text) => {
                    const span = document.createElement("span");
                    span.style = css;
                    span.textContent = text;
                    document.body.replaceChildren(span);
                    return span.getBoundingClientRect().width;
                  });
                }""",
                [texts, css],
            )

        yield measure


@pytest.mark.parametrize("style", STYLES, ids=str)
def test_every_letter_is_as_wide_as_the_table_says(ruler: Any, style: dict[str, Any]) -> None:
    """Each character of the typeface, set between two letters, within a thousandth of the size."""
    letters = list(WIDTHS)
    seen = ruler([f"n{letter}n" for letter in letters], style, "font-kerning: none")
    told = [text_width(f"n{letter}n", 100, **style) for letter in letters]
    wrong = [
        (letter, a, b)
        for letter, a, b in zip(letters, seen, told, strict=True)
        if a != pytest.approx(b, abs=0.15)
    ]
    assert wrong == []


@pytest.mark.parametrize("style", STYLES, ids=str)
def test_kerned_labels_are_a_little_narrower(ruler: Any, style: dict[str, Any]) -> None:
    """Set as they are in a picture, labels are up to three per cent narrower, never wider."""
    for label, seen in zip(LABELS, ruler(LABELS, style), strict=True):
        assert 0.97 <= seen / text_width(label, 100, **style) <= 1.001, label


def test_the_page_is_set_in_it(pages: Path, open_page: Open) -> None:
    """A page's words, its charts' and its pictures' are in the typeface, which came with it."""
    with open_page(pages / "arvo.html") as page:
        for part, wanted in (
            ("h1", NAME_FAMILY),
            ("p", FAMILY),
            ("td", FAMILY),
            ("svg text", FAMILY),
        ):
            family = page.evaluate(
                "(part) => getComputedStyle(document.querySelector('main ' + part)).fontFamily",
                part,
            )
            assert family.split(",")[0].strip("\"'") == wanted, part
        loaded = page.evaluate("[...document.fonts].map(f => [f.family, f.status, f.style])")
    assert [f"{FAMILY}", "loaded", "normal"] in [[f.strip('"'), s, t] for f, s, t in loaded]
    assert {f.strip('"') for f, _, _ in loaded} == {FAMILY, NAME_FAMILY}


def layout_with(font: str, browser: Any, chromium: str, file: Path) -> list[list[Any]]:
    """Words and place of each piece of text of a page, where only one font file is installed."""
    env = {**os.environ, "FONTCONFIG_FILE": str(only_fonts(font))}
    alone = browser.browser_type.launch(executable_path=chromium, args=FLAGS, env=env)
    try:
        page = alone.new_page(viewport={"width": 390, "height": 844})
        page.goto(file.as_uri())
        page.wait_for_selector("html[data-charts]", timeout=60_000)
        found: list[list[Any]] = page.evaluate(
            """() => [...document.querySelectorAll("main *")]
              .filter((e) => [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim()))
              .map((e) => [e, e.getBoundingClientRect()])
              .map(([e, b]) => [e.textContent, b.x, b.y, b.width, b.height])"""
        )
        return found
    finally:
        alone.close()


def test_a_page_is_the_same_whatever_is_installed(pages: Path, browser: Any, chromium: str) -> None:
    """With a wide serif or a wide sans serif as the only font, all words stand at one place."""
    try:
        fonts = [only_fonts(f"{name}.ttf") and name for name in ("DejaVuSerif", "DejaVuSans")]
    except FileNotFoundError as missing:
        pytest.skip(str(missing))
    serif, sans = (layout_with(f"{f}.ttf", browser, chromium, pages / "brin.html") for f in fonts)
    assert len(serif) > 300
    assert serif == sans
