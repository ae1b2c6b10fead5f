"""
What changed: from the strength model's estimates and the logged sets to facts.

Where body mass is hidden, a load is body mass plus something: whole loads, per cent and paths are
left out, and the change stands in kilograms alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import pairwise
from typing import Any, Final

import pandas as pd

from gripbook.derive.best import is_completed, sets_of_test_days
from gripbook.derive.body import body_mass_on
from gripbook.derive.records import records
from gripbook.logs import Block
from gripbook.reviews.body_mass import BodyMass
from gripbook.reviews.change_facts import (
    PROBABLE,
    Change,
    ChangeVerdict,
    Deciding,
    LoggedSet,
    Outside,
    OutsideReason,
    Pair,
    PathKind,
    RatioChange,
    SeriesChange,
    Sharper,
    SharperBy,
    TestDay,
    Training,
    Weakest,
    path_kind,
    tenths_of,
)
from gripbook.reviews.notes import Notes
from gripbook.reviews.people import Athlete
from gripbook.reviews.shown import shown_loads
from gripbook.strength import Estimate, SeriesFit, SeriesKey, StrengthFit, Verdict, split_ratio
from gripbook.strength.evidence import FLAT_GRIPS
from gripbook.strength.fit import SURE
from gripbook.strength.reasons import NoChange, SeriesReason

#: What the verdict's rule lets pass: a rise seen in 5 of 100 series that did not change.
FALSE_RISE_SHARE: Final = 1 - SURE
#: A way of logging or a test day is worth naming from this share of a narrower interval on
#: (own choice, no source).
WORTH_NAMING: Final = 0.05
#: An estimate further from a test than this share of the smallest change that matters lies outside
#: what a reader sees (own choice, no source).
OUTSIDE_SHARE: Final = 0.5

UNKNOWN: Final = Estimate(math.nan, math.nan, math.nan)


def describe_change(
    fit: StrengthFit,
    sets: pd.DataFrame,
    block: Block,
    athlete: Athlete,
    *,
    hurt: bool,
    withheld: bool = False,
    body: pd.DataFrame | None = None,
    body_mass: BodyMass | None = None,
) -> Change:
    """
    Facts of a fit that a page may show.

    Parameters
    ----------
    fit : from `fit_strength` of `sets`, the athlete's derived sets.
    hurt : pain holds loading, so no test day is suggested.
    withheld : no change is told (`health_first`).
    body, body_mass : weigh-ins and what they say; without them the ratio to body mass is left out.
    """
    logged = _Logged(sets, block, show=athlete.show_body_mass)
    series = [_describe(s, fit, block, logged) for s in fit.series]
    judged = 0 if withheld else sum(s.fit.ok for s in series)
    if withheld:
        series = [_without_change(s) for s in series]
    headline = _headline(series, block)
    may_test = not hurt and not athlete.minor
    return Change(
        series=tuple(sorted(series, key=lambda s: s is not headline)),
        headline=headline,
        judged=judged,
        false_rises=1 - (1 - FALSE_RISE_SHARE) ** judged,
        pairs=tuple(_pairs(fit, show=logged.show)),
        weakest=tuple(_weakest(fit, show=logged.show)),
        ratio=_ratio(headline, block, body, body_mass) if logged.show else None,
        sharper=tuple(_sharper(fit, headline, sets, may_test=may_test)),
        left_out=fit.evidence.left_out,
    )


def health_first(athlete: Athlete, body_mass: BodyMass, notes: Notes) -> bool:
    """
    Whether no gain is told, since food and energy are a question for a physician first.

    It is so for anyone under 18, and where body mass is hidden and lost mass would pass for weight
    added: after a fall of body mass beyond a line, or a note of eating less in the block.
    """
    if not athlete.minor and athlete.show_body_mass:
        return False
    return body_mass.fell or any(n.date <= notes.block_end for n in notes.of_energy)


def _without_change(s: SeriesChange) -> SeriesChange:
    """The series without a change, and without loads from which one could be read."""
    if s.verdict is ChangeVerdict.NOT_MEASURED:
        return replace(s, training=None)
    none = math.nan
    return replace(
        s,
        verdict=ChangeVerdict.NOT_MEASURED,
        chance=none,
        reasons=(SeriesReason(NoChange.HEALTH_FIRST),),
        start_kg=none,
        end_kg=none,
        change_kg=none,
        low_kg=none,
        high_kg=none,
        change_pct=none,
        low_pct=none,
        high_pct=none,
        training=None,
        outside=(),
        hangs_on=(),
        prior_pull_pct=none,
        path=s.path.iloc[:0],
        points=s.points.iloc[:0],
    )


def verdict_of_page(s: SeriesFit) -> ChangeVerdict:
    """
    What a page says of a series.

    A rise, a fall and a steady series of results.csv are the page's `STRONGER`, `WEAKER` and
    `NO_CHANGE`, so that both say the same; what is unclear there is parted by its chance.
    """
    reasons = {reason.why for reason in s.reasons}
    if reasons == {NoChange.ALL_FINISHED}:
        return ChangeVerdict.AT_LEAST
    if not s.ok:
        return ChangeVerdict.NOT_MEASURED
    return _verdict(s.verdict, s.prob_rise)


def _verdict(found: Verdict, prob_rise: float) -> ChangeVerdict:
    same = {
        "rise": ChangeVerdict.STRONGER,
        "fall": ChangeVerdict.WEAKER,
        "steady": ChangeVerdict.NO_CHANGE,
    }
    if found in same:
        return same[found]
    if prob_rise >= SURE:
        return ChangeVerdict.STRONGER
    if prob_rise >= PROBABLE:
        return ChangeVerdict.PROBABLY_STRONGER
    if 1 - prob_rise >= SURE:
        return ChangeVerdict.WEAKER
    return ChangeVerdict.PROBABLY_WEAKER if 1 - prob_rise >= PROBABLE else ChangeVerdict.CANT_TELL


#: Verdicts that a page tells without a chance.
_SURE_VERDICTS: Final = (ChangeVerdict.STRONGER, ChangeVerdict.WEAKER, ChangeVerdict.NO_CHANGE)


def hangs_on(s: SeriesFit) -> tuple[Deciding, ...]:
    """What a verdict that is sure, or would be were it as the log assumes, hangs on."""
    told = verdict_of_page(s)
    found = [(d.cause, _verdict(d.verdict, d.prob_rise), d.prob_rise) for d in s.doubts]
    return tuple(
        Deciding(cause, other, tenths_of(other, prob))
        for cause, other, prob in found
        if s.ok and other is not told and (told in _SURE_VERDICTS or other in _SURE_VERDICTS)
    )


def _headline(series: list[SeriesChange], block: Block) -> SeriesChange | None:
    """The series named beforehand; without one, the series with most sets."""
    wanted = block.headline
    if wanted is None:
        return max(series, key=lambda s: (s.fit.ok, s.fit.sets), default=None)
    name = (wanted.capacity, wanted.grip, wanted.hand)
    return next((s for s in series if (s.capacity, s.grip, s.hand) == name), None)


# --- logged sets ------------------------------------------------------------------------------


class _Logged:
    """The block's sets by series, and what a page may show of each."""

    def __init__(self, sets: pd.DataFrame, block: Block, *, show: bool) -> None:
        inside = sets["in_block"] & ~sets["warmup"]
        shown = shown_loads(sets, show_body_mass=show).loc[inside, ["shown_kg", "shown_as"]]
        work = sets[inside]
        of_tests = work.index.isin(sets_of_test_days(work, block).index)
        self.show = show
        #: Rows of all sets, plain: a block has few, and they are looked through again and again.
        self.rows = records(
            work.assign(shown_kg=shown["shown_kg"], shown_as=shown["shown_as"], of_tests=of_tests)
        )
        self._of: dict[tuple[str, str, str, str], list[Any]] = {}
        for row in self.rows:
            if not math.isnan(row.load_kg):
                key = row.exercise, row.grip, row.hand, row.load_kind
                self._of.setdefault(key, []).append(row)

    def of(self, key: SeriesKey) -> list[Any]:
        """Rows of a series whose load is known and no guess."""
        return self._of.get(key, [])

    def before(self, row: LoggedSet) -> int:
        """Sets of that day before a set, warm-ups not counted."""
        day = [x for x in self.rows if x.date == row.day]
        at = next((_place(x) for x in day if (x.file, x.line) == (row.file, row.line)), None)
        return 0 if at is None else sum(x.sets for x in day if _place(x) < at)

    def set_of(self, row: Any) -> LoggedSet:
        """One row as a fact."""
        hang, repeater = row.exercise == "hang", row.exercise == "repeater"
        over_body = not (row.exercise == "pull" or row.load_source == "gauge")
        failed = row.outcome == "failed"
        return LoggedSet(
            day=row.date,
            edge_mm=row.edge_mm,
            board=row.board,
            added_kg=row.added_kg if over_body else math.nan,
            load_kg=row.load_kg if self.show else math.nan,
            shown_kg=row.shown_kg,
            shown_as=row.shown_as,
            hang_s=math.nan if row.exercise == "pull" else row.hang_s,
            reps=row.reps if repeater else math.nan,
            held_s=row.failed_s if failed else math.nan,
            reps_done=row.reps_done if failed and repeater else math.nan,
            left=row.reserve_s if hang else row.reserve_reps if repeater else math.nan,
            outcome=row.outcome,
            file=row.file,
            line=row.line,
        )


