"""Pictures: every mark and word where Vega puts it, and nothing drawn that isn't known."""

from __future__ import annotations

import copy
import datetime as dt
import json
import re
from typing import Any
from xml.etree import ElementTree

import pytest

from gripbook.charts import look
from gripbook.report.pictures import PictureError, draw, figure
from tests.vega_marks import places, vega_svg

DAY = dt.date(2026, 1, 5)
HOSTILE = "</svg><script>alert('1')</script>\"&"


def paint(width: float) -> look.Sheet:
    """A sheet with every kind of mark and words."""
    sheet = look.Sheet(width, 250)
    x = look.days(DAY, dt.date(2026, 3, 8), 28, 226)
    y = look.Scale(90, 120, 226, 58)
    day = [look.iso(DAY + dt.timedelta(days=7 * i)) for i in range(5)]
    sheet.head("Timed hang, 10 s", "kg, half crimp", 0, 12)
    sheet.levels(y, [90, 100, 110, 120], 28, str)
    sheet.weeks(x, 226, [DAY + dt.timedelta(days=7 * i) for i in range(9)], lambda d: f"{d:%-d %b}")
    sheet.rule(30, 30, 200, 36, dotted=True, colour=look.SOFT)
    sheet.areas(
        x,
        y,
        [
            {"x": day[i], "y": 100 + i, "y2": 110 + i * i, "fill": fill, "piece": fill}
            for fill in (look.TINT, look.PALE)
            for i in range(3)
        ],
    )
    for broken in (True, False):
        sheet.lines(
            x,
            y,
            [{"x": d, "y": 105 + i, "stroke": look.ACCENT, "piece": 1} for i, d in enumerate(day)],
            broken=broken,
        )
    sheet.bars(
        x, y, [{"x": d, "y": 90, "y2": 93, "stroke": look.BAR, "width": 6, "tip": ""} for d in day]
    )
    sheet.points(
        x,
        y,
        [
            {"x": d, "y": 104 + i, "shape": s, "r": 5, "filled": f, "colour": look.ACCENT, "tip": s}
            for i, (d, s) in enumerate(zip(day, look.SHAPES, strict=True))
            for f in (True, False)
        ],
    )
    within = look.Box(0, 40, 230, 230)
    sheet.tag(
        [look.Line("95 kg × 10 s", bold=True), look.Line(HOSTILE, italic=True)],
        x(DAY),
        y(105),
        within=within,
    )
    return sheet


@pytest.fixture
def picture() -> look.Picture:
    """It at both widths."""
    return look.picture(f"A picture of {HOSTILE}", paint)


def changed(spec: dict[str, Any], path: str, value: Any) -> dict[str, Any]:
    """The specification with one part set, at a path such as `layer.0.mark.opacity`."""
    spec = copy.deepcopy(spec)
    *way, last = [int(p) if p.isdigit() else p for p in path.split(".")]
    part: Any = spec
    for step in way:
        part = part[step]
    part[last] = value
    return spec


def layer_of(spec: dict[str, Any], kind: str) -> int:
    """Which layer is the first of a kind."""
    return next(i for i, x in enumerate(spec["layer"]) if x["mark"]["type"] == kind)


@pytest.mark.parametrize("narrow", [False, True])
def test_marks_and_words_stand_where_vega_puts_them(picture: look.Picture, narrow: bool) -> None:
    """Of every mark its place, form, colour and size are Vega's, to the tenth of a unit written."""
    spec = picture.narrow if narrow else picture.wide
    expected, drawn = places(vega_svg(spec)), places(draw(spec).svg.html)
    assert len(expected) > 45
    assert [kind for kind, _ in drawn] == [kind for kind, _ in expected]
    for (kind, ours), (_, vegas) in zip(drawn, expected, strict=True):
        assert ours == pytest.approx(vegas, abs=0.08), kind


def test_the_yardstick_sees_a_shift(picture: look.Picture) -> None:
    """A mark moved by one unit, or put another colour, is found."""
    wide = picture.wide
    drawn = places(draw(wide).svg.html)
    for kind, field, value in (("text", "x", 1.0), ("rule", "y", 1.0), ("text", "fill", None)):
        i = layer_of(wide, kind)
        old = wide["layer"][i]["data"]["values"][0][field]
        new = look.ACCENT if value is None else old + value
        moved = places(vega_svg(changed(wide, f"layer.{i}.data.values.0.{field}", new)))
        apart = [
            (a, b)
            for a, b in zip(drawn, moved, strict=True)
            if a[0] != b[0] or a[1] != pytest.approx(b[1], abs=0.08)
        ]
        assert len(apart) == 1, (kind, field)


