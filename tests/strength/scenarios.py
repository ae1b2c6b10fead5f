"""
Invented athletes with known strength and curves unlike the model's, for the checks of the model.

Loads come from a plan, past bests and how earlier sets went, never from the true level of the day.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from gripbook.derive import derive_sets
from gripbook.logs.block import Block, Phase
from gripbook.strength.endurance import hold_drop, repeater_drop
from gripbook.strength.evidence import CAPACITIES
from gripbook.strength.fit import nodes_for
from gripbook.strength.model import PRIORS, NoiseScales

START = dt.date(2026, 1, 5)
GRIPS = ("half_crimp", "open_four")
SERIES = (
    *(("hang", g, "both") for g in GRIPS),
    *(("repeater", g, "both") for g in GRIPS),
    *(("pull", g, h) for g in GRIPS for h in ("left", "right")),
)
Name = tuple[str, str, str]


@dataclass(frozen=True)
class Scenario:
    """What is true and how it is logged. Changes and SDs in log terms."""

    name: str
    change: float = 0.05
    change_sd: float = 0.02
    day_sd: float = 0.022
    capacity_day_sd: float = 0.012
    day_tail: float = np.inf
    set_sd: float = 0.025
    curve: str = "hyperbola"
    reserves: float = 0.8
    edges: tuple[float, ...] = (20.0,)
    edge_exponent: float = 0.27
    mass_change_kg: float = 0.0
    weigh_every: int = 7
    per_week: int = 2
    sets_share: float = 1.0
    bend: tuple[float, float] = (0.7, 1.4)
    wave: float = 0.006
    phases: bool = False
    tail_set: float = np.inf


SCENARIOS = (
    Scenario("gain 5 %"),
    Scenario("no change", change=0.0, change_sd=0.0),
    Scenario("gain 10 %", change=0.10),
    Scenario("loss 5 %", change=-0.05),
    Scenario("logarithm", curve="logarithm"),
    Scenario("Rohmert", curve="rohmert"),
    Scenario("power", curve="power"),
    Scenario("heavy days", day_tail=3.0),
    Scenario("day SD 2 %", day_sd=0.017, capacity_day_sd=0.010),
    Scenario("day SD 6 %", day_sd=0.053, capacity_day_sd=0.028),
    Scenario("no reserves", reserves=0.0),
    Scenario("smaller edges", edges=(20.0, 18.0, 15.0, 12.0)),
    Scenario("mass gain", mass_change_kg=3.0),
    Scenario("three a week", per_week=3),
    Scenario("few sets", sets_share=0.45),
    Scenario("phases", phases=True),
    Scenario("rare weigh-ins", mass_change_kg=1.5, weigh_every=40),
)


def block_of(scenario: Scenario, weeks: int = 9) -> Block:
    """The plan the invented athletes follow."""
    phase = Phase("Repeaters", weeks, 1, "repeater", 7.0, 3.0, 6)
    return Block(
        scenario.name, START, weeks, test_weeks=(1, weeks), phases=(phase,), reference_hang_s=10.0
    )


class _Curve:
    """Seconds held as a function of log (capacity for 10 s over load)."""

    def __init__(self, family: str, rng: np.random.Generator) -> None:
        self.times = np.exp(np.linspace(np.log(0.3), np.log(400.0), 400))
        t = self.times
        if family == "hyperbola":
            floor, scale = rng.uniform(0.3, 0.46), rng.uniform(28, 45)
            share = floor + (1 - floor) / (1 + t / scale)
        elif family == "logarithm":
            share = 1 - rng.uniform(0.18, 0.26) * np.log1p(t / rng.uniform(11, 19))
        elif family == "power":
            share = (1 + t / rng.uniform(6, 14)) ** -rng.uniform(0.22, 0.34)
        elif family == "rohmert":
            f = np.linspace(1.3, 0.15, 800)
            s = rng.uniform(0.7, 1.4) * 60 * (-1.5 + 2.1 / f - 0.6 / f**2 + 0.1 / f**3)
            keep = s > 0.05
            share = np.exp(np.interp(np.log(t), np.log(s[keep]), np.log(f[keep])))
        else:
            raise ValueError(family)
        share = np.maximum(share, 0.02)
        at_10 = np.interp(np.log(10.0), np.log(t), share)
        self.drop = np.maximum.accumulate(-np.log(share / at_10) + 1e-9 * np.arange(len(t)))

    def held_s(self, margin: float) -> float:
        return float(np.interp(margin, self.drop, self.times))


@dataclass
class Athlete:
    """Logs of one invented athlete as `load_logs` would give them, and what is true."""

    hangs: pd.DataFrame
    body: pd.DataFrame
    sets: pd.DataFrame
    truth: dict[Name, float]
    """True log change of each series over the block."""
    pair: dict[Name, float]
    """Log of the best of the last test day over the best of the first."""
    block: Block


def make_athlete(scenario: Scenario, seed: int, weeks: int = 9) -> Athlete:
    """One athlete; the same seed gives the same log."""
    rng = np.random.default_rng([seed, *scenario.name.encode()])
    return _Training(scenario, rng, weeks).athlete()


class _Training:
    def __init__(self, sc: Scenario, rng: np.random.Generator, weeks: int) -> None:
        self.sc, self.rng, self.weeks, self.last = sc, rng, weeks, 7 * weeks - 1
        self.rows: list[dict[str, object]] = []
        self.mass0 = rng.uniform(52, 85)
        hang = self.mass0 * rng.normal(1.35, 0.12)
        shared = rng.normal(sc.change, sc.change_sd)
        bend = rng.uniform(*sc.bend)
        waves = rng.normal(0, sc.wave, 3) / np.arange(1, 4)
        own_sd = 0.3 * sc.change_sd + (0.005 if sc.change_sd else 0.0)
        self.path: dict[Name, Callable[[float], float]] = {}
        self.truth: dict[Name, float] = {}
        self.best: dict[Name, float] = {}
        for name in SERIES:
            capacity, grip, _hand = name
            base = {"hang": 1.0, "repeater": 0.77, "pull": 0.52}[capacity] * hang
            base *= np.exp(rng.normal(-0.04 if grip != GRIPS[0] else 0.0, 0.06))
            change = shared + rng.normal(0, own_sd)
            mine = waves + 0.5 * rng.normal(0, sc.wave, 3) / np.arange(1, 4)
            self.path[name] = self._path(np.log(base), change, bend, mine)
            self.truth[name] = change
            # an old best, near but not at the level
            self.best[name] = base * np.exp(rng.normal(-0.04, 0.05))
        self.curve = _Curve(sc.curve, rng)
        self.power = rng.uniform(0.26, 0.42)
        self.exponent = rng.normal(sc.edge_exponent, 0.05)
        self.pair: dict[Name, dict[int, float]] = {}

    def _path(
        self, base: float, change: float, bend: float, waves: npt.NDArray[np.float64]
    ) -> Callable[[float], float]:
        def level(day: float) -> float:
            s = min(max(day / self.last, 0.0), 1.0)
            wave = sum(a * np.sin(np.pi * j * s) for j, a in enumerate(waves, 1))
            return float(base + change * s**bend + wave)

        return level

    def _noise(self, sd: float, tail: float) -> float:
        if np.isinf(tail):
            return float(self.rng.normal(0, sd))
        return float(sd * self.rng.standard_t(tail) / np.sqrt(tail / (tail - 2)))

    def athlete(self) -> Athlete:
        sc = self.sc
        days = _days(self.weeks, sc.per_week)
        first, final = days[0], days[-1]
        for number, day in enumerate(days):
            self._start_day(day)
            if day in (first, final):
                self._test(day)
            else:
                self._train(number, day)
        weigh = list(range(0, self.last + 1, sc.weigh_every))
        mass = [self._mass(d) + self.rng.normal(0, 0.4) for d in weigh]
        dates = pd.Timestamp(START) + pd.to_timedelta(weigh, unit="D")
        body = pd.DataFrame({"athlete": "a", "date": dates, "body_mass_kg": mass, "note": ""})
        body["date"] = body["date"].astype("datetime64[us]")
        hangs = hangs_frame(self.rows)
        block = block_of(sc, self.weeks)
        pair = {
            name: float(np.log(bests[final] / bests[first]))
            for name, bests in self.pair.items()
            if bests.get(first) and bests.get(final)
        }
        return Athlete(hangs, body, derive_sets(hangs, body, block), self.truth, pair, block)

    def _mass(self, day: int) -> float:
        return float(self.mass0 + self.sc.mass_change_kg * min(max(day / self.last, 0), 1))

    def _start_day(self, day: int) -> None:
        sc = self.sc
        self.today = self._noise(sc.day_sd, sc.day_tail)
        self.parts = {
            c: self._noise(sc.capacity_day_sd, sc.day_tail) for c in ("hang", "repeater", "pull")
        }
        self.position: dict[Name, int] = {}
        self.mass_now = self._mass(day) + self.rng.normal(0, 0.4)

    def _edge(self, day: int) -> float:
        edges = self.sc.edges
        return edges[min(int(len(edges) * max(day, 0) / (self.last + 1)), len(edges) - 1)]

    def _capacity(self, name: Name, day: int, edge: float) -> float:
        place = self.position.get(name, 0)
        self.position[name] = place + 1
        fading = {"hang": 0.009, "repeater": 0.014, "pull": 0.007}[name[0]] * place
        noise = self.sc.set_sd * {"hang": 1.0, "repeater": 1.25, "pull": 1.15}[name[0]]
        return (
            self.path[name](day)
            + self.today
            + self.parts[name[0]]
            - fading
            + self._noise(noise, self.sc.tail_set)
            + self.exponent * np.log(edge / 20.0)
        )

    def _train(self, number: int, day: int) -> None:
        share = self.sc.sets_share

        def count(n: int) -> int:
            return int(n * share) + int(self.rng.random() < n * share % 1)

        week = day // 7
        if self.sc.phases:
            kind = "hang" if week < 2 else "repeater" if week < 6 else "pull"
            work = {kind: {"hang": 4, "repeater": 3, "pull": 3}[kind]}
        elif number % 2:
            work = {"hang": 3, "pull": 2}
        else:
            work = {"repeater": 2, "hang": 1, "pull": 1}
        edge = self._edge(day)
        for name in SERIES:
            for _ in range(count(work.get(name[0], 0))):
                self._one(name, day, edge, test=False)

    def _test(self, day: int) -> None:
        for name in SERIES:
            if name[0] == "pull":
                for _ in range(2):
                    self._one(name, day, 20.0, test=True)
                continue
            if name[1] != GRIPS[0]:
                self._one(name, day, 20.0, test=False)
                continue
            ask = 0.95
            for _ in range(5):
                done = self._one(name, day, 20.0, test=True, ask=ask)
                if not done:
                    break
                ask += 0.03

    def _one(self, name: Name, day: int, edge: float, test: bool, ask: float = 0.93) -> bool:
        capacity, grip, hand = name
        rng = self.rng
        able = self._capacity(name, day, edge)
        row: dict[str, object] = {
            "day": day, "exercise": capacity, "grip": grip, "hand": hand, "edge_mm": edge,
            "test": test,
        }  # fmt: skip
        if capacity == "pull":
            added = max(0.0, 2.5 * np.ceil((self.best[name] * 1.15 - self.mass0) / 2.5))
            scale = self.mass_now + added - np.exp(able) + rng.normal(0, 0.5)
            row |= {"added_kg": added, "scale_kg": max(0.0, round(2 * scale) / 2)}
            load = self.mass_now + added - row["scale_kg"]  # type: ignore[operator]
            self._keep(name, day, load, test)
            self.rows.append(row)
            return True
        # what is planned: a share of the believed best, on the belief that a smaller edge costs
        # what most people say, rounded to plates
        want = self.best[name] * ask * (edge / 20.0) ** 0.22
        added = 1.25 * round((want - self.mass0) / 1.25)
        load = self.mass_now + added
        row["added_kg"] = added
        margin = able - np.log(load)
        if capacity == "hang":
            held = self._held_s("hang", margin)
            done = held >= 10.0
            row["hang_s"] = 10.0
            if done:
                self._reserve(row, "reserve_s", held - 10.0)
            else:
                row["failed_s"] = max(0.0, round(2 * held) / 2)
            easy, hard = held > 15.0, held < 8.0
        else:
            held = self._held_s("repeater", margin)
            done = held >= 42.0
            row |= {"hang_s": 7.0, "rest_s": 3.0, "reps": 6.0}
            if done:
                self._reserve(row, "reserve_reps", (held - 42.0) / 7.0)
            else:
                row["reps_done"] = float(held // 7)
                row["failed_s"] = float(min(max(round(held % 7), 0), 6.5))
            easy, hard = held > 56.0, held < 32.0
        self.rows.append(row)
        if done:
            self._keep(name, day, load, test)
        # what the set felt like moves the next plan
        step = 1.02 if easy else 0.975 if hard else 1.0
        self.best[name] *= step if rng.random() < 0.7 else 1.0
        return done

    def _held_s(self, capacity: str, margin: float) -> float:
        """Seconds held at a load `margin` below the capacity of the set, in log terms."""
        if capacity == "hang":
            return self.curve.held_s(margin)
        return float(42.0 * np.exp(margin / self.power))

    def _reserve(self, row: dict[str, object], column: str, left: float) -> None:
        if self.rng.random() < self.sc.reserves:
            guess = left * np.exp(self.rng.normal(0.05, 0.35))
            row[column] = float(min(round(guess), 8))

    def _keep(self, name: Name, day: int, load: float, test: bool) -> None:
        if test:
            bests = self.pair.setdefault(name, {})
            bests[day] = max(bests.get(day, 0.0), load)


class _OwnTraining(_Training):
    """
    Everything drawn from the model's own priors, curve, noise and guesses (for calibration).

    Levels and the plans made from them are the simulator's: the model's prior on them is flat.
    """

    def __init__(self, rng: np.random.Generator, weeks: int) -> None:
        sc = Scenario("own", reserves=0.5)
        super().__init__(sc, rng, weeks)
        noise, p = NoiseScales(), PRIORS
        nodes = nodes_for(noise)
        weights = np.array([n.weight for n in nodes])
        node = nodes[rng.choice(len(nodes), p=weights / weights.sum())]
        self.noise, self.day_factor, self.set_factor = (
            noise,
            np.exp(node.log_day),
            np.exp(node.log_set),
        )
        self.span = self.last / 7.0
        shared = p.slope * rng.normal()
        own = {c: p.capacity_slope * rng.normal() for c in CAPACITIES}
        of_grip = {g: p.grip_slope * rng.normal() for g in GRIPS}
        waves = p.wiggle * rng.normal(size=3)
        for name in SERIES:
            slope = shared + own[name[0]] + of_grip[name[1]] + p.series_slope * rng.normal()
            mine = waves.copy()
            mine[0] += p.series_wiggle * rng.normal()
            base = self.path[name](0)
            self.path[name] = self._own_path(base, slope, mine)
            self.truth[name] = slope * self.span
        self.exponent = p.edge_mean + np.hypot(p.edge, p.grip_edge) * rng.normal()
        self.fade = {
            c: m + p.fading_sd * rng.normal() for c, m in zip(CAPACITIES, p.fading, strict=True)
        }
        self.bias = {c: p.guess_bias * rng.normal() for c in CAPACITIES}
        times = np.exp(np.linspace(np.log(0.3), np.log(400.0), 400))
        hold, rep = hold_drop(times, 10.0), repeater_drop(times, 42.0)
        while True:
            c = np.array(p.curve) * rng.normal(size=3)
            ok = (hold.slope + hold.basis_slope @ c[:2] > 0.005).all()
            if ok and (rep.slope + rep.basis_slope @ c[2:] > 0.005)[times > 1.5].all():
                break
        self.times = times
        self.drops = {
            "hang": hold.value + hold.basis @ c[:2],
            "repeater": np.maximum.accumulate(rep.value + rep.basis @ c[2:]),
        }

    def _own_path(
        self, base: float, slope: float, waves: npt.NDArray[np.float64]
    ) -> Callable[[float], float]:
        root = np.sqrt(2 * self.span)

        def level(day: float) -> float:
            s = day / self.last
            bridge = sum(
                a * root * np.sin(np.pi * j * s) / (np.pi * j) for j, a in enumerate(waves, 1)
            )
            return float(base + slope * day / 7.0 + bridge)

        return level

    def _start_day(self, day: int) -> None:
        super()._start_day(day)
        self.today = self.noise.day * self.day_factor * self.rng.normal()
        self.parts = {
            c: self.noise.capacity_day * self.day_factor * self.rng.normal() for c in CAPACITIES
        }

    def _capacity(self, name: Name, day: int, edge: float) -> float:
        place = self.position.get(name, 0)
        self.position[name] = place + 1
        sd = self.set_factor * getattr(self.noise, name[0])
        return float(
            self.path[name](day)
            + self.today
            + self.parts[name[0]]
            - self.fade[name[0]] * place
            + sd * self.rng.normal()
            + self.exponent * np.log(edge / 20.0)
        )

    def _held_s(self, capacity: str, margin: float) -> float:
        held = float(np.interp(margin, self.drops[capacity], self.times))
        return held

    def _reserve(self, row: dict[str, object], column: str, left: float) -> None:
        if self.rng.random() < self.sc.reserves:
            bias = self.bias[str(row["exercise"])]
            # symmetric in log terms, so that guess given truth and truth given guess agree
            guess = left * np.exp(bias + 0.35 * self.rng.normal())
            row[column] = float(max(min(round(guess), 8), 0))


def make_own(seed: int, weeks: int = 9) -> Athlete:
    """An athlete drawn from the model's own prior."""
    return _OwnTraining(np.random.default_rng([seed, 77]), weeks).athlete()


