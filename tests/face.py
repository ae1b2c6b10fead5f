"""
Make the page's typeface and the table of its widths.

`python -m tests.face PACKAGE` cuts the face out of the unpacked npm package `source-serif` 4.5.1
and writes the table of widths anew; `python -m tests.face` writes the table alone. Needs fonttools
and brotli, of the extra `test`.
"""

from __future__ import annotations

import io
import sys
from pathlib import Path
from typing import Any

REPORT = Path(__file__).parents[1] / "gripbook" / "report"
FACE = REPORT / "page" / "face"
WIDTHS = REPORT.parent / "charts" / "width_table.py"
#: The licence reserves "Source" for the unchanged fonts, so that the cut has a name of its own.
FAMILY = "Gripbook Serif"
WEIGHTS = (400, 600)

# What pages write in English, German and French, and the signs of ranges, units and comparisons.
TEXT = (
    "20-7E,A0,A7,AB,B0-B3,B7,BB-FF,152-153,2009,202F,2010-2014,2018-201A,201C-201E,2026,2190-2193,"
    "2212,20AC,2248,2264,2265"
)
# The large cut sets names alone: letters, figures, hyphen and quotes.
NAME = "20,27-29,2C-2E,30-39,41-5A,61-7A,A0,C0-D6,D8-F6,F8-FF,152-153,2010-2014,2018-201A,201C-201E"
FIGURES = "tnum pnum lnum onum"
#: file -> variable font of the package, its axes, characters, features, style
CUTS: dict[str, tuple[str, dict[str, Any], str, str, str]] = {
    "text": ("Roman", {"wght": WEIGHTS, "opsz": 13}, TEXT, f"kern liga {FIGURES}", "Regular"),
    "italic": ("Italic", {"wght": 400, "opsz": 13}, TEXT, f"kern liga {FIGURES}", "Italic"),
    "name": ("Roman", {"wght": 400, "opsz": 48}, NAME, "kern liga", "Display"),
}


def characters(ranges: str) -> set[int]:
    """Code points of `20-7E,A0`."""
    points: set[int] = set()
    for part in ranges.split(","):
        first, _, last = part.partition("-")
        points.update(range(int(first, 16), int(last or first, 16) + 1))
    return points


def cut(package: Path) -> None:
    """Write the three woff2 files and their licence."""
    from fontTools.subset import Options, Subsetter
    from fontTools.ttLib import TTFont
    from fontTools.varLib import instancer

    FACE.mkdir(parents=True, exist_ok=True)
    for name, (style, axes, ranges, features, called) in CUTS.items():
        whole = TTFont(package / "VAR" / f"SourceSerif4Variable-{style}.ttf")
        instance = io.BytesIO()  # the subsetter wants a font that was saved once
        instancer.instantiateVariableFont(whole, axes).save(instance)
        font = TTFont(instance, recalcTimestamp=False)
        options = Options(
            layout_features=features.split(),
            hinting=False,
            name_IDs=[0, 13, 14],  # copyright, licence and its address stay
            name_languages=[0x409],
            notdef_outline=True,
            drop_tables=["STAT", "DSIG"],
        )
        subsetter = Subsetter(options)
        subsetter.populate(unicodes=characters(ranges))
        subsetter.subset(font)
        full = f"{FAMILY} {called}"
        plain = full.replace(" ", "")
        for number, words in {1: FAMILY, 2: called, 4: full, 6: plain}.items():
            font["name"].setName(words, number, 3, 1, 0x409)
        font["head"].modified = font["head"].created  # the same bytes on every run
        font.flavor = "woff2"
        font.save(FACE / f"{name}.woff2")
    text = (package / "LICENSE.md").read_text("utf-8").strip()
    (FACE / "OFL.txt").write_text(text + "\n", encoding="utf-8")


def substitutes(font: Any, features: set[str]) -> dict[str, str]:
    """Glyph -> the glyph that some features put in its place, one for one."""
    table = font["GSUB"].table
    lookups = {
        index
        for record in table.FeatureList.FeatureRecord
        if record.FeatureTag in features
        for index in record.Feature.LookupListIndex
    }
    placed: dict[str, str] = {}
    for index in sorted(lookups):
        for sub in table.LookupList.Lookup[index].SubTable:
            mapping = getattr(sub, "ExtSubTable", sub).mapping
            placed = {glyph: mapping.get(to, to) for glyph, to in placed.items()}
            placed = {**mapping, **placed}
    return placed


def widths(file: Path, weight: int | None = None) -> dict[str, int]:
    """Advance width of each character in thousandths of the size, figures lining and tabular."""
    from fontTools.ttLib import TTFont
    from fontTools.varLib import instancer

    font = TTFont(file)
    if weight is not None:
        font = instancer.instantiateVariableFont(font, {"wght": weight})
    scale = 1000 / font["head"].unitsPerEm
    placed = substitutes(font, {"lnum", "tnum"})
    advance = font["hmtx"].metrics
    return {
        chr(point): round(advance[placed.get(glyph, glyph)][0] * scale)
        for point, glyph in sorted(font.getBestCmap().items())
    }


def table_text() -> str:
    """The module of widths, as it is committed."""
    tables = [widths(FACE / "text.woff2", weight) for weight in WEIGHTS]
    tables.append(widths(FACE / "italic.woff2"))
    assert len({tuple(table) for table in tables}) == 1
    lines = [
        '"""Widths of the letters, in thousandths of the size; written by `tests/face.py`."""',
        "",
        "# fmt: off",
        "#: character -> roman 400, roman 600, italic 400; figures lining and tabular",
        "WIDTHS: dict[str, tuple[int, int, int]] = {",
    ]
    entries = [f"{char!r}: {tuple(t[char] for t in tables)}," for char in tables[0]]
    line = "   "
    for entry in entries:
        if len(line) + 1 + len(entry) > 99:
            lines.append(line)
            line = "   "
        line += f" {entry}"
    return "\n".join([*lines, line, "}", ""])


if __name__ == "__main__":
    if len(sys.argv) > 1:
        cut(Path(sys.argv[1]))
    WIDTHS.parent.mkdir(parents=True, exist_ok=True)
    WIDTHS.write_text(table_text(), encoding="utf-8")
