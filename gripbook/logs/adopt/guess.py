"""The first draft of a map: what headers and values say, and a question for what they don't."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Final

from gripbook.logs.adopt.map_file import DAY, HELD, NO_YEAR, QUESTION, Map, SheetMap, tokens
from gripbook.logs.adopt.take import (
    SHARED,
    apart,
    body_rows,
    header_of,
    is_sum,
    lacks_year,
    short_day,
    year_in,
)
from gripbook.logs.canonical import NotReadError, Reading, allowed_words, canonical
from gripbook.logs.schema import FILES
from gripbook.logs.spreadsheet import Sheet
from gripbook.logs.words_read import (
    bare,
    columns_named,
    is_total,
    may_be_any_mass,
    may_be_two_days,
    number_in,
    proven_order,
    proves_added,
)

#: Rows at the top among which the header is looked for.
_HEADER_WITHIN: Final = 20
#: Ways in which people write several things in one cell, the fullest first.
PATTERNS: Final = (
    "{hand} {grip} {edge_mm} mm",
    "{grip} {hand} {edge_mm} mm",
    "{grip} {edge_mm} mm",
    "{grip} ({edge_mm} mm)",
    "{grip}, {edge_mm} mm",
    "{edge_mm} mm {grip}",
    "{grip} {edge_in} in",
    "{grip} {edge_mm}",
    "{sets}x{reps}x{hang_s}s/{rest_s}s",
    "{sets}x{reps} {hang_s}/{rest_s}",
    "{sets}x{reps} {hang_s}:{rest_s}",
    "{reps}x{hang_s}/{rest_s}",
    "{hang_s}/{rest_s} x {reps}",
    "{hang_s}/{rest_s}",
    "{sets}x{hang_s}s {added_kg} kg",
    "{sets}x{hang_s}s",
    "{sets}x{hang_s} sec",
    "{added_kg} kg x {hang_s} s",
    "{added_kg} kg {hang_s} s",
)
_NUMBERED: Final = re.compile(
    r"(?:set|satz|serie|série|s|#)[\s.]*(\d+)\b\W*(.*?)\W*", re.IGNORECASE
)
#: What the unit behind such a number says.
_OF_UNIT: Final = {"kg": "added_kg", "lb": "added_lb", "lbs": "added_lb", "s": HELD, "sec": HELD}
#: Of a column's words, so many must fit a pattern before it is proposed.
_SHARE: Final = 0.5


def guess(sheets: Sequence[Sheet], reading: Reading) -> Map:
    """The draft for some sheets: those with the same header share a section."""
    kinds: dict[tuple[str, ...], list[tuple[Sheet, int, int]]] = {}
    for sheet in sheets:
        place = _header_place(sheet)
        if place is None:
            continue
        header = tuple(header_of(sheet, *place))
        kinds.setdefault(header, []).append((sheet, *place))
    days: list[str] = []
    sections = []
    taken = []
    for header, members in kinds.items():
        section, seen = _section(header, members, reading, sheets)
        if not _says_something(section, header):
            continue
        sections.append(section)
        taken.append([sheet for sheet, _, _ in members])
        days += seen
    order = proven_order(days)
    unsure = order is None and any(may_be_two_days(day) for day in days)
    made = Map(QUESTION if unsure else (order or ""), tuple(sections))
    known = replace(reading, order=made.order)
    return replace(
        made,
        sheets=tuple(
            _with_values(section, members, known)
            for section, members in zip(made.sheets, taken, strict=True)
        ),
    )


def _says_something(section: SheetMap, header: Sequence[str]) -> bool:
    """Whether more than whose and which day it is was known of a sheet's columns."""
    named = {c.column for name in header for file in FILES for c in columns_named(name, file)}
    return bool(named - {*SHARED} or section.patterns or section.sets)


