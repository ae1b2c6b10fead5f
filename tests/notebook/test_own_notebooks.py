"""Pages made with notebooks of the user's own."""

from __future__ import annotations

from pathlib import Path

import nbformat
import pytest
from click.testing import CliRunner
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

from gripbook.cli import main
from gripbook.errors import GripbookError
from gripbook.logs import load_logs
from gripbook.report.run.batch import Run, render_reports
from gripbook.report.run.notebooks import NAMES, copy_notebooks, page_notebooks

pytestmark = [pytest.mark.notebook, pytest.mark.usefixtures("warm_server")]

CHART = """import altair as alt
alt.Chart(r.tables.sets).mark_point().encode(x="date:T", y="sets:Q").properties(
    title="My sets", description=f"Sets of {r.athlete.name}, a point a day.")"""


def own(path: Path, *cells: str, parameters: str = 'logs = ""\nathlete = ""') -> Path:
    """A notebook of an athlete's page, as somebody might write it: no ids, outputs of another."""
    nb = new_notebook(
        cells=[
            new_code_cell(parameters, metadata={"tags": ["parameters"]}),
            new_code_cell("import gripbook as gb\nr = gb.open_review(logs, athlete)"),
            new_code_cell("1 / 0", metadata={"tags": ["notebook-only"]}),
            new_markdown_cell("## Mine"),
            *(new_code_cell(cell) for cell in cells),
        ]
    )
    for cell in nb.cells:
        del cell["id"]
    nb.nbformat_minor = 4
    nb.cells[1].outputs = [nbformat.v4.new_output("stream", text="somebody else's")]
    path.write_text(nbformat.writes(nb), encoding="utf-8")
    return path


def report(logs: Path, *notebooks: Path, athletes: tuple[str, ...] = ("ada",)) -> Run:
    """Pages of these athletes, beside the logs."""
    out = logs.parent / "pages"
    return render_reports(load_logs(logs), out, athletes=athletes, workers=1, notebooks=notebooks)


def test_a_chart_of_ones_own_is_drawn_offline(small_logs: Path, tmp_path: Path) -> None:
    """The page of one's own notebook holds its chart and, once, the library that draws it."""
    (page,) = report(small_logs, own(tmp_path / "mine.ipynb", CHART)).pages
    assert page.status == "rendered", page.reason
    html = (tmp_path / "pages" / "ada.html").read_text(encoding="utf-8")
    assert html.count('<figure class="chart">') == 1
    assert html.count('id="chart-library"') == 1
    assert "Sets of Ada" in html
    assert 'id="mine"' in html
    assert "somebody else's" not in html


def test_a_chart_without_a_review_is_drawn_too(small_logs: Path, tmp_path: Path) -> None:
    """A notebook that reads the logs its own way needs no call that turns charts on."""
    source = CHART.replace("r.tables.sets", "gb.load_logs(logs).hangs").replace(
        "{r.athlete.name}", "{athlete}"
    )
    notebook = nbformat.read(own(tmp_path / "mine.ipynb", source), as_version=4)
    notebook.cells[1].source = "import gripbook as gb"
    (tmp_path / "mine.ipynb").write_text(nbformat.writes(notebook), encoding="utf-8")
    (page,) = report(small_logs, tmp_path / "mine.ipynb").pages
    assert page.status == "rendered", page.reason
    html = (tmp_path / "pages" / "ada.html").read_text(encoding="utf-8")
    assert html.count('<figure class="chart">') == 1
    assert "cdn." not in html


