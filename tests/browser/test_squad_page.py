"""The squad page in a real browser: sorting by keyboard, without script, on a phone, when large."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import nbformat
import pytest

from gripbook.logs import load_logs
from gripbook.report import sections
from gripbook.report.page import to_page
from gripbook.reviews import SquadReview, review_squad
from gripbook.reviews.squad import CapacityChange, SquadRow
from tests.browser.conftest import Open

pytestmark = pytest.mark.browser

DEMO = Path(__file__).parents[2] / "data_demo"


def page_of(squad: SquadReview, path: Path) -> Path:
    """The squad's page without running a notebook."""
    cells: list[Any] = []
    for parts in (
        sections.squad_opening(squad),
        sections.squad_table(squad),
        sections.squad_change(squad),
    ):
        markup = "\n".join(p.html for p in parts)
        output = nbformat.v4.new_output("display_data", data={"text/html": markup})
        cell = nbformat.v4.new_code_cell("")
        cell.outputs = [output]
        cells += [nbformat.v4.new_markdown_cell("## Part"), cell] if cells else [cell]
    path.write_text(to_page(nbformat.v4.new_notebook(cells=cells)), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def squad_page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo squad's page."""
    return page_of(review_squad(load_logs(DEMO)), tmp_path_factory.mktemp("squad") / "index.html")


def names(page: Any) -> list[str]:
    """Athletes in the order shown."""
    return list(page.locator(".sortable tbody th a").all_inner_texts())


def press(page: Any, words: str) -> str:
    """Press a header's button by keyboard; give the column's direction."""
    button = page.get_by_role("button", name=words)
    button.focus()
    page.keyboard.press("Enter")
    assert page.locator("th[aria-sort]").count() == 1
    head = page.locator("th", has=page.get_by_role("button", name=words))
    return str(head.get_attribute("aria-sort"))


def test_headers_sort_by_keyboard(squad_page: Path, open_page: Open) -> None:
    """First by need; each header sorts and turns round; what was not measured stays last."""
    with open_page(squad_page) as page:
        by_need = names(page)
        assert by_need[:4] == ["Celm", "Fenn", "Galo", "Brin"]
        assert press(page, "athlete") == "ascending"
        assert names(page) == sorted(by_need)
        assert press(page, "athlete") == "descending"
        assert names(page) == sorted(by_need, reverse=True)
        assert press(page, "dose limits broken") == "descending"
        assert names(page)[0] == "Galo"
        assert press(page, "timed hangs: change") == "descending"
        unmeasured = {"Celm", "Hesk", "Dova"}
        assert set(names(page)[-3:]) == unmeasured
        assert press(page, "timed hangs: change") == "ascending"
        assert names(page)[0] == "Brin"
        assert set(names(page)[-3:]) == unmeasured
        assert press(page, "open first because") == "ascending"
        assert names(page) == by_need


def test_without_script_the_first_order_stands(squad_page: Path, open_page: Open) -> None:
    """No script: no buttons that do nothing, rows by need, no room for a sort list on a phone."""
    with open_page(squad_page, java_script_enabled=False, wait=False, width=390) as page:
        assert page.locator("button").count() == 0
        assert names(page)[:2] == ["Celm", "Fenn"]
        assert not page.locator(".sortable thead").is_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_rows_are_blocks_on_a_phone(squad_page: Path, open_page: Open, scheme: str) -> None:
    """At 390 px nothing runs out of the page, every cell names its column, buttons can be hit."""
    with open_page(squad_page, width=390, color_scheme=scheme) as page:
        assert page.evaluate("document.documentElement.scrollWidth") == 390
        boxes = [c.bounding_box() for c in page.locator(".sortable tbody td").all()]
        assert all(b["x"] >= 0 and b["x"] + b["width"] <= 390 for b in boxes)
        label = "getComputedStyle(document.querySelector('.sortable td'), '::before').content"
        assert page.evaluate(label) == '"open first because"'
        heights = [b.bounding_box()["height"] for b in page.get_by_role("button").all()]
        assert min(heights) >= 24
        assert press(page, "dose limits broken") == "descending"
        # roles keep the table a table for those who can't see it
        assert page.get_by_role("cell").count() == 8 * 9
        assert page.get_by_role("rowheader").count() == 8


def large_squad(n: int) -> SquadReview:
    """A squad of `n` rows, made up; every third without a measured change."""
    rows = []
    for i in range(n):
        change = CapacityChange(
            "hang", "half crimp, both hands", "unclear", i % 13 - 4.0, i % 13 - 9.0, i % 13 + 1.0,
            0.02, 0.03, 0.8, 3.0, False,
        )  # fmt: skip
        rows.append(
            SquadRow(
                athlete=f"a{i}",
                name=f"Athlete {i:03d}",
                block="Block",
                changes=() if i % 3 == 0 else (change,),
                sessions_done=i % 17,
                sessions_planned=16,
                breaches=i % 5,
                pain_flags=i % 2,
                pain_words="not recorded",
                refused=0,
                last=review_last(),
                days_since_last=i % 40,
                open_first="Four limits broken" if i % 7 == 0 else "",
                rank=2 if i % 7 == 0 else 9,
            )
        )
    return SquadReview("large", review_last(), tuple(rows), 0, ())


def review_last() -> Any:
    """A last day."""
    import pandas as pd

    return pd.Timestamp(2026, 3, 8)


def test_three_hundred_athletes(tmp_path: Path, open_page: Open) -> None:
    """300 rows: a page of less than 1 MB that sorts within half a second and fits a phone."""
    path = page_of(large_squad(300), tmp_path / "index.html")
    assert path.stat().st_size < 1_000_000
    with open_page(path) as page:
        assert len(names(page)) == 300
        took = page.evaluate(
            "(() => { const t = performance.now();"
            " document.querySelector('.sortable thead button').click();"
            " document.body.offsetHeight; return performance.now() - t; })()"
        )
        assert took < 500
        assert names(page)[0] == "Athlete 000"
    with open_page(path, width=390) as page:
        assert page.evaluate("document.documentElement.scrollWidth") == 390
