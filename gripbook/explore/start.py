"""
`gripbook explore`: a copy of the notebook beside the logs, and JupyterLab opened on it.

The copy is run before JupyterLab shows it, and again when the logs have changed, so that its charts
are there before any click. Server and browser start meanwhile, and wait for it. It's run in a
process of its own: what this one says while cells run, and what a browser says, would go into the
cells. The server listens on this machine only, asks no network, and keeps its settings in a folder
of its own, so that nobody's Jupyter settings are touched.
"""

from __future__ import annotations

import json
import os
import secrets
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
import webbrowser
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import chdir, contextmanager
from importlib.util import find_spec
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import nbformat

from gripbook.errors import GripbookError, LogFolderError
from gripbook.explore.kernel import parameters
from gripbook.html import slug
from gripbook.report import SLOW_MODULE, claim_process
from gripbook.report.run.notebooks import load_notebook
from gripbook.writing import write_file

if TYPE_CHECKING:
    from gripbook.logs import DateOrder

#: How the folders of running calls begin, each readable by its owner alone.
_STATE = "gripbook-explore-"
#: Where a copy's metadata hold which logs it was run on.
_STAMP = "gripbook_logs"
#: Seconds that the server may take to answer.
PATIENCE_S = 90.0
# Jupyter imports the same slow module as we do; see gripbook.report.
_BOOT = f"import sys; sys.path[:1] = []; sys.modules[{SLOW_MODULE!r}] = None; "
_SERVER = _BOOT + "from jupyterlab.labapp import main; sys.exit(main())"
_KERNEL = _BOOT + "from gripbook.explore.kernel import launch; launch()"
# JupyterLab takes the arrow keys wherever the focus is in a notebook, the charts' sliders and lists
# included: they could not be used by keyboard.
_KEYS_FOCUS = ".jp-Notebook.jp-mod-commandMode:not(.jp-mod-readWrite) :focus"
_ARROWS = {
    "ArrowDown": "notebook:move-cursor-down",
    "ArrowUp": "notebook:move-cursor-up",
    "ArrowLeft": "notebook:move-cursor-heading-above-or-collapse",
    "ArrowRight": "notebook:move-cursor-heading-below-or-expand",
}
_SHORTCUTS = [
    shortcut
    for key, command in _ARROWS.items()
    for shortcut in (
        {"command": command, "keys": [key], "selector": _KEYS_FOCUS, "disabled": True},
        {"command": command, "keys": [key], "selector": f"{_KEYS_FOCUS}:not(input):not(select)"},
    )
]
_SETTINGS = {
    "@jupyterlab/shortcuts-extension:shortcuts": {"shortcuts": _SHORTCUTS},
    "@jupyterlab/notebook-extension:tracker": {
        "enableKernelInitNotification": True,
        # a chart scrolled out of sight would lose what was chosen in it
        "windowingMode": "none",
    },
}
_OFF = {
    "@jupyterlab/apputils-extension:announcements": True,  # would ask a network for news
    # language servers: looked for at every start, and of no use here
    "@jupyterlab/lsp-extension": True,
    "@jupyterlab/fileeditor-extension:language-server": True,
    "@jupyterlab/notebook-extension:language-server": True,
}


def explore(
    logs: Path,
    *,
    athlete: str = "",
    block: str = "",
    dates: str = "",
    browser: bool = True,
    say: Callable[[str], None] = print,
) -> str:
    """
    Copy the notebook beside the logs, open JupyterLab on it, and stay until it is closed.

    Parameters
    ----------
    logs : the log folder.
    athlete, block, dates : as `open_log` takes them.
    browser : open the machine's browser; else only say the address.
    say : told what happens, a line at a time.

    Returns
    -------
    Words on how it ended.

    Raises
    ------
    GripbookError : JupyterLab is not installed or does not start, the logs can't be opened, or the
        copy can't be written.
    """
    if find_spec("jupyterlab") is None:
        raise GripbookError(
            "JupyterLab is not installed beside gripbook. Install it with "
            f"`{sys.executable} -m pip install 'gripbook[lab]'`, then try again."
        )
    folder = logs.resolve()
    if not folder.is_dir():
        raise LogFolderError(f"{logs} is no folder. Name the folder with hangs.csv.")
    target = folder / copy_name(athlete)
    running = _running(folder)
    if running is not None:
        url, token, state = running
        if not target.exists():
            _write_new(target, prepare(folder, athlete, block, dates))
        elif newer := _newer(target, folder):
            say(f"The logs are newer than the charts{newer}: choose Run > Run All Cells there.")
        address = _address(url, token, target)
        say(f"JupyterLab runs on this folder already: {address}")
        if browser:
            webbrowser.open(_redirect(state, address).as_uri())
        return "Close it where it was started."
    say(f"Reading {folder.name} and starting JupyterLab ...")
    with _state() as state:
        making = state / "making"
        making.write_text(target.name, encoding="utf-8")
        with (
            _server(folder, state, making) as server,
            ProcessPoolExecutor(1, get_context("spawn"), _begin) as beside,
        ):
            made = beside.submit(_make, target, folder, athlete, block, dates, state)
            url, token = _wait_until_up(server, state, made)
            address = _address(url, token, target)
            say(f"JupyterLab: {address}")
            if browser:  # it loads while the notebook is made
                webbrowser.open(_redirect(state, address).as_uri())
            say(made.result())
            making.unlink()
            return _stay(server, state, say)


