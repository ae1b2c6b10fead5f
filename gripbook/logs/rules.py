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
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from gripbook.logs.block import GRIPS
from gripbook.logs.problem import Problem, Severity
from gripbook.logs.reader import Table
from gripbook.logs.schema import ADDED_COLUMNS, DAYS_WITHOUT, Column, LogFile, other_unit

DateOrder = Literal["day-first", "month-first"]

_NUMBER = re.compile(r"[+\-\u2212]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?")
_ISO_DATE = re.compile(r"(\d{4})-(\d{2})-(\d{2})([T ]00:00(:00(\.0+)?)?)?")
_OTHER_DATE = re.compile(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4})\.?")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ufffd]")
_CANNOT_BE_SHOWN = ("holds characters that cannot be shown.", "Type the text anew.")
#: How many problems of one kind a file tells one by one; see `Judge.tell`.
_TEXT_LIMIT = 200

IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]


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
            reason, remedy = "has two kinds of separators.", "Write it without thousands signs."
        elif re.match(r"[+\-\u2212]?[\d.,]+\s*[a-zA-Z\"']+$", text):
            reason, remedy = "holds a unit.", "Write the number alone; the unit is the column's."
        else:
            reason, remedy = "is no number.", "Write a number, or leave the cell empty."
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
            remedy = "Write year-month-day, for example 2026-12-05."
            if re.fullmatch(r"\d{1,2}[./-]\d{1,2}[./-]\d{2}", text):
                raise _BadCellError("date", "has a year of two digits.", remedy)
            raise _BadCellError("date", "is no date in the order year-month-day.", remedy)
        first, second, year = (int(other.group(i)) for i in (1, 2, 3))
        if order is None:
            both = first <= 12 and second <= 12 and first != second
            reason = (
                "may mean two different days." if both else "is not in the order year-month-day."
            )
            raise _BadCellError(
                "date_order",
                reason,
                f"Write it as {_iso_hint(first, second, year)}, or say --dates day-first or "
                "--dates month-first.",
            )
        day, month = (first, second) if order == "day-first" else (second, first)
    try:
        found = dt.date(year, month, day)
    except ValueError:
        reason = "is no day of the calendar" + (f" read {order}." if not iso else ".")
        raise _BadCellError("date", reason, "Correct the date.") from None
    if not 1950 <= found.year <= 2200:
        raise _BadCellError("date", "lies outside the years 1950 to 2200.", "Correct the year.")
    return found


def _iso_hint(first: int, second: int, year: int) -> str:
    """The ISO date where only one reading exists, else an example."""
    day, month = (first, second) if first > 12 else (second, first)
    if max(first, second) > 12 and 1 <= month <= 12 and day <= 31:
        return f"{year}-{month:02d}-{day:02d}"
    return "year-month-day (2026-12-05)"


def _parse_choice(text: str, choices: Sequence[str]) -> str:
    word = text.lower()
    if word in choices:
        return word
    raise _BadCellError("unknown_word", *_not_one_of(word, choices))


def _not_one_of(word: str, choices: Sequence[str]) -> tuple[str, str]:
    allowed = [c for c in choices if c]
    near = difflib.get_close_matches(word.replace(" ", "_"), allowed, n=1, cutoff=0.6)
    remedy = f"Did you mean {near[0]}?" if near else "Use one of these words."
    return "is none of " + ", ".join(allowed) + ".", remedy


def _parse_time(text: str) -> str:
    found = re.fullmatch(r"(\d{1,2}):(\d{2})(:\d{2})?", text)
    if not found or int(found.group(1)) > 23 or int(found.group(2)) > 59:
        raise _BadCellError("time", "is no time of day.", "Write hours:minutes, for example 18:30.")
    return f"{int(found.group(1)):02d}:{found.group(2)}"


def _parse_month(text: str) -> str:
    if not re.fullmatch(r"(19|20)\d{2}(-(0[1-9]|1[0-2]))?", text):
        raise _BadCellError(
            "month", "is no year or year-month.", "Write for example 2024 or 2024-09."
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
                    "not_whole", "is no whole number.", "Write it without decimals."
                )
            value *= factor
            if not column.low <= value <= column.high:
                unit = column.name.rsplit("_", 1)[-1] if column.kind == "number" else ""
                reason = f"lies outside {column.low:g} to {column.high:g} {unit}".rstrip() + "."
                raise _BadCellError("out_of_range", reason, "Correct the number.")
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
                f"{remedy} A grip of your own goes into block.toml: grips = [...].",
            )

        return grip
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


