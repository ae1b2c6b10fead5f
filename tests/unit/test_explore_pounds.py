"""Pounds in the exploring notebook: the same log opened by an athlete in kg and by one in lb."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from gripbook.explore import (
    Explorer,
    answer,
    best_days,
    blocks,
    chances,
    distance,
    explorer_of,
    grips,
    periods,
    timeline,
    what_if,
    work_out,
)
from gripbook.logs import load_logs
from gripbook.report.notebook_view import flat
from gripbook.units import KG_PER_LB
from gripbook.words import fmt
from tests.conftest import FILES
from tests.explorers import DEMO, demo
from tests.unit.test_measured_climbed import two_blocks

pytestmark = pytest.mark.whole

VIEWS = [timeline, grips, what_if, distance, best_days, periods, blocks, answer]
KG_WORD = re.compile(r"\bkg\b|kilogram", re.IGNORECASE)


def in_pounds(folder: Path, athlete: str) -> Explorer:
    """The athlete of a log folder, whose `units` are set to pounds there."""
    file = folder / "athletes.csv"
    head, *lines = file.read_text(encoding="utf-8").splitlines()
    place = head.split(",").index("units")
    for i, line in enumerate(lines):
        cells = line.split(",")
        if cells[0] == athlete:
            lines[i] = ",".join([*cells[:place], "lb", *cells[place + 1 :]])
    file.write_text("\n".join([head, *lines]) + "\n", encoding="utf-8")
    return explorer_of(load_logs(folder), athlete)


@pytest.fixture(scope="module")
def pounds(tmp_path_factory: pytest.TempPathFactory) -> Explorer:
    """Arvo, who writes in pounds."""
    folder = tmp_path_factory.mktemp("pounds") / "logs"
    shutil.copytree(DEMO, folder)
    return in_pounds(folder, "arvo")


@pytest.fixture(scope="module")
def two(tmp_path_factory: pytest.TempPathFactory) -> tuple[Explorer, Explorer]:
    """Ada after two blocks, in kilograms and in pounds."""
    folder = tmp_path_factory.mktemp("two")
    for name, text in FILES.items():
        (folder / name).write_text(text, encoding="utf-8")
    two_blocks(folder)
    return explorer_of(load_logs(folder), "ada"), in_pounds(folder, "ada")


def spec_of(view: Any) -> dict[str, Any]:
    """The first chart among what a view gives."""
    spec: dict[str, Any] = next(p for p in flat([view]) if hasattr(p, "to_dict")).to_dict()
    return spec


def values(view: Any, name: str) -> list[float]:
    """All known values of a column of a chart's rows, in order."""
    data = [json.loads(rows) for rows in spec_of(view)["datasets"].values()]
    return [row[name] for rows in data for row in rows if row.get(name) is not None]


def said(view: Any) -> str:
    """All that a view's parts say: words, and what stands in a chart but for names of columns."""
    found = []
    for part in flat([view]):
        found.append(str(part))
        if hasattr(part, "to_dict"):
            text = json.dumps(part.to_dict(), ensure_ascii=False)
            found.append(re.sub(r'"field": "kg"|\\*"kg\\*":|datum\.kg', "", text))
    return "\n".join(found).replace("\u00a0", " ")


@pytest.mark.parametrize("view", VIEWS, ids=lambda v: v.__name__)
def test_no_view_says_kilograms(view: Any, pounds: Explorer) -> None:
    """Nothing that an athlete in pounds reads says kg; of one in kilograms it does, not lb."""
    assert not KG_WORD.search(said(view(pounds)))
    assert not re.search(r"\blb\b", said(view(demo("arvo"))))


def test_two_blocks_in_pounds(two: tuple[Explorer, Explorer]) -> None:
    """Heads and figures of the block before, too."""
    kg, lb = (said(blocks(x, capacity="hang")) for x in two)
    assert "heaviest finished (kg" in kg
    assert "heaviest finished (lb" in lb
    assert not KG_WORD.search(lb)
    assert values(blocks(two[1]), "kg") == pytest.approx(
        [v / KG_PER_LB for v in values(blocks(two[0]), "kg")], abs=0.002
    )


@pytest.mark.parametrize(
    ("view", "columns"),
    [
        (timeline, ("kg", "low_kg", "high_kg", "mass", "impulse")),
        (periods, ("kg", "low", "high")),
    ],
    ids=["timeline", "periods"],
)
def test_marks_stand_at_pounds(view: Any, columns: tuple[str, ...], pounds: Explorer) -> None:
    """Each load, strength, body mass and impulse is the one in kilograms over 0.45359237."""
    for column in columns:
        kg, lb = values(view(demo("arvo")), column), values(view(pounds), column)
        assert len(kg) > 5
        assert lb == pytest.approx([v / KG_PER_LB for v in kg], abs=0.002)


