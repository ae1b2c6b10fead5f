"""What is true of an invented athlete: strength paths, day effects, edges, endurance, body mass."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from dataclasses import dataclass, field
from statistics import NormalDist
from typing import Literal, NamedTuple

from gripbook.errors import GripbookError

#: Edge and hold for which a true load is stated.
REFERENCE_EDGE_MM = 20.0
REFERENCE_HANG_S = 10.0
#: The set to which a true repeater load belongs: this many seconds under load in all.
REFERENCE_REPEATER_S = 42.0

_NORMAL = NormalDist()


class Draws:
    """
    Seeded random draws.

    Only `random()` is used: its stream is the same on every Python, which numpy's generators and
    the library's own normal draws do not promise.
    """

    def __init__(self, seed: str) -> None:
        self._random = random.Random(seed)

    def uniform(self, low: float = 0.0, high: float = 1.0) -> float:
        """A number between `low` and `high`, all alike."""
        return low + (high - low) * self._random.random()

    def normal(self, mean: float = 0.0, sd: float = 1.0) -> float:
        """A normal number; by the inverse, cut at 6 SD."""
        share = min(max(self._random.random(), 1e-9), 1.0 - 1e-9)
        return mean + sd * _NORMAL.inv_cdf(share)

    def chance(self, probability: float) -> bool:
        """True with this probability."""
        return self._random.random() < probability

    def pick(self, among: tuple[str, ...]) -> str:
        """One of several words."""
        return among[int(self._random.random() * len(among))]


class Series(NamedTuple):
    """One capacity of one grip and hand."""

    capacity: Literal["hang", "repeater", "pull"]
    grip: str
    hand: Literal["both", "left", "right"]


@dataclass(frozen=True, slots=True)
class Path:
    """
    A true load from day to day, at the reference edge and hold.

    `start_kg` on the block's first day (and before), `change` in log terms over the block.
    `bend` 1 is a steady change, above 1 a late one. `waves` are log amplitudes of sines that are
    zero at both ends, so that the change between first and last day is exactly `change`.
    """

    start_kg: float
    change: float = 0.0
    bend: float = 1.0
    waves: tuple[float, ...] = ()

    def load_kg(self, day: float, last_day: int) -> float:
        """The load in kg on a day counted from the block's first (0) to its last."""
        share = min(max(day / last_day, 0.0), 1.0)
        wave = sum(a * math.sin(math.pi * j * share) for j, a in enumerate(self.waves, 1))
        return self.start_kg * math.exp(self.change * math.pow(share, self.bend) + wave)


@dataclass(frozen=True, slots=True)
class Endurance:
    """
    Which share of the strongest pull can be held for how long.

    Families on purpose unlike each other: `hyperbola` c + (1 - c) / (1 + T / scale_s) with a floor
    c that can be held for ever; `logarithm` 1 - slope log(1 + T / scale_s), without a floor.
    Shapes of our own in the range of published curves; no published fit.
    """

    family: Literal["hyperbola", "logarithm"] = "hyperbola"
    floor: float = 0.38
    slope: float = 0.22
    scale_s: float = 36.0

    def share(self, hold_s: float) -> float:
        """Share of the strongest pull that can be held for `hold_s` seconds."""
        if self.family == "hyperbola":
            return self.floor + (1.0 - self.floor) / (1.0 + hold_s / self.scale_s)
        return 1.0 - self.slope * math.log1p(hold_s / self.scale_s)

    def hold_s(self, share: float) -> float:
        """Seconds that a share can be held; 0 above 1, at most 600."""
        if share >= 1.0:
            return 0.0
        if self.family == "hyperbola":
            if share <= self.floor:
                return 600.0
            held = self.scale_s * ((1.0 - self.floor) / (share - self.floor) - 1.0)
        else:
            held = self.scale_s * math.expm1((1.0 - share) / self.slope)
        return min(held, 600.0)


@dataclass(frozen=True, slots=True)
class Person:
    """
    An invented athlete.

    `paths` hold the true loads; `edge_exponent` is k in load = load at 20 mm x (edge / 20)^k;
    `board_offset` is in log terms; `repeater_power` is q in load = reference x (T_ref / T)^q.
    `day_sd` is the log SD that all sets of a day share, `capacity_day_sd` that of one capacity.
    """

    id: str
    seed: str
    last_day: int
    paths: Mapping[Series, Path]
    body_mass_start_kg: float
    body_mass_change_kg: float = 0.0
    body_mass_day_sd_kg: float = 0.3
    edge_exponent: float = 0.25
    board_offset: Mapping[str, float] = field(default_factory=dict)
    endurance: Endurance = Endurance()
    repeater_power: float = 0.36
    day_sd: float = 0.02
    capacity_day_sd: float = 0.012

    def load_kg(self, series: Series, day: float) -> float:
        """True load of a series on a day, at the reference edge, day effects left out."""
        try:
            path = self.paths[series]
        except KeyError:
            known = ", ".join("/".join(s) for s in self.paths)
            raise GripbookError(
                f"{self.id} has no series {'/'.join(series)}. There are: {known}."
            ) from None
        return path.load_kg(day, self.last_day)

    def body_mass_kg(self, day: float) -> float:
        """True body mass on a day without its daily ups and downs; flat outside the block."""
        share = min(max(day / self.last_day, 0.0), 1.0)
        return self.body_mass_start_kg + self.body_mass_change_kg * share

    def scale_mass_kg(self, day: int) -> float:
        """Body mass as it is on this very day."""
        return self.body_mass_kg(day) + self._draws("mass", day).normal(0, self.body_mass_day_sd_kg)

    def day_effect(self, capacity: str, day: int) -> float:
        """How much stronger (log terms) than the path this capacity is on this very day."""
        shared = self._draws("day", day).normal(0, self.day_sd)
        return shared + self._draws(capacity, day).normal(0, self.capacity_day_sd)

    def strength_kg(self, series: Series, day: int, edge_mm: float, board: str) -> float:
        """Load in kg of which the first set of this day is capable, before its own noise."""
        shift = self.edge_exponent * math.log(edge_mm / REFERENCE_EDGE_MM)
        shift += self.board_offset.get(board, 0.0) + self.day_effect(series.capacity, day)
        return self.load_kg(series, day) * math.exp(shift)

    def held_s(self, strength_kg: float, load_kg: float) -> float:
        """Seconds until the fingers open in one hold, given what 10 s would allow."""
        share = self.endurance.share(REFERENCE_HANG_S) * load_kg / strength_kg
        return self.endurance.hold_s(share)

    def repeated_s(self, strength_kg: float, load_kg: float) -> float:
        """Seconds under load until the fingers open in a repeater set."""
        ratio = strength_kg / load_kg
        held = REFERENCE_REPEATER_S * math.pow(ratio, 1.0 / self.repeater_power)
        return min(held, 900.0)

    def _draws(self, what: str, day: int) -> Draws:
        return Draws(f"{self.seed}/{self.id}/{what}/{day}")
