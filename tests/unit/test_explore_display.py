"""What a review, logs, a squad and a picture show of themselves, in a terminal and a notebook."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

import gripbook
from gripbook import charts
from gripbook.html import Fragment
from gripbook.logs import Logs, load_logs
from gripbook.report import lab
from gripbook.reviews import BlockReview, propose_next, review, review_squad
from gripbook.reviews.tables import FRAMES
from tests.reviewed import DEMO, reviewed, reviewed_squad

pytestmark = pytest.mark.whole


@pytest.fixture(scope="module")
def logs(demo_logs_folder: Path) -> Logs:
    """The demo squad's logs."""
    return load_logs(demo_logs_folder)


@pytest.fixture(scope="module")
def arvo() -> BlockReview:
    """A whole block."""
    return reviewed(DEMO, "arvo")


def test_reprs_are_short(logs: Logs, arvo: BlockReview) -> None:
    """A few words with what it is of, instead of every frame in it."""
    told = [repr(logs), repr(arvo), repr(reviewed_squad(DEMO)), repr(arvo.tables)]
    told += [repr(arvo.fit), repr(propose_next(arvo))]
    assert [text for text in told if len(text) > 400] == []
    assert told[-2].startswith("<StrengthFit of 'Winter in the loft': ")
    assert f": {len(arvo.fit.series)} series;" in told[-2]
    assert told[-1].startswith("<NextBlock of 'arvo': ")
    assert "8 athletes" in told[0]
    assert "'arvo'" in told[1]
    assert "2026-01-05 to 2026-03-08" in told[1]
    assert "8 athletes" in told[2]


def test_a_notebook_shows_the_lead_and_a_small_table(arvo: BlockReview) -> None:
    """The review's markup holds the first screen's lines and a row a series."""
    shown = arvo._repr_html_()
    assert "<strong>Stronger?</strong> Yes." in shown
    assert shown.count("<tr>") == 1 + len(arvo.change.series)
    assert len(shown) < 4000


def test_tables_show_their_columns(arvo: BlockReview) -> None:
    """A row a table, with every name that a chart of one's own can take."""
    shown = arvo.tables._repr_html_()
    for name in FRAMES:
        assert ", ".join(getattr(arvo.tables, name).columns) in shown


def test_logs_show_their_files(logs: Logs) -> None:
    """Each file with its rows used and refused."""
    shown = logs._repr_html_()
    assert shown.count("<tr>") == 1 + len(logs.reports)
    assert "hangs.csv" in shown


def test_names_from_a_log_are_escaped(small_logs: Path) -> None:
    """Markup in a name or a block stays text."""
    text = (small_logs / "athletes.csv").read_text().replace("Ada", "<i>Ada</i>")
    (small_logs / "athletes.csv").write_text(text)
    assert "<i>Ada</i>" in text
    logs = load_logs(small_logs)
    for shown in (review(logs, "ada")._repr_html_(), review_squad(logs)._repr_html_()):
        assert "<i>" not in shown
        assert "&lt;i&gt;" in shown


def test_a_picture_shows_as_its_svg_with_colours(arvo: BlockReview) -> None:
    """A picture alone defines each colour it uses, and stays a chart for Altair."""
    picture = charts.draw_change(arvo.change)
    assert picture is not None
    shown = picture._repr_html_()
    assert shown.count("<svg") == 1
    used = {part.split(")")[0] for part in shown.split("var(")[1:]}
    assert used
    assert {name for name in used if f"{name}:#" not in shown} == set()
    assert picture.altair().to_dict()["layer"]
    assert repr(picture).startswith("Figure: ")


def test_the_style_in_a_notebook_reaches_our_parts_alone() -> None:
    """Each rule of the page stands within the class; every colour is there, in light."""
    style = lab.page_style()
    face, rest = style.split(".gripbook.gripbook {", 1)
    assert "@font-face" in face
    assert "{" not in face.replace("@font-face{", "")
    assert rest.count("{") + 1 == rest.count("}")
    depth = 1
    for letter in rest[:-1]:
        depth += {"{": 1, "}": -1}.get(letter, 0)
        assert depth >= 1
    for name, colour in charts.look.PALETTE.items():
        assert f"--{name}: {colour}" in rest.split("@media")[0]


def test_dir_holds_public_names_alone() -> None:
    """What completion offers is what is documented, in the package and in explore."""
    assert dir(gripbook) == sorted(gripbook.__all__)
    assert not [name for name in dir(gripbook) if name.startswith("_")]
    assert dir(gripbook.explore) == sorted(gripbook.explore.__all__)
    for name in gripbook.explore.__all__:
        assert getattr(gripbook.explore, name) is not None


def test_a_terminal_loads_no_page_for_a_repr() -> None:
    """The short text needs no drawing library and nothing of the page."""
    code = (
        "import sys, gripbook as gb; repr(gb.load_logs(sys.argv[1])); "
        "print([m for m in sys.modules if m.startswith(('altair', 'gripbook.report'))])"
    )
    folder = Path(__file__).parents[2] / "data_demo"
    done = subprocess.run(
        [sys.executable, "-c", code, str(folder)], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_fragments_are_fragments() -> None:
    """A part of a page shows its markup as it is outside JupyterLab."""
    assert Fragment("<p>a</p>")._repr_html_() == "<p>a</p>"
