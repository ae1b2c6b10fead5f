"""block.toml: the format's example, every wrong value with its line, and who a block is for."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from gripbook.logs import load_logs
from gripbook.logs.block import Headline, Target, read_block
from gripbook.words.problems import problem_line, reason_and_remedy

EXAMPLE = """\
[block]
name = "Winter fingers"
start = 2026-11-30          # first day; weeks run from it
weeks = 9
goal = "build"              # build, hold, or return: what success means
headline = { capacity = "hang", grip = "half_crimp", hand = "both" }   # named beforehand
reference_edge_mm = 20      # strength is stated for this edge
reference_hang_s = 10       # and this hold
plates_kg = [0.5, 1.25, 2.5, 2.5, 5, 10, 20]   # the pieces there are
edges_mm = [20, 18, 15, 12, 10]
test_weeks = [1, 9]
easy_weeks = [5]
smallest_change_pct = { hang = 3, pull = 5, repeater = 5 }

[limits]                    # what the block must not exceed
fingers_per_week = 3
rest_days_between_finger_days = 1
finger_session_minutes = 60
pain_level = 3

[[phase]]
name = "Timed hangs"
weeks = 2
exercise = "hang"
hang_s = 10
sets_per_session = 8        # all grips together; with alternate_hands a set is the pair
set_rest_s = [120, 120]
sessions_per_week = 2

[[phase]]
name = "Repeaters"
weeks = 4
exercise = "repeater"
reps = 5
hang_s = 7
rest_s = 3
sets_per_session = 5
set_rest_s = [150, 180]
sessions_per_week = 2
[[phase.target]]            # optional: what to load
grip = "half_crimp"
hand = "both"
edge_mm = 20
added_kg = 2.5

[[phase]]
name = "One-arm pulls"
weeks = 3                   # phases follow each other; from_week = N lets them overlap
exercise = "pull"
sets_per_session = 6
set_rest_s = [210, 240]
alternate_hands = true
sessions_per_week = 2

[weekly]                    # other work, days a week; a target, not a limit. May stand in a phase
core = 2
antagonist = 1
mobility = 4

[athlete.kim]               # optional: what differs for one athlete
plates_kg = [1, 2, 2, 5]
"""


def test_the_example_of_the_format() -> None:
    """The format's own example reads without a problem, every value in its place."""
    block, problems = read_block(EXAMPLE, "block.toml")
    assert problems == []
    assert block is not None
    assert (block.name, block.start, block.weeks) == ("Winter fingers", dt.date(2026, 11, 30), 9)
    assert block.end == dt.date(2027, 1, 31)
    assert block.headline == Headline("hang", "half_crimp", "both")
    assert [(p.name, p.from_week, p.to_week) for p in block.phases] == [
        ("Timed hangs", 1, 2),
        ("Repeaters", 3, 6),
        ("One-arm pulls", 7, 9),
    ]
    assert block.phases[1].targets == (Target("half_crimp", "both", 20.0, 2.5),)
    assert block.phases[2].alternate_hands
    assert block.limits.fingers_per_week == 3
    assert block.weekly_in(4) == {"core": 2, "antagonist": 1, "mobility": 4}
    assert block.for_athlete("kim").plates_kg == (1, 2, 2, 5)
    assert block.for_athlete("lou").plates_kg == (0.5, 1.25, 2.5, 2.5, 5, 10, 20)


def test_three_keys_are_enough() -> None:
    """Name, start and weeks make a block; limits are then a beginner's."""
    text = '[block]\nname = "a"\nstart = "2026-01-05"\nweeks = 2\n'
    block, problems = read_block(text, "b")
    assert problems == []
    assert block is not None
    assert block.limits.fingers_per_week == 2
    assert block.limits.stated == frozenset()
    assert block.smallest_change_pct == {"hang": 3, "pull": 5, "repeater": 5}


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ("weeks = 9", 'weeks = "nine"', 4, "weeks = 'nine': isn't a number."),
        ("weeks = 9", "weeks = 0", 4, "weeks = '0': is outside 1 to 104."),
        ("start = 2026-11-30", 'start = "30.11.2026"', 3, "start = '30.11.2026': isn't a date."),
        ('goal = "build"', 'goal = "grow"', 5, "goal = 'grow': isn't build, hold or return."),
        ('hand = "both" }', 'hand = "two" }', 6, "hand = 'two': isn't both, left or right."),
        ("test_weeks = [1, 9]", "test_weeks = [1, 10]", 11, "test_weeks = '10': is after the"),
        ("easy_weeks = [5]", "easy_weeks = 5", 12, "easy_weeks = '5': isn't a list."),
        ("pain_level = 3", "pain_level = 6", 19, "pain_level = '6': is outside 0 to 5."),
        (
            "set_rest_s = [120, 120]",
            "set_rest_s = [1]",
            27,
            "set_rest_s = '[1]': needs 2 entries and has 1.",
        ),
        ("[210, 240]", "[240, 210]", 51, "set_rest_s = '[240, 210]': runs from long to short."),
        ("alternate_hands = true", 'alternate_hands = "yes"', 52, "is neither true nor false."),
        ('name = "Winter fingers"\n', "", 1, "name: is missing in [block]."),
    ],
)
def test_wrong_values(old: str, new: str, line: int, words: str) -> None:
    """A wrong value refuses the block and is told with its line, value, reason and remedy."""
    assert old in EXAMPLE
    block, problems = read_block(EXAMPLE.replace(old, new, 1), "block.toml")
    assert block is None
    (problem,) = problems
    assert problem.line == line
    assert words in problem_line(problem)
    assert reason_and_remedy(problem)[1]


