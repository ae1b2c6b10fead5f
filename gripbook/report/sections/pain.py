"""Pain as logged."""

from __future__ import annotations

from gripbook import charts, fmt, html
from gripbook.report.sections.common import FIGURES, Parts
from gripbook.reviews import BlockReview
from gripbook.reviews.pain import place_words


def pain(r: BlockReview) -> Parts:
    """Pain as logged, beside the finger work of the same days."""
    if not r.pain.recorded:
        return (html.paragraph("Pain was not recorded, which is not the same as none."),)
    entries = r.pain.entries
    felt = r.pain.felt
    days = entries["date"].nunique()
    text = f"Pain was asked about on {fmt.count(days, 'day')}"
    text += (
        f"; felt on {fmt.count(felt['date'].nunique(), 'of them', 'of them')}."
        if len(felt)
        else "; none was felt on any of them."
    )
    rows = [
        {
            "day": e.date.date(),
            "when": e.when,
            "place": place_words(e.site, e.side) if e.site or e.side else "",
            "level": e.level,
            "sign": e.sign,
            "note": e.note,
            "row": f"{e.file}:{e.line}",
        }
        for e in felt.itertuples()
    ]
    table = html.details(
        FIGURES,
        html.table(
            rows,
            "Pain felt, by day (0 to 10)",
            columns={
                "day": "day",
                "when": "when",
                "place": "where",
                "level": "level",
                "sign": "sign",
                "note": "note",
                "row": "row of the log",
            },
        ),
    )
    return (
        *(html.paragraph(html.strong(flag.text)) for flag in r.pain.flags),
        html.paragraph(text),
        *charts.pain_and_load(r),
        *((table,) if rows else ()),
    )
