"""Tests and strength in words: verdicts, ranges, tests, hands and grips."""

from __future__ import annotations

import math
from collections.abc import Iterable

from gripbook.reviews.change_facts import (
    Change,
    ChangeVerdict,
    Deciding,
    Outside,
    OutsideReason,
    Pair,
    PathKind,
    SeriesChange,
    Sharper,
    SharperBy,
    TestDay,
    Training,
    Weakest,
)
from gripbook.strength import Diagnostics, Estimate
from gripbook.strength.evidence import EDGES_MM
from gripbook.strength.reasons import LeftOut, LeftOutReason, NoChange, SeriesReason
from gripbook.words import Table, fmt, mark, say, say_count, series

_VERDICTS = Table(
    {
        ChangeVerdict.STRONGER: mark("stronger"),
        ChangeVerdict.PROBABLY_STRONGER: mark("probably stronger, {tenths} in 10"),
        ChangeVerdict.NO_CHANGE: mark("no change worth naming"),
        ChangeVerdict.PROBABLY_WEAKER: mark("probably weaker, {tenths} in 10"),
        ChangeVerdict.WEAKER: mark("weaker"),
        ChangeVerdict.CANT_TELL: mark("can't tell"),
        ChangeVerdict.AT_LEAST: mark("limit never reached"),
        ChangeVerdict.NOT_MEASURED: mark("not measured"),
    }
)

#: Titles of the section's folds and tables, and what stands where one is empty.
TITLES = Table(
    {
        "end_against_start": mark("end against start"),
        "ends": mark("Load at the block's first and last day, and the change with its 90~% range"),
        "ends_added": mark("Change of the weight that can be added, with its 90~% range"),
        "rows_of_series": mark("Sets that each series' estimate rests on"),
        "paths_of_other_grips": mark("paths of other grips"),
        "hands_and_grips_compared": mark("hands and grips compared"),
        "every_set": mark("Every set"),
        "every_series": mark("Every series"),
        "first_test": mark("first test"),
        "tests": mark("First and last test of each series"),
        "no_strength": mark("No set with a known load shows strength."),
        "last_test": mark("last test"),
        "the_only_test": mark("the only test"),
    }
)


def verdict(kind: ChangeVerdict, tenths: int = 0, most: int = 0) -> str:
    """
    A verdict in words: stronger; probably stronger, about 9 in 10.

    Parameters
    ----------
    tenths : of a probable verdict, its chance.
    most : the highest chance, where several series share the verdict: 8 to 9 in 10.
    """
    chances = (
        say("{least} to {most}", least=tenths, most=most)
        if most > tenths
        else say("about {tenths}", tenths=tenths)
    )
    return _VERDICTS[kind].format(tenths=chances)


# --- one series -------------------------------------------------------------------------------


def reasons(s: SeriesChange) -> str:
    """Why a series has no measured change: no hangs after week 2."""
    parts = [_reason(s.capacity, r) for r in s.reasons if r.why is not NoChange.ALL_FINISHED]
    return fmt.clauses(parts or [_reason(s.capacity, r) for r in s.reasons])


def _reason(capacity: str, reason: SeriesReason) -> str:
    work = fmt.WORK_WORDS[capacity]
    if reason.why is NoChange.NO_START:
        return say("no {work} before week {week}", work=work, week=reason.week)
    if reason.why is NoChange.NO_END:
        return say("no {work} after week {week}", work=work, week=reason.week)
    if reason.why is NoChange.NOT_IN_BLOCK:
        return say("no {work} in the block", work=work)
    if reason.why is NoChange.HEALTH_FIRST:
        return say("a physician should look at food and energy first")
    if reason.why is NoChange.ALL_FAILED:
        return say("every set failed at once")
    return say("every set was finished")


def without_end(change: Change) -> str:
    """The series without a measured change in one or two short sentences; "" for none."""
    ends = [s for s in change.series if s.verdict is ChangeVerdict.NOT_MEASURED and not s.withheld]
    limits = [s for s in change.series if s.verdict is ChangeVerdict.AT_LEAST]
    parts = []
    if ends:
        parts.append(
            say(
                "Not done at both ends of the block: {series}.",
                series=_in_short(ends, change),
            )
        )
    if limits:
        parts.append(
            say(
                "Every set was finished, so no limit is known: {series}.",
                series=_in_short(limits, change),
            )
        )
    return " ".join(parts)


