"""
What next: the coming block, or the coming week, as facts.

`choices` holds every figure, `holds` what stops a proposal, `loads` the start loads, `tests` when
to test, `weeks` the sessions. Nothing is proposed to anyone under 18, and no load where pain asks
to hold. Words stand in `gripbook.words.next`.
"""

from __future__ import annotations

from gripbook.reviews.proposal.choices import Choices, Source
from gripbook.reviews.proposal.holds import Cleared, Hold, Holds, MassFall
from gripbook.reviews.proposal.lowered import Reduction
from gripbook.reviews.proposal.plan import DoneBefore, NextBlock, Ramp, check_begun, propose_next
from gripbook.reviews.proposal.rules import LastLoad, LoadLimit, NextLoad, Reason
from gripbook.reviews.proposal.tests import NextTests
from gripbook.reviews.proposal.trained import Experience, Trained
from gripbook.reviews.proposal.weeks import NextRow, next_frame

__all__ = [
    "Choices",
    "Cleared",
    "DoneBefore",
    "Experience",
    "Hold",
    "Holds",
    "LastLoad",
    "LoadLimit",
    "MassFall",
    "NextBlock",
    "NextLoad",
    "NextRow",
    "NextTests",
    "Ramp",
    "Reason",
    "Reduction",
    "Source",
    "Trained",
    "check_begun",
    "next_frame",
    "propose_next",
]