class Judge:
    """Collects the problems of one file and which of its rows they refuse."""

    def __init__(self, file: str, lines: IntArray, athletes: npt.NDArray[np.object_]) -> None:
        self.file = file
        self.lines = lines
        self.athletes = athletes
        self.refused: BoolArray = np.zeros(len(lines), dtype=bool)
        self.problems: list[Problem] = []

    def tell(
        self,
        severity: Severity,
        code: str,
        rows: BoolArray | Iterable[int],
        column: str,
        values: Sequence[Any] | npt.NDArray[Any],
        reason: str,
        remedy: str,
    ) -> None:
        """Tell one problem for each of `rows` (a mask or positions); errors refuse them."""
        where = np.flatnonzero(rows) if isinstance(rows, np.ndarray) else np.array(list(rows))
        for i in where:
            value = str(values[int(i)]) if len(values) else ""
            self.problems.append(
                Problem(
                    severity,
                    code,
                    self.file,
                    int(self.lines[i]),
                    column,
                    value[:_TEXT_LIMIT],
                    reason,
                    remedy,
                    athlete=str(self.athletes[i]),
                )
            )
            if severity == "error":
                self.refused[i] = True


def _file_problem(
    severity: Severity, code: str, table: Table, column: str, value: str, reason: str, remedy: str
) -> Problem:
    """A problem of the header; as an error it refuses every row below it."""
    line = table.header_line
    last = table.rows[-1].last_line if table.rows and severity == "error" else line
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
    n = len(table.rows)
    read = n + table.broken

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
        return empty_frame(kind), [*table.problems, *warnings, *fatal], report(0)

    lines = np.array([row.line for row in table.rows], dtype=np.int64)
    columns = list(zip(*(row.cells for row in table.rows), strict=True)) if n else []
    cells = {
        name: np.array(columns[i], dtype=object) if n else np.array([], dtype=object)
        for i, name in enumerate(names)
        if name
    }
    athletes = _athlete_cells(cells, n, context)
    judge = Judge(table.file, lines, athletes)
    data: dict[str, Any] = {}
    raw: dict[str, npt.NDArray[np.object_]] = {}
    for column in kind.columns:
        if column.name == "athlete":
            raw["athlete"] = athletes
            data["athlete"] = _shown(athletes, "athlete", judge)
            judge.tell(
                "error",
                "empty",
                athletes == "",
                "athlete",
                athletes,
                "is empty.",
                "Write the athlete's id, the same text in every file.",
            )
            continue
        shown, factor = renamed.get(column.name, (column.name, 1.0))
        if shown not in cells:
            data[column.name] = _absent(column, n)
            continue
        text, values = _convert(cells[shown], column, shown, factor, context, judge)
        raw[column.name] = text
        data[column.name] = values
    for name in cells:
        if name not in {renamed.get(c.name, (c.name, 0))[0] for c in kind.columns}:
            kept = name
            while kept in ADDED_COLUMNS or kept in data or (kept != name and kept in cells):
                kept += "_"
            data[kept] = _shown(_stripped(cells[name]), name, judge)

    frame = _typed(pd.DataFrame(data, index=range(n)), kind)
    frame["file"] = pd.Series([table.file] * n, dtype="str", index=frame.index)
    frame["line"] = lines
    check = _ROW_RULES.get(kind.name)
    if check is not None:
        check(frame, raw, judge)
    if "date" in frame and n:
        future = frame["date"].to_numpy() > np.datetime64(context.today, "us")
        judge.tell(
            "warning",
            "future_date",
            future & ~judge.refused,
            "date",
            raw["date"],
            "lies in the future.",
            "Correct the date if it is a slip.",
        )
    used = frame[~judge.refused].reset_index(drop=True)
    problems = [*table.problems, *warnings, *judge.problems]
    problems.sort(key=lambda p: p.line)
    return used, problems, report(len(used))


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
        if name == "" and any(row.cells[i].strip() for row in table.rows):
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
                    f"stands beside {name}.",
                    "Keep one of the two columns; a file uses one unit.",
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
                "stands twice in the header.",
                "Rename or delete one of the two columns.",
            )
        )
    for column in kind.columns:
        if not column.needed or column.name in names or column.name in renamed:
            continue
        if column.name == "athlete" and context.folder_athlete:
            continue
        remedy = f"Add the column {column.name} to the header."
        if column.name == "athlete":
            remedy += " Or put the file into a sub-folder named after the athlete."
        fatal.append(
            _file_problem(
                "error",
                "column_missing",
                table,
                column.name,
                ", ".join(n for n in table.header if n)[:_TEXT_LIMIT],
                "is missing in the header.",
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
                    "is no column of the log format; it was kept and is not used.",
                    _column_hint(name, [*known, *units_of.values()]),
                )
            )
    return names, renamed, fatal, warnings


