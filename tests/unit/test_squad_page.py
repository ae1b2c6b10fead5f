"""The squad's rows, its pooled change and its table."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from gripbook import layout
from gripbook.derive.pooled import chance_alike
from gripbook.report import sections
from gripbook.reviews import SquadReview
from gripbook.reviews.squad import (
    FALSE_DIFFERENCE_SHARE,
    CapacityChange,
    FlagKind,
    SquadRow,
    squad_changes,
    with_rows,
)
from gripbook.strength.model import PRIORS
from gripbook.words import squad
from gripbook.words.fmt import NBSP
from gripbook.words.squad import about
from tests.reviewed import reviewed, reviewed_squad

DEMO = Path(__file__).parents[2] / "data_demo"


@pytest.fixture(scope="module")
def demo() -> SquadReview:
    """The demo squad."""
    return reviewed_squad(DEMO)


def test_row_shows_the_athletes_own_change(demo: SquadReview) -> None:
    """A mark is that of the athlete's own page, for the series named beforehand."""
    row = next(r for r in demo.rows if r.athlete == "brin")
    mark = row.mark_in("hang")
    headline = reviewed(DEMO, "brin").change.headline
    assert mark is not None
    assert headline is not None
    assert (mark.low_pct, mark.high_pct) == (headline.low_pct, headline.high_pct)
    assert (mark.verdict, mark.sure) == (
        headline.verdict,
        headline.verdict in ("weaker", "stronger"),
    )


def test_of_two_hands_the_one_that_gained_less(demo: SquadReview) -> None:
    """The mark of one-arm pulls is the lower change of the two hands."""
    series = reviewed(DEMO, "arvo").change.series
    hands = [s.change_pct for s in series if s.capacity == "pull"]
    mark = next(r for r in demo.rows if r.athlete == "arvo").mark_in("pull")
    assert mark is not None
    assert len(hands) == 2
    assert mark.change_pct == min(hands)


def test_flags_in_their_order(demo: SquadReview) -> None:
    """Each row's flags run from pain to silence, and the rows by the weightiest, then by name."""
    order = list(FlagKind)
    for row in demo.rows:
        places = [order.index(f.kind) for f in row.flags]
        assert places == sorted(places)
    first = [(r.rank, r.name) for r in demo.by_need]
    assert first == sorted(first)
    assert [r.athlete for r in demo.by_need][:2] == ["celm", "fenn"]
    assert {r.athlete for r in demo.rows if not r.flags} == {"arvo", "dova", "eske"}


def test_whom_to_call_first(demo: SquadReview) -> None:
    """Each reason names the thing, the place and the day."""
    told = squad.call_first(demo).replace(NBSP, " ")
    assert told == (
        "Celm: pain 4 of 10, right inner elbow, on 3 March, rising since 10 February. Fenn: body "
        "mass is 6.5 % lower than at the block's start: a point for a physician. Then Galo, Hesk "
        "and Brin."
    )


def test_wrongly_said_to_differ_in_five_of_a_hundred_squads_at_most() -> None:
    """
    Where all changed alike, a block is called different in any of three capacities in 5 % of
    squads, not in 5 % of each: 2 000 squads of exact normal errors on each of three seeds.
    """
    error = math.sqrt(0.05 * 0.95 / 2000)
    for seed in (1, 2, 3):
        rng = np.random.default_rng(seed)
        wrong = 0
        for _ in range(2000):
            sds = rng.uniform(0.03, 0.06, (3, 6))
            values = rng.normal(0.02, sds)
            chances = [chance_alike(v, sd) for v, sd in zip(values, sds, strict=True)]
            wrong += min(chances) < FALSE_DIFFERENCE_SHARE / 3
        assert abs(wrong / 2000 - 0.05) < 4 * error


def test_each_capacity_gets_its_part_of_the_five_per_cent() -> None:
    """Differences of a chance of 3 % are told where one capacity is tested, not where three are."""
    sds, values = np.full(4, 0.04), np.array([-0.0865, 0.0, 0.0, 0.0865])
    assert 0.05 / 3 < chance_alike(values, sds) < 0.05

    def rows(*capacities: str) -> list[SquadRow]:
        return [
            SquadRow(
                str(n),
                str(n),
                "B",
                (),
                changes=tuple(CapacityChange(c, v, 0.04, 0.7, 3.0, False) for c in capacities),
            )
            for n, v in enumerate(values.tolist())
        ]

    assert [c.differ for c in squad_changes(rows("hang"))] == [True]
    assert [c.differ for c in squad_changes(rows("hang", "repeater", "pull"))] == [False] * 3


