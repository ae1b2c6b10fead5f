"""
Worlds in which an assumption of the strength model fails, made by two generators.

`Planned` follows the plan of `scenarios.py`: twice a week, tests on the first and the last day,
curves from families, changes along a bent line. `Club` trains three times a week by double
progression, tests in the middle of the first and the end of the last week, holds along a
power of time, changes in steps, sets with heavy tails. Loads never come from the true level.

Seeds below `REPORT` are for tuning, those from it on for what is reported.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from gripbook.derive import derive_sets
from gripbook.logs.block import Block, Phase
from tests.strength.scenarios import (
    GRIPS,
    SERIES,
    START,
    Athlete,
    Name,
    Scenario,
    _Training,
    hangs_frame,
)

REPORT = 100_000
Row = dict[str, object]


@dataclass(frozen=True)
class World:
    """
    What is true. Changes in log terms.

    `apart`: extra change of the first grip ("grip"), of left and minus right pulls ("hands"), of
    pulls ("pulls"). `fatigue`: built up by the `easy` last days, in which it goes; `light`: share
    of the sets done in them. `mass`: share of body mass gained; `weighed`: days of weigh-ins, empty
    for each week. `memory`: correlation of one session's day effect with the next one's.
    `first_low`: by how much the first test (`Planned`) or the first session of each series (`Club`)
    falls short. `repeats`: the end test goes on until it is good (on the day, or on more days).
    `scale_off`: kilograms that a scale shows too little from mid-block on. `turned`: the
    end test's exercises in reverse; every set tires for all others. `set_noise`: how much more than
    usual one set differs from the next.
    """

    name: str
    generator: str = "planned"
    change: float = 0.05
    change_sd: float = 0.02
    apart: str = ""
    apart_by: float = 0.0
    fatigue: float = 0.0
    easy: int = 10
    light: float = 1.0
    mass: float = 0.0
    weighed: tuple[int, ...] = ()
    memory: float = 0.0
    day_sd: float = 0.022
    first_low: float = 0.0
    repeats: bool = False
    scale_off: float = 0.0
    turned: bool = False
    reserves: float = 0.8
    sets_share: float = 1.0
    set_noise: float = 1.0

    @property
    def twin(self) -> World:
        """The same world in which nobody changes."""
        return replace(self, name=self.name, change=0.0, change_sd=0.0, apart="", apart_by=0.0)

    def extra(self, name: Name) -> float:
        """Change of a series beyond what all have."""
        if self.apart == "grip":
            return self.apart_by if name[1] == GRIPS[0] else 0.0
        if self.apart == "hands":
            return {"left": self.apart_by, "right": -self.apart_by}.get(name[2], 0.0)
        return self.apart_by if self.apart == name[0] + "s" else 0.0


def _both(name: str, **of_both: object) -> tuple[World, ...]:
    return tuple(
        World(f"{name}, {g}", generator=g, **of_both)  # type: ignore[arg-type]
        for g in ("planned", "club")
    )


WORLDS = (
    *_both("ordinary"),
    *_both("mixed", change=0.0, change_sd=0.05),
    *_both("one grip", change=0.0, change_sd=0.0, apart="grip", apart_by=0.10),
    *_both("hands apart", change=0.0, change_sd=0.0, apart="hands", apart_by=0.06),
    *_both("taper, fewer sets", fatigue=0.07, light=0.5),
    *_both("taper, as many sets", fatigue=0.07),
    *_both("easy end, no fatigue", fatigue=1e-9, light=0.5),
    *_both("one weigh-in", mass=-0.05, weighed=(0,)),
    *_both("mass up, one weigh-in", mass=0.03, weighed=(0,)),
    *_both("days with memory", memory=0.8, day_sd=0.035),
    *_both("beginner", change=0.20, change_sd=0.03),
    *_both("gain 12 %", change=0.12),
    *_both("first test low", first_low=0.05),
    *_both("test repeated", repeats=True),
    *_both("scale off", scale_off=1.5),
    *_both("order turned", turned=True),
    *_both("noisy sets", set_noise=2.0),
    *_both("few sets", sets_share=0.45),
    *_both("no guesses", reserves=0.0),
)


def make(world: World, seed: int) -> Athlete:
    """One athlete of a world; the same seed gives the same log."""
    rng = np.random.default_rng([seed, *world.name.encode(), int(world.change == 0)])
    made: _Planned | _Club
    made = _Planned(world, rng) if world.generator == "planned" else _Club(world, rng)
    return made.athlete()


def strength_at_end(world: World, seed: int) -> dict[Name, float]:
    """True log load in kg of each series of `make`'s athlete on the block's last day."""
    rng = np.random.default_rng([seed, *world.name.encode(), int(world.change == 0)])
    if world.generator == "planned":
        planned = _Planned(world, rng)
        return {n: planned.path[n](planned.last) for n in SERIES}
    club = _Club(world, rng)
    return {n: club.level(n, club.last) for n in CLUB}


def luck(world: World, capacity: str) -> float:
    """SD in log load of a first set of a day: the day's, its capacity's and the set's own."""
    if world.generator == "planned":
        factor = {"hang": 1.0, "repeater": 1.25, "pull": 1.15}[capacity]
        return math.hypot(world.day_sd, 0.012, 0.025 * factor * world.set_noise)
    return math.hypot(world.day_sd, 0.01, CLUB_SET_SD[capacity] * world.set_noise)


