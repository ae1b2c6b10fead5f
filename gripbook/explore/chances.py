"""
What if: the chance of a set on another edge, for another time, with another weight.

Answers stay within the edges, times and loads that stand in the log and one step beyond; further
out, or harder in two of them at once, there is none. What is harder than every set of the log taken
whole (the smallest edge with the greatest weight) is said to be so, and what is plainly easier than
a set that was finished names that set. Where no set met a limit there is no chance to give, only
what was finished. Under 18, and while pain holds loading, nothing is answered at all; nor where
body mass is hidden and the load contains it, since the answers would lead back to it.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

import numpy as np
import numpy.typing as npt
import pandas as pd

from gripbook import html
from gripbook.errors import GripbookError
from gripbook.explore.opening import Explorer, choose
from gripbook.html import Fragment
from gripbook.reviews import SeriesChange
from gripbook.reviews.change_facts import PathKind
from gripbook.strength import SeriesKey
from gripbook.strength.outlook import Outlook, outlook
from gripbook.units import lb_to_kg
from gripbook.words import fmt
from gripbook.words.fmt import in_own_units
from gripbook.words.next import reduction_text

Floats = npt.NDArray[np.float64]

NOT_TRIED = "Not tried, no figure"
NO_LIMIT = "You never reached your limit here, so no chance can be given"
ALL_FAILED = "Every set failed here, so no chance can be given"
#: Chances in 100 that may be wished for.
WANTED = (50, 60, 70, 80, 90)
#: Steps of time for a single hold, in seconds (own choice, no source).
HOLD_LADDER_S = (3.0, 5.0, 7.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 60.0, 90.0, 120.0)
#: Steps of edge depth in mm where the block file names no edges, and of weight in kg where it
#: names no pieces (own choices, no source).
EDGE_LADDER_MM = (6.0, 8.0, 10.0, 12.0, 15.0, 18.0, 20.0, 22.0, 25.0, 30.0, 35.0, 40.0, 45.0)
WEIGHT_STEP_KG, WEIGHT_STEP_LB = 1.25, 2.5
#: Steps of load, of pulls and gauges (own choices, no source).
LOAD_STEP_KG, LOAD_STEP_LB = 2.5, 5.0
#: Controls go this many steps past the last answer, so that its end is seen.
SEEN_BEYOND = 2

#: Share by which body mass may have grown since a set that is named as no easier (own choice).
HEAVIER = 0.02

#: `{what}`: what isn't offered, as a what-if.
UNDER_18 = "No {what} under 18: what to load is for coach, guardian and physician to decide."
IN_PAIN = (
    "No {what} while pain holds loading. See the pain section of the page; have it looked at "
    "before loading again."
)
STOP = "Stop a set at once when a finger, hand or elbow hurts."
HIDDEN = "No {what} here: body mass is hidden, and the answers would lead back to it."


class NotOfferedError(GripbookError):
    """The what-if is not offered; the message says why."""


@dataclass(frozen=True, slots=True)
class Finished:
    """
    A set that was finished, or a pull; NaN edge or length: it has none.

    `comparable`: the body that hung was not much lighter than it is now.
    """

    edge_mm: float
    length: float
    weight_kg: float
    day: dt.date
    comparable: bool

    def covers(self, edge_mm: float, length: float, weight_kg: float) -> bool:
        """Whether a set is as easy as this one in all three, and so plainly no harder."""
        return (
            not edge_mm < self.edge_mm - 1e-9
            and not length > self.length + 1e-9
            and weight_kg <= self.weight_kg + 1e-9
        )


@dataclass(frozen=True, slots=True, eq=False)
class WhatIf:
    """
    One series' answers on a grid: `chance`, `low`, `high` (edges, lengths, weights), 0 to 1.

    `lengths`: seconds of a hang, holds of a repeater set, one empty length for pulls. `weights_kg`:
    added weight, or the load itself where `of_load`. `tried_edges_mm`, `tried_lengths`,
    `tried_weights_kg` say from where to where it answers; what lies outside is NaN, and what is
    harder than the log in more than one of them. `reached` (3, edges, weights) is the time (or
    holds) reached with chances of 0.95, 0.5 and 0.05, NaN likewise, -inf and inf where it is
    shorter or longer than is answered: from `answered[0]` to `answered[1]`. `sets` (N, 3): edge,
    length and weight of each set behind it; `finished` those that were finished or pulled, each
    with its day, the hardest first. Where `bound`, no set tells the limit: there is no chance.
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
    answered: Floats
    sets: Floats
    finished: tuple[Finished, ...]

    @property
    def bound(self) -> bool:
        """Whether no set of the series tells its limit."""
        return self.series.path_kind is not PathKind.ESTIMATE

    @property
    def step_kg(self) -> float:
        """The smallest step of weight."""
        return self.weights_kg[1] - self.weights_kg[0]

    @property
    def key(self) -> SeriesKey:
        """The series."""
        return self.series.fit.key


