"""
The first screen: at most four lines, each led by its word.

What is wrong comes first and only where something is; then whether the athlete got stronger, what
was done, and what comes next.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from gripbook.reviews import BlockReview
from gripbook.reviews.change_facts import ChangeVerdict, SeriesChange
from gripbook.words import (
    Table,
    block,
    fmt,
    log,
    mark,
    pain,
    ratio,
    say,
    say_count,
    series,
    strength,
)
from gripbook.words import next as next_words
from gripbook.words.fmt import in_own_units

#: What leads a minor's page.
CAUTION_MINOR = mark("Under 18: coach, guardian and physician decide what you train.")


class LeadWord(StrEnum):
    """What leads a line."""

    WRONG = "wrong"
    STRONGER = "stronger"
    DONE = "done"
    NEXT = "next"


#: The lead words as a page writes them.
LEAD_WORDS = Table(
    {
        LeadWord.WRONG: mark("First"),
        LeadWord.STRONGER: mark("Stronger?"),
        LeadWord.DONE: mark("Done"),
        LeadWord.NEXT: mark("Next"),
    }
)

_RISES = (ChangeVerdict.STRONGER, ChangeVerdict.PROBABLY_STRONGER)
_FALLS = (ChangeVerdict.WEAKER, ChangeVerdict.PROBABLY_WEAKER)


@dataclass(frozen=True, slots=True)
class LeadLine:
    """One line: what leads it, and its text."""

    word: LeadWord
    text: str


@in_own_units
def stronger(review: BlockReview) -> str:
    """The line on strength: the headline with its range, then the other series in short."""
    change = review.change
    h = change.headline
    wanted = review.block.headline
    if h is None and wanted is not None:
        named = f"{fmt.EXERCISE_WORDS[wanted.capacity]}, {fmt.series(wanted.grip, wanted.hand)}"
        return " ".join(
            filter(
                None,
                (
                    say("Can't tell: no set of {named} shows strength.", named=named),
                    _others(change.series, None),
                ),
            )
        )
    if h is None:
        return say("Can't tell: no set with a known load shows strength.")
    return " ".join(filter(None, (_headline(review, h), _others(change.series, h))))


def _headline(review: BlockReview, h: SeriesChange) -> str:
    what = _what(h)
    if h.verdict is ChangeVerdict.AT_LEAST:
        return say(
            "Can't tell: in {what}, you never reached your limit. Note what was left after each "
            "finished set.",
            what=what,
        )
    if h.verdict is ChangeVerdict.NOT_MEASURED:
        told = say("Can't tell: {reasons} ({what}).", reasons=strength.reasons(h), what=what)
        return f"{told} {strength.training(h, h.training)}" if h.training else told
    answer = {
        ChangeVerdict.STRONGER: say("Yes."),
        ChangeVerdict.PROBABLY_STRONGER: say("Probably, about {n} in 10.", n=h.tenths),
        ChangeVerdict.NO_CHANGE: say("No change worth naming, as planned.")
        if review.block.goal == "hold"
        else say("No change worth naming."),
        ChangeVerdict.PROBABLY_WEAKER: say("Probably weaker, about {n} in 10.", n=h.tenths),
        ChangeVerdict.WEAKER: say("No, weaker."),
        ChangeVerdict.CANT_TELL: say("Can't tell."),
    }[h.verdict]
    return f"{answer} {fmt.sentence(what)}: {strength.went(h)}."


def _what(s: SeriesChange) -> str:
    """Half crimp, both hands, 20 mm for 10 s."""
    where = series.conditions(s)
    if s.capacity == "hang":
        return say("{where} for {seconds}~s", where=where, seconds=fmt.number(s.reference_s))
    return f"{series.capacity(s)}, {where}"


def _others(all_series: Iterable[SeriesChange], h: SeriesChange | None) -> str:
    """The other measured series by verdict: Repeaters and both pulls: stronger too."""
    groups: dict[ChangeVerdict, list[SeriesChange]] = {}
    for s in all_series:
        if s is not h and s.measured:
            groups.setdefault(s.verdict, []).append(s)
    told = []
    for kind, group in groups.items():
        names = series.in_a_row(group, h.grip if h is not None else "")
        if h is not None and kind is h.verdict is ChangeVerdict.STRONGER:
            told.append(say("{names} rose too", names=names))
        elif h is not None and kind is h.verdict is ChangeVerdict.WEAKER:
            told.append(say("{names} fell too", names=names))
        else:
            tenths = [s.tenths for s in group]
            told.append(fmt.headed(names, strength.verdict(kind, min(tenths), max(tenths))))
    return f"{fmt.sentence(fmt.clauses(told))}." if told else ""


@in_own_units
def lead(review: BlockReview) -> tuple[LeadLine, ...]:
    """The lines of the first screen, at most four; a line with nothing to say is left out."""
    lines = (
        LeadLine(LeadWord.WRONG, wrong(review)),
        LeadLine(LeadWord.STRONGER, stronger(review)),
        LeadLine(LeadWord.DONE, done(review)),
        LeadLine(LeadWord.NEXT, next_step(review)),
    )
    return tuple(line for line in lines if line.text)


@in_own_units
def wrong(review: BlockReview) -> str:
    """What is wrong: notes, pain and points for a physician first, then rows not readable."""
    told = [say(CAUTION_MINOR)] if review.athlete.minor else []
    told.append(pain.read_first(review.notes))
    flags = review.pain.flags
    if flags:
        told += [pain.flag_felt(flags[0]), pain.flag_action(flags[0])]
    if len(flags) > 1:
        more = fmt.count(
            len(flags) - 1, "{n} more place under Pain.", "{n} more places under Pain."
        )
        told.append(fmt.sentence(more))
    if review.body_mass.fall is not None:
        told.append(ratio.physician(review.body_mass.fall, review.athlete))
    told += [wrong_sets(review.wrong), log.rows_refused(review.done)]
    return " ".join(filter(None, told))


def wrong_sets(rows: tuple[tuple[str, float], ...]) -> str:
    """
    Sets whose load looks wrong and was left out; "" for none.

    Parameters
    ----------
    rows : `file:line` and load in kg, NaN where body mass is hidden.
    """
    if not rows:
        return ""
    places = [
        say("{place} ({mass} on the fingers)", place=place, mass=fmt.mass(kg))
        if math.isfinite(kg)
        else place
        for place, kg in rows
    ]
    told = say_count(
        len(rows),
        "{n} set looks wrong and was left out: {places}, far above all others of its kind. "
        "Correct the row; if it is right, a second set near it makes it count.",
        "{n} sets look wrong and were left out: {places}, far above all others of their kind. "
        "Correct the rows; if one is right, a second set near it makes it count.",
        n=fmt.in_words(len(rows)),
        places=fmt.listing(places),
    )
    return fmt.sentence(told)


@in_own_units
def done(review: BlockReview) -> str:
    """Finger sessions done of those due, limits broken, and pain as it was asked."""
    told = [block.sessions(review.done), block.breaches_in_short(review.dose.breaches)]
    if not review.pain.flags:
        told.append(pain.headline(review.pain))
    return " ".join(filter(None, told))


@in_own_units
def next_step(review: BlockReview) -> str:
    """One start load, or why there is none; nothing for a minor, whose next step is others'."""
    plan = review.coming
    return "" if plan.minor else " ".join(next_words.lead(plan))


@in_own_units
def block_line(review: BlockReview) -> tuple[str, str]:
    """The block's name, and its dates: nine weeks, or the week a running block has come to."""
    block, state = review.block, review.state
    days = say("{start} to {end}", start=fmt.day(block.start, year=False), end=fmt.day(block.end))
    if not block.planned:
        return say("The whole log"), days
    if state.running:
        return block.name, say(
            "week {week} of {weeks}: logged to {last}",
            week=state.week,
            weeks=state.weeks,
            last=fmt.day(review.last.date()),
        )
    weeks = say_count(
        block.weeks, "{n} week: {days}", "{n} weeks: {days}", n=fmt.in_words(block.weeks), days=days
    )
    return block.name, weeks
