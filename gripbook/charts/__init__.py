"""Facts to pictures: Vega-Lite specifications at two widths, in one look."""

from __future__ import annotations

from gripbook.charts.blocks import blocks
from gripbook.charts.change import change
from gripbook.charts.climbs import climbs
from gripbook.charts.ends import ends
from gripbook.charts.loads import loads
from gripbook.charts.log_holds import log_holds
from gripbook.charts.look import Picture
from gripbook.charts.measures import body_mass, measures
from gripbook.charts.pain import pain
from gripbook.charts.paths import paths, so_far
from gripbook.charts.ratio import ratio
from gripbook.charts.work import work

__all__ = [
    "Picture",
    "blocks",
    "body_mass",
    "change",
    "climbs",
    "ends",
    "loads",
    "log_holds",
    "measures",
    "pain",
    "paths",
    "ratio",
    "so_far",
    "work",
]
