"""Everything a page shows, as data: plan against done, dose, change, pain, gaps, sentences."""

from __future__ import annotations

from gripbook.reviews.block_review import BlockReview, review
from gripbook.reviews.change import RESULT_COLUMNS, empty_results
from gripbook.reviews.squad import SquadReview, SquadRow, review_squad

__all__ = [
    "RESULT_COLUMNS",
    "BlockReview",
    "SquadReview",
    "SquadRow",
    "empty_results",
    "review",
    "review_squad",
]
