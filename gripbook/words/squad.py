"""The squad page in words: whom to call first, each athlete's row, what changed together."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import replace

from gripbook.reviews.change_facts import ChangeVerdict
from gripbook.reviews.squad import (
    CapacityMark,
    FlagKind,
    SquadChange,
    SquadFlag,
    SquadReview,
    SquadRow,
)
from gripbook.strength.reasons import NoChange
from gripbook.words import Table, block, fmt, mark, pain, ratio, say, say_count, series, strength

_OFTEN = Table(
    {
        "finger_session_minutes": mark("{figure} minutes in {n} sessions (limit {allowed})"),
        "sets_per_session": mark("{figure} sets in {n} sessions (planned: {allowed})"),
    }
)
#: What a lane is called.
_LIMITS = Table(
    {
        "fingers_per_week": mark("{figure} finger days in {weeks} (limit {allowed})"),
        "rest_days_between_finger_days": mark("too little rest before a finger day in {weeks}"),
        "finger_session_minutes": mark("{figure} minutes in a session, {weeks} (limit {allowed})"),
        "sets_per_session": mark("{figure} sets in a session, {weeks} (planned: {allowed})"),
        "pulls_in_first_block": mark("all-out pulls in a first block, {weeks}"),
    }
)


# --- one athlete ------------------------------------------------------------------------------

#: Titles of the section's folds and tables, and what stands where one is empty.
TITLES = Table(
    {
        "too_few": mark(
            "Fewer than three athletes of one block have a measured change, so no average."
        ),
        "no_flag": mark(
            "No flag means that nothing in the log raised one: nobody logged everything."
        ),
        "health_data": mark(
            "This page and results.csv are the coach's alone. They hold health data: keep them "
            "where only those who need them can read them, with the athletes' consent (a "
            "guardian's for minors), and delete them when they are no longer needed."
        ),
        "together": mark("Together"),
        "squad": mark("Squad"),
        "athletes": mark("Athletes"),
        "how_to_read": mark(
            "Change of the load they can hold or pull, end against start; pulls: the hand "
            "that gained less. Bold: the whole range lies on one side of no change. The "
            "rows are sorted by reasons to call, then by name."
        ),
        "figures": mark("The figures as a table"),
        "figures_hold": mark("averages, how far they spread, and how much is chance"),
        "call_first": mark("Call first"),
        "pooled": mark(
            "Change over the block in per cent with 90~% ranges; spread: SD of the true "
            "changes; last columns: athletes above the smallest change that matters"
        ),
        "method": mark(
            "Random-effects mean (REML; range after Hartung and Knapp); spread and share "
            "as in Swinton and others 2018, Frontiers in Nutrition 5:41, with each "
            "athlete's own error in place of a control group. The model's caution about "
            "each athlete is taken out before, so that it does not hide differences. "
            "Whether they differ: Cochran's Q, its 5~% shared out over the capacities."
        ),
    }
)


def flag(f: SquadFlag) -> str:
    """One reason to call, as a clause: pain 4 of 10, right inner elbow, on 3 March."""
    if f.kind is FlagKind.REVIEW_FAILED:
        return say("the review failed")
    if f.kind in (FlagKind.PAIN_AT_LIMIT, FlagKind.PAIN_RISING):
        return _pain(f)
    if f.kind is FlagKind.PAIN_BELOW_LIMIT:
        return say("{pain}, below the limit", pain=_pain(f))
    if f.kind is FlagKind.CLEARED:
        return _cleared(f)
    if f.kind is FlagKind.INJURED:
        return say("injured {days}", days=fmt.count(f.number, "{n} day", "{n} days"))
    if f.kind is FlagKind.INJURY_NOTE:
        return say_count(
            f.number,
            "the note of {day} may speak of an injury",
            "{n} notes may speak of an injury, the first of {day}",
            n=fmt.in_words(f.number),
            day=_day(f),
        )
    if f.kind is FlagKind.ENERGY_NOTE:
        return (
            say(
                "a note of {day} speaks of eating less: talk to them and a guardian, see a "
                "physician",
                day=_day(f),
            )
            if f.minor
            else say("a note of {day} speaks of eating less: see a physician", day=_day(f))
        )
    if f.kind is FlagKind.PHYSICIAN:
        if f.fall is None:
            return say("food and energy: a point for a physician")
        return say("{fell}: a point for a physician", fell=ratio.fall(f.fall))
    if f.kind in (FlagKind.LIMIT_BROKEN, FlagKind.MORE_SETS):
        often = f.number > 1 and f.over in _OFTEN
        return (_OFTEN if often else _LIMITS)[f.over].format(
            n=f.number,
            figure=block.figures((f.least, f.figure)),
            allowed=fmt.number(f.allowed, 0),
            weeks=fmt.weeks(f.weeks),
        )
    if f.kind is FlagKind.WEAKER and f.grips:
        return say(
            "weaker in {lane} with {grips}",
            lane=fmt.WORK_WORDS[f.capacities[0]],
            grips=fmt.listing(fmt.grip(g) for g in f.grips),
        )
    if f.kind is FlagKind.WEAKER:
        return say("weaker in {lanes}", lanes=fmt.listing(fmt.WORK_WORDS[c] for c in f.capacities))
    if f.kind is FlagKind.SESSIONS_MISSING:
        return say("no finger session in {weeks}", weeks=fmt.weeks(f.weeks))
    if f.kind is FlagKind.NOTHING_LOGGED and f.since is not None:
        return say("nothing logged since {day}", day=fmt.day(f.since.date(), year=False))
    if f.kind is FlagKind.ROWS_REFUSED:
        return say_count(
            f.number, "{n} row not readable", "{n} rows not readable", n=fmt.in_words(f.number)
        )
    return say("pain not noted")


def _day(f: SquadFlag) -> str:
    return fmt.day(f.date.date(), year=False) if f.date is not None else ""


def _cleared(f: SquadFlag) -> str:
    """Pain that a physician or physiotherapist has seen, and within what limits it was ended."""
    day = fmt.day(f.since.date(), year=False) if f.since is not None else ""
    text = (
        say("cleared on {day}: \u201c{note}\u201d", day=day, note=f.note)
        if f.note
        else say("cleared on {day}", day=day)
    )
    if f.date is None:
        return text
    return say("{pain}, {cleared}", pain=_pain(replace(f, since=None)), cleared=text)


def _pain(f: SquadFlag) -> str:
    place = pain.place(f.site, f.side)
    if math.isfinite(f.level) and f.level > 0:
        text = say(
            "pain {level} of 10, {place}, on {day}",
            level=fmt.number(f.level),
            place=place,
            day=_day(f),
        )
    else:
        text = say("pain, {place}, on {day}", place=place, day=_day(f))
    if f.since is None:
        return text
    since = fmt.day(f.since.date(), year=False)
    return say("{pain}, rising since {day}", pain=text, day=since)


def flags(row: SquadRow) -> tuple[str, ...]:
    """All reasons to call, the weightiest first; "Nothing flagged." where there are none."""
    if row.failed:
        return (say("The review failed: {failed}", failed=row.failed),)
    if not row.flags:
        return (say("Nothing flagged."),)
    parts = [
        # the pain before it names place and day, so the notes are only counted
        _notes_of_injury(f) if f.kind is FlagKind.INJURY_NOTE and i else flag(f)
        for i, f in enumerate(row.flags)
    ]
    return tuple(f"{fmt.sentence(text)}." for text in parts)


def _notes_of_injury(f: SquadFlag) -> str:
    return fmt.count(f.number, "{n}~note to read first", "{n}~notes to read first")


def verdicts(row: SquadRow) -> str:
    """The capacities by verdict: Stronger in hangs and repeaters; can't tell a change in pulls."""
    if row.minor:
        return say("Under 18: others decide.")
    groups: dict[ChangeVerdict, list[CapacityMark]] = {}
    flagged = any(f.kind is FlagKind.WEAKER and not f.grips for f in row.flags)
    for m in row.marks:
        if m.verdict in (ChangeVerdict.NOT_MEASURED, ChangeVerdict.AT_LEAST):
            continue
        if not (flagged and m.verdict is ChangeVerdict.WEAKER):  # the flag has said so
            groups.setdefault(m.verdict, []).append(m)
    parts = []
    for kind, group in groups.items():
        tenths = [m.tenths for m in group]
        lanes = fmt.listing(_lane_and_grip(m) for m in group)
        if len(group) == len(fmt.WORK_WORDS):
            lanes = say("all three")
        words = strength.verdict(kind, min(tenths), max(tenths))
        parts.append(fmt.headed(lanes, words))
    if not parts:
        return "" if flagged else say("Can't tell a change.")
    return f"{fmt.sentence(fmt.clauses(parts))}."