def _begin() -> None:
    claim_process()
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the process that said so


def _make(target: Path, folder: Path, athlete: str, block: str, dates: str, state: Path) -> str:
    """Make the copy, or run the one that is there anew. Gives words on what was done."""
    if not target.exists():
        _check_names(folder, athlete, block, dates)
    (state / "checked").touch()
    if target.exists():
        return _renewed(target, folder, athlete)
    _write_new(target, prepare(folder, athlete, block, dates))
    return f"Notebook: {target}"


def _check_names(folder: Path, athlete: str, block: str, dates: str) -> None:
    """Raise what is wrong with the folder or a name, before a browser is opened."""
    from gripbook.logs import load_logs
    from gripbook.report.notebook_view import check_dates

    check_dates(dates)
    logs = load_logs(folder, dates=cast("DateOrder | None", dates or None))
    athlete = athlete or next(iter(logs.athlete_ids), "")
    logs.for_athlete(athlete)
    logs.block_for(athlete, block)


def _newer(target: Path, folder: Path) -> str | None:
    """
    Say by how many rows the logs are newer than a copy's charts, as far as that is known.

    None where they are not newer.
    """
    try:
        before = json.loads(target.read_text(encoding="utf-8"))["metadata"][_STAMP]
        if before["files"] == (now := stamp(folder))["files"]:
            return None
        more = now["rows"] - before["rows"]
        return f", {more} rows more" if more > 1 else ", one row more" if more == 1 else ""
    except (OSError, ValueError, KeyError, TypeError):  # no notebook of ours
        return None


def _renewed(target: Path, folder: Path, athlete: str = "") -> str:
    """
    Run a copy that is there anew where the logs are newer; the user's cells stay.

    So it is where the copy shows somebody else than the `athlete` asked for.

    Returns
    -------
    Words on what was done.
    """
    from gripbook.report.run.engine import NotebookFailedError, execute

    newer, shown = _newer(target, folder), _shows(target)
    other = shown if athlete and shown and shown != athlete else ""
    if newer is None and not other:
        return f"{target.name} is there already and is opened as it is. Rename it for a new one."
    why = f"it showed {other}" if newer is None else f"the logs are newer{newer}"
    try:
        notebook = nbformat.read(target, as_version=4)
        if other:
            _parameters(notebook).source = _with(_parameters(notebook).source, athlete=athlete)
        with chdir(folder):  # its cells name the logs from where it stands
            done = execute(notebook, engine="shell")
    except (NotebookFailedError, GripbookError) as error:
        return (
            f"{target.name} is opened as it was: {why}, but it did not run "
            f"({error}). Mend that cell, then choose Run > Run All Cells."
        )
    done.metadata[_STAMP] = stamp(folder)
    write_file(target, nbformat.writes(done) + "\n")
    _sign(done)
    return f"{target.name} was run anew: {why}. Your cells are kept."


def _shows(target: Path) -> str:
    """Whom a copy shows; "" where that can't be read."""
    try:
        return parameters(json.loads(target.read_text(encoding="utf-8"))).get("athlete", "")
    except (OSError, ValueError, KeyError, TypeError, AttributeError, SyntaxError):
        return ""


def stamp(folder: Path) -> dict[str, Any]:
    """Which logs a copy was run on: size and time of each file, and the number of rows in all."""
    files, rows = {}, 0
    for path in sorted(folder.rglob("*")):
        if path.suffix.lower() in (".csv", ".toml") and path.is_file():
            found = path.stat()
            files[path.relative_to(folder).as_posix()] = [found.st_size, found.st_mtime_ns]
            if path.suffix.lower() == ".csv":
                rows += sum(1 for line in path.read_bytes().splitlines() if line.strip()) - 1
    return {"files": files, "rows": rows}


