"""
Rows to values: each cell is judged by its column, each row by what its cells say together.

A cell that cannot be read, or a row that contradicts itself, refuses the row (error). What can be
read but looks wrong stays and is told (warning). Logs repeat themselves, so each distinct text of
a column is judged once.
"""

from __future__ import annotations

import datetime as dt
import difflib
import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from gripbook.logs.block import EXERCISES, GRIPS
from gripbook.logs.grades import UnknownGradeError, read_grade, unknown_words
from gripbook.logs.problem import TEXT_LIMIT, Problem, Severity
from gripbook.logs.reader import BoolArray, ObjectArray, Table, Texts
from gripbook.logs.schema import (
    ADDED_COLUMNS,
    DAYS_WITHOUT,
    PAIN_SITES,
    Column,
    LogFile,
    other_unit,
)
from gripbook.words import fmt, mark, say

DateOrder = Literal["day-first", "month-first"]

_NUMBER = re.compile(r"[+\-\u2212]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?")
_ISO_DATE = re.compile(r"(\d{4})-(\d{2})-(\d{2})([T ]00:00(:00(\.0+)?)?)?")
_OTHER_DATE = re.compile(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4})\.?")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffd]")
_CANNOT_BE_SHOWN = (mark("holds characters that cannot be shown."), mark("Type the text anew."))


class _BadCellError(Exception):
    """A cell that cannot be read: reason and remedy."""

    def __init__(self, code: str, reason: str, remedy: str) -> None:
        super().__init__(reason)
        self.code, self.reason, self.remedy = code, reason, remedy


# --- one cell ------------------------------------------------------------------------------


def parse_number(text: str) -> float:
    """A number with decimal point or comma and an optional sign; raises on anything else."""
    if not _NUMBER.fullmatch(text):
        if re.fullmatch(r"[+-]?\d{1,3}([.,]\d{3})+[.,]\d+", text):
            reason, remedy = (
                say("has two kinds of separators."),
                say("Write it without thousands signs."),
            )
        elif re.match(r"[+\-\u2212]?[\d.,]+\s*[a-zA-Z\"']+$", text):
            reason, remedy = (
                say("holds a unit."),
                say("Write the number alone; the unit is the column's."),
            )
        else:
            reason, remedy = say("is no number."), say("Write a number, or leave the cell empty.")
        raise _BadCellError("not_a_number", reason, remedy)
    return float(text.replace(",", ".").replace("\u2212", "-"))


def parse_date(text: str, order: DateOrder | None) -> dt.date:
    """
    A day. ISO 8601 (year-month-day) always; day or month first only where `order` says so.

    Raises
    ------
    _BadCellError : for a day that does not exist, and for any other order without `order`, since
        05.12.2026 may mean two days and guessing moves a session by months.
    """
    iso = _ISO_DATE.fullmatch(text)
    if iso:
        year, month, day = (int(iso.group(i)) for i in (1, 2, 3))
    else:
        other = _OTHER_DATE.fullmatch(text)
        if not other:
            remedy = say("Write year-month-day, for example 2026-12-05.")
            if re.fullmatch(r"\d{1,2}[./-]\d{1,2}[./-]\d{2}", text):
                raise _BadCellError("date", say("has a year of two digits."), remedy)
            raise _BadCellError("date", say("is no date in the order year-month-day."), remedy)
        first, second, year = (int(other.group(i)) for i in (1, 2, 3))
        if order is None:
            both = first <= 12 and second <= 12 and first != second
            reason = (
                say("may mean two different days.")
                if both
                else say("is not in the order year-month-day.")
            )
            remedy = (
                say(
                    "Write it as {day_first} if the day comes first, as {month_first} if the month "
                    "does; or say --dates day-first or --dates month-first.",
                    day_first=f"{year}-{second:02d}-{first:02d}",
                    month_first=f"{year}-{first:02d}-{second:02d}",
                )
                if both
                else say(
                    "Write it as {iso_hint}, or say --dates day-first or --dates month-first.",
                    iso_hint=_iso_hint(first, second, year),
                )
            )
            raise _BadCellError("date_order", reason, remedy)
        day, month = (first, second) if order == "day-first" else (second, first)
    try:
        found = dt.date(year, month, day)
    except ValueError:
        reason = say("is no day of the calendar") + (
            say(" read {order}.", order=order) if not iso else "."
        )
        raise _BadCellError("date", reason, say("Correct the date.")) from None
    if not 1950 <= found.year <= 2200:
        raise _BadCellError(
            "date", say("lies outside the years 1950 to 2200."), say("Correct the year.")
        )
    return found