def test_time_and_sets_are_no_masses(pounds: Explorer) -> None:
    """Minutes and counts stay as they are."""
    for column in ("minutes", "sets"):
        assert values(timeline(pounds), column) == values(timeline(demo("arvo")), column)


def params(view: Any) -> dict[str, Any]:
    """A chart's controls by name."""
    return {p["name"]: p for p in spec_of(view)["params"]}


def test_what_if_counts_in_pounds(pounds: Explorer) -> None:
    """The slider steps by quarters of a pound; the chance is that of the weight in kilograms."""
    view = what_if(pounds)
    bind = params(view)["weight"]["bind"]
    assert bind["name"] == "Added weight (lb) "
    assert (4 * bind["step"]) == int(4 * bind["step"]) > 0
    assert bind["min"] % bind["step"] == pytest.approx(0, abs=1e-6)
    w = work_out(pounds)
    every = [row for text in spec_of(view)["datasets"].values() for row in json.loads(text)]
    rows = [row for row in every if row.get("chance") is not None]
    assert len(rows) > 20
    for row in rows[::7]:
        chance = pounds.review.fit.predict(
            w.key,
            edge_mm=row["edge"],
            load_kg=row["weight"] * KG_PER_LB + w.body_mass_kg,
            hang_s=row["length"],
        )
        assert row["chance"] == pytest.approx(100 * chance, abs=0.06)
        # the steps of the slider meet the rows
        steps = (row["weight"] - bind["min"]) / bind["step"]
        assert steps == pytest.approx(round(steps), abs=0.01)


@pytest.mark.parametrize(
    ("unit", "plates_kg", "of_load", "step"),
    [
        ("kg", (), False, 1.25),
        ("kg", (), True, 2.5),
        ("kg", (0.49, 1.0, 2.5), False, 1.0),
        ("lb", (), False, 2.5 * KG_PER_LB),
        ("lb", (), True, 5 * KG_PER_LB),
        ("lb", (1.13, 2.27, 4.54), False, 2.5 * KG_PER_LB),
        ("lb", (1.13,), True, 5 * KG_PER_LB),
        ("lb", (0.57, 1.13), False, 1.25 * KG_PER_LB),
    ],
)
def test_steps_of_weight(
    unit: str, plates_kg: tuple[float, ...], of_load: bool, step: float
) -> None:
    """The least plate of half a kilogram or more; in pounds to a quarter of one."""
    with fmt.in_mass_unit(unit):
        assert chances._step_kg(plates_kg, of_load=of_load) == pytest.approx(step, abs=1e-9)


def test_a_target_is_in_pounds(pounds: Explorer) -> None:
    """First target on a whole step of 5 lb; its line and strength are those of kilograms."""
    view = distance(pounds)
    goal = params(view)["goal"]
    assert goal["value"] % 5 == pytest.approx(0, abs=1e-6)
    assert goal["bind"]["name"] == "Target, added (lb) "
    asked = said(distance(pounds, added_kg=45))
    assert "A hang of 10 s, half crimp, both hands on 20 mm, +99.21 lb added: " in asked
    for column in ("middle", "low", "high"):
        kg, lb = (values(distance(x), column) for x in (demo("arvo"), pounds))
        assert lb == pytest.approx([v / KG_PER_LB for v in kg], abs=0.002)


def test_one_answer_in_pounds(pounds: Explorer) -> None:
    """The weight asked about, and what was done, in pounds; the chance is the same."""
    kg, lb = (str(answer(x, edge_mm=18, added_kg=30)) for x in (demo("arvo"), pounds))
    kg, lb = (text.replace("\u00a0", " ") for text in (kg, lb))
    assert "+66.14 lb added: finished" in lb
    assert "the most is +22.05 lb." in lb
    assert re.sub(r"[+\d.]+ (kg|lb)", "", kg) == re.sub(r"[+\d.]+ (kg|lb)", "", lb)


def test_units_of_the_demo_squad() -> None:
    """Galo of the demo squad writes in pounds: no view of his says kilograms."""
    galo = demo("galo")
    assert galo.athlete.units == "lb"
    for view in VIEWS:
        assert not KG_WORD.search(said(view(galo)))
