"""Tidy frames: documented columns with their types and units, for everybody and without rows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from gripbook.logs import Logs, load_logs
from gripbook.reviews import (
    BlockReview,
    SquadReview,
    propose_next,
    review_squad,
)
from gripbook.reviews.columns import columns_of, row_of, typed
from gripbook.reviews.squad import SQUAD_FRAMES
from gripbook.reviews.tables import FRAMES
from gripbook.strength import NoiseScales
from tests.reviewed import reviewed, reviewed_squad

#: Whole; held by pain and without climbs; a minor; body mass hidden; a short log.
ATHLETES = ("arvo", "celm", "dova", "eske", "hesk")
#: End of a name and the unit that goes with it.
UNITS = {"_kg": "kg", "_mm": "mm", "_pct": "%"}


@pytest.fixture(scope="module")
def logs(demo_logs_folder: Path) -> Logs:
    """The demo squad's logs."""
    return load_logs(demo_logs_folder)


@pytest.fixture(scope="module")
def reviews(demo_logs_folder: Path) -> dict[str, BlockReview]:
    """Reviews of all kinds of athletes."""
    return {athlete: reviewed(demo_logs_folder, athlete) for athlete in ATHLETES}


@pytest.fixture(scope="module")
def made(reviews: dict[str, BlockReview]) -> dict[str, dict[str, pd.DataFrame]]:
    """Every frame of every review."""
    return {a: {name: getattr(r.tables, name) for name in FRAMES} for a, r in reviews.items()}


@pytest.fixture(scope="module")
def squad(demo_logs_folder: Path) -> SquadReview:
    """The demo squad."""
    return reviewed_squad(demo_logs_folder)


def frames(found: object, names: tuple[str, ...]) -> Iterator[tuple[str, pd.DataFrame]]:
    """The frames by name."""
    for name in names:
        yield name, getattr(found, name)


def assert_typed(name: str, frame: pd.DataFrame) -> None:
    """Columns and types are those documented, and rows are numbered from 0."""
    expected = {c.name: c.dtype for c in columns_of(name)}
    assert {c: str(t) for c, t in frame.dtypes.items()} == expected, name
    assert list(frame.columns) == list(expected), name
    assert frame.index.equals(pd.RangeIndex(len(frame))), name


@pytest.mark.parametrize("athlete", ATHLETES)
def test_frames_have_their_columns_whoever_it_is(
    made: dict[str, dict[str, pd.DataFrame]], athlete: str
) -> None:
    """The same columns and types for everybody: dates are dates, with rows and without."""
    for name, frame in made[athlete].items():
        assert_typed(name, frame)


def test_every_frame_has_rows_for_somebody(made: dict[str, dict[str, pd.DataFrame]]) -> None:
    """The types above were seen on real rows, and on frames without."""
    counts = {name: [len(theirs[name]) for theirs in made.values()] for name in FRAMES}
    assert all(max(n) > 0 for n in counts.values())
    none = {name for name, n in counts.items() if min(n) == 0}
    assert none == {"paths", "points", "tests", "next", "ratio", "measures", "climbs"}


def test_hidden_body_mass_leaves_columns_empty(reviews: dict[str, BlockReview]) -> None:
    """What would lead to body mass is there and empty; what may be shown is not."""
    tables = reviews["eske"].tables
    assert not reviews["eske"].athlete.show_body_mass
    empty = ["start_kg", "end_kg", "change_pct", "low_pct", "high_pct"]
    assert len(tables.changes) > 0
    assert tables.changes[empty].isna().all(axis=None)
    assert tables.changes["change_kg"].notna().any()
    assert len(tables.tests) > 0
    assert tables.tests["load_kg"].isna().all()
    assert tables.tests["shown_kg"].notna().all()
    assert set(tables.tests["shown_as"]).isdisjoint({""})
    for name in ("paths", "points", "ratio"):
        assert len(getattr(tables, name)) == 0
    shown = reviews["arvo"].tables
    assert shown.changes[empty].notna().any().all()
    assert shown.tests["load_kg"].notna().all()


def test_squad_frames(squad: SquadReview) -> None:
    """Frames of the squad, those to call first on top."""
    tables = squad.tables
    for name, frame in frames(tables, SQUAD_FRAMES):
        assert_typed(name, frame)
        assert len(frame)
    assert list(tables.athletes["athlete"]) == [row.athlete for row in squad.by_need]
    counted = tables.flags.groupby("athlete").size()
    flags = tables.athletes.set_index("athlete")["flags"]
    assert flags[flags > 0].to_dict() == counted.to_dict()
    first = tables.flags.drop_duplicates("athlete").set_index("athlete")["kind"]
    named = tables.athletes.set_index("athlete")["first_flag"]
    assert named[named != ""].to_dict() == first.to_dict()
    galo = tables.flags[tables.flags["athlete"] == "galo"]
    assert "5, 6, 7" in set(galo["weeks"])
    together = tables.together.set_index("capacity")
    for change in squad.changes:
        row = together.loc[change.capacity]
        assert (row["measured"], row["athletes"]) == (change.pooled.n, change.athletes)
        assert row["low_pct"] < row["mean_pct"] < row["high_pct"]
        assert row["spread_pct"] == pytest.approx(100 * np.expm1(change.pooled.spread))


