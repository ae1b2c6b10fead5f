"""The page's first words: what a coach reads in twenty seconds. One place, one voice."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Final, NamedTuple

from gripbook.logs import Block
from gripbook.reviews.body_mass import with_whom
from gripbook.reviews.change import (
    SeriesChange,
    capacity_words,
    kilograms,
    kilograms_bare,
)
from gripbook.reviews.gaps import GapKind
from gripbook.reviews.people import in_own_units
from gripbook.strength.fit import NOT_MEASURED
from gripbook.words import block as block_words
from gripbook.words import fmt, mark, say, say_count
from gripbook.words import log as log_words
from gripbook.words import pain as pain_words

PAIN_NOT_RECORDED = mark("Pain was not recorded, which is not the same as none.")

if TYPE_CHECKING:
    from gripbook.reviews.block_review import BlockReview

#: The heading that the first words lead to.
BODY_MASS_SECTION = mark("Strength and body mass")

#: Things said on the first screen; those of the caution for minors count.
SENTENCES: Final = 8
_END = re.compile(r"(?<=[.]) |(?<=[.][)]) ")


class _Said(NamedTuple):
    """
    One sentence and its rank. Where there are too many those of high rank are left out: 0 what
    must stand, 1 what is missing from the figures, 2 why, 4 which is weaker, 5 what else is not
    known, 6 what follows a sentence that may stand alone.
    """

    text: str
    rank: int = 0


@in_own_units
def lead(review: BlockReview) -> tuple[str, ...]:
    """
    At most `SENTENCES` things, in parts: safety, what changed, what was done and
    whether the limits were kept, where to begin next, which hand and grip is weaker, what is not
    known. No body mass, no praise.
    """
    parts = [_safety(review), [_Said(_change(review))], _done(review), _next(review)]
    parts += [_weaker(review), _unknown(review)]
    ranks = [(one.rank, n, m) for n, part in enumerate(parts) for m, one in enumerate(part)]
    caution = sentences_of(say(log_words.CAUTION_MINOR)) if review.athlete.minor else []
    room = SENTENCES - len(caution)
    kept = {(n, m) for _, n, m in sorted(ranks)[:room]}
    told = (
        " ".join(one.text for m, one in enumerate(part) if (n, m) in kept)
        for n, part in enumerate(parts)
    )
    return tuple(text for text in told if text)


def sentences_of(text: str) -> list[str]:
    """A text's sentences. Dates and units hold no plain space, so a stop before one ends it."""
    return [one for one in _END.split(text) if one]


def _safety(review: BlockReview) -> list[_Said]:
    out: list[str] = []
    if first := pain_words.read_first(review.notes):
        out.append(first)
    flags = review.pain.flags
    if flags:
        out += [pain_words.flag_felt(flags[0]), pain_words.flag_action(flags[0])]
    if len(flags) > 1:
        more = fmt.count(
            len(flags) - 1, "{n} more place under Pain.", "{n} more places under Pain."
        )
        out.append(fmt.sentence(more))
    if review.body_mass.sentence:
        # where is said, what is not: who looks over a shoulder reads no body mass
        told = {"who": with_whom(review.athlete), "section": say(BODY_MASS_SECTION)}
        out.append(say("Please talk over {who} what stands under {section}.", **told))
    return [_Said(text) for text in out]


def _weaker(review: BlockReview) -> list[_Said]:
    return [_Said(review.change.weaker, 4)] if review.change.weaker else []


# --- what changed -----------------------------------------------------------------------------


def _change(review: BlockReview) -> str:
    headline = review.change.headline
    wanted = review.block.headline
    if headline is not None:
        return _headline(review, headline)
    if wanted is not None:
        named = f"{fmt.EXERCISE_WORDS[wanted.capacity]}, {fmt.series(wanted.grip, wanted.hand)}"
        return say(
            "No set of the series named beforehand ({named}) tells of strength.", named=named
        )
    return say("No set tells of strength, so no change can be told.")