def _address(url: str, token: str, target: Path) -> str:
    # the notebook alone, without the panel of files: its charts get the room
    return f"{url}doc/workspaces/explore/tree/{target.name}?reset&token={token}"


def _running(folder: Path) -> tuple[str, str, Path] | None:
    """Address, token and state folder of an earlier call's server that answers for this folder."""
    for state in Path(tempfile.gettempdir()).glob(f"{_STATE}*"):
        if not _ours(state):
            continue
        for path in (state / "runtime").glob("jpserver-*.json"):
            try:
                saved = json.loads(path.read_text(encoding="utf-8"))
                if Path(saved["root_dir"]).resolve() != folder or not _alive(saved["pid"]):
                    continue
                with socket.create_connection(("127.0.0.1", saved["port"]), timeout=1):
                    return str(saved["url"]), str(saved["token"]), state
            # half written, no such file, or left by a crash
            except (OSError, ValueError, KeyError, TypeError, OverflowError):
                continue
    return None


def _ours(state: Path) -> bool:
    """
    Whether a folder is this user's and closed to others.

    The folder of temporary files is everybody's: what another left there may name any address.
    """
    try:
        found = state.lstat()  # a link is open to all
    except OSError:
        return False
    if os.name == "nt":  # temporary files are each user's own there
        return True
    return found.st_uid == os.getuid() and not found.st_mode & 0o077


def _alive(pid: int) -> bool:
    """Whether a process of this user has this id: a dead server's port may be another's by now."""
    if os.name == "nt":  # asking there would end the process
        return True
    if pid <= 0:  # a group of processes, not one
        return False
    try:
        os.kill(pid, 0)
    except (ProcessLookupError, PermissionError):
        return False
    return True


def copy_name(athlete: str) -> str:
    """The copy's file name: one for the folder, one for each athlete asked for by name."""
    return f"explore-{slug(athlete)}.ipynb" if athlete else "explore.ipynb"


def fill_in(logs: str, athlete: str, block: str, dates: str) -> nbformat.NotebookNode:
    """The notebook with its parameters set."""
    notebook = load_notebook("explore")
    source = _parameters(notebook).source
    _parameters(notebook).source = _with(
        source, logs=logs, athlete=athlete, block=block, dates=dates
    )
    return notebook


def _with(source: str, **values: str) -> str:
    """The parameters' cell with other values; what it holds besides stays."""
    lines = []
    for line in source.splitlines():
        name = line.split(":")[0]
        if name in values:
            comment = line.partition("  #")[2]
            line = f"{name}: str = {values[name]!r}" + (f"  #{comment}" if comment else "")
        lines.append(line)
    return "\n".join(lines)


def _parameters(notebook: nbformat.NotebookNode) -> nbformat.NotebookNode:
    return next(c for c in notebook.cells if "parameters" in c.metadata.get("tags", []))


def prepare(folder: Path, athlete: str, block: str, dates: str) -> nbformat.NotebookNode:
    """
    The notebook for these logs, run in this process, with its charts.

    Raises
    ------
    GripbookError : the folder, athlete or block is not there.
    """
    from gripbook.report.run.engine import NotebookFailedError, execute

    try:
        done = execute(fill_in(str(folder), athlete, block, dates), engine="shell")
    except NotebookFailedError:
        from gripbook.explore import open_log

        open_log(str(folder), athlete, block, dates)  # raises what went wrong in its own words
        raise
    # beside the logs the copy goes on working when the folder is moved
    _parameters(done).source = _parameters(fill_in(".", athlete, block, dates)).source
    done.metadata[_STAMP] = stamp(folder)
    return done


def _write_new(target: Path, notebook: nbformat.NotebookNode) -> None:
    try:
        with target.open("x", encoding="utf-8", newline="\n") as file:
            nbformat.write(notebook, file)
    except OSError as error:
        raise GripbookError(
            f"{target} can't be written: {error.strerror}. Copy the logs into a folder of your own "
            "and explore that."
        ) from error
    _sign(notebook)


def _sign(notebook: nbformat.NotebookNode) -> None:
    """Tell Jupyter that we made the outputs, so that it need not warn of them."""
    from nbformat.sign import NotebookNotary

    NotebookNotary().sign(notebook)


@contextmanager
def _state() -> Iterator[Path]:
    """A folder of this run's own for settings, kernel and running server; readable by its owner."""
    folder = Path(tempfile.mkdtemp(prefix=_STATE))
    try:
        settings, kernel = folder / "config" / "labconfig", folder / "share/kernels/python3"
        settings.mkdir(parents=True)
        kernel.mkdir(parents=True)
        _json(settings / "default_setting_overrides.json", _SETTINGS)
        _json(settings / "page_config.json", {"disabledExtensions": _OFF})
        # whatever kernels are installed: the notebook runs in this Python
        argv = [sys.executable, "-c", _KERNEL, "-f", "{connection_file}"]
        spec = {"argv": argv, "display_name": "Python 3", "language": "python"}
        _json(kernel / "kernel.json", {**spec, "metadata": {"debugger": False}})
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _json(path: Path, value: object) -> None:
    path.write_text(json.dumps(value), encoding="utf-8")


