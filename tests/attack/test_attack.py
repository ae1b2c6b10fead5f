"""A hidden body mass can't be worked out from what a run wrote; a page that leaks it is broken."""

from __future__ import annotations

import csv
import datetime as dt
import json
from pathlib import Path

import pandas as pd
import pytest

from gripbook.derive import derive_sets
from gripbook.logs import load_logs
from gripbook.report.run.batch import render_reports
from gripbook.simulate import simulate_squad
from gripbook.strength import fit_strength
from tests.attack import collect, mass_posterior

#: The prior's own SD within its bounds is 11.6 kg.
LEAST_SD_KG = 8.0
SEEDS = (3, 11)
ATHLETES = 3


def hide(folder: Path) -> None:
    """Every athlete of the folder hides body mass."""
    path = folder / "athletes.csv"
    rows = list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0].keys())
        writer.writeheader()
        writer.writerows({**row, "show_body_mass": "no"} for row in rows)


def shift(folder: Path, out: Path, kg: float) -> None:
    """The same logs of athletes heavier by `kg` who did the same: only scales read more."""
    out.mkdir()
    for path in folder.iterdir():
        if not path.is_file():
            continue
        text = path.read_text(encoding="utf-8")
        if path.name in ("body.csv", "hangs.csv"):
            frame = pd.read_csv(path, dtype=str, keep_default_na=False)
            for column in {"body_mass_kg", "scale_kg", "stand_kg"} & set(frame.columns):
                frame[column] = [f"{float(x) + kg:g}" if x else "" for x in frame[column]]
            text = frame.to_csv(index=False, lineterminator="\n")
        (out / path.name).write_text(text, encoding="utf-8")


def render(folder: Path, out: Path, athletes: tuple[str, ...] = ()) -> Path:
    """Pages of a log folder."""
    assert render_reports(load_logs(folder), out, athletes=athletes, workers=1).failed == []
    return out


@pytest.fixture(scope="module", params=SEEDS)
def squad(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Logs and pages of a simulated squad that hides body mass."""
    folder = tmp_path_factory.mktemp(f"hidden{request.param}")
    simulate_squad(folder / "logs", ATHLETES, seed=request.param)
    hide(folder / "logs")
    render(folder / "logs", folder / "out")
    return folder


def test_hidden_mass_stays_as_unknown_as_before(squad: Path) -> None:
    """Pages, squad page and run.json leave the attacker with the prior."""
    for athlete in load_logs(squad / "logs").athlete_ids:
        seen = collect(squad / "out", athlete)
        assert any(len(w) > 10 for w in seen.weights)  # there is something to attack
        found = mass_posterior(seen)
        assert found.sd_kg >= LEAST_SD_KG, (athlete, found)


def test_pages_do_not_know_body_mass(squad: Path) -> None:
    """Fourteen kilograms more on every weigh-in and scale: every page is the same, to the byte."""
    shift(squad / "logs", squad / "heavier", 14.0)
    heavier = render(squad / "heavier", squad / "out_heavier")
    pages = sorted(p.name for p in (squad / "out").glob("*.html"))
    assert len(pages) == ATHLETES + 1
    for name in pages:
        one, other = (f / name for f in (squad / "out", heavier))
        text, changed = (
            p.read_text(encoding="utf-8").replace("heavier", "logs") for p in (one, other)
        )
        assert text == changed, name
    # the coach's table does know: the change was not lost on the way
    results = [(f / "results.csv").read_text() for f in (squad / "out", heavier)]
    assert results[0] != results[1]


def test_the_demo_hides_what_it_says(tmp_path: Path, demo_logs_folder: Path) -> None:
    """The minor and the athlete who chose so."""
    out = render(demo_logs_folder, tmp_path / "out", ("dova", "eske"))
    for athlete in ("dova", "eske"):
        assert mass_posterior(collect(out, athlete)).sd_kg >= LEAST_SD_KG


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
def test_a_page_that_gives_loads_beside_weights_is_broken(tmp_path: Path, decimals: int) -> None:
    """
    The attack works: with each set's load at the reference beside its weight, as differences to the
    first, body mass comes out within 1 kg. Without it the same page says nothing.
    """
    logs = load_logs(finished_sets(tmp_path / "logs"))
    out = render(tmp_path / "logs", tmp_path / "out")
    assert mass_posterior(collect(out, "kim")).sd_kg >= LEAST_SD_KG
    mine, block = logs.for_athlete("kim"), logs.block_for("kim")
    (series,) = fit_strength(derive_sets(mine.hangs, mine.body, block), block).series
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
    page = out / "kim.html"
    leak = f'<script type="application/json">{json.dumps({"rows": rows})}</script></body>'
    page.write_text(page.read_text(encoding="utf-8").replace("</body>", leak), encoding="utf-8")
    found = mass_posterior(collect(out, "kim"))
    assert found.mean_kg == pytest.approx(MASS_KG, abs=1.0), found
    assert found.sd_kg < 2.0, found


def test_kilograms_beside_per_cent_are_broken(tmp_path: Path) -> None:
    """Kilograms on the athlete's page and per cent of the same change on the squad page."""
    out = render(finished_sets(tmp_path / "logs"), tmp_path / "out")
    load = MASS_KG + 20.0
    table = (
        "<table><thead><tr><th>athlete</th><th>change ({})</th></tr></thead>"
        "<tr><td>{}</td><td>{} to {}</td></tr></table></body>"
    )
    series = "half crimp, both hands"
    for name, unit, per in (("kim", "kg", 1.0), ("index", "%", 100 / load)):
        path = out / f"{name}.html"
        where = f"Kim {series}"
        told = table.format(unit, where, round(0.05 * load * per, 1), round(0.15 * load * per, 1))
        path.write_text(path.read_text(encoding="utf-8").replace("</body>", told), encoding="utf-8")
    assert mass_posterior(collect(out, "kim")).sd_kg < 5.0