def test_prior_is_that_of_a_nine_week_block(demo: SquadReview) -> None:
    """
    `kept` rests on the prior SD of the change: root of the weeks times the three rates' SDs, a
    formula of its own.
    """
    for row in demo.rows:
        for c in row.changes:
            own = reviewed(DEMO, row.athlete).fit
            weeks = own.evidence.last_day / 7
            both2 = PRIORS.capacity_slope**2 + PRIORS.grip_slope**2
            one_hand = c.capacity == "pull"
            mixture = own._mixture
            assert mixture is not None
            rate2 = sum(
                w
                * (
                    (s.slope * PRIORS.slope) ** 2
                    + s.apart**2 * (both2 + (PRIORS.series_slope * s.hands**one_hand) ** 2)
                )
                for w, s in zip(mixture.weight, mixture.shapes, strict=True)
            )
            prior = math.sqrt(9 * weeks * rate2)
            sd = 1 / math.sqrt(1 / c.log_sd**2 + 1 / prior**2)
            assert c.kept == pytest.approx(1 - (sd / prior) ** 2, abs=1e-9)
        if row.changes:
            break


def test_pooled_change_of_each_block(demo: SquadReview) -> None:
    """Three athletes or more of one block are pooled; the youth block with one is not."""
    assert {c.block for c in demo.changes} == {"Winter in the loft"}
    assert [c.capacity for c in demo.changes] == ["hang", "repeater", "pull"]
    for c in demo.changes:
        assert c.athletes == 7
        assert c.pooled.low < c.pooled.mean < c.pooled.high
        assert c.by_noise < c.pooled.n


def test_what_happened_together(demo: SquadReview) -> None:
    """Two sentences: the averages with their ranges, and whether the athletes differ."""
    (told,) = squad.together(demo.changes)
    number = r"[+\u2212]?\d+(\.\d)?"
    lane = rf"{number} % in (hangs|repeaters|pulls) \({number} to {number} %\)"
    assert re.match(
        rf"On average {lane}, {lane} and {lane}, 90 % ranges\.", told.replace(NBSP, " ")
    )
    assert "measured change: 4 of 7 in hangs" in squad.measured(demo.changes)


def test_about_claims_no_more_than_it_knows() -> None:
    """Expected counts in words."""
    assert [about(x) for x in (0.2, 0.8, 2.4, 37.2)] == [
        "hardly one",
        "about one",
        "about two",
        "about 37",
    ]


def test_two_athletes_are_no_squad(small_logs: Path) -> None:
    """Fewer than three measured athletes: nothing is pooled, and the page says so."""
    found = reviewed_squad(small_logs)
    assert found.changes == ()
    assert "Fewer than three athletes" in sections.squad_together(found)[0].html


def test_table_has_roles_and_labels(demo: SquadReview) -> None:
    """Rows shown as blocks keep their roles; a lane for each capacity that an athlete loaded."""
    page = "".join(p.html for p in sections.squad_opening(demo))
    assert page.count('role="row"') == 9
    assert page.count('class="lane"') == 7 * 3 + 1


def test_the_page_says_how_it_keeps_a_hidden_body_mass(demo: SquadReview) -> None:
    """No per cent of those who hide it, here or in what the run keeps; where it stands is said."""
    assert squad.hidden(demo) == (
        "Body mass is hidden for Dova and Eske: what can be told of their change stands on their "
        "own pages, in weight added, and counts in no average; in per cent it would give body mass "
        "away. results.csv does."
    )
    eske = next(row for row in demo.rows if row.athlete == "eske")
    assert [squad.lane(m) for m in eske.marks] == ["on their page"] * 3
    assert all(m.hidden and math.isnan(m.change_pct + m.low_pct + m.high_pct) for m in eske.marks)
    assert eske.changes == ()
    told = sections.squad_about(demo)[0].html
    assert "This page and results.csv are the coach" in told
    shown = [row for row in demo.rows if not row.hides_body_mass]
    assert squad.hidden(replace(demo, rows=tuple(shown))) == ""


def test_names_are_escaped(small_logs: Path) -> None:
    """A name with markup is text, in the lead and in its row."""
    page = "".join(p.html for p in sections.squad_opening(reviewed_squad(small_logs)))
    assert "<i>a</i>" not in page
    assert "Ada &lt;i&gt;A&lt;/i&gt;" in page


