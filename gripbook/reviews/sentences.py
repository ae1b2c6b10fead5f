"""The page's first words: what a coach reads in twenty seconds. One place, one voice."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from gripbook import fmt
from gripbook.logs import Block
from gripbook.reviews.change import (
    SeriesChange,
    capacity_words,
    kilograms,
    kilograms_bare,
)

if TYPE_CHECKING:
    from gripbook.reviews.block_review import BlockReview

CAUTIONS = (
    "Stop a set at once when a finger, hand or elbow hurts. Pain, swelling or a pop is for a "
    "physician or physiotherapist, not for this page.",
    "The page describes what was logged. It diagnoses nothing, estimates no risk of injury and "
    "clears nobody to train.",
    "No limit broken is not the same as safe.",
    "Body mass changes for many reasons; this page gives no advice on it. Questions about weight, "
    "food or energy belong to a physician.",
)
CAUTION_MINOR = (
    "Under 18: intensive finger strength training is not recommended for adolescents "
    "(Morrison and Schöffl 2007, British Journal of Sports Medicine 41:852-861). What comes next "
    "is for coach, guardian and physician to decide; this page proposes no load."
)


def lead(review: BlockReview) -> tuple[str, ...]:
    """
    At most five parts, for twenty seconds: safety, what changed, what was done and whether the
    limits were kept, where to begin next, what is not known. No body mass, no praise.
    """
    parts = [_safety(review), _change(review), _done(review), _next(review), _unknown(review)]
    return tuple(p for p in parts if p)


def _safety(review: BlockReview) -> str:
    physician = ""
    if review.body_mass.sentence:
        physician = "One point for a physician stands under Strength and body mass."
    if not review.pain.flags:
        return physician
    flag = review.pain.flags[0]
    more = len(review.pain.flags) - 1
    others = f" ({fmt.sentence(fmt.count(more, 'more note'))} under Pain.)" if more else ""
    return f"{flag.text}{others} {physician}".strip()


# --- what changed -----------------------------------------------------------------------------


def _change(review: BlockReview) -> str:
    headline = review.change.headline
    wanted = review.block.headline
    if headline is not None:
        return _headline(review, headline)
    if wanted is not None:
        named = f"{fmt.EXERCISE_WORDS[wanted.capacity]}, {fmt.series(wanted.grip, wanted.hand)}"
        return f"No set of the series named beforehand ({named}) tells of strength."
    return "No set tells of strength, so no change can be told."


def _headline(review: BlockReview, h: SeriesChange) -> str:
    """The series named beforehand, its change in kilograms with the range."""
    fit = h.fit
    where = f"in {fmt.series(fit.grip, fit.hand)}"
    where += f", on {fmt.with_unit(fit.edge_mm, 'mm')}" if math.isfinite(fit.edge_mm) else ""
    load = _capacity_words(fit.capacity, review.block)
    if fit.at_least:
        return (
            f"It can't be told whether you got stronger {where}: you finished every set of "
            f"{fmt.EXERCISE_WORDS[fit.capacity]}, so the log shows that these loads were possible, "
            "not how much more was."
        )
    if not fit.ok:
        return f"Your change {where} is not measured: {_plain_reasons(fit.reasons)}."
    low, high, width = h.low_kg, h.high_kg, h.high_kg - h.low_kg
    show = review.athlete.show_body_mass
    start, end = kilograms(fit.start_kg, width), kilograms(fit.end_kg, width)
    went = f"went from about {start} to {end}, " if show else "moved, "
    sure = " (in nine of ten cases)"
    stood = f", about {start} at the start and {end} at the end," if show else ""
    if fit.verdict == "rise":
        return f"You got stronger {where}: {load} {went}{_between(low, high)} higher{sure}."
    if fit.verdict == "fall":
        return f"You got weaker {where}: {load} {went}{_between(-high, -low)} lower{sure}."
    open_range = f"{load}{stood} ended anything from {_signed(low, width)} to "
    open_range += f"{_signed(high, width)}{sure}."
    if fit.verdict == "steady":
        planned = ", as planned" if review.block.goal == "hold" else ""
        return f"You stayed as strong as you were{planned}, {where}: {open_range}"
    return f"It can't be told whether you got stronger {where}: {open_range}"


def _capacity_words(capacity: str, block: Block) -> str:
    if capacity == "hang":
        return f"the load you can hold for {fmt.with_unit(block.reference_hang_s, 's')}"
    if capacity == "repeater":
        return f"the load of {capacity_words(capacity, block)},"
    return "your all-out pull"


def _between(low: float, high: float) -> str:
    return f"between {kilograms_bare(low, high - low)} and {kilograms(high, high - low)}"


def _signed(kg: float, width: float) -> str:
    return f"{kilograms(abs(kg), width)} {'higher' if kg > 0 else 'lower'}"


def _plain_reasons(reasons: tuple[str, ...]) -> str:
    return "; ".join(r.removesuffix(": change not measured") for r in reasons)


# --- was it done, within the limits ------------------------------------------------------------


def _done(review: BlockReview) -> str:
    done = review.done.sessions_done
    planned = review.done.sessions_planned
    if planned is None:
        counted = f"You logged {fmt.count(done, 'finger session')}; no plan says how many were due"
    elif done > planned:
        counted = f"You did {done} finger sessions, {planned} were planned"
    else:
        counted = f"You did {done} of {planned} planned finger sessions"
    weeks = review.done.weeks
    missed = review.done.missed_weeks
    reasons = weeks.loc[weeks["without"] != "", ["week", "without"]]
    if missed:
        counted += f", none in {fmt.weeks(missed)}"
    if len(reasons):
        told = [
            f"week {w}: {words}"
            for w, words in zip(reasons["week"], reasons["without"], strict=True)
        ]
        counted += f" ({'; '.join(told)})"
    return f"{counted}. {_dose(review)}{_pain_words(review)}".strip()


#: What a limit is called when it was not kept.
LIMIT_WORDS = {
    "fingers_per_week": "more finger days than the limit",
    "rest_days_between_finger_days": "too little rest between finger days",
    "finger_session_minutes": "a finger session over its time",
    "sets_per_session": "more sets than planned",
    "pulls_in_first_block": "all-out pulls in a first block",
}


def _dose(review: BlockReview) -> str:
    by_limit: dict[str, list[int]] = {}
    for breach in review.dose.breaches:
        by_limit.setdefault(breach.limit, []).append(breach.week)
    if not by_limit:
        return ""
    told = [f"{LIMIT_WORDS[limit]} in {fmt.weeks(when)}" for limit, when in by_limit.items()]
    return f"Limits not kept: {'; '.join(told)}. "


def _pain_words(review: BlockReview) -> str:
    if not review.pain.recorded:
        return "Pain was not recorded, which is not the same as none."
    if review.pain.flags or len(review.pain.felt):
        return ""
    days = review.pain.entries["date"].nunique()
    return f"You wrote down 'no pain' on {fmt.count(days, 'day')}."


# --- what next --------------------------------------------------------------------------------


def _next(review: BlockReview) -> str:
    """One start load with its because, or why there is none."""
    if review.athlete.minor:  # the page's caution says whose the next step is
        return ""
    found = review.next_block
    if found.held:
        return (
            "No start load is proposed for what pain stops. Core, hips and other work can go on "
            "where they don't hurt."
        )
    starts = [x for x in found.loads if x.kind == "start"]
    h = review.block.headline
    named = [
        x for x in starts if h and (x.exercise, x.grip, x.hand) == (h.capacity, h.grip, h.hand)
    ]
    if not starts:
        return f"Next: {found.lines[0].text} {found.lines[0].because}" if found.lines else ""
    load = (named or starts)[0]
    last, because = "", load.because
    if because.startswith("Last done: "):
        last, _, because = because.removeprefix("Last done: ").partition(". ")
        last = f", last done {last.partition(' on ')[0]}"
    if because.startswith("At most ") and not review.athlete.show_body_mass:
        # a share of a load that holds body mass, beside its weights, would let one reckon
        because = f"Lower, {because[because.index('since ') :]}" if "since " in because else ""
    if because.startswith(("At most ", "Lower, ")):
        because = because.partition(". ")[0].removesuffix(".") + "."
    what = f"{fmt.EXERCISE_WORDS[load.exercise]}, {fmt.series(load.grip, load.hand, load.edge_mm)}"
    amount = load.load_words.partition(" as ")[0]
    amount = f"{'at' if amount.startswith('+') else 'with'} {amount}"
    later = next((x.text for x in found.lines if x.text.startswith("Should the first")), "")
    later = later.replace(" than below", "")
    return f"Next block start {what}, {amount}{last}. {because} {later}".strip()


# --- what is not known ------------------------------------------------------------------------


def _unknown(review: BlockReview) -> str:
    refused = {(p.file, p.line) for p in review.problems if p.severity == "error"}
    if refused:
        n = len(refused)
        return (
            f"{fmt.sentence(fmt.count(n, 'row'))} of the log could not be used, so weeks may look "
            "emptier than they were."
        )
    told = _unmeasured(review)
    if told:
        return told
    others = [g for g in review.gaps if not g.startswith("Pain was not recorded")]
    return others[0] if others else ""


def _unmeasured(review: BlockReview) -> str:
    """Capacities of the plan without a measured change, and from when they were logged."""
    headline = review.change.headline
    own = [s for s in review.change.series if s is not headline]
    out = []
    for capacity in dict.fromkeys(s.fit.capacity for s in own):
        of_it = [s for s in own if s.fit.capacity == capacity]
        if headline is not None and headline.fit.capacity == capacity:
            continue
        if any(s.fit.ok for s in of_it):
            continue
        reasons = {r for s in of_it for r in s.fit.reasons if "change not measured" in r}
        if reasons:
            out.append(f"{fmt.EXERCISE_WORDS[capacity]} ({_plain_reasons((min(reasons),))})")
    return f"Not measured: the change of {fmt.listing(out)}." if out else ""