def test_phases_longer_than_the_block() -> None:
    """Phases that run past the block's end are an error that names the phase."""
    block, problems = read_block(EXAMPLE.replace("weeks = 4", "weeks = 6"), "block.toml")
    assert block is None
    assert "One-arm pulls" in problem_line(problems[0])
    assert "ends in week 11, after the block's 9 weeks." in problem_line(problems[0])


def test_broken_toml_names_the_line() -> None:
    """A file that is no TOML is told with the line where reading stopped."""
    block, problems = read_block('[block]\nname = "a"\nweeks = = 2\n', "block.toml")
    assert block is None
    assert (problems[0].line, problems[0].code) == (3, "block_toml")


def test_unknown_keys_are_told() -> None:
    """A misspelt key changes nothing and is a warning with its line."""
    block, problems = read_block(EXAMPLE.replace("plates_kg = [0.5", "plate_kg = [0.5"), "b.toml")
    assert block is not None
    (problem,) = problems
    assert (problem.severity, problem.line, problem.column) == ("warning", 9, "plate_kg")


def test_phases_may_overlap() -> None:
    """from_week lets phases share weeks; each exercise finds its own phase."""
    text = EXAMPLE.replace('name = "One-arm pulls"', 'name = "One-arm pulls"\nfrom_week = 6')
    block, _ = read_block(text, "b")
    assert block is not None
    found = block.phase_in(6, "pull")
    assert found is not None
    assert found.name == "One-arm pulls"
    other = block.phase_in(6, "repeater")
    assert other is not None
    assert other.name == "Repeaters"


def write(folder: Path, **files: str) -> None:
    """Write a folder of one athlete's hangs and the given block files."""
    rows = "athlete,date,exercise,grip,hand,edge_mm,hang_s\n"
    for who, day in (("kim", "2026-01-05"), ("kim", "2026-03-02"), ("lou", "2026-01-06")):
        rows += f"{who},{day},hang,half_crimp,both,20,10\n"
    (folder / "hangs.csv").write_text(rows)
    for name, text in files.items():
        (folder / f"{name.replace('_', '-')}.toml").write_text(text)


def small(name: str, start: str, more: str = "") -> str:
    """A block file of four weeks."""
    return f'[block]\nname = "{name}"\nstart = {start}\nweeks = 4\n{more}'


def test_several_blocks(tmp_path: Path) -> None:
    """Of several blocks the latest begun is shown; by name any; `athletes` limits one."""
    write(
        tmp_path,
        block_a=small("First", "2026-01-05"),
        block_b=small("Second", "2026-03-02", 'athletes = ["kim"]\n'),
    )
    logs = load_logs(tmp_path)
    assert logs.block_for("kim").name == "Second"
    assert logs.block_for("kim", "First").name == "First"
    assert logs.block_for("lou").name == "First"


def test_a_grip_of_ones_own(tmp_path: Path) -> None:
    """A grip that the block file declares may stand in the log."""
    write(tmp_path, block=small("A", "2026-01-05", 'grips = ["monkey_ball"]\n'))
    with (tmp_path / "hangs.csv").open("a") as file:
        file.write("kim,2026-01-08,hang,monkey_ball,both,20,10\n")
    logs = load_logs(tmp_path)
    assert logs.errors == ()
    (tmp_path / "block.toml").unlink()
    assert [p.code for p in load_logs(tmp_path).errors] == ["unknown_grip"]


def test_two_blocks_of_one_name(tmp_path: Path) -> None:
    """Two blocks of one name for the same athletes cannot be told apart: the second is refused."""
    write(tmp_path, block_a=small("A", "2026-01-05"), block_b=small("A", "2026-03-02"))
    logs = load_logs(tmp_path)
    assert [p.code for p in logs.errors] == ["block_name_twice"]
    assert len(logs.blocks) == 1


