"""The short version of `make fuzz`: what was found before, and a few seconds of odd folders."""

from __future__ import annotations

import random

import pytest
from hypothesis import HealthCheck, given, settings

from tests.conftest import FILES as SMALL
from tests.fuzz import __main__ as fuzz
from tests.fuzz.folders import FOUND, by_bytes, check, check_adopted, damaged, structured, table

few = settings(
    max_examples=15, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True
)


@pytest.mark.parametrize("name", FOUND)
def test_found_before(name: str) -> None:
    """Each case that was once lost is read or refused in words, and can be reviewed."""
    check(FOUND[name](), reviewed=True)


@few
@given(structured())
def test_structured(files: dict[str, bytes]) -> None:
    """Rows used + rows refused = rows read, and every problem has words."""
    check(files)


@few
@given(by_bytes())
def test_by_bytes(files: dict[str, bytes]) -> None:
    """The same for raw bytes."""
    check(files)


@few
@given(table("hangs.csv"))
def test_adopted(data: bytes) -> None:
    """A spreadsheet of anything is taken, or refused in words."""
    check_adopted(data, "training.csv")


def test_what_is_lost_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """A reader that drops a row, or falls, doesn't pass."""
    from dataclasses import replace

    from tests.fuzz import folders

    files = {name: text.encode() for name, text in SMALL.items()}
    assert check(files) == "read"
    logs = folders.load_logs
    lost = lambda p: (r := logs(p), replace(r, reports=(replace(r.reports[0], rows_used=1),)))[1]  # noqa: E731
    monkeypatch.setattr(folders, "load_logs", lost)
    with pytest.raises(AssertionError):
        check(files)
    monkeypatch.setattr(folders, "load_logs", lambda _: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        check(files)


def test_without_atheris(monkeypatch: pytest.MonkeyPatch) -> None:
    """Guided fuzzing says that it did not run."""
    monkeypatch.setattr(fuzz, "find_spec", lambda _: None)
    said, fallen = fuzz.guided(0.1)
    assert said.startswith("guided: not run, atheris is not installed")
    assert fallen == []


def test_damage_is_damage() -> None:
    """The bytes change, in many ways, the same for the same seed."""
    data = SMALL["hangs.csv"].encode()
    made = {damaged(data, random.Random(n)) for n in range(50)}
    assert len(made) > 45
    assert damaged(data, random.Random(1)) == damaged(data, random.Random(1))
