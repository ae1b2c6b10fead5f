"""What a planned block can show: figures against logs drawn otherwise, limits, words and chart."""

from __future__ import annotations

import itertools
import json
import math
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import norm

from gripbook import charts
from gripbook.errors import GripbookError
from gripbook.logs import Block, load_logs
from gripbook.logs.block import Phase, Target, read_block
from gripbook.report.design import design_file, design_json, design_page, design_text, designs
from gripbook.reviews import BlockReview, design
from gripbook.reviews.design import Design, Way, design_block, design_next, planned_sets
from gripbook.strength import SeriesKey, fit_strength
from gripbook.strength import planned as planned_module
from gripbook.strength.model import prior_precision
from gripbook.strength.planned import draw_log
from gripbook.words import design as words
from tests.reviewed import reviewed

BY_HAND = Path(__file__).parents[1] / "data" / "by_hand"
TEXT = """\
[block]
name = "Six <weeks>"
start = 2026-01-05
weeks = 6
headline = { capacity = "hang", grip = "half_crimp", hand = "both" }
test_weeks = [1, 6]
[limits]
fingers_per_week = 2
[[phase]]
name = "Hangs"
weeks = 6
exercise = "hang"
hang_s = 10
sets_per_session = 5
sessions_per_week = 2
"""
HANG = SeriesKey("hang", "half_crimp", "both", "steady")
LOADS = {("hang", "half_crimp", "both"): 80.0}


def block_of(text: str = TEXT) -> Block:
    """The block of a file's text."""
    block, problems = read_block(text, "block.toml")
    assert problems == []
    assert block is not None
    return block


@pytest.fixture(scope="module")
def six() -> Design:
    """A block of hangs alone, for an athlete of whom nothing is known."""
    return design_block(block_of())


@pytest.fixture(scope="module")
def hanna() -> BlockReview:
    """The review of a healthy adult."""
    return reviewed(BY_HAND / "healthy", "hanna")


@pytest.fixture(scope="module")
def coming(hanna: BlockReview) -> Design:
    """What the block proposed to her could show."""
    return design_next(hanna)


@pytest.mark.parametrize("first", [100, 200])
def test_such_a_rise_just_shows_in_other_logs(six: Design, first: int) -> None:
    """Drawn with other seeds and such a rise, ranges begin at no change, to a tenth of the rise."""
    assert low_of_range(six, Way.PLANNED, range(first, first + 6)) < 0.10


def low_of_range(d: Design, way: Way, seeds: range) -> float:
    """How far from no change the range's lower end lies on average, as a share of the rise."""
    plan = tuple(planned_sets(d.block, 2 if way is Way.SECOND_DAY else 1))
    line = d.of(way)[0]
    rise = {(line.capacity, line.grip, line.hand): math.log1p(line.rise_pct / 100)}
    lows = []
    for seed, turned in itertools.product(seeds, (False, True)):
        sets = draw_log(
            plan, d.block, load_kg=LOADS, left_noted=0.0, rise=rise, seed=(seed,), turned=turned
        )
        s = fit_strength(sets, d.block).find(*HANG)
        assert s is not None
        lows.append(math.log1p(s.low_pct / 100))
    return abs(float(np.mean(lows))) / next(iter(rise.values()))


def test_the_smallest_rise_by_hand(hanna: BlockReview) -> None:
    """At the rise the chance given to a fall is one in 20, from weights and SDs of the shapes."""
    rise = hanna.fit.smallest_rise(HANG)
    sd, before = hanna.fit.change_sd(HANG), hanna.fit.prior_change_sd(HANG)
    # of one shape it would be 1.645 SD over what of a rise is told; of several, which each expect
    # more or less of a change, about that
    assert rise == pytest.approx(1.6449 * sd / (1 - (sd / before) ** 2), rel=0.25)
    mixture, k = hanna.fit.posterior_of(HANG)
    ends = np.array([0.0, float(hanna.fit.evidence.last_day)])
    row = np.diff(mixture.layout.path_rows(k, ends), axis=0)
    chances, weights = [], []
    for post, shape, weight in zip(mixture.nodes, mixture.shapes, mixture.weight, strict=True):
        expected = float((row**2 / prior_precision(mixture.layout, shape)).sum())
        left = float(post.variance(row)[0])
        told = 1 - left / expected
        chances.append(norm.cdf(-rise * told / math.sqrt(left)))
        weights.append(weight * math.exp(-0.5 * rise**2 * told / expected))
    assert np.average(chances, weights=weights) == pytest.approx(0.05, abs=1e-6)
    assert hanna.fit.smallest_rise(HANG) > 1.6449 * sd


