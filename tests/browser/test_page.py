"""A page of a user's own notebook, its charts drawn by script: desk, phone, dark, paper."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output

from gripbook import html, layout
from gripbook.report.page import to_page
from gripbook.report.render import chart_bundle

pytestmark = pytest.mark.browser

HOSTILE = "<script>window.evil = 1</script></script><img src=x onerror='window.evil = 1'> נועה"
ROWS = [
    {"day": f"2026-01-{day:02}", "kg": 60 + day / 5 + (4 if hand == "left" else 0), "hand": hand}
    for day in range(1, 31, 2)
    for hand in ("left", "right")
]


def output(part: html.Fragment | dict[str, Any]) -> Any:
    """Output of a fragment or of a chart's specification."""
    if isinstance(part, html.Fragment):
        bundle = {"text/html": part._repr_html_(), "text/plain": repr(part)}
    else:
        bundle = chart_bundle(part)
    return new_output("display_data", data=bundle)


def cell(*parts: html.Fragment | dict[str, Any]) -> Any:
    """An executed cell that shows these parts."""
    return new_code_cell("", outputs=[output(part) for part in parts], execution_count=1)


def spec(**changes: Any) -> dict[str, Any]:
    """A line chart with a legend to click, tooltips, an expression, and a colour of its own."""
    encoding = {
        "x": {"field": "day", "type": "temporal", "scale": {"type": "utc"}},
        "y": {"field": "kg", "type": "quantitative", "scale": {"zero": False}},
        "color": {"field": "hand", "type": "nominal"},
        "opacity": {"condition": {"param": "pick", "value": 1}, "value": 0.2},
        "tooltip": [{"field": "kg", "title": "load (kg)"}, {"field": "note"}],
    }
    return {
        "title": "Loads by day",
        "description": "Left hand rose from 64 to 70 kg, right hand from 60 to 66 kg.",
        "data": {"values": ROWS},
        "transform": [{"calculate": f"datum.hand + {HOSTILE!r}", "as": "note"}],
        "params": [
            {"name": "pick", "select": {"type": "point", "fields": ["hand"]}, "bind": "legend"}
        ],
        "mark": {"type": "point", "filled": True, "size": 120},
        "encoding": encoding,
        "width": "container",
        "height": 220,
        **changes,
    }


