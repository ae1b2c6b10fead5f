"""Charts of the strength model."""

from __future__ import annotations

from pathlib import Path

import pytest

from gripbook import charts
from gripbook.logs import load_logs
from gripbook.reviews import review


def test_ends_are_in_order_of_load_with_their_interval(demo_logs_folder: Path) -> None:
    """Each grip and hand is one dot inside its own interval, the heaviest first."""
    r = review(load_logs(demo_logs_folder), "galo")
    drawn = charts.grips_at_the_end(r)
    assert drawn
    for chart in drawn:
        rows = chart.to_dict()["data"]["values"]
        assert len(rows) > 1
        loads = [row["kg"] for row in rows]
        assert loads == sorted(loads, reverse=True)
        assert all(row["low"] < row["kg"] < row["high"] for row in rows)


def test_ends_are_not_drawn_where_body_mass_is_hidden(demo_logs_folder: Path) -> None:
    """A load at the end would give a hidden body mass away."""
    logs = load_logs(demo_logs_folder)
    hidden = [a for a in logs.athlete_ids if not review(logs, a).athlete.show_body_mass]
    assert hidden
    for athlete in hidden:
        assert charts.grips_at_the_end(review(logs, athlete)) == ()


@pytest.mark.parametrize("grip", ["half_crimp", "open_four"])
def test_paths_can_be_chosen_by_grip(demo_logs_folder: Path, grip: str) -> None:
    """`strength_path(review, grip=...)` draws that grip's series and no other."""
    r = review(load_logs(demo_logs_folder), "arvo")
    wanted = [s for s in r.change.series if s.fit.ok and s.fit.grip == grip]
    assert len(charts.strength_path(r, grip=grip)) == len(wanted)
