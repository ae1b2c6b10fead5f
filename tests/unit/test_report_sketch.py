"""Still pictures: where things stand, what is left out, and that the library draws the same."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from nbformat.v4 import new_code_cell, new_notebook, new_output

from gripbook import charts
from gripbook.logs import load_logs
from gripbook.report.page import to_page
from gripbook.report.render import chart_bundle
from gripbook.report.sketch import SketchError, sketch
from gripbook.reviews import review

DEMO = ["arvo", "brin", "celm", "dova", "eske", "fenn", "galo", "hesk"]
SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = "</svg><script>alert('1')</script>\"&"
ROWS = [{"a": a, "b": b, "who": "left" if a % 2 else "right"} for a, b in ((0, 0), (5, 2), (10, 4))]


def named(field: str, kind: str = "quantitative", **more: Any) -> dict[str, Any]:
    """A channel of a field."""
    return {"field": field, "type": kind, **more}


def chart(mark: Any = "point", rows: Any = ROWS, **more: Any) -> dict[str, Any]:
    """A chart of `b` over `a`, of the height whose picture is 100 high."""
    encoding = {"x": named("a"), "y": named("b"), **more.pop("encoding", {})}
    return {
        "title": "Loads",
        "height": 100 / 0.68,
        "data": {"values": rows},
        "mark": mark,
        "encoding": encoding,
        **more,
    }


def drawn(spec: dict[str, Any], **datasets: Any) -> ElementTree.Element:
    """The picture of a chart, read as XML."""
    return ElementTree.fromstring(
        sketch(spec, datasets).replace("<svg ", f'<svg xmlns="{SVG[1:-1]}" ', 1)
    )


def words(picture: ElementTree.Element) -> list[str]:
    """All texts of a picture in its order."""
    return [str(text.text) for text in picture.iter(f"{SVG}text")]


def starts(path: ElementTree.Element) -> list[tuple[float, float]]:
    """Where the pieces of a path begin."""
    found = re.findall(r"M(-?[\d.]+) ?(-?[\d.]+)", path.attrib["d"])
    return [(float(x), float(y)) for x, y in found]


def marks(picture: ElementTree.Element) -> list[ElementTree.Element]:
    """The paths that show rows: all but grid and axes."""
    return [p for p in picture.iter(f"{SVG}path") if p.attrib.get("stroke") != "currentColor"]


def demo_charts(folder: Path, athlete: str) -> Iterator[dict[str, Any]]:
    """Every chart of an athlete's page."""
    found = review(load_logs(folder), athlete)
    for name in charts.__all__:
        if name in ("load_by_day", "across_blocks"):  # within `loads`; needs two blocks
            continue
        made = getattr(charts, name)(found)
        for one in made if isinstance(made, tuple) else (made,):
            if one is not None:
                yield one.to_dict()


@pytest.mark.parametrize("athlete", DEMO)
def test_every_chart_of_the_demo_squad_is_drawn(demo_logs_folder: Path, athlete: str) -> None:
    """Each chart has a small picture with its axes' titles, no ids, nothing outside its frame."""
    found = list(demo_charts(demo_logs_folder, athlete))
    assert len(found) >= 5
    for spec in found:
        text = sketch(spec, {})
        assert len(text.encode()) < 12_000
        assert " id=" not in text
        picture = drawn(spec)
        assert picture.attrib["role"] == "img"
        assert picture.attrib["aria-label"] == spec["title"]
        _, _, width, height = map(float, picture.attrib["viewBox"].split())
        for place in picture.iter(f"{SVG}text"):
            assert 0 <= float(place.attrib["x"]) <= width
            assert 8 <= float(place.attrib["y"]) <= height
        for path in picture.iter(f"{SVG}path"):
            for x, y in starts(path):
                assert -1 <= x <= width
                assert 0 <= y <= height
        layers = spec.get("layer", [spec])
        for layer in layers:
            for channel in ("x", "y"):
                title = layer["encoding"].get(channel, {}).get("title")
                assert title is None or title in words(picture)
        assert sketch(spec, {}) == text


