"""A proposal's sentences in the order of the page, the command line and the first screen."""

from __future__ import annotations

from collections.abc import Iterable

from gripbook.reviews import BlockReview
from gripbook.reviews.gaps import GapKind
from gripbook.reviews.proposal import NextBlock, Reason
from gripbook.words import Table, fmt, mark, say
from gripbook.words.next.choices import choice_lines
from gripbook.words.next.frame import (
    frame_sentences,
    late_text,
    pull_gap_text,
    ramp_text,
    rests_text,
    rule,
    shape_sentences,
    week_sentences,
)
from gripbook.words.next.holds import (
    MINOR,
    MINOR_NOTHING,
    OTHER_WORK_GOES_ON,
    before_text,
    held_in_short,
    hold_sentences,
    mass_sentences,
    minor_sentences,
    return_sentences,
    watch_action,
    watch_felt,
    why_held,
)
from gripbook.words.next.tests import aim_lines, no_tests_text, shown_by_tests, tests_text
from gripbook.words.next.weights import load_text
from gripbook.words.next.why import lowered_sentences, why_lines
from gripbook.words.pain import ENDS_HOLD

LATER_WEEKS = mark(
    "A range runs from the start to where the rule for adding may lead. Loads of later phases are "
    "worked out again from what was done by then."
)
NO_AGE = mark("Your age is not recorded; this is for adults only.")
NO_SINCE = mark(
    "Since when you train fingers isn't recorded, so the plan is as careful as for a beginner."
)
DECIDE = mark("Adjust to how you feel that day. A coach decides.")
STOP = mark("Stop a set at once when a finger, hand or elbow hurts.")
ASK_PAIN = mark(
    "Pain was not noted. Check fingers, hands and elbows before the first session, and write it "
    "down."
)
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


def lead(plan: NextBlock) -> tuple[str, ...]:
    """What of it belongs on the first screen: one start load, or why there is none."""
    if plan.minor:
        return (say(MINOR),)
    if plan.held:
        return (held_in_short(plan),)
    loads = [x for x in plan.loads if x.kind == "start"]
    if not loads:
        return (*frame_sentences(plan), *lowered_sentences(plan))[:2] or opening(plan)[:2]
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
    return (*return_sentences(plan)[:1], begin)


def opening(plan: NextBlock) -> tuple[str, ...]:
    """Sentences over the table, most pressing first."""
    if plan.minor:
        return (*minor_sentences(plan), *hold_sentences(plan))
    pain = [" ".join((watch_felt(plan.watch), watch_action(plan.watch)))] if plan.watch else []
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
                *lowered_sentences(plan),
                ramp_text(plan),
                *pain,
                *asked,
                *_not_recorded(plan),
            ),
        )
    )


def _not_recorded(plan: NextBlock) -> list[str]:
    """What athletes.csv lacks and the plan needs."""
    beginner = plan.experience.beginner and plan.experience.months is None and plan.ramp is None
    loads = any(x.kind == "start" for x in plan.loads)
    return [
        *([] if plan.age_known else [say(NO_AGE)]),
        *([say(NO_SINCE)] if beginner and loads else []),
    ]


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
        cautions.append((stop, " ".join((why_held(plan), say(OTHER_WORK_GOES_ON)))))
    if plan.minor:
        return tuple(cautions), ((say(ENDS_HOLD),) if plan.held else ())
    mass = mass_sentences(plan)
    if mass:
        cautions.append((mass[0], " ".join(mass[1:])))
    if plan.watch:
        cautions.append((watch_felt(plan.watch), watch_action(plan.watch)))
    paragraphs = [say(ENDS_HOLD)] if plan.held else []
    paragraphs.append(" ".join(return_sentences(plan)))
    frame = [*frame_sentences(plan), *week_sentences(plan)]
    if plan.rows:
        frame += lowered_sentences(plan)
    paragraphs += [" ".join(frame), ramp_text(plan)]
    asked = [] if plan.pain_asked or not plan.rows else [say(ASK_PAIN)]
    paragraphs.append(" ".join([*asked, *_not_recorded(plan)]))
    return tuple(cautions), tuple(filter(None, paragraphs))


def page_closing(plan: NextBlock) -> tuple[str, ...]:
    """What stands under the plan on a page: how to add, a late start; tests; who decides."""
    if plan.minor or not plan.rows:
        return ()
    t = plan.tests
    tests = [shown_by_tests(t)] if t is not None else [no_tests_text(plan)]
    return tuple(
        filter(
            None,
            (
                " ".join(filter(None, (rule(plan), late_text(plan)))),
                " ".join(filter(None, (*tests, say(DECIDE)))),
            ),
        )
    )


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
                pull_gap_text(plan),
                tests_text(plan) or no_tests_text(plan),
                *aim_lines(plan),
                late_text(plan),
                say(STOP),
                say(DECIDE),
            ),
        )
    )


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


def all_sentences(plan: NextBlock) -> tuple[str, ...]:
    """Every sentence of a proposal, for checks and comments in the block file."""
    if plan.minor:
        return (*opening(plan), *(before_text(x) for x in plan.before))
    loads: Iterable[str] = (f"{a}. {b}" for a, b in why_lines(plan))
    return (*opening(plan), *loads, *closing(plan), *choice_lines(plan))
