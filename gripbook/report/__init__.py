"""
From notebook to page.

- `render`: charts as the notebooks show them, `enable()` first;
- `bundle`: the chart library, made once and kept;
- `page`: an executed notebook as one HTML page that needs no network;
- `sections`: what each cell of the page's notebook shows; `pictures`: its charts as drawings;
- `run`: notebooks run with parameters, a folder of pages, PDF.

Nothing of it is imported here: a notebook that only shows charts needn't load the page maker.
"""

from __future__ import annotations

import sys

#: jsonschema (under altair, papermill and nbconvert) builds a grammar out of this module when it
#: is imported: 2 to 3 s in every process, for format checks that nobody here asks for. Where the
#: module can't be imported it does without.
SLOW_MODULE = "rfc3987_syntax"


def claim_process() -> None:
    """
    Make a process ours alone, before anything is imported: a command's, or a worker's.

    There the slow module is left out. In a process that may be somebody's Python or notebook this
    is never called.
    """
    sys.modules.setdefault(SLOW_MODULE, None)  # type: ignore[arg-type]
