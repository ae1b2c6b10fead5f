"""The page: one file, nothing from elsewhere, nothing to run but its own scripts, same bytes."""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
import re
from html.parser import HTMLParser
from typing import Any

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output

from gripbook import html
from gripbook.report.page import PageError, PageExporter, drawn, to_page
from gripbook.report.render import CHART_TYPE, ChartWithoutWordsError, chart_bundle

HOSTILE = "</script><script>alert(1)</script><!-- <script>\"'&{{ 7*7 }}</title></style></h2>"
VOID = {"meta", "br", "img", "hr", "input", "link"}


def code(*bundles: dict[str, Any], source: str = "secret = 'code'", **metadata: Any) -> Any:
    """A code cell that has shown these bundles."""
    outputs = [new_output("display_data", data=bundle) for bundle in bundles]
    return new_code_cell(source, outputs=outputs, metadata=metadata, execution_count=1, id="cell")


def shown(fragment: html.Fragment) -> dict[str, Any]:
    """Outputs of a fragment, as IPython would make them."""
    return {"text/html": fragment._repr_html_(), "text/plain": repr(fragment)}


def chart(name: str = "half crimp", **changes: Any) -> dict[str, Any]:
    """Outputs of a small chart."""
    spec = {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "title": f"Loads, {name}",
        "description": f"{name} rose from 60 to 64 kg.",
        "width": "container",
        "height": 200,
        "data": {"values": [{"week": 1, "kg": 60, "who": name}, {"week": 2, "kg": 64}]},
        "mark": "point",
        "encoding": {"x": {"field": "week"}, "y": {"field": "kg"}},
        **changes,
    }
    return chart_bundle(spec)


def notebook(*cells: Any, **metadata: Any) -> nbformat.NotebookNode:
    """A notebook of these cells; text stands for a Markdown cell."""
    made = [new_markdown_cell(c, id="text") if isinstance(c, str) else c for c in cells]
    for position, cell in enumerate(made):
        cell["id"] = f"cell-{position}"
    return new_notebook(cells=made, metadata={"title": "Review", **metadata})