def _in_short(some: list[SeriesChange], change: Change) -> str:
    """Some series by their work alone where no other series of that work is left."""
    work = dict.fromkeys(s.capacity for s in some)
    if any(s.capacity in work and s not in some for s in change.series):
        return series.in_a_row(some)
    return fmt.listing(fmt.EXERCISE_WORDS[c] for c in work)


def went(s: SeriesChange) -> str:
    """From where to where, and the range: from 97 to 108 kg, +5 to +17 kg (90 % range)."""
    width = s.high_kg - s.low_kg
    by = say("{range} (90~% range)", range=series.range_kg(s.low_kg, s.high_kg))
    if not math.isfinite(s.start_kg):
        return by
    places = series.digits(s.start_kg, width)
    return say(
        "from {start} to {end}, {by}",
        start=fmt.mass_number(s.start_kg, places),
        end=fmt.mass(s.end_kg, places),
        by=by,
    )


def sentence(s: SeriesChange) -> str:
    """A series and its change, whole: Timed hang, 10 s, half crimp ...: stronger, from ... ."""
    return f"{fmt.headed(fmt.sentence(series.name(s)), summary(s))}."


def summary(s: SeriesChange) -> str:
    """A series' change without its name: stronger, from 97 to 108 kg, ... ."""
    if s.verdict is ChangeVerdict.AT_LEAST:
        return say(
            "you never reached your limit, so we can't see a change{floors}", floors=_floors(s)
        )
    if s.withheld:
        return say("not told: {reasons}", reasons=reasons(s))
    if s.verdict is ChangeVerdict.NOT_MEASURED:
        return say("not measured: {reasons}", reasons=reasons(s))
    return f"{verdict(s.verdict, s.tenths)}, {went(s)}"


def _floors(s: SeriesChange) -> str:
    ends = ((s.start_kg, say("near the start")), (s.end_kg, say("near the end")))
    parts = [
        say("at least {load} {when}", load=fmt.mass(kg, 0), when=when)
        for kg, when in ends
        if math.isfinite(kg)
    ]
    return f" ({fmt.listing(parts)})" if parts else ""


# --- tests ------------------------------------------------------------------------------------


def test_words(test: TestDay) -> str:
    """The best of a test day: +23.75 kg × 10 s."""
    return series.set_words(test.best)


def test_detail(test: TestDay) -> str:
    """What stands under it: 95.1 kg, 3 s left; then +31 kg failed after 8 s."""
    best = test.best
    parts = [series.ended(best)]
    if math.isfinite(best.load_kg) and math.isfinite(best.added_kg):
        parts.insert(0, fmt.mass(best.load_kg))
    if test.failed is not None:
        failed = {"weight": series.weight(test.failed), "left": series.left(test.failed)}
        parts.append(say("{weight} {left}", **failed))
    return ", ".join(filter(None, parts))


test_words.__test__ = test_detail.__test__ = False  # type: ignore[attr-defined]  # no tests


#: Where no change is measured, so many series say what their training loads did.
TRAINED_SHOWN = 1


def answer(change: Change) -> str:
    """
    The section's answer: what the last test of the headline showed, and why the estimate differs.

    "" where the headline has no test, or where no change is told.
    """
    h = change.headline
    if h is None or h.withheld:
        return ""
    tested = any(s.first_test is not None for s in change.series)
    parts = [_last_test(h, others_tested=tested), *(_outside(h, x) for x in h.outside if x.at_end)]
    parts += [_hangs_on([h], x) for x in h.hangs_on[:1]]
    if not any(s.measured for s in change.series):
        trained = [(s, s.training) for s in change.series if s.training is not None]
        parts += [training(s, t) for s, t in trained[:TRAINED_SHOWN]]
    elif not h.measured and h.training is not None:
        parts.append(training(h, h.training))
    # one comparison here, the hand's before the grip's; the others stand in the fold
    text = sorted(change.weakest, key=lambda w: w.of != "hand")
    parts += [weakest(w) for w in text[:1]]
    return " ".join(filter(None, parts))