def reason_not_offered(x: Explorer, what: str = "what-if") -> str:
    """Why no what-if is offered for this athlete at all; "" where it is."""
    if x.review.athlete.minor:
        return UNDER_18.format(what=what)
    if x.review.pain_to_date.flags:  # in the block or since
        return IN_PAIN.format(what=what)
    return ""


@in_own_units
def work_out(
    x: Explorer,
    capacity: str = "",
    grip: str = "",
    hand: str = "",
    *,
    asks: str = "what-if",
    edge_mm: float | None = None,
) -> WhatIf:
    """
    Work out one series' answers.

    Parameters
    ----------
    x : from `open_log`.
    capacity, grip, hand : which series; empty: the headline.
    asks : what they are for, in words of what isn't offered.
    edge_mm : an edge to have among those to choose from; it may lie where nothing is answered.

    Raises
    ------
    NotOfferedError : under 18, pain, body mass hidden or not known, or no set tells of strength.
    GripbookError : no such series.
    """
    if reason := reason_not_offered(x, asks):
        raise NotOfferedError(reason)
    name = choose(x, capacity, grip, hand)
    told = [s for s in x.review.change.series if (s.fit.capacity, s.fit.grip, s.fit.hand) == name]
    told.sort(key=lambda s: s.fit.load_kind != "steady")
    what = f"{fmt.EXERCISE_WORDS[name[0]]}, {fmt.series(name[1], name[2])}"
    if not told:
        raise NotOfferedError(f"No {asks} for {what}: no set of it tells of strength.")
    series = told[0]
    points = {(p.file, p.line) for p in series.fit.points}
    sets = x.review.sets
    rows = sets[[(f, n) in points for f, n in zip(sets["file"], sets["line"], strict=True)]]
    of_load = bool(name[0] == "pull" or (rows["load_source"] == "gauge").any())
    if not x.review.athlete.show_body_mass and not (rows["load_source"] == "gauge").all():
        raise NotOfferedError(HIDDEN.format(what=asks))
    mass = math.nan
    if not of_load:
        known = sets.loc[sets["body_mass_kg"].notna()]
        if known.empty:
            raise NotOfferedError(f"No {asks} for {what}: no body mass is logged.")
        mass = float(known.sort_values("date", kind="stable")["body_mass_kg"].iloc[-1])
    return _grid(x, series, rows, mass, of_load, edge_mm)


