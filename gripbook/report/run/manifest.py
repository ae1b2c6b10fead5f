"""
What a page depends on, as one hash; and the record of what stands in a folder.

`run.json` tells of the last finished run. While a run goes on, each page is added to a journal
beside it, so that a run that was killed is taken up where it stopped. The hashes stand in a file of
their own, for its owner alone, since `run.json` may be passed on: who knows all of a log but body
mass could try masses until a hash fits.
"""

from __future__ import annotations

import hashlib
import json
import os
import pickle
import platform
from collections.abc import Callable, Collection, Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass, fields, is_dataclass, replace
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import Any

import pandas as pd

from gripbook import __version__, words
from gripbook.logs import Logs
from gripbook.logs.logs import DATED
from gripbook.logs.schema import FILES, LOG_FORMAT
from gripbook.report.bundle import VEGALITE_VERSION
from gripbook.report.run.plain import from_plain, to_plain
from gripbook.report.run.work import Facts
from gripbook.reviews import SquadReview
from gripbook.strength import NoiseScales
from gripbook.writing import not_written, write_file

#: Distributions whose version can change a page.
PACKAGES = (
    "altair",
    "ipython",
    "nbconvert",
    "numpy",
    "pandas",
    "papermill",
    "scipy",
    "vl-convert-python",
)
JOURNAL = ".run.jsonl"
INPUTS = ".run.inputs"


@dataclass(frozen=True, slots=True)
class Record:
    """
    One page of a folder.

    `inputs` is the hash of what the page depends on, `sha256` that of the page itself. `earlier`:
    the page failed, and what stands in its place is of an earlier run. `days`: hashes of the
    athlete's first days, by which two logs are told apart.
    """

    athlete: str
    page: str
    status: str
    reason: str = ""
    inputs: str = ""
    sha256: str = ""
    facts: Facts | None = None
    earlier: bool = False
    days: tuple[str, ...] = ()

    def to_json(self, *, inputs: bool) -> dict[str, Any]:
        """As in run.json, where no load of somebody who hides body mass may stand, nor `inputs`."""
        values: dict[str, Any] = to_plain(self)
        if not inputs:
            del values["inputs"]
        if self.facts is not None and self.facts.private:
            values["facts"]["results"] = ""
        return values

    @classmethod
    def from_json(cls, values: dict[str, Any]) -> Record:
        """Back from run.json. Raises KeyError, TypeError or ValueError where it's no record."""
        return from_plain(cls, values)


#: What a file that isn't a record of ours may raise when it is read.
_DAMAGED = (
    OSError,
    ValueError,
    KeyError,
    TypeError,
    AttributeError,
    RecursionError,
    OverflowError,
)