def _last_test(s: SeriesChange, *, others_tested: bool) -> str:
    first, last = s.first_test, s.last_test
    if first is None or last is None:
        if others_tested:
            return say("No set of {series} is marked as a test.", series=series.in_a_row([s]))
        return say("No set is marked as a test.")
    done = series.set_words(last.best)
    when = fmt.day(last.best.day.date(), year=False)
    if last is first:
        return say("You tested once, on {day}: {set}.", day=when, set=done)
    start = fmt.day(first.best.day.date(), year=False)
    if not s.tests_alike:
        two = {
            "start": start,
            "before": series.set_words(first.best),
            "day": when,
            "set": done,
        }
        return (
            say(
                "First test, {start}: {before}. Last test, {day}: {set}; edge, board or length "
                "differ, which the range allows for.",
                **two,
            )
            if s.measured
            else say(
                "First test, {start}: {before}. Last test, {day}: {set}; edge, board or length "
                "differ, so the two don't compare.",
                **two,
            )
        )
    # what a reader can work out from the weights beside each other
    by = last.best.added_kg - first.best.added_kg
    if math.isnan(by):
        by = last.best.shown_kg - first.best.shown_kg
    if abs(fmt.own_mass(by)) < 0.05:
        return say(
            "On your last test, {day}, you did {set}, as on {start}.",
            day=when,
            set=done,
            start=start,
        )
    more = {"day": when, "set": done, "by": fmt.mass(abs(by), 2), "start": start}
    return (
        say("On your last test, {day}, you did {set}, {by} more than on {start}.", **more)
        if by > 0
        else say("On your last test, {day}, you did {set}, {by} less than on {start}.", **more)
    )


def _outside(s: SeriesChange, x: Outside) -> str:
    """Why an estimate lies outside what a reader sees in the test."""
    estimate = series.load(x.estimate_kg, s.high_kg - s.low_kg)
    because = {
        OutsideReason.RESERVE_GUESS: say(
            "it rests on your guess of {left}",
            left=series.left_of(x.left, holds=s.capacity == "repeater"),
        ),
        OutsideReason.FATIGUE: say_count(
            x.sets_before,
            "it is of a day's first set, and {n} set came before",
            "it is of a day's first set, and {n} sets came before",
            n=fmt.in_words(x.sets_before),
        ),
        OutsideReason.EDGE: say(
            "it is for {edge}, and the test was on {other}",
            edge=fmt.with_unit(s.edge_mm, "mm"),
            other=fmt.with_unit(x.edge_mm, "mm"),
        ),
        OutsideReason.LENGTH: say("it is for another time than the test's"),
        OutsideReason.GOOD_DAY: say("your other sets say that this was a good day"),
        OutsideReason.WEAK_DAY: say("your other sets say that this was a weak day"),
    }[x.reason]
    words = {"estimate": estimate, "because": because}
    if x.estimate_kg > x.seen_kg:
        return say("The estimate is higher, {estimate}, because {because}.", **words)
    return say("The estimate is lower, {estimate}, because {because}.", **words)


def training(s: SeriesChange, t: Training) -> str:
    """Training loads where no end test tells: how much they rose and how many sets were done."""
    if abs(t.rise_kg) < 0.05:
        moved = say("stayed the same")
    else:
        by = fmt.mass(abs(t.rise_kg), 2)
        moved = say("rose by {by}", by=by) if t.rise_kg > 0 else say("fell by {by}", by=by)
    values = {
        "work": series.in_a_row([s]),
        "moved": moved,
        "first": fmt.day(t.first.day.date(), year=False),
        "last": fmt.day(t.last.day.date(), year=False),
        "finished": t.finished,
        "sets": t.sets,
    }
    if t.finished == t.sets:
        return say(
            "Training loads in {work} {moved} from {first} to {last}, and you finished all {sets} "
            "sets.",
            **values,
        )
    return say(
        "Training loads in {work} {moved} from {first} to {last}; you finished {finished} of "
        "{sets} sets.",
        **values,
    )