def test_a_picture_costs_little(demo_logs_folder: Path) -> None:
    """A picture takes 3 ms of CPU at most on average; the library's own would take a hundred."""
    found = list(demo_charts(demo_logs_folder, "arvo"))
    begun = time.process_time()
    for spec in found:
        sketch(spec, {})
    assert (time.process_time() - begun) / len(found) < 0.003


def test_points_stand_where_their_numbers_say() -> None:
    """On axes of 0 to 10 and 0 to 4 the middle row is in the middle, the others at the corners."""
    (dots,) = marks(drawn(chart({"type": "point", "filled": True, "opacity": 1})))
    (x0, y0), (x1, y1), (x2, y2) = starts(dots)
    assert x1 - x0 == pytest.approx(x2 - x1, abs=0.11)
    assert y0 - y1 == pytest.approx(50, abs=0.11)
    assert y0 - y2 == pytest.approx(100, abs=0.11)
    assert x2 == 370  # ten from the right edge


def test_days_stand_where_the_calendar_says() -> None:
    """A day a quarter into the domain stands a quarter along; months are marked at their firsts."""
    rows = [{"day": day, "b": 1} for day in ("2026-01-01", "2026-01-31", "2026-05-01")]
    x = named("day", "temporal", title=None, axis={"format": "%b %Y", "tickCount": "month"})
    picture = drawn(chart({"type": "point", "filled": True}, rows, encoding={"x": x}))
    (dots,) = marks(picture)
    (first, _), (second, _), (last, _) = starts(dots)
    assert (second - first) / (last - first) == pytest.approx(30 / 120, abs=0.001)
    assert next(w for w in words(picture) if "2026" in w) == "Jan 2026"


@pytest.mark.parametrize(
    ("test", "left"),
    [
        ("datum.who === 'left'", 1),
        ("datum.who !== 'left'", 2),
        ("!(datum.who === 'left' || datum.a === 0)", 1),
        ("datum.a > 0 && datum['b'] <= 4", 2),
        ("isValid(datum.none)", 0),
        ({"param": "pick"}, 3),
        ({"param": "pick", "empty": False}, 0),
    ],
)
def test_filters_leave_the_rows_they_name(test: Any, left: int) -> None:
    """A condition is obeyed; one on what a reader picks takes it that nothing is picked."""
    spec = chart({"type": "point", "filled": True}, transform=[{"filter": test}])
    assert sum(len(starts(p)) for p in marks(drawn(spec))) == left


def test_a_line_breaks_where_nothing_is_known() -> None:
    """A row without a value parts the line; it is never drawn as zero."""
    rows = [{"a": a, "b": b} for a, b in enumerate([1, 2, None, 2, 1])]
    (line,) = marks(drawn(chart("line", rows)))
    assert len(starts(line)) == 2


def test_blocks_are_bands_of_their_own() -> None:
    """Rows told apart by a detail are an area each, between their low and their high."""
    rows = [{"a": a, "low": 1, "high": 3, "who": who} for who in "xy" for a in (0, 4)]
    encoding = {"y": named("low"), "y2": {"field": "high"}, "detail": named("who", "nominal")}
    (band,) = marks(drawn(chart({"type": "area", "opacity": 0.2}, rows, encoding=encoding)))
    assert len(starts(band)) == band.attrib["d"].count("z") == 2


def test_long_lines_are_thinned() -> None:
    """A thousand rows on one straight line need two points, and a corner stays."""
    rows = [{"a": a, "b": abs(a - 500)} for a in range(1001)]
    (line,) = marks(drawn(chart("line", rows)))
    assert len(re.findall(r"-?\d*\.?\d+", line.attrib["d"])) == 6


def test_axes_take_the_colour_of_the_text() -> None:
    """What has the axes' colours in the chart suits dark pages; other colours stay as they are."""
    look = {"axis": {"labelColor": "#5d6470"}, "legend": {"labelColor": "#22262e"}}
    for colour, shown in (("#5d6470", "currentColor"), ("#0072b2", "#0072b2")):
        picture = drawn(chart({"type": "bar", "color": colour}, encoding=WEEKS, config=look))
        bars = [p for p in picture.iter(f"{SVG}path") if p.attrib["fill"] != "none"]
        assert [p.attrib["fill"] for p in bars] == [shown]


