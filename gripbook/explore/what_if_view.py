"""The what-if as a chart with controls; every answer is worked out beforehand, none waits."""

from __future__ import annotations

import math
import textwrap
from itertools import product
from typing import Any

import numpy as np

from gripbook import html, layout
from gripbook.explore import look, picker
from gripbook.explore.chances import (
    STOP,
    WANTED,
    NotOfferedError,
    WhatIf,
    chance_words,
    finished_words,
    further_words,
    hardest,
    in_hundred,
    length_words,
    limits_words,
    no_chance_words,
    reason_not_offered,
    refuse_misnamed,
    refuse_wrong,
    set_words,
    time_words,
    wanted_edge,
    wanted_weight,
    work_out,
)
from gripbook.explore.opening import Explorer, choose
from gripbook.reviews.change_facts import PathKind
from gripbook.words import fmt
from gripbook.words.fmt import in_own_units

#: Letters of a line of words that fit a phone.
_LETTERS = 40


@in_own_units
def what_if(
    x: Explorer,
    *,
    capacity: str = "",
    grip: str = "",
    hand: str = "",
    edge_mm: float | None = None,
    hang_s: float | None = None,
    reps: float | None = None,
    added_kg: float | None = None,
    load_kg: float | None = None,
    **misnamed: object,
) -> Any:
    """
    Choose edge, time and weight, and read the chance of finishing such a set at once.

    A chart with controls, and from where to where it answers.

    The chance is that of a first set of the day on the block's last day. The band holds it in nine
    of ten cases. Where no what-if is offered (under 18, pain, body mass hidden, nothing known) a
    sentence says why; where no set met a limit, one says so and a table what was finished. Body
    mass is the logged one.

    Parameters
    ----------
    x : from `open_log`.
    capacity, grip, hand : which series; empty: the headline.
    edge_mm, hang_s, reps, added_kg, load_kg : what the controls stand on at first, as `answer`
        takes it; left out: as in the last set. An edge between those of the list is added to it,
        times and weights are those of the nearest step.

    Raises
    ------
    GripbookError : no such series, or a value that is no number or means nothing for it.
    """
    given = {"edge_mm": edge_mm, "hang_s": hang_s, "reps": reps, "added_kg": added_kg}
    given["load_kg"] = load_kg
    refuse_misnamed("what_if", misnamed, given)
    if reason := reason_not_offered(x):
        return html.paragraph(reason)
    pick = picker.series("what_if", x.series(), choose(x, capacity, grip, hand))
    try:
        w = work_out(x, capacity, grip, hand)
        refuse_wrong(w.key.capacity, w.of_load, given)
        if edge_mm is not None and edge_mm not in w.edges_mm:
            w = work_out(x, capacity, grip, hand, edge_mm=edge_mm)
    except NotOfferedError as why:
        return pick, html.paragraph(str(why))
    if w.bound:
        return pick, _bound(w)
    chosen = "datum.edge === edge && datum.length === length"
    near = f"abs(datum.weight - weight) < {fmt.own_mass(w.step_kg) / 4}"
    here = f"{chosen} && {near}"
    answers = _rows(w)
    rows = look.packed(answers)
    said = _line(rows, here, max(len(row["words"]) for row in answers))
    parts = [said, _curve(w, rows, chosen, here)]
    wished = "datum.wanted === wanted && datum.length === length"
    parts.append(_line(look.packed(_wished_weights(w)), f"{wished} && datum.edge === edge"))
    if not math.isnan(w.edges_mm[0]):
        parts.append(_line(look.packed(_wished_edges(w)), f"{wished} && {near}"))
    length = {"hang": hang_s, "repeater": reps}.get(w.key.capacity)
    e, n, k = start = _start(w, edge_mm, length, load_kg if w.of_load else added_kg)
    asked = set_words(w, w.edges_mm[e], w.lengths[n], w.weights_kg[k])
    told = f"{asked}: {_said(w, e, n, k)}."
    if further := further_words(w, w.edges_mm[e], w.lengths[n], w.weights_kg[k]):
        told = f"{told} {further}"
    series = f"{fmt.EXERCISE_WORDS[w.key.capacity]}, {fmt.series(w.key.grip, w.key.hand)}"
    title = f"{x.review.athlete.name}, what if: {series}"
    shown = look.finished(parts, title, told, controls=_controls(w, *start), spacing=8)
    words = html.paragraph(f"{limits_words(w)} {time_words(x)} {STOP}")
    return pick, shown, _table(w, e, n), words


