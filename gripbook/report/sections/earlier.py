"""Earlier blocks: a line each, the strength path across them."""

from __future__ import annotations

import math

from gripbook import charts, html
from gripbook.report.sections.common import Parts, drawn
from gripbook.reviews import BlockReview
from gripbook.reviews.change_facts import PathKind, SeriesChange
from gripbook.words import earlier as words
from gripbook.words import fmt, say, series
from gripbook.words.fmt import in_own_units


@in_own_units
def earlier(r: BlockReview) -> Parts:
    """A line per block and the path across all of them; nothing where there is one block."""
    e = r.earlier
    if not e.lines:
        return ()
    pictures = drawn(
        charts.draw_blocks([(x.block, x.series) for x in e.paths if x.series is not None])
    )
    notes = [html.paragraph(note) for note in words.notes(e)]
    rows = [
        {
            "block": x.block.name,
            "days": say("{start} to {end}", start=fmt.day(x.block.start), end=fmt.day(x.block.end)),
            "start": _kg(x.series.start_kg, r),
            "end": _kg(x.series.end_kg, r),
            "change": series.range_kg(x.series.low_kg, x.series.high_kg)
            if x.series.measured
            else "",
        }
        for x in e.paths
        if x.series is not None
    ]
    table = html.Fragment("")
    if rows and e.followed is not None:
        unit = fmt.mass_unit()
        columns = {"block": say("block"), "days": say("days")}
        if r.athlete.show_body_mass:
            columns |= {
                "start": say("start ({unit})", unit=unit),
                "end": say("end ({unit})", unit=unit),
            }
        columns["change"] = say("change, 90~% range")
        caption = say(
            "{followed}: strength at both ends of each block",
            followed=fmt.sentence(series.name(e.followed)),
        )
        table = html.table(rows, caption, stack=True, columns=columns, numbers=["change"])
    counted = fmt.count(len(e.lines), "{n} block", "{n} blocks")
    lines = html.bullets(map(words.line, e.lines))
    return (html.fold(say("Blocks so far"), counted, lines, *pictures, *notes, table, *_two(r)),)


def _two(r: BlockReview) -> tuple[html.Fragment, ...]:
    """The block before and this one: a row a series, and what differed."""
    two = r.earlier.two
    if two is None or not (two.pairs or two.apart):
        return ()
    shown = r.athlete.show_body_mass
    unit = fmt.mass_unit()
    rows = [
        {
            "series": fmt.sentence(series.name(p.now)),
            "before": _ends(p.before, shown=shown),
            "now": _ends(p.now, shown=shown),
        }
        for p in two.pairs
    ]
    columns = {
        "series": say("series"),
        "before": two.before.name,
        "now": two.now.name,
    }
    caption = say("Start and end of each block ({unit})", unit=unit)
    if not shown:
        caption = say("Change in each block, 90~% range")
    parts = [html.heading(3, words.two_heading(two))]
    if rows:
        parts.append(html.table(rows, caption, stack=True, columns=columns))
    if two.differs:
        figures = [dict(zip(columns, words.figure(x), strict=True)) for x in two.differs]
        heads = columns | {"series": say("figure")}
        parts.append(html.table(figures, say("What differed"), columns=heads))
    return (*parts, *(html.paragraph(note) for note in words.two_notes(two)))


def _ends(s: SeriesChange, *, shown: bool) -> str:
    """Start and end of a series in a block: 81 to 84; where hidden its change."""
    if not shown:
        return series.range_kg(s.low_kg, s.high_kg) if s.measured else say("can’t tell")
    ends = [
        fmt.mass_number(kg) if math.isfinite(kg) else say("not measured")
        for kg in (s.start_kg, s.end_kg)
    ]
    text = say("{low} to {high}", low=ends[0], high=ends[1])
    if s.path_kind is PathKind.ESTIMATE:
        return text
    return say("at least {range}", range=text)


def _kg(value: float, r: BlockReview) -> str:
    return fmt.mass_number(value) if r.athlete.show_body_mass else ""
