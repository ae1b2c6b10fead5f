"""The squad as facts: one row an athlete, and whom to call first."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

import numpy as np
import pandas as pd

from gripbook.derive.pooled import (
    Pooled,
    chance_alike,
    expected_above,
    pool,
    share_above,
    without_prior,
)
from gripbook.display import Displayed
from gripbook.errors import GripbookError
from gripbook.logs import Logs
from gripbook.reviews.block_review import BlockReview, review
from gripbook.reviews.body_mass import Fall
from gripbook.reviews.change_facts import ChangeVerdict, SeriesChange
from gripbook.reviews.columns import described, typed
from gripbook.reviews.done import MOST_OF_A_WEEK
from gripbook.reviews.pain import PainFlag
from gripbook.strength import NoiseScales
from gripbook.strength.reasons import SeriesReason

CAPACITIES: Final = ("hang", "repeater", "pull")
#: A squad's change is given from so many athletes on: of two, one could be worked out from the
#: other (own choice, no source).
LEAST_ATHLETES: Final = 3
#: Share of squads in which all changed alike that may be said to differ. A block is tested in each
#: capacity, so each test gets an equal part of it (Bonferroni).
FALSE_DIFFERENCE_SHARE: Final = 0.05
#: An athlete without an entry for so many days of their block, while others log, is flagged (own
#: choice, no source). After a block silence says nothing.
SILENT_DAYS: Final = 14
#: Pain below the limit is told where it was felt in so many days before the last entry (own choice,
#: no source).
RECENT_PAIN_DAYS: Final = 28


class FlagKind(StrEnum):
    """Reasons to call an athlete, the weightiest first: the order of the squad page."""

    REVIEW_FAILED = "review_failed"
    PAIN_AT_LIMIT = "pain_at_limit"
    INJURY_NOTE = "injury_note"
    ENERGY_NOTE = "energy_note"
    PHYSICIAN = "physician"
    PAIN_RISING = "pain_rising"
    CLEARED = "cleared"
    INJURED = "injured"
    PAIN_BELOW_LIMIT = "pain_below_limit"
    LIMIT_BROKEN = "limit_broken"
    WEAKER = "weaker"
    SESSIONS_MISSING = "sessions_missing"
    MORE_SETS = "more_sets"
    NOTHING_LOGGED = "nothing_logged"
    ROWS_REFUSED = "rows_refused"
    PAIN_NOT_NOTED = "pain_not_noted"


#: Flags whose first words a page sets apart: they concern health.
HEALTH: Final = (
    FlagKind.PAIN_AT_LIMIT,
    FlagKind.INJURY_NOTE,
    FlagKind.ENERGY_NOTE,
    FlagKind.PHYSICIAN,
)
_ORDER: Final = tuple(FlagKind)


@dataclass(frozen=True, slots=True)
class SquadFlag:
    """
    One reason to call an athlete; fields that its kind does not need are empty.

    Attributes
    ----------
    kind : the reason.
    site, side, level, date : of pain, as logged: its place, highest level (NaN: not noted), and the
        day of that level. limit : the block's limit of pain.
    fall : of body mass; None where it is hidden. over : name of the broken limit, figure : its
        worst value, least : its mildest, allowed : what is allowed, number : how often, weeks :
        block weeks (also of missing sessions). capacities : weaker in these.
    number : sessions missing, days since the last entry, days injured, rows, or notes to read.
    since : the last entry; of pain, the last day before it rose; the day of a clearance.
    minor : of someone under 18 (notes of eating less). note : of a clearance, as logged.
    grips : weaker ones beside a main grip that is not.
    """

    kind: FlagKind
    site: str = ""
    side: str = ""
    level: float = math.nan
    date: pd.Timestamp | None = None
    limit: float = math.nan
    fall: Fall | None = None
    over: str = ""
    figure: float = math.nan
    allowed: float = math.nan
    weeks: tuple[int, ...] = ()
    capacities: tuple[str, ...] = ()
    number: int = 0
    since: pd.Timestamp | None = None
    minor: bool = False
    least: float = math.nan
    note: str = ""
    grips: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CapacityMark:
    """
    An athlete's mark in one capacity on the common scale.

    It is that of the series named beforehand, else of the one with most sets; of two hands, the one
    that gained less.

    Attributes
    ----------
    capacity, grip, hand : what it is. verdict, tenths : as on the athlete's page.
    change_pct, low_pct, high_pct : change and 90 % range in per cent of the start; NaN where not
        measured or where body mass is hidden. sure : whether the range lies on one side of no
        change. hidden : measured, but told on the athlete's own page alone.
    reasons : why it was not measured. one_day : whether all its sets are of one day.
    fell : other grips of that capacity which are weaker, where this one is not.
    """

    capacity: str
    grip: str
    hand: str
    verdict: ChangeVerdict
    tenths: int
    change_pct: float
    low_pct: float
    high_pct: float
    reasons: tuple[SeriesReason, ...]
    one_day: bool
    fell: tuple[str, ...] = ()
    hidden: bool = False

    @property
    def sure(self) -> bool:
        """Whether the whole range lies on one side of no change."""
        return self.low_pct > 0 or self.high_pct < 0


@dataclass(frozen=True, slots=True)
class CapacityChange:
    """
    One athlete's change in one capacity for pooling.

    It is that of the series named beforehand, else of the one with most sets.

    Attributes
    ----------
    log_change, log_sd : what the log alone says of the change (natural log), the model's prior
        taken out; NaN and infinity where it says nothing. kept : the share of a log change that
        the estimate shows, the rest being drawn to the prior. smallest_pct : the smallest change
        that matters. shows : whether the estimate lies above it.
    """

    capacity: str
    log_change: float
    log_sd: float
    kept: float
    smallest_pct: float
    shows: bool


@dataclass(frozen=True, slots=True)
class SquadChange:
    """
    What a capacity did in all athletes of one block.

    Attributes
    ----------
    pooled : in log terms. athletes : of the block; `pooled.n` of them are measured.
    smallest_pct : the smallest change that matters. shown : athletes with an estimate above it;
        by_noise : how many would show it had nobody changed; by_alike : had all changed alike.
    share : estimated share of true changes above it (NaN where nothing spreads).
    differ : whether the athletes differ by more than chance explains. Where all changed alike, a
        block is wrongly said to differ, in any of its capacities, in at most
        `FALSE_DIFFERENCE_SHARE` of squads.
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
    differ: bool

    @property
    def mean_pct(self) -> float:
        """Mean change in per cent."""
        return 100 * math.expm1(self.pooled.mean)

    @property
    def range_pct(self) -> tuple[float, float]:
        """Its 90 % range in per cent."""
        return 100 * math.expm1(self.pooled.low), 100 * math.expm1(self.pooled.high)