def training_in_short(t: Training) -> str:
    """How much training loads rose, and how many of their sets were finished, for a first look."""
    by = fmt.mass(abs(t.rise_kg), 2)
    values = {"by": by, "finished": t.finished, "sets": t.sets}
    if abs(t.rise_kg) < 0.05:
        return say("Training loads stayed the same; {finished} of {sets} sets finished.", **values)
    if t.rise_kg < 0:
        return say("Training loads fell by {by}; {finished} of {sets} sets finished.", **values)
    return say("Training loads rose by {by}; {finished} of {sets} sets finished.", **values)


# --- hands and grips --------------------------------------------------------------------------


def weakest(w: Weakest) -> str:
    """The weaker hand or weakest grip with its figure: Weakest grip: ..., 6 % below half crimp."""
    below = (
        say("{pct}~% below", pct=fmt.number(max(w.below_pct.value, 1.0), 0))
        if math.isfinite(w.below_pct.value)
        else say("below")
    )
    when = "" if w.at_end else say(", at the block's start")
    work = fmt.EXERCISE_WORDS[w.capacity]
    if w.of == "hand":
        return say(
            "Weaker hand in {work}: {hand}, {below} the other{when}.",
            work=work,
            hand=fmt.SIDE_WORDS[w.weakest[0].hand],
            below=below,
            when=when,
        )
    words = {
        "work": work,
        "grips": fmt.listing(fmt.grip(s.grip) for s in w.weakest),
        "below": below,
        "grip": fmt.grip(w.strongest.grip),
        "when": when,
    }
    if len(w.weakest) > 1:
        return say("Weakest grips in {work}: {grips}, {below} {grip}{when}.", **words)
    return say("Weakest grip in {work}: {grips}, {below} {grip}{when}.", **words)


def pair(p: Pair) -> str:
    """Two series compared: Pulls, half crimp, right against left: +3 % (+1 to +5 %)."""
    work = fmt.sentence(fmt.EXERCISE_WORDS[p.one.capacity])
    if p.of == "hand":
        what = f"{work}, {fmt.grip(p.one.grip)}, " + say(
            "{one} against {other}",
            one=fmt.SIDE_WORDS[p.one.hand],
            other=fmt.SIDE_WORDS[p.other.hand],
        )
    else:
        what = f"{work}, {fmt.HAND_WORDS[p.one.hand]}, " + say(
            "{one} against {other}", one=fmt.grip(p.one.grip), other=fmt.grip(p.other.grip)
        )
    if not p.at_end:
        what = say("{what}, at the block's start", what=what)
    return f"{fmt.headed(what, _compared(p))}."


def _compared(p: Pair) -> str:
    ratio = p.one_over_other
    if not math.isfinite(ratio.value):
        if p.stronger is None:
            return say("can't tell them apart")
        return say("stronger") if p.stronger is p.one else say("weaker")
    between = series.range_pct(ratio.low, ratio.high)
    if p.stronger is None:
        return say("can't tell them apart ({between})", between=between)
    value = fmt.number(ratio.value, 0, sign=True)
    return say("{value}~% ({between})", value=value, between=between)


# --- notes ------------------------------------------------------------------------------------


def chance_note(change: Change) -> str:
    """That several series were looked at, and what chance alone would show; "" for one."""
    if change.judged < 2:
        return ""
    return say(
        "{seriess} were looked at. Had nothing changed in any of them, up to {rate} in 100 "
        "athletes would still see a rise in one, so the series named beforehand counts.",
        seriess=fmt.sentence(fmt.count(change.judged, "{n} series", "{n} series")),
        rate=fmt.number(100 * change.false_rises, 0),
    )


def hang_on(change: Change) -> tuple[str, ...]:
    """What verdicts hang on that the log doesn't settle: a sentence for series that agree in it."""
    found: dict[Deciding, list[SeriesChange]] = {}
    for s in change.series:
        for x in s.hangs_on:
            found.setdefault(x, []).append(s)
    return tuple(_hangs_on(of, x) for x, of in found.items())


