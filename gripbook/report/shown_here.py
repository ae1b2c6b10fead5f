"""What a notebook shows for a review, logs or a chart that stands alone in a cell."""

from __future__ import annotations

import math

from gripbook import html, layout
from gripbook.charts import Picture
from gripbook.html import Fragment
from gripbook.logs import Logs
from gripbook.report.pictures import alone
from gripbook.reviews import BlockReview, SeriesChange, SquadReview
from gripbook.words import fmt, series, strength
from gripbook.words.fmt import in_own_units
from gripbook.words.lead import LEAD_WORDS, lead


def html_of(thing: object) -> str:
    """
    Markup of a `Picture`, `BlockReview`, `SquadReview` or `Logs`.

    Raises
    ------
    TypeError : anything else.
    """
    if isinstance(thing, Picture):
        return alone(thing).html
    if isinstance(thing, BlockReview):
        return _review(thing).html
    if isinstance(thing, SquadReview):
        return _squad(thing).html
    if isinstance(thing, Logs):
        return _logs(thing).html
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
    caption = f"{squad.name}: {fmt.athletes(len(rows))}"
    return layout.table(rows, caption, empty="No athlete in these logs.")


def _logs(logs: Logs) -> Fragment:
    rows = [
        {"file": r.file, "rows": r.rows_read, "used": r.rows_used, "refused": r.rows_refused}
        for r in logs.reports
    ]
    known = fmt.athletes(len(logs.athlete_ids))
    caption = f"{logs.folder.name}: {known}; .problems says what was refused and why"
    return layout.table(rows, caption, empty="No file was read.")
