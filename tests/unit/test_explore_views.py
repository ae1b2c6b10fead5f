"""The views of the exploring notebook: what they hold, what they hide, what they refuse."""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import nbformat
import pytest
import vl_convert

from gripbook.charts import draw_change
from gripbook.errors import GripbookError
from gripbook.explore import (
    Explorer,
    distance,
    explorer_of,
    log_row,
    look,
    notes,
    periods,
    save_page,
    timeline,
    what_if,
)
from gripbook.explore.opening import choose, not_used
from gripbook.explore.rows import set_in_words
from gripbook.explore.time_view import set_rows
from gripbook.logs import load_logs
from gripbook.report.lab import LAB_TYPE, lab_bundle, lab_spec
from gripbook.report.notebook_view import flat
from gripbook.report.page import to_page
from gripbook.report.render import CHART_TYPE, ChartWithoutWordsError
from gripbook.reviews.shown import REVEALING
from gripbook.words import fmt
from tests.explorers import demo, small

pytestmark = pytest.mark.whole


def drawn(x: Explorer) -> Iterator[dict[str, Any]]:
    """Every chart of an athlete as a specification."""
    for view in flat([timeline(x), periods(x)[0], what_if(x), distance(x)]):
        if hasattr(view, "to_dict"):
            yield view.to_dict()


@pytest.mark.parametrize("name", ["arvo", "dova", "galo", "hesk"])  # full, hidden, pounds, short
def test_charts_are_taken_by_the_older_library(name: str) -> None:
    """Each view compiles as JupyterLab's library is given it."""
    x = demo(name)
    told = [*drawn(x)]
    assert len(told) >= 2
    for spec in told:
        assert spec["description"]
        # the oldest there is here; JupyterLab 4.6 has 5.6, which the browser test meets
        vl_convert.vegalite_to_vega(lab_spec(spec), vl_version="5.8")
        vl_convert.vegalite_to_vega(spec, vl_version="6.4")


def test_output_holds_both_types() -> None:
    """JupyterLab's type is drawn there, ours on a page; the original stays as it was."""
    spec = timeline(demo("arvo")).to_dict()
    before = json.dumps(spec)
    data, metadata = lab_bundle(spec)
    assert data[LAB_TYPE]["$schema"].endswith("/v5.json")
    assert data[CHART_TYPE] == spec
    assert json.dumps(spec) == before
    assert metadata[LAB_TYPE]["embed_options"]["actions"] is False


def test_a_chart_of_one_s_own_needs_no_words_here() -> None:
    """JupyterLab draws it; a page, for readers who see none, refuses it by name."""
    data, _ = lab_bundle({"title": "Mine", "mark": "point"})
    assert data[LAB_TYPE]["mark"] == "point"
    assert data[CHART_TYPE] == {"title": "Mine", "mark": "point"}
    output = nbformat.v4.new_output("display_data", data=data)
    cell = nbformat.v4.new_code_cell("chart", outputs=[output])
    with pytest.raises(ChartWithoutWordsError, match="'Mine' has no description"):
        to_page(nbformat.v4.new_notebook(cells=[cell]))


def cells(spec: dict[str, Any]) -> Iterator[tuple[str, Any]]:
    """Names and values of all rows that a specification carries."""
    assert '"values"' not in json.dumps({**spec, "datasets": {}}).replace('"values": [', "")
    for rows in spec["datasets"].values():
        for row in json.loads(rows):
            yield from row.items()


def test_all_parts_answer_to_one_brush() -> None:
    """The chosen time is one selection on strength, sets, load, body mass and notes."""
    spec = timeline(demo("arvo")).to_dict()
    (time,) = [p for p in spec["params"] if p["name"] == "time"]
    assert time["views"] == ["strength", "sets", "load", "body_mass", "notes"]
    text = json.dumps(spec)
    for view in time["views"]:
        assert text.count(f'"name": "{view}"') == 1


def test_hidden_body_mass_stays_hidden(small_logs: Path) -> None:
    """No view holds body mass, a load that gives it away, or a note with a figure in it."""
    with (small_logs / "body.csv").open("a") as file:
        file.write("cy,2026-01-06,71.375\ncy,2026-01-20,71.375\n")
    with (small_logs / "hangs.csv").open("a") as file:
        file.write(
            "cy,2026-01-13,1,hang,,,half_crimp,both,20,2.5,,8,,,,,,,weighed 71.4 with shoes\n"
            "cy,2026-01-13,1,hang,,,half_crimp,both,20,2.5,,8,,,,,,,windy day\n"
            "cy,2026-01-20,1,pull,,,half_crimp,left,20,0,31.125,,,,,,,,\n"
        )
    x = explorer_of(load_logs(small_logs), "cy")
    specs = [*drawn(x)]
    text = json.dumps(specs) + str(notes(x)) + str(periods(x)[1]) + str(log_row(x, "hangs.csv", 18))
    assert "windy day" in text
    for secret in ("71.375", "71.4", "73.875", "31.125", "40.25", "body_mass", "scale_kg"):
        assert secret not in text
    names = {name for spec in specs for name, _ in cells(spec)}
    assert names
    assert not names & {*REVEALING, "mass", "impulse"}
    with pytest.raises(KeyError):
        x.review.sets["body_mass_kg"]
    assert x.body.empty


