"""
A folder of pages: whose it is, who may read it, what of it can be read back, who is in it.

No page is made here: an executor stands in that gives a page of a few words at once.
"""

from __future__ import annotations

import errno
import json
import os
import pickle
import re
import shutil
import stat
from collections.abc import Callable
from concurrent.futures import Executor, Future
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from gripbook.cli import main
from gripbook.logs import Logs, load_logs
from gripbook.logs.anonymous import Coded, read_key
from gripbook.report.run import batch
from gripbook.report.run.batch import Run, render_reports
from gripbook.report.run.forget import forget
from gripbook.report.run.lock import FolderHeldError, folder_lock
from gripbook.report.run.manifest import (
    INPUTS,
    JOURNAL,
    Manifest,
    Record,
    are_other_logs,
    first_days,
)
from gripbook.report.run.places import without_places
from gripbook.report.run.work import Facts, Job, Made, gather_facts
from gripbook.simulate import simulate_squad
from gripbook.strength import RESULT_COLUMNS
from gripbook.writing import NotWrittenError
from tests.conftest import FILES

pytestmark = pytest.mark.whole

posix = pytest.mark.skipif(os.name == "nt", reason="rights of POSIX")


_FACTS: dict[bytes, Facts] = {}


def facts_of(logs: Logs, athlete: str, block: str) -> Facts:
    """`gather_facts`, once for equal rows, wherever they lie: most folders here are alike."""
    key = pickle.dumps((replace(logs, folder=Path(), _places={}), athlete, block))
    if key not in _FACTS:
        _FACTS[key] = gather_facts(logs, athlete, block)[0]
    return _FACTS[key]


def page_of(job: Job) -> Made:
    """A page of a few words, with the facts of a real one."""
    html = f'<main id="page" data-values="">{job.athlete or "squad"} {job.parameters["block"]}'
    if job.logs is None:
        return Made(html=html + " ".join(job.squad.ids if job.squad else ()))
    return Made(html=html, facts=facts_of(job.logs, job.athlete, job.parameters["block"]))


class AtOnce(Executor):
    """Makes pages at once, here."""

    def __init__(self, make: Callable[[Job], Made] = page_of) -> None:
        self.make = make

    def submit(self, function: Any, /, *arguments: Any, **_: Any) -> Any:
        """Make it now."""
        done: Future[Made] = Future()
        done.set_result(self.make(arguments[0]))
        return done


def render(logs: Path, out: Path, make: Callable[[Job], Made] = page_of, **options: Any) -> Run:
    """Pages of a folder, at once."""
    return render_reports(load_logs(logs), out, executor=AtOnce(make), **options)


def mode(path: Path) -> int:
    """Rights of a file or folder."""
    return stat.S_IMODE(path.stat().st_mode)


