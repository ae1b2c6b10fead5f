"""
gripbook: climbers' finger-strength blocks, from CSV logs to pages and notebooks.

The way through the house, each step usable alone:

- `load_logs(folder)` reads a log folder; every row is used or listed with its reason
- `review(logs, athlete)` gives everything a page shows as data; `review_squad(logs)` the squad's
- `propose_next(review)` proposes the next block, or the coming week
- `charts` draws a review, `sections` puts words, charts and tables together as a page does
- `methods` checks each formula against its source or another library
- `explore` holds the views of the exploring notebook, `gripbook explore` starts it
- `show(...)` displays any of it in a notebook
- `render_reports(logs, out)` makes the pages
- `demo_folder()` is the log folder of an invented squad

Names are loaded when first used, so that importing the package costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from gripbook.errors import GripbookError

if TYPE_CHECKING:
    from gripbook import charts as charts
    from gripbook import explore as explore
    from gripbook import methods as methods
    from gripbook.logs import load_logs as load_logs
    from gripbook.report import sections as sections
    from gripbook.report.notebook_view import demo_folder as demo_folder
    from gripbook.report.notebook_view import open_review as open_review
    from gripbook.report.notebook_view import open_squad as open_squad
    from gripbook.report.notebook_view import show as show
    from gripbook.report.run.batch import render_reports as render_reports
    from gripbook.reviews import propose_next as propose_next
    from gripbook.reviews import review as review
    from gripbook.reviews import review_squad as review_squad
    from gripbook.reviews import squad_noise as squad_noise
    from gripbook.words import use_language as use_language

__version__ = "0.1.0"

#: Every public name and the module it comes from; "" after it: the module itself.
_HOMES = {
    "charts": ("gripbook.charts", ""),
    "demo_folder": ("gripbook.report.notebook_view", "demo_folder"),
    "explore": ("gripbook.explore", ""),
    "load_logs": ("gripbook.logs", "load_logs"),
    "methods": ("gripbook.methods", ""),
    "open_review": ("gripbook.report.notebook_view", "open_review"),
    "open_squad": ("gripbook.report.notebook_view", "open_squad"),
    "propose_next": ("gripbook.reviews", "propose_next"),
    "render_reports": ("gripbook.report.run.batch", "render_reports"),
    "review": ("gripbook.reviews", "review"),
    "review_squad": ("gripbook.reviews", "review_squad"),
    "sections": ("gripbook.report.sections", ""),
    "show": ("gripbook.report.notebook_view", "show"),
    "squad_noise": ("gripbook.reviews", "squad_noise"),
    "use_language": ("gripbook.words", "use_language"),
}
__all__ = ["GripbookError", *_HOMES]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'gripbook' has no attribute {name!r}")
    module, attribute = _HOMES[name]
    found = import_module(module)
    return getattr(found, attribute) if attribute else found


def __dir__() -> list[str]:
    return sorted(__all__)
