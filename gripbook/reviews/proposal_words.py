"""The sentences of a proposal: one voice, each with its because."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from gripbook import fmt
from gripbook.logs import Block, Limits, Phase
from gripbook.reviews.plates import pieces_words
from gripbook.strength import SeriesKey
from gripbook.units import kg_to_lb

if TYPE_CHECKING:
    from gripbook.reviews.proposal import NextLoad

PHASE_NAMES = {"hang": "Timed hangs", "repeater": "Repeaters", "pull": "All-out pulls"}
RAMP_NAME = "Easy timed hangs"

NO_AGE = "Age is not recorded; this is for adults only."
MINOR = (
    "Under 18 (whoever turns 18 this year included): this page proposes nothing heavier, smaller, "
    "longer or all-out, no start load and no test day. What comes next is for coach, guardian and "
    "physician to decide."
)
MINOR_BECAUSE = (
    "Intensive finger strength training is not recommended for adolescents (Morrison and Schöffl "
    "2007, British Journal of Sports Medicine 41:852-861)."
)
NOTHING_DONE = (
    "No finished set of it with a known load is logged, so there is nothing to go by: begin with "
    "what is clearly easy and write it down."
)
NO_PULLS_YET = "No all-out pulls in a first block of finger training (common practice, no source)."
SMALL_EDGE = "Below 10 mm no load is worked out; stay at what was done, or take a larger edge."
PULL_HIDDEN = (
    "An all-out pull has no load to set. What it should still read is not told here, since body "
    "mass is hidden."
)
EASY_WEEK = "The plan has an easy week: no step up."
EASY_WEEK_SHORT = "the plan has an easy week"
BLOCK_OVER = "The block is over: no week of it is left to plan."
NO_FINGERS = "No finger session this week."
PLAN_SAYS = "The block file plans it so."
TEST_WEEK = "A test week: test first in the session, two days rested, one set to the limit."
TEST_WAITS = "The plan has tests this week; let them wait."
NEW_NO_TEST = (
    "New to finger training: no sets to the limit in the first block. Writing down what was left "
    "in reserve tells of strength too."
)
NEW_TESTS = "No test day in the coming block."
STOP = "Stop a set at once when a finger, hand or elbow hurts, and go lighter when a set feels off."
ASK_PAIN = (
    "Ask about pain in fingers, hands and elbows before the first session, and write it down."
)
PAIN_NOT_RECORDED = "Pain was not recorded, which is not the same as none."
STOP_BECAUSE = "The loads come from the log alone; it does not know how today feels."
UNNAMED_BECAUSE = (
    "The plan does not name this grip. Add it to the block file if it is to be trained."
)
LATER_BECAUSE = "Own choice, no source: after two weeks off the first loads stay a tenth lower."


def _mass(show: bool) -> str:
    return "" if show else " Counted so that body mass stays hidden, which makes it more careful."


# --- figures ----------------------------------------------------------------------------------


def weight(kg: float, units: str, *, sign: bool = True, digits: int = 1) -> str:
    """A weight as its athlete speaks of it: +18.75 kg; +2.5 lb (1.13 kg)."""
    in_kg = f"{fmt.number(kg, 2, sign=sign)}{fmt.NBSP}kg"
    if units != "lb":
        return in_kg
    return f"{fmt.number(kg_to_lb(kg), digits, sign=sign)}{fmt.NBSP}lb ({in_kg})"


def load_words(load: NextLoad) -> str:
    """What to put on, in words."""
    if load.kind == "hold":
        return "none: stop"
    if load.kind == "expect":
        if load.force_kg is None:
            return "all out, no load to set"
        reads = weight(load.force_kg, load.units, sign=False, digits=0)
        return f"all out, no load to set; the last pull should still be {reads} or more"
    if load.kind == "below":
        if load.force_kg is None:
            return "not all out: clearly below the last pulls"
        most = weight(load.force_kg, load.units, sign=False, digits=0)
        return f"not all out: at most {most} on the fingers"
    if load.kind == "open":
        return "no load proposed"
    if load.force_kg is not None:
        return weight(load.force_kg, load.units, sign=False) + _pieces(load)
    assert load.added_kg is not None
    if load.added_kg == 0:
        return "nothing added or taken off"
    if load.added_kg < 0:
        return f"{weight(-load.added_kg, load.units, sign=False)} taken off{_pieces(load)}"
    return weight(load.added_kg, load.units) + _pieces(load)


def _pieces(load: NextLoad) -> str:
    if len(load.pieces) < 2:
        return ""
    scale = kg_to_lb(1.0) if load.units == "lb" else 1.0
    pieces = [round(p * scale, 1) for p in load.pieces] if load.units == "lb" else load.pieces
    return f" as {pieces_words(pieces)}"


def load_line(load: NextLoad) -> str:
    """One line for the screen: what, on which edge, how much."""
    what = f"{load.phase}, {fmt.series(load.grip, load.hand, load.edge_mm)}"
    return f"{what}: {load_words(load)}."


def often(chance: float) -> str:
    """A chance in words."""
    return "nine times in ten" if chance < 0.93 else "19 times in 20"


_TENTHS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def in_ten(chance: float) -> str:
    """A chance in tenths: seven times in ten; never quite none or all."""
    tenths = min(9, max(1, round(10 * chance)))
    return f"{'once' if tenths == 1 else _TENTHS[tenths - 1] + ' times'} in ten"


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


def _last(t: Told) -> str:
    kg = 0.0 if math.isnan(t.last_kg) else t.last_kg
    if t.lifted:
        what = weight(kg, t.units, sign=False)
    elif kg == 0:
        what = "nothing added"
    elif kg < 0:
        what = f"{weight(-kg, t.units, sign=False)} taken off"
    else:
        what = weight(kg, t.units)
    return f"Last done: {what} on {fmt.day(t.last_day)}."


def _last_set(t: Told) -> str:
    return f"the last of {t.sets} sets" if t.sets and t.sets > 1 else "a set"


def _least(t: Told) -> str:
    return f"{_last_set(t)} should still succeed at least {often(t.chance)}"


def _held_down(t: Told) -> str:
    if not t.rein:
        return ""
    if t.share >= 1:
        return f" No step up, since {t.rein}."
    what = "of it" if t.lifted else "of that load, body mass and weight together"
    return f" At most {fmt.number(100 * t.share, 0)}{fmt.NBSP}% {what}, since {t.rein}."


def load_because(t: Told, kg: float, *, bound: bool) -> str:
    """Why this load; `bound`: another limit than strength holds it."""
    if not bound:
        out = f"{_last(t)} With this {_least(t)}; with the next heavier plates less often"
        if kg < (0.0 if math.isnan(t.last_kg) else t.last_kg) and t.again < t.chance:
            out += f", with the last load about {in_ten(t.again)}"
        return out + "."
    if t.rein:
        return f"{_last(t)}{_held_down(t)} With this {_least(t)}."
    most, pct = ("1", "2") if t.one_hand else ("2.5", "3")
    return (
        f"{_last(t)} No step above it of more than {most}{fmt.NBSP}kg or {pct}{fmt.NBSP}% of the "
        f"load, whichever is less; with this {_least(t)}."
    )


def unbounded_because(t: Told, *, edges: tuple[float, float] | None, stepped: bool) -> str:
    """Why this load, where every set logged was finished; `edges`: the edge before and now."""
    known = f"{_last(t)} Every set was finished, so the log has no upper end"
    if edges is not None:
        was, now = edges
        step = f"{fmt.number(now)} for {fmt.with_unit(was, 'mm')}"
        if stepped:
            return f"{known}: one step of the edge ({step}), with no more weight."
        return f"{known}.{_held_down(t)} Weight was never taken off, so a larger edge: {step}."
    if stepped:
        return f"{known}: one small step."
    if t.rein:
        return f"{known}.{_held_down(t)}"
    return f"{known}, but not a whole session was done with it, or no plates make a small step."


def edge_because(t: Told, was_mm: float, now_mm: float) -> str:
    """Why a smaller edge, with the same weight."""
    return (
        f"{_last(t)} The edge got smaller in this block, so the step is the edge: "
        f"{fmt.number(now_mm)} for {fmt.with_unit(was_mm, 'mm')}, with no more weight; {_least(t)}."
    )


def larger_because(t: Told, was_mm: float, now_mm: float) -> str:
    """Why a larger edge with nothing added."""
    return (
        f"{_last(t)}{_held_down(t)} On {fmt.with_unit(was_mm, 'mm')} this would need weight taken "
        f"off, which is not how it was done; on {fmt.with_unit(now_mm, 'mm')} with nothing added "
        f"{_least(t)}."
    )


def no_load(t: Told) -> str:
    """Why nothing could be found."""
    return (
        f"{_last(t)}{_held_down(t)} No weight and no edge there is goes low enough; take "
        "a larger edge or weight off with a pulley, clearly easy, and write it down."
    )


def pull_below(share: float, short: str, last: dt.date) -> str:
    """Why a pull is held back."""
    pct = fmt.number(100 * share, 0)
    return (
        f"At most {pct}{fmt.NBSP}% of the best pull of {fmt.day(last)}, since {short}. All-out "
        "pulls come again after two weeks of regular sessions."
    )


def pull_because(force_kg: float, chance: float, load: NextLoad) -> str:
    """What a pull's expected reading is for."""
    of = f"the last of {load.sets} pulls" if load.sets and load.sets > 1 else "a pull"
    return (
        f"From the pulls logged {of} should still be this much on the fingers {often(chance)}. It "
        "is a floor to notice, no goal: stop for the day when a pull falls below it."
    )


