"""The page's parts and how a notebook becomes a page of sections."""

from __future__ import annotations

import base64
import hashlib
import re
from typing import Any

import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output

from gripbook import html, layout
from gripbook.html import Fragment
from gripbook.layout import CalendarWeek, Lane, SquadLine
from gripbook.report.page.exporter import PageError, to_page
from tests.specimen import athlete_notebook, cell, squad_notebook
from tests.unit.test_report_page import Page, without_typeface

HOSTILE = "</section><script>alert(1)</script><h2 id='x'>&{{ 7*7 }}</h2></details>\"'"
EMPTY = Fragment("")


def page_of(*cells: Any) -> str:
    """A page of these cells."""
    return to_page(new_notebook(cells=list(cells)))


def headings(page: str) -> list[str]:
    """Headings of the sections, in order."""
    found = re.findall(r'<section aria-labelledby="([^"]*)">\n<div class="head"><h2 id="\1"', page)
    assert len(found) == page.count("<section ")
    return found


def test_a_heading_begins_a_section() -> None:
    """What follows a heading of level 2 stands in its column, from whichever cell it comes."""
    made = page_of(
        cell(layout.masthead("Ada")),
        new_markdown_cell("## Tests"),
        cell(html.paragraph("first"), html.paragraph("second")),
        cell(html.heading(2, "Next"), html.paragraph("third")),
    )
    assert headings(made) == ["tests", "next"]
    opening, first, second = made.split("<section ")
    assert 'class="masthead"' in opening
    assert "first" in first
    assert "second" in first
    assert "third" in second


@pytest.mark.parametrize(
    "outputs", [(), (EMPTY,), (EMPTY, html.bullets([])), (layout.aside("kg"),)]
)
def test_a_section_with_nothing_in_it_vanishes(outputs: tuple[Fragment, ...]) -> None:
    """Where all outputs are empty the heading goes too; the sections about it stay."""
    made = page_of(
        new_markdown_cell("## Tests"),
        cell(html.paragraph("first")),
        new_markdown_cell("## Pain and notes"),
        cell(*outputs),
        new_markdown_cell("## Next"),
        cell(html.paragraph("third")),
    )
    assert headings(made) == ["tests", "next"]
    assert "Pain and notes" not in made


def test_an_aside_stands_beneath_its_heading() -> None:
    """Words in the margin leave the column."""
    made = page_of(
        new_markdown_cell("## Tests"), cell(layout.aside("kg for 10 s"), html.paragraph("first"))
    )
    assert 'Tests</h2><p class="aside">kg for 10 s</p></div>' in made
    assert made.count("kg for 10 s") == 1


def test_the_skip_link_leads_to_the_first_section_that_stands() -> None:
    """An empty section that vanished is no place to skip to."""
    made = page_of(
        new_markdown_cell("## Pain"),
        cell(EMPTY),
        new_markdown_cell("## Tests"),
        cell(html.paragraph("first")),
    )
    assert '<a class="skip" href="#tests">' in made
    assert 'href="#page"' in page_of(cell(html.paragraph("all")))


def test_the_masthead_names_the_page() -> None:
    """A browser calls the page what the masthead says; its heading is the athlete's name alone."""
    made = page_of(cell(layout.masthead("Ada", "Attic, three weeks", name="Ada, Attic & co")))
    assert "<title>Ada, Attic &amp; co</title>" in made
    assert "<bdi>Ada</bdi></h1>" in made
    assert "<title>Notebook</title>" in page_of(cell(html.paragraph("first")))


def test_two_first_headings_are_refused() -> None:
    """A page is of one thing."""
    with pytest.raises(PageError, match="the notebook has 2: Ada; Bo"):
        page_of(cell(layout.masthead("Ada")), cell(layout.masthead("Bo")))


def test_a_failed_cell_is_no_page() -> None:
    """An error among the outputs is told, with its words."""
    failed = new_output("error", ename="ValueError", evalue="no test", traceback=[])
    with pytest.raises(PageError, match="ValueError: no test"):
        page_of(new_code_cell("", outputs=[failed]))


