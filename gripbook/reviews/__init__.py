"""Everything a page shows, as data: plan against done, dose, change, pain, gaps, sentences."""

from __future__ import annotations

from gripbook.reviews.block_review import (
    BlockReview,
    block_diagnostics,
    block_results,
    review,
)
from gripbook.reviews.change_facts import Change, ChangeVerdict, SeriesChange
from gripbook.reviews.proposal import NextBlock, NextLoad, check_begun, propose_next
from gripbook.reviews.shared_noise import squad_noise
from gripbook.reviews.squad import SquadReview, SquadRow, review_squad

__all__ = [
    "BlockReview",
    "Change",
    "ChangeVerdict",
    "NextBlock",
    "NextLoad",
    "SeriesChange",
    "SquadReview",
    "SquadRow",
    "block_diagnostics",
    "block_results",
    "check_begun",
    "propose_next",
    "review",
    "review_squad",
    "squad_noise",
]