def test_shown_body_mass_is_in_the_view() -> None:
    """The same log with body mass shown holds it: the test above can fail."""
    text = json.dumps(timeline(small("ada")).to_dict())
    assert "61.6" in text
    assert "body_mass" in text


def test_notes_and_pain_are_marks() -> None:
    """Each note and pain entry of the block is a mark with its words and its row."""
    x = demo("celm")
    assert set(x.marks["kind"]) == {"pain", "note"}
    assert len(x.marks[x.marks["kind"] == "pain"]) == len(x.review.pain.felt)
    spec = timeline(x).to_dict()
    words = [value for name, value in cells(spec) if name == "words"]
    for mark in x.marks.itertuples():
        assert mark.words in words


def test_row_is_the_row_of_the_log() -> None:
    """A row shows what stands in the file under its own column names, text escaped."""
    x = small("ada")
    table = log_row(x, "hangs.csv", 2)._repr_html_()
    assert "&lt;b&gt;first&lt;/b&gt; day" in table
    for cell in ("half_crimp", "added_kg", "reserve_s"):
        assert cell in table
    with pytest.raises(GripbookError, match=r"lines 2 to 11"):
        log_row(x, "hangs.csv", 99)
    with pytest.raises(GripbookError, match=r"hangs\.csv"):
        log_row(x, "other.csv", 2)


def test_two_periods_count_their_own_sets() -> None:
    """Sets, days and the highest finished load of each period, counted by hand."""
    x = small("ada")
    chart, table = periods(
        x, ("2026-01-05", "2026-01-07"), ("2026-01-08", "2026-01-22"), capacity="hang",
        grip="half crimp",
    )  # fmt: skip
    spec = chart.to_dict()
    assert len(spec["vconcat"][1]["hconcat"]) == 2
    first, second = (line.split("\t") for line in str(table).splitlines()[-2:])
    # two sets of 61.0 + 5 kg; then three of 7.5 kg added and one of 12.5 on 61.6 kg
    assert first[1:3] == ["2", "1"]
    assert first[4].startswith("66")
    assert second[1:3] == ["4", "2"]
    assert second[4].startswith("74.1")
    # series and days can be chosen without code, and stand as they were asked for
    chosen = {p["name"]: p["value"] for p in spec["params"]}
    assert chosen == {
        "series": "hang/half_crimp/both",
        "first_from": "2026-01-05",
        "first_to": "2026-01-07",
        "second_from": "2026-01-08",
        "second_to": "2026-01-22",
    }
    (series,) = [p for p in spec["params"] if p["name"] == "series"]
    assert series["bind"]["options"] == ["/".join(s) for s in x.series()]


@pytest.mark.parametrize(
    ("period", "words"),
    [
        (("2026-01-09", "2026-01-05"), "before it begins"),
        (("5.1.2026", "2026-01-09"), "year-month-day"),
        (("2025-01-05", "2025-01-09"), "outside the block"),
        ("2026-01-05", "two days"),
    ],
)
def test_wrong_periods_are_told(period: Any, words: str) -> None:
    """A period that is none says what to write."""
    x = small("ada")
    with pytest.raises(GripbookError, match=words):
        timeline(x, period=period)


def test_a_grip_that_is_not_there_is_told() -> None:
    """An unknown grip names those of the block."""
    x = small("ada")
    with pytest.raises(GripbookError, match='grip="open_four"'):
        timeline(x, grip="half-krimp")


def test_a_page_is_saved_and_foreign_files_are_not_lost(tmp_path: Path) -> None:
    """A saved view may be saved again; any other file stays as it is."""
    x = small("ada")
    view = periods(x)
    path = save_page(view, path=tmp_path / "view.html", title="Ada <b>")
    first = path.read_text()
    assert "<h1" in first
    assert "Ada &lt;b&gt;" in first
    assert "http://" not in first.replace("http://www.w3.org", "")
    assert save_page(view, path=path, title="Ada <b>").read_text() == first
    other = tmp_path / "mine.html"
    other.write_text("mine")
    with pytest.raises(GripbookError, match="is there already"):
        save_page(view, path=other)
    assert other.read_text() == "mine"
    with pytest.raises(GripbookError, match=r"ends in \.html"):
        save_page(view, path=tmp_path / "view.csv")
    with pytest.raises(GripbookError, match="no view"):
        save_page(path=path)
    with pytest.raises(GripbookError, match="int can't stand on a page"):
        save_page(3, path=path)


