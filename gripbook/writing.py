"""
The one way a file is written: aside, to the disk, then renamed, so that nobody reads half of it.

What stood under the name stays until the new file is whole, whatever stops the run.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path
from typing import Final

from gripbook.errors import GripbookError

#: Name of what is written aside, which a run that was killed may leave.
ASIDE: Final = ".gripbook-*.tmp"

_NO_SPACE: Final = (errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC))
_NOT_ALLOWED: Final = (errno.EROFS, errno.EACCES, errno.EPERM)
_NO_FOLDER: Final = (errno.ENOENT, errno.ENOTDIR)


class NotWrittenError(GripbookError):
    """A file or folder can't be written. The message says which, why and what to do."""


def write_refused(error: OSError) -> bool:
    """Whether an error can only come from writing: no space left, or a disk to read alone."""
    return error.errno in (*_NO_SPACE, errno.EROFS)


def not_written(path: str | Path, error: OSError) -> NotWrittenError:
    """What to say where `path` can't be written."""
    why = error.strerror or type(error).__name__
    if error.errno in _NO_SPACE:
        remedy = "Free some space there, then run the same command again."
    elif error.errno in _NOT_ALLOWED:
        remedy = "Name a place that you may write to."
    elif error.errno in _NO_FOLDER:
        remedy = "Make its folder first, or name another place."
    elif error.errno == errno.EISDIR:
        remedy = "Name a file."
    else:
        remedy = "Name another place, or mend this one."
    return NotWrittenError(
        f"{path} can't be written: {why}. What stood there before is unchanged. {remedy}"
    )


def write_file(
    path: str | Path, data: bytes | str, *, private: bool | None = None, follow: bool = False
) -> str:
    """
    Write a file whole.

    Parameters
    ----------
    data : bytes, or text that becomes UTF-8 with its line ends as they are.
    private : True: for the owner alone (0600); False: for whom the system's mask lets; None: as the
        file that stood there, and as the mask says where none did. Windows keeps to the folder's
        rights.
    follow : write to where a link points; else the link itself is replaced. What is no regular
        file, such as a terminal, is written to directly.

    Returns
    -------
    SHA-256 of the bytes.

    Raises
    ------
    NotWrittenError : no space, no right to, no folder, or a folder of that name.
    """
    raw = data.encode("utf-8") if isinstance(data, str) else data
    target = Path(path)
    try:
        if follow:
            target = Path(os.path.realpath(target))
        if target.exists() and not target.is_file():
            with target.open("wb") as file:
                file.write(raw)
        else:
            _replace(target, raw, private)
    except OSError as error:
        raise not_written(path, error) from error
    import hashlib  # a command that only helps needs none

    return hashlib.sha256(raw).hexdigest()


def _replace(target: Path, raw: bytes, private: bool | None) -> None:
    aside = target.with_name(ASIDE.replace("*", os.urandom(8).hex()))
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    handle = os.open(aside, flags, 0o600 if private else 0o666)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(raw)
            file.flush()
            os.fsync(file.fileno())
        if private is None and target.exists():
            os.chmod(aside, stat.S_IMODE(target.stat().st_mode))
        aside.replace(target)
    except BaseException:
        aside.unlink(missing_ok=True)
        raise


def write_named(path: Path, data: bytes | str) -> None:
    """
    Write a file that somebody named: new ones for its owner alone, one that stood keeps its rights.

    Raises
    ------
    NotWrittenError : as `write_file`.
    """
    write_file(path, data, private=None if os.path.lexists(path) else True, follow=True)


def make_folder(path: Path, *, private: bool = False) -> None:
    """
    Make a folder where it is missing; `private`: for its owner alone (0700).

    Raises
    ------
    NotWrittenError : it can't be made.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.mkdir(mode=0o700 if private else 0o777, exist_ok=True)
    except OSError as error:
        raise not_written(path, error) from error


def set_access(path: Path, *, private: bool) -> None:
    """Give a file that stands to its owner alone, or to whom the system's mask lets."""
    if private:
        wanted = 0o600
    else:
        mask = os.umask(0o077)  # asking for it is setting it
        os.umask(mask)
        wanted = 0o666 & ~mask
    try:
        if stat.S_IMODE(path.stat().st_mode) != wanted:
            path.chmod(wanted)
    except OSError as error:
        raise not_written(path, error) from error


def clear_asides(*folders: Path) -> None:
    """Take away what a killed run left written aside. Only for who has the folders to itself."""
    for folder in folders:
        for left in folder.glob(ASIDE):
            left.unlink(missing_ok=True)
