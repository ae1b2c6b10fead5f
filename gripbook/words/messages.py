"""
Every sentence a reader sees goes through here: translated, then filled in.

A message is English and is its own key in the catalogues under `locale/` (gettext; `make words`
collects and compiles them). `{name}` is a place to fill, `~` a space at which no line breaks.
"""

from __future__ import annotations

import gettext
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from pathlib import Path

from gripbook.errors import GripbookError

#: Languages pages can be written in, English first (ISO 639-1).
LANGUAGES = ("en", "de", "fr")
#: Sign between whole and decimal places.
DECIMAL_SIGNS = {"en": ".", "de": ",", "fr": ","}
#: How the first of a month is written, where not 1.
FIRST_OF_MONTH = {"fr": "1er"}
#: Sign between groups of three places on the axes of charts.
GROUP_SIGNS = {"en": ",", "de": ".", "fr": "\u202f"}

_FOLDER = Path(__file__).parent / "locale"
_NBSP = "\u00a0"
_language: ContextVar[str] = ContextVar("language")  # within a `with in_language(...)`
_everywhere = LANGUAGES[0]


class LanguageError(GripbookError):
    """A language that there is no catalogue for."""


def say(message: str, /, **values: object) -> str:
    """
    Give a message in the language in use, its places filled in.

    Parameters
    ----------
    message : English, a literal, so that it can be collected.
    values : what fills `{name}`; text of a log is safe here, since only the message itself is read
        for places.
    """
    text = _translated(language(), message)
    return text.format(**values) if values else text


def say_count(number: int, one: str, many: str, /, **values: object) -> str:
    """Give the form of a message that goes with a number, as the language's rule has it."""
    return _counted(language(), int(number), one, many).format(**values)


def mark(message: str, /) -> str:
    """Mark a message that `say` is given later, so that it is collected."""
    return message


class Table(Mapping[str, str]):
    """Words by key, each in the language in use at the time it is asked for."""

    def __init__(self, messages: Mapping[str, str]) -> None:
        self.messages = dict(messages)

    def __getitem__(self, key: str) -> str:
        message = self.messages[key]
        return say(message) if message else ""

    def __iter__(self) -> Iterator[str]:
        return iter(self.messages)

    def __len__(self) -> int:
        return len(self.messages)


def language() -> str:
    """Give the language in use."""
    return _language.get(_everywhere)


def use_language(code: str) -> None:
    """
    Write everything that follows in this process in this language: `en`, `de` or `fr`.

    Notebooks run each cell in a context of its own, so this is no context variable.

    Raises
    ------
    LanguageError : another code.
    """
    global _everywhere
    _everywhere = _checked(code)


@contextmanager
def in_language(code: str) -> Iterator[None]:
    """Write in this language within a `with` block, see `use_language`."""
    token = _language.set(_checked(code))
    try:
        yield
    finally:
        _language.reset(token)


def _checked(code: str) -> str:
    if code not in LANGUAGES:
        raise LanguageError(
            f"There is no language {code!r}; pages can be written in {', '.join(LANGUAGES)}."
        )
    return code


@cache
def _catalogue(code: str) -> gettext.NullTranslations:
    if code == LANGUAGES[0]:
        return gettext.NullTranslations()
    return gettext.translation("gripbook", str(_FOLDER), [code])


@cache
def _translated(code: str, message: str) -> str:
    return _catalogue(code).gettext(message).replace("~", _NBSP)


@cache
def _counted(code: str, n: int, one: str, many: str) -> str:
    if code == LANGUAGES[0] and n == 0:  # "no day", not "no days"
        n = 1
    return _catalogue(code).ngettext(one, many, n).replace("~", _NBSP)
