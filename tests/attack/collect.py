"""
What a reader of a run's files can take from them about one athlete.

Read are the athlete's page (words, tables, folds, what the marks of its pictures say, and where
they lie), their row of the squad page, their part of run.json and, where pdftotext is there, the
PDF. Pages are read in English.
"""

from __future__ import annotations

import csv
import datetime as dt
import html
import json
import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pandas as pd

from tests.attack.pictures import Picture, day_near, read_picture

_NUMBER = r"[+\-\u2212]?\d+(?:\.\d+)?"
_RANGE = re.compile(rf"({_NUMBER})(?:\s*(?:kg|lb|%))? to ({_NUMBER})\s*(kg|lb|%)")
_MASS = re.compile(rf"({_NUMBER})(?: to ({_NUMBER}))?\s*(?:kg|lb)\b")
_LONG_DAY = re.compile(r"^(\d{1,2}) ([A-Z][a-z]+) (\d{4})$")
_BLOCK = re.compile(r"(\d{1,2}) ([A-Z][a-z]+)(?: (\d{4}))? to (\d{1,2}) ([A-Z][a-z]+) (\d{4})")
#: What the marks of the loads' pictures say of a set.
_SET = re.compile(
    rf"^(\d+ \w+): ({_NUMBER}) (?:kg|lb), (\w+) sets?"
    r"(?:, (left|right))?(?:, ([\d.]+) mm)?(?:, (.*))?$"
)
#: Small numbers in words, in order.
_SMALL = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"]
#: Columns of tables that count or place, and so are no measured quantity.
_COUNTS = {"week", "level", "sets", "climbs", "of how many", "IRCRA", "row of the log"}


@dataclass(frozen=True, slots=True)
class Range:
    """
    A range: where, its ends and its unit (`kg`, `lb`, `%`).

    `step`: what the ends are rounded to, outward.
    """

    where: str
    low: float
    high: float
    unit: str
    step: float = 1.0


@dataclass(frozen=True, slots=True)
class Load:
    """A whole load, in the page's unit: where, how much, and its ratio to body mass if known."""

    where: str
    kg: float
    ratio: float | None = None


@dataclass(frozen=True, slots=True)
class Seen:
    """
    Everything numeric about one athlete's sets.

    `weights`: frames of sets with `day`, `kg`, `edge_mm`, `series`, `ended`, `sets`, and `place`
    (position among the series' sets of the day). `figures`: every other column of numbers by day
    in any table, any picture (read from its axes) and anything a mark says, with its name: `day`,
    `kg`, `kind`, `place`. `ranges`, `loads`, `exponents`: from all of these and from sentences.
    `text`: all words of all files.
    """

    weights: list[pd.DataFrame] = field(default_factory=list)
    figures: list[tuple[str, pd.DataFrame]] = field(default_factory=list)
    ranges: list[Range] = field(default_factory=list)
    loads: list[Load] = field(default_factory=list)
    exponents: list[float] = field(default_factory=list)
    text: str = ""


def collect(folder: Path, athlete: str) -> Seen:
    """
    Read what stands about an athlete in the folder.

    Parameters
    ----------
    folder : what `gripbook report` wrote.
    athlete : their id, which names the page.
    """
    page = (folder / f"{athlete}.html").read_text(encoding="utf-8")
    page = re.sub(r"<style\b.*?</style>", "", page, flags=re.S)
    lines = list(_lines(page))
    weights: list[pd.DataFrame] = []
    figures: list[tuple[str, pd.DataFrame]] = []
    ranges: list[Range] = []
    loads: list[Load] = []
    near = _middle_of_block(" ".join(lines))
    for told, svg in _pictures(page):
        picture = read_picture(svg, near)
        spots = [(x, y, words) for x, y, words in told]
        weights += _sets_told(picture, spots, near)
        figures += [*_figures_drawn(picture), *_figures_told(picture, spots, near)]
        ranges += _bars(picture, spots)
        lines += [words for _, _, words in spots]
    for head, rows in _tables(page):
        figures += _columns(head, rows)
        lines += _rows_as_lines(head, rows)
    for data in _scripts(page):
        figures += _frames_in(data)
    pdf = folder / f"{athlete}.pdf"
    if pdf.exists() and shutil.which("pdftotext"):
        made = subprocess.run(["pdftotext", "-layout", str(pdf), "-"], capture_output=True)
        lines += made.stdout.decode("utf-8", "replace").splitlines()
    if (folder / "index.html").exists():
        row, of_lanes = _squad_row((folder / "index.html").read_text(encoding="utf-8"), athlete)
        lines += row
        ranges += of_lanes
    if (folder / "run.json").exists():
        told_of = _of_athlete(json.loads((folder / "run.json").read_text("utf-8")), athlete)
        lines.append(json.dumps(told_of))
        for record in _records_in(told_of):
            ranges += _range_recorded(record)
            loads += _loads_recorded(record)
    for line in lines:
        ranges += _ranges(line)
        loads += _loads(line)
    exponents = [float(x) for line in lines for x in re.findall(r"power of (\d\.\d+)", line)]
    return Seen(weights, figures, ranges, loads, exponents, "\n".join(lines))


