"""About this log: what was not logged, what could not be read, and the cautions."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from gripbook.derive.body import OLD_WEIGH_IN_DAYS
from gripbook.reviews.change_facts import SharperBy
from gripbook.words import fmt
from gripbook.words.messages import Table, mark, say
from gripbook.words.problems import reason_and_remedy

if TYPE_CHECKING:
    import pandas as pd

    from gripbook.logs import Block, Problem
    from gripbook.reviews.change_facts import Sharper
    from gripbook.reviews.done import Done
    from gripbook.reviews.gaps import Gap

#: Short and open on every page.
CAUTIONS = (
    mark(
        "Stop a set at once when a finger, hand or elbow hurts. Pain, swelling or a pop is for a "
        "physician or physiotherapist."
    ),
    mark(
        "This page diagnoses nothing and clears nobody to train; keeping the limits doesn't make a "
        "block safe."
    ),
)
#: Beside them where body mass is shown, and for anyone under 18.
CAUTION_MASS = mark("Weight, food and energy are for a physician.")

#: Titles of the section's folds and tables, and what stands where one is empty.
TITLES = Table(
    {
        "rows_to_correct": mark("Rows to correct"),
        "why_not_read": mark("Why they couldn't be read"),
        "how_made": mark("How the figures are made"),
        "how_made_holds": mark("methods, sources, privacy"),
        "where_and_why": mark("Where they stand, and why"),
        "where_holds": mark("file and line"),
        "doubts": mark("Rows that were used, and may hold a slip"),
        "all_used": mark("Every row was used, and nothing that this page asks for is missing."),
        "also_not_logged": mark("Also not logged"),
        "rows_behind": mark("Rows of the log behind these figures"),
        "no_row": mark("No row of the log stands behind this."),
    }
)


def block_aside(plan: Block) -> str:
    """Say that nothing is logged in the days of the block file's block."""
    return say(
        "Nothing is logged in the planned block, {name}, {start} to {end}, so this page covers the "
        "whole log without a plan. If the block has begun, correct its first day in the block "
        "file.",
        name=plan.name,
        start=fmt.day(plan.start),
        end=fmt.day(plan.end),
    )


def gap(g: Gap, block: Block) -> str:
    """One thing that the log leaves open, with what would mend it."""
    return fmt.sentence(_GAPS[g.kind](g, block))


def gaps(all_gaps: Iterable[Gap], block: Block) -> tuple[str, ...]:
    """Everything that the log leaves open, most telling first."""
    return tuple(gap(g, block) for g in all_gaps)


def _aside(_: Gap, block: Block) -> str:
    return block_aside(block.aside) if block.aside else ""


def _no_plan(_: Gap, __: Block) -> str:
    return say("No plan was given, so the page covers the whole log.")


def _no_limits(_: Gap, block: Block) -> str:
    return say(
        "The block file sets no limits, so a beginner's were taken: {days} finger days a week, "
        "{rest} between, {minutes} minutes a session (common practice, no source).",
        days=fmt.in_words(block.limits.fingers_per_week),
        rest=fmt.count(block.limits.rest_days_between_finger_days, "{n} rest day", "{n} rest days"),
        minutes=fmt.number(block.limits.finger_session_minutes, 0),
    )


def _silent_weeks(g: Gap, _: Block) -> str:
    return say(
        "No finger session and no reason in {weeks}. Ill, away or resting? One row each is enough.",
        weeks=fmt.weeks(g.weeks),
    )


def _pain(g: Gap, _: Block) -> str:
    if g.n == g.of:
        return say("Pain was not noted, which doesn't mean no pain. Write 0 if there was none.")
    # how often it was missing, and what that means, stands under Pain
    return say("Log pain after every finger day, 0 if there was none.")


def _body_mass(g: Gap, _: Block) -> str:
    error = fmt.mass(g.low_kg)
    if fmt.number(g.low_kg) != fmt.number(g.high_kg):
        error = say("{low} to {high}", low=fmt.mass_number(g.low_kg), high=fmt.mass(g.high_kg))
    return say(
        "On {n} of {of} finger days the nearest weigh-in is more than {days}~days away, so the "
        "load is known to about {error} only.",
        n=g.n,
        of=g.of,
        days=OLD_WEIGH_IN_DAYS,
        error=error,
    )


def _load_unknown(g: Gap, _: Block) -> str:
    return fmt.count(g.n, "The load of {n} set is not known.", "The load of {n} sets is not known.")


