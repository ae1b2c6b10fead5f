"""The proposals of a log folder as text, table, JSON and block files."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from gripbook.errors import GripbookError
from gripbook.logs import Block, Logs
from gripbook.logs.block_writer import write_block
from gripbook.report.names import page_names
from gripbook.report.spreadsheet import plain_cell
from gripbook.reviews import NextBlock, check_begun, propose_next, review
from gripbook.words import fmt, say
from gripbook.words import next as words

#: Columns of the table of a proposal.
COLUMNS = (
    "athlete",
    "week",
    "session",
    "day",
    "phase",
    "exercise",
    "grip",
    "hand",
    "edge_mm",
    "added_kg",
    "force_kg",
    "low_kg",
    "high_kg",
    "sets",
    "reps",
    "hang_s",
    "left",
    "what",
    "reason",
    "because",
)
#: The figures of a row that is given as JSON.
_FIGURES = ("edge_mm", "added_kg", "force_kg", "sets", "reps", "hang_s", "low_kg", "high_kg")


def proposals(
    logs: Logs,
    athletes: Sequence[str] = (),
    *,
    block: str = "",
    week: bool = False,
    start: dt.date | None = None,
) -> list[NextBlock]:
    """
    The proposals for these athletes, or for all of the folder in order of their names.

    Raises
    ------
    UnknownAthleteError, UnknownBlockError : name what there is.
    GripbookError : a week is asked for of a block that has not begun.
    """
    ids = dict.fromkeys(athletes) if athletes else logs.athlete_ids
    reviews = [review(logs, a, block) for a in ids]
    if week:
        for r in reviews:
            check_begun(r)
    return [propose_next(r, week=week, start=start) for r in reviews]


def next_text(plan: NextBlock, *, choices: bool = False) -> str:
    """A proposal for the screen: what holds, the sessions, the rule, why; on wish the choices."""
    with fmt.in_mass_unit(plan.units):
        lines = [f"{plan.athlete}: {_head(plan)}"]
        lines += words.opening(plan)
        lines += [words.before_text(x) for x in plan.before]
        lines += _sessions(plan)
        lines += words.closing(plan)
        for what, why in words.why_lines(plan):
            lines += [f"- {what}", f"  {why}"]
        if choices and not plan.minor:
            lines.append("The choices behind this:")
            lines += [f"- {text}" for text in words.choice_lines(plan)]
    return "\n".join(plain_text(line) for line in lines) + "\n"


def _head(plan: NextBlock) -> str:
    start = fmt.day(plan.start)
    if plan.over:
        return f"no week left from {start}"
    if plan.minor or (plan.held and not plan.rows):
        return f"nothing to load yet (from {start})"
    return f"week {plan.week}, from {start}" if plan.week else f"next block, from {start}"


def _sessions(plan: NextBlock) -> Iterator[str]:
    """A line a session and series, under a line a week."""
    week = 0
    for row in plan.rows:
        if row.week != week:
            week = row.week
            yield words.week_head(week, plan)
        parts = [
            f"{say(fmt.WEEKDAYS[row.day.weekday()])} {row.day.isoformat()}",
            words.phase_name(row.phase) if row.phase else say("Test"),
            fmt.series(row.grip, row.hand, row.edge_mm),
            words.sets_text(row, whole=True),
            words.row_load(row, plan),
        ]
        left, note = words.left_text(row), words.note_text(row)
        if left:
            parts.append(f"{left} left")
        if note and not row.easy:
            parts.append(note)
        yield "  " + "; ".join(parts)


def plain_text(text: str) -> str:
    """Text for a terminal: names from a log must not move its cursor."""
    return "".join(c if c.isprintable() or c == fmt.NBSP else "\ufffd" for c in text)


def next_json(made: Iterable[NextBlock]) -> str:
    """
    The proposals' rows as a JSON list of objects, one a session and series.

    Keys: `athlete`, `week`, `session`, `day`, `exercise`, `grip`, `hand`, `edge_mm`, `added_kg` or
    `force_kg`, `sets`, `reps`, `hang_s`, `low_kg`, `high_kg`, `reason`, `because`; what is not set
    is null. Nothing of anyone under 18, and nothing that pain holds.
    """
    return json.dumps(list(_objects(made)), ensure_ascii=False, indent=1) + "\n"


def _objects(made: Iterable[NextBlock]) -> Iterator[dict[str, object]]:
    for plan in made:
        with fmt.in_mass_unit(plan.units):
            for row in plan.rows:
                figures = {name: _number(getattr(row, name)) for name in _FIGURES}
                if figures["force_kg"] is None:  # one of the two, as the log format has it
                    del figures["force_kg"]
                else:
                    del figures["added_kg"]
                load = words.load_of(row, plan)
                yield {
                    "athlete": plan.athlete,
                    "week": row.week,
                    "session": row.session,
                    "day": row.day.isoformat(),
                    "exercise": row.exercise,
                    "grip": row.grip,
                    "hand": row.hand,
                    **figures,
                    "reason": row.reason.value,
                    "because": words.reason_text(load, plan) if load else "",
                }


def _number(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else value


def next_table(made: Iterable[NextBlock]) -> str:
    """The proposals as CSV: a row a session and series, and the sentences around them."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\n")
    writer.writeheader()
    for plan in made:
        who = {"athlete": _cell(plan.athlete)}
        with fmt.in_mass_unit(plan.units):
            around = [*words.opening(plan), *(words.before_text(x) for x in plan.before)]
            held = [x for x in plan.loads if x.kind in ("hold", "open")]
            for text in around:
                writer.writerow(who | {"week": plan.week or "", "what": _cell(text)})
            for load in held:
                why = words.reason_text(load, plan)
                what = words.load_line(load, plan)
                writer.writerow(who | {"what": _cell(what), "because": _cell(why)})
            for row in plan.rows:
                of = words.load_of(row, plan)
                writer.writerow(
                    who
                    | {
                        "week": row.week,
                        "session": row.session,
                        "day": row.day.isoformat(),
                        "phase": _cell(words.phase_name(row.phase)),
                        "exercise": row.exercise,
                        "grip": _cell(row.grip),
                        "hand": row.hand,
                        **{name: _figure(getattr(row, name)) for name in _FIGURES},
                        "left": _figure(row.left),
                        "what": _cell(words.row_load(row, plan)),
                        "reason": row.reason.value,
                        "because": _cell(words.reason_text(of, plan) if of else ""),
                    }
                )
            for text in words.closing(plan):
                writer.writerow(who | {"week": plan.week or "", "what": _cell(text)})
    return out.getvalue()