# --- words ------------------------------------------------------------------------------------


def _lines(page: str) -> Iterator[str]:
    """The page's words, a line for each block, descriptions and attributes read aloud included."""
    bare = re.sub(r"<script\b.*?</script>|<svg\b.*?</svg>", "\n", page, flags=re.S)
    spoken = re.findall(r'(?:aria-label|title|alt)="([^"]*)"', page)
    inline = re.sub(r"</?(?:b|i|em|strong|span|small|bdi|a|abbr)\b[^>]*>", " ", bare)
    for text in [*re.sub(r"<[^>]+>", "\n", inline).split("\n"), *spoken]:
        if words := _plain(text):
            yield words


def _plain(text: str) -> str:
    return " ".join(html.unescape(text).replace("\u00a0", " ").split())


def _middle_of_block(text: str) -> dt.date:
    """A day next to which a picture's days lie: a year stands in the page's head alone."""
    if found := _BLOCK.search(text):
        first, month, year, last, month_2, year_2 = found.groups()
        ends = [f"{first} {month} {year or year_2}", f"{last} {month_2} {year_2}"]
        start, end = (dt.datetime.strptime(day, "%d %B %Y").date() for day in ends)
        return start + (end - start) / 2
    running = re.search(r"logged to (\d{1,2} [A-Z][a-z]+ \d{4})", text)
    assert running, "the page's head tells no days"
    return dt.datetime.strptime(running[1], "%d %B %Y").date()


def _number(text: str) -> float:
    return float(text.replace("\u2212", "-"))


def _step(*texts: str) -> float:
    return 0.1 if all("." in t for t in texts) else 1.0


def _ranges(line: str) -> Iterator[Range]:
    for low, high, unit in _RANGE.findall(line):
        # "97 to 109 kg" are two loads; a change carries signs
        if {low[0], high[0]} & set("+-\u2212"):
            yield Range(line, _number(low), _number(high), unit, _step(low, high))


def _loads(line: str) -> Iterator[Load]:
    """Masses without a sign: those of a change or of an added weight have one."""
    for found in _MASS.finditer(line):
        ratio = 1.0 if re.search(r"body mass\b[^.]{0,20}$", line[: found.start()], re.I) else None
        for text in filter(None, found.groups()):
            if text[0] not in "+-\u2212":
                yield Load(line, _number(text), ratio)


# --- tables -----------------------------------------------------------------------------------