def _column_hint(name: str, known: Sequence[str]) -> str:
    """The column that may have been meant."""
    bare = {k.rsplit("_", 1)[0]: k for k in known if "_" in k}
    near = difflib.get_close_matches(name, [*known, *bare], n=1, cutoff=0.75)
    if near:
        return f"Did you mean {bare.get(near[0], near[0])}?"
    return "Check its spelling if it was meant to be one."


def _athlete_cells(
    cells: Mapping[str, npt.NDArray[np.object_]], n: int, context: Context
) -> npt.NDArray[np.object_]:
    if "athlete" in cells:
        return _stripped(cells["athlete"])
    return np.full(n, context.folder_athlete, dtype=object)


def _stripped(cells: npt.NDArray[np.object_]) -> npt.NDArray[np.object_]:
    """Texts without blanks around them; each distinct one is stripped once."""
    if not len(cells):
        return cells
    codes, distinct = pd.factorize(cells)
    found: npt.NDArray[np.object_] = np.array([d.strip() for d in distinct], dtype=object)[codes]
    return found


def _shown(texts: npt.NDArray[np.object_], column: str, judge: Judge) -> npt.NDArray[np.object_]:
    """Texts with a replacement sign for characters that cannot be shown; those are told."""
    odd = {text for text in pd.unique(texts) if _CONTROL.search(text)}
    if not odd:
        return texts
    rows = np.array([text in odd for text in texts], dtype=bool)
    judge.tell("warning", "control_character", rows, column, texts, *_CANNOT_BE_SHOWN)
    return np.array([_CONTROL.sub("\ufffd", text) for text in texts], dtype=object)


def _absent(column: Column, n: int) -> npt.NDArray[Any]:
    empty = _EMPTY.get(column.kind, column.default)
    return np.full(n, empty, dtype=object if isinstance(empty, str) else None)


def _convert(
    cells: npt.NDArray[np.object_],
    column: Column,
    shown: str,
    factor: float,
    context: Context,
    judge: Judge,
) -> tuple[npt.NDArray[np.object_], npt.NDArray[Any]]:
    """Stripped texts and values of one column; what cannot be read is told to `judge`."""
    codes, distinct = pd.factorize(cells)
    stripped = np.array([str(d).strip() for d in distinct], dtype=object)
    texts = stripped[codes] if len(codes) else np.array([], dtype=object)
    empty = _EMPTY.get(column.kind, column.default)
    parse = _parser(column, context, factor)
    values: list[Any] = []
    marks: set[str] = set()
    for k, text in enumerate(stripped):
        value = empty
        if text:
            try:
                value = parse(text)
            except _BadCellError as bad:
                judge.tell("error", bad.code, codes == k, shown, texts, bad.reason, bad.remedy)
            else:
                if column.kind == "number":
                    marks |= {sign for sign in ".," if sign in text}
                if column.kind == "text" and _CONTROL.search(text):
                    value = _CONTROL.sub("\ufffd", text)
                    judge.tell(
                        "warning", "control_character", codes == k, shown, texts, *_CANNOT_BE_SHOWN
                    )
        elif column.needed:
            judge.tell("error", "empty", codes == k, shown, texts, "is empty.", "Fill in the cell.")
        values.append(value)
    if len(marks) == 2:
        comma = np.array(["," in t for t in stripped], dtype=bool)
        first = np.flatnonzero(comma[codes])[:1]
        judge.tell(
            "warning",
            "mixed_decimals",
            first,
            shown,
            texts,
            "has a decimal comma while other rows have a decimal point; both were read.",
            "Use one sign in a file.",
        )
    table = np.array(values, dtype=object if isinstance(empty, str) else None)
    return texts, table[codes] if len(codes) else table[:0]


