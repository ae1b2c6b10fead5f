"""Loads, finger work and strength-to-weight, as logged."""

from __future__ import annotations

import math
import statistics

from gripbook import html, layout
from gripbook.derive.records import records
from gripbook.html import Fragment
from gripbook.reviews import BlockReview
from gripbook.reviews.shown import LOAD
from gripbook.words import fmt
from gripbook.words import loads as words
from gripbook.words.fmt import in_own_units
from gripbook.words.heads import HEADS, head_in

#: What the tables tell of a best set.
_OF_BEST = ["exercise", "grip", "hand", "edge_mm", "board", "week", "shown_kg", "shown_as"]
_OF_BEST += ["date", "file", "line"]


@in_own_units
def loads(r: BlockReview) -> tuple[Fragment, ...]:
    """Best sets of the block and of each week; nothing without a known load."""
    names = _drawn_names(r)
    if not names:
        return ()
    hidden = (
        () if r.athlete.show_body_mass else (html.paragraph(words.hidden(set(r.sets["shown_as"]))),)
    )
    return (*hidden, _block_best_table(r), *(_best_table(r, name) for name in names))


def _drawn_names(r: BlockReview) -> list[str]:
    order = [p.exercise for p in r.block.phases if p.exercise]
    rows = records(r.sets, "exercise", "in_block", "warmup", "shown_kg")
    known = (row for row in rows if row.in_block and not row.warmup)
    here = {row.exercise for row in known if not math.isnan(row.shown_kg)}
    return [e for e in dict.fromkeys([*order, "hang", "repeater", "pull"]) if e in here]


def _block_best_table(r: BlockReview) -> Fragment:
    """Best load of the block by kind, grip, hand and edge; no edge is converted into another."""
    order = {name: i for i, name in enumerate(_drawn_names(r))}
    best = r.best[_OF_BEST].assign(place=[order.get(e, len(order)) for e in r.best["exercise"]])
    best = best.sort_values(["place", "grip", "hand", "edge_mm"], kind="stable")
    rows = [
        {
            "kind": fmt.EXERCISE_WORDS[b.exercise],
            "series": fmt.series(b.grip, b.hand, b.edge_mm) + (f", {b.board}" if b.board else ""),
            "kg": fmt.mass_number(b.shown_kg, 1, trim=False, sign=b.shown_as != LOAD),
            "day": fmt.day(b.date.date(), year=False),
        }
        for b in records(best, *_OF_BEST)
    ]
    kinds = list(dict.fromkeys(best["shown_as"]))
    return layout.table(
        rows,
        words.block_best(kinds),
        columns={
            "kind": HEADS["kind_of_work"],
            "series": HEADS["grip_hand_edge"],
            "kg": fmt.mass_unit(),
            "day": HEADS["day"],
        },
        numbers=["kg"],
        empty=words.TITLES["no_known_load"],
    )


def _best_table(r: BlockReview, exercise: str) -> Fragment:
    best = [b for b in records(r.weekly_best, *_OF_BEST) if b.exercise == exercise]
    # an edge that is not recorded comes last
    best.sort(key=lambda b: (b.grip, b.hand, b.week, math.isnan(b.edge_mm), b.edge_mm))
    rows = [
        {
            "series": fmt.series(b.grip, b.hand, b.edge_mm) + (f", {b.board}" if b.board else ""),
            "week": b.week,
            "kg": fmt.mass_number(b.shown_kg, 1, trim=False, sign=b.shown_as != LOAD),
            "day": b.date.date(),
            "row": f"{b.file}:{b.line}",
        }
        for b in best
    ]
    # of equals the first by name
    shown_as = statistics.mode(sorted(b.shown_as for b in best)) if best else LOAD
    return layout.table(
        rows,
        html.inline(  # a table of each kind, so each has a name of its own
            fmt.sentence(fmt.EXERCISE_WORDS[exercise]),
            ". ",
            words.week_best(shown_as),
        ),
        stack=True,
        columns={
            "series": HEADS["grip_hand_edge"],
            "week": HEADS["week"],
            "kg": fmt.mass_unit(),
            "day": HEADS["day"],
            "row": HEADS["row_of_the_log"],
        },
        numbers=["kg"],
        empty=words.TITLES["no_set"],
    )


@in_own_units
def finger_work(r: BlockReview) -> tuple[Fragment, ...]:
    """Time under load and impulse by week, always beside the load per hand."""
    rows = [
        {
            "week": int(w.week),
            "phase": w.phase,
            "sets": int(w.sets),
            "time": fmt.minutes(w.tension_s) if w.tension_s else "",
            # the sum of what is known is no 0 where nothing is
            "impulse": fmt.own_mass(w.impulse_kg_s if w.unknown_sets < w.sets else math.nan),
            "per_hand": fmt.own_mass(w.load_per_hand_kg),
        }
        for w in records(r.work)
        if w.sets
    ]
    if not rows:
        return ()
    columns = {
        "week": HEADS["week"],
        "phase": HEADS["phase"],
        "sets": HEADS["sets_by_row"],
        "time": HEADS["time_under_load"],
    }
    show = r.athlete.show_body_mass
    text = words.finger_work(show=show, pulls=bool((r.sets["exercise"] == "pull").any()))
    if show:
        columns |= {
            "impulse": head_in("impulse", fmt.mass_unit()),
            "per_hand": head_in("load_per_hand", fmt.mass_unit()),
        }
    formats = {"impulse": lambda v: fmt.number(v, 0), "per_hand": lambda v: fmt.number(v, 1)}
    return (
        html.paragraph(text),
        layout.table(
            rows,
            words.TITLES["finger_work"],
            columns=columns,
            formats={k: v for k, v in formats.items() if k in columns},
            numbers=["time"],
        ),
    )