def _bound(w: WhatIf) -> html.Fragment:
    """What stands in the place of chances where no set tells the limit."""
    what = f"{fmt.EXERCISE_WORDS[w.key.capacity]}, {fmt.series(w.key.grip, w.key.hand)}"
    if w.series.path_kind is PathKind.AT_MOST:
        return html.paragraph(f"No what-if for {what}: every set failed. {STOP}")
    rows = [{"set": finished_words(w, one), "day": one.day} for one in hardest(w)]
    told = (
        f"You never reached your limit in {what}, so no chance can be given for anything harder "
        "than what you finished. Write down what was left after each set: then we can."
    )
    columns = {"set": "hardest finished", "day": "day"}
    return html.paragraph(told) + layout.table(rows, what, columns=columns)


def _table(w: WhatIf, e: int, n: int) -> html.Fragment:
    """The answers of the last set's edge and time, for each weight."""

    def ranged(k: int) -> str:
        ends = in_hundred(w.low[e, n, k]), in_hundred(w.high[e, n, k])
        return " to ".join(dict.fromkeys(ends))

    rows = [
        {
            "weight": fmt.mass_number(w.weights_kg[k], 2, sign=not w.of_load),
            "chance": in_hundred(w.chance[e, n, k]),
            "range": " to ".join(
                dict.fromkeys((in_hundred(w.low[e, n, k]), in_hundred(w.high[e, n, k])))
            ),
        }
        for k in np.flatnonzero(np.isfinite(w.chance[e, n])).tolist()
    ]
    caption = set_words(w, w.edges_mm[e], w.lengths[n], math.nan)
    columns = {"weight": _weight_title(w), "chance": "of 100 cases", "range": "nine times in ten"}
    return layout.fold("Table of these values", "", layout.table(rows, caption, columns=columns))


def _start(
    w: WhatIf, edge_mm: float | None, length: float | None, weight_kg: float | None
) -> tuple[int, int, int]:
    """Where in the answers the controls stand at first: at what was asked, else at the last set."""

    def nearest(steps: tuple[float, ...], asked: float | None, usual: float) -> int:
        value = usual if asked is None else asked
        return int(np.argmin(np.abs(np.array(steps) - value)))  # of no edge, or none at all: 0

    return (
        nearest(w.edges_mm, edge_mm, w.usual_edge_mm),
        nearest(w.lengths, length, w.usual_length),
        nearest(w.weights_kg, weight_kg, w.usual_weight_kg),
    )


def _plain(value: float) -> float:
    """A value that the browser can compare; 0 stands for an edge or length there is none of."""
    return 0.0 if math.isnan(value) else value


def _weight_title(w: WhatIf) -> str:
    what = "load" if w.of_load else "added weight"
    return f"{what} ({fmt.mass_unit()})"


def _controls(w: WhatIf, e: int, n: int, k: int) -> list[Any]:
    found = []
    if not math.isnan(w.edges_mm[0]):
        words = {v: f"{fmt.number(v)} mm" for v in w.edges_mm}
        found.append(look.select("edge", "Edge", list(w.edges_mm), w.edges_mm[e], words))
    else:
        found.append({"name": "edge", "value": 0.0})
    if w.key.capacity == "pull":
        found.append({"name": "length", "value": 0.0})
    else:
        label = "Hold time (s)" if w.key.capacity == "hang" else "Holds in the set"
        ends = w.lengths[0], w.lengths[-1]
        found.append(look.slider("length", label, *ends, 1, w.lengths[n]))
    ends = look.own_mass(w.weights_kg[0]), look.own_mass(w.weights_kg[-1])
    label, step = fmt.sentence(_weight_title(w)), look.own_mass(w.step_kg)
    found.append(look.slider("weight", label, *ends, step, look.own_mass(w.weights_kg[k])))
    wishes = {c: f"{c} in 100" for c in WANTED}
    found.append(look.select("wanted", "Wanted chance", list(WANTED), 80, wishes))
    return found


def _line(rows: Any, here: str, lines: int = 1) -> Any:
    """Lines of words (`words`), of the row that is chosen."""
    style = {"fontSize": 14, "lineHeight": 20, "color": look.INK}
    size = {"width": look.WIDTH, "height": 20 * lines}
    return look.said(rows, look.keep(here), field="words", y=2, style=style, **size)


