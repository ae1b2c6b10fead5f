"""Why each load is what it is, and what lowers the starts."""

from __future__ import annotations

import datetime as dt
import math

from gripbook.reviews.proposal import Choices, NextBlock, NextLoad, Reason, Reduction
from gripbook.words import fmt, say
from gripbook.words.next.holds import PACE, hold_text, since_cleared
from gripbook.words.next.weights import (
    last_text,
    load_text,
    often,
    percent,
    phase_name,
    plain_weight,
    set_weight,
)


def why_lines(plan: NextBlock) -> tuple[tuple[str, str], ...]:
    """Each load with its reason: what it is, and why."""
    return tuple((load_line(x, plan), reason_text(x, plan)) for x in plan.loads)


def load_line(load: NextLoad, plan: NextBlock) -> str:
    """One line: what, on which edge, how much."""
    what = f"{phase_name(load.phase)}, {fmt.series(load.grip, load.hand, load.edge_mm)}"
    return fmt.headed(what, load_text(load, plan))


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
                keep=percent(keep * load.share),
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
                most=percent(c.expect_pct / 100),
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
                now=set_weight(load.kg or 0.0, plan.units, lifted=False),
            )
        case Reason.BLOCK_START:
            return say(
                "A new block starts no heavier than {last}, with which all sets were finished. The "
                "rule for adding takes it from there.",
                last=last,
            )
        case Reason.ONE_STEP:
            return say("Every set was finished, so one small step above {last}.", last=last)
        case Reason.FELT:
            return say("No step while it hurts: {last} again.", last=last)
        case Reason.AGAIN:
            if load.last is not None and load.last.mastered:
                return say(
                    "No step up: less than {left} was left with {last}.",
                    left=left_words(load.exercise, c),
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
                kg=set_weight(load.added_kg or 0.0, plan.units, lifted=False)
                if load.added_kg
                else say("nothing added"),
            )
        case Reason.RETURN if load.last is None:
            return say("The way back: nothing all-out. {pace}", pace=say(PACE))
        case Reason.RETURN if since_cleared(load, plan):
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
        case Reason.STOPPED:
            assert load.last is not None
            return say(
                "Left out: pain stopped a set of this grip on {day}, and none was done since. Ask "
                "whoever cleared you before you load it.",
                day=fmt.day(load.last.day, year=False),
            )
        case Reason.NO_DATA:
            return say(
                "No finished set with a known load is logged. Begin clearly easy and write it down."
            )
        case Reason.NOT_WEIGHED:
            return say(
                "Without a weigh-in nobody knows what hung on the fingers. Weigh yourself once and "
                "log it; until then begin clearly easy."
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
            return say("Easy hangs come first.")
        case _:
            return _named(load, plan)


def _returns(load: NextLoad) -> bool:
    return any(x.reason is Reason.RETURN for x in load.limits)


def _way_back(load: NextLoad, plan: NextBlock) -> str:
    return say(
        "The way back: {share} of the last painless load ({last}){mass}.",
        share=percent(plan.choices.return_share),
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
        "At most {share} of {last}{mass}: {why}.",
        share=percent(share),
        last=last,
        mass=mass,
        why=why,
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
        kg=plain_weight(kg, plan.units),
        pct=percent(pct / 100),
    )


def left_words(exercise: str, c: Choices) -> str:
    """What must be left after all sets before a load goes up: one hold; 3 s."""
    if exercise == "repeater":
        return fmt.count(1, "one hold", "{n} holds")
    return fmt.with_unit(c.add_when_left_s, "s")


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
            days = {
                "since": fmt.day(x.since, year=False),
                "until": fmt.day(x.until, year=False),
            }
            if plan.holds.returning:
                return say(
                    "pain is logged from {since} to {until} (tell whoever cleared you)", **days
                )
            return say(
                "pain is logged from {since} to {until}; have it looked at by a physician or "
                "physiotherapist",
                **days,
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


def lowered_sentences(plan: NextBlock) -> list[str]:
    """What lowers the starts: the reasons that bind, not those that ask for less."""
    out: list[str] = []
    starts = [x for x in plan.loads if x.kind == "start"]
    if starts and all(_returns(x) for x in starts):
        return out  # the way back asks for less
    if plan.held and all(x.kind == "hold" for x in plan.loads):
        return out  # what holds leaves nothing to lower
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
                    share=percent(x.share),
                )
            )
        else:
            out.append(say("{why}: start below the last loads.", why=why))
    return out
