"""Pages made by workers of a dask scheduler, one of which is killed midway."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

from gripbook.errors import GripbookError
from gripbook.logs import load_logs
from gripbook.report.run.batch import PageResult, render_reports
from gripbook.report.run.cluster import executor_at
from gripbook.simulate import simulate_squad

pytest.importorskip("distributed", reason="dask.distributed is not installed (extra `cluster`)")
pytestmark = [
    pytest.mark.notebook,
    pytest.mark.filterwarnings("default"),
    pytest.mark.usefixtures("one_server"),
]
ROOT = Path(__file__).parents[2]


def start(stack: ExitStack, *words: str) -> subprocess.Popen[str]:
    """A process of dask's own command line."""
    process = subprocess.Popen(
        [sys.executable, "-m", *words],
        stderr=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT), "DASK_DISTRIBUTED__DASHBOARD__LINK": ""},
    )
    stack.enter_context(process)  # waits for it, after the next has ended it
    stack.callback(process.kill)
    return process


def read_until(process: subprocess.Popen[str], pattern: str) -> str:
    """What the first line that matches says."""
    assert process.stderr
    for line in process.stderr:
        if found := re.search(pattern, line):
            return found[1]
    raise AssertionError(f"{process.args!r} ended without {pattern!r}")


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[tuple[str, list[subprocess.Popen[str]]]]:
    """Address of a scheduler on loopback, and its two workers."""
    with ExitStack() as stack:
        options = ["--host", "127.0.0.1", "--port", "0", "--no-dashboard"]
        scheduler = start(stack, "distributed.cli.dask_scheduler", *options)
        address = read_until(scheduler, r"Scheduler at:\s+(tcp://\S+)")
        options = ["--nthreads", "1", "--no-nanny", "--no-dashboard", "--host", "127.0.0.1"]
        options += ["--local-directory", str(tmp_path)]
        workers = [start(stack, "distributed.cli.dask_worker", address, *options) for _ in range(2)]
        for worker in workers:
            read_until(worker, r"(Registered to)")
        yield address, workers


def test_pages_from_a_cluster(
    cluster: tuple[str, list[subprocess.Popen[str]]], tmp_path: Path
) -> None:
    """All pages are made though a worker is killed midway, with the bytes of a run without one."""
    address, workers = cluster
    simulate_squad(tmp_path / "squad", 4, seed=4)
    logs = load_logs(tmp_path / "squad")
    made: list[str] = []

    def kill_one(page: PageResult, done: int, total: int) -> None:
        made.append(page.page)
        if len(made) == 1:
            workers[0].send_signal(signal.SIGKILL)

    with executor_at(address) as (executor, slots):
        assert slots == 2
        run = render_reports(
            logs, tmp_path / "far", executor=executor, workers=slots, progress=kill_one
        )
    assert workers[0].poll() == -signal.SIGKILL
    assert workers[1].poll() is None
    assert [p.status for p in run.pages] == ["rendered"] * 5
    here = render_reports(logs, tmp_path / "here")
    for path in here.out.iterdir():
        assert (run.out / path.name).read_bytes() == path.read_bytes(), path.name


def test_an_address_where_nobody_answers_is_told() -> None:
    """A wrong address ends in words, within the time given for it."""
    begun = time.monotonic()
    words = r"No scheduler answers at tcp://127\.0\.0\.1:9"
    with pytest.raises(GripbookError, match=words), executor_at("tcp://127.0.0.1:9", wait_s=1):
        pass
    assert time.monotonic() - begun < 20
