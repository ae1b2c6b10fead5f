"""
Processes that do jobs apart from this one: `concurrent.futures.Executor` with an end to each job.

A job that crashes, calls `os._exit`, loops for ever or eats memory costs itself and nothing else.
Where the system can fork, each job runs in a fresh child of a warm server; elsewhere in long-lived
processes that are started anew after a crash and after `RECYCLE_AFTER` jobs.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import signal
import socket
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import IO, Any, TypeVar

from gripbook.errors import GripbookError
from gripbook.report.run.worker import kill_group, opened, receive, send

T = TypeVar("T")

#: Whether processes can be forked from a server here. macOS can, but its libraries can't bear it.
CAN_FORK = sys.platform not in ("win32", "darwin") and hasattr(os, "fork")
#: Jobs after which a long-lived process is started anew, for what they leave in memory.
RECYCLE_AFTER = 100
#: Up to so many pages a rehearsal before them costs more than it saves.
FEW_PAGES = 3


class WorkerEndedError(GripbookError):
    """A job's process ended before the job. `notes` are what the job had told until then."""

    def __init__(self, reason: str, notes: list[Any] | None = None) -> None:
        super().__init__(reason)
        self.reason = reason
        self.notes = notes or []

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self.reason, self.notes)


class Workers(ThreadPoolExecutor):
    """
    Executor whose jobs run in processes of their own.

    Functions must be importable; arguments and results are pickled. A thread here looks after each
    worker.

    Parameters
    ----------
    count : jobs at a time. timeout_s : longest time for a job; None for no limit.
    memory_mb : most data a job may hold, where the system keeps such a limit (Linux).
    fork : whether to fork from a warm server; None: where the system can.
    rehearsed : the server makes a page before it forks, a second that pays from a few pages on.
    """

    def __init__(
        self,
        count: int,
        *,
        timeout_s: float | None = None,
        memory_mb: int | None = None,
        fork: bool | None = None,
        rehearsed: bool = False,
    ) -> None:
        super().__init__(max_workers=count, thread_name_prefix="gripbook-worker")
        self._timeout_s = timeout_s
        self._memory_mb = memory_mb
        self._own = threading.local()
        self._lock = threading.Lock()
        self._processes: set[_Process] = set()
        self._closed = False
        # started here and not waited for: it gets ready while the first jobs are put together
        forks = CAN_FORK if fork is None else fork
        self._rehearsed = rehearsed
        self._server = _taken(memory_mb, rehearsed) if forks else None

    def submit(  # type: ignore[override]
        self, function: Callable[..., T], /, *arguments: Any
    ) -> Future[T]:
        """Hand in a job. Its future raises WorkerEndedError where its process ended early."""
        return super().submit(self._run, function, arguments)

    def _run(self, function: Callable[..., T], arguments: tuple[Any, ...]) -> T:
        process = self._process()
        late = threading.Event()

        def end() -> None:
            late.set()
            process.kill()

        timer = threading.Timer(self._timeout_s or 0, end)
        notes: list[bytes] = []
        answer: tuple[str, Any] = "", None
        try:
            process.begin((function, arguments))
            kind: str
            value: Any
            kind, value = ("ready", process.pid) if process.pid else receive(process.source)
            while kind != "ended":
                if kind == "ready":
                    process.pid = value
                    if self._timeout_s:
                        timer.start()
                elif kind == "note":
                    notes.append(value)
                else:
                    answer = kind, value
                kind, value = receive(process.source)
        except (EOFError, OSError):
            broken = None if process.pid or self._closed else process.did_not_start()
            self._drop(process)
            if broken:
                raise broken from None
            if self._closed:
                raise WorkerEndedError("was stopped") from None
            reason = f"took longer than {self._timeout_s:g} s" if late.is_set() else "was killed"
            raise WorkerEndedError(reason, list(map(opened, notes))) from None
        except Exception:  # what can't be sent, or read here: the rest of the line can't be trusted
            self._drop(process)
            raise
        finally:
            timer.cancel()
        if process.jobs >= RECYCLE_AFTER:
            self._drop(process)
        kind, result = answer
        if kind == "raised":
            raise result
        if not kind:
            raise WorkerEndedError(_ended_words(value), list(map(opened, notes)))
        done: T = result
        return done

    def _process(self) -> _Process:
        """This thread's worker, started where there is none."""
        process: _Process | None = getattr(self._own, "process", None)
        if process is None or process not in self._processes:
            with self._lock:
                if self._closed:
                    raise WorkerEndedError("was stopped")
                if self._server and not self._server.alive and self._server.worked:
                    self._server = _Server(self._memory_mb, self._rehearsed)
                process = _Forked(self._server) if self._server else _Spawned(self._memory_mb)
                self._processes.add(process)
            self._own.process = process
        return process

    def _drop(self, process: _Process) -> None:
        process.kill()
        process.close()
        with self._lock:
            self._processes.discard(process)

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """End the workers; with `cancel_futures` at once, whatever they are at."""
        if cancel_futures:
            self._stop()
        super().shutdown(wait=wait, cancel_futures=cancel_futures)
        if wait:
            for process in self._processes:
                process.close()  # idle by now: it sees the end and ends
            self._stop()

    def _stop(self) -> None:
        with self._lock:
            self._closed = True
            for process in self._processes:
                process.kill()
            if self._server:
                self._server.kill()

    def __exit__(self, kind: Any, *_: Any) -> bool | None:
        self.shutdown(wait=True, cancel_futures=kind is not None)
        return None


