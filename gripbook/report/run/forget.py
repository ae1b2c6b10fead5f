"""Take one athlete out of a folder of pages."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

from gripbook.errors import GripbookError
from gripbook.report.names import page_names
from gripbook.report.run.lock import folder_lock
from gripbook.report.run.manifest import INPUTS, JOURNAL, Manifest
from gripbook.report.run.pdf import pdf_of
from gripbook.writing import clear_asides, not_written, write_file


def forget(athlete: str, folder: Path) -> list[str]:
    """
    Remove an athlete's pages and lines, and the squad page, which names everybody.

    Returns
    -------
    What was removed, in words.

    Raises
    ------
    GripbookError : nothing of such an athlete is in the folder; names those who are.
    FolderHeldError : a run is at work there.
    NotWrittenError : a file can't be removed or written anew.
    """
    with folder_lock(folder):
        clear_asides(folder, folder / "failed")
        records = Manifest(folder).earlier.values()
        pages = {r.page for r in records if r.athlete == athlete}
        others = {r.page for r in records if r.athlete != athlete}
        usual = page_names([athlete])[athlete]
        if usual not in others:  # a page of a run that is no longer on record
            pages.add(usual)
        removed = _unlinked([file for page in sorted(pages) for file in _files(folder, page)])
        removed += _lines_removed(folder / "results.csv", athlete)
        for name in ("run.json", JOURNAL):
            removed += _records_removed(folder / name, athlete, pages)
        if not removed:
            known = sorted({r.athlete for r in records} - {""})
            raise GripbookError(
                f"Nothing of {athlete!r} is in {folder}. Athletes there: "
                f"{', '.join(known) or 'none'}."
            )
        _inputs_removed(folder / INPUTS, {*pages, "index.html"})
        index = folder / "index.html"
        removed += _unlinked([index, pdf_of(index), pdf_of(index, full=True)])
    return removed


def _files(folder: Path, page: str) -> list[Path]:
    """Every file that belongs to a page."""
    of = folder / Path(page).name  # whatever a record says, nothing outside the folder
    left = folder / "failed" / of.stem
    endings = [left.with_name(left.name + ending) for ending in (".ipynb", ".py")]
    return [of, pdf_of(of), pdf_of(of, full=True), *endings]


def _unlinked(files: list[Path]) -> list[str]:
    removed = []
    for file in files:
        try:
            file.unlink()
        except FileNotFoundError:
            continue
        except OSError as error:
            raise not_written(file, error) from error
        removed.append(str(file))
    return removed


def _lines_removed(path: Path, athlete: str) -> list[str]:
    """Take an athlete's rows out of results.csv."""
    if not path.is_file():
        return []
    rows = list(csv.reader(io.StringIO(path.read_text("utf-8"), newline="")))
    column = rows[0].index("athlete") if rows and "athlete" in rows[0] else None
    if column is None:
        return []
    # text that a spreadsheet would take for a formula has an apostrophe before it
    theirs = {athlete, f"'{athlete}"}
    kept = [row for row in rows if len(row) <= column or row[column] not in theirs]
    if len(kept) == len(rows):
        return []
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(kept)
    write_file(path, out.getvalue())
    return [f"{len(rows) - len(kept)} lines of {path}"]


def _inputs_removed(path: Path, pages: set[str]) -> None:
    """Take the hashes of pages that are gone out of the file that holds them."""
    if path.is_file():
        inputs = json.loads(path.read_text("utf-8"))
        kept = {page: of for page, of in inputs.items() if page not in pages}
        write_file(path, json.dumps(kept, indent=2) + "\n", private=True)


def _records_removed(path: Path, athlete: str, pages: set[str]) -> list[str]:
    """Take an athlete's records, and names of files in the athlete's folder, out of a record."""
    if not path.is_file():
        return []
    text = path.read_text("utf-8")
    if path.name == JOURNAL:
        lines = text.splitlines()
        kept = [line for line in lines if json.loads(line)["athlete"] != athlete]
        if len(kept) < len(lines):
            write_file(path, "".join(f"{line}\n" for line in kept))
            return [f"{len(lines) - len(kept)} records of {path}"]
        return []
    run = json.loads(text)
    before = json.dumps(run)
    # the squad page is gone too; its record would speak of a page that isn't there
    gone = {*pages, "index.html"}
    run["pages"] = [r for r in run["pages"] if r["athlete"] != athlete and r["page"] not in gone]
    inputs = run.get("inputs", {})
    run["inputs"] = {k: v for k, v in inputs.items() if k.split("/")[0] != athlete}
    if "left" in run:
        run["left"] = [page for page in run["left"] if page not in pages]
    if f'"{athlete}"' not in before and not any(f'"{p}"' in before for p in pages):
        return []
    write_file(path, json.dumps(run, indent=2) + "\n")
    return [f"what {path} says of {athlete}"]
