"""What changed: each series in words, its path, the figures."""

from __future__ import annotations

from typing import Any

import numpy as np

from gripbook import charts, html
from gripbook.html import Fragment
from gripbook.report.sections.common import FIGURES, Parts
from gripbook.report.sections.trace import row_ranges, rows_table
from gripbook.reviews import BlockReview, SeriesChange
from gripbook.reviews.change import VERDICT_WORDS
from gripbook.reviews.people import in_own_units
from gripbook.strength.fit import LEFT_OUT
from gripbook.words import fmt, mark, say


@in_own_units
def change(r: BlockReview) -> Parts:
    """Each series' change in words, its path, the figures, and what would make it sharper."""
    c = r.change
    if not c.series:
        return (html.paragraph(say("No set with a known load tells of strength.")),)
    parts: list[Any] = [html.bullets(s.sentence for s in c.series)]
    if c.note:
        parts.append(html.paragraph(c.note))
    drawn = charts.strength_path(r)
    if drawn:
        parts.append(html.paragraph(say(_PATH_KEY)))
        parts += drawn
    parts += [_change_table(r), _change_rows(r)]
    # an exponent beside the weights added on two edges is body mass
    shows = r.athlete.show_body_mass
    if shows and r.fit.edge_exponent is not None and any(s.fit.converted for s in c.series):
        parts.append(html.paragraph(_edge_words(r)))
    if c.sharper:
        parts += [html.heading(3, say("What would make this sharper")), html.bullets(c.sharper)]
    if c.pairs:
        parts.append(html.heading(2, say("Hands and grips compared")))
        if c.weaker:
            parts.append(html.paragraph(c.weaker))
        parts += [*charts.grips_at_the_end(r), html.bullets(c.pairs)]
    return tuple(parts)


_PATH_KEY = mark(
    "In the charts the band holds the true strength in about nine of ten "
    "cases. Filled circles are sets that tell the load (failed sets and "
    "pulls); hollow triangles pointing up are finished sets, which tell that "
    "at least this was possible (pointing down: at most). Dotted upright "
    "lines are test days."
)


def _change_table(r: BlockReview) -> Fragment:
    show = r.athlete.show_body_mass
    rows = [
        {
            "series": html.of_series(s.name, s.fit.grip, s.fit.hand),
            "start": _path_kg(s, s.start_kg),
            "end": _path_kg(s, s.end_kg),
            "kg": _range_kg(s),
            "pct": _range_pct(s),
            "verdict": VERDICT_WORDS[s.fit.verdict] if s.fit.ok else say("not measured"),
            "sets": say(
                "{sets} on {days} days, {exact_sets} exact",
                sets=s.fit.sets,
                days=s.fit.days,
                exact_sets=s.fit.exact_sets,
            ),
            "from": fmt.listing(fmt.with_unit(e, "mm") for e in s.fit.converted_mm),
        }
        for s in r.change.series
    ]
    unit = fmt.mass_unit()
    columns = {"series": say("series")}
    if show:
        columns |= {
            "start": say("start ({unit})", unit=unit),
            "end": say("end ({unit})", unit=unit),
        }
    columns["kg"] = say("change ({unit})", unit=unit)
    if show:
        columns["pct"] = say("change (%)")
    columns |= {"verdict": say("verdict"), "sets": say("sets used")}
    if any(row["from"] for row in rows):
        columns["from"] = say("converted from")
    return html.details(
        say(FIGURES),
        html.table(
            rows,
            say(
                "Load at the reference edge, first and last day, with the range "
                "that holds the change in nine of ten cases"
            )
            if show
            else say(
                "Change of the weight that can be added, at an unchanged body mass, with the "
                "range that holds it in nine of ten cases"
            ),
            stack=True,
            columns=columns,
            numbers=[c for c in ("start", "end", "kg", "pct") if c in columns],
        ),
    )


def _change_rows(r: BlockReview) -> Fragment:
    """Every set that a series' estimate rests on, and what was left out with its reason."""
    of = {
        html.of_series(s.name, s.fit.grip, s.fit.hand): row_ranges(
            (p.file, p.line) for p in s.fit.points
        )
        for s in r.change.series
    }
    left = [reason for reason in r.change.reasons if reason.startswith(say(LEFT_OUT))]
    table = rows_table(of, say("Sets that each series' estimate rests on"), say("series"))
    if not left:
        return table
    return table + html.details(
        say("Sets that were left out"), html.bullets(map(fmt.sentence, left))
    )


def _path_kg(s: SeriesChange, value: float) -> str:
    words = fmt.mass_number(value, _digits(s))
    return say("at least {words}", words=words) if s.fit.at_least and words != "\u2013" else words


def _digits(s: SeriesChange) -> int:
    return 0 if fmt.own_mass(s.high_kg - s.low_kg) >= 3 else 1


def _range_kg(s: SeriesChange) -> str:
    return _range(fmt.own_mass(s.low_kg), fmt.own_mass(s.high_kg), _digits(s))


def _range_pct(s: SeriesChange) -> str:
    return _range(s.fit.low_pct, s.fit.high_pct, 0 if s.fit.high_pct - s.fit.low_pct >= 3 else 1)


def _range(low: float, high: float, digits: int) -> str:
    if not np.isfinite(low):
        return ""
    return say(
        "{low} to {high}",
        low=fmt.number(low, digits, sign=True),
        high=fmt.number(high, digits, sign=True),
    )


def _edge_words(r: BlockReview) -> str:
    found = r.fit.edge_exponent
    assert found is not None
    return say(
        "Loads on other edges were converted: a load that goes with the edge's "
        "depth to the power of {value} (between {low} and {high}). Below 6 mm "
        "nothing is converted.",
        value=fmt.number(found.value, 2),
        low=fmt.number(found.low, 2),
        high=fmt.number(found.high, 2),
    )
