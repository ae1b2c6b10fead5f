"""
Bytes to rows with physical line numbers. Nothing here knows what a column means.

The csv module decides what a record is, not pandas: pandas fills short rows in silence, shifts
long ones into the index, and cannot say on which line a row stood. Only lines that leave nothing
to decide (no quote, as many cells as the header) are split in bulk, a thousand rows in the time of
one; every other line goes through the csv module one record at a time.
"""

from __future__ import annotations

import csv
import hashlib
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from gripbook.logs.bounds import (
    CELL_CHARACTERS,
    CELLS,
    COLUMNS,
    LINES,
    PROBLEMS,
    RECORD_LINES,
    FileRefusedError,
    check_count,
)
from gripbook.logs.problem import TEXT_LIMIT, Code, Problem

DELIMITERS = (",", ";", "\t")

IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]
ObjectArray = npt.NDArray[np.object_]


class Row(NamedTuple):
    """One record: its cells as they stand, and the physical lines it stands on (from 1)."""

    line: int
    last_line: int
    cells: list[str]


class Texts(NamedTuple):
    """One column's cells as they stand: the text of row `i` is `distinct[codes[i]]`."""

    codes: npt.NDArray[np.intp]
    distinct: ObjectArray

    def held(self) -> ObjectArray:
        """The distinct texts that a row holds; those of refused rows are not taken out."""
        held: ObjectArray = self.distinct[np.bincount(self.codes, minlength=len(self.distinct)) > 0]
        return held


@dataclass(frozen=True, slots=True)
class Table:
    """
    A file's header and rows before any meaning is given to them.

    `lines` and `last_lines` (n,) are the physical lines, from 1, on which each row begins and
    ends, and `columns` the cells of the rows under each name of `header`. `broken` counts the
    records that could not be split into the header's columns; their problems stand in `problems`.
    Blank rows (no cell filled) and `remarks` (lines that begin with "# ") are counted, not kept.
    `last_line` is the file's last line.
    """

    file: str
    header: list[str]
    header_line: int
    lines: IntArray
    last_lines: IntArray
    columns: list[Texts]
    last_line: int
    broken: int
    blank: int
    problems: list[Problem]
    encoding: str
    delimiter: str
    sha256: str
    remarks: int = 0

    @property
    def rows(self) -> list[Row]:
        """The rows one by one, for looking at; `columns` is the quick way."""
        cells = [texts.distinct[texts.codes] for texts in self.columns]
        ends = zip(self.lines.tolist(), self.last_lines.tolist(), strict=True)
        return [Row(*end, [c[i] for c in cells]) for i, end in enumerate(ends)]


