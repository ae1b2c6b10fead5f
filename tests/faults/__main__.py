"""`python -m tests.faults`: kills at random points and other ends, counted. KILLS=10 for fewer."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

from gripbook.simulate import simulate_squad
from tests.faults.runs import freeze, full_disk, kills, links, no_memory, tree, two_runs


def main() -> int:
    """Print counts; exit status 1 where anything was lost."""
    sys.stdout.reconfigure(line_buffering=True)  # type: ignore[union-attr]
    count, seed = int(os.environ.get("KILLS", "50")), int(os.environ.get("SEED", "1"))
    with tempfile.TemporaryDirectory(prefix="gripbook-faults-") as name:
        place = Path(name)
        freeze(place / "code")
        logs = place / "logs"
        simulate_squad(logs, 3, seed=seed)
        counts = kills(logs, place, count, seed)
        print(f"kills (seed {seed}): " + ", ".join(f"{n} {what}" for what, n in counts.items()))
        wanted = tree(place / "whole")
        sizes = [len(data) for data in wanted.values()]
        rooms = (0, max(sizes) + 1, sum(sizes) - 1)
        faults = [full_disk(logs, place / f"full-{room}", wanted, room) for room in rooms]
        print(f"full disk: {faults.count('')} of {len(rooms)} said and mended")
        others = {
            "memory": no_memory(logs, place / "memory", wanted),
            "two runs": two_runs(logs, place / "two", wanted),
            "links": links(logs, place, wanted),
        }
        print(", ".join(f"{what}: {fault or 'held'}" for what, fault in others.items()))
        faults = [fault for fault in (*faults, *others.values()) if fault]
        for fault in faults:
            print(fault)
    return int(bool(faults or counts["trees that differ"]))


if __name__ == "__main__":
    sys.exit(main())
