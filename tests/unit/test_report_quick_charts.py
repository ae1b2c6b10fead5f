"""Charts made without Altair's checks are the charts that Altair makes."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import altair as alt
import pytest
from altair.utils import schemapi

from gripbook.explore import Explorer, periods, timeline, what_if
from gripbook.report import notebook_view, quick_charts
from tests.reviewed import explored

pytestmark = pytest.mark.whole

DEMO = Path(__file__).parents[2] / "data_demo"


@pytest.fixture(autouse=True)
def _as_it_was() -> Iterator[None]:
    yield
    quick_charts.switch(False)


def charts_of(x: Explorer) -> list[Any]:
    """Every chart of the exploring notebook, made now."""
    parts = notebook_view.flat([timeline(x), periods(x), what_if(x)])
    return [part for part in parts if hasattr(part, "to_dict")]


CONTEXT = {"pre_transform": False}


@pytest.mark.parametrize("athlete", ["arvo", "dova"])
def test_the_same_specifications(athlete: str) -> None:
    """All charts of a notebook come out equal."""
    own = explored(DEMO, athlete)
    altairs = [chart.to_dict(context=CONTEXT) for chart in charts_of(own)]
    quick_charts.switch(True)
    ours = [quick_charts.specification(chart) for chart in charts_of(own)]
    assert len(ours) >= 2
    assert ours == altairs


def test_the_two_ways_take_turns() -> None:
    """Equal each time, and Altair's own is as it was before ours."""
    own = explored(DEMO, "hesk")
    altairs = [chart.to_dict(context=CONTEXT) for chart in charts_of(own)]
    quick_charts.switch(True)
    for _ in range(2):
        assert [quick_charts.specification(chart) for chart in charts_of(own)] == altairs
    quick_charts.switch(False)
    assert len(altairs) >= 2
    assert [chart.to_dict(context=CONTEXT) for chart in charts_of(own)] == altairs


def test_altair_is_as_it_was_afterwards() -> None:
    """Switched off, Altair refuses a faulty chart again, and copies deeply."""
    before = {name: getattr(schemapi, name) for name in quick_charts._ALTAIRS}
    quick_charts.switch(True)
    quick_charts.switch(False)
    assert {name: getattr(schemapi, name) for name in quick_charts._ALTAIRS} == before
    with pytest.raises(schemapi.SchemaValidationError):
        alt.X(field="a", type="quantitative", scale=alt.Scale(padding="wide")).to_dict()


def test_a_copy_can_be_changed_alone() -> None:
    """What is set on a copy isn't set on the chart it was copied from."""
    quick_charts.switch(True)
    x = alt.X(field="a", type="nominal")
    chart = alt.Chart(alt.Data(values=[{"a": 1}])).mark_point(size=9).encode(x)
    copied = chart.copy()
    copied.encoding.x.title = "changed"
    copied.mark.size = 99
    assert quick_charts.specification(chart)["encoding"]["x"] == {"field": "a", "type": "nominal"}
    assert quick_charts.specification(chart)["mark"] == {"type": "point", "size": 9}
