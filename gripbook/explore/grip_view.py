"""Which grip and which hand is stronger."""

from __future__ import annotations

from typing import Any

from gripbook import charts, html
from gripbook.explore.opening import Explorer
from gripbook.report.pictures import figure
from gripbook.words.fmt import in_own_units
from gripbook.words.strength import pair


@in_own_units
def grips(x: Explorer) -> tuple[Any, ...]:
    """
    Hands and grips compared: the load at the block's end with its range, and each pair in words.

    Grips that only the block's first weeks tell of are compared on its first day.
    """
    pairs = x.review.change.pairs
    if not pairs:
        return (html.paragraph("The log holds no two grips or hands that can be compared."),)
    picture = charts.draw_ends(x.review.change)
    drawn = () if picture is None else (figure(picture),)
    return (*drawn, html.bullets(map(pair, pairs)))
