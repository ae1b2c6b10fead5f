"""What a page may say where body mass is hidden: facts, problems, the masses that stand in."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from gripbook.derive import derive_sets
from gripbook.logs import load_logs
from gripbook.report import sections
from gripbook.reviews import review
from gripbook.reviews.shown import STAND_IN_KG, shown_loads, shown_problems, with_stand_in
from tests.reviewed import reviewed

HEADER = "athlete,date,exercise,grip,hand,edge_mm,added_kg,scale_kg,stand_kg,force_kg,hang_s"


def write(folder: Path, rows: list[str], *, show: str, mass: float = 60.0) -> Path:
    """A small log of one athlete."""
    (folder / "hangs.csv").write_text("\n".join([HEADER, *rows]) + "\n")
    (folder / "body.csv").write_text(f"athlete,date,body_mass_kg\nkim,2026-01-05,{mass}\n")
    (folder / "athletes.csv").write_text(f"athlete,show_body_mass\nkim,{show}\n")
    return folder


HUNG = [
    f"kim,2026-01-{day:02},hang,half_crimp,both,20,{kg},,,,10"
    for day, kg in ((5, 10), (8, 12.5), (12, 10), (15, 15), (19, 15), (22, 17.5))
]


def test_a_hidden_change_has_no_set_no_path_and_no_end(tmp_path: Path) -> None:
    """Only a verdict and a range in whole kilograms are left; a page that shows has them all."""
    shown = reviewed(write(tmp_path, HUNG, show="yes"), "kim").change.series[0]
    assert len(shown.path)
    assert len(shown.points) == len(HUNG)
    assert math.isfinite(shown.end_kg) or shown.fit.at_least
    hidden = reviewed(write(tmp_path, HUNG, show="no"), "kim").change.series[0]
    assert list(hidden.path.columns) == list(shown.path.columns)
    assert not len(hidden.path)
    assert not len(hidden.points)
    assert math.isnan(hidden.start_kg)
    assert math.isnan(hidden.end_kg)


def test_a_hidden_range_is_rounded_outward(tmp_path: Path, demo_logs_folder: Path) -> None:
    """Whole kilograms that hold the finer range."""
    r = reviewed(demo_logs_folder, "eske")
    measured = [s for s in r.change.series if s.fit.ok and not s.fit.at_least]
    assert measured
    for s in measured:
        low, high = (p / 100 * s.fit.start_kg for p in (s.fit.low_pct, s.fit.high_pct))
        assert (s.low_kg, s.high_kg) == (math.floor(low), math.ceil(high))


def test_hung_sets_and_pulls_get_the_stand_in(tmp_path: Path) -> None:
    """
    A hang's load moves with the mass, pulls over a scale move alike to half of it about their
    middle, and a gauge's reading is the fingers' own.
    """
    rows = [
        HUNG[0],
        "kim,2026-01-06,pull,half_crimp,left,20,0,25,,,",
        "kim,2026-01-06,pull,half_crimp,right,20,0,29,,,",
        "kim,2026-01-06,pull,open_four,left,20,0,,,31,",
    ]
    logs = load_logs(write(tmp_path, rows, show="no")).for_athlete("kim")
    sets = derive_sets(logs.hangs, logs.body, logs.block_for("kim"))
    assert sets["load_kg"].tolist() == [70.0, 35.0, 31.0, 31.0]
    out = with_stand_in(sets)
    half = STAND_IN_KG / 2
    assert out["load_kg"].tolist() == [STAND_IN_KG + 10, half + 2, half - 2, 31.0]
    assert out["impulse_kg_s"].iloc[0] == (STAND_IN_KG + 10) * 10
    assert set(out["body_mass_kg"]) == {STAND_IN_KG}
    assert out["force_n"].iloc[0] / sets["force_n"].iloc[0] == pytest.approx(90 / 70)


def test_no_pull_loses_its_load_to_the_stand_in(tmp_path: Path) -> None:
    """Pulls far apart stay above nothing, and as far apart."""
    rows = [f"kim,2026-01-06,pull,half_crimp,left,20,0,{scale},,," for scale in ("59", "1", "0.5")]
    logs = load_logs(write(tmp_path, rows, show="no")).for_athlete("kim")
    sets = derive_sets(logs.hangs, logs.body, logs.block_for("kim"))
    out = with_stand_in(sets)
    assert out["load_kg"].min() == pytest.approx(1.0)
    assert out["load_kg"].diff().tolist()[1:] == pytest.approx(sets["load_kg"].diff().tolist()[1:])


def test_a_gauge_in_a_free_hang_reads_body_mass_and_is_not_shown(tmp_path: Path) -> None:
    """The gauge of a kind that is hung too is no load to show; another kind's is."""
    rows = [
        HUNG[0],
        "kim,2026-01-06,hang,half_crimp,both,20,0,,,60,10",
        "kim,2026-01-06,pull,half_crimp,left,20,0,,,31,",
    ]
    logs = load_logs(write(tmp_path, rows, show="no")).for_athlete("kim")
    sets = derive_sets(logs.hangs, logs.body, logs.block_for("kim"))
    shown = shown_loads(sets, show_body_mass=False)
    assert shown["shown_kg"].tolist() == [10.0, 0.0, 31.0]


