"""
From derived sets to evidence: which sets say something of strength, and what.

A set that failed gives the load for a time exactly, one that was finished only a lower bound, one
that opened at once an upper bound. A judged reserve makes a finished set exact again, with the
error of the guess. What says nothing is left out and counted by reason.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from statistics import median
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from gripbook.derive.body import ERROR_ON_DAY_KG, WALK_KG, body_mass_error_kg
from gripbook.derive.loading import SCALE_ERROR_KG
from gripbook.errors import MissingColumnError
from gripbook.logs import Block
from gripbook.strength.endurance import (
    LONGEST_HOLD_S,
    LONGEST_REPEATER_S,
    Drop,
    hold_drop,
    repeater_drop,
)
from gripbook.strength.reasons import LeftOut, LeftOutReason

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.intp]
Flags = npt.NDArray[np.bool_]

#: In the order of series on a page.
CAPACITIES: Final = ("hang", "repeater", "pull")
#: What an observation is: the load for its time itself, at least so much, at most so much.
EXACT, AT_LEAST, AT_MOST = 0, 1, -1

#: Grips whose loads follow no edge's depth.
FLAT_GRIPS: Final = ("pinch", "sloper")
#: Edges outside are not converted to the reference edge: below 6 mm the order of climbers is
#: another one (Bourne et al. 2011, J Appl Biomech 27(1):40-46: r < 0.1 against 12.5 mm), and a
#: jug is no edge (own choice, no source).
EDGES_MM: Final = (6.0, 45.0)
#: Sets older than this before the block's first day are left out (own choice, no source).
DAYS_BEFORE: Final = 42
#: A hold that opened sooner says that the load was too much, not how long it could be held.
OPENED_AT_ONCE_S: Final = 1.5
#: From here on a reserve means "easy": a lower bound (the log format says so).
EASY_RESERVE: Final = 5.0
#: SD of a judged reserve as a share of it, and of rounding to whole units.
RESERVE_ERROR, RESERVE_ROUNDING_S, RESERVE_ROUNDING_HOLDS = 0.35, 0.5, 0.3
#: The error of a guess is taken at this reserve, in seconds or holds, for all guesses: an error
#: that grew with the guess would believe low guesses more than high ones (own choice).
TYPICAL_RESERVE: Final = 2.0
#: Middle of what is written as 0 left, in seconds or holds (rounding; own choice).
NOTHING_LEFT: Final = 0.25
#: Added to a time written in whole seconds: most have been cut, some rounded (own choice).
WHOLE_SECONDS_S: Final = 0.4
#: Extra SD in log load of an athlete's first pull of each hand over a scale, which is practice.
#: It is no lower bound: a bound ignores a low first pull and believes a high one, so that starts
#: come out too high (own choice, no source).
PRACTICE_ERROR: Final = 0.06
#: Days in which fatigue falls to 1/e while training goes on, and on easy days; share of the usual
#: week's sets by which a week must fall short to be easy; times the usual gap between sessions
#: after which days are easy; and to which share of its highest fatigue must have fallen by the last
#: sets to be told from strength (own choices, no source).
FATIGUE_DAYS: Final = 42.0
EASY_DAYS: Final = 2.5
EASY_FROM: Final = 0.2
LONG_GAP: Final = 1.6
CLEARLY_GONE: Final = 0.65
#: SD in seconds of the moment at which a hold or a repeater set failed.
HOLD_TIMING_S, REPEATER_TIMING_S = 0.5, 0.8
#: Up to so many days from a weigh-in the walk of body mass counts as each set's own error. Beyond,
#: all sets after one weigh-in share it, so that a change of body mass that nobody weighed widens
#: the change of strength and is never told as strength.
NEAR_WEIGH_IN_DAYS = 7.0
#: A load beyond this factor of its series' median is a slip of the pen (own choice, no source).
ABSURD_FACTOR: Final = 2.5
#: Set of a repeater where no plan names one: holds, seconds of each, rest.
REFERENCE_SET: Final = (6, 7.0, 3.0)

COLUMNS: Final = [
    "exercise",
    "grip",
    "hand",
    "load_kind",
    "warmup",
    "test",
    "day",
    "session",
    "order",
    "file",
    "line",
    "sets",
    "edge_mm",
    "board",
    "load_kg",
    "load_error_kg",
    "load_source",
    "body_mass_age_days",
    "scale_kg",
    "hang_s",
    "rest_s",
    "reps",
    "reps_done",
    "failed_s",
    "reserve_s",
    "reserve_reps",
    "tension_s",
    "outcome",
]


class SeriesKey(NamedTuple):
    """One capacity of one grip and hand, read as a steady or a peak load."""

    capacity: str
    grip: str
    hand: str
    load_kind: str


@dataclass(frozen=True, slots=True)
class Reference:
    """What a series' load is stated for. `repeater_s` is the seconds under load of the set."""

    edge_mm: float
    hang_s: float
    reps: int
    repeater_hold_s: float
    repeater_rest_s: float

    @property
    def repeater_s(self) -> float:
        """Seconds under load in the reference set."""
        return self.reps * self.repeater_hold_s


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """
    One athlete's evidence: N observations in order of day and capacity, K series.

    `series_of` (N,) index into `series`. `kind` (N,) EXACT, AT_LEAST or AT_MOST; `weight` (N,)
    equal sets merged into one. `log_load` (N,) in kg on its own edge for its own time; `drop`:
    the curve at its time. `load_error_log`, `time_error_log` (N,): SD in log load. `reserve_log`
    (N,): how the judged reserve's share of error moves the observation. `position`, `others`
    (N,): sets of the series and of other series earlier on the day. `edge_log` (N,): log edge
    over reference edge, 0 where nothing is converted. `offset` (N,): index into `offsets` (other
    boards, other repeater sets, other widths), -1 where none; beyond `OFFSETS` of them what the
    rarer ones may lie off is error of each set. `mass_log` (N, M): what body mass
    may have walked far from weigh-ins, as M unknowns of SD 1, in log load. `scale_log` (N,): log
    load per kg of scale reading, 0 where none was read. `first` (N,): of the first session of its
    series in the log. `tired` (days,): what training left of fatigue on each day from
    `DAYS_BEFORE` before the block to its last, from 0 to 1; empty where no easy days before the
    last test set fatigue apart from strength. `row` (N,): row of the frame it came from.
    `left_out`: sets that say nothing, by reason. `width_mm`: the pinch width most used, for which
    pinches are stated; NaN without one.
    """

    series: tuple[SeriesKey, ...]
    reference: Reference
    weeks: int
    last_day: int
    series_of: Integers
    day: Integers
    kind: Integers
    weight: Floats
    log_load: Floats
    drop: Drop
    load_error_log: Floats
    time_error_log: Floats
    reserve_log: Floats
    position: Floats
    others: Floats
    edge_log: Floats
    offset: Integers
    offset_sd: Floats
    offsets: tuple[str, ...]
    mass_log: Floats
    scale_log: Floats
    first: Flags
    tired: Floats
    row: Integers
    failed_or_pulled: Flags
    file: npt.NDArray[np.object_]
    line: Integers
    left_out: tuple[LeftOut, ...]
    width_mm: float

    def stated_mm(self, grip: str) -> float:
        """The edge that a grip's loads are stated for: the reference; of a pinch its width."""
        return self.width_mm if grip == "pinch" else self.reference.edge_mm

    def __len__(self) -> int:
        return len(self.day)


