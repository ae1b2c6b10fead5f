"""The squad on one page: one row an athlete, and whom to look at first."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from gripbook.derive.pooled import Pooled, expected_above, pool, share_above, without_prior
from gripbook.errors import GripbookError
from gripbook.logs import Logs
from gripbook.reviews.block_review import BlockReview, review
from gripbook.reviews.change import SeriesChange, digits_of
from gripbook.strength import NoiseScales
from gripbook.words import Table, fmt, mark, say

_VERDICT_WORDS = Table(
    {
        "rise": mark("stronger"),
        "fall": mark("weaker"),
        "steady": mark("steady"),
        "unclear": mark("unclear"),
    }
)
CAPACITIES = ("hang", "repeater", "pull")
#: A squad's change is told from so many athletes on: of two, one could be worked out from the
#: other (own choice, no source).
LEAST_ATHLETES = 3


@dataclass(frozen=True, slots=True)
class CapacityChange:
    """
    One athlete's change in one capacity: the series named beforehand, else the one with most sets.

    `change_kg`, `low_kg`, `high_kg`: estimate and 90 % interval. `log_change`, `log_sd`: what the
    log alone says of the change (natural log), the model's prior taken out; NaN and infinity where
    it says nothing. `kept`: the share of a log change that the estimate shows, the rest being
    drawn to the prior. `shows`: whether the estimate lies above the smallest change that matters.
    """

    capacity: str
    series: str
    verdict: str
    change_kg: float
    low_kg: float
    high_kg: float
    log_change: float
    log_sd: float
    kept: float
    smallest_pct: float
    shows: bool

    @property
    def words(self) -> str:
        """Verdict and range in kilograms."""
        width = self.high_kg - self.low_kg
        digits = [digits_of(v, width) for v in (self.low_kg, self.high_kg)]
        low, high = (
            fmt.number(v, d, sign=True)
            for v, d in zip((self.low_kg, self.high_kg), digits, strict=True)
        )
        verdict = _VERDICT_WORDS[self.verdict]
        return say(
            "{verdict}, {low} to {high}~{unit}", verdict=verdict, low=low, high=high, unit="kg"
        )


@dataclass(frozen=True, slots=True)
class SquadChange:
    """
    What a capacity did in all athletes of one block.

    `pooled` is in log terms; `shown` athletes have an estimate above `smallest_pct`, `by_noise`
    would had nobody changed, `by_alike` had all changed alike; `share` is the estimated share of
    true changes above it (NaN where nothing spreads). `athletes` of the block, `pooled.n` measured.
    """

    block: str
    capacity: str
    pooled: Pooled
    athletes: int
    smallest_pct: float
    shown: int
    by_noise: float
    by_alike: float
    share: float

    @property
    def differ(self) -> bool:
        """Whether the athletes differ by more than noise explains."""
        return self.pooled.spread_low > 0

    @property
    def sentences(self) -> tuple[str, ...]:
        """The change, the spread, and what noise (here called chance) alone would show."""
        p, s = self.pooled, f"{fmt.number(self.smallest_pct)}{fmt.NBSP}%"
        name = fmt.sentence(fmt.EXERCISE_WORDS[self.capacity])
        mean, low, high = (
            fmt.number(100 * math.expm1(x), 1, sign=True) for x in (p.mean, p.low, p.high)
        )
        others = "" if p.n == self.athletes else say(" (the logs of the others do not tell it)")
        first = say(
            "{name}, {block}: {mean}~% on average, between {low} and {high}~%, in "
            "{n} of {athletes} athletes{others}.",
            name=name,
            block=self.block,
            mean=mean,
            low=low,
            high=high,
            n=p.n,
            athletes=self.athletes,
            others=others,
        )
        widest = fmt.with_unit(100 * math.expm1(p.spread_high), "%", 0)
        if self.differ:
            least = fmt.number(100 * math.expm1(p.spread_low), 0)
            spread = say(
                "The athletes differ by more than chance explains: a spread (SD) between "
                "{least} and {widest}.",
                least=least,
                widest=widest,
            )
        else:
            spread = say(
                "The athletes may all have changed alike: their differences are no more "
                "than chance explains (a spread, as an SD, of {widest} at most).",
                widest=widest,
            )
        noise = say(
            "{athlete_showss} a gain above {s}, the smallest that matters; had "
            "nobody changed, chance alone would put {about} there, had all changed "
            "alike {about_2}.",
            athlete_showss=fmt.sentence(
                fmt.count(self.shown, "{n} athlete shows", "{n} athletes show")
            ),
            s=s,
            about=about(self.by_noise),
            about_2=about(self.by_alike),
        )
        return first, spread, noise


def about(expected: float) -> str:
    """An expected count in words that claim no more than it knows."""
    return (
        say("hardly one")
        if expected < 0.5
        else say("about {number}", number=fmt.in_words(round(expected)))
    )


@dataclass(frozen=True, slots=True)
class SquadRow:
    """
    One athlete on the squad page. `open_first` says why to look here first ("" = no reason
    logged). `failed` tells why no review could be made.
    """

    athlete: str
    name: str
    block: str
    changes: tuple[CapacityChange, ...]
    sessions_done: int | None
    sessions_planned: int | None
    breaches: int | None
    pain_flags: int | None
    pain_words: str
    refused: int
    last: pd.Timestamp | None
    days_since_last: int | None
    open_first: str
    rank: int
    failed: str = ""
    minor: bool = False

    def change_in(self, capacity: str) -> CapacityChange | None:
        """The change in one capacity, None where it was not measured."""
        return next((c for c in self.changes if c.capacity == capacity), None)


@dataclass(frozen=True, slots=True, eq=False)
class SquadReview:
    """
    All athletes of a log folder. `last` is the squad's last logged day, `changes` what each block
    did in each capacity, where three athletes or more were measured.
    """

    name: str
    last: pd.Timestamp
    rows: tuple[SquadRow, ...]
    unplaced: int
    changes: tuple[SquadChange, ...]

    @property
    def blocks(self) -> tuple[str, ...]:
        """The blocks' names, as they come."""
        return tuple(dict.fromkeys(row.block for row in self.rows if row.block))

    @property
    def by_need(self) -> tuple[SquadRow, ...]:
        """The rows, those to open first on top, then by name; never by weight or ratio."""
        return tuple(sorted(self.rows, key=lambda r: (r.rank, r.name.casefold(), r.athlete)))


