"""Notes of eating less and a steady fall: who is sent to a physician, and what is not told."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from gripbook.charts import draw_change
from gripbook.report import sections
from gripbook.reviews import BlockReview
from gripbook.reviews.change_facts import ChangeVerdict
from gripbook.reviews.notes import speaks_of_eating_less
from gripbook.reviews.squad import FlagKind, SquadRow
from gripbook.words import lead, log, squad, strength
from gripbook.words.fmt import NBSP
from gripbook.words.lead import LeadWord
from tests.reviewed import reviewed, reviewed_squad

PLAN = '[block]\nname = "Autumn"\nstart = 2026-09-14\nweeks = {weeks}\ngoal = "hold"\n'
HANGS = "athlete,date,sets,exercise,grip,hand,edge_mm,added_kg,hang_s,failed_s,reserve_s,note\n"
#: Six weeks of rising weights, each with its limit.
ROWS = [
    (f"2026-{day}", kg)
    for day, kg in (
        *(("09-15", -10), ("09-19", -10), ("09-22", -7.5), ("09-29", -5), ("10-06", -2.5)),
        *(("10-13", -2.5), ("10-20", 0), ("10-24", 0), ("10-27", 2.5)),
    )
]
STEADY = [50.0, 49.6, 49.1, 48.5]
LEVEL = [50.0, 50.0, 50.0, 50.0]


def write(
    folder: Path,
    *,
    born: int = 2011,
    show: str = "",
    kg: list[float] = LEVEL,
    note: str = "",
    weeks: int = 7,
) -> Path:
    """One athlete's rising block; weigh-ins on four days, the last with a note."""
    (folder / "block.toml").write_text(PLAN.format(weeks=weeks))
    (folder / "athletes.csv").write_text(f"athlete,born,show_body_mass\nkim,{born},{show}\n")
    days = ("2026-09-15", "2026-10-03", "2026-10-17", "2026-10-27")
    weighed = [
        f"kim,{day},{m},{note if day == days[-1] else ''}" for day, m in zip(days, kg, strict=False)
    ]
    (folder / "body.csv").write_text("\n".join(["athlete,date,body_mass_kg,note", *weighed]) + "\n")
    sets = [
        row
        for day, on in ROWS
        for row in (
            f"kim,{day},3,hang,half_crimp,both,20,{on},10,,3,",
            f"kim,{day},1,hang,half_crimp,both,20,{on + 5},10,8,,",
        )
    ]
    (folder / "hangs.csv").write_text(HANGS + "\n".join(sets) + "\n")
    return folder


def told(r: BlockReview, word: LeadWord) -> str:
    """A line of the first screen; "" for none."""
    return " ".join(x.text for x in lead.lead(r) if x.word is word).replace(NBSP, " ")


def row(folder: Path) -> SquadRow:
    """The one row of the squad page."""
    return reviewed_squad(folder).rows[0]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("skipping dinner for lightness", True),
        ("skipped the lunch", True),
        ("no breakfast", True),
        ("hardly eaten all day", True),
        ("didn\u2019t eat", True),
        ("cutting before the trip", True),
        ("on a diet", True),
        ("lost weight for the comp", True),
        ("not dieting", False),
        ("diet coke", False),
        ("starving myself", True),
        ("starved for rock", False),
        ("cut weight", True),
        ("weniger gegessen", True),
        ("didn't skip dinner", False),
        ("cutting loose on the roof", False),
        ("cut my finger", False),
        ("fast hangs", False),
        ("skipped the last set", False),
        ("ate well", False),
        ("Abendessen ausgelassen", True),
        ("kaum gegessen", True),
        ("ohne Frühstück", True),
        ("keine Diät", False),
        ("gut gegessen", False),
        ("j'ai sauté le dîner", True),
        ("pas mangé", True),
        ("sans régime", False),
        ("bien mangé", False),
    ],
)
def test_notes_of_eating_less(text: str, said: bool) -> None:
    """In three languages; what a negation takes back and what only sounds like it is not meant."""
    assert speaks_of_eating_less(text) is said


