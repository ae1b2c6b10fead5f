"""The squad's page: whom to call first, a row an athlete, what changed together."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from gripbook import html
from gripbook.html import Fragment
from gripbook.report.names import page_names
from gripbook.report.sections.common import FIGURES, Parts
from gripbook.reviews import SquadReview, SquadRow
from gripbook.reviews.squad import CAPACITIES, CapacityMark, SquadChange
from gripbook.words import fmt, say, squad

#: So many blocks are named in the title.
_BLOCKS_SHOWN = 2


def squad_opening(s: SquadReview) -> Parts:
    """Title, whom to call first, and what happened together."""
    blocks = s.blocks
    name = fmt.listing(blocks) if 0 < len(blocks) <= _BLOCKS_SHOWN else s.name
    text = say(
        "{athletes}, logs in {folder}, to {last}.",
        athletes=fmt.sentence(fmt.count(len(s.rows), "{n} athlete", "{n} athletes")),
        folder=s.name,
        last=fmt.day(s.last.date()),
    )
    parts: list[Any] = [html.heading(1, say("Squad: {name}", name=name)), html.paragraph(text)]
    if first := squad.call_first(s):
        parts.append(_led(say("Call first"), first))
    parts += [_led(say("Together"), told) for told in squad.together(s.changes)]
    if s.unplaced:
        rows = fmt.count(s.unplaced, "{n} refused row", "{n} refused rows")
        told = say(
            "{refused_rows} could be placed with no athlete; `gripbook check` lists them.",
            refused_rows=fmt.sentence(rows),
        )
        parts.append(html.paragraph(told))
    return tuple(parts)


def _led(word: str, text: str) -> Fragment:
    return html.paragraph(html.join([html.strong(word), text]))


def squad_table(s: SquadReview) -> Parts:
    """One row an athlete, those to call first on top, then by name."""
    names = page_names([*s.ids, *(row.athlete for row in s.rows)])
    lanes = [c for c in CAPACITIES if any(row.mark_in(c) for row in s.rows)]
    ends = _ends(s)
    rows = [_row(place, row, names, lanes, ends) for place, row in enumerate(s.by_need)]
    columns = {"name": say("athlete"), "know": say("what to know")}
    sort = {"name": ("name_key", "ascending"), "know": ("place", "ascending")}
    if len(s.blocks) > 1:
        columns["block"] = say("block")
        sort["block"] = ("block", "ascending")
    columns |= {c: squad.LANES[c] for c in lanes}
    caption = say(
        "Change of the load they can hold or pull over the block, with its 90~% range; of two "
        "hands the one that gained less. Bold: the whole range lies on one side of no change. The "
        "order is reasons to call, then names."
    )
    return (html.table(rows, caption, columns=columns, sort=sort),)


def _ends(s: SquadReview) -> tuple[float, float]:
    """Ends of the one scale that all ranges are drawn on, in per cent, zero within."""
    found = [m for row in s.rows for m in row.marks if np.isfinite(m.low_pct)]
    return min([0.0, *(m.low_pct for m in found)]), max([1.0, *(m.high_pct for m in found)])


def _row(
    place: int,
    row: SquadRow,
    names: dict[str, str],
    lanes: Iterable[str],
    ends: tuple[float, float],
) -> dict[str, Any]:
    flags = squad.flags(row)
    first = html.strong(flags[0]) if row.flags else flags[0]
    about = [] if row.failed else [squad.verdicts(row), squad.notes(row)]
    link = html.link(row.name, names[row.athlete])
    cells: dict[str, Any] = {
        "name": html.lines(link, html.small(squad.sessions(row))),
        "name_key": row.name.casefold(),
        "know": html.lines(first, *flags[1:], html.small(" ".join(filter(None, about)))),
        "place": place,
        "block": row.block,
    }
    for capacity in lanes:
        mark = row.mark_in(capacity)
        cells[capacity] = _lane(mark, ends) if mark else ""
    return cells


def _lane(m: CapacityMark, ends: tuple[float, float]) -> Fragment:
    text = squad.lane(m)
    if not np.isfinite(m.low_pct):
        return html.small(text)
    line = html.interval_line(m.low_pct, m.high_pct, m.change_pct, *ends)
    return html.lines(html.strong(text) if m.sure else text, line)


def squad_change(s: SquadReview) -> Parts:
    """Behind the average: how many were measured, what chance would show, the figures."""
    if not s.changes:
        told = say("Fewer than three athletes of one block have a measured change, so no average.")
        return (html.paragraph(told),)
    return (
        html.paragraph(squad.measured(s.changes)),
        html.bullets(map(squad.above, s.changes)),
        html.details(
            say(FIGURES),
            html.table(
                [_figures(c) for c in s.changes],
                say(
                    "Change over the block in per cent with 90~% ranges; spread: SD of the true "
                    "changes; last columns: athletes above the smallest change that matters"
                ),
                stack=True,
                columns={
                    "what": say("capacity, block"),
                    "n": say("athletes"),
                    "mean": say("average"),
                    "range": say("range"),
                    "spread": say("spread"),
                    "spread_range": say("its range"),
                    "differ": say("differ"),
                    "shown": say("above, as estimated"),
                    "noise": say("had nobody changed"),
                    "alike": say("had all changed alike"),
                    "share": say("true share above (%)"),
                },
                numbers=["mean", "range", "spread", "spread_range", "noise", "alike", "share"],
            ),
            html.paragraph(
                say(
                    "Random-effects mean (REML; range after Hartung and Knapp); spread and share "
                    "as in Swinton and others 2018, Frontiers in Nutrition 5:41, with each "
                    "athlete's own error in place of a control group. The model's caution about "
                    "each athlete is taken out before, so that it does not hide differences. "
                    "Whether they differ: Cochran's Q, its 5~% shared out over the capacities."
                )
            ),
        ),
    )


def _pct(log: float, *, sign: bool = False) -> str:
    return fmt.number(100 * float(np.expm1(log)), 1, sign=sign, trim=False)


def _figures(c: SquadChange) -> dict[str, Any]:
    p = c.pooled
    return {
        "what": f"{squad.LANES[c.capacity]}, {c.block}",
        "n": p.n,
        "mean": _pct(p.mean, sign=True),
        "range": say("{low} to {high}", low=_pct(p.low, sign=True), high=_pct(p.high, sign=True)),
        "spread": _pct(p.spread),
        "spread_range": say("{low} to {high}", low=_pct(p.spread_low), high=_pct(p.spread_high)),
        "differ": say("yes") if c.differ else say("can't tell"),
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
                    "A row without a flag says what was logged, no more: nobody logged everything."
                ),
                say("No athlete is ranked; the order is reasons to call, then names."),
                squad.hidden(s),
                say(
                    "The pages hold health data (pain, illness, body mass). Keep them where only "
                    "those who need them can read them, and delete them on request. results.csv "
                    "is the coach's too: from a load and the weight added body mass can be worked "
                    "out."
                ),
            ]
        ),
    )
