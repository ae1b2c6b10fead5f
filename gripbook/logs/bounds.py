"""
How much a log folder may hold: work and memory grow with what is read, and what is read is limited.

A million sets of one squad are about 70 MB, 20 columns and cells of a few letters, so these limits
are far above any log kept by hand (own choices, no source).
"""

from __future__ import annotations

import stat
from pathlib import Path
from typing import Final

from gripbook.errors import GripbookError
from gripbook.logs.problem import Parameter, Problem

#: Largest file that is read, largest spreadsheet file (packed), and largest block file.
FILE_BYTES: Final = 200_000_000
BOOK_BYTES: Final = 20_000_000
BLOCK_BYTES: Final = 100_000
#: Most lines of a file, columns of its header, cells of both, and lines that one record may run
#: over.
LINES: Final = 4_000_000
COLUMNS: Final = 200
CELLS: Final = 80_000_000
RECORD_LINES: Final = 50
#: Most problems of a file that are told one by one.
PROBLEMS: Final = 500_000
#: Longest cell in characters: what Python's csv module reads unless it is told otherwise.
CELL_CHARACTERS: Final = 131_072
#: Most keys of a block file that are not known.
UNKNOWN_KEYS: Final = 100
#: Most grips with names of one's own that a block file may declare: each is a series to estimate.
OWN_GRIPS: Final = 30
#: Most parts of a dotted key of one.
KEY_PARTS: Final = 20


class FileRefusedError(GripbookError):
    """A file is refused as a whole; `problem` is the reason as data."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        said = ", ".join(f"{name} {value}" for name, value in problem.parameters.items())
        super().__init__(f"{problem.file} was not read ({problem.code}{said and ': ' + said}).")


def read_file(path: Path, file: str, limit: int = FILE_BYTES) -> bytes:
    """
    Give a file's bytes.

    Parameters
    ----------
    path : the file. Links are followed; what is no regular file (a folder, a pipe, a device) is
        not opened, since it may never end.
    file : its name for messages.
    limit : most bytes.

    Raises
    ------
    FileRefusedError : it isn't a file, is too large, or the system doesn't give it.
    """
    check_file(path, file, limit)
    try:
        with path.open("rb") as stream:
            data = stream.read(limit + 1)  # it may have grown
    except OSError as err:
        raise FileRefusedError(unreadable(file, err)) from err
    check_count(file, "bytes", len(data), limit)
    return data


def check_file(path: Path, file: str, limit: int) -> None:
    """
    Refuse what is no regular file or has more than `limit` bytes.

    Raises
    ------
    FileRefusedError : so.
    """
    try:
        found = path.stat()
    except OSError as err:
        raise FileRefusedError(unreadable(file, err)) from err
    if not stat.S_ISREG(found.st_mode):
        raise FileRefusedError(Problem("error", "no_regular_file", file))
    check_count(file, "bytes", found.st_size, limit)


def unreadable(file: str, err: OSError) -> Problem:
    """The problem of a file or folder that the system doesn't give."""
    fault = err.strerror or type(err).__name__
    return Problem("error", "unreadable", file, parameters={"fault": fault})


def check_count(file: str, what: str, count: int, limit: int) -> None:
    """
    Refuse a file that holds too much.

    Raises
    ------
    FileRefusedError : `count` of `what` is above `limit`.
    """
    if count > limit:
        parameters: dict[str, Parameter] = {"what": what, "count": count, "limit": limit}
        raise FileRefusedError(Problem("error", "too_much", file, parameters=parameters))
