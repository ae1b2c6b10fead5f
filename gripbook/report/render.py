"""Charts as data in a notebook's outputs: what the page maker draws and a terminal can read."""

from __future__ import annotations

from typing import Any

from gripbook.errors import GripbookError

#: Altair 6 itself writes `application/vnd.vegalite.v6.json`; the notebook format accepts JSON
#: objects only under types that end in `+json`.
CHART_TYPE = "application/vnd.vegalite.v6+json"
#: What stands around a part of a page in a notebook, so that the page's style reaches nothing else.
STYLED = ('<div class="gripbook">\n', "\n</div>")
#: Metadata of the output that holds that style.
IS_STYLE = {"gripbook": "style"}


class ChartWithoutWordsError(GripbookError):
    """A chart lacks the `description` that is read aloud, printed and shown where none is drawn."""


def title_text(spec: dict[str, Any]) -> str:
    """Title of a chart as one line of text, "" where it has none."""
    title = spec.get("title", "")
    if isinstance(title, dict):
        title = title.get("text", "")
    return " ".join(map(str, title)) if isinstance(title, list) else str(title)


def description_of(spec: dict[str, Any]) -> str:
    """
    Give the words of a chart that is to stand on a page.

    Raises
    ------
    ChartWithoutWordsError : the chart has no `description`.
    """
    description: str = spec.get("description", "").strip()
    if not description:
        raise ChartWithoutWordsError(
            f"Chart {title_text(spec)!r} has no description. "
            "Give it one told from its numbers: chart.properties(description=...)."
        )
    return description


def chart_bundle(spec: dict[str, Any], **metadata: Any) -> dict[str, Any]:
    """
    Give the outputs of one chart: its specification, and its words as plain text.

    Nothing random goes in, so the same chart gives the same output.

    Raises
    ------
    ChartWithoutWordsError : the chart has no `description`.
    """
    description = description_of(spec)
    title = title_text(spec)
    words = f"{title}. {description}" if title else description
    return {CHART_TYPE: spec, "text/plain": f"Figure: {words}"}


def enable() -> None:
    """Show charts in this notebook the way pages need them. Call it in the first cell."""
    from IPython import get_ipython

    from gripbook.charts import Picture
    from gripbook.report.pictures import figure

    shell = get_ipython()
    if shell is not None:
        # by name: our own charts don't need the library, and a page waits for it
        bundles = shell.display_formatter.mimebundle_formatter
        bundles.for_type_by_name("altair.vegalite.v6.api", "TopLevelMixin", _bundle_of)
        pictures = shell.display_formatter.formatters["text/html"]
        pictures.for_type(Picture, lambda picture: figure(picture).html)  # at both widths


def _bundle_of(chart: Any, **_: Any) -> dict[str, Any]:
    return chart_bundle(chart.to_dict(context={"pre_transform": False}))
