"""Which files of a log folder are read, for whom each may speak, and which are not and why."""

from __future__ import annotations

import difflib
import os
import unicodedata
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from gripbook.errors import GripbookError
from gripbook.logs.bounds import FileRefusedError, unreadable
from gripbook.logs.problem import Problem
from gripbook.logs.schema import FILES
from gripbook.logs.spreadsheet import SHEET_FILES, as_csv, read_sheets


class Source(NamedTuple):
    """
    One file to read.

    `file` is its name for messages, relative to the log folder; `kind` its name in the format or
    "block" or "book" (a spreadsheet file); `athlete` the one it speaks for, "" at the top. `data`:
    the sheet of a book, as CSV.
    """

    path: Path
    file: str
    kind: str
    athlete: str
    data: bytes | None = None


def find_files(root: Path) -> tuple[list[Source], list[Problem]]:
    """
    The files of a log folder that are read, those at the top first, and what is told of the others.

    A sub-folder is one athlete's and may be that athlete's to fill: nothing is read there that a
    link takes from elsewhere, since it would then speak as this athlete.
    """
    sources: list[Source] = []
    problems: list[Problem] = []
    folders = [(root, "")]
    for sub in _listing(root, root, problems):
        if not sub.is_dir() or sub.name.startswith("."):
            continue
        file = shown_name(sub, root)
        if not _is_unicode(sub.name):
            problems.append(Problem("error", "folder_name", file))
        elif _is_link(sub, root):
            problems.append(Problem("error", "link", file))
        else:
            folders.append((sub, _athlete_of(sub)))
    for folder, athlete in folders:
        here: list[Source] = []
        for path in _listing(folder, root, problems):
            kind = _kind_of(path)
            if not kind:
                continue
            file = shown_name(path, root)
            if _leaves(path, folder) or (path.is_symlink() and not path.exists()):
                problems.append(Problem("error", "link", file))
            else:
                here.append(Source(path, file, kind, athlete))
        # a folder without logs may hold anything
        if folder == root or any(source.kind in {*FILES, "book"} for source in here):
            sources += here
    return sources, problems + _stray_files(root, [f for f, _ in folders], sources)


def of_books(sources: list[Source]) -> tuple[list[Source], list[Problem]]:
    """
    Give the sources with each spreadsheet file replaced by its sheets.

    Those count that are called as files of the format are; a file of one sheet may be called so
    itself.
    """
    opened: list[Source] = []
    problems: list[Problem] = []
    for source in sources:
        if source.kind != "book":
            opened.append(source)
            continue
        try:
            sheets = read_sheets(source.path)
        except FileRefusedError as err:
            problems.append(replace(err.problem, file=source.file))
            continue
        except GripbookError as err:
            fault = str(err).rstrip(".")
            problems.append(
                Problem("error", "unreadable", source.file, parameters={"fault": fault})
            )
            continue
        stem = source.path.stem.lower()
        kinds = [sheet.name.strip().lower() for sheet in sheets]
        if len(sheets) == 1 and stem in FILES and kinds[0] not in FILES:
            kinds = [stem]
        read = [
            source._replace(kind=kind, file=f"{source.file}#{sheet.name}", data=as_csv(sheet))
            for sheet, kind in zip(sheets, kinds, strict=True)
            if kind in FILES
        ]
        if not read:
            names = {"names": tuple(FILES)}
            problems.append(Problem("warning", "no_log_sheet", source.file, parameters=names))
        opened += read
    return opened, problems


def shown_name(path: Path, root: Path) -> str:
    """A file's name relative to the log folder, whatever bytes it has on disk."""
    return os.fsencode(path.relative_to(root).as_posix()).decode("utf-8", "replace")


def _kind_of(path: Path) -> str:
    stem, ending = path.stem.lower(), path.suffix.lower()
    if ending == ".csv" and stem in FILES:
        return stem
    if ending in SHEET_FILES:
        return "book"
    return "block" if path.match("block.toml") or path.match("block-*.toml") else ""


def _athlete_of(folder: Path) -> str:
    """The id that a sub-folder's name is; disks differ in how they spell an accent."""
    return unicodedata.normalize("NFC", folder.name).strip()


def _is_unicode(name: str) -> bool:
    try:
        name.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def _listing(folder: Path, root: Path, problems: list[Problem]) -> list[Path]:
    try:
        return sorted(folder.iterdir())
    except OSError as err:
        if folder == root:
            raise
        problems.append(unreadable(shown_name(folder, root), err))
        return []


def _is_link(sub: Path, root: Path) -> bool:
    try:
        return sub.resolve() != root.resolve() / sub.name
    except (OSError, RuntimeError):
        return True


def _leaves(path: Path, folder: Path) -> bool:
    """Whether a link leads out of a folder; one that leads nowhere or in a circle does too."""
    try:
        return not path.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError):
        return True


def _stray_files(root: Path, folders: list[Path], sources: Iterable[Source]) -> list[Problem]:
    """CSV files in the log folder that are not read: of another name, or too deep."""
    sources = list(sources)
    read = {source.path for source in sources}
    logs = {root} | {source.path.parent for source in sources}
    near = [
        path
        for folder in folders
        for path in _listing(folder, root, [])
        # a folder without logs may hold anything; there only a misspelt name is looked for
        if folder in logs or difflib.get_close_matches(path.stem.lower(), list(FILES), cutoff=0.75)
    ]
    deep = [path for folder in folders[1:] for path in sorted(folder.glob("[!.]*/*"))]
    # of our own, often written beside; and files that have a problem already
    strange = [p for p in near if p.stem.lower() != "results" and not _kind_of(p)]
    names = tuple(f"{name}.csv" for name in FILES)
    problems = [
        Problem("warning", "unknown_file", shown_name(path, root), parameters={"names": names})
        for path in strange
        if _is_csv(path) and path not in read
    ]
    problems += [
        Problem("warning", "file_too_deep", shown_name(path, root))
        for path in deep
        if _is_csv(path) and path.stem.lower() in FILES
    ]
    return problems


def _is_csv(path: Path) -> bool:
    return path.suffix.lower() == ".csv" and path.is_file()
