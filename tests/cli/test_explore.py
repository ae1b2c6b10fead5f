"""`gripbook explore` on the command line: what it says and what it leaves alone."""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from gripbook.cli import main
from gripbook.explore import start


def run(*arguments: str) -> Any:
    """Run gripbook."""
    return CliRunner().invoke(main, list(arguments))


def test_without_jupyterlab_it_says_how_to_get_it(
    small_logs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where JupyterLab is missing the message gives the command that installs it."""
    monkeypatch.setattr(start, "find_spec", lambda name: None)
    found = run("explore", str(small_logs))
    assert found.exit_code == 1
    assert "pip install 'gripbook[lab]'" in found.stderr
    assert not (small_logs / "explore.ipynb").exists()


needs_lab = pytest.mark.skipif(
    find_spec("jupyterlab") is None and not os.environ.get("CI"), reason="needs the extra `lab`"
)


@needs_lab
@pytest.mark.parametrize(
    ("more", "words"),
    [(["--athlete", "nobody"], "Athletes there: ada, bo, cy"), (["--block", "x"], "Small block")],
)
def test_a_wrong_name_is_told_and_leaves_nothing(
    small_logs: Path, more: list[str], words: str
) -> None:
    """An unknown athlete or block: the words, exit 1, no copy, no server left."""
    found = run("explore", str(small_logs), "--no-browser", *more)
    assert found.exit_code == 1
    assert words in found.stderr
    assert not list(small_logs.glob("*.ipynb"))


@needs_lab
def test_a_second_call_finds_the_running_server(
    small_logs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A server that answers for the folder is opened again; a dead or another one is not."""
    monkeypatch.setattr(start.tempfile, "gettempdir", lambda: str(tmp_path))
    with socket.socket() as listening, socket.socket() as closed:
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        closed.bind(("127.0.0.1", 0))  # bound, but nobody answers
        for name, folder, port in (
            ("dead", small_logs, closed.getsockname()[1]),
            ("other", tmp_path, listening.getsockname()[1]),
        ):
            told = {"root_dir": str(folder), "port": port, "url": f"http://{name}/", "token": "t"}
            runtime = tmp_path / f"gripbook-explore-{name}" / "runtime"
            runtime.mkdir(parents=True)
            (runtime / "jpserver-1.json").write_text(json.dumps(told), "utf-8")
        assert start._running(small_logs.resolve()) is None
        told = {
            "root_dir": str(small_logs),
            "port": listening.getsockname()[1],
            "url": "http://127.0.0.1:1/",
            "token": "secret",
        }
        runtime = tmp_path / "gripbook-explore-own" / "runtime"
        runtime.mkdir(parents=True)
        (runtime / "jpserver-1.json").write_text(json.dumps(told), "utf-8")
        (runtime / "jpserver-2.json").write_text("{", "utf-8")
        found = run("explore", str(small_logs), "--no-browser", "--athlete", "ada")
    assert found.exit_code == 0, found.output
    assert "runs on this folder already: http://127.0.0.1:1/lab/" in found.stderr
    assert "explore-ada.ipynb?reset&token=secret" in found.stderr
    assert (small_logs / "explore-ada.ipynb").exists()


@needs_lab
def test_no_folder_is_told(tmp_path: Path) -> None:
    """A folder that is not there is told before anything starts."""
    found = run("explore", str(tmp_path / "none"))
    assert found.exit_code == 1
    assert "is no folder" in found.stderr


@needs_lab
def test_it_opens_what_is_there_and_ends_with_one_interrupt(small_logs: Path) -> None:
    """A copy that is there is opened as it is; Ctrl-C ends the server, and its folder goes."""
    mine = '{"cells": [], "metadata": {}, "nbformat": 4, "nbformat_minor": 5}'
    (small_logs / "explore.ipynb").write_text(mine)
    state = small_logs / "tmp"
    state.mkdir()
    running = subprocess.Popen(
        [sys.executable, "-m", "gripbook.cli", "explore", str(small_logs), "--no-browser"],
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        env={**os.environ, "TMPDIR": str(state)},
    )
    try:
        assert running.stderr is not None
        told = ""
        for line in running.stderr:
            told += line
            if "Ctrl-C" in line:
                break
        assert "explore.ipynb is there already" in told
        assert re.search(r"http://127\.0\.0\.1:\d+/lab\S+token=\w{40,}", told), told
        os.killpg(running.pid, signal.SIGINT)
        rest = running.communicate(timeout=30)[1]
    finally:
        if running.poll() is None:
            os.killpg(running.pid, signal.SIGKILL)
    assert running.returncode == 0, rest
    assert rest.strip().endswith("Closed.")
    assert "Traceback" not in rest
    assert (small_logs / "explore.ipynb").read_text() == mine
    assert list(state.iterdir()) == []
