"""
Charts and errors in notebooks that somebody looks at, in JupyterLab or as nbconvert's HTML.

JupyterLab 4 draws charts with a library older than ours (Vega-Lite 5.6): it knows no output of
type v6, but draws our specifications when they come as v5. Both types go into an output; the page
maker takes the one, JupyterLab the other. Nothing is loaded from a network.
"""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

from gripbook.display import Displayed
from gripbook.errors import GripbookError
from gripbook.html import Fragment
from gripbook.report.render import CHART_TYPE, IS_STYLE, STYLED, chart_bundle

LAB_TYPE = "application/vnd.vegalite.v5+json"
#: Width in pixels of a chart that fills the page elsewhere.
WIDTH = 640
_SCHEMA = "https://vega.github.io/schema/vega-lite/v5.json"
_PAPER, _INK = "#ffffff", "#22262e"
#: The rectangle of a chosen time lies over the marks, and would keep the pointer from them.
BRUSH_STYLE = ".time_brush, .time_brush * { pointer-events: none !important; }"
_STYLE = (
    # beside the chart, above it where there is no room
    ".vega-embed:has(form.vega-bindings) { display: flex; flex-flow: row wrap-reverse; "
    "align-items: flex-end; justify-content: flex-end; gap: 0 16px; } "
    "form.vega-bindings { display: flex; flex-flow: row wrap; gap: 6px 16px; "
    "align-self: flex-end; flex: 1 1 190px; max-width: 640px; padding: 28px 8px 4px; } "
    ".vega-embed form.vega-bindings .vega-bind { display: flex; align-items: center; gap: 6px; } "
    ".vega-embed form.vega-bindings select { max-width: 270px; } "
) + BRUSH_STYLE
#: Parts of a page stand in an element of this class, so that their style reaches nothing else.
_CLASS = "gripbook"


def lab_bundle(spec: dict[str, Any], **metadata: Any) -> tuple[dict[str, Any], dict[str, Any]]:
    """
    Give the outputs of one chart for JupyterLab and for pages, and their metadata.

    Whoever draws a chart here sees it, so it needs no `description`; on a page it does.
    """
    described = spec if spec.get("description") else {**spec, "description": "A chart."}
    bundle = chart_bundle(described)
    bundle[CHART_TYPE] = spec
    bundle[LAB_TYPE] = lab_spec(spec)
    options = {"renderer": "svg", "actions": False, "defaultStyle": True}
    return bundle, {LAB_TYPE: {"embed_options": options}}


def lab_spec(spec: dict[str, Any]) -> dict[str, Any]:
    """
    The specification as JupyterLab's older library takes it.

    The card is light in dark JupyterLab too: its own dark theme would leave the ink unreadable.
    """
    out = copy.deepcopy(spec)
    out["$schema"] = _SCHEMA
    config = out.setdefault("config", {})
    config["background"] = _PAPER
    config.setdefault("text", {}).setdefault("color", _INK)
    if out.get("width") == "container":
        out["width"] = WIDTH
    return out


def enable() -> None:
    """Show Altair charts in this notebook so that JupyterLab draws them."""
    from IPython.core.getipython import get_ipython

    from gripbook.charts import Picture
    from gripbook.report.pictures import figure
    from gripbook.report.shown_here import html_of

    shell = get_ipython()
    if shell is not None:
        # by name: our own charts don't need the library, and it takes a second to load
        bundles = shell.display_formatter.mimebundle_formatter
        bundles.for_type_by_name("altair.vegalite.v6.api", "TopLevelMixin", _bundle_of)
        formatters = shell.display_formatter.formatters["text/html"]
        formatters.for_type(Fragment, lambda part: _styled(part.html))
        formatters.for_type(Displayed, lambda thing: _styled(html_of(thing)))
        formatters.for_type(Picture, lambda picture: _styled(figure(picture).html))
    _style_here()


def _bundle_of(chart: Any, **_: Any) -> tuple[dict[str, Any], dict[str, Any]]:
    return lab_bundle(chart.to_dict(context={"pre_transform": False}))


def _styled(markup: str) -> str:
    """Parts of a page in an element of the class that their style reaches."""
    return markup.join(STYLED)


def _style_here() -> None:
    """Set the controls of charts beside them (JupyterLab puts them beneath) and style our parts."""
    from IPython.core.getipython import get_ipython
    from IPython.display import HTML, display

    if get_ipython() is not None:
        display(HTML(f"<style>{_STYLE}\n{page_style()}</style>"), metadata=IS_STYLE)


def page_style() -> str:
    """
    The page's own style, in light colours, for parts of a page in a notebook and nothing else.

    The class is doubled so that it outweighs the notebook's style of tables and headings.
    """
    from gripbook.report.page.typeface import face_css

    text = (Path(__file__).parent / "page" / "template" / "page.css").read_text(encoding="utf-8")
    light = text.split(":root {", 1)[1].split("}", 1)[0]  # dark mode and paper come after it
    root = (
        "padding: 4px 8px; max-width: 760px; background: var(--paper); color: var(--ink); "
        'font: 1rem/1.5 "Gripbook Serif", Georgia, serif;'
    )
    # pictures place their words by the typeface's widths
    return (
        f"{face_css()}\n.{_CLASS}.{_CLASS} {{ {light} {root}\n{text.replace(':root', ':host')}\n}}"
    )


def tell_errors_kindly() -> None:
    """In a notebook, show a GripbookError as its words, with no traceback; the run still stops."""
    from IPython.core.getipython import get_ipython

    shell = get_ipython()
    # a subclass's message is no less kind, and IPython compares by subclass
    if shell is not None:
        shell.set_custom_exc((GripbookError,), _tell)


def _tell(shell: Any, kind: type[BaseException], error: BaseException, *_: Any, **__: Any) -> Any:
    shell._showtraceback(kind, error, [str(error)])
    return [str(error)]
