"""
The short version of `make faults`: two runs at once, links.

Kills and too little memory are in tests/notebook/test_batch_faults.py, a full disk in
tests/unit/test_folder_of_pages.py.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from gripbook.simulate import simulate_squad
from tests.faults.runs import links, two_runs, whole

pytestmark = pytest.mark.notebook


def test_a_few_of_each(tmp_path: Path) -> None:
    """Each leaves the bytes of a run that nothing disturbed."""
    logs = tmp_path / "logs"
    simulate_squad(logs, 1, seed=2)
    wanted, _ = whole(logs, tmp_path / "whole")
    assert two_runs(logs, tmp_path / "two", wanted) == ""
    assert links(logs, tmp_path, wanted) == ""
