"""
Grade scales beside one another: the comparison published by the IRCRA.

Source: Draper N, Giles D, Schöffl V, et al. 2015, Comparative grading scales, statistical analyses,
climber descriptors and ability grouping, Sports Technology 8(3-4):88-94. The rows are those on
which public transcriptions of its table agree; for French and YDS all of them do. Cells of the
other scales differ between transcriptions by one row at most; boulder cells straddle rows, so a
boulder grade is known to plus or minus one. A route grade is never put into boulder terms or back.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from functools import cache
from typing import Final

from gripbook.errors import GripbookError

#: Row 1 to 32: YDS, French, UIAA, Ewbank, Font, V. `a/b`: both stand in the row.
_ROWS: Final = """\
5.1    | 1   | I        | 4     |        |
5.2    | 2   | II       | 6     |        |
5.3    | 2+  | III/III+ | 8     |        |
5.4    | 3-  | III+/IV  | 8/10  |        |
5.5    | 3   | IV/IV+   | 10    |        |
5.6    | 3+  | IV+/V-   | 12    |        |
5.7    | 4   | V-/V     | 14    |        |
5.8    | 4+  | V+       | 16    |        |
5.9    | 5   | VI-      | 16    |        | VB
5.10a  | 5+  | VI       | 18    |        |
5.10b  | 6a  | VI+      | 19    | 3      | V0-
5.10c  | 6a+ | VII-     | 19/20 | 4      | V0
5.10d  | 6b  | VII      | 20    | 4+     | V0+
5.11a  | 6b+ | VII/VII+ | 21    | 5      | V1
5.11b  | 6c  | VII+     | 22    | 5+/6A  | V2
5.11c  | 6c+ | VIII-    | 22    | 6A/6A+ | V2/V3
5.11d  | 7a  | VIII     | 23    | 6A+/6B | V3
5.12a  | 7a+ | VIII+    | 24    | 6B+/6C | V4
5.12b  | 7b  | IX-      | 25    | 6C/6C+ | V5
5.12c  | 7b+ | IX-      | 26    | 6C+/7A | V6
5.12d  | 7c  | IX       | 27    | 7A+    | V7
5.13a  | 7c+ | IX+      | 28    | 7B     | V8
5.13b  | 8a  | X-       | 29    | 7B+    | V8/V9
5.13c  | 8a+ | X        | 30    | 7C     | V9
5.13d  | 8b  | X/X+     | 31    | 7C+    | V10
5.14a  | 8b+ | X+       | 32    | 8A     | V11
5.14b  | 8c  | XI-      | 33    | 8A+    | V12
5.14c  | 8c+ | XI       | 34    | 8B     | V13
5.14d  | 9a  | XI/XI+   | 35    | 8B/8B+ | V13/V14
5.15a  | 9a+ | XI+      | 36    | 8B+/8C | V14/V15
5.15b  | 9b  | XII-     | 37    | 8C     | V15
5.15c  | 9b+ | XII      | 38    | 8C+    | V16
"""
_ORDER: Final = ("yds", "french", "uiaa", "ewbank", "font", "v")
BOULDER_SCALES: Final = ("font", "v")
#: Half-width of a boulder grade on the scale.
BOULDER_ERROR: Final = 1.0
_ROMAN: Final = ("I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X", "XI", "XII")
_UIAA_ARABIC = re.compile(r"(1[0-2]|[1-9])([+-]?)")


class UnknownGradeError(GripbookError):
    """A grade that the published comparison does not hold; none is guessed."""


@dataclass(frozen=True, slots=True)
class Grade:
    """
    A grade on the IRCRA scale (1 to 32, no unit).

    `index` is the middle of the rows the grade stands in, `low` and `high` its ends, for boulders
    plus or minus one at least. `discipline` is `route` or `boulder`.
    """

    index: float
    low: float
    high: float
    discipline: str


@cache
def _tables() -> dict[str, dict[str, tuple[str, list[int]]]]:
    """For each scale: key -> (grade as printed, its rows)."""
    out: dict[str, dict[str, tuple[str, list[int]]]] = {scale: {} for scale in _ORDER}
    for row, line in enumerate(_ROWS.splitlines(), start=1):
        for scale, cell in zip(_ORDER, line.split("|"), strict=True):
            for name in cell.strip().split("/"):
                if name:
                    out[scale].setdefault(name.lower(), (name, []))[1].append(row)
    return out


def _key(text: str, scale: str) -> str:
    """A grade as it is looked up: no blanks, lower case, UIAA digits as Roman numerals."""
    key = re.sub(r"\s+", "", text).replace("\u2212", "-").lower()
    if scale == "uiaa" and (arabic := _UIAA_ARABIC.fullmatch(key)):
        key = _ROMAN[int(arabic[1]) - 1].lower() + arabic[2]
    return key


def read_grade(text: str, scale: str) -> Grade:
    """
    Put a grade on the IRCRA scale.

    Parameters
    ----------
    text : the grade as written; case and blanks do not matter.
    scale : of the log format.

    Raises
    ------
    UnknownGradeError : the comparison has no such grade in this scale.

    >>> read_grade("7a", "french").index, read_grade("V4", "v").index
    (17.0, 18.0)
    """
    table = _tables()[scale]
    printed = table.get(_key(text, scale))
    if printed is None:
        near = " or ".join(near_grades(text, scale))
        raise UnknownGradeError(
            f"Grade {text[:40]!r} is in no row of the published comparison for the scale {scale}, "
            f"and none is guessed. {f'Did you mean {near}?' if near else 'Check grade and scale.'}"
        )
    rows = printed[1]
    index = (rows[0] + rows[-1]) / 2
    boulder = scale in BOULDER_SCALES
    half = max((rows[-1] - rows[0]) / 2, BOULDER_ERROR if boulder else 0.0)
    return Grade(index, index - half, index + half, "boulder" if boulder else "route")


def near_grades(text: str, scale: str) -> tuple[str, ...]:
    """Grades of a scale that may be meant by a text that is none, as printed."""
    names = {key: name for key, (name, _) in _tables()[scale].items()}
    key = _key(text[:40], scale)
    longer = [name for k, name in names.items() if key and k.startswith(key)]
    return tuple(longer or [names[k] for k in difflib.get_close_matches(key, list(names), 1, 0.6)])


@cache
def nearest_grade(index: float, scale: str) -> str:
    """
    Give the grade of a scale that stands nearest to an index, as printed; two in the middle.

    Only for an index that came from the same discipline: route and boulder are never chained.

    >>> nearest_grade(17, "french"), nearest_grade(17.5, "french")
    ('7a', '7a/7a+')
    """
    middles = [((rows[0] + rows[-1]) / 2, name) for name, rows in _tables()[scale].values()]
    least = min(abs(m - index) for m, _ in middles)
    near = sorted((m, name) for m, name in middles if abs(m - index) < least + 1e-9)
    return near[0][1] if near[0][0] == near[-1][0] else f"{near[0][1]}/{near[-1][1]}"
