"""Logs under codes in place of names: the key is kept apart."""

from __future__ import annotations

import csv
import io
import re
import secrets
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from gripbook.errors import GripbookError
from gripbook.logs.block import Block
from gripbook.logs.logs import Logs
from gripbook.logs.problem import Problem
from gripbook.logs.schema import FILES
from gripbook.writing import write_file

_HEADER = ["code", "athlete"]


def read_key(path: Path, athletes: Iterable[str]) -> dict[str, str]:
    """
    The code of each athlete, from the key file; who has none yet gets one, and the file is renewed.

    Codes are drawn by lot, so that they tell nothing of names or their order.

    Raises
    ------
    GripbookError : the file is no key, or can't be read or written.
    """
    codes: dict[str, str] = {}
    if path.exists():
        try:
            rows = list(csv.reader(io.StringIO(path.read_text("utf-8-sig"))))
        except (OSError, ValueError, csv.Error) as error:
            raise GripbookError(f"{path} can't be read as a key: {error}.") from error
        if rows[:1] != [_HEADER] or any(len(row) != len(_HEADER) for row in rows[1:]):
            raise GripbookError(
                f"{path} is no key: its first line must be {','.join(_HEADER)}, and each after it "
                "a code and an id. Name another file with --key."
            )
        codes = {athlete: code for code, athlete in rows[1:]}
        if len(set(codes.values())) < len(rows) - 1:
            raise GripbookError(f"{path} has a code or an athlete twice. Correct it.")
    new = [a for a in athletes if a not in codes]
    if new:
        taken = set(codes.values()) | set(new)  # an id may look like a code
        width = max(2, len(str(len(codes) + len(new))))
        free = (f"A{n:0{width}}" for n in range(1, 10 ** (width + 1)))
        drawn = [code for code in free if code not in taken][: len(new)]
        secrets.SystemRandom().shuffle(drawn)
        codes |= dict(zip(new, drawn, strict=True))
        out = io.StringIO()
        lines = sorted((code, athlete) for athlete, code in codes.items())
        csv.writer(out, lineterminator="\n").writerows([_HEADER, *lines])
        write_file(path, out.getvalue(), private=True)
    return codes


#: Least length of an id or a whole name, and of a part of a name, that is replaced in notes: "a"
#: and "Al" are words too.
_LEAST, _LEAST_PART = 2, 3


class Coded:
    """
    Codes in place of ids and names.

    In notes, names of blocks and words about problems every id and name of the squad is replaced
    where it stands as a word; other names stay there. Columns that the format doesn't know are left
    out. The year of birth stays: pages of minors are more careful.

    Parameters
    ----------
    logs : with ids and names.
    codes : code of each id in them.
    """

    def __init__(self, logs: Logs, codes: Mapping[str, str]) -> None:
        self._codes = dict(codes)
        known = {a: code for a, code in codes.items() if len(a) >= _LEAST}
        people = logs.athletes
        for athlete, name in zip(people["athlete"], people["name"], strict=True):
            parts = [part for part in name.split() if len(part) >= _LEAST_PART]
            for part in [name] * (len(name) >= _LEAST) + parts:
                known.setdefault(part, codes[athlete])
        self._known = {name.casefold(): code for name, code in known.items()}
        longest = sorted(known, key=len, reverse=True)
        words = "|".join(map(re.escape, longest)) or r"(?!)"
        self._pattern = re.compile(rf"(?<!\w)(?:{words})(?!\w)", re.IGNORECASE)
        self._logs = logs

    def text(self, text: str) -> str:
        """A text with codes in it."""
        return self._pattern.sub(lambda m: self._known.get(m.group().casefold(), "?"), text)

    def file(self, file: str) -> str:
        """A file of the logs, whose folder may be an athlete's id."""
        folder, slash, name = file.partition("/")
        return self._codes.get(folder, folder) + slash + name if slash else file

    def logs(self) -> Logs:
        """The logs with codes; files on disk, and so `folder` and the blocks', keep their names."""
        frames = {}
        for kind in FILES.values():
            frame = self._logs.frame(kind.name).copy()
            changes: dict[str, Callable[[str], str]] = {
                **{c.name: self.text for c in kind.columns if c.kind == "text"},
                "athlete": self._codes.__getitem__,
                "file": self.file,
            }
            for column, change in changes.items():
                frame[column] = frame[column].map(change).astype(frame[column].dtype)
            frames[kind.name] = frame
        frames["athletes"]["name"] = frames["athletes"]["athlete"]
        return replace(
            self._logs,
            **frames,
            blocks=tuple(map(self._block, self._logs.blocks)),
            problems=tuple(map(self._problem, self._logs.problems)),
            extra={},
            _places={},
        )

    def _problem(self, problem: Problem) -> Problem:
        return replace(
            problem,
            athlete=self._codes.get(problem.athlete, ""),
            file=self.file(problem.file),
            value=self.text(problem.value),
            parameters={k: self._anything(v) for k, v in problem.parameters.items()},
        )

    def _anything(self, value: Any) -> Any:
        if isinstance(value, tuple):
            return tuple(map(self._anything, value))
        return self.text(value) if isinstance(value, str) else value

    def _block(self, block: Block) -> Block:
        # of who isn't in the logs there is no code, and no page
        return replace(
            block,
            name=self.text(block.name),
            athletes=tuple(self._codes.get(a, "?") for a in block.athletes),
            overrides={self._codes.get(a, "?"): v for a, v in block.overrides.items()},
        )