def _iso_hint(first: int, second: int, year: int) -> str:
    """The ISO date where only one reading exists, else an example."""
    day, month = (first, second) if first > 12 else (second, first)
    if max(first, second) > 12 and 1 <= month <= 12 and day <= 31:
        return f"{year}-{month:02d}-{day:02d}"
    return say("year-month-day (2026-12-05)")


def _parse_choice(text: str, choices: Sequence[str]) -> str:
    word = text.lower()
    if word in choices:
        return word
    raise _BadCellError("unknown_word", *_not_one_of(word, choices))


#: How words begin that are often written for one of the format's.
_MEANT = {"boulder": "climbing", "kletter": "climbing", "escalad": "climbing"}
_MEANT |= {"stretch": "mobility", "flexib": "mobility", "hangboard": "fingers"}


def _not_one_of(word: str, choices: Sequence[str]) -> tuple[str, str]:
    allowed = [c for c in choices if c]
    bare = word[:40].replace(" ", "_").replace("-", "_")
    near = [c for c in allowed if bare in c.split("_")]  # crimp: half or full?
    near = near or [c for begin, c in _MEANT.items() if bare.startswith(begin) and c in allowed]
    near = near or difflib.get_close_matches(bare, allowed, n=1, cutoff=0.6)
    remedy = (
        say("Did you mean {near}?", near=fmt.one_of(near))
        if near
        else say("Use one of these words.")
    )
    return say("is none of ") + ", ".join(allowed) + ".", remedy


def _parse_time(text: str) -> str:
    found = re.fullmatch(r"(\d{1,2}):(\d{2})(:\d{2})?", text)
    if not found or int(found.group(1)) > 23 or int(found.group(2)) > 59:
        raise _BadCellError(
            "time", say("is no time of day."), say("Write hours:minutes, for example 18:30.")
        )
    return f"{int(found.group(1)):02d}:{found.group(2)}"


def _parse_month(text: str) -> str:
    if not re.fullmatch(r"(19|20)\d{2}(-(0[1-9]|1[0-2]))?", text):
        raise _BadCellError(
            "month", say("is no year or year-month."), say("Write for example 2024 or 2024-09.")
        )
    return text


@dataclass(slots=True)
class Context:
    """What judging a file depends on besides its bytes."""

    date_order: DateOrder | None = None
    today: dt.date = field(default_factory=dt.date.today)
    grips: tuple[str, ...] = ()
    folder_athlete: str = ""


def _parser(column: Column, context: Context, factor: float) -> Callable[[str], Any]:
    """The function that reads one non-empty cell of `column`."""
    if column.kind in ("number", "integer"):

        def number(text: str) -> float:
            value = parse_number(text)
            if column.kind == "integer" and math.isfinite(value) and value != int(value):
                raise _BadCellError(
                    "not_whole", say("is no whole number."), say("Write it without decimals.")
                )
            value *= factor
            if not column.low <= value <= column.high:
                unit = column.name.rsplit("_", 1)[-1] if column.kind == "number" else ""
                reason = (
                    say(
                        "lies outside {low} to {high} {unit}",
                        low=fmt.plain(column.low),
                        high=fmt.plain(column.high),
                        unit=unit,
                    ).rstrip()
                    + "."
                )
                raise _BadCellError("out_of_range", reason, say("Correct the number."))
            return value

        return number
    if column.kind == "date":
        return lambda text: np.datetime64(parse_date(text, context.date_order), "us")
    if column.kind == "yes":
        return lambda text: _parse_choice(text, ("yes", "no"))
    if column.kind == "choice":
        return lambda text: _parse_choice(text, column.choices)
    if column.kind == "time":
        return _parse_time
    if column.kind == "month":
        return _parse_month
    if column.kind == "grip":
        allowed = (*GRIPS, *context.grips)

        def grip(text: str) -> str:
            word = text if text in allowed else text.lower()
            if word in allowed:
                return word
            reason, remedy = _not_one_of(word, allowed)
            raise _BadCellError(
                "unknown_grip",
                reason,
                say(
                    "{remedy} A grip of your own goes into block.toml: grips = [...].",
                    remedy=remedy,
                ),
            )

        return grip
    if column.name == "site":  # other text is allowed, so only known words are put in lower case
        return lambda text: text.lower() if text.lower() in PAIN_SITES else text
    return lambda text: text


