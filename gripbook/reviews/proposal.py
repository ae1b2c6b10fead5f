"""
What next: start loads, tests and the first weeks of the coming block, or of its coming week.

Every line says why. The limits are choices of our own without a source (a study of steps in finger
hangs was not found), named below and printed on the page. Nothing is proposed to anyone under 18,
and no load where pain asks to hold.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, Literal

import pandas as pd

from gripbook.derive import completed_sets
from gripbook.derive.best import sets_of_test_days
from gripbook.logs import Block, Limits, Phase, Target
from gripbook.logs.block import SET_REST_S
from gripbook.reviews import proposal_words as words
from gripbook.reviews.people import in_own_units
from gripbook.reviews.plates import STEP_KG, loadable
from gripbook.strength import SeriesKey
from gripbook.words import fmt, say
from gripbook.words import pain as pain_words

if TYPE_CHECKING:
    from gripbook.reviews.block_review import BlockReview

#: Chance with which the session's last set is still completed; the second for beginners and
#: wherever a start is lowered.
CHANCE: Final = 0.90
CHANCE_BEGINNER: Final = 0.95
#: Largest step above the last load done: kg and share, the lesser holds; two hands, one hand.
STEP: Final = (2.5, 0.03)
STEP_ONE_HAND: Final = (1.0, 0.02)
#: Largest step to a smaller edge; no load is worked out for edges below `SMALLEST_EDGE_MM`.
EDGE_STEP_MM: Final = 3.0
SMALLEST_EDGE_MM: Final = 10.0
#: At most this share of the last load after `OFF_DAYS` days off, ill or sore.
OFF_SHARE: Final = 0.90
OFF_DAYS: Final = 14
#: At most this share after a limit broken, or where less than `LOW_DONE` of the sessions was done.
LOWERED_SHARE: Final = 0.95
LOW_DONE: Final = 0.75
#: Beginner: so many months since the first finger training. New: so many, and so few days logged.
BEGINNER_MONTHS: Final = 12
NEW_MONTHS: Final = 6
NEW_FINGER_DAYS: Final = 12
#: Easy hangs for the new: weeks, sets, seconds.
RAMP_WEEKS: Final = 2
RAMP_SETS: Final = 5
RAMP_HANG_S: Final = 10.0
#: Pain at the limit counts as past after so many days with "none" as the last word.
PAIN_PAST_DAYS: Final = 14
#: Weeks of a proposed block where none was planned.
UNPLANNED_WEEKS: Final = 8
#: Where body mass is hidden, shares of a load are taken as if it were this, so that no proposal
#: leads back to it: the light one for steps up, the heavy one for steps down.
LIGHT_KG: Final = 40.0
HEAVY_KG: Final = 110.0
#: Days of tests at each end of a block that are tried, and the z of a change told in 95 of 100.
TEST_DAYS: Final = (1, 2)
_Z95: Final = 1.6449
#: Grips that no one is led into who did not name them.
_ONLY_ASKED: Final = ("full_crimp", "pocket_two", "pocket_one")

Kind = Literal["start", "expect", "below", "hold", "open"]


@dataclass(frozen=True, slots=True)
class NextLine:
    """One thing to do or to know, and why."""

    text: str
    because: str
    brief: str = ""  # where the page's opening says it too: its shorter form there


@dataclass(frozen=True, slots=True)
class NextLoad:
    """
    One exercise, grip and hand of the coming block or week.

    `kind`: `start` (load it), `expect` (an all-out pull: no load to set, `force_kg` is what the
    day's last pull still reaches), `below` (a pull held back: at most `force_kg`), `hold` (no
    load: pain), `open` (nothing to go by). `added_kg` and `force_kg` are None where there is none
    or it may not be told. `pieces`: plates, kg. `rows`: `file:line` of what the figure rests on.
    `last`: the weight done last, in words; `brief`: what of `because` stands in the page's opening.
    """

    phase: str
    exercise: str
    grip: str
    hand: str
    edge_mm: float
    kind: Kind
    because: str
    added_kg: float | None = None
    force_kg: float | None = None
    pieces: tuple[float, ...] = ()
    sets: int | None = None
    rows: tuple[str, ...] = ()
    units: str = "kg"
    last: str = ""
    brief: str = ""

    @property
    def load_words(self) -> str:
        """The load as it is said to the athlete."""
        return words.load_words(self)

    @property
    def weight_words(self) -> str:
        """The load without the plates that make it up."""
        return words.load_words(self, pieces=False)


@dataclass(frozen=True, slots=True)
class NextTests:
    """
    When to test again: block weeks, test days at each end, the change they would tell (per cent of
    the load; NaN where body mass is hidden), and why.
    """

    weeks: tuple[int, ...]
    days_each_end: int
    told_pct: float
    text: str
    because: str


@dataclass(frozen=True, slots=True)
class NextBlock:
    """
    What next for one athlete.

    `week` is 0 for a whole block, else the block week meant; `start` its first day. `held`: the
    sides that pain holds. `lines` come first, most pressing first. `block` is the block to write,
    None where nothing is proposed. `choices`: the limits used, as the page prints them. `lowered`:
    why every start lies below the last loads, "" where none has to.
    """

    athlete: str
    start: dt.date
    week: int
    held: tuple[str, ...]
    lines: tuple[NextLine, ...]
    loads: tuple[NextLoad, ...]
    tests: NextTests | None
    ramp: NextLine | None
    block: Block | None
    choices: tuple[str, ...]
    lowered: str = ""

    @property
    def all_lines(self) -> tuple[tuple[str, str], ...]:
        """Every line with its because, in the page's order."""
        ramp = [(self.ramp.text, self.ramp.because)] if self.ramp else []
        tests = [(self.tests.text, self.tests.because)] if self.tests else []
        loads = [(words.load_line(x), x.because) for x in self.loads]
        return (*((x.text, x.because) for x in self.lines), *ramp, *loads, *tests)


