"""Notebooks that make pages: those that ship with the package, and a user's own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

import nbformat

from gripbook.errors import GripbookError
from gripbook.report.run.engine import parameter_names

NAMES = ("block_review", "explore", "methods", "squad_review")
#: Tag of cells for whoever works in the notebook: a page neither runs nor shows them.
ANALYST = "notebook-only"


@dataclass(frozen=True, slots=True)
class PageNotebooks:
    """The notebooks of one run: of each athlete's page, and of the squad's."""

    athlete: nbformat.NotebookNode
    squad: nbformat.NotebookNode


def load_notebook(name: str) -> nbformat.NotebookNode:
    """
    A shipped notebook by name, without `.ipynb`.

    Raises
    ------
    GripbookError : there is none of that name.
    """
    return nbformat.reads(_shipped(name), as_version=4)


def copy_notebooks(folder: str | Path) -> list[Path]:
    """
    Copy the shipped notebooks into a folder, to change them there.

    Parameters
    ----------
    folder : made where missing.

    Returns
    -------
    The files written, in the order of `NAMES`.

    Raises
    ------
    GripbookError : one of the files is there already, and then none is written; or the folder
        can't be written.
    """
    targets = [Path(folder) / f"{name}.ipynb" for name in NAMES]
    there = [target.name for target in targets if target.exists()]
    if there:
        raise GripbookError(
            f"{', '.join(there)} in {folder} already, and may be your own: nothing was copied. "
            "Name another folder."
        )
    try:
        Path(folder).mkdir(parents=True, exist_ok=True)
        for name, target in zip(NAMES, targets, strict=True):
            with target.open("x", encoding="utf-8", newline="\n") as file:
                file.write(_shipped(name))
    except OSError as error:
        raise GripbookError(
            f"The notebooks can't be written to {folder}: {error.strerror}."
        ) from error
    return targets


def page_notebooks(own: Sequence[str | Path] = ()) -> PageNotebooks:
    """
    The notebooks that make the pages.

    Parameters
    ----------
    own : files of the user's. One with a parameter `athlete` takes the place of the shipped one of
        the athletes' pages, any other that of the squad's.

    Raises
    ------
    GripbookError : a file can't be read as a notebook, has no parameter `logs`, or two are for the
        same kind of page.
    """
    chosen: dict[str, tuple[Path, nbformat.NotebookNode]] = {}
    for path in map(Path, own):
        notebook = _read(path)
        kind = "athlete" if "athlete" in parameter_names(notebook) else "squad"
        if kind in chosen:
            raise GripbookError(
                f"{chosen[kind][0]} and {path} are both notebooks of {kind} pages (a parameter "
                "`athlete` makes it an athlete's). Give one of each at most."
            )
        chosen[kind] = path, notebook
    shipped = {"athlete": "block_review", "squad": "squad_review"}
    found = {
        kind: chosen[kind][1] if kind in chosen else load_notebook(name)
        for kind, name in shipped.items()
    }
    return PageNotebooks(**{kind: _for_page(notebook) for kind, notebook in found.items()})


def _for_page(notebook: nbformat.NotebookNode) -> nbformat.NotebookNode:
    """Let both engines pass over the cells for analysts; their places stay, for error messages."""
    for cell in notebook.cells:
        if ANALYST in cell.metadata.get("tags", []):
            cell.metadata.tags = [*cell.metadata.tags, "skip-execution"]
    return notebook


def _read(path: Path) -> nbformat.NotebookNode:
    """A user's notebook, without what it showed when it was saved: that may be about others."""
    try:
        notebook = nbformat.reads(path.read_text(encoding="utf-8"), as_version=4)
        names = parameter_names(notebook)
    except OSError as error:
        raise GripbookError(f"{path} can't be read: {error.strerror}.") from error
    except SyntaxError as error:
        raise GripbookError(
            f'{path}: the cell tagged `parameters` may only hold lines such as logs = "" '
            f"({error.msg}, line {error.lineno})."
        ) from error
    except Exception as error:  # whatever a file holds, nbformat has an exception for it
        raise GripbookError(
            f"{path} is no Jupyter notebook ({type(error).__name__}). "
            "`gripbook notebooks DIR` copies ones to start from."
        ) from error
    if "logs" not in names:
        raise GripbookError(
            f"{path} has no parameter `logs`, so it can't be told which logs to show. Put "
            'logs = "" and, for a page an athlete, athlete = "" in a cell tagged `parameters`; '
            "`gripbook notebooks DIR` copies examples."
        )
    for place, cell in enumerate(notebook.cells):
        cell.setdefault("id", f"cell-{place}")  # older notebooks have none, and new ones are random
        if cell.cell_type == "code":
            cell.outputs, cell.execution_count = [], None
    notebook.nbformat_minor = max(notebook.nbformat_minor, 5)
    return notebook


def _shipped(name: str) -> str:
    for place in (resources.files("gripbook") / "notebooks", _checkout()):
        source = place / f"{name}.ipynb"
        if source.is_file():
            return source.read_text(encoding="utf-8")
    raise GripbookError(f"No notebook {name!r} ships with gripbook. There are: {', '.join(NAMES)}.")


def _checkout() -> Path:
    """`notebooks/` beside the package, where it stands in a checkout."""
    return Path(__file__).resolve().parents[3] / "notebooks"
