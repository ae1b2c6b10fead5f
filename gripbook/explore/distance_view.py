"""How far a target is from today's strength: in kg and per cent, with its range, and no date."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri

from gripbook import html
from gripbook.errors import GripbookError
from gripbook.explore import look, picker
from gripbook.explore.chances import (
    STOP,
    NotOfferedError,
    WhatIf,
    hardest_words,
    limits_words,
    reason_not_offered,
    refuse_misnamed,
    refuse_wrong,
    set_words,
    work_out,
)
from gripbook.explore.opening import Explorer, choose
from gripbook.reviews.change_facts import PathKind
from gripbook.strength.outlook import outlook
from gripbook.units import lb_to_kg
from gripbook.words import fmt
from gripbook.words.fmt import in_own_units

Floats = npt.NDArray[np.float64]

_ASKS = "distance to a target"
#: Loads at which chances are worked out, as shares of the strength at the reference.
_SHARES = np.geomspace(0.35, 2.8, 36)
#: How far past the log's heaviest set the target's slider goes, in kg (own choice).
_FURTHER_KG = 30.0


#: The target where none is given: this share of what is held now, up to a whole step (own choice).
_NEXT_SHARE, _NEXT_STEP_KG, _NEXT_STEP_LB = 1.05, 2.5, 5.0


@dataclass(frozen=True, slots=True, eq=False)
class StrengthNow:
    """
    Load in kg held one time in two as a first set, on the block's last day.

    Arrays (edges, lengths): the middle and its 90 % range; NaN where the model gives none.
    """

    edges_mm: tuple[float, ...]
    lengths: tuple[float, ...]
    middle: Floats
    low: Floats
    high: Floats


def strength_now(
    x: Explorer, w: WhatIf, edges_mm: tuple[float, ...], lengths: tuple[float, ...]
) -> StrengthNow:
    """Strength of a series on edges and for lengths (seconds or holds), with its 90 % range."""
    loads = w.series.fit.end_kg * _SHARES
    found = outlook(
        x.review.fit,
        w.key,
        edges_mm=edges_mm,
        lengths=lengths,
        loads_kg=loads.tolist(),
        hold_s=None if math.isnan(w.hold_s) else w.hold_s,
    )
    # where the chance's own 5 % quantile is a half, strength is at least that in 95 of 100 cases
    middle, low, high = (_half(c, loads) for c in (found.chance, found.low, found.high))
    return StrengthNow(edges_mm, lengths, middle, low, high)


def _half(chance: Floats, loads: Floats) -> Floats:
    """The load at which a falling chance is a half; its normal score is straight in log load."""
    score = ndtri(np.clip(chance, 1e-12, 1 - 1e-12))
    out = np.full(chance.shape[:2], np.nan)
    for place in np.ndindex(out.shape):
        own = score[place]
        if own[0] > 0 > own[-1]:
            out[place] = math.exp(float(np.interp(0.0, -own, np.log(loads))))
    return out


@in_own_units
def distance(
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
    times_body_mass: float | None = None,
    **misnamed: object,
) -> Any:
    """
    How far a target is from what is held one time in two as a first set, on the block's last day.

    A chart whose controls choose edge, time and target. It gives no date: how fast a distance
    closes differs too much to be told from one log. Not offered under 18, while pain holds loading
    and where body mass is hidden.

    Parameters
    ----------
    x : from `open_log`.
    capacity, grip, hand : which series; empty: the headline.
    edge_mm, hang_s, reps : the target's edge and length; left out: as in the last set.
    added_kg, load_kg : the target: added weight (hangs, repeaters) or load (pulls, gauges); left
        out: about 5 % above what is held now.
    times_body_mass : the target as a multiple of the logged body mass instead.

    Raises
    ------
    GripbookError : no such series, or a value that is no number or means nothing for it.
    """
    given = {"edge_mm": edge_mm, "hang_s": hang_s, "reps": reps, "added_kg": added_kg}
    given |= {"load_kg": load_kg, "times_body_mass": times_body_mass}
    refuse_misnamed("distance", misnamed, given)
    if reason := reason_not_offered(x, _ASKS):
        return html.paragraph(reason)
    pick = picker.series("distance", x.series(), choose(x, capacity, grip, hand))
    try:
        w = work_out(x, capacity, grip, hand, asks=_ASKS)
    except NotOfferedError as why:
        return pick, html.paragraph(str(why))
    refuse_wrong(w.key.capacity, w.of_load, given, also=["times_body_mass"])
    what = f"{fmt.EXERCISE_WORDS[w.key.capacity]}, {fmt.series(w.key.grip, w.key.hand)}"
    if w.bound:
        return pick, html.paragraph(_unknown(w, what))
    length = {"hang": hang_s, "repeater": reps}.get(w.key.capacity)
    length = w.usual_length if length is None else float(length)
    edge = w.usual_edge_mm if edge_mm is None else float(edge_mm)
    goal = _goal(x, w, load_kg if w.of_load else added_kg, times_body_mass)
    if not (_inside(edge, w.tried_edges_mm) and _inside(length, w.tried_lengths)):
        asked = set_words(w, edge, length, goal)
        return pick, html.paragraph(f"{asked}: not tried, no figure. {limits_words(w)}")
    edges = _choices(w.edges_mm, w.tried_edges_mm, edge)
    lengths = _choices(w.lengths, w.tried_lengths, length)
    now = strength_now(x, w, edges, lengths)
    told = distance_words(w, now, edge, length, goal)
    chart = look.finished(
        _parts(w, now, goal),
        f"{x.review.athlete.name}, distance to a target: {what}",
        told,
        controls=_controls(w, now, edge, length, goal),
        spacing=8,
    )
    day = fmt.day(x.review.block.end)
    note = (
        f"Measured against what you hold one time in two as a first set, as strong as on {day}. "
        "No date: how fast a distance closes can't be told from a log. "
        f"{limits_words(w)} {STOP}"
    )
    return pick, chart, html.paragraph(note)


def _unknown(w: WhatIf, what: str) -> str:
    if w.series.path_kind is PathKind.AT_MOST:
        return f"Every set of {what} failed, so the distance to a target can't be told. {STOP}"
    told = (
        f"You never reached your limit in {what}, so the distance to a target can't be told. "
        "Write down what was left after each set: then we can."
    )
    return " ".join(filter(None, (told, hardest_words(w), STOP)))


def _goal(x: Explorer, w: WhatIf, weight: float | None, times: float | None) -> float:
    """The target in kg, as the series' weights are."""
    if times is None:
        return _next_goal(x, w) if weight is None else float(weight)
    if weight is not None:
        raise GripbookError("Give the target once: as a weight, or as times_body_mass.")
    known = x.review.sets["body_mass_kg"].dropna()
    if known.empty:
        raise GripbookError(
            "times_body_mass needs a logged body mass, and there is none. Give the weight instead."
        )
    mass = float(known.iloc[-1]) if w.of_load else w.body_mass_kg
    return times * mass - (0.0 if w.of_load else mass)


