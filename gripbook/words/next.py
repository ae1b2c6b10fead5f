"""What next in words: from the facts of a proposal to sentences and the cells of its table."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from gripbook.reviews.gaps import GapKind
from gripbook.reviews.proposal import (
    Choices,
    Hold,
    NextBlock,
    NextLoad,
    NextRow,
    NextTests,
    Reason,
    Reduction,
    Source,
)
from gripbook.reviews.proposal.loads import BUILD_UP_WEEKS
from gripbook.reviews.proposal.plan import RAMP, DoneBefore, Watch
from gripbook.units import kg_to_lb
from gripbook.words import Table, fmt, mark, say, say_count
from gripbook.words import pain as pain_words
from gripbook.words.block import WEEKDAYS
from gripbook.words.charts import short_day, short_month
from gripbook.words.pain import ENDS_HOLD, place

if TYPE_CHECKING:
    from gripbook.reviews import BlockReview

_HALF = 0.5
#: A rise over a block up to so much per cent is one that somebody may make (own choice, no source).
LIKELY_RISE_PCT = 15.0
#: What is over or under the planned seconds of a test that went as expected.
_AROUND_S = 2.0
#: So many days of training are named one by one.
_DAYS_NAMED = 4
RAMP_NAME = mark("Easy timed hangs")
MINOR = mark("Coach, guardian and physician decide what you train.")
MINOR_NOTHING = mark(
    "Under 18 (whoever turns 18 this year included) this page proposes nothing heavier, smaller, "
    "longer or all-out, no start load and no test day."
)
MINOR_SOURCE = mark(
    "Intensive finger strength training is not recommended for adolescents (Morrison and Schöffl "
    "2007, British Journal of Sports Medicine 41:852-861)."
)
NO_AGE = mark("Your age is not recorded; this is for adults only.")
DECIDE = mark("Adjust to how you feel that day. A coach decides.")
STOP = mark("Stop a set at once when a finger, hand or elbow hurts.")
ASK_PAIN = mark(
    "Pain was not noted. Check fingers, hands and elbows before the first session, and write it "
    "down."
)
OTHER_WORK_GOES_ON = mark("Core and mobility can go on where they don't hurt.")
LATER_WEEKS = mark(
    "A range runs from the start to where the rule for adding may lead. Loads of later phases are "
    "worked out again from what was done by then."
)
PACE = mark(
    "Your physiotherapist or coach sets the pace: no steps up, no tests and nothing all-out are "
    "planned."
)
SOURCES = Table(
    {
        Source.OWN: mark("own choice, no source"),
        Source.COMMON: mark("common practice, no source"),
        Source.ACSM: mark(
            "after ACSM 2009, strength training in general: add load once the repetitions asked "
            "for are passed; the seconds are our own choice"
        ),
        Source.TENDON: mark(
            "after Magnusson et al. 2010: collagen synthesis stays raised for about three days; "
            "the number is our own choice"
        ),
    }
)
#: Days of the week in full, Monday first.
WEEKDAY_NAMES = (
    mark("Monday"),
    mark("Tuesday"),
    mark("Wednesday"),
    mark("Thursday"),
    mark("Friday"),
    mark("Saturday"),
    mark("Sunday"),
)


# --- weights --------------------------------------------------------------------------------------

#: Titles of the section's folds and tables, and what stands where one is empty.
TITLES = Table(
    {
        "plan": mark("The plan week by week"),
        "every_session": mark("Every session"),
        "every_session_holds": mark("days, sets and plates"),
        "choices": mark("The choices behind this"),
        "sessions_of_plan": mark("Every session of the plan"),
        "what_to_log": mark("What to log"),
        "why_these_loads": mark("Why these loads"),
    }
)


def weight(kg: float, units: str, *, sign: bool = True, digits: int = 1) -> str:
    """A weight as its athlete speaks of it: +18.75 kg; +2.5 lb (1.13 kg)."""
    in_kg = fmt.with_unit(kg, "kg", 2, sign=sign)
    if units != "lb":
        return in_kg
    return f"{fmt.with_unit(kg_to_lb(kg), 'lb', digits, sign=sign)} ({in_kg})"


def _small(kg: float, units: str) -> str:
    """A step in the athlete's unit alone."""
    return fmt.with_unit(kg_to_lb(kg), "lb", 1) if units == "lb" else fmt.with_unit(kg, "kg", 2)


def _pieces(pieces: Sequence[float], units: str) -> str:
    scale = kg_to_lb(1.0) if units == "lb" else 1.0
    digits = 1 if units == "lb" else 3
    return " + ".join(fmt.plain(round(round(p * scale, digits), 2)) for p in pieces)


def load_text(load: NextLoad, plan: NextBlock, *, pieces: bool = True) -> str:
    """What to put on: +7.5 kg; −16.25 kg (pulley: 10 + 5 + 1.25); all out."""
    if load.kind == "hold":
        return say("none")
    if load.kind == "expect":
        return _all_out(load.force_kg, load, plan)
    if load.kind == "below":
        return _below(load.force_kg, load, plan)
    kg = load.kg
    if load.reason is Reason.AHEAD:
        return say("worked out once this block has had them")
    if kg is None:
        return say("clearly easy") if load.reason is Reason.RAMP else say("no load proposed")
    return _set_weight(
        kg, plan.units, load.pieces if pieces else (), lifted=load.force_kg is not None
    )


def _all_out(reads_kg: float | None, load: NextLoad, plan: NextBlock) -> str:
    if reads_kg is None:
        return say("all out")
    return say("all out; stop for the day {beyond}", beyond=_beyond(reads_kg, load, plan))


def _beyond(kg: float, load: NextLoad | None, plan: NextBlock) -> str:
    """Weaker than so much on the fingers, as it is read: below 27 kg; above 40 kg on the scale."""
    if load is None or not math.isfinite(load.stand_kg):
        return say("below {kg}", kg=weight(kg, plan.units, sign=False, digits=0))
    left = weight(_on_scale(kg, load), plan.units, sign=False, digits=0)
    return say("above {kg} on the scale", kg=left)


def _read_left(load: NextLoad) -> bool:
    """Whether a pull is read as what is left on a scale under the feet."""
    return math.isfinite(load.stand_kg)


def _on_scale(kg: float, load: NextLoad) -> float:
    """What the scale under the feet shows, kg, to the half on the side of less on the fingers."""
    return math.ceil(2 * (load.stand_kg - kg) - 1e-9) / 2


def reading(kg: float, load: NextLoad | None, plan: NextBlock) -> str:
    """A pull as it is read: 30 kg; 37 kg on the scale."""
    if load is None or not math.isfinite(load.stand_kg):
        return weight(kg, plan.units, sign=False, digits=0)
    left = weight(_on_scale(kg, load), plan.units, sign=False, digits=0)
    return say("{kg} on the scale", kg=left)


def _below(most_kg: float | None, load: NextLoad | None, plan: NextBlock) -> str:
    """Pulls that are held back: not all out: at most 32 kg on the fingers."""
    if most_kg is None:
        return say("not all out: clearly below the last pulls")
    if load is not None and math.isfinite(load.stand_kg):
        least = weight(_on_scale(most_kg, load), plan.units, sign=False, digits=0)
        return say("not all out: at least {least} left on the scale", least=least)
    most = weight(most_kg, plan.units, sign=False, digits=0)
    return say("not all out: at most {most} on the fingers", most=most)


def _set_weight(kg: float, units: str, pieces: Sequence[float] = (), *, lifted: bool) -> str:
    """A weight and what makes it up: +7.5 kg (5 + 2.5); −5 kg (pulley: 5)."""
    inside = []
    if units == "lb":
        inside.append(fmt.with_unit(kg, "kg", 2, sign=not lifted))
        text = fmt.with_unit(kg_to_lb(kg), "lb", 1, sign=not lifted)
    else:
        text = fmt.with_unit(kg, "kg", 2, sign=not lifted)
    if pieces and kg < 0:
        inside.append(say("pulley: {pieces}", pieces=_pieces(pieces, units)))
    elif len(pieces) > 1:
        inside.append(_pieces(pieces, units))
    return f"{text} ({fmt.clauses(inside)})" if inside else text