def _typed(frame: pd.DataFrame, kind: LogFile) -> pd.DataFrame:
    """The frame with the format's dtypes and column order; unknown columns last, as text."""
    out: dict[str, pd.Series] = {}
    for column in kind.columns:
        values = frame[column.name]
        if column.kind in ("number", "integer"):
            out[column.name] = values.astype("float64")
        elif column.kind == "date":
            out[column.name] = values.astype("datetime64[us]")
        else:
            out[column.name] = values.astype("str")
    for name in frame.columns:
        if name not in out:
            out[str(name)] = frame[name].astype("str")
    if kind.name == "hangs":
        out["sets"] = out["sets"].fillna(1).astype("int64")
        out["test"] = out["test"] == "yes"
        out["warmup"] = out["warmup"] == "yes"
    return pd.DataFrame(out, index=frame.index)


def empty_frame(kind: LogFile) -> pd.DataFrame:
    """A frame of no rows with the columns and dtypes of `kind`."""
    frame = pd.DataFrame({c.name: _absent(c, 0) for c in kind.columns})
    frame = _typed(frame, kind)
    frame["file"] = pd.Series([], dtype="str")
    frame["line"] = pd.Series([], dtype="int64")
    return frame


# --- one row -------------------------------------------------------------------------------

Raw = Mapping[str, npt.NDArray[np.object_]]


def _texts(raw: Raw, column: str, n: int) -> npt.NDArray[np.object_]:
    found = raw.get(column)
    return np.full(n, "", dtype=object) if found is None else found


