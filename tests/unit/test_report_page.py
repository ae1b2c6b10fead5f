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
import pandas as pd
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output

from gripbook import html, layout
from gripbook.report.page import PageError, PageExporter, to_page
from gripbook.report.page.exporter import template_text
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
    table = layout.table([{"week": 1, "note": HOSTILE}], HOSTILE)
    return to_page(
        notebook(
            code(source="athlete = 'secret'", tags=["parameters"]),
            code(source="athlete = 'secret'", tags=["injected-parameters"]),
            code(shown(html.heading(1, HOSTILE)), shown(html.paragraph(HOSTILE))),
            "## Loads\n\nText from the *notebook*, <b onclick='x'>no markup</b>.",
            code(chart(HOSTILE), shown(layout.fold("The numbers", "", table))),
            code(chart("open hand"), {"text/plain": HOSTILE}, {"text/markdown": HOSTILE}),
            "## Loads",
            code(shown(html.bullets([HOSTILE]))),
        )
    )


def test_hostile_text_adds_no_element(full: str) -> None:
    """Whatever stands in a name, the page's elements are those of a page with a kind name."""
    found = Page(full)
    assert len(found.all("script")) == 5  # two charts, library, page, loader
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


def test_a_frame_of_pandas_is_a_table_of_the_page() -> None:
    """It scrolls in a box of its own, without pandas' style and words for what isn't known."""
    frame = pd.DataFrame({"who": ["<b>Kim</b>", "Lou"], "kg": [60.5, None]}, index=[4, 5])
    page = to_page(notebook("# Review", code({"text/html": frame._repr_html_()})))
    (box,) = re.findall(r'<section class="scroll" tabindex="0">(.*?)</section>', page, re.DOTALL)
    assert box.count("<table>") == box.count("</table>") == 1
    assert "&lt;b&gt;Kim&lt;/b&gt;" in box
    assert "<td>60.5</td>" in box
    assert "<td></td>" in box
    for gone in ("dataframe", "NaN", "<style", "text-align", "<div"):
        assert gone not in box
    assert "dataframe" not in page


def test_html_that_merely_looks_like_a_frame_stays() -> None:
    """A user's own markup is left alone."""
    own = '<p>mine</p><table border="1" class="dataframe"><tr><td>NaN</td></tr></table>'
    assert own in to_page(notebook("# Review", code({"text/html": own})))


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


def test_text_in_chart_data_cannot_close_its_script(full: str) -> None:
    """Chart data hold no `<` at all, and read back to the very text."""
    scripts = re.findall(r'<script type="application/json">(.*?)</script>', full, re.DOTALL)
    assert len(scripts) == 2
    assert not any("<" in script for script in scripts)
    data = [row for script in scripts for row in json.loads(script)["data"]["values"]]
    assert HOSTILE in [row.get("who") for row in data]


def test_only_the_pages_own_scripts_may_run(full: str) -> None:
    """The policy forbids everything, then allows each script by the hash of its very text."""
    (policy,) = [m["content"] for m in Page(full).all("meta") if m.get("http-equiv")]
    assert policy is not None
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'none'"
    assert "unsafe" not in rules["script-src"]
    assert rules["img-src"] == rules["font-src"] == "data:"
    assert rules["base-uri"] == rules["form-action"] == "'none'"
    packed = re.search(r'id="chart-library">([^<]+)</script>', full)
    assert packed
    library = gzip.decompress(base64.b64decode(packed[1])).decode()
    scripts = [*re.findall(r"<script>(.*?)</script>", full, re.DOTALL), library]
    hashes = [base64.b64encode(hashlib.sha256(s.encode()).digest()).decode() for s in scripts]
    assert rules["script-src"] == " ".join(f"'sha256-{digest}'" for digest in hashes)
    # the policy stands before anything it should hold for
    assert full.index("Content-Security-Policy") < full.index("<style") < full.index("<script")


def test_headings_and_landmarks(full: str) -> None:
    """One h1, ids used once, sections named by their headings, a main landmark, a skip link."""
    found = Page(full)
    assert len(found.all("h1")) == len(found.all("main")) == 1
    ids = [attributes["id"] for _, attributes in found.elements if "id" in attributes]
    assert len(ids) == len(set(ids))
    assert [h["id"] for h in found.all("h2")] == ["loads", "loads-2"]
    # a box of a wide table is a group, no landmark
    parts = [x for x in found.all("section") if x.get("role") != "group"]
    assert [x["aria-labelledby"] for x in parts] == ["loads", "loads-2"]
    assert [a["href"] for a in found.all("a")] == ["#loads"]
    assert found.all("html") == [{"lang": "en"}]
    assert full.index("<h1") < full.index("<h2")


def test_charts_are_told_in_words(full: str) -> None:
    """The title and description of a chart stand beneath it as real text."""
    captions = re.findall(r"<figcaption>(.*?)</figcaption>", full)
    words = [repr(html.Fragment(caption)) for caption in captions]
    assert words[0].startswith("Loads, </script>")
    assert words[1] == "Loads, open hand. open hand rose from 60 to 64 kg."


def test_an_empty_notebook_is_still_a_page() -> None:
    """No cells, no headings: a title, no section, and the skip link leads somewhere."""
    found = Page(to_page(notebook()))
    assert found.text("h1") == "Review"
    assert not found.all("section")
    assert [a["href"] for a in found.all("a")] == ["#page"]


def test_the_style_is_small_and_its_own() -> None:
    """The style sheet stays within 16 kB and knows dark pages, print and narrow screens."""
    css = template_text("page.css")
    assert len(css) < 16_384
    assert "prefers-color-scheme: dark" in css
    assert "@media print" in css
    assert "max-width" in css
