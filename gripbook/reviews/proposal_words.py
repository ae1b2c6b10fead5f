"""The sentences of a proposal: one voice, each with its because."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from gripbook.logs import Block, Limits, Phase
from gripbook.reviews.plates import pieces_words
from gripbook.strength import SeriesKey
from gripbook.units import kg_to_lb
from gripbook.words import Table, fmt, mark, say

if TYPE_CHECKING:
    from gripbook.reviews.proposal import NextLoad

PHASE_NAMES = Table(
    {"hang": mark("Timed hangs"), "repeater": mark("Repeaters"), "pull": mark("All-out pulls")}
)
RAMP_NAME = mark("Easy timed hangs")

NO_AGE = mark("Age is not recorded; this is for adults only.")
MINOR = mark(
    "Under 18 (whoever turns 18 this year included): this page proposes "
    "nothing heavier, smaller, longer or all-out, no start load and no test "
    "day. What comes next is for coach, guardian and physician to decide."
)
MINOR_BECAUSE = mark(
    "Intensive finger strength training is not recommended for adolescents "
    "(Morrison and Schöffl 2007, British Journal of Sports Medicine "
    "41:852-861)."
)
NOTHING_DONE = mark(
    "No finished set of it with a known load is logged, so there is nothing "
    "to go by: begin with what is clearly easy and write it down."
)
NO_PULLS_YET = mark(
    "No all-out pulls in a first block of finger training (common practice, no source)."
)
SMALL_EDGE = mark(
    "Below 10 mm no load is worked out; stay at what was done, or take a larger edge."
)
PULL_HIDDEN = mark(
    "An all-out pull has no load to set. What it should still read is not "
    "told here, since body mass is hidden."
)
EASY_WEEK = mark("The plan has an easy week: no step up.")
EASY_WEEK_SHORT = mark("the plan has an easy week")
BLOCK_OVER = mark("The block is over: no week of it is left to plan.")
NO_FINGERS = mark("No finger session this week.")
PLAN_SAYS = mark("The block file plans it so.")
TEST_WEEK = mark("A test week: test first in the session, two days rested, one set to the limit.")
TEST_WAITS = mark("The plan has tests this week; let them wait.")
NEW_NO_TEST = mark(
    "New to finger training: no sets to the limit in the first block. "
    "Writing down what was left in reserve tells of strength too."
)
NEW_TESTS = mark("No test day in the coming block.")
STOP = mark(
    "Stop a set at once when a finger, hand or elbow hurts, and go lighter when a set feels off."
)
ASK_PAIN = mark(
    "Ask about pain in fingers, hands and elbows before the first session, and write it down."
)
PAIN_NOT_RECORDED = mark("Pain was not recorded, which is not the same as none.")
STOP_BECAUSE = mark("The loads come from the log alone; it does not know how today feels.")
UNNAMED_BECAUSE = mark(
    "The plan does not name this grip. Add it to the block file if it is to be trained."
)
LATER_BECAUSE = mark(
    "Own choice, no source: after two weeks off the first loads stay a tenth lower."
)


def _mass(show: bool) -> str:
    return (
        "" if show else say(" Counted so that body mass stays hidden, which makes it more careful.")
    )


# --- figures ----------------------------------------------------------------------------------


def weight(kg: float, units: str, *, sign: bool = True, digits: int = 1) -> str:
    """A weight as its athlete speaks of it: +18.75 kg; +2.5 lb (1.13 kg)."""
    in_kg = fmt.with_unit(kg, "kg", 2, sign=sign)
    if units != "lb":
        return in_kg
    return f"{fmt.with_unit(kg_to_lb(kg), 'lb', digits, sign=sign)} ({in_kg})"


def load_words(load: NextLoad, *, pieces: bool = True) -> str:
    """What to put on, in words, with the plates that make it up."""
    if load.kind == "hold":
        return say("none: stop")
    if load.kind == "expect":
        if load.force_kg is None:
            return say("all out, no load to set")
        reads = weight(load.force_kg, load.units, sign=False, digits=0)
        return say(
            "all out, no load to set; the last pull should still be {reads} or more", reads=reads
        )
    if load.kind == "below":
        if load.force_kg is None:
            return say("not all out: clearly below the last pulls")
        most = weight(load.force_kg, load.units, sign=False, digits=0)
        return say("not all out: at most {most} on the fingers", most=most)
    if load.kind == "open":
        return say("no load proposed")
    made_of = _pieces(load) if pieces else ""
    if load.force_kg is not None:
        return weight(load.force_kg, load.units, sign=False) + made_of
    assert load.added_kg is not None
    if load.added_kg == 0:
        return say("nothing added or taken off")
    if load.added_kg < 0:
        return say(
            "{weight} taken off{pieces}",
            weight=weight(-load.added_kg, load.units, sign=False),
            pieces=made_of,
        )
    return weight(load.added_kg, load.units) + made_of


def _pieces(load: NextLoad) -> str:
    if len(load.pieces) < 2:
        return ""
    scale = kg_to_lb(1.0) if load.units == "lb" else 1.0
    pieces = [round(p * scale, 1) for p in load.pieces] if load.units == "lb" else load.pieces
    return say(" as {pieces_words}", pieces_words=pieces_words(pieces))


def load_line(load: NextLoad) -> str:
    """One line for the screen: what, on which edge, how much."""
    what = f"{load.phase}, {fmt.series(load.grip, load.hand, load.edge_mm)}"
    return fmt.headed(what, f"{load_words(load)}.")


def often(chance: float) -> str:
    """A chance in words."""
    return say("nine times in ten") if chance < 0.93 else say("19 times in 20")


def in_ten(chance: float) -> str:
    """A chance in tenths: seven times in ten; never quite none or all."""
    tenths = min(9, max(1, round(10 * chance)))
    return fmt.count(tenths, "once in ten", "{n} times in ten")


@dataclass(frozen=True, slots=True)
class Told:
    """
    What a load's because is told from; kg as they may be shown. `again`: chance that the last set
    succeeds with the last load.
    """

    last_kg: float
    last_day: dt.date
    again: float
    chance: float
    sets: int | None
    rein: str
    share: float
    step: bool
    one_hand: bool
    lifted: bool
    units: str


# --- one load ---------------------------------------------------------------------------------


def last_weight(t: Told) -> str:
    """The last weight done."""
    kg = 0.0 if math.isnan(t.last_kg) else t.last_kg
    if t.lifted:
        return weight(kg, t.units, sign=False)
    if kg == 0:
        return say("nothing added")
    if kg < 0:
        return say("{weight} taken off", weight=weight(-kg, t.units, sign=False))
    return weight(kg, t.units)


def last_done(t: Told) -> str:
    """The last weight done and its day: how the because of a load begins."""
    return say("Last done: {what} on {day}.", what=last_weight(t), day=fmt.day(t.last_day))


def brief(t: Told, because: str, show: bool) -> str:
    """
    What of a load's because, told without its beginning, stands in the page's opening.

    Where body mass is hidden no share of a load is told there: beside the weights it would let one
    reckon.
    """
    down = _held_down(t)
    if t.share >= 1 or not down or not because.startswith(down):
        return because
    return down if show else say("Lower, since {rein}.", rein=t.rein)


def _last_set(t: Told) -> str:
    return say("the last of {sets} sets", sets=t.sets) if t.sets and t.sets > 1 else say("a set")


def _least(t: Told) -> str:
    return say(
        "{last_set} should still succeed at least {often}",
        last_set=_last_set(t),
        often=often(t.chance),
    )


def _held_down(t: Told) -> str:
    if not t.rein:
        return ""
    if t.share >= 1:
        return say("No step up, since {rein}.", rein=t.rein)
    what = say("of it") if t.lifted else say("of that load, body mass and weight together")
    return say(
        "At most {share}~% {what}, since {rein}.",
        share=fmt.number(100 * t.share, 0),
        what=what,
        rein=t.rein,
    )


def load_because(t: Told, kg: float, *, bound: bool) -> str:
    """Why this load; `bound`: another limit than strength holds it."""
    if not bound:
        out = say(
            "With this {least}; with the next heavier plates less often",
            least=_least(t),
        )
        if kg < (0.0 if math.isnan(t.last_kg) else t.last_kg) and t.again < t.chance:
            out += say(", with the last load about {in_ten}", in_ten=in_ten(t.again))
        return out + "."
    if t.rein:
        return say(
            "{held_down} With this {least}.",
            held_down=_held_down(t),
            least=_least(t),
        )
    most, pct = (1.0, 2.0) if t.one_hand else (2.5, 3.0)
    return say(
        "No step above it of more than {most} or {pct}~% of the load, "
        "whichever is less; with this {least}.",
        most=fmt.mass(most),
        pct=fmt.number(pct),
        least=_least(t),
    )


def unbounded_because(t: Told, *, edges: tuple[float, float] | None, stepped: bool) -> str:
    """Why this load, where every set logged was finished; `edges`: the edge before and now."""
    known = say("Every set was finished, so the log has no upper end")
    if edges is not None:
        was, now = edges
        step = say("{now} for {was}", now=fmt.number(now), was=fmt.with_unit(was, "mm"))
        if stepped:
            return say(
                "{known}: one step of the edge ({step}), with no more weight.",
                known=known,
                step=step,
            )
        return say(
            "{known}. {held_down} Weight was never taken off, so a larger edge: {step}.",
            known=known,
            held_down=_held_down(t),
            step=step,
        )
    if stepped:
        return say("{known}: one small step.", known=known)
    if t.rein:
        return f"{known}. {_held_down(t)}"
    return say(
        "{known}, but not a whole session was done with it, or no plates make a small step.",
        known=known,
    )


def edge_because(t: Told, was_mm: float, now_mm: float) -> str:
    """Why a smaller edge, with the same weight."""
    return say(
        "The edge got smaller in this block, so the step is the edge: "
        "{now_mm} for {was_mm}, with no more weight; {least}.",
        now_mm=fmt.number(now_mm),
        was_mm=fmt.with_unit(was_mm, "mm"),
        least=_least(t),
    )


def larger_because(t: Told, was_mm: float, now_mm: float) -> str:
    """Why a larger edge with nothing added."""
    return say(
        "{held_down} On {was_mm} this would need weight taken off, which "
        "is not how it was done; on {now_mm} with nothing added {least}.",
        held_down=_held_down(t),
        was_mm=fmt.with_unit(was_mm, "mm"),
        now_mm=fmt.with_unit(now_mm, "mm"),
        least=_least(t),
    ).strip()


def no_load(t: Told) -> str:
    """Why nothing could be found."""
    return say(
        "{held_down} No weight and no edge there is goes low enough; take "
        "a larger edge or weight off with a pulley, clearly easy, and write it "
        "down.",
        held_down=_held_down(t),
    ).strip()


def pull_below(share: float, short: str, last: dt.date) -> str:
    """Why a pull is held back."""
    pct = fmt.number(100 * share, 0)
    return say(
        "At most {pct}~% of the best pull of {last}, since {short}. All-out "
        "pulls come again after two weeks of regular sessions.",
        pct=pct,
        last=fmt.day(last),
        short=short,
    )


def pull_because(force_kg: float, chance: float, load: NextLoad) -> str:
    """What a pull's expected reading is for."""
    of = (
        say("the last of {sets} pulls", sets=load.sets)
        if load.sets and load.sets > 1
        else say("a pull")
    )
    return say(
        "From the pulls logged {of} should still be this much on the fingers "
        "{often}. It is a floor to notice, no goal: stop for the day when a pull "
        "falls below it.",
        of=of,
        often=often(chance),
    )