def held(sides: Sequence[str], why: Mapping[str, str], hand: str) -> str:
    """Why a hand is held."""
    both = " Both hands carry a two-hand hang." if hand == "both" and len(sides) == 1 else ""
    return f"{fmt.sentence(why[sides[0]])}.{both}"


# --- pain, pauses, breaches -------------------------------------------------------------------


def pain_words(place: str, own: pd.DataFrame, limit: float) -> str:
    """Pain at a place with its highest level and day."""
    if own.empty:
        return f"pain is flagged: {place}"
    worst = own.loc[own["level"].idxmax()] if own["level"].notna().any() else own.iloc[-1]
    day = fmt.day(worst["date"].date())
    if pd.isna(worst["level"]) or worst["level"] == 0:
        return f"{place}: a sign was logged on {day}"
    level = f"{place}, {fmt.number(worst['level'])} of 10 on {day}"
    if worst["level"] >= limit:
        level += f" (limit {fmt.number(limit)})"
    return level


def hold(held: Mapping[str, str]) -> str:
    """Stop what, and whom to see."""
    sides = sorted(held)
    what = (
        "Stop all finger loading"
        if len(sides) > 1
        else f"Stop loading the {sides[0]} hand, two-hand hangs included"
    )
    return (
        f"{what}, and have it looked at by a physician or physiotherapist before the next "
        "finger session. Core, hips and other work can go on where they don't hurt."
    )


