"""Rows of a spreadsheet to rows of the log, by a map: each is used, refused or ignored."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Literal, NamedTuple

from gripbook.logs.adopt.map_file import DAY, HELD, QUESTION, Map, SheetMap, tokens
from gripbook.logs.adopt.reader_says import refusals
from gripbook.logs.canonical import Fault, NotReadError, Reading, canonical
from gripbook.logs.problem import Problem
from gripbook.logs.schema import FILES
from gripbook.logs.spreadsheet import Sheet
from gripbook.logs.words_read import WEEKDAYS, bare, month_named

_DAY_ALONE = re.compile(r"(\d{1,2})\.?")
_DAY_AND_MONTH = re.compile(r"(\d{1,2})\.?\s*([^\W\d]+)\.?")
#: Columns of a row in the log that name whose and which day it is.
SHARED = ("athlete", "date")


@dataclass(frozen=True, slots=True)
class Taken:
    """
    One row for the log.

    Its file, its cells in the format's words, and where it stood: sheet and row, and which of the
    source's rows that was.
    """

    file: str
    cells: Mapping[str, str]
    sheet: str
    row: int
    source: int

    @property
    def key(self) -> tuple[str, tuple[tuple[str, str], ...]]:
        """What makes two rows the same."""
        return self.file, tuple((k, v) for k, v in self.cells.items() if v)


class UnreadCell(NamedTuple):
    """A cell without one meaning: the column it is for, its text, why, and what it might be."""

    name: str
    text: str
    fault: Fault
    words: tuple[str, ...] = ()


class Ignored(NamedTuple):
    """
    The rule by which a row is no set.

    `not_named`: no section of the map is for its sheet; `begins`: with the text of a rule;
    `header`: the header again; `no_set`, `day_alone`: nothing else is filled in.
    """

    rule: Literal["not_named", "begins", "header", "no_set", "day_alone"]
    text: str = ""


@dataclass(slots=True)
class Outcome:
    """
    What became of the rows of the sheets: `used` + `refused` + `ignored` = `rows_in`.

    `refused` and `ignored` hold place and reason of each.
    """

    rows: list[Taken] = field(default_factory=list)
    rows_in: int = 0
    sources: set[int] = field(default_factory=set)
    refused: list[tuple[str, tuple[UnreadCell, ...] | Problem]] = field(default_factory=list)
    ignored: list[tuple[str, Ignored]] = field(default_factory=list)

    @property
    def used(self) -> int:
        """Source rows from which at least one row of the log was made."""
        return len(self.sources)


def header_of(sheet: Sheet, row: int, rows: int) -> list[str]:
    """
    Names of a sheet's columns; a header over several rows gives "upper lower".

    Parameters
    ----------
    row, rows : where the header begins, from 1, and how many rows it has.
    """
    lines = [list(r) for r in sheet.rows[row - 1 : row - 1 + rows]]
    width = max((len(r) for r in sheet.rows), default=0)
    for line in lines:
        line += [""] * (width - len(line))
    for top, left, bottom, right in sheet.merged:
        if row - 1 <= top < row - 1 + rows:
            text = lines[top - row + 1][left]
            for i in range(top, min(bottom, row + rows - 2) + 1):
                lines[i - row + 1][left : right + 1] = [text] * (right - left + 1)
    names: list[str] = []
    for k in range(width):
        parts = list(dict.fromkeys(" ".join(line[k].split()) for line in lines))
        name = " ".join(p for p in parts if p)
        if name in names:
            name = f"{name} ({k + 1})"
        names.append(name)
    return names


def body_rows(sheet: Sheet, plan: SheetMap) -> Iterator[tuple[int, dict[str, str]]]:
    """The filled rows under the header: number from 1, and cells by the header's name."""
    names = header_of(sheet, plan.header_row, plan.header_rows)
    first = plan.header_row + plan.header_rows - 1
    held: dict[tuple[int, int], str] = {
        (i, k): sheet.rows[top][left]
        for top, left, bottom, right in sheet.merged
        if top >= first and left == right
        for i in range(top, bottom + 1)
        for k in range(left, right + 1)
    }
    above: dict[str, str] = {}
    for i, row in enumerate(sheet.rows[first:], first):
        cells = {
            name or f"column {k + 1}": text
            for k, (name, text) in enumerate(zip(names, row, strict=False))
            if name or text
        }
        if not any(cells.values()):
            continue
        for k, name in enumerate(names):
            if (i, k) in held:
                cells[name] = held[i, k]
        for name in plan.fill_down:
            if cells.get(name):
                above[name] = cells[name]
            elif name in above and not is_sum(cells, plan):
                cells[name] = above[name]
        yield i + 1, cells


