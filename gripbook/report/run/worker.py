"""
The far side of `workers`: a process that does jobs, one at a time, for the process that owns it.

Two ways to be one: a fork of the warm server (`warm_server.serve`), or `work_alone`, for systems
without fork: one process that does job after job itself.

A message is its kind, a length and a pickle. Only processes that this package started are ever
heard.
"""

from __future__ import annotations

import contextlib
import mmap
import os
import pickle
import queue
import signal
import struct
import sys
import threading
from typing import IO, Any

from gripbook.report import claim_process

_HEAD = struct.Struct("!BQ")
#: What a message is of, by its first byte.
KINDS = ("job", "ready", "note", "done", "raised", "ended")

#: Not 0 while a message is on its way; the memory is that of all forks of a process.
_amid = mmap.mmap(-1, 1)
#: Where `note` sends; None outside a job.
_owner: IO[bytes] | None = None


def send(to: IO[bytes], kind: str, value: Any = None) -> None:
    """Send one message."""
    data = pickle.dumps(value, protocol=5)
    _amid[0] = 1
    to.write(_HEAD.pack(KINDS.index(kind), len(data)))
    to.write(data)
    to.flush()
    _amid[0] = 0


def own_line() -> None:
    """Part a fork that owns a line of its own from its siblings."""
    global _amid
    _amid = mmap.mmap(-1, 1)


def sending() -> bool:
    """Whether a fork of this process ended amid a message."""
    return bool(_amid[0])


def receive(source: IO[bytes]) -> tuple[str, Any]:
    """
    Wait for one message. A note stays the bytes that `opened` reads: most are never looked at.

    Raises
    ------
    EOFError : the other side has gone.
    """
    head = source.read(_HEAD.size)
    if len(head) < _HEAD.size:
        raise EOFError("the other process has gone")
    kind, length = _HEAD.unpack(head)
    data = source.read(length)
    if len(data) < length:
        raise EOFError("the other process has gone")
    return KINDS[kind], data if KINDS[kind] == "note" else pickle.loads(data)


def opened(note: bytes) -> Any:
    """What a note says."""
    return pickle.loads(note)


def note(value: Any) -> None:
    """Tell the owner something within a job. It has it even if this process dies right after."""
    if _owner is not None:
        send(_owner, "note", value)


def do_job(owner: IO[bytes], payload: bytes) -> None:
    """Do one job, a pickled function with its arguments, and tell the owner how it went."""
    global _owner
    _owner = owner
    try:
        function, arguments = pickle.loads(payload)
        answer: tuple[str, Any] = "done", function(*arguments)
    except BaseException as error:
        answer = "raised", error
    finally:
        _owner = None
    try:
        send(owner, *answer)
    except Exception as error:  # what can't be pickled is told in words
        send(owner, "raised", RuntimeError(f"{type(answer[1]).__name__}: {answer[1]} ({error})"))


def limit_memory(memory_mb: int | None) -> None:
    """
    Let this process hold that much data at most; more raises MemoryError in it.

    Only where the system keeps such a limit (Linux); elsewhere there is none.
    """
    if memory_mb and sys.platform == "linux":
        import resource

        resource.setrlimit(resource.RLIMIT_DATA, (memory_mb << 20, memory_mb << 20))


def kill_group(pid: int) -> None:
    """Kill a worker and the job it does."""
    with contextlib.suppress(ProcessLookupError, PermissionError):  # ended already
        os.killpg(pid, signal.SIGKILL)


def work_alone(memory_mb: int | None) -> None:
    """Do the jobs that come over standard input, in this process, until it is closed."""
    claim_process()
    source, owner = os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb")
    with open(os.devnull, "r+b") as nothing:
        os.dup2(nothing.fileno(), 0)
        os.dup2(nothing.fileno(), 1)
    jobs: queue.SimpleQueue[bytes] = queue.SimpleQueue()

    def read() -> None:
        while True:
            try:
                jobs.put(receive(source)[1])
            except EOFError:  # the owner has gone: no job is worth ending
                os._exit(0)

    limit_memory(memory_mb)
    send(owner, "ready", os.getpid())
    threading.Thread(target=read, daemon=True).start()
    while True:
        do_job(owner, jobs.get())
        send(owner, "ended", 0)
