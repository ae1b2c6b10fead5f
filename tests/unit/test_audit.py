"""An audit that could not look a package up doesn't pass for one without faults."""

from __future__ import annotations

import json
from typing import Any

import pytest

from tests.audit import summary

CLEAN = {"name": "one", "version": "1", "vulns": []}
FAULTY = {"name": "two", "version": "2", "vulns": [{"id": "X-1"}, {"id": "X-2"}]}
MISSED = {"name": "three", "skip_reason": "Dependency not found and could not be audited"}


@pytest.mark.parametrize(
    ("packages", "status", "said"),
    [
        ([CLEAN], 0, "1 packages checked, 0 known faults."),
        ([CLEAN, FAULTY], 1, "2 packages checked, 2 known faults.\ntwo 2: X-1\ntwo 2: X-2"),
        ([CLEAN, MISSED], 2, "1 packages checked, 0 known faults.\nNot checked, since nothing"),
        ([FAULTY, MISSED], 1, "1 packages checked, 2 known faults."),
        ([], 2, "0 packages checked, 0 known faults.\nNot checked"),
    ],
)
def test_what_an_audit_says(packages: list[dict[str, Any]], status: int, said: str) -> None:
    """Counts, faults by name, and what was missed."""
    text, code = summary(json.dumps({"dependencies": packages}))
    assert text.startswith(said)
    assert code == status


@pytest.mark.parametrize("text", ["", "null", "[]", "{}", "no"])
def test_an_audit_that_did_not_run(text: str) -> None:
    """Nothing came back: nothing was checked."""
    assert summary(text) == (
        "Nothing was checked: the list of known faults could not be reached.",
        2,
    )
