"""
Run a notebook with parameters. Everything that knows papermill and kernels is in this file.

An engine is a name in `ENGINES`: `shell` runs the cells in this process (`shell_engine`), `kernel`
is papermill's stock way, one kernel process per notebook. Both give the same outputs.
"""

from __future__ import annotations

import ast
import json
import logging
import os
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import cache
from typing import Any

from nbformat import NotebookNode

from gripbook.errors import GripbookError
from gripbook.report import SLOW_MODULE

# What gripbook.report does for its own process, done before anything else in the kernel.
_BLOCK_SLOW_MODULE = f"import sys; sys.modules.setdefault({SLOW_MODULE!r}, None)"


class ParameterError(GripbookError):
    """A parameter is unknown to the notebook, or its value isn't plain JSON."""


class NotebookFailedError(GripbookError):
    """
    A notebook stopped before its end.

    Attributes
    ----------
    cell : position of the failing cell in the notebook that was asked for, from 0; -1 if unknown.
    source : the code of that cell.
    reason : what went wrong, one line.
    notebook : the half-run notebook, with the outputs so far and the failing cell marked.
    """

    def __init__(self, reason: str, cell: int, source: str, notebook: NotebookNode) -> None:
        where = "notebook" if cell < 0 else f"notebook cell {cell + 1}"
        super().__init__(f"{where}: {reason}")
        self.reason = reason
        self.cell = cell
        self.source = source
        self.notebook = notebook


def parameter_names(notebook: NotebookNode) -> tuple[str, ...]:
    """Names the notebook can be given: those assigned in its cells tagged `parameters`."""
    names: dict[str, None] = {}
    for cell in notebook.cells:
        if cell.cell_type == "code" and "parameters" in cell.metadata.get("tags", []):
            for statement in ast.parse(cell.source).body:
                if isinstance(statement, ast.Assign):
                    targets = statement.targets
                elif isinstance(statement, ast.AnnAssign):
                    targets = [statement.target]
                else:
                    continue
                names.update({t.id: None for t in targets if isinstance(t, ast.Name)})
    return tuple(names)


def check_parameters(notebook: NotebookNode, parameters: Mapping[str, Any]) -> None:
    """
    Refuse what papermill would pass on unchecked.

    It only logs unknown names, and writes values that aren't JSON unescaped into the notebook's
    code, where a path with a quote in it would run as code.

    Raises
    ------
    ParameterError : names the parameter and what is allowed.
    """
    known = parameter_names(notebook)
    for name, value in parameters.items():
        if name not in known:
            raise ParameterError(
                f"The notebook has no parameter {name!r}; "
                f"it has {', '.join(known) if known else 'none'}."
            )
        try:
            plain = json.loads(json.dumps(value, allow_nan=False)) == value
        except (TypeError, ValueError):
            plain = False
        if not plain or not _is_plain(value):
            raise ParameterError(
                f"Parameter {name!r} is {value!r} ({type(value).__name__}); "
                "only text, numbers, true, false, null, lists and mappings of these can be passed."
            )


def _is_plain(value: Any) -> bool:
    """Exact types only: a subclass of str may write itself in its own way."""
    if type(value) is list:
        return all(_is_plain(item) for item in value)
    if type(value) is dict:
        return all(type(key) is str and _is_plain(item) for key, item in value.items())
    return value is None or type(value) in (str, int, float, bool)


def check_engine(name: str) -> None:
    """Raise GripbookError where there is no engine of that name."""
    if name not in ENGINES:
        raise GripbookError(f"No engine {name!r}; there is {', '.join(ENGINES)}.")


def execute(
    notebook: NotebookNode,
    parameters: Mapping[str, Any] | None = None,
    *,
    timeout_s: float | None = None,
    engine: str = "kernel",
) -> NotebookNode:
    """
    Run a copy of a notebook from top to bottom and give it back with its outputs.

    Parameters
    ----------
    notebook : stays as it is.
    parameters : override those of its cell tagged `parameters`.
    timeout_s : longest time for one cell, rounded up to whole seconds; None for no limit. The shell
        can keep it only where there are signals, in the main thread and between two steps of
        Python; the workers of a batch keep it always.
    engine : one of `ENGINES`.

    Raises
    ------
    ParameterError : a parameter is unknown or no plain JSON; nothing has run.
    NotebookFailedError : a cell raised, took too long, ended its process, or left cells not run.
    """
    check_engine(engine)
    parameters = dict(parameters or {})
    check_parameters(notebook, parameters)
    done = _run(ENGINES[engine], notebook, parameters, timeout_s)
    if any(_not_run(cell) for cell in done.cells):
        # e.g. sys.exit() in a cell, which papermill takes for success
        raise _stopped("ended the notebook before its last cell", done)
    return done


def _not_run(cell: NotebookNode) -> bool:
    passed_over = "skip-execution" in cell.metadata.get("tags", [])
    code = cell.cell_type == "code" and cell.source.strip() and not passed_over
    return bool(code and cell.execution_count is None)


def _has_error(cell: NotebookNode) -> bool:
    return any(output.output_type == "error" for output in cell.get("outputs", ()))


def _failed_cell(notebook: NotebookNode) -> int:
    """Position of the cell that raised, else of the last begun, else of the first not run."""
    cells = list(enumerate(notebook.cells))
    raised = [i for i, cell in cells if _has_error(cell)]
    if raised:
        return raised[0]
    # only begun cells have a start time; a kernel that dies leaves no other trace of where it was
    begun = [i for i, cell in cells if cell.metadata.get("papermill", {}).get("start_time")]
    begun = [i for i in begun if cells[i][1].cell_type == "code"]
    not_run = [i for i, cell in cells if _not_run(cell)]
    return begun[-1] if begun else not_run[0] if not_run else -1


