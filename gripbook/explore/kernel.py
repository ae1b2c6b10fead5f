"""
The kernel of `gripbook explore`: it sets up what the notebook's first cells do, as it starts.

The charts stand there before anything was run, so any cell may be the first that somebody runs.
Nothing of the notebook is run for that, which may be anybody's: its parameters are read as plain
values, and the log is opened with them.
"""

from __future__ import annotations

import ast
import json
import os
from pathlib import Path
from typing import Any

#: Set by Jupyter's server: the notebook that the kernel is for.
SESSION = "JPY_SESSION_NAME"
_PARAMETERS = ("logs", "athlete", "block", "dates")
#: How a notebook opens its log -> the name it gives it.
_OPENED = {"gb.explore.open_log(": "x", "gb.open_review(": "r"}


def launch() -> None:
    """Start the kernel, set up for its notebook."""
    from ipykernel import kernelapp

    line = f"__import__({__name__!r}, fromlist=['']).set_up(get_ipython().user_ns)"
    kernelapp.launch_new_instance(exec_lines=[line])


def set_up(names: dict[str, Any]) -> None:
    """
    Open the log of this kernel's notebook under the names that its first cells use.

    What can't be opened is left alone: the notebook's own cell says why when it is run.
    """
    try:
        notebook = json.loads(Path(os.environ.get(SESSION, "")).read_text(encoding="utf-8"))
        sources = ["".join(c["source"]) for c in notebook["cells"] if c["cell_type"] == "code"]
        for call, name in _OPENED.items():
            if any(call in source for source in sources):
                names.update(opened(parameters(notebook), name))
                return
    except Exception:  # a kernel must start whatever stands in the file
        return


def opened(values: dict[str, str], name: str) -> dict[str, Any]:
    """The names of the first cells: the package, the parameters and the opened log."""
    import gripbook

    open_it: Any = gripbook.explore.open_log if name == "x" else gripbook.open_review
    return {**values, "gb": gripbook, name: open_it(**values)}


def parameters(notebook: dict[str, Any]) -> dict[str, str]:
    """Texts that the cell tagged `parameters` assigns; no code of it is run."""
    found = {}
    for cell in notebook["cells"]:
        if "parameters" not in cell.get("metadata", {}).get("tags", ()):
            continue
        for statement in ast.parse("".join(cell["source"])).body:
            if isinstance(statement, ast.AnnAssign) and isinstance(statement.target, ast.Name):
                value = statement.value
                if statement.target.id in _PARAMETERS and isinstance(value, ast.Constant):
                    found[statement.target.id] = str(value.value)
    return found
