"""What goes wrong costs one page; what is made is not made again; the same logs, the same bytes."""

from __future__ import annotations

import json
import os
import pickle
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import nbformat
import pytest
from click.testing import CliRunner

from gripbook.cli import main
from gripbook.logs import load_logs
from gripbook.report.run import batch, manifest, notebooks, work, workers
from gripbook.report.run.batch import Run, render_reports
from gripbook.report.run.notebooks import load_notebook
from gripbook.report.run.workers import CAN_FORK
from gripbook.reviews import block_review
from gripbook.simulate import simulate_squad
from tests.conftest import FILES

pytestmark = [pytest.mark.notebook, pytest.mark.usefixtures("warm_server")]
ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small logs, once for the module; tests that change them take a copy."""
    found = tmp_path_factory.mktemp("faults") / "small"
    found.mkdir()
    for name, text in FILES.items():
        (found / name).write_text(text, encoding="utf-8")
    return found


@pytest.fixture(scope="module")
def clean(folder: Path, warm_server: None) -> Run:
    """Their pages, made once with nothing going wrong."""
    return render_reports(load_logs(folder), folder.parent / "clean", workers=1)


def statuses(run: Run) -> dict[str, str]:
    """What became of each page."""
    return {p.page.removesuffix(".html"): p.status for p in run.pages}


def files(out: Path) -> dict[str, bytes]:
    """Every file of a folder of pages."""
    return {p.name: p.read_bytes() for p in out.iterdir() if p.is_file()}


#: Place of the cell that goes wrong: after the opening.
FAULTY = next(
    i for i, c in enumerate(load_notebook("block_review").cells) if "sections.change" in c.source
)


def spoil(monkeypatch: pytest.MonkeyPatch, code: str) -> None:
    """Let a cell of bo's notebook go wrong."""

    def faulty(name: str) -> nbformat.NotebookNode:
        notebook = load_notebook(name)
        if name == "block_review":
            notebook.cells[FAULTY].source = f"if athlete == 'bo':\n    {code}\nprint('went on')"
        return notebook

    monkeypatch.setattr(notebooks, "load_notebook", faulty)


FAULTS = [
    ("raise ValueError('gone wrong')", "ValueError: gone wrong"),
    ("import os; os._exit(3)", "exit status 3"),
    ("import os; os.kill(os.getpid(), 9)", "ended by SIGKILL"),
    ("import ctypes; ctypes.string_at(0)", "ended by SIGSEGV"),
    ("while True: pass", "took longer than 8 s"),
    ("import signal; signal.pthread_sigmask(0, {14}); import time; time.sleep(99)", "took longer"),
    ("eaten = [bytearray(99_000_000) for _ in range(40)]", "MemoryError"),
    ("import sys; sys.exit()", "ended the notebook before its last cell"),
]


@pytest.mark.skipif(not CAN_FORK, reason="exit status and memory limit are those of forks")
@pytest.mark.parametrize(("code", "reason"), FAULTS, ids=[reason for _, reason in FAULTS])
def test_a_fault_costs_one_page(
    folder: Path,
    clean: Run,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    code: str,
    reason: str,
) -> None:
    """
    The page that went wrong says where and why, keeps its half-run notebook and the cell, and is
    still in the results and on the squad's page; the others are made.
    """
    spoil(monkeypatch, code)
    # other work on the machine must not end the other pages, nor come before the memory's end
    timeout_s = 8 if "took longer" in reason else 120
    run = render_reports(
        load_logs(folder), tmp_path, workers=2, timeout_s=timeout_s, memory_mb=1200
    )
    expected = dict.fromkeys(["ada", "bo", "cy", "index"], "rendered") | {"bo": "failed"}
    assert statuses(run) == expected
    assert reason in run.failed[0].reason
    assert f"notebook cell {FAULTY + 1}" in run.failed[0].reason
    assert not (tmp_path / "bo.html").exists()
    half = nbformat.read(tmp_path / "failed" / "bo.ipynb", as_version=4)
    assert any(cell.get("outputs") for cell in half.cells if "opening" in cell.source)
    assert code in (tmp_path / "failed" / "bo.py").read_text()
    for name in ("results.csv", "index.html"):
        assert (tmp_path / name).read_bytes() == (clean.out / name).read_bytes()
    record = json.loads((tmp_path / "run.json").read_text())["pages"][1]
    assert (record["status"], record["reason"]) == ("failed", run.failed[0].reason)


