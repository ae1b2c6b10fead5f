"""What the first screen says of pain, of what was done and of what comes next."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from gripbook.words import Table, fmt, mark, say, say_count

if TYPE_CHECKING:
    from gripbook.reviews.block_review import BlockReview


def safety(review: BlockReview) -> str:
    """The first reason to stop or hold, and how many more there are; "" without one."""
    if not review.pain.flags:
        return ""
    more = len(review.pain.flags) - 1
    text = review.pain.flags[0].text
    if not more:
        return text
    notes = say_count(more, "{n} more note", "{n} more notes", n=fmt.in_words(more))
    return f"{text} {fmt.sentence(say('{more_notes} under Pain.', more_notes=notes))}"


# --- was it done, within the limits ------------------------------------------------------------


def done(review: BlockReview) -> str:
    """What was done of what was planned, limits and pain."""
    count = review.done.sessions_done
    planned = review.done.sessions_planned
    aside = review.block.aside
    if aside is not None:
        counted = say(
            "You logged {finger_sessions}, none of them in the planned block ({start} to {end}), "
            "so the whole log is shown and compared with no plan; check the first day in the block "
            "file",
            finger_sessions=fmt.count(count, "{n} finger session", "{n} finger sessions"),
            start=fmt.day(aside.start),
            end=fmt.day(aside.end),
        )
    elif planned is None:
        counted = say(
            "You logged {finger_sessions}; no plan says how many were due",
            finger_sessions=fmt.count(count, "{n} finger session", "{n} finger sessions"),
        )
    elif count > planned:
        counted = say(
            "You did {done} finger sessions, {planned} were planned", done=count, planned=planned
        )
    else:
        counted = say(
            "You did {done} of {planned} planned finger sessions", done=count, planned=planned
        )
    weeks = review.done.weeks
    missed = review.done.missed_weeks
    reasons = weeks.loc[weeks["without"] != "", ["week", "without"]]
    if missed:
        counted += say(", none in {weeks}", weeks=fmt.weeks(missed))
    if len(reasons):
        told = [
            say("week {w}: {words}", w=w, words=words)
            for w, words in zip(reasons["week"], reasons["without"], strict=True)
        ]
        counted += f" ({fmt.clauses(told)})"
    return f"{fmt.clauses(filter(None, (counted, _dose(review), _pain_words(review))))}."


#: What a limit is called when it was not kept.
LIMIT_WORDS = Table(
    {
        "fingers_per_week": mark("more finger days than the limit"),
        "rest_days_between_finger_days": mark("too little rest between finger days"),
        "finger_session_minutes": mark("a finger session over its time"),
        "sets_per_session": mark("more sets than planned"),
        "pulls_in_first_block": mark("all-out pulls in a first block"),
    }
)


def _dose(review: BlockReview) -> str:
    by_limit: dict[str, list[int]] = {}
    for breach in review.dose.breaches:
        by_limit.setdefault(breach.limit, []).append(breach.week)
    if not by_limit:
        return ""
    told = [
        say("{limit_words} in {weeks}", limit_words=LIMIT_WORDS[limit], weeks=fmt.weeks(when))
        for limit, when in by_limit.items()
    ]
    return say("limits not kept: {join}", join=fmt.clauses(told))


def _pain_words(review: BlockReview) -> str:
    if not review.pain.recorded:
        return say("pain was not recorded, which is not the same as none")
    if review.pain.flags or len(review.pain.felt):
        return ""
    days = review.pain.entries["date"].nunique()
    return say("you wrote down 'no pain' on {days}", days=fmt.count(days, "{n} day", "{n} days"))


def next_step(review: BlockReview) -> str:
    """One start load with its because, or why there is none."""
    if review.athlete.minor:  # whose the next step is stands first
        return ""
    plan = review.next_block
    if plan.held:
        return say(
            "No load is proposed for what pain stops. Core, hips and other work can go on where "
            "they don't hurt."
        )
    starts = [x for x in plan.loads if x.kind == "start"]
    h = review.block.headline
    named = [
        x for x in starts if h and (x.exercise, x.grip, x.hand) == (h.capacity, h.grip, h.hand)
    ]
    if not starts:
        if not plan.lines:
            return ""
        line = plan.lines[0]
        return f"{line.text} {line.because}"
    load = (named or starts)[0]
    what = f"{fmt.EXERCISE_WORDS[load.exercise]}, {fmt.series(load.grip, load.hand, load.edge_mm)}"
    last = say(" (last done {last})", last=load.last) if load.last else ""
    start = say("start {what} at {amount}{last}", what=what, amount=load.weight_words, last=last)
    later = next((x.brief for x in plan.lines if x.brief), "")
    return (
        f"{fmt.sentence(fmt.clauses(filter(None, (start, later))))}. {load.brief or load.because}"
    )


def unusable(review: BlockReview) -> str:
    """Rows that could not be read and sets left out because they look wrong; "" without any."""
    if review.wrong:
        return _wrong(review.wrong)
    refused = len({(p.file, p.line) for p in review.problems if p.severity == "error"})
    if not refused:
        return ""
    return say(
        "{rows} of the log could not be used, so weeks may look emptier than they were.",
        rows=fmt.sentence(fmt.count(refused, "{n} row", "{n} rows")),
    )


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