def files(folder: Path) -> dict[str, bytes]:
    """Every file of a folder."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


@posix
def test_for_the_owner_alone_unless_shared(small_logs: Path, tmp_path: Path) -> None:
    """Every file and folder; pages that stand are given and taken back too."""
    before = os.umask(0o022)
    try:
        out = tmp_path / "out"

        def failing(job: Job) -> Made:
            return Made(failed="no", half_run="{}") if job.athlete == "bo" else page_of(job)

        for shared, of_files, of_folders in ((False, 0o600, 0o700), (True, 0o644, 0o700)):
            run = render(small_logs, out, failing, shared=shared)
            assert len(run.pages) == 4
            made = [p for p in out.rglob("*") if p.is_file() and p.name != INPUTS]
            assert {mode(p) for p in made} == {of_files}
            assert mode(out / INPUTS) == 0o600
            assert {mode(p) for p in (out, out / "failed")} == {of_folders}
        assert mode(render(small_logs, tmp_path / "new", shared=True).out) == 0o755
        assert {p.status for p in render(small_logs, tmp_path / "new").pages} == {"unchanged"}
        assert {mode(p) for p in (tmp_path / "new").iterdir()} == {0o600}
    finally:
        os.umask(before)


def test_the_second_run_stops(small_logs: Path, tmp_path: Path) -> None:
    """And the command says who holds the folder, without a traceback."""
    out = tmp_path / "out"
    out.mkdir()
    with folder_lock(out):
        with pytest.raises(FolderHeldError, match=f"process {os.getpid()} "):
            render(small_logs, out)
        done = CliRunner().invoke(main, ["report", str(small_logs), "--out", str(out)])
        assert (done.exit_code, "is in use: process" in done.stderr) == (1, True)
        with pytest.raises(FolderHeldError):
            forget("ada", out)
    assert len(render(small_logs, out).pages) == 4


def test_other_logs_are_refused(tmp_path: Path) -> None:
    """Another squad's pages are written over only when forced; with ids alike too."""
    one, two, out = tmp_path / "one", tmp_path / "two", tmp_path / "out"
    simulate_squad(one, 2, seed=1)
    simulate_squad(two, 2, seed=2)
    ids = load_logs(two).athlete_ids
    for name in ("hangs", "body", "sessions", "pain", "athletes"):
        path = two / f"{name}.csv"
        text = path.read_text()
        for a, b in zip(load_logs(one).athlete_ids, ids, strict=True):
            text = text.replace(f"{b},", f"{a},")
        path.write_text(text)
    assert load_logs(one).athlete_ids == load_logs(two).athlete_ids
    render(one, out)
    stood = files(out)
    with pytest.raises(Exception, match=r"holds the pages of other logs.*--force"):
        render(two, out)
    assert files(out) == stood
    render(two, out, force=True)
    with pytest.raises(Exception, match="other logs"):
        render(one, out)
    shutil.copytree(two, tmp_path / "moved")
    moved = render(tmp_path / "moved", out)  # the squad page has the folder's name
    assert [p.page for p in moved.pages if p.status != "unchanged"] == ["index.html"]


def test_other_logs_are_seen_after_a_killed_run(small_logs: Path, tmp_path: Path) -> None:
    """The journal alone says whose the pages are."""

    def killed(job: Job) -> Made:
        if job.athlete == "cy":
            raise KeyboardInterrupt
        return page_of(job)

    with pytest.raises(KeyboardInterrupt):
        render(small_logs, tmp_path / "out", killed, workers=1)
    assert (tmp_path / "out" / JOURNAL).exists()
    simulate_squad(tmp_path / "other", 1, seed=1)
    with pytest.raises(Exception, match="other logs"):
        render(tmp_path / "other", tmp_path / "out")


def test_a_log_stays_the_same_as_it_grows(small_logs: Path) -> None:
    """Later days, a corrected first day, athletes who come and go: still the same logs."""
    logs = load_logs(small_logs)
    days = {a: first_days(logs.for_athlete(a)) for a in logs.athlete_ids}
    assert {a: len(d) for a, d in days.items()} == {"ada": 3, "bo": 3, "cy": 1}

    def records(**changed: tuple[str, ...]) -> dict[str, Record]:
        return {a: Record(a, f"{a}.html", "rendered", days=d) for a, d in (days | changed).items()}

    assert not are_other_logs({}, days)
    assert not are_other_logs({"x": Record("x", "x.html", "rendered")}, days)  # of an older version
    assert not are_other_logs(records(), {"ada": days["ada"], "zoe": ("1",)})
    assert not are_other_logs(records(ada=("other", *days["ada"][1:]), bo=("x",), cy=("x",)), days)
    assert are_other_logs(records(ada=("x",), bo=("x",), cy=("x",)), days)
    assert are_other_logs(records(), {"zoe": ("1",)})
    # one athlete in four is the same: the same squad; one in five isn't
    many = {f"a{n}": Record(f"a{n}", "", "", days=(str(n),)) for n in range(5)}
    four = {f"a{n}": (str(n) if n == 0 else "x",) for n in range(4)}
    assert not are_other_logs(many, four)
    assert are_other_logs(many, four | {"a4": ("x",)})


def test_days_hold_no_mass(small_logs: Path) -> None:
    """What the logs are known by doesn't change with weights: it could be guessed from them."""
    before = first_days(load_logs(small_logs).for_athlete("ada"))
    for name in ("hangs", "body"):
        path = small_logs / f"{name}.csv"
        path.write_text(path.read_text().replace(",7.5,", ",8.5,").replace("61.0", "99.0"))
    assert first_days(load_logs(small_logs).for_athlete("ada")) == before
    path = small_logs / "hangs.csv"
    path.write_text(path.read_text().replace("2026-01-05,2,hang,yes", "2026-01-05,3,hang,yes"))
    after = first_days(load_logs(small_logs).for_athlete("ada"))
    assert [a == b for a, b in zip(after, before, strict=True)] == [False, True, True]


