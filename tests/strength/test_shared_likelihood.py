"""What shapes share when a fit is found: the likelihood, and the equations of a first step."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from gripbook.strength import NoiseScales, gather_evidence
from gripbook.strength.evidence import AT_LEAST, AT_MOST, EXACT
from gripbook.strength.fit import nodes_for
from gripbook.strength.model import Layout, Node, Shape, build_layout, solve, solve_shapes
from gripbook.strength.solver import Days, Likelihood, Posterior, find_posterior
from tests.strength.worlds import WORLDS, make

BY_NAME = {w.name: w for w in WORLDS}
SEEDS = pytest.mark.parametrize("seed", [1, 2, 3])


def problem(seed: int, n: int = 40, p: int = 6) -> tuple[Likelihood, npt.NDArray[np.float64]]:
    """Random observations of ten days, a third of them bounds."""
    rng = np.random.default_rng(seed)
    design = rng.normal(size=(n, p))
    kind = rng.choice([EXACT, EXACT, AT_LEAST, AT_MOST], n)
    days = Days.of(np.repeat(np.arange(10), n // 10), np.tile([0, 0, 1, 1], n // 4))
    return (
        Likelihood(
            design, rng.normal(size=n), np.full(n, 0.5), kind,
            days=days, day_sd=0.4, part_sd=0.3, weight=rng.integers(1, 4, n).astype(float),
        ),
        np.full(p, 1.0),
    )  # fmt: skip


@SEEDS
def test_another_prior_from_the_same_start(seed: int) -> None:
    """One after the other from one start, each prior's posterior is that found from nothing."""
    likelihood, precision = problem(seed)
    start = likelihood.posterior(precision)
    for factor in (0.1, 1.0, 30.0):
        for first in (start, None):
            found = likelihood.posterior(factor * precision, first, tolerance=1e-14)
            alone = problem(seed)[0].posterior(factor * precision, tolerance=1e-14)
            assert found.mode == pytest.approx(alone.mode, abs=1e-8)
            assert found.day == pytest.approx(alone.day, abs=1e-8)
            assert found.log_evidence == pytest.approx(alone.log_evidence, abs=1e-7)
    # at its own mode there is nothing left to do
    assert likelihood.posterior(precision, start).steps == 1


@SEEDS
def test_a_start_of_more_or_fewer_unknowns(seed: int) -> None:
    """Where a start has other unknowns the ones in common are begun with, the others at nothing."""
    likelihood, precision = problem(seed)
    whole = likelihood.posterior(precision, tolerance=1e-14)
    fewer = Likelihood(
        likelihood.design[:, :4], likelihood.observed, np.full(40, 0.5), np.zeros(40, dtype=int),
        days=likelihood.days, day_sd=0.4, part_sd=0.3,
    )  # fmt: skip
    short = fewer.posterior(precision[:4], whole, tolerance=1e-14)
    assert short.mode == pytest.approx(fewer.posterior(precision[:4], tolerance=1e-14).mode)
    again = likelihood.posterior(precision, short, tolerance=1e-14)
    assert again.mode == pytest.approx(whole.mode, abs=1e-8)


def test_sums_of_days() -> None:
    """Stretches of sets and of parts are those of the labels."""
    rng = np.random.default_rng(4)
    day = np.sort(rng.integers(0, 6, 30))
    part = np.concatenate([np.sort(rng.integers(0, 3, (day == d).sum())) for d in np.unique(day)])
    days = Days.of(day, part)
    values = rng.normal(size=(30, 2))
    pairs = sorted(set(zip(day.tolist(), part.tolist(), strict=True)))
    by_part = [values[(day == d) & (part == c)].sum(axis=0) for d, c in pairs]
    sums = np.add.reduceat(values, days.part_start)
    assert sums == pytest.approx(np.array(by_part))
    assert days.part_of.tolist() == [pairs.index(p) for p in zip(day, part, strict=True)]
    by_day = [values[day == d].sum(axis=0) for d in np.unique(day)]
    assert np.add.reduceat(sums, days.day_start) == pytest.approx(np.array(by_day))
    assert [np.unique(day)[d] for d in days.day_of_part] == [d for d, _ in pairs]
    assert len(Days.of(np.zeros(0, dtype=int), np.zeros(0, dtype=int)).part_start) == 0


@SEEDS
def test_other_days_share_the_observations(seed: int) -> None:
    """With other SDs of days a likelihood is one built with them, and the first stays itself."""
    likelihood, precision = problem(seed)
    before = likelihood.posterior(precision)
    kind = np.full(40, EXACT)
    kind[likelihood.bound] = np.where(likelihood.sign < 0, AT_MOST, AT_LEAST)
    weight = np.ones(40)
    weight[likelihood.bound] = likelihood.times
    day_sd = np.linspace(0.1, 0.9, 10)
    other = likelihood.with_days(day_sd, 0.05).posterior(precision)
    built = find_posterior(
        likelihood.design, likelihood.observed, np.full(40, 0.5), kind, precision,
        days=likelihood.days, day_sd=day_sd, part_sd=0.05, weight=weight,
    )  # fmt: skip
    assert other.mode == pytest.approx(built.mode, abs=1e-12)
    assert other.log_evidence == pytest.approx(built.log_evidence)
    assert other.log_evidence != pytest.approx(before.log_evidence)
    assert likelihood.posterior(precision).log_evidence == before.log_evidence