def _check_hangs(frame: pd.DataFrame, raw: Raw, judge: Judge) -> None:
    n = len(frame)
    exercise = frame["exercise"].to_numpy(dtype=object)
    hang, repeater, pull = (exercise == e for e in ("hang", "repeater", "pull"))

    def missing(column: str) -> BoolArray:
        # an unreadable cell was told already; here only the empty ones count
        empty: BoolArray = _texts(raw, column, n) == ""
        return empty

    def number(column: str) -> npt.NDArray[np.float64]:
        values: npt.NDArray[np.float64] = frame[column].to_numpy(dtype=np.float64)
        return values

    def error(code: str, rows: BoolArray, column: str, reason: str, remedy: str) -> None:
        judge.tell("error", code, rows, column, _texts(raw, column, n), reason, remedy)

    def warn(code: str, rows: BoolArray, column: str, reason: str, remedy: str) -> None:
        texts = _texts(raw, column, n)
        judge.tell("warning", code, rows & ~judge.refused, column, texts, reason, remedy)

    error(
        "edge_missing",
        missing("edge_mm") & (frame["grip"] != "sloper").to_numpy(),
        "edge_mm",
        "is empty.",
        "Write the edge's depth (for a pinch its width); only a sloper needs none.",
    )
    error(
        "hang_s_missing",
        (hang | repeater) & missing("hang_s") & missing("failed_s"),
        "hang_s",
        "is empty, and so is failed_s.",
        "Write the planned seconds, or for a hold to failure the seconds held in failed_s.",
    )
    error(
        "rest_s_missing",
        repeater & missing("rest_s"),
        "rest_s",
        "is empty.",
        "Write the rest between the holds of the set in seconds.",
    )
    error(
        "reps_missing",
        repeater & missing("reps") & missing("failed_s"),
        "reps",
        "is empty, and so is failed_s.",
        "Write the planned holds, or for a set to failure the seconds of the last hold.",
    )
    error(
        "load_missing",
        pull & missing("scale_kg") & missing("force_kg"),
        "scale_kg",
        "is empty, and so is force_kg.",
        "Write what the scale showed while pulling, or the load from a gauge.",
    )
    stand, scale = number("stand_kg"), number("scale_kg")
    error(
        "scale_above_stand",
        (scale >= stand) & missing("force_kg"),
        "scale_kg",
        "is not below stand_kg: no load was on the fingers.",
        "Check both readings.",
    )
    failed, hold = number("failed_s"), number("hang_s")
    error(
        "failed_too_long",
        failed > hold,
        "failed_s",
        "is longer than the planned hold, which then was finished.",
        "Leave failed_s empty, or hang_s for a hold to failure.",
    )
    done, planned = number("reps_done"), number("reps")
    error(
        "reps_done_too_many",
        done > planned,
        "reps_done",
        "is more than the planned holds.",
        "Correct reps or reps_done.",
    )
    error(
        "nothing_failed",
        (done == planned) & (failed >= 0) & repeater,
        "reps_done",
        "equals the planned holds, yet failed_s names an unfinished one.",
        "Lower reps_done or leave failed_s empty.",
    )

    added = _texts(raw, "added_kg", n)
    # the contract's reading of a gap: 0 with a warning, and only where others are filled
    gap = (added == "") if "added_kg" in raw and (added != "").any() else np.zeros(n, dtype=bool)
    needs = np.isnan(number("force_kg")) & np.isnan(stand)
    warn(
        "added_empty",
        gap & needs,
        "added_kg",
        "is empty while other rows are filled; 0 was taken.",
        "Write 0 where nothing was added.",
    )
    frame["added_kg"] = frame["added_kg"].fillna(0.0)
    warn(
        "reps_done_unknown",
        repeater & (failed >= 0) & np.isnan(done),
        "reps_done",
        "is empty although a hold failed: how many were finished is not known.",
        "Write the holds finished before the miss.",
    )
    warn(
        "failed_at_plan",
        (failed == hold) & (failed > 0),
        "failed_s",
        "equals the planned hold.",
        "Leave it empty if the hold was finished.",
    )
    for column, wrong, word in (
        ("reserve_s", ~hang, "hangs"),
        ("reserve_reps", ~repeater, "repeaters"),
    ):
        warn(
            "not_used",
            wrong & ~np.isnan(number(column)),
            column,
            f"is for {word} only and is not used here.",
            "Move it to the right column.",
        )
    force = number("force_kg")
    warn(
        "two_loads",
        ~np.isnan(force) & ~np.isnan(scale),
        "force_kg",
        "stands beside scale_kg; the gauge's figure was taken.",
        "Keep the reading that counts.",
    )
    warn(
        "edge_small",
        (number("edge_mm") < 6) & (frame["grip"] != "pinch").to_numpy(),
        "edge_mm",
        "is below 6 mm; it is not compared with other edges.",
        "Check that the depth is in millimetres.",
    )


def _check_sessions(frame: pd.DataFrame, raw: Raw, judge: Judge) -> None:
    until = frame["until"].to_numpy()
    given = ~np.isnat(until)
    n = len(frame)
    judge.tell(
        "error",
        "until_before_date",
        given & (until < frame["date"].to_numpy()),
        "until",
        _texts(raw, "until", n),
        "lies before the date.",
        "Correct one of the two.",
    )
    without = frame["kind"].isin(DAYS_WITHOUT).to_numpy()
    judge.tell(
        "warning",
        "until_not_used",
        given & ~without & ~judge.refused,
        "until",
        _texts(raw, "until", n),
        "is for " + ", ".join(DAYS_WITHOUT) + " only and is not used here.",
        "Leave it empty.",
    )


def _check_pain(frame: pd.DataFrame, raw: Raw, judge: Judge) -> None:
    n = len(frame)
    judge.tell(
        "error",
        "level_missing",
        (_texts(raw, "level", n) == "") & (_texts(raw, "sign", n) == ""),
        "level",
        _texts(raw, "level", n),
        "is empty, and so is sign.",
        "Write 0 to 10 (0 = asked, none), or the sign that was seen.",
    )


_ROW_RULES: Mapping[str, Callable[[pd.DataFrame, Raw, Judge], None]] = {
    "hangs": _check_hangs,
    "sessions": _check_sessions,
    "pain": _check_pain,
}