def test_a_block_for_an_unknown_athlete(tmp_path: Path) -> None:
    """An id in the block file that stands in no log is told: it may be misspelt."""
    write(tmp_path, block=small("A", "2026-01-05", 'athletes = ["kim", "kin"]\n'))
    assert [(p.code, p.value) for p in load_logs(tmp_path).warnings if p.file == "block.toml"] == [
        ("block_unknown_athlete", "kin")
    ]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (
            'athlete = 3\n[block]\nname = "a"\nstart = 2026-01-05\nweeks = 2\n',
            "block.toml:1: error: athlete = '3': isn't a table. Write it as [athlete.ID].",
        ),
        (
            '[block]\nname = "a"\nstart = 9999-12-31\nweeks = 2\n',
            "block.toml:3: error: start = '9999-12-31': is outside the years 1950 to 2200. "
            "Correct the year.",
        ),
        (
            '[block]\nname = "a"\nstart = 2026-01-05\nweeks = 2\n[athlete.kim]\ntest_weeks = [5]\n',
            "block.toml:6: error: test_weeks = '5': is after the block's last week, 2. "
            "Correct the week.",
        ),
    ],
)
def test_odd_values_are_told_not_raised(text: str, told: str) -> None:
    """Values that once crashed the reader, or passed unseen, are errors with their line."""
    block, problems = read_block(text, "block.toml")
    assert block is None
    assert [problem_line(p) for p in problems] == [told]


TWO_PHASES = """\
[block]
name = "a"
start = 2026-01-05
weeks = 4
smallest_change_pct = { hang = 4, pull = 6 }

[limits]
fingers_per_week = 3

[[phase]]
name = "One"
weeks = 2
exercise = "hang"
hang_s = 10
[[phase.target]]
grip = "half_crimp"
edge_mm = 20

[[phase]]
name = "Two"
weeks = 2
exercise = "repeater"
hang_s = 7
[[phase.target]]
grip = "half_crimp"
edge_mm = 15

[weekly]
core = 2
mobility = 4

[athlete.kim]
smallest_change_pct = { pull = 8 }
[athlete.kim.limits]
fingers_per_week = 1
[athlete.kim.weekly]
core = 1
"""


@pytest.mark.parametrize(
    ("old", "new", "line", "key"),
    [
        ("hang_s = 7", "hang_s = 0", 23, "hang_s"),  # phase one has hang_s = 10
        ("edge_mm = 15", "edge_mm = 0", 26, "edge_mm"),
        ('name = "Two"\n', "", 19, "name"),
        ('name = "Two"\nweeks = 2', 'name = "Two"\nweeks = 0', 21, "weeks"),
        ("core = 1", "core = 8", 37, "core"),
        ("fingers_per_week = 1", "fingers_per_week = true", 35, "fingers_per_week"),
        ("pull = 8", "pull = 0", 33, "pull"),
        ("weeks = 4\n", "", 1, "weeks"),  # the phases have weeks
        ('name = "Two"\nweeks = 2', 'name = "Two"\nweeks = 3', 20, "name"),
    ],
)
def test_lines_are_of_the_table_meant(old: str, new: str, line: int, key: str) -> None:
    """A key that stands in several tables is told at the line of the one that is wrong."""
    assert TWO_PHASES.count(old) == 1
    block, problems = read_block(TWO_PHASES.replace(old, new), "b")
    assert block is None
    assert [(p.line, p.column) for p in problems] == [(line, key)]


def test_unknown_keys_have_the_line_of_their_table() -> None:
    """An unknown key in the second phase is not told at the line of another table."""
    text = TWO_PHASES.replace("hang_s = 7", "hold_s = 7\nhang_s = 7") + "hold_s = 1\n"
    _, problems = read_block(text, "b")
    assert [(p.severity, p.line, p.column) for p in problems] == [
        ("warning", 23, "hold_s"),
        ("warning", 39, "hold_s"),
    ]


def test_an_athletes_tables_change_only_what_they_name() -> None:
    """What an athlete's own tables leave out stays as the block has it."""
    block, problems = read_block(TWO_PHASES, "b")
    assert problems == []
    assert block is not None
    kim = block.for_athlete("kim")
    assert kim.smallest_change_pct == {"hang": 4, "pull": 8, "repeater": 5}
    assert kim.weekly == {"core": 1, "mobility": 4}
    assert kim.limits.fingers_per_week == 1
    assert block.for_athlete("lou").weekly == {"core": 2, "mobility": 4}


@pytest.mark.parametrize(
    "text",
    [
        "x = " + "[" * 5000,
        "x = " + "9" * 5000,
        "start = 2026-02-30",
        "[block]\n[block]\n",
        'x = "a\nb"',
        "\0",
        "",
        "[[block]]\n",
        "phase = [1]\n[block]\nname='a'\nstart=2026-01-05\nweeks=1\n",
        "[block]\nname='a'\nstart=2026-01-05\nweeks=1\nheadline='hang'\n",
        "[block]\nname='a'\nstart=07:30:00\nweeks=1\n",
        "[block]\nname='a'\nstart=2026-01-05\nweeks=nan\n",
        "[block]\nname='a'\nstart=2026-01-05\nweeks=1.5\n",
        "[block]\nname=''\nstart=2026-01-05\nweeks=1\n",
        "weekly=3\n[block]\nname='a'\nstart=2026-01-05\nweeks=1\n",
        "athlete.kim=3\n[block]\nname='a'\nstart=2026-01-05\nweeks=1\n",
    ],
)
def test_no_text_crashes_the_block_reader(text: str) -> None:
    """Whatever stands in a block file: a block or an error, never an exception."""
    block, problems = read_block(text, "b")
    assert block is None
    assert [p.severity for p in problems] == ["error"]
