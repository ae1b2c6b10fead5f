"""Fixtures shared by all tests: small log folders written by hand, not by the simulator."""

from __future__ import annotations

import asyncio
import gc
import os
import shutil
import signal
from collections.abc import Iterator
from pathlib import Path
from typing import ClassVar

import jupyter_core.utils
import pytest

# Matrices here are small: two threads wait for each other three times as long as one works. It must
# be set before NumPy is loaded, which the next lines do.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from gripbook.report.run import workers
from tests.fonts import only_fonts

# A shell starts background jobs with Ctrl-C ignored, and children inherit that: tests that press it
# would wait for ever.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)


def pytest_configure(config: pytest.Config) -> None:
    """With ONLY_FONTS="DejaVu*" browsers started by the tests see no other font files."""
    if pattern := os.environ.get("ONLY_FONTS"):
        os.environ["FONTCONFIG_FILE"] = str(only_fonts(pattern))


def pytest_collection_finish() -> None:
    """What is imported by now stays: looking through it for garbage took a tenth of the tests."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000)


@pytest.fixture
def no_loop() -> Iterator[None]:
    """A browser of another test keeps a loop running in this thread; what awaits needs it."""
    running = asyncio._get_running_loop()
    asyncio._set_running_loop(None)
    kept = jupyter_core.utils._loop.set(None)  # the loop that a kernel's client remembers
    yield
    jupyter_core.utils._loop.reset(kept)
    asyncio._set_running_loop(running)


HANGS = """\
athlete,date,sets,exercise,test,warmup,grip,hand,edge_mm,added_kg,scale_kg,hang_s,rest_s,reps,reps_done,failed_s,stopped,reserve_s,note
ada,2026-01-05,2,hang,yes,,half_crimp,both,20,5,,10,,,,,,3,<b>first</b> day
ada,2026-01-05,2,hang,,,open_four,both,20,0,,10,,,,,,,
ada,2026-01-08,3,hang,,,half_crimp,both,20,7.5,,10,,,,,,,
ada,2026-01-12,2,repeater,,,half_crimp,both,20,0,,7,3,6,,,,,
ada,2026-01-12,1,repeater,,,half_crimp,both,20,2.5,,7,3,6,4,5,,,
ada,2026-01-15,4,repeater,,,half_crimp,both,15,0,,7,3,6,,,,,
ada,2026-01-19,1,pull,yes,,half_crimp,left,20,0,21.5,,,,,,,,
ada,2026-01-19,1,pull,yes,,half_crimp,right,20,0,20.0,,,,,,,,
ada,2026-01-22,1,hang,yes,,half_crimp,both,20,12.5,,10,,,,,,,
ada,2026-01-23,1,hang,,,half_crimp,both,20,5,,10,,,,,,,
bo,2026-01-06,4,hang,yes,,half_crimp,both,20,0,,10,,,,,,,
bo,2026-01-13,4,hang,yes,,half_crimp,both,20,2.5,,10,,,,6,,,
bo,2026-01-20,4,hang,,,half_crimp,both,25,0,,10,,,,4,slip,,
cy,2026-01-06,4,hang,,,half_crimp,both,20,0,,8,,,,,,,
"""
BODY = """\
athlete,date,body_mass_kg
ada,2026-01-05,61.0
ada,2026-01-19,61.6
bo,2026-01-06,48.3
"""
SESSIONS = """\
athlete,date,kind,until,minutes,effort,place,note
ada,2026-01-05,fingers,,40,5,,
ada,2026-01-06,rest,,,,,
ada,2026-01-07,core,,20,4,,
ada,2026-01-08,fingers,,45,6,,
ada,2026-01-09,rest,2026-01-10,,,,
ada,2026-01-11,climbing,,120,7,rock,
ada,2026-01-12,fingers,,75,7,,
ada,2026-01-15,fingers,,50,7,,
bo,2026-01-13,fingers,,35,5,,
bo,2026-01-14,ill,2026-01-18,,,,
cy,2026-01-06,fingers,,30,4,,
"""
PAIN = """\
athlete,date,when,site,side,level,sign,note
ada,2026-01-08,after,ring,left,0,,asked
bo,2026-01-13,during,ring,right,2,,
"""
ATHLETES = """\
athlete,name,born,units,show_body_mass
ada,Ada <i>A</i>,1998,kg,
bo,Bo,2010,kg,
cy,Cy,1990,kg,no
"""
BLOCK = """\
[block]
name = "Small block"
start = 2026-01-05
weeks = 3
headline = { capacity = "hang", grip = "half_crimp", hand = "both" }
test_weeks = [1, 3]

