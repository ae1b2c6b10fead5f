"""Facts to pictures: Vega-Lite specifications at two widths, in one look."""

from __future__ import annotations

from gripbook.charts.blocks import draw_blocks
from gripbook.charts.change import draw_change
from gripbook.charts.climbs import draw_climbs
from gripbook.charts.coming import draw_coming
from gripbook.charts.designs import draw_design
from gripbook.charts.ends import draw_ends
from gripbook.charts.loads import draw_loads
from gripbook.charts.log_holds import draw_log
from gripbook.charts.look import Picture
from gripbook.charts.measures import draw_body_mass, draw_measures
from gripbook.charts.pain import draw_pain
from gripbook.charts.paths import draw_paths, draw_so_far
from gripbook.charts.ratio import draw_ratio
from gripbook.charts.work import draw_work

__all__ = [
    "Picture",
    "draw_blocks",
    "draw_body_mass",
    "draw_change",
    "draw_climbs",
    "draw_coming",
    "draw_design",
    "draw_ends",
    "draw_loads",
    "draw_log",
    "draw_measures",
    "draw_pain",
    "draw_paths",
    "draw_ratio",
    "draw_so_far",
    "draw_work",
]