@pytest.mark.parametrize("place", [".", "pages"])
def test_nothing_of_others_is_lost_among_the_logs(small_logs: Path, place: str) -> None:
    """At or in the log folder a file that we didn't write is refused, and stays; ours is not."""
    out = small_logs / place
    out.mkdir(exist_ok=True)
    for name in ("index.html", "ada.html", "results.csv", "run.json"):
        (out / name).write_text("mine")
        with pytest.raises(Exception, match=rf"holds {name}, which gripbook didn't write"):
            render(small_logs, out, force=True)
        assert (out / name).read_text() == "mine"
        (out / name).unlink()
    render(small_logs, out)
    (out / "run.json").unlink()  # not on record, but ours
    assert len(render(small_logs, out).pages) == 4


BAD = {
    "byte": b'{"pages": [\xff]}\n',
    "deep": b"[" * 100_000 + b"\n",
    "list": b"[]\n",
    "pages": b'{"pages": 3}\n',
    "left": b'{"pages": [], "left": 3}\n',
    "number": b'{"pages": [{"athlete": 1, "page": 2, "status": 3}]}\n',
    "digits": b"9" * 5000 + b"\n",
    "null": b"null\n",
    "facts": b'{"athlete": "a", "page": "a.html", "status": "", "facts": {"results": []}}\n',
    "tuple": b'{"athlete": "a", "page": "a.html", "status": "", "days": "abc"}\n',
}


@pytest.mark.parametrize("name", ["run.json", JOURNAL])
@pytest.mark.parametrize("bad", BAD.values(), ids=BAD)
def test_a_record_that_cannot_be_read_is_set_aside(tmp_path: Path, name: str, bad: bytes) -> None:
    """Said, kept under another name, and the run goes on."""
    (tmp_path / name).write_bytes(bad)
    manifest = Manifest(tmp_path)
    aside = name.lstrip(".") + ".unreadable"
    assert [p.name for p in tmp_path.iterdir()] == [aside]
    assert (tmp_path / aside).read_bytes() == bad
    (note,) = manifest.notes
    assert note.startswith(f"{tmp_path / name} could not be read (")
    assert note.endswith(f"is now {aside}. Pages that only it knew are made again.")
    assert manifest.earlier == {}


@posix
def test_records_that_are_no_files(tmp_path: Path) -> None:
    """A folder or a pipe in the place of a record is set aside, not waited for."""
    (tmp_path / "run.json").mkdir()
    os.mkfifo(tmp_path / JOURNAL)
    assert len(Manifest(tmp_path).notes) == 2
    assert {p.name for p in tmp_path.iterdir()} == {"run.json.unreadable", "run.jsonl.unreadable"}


def test_good_records_beside_a_bad_one_count(tmp_path: Path) -> None:
    """And a last line half written is no damage: the next run writes behind what is whole."""
    first = Manifest(tmp_path)
    first.add(Record("ada", "ada.html", "rendered"))
    with (tmp_path / JOURNAL).open("ab") as file:
        file.write(b'{"athlete": "b')
    second = Manifest(tmp_path)
    assert (second.notes, set(second.earlier)) == ([], {"ada.html"})
    second.add(Record("bo", "bo.html", "rendered"))
    assert (Manifest(tmp_path).notes, set(Manifest(tmp_path).earlier)) == (
        [],
        {"ada.html", "bo.html"},
    )
    with (tmp_path / JOURNAL).open("ab") as file:
        file.write(b"\xff\n")
    third = Manifest(tmp_path)
    assert (len(third.notes), set(third.earlier)) == (1, {"ada.html", "bo.html"})


