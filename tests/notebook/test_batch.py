"""A folder rendered whole: what stands in the pages, and what one failure costs."""

from __future__ import annotations

import csv
import hashlib
import json
import re
import shutil
import unicodedata
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import nbformat
import pytest

from gripbook.logs import load_logs
from gripbook.report.names import page_names
from gripbook.report.results import results_table
from gripbook.report.run import batch, notebooks
from gripbook.report.run.batch import Run, render_reports
from gripbook.report.spreadsheet import plain_cell
from tests.conftest import FILES
from tests.unknown_columns import extra_names, one_athlete, with_columns, write

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
    return re.sub(r'<svg class="(?:wide|narrow)".*?</svg>', _texts_alone, html, flags=re.DOTALL)


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
    assert "Intensive finger strength training is not recommended for adolescents" in text
    adult = words(page(rendered, "ada.html"))
    assert re.search(r"\b61(\.0)?\b", adult)


def test_no_path_of_the_machine_in_a_page(rendered: Run, logs_folder: Path) -> None:
    """No page, result or manifest names a folder of this machine."""
    for path in rendered.out.iterdir():
        text = path.read_text(encoding="utf-8")
        assert str(logs_folder) not in text
        assert str(Path(batch.__file__).parents[3]) not in text


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
    The failed page is told with its cell and keeps its half-run notebook; a page that stood there
    stays, on record as of an earlier run; the others and the results are made.
    """
    out = tmp_path / "pages"
    out.mkdir()
    (out / "bo.html").write_text("an old page")
    real = notebooks.load_notebook

    def faulty(name: str) -> Any:
        notebook = real(name)
        if name == "block_review":
            bad = "if athlete == 'bo': raise ValueError('cell gone wrong')"
            shown = next(c for c in notebook.cells if "sections.changed(" in c.source)
            shown.source = bad
        return notebook

    monkeypatch.setattr(notebooks, "load_notebook", faulty)
    run = render_reports(load_logs(logs_folder), out, workers=2)
    assert [(p.page, p.status) for p in run.pages] == [
        ("ada.html", "rendered"),
        ("bo.html", "failed"),
        ("cy.html", "rendered"),
        ("index.html", "rendered"),
    ]
    assert "ValueError: cell gone wrong" in run.failed[0].reason
    assert (out / "bo.html").read_text() == "an old page"
    assert [p.earlier for p in run.pages] == [False, True, False, False]
    record = json.loads((out / "run.json").read_text())["pages"][1]
    assert (record["page"], record["status"], record["earlier"]) == ("bo.html", "failed", True)
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


def hashed(athlete: str) -> str:
    """The hash in an athlete's file name."""
    return hashlib.sha256(athlete.encode()).hexdigest()[:6]


@pytest.mark.parametrize(
    "ids",
    [
        ["a/b", "a_b", f"a_b-{hashed('a/b')}", f"A_B-{hashed('a_b')}"],
        [f"a_b-{hashed('a/b')}", "a/b", "a?b", "a_b"],
        ["Kim", "kim", "KIM", f"kim-{hashed('Kim')}"],
        ["zo\u00e9", "zoe\u0301", "ZO\u00c9"],
        ["stra\u00dfe", "strasse"],
        ["\u6f22" * 90, "\u6f22" * 91, "\u6f22" * 33, "\u6f22" * 33 + "x"],
        ["x" * 100, "x" * 101, "X" * 100],
        ["index", "INDEX", "con", "con.x", "nul.", "com\u00b9", "..", "."],
    ],
)
def test_no_two_pages_share_a_file(ids: list[str]) -> None:
    """Names are unique on disks that ignore case and spelling, short enough, whatever the order."""
    names = page_names(ids)
    assert list(names) == ids
    alike = {unicodedata.normalize("NFKC", n).casefold() for n in names.values()}
    assert len(alike) == len(ids)
    assert not alike & {"index.html", "con.html", "nul.html", "con.x.html", "com1.html"}
    # 255 bytes is what disks take, and files are written under a longer name first
    assert max(len(n.encode()) for n in names.values()) <= 200
    assert page_names(reversed(ids)) == names


