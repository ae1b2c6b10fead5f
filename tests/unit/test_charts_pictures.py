"""Every picture of the demo squad: exact, whole, readable, and nothing that a page may not show."""

from __future__ import annotations

import datetime as dt
import json
import math
import re
from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from gripbook.charts import look
from gripbook.charts.change import draw_change
from gripbook.charts.coming import draw_coming
from gripbook.charts.designs import draw_design
from gripbook.charts.log_holds import draw_log
from gripbook.charts.look import NARROW, WIDE, Picture
from gripbook.charts.pain import draw_pain
from gripbook.charts.paths import draw_paths, draw_so_far, track
from gripbook.charts.ratio import draw_ratio
from gripbook.report.pictures import draw, figure
from gripbook.reviews.design import Design, DesignLine, Way
from gripbook.words import fmt, in_language
from tests.demo_pictures import DEMO, demo_pictures, demo_review, pictures_of
from tests.vega_marks import places, vega_svg


def sheets(athlete: str) -> list[tuple[str, dict[str, Any]]]:
    """The specifications of an athlete's pictures at both widths."""
    return [
        (f"{name} at {spec['width']:g}", spec)
        for name, picture in demo_pictures(athlete)
        for spec in (picture.wide, picture.narrow)
    ]


def texts(spec: dict[str, Any]) -> list[dict[str, Any]]:
    """The rows of words."""
    rows: list[dict[str, Any]] = spec["layer"][-1]["data"]["values"]
    return rows


def said(picture: Picture, *, narrow: bool = False) -> list[str]:
    """The words of a picture."""
    return [row["text"] for row in texts(picture.narrow if narrow else picture.wide)]


def box(row: dict[str, Any]) -> look.Box:
    """Where words stand."""
    return look.Sheet(WIDE, 1).box(
        row["text"],
        row["x"],
        row["y"],
        size=row["size"],
        bold=row["weight"] == 600,
        italic=row["style"] == "italic",
        align=row["align"],
    )


def named(athlete: str, name: str) -> Picture:
    """The first picture of that name."""
    return next(picture for found, picture in demo_pictures(athlete) if found == name)


# --- all pictures -----------------------------------------------------------------------------


@pytest.mark.whole
@pytest.mark.parametrize("athlete", DEMO)
def test_marks_and_words_stand_where_vega_puts_them(athlete: str) -> None:
    """Of every demo chart each mark and word, at both widths, lies within a tenth of Vega's."""
    found = sheets(athlete)
    assert len(found) >= 8
    for name, spec in found:
        drawn, expected = places(draw(spec).svg.html), places(vega_svg(spec))
        assert [kind for kind, _ in drawn] == [kind for kind, _ in expected], name
        for (kind, ours), (_, vegas) in zip(drawn, expected, strict=True):
            assert ours == pytest.approx(vegas, abs=0.1), (name, kind)


@pytest.mark.parametrize("athlete", DEMO)
def test_words_are_whole_and_apart(athlete: str) -> None:
    """No word leaves its picture, and no two stand on one another."""
    for name, spec in sheets(athlete):
        boxes = [(row["text"], box(row)) for row in texts(spec)]
        for text, at in boxes:
            assert at.left >= -0.5, (name, text)
            assert at.right <= spec["width"] + 0.5, (name, text)
            assert at.top >= -0.5, (name, text)
            assert at.bottom <= spec["height"] + 0.5, (name, text)
        for (one, first), (other, second) in combinations(boxes, 2):
            assert first.shared(second) <= 6, (name, one, other)


@pytest.mark.parametrize("lang", ["de", "fr"])
def test_longer_words_are_whole_and_apart_too(lang: str) -> None:
    """German and French words find their places as well."""
    with in_language(lang):
        for name, picture in pictures_of(demo_review("arvo")):
            for spec in (picture.wide, picture.narrow):
                boxes = [(row["text"], box(row)) for row in texts(spec)]
                for (one, first), (other, second) in combinations(boxes, 2):
                    assert first.shared(second) <= 6, (name, one, other)
                assert all(at.right <= spec["width"] + 0.5 for _, at in boxes), name


