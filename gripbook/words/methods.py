"""How the figures are made, a line each."""

from __future__ import annotations

import numpy as np

from gripbook.derive.body import body_mass_error_kg
from gripbook.reviews import BlockReview
from gripbook.words import fmt, strength
from gripbook.words.messages import say


def lines(r: BlockReview) -> list[str]:
    """How the figures of an athlete's page are made, and who may keep it."""
    show = r.athlete.show_body_mass
    parts = [
        say(
            "Weeks are block weeks, counted from the block's first day. A week in "
            "which the log ends is marked and compared with no other."
        ),
        say(
            "A set counts as mastered when all its planned holds were finished, or "
            "when it was an all-out pull. Guessed loads and warm-ups count as work, "
            "never as strength."
        ),
        strength.method(),
        strength.rule(_smallest_words(r)),
        *_check(r),
        say(
            "Time under load is the seconds of all holds that were made; a pull "
            "without a logged time counts three seconds (common practice, no source)."
        ),
        say("A session's estimated minutes are its sets and the planned rests between them."),
    ]
    shared = r.fit.noise.athletes
    if shared:
        parts.append(
            say(
                "How much good and bad days differ, and how often series part, was "
                "estimated over {athletes} of these logs together, as was asked for, so "
                "the ranges on this page depend on their logs too. Only that was shared: no "
                "trend of others is in an estimate.",
                athletes=fmt.count(shared, "{n} athlete", "{n} athletes"),
            )
        )
    if show:
        parts[1:1] = [
            say(
                "Load on the fingers: a gauge's reading; else standing minus pulling on "
                "the same scale; else body mass of that day plus added weight minus what "
                "stays on the scale. 1 kg pulls with 9.80665 N."
            ),
            say(
                "Body mass between weigh-ins lies on a straight line; its error is taken "
                "as {least} on the day of a weigh-in and grows to {most} at eight weeks "
                "(own choice, no source).",
                least=fmt.mass(_mass_error_kg(0.0)),
                most=fmt.mass(_mass_error_kg(56.0)),
            ),
        ]
    parts.append(checked())
    parts.append(
        say("Log format 1; the log covers this athlete to {last}.", last=fmt.day(r.last.date()))
    )
    parts.append(
        say(
            "This page holds health data. Whoever keeps it needs your consent (a guardian's if you "
            "are under 18), and deletes it when you ask or when it is no longer needed."
        )
    )
    return parts


def checked() -> str:
    """Where each formula is checked."""
    return say("The notebook methods.ipynb checks every formula.")


def _check(r: BlockReview) -> list[str]:
    found = r.checked
    told = "" if found is None else strength.check(found)
    return [told] if told else []


def _mass_error_kg(days: float) -> float:
    return float(body_mass_error_kg(np.array(days)))


def _smallest_words(r: BlockReview) -> str:
    smallest = r.block.smallest_change_pct
    return fmt.listing(
        say("{pct}~% for {exercise}", pct=fmt.number(pct), exercise=fmt.EXERCISE_WORDS[name])
        for name, pct in smallest.items()
    )
