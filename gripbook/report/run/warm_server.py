"""
The warm server that workers are forked from, where the system can fork.

It imports everything once; each fork of it is a worker, which forks once more for each job, so that
every job starts from the same clean state and may leave it as it likes.
"""

from __future__ import annotations

import gc
import os
import socket
from typing import IO, Any

from gripbook.report import claim_process
from gripbook.report.run.worker import (
    do_job,
    kill_group,
    limit_memory,
    own_line,
    receive,
    send,
    sending,
)


def serve(control_fd: int, memory_mb: int | None, rehearsed: bool) -> None:
    """
    Import (and rehearse), then fork one worker for each socket that comes in over `control_fd`.

    When the other end of `control_fd` is closed, by whatever death, all workers are killed.
    """
    claim_process()
    control = socket.socket(fileno=control_fd)
    from gripbook.report.run.work import warm_up

    warm_up(rehearsed)
    gc.collect()
    gc.freeze()  # else each fork's first collection would touch, and so copy, all of it
    workers: set[int] = set()
    while True:
        data, fds, _, _ = socket.recv_fds(control, 1, 1)
        while workers:  # those that have ended, lest their numbers are another's by the end
            ended, _ = os.waitpid(-1, os.WNOHANG)
            if not ended:
                break
            workers.discard(ended)
        if not data:
            for pid in workers:
                kill_group(pid)
                os.waitpid(pid, 0)
            return
        pid = os.fork()
        if not pid:
            control.close()
            os.setpgid(0, 0)
            own_line()
            owner: Any = socket.socket(fileno=fds[0]).makefile("rwb")
            send(owner, "ready", os.getpid())
            _fork_for_each_job(owner, memory_mb)
            os._exit(0)
        os.close(fds[0])
        workers.add(pid)


def _fork_for_each_job(owner: IO[bytes], memory_mb: int | None) -> None:
    while True:
        try:
            _, payload = receive(owner)
        except EOFError:
            return
        child = os.fork()
        if not child:
            limit_memory(memory_mb)
            gc.set_threshold(100_000, 20, 100)  # it ends soon, and its garbage with it
            do_job(owner, payload)
            os._exit(0)  # no clean-up: the memory is the parent's too
        _, status = os.waitpid(child, 0)
        if sending():  # it died amid a message: what follows would be taken for the rest of it
            return
        send(owner, "ended", os.waitstatus_to_exitcode(status))
