"""Languages: no sentence is left out, no translation is missing or says other things."""

from __future__ import annotations

import ast
import gettext
import html
import json
import re
from collections.abc import Iterator
from pathlib import Path
from string import Formatter

import pytest

from gripbook import load_logs, words
from gripbook.logs.block import GRIPS
from gripbook.logs.schema import FILES
from gripbook.report.run.notebooks import load_notebook
from gripbook.report.run.work import Job, make_page
from gripbook.reviews import review_squad
from gripbook.words import messages
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


#: Texts that are no words for readers, by the file they stand in: codes that `words` says, and
#: what Python itself shows of an object. Each is whole, so that no sentence hides behind one.
_NO_SENTENCES = {
    "charts/paths.py": {"at least", "at most"},
    "charts/widths.py": {"roman letters"},
    "reviews/block_review.py": {"<BlockReview of ", " rows of sets; see .change and .tables>"},
    "reviews/change_facts.py": {"at least", "at most"},
    "reviews/proposal/plan.py": {"<NextBlock of ", " start loads in "},
    "reviews/shown.py": {"load on the fingers", "added weight", "difference to the first pull"},
    "reviews/squad.py": {"<SquadReview of ", "<Tables of "},
    "reviews/tables.py": {"<Tables of "},
    "strength/evidence.py": {" holds of "},
    "strength/model.py": {"the defaults"},
    "strength/fit.py": {"at least", "at most", "<StrengthFit of "},
}
#: They speak in files or to whoever writes Python, or read what stands there; not on pages.
_IN_FILES = ("schema", "template", "block_writer", "describe", "words_read", "columns")
_SOURCES = [
    path
    for folder in ("reviews", "words", "charts", "report/sections", "strength", "derive")
    for path in sorted((ROOT / "gripbook" / folder).rglob("*.py"))
    if path != ROOT / "gripbook/reviews/notes.py"  # patterns of what athletes write
    if path.stem not in _IN_FILES
]


