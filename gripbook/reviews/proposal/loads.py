"""Start loads: the heaviest that the rules allow, with the rule that binds kept as data."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, Literal

import pandas as pd

from gripbook.derive.records import records
from gripbook.logs import Phase, Target
from gripbook.reviews.block_facts import BlockFacts
from gripbook.reviews.body_mass import BodyMassState
from gripbook.reviews.plates import (
    STEP_KG,
    STEP_LB,
    STEP_ONE_HAND_KG,
    STEP_ONE_HAND_LB,
    loadable,
    spaced,
)
from gripbook.reviews.proposal.choices import Choices
from gripbook.reviews.proposal.holds import Holds
from gripbook.reviews.proposal.lowered import Reduction
from gripbook.reviews.proposal.rules import (
    PASSING,
    LastLoad,
    LoadLimit,
    NextLoad,
    Reason,
    decide,
    heaviest,
)
from gripbook.reviews.proposal.running import (
    SAME_LOAD_KG,
    Move,
    Session,
    grouped,
    next_move,
    sessions_of,
)
from gripbook.reviews.proposal.trained import (
    Experience,
    Trained,
    as_trained,
    edges_fell,
    full_sets,
    known_sets,
    same_edge,
    share_of_sets,
    trained_series,
)
from gripbook.strength import SeriesKey
from gripbook.strength.model import PRIORS
from gripbook.units import lb_to_kg

#: Grips in which nobody is led to more load than they chose themselves (own choice, no source).
DELICATE_GRIPS = ("full_crimp", "pocket_two", "pocket_one")
#: A load mastered in so many days before the series' last session is the last one mastered: an
#: easier week in between takes nothing from it.
MASTERED_DAYS = 21
#: Nobody takes off more (kg).
MOST_OFF_KG = 100.0
#: Weeks that build the loads up again after a lowered start; tests and all-out pulls wait for them.
BUILD_UP_WEEKS = 2


@dataclass(frozen=True)
class Loader:
    """What the loads of one proposal share; `load` works out one of them."""

    r: BlockFacts
    choices: Choices
    holds: Holds
    reductions: tuple[Reduction, ...]
    experience: Experience
    week: int = 0

    @cached_property
    def rows(self) -> list[Any]:
        """The rows of `known_sets`, plain: they are looked through for each series."""
        return records(known_sets(self.r))

    def loads(self, phase: Phase) -> tuple[NextLoad, ...]:
        """
        The loads of a phase.

        Those with the most sets first; of equals the weakest where the log tells it, then the one
        logged first. Unknown ones come last.
        """
        assert phase.exercise is not None
        trained = list(
            trained_series(
                self.rows,
                self.r,
                self.choices,
                phase.exercise,
                targets=phase.targets,
                running=bool(self.week) and self.r.block.planned,
            )
        )
        sets = as_trained(trained, phase, full_sets(self.r, phase), self.rows)
        there = {(t.grip, t.hand) for t in trained}
        lines = [self.load(phase, t, n) for t, n in zip(trained, sets, strict=True)]
        for target in phase.targets:
            if (target.grip, target.hand) not in there:
                lines.append(self._untrained(phase, target.grip, target.hand, target.edge_mm))
        weak = [sum(self._weaker(x, y) - self._weaker(y, x) for y in lines) for x in lines]
        order = sorted(
            range(len(lines)),
            key=lambda n: (lines[n].kind == "open", -(lines[n].sets or 0), -weak[n]),
        )
        return tuple(lines[n] for n in order)

    def _weaker(self, one: NextLoad, other: NextLoad) -> bool:
        """Whether the log tells the one to be weaker than the other."""
        found = []
        for load in (one, other):
            key = self._key(load)
            fit = self.r.fit.find(*key) if key is not None else None
            if fit is None or not (math.isfinite(fit.end_kg) or math.isfinite(fit.start_kg)):
                return False
            found.append(fit)
        a, b = found
        if a is b or not (a.edge_mm == b.edge_mm or math.isnan(a.edge_mm)):
            return False
        at_end = math.isfinite(a.end_kg) and math.isfinite(b.end_kg)
        return self.r.fit.difference(a.key, b.key, None if at_end else 0.0).high < 0

    def _line(self, phase: Phase, grip: str, hand: str, edge: float, sets: int | None) -> NextLoad:
        assert phase.exercise is not None
        line = NextLoad(
            phase.name,
            phase.exercise,
            grip,
            hand,
            edge,
            "open",
            Reason.NO_DATA,
            sets=sets,
            reps=phase.reps if phase.exercise == "repeater" else None,
            hang_s=phase.hang_s if phase.exercise != "pull" else None,
            rest_s=phase.rest_s if phase.exercise == "repeater" else None,
            chance=self._wanted,
            easy_sets=sets,
        )
        hold = self.holds.on(hand)
        if hold is not None:
            return replace(line, kind="hold", reason=Reason.HELD, hold=hold)
        if phase.exercise == "pull":
            other = self.holds.on_all_out(hand)
            if other is not None:
                return replace(line, kind="hold", reason=Reason.HELD_OTHER, hold=other)
            if self.experience.new:
                return replace(line, reason=Reason.FIRST_BLOCK)
        return line

    def _untrained(self, phase: Phase, grip: str, hand: str, edge: float | None) -> NextLoad:
        return self._line(phase, grip, hand, math.nan if edge is None else edge, None)

    @property
    def _wanted(self) -> float:
        lowered = self.experience.beginner or any(x.share < 1 for x in self.reductions)
        return self.choices.chance_lowered if lowered else self.choices.chance

    def load(self, phase: Phase, trained: Trained, sets: int) -> NextLoad:
        """The load of one series in a phase; `sets` are those of a whole session."""
        now = self._sets_now(phase, trained, sets)
        easy = max(1, math.ceil(sets * self.choices.easier_share))
        line = self._line(phase, trained.grip, trained.hand, trained.edge_mm, now)
        line = replace(line, easy_sets=min(now, easy))
        if line.kind == "hold" or line.reason is Reason.FIRST_BLOCK:
            return line
        stopped = self._stopped(line)
        if stopped is not None:
            return replace(line, kind="hold", reason=Reason.STOPPED, last=stopped)
        key = self._key(line)
        if key is None and self.r.body_mass.state is BodyMassState.NOT_WEIGHED:
            return replace(line, reason=Reason.NOT_WEIGHED)
        if key is None:
            return line
        rows = self._rows(line, key)
        if not rows:
            if line.exercise == "pull" and self.holds.return_of(line.hand) is not None:
                return replace(line, kind="below", reason=Reason.RETURN, reasons=(Reason.RETURN,))
            return line
        gone = self._sessions(line, phase, rows, sets)
        # a grip that had one set a session has mastered what it did with that one
        needed = min(sets, trained.sets)
        last = _last_load(rows, needed, shown=self.r.athlete.show_body_mass, choices=self.choices)
        if last is None:
            return line
        line = replace(line, last=last.told)
        if math.isfinite(line.edge_mm) and line.edge_mm < self.choices.smallest_edge_mm:
            return replace(line, reason=Reason.SMALL_EDGE)
        if line.exercise == "pull":
            tellable = self.r.athlete.show_body_mass or last.told.lifted
            kg = last.load_kg if tellable else math.nan
            line = replace(line, last=replace(last.told, kg=kg, lifted=True))
            if self.r.athlete.show_body_mass:
                line = replace(line, stand_kg=_standing_kg(rows))
            return self._pull(line, key, last, phase)
        if gone:
            return self._go_on(line, key, gone, phase)
        return self._weighted(line, key, last, phase)

    def _stopped(self, line: NextLoad) -> LastLoad | None:
        """
        On the way back the last set of this grip that pain stopped; None once it was loaded again.

        So it is left out where other grips were loaded since, and full crimp and small pockets in
        any case: the log can't tell which grips were cleared.
        """
        back, cleared = self.holds.return_of(line.hand), self.holds.cleared
        if back is None or cleared is None:
            return None
        own = [row for row in self.rows if line.hand == "both" or row.hand in (line.hand, "both")]
        since = [row for row in own if row.date.date() > cleared.date]
        if any(row.grip == line.grip for row in since):
            return None
        pain = [row for row in own if row.grip == line.grip and row.stopped == "pain"]
        pain = [row for row in pain if back.first <= row.date.date() <= cleared.date]
        if not pain or not (since or line.grip in DELICATE_GRIPS):
            return None
        row = pain[-1]
        return LastLoad(math.nan, row.date.date(), False, False, f"{row.file}:{row.line}")

    def _sets_now(self, phase: Phase, trained: Trained, sets: int) -> int:
        """Sets a session: the block file's for this series, else its share of the phase's."""
        target = self._target(phase, trained.grip, trained.hand)
        if self.week and target is not None and target.sets is not None:
            return target.sets
        most = full_sets(self.r, phase)
        if self.week and phase.sets_per_session and phase.sets_per_session < most:
            return max(1, math.ceil(sets * phase.sets_per_session / most))
        return sets

    def _target(self, phase: Phase, grip: str, hand: str) -> Target | None:
        return next((t for t in phase.targets if (t.grip, t.hand) == (grip, hand)), None)

    def _sessions(
        self, line: NextLoad, phase: Phase, rows: Sequence[Any], sets: int
    ) -> list[Session]:
        """What the running block has had of a series; nothing that was before a hold."""
        if not self.week or not self.r.block.planned or line.exercise == "pull":
            return []
        work = [row for row in rows if row.in_block and not row.test]
        cleared = self.holds.cleared
        if self.holds.return_of(line.hand) is not None and cleared is not None:
            work = [row for row in work if row.date.date() > cleared.date]

        def asked(week: int) -> int:
            then = [p for p in self.r.block.phases if p.name == phase.name and p.holds_week(week)]
            for p in then:
                target = self._target(p, line.grip, line.hand)
                if target is not None and target.sets is not None:
                    return target.sets
            share = share_of_sets(self.r, self.choices, line.exercise, week)
            return max(1, math.floor(sets * share + 1e-9))

        easy = self.r.block.easy_weeks
        return sessions_of(work, asked, easy, self.choices.add_when_left_s)

    def _felt(self, hand: str) -> dt.date | None:
        """The last day on which pain was felt in a hand, or without a side."""
        felt = self.r.pain_to_date.felt
        if hand != "both":
            felt = felt[felt["side"] != ("left" if hand == "right" else "right")]
        return felt["date"].max().date() if len(felt) else None

    def _go_on(
        self, line: NextLoad, key: SeriesKey, gone: Sequence[Session], phase: Phase
    ) -> NextLoad:
        """
        A hang or a repeater set of the running block, from the last session by the rule for adding.

        The model's chance has no say: what was finished can be done again.
        """
        assert line.last is not None
        now, lifted = gone[-1], line.last.lifted
        kg = now.kg
        told = LastLoad(kg, now.day, now.mastered, lifted, now.row)
        base = self._base(_Last(told, now.load_kg, now.base_kg, now.left_enough))
        if not math.isfinite(base):
            return line
        line = replace(line, last=told)
        off = any(row.added_kg < 0 for row in self.rows)
        options = self._options(kg, line.hand, lifted, off=off)
        move = next_move(gone, self.week, felt=self._felt(line.hand))
        named = self._named_since(line, gone, base, lifted)
        if move is Move.UP and not named and line.grip not in DELICATE_GRIPS:
            smaller = self._smaller_edge(line)
            if smaller and kg in options:
                return self._at(_one_edge_on(line, smaller), kg, options, base, lifted)
        add = self._add(kg, base, line.hand, options, lifted)
        back = max(
            (x for x in options if x <= kg - self._least_step(line.hand) + 1e-6), default=-math.inf
        )
        room = self.choices.expect_pct / 100 * self._of(gone[0].kg, base, lifted, down=False)
        most = {
            Move.UP: LoadLimit(Reason.RULE, kg + add)
            if add
            else LoadLimit(Reason.STEP, kg + self._step(kg, base, line.hand, lifted)),
            Move.WAIT: LoadLimit(Reason.ONE_A_WEEK, kg),
            Move.AGAIN: LoadLimit(Reason.AGAIN, kg),
            Move.BACK: LoadLimit(Reason.BACK, back),
            Move.AT_ONCE: LoadLimit(Reason.AT_ONCE, back),
            Move.FELT: LoadLimit(Reason.FELT, kg),
        }
        limits = [most[move], LoadLimit(Reason.BLOCK_MOST, max(kg, gone[0].kg + room)), *named]
        target = self._target(phase, line.grip, line.hand)
        wanted = _target_kg(target, lifted) if target is not None and target.at_most else None
        if wanted is not None and target is not None and _on_edge(target, line.edge_mm):
            limits.append(LoadLimit(Reason.PLANNED, max(kg, wanted)))
        if line.grip in DELICATE_GRIPS:
            limits.append(LoadLimit(Reason.AS_BEFORE, kg))
        limits.sort(key=lambda x: x.reason is not Reason.RETURN)  # of equals the graver is told
        line = replace(line, limits=tuple(limits))
        made = decide(limits, math.nan, sorted(options))
        if made is None:
            by_chance = self._by_chance_allowed(line, key)
            return self._larger(line, key, base, lifted, options, by_chance=by_chance)
        kg, reasons = made
        return self._at(
            replace(line, reason=reasons[0], reasons=reasons), kg, options, base, lifted
        )

    def _named_since(
        self, line: NextLoad, gone: Sequence[Session], base: float, lifted: bool
    ) -> list[LoadLimit]:
        """
        Named reasons in the running block, each taken once, of the load before it.

        What a session since has met is over; while pain goes on or a limit was broken lately, the
        load stays at or below the share of the one before.
        """
        last, out = gone[-1], []
        for x in self.reductions:
            if x.reason is Reason.LOW_DONE or (
                x.reason in (Reason.OFF, Reason.ILL) and x.until and last.day > x.until
            ):
                continue
            before = last
            if x.since is not None:
                before = next((s for s in reversed(gone) if s.day <= x.since), last)
            lower = (1 - x.share) * self._of(before.kg, base, lifted, down=True)
            if before is last and x.reason is Reason.SORE:
                lower = 0.0  # it was there before the block's first load
            out.append(LoadLimit(x.reason, before.kg - lower))
        if self.holds.return_of(line.hand) is not None:
            out.append(LoadLimit(Reason.RETURN, last.kg))
        return out

    def _by_chance_allowed(self, line: NextLoad, key: SeriesKey) -> bool:
        # where body mass is hidden the model's chance is left out: it rests on the load, and the
        # weight it allows would lead back to body mass
        shown = self.r.athlete.show_body_mass or (line.last is not None and line.last.lifted)
        fit = self.r.fit.find(*key)
        return shown and fit is not None and not fit.at_least

    def _key(self, line: NextLoad) -> SeriesKey | None:
        """The series in the model; in a running block also one that it no longer looks back to."""
        kinds: tuple[Literal["steady", "peak"], ...] = ("steady", "peak")
        for kind in kinds:
            key = SeriesKey(line.exercise, line.grip, line.hand, kind)
            if key in self.r.fit.evidence.series and self.r.fit.find(*key):
                return key
        sets = self.r.fit.sets
        if not self.week or sets.empty:
            return None
        for kind in kinds:
            key = SeriesKey(line.exercise, line.grip, line.hand, kind)
            if any(not row.in_block for row in self._of_series(key)):
                return key
        return None

    def _of_series(self, key: SeriesKey) -> list[Any]:
        """The sets of a series that have a load."""
        return [
            row
            for row in self.rows
            if (row.exercise, row.grip, row.hand, row.load_kind) == key
            if not row.warmup and not math.isnan(row.load_kg)
        ]

    def _rows(self, line: NextLoad, key: SeriesKey) -> list[Any]:
        """The series' sets on this edge with a load; after a hold, those since it ended."""
        own = self._of_series(key)
        hung = [row for row in own if row.load_source != "gauge"]
        if hung and not self.r.athlete.show_body_mass:
            own = hung  # what a gauge read beside them would lead back to body mass
        own = [row for row in own if same_edge(row.edge_mm, line.edge_mm)]
        back = self.holds.return_of(line.hand)
        if back is None or self.holds.cleared is None or back.first is None:
            return own
        since = [row for row in own if row.date.date() > self.holds.cleared.date]
        return since or [row for row in own if row.date.date() < back.first]

    def _shares(
        self, line: NextLoad, last: _Last, *, passed: bool = False
    ) -> list[tuple[Reason, float]]:
        """The named reasons for this series with their shares; `passed`: weeks lie in between."""
        out = [(x.reason, x.share) for x in self.reductions]
        out = [(why, x) for why, x in out if not (passed and why in PASSING)]
        back = self.holds.return_of(line.hand)
        cleared = self.holds.cleared
        if back is not None and cleared is not None and last.told.day <= cleared.date:
            out.append((Reason.RETURN, self.choices.return_share))
        return out

    def _pull(self, line: NextLoad, key: SeriesKey, last: _Last, phase: Phase) -> NextLoad:
        """An all-out pull has no load to set: what its last one should still read."""
        tellable = self.r.athlete.show_body_mass or last.told.lifted
        # by a later phase's first pulls the loads have been built up again
        passed = not self.week and phase.from_week > BUILD_UP_WEEKS
        shares = self._shares(line, last, passed=passed)
        shares = [(a, s) for a, s in shares if s < 1 or a is Reason.BODY_MASS]
        if shares:
            reason, share = min(shares, key=lambda x: x[1])
            share = min(share, self.choices.off_share) if reason is Reason.BODY_MASS else share
            most = math.floor(2 * share * last.load_kg) / 2
            return replace(
                line,
                kind="below",
                reason=reason,
                reasons=(reason,),
                share=share,
                force_kg=most if tellable else None,
            )
        line = replace(line, kind="expect", reason=Reason.ALL_OUT)
        if not tellable or self.r.fit.find(*key) is None:
            return line
        low, high = 0.3 * last.load_kg, 1.5 * last.load_kg
        for _ in range(40):  # the chance falls with the load
            middle = 0.5 * (low + high)
            enough = self._chance(key, line, middle) >= line.chance
            low, high = (middle, high) if enough else (low, middle)
        return replace(line, force_kg=math.floor(2 * low) / 2)

    def _chance(
        self, key: SeriesKey, line: NextLoad, load_kg: float, edge_mm: float | None = None
    ) -> float:
        """Chance that the session's sets of this series are finished; of pulls the last one's."""
        if load_kg <= 0:
            return 1.0
        edge = line.edge_mm if edge_mm is None else edge_mm
        sets, fit = line.sets or 1, self.r.fit
        if line.exercise == "pull":
            return fit.predict(key, edge_mm=edge, load_kg=load_kg, sets_before=sets - 1)
        return fit.predict_all(
            key, edge_mm=edge, load_kg=load_kg, sets=sets, hang_s=line.hang_s, reps=line.reps
        )

    def _base(self, last: _Last) -> float:
        """What carries the added weight: body mass now; where hidden, that of the last load."""
        if last.told.lifted:
            return 0.0
        masses = [m for m in (row.body_mass_kg for row in self.rows) if not math.isnan(m)]
        now = masses[-1] if masses else math.nan
        return now if self.r.athlete.show_body_mass else last.base_kg

    def _weighted(self, line: NextLoad, key: SeriesKey, last: _Last, phase: Phase) -> NextLoad:
        """A hang or a repeater set: the heaviest load that all rules allow."""
        shown, lifted = self.r.athlete.show_body_mass or last.told.lifted, last.told.lifted
        base = self._base(last)
        if not math.isfinite(base):
            return line
        before = 0.0 if math.isnan(last.told.kg) else last.told.kg
        if shown and not lifted:
            # neither more weight because body mass fell, nor more load because it rose; half a
            # kilogram is no rise
            on_fingers = last.load_kg - base
            before = on_fingers if on_fingers < before - SAME_LOAD_KG else before
        shares = self._shares(line, last)
        if any(why is Reason.RETURN for why, _ in shares):
            line = replace(line, sets=line.easy_sets)
        by_chance = self._by_chance_allowed(line, key)
        again = self._chance(key, line, base + before) if by_chance else math.nan
        line = replace(line, again=again, share=min((s for _, s in shares), default=1.0))

        counterweight = any(row.added_kg < 0 for row in self.rows)
        returning = any(a is Reason.RETURN for a, _ in shares)
        anchor = 0.0 if math.isnan(last.told.kg) else last.told.kg
        options = self._options(anchor, line.hand, lifted, off=counterweight or returning)
        delicate = line.grip in DELICATE_GRIPS
        free = not shares and last.told.mastered and not delicate

        smaller = self._smaller_edge(line) if free else None
        if smaller and before in options:
            enough = (
                self._chance(key, line, base + before, smaller) >= line.chance
                if by_chance
                else last.left_enough
            )
            if enough:
                return self._at(_one_edge_on(line, smaller), before, options, base, lifted)

        limits = self._limits(line, before, base, shares, last, options, lifted)
        target = self._target(phase, line.grip, line.hand) if self.week else None
        wanted = _target_kg(target, lifted) if target is not None else None
        if target is not None and wanted is not None and _on_edge(target, line.edge_mm):
            limits.append(LoadLimit(Reason.PLANNED, wanted))
            by_chance = by_chance and target.at_most  # else whoever wrote the block has decided
        if by_chance:
            limits.append(LoadLimit(Reason.CHANCE, self._by_chance(key, line, base, options)))
        keep = self._keep(before, base, line.share, last, lifted)
        line = replace(line, limits=tuple(limits), keep_kg=keep)
        made = decide(limits, keep, sorted(options))
        if made is None:
            return self._larger(line, key, base, lifted, options, by_chance=by_chance)
        kg, reasons = made
        line = replace(line, reason=reasons[0], reasons=reasons)
        return self._at(line, kg, options, base, lifted)

    def _at(
        self,
        line: NextLoad,
        kg: float,
        options: dict[float, tuple[float, ...]],
        base: float,
        lifted: bool,
    ) -> NextLoad:
        room = self.choices.expect_pct / 100 * self._of(kg, base, lifted, down=False)
        ladder = [kg]
        add = self._add(kg, base, line.hand, options, lifted)
        step = add
        while step is not None and ladder[-1] + step <= kg + room + 1e-6:
            ladder.append(round(ladder[-1] + step, 3))
            step = self._add(ladder[-1], base, line.hand, options, lifted)
        return replace(
            line,
            kind="start",
            added_kg=None if lifted else kg,
            force_kg=kg if lifted else None,
            pieces=options[kg],
            add_kg=None if add is None else round(add, 3),
            ladder=tuple(ladder),
        )

    def _options(
        self, anchor: float, hand: str, lifted: bool, *, off: bool
    ) -> dict[float, tuple[float, ...]]:
        """
        What can be loaded, kg to plates, in steps worth making from the last load.

        Weight taken off only for those who have done it.
        """
        plates = self.r.block.plates_kg
        if plates:
            sums = loadable(plates)
            options = {kg: pieces for kg, pieces in sums.items() if not (lifted and kg == 0)}
            if off and not lifted:
                options |= {-kg: pieces for kg, pieces in sums.items() if kg > 0}
        else:  # from what was loaded once, in steps of the smallest usual plate
            both = hand == "both"
            step = STEP_KG if both else STEP_ONE_HAND_KG
            if self.r.athlete.units == "lb":
                step = lb_to_kg(STEP_LB if both else STEP_ONE_HAND_LB)
            least = -MOST_OFF_KG if off and not lifted else 0.0
            steps = (round(anchor + k * step, 3) for k in range(-400, 401))
            options = {kg: () for kg in steps if kg >= least and (kg > 0 or not lifted)}
            if not lifted:
                options.setdefault(0.0, ())
        return {kg: options[kg] for kg in spaced(options, anchor, self._least_step(hand))}

    def _least_step(self, hand: str) -> float:
        c = self.choices
        return c.least_step_kg if hand == "both" else c.least_step_one_hand_kg

    def _add(
        self,
        kg: float,
        base: float,
        hand: str,
        options: dict[float, tuple[float, ...]],
        lifted: bool,
    ) -> float | None:
        """The next step above a load: worth making where one is allowed, else the largest."""
        most = self._step(kg, base, hand, lifted) + 1e-6
        above = loadable(self.r.block.plates_kg) if self.r.block.plates_kg else options
        every = {*options, *(x for x in above if not (lifted and x == 0))}
        steps = sorted(x - kg for x in every if 1e-6 < x - kg <= most)
        worth = [x for x in steps if x >= self._least_step(hand) - 1e-6]
        return worth[0] if worth else steps[-1] if steps else None

    def _of(self, before: float, base: float, lifted: bool, *, down: bool) -> float:
        """The load of which a share is taken."""
        if self.r.athlete.show_body_mass or lifted:
            return base + before
        kg = self.choices.heavy_kg if down else self.choices.light_kg
        return max(kg + before, 0.0)

    def _step(self, before: float, base: float, hand: str, lifted: bool) -> float:
        """The largest step up, kg."""
        c = self.choices
        kg, pct = (
            (c.step_kg, c.step_pct) if hand == "both" else (c.step_one_hand_kg, c.step_one_hand_pct)
        )
        return min(kg, pct / 100 * self._of(before, base, lifted, down=False))

    def _limits(
        self,
        line: NextLoad,
        before: float,
        base: float,
        shares: Iterable[tuple[Reason, float]],
        last: _Last,
        options: dict[float, tuple[float, ...]],
        lifted: bool,
    ) -> list[LoadLimit]:
        """The rules other than the chance."""
        out = [LoadLimit(Reason.STEP, before + self._step(before, base, line.hand, lifted))]
        if not self.week or last.told.day < self.r.block.start:  # not yet trained in this block
            out.append(LoadLimit(Reason.BLOCK_START, before))
        load = self._of(before, base, lifted, down=True)
        out += [LoadLimit(reason, before - (1 - share) * load) for reason, share in shares]
        fit = self.r.fit.find(line.exercise, line.grip, line.hand)
        if not last.told.mastered or not last.left_enough:
            out.append(LoadLimit(Reason.AGAIN, before))
        elif not self.r.athlete.show_body_mass or fit is None or fit.at_least:
            above = min((kg for kg in options if kg > before + 1e-6), default=before)
            out.append(LoadLimit(Reason.ONE_STEP, above))
        if line.grip in DELICATE_GRIPS:
            out.append(LoadLimit(Reason.AS_BEFORE, before))
        return out

    def _keep(self, before: float, base: float, share: float, last: _Last, lifted: bool) -> float:
        """The least wanted: a share of the last load mastered, below what a named reason asks."""
        if not last.told.mastered:
            return math.nan
        c = self.choices
        keep = c.keep_share_beginner if self.experience.beginner else c.keep_share
        return before - (1 - share * keep) * self._of(before, base, lifted, down=True)

    def _by_chance(
        self,
        key: SeriesKey,
        line: NextLoad,
        base: float,
        options: dict[float, tuple[float, ...]],
        edge_mm: float | None = None,
    ) -> float:
        """The heaviest option with the wanted chance; minus infinity where there is none."""
        kgs = sorted(options)
        low, high = 0, len(kgs)
        while low < high:  # the chance falls with the load
            middle = (low + high) // 2
            enough = self._chance(key, line, base + kgs[middle], edge_mm) >= line.chance
            low, high = (middle + 1, high) if enough else (low, middle)
        return kgs[low - 1] if low else -math.inf

    def _smaller_edge(self, line: NextLoad) -> float | None:
        """The next smaller edge there is, for an athlete whose edges got smaller in the block."""
        series = line.exercise, line.grip, line.hand
        trained = [
            row
            for row in self.rows
            if row.in_block and not row.warmup and not row.test
            if (row.exercise, row.grip, row.hand) == series
        ]
        if not edges_fell(trained):
            return None
        least = self.choices.smallest_edge_mm
        below = [e for e in self.r.block.edges_mm if least <= e < line.edge_mm]
        best = max(below, default=math.nan)
        return best if line.edge_mm - best <= self.choices.edge_step_mm else None

    def _larger(
        self,
        line: NextLoad,
        key: SeriesKey,
        base: float,
        lifted: bool,
        options: dict[float, tuple[float, ...]],
        *,
        by_chance: bool,
    ) -> NextLoad:
        """
        A larger edge, where nothing that can be loaded is low enough on this one.

        What the rules allow is the same force, converted to the larger edge: the heaviest weight
        within it.
        """
        there = {*self.r.block.edges_mm, *(row.edge_mm for row in self.rows)}
        rules = [x for x in line.limits if x.reason is not Reason.CHANCE]
        # where body mass is hidden the weight must not rest on it
        body = base if self.r.athlete.show_body_mass or lifted else self.choices.light_kg
        of = self.r.fit.edge_exponent
        exponent = of.value if of is not None else PRIORS.edge_mean
        for edge in sorted(float(e) for e in there if e > line.edge_mm):
            wider = (edge / line.edge_mm) ** exponent
            limits = [replace(x, most_kg=(body + x.most_kg) * wider - body) for x in rules]
            if by_chance:
                allowed = self._by_chance(key, line, base, options, edge)
                limits.append(LoadLimit(Reason.CHANCE, allowed))
            kg = heaviest(limits, math.nan, sorted(options))
            if kg is not None:
                line = replace(
                    line,
                    edge_mm=edge,
                    from_edge_mm=line.edge_mm,
                    reason=Reason.LARGER_EDGE,
                    reasons=(Reason.LARGER_EDGE,),
                )
                return self._at(line, kg, options, base, lifted)
        return replace(line, reason=Reason.NO_WEIGHT)


