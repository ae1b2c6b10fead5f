"""Log folders of one athlete whose files have columns that the format doesn't know."""

from __future__ import annotations

from pathlib import Path

from gripbook.logs.schema import FILES, other_unit
from tests.conftest import FILES as SMALL

MEASURES = "athlete,date,measure,value,unit\nada,2026-01-06,front_split_gap,20,cm\n"
CLIMBS = "athlete,date,grade,scale,style\nada,2026-01-11,7a,french,redpoint\n"
#: Names that no file has: those of derived columns, of Python and pandas, and odd ones.
OTHERS = [
    *[
        "file",
        "line",
        "index",
        "level_0",
        "level_1",
        "values",
        "columns",
        "size",
        "shape",
        "T",
        "dtype",
        "name",
        "id",
        "key",
        "self",
    ],
    *[
        "class",
        "None",
        "week",
        "phase",
        "block",
        "in_block",
        "set_id",
        "sets_id",
        "position",
        "load_kg",
        "wrong_kg",
    ],
    *[
        "mass_kg",
        "body_mass",
        "ratio",
        "shown_kg",
        "shown_as",
        "discipline",
        "indices",
        "count",
        "first",
        "last",
        "day",
    ],
    *[
        "days",
        "start_date",
        "impulse_kg_s",
        "hand_kg",
        "mastered",
        "minor",
        "verdict",
        "load_au",
        "unknown",
    ],
    *["extra", "__class__", "__len__", "Ünïcode"],
]
OTHERS += ["two words", "=1+1", "\U0001f9d7"]
assert len(OTHERS) >= 50


def one_athlete() -> dict[str, list[str]]:
    """Every file of the format with rows of ada alone, as lines."""
    texts = {name: text for name, text in SMALL.items() if name.endswith(".csv")}
    texts |= {"measures.csv": MEASURES, "climbs.csv": CLIMBS}
    return {
        name.removesuffix(".csv"): [
            line for i, line in enumerate(text.splitlines()) if not i or line.startswith("ada,")
        ]
        for name, text in texts.items()
    }


def write(folder: Path, lines: dict[str, list[str]]) -> None:
    """Write a log folder, with its block."""
    folder.mkdir(exist_ok=True, parents=True)
    for name, rows in lines.items():
        (folder / f"{name}.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    (folder / "block.toml").write_text(SMALL["block.toml"], encoding="utf-8")


def extra_names(file: str) -> list[str]:
    """Column names of every file, and others, that this file doesn't know."""
    known = {c.name for c in FILES[file].columns}
    known |= {other[0] for c in FILES[file].columns if (other := other_unit(c))}
    names = [c.name for f in FILES.values() for c in f.columns] + OTHERS
    return [n for n in dict.fromkeys(names) if n not in known]


def with_columns(rows: list[str], names: list[str]) -> list[str]:
    """The rows with more columns behind theirs, each cell filled."""
    cells = ",".join("2026-01-05" if n in ("date", "until") else "7" for n in names)
    return [f"{rows[0]},{','.join(names)}", *(f"{row},{cells}" for row in rows[1:])]
