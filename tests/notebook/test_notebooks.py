"""The shipped notebooks: thin, without outputs, and running on other parameters than their own."""

from __future__ import annotations

from pathlib import Path

import nbformat
import pytest

from gripbook.report.page import to_page
from gripbook.report.run.engine import execute
from gripbook.report.run.notebooks import ANALYST, NAMES, load_notebook, page_notebooks

FOLDER = Path(__file__).parents[2] / "notebooks"
FILES = sorted(FOLDER.glob("*.ipynb"))


def test_every_notebook_is_listed() -> None:
    """The package knows the notebooks that the folder holds."""
    assert sorted(NAMES) == [p.stem for p in FILES]


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_notebook_is_thin(path: Path) -> None:
    """Valid, no outputs, one parameters cell (`methods` takes none), no logic in a cell."""
    nb = nbformat.read(path, as_version=4)
    nbformat.validate(nb)
    code = [c for c in nb.cells if c.cell_type == "code"]
    assert not any(c.outputs or c.execution_count for c in code)
    parameters = sum("parameters" in c.metadata.get("tags", []) for c in nb.cells)
    assert parameters == (path.stem != "methods")
    for cell in code:
        for word in ("def ", "class ", "for ", "while ", "if ", "lambda"):
            lines = [x.split("#")[0] for x in cell.source.splitlines()]
            assert not any(x.strip().startswith(word) for x in lines), (path, cell.source)
        assert len(cell.source.splitlines()) <= 6


@pytest.mark.notebook
@pytest.mark.parametrize(("athlete", "engine"), [("ada", "kernel"), ("bo", "shell")])
def test_block_review_runs_on_other_parameters(small_logs: Path, athlete: str, engine: str) -> None:
    """The athlete asked for is the one shown, and no cell writes to standard error."""
    done = execute(
        load_notebook("block_review"),
        {"logs": str(small_logs), "athlete": athlete, "block": "Small block", "dates": ""},
        engine=engine,
        timeout_s=120,
    )
    html = [
        str(o.data["text/html"])
        for c in done.cells
        if c.cell_type == "code"
        for o in c.outputs
        if o.output_type == "display_data" and "text/html" in o.data
    ]
    opening = next(text for text in html if 'class="masthead"' in text)
    assert {"ada": "Ada &lt;i&gt;A&lt;/i&gt;", "bo": "Bo"}[athlete] in opening
    streams = [o for c in done.cells if c.cell_type == "code" for o in c.outputs if "name" in o]
    assert streams == []


def test_each_section_asks_and_shows_facts_before_its_part() -> None:
    """A question and a table of facts, both for analysts, stand before each part of a page."""
    cells = load_notebook("block_review").cells
    parts = [i for i, cell in enumerate(cells) if "gb.sections." in cell.source]
    assert len(parts) == 9
    for part in parts:
        asked, facts = cells[part - 2 : part]
        assert (asked.cell_type, facts.cell_type) == ("markdown", "code")
        assert "?" in asked.source
        assert asked.metadata.tags == facts.metadata.tags == [ANALYST]
        assert "tags" not in cells[part].metadata


@pytest.mark.notebook
def test_cells_for_analysts_run_and_leave_the_page_as_it_is(small_logs: Path) -> None:
    """Run by hand each shows a table; the page is the same with them and without."""
    given = {"logs": str(small_logs), "athlete": "ada"}
    by_hand = execute(load_notebook("block_review"), given, engine="shell")
    shown = [
        c for c in by_hand.cells if c.cell_type == "code" and ANALYST in c.metadata.get("tags", [])
    ]
    assert len(shown) == 9
    assert all("<table" in str(c.outputs[-1].data["text/html"]) for c in shown)
    for_page = execute(page_notebooks().athlete, given, engine="shell")
    passed_over = [c for c in for_page.cells if ANALYST in c.metadata.get("tags", [])]
    assert not any(c.get("outputs") or c.get("execution_count") for c in passed_over)
    assert to_page(by_hand) == to_page(for_page)


@pytest.mark.notebook
def test_squad_review_runs(small_logs: Path) -> None:
    """The squad page names every athlete and links to the page of each."""
    done = execute(load_notebook("squad_review"), {"logs": str(small_logs)}, engine="shell")
    text = "".join(
        str(o.data.get("text/html", ""))
        for c in done.cells
        if c.cell_type == "code"
        for o in c.outputs
        if o.output_type == "display_data"
    )
    for link in ('href="ada.html"', 'href="bo.html"', 'href="cy.html"'):
        assert link in text
