"""Verdicts of two grips, tests on two boards, pinches and edges: page and squad page say one."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from gripbook.html import Fragment
from gripbook.report import sections
from gripbook.reviews import BlockReview
from gripbook.reviews.change_facts import SharperBy
from gripbook.reviews.gaps import GapKind
from gripbook.reviews.squad import FlagKind
from gripbook.strength.evidence import log_over
from gripbook.words import ratio, squad, strength
from gripbook.words.fmt import NBSP
from gripbook.words.lead import LeadWord, lead
from tests.reviewed import DEMO, reviewed, reviewed_squad

HEAD = "athlete,date,sets,exercise,test,grip,edge_mm,board,added_kg,hang_s,rest_s,reps,reps_done"
HEAD += ",failed_s,reserve_s,hand\n"


def write(folder: Path, rows: list[str], block: str) -> Path:
    """One athlete's log and plan."""
    (folder / "block.toml").write_text(block)
    (folder / "hangs.csv").write_text(HEAD + "".join(f"kim,{row},both\n" for row in rows))
    (folder / "body.csv").write_text("athlete,date,body_mass_kg\nkim,2026-01-05,70\n")
    return folder


def plan(weeks: int = 4, more: str = "") -> str:
    """Say how long the block is and what its headline is."""
    return (
        f'[block]\nname = "B"\nstart = 2026-01-05\nweeks = {weeks}\n{more}\n'
        'headline = { capacity = "hang", grip = "half_crimp", hand = "both" }\n'
    )


def rise_and_fall(*, board: bool) -> list[str]:
    """Half crimp up by 14 kg, open hand down by 14 kg, tested on day 1 and in the last week."""
    out = []
    for n, day in enumerate(("01-05", "01-08", "01-12", "01-15", "01-19", "01-22", "01-29")):
        test = "yes" if day in ("01-05", "01-29") else ""
        at = "gym" if board and n > 3 else "home" if board else ""
        for grip, kg in (("half_crimp", 5 + 2.5 * n), ("open_three", 15 - 2.5 * n)):
            out.append(f"2026-{day},1,hang,{test},{grip},20,{at},{kg},10,,,,,")
            out.append(f"2026-{day},1,hang,{test},{grip},20,{at},{kg + 2.5},10,,,,8,")
    return out


def words(r: BlockReview) -> str:
    """The words of the section on strength."""
    parts = [repr(p) for p in sections.strength(r) if isinstance(p, Fragment)]
    return "\n".join(parts).replace(NBSP, " ")


def told(r: BlockReview, word: LeadWord) -> str:
    """One line of the first screen."""
    return next(x.text for x in lead(r) if x.word is word).replace(NBSP, " ")


def test_both_verdicts_are_told(tmp_path: Path) -> None:
    """Half crimp stronger, open hand weaker: in the first screen, and on the squad page."""
    folder = write(tmp_path, rise_and_fall(board=False), plan())
    text = told(reviewed(folder), LeadWord.STRONGER)
    assert text.startswith("Yes. Half crimp")
    assert text.endswith("Timed hangs (open hand, three fingers): weaker.")
    row = reviewed_squad(folder).rows[0]
    flag = next(f for f in row.flags if f.kind is FlagKind.WEAKER)
    assert squad.flag(flag) == "weaker in hangs with open hand, three fingers"
    assert squad.verdicts(row) == "Hangs with half crimp: stronger."


def test_a_running_block_tells_what_is_weaker(tmp_path: Path) -> None:
    """No verdict on the headline, but what fell is said."""
    r = reviewed(write(tmp_path, rise_and_fall(board=False), plan(5)))
    assert told(r, LeadWord.SO_FAR).endswith(
        "Timed hangs (open hand, three fingers): weaker so far."
    )