_EMPTY: Mapping[str, Any] = {
    "number": np.nan,
    "integer": np.nan,
    "date": np.datetime64("NaT", "us"),
}


# --- one file ------------------------------------------------------------------------------


@dataclass(slots=True)
class FileReport:
    """How a file was read. `rows_used` + `rows_refused` = `rows_read`, always."""

    file: str
    name: str
    rows_read: int
    rows_used: int
    rows_refused: int
    rows_blank: int
    encoding: str
    delimiter: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Cells:
    """
    One column of a file: the stripped text of each distinct cell, what it was read as
    (`words`: numbers, days or text; as if empty where it could not be read), and which of them
    each row holds.
    """

    codes: npt.NDArray[np.intp]
    texts: ObjectArray
    words: npt.NDArray[Any]

    def text_at(self, row: int) -> str:
        """The text of one row."""
        return str(self.texts[self.codes[row]])

    def word_at(self, row: int) -> str:
        """The value of one row, as text."""
        return str(self.words[self.codes[row]])

    def where(self, text: str) -> BoolArray:
        """Rows whose text is `text`."""
        found: BoolArray = (self.texts == text)[self.codes]
        return found

    def where_value(self, value: object) -> BoolArray:
        """Rows whose value is `value`."""
        found: BoolArray = (self.words == value)[self.codes]
        return found

    def series(self, index: pd.Index) -> pd.Series:
        """The values as a column: numbers float64, days datetime64, everything else str."""
        if self.words.dtype != object:
            return pd.Series(self.words[self.codes], index=index, copy=False)
        words = pd.array(self.words, dtype="str")
        return pd.Series(words.take(self.codes), index=index, copy=False)


class Judge:
    """Collects the problems of one file and which of its rows they refuse."""

    def __init__(self, table: Table, renamed: Mapping[str, tuple[str, float]]) -> None:
        self.file = table.file
        self.lines = table.lines
        self.last_lines = table.last_lines
        self.renamed = renamed
        self.columns: dict[str, Cells] = {}
        self.refused: BoolArray = np.zeros(len(table.lines), dtype=bool)
        self.problems: list[Problem] = []

    def tell(
        self, severity: Severity, code: str, rows: BoolArray, column: str, reason: str, remedy: str
    ) -> None:
        """Tell one problem of `column` for each of `rows` (a mask); errors refuse them."""
        for i in np.flatnonzero(rows).tolist():
            self.tell_row(severity, code, i, column, self.columns[column], reason, remedy)

    def tell_row(
        self,
        severity: Severity,
        code: str,
        row: int,
        column: str,
        cells: Cells,
        reason: str,
        remedy: str,
    ) -> None:
        """Tell one problem of one row; an error refuses it."""
        athletes = self.columns.get("athlete")
        self.problems.append(
            Problem(
                severity,
                code,
                self.file,
                int(self.lines[row]),
                self.renamed[column][0] if column in self.renamed else column,
                cells.text_at(row)[:TEXT_LIMIT],
                reason,
                remedy,
                athlete=athletes.word_at(row) if athletes else "",
                last_line=int((self.last_lines if severity == "error" else self.lines)[row]),
                day=self._day(row),
            )
        )
        if severity == "error":
            self.refused[row] = True

    def _day(self, row: int) -> dt.date | None:
        """The date of a row, None where it cannot be read."""
        dates = self.columns.get("date")
        if dates is None:
            return None
        day = dates.words[dates.codes[row]]
        return None if np.isnat(day) else day.astype("datetime64[D]").item()