def row_load(row: NextRow, plan: NextBlock) -> str:
    """A row's load for the table: +7.5 kg; +7.5 to +10 kg; all out."""
    if row.test:
        aim = _aim(row, plan)
        if not aim:
            return say("one set to the limit")
        return say("one set to the limit, about {aim}", aim=aim)
    load = load_of(row, plan)
    if load is not None and load.reason is Reason.AHEAD:
        return say("worked out once this block has had them")
    if row.reason is Reason.PULL_GAP:
        return _below(row.high_kg, load, plan)
    if row.exercise == "pull" and load is not None:
        return load_text(load, plan)
    if row.reason is Reason.RAMP:
        return say("clearly easy: feet on something, or weight off")
    if row.low_kg is None or row.high_kg is None:
        return say("no load proposed")
    lifted = load is not None and load.force_kg is not None
    if row.low_kg == row.high_kg:
        return _set_weight(row.low_kg, plan.units, row.pieces, lifted=lifted)
    low = (
        fmt.number(kg_to_lb(row.low_kg), 1, sign=not lifted)
        if plan.units == "lb"
        else fmt.number(row.low_kg, 2, sign=not lifted)
    )
    return say("{low} to {high}", low=low, high=weight(row.high_kg, plan.units, sign=not lifted))


def _aim(row: NextRow, plan: NextBlock) -> str:
    """What a test is likely to reach; "" where the log doesn't tell."""
    if row.aim_kg is None:
        return ""
    if row.exercise == "pull":
        return reading(row.aim_kg, load_of(row, plan), plan)
    return _plain_weight(row.aim_kg, plan.units, sign=not row.aim_gauge)


def load_of(row: NextRow, plan: NextBlock) -> NextLoad | None:
    """The start load that a row rests on."""
    return next(
        (
            x
            for x in plan.loads
            if (x.phase, x.grip, x.hand) == (row.phase, row.grip, row.hand)
            and _same(x.edge_mm, row.edge_mm)
        ),
        None,
    )


def _same(a: float, b: float) -> bool:
    return a == b or (math.isnan(a) and math.isnan(b))


def phase_name(name: str) -> str:
    """A phase's name; one that the facts named themselves in words."""
    if name == RAMP:
        return say(RAMP_NAME)
    if name in fmt.EXERCISE_WORDS:
        return fmt.sentence(fmt.EXERCISE_WORDS[name])
    return name


def last_text(load: NextLoad, plan: NextBlock) -> str:
    """The last load and its day: +10 kg on 26 March."""
    assert load.last is not None
    if load.exercise == "pull" and math.isnan(load.last.kg):
        return say("the pulls of {day}", day=fmt.day(load.last.day, year=False))
    kg = 0.0 if math.isnan(load.last.kg) else load.last.kg
    what = _set_weight(kg, plan.units, lifted=load.last.lifted)
    return say("{what} on {day}", what=what, day=fmt.day(load.last.day, year=False))


def often(chance: float) -> str:
    """A chance in words: nine times in ten; 19 times in 20."""
    known = {0.9: mark("nine times in ten"), 0.95: mark("19 times in 20")}
    nearest = next((text for value, text in known.items() if abs(value - chance) < 1e-9), None)
    if nearest is not None:
        return say(nearest)
    return say("{n} times in 100", n=round(100 * chance))


def _in_ten(chance: float) -> str:
    return fmt.count(min(9, max(1, round(10 * chance))), "once in ten", "{n} times in ten")


def _about(share: float) -> str:
    """A share of sets, which are whole: about half; about 60 %."""
    return say("about half") if share == _HALF else say("about {share}", share=_pct(share))


def _pct(share: float) -> str:
    return f"{fmt.number(100 * share, 2)}{fmt.NBSP}%"


# --- why ------------------------------------------------------------------------------------------


def reason_text(load: NextLoad, plan: NextBlock) -> str:
    """Why this load: the rule that binds, in a sentence or two."""
    c = plan.choices
    last = last_text(load, plan) if load.last is not None else ""
    match load.reason:
        case Reason.CHANCE:
            finish = _finish(load)
            if load.last is not None and load.last.mastered and (load.kg or 0) < _last_kg(load):
                return say(
                    "All sets were finished with {last}. The start is lower, to leave room for a "
                    "weak day: {finish}.",
                    last=last,
                    finish=finish[0].lower() + finish[1:],
                )
            return say("{finish}. With the next heavier plates less often.", finish=finish)
        case Reason.KEEP:
            keep = c.keep_share_beginner if plan.experience.beginner else c.keep_share
            return say(
                "With {last} all sets would be finished less than {often}, so the start is lower; "
                "but all sets were finished with it, so not below {keep} of that load, body mass "
                "included.",
                last=last,
                often=often(load.chance),
                keep=_pct(keep * load.share),
            )
        case Reason.RULE:
            return say(
                "All sets were finished with {last}, so {step}.",
                last=last,
                step=say("one step up"),
            )
        case Reason.ONE_A_WEEK:
            return say("At most one step a week, so {last} again.", last=last)
        case Reason.BACK:
            return say("Missed in two sessions running with {last}: back one step.", last=last)
        case Reason.AT_ONCE:
            return say("Half the sets or more were missed with {last}: back one step.", last=last)
        case Reason.BLOCK_MOST:
            return say(
                "No step above {last}: the load is {most} above the block's first, the most in one "
                "block.",
                last=last,
                most=_pct(c.expect_pct / 100),
            )
        case Reason.PLANNED:
            return say("As the block file has it.")
        case Reason.AHEAD:
            return say(
                "{block} has yet to come to this phase; its loads follow from what is done there.",
                block=plan.block_name,
            )
        case Reason.STEP:
            return say(
                "No more than one step above {last}: {step}.", last=last, step=_step(load, plan)
            )
        case Reason.BLOCK_START if (load.kg or 0) < _last_kg(load):
            return say(
                "A new block starts no heavier than {last}, with which all sets were finished; "
                "body mass has gone up since, so that is {now}.",
                last=last,
                now=_set_weight(load.kg or 0.0, plan.units, lifted=False),
            )
        case Reason.BLOCK_START:
            return say(
                "A new block starts no heavier than {last}, with which all sets were finished. The "
                "rule for adding takes it from there.",
                last=last,
            )
        case Reason.ONE_STEP:
            return say("Every set was finished, so one small step above {last}.", last=last)
        case Reason.AGAIN:
            if load.last is not None and load.last.mastered:
                return say(
                    "No step up: less than {left} was left with {last}.",
                    left=_left_words(load.exercise, c),
                    last=last,
                )
            return say("No step: not all sets were finished with {last}.", last=last)
        case Reason.AS_BEFORE:
            return say(
                "No more than before ({last}): small pockets and full crimp get no step.", last=last
            )
        case Reason.EDGE_STEP:
            return say(
                "The edge got smaller in the last block, so the step is the edge ({now} for "
                "{was}), with no more weight than {last}.",
                now=fmt.number(load.edge_mm),
                was=fmt.with_unit(load.from_edge_mm, "mm"),
                last=last,
            )
        case Reason.LARGER_EDGE:
            why = _way_back(load, plan) if _returns(load) else _named(load, plan)
            return say(
                "{why}No weight there is goes low enough for that on {was}; so {now}, which takes "
                "less strength, with {kg}.",
                why=f"{why} " if why else "",
                was=fmt.with_unit(load.from_edge_mm, "mm"),
                now=fmt.with_unit(load.edge_mm, "mm"),
                kg=_set_weight(load.added_kg or 0.0, plan.units, lifted=False)
                if load.added_kg
                else say("nothing added"),
            )
        case Reason.RETURN if load.last is None:
            return say("The way back: nothing all-out. {pace}", pace=say(PACE))
        case Reason.RETURN if _since_cleared(load, plan):
            return say("The way back: {last} again. {pace}", last=last, pace=say(PACE))
        case Reason.RETURN:
            return f"{_way_back(load, plan)} {say(PACE)}"
        case Reason.ALL_OUT:
            if load.force_kg is None:
                return say("An all-out pull has no load to set.")
            return say(
                "The last of the day's pulls should still reach this {often}. It is a floor to "
                "notice, no goal.",
                often=often(load.chance),
            )
        case Reason.HELD | Reason.HELD_OTHER:
            assert load.hold is not None
            if load.reason is Reason.HELD_OTHER:
                return say(
                    "No all-out pulls while the other side hurts: {why}.", why=hold_text(load.hold)
                )
            return say("{why}.", why=fmt.sentence(hold_text(load.hold)))
        case Reason.NO_DATA:
            return say(
                "No finished set with a known load is logged. Begin clearly easy and write it down."
            )
        case Reason.NO_WEIGHT:
            why = _named(load, plan)
            return say(
                "{why}No weight and no edge there is goes low enough. Take weight off with a "
                "pulley or use a larger edge, clearly easy, and write it down.",
                why=f"{why} " if why else "",
            )
        case Reason.SMALL_EDGE:
            return say(
                "No load is worked out on edges below {edge}. Stay at what was done, or take a "
                "larger edge.",
                edge=fmt.with_unit(c.smallest_edge_mm, "mm"),
            )
        case Reason.FIRST_BLOCK:
            return say(
                "No all-out pulls in a first block of finger training (common practice, no source)."
            )
        case Reason.RAMP:
            return say("New to finger training, so easy hangs come first.")
        case _:
            return _named(load, plan)