def _next_goal(x: Explorer, w: WhatIf) -> float:
    """A little above what is held now, as in the last set: a first target to look at."""
    edge, length = (w.usual_edge_mm,), (w.usual_length,)
    load = float(strength_now(x, w, edge, length).middle[0, 0])
    if math.isnan(load):
        return float(w.tried_weights_kg[1])
    weight = load * _NEXT_SHARE - (0.0 if w.of_load else w.body_mass_kg)
    step = _NEXT_STEP_KG if fmt.mass_unit() == "kg" else lb_to_kg(_NEXT_STEP_LB)
    return math.ceil(weight / step) * step


def _inside(value: float, ends: tuple[float, float]) -> bool:
    return math.isnan(value) or ends[0] - 1e-9 <= value <= ends[1] + 1e-9


def _choices(steps: tuple[float, ...], ends: tuple[float, float], own: float) -> tuple[float, ...]:
    """The steps within what is answered, and the one asked for."""
    if math.isnan(steps[0]):
        return (math.nan,)
    return tuple(sorted({*(s for s in steps if _inside(s, ends)), own}))


def distance_words(w: WhatIf, now: StrengthNow, edge: float, length: float, goal: float) -> str:
    """A target's distance in words: in kg and per cent of the load now, with the 90 % range."""
    e = 0 if math.isnan(edge) else now.edges_mm.index(edge)
    n = 0 if math.isnan(length) else now.lengths.index(length)
    mass = 0.0 if w.of_load else w.body_mass_kg
    load = goal + mass
    held = [a[e, n] for a in (now.middle, now.low, now.high)]
    asked = set_words(w, edge, length, goal)
    if not all(map(math.isfinite, held)) or load <= 0:
        return f"{asked}: no figure."
    middle, low, high = held
    gap, near, far = load - middle, load - high, load - low
    pct = [100 * kg / m for kg, m in ((gap, middle), (near, high), (far, low))]
    ends = f"{fmt.mass_number(near)} to {fmt.mass(far)}"
    share = f"{fmt.number(pct[1], 0)} to {fmt.number(pct[2], 0)}{fmt.NBSP}%"
    if gap <= 0:
        return (
            f"{asked}: {fmt.mass(-gap)} below what you hold one time in two "
            f"({fmt.mass_number(-far)} to {fmt.mass(-near)}, 90{fmt.NBSP}% range)."
        )
    return (
        f"{asked}: {fmt.mass(gap)} more than you hold one time in two ({ends}, "
        f"90{fmt.NBSP}% range), {fmt.number(pct[0], 0)}{fmt.NBSP}% of the load ({share})."
    )


def _plain(value: float) -> float:
    """A value that the browser can compare; 0 stands for an edge or length there is none of."""
    return 0.0 if math.isnan(value) else value