def test_days_as_unknowns() -> None:
    """Bounds in some parts only, in all and in none, agree with days as unknowns like others."""
    rng = np.random.default_rng(8)
    n, p = 24, 3
    day, part = np.repeat(np.arange(4), 6), np.tile([0, 0, 1, 1, 1, 2], 4)
    days = Days.of(day, part)
    design, y = rng.normal(size=(n, p)), rng.normal(size=n)
    own = np.eye(12)[days.part_of]
    whole = np.hstack([design, np.eye(4)[day], own])
    for kind in (
        np.where(day == 1, AT_LEAST, EXACT), np.full(n, AT_LEAST), np.full(n, EXACT),
        rng.choice([EXACT, AT_LEAST, AT_MOST], n),
    ):  # fmt: skip
        apart = find_posterior(
            design, y, np.full(n, 0.5), kind, np.ones(p),
            days=days, day_sd=0.4, part_sd=0.3, tolerance=1e-16,
        )  # fmt: skip
        precision = np.concatenate([np.ones(p), np.full(4, 0.4**-2), np.full(12, 0.3**-2)])
        joint = find_posterior(whole, y, np.full(n, 0.5), kind, precision, tolerance=1e-16)
        assert np.concatenate([apart.mode, apart.day, apart.part]) == pytest.approx(
            joint.mode, abs=1e-9
        )
        unit = np.eye(p + 16)
        assert apart.variance(unit[:p, :p]) == pytest.approx(joint.variance(unit[:p]))
        of_day, of_part = apart.of_effects(days)
        assert np.concatenate([of_day, of_part]) == pytest.approx(joint.variance(unit[p:]))
        mean, variance = apart.of_observations(design, days)
        assert mean == pytest.approx(whole @ joint.mode, abs=1e-9)
        assert variance == pytest.approx(joint.variance(whole))


@pytest.fixture(scope="module", params=["ordinary, planned", "days with memory, club"])
def layout(request: pytest.FixtureRequest) -> Layout:
    """One athlete's."""
    a = make(BY_NAME[request.param], 200_071)
    return build_layout(gather_evidence(a.sets, a.block))


def test_each_shape_is_as_if_alone(layout: Layout) -> None:
    """Every node of a fit is what `solve` finds for that node by itself."""
    noise = NoiseScales()
    mixture = solve_shapes(layout, noise, nodes_for(noise))
    assert len({s.wander > 0 for s in mixture.shapes}) == 2
    rows = layout.form_rows(0, np.array([0.0, 40.0]))
    for i, shape in enumerate(mixture.shapes):
        node = Node(
            float(np.log(mixture.day_factor[i])), float(np.log(mixture.set_factor[i])), 1.0, shape
        )
        alone = solve(layout, noise, (node,)).nodes[0]
        found = mixture.nodes[i]
        # each stops within a hundredth of the log posterior, where its own start leads
        assert rows @ found.mode == pytest.approx(rows @ alone.mode, abs=2e-4)
        assert found.variance(rows) == pytest.approx(alone.variance(rows), rel=5e-3)
        assert found.log_evidence == pytest.approx(alone.log_evidence, abs=3e-2)


def test_shapes_cost_no_likelihood_of_their_own(
    layout: Layout, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nodes that differ by their priors alone share one: noise nodes, sets' errors, form."""
    built = []
    usual = Likelihood.__init__

    def counted(self: Likelihood, *given: object, **named: object) -> None:
        built.append(1)
        usual(self, *given, **named)  # type: ignore[arg-type]

    monkeypatch.setattr(Likelihood, "__init__", counted)
    noise = NoiseScales()
    solve_shapes(layout, noise, nodes_for(noise))
    # at most: four of days' noise, one of sets' error, one with form, one more by the likeliest set
    assert len(built) <= 7


@SEEDS
def test_find_posterior_is_a_likelihood_with_one_prior(seed: int) -> None:
    """The function and the class give the same."""
    likelihood, precision = problem(seed)
    kind = np.full(40, EXACT)
    kind[likelihood.bound] = np.where(likelihood.sign < 0, AT_MOST, AT_LEAST)
    weight = np.ones(40)
    weight[likelihood.bound] = likelihood.times
    found: Posterior = find_posterior(
        likelihood.design, likelihood.observed, np.full(40, 0.5), kind, precision,
        days=likelihood.days, day_sd=0.4, part_sd=0.3, weight=weight,
    )  # fmt: skip
    assert found.mode == pytest.approx(likelihood.posterior(precision).mode, abs=1e-12)


def test_shut_off_and_wide_shapes_keep_all_unknowns(layout: Layout) -> None:
    """A kept node has every unknown, what it left out with the spread of its prior."""
    post = solve(layout, NoiseScales(), (Node(0.0, 0.0, 1.0, Shape()),)).nodes[0]
    rows = np.eye(layout.unknowns)[layout.at["wander"]]
    assert len(post.mode) == layout.unknowns
    assert np.sqrt(post.variance(rows)) == pytest.approx(np.full(len(rows), 1e-3))
