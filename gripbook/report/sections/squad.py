"""The squad's page."""

from __future__ import annotations

from typing import Any

import numpy as np

from gripbook import html
from gripbook.html import Fragment
from gripbook.report.names import page_names
from gripbook.report.sections.common import FIGURES, Parts, of_planned
from gripbook.reviews import SquadReview, SquadRow
from gripbook.reviews.squad import CAPACITIES, CapacityChange, SquadChange
from gripbook.words import fmt, say

#: So many names stand in the opening; beyond it the table tells.
_NAMES_SHOWN = 12
#: So many of them with their reason.
_REASONS_SHOWN = 2
#: So many blocks are named in the title.
_BLOCKS_SHOWN = 2


def squad_opening(s: SquadReview) -> Parts:
    """Title, whom to open first, and what the page is."""
    blocks = s.blocks
    name = fmt.listing(blocks) if 0 < len(blocks) <= _BLOCKS_SHOWN else s.name
    text = say(
        "{athletes}, logs in {folder}, to {last}. This is the coach's own page; the "
        "athletes' pages do not link to it or to each other.",
        athletes=fmt.sentence(fmt.count(len(s.rows), "{n} athlete", "{n} athletes")),
        folder=s.name,
        last=fmt.day(s.last.date()),
    )
    parts: list[Any] = [html.heading(1, say("Squad: {name}", name=name))]
    first = [row for row in s.by_need if row.open_first]
    if first:
        parts.append(html.paragraph(_open_first(s, first)))
    parts.append(html.paragraph(text))
    if s.unplaced:
        parts.append(
            html.paragraph(
                say(
                    "{refused_rows} could be placed with no athlete; `gripbook check` lists them.",
                    refused_rows=fmt.sentence(
                        fmt.count(s.unplaced, "{n} refused row", "{n} refused rows")
                    ),
                )
            )
        )
    return tuple(parts)


def _open_first(s: SquadReview, first: list[SquadRow]) -> Fragment:
    """Whose page to open first and why, each name a link; then the other names."""
    pages = page_names([*s.ids, *(row.athlete for row in s.rows)])
    links = {f"\ue000{n}\ue001": _page(row, pages) for n, row in enumerate(first[:_NAMES_SHOWN])}
    names = list(links)  # in place of names: what a name reads like can't be mistaken
    told = [
        say("Open first: {name}. {why}.", name=name, why=row.open_first)
        if n == 0
        else say("Then {name}. {why}.", name=name, why=row.open_first)
        for n, (name, row) in enumerate(zip(names, first[:_REASONS_SHOWN], strict=False))
    ]
    others = names[_REASONS_SHOWN:]
    if len(first) > _NAMES_SHOWN:
        others.append(
            say("{names_shown} more, in the table's order", names_shown=len(first) - _NAMES_SHOWN)
        )
    if others:
        told.append(say("Then {names}.", names=fmt.listing(others)))
    return html.filled(" ".join(told), links)


def _page(row: SquadRow, pages: dict[str, str]) -> Fragment:
    return html.link(row.name, pages[row.athlete])


def squad_table(s: SquadReview) -> Parts:
    """One row an athlete, those to open first on top, then by name; sortable by script."""
    names = page_names([*s.ids, *(row.athlete for row in s.rows)])
    known = [c for c in CAPACITIES if any(row.change_in(c) for row in s.rows)]
    ends = {c: _ends(s, c) for c in known}
    rows = [_row(place, row, names, ends) for place, row in enumerate(s.by_need)]
    columns = {"name": say("athlete"), "first": say("open first because")}
    sort = {"name": ("name_key", "ascending"), "first": ("place", "ascending")}
    if len({row.block for row in s.rows if row.block}) > 1:
        columns["block"] = say("block")
        sort["block"] = ("block", "ascending")
    for capacity in known:
        columns[capacity] = say(
            "{exercise_words}: change", exercise_words=fmt.EXERCISE_WORDS[capacity]
        )
        sort[capacity] = (f"{capacity}_key", "descending")
    columns |= {
        "sessions": say("finger sessions"),
        "breaches": say("dose limits broken"),
        "pain": say("pain"),
        "since": say("days since last entry"),
    }
    sort |= {
        "sessions": ("share", "ascending"),
        "breaches": ("breaches", "descending"),
        "pain": ("flags", "descending"),
        "since": ("since", "descending"),
    }
    return (
        html.table(
            rows,
            say(
                "Change in kg: verdict and the range that holds it in nine of ten cases, "
                "drawn as a line (upright: no change). Finger sessions done of planned; "
                "limits not kept; days to the squad's last entry, {last}",
                last=fmt.day(s.last.date()),
            ),
            columns=columns,
            numbers=["breaches", "since"],
            sort=sort,
        ),
    )


def _ends(s: SquadReview, capacity: str) -> tuple[float, float]:
    """Ends of a capacity's drawings: the same for all athletes, zero within."""
    found = [c for row in s.rows for c in (row.change_in(capacity),) if c is not None]
    return min(0.0, *(c.low_kg for c in found)), max(0.0, *(c.high_kg for c in found))


