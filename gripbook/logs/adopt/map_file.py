"""`map.toml`: what each column and word of a spreadsheet is in the log."""

from __future__ import annotations

import fnmatch
import json
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, Literal, NamedTuple

from gripbook.errors import GripbookError
from gripbook.logs.canonical import column_of
from gripbook.logs.schema import FILES, Column
from gripbook.logs.words_read import DateOrder, may_be_any_mass

#: What stands where the coach has to answer.
QUESTION: Final = "?"
#: Targets that are no column of the log: a day without its year or month, and seconds really held.
DAY: Final = "day"
HELD: Final = "held_s"
#: The year of a section whose days lack it, and whose sheets' names do too.
NO_YEAR: Final = -1

_TOKEN = re.compile(r"\{(\w+(?:\.\w+)?)\}")


@dataclass(frozen=True, slots=True)
class Target:
    """Where a cell goes: a file of the format, its column, and the factor to the column's unit."""

    file: str
    column: Column
    factor: float = 1.0


class Question(NamedTuple):
    """
    A place of the map that still holds a question mark.

    Attributes
    ----------
    about : the order of days, their year, a default, a column (`weight`: one that may be body mass
        too), a word (`value`) of a column of the log, or what the columns of set 1, ... hold.
    name : the column of the log. `source`: the spreadsheet's column or word.
    """

    about: Literal["dates", "year", "default", "column", "weight", "value", "sets"]
    name: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class SheetMap:
    """
    The map of one kind of sheet.

    Attributes
    ----------
    sheets : `FILE` or `FILE#SHEET`, `*` for any.
    into : file of the format that a row goes into, unless a column names another (`body.note`).
    header_row, header_rows : from 1, where the header stands, and over how many rows.
    year : of days written without one; 0: from the sheet's name, `NO_YEAR`: to be asked for.
    fill_down : columns whose cell holds for the empty ones beneath.
    default : a column of the log and its value; `{sheet}` stands for the sheet's name.
    columns : a column of the spreadsheet and of the log; "" is left out.
    patterns : a column of the spreadsheet and the ways to take its cells apart.
    values : by column of the log, the spreadsheet's word and the log's.
    sets : by column of the log the spreadsheet's columns that hold it of the first set, the
        second and so on; of each row, every set with a filled cell is taken.
    ignore : rows that begin with one of these texts are sums or titles.
    """

    sheets: tuple[str, ...]
    into: str = "hangs"
    header_row: int = 1
    header_rows: int = 1
    year: int = 0
    fill_down: tuple[str, ...] = ()
    default: Mapping[str, str] = field(default_factory=dict)
    columns: Mapping[str, str] = field(default_factory=dict)
    patterns: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    values: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    sets: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    ignore: tuple[str, ...] = ()

    def holds_for(self, label: str) -> bool:
        """Whether a sheet, as `FILE#SHEET`, is one of these."""
        return any(label == s or fnmatch.fnmatchcase(label, s) for s in self.sheets)

    def target(self, name: str) -> Target:
        """
        Where a name of the map leads.

        Raises
        ------
        GripbookError : the format has no such column.
        """
        file, _, column = name.rpartition(".")
        file = file or self.into
        read = column_of(file, column) if file in FILES else None
        if read is None:
            raise GripbookError(
                f"map.toml: {name!r} is no column of {file}.csv. `gripbook columns` lists them."
            )
        return Target(file, *read)

    def questions(self) -> Iterator[Question]:
        """The places that still hold a question mark."""
        if self.year == NO_YEAR:
            yield Question("year")
        for name, value in self.default.items():
            if value == QUESTION:
                yield Question("default", name)
        for source, name in self.columns.items():
            if name == QUESTION:
                yield Question("weight" if may_be_any_mass(source) else "column", "", source)
        for name, words in self.values.items():
            for word, value in words.items():
                if value == QUESTION:
                    yield Question("value", name, word)
        for source in self.sets.get(QUESTION, ())[:1]:
            yield Question("sets", "", source)


@dataclass(frozen=True, slots=True)
class Map:
    """The whole map: the order of day and month, "" where days are sure, and each kind of sheet."""

    dates: str
    sheets: tuple[SheetMap, ...]

    @property
    def order(self) -> DateOrder | None:
        """The order of day and month, None where none is named."""
        if self.dates == "day-first":
            return "day-first"
        return "month-first" if self.dates == "month-first" else None

    def questions(self) -> list[Question]:
        """Every place that still holds a question mark."""
        first = [Question("dates")] if self.dates == QUESTION else []
        return first + [q for sheet in self.sheets for q in sheet.questions()]


def tokens(pattern: str) -> list[str]:
    """The columns of the log that a pattern takes out of a cell."""
    return _TOKEN.findall(pattern)