def is_sum(cells: Mapping[str, str], plan: SheetMap) -> Ignored | None:
    """The rule by which a row is no set, None where there is none."""
    first = next((text for text in cells.values() if text), "")
    for begin in plan.ignore:
        if bare(first).startswith(bare(begin)):
            return Ignored("begins", begin)
    filled = {name: text for name, text in cells.items() if text}
    if len(filled) > 1 and all(bare(name).endswith(bare(text)) for name, text in filled.items()):
        return Ignored("header")
    return None


def take(sheets: Sequence[Sheet], made: Map, reading: Reading) -> Outcome:
    """
    Turn every row of the sheets into rows of the log, or say why not.

    Cells are read as the log's reader does; what it would refuse is refused here.
    """
    outcome = Outcome()
    for sheet in sheets:
        plan = next((s for s in made.sheets if s.holds_for(sheet.label)), None)
        if plan is None:
            count = sum(any(row) for row in sheet.rows)
            outcome.rows_in += count
            outcome.ignored += [(sheet.label, Ignored("not_named"))] * count
            continue
        for number, cells in body_rows(sheet, plan):
            outcome.rows_in += 1
            place = f"{sheet.label}:{number}"
            rule = is_sum(cells, plan)
            if rule:
                outcome.ignored.append((place, rule))
                continue
            try:
                rows = list(_rows(cells, plan, sheet, reading))
            except _UnreadError as err:
                outcome.refused.append((place, err.cells))
                continue
            if rows:
                source = outcome.rows_in
                outcome.rows += [Taken(f, c, sheet.label, number, source) for f, c in rows]
            elif plan.sets:
                outcome.ignored.append((place, Ignored("no_set")))
            else:
                outcome.ignored.append((place, Ignored("day_alone")))
    _refuse_as_reader(outcome, reading)
    outcome.sources = {row.source for row in outcome.rows}
    outcome.rows = _once_a_day(outcome.rows, {s.label: _into(s, made) for s in sheets})
    return outcome


def _into(sheet: Sheet, made: Map) -> str:
    return next((plan.into for plan in made.sheets if plan.holds_for(sheet.label)), "")


def _once_a_day(rows: Sequence[Taken], into: Mapping[str, str]) -> list[Taken]:
    """The rows; what stands beside a sheet's sets (body mass, minutes) once if it is the same."""
    kept: dict[object, Taken] = {}
    for i, row in enumerate(rows):
        kept.setdefault(i if row.file == into[row.sheet] else row.key, row)
    return list(kept.values())


class _UnreadError(Exception):
    """Cells of one row had no one meaning."""

    def __init__(self, cells: Sequence[UnreadCell]) -> None:
        super().__init__(cells)
        self.cells = tuple(cells)


