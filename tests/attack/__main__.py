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
from tests.attack.squads import hidden_squad, plant, render, show, strength_pictures, true_mass_kg

SEEDS = range(1, 3)
ATHLETES = 3
#: A mass counts as found within this, kg.
FOUND_KG = 1.0
_DEMO = Path(__file__).parents[2] / "data_demo"


def attack(folder: Path, athlete: str, name: str = "") -> Posterior:
    """Attack one athlete and print what is known of them afterwards."""
    found = mass_posterior(collect(folder, athlete))
    print(f"{name or athlete}: {found.mean_kg:.1f} kg, SD {found.sd_kg:.1f} kg")
    for source, sd in found.by_source.items():
        print(f"   {source}: SD {sd:.1f} kg by itself")
    return found


def attack_many() -> None:
    """Simulate, render, attack, count."""
    honest: list[float] = []
    broken: list[tuple[float, float]] = []  # distance to the true mass, and SD
    with tempfile.TemporaryDirectory() as made:
        for seed in SEEDS:
            folder = hidden_squad(Path(made) / str(seed), ATHLETES, seed)
            ids = load_logs(folder / "logs").athlete_ids
            honest += [attack(folder / "out", a, f"seed {seed}, {a}").sd_kg for a in ids]
            shutil.copytree(folder / "logs", folder / "shown")
            show(folder / "shown", "yes")
            for athlete in ids:
                leak = strength_pictures(folder / "shown", athlete, values=False)
                plant(folder / "out" / f"{athlete}.html", leak)
                found = mass_posterior(collect(folder / "out", athlete))
                true = true_mass_kg(folder / "logs", athlete)
                broken.append((abs(found.mean_kg - true), found.sd_kg))
        out = render(_DEMO, Path(made) / "demo")
        demo = [attack(out, athlete, f"demo, {athlete}").sd_kg for athlete in ("dova", "eske")]
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