class Manifest:
    """
    The records of a folder: those found, and those of this run.

    A record that can't be read is set aside under another name; `notes` say so. `private`: what is
    written is for its owner alone.
    """

    def __init__(self, folder: Path, *, private: bool = True) -> None:
        self._folder = folder
        self._private = private
        self._earlier: dict[str, Record] = {}
        self._left: set[str] = set()
        self.notes: list[str] = []
        for name, read in (
            ("run.json", self._read_run),
            (INPUTS, self._read_inputs),
            (JOURNAL, self._read_journal),
        ):
            path = folder / name
            if not os.path.lexists(path):
                continue
            try:
                if not path.is_file():
                    raise ValueError("no regular file")
                read(path)
            except _DAMAGED as error:
                self._set_aside(path, error)

    def _read_run(self, path: Path) -> None:
        before = json.loads(path.read_text("utf-8"))
        if not isinstance(before, dict) or not isinstance(before["pages"], list):
            raise TypeError("no record of a run")
        left = before.get("left", [])
        if not isinstance(left, list):
            raise TypeError("no list of pages")
        self._left.update(page for page in left if isinstance(page, str))
        self._take(before["pages"])

    def _read_inputs(self, path: Path) -> None:
        for page, inputs in json.loads(path.read_text("utf-8")).items():
            if not isinstance(inputs, str):
                raise TypeError("no hash")
            if page in self._earlier:
                self._earlier[page] = replace(self._earlier[page], inputs=inputs)

    def _read_journal(self, path: Path) -> None:
        whole, _, half = path.read_bytes().rpartition(b"\n")
        if half:  # a line half written when it was killed: the next must not be added to it
            write_file(path, whole + b"\n" if whole else b"", private=True)
        self._take(whole.splitlines())

    def _take(self, texts: Sequence[Any]) -> None:
        """Take over every record that is one; raises after the last what the first bad one did."""
        damaged: Exception | None = None
        for text in texts:
            try:
                record = Record.from_json(json.loads(text) if isinstance(text, bytes) else text)
                self._earlier[record.page] = record
            except _DAMAGED as error:
                damaged = damaged or error
        if damaged is not None:
            raise damaged

    def _set_aside(self, path: Path, error: Exception) -> None:
        aside = path.with_name(path.name.lstrip(".") + ".unreadable")
        reason = type(error).__name__
        if isinstance(error, UnicodeDecodeError):
            reason = "a byte in it is no text"
        elif isinstance(error, RecursionError):
            reason = "it is nested too deep"
        elif isinstance(error, OSError):
            reason = error.strerror or reason
        else:
            reason = "it is not what a run writes"
        try:
            path.replace(aside)
        except OSError as failed:
            raise not_written(aside, failed) from failed
        self.notes.append(
            f"{path} could not be read ({reason}) and is now {aside.name}. Pages that only it knew "
            "are made again."
        )

    @property
    def earlier(self) -> Mapping[str, Record]:
        """The records found, by page."""
        return self._earlier

    def standing(self, page: str, inputs: str) -> Record | None:
        """The record of a page that stands in the folder unchanged and needs no new making."""
        record = self._earlier.get(page)
        if record is None or record.status != "rendered" or record.inputs != inputs:
            return None
        try:
            sha256 = hashlib.sha256((self._folder / page).read_bytes()).hexdigest()
        except OSError:
            return None
        return record if sha256 == record.sha256 else None

    def left(self, names: Collection[str]) -> list[str]:
        """Pages of earlier runs that stand in the folder and that no athlete has any more."""
        old = sorted({*self._left, *self._earlier} - set(names))
        return [page for page in old if Path(page).name == page and (self._folder / page).is_file()]

    def add(self, record: Record) -> None:
        """Put a page on record at once."""
        path = self._folder / JOURNAL
        line = json.dumps(record.to_json(inputs=True)) + "\n"
        flags = os.O_WRONLY | os.O_CREAT | os.O_APPEND
        try:
            handle = os.open(path, flags, 0o600)
            with os.fdopen(handle, "a", encoding="utf-8", newline="\n") as file:
                file.write(line)
        except OSError as error:
            raise not_written(path, error) from error

    def finish(
        self, about: Mapping[str, Any], records: list[Record], left: Sequence[str] = ()
    ) -> None:
        """Write run.json, with the pages `left` of earlier runs; the journal is done with."""
        record = {**about, "pages": [r.to_json(inputs=False) for r in records]}
        if left:
            record["left"] = list(left)
        text = json.dumps(record, indent=2)
        inputs = json.dumps({r.page: r.inputs for r in records}, indent=2)
        write_file(self._folder / INPUTS, inputs + "\n", private=True)
        write_file(self._folder / "run.json", text + "\n", private=self._private)
        (self._folder / JOURNAL).unlink(missing_ok=True)


def about_run(
    logs: Logs, block: str, noise: NoiseScales | None, name: Callable[[str], str] = str
) -> dict[str, Any]:
    """
    What run.json says of a run as a whole: versions, the logs' hashes, rows.

    `name` gives what a file of the logs is called there. No hash of what may hold body mass, the
    weigh-ins and readings of a scale that somebody stands on: who knows the rest of such a file
    could try masses until its hash fits.
    """
    weighed = set(logs.hangs.loc[logs.hangs[["stand_kg", "scale_kg"]].notna().any(axis=1), "file"])
    blocks = sorted({b.file for b in logs.blocks if b.file})
    inputs = {r.file: r.sha256 for r in logs.reports if r.name != "body" and r.file not in weighed}
    inputs |= {f: hashlib.sha256((logs.folder / f).read_bytes()).hexdigest() for f in blocks}
    return {
        "gripbook": __version__,
        "log_format": LOG_FORMAT,
        "python": platform.python_version(),
        "packages": _versions(),
        "block": block,
        "lang": words.language(),
        "shared_noise": None if noise is None else asdict(noise),
        "inputs": {name(file): inputs[file] for file in sorted(inputs)},
        "rows": {
            "read": sum(r.rows_read for r in logs.reports),
            "used": sum(r.rows_used for r in logs.reports),
            "refused": sum(r.rows_refused for r in logs.reports),
        },
    }


class LogHashes:
    """Hashes of every row of the logs, worked out once for all athletes."""

    def __init__(self, logs: Logs) -> None:
        self._logs = logs
        self._rows = {
            name: pd.util.hash_pandas_object(frame, index=False).to_numpy()
            for name in FILES
            for frame in (logs.frame(name),)
            if len(frame)
        }

    def of(self, athlete: str) -> bytes:
        """Hash of the athlete's rows in all files, their columns with them."""
        digest = hashlib.sha256()
        for name in FILES:
            places = self._logs.places(name, athlete)
            digest.update(f"{name} {list(self._logs.frame(name).columns)} {len(places)}".encode())
            if len(places):
                digest.update(self._rows[name][places].tobytes())
        return digest.digest()


