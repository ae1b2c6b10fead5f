"""Attack athletes of a run: `python -m tests.attack FOLDER ATHLETE...`."""

from __future__ import annotations

import sys
from pathlib import Path

from tests.attack import collect, mass_posterior


def main() -> None:
    """Print mean and SD of each athlete's body mass as an attacker knows it."""
    folder = Path(sys.argv[1])
    for athlete in sys.argv[2:]:
        found = mass_posterior(collect(folder, athlete))
        print(f"{athlete}: {found.mean_kg:.1f} kg, SD {found.sd_kg:.1f} kg")
        for source, sd in found.by_source.items():
            print(f"   {source}: SD {sd:.1f} kg by itself")


if __name__ == "__main__":
    main()
