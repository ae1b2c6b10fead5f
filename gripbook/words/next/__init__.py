"""
What next in words: from the facts of a proposal to sentences and the cells of its table.

`weights` writes loads, `why` what each rests on, `choices` the figures behind them, `holds` what
stops, `tests` when to test and how, `lines` the plan in short and in full, `frame` what stands
around it, `sheet` what goes on paper; `plan` joins them in order.
"""

from __future__ import annotations

from gripbook.words.next.choices import SOURCES, choice_lines
from gripbook.words.next.frame import (
    WEEKDAY_NAMES,
    late_loads,
    ramp_text,
    rests_text,
    rule,
)
from gripbook.words.next.holds import before_text, return_sentences
from gripbook.words.next.lines import (
    left_text,
    note_text,
    plan_phases,
    sets_text,
    week_head,
    week_lines,
)
from gripbook.words.next.plan import (
    NO_AGE,
    TITLES,
    all_sentences,
    closing,
    lead,
    opening,
    page_closing,
    page_opening,
    to_log,
)
from gripbook.words.next.sheet import is_lifted, sheet_cautions, sheet_load, sheet_notes
from gripbook.words.next.tests import tests_text
from gripbook.words.next.weights import load_of, load_text, phase_name, row_load
from gripbook.words.next.why import load_line, reason_text, reduction_text, why_lines

__all__ = [
    "NO_AGE",
    "SOURCES",
    "TITLES",
    "WEEKDAY_NAMES",
    "all_sentences",
    "before_text",
    "choice_lines",
    "closing",
    "is_lifted",
    "late_loads",
    "lead",
    "left_text",
    "load_line",
    "load_of",
    "load_text",
    "note_text",
    "opening",
    "page_closing",
    "page_opening",
    "phase_name",
    "plan_phases",
    "ramp_text",
    "reason_text",
    "reduction_text",
    "rests_text",
    "return_sentences",
    "row_load",
    "rule",
    "sets_text",
    "sheet_cautions",
    "sheet_load",
    "sheet_notes",
    "tests_text",
    "to_log",
    "week_head",
    "week_lines",
    "why_lines",
]
