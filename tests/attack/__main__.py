"""
Attack pages: of a folder that is there, or of simulated squads and the demo.

`python -m tests.attack FOLDER ATHLETE...` prints what a run's folder tells of each athlete.
`python -m tests.attack` simulates ten squads of three that hide body mass, renders and attacks them
and the demo's two athletes who hide it, and counts; then it plants the strength chart of the true
body mass in each simulated page and counts how many are found.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path

from gripbook.logs import load_logs
from tests.attack import LEAST_SD_KG, Posterior, collect, mass_posterior
from tests.attack.squads import (
    hidden_squad,
    known_sets,
    plant,
    render,
    show,
    strength_pictures,
    true_mass_kg,
)

SEEDS = range(1, 11)
ATHLETES = 3
#: A mass counts as found within this, kg.
FOUND_KG = 1.0
_DEMO = Path(__file__).parents[2] / "data_demo"


def attack(pages: Path, athlete: str, name: str = "", logs: Path | None = None) -> Posterior:
    """Attack one athlete, with their log but body mass where it is given; print what comes out."""
    known = known_sets(logs, athlete) if logs else (None, None)
    found = mass_posterior(collect(pages, athlete), *known)
    print(f"{name or athlete}: {found.mean_kg:.1f} kg, SD {found.sd_kg:.1f} kg")
    for source, sd in found.by_source.items():
        print(f"   {source}: SD {sd:.1f} kg by itself", flush=True)
    return found


def attack_many() -> None:
    """Simulate, render, attack, count."""
    honest: list[float] = []
    broken: list[tuple[float, float]] = []  # distance to the true mass, and SD
    with tempfile.TemporaryDirectory() as made:
        for seed in SEEDS:
            folder = hidden_squad(Path(made) / str(seed), ATHLETES, seed)
            logs, out, shown = folder / "logs", folder / "out", folder / "shown"
            shutil.copytree(logs, shown)
            show(shown, "yes")
            for athlete in load_logs(logs).athlete_ids:
                name = f"seed {seed}, {athlete}"
                honest.append(attack(out, athlete, name, logs).sd_kg)
                leak = strength_pictures(shown, athlete, values=False)
                plant(out / f"{athlete}.html", leak)
                found = attack(out, athlete, f"{name}, strength chart planted", logs)
                apart = abs(found.mean_kg - true_mass_kg(logs, athlete))
                broken.append((apart, found.sd_kg))
        out = render(_DEMO, Path(made) / "demo")
        demo = [attack(out, who, f"demo, {who}", _DEMO).sd_kg for who in ("dova", "eske")]
    for name, sds in (("simulated", honest), ("demo", demo)):
        kept = sum(sd >= LEAST_SD_KG for sd in sds)
        print(
            f"{name}: {len(sds)} athletes, least SD {min(sds):.1f} kg, "
            f"{kept} of {len(sds)} at {LEAST_SD_KG:g} kg or more"
        )
    near = sum(apart <= FOUND_KG and sd < LEAST_SD_KG for apart, sd in broken)
    print(
        f"with the strength chart of the true mass planted: {near} of {len(broken)} found within "
        f"{FOUND_KG:g} kg, greatest SD {max(sd for _, sd in broken):.1f} kg"
    )


if __name__ == "__main__":
    if len(sys.argv) > 1:
        for asked in sys.argv[2:]:
            attack(Path(sys.argv[1]), asked)
    else:
        attack_many()
