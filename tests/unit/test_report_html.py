"""Text from logs is text, whatever it holds; tables can be read by eye, ear and in a terminal."""

from __future__ import annotations

from html.parser import HTMLParser

import numpy as np
import pandas as pd
import pytest

from gripbook import html, layout

HOSTILE = [
    "<script>alert(1)</script>",
    "</script><script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "' onmouseover='alert(1)",
    "<!-- <script>",
    "&lt;b&gt; & &amp;",
    "{{ 7 * 7 }}{% raw %}",
    "נועה",
    "\u202egnirts\u202c",
    "nul \x00 and bell \x07",
    "🧗🏽\u200d♀️",
]


class Reader(HTMLParser):
    """Collects the tags and the text of some markup."""

    def __init__(self, markup: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str, str | None]] = []
        self.text = ""
        self.feed(markup)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note the tag and its attributes."""
        self.tags.append(tag)
        self.attributes += [(tag, name, value) for name, value in attrs]

    def handle_data(self, data: str) -> None:
        """Note the text."""
        self.text += data


def shown(text: str) -> str:
    """The text as it must come out: with unsafe characters made visible."""
    for bad in "\x00\x07\u202e\u202c":
        text = text.replace(bad, "\ufffd")
    return text


@pytest.mark.parametrize("text", HOSTILE)
def test_text_stays_text_in_every_part(text: str) -> None:
    """No part makes markup of a text, and each shows the text whole."""
    parts = {
        "p": html.paragraph(text),
        "h2": html.heading(2, text, "fixed"),
        "li": html.bullets([text]),
        "strong": html.strong(text),
        "a": html.link(text, "#here"),
        "summary": layout.fold(text, "", html.paragraph("inside")),
        "caption": layout.table([{"a": 1}], text),
        "th": layout.table([{text: text}], "caption"),
    }
    allowed = set(parts) | {
        "ul",
        "details",
        "b",
        "bdi",
        "div",
        "section",
        "table",
        "thead",
        "tbody",
        "tr",
        "td",
    }
    for tag, part in parts.items():
        found = Reader(part.html)
        assert set(found.tags) <= allowed, (tag, found.tags)
        assert shown(text) in found.text


@pytest.mark.parametrize("text", HOSTILE)
def test_attributes_cannot_be_left(text: str) -> None:
    """A text in an attribute stays in it and adds no other."""
    found = Reader(html.heading(2, "words", text).html + layout.table([{"a": 1}], text).html)
    assert ("h2", "id", shown(text)) in found.attributes
    assert ("section", "aria-label", shown(text)) in found.attributes
    assert {name for _, name, _ in found.attributes} <= {
        "id", "class", "role", "tabindex", "aria-label", "scope"
    }  # fmt: skip


def test_a_right_to_left_name_keeps_its_direction_to_itself() -> None:
    """A name in Hebrew is set apart, so that figures beside it don't change places."""
    assert html.paragraph("נועה", ": 3 sets").html == "<p><bdi>נועה</bdi>: 3 sets</p>"


def test_fragments_are_not_escaped_again() -> None:
    """A fragment within a fragment stays markup; text beside it is escaped."""
    part = html.paragraph("a < b, ", html.strong("c & d"))
    assert part.html == "<p>a &lt; b, <strong>c &amp; d</strong></p>"
    assert part._repr_html_() == part.html


def test_a_fragment_reads_well_in_a_terminal() -> None:
    """Without HTML a table and its sentences are still words and figures."""
    frame = pd.DataFrame({"grip": ["half crimp"], "kg": [61.25]})
    both = html.paragraph("Loads & days.") + layout.table(frame, "Best loads")
    assert repr(both) == "Loads & days.\nBest loads\ngrip\tkg\nhalf crimp\t61.2"


def test_table_is_scoped_captioned_and_aligned() -> None:
    """One header row, scoped headers of columns and rows, figures right aligned."""
    frame = pd.DataFrame(
        {
            "week": [1, 2],
            "kg": [60.0, -2.25],
            "note": ["", "slip"],
            "day": pd.to_datetime(["2026-01-05", None]),
            "hurt": [True, False],
        }
    )
    markup = layout.table(
        frame,
        "Loads",
        columns={"day": "Day", "week": "Week", "kg": "Load (kg)", "note": "Note", "hurt": "Hurt"},
        row_header="week",
        formats={"note": lambda note: f"({note})"},
    ).html
    number = ' class="number"'
    assert (
        f'<thead><tr><th scope="col">Day</th><th scope="col"{number}>Week</th>'
        f'<th scope="col"{number}>Load (kg)</th><th scope="col">Note</th>'
        '<th scope="col">Hurt</th></tr></thead>'
    ) in markup
    assert (
        f'<tr><td>5\u00a0January\u00a02026</td><th scope="row"{number}>1</th>'
        f"<td{number}>60.0</td><td>–</td><td>yes</td></tr>\n"
        f'<tr><td>–</td><th scope="row"{number}>2</th><td{number}>\u22122.2</td>'
        "<td>(slip)</td><td>no</td></tr>"
    ) in markup
    assert '<section class="scroll" role="group" tabindex="0" aria-label="Loads">' in markup


@pytest.mark.parametrize("value", [None, "", float("nan"), pd.NaT, pd.NA, np.nan, float("inf")])
def test_what_was_not_recorded_is_a_dash(value: object) -> None:
    """Nothing recorded never comes out as nan, None or NaT."""
    assert layout.cell_text(value) == "–"


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (3, "3"),
        (3.0, "3"),
        (np.float64(2.46), "2.5"),
        (-0.01, "0"),
        (np.True_, "yes"),
        ("a", "a"),
    ],
)
def test_cells_are_written_the_same_way_everywhere(value: object, words: str) -> None:
    """One decimal at most, and no minus before nothing."""
    assert layout.cell_text(value) == words


def test_table_without_rows_is_a_sentence() -> None:
    """An empty table is told in words, not shown as a header without rows."""
    empty = pd.DataFrame({"a": []})
    assert (
        layout.table(empty, "c", empty="No pain was logged.").html == "<p>No pain was logged.</p>"
    )
    assert layout.table([], "c", columns={"a": "A"}).html == "<p>Nothing was recorded.</p>"
    assert html.bullets([]).html == ""


def test_unknown_columns_are_named() -> None:
    """A misspelt column says which columns there are."""
    with pytest.raises(KeyError, match="table has no column 'kilo'; it has week, kg"):
        layout.table([{"week": 1, "kg": 2.0}], "c", columns={"kilo": "Load"})


@pytest.mark.parametrize("target", ["https://example.org", "//example.org", "javascript:x", "/etc"])
def test_links_stay_in_the_folder(target: str) -> None:
    """A page links to places on itself and to pages beside it, to nothing else."""
    with pytest.raises(ValueError, match="leaves the page's folder"):
        html.link("there", target)
