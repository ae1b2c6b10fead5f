"""Which browser prints, which PDFs stand, what is left where printing fails; no browser runs."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from gripbook.errors import GripbookError
from gripbook.report.run import pdf

pytestmark = pytest.mark.skipif(os.name == "nt", reason="a shell script stands for the browser")


def program(path: Path, script: str = "exit 0") -> Path:
    """A program that can be run."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(f"#!/bin/sh\n{script}\n", "utf-8")
    path.chmod(0o755)
    return path


@pytest.fixture
def nothing_installed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A search path with nothing on it."""
    path = tmp_path / "bin"
    path.mkdir()
    monkeypatch.setenv("PATH", str(path))
    monkeypatch.delenv(pdf.VARIABLE, raising=False)
    monkeypatch.setattr(pdf, "_APPLICATIONS", ())
    return path


@pytest.mark.parametrize("name", pdf.NAMES)
def test_each_name_is_found(nothing_installed: Path, name: str) -> None:
    """A browser on the search path is found under each name it goes by."""
    browser = program(nothing_installed / name)
    assert pdf.find_chromium() == browser


def test_variable_goes_first(
    nothing_installed: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the variable names is taken before what the search path holds."""
    program(nothing_installed / "chromium")
    own = program(tmp_path / "own browser")
    monkeypatch.setenv(pdf.VARIABLE, str(own))
    assert pdf.find_chromium() == own


def test_a_wrong_variable_is_told(nothing_installed: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A variable that names no program is told, never passed over for another browser."""
    program(nothing_installed / "chromium")
    monkeypatch.setenv(pdf.VARIABLE, "/no/such/browser")
    with pytest.raises(GripbookError, match=f"{pdf.VARIABLE} names /no/such/browser"):
        pdf.find_chromium()


def test_none_is_told_with_every_way_out(nothing_installed: Path) -> None:
    """Without a browser the message names what was looked for, the variable, printing by hand."""
    with pytest.raises(GripbookError) as told:
        pdf.find_chromium()
    for word in (*pdf.NAMES, pdf.VARIABLE, "Install", "print it from your browser"):
        assert word in str(told.value)


@pytest.mark.parametrize(
    ("box", "paper", "newer", "stands"),
    [
        ("594.96 841.92", "A4", True, True),
        ("594.96 841.92", "Letter", True, False),
        ("612 792", "Letter", True, True),
        ("612 792", "A4", True, False),
        ("612 792", "Letter", False, False),
    ],
)
def test_which_pdf_stands(
    tmp_path: Path, box: str, paper: pdf.Paper, newer: bool, stands: bool
) -> None:
    """A PDF stands if it is newer than its page and on the paper asked for."""
    page = tmp_path / "kim.html"
    page.write_text("page", "utf-8")
    pdf.pdf_of(page).write_text(f"%PDF-1.4 /MediaBox [0 0 {box}]", "utf-8")
    made = page.stat().st_mtime
    os.utime(pdf.pdf_of(page), (made + (5 if newer else -5),) * 2)
    assert pdf.is_current(page, paper) is stands


def test_no_pdf_yet_does_not_stand(tmp_path: Path) -> None:
    """A page without PDF, or with half of one, is due."""
    page = tmp_path / "kim.html"
    page.write_text("page", "utf-8")
    assert not pdf.is_current(page, "A4")
    pdf.pdf_of(page).write_text("%PDF", "utf-8")
    assert not pdf.is_current(page, "A4")


def test_an_older_pdf_does_not_pass_for_the_new(tmp_path: Path) -> None:
    """Where printing fails no older PDF is left beside the page, and other pages' PDFs are."""
    page, other = tmp_path / "kim.html", tmp_path / "lou.html"
    page.write_text("<head></head>", "utf-8")
    for one in (page, other):
        pdf.pdf_of(one).write_text("%PDF of before", "utf-8")
    assert list(pdf.print_pages([page], chromium=program(tmp_path / "b", "exit 3"))) == [page]
    assert not pdf.pdf_of(page).exists()
    assert pdf.pdf_of(other).exists()


def test_a_browser_that_does_not_start_costs_its_page(tmp_path: Path) -> None:
    """A browser that cannot be started is a reason for each page, not an error of the run."""
    pages = [tmp_path / "kim.html", tmp_path / "lou.html"]
    for page in pages:
        page.write_text("<head></head>", "utf-8")
    failed = pdf.print_pages(pages, chromium=tmp_path / "none")
    assert list(failed) == pages
    assert all("no PDF" in reason for reason in failed.values())
