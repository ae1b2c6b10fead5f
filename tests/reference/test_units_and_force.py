"""Units, force on the fingers and set times against standards and facts of the trade."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy import constants

from gripbook import units
from gripbook.derive import derive_sets
from gripbook.derive.loading import SCALE_ERROR_KG, load_on_fingers_kg
from gripbook.logs import load_logs
from gripbook.logs.block import SET_REST_S, Limits, read_block
from gripbook.logs.template import BLOCK_TEMPLATE

HEADER = (
    "athlete,date,exercise,grip,hand,edge_mm,added_kg,scale_kg,stand_kg,force_kg,hang_s,rest_s,reps"
)


def one_set(folder: Path, row: str, body_kg: float = 72.0) -> dict[str, float]:
    """Derive a single set of an athlete weighed on its day."""
    (folder / "hangs.csv").write_text(f"{HEADER}\nkim,2026-01-05,{row}\n")
    (folder / "body.csv").write_text(f"athlete,date,body_mass_kg\nkim,2026-01-05,{body_kg}\n")
    logs = load_logs(folder)
    assert logs.errors == ()
    found = derive_sets(logs.hangs, logs.body, logs.block_for("kim")).iloc[0]
    return {str(k): v for k, v in found.items()}


def test_standard_gravity() -> None:
    """9.80665 m/s2 (3rd CGPM 1901), as scipy.constants has it."""
    assert units.STANDARD_GRAVITY == 9.80665 == constants.g


def test_pound_and_inch() -> None:
    """0.45359237 kg and 25.4 mm, exact since 1959; scipy rounds the pound's last bit."""
    assert units.KG_PER_LB == 0.45359237
    assert pytest.approx(constants.lb, abs=1e-12) == units.KG_PER_LB
    assert pytest.approx(constants.inch * 1000) == units.MM_PER_INCH
    # 100 lb = 45.359237 kg = 444.82216 N (scipy.constants.lbf)
    assert units.kg_to_n(units.lb_to_kg(100)) == pytest.approx(100 * constants.lbf, rel=1e-12)
    assert units.kg_to_lb(units.lb_to_kg(37.5)) == pytest.approx(37.5)


def test_one_arm_pull_over_a_scale(tmp_path: Path) -> None:
    """72 kg over a scale that still shows 18.5 kg: 53.5 kg = 524.66 N (arithmetic, g as above)."""
    found = one_set(tmp_path, "pull,half_crimp,left,20,,18.5,,,,,")
    assert found["load_kg"] == pytest.approx(53.5)
    assert found["force_n"] == pytest.approx(524.6558, abs=1e-4)
    assert found["load_source"] == "body"


@pytest.mark.parametrize(("added", "newtons"), [(25, 951.24505), (-10, 608.0123)])
def test_added_and_counterweight(tmp_path: Path, added: float, newtons: float) -> None:
    """72 kg and 25 kg added: 951.245 N; 10 kg taken off by a counterweight: 608.012 N."""
    found = one_set(tmp_path, f"hang,half_crimp,both,20,{added},,,,10,,")
    assert found["force_n"] == pytest.approx(newtons, abs=1e-4)


def test_three_ways_to_a_load() -> None:
    """Gauge before stand minus scale before body mass plus added minus scale (log format 1)."""
    nan = np.nan
    load = load_on_fingers_kg(
        body_mass_kg=np.array([70.0, 70.0, 70.0, nan]),
        added_kg=np.array([5.0, 5.0, 5.0, 0.0]),
        scale_kg=np.array([20.0, 20.0, nan, 20.0]),
        stand_kg=np.array([76.0, 76.0, nan, 76.0]),
        force_kg=np.array([41.0, nan, nan, nan]),
    )
    assert list(load) == [41.0, 56.0, 75.0, 56.0]


def test_error_of_an_over_scale_pull(tmp_path: Path) -> None:
    """
    Typical error 5 % of 53.5 kg with 1 kg of scale and 0.5 kg of body mass: 5.42 % (arithmetic;
    5 % is in the range of McClean et al. 2023, Int J Exerc Sci 16(4):912-923, CV 5.6 %).
    """
    found = one_set(tmp_path, "pull,half_crimp,left,20,,18.5,,,,,")
    assert found["load_error_kg"] == pytest.approx(np.hypot(SCALE_ERROR_KG, 0.5))
    whole = np.hypot(0.05 * 53.5, found["load_error_kg"]) / 53.5
    assert 100 * whole == pytest.approx(5.42, abs=0.005)


def test_a_repeater_set_is_a_minute(tmp_path: Path) -> None:
    """6 x (7 s + 3 s) = 60 s, 42 s of them under load (common practice, no source)."""
    found = one_set(tmp_path, "repeater,half_crimp,both,20,0,,,,7,3,6")
    assert (found["duration_s"], found["tension_s"]) == (60, 42)
    assert found["density"] == pytest.approx(0.7)
    assert found["impulse_kg_s"] == pytest.approx(72 * 42)


def test_defaults_are_common_practice() -> None:
    """
    An hour's cap on a finger session, two finger sessions a week for a beginner (two to three in
    all), a rest day between, 2 to 3 minutes between repeater sets and 3 to 4 between pulls
    (common practice, no source).
    """
    limits = Limits()
    assert limits.finger_session_minutes == 60
    assert 2 <= limits.fingers_per_week <= 3
    assert limits.rest_days_between_finger_days >= 1
    assert SET_REST_S["repeater"] == (120, 180)
    assert SET_REST_S["pull"] == (180, 240)


def test_the_first_block_keeps_general_guidance() -> None:
    """
    The template's plan lies within general guidance for healthy adults: novices 2 to 3 days of
    resistance training a week (ACSM, Ratamess et al. 2009, Med Sci Sports Exerc 41:687-708), and
    flexibility at least 2 days a week (ACSM, Garber et al. 2011, Med Sci Sports Exerc
    43:1334-1359).
    """
    block, problems = read_block(BLOCK_TEMPLATE.format(start="2026-01-05"), "block.toml")
    assert problems == []
    assert block is not None
    assert all(2 <= (p.sessions_per_week or 0) <= 3 for p in block.phases)
    assert block.weekly["mobility"] >= 2
    assert all(p.exercise != "pull" for p in block.phases)
