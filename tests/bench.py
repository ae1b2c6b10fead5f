"""
Speed, as ratios within one run: `make bench`. Absolute times depend on the machine and its load.

- a page of the scaled demo squad: papermill's and nbconvert's stock loop with their template and
  with ours, our engine with 1 and 2 workers, and the limit (the same cells and page in one warm
  process, nothing around them); CPU, wall, memory, ratios
- the same at 20, 200 and 2 000 athletes, and memory after 100 and 1 000 pages
- a hangs.csv of a million rows read and checked, then derived, against pandas.read_csv

Each figure of a page is the difference of two runs of different length, so that what a run costs
once (imports, reading the logs) isn't in it; that stands beside it. CPU is that of all processes.
"""

from __future__ import annotations

import argparse
import compileall
import contextlib
import copy
import datetime as dt
import importlib.util
import json
import os
import re
import resource
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections import defaultdict
from collections.abc import Callable, Sequence
from contextlib import contextmanager
from pathlib import Path
from statistics import mean
from typing import Any

import pandas as pd

ROOT = Path(__file__).parents[1]
DEMO = ROOT / "data_demo"
NOTEBOOK = ROOT / "notebooks" / "block_review.ipynb"
#: A module that JupyterLab brings along and that costs each process that imports altair, papermill
#: or nbconvert 2 to 3 s of CPU; `gripbook.report` keeps it out.
SLOW_MODULE = "rfc3987_syntax"


