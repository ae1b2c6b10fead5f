"""A file is written whole or not at all, for whom it should be, and what fails is said in words."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

import pytest
from click.testing import CliRunner

from gripbook import writing
from gripbook.cli import main
from gripbook.writing import NotWrittenError, clear_asides, make_folder, write_file, write_named

DEMO = Path(__file__).parents[2] / "data_demo"
posix = pytest.mark.skipif(os.name == "nt", reason="rights of POSIX")


def mode(path: Path) -> int:
    """Rights of a file or folder."""
    return stat.S_IMODE(path.stat().st_mode)


@pytest.fixture
def usual_mask() -> object:
    """The mask that most systems have."""
    before = os.umask(0o022)
    yield
    os.umask(before)


@posix
@pytest.mark.usefixtures("usual_mask")
def test_rights(tmp_path: Path) -> None:
    """Private is the owner's alone, shared follows the mask, and what stood keeps its rights."""
    path = tmp_path / "a.html"
    write_file(path, "a", private=True)
    assert mode(path) == 0o600
    write_file(path, "b")
    assert (mode(path), path.read_text()) == (0o600, "b")
    write_file(path, "c", private=False)
    assert mode(path) == 0o644
    writing.set_access(path, private=True)
    assert mode(path) == 0o600
    writing.set_access(path, private=False)
    assert mode(path) == 0o644
    write_named(path, "d")
    write_named(tmp_path / "new.csv", "d")
    assert (mode(path), mode(tmp_path / "new.csv")) == (0o644, 0o600)
    for name, private, wanted in (("own", True, 0o700), ("all", False, 0o755)):
        make_folder(tmp_path / "in" / name, private=private)
        assert mode(tmp_path / "in" / name) == wanted
    make_folder(tmp_path / "in" / "all", private=True)
    assert mode(tmp_path / "in" / "all") == 0o755  # what stands is left as it is


@posix
def test_links(tmp_path: Path) -> None:
    """A name that somebody gives is followed; in a folder of pages a link is replaced."""
    real, link = tmp_path / "real", tmp_path / "link"
    real.write_text("old")
    link.symlink_to(real)
    write_named(link, "new")
    assert (real.read_text(), link.is_symlink()) == ("new", True)
    write_file(link, "page")
    assert (real.read_text(), link.read_text(), link.is_symlink()) == ("new", "page", False)


@pytest.mark.parametrize("step", ["fsync", "open", "replace"])
def test_a_failed_write_leaves_what_stood(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    """On a full disk the old file stands, nothing lies beside it, and the words say what to do."""
    path = tmp_path / "run.json"
    path.write_text("old")

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Path if step == "replace" else os, step, full)
    with pytest.raises(NotWrittenError, match=r"run.json can't be written: No space.*Free some"):
        write_file(path, "new")
    monkeypatch.undo()
    assert [(p.name, p.read_text()) for p in tmp_path.iterdir()] == [("run.json", "old")]


def test_it_is_on_the_disk_before_it_has_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else a cut of power could leave an empty file under the name."""
    done: list[str] = []
    fsync, replace = os.fsync, Path.replace
    monkeypatch.setattr(os, "fsync", lambda f: (done.append("disk"), fsync(f)))
    monkeypatch.setattr(Path, "replace", lambda a, b: (done.append("name"), replace(a, b)))
    write_file(tmp_path / "a", b"a")
    assert done == ["disk", "name"]


def test_asides_are_cleared(tmp_path: Path) -> None:
    """What a killed run left goes, and nothing else."""
    for name in (".gripbook-0123456789abcdef.tmp", ".mine.tmp", "a.html"):
        (tmp_path / name).write_text("")
    clear_asides(tmp_path, tmp_path / "missing")
    assert {p.name for p in tmp_path.iterdir()} == {".mine.tmp", "a.html"}


@pytest.mark.parametrize(
    ("number", "remedy"),
    [
        (errno.ENOSPC, "Free some space"),
        (errno.EROFS, "Name a place that you may write to"),
        (errno.ENOENT, "Make its folder first"),
        (errno.EISDIR, "Name a file"),
        (errno.EIO, "Name another place"),
    ],
)
def test_what_to_do(number: int, remedy: str) -> None:
    """Each cause has its remedy."""
    words = str(writing.not_written("there/a.csv", OSError(number, os.strerror(number))))
    assert words.startswith(f"there/a.csv can't be written: {os.strerror(number)}. ")
    assert remedy in words


COMMANDS = {
    "results": ["results", "{logs}", "--out", "{to}/r.csv"],
    "results --xlsx": ["results", "{logs}", "--xlsx", "{to}/r.xlsx"],
    "next": ["next", "{logs}", "--athlete", "ada", "--out", "{to}/b.toml"],
    "next --week": ["next", "{logs}", "--athlete", "ada", "--week", "--out", "{to}/w.csv"],
    "new": ["new", "{to}/winter"],
    "adopt": ["adopt", "{logs}/body.csv", "--into", "{to}/winter"],
    "add": ["add", "{logs}", "{to}/more.csv"],
    "sheet": ["sheet", "{demo}", "--athlete", "arvo", "--out", "{to}/s.html"],
    "report": ["report", "{logs}", "--out", "{to}/pages"],
}


@pytest.mark.whole
@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EROFS])
@pytest.mark.parametrize("name", COMMANDS)
def test_no_command_ends_in_a_traceback(
    small_logs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, number: int
) -> None:
    """On a full disk, or one that can't be written to, each says where, why and what to do."""
    (tmp_path / "more.csv").write_text("athlete,date,body_mass_kg\nada,2026-01-30,61.5\n")
    before = {p.name: p.read_bytes() for p in small_logs.iterdir()}

    def refuse(path: object, *_: object) -> None:
        raise OSError(number, os.strerror(number), str(path))

    with monkeypatch.context() as patch:
        real = os.open

        def no_new_file(path: object, flags: int, *more: int, **named: object) -> int:
            if flags & os.O_CREAT and str(path).startswith(str(tmp_path)):
                refuse(path)
            return real(path, flags, *more, **named)  # type: ignore[call-overload, no-any-return]

        patch.setattr(os, "open", no_new_file)
        words = [w.format(logs=small_logs, demo=DEMO, to=tmp_path) for w in COMMANDS[name]]
        done = CliRunner().invoke(main, words)
    assert done.exit_code == 1
    assert isinstance(done.exception, SystemExit)  # no traceback
    assert f"can't be written: {os.strerror(number)}" in done.stderr
    assert "What stood there before is unchanged." in done.stderr
    assert {p.name: p.read_bytes() for p in small_logs.iterdir()} == before


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_a_full_device(small_logs: Path) -> None:
    """The same where the system itself says so, and the device stays one."""
    done = CliRunner().invoke(main, ["results", str(small_logs), "--out", "/dev/full"])
    assert done.exit_code == 1
    assert "/dev/full can't be written: No space left on device" in done.stderr
    assert Path("/dev/full").is_char_device()


def test_a_folder_where_a_file_should_be(small_logs: Path) -> None:
    """`--out` that names a folder is told, as is one whose folder is missing."""
    for out, words in ((small_logs, "Is a directory"), (small_logs / "no" / "r.csv", "No such")):
        done = CliRunner().invoke(main, ["results", str(small_logs), "--out", str(out)])
        assert (done.exit_code, isinstance(done.exception, SystemExit)) == (1, True)
        assert words in done.stderr