def test_tests_on_two_boards_are_one_story(tmp_path: Path) -> None:
    """Where a change is told, the range allows for the other board; it isn't said both ways."""
    r = reviewed(write(tmp_path, rise_and_fall(board=True), plan()))
    h = r.change.headline
    assert h is not None
    assert h.measured
    assert not h.tests_alike
    text = strength.answer(r.change)
    assert "edge, board or length differ, which the range allows for." in text
    assert "don't compare" not in text


PINCHES = [
    row
    for n, day in enumerate(("01-06", "01-09", "01-13", "01-16", "01-20", "01-27"))
    for row in (
        f"2026-{day},2,repeater,,half_crimp,15,,{n},7,3,6,,,",
        f"2026-{day},1,repeater,,half_crimp,15,,{n + 5},7,3,6,4,,",
        f"2026-{day},2,repeater,,pinch,60,,{n - 20},7,3,6,,,",
        f"2026-{day},1,repeater,,pinch,60,,{n - 15},7,3,6,4,,",
    )
]


@pytest.fixture
def pinched(tmp_path: Path) -> BlockReview:
    """Repeaters of two grips beside tests of timed hangs, on 15 mm after a block on 20 mm."""
    before = [
        f"2025-12-{day},3,hang,,half_crimp,20,,20,10,,,,," for day in ("08", "15", "22", "29")
    ]
    tests = [f"2026-01-{d},1,hang,yes,half_crimp,15,,17.5,10,,,,8," for d in ("05", "29")]
    tests += [f"2026-01-{d},1,hang,yes,half_crimp,15,,15,10,,,,,1" for d in ("05", "29")]
    more = "reference_edge_mm = 15\ntest_weeks = [1, 4]"
    text = plan(4, more).replace('capacity = "hang"', 'capacity = "repeater"')
    return reviewed(write(tmp_path, [*before, *tests, *PINCHES], text))


def test_a_pinch_is_stated_for_its_width(pinched: BlockReview) -> None:
    """On the page and in results.csv, and no edge's depth converts it."""
    (pinch,) = [s for s in pinched.change.series if s.grip == "pinch"]
    assert pinch.edge_mm == 60
    results = pinched.results
    assert results.loc[results["grip"] == "pinch", "edge_mm"].tolist() == [60.0]
    assert results.loc[results["grip"] == "half_crimp", "edge_mm"].tolist() == [15.0] * 2
    page = words(pinched)
    assert "pinch, both hands, 60 mm" in page
    assert "pinch, both hands, 15 mm" not in page
    load = pinch.start_kg
    chances = [
        pinched.fit.predict(pinch.fit.key, edge_mm=mm, load_kg=load) for mm in (40.0, 60.0, 80.0)
    ]
    assert chances[0] == chances[1] == chances[2]


def test_an_edge_is_converted_and_a_width_is_not() -> None:
    """Half the depth is a log of two less; a pinch, a sloper and what is not known stay."""
    assert log_over(10.0, 20.0, "half_crimp") == pytest.approx(-math.log(2))
    assert log_over(10.0, 20.0, "pinch") == log_over(10.0, 20.0, "sloper") == 0
    assert log_over(math.nan, 20.0, "half_crimp") == 0


def test_a_width_is_not_held_against_an_edge(pinched: BlockReview) -> None:
    """No grip is the weakest where one is a pinch."""
    assert [w for w in pinched.change.weakest if w.of == "grip"] == []
    assert all("pinch" not in (p.one.grip, p.other.grip) for p in pinched.change.pairs)


def test_whose_tests_are_missing(pinched: BlockReview) -> None:
    """Tests of hangs are no tests of repeaters; the log has tests all the same."""
    assert strength.answer(pinched.change).startswith(
        "No set of repeaters (half crimp) is marked as a test."
    )