def _days(weeks: int, per_week: int) -> list[int]:
    offsets = {2: (1, 4), 3: (0, 2, 5)}[per_week]
    return [7 * w + o for w in range(weeks) for o in offsets]


_NUMBERS = [
    "order",
    "added_kg",
    "scale_kg",
    "stand_kg",
    "force_kg",
    "hang_s",
    "rest_s",
    "reps",
    "reps_done",
    "failed_s",
    "reserve_s",
    "reserve_reps",
]

_WORDS: dict[str, object] = {
    "athlete": "a",
    "session": "",
    "sets": 1,
    "test": False,
    "warmup": False,
    "board": "",
    "load_kind": "steady",
    "stopped": "",
    "note": "",
    "file": "hangs.csv",
}


def hangs_frame(rows: list[dict[str, object]]) -> pd.DataFrame:
    """Rows with `day`, as the frame that `load_logs` would give."""
    # column by column, since a frame that is filled column by column costs as much as a fit
    columns: dict[str, object] = {}
    for name, default in _WORDS.items():
        found = [row.get(name) for row in rows]
        columns[name] = [default if value is None else value for value in found]
    for name in (*_NUMBERS, "edge_mm"):
        numbers = np.array([row.get(name, np.nan) for row in rows], dtype=np.float64)
        columns[name] = np.nan_to_num(numbers, nan=0.0) if name == "added_kg" else numbers
    columns |= {name: [row[name] for row in rows] for name in ("exercise", "grip", "hand")}
    days = pd.Timestamp(START) + pd.to_timedelta([row["day"] for row in rows], unit="D")
    columns["date"] = days.astype("datetime64[us]")
    lines = [row.get("line", number) for number, row in enumerate(rows, 2)]
    return pd.DataFrame(columns | {"line": lines})


__all__ = ["SCENARIOS", "SERIES", "Athlete", "Scenario", "block_of", "make_athlete", "make_own"]