@pytest.mark.parametrize("athlete", DEMO)
def test_type_is_of_four_sizes_and_never_small(athlete: str) -> None:
    """The same sizes of type at both widths, none under 12.5."""
    for name, spec in sheets(athlete):
        sizes = {row["size"] for row in texts(spec)}
        assert sizes <= {look.NAME, look.TEXT, look.TICK}, name
        assert min(sizes) >= 12.5


@pytest.mark.parametrize("name", ["change", "pain", "log"])
def test_altair_takes_the_charts(name: str) -> None:
    """They are valid Vega-Lite specifications to Altair's schema (a second each to check)."""
    picture = named("celm", name)
    assert len(picture.altair(narrow=True).layer) == len(picture.narrow["layer"])


@pytest.mark.parametrize("athlete", DEMO)
def test_figures_are_light(athlete: str) -> None:
    """Both pictures of a figure with all it says stay below 30 kB, all of a page below 160 kB."""
    sizes = {name: len(figure(picture).html) for name, picture in demo_pictures(athlete)}
    assert max(sizes.values()) < 30_000, sizes
    assert sum(len(figure(picture).html) for _, picture in demo_pictures(athlete)) < 200_000


def test_same_review_same_bytes() -> None:
    """Drawn again, every figure is the same."""
    r = demo_review("arvo")
    first = [figure(picture).html for _, picture in pictures_of(r)]
    assert first == [figure(picture).html for _, picture in pictures_of(r)]


@pytest.mark.parametrize("athlete", ["dova", "eske"])
def test_hidden_body_mass_draws_no_path_and_no_per_cent(athlete: str) -> None:
    """Where body mass is hidden there is no whole load, no ratio, no per cent of a load."""
    found = demo_pictures(athlete)
    names = {name for name, _ in found}
    assert not names & {"paths", "running", "so far", "ratio", "ends", "body mass", "blocks"}
    for name, picture in found:
        for narrow in (False, True):
            per_cent = [t for t in said(picture, narrow=narrow) if t.endswith("%")]
            assert per_cent == [], name


# --- what changed -----------------------------------------------------------------------------


def test_change_has_a_row_for_each_measured_series() -> None:
    """Start, end, range and verdict of each stand at its row, at both widths."""
    r = demo_review("arvo")
    rows = [s for s in r.change.series if s.measured]
    picture = named("arvo", "change")
    assert len(rows) == 4
    for narrow in (False, True):
        words = said(picture, narrow=narrow)
        assert words.count("stronger") == 4
        assert words.count("start") == words.count("end") == 1
        assert words.count(f"90{fmt.NBSP}% range") == 1
        for s in rows:
            assert fmt.mass(s.start_kg, 0) in words
            assert fmt.mass(s.end_kg, 0) in words
            assert fmt.mass(s.high_kg, 0, sign=True) in words
        assert "no change" in words
        # the unit stands once, at the axis' last number
        assert sum(t.startswith("+") and t.endswith(f"{fmt.NBSP}%") for t in words) == 1


def test_change_marks_lie_on_the_scale_of_per_cent() -> None:
    """The bars run from the range's lower to its upper end."""
    r = demo_review("brin")
    rows = [s for s in r.change.series if s.measured]
    spec = named("brin", "change").wide
    bars = next(
        x["data"]["values"]
        for x in spec["layer"]
        if x["mark"]["type"] == "rule" and x["encoding"]["x"]["scale"]
    )
    assert [(b["x"], b["x2"]) for b in bars] == [(s.low_pct, s.high_pct) for s in rows]
    assert all(s.high_pct < 0 for s in rows if s.verdict == "weaker")


def test_change_without_a_measured_series_is_none() -> None:
    """A minor's log of finished sets alone has nothing to compare."""
    assert draw_change(demo_review("dova").change) is None