def _headline(review: BlockReview, h: SeriesChange) -> str:
    """The series named beforehand, its change in kilograms with the range."""
    fit = h.fit
    where = say("in {grip}", grip=fmt.series(fit.grip, fit.hand))
    where += (
        say(", on {edge_mm}", edge_mm=fmt.with_unit(fit.edge_mm, "mm"))
        if math.isfinite(fit.edge_mm)
        else ""
    )
    load = _capacity_words(fit.capacity, review.block)
    if fit.at_least:
        return say(
            "It can't be told whether you got stronger {where}: you finished every "
            "set of {exercise_words}, so the log shows that these loads were "
            "possible, not how much more was.",
            where=where,
            exercise_words=fmt.EXERCISE_WORDS[fit.capacity],
        )
    if not fit.ok:
        return say(
            "Your change {where} is not measured: {plain_reasons}.",
            where=where,
            plain_reasons=_plain_reasons(fit.reasons),
        )
    low, high, width = h.low_kg, h.high_kg, h.high_kg - h.low_kg
    show = review.athlete.show_body_mass
    start, end = kilograms(fit.start_kg, width), kilograms(fit.end_kg, width)
    went = (
        say("went from about {start} to {end}, ", start=start, end=end) if show else say("moved, ")
    )
    sure = say(" (in nine of ten cases)")
    stood = (
        say(", about {start} at the start and {end} at the end,", start=start, end=end)
        if show
        else ""
    )
    if fit.verdict == "rise":
        return say(
            "You got stronger {where}: {load} {went}{between} higher{sure}.",
            where=where,
            load=load,
            went=went,
            between=_between(low, high),
            sure=sure,
        )
    if fit.verdict == "fall":
        return say(
            "You got weaker {where}: {load} {went}{between} lower{sure}.",
            where=where,
            load=load,
            went=went,
            between=_between(-high, -low),
            sure=sure,
        )
    open_range = say(
        "{load}{stood} ended anything from {signed} to ",
        load=load,
        stood=stood,
        signed=_signed(low, width),
    )
    open_range += f"{_signed(high, width)}{sure}."
    if fit.verdict == "steady":
        planned = say(", as planned") if review.block.goal == "hold" else ""
        return say(
            "You stayed as strong as you were{planned}, {where}: {open_range}",
            planned=planned,
            where=where,
            open_range=open_range,
        )
    return say(
        "It can't be told whether you got stronger {where}: {open_range}",
        where=where,
        open_range=open_range,
    )


def _capacity_words(capacity: str, block: Block) -> str:
    if capacity == "hang":
        return say(
            "the load you can hold for {reference_hang_s}",
            reference_hang_s=fmt.with_unit(block.reference_hang_s, "s"),
        )
    if capacity == "repeater":
        return say("the load of {capacity_words},", capacity_words=capacity_words(capacity, block))
    return say("your all-out pull")


def _between(low: float, high: float) -> str:
    return say(
        "between {low} and {high}",
        low=kilograms_bare(low, high - low),
        high=kilograms(high, high - low),
    )


def _signed(kg: float, width: float) -> str:
    size = kilograms(abs(kg), width)
    return say("{size} higher", size=size) if kg > 0 else say("{size} lower", size=size)


def _plain_reasons(reasons: tuple[str, ...]) -> str:
    return fmt.clauses(r.removesuffix(say(NOT_MEASURED)) for r in reasons)


# --- was it done, within the limits ------------------------------------------------------------


def _done(review: BlockReview) -> list[_Said]:
    aside = review.block.aside
    parts = [
        _Said(log_words.block_aside(aside) if aside else ""),
        _Said(block_words.sessions(review.done)),
        _Said(block_words.breaches_in_short(review.dose.breaches), 1),
        _Said(pain_words.headline(review.pain), 1),
    ]
    return [part for part in parts if part.text]


# --- what next --------------------------------------------------------------------------------


def _next(review: BlockReview) -> list[_Said]:
    """One start load with its because, or why there is none."""
    # words stand above the facts; this module is to join them there
    from gripbook.words.next import lead as next_lead

    if review.athlete.minor:  # the page's caution says whose the next step is
        return []
    plan = review.next_block
    if plan.held:
        return [_Said(text, 5 if n else 1) for n, text in enumerate(next_lead(plan))]
    return _falling(sentences_of(" ".join(next_lead(plan))), 0, 6)


def _falling(texts: list[str], first: int, others: int) -> list[_Said]:
    return [_Said(text, others if n else first) for n, text in enumerate(texts)]


# --- what is not known ------------------------------------------------------------------------


def _unknown(review: BlockReview) -> list[_Said]:
    if review.wrong:
        return _falling(sentences_of(_wrong(review.wrong)), 1, 6)
    if told := log_words.rows_refused(review.done):
        return [_Said(told, 1)]
    if told := _unmeasured(review):
        return [_Said(told, 5)]
    # pain and a block that nothing is logged in are said before
    before = {GapKind.PAIN, GapKind.BLOCK_ASIDE}
    others = [g for g in review.gaps if g.kind not in before]
    return [_Said(log_words.gap(others[0], review.block), 5)] if others else []


def _wrong(rows: tuple[tuple[str, float], ...]) -> str:
    places = [
        say("{place} ({mass} on the fingers)", place=place, mass=fmt.mass(kg))
        if math.isfinite(kg)
        else place
        for place, kg in rows
    ]
    told = say_count(
        len(rows),
        "{n} set looks wrong and was left out of every figure of strength: {places}, far above all "
        "others of its kind. Correct the row; if it is right, a second set near it makes it count.",
        "{n} sets look wrong and were left out of every figure of strength: {places}, far above "
        "all others of their kind. Correct the rows; if one is right, a second set near it makes "
        "it count.",
        n=fmt.in_words(len(rows)),
        places=fmt.listing(places),
    )
    return fmt.sentence(told)


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
        reasons = {r for s in of_it for r in s.fit.reasons if r.endswith(say(NOT_MEASURED))}
        if reasons:
            out.append(f"{fmt.EXERCISE_WORDS[capacity]} ({_plain_reasons((min(reasons),))})")
    return say("Not measured: the change of {out}.", out=fmt.listing(out)) if out else ""
