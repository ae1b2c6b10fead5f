"""Pictures of charts as SVG: exact, strict, at two widths, in the page's typeface."""

from __future__ import annotations

from gripbook.report.pictures.draw import Drawing, PictureError, draw
from gripbook.report.pictures.figure import alone, figure

__all__ = ["Drawing", "PictureError", "alone", "draw", "figure"]
