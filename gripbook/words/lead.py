"""
The first screen: at most four lines, each led by its word.

What is wrong comes first and only where something is; then whether the athlete got stronger, what
was done, and what comes next.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from gripbook.reviews import BlockReview
from gripbook.reviews.change_facts import ChangeVerdict, SeriesChange
from gripbook.reviews.people import in_own_units
from gripbook.reviews.sentences import done, next_step, safety, unusable
from gripbook.words import Table, fmt, mark, ratio, say, series, strength
from gripbook.words.cautions import CAUTION_MINOR_SHORT


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
    """What is wrong: pain and points for a physician first, then what could not be read."""
    told = []
    if review.athlete.minor:
        told.append(say(CAUTION_MINOR_SHORT))
    told.append(safety(review))
    if review.body_mass.fall is not None:
        told.append(ratio.physician(review.body_mass.fall, review.athlete))
    told.append(unusable(review))
    return " ".join(filter(None, told))