WEEKS = {"x": named("a", "ordinal", title="week", scale={"domain": [0, 5, 10]})}


def test_legend_tells_series_apart() -> None:
    """Each series of the scale is named beside a sample with its own colour and dashes."""
    scale = {"domain": ["left", "right"], "range": ["#111111", "#222222"]}
    dash = {"domain": ["left", "right"], "range": [[1, 0], [6, 4]]}
    encoding = {
        "color": named("who", "nominal", title=None, scale=scale),
        "strokeDash": named("who", "nominal", title=None, scale=dash),
    }
    rows = [{"a": a, "b": b, "who": w} for w in ("left", "right") for a, b in ((0, 1), (9, 3))]
    picture = drawn(chart("line", rows, encoding=encoding))
    assert words(picture)[:2] == ["left", "right"]
    dashes = [(p.attrib["stroke"], "stroke-dasharray" in p.attrib) for p in marks(picture)]
    assert dashes == [("#111111", False), ("#222222", True)] * 2


def test_foreign_text_stays_text() -> None:
    """Titles, labels, series and colours out of a log can't become markup."""
    rows = [{"a": HOSTILE, "b": 1, "who": HOSTILE}, {"a": "x", "b": 2, "who": "x"}]
    encoding = {
        "x": named("a", "nominal", title=HOSTILE),
        "y": named("b", title=HOSTILE),
        "text": {"field": "who", "type": "nominal"},
    }
    spec = chart({"type": "text", "color": HOSTILE}, rows, encoding=encoding)
    text = sketch({**spec, "title": HOSTILE}, {})
    assert "<script" not in text
    assert drawn({**spec, "title": HOSTILE}).attrib["aria-label"] == HOSTILE
    assert words(drawn(spec)).count(HOSTILE) == 4


@pytest.mark.parametrize(
    ("change", "named_in_it"),
    [
        ({"mark": "arc"}, "mark 'arc'"),
        ({"encoding": {"theta": named("a")}}, "channel 'theta'"),
        ({"encoding": {"y": {"aggregate": "count"}}}, "aggregate"),
        ({"transform": [{"calculate": "1", "as": "c"}]}, "transform"),
        ({"transform": [{"filter": "datum.a > slider"}]}, "expression"),
        ({"encoding": {"x": named("a", scale={"type": "log"})}}, "scale 'log'"),
        ({"encoding": {"color": named("b")}}, "without domain and range"),
        ({"mark": {"type": "point", "shape": "M0,0"}}, "shape"),
        ({"hconcat": []}, "hconcat"),
        ({"mark": {"type": "line", "interpolate": "step"}}, "interpolate"),
        ({"mark": "bar", "encoding": {"color": named("who", "nominal")}}, "stack"),
        ({"encoding": {"x": named("a", scale={"reverse": True})}}, "reverse"),
        ({"encoding": {"x": named("who", "nominal", sort="descending")}}, "order 'descending'"),
        ({"mark": {}}, "KeyError"),
    ],
)
def test_what_is_unknown_is_refused(change: dict[str, Any], named_in_it: str) -> None:
    """What isn't known is told by its name, whatever it is; no wrong picture comes of it."""
    mark = change.pop("mark", "point")
    with pytest.raises(SketchError, match=re.escape(named_in_it)):
        sketch(chart(mark, **change), {})


def test_a_page_is_made_with_and_without_pictures() -> None:
    """A known chart's picture stands in its figure; an unknown one is told to need a script."""
    outputs = [
        new_output("display_data", data=chart_bundle({**chart(mark), "description": "Rising."}))
        for mark in ("point", "arc")
    ]
    cell = new_code_cell("", outputs=outputs, execution_count=1, id="cell")
    known, unknown = re.findall(
        r'<figure class="chart".*?</figure>', to_page(new_notebook(cells=[cell])), re.DOTALL
    )
    assert 'aria-label="Loads"' in known
    assert "undrawn" not in known
    assert "<svg" not in unknown
    assert "drawn by a script" in unknown


# Source: the chart library itself, through vl_convert, which draws the same specification. It runs
# on its own, as its engine suits no process that forks.
_LIBRARY = """
import json, sys, vl_convert
specs = json.load(sys.stdin)
json.dump([vl_convert.vegalite_to_svg(spec) for spec in specs], sys.stdout)
"""


