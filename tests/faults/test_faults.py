"""
The short version of `make faults`: two runs at once, links.

Kills and too little memory are in tests/notebook/test_batch_faults.py, a full disk in
tests/unit/test_folder_of_pages.py.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from gripbook.simulate import simulate_squad
from tests.faults import runs
from tests.faults.runs import finish, freeze, links, two_runs, whole

pytestmark = pytest.mark.notebook


def test_a_few_of_each(tmp_path: Path) -> None:
    """Each leaves the bytes of a run that nothing disturbed."""
    logs = tmp_path / "logs"
    simulate_squad(logs, 1, seed=2)
    wanted, _ = whole(logs, tmp_path / "whole")
    assert two_runs(logs, tmp_path / "two", wanted) == ""
    assert links(logs, tmp_path, wanted) == ""


def test_an_edit_meanwhile_changes_no_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Runs use a copy of the package; what stands in the copy is what runs."""
    monkeypatch.setattr(runs, "code_at", runs.ROOT)
    freeze(tmp_path)
    (tmp_path / "gripbook" / "cli.py").write_text("raise SystemExit(7)")
    for code in ((), ("-c", "import gripbook.cli")):
        assert finish(tmp_path, tmp_path, code=code)[0] == 7
