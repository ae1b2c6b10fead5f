"""What our CSV files must not do to the spreadsheet that opens them."""

from __future__ import annotations

#: A cell that begins with one of these is a formula to some spreadsheet, also in full-width type.
FORMULA_SIGNS = frozenset("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")


def plain_cell(text: str) -> str:
    """
    Text for a cell of a CSV file: an apostrophe before what a spreadsheet would take for a formula.

    For words from a log (ids, names, grips, notes) alone: a number may begin with a minus sign.
    """
    return f"'{text}" if text[:1] in FORMULA_SIGNS else text


def bare_cell(text: str) -> str:
    """The text of a cell that `plain_cell` made, for a file whose cells know that they are text."""
    return text[1:] if text[:1] == "'" and text[1:2] in FORMULA_SIGNS else text