def test_no_squad_frame_leads_to_a_hidden_body_mass(squad: SquadReview) -> None:
    """No kilograms stand beside the squad's per cent, and no body mass."""
    for name in SQUAD_FRAMES:
        assert not [c.name for c in columns_of(name) if c.unit == "kg"]


def test_a_squad_of_nobody_has_its_columns(logs: Logs) -> None:
    """A block that nobody has gives frames without rows, with their types."""
    nobody = review_squad(logs, "\0")
    for name, frame in frames(nobody.tables, SQUAD_FRAMES):
        assert_typed(name, frame)
        assert len(frame) == 0


@pytest.mark.parametrize("name", [*FRAMES, *SQUAD_FRAMES])
def test_columns_are_documented(name: str) -> None:
    """Each column has a meaning, once, and the unit that its name ends in."""
    columns = columns_of(name)
    assert len({c.name for c in columns}) == len(columns)
    assert row_of(name).startswith("one row per ")
    for column in columns:
        assert column.meaning
        for end, unit in UNITS.items():
            if column.name.endswith(end):
                assert column.unit == unit, column
        if column.name.endswith("_s"):
            assert column.unit == "s", column


def test_columns_can_be_read_in_python(reviews: dict[str, BlockReview], squad: SquadReview) -> None:
    """`.columns` lists each column of each frame with type, unit and meaning."""
    for tables, names in ((reviews["arvo"].tables, FRAMES), (squad.tables, SQUAD_FRAMES)):
        told = tables.columns
        assert list(told.columns) == ["table", "column", "dtype", "unit", "meaning"]
        assert list(told["table"].unique()) == list(names)
        for name in names:
            own = told[told["table"] == name]
            assert list(own["column"]) == list(getattr(tables, name).columns)


def test_a_missing_column_is_an_error() -> None:
    """A frame with rows that lacks a column isn't filled up in silence."""
    with pytest.raises(KeyError):
        typed(pd.DataFrame({"ratio": [1.0]}), "ratio")
    assert_typed("ratio", typed(pd.DataFrame(), "ratio"))


def test_a_proposal_is_its_rows(
    reviews: dict[str, BlockReview], made: dict[str, dict[str, pd.DataFrame]]
) -> None:
    """`propose_next(r).table()` and `r.tables.next` are the same rows, one each."""
    plan = propose_next(reviews["arvo"])
    pd.testing.assert_frame_equal(plan.table(), made["arvo"]["next"])
    assert len(plan.table()) == len(plan.rows) > 0


def test_tables_proposals_and_noise_show_themselves(
    reviews: dict[str, BlockReview], squad: SquadReview
) -> None:
    """A line in a terminal, and in a notebook words with a small table."""
    arvo = reviews["arvo"]
    plan, noise = propose_next(arvo), replace(NoiseScales(), athletes=8)
    lines = [repr(x) for x in (arvo.tables, squad.tables, plan, noise, NoiseScales())]
    assert max(map(len, lines)) < 120
    assert "over 8 athletes: days" in lines[3]
    assert "the defaults: days 2.9 %, sets 2.5 % (SD)" in lines[4]
    rows = {arvo.tables: len(FRAMES), squad.tables: len(SQUAD_FRAMES)}
    for tables, count in rows.items():
        assert tables._repr_html_().count("<tr>") == 1 + count
    shown = plan._repr_html_()
    assert "From 27" in shown
    assert shown.count("<tr>") == 1 + len(plan.loads)
    assert noise._repr_html_().count("<tr>") == 5
    assert max(map(len, (shown, noise._repr_html_()))) < 6000


def test_a_minor_s_proposal_shows_no_load(reviews: dict[str, BlockReview]) -> None:
    """Under 18 a notebook shows what was done, and that no load is proposed."""
    shown = propose_next(reviews["dova"])._repr_html_()
    assert "No load is proposed." in shown
    assert "<table" not in shown


def test_a_proposal_is_in_the_athlete_s_unit(reviews: dict[str, BlockReview]) -> None:
    """An athlete who counts in pounds sees pounds first."""
    plan = propose_next(reviews["arvo"])
    assert " lb" not in plan._repr_html_().replace("\u00a0", " ")
    shown = replace(plan, units="lb")._repr_html_().replace("\u00a0", " ")
    assert "At most 90 % of +22 lb (+10 kg) on 16 January" in shown