def hold_because(held: Mapping[str, str]) -> str:
    """The pain that holds."""
    return f"{fmt.sentence(fmt.listing(dict.fromkeys(held.values())))}. No load is proposed there."


def off(
    last: dt.date, until: dt.date, days: int, kinds: Sequence[str], show: bool
) -> tuple[str, str]:
    """Days without finger work: a sentence, and the reason within one."""
    short = f"no finger set is logged after {fmt.day(last)}"
    if kinds:
        short += f" ({fmt.listing(kinds)})"
    return (
        f"{short}, {days} days before {fmt.day(until)}; after two weeks off at most "
        f"90{fmt.NBSP}% of the last load.{_mass(show)}"
    ), short


def ill(days: int, show: bool) -> tuple[str, str]:
    """Days ill or injured."""
    short = f"{days} days ill or injured are logged in the last three weeks"
    return (
        f"{short}; after two weeks ill at most 90{fmt.NBSP}% of the last load.{_mass(show)}"
    ), short


def sore(first: dt.date, last: dt.date, show: bool) -> tuple[str, str]:
    """Pain below the limit for two weeks."""
    short = f"pain is logged from {fmt.day(first)} to {fmt.day(last)}"
    return (
        f"{short}; after two weeks sore at most 90{fmt.NBSP}% of the last load. Have it looked at "
        f"by a physician or physiotherapist.{_mass(show)}"
    ), short