def test_better_logging_never_costs(six: Design, coming: Design) -> None:
    """A second test day shows smaller rises, clearly; noting what is left costs nothing."""
    for d in (six, coming):
        for line in d.of(Way.PLANNED):
            if math.isnan(line.rise_pct):
                continue
            assert d.other(line, Way.SECOND_DAY).rise_pct < 0.97 * line.rise_pct
            assert d.other(line, Way.LEFT_NOTED).rise_pct < 1.05 * line.rise_pct
    hang = coming.of(Way.PLANNED)[0]
    assert coming.other(hang, Way.LEFT_NOTED).rise_pct < 0.97 * hang.rise_pct


def test_one_edge_shows_more_than_several() -> None:
    """Training on two edges costs; a plan on one edge has no such way to gain."""
    phase = replace(
        block_of().phases[0],
        targets=(Target("half_crimp", "both", 20.0), Target("half_crimp", "both", 10.0)),
    )
    later = replace(phase, name="Small", weeks=3, from_week=4, targets=phase.targets[1:])
    block = replace(block_of(), phases=(replace(phase, weeks=3), later), test_weeks=())
    found = design_block(block)
    assert Way.ONE_EDGE in found.ways
    edges = {x.edge_mm for x in planned_sets(block, 1)}
    assert edges == {20.0, 10.0}
    assert Way.ONE_EDGE not in design_block(block_of()).ways