def _returns(load: NextLoad) -> bool:
    return any(x.reason is Reason.RETURN for x in load.limits)


def _since_cleared(load: NextLoad, plan: NextBlock) -> bool:
    cleared = plan.holds.cleared
    return load.last is not None and cleared is not None and load.last.day > cleared.date


def _way_back(load: NextLoad, plan: NextBlock) -> str:
    return say(
        "The way back: {share} of the last painless load ({last}){mass}.",
        share=_pct(plan.choices.return_share),
        last=last_text(load, plan) if load.last is not None else "",
        mass="" if load.last and load.last.lifted else say(", body mass included"),
    )


def _named(load: NextLoad, plan: NextBlock) -> str:
    """A named reason that lowers the load, or lets it take no step; "" where none does."""
    named = {x.reason: x for x in plan.reductions}
    here = next((named[x] for x in (*load.reasons, load.reason) if x in named), None)
    if here is None and plan.reductions and load.reason in (Reason.LARGER_EDGE, Reason.NO_WEIGHT):
        here = min(plan.reductions, key=lambda x: x.share)
    if here is None:
        return ""
    why = reduction_text(here, plan)
    share = min(here.share, load.share) if load.kind == "below" else here.share
    last = last_text(load, plan) if load.last is not None else ""
    if share >= 1:
        return say("No step above {last}: {why}.", last=last, why=why)
    if not plan.shown:
        return say("Lower than {last}: {why}.", last=last, why=why)
    mass = (
        ""
        if load.exercise == "pull" or (load.last and load.last.lifted)
        else say(", body mass included")
    )
    return say(
        "At most {share} of {last}{mass}: {why}.", share=_pct(share), last=last, mass=mass, why=why
    )


def _last_kg(load: NextLoad) -> float:
    if load.last is None or math.isnan(load.last.kg):
        return 0.0
    return load.last.kg


def _finish(load: NextLoad) -> str:
    if load.sets == 2:
        return say("You should finish both sets {often}", often=often(load.chance))
    if load.sets and load.sets > 1:
        return say(
            "You should finish all {sets} sets {often}", sets=load.sets, often=often(load.chance)
        )
    return say("You should finish the set {often}", often=often(load.chance))


def _step(load: NextLoad, plan: NextBlock) -> str:
    c = plan.choices
    kg, pct = (
        (c.step_kg, c.step_pct)
        if load.hand == "both"
        else (c.step_one_hand_kg, c.step_one_hand_pct)
    )
    return say(
        "{kg} or {pct} of the load, whichever is less",
        kg=_small(kg, plan.units),
        pct=_pct(pct / 100),
    )


def reduction_text(x: Reduction, plan: NextBlock) -> str:
    """What happened that lowers the start, as a clause."""
    match x.reason:
        case Reason.OFF:
            assert x.since is not None
            assert x.until is not None
            kinds = _kinds(x)
            return say(
                "no finger work for {days} days, from {since} to {until}{kinds}",
                days=x.days,
                since=fmt.day(x.since + dt.timedelta(days=1), year=False),
                until=fmt.day(x.until - dt.timedelta(days=1), year=False),
                kinds=kinds,
            )
        case Reason.ILL:
            assert x.until is not None
            return say(
                "{days} days ill or injured, up to {until}",
                days=x.days,
                until=fmt.day(x.until, year=False),
            )
        case Reason.SORE:
            assert x.since is not None
            assert x.until is not None
            return say(
                "pain is logged from {since} to {until}; have it looked at by a physician or "
                "physiotherapist",
                since=fmt.day(x.since, year=False),
                until=fmt.day(x.until, year=False),
            )
        case Reason.BROKEN:
            whose = (
                say("limits of the block")
                if x.stated
                else say("a beginner's limits (the block states none)")
            )
            return say("{whose} were not kept in {weeks}", whose=whose, weeks=fmt.weeks(x.weeks))
        case Reason.LOW_DONE:
            sessions = {"done": x.done, "planned": x.planned}
            text = (
                say(
                    "{done} of the {planned} finger sessions due in the last four weeks were done",
                    **sessions,
                )
                if plan.week
                else say("{done} of {planned} finger sessions due were done", **sessions)
            )
            if x.unread:
                text += say(" ({n} more could not be read)", n=x.unread)
            return text
        case Reason.EASY_WEEK:
            return say("the plan has an easier week")
        case Reason.BODY_MASS:
            return say("body mass fell; see a physician before more load")
        case _:
            return ""


def _kinds(x: Reduction) -> str:
    """What was logged on days off: (ill); (ill on 21 of them)."""
    if not x.kinds:
        return ""
    parts = [
        fmt.KIND_WORDS[kind]
        if n >= x.days
        else say("{kind} on {n} of them", kind=fmt.KIND_WORDS[kind], n=n)
        for kind, n in zip(x.kinds, x.kind_days, strict=True)
    ]
    return f" ({fmt.clauses(parts)})"


# --- holds ----------------------------------------------------------------------------------------


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
    return (
        say(
            "Cleared on {day}{note}: loads start at {share} of the last painless load.",
            day=fmt.day(cleared.date, year=False),
            note=note,
            share=_pct(plan.choices.return_share),
        ),
        say(PACE),
    )


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


# --- minors ---------------------------------------------------------------------------------------


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


# --- the plan around the loads --------------------------------------------------------------------


def rule(plan: NextBlock) -> str:
    """The rule for adding, from the choices and the plates there are."""
    loads = [x for x in plan.loads if x.kind == "start"]
    no_steps = plan.holds.returning or plan.holds.mass is not None
    if not loads or no_steps:
        return ""
    steps = {x.add_kg for x in loads if x.add_kg}
    added = fmt.one_of(f"+{_small(kg, plan.units)}" for kg in sorted(steps))
    kinds = dict.fromkeys(_left_words(x.exercise, plan.choices) for x in loads)
    left = fmt.one_of(kinds)
    if not steps:
        return say(
            "Your plates make no step small enough, so the weight stays. Missed twice, or half the "
            "sets at once: back one step."
        )
    return say(
        "All sets done with {left} left: {added}, at most one step a week. Missed twice, or half "
        "the sets at once: back one step.",
        left=left,
        added=added,
    )


def _left_words(exercise: str, c: Choices) -> str:
    if exercise == "repeater":
        return fmt.count(1, "one hold", "{n} holds")
    return fmt.with_unit(c.add_when_left_s, "s")


def shape_sentences(plan: NextBlock) -> tuple[str, ...]:
    """The block's frame: start, sessions, days, easier weeks."""
    if plan.week or not plan.rows:
        return ()
    if plan.held:
        return (
            say(
                "Until then only what pain does not stop, for {weeks} from {start}:",
                weeks=fmt.count(plan.weeks, "{n} week", "{n} weeks"),
                start=fmt.day(plan.start),
            ),
        )
    out = [
        say(
            "From {start}, {weeks}: {sessions} a week, on {days}.",
            start=fmt.day(plan.start),
            weeks=fmt.count(plan.weeks, "{n} week", "{n} weeks"),
            sessions=fmt.count(plan.sessions, "{n} finger session", "{n} finger sessions"),
            days=fmt.listing(say(WEEKDAY_NAMES[d]) for d in plan.weekdays),
        )
    ]
    if plan.moved:
        out.append(
            say(
                "The start was moved: {days} must pass after the last all-out day.",
                days=fmt.count(plan.choices.rest_days_before_test, "{n} rest day", "{n} rest days"),
            )
        )
    if plan.log_to is not None and plan.block_end is not None:
        out.append(
            say(
                "Provisional: the log ends on {day}, and {block} goes on until {end}.",
                day=fmt.day(plan.log_to, year=False),
                block=plan.block_name,
                end=fmt.day(plan.block_end, year=False),
            )
        )
    if plan.easy_weeks:
        out.append(
            say(
                "Easier: {weeks}, with {share} of the sets and the same weight.",
                weeks=fmt.weeks(plan.easy_weeks),
                share=_about(plan.choices.easier_share),
            )
        )
    return tuple(out)


def week_sentences(plan: NextBlock) -> tuple[str, ...]:
    """What holds for the coming week alone."""
    if not plan.week:
        return ()
    if plan.over:
        return (
            say(
                "{name} ended on {end}, so no week of it is left. Without --week the next block is "
                "proposed.",
                name=plan.block_name,
                end=fmt.day(plan.block_end or plan.start),
            ),
        )
    out = []
    if not plan.rows and not plan.held:
        out.append(say("The plan has no finger session left this week."))
    if plan.test_waits:
        out.append(say("The plan has tests this week. Let them wait."))
    return tuple(out)


