"""The exploring notebook: run by a kernel, its errors kind, its copy never over another file."""

from __future__ import annotations

import ast
import asyncio
import copy
import subprocess
import sys
import textwrap
from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_notebook

from gripbook.errors import GripbookError, UnknownAthleteError
from gripbook.explore import explorer_of, start
from gripbook.logs import load_logs
from gripbook.report.lab import LAB_TYPE
from gripbook.report.render import IS_STYLE
from gripbook.report.run.engine import execute
from gripbook.report.run.notebooks import load_notebook
from tests.conftest import FILES
from tests.explorers import demo

NOTEBOOKS = Path(__file__).parents[2] / "notebooks"


@pytest.mark.notebook
@pytest.mark.parametrize("athlete", ["ada", "bo", "cy"])
def test_notebook_runs_for_everybody(small_logs: Path, athlete: str) -> None:
    """An adult, a minor and one who hides body mass: every cell runs; nbval has a kernel run it."""
    parameters = {"logs": str(small_logs), "athlete": athlete}
    done = execute(load_notebook("explore"), parameters, engine="shell")
    outputs = [o for c in done.cells if c.cell_type == "code" for o in c.outputs]
    assert {o.output_type for o in outputs} == {"display_data"}
    drawn = [o for o in outputs if LAB_TYPE in o.data]
    # what-if and distance only for ada; grips and hands are a picture of the page
    assert len(drawn) == (4 if athlete == "ada" else 2)
    lists = [o for o in outputs if "<select" in o.data.get("text/html", "")]
    assert lists
    assert all(o.metadata == IS_STYLE for o in lists)  # pages leave them out


