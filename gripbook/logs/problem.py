"""One thing wrong with a log, as data; `gripbook.words.problems` says it in any language."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Literal

Severity = Literal["error", "warning"]
#: What a sentence about a problem is filled with.
Parameter = str | int | float | bool | dt.date | tuple[str, ...] | None

#: Every kind of problem. `gripbook.words.problems` has a reason and a remedy for each.
Code = Literal[
    # the folder and its files
    "folder_name",
    "link",
    "unreadable",
    "no_regular_file",
    "too_much",
    "unknown_file",
    "file_too_deep",
    "no_log_sheet",
    "remark_above",
    "encoding",
    # lines and headers
    "broken_quote",
    "cell_too_long",
    "too_many_cells",
    "too_few_cells",
    "two_units",
    "column_twice",
    "weight_or_body_mass",
    "column_missing",
    "unknown_column",
    # a cell
    "empty",
    "not_a_number",
    "thousands_sign",
    "unit_in_cell",
    "not_whole",
    "out_of_range",
    "mixed_decimals",
    "date",
    "year_of_two_digits",
    "date_order",
    "no_such_day",
    "year",
    "time",
    "month",
    "unknown_word",
    "unknown_grip",
    "grip_of_another",
    "other_athlete",
    "control_character",
    "future_date",
    # a row
    "edge_missing",
    "hang_s_missing",
    "rest_s_missing",
    "reps_missing",
    "load_missing",
    "scale_above_stand",
    "failed_too_long",
    "reps_done_too_many",
    "nothing_failed",
    "added_empty",
    "reps_done_unknown",
    "failed_at_plan",
    "not_used",
    "two_loads",
    "edge_small",
    "until_before_date",
    "until_not_used",
    "level_missing",
    "unknown_grade",
    # several rows
    "body_mass_jump",
    "body_mass_missing",
    "body_mass_hidden",
    "load_high",
    "load_not_positive",
    "session_twice",
    "row_twice",
    "athlete_twice",
    "rows_disagree",
    "athlete_in_one_file",
    # block files
    "block_encoding",
    "block_toml",
    "block_unknown_keys",
    "block_unknown_key",
    "block_key_missing",
    "block_number",
    "block_range",
    "block_whole",
    "block_text",
    "block_word",
    "block_flag",
    "block_date",
    "block_year",
    "block_list",
    "block_list_length",
    "block_rest_order",
    "block_table",
    "block_tables",
    "block_phase_too_long",
    "block_week_too_late",
    "block_name_twice",
    "block_other_athlete",
    "block_unknown_athlete",
    "block_empty",
]

#: Longest raw text that a problem quotes.
TEXT_LIMIT: Final = 200


@dataclass(frozen=True, slots=True)
class Problem:
    """
    A refused row (`error`) or a suspicious but usable one (`warning`).

    Attributes
    ----------
    severity : `error` or `warning`.
    code : what is wrong.
    file : the file, relative to the log folder.
    line : physical line in the file, from 1; 0 where the whole file or folder is meant.
    column, value : the cell's column and raw text; "" where no cell is meant.
    parameters : what else a sentence about it needs, by name.
    athlete : id; "" where the row's athlete is not known.
    day : the row's date, None where it has none that can be read.
    last_line : last line that an error refuses (the same as `line` for a single row).
    """

    severity: Severity
    code: Code
    file: str
    line: int = 0
    column: str = ""
    value: str = ""
    parameters: Mapping[str, Parameter] = field(default_factory=dict, hash=False)
    athlete: str = ""
    last_line: int = 0
    day: dt.date | None = None

    def __post_init__(self) -> None:
        if not self.last_line:
            object.__setattr__(self, "last_line", self.line)

    @property
    def place(self) -> str:
        """`file:line`, or the file alone where no line applies."""
        return f"{self.file}:{self.line}" if self.line else self.file

    @property
    def subject(self) -> str:
        """`column = 'value'`, or what of it there is."""
        value = repr(self.value) if self.value else ""
        return " = ".join(part for part in (self.column, value) if part)

    def __str__(self) -> str:
        return ": ".join(filter(None, (self.place, self.severity, self.subject, self.code)))
