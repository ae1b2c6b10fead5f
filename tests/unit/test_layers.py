"""The way through the house: imports go one way only."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "gripbook"

#: Layers from the ground up; each may import those before it and itself. A folder's files are of
#: the folder's layer.
LAYERS = [
    {"errors", "units", "words"},
    {"html"},
    {"logs"},
    {"derive"},
    {"strength"},
    {"reviews"},
    {"words.section"},
    {"charts"},
    {"simulate"},
    {"report", "explore"},
    {"cli"},
]
#: Libraries kept out of the layers that compute, so that they can be used and tested alone.
DRAWING = {"altair", "papermill", "nbconvert", "nbformat", "IPython", "click", "vl_convert"}
COMPUTING = {"errors", "units", "words", "html", "logs", "derive", "strength", "reviews"}


#: Words that everything may use; the other modules of `words` phrase facts, a section each.
BASE_WORDS = ("messages", "fmt")
#: Sentences that still stand among the facts, until they join the others in `words`.
MOVING = {"gripbook.reviews.sentences"}


def _is_module(name: str) -> bool:
    """Whether a dotted name is a file of the package, not a name within one."""
    return PACKAGE.joinpath(*name.split(".")[1:]).with_suffix(".py").exists()


def layer_of(module: str) -> int:
    """Position of a module's layer."""
    name, *inner = module.split(".")[1:]
    if name == "words" and inner and inner[0] not in (*BASE_WORDS, "locale"):
        name = "words.section" if _is_module(f"gripbook.words.{inner[0]}") else name
    for position, names in enumerate(LAYERS):
        if name in names:
            return position
    raise AssertionError(f"{module} stands in no layer; add it to LAYERS in {__file__}")


def imports_of(path: Path) -> list[tuple[str, int]]:
    """Every module that a file imports, at its top or inside a function, with the line."""
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found += [(alias.name, node.lineno) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: relative import"
            if node.module == "gripbook":
                found += [(f"gripbook.{alias.name}", node.lineno) for alias in node.names]
            else:
                found.append((node.module or "", node.lineno))
    return found


FILES = sorted(p for p in PACKAGE.rglob("*.py") if p != PACKAGE / "__init__.py")


def module_of(path: Path) -> str:
    """Dotted name of a file."""
    return ".".join(("gripbook", *path.relative_to(PACKAGE).with_suffix("").parts))


@pytest.mark.parametrize("path", FILES, ids=module_of)
def test_imports_point_down(path: Path) -> None:
    """A module imports no layer above its own."""
    own = layer_of(module_of(path))
    for name, line in imports_of(path):
        if module_of(path) in MOVING and name.startswith("gripbook.words."):
            continue
        if name.startswith("gripbook.") and name != "gripbook.__version__":
            assert layer_of(name) <= own, f"{path}:{line} imports {name} from a layer above"


@pytest.mark.parametrize("path", FILES, ids=module_of)
def test_computing_layers_draw_nothing(path: Path) -> None:
    """Logs, derived measures, model and review know no drawing, notebook or command library."""
    if module_of(path).split(".")[1] not in COMPUTING:
        return
    for name, line in imports_of(path):
        assert name.split(".")[0] not in DRAWING, f"{path}:{line} imports {name}"


def test_a_wrong_import_would_be_found(tmp_path: Path) -> None:
    """The walk sees an upward import, also inside a function."""
    bad = tmp_path / "bad.py"
    bad.write_text("def f():\n    from gripbook.report import page\n    return page\n")
    assert layer_of(imports_of(bad)[0][0]) > layer_of("gripbook.logs.load")


def test_public_names_resolve() -> None:
    """Every name in gripbook.__all__ can be loaded, and an unknown one is an AttributeError."""
    import gripbook

    for name in gripbook.__all__:
        assert getattr(gripbook, name) is not None
    assert callable(gripbook.review)
    with pytest.raises(AttributeError, match="has no attribute 'nonsense'"):
        _ = gripbook.nonsense  # type: ignore[attr-defined]
