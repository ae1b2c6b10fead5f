"""Pain and notes: what was felt, what it asks for, and which notes to read first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from gripbook.words import fmt
from gripbook.words.messages import Table, mark, say, say_count

if TYPE_CHECKING:
    import pandas as pd

    from gripbook.reviews.notes import Note, Notes
    from gripbook.reviews.pain import Pain, PainFlag

SITE_WORDS = Table(
    {
        "index": mark("index finger"),
        "middle": mark("middle finger"),
        "ring": mark("ring finger"),
        "little": mark("little finger"),
        "thumb": mark("thumb"),
        "palm": mark("palm"),
        "wrist": mark("wrist"),
        "forearm": mark("forearm"),
        "elbow_inner": mark("inner elbow"),
        "elbow_outer": mark("outer elbow"),
        "shoulder": mark("shoulder"),
    }
)
_SIGN_WORDS = Table(
    {"pop": mark("a pop"), "swelling": mark("swelling"), "stiff": mark("stiffness")}
)
_WHEN_WORDS = Table(
    {
        "during": mark("while training"),
        "after": mark("after training"),
        "morning": mark("in the morning"),
    }
)
#: What ends a hold, and what doesn't.
ENDS_HOLD = mark(
    "Only a physician or physiotherapist ends this, by saying that you may load again. Log that "
    "day as “cleared”, with who said so and within what limits. A 0 you write yourself doesn't "
    "end it."
)
NOT_RECORDED = mark("Pain was not noted, which doesn't mean no pain.")

#: Titles of the section's folds and tables, and what stands where one is empty.
TITLES = Table(
    {
        "entries": mark("Pain as logged, by day (0 to 10; 0: asked, none)"),
        "notes": mark("Notes as written, by day"),
        "every_entry": mark("Every entry and note"),
        "stopped_for_pain": mark("a set was stopped for pain"),
    }
)


def day_words(date: pd.Timestamp) -> str:
    """A day without its year: 3 March."""
    return fmt.day(date.date(), year=False)


def days_listed(dates: Iterable[pd.Timestamp]) -> str:
    """Days in a row: 3 March, 5 March and 8 March."""
    return fmt.listing(day_words(d) for d in dates)


def place(site: str, side: str) -> str:
    """Site and side in words: left inner elbow; ring finger."""
    if not site:
        if side in ("left", "right"):
            sided = say("{side} side", side=fmt.SIDE_WORDS[side])
        elif side:
            sided = say("both sides")
        else:
            return say("place not recorded")
        return say("{sided}, place not recorded", sided=sided)
    words = SITE_WORDS.get(site, site.replace("_", " "))
    if side == "both":
        return say("{words}, both sides", words=words)
    return say("{side} {words}", side=fmt.SIDE_WORDS[side], words=words) if side else words


def flag_place(flag: PainFlag) -> str:
    """The place of a flag."""
    return place(flag.site, flag.logged_side)


def flag_facts(flag: PainFlag) -> str:
    """What was felt, in clauses: 4 of 10 while training on 3 March, rising since 17 February."""
    facts = []
    if flag.sign and flag.sign_date is not None:
        facts.append(
            say("{sign} on {day}", sign=_SIGN_WORDS[flag.sign], day=day_words(flag.sign_date))
        )
    if flag.worst is not None:
        facts.append(_level(flag))
    if flag.stopped_dates:
        facts.append(
            say("a set stopped on {days}, no level noted", days=days_listed(flag.stopped_dates))
        )
    if len(flag.morning_dates) == 1:
        facts.append(say("felt on the morning of {day}", day=day_words(flag.morning_dates[0])))
    elif flag.morning_dates:
        n = len(flag.morning_dates)
        facts.append(
            say("felt on {mornings}", mornings=fmt.count(n, "{n} morning", "{n} mornings"))
        )
    facts += _trend(flag)
    return ", ".join(facts)


def _level(flag: PainFlag) -> str:
    assert flag.worst is not None
    values = {"level": fmt.number(flag.worst.level), "day": day_words(flag.worst.date)}
    when = _WHEN_WORDS.get(flag.worst.when, "")
    words = (
        say("{level} of 10 {when} on {day}", when=when, **values)
        if when
        else say("{level} of 10 on {day}", **values)
    )
    if not flag.high_dates:
        return words
    return say("{words} (the block's limit is {limit})", words=words, limit=fmt.number(flag.limit))


def _trend(flag: PainFlag) -> list[str]:
    # both can be so, one after the other: then the later one is how it stands
    if flag.falling_since is not None:
        return [say("falling since {day}", day=day_words(flag.falling_since))]
    if flag.rising_since is not None and flag.rising:
        return [say("rising since {day}", day=day_words(flag.rising_since))]
    if flag.rising_since is not None and flag.reasons == ("rising",):
        return [say("risen after {day}", day=day_words(flag.rising_since))]
    return []


def flag_text(flag: PainFlag) -> str:
    """A flag as the page says it: what was felt where, then what to do and whom to see."""
    return " ".join([flag_felt(flag), flag_action(flag)])


def flag_felt(flag: PainFlag) -> str:
    """Where and what was felt: Right inner elbow: 4 of 10 on 3 March, rising since 17 February."""
    return fmt.headed(fmt.sentence(flag_place(flag)), f"{flag_facts(flag)}.")


def flag_action(flag: PainFlag) -> str:
    """What to do and whom to see."""
    if flag.cleared is not None:
        return say("Cleared on {day}.", day=day_words(flag.cleared))
    if flag.side in ("left", "right"):
        return stop_text((flag.side,), minor=flag.minor)
    if flag.logged_side == "both":
        return stop_text(("left", "right"), minor=flag.minor)
    return " ".join((say("No climbing or hanging (the side is not noted)."), whom(flag.minor)))


def stop_text(sides: Sequence[str], *, minor: bool) -> str:
    """What stops while hands are held, and whom to see: the same words wherever it is said."""
    if len(sides) > 1:
        stop = say("No climbing or hanging.")
    else:
        stop = say(
            "No climbing or hanging with the {side} hand, two-hand hangs included.",
            side=fmt.SIDE_WORDS[sides[0]],
        )
    return " ".join((stop, whom(minor)))


def whom(minor: bool) -> str:
    """Whom to see, and how soon."""
    if minor:
        return say("See a physician promptly, with a guardian.")
    return say("See a physician or physiotherapist this week.")


def flag_history(flag: PainFlag) -> str:
    """When the limit was reached and what followed; "" below the limit."""
    if not flag.high_dates:
        return ""
    text = say(
        "The {place} reached the block's limit of {limit} on {day}.",
        place=flag_place(flag),
        limit=fmt.number(flag.limit),
        day=day_words(flag.high_dates[0]),
    )
    if not flag.finger_days_after:
        return text
    days = fmt.count(flag.finger_days_after, "{n} finger day", "{n} finger days")
    return " ".join([text, say("{days} followed.", days=fmt.sentence(days))])


def answer(pain: Pain) -> str:
    """
    What was asked and answered, in a sentence or two. Never "no pain" where the log is silent.
    """
    if not pain.recorded:
        return say(NOT_RECORDED)
    felt, none = len(pain.felt_dates), len(pain.none_dates)
    on_felt = fmt.count(felt, "{n} day", "{n} days")
    on_none = fmt.count(none, "{n} day", "{n} days")
    if felt and none:
        text = say("You felt pain on {felt} and noted 0 on {none}.", felt=on_felt, none=on_none)
    elif felt:
        text = say("You felt pain on {felt}.", felt=on_felt)
    else:
        text = say("You noted pain 0 on {none}.", none=on_none)
    return " ".join(filter(None, [text, silence(pain)]))


def silence(pain: Pain) -> str:
    """On how many finger days nothing was noted; "" for none."""
    silent, days = len(pain.silent_dates), len(pain.finger_days)
    if not silent:
        return ""
    return say(
        "For {silent} of {days} finger days you noted nothing, which doesn't mean no pain.",
        silent=silent,
        days=days,
    )


def headline(pain: Pain) -> str:
    """One sentence for the first screen where nothing was felt; "" where something was."""
    if not pain.recorded:
        return say("Pain was not noted.")
    if len(pain.felt):
        return ""
    none, days = len(pain.none_dates), len(pain.finger_days)
    if pain.none_is_known:
        return say("Pain: 0 on all {days} you noted it.", days=_of_days(none))
    return say(
        "Pain: 0 on the {noted} you noted it; nothing noted on {silent} of {days} finger days.",
        noted=_of_days(none),
        silent=len(pain.silent_dates),
        days=days,
    )


def _of_days(n: int) -> str:
    return fmt.count(n, "{n} day", "{n} days")


def cleared(pain: Pain) -> tuple[str, ...]:
    """Days on which a hold was ended, with the note that says who and how far."""
    return tuple(
        say("Cleared on {day}: \u201c{note}\u201d", day=day_words(c.date), note=c.note)
        if c.note
        else say("Cleared on {day}; the log doesn't say by whom.", day=day_words(c.date))
        for c in pain.cleared
    )


def note_line(note: Note) -> str:
    """A note beside its day, in the athlete's words."""
    if note.side in ("left", "right"):
        return say(
            "{day}, {side}: \u201c{text}\u201d",
            day=day_words(note.date),
            side=fmt.SIDE_WORDS[note.side],
            text=note.text,
        )
    return say("{day}: \u201c{text}\u201d", day=day_words(note.date), text=note.text)


def notes_head(notes: Notes) -> str:
    """How many notes to read first: Read these three notes first; "" for none."""
    n = len(notes.to_read)
    if not n:
        return ""
    return say_count(n, "Read this note first:", "Read these {n} notes first:", n=fmt.in_words(n))


def notes_first(notes: Notes) -> str:
    """The notes to read first, by day, in the athlete's words."""
    return say("{notes}.", notes=fmt.clauses(note_line(n) for n in notes.to_read))


def note_hold(notes: Notes) -> str:
    """What ends a hold by notes; "" where none holds."""
    if not notes.held_sides:
        return ""
    return say_count(
        len(notes.to_read),
        "It holds until “cleared” is logged; a 0 you write yourself doesn't end it.",
        "They hold until “cleared” is logged; a 0 you write yourself doesn't end it.",
    )


def entries_counted(pain: Pain) -> str:
    """How many pain entries there are: 15 pain entries; "" for none."""
    n = len(pain.entries)
    return fmt.count(n, "{n} pain entry", "{n} pain entries") if n else ""


def notes_counted(notes: Notes) -> str:
    """How many notes there are: six notes; "" for none."""
    n = len(notes.inside)
    return fmt.count(n, "{n} note", "{n} notes") if n else ""