@contextmanager
def _server(folder: Path, state: Path, making: Path) -> Iterator[subprocess.Popen[bytes]]:
    def first(name: str, folder_of_ours: Path) -> str:
        return os.pathsep.join([str(folder_of_ours), *filter(None, [os.environ.get(name)])])

    environment = {
        **os.environ,
        "JUPYTER_TOKEN": secrets.token_hex(24),  # not on the command line, where others can read it
        "JUPYTER_RUNTIME_DIR": str(state / "runtime"),
        "GRIPBOOK_MAKING": str(making),
        "JUPYTER_CONFIG_PATH": first("JUPYTER_CONFIG_PATH", state / "config"),
        "JUPYTER_PATH": first("JUPYTER_PATH", state / "share"),
    }
    command = [
        sys.executable,
        "-c",
        _SERVER,
        f"--ServerApp.root_dir={folder}",
        "--ServerApp.ip=127.0.0.1",
        f"--ServerApp.port={_free_port()}",
        "--ServerApp.open_browser=False",
        "--ServerApp.answer_yes=True",  # one Ctrl-C ends it
        "--ServerApp.allow_root=True",  # whoever runs this as root (a container) means it
        "--ServerApp.contents_manager_class=gripbook.explore.waiting.WaitingContents",
        "--LabApp.extension_manager=readonly",
        "--LabApp.expose_app_in_browser=True",  # for the lists of `gripbook.explore.picker`
        f"--LabApp.workspaces_dir={state / 'workspaces'}",
    ]
    with (state / "server.log").open("wb") as log:
        server = subprocess.Popen(
            command, env=environment, stdin=subprocess.DEVNULL, stdout=log, stderr=log
        )
        before = signal.getsignal(signal.SIGTERM)
        signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
        try:
            yield server
        finally:
            signal.signal(signal.SIGTERM, before)
            _end(server)


def _end(server: subprocess.Popen[bytes]) -> None:
    for how in (server.terminate, server.kill):
        if server.poll() is not None:
            return
        how()
        try:
            server.wait(8)
        except subprocess.TimeoutExpired:
            continue


def _free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def _wait_until_up(
    server: subprocess.Popen[bytes], state: Path, made: Future[str]
) -> tuple[str, str]:
    """Address and token of the running server; raises what the making raised meanwhile."""
    give_up = time.monotonic() + PATIENCE_S
    while time.monotonic() < give_up:
        if made.done():
            made.result()
        if server.poll() is not None:
            raise GripbookError(f"JupyterLab did not start:\n{_last_lines(state)}")
        for path in (state / "runtime").glob("jpserver-*.json"):
            try:
                saved = json.loads(path.read_text(encoding="utf-8"))
                with socket.create_connection(("127.0.0.1", saved["port"]), timeout=1):
                    up = str(saved["url"]), str(saved["token"])
                if (state / "checked").exists():  # no browser is opened for a wrong name
                    return up
            except (OSError, ValueError):  # half written, or not listening yet
                continue
        time.sleep(0.05)
    raise GripbookError(f"JupyterLab did not answer in {PATIENCE_S:g} s:\n{_last_lines(state)}")


def _last_lines(state: Path) -> str:
    text = (state / "server.log").read_text(encoding="utf-8", errors="replace")
    return "\n".join(text.splitlines()[-8:])


def _redirect(state: Path, address: str) -> Path:
    """A page that leads to the notebook: the token stands on no command line this way."""
    path = state / "open.html"
    meta = f'<meta charset="utf-8"><meta http-equiv="refresh" content="0; url={address}">'
    path.write_text(f"<!DOCTYPE html>{meta}<title>gripbook</title>", encoding="utf-8")
    return path


def _stay(server: subprocess.Popen[bytes], state: Path, say: Callable[[str], None]) -> str:
    try:
        # said in here: whoever reads it may press the keys at once
        say("It stays open until File > Shut Down, or Ctrl-C here.")
        code = server.wait()
    except KeyboardInterrupt:  # the server got it too
        server.wait(15)
        return "Closed."
    if code:
        raise GripbookError(f"JupyterLab ended by itself (status {code}):\n{_last_lines(state)}")
    return "Closed."
