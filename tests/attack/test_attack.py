"""A hidden body mass can't be worked out from what a run wrote; a page that leaks it is broken."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from gripbook.logs import load_logs
from gripbook.reviews import block_review
from gripbook.reviews import squad as reviews_squad
from gripbook.strength import fit_strength
from tests.attack import LEAST_SD_KG, collect, mass_posterior
from tests.attack.squads import (
    Forked,
    hidden_squad,
    known_sets,
    plant,
    render,
    shift,
    show,
    strength_pictures,
    true_mass_kg,
)

pytestmark = pytest.mark.usefixtures("warm_server")

#: The first one's athlete is far from the stand-in, which would pass for the true one.
SEEDS = (6, 11)
ATHLETES = 1


@pytest.fixture(scope="module")
def squads(warm_server: None, tmp_path_factory: pytest.TempPathFactory) -> dict[int, Path]:
    """Logs and pages of simulated squads that hide body mass, by seed."""
    return {s: hidden_squad(tmp_path_factory.mktemp(f"hidden{s}"), ATHLETES, s) for s in SEEDS}


@pytest.fixture(params=SEEDS)
def squad(request: pytest.FixtureRequest, squads: dict[int, Path]) -> Path:
    """One of them after the other."""
    return squads[request.param]


@pytest.fixture
def one_squad(squads: dict[int, Path]) -> Path:
    """The first of them, for pages made to leak."""
    return squads[SEEDS[0]]


@pytest.fixture(scope="module")
def kim(warm_server: None, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Logs and pages of one athlete with finished sets at several weights and edges."""
    folder = tmp_path_factory.mktemp("kim")
    finished_sets(folder / "logs")
    render(folder / "logs", folder / "out")
    return folder


def copy_of(pages: Path, to: Path) -> Path:
    """Pages that a test may change."""
    return Path(shutil.copytree(pages, to / "out"))


def test_hidden_mass_stays_as_unknown_as_before(squad: Path) -> None:
    """Pages, squad page and run.json leave the attacker with the prior, even with the log."""
    for athlete in load_logs(squad / "logs").athlete_ids:
        seen = collect(squad / "out", athlete)
        assert any(len(w) > 10 for w in seen.weights)  # there is something to attack
        found = mass_posterior(seen, *known_sets(squad / "logs", athlete))
        assert found.sd_kg >= LEAST_SD_KG, (athlete, found)


def test_the_attack_sees_the_whole_log(squad: Path) -> None:
    """
    Weight, edge and outcome of every set, by what marks say and by where they lie; the changes by
    words, by bars and by run.json.
    """
    for athlete in load_logs(squad / "logs").athlete_ids:
        seen = collect(squad / "out", athlete)
        sets, _ = known_sets(squad / "logs", athlete)
        hung = sets[
            sets["in_block"] & ~sets["warmup"] & sets["exercise"].isin(["hang", "repeater"])
        ].sort_values(["exercise", "date"], kind="stable")
        told = pd.concat(seen.weights)
        told = told[~told.duplicated(["day", "series", "place"])]
        for column, logged in (("kg", "added_kg"), ("edge_mm", "edge_mm"), ("sets", "sets")):
            assert sorted(told[column]) == sorted(hung[logged]), (athlete, column)
        assert set(told["day"]) == set(hung["date"].dt.strftime("%Y-%m-%d"))
        failed = int(hung["outcome"].eq("failed").sum())
        assert int(told["ended"].eq("to the limit").sum()) == failed
        drawn = pd.concat(
            f for name, f in seen.figures if "added weight" in name and "marks drawn" in name
        )
        twice = sorted([*told["kg"], *told["kg"]])  # each picture is there wide and narrow
        assert drawn["kg"].sort_values().to_numpy() == pytest.approx(twice, abs=0.05)
        assert set(drawn["day"]) == set(told["day"])
        assert len([r for r in seen.ranges if r.unit == "kg" and r.step >= 1]) >= 2
        assert not [r for r in seen.ranges if r.unit == "%"]