@dataclass(frozen=True, slots=True)
class SquadRow:
    """
    One athlete on the squad page.

    Attributes
    ----------
    flags : reasons to call, the weightiest first; none is no sign that all is well.
    marks : one a capacity that has sets, in the order of `CAPACITIES`.
    changes : the same for pooling. sessions_done, sessions_planned : finger sessions; None without
        a plan. notes : notes in the athlete's words. refused : rows not readable.
    last, block_end : days of the athlete's last entry and of the block's end.
    failed : why no review could be made.
    """

    athlete: str
    name: str
    block: str
    flags: tuple[SquadFlag, ...]
    marks: tuple[CapacityMark, ...] = ()
    changes: tuple[CapacityChange, ...] = ()
    sessions_done: int | None = None
    sessions_planned: int | None = None
    notes: int = 0
    refused: int = 0
    last: pd.Timestamp | None = None
    block_end: pd.Timestamp | None = None
    failed: str = ""
    minor: bool = False
    hides_body_mass: bool = False

    @property
    def rank(self) -> int:
        """Place of the weightiest flag; one beyond the last without any."""
        return min((_ORDER.index(f.kind) for f in self.flags), default=len(_ORDER))

    def mark_in(self, capacity: str) -> CapacityMark | None:
        """The mark in one capacity, None where there are no sets of it."""
        return next((m for m in self.marks if m.capacity == capacity), None)

    def change_in(self, capacity: str) -> CapacityChange | None:
        """The change in one capacity, None where it was not measured."""
        return next((c for c in self.changes if c.capacity == capacity), None)


