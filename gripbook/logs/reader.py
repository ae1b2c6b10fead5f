"""
Bytes to rows with physical line numbers. Nothing here knows what a column means.

The csv module is used, not pandas: pandas fills short rows in silence, shifts long ones into the
index, and cannot say on which line a row stood.
"""

from __future__ import annotations

import csv
import hashlib
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from gripbook.logs.problem import Problem

DELIMITERS = (",", ";", "\t")


class Row(NamedTuple):
    """One record: its cells as they stand, and the physical lines it stood on (from 1)."""

    line: int
    last_line: int
    cells: list[str]


@dataclass(frozen=True, slots=True)
class Table:
    """
    A file's header and rows before any meaning is given to them.

    `broken` are the records that could not be split into the header's columns; their problems
    stand in `problems`. Blank rows (no cell filled) are counted, not kept.
    """

    file: str
    header: list[str]
    header_line: int
    rows: list[Row]
    broken: int
    blank: int
    problems: list[Problem]
    encoding: str
    delimiter: str
    sha256: str


def decode(data: bytes, file: str) -> tuple[str, str, list[Problem]]:
    """Text, name of the encoding, and a warning where it had to be guessed."""
    for mark, encoding in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16")):
        if data.startswith(mark):
            return data.decode(encoding, errors="replace"), encoding, []
    if data.startswith(b"\xfe\xff"):
        return data.decode("utf-16", errors="replace"), "utf-16", []
    try:
        return data.decode("utf-8"), "utf-8", []
    except UnicodeDecodeError as err:
        line = data[: err.start].count(b"\n") + 1
        # a few bytes have no character in Windows-1252; they show as a replacement sign
        text = data.decode("cp1252", errors="replace")
        warning = Problem(
            "warning",
            "encoding",
            file,
            line,
            "",
            "",
            "is not UTF-8; it was read as Windows-1252.",
            "Look at names with accents, or save the file as UTF-8.",
        )
        return text, "cp1252", [warning]


def vote_delimiter(line: str, known: Iterable[str]) -> tuple[str, int]:
    """
    The separator that splits the header line into the most known column names, and how many.

    The header decides alone: notes and decimal commas in later rows would mislead a count.
    """
    names = set(known)

    def score(delimiter: str) -> int:
        try:
            cells = next(csv.reader([line], delimiter=delimiter), [])
        except csv.Error:
            return 0
        return sum(tidy_header(c) in names for c in cells)

    best = max(DELIMITERS, key=score)  # the first of equals, so the comma wins a tie
    return best, score(best)


def tidy_header(cell: str) -> str:
    """A header cell as the format writes it: lower case, one line, no blanks around it."""
    return " ".join(cell.strip().strip("\ufeff").split()).lower()


def read_table(data: bytes, file: str, known: Sequence[str]) -> Table:
    """
    Split a file's bytes into a header and rows.

    Parameters
    ----------
    data : the file's bytes.
    file : its name relative to the log folder, for messages.
    known : column names that may stand in the header; they decide the separator.
    """
    digest = hashlib.sha256(data).hexdigest()
    text, encoding, problems = decode(data, file)
    lines = list(io.StringIO(text, newline=""))
    skipped = 0
    delimiter = ""
    while skipped < len(lines):
        declared = re.fullmatch(r"sep=(.)", lines[skipped].strip("\r\n"))
        if declared and declared.group(1) in DELIMITERS:  # written by a spreadsheet
            delimiter = declared.group(1)
        elif lines[skipped].strip(" ,;\t\r\n"):
            break
        skipped += 1
    if skipped == len(lines):
        return Table(file, [], 0, [], 0, 0, problems, encoding, delimiter, digest)
    delimiter = delimiter or vote_delimiter(lines[skipped], known)[0]

    rows: list[Row] = []
    header: list[str] | None = None
    header_line = skipped + 1
    padded: list[Row] = []
    broken = blank = 0
    for row in _records(lines[skipped:], delimiter, skipped):
        if isinstance(row, Problem):
            problems.append(_in_file(row, file))
            broken += 1
            continue
        if header is None:
            header = [tidy_header(c) for c in row.cells]
            header_line = row.line
            continue
        cells = row.cells
        extra = len(cells) - len(header)
        if extra == 0 and cells[0].strip():  # nearly every row
            rows.append(row)
            continue
        if not (cells and cells[0].strip()) and not "".join(cells).strip():
            blank += 1
        elif extra > 0 and any(c.strip() for c in cells[len(header) :]):
            if row.last_line > row.line:
                # a quote that was never closed has swallowed the rows below it: free them
                freed = _records(lines[row.line :], delimiter, row.line, stop=row.last_line)
                problems.append(_in_file(_unclosed(row.line, lines[row.line - 1]), file))
                broken += 1
                for one in freed:
                    if isinstance(one, Problem) or len(one.cells) != len(header):
                        line = one.line
                        problems.append(_in_file(_unclosed(line, lines[line - 1]), file))
                        broken += 1
                    else:
                        rows.append(one)
                continue
            problems.append(_too_many(file, row, len(header), delimiter))
            broken += 1
        else:
            if extra < 0:
                problems.append(
                    Problem(
                        "warning",
                        "too_few_cells",
                        file,
                        row.line,
                        "",
                        delimiter.join(cells),
                        f"has {len(cells)} cells under {len(header)} column names; "
                        "the missing ones were taken as empty.",
                        "Add the missing separators at the end of the row.",
                    )
                )
                cells = cells + [""] * -extra
            if extra > 0:
                padded.append(row)
            rows.append(Row(row.line, row.last_line, cells[: len(header)]))
    if 0 < len(padded) < len(rows):
        # separators at the end of every row are a spreadsheet's; of some rows, a sign that a
        # decimal comma has moved the cells on: 62,4 under body_mass_kg would be read as 62
        moved = {row.line for row in padded}
        rows = [row for row in rows if row.line not in moved]
        broken += len(moved)
        problems += [_too_many(file, row, len(header or ()), delimiter) for row in padded]
    return Table(
        file, header or [], header_line, rows, broken, blank, problems, encoding, delimiter, digest
    )


def _too_many(file: str, row: Row, names: int, delimiter: str) -> Problem:
    return Problem(
        "error",
        "too_many_cells",
        file,
        row.line,
        "",
        delimiter.join(row.cells),
        f"has {len(row.cells)} cells under {names} column names.",
        "Put text or decimals that hold the separator in double quotes.",
        last_line=row.last_line,
    )


def _in_file(problem: Problem, file: str) -> Problem:
    return replace(problem, file=file)


def _unclosed(line: int, text: str) -> Problem:
    return Problem(
        "error",
        "broken_quote",
        "",
        line,
        "",
        text.strip("\r\n")[:200],
        "holds a double quote that does not close where its cell ends.",
        'Close it, or write a quote inside a cell twice ("").',
    )


def _records(
    lines: list[str], delimiter: str, offset: int, stop: int | None = None
) -> Iterator[Row | Problem]:
    """
    Records of `lines`, whose first is physical line `offset` + 1, up to line `stop`.

    Where the csv module cannot split a record, its first line is told as a problem and reading
    starts anew on the next line, so that one bad quote costs one row.
    """
    end = len(lines) if stop is None else stop - offset
    at = 0
    while at < end:
        reader = csv.reader(iter(lines[at:end]), delimiter=delimiter, strict=True)
        done = 0
        try:
            for cells in reader:
                first = offset + at + done + 1
                done = reader.line_num
                yield Row(first, offset + at + done, cells)
            at = end
        except csv.Error:
            at += done
            yield _unclosed(offset + at + 1, lines[at])
            at += 1
