"""An athlete at the board: picks loads, hangs, and writes down what a log would say."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

from gripbook.simulate.truth import Draws, Person, Series

#: One row of a log file: column to value, in kg, mm and s; days are days since the block's start.
Row = dict[str, object]

#: Log SD of one set about its day, and loss per further set of the series on the day.
SET_SD = {"hang": 0.022, "repeater": 0.03, "pull": 0.03}
FADING = {"hang": 0.010, "repeater": 0.012, "pull": 0.008}


@dataclass(slots=True)
class Habits:
    """How an athlete trains and logs."""

    step_kg: float = 1.25
    """Smallest step of added weight."""
    edge_mm: float = 20.0
    hang_s: float = 10.0
    reps: int = 6
    rep_s: float = 7.0
    rep_rest_s: float = 3.0
    caution: float = 0.90
    """Share of the past best with which a phase begins."""
    easy: bool = False
    """Never near the limit: stays on the first load, and the hold ends with much in reserve."""
    edges_mm: tuple[float, ...] = ()
    """Progress on smaller edges, in this order, in place of weight."""
    pull_by: str = "scale"
    """How a pull is read: `scale`, `stand` (same scale before) or `gauge`."""
    reading_step_kg: float = 0.5
    """How finely a scale under the feet is read."""
    reserve_logged: float = 0.8
    """Chance that a reserve is written down."""
    warmup_logged: float = 0.0


@dataclass(slots=True)
class Trainee:
    """
    One athlete's training, day by day, and the rows of `hangs.csv` it leaves.

    Chosen loads rest on the last weigh-in, past bests and the last session's
    outcome. The truth in `person` decides only how the sets end.
    """

    person: Person
    draws: Draws
    habits: Habits
    rows: list[Row] = field(default_factory=list)
    weigh_ins: list[tuple[int, float]] = field(default_factory=list)
    slip_days: frozenset[int] = frozenset()
    pain_days: frozenset[int] = frozenset()
    _added_kg: dict[Series, float] = field(default_factory=dict)
    _edge_at: dict[Series, int] = field(default_factory=dict)
    _best_kg: dict[Series, float] = field(default_factory=dict)
    _set_number: int = 0

    def __post_init__(self) -> None:
        # an old personal best: near the strength before the block, a little lower, not exact
        for series in self.person.paths:
            old = self.person.load_kg(series, -30) * math.exp(self.draws.normal(-0.03, 0.03))
            self._best_kg[series] = old

    # --- other days ------------------------------------------------------------------------

    def weigh(self, day: int) -> None:
        """Step on the scale in the morning."""
        self.weigh_ins.append((day, round(self.person.scale_mass_kg(day), 1)))

    def _known_mass_kg(self, day: int) -> float:
        before = [m for d, m in self.weigh_ins if d <= day]
        if before:
            return before[-1]
        return self.weigh_ins[0][1] if self.weigh_ins else round(self.person.body_mass_start_kg)

    # --- sessions --------------------------------------------------------------------------

    def session(
        self,
        day: int,
        exercise: str,
        work: Iterable[tuple[str, int]],
        *,
        board: str = "",
        note: str = "",
    ) -> int:
        """
        One finger session: `work` lists grips and their sets (pairs for pulls).

        Returns the number of sets done.
        """
        first = len(self.rows)
        self._set_number = 0
        if self.draws.chance(self.habits.warmup_logged):
            self._warm_up(day, board)
        for grip, sets in work:
            if exercise == "hang":
                self._hangs(day, grip, sets, board)
            elif exercise == "repeater":
                self._repeaters(day, grip, sets, board)
            else:
                self._pulls(day, grip, sets, board)
        if note and len(self.rows) > first:
            self.rows[first]["note"] = note
        return self._set_number

    def test(self, day: int, grip: str, *, board: str = "", pairs: int = 2, note: str = "") -> int:
        """A test day: timed hangs upwards, one repeater set, pulls of both hands."""
        first = len(self.rows)
        self._set_number = 0
        # tested on the edge the block began with, so that both tests stand on one edge
        trained_on, self._edge_at = self._edge_at, {}
        self._test_hangs(day, Series("hang", grip, "both"), board)
        self._test_repeater(day, Series("repeater", grip, "both"), board)
        if Series("pull", grip, "left") in self.person.paths:
            for _ in range(pairs):
                self._pulls(day, grip, 1, board, runs=1, test=True)
        self._edge_at = trained_on
        if note:
            self.rows[first]["note"] = note
        return self._set_number

    def _row(self, day: int, exercise: str, series: Series, board: str, edge_mm: float) -> Row:
        row: Row = {
            "day": day,
            "order": self._set_number,
            "sets": 1,
            "exercise": exercise,
            "grip": series.grip,
            "hand": series.hand,
            "edge_mm": edge_mm,
            "board": board,
        }
        self.rows.append(row)
        return row

    def _warm_up(self, day: int, board: str) -> None:
        self._set_number += 1
        mass = self._known_mass_kg(day)
        row = self._row(day, "hang", Series("hang", "open_four", "both"), board, 30.0)
        added = -self._down(0.3 * mass)
        row |= {"sets": 3, "warmup": "yes", "added_kg": added, "hang_s": 10.0}

    def _down(self, load_kg: float) -> float:
        step = self.habits.step_kg
        return math.floor(load_kg / step + 1e-9) * step

    def _edge_mm(self, series: Series) -> float:
        edges = self.habits.edges_mm
        return edges[self._edge_at.get(series, 0)] if edges else self.habits.edge_mm

    def _planned_added_kg(self, series: Series, day: int) -> float:
        """The load the plan asks for: what the last session left, else a share of the best."""
        if series not in self._added_kg:
            start = self._best_kg[series] * self.habits.caution - self._known_mass_kg(day)
            self._added_kg[series] = self._down(start)
        return self._added_kg[series]

    def _capable_kg(
        self, series: Series, day: int, edge_mm: float, board: str, before: int
    ) -> float:
        """True strength of the next set: this day's, less fading, with the set's own noise."""
        noise = self.draws.normal(0, SET_SD[series.capacity])
        fading = FADING[series.capacity] * before
        strength = self.person.strength_kg(series, day, edge_mm, board)
        return strength * math.exp(noise - fading)

    def _hold(self, day: int, series: Series, added_kg: float, board: str, before: int) -> float:
        """Seconds under load until the fingers would open: of a hold or of a repeater set."""
        edge = self._edge_mm(series)
        capable = self._capable_kg(series, day, edge, board, before)
        load = self.person.scale_mass_kg(day) + added_kg
        if series.capacity == "hang":
            return self.person.held_s(capable, load)
        return self.person.repeated_s(capable, load)

    def _felt(self, true_reserve: float) -> float:
        """A reserve as it is guessed: rarely exact, in whole units, at most 15."""
        guess = true_reserve * math.exp(self.draws.normal(0, 0.2))
        return float(min(max(round(guess), 0), 15))

    def _work_rows(
        self, day: int, series: Series, sets: int, board: str, whole_s: float, fields: Row
    ) -> list[float]:
        """
        Sets of one grip, written as runs, and the felt reserves (-1 for a failure).

        A run for those finished, for the last with its reserve, and for each that failed.
        """
        hang = series.capacity == "hang"
        unit = 1.0 if hang else self.habits.rep_s
        added = self._planned_added_kg(series, day)
        outcomes: list[float] = []
        run: Row | None = None
        for before in range(sets):
            self._set_number += 1
            held = self._hold(day, series, added, board, before)
            cut = ""
            if self._set_number == 2 and day in self.slip_days:
                cut, held = "slip", min(held, whole_s) * 0.4
            if before == sets - 1 and day in self.pain_days:
                cut, held = "pain", min(held, whole_s) * 0.5
            finished = held >= whole_s
            last = before == sets - 1
            felt = self._felt((held - whole_s) / unit) if finished else -1.0
            if finished and run is not None and not last:
                run["sets"] = int(str(run["sets"])) + 1
            else:
                edge = self._edge_mm(series)
                row = self._row(day, series.capacity, series, board, edge)
                row |= {"added_kg": added, **fields}
                run = row if finished else None
                if finished and last and self.draws.chance(self.habits.reserve_logged):
                    row["reserve_s" if hang else "reserve_reps"] = felt
                if not finished:
                    row |= _missed(held, None if hang else self.habits.rep_s)
                    row["stopped"] = cut
            if finished:
                outcomes.append(felt)
            elif not cut:
                outcomes.append(felt)
                if outcomes.count(-1.0) == 2:
                    break
                # after a miss the rest of the session is done one step lighter
                lighter = added - 2 * self.habits.step_kg
                added = added if self.habits.edges_mm else lighter
        return outcomes

    def _hangs(self, day: int, grip: str, sets: int, board: str) -> None:
        series = Series("hang", grip, "both")
        hold = self.habits.hang_s
        felt = self._work_rows(day, series, sets, board, hold, {"hang_s": hold})
        self._progress(series, felt, enough=3.0)

    def _repeaters(self, day: int, grip: str, sets: int, board: str) -> None:
        series = Series("repeater", grip, "both")
        h = self.habits
        fields: Row = {"hang_s": h.rep_s, "rest_s": h.rep_rest_s, "reps": h.reps}
        felt = self._work_rows(day, series, sets, board, h.reps * h.rep_s, fields)
        self._progress(series, felt, enough=1.0)

    def _progress(self, series: Series, felt: list[float], enough: float) -> None:
        """What the next session will load, from how this one ended."""
        if self.habits.easy or not felt:
            return
        step = self.habits.step_kg
        missed = felt.count(-1.0)
        if self.habits.edges_mm:
            at = self._edge_at.get(series, 0)
            move = 1 if not missed and felt[-1] >= enough else -1 if missed > 1 else 0
            self._edge_at[series] = min(max(at + move, 0), len(self.habits.edges_mm) - 1)
            return
        if missed > 1:
            change = -2 * step
        elif missed == 1:
            change = 0.0
        elif felt[-1] >= 2 * enough:
            change = 2 * step
        elif felt[-1] >= enough:
            change = step
        else:
            change = step if self.draws.chance(0.3) else 0.0
        self._added_kg[series] += change

    def _pulls(
        self, day: int, grip: str, pairs: int, board: str, runs: int = 2, test: bool = False
    ) -> None:
        """All-out pulls, hands in turn, written as runs with the middle reading of each."""
        edge = self.habits.edge_mm
        done = self._set_number
        sizes = [pairs // runs + (1 if i < pairs % runs else 0) for i in range(runs)]
        for size in (s for s in sizes if s):
            first = self._set_number + 1
            for hand in ("left", "right"):
                series = Series("pull", grip, "left" if hand == "left" else "right")
                before = 0 if test else self._set_number - done
                loads = [
                    self._capable_kg(series, day, edge, board, before + i) for i in range(size)
                ]
                middle = sorted(loads)[(size - 1) // 2]
                row = self._row(day, "pull", series, board, edge)
                row |= {"order": first, "sets": size, **self._reading(day, middle)}
                if test:
                    row["test"] = "yes"
                if day in self.pain_days and first > done + 1 and hand == "right":
                    # let go in the first pull of the later run
                    row |= {"sets": 1, "stopped": "pain", **self._reading(day, 0.7 * middle)}
            self._set_number += size

    def _reading(self, day: int, pull_kg: float) -> Row:
        """What the scale or the gauge shows for a pull."""
        mass, step = self.person.scale_mass_kg(day), self.habits.reading_step_kg

        def read(kilograms: float) -> float:
            return max(round(kilograms / step) * step, 0.0)

        if self.habits.pull_by == "gauge":
            return {"added_kg": 0.0, "force_kg": round(pull_kg, 1)}
        if self.habits.pull_by == "stand":
            dressed = mass + 1.3  # clothes and shoes
            return {
                "added_kg": 0.0,
                "stand_kg": read(dressed),
                "scale_kg": read(dressed - pull_kg),
            }
        return {"added_kg": 0.0, "scale_kg": read(mass - pull_kg)}

    def _test_hangs(self, day: int, series: Series, board: str) -> None:
        """Upwards from below the past best until a hold is missed or was finished barely."""
        hold, step = self.habits.hang_s, self.habits.step_kg
        mass = self._known_mass_kg(day)
        added = self._down(0.93 * self._best_kg[series] - mass)
        best: float | None = None
        for before in range(4):
            self._set_number += 1
            held = self._hold(day, series, added, board, before)
            row = self._row(day, "hang", series, board, self._edge_mm(series))
            row |= {"added_kg": added, "hang_s": hold, "test": "yes"}
            if held < hold:
                row |= _missed(held, None)
                break
            best = added
            felt = self._felt(held - hold)
            if self.draws.chance(self.habits.reserve_logged):
                row["reserve_s"] = felt
            if felt < 1:
                break
            added += step * max(1, round((5.0 if felt >= 6 else 2.5) / step))
        if best is not None:
            self._best_kg[series] = mass + best
        else:
            self._best_kg[series] *= 0.95

    def _test_repeater(self, day: int, series: Series, board: str) -> None:
        """One set, at the load last trained or at the old best."""
        h = self.habits
        mass = self._known_mass_kg(day)
        planned = self._added_kg.get(series)
        old = self._down(0.96 * self._best_kg[series] - mass)
        # on small edges the trained load says nothing about the edge of the test
        added = old if planned is None or h.edges_mm else planned
        self._set_number += 1
        whole = h.reps * h.rep_s
        held = self._hold(day, series, added, board, 0)
        row = self._row(day, "repeater", series, board, self._edge_mm(series))
        row |= {"added_kg": added, "hang_s": h.rep_s, "rest_s": h.rep_rest_s}
        row |= {"reps": h.reps, "test": "yes"}
        if held < whole:
            row |= _missed(held, h.rep_s)
            self._best_kg[series] = (mass + added) * 0.98
        else:
            felt = self._felt((held - whole) / h.rep_s)
            if self.draws.chance(h.reserve_logged):
                row["reserve_reps"] = felt
            self._best_kg[series] = (mass + added) * (1.0 + 0.03 * min(felt, 2.0))


def _missed(held_s: float, rep_s: float | None) -> Row:
    """What is written of a set that failed: whole seconds, a clock read in haste."""
    if rep_s is None:
        return {"failed_s": float(math.floor(held_s))}
    done = math.floor(held_s / rep_s)
    return {"reps_done": done, "failed_s": float(math.floor(held_s - done * rep_s))}