def _header_place(sheet: Sheet) -> tuple[int, int] | None:
    """Row of a sheet's header from 1 and how many rows it has, None for a sheet without rows."""
    best, at = 0, None
    for i, row in enumerate(sheet.rows[:_HEADER_WITHIN]):
        filled = [cell for cell in row if cell]
        known = sum(_is_name(cell) for cell in filled)
        if known > best or (at is None and len(filled) > 1):
            best, at = known, i
    if at is None:
        return None
    above = any(top == at - 1 and right > left for top, left, _, right in sheet.merged)
    over = any(top == at and right > left for top, left, _, right in sheet.merged)
    down = any(top == at - 1 and bottom == at for top, _, bottom, _ in sheet.merged)
    if above or down:
        return at, 2
    return at + 1, 2 if over else 1


def _is_name(cell: str) -> bool:
    return bool(_NUMBERED.fullmatch(cell)) or any(columns_named(cell, file) for file in FILES)


def _main_file(header: Sequence[str]) -> str:
    """The file of the log that most of a header's names are of, finger work before others."""

    def named(file: str) -> int:
        return sum(bool(columns_named(name, file)) for name in header if name)

    if any(c.column in ("grip", "edge_mm") for n in header for c in columns_named(n, "hangs")):
        return "hangs"
    return max(FILES, key=named)


def _section(
    header: Sequence[str],
    members: Sequence[tuple[Sheet, int, int]],
    reading: Reading,
    sheets: Sequence[Sheet],
) -> tuple[SheetMap, list[str]]:
    """The section for sheets with one header, without its words, and the days they hold."""
    first, row, rows = members[0]
    labels = {sheet.label for sheet, _, _ in members}
    of_file = {sheet.label for sheet in sheets if sheet.file == first.file}
    whole = bool(first.name) and len(labels) > 1 and labels == of_file
    plan = SheetMap(
        sheets=(f"{first.file}#*",) if whole else tuple(sorted(labels)),
        into=_main_file(header),
        header_row=row,
        header_rows=rows,
    )
    table = [cells for sheet, _, _ in members for _, cells in body_rows(sheet, plan)]
    totals = tuple(sorted({c for cells in table if is_total(c := _first(cells))}))
    plan = replace(plan, ignore=totals)
    table = [cells for cells in table if not is_sum(cells, plan)]
    texts = {
        name: Counter(cells[name] for cells in table if cells.get(name))
        for name in (n or f"column {k + 1}" for k, n in enumerate(header))
    }
    texts = {name: count for name, count in texts.items() if count}
    numbered: dict[str, list[str]] = {}
    for name in header:
        if match := _NUMBERED.fullmatch(name):
            numbered.setdefault(match.group(2).lower(), []).append(name)
    numbered = {unit: names for unit, names in numbered.items() if len(names) > 1}
    unpivot = {name for names in numbered.values() for name in names}
    columns, patterns = _columns([n for n in texts if n not in unpivot], texts, plan, reading)
    plan = replace(plan, columns=_unsure_of_weight(columns, texts, plan), patterns=patterns)
    columns = dict(plan.columns)
    date = next((source for source, name in columns.items() if name == "date"), "")
    if date:
        shared = [n for n in (date, _source(columns, "athlete")) if n]
        plan = replace(plan, fill_down=tuple(n for n in shared if texts[n].total() < len(table)))
        if any(lacks_year(text) for text in texts[date]):
            plan = replace(plan, columns=columns | {date: DAY})
            if not all(year_in(sheet.name) for sheet, _, _ in members):
                plan = replace(plan, year=NO_YEAR)
    sets: dict[str, tuple[str, ...]] = {}
    for unit, names in numbered.items():
        cells = [text for name in names for text in texts.get(name, ())]
        held = _OF_UNIT.get(unit) or _of_sets(cells, plan)
        sets[held if held not in sets else QUESTION] = tuple(names)
    plan = replace(plan, sets=sets)
    given = {
        *plan.columns.values(),
        *(t for ps in patterns.values() for p in ps for t in tokens(p)),
    }
    given |= set(sets)
    plan = replace(plan, default=_defaults(given, plan))
    seen = list(texts.get(date, ()))
    # any leap year shows as well which of two numbers is the month
    seen += [f"{m[1]}{m[2]}{m[3]}{m[2]}2000" for day in seen if (m := short_day(day))]
    return plan, seen