def broken(weeks: Iterable[int], stated: bool, show: bool) -> tuple[str, str]:
    """Limits not kept: the block's, or a beginner's where it states none."""
    whose = "limits of the block" if stated else "a beginner's limits (the block states none)"
    short = f"{whose} were not kept in {fmt.weeks(weeks)}"
    return (
        f"{short}; so at most 95{fmt.NBSP}% of the last load, one with which the day's last set "
        f"succeeds 19 times in 20, and no more finger days or minutes than planned.{_mass(show)}"
    ), short


def low(done: int, planned: int, show: bool) -> tuple[str, str]:
    """Few sessions done."""
    short = f"{done} of {planned} planned finger sessions were done"
    return (
        f"{short}; so at most 95{fmt.NBSP}% of the last load, one with which the day's last set "
        f"succeeds 19 times in 20, until sessions come regularly.{_mass(show)}"
    ), short


def lowered(share: float, stopped: bool = False) -> str:
    """The line over a proposal held down; `stopped`: pain stops part of it."""
    if stopped and share < 1:
        pct = f"{fmt.number(100 * share, 0)}{fmt.NBSP}%"
        return f"What pain does not stop starts below the last loads: at most {pct} of them."
    if share >= 1:
        return "No step up."
    return f"Start below the last loads: at most {fmt.number(100 * share, 0)}{fmt.NBSP}% of them."


def later(last: dt.date) -> str:
    """What holds when the start slips."""
    day = fmt.day(last + dt.timedelta(days=15))
    return f"Should the first finger session fall on {day} or later, take a tenth less than below."


def watch(place: str, limit: float) -> str:
    """Pain below the limit."""
    return (
        f"Ask about the {place} before each session; from {fmt.number(limit)} of 10 on hold and "
        "see a physician or physiotherapist."
    )


def watch_because(level: float, day: dt.date) -> str:
    """When it was felt."""
    found = "A sign" if pd.isna(level) or level == 0 else f"{fmt.number(level)} of 10"
    return f"{found} was logged on {fmt.day(day)}; below the limit is not the same as safe."


# --- minors -----------------------------------------------------------------------------------


def minor_done(exercise: str, grip: str, hand: str, rows: pd.DataFrame, last: pd.DataFrame) -> str:
    """What a minor did, without a load or a next step."""
    days = rows["date"].nunique()
    n = int(rows["sets"].sum())
    edges = sorted(rows["edge_mm"].dropna().unique())
    on = f" on {fmt.listing(fmt.number(e) for e in edges)}{fmt.NBSP}mm" if edges else ""
    what = fmt.sentence(f"{fmt.EXERCISE_WORDS.get(exercise, exercise)}, {fmt.series(grip, hand)}")
    day = fmt.day(last["date"].max().date())
    return (
        f"{what}: {fmt.count(n, 'set')} on {fmt.count(days, 'day')}{on} were done, last on {day}."
    )


# --- tests ------------------------------------------------------------------------------------


def tests(key: SeriesKey, weeks: Sequence[int], days: int) -> str:
    """When to test."""
    what = f"{fmt.EXERCISE_WORDS[key.capacity]}, {fmt.series(key.grip, key.hand)}"
    each = "" if days == 1 else f", on {fmt.count(days, 'day')} at each end"
    return f"Test {what} in {fmt.weeks(weeks)}{each}, two days rested, one set to the limit each."


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
    with_days = f"In a block logged like this one with {fmt.count(days, 'test day')} at each end, "
    if not show:
        # per cent beside the kilograms of the change would give the load, and body mass, away
        enough = told[days] <= smallest_pct
        out = with_days + (
            "a rise as large as the smallest that matters could be told from none."
            if enough
            else "only a rise larger than the smallest that matters could be told from none."
        )
    else:
        out = (
            f"{with_days}a rise of {_size(told[days], kg)} could be told from none; the change "
            f"that matters is {_size(smallest_pct, kg)}."
        )
        if told[days] > smallest_pct and most == days:
            out += " A smaller change stays open."
        elif told[days] > smallest_pct:
            out += (
                f" Even {fmt.count(most, 'test day')} at each end would tell "
                f"{_size(told[most], kg)} only, so a smaller change stays open."
            )
    if late:
        out += " The first test waits for two weeks of building up."
    return out


