"""
The parts of a page: its head, tables, folds, calendar, plan and the squad's rows.

Their look is the style of `report/page`; all are complete without script. Text is escaped by
`html`, as everywhere.
"""

from __future__ import annotations

import datetime as dt
import numbers as _numbers
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, Literal

from gripbook.html import Fragment, escape, link, markup, over, paragraph
from gripbook.words import fmt

if TYPE_CHECKING:
    import pandas as pd


#: Most rows of a table on a page.
ROWS = 400
#: Most bytes of what a fold and a section of a page hold: nine sections keep it under 3 MB.
FOLD_BYTES = 200_000
SECTION_BYTES = 300_000
#: Most bytes of the rows of the squad's table: about 2 000 athletes, the page still under 3 MB.
SQUAD_BYTES = 1_800_000

#: Shown where nothing was recorded.
NOT_RECORDED = "–"


def _is_missing(value: object) -> bool:
    try:
        return value is None or value == "" or bool(value != value)  # NaN, NaT
    except TypeError:  # pandas' NA refuses to be true or false
        return True


def _is_number(value: object) -> bool:
    return isinstance(value, _numbers.Real) and not isinstance(value, bool)


def cell_text(value: object) -> str:
    """
    Words of a table cell: numbers to one decimal at most, dates written out.

    Nothing recorded (None, "", NaN, NaT, NA) is a dash. Pass a format to `table` for anything else.
    """
    if _is_missing(value):
        return NOT_RECORDED
    if isinstance(value, bool) or type(value).__name__ == "bool":  # numpy's own bool as well
        return "yes" if value else "no"
    if isinstance(value, dt.date):  # a pandas Timestamp is one too
        return fmt.day(value)
    if isinstance(value, _numbers.Real):
        return fmt.number(float(value))
    return str(value)


def table(
    rows: pd.DataFrame | Sequence[Mapping[str, Any]],
    caption: str | Fragment,
    *,
    columns: Mapping[str, str] | None = None,
    formats: Mapping[str, Callable[[Any], str]] | None = None,
    row_header: str | None = None,
    numbers: Iterable[str] = (),
    empty: str = "Nothing was recorded.",
    stack: bool = False,
) -> Fragment:
    """
    Make an accessible table: a caption, one header row, scoped headers, its own scroll box.

    Parameters
    ----------
    rows : DataFrame (its index is left out) or a sequence of mappings with the same keys. A cell
        may hold a `Fragment`.
    caption : what the table shows, with the units that all its numbers share.
    columns : key -> words of the column's header, in the order shown; default: all, by their keys.
    formats : key -> function that writes a recorded value; one not recorded stays a dash.
        Default: `cell_text`, but a column of numbers has the same decimals in all its rows.
    row_header : key of the column whose cells head their rows; default: the first one.
    numbers : columns to set as figures (right aligned) though their values are text.
    empty : sentence shown in place of a table without rows.
    stack : on a phone each row is a block, a line for each column that holds something; for
        tables of many columns or long words.

    Raises
    ------
    KeyError : `columns`, `formats`, `row_header` or `numbers` names a column that the rows lack.
    """
    if isinstance(rows, Sequence):
        records = [dict(row) for row in rows]
        keys = list(records[0]) if records else list(columns or ())
    else:
        keys = [str(column) for column in rows.columns]
        records = [
            dict(zip(keys, row, strict=True)) for row in rows.itertuples(index=False, name=None)
        ]
    shown = dict(columns) if columns is not None else {key: key for key in keys}
    formats = dict(formats or {})
    header_key = row_header if row_header is not None else next(iter(shown), None)
    figures = set(numbers)
    wanted = [*shown, *formats, *sorted(figures), *([] if header_key is None else [header_key])]
    for key in wanted:
        if key not in keys:
            raise KeyError(f"table has no column {key!r}; it has {', '.join(keys) or 'none'}")
    if not records or not shown:
        return paragraph(empty)

    for key in shown:
        values = [record[key] for record in records if not _is_missing(record[key])]
        if values and all(_is_number(value) for value in values):
            figures.add(key)
            if key not in formats:
                digits = 0 if all(float(value).is_integer() for value in values) else 1
                formats[key] = partial(fmt.number, digits=digits, trim=False)
    kinds = {key: ' class="number"' if key in figures else "" for key in shown}

    # rows shown as blocks lose what the elements mean, so a stacked table says it in roles
    def role(name: str) -> str:
        return f' role="{name}"' if stack else ""

    def cell(key: str, record: Mapping[str, Any]) -> str:
        value = record[key]
        words: str | Fragment
        if isinstance(value, Fragment):
            words = value
        elif _is_missing(value) or key not in formats:
            words = cell_text(value)
        else:
            words = formats[key](value)
        names = [name for name, true in (("number", key in figures),) if true]
        if stack and key != header_key and not isinstance(value, Fragment) and _is_missing(value):
            names.append("empty")
        extra = f' class="{" ".join(names)}"' if names else ""
        if stack and key != header_key:
            extra += f' data-label="{escape(shown[key])}"'
        if key == header_key:
            if stack and key in figures:  # no header stands over a bare number then
                extra += f' data-label="{escape(shown[key])}"'
            return f'<th scope="row"{role("rowheader")}{extra}>{markup(words)}</th>'
        return f"<td{role('cell')}{extra}>{markup(words)}</td>"

    head = "".join(
        f'<th scope="col"{role("columnheader")}{kinds[key]}' + f">{markup(words)}</th>"
        for key, words in shown.items()
    )
    half = len(records) - ROWS // 2
    body = "\n".join(
        _few(
            [
                f"<tr{role('row')}>" + "".join(cell(key, record) for key in shown) + "</tr>"
                if not ROWS // 2 <= i < half
                else ""  # left out
                for i, record in enumerate(records)
            ],
            len(shown),
        )
    )
    kind = ' class="stacked" role="table"' if stack else ""
    # The box scrolls sideways on a phone. It takes the focus so that the arrow keys can move it,
    # and is named by the caption so that a screen reader says what took the focus.
    label = escape(repr(caption) if isinstance(caption, Fragment) else caption)
    return Fragment(
        f'<section class="scroll" role="group" tabindex="0" aria-label="{label}">\n'
        f"<table{kind}>\n<caption>{markup(caption)}</caption>\n"
        f"<thead><tr{role('row')}>{head}</tr></thead>\n"
        f"<tbody>\n{body}\n</tbody>\n</table>\n</section>"
    )