@in_own_units
def propose_next(
    review: BlockReview, *, week: bool = False, start: dt.date | None = None
) -> NextBlock:
    """
    Propose the coming block, or with `week` the coming week of the running one.

    Parameters
    ----------
    review : of the block that ends or runs; it may be viewed midway.
    week : the week after the last logged day, in place of the next block.
    start : first day of the next block; default: the first day after block and log that is the
        same day of the week as the block's first.

    Returns
    -------
    NextBlock; for anyone under 18 it only says what was done.
    """
    number = 0
    if week:
        number = max(1, review.block.week_of(review.last.date()) + 1)
        start = review.block.start + dt.timedelta(days=7 * (number - 1))
    # a block that still runs goes on after the log's last day: only a start that is named, or the
    # week's own, tells how long the fingers will have rested
    running = start is None and review.last.date() < review.block.end
    start = start or _next_start(review)
    if review.athlete.minor:
        return _for_minor(review, start, number)
    rested = review.last.date() + dt.timedelta(days=1) if running else start
    return _Proposal(review, start, number, rested).made()


def _next_start(r: BlockReview) -> dt.date:
    after: dt.date = max(r.block.end, r.last.date()) + dt.timedelta(days=1)
    return after + dt.timedelta(days=int((r.block.start - after).days % 7))


# --- under 18 ---------------------------------------------------------------------------------


def _for_minor(r: BlockReview, start: dt.date, week: int) -> NextBlock:
    """What was done, and whose the next step is: no load, no edge, no test, no file."""
    work = r.sets[r.sets["in_block"] & ~r.sets["warmup"]]
    lines = [NextLine(say(words.MINOR), say(words.MINOR_BECAUSE))]
    lines += [_hold_line(r, _held(r))] if _held(r) else []
    for (exercise, grip, hand), rows in work.groupby(["exercise", "grip", "hand"], sort=True):
        last = rows[rows["date"] == rows["date"].max()]
        lines.append(
            NextLine(
                words.minor_done(str(exercise), str(grip), str(hand), rows, last),
                say(words.MINOR_BECAUSE),
            )
        )
    return NextBlock(
        r.athlete.id, start, week, tuple(sorted(_held(r))), tuple(lines), (), None, None, None, ()
    )


# --- pain and pauses --------------------------------------------------------------------------


def _held(r: BlockReview) -> dict[str, str]:
    """The sides that pain holds, each with the place and level that say so."""
    out: dict[str, str] = {}
    entries = r.pain_to_date.entries
    for flag in r.pain_to_date.flags:
        own = entries[(entries["site"] == flag.site) & (entries["side"] == flag.logged_side)]
        if flag.reason == "level" and _past(entries, own, r.block.limits.pain_level):
            continue
        side = str(own["side"].iloc[-1]) if len(own) else ""
        for one in ("left", "right") if side not in ("left", "right") else (side,):
            out.setdefault(
                one, words.pain_words(pain_words.flag_place(flag), own, r.block.limits.pain_level)
            )
    return out


def _past(entries: pd.DataFrame, own: pd.DataFrame, limit: float) -> bool:
    """Whether a level at the limit is over: none since, and for long enough."""
    high = own.loc[own["level"] >= max(limit, 0.5), "date"].max()
    about = entries[entries.index.isin(own.index) | (entries["site"] == "")]
    since = about[about["date"] > high]
    if since.empty or since.iloc[-1]["level"] > 0:
        return False
    return bool((since.iloc[-1]["date"] - high).days >= PAIN_PAST_DAYS)


def _hold_line(r: BlockReview, held: dict[str, str]) -> NextLine:
    return NextLine(words.hold(held), words.hold_because(held))


@dataclass(frozen=True, slots=True)
class _Rein:
    """
    A reason to stay at or below a share of the last load; `step` allows a step above it. `short`
    is the reason within another sentence.
    """

    share: float
    step: bool
    because: str
    short: str = ""


# --- the proposal -----------------------------------------------------------------------------


