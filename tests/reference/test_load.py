"""Session load, monotony and strain against the papers they come from."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from gripbook.derive import daily_load, derive_sets, monotony, session_load, weekly_load
from gripbook.logs import Block, load_logs

# Foster C, Florhaug JA, Franklin J, et al. A new approach to monitoring exercise training.
# J Strength Cond Res 2001;15(1):109-115, Table 5: session RPE, minutes, printed load.
FOSTER_2001 = [
    (5, 180, 940),
    (2, 25, 50),
    (7, 120, 840),
    (7, 40, 280),
    (3, 60, 180),
    (8, 75, 390),
    (2, 25, 50),
    (8, 75, 390),
    (7, 40, 280),
]
#: Rows whose printed load is RPE x minutes; the other three are not (misprints in the paper).
CONSISTENT = [1, 2, 3, 4, 6, 8]


def test_session_loads_of_foster_2001() -> None:
    """Load = session RPE x minutes gives the printed loads, six rows of Foster 2001 Table 5."""
    rows = pd.DataFrame(FOSTER_2001, columns=["effort", "minutes", "printed"])
    loads = session_load(rows)
    assert list(loads[CONSISTENT]) == list(rows["printed"][CONSISTENT])
    assert (loads != rows["printed"]).sum() == 3


def test_weekly_sum_and_strain_of_foster_2001() -> None:
    """The printed loads sum to 3400; weekly load x monotony 1.26 = 4284 (Foster 2001 Table 5)."""
    printed = [load for _, _, load in FOSTER_2001]
    assert sum(printed) == 3400
    assert pytest.approx(4284) == 3400 * 1.26


def test_why_the_printed_monotony_is_no_daily_oracle() -> None:
    """
    1.26 is the nine sessions' mean over population SD, not the seven days' (Foster 2001 Table 5):
    daily totals give 1.2116 (population) or 1.1217 (sample). So the paper settles no convention,
    and ours (seven days, population SD) is printed wherever it is used.
    """
    sessions = np.array([load for _, _, load in FOSTER_2001], dtype=float)
    assert monotony(sessions) == pytest.approx(1.2646, abs=1e-4)
    days = np.array([940, 50, 840 + 280, 180, 390, 50, 390 + 280], dtype=float)
    assert monotony(days) == pytest.approx(1.2116, abs=1e-4)
    assert days.mean() / days.std(ddof=1) == pytest.approx(1.1217, abs=1e-4)


def test_population_against_sample_sd() -> None:
    """For seven days the sample SD gives sqrt(6/7) = 0.92582 of the monotony (algebra)."""
    rng = np.random.default_rng(1)
    days = rng.uniform(0, 500, 7)
    sample = days.mean() / days.std(ddof=1)
    assert sample / monotony(days) == pytest.approx(np.sqrt(6 / 7), rel=1e-12)


def test_equal_days_have_no_monotony() -> None:
    """Equal loads leave it undefined: neither 0 nor infinite (definition, Foster 1998)."""
    assert np.isnan(monotony([300.0] * 7))
    assert np.isnan(monotony([0.0] * 7))
    assert np.isnan(monotony([0.1 + 0.2, 0.3, 0.3, 0.3, 0.3, 0.3, 0.3]))


WEEK = [300, 0, 240, 0, 360, 180, 0]


def weeks_of(tmp_path: Path, loads: list[int | None], weeks: int = 1) -> pd.DataFrame:
    """Weekly load of a log with these daily loads (0 = rest day, None = nothing logged)."""
    start = dt.date(2026, 1, 5)
    lines = ["athlete,date,kind,minutes,effort"]
    for i, load in enumerate(loads):
        day = start + dt.timedelta(days=i)
        if load:
            lines.append(f"kim,{day},core,{load / 6:g},6")
        elif load == 0:
            lines.append(f"kim,{day},rest,,")
    (tmp_path / "sessions.csv").write_text("\n".join(lines) + "\n")
    (tmp_path / "hangs.csv").write_text("athlete,date,exercise,grip,hand,edge_mm,hang_s\n")
    logs = load_logs(tmp_path)
    block = Block("B", start, weeks)
    sets = derive_sets(logs.hangs, logs.body, block)
    last = start + dt.timedelta(days=len(loads) - 1)
    return weekly_load(daily_load(logs.sessions, sets, start, last), block)


def test_constructed_week(tmp_path: Path) -> None:
    """
    Worked by hand: loads 300 0 240 0 360 180 0 sum to 1080; population SD 142.914, monotony
    1.07957, weekly strain 1165.93. Leaving the rest days out would give 3.486.
    """
    row = weeks_of(tmp_path, list(WEEK)).iloc[0]
    assert row["load_au"] == 1080
    assert row["complete"]
    assert row["monotony"] == pytest.approx(1.07957, abs=1e-5)
    assert row["strain"] == pytest.approx(1165.93, abs=0.01)
    assert monotony([x for x in WEEK if x]) != pytest.approx(row["monotony"], abs=1)


def test_a_week_with_an_unlogged_day_is_not_computed(tmp_path: Path) -> None:
    """A day neither logged nor confirmed leaves the sum as a lower figure and no monotony."""
    row = weeks_of(tmp_path, [300, None, 240, 0, 360, 180, 0]).iloc[0]
    assert (row["load_au"], row["open_days"], bool(row["complete"])) == (1080, 1, False)
    assert np.isnan(row["monotony"])
    assert np.isnan(row["strain"])


def test_a_part_week_is_marked_and_not_compared(tmp_path: Path) -> None:
    """The week in which the log ends is marked; its change on the week before stays empty."""
    weeks = weeks_of(tmp_path, [*WEEK, 600, 0, 600], weeks=2)
    assert list(weeks["part"]) == [False, True]
    assert weeks["change_pct"].isna().all()


def test_change_and_four_week_mean(tmp_path: Path) -> None:
    """Change on the week before, and the mean of four complete weeks (arithmetic)."""
    weeks = weeks_of(tmp_path, [*WEEK, *[x * 2 for x in WEEK], *WEEK, *WEEK], weeks=4)
    assert list(weeks["change_pct"].round(6).fillna(-1)) == [-1, 100, -50, 0]
    assert weeks["mean4_au"].iloc[3] == pytest.approx(1080 * 5 / 4)
    assert weeks["mean4_au"].iloc[:3].isna().all()
