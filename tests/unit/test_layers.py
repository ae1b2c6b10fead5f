"""The way through the house: imports go one way only."""

from __future__ import annotations

import ast
from collections.abc import Iterable, Mapping
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "gripbook"

#: Layers from the ground up; each may import those before it and itself. A folder's files are of
#: the folder's layer.
LAYERS = [
    {"errors", "units", "display", "visible"},
    {"writing"},
    {"logs"},
    {"derive"},
    {"strength"},
    {"reviews"},
    {"words"},
    {"html"},
    {"layout"},
    {"charts"},
    {"simulate"},
    {"report", "explore", "sheets", "methods"},
    {"cli", "cli_base", "cli_adopt", "cli_logs"},
]
#: Libraries kept out of the layers that compute, so that they can be used and tested alone.
DRAWING = {"altair", "papermill", "nbconvert", "nbformat", "IPython", "click", "vl_convert"}
COMPUTING = {
    "errors",
    "units",
    "visible",
    "logs",
    "derive",
    "strength",
    "reviews",
    "words",
    "html",
    "layout",
}


def layer_of(module: str) -> int:
    """Position of a module's layer."""
    name = module.split(".")[1]
    for position, names in enumerate(LAYERS):
        if name in names:
            return position
    raise AssertionError(f"{module} stands in no layer; add it to LAYERS in {__file__}")


@cache
def nodes_of(path: Path) -> tuple[ast.AST, ...]:
    """Every node of a file, parsed once for all tests; the first is the module."""
    return tuple(ast.walk(ast.parse(path.read_text(encoding="utf-8"))))


