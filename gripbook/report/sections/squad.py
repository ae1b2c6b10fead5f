"""The squad's page: whom to call first, a row an athlete, what changed together."""

from __future__ import annotations

from typing import Any, Literal

import numpy as np

from gripbook import html, layout
from gripbook.report.names import page_names
from gripbook.report.sections.common import Parts, shown
from gripbook.reviews import SquadReview, SquadRow
from gripbook.reviews.squad import CAPACITIES, HEALTH, CapacityMark, SquadChange
from gripbook.words import fmt, methods, squad
from gripbook.words.heads import HEADS

#: So many blocks are named in the title.
_BLOCKS_SHOWN = 2
#: So many blocks have their averages told at the head of the page.
_BLOCKS_TOLD = 10
#: A scale wider than this has a tick each 20 %, else each 10 %.
_FEW_TICKS_PCT = 25.0


def squad_opening(s: SquadReview) -> Parts:
    """Name, whom to call first, and what happened together."""
    blocks = s.blocks
    name = fmt.listing(blocks) if 0 < len(blocks) <= _BLOCKS_SHOWN else s.name
    when = squad.covers(len(s.rows), s.last.date())
    lines = []
    if first := squad.call_first(s):
        urgent = any(f.kind in HEALTH for row in s.by_need for f in row.flags)
        lines.append(layout.lead_line(squad.TITLES["call_first"], first, wrong=urgent))
    together = squad.together(s.changes)
    left = len(together) - _BLOCKS_TOLD
    lines += [
        layout.lead_line(squad.TITLES["together"], told)
        for told in (*together[:_BLOCKS_TOLD], *([squad.more_together(left)] if left > 0 else []))
    ]
    unplaced = None
    if s.unplaced:
        unplaced = layout.note(squad.unplaced(s.unplaced))
    top = (layout.masthead(squad.TITLES["squad"], name, when), layout.lead(*lines), unplaced)
    return (*shown(*top), *_table(s))  # the table has a limit of its own


def _table(s: SquadReview) -> Parts:
    """One row an athlete, those to call first on top, then by name."""
    names = page_names([*s.ids, *(row.athlete for row in s.rows)])
    flagged = [_line(row, names) for row in s.by_need if row.flags]
    others = [_line(row, names) for row in s.by_need if not row.flags]
    heads = [HEADS["athlete"], HEADS["what_to_know"], HEADS["change_90__range"]]
    measured = [m for row in s.rows for m in row.marks if np.isfinite(m.low_pct)]
    low = min([0.0, *(m.low_pct for m in measured)])
    high = max([10.0, *(m.high_pct for m in measured)])
    # on a wide scale the words of neighbours would run into each other
    step = 20 if high - low > _FEW_TICKS_PCT else 10
    ticks = [(float(v), squad.tick(v)) for v in range(-60, 101, step) if low - 5 <= v <= high + 5]
    return (
        layout.squad_table(squad.TITLES["athletes"], heads, [flagged, others], ticks),
        layout.note(squad.TITLES["how_to_read"]),
    )


def _line(row: SquadRow, names: dict[str, str]) -> layout.SquadLine:
    first, *more = squad.flags(row)
    about = [] if row.failed else [squad.verdicts(row), squad.notes(row)]
    weighty = html.accent(first) if row.flags and row.flags[0].kind in HEALTH else first
    if row.flags and row.flags[0].kind not in HEALTH:
        weighty = html.strong(first)
    know = html.join([weighty, *more])
    return layout.SquadLine(
        row.name,
        names[row.athlete],
        squad.sessions(row),
        know,
        " ".join(filter(None, about)),
        [_lane(c, row.mark_in(c)) for c in CAPACITIES if row.mark_in(c) is not None],
    )


_SHAPES: dict[str, Literal["circle", "square", "diamond"]] = {
    "hang": "circle",
    "repeater": "square",
    "pull": "diamond",
}


def _lane(capacity: str, mark: CapacityMark | None) -> layout.Lane:
    assert mark is not None
    drawn = np.isfinite(mark.low_pct)
    return layout.Lane(
        fmt.WORK_WORDS[capacity],
        squad.lane(mark),
        mark.low_pct if drawn else None,
        mark.change_pct if drawn else None,
        mark.high_pct if drawn else None,
        _SHAPES[capacity],
        clear=mark.sure,
    )


def squad_together(s: SquadReview) -> Parts:
    """Behind the average: how many were measured, what chance would show, the figures."""
    if not s.changes:
        text = squad.TITLES["too_few"]
        return (html.paragraph(text),)
    return shown(
        html.paragraph(squad.measured(s.changes)),
        layout.fold(
            squad.TITLES["figures"],
            squad.TITLES["figures_hold"],
            html.bullets(map(squad.above, s.changes)),
            layout.table(
                [_figures(c) for c in s.changes],
                squad.TITLES["pooled"],
                stack=True,
                columns={
                    "what": HEADS["capacity_block"],
                    "n": HEADS["athletes"],
                    "mean": HEADS["average"],
                    "range": HEADS["range"],
                    "spread": HEADS["spread"],
                    "spread_range": HEADS["its_range"],
                    "differ": HEADS["differ"],
                    "shown": HEADS["above_as_estimated"],
                    "noise": HEADS["had_nobody_changed"],
                    "alike": HEADS["had_all_changed_alike"],
                    "share": HEADS["true_share_above"],
                },
                numbers=["mean", "range", "spread", "spread_range", "noise", "alike", "share"],
            ),
            html.paragraph(squad.TITLES["method"]),
        ),
    )


def _pct(log: float, *, sign: bool = False) -> str:
    return fmt.number(100 * float(np.expm1(log)), 1, sign=sign, trim=False)


def _figures(c: SquadChange) -> dict[str, Any]:
    p = c.pooled
    return {
        "what": f"{fmt.WORK_WORDS[c.capacity]}, {c.block}",
        "n": p.n,
        "mean": _pct(p.mean, sign=True),
        "range": fmt.low_to_high(_pct(p.low, sign=True), _pct(p.high, sign=True)),
        "spread": _pct(p.spread),
        "spread_range": fmt.low_to_high(_pct(p.spread_low), _pct(p.spread_high)),
        "differ": squad.differ(sure=c.differ),
        "shown": c.shown,
        "noise": fmt.number(c.by_noise),
        "alike": fmt.number(c.by_alike),
        "share": fmt.number(100 * c.share, 0),
    }


def squad_about(s: SquadReview) -> Parts:
    """What the squad page must say."""
    parts = [
        squad.TITLES["no_flag"],
        squad.hidden(s),
        methods.checked(),
        squad.TITLES["health_data"],
    ]
    return shown(html.paragraph(" ".join(filter(None, parts))))