def test_a_name_of_its_own_is_kept() -> None:
    """Ids that are file names already stay readable beside those that aren't."""
    names = page_names(["kim", "a/b", "a_b", "lou.m", "k" * 100])
    assert names["kim"] == "kim.html"
    assert names["lou.m"] == "lou.m.html"
    assert names["k" * 100] == "k" * 100 + ".html"
    assert page_names(["k" * 101])["k" * 101] != "k" * 101 + ".html"


def test_unknown_columns_change_no_page(tmp_path: Path) -> None:
    """Every name of every file, and fifty others, in every file: the bytes of the plain logs."""
    lines = one_athlete()
    write(tmp_path / "plain" / "logs", lines)
    odd = {file: with_columns(rows, extra_names(file)) for file, rows in lines.items()}
    write(tmp_path / "odd" / "logs", odd)
    runs = [
        render_reports(load_logs(tmp_path / name / "logs"), tmp_path / name / "pages", workers=1)
        for name in ("plain", "odd")
    ]
    for run in runs:
        assert [p.status for p in run.pages] == ["rendered", "rendered"]
        assert [p.reason for p in run.pages] == ["", ""]
    for name in ("ada.html", "index.html", "results.csv"):
        assert page(runs[0], name) == page(runs[1], name), name


def test_odd_ids_cost_nobody_a_page(tmp_path: Path) -> None:
    """Ids that share a name or are too long for one get their pages, the squad page its links."""
    ids = ["a/b", "a_b", "A_B", f"a_b-{hashed('a/b')}", "\u6f22" * 90]
    head, *rows = FILES["hangs.csv"].splitlines()
    cy = [row for row in rows if row.startswith("cy,")]
    text = [head, *(row.replace("cy", athlete, 1) for athlete in ids for row in cy)]
    (tmp_path / "logs").mkdir()
    (tmp_path / "logs" / "hangs.csv").write_text("\n".join(text), encoding="utf-8")
    plan = FILES["block.toml"].replace("[limits]", f"athletes = {json.dumps(ids[1:])}\n\n[limits]")
    (tmp_path / "logs" / "block.toml").write_text(plan, encoding="utf-8")
    for block, count in (("", 5), ("Small block", 4)):
        out = tmp_path / f"pages{count}"
        run = render_reports(load_logs(tmp_path / "logs"), out, block=block, workers=2)
        assert [p.status for p in run.pages] == ["rendered"] * (count + 1)
        made = {p.name for p in out.glob("*.html")} - {"index.html"}
        assert len(made) == count
        linked = re.findall(r'href="([^"#:]+\.html)"', page(run, "index.html"))
        assert {unquote(name) for name in linked} == made


def test_results_hold_no_formula(tmp_path: Path) -> None:
    """Ids, names of blocks and grips that a spreadsheet would calculate are text; numbers stay."""
    bad = {"athlete": "=HYPERLINK(1)", "grip": "+1", "block": "@sum"}
    logs = tmp_path / "logs"
    logs.mkdir()
    text = FILES["hangs.csv"].replace("bo,", "=HYPERLINK(1),").replace("half_crimp", "+1")
    (logs / "hangs.csv").write_text(text)
    (logs / "body.csv").write_text(FILES["body.csv"].replace("bo,", "=HYPERLINK(1),"))
    plan = FILES["block.toml"].replace("Small block", "@sum").replace("half_crimp", "+1")
    (logs / "block.toml").write_text(plan)
    out = tmp_path / "pages"
    render_reports(load_logs(logs), out, workers=2)
    with (out / "results.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    own = [row for row in rows if "HYPERLINK" in row["athlete"]]
    assert own
    for column, value in bad.items():
        assert {row[column] for row in own} <= {"'" + value, "open_four"}
        assert any(row[column] == "'" + value for row in own)
    table, _ = results_table(load_logs(logs))
    numbers = table.select_dtypes("number").columns
    assert len(numbers) >= 10
    lows = [row["low_pct"] for row in rows if row["low_pct"]]
    assert any(low.startswith("-") for low in lows)  # a number may begin so
    assert all(float(low) < 100 for low in lows)


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\r", "\n", "＝"])
def test_a_cell_that_begins_like_a_formula(sign: str) -> None:
    """One apostrophe in front makes it text; any other text stays as it is."""
    assert plain_cell(f"{sign}1") == f"'{sign}1"
    assert plain_cell(f"a{sign}1") == f"a{sign}1"
    assert plain_cell("") == ""


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
