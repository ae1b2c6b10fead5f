"""
What if: the chance of a set on another edge, for another time, with another weight.

Answers stay within the edges, times and loads that stand in the log and one step beyond; further
out there is none. Under 18, and while pain holds loading, nothing is answered at all; nor where
body mass is hidden and the load contains it, since the answers would lead back to it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from gripbook import fmt, html
from gripbook.errors import GripbookError
from gripbook.explore.opening import Explorer, choose
from gripbook.html import Fragment
from gripbook.reviews import SeriesChange
from gripbook.strength import SeriesKey
from gripbook.strength.outlook import Outlook, outlook

Floats = npt.NDArray[np.float64]

NOT_TRIED = "Not tried, no figure"
#: Chances in 100 that may be wished for.
WANTED = (50, 60, 70, 80, 90)
#: Steps of time for a single hold, in seconds (own choice, no source).
HOLD_LADDER_S = (3.0, 5.0, 7.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 60.0, 90.0, 120.0)
#: Steps of edge depth in mm where the block file names no edges, and of weight in kg where it
#: names no pieces (own choices, no source).
EDGE_LADDER_MM = (6.0, 8.0, 10.0, 12.0, 15.0, 18.0, 20.0, 22.0, 25.0, 30.0, 35.0, 40.0, 45.0)
WEIGHT_STEP_KG = 1.25
#: Controls go this many steps past the last answer, so that its end is seen.
SEEN_BEYOND = 2

UNDER_18 = "No what-if under 18: what to load is for coach, guardian and physician to decide."
IN_PAIN = (
    "No what-if while pain holds loading. See the pain section of the page; have it looked at "
    "before loading again."
)
HIDDEN = "No what-if here: body mass is hidden, and the answers would lead back to it."


class NotOfferedError(GripbookError):
    """The what-if is not offered; the message says why."""


@dataclass(frozen=True, slots=True, eq=False)
class WhatIf:
    """
    One series' answers on a grid: `chance`, `low`, `high` (edges, lengths, weights), 0 to 1.

    `lengths`: seconds of a hang, holds of a repeater set, one empty length for pulls. `weights_kg`:
    added weight, or the load itself where `of_load`. `tried_edges_mm`, `tried_lengths`,
    `tried_weights_kg` say from where to where it answers; what lies outside is NaN. `length_s` to
    `length_high_s` is the time (or holds) reached, NaN likewise, inf where longer than is answered.
    """

    series: SeriesChange
    edges_mm: tuple[float, ...]
    lengths: tuple[float, ...]
    weights_kg: tuple[float, ...]
    tried_edges_mm: tuple[float, float]
    tried_lengths: tuple[float, float]
    tried_weights_kg: tuple[float, float]
    usual_edge_mm: float
    usual_length: float
    usual_weight_kg: float
    hold_s: float
    body_mass_kg: float
    of_load: bool
    chance: Floats
    low: Floats
    high: Floats
    reached: Floats

    @property
    def step_kg(self) -> float:
        """The smallest step of weight."""
        return self.weights_kg[1] - self.weights_kg[0]

    @property
    def key(self) -> SeriesKey:
        """The series."""
        return self.series.fit.key


def reason_not_offered(x: Explorer) -> str:
    """Why no what-if is offered for this athlete at all; "" where it is."""
    if x.review.athlete.minor:
        return UNDER_18
    if x.review.pain_to_date.flags:  # in the block or since
        return IN_PAIN
    return ""


def work_out(x: Explorer, capacity: str = "", grip: str = "", hand: str = "") -> WhatIf:
    """
    Work out one series' answers.

    Raises
    ------
    NotOfferedError : under 18, pain, body mass hidden or not known, or no set tells of strength.
    GripbookError : no such series.
    """
    if reason := reason_not_offered(x):
        raise NotOfferedError(reason)
    name = choose(x, capacity, grip, hand)
    told = [s for s in x.review.change.series if (s.fit.capacity, s.fit.grip, s.fit.hand) == name]
    told.sort(key=lambda s: s.fit.load_kind != "steady")
    what = f"{fmt.EXERCISE_WORDS[name[0]]}, {fmt.series(name[1], name[2])}"
    if not told:
        raise NotOfferedError(f"No what-if for {what}: no set of it tells of strength.")
    series = told[0]
    points = {(p.file, p.line) for p in series.fit.points}
    sets = x.review.sets
    rows = sets[[(f, n) in points for f, n in zip(sets["file"], sets["line"], strict=True)]]
    of_load = bool(name[0] == "pull" or (rows["load_source"] == "gauge").any())
    if not x.review.athlete.show_body_mass and not (rows["load_source"] == "gauge").all():
        raise NotOfferedError(HIDDEN)
    mass = math.nan
    if not of_load:
        known = sets.loc[sets["body_mass_kg"].notna()]
        if known.empty:
            raise NotOfferedError(f"No what-if for {what}: no body mass is logged.")
        mass = float(known.sort_values("date", kind="stable")["body_mass_kg"].iloc[-1])
    return _grid(x, series, rows, mass, of_load)


def _grid(
    x: Explorer, series: SeriesChange, rows: pd.DataFrame, mass: float, of_load: bool
) -> WhatIf:
    block, capacity = x.review.block, series.fit.capacity
    weight = rows["shown_kg"] if of_load else rows["added_kg"]
    weight = weight[weight.notna()]
    step = min((p for p in block.plates_kg if p >= 0.5), default=WEIGHT_STEP_KG)
    step = 2.5 if of_load else step
    weights, tried_weights = _weight_steps(weight, step, floor=-mass if not of_load else 0.0)
    edges, tried_edges = _steps(rows["edge_mm"], block.edges_mm or EDGE_LADDER_MM)
    lengths, tried_lengths = _lengths(rows, capacity)
    hold_s = float(rows["hang_s"].mode().iloc[0]) if capacity == "repeater" else math.nan
    loads = np.array(weights) + (0.0 if of_load else mass)
    key = series.fit.key
    found = outlook(
        x.review.fit,
        key,
        edges_mm=edges,
        lengths=lengths,
        loads_kg=np.maximum(loads, 0.1).tolist(),
        hold_s=hold_s if capacity == "repeater" else None,
    )
    beyond = ~(
        _within(edges, tried_edges)[:, None, None]
        & _within(lengths, tried_lengths)[None, :, None]
        & _within(weights, tried_weights)[None, None, :]
    )
    last = rows.sort_values("date", kind="stable").iloc[-1]
    chance, low, high = (np.where(beyond, np.nan, a) for a in (found.chance, found.low, found.high))
    return WhatIf(
        series=series,
        edges_mm=edges,
        lengths=lengths,
        weights_kg=weights,
        tried_edges_mm=tried_edges,
        tried_lengths=tried_lengths,
        tried_weights_kg=tried_weights,
        usual_edge_mm=float(last["edge_mm"]),
        usual_length=_usual_length(last, capacity, lengths),
        usual_weight_kg=min(
            (w for w in weights if tried_weights[0] <= w <= tried_weights[1]),
            key=lambda w: abs(w - float(weight.iloc[-1])),
        ),
        hold_s=hold_s,
        body_mass_kg=mass,
        of_load=of_load,
        chance=chance,
        low=low,
        high=high,
        reached=_reached(found, lengths, tried_lengths, beyond),
    )


def _within(values: tuple[float, ...], ends: tuple[float, float]) -> npt.NDArray[np.bool_]:
    v = np.array(values)
    within: npt.NDArray[np.bool_] = (v >= ends[0] - 1e-9) & (v <= ends[1] + 1e-9)
    return np.asarray(within | np.isnan(v), dtype=np.bool_)


def _steps(
    logged: pd.Series, ladder: tuple[float, ...]
) -> tuple[tuple[float, ...], tuple[float, float]]:
    """The edges to choose from, and those answered: the logged ones and one step beyond."""
    known = sorted({float(v) for v in logged if not math.isnan(v)})
    if not known:
        return (math.nan,), (math.nan, math.nan)
    rungs = sorted({*known, *ladder})
    first, last = rungs.index(known[0]), rungs.index(known[-1])
    near = rungs[max(first - 1, 0)], rungs[min(last + 1, len(rungs) - 1)]
    seen = rungs[max(first - 1 - SEEN_BEYOND, 0) : last + 2 + SEEN_BEYOND]
    return tuple(seen), near


def _weight_steps(
    logged: pd.Series, step: float, floor: float
) -> tuple[tuple[float, ...], tuple[float, float]]:
    low, high = float(logged.min()), float(logged.max())
    tried = max(low - step, floor + step), high + step
    first = math.floor(low / step + 1e-9) - 1 - SEEN_BEYOND
    last = math.ceil(high / step - 1e-9) + 1 + SEEN_BEYOND
    grid = [round(i * step, 4) for i in range(first, last + 1)]
    return tuple(w for w in grid if w > floor), tried


def _lengths(rows: pd.DataFrame, capacity: str) -> tuple[tuple[float, ...], tuple[float, float]]:
    """Seconds of a hold, or holds of a set: from the shortest to the longest done, a step more."""
    if capacity == "pull":
        return (math.nan,), (math.nan, math.nan)
    if capacity == "repeater":
        done = pd.concat([rows["reps"], rows["reps_done"]]).dropna()
        done = done[done >= 1]
        first, last = int(done.min()), int(done.max())
        whole = range(max(first - 1 - SEEN_BEYOND, 1), last + 2 + SEEN_BEYOND)
        return tuple(float(n) for n in whole), (float(max(first - 1, 1)), float(last + 1))
    held = pd.concat([rows["hang_s"], rows["failed_s"]]).dropna()
    held = held[held >= 1]
    _, (low, high) = _steps(held.round(), HOLD_LADDER_S)
    whole = range(max(math.floor(low) - SEEN_BEYOND, 1), math.ceil(high) + SEEN_BEYOND + 1)
    return tuple(float(n) for n in whole), (low, high)


def _usual_length(last: pd.Series, capacity: str, lengths: tuple[float, ...]) -> float:
    if capacity == "pull":
        return math.nan
    planned = float(last["hang_s"] if capacity == "hang" else last["reps"])
    if math.isnan(planned):
        planned = float(last["failed_s"] if capacity == "hang" else last["reps_done"])
    return min(lengths, key=lambda n: abs(n - planned))


def _reached(
    found: Outlook,
    lengths: tuple[float, ...],
    tried: tuple[float, float],
    beyond: npt.NDArray[np.bool_],
) -> Floats:
    """
    The length reached with chances of 0.95, 0.5 and 0.05, shape (3, edges, weights).

    -inf: shorter than is answered; inf: longer than is answered.
    """
    inside = np.flatnonzero(_within(lengths, tried))
    out = np.full((3, found.chance.shape[0], found.chance.shape[2]), np.nan)
    if len(inside) < 2:
        return out
    own = np.array(lengths)[inside]
    for e, w in np.argwhere(~beyond[:, inside[0], :]).tolist():
        falling = found.chance[e, inside, w]
        for i, chance in enumerate((0.95, 0.5, 0.05)):
            if falling[0] < chance:
                out[i, e, w] = -np.inf
            elif falling[-1] > chance:
                out[i, e, w] = np.inf
            else:
                out[i, e, w] = np.interp(-chance, -falling, own)
    return out


# --- answers in words -------------------------------------------------------------------------


def in_hundred(chance: float, *, about: bool = False) -> str:
    """A chance in words, never surer than the model can be."""
    hundred = round(100 * chance)
    if hundred < 1:
        return "fewer than 1"
    return "more than 99" if hundred > 99 else f"about {hundred}" if about else str(hundred)


def length_words(w: WhatIf, e: int, k: int) -> str:
    """The time or holds that this weight is held for, "" for pulls."""
    if w.key.capacity == "pull" or np.isnan(w.reached[1, e, k]):
        return ""
    short, middle, long = w.reached[:, e, k]
    low, high = (fmt.number(v, 0) for v in w.tried_lengths)
    unit = "s" if w.key.capacity == "hang" else "holds"
    if middle == -np.inf:
        return f"less than {low}{fmt.NBSP}{unit}"
    if middle == np.inf:
        return f"longer than {high}{fmt.NBSP}{unit}, the longest answered"
    ends = (
        f"under {low}" if short == -np.inf else fmt.number(short, 0),
        f"over {high}" if long == np.inf else fmt.number(long, 0),
    )
    return (
        f"about {fmt.number(middle, 0)}{fmt.NBSP}{unit}; nine times in ten between {ends[0]} and "
        f"{ends[1]}"
    )


def wanted_weight(w: WhatIf, e: int, n: int, wanted: int) -> float:
    """Largest weight on the grid with at least this chance (in 100), NaN where none is answered."""
    good = np.flatnonzero(w.chance[e, n] >= wanted / 100)
    return w.weights_kg[good[-1]] if len(good) else math.nan


def wanted_edge(w: WhatIf, n: int, k: int, wanted: int) -> float:
    """Smallest edge with at least this chance (in 100), NaN where none is answered."""
    good = np.flatnonzero(w.chance[:, n, k] >= wanted / 100)
    return w.edges_mm[good[0]] if len(good) else math.nan


def answer(
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
) -> Fragment:
    """
    One what-if in a sentence; what is left out is as in the last set of the series.

    Notes
    -----
    `hang_s` for hangs, `reps` for repeaters, `added_kg` on the logged body mass; `load_kg` for
    pulls and gauges. Beyond the log and one step: "Not tried, no figure".
    """
    try:
        w = work_out(x, capacity, grip, hand)
    except NotOfferedError as reason:
        return html.paragraph(str(reason))
    kind = w.key.capacity
    _refuse_wrong(kind, w.of_load, hang_s=hang_s, reps=reps, added_kg=added_kg, load_kg=load_kg)
    length = {"hang": hang_s, "repeater": reps}.get(kind)
    length = w.usual_length if length is None else float(length)
    weight = load_kg if w.of_load else added_kg
    weight = w.usual_weight_kg if weight is None else float(weight)
    edge = w.usual_edge_mm if edge_mm is None else float(edge_mm)
    asked = set_words(w, edge, length, weight)
    inside = (
        _within((edge,), w.tried_edges_mm)[0]
        and _within((length,), w.tried_lengths)[0]
        and _within((weight,), w.tried_weights_kg)[0]
    )
    if not inside:
        return html.paragraph(f"{asked}: {NOT_TRIED.lower()}. {limits_words(w)}")
    found = outlook(
        x.review.fit,
        w.key,
        edges_mm=[edge],
        lengths=[length],
        loads_kg=[weight + (0.0 if w.of_load else w.body_mass_kg)],
        hold_s=None if math.isnan(w.hold_s) else w.hold_s,
    )
    chance, low, high = (float(a[0, 0, 0]) for a in (found.chance, found.low, found.high))
    done = (
        "reached on a first pull of the day"
        if kind == "pull"
        else "finished as the first set of the day"
    )
    between = f"between {in_hundred(low)} and {in_hundred(high)}"
    return html.paragraph(
        f"{asked}: {done} in {in_hundred(chance, about=True)} of 100 cases ({between})."
    )


def _refuse_wrong(kind: str, of_load: bool, **given: float | None) -> None:
    weight = "load_kg" if of_load else "added_kg"
    takes = {"hang": ["hang_s"], "repeater": ["reps"], "pull": []}[kind] + [weight]
    for name, value in given.items():
        if value is None:
            continue
        if name not in takes:
            raise GripbookError(
                f"{name} means nothing for these {fmt.EXERCISE_WORDS[kind]}; "
                f"give {fmt.one_of(['edge_mm', *takes])}."
            )
        if not math.isfinite(value):
            raise GripbookError(f"{name} = {value} is no number to work with.")


def set_words(w: WhatIf, edge: float, length: float, weight: float) -> str:
    """The set asked about, in words."""
    kind = w.key.capacity
    size = "" if math.isnan(edge) else f" on {fmt.number(edge)}{fmt.NBSP}mm"
    load = (
        fmt.with_unit(weight, "kg", 2)
        if w.of_load
        else fmt.with_unit(weight, "kg", 2, sign=True) + " added"
    )
    what = {
        "hang": f"A hang of {fmt.number(length)}{fmt.NBSP}s",
        "repeater": f"{fmt.number(length)} holds of {fmt.number(w.hold_s)}{fmt.NBSP}s",
        "pull": "A pull",
    }[kind]
    return f"{what}, {fmt.series(w.key.grip, w.key.hand)}{size}, {load}"


def limits_words(w: WhatIf) -> str:
    """From where to where answers are given."""
    parts = []
    if not math.isnan(w.tried_edges_mm[0]):
        parts.append(_from_to(w.tried_edges_mm, "mm"))
    if w.key.capacity != "pull":
        unit = "s" if w.key.capacity == "hang" else "holds"
        parts.append(_from_to(w.tried_lengths, unit))
    parts.append(_from_to(w.tried_weights_kg, "kg" if w.of_load else "kg added"))
    return f"Answers reach one step beyond this log: {fmt.listing(parts)}."


def _from_to(ends: tuple[float, float], unit: str) -> str:
    return f"{fmt.number(ends[0], 2)} to {fmt.number(ends[1], 2)}{fmt.NBSP}{unit}"
