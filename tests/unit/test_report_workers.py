"""A job that goes wrong in whatever way costs itself, and the next one is done."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from gripbook.report.run import worker
from gripbook.report.run.workers import CAN_FORK, WorkerEndedError, Workers

pytestmark = pytest.mark.whole

# Jobs must be importable in the worker, so they are small functions of the standard library; a
# module of their own would do as well.
KINDS = [pytest.param(True, marks=pytest.mark.skipif(not CAN_FORK, reason="no fork")), False]


@pytest.fixture(scope="module", params=KINDS, ids=["fork", "spawn"])
def pool(request: pytest.FixtureRequest) -> Iterator[Workers]:
    """One worker with a limit of 3 s and 800 MB."""
    with Workers(1, timeout_s=3, memory_mb=800, fork=request.param) as workers:
        yield workers


def run_code(code: str) -> Any:
    """A job: run code, give what it leaves in `out`."""
    space: dict[str, Any] = {"note": worker.note}
    exec(code, space)
    return space.get("out")


@pytest.mark.parametrize(
    ("code", "reason"),
    [
        ("import os; note('begun'); os._exit(3)", "exit status 3|was killed"),
        ("import os, signal; note('begun'); os.kill(os.getpid(), 11)", "SIGSEGV|was killed"),
        ("note('begun')\nwhile True: pass", "took longer than 3 s"),
        ("import time; note('begun'); time.sleep(60)", "took longer than 3 s"),
    ],
)
def test_an_ended_process_costs_its_job(pool: Workers, code: str, reason: str) -> None:
    """The job's future says how it ended and keeps its notes; the next job is done."""
    with pytest.raises(WorkerEndedError, match=reason) as caught:
        pool.submit(run_code, code).result(30)
    assert caught.value.notes == ["begun"]
    assert pool.submit(run_code, "out = 1 + 1").result(30) == 2


def test_an_exception_comes_back(pool: Workers) -> None:
    """What a job raises its future raises, with its type and words."""
    with pytest.raises(ZeroDivisionError, match="division by zero"):
        pool.submit(run_code, "1 / 0").result(30)


class UnreadableError(Exception):
    """Can be pickled, but not read back."""

    def __init__(self, one: int, two: int) -> None:
        super().__init__("words")


def fail_unreadably() -> None:
    """A job."""
    raise UnreadableError(1, 2)


def test_what_cannot_be_read_back_costs_its_job(pool: Workers) -> None:
    """An exception that this side can't read is an error here, and the next job is done."""
    with pytest.raises(TypeError, match="two"):
        pool.submit(fail_unreadably).result(30)
    with pytest.raises(Exception, match=r"(?i)pickle"):
        pool.submit(len, threading.Lock()).result(30)
    assert pool.submit(len, "abc").result(30) == 3


def test_what_cannot_be_pickled_is_told(pool: Workers) -> None:
    """A result that can't be sent is an error with words, not a hang."""
    with pytest.raises(RuntimeError, match=r"(?i)pickle"):
        pool.submit(run_code, "out = lambda: 1").result(30)


@pytest.mark.skipif(sys.platform != "linux", reason="the limit is kept on Linux alone")
def test_eating_memory_raises_in_the_job(pool: Workers) -> None:
    """Above the limit a job gets MemoryError; the next job has the memory again."""
    with pytest.raises(MemoryError):
        pool.submit(run_code, "eaten = [bytes(50_000_000) for _ in range(40)]").result(30)
    assert pool.submit(run_code, "out = len(bytes(50_000_000))").result(30) == 50_000_000


def test_large_messages_arrive(pool: Workers) -> None:
    """Ten megabytes there and back."""
    assert pool.submit(len, b"x" * 10_000_000).result(30) == 10_000_000
    assert len(pool.submit(run_code, "out = b'x' * 10_000_000").result(30)) == 10_000_000


#: A job whose process ends when half of a message is on its way.
DIES_SENDING = """
import os
from gripbook.report.run import worker
class Half:
    def write(self, data, to=worker._owner):
        to.write(data[:len(data) // 2])
        to.flush()
        os.kill(os.getpid(), 9)
worker._owner = Half()
note({size})
"""


@pytest.mark.parametrize("size", ["'a' * 10", "b'x' * 1_000_000"])
def test_killed_while_it_sends(pool: Workers, size: str) -> None:
    """It is noticed at once, not when its time is up, and the next job is done."""
    pool.submit(run_code, "").result(30)
    begun = time.monotonic()
    with pytest.raises(WorkerEndedError, match="was killed"):
        pool.submit(run_code, DIES_SENDING.format(size=size)).result(30)
    assert time.monotonic() - begun < 2.5  # the limit is 3 s
    assert pool.submit(run_code, "out = 1 + 1").result(30) == 2


