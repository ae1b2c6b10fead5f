"""The only readers of files: bytes to rows, rows to values or problems, folder to `Logs`."""

from __future__ import annotations

from gripbook.logs.block import Block, Headline, Limits, Phase, Target
from gripbook.logs.cells import DateOrder
from gripbook.logs.load import load_logs
from gripbook.logs.logs import Logs
from gripbook.logs.problem import Problem
from gripbook.logs.rows import FileReport

__all__ = [
    "Block",
    "DateOrder",
    "FileReport",
    "Headline",
    "Limits",
    "Logs",
    "Phase",
    "Problem",
    "Target",
    "load_logs",
]