def _place(row: Any) -> tuple[float, str, int]:
    """Where a set stands in its day; what has no order comes last."""
    return math.inf if math.isnan(row.order) else row.order, row.file, row.line


def _test_days(logged: _Logged, key: SeriesKey) -> list[TestDay]:
    """First and last test day of a series; one where there is one, none without tests."""
    tests = [row for row in logged.of(key) if row.of_tests]
    days = sorted({row.date for row in tests})
    ends = dict.fromkeys(days[:1] + days[-1:])
    return [_test_day(logged, [row for row in tests if row.date == day]) for day in ends]


def _test_day(logged: _Logged, tests: list[Any]) -> TestDay:
    mastered = [row for row in tests if is_completed(row)]
    missed = [row for row in tests if not is_completed(row)]
    sets = sum(row.sets for row in tests)
    if not mastered:
        return TestDay(logged.set_of(min(missed, key=_load)), None, sets)
    best = max(mastered, key=_load)
    above = [row for row in missed if row.outcome == "failed" and row.load_kg > best.load_kg]
    return TestDay(
        logged.set_of(best), logged.set_of(min(above, key=_load)) if above else None, sets
    )


def _load(row: Any) -> float:
    return float(row.load_kg)


def _alike(one: LoggedSet, other: LoggedSet) -> bool:
    """Same edge, board and length; what is not recorded is like what is not recorded."""
    figures = ("edge_mm", "hang_s", "reps")
    return one.board == other.board and all(
        _same(getattr(one, f), getattr(other, f)) for f in figures
    )


