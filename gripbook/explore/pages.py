"""Views as a page: the same template as the reports, one file, no network."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from gripbook.charts import Picture
from gripbook.errors import GripbookError
from gripbook.explore.picker import Picker
from gripbook.report.lab import BRUSH_STYLE
from gripbook.report.notebook_view import flat
from gripbook.writing import not_written, write_named

#: Stands in every page made here, and in no other file of a user's.
_MARK = "<!-- A view saved by gripbook.explore.save_page -->"

#: What a page says of its figures without script; no table is promised, as not each view has one.
_WORDS = {
    "noscript": "The figures are still pictures here. What can be chosen, and values under the "
    "pointer, need scripts, in a browser from 2023 or newer.",
    "undrawn": "This figure is drawn by a script, which needs a browser from 2023 or newer.",
}


def save_page(*views: Any, path: str | Path, title: str = "") -> Path:
    """
    Save views as one HTML page through the template of the reports.

    Parameters
    ----------
    views : charts and fragments, as the functions here and in `gripbook.charts` give them.
    path : file to write; one saved here before is replaced, any other is left alone.
    title : the page's heading; empty: the first chart's.

    Raises
    ------
    GripbookError : nothing to save, something that is no view, or a file that must not be lost.
    """
    from gripbook.report.page.views import views_page  # nbconvert takes a second to load

    target = Path(path)
    if target.suffix.lower() not in (".html", ".htm"):
        raise GripbookError(
            f"A page's name ends in .html: {target.name}.html instead of {target.name}."
        )
    shown = [view for view in flat(views) if not isinstance(view, Picker)]
    if not shown:
        raise GripbookError("There is no view to save. Give one: save_page(view, path=...).")
    title = title or next(filter(None, map(_title_of, shown)), "A view of the log")
    text = views_page(shown, title=title, words=_WORDS)
    text = text.replace("</head>", f"{_MARK}\n<style>{BRUSH_STYLE}</style>\n</head>", 1)
    _write(target, text)
    return target


def _title_of(view: Any) -> str:
    told = view.name if isinstance(view, Picture) else getattr(view, "title", "")
    return told.partition(" (")[0] if isinstance(told, str) else ""  # without how to use it


def _write(target: Path, text: str) -> None:
    try:
        theirs = target.exists() and (
            not target.is_file() or _MARK not in target.read_text("utf-8", errors="replace")
        )
    except OSError as error:
        raise not_written(target, error) from error
    if theirs:
        raise GripbookError(
            f"{target} is there already and was not saved from a view. Name another file."
        )
    write_named(target, text)
