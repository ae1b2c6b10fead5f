"""
Views to follow one's own questions in a notebook. Each is one call that can be changed and reused.

- `open_log(folder, athlete)` opens one athlete's block; the views take what it gives
- `timeline(x)`: strength, sets, load and body mass over time, linked, with notes and pain
- `periods(x)`: two stretches of the block side by side
- `what_if(x)`: the chance of a set on another edge, for another time, with another weight
- `answer(x, edge_mm=18)`: one what-if in a sentence; `log_row(x, "hangs.csv", 12)`: one row
- `notes(x)`: notes and pain entries as a table
- `save_page(view, "view.html")`: views as a page that needs no network

Charts answer within the browser: no control waits for Python.
"""

from __future__ import annotations

from gripbook.explore.look import finished
from gripbook.explore.opening import Explorer, explorer_of, open_log
from gripbook.explore.pages import save_page
from gripbook.explore.periods import periods
from gripbook.explore.rows import log_row, notes
from gripbook.explore.timeline import timeline
from gripbook.explore.what_if import WhatIf, answer, work_out
from gripbook.explore.what_if_view import what_if

__all__ = [
    "Explorer",
    "WhatIf",
    "answer",
    "explorer_of",
    "finished",
    "log_row",
    "notes",
    "open_log",
    "periods",
    "save_page",
    "timeline",
    "what_if",
    "work_out",
]
