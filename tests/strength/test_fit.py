"""The strength model on real frames: invariance, odd logs by name, verdicts, the demo's truth."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from gripbook.derive import changes_between_tests, derive_sets
from gripbook.logs import Block, load_logs
from gripbook.reviews import review
from gripbook.simulate import simulate_squad
from gripbook.strength import (
    RESULT_COLUMNS,
    NoiseScales,
    SeriesFit,
    SeriesKey,
    StrengthFit,
    fit_strength,
    gather_evidence,
    results_rows,
    share_noise,
    split_ratio,
    verdict_of,
)
from gripbook.strength.reasons import NoChange, NoFit, SeriesReason

DEMO = Path(__file__).parents[2] / "data_demo"
START = dt.date(2026, 1, 5)
BLOCK = Block("B", START, 8)
HALF = SeriesKey("hang", "half_crimp", "both", "steady")


def fit_of(athlete: str, folder: Path = DEMO) -> tuple[StrengthFit, pd.DataFrame, Block]:
    """Fit, derived sets and block of one athlete of a folder."""
    logs = load_logs(folder)
    own = logs.for_athlete(athlete)
    block = logs.block_for(athlete)
    sets = derive_sets(own.hangs, own.body, block)
    return fit_strength(sets, block), sets, block


def fit_rows(folder: Path, rows: list[dict[str, Any]], block: Block = BLOCK) -> StrengthFit:
    """Fit of hand-written rows for an athlete of 70 kg; `day` counts from the block's first."""
    good = {"exercise": "hang", "grip": "half_crimp", "hand": "both", "edge_mm": 20, "hang_s": 10}
    full = [
        {"athlete": "kim", "date": START + dt.timedelta(days=r.get("day", 0)), **good, **r}
        for r in rows
    ]
    header = list(dict.fromkeys(k for r in full for k in r if k != "day"))
    lines = [",".join(header), *(",".join(str(r.get(h, "")) for h in header) for r in full)]
    (folder / "hangs.csv").write_text("\n".join(lines) + "\n")
    (folder / "body.csv").write_text(f"athlete,date,body_mass_kg\nkim,{START},70\n")
    logs = load_logs(folder, today=dt.date(2030, 1, 1))
    assert logs.errors == ()
    return fit_strength(derive_sets(logs.hangs, logs.body, block), block)


def numbers(fit: StrengthFit) -> dict[SeriesKey, list[float]]:
    """All figures of each series."""
    fields = ("start_kg", "end_kg", "change_pct", "low_pct", "high_pct", "prob_rise")
    return {s.key: [getattr(s, f) for f in fields] for s in fit.series}


def same(one: StrengthFit, other: StrengthFit) -> None:
    """Two fits have the same figures to 1e-8."""
    a, b = numbers(one), numbers(other)
    assert a.keys() == b.keys()
    for key in a:
        assert a[key] == pytest.approx(b[key], rel=1e-8, abs=1e-8, nan_ok=True), key


# --- invariance -------------------------------------------------------------------------------


def test_order_of_rows_decides_nothing() -> None:
    """The same sets in another order of the frame give the same figures."""
    fit, sets, block = fit_of("arvo")
    mixed = sets.sample(frac=1.0, random_state=3)
    same(fit, fit_strength(mixed, block))


def test_three_equal_rows_are_sets_3(tmp_path: Path) -> None:
    """sets = 3 tells what three equal rows tell."""
    ends = [{"day": 0, "failed_s": 7, "added_kg": 20}, {"day": 50, "failed_s": 8, "added_kg": 22}]
    once = fit_rows(tmp_path, [*ends, {"day": 20, "added_kg": 10, "sets": 3}])
    thrice = fit_rows(tmp_path, [*ends, *[{"day": 20, "added_kg": 10}] * 3])
    same(once, thrice)


def test_pounds_are_kilograms(tmp_path: Path) -> None:
    """A log in pounds gives the figures of the same log in kilograms."""
    rows = [{"day": d, "failed_s": 6, "added_kg": 10 + d / 10} for d in (0, 15, 30, 50)]
    one = fit_rows(tmp_path, rows)
    pounds = [{**r, "added_lb": r["added_kg"] / 0.45359237} for r in rows]
    for r in pounds:
        del r["added_kg"]
    same(one, fit_rows(tmp_path, pounds))