def _stopped(reason: str, notebook: NotebookNode) -> NotebookFailedError:
    """Give the error that names the failing cell, counted without the cells papermill put in."""
    index = _failed_cell(notebook)
    _clean(notebook)
    ours = {"injected-parameters", "papermill-error-cell-tag"}
    before = notebook.cells[: max(index, 0)]
    added = sum(bool(ours.intersection(cell.metadata.get("tags", []))) for cell in before)
    source = notebook.cells[index].source if index >= 0 else ""
    first_line = reason.strip().splitlines()[0] if reason.strip() else "no message"
    return NotebookFailedError(first_line, index - added, source, notebook)


def _clean(notebook: NotebookNode) -> NotebookNode:
    """Drop papermill's records: times, paths, and (given no path) the whole input notebook."""
    notebook.metadata.pop("papermill", None)
    for cell in notebook.cells:
        for key in ("papermill", "execution"):
            cell.metadata.pop(key, None)
    return notebook


#: Names to choose from, and under which name papermill knows each.
ENGINES = {"shell": "gripbook-shell", "kernel": "nbclient"}


@cache
def load_papermill() -> Any:
    """Papermill, our engine made known to it."""
    import papermill
    from papermill.engines import papermill_engines

    from gripbook.report.run.shell_engine import ShellEngine

    papermill_engines.register(ENGINES["shell"], ShellEngine)
    # What goes wrong comes as an exception; without a handler papermill's log repeats it on stderr.
    logging.getLogger("papermill").addHandler(logging.NullHandler())
    return papermill


def _close_event_loop() -> None:
    """Close the event loop that a run opened in this thread; the next run opens its own."""
    import asyncio

    from jupyter_core.utils import ensure_event_loop

    loop = ensure_event_loop()
    if not loop.is_running():  # a running one is the caller's
        loop.close()
        asyncio.set_event_loop(None)


@contextmanager
def _options(engine: str) -> Iterator[dict[str, Any]]:
    """What papermill hands on to the engine: for a kernel, how to start it and hear it."""
    if engine != ENGINES["kernel"]:
        yield {}
        return
    from traitlets.config import Config

    # An empty IPython folder: the user's start-up files and settings don't get into a report.
    with tempfile.TemporaryDirectory(prefix="gripbook-ipython-") as ipython:
        # TCP would race for ports when several kernels start, and could be read by other users.
        # The sockets need a place of their own: by default all kernels share one name.
        sockets = {"transport": "ipc", "ip": os.path.join(ipython, "kernel")}
        try:
            yield {
                "config": Config() if os.name == "nt" else Config({"KernelManager": sockets}),
                "coalesce_streams": True,  # else the text comes in pieces, as time would have it
                "extra_arguments": [
                    f"--ipython-dir={ipython}",
                    f"--IPKernelApp.exec_lines={_BLOCK_SLOW_MODULE}",
                    # what goes wrong comes back as an exception; the log only repeats it
                    "--IPKernelApp.log_level=50",
                ],
            }
        finally:
            _close_event_loop()


def _run(
    engine: str, notebook: NotebookNode, parameters: dict[str, Any], timeout_s: float | None
) -> NotebookNode:
    load_papermill()
    from jupyter_client.kernelspec import NoSuchKernel
    from nbclient.exceptions import CellTimeoutError, DeadKernelError
    from papermill.engines import papermill_engines
    from papermill.exceptions import PapermillExecutionError
    from papermill.execute import raise_for_execution_errors, remove_error_markers
    from papermill.iorw import load_notebook_node
    from papermill.parameterize import parameterize_notebook

    # in papermill's steps: `execute_notebook` would also put the whole notebook into text at its
    # end, though there is no file to write it to, and its errors don't give the half-run notebook
    running = remove_error_markers(load_notebook_node(notebook))  # a copy
    # Whatever kernel the notebook was last saved with, run it in this Python.
    running.metadata["kernelspec"] = {
        "name": "python3",
        "display_name": "Python 3",
        "language": "python",
    }
    named = {"engine_name": engine, "kernel_name": "python3"}
    if parameters:
        running = parameterize_notebook(running, parameters, **named)
    with _options(engine) as options:
        try:
            papermill_engines.execute_notebook_with_engine(
                nb=running,
                progress_bar=False,
                execution_timeout=None if timeout_s is None else max(1, -int(-timeout_s // 1)),
                **named,
                **options,
            )
            raise_for_execution_errors(running, None)
        except PapermillExecutionError as error:
            late = error.ename == "CellTookTooLongError"
            reason = error.evalue if late else f"{error.ename}: {error.evalue}"
            raise _stopped(reason, running) from error
        except CellTimeoutError as error:
            raise _stopped(f"took longer than {timeout_s:g} s", running) from error
        except DeadKernelError as error:
            raise _stopped("the process running it ended", running) from error
        except NoSuchKernel as error:
            raise GripbookError(
                "Jupyter finds no kernel named python3. Install one beside gripbook: "
                f"{sys.executable} -m pip install --force-reinstall ipykernel"
            ) from error
        except RuntimeError as error:  # what nbclient raises when the kernel doesn't come up
            raise GripbookError(f"The notebook's kernel did not start: {error}") from error
    return _clean(running)