def _few(rows: list[str], columns: int) -> list[str]:
    """The first and the last rows of a long table, and between them how many are left out."""
    left = len(rows) - ROWS
    if left <= 0:
        return rows
    half = ROWS // 2
    words = markup(fmt.rows_left_out(left))
    between = f'<tr role="row"><td role="cell" colspan="{columns}">{words}</td></tr>'
    return [*rows[:half], between, *rows[-half:]]


def masthead(title: str, *lines: str, name: str = "") -> Fragment:
    """
    Head of a page: what it is of, large, and beside it lines that break only between each other.

    Parameters
    ----------
    title : heading of level 1, an athlete's name for one.
    lines : the block, its dates.
    name : how a browser calls the page; empty: the title.
    """
    parts = " ".join(f"<span>{markup(line)}</span>" for line in lines if line)
    beside = f"\n<p>{parts}</p>" if parts else ""
    return Fragment(
        f'<header class="masthead" data-title="{escape(name or title)}">\n'
        f'<h1 id="top"><bdi>{escape(title)}</bdi></h1>{beside}\n</header>'
    )


def lead(*lines: Fragment) -> Fragment:
    """The lines that answer first, of `lead_line`; nothing for none."""
    body = "\n".join(line.html for line in lines)
    return Fragment(f'<dl class="lead">\n{body}\n</dl>' if body else "")


def lead_line(word: str, sentence: str | Fragment, *, wrong: bool = False) -> Fragment:
    """One line of `lead`: its word in the margin and what it says; `wrong` has the accent."""
    css = ' class="wrong"' if wrong else ""
    return Fragment(f"<div{css}><dt>{markup(word)}</dt> <dd>{markup(sentence)}</dd></div>")


def aside(text: str) -> Fragment:
    """Words in the margin beneath a section's heading: the unit, what is compared."""
    return Fragment(f'<p class="aside">{markup(text)}</p>' if text else "")


def note(text: str | Fragment) -> Fragment:
    """What a reader may pass over: how to read a figure, what a code means."""
    return Fragment(f'<p class="note">{markup(text)}</p>')