def held(sides: Sequence[str], why: Mapping[str, str], hand: str) -> str:
    """Why a hand is held."""
    both = say(" Both hands carry a two-hand hang.") if hand == "both" and len(sides) == 1 else ""
    return f"{fmt.sentence(why[sides[0]])}.{both}"


# --- pain, pauses, breaches -------------------------------------------------------------------


def pain_words(place: str, own: pd.DataFrame, limit: float) -> str:
    """Pain at a place with its highest level and day."""
    if own.empty:
        return say("pain is flagged: {place}", place=place)
    worst = own.loc[own["level"].idxmax()] if own["level"].notna().any() else own.iloc[-1]
    day = fmt.day(worst["date"].date())
    if pd.isna(worst["level"]) or worst["level"] == 0:
        return say("{place}: a sign was logged on {day}", place=place, day=day)
    level = say(
        "{place}, {level} of 10 on {day}", place=place, level=fmt.number(worst["level"]), day=day
    )
    if worst["level"] >= limit:
        level += say(" (limit {limit})", limit=fmt.number(limit))
    return level


def hold(held: Mapping[str, str]) -> str:
    """Stop what, and whom to see."""
    sides = sorted(held)
    what = (
        say("Stop all finger loading")
        if len(sides) > 1
        else say(
            "Stop loading the {sides} hand, two-hand hangs included", sides=fmt.SIDE_WORDS[sides[0]]
        )
    )
    return say(
        "{what}, and have it looked at by a physician or physiotherapist before "
        "the next finger session. Core, hips and other work can go on where they "
        "don't hurt.",
        what=what,
    )


