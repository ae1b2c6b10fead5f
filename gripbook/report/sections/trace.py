"""From a figure back to the rows of the log that it rests on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from gripbook import layout
from gripbook.html import Fragment
from gripbook.words import log as words
from gripbook.words.heads import HEADS


def row_ranges(places: Iterable[tuple[str, int]]) -> str:
    """
    Rows by file, lines that follow each other drawn together.

    >>> row_ranges([("hangs.csv", 3), ("hangs.csv", 2), ("hangs.csv", 7), ("pain.csv", 4)])
    'hangs.csv:2\\u20133, 7; pain.csv:4'
    """
    by_file: dict[str, set[int]] = {}
    for file, line in places:
        by_file.setdefault(str(file), set()).add(int(line))
    parts = []
    for file, lines in sorted(by_file.items()):
        runs: list[list[int]] = []
        for line in sorted(lines):
            if runs and line == runs[-1][1] + 1:
                runs[-1][1] = line
            else:
                runs.append([line, line])
        words = (f"{a}" if a == b else f"{a}\u2013{b}" for a, b in runs)
        parts.append(f"{file}:{', '.join(words)}")
    return "; ".join(parts)


def split_place(place: str) -> tuple[str, int]:
    """File and line of `file:line`."""
    file, _, line = place.rpartition(":")
    return file, int(line)


def rows_table(
    of: Mapping[str, str] | Mapping[Fragment, str], caption: str, first: str
) -> Fragment:
    """A disclosure: what (under the header `first`) and the log rows behind it."""
    return layout.fold(
        words.TITLES["rows_behind"],
        "",
        layout.table(
            [{"what": what, "rows": rows} for what, rows in of.items()],
            caption,
            columns={"what": first, "rows": HEADS["rows_of_the_log"]},
            empty=words.TITLES["no_row"],
        ),
    )
