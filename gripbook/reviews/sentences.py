"""The page's first words: what a coach reads in twenty seconds. One place, one voice."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gripbook import fmt

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
    """At most five sentences: safety, change, done, dose, what is not known."""
    parts = [_safety(review), _change(review), _done(review), _dose(review), _unknown(review)]
    return tuple(p for p in parts if p)


def _safety(review: BlockReview) -> str:
    if not review.pain.flags:
        return ""
    flag = review.pain.flags[0]
    more = len(review.pain.flags) - 1
    return flag.text + (
        f" ({fmt.sentence(fmt.count(more, 'more note'))} under Pain.)" if more else ""
    )


def _change(review: BlockReview) -> str:
    headline = review.change.headline
    wanted = review.block.headline
    if headline is not None:
        return headline.sentence
    if wanted is not None:
        named = f"{fmt.EXERCISE_WORDS[wanted.capacity]}, {fmt.series(wanted.grip, wanted.hand)}"
        return f"No set of the series named beforehand ({named}) tells of strength."
    return "No set tells of strength, so no change can be told."


def _done(review: BlockReview) -> str:
    done = review.done.sessions_done
    planned = review.done.sessions_planned
    if planned is None:
        counted = fmt.sentence(fmt.count(done, "finger session"))
        return f"{counted} logged; no plan was given to compare with."
    text = f"{fmt.sentence(fmt.count(done, 'finger session'))} done, {planned} planned"
    reasons = review.done.weeks.loc[review.done.weeks["without"] != "", ["week", "without"]]
    missed = review.done.missed_weeks
    if missed:
        text += f"; none in {fmt.weeks(missed)}"
    if len(reasons):
        told = [
            f"week {w}: {words}"
            for w, words in zip(reasons["week"], reasons["without"], strict=True)
        ]
        text += f" ({'; '.join(told)})"
    return text + "."


def _dose(review: BlockReview) -> str:
    breaches = review.dose.breaches
    if not breaches:
        return "No limit of the dose (days, rest, minutes, sets) was broken by what is logged."
    by_limit: dict[str, list[int]] = {}
    for breach in breaches:
        by_limit.setdefault(breach.limit, []).append(breach.week)
    words = {
        "fingers_per_week": "more finger days than the limit",
        "rest_days_between_finger_days": "too little rest between finger days",
        "finger_session_minutes": "a finger session over its time",
        "sets_per_session": "more sets than planned",
        "pulls_in_first_block": "all-out pulls in a first block",
    }
    told = [f"{words[limit]} in {fmt.weeks(when)}" for limit, when in by_limit.items()]
    return f"Limits: {'; '.join(told)}."


def _unknown(review: BlockReview) -> str:
    refused = {(p.file, p.line) for p in review.problems if p.severity == "error"}
    if refused:
        n = len(refused)
        return (
            f"{fmt.sentence(fmt.count(n, 'row'))} of the log could not be used, so weeks may look "
            "emptier than they were."
        )
    return review.gaps[0] if review.gaps else ""
