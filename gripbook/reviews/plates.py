"""Which added weights an athlete's own plates can make."""

from __future__ import annotations

from functools import lru_cache

#: Step of the added weight where the plan names no plates (own choice, no source).
STEP_KG = 0.5
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