def _grid(
    x: Explorer,
    series: SeriesChange,
    rows: pd.DataFrame,
    mass: float,
    of_load: bool,
    edge_mm: float | None,
) -> WhatIf:
    block, capacity = x.review.block, series.fit.capacity
    weight = rows["shown_kg"] if of_load else rows["added_kg"]
    weight = weight[weight.notna()]
    step = _step_kg(block.plates_kg, of_load=of_load)
    weights, tried_weights = _weight_steps(weight, step, floor=-mass if not of_load else 0.0)
    edges, tried_edges = _steps(rows["edge_mm"], block.edges_mm or EDGE_LADDER_MM)
    if edge_mm is not None and not math.isnan(edges[0]):
        edges = tuple(sorted({*edges, float(edge_mm)}))
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
    done = _done(rows, weight)
    mastered = rows[rows["outcome"].isin(["finished", "pull"])]
    mastered = mastered[weight.reindex(mastered.index).notna()]
    # the same weight on a heavier body is a harder set
    grown = pd.Series(False, index=mastered.index)
    if not of_load:  # where body mass is hidden only loads that a gauge read come here
        grown = mass > mastered["body_mass_kg"] * (1 + HEAVIER)
    finished = [
        Finished(float(one[0]), float(one[1]), float(one[2]), day.date(), not heavier)
        for one, day, heavier in zip(_done(mastered, weight), mastered["date"], grown, strict=True)
    ]
    inside = _inside(done, (edges, lengths, weights), (tried_edges, tried_lengths, tried_weights))
    if series.path_kind is not PathKind.ESTIMATE:
        inside = np.zeros_like(inside)  # a chance out of bounds alone would be the prior's
    beyond = ~inside
    reached, answered = _reached(found, lengths, inside)
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
        reached=reached,
        answered=answered,
        sets=done,
        finished=tuple(sorted(finished, key=_hardness, reverse=True)),
    )


def _step_kg(plates_kg: Sequence[float], *, of_load: bool) -> float:
    """The step of weight in kg: the least plate's; in pounds a quarter of one, or more of them."""
    least = min((p for p in plates_kg if p >= 0.5), default=0.0)
    if fmt.mass_unit() == "kg":
        return LOAD_STEP_KG if of_load else least or WEIGHT_STEP_KG
    # plates of 2.5 lb stand in a block file as 1.13 kg
    return lb_to_kg(
        LOAD_STEP_LB if of_load else round(4 * fmt.own_mass(least)) / 4 or WEIGHT_STEP_LB
    )


def _hardness(one: Finished) -> tuple[float, float, float, dt.date]:
    """Order of finished sets: smaller edge, then more weight, then longer, then later."""
    edge = 0.0 if math.isnan(one.edge_mm) else one.edge_mm
    length = 0.0 if math.isnan(one.length) else one.length
    return -edge, one.weight_kg, length, one.day


def _done(rows: pd.DataFrame, weight: pd.Series) -> Floats:
    """Edge, length and weight of each set, shape (N, 3); NaN edge or length: it has none."""
    repeaters = (rows["exercise"] == "repeater").all()
    planned, done = ("reps", "reps_done") if repeaters else ("hang_s", "failed_s")
    length = rows[[planned, done]].max(axis=1)
    if (rows["exercise"] == "pull").all():
        length = length * np.nan
    out: Floats = np.stack(
        [rows["edge_mm"], length, weight.reindex(rows.index)], axis=1, dtype=np.float64
    )
    return out[np.isfinite(out[:, 2])]


def _inside(
    done: Floats,
    steps: tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]],
    tried: tuple[tuple[float, float], tuple[float, float], tuple[float, float]],
) -> npt.NDArray[np.bool_]:
    """What is answered of a grid: harder than the log in one thing at most, and by one step."""
    near = [_within(v, ends) for v, ends in zip(steps, tried, strict=True)]
    edge, length, weight = (np.array(v) for v in steps)
    harder = [
        edge < np.fmin.reduce(done[:, 0]) - 1e-9,
        length > np.fmax.reduce(done[:, 1]) + 1e-9,
        weight > np.fmax.reduce(done[:, 2]) + 1e-9,
    ]
    count = np.add.outer(np.add.outer(*(x.astype(np.int64) for x in harder[:2])), harder[2])
    inside = np.logical_and.outer(np.logical_and.outer(near[0], near[1]), near[2])
    return np.asarray(inside & (count <= 1), dtype=np.bool_)


def furthest_kg(w: WhatIf, edge: float, length: float) -> float:
    """The most weight logged on so small an edge for so long a time; NaN where no set is so."""
    size, long, weight = w.sets.T
    hard = np.isnan(size) | (size <= edge + 1e-9) | math.isnan(edge)
    hard &= np.isnan(long) | (long >= length - 1e-9) | math.isnan(length)
    return float(weight[hard].max()) if hard.any() else math.nan