def late_text(plan: NextBlock) -> str:
    """What holds when the start slips: If you start after 6 November: +1.25 instead of +8.75 kg."""
    if plan.late_from is None:
        return ""
    listed = late_loads(plan)
    day = fmt.day(plan.late_from - dt.timedelta(days=1), year=False)
    if not listed:
        return ""
    if plan.week:
        return say(
            "If you train fingers again only after {day}: {loads}.",
            day=day,
            loads=fmt.clauses(listed),
        )
    return say("If you start after {day}: {loads}.", day=day, loads=fmt.clauses(listed))


def late_loads(plan: NextBlock) -> tuple[str, ...]:
    """The loads of a later start beside those of the plan, each series once."""
    now = [row.phase for row in plan.rows if row.reason is not Reason.LATER and not row.test]
    pairs = []
    for old in plan.loads:
        new = next((x for x in plan.late_loads if _same_series(old, x)), None)
        if old.kind != "start" or old.phase not in now or new is None:
            continue
        if new.kind != "start" or (new.kg, new.edge_mm) != (old.kg, old.edge_mm):
            pairs.append((old, new))
    order = [(x.grip, x.hand, x.edge_mm) for x, _ in pairs]
    out = []
    for (old, new), key in zip(pairs, order, strict=True):
        label = _label(key, order)
        text = _instead(old, new, plan)
        out.append(f"{label} {text}" if label else text)
    return tuple(out)


def _same_series(a: NextLoad, b: NextLoad) -> bool:
    return (a.phase, a.exercise, a.grip, a.hand) == (b.phase, b.exercise, b.grip, b.hand)


def _instead(old: NextLoad, new: NextLoad, plan: NextBlock) -> str:
    sign = old.force_kg is None
    was = _plain_weight(old.kg or 0.0, plan.units, sign=sign)
    if new.kg is None:
        return say("clearly lighter than {was}", was=was)
    if not _same(new.edge_mm, old.edge_mm):
        kg = _plain_weight(new.kg, plan.units, sign=sign)
        edge = fmt.with_unit(new.edge_mm, "mm")
        return say("{kg} on {edge} instead of {was}", kg=kg, edge=edge, was=was)
    kg = fmt.number(
        kg_to_lb(new.kg) if plan.units == "lb" else new.kg,
        1 if plan.units == "lb" else 2,
        sign=sign,
    )
    return say("{kg} instead of {was}", kg=kg, was=was)


def ramp_text(plan: NextBlock) -> str:
    """Easy hangs for the new, filled from the figures that the plan uses."""
    x = plan.ramp
    if x is None:
        return ""
    edge = (
        say("on the largest edge ({edge})", edge=fmt.with_unit(x.edge_mm, "mm"))
        if math.isfinite(x.edge_mm)
        else say("on a large edge")
    )
    return say(
        "New to finger training, so {weeks} of easy hangs come first: {sets} of {hang} {edge}, "
        "{days} a week, with feet on something or weight off so that {left} more would be easy. No "
        "all-out pulls and no tests in this block ({source}).",
        weeks=fmt.count(x.weeks, "{n} week", "{n} weeks"),
        sets=fmt.count(x.sets, "{n} set", "{n} sets"),
        hang=fmt.with_unit(x.hang_s, "s"),
        edge=edge,
        days=fmt.count(x.sessions, "{n} day", "{n} days"),
        left=fmt.with_unit(x.left_s, "s"),
        source=SOURCES[Choices.source_of("ramp_weeks")],
    )


def watch_text(x: Watch) -> str:
    """Pain below the limit: what was felt, and what to do."""
    return " ".join((watch_felt(x), watch_action(x)))


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


def tests_text(plan: NextBlock) -> str:
    """When to test, and what such tests can show."""
    t = plan.tests
    if t is None:
        return ""
    what = f"{work_name(t.series.capacity, plan)}, {_tested(t.series.grip, t.hands)}"
    days = list(dict.fromkeys(row.day for row in plan.rows if row.test))
    if not days:
        return ""
    out = say(
        "Tests: {what} on {days}, {rest} before each.",
        what=what,
        days=fmt.listing(fmt.day(d, year=False) for d in days),
        rest=fmt.count(plan.choices.rest_days_before_test, "{n} rest day", "{n} rest days"),
    )
    return " ".join(filter(None, (out, _shows(t), _late(t))))


def aim_lines(plan: NextBlock) -> tuple[str, ...]:
    """How to come up to a test and what it is likely to reach, once for each series."""
    tests = [row for row in plan.rows if row.test]
    seen: dict[tuple[str, str], NextRow] = {}
    for row in tests:
        seen.setdefault((row.grip, row.hand), row)
    out = []
    for row in seen.values():
        text = aim_text(row, plan)
        if text and len(seen) > 1:
            text = fmt.headed(fmt.sentence(fmt.series(row.grip, row.hand)), text)
        out.append(text)
    return tuple(filter(None, out))


def aim_text(row: NextRow, plan: NextBlock) -> str:
    """The warm-up and the load of a test: Warm up at 0, +5 and +10 kg, ..., then about +15 kg."""
    if row.exercise == "pull":
        load = load_of(row, plan)
        if row.aim_kg is None:
            return say("Warm up with easy pulls; then pull all out and note what you read.")
        return say(
            "Warm up with easy pulls, rest 3 min, then pull all out: about {kg} is likely.",
            kg=reading(row.aim_kg, load, plan),
        )
    if row.aim_kg is None:
        return ""
    load = load_of(row, plan)
    gauge = row.aim_gauge
    aim = _plain_weight(row.aim_kg, plan.units, sign=not gauge)
    warm = [_number(kg, plan.units, sign=not gauge) for kg in row.warm_up_kg]
    if row.exercise == "repeater" or row.hang_s is None:
        until = say("until a hold is not finished; note how many were")
    else:
        until = say(
            "until your fingers open ({low} to {high}~s is likely); note the seconds",
            low=fmt.number(row.hang_s - _AROUND_S),
            high=fmt.number(row.hang_s + _AROUND_S),
        )
    if not warm:
        return say("Warm up, rest 3 min, then about {aim} {until}.", aim=aim, until=until)
    return say(
        "Warm up at {warm} {unit}, rest 3 min, then about {aim} {until}.",
        warm=fmt.listing(warm),
        unit=plan.units,
        aim=aim,
        until=until,
    )


def _number(kg: float, units: str, *, sign: bool) -> str:
    """A weight without its unit."""
    return fmt.number(kg_to_lb(kg) if units == "lb" else kg, 1 if units == "lb" else 2, sign=sign)


def rests_text(plan: NextBlock) -> str:
    """The warm-up, once, and the rest between sets as planned."""
    phases = list(dict.fromkeys(row.phase for row in plan.rows if not row.test))
    known = {name: plan.set_rests_s[name] for name in phases if name in plan.set_rests_s}
    warm = say("Warm up with two or three easy sets, each a little heavier.")
    rests = [_minutes(*rest) for rest in known.values()]
    if len(set(rests)) == 1 and len(known) == len(phases):
        return " ".join((warm, say("Rest {rest} between sets.", rest=rests[0])))
    if rests:
        each = (f"{phase_name(name)} {rest}" for name, rest in zip(known, rests, strict=True))
        return " ".join((warm, say("Rest between sets: {rests}.", rests=fmt.clauses(each))))
    return warm


def _minutes(low_s: float, high_s: float) -> str:
    """Seconds of rest in minutes: 2 to 3 min; 2 min."""
    low, high = fmt.number(low_s / 60, 1), fmt.with_unit(high_s / 60, "min", 1)
    return high if low_s == high_s else say("{low} to {high}", low=low, high=high)


def _tested(grip: str, hands: Sequence[str], edge_mm: float = math.nan) -> str:
    """What a test is of: half crimp, both hands, 20 mm; half crimp, each hand."""
    if len(hands) == 1:
        return fmt.series(grip, hands[0], edge_mm)
    parts = [fmt.grip(grip), say("each hand")]
    parts += [fmt.with_unit(edge_mm, "mm")] if math.isfinite(edge_mm) else []
    return ", ".join(parts)


def work_name(exercise: str, plan: NextBlock) -> str:
    """An exercise by the name of its phase, where it has one alone: One-arm lifts; timed hangs."""
    names = {x.phase for x in plan.loads if x.exercise == exercise}
    if len(names) == 1 and (name := names.pop()) and name != RAMP:
        return phase_name(name)
    return fmt.EXERCISE_WORDS[exercise]


def _no_tests(plan: NextBlock) -> str:
    if plan.week or not plan.experience.beginner or plan.experience.new:
        return ""
    return say(
        "No tests are planned in the first year of finger training. Note what was left after your "
        "sets; that shows strength too."
    )


