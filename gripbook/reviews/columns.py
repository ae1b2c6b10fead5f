"""Every column of the tidy frames, once: its type, unit and meaning."""

from __future__ import annotations

from functools import cache
from typing import Final, NamedTuple

import pandas as pd

_TYPES: Final = {
    "text": "str",
    "number": "float64",
    "whole": "int64",
    "yes/no": "bool",
    "day": "datetime64[us]",
}

#: Columns that mean the same in every frame.
_COMMON: Final = """
athlete | text | | id as in the logs
capacity | text | | hang, repeater or pull
grip | text | | as in the logs
hand | text | | left, right or both
edge_mm | number | mm | edge that loads are stated for; NaN: none
load_kind | text | | steady or peak reading
exercise | text | | hang, repeater or pull
phase | text | | phase of the block, empty outside one
week | whole | | block week, from 1
sets | whole | | equal sets that the row stands for
test | yes/no | | a test
hang_s | number | s | one hold, as planned
reps | number | | holds of a repeater set, as planned
reps_done | number | | whole holds done where the set failed
outcome | text | | finished, failed, stopped or pull
board | text | | as logged
verdict | text | | as the page says it
change_pct | number | % | change of the load
low_pct | number | % | lower end of its 90 % range
high_pct | number | % | upper end of its 90 % range
file | text | | file of the log
line | whole | | line in that file
shown_kg | number | kg | weight that may be shown, see shown_as
shown_as | text | | which weight that is: load on the fingers, added weight or difference
"""

_FRAMES: Final = {
    "changes": (
        "one row per series",
        """
capacity, grip, hand, edge_mm, load_kind, verdict
chance | number | 0 to 1 | chance that the load rose
start_kg | number | kg | load at the block's start; NaN where body mass is hidden
end_kg | number | kg | load at its end; NaN where body mass is hidden
change_kg | number | kg | end less start
low_kg | number | kg | lower end of the change's 90 % range
high_kg | number | kg | upper end of the change's 90 % range
change_pct, low_pct, high_pct
bound | yes/no | | loads are bounds, since no set told the limit
sets | whole | | sets that tell something
days | whole | | days with such sets
exact_sets | whole | | sets that tell the limit itself
""",
    ),
    "paths": (
        "one row per series and week; none where body mass is hidden",
        """
capacity, grip, hand, edge_mm, load_kind
day | day | | the week's first day; last: the block's last
kg | number | kg | load that a first set of the day could hold
low_kg | number | kg | lower end of its 90 % range
high_kg | number | kg | upper end of its 90 % range
kind | text | | estimate, at_least or at_most
logged | yes/no | | sets of the series stand in that week
""",
    ),
    "points": (
        "one row per set that a series rests on; none where body mass is hidden",
        """
capacity, grip, hand, edge_mm, load_kind
day | day | | day of the set
kg | number | kg | what it tells, at the reference edge and hold
kind | text | | exact, at least or at most
known | yes/no | | the limit itself is known
test
load_kg | number | kg | load on the fingers, as logged
file, line
""",
    ),
    "tests": (
        "one row per test day and series, first and last",
        """
capacity, grip, hand, edge_mm, load_kind
which | text | | first or last
day | day | | day of the test
board
added_kg | number | kg | added weight, below 0 where taken off
load_kg | number | kg | load on the fingers; NaN where body mass is hidden
shown_kg, shown_as, hang_s, reps
held_s | number | s | seconds held where it failed
reps_done
left | number | s or holds | judged to be left
outcome, file, line
failed_kg | number | kg | lightest that failed above it, as shown_kg
""",
    ),
    "sets": (
        "one row per row of hangs.csv in the block",
        """
date | day | | day of the set
week, phase
session | text | | name of the session of a day, as logged
order | number | | place in the session, as logged
sets, exercise, test
warmup | yes/no | | a warm-up
grip, hand
edge_mm | number | mm | edge of the set
board, shown_kg, shown_as, hang_s, reps, reps_done
failed_s | number | s | seconds held in the failed hold
stopped | text | | why it was stopped
reserve_s | number | s | judged to be left
reserve_reps | number | holds | judged to be left
outcome
note | text | | as logged
file, line
""",
    ),
    "weeks": (
        "one row per block week",
        """
week
start | day | | its first day
phase
easy | yes/no | | planned with fewer sets
test | yes/no | | a test week
sessions_planned | number | | finger sessions; NaN without a plan
sessions_due | number | | of them by the log's last day
sessions_done | whole | | finger sessions done
sessions_unreadable | whole | | sessions whose rows were refused
sessions_missing | whole | | due and not done
sets_planned | number | | sets; NaN without a plan
sets_due | number | | of them by the log's last day
sets_done | whole | | sets done
tension_s | number | s | under load
state | text | | done, part (the log ends in it) or ahead
days_without | whole | days | ill, away or injured
load_au | number | effort x min | session load
load_complete | yes/no | | every day of the week is logged
change_pct | number | % | of the load, on the week before
mean4_au | number | effort x min | mean of four complete weeks
monotony | number | | mean over SD of the daily loads
strain | number | effort x min | load times monotony
""",
    ),
    "measures": (
        "one row per measure, side and unit",
        """
measure | text | | as logged
side | text | | left, right or empty
unit | text | | of the readings
first_date | day | | first day
first | number | unit | mean of that day
last_date | day | | last day
last | number | unit | mean of that day
change | number | unit | first to last day, along a line
low | number | unit | lower end of its 90 % range
high | number | unit | upper end of its 90 % range
verdict
error_sd | number | unit | own error, from repeats
repeats | whole | | repeats it rests on
first_row | text | | file:line
last_row | text | | file:line
""",
    ),
    "climbs": (
        "one row per discipline, place, period and month",
        """
discipline | text | | boulder or route
place | text | | indoor or outdoor
period | text | | before, during or after the block
month | day | | its first day
climbs | whole | | climbs logged
best_of | whole | | climbs that the median is of
hardest | number | IRCRA | hardest climb
hardest_error | number | IRCRA | plus or minus
median | number | IRCRA | median of the hardest climbs
median_error | number | IRCRA | plus or minus
scale | text | | scale of the grades
hardest_grade | text | | as logged
median_grade | text | | on that scale
file, line
""",
    ),
    "ratio": (
        "one row per week of the main series; none where body mass is hidden",
        """
day | day | | day of the path
ratio | number | | load over body mass
low | number | | lower end of its 90 % range
high | number | | upper end of its 90 % range
logged | yes/no | | sets of the series stand in that week
""",
    ),
    "next": (
        "one row per session and series of what is proposed; none where nothing is",
        """
week
session | whole | | of the week, from 1
day | day | | proposed day
exercise, grip, hand, edge_mm
added_kg | number | kg | weight to add, below 0: to take off
force_kg | number | kg | weight on the block, where a gauge reads it
sets | number | | sets
reps, hang_s
left | number | s or holds | to be left after the last set
reason | text | | rule that sets the load
low_kg | number | kg | expected from
high_kg | number | kg | expected to
""",
    ),
    "athletes": (
        "one row per athlete, those to call first on top",
        """
athlete
name | text | | as in the logs
block | text | | its name
last | day | | day of the last entry
block_end | day | | the block's last day
flags | whole | | reasons to call
first_flag | text | | the weightiest reason
sessions_done | number | | finger sessions done
sessions_planned | number | | NaN without a plan
notes | whole | | notes to read
refused | whole | | rows that can't be read
minor | yes/no | | under 18
hides_body_mass | yes/no | | body mass is hidden
failed | text | | why there is no review
""",
    ),
    "flags": (
        "one row per reason to call",
        """
athlete
kind | text | | the reason
site | text | | of pain
side | text | | of pain
level | number | 0 to 10 | of pain
date | day | | of that pain
limit | number | 0 to 10 | the block's limit of pain
over | text | | limit that was broken
figure | number | | its worst value
least | number | | its mildest value
allowed | number | | what is allowed
weeks | text | | block weeks concerned
capacities | text | | weaker in these
number | whole | | sessions, days, rows or notes
since | day | | since when
minor | yes/no | | of someone under 18 (notes of eating less)
note | text | | of a clearance, as logged
grips | text | | weaker ones beside a main grip that is not
""",
    ),
    "marks": (
        "one row per athlete and capacity; no per cent where body mass is hidden",
        """
athlete, capacity, grip, hand, verdict, change_pct, low_pct, high_pct
one_day | yes/no | | all its sets are of one day
""",
    ),
    "together": (
        "one row per block and capacity, where three athletes or more were measured",
        """
block | text | | its name
capacity
athletes | whole | | of the block
measured | whole | | of them
mean_pct | number | % | mean change
low_pct | number | % | lower end of the mean's 90 % range
high_pct | number | % | upper end of the mean's 90 % range
spread_pct | number | % | SD of the true changes
smallest_pct | number | % | smallest change that matters
shown | whole | | athletes whose estimate lies above it
by_noise | number | | so many would, had nobody changed
by_alike | number | | so many would, had all changed alike
share | number | 0 to 1 | estimated share of true changes above it
differ | yes/no | | athletes differ by more than chance explains
""",
    ),
}


