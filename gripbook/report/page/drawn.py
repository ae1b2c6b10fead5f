"""An executed notebook as one HTML page that needs no network: text, tables, figures, no code."""

from __future__ import annotations

import base64
import copy
import hashlib
import json
import re
import threading
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from html import unescape
from pathlib import Path
from typing import Any

from nbconvert.exporters import HTMLExporter, TemplateExporter
from nbconvert.filters.markdown_mistune import IPythonRenderer, MarkdownWithMath
from nbformat import NotebookNode
from traitlets.config import Config

from gripbook.errors import GripbookError
from gripbook.html import escape, slug
from gripbook.report.bundle import load_bundle, script_sha256
from gripbook.report.page.typeface import face_css
from gripbook.report.render import CHART_TYPE, title_text
from gripbook.report.sketch import SketchError, sketch
from gripbook.words import LANGUAGES, language, mark, say

#: The page's own words. Everything else on it comes out of the notebook.
WORDS = {
    "skip": mark("Skip the contents list"),
    "contents": mark("Contents"),
    "figure": mark("Figure"),
    "code": mark("Code"),
    "noscript": mark(
        "The figures are still pictures here. Pointing at them shows values only with scripts, "
        "in a browser from 2023 or newer. Every number of theirs stands in the table beneath."
    ),
    "undrawn": mark(
        "This figure is drawn by a script, which needs a browser from 2023 or newer. "
        "Every number of it stands in the table beneath."
    ),
}

#: Words that the page's script needs; `%1` and `%2` are numbers it fills in.
SCRIPT_WORDS = {
    "grip": mark("Grip"),
    "hand": mark("Hand"),
    "all": mark("all"),
    "from": mark("From week"),
    "to": mark("to week"),
    "reset": mark("Whole block, all series"),
    "shown": mark("%1 of %2 figures are shown."),
    "values": mark("Values one by one: arrow keys"),
    "sortBy": mark("Sort by"),
    "ascending": mark("rising"),
    "descending": mark("falling"),
}

_TEMPLATE = Path(__file__).parents[1] / "template"
# Not for readers: what the page was asked for, and what only makes sense in Jupyter.
_LEFT_OUT = {"parameters", "injected-parameters", "papermill-error-cell-tag", "notebook-only"}
_HEADING = re.compile(r"<h([1-6])\b([^>]*)>(.*?)</h\1>", re.DOTALL)
_ID = re.compile(r'\bid="([^"]*)"')
_TAG = re.compile(r"<[^>]*>")
_SCRIPT = re.compile(r"<script\b.*?</script>", re.DOTALL)
# No text of a log can hold this: `<` is written `&lt;` or `\u003c` wherever text ends up.
_LIBRARY_MARK = '<script type="application/gzip" id="chart-library"></script>'


class PageError(GripbookError):
    """The notebook can't become a page: it failed, or its headings make no document."""


@dataclass(frozen=True)
class PageParts:
    """What the template fills in around and between the cells."""

    title: str
    own_heading: bool  # the notebook has no heading of level 1: the page sets its title
    opening: str
    contents: list[dict[str, str]]  # id, html
    sections: str
    skip_to: str
    charts: bool
    data: str
    policy: str
    words: str
    css: str
    script: str
    library_mark: str = _LIBRARY_MARK


def to_page(notebook: NotebookNode, *, title: str | None = None, lang: str = "en") -> str:
    """
    Give an executed notebook as one self-contained HTML page.

    Parameters
    ----------
    notebook : executed; stays as it is. Cells tagged `parameters` or `notebook-only` are left out,
        the code of those tagged `show-code` can be opened.
    title : the page's title, and its heading of level 1 where the notebook has none.
        Default: that heading, else the notebook's metadata `title`.
    lang : ISO 639-1 code of the language the notebook is written in.

    Returns
    -------
    HTML text. The same notebook gives the same text.

    Raises
    ------
    PageError : a cell failed, or there is more than one heading of level 1.
    """
    with _lock:
        exporter = load_exporter()
        exporter.language_code = lang
        html, _ = exporter.from_notebook_node(notebook, {"title": title})
    return str(html)


