"""One thing wrong with a log, told so that the person who keeps it can mend it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal

import pandas as pd

Severity = Literal["error", "warning"]

#: Longest raw text that a problem quotes.
TEXT_LIMIT: Final = 200

PROBLEM_COLUMNS = (
    "severity",
    "code",
    "file",
    "line",
    "last_line",
    "athlete",
    "column",
    "value",
    "reason",
    "remedy",
)


@dataclass(frozen=True, slots=True)
class Problem:
    """
    A refused row (`error`) or a suspicious but usable one (`warning`).

    `line` is the physical line in the file, from 1; 0 where the whole file or folder is meant.
    `last_line` is the last line that an error refuses (the same as `line` for a single row).
    `athlete` is empty where the row's athlete cannot be told. `day` is the row's date, None where
    it has none that can be read.
    """

    severity: Severity
    code: str
    file: str
    line: int
    column: str
    value: str
    reason: str
    remedy: str
    athlete: str = ""
    last_line: int = 0
    day: dt.date | None = None

    def __post_init__(self) -> None:
        if not self.last_line:
            object.__setattr__(self, "last_line", self.line)

    @property
    def place(self) -> str:
        """`file:line`, or the file alone where no line applies."""
        return f"{self.file}:{self.line}" if self.line else self.file

    def __str__(self) -> str:
        value = repr(self.value) if self.value else ""
        subject = " = ".join(part for part in (self.column, value) if part)
        words = f"{subject}: {self.reason}" if subject else self.reason
        return f"{self.place}: {self.severity}: {words} {self.remedy}".rstrip()


def problems_frame(problems: Iterable[Problem]) -> pd.DataFrame:
    """The problems as a frame, one row each, columns as in `PROBLEM_COLUMNS`."""
    rows = [[getattr(p, c) for c in PROBLEM_COLUMNS] for p in problems]
    return pd.DataFrame(rows, columns=list(PROBLEM_COLUMNS)).astype({"line": int, "last_line": int})