def caution(lead: str, text: str | Fragment = "") -> Fragment:
    """A warning that stands at the thing it is about; its first words have the accent."""
    rest = f" {markup(text)}" if text else ""
    return Fragment(f'<p class="caution"><strong>{markup(lead)}</strong>{rest}</p>')


def fold(title: str, holds: str, *fragments: Fragment) -> Fragment:
    """
    Give a fold that works without script; nothing for nothing to fold.

    Parameters
    ----------
    title : what it is.
    holds : what is in it, in a line; may be empty.
    """
    body = "\n".join(f.html for f in fitting(fragments, FOLD_BYTES) if f.html)
    if not body:
        return Fragment("")
    head = f"<b>{markup(title)}</b>"
    summary = fmt.headed(head, markup(holds)) if holds else head
    return Fragment(
        f'<details>\n<summary>{summary}</summary>\n<div class="inside">\n{body}\n</div>\n</details>'
    )


def fitting(fragments: Iterable[Fragment], most: int) -> list[Fragment]:
    """
    The fragments that find room in so many bytes, and how much was left out.

    A log may be of any size, a page may not.
    """
    kept: list[Fragment] = []
    left: list[int] = []
    for fragment in fragments:
        size = len(fragment.html.encode())
        if size <= most:
            most -= size
            kept.append(fragment)
        else:
            left.append(size)
    if left:
        kept.append(note(fmt.parts_left_out(len(left), sum(left))))
    return kept


def terms(items: Iterable[tuple[str, str | Fragment]]) -> Fragment:
    """Short answers, each with its word before it; nothing for none."""
    body = "\n".join(
        f"<div><dt>{markup(word)}</dt> <dd>{markup(says)}</dd></div>" for word, says in items
    )
    return Fragment(f'<dl class="terms">\n{body}\n</dl>' if body else "")


def record_table(
    name: str,
    heads: Sequence[str],
    rows: Iterable[Sequence[str | Fragment]],
) -> Fragment:
    """
    Make a table whose rows are a thing each; on a phone two columns stand beneath its name.

    Parameters
    ----------
    name : what the table shows, for who hears it.
    heads : words over the columns after the first.
    rows : what the row is of (see `over`), then a cell for each head; "" is left blank.
    """
    body = []
    for first, *cells in rows:
        if len(cells) != len(heads):
            raise ValueError(f"a row of {len(cells)} cells under {len(heads)} heads")
        body.append(
            f'<tr role="row"><th scope="row" role="rowheader">{markup(first)}</th>'
            + "".join(
                f'<td role="cell" data-label="{escape(head)}">{markup(cell)}</td>'
                for head, cell in zip(heads, cells, strict=True)
            )
            + "</tr>"
        )
    if not body:
        return Fragment("")
    body = _few(body, len(heads) + 1)
    over_columns = '<td role="cell"></td>' + "".join(_head(head) for head in heads)
    return _grid("records", name, over_columns, [body])


def _head(words: str, css: str = "") -> str:
    if not words:  # an empty header cell would be read as a heading of nothing
        return f'<td role="cell"{css}></td>'
    return f'<th scope="col" role="columnheader"{css}>{markup(words)}</th>'


def _grid(
    kind: str,
    name: str,
    head: str,
    groups: Iterable[Sequence[str]],
    *,
    foot: str = "",
    style: str = "",
) -> Fragment:
    """A table; its roles are written out, as a phone shows its rows as blocks."""
    bodies = "\n".join("<tbody>\n" + "\n".join(rows) + "\n</tbody>" for rows in groups)
    return Fragment(
        f'<table class="{kind}" role="table" aria-label="{escape(name)}"{style}>\n'
        f'<thead><tr role="row">{head}</tr></thead>\n{bodies}{foot}\n</table>'
    )


def _phase(name: str, says: str | Fragment, width: int) -> str:
    words = f" <span>{markup(says)}</span>" if says else ""
    return (
        f'<tr class="phase" role="row"><th scope="rowgroup" role="rowheader" colspan="{width}">'
        f"<b>{markup(name)}</b>{words}</th></tr>"
    )


#: How much a day's code weighs: a finger test, a finger session, other work, rest, what is to come.
CodeKind = Literal["test", "fingers", "other", "rest", "planned", "planned-test"]


