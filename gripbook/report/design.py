"""What planned blocks can show, as text, JSON and a small page."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from gripbook import charts, html, layout
from gripbook.errors import GripbookError
from gripbook.logs import Logs
from gripbook.logs.block import read_block
from gripbook.logs.bounds import BLOCK_BYTES, read_file
from gripbook.report.next_block import plain_text
from gripbook.report.pictures import figure
from gripbook.reviews import review
from gripbook.reviews.design import Design, Way, design_block, design_next
from gripbook.words import design as words
from gripbook.words import fmt, messages
from gripbook.words.heads import HEADS


def designs(logs: Logs, athletes: Sequence[str] = ()) -> list[Design]:
    """
    What the coming block of each athlete could show.

    That is the block that is planned and has not begun by the log's last day, else the running one,
    else the one that is proposed.

    Raises
    ------
    UnknownAthleteError : names those there are.
    """
    out = []
    for athlete in athletes or logs.athlete_ids:
        logs.check_athlete(athlete)
        r = review(logs, athlete)
        ahead = [
            b.for_athlete(athlete)
            for b in logs.blocks
            if b.holds_for(athlete) and b.start > r.last.date()
        ]
        out.append(design_next(r, min(ahead, key=lambda b: b.start, default=None)))
    return out


def design_file(path: Path) -> Design:
    """
    What the block of a file could show, for an athlete of whom nothing is known.

    Raises
    ------
    GripbookError : the file can't be read or holds no block.
    """
    try:
        text = read_file(path, str(path), BLOCK_BYTES).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise GripbookError(f"{path} isn't UTF-8. Save it as UTF-8.") from error
    block, problems = read_block(text, path.name)
    if block is None:
        lines = ", ".join(f"line {p.line}" for p in problems if p.line) or "no block in it"
        raise GripbookError(
            f"{path}: {lines}. Put the file into a log folder; `gripbook check` says what to do."
        )
    return design_block(block)


def design_text(d: Design) -> str:
    """A design for the screen: a line a series, and what other ways would buy."""
    with fmt.in_mass_unit(d.units):
        lines = [words.title(d), *words.opening(d)]
        for x in d.of(Way.PLANNED):
            lines += [f"- {fmt.headed(words.series_name(x), words.rise(x))} ({words.detail(x)})"]
            for way in d.ways[1:]:
                other = d.other(x, way)
                if math.isfinite(x.rise_pct) or math.isfinite(other.rise_pct):
                    lines.append(f"    {fmt.headed(words.WAYS[way], words.rise(other))}")
        lines += words.closing(d)
    return "\n".join(plain_text(line) for line in lines) + "\n"


def design_json(made: Iterable[Design]) -> str:
    """
    The designs as a JSON list of objects, one a series and way.

    Keys: `athlete`, `block`, `way`, `capacity`, `grip`, `hand`, `rise_pct`, `rise_kg`,
    `smallest_pct`, `sets`, `test_days`; what can't be told is null.
    """
    rows = [
        {
            "athlete": d.athlete,
            "block": d.block.name,
            "way": x.way.value,
            "capacity": x.capacity,
            "grip": x.grip,
            "hand": x.hand,
            "rise_pct": _number(x.rise_pct),
            "rise_kg": _number(x.rise_kg),
            "smallest_pct": x.smallest_pct,
            "sets": x.sets,
            "test_days": x.test_days,
        }
        for d in made
        for x in d.lines
    ]
    return json.dumps(rows, ensure_ascii=False, indent=1) + "\n"


def _number(value: float) -> float | None:
    return round(value, 2) if math.isfinite(value) else None


def design_page(made: Sequence[Design]) -> str:
    """The designs as an offline page: a section each, with its chart and the table in a fold."""
    from gripbook.report.page.views import views_page  # nbconvert takes a second to load

    views: list[Any] = []
    for d in made:
        with fmt.in_mass_unit(d.units):
            views += _views(d)
    return views_page(views, title=words.TITLES["page"], lang=messages.language())


def _views(d: Design) -> Iterator[Any]:
    yield html.heading(2, words.title(d))
    yield from map(html.paragraph, words.opening(d))
    picture = charts.draw_design(d)
    if picture is not None:
        yield figure(picture)
    yield from map(html.paragraph, words.closing(d))
    if d.lines:
        yield layout.fold(words.TITLES["table"], "", _table(d))


def _table(d: Design) -> html.Fragment:
    rows = [
        {
            "series": words.series_name(x),
            "way": words.WAYS[x.way],
            "rise": words.rise(x),
            "rests": words.detail(x),
        }
        for planned in d.of(Way.PLANNED)
        for x in (d.other(planned, way) for way in d.ways)
        if x is planned or math.isfinite(x.rise_pct) or math.isfinite(planned.rise_pct)
    ]
    columns = {
        "series": HEADS["series"],
        "way": HEADS["way"],
        "rise": HEADS["smallest_rise"],
        "rests": HEADS["from"],
    }
    return layout.table(rows, words.TITLES["table"], columns=columns)
