"""Which files of a log folder are read, for whom each may speak, and which are not and why."""

from __future__ import annotations

import difflib
import os
import unicodedata
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

from gripbook.logs.problem import Problem
from gripbook.logs.schema import FILES
from gripbook.words import say


class Source(NamedTuple):
    """
    One file to read.

    `file` is its name for messages, relative to the log folder; `kind` its name in the format or
    "block"; `athlete` the one it speaks for, "" at the top.
    """

    path: Path
    file: str
    kind: str
    athlete: str


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
            problems.append(
                _refused(
                    "folder_name",
                    file,
                    say("has a name that is no UTF-8, so nothing in it was read."),
                    say("Rename the folder."),
                )
            )
        elif _is_link(sub, root):
            problems.append(_link(file))
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
                problems.append(_link(file))
            elif path.is_file():
                here.append(Source(path, file, kind, athlete))
        # a folder without logs may hold anything
        if folder == root or any(source.kind in FILES for source in here):
            sources += here
    return sources, problems + _stray_files(root, [f for f, _ in folders], sources)


def shown_name(path: Path, root: Path) -> str:
    """A file's name relative to the log folder, whatever bytes it has on disk."""
    return os.fsencode(path.relative_to(root).as_posix()).decode("utf-8", "replace")


def _kind_of(path: Path) -> str:
    stem, ending = path.stem.lower(), path.suffix.lower()
    if ending == ".csv" and stem in FILES:
        return stem
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


def _refused(code: str, file: str, reason: str, remedy: str) -> Problem:
    return Problem("error", code, file, 0, "", "", reason, remedy)


def _link(file: str) -> Problem:
    return _refused(
        "link",
        file,
        say("is a link out of its folder, or to nothing, and was not read."),
        say("Put a copy of the file there instead."),
    )


def unreadable(file: str, err: OSError) -> Problem:
    """What is told of a file that the system doesn't give."""
    return _refused(
        "unreadable",
        file,
        say("can't be read: {error}.", error=err.strerror or type(err).__name__),
        say("Check the file and who may read it."),
    )


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
    names = ", ".join(f"{n}.csv" for n in FILES)
    found: list[Problem] = []
    for paths, reason, remedy in (
        (
            # of our own, often written beside; and files told already
            [p for p in near if p.stem.lower() != "results" and not _kind_of(p)],
            say("is no file of the log format and was not read."),
            say("Rename it if it was meant to be one: {names}.", names=names),
        ),
        (
            [p for p in deep if p.stem.lower() in FILES],
            say("lies too deep and was not read."),
            say(
                "Put it at the top of the log folder, or into a sub-folder named after the athlete."
            ),
        ),
    ):
        for path in paths:
            if path.suffix.lower() == ".csv" and path not in read and path.is_file():
                file = shown_name(path, root)
                found.append(Problem("warning", "unknown_file", file, 0, "", "", reason, remedy))
    return found
