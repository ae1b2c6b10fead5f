"""
What a page depends on, as one hash; and the record of what stands in a folder.

`run.json` tells of the last finished run. While a run goes on, each page is added to a journal
beside it, so that a run that was killed is taken up where it stopped.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import pickle
import platform
from collections.abc import Collection, Mapping, Sequence
from dataclasses import asdict, dataclass, fields, is_dataclass
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import Any

import pandas as pd

from gripbook import __version__, words
from gripbook.logs import Logs
from gripbook.logs.schema import FILES, LOG_FORMAT
from gripbook.report.bundle import VEGALITE_VERSION
from gripbook.report.run.plain import from_plain, to_plain
from gripbook.report.run.work import Facts
from gripbook.reviews import SquadReview
from gripbook.strength import NoiseScales

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


@dataclass(frozen=True, slots=True)
class Record:
    """
    One page of a folder.

    `inputs` is the hash of what the page depends on, `sha256` that of the page itself. `earlier`:
    the page failed, and what stands in its place is of an earlier run.
    """

    athlete: str
    page: str
    status: str
    reason: str = ""
    inputs: str = ""
    sha256: str = ""
    facts: Facts | None = None
    earlier: bool = False

    def to_json(self) -> dict[str, Any]:
        """As in run.json, where no load of somebody who hides body mass may stand."""
        values: dict[str, Any] = to_plain(self)
        if self.facts is not None and self.facts.private:
            values["facts"]["results"] = ""
        return values

    @classmethod
    def from_json(cls, values: dict[str, Any]) -> Record:
        """Back from run.json. Raises KeyError, TypeError or ValueError where it's no record."""
        return from_plain(cls, values)


class Manifest:
    """The records of a folder: those found, and those of this run."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._earlier: dict[str, Record] = {}
        texts: list[dict[str, Any]] = []
        self._left: set[str] = set()
        with contextlib.suppress(OSError, ValueError, KeyError, TypeError):
            before = json.loads((folder / "run.json").read_text("utf-8"))
            texts += before["pages"]
            self._left.update(map(str, before.get("left", ())))
        with contextlib.suppress(OSError):
            for line in (folder / JOURNAL).read_text("utf-8").splitlines():
                with contextlib.suppress(ValueError):  # a line half written when it was killed
                    texts.append(json.loads(line))
        for text in texts:
            with contextlib.suppress(KeyError, TypeError, ValueError, AttributeError):
                record = Record.from_json(text)
                self._earlier[record.page] = record

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
        with (self._folder / JOURNAL).open("a", encoding="utf-8") as file:
            file.write(json.dumps(record.to_json()) + "\n")

    def finish(
        self, about: Mapping[str, Any], records: list[Record], left: Sequence[str] = ()
    ) -> None:
        """Write run.json, with the pages `left` of earlier runs; the journal is done with."""
        record = {**about, "pages": [r.to_json() for r in records]}
        if left:
            record["left"] = list(left)
        text = json.dumps(record, indent=2)
        write(self._folder / "run.json", text + "\n")
        (self._folder / JOURNAL).unlink(missing_ok=True)


def write(path: Path, text: str) -> str:
    """Write aside and rename, so that nobody ever reads half a file; the SHA-256 of the bytes."""
    data = text.encode("utf-8")
    aside = path.with_name(f".{path.name}.{os.getpid()}.tmp")
    try:
        aside.write_bytes(data)
        aside.replace(path)
    except BaseException:
        aside.unlink(missing_ok=True)
        raise
    return hashlib.sha256(data).hexdigest()


def about_run(logs: Logs, block: str, noise: NoiseScales | None) -> dict[str, Any]:
    """
    What run.json says of a run as a whole: versions, the logs' hashes, rows.

    No hash of weigh-ins: a file with one or two of them could be guessed until its hash fits.
    """
    blocks = sorted({b.file for b in logs.blocks if b.file})
    inputs = {r.file: r.sha256 for r in logs.reports if r.name != "body"}
    inputs |= {f: hashlib.sha256((logs.folder / f).read_bytes()).hexdigest() for f in blocks}
    return {
        "gripbook": __version__,
        "log_format": LOG_FORMAT,
        "python": platform.python_version(),
        "packages": _versions(),
        "block": block,
        "lang": words.language(),
        "shared_noise": None if noise is None else asdict(noise),
        "inputs": dict(sorted(inputs.items())),
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
    return {name: metadata.version(name) for name in PACKAGES}


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
