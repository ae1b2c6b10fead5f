"""What a notebook shows for a review, logs or a chart that stands alone in a cell."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, Final

from gripbook import html, layout
from gripbook.charts import Picture
from gripbook.html import Fragment
from gripbook.logs import Logs
from gripbook.report.pictures import alone
from gripbook.reviews import BlockReview, NextBlock, SeriesChange, SquadReview
from gripbook.reviews.columns import columns_of, row_of
from gripbook.reviews.squad import SQUAD_FRAMES, SquadTables
from gripbook.reviews.tables import FRAMES, Tables
from gripbook.strength import NoiseScales
from gripbook.words import fmt, series, strength
from gripbook.words import next as words
from gripbook.words.fmt import in_own_units
from gripbook.words.lead import LEAD_WORDS, lead


def html_of(thing: object) -> str:
    """
    Markup of what a notebook shows by itself.

    A `Picture`, `Logs`, a review of an athlete or the squad, its tables, a proposal, noise scales.

    Raises
    ------
    TypeError : anything else.
    """
    for kind, made in _SHOWN.items():
        if isinstance(thing, kind):
            return made(thing).html
    raise TypeError(f"{type(thing).__name__} has no display.")


@in_own_units
def _review(review: BlockReview) -> Fragment:
    """The first screen's lines, and a row a series."""
    lines = [
        html.paragraph(html.strong(LEAD_WORDS[one.word]), " ", one.text) for one in lead(review)
    ]
    rows = [_series(s) for s in review.change.series]
    caption = f"{review.athlete.name}, {review.block.name}: .tables has all figures as frames"
    return html.join([*lines, layout.table(rows, caption, empty="No series to compare.")])


def _series(s: SeriesChange) -> dict[str, str]:
    said = strength.verdict(s.verdict, s.tenths)
    ranged = series.range_kg(s.low_kg, s.high_kg) if math.isfinite(s.low_kg) else ""
    return {"series": series.name(s), "change": said, "90 % range": ranged}


def _squad(squad: SquadReview) -> Fragment:
    rows = [
        {"athlete": row.name or row.athlete, "block": row.block, "flags": len(row.flags)}
        for row in squad.by_need
    ]
    caption = f"{squad.name}: {fmt.athletes(len(rows))}; .tables has all figures as frames"
    return layout.table(rows, caption, empty="No athlete in these logs.")


def _tables(tables: Tables | SquadTables) -> Fragment:
    names = FRAMES if isinstance(tables, Tables) else SQUAD_FRAMES
    rows = [
        {
            "table": name,
            "rows": len(getattr(tables, name)),
            "holds": row_of(name),
            "columns": ", ".join(column.name for column in columns_of(name)),
        }
        for name in names
    ]
    return layout.table(rows, ".columns tells type, unit and meaning of every column")


def _plan(plan: NextBlock) -> Fragment:
    """What stands over the plan, and a row a load."""
    with fmt.in_mass_unit(plan.units):
        said = [*words.opening(plan), *map(words.before_text, plan.before)]
        rows = [{"load": load, "because": why} for load, why in words.why_lines(plan)]
        caption = f"{plan.athlete}, from {fmt.day(plan.start)}: .table() has every session"
        table = layout.table(rows, caption, empty="No load is proposed.")
        return html.join([*map(html.paragraph, said), table])


def _noise(noise: NoiseScales) -> Fragment:
    rows = [
        {"differ": name, "SD": f"{100 * value:.1f}{fmt.NBSP}%"}
        for name, value in (
            ("days", math.hypot(noise.day, noise.capacity_day)),
            ("timed hangs of a day", noise.hang),
            ("repeaters of a day", noise.repeater),
            ("pulls of a day", noise.pull),
        )
    ]
    over = f"estimated over {fmt.athletes(noise.athletes)}" if noise.athletes else "the defaults"
    return layout.table(rows, f"How much good and bad days and sets differ: {over}")


def _logs(logs: Logs) -> Fragment:
    rows = [
        {"file": r.file, "rows": r.rows_read, "used": r.rows_used, "refused": r.rows_refused}
        for r in logs.reports
    ]
    known = fmt.athletes(len(logs.athlete_ids))
    caption = f"{logs.folder.name}: {known}; .problems says what was refused and why"
    return layout.table(rows, caption, empty="No file was read.")


_SHOWN: Final[dict[type, Callable[[Any], Fragment]]] = {
    Picture: alone,
    BlockReview: _review,
    SquadReview: _squad,
    Tables: _tables,
    SquadTables: _tables,
    NextBlock: _plan,
    NoiseScales: _noise,
    Logs: _logs,
}
