"""What a reader of a run's files can take from them about one athlete."""

from __future__ import annotations

import base64
import gzip
import html
import json
import re
import shutil
import subprocess
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pandas as pd

_NUMBER = r"[+\-\u2212]?\d+(?:\.\d+)?"
_RANGE = re.compile(rf"({_NUMBER})(?:\s*(?:kg|lb|%))? to ({_NUMBER})(?:\s*(kg|lb|%))?")
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
#: Names of fields that count or place, and so are no measured quantity.
_COUNTS = {"week", "line", "sets", "order", "rank", "days", "n", "session"}


@dataclass(frozen=True, slots=True)
class Range:
    """A range found in a table or a sentence: where, its ends, and its unit (`kg`, `lb`, `%`)."""

    where: str
    low: float
    high: float
    unit: str


@dataclass(frozen=True, slots=True)
class Seen:
    """
    Everything numeric about one athlete's sets.

    `weights`: frames of sets with `day`, `kg`, `edge_mm`, `series`, `ended`, `sets`, and `place`
    (position among the series' sets of the day). `figures`: every other column of numbers by day
    in any data of any chart, with its name: `day`, `kg`, `kind`, `place`.
    `ranges`, `exponents`: from tables and sentences. `text`: all words of all files.
    """

    weights: list[pd.DataFrame] = field(default_factory=list)
    figures: list[tuple[str, pd.DataFrame]] = field(default_factory=list)
    ranges: list[Range] = field(default_factory=list)
    exponents: list[float] = field(default_factory=list)
    text: str = ""


def collect(folder: Path, athlete: str) -> Seen:
    """
    Read the athlete's page, their row of the squad page, run.json and the PDF's text.

    Parameters
    ----------
    folder : what `gripbook report` wrote.
    athlete : their id, which names the page.
    """
    page = (folder / f"{athlete}.html").read_text(encoding="utf-8")
    seen = Seen(text=_words(page))
    texts = [seen.text]
    for rows in _row_lists(page):
        _take(seen, rows)
    seen.ranges.extend(_table_ranges(page))
    index = folder / "index.html"
    if index.exists():
        squad = index.read_text(encoding="utf-8")
        seen.ranges.extend(_table_ranges(squad, athlete))
        texts.append(_words(squad))
    run = folder / "run.json"
    if run.exists():
        told = json.loads(run.read_text(encoding="utf-8"))
        texts.append(json.dumps(_of_athlete(told, athlete)))
        for rows in _lists_in(_of_athlete(told, athlete)):
            _take(seen, rows)
    pdf = folder / f"{athlete}.pdf"
    if pdf.exists() and shutil.which("pdftotext"):
        made = subprocess.run(["pdftotext", "-layout", str(pdf), "-"], capture_output=True)
        texts.append(made.stdout.decode("utf-8", "replace"))
    for text in (texts[0], *texts[2:]):  # the squad's sentences are of many athletes
        seen.ranges.extend(_ranges(text, "sentence"))
        seen.exponents.extend(float(x) for x in re.findall(r"power of (\d\.\d+)", text))
    return seen


def _of_athlete(told: Any, athlete: str) -> Any:
    """The parts of a JSON document under the athlete's id, or naming it."""
    if isinstance(told, dict):
        if athlete in told:
            return told[athlete]
        return {k: found for k, v in told.items() if (found := _of_athlete(v, athlete))}
    if isinstance(told, list):
        own = [x for x in told if isinstance(x, dict) and athlete in x.values()]
        return own or [found for x in told if (found := _of_athlete(x, athlete))]
    return None


def _scripts(page: str) -> Iterator[str]:
    """The text of every script that holds data, packed or not."""
    for kind, body in re.findall(
        r'<script type="application/([^"]+)"[^>]*>(.*?)</script>', page, re.S
    ):
        if "gzip" in kind:
            try:
                yield gzip.decompress(base64.b64decode(body)).decode("utf-8")
            except (ValueError, OSError):
                continue
        elif body.strip():
            yield body


def _row_lists(page: str) -> Iterator[list[dict[str, Any]]]:
    for text in _scripts(page):
        try:
            yield from _lists_in(json.loads(text))
        except ValueError:
            continue