def test_change_of_hidden_body_mass_is_in_kilograms() -> None:
    """Its axis and its marks speak of differences in kilograms."""
    words = said(named("eske", "change"))
    assert any(re.fullmatch(f"[+\u2212]?\\d+{fmt.NBSP}kg", w) for w in words)
    assert "start" in words


# --- paths ------------------------------------------------------------------------------------


def layers_of(spec: dict[str, Any], kind: str) -> list[dict[str, Any]]:
    """Layers of a kind that stand on scales of data."""
    return [
        x
        for x in spec["layer"]
        if x["mark"]["type"] == kind and x["encoding"]["y"].get("scale") is not None
    ]


@pytest.mark.parametrize("athlete", ["arvo", "brin", "celm", "fenn", "galo"])
def test_lines_stand_only_in_weeks_with_such_sets(athlete: str) -> None:
    """No piece of a path crosses a week without sets of its series."""
    r = demo_review(athlete)
    block = r.block
    logged = {
        (s.capacity, s.grip, s.hand): {
            block.week_of(d.date()) for d in s.points["day"] if block.start <= d.date() <= block.end
        }
        for s in r.change.series
    }
    every = set().union(*logged.values())
    checked = 0
    for name, picture in demo_pictures(athlete):
        if name != "paths":
            continue
        for layer in layers_of(picture.wide, "line"):
            rows = layer["data"]["values"]
            for one, other in pairwise(rows):
                if one["piece"] != other["piece"]:
                    continue
                day, end = (dt.date.fromisoformat(x["x"]) for x in (one, other))
                assert block.week_of(day) in every
                # a piece is exactly as long as the weeks of one series that follow one another
                assert any(block.week_of(day) in weeks for weeks in logged.values())
                assert (end - day).days <= 7
                checked += 1
    assert checked > 3


@pytest.mark.parametrize("athlete", ["arvo", "brin", "celm", "fenn", "galo", "hesk"])
def test_level_axes_span_a_share_of_their_level(athlete: str) -> None:
    """15 % at least, so that a small step looks small."""
    seen = 0
    for name, spec in sheets(athlete):
        if not name.startswith(("paths", "loads", "so far", "body mass")):
            continue
        for layer in layers_of(spec, "point"):
            low, high = layer["encoding"]["y"]["scale"]["domain"]
            assert high - low >= 0.15 * (low + high) / 2 - 1e-6, name
            seen += 1
    assert seen


def test_filled_is_a_known_limit_and_hollow_is_at_least() -> None:
    """Every mark of the paths is filled as its set's kind says."""
    r = demo_review("arvo")
    hang = r.change.series[0]
    kinds = {
        (look.iso(row.day), round(row.kg, 3)): row.kind
        for row in hang.points.itertuples()
        if row.day.date() >= r.block.start
    }
    layer = layers_of(named("arvo", "paths").wide, "point")[0]
    rows = layer["data"]["values"]
    assert {kinds[row["x"], row["y"]] for row in rows} == {"exact", "at least"}
    for row in rows:
        filled = row["fill"] == look.ACCENT
        assert filled == (kinds[row["x"], row["y"]] == "exact")


def test_first_and_last_test_are_labelled() -> None:
    """Their loads and lengths stand at the marks, what was left beneath."""
    for narrow in (False, True):
        words = said(named("arvo", "paths"), narrow=narrow)
        for text in ("95~kg~×~10~s", "3~s left", "103~kg~×~10~s", "7~s left", "63~kg~×~6~holds"):
            assert text.replace("~", fmt.NBSP) in words
        assert words.count("left") == words.count("right") == 1  # at the ends of the pulls' lines


def test_a_running_block_ends_at_its_last_day() -> None:
    """Nothing is drawn after it: no mark, no line, no range."""
    r = demo_review("arvo")
    last = r.block.start + dt.timedelta(days=24)
    for picture in draw_paths(r.change, r.block, last):
        for layer in picture.wide["layer"]:
            for row in layer["data"]["values"]:
                if isinstance(row.get("x"), str):
                    assert row["x"] <= look.iso(last)
    steps = track(r.change.series[0], last)
    assert steps[-1].day == last
    assert steps[-2].kg < steps[-1].kg < max(r.change.series[0].path["kg"])