def _same(one: float, other: float) -> bool:
    return one == other or (math.isnan(one) and math.isnan(other))


def _known_first(value: float) -> tuple[bool, float]:
    """For sorting numbers: what is not recorded comes last."""
    missing = math.isnan(value)
    return missing, 0.0 if missing else value


def _best(logged: _Logged, key: SeriesKey) -> LoggedSet | None:
    """The highest load mastered, the earliest of equals, of one day the smallest edge."""
    rows = [row for row in logged.of(key) if is_completed(row)]
    best = min(
        rows,
        key=lambda row: (-row.load_kg, row.date, _known_first(row.edge_mm), row.board),
        default=None,
    )
    return None if best is None else logged.set_of(best)


def _training(logged: _Logged, key: SeriesKey) -> Training | None:
    """What its training loads did, on the edge, board and length with most sets."""
    if key.capacity == "pull":  # an all-out pull's load is a result, not a choice
        return None
    kinds: dict[tuple[Any, ...], list[Any]] = {}
    own = logged.of(key)
    # what was done on a test's day led up to it
    tested = {row.date for row in own if row.of_tests}
    for row in own:
        if row.date not in tested and row.load_source:
            length = _known_first(row.hang_s), _known_first(row.reps)
            alike = (_known_first(row.edge_mm), row.board, *length, row.load_source)
            kinds.setdefault(alike, []).append(row)
    if not kinds:
        return None
    rows = kinds[min(kinds, key=lambda alike: (-sum(row.sets for row in kinds[alike]), alike))]
    days = sorted({row.date for row in rows})
    if len(days) < 2:
        return None
    first, last = (
        logged.set_of(min((row for row in rows if row.date == day), key=_heaviest_shown))
        for day in (days[0], days[-1])
    )
    rise = last.added_kg - first.added_kg
    return Training(
        first=first,
        last=last,
        rise_kg=last.shown_kg - first.shown_kg if math.isnan(rise) else rise,
        sets=sum(row.sets for row in rows),
        finished=sum(row.sets for row in rows if row.outcome == "finished"),
    )