def test_a_minor_s_gain_is_not_told_beside_a_note_of_eating_less(tmp_path: Path) -> None:
    """No "Yes", no kilograms and no per cent, on page and squad page; a physician stands first."""
    folder = write(tmp_path, note="skipping dinner")
    r = reviewed(folder)
    first = told(r, LeadWord.MINOR)
    assert "A note on 27 October speaks of eating less. Talk about food and energy" in first
    assert "with a guardian, and see a physician together." in first
    assert (
        told(r, LeadWord.STRONGER)
        == "Can't tell: a physician should look at food and energy first."
    )
    s = r.change.series[0]
    assert (s.verdict, s.withheld, s.training) == (ChangeVerdict.NOT_MEASURED, True, None)
    assert math.isnan(s.low_kg + s.high_kg)
    assert draw_change(r.change) is None
    assert strength.answer(r.change) == strength.without_end(r.change) == ""
    assert "stronger" not in repr(sections.strength(r))
    mark = row(folder).mark_in("hang")
    assert mark is not None
    assert math.isnan(mark.low_pct + mark.change_pct + mark.high_pct)
    assert squad.lane(mark) == "not told"
    assert [f.kind for f in row(folder).flags][:1] == [FlagKind.ENERGY_NOTE]
    assert squad.flags(row(folder))[0].replace(NBSP, " ") == (
        "A note of 27 October speaks of eating less: talk to them and a guardian, see a physician."
    )


def test_without_such_a_note_the_gain_is_of_weight_added(tmp_path: Path) -> None:
    """Hidden body mass: what was gained is weight on the belt, and it says so."""
    r = reviewed(write(tmp_path))
    text = told(r, LeadWord.STRONGER)
    assert text.startswith("Yes. ")
    assert text.endswith("Weight added; changes of body mass are not counted.")
    assert "food" not in told(r, LeadWord.MINOR)


def test_a_steady_fall_of_a_minor_is_a_physician_s(tmp_path: Path) -> None:
    """3 % in four weigh-ins, none above the one before: said without a figure of weight."""
    folder = write(tmp_path, kg=STEADY)
    r = reviewed(folder)
    assert told(r, LeadWord.MINOR).endswith(
        "Talk about food and energy with a guardian, and see a physician together."
    )
    assert told(r, LeadWord.STRONGER).startswith("Can't tell: a physician")
    assert squad.flags(row(folder))[0] == "Food and energy: a point for a physician."
    assert r.body_mass.fall is None


@pytest.mark.parametrize(
    ("kg", "born", "asked"),
    [
        (STEADY, 2011, True),  # 3.0 %
        ([50.0, 49.6, 49.1, 48.51], 2011, False),
        ([50.0, 48.4, 48.6, 48.5], 2011, False),  # it rose between
        (STEADY, 1990, False),
    ],
)
def test_lines_of_a_steady_fall(tmp_path: Path, kg: list[float], born: int, asked: bool) -> None:
    """From 3 % on, unbroken, and under 18 alone."""
    assert reviewed(write(tmp_path, kg=kg, born=born)).body_mass.fell is asked


def test_two_weigh_ins_are_no_steady_fall(tmp_path: Path) -> None:
    """Two tell no run; three do."""
    assert not reviewed(write(tmp_path, kg=STEADY[:1] + STEADY[-1:])).body_mass.fell
    three = tmp_path / "three"
    three.mkdir()
    assert reviewed(write(three, kg=[50.0, 49.1, 48.5])).body_mass.fell


@pytest.mark.parametrize("show", ["yes", "no"])
def test_an_adult_s_gain_is_told_where_body_mass_is(tmp_path: Path, show: str) -> None:
    """Shown, the load is known and the gain stands; hidden, lost mass could pass for it."""
    r = reviewed(write(tmp_path, born=1990, show=show, note="cutting before the trip"))
    text = told(r, LeadWord.ENERGY)
    assert text.startswith("A note on 27 October speaks of eating less. Talk about food and energy")
    assert text.endswith("with a physician.")
    assert r.change.series[0].withheld is (show == "no")


def test_a_running_block_of_hidden_mass_says_why_there_is_no_load(tmp_path: Path) -> None:
    """No load stands there, and no empty reason."""
    assert told(reviewed(write(tmp_path, weeks=8)), LeadWord.SO_FAR) == (
        "Loads aren't shown on this page; the change is told when the block ends."
    )


def test_a_minor_is_told_that_weight_is_a_physician_s(tmp_path: Path) -> None:
    """The caution stands where body mass is shown, and for anyone under 18."""
    caution = log.CAUTION_MASS
    assert caution in repr(sections.log(reviewed(write(tmp_path))))
    adult = tmp_path / "adult"
    adult.mkdir()
    assert caution not in repr(sections.log(reviewed(write(adult, born=1990, show="no"))))