BAD = "61.3 about"


@pytest.mark.parametrize("file", ["body.csv", "Body.CSV", "BODY.csv"])
@pytest.mark.parametrize("column", ["body_mass_kg", "body_mass_lb"])
def test_no_problem_quotes_a_weigh_in(tmp_path: Path, file: str, column: str) -> None:
    """Whatever the file's case and the column's unit."""
    write(tmp_path, HUNG, show="no")
    (tmp_path / "body.csv").unlink()
    (tmp_path / file).write_text(f"athlete,date,{column}\nkim,2026-01-05,{BAD}\n")
    logs = load_logs(tmp_path)
    assert any(BAD in p.value for p in logs.problems)
    r = review(logs, "kim")
    assert "61.3" not in "".join(map(str, (*r.problems, *sections.log(r))))


@pytest.mark.parametrize("column", ["stand_kg", "scale_kg", "force_kg", "stand_lb", "scale_lb"])
def test_no_problem_quotes_a_mass_of_a_set(tmp_path: Path, column: str) -> None:
    """The row, the column and the reason stay, the cell does not; with body mass shown it does."""
    row = HEADER.split(",")
    name = column.replace("_lb", "_kg")
    head = HEADER.replace(name, column)
    cells = dict.fromkeys(row, "") | {
        "athlete": "kim",
        "date": "2026-01-09",
        "exercise": "pull",
        "grip": "half_crimp",
        "hand": "left",
        "edge_mm": "20",
        "added_kg": "0",
        "scale_kg": "20",
    }
    cells[name] = BAD
    for show in ("yes", "no"):
        write(tmp_path, [",".join(cells.values())], show=show)
        text = (tmp_path / "hangs.csv").read_text().replace(HEADER, head)
        (tmp_path / "hangs.csv").write_text(text + "\n".join(HUNG) + "\n")
        r = reviewed(tmp_path, "kim")
        told = [p for p in r.problems if p.severity == "error"]
        assert [(p.column, p.line) for p in told] == [(told[0].column, 2)]
        assert ("61.3" in "".join(map(str, (*told, *sections.log(r))))) is (show == "yes")
        assert told[0].column.rsplit("_", 1)[0] == column.rsplit("_", 1)[0]


def test_a_whole_row_is_not_quoted(tmp_path: Path) -> None:
    """A row of too many cells has no column and is quoted whole, with whatever mass is in it."""
    write(tmp_path, [*HUNG, "kim,2026-01-09,pull,half_crimp,left,20,0,20,61.3,,,,,,,,"], show="no")
    (whole,) = [p for p in load_logs(tmp_path).problems if p.code == "too_many_cells"]
    assert "61.3" in whole.value
    assert shown_problems([whole], show_body_mass=True) == (whole,)
    (told,) = shown_problems([whole], show_body_mass=False)
    assert (told.value, told.place, told.code) == ("", whole.place, whole.code)