def _heaviest_shown(row: Any) -> tuple[bool, float]:
    return _known_first(-row.shown_kg)


# --- one series -------------------------------------------------------------------------------


def _describe(s: SeriesFit, fit: StrengthFit, block: Block, logged: _Logged) -> SeriesChange:
    reference = fit.evidence.reference
    change, low, high = (x * s.start_kg / 100.0 for x in (s.change_pct, s.low_pct, s.high_pct))
    show = logged.show
    if not show and math.isfinite(low):
        # the width of a range grows with the load, and so with body mass
        change, low, high = round(change), math.floor(low), math.ceil(high)
    tests = _test_days(logged, s.key)
    repeater = s.capacity == "repeater"
    series = SeriesChange(
        fit=s,
        capacity=s.capacity,
        grip=s.grip,
        hand=s.hand,
        edge_mm=s.edge_mm,
        load_kind=s.load_kind,
        reference_s={
            "hang": reference.hang_s,
            "repeater": reference.repeater_hold_s,
        }.get(s.capacity, math.nan),
        reference_reps=float(reference.reps) if repeater else math.nan,
        verdict=verdict_of_page(s),
        chance=s.prob_rise,
        reasons=s.reasons,
        start_kg=s.start_kg if show else math.nan,
        end_kg=s.end_kg if show else math.nan,
        change_kg=float(change),
        low_kg=float(low),
        high_kg=float(high),
        change_pct=s.change_pct if show else math.nan,
        low_pct=s.low_pct if show else math.nan,
        high_pct=s.high_pct if show else math.nan,
        smallest_pct=s.smallest_pct,
        first_test=tests[0] if tests else None,
        last_test=tests[-1] if tests else None,
        tests_alike=bool(tests) and _alike(tests[0].best, tests[-1].best),
        best=_best(logged, s.key),
        training=_training(logged, s.key),
        outside=(),
        hangs_on=hangs_on(s),
        prior_pull_pct=s.prior_pull_pct if show and s.ok else math.nan,
        path=_path(s, block, show=show),
        points=_points(s, block, logged),
    )
    if not show or not s.ok:
        return series
    return _with_outside(series, fit, block, logged)


