"""Progress: one bar on a terminal, plain lines elsewhere."""

from __future__ import annotations

import io

import pytest

from gripbook.report.run.batch import PageResult
from gripbook.report.run.progress import Progress


class Terminal(io.StringIO):
    """Text that says it's a terminal."""

    def isatty(self) -> bool:  # noqa: D102
        return True


def told(to: io.StringIO, statuses: list[str], total: int, seconds_a_page: float) -> str:
    """What is written for pages that take so long each."""
    times = iter([0.0, *(seconds_a_page * (i + 1) for i in range(len(statuses)))])
    now = 0.0

    def clock() -> float:
        nonlocal now
        now = next(times, now)
        return now

    with Progress(to, clock) as progress:
        for i, status in enumerate(statuses):
            progress(PageResult("a", f"a{i}.html", status), i + 1, total)
    return to.getvalue()


def test_plain_lines_elsewhere() -> None:
    """One line for each page made or failed; those that stood there are passed over."""
    text = told(io.StringIO(), ["rendered", "unchanged", "failed"], 3, 1)
    assert text == "a0.html: rendered (1/3)\na2.html: failed (3/3)\n"


@pytest.mark.parametrize(
    ("seconds_a_page", "shown"),
    [
        (0.5, "2 of 10 pages, 2.0 a second, 4 s left"),
        (0.05, "2 of 10 pages, 20 a second, 1 s left"),
        (30, "2 of 10 pages, 0.0 a second, 4 min 0 s left"),
        (900, "2 of 10 pages, 0.0 a second, 2 h 0 min left"),
    ],
)
def test_one_bar_on_a_terminal(seconds_a_page: float, shown: str) -> None:
    """Pages done, pace and time left, on one line that is written over."""
    text = told(Terminal(), ["rendered"] * 2, 10, seconds_a_page)
    assert text.split("\r")[-1].rstrip() == f"[####....................] {shown}"
    assert text.count("\n") == 1


def test_standing_pages_do_not_count_for_the_pace() -> None:
    """The pace is that of pages made: a resumed run would else promise too much."""
    text = told(Terminal(), ["unchanged"] * 5 + ["rendered"], 10, 1)
    assert ", 0.2 a second, 24 s left" in text.split("\r")[-1]
    assert "a second" not in text.split("\r")[5]