class _Form:
    """What moves every set of a day beside strength: memory of days, and fatigue."""

    def __init__(self, world: World, rng: np.random.Generator, last: int) -> None:
        self.world, self.rng, self.last = world, rng, last
        self.state = rng.normal(0, world.day_sd)

    def of_day(self) -> float:
        """Day effect with memory; called once a session."""
        w = self.world
        if w.memory:
            fresh = math.sqrt(1 - w.memory**2) * w.day_sd
            self.state = w.memory * self.state + self.rng.normal(0, fresh)
            return float(self.state)
        return float(self.rng.normal(0, w.day_sd))

    def line(self, day: int) -> float:
        """Fatigue along a line up to the easy days, then gone with a time of three days."""
        turn = self.last - self.world.easy
        depth = self.world.fatigue * min(max(day, 0) / turn, 1.0)
        return -depth * (math.exp(-(day - turn) / 3.0) if day > turn else 1.0)


class _Planned(_Training):
    def __init__(self, world: World, rng: np.random.Generator) -> None:
        scenario = Scenario(
            world.name, change=world.change, change_sd=world.change_sd, day_sd=world.day_sd,
            reserves=world.reserves, sets_share=world.sets_share, set_sd=0.025 * world.set_noise,
            curve=str(rng.choice(["hyperbola", "logarithm", "power"])),
        )  # fmt: skip
        super().__init__(scenario, rng, 9)
        self.world, self.plain = world, scenario
        self.form = _Form(world, rng, self.last)
        for name in SERIES:
            extra = world.extra(name)
            self.truth[name] += extra
            path = self.path[name]
            self.path[name] = lambda day, path=path, extra=extra: (  # type: ignore[misc]
                path(day) + extra * min(max(day / self.last, 0.0), 1.0)
            )

    def athlete(self) -> Athlete:
        made = super().athlete()
        if not self.world.weighed:
            return made
        body = made.body[made.body["date"].sub(pd.Timestamp(START)).dt.days.isin([0])]
        body = body.iloc[[0] * len(self.world.weighed)].copy()
        days = pd.Timestamp(START) + pd.to_timedelta(list(self.world.weighed), unit="D")
        body["date"] = days.astype("datetime64[us]")
        body["body_mass_kg"] = [self._mass(d) + self.rng.normal(0, 0.4) for d in self.world.weighed]
        sets = derive_sets(made.hangs, body, made.block)
        return replace(made, body=body, sets=sets)

    def _mass(self, day: int) -> float:
        return float(self.mass0 * (1 + self.world.mass * min(max(day / self.last, 0), 1)))

    def _start_day(self, day: int) -> None:
        super()._start_day(day)
        easy = day > self.last - self.world.easy
        share = self.world.sets_share * (self.world.light if easy else 1.0)
        self.sc = replace(self.plain, sets_share=share)
        self.today = self.form.of_day() + self.form.line(day)
        self.done = 0
        if day <= 1:
            self.today -= self.world.first_low

    def _capacity(self, name: Name, day: int, edge: float) -> float:
        tired = 0.0
        if self.world.turned:
            tired = 0.003 * min(self.done - self.position.get(name, 0), 15)
            self.done += 1
        return super()._capacity(name, day, edge) - tired

    def _one(self, name: Name, day: int, edge: float, test: bool, ask: float = 0.93) -> bool:
        off = self.world.scale_off if name[0] == "pull" and day > self.last / 2 else 0.0
        self.mass_now -= off
        done = super()._one(name, day, edge, test, ask)
        self.mass_now += off
        return done

    def _test(self, day: int) -> None:
        final = day > self.last / 2
        order = SERIES[::-1] if self.world.turned and final else SERIES
        for name in order:
            if name[0] == "pull":
                first = self.pair.get(name, {}).get(1, 0.0)
                for number in range(5 if self.world.repeats and final else 2):
                    self._one(name, day, 20.0, test=True)
                    if number and self.pair[name][day] > 1.04 * first:
                        break
            elif name[1] != GRIPS[0]:
                self._one(name, day, 20.0, test=False)
            else:
                self._up(name, day)
                first = self.pair.get(name, {}).get(1, 0.0)
                for _ in range(2 if self.world.repeats and final else 0):
                    if self.pair.get(name, {}).get(day, 0.0) > 1.04 * first:
                        break
                    self._up(name, day)

    def _up(self, name: Name, day: int) -> None:
        ask = 0.95
        for _ in range(5):
            if not self._one(name, day, 20.0, test=True, ask=ask):
                break
            ask += 0.03