def _lane_and_grip(m: CapacityMark) -> str:
    """A lane, with its grip where another one fell."""
    lane = fmt.WORK_WORDS[m.capacity]
    return say("{lane} with {grip}", lane=lane, grip=fmt.grip(m.grip)) if m.fell else lane


def notes(row: SquadRow) -> str:
    """How many notes there are to read; "" for none."""
    if not row.notes:
        return ""
    if row.flags:  # beside reasons to call there is little room
        return say_count(row.notes, "{n}~note.", "{n}~notes.", n=row.notes)
    return say_count(row.notes, "{n} note to read.", "{n} notes to read.", n=row.notes)


def sessions(row: SquadRow) -> str:
    """Finger sessions done of planned: 16 of 18 finger sessions; "" where the review failed."""
    if row.sessions_done is None:
        return ""
    done, planned = row.sessions_done, row.sessions_planned
    if planned is None:
        return fmt.count(done, "{n} finger session", "{n} finger sessions")
    if done > planned:
        return say("{done} sessions, {planned} planned", done=done, planned=planned)
    return say("{done} of {planned} finger sessions", done=done, planned=planned)


def lane(m: CapacityMark) -> str:
    """A lane's range in figures, or why it is empty: +5 to +18 %; no end test."""
    if math.isfinite(m.low_pct):
        return series.range_pct(m.low_pct, m.high_pct)
    if m.hidden:
        return say("on their page")
    if m.verdict is ChangeVerdict.AT_LEAST:
        return say("every set finished")
    if m.one_day:
        return say("one day only")
    for reason in m.reasons:
        if reason.why is NoChange.HEALTH_FIRST:
            return say("not told")
        if reason.why is NoChange.NO_END:
            return say("ends in week {week}", week=reason.week)
        if reason.why is NoChange.NO_START:
            return say("begins in week {week}", week=reason.week)
    return say("not measured")