@pytest.fixture(scope="module")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A page with three figures, a wide table and a hostile name."""
    wide = [{f"column number {n}": n * 1000 for n in range(14)}] * 3
    count: dict[str, Any] = {"aggregate": "count"}
    bars: dict[str, Any] = {"mark": "bar", "encoding": {"x": {"field": "hand"}, "y": count}}
    brush: dict[str, Any] = {
        "params": [{"name": "span", "select": {"type": "interval", "encodings": ["x"]}}],
        "encoding": {"x": {"field": "kg", "type": "quantitative"}, "y": count},
    }
    facets = {"hconcat": [{**bars, "width": 330, "height": 150}] * 2}
    sets = "Both hands did 15 sets."
    side_by_side = {"description": sets, "data": {"values": ROWS}, **facets}
    notebook = new_notebook(
        metadata={"title": "Review"},
        cells=[
            cell(layout.masthead(f"Block of {HOSTILE}"), html.paragraph(HOSTILE)),
            new_markdown_cell("## Loads"),
            cell(spec(), layout.fold("The numbers", "both hands", layout.table(ROWS, HOSTILE))),
            new_markdown_cell("## Work"),
            cell(spec(**brush, mark="bar")),
            cell(side_by_side),
            cell(layout.table(wide, "A wide table")),
            new_markdown_cell("## Cautions"),
            cell(html.paragraph("Nothing here is advice.", html.link(" To the top", "#top"))),
        ],
    )
    path = tmp_path_factory.mktemp("page") / "Noa & co.html"
    path.write_text(to_page(notebook), encoding="utf-8")
    return path


Open = Callable[..., Any]
#: Figures of the page's two sections.
LOADS, WORK = "[aria-labelledby=loads] figure", "[aria-labelledby=work] figure"


def test_every_chart_is_drawn_from_one_file(page_file: Path, open_page: Open) -> None:
    """All figures have marks; the file alone was read and the console is clean."""
    with open_page(page_file) as page:
        assert page.evaluate("document.documentElement.dataset.charts") == "drawn"
        assert page.locator("figure.drawn").count() == 3
        first = page.locator(f"{LOADS} svg .mark-symbol.role-mark path")
        assert first.count() == len(ROWS)
        assert page.locator(f"{WORK}:nth-of-type(2) svg .mark-rect.role-mark path").count() == 4
        assert page.locator(".undrawn:visible, noscript:visible").count() == 0
        assert page.evaluate("window.evil") is None


def test_pointer_shows_values_as_text(page_file: Path, open_page: Open) -> None:
    """Hovering a mark shows its value, and a hostile value comes as text."""
    with open_page(page_file) as page:
        page.locator(f"{LOADS} svg .mark-symbol.role-mark path").first.hover()
        tip = page.locator("#vg-tooltip-element.visible")
        tip.wait_for()
        assert "load (kg)" in tip.inner_text()
        assert "<script>window.evil" in tip.inner_text()
        assert page.evaluate("window.evil") is None


def test_legend_picks_a_series(page_file: Path, open_page: Open) -> None:
    """Clicking a word of the legend fades the others, with no eval allowed in the page."""
    with open_page(page_file) as page:
        faded = f"{LOADS} svg .mark-symbol.role-mark path[opacity='0.2']"
        assert page.locator(faded).count() == 0
        page.locator(f"{LOADS} .role-legend-label text", has_text="left").click()
        page.wait_for_function(f'document.querySelectorAll("{faded}").length == {len(ROWS) // 2}')


def test_the_policy_really_forbids(page_file: Path, open_page: Open) -> None:
    """Were a script slipped in, the browser would neither run it, nor eval, nor load anything."""
    with open_page(page_file, alone=False, silent=False) as page:
        failed: list[str] = []
        page.on("requestfailed", lambda request: failed.append(request.failure))
        stopped = page.evaluate(
            """async () => {
              const broken = [];
              addEventListener("securitypolicyviolation", (e) => broken.push(e.effectiveDirective));
              const script = document.createElement("script");
              script.textContent = "window.evil = 1";
              document.body.append(script);
              const button = document.createElement("button");
              button.setAttribute("onclick", "window.evil = 2");
              document.body.append(button);
              button.click();
              const image = document.createElement("img");
              image.src = "https://example.invalid/x.png";
              document.body.append(image);
              await fetch("https://example.invalid/").catch(() => 0);
              await new Promise((done) => setTimeout(done, 200));
              return [window.evil, broken];
            }"""
        )
    assert stopped[0] is None
    assert set(failed) <= {"csp"}
    assert set(stopped[1]) >= {"script-src-elem", "script-src-attr", "img-src", "connect-src"}


@pytest.mark.parametrize("width", [320, 390, 768])
def test_no_sideways_scrolling(page_file: Path, open_page: Open, width: int) -> None:
    """On a narrow screen the page fits; wide tables and charts scroll in focusable boxes."""
    with open_page(page_file, width=width) as page:
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        boxes = page.evaluate(
            """[...document.querySelectorAll('.scroll, .drawing')]
            .map((b) => [b.scrollWidth > b.clientWidth, b.tabIndex])"""
        )
        assert [wide for wide, _ in boxes].count(True) >= 1
        assert all((index == 0) == wide for wide, index in boxes)
        chart = page.locator(f"{LOADS} svg").bounding_box()
        assert 0.8 * width < chart["width"] <= width


def test_keyboard_reaches_everything_and_leaves_again(page_file: Path, open_page: Open) -> None:
    """Tab starts at the skip link, which leads past the opening; no box traps the focus."""
    with open_page(page_file, width=390) as page:
        page.keyboard.press("Tab")
        skip = page.evaluate("document.activeElement.textContent")
        assert skip == "Skip to the sections"
        assert page.locator(".skip").bounding_box()["y"] >= 0
        page.keyboard.press("Enter")
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.localName") == "summary"
        page.keyboard.press("Enter")
        page.locator("[aria-labelledby=loads] details table").wait_for()
        seen = []
        for _ in range(30):
            page.keyboard.press("Tab")
            seen.append(page.evaluate("document.activeElement.textContent.trim()"))
            if seen[-1] == "To the top":
                break
        assert seen[-1] == "To the top"


def contrast(first: str, second: str) -> float:
    """Contrast ratio of two opaque CSS colours, as WCAG 2.2 defines it (relative luminance)."""

    def luminance(colour: str) -> float:
        parts = [int(part) / 255 for part in re.findall(r"\d+", colour)[:3]]
        red, green, blue = (
            c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts
        )
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    light, dark = sorted((luminance(first), luminance(second)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_reckoned_rightly() -> None:
    """Black on white is 21 to 1, by the definition of WCAG 2.2; #767676 on white is 4.54."""
    assert contrast("rgb(0, 0, 0)", "rgb(255, 255, 255)") == pytest.approx(21)
    assert contrast("rgb(118, 118, 118)", "rgb(255, 255, 255)") == pytest.approx(4.54, abs=0.005)