def _rows(
    cells: Mapping[str, str], plan: SheetMap, sheet: Sheet, reading: Reading
) -> Iterator[tuple[str, dict[str, str]]]:
    """The rows of the log that one row of a sheet gives, without columns that are empty."""
    given: dict[str, str] = {}
    for source, name in plan.columns.items():
        if name and name != QUESTION and cells.get(source):
            given[name] = cells[source]
    for source, patterns in plan.patterns.items():
        if cells.get(source):
            try:
                given |= apart(cells[source], patterns, plan)
            except NotReadError as err:
                cell = UnreadCell(source, cells[source], err.fault, err.words)
                raise _UnreadError([cell]) from err
    named = {k: v for k, v in plan.sets.items() if k not in ("", QUESTION)}
    sets = [
        {
            name: cells[source]
            for name, source in zip(named, sources, strict=True)
            if cells.get(source)
        }
        for sources in zip(*named.values(), strict=True)
    ]
    sets = [one for one in sets if one]
    if plan.sets and not sets:
        return
    if set(given) <= {*SHARED, DAY}:
        return
    for name, value in plan.default.items():
        if value != QUESTION:
            given.setdefault(name, value.replace("{sheet}", sheet.name))
    each = [given | one for one in sets] or [given]
    side: set[tuple[str, tuple[tuple[str, str], ...]]] = set()
    for one in each:
        files = _read_cells(one, plan, sheet, reading)
        shared = {k: v for k, v in files.get(plan.into, {}).items() if k in SHARED}
        for file, values in files.items():
            if not any(v for k, v in values.items() if k not in SHARED):
                continue
            row = _in_order(file, shared | _usual(file, plan) | values)
            if file != plan.into:  # what is said once of the day stands once
                if (file, tuple(row.items())) in side:
                    continue
                side.add((file, tuple(row.items())))
            yield file, row


def _usual(file: str, plan: SheetMap) -> dict[str, str]:
    """What a file needs beside the sheet's own columns: minutes beside sets are finger work."""
    return {"kind": "fingers"} if file == "sessions" != plan.into else {}


def _in_order(file: str, values: Mapping[str, str]) -> dict[str, str]:
    return {c.name: values[c.name] for c in FILES[file].columns if values.get(c.name)}


def _read_cells(
    given: Mapping[str, str], plan: SheetMap, sheet: Sheet, reading: Reading
) -> dict[str, dict[str, str]]:
    """The cells in the format's words, by file."""
    files: dict[str, dict[str, str]] = {plan.into: {}}
    unread: list[UnreadCell] = []
    held = ""
    for name, text in given.items():
        if name == HELD:
            held = text
            continue
        target = plan.target("date" if name == DAY else name)
        text = _translated(text, plan.values.get(name, {}))
        try:
            if name == DAY:
                value = _day(text, sheet.name, plan.year, reading)
            else:
                value = canonical(text, target.column, reading, target.factor)
        except NotReadError as err:
            unread.append(UnreadCell(name, text, err.fault, err.words))
            continue
        files.setdefault(target.file, {})[target.column.name] = value
    if held:
        try:
            _hold(held, files[plan.into], plan, reading)
        except NotReadError as err:
            unread.append(UnreadCell(HELD, held, err.fault, err.words))
    if unread:
        raise _UnreadError(unread)
    return files


def _hold(text: str, row: dict[str, str], plan: SheetMap, reading: Reading) -> None:
    """Seconds really held against the planned: fewer are a hold that failed."""
    seconds = canonical(text, plan.target("failed_s").column, reading)
    if "hang_s" not in row:
        raise NotReadError("no_plan")
    if float(seconds) < float(row["hang_s"]):
        row["failed_s"] = seconds


def _translated(text: str, words: Mapping[str, str]) -> str:
    """A cell's word as the map has it, whatever its case and blanks."""
    if text in words:
        return words[text] if words[text] != QUESTION else text
    for word, value in words.items():
        if value != QUESTION and bare(word) == bare(text):
            return value
    return text


def _day(text: str, sheet: str, year: int, reading: Reading) -> str:
    """A day without its year, or without month and year, which the sheet's name holds."""
    named = [part for part in re.split(r"[^\w]+|_", sheet) if part]
    month = next((m for part in named if (m := month_named(part))), 0)
    year = year if year > 0 else year_in(sheet)
    if not month and (iso := re.search(r"(?:19|20)\d{2}[-_ .](\d{1,2})", sheet)):
        month = int(iso.group(1))
    column = FILES["hangs"].by_name["date"]
    rest = _without_weekday(text)
    alone = _DAY_ALONE.fullmatch(rest)
    if alone and month and year:
        return canonical(f"{year}-{month}-{alone.group(1)}", column, reading)
    short = short_day(rest)
    if short and year:
        first, sign, second = short.groups()
        return canonical(f"{first}{sign}{second}{sign}{year}", column, reading)
    worded = _DAY_AND_MONTH.fullmatch(rest)
    if worded and year:
        return canonical(f"{worded.group(1)} {worded.group(2)} {year}", column, reading)
    return canonical(text, column, reading)


