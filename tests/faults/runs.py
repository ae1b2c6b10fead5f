"""Runs of the command line that are ended, starved or kept out, and what they leave."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
#: Where the package stands that the runs use; `freeze` moves it.
code_at = ROOT
#: A library that lets each process write so many bytes and then says that the disk is full.
_FULL = """
import errno, os, sys
left = int(sys.argv.pop(1))
real = os.fsync
def fsync(handle):
    global left
    left -= os.fstat(handle).st_size
    if left < 0:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    real(handle)
os.fsync = fsync
from gripbook.cli import main
main()
"""


def freeze(place: Path) -> None:
    """
    Copy the package, and use the copy from here on.

    Pages depend on its source: who edits it meanwhile would see trees that differ.
    """
    global code_at
    for name in ("gripbook", "notebooks"):
        shutil.copytree(ROOT / name, place / name)
    code_at = place


def tree(folder: Path) -> dict[str, bytes]:
    """Every file of a folder, hidden ones too, and every link's target."""
    return {
        str(p.relative_to(folder)): os.readlink(p).encode() if p.is_symlink() else p.read_bytes()
        for p in sorted(folder.rglob("*"))
        if p.is_symlink() or p.is_file()
    }


def start(logs: Path, out: Path, *more: str, code: tuple[str, ...] = ()) -> subprocess.Popen[str]:
    """`gripbook report` in a process of its own."""
    how = code or ("-m", "gripbook.cli")
    return subprocess.Popen(
        [sys.executable, *how, "report", str(logs), "--out", str(out), "--workers", "1", *more],
        stderr=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        text=True,
        cwd=code_at,  # `-m` and `-c` look there first
        env={**os.environ, "PYTHONPATH": str(code_at)},
    )


def finish(logs: Path, out: Path, *more: str, code: tuple[str, ...] = ()) -> tuple[int, str]:
    """Exit status and words of a run that is let go on to its end."""
    with start(logs, out, *more, code=code) as run:
        said = run.communicate()[1]
    return run.returncode, said


def whole(logs: Path, out: Path) -> tuple[dict[str, bytes], float]:
    """What a run that nothing disturbs leaves, and how long it takes."""
    begun = time.monotonic()
    code, said = finish(logs, out)
    if code:
        raise RuntimeError(f"The undisturbed run failed: {said}")
    return tree(out), time.monotonic() - begun


def killed_at(logs: Path, out: Path, seconds: float) -> bool:
    """Kill a run so long after its start; whether it still ran."""
    with start(logs, out) as run:
        try:
            run.communicate(timeout=seconds)
        except subprocess.TimeoutExpired:
            run.kill()
            run.communicate()
    return run.returncode == -signal.SIGKILL


def kills(logs: Path, place: Path, count: int, seed: int) -> dict[str, int]:
    """
    Kill runs at random points, let the next go on to its end, and compare with an undisturbed one.

    Returns
    -------
    Counts: kills that met a run, runs that had ended by then, trees alike and trees that differ.
    """
    wanted, seconds = whole(logs, place / "whole")
    draw = random.Random(seed)
    counts = dict.fromkeys(("killed", "ended before", "trees alike", "trees that differ"), 0)
    # where runs end before they are met again and again, something else is wrong
    while counts["killed"] < count and counts["ended before"] <= 2 * count:
        out = place / f"kill-{sum(counts.values())}"
        met = killed_at(logs, out, draw.uniform(0, seconds))
        counts["killed" if met else "ended before"] += 1
        code, said = finish(logs, out)
        left = tree(out)
        alike = not code and left == wanted and "Traceback" not in said
        counts["trees alike" if alike else "trees that differ"] += 1
        if not alike:
            files = {name for name in {*left, *wanted} if left.get(name) != wanted.get(name)}
            print(f"{out.name}: exit {code}, other files {sorted(files)}, said {said[-300:]!r}")
    return counts


def full_disk(logs: Path, out: Path, wanted: dict[str, bytes], room: int) -> str:
    """What is wrong after a run on a disk with so many bytes left; "" where nothing is."""
    code, said = finish(logs, out, code=("-c", _FULL, str(room)))
    if code != 1 or "No space left on device" not in said or "Traceback" in said:
        return f"full disk, {room} bytes: exit {code}, said {said[-300:]!r}"
    left = {n: d for n, d in tree(out).items() if not n.endswith(".jsonl")}
    if any(wanted.get(name) != data for name, data in left.items()):
        return f"full disk, {room} bytes: half a file stands"
    code, said = finish(logs, out)
    return "" if not code and tree(out) == wanted else f"full disk: not mended: {said[-300:]!r}"


def no_memory(logs: Path, out: Path, wanted: dict[str, bytes]) -> str:
    """What is wrong where pages may take too little memory; "" where nothing is."""
    code, said = finish(logs, out, "--memory-mb", "256")
    if "Traceback (most recent call last):\n  File" in said and code not in (0, 1):
        return f"memory: exit {code}, said {said[-300:]!r}"
    if code == 1 and "emory" not in said:
        return f"memory: not said: {said[-300:]!r}"
    code, said = finish(logs, out)
    made = {n: d for n, d in tree(out).items() if not n.startswith("failed/")}
    return "" if not code and made == wanted else f"memory: not mended: {said[-300:]!r}"


def two_runs(logs: Path, out: Path, wanted: dict[str, bytes]) -> str:
    """What is wrong unless one of two runs says who holds the folder; "" where nothing is."""
    with start(logs, out) as one, start(logs, out) as two:
        said = [one.communicate()[1], two.communicate()[1]]
    codes = sorted((one.returncode, two.returncode))
    if codes == [0, 1] and sum("is in use: process" in s for s in said) == 1:
        return "" if tree(out) == wanted else "two runs: the tree differs"
    return f"two runs: exits {codes}, said {[s[-200:] for s in said]}"


def links(logs: Path, place: Path, wanted: dict[str, bytes]) -> str:
    """What is wrong unless links are replaced, not followed; "" where nothing is."""
    out, theirs = place / "links", place / "theirs"
    out.mkdir()
    theirs.write_text("mine")
    for name in ("index.html", "results.csv"):
        (out / name).symlink_to(theirs)
    (out / next(n for n in wanted if n.endswith(".html") and n != "index.html")).symlink_to(
        place / "nowhere"
    )
    code, said = finish(logs, out)
    if code or "Traceback" in said:
        return f"links: exit {code}, said {said[-300:]!r}"
    if theirs.read_text() != "mine" or (place / "nowhere").exists():
        return "links: what a link pointed to was written to"
    return "" if tree(out) == wanted else "links: the tree differs"
