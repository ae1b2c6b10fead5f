"""`review(logs, athlete)`: everything one athlete's page shows, as data."""

from __future__ import annotations

import statistics
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import pandas as pd

from gripbook.derive import (
    best_loads,
    best_of_week,
    completed_sets,
    days_without,
    derive_sets,
    last_logged_day,
    weekly_finger_work,
)
from gripbook.derive.best import sets_of_test_days
from gripbook.derive.records import records
from gripbook.display import Displayed
from gripbook.logs import Block, Logs
from gripbook.reviews.block_facts import BlockFacts
from gripbook.reviews.body_mass import follow_body_mass
from gripbook.reviews.change import describe_change, health_first
from gripbook.reviews.climbed import describe_climbs
from gripbook.reviews.done import compare_with_plan
from gripbook.reviews.dose import check_dose
from gripbook.reviews.earlier import Earlier
from gripbook.reviews.gaps import find_gaps
from gripbook.reviews.measured import describe_measures
from gripbook.reviews.notes import read_notes
from gripbook.reviews.pain import Pain, read_pain
from gripbook.reviews.people import Athlete, describe_athlete
from gripbook.reviews.proposal import NextBlock, propose_next
from gripbook.reviews.shown import shown_loads, shown_problems, with_stand_in
from gripbook.reviews.tables import Tables
from gripbook.strength import (
    Diagnostics,
    NoiseScales,
    StrengthFit,
    diagnose,
    fit_strength,
    results_rows,
)

#: A log of so many finger sessions or fewer, without a measured change, is shown as a short one.
SHORT_LOG_SESSIONS = 6


@dataclass(frozen=True, eq=False, repr=False)
class BlockReview(BlockFacts, Displayed):
    """
    One athlete's block: the facts, their tidy frames, and what comes next.

    What follows from the facts is worked out where it is asked for, and then kept.
    """

    def __repr__(self) -> str:
        """Name athlete, block and days; the rest is in its fields and `tables`."""
        plan, rows = self.block, int(self.sets["in_block"].sum())
        return (
            f"<BlockReview of {self.athlete.id!r}: {plan.name!r}, {plan.start} to {plan.end}, "
            f"{self.state.state}, {rows} rows of sets; see .change and .tables>"
        )

    @property
    def tables(self) -> Tables:
        """Tidy frames of all that was found."""
        return Tables(self)

    @cached_property
    def next_block(self) -> NextBlock:
        """The block to do next."""
        return propose_next(self)

    @cached_property
    def checked(self) -> Diagnostics | None:
        """How the fit stands to its own log; None where no set tells."""
        return diagnose(self.fit) if len(self.fit.evidence) else None

    @property
    def short(self) -> bool:
        """Whether the log is too short for paths: few finger sessions, and no change measured."""
        measured = any(s.measured for s in self.change.series)
        return self.done.sessions_done <= SHORT_LOG_SESSIONS and not measured

    @cached_property
    def coming(self) -> NextBlock:
        """The coming week of a running block, else the next block."""
        week = propose_next(self, week=True) if self.state.running else None
        return self.next_block if week is None or week.over else week


def review(
    logs: Logs, athlete: str = "", block: str = "", noise: NoiseScales | None = None
) -> BlockReview:
    """
    Review one athlete's block.

    Parameters
    ----------
    logs : from `load_logs`.
    athlete : id; empty: the first one.
    block : name; empty: the latest block begun, or the whole log where none was planned.
    noise : scales shared over a squad (`squad_noise`); None: the defaults, so that no athlete's
        figures depend on another's log.

    Raises
    ------
    UnknownAthleteError, UnknownBlockError : name what there is.
    """
    athlete = athlete or (logs.athlete_ids[0] if logs.athlete_ids else "")
    theirs = logs.for_athlete(athlete)
    plan = logs.block_for(athlete, block)
    last = _last_day(theirs, plan)
    who = describe_athlete(athlete, theirs.athletes, min(last.date(), plan.end))
    logged = derive_sets(theirs.hangs, theirs.body, plan)
    shows, end = who.show_body_mass, pd.Timestamp(plan.end)
    # what the page rests on: where body mass is hidden, it must not know it
    sets = logged if shows else with_stand_in(logged)
    done = compare_with_plan(
        sets,
        theirs.sessions,
        plan,
        last,
        climbs=theirs.climbs,
        problems=theirs.problems,
        show_body_mass=shows,
    )
    dose = check_dose(sets, theirs.sessions, plan, last, who, theirs.climbs)
    pain = read_pain(theirs.pain, sets, plan, who, theirs.sessions)
    inside = sets[sets["in_block"]]
    fit = fit_strength(sets, plan, noise)
    coach_fit = fit if shows else fit_strength(logged, plan, noise)
    body_mass = follow_body_mass(theirs.body, plan, who)
    notes = read_notes(theirs, pd.Timestamp(plan.start), end)
    change = describe_change(
        fit,
        sets,
        plan,
        who,
        hurt=bool(pain.flags),
        withheld=health_first(who, body_mass, notes),
        body=theirs.body,
        body_mass=body_mass,
    )
    best = best_of_week(inside)
    shown = shown_loads(sets, show_body_mass=shows)
    mastered = set(completed_sets(inside).index)
    tests = set(sets_of_test_days(inside, plan).index)
    return BlockReview(
        athlete=who,
        block=plan,
        last=last,
        sets=shown,
        tests=shown.loc[sorted(tests & mastered)],
        best=_shown_best(best_loads(inside), shown),
        weekly_best=_shown_best(best, shown),
        work=_shown_work(weekly_finger_work(sets, plan), who),
        ratio=_shown_ratio(best, who),
        results=results_rows(coach_fit, who.id, plan, shows, body_mass.end_masses_kg),
        fit=fit,
        change=change,
        done=done,
        dose=dose,
        pain=pain,
        measured=describe_measures(theirs.measures, plan, who, dose),
        climbed=describe_climbs(theirs.climbs, plan, last),
        earlier=Earlier(theirs, plan, who, last, change.headline),
        pain_to_date=_pain_to_date(theirs, sets, plan, who, last) if last > end else pain,
        away=days_without(theirs.sessions),
        body_mass=body_mass,
        wrong=_wrong(logged, who),
        notes=notes,
        gaps=find_gaps(sets, who, plan, done, dose, pain),
        problems=shown_problems(theirs.problems, show_body_mass=shows),
    )


