"""Characters that a reader can't see, or that act on a terminal or a page, made visible."""

from __future__ import annotations

import re
from typing import Final

#: C0 and C1 controls (but tab, newline, return) are forbidden or invisible in HTML and act on
#: terminals; bidirectional embeddings, overrides and isolates would let one name turn round the
#: rest of its sentence; lone surrogates can't be written as UTF-8. Right-to-left letters
#: themselves are untouched.
UNSAFE_CHARACTERS: Final = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]"
)


def visible(text: str) -> str:
    r"""The text for a terminal: each such character as its escape, `\x1b`."""
    return UNSAFE_CHARACTERS.sub(lambda m: ascii(m.group())[1:-1], text)


def visible_line(text: str) -> str:
    """The same on one line: ends of lines are escapes too."""
    return visible(text).replace("\r", "\\r").replace("\n", "\\n")