def _load_guessed(g: Gap, _: Block) -> str:
    return fmt.count(
        g.n,
        "The load of {n} set was guessed; it counts as work, not as strength.",
        "The load of {n} sets was guessed; they count as work, not as strength.",
    )


def _time_unknown(g: Gap, _: Block) -> str:
    return fmt.count(
        g.n,
        "{n} set ended early without its holds or seconds, so time under load is a little low.",
        "{n} sets ended early without their holds or seconds, so time under load is a little low.",
    )


def _reserve(_: Gap, __: Block) -> str:
    return say("No set says how much was left. Seconds or holds left on the last set would do.")


def _open_days(g: Gap, _: Block) -> str:
    return fmt.count(
        g.n,
        "{n} day has neither a session nor a rest noted.",
        "{n} days have neither a session nor a rest noted.",
    )


def _effort(g: Gap, _: Block) -> str:
    return fmt.count(
        g.n,
        "{n} session has no effort or no minutes, so its week's load is not worked out.",
        "{n} sessions have no effort or no minutes, so the load of those weeks is not worked out.",
    )


def _minutes(g: Gap, _: Block) -> str:
    return say(
        "Minutes are missing for {n} of {of} finger sessions; they were estimated from sets and "
        "planned rests.",
        n=g.n,
        of=g.of,
    )


def _born(_: Gap, __: Block) -> str:
    return say("The year of birth is not noted; the page is written for adults.")


_GAPS: dict[str, Callable[[Gap, Block], str]] = {
    "block_aside": _aside,
    "no_plan": _no_plan,
    "no_limits": _no_limits,
    "silent_weeks": _silent_weeks,
    "pain": _pain,
    "body_mass": _body_mass,
    "load_unknown": _load_unknown,
    "load_guessed": _load_guessed,
    "time_unknown": _time_unknown,
    "reserve": _reserve,
    "open_days": _open_days,
    "effort": _effort,
    "minutes": _minutes,
    "born": _born,
}


# --- rows that could not be read --------------------------------------------------------------


def rows_refused(done: Done) -> str:
    """For the first screen: how many rows could not be read, and of which sessions; "" for none."""
    n = len(done.refused)
    if not n:
        return ""
    text = fmt.sentence(fmt.count(n, "{n} row couldn't be read.", "{n} rows couldn't be read."))
    days = done.refused.loc[done.refused["session"], "date"].drop_duplicates()
    if len(days):
        more = _sessions_refused(len(days), _days(days))
        text = f"{text} {more}"
    return text


def _sessions_refused(n: int, days: str) -> str:
    if n == 1:
        return say("The finger session on {days} counts neither as done nor as missing.", days=days)
    return say("The finger sessions on {days} count neither as done nor as missing.", days=days)


def _days(dates: Iterable[pd.Timestamp]) -> str:
    return fmt.listing(fmt.day(d.date(), year=False) for d in sorted(dates))


def rows_to_correct(done: Done, problems: Iterable[Problem]) -> list[dict[str, object]]:
    """
    Refused rows for a table: `day` (a dash: not readable), `cell`, `why`, `remedy`, `row`.

    `remedy` says what to write instead, or what is wrong where that is all there is to say.
    """
    day_of = {
        (file, line): None if date != date else date.date()
        for file, line, date in zip(
            done.refused["file"], done.refused["line"], done.refused["date"], strict=True
        )
    }
    rows: list[dict[str, object]] = []
    for p in problems:
        if p.severity == "error":
            why, remedy = reason_and_remedy(p)
            rows.append(
                {
                    "day": day_of.get((p.file, p.line)),
                    "cell": " ".join(filter(None, (p.column, p.value))),
                    "why": why,
                    "remedy": remedy or why,
                    "row": p.place,
                }
            )
    return rows


def without_told(gaps: Iterable[Gap], ways: Iterable[Sharper]) -> tuple[Sharper, ...]:
    """Ways to a sharper answer, without notes of what was left where a gap asks for them."""
    asked = {g.kind for g in gaps}
    return tuple(w for w in ways if not (w.by is SharperBy.RESERVES and "reserve" in asked))


def cautions(*, mass: bool) -> str:
    """What a reader must bear in mind; `mass`: that of weight, food and energy too."""
    return " ".join(map(say, (*CAUTIONS, *((CAUTION_MASS,) if mass else ()))))


def points(n: int) -> str:
    """So many points."""
    return fmt.count(n, "{n} point", "{n} points")


def doubts(n: int) -> str:
    """So many rows that may hold a slip."""
    return fmt.count(n, "{n} row used, but worth a look", "{n} rows used, but worth a look")