def test_so_far_says_what_is_to_come() -> None:
    """The estimate of the day with its range, the weeks ahead, and the test."""
    words = said(named("arvo", "so far"))
    assert "to come" in words
    assert "test" in words
    assert any(re.fullmatch(f"\\d+ to \\d+{fmt.NBSP}kg", w) for w in words)
    hidden = demo_review("eske").change.headline
    assert hidden is not None
    assert draw_so_far(hidden, demo_review("eske").block, demo_review("eske").last.date()) is None


def test_an_outlier_does_not_take_half_of_the_panel() -> None:
    """A set far beneath the others is told by its number, and the axis stays."""
    r = demo_review("arvo")
    s = r.change.series[0]
    odd = s.points.iloc[[-1]].assign(kg=20.0, line=9999, test=False)
    far = replace(s, points=pd.concat([s.points, odd], ignore_index=True))
    facts = replace(r.change, series=(far, *r.change.series[1:]))
    plain = named("arvo", "paths").wide
    spec = draw_paths(facts, r.block, r.last.date())[0].wide
    domains = [
        [x["encoding"]["y"]["scale"]["domain"] for x in layers_of(one, "point")]
        for one in (plain, spec)
    ]
    assert domains[0] == domains[1]
    before, after = (
        [t for t in (x["text"] for x in texts(one)) if "lower" in t] for one in (plain, spec)
    )
    assert len(after) == len(before) + 1


# --- pain, ratio, short logs ------------------------------------------------------------------


def test_pain_stands_over_the_load() -> None:
    """Levels as logged, days asked, the limit, notes in the athlete's words, minutes of load."""
    r = demo_review("celm")
    spec = named("celm", "pain").wide
    words = [row["text"] for row in texts(spec)]
    assert "limit of this block, 3" in words
    assert "“stopped the set”" in words
    assert "0, asked" in words
    felt = r.pain.felt[r.pain.felt["level"].notna()]
    marks = layers_of(spec, "point")[0]["data"]["values"]
    assert [(m["x"], m["y"]) for m in marks] == [
        (look.iso(d), level) for d, level in zip(felt["date"], felt["level"], strict=True)
    ]
    inside = r.sets[r.sets["in_block"]]
    minutes = (inside["tension_s"] * inside["sets"]).sum() / 60
    bars = layers_of(spec, "rule")[-1]["data"]["values"]
    assert sum(b["y2"] for b in bars) == pytest.approx(minutes, abs=0.1)


def test_a_level_not_noted_is_no_zero() -> None:
    """It is a dotted line with its words, and no mark on the scale."""
    r = demo_review("celm")
    entries = r.pain.entries.copy()
    day = entries.loc[5, "date"]
    entries.loc[5, "level"] = math.nan
    picture = draw_pain(replace(r.pain, entries=entries), r.sets, r.block, r.last.date())
    assert picture is not None
    marks = layers_of(picture.wide, "point")[0]["data"]["values"]
    assert look.iso(day) not in {m["x"] for m in marks}
    assert "no level noted" in said(picture)


def test_no_pain_no_picture() -> None:
    """Where it was asked and none felt, a sentence is enough."""
    r = demo_review("arvo")
    assert r.pain.felt.empty
    assert draw_pain(r.pain, r.sets, r.block, r.last.date()) is None


def test_ratio_puts_both_on_one_scale() -> None:
    """Load and body mass in per cent of their start, ends told in kilograms."""
    r = demo_review("fenn")
    assert r.change.ratio is not None
    words = said(named("fenn", "ratio"))
    assert "body mass" in words
    assert f"\u22126{fmt.NBSP}%" in words
    marks = [
        m for x in layers_of(named("fenn", "ratio").wide, "point") for m in x["data"]["values"]
    ]
    first = r.change.ratio.start_mass_kg
    weighed = r.body_mass.weigh_ins
    end = weighed["body_mass_kg"].iloc[-1]
    assert marks[-1]["y"] == pytest.approx(100 * (end / first - 1), abs=0.01)
    alone = replace(r.body_mass, weigh_ins=weighed.iloc[:1])
    assert draw_ratio(r.change.ratio, alone, r.block, r.last.date()) is None


