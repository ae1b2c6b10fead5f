"""Everything a page shows, as data: plan against done, dose, change, pain, gaps, sentences."""

from __future__ import annotations

from gripbook.reviews.block_review import BlockReview, review
from gripbook.reviews.change import Change, SeriesChange
from gripbook.reviews.squad import SquadReview, SquadRow, review_squad

__all__ = [
    "BlockReview",
    "Change",
    "SeriesChange",
    "SquadReview",
    "SquadRow",
    "review",
    "review_squad",
]