def _hangs_on(of: list[SeriesChange], x: Deciding) -> str:
    words = {
        "series": fmt.sentence(series.in_a_row(of)),
        "told": verdict(x.verdict, x.tenths),
    }
    return {
        "body_mass": say(
            "{series}: if body mass was just what the weigh-ins say, the verdict is: {told}.",
            **words,
        ),
        "scale": say(
            "{series}: if the scale is known to have shown the same all along, the verdict is: "
            "{told}.",
            **words,
        ),
        "fatigue": say(
            "{series}: if the easy days at the end took no fatigue away, the verdict is: {told}.",
            **words,
        ),
        "order": say(
            "{series}: if sets of other exercises are known to tire as little as usual, the "
            "verdict is: {told}.",
            **words,
        ),
        "edge": say(
            "{series}: if loads convert from edge to edge as usual, the verdict is: {told}.",
            **words,
        ),
    }[x.cause]


#: A pull of the prior from so many points on is told (own choice, no source).
PULL_TOLD = 1.0


def prior_pull(change: Change) -> str:
    """By how much the expectation of no change makes changes smaller; "" where by little."""
    pulls = [abs(s.prior_pull_pct) for s in change.series if math.isfinite(s.prior_pull_pct)]
    if not pulls or max(pulls) < PULL_TOLD:
        return ""
    return say(
        "Before any set the model expects no change, which makes changes smaller here by up to "
        "{pct}~% of the load.",
        pct=fmt.number(max(pulls), 1),
    )


def sharper(items: Iterable[Sharper], s: SeriesChange) -> tuple[str, ...]:
    """What would make the headline's range narrower, a sentence each."""
    return tuple(_sharper(x, s) for x in items)


def _sharper(x: Sharper, s: SeriesChange) -> str:
    pct = fmt.number(100 * x.narrower, 0)
    if x.by is SharperBy.SAME_EDGE:
        return say(
            "The edge changed on the way: a set on {edge} in the last week would tell change and "
            "edge apart.",
            edge=fmt.with_unit(s.edge_mm, "mm"),
        )
    if x.by is SharperBy.TEST_DAYS:
        return say(
            "One more test to the limit in the first and last week, two days rested, would make "
            "the range about {pct}~% narrower.",
            pct=pct,
        )
    if math.isfinite(x.narrower):
        return say(
            "Noting what was left after each finished set would have made the range about "
            "{pct}~% narrower.",
            pct=pct,
        )
    return say("Note what was left after each finished set: then we can see a change.")


def left_out(one: LeftOut) -> str:
    """Sets that say nothing of strength, and why: 2 sets with a guessed load."""
    sets = say_count(one.sets, "{n} set", "{n} sets", n=one.sets)
    low, high = (fmt.plain(mm) for mm in EDGES_MM)
    why = {
        LeftOutReason.GUESSED_LOAD: say("{sets} with a guessed load", sets=sets),
        LeftOutReason.UNKNOWN_LOAD: say("{sets} whose load is not known", sets=sets),
        LeftOutReason.SMALL_EDGE: say("{sets} on edges below {mm}~mm", sets=sets, mm=low),
        LeftOutReason.LARGE_EDGE: say("{sets} on edges above {mm}~mm", sets=sets, mm=high),
        LeftOutReason.NO_EDGE: say("{sets} without an edge", sets=sets),
        LeftOutReason.FAR_OFF: say(
            "{sets} with a load far from all others ({places})",
            sets=sets,
            places=fmt.listing(f"{file}:{line}" for file, line in one.rows),
        ),
        LeftOutReason.UNKNOWN_TIME: say("{sets} whose time under load is not known", sets=sets),
    }
    return say("Left out: {sets}.", sets=why[one.reason])


def edge_exponent(exponent: Estimate) -> str:
    """How loads on other edges were converted."""
    return say(
        "Loads on other edges were converted: the load goes with the edge's depth to the power "
        "of {value} (90~% range {low} to {high}). Below {mm}~mm nothing is converted.",
        value=fmt.number(exponent.value, 2),
        low=fmt.number(exponent.low, 2),
        high=fmt.number(exponent.high, 2),
        mm=fmt.plain(EDGES_MM[0]),
    )


def method() -> str:
    """How strength is estimated, and how series lean on one another."""
    return say(
        "Strength is estimated from all sets of the block in one model. It takes an athlete's "
        "hands, grips and kinds of work to change much alike, so a series with few sets leans on "
        "the others. A set that failed and a pull show the limit; a finished set, or one stopped "
        "for another reason, shows that at least this was possible; a guess of what was left "
        "counts with its error. Good and bad days, tiring within a session, other edges and hold "
        "times are allowed for."
    )