class _Tables(HTMLParser):
    """The cells of each table with their column's heading, and what the table is called."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[list[str], list[list[str]]]] = []
        self._cell: list[str] | None = None
        self._in_head = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "table":
            self.found.append(([dict(attrs).get("aria-label") or ""], []))
        elif tag == "thead":
            self._in_head = True
        elif tag == "tr" and self.found and not self._in_head:
            self.found[-1][1].append([])
        elif tag in ("td", "th", "caption"):
            self._cell = []

    def handle_data(self, data: str) -> None:
        if self._cell is not None:
            self._cell.append(data)

    def handle_endtag(self, tag: str) -> None:
        if tag == "thead":
            self._in_head = False
        elif tag in ("td", "th", "caption") and self._cell is not None and self.found:
            text, self._cell = _plain(" ".join(self._cell)), None
            head, rows = self.found[-1]
            if tag == "caption":
                head[0] = text
            elif self._in_head:
                head.append(text)
            elif rows:
                rows[-1].append(text)


def _tables(page: str) -> list[tuple[list[str], list[list[str]]]]:
    """Of each table its name and headings, and its rows."""
    reader = _Tables()
    reader.feed(page)
    return reader.found


def _rows_as_lines(head: list[str], rows: list[list[str]]) -> Iterator[str]:
    """Each number with what stands above it: "one-arm pull ... change (kg) -4 to +2 kg"."""
    for row in rows:
        for name, cell in zip(head[2:], row[1:], strict=False):
            unit = next((u for u in ("kg", "lb", "%") if f"({u})" in name), "")
            more = f" {unit}" if unit and not cell.endswith(unit) else ""
            yield f"{row[0]}, {name}: {cell}{more}"


def _columns(head: list[str], rows: list[list[str]]) -> Iterator[tuple[str, pd.DataFrame]]:
    """Columns of numbers in tables that have a column of days."""
    kept = [dict(zip(head[1:], row, strict=False)) for row in rows]
    for name in head[1:]:
        out: list[dict[str, Any]] = []
        for row in kept:
            days = [d for cell in row.values() if (d := _LONG_DAY.match(cell))]
            number = re.match(rf"^({_NUMBER})(?: (?:kg|lb|%))?$", row.get(name, ""))
            if days and number and name not in _COUNTS:
                day = dt.datetime.strptime(days[0][0], "%d %B %Y").date()
                out.append({"day": day.isoformat(), "kg": _number(number[1])})
        if len(out) > 1:
            yield f"{head[0]}: {name}", _placed(out)


def _placed(rows: list[dict[str, Any]]) -> pd.DataFrame:
    """A frame of figures with their place among those of the day."""
    frame = pd.DataFrame(rows)
    if "kind" not in frame:
        frame["kind"] = ""
    frame["place"] = frame.groupby("day").cumcount()
    return frame


# --- pictures ---------------------------------------------------------------------------------

_Spot = tuple[float, float, str]


def _pictures(page: str) -> Iterator[tuple[list[_Spot], str]]:
    """Each drawing of the page with what its marks say and where."""
    lines: list[str] = []
    places: dict[str, list[str]] = {}
    for tag, svg in re.findall(r"(<figure\b[^>]*>|</figure>)|(<svg\b.*?</svg>)", page, re.S):
        if tag:
            said = dict(re.findall(r'data-(words|wide|narrow)="([^"]*)"', tag))
            lines = [_plain(x) for x in said.pop("words", "").split("\n")]
            places = {kind: text.split() for kind, text in said.items()}
            continue
        kind = re.search(r'^<svg class="(\w+)"', svg)
        at = [p.split(",") for p in places.get(kind[1] if kind else "", [])]
        yield [(float(x), float(y), t) for (x, y), t in zip(at, lines, strict=False)], svg


def _sets_told(picture: Picture, spots: list[_Spot], near: dt.date) -> Iterator[pd.DataFrame]:
    """Sets by what the marks say, where the axis shows the weight added."""
    out: list[dict[str, Any]] = []
    for x, y, words in spots:
        found, axis = _SET.match(words), picture.upright_of(x, y)
        if not found or axis is None or "added weight" not in picture.heads(axis):
            continue
        day, kg, n, hand, edge, ended = found.groups()
        grip = picture.heads(axis).replace(", added weight", " added weight").split(" added")[0]
        out.append(
            {
                "day": str(day_near(day, near)),
                "kg": _number(kg),
                "edge_mm": float(edge or "nan"),
                "series": " ".join(
                    filter(None, (picture.name.split(",")[0], grip, hand or "both hands"))
                ),
                "ended": ended or "",
                "sets": _SMALL.index(n) if n in _SMALL else int(n),
            }
        )
    if out:
        frame = pd.DataFrame(out)
        frame["place"] = frame.groupby(["day", "series"]).cumcount()
        yield frame


def _figures_drawn(picture: Picture) -> Iterator[tuple[str, pd.DataFrame]]:
    """Marks read against their axes, by panel."""
    panels: dict[str, list[dict[str, Any]]] = {}
    for mark in picture.marks:
        upright, level = picture.upright_of(mark.x, mark.y), picture.level_of(mark.x, mark.y)
        if upright is None or level is None or level.unit != "day":
            continue
        what = mark.kind if mark.kind in ("line", "area", "rule") else "marks"
        day = dt.date.fromordinal(round(level(mark.x)))
        panels.setdefault(f"{picture.name}: {picture.heads(upright)}, {what} drawn", []).append(
            {"day": day.isoformat(), "kg": upright(mark.y), "kind": mark.kind}
        )
    for name, rows in panels.items():
        yield name, _placed(rows)


def _figures_told(
    picture: Picture, spots: list[_Spot], near: dt.date
) -> Iterator[tuple[str, pd.DataFrame]]:
    """Numbers in what marks say, by panel and by which number it is."""
    panels: dict[str, list[dict[str, Any]]] = {}
    for x, y, words in spots:
        upright = picture.upright_of(x, y)
        first, _, rest = words.partition(": ")
        day = day_near(first.rpartition(", ")[2], near)
        if upright is None or day is None:
            continue
        heads = picture.heads(upright)
        if "added weight" in heads:
            continue  # those are the weights themselves
        for i, found in enumerate(re.findall(rf"({_NUMBER})", rest)):
            panels.setdefault(f"{picture.name}: {heads}, number {i + 1} told", []).append(
                {"day": day.isoformat(), "kg": _number(found), "kind": ""}
            )
    for name, rows in panels.items():
        yield name, _placed(rows)


def _bars(picture: Picture, spots: list[_Spot]) -> Iterator[Range]:
    """Bars read against the axis beneath; their series is in what the mark beside them says."""
    for bar in picture.bars:
        axis = picture.level_of(bar.first, bar.y)
        where = next((words for _, y, words in spots if abs(y - bar.y) <= 1.5), "")
        if axis is not None and axis.unit in ("kg", "lb", "%"):
            low, high = (round(axis(x), 2) for x in (bar.first, bar.last))
            # an end that lies on a whole number was rounded to it before it was drawn
            whole = all(abs(v - round(v)) < 0.02 for v in (low, high))
            yield Range(where, low, high, axis.unit, 1.0 if whole else 0.02)


# --- data in scripts and in run.json ----------------------------------------------------------


def _scripts(page: str) -> Iterator[Any]:
    """Data that stands in scripts."""
    for body in re.findall(r'<script type="application/json"[^>]*>(.*?)</script>', page, re.S):
        yield json.loads(body)


def _records_in(value: Any) -> Iterator[dict[str, Any]]:
    """Every record in a JSON document, also in texts that hold JSON or rows of results.csv."""
    if isinstance(value, dict):
        yield value
        for name, x in value.items():
            if name == "results" and isinstance(x, str):
                from gripbook.strength import RESULT_COLUMNS

                yield from csv.DictReader(x.splitlines(), RESULT_COLUMNS)
            yield from _records_in(x)
    elif isinstance(value, list):
        for x in value:
            yield from _records_in(x)


def _frames_in(value: Any) -> Iterator[tuple[str, pd.DataFrame]]:
    """Lists of records with a day, a frame for each of their numbers."""
    if isinstance(value, dict):
        for x in value.values():
            yield from _frames_in(x)
    elif isinstance(value, list) and value and all(isinstance(x, dict) for x in value):
        for name in value[0]:
            rows = [
                {"day": x["day"][:10], "kg": float(x[name]), "kind": str(x.get("kind", ""))}
                for x in value
                if isinstance(x.get("day"), str) and isinstance(x.get(name), int | float)
            ]
            if rows:
                yield name, _placed(rows)


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


def _range_recorded(record: dict[str, Any]) -> Iterator[Range]:
    where = " ".join(str(record.get(k, "")) for k in ("capacity", "grip", "hand"))
    for unit in ("kg", "pct"):
        try:
            low, high = float(record[f"low_{unit}"]), float(record[f"high_{unit}"])
        except (KeyError, ValueError):
            continue
        if high > low:
            yield Range(where, low, high, unit.replace("pct", "%"), 0.001)


def _loads_recorded(record: dict[str, Any]) -> Iterator[Load]:
    where = " ".join(str(record.get(k, "")) for k in ("capacity", "grip", "hand"))
    for end in ("start", "end"):
        kg, ratio = record.get(f"{end}_kg"), record.get(f"{end}_ratio")
        if kg not in (None, "", "nan"):
            yield Load(where, float(kg), float(ratio) if ratio else None)


# --- the squad page ---------------------------------------------------------------------------


def _squad_row(index: str, athlete: str) -> tuple[list[str], list[Range]]:
    """The athlete's row in words, and its bars measured against the table's scale."""
    found = re.search(
        rf'<tr\b[^>]*><th\b[^>]*><a href="{re.escape(athlete)}\.html">.*?</tr>', index, re.S
    )
    if not found:
        return [], []
    row = re.sub(r"<svg\b.*?</svg>", " ", found[0], flags=re.S)
    lines = [_plain(re.sub(r"<[^>]+>", " ", part)) for part in re.split(r"</div>", row)]
    ticks = [
        (float(left), _number(value or "0"))
        for left, value in re.findall(
            rf'style="left:([\d.]+)%"><b>(?:({_NUMBER})\s*%|no change)</b>',
            index.replace("\u00a0", " "),
        )
    ]
    ranges = []
    if len(ticks) > 1:
        (first, low), *_, (last, high) = ticks
        slope = (high - low) / (last - first)
        for name, svg in re.findall(
            r'<div class="lane"><span>([^<]*)</span>\s*(<svg\b.*?</svg>)', found[0], re.S
        ):
            width = float(re.search(r'viewBox="0 0 ([\d.]+)', svg)[1])
            for bar in read_picture(svg, dt.date(2000, 1, 1)).bars:
                ends = (low + slope * (100 * x / width - first) for x in (bar.first, bar.last))
                ranges.append(Range(name, *ends, "%", 0.05))
    return lines, ranges
