"""Widths of words in the page's typeface, so that labels neither touch nor are cut off."""

from __future__ import annotations

from gripbook.charts.width_table import WIDTHS

#: Thousandths of the size for a character that the typeface lacks, set in whatever face the reader
#: has: wider than nearly every letter of the common ones.
_OTHER = 800
#: From here on (Hangul Jamo, then the scripts of East Asia) a letter fills a square.
_SQUARE_FROM = "\u1100"


def text_width(text: str, size: float, *, weight: int = 400, italic: bool = False) -> float:
    """
    Width of one line of text in the page's typeface, figures lining and tabular.

    Kerning and ligatures are left out; they make most labels narrower, by three per cent at most.

    Parameters
    ----------
    text : the words. Characters that the typeface lacks count generously.
    size : of the type; the width is in its unit.
    weight : 400 to 600, the page's weights; between them widths are interpolated, as the typeface
        does. Italics are of weight 400 only.
    italic : whether the text is in italics.

    Raises
    ------
    ValueError : the typeface has no such weight.
    """
    if not 400 <= weight <= (400 if italic else 600):
        style = "italics" if italic else "roman letters"
        raise ValueError(f"weight {weight}: the page's {style} have none such")
    share = (weight - 400) / 200
    whole = 0.0
    for letter in text:
        if letter in WIDTHS:
            light, bold, slanted = WIDTHS[letter]
            whole += slanted if italic else light + share * (bold - light)
        else:
            whole += 1000 if letter >= _SQUARE_FROM else _OTHER
    return whole * size / 1000
