"""
An attack on hidden body mass: read what a run wrote, fit the mass, say how sure one can be.

`collect` takes everything numeric about sets and changes from an athlete's page, the squad page,
run.json and, where there is one, the PDF's text. `mass_posterior` turns it into a distribution of
body mass over a prior of adults. `python -m tests.attack FOLDER ATHLETE...` prints it.
"""

from __future__ import annotations

from tests.attack.collect import Seen, collect
from tests.attack.posterior import GRID_KG, Posterior, mass_posterior

__all__ = ["GRID_KG", "Posterior", "Seen", "collect", "mass_posterior"]
