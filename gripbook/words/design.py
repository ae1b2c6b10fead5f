"""What a planned block can show, in words."""

from __future__ import annotations

import math
from typing import Final

from gripbook.reviews.design import Design, DesignLine, Way
from gripbook.words import Table, fmt, mark, say

#: The ways of testing and logging, as rows name them.
WAYS = Table(
    {
        Way.PLANNED: mark("as planned"),
        Way.LEFT_NOTED: mark("with what is left noted"),
        Way.ONE_EDGE: mark("on one edge"),
        Way.SECOND_DAY: mark("with a second test day"),
    }
)
_NOTHING = Table(
    {
        "minor": mark("Under 18, so no block and no tests are proposed here."),
        "held": mark(
            "Tests wait until a physician, physiotherapist or coach has had a look; "
            "see `gripbook next`."
        ),
        "no_plan": mark("No finger work is planned, so there is nothing to show."),
    }
)


def title(d: Design) -> str:
    """Whose block, and which."""
    name = d.block.name
    return f"{d.athlete}: {name}" if d.athlete else name


def opening(d: Design) -> tuple[str, ...]:
    """What the figures mean and what they rest on."""
    if d.nothing:
        return (_NOTHING[d.nothing],)
    out = [
        say(
            "The smallest rise each capacity could show: smaller ones leave “no change” inside "
            "the 90~% range."
        )
    ]
    if not d.block.test_weeks:
        out.append(say("No test week is planned, so training sets alone have to tell it."))
    else:
        out.append(
            say("A test day is taken as one set to the limit of each capacity, its time noted.")
        )
    if d.proposed:
        out.append(say("The block is the one that `gripbook next` proposes."))
    if not d.athlete:
        out.append(say("Reckoned for usual day-to-day differences, since no log is given."))
    elif d.left_noted > 0:
        share = f"{fmt.number(100 * d.left_noted, 0)}{fmt.NBSP}%"
        out.append(
            say(
                "What is left is taken as noted after {share} of last sets, as so far.", share=share
            )
        )
    return tuple(out)


def series_name(x: DesignLine) -> str:
    """Capacity, grip and hand: Timed hangs, half crimp, both hands."""
    return f"{fmt.sentence(fmt.EXERCISE_WORDS[x.capacity])}, {fmt.series(x.grip, x.hand)}"


def rise(x: DesignLine) -> str:
    """The smallest rise: 8.6 %; can't tell."""
    if math.isnan(x.rise_pct):
        return say("can’t tell")
    return f"{fmt.number(x.rise_pct, 1)}{fmt.NBSP}%"


def detail(x: DesignLine) -> str:
    """What it rests on: 11 sets, two test days; about 7.2 kg."""
    parts = [
        fmt.count(x.sets, "{n} set", "{n} sets"),
        fmt.count(x.test_days, "{n} test day", "{n} test days"),
    ]
    text = ", ".join(parts)
    if math.isfinite(x.rise_kg):
        text = fmt.clauses([say("about {kg}", kg=fmt.mass(x.rise_kg)), text])
    return text


def closing(d: Design) -> tuple[str, ...]:
    """What the block can't show, and what would help most."""
    planned = d.of(Way.PLANNED)
    untold = [series_name(x) for x in planned if math.isnan(x.rise_pct)]
    out = []
    if untold:
        out.append(
            say(
                "Can’t be told at all, since nothing reaches its limit near both ends: {series}.",
                series=fmt.clauses(untold),
            )
        )
    best = _best(d)
    if best is not None:
        way, before, after = best
        out.append(
            say(
                "Most is gained {way}. {series}: {before} becomes {after}.",
                way=WAYS[way],
                before=rise(before),
                after=rise(after),
                series=series_name(before),
            )
        )
    return tuple(out)


#: A way is told as better where it lowers the rise to this share of the planned one or less (own
#: choice, no source).
_BETTER: Final = 0.9


def _best(d: Design) -> tuple[Way, DesignLine, DesignLine] | None:
    """The way that lowers the first series' rise most, by a tenth or more."""
    first = next((x for x in d.of(Way.PLANNED) if math.isfinite(x.rise_pct)), None)
    if first is None:
        return None
    others = [d.other(first, way) for way in d.ways[1:]]
    best = min(others, key=lambda x: x.rise_pct, default=None)
    if best is None or not best.rise_pct <= _BETTER * first.rise_pct:
        return None
    return best.way, first, best


def chart_name(d: Design) -> str:
    """What the chart shows."""
    return say("Smallest rise that {block} could show", block=d.block.name)


def matters(x: DesignLine) -> str:
    """The change that matters: 3 % matters."""
    return say("{pct} matters", pct=f"{fmt.number(x.smallest_pct, 1)}{fmt.NBSP}%")


#: Titles of the page and its table.
TITLES = Table(
    {
        "page": mark("What the block can show"),
        "table": mark("Smallest rise by way of testing and logging"),
    }
)
