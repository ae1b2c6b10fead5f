"""The shell engine gives the outputs that a kernel gives, and leaves the process as it was."""

from __future__ import annotations

import builtins
import os
import subprocess
import sys
import tomllib
from importlib import import_module
from pathlib import Path
from typing import Any

import nbformat
import papermill
import pytest
from IPython.core.interactiveshell import InteractiveShell
from nbformat.v4 import new_code_cell, new_notebook
from papermill.engines import papermill_engines

from gripbook.report import SLOW_MODULE
from gripbook.report.page import to_page
from gripbook.report.run.engine import ENGINES, NotebookFailedError, execute, load_papermill
from gripbook.report.run.notebooks import page_notebooks
from gripbook.words import in_language

pytestmark = pytest.mark.notebook

#: What notebooks do that a careless engine gets wrong, each cell in its own way.
CELLS = [
    "print('out'); import sys; print('err', file=sys.stderr); print('out again')",
    "print('10 %', end='\\r'); print('20 %')",
    "1 + 1",
    "2 + 2;",
    "None",
    "_ + 1, Out[3], len(In)",
    "from IPython.display import display, HTML, Markdown, Image, JSON, clear_output",
    "display(HTML('<b>x</b>'), metadata={'a': 1})\ndisplay(Markdown('*y*')); JSON({'k': [1]})",
    "h = display('first', display_id='one'); display('between')",
    "h.update('changed later'); display('last')",
    "print('gone'); clear_output(); print('stays')",
    "print('gone too'); clear_output(wait=True)\nprint('stays too')",
    "print('never gone'); clear_output(wait=True)",
    "display(Image(data=b'\\x89PNG\\r\\n\\x1a\\n' + bytes(20), format='png'))",
    "import pandas as pd; pd.DataFrame({'a': [1, 2]})",
    "import asyncio\nasync def later():\n    await asyncio.sleep(0)\n    return 'awaited'\n"
    "await later()",
    "%%capture caught\nprint('hidden')",
    "caught.stdout",
    "!echo from the system",
    "import subprocess; done = subprocess.run(['echo', 'from a program'])",
    "%precision 3\n1 / 3",
    "import threading\nt = threading.Thread(target=print, args=('thread',)); t.start(); t.join()",
    "class Own:\n    def _repr_html_(self): return '<i>own</i>'\n"
    "    def __repr__(self): return 'own'\nOwn()",
    "import pickle; pickle.loads(pickle.dumps(Own())).__class__ is Own, __name__",
    "class Bundle:\n    def _repr_mimebundle_(self, **kw):\n"
    "        return {'text/plain': 'p', 'application/x+json': {'d': (1, 2)}}, {'m': 1}\nBundle()",
    "__file__ = 'no'; globals()['__name__']",
    "get_ipython().__class__.__mro__[-1]",
    "",
    "  \n",
]


def plain(notebook: nbformat.NotebookNode) -> Any:
    """A notebook without the random ids of the cells that papermill puts in."""
    for cell in notebook.cells:
        if {"injected-parameters", "papermill-error-cell-tag"} & {*cell.metadata.get("tags", [])}:
            cell["id"] = "put-in"
    return notebook


def cells(*sources: str) -> nbformat.NotebookNode:
    """A notebook of code cells."""
    return new_notebook(cells=[new_code_cell(s, id=f"c{i}") for i, s in enumerate(sources)])


@pytest.mark.usefixtures("no_loop")
def test_the_same_outputs_as_a_kernel(monkeypatch: pytest.MonkeyPatch) -> None:
    """Streams, displays, updates, magics, await, threads and rich objects: cell by cell equal."""
    monkeypatch.delenv("PYTEST_CURRENT_TEST")  # a kernel that sees it captures less
    shell, kernel = (plain(execute(cells(*CELLS), engine=e)) for e in ("shell", "kernel"))
    for got, expected in zip(shell.cells, kernel.cells, strict=True):
        assert got == expected, got.source
    assert shell == kernel
    nbformat.validate(shell)


