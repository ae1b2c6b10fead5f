"""When to test, how to come up to a test, and what such tests can show."""

from __future__ import annotations

import math
from collections.abc import Sequence

from gripbook.reviews.proposal import NextBlock, NextRow, NextTests
from gripbook.reviews.proposal.loads import BUILD_UP_WEEKS
from gripbook.reviews.proposal.plan import RAMP
from gripbook.words import fmt, say
from gripbook.words.next.weights import bare_weight, load_of, phase_name, plain_weight, reading

#: A rise over a block up to so much per cent is one that somebody may make (own choice, no source).
_LIKELY_RISE_PCT = 15.0


def tests_text(plan: NextBlock) -> str:
    """When to test, and what such tests can show."""
    t = plan.tests
    if t is None:
        return ""
    what = f"{_work_name(t.series.capacity, plan)}, {what_is_tested(t.series.grip, t.hands)}"
    days = list(dict.fromkeys(row.day for row in plan.rows if row.test))
    if not days:
        return ""
    out = say(
        "Tests: {what} on {days}, {rest} before each.",
        what=what,
        days=fmt.listing(fmt.day(d, year=False) for d in days),
        rest=fmt.count(plan.choices.rest_days_before_test, "{n} rest day", "{n} rest days"),
    )
    return " ".join(filter(None, (out, shown_by_tests(t), _late(t))))


def no_tests_text(plan: NextBlock) -> str:
    """Why a beginner has no tests, and what shows strength instead; "" for all others."""
    if plan.week or not plan.experience.beginner or plan.experience.new:
        return ""
    return say(
        "No tests are planned in the first year of finger training. Note what was left after your "
        "sets; that shows strength too."
    )


def shown_by_tests(t: NextTests) -> str:
    """What such tests can show, where somebody may rise so much; else what to do."""
    rise = t.rise_pct.get(t.days_each_end)
    if rise is None:
        return ""
    if rise > _LIKELY_RISE_PCT:
        two = t.rise_pct.get(2, math.inf)
        return (
            say(
                "Tests alone would show only a rise that is unlikely. Note what is left after each "
                "set, and test on two days at each end: then from about {rise}.",
                rise=f"{fmt.number(two, 0)}{fmt.NBSP}%",
            )
            if two <= _LIKELY_RISE_PCT
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


def what_is_tested(grip: str, hands: Sequence[str], edge_mm: float = math.nan) -> str:
    """What a test is of: half crimp, both hands, 20 mm; half crimp, each hand."""
    if len(hands) == 1:
        return fmt.series(grip, hands[0], edge_mm)
    parts = [fmt.grip(grip), say("each hand")]
    parts += [fmt.with_unit(edge_mm, "mm")] if math.isfinite(edge_mm) else []
    return ", ".join(parts)


def _work_name(exercise: str, plan: NextBlock) -> str:
    """An exercise by the name of its phase, where it has one alone: One-arm lifts; timed hangs."""
    names = {x.phase for x in plan.loads if x.exercise == exercise}
    if len(names) == 1 and (name := names.pop()) and name != RAMP:
        return phase_name(name)
    return fmt.EXERCISE_WORDS[exercise]


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
    aim = plain_weight(row.aim_kg, plan.units, sign=not gauge)
    warm = [bare_weight(kg, plan.units, sign=not gauge) for kg in row.warm_up_kg]
    if row.exercise == "repeater" or row.hang_s is None:
        until = say("until a hold is not finished; note how many were")
    else:
        until = say("until your fingers open; note the seconds")
    if not warm:
        return say("Warm up, rest 3 min, then about {aim} {until}.", aim=aim, until=until)
    return say(
        "Warm up at {warm} {unit}, rest 3 min, then about {aim} {until}.",
        warm=fmt.listing(warm),
        unit=plan.units,
        aim=aim,
        until=until,
    )
