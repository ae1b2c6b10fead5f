"""
An executed notebook as one HTML page that needs no network, complete without script.

A heading of level 2 begins a section: it stands in the margin, and what follows it in the column. A
section in which nothing follows is left out with its heading.
"""

from __future__ import annotations

import base64
import copy
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
from gripbook.report.render import CHART_TYPE, IS_STYLE, STYLED, description_of, title_text
from gripbook.words import LANGUAGES, language
from gripbook.words.page import WORDS, translated

_TEMPLATE = Path(__file__).parent / "template"
# Not for readers: what the page was asked for, and what only makes sense in Jupyter.
_LEFT_OUT = {"parameters", "injected-parameters", "papermill-error-cell-tag", "notebook-only"}
_HEADING = re.compile(r"<h([1-6])\b([^>]*)>(.*?)</h\1>", re.DOTALL)
_SECTION = re.compile(r"(?=<h2 )")
_HEAD = re.compile(r"<h2 id=\"([^\"]*)\"[^>]*>.*?</h2>", re.DOTALL)
_ASIDE = re.compile(r'<p class="aside">.*?</p>', re.DOTALL)
_NAME = re.compile(r'<header class="masthead" data-title="([^"]*)">')
_ID = re.compile(r'\bid="([^"]*)"')
_TAG = re.compile(r"<[^>]*>")
# No text of a log can hold this: `<` is written `&lt;` or `\u003c` wherever text ends up.
_LIBRARY_MARK = '<script type="application/gzip" id="chart-library"></script>'


class PageError(GripbookError):
    """The notebook can't become a page: it failed, or its headings make no document."""


@dataclass(frozen=True)
class Section:
    """A heading with its words in the margin, and the column beside it."""

    id: str
    heading: str
    aside: str
    column: str


@dataclass(frozen=True)
class PageParts:
    """What the template fills in around and between the cells."""

    title: str
    without_heading: bool  # the notebook has no heading of level 1: the page sets its title
    opening: str
    sections: list[Section]
    skip_to: str
    scripts: list[str]
    library: str
    policy: str
    css: str


def to_page(notebook: NotebookNode, *, title: str | None = None, lang: str = "en") -> str:
    """
    Give an executed notebook as one self-contained HTML page.

    Parameters
    ----------
    notebook : executed; stays as it is. Cells tagged `parameters` or `notebook-only` are left out,
        the code of those tagged `show-code` can be opened.
    title : the page's title, and its heading of level 1 where the notebook has none.
        Default: what the masthead says, else that heading, else the notebook's metadata `title`.
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
        priority = [CHART_TYPE, *shown, "text/latex", "text/plain"]
        merged: Config = super().default_config.copy()
        merged.merge(Config({"NbConvertBase": {"display_data_priority": priority}}))
        return merged

    def default_filters(self) -> Any:
        """Give nbconvert's filters and the page's."""
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
        _take_out_style(nb)
        _prepare_charts(nb)
        given = {
            "title": None,
            "notebook_title": nb.metadata.get("title", "Notebook"),
            **(resources or {}),
            # a notebook may say of its charts what holds for them
            "words": dict(WORDS) | dict(nb.metadata.get("words", {})),
            "chart_type": CHART_TYPE,
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
def template_text(name: str) -> str:
    """Text of a file of the template."""
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


def _take_out_style(nb: NotebookNode) -> None:
    """Leave of a notebook that somebody looked at what a page's own run would have shown."""
    before, after = STYLED
    for cell in nb.cells:
        outputs = [o for o in cell.get("outputs", ()) if o.get("metadata") != IS_STYLE]
        for data in (o.data for o in outputs if "text/html" in o.get("data", {})):
            text = "".join(data["text/html"])
            if text.startswith(before) and text.endswith(after):
                data["text/html"] = text[len(before) : -len(after)]
            elif frame := _FRAME.fullmatch(text):
                data["text/html"] = _frame(frame[1])
        if "outputs" in cell:
            cell.outputs = outputs