def further_words(w: WhatIf, edge: float, length: float, weight: float) -> str:
    """Says that a set is harder than each one of the log taken whole; "" where it is not."""
    most = furthest_kg(w, edge, length)
    if weight <= most + 1e-9:
        return ""
    known = "" if math.isnan(edge) else f" on {fmt.number(edge)}{fmt.NBSP}mm"
    if not math.isnan(length):
        unit = "s" if w.key.capacity == "hang" else "holds"
        known += f" for {fmt.number(length)}{fmt.NBSP}{unit}"
    if math.isnan(most):
        return f"Harder than any set in the log: none was done{known} or harder."
    load = fmt.mass(most, 2, sign=not w.of_load)
    return f"Harder than any set in the log:{known or ' there'} the most is {load}."


def easier_words(w: WhatIf, edge: float, length: float, weight: float) -> str:
    """The hardest finished set that a set is plainly no harder than; "" where there is none."""
    for one in w.finished:
        if one.comparable and one.covers(edge, length, weight):
            done = finished_words(w, one)
            verb = "reached" if w.key.capacity == "pull" else "finished"
            same = (edge, length, weight) == (one.edge_mm, one.length, one.weight_kg)
            start = f"Just what you {verb}" if same else f"No harder than {done}, {verb}"
            return f"{start} on {fmt.day(one.day, year=False)}"
    return ""


def finished_words(w: WhatIf, one: Finished) -> str:
    """A finished set in short: +10 kg on 15 mm for 10 s."""
    words = fmt.mass(one.weight_kg, 2, sign=not w.of_load)
    if not math.isnan(one.edge_mm):
        words += f" on {fmt.number(one.edge_mm)}{fmt.NBSP}mm"
    if not math.isnan(one.length):
        unit = "s" if w.key.capacity == "hang" else "holds"
        words += f" for {fmt.number(one.length)}{fmt.NBSP}{unit}"
    return words


def hardest(w: WhatIf) -> list[Finished]:
    """Finished sets that no other was as hard as in all three, the first of equals."""
    kept: list[Finished] = []
    for one in w.finished:
        if not any(k.covers(one.edge_mm, one.length, one.weight_kg) for k in kept):
            kept.append(one)
    return kept


def no_chance_words(w: WhatIf, edge: float, length: float, weight: float) -> str:
    """What is said of a set that no chance is given for."""
    if easier := easier_words(w, edge, length, weight):
        return easier
    if w.bound:
        return NO_LIMIT if w.series.path_kind is PathKind.AT_LEAST else ALL_FAILED
    return NOT_TRIED


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
    grid = [round(i * step, 6) for i in range(first, last + 1)]
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
    found: Outlook, lengths: tuple[float, ...], inside: npt.NDArray[np.bool_]
) -> tuple[Floats, Floats]:
    """
    Lengths reached with chances of 0.95, 0.5 and 0.05, and the range answered.

    The first has shape (3, edges, weights); the shortest and longest answered (2, edges, weights).

    -inf: shorter than is answered; inf: longer than is answered.
    """
    shape = found.chance.shape[0], found.chance.shape[2]
    out, ends = np.full((3, *shape), np.nan), np.full((2, *shape), np.nan)
    for e, w in np.ndindex(shape):
        at = np.flatnonzero(inside[e, :, w])
        if len(at) < 2:
            continue
        own = np.array(lengths)[at]
        ends[:, e, w] = own[0], own[-1]
        falling = found.chance[e, at, w]
        for i, chance in enumerate((0.95, 0.5, 0.05)):
            if falling[0] < chance:
                out[i, e, w] = -np.inf
            elif falling[-1] > chance:
                out[i, e, w] = np.inf
            else:
                out[i, e, w] = np.interp(-chance, -falling, own)
    return out, ends


# --- answers in words -------------------------------------------------------------------------


def in_hundred(chance: float, *, about: bool = False) -> str:
    """A chance in words, never surer than the model can be."""
    hundred = round(100 * chance)
    if hundred < 1:
        return "fewer than 1"
    return "more than 99" if hundred > 99 else f"about {hundred}" if about else str(hundred)