def _lists_in(value: Any) -> Iterator[list[dict[str, Any]]]:
    """Every list of records in a JSON document, also in texts that hold JSON or CSV."""
    if isinstance(value, list):
        if value and all(isinstance(x, dict) for x in value):
            yield value
        for x in value:
            yield from _lists_in(x)
    elif isinstance(value, dict):
        for x in value.values():
            yield from _lists_in(x)
    elif isinstance(value, str) and value[:1] in "[{":
        try:
            yield from _lists_in(json.loads(value))
        except ValueError:
            return


def _take(seen: Seen, rows: list[dict[str, Any]]) -> None:
    frame = pd.DataFrame(rows)
    day = next(
        (c for c in ("day", "date") if c in frame and frame[c].astype(str).str.match(_DAY).all()),
        None,
    )
    if day is None:
        return
    days = frame[day].astype(str).str[:10]
    numbers = [
        c
        for c in frame.columns
        if c not in _COUNTS and pd.api.types.is_numeric_dtype(frame[c]) and frame[c].dtype != bool
    ]
    if "edge" in frame and numbers:
        edge = frame["edge"].astype(str).str.extract(r"(\d+(?:\.\d+)?)")[0].astype(float)
        series = frame["series"] if "series" in frame else pd.Series("", index=frame.index)
        seen.weights.append(
            pd.DataFrame(
                {
                    "day": days,
                    "kg": frame[numbers[0]].astype(float),
                    "edge_mm": edge,
                    "series": series.astype(str),
                    "ended": frame["ended"].astype(str) if "ended" in frame else "",
                    "sets": frame.get("sets", 1),
                    "place": days.groupby([days, series.astype(str)]).cumcount(),
                }
            )
        )
        return
    for c in numbers:
        own = pd.DataFrame({"day": days, "kg": frame[c].astype(float)})
        own["kind"] = frame["kind"].astype(str) if "kind" in frame else ""
        own["place"] = days.groupby(days).cumcount()
        seen.figures.append((c, own.dropna()))


class _Tables(HTMLParser):
    """The cells of each table with their column's heading."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.heads: list[str] = []
        self.found: list[tuple[list[str], list[str]]] = []
        self._cell: list[str] | None = None
        self._kind = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "table":
            self.heads = []
        elif tag == "tr":
            self.rows.append([])
        elif tag in ("td", "th"):
            self._cell, self._kind = [], tag

    def handle_data(self, data: str) -> None:
        if self._cell is not None:
            self._cell.append(data)

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th") and self._cell is not None:
            text = " ".join(" ".join(self._cell).split())
            self.rows[-1].append(text)
            self._cell = None
        elif tag == "thead" and self.rows:
            self.heads = self.rows[-1]
        elif tag == "tr" and self.rows and self.heads:
            self.found.append((self.heads, self.rows[-1]))


def _table_ranges(page: str, athlete: str = "") -> Iterable[Range]:
    """Ranges in table rows; with `athlete`, in the rows that link to or name them."""
    reader = _Tables()
    reader.feed(page)
    for heads, cells in reader.found:
        if not cells or (athlete and athlete.casefold() not in cells[0].casefold()):
            continue
        for head, cell in zip(heads, cells, strict=False):
            for r in _ranges(cell, cells[0]):
                unit = r.unit or next((u for u in ("kg", "lb", "%") if u in head), "")
                yield Range(cells[0], r.low, r.high, unit)


def _ranges(text: str, where: str) -> Iterable[Range]:
    for low, high, unit in _RANGE.findall(text.replace("\u00a0", " ")):
        ends = [float(x.replace("\u2212", "-")) for x in (low, high)]
        yield Range(where, ends[0], ends[1], unit)


def _words(page: str) -> str:
    """The page's words, descriptions and attributes that are read aloud included."""
    bare = re.sub(r"<script\b.*?</script>|<style\b.*?</style>", " ", page, flags=re.S)
    spoken = re.findall(r'(?:aria-label|title|alt)="([^"]*)"', bare)
    return html.unescape(" ".join([re.sub(r"<[^>]+>", " ", bare), *spoken]))
