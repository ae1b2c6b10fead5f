"""The words of the sheets: what the paper asks and what the phone's page says."""

from __future__ import annotations

import datetime as dt

from gripbook.logs.schema import PAIN_SITES
from gripbook.words import fmt
from gripbook.words.messages import say
from gripbook.words.next import WEEKDAY_NAMES
from gripbook.words.pain import SITE_WORDS


def phone_words() -> dict[str, str]:
    """Every text of the phone's page, by name; `{n}` and the like are filled there."""
    words = {
        "kept": say("Rows on this phone: {n}", n="{n}"),
        "writing": say("Writing ..."),
        "kept_none": say("Nothing written yet. What you tap stays on this phone."),
        "kept_lost": say("This phone keeps nothing. Save your rows before you close this page."),
        "planned_for": say("Planned for {day}", day="{day}"),
        "set_of": say("Set {n} of {all}", n="{n}", all="{all}"),
        "done": say("Done as planned"),
        "left": say("Done, and so much was left (seconds, repeaters: holds)"),
        "again": say("Same again: {load}", load="{load}"),
        "other": say("Something was different"),
        "end": say("End the session here"),
        "load": say("Weight added"),
        "edge": say("Edge (mm)"),
        "grip": say("Grip"),
        "hand": say("Hand"),
        "seconds": say("Seconds planned"),
        "reps": say("Holds planned"),
        "board": say("Board"),
        "not_plates": say("not from your plates"),
        "pulley": pulley_text("{pieces}"),
        "how": say("How did it end?"),
        "held": say("Held to the end"),
        "opened": say("Fingers opened"),
        "slip": say("Slipped"),
        "skin": say("Skin"),
        "pain": say("Pain"),
        "choice": say("My choice"),
        "at": say("At how many seconds?"),
        "holds": say("Holds finished before that"),
        "more": say("What was left"),
        "note": say("Note"),
        "write": say("Write it"),
        "enter_load": say("Enter the weight"),
        "enter_reading": say("Enter the reading"),
        "back": say("Back"),
        "erase": say("Erase this set"),
        "scale": say("Scale under the feet"),
        "gauge": say("Force gauge"),
        "stand": say("Same scale, standing just before"),
        "need_how": say("Still to say: how it ended"),
        "need_at": say("Still to say: the seconds"),
        "need_load": say("Still to say: the weight"),
        "need_level": say("Still to say: how much it hurt"),
        "need_reading": say("Still to say: the reading"),
        "need_holds": say("Still to say: the holds finished"),
        "ask_pain": say("Did a finger, hand, elbow or shoulder hurt?"),
        "no_pain": say("No, nothing hurt"),
        "yes_pain": say("Yes"),
        "where": say("Where?"),
        "which": say("Which side?"),
        "how_much": say("How much, 0 to 10?"),
        "sign": say("Seen or heard?"),
        "pain_note": say("Stop for today. Have it looked at by a physician or physiotherapist."),
        "minutes": say("Minutes"),
        "effort": say("How hard was the session, 0 to 10?"),
        "mass": say("Body mass"),
        "day": say("Day"),
        "share": say("Share the rows ({n})", n="{n}"),
        "save": say("Save the rows ({n})", n="{n}"),
        "see": say("See, copy or clear the rows"),
        "copy": say("Copy"),
        "copied": say("Copied"),
        "clear": say("Clear this phone"),
        "sure": say("Clear all rows ({n}) for good?", n="{n}"),
        "cleared": say("Cleared"),
        "stays": say("The rows stay on this phone until you clear them."),
        "sets": say("Back to the sets"),
        "more_sets": say("Add a set"),
        "another": say("Another place"),
        "older": say("Rows of earlier sheets wait here too: {n}", n="{n}"),
        "stop": _stop(),
        "noscript": say("This page needs scripts. The printed sheet needs none."),
        "nothing_added": say("nothing added"),
        "no_load": say("as heavy as goes"),
        "left_hand": say("left"),
        "right_hand": say("right"),
        "both_hands": say("both hands"),
        "test": say("test"),
        "pop": say("A pop"),
        "swelling": say("Swelling"),
        "stiff": say("Stiff"),
    }
    return words | {f"site_{site}": SITE_WORDS[site] for site in PAIN_SITES}


def _stop() -> str:
    return say(
        "Stop a set at once when a finger, hand or elbow hurts. See a physician or physiotherapist."
    )


def paper_words() -> dict[str, str]:
    """Every text of the paper sheet, by name."""
    return {
        "intro": say("Tick what went as planned. Write only what differed."),
        "set": say("Set"),
        "plan": say("Planned"),
        "load": say("Weight"),
        "done": say("Done"),
        "failed": say("Failed at (s)"),
        "left": say("Left"),
        "why": say("Stopped: slip, skin, pain, choice"),
        "pain": say("Pain: no / yes, where, which side, 0 to 10:"),
        "minutes": say("Minutes:"),
        "effort": say("Effort, 0 to 10:"),
        "mass": say("Body mass:"),
        "note": say("Note:"),
        "stop": _stop(),
        "test": say("test"),
    }


def pulley_text(pieces: str) -> str:
    """The plates that hang on a pulley, where weight is taken off."""
    return say("pulley: {pieces}", pieces=pieces)


def day_text(day: dt.date, *, easy: bool = False) -> str:
    """A session's day: Tuesday 6 January 2026; (easier week)."""
    text = say("{weekday} {day}", weekday=say(WEEKDAY_NAMES[day.weekday()]), day=fmt.day(day))
    return say("{day} (easier week)", day=text) if easy else text


def leave_text(left: str) -> str:
    """What should be left after a set."""
    return say("leave {left}", left=left)


def week_text(week: int) -> str:
    """The week of a sheet, behind the name."""
    return say("week {n}", n=week)


def as_of_text(day: dt.date) -> str:
    """What a sheet for a later week than the coming one says of its weights."""
    return say(
        "The weights follow from the log up to {day}. Print the sheet again before this week.",
        day=fmt.day(day),
    )
