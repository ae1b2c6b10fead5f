"""Best sets and finger work, as logged: what the tables of loads say."""

from __future__ import annotations

from collections.abc import Container, Iterable

from gripbook.reviews.shown import ADDED, DIFFERENCE, LOAD
from gripbook.words import fmt, series
from gripbook.words.messages import Table, mark, say

#: Titles of the section's folds and tables, and what stands where one is empty.
TITLES = Table(
    {
        "no_known_load": mark("No set with a known load was mastered."),
        "no_set": mark("No set was mastered."),
        "finger_work": mark("Finger work by block week, warm-ups left out"),
    }
)


def hidden(kinds: Container[str]) -> str:
    """How loads are given where body mass is not shown."""
    ways = []
    if ADDED in kinds:
        ways.append(say("hangs are given by the weight added"))
    if DIFFERENCE in kinds:
        ways.append(say("pulls over a scale by their difference to the first one"))
    if LOAD in kinds:
        ways.append(say("loads read from a gauge as they are"))
    return say(
        "Body mass is not shown on this page, and neither is what would give it away: {ways}.",
        ways=fmt.listing(ways),
    )


def block_best(kinds: Iterable[str]) -> str:
    """Caption of the block's best sets; `kinds` are the ways in which loads are given."""
    return say(
        "Best set mastered in the block, {kinds} in {unit}",
        kinds=fmt.one_of(series.SHOWN_AS[k] for k in kinds),
        unit=fmt.mass_unit(),
    )


def week_best(shown_as: str) -> str:
    """Caption of the best sets of each week."""
    return say(
        "Best set mastered in each block week: {what} in {unit}",
        what=series.SHOWN_AS[shown_as],
        unit=fmt.mass_unit(),
    )


def finger_work(*, show: bool, pulls: bool) -> str:
    """What time, impulse and load per hand are; `show`: body mass may be shown."""
    if not show:
        return say("Only times are given: kilograms times seconds would give body mass away.")
    text = say("Impulse is load times time; load per hand is the mean load on one hand.")
    if pulls:
        text += say(
            " Impulse falls when the all-out pulls begin because a pull is short, not because it "
            "is light; so the two stand side by side."
        )
    return text
