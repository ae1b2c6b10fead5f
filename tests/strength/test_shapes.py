"""The parts of the model that the log itself switches on: shapes, form, practice, doubt."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from gripbook.strength import NoiseScales, diagnostics, fit_strength, gather_evidence, verdict_of
from gripbook.strength.diagnostics import FAR_OFF, diagnose
from gripbook.strength.fit import nodes_for
from gripbook.strength.model import (
    PRIORS,
    SET_FACTORS,
    SHAPES,
    WANDER_DAYS,
    Layout,
    Node,
    Shape,
    build_layout,
    prior_precision,
    solve,
    solve_shapes,
    wander_rows,
)
from gripbook.strength.solver import find_posterior
from tests.strength.scenarios import SCENARIOS, Athlete, make_athlete
from tests.strength.test_invariance import DAYS, fit_rows, hang
from tests.strength.worlds import WORLDS, make

BY_NAME = {w.name: w for w in WORLDS}


@pytest.fixture(scope="module")
def athlete() -> Athlete:
    """One athlete of the first scenario."""
    return make_athlete(SCENARIOS[0], 12)


@pytest.fixture(scope="module")
def layout(athlete: Athlete) -> Layout:
    """Its layout."""
    return build_layout(gather_evidence(athlete.sets, athlete.block))


def test_form_forgets_in_twelve_days() -> None:
    """At the knots the covariance is exp(-days / 12), the stated memory; SD 1."""
    knots = np.linspace(0, 60, 11)
    rows = wander_rows(knots, knots)
    wanted = np.exp(-np.abs(knots[:, None] - knots) / 12.0)
    assert WANDER_DAYS == 12.0
    assert rows @ rows.T == pytest.approx(wanted)
    # between two knots it is read along the line
    assert wander_rows(np.array([3.0]), knots)[0] == pytest.approx((rows[0] + rows[1]) / 2)


def test_shapes_scale_what_they_name(layout: Layout) -> None:
    """Each factor acts on its own prior SDs; the usual shape leaves them and shuts form off."""
    at = layout.at
    usual = prior_precision(layout, Shape())
    assert (usual[: at["wander"].start] == 1.0).all()
    assert (usual[at["wander"]] >= 1e6).all()
    wide = prior_precision(layout, Shape(slope=2.0, apart=5.0, wander=2.0, scale=4.0))
    apart = dict.fromkeys(("capacity_slope", "grip_slope", "series_slope"), 5.0)
    factors = {"slope": 2.0, "wander": 2.0, "scale": 4.0, "level": 1.0, "wiggle": 1.0, **apart}
    for name, factor in factors.items():
        assert wide[at[name]] == pytest.approx(1 / factor**2), name
    hands = prior_precision(layout, Shape(hands=5.0))[at["series_slope"]]
    one = [s.hand != "both" for s in layout.evidence.series]
    assert hands == pytest.approx(np.where(one, 1 / 25, 1.0))
    assert (
        (Shape(slope=3.0), 0.13),
        (Shape(apart=2.5), 0.15),
        (Shape(apart=5.0), 0.14),
        (Shape(hands=5.0), 0.08),
        (Shape(wander=1.0), 0.15),
        (Shape(wander=2.0), 0.08),
        (Shape(wander=2.0, slope=3.0), 0.05),
        (Shape(scale=4.0), 0.09),
    ) == SHAPES


@pytest.mark.parametrize("seed", [1, 2])
def test_fatigue_may_be_nine_per_cent(seed: int) -> None:
    """At its highest its prior SD is 9 %, where easy days set it free, and 0 before training."""
    a = make(BY_NAME["taper, fewer sets, club"].twin, 200_000 + seed)
    made = build_layout(gather_evidence(a.sets, a.block))
    of_sets = made.design[:, made.at["tired"].start]
    assert of_sets.min() == pytest.approx(-0.09)
    assert of_sets.max() == 0.0


def test_columns_left_out_are_as_good_as_shut_off(layout: Layout) -> None:
    """Without its columns a shape's posterior is that with the columns held at nothing."""
    noise = NoiseScales()
    found = solve(layout, noise, (Node(0.0, 0.0, 1.0),)).nodes[0]
    ev = layout.evidence
    own2 = noise.of_set[layout.capacity] ** 2 + ev.load_error_log**2
    variance = own2 + ev.time_error_log**2
    assert layout.jacobian is not None
    whole = find_posterior(
        layout.design, ev.log_load - layout.offset, np.sqrt(variance), ev.kind,
        prior_precision(layout, Shape()),
        jacobian=dataclasses.replace(layout.jacobian, weight=(own2 / variance)[layout.timed]),
        days=layout.days,
        day_sd=np.hypot(noise.day, PRIORS.practice * layout.new_day),
        part_sd=np.hypot(noise.capacity_day, PRIORS.practice * layout.new_part),
        weight=ev.weight, tolerance=1e-2,
    )  # fmt: skip
    rows = layout.path_rows(0, np.array([0.0, 30.0, 62.0]))
    assert rows @ found.mode == pytest.approx(rows @ whole.mode, abs=1e-4)
    assert found.variance(rows) == pytest.approx(whole.variance(rows), rel=1e-3)
    mean, variance_of = found.of_observations(layout.design, layout.days)
    other, variance_of_other = whole.of_observations(layout.design, layout.days)
    assert mean == pytest.approx(other, abs=1e-4)
    assert variance_of == pytest.approx(variance_of_other, rel=1e-2)


