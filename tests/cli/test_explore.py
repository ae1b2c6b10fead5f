"""`gripbook explore` on the command line: what it says and what it leaves alone."""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import subprocess
import sys
import tempfile
import time
import webbrowser
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


def info(tmp_path: Path, name: str, told: Any, mode: int = 0o700) -> Path:
    """A state folder with a server's info file; `told` as JSON, text as it is. Gives the folder."""
    state = tmp_path / f"gripbook-explore-{name}"
    (state / "runtime").mkdir(parents=True)
    text = told if isinstance(told, str) else json.dumps(told)
    (state / "runtime" / "jpserver-1.json").write_text(text, "utf-8")
    state.chmod(mode)
    return state


@needs_lab
def test_a_second_call_finds_the_running_server(
    small_logs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A server that answers for the folder is opened again, its token on no command line."""
    opened: list[str] = []
    monkeypatch.setattr(tempfile, "gettempdir", lambda: str(tmp_path))
    monkeypatch.setattr(webbrowser, "open", opened.append)
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        told = {
            "root_dir": str(small_logs),
            "port": listening.getsockname()[1],
            "pid": os.getpid(),
            "url": "http://127.0.0.1:1/",
            "token": "secret",
        }
        state = info(tmp_path, "own", told)
        found = run("explore", str(small_logs), "--athlete", "ada")
    assert found.exit_code == 0, found.output
    assert "runs on this folder already: http://127.0.0.1:1/doc/" in found.stderr
    assert "explore-ada.ipynb?reset&token=secret" in found.stderr
    assert (small_logs / "explore-ada.ipynb").exists()
    assert opened == [(state / "open.html").as_uri()]
    assert "token=secret" in (state / "open.html").read_text("utf-8")


@pytest.mark.skipif(os.name == "nt", reason="asks POSIX owners, modes and process ids")
def test_dead_and_foreign_servers_are_not_taken(
    small_logs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only a living server of this user, in a folder closed to others, is the running one."""
    monkeypatch.setattr(tempfile, "gettempdir", lambda: str(tmp_path))
    with subprocess.Popen([sys.executable, "-c", ""]) as ended:
        ended.wait()
    with socket.socket() as listening, socket.socket() as closed:
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        closed.bind(("127.0.0.1", 0))  # bound, but nobody answers
        told = {
            "root_dir": str(small_logs),
            "port": listening.getsockname()[1],
            "pid": os.getpid(),
            "url": "http://127.0.0.1:1/",
            "token": "t",
        }
        info(tmp_path, "silent", {**told, "port": closed.getsockname()[1]})
        info(tmp_path, "elsewhere", {**told, "root_dir": str(tmp_path)})
        info(tmp_path, "ended", {**told, "pid": ended.pid})  # its port may be another's by now
        info(tmp_path, "no-pid", {k: v for k, v in told.items() if k != "pid"})
        info(tmp_path, "no-port", {**told, "port": 2**40})
        info(tmp_path, "no-process", {**told, "pid": 2**80})
        info(tmp_path, "torn", "{")
        info(tmp_path, "list", "[]")
        info(tmp_path, "open-to-others", told, mode=0o755)
        theirs = info(tmp_path, "theirs", told)
        with monkeypatch.context() as other:
            other.setattr(os, "getuid", lambda: os.stat(theirs).st_uid + 1)
            assert start._running(small_logs.resolve()) is None
        theirs.rename(tmp_path / "away")
        (tmp_path / "gripbook-explore-link").symlink_to(tmp_path / "away")
        assert start._running(small_logs.resolve()) is None
        own = info(tmp_path, "own", told)
        assert start._running(small_logs.resolve()) == ("http://127.0.0.1:1/", "t", own)


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
        assert told.startswith(f"Reading {small_logs.name} and starting JupyterLab")
        assert "explore.ipynb is there already" in told
        assert re.search(r"http://127\.0\.0\.1:\d+/doc/\S+token=\w{40,}", told), told
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


@needs_lab
def test_what_is_said_while_the_notebook_runs_is_not_in_its_cells(
    small_logs: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    """The address, told while cells run, reaches the terminal and no cell."""
    terminal = sys.stderr

    def answers_while_cells_run(*_: Any) -> tuple[str, str]:
        give_up = time.monotonic() + 60
        while time.monotonic() < give_up and sys.stderr is terminal:
            if (small_logs / "explore-ada.ipynb").exists():
                break
            time.sleep(0.002)
        return "http://127.0.0.1:1/", "token"

    monkeypatch.setattr(start, "_wait_until_up", answers_while_cells_run)
    monkeypatch.setattr(start, "_stay", lambda *_: "Closed.")
    start.explore(
        small_logs,
        athlete="ada",
        browser=False,
        say=lambda text: print(text, file=sys.stderr, flush=True),
    )
    assert "JupyterLab: http://127.0.0.1:1/doc/" in capfd.readouterr().err
    notebook = json.loads((small_logs / "explore-ada.ipynb").read_text("utf-8"))
    shown = [output for cell in notebook["cells"] for output in cell.get("outputs", ())]
    assert shown
    assert not [output for output in shown if output["output_type"] == "stream"]