def test_short_log_shows_its_days_and_what_was_not_readable() -> None:
    """A lane for each kind of work with its days, and crosses where rows could not be read."""
    r = demo_review("hesk")
    picture = draw_log(r.sets, r.done.refused, r.block, r.last.date())
    assert picture is not None
    words = said(picture)
    assert len(r.done.refused) == 3
    assert {"one day", "three days", "three rows", "Not readable"} <= set(words)
    marks = [m for x in layers_of(picture.wide, "point") for m in x["data"]["values"]]
    crosses = [m["x"] for m in marks if m["shape"] == look.SHAPES["unread"]]
    dated = r.done.refused["date"].dropna()
    assert crosses == [look.iso(d) for d in dated]
    assert draw_log(r.sets.iloc[:0], r.done.refused.iloc[:0], r.block, r.last.date()) is None


def test_notes_of_logs_cannot_become_markup() -> None:
    """A note with markup in it is text in the picture and in what it says."""
    r = demo_review("celm")
    entries = r.pain.entries.assign(note="</svg><script>x")
    picture = draw_pain(replace(r.pain, entries=entries), r.sets, r.block, r.last.date())
    assert picture is not None
    html = figure(picture).html
    assert "<script" not in html
    assert "&lt;script&gt;" in html


# --- the look ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("low", "high", "least", "ticks", "expected"),
    [
        (92.4, 114.5, 0.0, 6, [90.0, 95.0, 100.0, 105.0, 110.0, 115.0]),
        (70.9, 71.6, 10.7, 6, [64.0, 66.0, 68.0, 70.0, 72.0, 74.0, 76.0, 78.0]),
        (0.0, 3.6, 0.0, 3, [0.0, 2.0, 4.0]),
        (5.0, 5.0, 0.0, 4, [4.0, 4.5, 5.0, 5.5, 6.0]),
    ],
)
def test_axes_end_at_round_numbers(
    low: float, high: float, least: float, ticks: int, expected: list[float]
) -> None:
    """Steps of 1, 2 or 5, as many as asked for at most, over the whole range."""
    first, last, found = look.round_span(low, high, least=least, ticks=ticks)
    if len(expected) - 1 > ticks:  # the least step that is coarse enough
        assert last - first >= least
        assert len(found) <= ticks + 1
        return
    assert found == pytest.approx(expected)
    assert (first, last) == (found[0], found[-1])


def test_a_tag_keeps_clear_of_what_stands_there() -> None:
    """It goes up, with a leader, until it is free; heads and ticks count as much as marks."""
    within = look.Box(0, 0, 300, 100)
    line = look.Line("95 kg × 10 s")
    for taken in (True, False):
        sheet = look.Sheet(WIDE, 200)
        mark = look.Box(0, 60, 300, 85)
        sheet.taken += [mark] if taken else []
        sheet.tag([line], 40, 95, within=within)
        layers = sheet.spec("x")["layer"]
        tag = box(layers[-1]["data"]["values"][0])
        assert tag.shared(mark) == 0 or not taken
        assert (tag.bottom <= mark.top) == taken
        assert len(layers) == (2 if taken else 1)  # the leader


def test_a_tag_never_stands_on_a_head() -> None:
    """A panel's name is in the way like any mark."""
    sheet = look.Sheet(WIDE, 200)
    sheet.head("A panel's name", "", 0, 60)
    line = look.Line("95 kg × 10 s")
    sheet.tag([line], 40, 75, within=look.Box(0, 0, 300, 200))
    name, tag = (box(row) for row in sheet.spec("x")["layer"][-1]["data"]["values"])
    assert not tag.shared(name)


