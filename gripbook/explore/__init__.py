"""
Views to follow one's own questions in a notebook. Each is one call that can be changed and reused.

- `open_log(folder, athlete)` opens one athlete's block; the views take what it gives
- `timeline(x)`: strength, sets, load and body mass over time, linked, with notes and pain
- `grips(x)`: which grip and which hand is stronger, each pair with its range
- `periods(x)`: two stretches of the block side by side
- `blocks(x)`: the block before and this one side by side
- `best_days(x)`: what was done on the best days, and on the others
- `what_if(x)`: the chance of a set on another edge, for another time, with another weight
- `distance(x, added_kg=20)`: how far a target is, in kg and per cent, with its range
- `answer(x, edge_mm=18)`: one what-if in a sentence; `log_row(x, "hangs.csv", 12)`: one row
- `notes(x)`: notes and pain entries as a table
- `save_page(view, "view.html")`: views as a page that needs no network

Charts answer within the browser: no control within one waits for Python. The lists above them write
arguments into the cell and run it. Names are loaded when first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

import gripbook.report  # noqa: F401  keeps a slow module out, before altair would load it

if TYPE_CHECKING:
    from gripbook.explore.block_view import blocks as blocks
    from gripbook.explore.chances import WhatIf as WhatIf
    from gripbook.explore.chances import answer as answer
    from gripbook.explore.chances import work_out as work_out
    from gripbook.explore.days_view import best_days as best_days
    from gripbook.explore.distance_view import distance as distance
    from gripbook.explore.grip_view import grips as grips
    from gripbook.explore.opening import Explorer as Explorer
    from gripbook.explore.opening import explorer_of as explorer_of
    from gripbook.explore.opening import open_log as open_log
    from gripbook.explore.pages import save_page as save_page
    from gripbook.explore.period_view import periods as periods
    from gripbook.explore.rows import log_row as log_row
    from gripbook.explore.rows import notes as notes
    from gripbook.explore.time_view import timeline as timeline
    from gripbook.explore.what_if_view import what_if as what_if

_HOMES = {
    "Explorer": "opening",
    "WhatIf": "chances",
    "answer": "chances",
    "best_days": "days_view",
    "blocks": "block_view",
    "distance": "distance_view",
    "explorer_of": "opening",
    "grips": "grip_view",
    "log_row": "rows",
    "notes": "rows",
    "open_log": "opening",
    "periods": "period_view",
    "save_page": "pages",
    "timeline": "time_view",
    "what_if": "what_if_view",
    "work_out": "chances",
}
__all__ = [*_HOMES]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'gripbook.explore' has no attribute {name!r}")
    return getattr(import_module(f"gripbook.explore.{_HOMES[name]}"), name)


def __dir__() -> list[str]:
    return sorted(__all__)
