"""Problems of a log in words: what is wrong, and what to do about it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from typing import Final

import pandas as pd

from gripbook.logs.problem import Parameter, Problem
from gripbook.visible import visible_line
from gripbook.words import fmt
from gripbook.words.messages import mark, say, say_count

PROBLEM_COLUMNS: Final = (
    "severity",
    "code",
    "file",
    "line",
    "last_line",
    "athlete",
    "column",
    "value",
    "reason",
    "remedy",
)

#: Reason and remedy by code; the reason goes on from `column = value`, or from the place.
_TEXTS: Final[Mapping[str, tuple[str, str]]] = {
    # the folder and its files
    "folder_name": (
        mark("has a name that isn't UTF-8, so nothing in it was read."),
        mark("Rename the folder."),
    ),
    "link": (
        mark("is a link out of its folder, or to nothing, and was not read."),
        mark("Put a copy of the file there instead."),
    ),
    "no_regular_file": (
        mark("is no file (a folder, a pipe or a device), and was not read."),
        mark("Put a file there, or take it away."),
    ),
    "unreadable": (mark("can't be read: {fault}."), mark("Check the file and who may read it.")),
    "unknown_file": (
        mark("isn't a file of the log format and was not read."),
        mark("Rename it if it was meant to be one: {names}."),
    ),
    "no_log_sheet": (
        mark("has no sheet that is called as a file of the log format is, and was not read."),
        mark("Name its sheets hangs, body and so on, or take it over by `gripbook adopt`."),
    ),
    "remark_above": (
        mark("stands above the header, so the file was not read."),
        mark(
            "Delete that line, or move it below the header. Below it, lines that begin with # and "
            "a blank are left out."
        ),
    ),
    "file_too_deep": (
        mark("lies too deep and was not read."),
        mark("Put it at the top of the log folder, or into a sub-folder named after the athlete."),
    ),
    "encoding": (
        mark("isn't UTF-8; it was read as Windows-1252."),
        mark("Look at names with accents, or save the file as UTF-8."),
    ),
    # lines and headers
    "broken_quote": (
        mark("holds a double quote that does not close where its cell ends."),
        mark('Close it, or write a quote inside a cell twice ("").'),
    ),
    "cell_too_long": (
        mark("holds a cell of more than {limit} characters."),
        mark("Shorten it."),
    ),
    "too_many_cells": (
        mark("has {cells} cells under {width} column names."),
        mark("Put text or decimals that hold the separator in double quotes."),
    ),
    "too_few_cells": (
        mark("has {cells} cells under {width} column names; the missing ones were taken as empty."),
        mark("Add the missing separators at the end of the row."),
    ),
    "two_units": (
        mark("stands beside {name}."),
        mark("Keep one of the two columns; a file uses one unit."),
    ),
    "column_twice": (
        mark("is in the header twice."),
        mark("Rename or delete one of the two columns."),
    ),
    "weight_or_body_mass": (
        mark("may be the weight added or body mass, and no cell shows which."),
        mark("Call the column added_kg, or move it to body.csv as body_mass_kg."),
    ),
    # a cell
    "not_a_number": (mark("isn't a number."), mark("Write a number, or leave the cell empty.")),
    "thousands_sign": (
        mark("has two kinds of separators."),
        mark("Write it without thousands signs."),
    ),
    "unit_in_cell": (
        mark("holds a unit."),
        mark("Write the number alone; the unit is in the column's name."),
    ),
    "not_whole": (mark("isn't a whole number."), mark("Write it without decimals.")),
    "mixed_decimals": (
        mark("has a decimal comma while other rows have a decimal point; both were read."),
        mark("Use one sign in a file."),
    ),
    "date": (
        mark("isn't a date in the order year-month-day."),
        mark("Write year-month-day, for example 2026-12-05."),
    ),
    "year_of_two_digits": (
        mark("has a year of two digits."),
        mark("Write year-month-day, for example 2026-12-05."),
    ),
    "year": (mark("is outside the years {first} to {last}."), mark("Correct the year.")),
    "time": (mark("isn't a time of day."), mark("Write hours:minutes, for example 18:30.")),
    "month": (mark("isn't a year or year-month."), mark("Write for example 2024 or 2024-09.")),
    "grip_of_another": (
        mark("is a grip that only another athlete's block file declares."),
        mark("A grip of your own goes into block.toml: grips = [...]."),
    ),
    "other_athlete": (
        mark("is another athlete: this sub-folder speaks for {athlete} alone."),
        mark("Move the row to that athlete's folder, or to the top of the log folder."),
    ),
    "control_character": (
        mark("holds characters that can't be shown."),
        mark("Type the text again."),
    ),
    "future_date": (mark("is in the future."), mark("Correct the date if it is a slip.")),
    # a row
    "edge_missing": (
        mark("is empty."),
        mark("Write the edge's depth (for a pinch its width); only a sloper needs none."),
    ),
    "hang_s_missing": (
        mark("is empty, and so is failed_s."),
        mark("Write the planned seconds, or for a hold to failure the seconds held in failed_s."),
    ),
    "rest_s_missing": (
        mark("is empty."),
        mark("Write the rest between the holds of the set in seconds."),
    ),
    "reps_missing": (
        mark("is empty, and so is failed_s."),
        mark("Write the planned holds, or for a set to failure the seconds of the last hold."),
    ),
    "load_missing": (
        mark("is empty, and so is force_kg."),
        mark(
            "Write what the scale showed while pulling. A load read from a gauge goes into a "
            "column force_kg."
        ),
    ),
    "scale_above_stand": (
        mark("is not below stand_kg, so there was no load on the fingers."),
        mark("Check both readings."),
    ),
    "failed_too_long": (
        mark("is longer than the planned hold, which then was finished."),
        mark("Leave failed_s empty, or hang_s for a hold to failure."),
    ),
    "reps_done_too_many": (
        mark("is more than the planned holds."),
        mark("Correct reps or reps_done."),
    ),
    "nothing_failed": (
        mark("equals the planned holds, yet failed_s names an unfinished one."),
        mark("Lower reps_done or leave failed_s empty."),
    ),
    "added_empty": (
        mark("is empty while other rows are filled; 0 was taken."),
        mark("Write 0 where nothing was added."),
    ),
    "reps_done_unknown": (
        mark("is empty although a hold failed, so we don't know how many were finished."),
        mark("Write the holds finished before the miss."),
    ),
    "failed_at_plan": (
        mark("equals the planned hold."),
        mark("Leave it empty if the hold was finished."),
    ),
    "two_loads": (
        mark("stands beside scale_kg; the gauge's figure was taken."),
        mark("Keep the reading that counts."),
    ),
    "edge_small": (
        mark("is below {least} mm; it is not compared with other edges."),
        mark("Check that the depth is in millimetres."),
    ),
    "until_before_date": (mark("is before the date."), mark("Correct one of the two.")),
    "until_not_used": (
        mark("is for {kinds} only and is not used here."),
        mark("Leave it empty."),
    ),
    "level_missing": (
        mark("is empty, and so is sign."),
        mark("Write 0 to 10 (0 = asked, none), or the sign that was seen."),
    ),
    # several rows
    "body_mass_hidden": (
        mark("has rows that can't be read; body mass stays hidden for whom they may be."),
        mark("Correct the rows listed for this file."),
    ),
    "load_not_positive": (
        mark("leaves no load on the fingers; the set counts as work only."),
        mark("Check counterweight and scale against body mass."),
    ),
    "session_twice": (
        mark("begins rows that repeat those already entered for this day; both were counted."),
        mark("Delete one copy if the session was done once."),
    ),
    "row_twice": (
        mark("repeats a row already entered for this day; both were counted."),
        mark("Delete one copy, or write the start of each session."),
    ),
    "athlete_twice": (
        mark("has more than one row; the last one counts."),
        mark("Keep one row for each athlete."),
    ),
    # block files
    "block_encoding": (mark("isn't UTF-8, which TOML needs."), mark("Save the file as UTF-8.")),
    "block_toml": (mark("isn't valid TOML: {fault}."), mark("Correct this line.")),
    "block_unknown_keys": (
        mark("has {count} keys that no block file has, and was not read."),
        mark("Take them out; up to {limit} are passed over."),
    ),
    "block_unknown_key": (
        mark("isn't a key of a block file and changes nothing."),
        mark("Check its spelling."),
    ),
    "block_key_missing": (
        mark("is missing in [{table}]."),
        mark("Add {column} = ... there."),
    ),
    "block_number": (mark("isn't a number."), mark("Write {column} = a number.")),
    "block_range": (mark("is outside {low} to {high}."), mark("Correct the figure.")),
    "block_whole": (mark("isn't a whole number."), mark("Write {column} without decimals.")),
    "block_text": (mark("isn't text."), mark('Write {column} = "..." in quotes.')),
    "block_word": (mark("isn't {allowed}."), mark("Use one of these words.")),
    "block_flag": (mark("is neither true nor false."), mark("Write true or false.")),
    "block_date": (
        mark("isn't a date."),
        mark("Write {column} = 2026-11-30 (year-month-day)."),
    ),
    "block_year": (mark("is outside the years {first} to {last}."), mark("Correct the year.")),
    "block_list": (mark("isn't a list."), mark("Write {column} = [ ..., ... ].")),
    "block_rest_order": (
        mark("runs from long to short."),
        mark("Write [shortest, longest]."),
    ),
    "block_table": (mark("isn't a table."), mark("Write it as [{table}].")),
    "block_tables": (mark("isn't a list of tables."), mark("Write it as [[{table}]].")),
    "block_phase_too_long": (
        mark("ends in week {week}, after the block's {weeks} weeks."),
        mark("Shorten the phase or lengthen the block."),
    ),
    "block_week_too_late": (
        mark("is after the block's last week, {weeks}."),
        mark("Correct the week."),
    ),
    "block_name_twice": (
        mark("is also the name of the block in {file}, for the same athletes."),
        mark("Give each block its own name."),
    ),
    "block_other_athlete": (
        mark("can't be planned for here: this sub-folder speaks for {athlete} alone."),
        mark("Move what is planned for others to a block file at the top of the log folder."),
    ),
    "block_unknown_athlete": (
        mark("is named in the block file but has no row in any log."),
        mark("Write the id the same in every file."),
    ),
    "block_empty": (
        mark(
            "no entry of {athlete} lies in the block, {start} to {end}: finger work is "
            "logged from {first} to {last}. The report covers the whole log instead."
        ),
        mark("Set start to the block's first day ({first}?)."),
    ),
}


def _empty(problem: Problem) -> tuple[str, str]:
    remedy = say("Fill in the cell.")
    if problem.column == "athlete":
        remedy = say("Write the athlete's id, the same text in every file.")
    return say("is empty."), remedy


def _column_missing(problem: Problem) -> tuple[str, str]:
    remedy = say("Add the column {name} to the header.", name=problem.column)
    if problem.column == "athlete":
        remedy += " " + say("Or put the file into a sub-folder named after the athlete.")
    return say("is missing in the header."), remedy


def _unknown_column(problem: Problem) -> tuple[str, str]:
    near = problem.parameters["near"]
    return (
        say("isn't a column of the log format; it was kept and is not used."),
        say("Did you mean {near}?", near=near)
        if near
        else say("Check its spelling if it was meant to be one."),
    )


def _out_of_range(problem: Problem) -> tuple[str, str]:
    filled = _filled(problem)
    reason = (
        say("is outside {low} to {high} {unit}.", **filled)
        if filled["unit"]
        else say("is outside {low} to {high}.", low=filled["low"], high=filled["high"])
    )
    return reason, say("Correct the number.")


def _date_order(problem: Problem) -> tuple[str, str]:
    day_first, month_first = (problem.parameters[n] for n in ("day_first", "month_first"))
    if day_first and month_first and day_first != month_first:
        remedy = say(
            "Write it as {day_first} if the day comes first, as {month_first} if the month does; "
            "or say --dates day-first or --dates month-first.",
            **_filled(problem),
        )
        return say("may mean two different days."), remedy
    date = _shown(day_first or month_first) or say("year-month-day (2026-12-05)")
    return say("is not in the order year-month-day."), say(
        "Write it as {date}, or say --dates day-first or --dates month-first.", date=date
    )


def _no_such_day(problem: Problem) -> tuple[str, str]:
    order = problem.parameters["order"]
    reason = (
        say("isn't a day of the calendar when read {order}.", order=order)
        if order
        else say("isn't a day of the calendar.")
    )
    return reason, say("Correct the date.")


def _unknown_word(problem: Problem) -> tuple[str, str]:
    near = _shown(problem.parameters["near"])
    return (
        say("isn't {allowed}.", allowed=_shown(problem.parameters["allowed"])),
        say("Did you mean {near}?", near=near) if near else say("Use one of these words."),
    )


def _unknown_grip(problem: Problem) -> tuple[str, str]:
    reason, remedy = _unknown_word(problem)
    return reason, remedy + " " + say("A grip of your own goes into block.toml: grips = [...].")


def _not_used(problem: Problem) -> tuple[str, str]:
    exercise = fmt.EXERCISE_WORDS[str(problem.parameters["exercise"])]
    reason = say("is for {exercise} only and is not used here.", exercise=exercise)
    return reason, say("Move it to the right column.")


def _unknown_grade(problem: Problem) -> tuple[str, str]:
    near = _shown(problem.parameters["near"])
    reason = say(
        "isn't in the published comparison for the scale {scale}, so the climb is placed nowhere; "
        "none is guessed.",
        scale=problem.parameters["scale"],
    )
    return reason, (
        say("Did you mean {near}?", near=near) if near else say("Check the grade and its scale.")
    )


def _body_mass_jump(problem: Problem) -> tuple[str, str]:
    days, change = problem.parameters["days"], problem.parameters["change_pct"]
    assert isinstance(days, int)
    assert isinstance(change, float)
    size = fmt.number(abs(change), 0)
    if days == 0:
        reason = (
            say("is {size} % above the weigh-in of the same day.", size=size)
            if change > 0
            else say("is {size} % below the weigh-in of the same day.", size=size)
        )
    else:
        ago = say_count(days, "{n} day before", "{n} days before", n=days)
        reason = (
            say("is {size} % above the weigh-in {ago}.", size=size, ago=ago)
            if change > 0
            else say("is {size} % below the weigh-in {ago}.", size=size, ago=ago)
        )
    return reason, say("Check the figure and its unit.")


def _body_mass_missing(problem: Problem) -> tuple[str, str]:
    rows = problem.parameters["rows"]
    assert isinstance(rows, int)
    reason = say_count(
        rows,
        "needs a body mass to know its load; {n} row of this athlete can count as work only.",
        "needs a body mass to know its load; {n} rows of this athlete can count as work only.",
        n=rows,
    )
    return reason, say("Add a weigh-in to body.csv.")


def _load_high(problem: Problem) -> tuple[str, str]:
    times = problem.parameters["times_body_mass"]
    if problem.parameters["left_out"]:
        reason = say(
            "on the fingers is far above every other such set of this athlete; the set counts as "
            "work only, until another comes near it."
        )
    elif times:
        reason = say("on the fingers is more than {times} times body mass.", times=_shown(times))
    else:
        reason = say("on the fingers is an unusual load.")
    return reason, say("Check the figure and its unit.")


def _block_list_length(problem: Problem) -> tuple[str, str]:
    filled = _filled(problem)
    reason = (
        say("needs {least} entries and has {count}.", **filled)
        if filled["least"] == filled["most"]
        else say("needs {least} to {most} entries and has {count}.", **filled)
    )
    return reason, say("Correct the list.")


def _rows_disagree(problem: Problem) -> tuple[str, str]:
    held = problem.parameters["held"] or say("an empty cell")
    reason = say("is not what another row says; the more private one holds ({held}).", held=held)
    return reason, say("Keep one row for each athlete.")


def _athlete_in_one_file(problem: Problem) -> tuple[str, str]:
    p = problem.parameters
    reason = say("is in {file} only.", file=p["file"])
    if not p["twin"]:
        return reason, say("Write the id the same in every file.")
    return reason, say(
        "Write the id the same in every file: {twin_file} has {twin}.",
        twin_file=p["twin_file"],
        twin=p["twin"],
    )


#: What a file may hold too much of.
_TOO_MUCH: Final = {
    "bytes": mark("has {count} MB, more than the {limit} that are read."),
    "lines": mark("has {count} lines, more than the {limit} that are read."),
    "columns": mark("has {count} columns, more than the {limit} that are read."),
    "cells": mark(
        "has {count} cells in its lines and columns, more than the {limit} that are read."
    ),
    "problems": mark("has more than {limit} rows with something wrong, and was not read."),
}


def _too_much(problem: Problem) -> tuple[str, str]:
    p = problem.parameters
    unit = 1e6 if p["what"] == "bytes" else 1
    count, limit = (fmt.number(float(str(p[name])) / unit) for name in ("count", "limit"))
    reason = say(_TOO_MUCH[str(p["what"])], count=count, limit=limit)
    if p["what"] == "problems":
        return reason, say("Correct it; the first rows on their own show what it is.")
    return reason, say("Divide it, or take out what is no log.")


_PHRASED: Final[Mapping[str, Callable[[Problem], tuple[str, str]]]] = {
    "empty": _empty,
    "column_missing": _column_missing,
    "unknown_column": _unknown_column,
    "out_of_range": _out_of_range,
    "date_order": _date_order,
    "no_such_day": _no_such_day,
    "unknown_word": _unknown_word,
    "unknown_grip": _unknown_grip,
    "not_used": _not_used,
    "unknown_grade": _unknown_grade,
    "body_mass_jump": _body_mass_jump,
    "body_mass_missing": _body_mass_missing,
    "load_high": _load_high,
    "rows_disagree": _rows_disagree,
    "block_list_length": _block_list_length,
    "athlete_in_one_file": _athlete_in_one_file,
    "too_much": _too_much,
}
#: Every code that can be said.
CODES: Final = frozenset({*_TEXTS, *_PHRASED})


def reason_and_remedy(problem: Problem) -> tuple[str, str]:
    """Why a row was refused or is doubtful, and what to do, in the language in use."""
    if problem.code in _PHRASED:
        return _PHRASED[problem.code](problem)
    reason, remedy = _TEXTS[problem.code]
    filled = {"column": problem.column, **_filled(problem)}
    return say(reason, **filled), say(remedy, **filled)


def problem_line(problem: Problem) -> str:
    """One line: `file:line: severity: column = 'value': reason remedy`."""
    reason, remedy = reason_and_remedy(problem)
    said = f"{problem.subject}: {reason}" if problem.subject else reason
    return visible_line(f"{problem.place}: {problem.severity}: {said} {remedy}")


def problems_frame(problems: Iterable[Problem]) -> pd.DataFrame:
    """The problems as a frame, one row each, columns as in `PROBLEM_COLUMNS`."""
    rows = [
        [*(getattr(p, c) for c in PROBLEM_COLUMNS[:-2]), *reason_and_remedy(p)] for p in problems
    ]
    return pd.DataFrame(rows, columns=list(PROBLEM_COLUMNS)).astype({"line": int, "last_line": int})


def _filled(problem: Problem) -> dict[str, str]:
    return {name: _shown(value) for name, value in problem.parameters.items()}


def _shown(value: Parameter) -> str:
    """A parameter as it stands in a sentence; days as a log has them."""
    if value is None:
        return ""
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, tuple):
        return fmt.one_of(value)
    return str(value) if isinstance(value, str) else fmt.plain(value)
