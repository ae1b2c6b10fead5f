"""The page's look in a real Chromium, by a specimen of all its parts."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from gripbook.report.run import pdf
from tests import specimen
from tests.browser.conftest import Open
from tests.browser.test_axe import violations
from tests.browser.test_page import contrast

pytestmark = pytest.mark.browser

NAMES = ("athlete", "squad")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The specimen's two pages."""
    out = tmp_path_factory.mktemp("specimen")
    specimen.write(out)
    return out


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("width", [320, 390, 800, 1000])
def test_nothing_scrolls_sideways(folder: Path, open_page: Open, name: str, width: int) -> None:
    """At each width the page fits, also with its folds open, and no words are cut at its edge."""
    with open_page(folder / f"{name}.html", width=width) as page:
        page.evaluate("document.querySelectorAll('details').forEach((d) => (d.open = true))")
        assert page.evaluate("document.documentElement.scrollWidth") == width
        out = page.evaluate(
            """(width) => [...document.querySelectorAll("main *")]
              .filter((e) => !e.closest(".values, .scroll"))
              .map((e) => [e.outerHTML.slice(0, 80), e.getBoundingClientRect()])
              .filter(([, b]) => b.width && (b.left < -1 || b.right > width + 1))
              .map(([words]) => words)""",
            width,
        )
        assert out == []


def test_one_picture_is_shown(folder: Path, open_page: Open) -> None:
    """Wide on a desk, narrow on a phone; type is as large as drawn in both."""
    for width, kind, other in ((1000, "wide", "narrow"), (390, "narrow", "wide")):
        with open_page(folder / "athlete.html", width=width) as page:
            assert page.locator(f"svg.{kind}:visible").count() == 2
            assert page.locator(f"svg.{other}:visible").count() == 0
            scale = page.locator(f"svg.{kind}").first.evaluate("(s) => s.getScreenCTM().a")
            assert scale == pytest.approx(1, abs=0.01)


def test_the_first_chart_is_on_the_first_screen(folder: Path, open_page: Open) -> None:
    """Whole at 1000 by 800; begun at 390 by 844."""
    with open_page(folder / "athlete.html", width=1000, height=800) as page:
        box = page.locator("figure").first.bounding_box()
        assert box["y"] + box["height"] < 800
    with open_page(folder / "athlete.html", width=390, height=844) as page:
        assert page.locator("figure").first.bounding_box()["y"] < 700


def test_the_margin_holds_the_words(folder: Path, open_page: Open) -> None:
    """Lead words and heads share the left edge, their answers the column's; a phone folds it in."""
    left = "(e) => Math.round(e.getBoundingClientRect().left)"
    with open_page(folder / "athlete.html", width=1000) as page:
        heads = {e.evaluate(left) for e in page.locator("h1, .lead dt, h2").all()}
        columns = {e.evaluate(left) for e in page.locator(".lead dd, .column").all()}
        assert len(heads) == len(columns) == 1
        assert columns.pop() - heads.pop() == 170  # 8.6 and 1.4 of 17 px
    with open_page(folder / "athlete.html", width=390) as page:
        assert {e.evaluate(left) for e in page.locator("h1, h2, .column").all()} == {20}


def test_calendar_keeps_its_days_in_columns(folder: Path, open_page: Open) -> None:
    """On a phone too each day stands under its name, and notes lie under their week."""
    for width in (1000, 390):
        with open_page(folder / "athlete.html", width=width) as page:
            table = page.locator(".calendar")
            for day in range(2, 9):
                cells = table.locator(f"tr:not(.phase) > :nth-child({day})").all()
                lefts = [cell.bounding_box()["x"] for cell in cells]
                assert max(lefts) - min(lefts) <= 1, day
            row = table.locator("tbody tr:nth-child(2)").first
            note = row.locator(".note").bounding_box()
            last = row.locator("td").nth(6).bounding_box()
            if width == 390:
                assert note["y"] > last["y"] + 10
            else:
                assert note["x"] > last["x"] + 30


TEXTS = (
    "h1", ".masthead p", ".lead dt", ".wrong dt", "dd", "h2", ".aside", ".column > p",
    ".caution strong", "figcaption", "th", "td", "th small", "td small", "tbody td.note",
    ".phase span", "summary", "summary b", "p.note", ".key .accent",
)  # fmt: skip


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_all_text_is_readable(folder: Path, open_page: Open, scheme: str) -> None:
    """Contrast of text to its ground is 5.5 to 1 or more in both schemes (WCAG AA asks for 4.5)."""
    with open_page(folder / "athlete.html", color_scheme=scheme) as page:
        ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
        assert contrast(ground, "rgb(0, 0, 0)" if scheme == "light" else "rgb(255, 255, 255)") > 15
        for part in TEXTS:
            colour = page.evaluate(
                "(part) => getComputedStyle(document.querySelector('main ' + part)).color", part
            )
            assert contrast(colour, ground) >= 5.5, part


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("width", [390, 1000])
def test_axe_finds_nothing(folder: Path, open_page: Open, name: str, width: int) -> None:
    """No violation of axe's rules, those included that it leaves off by default; folds open."""
    with open_page(folder / f"{name}.html", width=width) as page:
        page.evaluate("document.querySelectorAll('details').forEach((d) => (d.open = true))")
        assert violations(page) == []


