"""Reviews made once a process for the same log files: tests look at them and change nothing."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from gripbook.explore import Explorer, explorer_of
from gripbook.logs import Logs, load_logs
from gripbook.reviews import BlockReview, SquadReview, review, review_squad

DEMO = Path(__file__).parents[1] / "data_demo"


class _Folder:
    """A log folder, equal to another that holds the same files; a changed one is another."""

    def __init__(self, path: Path) -> None:
        self.path = path
        files = sorted(p for p in path.rglob("*") if p.is_file())
        self.held = (path.name, *((str(p.relative_to(path)), p.read_bytes()) for p in files))

    def __hash__(self) -> int:
        return hash(self.held)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Folder) and self.held == other.held


@lru_cache(100)
def _logs(folder: _Folder) -> Logs:
    return load_logs(folder.path)


@lru_cache(100)
def _review(folder: _Folder, athlete: str, block: str) -> BlockReview:
    return review(_logs(folder), athlete, block)


@lru_cache(20)
def _squad(folder: _Folder) -> SquadReview:
    return review_squad(_logs(folder))


@lru_cache(40)
def _explorer(folder: _Folder, athlete: str) -> Explorer:
    return explorer_of(_logs(folder), athlete)


def reviewed(folder: Path, athlete: str = "", block: str = "") -> BlockReview:
    """`review` of a folder's logs."""
    return _review(_Folder(folder), athlete, block)


def reviewed_squad(folder: Path) -> SquadReview:
    """`review_squad` of a folder's logs."""
    return _squad(_Folder(folder))


def explored(folder: Path, athlete: str) -> Explorer:
    """`explorer_of` a folder's logs."""
    return _explorer(_Folder(folder), athlete)
