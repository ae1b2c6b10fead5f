"""The block before and this one side by side: what was done, and strength at both ends."""

from __future__ import annotations

from typing import Any

import pandas as pd

from gripbook import html, layout
from gripbook.explore import look
from gripbook.explore.opening import Explorer, choose
from gripbook.explore.time_view import drawn_sets, set_marks, set_rows
from gripbook.report.sections.earlier import what_differed
from gripbook.reviews import BlockReview, SeriesChange, review
from gripbook.reviews.change_facts import PathKind
from gripbook.reviews.earlier import TwoBlocks
from gripbook.words import earlier as words
from gripbook.words import fmt
from gripbook.words.fmt import in_own_units
from gripbook.words.series import SHOWN_AS

Name = tuple[str, str, str]
ONE_BLOCK = (
    "No block before this one can be compared. Where the log holds two, give each a block file: "
    "copy {file} as {copy}, write the other block's name, start, weeks and phases in it, and "
    "choose Run > Run All Cells."
)


@in_own_units
def blocks(x: Explorer, *, capacity: str = "", grip: str = "", hand: str = "") -> tuple[Any, ...]:
    """
    The block before beside this one: sets and strength by week, on one scale, with their figures.

    Only series that both blocks hold are compared, and only sets on an edge and a board that both
    have. The series can be chosen in the chart.

    Parameters
    ----------
    x : from `open_log`.
    capacity, grip, hand : the series chosen at first; empty: the headline.

    Raises
    ------
    GripbookError : no such series.
    """
    two = x.review.earlier.two
    if two is None:
        return (html.paragraph(_one_block(x)),)
    if not two.pairs:
        return what_differed(two) or (html.paragraph(_one_block(x)),)
    before = review(x.logs, x.review.athlete.id, two.before.name)
    known = [_name(pair.now) for pair in two.pairs]
    asked = choose(x, capacity, grip, hand)
    first = asked if asked in known else known[0]
    shared = _shared(two)
    sides = [_sets(r, shared) for r in (before, x.review)]
    title = f"{x.review.athlete.name}: {two.before.name} and {two.now.name}"
    table = _table(two, sides, shown=x.review.athlete.show_body_mass)
    names = {"/".join(n): _words(n) for n in known}
    chart = look.finished(
        [
            look.sentence(look.case("series", names)),
            {
                "hconcat": [
                    _side(r.block.name, rows, paths, max(two.before.weeks, two.now.weeks))
                    for r, rows, paths in zip((before, x.review), sides, _paths(two), strict=True)
                ],
                "resolve": {"scale": {"y": "shared"}},
            },
        ],
        title,
        f"{names['/'.join(first)]}: {_told(first, two, sides)}.",
        controls=[look.select("series", "Series", list(names), "/".join(first), names)],
    )
    return chart, table, *what_differed(two)


def _one_block(x: Explorer) -> str:
    """What it takes to compare two blocks, with the files' names."""
    file = x.review.block.file or "block.toml"
    stem = file.removesuffix(".toml")
    return ONE_BLOCK.format(file=file, copy=f"{stem}-2.toml")


def _name(s: SeriesChange) -> Name:
    return s.capacity, s.grip, s.hand


def _words(name: Name) -> str:
    return f"{fmt.sentence(fmt.EXERCISE_WORDS[name[0]])}, {fmt.series(name[1], name[2])}"


def _shared(two: TwoBlocks) -> set[tuple[Name, str, str]]:
    """Series with each edge and board that both blocks have; a missing edge is like another."""
    return {(_name(pair.now), edge, board) for pair in two.pairs for edge, board in pair.places}


def _sets(r: BlockReview, shared: set[tuple[Name, str, str]]) -> pd.DataFrame:
    """One block's sets that compare, with `at`: weeks since its start, counted from 1."""
    rows = set_rows(r)
    names = zip(rows["exercise"], rows["grip"], rows["hand"], strict=True)
    places = zip(names, rows["edge_mm"].map(str), rows["board"], strict=True)
    rows = rows[[place in shared for place in places]]
    days = (rows["date"] - pd.Timestamp(r.block.start)).dt.days
    return rows.assign(at=1 + days / 7)