def test_an_empty_block_says_so(small_logs: Path) -> None:
    """
    An athlete without sets in the block asked for is told to look at the check; without a name
    the whole log is explored.
    """
    text = (small_logs / "block.toml").read_text().replace("2026-01-05", "2027-01-04")
    (small_logs / "block.toml").write_text(text)
    logs = load_logs(small_logs)
    assert explorer_of(logs, "ada").series()
    x = explorer_of(logs, "ada", logs.blocks[0].name)
    assert not x.series()
    with pytest.raises(GripbookError, match="nothing to explore"):
        timeline(x)


# --- bounds -----------------------------------------------------------------------------------


def texts(spec: Any) -> Iterator[str]:
    """Every text in a specification, in packed rows too."""
    if isinstance(spec, dict):
        for name, value in spec.items():
            yield name
            yield from texts(value)
    elif isinstance(spec, list):
        for value in spec:
            yield from texts(value)
    elif isinstance(spec, str):
        if spec.startswith("[{"):
            yield from texts(json.loads(spec))
        else:
            yield spec


def rows_with(spec: dict[str, Any], *names: str) -> list[dict[str, Any]]:
    """Rows of all data sets that hold these columns."""
    data = [row for rows in spec["datasets"].values() for row in json.loads(rows)]
    return [row for row in data if all(name in row for name in names)]


@pytest.mark.parametrize("name", ["hesk", "dova", "celm", "galo"])
def test_a_bound_is_drawn_and_named_as_one(name: str) -> None:
    """
    A series that no set tells the limit of has no line: its sets say "at least", each where the
    model sets it, and the key says that the limit was never reached.
    """
    x = demo(name)
    spec = timeline(x).to_dict()
    bounds = [s for s in x.review.change.series if s.path_kind == "at_least"]
    assert bounds
    drawn_lines = {(r["capacity"], r["grip"], r["hand"]) for r in rows_with(spec, "low_kg")}
    says = rows_with(spec, "says")
    key = [r for r in rows_with(spec, "dash", "words") if set(r) >= {"words"} and "day" not in r]
    for s in bounds:
        of = (s.capacity, s.grip, s.hand)
        assert of not in drawn_lines
        found = [r for r in says if (r["capacity"], r["grip"], r["hand"]) == of]
        with fmt.in_mass_unit(x.athlete.units):  # galo's are pounds
            assert [r["kg"] for r in found] == [look.own_mass(kg) for kg in s.points["kg"]]
        assert {r["says"] for r in found} <= {"at least"}
        (named,) = [r for r in key if (r["capacity"], r["grip"], r["hand"]) == of]
        assert "limit never reached" in named["words"]
    measured = [s for s in x.review.change.series if s.path_kind == "estimate" and len(s.path)]
    assert {(s.capacity, s.grip, s.hand) for s in measured} == drawn_lines


def test_the_bound_of_hesk_is_not_below_what_was_finished() -> None:
    """Hesk finished 77.55 kg: no mark stands at the model's floor of 60.4 kg."""
    x = demo("hesk")
    rows = rows_with(timeline(x).to_dict(), "says")
    half = [r["kg"] for r in rows if (r["capacity"], r["grip"]) == ("hang", "half_crimp")]
    assert half
    assert min(half) >= 77.55
    sides = periods(x, capacity="hang")[0].to_dict()
    lines = {r["name"] for r in rows_with(sides, "low", "high")}
    assert lines
    assert "hang/half_crimp/both" not in lines


def test_nothing_of_a_bound_is_called_strength() -> None:
    """Dova never met a limit: nothing of hers is called strength in any view."""
    x = demo("dova")
    assert {s.path_kind for s in x.review.change.series} == {"at_least"}
    told = [*texts(timeline(x).to_dict()), *texts(periods(x)[0].to_dict()), str(what_if(x))]
    words = [text for text in told if " " in text]
    assert words
    assert not [text for text in words if "strength" in text.casefold()]
    assert not [text for text in words if "to the start" in text]
    # the same search finds it where strength is drawn
    assert "strength (kg)" in list(texts(timeline(demo("arvo")).to_dict()))


def test_marks_are_filled_where_the_limit_is_known() -> None:
    """One code: failed sets and pulls are filled, finished and stopped ones hollow."""
    for name in ("arvo", "hesk"):
        rows = rows_with(timeline(demo(name)).to_dict(), "ended", "fill")
        assert {r["ended"] for r in rows} >= {"finished", "pull"}
        for row in rows:
            assert (row["fill"] != "transparent") == (row["ended"] in ("failed", "pull")), row


