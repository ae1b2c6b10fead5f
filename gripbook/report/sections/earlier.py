"""Earlier blocks: a line each, the strength path across them."""

from __future__ import annotations

from gripbook import charts, html, layout
from gripbook.report.sections.common import Parts, drawn
from gripbook.reviews import BlockReview
from gripbook.reviews.earlier import TwoBlocks
from gripbook.words import earlier as words
from gripbook.words import fmt, series
from gripbook.words.fmt import in_own_units
from gripbook.words.heads import HEADS, head_in


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
            "days": fmt.start_to_end(fmt.day(x.block.start), fmt.day(x.block.end)),
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
        columns = {"block": HEADS["block"], "days": HEADS["days"]}
        if r.athlete.show_body_mass:
            columns |= {
                "start": head_in("start", unit),
                "end": head_in("end", unit),
            }
        columns["change"] = HEADS["change_90__range"]
        caption = words.across_blocks(e.followed)
        table = layout.table(rows, caption, stack=True, columns=columns, numbers=["change"])
    counted = words.blocks(len(e.lines))
    lines = html.bullets(map(words.line, e.lines))
    return (
        layout.fold(
            words.TITLES["blocks_so_far"], counted, lines, *pictures, *notes, table, *_two(r)
        ),
    )


def _two(r: BlockReview) -> tuple[html.Fragment, ...]:
    """The block before and this one: a row a series, and what differed."""
    two = r.earlier.two
    if two is None or not (two.pairs or two.apart):
        return ()
    shown = r.athlete.show_body_mass
    rows = [
        {
            "series": fmt.sentence(series.name(p.now)),
            "before": words.ends(p.before, shown=shown),
            "now": words.ends(p.now, shown=shown),
        }
        for p in two.pairs
    ]
    columns = {"series": HEADS["series"], "before": two.before.name, "now": two.now.name}
    caption = words.ends_caption() if shown else words.TITLES["change_in_each"]
    parts = [html.heading(3, words.two_heading(two))]
    if rows:
        parts.append(layout.table(rows, caption, stack=True, columns=columns))
    return (*parts, *what_differed(two))


def what_differed(two: TwoBlocks) -> tuple[html.Fragment, ...]:
    """What differed in plan and in what was done, what doesn't compare, and what it can't tell."""
    parts = []
    if two.differs:
        columns = {"figure": HEADS["figure"], "before": two.before.name, "now": two.now.name}
        figures = [dict(zip(columns, words.figure(x), strict=True)) for x in two.differs]
        parts.append(layout.table(figures, words.TITLES["what_differed"], columns=columns))
    return (*parts, *(html.paragraph(note) for note in words.two_notes(two)))


def _kg(value: float, r: BlockReview) -> str:
    return fmt.mass_number(value) if r.athlete.show_body_mass else ""
