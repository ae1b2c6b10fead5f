"""Opened logs for tests of the exploring notebook, each reviewed once; not to be changed."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from gripbook.explore import Explorer, explorer_of
from gripbook.logs import Logs, load_logs
from tests.conftest import FILES

DEMO = Path(__file__).parents[1] / "data_demo"


@cache
def _demo_logs() -> Logs:
    return load_logs(DEMO)


@cache
def demo(athlete: str) -> Explorer:
    """One athlete of the demo squad."""
    return explorer_of(_demo_logs(), athlete)


@cache
def small(athlete: str) -> Explorer:
    """One athlete of the small logs (`FILES`)."""
    with TemporaryDirectory() as folder:
        for name, text in FILES.items():
            (Path(folder) / name).write_text(text, encoding="utf-8")
        return explorer_of(load_logs(folder), athlete)
