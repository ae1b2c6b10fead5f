"""
Escaped text and the elements of a page's sentences.

A `str` is always text and is escaped; a `Fragment` is markup and is trusted. Only the functions
here and in `layout` build fragments, so a name out of a log can't become markup on a page.
"""

from __future__ import annotations

import html as _html
import re
from collections.abc import Iterable
from dataclasses import dataclass

from gripbook.visible import UNSAFE_CHARACTERS

_RIGHT_TO_LEFT = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc\U00010800-\U00010fff]")
_TAG = re.compile(r"<[^>]*>")
_BLOCK_END = re.compile(r"</(?:p|li|tr|h[1-6]|caption|summary|div|section)>")
_CELL_END = re.compile(r"</t[hd]>")
_SLUG_GAP = re.compile(r"[\W_]+")


def escape(text: object) -> str:
    """
    Text as it may stand between tags or in a quoted attribute.

    Control characters and bidirectional overrides become U+FFFD, so that they are seen, not obeyed.
    """
    return _html.escape(UNSAFE_CHARACTERS.sub("\ufffd", str(text)), quote=True)


@dataclass(frozen=True)
class Fragment:
    """Trusted markup. Build it with the functions of this module, never from text of a log."""

    html: str

    def _repr_html_(self) -> str:
        return self.html

    def __add__(self, other: Fragment) -> Fragment:
        return Fragment(f"{self.html}\n{other.html}")

    def __repr__(self) -> str:
        """Show the words alone, for terminals and text-only readers."""
        text = _BLOCK_END.sub("\n", _CELL_END.sub("\t", self.html))
        lines = (line.strip() for line in _html.unescape(_TAG.sub("", text)).splitlines())
        return "\n".join(line for line in lines if line)


def markup(part: str | Fragment) -> str:
    """Markup of a part: text escaped, a fragment as it is."""
    if isinstance(part, Fragment):
        return part.html
    # A right-to-left name is set apart, so that it doesn't drag its neighbours' digits along.
    escaped = escape(part)
    return f"<bdi>{escaped}</bdi>" if _RIGHT_TO_LEFT.search(escaped) else escaped


def join(parts: Iterable[str | Fragment]) -> Fragment:
    """Parts one after the other, one a line; text among them is escaped."""
    return Fragment("\n".join(markup(part) for part in parts))


def inline(*parts: str | Fragment) -> Fragment:
    """Parts within one line; text among them is escaped."""
    return Fragment("".join(markup(part) for part in parts))


def strong(text: str | Fragment) -> Fragment:
    """Weighty words within a paragraph."""
    return Fragment(f"<strong>{markup(text)}</strong>")


def link(text: str, target: str) -> Fragment:
    """
    A link to a place on the page (`#loads`) or to a page beside it (`anna.html`).

    Raises
    ------
    ValueError : the target names a scheme or a host; pages reach nothing outside their folder.
    """
    if ":" in target or target.startswith(("/", "\\")):
        raise ValueError(f"link target {target!r} leaves the page's folder")
    return Fragment(f'<a href="{escape(target)}">{markup(text)}</a>')


def paragraph(*parts: str | Fragment) -> Fragment:
    """One paragraph; parts are set without a gap between them."""
    return Fragment(f"<p>{''.join(markup(part) for part in parts)}</p>")


def slug(text: str) -> str:
    """Give the id of a heading: its words in lower case with hyphens; `section` for none."""
    return _SLUG_GAP.sub("-", text.lower()).strip("-") or "section"


def heading(level: int, text: str, id: str | None = None) -> Fragment:
    """
    Heading of level 1 (the page's, once) to 4. Headings of level 2 make the contents list.

    The id is taken from the text where none is given; the page makes ids unique.
    """
    if level not in (1, 2, 3, 4):
        raise ValueError(f"heading level {level} is not 1 to 4")
    return Fragment(f'<h{level} id="{escape(id or slug(text))}">{markup(text)}</h{level}>')


def bullets(items: Iterable[str | Fragment]) -> Fragment:
    """Plain list; nothing at all for no items (an empty list confuses screen readers)."""
    lines = [f"<li>{markup(item)}</li>" for item in items]
    return Fragment("<ul>\n" + "\n".join(lines) + "\n</ul>" if lines else "")


def lines(*parts: str | Fragment) -> Fragment:
    """Parts one under the other within a cell; text among them is escaped."""
    return Fragment("".join(f'<span class="line">{markup(part)}</span>' for part in parts))


def quoted(text: str) -> Fragment:
    """Words of an athlete's own, in italics."""
    return Fragment(f"<i>{markup(text)}</i>")


def accent(text: str) -> Fragment:
    """Weighty words of what is wrong."""
    return Fragment(f'<strong class="accent">{markup(text)}</strong>')


def over(first: str | Fragment, second: str | Fragment = "") -> Fragment:
    """What a cell says, and smaller beneath it under which conditions."""
    below = markup(second)
    return Fragment(markup(first) + (f" <small>{below}</small>" if below else ""))


def hidden(text: str) -> Fragment:
    """Words that a script may show."""
    return Fragment(f"<span hidden>{markup(text)}</span>")


def chooser(
    label: str, options: Iterable[tuple[str, str]], value: str, on_change: str, **data: str
) -> Fragment:
    """
    A list to choose from, in a notebook.

    Parameters
    ----------
    label : stands before it.
    options : value and words of each.
    value : the one that is chosen.
    on_change : script that is run with the list as `this`.
    data : what the script reads from `this.dataset`.
    """
    lines = "".join(
        f'<option value="{escape(one)}"{" selected" if one == value else ""}>{escape(words)}'
        "</option>"
        for one, words in options
    )
    held = "".join(f' data-{name}="{escape(text)}"' for name, text in data.items())
    return Fragment(
        f'<label>{markup(label)} <select onchange="{escape(on_change)}"{held}>{lines}</select>'
        "</label>"
    )
