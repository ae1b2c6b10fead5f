"""The only readers of files: bytes to rows, rows to values or problems, folder to `Logs`."""

from __future__ import annotations

from gripbook.logs.block import Block, Headline, Limits, Phase, Target
from gripbook.logs.load import Logs, load_logs
from gripbook.logs.problem import Problem, problems_frame
from gripbook.logs.rules import DateOrder, FileReport

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
    "problems_frame",
]