#: What pandas shows of a frame, which a user's own notebook may put on a page.
_FRAME = re.compile(
    r'<div>\n<style scoped>.*?</style>\n<table border="1" class="dataframe">(.*)</div>', re.DOTALL
)


def _frame(inside: str) -> str:
    """A frame as the page's tables are: in a box that scrolls, nothing where nothing is known."""
    inside = inside.replace(' style="text-align: right;"', "")
    inside = re.sub("<td>(NaN|NaT|None)</td>", "<td></td>", inside)
    return f'<section class="scroll" tabindex="0">\n<table>{inside}</section>'


def _prepare_charts(nb: NotebookNode) -> None:
    """Put what the template needs in place of each chart that a script draws."""
    for cell in nb.cells:
        for output in cell.get("outputs", ()):
            spec = output.get("data", {}).get(CHART_TYPE)
            if spec is None:
                continue
            title, words = title_text(spec), description_of(spec)
            for part in ("title", "$schema", "usermeta"):  # the caption says it; an address
                spec.pop(part, None)
            height = spec.get("height")
            output.data[CHART_TYPE] = {
                "title": title.rstrip("."),
                # the title is set apart from the words that follow it
                "description": words.removeprefix(f"{title}. "),
                "height": height if isinstance(height, int | float) else None,
                "json": _json(spec),
            }


def _markdown(source: str) -> str:
    """Markdown with HTML switched off: tags in it are shown, not obeyed."""
    if language() != LANGUAGES[0]:
        source = translated(source)
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

    def number_heading(match: re.Match[str]) -> str:
        level, attributes, inner = match[1], match[2], match[3]
        words = unescape(_TAG.sub("", inner)).strip()
        given = _ID.search(attributes)
        base = slug(unescape(given[1])) if given else slug(words)
        used[base] = used.get(base, 0) + 1
        anchor = base if used[base] == 1 else f"{base}-{used[base]}"
        if level == "1":
            firsts.append(words)
        focus = ' tabindex="-1"' if level == "2" else ""
        return f'<h{level} id="{escape(anchor)}"{focus}>{inner}</h{level}>'

    cells = _HEADING.sub(number_heading, cells)
    if len(firsts) > 1:
        raise PageError(
            f"A page has one heading of level 1; the notebook has {len(firsts)}: "
            + "; ".join(firsts)
        )
    opening, *rest = _SECTION.split(cells)
    sections = [section for section in map(_section, rest) if section.column]
    named = _NAME.search(opening)
    told = unescape(named[1]) if named else firsts[0] if firsts else ""
    scripts = [template_text("page.js")]
    hashes = [script_sha256(scripts[0])]
    library, css = "", [face_css(), template_text("page.css")]
    if '<figure class="chart"' in cells:
        scripts.append(template_text("chart.js"))
        hashes += [script_sha256(scripts[1]), load_bundle().sha256]
        library = _LIBRARY_MARK
        css.append(template_text("chart.css"))
    allowed = " ".join(f"'sha256-{digest}'" for digest in hashes)
    return PageParts(
        title=resources["title"] or told or str(resources["notebook_title"]),
        without_heading=not firsts,
        opening=opening.strip(),
        sections=sections,
        skip_to=sections[0].id if sections else "page",
        scripts=scripts,
        library=library,
        policy=f"default-src 'none'; script-src {allowed}; style-src 'unsafe-inline'; "
        "img-src data:; font-src data:; base-uri 'none'; form-action 'none'",
        css="\n".join(css),
    )


def _section(markup: str) -> Section:
    head = _HEAD.match(markup)
    assert head is not None  # `number_heading` wrote it
    column = markup[head.end() :]
    aside = _ASIDE.search(column)
    if aside:
        column = column[: aside.start()] + column[aside.end() :]
    return Section(head[1], head[0], aside[0] if aside else "", column.strip())
