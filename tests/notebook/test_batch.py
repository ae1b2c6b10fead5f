"""A folder rendered whole: what stands in the pages, and what one failure costs."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import Any

import nbformat
import pytest

from gripbook.logs import load_logs
from gripbook.report import batch
from gripbook.report.batch import Run, render_reports
from gripbook.report.names import page_names
from tests.conftest import FILES

pytestmark = [pytest.mark.notebook, pytest.mark.usefixtures("warm_server")]


@pytest.fixture(scope="module")
def logs_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small logs, once for the module."""
    folder = tmp_path_factory.mktemp("batch") / "small"
    folder.mkdir()
    for name, text in FILES.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def rendered(logs_folder: Path, warm_server: None) -> Run:
    """Their pages, rendered once."""
    return render_reports(load_logs(logs_folder), logs_folder.parent / "pages", workers=2)


def page(run: Run, name: str) -> str:
    """The text of one page."""
    return (run.out / name).read_text(encoding="utf-8")


def words(html: str) -> str:
    """A page without its style, its chart library and the places of its still pictures' marks."""
    html = re.sub(r"<style>.*?</style>|<script[^>]*library.*?</script>", "", html, flags=re.DOTALL)
    return re.sub(r'<svg class="sketch".*?</svg>', _texts_alone, html, flags=re.DOTALL)


def _texts_alone(picture: re.Match[str]) -> str:
    """The words of a still picture; where its marks stand is no figure of the log's."""
    texts = re.findall(r"<text[^>]*>(.*?)</text>", picture[0], re.DOTALL)
    assert texts
    label = re.findall(r'aria-label="([^"]*)"', picture[0])
    return " ".join([*texts, *label])


def test_text_of_logs_is_escaped(rendered: Run) -> None:
    """A name with markup in it is shown as text, in title and heading."""
    text = page(rendered, "ada.html")
    assert "<i>A</i>" not in text
    assert "Ada &lt;i&gt;A&lt;/i&gt;: Small block" in text


def test_a_page_tells_nothing_of_another_athlete(rendered: Run) -> None:
    """Neither names, ids, nor links of the others stand in an athlete's page."""
    text = words(page(rendered, "ada.html"))
    assert not re.search(r"\b(Bo|bo|Cy|cy)\b", text)
    for name in ("bo.html", "cy.html", "index.html"):
        assert name not in text


def test_a_minor_s_page_gives_no_body_mass_away(rendered: Run) -> None:
    """Body mass 48.3 kg, and the loads 48.3 and 50.8 kg it makes, stand nowhere in the page."""
    text = words(page(rendered, "bo.html"))
    for figure in ("48.3", "48,3", "50.8", "0.951", "1.05176"):
        assert figure not in text
    assert "Body mass is not shown on this page" in text
    assert "impulse (kg" not in text
    assert "intensive finger strength training is not recommended for adolescents" in text
    adult = words(page(rendered, "ada.html"))
    assert "61.0" in adult


def test_no_path_of_the_machine_in_a_page(rendered: Run, logs_folder: Path) -> None:
    """No page, result or manifest names a folder of this machine."""
    for path in rendered.out.iterdir():
        text = path.read_text(encoding="utf-8")
        assert str(logs_folder) not in text
        assert str(Path(batch.__file__).parents[2]) not in text


def test_same_logs_same_bytes(rendered: Run, logs_folder: Path, tmp_path: Path) -> None:
    """A second run, with one worker and from another folder, gives the same bytes."""
    copy = tmp_path / "elsewhere" / "small"
    shutil.copytree(logs_folder, copy)
    again = render_reports(load_logs(copy), tmp_path / "again", workers=1)
    names = {p.name for p in rendered.out.iterdir()}
    assert {p.name for p in again.out.iterdir()} == names
    for name in names:
        assert (again.out / name).read_bytes() == (rendered.out / name).read_bytes(), name


def test_one_failure_costs_one_page(
    logs_folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """
    The failed page is told with its cell, keeps its half-run notebook and leaves no old page; the
    others and the results are made.
    """
    out = tmp_path / "pages"
    out.mkdir()
    (out / "bo.html").write_text("an old page")
    real = batch.load_notebook

    def faulty(name: str) -> Any:
        notebook = real(name)
        if name == "block_review":
            bad = "if athlete == 'bo': raise ValueError('cell gone wrong')"
            shown = next(c for c in notebook.cells if "sections.change(" in c.source)
            shown.source = bad
        return notebook

    monkeypatch.setattr(batch, "load_notebook", faulty)
    run = render_reports(load_logs(logs_folder), out, workers=2)
    assert [(p.page, p.status) for p in run.pages] == [
        ("ada.html", "rendered"),
        ("bo.html", "failed"),
        ("cy.html", "rendered"),
        ("index.html", "rendered"),
    ]
    assert "ValueError: cell gone wrong" in run.failed[0].reason
    assert not (out / "bo.html").exists()
    kept = nbformat.read(out / "failed" / "bo.ipynb", as_version=4)
    assert any(o.output_type == "error" for c in kept.cells for o in c.get("outputs", []))
    assert (out / "results.csv").read_text().count("\nbo,") == 1


@pytest.mark.parametrize(
    ("ids", "names"),
    [
        (["kim"], ["kim.html"]),
        (["Äda b/c"], ["Äda_b_c.html"]),
        (["a b", "a_b"], ["a_b-c8687a.html", "a_b-4a8a08.html"]),
    ],
)
def test_page_names(ids: list[str], names: list[str]) -> None:
    """Ids become safe file names; those that would meet get a hash of their id."""
    found = list(page_names(ids).values())
    stems = [n.rsplit("-", 1)[0] for n in names]
    assert [f.rsplit("-", 1)[0] for f in found] == stems
    assert len(set(found)) == len(ids)


@pytest.mark.parametrize("name", ["index", "CON", "..", "../../etc", ".hidden", "a" * 300, "<b>"])
def test_hostile_ids_stay_in_the_folder(name: str) -> None:
    """No id leaves the folder, hides, or takes the squad page's place."""
    found = page_names([name])[name]
    assert "/" not in found
    assert "\\" not in found
    assert not found.startswith(".")
    assert found != "index.html"
    assert len(found) < 120


def test_an_athlete_asked_for_twice_gets_one_page(logs_folder: Path, tmp_path: Path) -> None:
    """The same id twice is one page, not two writers of one file."""
    run = render_reports(load_logs(logs_folder), tmp_path, athletes=["cy", "cy"], workers=2)
    assert [(p.page, p.status) for p in run.pages] == [("cy.html", "rendered")]