@pytest.mark.parametrize(
    "source",
    [
        "print('so far'); 1 / 0",
        "def broken(:",
        "raise KeyError('a\\nb')",
        "import sys; sys.exit()",
        "import sys; sys.exit('words')",
        "type('Bad', (), {'_repr_html_': lambda self: 1 / 0, '__repr__': lambda self: 'x'})()",
        "%no_such_magic",
    ],
)
@pytest.mark.filterwarnings("ignore:To exit:UserWarning")
def test_a_failure_is_told_alike(source: str) -> None:
    """Both engines stop at the same cell, for the same reason, with the same outputs so far."""
    told = []
    for engine in ("shell", "kernel"):
        with pytest.raises(NotebookFailedError) as caught:
            execute(cells("print('before')", source, "print('after')"), engine=engine)
        half = plain(caught.value.notebook)
        for cell in half.cells:
            for output in cell.get("outputs", ()):
                output.pop("traceback", None)  # names the file of the cell, which differs
            if "sys.exit" in cell.source:  # pytest takes the warning; a kernel writes it to stderr
                cell.outputs = [o for o in cell.outputs if o.output_type != "stream"]
        told.append((str(caught.value), caught.value.cell, caught.value.source, half.cells))
    assert told[0] == told[1]


@pytest.mark.parametrize(
    ("name", "lang"), [("block_review", "en"), ("squad_review", "en"), ("block_review", "de")]
)
def test_the_same_page(small_logs: Path, name: str, lang: str) -> None:
    """Notebook and page are equal byte for byte, whatever the engine, in any language."""
    given = {"logs": str(small_logs), "lang": lang}
    notebooks = page_notebooks()  # pandas prints frames to a kernel as to a window of any width
    notebook = notebooks.athlete if name == "block_review" else notebooks.squad
    with in_language(lang):
        shell, kernel = (plain(execute(notebook, given, engine=e)) for e in ("shell", "kernel"))
        assert nbformat.writes(shell) == nbformat.writes(kernel)
        page = to_page(shell, lang=lang)
        assert page == to_page(kernel, lang=lang)
    assert f'<html lang="{lang}">' in page
    assert ("Zu den Abschnitten" in page) is (lang == "de")


def test_a_notebook_leaves_the_process_as_it_was(tmp_path: Path) -> None:
    """Working folder, environment, paths, streams, `__main__`, builtins and shells are put back."""

    def state() -> list[Any]:
        streams = [sys.stdin, sys.stdout, sys.stderr, sys.displayhook, sys.excepthook]
        return [
            os.getcwd(),
            dict(os.environ),
            list(sys.path),
            list(sys.argv),
            sys.modules["__main__"],
            dict(vars(builtins)),
            InteractiveShell.initialized(),
            *streams,
        ]

    before = state()
    execute(
        cells(
            f"import os, sys, builtins; os.chdir({str(tmp_path)!r}); os.environ['STRANGE'] = '1'",
            "sys.path.insert(0, 'strange'); sys.argv.append('strange'); builtins.strange = 1",
            "mine = 1",
        ),
        engine="shell",
    )
    assert state() == before
    done = execute(cells("'mine' in globals()", "1"), engine="shell")
    assert done.cells[0].outputs[0].data["text/plain"] == "False"


def test_an_endless_cell_is_stopped() -> None:
    """A cell that catches everything is stopped all the same."""
    source = "while True:\n    try:\n        1 / 0\n    except Exception:\n        pass"
    with pytest.raises(NotebookFailedError, match="notebook cell 1: took longer than 1 s"):
        execute(cells(source, "1"), engine="shell", timeout_s=1)


def test_papermill_finds_the_engine_by_name() -> None:
    """Papermill runs any notebook with it; no kernel is named or needed."""
    load_papermill()  # installed, papermill finds it without; the next test sees to that
    done = papermill.execute_notebook(
        cells("print('by name')"), None, engine_name="gripbook-shell", progress_bar=False
    )
    assert done.cells[0].outputs[0].text == "by name\n"


def test_the_entry_point_names_the_engine() -> None:
    """What pyproject.toml tells papermill to load is the engine, under the name it has in code."""
    project = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text())
    (entry,) = project["project"]["entry-points"]["papermill.engine"].items()
    assert entry[0] == ENGINES["shell"]
    module, _, name = entry[1].partition(":")
    found = getattr(import_module(module), name)
    papermill_engines.register("by-entry", found)
    done = papermill.execute_notebook(
        cells("print('by entry')"), None, engine_name="by-entry", progress_bar=False
    )
    assert done.cells[0].outputs[0].text == "by entry\n"


@pytest.mark.parametrize("module", ["gripbook.report.run.shell_engine", "papermill"])
def test_the_engine_can_be_imported_first(module: str) -> None:
    """Papermill loads entry points while it is imported: the engine's must not need papermill."""
    # that `gripbook.report.run.work` can be the first is held in tests/cli/test_imports.py
    slow = f"import sys; sys.modules[{SLOW_MODULE!r}] = None"
    subprocess.run([sys.executable, "-c", f"{slow}; import {module}"], check=True)
