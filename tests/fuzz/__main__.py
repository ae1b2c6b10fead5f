"""`python -m tests.fuzz`: MINUTES of odd folders (10 by default), counted; what falls is told."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from tests.conftest import FILES as SMALL
from tests.fuzz.folders import FOUND, GUIDED, by_bytes, check, check_adopted, structured, table

#: Folders between two looks at the clock.
_ROUND = 100


def rounds(
    name: str, strategy: st.SearchStrategy[Any], work: Callable[[Any], str], minutes: float
) -> tuple[Counter[str], list[str]]:
    """Draw from a strategy until the time is up; counts, and the smallest case of each failure."""
    counts: Counter[str] = Counter()
    fallen: list[str] = []
    end, number = time.monotonic() + 60 * minutes, int(os.environ.get("SEED", "1"))
    while time.monotonic() < end:

        @seed(number)
        @settings(
            max_examples=_ROUND,
            deadline=None,
            database=None,
            suppress_health_check=list(HealthCheck),
            phases=[Phase.generate, Phase.shrink],
            print_blob=False,
        )
        @given(case=strategy)
        def one(case: Any) -> None:
            if time.monotonic() > end:
                return
            counts[work(case)] += 1

        try:
            one()
        except Exception as error:
            counts["fallen"] += 1
            notes = "\n".join(getattr(error, "__notes__", ()))
            fallen.append(f"{name}, seed {number}: {type(error).__name__}: {error}\n{notes}")
        number += 1
    return counts, fallen


def guided(minutes: float) -> tuple[str, list[str]]:
    """What a run guided by the code it reaches says, and what fell; words alone without atheris."""
    if find_spec("atheris") is None:
        return (
            "guided: not run, atheris is not installed (extra fuzz; it has no wheel everywhere)",
            [],
        )
    with tempfile.TemporaryDirectory() as place:
        for number, name in enumerate(GUIDED):  # to begin with
            (Path(place) / name).write_bytes(bytes([number]) + SMALL[name].encode())
        words = [f"-max_total_time={60 * minutes:.0f}", f"-artifact_prefix={place}/", place]
        run = subprocess.run(
            [sys.executable, "-m", "tests.fuzz.guided", *words],
            capture_output=True,
            text=True,
            errors="replace",
        )
    done = re.findall(r"^#(\d+)\s.*?cov: (\d+)", run.stderr, re.MULTILINE)
    count, reached = done[-1] if done else ("0", "0")
    fallen = [f"guided: {run.stderr[-3000:]}"] if run.returncode else []
    return f"guided: {count} folders, {reached} edges of code reached", fallen


def main() -> int:
    """Print counts by kind; exit status 1 where a folder fell."""
    minutes = float(os.environ.get("MINUTES", "10"))
    fallen = []
    for name, files in FOUND.items():
        try:
            check(files(), reviewed=True)
        except Exception as error:
            fallen.append(f"{name}: {type(error).__name__}: {error}")
    print(f"found before: {len(FOUND) - len(fallen)} of {len(FOUND)} hold")

    def reviewed(files: Any) -> str:
        return check(files, reviewed=True)

    def adopted(data: Any) -> str:
        return check_adopted(data, "training.csv")

    for name, strategy, work, share in (
        ("structured", structured(), check, 0.3),
        ("byte by byte", by_bytes(), check, 0.1),
        ("reviewed", structured(), reviewed, 0.2),
        ("adopted", table("hangs.csv"), adopted, 0.1),
    ):
        counts, more = rounds(name, strategy, work, share * minutes)
        fallen += more
        print(
            f"{name}: {counts.total()} folders: " + ", ".join(f"{n} {k}" for k, n in counts.items())
        )
    said, more = guided(0.3 * minutes)
    print(said)
    fallen += more
    for said in fallen:
        print(said)
    return int(bool(fallen))


if __name__ == "__main__":
    sys.exit(main())
