"""Pages as PDF, printed by the Chromium that is installed."""

from __future__ import annotations

import re
import stat
import zlib
from pathlib import Path

import pytest
from click.testing import CliRunner

from gripbook import cli
from gripbook.report.run import pdf
from gripbook.simulate import simulate_squad

pytestmark = [pytest.mark.browser, pytest.mark.usefixtures("warm_server")]

#: ISO 216 and ANSI/ASME Y14.1, in points of 1/72 inch.
POINTS = {"A4": (210 / 25.4 * 72, 297 / 25.4 * 72), "Letter": (8.5 * 72, 11 * 72)}


@pytest.fixture(scope="module")
def logs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Logs of one invented athlete."""
    folder = tmp_path_factory.mktemp("logs")
    simulate_squad(folder, 1, seed=3)
    return folder


def sizes(path: Path) -> set[tuple[float, float]]:
    """Width and height of a PDF's pages, in points."""
    boxes = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", path.read_bytes())
    return {(float(w), float(h)) for w, h in boxes}


def curves(path: Path) -> int:
    """Lines and curves drawn in a PDF."""
    drawn = 0
    for packed in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", path.read_bytes(), re.DOTALL):
        try:
            drawn += len(re.findall(rb" [lc]\n", zlib.decompress(packed)))
        except zlib.error:  # a font or a picture
            continue
    return drawn


@pytest.fixture(scope="module")
def page(logs: Path, warm_server: None, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """That athlete's page."""
    out = tmp_path_factory.mktemp("pages")
    assert CliRunner().invoke(cli.main, ["report", str(logs), "--out", str(out)]).exit_code == 0
    return next(p for p in out.glob("*.html") if p.stem != "index")


def test_report_prints_each_page(
    logs: Path, tmp_path: Path, chromium: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """
    `report --pdf` puts a PDF of that paper beside each page; a second run prints none anew, but all
    where other paper is asked for.
    """
    monkeypatch.setenv(pdf.VARIABLE, chromium)
    for paper in ("A4", "Letter"):
        command = ["report", str(logs), "--out", str(tmp_path), "--pdf", "--paper", paper]
        ran = CliRunner().invoke(cli.main, command)
        assert ran.exit_code == 0, ran.output
        assert "before" not in ran.output.splitlines()[-1]
        made = sorted(tmp_path.glob("*.pdf"))
        assert [p.stem for p in made] == sorted(p.stem for p in tmp_path.glob("*.html"))
        for path in made:
            for width, height in sizes(path):
                assert (width, height) == pytest.approx(POINTS[paper], abs=1)
        before = {p: p.stat().st_mtime_ns for p in made}
        again = CliRunner().invoke(cli.main, command)
        assert again.exit_code == 0
        assert "2 of 2 pages printed, 2 before" in again.output
        assert {p: p.stat().st_mtime_ns for p in made} == before


def test_pictures_are_on_the_paper(
    page: Path, tmp_path: Path, chromium: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The paper holds the page's pictures: far more lines than the page without them."""
    monkeypatch.setenv(pdf.VARIABLE, chromium)
    without = tmp_path / "without.html"
    text = page.read_text("utf-8")
    figures = r'<figure class="picture".*?</figure>'
    assert re.search(figures, text, re.DOTALL)
    without.write_text(re.sub(figures, "", text, flags=re.DOTALL), "utf-8")
    assert pdf.print_pages([page, without], workers=2) == {}
    drawn, words = (curves(pdf.pdf_of(p)) for p in (page, without))
    assert drawn > 1.2 * words


def test_paper_shows_what_is_folded_where_asked(
    page: Path, chromium: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Folds stay closed on paper; with `full` what is folded is printed too, on more sheets."""
    monkeypatch.setenv(pdf.VARIABLE, chromium)
    sheets = []
    for full in (False, True):
        assert pdf.print_pages([page], full=full) == {}
        printed = pdf.pdf_of(page, full=full).read_bytes()
        sheets.append(len(re.findall(rb"/Type\s*/Page\b", printed)))
    assert sheets[1] >= sheets[0] + 1


def test_no_browser_is_told_before_the_work(
    logs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without a browser nothing is rendered; the message says what was looked for, and the way."""
    monkeypatch.delenv(pdf.VARIABLE, raising=False)
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(pdf, "_APPLICATIONS", ())
    out = tmp_path / "out"
    ran = CliRunner().invoke(cli.main, ["report", str(logs), "--out", str(out), "--pdf"])
    assert ran.exit_code == 1
    assert not out.exists()
    for word in ("chromium", pdf.VARIABLE, "Install"):
        assert word in ran.output


@pytest.mark.parametrize(
    ("script", "words"),
    [("sleep 60", "longer than 1 s"), ("echo no display >&2; exit 3", "no PDF: no display")],
)
def test_a_failing_browser_is_told(logs: Path, tmp_path: Path, script: str, words: str) -> None:
    """A browser that hangs or fails costs its page, which is named with the reason."""
    fake = tmp_path / "browser"
    fake.write_text(f"#!/bin/sh\n{script}\n", "utf-8")
    fake.chmod(fake.stat().st_mode | stat.S_IXUSR)
    page = tmp_path / "page.html"
    page.write_text("<html><head></head></html>", "utf-8")
    failed = pdf.print_pages([page], chromium=fake, timeout_s=1)
    assert list(failed) == [page]
    assert words in failed[page]
    assert not pdf.pdf_of(page).exists()