def _file_problem(
    severity: Severity, code: str, table: Table, column: str, value: str, reason: str, remedy: str
) -> Problem:
    """A problem of the header; as an error it refuses every row below it."""
    line = table.header_line
    last = table.last_line if severity == "error" else line
    return Problem(severity, code, table.file, line, column, value, reason, remedy, last_line=last)


def judge_table(
    table: Table, kind: LogFile, context: Context
) -> tuple[pd.DataFrame, list[Problem], FileReport]:
    """
    Give a split file its meaning.

    Returns
    -------
    The frame of usable rows (all columns of the format, unknown columns kept as text, and `file`
    and `line`), the problems (those of `table` first), and the file's counts.
    """
    names, renamed, fatal, warnings = _match_header(table, kind, context)
    n = len(table.lines)
    read = n + table.broken
    split = [*table.problems, *warnings, *fatal]
    if context.folder_athlete and "athlete" not in names:
        split = [replace(p, athlete=context.folder_athlete) for p in split]

    def report(used: int) -> FileReport:
        return FileReport(
            table.file,
            kind.name,
            read,
            used,
            read - used,
            table.blank,
            table.encoding,
            table.delimiter,
            table.sha256,
        )

    if fatal:
        return empty_frame(kind), sorted(split, key=lambda p: p.line), report(0)

    found = {name: texts for name, texts in zip(names, table.columns, strict=True) if name}
    if "athlete" not in found:
        found["athlete"] = _constant(context.folder_athlete, n)
    judge = Judge(table, renamed)
    for column in kind.columns:
        shown, factor = renamed.get(column.name, (column.name, 1.0))
        texts = found.pop(shown, None)
        judge.columns[column.name] = (
            _absent(column, n)
            if texts is None
            else _convert(texts, column, _parser(column, context, factor), judge)
        )
    frame = _typed(judge.columns, kind, n)
    for name, texts in found.items():  # unknown columns are kept as text
        kept = name
        while kept in ADDED_COLUMNS or kept in frame or (kept != name and kept in found):
            kept += "_"
        frame[kept] = _convert(texts, Column(name, "text", "unknown"), str, judge).series(
            frame.index
        )
    frame["file"] = _stripped(_constant(table.file, n)).series(frame.index)
    frame["line"] = table.lines
    check = _ROW_RULES.get(kind.name)
    if check is not None:
        check(frame, judge)
    if "date" in frame:
        future = frame["date"].to_numpy() > np.datetime64(context.today, "us")
        judge.tell(
            "warning",
            "future_date",
            future & ~judge.refused,
            "date",
            say("lies in the future."),
            say("Correct the date if it is a slip."),
        )
    if judge.refused.any():
        frame = frame[~judge.refused].reset_index(drop=True)
    problems = sorted([*split, *judge.problems], key=lambda p: p.line)
    return frame, problems, report(len(frame))


