"""results.csv: figures rounded to what each row's range supports."""

from __future__ import annotations

import math

import pandas as pd
import pytest

from gripbook.report.results import results_csv, rounded_results
from gripbook.report.spreadsheet import bare_cell, plain_cell
from gripbook.strength import RESULT_COLUMNS

EXACT = {
    **{"athlete": "kim", "block": "Winter", "capacity": "hang", "grip": "half_crimp"},
    **{"hand": "both", "edge_mm": 20.0, "start_kg": 96.89134, "end_kg": 108.69573},
    **{"change_pct": 12.18341, "low_pct": 4.32379, "high_pct": 20.95012, "prob_rise": 0.9930701},
    **{"smallest_pct": 3.0, "verdict": "rise", "start_ratio": 1.3579712, "end_ratio": 1.5202155},
    **{"ratio_force_pct": 11.49652, "ratio_mass_pct": 0.210011, "sets": 33, "days": 7},
    "exact_sets": 0,
}


def rounded(**changes: float) -> dict[str, object]:
    """A row as results.csv has it."""
    frame = rounded_results(pd.DataFrame([EXACT | changes], columns=RESULT_COLUMNS))
    return dict(frame.iloc[0])


def test_figures_end_where_the_range_does() -> None:
    """A range 16.6 wide has an SD of 5.05: a decimal, and loads to match it (SD 4.9 kg)."""
    row = rounded()
    assert [row[c] for c in ("change_pct", "low_pct", "high_pct")] == [12.2, 4.3, 21.0]
    assert [row[c] for c in ("start_kg", "end_kg")] == [96.9, 108.7]
    assert [row[c] for c in ("start_ratio", "end_ratio")] == [1.358, 1.52]
    assert [row[c] for c in ("ratio_force_pct", "ratio_mass_pct")] == [11.5, 0.2]
    assert row["prob_rise"] == 0.993


@pytest.mark.parametrize(
    ("high", "change"),
    # SD 0.999, 1.001, 9.99 and 10.01 (1 SD is 3.2898 wide): two digits end at 0.01, 0.1, 0.1, 1
    [(7.61029, 12.18), (7.61689, 12.2), (37.18879, 12.2), (37.25479, 12.0)],
)
def test_two_digits_of_the_standard_deviation(high: float, change: float) -> None:
    """The place moves where the SD's first digit does."""
    assert rounded(high_pct=high)["change_pct"] == change


def test_what_is_not_known_stays_empty_and_nothing_is_certain() -> None:
    """Without a change a tenth of a kilogram; a probability is never 0 or 1."""
    none = dict.fromkeys(("change_pct", "low_pct", "high_pct", "prob_rise"), math.nan)
    row = rounded(**none, end_kg=math.nan)
    assert row["start_kg"] == 96.9
    assert row["start_ratio"] == 1.358
    assert all(math.isnan(row[c]) for c in (*none, "end_kg"))  # type: ignore[arg-type]
    assert rounded(prob_rise=0.99996)["prob_rise"] == 0.999
    assert rounded(prob_rise=0.00004)["prob_rise"] == 0.001
    assert str(rounded(change_pct=-0.01)["change_pct"]) == "0.0"


def test_the_change_can_be_worked_out_from_the_loads() -> None:
    """100 * (end / start - 1) of the rounded loads is within a fifth of the change's SD."""
    for width in (2.0, 5.0, 11.0, 16.63, 33.0, 80.0):
        row = rounded(high_pct=4.32379 + width)
        change = 100 * (float(row["end_kg"]) / float(row["start_kg"]) - 1)  # type: ignore[arg-type]
        assert abs(change - EXACT["change_pct"]) < 0.2 * width / 3.29  # type: ignore[operator]


def test_the_table_itself_stays_exact() -> None:
    """Rounding gives another frame; the text holds the rounded figures."""
    frame = pd.DataFrame([EXACT], columns=RESULT_COLUMNS)
    line = results_csv(frame).splitlines()[1]
    assert line.startswith("kim,Winter,hang,half_crimp,both,20,96.9,108.7,12.2,4.3,21,0.993,3,rise")
    assert frame["start_kg"].tolist() == [96.89134]
    assert results_csv(frame.iloc[:0]).splitlines() == [",".join(RESULT_COLUMNS)]


@pytest.mark.parametrize("text", ["+1.25 kg", "=1+1", "kim", "", "'quoted'"])
def test_a_cell_of_a_book_needs_no_apostrophe(text: str) -> None:
    """What was armed for CSV comes back as it was."""
    assert bare_cell(plain_cell(text)) == text
