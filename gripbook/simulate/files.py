"""Rows to the files of a log folder, in the ways people write them."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from gripbook.simulate.training import Row
from gripbook.simulate.truth import REFERENCE_EDGE_MM, Person
from gripbook.units import KG_PER_LB

COLUMNS: dict[str, tuple[str, ...]] = {
    "hangs": (
        "athlete",
        "date",
        "order",
        "sets",
        "exercise",
        "test",
        "warmup",
        "grip",
        "hand",
        "edge_mm",
        "board",
        "added_kg",
        "scale_kg",
        "stand_kg",
        "force_kg",
        "hang_s",
        "rest_s",
        "reps",
        "reps_done",
        "failed_s",
        "stopped",
        "reserve_s",
        "reserve_reps",
        "note",
    ),
    "body": ("athlete", "date", "body_mass_kg", "note"),
    "sessions": (
        "athlete",
        "date",
        "start",
        "kind",
        "until",
        "minutes",
        "effort",
        "place",
        "note",
    ),
    "pain": ("athlete", "date", "when", "site", "side", "level", "sign", "note"),
    "measures": ("athlete", "date", "measure", "side", "value", "unit", "note"),
    "climbs": ("athlete", "date", "grade", "scale", "style", "place", "note"),
    "athletes": ("athlete", "name", "born", "fingers_since", "hand", "units", "show_body_mass"),
}
#: Columns that a file keeps even where all its cells are empty.
_ALWAYS = {"athlete", "date", "note"}


@dataclass(frozen=True, slots=True)
class Style:
    """How a file is written. `own_folder`: no athlete column, the sub-folder names the athlete."""

    delimiter: str = ","
    decimal_comma: bool = False
    byte_order_mark: bool = False
    pounds: bool = False
    own_folder: bool = False


def cell(value: object, style: Style = Style()) -> str:
    """A value as text: no needless zeros, decimal comma where wanted."""
    if value is None:
        return ""
    if isinstance(value, float):
        text = f"{value:.2f}".rstrip("0").rstrip(".")
        text = "0" if text == "-0" else text
        return text.replace(".", ",") if style.decimal_comma else text
    return str(value)


def csv_text(name: str, rows: Sequence[Row], start: dt.date, style: Style = Style()) -> str:
    """The text of one file; columns that no row fills are left out."""
    filled = {key for row in rows for key, value in row.items() if value not in (None, "")}
    columns = [c for c in COLUMNS[name] if c in filled | _ALWAYS]
    if style.own_folder:
        columns.remove("athlete")
    if name == "athletes":
        columns = list(COLUMNS[name])
    pounds = [style.pounds and c.endswith("_kg") for c in columns]
    out = io.StringIO()
    writer = csv.writer(out, delimiter=style.delimiter, lineterminator="\n")
    writer.writerow(
        c.removesuffix("_kg") + "_lb" if lb else c for c, lb in zip(columns, pounds, strict=True)
    )
    for row in rows:
        cells = []
        for column, lb in zip(columns, pounds, strict=True):
            value = row.get(column)
            if column == "date" and "day" in row:
                value = start + dt.timedelta(days=int(str(row["day"])))
            elif lb and isinstance(value, float):
                # a tenth of a pound is as fine as such scales and plates go
                value = round(value / KG_PER_LB, 1)
            cells.append(cell(value, style))
        writer.writerow(cells)
    return out.getvalue()


def write_file(path: Path, text: str, style: Style = Style()) -> None:
    """Write text as UTF-8 with plain line ends, so that the bytes are the same everywhere."""
    path.parent.mkdir(parents=True, exist_ok=True)
    encoding = "utf-8-sig" if style.byte_order_mark else "utf-8"
    path.write_text(text, encoding=encoding, newline="\n")


def truth_text(people: Iterable[Person]) -> str:
    """True loads of every series on the first day of each week and the block's last day."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("athlete", "capacity", "grip", "hand", "edge_mm", "day", "load_kg"))
    for person in people:
        days = [*range(0, person.last_day, 7), person.last_day]
        for series in person.paths:
            writer.writerows(
                (
                    person.id,
                    *series,
                    f"{REFERENCE_EDGE_MM:g}",
                    day,
                    f"{person.load_kg(series, day):.4f}",
                )
                for day in days
            )
    return out.getvalue()


def people_text(people: Iterable[Person]) -> str:
    """What else is true: edge exponent, day SD, body mass at both ends, boards."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(
        ("athlete", "edge_exponent", "day_sd", "body_start_kg", "body_end_kg", "board_offsets")
    )
    for person in people:
        boards = " ".join(f"{b}={v:.4f}" for b, v in person.board_offset.items())
        mass = (person.body_mass_kg(0), person.body_mass_kg(person.last_day))
        numbers = (person.edge_exponent, person.day_sd, *mass)
        writer.writerow((person.id, *(f"{x:.4f}" for x in numbers), boards))
    return out.getvalue()


def day_effects_text(people: Iterable[Person], days: dict[str, list[tuple[int, str]]]) -> str:
    """True day effects (log terms) of the days and capacities that were trained."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("athlete", "day", "capacity", "effect_log"))
    for person in people:
        for day, capacity in days[person.id]:
            writer.writerow((person.id, day, capacity, f"{person.day_effect(capacity, day):.5f}"))
    return out.getvalue()
