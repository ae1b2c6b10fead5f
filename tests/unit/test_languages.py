"""Languages: no sentence is left out, no translation is missing or says other things."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from string import Formatter

import pytest

from gripbook import words
from tests import catalogue

ROOT = Path(__file__).parents[2]
OTHERS = words.LANGUAGES[1:]


def places(text: str) -> list[str]:
    """The names of a message's places to fill."""
    return sorted(name for _, name, _, _ in Formatter().parse(text) if name is not None)


def forms(text: str | tuple[str, ...] | list[str]) -> tuple[str, ...]:
    """A message's forms: one, or one for each number."""
    return (text,) if isinstance(text, str) else tuple(text)


# --- the catalogues ---------------------------------------------------------------------------


@pytest.mark.parametrize("lang", OTHERS)
def test_catalogue_holds_every_message(lang: str) -> None:
    """Each message of the package stands in the catalogue, translated, and no others."""
    found = catalogue.translations(lang)
    assert {m.id for m in found if m.id} == set(catalogue.messages()), "run make words"
    assert not [m.id for m in found if m.id and m.fuzzy]
    assert catalogue.untranslated(found) == []


@pytest.mark.parametrize("lang", OTHERS)
def test_translations_fill_the_same_places(lang: str) -> None:
    """A translation names the places of its message, and begins and ends with the same space."""
    for message in catalogue.translations(lang):
        if not message.id:
            continue
        ids = forms(message.id)
        for form in forms(message.string):
            # "one day" may do without its number where the plural has it
            assert places(form) in [places(x) for x in (*ids, ids[-1].replace("{n}", ""))], form
            for edge in (0, -1):
                assert (form[edge] == " ") == (ids[-1][edge] == " "), (ids, form)
            assert "  " not in form


@pytest.mark.parametrize("lang", OTHERS)
def test_compiled_catalogue_is_that_of_the_text(lang: str) -> None:
    """What pages are written from is what the readable catalogue says."""
    compiled = catalogue.LOCALE / lang / "LC_MESSAGES" / "gripbook.mo"
    assert compiled.read_bytes() == catalogue.mo_bytes(catalogue.translations(lang)), "make words"


def test_template_is_up_to_date() -> None:
    """The template of catalogues holds the package's messages."""
    path = catalogue.LOCALE / "gripbook.pot"
    assert path.read_bytes() == catalogue.po_bytes(catalogue.template()), "run make words"


# --- the sources ------------------------------------------------------------------------------

#: Calls whose texts no reader sees, or that are given messages.
_PASSED = {*catalogue.CALLS, "startswith", "endswith", "transform_filter", "compile", "TypeVar"}
_PASSED |= {"DateTime", "style", "condition", "sub", "replace"}
_WORDS = re.compile(r"[A-Za-z]{2,} +[a-z]{2,}|[a-z]{2,} +[A-Za-z]{2,}")


def sentences(tree: ast.AST) -> Iterator[ast.Constant]:
    """Texts of two words or more that no message holds."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.Raise | ast.Assert):
            continue
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            continue  # a docstring
        if isinstance(node, ast.Call):
            name = getattr(node.func, "attr", getattr(node.func, "id", ""))
            if name in _PASSED or name.endswith(("Error", "Warning")):
                held = catalogue.CALLS.get(name, (0,))[-1] + 1
                for part in [*node.args[held:], *(k.value for k in node.keywords)]:
                    yield from sentences(ast.Expression(part))
                continue
        if isinstance(node, ast.Constant):
            if isinstance(node.value, str) and _WORDS.search(node.value):
                yield node
            continue
        yield from sentences(node)


#: Texts that are no words for readers: file heads, code for charts, styles, markup.
_NO_SENTENCES = (
    "pinch",
    "holds of",  # names of conditions, which no page shows
    "at least",
    "at most",
    "datum",
    "<",
    "font-",
    "serif",
    "default-src",
    "'none'",
    "sha256",
)
_SOURCES = [
    path
    for folder in ("reviews", "charts", "report/sections", "strength", "derive")
    for path in sorted((ROOT / "gripbook" / folder).glob("*.py"))
]


@pytest.mark.parametrize("path", _SOURCES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_no_sentence_is_left_out_of_the_sources(path: Path) -> None:
    """Every text of two words or more in the layers that pages come from is a message."""
    found = [
        f"{node.lineno}: {node.value}"
        for node in sentences(ast.parse(path.read_text("utf-8")))
        if not any(sign in str(node.value) for sign in _NO_SENTENCES)
    ]
    assert found == []


def test_the_check_of_the_sources_finds_what_is_left_out() -> None:
    """A sentence outside a message is found, also in an f-string; one in a message is not."""
    source = 'def f(x):\n    say("two words")\n    return f"{x} three plain words"\n'
    assert [node.value for node in sentences(ast.parse(source))] == [" three plain words"]