def test_a_run_says_what_it_set_aside(
    small_logs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On the terminal, and the pages are made."""
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "run.json").write_bytes(b"\xff")
    real = batch.render_reports
    monkeypatch.setattr(batch, "render_reports", lambda *a, **k: real(*a, **k, executor=AtOnce()))
    done = CliRunner().invoke(main, ["report", str(small_logs), "--out", str(tmp_path / "out")])
    assert done.exit_code == 0, done.stderr
    assert "run.json could not be read (a byte in it is no text)" in done.stderr


def test_a_disk_that_fills_up(
    small_logs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Amid the pages: those made stand and are on record, and the next run makes the rest."""
    out, real, count = tmp_path / "out", os.fsync, 0

    def full(handle: int) -> None:
        nonlocal count
        count += 1
        if count > 2:
            raise OSError(errno.ENOSPC, "No space left on device")
        real(handle)

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        with pytest.raises(NotWrittenError, match=r"\.html can't be written: No space"):
            render(small_logs, out)
    made = {p.name for p in out.iterdir()} - {JOURNAL}
    assert len(made) == 2
    assert (out / JOURNAL).exists()
    assert {p.page for p in render(small_logs, out).pages if p.status == "unchanged"} == made
    assert files(out) == files(render(small_logs, tmp_path / "whole").out)


def test_what_failed_names_no_place(small_logs: Path, tmp_path: Path) -> None:
    """Neither the half-run notebook, nor its cell, nor the reason on record."""
    text = json.dumps(
        [
            f'logs = "{small_logs.resolve()}"',
            "\x1b[32m/usr/lib/python3/site-packages/pandas/core.py\x1b[39m:3",
            f"File {Path.home()}/code/x.py:12, in f; ~/code/y.py:3",
            "C:\\Users\\kim\\winter\\z.py",
            "https://example.org/a/b/c <br/> 7/3 text/html",
        ]
    )

    def failing(job: Job) -> Made:
        reason = f"FileNotFoundError: '{small_logs / 'hangs.csv'}'"
        return Made(failed=reason, half_run=text, cell=f"open({str(tmp_path / 'a' / 'b')!r})")

    run = render(small_logs, tmp_path / "out", failing, athletes=["ada"])
    assert run.failed[0].reason == "FileNotFoundError: 'small/hangs.csv'"
    assert (run.out / "failed" / "ada.py").read_text() == "open('b')"
    assert json.loads((run.out / "failed" / "ada.ipynb").read_text()) == [
        'logs = "small"',
        "\x1b[32mcore.py\x1b[39m:3",
        "File x.py:12, in f; y.py:3",
        "z.py",
        "https://example.org/a/b/c <br/> 7/3 text/html",
    ]
    assert str(tmp_path) not in (run.out / "run.json").read_text()
    assert without_places("7/3 and/or kg/m") == "7/3 and/or kg/m"


NOTE = "with Bo</b> not bored; ADA felt ok"


@pytest.fixture
def named_logs(small_logs: Path) -> Path:
    """The small logs with the squad's names and ids in notes, a plan and a sub-folder."""
    path = small_logs / "hangs.csv"
    path.write_text(path.read_text().replace("first</b> day", NOTE))
    path = small_logs / "block.toml"
    path.write_text(
        path.read_text().replace('"Small block"', '"Block of ada"')
        + "\n[athlete.bo.limits]\nfingers_per_week = 1\n"
    )
    (small_logs / "dee").mkdir()
    (small_logs / "dee" / "body.csv").write_text("date,body_mass_kg\n2026-01-06,55\n2026-01-07,x\n")
    return small_logs


def test_anonymous_pages(named_logs: Path, tmp_path: Path) -> None:
    """Codes stand in all that is written; who is who stands in the key alone, the owner's."""
    out, key = tmp_path / "out", tmp_path / "out-key.csv"
    ids = load_logs(named_logs).athlete_ids
    codes = read_key(key, ids)
    assert sorted(codes.values()) == ["A01", "A02", "A03", "A04"]
    assert os.name == "nt" or mode(key) == 0o600
    seen: list[Job] = []

    def watched(job: Job) -> Made:
        seen.append(job)
        return page_of(job)

    render(named_logs, out, watched, codes=codes)
    assert {p.stem for p in out.glob("A*.html")} == set(codes.values())
    rows = (out / "results.csv").read_text().splitlines()[1:]
    assert {row.split(",")[0] for row in rows} <= set(codes.values())
    for name, data in files(out).items():
        for word in (*ids, "Ada", "Bo", "Cy"):
            assert not re.search(rf"\b{word}\b", data.decode()), name
    for job in seen[:-1]:
        assert job.logs is not None
        assert set(job.logs.athletes["name"]) <= {job.athlete}
        assert "'dee/" not in repr([(p.file, p.value) for p in job.logs.problems])
        for frame in (job.logs.hangs, job.logs.body):
            assert set(frame["athlete"]) <= {job.athlete}
    noted = next(j.logs for j in seen if j.athlete == codes["ada"])
    assert noted is not None
    note = NOTE.replace("Bo", codes["bo"]).replace("ADA", codes["ada"])
    assert noted.hangs["note"].iloc[0] == f"<b>{note}"
    assert noted.blocks[0].name == f"Block of {codes['ada']}"
    bo = next(j.logs for j in seen if j.athlete == codes["bo"])
    assert bo is not None
    assert bo.blocks[0].limits.fingers_per_week == 1
    # the same key, the same codes and pages; somebody new gets the next code
    assert read_key(key, ids) == codes
    assert {p.status for p in render(named_logs, out, codes=codes).pages} == {"unchanged"}
    assert read_key(key, [*ids, "zoe"])["zoe"] == "A05"


def test_a_page_s_logs_name_no_other(small_logs: Path) -> None:
    """Rows and plans in an athlete's folder that are of another: told without the other's id."""
    sub = small_logs / "dee"
    sub.mkdir()
    (sub / "hangs.csv").write_text(FILES["hangs.csv"].replace("bo,", "zoe,").replace("cy,", "dee,"))
    (sub / "block.toml").write_text(FILES["block.toml"] + "[athlete.bo.limits]\npain_level = 1\n")
    logs = load_logs(small_logs)
    said = {p.code: p for p in logs.problems}
    assert {said[code].value for code in ("other_athlete", "block_other_athlete")} <= {
        "ada",
        "bo",
        "zoe",
    }
    for athlete in logs.athlete_ids:
        own = logs.for_athlete(athlete)
        others = {"ada", "bo", "cy", "dee", "zoe"} - {athlete}
        texts = [t for p in own.problems for t in (p.value, *map(str, p.parameters.values()))]
        assert not others.intersection(texts), athlete
        assert not others.intersection(re.findall(r"\w+", repr(own.blocks))), athlete


def test_codes_change_no_figure(named_logs: Path, tmp_path: Path) -> None:
    """Nothing but names differs: each row of the results is the same."""
    logs = load_logs(named_logs)
    codes = read_key(tmp_path / "key.csv", logs.athlete_ids)
    coded = Coded(logs, codes).logs()
    before = gather_facts(logs, "bo", "")[0].results
    assert before
    assert gather_facts(coded, codes["bo"], "")[0].results == before.replace(
        "bo,", codes["bo"] + ","
    ).replace("Block of ada", f"Block of {codes['ada']}")


def test_codes_and_names_are_not_mixed(small_logs: Path, tmp_path: Path) -> None:
    """A folder with names takes no codes, and the other way round; nor does a kernel."""
    out = tmp_path / "out"
    codes = read_key(tmp_path / "key.csv", load_logs(small_logs).athlete_ids)
    render(small_logs, out)
    with pytest.raises(Exception, match="holds pages with names"):
        render(small_logs, out, codes=codes, force=True)
    render(small_logs, tmp_path / "coded", codes=codes)
    with pytest.raises(Exception, match="other logs"):
        render(small_logs, tmp_path / "coded")
    with pytest.raises(Exception, match="--engine kernel"):
        render(small_logs, out, codes=codes, engine="kernel")


@pytest.mark.parametrize("text", ["", "id,code\n", "code,athlete\nA01\n", "\xff"])
def test_what_is_no_key_is_left_alone(tmp_path: Path, text: str) -> None:
    """A file of another kind is refused and stands."""
    path = tmp_path / "key.csv"
    path.write_bytes(text.encode("latin-1"))
    with pytest.raises(Exception, match="key"):
        read_key(path, ["ada"])
    assert path.read_bytes() == text.encode("latin-1")


def test_the_key_is_no_page(small_logs: Path, tmp_path: Path) -> None:
    """A key in the folder of pages is refused, and --key needs --anonymous."""
    words = ["report", str(small_logs), "--out", str(tmp_path / "out")]
    key = ["--key", str(tmp_path / "out" / "sub" / "key.csv")]
    done = CliRunner().invoke(main, [*words, "--anonymous", *key])
    assert (done.exit_code, "Name a key outside" in done.stderr) == (2, True)
    assert CliRunner().invoke(main, [*words, *key]).exit_code == 2


def test_forget(small_logs: Path, tmp_path: Path) -> None:
    """Pages, PDFs, failed ones, lines and records of one athlete go; the others' bytes stand."""
    out = tmp_path / "out"
    (small_logs / "bo").mkdir()
    (small_logs / "bo" / "climbs.csv").write_text("date,grade,scale\n2026-01-06,6a,french\n")
    render(small_logs, out)
    (out / "bo.pdf").write_text("")
    (out / "bo (full).pdf").write_text("")
    (out / "failed").mkdir()
    for name in ("bo.ipynb", "bo.py", "ada.py"):
        (out / "failed" / name).write_text("")
    Manifest(out).add(Record("bo", "bo.html", "rendered"))
    Manifest(out).add(Record("zoe", "zoe.html", "rendered"))
    stood = files(out)
    done = CliRunner().invoke(main, ["forget", "bo", "--in", str(out)])
    assert done.exit_code == 0, done.stderr
    assert "still stands in the logs, and in copies" in done.stderr
    for name in ("bo.html", "bo.pdf", "bo (full).pdf", "bo.ipynb", "bo.py", "results.csv"):
        assert name in done.stdout
    left = files(out)
    assert set(stood) - set(left) == {
        *("bo.html", "bo.pdf", "bo (full).pdf", "failed/bo.ipynb", "failed/bo.py", "index.html")
    }
    changed = {"results.csv", "run.json", JOURNAL, INPUTS}
    assert {n for n in left if left[n] != stood[n]} == changed
    for name in left:
        assert not re.search(rb"\b(bo|Bo)\b", left[name]), name
    lines = stood["results.csv"].splitlines()
    assert left["results.csv"].splitlines() == [x for x in lines if not x.startswith(b"bo,")]
    assert {p.page for p in render(small_logs, out).pages if p.status == "rendered"} == {
        "bo.html",
        "index.html",
    }


def test_forget_leaves_the_others_standing(small_logs: Path, tmp_path: Path) -> None:
    """Their hashes stay, the athlete's and the squad page's go."""
    out = tmp_path / "out"
    render(small_logs, out)
    inputs = json.loads((out / INPUTS).read_text())
    forget("bo", out)
    kept = {page: of for page, of in inputs.items() if page in ("ada.html", "cy.html")}
    assert json.loads((out / INPUTS).read_text()) == kept
    assert set(kept) == {"ada.html", "cy.html"}
    (out / INPUTS).write_bytes(b"\xff")  # set aside before anything is removed
    forget("cy", out)
    assert not (out / INPUTS).exists()


@pytest.mark.parametrize("bad", [b"[]", b'{"ada.html": 1}', b"\xff", b"null"])
def test_hashes_that_cannot_be_read(small_logs: Path, tmp_path: Path, bad: bytes) -> None:
    """They are set aside and said, and the pages are made again; whole, none is made."""
    out = tmp_path / "out"
    render(small_logs, out)
    assert {p.status for p in render(small_logs, out).pages} == {"unchanged"}
    (out / INPUTS).write_bytes(bad)
    again = render(small_logs, out)
    assert {p.status for p in again.pages} == {"rendered"}
    assert [note.split(" could")[0] for note in again.notes] == [str(out / INPUTS)]


def test_forget_nobody(small_logs: Path, tmp_path: Path) -> None:
    """Who isn't there is told, with those who are, and nothing is removed."""
    out = tmp_path / "out"
    render(small_logs, out)
    stood = files(out)
    done = CliRunner().invoke(main, ["forget", "zoe", "--in", str(out)])
    assert (done.exit_code, files(out)) == (1, stood)
    assert "Athletes there: ada, bo, cy." in done.stderr


def test_forget_stays_in_the_folder(tmp_path: Path) -> None:
    """A record with a page elsewhere removes nothing there."""
    out = tmp_path / "out"
    out.mkdir()
    (tmp_path / "x.html").write_text("mine")
    Manifest(out).add(Record("bo", "../x.html", "rendered"))
    forget("bo", out)
    assert (tmp_path / "x.html").read_text() == "mine"


def test_results_are_known_by_their_header() -> None:
    """The header that tells a results.csv of ours begins as the columns do."""
    assert RESULT_COLUMNS[0] == "athlete"