def test_pages_do_not_know_body_mass(squad: Path) -> None:
    """
    Fourteen kilograms more on every weigh-in and scale: every page is the same, to the byte, and
    run.json too, so that no hash in it tells a guessed body mass from another.
    """
    shift(squad / "logs", squad / "heavier", 14.0)
    heavier = render(squad / "heavier", squad / "out_heavier")
    pages = sorted(p.name for p in (squad / "out").glob("*.html"))
    assert len(pages) == ATHLETES + 1
    for name in [*pages, "run.json"]:
        one, other = (f / name for f in (squad / "out", heavier))
        text, changed = (
            p.read_text(encoding="utf-8").replace("heavier", "logs") for p in (one, other)
        )
        if name == "run.json":
            text, changed = (rounded(json.loads(t)) for t in (text, changed))
        assert text == changed, name
    # the coach's table does know: the change was not lost on the way
    results = [(f / "results.csv").read_text() for f in (squad / "out", heavier)]
    assert results[0] != results[1]


def rounded(told: Any) -> Any:
    """A JSON document with numbers to nine digits."""
    if isinstance(told, float):  # a sum of other numbers differs in the last digit
        return float(f"{told:.9g}")
    if isinstance(told, dict):
        return {k: rounded(v) for k, v in told.items()}
    return [rounded(x) for x in told] if isinstance(told, list) else told


def test_run_json_keeps_no_loads(one_squad: Path, tmp_path: Path) -> None:
    """
    Nor a hash of the weigh-ins; results.csv has the loads, also where all pages stand. Were they in
    run.json, body mass would come out.
    """
    squad = one_squad
    out = copy_of(squad / "out", tmp_path)
    told = json.loads((out / "run.json").read_text("utf-8"))
    assert "body.csv" not in told["inputs"]
    assert all(not p["facts"]["results"] for p in told["pages"] if p["facts"])
    results = (out / "results.csv").read_bytes()
    (out / "results.csv").unlink()
    render(squad / "logs", out)
    again = json.loads((out / "run.json").read_text("utf-8"))
    assert [p["sha256"] for p in again["pages"]] == [p["sha256"] for p in told["pages"]]
    assert (out / "results.csv").read_bytes() == results
    rows = results.decode().splitlines()[1:]
    for page in told["pages"]:
        if page["facts"]:
            own = [r for r in rows if r.startswith(f"{page['athlete']},")]
            page["facts"]["results"] = "\n".join(own) + "\n"
    (out / "run.json").write_text(json.dumps(told), encoding="utf-8")
    for athlete in load_logs(squad / "logs").athlete_ids:
        found = mass_posterior(collect(out, athlete), *known_sets(squad / "logs", athlete))
        assert found.mean_kg == pytest.approx(true_mass_kg(squad / "logs", athlete), abs=1.0)
        assert found.sd_kg < 2.0, (athlete, found)


def test_the_demo_hides_what_it_says(tmp_path: Path, demo_logs_folder: Path) -> None:
    """The minor and the athlete who chose so."""
    out = render(demo_logs_folder, tmp_path / "out", ("dova", "eske"))
    for athlete in ("dova", "eske"):
        known = known_sets(demo_logs_folder, athlete)
        assert mass_posterior(collect(out, athlete), *known).sd_kg >= LEAST_SD_KG


HEADER = "athlete,date,order,sets,exercise,grip,hand,edge_mm,added_kg,hang_s"
MASS_KG = 61.7
BLOCK = '[block]\nname = "B"\nstart = 2026-01-05\nweeks = 6\n'


def finished_sets(folder: Path) -> Path:
    """Six weeks of finished sets at several weights and edges, nothing else."""
    folder.mkdir()
    rows = []
    for week in range(6):
        for weekday in (0, 3):
            day = dt.date(2026, 1, 5) + dt.timedelta(days=7 * week + weekday)
            edge = 20 if weekday == 0 else 15
            for place in range(4):
                kg = 5 * place + 2.5 * ((week + place) % 4) - (10 if edge == 15 else 0)
                rows.append(f"kim,{day},{place + 1},1,hang,half_crimp,both,{edge},{kg},10")
    (folder / "hangs.csv").write_text("\n".join([HEADER, *rows]) + "\n")
    body = [f"kim,2026-01-0{d},{MASS_KG}" for d in (5, 6)]
    (folder / "body.csv").write_text("\n".join(["athlete,date,body_mass_kg", *body]) + "\n")
    (folder / "athletes.csv").write_text("athlete,show_body_mass\nkim,no\n")
    (folder / "block.toml").write_text(BLOCK)
    return folder


