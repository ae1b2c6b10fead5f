"""Start-up: what the commands import, counted in modules, which no load of the machine changes."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from gripbook.report import worker
from gripbook.report.work import warm_up

#: Modules that a command may load, libraries and standard library together; measured on Python
#: 3.11 with JupyterLab installed as 115, 1223 and 1752, and a tenth to a fifth added.
HELP_BUDGET, REPORT_BUDGET, WORKER_BUDGET = 140, 1400, 2050
#: The grammar under jsonschema's slow module, and what a page needs elsewhere or never.
NEVER = {"lark", "vl_convert", "distributed", "jupyterlab", "notebook", "ipywidgets", "matplotlib"}
#: What belongs into the process that makes pages, not into the one that hands them out.
WORKER_ONLY = {"altair", "papermill", "nbconvert", "IPython", "ipykernel", "zmq"}

CODE = """
import json, sys
from gripbook.cli import main
try:
    main(sys.argv[1:], standalone_mode=False)
finally:
    print(json.dumps([name for name, module in sys.modules.items() if module]))
"""


def modules_of(*words: str | Path) -> set[str]:
    """What is loaded once a command has run."""
    done = subprocess.run(
        [sys.executable, "-c", CODE, *map(str, words)], capture_output=True, text=True, check=True
    )
    return set(json.loads(done.stdout.splitlines()[-1]))


def test_help_costs_next_to_nothing() -> None:
    """`gripbook --help` loads click and little more."""
    found = modules_of("--help")
    assert len(found) <= HELP_BUDGET
    assert not found & {"numpy", "pandas", "nbformat", *NEVER, *WORKER_ONLY}


@pytest.mark.notebook
def test_a_report_loads_no_drawing_library_here(small_logs: Path, tmp_path: Path) -> None:
    """`gripbook report` of one page reads and hands out; what makes pages is not loaded twice."""
    found = modules_of("report", small_logs, "--out", tmp_path / "out", "--athlete", "ada")
    assert (tmp_path / "out" / "ada.html").exists()
    assert len(found) <= REPORT_BUDGET
    assert not found & {*NEVER, *WORKER_ONLY}


@pytest.mark.notebook
def test_a_worker_loads_what_pages_need() -> None:
    """A process that makes pages loads no grammar, chart compiler, cluster or plotting library."""
    code = (
        "import json, sys; from gripbook.report.work import warm_up; warm_up(True); "
        "print(json.dumps([name for name, module in sys.modules.items() if module]))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    found = set(json.loads(done.stdout))
    assert warm_up.__module__ in found
    assert worker.__name__ in found
    assert len(found) <= WORKER_BUDGET
    assert not found & NEVER
