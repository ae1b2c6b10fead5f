"""One run at a time in a folder of pages."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
import types
from pathlib import Path

import pytest

from gripbook.report.run import lock
from gripbook.report.run.lock import LOCK, FolderHeldError, folder_lock

ROOT = Path(__file__).parents[2]
HOLD = """
import sys, time
from pathlib import Path
from gripbook.report.run.lock import folder_lock
with folder_lock(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(600)
"""


def test_the_second_says_who_holds_it(tmp_path: Path) -> None:
    """With the process and since when; afterwards the folder is free and nothing is left."""
    with folder_lock(tmp_path):
        words = rf"is in use: process {os.getpid()} on .* since 20\d\d-\d\d-\d\d \d\d:\d\d:\d\d"
        with pytest.raises(FolderHeldError, match=words), folder_lock(tmp_path):
            pass
        assert (tmp_path / LOCK).exists()
    with folder_lock(tmp_path):
        pass
    assert list(tmp_path.iterdir()) == []


def test_a_dead_process_holds_nothing(tmp_path: Path) -> None:
    """Held as long as its process lives, however that ends; then taken over."""
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(tmp_path)],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    ) as other:
        try:
            assert other.stdout
            assert other.stdout.readline() == "held\n"
            with (
                pytest.raises(FolderHeldError, match=f"process {other.pid} "),
                folder_lock(tmp_path),
            ):
                pass
        finally:
            other.kill()
    assert (tmp_path / LOCK).exists()  # a killed process takes nothing away
    with folder_lock(tmp_path):
        pass
    assert list(tmp_path.iterdir()) == []


def test_words_of_nobody(tmp_path: Path) -> None:
    """A lock without readable words is still a lock."""
    with folder_lock(tmp_path):
        (tmp_path / LOCK).write_bytes(b"\xff{")
        with pytest.raises(FolderHeldError, match="another process"), folder_lock(tmp_path):
            pass


def test_on_windows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without fcntl a byte far behind the words is locked, and given back."""
    calls: list[tuple[str, int]] = []
    held = False

    def locking(handle: int, how: str, count: int) -> None:
        nonlocal held
        calls.append((how, os.lseek(handle, 0, os.SEEK_CUR)))
        if how == "lock" and held:
            raise OSError(errno.EACCES, "Permission denied")
        held = how == "lock"
        assert count == 1

    fake = types.SimpleNamespace(LK_NBLCK="lock", LK_UNLCK="unlock", locking=locking)
    monkeypatch.setitem(sys.modules, "msvcrt", fake)
    monkeypatch.setitem(sys.modules, "fcntl", None)
    with folder_lock(tmp_path):
        with pytest.raises(FolderHeldError, match=f"process {os.getpid()} "), folder_lock(tmp_path):
            pass
        assert held
    assert not held
    assert {place for _, place in calls} == {lock._FAR}
    assert list(tmp_path.iterdir()) == []


def test_a_disk_without_locks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Some network disks keep none: the run goes on."""

    def none(*_: object) -> None:
        raise OSError(errno.ENOLCK, "No locks available")

    fake = types.SimpleNamespace(LOCK_EX=2, LOCK_NB=4, LOCK_UN=8, flock=none)
    monkeypatch.setitem(sys.modules, "fcntl", fake)
    with folder_lock(tmp_path):
        pass
    assert list(tmp_path.iterdir()) == []