def chance_words(kind: str, chance: float, low: float, high: float) -> str:
    """What a chance and its interval say of a set."""
    done = (
        "reached on a first pull of the day"
        if kind == "pull"
        else "finished as the first set of the day"
    )
    ends = in_hundred(low), in_hundred(high)
    between = f" (between {ends[0]} and {ends[1]})" if ends[0] != ends[1] else ""
    return f"{done} in {in_hundred(chance, about=True)} of 100 cases{between}"


def time_words(x: Explorer) -> str:
    """For which day the answers are, and whether that is no start."""
    day = fmt.day(x.review.block.end)
    said = f"For someone as strong as on {day}, the block's last day."
    plan = x.review.next_block
    lowered = [fmt.sentence(reduction_text(y, plan)) for y in plan.reductions if y.share < 1]
    if lowered:
        said += f" Don't start with it: the page's What next begins lower. {'. '.join(lowered)}."
    return said


def length_words(w: WhatIf, e: int, k: int) -> str:
    """The time or holds that this weight is held for, "" for pulls."""
    if w.key.capacity == "pull" or np.isnan(w.reached[1, e, k]):
        return ""
    short, middle, long = w.reached[:, e, k]
    low, high = (fmt.number(v, 0) for v in w.answered[:, e, k])
    unit = "s" if w.key.capacity == "hang" else "holds"
    if middle == -np.inf:
        return f"less than {low}{fmt.NBSP}{unit}"
    if middle == np.inf:
        return f"more than {high}{fmt.NBSP}{unit} (answers end there)"
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


@in_own_units
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
    **misnamed: object,
) -> Fragment:
    """
    One what-if in a sentence; what is left out is as in the last set of the series.

    Raises
    ------
    GripbookError : no such series; a value that is no number or means nothing for the series; a
        name there is none of.

    Notes
    -----
    `hang_s` for hangs, `reps` for repeaters, `added_kg` on the logged body mass; `load_kg` for
    pulls and gauges. Beyond the log and one step there is no figure, unless a set that was finished
    was plainly as hard: then that set is named.
    """
    given = {"edge_mm": edge_mm, "hang_s": hang_s, "reps": reps, "added_kg": added_kg}
    given["load_kg"] = load_kg
    refuse_misnamed("answer", misnamed, given)
    try:
        w = work_out(x, capacity, grip, hand)
    except NotOfferedError as reason:
        return html.paragraph(str(reason))
    kind = w.key.capacity
    refuse_wrong(kind, w.of_load, given)
    length = {"hang": hang_s, "repeater": reps}.get(kind)
    length = w.usual_length if length is None else float(length)
    weight = load_kg if w.of_load else added_kg
    weight = w.usual_weight_kg if weight is None else float(weight)
    edge = w.usual_edge_mm if edge_mm is None else float(edge_mm)
    asked = set_words(w, edge, length, weight)
    tried = w.tried_edges_mm, w.tried_lengths, w.tried_weights_kg
    if w.bound or not _inside(w.sets, ((edge,), (length,), (weight,)), tried).all():
        told = f"{asked}: {_small(no_chance_words(w, edge, length, weight))}."
        if easier_words(w, edge, length, weight):
            return html.paragraph(f"{told} {STOP}")
        return html.paragraph(f"{told} {hardest_words(w) if w.bound else limits_words(w)}")
    found = outlook(
        x.review.fit,
        w.key,
        edges_mm=[edge],
        lengths=[length],
        loads_kg=[weight + (0.0 if w.of_load else w.body_mass_kg)],
        hold_s=None if math.isnan(w.hold_s) else w.hold_s,
    )
    chance, low, high = (float(a[0, 0, 0]) for a in (found.chance, found.low, found.high))
    told = f"{asked}: {chance_words(kind, chance, low, high)}."
    further = further_words(w, edge, length, weight)
    return html.paragraph(" ".join(filter(None, (told, further, time_words(x), STOP))))