class PageExporter(HTMLExporter):  # type: ignore[misc]
    """Exporter behind `to_page`, also for `jupyter nbconvert --to gripbook`."""

    export_from_notebook = "gripbook page"

    def __init__(self, **options: Any) -> None:
        super().__init__(
            template_name=_TEMPLATE.name,
            optimistic_validation=True,  # once at the end, not after each step
            extra_template_basedirs=[str(_TEMPLATE.parent)],
            **options,
        )

    @property
    def default_config(self) -> Config:
        """Charts before anything else; widgets and scripts never."""
        shown = ["text/html", "text/markdown", "image/svg+xml", "image/png", "image/jpeg"]
        config = Config(
            {
                "NbConvertBase": {
                    "display_data_priority": [CHART_TYPE, *shown, "text/latex", "text/plain"]
                },
            }
        )
        merged: Config = super().default_config.copy()
        merged.merge(config)
        return merged

    def default_filters(self) -> Any:
        """Give nbconvert's filters and the page's own."""
        yield from super().default_filters()
        yield "highlight_code", escape  # the template below ours names it; code isn't shown
        yield "markdown2html", _markdown
        yield "picture", _picture
        yield "page_parts", _page_parts

    def from_notebook_node(
        self, nb: NotebookNode, resources: Mapping[str, Any] | None = None, **options: Any
    ) -> tuple[str, dict[str, Any]]:
        """Convert. `resources["title"]` is the page's title, as in `to_page`."""
        nb = copy.deepcopy(nb)
        _check_ran(nb)
        nb.cells = [c for c in nb.cells if not _LEFT_OUT.intersection(c.metadata.get("tags", []))]
        given = {
            "title": None,
            "notebook_title": nb.metadata.get("title", "Notebook"),
            **(resources or {}),
            # a notebook may say of its own figures what holds for them
            "words": {key: say(message) for key, message in WORDS.items()}
            | dict(nb.metadata.get("words", {})),
            "chart_type": CHART_TYPE,
            "data": _number_figures(nb),
        }
        # HTMLExporter itself would parse the whole page anew to see to the pictures' alternative
        # texts, half of the time a page takes; ours are written in the template.
        html, used = TemplateExporter.from_notebook_node(self, nb, given, **options)
        # The library goes in last, so that no template engine ever handles its half megabyte.
        if _LIBRARY_MARK in html:
            packed = _LIBRARY_MARK.replace("><", f">{load_bundle().packed}<")
            html = html.replace(_LIBRARY_MARK, packed)
        return html, used


_lock = threading.Lock()  # the exporter keeps state while it converts


@cache
def load_exporter() -> PageExporter:
    """The exporter of this process, made once: it costs more than a page."""
    return PageExporter()


@cache
def _template_text(name: str) -> str:
    return (_TEMPLATE / name).read_text("utf-8").strip()


def _check_ran(nb: NotebookNode) -> None:
    for cell in nb.cells:
        for output in cell.get("outputs", ()):
            if output.output_type == "error":
                raise PageError(
                    f"A cell of the notebook failed, so there is no page: "
                    f"{output.ename}: {output.evalue}"
                )


def _json(value: Any) -> str:
    """JSON as it may stand in a script element: no text in it can close or comment the element."""
    text = json.dumps(value, separators=(",", ":"), allow_nan=False)
    return text.replace("<", "\\u003c")


def _number_figures(nb: NotebookNode) -> dict[str, Any]:
    """Put what the template needs in place of each chart; give the data sets of all charts."""
    shared: dict[str, Any] = {}
    number = 0
    for cell in nb.cells:
        for output in cell.get("outputs", ()):
            spec = output.get("data", {}).get(CHART_TYPE)
            if spec is None:
                continue
            number += 1
            title, height = title_text(spec), spec.get("height")
            followed = spec.pop("usermeta", {}).get("series")
            datasets = {**spec.pop("datasets", {})}
            _lift_values(spec, datasets)
            # A name may mean other rows in another chart; such rows stay with their chart.
            kept = {n: rows for n, rows in datasets.items() if shared.setdefault(n, rows) != rows}
            picture = _still_picture(spec, datasets)
            # The caption is set in the page's type and wraps; the schema is only an address.
            for key in ("title", "$schema"):
                spec.pop(key, None)
            output.data[CHART_TYPE] = {
                "number": number,
                "title": title.rstrip("."),
                # the title is set apart from the words that follow it
                "description": spec.get("description", "").removeprefix(f"{title}. "),
                "height": height if isinstance(height, int | float) else None,
                "picture": picture,
                "json": _json(
                    {
                        "spec": spec,
                        "datasets": sorted(datasets.keys() - kept.keys()),
                        "own": kept,
                        **({"series": followed} if followed else {}),
                    }
                ),
            }
    return shared