@pytest.mark.parametrize("path", _SOURCES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_no_sentence_is_left_out_of_the_sources(path: Path) -> None:
    """Every text of two words or more in the layers that pages come from is a message."""
    found = {str(node.value) for node in sentences(ast.parse(path.read_text("utf-8")))}
    # equal, so that an exception goes when its text does
    assert found == _NO_SENTENCES.get(path.relative_to(ROOT / "gripbook").as_posix(), set())


def test_the_check_of_the_sources_finds_what_is_left_out() -> None:
    """A sentence outside a message is found, also in an f-string; one in a message is not."""
    source = 'def f(x):\n    say("two words")\n    return f"{x} three plain words"\n'
    assert [node.value for node in sentences(ast.parse(source))] == [" three plain words"]


# --- whole pages ------------------------------------------------------------------------------

_PLAIN = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
_ODD = "αβγδεζηθικλμνξοπρστυφχψωϐϑΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩϘϚ"
_PLACE = re.compile(r"(\{[^}]*\})")
#: Signs and names that are the same in all languages; `datum.value` is a chart's code.
_SAME = {"kg", "lb", "mm", "cm", "min", "SD", "RPE", "IRCRA", "ACSM", "IOC", "datum", "value"}


class Invented(gettext.NullTranslations):
    """A language whose words are those of English in other letters."""

    def gettext(self, message: str) -> str:
        """Every letter outside places in the other alphabet."""
        odd = str.maketrans(_PLAIN, _ODD)
        return "".join(p if p.startswith("{") else p.translate(odd) for p in _PLACE.split(message))

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        """As `gettext`."""
        return self.gettext(msgid1 if n == 1 else msgid2)


@pytest.fixture
def invented(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """German is the invented language."""
    monkeypatch.setattr(messages, "_catalogue", lambda code: Invented())
    caches = (messages._translated, messages._counted)
    for cache in caches:
        cache.cache_clear()
    with words.in_language("de"):
        yield
    for cache in caches:
        cache.cache_clear()


def spoken(page: str) -> Iterator[str]:
    """What a reader of a page may see or hear: text, attributes with words, texts of charts."""
    body = page[page.index("<body") :]
    for data in re.findall(r'<script type="application/json"[^>]*>(.*?)</script>', body, re.DOTALL):
        yield from _texts(json.loads(data), "")
    body = re.sub(r"<(script|style)[^>]*>.*?</\1>", "", body, flags=re.DOTALL)
    for found in re.findall(r'\b(?:title|aria-label|alt|data-label)="([^"]*)"', body):
        yield html.unescape(found)
    for text in re.split(r"<[^>]*>", body):
        yield html.unescape(text)


_TEXT_KEYS = {
    "title",
    "text",
    "description",
    "labelExpr",
    "date",
    "series",
    "edge",
    "ended",
    "tells",
}
_TEXT_KEYS |= {"when", "sign", "state", "phase", "side", "where"}


def _texts(part: object, key: str) -> Iterator[str]:
    if isinstance(part, dict):
        for name, value in part.items():
            yield from _texts(value, name)
    elif isinstance(part, list):
        for value in part:
            yield from _texts(value, key)
    elif isinstance(part, str) and key in _TEXT_KEYS:
        yield part


def words_of_logs(folder: Path) -> list[str]:
    """What the logs themselves say, longest first: it's shown as it is written."""
    logs = load_logs(folder)
    found = {folder.name, *logs.athlete_ids}
    for name in ("hangs", "body", "sessions", "pain", "measures", "climbs", "athletes"):
        frame = logs.frame(name)
        for column in frame.columns:
            if frame[column].dtype.kind not in "fiM":
                found |= {str(v) for v in frame[column].dropna().unique()}
    for block in logs.blocks:
        found |= {block.name, *(p.name for p in block.phases)}
    found |= {str(c) for kind in FILES.values() for x in kind.columns for c in x.choices}
    found |= {*GRIPS, *(p.value for p in logs.problems)} | {p.column for p in logs.problems}
    return sorted((x for x in found if len(x) > 1), key=len, reverse=True)


def plain_words(page: str, own: list[str]) -> set[str]:
    """Words of a page that stand in the letters of the logs and were not taken from them."""
    left = set()
    for text in spoken(page):
        rest = re.sub(r"[\w/]*\.(csv|html|toml)", "", text)
        for word in own:
            rest = rest.replace(word, "")
        left |= set(re.findall(r"[A-Za-z]{2,}", rest)) - _SAME
    return left


def make(folder: Path, athlete: str) -> str:
    """The page of an athlete, or of the squad for none."""
    logs = load_logs(folder)
    given = {"logs": "", "block": "", "dates": "", "share_noise": False, "lang": "de"}
    if athlete:
        notebook, given["athlete"] = load_notebook("block_review"), athlete
        job = Job("", notebook, given, "shell", athlete, logs.for_athlete(athlete))
    else:
        notebook = load_notebook("squad_review")
        job = Job("", notebook, given, "shell", squad=review_squad(logs, ""))
    made = make_page(job)
    assert not made.failed, made.failed
    return made.html


DEMO = ROOT / "data_demo"


@pytest.mark.whole
@pytest.mark.usefixtures("invented")
@pytest.mark.parametrize("athlete", [*load_logs(DEMO).athlete_ids, ""])
def test_no_sentence_is_left_out_of_a_page(athlete: str) -> None:
    """On a page in another language every word is of that language, or of the logs."""
    assert plain_words(make(DEMO, athlete), words_of_logs(DEMO)) == set()


def test_the_check_of_pages_finds_what_is_left_out() -> None:
    """A word that was not translated is found in text, attributes and charts."""
    page = '<body><p>αβγ left kim.csv</p><i title="out"></i><script type="application/json">'
    assert plain_words(page + '{"axis": {"title": "here"}}</script>', ["kim"]) == {
        "left",
        "out",
        "here",
    }