def test_the_day_s_load_counts_what_is_chosen() -> None:
    """The bars are sums over the chosen measure, grip and hand, and say their unit."""
    spec = timeline(demo("arvo")).to_dict()
    (bars,) = [v for v in spec["vconcat"] if v.get("name") == "load"]
    assert "datum.capacity === measure" in bars["transform"][0]["filter"]
    assert {"calculate": "datum[dose]", "as": "part"} in bars["transform"]
    assert any("minutes under load" in text for text in texts(spec) if "Each day" in text)


def test_hands_of_one_grip_have_lines_of_their_own() -> None:
    """Left, right and both differ in their line where they share the colour."""
    looks = [look.series_look("half_crimp", hand) for hand in ("both", "left", "right")]
    assert len({str(one["dash"]) for one in looks}) == 3
    assert len({one["colour"] for one in looks}) == 1


@pytest.mark.parametrize(
    ("asked", "series"),
    [
        ({"grip": "half crimp", "capacity": "timed hangs"}, ("hang", "half_crimp", "both")),
        ({"grip": "Half-Crimp", "hand": "left hand"}, ("pull", "half_crimp", "left")),
        ({"capacity": "repeaters", "grip": "open hand, three fingers"},
         ("repeater", "open_three", "both")),
        ({"capacity": "all-out pulls", "hand": "right"}, ("pull", "half_crimp", "right")),
    ],
)  # fmt: skip
def test_words_of_the_menus_are_arguments(
    asked: dict[str, str], series: tuple[str, str, str]
) -> None:
    """What a menu calls a measure, grip or hand may be written as an argument."""
    assert choose(demo("arvo"), **asked) == series


def test_the_start_of_a_grip_s_words_is_enough_where_it_means_one() -> None:
    """Open hand means the one open hand in the block; of two it means none, and both are told."""
    x = demo("arvo")
    assert choose(x, grip="open hand") == ("repeater", "open_three", "both")
    assert choose(x, "hang", "Open hand") == ("hang", "open_three", "both")
    with pytest.raises(GripbookError, match='grip="open_three"'):
        choose(x, grip="open")
    sets = x.review.sets.copy()
    sets.loc[(sets["grip"] == "open_three") & (sets["exercise"] == "hang"), "grip"] = "open_four"
    of_two = dataclasses.replace(x, review=dataclasses.replace(x.review, sets=sets))
    with pytest.raises(GripbookError, match=r'"open_three"(.|\n)*"open_four"'):
        choose(of_two, grip="open hand")


def test_what_could_not_be_used_is_said_on_top(small_logs: Path) -> None:
    """Rows refused and block files with errors, with what to do; nothing where all is used."""
    assert not_used(load_logs(small_logs)) == ""
    file = small_logs / "hangs.csv"
    file.write_text(re.sub(",hang,", ",hung up,", file.read_text(), count=1))
    told = " One row was refused: gripbook check says what to do."
    assert not_used(load_logs(small_logs)) == told
    block = small_logs / "block.toml"
    block.write_text(block.read_text().replace("weeks = ", "weeks = -", 1))
    told = " One row was refused and block.toml has errors: gripbook check says what to do."
    assert not_used(load_logs(small_logs)) == told


def test_the_list_of_series_can_be_copied_as_arguments() -> None:
    """Each line of `x` is a call's arguments that choose that series."""
    x = demo("arvo")
    lines = repr(x).splitlines()[1:]
    assert [choose(x, **eval(f"dict({line.strip()})")) for line in lines] == x.series()


def test_a_clicked_row_is_told_in_plain_words() -> None:
    """A set's row is a sentence of words that a page uses, with no column's name."""
    x = demo("arvo")
    row = set_rows(x.review).query("exercise == 'hang'").iloc[0]
    first, second, *_ = set_in_words(x, row)
    assert first.endswith(f"({row['file']}, line {row['line']})")
    assert second.replace("\u00a0", " ").startswith("Timed hangs, half crimp, both hands, 20 mm: ")
    assert " \u00d7 " in second.replace("\u00a0", " ")
    assert "_" not in second


def test_a_picture_of_the_page_is_saved_too(tmp_path: Path) -> None:
    """What `gripbook.charts` draws can be saved as the views can, titled by its name."""
    picture = draw_change(demo("arvo").review.change)
    assert picture is not None
    text = save_page(picture, path=tmp_path / "view.html").read_text(encoding="utf-8")
    assert f"<title>{picture.name}" in text
    assert text.count('<figure class="picture"') == 1
