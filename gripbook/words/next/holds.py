"""Who decides and what stops: pain, notes of an injury, the way back, body mass, minors."""

from __future__ import annotations

import math
from collections.abc import Iterable

from gripbook.reviews.proposal import Hold, NextBlock, NextLoad
from gripbook.reviews.proposal.plan import DoneBefore, Watch
from gripbook.words import fmt, mark, say, say_count
from gripbook.words import pain as pain_words
from gripbook.words.next.weights import percent
from gripbook.words.pain import ENDS_HOLD, place

#: So many days of training are named one by one.
_DAYS_NAMED = 4
MINOR = mark("Coach, guardian and physician decide what you train.")
MINOR_NOTHING = mark(
    "Under 18 (whoever turns 18 this year included) this page proposes nothing heavier, smaller, "
    "longer or all-out, no start load and no test day."
)
MINOR_SOURCE = mark(
    "Intensive finger strength training is not recommended for adolescents (Morrison and Schöffl "
    "2007, British Journal of Sports Medicine 41:852-861)."
)
OTHER_WORK_GOES_ON = mark("Core and mobility can go on where they don't hurt.")
PACE = mark(
    "Your physiotherapist or coach sets the pace: no steps up, no tests and nothing all-out are "
    "planned."
)


def hold_text(hold: Hold) -> str:
    """What holds, as a clause: left ring finger, 4 of 10 while training on 12 March."""
    if hold.flag is None:
        assert hold.note is not None
        return say(
            "a note of {day} may tell of an injury: “{note}”",
            day=fmt.day(hold.date, year=False),
            note=hold.note.text,
        )
    text = f"{pain_words.flag_place(hold.flag)}, {pain_words.flag_facts(hold.flag)}"
    if hold.flag.none_since is None:
        return text
    return say("{text}, 0 on {day}", text=text, day=pain_words.day_words(hold.flag.none_since))


def hold_sentences(plan: NextBlock) -> tuple[str, ...]:
    """Stop what, why, what ends it, what goes on; nothing where nothing is held."""
    if not plan.held:
        return ()
    notes = _notes_held(plan)
    why = list(dict.fromkeys(hold_text(h) for h in plan.holds.holds if h.flag is not None))
    if notes:
        why.append(hold_text(notes[0]))
    if len(notes) > 1:
        days = fmt.listing(fmt.day(h.date, year=False) for h in notes[1:])
        why.append(
            say_count(len(notes) - 1, "so may that of {days}", "so may those of {days}", days=days)
        )
    return tuple(
        filter(
            None,
            (
                _stop(plan),
                say("{why}.", why=fmt.sentence(fmt.clauses(why))),
                _followed([h for h in plan.holds.holds if h.flag is not None] or notes),
                say(ENDS_HOLD),
                say(OTHER_WORK_GOES_ON),
            ),
        )
    )


def why_held(plan: NextBlock) -> str:
    """What holds, each place once; notes by their days, as they are quoted elsewhere."""
    notes = _notes_held(plan)
    felt = dict.fromkeys(hold_text(h) for h in plan.holds.holds if h.flag is not None)
    told = [say("{why}.", why=fmt.sentence(fmt.clauses(felt)))] if felt else []
    if notes:
        days = fmt.listing(fmt.day(d, year=False) for d in dict.fromkeys(h.date for h in notes))
        told.append(
            say_count(
                len(notes),
                "Because of the note of {days}.",
                "Because of the notes of {days}.",
                days=days,
            )
        )
        told.append("" if felt else _followed(notes))  # beside pain its history says it
    return " ".join(filter(None, told))


def held_in_short(plan: NextBlock) -> str:
    """What has no loads, and until when."""
    places = dict.fromkeys(
        pain_words.flag_place(h.flag) for h in plan.holds.holds if h.flag is not None
    )
    what = (
        say("No finger loads")
        if len(plan.held) > 1
        else say(
            "No loads for the {side} hand, two-hand hangs included,",
            side=fmt.SIDE_WORDS[plan.held[0]],
        )
    )
    if not places:
        return say("{what} until the injury in your notes has been checked.", what=what)
    return say(
        "{what} until this has been checked: {places}.", what=what, places=fmt.listing(places)
    )


def _stop(plan: NextBlock) -> str:
    """What stops, and whom to see; an all-out pull of one hand asks as much of the body."""
    stop = pain_words.stop_text(plan.held, minor=plan.minor)
    pulls = any(x.exercise == "pull" for x in plan.loads)
    if len(plan.held) > 1 or not pulls:
        return stop
    return " ".join((stop, say("No all-out pulls with the other hand either.")))


