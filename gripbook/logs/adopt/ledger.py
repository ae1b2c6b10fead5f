"""What was taken from a spreadsheet before, so that the same row isn't taken twice."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, NamedTuple

from gripbook.errors import GripbookError
from gripbook.logs.adopt.take import Taken
from gripbook.logs.append import Key, rows_there

#: The file that remembers, in the log folder.
LEDGER: Final = ".adopted.json"


class Conflict(NamedTuple):
    """A row of a sheet that may be a changed one: where it stands, what was taken, and itself."""

    place: str
    file: str
    held: Key
    given: Key


@dataclass(frozen=True, slots=True)
class Sorted:
    """New rows to append, how many stood there already, and days on which the two disagree."""

    new: Sequence[Taken]
    known: int
    conflicts: Sequence[Conflict]
    ledger: Mapping[tuple[str, Key], int]


def read_ledger(folder: Path) -> dict[tuple[str, Key], int]:
    """
    How often each row of each sheet was taken.

    Raises
    ------
    GripbookError : the file was damaged.
    """
    path = folder / LEDGER
    if not path.exists():
        return {}
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        return {
            (sheet, (file, tuple((str(k), str(v)) for k, v in cells))): int(count)
            for sheet, file, cells, count in data["rows"]
        }
    except (OSError, ValueError, KeyError, TypeError) as err:
        raise GripbookError(
            f"{path} can't be read ({err}). Delete it: rows that stand in the log are recognised "
            "without it, unless you changed them there."
        ) from err


def ledger_text(ledger: Mapping[tuple[str, Key], int]) -> str:
    """The ledger as a file, one row a line, the same whatever the order of taking."""
    rows = sorted(
        [sheet, key[0], [list(c) for c in key[1]], n] for (sheet, key), n in ledger.items()
    )
    lines = ",\n".join(json.dumps(row, ensure_ascii=False) for row in rows)
    return '{"rows": [\n' + lines + "\n]}\n"


def sort_rows(rows: Sequence[Taken], folder: Path) -> Sorted:
    """
    Part rows into new ones, known ones and those that contradict what was taken before.

    A row that was taken before and stands no longer in its sheet was changed there. New rows of
    that athlete's day are not taken then, since one of them is the changed one.
    """
    before = read_ledger(folder)
    now = Counter((row.sheet, row.key) for row in rows)
    here = {row.sheet for row in rows}
    gone: dict[tuple[str, str, str, str], list[Key]] = {}
    for (sheet, key), count in before.items():
        if sheet in here and now[sheet, key] < count:
            gone.setdefault((sheet, *_day(key)), []).append(key)
    stands = rows_there(folder)
    spare = Counter(stands)  # rows of the log that no row of the ledger accounts for
    for (_, key), count in before.items():
        spare[key] = max(0, spare[key] - count)
    left = Counter(before)
    ledger = dict(before)
    new: list[Taken] = []
    conflicts: list[Conflict] = []
    known = 0
    for row in rows:
        entry = row.sheet, row.key
        if left[entry] > 0:
            left[entry] -= 1
            known += 1
            continue
        changed = gone.get((row.sheet, *_day(row.key)))
        if changed:
            place = f"{row.sheet}:{row.row}"
            conflicts.append(Conflict(place, row.file, changed[0], row.key))
            continue
        ledger[entry] = ledger.get(entry, 0) + 1
        if spare[row.key] > 0:
            spare[row.key] -= 1
            known += 1
        else:
            new.append(row)
    return Sorted(new, known, conflicts, ledger)


def _day(key: Key) -> tuple[str, str, str]:
    cells = dict(key[1])
    return key[0], cells.get("athlete", ""), cells.get("date", "")
