"""The phone's page: one offline file that collects the rows of a week's sessions."""

from __future__ import annotations

import base64
import hashlib
import json
import math
from functools import cache
from importlib.resources import files
from typing import Any

import jinja2

from gripbook.logs.block import GRIPS
from gripbook.sheets.plan import PlannedSet, SheetPlan
from gripbook.units import kg_to_lb
from gripbook.words import fmt
from gripbook.words.messages import DECIMAL_SIGNS
from gripbook.words.messages import language as language_in_use
from gripbook.words.sheet import day_text, leave_text, phone_words


@cache
def template_text(name: str) -> str:
    """One file of the sheets' templates."""
    return (files("gripbook.sheets") / "template" / name).read_text(encoding="utf-8")


def in_unit(kilograms: float | None, units: str) -> float | None:
    """A mass in the athlete's units, to what a plate can make."""
    if kilograms is None:
        return None
    if units == "kg":
        return round(kilograms, 2)
    if math.isclose(4 * kilograms, round(4 * kilograms), abs_tol=1e-6):  # plates in kilograms
        return round(kg_to_lb(kilograms), 2)
    pounds = kg_to_lb(kilograms)
    quarter = round(4 * pounds) / 4  # a block file keeps 0.01 kg, which is 0.02 lb a plate
    return quarter if abs(pounds - quarter) < 0.02 else round(pounds, 2)


def _set(one: PlannedSet, units: str) -> dict[str, Any]:
    return {
        "order": one.order,
        "exercise": one.exercise,
        "grip": one.grip,
        "hand": one.hand,
        "edge": one.edge_mm,
        "kg": in_unit(one.added_kg, units),
        "force": in_unit(one.force_kg, units),
        "hang": one.hang_s,
        "rest": one.rest_s,
        "reps": one.reps,
        "test": one.test,
        "says": one.says,
        "leave": leave_text(one.left) if one.left else "",
    }


def phone_page(plan: SheetPlan, language: str = "en") -> str:
    """
    The page as HTML: no request to any network, text of the log only ever set as text.

    Parameters
    ----------
    language : of the page's `lang`; its words are those of the language in use.
    """
    grips = dict.fromkeys((*GRIPS, *(s.grip for x in plan.sessions for s in x.sets)))
    words = phone_words()
    data = {
        "athlete": plan.athlete,
        "name": plan.name,
        "units": plan.units,
        "plates": [in_unit(p, plan.units) for p in plan.plates_kg],
        "painLevel": plan.pain_level,
        "gripNames": {grip: fmt.grip(grip) for grip in grips},
        "boards": list(plan.boards),
        "decimal": DECIMAL_SIGNS[language_in_use()],
        "sessions": [
            {
                "label": session.label,
                "date": session.day.isoformat(),
                "day": day_text(session.day, easy=session.easy),
                "notes": [*plan.rules, *session.notes],
                "sets": [_set(one, plan.units) for one in session.sets],
            }
            for session in plan.sessions
        ],
        "words": words,
    }
    # JSON in a script element may close it only by a "<"
    payload = json.dumps(data, ensure_ascii=False).replace("<", "\\u003c")
    script = template_text("phone.js")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    environment = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined)
    return environment.from_string(template_text("phone.html.j2")).render(
        lang=language,
        title=plan.name,
        noscript=words["noscript"],
        policy=f"default-src 'none'; script-src 'sha256-{digest}'; style-src 'unsafe-inline'; "
        "font-src data:; base-uri 'none'; form-action 'none'",
        style=template_text("phone.css"),
        payload=payload,
        script=script,
    )
