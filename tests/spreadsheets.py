"""Six spreadsheets as six different people keep them, all invented, and what each coach answers."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from openpyxl import Workbook

GERMAN_WIDE = """\
Datum;Griff;Leiste;Haltezeit;Satz1;Satz2;Satz3;Satz4;Satz5;Satz6;Körpergewicht;Bemerkung
17.09.2026;Halbcrimp;20 mm;10;+5;+5;+7,5;+7,5;+7,5;;62,4;gut
21.09.2026;Halbcrimp;20 mm;10;+5;+7,5;+7,5;+7,5;+7,5;+7,5;;
05.10.2026;Dreifinger hängend;20 mm;10;0;0;+2,5;+2,5;;;62,0;müde
08.10.2026;Halbcrimp;20 mm;10;+7,5;+7,5;+10;+10;+10;;62,1;"letzter Satz, knapp"
"""

ENGLISH = """\
Day,What,Scheme,Added,RPE,Notes
5 Jan 2026,Half crimp 20mm,3x6 7/3,+12.5kg,7,felt solid
8 Jan 2026,Half crimp 20mm,3x6 7/3,+12.5kg,8,
12 Jan 2026,Open hand 20mm,3x6 7/3,BW,6,
15 Jan 2026,Half crimp 20 mm,4x6 7/3,+15kg,8,"last one, just"
"""

POUNDS = """\
Date,Climber,Hold,Edge (in),Weight (lb),Seconds,Type,Sets
1/5/2026,Sam,half crimp,0.75,+10,10s,max hang,3
1/8/2026,Sam,half crimp,0.75,+15,10s,max hang,3
1/13/2026,Sam,open hand,0.75,+5,10s,max hang,2
1/15/2026,Sam,HALF CRIMP,.75,+15,10s,max hang,3
"""

TWO_ATHLETES = """\
Wer;Tag;Übung;Griff;Hand;mm;Zusatz;Dauer;Sätze;Test
K;5. Januar 2026;Hängen;Halbcrimp;beide;20;5;10;4;nein
L;5. Januar 2026;Hängen;Halbcrimp;beide;20;12,5;10;4;nein
K;8. Januar 2026;Hängen;Halbcrimp;links;20;-10;10;2;ja
K;8. Januar 2026;Hängen;Halbcrimp;rechts;20;-7,5;10;2;ja
L;9. Januar 2026;Hängen;Sloper;beide;;0;10;3;nein
Summe;;;;;;;;15;
"""


def _sheet_a_month(path: Path) -> None:
    book = Workbook()
    book.remove(book.active)
    for name, days in (("January 2026", (5, 8, 12)), ("February 2026", (2, 5))):
        sheet = book.create_sheet(name)
        sheet.append(["Finger training"])
        sheet.append([])
        sheet.append(["Day", "Grip", "Edge mm", "Hang time", "Sets", "Added weight", "Failed at"])
        for i, day in enumerate(days):
            sheet.append([day, "Half crimp", 20, 10, 4, 5 + 2.5 * i, 8 if i == 1 else None])
            sheet.append([day, "3 finger drag", 20, 10, 2, 0, None])
    book.save(path)


def _merged(path: Path) -> None:
    book = Workbook()
    sheet = book.active
    sheet.title = "Winter"
    sheet["A1"] = "Winter block, invented"
    sheet["A3"], sheet["B3"], sheet["C3"] = "Date", "Grip", "Edge"
    sheet["D3"], sheet["F3"], sheet["H3"] = "Set 1", "Set 2", "Minutes"
    for area in ("A3:A4", "B3:B4", "C3:C4", "D3:E3", "F3:G3", "H3:H4"):
        sheet.merge_cells(area)
    for cell, text in (("D4", "kg"), ("E4", "s"), ("F4", "kg"), ("G4", "s")):
        sheet[cell] = text
    rows: list[list[Any]] = [
        [dt.date(2026, 1, 5), "half crimp", 20, 5, 10, 5, 10, 45],
        [None, "open four", 20, 0, 10, 0, 8, None],
        [dt.date(2026, 1, 8), "half crimp", 20, 7.5, 10, 7.5, 10, 50],
        ["Total", None, None, 12.5, None, 12.5, None, 95],
        [dt.date(2026, 1, 12), "half crimp", 18, 5, 10, 5, 10, 40],
        ["Total", None, None, 5, None, 5, None, 40],
    ]
    for i, row in enumerate(rows, 5):
        for k, value in enumerate(row, 1):
            sheet.cell(i, k, value)
    sheet.merge_cells("A5:A6")
    book.save(path)


@dataclass(frozen=True)
class Spreadsheet:
    """
    A spreadsheet: what writes it, the lines of the drafted map that its coach changes (each one
    edit), its filled rows under the headers, and what comes of them.
    """

    name: str
    write: Callable[[Path], None]
    edits: Mapping[str, str]
    rows: int
    ignored: int
    hangs: int


def _text(text: str, encoding: str = "utf-8") -> Callable[[Path], None]:
    return lambda path: path.write_bytes(text.encode(encoding)) and None


SPREADSHEETS = (
    Spreadsheet(
        "training.csv",
        _text(GERMAN_WIDE, "cp1252"),
        {'athlete = "?"': 'athlete = "kim"', 'exercise = "?"': 'exercise = "hang"'},
        4,
        0,
        20,
    ),
    Spreadsheet(
        "fingers.csv",
        _text(ENGLISH),
        {
            'athlete = "?"': 'athlete = "arvo"',
            '"Open hand" = "?"': '"Open hand" = "open_three"',
        },
        4,
        0,
        4,
    ),
    Spreadsheet(
        "months.xlsx",
        _sheet_a_month,
        {'athlete = "?"': 'athlete = "kim"', 'exercise = "?"': 'exercise = "hang"'},
        10,
        0,
        10,
    ),
    Spreadsheet(
        "pounds.csv", _text(POUNDS), {'"open hand" = "?"': '"open hand" = "open_four"'}, 4, 0, 4
    ),
    Spreadsheet("squad.csv", _text(TWO_ATHLETES), {}, 6, 1, 5),
    Spreadsheet(
        "winter.xlsx",
        _merged,
        {
            'athlete = "?"': 'athlete = "lou"',
            'exercise = "?"': 'exercise = "hang"',
            'hang_s = "?"': 'hang_s = "10"',
        },
        6,
        2,
        8,
    ),
)
