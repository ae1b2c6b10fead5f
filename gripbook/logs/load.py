"""A log folder to `Logs`: all files, all blocks, all problems."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

import pandas as pd

from gripbook.errors import LogFolderError
from gripbook.logs.block import Block, read_block
from gripbook.logs.bounds import BLOCK_BYTES, FileRefusedError, read_file
from gripbook.logs.cells import Context, DateOrder
from gripbook.logs.files import Source, find_files, of_books
from gripbook.logs.header import known_names
from gripbook.logs.logs import Logs
from gripbook.logs.people import People
from gripbook.logs.privacy import Privacy
from gripbook.logs.problem import Problem
from gripbook.logs.reader import read_table
from gripbook.logs.rows import FileReport, empty_frame, judge_table
from gripbook.logs.schema import ATHLETES, FILES, LogFile
from gripbook.logs.suspicions import blocks_aside, suspicions

Progress = Callable[[str], None]


def load_logs(
    folder: str | Path | Mapping[str, pd.DataFrame],
    *,
    dates: DateOrder | None = None,
    today: dt.date | None = None,
    progress: Progress | None = None,
) -> Logs:
    """
    Read a log folder (log format 1).

    Parameters
    ----------
    folder : holds `hangs.csv` at its top, or in sub-folders named after the athletes, and the
        optional files beside it. Or frames by the names of the format's files (`hangs`, ...),
        with the format's columns.
    dates : "day-first" or "month-first" where dates are not written year-month-day. Without it
        such a date refuses its row: 05.12.2026 may mean two days.
    today : days after it are warned of; default: the computer's date.
    progress : called with the name of each file before it is read.

    Returns
    -------
    Logs. Every row is in a frame or among the problems.

    Raises
    ------
    LogFolderError : the folder is missing or holds no `hangs.csv`.
    """
    given = folder if isinstance(folder, Mapping) else None
    root = Path("frames") if isinstance(folder, Mapping) else Path(folder)
    if given is not None:
        sources = _of_frames(given)
        problems: list[Problem] = []
    elif root.is_dir():
        sources, problems = find_files(root)
    elif root.exists():
        raise LogFolderError(
            f"{root} is a file, not a folder. Name the folder it is in ({root.parent}); a "
            "spreadsheet of your own comes in by `gripbook adopt FILE --into FOLDER`."
        )
    else:
        raise LogFolderError(
            f"{root} does not exist. Name the folder that holds hangs.csv; "
            f"`gripbook new {root}` makes an empty one."
        )
    books = [source.file for source in sources if source.kind == "book"]
    sources, book_problems = of_books(sources)
    problems += book_problems
    if not any(source.kind == "hangs" for source in sources):
        links = [p.file for p in problems if p.code == "link"]
        raise LogFolderError(
            f"{root} holds no hangs.csv, neither at its top nor in a sub-folder. "
            f"It is the one file that is needed; `gripbook new` makes an empty one."
            + (f" {books[0]} comes in by `gripbook adopt`." if books else "")
            + (f" Links out of a folder are not read: {', '.join(links)}." if links else "")
        )
    plans, block_problems = _read_blocks([s for s in sources if s.kind == "block"])
    problems += block_problems
    blocks = [block for block, _ in plans]
    shared = {grip for block, owner in plans if not owner for grip in block.grips}
    owners: dict[str, set[str]] = defaultdict(set)  # of a grip that only sub-folders declare
    for block, owner in plans:
        for grip in set(block.grips) - shared:
            owners[grip].add(owner)
    context = Context(
        date_order=dates, today=today or dt.date.today(), grips=tuple(sorted(shared)), owners=owners
    )
    frames: dict[str, list[pd.DataFrame]] = defaultdict(list)
    extras: dict[str, list[pd.DataFrame]] = defaultdict(list)
    reports: list[FileReport] = []
    privacy = Privacy()
    for source in sources:
        if source.kind == "block":
            continue
        if progress:
            progress(source.file)
        kind = FILES[source.kind]
        file_problems: list[Problem]
        try:
            data = read_file(source.path, source.file) if source.data is None else source.data
            table = read_table(data, source.file, known_names(kind))
            here = replace(context, folder_athlete=source.athlete)
            frame, extra_columns, file_problems, report = judge_table(table, kind, here)
        except FileRefusedError as err:
            file_problems = [err.problem]
        else:
            frames[kind.name].append(frame)
            extras[kind.name].append(extra_columns)
            reports.append(report)
        if kind is ATHLETES:
            privacy.note(file_problems, source.athlete)
        problems += file_problems
    whole = {name: _joined(frames[name], kind) for name, kind in FILES.items()}
    extra = {name: _joined_extra(parts) for name, parts in extras.items()}
    extra = {name: columns for name, columns in extra.items() if len(columns.columns)}
    ids = {athlete for frame in whole.values() for athlete in frame["athlete"].unique()}
    whole["athletes"], disagreements = privacy.apply(whole["athletes"], ids)
    problems += disagreements
    if "athletes" in extra:  # whoever's row couldn't be read has one now, without extra cells
        rows = range(len(whole["athletes"]))
        extra["athletes"] = extra["athletes"].reindex(rows).fillna("")
    people = {name: People.of(frame) for name, frame in whole.items()}
    problems += suspicions(whole, extra, people, blocks)
    logs = Logs(
        folder=root,
        **whole,
        blocks=tuple(blocks),
        problems=tuple(problems),
        reports=tuple(reports),
        extra=extra,
        _places={name: of.places() for name, of in people.items()},
    )
    return replace(logs, problems=(*logs.problems, *blocks_aside(logs)))


def _of_frames(frames: Mapping[str, pd.DataFrame]) -> list[Source]:
    """Frames as the files they would be, so that their cells are judged by the same rules."""
    strange = [name for name in frames if name not in FILES]
    if strange:
        raise LogFolderError(f"{strange[0]!r} is no file of the log. There are {', '.join(FILES)}.")
    return [
        Source(Path(name), f"{name}.csv", name, "", frame.to_csv(index=False).encode())
        for name, frame in frames.items()
    ]


def _read_blocks(sources: list[Source]) -> tuple[list[tuple[Block, str]], list[Problem]]:
    """The blocks, each with the athlete whose sub-folder it stands in ("" at the top)."""
    blocks: list[tuple[Block, str]] = []
    problems: list[Problem] = []
    for path, file, _, athlete, _ in sources:
        try:
            text = read_file(path, file, BLOCK_BYTES).decode("utf-8-sig")
        except FileRefusedError as err:
            problems.append(err.problem)
            continue
        except UnicodeDecodeError:
            problems.append(Problem("error", "block_encoding", file))
            continue
        read, more = read_block(text, file)
        problems += more
        if read is None:
            continue
        block, more = _kept_to(athlete, read)
        problems += more
        if block is None:
            continue
        twin = next((b for b, _ in blocks if _same_name(b, block)), None)
        if twin is not None:
            names = {"file": twin.file}
            problems.append(
                Problem("error", "block_name_twice", file, 0, "name", block.name, names)
            )
            continue
        blocks.append((block, athlete))
    return blocks, problems


def _kept_to(athlete: str, block: Block) -> tuple[Block | None, list[Problem]]:
    """A sub-folder's block, for its athlete alone; None where it was made for others only."""
    if not athlete:
        return block, []
    others = sorted({*block.athletes, *block.overrides} - {athlete})
    who = {"athlete": athlete}
    problems = [
        Problem("error", "block_other_athlete", block.file, 0, "athlete", other, who)
        for other in others
    ]
    if block.athletes and athlete not in block.athletes:
        return None, problems
    overrides = {key: table for key, table in block.overrides.items() if key == athlete}
    return replace(block, athletes=(athlete,), overrides=overrides), problems


def _same_name(one: Block, other: Block) -> bool:
    shared = not one.athletes or not other.athletes or set(one.athletes) & set(other.athletes)
    return one.name == other.name and bool(shared)


def _joined(frames: list[pd.DataFrame], kind: LogFile) -> pd.DataFrame:
    """All files of one kind as one frame."""
    filled = [f for f in frames if len(f)]
    if not filled:
        return frames[0] if frames else empty_frame(kind)
    return pd.concat(filled, ignore_index=True) if len(filled) > 1 else filled[0]


def _joined_extra(extras: list[pd.DataFrame]) -> pd.DataFrame:
    """The unknown columns of all files of one kind; one that only some have is "" elsewhere."""
    filled = [f for f in extras if len(f)]
    if not filled:
        return pd.DataFrame()
    return pd.concat(filled, ignore_index=True).fillna("") if len(filled) > 1 else filled[0]
