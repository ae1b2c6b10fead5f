"""`adopt`: spreadsheets and a map to the files of a log folder."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from gripbook.errors import GripbookError
from gripbook.logs.adopt.guess import guess
from gripbook.logs.adopt.ledger import LEDGER, Conflict, ledger_text, sort_rows
from gripbook.logs.adopt.map_file import Map, Question, map_text, read_map
from gripbook.logs.adopt.take import Outcome, take
from gripbook.logs.append import append_rows
from gripbook.logs.canonical import Reading
from gripbook.logs.spreadsheet import Sheet, read_sheets
from gripbook.writing import make_folder, write_file


@dataclass(frozen=True, slots=True)
class Adoption:
    """
    What adopting some spreadsheets did.

    `drafted`: the map was made just now. While there are `questions` nothing is written; else
    `added` rows of the log were, `known` stood there, and `conflicts` were left out.
    """

    map_path: Path
    made: Map
    drafted: bool
    sheets: Sequence[Sheet]
    outcome: Outcome
    questions: Sequence[Question]
    added: int = 0
    known: int = 0
    conflicts: Sequence[Conflict] = ()
    written: Sequence[Path] = field(default_factory=tuple)

    @property
    def settled(self) -> bool:
        """Whether no question and no conflict is left."""
        return not self.questions and not self.conflicts


def adopt(
    files: Sequence[Path],
    folder: Path,
    *,
    map_path: Path | None = None,
    reading: Reading | None = None,
) -> Adoption:
    """
    Take the rows of spreadsheets into a log folder, by a map.

    The first run drafts the map; the same call then writes, and again when the spreadsheet has
    grown: rows taken before are recognised, nothing is overwritten.

    Parameters
    ----------
    files : .csv, .xlsx or .ods.
    folder : the log folder, made where missing.
    map_path : default: `map.toml` in the folder.

    Raises
    ------
    GripbookError : a file or the map can't be read.
    """
    twice = [name for name, n in Counter(f.name for f in files).items() if n > 1]
    if twice:
        raise GripbookError(
            f"Two files are called {twice[0]}. Rename one: the map tells them by name."
        )
    path = map_path or folder / "map.toml"
    reading = reading or Reading()
    sheets = [sheet for file in files for sheet in read_sheets(file)]
    drafted = not path.exists()
    if drafted:
        made = guess(sheets, reading)
        if not made.sheets:
            raise GripbookError(
                f"No table with a header was seen in {', '.join(f.name for f in files)}. "
                "Put the names of the columns into one row, above the first set."
            )
        make_folder(path.parent)
        write_file(path, map_text(made))
    else:
        made = read_map(path)
    reading = Reading(made.order or reading.order, reading.grips, reading.today)
    outcome = take(sheets, made, reading)
    questions = made.questions()
    if drafted or questions:  # a guess is seen before it is written
        return Adoption(path, made, drafted, sheets, outcome, questions)
    parted = sort_rows(outcome.rows, folder)
    written: list[Path] = []
    if parted.new:
        written = append_rows(folder, [(row.file, row.cells) for row in parted.new])
    text = ledger_text(parted.ledger)
    ledger = folder / LEDGER
    if not ledger.exists() or ledger.read_bytes() != text.encode():
        make_folder(folder)
        write_file(ledger, text)
    return Adoption(
        path,
        made,
        drafted,
        sheets,
        outcome,
        (),
        len(parted.new),
        parted.known,
        parted.conflicts,
        written,
    )
