"""Docstrings: what the linter can't see of their sections."""

from __future__ import annotations

import ast
import builtins
import inspect
import re
from pathlib import Path

import pytest

from gripbook import errors

PACKAGE = Path(__file__).parents[2] / "gripbook"
FILES = sorted(PACKAGE.rglob("*.py"))
#: The order in which sections stand.
SECTIONS = ["Parameters", "Attributes", "Returns", "Yields", "Raises", "Notes", "Examples"]
Function = ast.FunctionDef | ast.AsyncFunctionDef


def sections_of(docstring: str) -> dict[str, list[str]]:
    """Lines of each underlined section; a doctest ends it."""
    lines, sections, name = docstring.split("\n"), {}, ""
    for line, under in zip(lines, [*lines[1:], ""], strict=True):
        if under.startswith("---"):
            name = line
            sections[name] = []
        elif line.startswith(">>>"):
            name = ""
        elif name and not line.startswith("---"):
            sections[name].append(line)
    return sections


def parameters_of(function: Function) -> set[str]:
    """Names that the signature has."""
    return {node.arg for node in ast.walk(function.args) if isinstance(node, ast.arg)}


def faults(function: Function) -> list[str]:
    """What is wrong in a function's docstring: a parameter a line, and each of them known."""
    sections = sections_of(ast.get_docstring(function) or "")
    faults = []
    if list(sections) != [name for name in SECTIONS if name in sections]:
        faults.append(f"sections {', '.join(sections)}")
    known = parameters_of(function)
    named: list[str] = []
    for line in sections.get("Parameters", []):
        if not line.strip() or line.startswith(" "):
            continue
        names, meant, rest = line.partition(" :")
        named += [n.lstrip("*") for n in names.split(", ")]
        others = [n for n in re.findall(r"(\w+) : ", rest) if n in known]
        if not meant or others:
            faults.append(f"a parameter a line: {line}")
    if unknown := [n for n in named if n not in known]:
        faults.append(f"no parameter {', '.join(unknown)}")
    for line in sections.get("Raises", []):
        if line.strip() and not line.startswith(" "):
            kinds = re.split(r", | or ", line.partition(" :")[0])
            faults += [f"no error {kind}" for kind in kinds if not is_error(kind)]
    return faults


def is_error(name: str) -> bool:
    """Whether a name is an exception of Python or of the package."""
    kind = getattr(builtins, name, getattr(errors, name, None))
    return (inspect.isclass(kind) and issubclass(kind, BaseException)) or name.endswith("Error")


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_sections_say_what_is_there(path: Path) -> None:
    """Every parameter named exists and has a line; sections keep numpydoc's order."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, Function):
            assert faults(node) == [], f"{path}:{node.lineno} {node.name}"


@pytest.mark.parametrize(
    ("section", "fault"),
    [
        ("Parameters\n    ----------\n    a : one. b : another.", "a parameter a line"),
        ("Parameters\n    ----------\n    a : one.\n    c : third.", "no parameter c"),
        ("Parameters\n    ----------\n    loads of both hands", "a parameter a line"),
        ("Raises\n    ------\n    Trouble : always.", "no error Trouble"),
        (
            "Raises\n    ------\n    OSError : x.\n\n    Returns\n    -------\n    int : x",
            "sections",
        ),
        ("Thoughts\n    --------\n    None.", "sections"),
    ],
)
def test_a_fault_would_be_found(section: str, fault: str) -> None:
    """Each kind of fault is seen."""
    code = f'def f(a, b):\n    """\n    Give both.\n\n    {section}\n    """\n'
    (function,) = ast.parse(code).body
    assert isinstance(function, Function)
    assert fault in faults(function)[0]
