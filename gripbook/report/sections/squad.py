"""The squad's page: whom to call first, a row an athlete, what changed together."""

from __future__ import annotations

from typing import Any, Literal

import numpy as np

from gripbook import html
from gripbook.report.names import page_names
from gripbook.report.sections.common import Parts, shown
from gripbook.reviews import SquadReview, SquadRow
from gripbook.reviews.squad import CAPACITIES, HEALTH, CapacityMark, SquadChange
from gripbook.words import fmt, say, squad

#: So many blocks are named in the title.
_BLOCKS_SHOWN = 2


def squad_opening(s: SquadReview) -> Parts:
    """Name, whom to call first, and what happened together."""
    blocks = s.blocks
    name = fmt.listing(blocks) if 0 < len(blocks) <= _BLOCKS_SHOWN else s.name
    who = fmt.count(len(s.rows), "{n} athlete", "{n} athletes")
    when = say("{athletes}, to {last}", athletes=who, last=fmt.day(s.last.date()))
    lines = []
    if first := squad.call_first(s):
        urgent = any(f.kind in HEALTH for row in s.by_need for f in row.flags)
        lines.append(html.lead_line(say("Call first"), first, wrong=urgent))
    lines += [html.lead_line(say("Together"), told) for told in squad.together(s.changes)]
    unplaced = None
    if s.unplaced:
        rows = fmt.count(s.unplaced, "{n} refused row", "{n} refused rows")
        unplaced = html.note(
            say(
                "{refused_rows} could be placed with no athlete; `gripbook check` lists them.",
                refused_rows=fmt.sentence(rows),
            )
        )
    top = (html.masthead(say("Squad"), name, when), html.lead(*lines), unplaced)
    return shown(*top, *_table(s))


def _table(s: SquadReview) -> Parts:
    """One row an athlete, those to call first on top, then by name."""
    names = page_names([*s.ids, *(row.athlete for row in s.rows)])
    flagged = [_line(row, names) for row in s.by_need if row.flags]
    others = [_line(row, names) for row in s.by_need if not row.flags]
    heads = [say("athlete"), say("what to know"), say("change, 90~% range")]
    found = [m for row in s.rows for m in row.marks if np.isfinite(m.low_pct)]
    low = min([0.0, *(m.low_pct for m in found)])
    high = max([10.0, *(m.high_pct for m in found)])
    ticks = [(float(v), _tick(v)) for v in range(-50, 101, 10) if low - 5 <= v <= high + 5]
    return (
        html.squad_table(say("Athletes"), heads, [flagged, others], ticks),
        html.note(
            say(
                "Change of the load they can hold or pull, end against start; pulls: the hand "
                "that gained less. Bold: the whole range lies on one side of no change. The order "
                "is reasons to call, then names."
            )
        ),
    )


def _tick(value: int) -> str:
    return say("no change") if value == 0 else fmt.with_unit(value, "%", 0, sign=True)


def _line(row: SquadRow, names: dict[str, str]) -> html.SquadLine:
    first, *more = squad.flags(row)
    about = [] if row.failed else [squad.verdicts(row), squad.notes(row)]
    weighty = html.accent(first) if row.flags and row.flags[0].kind in HEALTH else first
    if row.flags and row.flags[0].kind not in HEALTH:
        weighty = html.strong(first)
    know = html.join([weighty, *more])
    return html.SquadLine(
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


def _lane(capacity: str, mark: CapacityMark | None) -> html.Lane:
    assert mark is not None
    drawn = np.isfinite(mark.low_pct)
    return html.Lane(
        squad.LANES[capacity],
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
        told = say("Fewer than three athletes of one block have a measured change, so no average.")
        return (html.paragraph(told),)
    return (
        html.paragraph(squad.measured(s.changes)),
        html.fold(
            say("The figures as a table"),
            say("averages, how far they spread, and how much is chance"),
            html.bullets(map(squad.above, s.changes)),
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


def squad_about(s: SquadReview) -> Parts:
    """What the squad page must say."""
    told = [
        say("A row without a flag says what was logged, no more: nobody logged everything."),
        squad.hidden(s),
        say(
            "The pages hold health data: keep them where only those who need them can read them. "
            "results.csv is the coach's too."
        ),
    ]
    return (html.paragraph(" ".join(told)),)