#: The frames of a squad, in the order of its page.
SQUAD_FRAMES: Final = ("athletes", "flags", "marks", "together")


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class SquadTables(Displayed):
    """The frames of one squad; in a notebook it lists them."""

    squad: SquadReview

    def __repr__(self) -> str:
        return f"<Tables of {self.squad.name!r}: {', '.join(SQUAD_FRAMES)}; see .columns>"

    @property
    def columns(self) -> pd.DataFrame:
        """Every column of every frame: `table`, `column`, `dtype`, `unit`, `meaning`."""
        return described(SQUAD_FRAMES)

    @property
    def athletes(self) -> pd.DataFrame:
        """A row an athlete, those to call first on top."""
        rows = [
            {
                **{name: getattr(row, name) for name in SquadRow.__slots__},
                "flags": len(row.flags),
                "first_flag": row.flags[0].kind.value if row.flags else "",
            }
            for row in self.squad.by_need
        ]
        return typed(pd.DataFrame(rows), "athletes")

    @property
    def flags(self) -> pd.DataFrame:
        """A row a reason to call, in the order of `athletes`."""
        rows = [
            {
                **{name: getattr(flag, name) for name in SquadFlag.__slots__},
                "athlete": row.athlete,
                "kind": flag.kind.value,
                "weeks": ", ".join(map(str, flag.weeks)),
                "capacities": ", ".join(flag.capacities),
                "grips": ", ".join(flag.grips),
            }
            for row in self.squad.by_need
            for flag in row.flags
        ]
        return typed(pd.DataFrame(rows), "flags")

    @property
    def marks(self) -> pd.DataFrame:
        """A row an athlete and capacity: the change that the squad's page shows."""
        rows = [
            {
                **{name: getattr(mark, name) for name in CapacityMark.__slots__},
                "athlete": row.athlete,
                "verdict": mark.verdict.value,
            }
            for row in self.squad.by_need
            for mark in row.marks
        ]
        return typed(pd.DataFrame(rows), "marks")

    @property
    def together(self) -> pd.DataFrame:
        """A row a block and capacity: mean and spread of the athletes' changes."""
        rows = [
            {
                **{name: getattr(change, name) for name in SquadChange.__slots__},
                "measured": change.pooled.n,
                "mean_pct": change.mean_pct,
                "low_pct": change.range_pct[0],
                "high_pct": change.range_pct[1],
                "spread_pct": 100 * math.expm1(change.pooled.spread),
            }
            for change in self.squad.changes
        ]
        return typed(pd.DataFrame(rows), "together")


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class SquadReview(Displayed):
    """
    All athletes of a log folder.

    Attributes
    ----------
    name : the folder's. last : the squad's last logged day. unplaced : refused rows of nobody.
    changes : what each block did in each capacity, where three athletes or more were measured.
    ids : everyone in the logs, those without a row here too: the names of pages depend on them.
    """

    name: str
    last: pd.Timestamp
    rows: tuple[SquadRow, ...]
    unplaced: int
    changes: tuple[SquadChange, ...]
    ids: tuple[str, ...] = ()

    def __repr__(self) -> str:
        """Name folder and numbers; the rest is in its fields."""
        return f"<SquadReview of {self.name!r}: {len(self.rows)} athletes, to {self.last:%Y-%m-%d}>"

    @property
    def tables(self) -> SquadTables:
        """Tidy frames of all that was found."""
        return SquadTables(self)

    @property
    def blocks(self) -> tuple[str, ...]:
        """The blocks' names, as they come."""
        return tuple(dict.fromkeys(row.block for row in self.rows if row.block))

    @property
    def by_need(self) -> tuple[SquadRow, ...]:
        """The rows, those to call first on top, then by name; never by weight or change."""
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
            rows.append(squad_row(review(logs, athlete, block, noise)))
        except GripbookError as err:
            rows.append(failed_row(athlete, str(err)))
        except Exception as err:  # one athlete's odd log must not hide the squad
            rows.append(failed_row(athlete, f"{type(err).__name__}: {err}"))
    unplaced = sum(1 for p in logs.errors if not p.athlete and p.line)
    name = logs.folder.resolve().name
    return with_rows(SquadReview(name, last, (), unplaced, (), logs.athlete_ids), rows)


