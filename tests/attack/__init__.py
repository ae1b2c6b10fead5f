"""
An attack on hidden body mass: read what a run wrote, fit the mass, say how sure one can be.

`collect` takes everything numeric about sets and changes from an athlete's page, the squad page,
run.json and, where there is one, the PDF's text; `pictures` reads marks against their axes.
`mass_posterior` turns it into a distribution of body mass over a prior of adults.
`python -m tests.attack` attacks simulated squads and the demo and counts (`make attack`).
"""

from __future__ import annotations

from tests.attack.collect import Seen, collect
from tests.attack.posterior import GRID_KG, Posterior, mass_posterior

#: What an attack must leave; the prior's own SD within its bounds is 11.6 kg.
LEAST_SD_KG = 8.0

__all__ = ["GRID_KG", "LEAST_SD_KG", "Posterior", "Seen", "collect", "mass_posterior"]