def test_first_sessions_are_practice(layout: Layout) -> None:
    """The day on which all series begin, and the part in which one does, may lie further off."""
    ev, days = layout.evidence, layout.days
    assert layout.new_day.tolist() == [d == ev.day.min() for d in np.unique(ev.day)]
    day_of_part = ev.day[days.part_start]
    assert layout.new_part.tolist() == (day_of_part == ev.day.min()).tolist()


def test_practice_widens_the_change() -> None:
    """A series known from before the block has a narrower change than one that begins with it."""
    rows = [hang(day, 14, failed_s=8.5) for day in DAYS]
    new = fit_rows(rows).series[0]
    known = fit_rows([hang(-43, 14, failed_s=8.5), *rows]).series[0]
    assert new.high_pct - new.low_pct > 1.02 * (known.high_pct - known.low_pct)


@pytest.mark.parametrize("seed", [31, 32, 33])
def test_shapes_are_weighed_by_the_log(seed: int) -> None:
    """Where grips part the parting shapes win, where nothing does they don't."""
    for world, parted in (("one grip, planned", True), ("ordinary, planned", False)):
        a = make(BY_NAME[world], 200_000 + seed)
        mixture = fit_strength(a.sets, a.block)._mixture
        assert mixture is not None
        apart = sum(
            w for w, s in zip(mixture.weight, mixture.shapes, strict=True)
            if s.apart > 1 or s.hands > 1
        )  # fmt: skip
        assert (apart > 0.5) == parted, (world, apart)
        assert mixture.weight.sum() == pytest.approx(1.0)


@pytest.mark.parametrize("seed", [42, 43, 44])
def test_errors_of_sets_are_weighed_by_the_log(seed: int) -> None:
    """Where sets are twice as noisy the larger error wins, where they are as usual it doesn't."""
    for world, noisy in (("noisy sets, planned", True), ("ordinary, planned", False)):
        a = make(BY_NAME[world], 200_000 + seed)
        mixture = fit_strength(a.sets, a.block)._mixture
        assert mixture is not None
        assert SET_FACTORS == ((1.8, 0.2),)
        larger = mixture.weight[mixture.set_factor > 1].sum()
        assert (larger > 0.5) == noisy, (world, larger)