def _shows(t: NextTests) -> str:
    """What such tests can show, where somebody may rise so much; else what to do."""
    rise = t.rise_pct.get(t.days_each_end)
    if rise is None:
        return ""
    if rise > LIKELY_RISE_PCT:
        two = t.rise_pct.get(2, math.inf)
        return (
            say(
                "Tests alone would show only a rise that is unlikely. Note what is left after each "
                "set, and test on two days at each end: then from about {rise}.",
                rise=f"{fmt.number(two, 0)}{fmt.NBSP}%",
            )
            if two <= LIKELY_RISE_PCT
            else say(
                "Tests alone would show only a rise that is unlikely. Note what is left after each "
                "set, and test on two days at each end."
            )
        )
    about = (
        say(" ({kg})", kg=fmt.mass(t.load_kg * rise / 100, 0)) if math.isfinite(t.load_kg) else ""
    )
    return say(
        "Such tests can show a rise from about {rise}{about}.",
        rise=f"{fmt.number(rise, 0)}{fmt.NBSP}%",
        about=about,
    )


def _late(t: NextTests) -> str:
    if not t.late:
        return ""
    return say(
        "The first test waits for {weeks} of building up.",
        weeks=fmt.count(BUILD_UP_WEEKS, "{n} week", "{n} weeks"),
    )


def choice_lines(plan: NextBlock) -> tuple[str, ...]:
    """The choices behind a proposal, each from its value and with its source."""
    c = plan.choices
    lines: list[tuple[str, str]] = [
        (
            "chance",
            say(
                "All sets of a session should be finished {often}; {lowered} for beginners (under "
                "{months} months of finger training, or not recorded) and lowered starts",
                often=often(c.chance),
                lowered=often(c.chance_lowered),
                months=c.beginner_months,
            ),
        ),
        (
            "step_kg",
            say(
                "One step: at most {kg} or {pct} of the load, one hand {kg_one} or {pct_one}, "
                "whichever is less; or one edge step of at most {edge}; never both",
                kg=_small(c.step_kg, plan.units),
                pct=_pct(c.step_pct / 100),
                kg_one=_small(c.step_one_hand_kg, plan.units),
                pct_one=_pct(c.step_one_hand_pct / 100),
                edge=fmt.with_unit(c.edge_step_mm, "mm"),
            ),
        ),
        (
            "least_step_kg",
            say(
                "The smallest step is the smallest that your plates make from {kg} on, one hand "
                "{kg_one}",
                kg=_small(c.least_step_kg, plan.units),
                kg_one=_small(c.least_step_one_hand_kg, plan.units),
            ),
        ),
        (
            "expect_pct",
            say(
                "Over a block at most {pct} above its first load",
                pct=_pct(c.expect_pct / 100),
            ),
        ),
        (
            "keep_share",
            say(
                "A start is not below {keep} of the last load mastered with all sets ({beginner} "
                "for beginners)",
                keep=_pct(c.keep_share),
                beginner=_pct(c.keep_share_beginner),
            ),
        ),
        (
            "off_share",
            say(
                "At most {off} of it after {days} days off, ill or sore; {low} after a limit "
                "broken in the last {broken} days, or with less than {done} of the sessions done",
                off=_pct(c.off_share),
                days=c.off_days,
                low=_pct(c.lowered_share),
                broken=c.broken_days,
                done=_pct(c.low_done),
            ),
        ),
        (
            "return_share",
            say("{share} of the last painless load on the way back", share=_pct(c.return_share)),
        ),
        (
            "mass_fall_pct",
            say(
                "Body mass down by {pct} or more over the block, or fast: no more load before a "
                "physician has had a look",
                pct=_pct(c.mass_fall_pct / 100),
            ),
        ),
        (
            "smallest_edge_mm",
            say("No load on edges below {edge}", edge=fmt.with_unit(c.smallest_edge_mm, "mm")),
        ),
        (
            "add_when_left_s",
            say("Add after all sets with {left} left", left=fmt.with_unit(c.add_when_left_s, "s")),
        ),
        (
            "loading_weeks",
            say(
                "An easier week after at most {weeks}",
                weeks=fmt.count(c.loading_weeks, "{n} loading week", "{n} loading weeks"),
            ),
        ),
        (
            "easier_share",
            say(
                "Sets in an easier week, in the first week after days off or ill and on the way "
                "back: {share}, rounded up",
                share=_pct(c.easier_share),
            ),
        ),
        (
            "pull_gap_share",
            say(
                "After more than {days} days without all-out pulls the first are at most {share} "
                "of the last",
                days=c.pull_gap_days,
                share=_pct(c.pull_gap_share),
            ),
        ),
        (
            "rest_days_before_test",
            say(
                "{days} before a test",
                days=fmt.sentence(
                    fmt.count(c.rest_days_before_test, "{n} rest day", "{n} rest days")
                ),
            ),
        ),
        (
            "rest_days_after_block",
            say(
                "{days} between two blocks",
                days=fmt.sentence(
                    fmt.count(c.rest_days_after_block, "{n} rest day", "{n} rest days")
                ),
            ),
        ),
        (
            "held_before_days",
            say(
                "Pain at the limit, a sign or a note of an injury holds that side until it is "
                "cleared, also from up to {days} days before the block",
                days=c.held_before_days,
            ),
        ),
    ]
    if not plan.shown:
        lines.append(
            (
                "light_kg",
                say(
                    "Body mass is hidden: shares are taken of the weight added plus {light} for "
                    "steps up and plus {heavy} for lower starts, whoever it is",
                    light=fmt.with_unit(c.light_kg, "kg"),
                    heavy=fmt.with_unit(c.heavy_kg, "kg"),
                ),
            )
        )
    return tuple(
        say("{line} ({source}).", line=line, source=SOURCES[Choices.source_of(name)])
        for name, line in lines
    )


def choice_names() -> tuple[str, ...]:
    """The names of all choices."""
    return tuple(f.name for f in fields(Choices))


# --- everything, in the page's order --------------------------------------------------------------


def opening(plan: NextBlock) -> tuple[str, ...]:
    """Sentences over the table, most pressing first."""
    if plan.minor:
        return (*minor_sentences(plan), *hold_sentences(plan))
    lowered = _lowered(plan)
    pain = [watch_text(plan.watch)] if plan.watch else []
    asked = [] if plan.pain_asked else [say(ASK_PAIN)]
    return tuple(
        filter(
            None,
            (
                *hold_sentences(plan),
                *return_sentences(plan),
                *mass_sentences(plan),
                *shape_sentences(plan),
                *week_sentences(plan),
                *lowered,
                ramp_text(plan),
                *pain,
                *asked,
                *([] if plan.age_known else [say(NO_AGE)]),
            ),
        )
    )


def page_opening(plan: NextBlock) -> tuple[tuple[tuple[str, str], ...], tuple[str, ...]]:
    """
    What stands over the plan on a page.

    Returns
    -------
    Cautions (what is wrong or who decides; what follows from it) and paragraphs. What the lines of
    the plan say themselves is not among them.
    """
    cautions: list[tuple[str, str]] = []
    if plan.minor:
        cautions.append((say(MINOR), say(MINOR_NOTHING)))
    if plan.held:
        stop, *_ = hold_sentences(plan)
        cautions.append((stop, " ".join((_why_held(plan), say(OTHER_WORK_GOES_ON)))))
    if plan.minor:
        return tuple(cautions), ((say(ENDS_HOLD),) if plan.held else ())
    mass = mass_sentences(plan)
    if mass:
        cautions.append((mass[0], " ".join(mass[1:])))
    if plan.watch:
        cautions.append((watch_felt(plan.watch), watch_action(plan.watch)))
    paragraphs = [say(ENDS_HOLD)] if plan.held else []
    paragraphs.append(" ".join(return_sentences(plan)))
    frame = [*_frame(plan), *week_sentences(plan)]
    if plan.rows:
        frame += _lowered(plan)
    paragraphs += [" ".join(frame), ramp_text(plan)]
    asked = [] if plan.pain_asked or not plan.rows else [say(ASK_PAIN)]
    paragraphs.append(" ".join([*asked, *([] if plan.age_known else [say(NO_AGE)])]))
    return tuple(cautions), tuple(filter(None, paragraphs))


def _why_held(plan: NextBlock) -> str:
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


def _frame(plan: NextBlock) -> list[str]:
    """Start, weeks, sessions and days in a sentence."""
    if not plan.rows:
        return []
    start = fmt.day(plan.start, year=False)
    if plan.week:
        return [
            say(
                "Week {week}, from {start}: {sessions} to do.",
                week=plan.week,
                start=start,
                sessions=fmt.count(plan.sessions, "{n} finger session", "{n} finger sessions"),
            )
        ]
    if plan.held:
        return list(shape_sentences(plan))
    out = [
        say(
            "{weeks} from {start}: {sessions} a week, on {days}.",
            weeks=fmt.sentence(fmt.count(plan.weeks, "{n} week", "{n} weeks")),
            start=start,
            sessions=fmt.count(plan.sessions, "{n} finger session", "{n} finger sessions"),
            days=fmt.listing(say(WEEKDAY_NAMES[d]) for d in plan.weekdays),
        )
    ]
    waits = plan.block_end is not None and (plan.start - plan.block_end).days > 1
    if waits and not any(x.reason is Reason.OFF for x in plan.reductions):
        out.append(say("Rest your fingers until then."))
    if plan.moved:
        out.append(
            say(
                "The start was moved: {days} must pass after the last all-out day.",
                days=fmt.count(plan.choices.rest_days_before_test, "{n} rest day", "{n} rest days"),
            )
        )
    return out


