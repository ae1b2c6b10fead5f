"""Loads, finger work and strength-to-weight, as logged."""

from __future__ import annotations

from gripbook import html
from gripbook.derive.records import records
from gripbook.html import Fragment
from gripbook.reviews import BlockReview
from gripbook.reviews.shown import ADDED, DIFFERENCE, LOAD
from gripbook.words import fmt, say, series
from gripbook.words.fmt import in_own_units

#: What the tables tell of a best set.
_OF_BEST = ["exercise", "grip", "hand", "edge_mm", "board", "week", "shown_kg", "shown_as"]
_OF_BEST += ["date", "file", "line"]


@in_own_units
def loads(r: BlockReview) -> tuple[Fragment, ...]:
    """Best sets of the block and of each week; nothing without a known load."""
    names = _drawn_names(r)
    if not names:
        return ()
    hidden = () if r.athlete.show_body_mass else (html.paragraph(_hidden_words(r)),)
    return (*hidden, _block_best_table(r), *(_best_table(r, name) for name in names))


def _drawn_names(r: BlockReview) -> list[str]:
    order = [p.exercise for p in r.block.phases if p.exercise]
    known = r.sets[r.sets["in_block"] & ~r.sets["warmup"] & r.sets["shown_kg"].notna()]
    here = set(known["exercise"])
    return [e for e in dict.fromkeys([*order, "hang", "repeater", "pull"]) if e in here]


def _hidden_words(r: BlockReview) -> str:
    kinds = set(r.sets["shown_as"])
    told = []
    if ADDED in kinds:
        told.append(say("hangs are given by the weight added"))
    if DIFFERENCE in kinds:
        told.append(say("pulls over a scale by their difference to the first one"))
    if LOAD in kinds:
        told.append(say("loads read from a gauge as they are"))
    return say(
        "Body mass is not shown on this page, and neither is what would give it away: {told}.",
        told=fmt.listing(told),
    )


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
    return html.table(
        rows,
        say(
            "Best set mastered in the block, {kinds} in {unit}",
            kinds=fmt.one_of(series.SHOWN_AS[k] for k in kinds),
            unit=fmt.mass_unit(),
        ),
        columns={
            "kind": say("kind of work"),
            "series": say("grip, hand, edge"),
            "kg": fmt.mass_unit(),
            "day": say("day"),
        },
        numbers=["kg"],
        empty=say("No set with a known load was mastered."),
    )


def _best_table(r: BlockReview, exercise: str) -> Fragment:
    best = r.weekly_best.loc[r.weekly_best["exercise"] == exercise, _OF_BEST]
    best = best.sort_values(["grip", "hand", "week", "edge_mm"], kind="stable")
    rows = [
        {
            "series": fmt.series(b.grip, b.hand, b.edge_mm) + (f", {b.board}" if b.board else ""),
            "week": int(b.week),
            "kg": fmt.mass_number(b.shown_kg, 1, trim=False, sign=b.shown_as != LOAD),
            "day": b.date.date(),
            "row": f"{b.file}:{b.line}",
        }
        for b in records(best)
    ]
    words = rows and best["shown_as"].mode().iloc[0]
    return html.table(
        rows,
        html.inline(  # a table of each kind, so each has a name of its own
            fmt.sentence(fmt.EXERCISE_WORDS[exercise]),
            ". ",
            say(
                "Best set mastered in each block week: {what} in {unit}",
                what=series.SHOWN_AS[words or LOAD],
                unit=fmt.mass_unit(),
            ),
        ),
        stack=True,
        columns={
            "series": say("grip, hand, edge"),
            "week": say("week"),
            "kg": fmt.mass_unit(),
            "day": say("day"),
            "row": say("row of the log"),
        },
        numbers=["kg"],
        empty=say("No set was mastered."),
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
            "impulse": fmt.own_mass(w.impulse_kg_s),
            "per_hand": fmt.own_mass(w.load_per_hand_kg),
        }
        for w in records(r.work)
        if w.sets
    ]
    if not rows:
        return ()
    columns = {
        "week": say("week"),
        "phase": say("phase"),
        "sets": say("sets by row"),
        "time": say("time under load"),
    }
    if r.athlete.show_body_mass:
        text = say("Impulse is load times time; load per hand is the mean load on one hand.")
        if (r.sets["exercise"] == "pull").any():
            text += say(
                " Impulse falls when the all-out pulls begin, because a pull is short, "
                "though each one is the hardest load of the block; so the two stand side "
                "by side."
            )
        unit = fmt.mass_unit()
        columns |= {
            "impulse": say("impulse ({unit}·s)", unit=unit),
            "per_hand": say("load per hand ({unit})", unit=unit),
        }
    else:
        text = say("Only times are given: kilograms times seconds would give body mass away.")
    formats = {"impulse": lambda v: fmt.number(v, 0), "per_hand": lambda v: fmt.number(v, 1)}
    return (
        html.paragraph(text),
        html.table(
            rows,
            say("Finger work by block week, warm-ups left out"),
            columns=columns,
            formats={k: v for k, v in formats.items() if k in columns},
            numbers=["time"],
        ),
    )