#: So many first days of an athlete tell logs apart.
_FIRST_DAYS = 3
#: Least share of the athletes of two logs with a first day in common, where both are the same
#: log at two times. Rows get corrected, the first days of a whole squad don't.
_SAME_LOGS = 0.25
#: What of a row names no day of training, or could lead to a body mass.
_NOT_HASHED = ("file", "line", "added_kg", "scale_kg", "stand_kg", "note")


def first_days(logs: Logs) -> tuple[str, ...]:
    """
    Hashes of an athlete's first days: they stay when the log grows, is moved or corrected later.

    `logs` is the athlete's slice. No mass goes into them, since a day's few rows could be guessed.
    """
    for name in (n for n in DATED if n != "body"):
        frame = logs.frame(name)
        if len(frame):
            break
    else:
        return ()
    days = sorted(set(frame["date"]))[:_FIRST_DAYS]
    part = frame[frame["date"] <= days[-1]]
    rows = pd.util.hash_pandas_object(
        part.drop(columns=[c for c in _NOT_HASHED if c in part]), index=False
    ).to_numpy()
    dates = part["date"].to_numpy()
    return tuple(
        hashlib.sha256(f"{name} {day}".encode() + rows[dates == day].tobytes()).hexdigest()[:16]
        for day in map(pd.Timestamp.to_datetime64, days)
    )


def are_other_logs(earlier: Mapping[str, Record], days: Mapping[str, tuple[str, ...]]) -> bool:
    """
    Whether the records of a folder are of other logs than those at hand.

    Parameters
    ----------
    earlier : records found, by page.
    days : `first_days` of each athlete of the logs at hand.
    """
    known = {r.athlete: set(r.days) for r in earlier.values() if r.days}
    both = [a for a in known if a in days]
    alike = sum(bool(known[a].intersection(days[a])) for a in both)
    return bool(known) and (not both or alike < _SAME_LOGS * len(both))


def athlete_inputs(logs: Logs, rows: bytes, notebook: str, block: str, noise: Any) -> str:
    """
    Hash of what an athlete's page depends on.

    `logs` is the athlete's slice, `rows` the hash of its rows as `LogHashes` gives it.
    """
    digest = hashlib.sha256(source_hash().encode() + rows)
    # of the future only the day of printing knows, and pages don't tell
    problems = [p for p in logs.problems if p.code != "future_date"]
    shared = "" if noise is None else pickle.dumps(noise, protocol=5).hex()
    for part in (notebook, block, words.language(), shared, _text(logs.blocks), _text(problems)):
        digest.update(part.encode() + b"\0")
    return digest.hexdigest()


def _text(value: Any) -> str:
    """`repr`, but the same in every process: sets and mappings have no order of their own."""
    if is_dataclass(value) and not isinstance(value, type):
        value = {f.name: getattr(value, f.name) for f in fields(value)}
    if isinstance(value, Mapping):
        return "{" + ", ".join(sorted(f"{_text(k)}: {_text(v)}" for k, v in value.items())) + "}"
    if isinstance(value, set | frozenset):
        return "{" + ", ".join(sorted(map(_text, value))) + "}"
    if isinstance(value, list | tuple):
        return "(" + ", ".join(map(_text, value)) + ")"
    return repr(value)


def squad_inputs(squad: SquadReview, notebook: str) -> str:
    """Hash of what the squad's page depends on."""
    shown = (squad.name, squad.last, squad.unplaced, squad.rows, squad.ids)
    text = "\0".join(map(str, (source_hash(), notebook, words.language(), *shown)))
    return hashlib.sha256(text.encode()).hexdigest()


def _versions() -> dict[str, str]:
    found = {}
    for name in PACKAGES:
        with suppress(metadata.PackageNotFoundError):  # of an extra
            found[name] = metadata.version(name)
    return found


@cache
def source_hash() -> str:
    """Hash of this package's files and of the libraries' versions: either may change a page."""
    root = Path(__file__).resolve().parents[2]
    digest = hashlib.sha256()
    for path in sorted(root.rglob("*")):
        if path.is_file() and path.suffix in (".py", ".j2", ".css", ".js", ".json", ".mo"):
            digest.update(path.relative_to(root).as_posix().encode() + b"\0" + path.read_bytes())
    python = platform.python_version_tuple()[:2]
    digest.update(repr((python, VEGALITE_VERSION, _versions())).encode())
    return digest.hexdigest()