def hold_because(held: Mapping[str, str]) -> str:
    """The pain that holds."""
    return say(
        "{fromkeys}. No load is proposed there.",
        fromkeys=fmt.sentence(fmt.listing(dict.fromkeys(held.values()))),
    )


def off(
    last: dt.date, until: dt.date, days: int, kinds: Sequence[str], show: bool
) -> tuple[str, str]:
    """Days without finger work: a sentence, and the reason within one."""
    short = say("no finger set is logged after {last}", last=fmt.day(last))
    if kinds:
        short += f" ({fmt.listing(fmt.KIND_WORDS[k] for k in kinds)})"
    return (
        say(
            "{short}, {days} days before {until}; after two weeks off at most 90~% "
            "of the last load.{mass}",
            short=short,
            days=days,
            until=fmt.day(until),
            mass=_mass(show),
        )
    ), short


def ill(days: int, show: bool) -> tuple[str, str]:
    """Days ill or injured."""
    short = say("{days} days ill or injured are logged in the last three weeks", days=days)
    return (
        say(
            "{short}; after two weeks ill at most 90~% of the last load.{mass}",
            short=short,
            mass=_mass(show),
        )
    ), short


def sore(first: dt.date, last: dt.date, show: bool) -> tuple[str, str]:
    """Pain below the limit for two weeks."""
    short = say("pain is logged from {first} to {last}", first=fmt.day(first), last=fmt.day(last))
    return (
        say(
            "{short}; after two weeks sore at most 90~% of the last load. Have it "
            "looked at by a physician or physiotherapist.{mass}",
            short=short,
            mass=_mass(show),
        )
    ), short