def _source(columns: Mapping[str, str], name: str) -> str:
    return next((source for source, target in columns.items() if target == name), "")


def _first(cells: Mapping[str, str]) -> str:
    return next((text for text in cells.values() if text), "")


def _columns(
    names: Sequence[str], texts: Mapping[str, Counter[str]], plan: SheetMap, reading: Reading
) -> tuple[dict[str, str], dict[str, tuple[str, ...]]]:
    """What each column is, and the ways to take apart those that hold several things."""
    columns: dict[str, str] = {}
    patterns: dict[str, tuple[str, ...]] = {}
    taken: set[str] = set()
    for name in names:
        named = _named(name, plan.into)
        plain = [n for n in named if n not in taken]
        if plain and _mostly_read(texts[name], plain[0], plan, reading):
            columns[name] = plain[0]
            taken.add(plain[0])
            continue
        ways = _patterns(texts[name], plan, taken, reading)
        if ways:
            patterns[name] = ways
            taken |= {t for way in ways for t in tokens(way)}
        elif plain:
            columns[name] = plain[0]
            taken.add(plain[0])
        elif named:
            columns[name] = ""  # another column is that already
        else:
            columns[name] = ""
    return columns, patterns


def _unsure_of_weight(
    columns: Mapping[str, str], texts: Mapping[str, Counter[str]], plan: SheetMap
) -> dict[str, str]:
    """The columns, with a question for `Weight` where it may be body mass as well."""
    masses = texts.get(_source(columns, "body.body_mass_kg"), ())
    return {
        source: QUESTION
        if name.startswith("added_")
        and may_be_any_mass(source)
        and not proves_added(texts[source], plan.target(name).factor, masses)
        else name
        for source, name in columns.items()
    }


def _named(name: str, into: str) -> list[str]:
    """The columns of the log that a name may mean, the sheet's own file first."""
    if into == "hangs" and any(bare(name) == bare(w) for w in _BODY_MASS):
        return ["body.body_mass_kg"]
    read = [_with_unit(c.column, c.factor) for c in columns_named(name, into)]
    if read or into != "hangs":
        return read
    return [
        f"{file}.{_with_unit(c.column, c.factor)}"
        for file, wanted in _BESIDE.items()
        for c in columns_named(name, file)
        if c.column in wanted
    ]


#: Names of body mass that a sheet of hangs can't mean otherwise.
_BODY_MASS: Final = ("body weight", "bodyweight", "bw", "body mass", "körpergewicht", "kgw", "pdc")
#: What a sheet of hangs often holds besides, by file.
_BESIDE: Final = {
    "body": ("body_mass_kg",),
    "sessions": ("minutes", "effort", "start"),
    "pain": ("level", "site", "sign"),
}


def _with_unit(column: str, factor: float) -> str:
    """The name of a column in the unit of its factor."""
    if abs(factor - 1) < 1e-9:
        return column
    stem = column.rpartition("_")[0] or column
    for one, unit in ((0.45359237, "lb"), (25.4, "in"), (10.0, "cm"), (60.0, "min")):
        if abs(factor - one) < 1e-9:
            return f"{stem}_{unit}"
    return column


def _mostly_read(texts: Mapping[str, int], name: str, plan: SheetMap, reading: Reading) -> bool:
    """Whether most of a column's cells are what `name` holds, or words that can be asked for."""
    target = plan.target(name)
    read = 0
    for text in texts:
        try:
            canonical(text, target.column, reading, target.factor)
            read += 1
        except NotReadError:
            if target.column.kind == "date":
                read += 1  # the order may not be known yet
            elif allowed_words(target.column) and not re.search(r"\d", text):
                read += 1  # a word to ask for
    return read > _SHARE * len(texts)