def with_rows(squad: SquadReview, rows: Iterable[SquadRow]) -> SquadReview:
    """The squad with these rows as of its last logged day, and what they say together."""
    kept = tuple(_as_of(row, squad.last) for row in rows)
    return replace(squad, rows=kept, changes=tuple(squad_changes(list(kept))))


def failed_row(athlete: str, reason: str) -> SquadRow:
    """The row of an athlete who could not be reviewed, and why."""
    return SquadRow(athlete, athlete, "", (SquadFlag(FlagKind.REVIEW_FAILED),), failed=reason)


def _as_of(row: SquadRow, last: pd.Timestamp) -> SquadRow:
    """The row with a flag if nothing was logged while the squad, up to `last`, went on."""
    if row.last is None or row.block_end is None:
        return row
    days = (min(last, row.block_end) - row.last).days
    if days < SILENT_DAYS:
        return row
    silent = SquadFlag(FlagKind.NOTHING_LOGGED, number=days, since=row.last)
    return replace(row, flags=_in_order((*row.flags, silent)))


def _in_order(flags: Iterable[SquadFlag]) -> tuple[SquadFlag, ...]:
    return tuple(sorted(flags, key=lambda f: _ORDER.index(f.kind)))


def squad_row(r: BlockReview) -> SquadRow:
    """The row of a reviewed athlete, as their log alone has it."""
    refused = len({(p.file, p.line) for p in r.problems if p.severity == "error"})
    marks = tuple(_marks(r))
    return SquadRow(
        athlete=r.athlete.id,
        name=r.athlete.name,
        block=r.block.name,
        flags=_in_order(_flags(r, marks, refused)),
        marks=marks,
        changes=tuple(_capacity_changes(r)),
        sessions_done=r.done.sessions_done,
        sessions_planned=r.done.sessions_planned,
        notes=len(r.notes.inside),
        refused=refused,
        last=r.last,
        block_end=pd.Timestamp(r.block.end),
        minor=bool(r.athlete.minor),
        hides_body_mass=not r.athlete.show_body_mass,
    )


# --- flags ------------------------------------------------------------------------------------