def broken(weeks: Iterable[int], stated: bool, show: bool) -> tuple[str, str]:
    """Limits not kept: the block's, or a beginner's where it states none."""
    whose = (
        say("limits of the block") if stated else say("a beginner's limits (the block states none)")
    )
    short = say("{whose} were not kept in {weeks}", whose=whose, weeks=fmt.weeks(weeks))
    return (
        say(
            "{short}; so at most 95~% of the last load, one with which the day's "
            "last set succeeds 19 times in 20, and no more finger days or minutes "
            "than planned.{mass}",
            short=short,
            mass=_mass(show),
        )
    ), short


def low(done: int, planned: int, show: bool) -> tuple[str, str]:
    """Few sessions done."""
    short = say("{done} of {planned} planned finger sessions were done", done=done, planned=planned)
    return (
        say(
            "{short}; so at most 95~% of the last load, one with which the day's "
            "last set succeeds 19 times in 20, until sessions come regularly.{mass}",
            short=short,
            mass=_mass(show),
        )
    ), short


def lowered(share: float, stopped: bool = False) -> str:
    """The line over a proposal held down; `stopped`: pain stops part of it."""
    if stopped and share < 1:
        pct = f"{fmt.number(100 * share, 0)}{fmt.NBSP}%"
        return say(
            "What pain does not stop starts below the last loads: at most {pct} of them.", pct=pct
        )
    if share >= 1:
        return say("No step up.")
    return say(
        "Start below the last loads: at most {share}~% of them.", share=fmt.number(100 * share, 0)
    )