def _path(s: SeriesFit, block: Block, *, show: bool) -> pd.DataFrame:
    start = pd.Timestamp(block.start)
    weeks = {p.day // 7 for p in s.points}
    path = pd.DataFrame(
        {
            "day": start + pd.to_timedelta(s.path_day, unit="D"),
            "kg": s.path_load_kg,
            "low_kg": s.path_low_kg,
            "high_kg": s.path_high_kg,
            "kind": path_kind(s),
            "logged": [int(day) // 7 in weeks for day in s.path_day],
        }
    )
    return path if show else path.iloc[:0]


def _points(s: SeriesFit, block: Block, logged: _Logged) -> pd.DataFrame:
    start = pd.Timestamp(block.start)
    rows = {(row.file, row.line): row for row in logged.rows}
    tests = {place for place, row in rows.items() if row.of_tests}
    loads = {place: row.load_kg for place, row in rows.items()}
    points = pd.DataFrame(
        [
            (
                start + pd.Timedelta(days=p.day),
                p.load_kg,
                p.kind,
                p.kind == "exact",
                (p.file, p.line) in tests,
                loads.get((p.file, p.line), math.nan),
                p.file,
                p.line,
            )
            for p in s.points
        ],
        columns=["day", "kg", "kind", "known", "test", "load_kg", "file", "line"],
    )
    return points if logged.show else points.iloc[:0]


def _with_outside(
    series: SeriesChange, fit: StrengthFit, block: Block, logged: _Logged
) -> SeriesChange:
    near = pd.Timedelta(days=max(14, fit.evidence.last_day // 4))
    first_day, last_day = pd.Timestamp(block.start), pd.Timestamp(block.end)
    outside = []
    for at_end, test in ((False, series.first_test), (True, series.last_test)):
        if test is None:
            continue
        away = last_day - test.best.day if at_end else test.best.day - first_day
        if away <= near and (one := _outside(series, test, logged, at_end=at_end)):
            outside.append(one)
    return replace(series, outside=tuple(outside))


def _outside(s: SeriesChange, test: TestDay, logged: _Logged, *, at_end: bool) -> Outside | None:
    """Why an estimate lies outside what that test shows, None where it lies within."""
    estimate, best = s.end_kg if at_end else s.start_kg, test.best
    seen = best.load_kg
    slack = OUTSIDE_SHARE * s.smallest_pct / 100 * seen
    mastered = best.outcome in ("finished", "pull")
    below = mastered and estimate < seen - slack
    top = test.failed.load_kg if test.failed else seen
    above = estimate > top + slack
    if not below and not above:
        return None
    left = best.left if best.left >= 1 else math.nan
    before = logged.before(best)
    length = [(best.hang_s, s.reference_s), (best.reps, s.reference_reps)]
    if math.isfinite(best.edge_mm) and best.edge_mm != s.edge_mm:
        reason = OutsideReason.EDGE
    elif s.capacity != "pull" and not all(_same(a, b) for a, b in length):
        reason = OutsideReason.LENGTH
    elif below:
        reason = OutsideReason.GOOD_DAY
    elif math.isfinite(left) and test.failed is None:
        reason = OutsideReason.RESERVE_GUESS
    elif before:
        reason = OutsideReason.FATIGUE
    else:
        reason = OutsideReason.WEAK_DAY
    return Outside(at_end, reason, estimate, seen, left, before, best.edge_mm)


# --- series against series --------------------------------------------------------------------


def _comparable(fit: StrengthFit, *, at_end: bool) -> list[SeriesFit]:
    """Series whose load at that end of the block is an estimate."""
    return [
        s
        for s in fit.series
        if math.isfinite(s.end_kg if at_end else s.start_kg) and path_kind(s) is PathKind.ESTIMATE
    ]


def _groups(fit: StrengthFit, of: str) -> Iterator[tuple[list[SeriesFit], bool]]:
    """
    Series that differ in hand alone or in grip alone, strongest estimate first.

    At the block's end; at its start where more of them can be compared there.
    """
    groups: dict[tuple[str, str, str], dict[bool, list[SeriesFit]]] = {}
    for at_end in (True, False):
        for s in _comparable(fit, at_end=at_end):
            if of == "hand" and s.hand == "both":
                continue
            # a width and an edge, or a hold without one, don't compare
            if of == "grip" and s.grip in FLAT_GRIPS:
                continue
            key = (s.capacity, s.grip if of == "hand" else s.hand, s.load_kind)
            groups.setdefault(key, {True: [], False: []})[at_end].append(s)
    for ends in groups.values():
        at_end = len(ends[True]) >= len(ends[False])
        ordered = sorted(ends[at_end], key=lambda s: -(s.end_kg if at_end else s.start_kg))
        if len(ordered) > 1:
            yield ordered, at_end


def _pairs(fit: StrengthFit, *, show: bool) -> Iterator[Pair]:
    """Hands of each grip, and each grip with the next weaker one."""
    for of in ("hand", "grip"):
        for ordered, at_end in _groups(fit, of):
            for one, other in pairwise(ordered):
                yield _compare(fit, one, other, of, at_end=at_end, show=show)


def _compare(
    fit: StrengthFit, one: SeriesFit, other: SeriesFit, of: str, *, at_end: bool, show: bool
) -> Pair:
    ratio = fit.difference(one.key, other.key, None if at_end else 0.0)
    apart = ratio.low > 0 or ratio.high < 0
    stronger = (one if ratio.value > 0 else other) if apart else None
    return Pair(one, other, of, at_end, apart, stronger, ratio if show else UNKNOWN)


def _weakest(fit: StrengthFit, *, show: bool) -> Iterator[Weakest]:
    """
    The weaker hand and the weakest grip of each capacity, where the strongest is apart from it.

    All that can be compared are ranked. Those not apart from the lowest share the last place.
    """
    for of in ("hand", "grip"):
        for ordered, at_end in _groups(fit, of):
            strongest, lowest = ordered[0], ordered[-1]
            if not _compare(fit, strongest, lowest, of, at_end=at_end, show=True).apart:
                continue
            last = [
                s
                for s in ordered[1:]
                if s is lowest or not _compare(fit, s, lowest, of, at_end=at_end, show=True).apart
            ]
            below = fit.difference(lowest.key, strongest.key, None if at_end else 0.0)
            yield Weakest(
                of=of,
                capacity=lowest.capacity,
                edge_mm=lowest.edge_mm,
                weakest=tuple(reversed(last)),
                strongest=strongest,
                compared=tuple(ordered),
                at_end=at_end,
                below_pct=Estimate(-below.value, -below.high, -below.low) if show else UNKNOWN,
            )


# --- the ratio --------------------------------------------------------------------------------


def _ratio(
    headline: SeriesChange | None,
    block: Block,
    body: pd.DataFrame | None,
    body_mass: BodyMass | None,
) -> RatioChange | None:
    """The headline's load at the reference edge over body mass, and what moved it."""
    if headline is None or not headline.measured or body is None or body_mass is None:
        return None
    body = body[body["body_mass_kg"].notna()]
    if body.empty:
        return None
    days = headline.path["day"]
    mass = body_mass_on(days, body)
    start, end = (float(mass["body_mass_kg"].iloc[i]) for i in (0, -1))
    error = float(mass["body_mass_error_kg"].iloc[[0, -1]].max())
    if body_mass.start and body_mass.end:
        # a mean of three is steadier than the weigh-in nearest to the day
        start, end = body_mass.start.mean_kg, body_mass.end.mean_kg
        error /= math.sqrt(body_mass.start.weigh_ins)
    split = split_ratio(headline.fit, start, end, error)
    kg = mass["body_mass_kg"].to_numpy()
    path = pd.DataFrame(
        {
            "day": days,
            "ratio": headline.path["kg"] / kg,
            "low": headline.path["low_kg"] / kg,
            "high": headline.path["high_kg"] / kg,
            "logged": headline.path["logged"],
        }
    )
    return RatioChange(
        series=headline,
        start=split.start_ratio,
        end=split.end_ratio,
        start_mass_kg=start,
        end_mass_kg=end,
        mass_measured=body_mass.measured,
        ratio_pct=split.ratio,
        force_pct=split.force,
        mass_pct=split.mass if body_mass.measured else UNKNOWN,
        path=path,
    )


# --- what would make it sharper ---------------------------------------------------------------


def _sharper(
    fit: StrengthFit, headline: SeriesChange | None, sets: pd.DataFrame, *, may_test: bool
) -> Iterable[Sharper]:
    """Ways of logging first, then test days, each with how much it would narrow the interval."""
    if headline is None:
        return
    if headline.verdict is ChangeVerdict.AT_LEAST:
        yield Sharper(SharperBy.RESERVES, math.nan)
        return
    key = headline.fit.key
    if not headline.measured:
        return
    now = fit.change_sd(key)
    if not math.isfinite(now) or now <= 0:
        return
    gain = 1 - fit.with_reserves(key) / now
    if gain >= WORTH_NAMING:
        yield Sharper(SharperBy.RESERVES, gain)
    if headline.fit.edge_share >= WORTH_NAMING and _edges_of(sets, key) != {headline.edge_mm}:
        yield Sharper(SharperBy.SAME_EDGE, math.nan)
    if not may_test:
        return
    extra = _test_rows(sets, key, fit.evidence.last_day)
    gain = 1 - fit.change_sd(key, extra) / now if len(extra) else 0.0
    if gain >= WORTH_NAMING:
        yield Sharper(SharperBy.TEST_DAYS, gain)


def _edges_of(sets: pd.DataFrame, key: SeriesKey) -> set[float]:
    """The edges of a series' sets in the block; earlier blocks are no reason for a test now."""
    own = sets[
        sets["in_block"]
        & (sets["exercise"] == key.capacity)
        & (sets["grip"] == key.grip)
        & (sets["hand"] == key.hand)
        & ~sets["warmup"]
    ]
    return set(own["edge_mm"])


def _test_rows(sets: pd.DataFrame, key: SeriesKey, last_day: int) -> pd.DataFrame:
    """Two sets that ended in failure, on the block's first and last days, like those logged."""
    alike = sets[
        (sets["exercise"] == key.capacity)
        & (sets["grip"] == key.grip)
        & (sets["hand"] == key.hand)
        & ~sets["warmup"]
        & sets["load_kg"].notna()
    ]
    if alike.empty:
        return alike
    row = alike.iloc[[-1]].copy()
    if key.capacity != "pull":
        row["outcome"] = "failed"
        row["failed_s"] = row["hang_s"] - 1.0
        row["reps_done"] = row["reps"] - 1.0
        total = row["tension_s"] if key.capacity == "repeater" else row["hang_s"]
        row["tension_s"] = total - 1.0
    days = (2, last_day - 2)
    out = pd.concat([row.assign(day=d, sets=1, set_id=10_000 + d) for d in days])
    return out.assign(date=row["date"].iloc[0], line=[10_000_001, 10_000_002])
