"""What a review knows of one athlete's block: the ground that tables and proposals stand on."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from gripbook.logs import Block, Problem
from gripbook.reviews.body_mass import BodyMass
from gripbook.reviews.change_facts import Change
from gripbook.reviews.climbed import Climbed
from gripbook.reviews.done import Done
from gripbook.reviews.dose import Dose
from gripbook.reviews.earlier import Earlier
from gripbook.reviews.gaps import Gap
from gripbook.reviews.measured import Measured
from gripbook.reviews.notes import Notes
from gripbook.reviews.pain import Pain
from gripbook.reviews.people import Athlete
from gripbook.reviews.state import State
from gripbook.strength import StrengthFit


@dataclass(frozen=True, slots=True, eq=False)
class BlockFacts:
    """
    One athlete's block as facts, in no language: frames, figures, dates and enums.

    `sets`: derived sets with `shown_kg` and `shown_as`; where body mass is hidden they hold
    nothing it could be worked out from. `tests`: those mastered on test days. `best`: best
    mastered load per series in the block; `weekly_best`: the same per block week. `work`: finger
    work by week (`impulse_kg_s` and `load_per_hand_kg` NaN where body mass is hidden). `ratio`:
    `week`, `exercise`, `grip`, `hand`, `edge_mm`, `ratio`, `body_mass_kg`; empty where body mass
    is hidden. `results`: rows of results.csv, which are the coach's and not for the page. `fit`,
    and all that rests on it, stands on a stand-in for body mass where that is hidden (see
    `reviews.shown`); `results` on the true one.
    `problems`: refused and suspicious rows of this athlete. `last`: the last logged day.
    `wrong`: sets whose load looks wrong and was left out, as `file:line` and kilograms (NaN where
    body mass is hidden). `pain_to_date`: `pain` and what was logged after the block. `away`: each
    day logged as rest, ill, away or injured (`date`, `kind`), those after the block too. `notes`:
    what was written beside the rows, from the block's first day to the log's last.
    """

    athlete: Athlete
    block: Block
    last: pd.Timestamp
    sets: pd.DataFrame
    tests: pd.DataFrame
    best: pd.DataFrame
    weekly_best: pd.DataFrame
    work: pd.DataFrame
    ratio: pd.DataFrame
    results: pd.DataFrame
    fit: StrengthFit
    change: Change
    done: Done
    dose: Dose
    pain: Pain
    measured: Measured
    climbed: Climbed
    earlier: Earlier
    pain_to_date: Pain
    away: pd.DataFrame
    body_mass: BodyMass
    wrong: tuple[tuple[str, float], ...]
    notes: Notes
    gaps: tuple[Gap, ...]
    problems: tuple[Problem, ...]

    @property
    def state(self) -> State:
        """Where the block stands at the log's last day: ended, running, not begun, no plan."""
        return self.done.state