def _target_kg(target: Target, lifted: bool) -> float | None:
    return target.force_kg if lifted else target.added_kg


def _one_edge_on(line: NextLoad, edge_mm: float) -> NextLoad:
    """The same line one edge step on."""
    step = (Reason.EDGE_STEP,)
    return replace(
        line, edge_mm=edge_mm, from_edge_mm=line.edge_mm, reason=Reason.EDGE_STEP, reasons=step
    )


def _on_edge(target: Target, edge_mm: float) -> bool:
    return target.edge_mm is None or target.edge_mm == edge_mm


def _standing_kg(pulls: Sequence[Any]) -> float:
    """What the scale under the feet reads standing, kg; NaN where the last pull was read else."""
    last = max(reversed(pulls), key=lambda row: row.date)
    if last.load_source not in ("stand", "body") or not last.scale_kg > 0:
        return math.nan
    return float(last.load_kg + last.scale_kg)


@dataclass(frozen=True, slots=True)
class _Last:
    """The last load in full: `load_kg` on the fingers, of `base_kg` body mass."""

    told: LastLoad
    load_kg: float
    base_kg: float
    left_enough: bool


def _last_load(rows: Sequence[Any], sets: int, *, shown: bool, choices: Choices) -> _Last | None:
    """
    The last load mastered with all sets; where there is none, the heaviest finished last.

    A session masters the heaviest load with which, or with more, as many sets as usual were
    finished, none failing at it or below. Of the last sessions the heaviest counts, unless two
    later ones failed with it.
    """
    lifted = rows[-1].load_source == "gauge"

    def lever(row: Any) -> float:
        if lifted:
            return float(row.force_kg)
        return 0.0 if math.isnan(row.added_kg) else float(row.added_kg)

    def measure(row: Any) -> float:
        return float(row.load_kg) if shown or lifted else lever(row)

    work = [row for row in rows if not row.test]
    sessions = [own for _, own in sorted(grouped(work, "date", "session").items())]
    mastered = [
        (n, row)
        for n, own in enumerate(sessions)
        if (row := _mastered(own, sets, measure)) is not None
    ]
    row = None
    if mastered:
        row = mastered[-1][1]
        since = max(x.date for x in work) - pd.Timedelta(days=MASTERED_DAYS)
        recent = [(n, x) for n, x in mastered if x.date > since]
        for n, candidate in sorted(recent, key=lambda x: (-measure(x[1]), -x[0])):
            most = measure(candidate) + SAME_LOAD_KG
            failed = sum(
                any(x.outcome == "failed" and measure(x) <= most for x in own)
                for own in sessions[n + 1 :]
            )
            if failed < 2:
                # body mass moves a little: of sessions with the same weight the last one counts
                same = [x for k, x in recent if k > n and lever(x) == lever(candidate)]
                row = same[-1] if same else candidate
                break
    whole = row is not None
    if row is None:
        done = [row for row in rows if row.outcome in ("finished", "pull")]
        if not done:
            return None
        day = max(row.date for row in done)
        row = max((row for row in done if row.date == day), key=measure)
    session = [x for x in rows if (x.date, x.session) == (row.date, row.session)]
    # seconds, or holds of a repeater; what was not judged (NaN) is below nothing
    short = any(x.reserve_s < choices.add_when_left_s or x.reserve_reps < 1 for x in session)
    return _Last(
        LastLoad(
            kg=row.force_kg if lifted else row.added_kg,
            day=row.date.date(),
            mastered=whole,
            lifted=lifted,
            row=f"{row.file}:{row.line}",
        ),
        load_kg=row.load_kg,
        base_kg=row.body_mass_kg,
        left_enough=not short,
    )


def _mastered(session: Iterable[Any], sets: int, measure: Callable[[Any], float]) -> Any | None:
    """The row of the heaviest load mastered in a session, None where it was not."""
    finished = [row for row in session if row.outcome in ("finished", "pull")]
    done = 0
    for row in sorted(finished, key=measure, reverse=True):
        done += row.sets
        if done >= sets:
            most = measure(row) + SAME_LOAD_KG
            missed = any(x.outcome == "failed" and measure(x) <= most for x in session)
            return None if missed else row
    return None