class Column(NamedTuple):
    """A column: its pandas dtype, its unit ("" where there is none) and what it says."""

    name: str
    dtype: str
    unit: str
    meaning: str


def _read(line: str) -> Column:
    name, kind, unit, meaning = (part.strip() for part in line.split("|"))
    return Column(name, _TYPES[kind], unit, meaning)


@cache
def columns_of(frame: str) -> tuple[Column, ...]:
    """Columns of a frame by its name, in order."""
    common = {c.name: c for c in map(_read, _COMMON.strip().splitlines())}
    found: list[Column] = []
    for line in _FRAMES[frame][1].strip().splitlines():
        found += [_read(line)] if "|" in line else [common[n.strip()] for n in line.split(",")]
    return tuple(found)


def row_of(frame: str) -> str:
    """What a row of a frame is."""
    return _FRAMES[frame][0]


def typed(table: pd.DataFrame, frame: str) -> pd.DataFrame:
    """
    The table with just the frame's columns, in order, and their dtypes, also without rows.

    Raises
    ------
    KeyError : a table with rows lacks a column.
    """
    types = {c.name: c.dtype for c in columns_of(frame)}
    # without rows there may be no columns; with rows each has to be there
    picked = table[list(types)] if len(table) else pd.DataFrame(columns=list(types))
    return picked.reset_index(drop=True).astype(types)


def described(frames: tuple[str, ...]) -> pd.DataFrame:
    """The columns of frames as a table: `table`, `column`, `dtype`, `unit`, `meaning`."""
    rows = [(frame, *column) for frame in frames for column in columns_of(frame)]
    return pd.DataFrame(rows, columns=["table", "column", "dtype", "unit", "meaning"])
