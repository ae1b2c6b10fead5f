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

from gripbook.reviews import BlockReview, NextBlock
from gripbook.reviews.change_facts import ChangeVerdict, SeriesChange
from gripbook.reviews.pain import Pain
from gripbook.reviews.shown import ADDED
from gripbook.words import (
    Table,
    block,
    fmt,
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


class LeadWord(StrEnum):
    """What leads a line; the first six say what is wrong."""

    MINOR = "minor"
    PAIN = "pain"
    NOTE = "note"
    ENERGY = "energy"
    PHYSICIAN = "physician"
    LOG = "log"
    STRONGER = "stronger"
    DONE = "done"
    THIS_WEEK = "this_week"
    SO_FAR = "so_far"
    NEXT = "next"

    @property
    def wrong(self) -> bool:
        """Whether it leads what is wrong."""
        return self in _WRONG


_WRONG = (
    LeadWord.MINOR,
    LeadWord.PAIN,
    LeadWord.NOTE,
    LeadWord.ENERGY,
    LeadWord.PHYSICIAN,
    LeadWord.LOG,
)
#: The lead words as a page writes them.
LEAD_WORDS = Table(
    {
        LeadWord.MINOR: mark("Under 18"),
        LeadWord.PAIN: mark("Pain"),
        LeadWord.NOTE: mark("Injury?"),
        LeadWord.ENERGY: mark("Food and energy"),
        LeadWord.PHYSICIAN: mark("Body mass"),
        LeadWord.LOG: mark("Log"),
        LeadWord.STRONGER: mark("Stronger?"),
        LeadWord.DONE: mark("Done"),
        LeadWord.THIS_WEEK: mark("This week"),
        LeadWord.SO_FAR: mark("So far"),
        LeadWord.NEXT: mark("Next"),
    }
)


#: A test so many days or fewer after all-out pulls may be tired (own choice, no source).
_TIRED_DAYS = 2
#: Nearer than this an edge is the same one, in millimetres or in inches (own choice, no source).
_SAME_EDGE_MM = 0.5


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
    what = " ".join(filter(None, (_what(h), _worked_out(review, h))))
    if h.verdict is ChangeVerdict.AT_LEAST:
        return say(
            "Can't tell: you never reached your limit in {what}. Note what was left after each "
            "finished set.",
            what=what,
        )
    if h.verdict is ChangeVerdict.NOT_MEASURED:
        text = say("Can't tell: {reasons}.", reasons=strength.reasons(h))
        return f"{text} {strength.training_in_short(h.training)}" if h.training else text
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
    text = f"{answer} {fmt.headed(fmt.sentence(what), strength.went(h))}."
    if not math.isfinite(h.start_kg) and h.best is not None and h.best.shown_as == ADDED:
        # where body mass is hidden, what was lost of it would pass for strength
        text = f"{text} {say('Weight added; changes of body mass are not counted.')}"
    return " ".join(filter(None, (text, _test_rise(review, h))))


def _test_rise(review: BlockReview, h: SeriesChange) -> str:
    """Where a change can't be told though the test rose: by how much, and what came before it."""
    first, last = h.first_test, h.last_test
    if h.verdict is not ChangeVerdict.CANT_TELL or first is None or last is None:
        return ""
    rise = last.best.added_kg - first.best.added_kg
    if not h.tests_alike or not rise > 0:
        return ""
    out = say("The test rose by {by}; the range is wide.", by=fmt.mass(rise))
    sets = review.sets
    pulls = sets[(sets["exercise"] == "pull") & ~sets["warmup"]]["date"]
    days = [(last.best.day - day).days for day in pulls if day < last.best.day]
    if h.capacity == "pull" or not days or min(days) > _TIRED_DAYS:
        return out
    after = fmt.count(min(days), "{n} day", "{n} days")
    return f"{out} {say('It came {days} after all-out pulls.', days=after)}"


def _what(s: SeriesChange) -> str:
    """Half crimp, both hands, 20 mm for 10 s."""
    where = series.conditions(s)
    if s.capacity == "hang":
        return say("{where} for {seconds}~s", where=where, seconds=fmt.number(s.reference_s))
    return f"{series.capacity(s)}, {where}"


def _worked_out(review: BlockReview, h: SeriesChange) -> str:
    """The edge most hung on, where the load is stated for one that never was; else ""."""
    sets = review.sets
    own = sets[
        sets["in_block"]
        & (sets["exercise"] == h.capacity)
        & (sets["grip"] == h.grip)
        & (sets["hand"] == h.hand)
        & sets["edge_mm"].notna()
    ]
    if own.empty or (own["edge_mm"] == h.edge_mm).any():
        return ""
    most = own.groupby("edge_mm")["sets"].sum().idxmax()
    if abs(most - h.edge_mm) < _SAME_EDGE_MM:
        return ""
    return say("(worked out from {edge})", edge=fmt.with_unit(float(most), "mm"))


def _others(all_series: Iterable[SeriesChange], h: SeriesChange | None) -> str:
    """The other measured series by verdict: Repeaters and both pulls: stronger too."""
    groups: dict[ChangeVerdict, list[SeriesChange]] = {}
    for s in all_series:
        if s is not h and s.measured:
            groups.setdefault(s.verdict, []).append(s)
    parts = []
    for kind, group in groups.items():
        names = series.in_a_row(group, h.grip if h is not None else "")
        if h is not None and kind is h.verdict is ChangeVerdict.STRONGER:
            parts.append(say("{names} rose too", names=names))
        elif h is not None and kind is h.verdict is ChangeVerdict.WEAKER:
            parts.append(say("{names} fell too", names=names))
        else:
            tenths = [s.tenths for s in group]
            parts.append(fmt.headed(names, strength.verdict(kind, min(tenths), max(tenths))))
    return f"{fmt.sentence(fmt.clauses(parts))}." if parts else ""


@in_own_units
def so_far(review: BlockReview, plan: NextBlock) -> str:
    """A running block's line on strength: the headline's load as it stands, and no verdict."""
    h = review.change.headline
    if h is None:
        return say("No set with a known load shows strength yet.")
    at = h.at(review.last)
    waits = _test_ahead(review, plan)
    if at is None:
        text = (
            say("Can't tell yet: {reasons}.", reasons=strength.reasons(h))
            if h.reasons
            else say("Loads aren't shown on this page; the change is told when the block ends.")
        )
        return " ".join(filter(None, (text, waits)))
    kg, low, high = at
    width = high - low
    text = say(
        "{what}: about {load}, body mass included ({low} to {high}, 90~% range).",
        what=fmt.sentence(_what(h)),
        load=series.load(kg, width),
        low=fmt.mass_number(low, series.digits(low, width)),
        high=series.load(high, width),
    )
    return " ".join(filter(None, (text, _fell(review, h), waits)))


def _fell(review: BlockReview, h: SeriesChange) -> str:
    """The other series that are weaker by now; a running block gives no verdict but this."""
    fell = [s for s in review.change.series if s is not h and s.verdict is ChangeVerdict.WEAKER]
    if not fell:
        return ""
    return f"{fmt.sentence(fmt.headed(series.in_a_row(fell, h.grip), say('weaker so far')))}."


def _test_ahead(review: BlockReview, plan: NextBlock) -> str:
    """When an answer comes; "" where no test is planned, or it waits, or the fingers rest."""
    ahead = [w for w in review.block.test_weeks if w > (review.state.week or 0)]
    if plan.test_waits:
        ahead = [w for w in ahead if w > plan.week]
    if not ahead or plan.held or plan.holds.returning:
        return ""
    return say(
        "The test in week {week} can show a large rise; a small one stays inside the range.",
        week=ahead[0],
    )


@in_own_units
def lead(review: BlockReview) -> tuple[LeadLine, ...]:
    """The lines of the first screen, at most four; a line with nothing to say is left out."""
    plan = review.coming
    coming = LeadLine(*next_step(review, plan))
    past = LeadLine(LeadWord.DONE, done(review))
    lines: tuple[LeadLine, ...]
    if review.state.running:
        lines = (past, coming, LeadLine(LeadWord.SO_FAR, so_far(review, plan)))
    else:
        lines = (LeadLine(LeadWord.STRONGER, stronger(review)), past, coming)
    return tuple(line for line in (*wrong(review), *lines) if line.text)


@in_own_units
def wrong(review: BlockReview) -> tuple[LeadLine, ...]:
    """What is wrong, in one line led by the weightiest: who decides, pain, notes, mass, log."""
    parts: list[tuple[LeadWord, str]] = []
    flags = review.pain_to_date.flags
    if review.athlete.minor:
        decide = say("Coach, guardian and physician decide what you train.")
        parts.append((LeadWord.MINOR, decide))
    if flags:
        text = [pain.flag_felt(flags[0]), pain.flag_action(flags[0])]
        if len(flags) > 1:
            n = len(flags) - 1
            more = fmt.count(n, "{n} more place under Pain.", "{n} more places under Pain.")
            text.append(fmt.sentence(more))
        parts.append((LeadWord.PAIN, " ".join(text)))
    if read := _notes(review):
        parts.append((LeadWord.NOTE, read))
    if food := energy(review):
        parts.append((LeadWord.ENERGY, food))
    if review.body_mass.fall is not None:
        parts.append((LeadWord.PHYSICIAN, ratio.physician(review.body_mass.fall, review.athlete)))
    n = len(review.wrong) + len(review.done.refused)
    if review.wrong:
        parts.append((LeadWord.LOG, wrong_sets(review)))
    elif n:
        parts.append((LeadWord.LOG, rows_to_correct(n)))
    if not parts:
        return ()
    return (LeadLine(parts[0][0], " ".join(text for _, text in parts)),)


def energy(review: BlockReview) -> str:
    """
    The first note of eating less, and whom to see; "" for none.

    Where body mass is hidden and fell, it sends there too, without a word of weight.
    """
    minor = review.athlete.minor is True
    quiet = review.body_mass.fell and review.body_mass.fall is None
    if review.notes.of_energy:
        day = fmt.day(review.notes.of_energy[0].date.date(), year=False)
        first = say("A note on {day} speaks of eating less.", day=day)
    elif quiet:
        first = ""
    else:
        return ""
    see = (
        say("Talk about food and energy with a guardian, and see a physician together.")
        if minor
        else say("Talk about food and energy with a physician.")
    )
    return " ".join(filter(None, (first, see)))


def _notes(review: BlockReview) -> str:
    """The first note of an injury that no flag of pain has told of; "" for none."""
    notes = review.notes
    flagged = {
        side
        for flag in review.pain_to_date.flags
        for side in (("left", "right") if flag.side == "both" else (flag.side,))
    }
    if not notes.to_read or (notes.held_sides and flagged.issuperset(notes.held_sides)):
        return ""
    first, *more = notes.to_read
    wrote = {"day": fmt.day(first.date.date(), year=False), "text": first.text}
    parts = [say("On {day} you wrote \u201c{text}\u201d.", **wrote)]
    if more:
        n = len(more)
        # of an injury or only of tape: which, the section quotes
        rest = fmt.count(
            n, "{n} more note to read under Pain.", "{n} more notes to read under Pain."
        )
        parts.append(fmt.sentence(rest))
    if notes.held_sides:
        parts.append(pain.stop_text(notes.held_sides, minor=review.athlete.minor is True))
    return " ".join(parts)


def rows_to_correct(n: int) -> str:
    """How many rows could not be read, and where they are listed."""
    text = fmt.count(
        n,
        "{n} row couldn't be read: see About this log.",
        "{n} rows couldn't be read: see About this log.",
    )
    return fmt.sentence(text)


def wrong_sets(review: BlockReview) -> str:
    """Sets whose load looks wrong and was left out, by their day; "" for none."""
    days = {
        f"{file}:{line}": day.date()
        for file, line, day in zip(
            review.sets["file"], review.sets["line"], review.sets["date"], strict=True
        )
    }
    parts = []
    for place, kg in review.wrong:
        on = fmt.day(days[place], year=False) if place in days else place
        if math.isfinite(kg):
            parts.append(say("{mass} on the fingers on {day}", mass=fmt.mass(kg), day=on))
        else:
            parts.append(on)
    if not parts:
        return ""
    text = say_count(
        len(parts),
        "{n} set looks wrong and was left out: {sets}. Correct the row; if it is right, a second "
        "set near it makes it count.",
        "{n} sets look wrong and were left out: {sets}. Correct the rows; if one is right, a "
        "second set near it makes it count.",
        n=fmt.in_words(len(parts)),
        sets=fmt.listing(parts),
    )
    return fmt.sentence(text)


@in_own_units
def done(review: BlockReview) -> str:
    """Finger sessions done of those due, limits broken, and pain as it was asked."""
    parts = [block.sessions(review.done), block.breaches_in_short(review.dose.breaches)]
    if not review.pain_to_date.flags:
        parts.append(_pain_asked(review.pain))
    return " ".join(filter(None, parts))


def _pain_asked(pain: Pain) -> str:
    """On how many finger days pain was asked and answered 0; "" where it was felt."""
    if not pain.recorded:
        return say("Pain wasn't noted.")
    if len(pain.felt):
        return ""
    days = len(pain.finger_days)
    noted = days - len(pain.silent_dates)
    if noted == days:
        return say("Pain: 0 on all {days} finger days.", days=days)
    return say(
        "Pain: 0 on {noted} of {days} finger days, otherwise not noted.",
        noted=noted,
        days=days,
    )


@in_own_units
def next_step(review: BlockReview, plan: NextBlock) -> tuple[LeadWord, str]:
    """One start load, or why there is none; nothing for a minor, whose next step is others'."""
    if plan.minor:
        return LeadWord.NEXT, ""
    if plan.held or not plan.week or not plan.rows:
        return LeadWord.NEXT, " ".join(next_words.lead(plan))
    now = plan.week == review.state.week
    day = min(row.day for row in plan.rows)
    sessions = len({row.day for row in plan.rows})
    kind = next(row.exercise for row in plan.rows if row.day == day)
    loads = [
        say(
            "{grip}, {sets}, {load}",
            grip=fmt.series(row.grip, row.hand, row.edge_mm),
            sets=next_words.sets_text(row),
            load=next_words.row_load(row, plan),
        )
        if not row.test
        else say("test of {grip}", grip=fmt.series(row.grip, row.hand, row.edge_mm))
        for row in plan.rows
        if row.day == day
    ]
    if len(loads) > 1:
        loads[1:] = [say("more under Next")]
    values = {
        "n": fmt.in_words(sessions),
        "week": plan.week,
        "day": fmt.day(day, year=False),
        "what": say("pulls") if kind == "pull" else fmt.EXERCISE_WORDS[kind],
        "loads": fmt.clauses(loads),
    }
    back = next_words.return_sentences(plan)[:1]
    if now:
        text = say_count(
            sessions,
            "{n} session is open, on {day}: {what}, {loads}.",
            "{n} sessions are open, the first on {day}: {what}, {loads}.",
            **values,
        )
        return LeadWord.THIS_WEEK, " ".join((*back, fmt.sentence(text)))
    text = say("Week {week} starts with {what} on {day}: {loads}.", **values)
    return LeadWord.NEXT, " ".join((*back, text))


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
