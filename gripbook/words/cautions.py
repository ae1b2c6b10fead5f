"""What a page must say of safety."""

from __future__ import annotations

from gripbook.reviews.people import Athlete
from gripbook.words import mark, say

CAUTIONS = (
    mark(
        "Stop a set at once when a finger, hand or elbow hurts. Pain, swelling or a pop is for a "
        "physician or physiotherapist, not for this page."
    ),
    mark(
        "The page describes what was logged. It diagnoses nothing, estimates no risk of injury "
        "and clears nobody to train."
    ),
    mark("No limit broken is not the same as safe."),
    mark(
        "Body mass changes for many reasons; this page gives no advice on it. Questions about "
        "weight, food or energy belong to a physician."
    ),
)
CAUTION_MINOR_SHORT = mark("Under 18: coach, guardian and physician decide what you train.")
CAUTION_MINOR = mark(
    "Coach, guardian and physician decide what you train; this page proposes no load. Intensive "
    "finger strength training is not recommended for adolescents (Morrison and Schöffl 2007, "
    "British Journal of Sports Medicine 41:852-861)."
)


def cautions(athlete: Athlete) -> tuple[str, ...]:
    """The cautions for an athlete's page, that for minors first."""
    return tuple(map(say, (CAUTION_MINOR, *CAUTIONS) if athlete.minor else CAUTIONS))