CLUB_SET_SD = {"hang": 0.025, "repeater": 0.03, "pull": 0.028}
CLUB = (
    *(("hang", g, "both") for g in GRIPS),
    *(("repeater", g, "both") for g in GRIPS),
    *(("pull", g, h) for g in GRIPS for h in ("left", "right")),
)


class _Club:
    """Double progression, three days a week of mixed sessions over eight weeks."""

    weeks = 8

    def __init__(self, world: World, rng: np.random.Generator) -> None:
        self.world, self.rng = world, rng
        self.last = 7 * self.weeks - 1
        self.form = _Form(world, rng, self.last)
        self.mass0 = rng.normal(66, 9)
        strong = self.mass0 * rng.normal(1.3, 0.12)
        shared = rng.normal(world.change, world.change_sd)
        # a change comes in two or three steps, not along a line
        self.turns = np.sort(rng.uniform(0.1, 0.9, 3))
        self.parts = rng.dirichlet([2.0, 2.0, 2.0])
        self.shares: dict[int, float] = {}
        self.base: dict[Name, float] = {}
        self.truth: dict[Name, float] = {}
        self.added: dict[Name, float] = {}
        for name in CLUB:
            level = strong * {"hang": 1.0, "repeater": 0.75, "pull": 0.55}[name[0]]
            level *= math.exp(rng.normal(0, 0.07))
            self.base[name] = math.log(level)
            own = rng.normal(0, 0.01) if world.change_sd else 0.0
            self.truth[name] = shared + own + world.extra(name)
            believed = level * math.exp(rng.normal(-0.1, 0.04))
            self.added[name] = 2.0 * round((believed - self.mass0) / 2.0)
        self.bend = {"hang": rng.uniform(0.11, 0.17), "repeater": rng.uniform(0.26, 0.42)}
        self.rows: list[Row] = []
        self.pair: dict[Name, dict[int, float]] = {}
        self.seen: set[Name] = set()
        self.tired = 0.0
        self.first_day = 2
        self.final_day = self.last - 1

    def level(self, name: Name, day: int) -> float:
        if day not in self.shares:
            s = np.array([min(max(day / self.last, 0.0), 1.0), 0.0, 1.0])
            # each step takes a fifth of the block; at the ends all or nothing is there
            steps = np.clip((s[:, None] - self.turns) / 0.2 + 0.5, 0, 1) @ self.parts
            self.shares[day] = float((steps[0] - steps[1]) / (steps[2] - steps[1]))
        return float(self.base[name] + self.truth[name] * self.shares[day])

    def mass(self, day: int) -> float:
        return float(self.mass0 * (1 + self.world.mass * min(max(day / self.last, 0.0), 1.0)))

    def athlete(self) -> Athlete:
        w = self.world
        turn = self.last - w.easy
        days = [d for d in range(self.last + 1) if d % 7 in (0, 2, 5)]
        if w.fatigue and w.light < 1:
            # an easy week is one without training, up to the test
            days = [d for d in days if d <= turn or d == self.final_day]
        if w.repeats:
            days.append(self.last)
        before = 0
        good = False
        for day in days:
            # fatigue follows the work done, and goes with a time of five days once it is easy
            if w.fatigue:
                gap = day - before
                if day > turn:
                    self.tired *= math.exp(-gap / 5.0)
                else:
                    self.tired += w.fatigue * gap / turn
            before = day
            self.today = self.form.of_day() - self.tired
            self.part = {c: self.rng.normal(0, 0.01) for c in ("hang", "repeater", "pull")}
            self.place: dict[Name, int] = {}
            self.done = 0
            self.mass_now = self.mass(day) + self.rng.normal(0, 0.4)
            self.new = set(CLUB) - self.seen
            if day >= self.final_day or day == self.first_day:
                if not good:
                    self._test(day)
                good = day > self.last / 2 and self._good(day)
            else:
                self._session(day)
            self.seen |= set(self.place)
        weigh = list(w.weighed) or list(range(0, self.last + 1, 7))
        dates = pd.Timestamp(START) + pd.to_timedelta(weigh, unit="D")
        body = pd.DataFrame(
            {
                "athlete": "a",
                "date": dates.astype("datetime64[us]"),
                "body_mass_kg": [self.mass(d) + self.rng.normal(0, 0.4) for d in weigh],
                "note": "",
            }
        )
        phase = Phase("Mixed", self.weeks, 1, "repeater", 7.0, 3.0, 6)
        block = Block(w.name, START, self.weeks, test_weeks=(1, self.weeks), phases=(phase,))
        hangs = hangs_frame(self.rows)
        pair = {
            n: math.log(max(v for d, v in b.items() if d > self.first_day) / b[self.first_day])
            for n, b in self.pair.items()
            if b.get(self.first_day) and len(b) > 1
        }
        return Athlete(hangs, body, derive_sets(hangs, body, block), self.truth, pair, block)

    def _good(self, day: int) -> bool:
        """Whether the pulls of the end test beat the first by 3 % on average."""
        gains = [
            math.log(b[day] / b[self.first_day])
            for n, b in self.pair.items()
            if n[0] == "pull" and day in b and self.first_day in b
        ]
        return bool(gains) and float(np.mean(gains)) > 0.03

    def _session(self, day: int) -> None:
        kind = day % 7
        work = {
            0: (("hang", 3), ("repeater", 1)),
            2: (("pull", 2), ("hang", 1)),
            5: (("repeater", 2), ("hang", 1)),
        }[kind]
        share = self.world.sets_share
        if self.world.fatigue and day > self.last - self.world.easy:
            share *= self.world.light
        for capacity, sets in work:
            for name in CLUB:
                if name[0] == capacity:
                    for _ in range(int(sets * share + self.rng.random())):
                        self._set(name, day)

    def _test(self, day: int) -> None:
        turned = self.world.turned and day > self.last / 2
        for name in CLUB[::-1] if turned else CLUB:
            if name[0] == "pull":
                self._set(name, day, test=True)
                self._set(name, day, test=True)
            else:
                keep = self.added[name]
                for step in range(4):
                    self.added[name] = keep + 4.0 * step
                    if not self._set(name, day, test=True):
                        break
                self.added[name] = keep

    def _set(self, name: Name, day: int, test: bool = False) -> bool:
        w, rng = self.world, self.rng
        place = self.place.get(name, 0)
        self.place[name] = place + 1
        able = self.level(name, day) + self.today + self.part[name[0]]
        able += w.set_noise * CLUB_SET_SD[name[0]] * rng.standard_t(5) * math.sqrt(3 / 5)
        able -= {"hang": 0.010, "repeater": 0.013, "pull": 0.006}[name[0]] * place
        if w.turned:
            able -= 0.003 * min(self.done - place, 15)
        self.done += 1
        if w.first_low and name in self.new:
            able -= w.first_low
        row: Row = {
            "day": day, "exercise": name[0], "grip": name[1], "hand": name[2], "edge_mm": 20.0,
            "test": test,
        }  # fmt: skip
        self.rows.append(row)
        if name[0] == "pull":
            off = w.scale_off if day > self.last / 2 else 0.0
            shown = self.mass_now - math.exp(able) + rng.normal(0, 0.5)
            row |= {"added_kg": 0.0, "scale_kg": max(0.0, round(2 * (shown - off)) / 2)}
            load = self.mass_now - max(0.0, shown - off)
            self._keep(name, day, load, test)
            return True
        load = self.mass_now + self.added[name]
        margin, bend = able - math.log(max(load, 5.0)), self.bend[name[0]]
        p, whole = (0.35, 10.0) if name[0] == "hang" else (-0.15, 42.0)
        stretch = 1 + p * margin / bend
        held = whole * (max(stretch, 1e-3) ** (1 / p)) if stretch > 0 or p > 0 else 300.0
        row["added_kg"] = self.added[name]
        done = held >= whole
        if name[0] == "hang":
            row["hang_s"] = 10.0
            unit, column = 1.0, "reserve_s"
            if not done:
                row["failed_s"] = round(held, 1)
        else:
            row |= {"hang_s": 7.0, "rest_s": 3.0, "reps": 6.0}
            unit, column = 7.0, "reserve_reps"
            if not done:
                row |= {"reps_done": held // 7, "failed_s": min(float(int(held % 7)), 6.5)}
        left = min((held - whole) / unit, 20.0)
        if done and rng.random() < w.reserves:
            row[column] = float(min(round(left * math.exp(rng.normal(0.1, 0.3))), 10))
        if done:
            self._keep(name, day, load, test)
        if not test and rng.random() < 0.6:
            step = 2.0 if done and left * unit > 3.0 else -2.0 if held < 0.75 * whole else 0.0
            self.added[name] += step
        return bool(done)

    def _keep(self, name: Name, day: int, load: float, test: bool) -> None:
        if test:
            best = self.pair.setdefault(name, {})
            best[day] = max(best.get(day, 0.0), load)


__all__ = ["REPORT", "WORLDS", "World", "luck", "make", "strength_at_end"]
