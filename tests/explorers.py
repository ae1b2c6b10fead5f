"""Opened logs for tests of the exploring notebook, each reviewed once; not to be changed."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from gripbook.explore import Explorer
from tests.conftest import FILES
from tests.reviewed import DEMO, explored


def demo(athlete: str) -> Explorer:
    """One athlete of the demo squad."""
    return explored(DEMO, athlete)


def small(athlete: str) -> Explorer:
    """One athlete of the small logs (`FILES`)."""
    with TemporaryDirectory() as temporary:
        folder = Path(temporary) / "logs"
        folder.mkdir()
        for name, text in FILES.items():
            (folder / name).write_text(text, encoding="utf-8")
        return explored(folder, athlete)