def _flags(r: BlockReview, marks: Iterable[CapacityMark], refused: int) -> Iterable[SquadFlag]:
    """Reasons to call an athlete."""
    for flag in r.pain_to_date.flags:
        yield _pain_flag(flag)
    yield from _past_pain(r)
    if r.notes.to_read:
        first = r.notes.to_read[0]
        yield SquadFlag(FlagKind.INJURY_NOTE, date=first.date, number=len(r.notes.to_read))
    if r.notes.of_energy:
        eaten = r.notes.of_energy
        yield SquadFlag(
            FlagKind.ENERGY_NOTE, date=eaten[0].date, number=len(eaten), minor=bool(r.athlete.minor)
        )
    # where body mass is hidden, the note says all that may be said
    if r.body_mass.fall is not None or (r.body_mass.fell and not r.notes.of_energy):
        yield SquadFlag(FlagKind.PHYSICIAN, fall=r.body_mass.fall)
    for over in dict.fromkeys(b.limit for b in r.dose.breaches):
        breaches = [b for b in r.dose.breaches if b.limit == over]
        least = over == "rest_days_between_finger_days"
        figures = [b.figure for b in breaches]
        yield SquadFlag(
            # a plan's sets are no limit
            FlagKind.MORE_SETS if over == "sets_per_session" else FlagKind.LIMIT_BROKEN,
            over=over,
            figure=float(min(figures) if least else max(figures)),
            least=float(max(figures) if least else min(figures)),
            number=len(breaches),
            allowed=float(breaches[0].allowed),
            weeks=tuple(sorted({b.week for b in breaches})),
        )
    falls = tuple(m.capacity for m in marks if m.verdict is ChangeVerdict.WEAKER)
    if falls:
        yield SquadFlag(FlagKind.WEAKER, capacities=falls)
    for m in marks:
        if m.fell:
            yield SquadFlag(FlagKind.WEAKER, capacities=(m.capacity,), grips=m.fell)
    planned = r.done.sessions_planned
    excused = set(r.done.weeks.loc[r.done.days_without >= MOST_OF_A_WEEK, "week"])
    missed = tuple(w for w in r.done.missed_weeks if w not in excused)
    if missed:
        yield SquadFlag(
            FlagKind.SESSIONS_MISSING,
            weeks=missed,
            number=max((planned or 0) - r.done.sessions_done, 0),
        )
    if refused:
        yield SquadFlag(FlagKind.ROWS_REFUSED, number=refused)
    if not r.pain.recorded and r.done.sessions_done:
        yield SquadFlag(FlagKind.PAIN_NOT_NOTED)


def _past_pain(r: BlockReview) -> Iterable[SquadFlag]:
    """What was cleared, and with what limits; days injured; pain below the block's limit."""
    pain = r.pain_to_date
    if pain.cleared:
        last = pain.cleared[-1]
        ended = [f for f in pain.all_flags if f.cleared is not None and f.worst is not None]
        worst = max(ended, key=lambda f: f.worst.level if f.worst else 0.0, default=None)
        felt = replace(_pain_flag(worst), since=None) if worst else SquadFlag(FlagKind.CLEARED)
        yield replace(felt, kind=FlagKind.CLEARED, since=last.date, note=last.note)
    injured = [n for days in r.done.weeks["without"] for kind, n in days if kind == "injured"]
    if injured:
        yield SquadFlag(FlagKind.INJURED, number=sum(injured))
    if pain.all_flags:
        return
    since = r.last - pd.Timedelta(days=RECENT_PAIN_DAYS)
    recent = pain.felt[pain.felt["date"] > since]
    if len(recent):
        top = recent.loc[recent["level"].fillna(0.0).idxmax()]
        yield SquadFlag(
            FlagKind.PAIN_BELOW_LIMIT,
            site=str(top["site"]),
            side=str(top["side"]),
            level=float(top["level"]),
            date=top["date"],
            limit=pain.limit,
        )


def _pain_flag(flag: PainFlag) -> SquadFlag:
    below = flag.reason in ("morning", "rising")
    return SquadFlag(
        FlagKind.PAIN_RISING if below else FlagKind.PAIN_AT_LIMIT,
        site=flag.site,
        side=flag.logged_side,
        level=flag.worst.level if flag.worst else math.nan,
        date=flag.worst.date if flag.worst else flag.last,
        limit=flag.limit,
        since=flag.rising_since if flag.rising else None,
    )


# --- marks ------------------------------------------------------------------------------------