def _ended_words(code: int) -> str:
    if code < 0:
        with contextlib.suppress(ValueError):
            return f"its process was ended by {signal.Signals(-code).name}"
    return f"its process ended with exit status {code}"


class _Python:
    """A Python started to call a function of a module here, imported from where this one is."""

    def __init__(self, module: str, call: str, **options: Any) -> None:
        code = f"import sys; sys.path[:] = {sys.path!r}; "
        code += f"from gripbook.report.run import {module}; {module}.{call}"
        self._said = tempfile.TemporaryFile()  # noqa: SIM115
        self.process = subprocess.Popen(
            [sys.executable, "-c", code],
            stderr=self._said,
            # more threads than one would make forks unsafe, and gain nothing here
            env={"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", **os.environ},
            **options,
        )

    def did_not_start(self) -> GripbookError:
        self.kill()
        if self._said.closed:
            return GripbookError("The process that makes pages did not start.")
        self._said.seek(0)
        said = self._said.read().decode(errors="replace").strip().splitlines()
        return GripbookError(
            f"The process that makes pages did not start: {said[-1] if said else 'no message'}"
        )

    def kill(self) -> None:
        self.process.kill()
        self.process.wait()

    def close(self) -> None:
        for file in (self.process.stdin, self.process.stdout, self._said):
            with contextlib.suppress(OSError):  # what could not be sent before it ended
                if file:
                    file.close()


class _Process:
    """A worker: `source` to read its messages from, `target` to send to; `pid` once it's ready."""

    source: IO[bytes]
    target: IO[bytes]
    pid = 0
    jobs = 0

    def begin(self, job: Any) -> None:
        """Send a job."""
        self.jobs += 1
        send(self.target, "job", pickle.dumps(job, protocol=5))

    def kill(self) -> None:
        """End it and the job it does, now. Harmless when it has ended."""
        raise NotImplementedError

    def close(self) -> None:
        """Give back what it took in this process; nobody reads from it any more."""
        raise NotImplementedError

    def did_not_start(self) -> GripbookError:
        """Why it was never ready."""
        raise NotImplementedError


class _Server:
    """The warm process that workers are forked from."""

    worked = False
    _asked = False

    def __init__(self, memory_mb: int | None, rehearsed: bool) -> None:
        self._control, theirs = socket.socketpair()
        with theirs:
            fd = theirs.fileno()
            self.python = _Python(
                "warm_server",
                f"serve({fd}, {memory_mb!r}, {rehearsed})",
                pass_fds=(fd,),
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                start_new_session=True,  # Ctrl-C reaches the owner alone, who ends this
            )

    @property
    def alive(self) -> bool:
        return self.python.process.poll() is None

    def fork(self) -> socket.socket:
        """Ask for a worker; gives the socket to it."""
        self._asked = True
        ours, theirs = socket.socketpair()
        with theirs, contextlib.suppress(OSError):  # a dead server: the socket tells
            socket.send_fds(self._control, [b"f"], [theirs.fileno()])
        return ours

    def kill(self) -> None:
        """End it; its own end of the line closed, it ends its workers first."""
        self._control.close()
        with contextlib.suppress(subprocess.TimeoutExpired):
            self.python.process.wait(1 if self._asked else 0)
        self.python.kill()
        self.python.close()


#: A server that gets ready before it is known what there is to do, by what it is made with.
_early: dict[tuple[int | None, bool], _Server] = {}


def _taken(memory_mb: int | None, rehearsed: bool) -> _Server:
    return _early.pop((memory_mb, rehearsed), None) or _Server(memory_mb, rehearsed)


@contextlib.contextmanager
def started_early(memory_mb: int | None) -> Iterator[None]:
    """
    Within it a warm server for a few pages gets ready, and the first `Workers` alike takes it.

    So its imports and this process's own go on at the same time. Ended where nobody took it.
    """
    if not CAN_FORK:
        yield
        return
    _early[memory_mb, False] = _Server(memory_mb, False)
    try:
        yield
    finally:
        left = _early.pop((memory_mb, False), None)
        if left:
            left.kill()


class _Forked(_Process):
    def __init__(self, server: _Server) -> None:
        self._server = server
        self._socket = server.fork()
        self.source = self.target = self._socket.makefile("rwb")  # type: ignore[assignment]

    def kill(self) -> None:
        if self.pid:
            self._server.worked = True
            kill_group(self.pid)
        with contextlib.suppress(OSError):
            self._socket.shutdown(socket.SHUT_RDWR)

    def close(self) -> None:
        with contextlib.suppress(OSError):
            self.source.close()
        self._socket.close()

    def did_not_start(self) -> GripbookError:
        return self._server.python.did_not_start()


class _Spawned(_Process):
    def __init__(self, memory_mb: int | None) -> None:
        # its own group, so that Ctrl-C reaches the owner alone, who ends this
        new = getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0)
        self._python = _Python(
            "worker",
            f"work_alone({memory_mb!r})",
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            start_new_session=not new,
            creationflags=new,
        )
        process = self._python.process
        assert process.stdin
        assert process.stdout
        self.target, self.source = process.stdin, process.stdout

    def kill(self) -> None:
        self._python.kill()

    def close(self) -> None:
        self._python.close()

    def did_not_start(self) -> GripbookError:
        return self._python.did_not_start()
