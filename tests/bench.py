"""
Speed, as ratios within one run: `make bench`. Absolute times depend on the machine and its load.

- a hangs.csv of a million rows read and checked, then derived, against pandas.read_csv of the
  same file
- the demo squad's pages: CPU and wall per page, one worker and two
"""

from __future__ import annotations

import argparse
import resource
import tempfile
import time
from pathlib import Path

import pandas as pd

from gripbook.derive import derive_sets
from gripbook.logs import load_logs
from gripbook.report.batch import render_reports
from gripbook.simulate import simulate_squad

DEMO = Path(__file__).parents[1] / "data_demo"


def cpu_s() -> float:
    """CPU seconds of this process and its ended children so far."""
    own = resource.getrusage(resource.RUSAGE_SELF)
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return own.ru_utime + own.ru_stime + children.ru_utime + children.ru_stime


def bench_reading(rows: int) -> None:
    """Reading, checking and deriving against pandas.read_csv of the same file."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        simulate_squad(folder, 40, seed=5)
        path = folder / "hangs.csv"
        header, *lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
        times = -(-rows // len(lines))
        path.write_text(header + "".join((lines * times)[:rows]), encoding="utf-8")
        start = time.perf_counter()
        pd.read_csv(path)
        plain = time.perf_counter() - start
        start = time.perf_counter()
        logs = load_logs(folder)
        read = time.perf_counter() - start
        start = time.perf_counter()
        for athlete in logs.athlete_ids:
            own = logs.for_athlete(athlete)
            derive_sets(own.hangs, own.body, logs.block_for(athlete))
        derived = time.perf_counter() - start
    print(f"hangs.csv of {len(logs.hangs):,} rows")
    print(f"  pandas.read_csv            {plain:7.2f} s")
    print(f"  load_logs                  {read:7.2f} s   {read / plain:5.2f} x")
    print(
        f"  load_logs and derive_sets  {read + derived:7.2f} s   {(read + derived) / plain:5.2f} x"
    )


def bench_pages() -> None:
    """The demo squad's pages with one worker and with two."""
    logs = load_logs(DEMO)
    wall_of: dict[int, float] = {}
    for workers in (1, 2):
        with tempfile.TemporaryDirectory() as out:
            cpu, wall = cpu_s(), time.perf_counter()
            run = render_reports(logs, out, workers=workers)
            cpu, wall = cpu_s() - cpu, time.perf_counter() - wall
            pages = len(run.pages)
            size = max(p.stat().st_size for p in Path(out).glob("*.html"))
        wall_of[workers] = wall
        print(
            f"{pages} pages, kernel engine, {workers} worker(s): "
            f"{cpu / pages:.2f} s CPU and {wall / pages:.2f} s wall a page; "
            f"largest page {size / 1000:.0f} kB"
        )
    print(f"  two workers against one: {wall_of[1] / wall_of[2]:.2f} x")


def main() -> None:
    """Run all benchmarks."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=1_000_000, help="rows of the long hangs.csv")
    parser.add_argument("--reading", action="store_true", help="the first part alone")
    options = parser.parse_args()
    bench_reading(options.rows)
    if not options.reading:
        bench_pages()


if __name__ == "__main__":
    main()