def _paths(two: TwoBlocks) -> list[list[dict[str, Any]]]:
    """Estimated strength of every pair in both blocks; none where it would be a bound."""
    found: list[list[dict[str, Any]]] = [[], []]
    starts = two.before.start, two.now.start
    for pair in two.pairs:
        for rows, s, start in zip(found, (pair.before, pair.now), starts, strict=True):
            if s.path_kind is not PathKind.ESTIMATE:
                continue
            path = s.path[s.path["kg"].notna()]
            path = path.assign(at=1 + (path["day"] - pd.Timestamp(start)).dt.days / 7)
            one = {"name": "/".join(_name(s)), "colour": look.grip_colour(s.grip)}
            columns = {"at": "at", "kg": "kg", "low_kg": "low", "high_kg": "high"}
            rows += [{**row, **one} for row in look.records(path, columns)]
    return found


def _side(title: str, rows: pd.DataFrame, paths: list[dict[str, Any]], weeks: int) -> Any:
    """One block's panel, its weeks on an axis as long as the longer block's."""
    axis = {"values": list(range(1, weeks + 1)), "format": "d", "grid": False}
    scale = {"domain": [0.8, weeks + 1], "nice": False}
    place = {
        "x": look.number("at", "week", scale=scale, axis=axis),
        "y": look.number("kg", fmt.mass_unit(), scale={"zero": False, "padding": 10}),
    }
    chosen = look.keep("datum.name === series")
    data = [
        {**row, "at": round(float(at), 3), "name": f"{row['capacity']}/{row['grip']}/{row['hand']}"}
        for row, at in zip(drawn_sets(rows), rows["at"], strict=True)
    ]
    marks = set_marks(place)
    layers = [
        look.part(
            look.packed(data),
            "point",
            marks,
            chosen,
            look.keep("isValid(datum.kg)"),
            style={"size": 55, "opacity": 0.85, "strokeWidth": 1.5},
        )
    ]
    if paths:
        lines, colour = look.packed(paths), look.plain("colour")
        band = {**place, "y": {**place["y"], "field": "low"}, "y2": {"field": "high"}}
        layers[:0] = [
            look.part(lines, "area", {**band, "color": colour}, chosen, style={"opacity": 0.14}),
            look.part(lines, "line", {**place, "color": colour}, chosen, style={"strokeWidth": 2}),
        ]
    size = {"width": look.HALF, "height": 220}
    return {"title": {"text": title, "fontSize": 13}, "layer": layers, **size}


def _told(name: Name, two: TwoBlocks, sides: list[pd.DataFrame]) -> str:
    """Sets and days of one series in both blocks."""
    told = []
    for block, rows in zip((two.before, two.now), sides, strict=True):
        own = _own(rows, name)
        sets = fmt.count(int(own["sets"].sum()), "{n} set", "{n} sets")
        days = fmt.count(own["date"].nunique(), "{n} day", "{n} days")
        told.append(f"{sets} on {days} in {block.name}")
    return ", ".join(told)


def _own(rows: pd.DataFrame, name: Name) -> pd.DataFrame:
    capacity, grip, hand = name
    return rows[(rows["exercise"] == capacity) & (rows["grip"] == grip) & (rows["hand"] == hand)]


def _table(two: TwoBlocks, sides: list[pd.DataFrame], *, shown: bool) -> html.Fragment:
    """A row for each series and block: what was done on shared edges, and strength."""
    out = []
    for pair in two.pairs:
        for block, rows, s in zip(
            (two.before, two.now), sides, (pair.before, pair.now), strict=True
        ):
            own = _own(rows, _name(s))
            mastered = own[own["outcome"].isin(["finished", "pull"])]["shown_kg"]
            out.append(
                {
                    "series": _words(_name(s)),
                    "block": block.name,
                    "sets": int(own["sets"].sum()),
                    "days": own["date"].nunique(),
                    "minutes": float(own["minutes"].sum()),
                    "best": fmt.own_mass(float(mastered.max())) if mastered.notna().any() else "",
                    "strength": words.ends(s, shown=True) if shown else "",
                    "change": words.ends(s, shown=False),
                }
            )
    kinds = {SHOWN_AS[k] for rows in sides for k in rows["shown_as"] if k}
    what = kinds.pop() if len(kinds) == 1 else "as shown for each set"
    unit = fmt.mass_unit()
    columns = {
        "series": "series",
        "block": "block",
        "sets": "sets",
        "days": "days",
        "minutes": "minutes under load",
        "best": f"heaviest finished ({unit}, {what})",
        "strength": f"strength, start to end ({unit})",
        "change": "change (90\u00a0% range)",
    }
    if not shown:
        del columns["strength"]
    caption = "Sets on edges and boards that both blocks have"
    return layout.table(out, caption, columns=columns)