@pytest.mark.skipif(not CAN_FORK, reason="no fork")
@pytest.mark.usefixtures("one_server")
def test_a_sibling_amid_a_message_is_no_fault() -> None:
    """What one worker sends says nothing of another: both have a line of their own."""
    with Workers(2, fork=True) as pool:
        pool.submit(run_code, "").result(60)
        slow = pool.submit(
            run_code,
            "import time; from gripbook.report.run import worker; "
            "worker._amid[0] = 1; time.sleep(1); worker._amid[0] = 0; out = 1",
        )
        others = [pool.submit(run_code, "out = 2") for _ in range(5)]
        assert [f.result(30) for f in others] == [2] * 5
        assert slow.result(30) == 1


@pytest.mark.skipif(not CAN_FORK, reason="no fork")
@pytest.mark.usefixtures("one_server")
def test_no_state_passes_from_job_to_job() -> None:
    """With fork, what a job does to its process is gone for the next."""
    leave = "import os, sys, pandas as pd; os.environ['LEFT'] = '1'; sys.left = 1; "
    leave += "os.chdir('/'); pd.options.display.max_rows = 7"
    look = "import os, sys, pandas as pd; "
    look += "out = ('LEFT' in os.environ, hasattr(sys, 'left'), os.getcwd(), "
    look += "pd.options.display.max_rows)"
    with Workers(1, fork=True) as pool:
        before = pool.submit(run_code, look).result(60)
        pool.submit(run_code, leave).result(60)
        assert pool.submit(run_code, look).result(60) == before
    assert before[:2] == (False, False)


@pytest.mark.skipif(sys.platform != "linux", reason="looks into /proc")
@pytest.mark.usefixtures("one_server")
def test_the_server_has_one_thread() -> None:
    """A thread in the server could hold a lock that its forks would wait for for ever."""
    with Workers(1, fork=True) as pool:
        assert pool.submit(run_code, "import sys; out = 'vl_convert' in sys.modules").result() is (
            False
        )
        assert pool._server is not None
        assert len(os.listdir(f"/proc/{pool._server.python.process.pid}/task")) == 1


def test_what_does_not_start_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A worker that can't import says so, with the last line it said."""
    monkeypatch.setattr(sys, "path", [])
    for fork in {CAN_FORK, False}:
        with (
            Workers(1, fork=fork) as pool,
            pytest.raises(Exception, match=r"did not start: .*Error"),
        ):
            pool.submit(len, "").result(30)


def alive(pid: int) -> bool:
    """Whether a process runs (one that has ended and waits to be collected doesn't)."""
    try:
        return "Z" not in Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0]
    except OSError:
        return False


def wait_until(true: Callable[[], bool], seconds: float) -> bool:
    """Look every 20 ms, for so long."""
    end = time.monotonic() + seconds
    while not true():
        if time.monotonic() > end:
            return False
        time.sleep(0.02)
    return True


PARENT = """
import sys, os
from gripbook.report.run.workers import Workers
from tests.unit.test_report_workers import run_code
if __name__ == "__main__":
    with Workers(2, fork={fork}) as pool:
        pool.submit(run_code, "1").result()
        jobs = [pool.submit(run_code, "while True: pass") for _ in range(4)]
        print("looping", flush=True)
        jobs[0].result()
"""


@pytest.mark.skipif(sys.platform != "linux", reason="looks into /proc")
@pytest.mark.parametrize("fork", [True, False])
@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGINT, signal.SIGTERM])
def test_nothing_outlives_its_owner(fork: bool, how: signal.Signals) -> None:
    """Whatever ends the owner, no worker is left seconds later, though all loop for ever."""
    root = str(Path(__file__).parents[2])
    with subprocess.Popen(
        [sys.executable, "-c", PARENT.format(fork=fork)],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        env={**os.environ, "PYTHONPATH": root},
    ) as owner:
        try:
            assert owner.stdout
            owner.stdout.readline()
            time.sleep(0.3)
            numbers = (int(p.name) for p in Path("/proc").iterdir() if p.name.isdigit())
            below = {pid for pid in numbers if _descends(pid, owner)}
            assert len(below) >= (4 if fork else 2)
            owner.send_signal(how)
            owner.wait(8)
        finally:
            owner.kill()  # else a failure here would wait for it for ever
    assert wait_until(lambda: not any(alive(p) for p in below), 8)


def _descends(pid: int, owner: subprocess.Popen[str]) -> bool:
    """Whether a process stems from the owner."""
    while pid > 1:
        try:
            pid = int(Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[1])
        except OSError:
            return False
        if pid == owner.pid:
            return True
    return False
