"""
Invented squads whose true strength is known.

`simulate_squad` for any size, `write_demo` for the squad that ships with the package.

Loads are chosen as a climber chooses them, from a plan, past bests and what was felt on earlier
days; never from the true strength of the day. Otherwise the loads alone would tell the gain and
flatter a wrong model. Randomness comes from the standard library's generator, one stream per
athlete, so the same seed gives the same bytes and one athlete more changes nobody else's log.
"""

from __future__ import annotations

from gripbook.simulate.demo import write_demo
from gripbook.simulate.squad import Scenario, Squad, simulate_squad
from gripbook.simulate.truth import Endurance, Path, Person, Series

__all__ = [
    "Endurance",
    "Path",
    "Person",
    "Scenario",
    "Series",
    "Squad",
    "simulate_squad",
    "write_demo",
]
