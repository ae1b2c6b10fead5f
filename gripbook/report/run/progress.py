"""How far a batch has come: a bar on a terminal, plain lines elsewhere."""

from __future__ import annotations

import shutil
import time
from collections.abc import Callable
from typing import TextIO

from gripbook.report.run.batch import PageResult

_BAR = 24


class Progress:
    """
    Callback for `render_reports(progress=...)`; also a context that leaves the line clean.

    Parameters
    ----------
    to : where to write; a terminal gets one bar that is written over, anything else a line a page.
    clock : seconds, for the pace.
    """

    def __init__(self, to: TextIO, clock: Callable[[], float] = time.monotonic) -> None:
        self._to = to
        self._clock = clock
        self._bar = to.isatty()
        self._begun = clock()
        self._made = 0
        self._width = 0

    def __call__(self, page: PageResult, done: int, total: int) -> None:
        """Tell of one page more."""
        self._made += page.status != "unchanged"
        if not self._bar:
            # those that stood there are told in one number at the end
            if page.status != "unchanged":
                self._to.write(f"{page.page}: {page.status} ({done}/{total})\n")
            return
        full = _BAR * done // total
        line = (
            f"[{'#' * full}{'.' * (_BAR - full)}] {done} of {total} pages{self._pace(total - done)}"
        )
        line = line[: shutil.get_terminal_size().columns - 1]
        self._to.write("\r" + line.ljust(self._width))
        self._width = len(line)
        self._to.flush()

    def _pace(self, left: int) -> str:
        """Pages a second and time left, by the pages made so far."""
        passed = self._clock() - self._begun
        if not self._made or passed <= 0:
            return ""
        pace = self._made / passed
        shown = f"{pace:.1f}" if pace < 10 else f"{pace:.0f}"
        return f", {shown} a second" + (f", {_duration(left / pace)} left" if left else "")

    def __enter__(self) -> Progress:
        return self

    def __exit__(self, *_: object) -> None:
        if self._bar and self._width:
            self._to.write("\n")


def _duration(seconds: float) -> str:
    whole = max(1, round(seconds))
    if whole < 60:
        return f"{whole} s"
    minutes, rest = divmod(whole, 60)
    if minutes < 10:
        return f"{minutes} min {rest} s"
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60} min"
