"""What the parts of a page share."""

from __future__ import annotations

from typing import Any

import numpy as np

from gripbook.words import mark, say

#: What a section gives: fragments and charts to show one under the other.
Parts = tuple[Any, ...]
#: Over the table under a chart.
FIGURES = mark("The figures as a table")


def of_planned(count: float, planned: float) -> str:
    """`3 of 4`; the count alone where nothing was planned (NaN)."""
    return (
        f"{int(count)}"
        if np.isnan(planned)
        else say("{count} of {planned}", count=int(count), planned=int(planned))
    )