@pytest.mark.parametrize(
    ("limit", "week", "weeks", "days"),
    [
        (2, 2, (1, 6), {1, 4, 36, 39}),  # Tuesday and Friday of the first and the last week
        (1, 2, (1, 6), {1, 36}),  # one finger day a week leaves no room
        (2, 1, (1, 6), {1, 36}),
        (3, 3, (1, 6), {0, 4, 35, 39}),  # two rest days lie before a test
        (2, 2, (3,), {15, 18}),
        (2, 2, (), set()),
    ],
)
def test_test_days_keep_to_the_limits(
    limit: int, week: int, weeks: tuple[int, ...], days: set[int]
) -> None:
    """A second test day takes another session's place, never one more than the limit allows."""
    block = block_of()
    phase = replace(block.phases[0], sessions_per_week=week)
    limits = replace(block.limits, fingers_per_week=limit)
    block = replace(block, phases=(phase,), limits=limits, test_weeks=weeks)
    sets = list(planned_sets(block, 2))
    assert {x.day for x in sets if x.test} == days
    for n in range(1, block.weeks + 1):
        here = {x.day for x in sets if x.day // 7 + 1 == n}
        assert len(here) <= min(limit, week)
    once = {x.day for x in planned_sets(block, 1) if x.test}
    assert once <= days


def test_sets_are_those_planned() -> None:
    """Grips share a session's sets; pulls in turn are pairs."""
    block = block_of()
    two = (Target("half_crimp"), Target("open_three"))
    phase = replace(block.phases[0], sets_per_session=6, targets=two)
    sets = [x for x in planned_sets(replace(block, phases=(phase,)), 1) if not x.test]
    assert {(x.grip, x.sets) for x in sets} == {("half_crimp", 3), ("open_three", 3)}
    pulls = Phase("Pulls", 6, 1, "pull", sets_per_session=4, sessions_per_week=1)
    turned = replace(pulls, alternate_hands=True)
    for one, each in ((pulls, 2), (turned, 4)):
        found = [x for x in planned_sets(replace(block, phases=(one,)), 1) if not x.test]
        assert {(x.hand, x.sets) for x in found} == {("left", each), ("right", each)}


def test_the_coming_block_is_the_one_proposed(hanna: BlockReview, coming: Design) -> None:
    """Of an ended block it is the proposed one; known strength gives the rise in kg."""
    assert coming.proposed
    assert coming.block.name == "Autumn loft 2"
    hang = coming.of(Way.PLANNED)[0]
    assert (hang.capacity, hang.grip, hang.test_days) == ("hang", "half_crimp", 2)
    series = hanna.fit.find(*HANG)
    assert series is not None
    assert hang.rise_kg == pytest.approx(hang.rise_pct / 100 * series.end_kg)
    # the page's last line on the plan says nearly the same: it is worked out from the fit alone
    tests = hanna.next_block.tests
    assert tests is not None
    assert hang.rise_pct == pytest.approx(tests.rise_pct[1], rel=0.15)


def test_nothing_is_designed_where_nothing_may_be_tested() -> None:
    """Under 18 and with an injury no test day is proposed, and the text says who decides."""
    for name, why, says in (("minor", "minor", "Under 18"), ("notes", "held", "physician")):
        (d,) = designs(load_logs(BY_HAND / name))
        assert (d.nothing, d.lines) == (why, ())
        assert says in design_text(d)
        assert charts.draw_design(d) is None


def test_text_json_and_page_say_the_same(six: Design) -> None:
    """Every figure is in all three; names from a file are text on the page."""
    text, page = design_text(six), design_page([six])
    rows = json.loads(design_json([six]))
    assert [r["way"] for r in rows] == [w.value for w in six.ways]
    for row in rows:
        told = f"{round(row['rise_pct'], 1):g}\u00a0%"
        assert told in text
        assert told in page
    assert "Six &lt;weeks&gt;" in page
    assert "<weeks>" not in page
    assert "http" not in page.replace("http-equiv", "").replace("http://www.w3.org/2000/svg", "")


def test_the_athlete_s_pounds(coming: Design) -> None:
    """Who counts in pounds reads pounds, on the screen and on the page."""
    pounds = replace(coming, units="lb")
    known = [x for x in coming.of(Way.PLANNED) if math.isfinite(x.rise_kg)]
    assert known
    for made in (design_text(pounds), design_page([pounds])):
        for x in known:
            assert f"about {x.rise_kg / 0.45359237:.1f}".removesuffix(".0") in made
        assert "\u00a0kg" not in made
    assert "\u00a0lb" not in design_text(coming)


def test_a_design_is_in_the_athlete_s_unit(
    hanna: BlockReview, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever becomes of it: designed, held or for a minor."""
    monkeypatch.setattr("gripbook.reviews.design.smallest_rises", lambda *_, **__: {})
    for born in (1990, hanna.last.year - 10):
        athlete = replace(hanna.athlete, units="lb", born=born, minor=born > 2000)
        found = design_next(replace(hanna, athlete=athlete))
        assert (found.units, found.nothing) == ("lb", "minor" if born > 2000 else "")


def test_a_block_file_alone(tmp_path: Path) -> None:
    """A file is enough; one that holds no block is refused by name."""
    path = tmp_path / "block.toml"
    path.write_text(TEXT)
    assert design_file(path).block.name == "Six <weeks>"
    path.write_text("weeks = 3")
    with pytest.raises(GripbookError, match=r"block\.toml"):
        design_file(path)


@pytest.mark.parametrize(("share", "offered"), [(0.89, True), (0.9, False)])
def test_noting_is_offered_where_it_is_not_done(
    hanna: BlockReview, monkeypatch: pytest.MonkeyPatch, share: float, offered: bool
) -> None:
    """Not to who notes what is left after nine of ten last sets."""
    monkeypatch.setattr(design, "_left_noted", lambda r: share)
    monkeypatch.setattr(design, "smallest_rises", lambda *_, **__: {})
    assert (Way.LEFT_NOTED in design_next(hanna).ways) is offered


@pytest.mark.parametrize(("rise_pct", "told"), [(9.0, True), (9.01, False)])
def test_a_way_is_told_from_a_tenth_less_on(six: Design, rise_pct: float, told: bool) -> None:
    """What it lowers by less isn't worth another way of testing."""
    planned = replace(six.of(Way.PLANNED)[0], rise_pct=10.0)
    other = replace(planned, way=Way.SECOND_DAY, rise_pct=rise_pct)
    said = words.closing(replace(six, lines=(planned, other)))
    assert any("with a second test day" in line for line in said) is told


@pytest.mark.parametrize(("measured", "kept"), [(3, False), (4, True)])
def test_a_rise_needs_most_logs(monkeypatch: pytest.MonkeyPatch, measured: int, kept: bool) -> None:
    """A series that half of six drawn logs leave unmeasured has none."""
    number = itertools.count()

    def fit(*_: object) -> SimpleNamespace:
        low = 1.0 if next(number) < measured else math.nan
        one = SimpleNamespace(key=HANG, low_pct=low)
        return SimpleNamespace(series=[one], smallest_rise=lambda key: 0.1)

    monkeypatch.setattr(planned_module, "fit_strength", fit)
    rises = planned_module.smallest_rises(
        tuple(planned_sets(block_of(), 1)), block_of(), load_kg=LOADS
    )
    assert rises == ({HANG: pytest.approx(0.1)} if kept else {})


def test_a_pinch_follows_no_edge(hanna: BlockReview) -> None:
    """A pinch's width is no edge's depth: what is drawn for it has the same load on any width."""
    block = replace(hanna.block, weeks=1)

    def drawn(grip: str, mm: float) -> float:
        part = planned_module.SetsOfDay(0, "hang", grip, "both", mm, 1, hang_s=10.0)
        load = {("hang", grip, "both"): 60.0}
        sets = draw_log([part], block, load_kg=load, left_noted=0.0)
        return float(sets["load_kg"].iloc[0])

    assert drawn("pinch", 60.0) == drawn("pinch", 20.0)
    assert drawn("half_crimp", 60.0) > 1.2 * drawn("half_crimp", 20.0)
