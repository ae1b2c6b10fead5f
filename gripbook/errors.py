"""The package's exceptions. Imports nothing of ours, so that every layer may raise them."""

from __future__ import annotations


class GripbookError(Exception):
    """Anything the user can mend. The message says where, what, why and what to do next."""


class LogFolderError(GripbookError):
    """The log folder is missing, is no folder, or holds no `hangs.csv`."""


class UnknownAthleteError(GripbookError):
    """The athlete asked for stands in no log. The message names the athletes that do."""


class UnknownBlockError(GripbookError):
    """The block asked for is not planned for this athlete. The message names those that are."""


class MissingColumnError(GripbookError):
    """A frame handed to a function lacks a column the function needs."""
