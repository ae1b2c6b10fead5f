"""
What a reader reads: languages (`messages.py`), numbers and dates (`fmt.py`), and sentences.

One module a section turns facts of `gripbook.reviews` into sentences. Nothing below this folder
phrases anything, and nothing anywhere looks into a sentence.
"""

from __future__ import annotations

from gripbook.words.messages import (
    DECIMAL_SIGNS,
    FIRST_OF_MONTH,
    GROUP_SIGNS,
    LANGUAGES,
    LanguageError,
    Table,
    in_language,
    language,
    mark,
    say,
    say_count,
    use_language,
)

__all__ = [
    "DECIMAL_SIGNS",
    "FIRST_OF_MONTH",
    "GROUP_SIGNS",
    "LANGUAGES",
    "LanguageError",
    "Table",
    "in_language",
    "language",
    "mark",
    "say",
    "say_count",
    "use_language",
]
