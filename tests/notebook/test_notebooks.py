"""The shipped notebooks: thin, without outputs, and running on other parameters than their own."""

from __future__ import annotations

from pathlib import Path

import nbformat
import pytest

from gripbook.report.run.engine import execute
from gripbook.report.run.notebooks import NAMES, load_notebook

FOLDER = Path(__file__).parents[2] / "notebooks"
FILES = sorted(FOLDER.glob("*.ipynb"))


def test_every_notebook_is_listed() -> None:
    """The package knows the notebooks that the folder holds."""
    assert sorted(NAMES) == [p.stem for p in FILES]


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_notebook_is_thin(path: Path) -> None:
    """Valid, no outputs, one parameters cell, no logic: a cell calls the package and shows."""
    nb = nbformat.read(path, as_version=4)
    nbformat.validate(nb)
    code = [c for c in nb.cells if c.cell_type == "code"]
    assert not any(c.outputs or c.execution_count for c in code)
    assert sum("parameters" in c.metadata.get("tags", []) for c in nb.cells) == 1
    for cell in code:
        for word in ("def ", "class ", "for ", "while ", "if ", "lambda"):
            lines = [x.split("#")[0] for x in cell.source.splitlines()]
            assert not any(x.strip().startswith(word) for x in lines), (path, cell.source)
        assert len(cell.source.splitlines()) <= 6


@pytest.mark.notebook
@pytest.mark.parametrize("athlete", ["ada", "bo"])
def test_block_review_runs_on_other_parameters(small_logs: Path, athlete: str) -> None:
    """The athlete asked for is the one shown, and no cell writes to standard error."""
    done = execute(
        load_notebook("block_review"),
        {"logs": str(small_logs), "athlete": athlete, "block": "Small block", "dates": ""},
        timeout_s=120,
    )
    html = [
        str(o.data["text/html"])
        for c in done.cells
        if c.cell_type == "code"
        for o in c.outputs
        if o.output_type == "display_data" and "text/html" in o.data
    ]
    assert {"ada": "Ada &lt;i&gt;A&lt;/i&gt;", "bo": "Bo"}[athlete] in html[0]
    streams = [o for c in done.cells if c.cell_type == "code" for o in c.outputs if "name" in o]
    assert streams == []


@pytest.mark.notebook
def test_squad_review_runs(small_logs: Path) -> None:
    """The squad page names every athlete and links to the page of each."""
    done = execute(load_notebook("squad_review"), {"logs": str(small_logs)}, timeout_s=120)
    text = "".join(
        str(o.data.get("text/html", ""))
        for c in done.cells
        if c.cell_type == "code"
        for o in c.outputs
        if o.output_type == "display_data"
    )
    for link in ('href="ada.html"', 'href="bo.html"', 'href="cy.html"'):
        assert link in text