def test_pointing_tells_a_marks_values(folder: Path, open_page: Open) -> None:
    """Near a mark its words stand beside it, away from all marks nothing; touch does the same."""
    for width, kind in ((1000, "wide"), (390, "narrow")):
        with open_page(folder / "athlete.html", width=width, has_touch=True) as page:
            svg = page.locator(f"svg.{kind}").first
            svg.scroll_into_view_if_needed()
            box = svg.bounding_box()
            mark = svg.locator("circle").nth(1).bounding_box()
            tip = page.locator(".tip").first
            assert not tip.is_visible()
            page.mouse.move(mark["x"] + 7, mark["y"] + 3)
            assert tip.inner_text() == "Repeaters, 6 × 7 s: +1 to +10 kg"
            ring = page.locator(".spot").first.bounding_box()
            middle = ring["x"] + ring["width"] / 2, ring["y"] + ring["height"] / 2
            assert middle == pytest.approx((mark["x"] + 5, mark["y"] + 5), abs=1)
            page.mouse.move(box["x"] + box["width"] - 5, box["y"] + box["height"] - 5)
            assert not tip.is_visible()
            page.touchscreen.tap(mark["x"] + 5, mark["y"] + 5)
            assert tip.is_visible()
            page.touchscreen.tap(mark["x"] + 5, box["y"] - 30)
            assert not tip.is_visible()


def test_arrow_keys_tell_values_one_by_one(folder: Path, open_page: Open) -> None:
    """A button, seen when it is reached, steps through the marks; Escape ends it."""
    with open_page(folder / "athlete.html") as page:
        button = page.get_by_role("button", name="Values one by one: arrow keys")
        assert button.count() == 1  # the second figure has nothing to tell
        button.focus()
        told = page.locator(".values output").first
        for key, words in (
            ("ArrowRight", "Timed hang, 10 s: +3 to +13 kg"),
            ("ArrowRight", "Repeaters, 6 × 7 s: +1 to +10 kg"),
            ("ArrowLeft", "Timed hang, 10 s: +3 to +13 kg"),
            ("ArrowLeft", "Timed hang, 10 s: +3 to +13 kg"),
            ("Escape", ""),
        ):
            page.keyboard.press(key)
            assert told.inner_text() == words


def test_without_script_the_page_is_the_same(folder: Path, open_page: Open) -> None:
    """Every word and line stands where it stands with script, and folds open."""
    where = """[...document.querySelectorAll("main *:not(.values, .values *, .tip, .spot)")]
      .map((e) => e.getBoundingClientRect()).map((b) => [b.x, b.y, b.width, b.height])"""
    with open_page(folder / "athlete.html") as page:
        with_script = page.evaluate(where)
    with open_page(folder / "athlete.html", java_script_enabled=False, wait=False) as page:
        assert page.evaluate(where) == with_script
        page.locator("summary").first.click()
        assert page.locator("details td:visible").count() > 10


def test_print_is_short_and_whole(folder: Path, open_page: Open) -> None:
    """On A4 two sheets, the wide pictures, folds closed and gone; no row is broken."""
    with open_page(folder / "athlete.html", width=680) as page:  # A4 less its margins
        made = page.pdf(format="A4", prefer_css_page_size=True)
        assert len(re.findall(rb"/Type\s*/Page\b", made)) == 2
        page.emulate_media(media="print")
        assert page.locator("details:visible, .skip:visible").count() == 0
        assert page.locator("svg.wide:visible").count() == 2
        for part in ("figure", "tr", ".calendar tbody"):
            style = page.locator(part).first.evaluate("(e) => getComputedStyle(e).breakInside")
            assert style == "avoid", part
        assert page.evaluate("document.documentElement.scrollWidth") <= 680
        page.evaluate("document.querySelectorAll('details').forEach((d) => (d.open = true))")
        assert page.locator("details:visible").count() == 5


def test_pdf_in_full_opens_the_folds(folder: Path, chromium: str, tmp_path: Path) -> None:
    """`full` prints what is folded, to a file of its own beside the short one."""
    page = tmp_path / "athlete.html"
    page.write_text((folder / "athlete.html").read_text("utf-8"), "utf-8")
    sizes = {}
    for full in (False, True):
        assert pdf.print_pages([page], chromium=Path(chromium), full=full) == {}
        assert pdf.is_current(page, "A4", full=full)
        sizes[full] = len(re.findall(rb"/Type\s*/Page\b", pdf.pdf_of(page, full=full).read_bytes()))
    assert sizes == {False: 2, True: 3}
    assert sorted(p.name for p in tmp_path.glob("*.pdf")) == ["athlete (full).pdf", "athlete.pdf"]
