"""How much days differ, learned from a whole squad: only where that is asked for."""

from __future__ import annotations

from gripbook.derive import derive_sets
from gripbook.logs import Logs
from gripbook.strength import Evidence, NoiseScales, gather_evidence, share_noise


def squad_noise(logs: Logs, block: str = "") -> NoiseScales:
    """
    Noise scales of the strength model, estimated over all athletes of the logs.

    Parameters
    ----------
    block : name; empty: each athlete's latest begun.

    Notes
    -----
    An athlete's intervals then depend on the others' logs, so this is never done unasked; trends
    are never shared. An athlete whose log cannot be read is left out.
    """
    evidence: list[Evidence] = []
    for athlete in logs.athlete_ids:
        if block and not any(b.name == block and b.holds_for(athlete) for b in logs.blocks):
            continue
        try:
            athlete_logs = logs.for_athlete(athlete)
            plan = logs.block_for(athlete, block)
            evidence.append(
                gather_evidence(derive_sets(athlete_logs.hangs, athlete_logs.body, plan), plan)
            )
        except Exception:
            continue
    return share_noise(evidence)
