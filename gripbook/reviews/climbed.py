"""What was climbed before, during and after the block, in words; no grade is foretold from grip."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import pandas as pd

from gripbook.derive.climbs import (
    AROUND_DAYS,
    BEST,
    GROUPS,
    PERIODS,
    climbs_around,
    climbs_by,
    grade_climbs,
)
from gripbook.logs import Block
from gripbook.words import Table, fmt, mark, say

NEED_NOT_SHOW = mark(
    "A stronger grip need not show in the grade: skill, tactics, rock and "
    "conditions count too, and few ascents are few data."
)
BOULDERS = mark("A boulder grade is known to plus or minus one on the scale of comparison.")
PERIOD_WORDS = Table({"before": mark("before"), "during": mark("during"), "after": mark("after")})
DISCIPLINES = Table({"route": mark("Routes"), "boulder": mark("Boulders")})
_PLACES = Table({"rock": mark("rock"), "indoor": mark("indoors"), "": mark("place not recorded")})


@dataclass(frozen=True, slots=True, eq=False)
class Climbed:
    """
    `months`: one row per discipline, place, period and month; `periods`: the same without months
    (columns of `climbs_by`). `attempts`, `unstyled`, `unknown`: climbs around the block that were
    attempts, that have no style (counted as done), whose grade is not in the comparison.
    """

    months: pd.DataFrame
    periods: pd.DataFrame
    sentences: tuple[str, ...]
    notes: tuple[str, ...]
    attempts: int
    unstyled: int
    unknown: int


def describe_climbs(climbs: pd.DataFrame, block: Block, last: pd.Timestamp) -> Climbed:
    """
    Put one athlete's climbs into words.

    Parameters
    ----------
    climbs : frame of climbs.csv. last : the log's last day: a time not yet reached is not "none".
    """
    graded = grade_climbs(climbs)
    around = climbs_around(graded, block)
    span = pd.Timedelta(days=AROUND_DAYS)
    here = graded[
        graded["date"].between(pd.Timestamp(block.start) - span, pd.Timestamp(block.end) + span)
    ]
    unknown = int(here["ircra"].isna().sum())
    attempts = int((here["style"] == "attempt").sum())
    unstyled = int((around["style"] == "").sum())
    periods = climbs_by(around, [*GROUPS, "period"])
    return Climbed(
        months=climbs_by(around, [*GROUPS, "period", "month"]),
        periods=periods,
        sentences=tuple(_sentences(periods, block, last)),
        notes=tuple(_notes(periods, attempts, unstyled, unknown)),
        attempts=attempts,
        unstyled=unstyled,
        unknown=unknown,
    )


def group_words(discipline: str, place: str) -> str:
    """Routes, rock."""
    return f"{DISCIPLINES[discipline]}, {_PLACES[place]}"


def _sentences(periods: pd.DataFrame, block: Block, last: pd.Timestamp) -> Iterable[str]:
    begun = [p for p in PERIODS if p != "after" or last > pd.Timestamp(block.end)]
    for (discipline, place), own in periods.groupby(GROUPS, sort=False):
        by = {p.period: p for p in own.itertuples()}
        told = []
        for period in begun:
            if period not in by:
                told.append(say("{period}: none logged", period=PERIOD_WORDS[period]))
                continue
            p = by[period]
            climbs = fmt.count(p.climbs, "{n} climb", "{n} climbs")
            if p.climbs == 1:
                told.append(
                    say(
                        "{period}: {hardest_grade} (one climb)",
                        period=PERIOD_WORDS[period],
                        hardest_grade=p.hardest_grade,
                    )
                )
            else:
                told.append(
                    say(
                        "{period}: {median_grade}, hardest {hardest_grade} ({climbs})",
                        period=PERIOD_WORDS[period],
                        median_grade=p.median_grade,
                        hardest_grade=p.hardest_grade,
                        climbs=climbs,
                    )
                )
        yield f"{group_words(discipline, place)}, {fmt.clauses(told)}."


def _notes(periods: pd.DataFrame, attempts: int, unstyled: int, unknown: int) -> Iterable[str]:
    if periods.empty and not unknown:
        return
    yield (
        say(
            "Before and after are the {weeks} on either side of the block. The first "
            "grade is the median of the best {climbs}, of all where there are fewer.",
            weeks=fmt.count(AROUND_DAYS // 7, "{n} week", "{n} weeks"),
            climbs=fmt.count(BEST, "{n} climb", "{n} climbs"),
        )
    )
    yield say(NEED_NOT_SHOW)
    if (periods["discipline"] == "boulder").any():
        yield say(BOULDERS)
    if attempts:
        yield say(
            "{attempts} not counted.",
            attempts=fmt.sentence(fmt.count(attempts, "{n} attempt", "{n} attempts")),
        )
    if unstyled:
        yield (
            say(
                "{climbs} without a style counted as done; say attempt where one was not.",
                climbs=fmt.sentence(fmt.count(unstyled, "{n} climb", "{n} climbs")),
            )
        )
    if unknown:
        yield (
            say(
                "{climbs} with a grade that the published comparison does not hold left "
                "out; none was guessed (see the rows that need a look).",
                climbs=fmt.sentence(fmt.count(unknown, "{n} climb", "{n} climbs")),
            )
        )