@pytest.mark.parametrize("decimals", [3, 2])
def test_a_page_that_gives_loads_beside_weights_is_broken(
    kim: Path, tmp_path: Path, decimals: int
) -> None:
    """
    The attack works: with each set's load at the reference beside its weight, as differences to the
    first, body mass comes out within 1 kg. Without it the same page says nothing.
    """
    out = copy_of(kim / "out", tmp_path)
    assert mass_posterior(collect(out, "kim")).sd_kg >= LEAST_SD_KG
    sets, block = known_sets(kim / "logs", "kim")
    (series,) = fit_strength(sets, block).series
    start = pd.Timestamp(block.start)
    rows = [
        {
            "day": f"{start + pd.Timedelta(days=p.day):%Y-%m-%d}",
            "kg": round(p.load_kg - series.points[0].load_kg, decimals),
            "kind": p.kind,
            "line": p.line,
        }
        for p in series.points
    ]
    leak = f'<script type="application/json">{json.dumps({"rows": rows})}</script>'
    plant(out / "kim.html", leak)
    found = mass_posterior(collect(out, "kim"))
    assert found.mean_kg == pytest.approx(MASS_KG, abs=1.0), found
    assert found.sd_kg < 2.0, found


@pytest.mark.parametrize("values", [True, False])
def test_a_strength_chart_of_the_true_mass_is_broken(
    one_squad: Path, tmp_path: Path, values: bool
) -> None:
    """Also where its marks say nothing and only lie where they lie."""
    squad = one_squad
    out = copy_of(squad / "out", tmp_path)
    shown = Path(shutil.copytree(squad / "logs", tmp_path / "shown"))
    show(shown, "yes")
    athlete = load_logs(squad / "logs").athlete_ids[0]
    plant(out / f"{athlete}.html", strength_pictures(shown, athlete, values=values))
    found = mass_posterior(collect(out, athlete), *known_sets(squad / "logs", athlete))
    true = true_mass_kg(squad / "logs", athlete)
    assert found.mean_kg == pytest.approx(true, abs=1.5), (athlete, found)
    assert found.sd_kg < 2.0, (athlete, found)


def test_pages_without_the_stand_in_are_broken(
    one_squad: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ranges that rest on the true body mass: in kilograms here, in per cent on the squad page."""
    squad = one_squad
    monkeypatch.setattr(block_review, "with_stand_in", lambda sets: sets)
    monkeypatch.setattr(reviews_squad, "_tells_per_cent", lambda r: True)
    with Forked() as fork:
        out = render(squad / "logs", tmp_path / "out", executor=fork)
    for athlete in load_logs(squad / "logs").athlete_ids:
        seen = collect(out, athlete)
        lanes = {r.where: r for r in seen.ranges if r.step == 0.05}
        recorded = {r.where.split()[0] + "s": r for r in seen.ranges if r.step == 0.001}
        assert lanes.keys() == recorded.keys() != set()  # drawn, and kept for the next run
        for name, lane in lanes.items():
            assert lane.low == pytest.approx(recorded[name].low, abs=0.05)
            assert lane.high == pytest.approx(recorded[name].high, abs=0.05)
        found = mass_posterior(seen, *known_sets(squad / "logs", athlete))
        true = true_mass_kg(squad / "logs", athlete)
        assert found.sd_kg < 6.0, (athlete, found)
        assert found.mean_kg == pytest.approx(true, abs=6.0), (athlete, found)


def test_kilograms_beside_per_cent_are_broken(kim: Path, tmp_path: Path) -> None:
    """Kilograms on the athlete's page and per cent of the same change on the squad page."""
    out = copy_of(kim / "out", tmp_path)
    load = MASS_KG + 20.0
    low, high = 0.05 * load, 0.15 * load
    words = (
        "<table><thead><tr><th>series</th><th>change</th></tr></thead><tr><td>{}</td><td>{}</td>"
    )
    series = "timed hang, half crimp, both hands"
    plant(out / "kim.html", words.format(series, f"+{low:.1f} to +{high:.1f} kg") + "</tr></table>")
    index = out / "index.html"
    told = f"<i>{series} +5.0 to +15.0 %</i></tr>"
    text = index.read_text(encoding="utf-8")
    at = text.index("</tr>", text.index('<a href="kim.html">'))
    index.write_text(text[:at] + told + text[at + len("</tr>") :], encoding="utf-8")
    assert mass_posterior(collect(out, "kim")).sd_kg < 5.0
