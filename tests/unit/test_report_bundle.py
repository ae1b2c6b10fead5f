"""The chart library is made once, kept safely, and made again when the kept file is no good."""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
from collections.abc import Iterator
from importlib.metadata import PackageNotFoundError
from pathlib import Path

import pytest
from nbformat.v4 import new_code_cell

from gripbook.logs import load_logs
from gripbook.report import bundle
from gripbook.report.run import manifest, work
from gripbook.report.run.notebooks import load_notebook
from gripbook.report.run.work import Job

pytestmark = pytest.mark.whole


@pytest.fixture(autouse=True)
def _own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    bundle.load_bundle.cache_clear()
    yield
    bundle.load_bundle.cache_clear()


@pytest.fixture
def makes(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Count the makings; a short script stands in for the library."""
    made: list[str] = []

    def make() -> bundle.Bundle:
        script = "window.vegaEmbed = 1;"
        made.append(script)
        packed = base64.b64encode(gzip.compress(script.encode(), mtime=0)).decode()
        return bundle.Bundle(packed, bundle.script_sha256(script))

    monkeypatch.setattr(bundle, "_make", make)
    return made


def kept_file(tmp_path: Path) -> Path:
    """The one file in the cache folder; also shows that no half-written one stays beside it."""
    (file,) = (tmp_path / "cache" / "gripbook").iterdir()
    return file


def test_the_real_library_is_made_packed_and_named_by_its_hash() -> None:
    """vl-convert's script unpacks to what its hash says and defines what the page calls."""
    made = bundle.load_bundle()
    script = gzip.decompress(base64.b64decode(made.packed))
    assert base64.b64encode(hashlib.sha256(script).digest()).decode() == made.sha256
    assert b"window.vegaEmbed=" in script
    assert len(made.packed) < 450_000
    assert b"</script" not in script


def test_kept_for_the_next_process(makes: list[str], tmp_path: Path) -> None:
    """A second process reads the kept file and makes nothing."""
    first = bundle.load_bundle()
    bundle.load_bundle.cache_clear()
    assert bundle.load_bundle() == first
    assert len(makes) == 1
    assert bundle.VEGALITE_VERSION in kept_file(tmp_path).name


@pytest.mark.parametrize(
    "damage",
    [
        lambda text: "",
        lambda text: text[: len(text) // 2],
        lambda text: text.replace('"packed": "', '"packed": "AAAA'),
        lambda text: json.dumps({"packed": json.loads(text)["packed"], "sha256": "other"}),
        lambda text: json.dumps({"unknown": 1}),
        lambda text: "[]",
        lambda text: "null",
    ],
)
def test_a_damaged_file_is_made_again(makes: list[str], tmp_path: Path, damage: object) -> None:
    """A kept file that is cut short, changed or of another shape is not trusted but replaced."""
    first = bundle.load_bundle()
    file = kept_file(tmp_path)
    whole = file.read_text("utf-8")
    file.write_text(damage(whole), "utf-8")  # type: ignore[operator]
    bundle.load_bundle.cache_clear()
    assert bundle.load_bundle() == first
    assert len(makes) == 2
    assert kept_file(tmp_path).read_text("utf-8") == whole


def test_works_where_nothing_can_be_written(
    makes: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A cache folder that can't be made costs time, not the page."""
    blocked = tmp_path / "a file"
    blocked.write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(blocked))
    assert bundle.load_bundle().packed
    assert len(makes) == 1


def test_a_failed_making_says_what_the_maker_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """When vl-convert fails its last words are in the message."""
    monkeypatch.setattr(bundle, "_MAKE", "raise SystemExit('no such version')")
    with pytest.raises(bundle.BundleError, match="could not be made: no such version"):
        bundle.load_bundle()


def test_pages_of_ours_need_no_chart_library(
    small_logs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without vl-convert a page is made, and one with a chart of its own fails in words."""
    installed = bundle.version

    def version(name: str) -> str:
        if name == "vl-convert-python":
            raise PackageNotFoundError(name)
        return installed(name)

    monkeypatch.setattr("importlib.metadata.version", version)
    monkeypatch.setattr(bundle, "version", version)
    assert set(manifest._versions()) == {*manifest.PACKAGES} - {"vl-convert-python"}
    notebook = load_notebook("block_review")
    logs = load_logs(small_logs).for_athlete("ada")
    parameters = {"logs": "", "athlete": "ada", "block": "", "dates": "", "share_noise": False}
    parameters["lang"] = "en"
    for source, failed in (
        ("", ""),
        (
            "import altair as alt\nalt.Chart(r.tables.sets).mark_point().properties(title='Mine', "
            "description='Sets')",
            "A notebook's own charts need vl-convert to be put on a page, and it isn't installed: "
            "pip install 'gripbook[charts]'.",
        ),
    ):
        notebook.cells.append(new_code_cell(source))
        made = work.make_page(Job("ada.html", notebook, parameters, "shell", "ada", logs))
        assert failed in made.failed
        assert bool(made.failed) is bool(failed)