_CODES: dict[CodeKind, tuple[str, str]] = {
    "test": ('<b class="accent">', "</b>"),
    "fingers": ("<b>", "</b>"),
    "other": ("", ""),
    "rest": ('<span class="faint">', "</span>"),
    "planned": ("<i>", "</i>"),
    "planned-test": ('<i class="accent">', "</i>"),
}


def codes(items: Iterable[tuple[str, CodeKind]]) -> Fragment:
    """Short codes of what was done on a day, beside each other; their meaning stands in `key`."""
    return Fragment(
        " ".join(f"{_CODES[kind][0]}{markup(code)}{_CODES[kind][1]}" for code, kind in items)
    )


def key(items: Iterable[tuple[str, CodeKind, str]], more: str = "") -> Fragment:
    """What the codes of a calendar mean: code, weight, words; and what else is to be known."""
    parts = [
        f"{codes([(code, kind)]).html}\N{NO-BREAK SPACE}{markup(words)}"
        for code, kind, words in items
    ]
    if more:
        parts.append(markup(more))
    return Fragment(f'<p class="note key">{", ".join(parts)}</p>')


@dataclass(frozen=True)
class CalendarWeek:
    """A row of `calendar`: the week's number and first day, seven days, and what was noted."""

    number: str
    date: str
    days: Sequence[Fragment]
    note: str | Fragment = ""


def calendar(
    name: str,
    heads: Sequence[str],
    phases: Iterable[tuple[str, str | Fragment, Sequence[CalendarWeek]]],
) -> Fragment:
    """
    Make a calendar: weeks down, days across, a row over each phase, notes at the right.

    Parameters
    ----------
    name : what it shows, for who hears it.
    heads : "week" and the seven days.
    phases : name of the phase ("" for none), what was done of it, its weeks.
    """
    if len(heads) != 8:
        raise ValueError(f"a calendar has 8 heads, for the week and its days, not {len(heads)}")
    groups = []
    for phase, done, weeks in phases:
        rows = [_phase(phase, done, 9)] if phase and weeks else []
        for week in weeks:
            if len(week.days) != 7:
                raise ValueError(f"week {week.number} has {len(week.days)} days")
            days = "".join(f'<td role="cell">{day.html}</td>' for day in week.days)
            date = f" <span>{markup(week.date)}</span>" if week.date else ""
            rows.append(
                f'<tr role="row"><th scope="row" role="rowheader">{markup(week.number)}{date}</th>'
                f'{days}<td role="cell" class="note">{markup(week.note)}</td></tr>'
            )
        if rows:
            groups.append(rows)
    if not groups:
        return Fragment("")
    head = "".join(_head(words) for words in heads) + _head("", ' class="note"')
    return _grid("calendar", name, head, groups)


def plan(
    name: str,
    heads: Sequence[str],
    phases: Iterable[tuple[str, str | Fragment, Sequence[Sequence[str | Fragment]]]],
) -> Fragment:
    """
    Make a plan: a row a week or day, under a row for each phase.

    Parameters
    ----------
    name : what it shows, for who hears it.
    heads : words over week, beginning, load and remark; "" for none.
    phases : name of the phase, its conditions, its rows of four cells each.
    """
    groups = []
    for phase, conditions, lines_of in phases:
        rows = [_phase(phase, conditions, 4)] if phase and lines_of else []
        for week, start, load, remark in lines_of:
            rows.append(
                f'<tr role="row"><th scope="row" role="rowheader">{markup(week)}</th>'
                f'<td role="cell">{markup(start)}</td><td role="cell">{markup(load)}</td>'
                f'<td role="cell" class="note">{markup(remark)}</td></tr>'
            )
        if rows:
            groups.append(rows)
    if not groups:
        return Fragment("")
    return _grid("plan", name, "".join(_head(words) for words in heads), groups)


@dataclass(frozen=True)
class Lane:
    """
    One kind of work in a squad's row.

    `word` names it, `says` is its range in figures, or why there is none. `low`, `value` and
    `high` are per cent, all None where there is no range. `shape` is the mark's. `clear`: the whole
    range lies on one side of no change.
    """

    word: str
    says: str
    low: float | None = None
    value: float | None = None
    high: float | None = None
    shape: Literal["circle", "square", "diamond"] = "circle"
    clear: bool = False


