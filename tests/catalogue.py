"""
Collect the messages of the package and renew the catalogues: `make words`.

Writes `gripbook/words/locale/gripbook.pot`, brings each `gripbook.po` up to it (new messages stand
there untranslated, those no longer used are dropped), and compiles the `gripbook.mo` that pages are
written from.
"""

from __future__ import annotations

import ast
import datetime as dt
import json
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from gripbook.words import LANGUAGES

ROOT = Path(__file__).parents[1]
LOCALE = ROOT / "gripbook" / "words" / "locale"
#: Where pages come from. The exploring notebook and the command line speak English.
SPOKEN = ("words", "reviews", "charts", "report", "strength", "derive")
NOTEBOOKS = ("block_review", "squad_review")
#: Function -> places of its messages: the singular, and the plural where it takes one.
CALLS = {"say": (0,), "mark": (0,), "say_count": (1, 2), "count": (1, 2)}

_EVER = dt.datetime(2026, 1, 1, tzinfo=dt.UTC)

Message = str | tuple[str, str]


def messages() -> dict[Message, list[str]]:
    """Each message of the package, a pair where it has a plural, and the files it stands in."""
    found: dict[Message, set[str]] = {}
    files: list[Path] = []
    for name in SPOKEN:
        files += sorted((ROOT / "gripbook" / name).rglob("*.py"))
    for path in files:
        for message in _in_module(ast.parse(path.read_text("utf-8"))):
            found.setdefault(message, set()).add(path.relative_to(ROOT).as_posix())
    for name in NOTEBOOKS:
        path = ROOT / "notebooks" / f"{name}.ipynb"
        for cell in json.loads(path.read_text("utf-8"))["cells"]:
            for_analysts = "notebook-only" in cell["metadata"].get("tags", ())
            if cell["cell_type"] == "markdown" and not for_analysts:
                source = "".join(cell["source"])
                found.setdefault(source, set()).add(path.relative_to(ROOT).as_posix())
    for message in [m for m in found if isinstance(m, tuple)]:
        # catalogues know a message by its singular, so one entry serves it with and without number
        found[message] |= found.pop(message[0], set())
    return {m: sorted(places) for m, places in found.items()}


def _in_module(tree: ast.Module) -> Iterator[Message]:
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        name = getattr(node.func, "attr", getattr(node.func, "id", ""))
        places = CALLS.get(name, ())
        if not places or len(node.args) <= places[-1]:
            continue
        texts = [getattr(node.args[i], "value", None) for i in places]
        if all(isinstance(text, str) for text in texts):
            yield str(texts[0]) if len(texts) == 1 else (str(texts[0]), str(texts[1]))


def template() -> Catalog:
    """The messages as a catalogue without translations."""
    catalogue = _empty(None)
    for message, places in sorted(messages().items(), key=lambda m: (m[1], str(m[0]))):
        catalogue.add(message, locations=[(place, None) for place in places])
    return catalogue


def _empty(lang: str | None) -> Catalog:
    return Catalog(
        locale=lang, domain="gripbook", project="gripbook", fuzzy=False, header_comment="# gripbook"
    )


def translations(lang: str) -> Catalog:
    """The catalogue of a language as it stands in the repository."""
    with (LOCALE / lang / "LC_MESSAGES" / "gripbook.po").open("rb") as file:
        return read_po(file, locale=lang, domain="gripbook")


def po_bytes(catalogue: Catalog) -> bytes:
    """A catalogue as text, the same on every day and machine."""
    out = BytesIO()
    write_po(out, catalogue, width=96, omit_header=False, ignore_obsolete=True, sort_by_file=True)
    varying = ("POT-Creation-Date", "PO-Revision-Date", "Generated-By", "Last-Translator")
    varying += ("Language-Team", "Report-Msgid-Bugs-To")
    lines = out.getvalue().decode().splitlines(keepends=True)
    return "".join(x for x in lines if not x.startswith(tuple(f'"{v}' for v in varying))).encode()


def mo_bytes(catalogue: Catalog) -> bytes:
    """A catalogue compiled, from what its text says."""
    read = read_po(BytesIO(po_bytes(catalogue)), locale=catalogue.locale, domain="gripbook")
    read.creation_date = read.revision_date = _EVER  # else it says when it was compiled
    out = BytesIO()
    write_mo(out, read)
    return out.getvalue()


def untranslated(catalogue: Catalog) -> list[Message]:
    """The messages that a language lacks."""
    return [m.id for m in catalogue if m.id and not (m.string and all(_forms(m.string)))]


def _forms(text: str | tuple[str, ...] | list[str]) -> tuple[str, ...]:
    return (text,) if isinstance(text, str) else tuple(text)


def renew() -> None:
    """Write everything anew and tell what is left to translate."""
    LOCALE.mkdir(exist_ok=True)
    fresh = template()
    (LOCALE / "gripbook.pot").write_bytes(po_bytes(fresh))
    print(f"{len(fresh)} messages")
    for lang in LANGUAGES[1:]:
        folder = LOCALE / lang / "LC_MESSAGES"
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / "gripbook.po"
        catalogue = translations(lang) if path.exists() else _empty(lang)
        catalogue.update(fresh, no_fuzzy_matching=True)
        for message in catalogue:
            # babel doubts a plural that is the same as its singular, and does not compile it
            message.flags.discard("fuzzy")
        path.write_bytes(po_bytes(catalogue))
        (folder / "gripbook.mo").write_bytes(mo_bytes(catalogue))
        left = untranslated(catalogue)
        print(f"{lang}: {len(left)} to translate")


if __name__ == "__main__":
    renew()
