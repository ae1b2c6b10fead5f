"""`python -m gripbook.simulate DIR` writes the demo squad; with `--athletes` one of any size."""

from __future__ import annotations

import argparse
import sys

from gripbook.errors import GripbookError
from gripbook.simulate import simulate_squad, write_demo


def main() -> None:
    """Write logs of an invented squad."""
    parser = argparse.ArgumentParser(prog="python -m gripbook.simulate", description=main.__doc__)
    parser.add_argument("folder", help="where the log folder is written")
    parser.add_argument("--athletes", type=int, help="a squad of this size, not the demo")
    parser.add_argument("--weeks", type=int, default=9, help="weeks of its block (default 9)")
    parser.add_argument("--seed", type=int, default=1, help="same seed, same bytes (default 1)")
    given = parser.parse_args()
    try:
        if given.athletes is None:
            write_demo(given.folder)
        else:
            simulate_squad(given.folder, given.athletes, weeks=given.weeks, seed=given.seed)
    except GripbookError as err:
        sys.exit(f"Error: {err}")


if __name__ == "__main__":
    main()
