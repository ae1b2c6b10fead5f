"""Body mass over the block, and strength beside it. No section at all where it is hidden."""

from __future__ import annotations

from gripbook import html
from gripbook.report.sections.common import Parts
from gripbook.report.sections.loads import strength_to_weight
from gripbook.report.sections.trace import ROWS
from gripbook.reviews import BlockReview
from gripbook.reviews.people import in_own_units
from gripbook.reviews.sentences import BODY_MASS_SECTION
from gripbook.words import fmt, say


@in_own_units
def body_mass(r: BlockReview) -> Parts:
    """Heading, the change in neutral words, the one sentence if a line is passed, the ratio."""
    if not r.athlete.show_body_mass:
        return ()
    weighed = r.body_mass.weigh_ins
    rows = [
        {
            "day": w.date.date(),
            "kg": fmt.mass_number(w.body_mass_kg, 1, trim=False),
            "row": f"{w.file}:{w.line}",
        }
        for w in weighed.itertuples()
    ]
    table = html.details(
        say(ROWS),
        html.table(
            rows,
            say(
                "Weigh-ins of the block and the week before it, in {unit}",
                unit=fmt.mass_unit(),
            ),
            columns={"day": say("day"), "kg": fmt.mass_unit(), "row": say("row of the log")},
            numbers=["kg"],
        ),
    )
    said = r.body_mass.sentence
    return (
        html.heading(2, say(BODY_MASS_SECTION)),
        *((html.paragraph(html.strong(said)),) if said else ()),
        html.paragraph(r.body_mass.text),
        *_ratio(r),
        *((table,) if rows else ()),
        *strength_to_weight(r),
    )


def _ratio(r: BlockReview) -> Parts:
    """What moved the ratio; beside the sentence to a physician its rise is not left as praise."""
    if not r.change.ratio:
        return ()
    if not r.body_mass.sentence:
        return (html.paragraph(r.change.ratio),)
    no_gain = say("A ratio that rises because body mass falls is no gain in strength.")
    return (html.paragraph(f"{r.change.ratio} {no_gain}"),)