@pytest.mark.parametrize("code", [FAULTS[0][0], FAULTS[1][0], "import time; time.sleep(999)"])
def test_a_fault_costs_one_page_without_fork_too(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: str
) -> None:
    """In long-lived processes as well a crash or a cell without end costs its page alone."""
    monkeypatch.setattr(workers, "CAN_FORK", False)
    spoil(monkeypatch, code)
    # each process pays for its imports within the time of its first page
    timeout_s = 30 if "sleep" in code else 120
    run = render_reports(load_logs(folder), tmp_path, workers=1, timeout_s=timeout_s)
    assert [p.page for p in run.failed] == ["bo.html"]
    assert (tmp_path / "failed" / "bo.ipynb").exists()


def test_a_page_that_failed_is_made_when_it_can_be(
    folder: Path, clean: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The next run makes the failed page alone and takes away what was left of it."""
    with monkeypatch.context() as patch:
        spoil(patch, "1 / 0")
        assert statuses(render_reports(load_logs(folder), tmp_path))["bo"] == "failed"
    run = render_reports(load_logs(folder), tmp_path)
    # the spoilt notebook was another one for all
    assert statuses(run)["bo"] == "rendered"
    assert files(tmp_path) == files(clean.out)
    assert list((tmp_path / "failed").iterdir()) == []


def copy_of(run: Run, to: Path) -> Path:
    """A folder of pages, copied."""
    to.mkdir()
    for name, data in files(run.out).items():
        (to / name).write_bytes(data)
    return to


def test_what_stands_is_not_made_again(
    folder: Path, clean: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A second run makes nothing and starts no process; with `force` all is made, the same."""
    out = copy_of(clean, tmp_path / "pages")
    with monkeypatch.context() as patch:
        patch.setattr(batch, "Workers", None)
        run = render_reports(load_logs(folder), out)
    assert set(statuses(run).values()) == {"unchanged"}
    assert files(out) == files(clean.out)
    forced = render_reports(load_logs(folder), out, force=True)
    assert set(statuses(forced).values()) == {"rendered"}
    assert files(out) == files(clean.out)


@pytest.mark.parametrize(
    ("file", "old", "new", "made"),
    [
        ("hangs.csv", "ada,2026-01-22,1,hang,yes,,half_crimp,both,20,12.5", None, {"ada", "index"}),
        (
            "body.csv",
            "bo,2026-01-06,48.3",
            "bo,2026-01-06,49.3",
            {"bo"},
        ),  # hidden: no news for others
        ("pain.csv", "asked", "asked twice", {"ada"}),
        ("athletes.csv", "cy,Cy,1990", "cy,Cyan,1990", {"cy", "index"}),
        ("block.toml", "core = 2", "core = 3", {"ada", "bo", "cy"}),
        ("hangs.csv", "cy,2026-01-06,4,hang,", "cy,2026-01-06,4,hung,", {"cy", "index"}),
    ],
)
def test_a_change_makes_what_depends_on_it(
    folder: Path,
    clean: Run,
    tmp_path: Path,
    file: str,
    old: str,
    new: str | None,
    made: set[str],
) -> None:
    """A changed, added or refused row makes its athlete's page; the plan's change makes all."""
    logs = tmp_path / "small"
    logs.mkdir()
    for name in FILES:
        (logs / name).write_bytes((folder / name).read_bytes())
    text = (logs / file).read_text()
    assert old in text
    changed = text.replace(old, new, 1) if new else text.replace(old, old.replace("12.5", "15"))
    (logs / file).write_text(changed)
    out = copy_of(clean, tmp_path / "pages")
    run = render_reports(load_logs(logs), out)
    assert {name for name, status in statuses(run).items() if status == "rendered"} == made
    fresh = render_reports(load_logs(logs), tmp_path / "fresh")
    assert files(out) == files(fresh.out)


def test_a_page_changed_by_hand_is_made_again(folder: Path, clean: Run, tmp_path: Path) -> None:
    """A page that is gone, cut short or written over is not taken for made."""
    out = copy_of(clean, tmp_path / "pages")
    (out / "ada.html").unlink()
    (out / "bo.html").write_text("cut")
    run = render_reports(load_logs(folder), out)
    assert statuses(run) == {
        "ada": "rendered",
        "bo": "rendered",
        "cy": "unchanged",
        "index": "unchanged",
    }
    assert files(out) == files(clean.out)


@pytest.mark.parametrize("text", ["", "{", "[]", '{"pages": [1, {"page": "ada.html"}]}', "null"])
def test_a_damaged_record_costs_time_alone(
    folder: Path, clean: Run, tmp_path: Path, text: str
) -> None:
    """A run.json that is no record of ours makes all pages anew."""
    out = copy_of(clean, tmp_path / "pages")
    (out / "run.json").write_text(text)
    (out / manifest.JOURNAL).write_text('{"half a li')
    run = render_reports(load_logs(folder), out, athletes=["cy"])
    assert statuses(run) == {"cy": "rendered"}


def test_the_hash_is_the_same_in_every_process(folder: Path) -> None:
    """It doesn't hang on the order that sets happen to have in a process."""
    code = (
        "import sys; from gripbook.report import claim_process; claim_process(); "
        "from gripbook.logs import load_logs; from gripbook.report.run import manifest; "
        "logs = load_logs(sys.argv[1]); own = logs.for_athlete('ada'); "
        "rows = manifest.LogHashes(logs).of('ada'); "
        "print(manifest.athlete_inputs(own, rows, 'notebook', '', None))"
    )
    logs = load_logs(folder)
    own, rows = logs.for_athlete("ada"), manifest.LogHashes(logs).of("ada")
    here = manifest.athlete_inputs(own, rows, "notebook", "", None)
    for seed in ("1", "2"):
        done = subprocess.run(
            [sys.executable, "-c", code, str(folder)],
            env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
            text=True,
        )
        assert done.stdout.strip() == here


def test_other_code_or_noise_makes_all(
    folder: Path, clean: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The hash of a page covers the package's code, the libraries and the squad's noise."""
    logs = load_logs(folder)
    own, rows = logs.for_athlete("ada"), manifest.LogHashes(logs).of("ada")
    assert rows != manifest.LogHashes(logs).of("bo")
    before = manifest.athlete_inputs(own, rows, "notebook", "", None)
    assert manifest.athlete_inputs(own, rows, "notebook", "", None) == before
    changed = [
        manifest.athlete_inputs(own, rows, "other", "", None),
        manifest.athlete_inputs(own, rows, "notebook", "Small block", None),
        manifest.athlete_inputs(own, rows, "notebook", "", (0.1, 0.2)),
    ]
    monkeypatch.setattr(manifest, "source_hash", lambda: "other code")
    changed.append(manifest.athlete_inputs(own, rows, "notebook", "", None))
    assert len({before, *changed}) == 5


def test_a_page_that_an_executor_gives_up_costs_itself(folder: Path, tmp_path: Path) -> None:
    """Whatever an executor raises for a job is told as that page's failure."""

    class GivesUp(ThreadPoolExecutor):
        def submit(self, function: Any, /, *arguments: Any) -> Any:  # type: ignore[override]
            if arguments[0].athlete == "bo":
                return super().submit(lambda: 1 / 0)
            return super().submit(function, *arguments)

    with GivesUp(1) as executor:
        run = render_reports(load_logs(folder), tmp_path, executor=executor)
    assert [(p.page, p.reason) for p in run.failed] == [
        ("bo.html", "ZeroDivisionError: division by zero")
    ]


def test_shared_noise_is_the_same_in_a_kernel(folder: Path, tmp_path: Path) -> None:
    """A kernel's notebook estimates it anew from the logs and makes the same page."""
    for engine in ("shell", "kernel"):
        out = tmp_path / engine
        render_reports(load_logs(folder), out, engine=engine, share_noise=True, athletes=["ada"])
    pages = [(tmp_path / e / "ada.html").read_bytes() for e in ("shell", "kernel")]
    assert pages[0] == pages[1]
    assert b"was estimated over" in pages[0]
    told = json.loads((tmp_path / "shell" / "run.json").read_text("utf-8"))["shared_noise"]
    assert told["athletes"] == 2  # of cy no set tells of strength


def test_noise_reaches_the_review(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Noise fitted to the squad is handed to each review of the athlete."""
    seen: list[Any] = []
    real = block_review.review

    def spy(logs: Any, athlete: str, block: str, *extra: Any) -> Any:
        seen.append(extra)
        return real(logs, athlete, block)

    monkeypatch.setattr(work, "review", spy)
    work.gather_facts(load_logs(folder).for_athlete("ada"), "ada", "", "the noise")
    work.gather_facts(load_logs(folder).for_athlete("ada"), "ada", "")
    assert seen == [("the noise",), (None,)]


@pytest.fixture(scope="module")
def squad(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Logs of four invented athletes."""
    found = tmp_path_factory.mktemp("squad") / "squad"
    simulate_squad(found, 4, seed=3)
    return found


def test_a_job_holds_its_athlete_alone(folder: Path, squad: Path, tmp_path: Path) -> None:
    """What is handed to a worker for a page doesn't grow with the squad."""
    one = tmp_path / "one"
    simulate_squad(one, 1, seed=3)
    sizes = []
    for place in (one, squad):
        logs = load_logs(place)
        athlete = logs.athlete_ids[0]
        sizes.append(len(pickle.dumps(logs.for_athlete(athlete))))
        assert len(logs.for_athlete(athlete).hangs) > 10
    assert sizes[1] < 1.3 * sizes[0]


def command(logs: Path, out: Path, *more: str) -> subprocess.Popen[str]:
    """The command line in a process of its own."""
    return subprocess.Popen(
        [sys.executable, "-m", "gripbook.cli", "report", str(logs), "--out", str(out), *more],
        stderr=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )


def lines_until(process: subprocess.Popen[str], pages: int) -> Iterator[str]:
    """What it says, up to so many pages."""
    assert process.stderr
    for line in process.stderr:
        if ": rendered (" in line:
            yield line.split(":")[0]
            pages -= 1
        if not pages:
            return


def test_killed_and_run_again(squad: Path, tmp_path: Path) -> None:
    """A run that was killed is taken up where it stopped and ends with the bytes of a whole one."""
    out = tmp_path / "pages"
    with command(squad, out, "--workers", "1") as process:
        made = list(lines_until(process, 2))
        process.kill()
    assert process.returncode == -signal.SIGKILL
    run = render_reports(load_logs(squad), out)
    assert {p.page for p in run.pages if p.status == "unchanged"} >= set(made[:1])
    assert not run.failed
    assert list(out.glob(".*")) == [out / manifest.INPUTS]
    whole = render_reports(load_logs(squad), tmp_path / "whole", workers=2)
    assert files(out) == files(whole.out)


@pytest.mark.skipif(os.name == "nt", reason="Ctrl-C of POSIX")
def test_ctrl_c_stops_at_once(squad: Path, tmp_path: Path) -> None:
    """Ctrl-C ends the run in plain words, with exit status 130; the pages made stand."""
    out = tmp_path / "pages"
    with command(squad, out, "--workers", "1") as process:
        made = list(lines_until(process, 2))
        begun = time.monotonic()
        process.send_signal(signal.SIGINT)
        _, said = process.communicate(timeout=10)
        # two seconds on a machine of one's own; tests share theirs
        assert time.monotonic() - begun < 5
    assert process.returncode == 130
    assert "the same command makes the others" in said
    assert "Traceback" not in said
    run = render_reports(load_logs(squad), out)
    assert {p.page for p in run.pages if p.status == "unchanged"} >= set(made)


def test_the_same_bytes_however_made(
    folder: Path, clean: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Kernel engine, two workers, long-lived processes, another order: the same pages."""
    logs = load_logs(folder)
    two = render_reports(logs, tmp_path / "two", workers=2).out
    kernel = render_reports(logs, tmp_path / "kernel", engine="kernel", athletes=["cy"]).out
    monkeypatch.setattr(workers, "CAN_FORK", False)
    spawn = render_reports(logs, tmp_path / "spawn", workers=1).out
    for out in (two, spawn):
        assert files(out) == files(clean.out), out
    assert (kernel / "cy.html").read_bytes() == (clean.out / "cy.html").read_bytes()
    backwards = render_reports(logs, tmp_path / "back", athletes=["cy", "bo", "ada"], workers=1).out
    for name in ("ada.html", "bo.html", "cy.html"):
        assert (backwards / name).read_bytes() == (clean.out / name).read_bytes()


def test_pages_of_nobody_here_are_told(folder: Path, tmp_path: Path) -> None:
    """A page of an athlete who left stays, is named, and still is in the run after that."""
    out = tmp_path / "out"
    assert render_reports(load_logs(folder), out, workers=1).left == []
    gone = tmp_path / "gone"
    shutil.copytree(folder, gone)
    for file in gone.glob("*.csv"):
        rows = file.read_text().splitlines(keepends=True)
        file.write_text("".join(r for r in rows if not r.startswith("cy,")))
    for _ in range(2):
        assert render_reports(load_logs(gone), out, workers=1).left == ["cy.html"]
    done = CliRunner().invoke(main, ["report", str(gone), "--out", str(out)])
    assert done.exit_code == 0
    assert "1 page of an earlier run still in the folder" in done.stderr
    (out / "cy.html").unlink()
    assert render_reports(load_logs(gone), out, workers=1).left == []