def later(last: dt.date, *, brief: bool = False) -> str:
    """What holds when the start slips; `brief` where no loads stand beneath."""
    day = fmt.day(last + dt.timedelta(days=15))
    if brief:
        return say("a tenth less should the first finger session fall on {day} or later", day=day)
    return say(
        "Should the first finger session fall on {day} or later, take a tenth less than below.",
        day=day,
    )


def watch(place: str, limit: float) -> str:
    """Pain below the limit."""
    return say(
        "Ask about the {place} before each session; from {limit} of 10 on hold "
        "and see a physician or physiotherapist.",
        place=place,
        limit=fmt.number(limit),
    )


def watch_because(level: float, day: dt.date) -> str:
    """When it was felt."""
    found = (
        say("A sign")
        if pd.isna(level) or level == 0
        else say("{level} of 10", level=fmt.number(level))
    )
    return say(
        "{found} was logged on {day}; below the limit is not the same as safe.",
        found=found,
        day=fmt.day(day),
    )


# --- minors -----------------------------------------------------------------------------------


def minor_done(exercise: str, grip: str, hand: str, rows: pd.DataFrame, last: pd.DataFrame) -> str:
    """What a minor did, without a load or a next step."""
    days = rows["date"].nunique()
    n = int(rows["sets"].sum())
    edges = sorted(rows["edge_mm"].dropna().unique())
    on = say(" on {value}~mm", value=fmt.listing(fmt.number(e) for e in edges)) if edges else ""
    what = fmt.sentence(f"{fmt.EXERCISE_WORDS.get(exercise, exercise)}, {fmt.series(grip, hand)}")
    day = fmt.day(last["date"].max().date())
    return say(
        "{what}: {sets} on {days}{on} were done, last on {day}.",
        what=what,
        sets=fmt.count(n, "{n} set", "{n} sets"),
        days=fmt.count(days, "{n} day", "{n} days"),
        on=on,
        day=day,
    )


# --- tests ------------------------------------------------------------------------------------


def tests(key: SeriesKey, weeks: Sequence[int], days: int) -> str:
    """When to test."""
    what = f"{fmt.EXERCISE_WORDS[key.capacity]}, {fmt.series(key.grip, key.hand)}"
    each = (
        ""
        if days == 1
        else say(", on {days} at each end", days=fmt.count(days, "{n} day", "{n} days"))
    )
    return say(
        "Test {what} in {weeks}{each}, two days rested, one set to the limit each.",
        what=what,
        weeks=fmt.weeks(weeks),
        each=each,
    )


def tests_because(
    told: Mapping[int, float],
    days: int,
    smallest_pct: float,
    kg: float,
    *,
    show: bool,
    late: bool,
) -> str:
    """What such tests would tell, from this athlete's own log."""

    most = max(told)
    with_days = say(
        "In a block logged like this one with {test_days} at each end, ",
        test_days=fmt.count(days, "{n} test day", "{n} test days"),
    )
    if not show:
        # per cent beside the kilograms of the change would give the load, and body mass, away
        enough = told[days] <= smallest_pct
        out = with_days + (
            say("a rise as large as the smallest that matters could be told from none.")
            if enough
            else say("only a rise larger than the smallest that matters could be told from none.")
        )
    else:
        out = say(
            "{with_days}a rise of {size} could be told from none; the change that "
            "matters is {size_2}.",
            with_days=with_days,
            size=_size(told[days], kg),
            size_2=_size(smallest_pct, kg),
        )
        if told[days] > smallest_pct and most == days:
            out += say(" A smaller change stays open.")
        elif told[days] > smallest_pct:
            out += say(
                " Even {test_days} at each end would tell {size} only, so a smaller "
                "change stays open.",
                test_days=fmt.count(most, "{n} test day", "{n} test days"),
                size=_size(told[most], kg),
            )
    if late:
        out += say(" The first test waits for two weeks of building up.")
    return out


def _size(pct: float, kg: float) -> str:
    about = say(" (about {pct})", pct=fmt.mass(kg * pct / 100)) if math.isfinite(kg) else ""
    return f"{fmt.number(pct, 1)}{fmt.NBSP}%{about}"


# --- the new ----------------------------------------------------------------------------------