def review_squad(logs: Logs, block: str = "", noise: NoiseScales | None = None) -> SquadReview:
    """
    Review every athlete of the logs in short; with `block`, those it was planned for.

    One athlete whose review fails keeps a row that says so; the others are not touched by it.
    `noise` is as for `review`.
    """
    lasts = [
        frame["date"].max()
        for name in ("hangs", "body", "sessions", "pain", "measures", "climbs")
        for frame in (logs.frame(name),)
        if len(frame)
    ]
    last = max(lasts) if lasts else pd.Timestamp(2000, 1, 3)
    rows: list[SquadRow] = []
    named = [b for b in logs.blocks if b.name == block]
    for athlete in logs.athlete_ids:
        if block and not any(b.holds_for(athlete) for b in named):
            continue
        try:
            rows.append(_row(review(logs, athlete, block, noise), last))
        except GripbookError as err:
            rows.append(_failed(athlete, str(err)))
        except Exception as err:  # one athlete's odd log must not hide the squad
            rows.append(_failed(athlete, f"{type(err).__name__}: {err}"))
    unplaced = sum(1 for p in logs.errors if not p.athlete and p.line)
    name = logs.folder.resolve().name
    return SquadReview(name, last, tuple(rows), unplaced, tuple(_squad_changes(rows)))


def with_rows(squad: SquadReview, rows: Iterable[SquadRow]) -> SquadReview:
    """The squad with these rows, and what they say together."""
    own = tuple(rows)
    return replace(squad, rows=own, changes=tuple(_squad_changes(list(own))))


def _failed(athlete: str, reason: str) -> SquadRow:
    return SquadRow(
        athlete=athlete,
        name=athlete,
        block="",
        changes=(),
        sessions_done=None,
        sessions_planned=None,
        breaches=None,
        pain_flags=None,
        pain_words="",
        refused=0,
        last=None,
        days_since_last=None,
        open_first=say("The review failed"),
        rank=0,
        failed=reason,
    )


def _row(own: BlockReview, last: pd.Timestamp) -> SquadRow:
    refused = len({(p.file, p.line) for p in own.problems if p.severity == "error"})
    since = int((last - own.last).days)
    reasons = list(_reasons(own, refused))
    return SquadRow(
        athlete=own.athlete.id,
        name=own.athlete.name,
        block=own.block.name,
        changes=tuple(_capacity_changes(own)),
        sessions_done=own.done.sessions_done,
        sessions_planned=own.done.sessions_planned,
        breaches=len(own.dose.breaches),
        pain_flags=len(own.pain.flags),
        pain_words=_pain_words(own),
        refused=refused,
        last=own.last,
        days_since_last=since,
        open_first=fmt.sentence(fmt.clauses(text for _, text in reasons)),
        rank=min((rank for rank, _ in reasons), default=9),
        minor=bool(own.athlete.minor),
    )


