"""Did the dose keep to its limits: days a week, rest between, minutes, sets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import pandas as pd

from gripbook.derive import (
    daily_load,
    days_by_kind,
    finger_sessions,
    loading_days,
    rest_between,
    weekly_load,
)
from gripbook.derive.records import records
from gripbook.derive.weeks import HARD_CLIMBING_EFFORT
from gripbook.logs import Block
from gripbook.reviews.people import Athlete
from gripbook.words import fmt, mark, say

Limit = Literal[
    "fingers_per_week",
    "rest_days_between_finger_days",
    "finger_session_minutes",
    "sets_per_session",
    "pulls_in_first_block",
]

#: Why no ratio of loads stands on the page.
NO_RATIO = mark(
    "No risk of injury is worked out from these loads. The ratio of the last "
    "week to the last four looks like a predictor, but dividing by a fixed "
    "or even a random number does about as well (Impellizzeri et al. 2020, "
    "Sports Medicine, doi 10.1007/s40279-020-01378-6); the two weeks share "
    "days, which alone ties them together (Lolli et al. 2019, British "
    "Journal of Sports Medicine 53:921-922); and load measures cannot tell "
    "whether a change raises or lowers the risk (Impellizzeri et al. 2020, "
    "Journal of Athletic Training 55:893-901; Wang et al. 2020, Sports "
    "Medicine 50:1243-1254). So the figures describe what was done and no "
    "more."
)
#: Published advice on young climbers' fingers, for pages of anyone under 18.
YOUTH_NOTES = (
    mark(
        "Intensive finger strength training is not recommended for adolescents "
        "(Morrison and Schöffl 2007, British Journal of Sports Medicine "
        "41:852-861)."
    ),
    mark(
        "Pain at the back of a finger's middle joint in an adolescent climber "
        "must be looked into promptly; it can be an injury of the growing bone "
        "(Jones et al. 2022, Current Sports Medicine Reports 21:436-442)."
    ),
)
#: Step in load once the repetitions are passed, per cent (ACSM: Ratamess et al. 2009, Med Sci
#: Sports Exerc 41:687-708). Strength training in general; nothing of the kind is published for
#: finger hangs, so it is printed as a note and is no limit.
ACSM_STEP_PCT = (2.0, 10.0)


@dataclass(frozen=True, slots=True)
class Breach:
    """
    One limit not kept: which, in which block week, on which day (None: the week), figures.

    `estimated`: minutes come from sets and rests, none are logged. `rows`: the log rows it rests
    on, as `file:line`.
    """

    limit: Limit
    week: int
    date: pd.Timestamp | None
    figure: float
    allowed: float
    estimated: bool = False
    rows: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """The breach in one sentence."""
        day = fmt.day(self.date.date(), year=False) if self.date is not None else ""
        allowed = fmt.number(self.allowed, 0)
        figure = fmt.number(self.figure, 0)
        if self.limit == "fingers_per_week":
            return say(
                "Week {week}: {figure} finger days, limit {allowed}.",
                week=self.week,
                figure=figure,
                allowed=allowed,
            )
        if self.limit == "rest_days_between_finger_days":
            between = fmt.count(int(self.figure), "{n} rest day", "{n} rest days")
            since = say("{between} since the finger day before", between=between)
            return say(
                "Week {week}, {day}: {since}, at least {allowed}.",
                week=self.week,
                day=day,
                since=since,
                allowed=allowed,
            )
        if self.limit == "finger_session_minutes":
            how = say(" by sets and rests (not logged)") if self.estimated else ""
            return say(
                "Week {week}, {day}: {figure} minutes of finger work{how}, limit {allowed}.",
                week=self.week,
                day=day,
                figure=figure,
                how=how,
                allowed=allowed,
            )
        if self.limit == "pulls_in_first_block":
            return say(
                "Week {week}, {day}: {all_out_pulls}; a beginner's first block has none "
                "(common practice, no source).",
                week=self.week,
                day=day,
                all_out_pulls=fmt.count(int(self.figure), "{n} all-out pull", "{n} all-out pulls"),
            )
        return say(
            "Week {week}, {day}: {figure} sets, planned {allowed} a session.",
            week=self.week,
            day=day,
            figure=figure,
            allowed=allowed,
        )


@dataclass(frozen=True, slots=True, eq=False)
class Dose:
    """
    The dose and its limits.

    `days`: daily loads (`daily_load`). `weeks`: weekly loads (`weekly_load`).
    `kinds`: days a week by kind of work (index: block week). `sessions`: finger sessions.
    `targets`: days a week planned for other work, one row per week and kind with `planned` and
    `done`; a target is no limit. `breaches`: limits not kept, in order of day. `youth`: what in
    the log of someone under 18 lies outside published advice, in words.
    """

    days: pd.DataFrame
    weeks: pd.DataFrame
    kinds: pd.DataFrame
    sessions: pd.DataFrame
    targets: pd.DataFrame
    breaches: tuple[Breach, ...]
    youth: tuple[str, ...] = ()


def check_dose(
    sets: pd.DataFrame,
    sessions: pd.DataFrame,
    block: Block,
    last: pd.Timestamp,
    athlete: Athlete | None = None,
) -> Dose:
    """
    Hold one athlete's block against its limits.

    Parameters
    ----------
    sets : derived sets; sessions : rows of sessions.csv; last : the log's last day, beyond which
        nothing is judged. athlete : decides whether a beginner's first block is assumed, whether
        advice for the young applies, and whether impulse may be told.
    """
    end = min(pd.Timestamp(block.end), last)
    days = daily_load(sessions, sets, block.start, max(end.date(), block.start))
    kinds = days_by_kind(sessions, sets, block)
    done = finger_sessions(sets[sets["in_block"]], sessions, block)
    begun = [
        w for w in kinds.index if pd.Timestamp(block.start) + pd.Timedelta(7 * (w - 1), "D") <= end
    ]
    days_of = {kind: column.to_dict() for kind, column in kinds.items()}
    targets = pd.DataFrame(
        [
            {"week": w, "kind": kind, "planned": planned, "done": days_of[kind][w]}
            for w in begun
            for kind, planned in block.weekly_in(w).items()
        ],
        columns=["week", "kind", "planned", "done"],
    )
    breaches = sorted(
        [
            *_too_many_days(kinds, block, sets, sessions),
            *_too_little_rest(sessions, sets, block),
            *_too_long(done, block, sets, sessions),
            *_too_many_sets(done, block, sets),
            *_pulls_of_beginner(sets, block, athlete),
        ],
        key=lambda b: (b.week, b.date or pd.Timestamp.min, b.limit),
    )
    if athlete is not None and not athlete.show_body_mass:
        done = done.assign(impulse_kg_s=np.nan)  # beside the seconds it is kilograms
    youth = _youth(sets, block) if athlete is not None and athlete.minor else ()
    weeks = weekly_load(days, block)
    return Dose(days, weeks, kinds, done, targets, tuple(breaches), youth)


def first_block_assumed(block: Block, athlete: Athlete | None) -> bool:
    """Whether a beginner's first block is taken: no plan, and not a year of finger work known."""
    if block.given:
        return False
    since = athlete.fingers_since if athlete else ""
    year, _, month = since.partition("-")
    if not year.isdigit():
        return True
    begun = int(year) * 12 + (int(month) if month.isdigit() else 12)
    return block.start.year * 12 + block.start.month - begun < 12


