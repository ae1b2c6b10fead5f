"""Which added weights an athlete's own plates can make."""

from __future__ import annotations

import math
from collections.abc import Collection
from functools import lru_cache

#: Step of the added weight where the plan names no plates: the smallest that most gyms have
#: (common practice, no source).
STEP_KG = 1.25
#: The same with one hand, and in pounds.
STEP_ONE_HAND_KG = 0.5
STEP_LB, STEP_ONE_HAND_LB = 2.5, 1.25
#: No added weight above this is looked at; the log format takes none.
MOST_KG = 200.0


@lru_cache(maxsize=64)
def loadable(plates_kg: tuple[float, ...]) -> dict[float, tuple[float, ...]]:
    """
    Every weight the plates can make, in kg, with the fewest pieces for it (heaviest first).

    `plates_kg` names each piece once for each time it is there. Without plates: steps of `STEP_KG`,
    no pieces named. Nothing on is 0.
    """
    if not plates_kg:
        return {round(k * STEP_KG, 3): () for k in range(int(MOST_KG / STEP_KG) + 1)}
    # in grams: sums of pounds in kilograms would else miss each other by rounding
    makeable: dict[int, tuple[float, ...]] = {0: ()}
    most = round(MOST_KG * 1000)
    for piece in sorted(plates_kg, reverse=True):
        grams = round(piece * 1000)
        for total, pieces in list(makeable.items()):
            more = total + grams
            if more <= most and (more not in makeable or len(makeable[more]) > len(pieces) + 1):
                makeable[more] = (*pieces, piece)
    return {grams / 1000: makeable[grams] for grams in sorted(makeable)}


def spaced(options: Collection[float], at: float, least: float) -> list[float]:
    """
    Of what can be loaded (kg) the loads that lie `least` or more apart, reckoned from `at`.

    So that a plan made with small plates moves in steps worth making, and a start is written as a
    coach would write it: +6.25 kg below +7.5 kg, not +6.75 kg.
    """
    ordered = sorted(options)
    up = [at] if at in options else []
    for kg in ordered:
        if kg > at and (not up or kg - up[-1] >= least - 1e-6):
            up.append(kg)
    down: list[float] = []
    last = at if up and up[0] == at else up[0] if up else math.inf
    for kg in reversed(ordered):
        if kg < at and last - kg >= least - 1e-6:
            down.append(kg)
            last = kg
    return [*reversed(down), *up]