def _patterns(
    texts: Mapping[str, int], plan: SheetMap, taken: set[str], reading: Reading
) -> tuple[str, ...]:
    """The ways that take most of a column's words apart; empty where there is none."""
    if plan.into != "hangs":
        return ()
    left = set(texts)
    ways: list[str] = []
    for pattern in PATTERNS:
        if taken & set(tokens(pattern)):
            continue
        fits = {text for text in left if _fits(text, pattern, plan, reading)}
        if fits:
            ways.append(pattern)
            left -= fits
    return tuple(ways) if len(left) < (1 - _SHARE) * len(texts) else ()


def _fits(text: str, pattern: str, plan: SheetMap, reading: Reading) -> bool:
    try:
        parts = apart(text, (pattern,), plan)
    except NotReadError:
        return False
    for name, part in parts.items():
        target = plan.target(name)
        try:
            canonical(part, target.column, reading, target.factor)
        except NotReadError:
            if target.column.name != "grip":  # a grip can be asked for, half a number can't
                return False
    return True


def _of_sets(cells: Iterable[str], plan: SheetMap) -> str:
    """What the cells of `set 1` ... `set n` are: a question unless their unit says it."""
    column = FILES["hangs"].by_name["added_kg"]
    cells = list(cells)
    weight = sum(
        text.startswith(("+", "-", "\u2212")) or number_in(text, column) is not None
        for text in cells
    )
    if weight > _SHARE * len(cells) and "added_kg" not in plan.columns.values():
        return "added_kg"
    time = FILES["hangs"].by_name["failed_s"]
    held = sum(number_in(text, time) is not None for text in cells)
    return HELD if held > _SHARE * len(cells) else QUESTION


def _defaults(given: set[str], plan: SheetMap) -> dict[str, str]:
    """What no column says: asked for, but for a plain `both` hands."""
    default: dict[str, str] = {}
    needed = [c.name for c in FILES[plan.into].columns if c.needed]
    for name in needed:
        if name in given or (name == "date" and DAY in given):
            continue
        if name == "hand":
            default[name] = "both"
        elif name == "exercise" and {"rest_s", "reps"} <= given:
            default[name] = "repeater"
        else:
            default[name] = QUESTION
    if plan.into == "hangs":
        if "edge_mm" not in given and not given & {"edge_in", "edge_cm"}:
            default["edge_mm"] = QUESTION
        if "hang_s" not in given and default.get("exercise") != "pull":
            default["hang_s"] = QUESTION
    return default


def _with_values(plan: SheetMap, sheets: Sequence[Sheet], reading: Reading) -> SheetMap:
    """The section with a question for each word that has no one meaning."""
    asked: dict[str, dict[str, str]] = {}
    for sheet in sheets:
        for _, cells in body_rows(sheet, plan):
            if is_sum(cells, plan):
                continue
            for name, text in _words_of(cells, plan):
                target = plan.target(name)
                if not allowed_words(target.column) or target.column.name == "site":
                    continue
                try:
                    canonical(text, target.column, reading)
                except NotReadError:
                    asked.setdefault(name, {})[text] = QUESTION
    return replace(plan, values=asked)


def _words_of(cells: Mapping[str, str], plan: SheetMap) -> Iterable[tuple[str, str]]:
    """The cells of a row by column of the log."""
    for source, name in plan.columns.items():
        if name not in ("", QUESTION, DAY, HELD) and cells.get(source):
            yield name, cells[source]
    for source, patterns in plan.patterns.items():
        if cells.get(source):
            try:
                yield from apart(cells[source], patterns, plan).items()
            except NotReadError:
                continue
