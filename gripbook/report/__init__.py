"""
From notebook to page.

- `render`: charts as the notebooks show them, `enable()` first;
- `engine`: run a notebook with parameters;
- `bundle`: the chart library, made once and kept;
- `page`: an executed notebook as one HTML page that needs no network.

Nothing of it is imported here: a notebook that only shows charts needn't load the page maker.
"""

from __future__ import annotations

import sys

#: jsonschema (under altair, papermill and nbconvert) builds a grammar out of this module when it
#: is imported: 2 to 3 s in every process, for format checks that nobody here asks for. Where the
#: module can't be imported it does without.
SLOW_MODULE = "rfc3987_syntax"
sys.modules.setdefault(SLOW_MODULE, None)  # type: ignore[arg-type]