[limits]
fingers_per_week = 2
rest_days_between_finger_days = 1
finger_session_minutes = 60
pain_level = 3

[[phase]]
name = "Hangs"
weeks = 1
exercise = "hang"
hang_s = 10
sets_per_session = 4
set_rest_s = [120, 120]
sessions_per_week = 2

[[phase]]
name = "Repeaters"
weeks = 1
exercise = "repeater"
hang_s = 7
rest_s = 3
reps = 6
sets_per_session = 4
set_rest_s = [120, 180]
sessions_per_week = 2

[[phase]]
name = "Pulls"
weeks = 1
exercise = "pull"
sets_per_session = 4
set_rest_s = [180, 240]
alternate_hands = true
sessions_per_week = 2

[weekly]
core = 2
"""
FILES = {
    "hangs.csv": HANGS,
    "body.csv": BODY,
    "sessions.csv": SESSIONS,
    "pain.csv": PAIN,
    "athletes.csv": ATHLETES,
    "block.toml": BLOCK,
}


@pytest.fixture
def small_logs(tmp_path: Path) -> Path:
    """A log folder of three athletes: an adult, a minor, and one who hides body mass."""
    folder = tmp_path / "small"
    folder.mkdir()
    for name, text in FILES.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def chromium() -> str:
    """Path of an installed Chromium; without one browser tests are skipped, but never in CI."""
    for name in ("chromium", "chromium-browser", "google-chrome", "chrome"):
        if found := shutil.which(name):
            return found
    if os.environ.get("CI"):
        pytest.fail("Browser tests need Chromium, and CI must not skip them.")
    pytest.skip("No Chromium is installed (Debian: apt-get install chromium).")


class _KeptServer(workers._Server):
    """A warm process that outlives a run's `kill`, so that the next run forks from it as well."""

    kept: ClassVar[dict[tuple[int | None, bool], _KeptServer]] = {}

    def kill(self) -> None:
        """Stay; the run has ended the workers it had."""

    def end(self) -> None:
        """End it and what it forked."""
        super().kill()


def _kept_server(memory_mb: int | None, rehearsed: bool) -> _KeptServer:
    one = _KeptServer.kept.get((memory_mb, rehearsed))
    if one is None or not one.alive:
        one = _KeptServer.kept[memory_mb, rehearsed] = _KeptServer(memory_mb, rehearsed)
    return one


@pytest.fixture(scope="session")
def _end_servers() -> Iterator[None]:
    yield
    for server in _KeptServer.kept.values():
        server.end()


@pytest.fixture
def one_server(_end_servers: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """
    One warm process for all runs that ask for it: each would spend seconds on imports.

    What a run makes is still made in forks of its own. That runs end their server and start one is
    held in tests/unit/test_report_workers.py.
    """
    monkeypatch.setattr(workers, "_Server", _kept_server)


@pytest.fixture(scope="module")
def warm_server(_end_servers: None) -> Iterator[None]:
    """`one_server` for all runs of a module."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(workers, "_Server", _kept_server)
        yield


@pytest.fixture(scope="session")
def demo_logs_folder() -> Path:
    """The logs of the invented squad."""
    return Path(__file__).parents[1] / "data_demo"