def log_over(edge_mm: float, stated_mm: float, grip: str) -> float:
    """Log of an edge over the one that a load is stated for; 0 where nothing is converted."""
    if grip in FLAT_GRIPS or not (math.isfinite(edge_mm) and math.isfinite(stated_mm)):
        return 0.0
    return math.log(edge_mm / stated_mm)


def _main_width(grip: npt.NDArray[np.object_], edge_mm: Floats) -> float:
    """The pinch width of most rows, NaN without a pinch."""
    widths = Counter(edge_mm[grip == "pinch"].tolist())
    return min(widths, key=lambda w: (-widths[w], w), default=math.nan)


def reference_of(block: Block) -> Reference:
    """The reference edge, hold and repeater set of a block."""
    reps, hold_s, rest_s = REFERENCE_SET
    for phase in block.phases:
        if phase.exercise == "repeater" and phase.reps and phase.hang_s:
            reps, hold_s = phase.reps, phase.hang_s
            rest_s = phase.rest_s if phase.rest_s is not None else rest_s
            break
    return Reference(block.reference_edge_mm, block.reference_hang_s, reps, hold_s, rest_s)


def gather_evidence(sets: pd.DataFrame, block: Block) -> Evidence:
    """
    Evidence of one athlete's derived sets for one block.

    Parameters
    ----------
    sets : from `derive_sets`; all rows, any order.
    block : its first day is day 0; its reference edge, hold and repeater set are the unit.

    Raises
    ------
    MissingColumnError : names the absent columns.

    Notes
    -----
    Used are sets from 42 days before the block to its last day that are no warm-up, whose load is
    known and no guess, on edges of 6 to 45 mm (sloper: without an edge). The first pull of each
    hand over a scale is practice and counts with more error.
    """
    known_columns = set(sets.columns)
    absent = [c for c in COLUMNS if c not in known_columns]
    if absent:
        raise MissingColumnError(
            f"gather_evidence needs the columns {', '.join(absent)}; "
            f"found: {', '.join(map(str, sets.columns))}. Pass the frame of `derive_sets`."
        )
    last_day = 7 * block.weeks - 1
    day = sets["day"].to_numpy(dtype=np.intp)
    warmup = sets["warmup"].to_numpy(dtype=bool)
    window = np.flatnonzero((day >= -DAYS_BEFORE) & (day <= last_day) & ~warmup)
    rows = _Rows(sets, window, reference_of(block))
    known: set[tuple[str, str, str]] = set()
    if len(older := np.flatnonzero((day < -DAYS_BEFORE) & ~warmup)):
        names = (sets[c].to_numpy(dtype=object)[older] for c in ("exercise", "grip", "hand"))
        known = set(zip(*names, strict=True))
    return rows.evidence(block, last_day, known)


