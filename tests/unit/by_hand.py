"""Logs written by hand, each reviewed and its next block proposed once; not to be changed."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from gripbook.reviews import BlockReview, NextBlock, propose_next
from tests.reviewed import reviewed as reviewed_folder

BY_HAND = Path(__file__).parents[1] / "data" / "by_hand"


def reviewed(name: str) -> BlockReview:
    """The review of one of the logs."""
    return reviewed_folder(BY_HAND / name)


@cache
def plan_of(name: str) -> NextBlock:
    """The block proposed after one of the logs."""
    return propose_next(reviewed(name))