@pytest.mark.parametrize(
    ("last", "block_end", "silent"),
    [
        ("2026-02-17", "2026-03-29", False),  # 13 days of the block
        ("2026-02-16", "2026-03-29", True),
        ("2026-02-01", "2026-02-14", False),  # the block ends after 13
        ("2026-02-01", "2026-02-15", True),
        ("2026-02-15", "2026-02-15", False),  # the block is over
    ],
)
def test_silence_counts_while_the_block_runs(last: str, block_end: str, silent: bool) -> None:
    """Fourteen days of one's block without an entry, to the squad's last day, are a flag."""
    frame = SquadReview("loft", pd.Timestamp("2026-03-02"), (), 0, (), ("kim",))
    row = SquadRow(
        "kim", "Kim", "B", (), last=pd.Timestamp(last), block_end=pd.Timestamp(block_end)
    )
    flags = with_rows(frame, [row]).rows[0].flags
    assert [f.kind for f in flags] == ([FlagKind.NOTHING_LOGGED] if silent else [])


def many(demo: SquadReview, count: int, *, blocks: int = 1) -> SquadReview:
    """So many athletes like those of the demo, evenly over so many blocks."""
    rows = [
        replace(
            demo.rows[i % len(demo.rows)],
            athlete=f"{demo.rows[i % len(demo.rows)].athlete}{i}",
            name=f"Athlete {i:04d}",
            block=f"Block {i * blocks // count}",
        )
        for i in range(count)
    ]
    return with_rows(replace(demo, rows=(), ids=tuple(r.athlete for r in rows)), rows)


def shown_page(s: SquadReview) -> str:
    """All of the squad's page but its frame."""
    parts = (sections.squad_opening, sections.squad_together, sections.squad_about)
    return "".join(p.html for section in parts for p in section(s))


def test_a_squad_of_thousands_is_one_page(demo: SquadReview) -> None:
    """The table ends before it is too large, those with reasons to call on top, and says so."""
    page = shown_page(many(demo, 4000))
    assert len(page.encode()) < layout.SQUAD_BYTES + 60_000
    assert "part is left out" not in page
    told = re.search(r"<td role=\"cell\" colspan=\"3\">([\d,\s]+) more athletes are left out", page)
    assert told is not None
    rows = page.count('<th scope="row" role="rowheader"><a ')
    assert rows + int(re.sub(r"\D", "", told[1])) == 4000
    assert len(page.encode()) > layout.SQUAD_BYTES  # it is used up
    assert "Athlete 0002" in page  # flagged
    assert "Athlete 0000" not in page


@pytest.mark.parametrize(("less", "left"), [(0, 0), (1, 1)])
def test_the_squads_table_is_full_to_the_byte(
    demo: SquadReview, monkeypatch: pytest.MonkeyPatch, less: int, left: int
) -> None:
    """Rows that fit to the last byte all stand there; with a byte less the last is left out."""
    page = shown_page(demo)
    rows = re.findall(
        r'<tr role="row"><th scope="row" role="rowheader"><a .*?</tr>', page, re.DOTALL
    )
    assert len(rows) == 8
    monkeypatch.setattr(layout, "SQUAD_BYTES", sum(len(r.encode()) for r in rows) - less)
    page = shown_page(demo)
    assert page.count('<th scope="row" role="rowheader"><a ') == 8 - left
    assert ("1 more athlete is left out here" in page) is bool(left)


def test_a_long_name_costs_the_table_no_more_than_its_limit(demo: SquadReview) -> None:
    """A name of a hundred thousand letters in every row is a page under 3 MB all the same."""
    long = replace(demo, rows=tuple(replace(r, name="n" * 100_000) for r in demo.rows))
    assert len(shown_page(many(long, 60)).encode()) < 2_900_000
    wide = [replace(r, name="n" * 100_000 + str(i)) for i, r in enumerate(demo.rows * 9)]
    assert len(shown_page(replace(demo, rows=tuple(wide))).encode()) < 2_900_000


@pytest.mark.parametrize(("blocks", "more"), [(10, 0), (11, 1)])
def test_averages_of_many_blocks(demo: SquadReview, blocks: int, more: int) -> None:
    """Ten blocks are told at the head; that there are more is said there."""
    page = "".join(p.html for p in sections.squad_opening(many(demo, 8 * blocks, blocks=blocks)))
    assert page.count("<dt>Together</dt>") == 10 + more
    assert ("1 more block is under Behind the average." in page) is bool(more)