class _Proposal:
    """One athlete's proposal in the making."""

    def __init__(self, r: BlockReview, start: dt.date, week: int, rested: dt.date) -> None:
        self.r, self.block, self.start, self.week = r, r.block, start, week
        self.rested = rested
        self.show = r.athlete.show_body_mass
        # without evidence the fit holds no sets, and those of the page may lack loads
        self.known = len(r.fit._sets) > 0
        self.sets = r.fit._sets if self.known else r.sets
        self.done = completed_sets(self.sets) if self.known else self.sets.iloc[:0]
        self.held = _held(r)
        self.finger_days = sorted(set(self.sets.loc[~self.sets["warmup"], "date"]))
        self.months = _months_between(r.athlete.fingers_since, start)
        few = len(self.finger_days) < NEW_FINGER_DAYS
        self.new = few and (self.months is None or self.months < NEW_MONTHS)
        self.beginner = self.new or self.months is None or self.months < BEGINNER_MONTHS
        self.rein = self._rein()
        masses = self.sets["body_mass_kg"].dropna() if self.known else self.done["sets"]
        self.mass_kg = float(masses.iloc[-1]) if len(masses) else math.nan

    def made(self) -> NextBlock:
        loads = [self._aged_load(x) for x in self._loads()]
        hold = bool(self.held)
        ramp = self._ramp() if self.new and not hold else None
        tests = self._tests(loads)
        lines = list(self._lines(loads))
        block = None
        if (
            not self.week
            and not hold
            and any(x.kind in ("start", "expect", "below") for x in loads)
        ):
            block = self._block(loads, tests)
        if tests is not None:
            tests = replace(tests, because=self._aged(tests.because))
        return NextBlock(
            athlete=self.r.athlete.id,
            start=self.start,
            week=self.week,
            held=tuple(sorted(self.held)),
            lines=tuple(replace(x, because=self._aged(x.because)) for x in lines),
            loads=tuple(loads),
            tests=tests,
            ramp=NextLine(ramp.text, self._aged(ramp.because)) if ramp else None,
            block=block,
            choices=words.choices(self.show, LIGHT_KG, HEAVY_KG),
            lowered=self.rein.because if self.rein.share < 1 else "",
        )

    def _aged(self, because: str) -> str:
        return because if self.r.athlete.born is not None else f"{because} {say(words.NO_AGE)}"

    def _aged_load(self, load: NextLoad) -> NextLoad:
        brief = load.brief
        if brief and load.because.endswith(brief):  # not cut short
            brief = self._aged(brief)
        because = self._aged(load.because)
        return replace(load, because=because, brief=brief, units=self.r.athlete.units)

    # what holds the load down

    def _rein(self) -> _Rein:
        found = [x for x in (self._off(), self._sore(), self._broken(), self._low()) if x]
        if self.week in self.block.easy_weeks and self.week:
            found.append(_Rein(1.0, False, say(words.EASY_WEEK), say(words.EASY_WEEK_SHORT)))
        if not found:
            return _Rein(1.0, True, "")
        because = [fmt.sentence(x.because) for x in found]
        short = fmt.listing(x.short for x in found)
        return _Rein(min(x.share for x in found), False, " ".join(because), short)

    def _off(self) -> _Rein | None:
        """Days off before the start, or ill days close to it."""
        if not self.finger_days:
            return None
        until = self.rested
        last = self.finger_days[-1].date()
        off = (until - last).days - 1
        away = self.r.away
        recent = away[away["date"] >= pd.Timestamp(until) - pd.Timedelta(days=OFF_DAYS + 7)]
        recent = recent[recent["date"] < pd.Timestamp(until)]
        unwell = recent["kind"].isin(["ill", "injured"])
        ill = recent.loc[unwell, "date"].nunique()
        if off >= OFF_DAYS:
            since = away[(away["date"] > pd.Timestamp(last)) & (away["kind"] != "rest")]
            kinds = sorted(set(since["kind"]))
            return _Rein(OFF_SHARE, False, *words.off(last, until, off, kinds, self.show))
        if ill >= OFF_DAYS:
            return _Rein(OFF_SHARE, False, *words.ill(int(ill), self.show))
        return None

    def _sore(self) -> _Rein | None:
        felt = self.r.pain_to_date.felt
        recent = felt[felt["date"] >= self.r.last - pd.Timedelta(days=OFF_DAYS + 7)]
        recent = recent[recent["date"] <= self.r.last]
        if recent.empty:
            return None
        first, last = recent["date"].min(), recent["date"].max()
        if (last - first).days + 1 < OFF_DAYS:
            return None
        return _Rein(OFF_SHARE, False, *words.sore(first.date(), last.date(), self.show))

    def _broken(self) -> _Rein | None:
        breaches = self.r.dose.breaches
        if self.week:  # what is two weeks past has had its effect on the plan
            breaches = tuple(b for b in breaches if b.week >= self.week - 2)
        if not breaches:
            return None
        stated = bool(self.block.limits.stated)
        told = words.broken([b.week for b in breaches], stated, self.show)
        return _Rein(LOWERED_SHARE, False, *told)

    def _low(self) -> _Rein | None:
        done, planned = self.r.done.sessions_done, self.r.done.sessions_planned or 0
        if self.week:  # the last four weeks that are over or have all their sessions
            weeks = self.r.done.weeks
            full = weeks["sessions_done"] >= weeks["sessions_planned"]
            weeks = weeks[(weeks["state"] == "done") | ((weeks["state"] == "part") & full)].tail(4)
            planned = int(weeks["sessions_planned"].sum())
            done = int(weeks["sessions_done"].sum())
        if not planned or done >= LOW_DONE * planned:
            return None
        return _Rein(LOWERED_SHARE, False, *words.low(done, planned, self.show))

    # which series

    def _phases(self) -> tuple[Phase, ...]:
        phases = [p for p in self.block.phases if p.exercise]
        if self.week:
            return tuple(p for p in phases if p.holds_week(self.week))
        return tuple(phases) if self.block.planned else tuple(self._own_phases())

    def _own_phases(self) -> Iterable[Phase]:
        """
        Phases like what was done last, where nothing was planned: one session a week each, no more
        of them than finger days a week allowed.
        """
        work = self.sets[self.sets["in_block"] & ~self.sets["warmup"]]
        latest = work.groupby("exercise")["date"].max().sort_values(ascending=False)
        for exercise in latest.index[: self.block.limits.fingers_per_week]:
            rows = work[work["exercise"] == exercise]
            sets = rows.groupby(["date", "session"])["sets"].sum().median()
            yield Phase(
                name=words.PHASE_NAMES[str(exercise)],
                weeks=UNPLANNED_WEEKS,
                from_week=1,
                exercise=exercise,
                hang_s=_usual(rows["hang_s"]) if exercise != "pull" else None,
                rest_s=_usual(rows["rest_s"]) if exercise == "repeater" else None,
                reps=_whole(_usual(rows["reps"])) if exercise == "repeater" else None,
                sets_per_session=max(1, int(sets)),
                set_rest_s=SET_REST_S[str(exercise)],
                sessions_per_week=1,
                alternate_hands=exercise == "pull",
            )

    def _grips(self, phase: Phase, own: pd.DataFrame) -> tuple[list[str], list[str]]:
        """Grips to propose in a phase, and those logged that the plan does not name."""
        logged = list(dict.fromkeys(own["grip"]))
        if phase.targets:
            named = list(dict.fromkeys(t.grip for t in phase.targets))
        else:
            elsewhere = [t.grip for p in self.block.phases for t in p.targets]
            headline = [self.block.headline.grip] if self.block.headline else []
            named = list(dict.fromkeys([*headline, *elsewhere, *self.block.grips]))
        if not named:
            named = [g for g in logged if g not in _ONLY_ASKED]
        asked = {t.grip for t in phase.targets}
        return [g for g in named if g in logged or g in asked], [
            g for g in logged if g not in named
        ]

    def _hands(self, phase: Phase, own: pd.DataFrame, grip: str) -> list[str]:
        asked = [t.hand for t in phase.targets if t.grip == grip]
        return list(dict.fromkeys([*asked, *sorted(own.loc[own["grip"] == grip, "hand"].unique())]))

    def _loads(self) -> list[NextLoad]:
        out: list[NextLoad] = []
        for phase in self._phases():
            own = self.sets[(self.sets["exercise"] == phase.exercise) & ~self.sets["warmup"]]
            grips, _ = self._grips(phase, own)
            of_phase = [self._load(phase, g, h) for g in grips for h in self._hands(phase, own, g)]
            out += sorted(of_phase, key=self._weakness)
        return out

    def _weakness(self, load: NextLoad) -> tuple[bool, float]:
        """The athlete's own weakest first; what is not known last."""
        own = [
            s.end_kg if math.isfinite(s.end_kg) else s.start_kg
            for s in self.r.fit.series
            if (s.capacity, s.grip, s.hand) == (load.exercise, load.grip, load.hand)
        ]
        kg = min((x for x in own if math.isfinite(x)), default=math.inf)
        return load.kind == "open", kg

    # one series

    def _load(self, phase: Phase, grip: str, hand: str) -> NextLoad:
        assert phase.exercise is not None
        line = NextLoad(
            phase.name,
            phase.exercise,
            grip,
            hand,
            math.nan,
            "open",
            say(words.NOTHING_DONE),
            sets=phase.sets_per_session,
        )
        sides = ("left", "right") if hand == "both" else (hand,)
        held = [s for s in sides if s in self.held]
        if held:
            return replace(line, kind="hold", because=words.held(held, self.held, hand))
        if phase.exercise == "pull" and self.new:
            return replace(line, because=say(words.NO_PULLS_YET))
        rows = self.done[
            (self.done["exercise"] == phase.exercise)
            & (self.done["grip"] == grip)
            & (self.done["hand"] == hand)
        ]
        key = self._key(phase.exercise, grip, hand)
        if rows.empty or key is None:
            return line
        rows = rows[rows["load_kind"] == key.load_kind]
        if rows.empty:
            return line
        edge = float(rows.iloc[-1]["edge_mm"])
        same = rows[(rows["edge_mm"] == edge) | (rows["edge_mm"].isna() & math.isnan(edge))]
        last = same[same["date"] == same["date"].max()]
        last_row = last.loc[last["load_kg"].idxmax()]
        line = replace(line, edge_mm=edge, rows=(f"{last_row['file']}:{int(last_row['line'])}",))
        if math.isfinite(edge) and edge < SMALLEST_EDGE_MM:
            return replace(line, because=say(words.SMALL_EDGE))
        if phase.exercise == "pull":
            return self._pull(line, key, last_row)
        return self._weighted(line, key, phase, last_row, rows)

    def _key(self, exercise: str, grip: str, hand: str) -> SeriesKey | None:
        for kind in ("steady", "peak"):
            key = SeriesKey(exercise, grip, hand, kind)
            if key in self.r.fit.evidence.series and self.r.fit.find(*key):
                return key
        return None

    @property
    def chance(self) -> float:
        return CHANCE_BEGINNER if self.beginner or self.rein.share < 1 else CHANCE

    def _pull(self, line: NextLoad, key: SeriesKey, last: pd.Series) -> NextLoad:
        """An all-out pull has no load to set: what its last one should still read."""
        tellable = self.show or last["load_source"] == "gauge"
        if self.rein.share < 1:
            most = math.floor(2 * self.rein.share * float(last["load_kg"])) / 2
            because = words.pull_below(self.rein.share, self.rein.short, last["date"].date())
            return replace(line, kind="below", force_kg=most if tellable else None, because=because)
        line = replace(line, kind="expect", because=say(words.PULL_HIDDEN))
        if not tellable:
            return line
        low, high = 0.3 * float(last["load_kg"]), 1.5 * float(last["load_kg"])
        for _ in range(40):  # the chance falls with the load
            middle = 0.5 * (low + high)
            if self._chance(key, line, middle) >= self.chance:
                low = middle
            else:
                high = middle
        force = math.floor(2 * low) / 2
        return replace(line, force_kg=force, because=words.pull_because(force, self.chance, line))

    def _chance(
        self,
        key: SeriesKey,
        line: NextLoad,
        load_kg: float,
        edge_mm: float | None = None,
        phase: Phase | None = None,
    ) -> float:
        if load_kg <= 0:
            return 1.0
        return self.r.fit.predict(
            key,
            edge_mm=line.edge_mm if edge_mm is None else edge_mm,
            load_kg=load_kg,
            hang_s=phase.hang_s if phase else None,
            reps=phase.reps if phase and phase.exercise == "repeater" else None,
            sets_before=max(0, (line.sets or 1) - 1),
        )

    def _weighted(
        self, line: NextLoad, key: SeriesKey, phase: Phase, last: pd.Series, rows: pd.DataFrame
    ) -> NextLoad:
        """A hang or a repeater set: the heaviest load that the last set of the day still takes."""
        lifted = last["load_source"] == "gauge"
        base = 0.0
        if not lifted:
            # where body mass is hidden, that of the same day: a change of it must not show
            base = self.mass_kg if self.show else float(last["body_mass_kg"])
            if not math.isfinite(base):
                return line
        before = float(last["load_kg"]) if lifted else float(last["load_kg"]) - base
        if not lifted and not self.show:
            before = float(last["added_kg"]) if pd.notna(last["added_kg"]) else 0.0
        cap = self._cap(before, base, line.hand, lifted=lifted)
        sums = loadable(self.block.plates_kg)
        options = {kg: pieces for kg, pieces in sums.items() if not (lifted and kg == 0)}
        off = {-kg: pieces for kg, pieces in sums.items() if kg > 0}
        if before < 0:
            options |= off
        if not self.block.plates_kg:  # what was loaded once can be loaded again
            options[before] = ()

        def takes(added: float, edge_mm: float | None = None) -> bool:
            return self._chance(key, line, base + added, edge_mm, phase) >= self.chance

        told = words.Told(
            last_kg=float(last["force_kg"]) if lifted else float(last["added_kg"]),
            last_day=last["date"].date(),
            again=self._chance(key, line, base + before, None, phase),
            chance=self.chance,
            sets=line.sets,
            rein=self.rein.short,
            share=self.rein.share,
            step=self.rein.step,
            one_hand=line.hand != "both",
            lifted=lifted,
            units=self.r.athlete.units,
        )
        found = self._of_told(line, key, phase, rows, told, takes, options, off, base, before, cap)
        return replace(
            found,
            because=f"{words.last_done(told)} {found.because}",
            last=words.last_weight(told),
            brief=words.brief(told, found.because, self.show),
        )

    def _of_told(
        self,
        line: NextLoad,
        key: SeriesKey,
        phase: Phase,
        rows: pd.DataFrame,
        told: words.Told,
        takes: Callable[..., bool],
        options: dict[float, tuple[float, ...]],
        off: dict[float, tuple[float, ...]],
        base: float,
        before: float,
        cap: float,
    ) -> NextLoad:
        """The load; its because begins after what was done last."""
        lifted = told.lifted
        s = self.r.fit.find(*key)
        if s is not None and s.at_least:
            return self._unbounded(line, options | off, cap, before, rows, told, lifted=lifted)
        smaller = self._smaller_edge(line.edge_mm, rows)
        if smaller and self.rein.step and before in options and takes(before, smaller):
            return replace(
                line,
                kind="start",
                edge_mm=smaller,
                added_kg=before,
                pieces=options[before],
                because=words.edge_because(told, line.edge_mm, smaller),
            )
        found = self._heaviest(line, options, cap, takes, told, lifted=lifted)
        if found is not None or lifted:
            return found or replace(line, because=words.no_load(told))
        at_cap = self._chance(key, line, base + cap, None, phase)
        for edge in self._larger_edges(line.edge_mm):
            if self._chance(key, line, base, edge, phase) >= max(self.chance, at_cap):
                return replace(
                    line,
                    kind="start",
                    edge_mm=edge,
                    added_kg=0.0,
                    because=words.larger_because(told, line.edge_mm, edge),
                )
        # a counterweight only to those who have used one
        if (self.sets["added_kg"] < 0).any():
            found = self._heaviest(line, off, cap, takes, told, lifted=False)
        return found or replace(line, because=words.no_load(told))

    def _unbounded(
        self,
        line: NextLoad,
        options: dict[float, tuple[float, ...]],
        cap: float,
        before: float,
        rows: pd.DataFrame,
        told: words.Told,
        *,
        lifted: bool,
    ) -> NextLoad:
        """
        Every set was finished, so no chance can be told: one small step above the last load where a
        whole session was done with it, else that load again.
        """
        smaller = self._smaller_edge(line.edge_mm, rows)
        same = rows[(rows["edge_mm"] == line.edge_mm) | rows["edge_mm"].isna()]
        # of different body masses the loads differ a little; half a kilogram is no other load
        heavy = same[same["load_kg"] >= float(same.iloc[-1]["load_kg"]) - STEP_KG]
        enough = int(heavy["sets"].sum()) >= (line.sets or 1)
        if smaller and self.rein.step and enough and before in options:
            because = words.unbounded_because(told, edges=(line.edge_mm, smaller), stepped=True)
            return replace(
                line,
                kind="start",
                edge_mm=smaller,
                added_kg=before,
                pieces=options[before],
                because=because,
            )
        below = [kg for kg in options if kg <= min(cap, before) + 1e-6]
        above = [kg for kg in options if before + 1e-6 < kg <= cap + 1e-6]
        stepped = bool(above) and self.rein.step and enough
        if not below and not stepped:
            return replace(line, because=words.no_load(told))
        kg = min(above) if stepped else max(below)
        if kg < 0 and not (self.sets["added_kg"] < 0).any():
            wider = self._larger_edges(line.edge_mm)
            if not wider or self.rein.share < LOWERED_SHARE:
                return replace(line, because=words.no_load(told))
            return replace(
                line,
                kind="start",
                edge_mm=wider[0],
                added_kg=0.0,
                because=words.unbounded_because(
                    told, edges=(line.edge_mm, wider[0]), stepped=False
                ),
            )
        return replace(
            line,
            kind="start",
            added_kg=None if lifted else kg,
            force_kg=kg if lifted else None,
            pieces=options[kg],
            because=words.unbounded_because(told, edges=None, stepped=stepped),
        )

    def _heaviest(
        self,
        line: NextLoad,
        options: dict[float, tuple[float, ...]],
        cap: float,
        takes: Callable[[float], bool],
        told: words.Told,
        *,
        lifted: bool,
    ) -> NextLoad | None:
        """The heaviest of the options below the cap that the last set still takes."""
        allowed = sorted(kg for kg in options if kg <= cap + 1e-6)
        low, high = 0, len(allowed)
        while low < high:  # the chance falls with the load
            middle = (low + high) // 2
            low, high = (middle + 1, high) if takes(allowed[middle]) else (low, middle)
        if not low:
            return None
        kg = allowed[low - 1]
        return replace(
            line,
            kind="start",
            added_kg=None if lifted else kg,
            force_kg=kg if lifted else None,
            pieces=options[kg],
            because=words.load_because(told, kg, bound=low == len(allowed)),
        )

    def _cap(self, before: float, base: float, hand: str, *, lifted: bool) -> float:
        """The most that may be added (lifted: the most on the block), kg."""
        kg, share = STEP if hand == "both" else STEP_ONE_HAND
        known = self.show or lifted
        if self.rein.step:
            of = base + before if known else max(LIGHT_KG + before, 0.0)
            return before + min(kg, share * of)
        of = base + before if known else HEAVY_KG + before
        return before - (1.0 - self.rein.share) * of

    def _smaller_edge(self, edge: float, rows: pd.DataFrame) -> float | None:
        """The next smaller edge there is, for an athlete whose edges got smaller in the block."""
        tests = sets_of_test_days(rows, self.block).index
        used = rows.loc[rows["in_block"] & ~rows.index.isin(tests), "edge_mm"].dropna()
        if used.empty or not used.iloc[-1] < used.iloc[0]:
            return None
        below = [e for e in self.block.edges_mm if SMALLEST_EDGE_MM <= e < edge]
        best = max(below, default=math.nan)
        return best if edge - best <= EDGE_STEP_MM else None

    def _larger_edges(self, edge: float) -> list[float]:
        there = {*self.block.edges_mm, *self.sets["edge_mm"].dropna()}
        return sorted(float(e) for e in there if e > edge)

    # beside the loads

    def _lines(self, loads: list[NextLoad]) -> Iterable[NextLine]:
        if self.held:
            yield _hold_line(self.r, self.held)
        if self.rein.because:
            yield NextLine(words.lowered(self.rein.share, bool(self.held)), self.rein.because)
        yield from self._pain_lines()
        if self.week > self.block.weeks:
            yield NextLine(say(words.BLOCK_OVER), words.block_over_because(self.block))
        elif self.week:
            yield from self._week_lines()
        unnamed: dict[str, list[str]] = {}
        for phase in self._phases():
            own = self.sets[(self.sets["exercise"] == phase.exercise) & ~self.sets["warmup"]]
            for grip in self._grips(phase, own[own["in_block"]])[1]:
                unnamed.setdefault(grip, []).append(phase.name)
        for grip, names in unnamed.items():
            yield NextLine(words.unnamed(grip, names), say(words.UNNAMED_BECAUSE))
        rested = self.rein.share > OFF_SHARE
        if self.finger_days and any(x.kind == "start" for x in loads) and rested:
            last = self.finger_days[-1].date()
            because = say(words.LATER_BECAUSE)
            yield NextLine(words.later(last), because, words.later(last, brief=True))
        if any(x.kind == "start" for x in loads):
            yield NextLine(say(words.STOP), say(words.STOP_BECAUSE))

    def _pain_lines(self) -> Iterable[NextLine]:
        """Pain below the limit, and pain nobody asked about."""
        pain = self.r.pain_to_date
        if not pain.recorded:
            yield NextLine(say(words.ASK_PAIN), say(words.PAIN_NOT_RECORDED))
        since = self.r.last - pd.Timedelta(days=OFF_DAYS)
        felt = pain.felt[(pain.felt["date"] > since) & ~pain.felt["side"].isin(list(self.held))]
        if len(felt) and len(self.held) < 2:
            row = felt.iloc[-1]
            place = pain_words.place(row["site"], row["side"])
            limit = self.block.limits.pain_level
            day = row["date"].date()
            yield NextLine(words.watch(place, limit), words.watch_because(row["level"], day))

    def _week_lines(self) -> Iterable[NextLine]:
        phases = [p for p in self._phases() if p.sessions_per_week]
        limits = self.block.limits
        if phases and not self.held:
            asked = sum(p.sessions_per_week or 0 for p in phases)
            days = min(asked, limits.fingers_per_week)
            yield NextLine(words.week_sessions(days, phases), words.week_because(asked, limits))
        elif not phases:
            yield NextLine(say(words.NO_FINGERS), say(words.PLAN_SAYS))
        if self.week in self.block.test_weeks and not self.held:
            if self.new or not self.rein.step:
                yield NextLine(say(words.TEST_WAITS), self.rein.because or say(words.NEW_NO_TEST))
            else:
                yield NextLine(say(words.TEST_WEEK), say(words.PLAN_SAYS))
        other = self.block.weekly_in(self.week)
        if other:
            yield NextLine(words.other_work(other), say(words.PLAN_SAYS))

    def _ramp(self) -> NextLine | None:
        if self.week > RAMP_WEEKS:
            return None
        edges = [*self.block.edges_mm, *self.sets["edge_mm"].dropna()]
        edge = max(edges, default=math.nan)
        return NextLine(
            words.ramp(edge, self.beginner and self.months is None),
            words.ramp_because(self.r.athlete.fingers_since, len(self.finger_days)),
        )

    def _tests(self, loads: list[NextLoad]) -> NextTests | None:
        """Test weeks of the coming block, and how many days the change that matters asks for."""
        if self.week or self.held:
            return None
        weeks = self._weeks()
        if self.new:
            return NextTests((), 0, math.nan, say(words.NEW_TESTS), say(words.NEW_NO_TEST))
        # where the start is lowered the first two weeks build up again; a test waits for them
        first = 1 if self.rein.share >= 1 else min(3, weeks)
        series = self._tested()
        if series is None or weeks < 2 or not loads:
            return None
        key, kg = series
        smallest = float(self.block.smallest_change_pct.get(key.capacity, 5.0))
        before = self._test_days(key)
        told = {n: self._told_pct(key, n - before) for n in TEST_DAYS if n >= before}
        known = {n: x for n, x in told.items() if math.isfinite(x)}
        if not known:
            return None
        enough = [n for n, x in known.items() if x <= smallest]
        n = enough[0] if enough else _worth(known)
        spread = range(1 if n < 3 else 2)
        at = sorted({w for k in spread for w in (first + k, weeks - k) if 1 <= w <= weeks})
        text = words.tests(key, at, n)
        because = words.tests_because(known, n, smallest, kg, show=self.show, late=first > 1)
        return NextTests(tuple(at), n, known[n] if self.show else math.nan, text, because)

    def _weeks(self) -> int:
        return self.block.weeks if self.block.planned else UNPLANNED_WEEKS

    def _tested(self) -> tuple[SeriesKey, float] | None:
        """The series named beforehand (else the page's first), with its load for words."""
        headline = self.r.change.headline
        if headline is None or self.r.fit._mixture is None:
            return None
        s = headline.fit
        kg = s.end_kg if math.isfinite(s.end_kg) else s.start_kg
        return s.key, kg

    def _test_days(self, key: SeriesKey) -> int:
        """Test days of the series there were at either end of the block, at most all tried."""
        own = self.sets[self.sets["in_block"] & (self.sets["exercise"] == key.capacity)]
        own = own[(own["grip"] == key.grip) & (own["hand"] == key.hand)]
        days = sets_of_test_days(own, self.block)["day"].drop_duplicates()
        middle = self.r.fit.evidence.last_day / 2
        return min(int((days < middle).sum()), int((days > middle).sum()), max(TEST_DAYS))

    def _told_pct(self, key: SeriesKey, more: int) -> float:
        """Rise (per cent) told from none in a block like this with so many more test days."""
        extra = _test_rows(self.sets, key, self.r.fit.evidence.last_day, more) if more else None
        if extra is not None and extra.empty:
            return math.nan
        return 100 * math.expm1(_Z95 * self.r.fit.change_sd(key, extra))

    # the file

    def _block(self, loads: list[NextLoad], tests: NextTests | None) -> Block:
        shift = RAMP_WEEKS if self.new else 0
        plan = self.block
        phases: list[Phase] = []
        if self.new:
            phases.append(
                Phase(
                    name=say(words.RAMP_NAME),
                    weeks=RAMP_WEEKS,
                    from_week=1,
                    exercise="hang",
                    hang_s=RAMP_HANG_S,
                    sets_per_session=RAMP_SETS,
                    set_rest_s=(120.0, 180.0),
                    sessions_per_week=2,
                )
            )
        source = plan.phases if plan.planned else self._phases()
        for phase in source:
            if phase.exercise == "pull" and self.new:
                continue
            targets = tuple(_target(x) for x in loads if x.phase == phase.name) if loads else ()
            phases.append(
                replace(phase, from_week=phase.from_week + shift, targets=targets or phase.targets)
            )
        weeks = max((p.to_week for p in phases), default=plan.weeks)
        weeks = max(weeks, self._weeks() + shift) if not self.new else weeks
        headline = plan.headline
        if headline and self.new and headline.capacity == "pull":
            headline = None
        at = [w + shift for w in tests.weeks] if tests else []
        easy = tuple(w + shift for w in plan.easy_weeks if w + shift <= weeks)
        return replace(
            plan,
            name=_next_name((plan.aside or plan).name),
            start=self.start,
            weeks=weeks,
            headline=headline,
            phases=tuple(phases),
            test_weeks=tuple(w for w in at if w <= weeks),
            easy_weeks=easy,
            athletes=(self.r.athlete.id,),
            limits=plan.limits if plan.given else Limits(),
            grips=tuple(sorted(set(plan.grips) & {x.grip for x in loads})),
            overrides={},
            file="",
            planned=True,
            aside=None,
        )