def _main(r: BlockReview, capacity: str) -> list[SeriesChange]:
    """The series that stands for a capacity: named beforehand, else most sets; both its hands."""
    series = [s for s in r.change.series if s.capacity == capacity]
    if not series:
        return []
    headline = r.change.headline
    first = max(
        series,
        key=lambda s: (
            s is headline,
            s.measured,
            headline is not None and s.grip == headline.grip,
            s.fit.sets,
        ),
    )
    alike = [
        s
        for s in series
        if s.grip == first.grip and s.load_kind == first.load_kind and s.hand != "both"
    ]
    return [first] if first.hand == "both" else [first, *(s for s in alike if s is not first)]


def _tells_per_cent(r: BlockReview) -> bool:
    """Kilograms stand on the athlete's own page, and over per cent they lead to body mass."""
    return r.athlete.show_body_mass


def _marks(r: BlockReview) -> Iterable[CapacityMark]:
    for capacity in CAPACITIES:
        hands = _main(r, capacity)
        if not hands:
            continue
        measured = [s for s in hands if s.measured]
        s = min(measured, key=lambda x: x.fit.change_pct) if measured else hands[0]
        told = _tells_per_cent(r) and not s.withheld
        yield CapacityMark(
            capacity=capacity,
            grip=s.grip,
            hand=s.hand,
            verdict=s.verdict,
            tenths=s.tenths,
            change_pct=s.fit.change_pct if told else math.nan,
            low_pct=s.fit.low_pct if told else math.nan,
            high_pct=s.fit.high_pct if told else math.nan,
            hidden=s.measured and not s.withheld and not told,
            reasons=s.reasons,
            one_day=s.fit.days == 1,
            fell=_fell(r, s),
        )


def _fell(r: BlockReview, mark: SeriesChange) -> tuple[str, ...]:
    if mark.verdict is ChangeVerdict.WEAKER:
        return ()
    others = [s for s in r.change.series if s.capacity == mark.capacity and s.grip != mark.grip]
    fell = (s.grip for s in others if s.verdict is ChangeVerdict.WEAKER)
    return tuple(dict.fromkeys(fell))


def _capacity_changes(r: BlockReview) -> Iterable[CapacityChange]:
    """The athlete's main series of each capacity, of those whose per cent is told."""
    if not _tells_per_cent(r):
        return
    for capacity in CAPACITIES:
        series = _main(r, capacity)
        if series and series[0].measured:
            yield _capacity_change(r, series[0])


def _capacity_change(r: BlockReview, s: SeriesChange) -> CapacityChange:
    sd = r.fit.change_sd(s.fit.key)
    prior = _prior_change_sd(r, s)
    alone, alone_sd = without_prior(math.log1p(s.fit.change_pct / 100), sd, prior)
    return CapacityChange(
        capacity=s.capacity,
        log_change=alone,
        log_sd=alone_sd,
        kept=max(0.0, 1 - (sd / prior) ** 2),
        smallest_pct=s.smallest_pct,
        shows=s.fit.change_pct > s.smallest_pct,
    )


def _prior_change_sd(r: BlockReview, s: SeriesChange) -> float:
    """The model's own SD of a log change before any set."""
    return r.fit.prior_change_sd(s.fit.key)


def squad_changes(rows: list[SquadRow]) -> Iterable[SquadChange]:
    """Each block's change in each capacity, pooled over its athletes."""
    for block in dict.fromkeys(r.block for r in rows if not r.failed):
        members = [r for r in rows if r.block == block and not r.failed]
        known = {
            capacity: [
                c
                for r in members
                for c in (r.change_in(capacity),)
                if c is not None and math.isfinite(c.log_sd)
            ]
            for capacity in CAPACITIES
        }
        known = {name: group for name, group in known.items() if len(group) >= LEAST_ATHLETES}
        for capacity, group in known.items():
            yield _squad_change(
                block, capacity, group, len(members), FALSE_DIFFERENCE_SHARE / len(known)
            )


def _squad_change(
    block: str, capacity: str, known: list[CapacityChange], athletes: int, level: float
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
        differ=chance_alike(values, sds) < level,
    )
