"""How reviews, logs and charts show themselves in a notebook, whichever layer they belong to."""

from __future__ import annotations

from importlib import import_module


class Displayed:
    """
    Shows in a notebook as words with a small table, or as a picture.

    What a notebook shows needs words and markup, which the lower layers know nothing of, so it is
    looked up by name when a notebook asks: `gripbook.report.shown_here`.
    """

    __slots__ = ()

    def _repr_html_(self) -> str:
        shown: str = import_module("gripbook.report.shown_here").html_of(self)
        return shown