def _target(load: NextLoad) -> Target:
    edge = load.edge_mm if math.isfinite(load.edge_mm) else None
    if load.kind != "start":  # an all-out pull has no load to set
        return Target(load.grip, load.hand, edge)
    return Target(load.grip, load.hand, edge, load.added_kg, load.force_kg)


def _next_name(name: str) -> str:
    """`Winter 2` after `Winter`, `Winter 3` after `Winter 2`."""
    found = re.fullmatch(r"(.*\S)\s+(\d{1,3})", name)
    return f"{found.group(1)} {int(found.group(2)) + 1}" if found else f"{name} 2"


def _worth(known: dict[int, float]) -> int:
    """Most test days that still bring a tenth each; fewer days are less to recover from."""
    best = min(known)
    for n in sorted(known):
        if n > best and known[n] < 0.9 * known[best]:
            best = n
    return best


def _months_between(since: str, day: dt.date) -> float | None:
    """Months from a year or year-month to a day, None where not recorded; taken short."""
    found = re.fullmatch(r"(\d{4})(?:-(\d{1,2}))?", since.strip())
    if not found:
        return None
    # of a year alone the last month is taken, so that nobody passes for trained too early
    month = int(found.group(2)) if found.group(2) else 12
    return max(0.0, 12 * (day.year - int(found.group(1))) + day.month - month)