def _match_header(
    table: Table, kind: LogFile, context: Context
) -> tuple[list[str], dict[str, tuple[str, float]], list[Problem], list[Problem]]:
    """
    Names of the columns in order ("" = left out: no name and no cells), which columns stand in
    another unit, the problems that refuse the whole file, and the warnings.
    """
    fatal: list[Problem] = []
    warnings: list[Problem] = []
    names = list(table.header)
    for i, name in enumerate(names):
        if name == "" and any(text.strip() for text in table.columns[i].held()):
            names[i] = f"column_{i + 1}"
            while names[i] in table.header:
                names[i] += "_"
    known = kind.by_name
    units = {c.name: other for c in kind.columns if (other := other_unit(c))}
    units_of = {name: lb for name, (lb, _) in units.items()}
    renamed = {name: (lb, factor) for name, (lb, factor) in units.items() if lb in names}
    for name, (shown, _) in renamed.items():
        if name in names:
            fatal.append(
                _file_problem(
                    "error",
                    "two_units",
                    table,
                    shown,
                    "",
                    say("stands beside {name}.", name=name),
                    say("Keep one of the two columns; a file uses one unit."),
                )
            )
    others = {lb for lb, _ in renamed.values()}
    for name in sorted({x for x in names if x and names.count(x) > 1}):
        fatal.append(
            _file_problem(
                "error",
                "column_twice",
                table,
                name,
                "",
                say("stands twice in the header."),
                say("Rename or delete one of the two columns."),
            )
        )
    for column in kind.columns:
        if not column.needed or column.name in names or column.name in renamed:
            continue
        if column.name == "athlete" and context.folder_athlete:
            continue
        remedy = say("Add the column {name} to the header.", name=column.name)
        if column.name == "athlete":
            remedy += say(" Or put the file into a sub-folder named after the athlete.")
        fatal.append(
            _file_problem(
                "error",
                "column_missing",
                table,
                column.name,
                ", ".join(n for n in table.header if n)[:TEXT_LIMIT],
                say("is missing in the header."),
                remedy,
            )
        )
    for name in names:
        if name and name not in known and name not in others:
            warnings.append(
                _file_problem(
                    "warning",
                    "unknown_column",
                    table,
                    name,
                    "",
                    say("is no column of the log format; it was kept and is not used."),
                    _column_hint(name, [*known, *units_of.values()]),
                )
            )
    return names, renamed, fatal, warnings


def _column_hint(name: str, known: Sequence[str]) -> str:
    """The column that may have been meant."""
    bare = {k.rsplit("_", 1)[0]: k for k in known if "_" in k}
    near = difflib.get_close_matches(name, [*known, *bare], n=1, cutoff=0.75)
    if near:
        return say("Did you mean {get}?", get=bare.get(near[0], near[0]))
    return say("Check its spelling if it was meant to be one.")


def _constant(text: str, n: int) -> Texts:
    """A column of one text."""
    return Texts(np.zeros(n, dtype=np.intp), np.array([text], dtype=object))


def _stripped(texts: Texts) -> Cells:
    """A column whose values are its texts."""
    stripped = np.array([text.strip() for text in texts.distinct], dtype=object)
    return Cells(texts.codes, stripped, stripped)


def _values(column: Column, values: list[Any]) -> npt.NDArray[Any]:
    if column.kind in ("number", "integer"):
        return np.array(values, dtype=np.float64)
    if column.kind == "date":
        return np.array(values, dtype="datetime64[us]")
    return np.array(values, dtype=object)


def _absent(column: Column, n: int) -> Cells:
    codes, texts = _constant("", n)
    return Cells(codes, texts, _values(column, [_EMPTY.get(column.kind, column.default)]))


def _convert(texts: Texts, column: Column, parse: Callable[[str], Any], judge: Judge) -> Cells:
    """One column's texts and values; what cannot be read is told to `judge`."""
    stripped = _stripped(texts).texts
    empty = _EMPTY.get(column.kind, column.default)
    values: list[Any] = []
    told: dict[int, tuple[Severity, str, str, str]] = {}
    for k, text in enumerate(stripped):
        value = empty
        if text:
            try:
                value = parse(text)
            except _BadCellError as bad:
                told[k] = ("error", bad.code, bad.reason, bad.remedy)
        elif column.name == "athlete":
            remedy = say("Write the athlete's id, the same text in every file.")
            told[k] = ("error", "empty", say("is empty."), remedy)
        elif column.needed:
            told[k] = ("error", "empty", say("is empty."), say("Fill in the cell."))
        values.append(value)
    if column.kind == "text" and _CONTROL.search("\n".join(stripped)):
        for k, text in enumerate(stripped):
            if _CONTROL.search(text):
                values[k] = _CONTROL.sub("\ufffd", text)
                told[k] = (
                    "warning",
                    "control_character",
                    say(_CANNOT_BE_SHOWN[0]),
                    say(_CANNOT_BE_SHOWN[1]),
                )
    cells = Cells(texts.codes, stripped, _values(column, values))
    if told:
        for i in np.flatnonzero(np.isin(texts.codes, list(told))).tolist():
            severity, code, reason, remedy = told[int(texts.codes[i])]
            judge.tell_row(severity, code, i, column.name, cells, reason, remedy)
    if column.kind == "number":
        read = [text if k not in told else "" for k, text in enumerate(stripped)]
        comma = np.array(["," in text for text in read], dtype=bool)
        if comma.any() and any("." in text for text in read):
            judge.tell_row(
                "warning",
                "mixed_decimals",
                int(np.argmax(comma[texts.codes])),
                column.name,
                cells,
                say("has a decimal comma while other rows have a decimal point; both were read."),
                say("Use one sign in a file."),
            )
    return cells