def scaled_demo(folder: Path, athletes: int) -> Path:
    """Write the demo squad's logs so many times over that there are that many athletes or more."""
    members = [line.split(",")[0] for line in (DEMO / "athletes.csv").read_text().splitlines()[1:]]
    copies = -(-athletes // len(members))
    ends = ["", *(f"-{i}" for i in range(1, copies))]
    folder.mkdir(parents=True, exist_ok=True)
    for path in DEMO.glob("*.csv"):
        header, *lines = path.read_text("utf-8").splitlines(keepends=True)
        # a row begins with its athlete; a quoted cell of several lines does not occur here
        rows = (line.replace(",", f"{end},", 1) for end in ends for line in lines)
        (folder / path.name).write_text(header + "".join(rows), "utf-8")
    for sub in (p for p in DEMO.iterdir() if p.is_dir() and p.name != "truth"):
        for end in ends:
            (folder / f"{sub.name}{end}").mkdir(exist_ok=True)
            for path in sub.iterdir():
                (folder / f"{sub.name}{end}" / path.name).write_bytes(path.read_bytes())
    for path in DEMO.glob("block*.toml"):
        text = path.read_text("utf-8")

        def many(found: re.Match[str]) -> str:
            return f"athletes = {json.dumps([m + e for m in json.loads(found[1]) for e in ends])}"

        (folder / path.name).write_text(re.sub(r"athletes = (\[.*\])", many, text), "utf-8")
    return folder


# --- parts, each run in a process of its own -----------------------------------------------------


def stock_loop(logs: Path, pages: int, out: Path, *, ours: bool) -> None:
    """The loop as one writes it: papermill into a file, nbconvert from the file."""
    import papermill
    from nbconvert.exporters import HTMLExporter

    athletes = athlete_ids(logs, pages)
    for athlete in athletes:
        done = out / f"{athlete}.ipynb"
        papermill.execute_notebook(
            NOTEBOOK, done, {"logs": str(logs), "athlete": athlete}, progress_bar=False
        )
        if ours:
            import nbformat

            from gripbook.report.page import to_page

            html = to_page(nbformat.read(done, as_version=4))
        else:
            html = HTMLExporter().from_filename(str(done))[0]
        (out / f"{athlete}.html").write_text(html, "utf-8")


def our_engine(logs: Path, pages: int, out: Path, *, workers: int) -> None:
    """
    A batch as the command line makes it, without the squad's page. What pages cost from the fifth
    on is written beside `out`.
    """
    from gripbook.logs import load_logs
    from gripbook.report.run.batch import render_reports

    found = load_logs(logs)
    used = [0.0, 0.0]

    def look(page: Any, done: int, total: int) -> None:
        if done in (4, pages):
            used[done == pages] = family_cpu_s(os.getpid())

    ids = found.athlete_ids[:pages]
    run = render_reports(found, out, athletes=ids, workers=workers, progress=look)
    assert len(run.pages) == pages
    assert not run.failed
    (out.parent / "cpu_of_pages").write_text(str(used[1] - used[0]))


def the_limit(logs: Path, pages: int, out: Path) -> None:
    """The same cells and pages in one warm process: no papermill, no fork, nothing watched."""
    from gripbook.report import claim_process

    claim_process()
    from gripbook.logs import load_logs
    from gripbook.report import notebook_view
    from gripbook.report.notebook_view import Ready
    from gripbook.report.page import to_page
    from gripbook.report.run import work
    from gripbook.report.run.notebooks import page_notebooks
    from gripbook.report.run.shell_engine import open_shell
    from gripbook.reviews import review

    work.warm_up(True)
    found = load_logs(logs)
    blank = page_notebooks().athlete
    code = compile_cells(blank)
    with open_shell() as shell:
        for athlete in found.athlete_ids[:pages]:
            given: dict[str, Any] = {
                "logs": str(logs),
                "athlete": athlete,
                "block": "",
                "dates": "",
                "share_noise": False,
                "lang": "en",
            }
            own = review(found.for_athlete(athlete), athlete)
            notebook = copy.deepcopy(blank)
            names: dict[str, Any] = {}
            with notebook_view.given(Ready(given, own)):
                for cell, cell_code in zip(notebook.cells, code, strict=True):
                    if cell_code is not None:
                        shell.recorder.begin(cell)
                        exec(cell_code, names)
                        shell.recorder.end()
                    if "parameters" in cell.metadata.get("tags", []):
                        names.update(given)
            (out / f"{athlete}.html").write_text(to_page(notebook), "utf-8")


def compile_cells(notebook: Any) -> list[Any]:
    """Code objects of the code cells that a page runs, None for the others."""
    return [
        compile(cell.source, "cell", "exec")
        if cell.cell_type == "code" and "skip-execution" not in cell.metadata.get("tags", [])
        else None
        for cell in notebook.cells
    ]


def athlete_ids(logs: Path, count: int) -> list[str]:
    """The first ids of scaled logs, without importing the package."""
    ids = [line.split(",")[0] for line in (logs / "athletes.csv").read_text().splitlines()[1:]]
    return sorted(ids)[:count]


PARTS: dict[str, Callable[[Path, int, Path], None]] = {
    "stock": lambda logs, n, out: stock_loop(logs, n, out, ours=False),
    "stock, our template": lambda logs, n, out: stock_loop(logs, n, out, ours=True),
    "ours, 1 worker": lambda logs, n, out: our_engine(logs, n, out, workers=1),
    "ours, 2 workers": lambda logs, n, out: our_engine(logs, n, out, workers=2),
    "limit": the_limit,
}


# --- measuring -----------------------------------------------------------------------------------


@contextmanager
def peak_memory(pid: int) -> Any:
    """Watch the memory of a process and all below it: their proportional share, in megabytes."""
    peak = [0.0]
    over = threading.Event()

    def watch() -> None:
        while not over.wait(0.25):
            peak[0] = max(peak[0], memory_mb(pid))

    thread = threading.Thread(target=watch)
    thread.start()
    try:
        yield peak
    finally:
        over.set()
        thread.join()


def family(pid: int) -> set[int]:
    """A process and all below it now; Linux."""
    below = {pid}
    parents: dict[int, int] = {}
    for place in Path("/proc").iterdir():
        if place.name.isdigit():
            try:
                stat = (place / "stat").read_text().rsplit(")", 1)[1].split()
            except OSError:
                continue
            parents[int(place.name)] = int(stat[1])
    grown = True
    while grown:
        more = {child for child, parent in parents.items() if parent in below} - below
        below |= more
        grown = bool(more)
    return below


def family_cpu_s(pid: int) -> float:
    """CPU seconds so far of a process, all below it and those they have waited for; Linux."""
    ticks = 0
    for one in family(pid):
        with contextlib.suppress(OSError):
            stat = Path(f"/proc/{one}/stat").read_text().rsplit(")", 1)[1].split()
            ticks += sum(map(int, stat[11:15]))
    return ticks / os.sysconf("SC_CLK_TCK")


def memory_mb(pid: int) -> float:
    """Memory of a process and all below it now, shared pages shared out (PSS); Linux."""
    total = 0
    for one in family(pid):
        try:
            text = Path(f"/proc/{one}/smaps_rollup").read_text()
        except OSError:
            continue
        total += sum(int(n) for n in re.findall(r"^Pss:\s+(\d+)", text, re.MULTILINE))
    return total / 1024


#: Seconds of a turn of `by_turns`.
TURN_S = 0.5


def by_turns(
    parts: Sequence[tuple[str, Path]], pages: int, *, of_pages: bool = False
) -> list[float]:
    """
    CPU seconds of parts, each of its logs, that run by turns, the others halted meanwhile;
    with `of_pages` what our engine's pages took, from the fifth on.

    What else the machine does is then shared alike: two runs one after the other were seen to
    differ by half.
    """
    with tempfile.TemporaryDirectory() as name:
        running: dict[int, int] = {}
        for i, (part, logs) in enumerate(parts):
            place = Path(name) / str(i)
            (place / "out").mkdir(parents=True)
            command = [sys.executable, "-m", "tests.bench", "--part", part]
            process = subprocess.Popen(
                [*command, str(logs), str(pages), str(place)],
                cwd=ROOT,
                env={**os.environ, "PYTHONPATH": str(ROOT), "OPENBLAS_NUM_THREADS": "1"},
                stderr=subprocess.DEVNULL,
            )
            signal_all(process.pid, signal.SIGSTOP)
            running[process.pid] = i
        used = [0.0] * len(parts)
        try:
            while running:
                for pid, i in [*running.items()]:
                    signal_all(pid, signal.SIGCONT)
                    time.sleep(TURN_S)
                    ended, status, found = os.wait4(pid, os.WNOHANG)
                    if ended:
                        if status:
                            raise RuntimeError(f"{parts[i][0]} failed")
                        used[i] = found.ru_utime + found.ru_stime
                        if of_pages:
                            used[i] = float((Path(name) / str(i) / "cpu_of_pages").read_text())
                        del running[pid]
                    else:
                        signal_all(pid, signal.SIGSTOP)
        finally:
            for pid in running:  # a part has failed: none is left halted
                signal_all(pid, signal.SIGKILL)
        return used


def ratio_by_turns(one: tuple[str, Path], other: tuple[str, Path]) -> float:
    """CPU of a page one way over that of another, what runs cost once left out."""
    few, many = (by_turns([one, other], pages) for pages in (8, 40))
    mine, least = (b - a for a, b in zip(few, many, strict=True))
    return mine / least


def signal_all(pid: int, sign: signal.Signals) -> None:
    """Send a signal to a process and all below it."""
    for one in family(pid):
        with contextlib.suppress(ProcessLookupError):
            os.kill(one, sign)


def measure(part: str, logs: Path, pages: int, *, slow_module: bool) -> tuple[float, float, float]:
    """CPU and wall seconds and peak megabytes of a part in a process of its own."""
    with tempfile.TemporaryDirectory() as name, tempfile.TemporaryFile() as said:
        place = Path(name)
        sitecustomize = place / "site"
        sitecustomize.mkdir()
        # what an environment with JupyterLab does to each process that imports one of the libraries
        words = f"import {SLOW_MODULE}" if slow_module else f"sys.modules[{SLOW_MODULE!r}] = None"
        (sitecustomize / "sitecustomize.py").write_text(f"import sys; {words}\n")
        (place / "out").mkdir()
        cpu, begun = children_cpu_s(), time.perf_counter()
        path = os.pathsep.join([str(sitecustomize), str(ROOT)])
        with (
            subprocess.Popen(
                [sys.executable, "-m", "tests.bench", "--part", part, str(logs), str(pages), name],
                cwd=ROOT,
                env={**os.environ, "PYTHONPATH": path, "OPENBLAS_NUM_THREADS": "1"},
                stderr=said,  # a stock kernel warns of its transport each time
            ) as process,
            peak_memory(process.pid) as peak,
        ):
            if process.wait():
                said.seek(0)
                raise RuntimeError(f"{part} failed: {said.read().decode()}")
        wall = time.perf_counter() - begun
        return children_cpu_s() - cpu, wall, peak[0]


def bench_pages(rounds: int) -> None:
    """The table of engines."""
    lab = importlib.util.find_spec(SLOW_MODULE) is not None
    few = {"stock": (1, 5), "stock, our template": (1, 5)}
    rows: list[tuple[str, str]] = [(part, "") for part in PARTS]
    if lab:
        rows.insert(1, ("stock", "lab"))
    found: dict[tuple[str, str], list[tuple[float, ...]]] = {row: [] for row in rows}
    with tempfile.TemporaryDirectory() as name:
        logs = scaled_demo(Path(name) / "squad", 64)
        for _ in range(rounds):  # interleaved: the machine's load changes
            for part, env in rows:
                n0, n1 = few.get(part, (8, 40))
                one = measure(part, logs, n0, slow_module=env == "lab")
                two = measure(part, logs, n1, slow_module=env == "lab")
                cpu, wall = ((two[i] - one[i]) / (n1 - n0) for i in (0, 1))
                found[part, env].append((cpu, wall, one[0] - n0 * cpu, max(one[2], two[2])))
    middle = {
        row: [sorted(column)[len(values) // 2] for column in zip(*values, strict=True)]
        for row, values in found.items()
    }
    names = {"lab": "stock loop, as with JupyterLab", "": ""}
    stock, limit = middle["stock", ""], middle["limit", ""]
    print(f"a page of {rounds} interleaved rounds, medians")
    print(f"{'':34}    CPU    wall  once, CPU   memory  stock/it  it/limit")
    for (part, env), (cpu, wall, once, memory) in middle.items():
        label = names[env] or part.replace("stock", "stock loop")
        print(
            f"{label:34}{cpu:6.2f}s{wall:7.2f}s{once:10.1f}s{memory:6.0f} MB"
            f"{stock[0] / cpu:9.1f}x{cpu / limit[0]:9.2f}x"
        )
    ours = middle["ours, 1 worker", ""]
    if lab:
        print(
            f"stock as with JupyterLab, against ours: {middle['stock', 'lab'][0] / ours[0]:.1f} x"
        )
    print(f"stock against ours: {stock[0] / ours[0]:.1f} x")
    turns = []
    with tempfile.TemporaryDirectory() as name:
        logs = scaled_demo(Path(name) / "squad", 64)
        for _ in range(rounds):
            turns.append(ratio_by_turns(("ours, 1 worker", logs), ("limit", logs)))
    middle_turn, told = sorted(turns)[len(turns) // 2], ", ".join(f"{t:.2f}" for t in turns)
    print(f"CPU of ours against the limit, both run by turns: {middle_turn:.2f} x ({told})")
    print(f"two workers against one: {ours[1] / middle['ours, 2 workers', ''][1]:.2f} x\n")


def children_cpu_s() -> float:
    """CPU seconds of the processes waited for so far, without this one, which watches memory."""
    found = resource.getrusage(resource.RUSAGE_CHILDREN)
    return found.ru_utime + found.ru_stime


def cpu_s() -> float:
    """CPU seconds of this process and of those it has waited for, so far."""
    own, children = map(resource.getrusage, (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return own.ru_utime + own.ru_stime + children.ru_utime + children.ru_stime


def bench_squads(sizes: list[int], workers: int) -> None:
    """Cost of a page in squads of different size, and memory as pages are made."""
    from gripbook.logs import load_logs
    from gripbook.report.run.batch import render_reports

    first = 0.0
    for size in sizes:
        with tempfile.TemporaryDirectory() as name:
            logs = load_logs(scaled_demo(Path(name) / "squad", size))
            memory: dict[int, list[float]] = defaultdict(list)

            def look(
                page: Any, done: int, total: int, memory: dict[int, list[float]] = memory
            ) -> None:
                for n in (100, 1000, 2000):  # about: what a page holds comes and goes
                    if n - 30 < done <= n:
                        memory[n].append(memory_mb(os.getpid()))

            few = logs.athlete_ids[:8]
            once = cpu_s()
            render_reports(logs, Path(name) / "few", athletes=few, workers=workers)
            once = cpu_s() - once
            cpu = cpu_s()
            run = render_reports(logs, Path(name) / "out", workers=workers, progress=look)
            cpu = cpu_s() - cpu - once
            begun = time.process_time()
            render_reports(logs, Path(name) / "out", workers=workers)
            again = time.process_time() - begun
        assert not run.failed
        each = cpu / (len(run.pages) - len(few))
        first = first or each
        print(
            f"{len(run.pages) - 1:5} athletes: {each:.3f} s CPU a page, {each / first:.2f} x the "
            f"first; unchanged {1000 * again / len(run.pages):.1f} ms a page"
            + "".join(f"; {mean(mb):.0f} MB after {n}" for n, mb in memory.items()),
            flush=True,
        )
    with tempfile.TemporaryDirectory() as name:
        ends = [scaled_demo(Path(name) / str(size), size) for size in (sizes[0], sizes[-1])]
        parts = [("ours, 1 worker" if workers == 1 else "ours, 2 workers", end) for end in ends]
        few, many = by_turns(parts, min(40, sizes[0]), of_pages=True)
    print(f"a page among {sizes[-1]} against one among {sizes[0]}, by turns: {many / few:.2f} x\n")


def bench_reading(rows: int) -> None:
    """Reading, checking and deriving against pandas.read_csv of the same file, in CPU time."""
    from gripbook.derive import derive_sets
    from gripbook.logs import load_logs
    from gripbook.simulate import simulate_squad

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        simulate_squad(folder, 40, seed=5)
        path = folder / "hangs.csv"
        header, *lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
        path.write_text(header + "".join(_years(lines, rows)), encoding="utf-8")
        plain = read = derived = float("inf")
        for _ in range(3):  # the least of three, for what else the machine does
            start = time.process_time()
            pd.read_csv(path)
            plain = min(plain, time.process_time() - start)
            start = time.process_time()
            logs = load_logs(folder)
            read = min(read, time.process_time() - start)
            start = time.process_time()
            for athlete in logs.athlete_ids:
                own = logs.for_athlete(athlete)
                derive_sets(own.hangs, own.body, logs.block_for(athlete))
            derived = min(derived, time.process_time() - start)
    print(f"hangs.csv of {len(logs.hangs):,} rows")
    print(f"  pandas.read_csv            {plain:7.2f} s")
    print(f"  load_logs                  {read:7.2f} s   {read / plain:5.2f} x")
    both = read + derived
    print(f"  load_logs and derive_sets  {both:7.2f} s   {both / plain:5.2f} x\n")


def _years(lines: list[str], rows: int) -> list[str]:
    """The same blocks over and over, each ten weeks after the one before, the last as it is."""
    split = [line.split(",", 2) for line in lines]
    out: list[str] = []
    for block in reversed(range(-(-rows // len(lines)))):
        moved = dt.timedelta(days=70 * block)
        days = {day: str(dt.date.fromisoformat(day) - moved) for day in {s[1] for s in split}}
        out += [f"{athlete},{days[day]},{rest}" for athlete, day, rest in split]
    return out[-rows:]


def main() -> None:
    """Run the benchmarks."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=1_000_000, help="rows of the long hangs.csv")
    parser.add_argument("--rounds", type=int, default=3, help="rounds of the table of engines")
    parser.add_argument("--only", choices=["reading", "pages", "squads"], help="one part alone")
    parser.add_argument("--squads", type=int, nargs="+", default=[20, 200], help="their sizes")
    parser.add_argument("--long", action="store_true", help="also a squad of 2 000 athletes")
    parser.add_argument("--workers", type=int, default=2, help="workers for the squads")
    parser.add_argument("--part", nargs=4, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.part:
        part, logs, pages, place = options.part
        PARTS[part](Path(logs), int(pages), Path(place) / "out")
        return
    # without byte code each process would compile all libraries anew, the stock kernels above all
    for place in {str(ROOT / "gripbook"), *(p for p in sys.path if p.endswith("-packages"))}:
        compileall.compile_dir(place, quiet=2, workers=0)
    if options.only in (None, "reading"):
        bench_reading(options.rows)
    if options.only in (None, "pages"):
        bench_pages(options.rounds)
    if options.only in (None, "squads"):
        bench_squads([*options.squads, *([2000] if options.long else [])], options.workers)


if __name__ == "__main__":
    main()