def _figure(value: float | None) -> str:
    return "" if value is None or not math.isfinite(value) else f"{value:g}"


def _cell(text: str) -> str:
    """Words for a spreadsheet, on one line."""
    return plain_cell(" ".join(text.split()))


def next_files(made: Sequence[NextBlock], out: Path) -> list[tuple[Path, str]]:
    """
    Path and text of each block file.

    `out` itself for one athlete, else with the athlete's name before the ending. A proposal without
    a block gives none.

    Raises
    ------
    GripbookError : a file of that name exists; a coach may have edited it.
    """
    names = page_names(p.athlete for p in made)
    files = [
        (
            _path(out, names[p.athlete], alone=len(made) == 1),
            write_block(_named(p.block), _comments(p)),
        )
        for p in made
        if p.block is not None
    ]
    for path, _ in files:
        if path.exists():
            raise GripbookError(f"{path} exists and may have been edited. Name another file.")
    return files


def _path(out: Path, page: str, *, alone: bool) -> Path:
    return out if alone else out.with_name(f"{out.stem}-{page.removesuffix('.html')}{out.suffix}")


def _named(block: Block) -> Block:
    """The block with every phase's name in words."""
    phases = tuple(replace(p, name=words.phase_name(p.name)) for p in block.phases)
    return replace(block, phases=phases)


def _comments(plan: NextBlock) -> list[str]:
    with fmt.in_mass_unit(plan.units):
        lines = ["A proposal to edit, not a plan to follow blindly."]
        lines += words.opening(plan)
        lines += [f"- {what}. {why}" for what, why in words.why_lines(plan)]
        lines += words.closing(plan)
        lines += ["The choices behind this:", *(f"- {x}" for x in words.choice_lines(plan))]
    return [line.replace(fmt.NBSP, " ") for line in lines]