def test_another_athlete_moves_nothing(tmp_path: Path) -> None:
    """An athlete's results are the same in a squad of one and of three."""
    logs = load_logs(DEMO)
    own = logs.for_athlete("brin")
    alone = fit_strength(derive_sets(own.hangs, own.body, own.block_for("brin")), own.blocks[0])
    same(alone, review(logs, "brin").fit)


# --- odd logs, by name ------------------------------------------------------------------------


def first(fit: StrengthFit) -> SeriesFit:
    """The only series."""
    (series,) = fit.series
    return series


def test_nothing_at_all(tmp_path: Path) -> None:
    """Warm-ups alone tell no strength: not ok, with the reason."""
    fit = fit_rows(tmp_path, [{"warmup": "yes"}])
    assert not fit.ok
    assert fit.reasons == (NoFit.NO_SET,)
    assert results_rows(fit, "kim", BLOCK).empty


def test_one_set(tmp_path: Path) -> None:
    """One set gives no change."""
    s = first(fit_rows(tmp_path, [{"failed_s": 6}]))
    assert not s.ok
    assert math.isnan(s.change_pct)
    assert s.reasons


def test_one_day(tmp_path: Path) -> None:
    """One day of sets gives no change, whatever it holds."""
    fit = fit_rows(tmp_path, [{"failed_s": 6}, {"failed_s": 5, "added_kg": 5}])
    assert not fit.ok
    assert NoFit.ONE_DAY in fit.reasons


def test_all_finished(tmp_path: Path) -> None:
    """Finished sets alone: at least, no upper end, no change, never a rise."""
    s = first(fit_rows(tmp_path, [{"day": d, "added_kg": d / 5} for d in range(0, 56, 4)]))
    assert s.at_least
    assert not s.ok
    assert math.isnan(s.high_pct)
    assert math.isnan(s.end_high_kg)
    assert s.verdict == "unclear"


def test_all_failed(tmp_path: Path) -> None:
    """Failures alone are exact and give a change."""
    s = first(
        fit_rows(tmp_path, [{"day": d, "failed_s": 6, "added_kg": 20} for d in range(0, 56, 4)])
    )
    assert s.ok
    assert s.low_pct < 0 < s.high_pct
    assert abs(s.change_pct) < 2


def test_an_absurd_load(tmp_path: Path) -> None:
    """One load of three times body mass widens or shifts the answer; it does not crash it."""
    rows = [{"day": d, "failed_s": 6, "added_kg": 20} for d in range(0, 56, 4)]
    s = first(fit_rows(tmp_path, [*rows, {"day": 30, "added_kg": 140, "failed_s": 5}]))
    assert np.isfinite([s.low_pct, s.change_pct, s.high_pct]).all()


def test_two_contradictory_days(tmp_path: Path) -> None:
    """Days that contradict each other leave a wide range, no confident verdict."""
    rows = [
        {"day": d, "failed_s": 6, "added_kg": 30 if i % 2 else 0}
        for i, d in enumerate(range(0, 56, 7))
    ]
    s = first(fit_rows(tmp_path, rows))
    assert s.verdict == "unclear"
    assert s.high_pct - s.low_pct > 12


def test_no_start(tmp_path: Path) -> None:
    """A capacity that begins late has no change and says since when."""
    rows = [{"day": d, "exercise": "pull", "scale_kg": 30, "hang_s": ""} for d in (40, 44, 48, 52)]
    s = first(fit_rows(tmp_path, rows))
    assert s.reasons == (SeriesReason(NoChange.NO_START, 6),)
    assert math.isnan(s.start_kg)
    assert not s.ok


def test_one_edge_needs_no_exponent(tmp_path: Path) -> None:
    """On one edge nothing is converted and no exponent is told."""
    rows = [{"day": d, "failed_s": 6} for d in (0, 20, 40, 55)]
    fit = fit_rows(tmp_path, rows)
    assert fit.edge_exponent is None
    assert not first(fit).converted


