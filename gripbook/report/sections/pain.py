"""Pain as logged."""

from __future__ import annotations

from gripbook import charts, fmt, html
from gripbook.report.sections.common import FIGURES, Parts
from gripbook.reviews import BlockReview


def pain(r: BlockReview) -> Parts:
    """Pain as logged, beside the finger work of the same days."""
    if not r.pain.recorded:
        return (html.paragraph("Pain was not recorded, which is not the same as none."),)
    entries = r.pain.entries
    text = _counts(r)
    rows = [
        {
            "day": e.date.date(),
            "when": e.when,
            "place": e.place,
            "level": e.level,
            "sign": e.sign,
            "note": e.note,
            "row": f"{e.file}:{e.line}",
        }
        for e in entries.itertuples()
    ]
    table = html.details(
        FIGURES,
        html.table(
            rows,
            "Pain as logged, by day (0 to 10; 0: asked, none)",
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


def _counts(r: BlockReview) -> str:
    """On how many days pain was asked about and felt, and of how many finger days nothing is."""
    days = r.pain.entries["date"].nunique()
    felt = r.pain.felt["date"].nunique()
    text = f"Pain was written down on {fmt.count(days, 'day')}: "
    text += f"felt on {felt}, none on {days - felt}." if felt else "none on any of them."
    finger_days = set(r.sets.loc[r.sets["in_block"], "date"])
    silent = len(finger_days - set(r.pain.entries["date"]))
    if silent:
        text += (
            f" For {silent} of {len(finger_days)} finger days it was not recorded, which is not "
            "the same as none."
        )
    return text
