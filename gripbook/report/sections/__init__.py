"""
The parts of a page, in the page's order: words, charts, and the figures as tables.

Each function takes a review and returns a tuple of things to show (`Fragment`s and charts). The
notebooks show them one section a cell; headings stand in the notebooks' own text. One module a
section.
"""

from __future__ import annotations

from gripbook.report.sections.block import block
from gripbook.report.sections.log import log
from gripbook.report.sections.next_block import next_block
from gripbook.report.sections.opening import changed, opening
from gripbook.report.sections.other import other
from gripbook.report.sections.pain import pain
from gripbook.report.sections.ratio import ratio
from gripbook.report.sections.squad import squad_about, squad_opening, squad_together
from gripbook.report.sections.strength import strength

__all__ = [
    "block",
    "changed",
    "log",
    "next_block",
    "opening",
    "other",
    "pain",
    "ratio",
    "squad_about",
    "squad_opening",
    "squad_together",
    "strength",
]