def ramp(edge_mm: float, unknown: bool) -> str:
    """Two weeks of easy hangs."""
    on = (
        say("on the largest edge ({edge_mm})", edge_mm=fmt.with_unit(edge_mm, "mm"))
        if math.isfinite(edge_mm)
        else say("on a large edge")
    )
    return say(
        "Weeks 1 and 2: easy timed hangs of 10~s {on}, five sets, two days a "
        "week, feet on something or weight taken off so that five more seconds "
        "would be easy.",
        on=on,
    )


def ramp_because(since: str, days: int) -> str:
    """Who counts as new."""
    begun = (
        say("finger training since {since}", since=since)
        if since
        else say("the start of finger training is not known")
    )
    return say(
        "New to finger training ({begun}, {finger_days} logged): two weeks of "
        "easy hangs first (common practice, no source).",
        begun=begun,
        finger_days=fmt.count(days, "{n} finger day", "{n} finger days"),
    )


# --- plan and week ----------------------------------------------------------------------------


def unnamed(grip: str, phases: Sequence[str]) -> str:
    """A grip done that the plan does not name."""
    return say(
        "No load is proposed for {grip} ({phases}).",
        grip=fmt.grip(grip),
        phases=fmt.listing(phases),
    )


def block_over_because(block: Block) -> str:
    """Where the block ended."""
    return say(
        "{name} ended on {end}; without --week the next block is proposed.",
        name=block.name,
        end=fmt.day(block.end),
    )


def week_sessions(days: int, phases: Sequence[Phase]) -> str:
    """The week's finger sessions."""
    names = fmt.listing(p.name for p in phases)
    sets = [
        say("{sets_per_session} sets", sets_per_session=p.sets_per_session)
        for p in phases
        if p.sets_per_session
    ]
    each = say(", {sets} each", sets=fmt.listing(sets)) if sets else ""
    return (
        fmt.sentence(fmt.count(days, "{n} finger session", "{n} finger sessions"))
        + f": {names}{each}."
    )


def week_because(asked: int, limits: Limits) -> str:
    """The plan and its limits."""
    rest = fmt.count(limits.rest_days_between_finger_days, "{n} rest day", "{n} rest days")
    over = (
        ""
        if asked <= limits.fingers_per_week
        else say(" The plan asks for {asked}; the limit counts.", asked=asked)
    )
    return say(
        "The plan; its limits are {fingers_per_week} finger days a week and at "
        "least {rest} between them.{over}",
        fingers_per_week=limits.fingers_per_week,
        rest=rest,
        over=over,
    )


def other_work(plan: Mapping[str, int]) -> str:
    """Other work of the week."""
    days = [
        say("{kind} on {days}", kind=fmt.KIND_WORDS[kind], days=fmt.count(n, "{n} day", "{n} days"))
        for kind, n in plan.items()
        if n
    ]
    return (
        say("Other work: {days}.", days=fmt.listing(days))
        if days
        else say("No other work is planned.")
    )


def choices(show: bool, light_kg: float, heavy_kg: float) -> tuple[str, ...]:
    """The limits of a proposal as the page prints them: own choices, no source."""
    hidden = (
        ()
        if show
        else (
            say(
                "Body mass is hidden: shares of a load are taken of the added weight "
                "plus {light} for steps up and plus {heavy} for lower starts, whoever it is.",
                light=fmt.mass(light_kg, 0),
                heavy=fmt.mass(heavy_kg, 0),
            ),
        )
    )
    return (
        say(
            "The day's last set should still succeed nine times in ten; 19 times in "
            "20 for beginners (under a year of finger training, or not recorded) and "
            "wherever the start is lowered."
        ),
        say(
            "Never more above the last load done than {most} or 3~%, whichever is "
            "less (one hand {one_hand} or 2~%), or one step of at most 3~mm to a "
            "smaller edge; never both. No load is worked out for edges below 10~mm.",
            most=fmt.mass(2.5),
            one_hand=fmt.mass(1.0),
        ),
        say(
            "After two weeks off, ill or sore at most 90 % of the last load; after a "
            "broken limit, or with fewer than three of four sessions done, at most "
            "95 %."
        ),
        say(
            "Pain at the block's limit or above: no load for that side, for both "
            "where the side is not known."
        ),
        *hidden,
    )
