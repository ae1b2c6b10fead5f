"""The kernel of `gripbook explore` has its log open before any cell is run."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

import gripbook
from gripbook.explore import Explorer, kernel, start
from gripbook.report.run.notebooks import load_notebook

pytestmark = pytest.mark.whole


def write(folder: Path, notebook: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """A notebook beside the logs, as Jupyter names it to its kernel."""
    path = folder / "explore.ipynb"
    path.write_text(json.dumps(notebook), encoding="utf-8")
    monkeypatch.setenv(kernel.SESSION, str(path))
    monkeypatch.chdir(folder)


def test_any_cell_can_be_the_first(small_logs: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the setup done as the kernel starts, each view's cell runs without those above it."""
    notebook = start.fill_in(".", "bo", "", "")
    write(small_logs, notebook, monkeypatch)
    names: dict[str, Any] = {}
    kernel.set_up(names)
    assert isinstance(names["x"], Explorer)
    assert names["x"].review.athlete.id == "bo"
    assert names["gb"] is gripbook
    assert names["athlete"] == "bo"
    code = [c.source for c in notebook.cells if c.cell_type == "code"]
    for source in code[2:]:
        exec(source, names)


def test_the_report_s_notebook_too(small_logs: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The notebook of the page has its review as `r`."""
    write(small_logs, load_notebook("block_review"), monkeypatch)
    names: dict[str, Any] = {}
    kernel.set_up(names)
    assert names["r"].athlete.id == "arvo"  # no folder given: the demo squad


@pytest.mark.parametrize(
    "cell",
    ["logs: str = open('made', 'w').write('x') or '.'", "open('made', 'w')", "x ="],
    ids=["value", "statement", "torn"],
)
def test_no_code_of_a_notebook_is_run(
    small_logs: Path, monkeypatch: pytest.MonkeyPatch, cell: str
) -> None:
    """A notebook may be anybody's: only plain texts are read from it."""
    notebook = start.fill_in(".", "ada", "", "")
    notebook.cells[1].source += f"\n{cell}"
    write(small_logs, notebook, monkeypatch)
    kernel.set_up({})
    assert not (small_logs / "made").exists()


@pytest.mark.parametrize("text", ["", "{", "[]", '{"cells": [{"cell_type": "code"}]}'])
def test_a_kernel_starts_whatever_stands_in_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str
) -> None:
    """A file that is no notebook, or none at all, leaves the names alone."""
    (tmp_path / "explore.ipynb").write_text(text)
    monkeypatch.setenv(kernel.SESSION, str(tmp_path / "explore.ipynb"))
    names: dict[str, Any] = {}
    kernel.set_up(names)
    monkeypatch.delenv(kernel.SESSION)
    kernel.set_up(names)
    assert names == {}


def test_an_athlete_who_left_the_log_is_left_to_the_cell(
    small_logs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What can't be opened is no error of the kernel: the cell says it when it is run."""
    write(small_logs, start.fill_in(".", "nobody", "", ""), monkeypatch)
    names: dict[str, Any] = {}
    kernel.set_up(names)
    assert names == {}