def _lines(*sentences: str) -> list[str]:
    plain = (one.replace(fmt.NBSP, " ") for one in sentences if one)
    return [line for one in plain for line in textwrap.wrap(one, _LETTERS)]


def _said(w: WhatIf, e: int, n: int, k: int) -> str:
    chance = w.chance[e, n, k]
    if np.isnan(chance):
        return no_chance_words(w, w.edges_mm[e], w.lengths[n], w.weights_kg[k])
    said = chance_words(w.key.capacity, chance, w.low[e, n, k], w.high[e, n, k])
    return said[0].upper() + said[1:]


def _reached_words(w: WhatIf, e: int, k: int) -> str:
    words = length_words(w, e, k)
    what = "Held for" if w.key.capacity == "hang" else "Holds done:"
    return f"{what} {words}" if words else ""


def _rows(w: WhatIf) -> list[dict[str, Any]]:
    """Each choice with its chance (null: not tried) and its words."""
    rows = []
    for e, n, k in np.ndindex(w.chance.shape):
        known = not np.isnan(w.chance[e, n, k])
        row: dict[str, Any] = {
            "edge": _plain(w.edges_mm[e]),
            "length": _plain(w.lengths[n]),
            "weight": look.own_mass(w.weights_kg[k]),
            "words": _lines(_said(w, e, n, k)),
        }
        if known:
            for name, values in (("chance", w.chance), ("low", w.low), ("high", w.high)):
                row[name] = round(100 * float(values[e, n, k]), 1)
            further = further_words(w, w.edges_mm[e], w.lengths[n], w.weights_kg[k])
            row["words"] += _lines(_reached_words(w, e, k), further)
        rows.append(row)
    return rows


def _wished_weights(w: WhatIf) -> list[dict[str, Any]]:
    """What each wanted chance asks for on each edge."""
    on = "" if math.isnan(w.edges_mm[0]) else " on this edge"
    return [
        {
            "edge": _plain(w.edges_mm[e]),
            "length": _plain(w.lengths[n]),
            "wanted": c,
            "words": f"For {c} in 100: "
            + _or_none(
                "up to",
                fmt.own_mass(wanted_weight(w, e, n, c)),
                fmt.mass_unit(),
                "load" if w.of_load else "weight",
            )
            + on,
        }
        for e, n, c in product(range(len(w.edges_mm)), range(len(w.lengths)), WANTED)
    ]


def _wished_edges(w: WhatIf) -> list[dict[str, Any]]:
    """What each wanted chance asks for with each weight."""
    return [
        {
            "length": _plain(w.lengths[n]),
            "weight": look.own_mass(w.weights_kg[k]),
            "wanted": c,
            "words": f"For {c} in 100: "
            + _or_none("from", wanted_edge(w, n, k, c), "mm", "edge")
            + (" with this load" if w.of_load else " with this weight"),
        }
        for n, k, c in product(range(len(w.lengths)), range(len(w.weights_kg)), WANTED)
    ]


def _or_none(ends: str, value: float, unit: str, what: str) -> str:
    if math.isnan(value):
        return f"no {what} that was tried"
    return f"{ends} {fmt.number(value, 2)}{fmt.NBSP}{unit}"


def _curve(w: WhatIf, rows: Any, chosen: str, here: str) -> Any:
    """The chance over the weight, on the chosen edge and for the chosen time."""
    colour = look.grip_colour(w.key.grip)
    scale = {
        "domain": [look.own_mass(w.weights_kg[0]), look.own_mass(w.weights_kg[-1])],
        "nice": False,
    }
    x = look.number("weight", _weight_title(w), scale=scale)
    y = look.number("chance", "chance (in 100)", scale={"domain": [0, 100]})
    known = look.keep(f"{chosen} && isValid(datum.chance)")
    picked = look.keep(here)
    band = {"x": x, "y": {**y, "field": "low"}, "y2": {"field": "high"}}
    layers = [
        look.part(rows, "area", band, known, style={"color": colour, "opacity": 0.16}),
        look.part(rows, "line", {"x": x, "y": y}, known, style={"color": colour, "strokeWidth": 2}),
        look.part(rows, "rule", {"x": x}, picked, style={"color": look.SOFT, "strokeDash": [2, 3]}),
        look.part(
            rows,
            "point",
            {"x": x, "y": y},
            picked,
            look.keep("isValid(datum.chance)"),
            style={"color": look.ACCENT, "filled": True, "size": 110, "opacity": 1},
        ),
    ]
    return {"layer": layers, "width": look.WIDTH, "height": 200}
