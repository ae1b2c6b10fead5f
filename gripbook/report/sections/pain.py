"""Pain as logged."""

from __future__ import annotations

from gripbook import charts, html
from gripbook.report.sections.common import FIGURES, Parts
from gripbook.reviews import BlockReview
from gripbook.reviews.people import in_own_units
from gripbook.words import fmt, say


@in_own_units
def pain(r: BlockReview) -> Parts:
    """Pain as logged, beside the finger work of the same days."""
    if not r.pain.recorded:
        return (html.paragraph(say("Pain was not recorded, which is not the same as none.")),)
    entries = r.pain.entries
    text = _counts(r)
    rows = [
        {
            "day": e.date.date(),
            "when": fmt.WHEN_WORDS[e.when] if e.when else "",
            "place": e.place,
            "level": e.level,
            "sign": fmt.SIGN_WORDS.get(e.sign, e.sign),
            "note": e.note,
            "row": f"{e.file}:{e.line}",
        }
        for e in entries.itertuples()
    ]
    table = html.details(
        say(FIGURES),
        html.table(
            rows,
            say("Pain as logged, by day (0 to 10; 0: asked, none)"),
            stack=True,
            columns={
                "day": say("day"),
                "when": say("when"),
                "place": say("where"),
                "level": say("level"),
                "sign": say("sign"),
                "note": say("note"),
                "row": say("row of the log"),
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
    text = say("Pain was written down on {days}: ", days=fmt.count(days, "{n} day", "{n} days"))
    text += (
        say("felt on {felt}, none on {felt_2}.", felt=felt, felt_2=days - felt)
        if felt
        else say("none on any of them.")
    )
    finger_days = set(r.sets.loc[r.sets["in_block"], "date"])
    silent = len(finger_days - set(r.pain.entries["date"]))
    if silent:
        text += say(
            " For {silent} of {finger_days} finger days it was not recorded, which "
            "is not the same as none.",
            silent=silent,
            finger_days=len(finger_days),
        )
    return text