def library_places(svg: str, axis: str) -> dict[str, float]:
    """Label -> place along an axis of the library's picture, from the start of the axis."""
    part = re.search(rf'aria-label="{axis}-axis.*?(?=aria-label=|$)', svg, re.DOTALL)
    assert part
    ticks = re.search(r'role-axis-tick"[^>]*>(.*?)</g>', part[0], re.DOTALL)
    labels = re.search(r'role-axis-label"[^>]*>(.*?)</g>', part[0], re.DOTALL)
    assert ticks
    assert labels
    at = re.findall(r"translate\((-?[\d.]+),(-?[\d.]+)\)", ticks[1])
    texts = re.findall(r">([^<]*)</text>", labels[1])
    assert len(at) == len(texts)
    return {w: float(x if axis == "X" else y) for w, (x, y) in zip(texts, at, strict=True)}


def frame_of(picture: ElementTree.Element) -> tuple[float, float, float]:
    """Left, bottom and right of the axes."""
    axes = next(p for p in picture.iter(f"{SVG}path") if "v4" in p.attrib["d"]).attrib["d"]
    left, bottom, right = re.findall(r"^M([\d.]+) ([\d.]+)H([\d.]+)", axes)[0]
    return float(left), float(bottom), float(right)


@pytest.fixture(scope="module")
def both(demo_logs_folder: Path) -> list[tuple[dict[str, Any], str]]:
    """A chart of lines, one of bars and one whose ends are rounded, with the library's pictures."""
    found = review(load_logs(demo_logs_folder), "celm")
    wanted = [charts.strength_path(found)[0], charts.finger_work(found)[0]]
    wanted.append(charts.strength_to_weight(found)[0])
    specs = [{**c.to_dict(), "width": 560} for c in wanted]
    run = subprocess.run(
        [sys.executable, "-c", _LIBRARY],
        input=json.dumps(specs),
        capture_output=True,
        check=True,
        text=True,
    )
    return list(zip(specs, json.loads(run.stdout), strict=True))


def test_axes_agree_with_the_library(both: list[tuple[dict[str, Any], str]]) -> None:
    """Ticks of both axes stand within 2 px of where the library puts them."""
    for spec, svg in both:
        picture = drawn(spec)
        left, bottom, right = frame_of(picture)
        height = spec["height"]
        across, up = library_places(svg, "X"), library_places(svg, "Y")
        checked = 0
        for text in picture.iter(f"{SVG}text"):
            x, y, label = float(text.attrib["x"]), float(text.attrib["y"]), str(text.text)
            if y > bottom + 5 and label in across:
                assert (x - left) / (right - left) * 560 == pytest.approx(across[label], abs=2)
            elif x < left and label in up:  # the letters' foot is 4 below their middle
                assert height + (y - 4 - bottom) / 0.68 == pytest.approx(up[label], abs=2)
            else:
                continue
            checked += 1
        assert checked >= 7


def test_bars_agree_with_the_library(both: list[tuple[dict[str, Any], str]]) -> None:
    """Left edge, width and top of each bar stand within 2 px of the library's."""
    spec, svg = both[1]
    theirs = re.findall(r'aria-roledescription="bar" d="M([\d.]+),([\d.]+)h([\d.]+)v', svg)
    picture = drawn(spec)
    (path,) = [p for p in picture.iter(f"{SVG}path") if p.attrib["fill"] != "none"]
    ours = re.findall(r"M([\d.]+) ([\d.]+)v(-[\d.]+)h([\d.]+)", path.attrib["d"])
    left, bottom, right = frame_of(picture)
    assert len(theirs) == len(ours) >= 5
    scale = 560 / (right - left)
    for their, our in zip(theirs, ours, strict=True):
        (x, y, w), (own_x, low, up, own_w) = map(float, their), map(float, our)
        assert (own_x - left) * scale == pytest.approx(x, abs=2)
        assert own_w * scale == pytest.approx(w, abs=2)
        assert spec["height"] + (low + up - bottom) / 0.68 == pytest.approx(y, abs=2)
