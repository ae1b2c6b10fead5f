"""Plan against log: days, steps, substitutions, and the rows behind them."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path

import pandas as pd

from gripbook.logs.block import Target
from gripbook.report import sections
from gripbook.report.sections.trace import row_ranges
from gripbook.reviews import BlockReview
from gripbook.reviews.done import Done, compare_with_plan
from gripbook.words import block as words
from gripbook.words.fmt import NBSP
from tests.derive_frames import BLOCK, START, derived, hang, pull, repeater, session, sessions
from tests.reviewed import reviewed
from tests.unit.test_reviews import add_rows


def done_of(sets: pd.DataFrame, rows: pd.DataFrame | None = None, **changes: object) -> Done:
    """The plan of the tests' common block against these sets."""
    block = dataclasses.replace(BLOCK, **changes)  # type: ignore[arg-type]
    last = pd.Timestamp(block.end)
    return compare_with_plan(sets, sessions() if rows is None else rows, block, last)


def test_step_of_the_added_weight() -> None:
    """Week on week the heaviest set of the last session tells the step, by added weight."""
    sets = derived(
        hang(on=0, added_kg=10.0),
        hang(on=3, added_kg=5.0),
        hang(on=7, added_kg=7.5),
        hang(on=7, added_kg=2.5),
    )
    steps = done_of(sets).steps
    assert steps[["week", "before", "step_kg"]].to_numpy().tolist() == [[2, 1, 2.5]]


def test_tests_and_warmups_are_no_steps() -> None:
    """A maximal test or a warm-up set between working sets makes no step."""
    sets = derived(
        hang(on=0, added_kg=5.0),
        hang(on=0, added_kg=20.0, test=True),
        hang(on=7, added_kg=5.0),
        hang(on=7, added_kg=30.0, warmup=True),
    )
    assert done_of(sets).steps["step_kg"].tolist() == [0.0]


def test_no_step_from_one_phase_into_the_next() -> None:
    """The first week of repeaters is not compared with hangs, nor a step made over phases."""
    sets = derived(hang(on=7, added_kg=10.0), repeater(on=14, added_kg=0.0))
    assert done_of(sets).steps.empty


def test_spans_run_from_first_to_last_week_of_a_phase() -> None:
    """Over the phase the change is told from its first to its last week."""
    sets = derived(
        *(repeater(on=14 + 7 * week, added_kg=kg) for week, kg in enumerate((0.0, 5.0, 2.5)))
    )
    spans = done_of(sets).spans
    assert spans[["before", "week", "step_kg"]].to_numpy().tolist() == [[3, 5, 2.5]]


def test_a_gauge_after_added_weight_is_not_compared() -> None:
    """An added weight and a load read from a gauge have no difference."""
    sets = derived(hang(on=0, added_kg=5.0), hang(on=7, force_kg=60.0))
    steps = done_of(sets).steps
    assert steps["step_kg"].isna().all()
    assert steps["step_pct"].isna().all()


def test_other_work_in_place_of_the_plan() -> None:
    """A session all of another kind than its week plans is a substitution, in words."""
    swaps = done_of(derived(repeater(on=0), hang(on=3))).swaps
    assert [words.swap(s) for s in swaps.itertuples()] == ["repeaters in place of timed hangs"]
    assert swaps["week"].tolist() == [1]


def test_other_grip_and_edge_than_the_target() -> None:
    """Where the plan names grip and edge, another grip or edge is a substitution."""
    target = Target("half_crimp", "both", 20.0)
    phases = (dataclasses.replace(BLOCK.phases[0], targets=(target,)), *BLOCK.phases[1:])
    sets = derived(hang(on=0, grip="open_four"), hang(on=3, edge_mm=18.0), hang(on=7))
    swaps = done_of(sets, phases=phases).swaps
    assert [words.swap(s).replace(NBSP, " ") for s in swaps.itertuples()] == [
        "open hand, four fingers in place of half crimp",
        "half crimp on 18 mm in place of 20 mm",
    ]


