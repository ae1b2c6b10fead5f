"""What was not logged, so that silence is not read as good news."""

from __future__ import annotations

import pandas as pd

from gripbook.derive.body import OLD_WEIGH_IN_DAYS
from gripbook.logs import Block
from gripbook.reviews.done import Done
from gripbook.reviews.dose import Dose, missing_minutes
from gripbook.reviews.pain import Pain
from gripbook.reviews.people import Athlete
from gripbook.words import fmt, say


def find_gaps(
    sets: pd.DataFrame, athlete: Athlete, block: Block, done: Done, dose: Dose, pain: Pain
) -> tuple[str, ...]:
    """Sentences, most telling first, on what the log leaves open."""
    return (
        *_plan(block, done),
        *_pain(pain),
        *_body_mass(sets, athlete),
        *_sets(sets),
        *_days(dose),
        *_person(athlete),
    )


def left_aside(plan: Block) -> str:
    """Say that nothing is logged in the days of the block file's block."""
    return say(
        "Nothing is logged in the planned block, {name}, {start} to {end}, so this page covers the "
        "whole log and compares it with no plan. If the block has begun, its first day in the "
        "block file is wrong.",
        name=plan.name,
        start=fmt.day(plan.start),
        end=fmt.day(plan.end),
    )


def _plan(block: Block, done: Done) -> list[str]:
    out = []
    if block.aside:
        out.append(left_aside(block.aside))
    elif not block.planned:
        out.append(
            say("No plan was given: the page covers the whole log and compares it with no plan.")
        )
    if block.given and not block.limits.stated:
        out.append(
            say(
                "The block file sets no limits; a beginner's were taken (two finger days "
                "a week, one rest day between, an hour a session; common practice, no "
                "source)."
            )
        )
    silent = done.weeks[
        (done.weeks["sessions_done"] == 0)
        & (done.weeks["without"] == "")
        & (done.weeks["state"] == "done")
    ]
    if len(silent):
        out.append(
            say(
                "No finger session and no reason is logged for {weeks}.",
                weeks=fmt.weeks(silent["week"]),
            )
        )
    return out


def _pain(pain: Pain) -> list[str]:
    if pain.recorded:
        return []
    return [say("Pain was not recorded, which is not the same as none.")]


def _body_mass(sets: pd.DataFrame, athlete: Athlete) -> list[str]:
    if not athlete.show_body_mass:
        return []
    leaning = sets[(sets["load_source"] == "body") & sets["in_block"]]
    old = leaning[leaning["body_mass_age_days"] > OLD_WEIGH_IN_DAYS]
    if old.empty:
        return []
    days = old["date"].nunique()
    best, worst = old["body_mass_error_kg"].min(), old["body_mass_error_kg"].max()
    error = fmt.mass(best)
    if fmt.number(best) != fmt.number(worst):
        error = say("{best} to {worst}", best=fmt.mass_number(best), worst=fmt.mass(worst))
    return [
        say(
            "On {days} of {nunique} finger days the nearest weigh-in was more than "
            "{old_weigh_in_days} days away, so body mass, and the load with it, is "
            "known to about {error} only.",
            days=days,
            nunique=leaning["date"].nunique(),
            old_weigh_in_days=OLD_WEIGH_IN_DAYS,
            error=error,
        )
    ]


def _sets(sets: pd.DataFrame) -> list[str]:
    inside = sets[sets["in_block"] & ~sets["warmup"]]
    out = []
    unknown = inside[inside["load_kg"].isna()]
    if len(unknown):
        out.append(
            fmt.count(
                int(unknown["sets"].sum()),
                "The load of {n} set is not known.",
                "The load of {n} sets is not known.",
            )
        )
    guessed = inside[inside["load_kind"] == "guess"]
    if len(guessed):
        n = int(guessed["sets"].sum())
        out.append(
            fmt.count(
                n,
                "The load of {n} set was guessed; it counts as work, not as strength.",
                "The load of {n} sets was guessed; they count as work, not as strength.",
            )
        )
    time = inside[inside["tension_s"].isna()]
    if len(time):
        n = int(time["sets"].sum())
        out.append(
            fmt.count(
                n,
                "How long {n} set lasted is not known (it ended early and the holds or seconds "
                "were not written down); it is missing in the time under load.",
                "How long {n} sets lasted is not known (they ended early and the holds or seconds "
                "were not written down); they are missing in the time under load.",
            )
        )
    held = inside[inside["exercise"] != "pull"]
    reserves = held["reserve_s"].notna() | held["reserve_reps"].notna()
    if len(held) and not reserves.any():
        out.append(say("No set says how much was left in reserve."))
    return out


def _days(dose: Dose) -> list[str]:
    out = []
    open_days = int((~dose.days["logged"]).sum())
    if open_days:
        out.append(
            fmt.sentence(
                fmt.count(
                    open_days,
                    "{n} day of the block is neither logged nor confirmed as rest.",
                    "{n} days of the block are neither logged nor confirmed as rest.",
                )
            )
        )
    unknown = int(dose.days["unknown"].sum())
    if unknown:
        out.append(
            fmt.sentence(
                fmt.count(
                    unknown,
                    "{n} session has no effort or no minutes, so the load of its week is not "
                    "computed.",
                    "{n} sessions have no effort or no minutes, so the load of those weeks is not "
                    "computed.",
                )
            )
        )
    lost = missing_minutes(dose)
    if lost:
        out.append(
            say(
                "The minutes of {finger_sessions} were not logged; they were estimated "
                "from sets and planned rests.",
                finger_sessions=fmt.count(lost, "{n} finger session", "{n} finger sessions"),
            )
        )
    return out


def _person(athlete: Athlete) -> list[str]:
    if athlete.born is None:
        return [say("The year of birth is not recorded; the page is written for adults.")]
    return []