def page_closing(plan: NextBlock) -> tuple[str, ...]:
    """What stands under the plan on a page: how to add, a late start; tests; who decides."""
    if plan.minor or not plan.rows:
        return ()
    t = plan.tests
    tests = [_shows(t)] if t is not None else [_no_tests(plan)]
    return tuple(
        filter(
            None,
            (
                " ".join(filter(None, (rule(plan), late_text(plan)))),
                " ".join(filter(None, (*tests, say(DECIDE)))),
            ),
        )
    )


def _lowered(plan: NextBlock) -> list[str]:
    """What lowers the starts: the reasons that bind, not those that ask for less."""
    out: list[str] = []
    starts = [x for x in plan.loads if x.kind == "start"]
    if starts and all(_returns(x) for x in starts):
        return out  # the way back asks for less
    if any("ill" in x.kinds or x.reason is Reason.ILL for x in plan.reductions):
        out.append(say("Start only when free of symptoms."))
    for x in plan.reductions:
        if x.reason is Reason.BODY_MASS or x.share > plan.share:
            continue
        why = fmt.sentence(reduction_text(x, plan))
        if x.share >= 1:
            out.append(say("{why}: no step up.", why=why))
        elif plan.shown:
            out.append(
                say(
                    "{why}: start at {share} of the last loads or less.",
                    why=why,
                    share=_pct(x.share),
                )
            )
        else:
            out.append(say("{why}: start below the last loads.", why=why))
    return out


def closing(plan: NextBlock) -> tuple[str, ...]:
    """Sentences under the table: the rule for adding, later weeks, tests, a late start."""
    if plan.minor or not plan.rows:
        return ()
    later = any(row.reason is Reason.LATER for row in plan.rows)
    return tuple(
        filter(
            None,
            (
                rule(plan),
                rests_text(plan),
                say(LATER_WEEKS) if later else "",
                _pull_gap(plan),
                tests_text(plan) or _no_tests(plan),
                *aim_lines(plan),
                late_text(plan),
                say(STOP),
                say(DECIDE),
            ),
        )
    )


def _pull_gap(plan: NextBlock) -> str:
    """What holds for the first pulls after weeks without any."""
    row = next((x for x in plan.rows if x.reason is Reason.PULL_GAP), None)
    if row is None:
        return ""
    load = load_of(row, plan)
    if load is None or load.last is None:
        return ""
    return say(
        "The pulls of {day} are not all out: none were done in the {days} days before, so at most "
        "{share} of the last.",
        day=fmt.day(row.day, year=False),
        days=(row.day - load.last.day).days - 1,
        share=_pct(plan.choices.pull_gap_share),
    )


def lead(plan: NextBlock) -> tuple[str, ...]:
    """What of it belongs on the first screen: one start load, or why there is none."""
    if plan.minor:
        return (say(MINOR),)
    if plan.held:
        return (_held_in_short(plan),)
    loads = [x for x in plan.loads if x.kind == "start"]
    if not loads:
        return tuple(filter(None, (*_frame(plan), *_lowered(plan))))[:2] or opening(plan)[:2]
    t = plan.tests
    first = next(
        (
            x
            for x in loads
            if t is not None
            and (x.exercise, x.grip, x.hand) == (t.series.capacity, t.series.grip, t.series.hand)
        ),
        loads[0],
    )
    what = f"{fmt.EXERCISE_WORDS[first.exercise]}, " + fmt.series(
        first.grip, first.hand, first.edge_mm
    )
    load = load_text(first, plan, pieces=False)
    start = fmt.day(plan.start, year=False)
    if plan.week and not plan.rows:
        return opening(plan)[:2]
    if plan.week:
        begin = say(
            "Week {week}, from {start}: {sessions} to do; {what}, {load}.",
            week=plan.week,
            start=start,
            sessions=fmt.count(plan.sessions, "{n} finger session", "{n} finger sessions"),
            what=what,
            load=load,
        )
    else:
        begin = say("From {start}: {what}, {load}.", start=start, what=what, load=load)
    return (begin,)


def _held_in_short(plan: NextBlock) -> str:
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


# --- what to log in a running block ---------------------------------------------------------------


def to_log(r: BlockReview, plan: NextBlock) -> tuple[tuple[str, str], ...]:
    """What to write down so that the end of a running block can be told, each with its word."""
    if not plan.week:
        return ()
    out = []
    if not plan.held:
        out.append(
            (
                say("What was left"),
                say("Seconds or holds left after the last set of each exercise."),
            )
        )
    if any(gap.kind is GapKind.PAIN for gap in r.gaps):
        out.append((say("Pain"), say("After every finger day, 0 too.")))
    tests = [week for week in r.block.test_weeks if week > plan.week]
    if not tests or plan.held:
        return tuple(out)
    if r.athlete.show_body_mass:
        weigh = say(
            "Three weigh-ins close together this week, three in week {week}.", week=tests[-1]
        )
        out.append((say("Weight"), weigh))
    test = say(
        "In {weeks}: grip, edge and hold of the first test, and marked as one.",
        weeks=fmt.weeks(tests),
    )
    out.append((say("Test"), test))
    return tuple(out)


# --- the plan in a few lines ----------------------------------------------------------------------

#: Grips as they stand beside a load where only one kind of open hand is planned.
_SHORT_GRIPS = Table({"open_four": mark("open hand"), "open_three": mark("open hand")})
#: The same where both are.
_EXACT_GRIPS = Table(
    {
        "open_four": mark("four-finger open hand"),
        "open_three": mark("three-finger open hand"),
    }
)


@dataclass(frozen=True, slots=True)
class PlanLine:
    """
    A line of the short plan.

    Attributes
    ----------
    weeks, days : `3–6`; `5, 8 May`, or from the first to the last day of several weeks.
    loads : each load and of which grip, hand or edge it is ("" where one holds for all).
    note : an easier week, a range to expect, rest before a test. `test`: the line is a test, whose
        load is the word and of what.
    """

    weeks: str
    days: str
    loads: tuple[tuple[str, str], ...]
    note: str
    test: bool = False


@dataclass(frozen=True, slots=True)
class PlanPhase:
    """A phase of the short plan: its name, its conditions said once, its lines."""

    name: str
    conditions: str
    lines: tuple[PlanLine, ...]


Series = tuple[str, str, float]


def plan_phases(plan: NextBlock) -> tuple[PlanPhase, ...]:
    """The plan by phase; weeks alike, and all weeks of a later phase, share a line."""
    names = list(dict.fromkeys(row.phase for row in plan.rows if not row.test))
    tests = [row for row in plan.rows if row.test]
    groups: dict[str, list[tuple[dt.date, PlanLine]]] = {name: [] for name in names}
    for name in names:
        rows = [row for row in plan.rows if row.phase == name and not row.test]
        groups[name] += _phase_lines(rows, plan)
    for day in dict.fromkeys(row.day for row in tests):
        of_day = [row for row in tests if row.day == day]
        line = _test_line(of_day, tests[0], plan)
        groups.setdefault(_phase_of_test(of_day[0], plan), []).append((day, line))
    out = []
    for name, lines in groups.items():
        rows = [row for row in plan.rows if row.phase == name and not row.test]
        ordered = sorted(lines, key=lambda of: of[0])
        out.append(
            PlanPhase(
                phase_name(name) if name else say("Test"),
                _conditions(rows),
                tuple(line for _, line in ordered),
            )
        )
    return tuple(out)


def _phase_of_test(test: NextRow, plan: NextBlock) -> str:
    """The phase whose work comes last before a test, else the first after it."""
    work = [row for row in plan.rows if not row.test]
    before = [row for row in work if row.day < test.day]
    return before[-1].phase if before else work[0].phase if work else ""


def _test_line(rows: Sequence[NextRow], first: NextRow, plan: NextBlock) -> PlanLine:
    row = rows[0]
    rest = plan.choices.rest_days_before_test
    if row.week != first.week and _series(row) == _series(first):
        again = say("as in week {week}", week=first.week)
        loads = ((say("test"), ""),)
        return PlanLine(str(row.week), short_day(row.day), loads, again, test=True)
    tested = _tested(row.grip, [r.hand for r in rows], row.edge_mm)
    aims = list(dict.fromkeys(filter(None, (_aim(r, plan) for r in rows))))
    rested = fmt.count(rest, "{n} rest day", "{n} rest days")
    return PlanLine(
        str(row.week),
        short_day(row.day),
        ((say("test"), f"{tested}, {_hold_text(row)}"),),
        say("to the limit, about {aims}", aims=fmt.listing(aims))
        if aims
        else say("to the limit, {rest} before", rest=rested),
        test=True,
    )


