"""Pictures, fragments and charts as one page, without a notebook of anybody's."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from nbformat import NotebookNode
from nbformat.v4 import new_code_cell, new_notebook, new_output

from gripbook import html
from gripbook.charts import Picture
from gripbook.errors import GripbookError
from gripbook.html import Fragment
from gripbook.report.page.exporter import to_page
from gripbook.report.pictures import figure
from gripbook.report.render import chart_bundle


def views_page(
    views: Iterable[Any], *, title: str, lang: str = "en", words: Mapping[str, str] | None = None
) -> str:
    """
    Give views as one self-contained HTML page.

    Parameters
    ----------
    views : charts and fragments, one under the other; a heading of level 2 begins a section.
    title : the page's, and its heading of level 1.
    lang : language of the page.
    words : what the page says in place of its own words, by their names in `gripbook.words.page`.

    Raises
    ------
    GripbookError : one of them is no view.
    """
    outputs = [_output(view) for view in (html.heading(1, title), *views)]
    cells = [new_code_cell("", outputs=[output], execution_count=1) for output in outputs]
    metadata = {"words": dict(words)} if words else {}
    return to_page(new_notebook(cells=cells, metadata=metadata), title=title, lang=lang)


def _output(view: Any) -> NotebookNode:
    if isinstance(view, Picture):
        view = figure(view)
    if isinstance(view, Fragment):
        data = {"text/html": view._repr_html_(), "text/plain": repr(view)}
    elif hasattr(view, "to_dict") and hasattr(view, "_repr_mimebundle_"):
        data = chart_bundle(view.to_dict())
    else:
        raise GripbookError(
            f"{type(view).__name__} can't stand on a page; charts and tables of gripbook can."
        )
    return new_output("display_data", data=data)
