"""
One run at a time in a folder of pages.

The system's own lock on a file in the folder: it ends with the process that holds it, whatever
ended that, so a lock that a dead run left is free at once.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import errno
import json
import os
import platform
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path

from gripbook.errors import GripbookError
from gripbook.writing import not_written

LOCK = ".run.lock"
#: Where the byte stands that Windows locks, far behind the words, which others must be able to read
_FAR = 1 << 30
#: What systems answer where another process holds the lock.
_HELD = (errno.EAGAIN, errno.EWOULDBLOCK, errno.EACCES, errno.EDEADLK)


class FolderHeldError(GripbookError):
    """Another run is at work in the folder."""


@contextmanager
def folder_lock(folder: Path) -> Iterator[None]:
    """
    Have a folder of pages to oneself.

    Raises
    ------
    FolderHeldError : another process has it; says which, and since when.
    NotWrittenError : the folder can't be written to.
    """
    path = folder / LOCK
    handle = _open(path, folder)
    try:
        since = dt.datetime.now().astimezone().isoformat(" ", "seconds")
        held = {"pid": os.getpid(), "host": platform.node(), "since": since}
        try:
            os.truncate(handle if os.truncate in os.supports_fd else path, 0)
            os.lseek(handle, 0, os.SEEK_SET)
            os.write(handle, json.dumps(held).encode())
        except OSError as error:
            raise not_written(path, error) from error
        yield
    finally:
        # while it is held, lest another's be taken away; Windows lets go of no open file
        with contextlib.suppress(OSError):
            path.unlink()
        _unlock(handle)
        os.close(handle)
        with contextlib.suppress(OSError):
            if os.name == "nt":
                path.unlink()


def _open(path: Path, folder: Path) -> int:
    """A handle of the lock, which this process then holds."""
    while True:
        try:
            handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
        except OSError as error:
            raise not_written(path, error) from error
        if not _locked(handle):
            words = _holder(path)
            os.close(handle)
            raise FolderHeldError(
                f"{folder} is in use: {words}. Wait until it is done, or end it; then run the same "
                "command again."
            )
        with contextlib.suppress(OSError):
            if os.path.samestat(os.fstat(handle), path.stat()):
                return handle
        os.close(handle)  # its last holder took it away meanwhile


def _locked(handle: int) -> bool:
    """Lock it; False where another holds it. A disk without locks is gone without."""
    try:
        try:
            fcntl = import_module("fcntl")
        except ImportError:  # Windows
            msvcrt = import_module("msvcrt")
            os.lseek(handle, _FAR, os.SEEK_SET)
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        return error.errno not in _HELD
    return True


def _unlock(handle: int) -> None:
    with contextlib.suppress(OSError):
        try:
            fcntl = import_module("fcntl")
        except ImportError:
            msvcrt = import_module("msvcrt")
            os.lseek(handle, _FAR, os.SEEK_SET)
            msvcrt.locking(handle, msvcrt.LK_UNLCK, 1)
        else:
            fcntl.flock(handle, fcntl.LOCK_UN)


def _holder(path: Path) -> str:
    """Who holds a lock, as far as it says so."""
    try:
        held = json.loads(path.read_bytes())
        return (
            f"process {int(held['pid'])} on {held['host']} has been at work there since "
            f"{held['since']}"
        )
    except (OSError, ValueError, KeyError, TypeError):
        return "another process is at work there"