def _still_picture(spec: dict[str, Any], datasets: dict[str, Any]) -> str:
    """What stands for the drawn chart without script; "" where it can't be sketched."""
    try:
        return sketch(spec, datasets)
    except SketchError:
        return ""


def _lift_values(part: Any, datasets: dict[str, Any]) -> None:
    """Name inline data by their content, so that charts that show the same rows share them."""
    if isinstance(part, list):
        for item in part:
            _lift_values(item, datasets)
    elif isinstance(part, dict):
        data = part.get("data")
        if isinstance(data, dict) and isinstance(data.get("values"), list) and "name" not in data:
            rows = data.pop("values")
            digest = hashlib.sha256(_json(rows).encode()).hexdigest()
            name = data["name"] = f"rows-{digest[:16]}"
            datasets[name] = rows
        for key, item in part.items():
            if key != "data":
                _lift_values(item, datasets)


def _markdown(source: str) -> str:
    """Markdown with HTML switched off: tags in it are shown, not obeyed."""
    if language() != LANGUAGES[0]:
        source = say(source)
    renderer = IPythonRenderer(escape=True, exclude_anchor_links=True)
    return str(MarkdownWithMath(renderer=renderer).render(source))


def _picture(output: NotebookNode, cell: NotebookNode, mime: str) -> str:
    data = output.data[mime]
    if mime == "image/svg+xml":
        data = base64.b64encode(data.encode()).decode()
    words = output.metadata.get("alt") or output.metadata.get(mime, {}).get("alt")
    words = words or cell.metadata.get("alt")
    if not words:
        raise PageError("A picture has no words: give its output or cell the metadata `alt`.")
    source = f"data:{mime};base64,{''.join(data.split())}"
    return f'<figure><img src="{escape(source)}" alt="{escape(words)}"></figure>'


def _page_parts(cells: str, resources: Mapping[str, Any]) -> PageParts:
    """Take the cells' markup apart at its headings and add what the page needs around it."""
    used: dict[str, int] = {}
    firsts: list[str] = []
    contents: list[dict[str, str]] = []

    def number_heading(match: re.Match[str]) -> str:
        level, attributes, inner = match[1], match[2], match[3]
        words = unescape(_TAG.sub("", inner)).strip()
        found = _ID.search(attributes)
        base = slug(unescape(found[1])) if found else slug(words)
        used[base] = used.get(base, 0) + 1
        anchor = base if used[base] == 1 else f"{base}-{used[base]}"
        if level == "1":
            firsts.append(words)
        elif level == "2":
            contents.append({"id": anchor, "html": inner})
        focus = ' tabindex="-1"' if level == "2" else ""
        return f'<h{level} id="{escape(anchor)}"{focus}>{inner}</h{level}>'

    cells = _HEADING.sub(number_heading, cells)
    if len(firsts) > 1:
        raise PageError(
            f"A page has one heading of level 1; the notebook has {len(firsts)}: "
            + "; ".join(firsts)
        )
    title = resources["title"] or (firsts[0] if firsts else str(resources["notebook_title"]))
    cut = cells.find("<h2 ")
    opening, sections = (cells, "") if cut < 0 else (cells[:cut], cells[cut:])
    charts = '<figure class="chart"' in cells
    hashes = [script_sha256(_template_text("page.js"))]
    if charts:
        hashes.append(load_bundle().sha256)
    scripts = " ".join(f"'sha256-{digest}'" for digest in hashes)
    return PageParts(
        title=title,
        own_heading=not firsts,
        opening=opening.strip(),
        contents=contents,
        sections=sections.strip(),
        skip_to=contents[0]["id"] if contents else "page",
        charts=charts,
        data=_json(resources["data"]),
        policy=f"default-src 'none'; script-src {scripts}; style-src 'unsafe-inline'; "
        "img-src data:; font-src data:; base-uri 'none'; form-action 'none'",
        words=_json({key: say(message) for key, message in SCRIPT_WORDS.items()}),
        css=f"{face_css()}\n{_template_text('page.css')}",
        script=_template_text("page.js"),
    )