def read_map(path: Path) -> Map:
    """
    Read a map.

    Raises
    ------
    GripbookError : it isn't TOML, or names what there isn't; says where.
    """
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as err:
        raise GripbookError(f"{path} can't be read as a map: {err}. Correct it there.") from err
    sections = data.get("sheet", [])
    if not isinstance(sections, list) or not all(isinstance(s, dict) for s in sections):
        raise GripbookError(f"{path}: each kind of sheet begins with a line [[sheet]].")
    try:
        made = Map(str(data.get("dates", "")), tuple(_section(s) for s in sections))
    except (AttributeError, TypeError, ValueError) as err:
        raise GripbookError(
            f"{path}: a value is of another kind than in the first draft: {err}."
        ) from err
    for sheet in made.sheets:
        _check(sheet)
    return made


def _section(data: Mapping[str, Any]) -> SheetMap:
    return SheetMap(
        sheets=tuple(map(str, data.get("sheets", ["*"]))),
        into=str(data.get("into", "hangs")),
        header_row=int(data.get("header_row", 1)),
        header_rows=int(data.get("header_rows", 1)),
        year=NO_YEAR if data.get("year") == QUESTION else int(data.get("year", 0)),
        fill_down=tuple(map(str, data.get("fill_down", []))),
        default={k: str(v) for k, v in data.get("default", {}).items()},
        columns={k: str(v) for k, v in data.get("columns", {}).items()},
        patterns={
            k: (v,) if isinstance(v, str) else tuple(map(str, v))
            for k, v in data.get("patterns", {}).items()
        },
        values={k: {w: str(x) for w, x in v.items()} for k, v in data.get("values", {}).items()},
        sets={k: tuple(map(str, v)) for k, v in data.get("sets", {}).items()},
        ignore=tuple(map(str, data.get("ignore", {}).get("rows_beginning_with", []))),
    )


def _check(sheet: SheetMap) -> None:
    """See that every name of a section leads somewhere."""
    if sheet.into not in FILES:
        raise GripbookError(f"map.toml: into = {sheet.into!r} is none of {', '.join(FILES)}.")
    names = [
        *sheet.default,
        *sheet.columns.values(),
        *sheet.values,
        *(t for patterns in sheet.patterns.values() for p in patterns for t in tokens(p)),
        *sheet.sets,
    ]
    for name in names:
        if name not in ("", QUESTION, DAY, HELD):
            sheet.target(name)
    if len({len(columns) for columns in sheet.sets.values()}) > 1:
        raise GripbookError(
            "map.toml: [sheet.sets] lists more columns of one kind than of another."
        )


def map_text(made: Map) -> str:
    """A map as TOML, with remarks that say what to do."""
    lines = [
        "# What each column and word of your spreadsheet is in the log. Correct what is",
        f'# wrong, answer each "{QUESTION}", then run the same command again.',
        "# `gripbook columns` lists the log's columns.",
        "",
        f"dates = {_text(made.dates)}   # day-first or month-first; empty: every day is sure",
    ]
    for sheet in made.sheets:
        lines += ["", "[[sheet]]", f"sheets = {_list(sheet.sheets)}"]
        lines += [f"into = {_text(sheet.into)}   # rows go into {sheet.into}.csv"]
        lines += [f"header_row = {sheet.header_row}"]
        if sheet.header_rows != 1:
            lines += [f"header_rows = {sheet.header_rows}"]
        if sheet.year:
            year = _text(QUESTION) if sheet.year == NO_YEAR else sheet.year
            lines += [f"year = {year}   # of days written without one"]
        if sheet.fill_down:
            lines += [f"fill_down = {_list(sheet.fill_down)}   # an empty cell takes the one above"]
        if sheet.default:
            lines += ["", "[sheet.default]   # for every row whose columns don't say it"]
            lines += [f"{_key(k)} = {_text(v)}" for k, v in sheet.default.items()]
        lines += _table(
            "columns", sheet.columns, 'your column = column of the log; "" leaves it out'
        )
        if sheet.patterns:
            lines += ["", "[sheet.patterns]   # cells that hold several things"]
            lines += [f"{_text(k)} = {_list(v)}" for k, v in sheet.patterns.items()]
        for name, words in sheet.values.items():
            lines += _table(
                f"values.{_key(name)}", words, 'your word = the log\'s; "" leaves it out'
            )
        if sheet.sets:
            lines += ["", "[sheet.sets]   # column of the log = your columns of set 1, set 2, ..."]
            lines += [f"{_key(k)} = {_list(v)}" for k, v in sheet.sets.items()]
        if sheet.ignore:
            lines += ["", "[sheet.ignore]   # no sets: sums, titles"]
            lines += [f"rows_beginning_with = {_list(sheet.ignore)}"]
    return "\n".join(lines) + "\n"


def _table(name: str, entries: Mapping[str, str], remark: str) -> list[str]:
    if not entries:
        return []
    rows = [f"{_text(key)} = {_text(value)}" for key, value in entries.items()]
    return ["", f"[sheet.{name}]   # {remark}", *rows]


def _key(name: str) -> str:
    return name if re.fullmatch(r"\w+", name, re.ASCII) else _text(name)


def _text(text: str) -> str:
    # JSON's strings are TOML's, but for the delete sign
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _list(texts: Sequence[str]) -> str:
    return "[" + ", ".join(_text(t) for t in texts) + "]"