BLOCK = """[block]
name = "Four weeks"
start = 2026-01-05
weeks = 4
[limits]
fingers_per_week = 3
finger_session_minutes = 60
pain_level = 3
[[phase]]
name = "Hangs"
weeks = 4
exercise = "hang"
hang_s = 10
sets_per_session = 4
sessions_per_week = 1
"""


def flagged(
    folder: Path,
    *,
    hangs: dict[str, int],
    sessions: tuple[str, ...] = (),
    pain: tuple[str, ...] = (),
) -> list[tuple[FlagKind, str]]:
    """The flags of a written log, with their words; `hangs`: sets by day."""
    (folder / "block.toml").write_text(BLOCK)
    head = "athlete,date,sets,exercise,grip,hand,edge_mm,added_kg,hang_s,reserve_s\n"
    sets = (f"kim,2026-01-{day},{n},hang,half_crimp,both,20,5,10,3" for day, n in hangs.items())
    (folder / "hangs.csv").write_text(head + "\n".join(sets) + "\n")
    rows = ("athlete,date,kind,until,minutes,effort,note", *sessions)
    (folder / "sessions.csv").write_text("\n".join(rows) + "\n")
    rows = ("athlete,date,when,site,side,level,sign,note", *pain)
    (folder / "pain.csv").write_text("\n".join(rows) + "\n")
    row = reviewed_squad(folder).rows[0]
    told = [text.replace(NBSP, " ") for text in squad.flags(row)]
    return [(f.kind, text) for f, text in zip(row.flags, told, strict=False)]


def test_what_was_cleared_stands_before_limits(tmp_path: Path) -> None:
    """Its pain, its day and the limits it came with; then days injured; a plan's sets last."""
    found = flagged(
        tmp_path,
        hangs={"06": 4, "13": 6, "27": 4},
        sessions=(
            "kim,2026-01-14,injured,2026-01-16,,,",
            "kim,2026-01-20,cleared,,,,physio: no full crimp",
            "kim,2026-01-27,fingers,,70,6,",
        ),
        pain=("kim,2026-01-13,during,ring,left,5,,",),
    )
    assert found[:4] == [
        (
            FlagKind.CLEARED,
            "Pain 5 of 10, left ring finger, on 13 January, cleared on 20 January: “physio: no "
            "full crimp”.",
        ),
        (FlagKind.INJURED, "Injured three days."),
        (FlagKind.LIMIT_BROKEN, "70 minutes in a session, week 4 (limit 60)."),
        (FlagKind.SESSIONS_MISSING, "No finger session in week 3."),
    ]
    assert found[4:] == [(FlagKind.MORE_SETS, "6 sets in a session, week 2 (planned: 4).")]


@pytest.mark.parametrize(("day", "told"), [("06", True), ("05", False)])
def test_recent_pain_below_the_limit_is_told(tmp_path: Path, day: str, told: bool) -> None:
    """Felt in the 28 days before the last entry it is flagged; longer ago not."""
    found = flagged(
        tmp_path,
        hangs={"06": 4, "13": 4, "20": 4, "27": 4},
        sessions=("kim,2026-02-02,rest,,,,",),
        pain=(f"kim,2026-01-{day},after,elbow_outer,right,2,,",),
    )
    kinds = [kind for kind, _ in found]
    assert (FlagKind.PAIN_BELOW_LIMIT in kinds) is told


@pytest.mark.parametrize(("until", "missing"), [("14", True), ("15", False)])
def test_a_week_of_illness_misses_no_session(tmp_path: Path, until: str, missing: bool) -> None:
    """Four days ill excuse a week; three do not."""
    found = flagged(
        tmp_path,
        hangs={"06": 4, "20": 4, "27": 4},
        sessions=(f"kim,2026-01-12,ill,2026-01-{until},,,",),
        pain=("kim,2026-01-06,after,,,0,,",),
    )
    assert (FlagKind.SESSIONS_MISSING in [kind for kind, _ in found]) is missing


def test_minutes_over_the_limit_are_told_from_least_to_most(tmp_path: Path) -> None:
    """How many sessions there were, not one maximum for all of their weeks."""
    found = flagged(
        tmp_path,
        hangs={"06": 4, "13": 4, "20": 5, "27": 6},
        sessions=tuple(
            f"kim,2026-01-{day},fingers,,{minutes},6,"
            for day, minutes in (("06", 60), ("13", 61), ("20", 70), ("27", 100))
        ),
        pain=("kim,2026-01-06,after,,,0,,",),
    )
    assert [text for _, text in found] == [
        "61 to 100 minutes in 3 sessions (limit 60).",
        "5 to 6 sets in 2 sessions (planned: 4).",
    ]
