"""What the sections of a page share."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from gripbook.charts import Picture
from gripbook.html import Fragment
from gripbook.layout import SECTION_BYTES, fitting
from gripbook.report.pictures import figure

#: What a section gives: fragments and charts to show one under the other.
Parts = tuple[Any, ...]


def drawn(*pictures: Picture | Iterable[Picture] | None, caption: str = "") -> Parts:
    """Figures of the pictures there are; the caption stands under the last."""
    flat: list[Picture] = []
    for picture in pictures:
        if isinstance(picture, Picture):
            flat.append(picture)
        elif picture is not None:
            flat += picture
    return tuple(figure(picture, caption if picture is flat[-1] else "") for picture in flat)


def shown(*fragments: Fragment | None) -> Parts:
    """The fragments that hold something, as far as a page has room for a section."""
    there = (f for f in fragments if f is not None and f.html)
    return tuple(fitting(there, SECTION_BYTES))
