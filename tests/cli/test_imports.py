"""Start-up: what the commands import, counted in modules, which no load of the machine changes."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from gripbook.report.run import worker
from gripbook.report.run.work import warm_up
from gripbook.report.run.workers import Workers

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
        "import json, sys; from gripbook.report import claim_process; claim_process(); "
        "from gripbook.report.run.work import warm_up; warm_up(True); "
        "print(json.dumps([name for name, module in sys.modules.items() if module]))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    found = set(json.loads(done.stdout))
    assert warm_up.__module__ in found
    assert worker.__name__ in found
    assert len(found) <= WORKER_BUDGET
    assert not found & NEVER


#: What a user's process holds that we might touch: tried before and after all of us is imported.
EVERYTHING = """
import gc, json, locale, logging, os, pkgutil, sys, warnings
from importlib import import_module

import altair, jsonschema, numpy, pandas
from altair.utils import schemapi

def held():
    base = schemapi.SchemaBase
    return {
        "absent modules": sorted(n for n, m in sys.modules.items() if m is None),
        "altair": {n: id(v) for n, v in vars(schemapi).items() if n != "__builtins__"},
        "altair charts": {n: id(v) for n, v in vars(base).items()},
        "renderer": (altair.renderers.active, repr(altair.renderers.options)),
        "renderers": altair.renderers.names(),
        "theme": altair.theme.active,
        "transformer": altair.data_transformers.active,
        "formats": sorted(jsonschema.FormatChecker.checkers),
        "environment": dict(os.environ),
        "path": list(sys.path),
        "hooks": [id(sys.displayhook), id(sys.excepthook), id(sys.stdout)],
        "gc": gc.get_threshold(),
        "warnings": list(map(repr, warnings.filters)),
        "locale": locale.setlocale(locale.LC_ALL),
        "numpy": numpy.geterr(),
        "handlers": list(map(repr, logging.getLogger().handlers)),
        "log level": logging.getLogger().level,
        "pandas": [pandas.get_option(n) for n in ("display.max_rows", "display.precision")],
        "folder": os.getcwd(),
    }

def all_of_us():
    import gripbook
    for info in pkgutil.walk_packages(gripbook.__path__, "gripbook."):
        if not info.name.endswith("__main__"):
            import_module(info.name)
            yield info.name

# what libraries do when they are imported is theirs
import IPython, ipykernel, nbclient, nbconvert, nbformat, papermill, scipy, vl_convert, zmq
import jupyter_client, scipy.optimize, scipy.stats
import jupyter_server.services.contents.largefilemanager
before = held()

def changed():
    after = held()
    return {k: [v, after[k]] for k, v in before.items() if v != after[k]}

names = list(all_of_us())
imported = changed()
from gripbook import demo_folder, open_review
open_review(str(demo_folder()), "arvo")
print(json.dumps([len(names), imported, changed()]))
"""


@pytest.fixture(scope="module")
def user_s_process() -> tuple[int, dict[str, Any], dict[str, Any]]:
    """How many modules there are, and what importing them, then opening a review, has changed."""
    done = subprocess.run(
        [sys.executable, "-c", EVERYTHING], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    count, imported, opened = json.loads(done.stdout.splitlines()[-1])
    return count, imported, opened


def test_imports_leave_the_user_s_process_as_it_is(
    user_s_process: tuple[int, dict[str, Any], dict[str, Any]],
) -> None:
    """
    Importing every module of the package hides no module, changes nothing of Altair's, no filter,
    no variable, no hook.
    """
    count, imported, _ = user_s_process
    assert count > 100
    assert imported == {}


def test_a_review_leaves_the_user_s_process_as_it_is(
    user_s_process: tuple[int, dict[str, Any], dict[str, Any]],
) -> None:
    """Nor does opening one."""
    assert user_s_process[2] == {}


@pytest.mark.notebook
@pytest.mark.usefixtures("one_server")
def test_workers_leave_the_grammar_out() -> None:
    """Where a process is ours alone, the slow module is absent."""
    with Workers(1) as pool:
        assert pool.submit(_slow_module_is_out).result()


def _slow_module_is_out() -> bool:
    from gripbook.report import SLOW_MODULE

    return sys.modules.get(SLOW_MODULE, ...) is None
