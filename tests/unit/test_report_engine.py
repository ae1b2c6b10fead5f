"""Notebooks run with checked parameters, and say where they stopped."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

from gripbook.errors import GripbookError
from gripbook.report.run import engine

pytestmark = pytest.mark.whole


def notebook(*sources: str) -> nbformat.NotebookNode:
    """A notebook with parameters `n` and `who`, then one cell for each source."""
    first = new_code_cell(
        'n: int = 1  # how many\nwho = "nobody"', metadata={"tags": ["parameters"]}
    )
    return new_notebook(
        cells=[new_markdown_cell("# Title"), first, *(new_code_cell(s) for s in sources)]
    )


def test_parameters_are_those_of_the_tagged_cell() -> None:
    """Plain and annotated assignments count, other cells don't."""
    assert engine.parameter_names(notebook("other = 1")) == ("n", "who")


def test_an_unknown_parameter_is_refused() -> None:
    """A misspelt name stops the run and the message gives the right ones."""
    with pytest.raises(engine.ParameterError, match="no parameter 'athlet'; it has n, who"):
        engine.execute(notebook(), {"athlet": "anna"})


class Text(str):
    """Text that would write itself into the notebook's code in its own way."""

    __slots__ = ()


@pytest.mark.parametrize(
    "value",
    [
        Path('x"; boom; "'),
        (1, 2),
        float("nan"),
        float("inf"),
        {1: 2},
        b"a",
        {"a"},
        Text("a"),
        [Text("a")],
    ],
)
def test_values_that_are_not_plain_json_are_refused(value: Any) -> None:
    """Papermill would write such values into code unescaped, or as something else."""
    with pytest.raises(engine.ParameterError, match="only text, numbers"):
        engine.execute(notebook(), {"who": value})


def test_an_unknown_engine_is_refused() -> None:
    """The message names the engines there are."""
    with pytest.raises(GripbookError, match="No engine 'warp'; there is shell, kernel"):
        engine.execute(notebook(), engine="warp")


@pytest.mark.notebook
def test_runs_with_parameters_and_leaves_no_traces() -> None:
    """Hostile text arrives as it is; the input is untouched; papermill's records are gone."""
    asked = notebook("print(n, who)", "import sys, builtins; sys.modules['rfc3987_syntax']")
    before = nbformat.writes(asked)
    who = "\"; import os; os._exit(1); \"\\ ''' {x} </script>"
    done = engine.execute(asked, {"n": 3, "who": who}, timeout_s=60)
    assert nbformat.writes(asked) == before
    cells = [c for c in done.cells if "injected-parameters" not in c.metadata.get("tags", [])]
    assert cells[2].outputs[0].text == f"3 {who}\n"
    # the module is there and None: nothing in the kernel can import it
    assert cells[3].outputs == []
    assert "papermill" not in done.metadata
    assert all("papermill" not in c.metadata for c in done.cells)


@pytest.mark.notebook
@pytest.mark.parametrize(
    ("source", "timeout_s", "reason"),
    [
        ("print('so far')\n1 / 0", None, "ZeroDivisionError: division by zero"),
        ("import sys; sys.exit()", None, "ended the notebook before its last cell"),
        ("import os; os._exit(3)", None, "the process running it ended"),
        ("while True: pass", 1.0, "took longer than 1 s"),
    ],
)
def test_a_failure_names_its_cell_and_keeps_the_half_run_notebook(
    source: str, timeout_s: float | None, reason: str
) -> None:
    """Raising, leaving, crashing and hanging are told apart; the cells before keep their output."""
    asked = notebook("print('before')", source, "print('after')")
    with pytest.raises(engine.NotebookFailedError) as caught:
        engine.execute(asked, {"n": 2}, timeout_s=timeout_s)
    assert str(caught.value) == f"notebook cell 4: {reason}"
    assert caught.value.cell == 3
    assert caught.value.source == source == asked.cells[3].source
    half = caught.value.notebook
    nbformat.validate(half)
    texts = [o.get("text") for c in half.cells for o in c.get("outputs", ())]
    assert "before\n" in texts
    assert "after\n" not in texts
    assert "papermill" not in half.metadata


@pytest.mark.notebook
def test_a_chart_that_cannot_be_shown_stops_the_run() -> None:
    """A chart without words fails its cell: a page never comes out one figure short."""
    source = (
        "import altair as alt\nfrom gripbook.report import render\nrender.enable()\n"
        "alt.Chart(alt.Data(values=[{'a': 1}])).mark_point()"
    )
    with pytest.raises(engine.NotebookFailedError, match="ChartWithoutWordsError: Chart ''"):
        engine.execute(notebook(source, "1"))


@pytest.mark.notebook
def test_the_users_own_startup_files_stay_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a user's IPython runs at start can't change a report."""
    startup = tmp_path / "profile_default" / "startup"
    startup.mkdir(parents=True)
    (startup / "00.py").write_text("import builtins; builtins.strange = 1\n")
    monkeypatch.setenv("IPYTHONDIR", str(tmp_path))
    done = engine.execute(notebook("import builtins; print(hasattr(builtins, 'strange'))"))
    assert done.cells[-1].outputs[0].text == "False\n"


def test_the_slow_module_is_not_imported_in_a_process_of_ours() -> None:
    """In a process of ours the engine, papermill and the page maker load no grammar."""
    code = (
        "import sys; from gripbook.report import claim_process; claim_process(); "
        "from gripbook.report import page; from gripbook.report.run import engine; "
        "engine.load_papermill(); "
        "import altair; assert sys.modules['rfc3987_syntax'] is None; "
        "assert 'lark' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
