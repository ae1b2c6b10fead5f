"""
gripbook: climbers' finger-strength blocks, from CSV logs to pages and notebooks.

The way through the house, each step usable alone:

- `load_logs(folder)` reads a log folder; every row is used or listed with its reason
- `review(logs, athlete)` gives everything a page shows as data; `review_squad(logs)` the squad's
- `propose_next(review)` proposes the next block, or the coming week
- `charts` draws a review, `sections` puts words, charts and tables together as a page does
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
    from gripbook import charts, explore
    from gripbook.logs import load_logs
    from gripbook.report import sections
    from gripbook.report.notebook_view import demo_folder, open_review, open_squad, show
    from gripbook.report.run.batch import render_reports
    from gripbook.reviews import propose_next, review, review_squad, squad_noise

__version__ = "0.1.0"

_HOMES = {
    "charts": ("gripbook.charts", ""),
    "demo_folder": ("gripbook.report.notebook_view", "demo_folder"),
    "explore": ("gripbook.explore", ""),
    "load_logs": ("gripbook.logs", "load_logs"),
    "open_review": ("gripbook.report.notebook_view", "open_review"),
    "open_squad": ("gripbook.report.notebook_view", "open_squad"),
    "propose_next": ("gripbook.reviews", "propose_next"),
    "render_reports": ("gripbook.report.run.batch", "render_reports"),
    "review": ("gripbook.reviews", "review"),
    "review_squad": ("gripbook.reviews", "review_squad"),
    "squad_noise": ("gripbook.reviews", "squad_noise"),
    "use_language": ("gripbook.words", "use_language"),
    "sections": ("gripbook.report.sections", ""),
    "show": ("gripbook.report.notebook_view", "show"),
}

__all__ = [
    "GripbookError",
    "charts",
    "demo_folder",
    "explore",
    "load_logs",
    "open_review",
    "open_squad",
    "propose_next",
    "render_reports",
    "review",
    "review_squad",
    "sections",
    "show",
    "squad_noise",
    "use_language",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'gripbook' has no attribute {name!r}")
    module, attribute = _HOMES[name]
    found = import_module(module)
    return getattr(found, attribute) if attribute else found


def __dir__() -> list[str]:
    return sorted([*globals(), *__all__])