def refuse_misnamed(function: str, misnamed: Iterable[str], given: Mapping[str, object]) -> None:
    """Refuse arguments that there are none of, with the nearest there is (GripbookError)."""
    for name in misnamed:
        near = get_close_matches(name, given, n=1, cutoff=0.3)
        hint = f" Did you mean {near[0]}?" if near else ""
        raise GripbookError(f"{function}() takes no {name}.{hint} It takes {fmt.listing(given)}.")


def hardest_words(w: WhatIf) -> str:
    """The hardest finished sets, as a sentence; "" where there are none."""
    done = [f"{finished_words(w, one)} ({fmt.day(one.day, year=False)})" for one in hardest(w)]
    return f"Hardest finished: {fmt.listing(done)}." if done else ""


def _small(text: str) -> str:
    return text[:1].lower() + text[1:]


def refuse_wrong(
    kind: str, of_load: bool, given: Mapping[str, object], also: Sequence[str] = ()
) -> None:
    """
    Refuse what means nothing for a series or is no number; `also` names what else is taken.

    Raises
    ------
    GripbookError : says what to give instead.
    """
    weight = "load_kg" if of_load else "added_kg"
    own = {"hang": ["hang_s"], "repeater": ["reps"], "pull": []}[kind]
    takes = ["edge_mm", *own, weight, *also]
    for name, value in given.items():
        if value is None:
            continue
        if name not in takes:
            raise GripbookError(
                f"{name} means nothing for these {fmt.EXERCISE_WORDS[kind]}; "
                f"give {fmt.one_of(takes)}."
            )
        if not isinstance(value, (int, float, np.number)) or not math.isfinite(value):
            raise GripbookError(
                f"{name}={value!r} is no number to work with. Write a plain number"
                f"{_UNIT_OF[name]}: {name}={_EXAMPLE_OF[name]}."
            )


_UNIT_OF = {"edge_mm": " in millimetres", "hang_s": " in seconds", "reps": " in holds"}
_UNIT_OF |= {"added_kg": " in kilograms", "load_kg": " in kilograms", "times_body_mass": ""}
_EXAMPLE_OF: dict[str, float] = {
    "edge_mm": 18,
    "hang_s": 10,
    "reps": 6,
    "added_kg": 5,
    "load_kg": 40,
    "times_body_mass": 1.5,
}


def set_words(w: WhatIf, edge: float, length: float, weight: float) -> str:
    """The set asked about, in words."""
    kind = w.key.capacity
    size = "" if math.isnan(edge) else f" on {fmt.number(edge)}{fmt.NBSP}mm"
    load = fmt.mass(weight, 2) if w.of_load else f"{fmt.mass(weight, 2, sign=True)} added"
    what = {
        "hang": f"A hang of {fmt.number(length)}{fmt.NBSP}s",
        "repeater": f"{fmt.number(length)} holds of {fmt.number(w.hold_s)}{fmt.NBSP}s",
        "pull": "A pull",
    }[kind]
    known = "" if math.isnan(weight) else f", {load}"
    return f"{what}, {fmt.series(w.key.grip, w.key.hand)}{size}{known}"


def limits_words(w: WhatIf) -> str:
    """From where to where answers are given."""
    parts = []
    if not math.isnan(w.tried_edges_mm[0]):
        parts.append(_from_to(w.tried_edges_mm, "mm"))
    if w.key.capacity != "pull":
        unit = "s" if w.key.capacity == "hang" else "holds"
        parts.append(_from_to(w.tried_lengths, unit))
    low, high = map(fmt.own_mass, w.tried_weights_kg)
    parts.append(_from_to((low, high), fmt.mass_unit() + ("" if w.of_load else " added")))
    more = ", harder in one thing at a time" if len(parts) > 1 else ""
    return f"Answers reach one step beyond this log{more}: {fmt.listing(parts)}."


def _from_to(ends: tuple[float, float], unit: str) -> str:
    return f"{fmt.number(ends[0], 2)} to {fmt.number(ends[1], 2)}{fmt.NBSP}{unit}"