def test_one_edge_in_the_block_is_not_said_to_have_changed(tmp_path: Path) -> None:
    """Sets of an earlier block on another edge ask for no test on this one's."""
    more = "reference_edge_mm = 15"
    before = [
        f"2025-12-{day},2,hang,,half_crimp,20,,20,10,,,,8," for day in (*range(15, 31, 2), 31)
    ]
    rows = [f"2026-01-{d:02},1,hang,,half_crimp,15,,0,10,,,,," for d in (5, 12)]
    rows += [f"2026-01-{d:02},1,hang,,half_crimp,15,,15,10,,,,8," for d in (24, 29)]
    one = reviewed(write(tmp_path, [*before, *rows], plan(4, more)))
    assert one.change.headline is not None
    assert one.change.headline.fit.edge_share >= 0.05
    assert SharperBy.SAME_EDGE not in [x.by for x in one.change.sharper]


def test_a_test_s_edge_stands_in_its_row(tmp_path: Path) -> None:
    """The block states strength for 25 mm; the only test was on 20 mm."""
    rows = [f"2026-01-{d:02},3,hang,,half_crimp,25,,5,10,,,,,3" for d in (5, 8, 12, 19, 29)]
    rows.append("2026-01-15,1,hang,yes,half_crimp,20,,15,10,,,,8,")
    parts = sections.strength(reviewed(write(tmp_path, rows, plan(4, "reference_edge_mm = 25"))))
    (table,) = [repr(p).replace(NBSP, " ") for p in parts if "the only test" in repr(p)]
    assert "half crimp, both hands, 20 mm" in table
    assert "25 mm" not in table


@pytest.mark.parametrize(("edge", "said"), [("20.4", False), ("20.5", True)])
def test_an_edge_in_inches_is_no_other_edge(tmp_path: Path, edge: str, said: bool) -> None:
    """A load is worked out from another edge from half a millimetre on."""
    rows = [row.replace(",20,", f",{edge},") for row in rise_and_fall(board=False)]
    text = told(reviewed(write(tmp_path, rows, plan())), LeadWord.STRONGER)
    assert ("worked out from" in text) is said


@pytest.mark.parametrize(("high", "ticks"), [(25.0, "+10"), (25.1, "+20")])
def test_ticks_of_a_wide_scale_stand_apart(high: float, ticks: str) -> None:
    """Up to 25 % of width a tick each 10 %, beyond each 20 %: else their words overlap."""
    demo = reviewed_squad(DEMO)
    row = next(r for r in demo.rows if r.athlete == "eske")
    mark = row.mark_in("hang")
    assert mark is not None
    one = replace(row, marks=(replace(mark, low_pct=1.0, high_pct=high),))
    page = "".join(p.html for p in sections.squad_opening(replace(demo, rows=(one,))))
    found = page[page.index('class="zero"') :].split('class="tick"')[1]
    assert ticks in found


@pytest.mark.parametrize("name", ["fenn", "galo"])
def test_page_and_results_have_one_change_of_body_mass(name: str) -> None:
    """Both rest on the means of three weigh-ins at each end, and the ratio says so."""
    r = reviewed(DEMO, name)
    share = 100 * math.log1p(r.body_mass.change_pct / 100)
    told = r.results["ratio_mass_pct"].dropna()
    assert len(told)
    assert told.tolist() == pytest.approx([share] * len(told))
    assert r.change.ratio is not None
    assert "over body mass (a mean of three weigh-ins): " in ratio.answer(
        r.change.ratio, r.body_mass
    )


def test_a_day_of_clearing_is_no_silent_day(tmp_path: Path) -> None:
    """It is noted, though neither a session nor a rest."""

    def silent(cleared: str) -> int:
        folder = tmp_path / (cleared or "none")
        folder.mkdir()
        write(folder, rise_and_fall(board=False), plan())
        row = f"kim,{cleared},cleared,physio\n" if cleared else ""
        (folder / "sessions.csv").write_text(f"athlete,date,kind,note\n{row}")
        return next(g.n for g in reviewed(folder).gaps if g.kind is GapKind.OPEN_DAYS)

    assert silent("") == silent("2026-01-21") + 1 == silent("2026-01-22")