def _row(
    place: int, row: SquadRow, names: dict[str, str], ends: dict[str, tuple[float, float]]
) -> dict[str, Any]:
    planned = row.sessions_planned
    cells: dict[str, Any] = {
        "name": html.join([_page(row, names), html.small(say("under 18"))])
        if row.minor
        else _page(row, names),
        "name_key": row.name.casefold(),
        "first": say("The review failed: {failed}", failed=row.failed)
        if row.failed
        else row.open_first or say("no reason logged"),
        "place": place,
        "block": row.block,
        "sessions": ""
        if row.sessions_done is None
        else of_planned(row.sessions_done, np.nan if planned is None else float(planned)),
        "share": row.sessions_done / planned if row.sessions_done is not None and planned else None,
        "breaches": row.breaches,
        "pain": row.pain_words,
        "flags": row.pain_flags,
        "since": row.days_since_last,
    }
    for capacity, (least, most) in ends.items():
        change = row.change_in(capacity)
        cells[capacity] = _change(change, least, most) if change else say("not measured")
        cells[f"{capacity}_key"] = change.change_kg if change else None
    return cells


def _change(c: CapacityChange, least: float, most: float) -> Fragment:
    line = html.interval_line(c.low_kg, c.high_kg, c.change_kg, least, most)
    return html.lines(c.words, line, html.small(c.series))


def squad_change(s: SquadReview) -> Parts:
    """What changed in the squad over each block, and how much of the differences is noise."""
    if not s.changes:
        return (
            html.paragraph(
                say(
                    "Fewer than three athletes of one block have a change that was measured, "
                    "so nothing is said of the squad."
                )
            ),
        )
    return (
        html.bullets(" ".join(c.sentences) for c in s.changes),
        html.paragraph(
            say(
                "The average weighs each athlete by how well the log tells the change, "
                "and lets true changes differ. There is no group without a block beside "
                "it, so it says what happened over the block, not what the block did. "
                "Each athlete's own row counts for that athlete, not the average."
            )
        ),
        html.details(
            say(FIGURES),
            html.table(
                [_squad_figures(c) for c in s.changes],
                say(
                    "Change over the block in per cent with 90 % ranges; spread: SD of the "
                    "true changes; last columns: athletes above the smallest change that "
                    "matters"
                ),
                stack=True,
                columns={
                    "what": say("capacity, block"),
                    "n": say("athletes"),
                    "mean": say("average"),
                    "range": say("range"),
                    "spread": say("spread"),
                    "spread_range": say("its range"),
                    "shown": say("above, as estimated"),
                    "noise": say("had nobody changed"),
                    "alike": say("had all changed alike"),
                    "share": say("true share above (%)"),
                },
                numbers=["mean", "range", "spread", "spread_range", "noise", "alike", "share"],
            ),
            html.paragraph(
                say(
                    "Random-effects mean (REML; range after Hartung and Knapp); spread and "
                    "share as in Swinton and others 2018, Frontiers in Nutrition 5:41, with "
                    "each athlete's own error in place of a control group. The model's "
                    "caution about each athlete is taken out before, so that it does not "
                    "hide differences."
                )
            ),
        ),
    )


def _pct(log: float, *, sign: bool = False) -> str:
    return fmt.number(100 * float(np.expm1(log)), 1, sign=sign, trim=False)


def _squad_figures(c: SquadChange) -> dict[str, Any]:
    p = c.pooled
    return {
        "what": f"{fmt.EXERCISE_WORDS[c.capacity]}, {c.block}",
        "n": p.n,
        "mean": _pct(p.mean, sign=True),
        "range": say("{pct} to {pct_2}", pct=_pct(p.low, sign=True), pct_2=_pct(p.high, sign=True)),
        "spread": _pct(p.spread),
        "spread_range": say("{pct} to {pct_2}", pct=_pct(p.spread_low), pct_2=_pct(p.spread_high)),
        "shown": c.shown,
        "noise": fmt.number(c.by_noise),
        "alike": fmt.number(c.by_alike),
        "share": fmt.number(100 * c.share, 0),
    }


def squad_cautions(s: SquadReview) -> Parts:
    """What the squad page must say."""
    return (
        html.bullets(
            [
                say(
                    "A row without a reason to open it first is not a row without trouble: "
                    "it says what was logged, no more."
                ),
                say(
                    "No athlete is ranked; the order is reasons to look, then names. "
                    "Kilograms of two athletes do not compare: a heavier climber's change is "
                    "larger for the same share."
                ),
                say(
                    "The pages hold health data (pain, illness, body mass). Keep them where "
                    "only those who need them can read them, and delete them on request. "
                    "results.csv is the coach's too: from a load and the weight added body "
                    "mass can be worked out, also for athletes whose pages hide it."
                ),
            ]
        ),
    )