def _size(pct: float, kg: float) -> str:
    about = f" (about {fmt.with_unit(kg * pct / 100, 'kg', 1)})" if math.isfinite(kg) else ""
    return f"{fmt.number(pct, 1)}{fmt.NBSP}%{about}"


# --- the new ----------------------------------------------------------------------------------


def ramp(edge_mm: float, unknown: bool) -> str:
    """Two weeks of easy hangs."""
    on = (
        f"on the largest edge ({fmt.with_unit(edge_mm, 'mm')})"
        if math.isfinite(edge_mm)
        else "on a large edge"
    )
    return (
        f"Weeks 1 and 2: easy timed hangs of 10{fmt.NBSP}s {on}, five sets, two days a week, feet "
        f"on something or weight taken off so that five more seconds would be easy."
    )


def ramp_because(since: str, days: int) -> str:
    """Who counts as new."""
    begun = (
        f"finger training since {since}" if since else "the start of finger training is not known"
    )
    return (
        f"New to finger training ({begun}, {fmt.count(days, 'finger day')} logged): two weeks of "
        "easy hangs first (common practice, no source)."
    )


# --- plan and week ----------------------------------------------------------------------------


def unnamed(grip: str, phases: Sequence[str]) -> str:
    """A grip done that the plan does not name."""
    return f"No load is proposed for {fmt.grip(grip)} ({fmt.listing(phases)})."


def block_over_because(block: Block) -> str:
    """Where the block ended."""
    return f"{block.name} ended on {fmt.day(block.end)}; without --week the next block is proposed."


def week_sessions(days: int, phases: Sequence[Phase]) -> str:
    """The week's finger sessions."""
    names = fmt.listing(p.name for p in phases)
    sets = [f"{p.sets_per_session} sets" for p in phases if p.sets_per_session]
    each = f", {fmt.listing(sets)} each" if sets else ""
    return f"{fmt.sentence(fmt.count(days, 'finger session'))}: {names}{each}."


def week_because(asked: int, limits: Limits) -> str:
    """The plan and its limits."""
    rest = fmt.count(limits.rest_days_between_finger_days, "rest day")
    over = (
        "" if asked <= limits.fingers_per_week else f" The plan asks for {asked}; the limit counts."
    )
    return (
        f"The plan; its limits are {limits.fingers_per_week} finger days a week and at least "
        f"{rest} between them.{over}"
    )


def other_work(plan: Mapping[str, int]) -> str:
    """Other work of the week."""
    days = [f"{kind} on {fmt.count(n, 'day')}" for kind, n in plan.items() if n]
    return f"Other work: {fmt.listing(days)}." if days else "No other work is planned."


def choices(show: bool) -> tuple[str, ...]:
    """The limits of a proposal as the page prints them: own choices, no source."""
    hidden = (
        ()
        if show
        else (
            "Body mass is hidden: shares of a load are taken of the added weight plus "
            "40 kg for steps up and plus 110 kg for lower starts, whoever it is.",
        )
    )
    return (
        "The day's last set should still succeed nine times in ten; 19 times in 20 for beginners "
        "(under a year of finger training, or not recorded) and wherever the start is lowered.",
        "Never more above the last load done than 2.5 kg or 3 %, whichever is less (one hand 1 kg "
        "or 2 %), or one step of at most 3 mm to a smaller edge; never both. No load is worked out "
        "for edges below 10 mm.",
        "After two weeks off, ill or sore at most 90 % of the last load; after a broken limit, or "
        "with fewer than three of four sessions done, at most 95 %.",
        "Pain at the block's limit or above: no load for that side, for both where the side is not "
        "known.",
        *hidden,
    )
