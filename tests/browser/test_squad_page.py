"""The squad page in a real browser: without script, on a phone, when large."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from nbformat.v4 import new_code_cell, new_notebook, new_output

from gripbook import layout
from gripbook.report.page import to_page
from tests.browser.conftest import Open

pytestmark = pytest.mark.browser


def names(page: Any) -> list[str]:
    """Athletes in the order shown."""
    return list(page.locator(".squad tbody a").all_inner_texts())


def test_without_script_the_order_is_the_same(pages: Path, open_page: Open) -> None:
    """Script changes nothing of the rows: who should be called first stands first."""
    with open_page(pages / "index.html") as page:
        scripted = names(page)
    with open_page(pages / "index.html", java_script_enabled=False, wait=False) as page:
        assert names(page) == scripted
        assert page.locator("button").count() == 0
    assert scripted[0] == "Celm"
    assert len(scripted) == 8


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [320, 390])
def test_rows_fit_a_phone(pages: Path, open_page: Open, scheme: str, width: int) -> None:
    """Nothing of the table runs out of the page, and links can be hit."""
    with open_page(pages / "index.html", width=width, color_scheme=scheme) as page:
        assert page.evaluate("document.documentElement.scrollWidth") == width
        boxes = [c.bounding_box() for c in page.locator(".squad tbody :is(th, td)").all()]
        assert all(b["x"] >= 0 and b["x"] + b["width"] <= width for b in boxes if b)
        links = [a.bounding_box() for a in page.locator(".squad tbody a").all()]
        assert min(b["height"] for b in links) >= 20


def test_three_hundred_athletes(tmp_path: Path, open_page: Open) -> None:
    """300 rows: a page of less than 1 MB that fits a phone."""
    rows = [
        layout.SquadLine(
            name=f"Athlete {i:03d}",
            target=f"a{i}.html",
            done=f"{i % 17} of 16 sessions",
            know="Four limits broken" if i % 7 == 0 else "",
            more="",
            lanes=[layout.Lane("hangs", "no test")]
            if i % 3 == 0
            else [layout.Lane("hangs", "−9 to +12 kg", i % 13 - 9, i % 13 - 4, i % 13 + 1)],
        )
        for i in range(300)
    ]
    heads, ticks = (
        ("athlete", "what to know", "change"),
        [(-10.0, "−10"), (0.0, "0"), (10.0, "+10")],
    )
    table = layout.squad_table("The squad", heads, [rows], ticks)
    outputs = [
        new_output("display_data", data={"text/html": part.html})
        for part in (layout.masthead("Squad"), table)
    ]
    path = tmp_path / "index.html"
    path.write_text(to_page(new_notebook(cells=[new_code_cell("", outputs=outputs)])), "utf-8")
    assert path.stat().st_size < 1_000_000
    for width in (1000, 390):
        with open_page(path, width=width) as page:
            assert len(names(page)) == 300
            assert page.evaluate("document.documentElement.scrollWidth") == width
