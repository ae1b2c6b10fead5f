"""The choices behind a proposal, each with its figure and its source."""

from __future__ import annotations

from gripbook.reviews.proposal import Choices, NextBlock, Source
from gripbook.words import Table, fmt, mark, say
from gripbook.words.next.weights import often, percent, plain_weight

SOURCES = Table(
    {
        Source.OWN: mark("own choice, no source"),
        Source.COMMON: mark("common practice, no source"),
        Source.ACSM: mark(
            "after ACSM 2009, strength training in general: add load once the repetitions asked "
            "for are passed; the seconds are our own choice"
        ),
        Source.TENDON: mark(
            "after Magnusson et al. 2010: collagen synthesis stays raised for about three days; "
            "the number is our own choice"
        ),
    }
)


def choice_lines(plan: NextBlock) -> tuple[str, ...]:
    """The choices behind a proposal, each from its value and with its source."""
    c = plan.choices
    lines: list[tuple[str, str]] = [
        (
            "chance",
            say(
                "All sets of a session should be finished {often}; {lowered} for beginners (under "
                "{months} months of finger training, or not recorded) and lowered starts",
                often=often(c.chance),
                lowered=often(c.chance_lowered),
                months=c.beginner_months,
            ),
        ),
        (
            "step_kg",
            say(
                "One step: at most {kg} or {pct} of the load, one hand {kg_one} or {pct_one}, "
                "whichever is less; or one edge step of at most {edge}; never both",
                kg=plain_weight(c.step_kg, plan.units),
                pct=percent(c.step_pct / 100),
                kg_one=plain_weight(c.step_one_hand_kg, plan.units),
                pct_one=percent(c.step_one_hand_pct / 100),
                edge=fmt.with_unit(c.edge_step_mm, "mm"),
            ),
        ),
        (
            "least_step_kg",
            say(
                "The smallest step is the smallest that your plates make from {kg} on, one hand "
                "{kg_one}",
                kg=plain_weight(c.least_step_kg, plan.units),
                kg_one=plain_weight(c.least_step_one_hand_kg, plan.units),
            ),
        ),
        (
            "expect_pct",
            say(
                "Over a block at most {pct} above its first load",
                pct=percent(c.expect_pct / 100),
            ),
        ),
        (
            "keep_share",
            say(
                "A start is not below {keep} of the last load mastered with all sets ({beginner} "
                "for beginners)",
                keep=percent(c.keep_share),
                beginner=percent(c.keep_share_beginner),
            ),
        ),
        (
            "off_share",
            say(
                "At most {off} of it after {days} days off, ill or sore; {low} after a limit "
                "broken in the last {broken} days, or with less than {done} of the sessions done",
                off=percent(c.off_share),
                days=c.off_days,
                low=percent(c.lowered_share),
                broken=c.broken_days,
                done=percent(c.low_done),
            ),
        ),
        (
            "return_share",
            say("{share} of the last painless load on the way back", share=percent(c.return_share)),
        ),
        (
            "mass_fall_pct",
            say(
                "Body mass down by {pct} or more over the block, or fast: no more load before a "
                "physician has had a look",
                pct=percent(c.mass_fall_pct / 100),
            ),
        ),
        (
            "smallest_edge_mm",
            say("No load on edges below {edge}", edge=fmt.with_unit(c.smallest_edge_mm, "mm")),
        ),
        (
            "add_when_left_s",
            say("Add after all sets with {left} left", left=fmt.with_unit(c.add_when_left_s, "s")),
        ),
        (
            "loading_weeks",
            say(
                "An easier week after at most {weeks}",
                weeks=fmt.count(c.loading_weeks, "{n} loading week", "{n} loading weeks"),
            ),
        ),
        (
            "easier_share",
            say(
                "Sets in an easier week, in the first week after days off or ill and on the way "
                "back: {share}, rounded up",
                share=percent(c.easier_share),
            ),
        ),
        (
            "pull_gap_share",
            say(
                "After more than {days} days without all-out pulls the first are at most {share} "
                "of the last",
                days=c.pull_gap_days,
                share=percent(c.pull_gap_share),
            ),
        ),
        (
            "rest_days_before_test",
            say(
                "{days} before a test",
                days=fmt.sentence(
                    fmt.count(c.rest_days_before_test, "{n} rest day", "{n} rest days")
                ),
            ),
        ),
        (
            "rest_days_after_block",
            say(
                "{days} between two blocks",
                days=fmt.sentence(
                    fmt.count(c.rest_days_after_block, "{n} rest day", "{n} rest days")
                ),
            ),
        ),
        (
            "held_before_days",
            say(
                "Pain at the limit, a sign or a note of an injury holds that side until it is "
                "cleared, also from up to {days} days before the block",
                days=c.held_before_days,
            ),
        ),
    ]
    if not plan.shown:
        lines.append(
            (
                "light_kg",
                say(
                    "Body mass is hidden: shares are taken of the weight added plus {light} for "
                    "steps up and plus {heavy} for lower starts, whoever it is",
                    light=fmt.with_unit(c.light_kg, "kg"),
                    heavy=fmt.with_unit(c.heavy_kg, "kg"),
                ),
            )
        )
    return tuple(
        say("{line} ({source}).", line=line, source=SOURCES[Choices.source_of(name)])
        for name, line in lines
    )
