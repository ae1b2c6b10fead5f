"""Every picture of the demo squad's pages, by name: for tests that hold all of them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from gripbook.charts.blocks import draw_blocks
from gripbook.charts.change import draw_change
from gripbook.charts.climbs import draw_climbs
from gripbook.charts.coming import draw_coming
from gripbook.charts.ends import draw_ends
from gripbook.charts.loads import draw_loads
from gripbook.charts.log_holds import draw_log
from gripbook.charts.look import Picture
from gripbook.charts.measures import draw_body_mass, draw_measures
from gripbook.charts.pain import draw_pain
from gripbook.charts.paths import draw_paths, draw_so_far
from gripbook.charts.ratio import draw_ratio
from gripbook.charts.work import draw_work
from gripbook.reviews import BlockReview
from gripbook.words import fmt
from tests.reviewed import reviewed

DEMO = ("arvo", "brin", "celm", "dova", "eske", "fenn", "galo", "hesk")
FOLDER = Path(__file__).parents[1] / "data_demo"


@cache
def demo_review(athlete: str) -> BlockReview:
    """One demo athlete's review."""
    return reviewed(FOLDER, athlete)


def pictures_of(r: BlockReview) -> Iterator[tuple[str, Picture]]:
    """All pictures that a page of this review may hold, and the one of a block half over."""
    last, block = r.last.date(), r.block
    half = block.start + dt.timedelta(days=24)
    with fmt.in_mass_unit(r.athlete.units):
        found: list[tuple[str, Picture | None]] = [
            ("change", draw_change(r.change)),
            *(("paths", p) for p in draw_paths(r.change, block, last)),
            *(("running", p) for p in draw_paths(r.change, block, half)),
            ("pain", draw_pain(r.pain, r.sets, block, last)),
            ("log", draw_log(r.sets, r.done.refused, block, last)),
            *(("loads", p) for p in draw_loads(r.sets, block, last)),
            ("work", draw_work(r.work, r.dose.weeks, block, last)),
            ("climbs", draw_climbs(r.climbed, block)),
            ("measures", draw_measures(r.measured)),
            ("body mass", draw_body_mass(r.body_mass)),
            ("ends", draw_ends(r.change)),
            ("coming", draw_coming(r.next_block, r.sets)),
            (
                "blocks",
                draw_blocks([(x.block, x.series) for x in r.earlier.paths if x.series is not None]),
            ),
        ]
        if r.change.headline is not None:
            found.append(("so far", draw_so_far(r.change.headline, block, half)))
        if r.change.ratio is not None:
            found.append(("ratio", draw_ratio(r.change.ratio, r.body_mass, block, last)))
    yield from ((name, picture) for name, picture in found if picture is not None)


@cache
def demo_pictures(athlete: str) -> tuple[tuple[str, Picture], ...]:
    """The pictures of one demo athlete."""
    return tuple(pictures_of(demo_review(athlete)))
