"""Strength and body mass: one sentence, one chart; nothing where body mass is hidden."""

from __future__ import annotations

from gripbook import charts, html
from gripbook.report.sections.common import Parts, drawn, shown
from gripbook.reviews import BlockReview
from gripbook.words import fmt, say
from gripbook.words import ratio as words
from gripbook.words.fmt import in_own_units


@in_own_units
def ratio(r: BlockReview) -> Parts:
    """The point for a physician if there is one, the ratio and body mass; figures in a fold."""
    b, change = r.body_mass, r.change.ratio
    if not r.athlete.show_body_mass or not len(b.weigh_ins):
        return ()
    # the two ends of body mass stand in the fold where the ratio already tells their change
    whole = change is not None and change.mass_measured
    answer = [words.answer(change, b)] if change is not None else []
    if not whole:
        answer.append(words.body_mass(b))
    picture = charts.draw_ratio(change, b, r.block, r.last.date()) if change is not None else None
    return shown(
        html.caution(words.physician(b.fall, r.athlete), words.why_physician())
        if b.fall is not None
        else None,
        html.paragraph(" ".join(answer)),
        *drawn(picture),
        html.fold(
            say("Every weigh-in"),
            fmt.count(len(b.weigh_ins), "{n} weigh-in", "{n} weigh-ins"),
            *((html.paragraph(words.body_mass(b)),) if whole else ()),
            *drawn(charts.draw_body_mass(b)),
            _weigh_ins(r),
            *(_ratios(r),) if change is not None else (),
        ),
    )


def _ratios(r: BlockReview) -> html.Fragment:
    assert r.change.ratio is not None
    rows = [
        {
            "day": x.day.date(),
            "ratio": fmt.number(x.ratio, 2, trim=False),
            "low": fmt.number(x.low, 2, trim=False),
            "high": fmt.number(x.high, 2, trim=False),
        }
        for x in r.change.ratio.path.itertuples()
    ]
    columns = {
        "day": say("day"),
        "ratio": say("load / body mass"),
        "low": say("from"),
        "high": say("to"),
    }
    caption = say("Estimated load over the body mass of that day")
    return html.table(rows, caption, columns=columns, numbers=["ratio", "low", "high"])


def _weigh_ins(r: BlockReview) -> html.Fragment:
    unit = fmt.mass_unit()
    rows = [
        {
            "day": w.date.date(),
            "kg": fmt.mass_number(w.body_mass_kg, 1, trim=False),
            "row": f"{w.file}:{w.line}",
        }
        for w in r.body_mass.weigh_ins.itertuples()
    ]
    return html.table(
        rows,
        say("Weigh-ins of the block and the week before it, in {unit}", unit=unit),
        columns={"day": say("day"), "kg": unit, "row": say("row of the log")},
        numbers=["kg"],
    )
