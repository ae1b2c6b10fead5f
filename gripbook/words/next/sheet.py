"""What the sheet of a week takes from a proposal."""

from __future__ import annotations

from collections.abc import Sequence

from gripbook.reviews.proposal import NextBlock, NextRow, Reason
from gripbook.words import fmt, say
from gripbook.words.next.frame import late_text
from gripbook.words.next.holds import return_sentences, watch_action, watch_felt
from gripbook.words.next.tests import aim_text
from gripbook.words.next.weights import load_of, plain_weight, row_load
from gripbook.words.next.why import reason_text


def sheet_load(row: NextRow, plan: NextBlock) -> str:
    """What stands on a sheet in place of a weight: all out; to the limit; up to +10 kg; ""."""
    if row.test:
        return say("to the limit")
    load = load_of(row, plan)
    if row.exercise == "pull":
        held = row.reason is Reason.PULL_GAP or (load is not None and load.kind == "below")
        return say("not all out") if held else say("all out")
    if row.reason is Reason.RAMP:
        return say("clearly easy")
    if row.low_kg is None or row.high_kg is None or row.low_kg == row.high_kg:
        return ""
    sign = load is None or load.force_kg is None
    return say("up to {most}", most=plain_weight(row.high_kg, plan.units, sign=sign))


def sheet_cautions(plan: NextBlock) -> tuple[str, ...]:
    """What whoever trains by the sheet must know first: the way back, pain, a late start."""
    watch = " ".join((watch_felt(plan.watch), watch_action(plan.watch))) if plan.watch else ""
    left_out = (
        fmt.headed(fmt.sentence(fmt.series(x.grip, x.hand)), reason_text(x, plan))
        for x in plan.loads
        if x.reason is Reason.STOPPED
    )
    return tuple(filter(None, (*return_sentences(plan), *left_out, watch, late_text(plan))))


def is_lifted(row: NextRow, plan: NextBlock) -> bool:
    """Whether a row's weight hangs on the block and is no weight added."""
    load = load_of(row, plan)
    return row.force_kg is not None or (load is not None and load.force_kg is not None)


def sheet_notes(rows: Sequence[NextRow], plan: NextBlock) -> tuple[str, ...]:
    """What holds for a session's tests and pulls, a line each."""
    out = []
    for row in rows:
        what = fmt.sentence(fmt.series(row.grip, row.hand))
        if row.test:
            text = aim_text(row, plan) or say("One set to the limit; note the seconds.")
            out.append(fmt.headed(say("Test, {what}", what=fmt.series(row.grip, row.hand)), text))
        elif row.exercise == "pull":
            out.append(fmt.headed(what, f"{row_load(row, plan)}."))
    return tuple(dict.fromkeys(out))