def test_words_at_the_edge_are_moved_in() -> None:
    """A word that would be cut stands within the picture."""
    sheet = look.Sheet(NARROW, 100)
    left = sheet.words("half crimp", -20, 10)
    right = sheet.words("half crimp", NARROW, 40)
    assert left.left == 0
    assert right.right == NARROW
    rows = sheet.spec("x")["layer"][-1]["data"]["values"]
    assert [box(row).left >= 0 and box(row).right <= NARROW for row in rows] == [True, True]


def test_palette_holds_the_pages_variables() -> None:
    """Every colour of the pictures has a name that the page's style gives for light and dark."""
    from gripbook.report.page import exporter

    style = (Path(exporter.__file__).parent / "template/page.css").read_text(encoding="utf-8")
    light, dark = style.split("prefers-color-scheme: dark", 1)
    for name, colour in look.PALETTE.items():
        assert f"--{name}: {colour};" in light, name
        assert f"--{name}: " in dark, name


def test_specifications_are_plain_json() -> None:
    """A notebook holds them as they are: no NaN, no numpy, no dates."""
    for _, spec in sheets("arvo"):
        json.dumps(spec, allow_nan=False)


# --- the coming block -------------------------------------------------------------------------


def test_the_coming_block_stands_beside_the_last_one() -> None:
    """Weeks where the weight changes have their marks, those done and those to come apart."""
    r = demo_review("arvo")
    plan = r.next_block
    picture = draw_coming(plan, r.sets)
    assert picture is not None
    rows = [row for x in layers_of(picture.wide, "point") for row in x["data"]["values"]]
    ahead = [row for row in rows if row["x"] >= plan.start.isoformat()]
    weekly = {
        (x.week, x.exercise, x.grip, x.hand): x
        for x in reversed(plan.rows)
        if not x.test and x.low_kg is not None and x.exercise != "pull"
    }
    weighted = list(weekly.values())
    assert {row["x"] for row in ahead} <= {x.day.isoformat() for x in weighted}
    # each weight that is planned for a series is marked, where it begins
    begins: dict[tuple[object, ...], str] = {}
    for x in sorted(weighted, key=lambda x: x.day):
        begins.setdefault((x.exercise, x.grip, x.hand, x.high_kg), x.day.isoformat())
    assert {row["x"] for row in ahead} >= set(begins.values())
    assert len(ahead) >= len(begins)
    assert {row["fill"] for row in ahead}.isdisjoint(
        row["fill"] for row in rows if row not in ahead
    )
    tips = " ".join(row["tip"] for row in ahead)
    assert "+1.25\u00a0kg" in tips
    # a bar reaches to what the rule for adding may lead to
    bars = [b for x in layers_of(picture.wide, "rule") for b in x["data"]["values"]]
    tops = {x.high_kg for x in weighted if x.low_kg != x.high_kg}
    assert {b["y2"] for b in bars} == tops


def test_no_chart_where_nothing_is_proposed() -> None:
    """A minor and an injured athlete get no chart of coming loads."""
    r = demo_review("dova")
    assert draw_coming(r.next_block, r.sets) is None


def test_the_chart_of_a_design_says_its_figures() -> None:
    """Each way has its bar and its figure; a rise that can't be told has none."""
    lines = [
        DesignLine(way, "hang", "half_crimp", "both", pct, math.nan, 3.0, 20, 2)
        for way, pct in zip(Way, (11.5, 9.0, 10.4, math.nan), strict=True)
    ]
    block = demo_review("arvo").block
    picture = draw_design(Design("", block, proposed=False, lines=tuple(lines), left_noted=0.0))
    assert picture is not None
    for spec in (picture.wide, picture.narrow):
        words = {row["text"].replace("\u00a0", " ") for row in texts(spec)}
        assert {"11.5 %", "9 %", "10.4 %", "as planned", "3 % matters"} <= words
        assert "with a second test day" not in words
        boxes = [(row["text"], box(row)) for row in texts(spec)]
        assert all(at.left >= -0.5 and at.right <= spec["width"] + 0.5 for _, at in boxes)
        for (one, first), (other, second) in combinations(boxes, 2):
            assert first.shared(second) <= 6, (one, other)