class Page(HTMLParser):
    """What a browser would see of a page: its elements, attributes and texts."""

    def __init__(self, markup: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[tuple[str, str]] = []
        self._open: list[str] = []
        self.feed(markup)
        self.close()
        assert self._open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note the element."""
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self._open.append(tag)
            self.texts.append((tag, ""))

    def handle_endtag(self, tag: str) -> None:
        """Every end closes what was opened last."""
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Note the text under the element it stands in."""
        self.texts.append((self._open[-1] if self._open else "", data))

    def all(self, tag: str) -> list[dict[str, str | None]]:
        """Attributes of all elements of this kind."""
        return [attributes for name, attributes in self.elements if name == tag]

    def text(self, tag: str) -> str:
        """The texts that stand directly in elements of this kind."""
        return "".join(data for name, data in self.texts if name == tag)


def without_typeface(page: str) -> str:
    """The page less its three font faces, which hold data alone."""
    left, faces = re.subn(r"@font-face\{[^}]*url\(data:font/woff2;base64,[\w+/=]+\)\}\n", "", page)
    assert faces == 3
    return left


@pytest.fixture
def full() -> str:
    """A page with one of everything and a hostile name everywhere."""
    table = html.table([{"week": 1, "note": HOSTILE}], HOSTILE)
    return to_page(
        notebook(
            code(source="athlete = 'secret'", tags=["parameters"]),
            code(source="athlete = 'secret'", tags=["injected-parameters"]),
            code(shown(html.heading(1, HOSTILE)), shown(html.paragraph(HOSTILE))),
            "## Loads\n\nText from the *notebook*, <b onclick='x'>no markup</b>.",
            code(chart(HOSTILE), shown(html.details("The numbers", table))),
            code(chart("open hand"), {"text/plain": HOSTILE}, {"text/markdown": HOSTILE}),
            "## Loads",
            code(shown(html.bullets([HOSTILE]))),
        )
    )


def test_hostile_text_adds_no_element(full: str) -> None:
    """Whatever stands in a name, the page's elements are those of a page with a kind name."""
    found = Page(full)
    assert len(found.all("script")) == 6  # data of the page, two charts, library, words, loader
    assert len(found.all("style")) == len(found.all("title")) == 1
    assert not found.all("img")
    assert HOSTILE in found.text("title")
    assert HOSTILE in found.text("h1")
    assert HOSTILE in found.text("li")
    assert HOSTILE in found.text("caption")
    assert HOSTILE in found.text("figcaption")
    assert HOSTILE in found.text("pre")
    handlers = [n for _, attributes in found.elements for n in attributes if n.startswith("on")]
    assert handlers == []


def test_text_in_chart_data_cannot_close_its_script(full: str) -> None:
    """Chart data hold no `<` at all, and read back to the very text."""
    scripts = re.findall(r'<script type="application/json"[^>]*>(.*?)</script>', full, re.DOTALL)
    assert len(scripts) == 4  # two charts, their data, the script's words
    assert not any("<" in script for script in scripts)
    data = [row for script in scripts for row in _rows(json.loads(script))]
    assert HOSTILE in [row.get("who") for row in data]


def _rows(value: Any) -> list[dict[str, Any]]:
    lists = [rows for rows in value.values() if isinstance(rows, list)]
    return [row for rows in lists for row in rows if isinstance(row, dict)]


def test_nothing_comes_from_elsewhere(full: str) -> None:
    """No address to load from: no src, no remote href, no import, no url() but the typeface's."""
    full = without_typeface(full)
    found = Page(full)
    for tag, attributes in found.elements:
        assert "src" not in attributes, tag
        assert (attributes.get("href") or "#").startswith("#")
        assert tag not in {"link", "iframe", "object", "embed", "base", "form"}
    for word in ("http:", "https:", "//cdn", "@import", "url(", "import("):
        assert word not in full, word


def test_only_the_pages_own_scripts_may_run(full: str) -> None:
    """The policy forbids everything, then allows two scripts by the hash of their very text."""
    found = Page(full)
    (policy,) = [m["content"] for m in found.all("meta") if m.get("http-equiv")]
    assert policy is not None
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'none'"
    assert "unsafe" not in rules["script-src"]
    assert rules["img-src"] == rules["font-src"] == "data:"
    loader = re.findall(r"<script>(.*?)</script>", full, re.DOTALL)[-1]
    packed = re.search(r'id="chart-library">([^<]+)</script>', full)
    assert packed
    library = gzip.decompress(base64.b64decode(packed[1])).decode()
    hashes = [base64.b64encode(hashlib.sha256(s.encode()).digest()) for s in (loader, library)]
    assert rules["script-src"] == " ".join(f"'sha256-{h.decode()}'" for h in hashes)
    # the policy stands before anything it should hold for
    assert full.index("Content-Security-Policy") < full.index("<style") < full.index("<script")


def test_no_code_parameters_or_records_in_the_page(full: str) -> None:
    """Readers see no code, and the page says nothing of the paths and ids it was made with."""
    assert "secret" not in full
    assert "papermill" not in full


def test_same_notebook_same_bytes(full: str) -> None:
    """Two conversions, by a new exporter too, give the same text."""
    cells = (code(chart(), chart("b"), shown(html.paragraph("x"))), "## A", "## B")
    first = to_page(notebook(*cells))
    again, _ = PageExporter().from_notebook_node(notebook(*cells))
    assert to_page(notebook(*cells)) == first == again


def test_the_notebook_stays_as_it_is() -> None:
    """Converting changes nothing in the notebook handed in."""
    given = notebook(code(chart()), "## A")
    before = nbformat.writes(given)
    to_page(given)
    assert nbformat.writes(given) == before


def test_headings_contents_and_landmarks(full: str) -> None:
    """One h1, ids used once, a contents list of the h2, a main landmark, a skip link."""
    found = Page(full)
    assert len(found.all("h1")) == len(found.all("main")) == len(found.all("nav")) == 1
    ids = [attributes["id"] for _, attributes in found.elements if "id" in attributes]
    assert len(ids) == len(set(ids))
    assert [h["id"] for h in found.all("h2")] == ["loads", "loads-2"]
    links = [a["href"] for a in found.all("a")]
    assert links == ["#loads", "#loads", "#loads-2"]  # the skip link, then the contents
    assert found.all("html") == [{"lang": "en"}]
    assert full.index("<h1") < full.index("<nav") < full.index("<h2")


def test_title_is_the_heading_or_the_name_given() -> None:
    """Title: the one given, else the heading, else the notebook's; there is always one h1."""
    plain = notebook("## A")
    headed = notebook(code(shown(html.heading(1, "Anna & her block"))))
    for made, title in (
        (to_page(plain), "Review"),
        (to_page(plain, title="Given <name>"), "Given <name>"),
        (to_page(headed), "Anna & her block"),
        (to_page(headed, title="Given"), "Given"),
    ):
        found = Page(made)
        assert found.text("title") == title
        assert len(found.all("h1")) == 1
    assert Page(to_page(plain, title="Given <name>")).text("h1") == "Given <name>"


def test_two_main_headings_are_refused() -> None:
    """A page with two headings of level 1 has no plain outline; the message names both."""
    with pytest.raises(PageError, match="has 2: First; Second"):
        to_page(notebook("# First", "# Second"))


def test_figures_are_numbered_and_told_in_words(full: str) -> None:
    """Each figure has its number, title and description as real text, in the page's order."""
    captions = re.findall(r"<figcaption>(.*?)</figcaption>", full)
    words = [html.Fragment(caption) for caption in captions]
    assert repr(words[0]).startswith("Figure 1. Loads, </script>")
    assert repr(words[1]) == "Figure 2. Loads, open hand. open hand rose from 60 to 64 kg."


def test_shared_data_are_stored_once() -> None:
    """Charts of the same rows share them, inline or named; a name with other rows stays apart."""
    rows = [{"week": 1, "kg": 60.125}]
    named: dict[str, Any] = {"data": {"name": "sets"}, "datasets": {"sets": rows}}
    other: dict[str, Any] = {"data": {"name": "sets"}, "datasets": {"sets": [{"kg": 61.5}]}}
    inline: dict[str, Any] = {"data": {"values": rows}}
    layered: dict[str, Any] = {"layer": [inline, inline], "data": {"values": rows}}
    parts = [chart(**c) for c in (named, named, other, inline, layered)]
    made = to_page(notebook(code(*parts)))
    assert made.count("60.125") == 2  # once by its name, once by its content
    assert made.count("61.5") == 1


def test_a_page_without_charts_carries_no_library() -> None:
    """Words alone need neither the library nor leave to run it."""
    made = to_page(notebook("## A"))
    assert len(without_typeface(made)) < 32_000
    found = Page(made)
    assert len(found.all("script")) == 2  # the words and the script
    assert not found.all("noscript")
    assert made.count("sha256-") == 1


def test_an_empty_notebook_is_still_a_page() -> None:
    """No cells, no headings: a title, no contents list, and the skip link leads somewhere."""
    found = Page(to_page(notebook()))
    assert found.text("h1") == "Review"
    assert not found.all("nav")
    assert [a["href"] for a in found.all("a")] == ["#page"]


def test_a_failed_cell_gives_no_page() -> None:
    """A page never comes out of a notebook that broke."""
    broken = code()
    broken.outputs = [new_output("error", ename="KeyError", evalue="'kg'", traceback=[])]
    with pytest.raises(PageError, match="KeyError: 'kg'"):
        to_page(notebook(broken))


def test_warnings_and_widgets_stay_out_and_print_stays_in() -> None:
    """Printed text is shown as text; warnings with their paths, scripts and widgets are not."""
    cell = code(
        {"application/javascript": "alert(1)", "text/plain": "script"},
        {"application/vnd.jupyter.widget-view+json": {"model_id": "1"}, "text/plain": "widget"},
    )
    cell.outputs += [
        new_output("stream", name="stdout", text="3 < 4\n"),
        new_output("stream", name="stderr", text="/home/me/x.py: UserWarning\n"),
    ]
    found = Page(to_page(notebook(cell)))
    assert "3 < 4" in found.text("pre")
    assert "alert" not in str(found.texts)
    assert "UserWarning" not in str(found.texts)


def test_pictures_need_words() -> None:
    """A picture comes with its alternative text, and without one there's no page."""
    dot = base64.b64encode(b"picture").decode()
    (image,) = Page(to_page(notebook(code({"image/png": dot}, alt='A "dot"')))).all("img")
    assert image == {"src": f"data:image/png;base64,{dot}", "alt": 'A "dot"'}
    svg = {"image/svg+xml": "<svg onload='alert(1)'></svg>"}
    (image,) = Page(to_page(notebook(code(svg, alt="drawing")))).all("img")
    assert (image["src"] or "").startswith("data:image/svg+xml;base64,")
    with pytest.raises(PageError, match="picture has no words"):
        to_page(notebook(code({"image/png": dot})))


def test_cells_can_be_left_out_or_show_their_code() -> None:
    """`notebook-only` cells are for Jupyter; `show-code` puts escaped code behind a disclosure."""
    made = to_page(
        notebook(
            code(shown(html.paragraph("for Jupyter alone")), tags=["notebook-only"]),
            code(shown(html.paragraph("seen")), source="a < b", tags=["show-code"]),
        )
    )
    assert "for Jupyter alone" not in made
    assert "<code>a &lt; b</code>" in made
    assert made.index("<code>") < made.index("<p>seen</p>")


def test_language_is_said() -> None:
    """The page names the language it's written in, and the next page isn't affected."""
    assert '<html lang="de">' in to_page(notebook(), lang="de")
    assert '<html lang="en">' in to_page(notebook())


def test_a_chart_needs_words() -> None:
    """A chart without a description can't be shown at all."""
    for description in ("", "  "):
        with pytest.raises(ChartWithoutWordsError, match="'Loads, half crimp' has no description"):
            chart(description=description)
    assert chart()["text/plain"] == "Figure: Loads, half crimp. half crimp rose from 60 to 64 kg."
    assert set(chart()) == {CHART_TYPE, "text/plain"}


def test_the_style_is_small_and_its_own() -> None:
    """The style sheet stays within 16 kB and knows dark pages, print and narrow screens."""
    css = drawn._template_text("page.css")
    assert len(css) < 16_384
    assert "prefers-color-scheme: dark" in css
    assert "@media print" in css