def year_in(name: str) -> int:
    """The year that a sheet's name holds, 0 where it holds none."""
    found = re.search(r"(?<!\d)(?:19|20)\d{2}(?!\d)", name)
    return int(found.group()) if found else 0


def short_day(text: str) -> re.Match[str] | None:
    """Day and month without a year, in numbers: their order as it is written."""
    return re.fullmatch(r"(\d{1,2})([./])\s?(\d{1,2})\2?", text)


def lacks_year(text: str) -> bool:
    """Whether a day is written without its year."""
    rest = _without_weekday(text)
    worded = _DAY_AND_MONTH.fullmatch(rest)
    return bool(
        _DAY_ALONE.fullmatch(rest) or short_day(rest) or (worded and month_named(worded.group(2)))
    )


def _without_weekday(text: str) -> str:
    match = re.fullmatch(r"([^\W\d]{2,10})[.,]?\s+(.*)", text)
    return match.group(2) if match and _is_weekday(match.group(1)) else text


def _is_weekday(word: str) -> bool:
    return any(bare(word).startswith(day) for days in WEEKDAYS for day in days.split())


@lru_cache(maxsize=256)
def _expression(pattern: str, kinds: tuple[tuple[str, str], ...]) -> re.Pattern[str]:
    """A pattern as a regular expression; blanks may be missing, `x` may be `×`."""
    kind = dict(kinds)
    out = ""
    for part in re.split(r"(\{[\w.]+\})", pattern):
        name = part[1:-1]
        if part.startswith("{") and name in kind:
            group = f"(?P<{name.replace('.', '__')}>"
            if kind[name] == "integer":
                out += group + r"\d+)"
            elif kind[name] == "number":
                sign = r"[+\-\u2212]?\s*" if name.endswith(("added_kg", "added_lb")) else ""
                out += group + sign + r"\d+(?:[.,]\d+)?)"
            else:
                out += group + r"[^\d\s](?:.*?[^\s])?)"
            continue
        for place, sign in enumerate(part):
            if not place and sign.isalpha() and out:
                out += r"\s*"  # a unit may stand off its number
            if sign == " ":
                out += r"\s*"
            else:
                out += r"\s*[x×*]\s*" if sign == "x" else re.escape(sign)
    return re.compile(out, re.IGNORECASE)


def expression(pattern: str, plan: SheetMap) -> re.Pattern[str]:
    """The regular expression of a pattern, by the kinds of the columns that it takes out."""
    kinds = []
    for name in tokens(pattern):
        kind = "number" if name == HELD else plan.target(name).column.kind
        if plan.target("note" if name == HELD else name).column.name == "grip":
            kind = "grip"
        kinds.append((name, kind))
    return _expression(pattern, tuple(kinds))


def apart(text: str, patterns: Sequence[str], plan: SheetMap) -> dict[str, str]:
    """
    What a cell holds by the first pattern that fits it whole.

    Raises
    ------
    NotReadError : none fits.
    """
    for pattern in patterns:
        match = expression(pattern, plan).fullmatch(text.strip())
        if match:
            return {k.replace("__", "."): v for k, v in match.groupdict().items()}
    raise NotReadError("no_pattern", patterns)


def _refuse_as_reader(outcome: Outcome, reading: Reading) -> None:
    """Take out the source rows of which the log's reader would refuse a row."""
    reasons: dict[int, Problem] = {}
    for file, kind in FILES.items():
        rows = [row for row in outcome.rows if row.file == file]
        for row, reason in refusals(kind, [r.cells for r in rows], reading).items():
            reasons.setdefault(rows[row].source, reason)
    places = {row.source: f"{row.sheet}:{row.row}" for row in outcome.rows}
    outcome.refused += [(places[source], reason) for source, reason in reasons.items()]
    outcome.rows = [row for row in outcome.rows if row.source not in reasons]