def decode(data: bytes, file: str) -> tuple[str, str, list[Problem]]:
    """Text, name of the encoding, and a warning where it had to be guessed."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace"), "utf-16", []
    if kind := _utf_16_without_mark(data):
        return data.decode(kind, errors="replace"), kind, []
    mark = b"\xef\xbb\xbf"
    encoding = "utf-8-sig" if data.startswith(mark) else "utf-8"
    data = data.removeprefix(mark)
    try:
        return data.decode("utf-8"), encoding, []
    except UnicodeDecodeError as err:
        before = data[: err.start].decode("latin-1")
        line = _one_newline(before).count("\n") + 1
        # a few bytes have no character in Windows-1252; they show as a replacement sign
        text = data.decode("cp1252", errors="replace")
        return text, "cp1252", [Problem("warning", "encoding", file, line)]


def _utf_16_without_mark(data: bytes) -> str:
    """Name of the UTF-16 that every other byte being NUL tells of, "" for other texts."""
    first = data[:2000]
    for kind, zeros in (("utf-16-le", first[1::2]), ("utf-16-be", first[::2])):
        if len(first) >= 4 and zeros.count(0) > 0.9 * len(zeros):
            return kind
    return ""


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

    # where no name is known the one that parts it most; of equals the first, so the comma
    best = max(DELIMITERS, key=lambda d: (score(d), line.count(d)))
    return best, score(best)


def tidy_header(cell: str) -> str:
    """A header cell as the format writes it: lower case, one line, no blanks around it."""
    return " ".join(cell.strip().strip("\ufeff").split()).lower()


def _one_newline(text: str) -> str:
    """The text with every line end (CRLF, CR, LF) written as LF."""
    return text.replace("\r\n", "\n").replace("\r", "\n") if "\r" in text else text


def read_table(data: bytes, file: str, known: Sequence[str]) -> Table:
    """
    Split a file's bytes into a header and rows.

    Parameters
    ----------
    data : the file's bytes.
    file : its name relative to the log folder, for messages.
    known : column names that may stand in the header; they decide the separator.

    Raises
    ------
    FileRefusedError : it has too many lines, columns, cells or problems, or begins with a remark
        in place of the header.
    """
    digest = hashlib.sha256(data).hexdigest()
    text, encoding, problems = decode(data, file)
    plain_bytes = encoding == "utf-8" and b"\r" not in data
    raw = data if plain_bytes else _one_newline(text).encode("utf-8")
    if raw and not raw.endswith(b"\n"):
        raw += b"\n"
    check_count(file, "lines", raw.count(b"\n"), LINES)
    ends = np.flatnonzero(np.frombuffer(raw, dtype=np.uint8) == ord("\n"))
    starts = np.concatenate(([0], ends[:-1] + 1)) if len(ends) else ends
    count = len(ends)
    filled = np.flatnonzero(ends > starts)  # lines that are not empty

    def line_at(i: int) -> str:
        return raw[starts[i] : ends[i] + 1].decode("utf-8")

    blank, at = 0, int(filled[0]) if len(filled) else count
    broken: list[Problem] = []
    delimiter = ""
    while at < count:
        declared = re.fullmatch(r"sep=(.)", line_at(at).strip("\n"), re.IGNORECASE)
        if declared and declared.group(1) in DELIMITERS:  # written by a spreadsheet
            delimiter = declared.group(1)
        elif line_at(at).strip(" ,;\t\n"):
            break
        at += 1
    header: list[str] = []
    header_line = min(at + 1, count)
    if at < count:
        likely, names = vote_delimiter(line_at(at), known)
        delimiter = delimiter or likely
        if line_at(at).startswith("#") and not names:
            value = line_at(at).strip("\n")[:TEXT_LIMIT]
            raise FileRefusedError(Problem("error", "remark_above", file, at + 1, value=value))
    while at < count and not header:
        cells, after = _record(line_at, at, count, delimiter)
        if cells is None:
            broken.append(_unclosed(file, at + 1, line_at(at)))
        else:
            check_count(file, "columns", len(cells), COLUMNS)
            header = [tidy_header(c) for c in cells]
            header_line = at + 1
        at = after

    width = len(header)
    check_count(file, "cells", width * (count - at), CELLS)
    remarks = _remarks(raw, starts)
    plain, columns = _split_plain(raw, starts, ends, at, delimiter, width, remarks)
    split = np.flatnonzero(plain)
    single_lines: list[tuple[int, int]] = []
    single_cells: list[list[str]] = []
    padded: dict[int, list[str]] = {}
    remarked = 0
    blank = count - at - int((filled >= at).sum())
    for i in filled[~plain[filled]].tolist():
        if i < at:  # the header, or inside a record that began above
            continue
        check_count(file, "problems", len(problems) + len(broken), PROBLEMS)
        if remarks is not None and remarks[i]:
            remarked += 1
            at = i + 1
            continue
        cells, at = _record(line_at, i, count, delimiter)
        below = [line_at(j) for j in range(i, at)] if at > i + 1 else []
        if cells is None or (below and _swallowed(cells, below, width, delimiter)):
            broken.append(_unclosed(file, i + 1, line_at(i)))
            at = i + 1  # one bad quote costs one row: reading starts anew on the next line
            continue
        plain[i:at] = False
        blank -= below.count("\n")  # they belong to a cell
        extra = len(cells) - width
        if not "".join(cells).strip():
            blank += 1
        elif extra > 0 and any(c.strip() for c in cells[width:]):
            broken.append(_too_many(file, i + 1, at, cells, width, delimiter))
        else:
            if extra > 0:
                padded[i + 1] = cells
            if extra < 0:
                problems.append(_too_few(file, i + 1, cells, width, delimiter))
                cells = cells + [""] * -extra
            single_lines.append((i + 1, at))
            single_cells.append(cells[:width])

    lines = last_lines = np.flatnonzero(plain) + 1
    if len(lines) < len(split):  # the others stand inside a record of several lines
        columns = [_only(texts, plain[split]) for texts in columns]
    if single_lines:
        spans = np.concatenate([np.stack([lines, lines], axis=1), np.array(single_lines)])
        order = np.argsort(spans[:, 0], kind="stable")
        lines, last_lines = spans[order, 0], spans[order, 1]
        columns = [
            _appended(column, texts, order)
            for column, texts in zip(columns, zip(*single_cells, strict=True), strict=True)
        ]
    empty = np.ones(len(lines), dtype=bool)
    for codes, distinct in columns:
        if not empty.any():
            break
        empty &= np.array([not text.strip() for text in distinct], dtype=bool)[codes]
    if empty.any():  # rows of separators alone
        blank += int(empty.sum())
        lines, last_lines = lines[~empty], last_lines[~empty]
        columns = [Texts(codes[~empty], distinct) for codes, distinct in columns]
    if 0 < len(padded) < len(lines):
        # separators at the end of every row are a spreadsheet's; of some rows, a sign that a
        # decimal comma has moved the cells on: 62,4 under body_mass_kg would be read as 62
        moved = np.isin(lines, list(padded))
        broken += [
            _too_many(file, line, last, padded[line], width, delimiter)
            for line, last in zip(lines[moved].tolist(), last_lines[moved].tolist(), strict=True)
        ]
        lines, last_lines = lines[~moved], last_lines[~moved]
        columns = [Texts(codes[~moved], distinct) for codes, distinct in columns]
    return Table(
        file,
        header,
        header_line,
        lines,
        last_lines,
        columns,
        count,
        len(broken),
        blank,
        problems + broken,
        encoding,
        delimiter,
        digest,
        remarked,
    )


def _record(
    line_at: Callable[[int], str], first: int, count: int, delimiter: str
) -> tuple[list[str] | None, int]:
    """Cells of the record that begins on line `first` (from 0), None if broken; the line after."""
    last = min(count, first + RECORD_LINES)
    reader = csv.reader(map(line_at, range(first, last)), delimiter=delimiter, strict=True)
    try:
        cells = next(reader)
    except csv.Error:
        return None, first + 1
    return cells, first + reader.line_num


def _swallowed(cells: list[str], lines: list[str], width: int, delimiter: str) -> bool:
    """
    Whether a record over several lines has eaten rows.

    A quote that was never closed runs on to the next quote, wherever that stands. Seen from a later
    line with half a row's separators in a record with cells left over, or from a line inside a cell
    with about as many separators as stand before the cell, written as rows are (prose has blanks
    after them).
    """
    if any(cell.strip() for cell in cells[width:]):
        return any(line.count(delimiter) >= width // 2 for line in lines[1:])
    for k, cell in enumerate(cells):
        enough = max(2, min(k, width * 3 // 4))
        for line in cell.split("\n")[1:]:
            if line.count(delimiter) >= enough and f"{delimiter} " not in line:
                return True
    return False


#: Lines split at a time, so few that what is worked out of them stays in the processor's cache.
_BLOCK_LINES = 16_384
#: Bytes of a cell that are compared, eight at a time; longer cells are looked at one by one.
_COMPARED_BYTES = 32
#: Of the eight bytes that begin where a cell does, those of a cell of 0 to 8 bytes.
_MASKS = np.array([b"\xff" * k for k in range(9)], dtype="S8").view(np.uint64)


def _remarks(raw: bytes, starts: IntArray) -> BoolArray | None:
    """Mask of the lines that begin with a hash and a blank, None where there are none."""
    if b"\n# " not in raw:
        return None
    signs = np.frombuffer(raw + b"\n", dtype=np.uint8)
    mask: BoolArray = (signs[starts] == ord("#")) & (signs[starts + 1] == ord(" "))
    return mask


def _split_plain(
    raw: bytes,
    starts: IntArray,
    ends: IntArray,
    first: int,
    delimiter: str,
    width: int,
    remarks: BoolArray | None,
) -> tuple[BoolArray, list[Texts]]:
    """
    Mask of the lines from `first` on that hold `width` cells, and their cells by column.

    Such lines are read alike by whatever reads them: they hold no quote and no NUL, and are no
    `remarks`.
    """
    plain = np.zeros(len(ends), dtype=bool)
    books = [_Book(len(ends) - first) for _ in range(width)]
    if width > 1:
        plain[first:] = True
        plain[ends - starts > CELL_CHARACTERS] = False
        if remarks is not None:
            plain[remarks] = False
        for sign in (b'"', b"\0"):
            if sign in raw:
                places = np.flatnonzero(np.frombuffer(raw, dtype=np.uint8) == sign[0])
                plain[np.searchsorted(ends, places)] = False
        for begin in range(first, len(ends), _BLOCK_LINES):
            lines = slice(begin, begin + _BLOCK_LINES)
            offset = int(starts[begin])
            start, end, here = starts[lines] - offset, ends[lines] - offset, plain[lines]
            # eight bytes can be taken from where any cell begins
            block = raw[offset : offset + int(end[-1])] + bytes(8)
            at = np.flatnonzero(np.frombuffer(block, dtype=np.uint8) == ord(delimiter))
            each = width - 1
            if not (
                here.all()
                and len(at) == each * len(end)
                and (at[::each] >= start).all()
                and (at[each - 1 :: each] < end).all()
            ):  # most blocks have so many separators in every line
                counts = np.diff(np.searchsorted(at, end), prepend=0)
                here &= counts == each
                start, end, at = start[here], end[here], at[np.repeat(here, counts)]
            if len(start):
                inner = at.reshape(-1, each).T
                lefts, rights = np.vstack([start, inner + 1]), np.vstack([inner, end])
                for book, left, right in zip(books, lefts, rights, strict=True):
                    book.add(block, left, right)
    return plain, [book.texts() for book in books]


class _Book:
    """The distinct cells of one column, numbered as they come."""

    def __init__(self, rows: int) -> None:
        self._codes = np.empty(rows, dtype=np.intp)
        self._filled = 0
        self._numbers: dict[bytes, int] = {}

    def add(self, block: bytes, left: IntArray, right: IntArray) -> None:
        """Add the cells that stand in `block` from `left` to `right`."""
        codes, cells = _alike(block, left, right - left)
        numbers = [self._numbers.setdefault(cell, len(self._numbers)) for cell in cells]
        here = self._codes[self._filled : self._filled + len(left)]
        if len(cells) > 1:
            np.array(numbers, dtype=np.intp).take(codes, out=here, mode="clip")
        else:
            here[:] = numbers[0]
        self._filled += len(left)

    def texts(self) -> Texts:
        """The column."""
        distinct = np.array([cell.decode("utf-8") for cell in self._numbers], dtype=object)
        return Texts(self._codes[: self._filled], distinct)


def _alike(
    block: bytes, left: IntArray, length: IntArray
) -> tuple[npt.NDArray[np.intp], list[bytes]]:
    """
    Codes from 0 of the cells, equal where the cells are, and the distinct cells by code.

    `block` ends in 8 NUL, and no cell holds one.
    """
    longest = int(length.max())
    if not longest:
        return np.zeros(len(left), dtype=np.intp), [b""]
    words = np.ndarray(len(block) - 7, dtype=np.uint64, buffer=block, strides=(1,))
    codes, begins = pd.factorize(words[left] & _MASKS.take(length, mode="clip"))
    if longest <= 8:
        return codes, begins.view("S8").tolist()  # without the NULs behind
    count = len(begins)
    for done in range(8, min(longest, _COMPARED_BYTES), 8):
        rows = np.flatnonzero(length > done)
        masks = _MASKS.take(length[rows] - done, mode="clip")
        more = pd.factorize(words[left[rows] + done] & masks)[0]
        codes[rows] += count * (more + 1)
        codes, distinct = pd.factorize(codes)
        count = len(distinct)
    if longest > _COMPARED_BYTES:
        rows = np.flatnonzero(length > _COMPARED_BYTES)
        ends = (left[rows] + length[rows]).tolist()
        numbers: dict[bytes, int] = {}
        codes[rows] = [
            count + numbers.setdefault(block[a:b], len(numbers))
            for a, b in zip(left[rows].tolist(), ends, strict=True)
        ]
        codes, distinct = pd.factorize(codes)
        count = len(distinct)
    some = np.empty(count, dtype=np.intp)
    some[codes] = np.arange(len(codes))  # one cell of each, no matter which
    ends = (left[some] + length[some]).tolist()
    return codes, [block[a:b] for a, b in zip(left[some].tolist(), ends, strict=True)]


def _only(texts: Texts, rows: BoolArray) -> Texts:
    """The column with the chosen rows and the texts that they hold."""
    codes, held = pd.factorize(texts.codes[rows])
    return Texts(codes, texts.distinct[held])


def _appended(column: Texts, texts: Sequence[str], order: npt.NDArray[np.intp]) -> Texts:
    """The column with more cells behind it, then put in `order`."""
    codes, distinct = pd.factorize(np.array(texts, dtype=object))
    return Texts(
        np.concatenate([column.codes, codes + len(column.distinct)])[order],
        np.concatenate([column.distinct, distinct]),
    )


def _unclosed(file: str, line: int, text: str) -> Problem:
    code: Code = "cell_too_long" if len(text) > CELL_CHARACTERS else "broken_quote"
    parameters = {"limit": CELL_CHARACTERS} if code == "cell_too_long" else {}
    return Problem("error", code, file, line, "", text.strip("\n")[:TEXT_LIMIT], parameters)


def _too_many(
    file: str, line: int, last_line: int, cells: list[str], width: int, delimiter: str
) -> Problem:
    return Problem(
        "error",
        "too_many_cells",
        file,
        line,
        value=delimiter.join(cells)[:TEXT_LIMIT],
        parameters={"cells": len(cells), "width": width},
        last_line=last_line,
    )


def _too_few(file: str, line: int, cells: list[str], width: int, delimiter: str) -> Problem:
    return Problem(
        "warning",
        "too_few_cells",
        file,
        line,
        value=delimiter.join(cells)[:TEXT_LIMIT],
        parameters={"cells": len(cells), "width": width},
    )
