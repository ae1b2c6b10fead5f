"""What `gripbook adopt` says: a preview, what became of the rows, and what is to be answered."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from gripbook.logs.adopt import LEDGER, Adoption, Conflict, Ignored, Question, UnreadCell
from gripbook.logs.canonical import allowed_words
from gripbook.logs.problem import Problem
from gripbook.logs.schema import FILES
from gripbook.logs.words_read import meanings
from gripbook.words.problems import reason_and_remedy

#: Rows shown before and after, and places named of each reason.
_SHOWN: Final = 5


def adoption_lines(done: Adoption, folder: Path) -> list[str]:
    """What adopting did, or would do, line by line."""
    lines = [f"Map: {done.map_path}" + (" (written just now)" if done.drafted else "")]
    lines += _preview(done)
    outcome = done.outcome
    lines += [
        "",
        f"{outcome.rows_in} rows: {outcome.used} used, {len(outcome.refused)} refused, "
        f"{len(outcome.ignored)} ignored",
    ]
    refused = [(place, _refused(reason)) for place, reason in outcome.refused]
    ignored = [(place, _ignored(reason)) for place, reason in outcome.ignored]
    lines += [*_by_reason("refused", refused), *_by_reason("ignored", ignored)]
    left = [
        f"{source!r}"
        for plan in done.made.sheets
        for source, name in plan.columns.items()
        if not name
    ]
    if left:
        lines.append(f"  columns left out: {', '.join(left)}")
    if done.questions:
        lines += ["", f"Questions, to answer in {done.map_path}:"]
        lines += [f"  {question_text(question)}" for question in done.questions]
        lines += ["Nothing was written. Answer them, then run the same command again."]
    elif done.drafted:
        lines += [
            "",
            "Nothing was written yet. Look through the map, then run the same command again.",
        ]
    else:
        lines += [f"{done.added} rows added to {folder}, {done.known} were there"]
        lines += [f"  not added: {_conflict(conflict)}" for conflict in done.conflicts]
        if outcome.refused:
            lines.append(
                "Refused rows come in once they are corrected in the spreadsheet: run the same "
                "command again."
            )
        lines.append(f"`gripbook check {folder}` looks through the log.")
    return lines


def _preview(done: Adoption) -> list[str]:
    """Some rows of the spreadsheet, and what each became."""
    lines = [""] if done.outcome.rows else []
    places = {(row.sheet, row.row): row for row in reversed(done.outcome.rows)}
    for (label, number), row in list(reversed(places.items()))[:_SHOWN]:
        sheet = next(s for s in done.sheets if s.label == label)
        lines.append(f"{label}:{number}  " + " | ".join(c for c in sheet.rows[number - 1] if c))
        lines.append(f"  {row.file}.csv  " + ", ".join(f"{k} {v}" for k, v in row.cells.items()))
    return lines


def _by_reason(kind: str, listed: Sequence[tuple[str, str]]) -> list[str]:
    """A line a reason, with its first places."""
    places: dict[str, list[str]] = {}
    for place, reason in listed:
        places.setdefault(reason, []).append(place)
    lines = []
    for reason, every in places.items():
        where = list(dict.fromkeys(every))
        more = f" and {len(where) - _SHOWN} more" if len(where) > _SHOWN else ""
        lines.append(f"  {kind}: {', '.join(where[:_SHOWN])}{more}: {reason}")
    return lines


def _refused(reason: Problem | Sequence[UnreadCell]) -> str:
    if isinstance(reason, Problem):
        return f"{reason.subject}: " + " ".join(reason_and_remedy(reason))
    return " ".join(f"{cell.name} = {cell.text!r}: {_fault(cell)}." for cell in reason)


def _fault(cell: UnreadCell) -> str:
    if cell.fault == "number":
        return "no number in the column's unit"
    if cell.fault == "day":
        return "no day, or its order isn't known"
    if cell.fault == "may_mean":
        return f"may mean {' or '.join(cell.words)}"
    if cell.fault == "no_plan":
        return "the planned seconds (hang_s) aren't known"
    if cell.fault == "no_pattern":
        return f"fits none of {', '.join(map(repr, cell.words))}"
    return f"none of {', '.join(cell.words)}"


def _ignored(reason: Ignored) -> str:
    return {
        "not_named": "no [[sheet]] of the map names this sheet",
        "begins": f"rows_beginning_with {reason.text!r}",
        "header": "the header again",
        "no_set": "no set is filled in",
        "day_alone": "nothing but the day is filled in",
    }[reason.rule]


def _conflict(conflict: Conflict) -> str:
    held, given = (
        ", ".join(f"{k} {v}" for k, v in key[1]) for key in (conflict.held, conflict.given)
    )
    return (
        f"{conflict.place}: {conflict.file}.csv holds {held} of that day, the spreadsheet now "
        f"{given}. Correct the row in {conflict.file}.csv by hand, or delete it there and in "
        f"{LEDGER}."
    )


def question_text(question: Question) -> str:
    """A question of the map, with the place where it stands."""
    name, source = question.name, question.source
    if question.about == "dates":
        return "dates: day-first or month-first?"
    if question.about == "year":
        return "year: which year are the days of that have none?"
    if question.about == "default":
        return f"[sheet.default] {name}: what is it in every row? {_asked(name)}"
    if question.about == "value":
        return f"[sheet.values.{name}] {source!r}: which is it? {_asked(name, source)}"
    if question.about == "sets":
        return (
            f"[sheet.sets] what do {source!r} and the columns like it hold? added_kg (weight), "
            "held_s (seconds held), ..."
        )
    which = "which column?"
    if question.about == "weight":
        which = "weight added (added_kg) or body mass (body.body_mass_kg)?"
    return f"[sheet.columns] {source!r}: {which} ('' leaves it out)"


def _asked(name: str, word: str = "") -> str:
    """What the log takes there: the words that `word` may mean, else all, or what it is about."""
    file, _, column = name.rpartition(".")
    for kind in (FILES.get(file), *FILES.values()):
        known = kind.by_name.get(column) if kind else None
        if known:
            words = allowed_words(known)
            words = meanings(word, known, words) or words
            return (
                f"({', '.join(words[:-1])} or {words[-1]})"
                if len(words) > 1
                else f"({known.meaning})"
            )
    return ""