def _usual(values: pd.Series) -> float | None:
    known = values.dropna()
    return float(known.mode().iloc[0]) if len(known) else None


def _whole(value: float | None) -> int | None:
    return None if value is None else int(value)


def _test_rows(sets: pd.DataFrame, key: SeriesKey, last_day: int, days: int) -> pd.DataFrame:
    """Sets to the limit on so many days near each end of the block, like those logged."""
    own = sets[
        (sets["exercise"] == key.capacity)
        & (sets["grip"] == key.grip)
        & (sets["hand"] == key.hand)
        & (sets["load_kind"] == key.load_kind)
        & ~sets["warmup"]
        & sets["load_kg"].notna()
    ]
    if own.empty:
        return own
    at = [d for k in range(days) for d in (2 + 3 * k, last_day - 2 - 3 * k)]
    out = own.iloc[[-1] * len(at)].copy()
    if key.capacity != "pull":
        out["outcome"] = "failed"
        out["failed_s"] = out["hang_s"] - 1.0
        out["reps_done"] = out["reps"] - 1.0
        total = out["tension_s"] if key.capacity == "repeater" else out["hang_s"]
        out["tension_s"] = total - 1.0
    out["day"], out["sets"], out["set_id"] = at, 1, [10_000 + d for d in at]
    return out.assign(line=[10_000_001 + k for k in range(len(at))])