def _typed(columns: Mapping[str, Cells], kind: LogFile, n: int) -> pd.DataFrame:
    """The frame with the format's dtypes and column order."""
    index = pd.RangeIndex(n)
    out = {c.name: columns[c.name].series(index) for c in kind.columns}
    if kind.name == "hangs":
        out["sets"] = out["sets"].fillna(1).astype("int64")
        for flag in ("test", "warmup"):
            out[flag] = pd.Series(columns[flag].where_value("yes"), index=index)
    return pd.DataFrame(out, index=index, copy=False)  # copying would join 20 columns into one


def empty_frame(kind: LogFile) -> pd.DataFrame:
    """A frame of no rows with the columns and dtypes of `kind`."""
    frame = _typed({c.name: _absent(c, 0) for c in kind.columns}, kind, 0)
    frame["file"] = pd.Series([], dtype="str")
    frame["line"] = pd.Series([], dtype="int64")
    return frame


# --- one row -------------------------------------------------------------------------------


def _check_hangs(frame: pd.DataFrame, judge: Judge) -> None:
    cells = judge.columns
    hang, repeater, pull = (cells["exercise"].where_value(e) for e in EXERCISES)

    def missing(column: str) -> BoolArray:
        # an unreadable cell was told already; here only the empty ones count
        return cells[column].where("")

    def number(column: str) -> npt.NDArray[np.float64]:
        values: npt.NDArray[np.float64] = frame[column].to_numpy(dtype=np.float64)
        return values

    def error(code: str, rows: BoolArray, column: str, reason: str, remedy: str) -> None:
        judge.tell("error", code, rows, column, reason, remedy)

    def warn(code: str, rows: BoolArray, column: str, reason: str, remedy: str) -> None:
        judge.tell("warning", code, rows & ~judge.refused, column, reason, remedy)

    error(
        "edge_missing",
        missing("edge_mm") & ~cells["grip"].where_value("sloper"),
        "edge_mm",
        say("is empty."),
        say("Write the edge's depth (for a pinch its width); only a sloper needs none."),
    )
    error(
        "hang_s_missing",
        (hang | repeater) & missing("hang_s") & missing("failed_s"),
        "hang_s",
        say("is empty, and so is failed_s."),
        say("Write the planned seconds, or for a hold to failure the seconds held in failed_s."),
    )
    error(
        "rest_s_missing",
        repeater & missing("rest_s"),
        "rest_s",
        say("is empty."),
        say("Write the rest between the holds of the set in seconds."),
    )
    error(
        "reps_missing",
        repeater & missing("reps") & missing("failed_s"),
        "reps",
        say("is empty, and so is failed_s."),
        say("Write the planned holds, or for a set to failure the seconds of the last hold."),
    )
    error(
        "load_missing",
        pull & missing("scale_kg") & missing("force_kg"),
        "scale_kg",
        say("is empty, and so is force_kg."),
        say(
            "Write what the scale showed while pulling. A load read from a gauge goes into a "
            "column force_kg."
        ),
    )
    stand, scale = number("stand_kg"), number("scale_kg")
    error(
        "scale_above_stand",
        (scale >= stand) & missing("force_kg"),
        "scale_kg",
        say("is not below stand_kg: no load was on the fingers."),
        say("Check both readings."),
    )
    failed, hold = number("failed_s"), number("hang_s")
    error(
        "failed_too_long",
        failed > hold,
        "failed_s",
        say("is longer than the planned hold, which then was finished."),
        say("Leave failed_s empty, or hang_s for a hold to failure."),
    )
    done, planned = number("reps_done"), number("reps")
    error(
        "reps_done_too_many",
        done > planned,
        "reps_done",
        say("is more than the planned holds."),
        say("Correct reps or reps_done."),
    )
    error(
        "nothing_failed",
        (done == planned) & (failed >= 0) & repeater,
        "reps_done",
        say("equals the planned holds, yet failed_s names an unfinished one."),
        say("Lower reps_done or leave failed_s empty."),
    )

    # the contract's reading of a gap: 0 with a warning, and only where others are filled
    gap = missing("added_kg")
    if gap.all():
        gap[:] = False
    needs = np.isnan(number("force_kg")) & np.isnan(stand)
    warn(
        "added_empty",
        gap & needs,
        "added_kg",
        say("is empty while other rows are filled; 0 was taken."),
        say("Write 0 where nothing was added."),
    )
    frame["added_kg"] = frame["added_kg"].fillna(0.0)
    warn(
        "reps_done_unknown",
        repeater & (failed >= 0) & np.isnan(done),
        "reps_done",
        say("is empty although a hold failed: how many were finished is not known."),
        say("Write the holds finished before the miss."),
    )
    warn(
        "failed_at_plan",
        (failed == hold) & (failed > 0),
        "failed_s",
        say("equals the planned hold."),
        say("Leave it empty if the hold was finished."),
    )
    for column, wrong, word in (
        ("reserve_s", ~hang, "hangs"),
        ("reserve_reps", ~repeater, "repeaters"),
    ):
        warn(
            "not_used",
            wrong & ~np.isnan(number(column)),
            column,
            say("is for {word} only and is not used here.", word=word),
            say("Move it to the right column."),
        )
    force = number("force_kg")
    warn(
        "two_loads",
        ~np.isnan(force) & ~np.isnan(scale),
        "force_kg",
        say("stands beside scale_kg; the gauge's figure was taken."),
        say("Keep the reading that counts."),
    )
    warn(
        "edge_small",
        (number("edge_mm") < 6) & ~cells["grip"].where_value("pinch"),
        "edge_mm",
        say("is below 6 mm; it is not compared with other edges."),
        say("Check that the depth is in millimetres."),
    )


