"""What was not logged, so that silence is not read as good news."""

from __future__ import annotations

import pandas as pd

from gripbook import fmt
from gripbook.derive.body import OLD_WEIGH_IN_DAYS
from gripbook.logs import Block
from gripbook.reviews.done import Done
from gripbook.reviews.dose import Dose, missing_minutes
from gripbook.reviews.pain import Pain
from gripbook.reviews.people import Athlete


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


def _plan(block: Block, done: Done) -> list[str]:
    out = []
    if not block.planned:
        out.append("No plan was given: the page covers the whole log and compares it with no plan.")
    if block.planned and not block.limits.stated:
        out.append(
            "The block file sets no limits; a beginner's were taken (two finger days a week, one "
            "rest day between, an hour a session; common practice, no source)."
        )
    silent = done.weeks[
        (done.weeks["sessions_done"] == 0)
        & (done.weeks["without"] == "")
        & (done.weeks["state"] == "done")
    ]
    if len(silent):
        out.append(f"No finger session and no reason is logged for {fmt.weeks(silent['week'])}.")
    return out


def _pain(pain: Pain) -> list[str]:
    if pain.recorded:
        return []
    return ["Pain was not recorded, which is not the same as none."]


def _body_mass(sets: pd.DataFrame, athlete: Athlete) -> list[str]:
    if not athlete.show_body_mass:
        return []
    leaning = sets[(sets["load_source"] == "body") & sets["in_block"]]
    old = leaning[leaning["body_mass_age_days"] > OLD_WEIGH_IN_DAYS]
    if old.empty:
        return []
    days = old["date"].nunique()
    best, worst = old["body_mass_error_kg"].min(), old["body_mass_error_kg"].max()
    error = fmt.with_unit(best, "kg")
    if fmt.number(best) != fmt.number(worst):
        error = f"{fmt.number(best)} to {fmt.with_unit(worst, 'kg')}"
    return [
        f"On {days} of {leaning['date'].nunique()} finger days the nearest weigh-in was more than "
        f"{OLD_WEIGH_IN_DAYS} days away, so body mass, and the load with it, is known to about "
        f"{error} only."
    ]


def _sets(sets: pd.DataFrame) -> list[str]:
    inside = sets[sets["in_block"] & ~sets["warmup"]]
    out = []
    unknown = inside[inside["load_kg"].isna()]
    if len(unknown):
        out.append(f"The load of {fmt.count(int(unknown['sets'].sum()), 'set')} is not known.")
    guessed = inside[inside["load_kind"] == "guess"]
    if len(guessed):
        n = int(guessed["sets"].sum())
        out.append(
            f"The load of {fmt.count(n, 'set')} was guessed; "
            f"{'it counts' if n == 1 else 'they count'} as work, not as strength."
        )
    time = inside[inside["tension_s"].isna()]
    if len(time):
        n = int(time["sets"].sum())
        out.append(
            f"How long {fmt.count(n, 'set')} lasted is not known "
            f"(it ended early and the holds or seconds were not written down); "
            f"{'it is' if n == 1 else 'they are'} missing in the time under tension."
        )
    held = inside[inside["exercise"] != "pull"]
    reserves = held["reserve_s"].notna() | held["reserve_reps"].notna()
    if len(held) and not reserves.any():
        out.append("No set says how much was left in reserve.")
    return out


def _days(dose: Dose) -> list[str]:
    out = []
    open_days = int((~dose.days["logged"]).sum())
    if open_days:
        out.append(
            f"{fmt.sentence(fmt.count(open_days, 'day'))} of the block "
            f"{'is' if open_days == 1 else 'are'} neither logged nor confirmed as rest."
        )
    unknown = int(dose.days["unknown"].sum())
    if unknown:
        out.append(
            f"{fmt.sentence(fmt.count(unknown, 'session'))} "
            f"{'has' if unknown == 1 else 'have'} no effort or no minutes, "
            "so the load of those weeks is not computed."
        )
    lost = missing_minutes(dose)
    if lost:
        out.append(
            f"The minutes of {fmt.count(lost, 'finger session')} were not logged; "
            "they were estimated from sets and planned rests."
        )
    return out


def _person(athlete: Athlete) -> list[str]:
    if athlete.born is None:
        return ["The year of birth is not recorded; the page is written for adults."]
    return []