def _pain_words(own: BlockReview) -> str:
    """Pain in a few words: reasons to stop, what was felt, or that nobody wrote it down."""
    if own.pain.flags:
        return fmt.count(len(own.pain.flags), "{n} reason to stop", "{n} reasons to stop")
    if not own.pain.recorded:
        return say("not recorded")
    days = own.sets.loc[own.sets["in_block"] & ~own.sets["warmup"], "date"].nunique()
    asked = own.pain.entries["date"].nunique()
    felt = own.pain.felt["date"].nunique()
    known = (
        say("felt on {felt} of {asked} days asked", felt=felt, asked=asked)
        if felt
        else say("none on {asked} days asked", asked=asked)
    )
    return fmt.clauses([known, fmt.count(days, "{n} finger day", "{n} finger days")])


def _capacity_changes(own: BlockReview) -> Iterable[CapacityChange]:
    """The athlete's main series of each capacity, of those that were measured."""
    for capacity in CAPACITIES:
        told = [s for s in own.change.series if s.fit.capacity == capacity and s.fit.ok]
        told = [s for s in told if not s.fit.at_least and math.isfinite(s.low_kg)]
        headline = own.change.headline
        if told:
            first = max(told, key=lambda s: (s is headline, s.fit.sets))
            yield _capacity_change(own, first)


def _capacity_change(own: BlockReview, s: SeriesChange) -> CapacityChange:
    fit = own.fit
    sd = fit.change_sd(s.fit.key)
    prior = _prior_change_sd(own, s)
    alone, alone_sd = without_prior(math.log1p(s.fit.change_pct / 100), sd, prior)
    return CapacityChange(
        capacity=s.fit.capacity,
        series=fmt.series(s.fit.grip, s.fit.hand),
        verdict=s.fit.verdict,
        change_kg=s.fit.change_pct / 100 * s.fit.start_kg,
        low_kg=s.low_kg,
        high_kg=s.high_kg,
        log_change=alone,
        log_sd=alone_sd,
        kept=max(0.0, 1 - (sd / prior) ** 2),
        smallest_pct=s.fit.smallest_pct,
        shows=s.fit.change_pct > s.fit.smallest_pct,
    )


def _prior_change_sd(own: BlockReview, s: SeriesChange) -> float:
    """The model's own SD of a log change before any set."""
    return own.fit.prior_change_sd(s.fit.key)


def _squad_changes(rows: list[SquadRow]) -> Iterable[SquadChange]:
    """Each block's change in each capacity, pooled over its athletes."""
    for block in dict.fromkeys(r.block for r in rows if not r.failed):
        members = [r for r in rows if r.block == block and not r.failed]
        for capacity in CAPACITIES:
            known = [
                c
                for r in members
                for c in (r.change_in(capacity),)
                if c is not None and math.isfinite(c.log_sd)
            ]
            if len(known) >= LEAST_ATHLETES:
                yield _squad_change(block, capacity, known, len(members))


def _squad_change(
    block: str, capacity: str, known: list[CapacityChange], athletes: int
) -> SquadChange:
    values = np.array([c.log_change for c in known])
    sds = np.array([c.log_sd for c in known])
    pooled = pool(values, sds)
    smallest_pct = Counter(c.smallest_pct for c in known).most_common(1)[0][0]
    smallest = math.log1p(smallest_pct / 100)
    # an estimate drawn to the prior shows the smallest change only from a larger one on
    shown_from = np.array([math.log1p(c.smallest_pct / 100) / c.kept for c in known])
    return SquadChange(
        block=block,
        capacity=capacity,
        pooled=pooled,
        athletes=athletes,
        smallest_pct=smallest_pct,
        shown=sum(c.shows for c in known),
        by_noise=expected_above(sds, 0.0, shown_from),
        by_alike=expected_above(sds, pooled.alike, shown_from),
        share=share_above(pooled.mean, pooled.spread, smallest),
    )


def _reasons(own: BlockReview, refused: int) -> Iterable[tuple[int, str]]:
    """Why to look at this athlete first, weightiest first, each with its rank."""
    if own.pain.flags:
        flag = own.pain.flags[0]
        yield 1, say("pain, {place}: {facts}", place=flag.place, facts=flag.facts)
    if own.body_mass.sentence:
        yield 2, say("one point for a physician: see page")
    if own.dose.breaches:
        yield (
            2,
            say(
                "{limits} broken",
                limits=fmt.count(len(own.dose.breaches), "{n} limit", "{n} limits"),
            ),
        )
    falls = [c for c in _capacity_changes(own) if c.verdict == "fall"]
    if falls:
        told = fmt.listing(fmt.EXERCISE_WORDS[c.capacity] for c in falls)
        yield 3, say("weaker in {told}", told=told)
    missed = own.done.missed_weeks
    if missed:
        weeks = own.done.weeks.set_index("week")["without"]
        why = ", ".join(dict.fromkeys(w for w in weeks[missed] if w))
        yield (
            3,
            say("no finger session in {weeks}", weeks=fmt.weeks(missed))
            + (f" ({why})" if why else ""),
        )
    if refused:
        yield 4, say("{rows} of the log not usable", rows=fmt.count(refused, "{n} row", "{n} rows"))