@pytest.mark.notebook
def test_nbval_runs_it_as_it_is(tmp_path: Path) -> None:
    """The committed notebook runs on the demo squad under nbval."""
    command = [sys.executable, "-m", "pytest", "--nbval-lax", "-p", "no:cacheprovider", "-q"]
    done = subprocess.run(
        [*command, str(NOTEBOOKS / "explore.ipynb")], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout[-2000:]


def test_every_view_is_one_line() -> None:
    """After opening the log, each cell is one line that calls one public function of a view."""
    code = [c.source for c in load_notebook("explore").cells if c.cell_type == "code"]
    views = code[2:]
    assert len(views) >= 5
    for source in views:
        assert len(source.splitlines()) == 1
        assert "gb.explore." in source


def test_the_chart_of_one_s_own_is_drawn() -> None:
    """The lines that the notebook names for a chart of one's own make one, with rows in it."""
    cells = load_notebook("explore").cells
    (source,) = [c.source for c in cells if "```python" in c.source]
    lines = ast.parse(textwrap.dedent(source.split("```python")[1].split("```")[0]))
    names: dict[str, Any] = {"x": demo("arvo")}
    last = lines.body.pop()
    assert isinstance(last, ast.Expr)
    exec(compile(lines, "cell", "exec"), names)
    chart = eval(compile(ast.Expression(last.value), "cell", "eval"), names).to_dict()
    (rows,) = chart["datasets"].values()
    assert len(rows) > 5
    assert {e["field"] for e in chart["encoding"].values()} <= rows[0].keys()


@pytest.mark.notebook
def test_errors_are_their_words(small_logs: Path) -> None:
    """A wrong name in a cell shows the sentence of the command line, with no traceback."""
    import nbclient

    lines = [
        "import gripbook as gb",
        f"x = gb.explore.open_log({str(small_logs)!r}, 'ada')",
        "gb.explore.timeline(x, grip='half-krimp')",
        f"gb.open_review({str(small_logs)!r}, 'nobody')",
        "1 / 0",
    ]
    notebook = new_notebook(cells=[new_code_cell(line) for line in lines])
    client: Any = nbclient.NotebookClient(notebook, kernel_name="python3", allow_errors=True)
    client.execute()
    errors = [[o for o in c.outputs if o.output_type == "error"] for c in notebook.cells]
    assert [len(e) for e in errors] == [0, 0, 1, 1, 1]
    (grip,), (nobody,), (other,) = errors[2:]
    assert len(grip.traceback) == 1
    assert grip.traceback[0].startswith("No sets with")
    assert 'grip="open_four"' in grip.traceback[0]
    assert nobody.traceback == [
        "No row for athlete 'nobody' in small. Athletes there: ada, bo, cy."
    ]
    assert len(other.traceback) > 1  # what is no error of ours keeps its traceback


@pytest.fixture(scope="module")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> nbformat.NotebookNode:
    """Ada's notebook as the command makes it; not to be changed."""
    folder = tmp_path_factory.mktemp("prepared") / "small"
    folder.mkdir()
    for name, text in FILES.items():
        (folder / name).write_text(text, encoding="utf-8")
    return start.prepare(folder, "ada", "", "")


def copied(prepared: nbformat.NotebookNode, folder: Path) -> nbformat.NotebookNode:
    """The notebook as if it had been made of these logs, which are the same."""
    notebook = copy.deepcopy(prepared)
    notebook.metadata[start._STAMP] = start.stamp(folder)
    return notebook


def test_copy_is_run_and_names_its_athlete(
    prepared: nbformat.NotebookNode, small_logs: Path
) -> None:
    """The copy holds its charts, its parameters as text that cannot become code, and no path."""
    notebook = copied(prepared, small_logs)
    nbformat.validate(notebook)
    code = [c for c in notebook.cells if c.cell_type == "code"]
    assert code[0].source.splitlines()[:2] == [
        "logs: str = '.'  # log folder; empty: the invented demo squad",
        "athlete: str = 'ada'  # id as in the logs; empty: the first athlete",
    ]
    assert sum(LAB_TYPE in o.get("data", {}) for c in code for o in c.outputs) == 4
    assert [c.execution_count for c in code] == list(range(1, len(code) + 1))
    assert str(small_logs.parents[1]) not in nbformat.writes(notebook)


def test_hostile_ids_stay_text(small_logs: Path) -> None:
    """An id with quotes and newlines is one string in the copy, and safe in its file name."""
    hostile = "a'\"\nimport os #"
    source = start.fill_in(".", hostile, "", "").cells[1].source
    names: dict[str, Any] = {}
    exec(source, names)
    assert names["athlete"] == hostile
    assert "os" not in names
    assert "/" not in start.copy_name("../../x")
    with pytest.raises(UnknownAthleteError, match="ada, bo, cy"):
        start.prepare(small_logs, hostile, "", "")


def test_copy_never_lies_over_a_file(small_logs: Path) -> None:
    """A file of that name is kept as it is."""
    target = small_logs / "explore.ipynb"
    target.write_text("mine")
    with pytest.raises(GripbookError, match=r"explore\.ipynb can't be written"):
        start._write_new(target, load_notebook("explore"))
    assert target.read_text() == "mine"


def test_an_older_copy_is_run_anew_and_keeps_its_cells(
    prepared: nbformat.NotebookNode, small_logs: Path
) -> None:
    """With newer logs a second call renews the charts; what the user wrote stays as it is."""
    notebook = copied(prepared, small_logs)
    mine = new_code_cell("mine = x.review.sets.shape[0]; print(mine)")
    notebook.cells.insert(4, mine)
    target = small_logs / start.copy_name("ada")
    start._write_new(target, notebook)
    before = target.read_bytes()
    assert "as it is" in start._renewed(target, small_logs)
    assert target.read_bytes() == before
    with (small_logs / "hangs.csv").open("a") as file:
        file.write("ada,2026-01-24,1,hang,,,half_crimp,both,20,2.5,,10,,,,,,,\n" * 3)
    assert "newer, 3 rows more. Your cells are kept" in start._renewed(target, small_logs)
    done = nbformat.read(target, as_version=4)
    assert [c.source for c in done.cells] == [c.source for c in notebook.cells]
    (told,) = done.cells[4].outputs
    assert int(told.text) == len(explorer_of(load_logs(small_logs), "ada").review.sets)
    chart = next(
        o.data[LAB_TYPE]
        for c in done.cells
        for o in c.get("outputs", [])
        if LAB_TYPE in o.get("data", {})
    )
    assert "2026-01-24" in str(chart["datasets"])
    assert b"2026-01-24" not in before
    assert "as it is" in start._renewed(target, small_logs)
    assert not list(small_logs.glob("*.part"))


def test_a_copy_that_fails_is_opened_as_it_was(
    prepared: nbformat.NotebookNode, small_logs: Path
) -> None:
    """A cell of the user's that raises costs nothing: the file stays, and the words say which."""
    notebook = copied(prepared, small_logs)
    notebook.cells.append(new_code_cell("1 / 0"))
    target = small_logs / start.copy_name("ada")
    start._write_new(target, notebook)
    with (small_logs / "body.csv").open("a") as file:
        file.write("ada,2026-01-24,61\n")
    before = target.read_bytes()
    told = start._renewed(target, small_logs)
    assert "newer, one row more" in told
    assert f"cell {len(notebook.cells)}: ZeroDivisionError" in told
    assert target.read_bytes() == before


def test_a_copy_that_shows_somebody_else_is_run_for_who_is_asked_for(
    prepared: nbformat.NotebookNode, small_logs: Path
) -> None:
    """The list on top may have changed it: the athlete named on the command line is shown again."""
    notebook = copied(prepared, small_logs)
    target = small_logs / start.copy_name("bo")
    start._write_new(target, notebook)
    assert "as it is" in start._renewed(target, small_logs)  # nobody was asked for
    told = start._renewed(target, small_logs, "bo")
    assert "it showed ada. Your cells are kept" in told
    done = nbformat.read(target, as_version=4)
    assert "athlete: str = 'bo'  # id as in the logs" in done.cells[1].source
    assert "logs: str = '.'  #" in done.cells[1].source
    assert '<option value="bo" selected>' in str(done.cells[2].outputs)
    assert "as it is" in start._renewed(target, small_logs, "bo")


@pytest.mark.usefixtures("no_loop")
@pytest.mark.parametrize("making", ["a.ipynb", "other.ipynb", ""])
def test_the_notebook_that_is_made_is_waited_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, making: str
) -> None:
    """The server gives a notebook once it is made, and anything else at once."""
    from gripbook.explore.waiting import MAKING, WaitingContents

    flag, notebook = tmp_path / "making", tmp_path / "a.ipynb"
    monkeypatch.setenv(MAKING, str(flag) if making else "")
    flag.write_text(making, encoding="utf-8")
    early = nbformat.writes(new_notebook(cells=[new_code_cell("early")]))
    notebook.write_text(early, encoding="utf-8")

    async def asked_for_while_made() -> Any:
        asked = asyncio.ensure_future(WaitingContents(root_dir=str(tmp_path)).get("a.ipynb"))
        await asyncio.sleep(0.3)
        notebook.write_text(early.replace("early", "whole"), encoding="utf-8")
        flag.unlink()
        return await asked

    model = asyncio.run(asked_for_while_made())
    expected = "whole" if making == "a.ipynb" else "early"
    assert model["content"]["cells"][0]["source"] == expected


@pytest.mark.parametrize("text", ["", "{}", "[]", '{"metadata": {"gripbook_logs": 3}}'])
def test_a_file_that_is_no_copy_of_ours_is_left_alone(small_logs: Path, text: str) -> None:
    """Whatever stands there under that name is opened as it is."""
    target = small_logs / "explore.ipynb"
    target.write_text(text)
    assert "as it is" in start._renewed(target, small_logs)
    assert target.read_text() == text
