"""The coming week to write on: a sheet of paper, and a page for the phone."""

from gripbook.sheets.paper import paper_page
from gripbook.sheets.phone import phone_page
from gripbook.sheets.plan import (
    PlannedSession,
    PlannedSet,
    SheetPlan,
    proposed_week,
    sheet_plan,
)

__all__ = [
    "PlannedSession",
    "PlannedSet",
    "SheetPlan",
    "paper_page",
    "phone_page",
    "proposed_week",
    "sheet_plan",
]
