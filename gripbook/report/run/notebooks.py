"""The notebooks that ship with the package, found in a checkout and in an installed wheel."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import nbformat

from gripbook.errors import GripbookError

NAMES = ("block_review", "explore", "squad_review")


def load_notebook(name: str) -> nbformat.NotebookNode:
    """
    A shipped notebook by name, without `.ipynb`.

    Raises
    ------
    GripbookError : there is none of that name.
    """
    for place in (resources.files("gripbook") / "notebooks", _checkout()):
        source = place / f"{name}.ipynb"
        if source.is_file():
            return nbformat.reads(source.read_text(encoding="utf-8"), as_version=4)
    raise GripbookError(f"No notebook {name!r} ships with gripbook. There are: {', '.join(NAMES)}.")


def _checkout() -> Path:
    """`notebooks/` beside the package, where it stands in a checkout."""
    return Path(__file__).resolve().parents[3] / "notebooks"
