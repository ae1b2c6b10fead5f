"""The page's first words: what a coach reads in twenty seconds. One place, one voice."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from gripbook import fmt
from gripbook.reviews.shown import ADDED, DIFFERENCE

if TYPE_CHECKING:
    from gripbook.reviews.block_review import BlockReview

#: A pair of single tests at a day-to-day error of 5 % needs about this change to stand out of the
#: noise (1.96 x sqrt(2) x 5 %; Weir 2005 for the formula).
PAIR_NOISE_PCT = 14

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
    pair = test_pair(review)
    if pair is None:
        return "No series has a finished load on two test days, so no change can be told yet."
    words, first, last = pair["words"], pair["start"], pair["end"]
    if pair["shown_as"] == ADDED:
        told = f"{first} added (week {pair['start_week']}), then {last} (week {pair['end_week']})"
    elif pair["shown_as"] == DIFFERENCE:
        told = f"{last} against the first (week {pair['end_week']}, week {pair['start_week']})"
    else:
        told = f"{first} (week {pair['start_week']}), then {last} (week {pair['end_week']})"
    return (
        f"{fmt.sentence(words)}, best load mastered on a test day: {told}. One pair of tests "
        f"cannot tell a change below about {PAIR_NOISE_PCT}{fmt.NBSP}% from day-to-day noise."
    )


def test_pair(review: BlockReview) -> dict[str, str] | None:
    """The headline series' first and last test day in words, None where there is no such pair."""
    results = review.results
    told = results[results["start_kg"].notna() & results["end_kg"].notna()]
    headline = review.block.headline
    if headline is not None:
        told = told[
            (told["capacity"] == headline.capacity)
            & (told["grip"] == headline.grip)
            & (told["hand"] == headline.hand)
        ]
    if told.empty:
        return None
    row = told.sort_values("sets", ascending=False, kind="stable").iloc[0]
    own = review.tests
    same = own[
        (own["exercise"] == row["capacity"])
        & (own["grip"] == row["grip"])
        & (own["hand"] == row["hand"])
        & ((own["edge_mm"] == row["edge_mm"]) | bool(np.isnan(row["edge_mm"])))
    ]
    days = same.groupby("date")["shown_kg"].max().sort_index()
    first, last = days.index[0], days.index[-1]
    shown_as = str(same["shown_as"].iloc[0])
    sign = shown_as in (ADDED, DIFFERENCE)
    exercise = fmt.EXERCISE_WORDS[str(row["capacity"])]
    return {
        "words": f"{exercise}, {fmt.series(row['grip'], row['hand'], row['edge_mm'])}",
        "start": fmt.with_unit(float(days.iloc[0]), "kg", sign=sign),
        "end": fmt.with_unit(float(days.iloc[-1]), "kg", sign=sign),
        "start_week": str(_week(review, first)),
        "end_week": str(_week(review, last)),
        "shown_as": shown_as,
    }


def _week(review: BlockReview, day: pd.Timestamp) -> int:
    return review.block.week_of(day.date())


def _done(review: BlockReview) -> str:
    done = review.done.sessions_done
    planned = review.done.sessions_planned
    if planned is None:
        counted = fmt.sentence(fmt.count(done, "finger session"))
        return f"{counted} logged; no plan was given to compare with."
    text = f"{done} of {planned} planned finger sessions were done"
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
        return "No limit was broken by what is logged."
    by_limit: dict[str, list[int]] = {}
    for breach in breaches:
        by_limit.setdefault(breach.limit, []).append(breach.week)
    words = {
        "fingers_per_week": "more finger days than the limit",
        "rest_days_between_finger_days": "too little rest between finger days",
        "finger_session_minutes": "a finger session over its time",
        "sets_per_session": "more sets than planned",
    }
    told = [f"{words[limit]} in {fmt.weeks(when)}" for limit, when in by_limit.items()]
    return f"Limits: {'; '.join(told)}."


def _unknown(review: BlockReview) -> str:
    return review.gaps[0] if review.gaps else ""