@pytest.mark.parametrize("seed", [51, 52, 53])
def test_nodes_left_out_had_no_weight(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Days' noise is not tried further than where its worth has fallen off."""
    a = make(BY_NAME["ordinary, planned"], 200_000 + seed)
    short = fit_strength(a.sets, a.block)
    monkeypatch.setattr("gripbook.strength.model._FALLS", math.inf)
    for one, other in zip(short.series, fit_strength(a.sets, a.block).series, strict=True):
        assert one.change_pct == pytest.approx(other.change_pct, abs=0.03)
        assert one.low_pct == pytest.approx(other.low_pct, abs=0.05)


def test_all_shapes_but_one_at_no_weight_is_the_plain_model(
    layout: Layout, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without other shapes and errors `solve_shapes` is `solve`."""
    noise = NoiseScales()
    monkeypatch.setattr("gripbook.strength.model.SHAPES", ())
    monkeypatch.setattr("gripbook.strength.model.SET_FACTORS", ())
    monkeypatch.setattr("gripbook.strength.model._FALLS", math.inf)
    one, other = (
        solve(layout, noise, nodes_for(noise)),
        solve_shapes(layout, noise, nodes_for(noise)),
    )
    assert one.weight == pytest.approx(other.weight)


# --- doubt ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", [1, 2])
def test_unweighed_body_mass_is_named(seed: int) -> None:
    """With one weigh-in body mass is the first cause of doubt of every pull, else it is none."""
    for world, named in (("one weigh-in, planned", True), ("ordinary, planned", False)):
        a = make(BY_NAME[world], 200_000 + seed)
        for s in fit_strength(a.sets, a.block).series:
            causes = {d.cause: d for d in s.doubts}
            assert ("body_mass" in causes) == named
            if named and s.capacity == "pull":
                assert s.doubts[0].cause == "body_mass"
                assert causes["body_mass"].share > 0.2


def test_a_doubt_s_verdict_is_that_of_a_known_cause() -> None:
    """Fatigue that easy days free: without it the fit says so, and how much rests on it."""
    a = make(BY_NAME["taper, fewer sets, planned"].twin, 200_003)
    fit = fit_strength(a.sets, a.block)
    assert fit.evidence.tired.size
    for s in fit.series:
        doubt = next(d for d in s.doubts if d.cause == "fatigue")
        assert 0.05 <= doubt.share <= 1.0
        assert doubt.verdict in ("rise", "fall", "steady", "unclear")
        assert [d.share for d in s.doubts] == sorted((d.share for d in s.doubts), reverse=True)


def test_doubt_by_an_independent_route(athlete: Athlete) -> None:
    """
    Two weigh-ins at the ends of nine weeks: the share of body mass is what the variance of the
    change loses when the walk is taken out of the evidence (one node, no shapes).
    """
    sets = athlete.sets.copy()
    sets["body_mass_age_days"] = sets["day"].clip(lower=0)
    fit = fit_strength(sets, athlete.block)
    ev = gather_evidence(sets, athlete.block)
    at = Node(0.0, 0.0, 1.0)
    walked = solve(build_layout(ev), NoiseScales(), (at,))
    still = solve(
        build_layout(dataclasses.replace(ev, mass_log=np.zeros((len(ev), 0)))), NoiseScales(), (at,)
    )
    for k, s in enumerate(fit.series):
        ends = np.array([0.0, float(ev.last_day)])
        sd = [
            m.moments(np.diff(m.layout.path_rows(k, ends), axis=0))[1][0, 0]
            for m in (walked, still)
        ]
        share = next((d.share for d in s.doubts if d.cause == "body_mass"), 0.0)
        assert share == pytest.approx(1 - (sd[1] / sd[0]) ** 2, abs=0.15)


def test_pull_of_the_prior() -> None:
    """
    A large change is told smaller than the log alone says, none is not moved; one series and node:
    the log's own estimate is the mean over one less the share of variance left (normal algebra).
    """
    gain = fit_rows([hang(day, 14 + day / 3, failed_s=8.5) for day in DAYS]).series[0]
    still = fit_rows([hang(day, 14, failed_s=8.5) for day in DAYS]).series[0]
    assert gain.prior_pull_pct > 1.0
    assert abs(still.prior_pull_pct) < 0.5
    assert gain.verdict == "rise"


def test_prior_sd_of_a_change(athlete: Athlete) -> None:
    """Between that of the usual shape and that of the widest, in nine weeks."""
    fit = fit_strength(athlete.sets, athlete.block)
    weeks = fit.evidence.last_day / 7
    parts = (PRIORS.slope, PRIORS.capacity_slope, PRIORS.grip_slope, PRIORS.series_slope)
    usual = math.hypot(*parts) * math.sqrt(9 * weeks)
    for s in fit.series:
        assert usual < fit.prior_change_sd(s.key) < 2.5 * usual


# --- the fit against its own log ------------------------------------------------------------------


def test_chances_come_true() -> None:
    """Over some athletes sets given 80 % and more are done as often; the classes count each set."""
    said, done, sets = np.zeros(5), np.zeros(5), np.zeros(5)
    for seed in range(14):
        for world in ("ordinary, planned", "ordinary, club"):
            a = make(BY_NAME[world], 200_000 + seed)
            d = diagnose(fit_strength(a.sets, a.block))
            assert d.classes["sets"].sum() == d.chances["sets"].sum()
            assert d.classes["done"].sum() == d.chances["sets"][d.chances["done"]].sum()
            assert d.chances["chance"].between(0, 1).all()
            place = (d.classes["low"] * 5).round().astype(int)
            said[place] += d.classes["said"] * d.classes["sets"]
            done[place] += d.classes["done"]
            sets[place] += d.classes["sets"]
    off = (done - said) / sets
    # before a set too little is promised rather than too much
    assert abs(off[4]) < 0.06
    assert (off > -0.06).all()
    assert (np.diff(done / sets) > 0).all()


@pytest.mark.parametrize(("added", "named"), [(14.0, False), (32.0, True)])
def test_a_last_test_above_the_training_is_named(added: float, named: bool) -> None:
    """A last day 20 % above a level path is told with its distance; one on it is not."""
    rows = [hang(day, 14, failed_s=s) for day in range(0, 58, 3) for s in (8.5, 8.5)]
    rows += [hang(61, added, failed_s=8.5)] * 3
    found = diagnose(fit_rows(rows))
    assert ("last_day" in found.suspects) == named
    assert found.last_pct == found.days["off_pct"].iloc[-1]
    assert (found.last_pct > FAR_OFF * found.days["sd_pct"].iloc[-1]) == named
    assert found.days["sets"].sum() == len(rows)


def test_order_in_the_session_is_named() -> None:
    """Second sets that lie 12 % below the first, far beyond what tires, are told."""
    rows = [hang(day, kg, failed_s=8.5) for day in range(0, 63, 4) for kg in (20, 9, 20, 9)]
    found = diagnose(fit_rows(rows))
    assert "order" in found.suspects
    assert found.places["place"].tolist() == [0, 1, 2, 3]


@pytest.mark.parametrize(("most", "days"), [(24 * 12, 12), (24 * 12 - 1, 11), (24, 3)])
def test_the_latest_days_of_a_long_log_are_foretold(
    monkeypatch: pytest.MonkeyPatch, most: int, days: int
) -> None:
    """So many as the sets fitted for them allow, and never fewer than some."""
    assert (diagnostics.FEW_DAYS, diagnostics.MOST_SETS) == (10, 50_000)
    monkeypatch.setattr(diagnostics, "FEW_DAYS", 3)
    monkeypatch.setattr(diagnostics, "MOST_SETS", most)
    fit = fit_rows([hang(day, 10 + day % 3, failed_s=8.5) for day in range(0, 48, 2)])
    assert len(fit.evidence) == 24
    foretold = diagnose(fit).chances["day"].tolist()
    assert foretold == list(range(48 - 2 * days, 48, 2))


def test_nothing_to_check() -> None:
    """A fit without evidence says that there is nothing to check."""
    with pytest.raises(ValueError, match="no evidence"):
        diagnose(fit_rows([hang(1, 10, warmup=True)]))


def test_verdict_of_is_used_for_doubts() -> None:
    """The same rule tells verdict and what it would be."""
    assert verdict_of(0.97, 4.0, 0.5, 8.0, 3.0) == "rise"
