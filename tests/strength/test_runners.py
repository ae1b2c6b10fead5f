"""The long checks themselves: what is kept is not done again, and weights mix as a fit does."""

from __future__ import annotations

from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest

from gripbook.strength import fit_strength
from gripbook.strength.model import SHAPES, Shape
from tests.strength import calibrate
from tests.strength.calibrate import Seen, jobs_of, look, looked, together
from tests.strength.weights import MORE_FORM, PARTS, factors, kept, rows_under
from tests.strength.worlds import WORLDS, make

BY_NAME = {w.name: w for w in WORLDS}


def test_what_is_kept_is_not_done_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A second run reads the athletes of the first; other seeds, worlds and twins are looked at."""
    world = BY_NAME["mixed, club"]
    _, _, first = looked((world, False, 7, 1, tmp_path))
    assert first.said.size > 0
    monkeypatch.setattr(calibrate, "look", lambda *_: pytest.fail("looked again"))
    _, _, again = looked((world, False, 7, 1, tmp_path))
    for f in fields(Seen):
        np.testing.assert_array_equal(getattr(again, f.name), getattr(first, f.name))
    for other in ((world, True, 7, 1), (world, False, 8, 1), (world, False, 7, 2)):
        with pytest.raises(pytest.fail.Exception):
            looked((*other, tmp_path))
    assert len(list(tmp_path.iterdir())) == 1


def test_several_looks_are_one() -> None:
    """Two athletes looked at apart are the two looked at together."""
    world = BY_NAME["mixed, planned"]
    both, apart = look(world, range(3, 5)), [look(world, [3]), look(world, [4])]
    for f in fields(Seen):
        np.testing.assert_array_equal(getattr(together(apart), f.name), getattr(both, f.name))


def test_worlds_have_twins_that_differ() -> None:
    """A twin for each world in which nothing else tells who stays as they were, and no other's."""
    found = jobs_of()
    assert [w for w, still in found if not still] == list(WORLDS)
    twins = [w for w, still in found if still]
    assert len({replace(w.twin, name="") for w in twins}) == len(twins)
    names = {w.name.rsplit(",", 1)[0] for w in twins}
    assert names.isdisjoint({"beginner", "gain 12 %", "mixed", "one grip", "hands apart"})
    assert {"ordinary", "scale off", "days with memory", "taper, fewer sets"} <= names
    assert [w for w, _ in jobs_of("^(beg|gain)")] == [w for w in WORLDS if w.change > 0.1]
    assert jobs_of(which="still") == [(w, True) for w in twins]
    assert not any(still for _, still in jobs_of(which="changed"))


@pytest.mark.parametrize("seed", [11, 12])
def test_weights_as_they_are_give_the_fit(seed: int) -> None:
    """Mixed anew with the model's weights the rows are the fit's; with others they differ."""
    world = BY_NAME["ordinary, club"]
    athletes = kept(world, [seed])
    a = make(world, seed)
    told = [s for s in fit_strength(a.sets, a.block).series if np.isfinite(s.change_pct)]
    rows = rows_under(athletes, factors()["as they are"])
    width = [np.log1p(s.high_pct / 100) - np.log1p(s.low_pct / 100) for s in told]
    # nodes of less than 0.2 % are in the rows, too
    assert [2 * r.half_width for r in rows] == pytest.approx(width, abs=1e-3)
    assert [r.rise for r in rows] == [s.verdict == "rise" for s in told]
    narrow = rows_under(athletes, factors()["a quarter"])
    assert sum(r.half_width for r in narrow) < sum(r.half_width for r in rows)


def test_factors_keep_the_whole() -> None:
    """Weights of each setting sum to one with the usual shape's; a part is that part of each."""
    usual = 1.0 - sum(w for _, w in SHAPES)
    for name, factor in factors().items():
        total = usual * factor[Shape()] + sum(w * factor[s] for s, w in SHAPES)
        assert total == pytest.approx(1.0), name
        assert factor[Shape()] > 0
        if name in PARTS:
            assert [factor[s] for s, _ in SHAPES] == pytest.approx([PARTS[name]] * len(SHAPES))
    more = factors()[MORE_FORM]
    assert all((more[s] > 1) == (s.wander > 0) for s, _ in SHAPES)