def test_days_by_kind() -> None:
    """Each block day holds its kinds of work once, in one order, and why it was without."""
    rows = sessions(session(0, "mobility"), session(0, "core"), session(0, "core"))
    days = done_of(derived(hang(on=0), hang(on=0), pull(on=1)), rows).days
    assert len(days) == 7 * BLOCK.weeks
    assert days["codes"].tolist()[:3] == [("fingers", "core", "mobility"), ("fingers",), ()]


def calendar(r: BlockReview) -> list[str]:
    """The calendar's lines, cells set apart by one blank, nothing logged as a dot."""
    table = next(p for p in sections.block(r) if "Day by day" in getattr(p, "html", ""))
    lines = repr(table).replace(NBSP, " ").splitlines()
    return [" ".join(cell.strip() or "." for cell in line.split("\t")) for line in lines]


def test_calendar_in_letters(small_logs: Path) -> None:
    """A line a week with seven places: letters, nothing logged, missing sessions as a remark."""
    minor = reviewed(small_logs, "bo")
    # nobody under 18 owes a finger session
    assert not any("missing" in line for line in calendar(minor))
    r = dataclasses.replace(minor, athlete=dataclasses.replace(minor.athlete, minor=False))
    lines = calendar(r)
    assert "1 5 Jan . Te . . . . . one finger session missing" in lines
    assert "2 12 Jan . Te il il il il il one finger session missing" in lines


def test_calendar_tint_is_by_kind_alone(small_logs: Path) -> None:
    """Two sets or ten, planned or not: a finger day has the same mark."""
    add_rows(small_logs, "hangs.csv", "ada,2026-01-24,9,pull,,,half_crimp,left,20,0,21,,,,,,,,")
    markup = "".join(
        p.html for p in sections.block(reviewed(small_logs, "ada")) if hasattr(p, "html")
    )
    days = re.findall(r'<td role="cell">([^\n]*?)</td>', markup)
    fingers = {m for day in days for m in re.findall(r"<[^<>]*>Fi</[^<>]*>", day)}
    assert fingers == {"<b>Fi</b>"}


def test_rows_behind_a_week(small_logs: Path) -> None:
    """The rows of a week are those of its sets and sessions; a range of days counts in each."""
    rows = reviewed(small_logs, "bo").done.rows
    week2 = rows[rows["week"] == 2]
    assert sorted(zip(week2["file"], week2["line"], strict=True)) == [
        ("hangs.csv", 13),
        ("sessions.csv", 10),
        ("sessions.csv", 11),
    ]


def test_row_ranges() -> None:
    """Lines that follow each other are drawn together, files apart."""
    places = [("b.csv", 9), ("a.csv", 4), ("a.csv", 2), ("a.csv", 3), ("a.csv", 8), ("a.csv", 8)]
    assert row_ranges(places) == "a.csv:2\u20134, 8; b.csv:9"
    assert row_ranges([]) == ""


def test_hidden_outside_sets_hold_no_body_mass(small_logs: Path) -> None:
    """What stands outside the plan carries no column that body mass could be read from."""
    outside = reviewed(small_logs, "cy").done.outside
    assert set(outside.columns) <= {
        "week",
        "date",
        "exercise",
        "grip",
        "hand",
        "edge_mm",
        "sets",
        "file",
        "line",
    }
    assert START.isoformat() == "2026-01-05"


def test_more_weight_on_a_larger_edge_is_not_comparable() -> None:
    """Load and edge moved against each other: neither harder nor easier is claimed."""
    sets = derived(hang(on=0, added_kg=0.0, edge_mm=18.0), hang(on=7, added_kg=5.0, edge_mm=22.0))
    assert done_of(sets).comparisons == (0, 0, 0, 1)


def test_less_weight_is_told_as_easier() -> None:
    """A step back is counted as such."""
    sets = derived(hang(on=0, added_kg=5.0), hang(on=7, added_kg=2.5))
    assert done_of(sets).comparisons == (0, 0, 1, 0)
    assert words.comparisons(done_of(sets)) == (
        "Load or edge from week to week, grip by grip: 0 harder, 1 easier (hangs and repeaters, no "
        "tests)."
    )
    assert words.comparisons(done_of(derived())) == ""