@pytest.mark.parametrize(
    ("kind", "path", "value", "said"),
    [
        ("", "hconcat", [], "chart: 'hconcat' is not known"),
        ("", "title", "x", "chart: 'title' is not known"),
        ("", "padding", 5, "padding of a chart: 5 is not 0"),
        ("", "config.axis", {}, "config: 'axis' is not known"),
        ("", "config.view", {"stroke": "#ddd"}, "draws a frame"),
        ("text", "transform", [], "layer: 'transform' is not known"),
        ("text", "data", {"url": "x"}, "data: 'url' is not known"),
        ("text", "mark.angle", 90, "text mark: 'angle' is not known"),
        ("text", "mark.fontSize", 12, "text mark: fontSize 12 is not"),
        ("text", "mark.align", {"expr": "datum.x + 1"}, "text mark: align"),
        ("text", "mark", {"type": "trail"}, "mark: 'trail' is not known"),
        ("text", "mark", "text", "text mark: 'text' is not a set of options"),
        ("text", "encoding.fill.scale", {"scheme": "dark2"}, "channel fill: a scale"),
        ("text", "encoding.angle", {"field": "x"}, "text encoding: 'angle' is not known"),
        ("text", "data.values.0.fill", "#123456", "colour '#123456' stands in no palette"),
        ("text", "data.values.0.align", "start", "align 'start' is not known"),
        ("text", "data.values.0.style", "oblique", "style 'oblique' of words"),
        ("point", "encoding.x.axis", {"grid": True}, "channel x: an axis is not known"),
        ("point", "encoding.x.type", "ordinal", "channel x: type 'ordinal' is not known"),
        ("point", "encoding.x.scale.type", "log", "channel x scale: type 'log'"),
        ("point", "encoding.y.scale.type", "log", "channel y scale: type 'log'"),
        ("point", "encoding.y.scale.nice", True, "would move its ends"),
        ("point", "encoding.y.scale.zero", True, "would move its ends"),
        ("point", "encoding.y.scale.clamp", True, "channel y scale: 'clamp' is not known"),
        ("point", "encoding.y.aggregate", "mean", "channel y: 'aggregate' is not known"),
        ("point", "data.values.0.shape", "arrow", "shape 'arrow' is not known"),
        ("line", "mark.interpolate", "monotone", "line mark: 'interpolate' is not known"),
        ("line", "mark.strokeCap", "square", "strokeCap 'square' is not known"),
        ("area", "mark.opacity", 0.5, "area mark: opacity 0.5 is not 1"),
        ("area", "data.values.0.x", "2026-03-01", "its rows are not in order of x"),
    ],
)
def test_what_is_not_known_is_refused(
    picture: look.Picture, kind: str, path: str, value: Any, said: str
) -> None:
    """Each part, mark, channel, option, scale, symbol or colour that isn't known is named."""
    start = f"layer.{layer_of(picture.wide, kind)}." if kind else ""
    with pytest.raises(PictureError, match=re.escape(said)):
        draw(changed(picture.wide, start + path, value))


@pytest.mark.parametrize("part", ["autosize", "resolve", "config", "$schema", "padding", "layer"])
def test_what_is_missing_is_refused(picture: look.Picture, part: str) -> None:
    """Vega would put its own value in place of what is not said."""
    spec = {k: v for k, v in picture.wide.items() if k != part}
    with pytest.raises(PictureError, match=re.escape(f"chart: {part!r} is missing")):
        draw(spec)


def test_scales_must_say_where_they_begin_and_end(picture: look.Picture) -> None:
    """A scale without domain or range would be Vega's choice."""
    i = layer_of(picture.wide, "point")
    for key in ("domain", "range"):
        scale = dict(picture.wide["layer"][i]["encoding"]["x"]["scale"])
        del scale[key]
        with pytest.raises(PictureError, match=f"'{key}' is missing"):
            draw(changed(picture.wide, f"layer.{i}.encoding.x.scale", scale))


def test_text_of_logs_is_escaped(picture: look.Picture) -> None:
    """Neither the name nor words nor what marks say can become markup."""
    html = figure(picture, caption=HOSTILE).html
    assert "<script" not in html
    figure_ = ElementTree.fromstring(html)
    svg = figure_[0]
    assert svg.attrib["aria-label"] == f"A picture of {HOSTILE}"
    assert HOSTILE in [text.text for text in svg.iter("text")]
    assert figure_[-1].text == HOSTILE


def test_colours_are_the_pages(picture: look.Picture) -> None:
    """No colour but the page's variables, so that dark mode and print are the style's alone."""
    html = draw(picture.wide).svg.html
    assert "#" not in re.sub(r'aria-label="[^"]*"|&#x27;', "", html)
    used = set(re.findall(r"var\(--([a-z0-9-]+)\)", html))
    assert used <= set(look.PALETTE)


def test_figure_tells_what_its_marks_say(picture: look.Picture) -> None:
    """Words once, places for each width, in one order."""
    data = ElementTree.fromstring(figure(picture).html).attrib
    words = data["data-words"].split("\n") if "\n" in data["data-words"] else []
    if not words:  # an XML reader makes spaces of line ends in attributes
        words = re.search(r'data-words="([^"]*)"', figure(picture).html)[1].split("\n")  # type: ignore[index]
    assert len(words) == 10
    assert data["data-wide"].split(" ")[0] == data["data-narrow"].split(" ")[0]
    assert data["data-wide"].split(" ")[0] == "28,148"
    assert len(data["data-wide"].split(" ")) == len(words)
    assert "data-" not in figure(picture, values=False).html


def test_both_widths_must_say_the_same() -> None:
    """The words are written once for both pictures."""

    def uneven(width: float) -> look.Sheet:
        sheet = look.Sheet(width, 20)
        x = look.Scale(0, 1, 0, 100)
        sheet.bars(
            x, x, [{"x": 0, "x2": 1, "y": 0, "stroke": look.BAR, "width": 1, "tip": f"{width}"}]
        )
        return sheet

    with pytest.raises(PictureError, match="say different things"):
        figure(look.picture("Uneven", uneven))


def test_same_chart_same_bytes(picture: look.Picture) -> None:
    """Nothing random goes in."""
    again = look.picture(f"A picture of {HOSTILE}", paint)
    assert json.dumps(again.wide) == json.dumps(picture.wide)
    assert figure(again).html == figure(picture).html


def test_a_chart_is_altairs_too(picture: look.Picture) -> None:
    """Altair reads the specification, checked against its schema, and gives it back."""
    for narrow in (False, True):
        spec = picture.narrow if narrow else picture.wide
        found = picture.altair(narrow=narrow).to_dict()
        assert found["layer"][-1]["encoding"] == spec["layer"][-1]["encoding"]
        assert [x["mark"] for x in found["layer"]] == [x["mark"] for x in spec["layer"]]