def _notes_held(plan: NextBlock) -> list[Hold]:
    """The notes that hold, each once, in order of day."""
    notes = {h.note.file + str(h.note.line): h for h in plan.holds.holds if h.note is not None}
    return sorted(notes.values(), key=lambda h: h.date)


def _followed(holds: Iterable[Hold]) -> str:
    """On which finger days training went on; "" for none."""
    days = max((h.trained_on for h in holds), key=len, default=())
    if not days:
        return ""
    if len(days) > _DAYS_NAMED:
        return say(
            "{days} followed, the last on {day}.",
            days=fmt.sentence(fmt.count(len(days), "{n} finger day", "{n} finger days")),
            day=fmt.day(days[-1], year=False),
        )
    return say(
        "{days} followed, on {listed}.",
        days=fmt.sentence(fmt.count(len(days), "{n} finger day", "{n} finger days")),
        listed=fmt.listing(fmt.day(d, year=False) for d in days),
    )


def return_sentences(plan: NextBlock) -> tuple[str, ...]:
    """The way back after a hold was ended."""
    cleared = plan.holds.cleared
    if cleared is None or not plan.holds.returning:
        return ()
    note = say(" (“{note}”)", note=cleared.note) if cleared.note else ""
    day = fmt.day(cleared.date, year=False)
    starts = [x for x in plan.loads if x.kind == "start"]
    if starts and all(since_cleared(x, plan) for x in starts):
        return (
            say("Cleared on {day}{note}: no load above those since.", day=day, note=note),
            say(PACE),
        )
    return (
        say(
            "Cleared on {day}{note}: loads start at {share} of the last painless load.",
            day=day,
            note=note,
            share=percent(plan.choices.return_share),
        ),
        say(PACE),
    )


def since_cleared(load: NextLoad, plan: NextBlock) -> bool:
    """Whether a series was loaded again after its hold had ended."""
    cleared = plan.holds.cleared
    return load.last is not None and cleared is not None and load.last.day > cleared.date


def mass_sentences(plan: NextBlock) -> tuple[str, ...]:
    """Body mass fell far or fast: no more load and nothing all-out."""
    mass = plan.holds.mass
    if mass is None:
        return ()
    if not plan.shown:
        return (
            say(
                "A point for a physician that this page doesn't show: until it is settled no load "
                "above the last one, no tests and nothing all-out."
            ),
        )
    fell = (
        say("Body mass fell fast.")
        if mass.fast or not math.isfinite(mass.pct)
        else say(
            "Body mass fell by {pct} over the block.", pct=f"{fmt.number(mass.pct)}{fmt.NBSP}%"
        )
    )
    return (
        fell,
        say(
            "See a physician before a harder block: until then no load above the last one, no "
            "tests and nothing all-out."
        ),
    )


def minor_sentences(plan: NextBlock) -> tuple[str, ...]:
    """Who decides, first; then what the page leaves out, and the source."""
    if not plan.minor:
        return ()
    return (say(MINOR), say(MINOR_NOTHING), say(MINOR_SOURCE))


def before_text(x: DoneBefore) -> str:
    """What was done of one series, without a load or a next step."""
    on = say(" on {mm}~mm", mm=fmt.listing(fmt.number(e) for e in x.edges_mm)) if x.edges_mm else ""
    return say(
        "{what}: {sets} on {days}{on}, last on {day}.",
        what=fmt.sentence(
            f"{fmt.EXERCISE_WORDS.get(x.exercise, x.exercise)}, {fmt.series(x.grip, x.hand)}"
        ),
        sets=fmt.count(x.sets, "{n} set", "{n} sets"),
        days=fmt.count(x.days, "{n} day", "{n} days"),
        on=on,
        day=fmt.day(x.last),
    )


def watch_felt(x: Watch) -> str:
    """Where and how much below the limit: Left ring finger: 2 of 10 on 3 March."""
    what = (
        say("A sign")
        if math.isnan(x.level) or x.level == 0
        else say("{level} of 10", level=fmt.number(x.level))
    )
    return say(
        "{place}: {what} on {day}.",
        place=fmt.sentence(place(x.site, x.side)),
        what=what,
        day=fmt.day(x.date, year=False),
    )


def watch_action(x: Watch) -> str:
    """What to do about pain below the limit."""
    return say(
        "Ask before each session; from {limit} of 10 on stop and see a physician or "
        "physiotherapist. Below the limit is not the same as safe.",
        limit=fmt.number(x.limit),
    )