def _phase_lines(rows: Sequence[NextRow], plan: NextBlock) -> list[tuple[dt.date, PlanLine]]:
    order = _series_of(rows)
    weeks: dict[int, list[NextRow]] = {}
    for row in rows:
        weeks.setdefault(row.week, []).append(row)
    runs: list[list[int]] = []
    for week in weeks:
        if runs and _alike(weeks[runs[-1][-1]], weeks[week]) and week == runs[-1][-1] + 1:
            runs[-1].append(week)
        else:
            runs.append([week])
    return [
        _line([row for week in run for row in weeks[week]], run, rows, order, plan) for run in runs
    ]


def _alike(a: Sequence[NextRow], b: Sequence[NextRow]) -> bool:
    """Whether two weeks share a line: both only to expect, or with the same loads and sets."""
    if all(row.reason is Reason.LATER for row in (*a, *b)):
        return True
    return _week_key(a) == _week_key(b)


def _week_key(rows: Sequence[NextRow]) -> set[tuple[object, ...]]:
    # an easier week of the same load shares the line, whose note says so; an all-out pull has no
    # load, and one held back after a gap is named by its day
    return {
        (
            *_series(r),
            None if r.exercise == "pull" else r.low_kg,
            None if r.exercise == "pull" else r.high_kg,
            r.reason is Reason.RAMP,
            r.back,
        )
        for r in rows
    }


def _line(
    rows: Sequence[NextRow],
    weeks: Sequence[int],
    phase: Sequence[NextRow],
    order: Sequence[Series],
    plan: NextBlock,
) -> tuple[dt.date, PlanLine]:
    loads = [
        (_range_text([r for r in rows if _series(r) == key], plan), _label(key, order))
        for key in order
        if any(_series(r) == key for r in rows)
    ]
    if len({text for text, _ in loads}) == 1:
        loads = [(loads[0][0], "")]
    else:
        loads = [(_unbroken(text), _unbroken(label)) for text, label in loads]
    days = sorted({row.day for row in rows})
    line = PlanLine(
        str(weeks[0]) if len(weeks) == 1 else f"{weeks[0]}\u2013{weeks[-1]}",
        _short_days(days, plan) if len(weeks) == 1 else _from_to(days),
        tuple(loads),
        _line_note(rows, weeks, phase, plan),
    )
    return days[0], line


def _line_note(
    rows: Sequence[NextRow], weeks: Sequence[int], phase: Sequence[NextRow], plan: NextBlock
) -> str:
    first = rows[0]
    notes = []
    easy = sorted({r.week for r in rows if r.easy})
    if easy and all(r.easy for r in phase):  # then the conditions name their sets
        notes.append(fmt.count(len(weeks), "easier week", "easier weeks"))
    elif easy:
        sets = _sets_in([r for r in rows if r.easy])
        notes.append(
            say("easier: {sets}", sets=sets)
            if len(weeks) == 1
            else say("{weeks} easier: {sets}", weeks=fmt.weeks(easy), sets=sets)
        )
    if first.exercise == "pull" and first.reason is not Reason.LATER:
        load = load_of(first, plan)
        if load is not None and load.kind == "expect" and load.force_kg is not None:
            notes.append(
                say("all out; stop above this on the scale")
                if _read_left(load)
                else say("all out; stop below this")
            )
        eased = sorted({r.day for r in rows if r.reason is Reason.PULL_GAP})
        if (load is not None and load.kind == "below") or len(eased) == len({r.day for r in rows}):
            notes.append(say("not all out"))
        elif eased:
            notes.append(
                say(
                    "on {day} not all out: at most {share} of the last",
                    day=short_day(eased[0]),
                    share=_pct(plan.choices.pull_gap_share),
                )
            )
    if any(r.back for r in rows):
        notes.append(say("first week back: {sets}", sets=_sets_in([r for r in rows if r.back])))
    if math.isfinite(first.from_edge_mm):
        notes.append(say("{was} before", was=fmt.with_unit(first.from_edge_mm, "mm")))
    alone = len(_series_of(phase)) == 1
    if alone and first.pieces and first.low_kg is not None and first.low_kg < 0:
        notes.append(say("pulley: {pieces}", pieces=_pieces(first.pieces, plan.units)))
    return fmt.clauses(notes)


def _sets_in(rows: Sequence[NextRow]) -> str:
    """How many sets of each series: 1 and 2 sets; 3 pulls each."""
    of = {_series(r): r.sets for r in rows}
    counts = [str(n) for n in of.values() if n is not None]
    if not counts:
        return say("fewer sets")
    pull = rows[0].exercise == "pull"
    if len(set(counts)) == 1:
        n = int(counts[0])
        text = (
            fmt.count(n, "{n} pull", "{n} pulls") if pull else fmt.count(n, "{n} set", "{n} sets")
        )
        return say("{sets} each", sets=text) if len(counts) > 1 else text
    listed = fmt.listing(counts)
    return say("{n} pulls", n=listed) if pull else say("{n} sets", n=listed)


def _range_text(rows: Sequence[NextRow], plan: NextBlock) -> str:
    """One series' load over some weeks, from the start to where the rule for adding may lead."""
    row = rows[0]
    load = load_of(row, plan)
    if load is not None and load.reason is Reason.AHEAD:
        return say("worked out once this block has had them")
    if row.exercise == "pull":
        eased = all(r.reason is Reason.PULL_GAP for r in rows)
        if eased or (load is not None and load.kind == "below"):
            kg = row.high_kg if eased or load is None else load.force_kg
            if kg is None:
                return say("clearly below the last pulls")
            if load is not None and math.isfinite(load.stand_kg):
                least = _plain_weight(_on_scale(kg, load), plan.units, sign=False, digits=0)
                return say("scale at least {least}", least=least)
            most = _plain_weight(kg, plan.units, sign=False, digits=0)
            return say("at most {most}", most=most)
        if load is None or load.force_kg is None:
            return say("all out")
        floor = _on_scale(load.force_kg, load) if _read_left(load) else load.force_kg
        return _plain_weight(floor, plan.units, sign=False, digits=0)
    if row.reason is Reason.RAMP:
        return say("clearly easy: feet on something, or weight off")
    lows = [r.low_kg for r in rows if r.low_kg is not None]
    highs = [r.high_kg for r in rows if r.high_kg is not None]
    if not lows or not highs:
        return say("clearly easy")
    sign = not (load is not None and load.force_kg is not None)
    low, high = min(lows), max(highs)
    top = _plain_weight(high, plan.units, sign=sign)
    if low == high:
        return top
    scale = kg_to_lb(low) if plan.units == "lb" else low
    bottom = fmt.number(scale, 1 if plan.units == "lb" else 2, sign=sign)
    return say("{low} to {high}", low=bottom, high=top)


def _plain_weight(kg: float, units: str, *, sign: bool, digits: int | None = None) -> str:
    """A weight in the athlete's unit alone."""
    value, places = (kg_to_lb(kg), 1) if units == "lb" else (kg, 2)
    return fmt.with_unit(
        value, units, places if digits is None or units == "kg" else digits, sign=sign
    )


def _series(row: NextRow) -> Series:
    # a missing edge is not equal to itself
    return row.grip, row.hand, row.edge_mm if math.isfinite(row.edge_mm) else -1.0


def _series_of(rows: Iterable[NextRow]) -> list[Series]:
    return list(dict.fromkeys(map(_series, rows)))


def _label(key: Series, order: Sequence[Series], *, exact: bool = False) -> str:
    """What sets a series apart from the others of its phase: open hand; left; 15 mm."""
    grip, hand, edge = key
    grips = {of[0] for of in order}
    parts = []
    if len(grips) > 1:
        table = _EXACT_GRIPS if exact or {"open_four", "open_three"} <= grips else _SHORT_GRIPS
        parts.append(table.get(grip, fmt.grip(grip)))
    if len({of[1] for of in order}) > 1:
        parts.append(fmt.SIDE_WORDS[hand] if hand != "both" else fmt.HAND_WORDS[hand])
    if len({of[2] for of in order}) > 1 and edge > 0:
        parts.append(fmt.with_unit(edge, "mm"))
    return " ".join(parts)