def _check_sessions(frame: pd.DataFrame, judge: Judge) -> None:
    until = frame["until"].to_numpy()
    given = ~np.isnat(until)
    judge.tell(
        "error",
        "until_before_date",
        given & (until < frame["date"].to_numpy()),
        "until",
        say("lies before the date."),
        say("Correct one of the two."),
    )
    without = frame["kind"].isin(DAYS_WITHOUT).to_numpy()
    judge.tell(
        "warning",
        "until_not_used",
        given & ~without & ~judge.refused,
        "until",
        say("is for {word} only and is not used here.", word=", ".join(DAYS_WITHOUT)),
        say("Leave it empty."),
    )


def _check_pain(frame: pd.DataFrame, judge: Judge) -> None:
    judge.tell(
        "error",
        "level_missing",
        judge.columns["level"].where("") & judge.columns["sign"].where(""),
        "level",
        say("is empty, and so is sign."),
        say("Write 0 to 10 (0 = asked, none), or the sign that was seen."),
    )


def _check_climbs(frame: pd.DataFrame, judge: Judge) -> None:
    # the row stays: that a climb was done is known, only where it stands on the scale is not
    pairs = frame[["grade", "scale"]].drop_duplicates()
    for grade, scale in pairs.itertuples(index=False, name=None):
        if not grade or not scale:
            continue  # told already
        try:
            read_grade(grade, scale)
        except UnknownGradeError:
            rows = ((frame["grade"] == grade) & (frame["scale"] == scale)).to_numpy()
            judge.tell(
                "warning",
                "unknown_grade",
                rows & ~judge.refused,
                "grade",
                *unknown_words(grade, scale),
            )


_ROW_RULES: Mapping[str, Callable[[pd.DataFrame, Judge], None]] = {
    "hangs": _check_hangs,
    "sessions": _check_sessions,
    "pain": _check_pain,
    "climbs": _check_climbs,
}