def _controls(
    w: WhatIf, now: StrengthNow, edge: float, length: float, goal: float
) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    for name, label, unit, steps, value in (
        ("edge", "Edge", "mm", now.edges_mm, edge),
        ("length", _length_label(w), "", now.lengths, length),
    ):
        if math.isnan(steps[0]):
            found.append({"name": name, "value": 0.0})
        else:
            words = {v: f"{fmt.number(v)} {unit}".strip() for v in steps}
            found.append(look.select(name, label, list(steps), value, words))
    label = f"Target, {'load' if w.of_load else 'added'} ({fmt.mass_unit()})"
    low, high = map(look.own_mass, _span(w, goal))
    return [
        *found,
        look.slider("goal", label, low, high, look.own_mass(w.step_kg / 2), look.own_mass(goal)),
    ]


def _length_label(w: WhatIf) -> str:
    return "Hold time (s)" if w.key.capacity == "hang" else "Holds in the set"


def _span(w: WhatIf, goal: float) -> tuple[float, float]:
    """Ends of the slider: it holds the target asked for on one of its steps."""
    step = w.step_kg / 2
    below = math.ceil(max(goal - w.tried_weights_kg[0], 0.0) / step)
    above = math.ceil(max(w.tried_weights_kg[1] + _FURTHER_KG - goal, 0.0) / step)
    return goal - below * step, goal + above * step


def _parts(w: WhatIf, now: StrengthNow, goal: float) -> list[dict[str, Any]]:
    """Two lines of words, and the line on which target and strength stand."""
    mass = 0.0 if w.of_load else w.body_mass_kg
    rows = [
        {
            "edge": _plain(edge),
            "length": _plain(length),
            "middle": look.own_mass(float(now.middle[e, n]) - mass),
            "low": look.own_mass(float(now.low[e, n]) - mass),
            "high": look.own_mass(float(now.high[e, n]) - mass),
        }
        for e, edge in enumerate(now.edges_mm)
        for n, length in enumerate(now.lengths)
        if math.isfinite(now.middle[e, n] + now.low[e, n] + now.high[e, n])
    ]
    sign, number = ("" if w.of_load else "+"), "'.1f'"
    of_mass, unit = look.own_mass(mass), fmt.mass_unit()
    gap = f"format(abs(goal - datum.middle), {number}) + ' {unit}'"
    pct = f"format(100 * abs(goal - datum.middle) / (datum.middle + {of_mass}), '.0f') + ' %'"
    near = f"format(goal > datum.middle ? goal - datum.high : datum.low - goal, {number})"
    far = f"format(goal > datum.middle ? goal - datum.low : datum.high - goal, {number})"
    aim = f"'Target ' + format(goal, '{sign}.2~f') + ' {unit}: '"
    more = "(goal > datum.middle ? ' more than' : ' less than') + ' you hold one time in two'"
    now_words = (
        f"'Now ' + format(datum.middle, '{sign}.1f') + ' {unit}, '"
        f" + format(datum.low, '{sign}.1f') + ' to ' + format(datum.high, '{sign}.1f')"
        f" + ' {unit} (90 % range)'"
    )
    away = (
        f"'Distance ' + {near} + ' to ' + {far} + ' {unit} (90 % range), ' + {pct} + ' of the load'"
    )
    chosen = look.keep("datum.edge === edge && datum.length === length")
    data = look.packed(rows)
    words = look.said(
        data,
        chosen,
        *look.work_out(text=f"[{aim} + {gap} + {more}, {away}, {now_words}]"),
        y=2,
        style={"fontSize": 14, "lineHeight": 20, "color": look.INK},
        width=look.WIDTH,
        height=60,
    )
    scale = {"zero": False, "padding": 60}
    title = f"{'load' if w.of_load else 'added weight'} ({unit})"
    x = look.number("middle", title, scale=scale)
    level: dict[str, Any] = {"y": {"value": 30}}
    colour = look.grip_colour(w.key.grip)
    aimed = look.work_out(middle="goal", words=aim)
    layers = [
        look.part(
            data,
            "bar",
            {"x": {**x, "field": "low"}, "x2": {"field": "high"}, **level},
            chosen,
            style={"color": colour, "opacity": 0.3, "height": 14},
        ),
        look.part(
            data,
            "point",
            {"x": x, **level},
            chosen,
            style={"color": colour, "filled": True, "size": 90, "opacity": 1},
        ),
        look.part(
            data, "rule", {"x": x}, chosen, *aimed, style={"color": look.ACCENT, "strokeWidth": 2}
        ),
        look.part(
            data,
            "text",
            {"x": x, "y": {"value": 8}, "text": {"value": "target"}},
            chosen,
            *aimed,
            style={"color": look.ACCENT, "align": "left", "dx": 5},
        ),
    ]
    return [words, {"layer": layers, "width": look.WIDTH, "height": 60}]
