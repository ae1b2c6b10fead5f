"""Grips and hands against one another at the block's end."""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest

from gripbook.charts.ends import draw_ends
from tests.demo_pictures import demo_review


def _marks(spec: dict[str, Any], kind: str) -> list[dict[str, Any]]:
    """The rows of the layers of one kind of mark that stand on the scale of loads."""
    return [
        row
        for layer in spec["layer"]
        if layer["mark"]["type"] == kind and "tip" in layer["data"]["values"][0]
        for row in layer["data"]["values"]
    ]


def test_ends_are_in_order_of_load_with_their_interval() -> None:
    """Each grip and hand is one dot inside its own interval, the heaviest first."""
    change = demo_review("galo").change
    pulls = sorted(
        (s for s in change.series if s.capacity == "pull"), key=lambda s: s.end_kg, reverse=True
    )
    assert len(pulls) > 1
    backwards = dataclasses.replace(change, series=tuple(reversed(pulls)))
    picture = draw_ends(backwards)
    assert picture is not None
    for spec in (picture.wide, picture.narrow):
        dots, bars = _marks(spec, "point"), _marks(spec, "rule")
        assert [row["x"] for row in dots] == pytest.approx([s.end_kg for s in pulls])
        assert [row["y"] for row in dots] == sorted(row["y"] for row in dots)
        assert [row["x"] for row in bars] == pytest.approx([s.fit.end_low_kg for s in pulls])
        assert [row["x2"] for row in bars] == pytest.approx([s.fit.end_high_kg for s in pulls])
        assert all(b["x"] < d["x"] < b["x2"] for b, d in zip(bars, dots, strict=True))
        assert [b["y"] for b in bars] == [d["y"] for d in dots]


def test_one_series_of_a_capacity_is_no_comparison() -> None:
    """With nothing to stand against there is no picture."""
    change = demo_review("galo").change
    one = next(s for s in change.series if s.capacity == "pull")
    assert draw_ends(dataclasses.replace(change, series=(one,))) is None
