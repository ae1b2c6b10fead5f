"""The short version of `make faults`: one kill, two runs at once, links."""

from __future__ import annotations

from pathlib import Path

import pytest

from gripbook.simulate import simulate_squad
from tests.faults.runs import finish, killed_at, links, tree, two_runs, whole

pytestmark = pytest.mark.notebook


def test_a_few_of_each(tmp_path: Path) -> None:
    """Each leaves, or the next run mends, the bytes of a run that nothing disturbed."""
    logs = tmp_path / "logs"
    simulate_squad(logs, 1, seed=2)
    wanted, seconds = whole(logs, tmp_path / "whole")
    killed_at(logs, tmp_path / "killed", 0.7 * seconds)
    assert finish(logs, tmp_path / "killed")[0] == 0
    assert tree(tmp_path / "killed") == wanted
    assert two_runs(logs, tmp_path / "two", wanted) == ""
    assert links(logs, tmp_path, wanted) == ""
