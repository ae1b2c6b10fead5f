"""The notebooks in the hands of papermill's and nbconvert's own commands."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from gripbook.logs import load_logs
from gripbook.report.run.batch import render_reports

pytestmark = [pytest.mark.notebook, pytest.mark.usefixtures("one_server")]

NOTEBOOK = Path(__file__).parents[2] / "notebooks" / "block_review.ipynb"
# The package says so for its own processes; a user's papermill takes three seconds longer.
_QUICK = "import sys; sys.modules['rfc3987_syntax'] = None; "


def _command(start: str, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run a tool's own entry point; quietly, as a terminal shows it."""
    return subprocess.run(
        [sys.executable, "-c", _QUICK + start, *arguments],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "JUPYTER_PLATFORM_DIRS": "1"},
    )


def _papermill(*arguments: str) -> subprocess.CompletedProcess[str]:
    """`papermill` as its users call it, in a kernel of its own."""
    start = "from papermill.cli import papermill; papermill(prog_name='papermill')"
    return _command(start, *arguments)


def _convert(source: Path, kind: str) -> str:
    """`jupyter nbconvert --to KIND`: the text of the page."""
    target = source.with_name(f"{kind}.html")
    start = "from nbconvert.nbconvertapp import main; main()"
    done = _command(start, "--to", kind, "--output", str(target), str(source))
    assert done.returncode == 0, done.stderr
    return target.read_text(encoding="utf-8")


def test_a_run_by_papermill_becomes_html_and_our_page(small_logs: Path, tmp_path: Path) -> None:
    """nbconvert's HTML shows the still pictures with their style; `--to gripbook` is the report."""
    run = tmp_path / "ada.ipynb"
    given = ["-p", "logs", str(small_logs), "-p", "athlete", "ada"]
    done = _papermill(*given, str(NOTEBOOK), str(run))
    assert done.returncode == 0, done.stderr
    html = _convert(run, "html")
    pictures = re.findall(r'<figure class="picture[^>]*>.*?</figure>', html, flags=re.DOTALL)
    assert len(pictures) >= 2
    assert all(re.search('<svg[^>]* class="wide"', picture) for picture in pictures)
    assert ".gripbook.gripbook {" in html
    assert 'font-family: "Gripbook Serif"' in html
    render_reports(load_logs(small_logs), tmp_path / "pages", athletes=["ada"], workers=1)
    assert _convert(run, "gripbook") == (tmp_path / "pages" / "ada.html").read_text("utf-8")


def test_papermill_ends_with_our_sentence(small_logs: Path, tmp_path: Path) -> None:
    """A name that isn't in the logs: papermill's last line is what is wrong and who is there."""
    given = ["-p", "logs", str(small_logs), "-p", "athlete", "arvo"]
    done = _papermill(*given, str(NOTEBOOK), str(tmp_path / "out.ipynb"))
    assert done.returncode == 1
    last = done.stderr.strip().splitlines()[-1]
    assert last == "No row for athlete 'arvo' in small. Athletes there: ada, bo, cy."
    assert "site-packages/gripbook" not in done.stderr
    assert "gripbook/report" not in done.stderr
