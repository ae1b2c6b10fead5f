"""A cell as people write it to the text that the log format writes."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from typing import Literal

from gripbook.errors import GripbookError
from gripbook.logs.block import GRIPS
from gripbook.logs.schema import FILES, PAIN_SITES, Column, other_unit
from gripbook.logs.words_read import (
    DateOrder,
    date_in,
    is_plain_number,
    meanings,
    number_in,
    unit_factor,
)

#: Why a cell has no one meaning: no number in the column's unit, no day that is sure, several of
#: the words, none of them, seconds held without the planned ones, or no pattern that fits.
Fault = Literal["number", "day", "may_mean", "no_word", "no_plan", "no_pattern"]


class NotReadError(GripbookError):
    """
    A cell that has no one meaning.

    `fault` says why, `words` those that it may mean, or that the column takes, or its patterns.
    """

    def __init__(self, fault: Fault, words: Sequence[str] = ()) -> None:
        super().__init__(fault)
        self.fault = fault
        self.words = tuple(words)


@dataclass(frozen=True, slots=True)
class Reading:
    """What reading a file's cells depends on: the order of its days, other grips, and today."""

    order: DateOrder | None = None
    grips: Collection[str] = ()
    today: dt.date = field(default_factory=dt.date.today)


def allowed_words(column: Column, grips: Collection[str] = ()) -> tuple[str, ...]:
    """The words that a column takes; empty where it takes any text."""
    if column.kind == "yes":
        return ("yes", "no")
    if column.kind == "grip":
        return (*GRIPS, *grips)
    if column.name == "site":
        return PAIN_SITES
    return tuple(c for c in column.choices if c)


def column_of(file: str, name: str) -> tuple[Column, float] | None:
    """
    The column of a file of the format that a name with any unit means, and its factor.

    `added_lb` is `added_kg` times 0.4536, `edge_cm` is `edge_mm` times 10.
    """
    columns = FILES[file].by_name
    if name in columns:
        return columns[name], 1.0
    for column in columns.values():
        other = other_unit(column)
        if other and other[0] == name:
            return column, other[1]
        stem, _, unit = name.rpartition("_")
        if stem and column.name.rpartition("_")[0] == stem:
            factor = unit_factor(unit, column)
            if factor is not None:
                return column, factor
    return None


def canonical(text: str, column: Column, reading: Reading, factor: float = 1.0) -> str:
    """
    A cell's text as the log format writes it, in the unit of the column's name.

    Raises
    ------
    NotReadError : the cell has no meaning, or more than one.
    """
    text = text.strip()
    if not text:
        return ""
    if column.kind in ("number", "integer"):
        number = text if is_plain_number(text) else number_in(text, column, factor)
        if number is None:
            raise NotReadError("number")
        number = number.replace(",", ".").replace("\u2212", "-").removeprefix("+").strip()
        return number if factor == 1.0 else f"{float(number) * factor:.6g}"
    if column.kind == "date":
        day = date_in(text, reading.order, reading.today)
        if day is None:
            raise NotReadError("day")
        return day
    words = allowed_words(column, reading.grips)
    if not words:
        return " ".join(text.split()) if column.kind == "text" else text
    if text in words or text.lower() in words:
        return text if text in words else text.lower()
    read = meanings(text, column, words)
    if len(read) == 1:
        return read[0]
    if column.name == "site":  # other text is allowed
        return text
    if read:
        raise NotReadError("may_mean", read)
    raise NotReadError("no_word", words)