def test_edges_that_change_with_time_widen(tmp_path: Path) -> None:
    """When edge and time go together the range is wider than on one edge, and says converted."""
    days = list(range(0, 56, 4))
    one = first(fit_rows(tmp_path, [{"day": d, "failed_s": 6} for d in days]))
    moved = [{"day": d, "failed_s": 6, "edge_mm": 20 - 2 * (d // 14)} for d in days]
    other = first(fit_rows(tmp_path, moved))
    assert other.converted
    assert other.edge_share > 0.1
    assert other.high_pct - other.low_pct > 1.1 * (one.high_pct - one.low_pct)


def test_below_six_millimetres_nothing_is_converted(tmp_path: Path) -> None:
    """A 5 mm edge does not stand for 20 mm (Bourne et al. 2011, J Appl Biomech 27:40-46)."""
    rows = [{"day": d, "failed_s": 6, "edge_mm": 5 if d > 30 else 20} for d in range(0, 56, 6)]
    fit = fit_rows(tmp_path, rows)
    assert all(5 not in s.converted_mm for s in fit.series)


# --- verdicts and parts -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("prob", "change", "low", "high", "verdict"),
    [
        (0.96, 4.0, 0.3, 8.0, "rise"),
        (0.96, 1.4, 0.1, 2.7, "steady"),
        (0.94, 4.0, -0.4, 8.0, "unclear"),
        (0.04, -4.0, -8.0, -0.3, "fall"),
        (0.50, 0.0, -2.9, 2.9, "steady"),
        (0.50, 0.0, -3.1, 2.9, "unclear"),
        (math.nan, math.nan, math.nan, math.nan, "unclear"),
    ],
)
def test_verdict_rule(prob: float, change: float, low: float, high: float, verdict: str) -> None:
    """Rise or fall at 95 % and half the smallest change; steady inside it; else unclear."""
    assert verdict_of(prob, change, low, high, 3.0) == verdict


def test_split_of_the_ratio() -> None:
    """Force part minus mass part is the ratio's change in log terms."""
    fit, _, _ = fit_of("arvo")
    series = fit.find(*HALF)
    assert series is not None
    split = split_ratio(series, 70.0, 71.33)
    whole = math.log(split.end_ratio / split.start_ratio)
    assert (split.force_log_pct - split.mass_log_pct) / 100 == pytest.approx(whole, abs=0.01)
    assert split.mass.value == pytest.approx(1.9)


def test_chance_falls_with_load() -> None:
    """Heavier, longer or smaller is less likely to be completed, and chances are chances."""
    fit, _, _ = fit_of("arvo")

    def chance(load: float = 95.0, edge: float = 20.0, hold: float = 10.0) -> float:
        return fit.predict(HALF, edge_mm=edge, load_kg=load, hang_s=hold)

    assert 0 < chance(120) < chance() < chance(60) < 1.0000001
    assert chance(edge=15) < chance()
    assert chance(hold=20) < chance() < chance(hold=5)


def test_results_rows() -> None:
    """One row per series in the contract's columns."""
    fit, _, block = fit_of("arvo")
    rows = results_rows(fit, "arvo", block, show_ratio=True)
    assert list(rows.columns) == list(RESULT_COLUMNS)
    assert len(rows) == len(fit.series)
    assert rows["start_ratio"].notna().any()
    assert results_rows(fit, "arvo", block)["start_ratio"].isna().all()


def test_shared_noise_is_from_the_squad(tmp_path: Path) -> None:
    """A squad's scales say over how many, lie near the truth, and share no trend."""
    simulate_squad(tmp_path, 20, seed=4)
    logs = load_logs(tmp_path)
    found = []
    for athlete in logs.athlete_ids:
        own = logs.for_athlete(athlete)
        block = logs.block_for(athlete)
        found.append(gather_evidence(derive_sets(own.hangs, own.body, block), block))
    noise = share_noise(found)
    assert noise.athletes == 20
    assert 0.008 < noise.day < 0.05
    assert share_noise([]) == NoiseScales()


# --- truth ------------------------------------------------------------------------------------


def test_the_demo_s_truth_lies_in_the_band() -> None:
    """Of the demo's measured series about nine in ten hold the true change (22 series here)."""
    truth = pd.read_csv(DEMO / "truth" / "truth.csv").sort_values("day")
    logs = load_logs(DEMO)
    hits = []
    for athlete in logs.athlete_ids:
        fit = review(logs, athlete).fit
        for s in fit.series:
            if s.ok:
                own = truth[
                    (truth["athlete"] == athlete)
                    & (truth["capacity"] == s.capacity)
                    & (truth["grip"] == s.grip)
                    & (truth["hand"] == s.hand)
                ]
                ends = np.interp([0, fit.evidence.last_day], own["day"], own["load_kg"])
                hits.append(s.low_pct <= 100 * (ends[1] / ends[0] - 1) <= s.high_pct)
    assert len(hits) >= 15
    # the athletes share days, so the count is loose: 17 or more of 22 where 90 % are true
    assert sum(hits) >= 0.77 * len(hits)


def test_a_simulated_squad_s_truth(tmp_path: Path) -> None:
    """
    Forty athletes of the package's simulator (other curves than the model's): coverage of the
    change near 90 % and a smaller error than the pair of tests'. How much smaller is for
    `make calibrate`: forty athletes cannot tell it.
    """
    squad = simulate_squad(tmp_path, 40, seed=8)
    assert len(squad.people) == 40
    truth = pd.read_csv(tmp_path / "truth" / "truth.csv").sort_values("day")
    of = dict(iter(truth.groupby(["athlete", "capacity", "grip", "hand"])))
    logs = load_logs(tmp_path)
    hits, model, pair = [], [], []
    for athlete in logs.athlete_ids:
        own = logs.for_athlete(athlete)
        block = logs.block_for(athlete)
        sets = derive_sets(own.hangs, own.body, block)
        pairs = changes_between_tests(sets, block).set_index(["capacity", "grip", "hand"])
        for s in fit_strength(sets, block).series:
            if not s.ok:
                continue
            name = (s.capacity, s.grip, s.hand)
            path = of[(athlete, *name)]
            last = (block.end - block.start).days
            ends = np.interp([0, last], path["day"], path["load_kg"])
            true = math.log(ends[1] / ends[0])
            hits.append(s.low_pct <= 100 * math.expm1(true) <= s.high_pct)
            if name in pairs.index and math.isfinite(pairs.loc[name, "change_pct"]):
                model.append(math.log1p(s.change_pct / 100) - true)
                pair.append(math.log1p(pairs.loc[name, "change_pct"] / 100) - true)
    assert len(hits) > 100
    assert 0.84 <= np.mean(hits) <= 0.98
    assert np.sqrt(np.mean(np.square(model))) < np.sqrt(np.mean(np.square(pair)))


def test_shared_noise_keeps_the_capacities_apart(tmp_path: Path) -> None:
    """Pulls whose readings scatter widely raise the pulls' scale, and not the repeaters'."""
    rng = np.random.default_rng(5)
    found = []
    for number in range(12):
        folder = tmp_path / str(number)
        folder.mkdir()
        rows: list[dict[str, Any]] = []
        for day in range(0, 56, 4):
            for _ in range(4):
                scale = 70 - 45 * float(np.exp(rng.normal(0, 0.09)))
                rows.append(
                    {"day": day, "exercise": "pull", "hang_s": "", "scale_kg": round(scale, 2)}
                )
                # failed in the fourth of six holds at a load that hardly scatters
                added = round(60 * float(np.exp(rng.normal(0, 0.01))) - 70, 2)
                repeater = {"exercise": "repeater", "hang_s": 7, "rest_s": 3, "reps": 6}
                rows.append(
                    {"day": day, **repeater, "reps_done": 3, "failed_s": 4, "added_kg": added}
                )
        found.append(fit_rows(folder, rows).evidence)
    noise = share_noise(found)
    assert noise.pull > 0.06
    assert noise.repeater < 0.04
