"""The paper sheet: a week's sessions on one page, large enough to write on."""

from __future__ import annotations

from typing import Final

import jinja2

from gripbook.sheets.phone import in_unit, template_text
from gripbook.sheets.plan import PlannedSet, SheetPlan
from gripbook.words import fmt
from gripbook.words.sheet import (
    as_of_text,
    day_text,
    leave_text,
    paper_words,
    pulley_text,
    week_text,
)

#: Sets of two sessions that one A4 page has room for.
ROWS_A_PAGE: Final = 16


def _dose(one: PlannedSet) -> str:
    if one.exercise == "repeater" and one.reps and one.hang_s and one.rest_s:
        return f"{one.reps} × {one.hang_s:g}/{one.rest_s:g} s"
    return f"{one.hang_s:g} s" if one.hang_s else ""


def _load(one: PlannedSet, units: str) -> str:
    if one.force_kg is not None:
        return f"{in_unit(one.force_kg, units):g} {units}"
    if one.added_kg is None:
        return ""
    return f"{in_unit(one.added_kg, units):+g} {units}".replace("-", "\u2212")


def _plates(one: PlannedSet, units: str) -> str:
    """The plates where the block names them; weight taken off hangs on a pulley."""
    made = " + ".join(f"{in_unit(p, units):g}" for p in one.pieces)
    return pulley_text(made) if made and (one.added_kg or 0) < 0 else made


def paper_page(plan: SheetPlan, language: str = "en") -> str:
    """The sheet as HTML, for A4; a row a set, with room to write what differed."""
    sessions = [
        {
            "title": f"{session.label}, {day_text(session.day, easy=session.easy)}",
            "notes": session.notes,
            "sets": [
                {
                    "number": i,
                    "test": one.test,
                    "what": fmt.series(one.grip, one.hand, one.edge_mm or float("nan")),
                    "dose": _dose(one),
                    "left": leave_text(one.left) if one.left else "",
                    "load": one.says or _load(one, plan.units),
                    "plates": "" if one.says else _plates(one, plan.units),
                }
                for i, one in enumerate(session.sets, 1)
            ],
        }
        for session in plan.sessions
    ]
    # more rows than fit one page: a page a session, rather than rows too low to write in
    notes = sum(len(s.notes) for s in plan.sessions)
    many = sum(len(s.sets) for s in plan.sessions) + notes > ROWS_A_PAGE
    environment = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined)
    return environment.from_string(template_text("paper.html.j2")).render(
        lang=language,
        name=plan.name,
        week=week_text(plan.week) if plan.week else "",
        as_of=as_of_text(plan.as_of) if plan.as_of else "",
        rules=plan.rules,
        sessions=sessions,
        words=paper_words(),
        many=many,
    )