def test_an_error_costs_its_athlete_s_page_and_is_shown(small_logs: Path, tmp_path: Path) -> None:
    """Bo's page fails with the cell and its code; Ada's is made, and the command says so."""
    mine = own(tmp_path / "mine.ipynb", "{'ada': 1}[athlete]")
    command = ["report", str(small_logs), "--out", str(tmp_path / "pages"), "--workers", "1"]
    command += ["--athlete", "ada", "--athlete", "bo", "--notebook", str(mine)]
    done = CliRunner().invoke(main, command)
    assert done.exit_code == 1
    assert "bo: failed: NotebookFailedError: notebook cell 5: KeyError: 'bo'" in done.stderr
    assert "\n    {'ada': 1}[athlete]\n" in done.stderr
    assert (tmp_path / "pages" / "ada.html").is_file()
    assert not (tmp_path / "pages" / "bo.html").exists()


def test_a_page_depends_on_its_notebook(small_logs: Path, tmp_path: Path) -> None:
    """With other outputs the page stands; with another line, or the shipped one, it doesn't."""
    path = tmp_path / "mine.ipynb"

    def status(*notebooks: Path) -> str:
        return report(small_logs, *notebooks).pages[0].status

    assert status(own(path, "athlete")) == "rendered"
    nb = nbformat.read(path, as_version=4)
    nb.cells[4].outputs = [nbformat.v4.new_output("stream", text="shown before")]
    nb.cells[4].execution_count = 7
    path.write_text(nbformat.writes(nb), encoding="utf-8")
    assert status(path) == "unchanged"
    assert status(own(path, "athlete.upper()")) == "rendered"
    assert status() == "rendered"


def test_copies_make_the_pages(small_logs: Path, tmp_path: Path) -> None:
    """Copies of the shipped notebooks, as they are, give the very pages; squad and athletes."""
    logs = load_logs(small_logs)
    block, _, _, squad = copy_notebooks(tmp_path / "mine")
    shipped = render_reports(logs, tmp_path / "shipped", workers=1)
    own_ones = render_reports(logs, tmp_path / "own", workers=1, notebooks=[squad, block])
    assert not shipped.failed + own_ones.failed
    for page in shipped.pages:
        assert (own_ones.out / page.page).read_bytes() == (shipped.out / page.page).read_bytes()


def test_copies_are_never_over_a_file(tmp_path: Path) -> None:
    """One file there already: none is written, and the command says which."""
    (tmp_path / "explore.ipynb").write_text("mine")
    done = CliRunner().invoke(main, ["notebooks", str(tmp_path)])
    assert done.exit_code == 1
    assert "explore.ipynb in" in done.stderr
    assert [p.name for p in tmp_path.iterdir()] == ["explore.ipynb"]
    done = CliRunner().invoke(main, ["notebooks", str(tmp_path / "new")])
    assert done.stdout.splitlines() == [str(tmp_path / "new" / f"{n}.ipynb") for n in NAMES]
    # and says how pages are made with them
    for name in ("block_review", "squad_review"):
        named = tmp_path / "new" / f"{name}.ipynb"
        assert f"gripbook report LOGS --notebook {named}" in done.stderr


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("{", "is no Jupyter notebook"),
        ('{"cells": 3}', "is no Jupyter notebook"),
        ("", "is no Jupyter notebook"),
        ("no logs", "has no parameter `logs`"),
        ("no code", "may only hold lines such as"),
    ],
)
def test_what_is_no_notebook_of_a_page_is_said_before_any_work(
    tmp_path: Path, text: str, told: str
) -> None:
    """Each unusable file is named, with what to do."""
    path = tmp_path / "mine.ipynb"
    path.write_text(text, encoding="utf-8")
    if text.startswith("no "):
        own(path, parameters={"no logs": "athlete = ''", "no code": "logs ="}[text])
    with pytest.raises(GripbookError, match=told) as caught:
        page_notebooks([path])
    assert str(path) in str(caught.value)


def test_two_of_a_kind_are_refused(tmp_path: Path) -> None:
    """Which of two athletes' notebooks is meant can't be known."""
    paths = [own(tmp_path / name) for name in ("a.ipynb", "b.ipynb")]
    with pytest.raises(GripbookError, match=r"a\.ipynb and .*b\.ipynb are both"):
        page_notebooks(paths)