@cache
def imports_of(path: Path) -> list[tuple[str, int]]:
    """Every module that a file imports, at its top or inside a function, with the line."""
    found = []
    for node in nodes_of(path):
        if isinstance(node, ast.Import):
            found += [(alias.name, node.lineno) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: relative import"
            if node.module == "gripbook":
                found += [(f"gripbook.{alias.name}", node.lineno) for alias in node.names]
            elif node.module == "gripbook.words":
                found += [(_word_module(alias.name), node.lineno) for alias in node.names]
            else:
                found.append((node.module or "", node.lineno))
    return found


def _word_module(name: str) -> str:
    """What `from gripbook.words import name` loads: a module there, or a name of the folder."""
    module = any((PACKAGE / "words" / file).exists() for file in (f"{name}.py", name))
    return f"gripbook.words.{name}" if module else "gripbook.words"


FILES = sorted(p for p in PACKAGE.rglob("*.py") if p != PACKAGE / "__init__.py")


def module_of(path: Path) -> str:
    """Dotted name of a file; a folder's `__init__` has the folder's name."""
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return ".".join(("gripbook", *(parts[:-1] if parts[-1] == "__init__" else parts)))


def files_of(layers: Iterable[str]) -> list[Path]:
    """The files of some layers."""
    return [path for path in FILES if module_of(path).split(".")[1] in layers]


@pytest.mark.parametrize("path", FILES, ids=module_of)
def test_imports_point_down(path: Path) -> None:
    """A module imports no layer above its own."""
    own = layer_of(module_of(path))
    for name, line in imports_of(path):
        if name.startswith("gripbook.") and name != "gripbook.__version__":
            assert layer_of(name) <= own, f"{path}:{line} imports {name} from a layer above"


MODULES = {module_of(path): path for path in FILES}


def neighbours(nodes: Iterable[ast.AST], modules: Iterable[str]) -> set[str]:
    """The modules that a source imports anywhere: at its top, in a function, for types alone."""
    found = set()
    for node in nodes:
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names = {f"{node.module}.{alias.name}" for alias in node.names}
            # a name that is no module is one of the folder's or module's own
            found |= {name if name in modules else node.module for name in names}
    return found & set(modules)


def circles(imports: Mapping[str, set[str]]) -> list[tuple[str, ...]]:
    """Chains of modules that lead back to their first; none where imports can be put in order."""
    try:
        TopologicalSorter(imports).prepare()
    except CycleError as error:
        return [tuple(error.args[1])]
    return []


def test_no_circle_of_imports() -> None:
    """No module needs itself, be it by way of others, within a function or for types alone."""
    imports = {n: neighbours(nodes_of(path), MODULES) - {n} for n, path in MODULES.items()}
    assert sum(map(len, imports.values())) > len(MODULES)  # it saw imports at all
    assert circles(imports) == []


def test_a_circle_would_be_found() -> None:
    """Two modules that need each other are seen, also where one import stands in a function."""
    modules = ("gripbook.a", "gripbook.b")
    sources = ("from gripbook.b import x", "def f():\n    from gripbook import a\n    return a")
    nodes = (ast.walk(ast.parse(source)) for source in sources)
    imports = {m: neighbours(n, modules) for m, n in zip(modules, nodes, strict=True)}
    assert [set(found) for found in circles(imports)] == [set(modules)]
    assert circles({**imports, "gripbook.b": set()}) == []


#: Layers of facts: numbers, dates and enums, in no language.
SILENT = ("errors", "units", "visible", "logs", "derive", "strength", "reviews")
#: What phrases: these names make sentences, and are called in `words` alone. The exploring notebook
#: and the command line, with its text of the coming week, speak English only.
PHRASES = {"say", "say_count", "mark", "fmt.count"}
ENGLISH = ("gripbook.explore", "gripbook.cli", "gripbook.report.next_block")


def phrasing(nodes: Iterable[ast.AST]) -> list[str]:
    """Lines that call what makes a sentence."""
    calls = [node for node in nodes if isinstance(node, ast.Call)]
    return [f"{c.lineno} {name}" for c in calls if (name := ast.unparse(c.func)) in PHRASES]


@pytest.mark.parametrize("path", files_of(SILENT), ids=module_of)
def test_facts_hold_no_words(path: Path) -> None:
    """Below `words` nothing imports what phrases."""
    for name, line in imports_of(path):
        assert not name.startswith("gripbook.words"), f"{path}:{line} imports {name}"


@pytest.mark.parametrize(
    "path",
    [path for path in FILES if not module_of(path).startswith(("gripbook.words", *ENGLISH))],
    ids=module_of,
)
def test_sentences_are_made_in_words_alone(path: Path) -> None:
    """No other layer makes a sentence that a page shows."""
    assert phrasing(nodes_of(path)) == []


def test_a_sentence_elsewhere_would_be_found() -> None:
    """A message, a counted noun and a marked text are found, a list's count is not."""
    source = 'say("a")\nfmt.count(2, "{n} b", "{n} b")\nmark("c")\n[1].count(1)\n'
    assert phrasing(ast.walk(ast.parse(source))) == ["1 say", "2 fmt.count", "3 mark"]


@pytest.mark.parametrize("path", files_of(COMPUTING), ids=module_of)
def test_computing_layers_draw_nothing(path: Path) -> None:
    """Logs, derived measures, model and review know no drawing, notebook or command library."""
    for name, line in imports_of(path):
        assert name.split(".")[0] not in DRAWING, f"{path}:{line} imports {name}"


def private_uses(path: Path) -> list[str]:
    """Names with a leading underscore that a file takes from another module of the package."""
    imports = [n for n in nodes_of(path) if isinstance(n, ast.ImportFrom)]
    names = [(n, alias) for n in imports if _is_ours(n) for alias in n.names]
    used = [f"{path}:{n.lineno} {alias.name}" for n, alias in names if _is_private(alias.name)]
    ours = {alias.asname or alias.name for _, alias in names}
    for node in nodes_of(path):
        if isinstance(node, ast.Attribute) and _is_private(node.attr):
            of = node.value
            if isinstance(of, ast.Name) and of.id in ours:
                used.append(f"{path}:{node.lineno} {of.id}.{node.attr}")
    return used


def _is_ours(node: ast.ImportFrom) -> bool:
    return (node.module or "").split(".")[0] == "gripbook"


def _is_private(name: str) -> bool:
    return name.startswith("_") and not name.startswith("__")


@pytest.mark.parametrize("path", FILES, ids=module_of)
def test_no_module_takes_another_s_private_name(path: Path) -> None:
    """A name with a leading underscore is its module's alone."""
    assert private_uses(path) == []


def test_a_private_name_would_be_found(tmp_path: Path) -> None:
    """The walk sees a private name imported, and one reached for through its module."""
    bad = tmp_path / "bad.py"
    bad.write_text(
        "from gripbook.logs import _reader\nfrom gripbook import logs\nlogs._x()\nlogs.x()\n"
    )
    assert [use.split(" ")[1] for use in private_uses(bad)] == ["_reader", "logs._x"]


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


def test_readers_of_files_are_the_logs_alone() -> None:
    """Of the layers that compute only `logs` opens a file."""
    for path in files_of(COMPUTING - {"logs", "words"}):
        for node in nodes_of(path):
            called = getattr(node, "func", None)
            name = getattr(called, "attr", getattr(called, "id", ""))
            assert name not in {"open", "read_text", "read_bytes", "read_csv"}, path


def test_markup_is_built_in_three_places() -> None:
    """Trusted markup is made by `html`, `layout` and the pictures; elsewhere it is empty."""
    for path in FILES:
        name = module_of(path)
        if name.startswith(("gripbook.html", "gripbook.layout", "gripbook.report.pictures.")):
            continue
        for node in nodes_of(path):
            if not isinstance(node, ast.Call):
                continue
            if getattr(node.func, "attr", getattr(node.func, "id", "")) == "Fragment":
                empty = [ast.unparse(a) for a in node.args] == ["''"]
                assert empty, f"{path}:{node.lineno} builds markup"


@pytest.mark.parametrize("path", FILES, ids=module_of)
def test_what_is_imported_is_there(path: Path) -> None:
    """Each module of ours that is imported exists, also where a function imports it."""
    for name, line in imports_of(path):
        module = name if name in MODULES or name == "gripbook" else name.rpartition(".")[0]
        if name.split(".")[0] == "gripbook":
            assert module in {*MODULES, "gripbook"}, f"{path}:{line} imports {name}"