def test_the_same_notebook_gives_the_same_bytes() -> None:
    """Nothing random, and the notebook stays as it was."""
    notebook = athlete_notebook()
    assert to_page(notebook) == to_page(notebook) == to_page(athlete_notebook())


def test_the_library_is_only_on_pages_with_a_free_chart() -> None:
    """The specimen runs one script; a chart of a user's brings the library and its script."""
    plain = to_page(athlete_notebook())
    assert plain.count("<script") == plain.count("sha256-") == 1
    assert "chart-library" not in plain
    chart = {"mark": "bar", "data": {"values": [{"a": HOSTILE}]}, "encoding": {"x": {"field": "a"}}}
    output = new_output(
        "display_data",
        data={"application/vnd.vegalite.v6+json": {"description": HOSTILE, **chart}},
    )
    free = page_of(new_code_cell("", outputs=[output], execution_count=1))
    assert free.count("sha256-") == 3
    assert len(free) - len(plain) > 300_000
    found = Page(free)
    assert len(found.all("script")) == 4  # chart, library, page, charts
    assert "alert" not in "".join(re.findall(r"<script>(.*?)</script>", free, re.DOTALL))


def test_only_the_pages_script_may_run() -> None:
    """The policy names the script by the hash of its very text and lets fonts be data."""
    made = to_page(athlete_notebook())
    (script,) = re.findall(r"<script>(.*?)</script>", made, re.DOTALL)
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    (policy,) = [m["content"] for m in Page(made).all("meta") if m.get("http-equiv") is not None]
    assert policy is not None
    assert "default-src 'none'" in policy
    assert f"script-src 'sha256-{digest}';" in policy
    assert "font-src data:;" in policy


def test_a_page_is_light() -> None:
    """Type, style and script take 100 kB, of which a reader's words are not part."""
    made = page_of(cell(layout.masthead("Ada")))
    assert len(made) < 105_000
    assert len(without_typeface(made)) < 26_000


def test_nothing_comes_from_elsewhere() -> None:
    """No address to load from but links between the pages of a folder."""
    for notebook in (athlete_notebook(), squad_notebook()):
        made = without_typeface(to_page(notebook))
        for tag, attributes in Page(made).elements:
            assert "src" not in attributes, tag
            assert re.fullmatch(r"(#[\w-]+|\w+\.html)", attributes.get("href") or "#a")
        for word in ("http:", "https:", "@import", "url(", "import("):
            assert word not in made, word


def parts_of(words: str) -> list[Fragment]:
    """Every part of a page with these words wherever words can stand."""
    days = [layout.codes([(words, "test"), (words, "rest")])] * 7
    lane = Lane(words, words, -1, 2, 3)
    return [
        layout.masthead(words, words, name=words),
        layout.lead(layout.lead_line(words, words, wrong=True)),
        layout.aside(words),
        layout.note(words),
        html.quoted(words),
        layout.caution(words, words),
        html.accent(words),
        html.over(words, words),
        layout.fold(words, words, html.paragraph(words)),
        layout.terms([(words, words)]),
        layout.record_table(words, [words], [(words, words)]),
        layout.key([(words, "fingers", words)]),
        layout.calendar(
            words, [words] * 8, [(words, words, [CalendarWeek(words, words, days, words)])]
        ),
        layout.plan(words, [words] * 4, [(words, words, [(words, words, words, words)])]),
        layout.squad_table(
            words,
            [words] * 3,
            [[SquadLine(words, "a.html", words, words, words, [lane, Lane(words, words)])]],
            [(-10, words), (0, words)],
        ),
    ]


