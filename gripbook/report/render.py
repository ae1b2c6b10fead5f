"""Charts as data in a notebook's outputs: what the page maker draws and a terminal can read."""

from __future__ import annotations

from typing import Any

from gripbook.errors import GripbookError

#: Altair 6 itself writes `application/vnd.vegalite.v6.json`; the notebook format accepts JSON
#: objects only under types that end in `+json`.
CHART_TYPE = "application/vnd.vegalite.v6+json"


class ChartWithoutWordsError(GripbookError):
    """A chart lacks the `description` that is read aloud, printed and shown where none is drawn."""


def title_text(spec: dict[str, Any]) -> str:
    """Title of a chart as one line of text, "" where it has none."""
    title = spec.get("title", "")
    if isinstance(title, dict):
        title = title.get("text", "")
    return " ".join(map(str, title)) if isinstance(title, list) else str(title)


def chart_bundle(spec: dict[str, Any], **metadata: Any) -> dict[str, Any]:
    """
    Give the outputs of one chart: its specification, and its words as plain text.

    Nothing random goes in, so the same chart gives the same output.

    Raises
    ------
    ChartWithoutWordsError : the chart has no `description`.
    """
    description = spec.get("description", "").strip()
    if not description:
        raise ChartWithoutWordsError(
            f"Chart {title_text(spec)!r} has no description. "
            "Give it one told from its numbers: chart.properties(description=...)."
        )
    title = title_text(spec)
    words = f"{title}. {description}" if title else description
    return {CHART_TYPE: spec, "text/plain": f"Figure: {words}"}


def enable(*, check: bool = True) -> None:
    """
    Show Altair charts in this notebook the way pages need them. Call it in the first cell.

    Without `check` a chart isn't held against Vega-Lite's schema, which takes most of a chart's
    time; what a faulty chart would then draw, the browser decides. The output is the same.
    """
    import altair as alt

    alt.renderers.register("gripbook", chart_bundle)
    alt.renderers.enable("gripbook")
    alt.utils.schemapi.DEBUG_MODE = check
    from IPython import get_ipython

    shell = get_ipython()
    if shell is not None:
        formatter = shell.display_formatter.mimebundle_formatter
        formatter.pop(alt.TopLevelMixin, None)
        if not check:
            formatter.for_type(alt.TopLevelMixin, _unchecked_bundle)


def _unchecked_bundle(chart: Any, include: Any = None, exclude: Any = None) -> dict[str, Any]:
    """What Altair itself would show, but for the checks."""
    return chart_bundle(chart.to_dict(validate=False, context={"pre_transform": False}))
