"""Strength and body mass: one sentence, one chart; nothing where body mass is hidden."""

from __future__ import annotations

from gripbook import charts, html, layout
from gripbook.derive.records import records
from gripbook.report.sections.common import Parts, drawn, shown
from gripbook.reviews import BlockReview
from gripbook.words import fmt
from gripbook.words import ratio as words
from gripbook.words.fmt import in_own_units
from gripbook.words.heads import HEADS


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
        layout.caution(words.physician(b.fall, r.athlete), words.why_physician())
        if b.fall is not None
        else None,
        html.paragraph(" ".join(answer)),
        *drawn(picture),
        layout.fold(
            words.TITLES["every_weigh_in"],
            words.weigh_ins_counted(len(b.weigh_ins)),
            *((html.paragraph(words.body_mass(b)),) if whole else ()),
            *drawn(charts.draw_body_mass(b)),
            _weigh_ins(r),
            *(_ratios(r),) if change is not None else (),
            *(_best_ratios(r),) if len(r.ratio) else (),
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
        "day": HEADS["day"],
        "ratio": HEADS["load_body_mass"],
        "low": HEADS["from"],
        "high": HEADS["to"],
    }
    caption = words.TITLES["ratio"]
    return layout.table(rows, caption, columns=columns, numbers=["ratio", "low", "high"])


def _best_ratios(r: BlockReview) -> html.Fragment:
    """What was done, beside the estimate: a row a series and week."""
    order = ["exercise", "grip", "hand", "edge_mm", "week"]
    rows = [
        {
            "series": f"{fmt.EXERCISE_WORDS[b.exercise]}, {fmt.series(b.grip, b.hand, b.edge_mm)}",
            "week": int(b.week),
            "ratio": fmt.number(b.ratio, 2, trim=False),
            "row": f"{b.file}:{b.line}",
        }
        for b in records(r.ratio.sort_values(order, kind="stable"))
    ]
    columns = {
        "series": HEADS["grip_hand_edge"],
        "week": HEADS["week"],
        "ratio": HEADS["load_body_mass"],
        "row": HEADS["row_of_the_log"],
    }
    return layout.table(rows, words.TITLES["best_ratio"], columns=columns, numbers=["ratio"])


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
    return layout.table(
        rows,
        words.weigh_ins(unit),
        columns={"day": HEADS["day"], "kg": unit, "row": HEADS["row_of_the_log"]},
        numbers=["kg"],
    )