def test_hostile_words_are_text_in_every_part() -> None:
    """Elements and attributes are the same whatever the words are."""
    for kind, hostile in zip(parts_of("kind"), parts_of(HOSTILE), strict=True):
        one, other = Page(kind.html), Page(hostile.html)
        assert [(tag, sorted(a)) for tag, a in one.elements] == [
            (tag, sorted(a)) for tag, a in other.elements
        ]
        assert "<script>alert" not in hostile.html


@pytest.mark.parametrize(
    "part",
    [
        layout.lead(),
        layout.aside(""),
        layout.fold("Sets", "none"),
        layout.fold("Sets", "none", EMPTY),
        layout.terms([]),
        layout.record_table("Tests", ["first"], []),
        layout.calendar("Block", ["a"] * 8, [("Hangs", "", [])]),
        layout.plan("Next", ["a"] * 4, [("Hangs", "", [])]),
        layout.squad_table("Squad", ["a"] * 3, [[]], [(0, "0"), (1, "1")]),
    ],
)  # fmt: skip
def test_nothing_to_show_is_nothing(part: Fragment) -> None:
    """A part without content is empty, so that its section can vanish."""
    assert part.html == ""


def test_a_fold_says_what_is_in_it() -> None:
    """Closed, with its name, a line, and its content."""
    made = layout.fold("Every set", "18 hangs", EMPTY, html.paragraph("rows"))
    assert "<summary><b>Every set</b>: 18 hangs</summary>" in made.html
    assert "<details>" in made.html
    assert "<p>rows</p>" in made.html
    assert "</b></summary>" in layout.fold("Every set", "", html.paragraph("rows")).html


def test_tables_refuse_rows_that_do_not_fit() -> None:
    """A missing cell or day would shift all that follows."""
    with pytest.raises(ValueError, match="a row of 1 cells under 2 heads"):
        layout.record_table("Tests", ["first", "last"], [("Hang", "1")])
    with pytest.raises(ValueError, match="week 1 has 6 days"):
        layout.calendar("Block", ["a"] * 8, [("", "", [CalendarWeek("1", "", [EMPTY] * 6)])])
    with pytest.raises(ValueError, match="8 heads"):
        layout.calendar("Block", ["a"] * 7, [])


def test_lanes_share_one_scale() -> None:
    """
    The scale reaches from the lowest to the highest of ticks and ranges; no change lies between.

    By hand: from -20 to +30 in 200 units, 4 a per cent: no change at 80, +5 at 100.
    """
    row = SquadLine(
        "Ada",
        "ada.html",
        "5 of 6",
        "Nothing flagged.",
        "",
        [Lane("hangs", "−20 to +5 %", -20, -10, 5, "square"), Lane("pulls", "+1 %", 1, 2, 30)],
    )
    made = layout.squad_table("Squad", ["a", "b", "c"], [[row]], [(-10, "−10"), (0, "0")]).html
    assert '<rect class="bar" x="0.0" y="4.5" width="100.0" height="7"/>' in made
    assert '<rect x="36.4" y="4.4" width="7.2" height="7.2"/>' in made
    assert '<circle cx="88.0" cy="8" r="4"/>' in made
    assert 'style="--zero:0.4000"' in made
    assert '<span class="zero" style="left:40.0%"><b>0</b></span>' in made
    assert '<span class="tick" style="left:20.0%"><b>−10</b></span>' in made


def test_a_lane_without_a_range_says_why() -> None:
    """Words in place of figures, and no mark; a clear range is heavier."""
    row = SquadLine("Ada", "ada.html", "", "", "", [Lane("hangs", "no end test")])
    made = layout.squad_table("Squad", ["a", "b", "c"], [[row]], [(-10, "−10"), (10, "10")]).html
    assert "<i>no end test</i>" in made
    assert "<circle" not in made
    clear = Lane("hangs", "+1 to +9 %", 1, 5, 9, clear=True)
    row = SquadLine("Ada", "ada.html", "", "", "", [clear])
    made = layout.squad_table("Squad", ["a", "b", "c"], [[row]], [(-10, "−10"), (10, "10")]).html
    assert "<b>+1 to +9 %</b>" in made