class _Rows:
    """Columns of the rows in question as arrays, in order of day and position in the session."""

    def __init__(self, sets: pd.DataFrame, window: Integers, reference: Reference) -> None:
        self.reference = reference

        def numbers(name: str) -> Floats:
            values: Floats = sets[name].to_numpy(dtype=np.float64)[window]
            return values

        def words(name: str) -> npt.NDArray[np.object_]:
            values: npt.NDArray[np.object_] = sets[name].to_numpy(dtype=object)[window]
            return values

        day = numbers("day").astype(np.intp)
        order = numbers("order")
        session, file, line = words("session"), words("file"), numbers("line")
        # an order that is not given is the order of the rows, which file and line hold
        keys = [line, _codes(file), np.where(np.isnan(order), np.inf, order), _codes(session), day]
        by_time = np.lexsort(keys)
        self.row = window[by_time]
        self.day, self.file, self.line = day[by_time], file[by_time], line[by_time].astype(np.intp)
        for name in [
            "sets",
            "edge_mm",
            "load_kg",
            "load_error_kg",
            "body_mass_age_days",
            "scale_kg",
            "hang_s",
            "rest_s",
            "failed_s",
            "reserve_s",
            "reserve_reps",
            "tension_s",
        ]:
            setattr(self, name, numbers(name)[by_time])
        for name in ("exercise", "grip", "hand", "load_kind", "board", "outcome", "load_source"):
            setattr(self, name, words(name)[by_time])
        self.count = np.fmax(self.sets, 1.0)
        self.no_edge = np.isin(self.grip, FLAT_GRIPS)

    # filled by name above; declared for the reader and the type checker
    sets: Floats
    edge_mm: Floats
    load_kg: Floats
    load_error_kg: Floats
    body_mass_age_days: Floats
    scale_kg: Floats
    hang_s: Floats
    rest_s: Floats
    failed_s: Floats
    reserve_s: Floats
    reserve_reps: Floats
    tension_s: Floats
    exercise: npt.NDArray[np.object_]
    grip: npt.NDArray[np.object_]
    hand: npt.NDArray[np.object_]
    load_kind: npt.NDArray[np.object_]
    board: npt.NDArray[np.object_]
    outcome: npt.NDArray[np.object_]
    load_source: npt.NDArray[np.object_]

    def evidence(self, block: Block, last_day: int, known: set[tuple[str, str, str]]) -> Evidence:
        """
        Judge each row, then merge equal bounds and write out exact sets one by one.

        `known`: exercise, grip and hand of what was done before the rows in question.
        """
        used, left_out = self._usable()
        names = list(zip(self.exercise, self.grip, self.hand, self.load_kind, strict=True))
        found = sorted(
            (SeriesKey(*name) for name in {names[i] for i in np.flatnonzero(used)}),
            key=lambda k: (CAPACITIES.index(k.capacity), *k[1:]),
        )
        number = {tuple(key): i for i, key in enumerate(found)}
        # sets that are no evidence still tire: they count in the position
        series_of = np.array([number.get(name, -1) for name in names], dtype=np.intp)
        absurd = _absurd(self.load_kg, series_of, used)
        far_off = tuple(
            (str(self.file[i]), int(self.line[i])) for i in np.flatnonzero(absurd).tolist()
        )
        left_out[LeftOutReason.FAR_OFF] = _total(self.count[absurd])
        used &= ~absurd
        before, others = _positions(self.day, series_of, self.count)

        kind, seconds, time_error_s, reserve_s = self._times(series_of)
        pick = used & np.isfinite(seconds)
        left_out[LeftOutReason.UNKNOWN_TIME] = _total(self.count[used & np.isnan(seconds)])
        index = np.flatnonzero(pick)
        # one after the other in the series' own order, so that equal neighbours can be merged
        capacity = np.array([CAPACITIES.index(k.capacity) for k in found], dtype=np.intp)
        own = series_of[index]
        index = index[np.lexsort([before[index], own, capacity[own], self.day[index]])]
        index, weight, position = self._merge(index, series_of, kind, seconds, reserve_s, before)
        own = series_of[index]

        load = self.load_kg[index]
        drop = drops(capacity[own], seconds[index], self.reference)
        per_second = drop.slope / seconds[index]
        # by the series' middle load: a set's own load carries its noise, which an unknown error in
        # kilograms would then explain
        middle = _medians(load, own, len(found))
        mass_log, mass_error = self._mass(index, middle)
        load_error = np.nan_to_num(self.load_error_kg[index])
        weighed = self.load_source[index] == "body"
        over_scale = (self.exercise[index] == "pull") & (self.scale_kg[index] > 0) & weighed
        load_error = np.where(
            weighed, np.hypot(mass_error, np.where(over_scale, SCALE_ERROR_KG, 0.0)), load_error
        )
        edge_log, offset, offsets, offset_sd, rare = self._conversions(index, found, own)
        return Evidence(
            series=tuple(found),
            reference=self.reference,
            weeks=block.weeks,
            last_day=last_day,
            series_of=own,
            day=self.day[index],
            kind=kind[index],
            weight=weight,
            log_load=np.log(load),
            drop=drop,
            load_error_log=np.hypot(
                np.hypot(load_error / middle, PRACTICE_ERROR * self._first_pulls(index)), rare
            ),
            time_error_log=time_error_s[index] * per_second,
            reserve_log=reserve_s[index] * per_second,
            position=position,
            others=others[index],
            edge_log=edge_log,
            offset=offset,
            offset_sd=offset_sd,
            offsets=offsets,
            mass_log=mass_log,
            scale_log=over_scale / middle,
            first=self._first_sessions(index, own, found, known),
            tired=self._tired(block, last_day),
            row=self.row[index],
            failed_or_pulled=((self.outcome == "failed") | (self.outcome == "pull"))[index],
            file=self.file[index],
            line=self.line[index],
            left_out=tuple(
                LeftOut(why, n, far_off if why is LeftOutReason.FAR_OFF else ())
                for why, n in left_out.items()
                if n
            ),
            width_mm=_main_width(self.grip[index], self.edge_mm[index]),
        )

    def _usable(self) -> tuple[Flags, dict[LeftOutReason, int]]:
        """Rows that may be evidence; the others are counted by reason."""
        low, high = EDGES_MM
        no_edge = self.no_edge
        reasons = {
            LeftOutReason.GUESSED_LOAD: self.load_kind == "guess",
            LeftOutReason.UNKNOWN_LOAD: ~(self.load_kg > 0),
            LeftOutReason.SMALL_EDGE: ~no_edge & (self.edge_mm < low),
            LeftOutReason.LARGE_EDGE: ~no_edge & (self.edge_mm > high),
            LeftOutReason.NO_EDGE: ~no_edge & np.isnan(self.edge_mm),
        }
        used = np.ones(len(self.day), dtype=bool)
        left_out: dict[LeftOutReason, int] = {}
        for why, bad in reasons.items():
            left_out[why] = _total(self.count[used & bad])
            used &= ~bad
        return used, left_out

    def _times(self, series_of: Integers) -> tuple[Integers, Floats, Floats, Floats]:
        """
        What each row observed: kind, seconds under load, SD of these in s, judged reserve in s.

        Seconds are NaN where the log does not tell them; those of a pull are the reference's.
        """
        hang, pull = self.exercise == "hang", self.exercise == "pull"
        repeater = ~hang & ~pull
        finished, failed = self.outcome == "finished", self.outcome == "failed"
        reference = self.reference
        unit = np.where(hang, 1.0, self.hang_s)
        reserve = np.where(hang, self.reserve_s, self.reserve_reps)
        rounding = np.where(hang, RESERVE_ROUNDING_S, RESERVE_ROUNDING_HOLDS)
        judged = finished & np.isfinite(reserve)
        easy = judged & (reserve >= EASY_RESERVE)
        # a judgement of five or more is one event however large the number: a bound that rose with
        # the number would be picked after the outcome and lift the level
        reserve = np.where(easy, EASY_RESERVE - 0.5, reserve)
        # nothing left, in whole units, is anything below a half: not nothing
        reserve = np.where(judged & (reserve == 0.0), NOTHING_LEFT, reserve)
        reserve_s = np.where(judged, reserve * unit, 0.0)

        # the hold in which a repeater set failed is known, not always the second
        halfway = repeater & failed & np.isnan(self.failed_s)
        seconds = np.where(halfway, self.tension_s + 0.5 * self.hang_s, self.tension_s) + reserve_s
        # timers count whole seconds that are over
        whole = failed & (self.failed_s == np.floor(self.failed_s))
        seconds = np.where(whole, seconds + WHOLE_SECONDS_S, seconds)
        error_s = np.where(hang, HOLD_TIMING_S, REPEATER_TIMING_S)
        error_s = np.where(halfway, self.hang_s / np.sqrt(12.0), error_s)
        guess = unit * np.hypot(RESERVE_ERROR * TYPICAL_RESERVE, rounding)
        error_s = np.where(judged, guess, np.where(failed, error_s, 0.0))

        kind = np.where(failed | (judged & ~easy), EXACT, AT_LEAST)
        longest = np.where(hang, LONGEST_HOLD_S, LONGEST_REPEATER_S)
        beyond = seconds > longest
        kind = np.where(beyond, AT_LEAST, kind)
        seconds = np.where(beyond, longest, seconds)
        # opened at once: the time says nothing but that the load was too much; a stop for another
        # reason after so short a time says nothing at all
        at_once = seconds < OPENED_AT_ONCE_S
        kind = np.where(at_once, AT_MOST, kind)
        seconds = np.where(at_once, np.where(failed, OPENED_AT_ONCE_S, np.nan), seconds)

        nothing_left = (self.scale_kg == 0.0) & (self.load_source != "gauge")
        bound = nothing_left | (self.outcome == "stopped")
        kind = np.where(pull, np.where(bound, AT_LEAST, EXACT), kind)
        seconds = np.where(pull, reference.hang_s, seconds)
        error_s = np.where(pull, 0.0, error_s)
        reserve_s = np.where(pull, 0.0, reserve_s)
        return kind, seconds, error_s, reserve_s

    def _mass(self, index: Integers, middle: Floats) -> tuple[Floats, Floats]:
        """
        What body mass may have walked since or before a weigh-in, (N, M) in log load.

        And what is left as each set's error in kg (N,).
        The days say how far the nearest weigh-in is, not on which side: days that count from, or
        to, the same weigh-in agree on its day.
        """
        age = np.nan_to_num(self.body_mass_age_days)
        body = (self.load_source == "body") & np.isfinite(self.body_mass_age_days)
        far = body & (age > NEAR_WEIGH_IN_DAYS)
        error = body_mass_error_kg(np.minimum(age, NEAR_WEIGH_IN_DAYS))
        if not far[index].any():
            return np.zeros((len(index), 0)), error[index]
        error = np.where(far, ERROR_ON_DAY_KG, error)
        days = sorted(set(zip(self.day[far].tolist(), age[far].tolist(), strict=True)))
        since, until = Counter(d - a for d, a in days), Counter(d + a for d, a in days)
        columns = []
        for counts, sign in ((since, 1.0), (until, -1.0)):
            other = until if sign > 0 else since
            for weighed, n in counts.items():
                mine = far & (self.day - sign * age == weighed)
                # a day that agrees with no other is taken as after its weigh-in
                rival = np.array([other[d] for d in (self.day[mine] + sign * age[mine]).tolist()])
                mine[mine] = (rival < n) | ((rival == n) & (sign > 0))
                if not mine[index].any():
                    continue
                longest = float(age[mine].max())
                # a random walk by its first two waves, which hold nine tenths of its variance at
                # the far end
                held = 80.0 / (9.0 * np.pi**2)
                size = WALK_KG * np.sqrt(2 * longest / 7.0 / held)
                for wave in (0.5, 1.5):
                    walk = size * np.sin(np.pi * wave * age / longest) / (np.pi * wave)
                    columns.append(np.where(mine, walk, 0.0)[index] / middle)
        return np.column_stack(columns), error[index]

    def _first_sessions(
        self,
        index: Integers,
        series_of: Integers,
        series: list[SeriesKey],
        known: set[tuple[str, str, str]],
    ) -> Flags:
        """Which observations are of the day on which a series appears in the log."""
        begun: dict[tuple[str, str, str], int] = {}
        for name, day in zip(
            zip(self.exercise, self.grip, self.hand, strict=True), self.day.tolist(), strict=True
        ):
            begun.setdefault(name, day)
        first = np.array([begun[k[:3]] if k[:3] not in known else np.nan for k in series])
        return np.asarray(self.day[index] == first[series_of], dtype=bool)

    def _tired(self, block: Block, last_day: int) -> Floats:
        """
        Fatigue that training leaves, each day, as a share of the block's highest.

        It grows with the sets done and goes slowly; on days after a week of clearly fewer sets than
        usual, and in planned easy weeks, it goes within days. Empty where it is not clearly gone
        by the last day of sets: only then it can be told from strength.
        """
        days = np.arange(-DAYS_BEFORE, last_day + 1)
        work = np.bincount(self.day + DAYS_BEFORE, self.count, minlength=len(days))
        total = np.concatenate([[0.0], np.cumsum(work)])
        week = total[:-1] - total[np.maximum(np.arange(len(days)) - 7, 0)]
        trained = np.flatnonzero(work)
        if len(trained) < 4:
            return np.zeros(0)
        usual = median(week[trained[1:]].tolist())
        spare = 1.0 - week / max(usual, 1.0)
        easy = np.clip((spare - EASY_FROM) / (1.0 - EASY_FROM), 0.0, 1.0)
        # the log's first week has no whole week before it
        easy[: trained[0] + 7] = 0.0
        # a gap clearly longer than the usual one is easy from then on, before the week tells it
        last = trained[np.maximum(np.searchsorted(trained, np.arange(len(days))) - 1, 0)]
        easy[np.arange(len(days)) - last > LONG_GAP * median(np.diff(trained).tolist())] = 1.0
        for easy_week in block.easy_weeks:
            easy[days // 7 + 1 == easy_week] = 1.0
        kept = np.exp(-1.0 / FATIGUE_DAYS - easy / EASY_DAYS).tolist()
        now, tired = 0.0, []
        for share, sets in zip(kept, work.tolist(), strict=True):
            now *= share
            tired.append(now)
            now += sets
        out = np.array(tired)
        inside = trained[days[trained] >= 0]
        if not len(inside) or out[inside[-1]] > CLEARLY_GONE * out[inside].max():
            return np.zeros(0)
        return np.asarray(out / out[inside].max())

    def _first_pulls(self, index: Integers) -> Flags:
        """Which observations are an athlete's first pull of a hand over a scale."""
        out = np.zeros(len(index), dtype=bool)
        by_scale = (self.load_source == "stand") | (self.load_source == "body")
        over_scale = (self.exercise == "pull") & by_scale
        for hand in ("left", "right", "both"):
            for first in np.flatnonzero(over_scale & (self.hand == hand))[:1]:
                out[np.flatnonzero(index == first)[:1]] = True
        return out

    def _merge(
        self,
        index: Integers,
        series_of: Integers,
        kind: Integers,
        seconds: Floats,
        reserve_s: Floats,
        before: Floats,
    ) -> tuple[Integers, Floats, Floats]:
        """
        Equal neighbouring bounds become one with a weight; other rows one observation a set.

        So a row with `sets = 3` is the same as three equal rows. Returns row, weight, position.
        """
        count = self.count[index]
        bound = kind[index] != EXACT
        times = np.where(bound, 1, count).astype(np.intp)
        out = np.repeat(index, times)
        within = np.arange(len(out)) - np.repeat(np.cumsum(times) - times, times)
        weight = np.where(kind[out] != EXACT, self.count[out], 1.0)
        first = before[out] + within
        if not len(out):
            return out, weight, first
        columns = np.column_stack(
            [
                series_of[out], self.day[out], kind[out], self.load_kg[out], seconds[out],
                reserve_s[out], np.nan_to_num(self.edge_mm[out]), self.load_error_kg[out],
            ]
        )  # fmt: skip
        same = (columns[1:] == columns[:-1]).all(axis=1) & (kind[out][1:] != EXACT)
        same &= self.board[out][1:] == self.board[out][:-1]
        starts = np.flatnonzero(np.concatenate([[True], ~same]))
        merged = np.add.reduceat(weight, starts)
        return (
            out[starts],
            merged,
            first[starts] + np.where(kind[out[starts]] != EXACT, 0.5, 0) * (merged - 1.0),
        )

    def _conversions(
        self, index: Integers, series: list[SeriesKey], series_of: Integers
    ) -> tuple[Floats, Integers, tuple[str, ...], Floats, Floats]:
        """
        Log edge over the reference, and offsets where one scale does not reach the other.

        The board, the width and the repeater set most used need none. Last, the error in log load
        of sets whose offset is too rare to be estimated.
        """
        grip, edge = self.grip[index], self.edge_mm[index]
        with np.errstate(invalid="ignore"):
            edge_log = np.where(self.no_edge[index], 0.0, np.log(edge / self.reference.edge_mm))
        names: list[str] = [""] * len(index)
        sds = np.zeros(len(index))
        boards = Counter(self.board[index])
        if len(boards) > 1:
            main = min(boards, key=lambda b: (-boards[b], b))
            for i in np.flatnonzero(self.board[index] != main):
                names[i], sds[i] = f"board {self.board[index[i]]}", BOARD_SD
        main_width = _main_width(grip, edge)
        for i in np.flatnonzero((grip == "pinch") & (edge != main_width)):
            names[i] += f" pinch {edge[i]:g} mm"
            sds[i] = np.hypot(sds[i], WIDTH_SD)
        is_repeater = np.array([k.capacity == "repeater" for k in series], dtype=bool)[series_of]
        ref = self.reference
        hold, rest = self.hang_s[index], np.nan_to_num(self.rest_s[index], nan=ref.repeater_rest_s)
        other = is_repeater & ((hold != ref.repeater_hold_s) | (rest != ref.repeater_rest_s))
        for i in np.flatnonzero(other):
            duty = hold[i] / (hold[i] + rest[i])
            usual = ref.repeater_hold_s / (ref.repeater_hold_s + ref.repeater_rest_s)
            names[i] += f" holds of {hold[i]:g} s with {rest[i]:g} s rest"
            sds[i] = np.hypot(
                sds[i],
                np.hypot(
                    DUTY_SD * np.log(duty / usual), HOLD_SD * np.log(hold[i] / ref.repeater_hold_s)
                ),
            )
        counts = Counter(n for n in names if n)
        known = sorted(sorted(counts, key=lambda n: (-counts[n], n))[:OFFSETS])
        place = {n: i for i, n in enumerate(known)}
        offset = np.array([place.get(n, -1) for n in names], dtype=np.intp)
        sd_of = np.zeros(len(known))
        sd_of[offset[offset >= 0]] = sds[offset >= 0]
        rare = np.where(offset < 0, sds, 0.0)
        return edge_log, offset, tuple(n.strip() for n in known), np.maximum(sd_of, 0.01), rare


#: SD in log load of another board's edge, another pinch width, and per log unit of another duty
#: cycle and another length of hold in repeaters (own choices, no source).
BOARD_SD, WIDTH_SD, DUTY_SD, HOLD_SD = 0.06, 0.15, 0.5, 0.1
#: Most offsets that are estimated, those of most sets (own choice, no source): the work of a fit
#: grows with the square of its unknowns.
OFFSETS: Final = 30


def drops(capacity: Integers, seconds: Floats, reference: Reference) -> Drop:
    """
    Curves at each observation; coefficients: two of holds, then one of repeaters.

    A pull has no time: its drop is 0 and its slope is that of the reference hold, unused.
    """
    n = len(seconds)
    hold = hold_drop(seconds, reference.hang_s)
    repeater = repeater_drop(seconds, reference.repeater_s)
    is_hang, is_repeater = capacity == 0, capacity == 1
    basis, basis_slope = np.zeros((n, 3)), np.zeros((n, 3))
    basis[:, :2] = hold.basis * is_hang[:, None]
    basis[:, 2:] = repeater.basis * is_repeater[:, None]
    basis_slope[:, :2] = hold.basis_slope * is_hang[:, None]
    basis_slope[:, 2:] = repeater.basis_slope * is_repeater[:, None]
    value = np.where(is_hang, hold.value, np.where(is_repeater, repeater.value, 0.0))
    slope = np.where(is_repeater, repeater.slope, hold.slope)
    return Drop(value, slope, basis, basis_slope)


def _positions(day: Integers, series_of: Integers, count: Floats) -> tuple[Floats, Floats]:
    """Sets of the same series, and of all others, done earlier on the day; rows in time order."""
    n = len(day)
    if not n:
        return np.zeros(0), np.zeros(0)
    before = np.cumsum(count) - count
    new_day = np.concatenate([[True], day[1:] != day[:-1]])
    of_day = before - before[np.flatnonzero(new_day)][np.cumsum(new_day) - 1]
    by_series = np.lexsort([np.arange(n), series_of, day])
    c, d, s = count[by_series], day[by_series], series_of[by_series]
    ahead = np.cumsum(c) - c
    new = np.concatenate([[True], (d[1:] != d[:-1]) | (s[1:] != s[:-1])])
    own = np.empty(n)
    own[by_series] = ahead - ahead[np.flatnonzero(new)][np.cumsum(new) - 1]
    return own, of_day - own


def _absurd(load_kg: Floats, series_of: Integers, used: Flags) -> Flags:
    """Loads no strength explains: beyond a factor of the median of a series of three or more."""
    out = np.zeros(len(load_kg), dtype=bool)
    mine = np.flatnonzero(used)
    mine = mine[np.lexsort([load_kg[mine], series_of[mine]])]
    count = np.bincount(series_of[mine]) if len(mine) else np.zeros(0, dtype=np.intp)
    first = np.cumsum(count) - count
    log_load = np.log(load_kg[mine])
    for start, n in zip(first.tolist(), count.tolist(), strict=True):
        if n >= 3:
            # in order of load: the middle one is the median
            own = log_load[start : start + n]
            middle = np.log(0.5 * (np.exp(own[(n - 1) // 2]) + np.exp(own[n // 2])))
            out[mine[start : start + n][np.abs(own - middle) > np.log(ABSURD_FACTOR)]] = True
    return out


def _medians(load_kg: Floats, series_of: Integers, n: int) -> Floats:
    """(N,) middle load of each set's series."""
    by_load = load_kg[np.lexsort([load_kg, series_of])]
    count = np.bincount(series_of, minlength=n)
    first = np.cumsum(count) - count
    some = np.flatnonzero(count)
    low, high = (first[some] + (count[some] - 1) // 2, first[some] + count[some] // 2)
    middle = np.ones(n)
    middle[some] = 0.5 * (by_load[low] + by_load[high])
    return np.asarray(middle[series_of])


def _codes(words: npt.NDArray[np.object_]) -> Integers:
    """Numbers in the order of the words."""
    place = {word: i for i, word in enumerate(sorted(set(words.tolist())))}
    return np.array([place[word] for word in words], dtype=np.intp)


def _total(counts: Floats) -> int:
    return int(counts.sum())
