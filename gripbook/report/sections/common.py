"""What the sections of a page share."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from gripbook.charts import Picture
from gripbook.html import Fragment
from gripbook.report.pictures import figure
from gripbook.words import say

#: What a section gives: fragments and charts to show one under the other.
Parts = tuple[Any, ...]


def of_planned(count: float, planned: float) -> str:
    """`3 of 4`; the count alone where nothing was planned (NaN)."""
    return (
        f"{int(count)}"
        if np.isnan(planned)
        else say("{count} of {planned}", count=int(count), planned=int(planned))
    )


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
    """The fragments that hold something."""
    return tuple(f for f in fragments if f is not None and f.html)
