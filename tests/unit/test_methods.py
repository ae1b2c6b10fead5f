"""The checks of formulas, and the notebook that shows them."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from gripbook import methods
from gripbook.derive.loading import PULL_S
from gripbook.derive.measures import OwnError
from gripbook.logs.block import Limits
from gripbook.report.run.notebooks import load_notebook
from gripbook.reviews.change_facts import PROBABLE
from gripbook.reviews.proposal.choices import Choices
from gripbook.strength.endurance import REPEATER_FLOOR
from gripbook.strength.fit import SURE
from gripbook.strength.model import PRIORS
from gripbook.units import KG_PER_LB, STANDARD_GRAVITY

Check = Callable[[], pd.DataFrame]


@pytest.mark.parametrize("check", methods.CHECKS, ids=lambda c: c.__name__)
def test_every_formula_agrees(check: Check) -> None:
    """Each check has rows that name what was compared, both figures, the rule and the source."""
    table = check()
    assert list(table.columns) == ["here", "there", "agrees if", "source"]
    assert len(table) >= 2
    assert (table != "").all(axis=None)


def _scaled(name: str, factor: float) -> tuple[str, object]:
    """A function of the module whose result is that much larger."""
    before = getattr(methods, name)
    return name, lambda *a, **k: before(*a, **k) * factor


def _wider(name: str) -> tuple[str, object]:
    """The ranges of the module, a tenth wider."""
    before = getattr(methods, name)

    def made(*a: object, **k: object) -> object:
        found = before(*a, **k)
        return replace(found, low=found.low - 0.1 * abs(found.low), high=found.high * 1.1)

    return name, made


BROKEN: list[tuple[Check, Callable[[], tuple[str, object]]]] = [
    (methods.check_force, lambda: _scaled("load_on_fingers_kg", 1.01)),
    (methods.check_edges, lambda: ("PRIORS", replace(PRIORS, edge_mean=0.36))),
    (methods.check_holds, lambda: _scaled("rohmert_seconds", 1.01)),
    (methods.check_repeaters, lambda: ("REPEATER_FLOOR", 0.64)),
    (methods.check_fading, lambda: ("PRIORS", replace(PRIORS, fading=(0.02, 0.012, 0.008)))),
    (methods.check_work, lambda: ("PULL_S", 4.0)),
    (methods.check_squad, lambda: ("spread_range", lambda *_: (0.34, 1.054))),
    (methods.check_ranges, lambda: _wider("interval")),
    (methods.check_ranges, lambda: ("pooled_error", lambda g: OwnError(20.0, 17))),
    (methods.check_verdicts, lambda: ("verdict_of", lambda *_: "unclear")),
    (methods.check_design, lambda: ("smallest_rises", lambda *_a, **_k: {"x": 0.07})),
    (methods.check_proposal, lambda: ("easier_weeks", lambda *_: (5, 10))),
    (methods.check_proposal, lambda: ("decide", lambda *_: (12.5, ()))),
    (methods.check_frequency, lambda: ("Limits", lambda: Limits(fingers_per_week=4))),
    (methods.check_strength, lambda: ("_NILE", (1121, *methods._NILE[1:]))),
]


@pytest.mark.parametrize(
    ("check", "broken"), BROKEN, ids=[f"{c.__name__}-{i}" for i, (c, _) in enumerate(BROKEN)]
)
def test_a_wrong_figure_stops_the_check(
    check: Check, broken: Callable[[], tuple[str, object]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A formula that gives something else than its source raises, and says which figure it is."""
    monkeypatch.setattr(methods, *broken())
    with pytest.raises(methods.CheckFailedError, match=r" here, .* there "):
        check()


def test_a_figure_that_is_none_agrees_with_nothing() -> None:
    """NaN is no agreement, neither with a figure nor with a range."""
    table = methods._Checks()
    with pytest.raises(methods.CheckFailedError):
        table.near("x", float("nan"), 1.0, 10.0, "kg", "nobody")
    with pytest.raises(methods.CheckFailedError):
        table.between("x", float("nan"), 0.0, 10.0, "kg", "nobody")


def test_the_notebook_shows_every_check_under_its_text() -> None:
    """Each check has a cell, in the order of `CHECKS`, right under the text of its formula."""
    cells = load_notebook("methods").cells
    calls = [c.source for c in cells if c.cell_type == "code"]
    assert calls == [
        "import gripbook as gb",
        *(f"gb.methods.{c.__name__}()" for c in methods.CHECKS),
    ]
    for above, below in zip(cells[2::2], cells[3::2], strict=True):
        assert (above.cell_type, below.cell_type) == ("markdown", "code")
        assert above.source.startswith("## ")


def test_numbers_in_the_texts_are_those_that_are_used() -> None:
    """A figure written in the notebook is the one that the package uses."""
    text = {c.id.removeprefix("methods-"): c.source for c in load_notebook("methods").cells}
    c = Choices()
    used = {
        "force": [f"{STANDARD_GRAVITY} m/s", f"{KG_PER_LB} kg"],
        "edges": [f"{PRIORS.edge_mean:g} \u00b1 {PRIORS.edge:g}", f"{c.smallest_edge_mm:g} mm"],
        "repeaters": [f"critical share of {REPEATER_FLOOR:g}"],
        "fading": [
            "{:g} % a set for hangs, {:g} % for repeaters and {:g} % for pulls".format(
                *(100 * x for x in PRIORS.fading)
            )
        ],
        "work": [f"counts {PULL_S:g} s"],
        "frequency": [f"limit is {Limits().fingers_per_week:g} days"],
        "verdicts": [
            f"rise {SURE:.0%}".replace("%", " %"),
            f"{100 * PROBABLE:g} to {100 * SURE:g} %",
        ],
        "proposal": [
            f"{100 * c.chance:g} % chance",
            f"{c.step_kg:g} kg or {c.step_pct:g} %",
            f"{c.step_one_hand_kg:g} kg or {c.step_one_hand_pct:g} %",
            f"{100 * c.keep_share:g} % of the last load",
            f"at most {c.loading_weeks} loading weeks",
        ],
    }
    for part, figures in used.items():
        for figure in figures:
            assert re.search(rf"(?<!\d){re.escape(figure)}", text[part]), (part, figure)


def test_constants_of_the_hold_curve_are_those_in_the_text() -> None:
    """The curve as written gives the drop that the package uses."""
    text = next(c.source for c in load_notebook("methods").cells if c.id == "methods-holds")
    a, t0, b, t1 = (
        float(x)
        for x in re.search(
            r"\*\*([\d.]+) ln\(\(T \+ (\d+)\).*\u2212 ([\d.]+) ln\(\(T \+ (\d+)\)", text
        ).groups()  # type: ignore[union-attr]
    )
    seconds = np.array([5.0, 30.0, 60.0])
    written = a * np.log((seconds + t0) / (10 + t0)) - b * np.log((seconds + t1) / (10 + t1))
    assert methods.hold_drop(seconds, 10.0).value == pytest.approx(written, abs=1e-12)