# --- all together -----------------------------------------------------------------------------


def call_first(s: SquadReview) -> str:
    """Whom to call and why, then the rest by name; "" where nothing is flagged."""
    rows = [row for row in s.by_need if row.flags]
    if not rows:
        return ""
    parts = [say("{name}: {why}.", name=row.name, why=flag(row.flags[0])) for row in rows[:2]]
    others = [row.name for row in rows[2:]]
    if others:
        parts.append(
            say_count(
                len(others),
                "Then {names}.",
                "Then {names}.",
                names=fmt.some(others),
            )
        )
    return " ".join(parts)


def together(changes: Sequence[SquadChange]) -> tuple[str, ...]:
    """What each block did on average, and whether the athletes differ: two sentences a block."""
    blocks = dict.fromkeys(c.block for c in changes)
    return tuple(
        _together([c for c in changes if c.block == b], b if len(blocks) > 1 else "")
        for b in blocks
    )


def more_together(blocks: int) -> str:
    """That the averages of so many more blocks stand further down."""
    return say_count(
        blocks,
        "{n} more block is under Behind the average.",
        "{n} more blocks are under Behind the average.",
        n=fmt.number(blocks),
    )


def _together(changes: Sequence[SquadChange], block: str) -> str:
    means = fmt.listing(
        say(
            "{mean}~% in {lane} ({range})",
            mean=fmt.number(c.mean_pct, 0, sign=True),
            lane=fmt.WORK_WORDS[c.capacity],
            range=series.range_pct(*c.range_pct),
        )
        for c in changes
    )
    first = say("On average {means}, 90~% ranges.", means=means)
    if block:
        first = fmt.headed(block, first)
    differ = [c for c in changes if c.differ]
    if differ:
        lanes = fmt.listing(fmt.WORK_WORDS[c.capacity] for c in differ)
        second = say(
            "The athletes differ in {lanes} by more than chance explains: read the rows, not the "
            "average.",
            lanes=lanes,
        )
    else:
        second = say("Chance alone can explain how they differ.")
    return f"{first} {second}"


def measured(changes: Sequence[SquadChange]) -> str:
    """How many athletes the averages rest on."""
    text = fmt.listing(
        say(
            "{n} of {athletes} in {lane}",
            n=c.pooled.n,
            athletes=c.athletes,
            lane=fmt.WORK_WORDS[c.capacity],
        )
        for c in changes
    )
    return say(
        "The averages rest on the athletes with a measured change: {counts}. Nobody went without a "
        "block for comparison, so this says what happened over the block, not what the block did.",
        counts=text,
    )


def above(c: SquadChange) -> str:
    """How many show a gain that matters, and how many chance alone would put there."""
    return say(
        "{lane}: {shown} above {smallest}~%, the smallest gain that matters. Had nobody changed, "
        "chance would put {noise} there; had all changed alike, {alike}.",
        lane=fmt.sentence(fmt.WORK_WORDS[c.capacity]),
        shown=fmt.count(c.shown, "{n} athlete", "{n} athletes"),
        smallest=fmt.number(c.smallest_pct),
        noise=about(c.by_noise),
        alike=about(c.by_alike),
    )


def about(expected: float) -> str:
    """An expected count in words that claim no more than it knows."""
    if expected < 0.5:
        return say("hardly one")
    return say("about {number}", number=fmt.in_words(round(expected)))


def hidden(s: SquadReview) -> str:
    """Where the changes of those who hide body mass are told; "" where nobody hides it."""
    names = [row.name for row in s.rows if row.hides_body_mass]
    if not names:
        return ""
    return say(
        "Body mass is hidden for {names}: what can be told of their change stands on their own "
        "pages, in weight added, and counts in no average; in per cent it would give body mass "
        "away. results.csv does.",
        names=fmt.some(names),
    )


def covers(athletes: int, last: dt.date) -> str:
    """How many athletes a page is about, and to which day."""
    who = fmt.count(athletes, "{n} athlete", "{n} athletes")
    return say("{athletes}, to {last}", athletes=who, last=fmt.day(last))


def unplaced(rows: int) -> str:
    """Refused rows that say not whose they are."""
    counted = fmt.count(rows, "{n} refused row", "{n} refused rows")
    return say(
        "{refused_rows} could be placed with no athlete; `gripbook check` lists them.",
        refused_rows=fmt.sentence(counted),
    )


def tick(value: int) -> str:
    """A value of the scale of changes, in per cent."""
    return say("no change") if value == 0 else fmt.with_unit(value, "%", 0, sign=True)


def differ(*, sure: bool) -> str:
    """Whether athletes answered differently."""
    return say("yes") if sure else say("can't tell")