def _pulls_of_beginner(sets: pd.DataFrame, block: Block, athlete: Athlete | None) -> list[Breach]:
    if not first_block_assumed(block, athlete):
        return []
    pulls = sets[sets["in_block"] & (sets["exercise"] == "pull") & ~sets["warmup"]]
    return [
        Breach(
            "pulls_in_first_block",
            int(own["week"].iloc[0]),
            day,
            float(own["sets"].sum()),
            0.0,
            rows=_rows_of(own),
        )
        for day, own in pulls.groupby("date")
    ]


def _youth(sets: pd.DataFrame, block: Block) -> tuple[str, ...]:
    """What someone under 18 logged of intensive finger work: pulls, tests, sets to failure."""
    own = sets[sets["in_block"] & ~sets["warmup"]]
    kinds = {
        say("all-out pulls"): own["exercise"] == "pull",
        say("maximal tests"): own["test"],
        say("sets to failure"): own["outcome"] == "failed",
    }
    told = [
        say("{words} in {weeks}", words=words, weeks=fmt.weeks(own.loc[rows, "week"]))
        for words, rows in kinds.items()
        if rows.any()
    ]
    if not told:
        return ()
    return (
        say(
            "{told}: outside published advice for climbers under 18; coach and guardian decide.",
            told=fmt.sentence(fmt.listing(told)),
        ),
    )


def _rows_of(*frames: pd.DataFrame) -> tuple[str, ...]:
    """The log rows of some frames as `file:line`, each once."""
    found = [
        f"{file}:{line}"
        for frame in frames
        for file, line in zip(frame["file"], frame["line"], strict=True)
    ]
    return tuple(dict.fromkeys(found))


def _finger_rows(
    sets: pd.DataFrame, sessions: pd.DataFrame, days: list[pd.Timestamp], *, hard: bool = False
) -> tuple[str, ...]:
    """The rows that make these days finger days (`hard`: hard climbing too)."""
    kinds = sessions["kind"] == "fingers"
    if hard:
        kinds |= (sessions["kind"] == "climbing") & (sessions["effort"] >= HARD_CLIMBING_EFFORT)
    return _rows_of(sets[sets["date"].isin(days)], sessions[kinds & sessions["date"].isin(days)])