#: From so many foretold sets on the model is held against them (own choice, no source).
LEAST_FORETOLD = 20


def check(found: Diagnostics) -> str:
    """
    The model against the log itself: sets expected and done, and what lies clearly off.

    Where a day lies off stands no figure: beside weights it could tell body mass.
    """
    of = found.classes
    sets = int(of["sets"].sum())
    if sets < LEAST_FORETOLD:
        return ""
    told = [
        say(
            "The model against this log: {sets} hangs and repeater sets were foretold from the "
            "days before each; {expected} were expected to be completed, and {done} were.",
            sets=sets,
            expected=fmt.number(float((of["said"] * of["sets"]).sum()), 0),
            done=int(of["done"].sum()),
        )
    ]
    if "chances" in found.suspects:
        more = float(of["sds"].iloc[int(of["sds"].abs().argmax())]) > 0
        told.append(
            say("That is more than luck explains; guesses of what was left may be too short.")
            if more
            else say("That is fewer than luck explains; guesses of what was left may be too long.")
        )
    if "order" in found.suspects:
        told.append(
            say("Later sets of a session lie off what tiring explains; note their order and rests.")
        )
    for suspect, pct in (("first_day", found.first_pct), ("last_day", found.last_pct)):
        if suspect in found.suspects:
            told.append(_day_off(first=suspect == "first_day", above=pct > 0))
    return " ".join(told)


def _day_off(*, first: bool, above: bool) -> str:
    if first:
        return (
            say(
                "The block's first day lies clearly above the others, so its start may be too high."
            )
            if above
            else say(
                "The block's first day lies clearly below the others, so its start may be too low."
            )
        )
    return (
        say("The last day lies clearly above the others; repeat the test before you rely on it.")
        if above
        else say(
            "The last day lies clearly below the others; repeat the test before you rely on it."
        )
    )


def rule(smallest: str) -> str:
    """
    What the verdicts mean.

    Parameters
    ----------
    smallest : the smallest changes that matter, in words.
    """
    return say(
        "A 90~% range holds the true change in about nine of ten cases. Stronger: a chance of "
        "95~% or more. Probably stronger: 80 to 95~%. Weaker likewise. No change worth naming: "
        "the whole range lies within the smallest change that matters ({smallest}, set in the "
        "block file). Else we can't tell.",
        smallest=smallest,
    )


def how_to_read_log() -> str:
    """What the marks of a short log mean."""
    return say("Hollow: at least this much. Filled: a known limit. Cross: not readable.")


def how_to_read() -> str:
    """What the marks of the paths mean, in a line beneath them."""
    return say(
        "Loads as a day's first set. Filled: a known limit. Hollow: at least this much. Tint: "
        "90~% range."
    )


def sets_counted(kind: object, n: int) -> str:
    """So many sets of a kind of work."""
    if kind == "hang":
        return fmt.count(n, "{n} hang", "{n} hangs")
    if kind == "repeater":
        return fmt.count(n, "{n} repeater set", "{n} repeater sets")
    return fmt.count(n, "{n} pull", "{n} pulls")


def end_load(s: SeriesChange, kg: float) -> str:
    """Load at an end of the block, as a bound where the log has only that."""
    width = s.high_kg - s.low_kg if s.measured else 9.0
    load = fmt.mass_number(kg, series.digits(kg, width))
    if load == "\u2013":
        return load
    if s.path_kind is PathKind.AT_LEAST:
        return say("at least {load}", load=load)
    return say("at most {load}", load=load) if s.path_kind is PathKind.AT_MOST else load


def sets_used(s: SeriesChange) -> str:
    """Sets that the estimate rests on, on how many days, and those with an exact limit."""
    return say(
        "{sets} on {days}, {exact} exact",
        sets=s.fit.sets,
        days=fmt.count(s.fit.days, "{n} day", "{n} days"),
        exact=s.fit.exact_sets,
    )


def series_counted(n: int) -> str:
    """So many series."""
    return fmt.count(n, "{n} series", "{n} series")
