"""What `results --diagnostics` says of logs that lie off what was foretold."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from gripbook.logs import load_logs
from gripbook.report import sections
from gripbook.report.results import DIAGNOSTICS_COLUMNS, chances_in_words, diagnostics_table
from gripbook.reviews import review
from gripbook.strength import Diagnostics
from gripbook.words import strength as words

DEMO = Path(__file__).parents[2] / "data_demo"
FOUND = Diagnostics(
    chances=pd.DataFrame(),
    classes=pd.DataFrame(
        {"low": [0.6, 0.8], "high": [0.8, 1.0], "said": [0.7, 0.9], "sets": [10, 40],
         "done": [8, 26], "sds": [0.4, -3.1]}
    ),
    days=pd.DataFrame(),
    places=pd.DataFrame(
        {"place": [0, 2], "off_pct": [0.5, -4.4], "sd_pct": [1.0, 1.1], "sets": [9, 7]}
    ),
    first_pct=-5.6,
    last_pct=7.4,
    suspects=("chances", "order", "first_day", "last_day"),
)  # fmt: skip


def test_each_suspect_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where, what, how far and what to do, for each thing that lies off."""
    monkeypatch.setattr("gripbook.report.results.block_diagnostics", lambda *_: FOUND)
    table, odd, failures = diagnostics_table(load_logs(DEMO), block="Youth winter")
    assert not failures
    assert list(table) == DIAGNOSTICS_COLUMNS
    mine = [line.removeprefix("dova, Youth winter: ") for line in odd if line.startswith("dova")]
    again = "Fatigue, another board or scale, or a slip can do that: repeat the test before you"
    assert mine == [
        "26 of 40 sets with a chance of 80 to 100 % were completed, 36.0 were expected. Look "
        "whether what was left is guessed too long or too short.",
        "sets after 2 others of their series lie 4 % below what tiring explains. Look at the "
        "order of sets in the log, and at rests.",
        f"the first day lies 6 % below the other days. {again} rely on it.",
        f"the last day lies 7 % above the other days. {again} rely on it.",
    ]
    n = table["athlete"].nunique()
    assert chances_in_words(table) == [
        f"Chance of 60 to 80 %: {10 * n} sets, {7 * n} expected to be completed, {8 * n} were.",
        f"Chance of 80 to 100 %: {40 * n} sets, {36 * n} expected to be completed, {26 * n} were.",
    ]


HELD = (
    "The model against this log: 50 hangs and repeater sets were foretold from the days before "
    "each; 43 were expected to be completed, and 34 were."
)


def test_the_page_says_what_lies_off() -> None:
    """A line of what was foretold and done; then each thing that lies off, without a figure."""
    assert words.check(replace(FOUND, suspects=())) == HELD
    assert words.check(FOUND) == (
        f"{HELD} That is fewer than luck explains; guesses of what was left may be too long. Later "
        "sets of a session lie off what tiring explains; note their order and rests. The block's "
        "first day lies clearly below the others, so its start may be too low. The last day lies "
        "clearly above the others; repeat the test before you rely on it."
    )
    other = replace(FOUND, first_pct=5.0, last_pct=-5.0, suspects=("first_day", "last_day"))
    assert words.check(other) == (
        f"{HELD} The block's first day lies clearly above the others, so its start may be too "
        "high. The last day lies clearly below the others; repeat the test before you rely on it."
    )
    more = FOUND.classes.assign(sds=[0.1, 2.9])
    assert "more than luck explains; guesses of what was left may be too short" in words.check(
        replace(FOUND, classes=more)
    )


@pytest.mark.parametrize(("sets", "told"), [(19, False), (20, True)])
def test_few_foretold_sets_tell_nothing(sets: int, told: bool) -> None:
    """From 20 sets on the line stands."""
    few = FOUND.classes.iloc[:1].assign(sets=sets)
    assert bool(words.check(replace(FOUND, classes=few, suspects=()))) == told


def test_the_line_stands_among_the_methods() -> None:
    """On a page with a log long enough, by what `diagnose` counts; not on that of a short one."""
    logs = load_logs(DEMO)
    for athlete, told in (("arvo", True), ("hesk", False)):
        r = review(logs, athlete)
        found = r.checked
        assert found is not None
        page = "".join(getattr(p, "html", "") for p in sections.log(r))
        assert (f"{int(found.classes['sets'].sum())} hangs and repeater sets" in page) == told


def test_an_odd_log_costs_no_other(monkeypatch: pytest.MonkeyPatch) -> None:
    """A failure is told by athlete; a log that says nothing has no rows."""

    def found(logs: object, athlete: str, *_: object) -> Diagnostics | None:
        if athlete == "arvo":
            raise ValueError("odd")
        return FOUND if athlete == "dova" else None

    monkeypatch.setattr("gripbook.report.results.block_diagnostics", found)
    table, _, failures = diagnostics_table(load_logs(DEMO))
    assert failures == {"arvo": "ValueError: odd"}
    assert set(table["athlete"]) == {"dova"}