def _too_many_days(
    kinds: pd.DataFrame, block: Block, sets: pd.DataFrame, sessions: pd.DataFrame
) -> list[Breach]:
    limit = block.limits.fingers_per_week
    over = kinds.loc[kinds["fingers"] > limit, "fingers"]
    found = []
    for week, n in over.items():
        start = pd.Timestamp(block.start) + pd.Timedelta(days=7 * (int(str(week)) - 1))
        seven = list(pd.date_range(start, periods=7, freq="D"))
        rows = _finger_rows(sets, sessions, seven)
        found.append(Breach("fingers_per_week", int(str(week)), None, float(n), limit, rows=rows))
    return found


def _too_little_rest(sessions: pd.DataFrame, sets: pd.DataFrame, block: Block) -> list[Breach]:
    limit = block.limits.rest_days_between_finger_days
    rest = rest_between(loading_days(sessions, sets))
    start, end = pd.Timestamp(block.start), pd.Timestamp(block.end)
    # a pair of hard climbing days is the climber's own affair; a limit on finger days needs one
    fingers = set(sets["date"]) | set(sessions.loc[sessions["kind"] == "fingers", "date"])
    return [
        Breach(
            "rest_days_between_finger_days",
            int((day - start).days // 7 + 1),
            day,
            float(n),
            limit,
            rows=_finger_rows(sets, sessions, [before, day], hard=True),
        )
        for day, before, n in zip(rest["date"], rest["before"], rest["rest_days"], strict=True)
        if n < limit and start <= day <= end and (day in fingers or before in fingers)
    ]


def _too_long(
    done: pd.DataFrame, block: Block, sets: pd.DataFrame, sessions: pd.DataFrame
) -> list[Breach]:
    limit = block.limits.finger_session_minutes
    # the minutes logged count; where none are, those estimated from sets and rests
    estimated = done["minutes_logged"].isna()
    minutes = done["minutes_logged"].fillna(done["minutes_estimated"])
    if not (minutes > limit).any():
        return []
    logged = sessions[sessions["kind"] == "fingers"]
    return [
        Breach(
            "finger_session_minutes",
            int(s.week),
            s.date,
            float(minutes[s.Index]),
            limit,
            estimated=bool(estimated[s.Index]),
            rows=_rows_of(_own_sets(sets, s), logged[logged["date"] == s.date]),
        )
        for s in done[minutes > limit].itertuples()
    ]


def _too_many_sets(done: pd.DataFrame, block: Block, sets: pd.DataFrame) -> list[Breach]:
    found = []
    for s in records(done):
        phase = block.phase_in(int(s.week), s.exercise)
        planned = phase.sets_per_session if phase and phase.exercise == s.exercise else None
        if planned is not None and s.sets > planned:
            rows = _rows_of(_own_sets(sets, s))
            found.append(
                Breach(
                    "sets_per_session",
                    int(s.week),
                    s.date,
                    float(s.sets),
                    float(planned),
                    rows=rows,
                )
            )
    return found


def _own_sets(sets: pd.DataFrame, session: Any) -> pd.DataFrame:
    return sets[(sets["date"] == session.date) & (sets["session"] == session.session)]


def missing_minutes(dose: Dose) -> int:
    """Finger sessions whose minutes were not logged."""
    return int(np.count_nonzero(dose.sessions["minutes_logged"].isna()))


def step_note(steps: pd.DataFrame) -> str:
    """
    Steps up in load from week to week beside general guidance: a note, never a limit.

    Parameters
    ----------
    steps : `Done.steps`. All-out pulls are left out: their load is a result, not a choice.
    """
    known = steps[(steps["exercise"] != "pull") & steps["step_pct"].notna()]
    up = known[known["step_pct"] >= 0.5]  # less is body mass, not a step
    if up.empty:
        return ""
    top = up.loc[up["step_pct"].idxmax()]
    low, high = ACSM_STEP_PCT
    over = up[up["step_pct"] > high + 1e-9]
    text = say(
        "Load on the fingers went up from one week to the next in {up} of "
        "{known} comparisons, at most by {step_pct} ({exercise_words}, {grip}, "
        "week {week})",
        up=len(up),
        known=len(known),
        step_pct=fmt.with_unit(top["step_pct"], "%", 0),
        exercise_words=fmt.EXERCISE_WORDS[top["exercise"]],
        grip=fmt.series(top["grip"], top["hand"]),
        week=int(top["week"]),
    )
    if len(over):
        text += say("; above {high}~%: {over}", high=fmt.number(high), over=len(over))
    return text + (
        say(
            ". A note, not a limit: for strength training in general ACSM (2009) "
            "names steps of {low} to {high}~% once the planned repetitions are "
            "passed; for finger hangs nothing of the kind is published.",
            low=fmt.number(low),
            high=fmt.number(high),
        )
    )
