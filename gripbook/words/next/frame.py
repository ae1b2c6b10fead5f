"""What stands around the loads: start and days, the rule for adding, rests, a late start."""

from __future__ import annotations

import datetime as dt
import math

from gripbook.reviews.proposal import Choices, NextBlock, NextLoad, Reason
from gripbook.words import fmt, mark, say
from gripbook.words.next.choices import SOURCES
from gripbook.words.next.lines import series_label
from gripbook.words.next.weights import (
    bare_weight,
    load_of,
    percent,
    phase_name,
    plain_weight,
    same_edge,
)
from gripbook.words.next.why import left_words

_HALF = 0.5
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


def rule(plan: NextBlock) -> str:
    """The rule for adding, from the choices and the plates there are."""
    loads = [x for x in plan.loads if x.kind == "start"]
    no_steps = plan.holds.returning or plan.holds.mass is not None
    if not loads or no_steps:
        return ""
    steps = {x.add_kg for x in loads if x.add_kg}
    added = fmt.one_of(f"+{plain_weight(kg, plan.units)}" for kg in sorted(steps))
    kinds = dict.fromkeys(left_words(x.exercise, plan.choices) for x in loads)
    left = fmt.one_of(kinds)
    if not steps:
        return say(
            "Your plates make no step small enough, so the weight stays until there are lighter "
            "ones. Missed twice, or half the sets at once: back one step."
        )
    return say(
        "All sets done with {left} left: {added}, at most one step a week. Missed twice, or half "
        "the sets at once: back one step.",
        left=left,
        added=added,
    )


def frame_sentences(plan: NextBlock) -> list[str]:
    """Start, weeks, sessions and days in a sentence, as a page has them."""
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
    return out + _moved(plan)


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
    out += _moved(plan)
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


def _moved(plan: NextBlock) -> list[str]:
    """Why the start is later than asked; nothing where it is not."""
    if not plan.moved:
        return []
    return [
        say(
            "The start was moved: {days} must pass after the last all-out day.",
            days=fmt.count(plan.choices.rest_days_before_test, "{n} rest day", "{n} rest days"),
        )
    ]


def _about(share: float) -> str:
    """A share of sets, which are whole: about half; about 60 %."""
    return say("about half") if share == _HALF else say("about {share}", share=percent(share))


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
        label = series_label(key, order)
        text = _instead(old, new, plan)
        out.append(f"{label} {text}" if label else text)
    return tuple(out)


def _same_series(a: NextLoad, b: NextLoad) -> bool:
    return (a.phase, a.exercise, a.grip, a.hand) == (b.phase, b.exercise, b.grip, b.hand)


def _instead(old: NextLoad, new: NextLoad, plan: NextBlock) -> str:
    sign = old.force_kg is None
    was = plain_weight(old.kg or 0.0, plan.units, sign=sign)
    if new.kg is None:
        return say("clearly lighter than {was}", was=was)
    if not same_edge(new.edge_mm, old.edge_mm):
        kg = plain_weight(new.kg, plan.units, sign=sign)
        edge = fmt.with_unit(new.edge_mm, "mm")
        return say("{kg} on {edge} instead of {was}", kg=kg, edge=edge, was=was)
    kg = bare_weight(new.kg, plan.units, sign=sign)
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
    why = (
        say("New to finger training")
        if plan.experience.months is not None
        else say("Nothing tells how long you have trained fingers")
    )
    return say(
        "{why}, so {weeks} of easy hangs come first: {sets} of {hang} {edge}, {days} a week, with "
        "feet on something or weight off so that {left} more would be easy. No all-out pulls and "
        "no tests in this block ({source}).",
        why=why,
        weeks=fmt.count(x.weeks, "{n} week", "{n} weeks"),
        sets=fmt.count(x.sets, "{n} set", "{n} sets"),
        hang=fmt.with_unit(x.hang_s, "s"),
        edge=edge,
        days=fmt.count(x.sessions, "{n} day", "{n} days"),
        left=fmt.with_unit(x.left_s, "s"),
        source=SOURCES[Choices.source_of("ramp_weeks")],
    )


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


def pull_gap_text(plan: NextBlock) -> str:
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
        share=percent(plan.choices.pull_gap_share),
    )
