"""A cell that the format doesn't write so, but that can mean one thing only."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from gripbook.logs.canonical import allowed_words
from gripbook.logs.schema import Column
from gripbook.logs.words_read import DateOrder, date_in, meanings, number_in

#: What was read: a column's name, a word, a number with its unit, a day, or the order of days.
NoteKind = Literal["column", "word", "number", "day", "order", "remark"]


@dataclass(frozen=True, slots=True)
class Note:
    """
    What was read though the format doesn't write it so: `written` was read as `read`.

    Of a column's numbers and days the first is given and `rows` counts all; words stand each alone.
    """

    kind: NoteKind
    file: str
    column: str
    written: str
    read: str
    rows: int


@dataclass(frozen=True, slots=True)
class Rereading:
    """One column's way of reading what its parser refused."""

    column: Column
    factor: float
    order: DateOrder | None
    grips: Sequence[str]
    today: dt.date

    @property
    def kind(self) -> NoteKind:
        """What kind of note a reading gives."""
        if self.column.kind in ("number", "integer"):
            return "number"
        return "day" if self.column.kind == "date" else "word"

    def read(self, text: str) -> tuple[str, ...]:
        """The texts of the format that a cell may mean: none, the one, or several."""
        if self.kind == "number":
            number = number_in(text, self.column, self.factor)
            return (number,) if number is not None else ()
        if self.kind == "day":
            day = date_in(text, self.order, self.today)
            return (day,) if day is not None else ()
        words = allowed_words(self.column, self.grips)
        return meanings(text, self.column, words) if words else ()
