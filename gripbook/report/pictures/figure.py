"""A picture on the page: both widths, of which the style shows one, and what its marks say."""

from __future__ import annotations

from gripbook.charts.look import PALETTE, PAPER, WIDE, Picture
from gripbook.html import Fragment, escape
from gripbook.report.pictures.draw import Drawing, PictureError, draw
from gripbook.words import charts

_FONT = "Gripbook Serif,Georgia,serif"


def figure(picture: Picture, caption: str = "", *, values: bool = True) -> Fragment:
    """
    Give the figure of a chart.

    Its `data-words` holds what the marks say, a line each; `data-wide` and `data-narrow` hold their
    places in the two pictures as `x,y` parted by spaces, in the same order. The page's script
    answers pointing and arrow keys from them; without script all values stand in the tables.

    Parameters
    ----------
    picture : from `gripbook.charts`.
    caption : words beneath, none where empty; how many marks were left out is added.
    values : whether the marks can be asked.

    Raises
    ------
    PictureError : the chart holds what can't be drawn, or its pictures say different things.
    """
    wide, narrow = (
        draw(spec, kind=kind) for spec, kind in ((picture.wide, "wide"), (picture.narrow, "narrow"))
    )
    words = [spot[2] for spot in wide.spots]
    if words != [spot[2] for spot in narrow.spots]:
        raise PictureError(f"{picture.name!r}: the marks of its two widths say different things.")
    data = ""
    if values and words:
        lines = "\n".join(" ".join(text.split()) for text in words)
        places = " ".join(f'data-{kind}="{_places(of)}"' for kind, of in _both(wide, narrow))
        data = f' data-words="{escape(lines)}" {places}'
    if picture.thinned[0]:
        caption = " ".join(filter(None, (caption, charts.thinned(*picture.thinned))))
    below = f"\n<figcaption>{escape(caption)}</figcaption>" if caption else ""
    return Fragment(
        f'<figure class="picture"{data}>\n{wide.svg.html}\n{narrow.svg.html}{below}\n</figure>'
    )


def alone(picture: Picture) -> Fragment:
    """
    Give the wide picture with its own colours, for where the page's style is not at hand.

    Raises
    ------
    PictureError : the chart holds what can't be drawn.
    """
    colours = ";".join(f"--{name}:{colour}" for name, colour in PALETTE.items())
    style = f"{colours};background:{PAPER};max-width:{WIDE}px;padding:8px;font-family:{_FONT}"
    return Fragment(f'<div style="{style}">\n{draw(picture.wide).svg.html}\n</div>')


def _both(wide: Drawing, narrow: Drawing) -> tuple[tuple[str, Drawing], tuple[str, Drawing]]:
    return ("wide", wide), ("narrow", narrow)


def _places(drawing: Drawing) -> str:
    return " ".join(f"{x:.0f},{y:.0f}" for x, y, _ in drawing.spots)