def _conditions(rows: Sequence[NextRow]) -> str:
    """
    What holds for a whole phase, said once: half crimp, both hands, 20 mm; 5 × 10 s; 2 s left.
    """
    if not rows:
        return ""
    order = _series_of(rows)
    fullest: dict[Series, NextRow] = {}
    for row in rows:
        known = fullest.get(_series(row))
        if known is None or (row.sets or 0) > (known.sets or 0):
            fullest[_series(row)] = row
    work = {key: _unbroken(sets_text(row)) for key, row in fullest.items()}
    labels = {key: _label(key, order, exact=True) for key in order}
    grip, hand, edge = order[0]
    common = []
    if len({of[0] for of in order}) == 1:
        common.append(fmt.grip(grip))
    if len({of[1] for of in order}) == 1:
        common.append(fmt.HAND_WORDS[hand])
    if len({of[2] for of in order}) == 1 and edge > 0:
        common.append(fmt.with_unit(edge, "mm"))
    parts = [", ".join(common)] if common else []
    if len(order) == 1:
        parts.append(work[order[0]])
    elif len(set(work.values())) == 1:
        sets = say("{sets} each", sets=work[order[0]])
        parts.append(f"{fmt.listing(labels.values())}, {sets}")
    else:
        parts.append(", ".join(f"{labels[key]} {work[key]}" for key in order))
    left = next((text for row in rows if (text := left_text(row))), "")
    if left:
        parts.append(say("leave {left}", left=left))
    return fmt.clauses(parts)


def _unbroken(text: str) -> str:
    """The text on one line."""
    return text.replace(" ", fmt.NBSP)


def _hold_text(row: NextRow) -> str:
    hold = fmt.with_unit(row.hang_s, "s") if row.hang_s is not None else ""
    if row.exercise == "pull":
        return say("one pull")
    if row.reps:
        return f"{row.reps} × {hold}" if hold else fmt.count(row.reps, "{n} hold", "{n} holds")
    return hold or say("as long as you can")


def _short_days(days: Sequence[dt.date], plan: NextBlock) -> str:
    """The days of a week: 21, 24 Apr; of a running week with their weekdays: Tue 3, Fri 6 Mar."""

    def number(day: dt.date) -> str:
        date = _day_alone(day)
        return f"{say(WEEKDAYS[day.weekday()])}{fmt.NBSP}{date}" if plan.week else date

    out = []
    for day, after in zip(days, [*days[1:], None], strict=True):
        named = after is None or after.month != day.month
        out.append(f"{number(day)}{fmt.NBSP}{short_month(day)}" if named else number(day))
    return ", ".join(out)


def _from_to(days: Sequence[dt.date]) -> str:
    if days[0].month == days[-1].month:
        return say("{first} to {last}", first=_day_alone(days[0]), last=short_day(days[-1]))
    return say("{first} to {last}", first=short_day(days[0]), last=short_day(days[-1]))


def _day_alone(day: dt.date) -> str:
    """A day whose month follows later: 9, and 9. where a language writes its dates so."""
    return say("{day}", day=day.day)


# --- the sheet of a week -------------------------------------------------------------------------


def sheet_load(row: NextRow, plan: NextBlock) -> str:
    """What stands on a sheet in place of a weight: all out; to the limit; up to +10 kg; ""."""
    if row.test:
        return say("to the limit")
    load = load_of(row, plan)
    if row.exercise == "pull":
        held = row.reason is Reason.PULL_GAP or (load is not None and load.kind == "below")
        return say("not all out") if held else say("all out")
    if row.reason is Reason.RAMP:
        return say("clearly easy")
    if row.low_kg is None or row.high_kg is None or row.low_kg == row.high_kg:
        return ""
    sign = load is None or load.force_kg is None
    return say("up to {most}", most=_plain_weight(row.high_kg, plan.units, sign=sign))


def is_lifted(row: NextRow, plan: NextBlock) -> bool:
    """Whether a row's weight hangs on the block and is no weight added."""
    load = load_of(row, plan)
    return row.force_kg is not None or (load is not None and load.force_kg is not None)


def sheet_notes(rows: Sequence[NextRow], plan: NextBlock) -> tuple[str, ...]:
    """What holds for a session's tests and pulls, a line each."""
    out = []
    for row in rows:
        what = fmt.sentence(fmt.series(row.grip, row.hand))
        if row.test:
            text = aim_text(row, plan) or say("One set to the limit; note the seconds.")
            out.append(fmt.headed(say("Test, {what}", what=fmt.series(row.grip, row.hand)), text))
        elif row.exercise == "pull":
            out.append(fmt.headed(what, f"{row_load(row, plan)}."))
    return tuple(dict.fromkeys(out))


# --- every session --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class WeekLine:
    """One line of the table: a series in a week, its sessions taken together where alike."""

    week: int
    days: str
    phase: str
    what: str
    load: str
    sets: str
    left: str
    note: str
    sessions: int
    test: bool


def week_lines(plan: NextBlock) -> tuple[WeekLine, ...]:
    """The table of a proposal: week by week, what to do on which days."""
    groups: dict[tuple[object, ...], list[NextRow]] = {}
    for row in plan.rows:
        key = (row.week, row.phase, row.exercise, row.grip, row.hand, str(row.edge_mm), row.sets)
        groups.setdefault((*key, row.test, row.reason, row.low_kg, row.high_kg), []).append(row)
    return tuple(_week_line(rows, plan) for rows in groups.values())


def week_head(week: int, plan: NextBlock) -> str:
    """The line over a week's sessions: Week 4 (easier)."""
    if week in plan.easy_weeks:
        return say("Week {week} (easier)", week=week)
    return say("Week {week}", week=week)


def _week_line(rows: Sequence[NextRow], plan: NextBlock) -> WeekLine:
    row = rows[0]
    return WeekLine(
        week=row.week,
        days=_days(rows),
        phase=phase_name(row.phase) if row.phase else say("Test"),
        what=fmt.series(row.grip, row.hand, row.edge_mm),
        load=row_load(row, plan),
        sets=sets_text(row),
        left=left_text(row),
        note=note_text(row),
        sessions=len(rows),
        test=row.test,
    )


def _days(rows: Sequence[NextRow]) -> str:
    return ", ".join(
        f"{say(fmt.WEEKDAYS[row.day.weekday()])}{fmt.NBSP}{fmt.day(row.day, year=False)}"
        for row in rows
    )


def sets_text(row: NextRow, *, whole: bool = False) -> str:
    """
    Sets and their length: 5 × 10 s; 3 × 6 × 7/3 s; 6 pulls.

    With `whole` the rest between holds in words: 3 × 6 × 7 s, 3 s off.
    """
    n = "–" if row.sets is None else str(row.sets)
    hold = fmt.with_unit(row.hang_s, "s") if row.hang_s is not None else ""
    if row.exercise == "pull":
        return say("{n} pulls", n=n) if row.sets != 1 else say("one pull")
    if row.reps and hold and row.rest_s:
        if whole:
            rest = fmt.with_unit(row.rest_s, "s")
            return say("{sets}, {rest} off", sets=f"{n} × {row.reps} × {hold}", rest=rest)
        return f"{n} × {row.reps} × {fmt.number(row.hang_s or 0)}/{fmt.with_unit(row.rest_s, 's')}"
    if row.reps:
        return f"{n} × {row.reps} × {hold}" if hold else f"{n} × {row.reps}"
    return f"{n} × {hold}" if hold else n


def left_text(row: NextRow) -> str:
    """What should be left after the last set."""
    if row.test:
        return ""
    if row.left_reps is not None:
        return fmt.count(row.left_reps, "one hold", "{n} holds")
    return fmt.with_unit(row.left_s, "s") if row.left_s is not None else ""


def note_text(row: NextRow) -> str:
    """What is special about a row."""
    if row.test:
        return say("test, rested")
    easy = fmt.count(1, "easier week", "easier weeks") if row.easy else ""
    if row.back:
        return say("first week back: fewer sets")
    if easy:
        return easy
    if math.isfinite(row.from_edge_mm):
        return say("{was} before", was=fmt.with_unit(row.from_edge_mm, "mm"))
    return ""


def why_lines(plan: NextBlock) -> tuple[tuple[str, str], ...]:
    """Each load with its reason: what it is, and why."""
    return tuple((load_line(x, plan), reason_text(x, plan)) for x in plan.loads)


def load_line(load: NextLoad, plan: NextBlock) -> str:
    """One line: what, on which edge, how much."""
    what = f"{phase_name(load.phase)}, {fmt.series(load.grip, load.hand, load.edge_mm)}"
    return fmt.headed(what, load_text(load, plan))


def all_sentences(plan: NextBlock) -> tuple[str, ...]:
    """Every sentence of a proposal, for checks and comments in the block file."""
    if plan.minor:
        return (*opening(plan), *(before_text(x) for x in plan.before))
    loads: Iterable[str] = (f"{a}. {b}" for a, b in why_lines(plan))
    return (*opening(plan), *loads, *closing(plan), *choice_lines(plan))