TEXTS = ("h1", "h2", "p", "p a", "figcaption", "figcaption b", "summary", "caption", "td", "th")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_is_readable_in_both_schemes(page_file: Path, open_page: Open, scheme: str) -> None:
    """All text has a contrast of 4.5 to 1 or more; charts keep a light ground in the dark."""
    with open_page(page_file, color_scheme=scheme) as page:
        ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
        assert contrast(ground, "rgb(0, 0, 0)" if scheme == "light" else "rgb(255, 255, 255)") > 15
        for part in TEXTS:
            colour = page.evaluate(
                "(part) => getComputedStyle(document.querySelector('main ' + part)).color", part
            )
            assert contrast(colour, ground) >= 4.5, part
        card = page.evaluate("getComputedStyle(document.querySelector('.drawing')).backgroundColor")
        assert card == ("rgba(0, 0, 0, 0)" if scheme == "light" else "rgb(244, 240, 230)")


def test_prints_on_a4_without_cut_charts(page_file: Path, open_page: Open) -> None:
    """A PDF comes out; on paper figures are kept whole and within the sheet, links are gone."""
    with open_page(page_file, width=643) as page:  # A4 less the margins, at 96 dots an inch
        pdf = page.pdf(format="A4", prefer_css_page_size=True)
        assert pdf.startswith(b"%PDF")
        assert 1 <= len(re.findall(rb"/Type\s*/Page\b", pdf)) <= 5
        page.emulate_media(media="print", color_scheme="light")
        for figure in page.locator("figure").all():
            style = "(f) => getComputedStyle(f).breakInside"
            assert figure.evaluate(style) == "avoid"
            box = figure.locator("svg").bounding_box()
            assert box["x"] >= 0
            assert box["x"] + box["width"] <= 643
            assert figure.bounding_box()["height"] < 900  # A4 less the margins is 980 high
        assert page.locator(".skip:visible").count() == 0


@pytest.mark.parametrize("lack", ["script", "DecompressionStream"])
def test_without_script_or_in_an_old_browser(page_file: Path, open_page: Open, lack: str) -> None:
    """Where charts can't be drawn the page says so in words, and the numbers are all there."""
    if lack == "script":
        options: dict[str, Any] = {"java_script_enabled": False, "wait": False}
    else:
        options = {"before": "delete window.DecompressionStream", "silent": False}
    with open_page(page_file, **options) as page:
        assert page.locator("figure .undrawn:visible").count() == 3
        assert page.locator("figcaption:visible").count() == 3
        assert page.locator("noscript .note:visible").count() == (lack == "script")
        page.locator("summary").first.click()
        assert page.locator("[aria-labelledby=loads] details td:visible").count() == 2 * len(ROWS)


def test_charts_say_what_they_show(page_file: Path, open_page: Open) -> None:
    """A screen reader hears the description at the chart; a brush without words is passed over."""
    with open_page(page_file) as page:
        drawing = page.locator(f"{LOADS} .drawing")
        assert drawing.get_attribute("aria-label") == spec()["description"]
        assert drawing.get_attribute("role") == "graphics-document"
        brushes = page.locator(f"{WORK}:nth-of-type(1) [class*='_brush']")
        assert brushes.count() > 0
        assert all(b.get_attribute("aria-hidden") == "true" for b in brushes.all())


def test_days_stay_days_in_every_time_zone(page_file: Path, open_page: Open) -> None:
    """A chart of days on a UTC scale shows the same days wherever it's opened."""
    seen = []
    for zone in ("UTC", "America/Los_Angeles", "Asia/Tokyo"):
        with open_page(page_file, timezone_id=zone) as page:
            ticks = page.locator(f"{LOADS} .role-axis-label text").all_text_contents()
            marks = page.locator(f"{LOADS} .mark-symbol.role-mark path").all()
            seen.append((ticks, [mark.get_attribute("transform") for mark in marks]))
    assert len(seen[0][0]) > 4
    assert seen[0] == seen[1] == seen[2]