def block_results(
    logs: Logs, athlete: str, block: str = "", noise: NoiseScales | None = None
) -> pd.DataFrame:
    """Rows of results.csv of one athlete's block, as `review(...).results`, without the rest."""
    theirs, plan, fit = _fit_alone(logs, athlete, block, noise)
    last = _last_day(theirs, plan)
    who = describe_athlete(athlete, theirs.athletes, min(last.date(), plan.end))
    masses = follow_body_mass(theirs.body, plan, who).end_masses_kg
    return results_rows(fit, who.id, plan, who.show_body_mass, masses)


def block_diagnostics(
    logs: Logs, athlete: str, block: str = "", noise: NoiseScales | None = None
) -> Diagnostics | None:
    """How one athlete's fit stands to its own log (`diagnose`); None where no set tells."""
    fit = _fit_alone(logs, athlete, block, noise)[2]
    return diagnose(fit) if len(fit.evidence) else None


def _fit_alone(
    logs: Logs, athlete: str, block: str, noise: NoiseScales | None
) -> tuple[Logs, Block, StrengthFit]:
    theirs = logs.for_athlete(athlete)
    plan = logs.block_for(athlete, block)
    return theirs, plan, fit_strength(derive_sets(theirs.hangs, theirs.body, plan), plan, noise)


def _last_day(logs: Logs, plan: Block) -> pd.Timestamp:
    """The last day with an entry; the block's first where there is none."""
    frames = (logs.hangs, logs.body, logs.sessions, logs.pain, logs.measures, logs.climbs)
    return pd.Timestamp(last_logged_day(*frames) or plan.start)


def _wrong(sets: pd.DataFrame, who: Athlete) -> tuple[tuple[str, float], ...]:
    wrong = sets[sets["wrong_kg"].notna()]
    kg = wrong["wrong_kg"] if who.show_body_mass else wrong["wrong_kg"] * np.nan
    places = [f"{file}:{line}" for file, line in zip(wrong["file"], wrong["line"], strict=True)]
    return tuple(zip(places, kg.tolist(), strict=True))


def _pain_to_date(
    entries: Logs, sets: pd.DataFrame, plan: Block, who: Athlete, last: pd.Timestamp
) -> Pain:
    """Pain from the block's first day to the log's last: what comes next must know of both."""
    weeks = max(plan.weeks, plan.week_of(last.date()))
    return read_pain(entries.pain, sets, replace(plan, weeks=weeks), who, entries.sessions)


def _shown_best(best: pd.DataFrame, shown: pd.DataFrame) -> pd.DataFrame:
    """The best sets as the page may show them, found again by their place in the log."""
    keys = ["week", "file", "line"]
    at = {key: i for i, key in enumerate(records(shown, *keys))}
    columns = [*keys, *(c for c in shown.columns if c not in keys)]
    return shown[columns].iloc[[at[key] for key in records(best, *keys)]].reset_index(drop=True)


def _shown_work(work: pd.DataFrame, who: Athlete) -> pd.DataFrame:
    if who.show_body_mass:
        return work
    # kilograms times seconds beside the seconds is kilograms
    return work.assign(impulse_kg_s=np.nan, load_per_hand_kg=np.nan, unknown_sets=0)


def _shown_ratio(best: pd.DataFrame, who: Athlete) -> pd.DataFrame:
    columns = ["week", "exercise", "grip", "hand", "edge_mm", "ratio", "body_mass_kg"]
    columns += ["date", "file", "line"]
    known = best[best["ratio"].notna()] if who.show_body_mass else best.iloc[:0]
    # like with like: of each series the edge and board of most weeks alone
    places: dict[tuple[str, ...], list[str]] = {}
    rows = [
        ((row.exercise, row.grip, row.hand), f"{row.edge_mm} {row.board}")
        for row in records(known, "exercise", "grip", "hand", "edge_mm", "board")
    ]
    for key, place in rows:
        places.setdefault(key, []).append(place)
    most = {key: statistics.mode(sorted(of_series)) for key, of_series in places.items()}
    kept = np.array([place == most[key] for key, place in rows], dtype=bool)
    return known.loc[kept, columns].reset_index(drop=True)