@dataclass(frozen=True)
class SquadLine:
    """A row of `squad_table`: who, with a link, what was done, what to know, more, the lanes."""

    name: str
    target: str
    done: str
    know: str | Fragment
    more: str
    lanes: Sequence[Lane]


#: Width and height of the drawing of a lane, in its own units.
_LANE = (200.0, 16.0)


def squad_table(
    name: str,
    heads: Sequence[str],
    groups: Iterable[Sequence[SquadLine]],
    ticks: Sequence[tuple[float, str]],
) -> Fragment:
    """
    Make the squad's table: a row an athlete, changes as ranges on one scale.

    Parameters
    ----------
    name : what it shows, for who hears it.
    heads : words over athlete, what to know, change.
    groups : the rows, the weightiest first; an ink rule parts groups. As many as `SQUAD_BYTES`
        hold are shown, the others counted.
    ticks : values of the scale in per cent with their words, rising. The scale reaches from the
        first to the last, and further where a range does.
    """
    groups = [list(group) for group in groups]
    lanes_of_all = [lane for group in groups for athlete in group for lane in athlete.lanes]
    ends = [end for lane in lanes_of_all for end in (lane.low, lane.high) if end is not None]
    ends += [tick for tick, _ in ticks]
    low, high = min(ends), max(ends)

    def x(value: float) -> float:
        return (value - low) / (high - low) * _LANE[0]

    bodies = []
    room, left_out = SQUAD_BYTES, 0
    for group in groups:
        rows = []
        for athlete in group:
            if left_out:
                left_out += 1
                continue
            lanes = "".join(_lane(lane, x) for lane in athlete.lanes)
            more = f" <small>{markup(athlete.more)}</small>" if athlete.more else ""
            who = over(link(athlete.name, athlete.target), athlete.done)
            row = (
                f'<tr role="row"><th scope="row" role="rowheader">{who.html}</th>'
                f'<td role="cell">{markup(athlete.know)}{more}</td>'
                f'<td role="cell" class="lanes">{lanes}</td></tr>'
            )
            room -= len(row.encode())
            if room < 0:
                left_out += 1
            else:
                rows.append(row)
        if rows:
            bodies.append(rows)
    if left_out:
        words = markup(fmt.athletes_left_out(left_out))
        bodies.append([f'<tr role="row"><td role="cell" colspan="3">{words}</td></tr>'])
    if not bodies:
        return Fragment("")
    scale = "".join(
        f'<span class="{"zero" if value == 0 else "tick"}" style="left:{x(value) / _LANE[0]:.1%}">'
        f"<b>{markup(words)}</b></span>"
        for value, words in ticks
    )
    foot = (
        '\n<tfoot aria-hidden="true"><tr><td></td><td></td><td><div class="scale">'
        f"{scale}</div></td></tr></tfoot>"
    )
    head = "".join(_head(words) for words in heads)
    zero = f' style="--zero:{x(0) / _LANE[0]:.4f}"'
    return _grid("squad", name, head, bodies, foot=foot, style=zero)


def _lane(lane: Lane, x: Callable[[float], float]) -> str:
    width, height = _LANE
    middle = height / 2
    mark = ""
    if lane.low is not None and lane.value is not None and lane.high is not None:
        left, at, right = x(lane.low), x(lane.value), x(lane.high)
        bar = (
            f'<rect class="bar" x="{left:.1f}" y="{middle - 3.5:g}" '
            f'width="{right - left:.1f}" height="7"/>'
        )
        shapes = {
            "circle": f'<circle cx="{at:.1f}" cy="{middle:g}" r="4"/>',
            "square": f'<rect x="{at - 3.6:.1f}" y="{middle - 3.6:g}" width="7.2" height="7.2"/>',
            "diamond": f'<path d="M{at:.1f} {middle - 5:g}l5 5l-5 5l-5-5z"/>',
        }
        mark = bar + shapes[lane.shape]
    says = markup(lane.says)
    if lane.clear:
        figures = f"<b>{says}</b>"
    else:
        figures = f"<span>{says}</span>" if mark else f"<i>{says}</i>"
    drawing = (
        f'<svg viewBox="0 0 {width:g} {height:g}" aria-hidden="true" focusable="false">{mark}</svg>'
    )
    return f'<div class="lane"><span>{markup(lane.word)}</span> {drawing} {figures}</div>'
