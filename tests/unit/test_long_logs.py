"""A page stays small whatever the log: charts are thinned, long tables and parts left out, told."""

from __future__ import annotations

import datetime as dt

import pytest

from gripbook import html, layout
from gripbook.charts import look
from gripbook.report.pictures import figure
from gripbook.report.sections.common import shown
from gripbook.words import fmt

DAY = dt.date(2020, 1, 6)


def marks(count: int, days: int = 1) -> list[dict[str, object]]:
    """Marks, so many days apart, each a little higher than the last but within a week a fall."""
    return [
        {
            "x": look.iso(DAY + dt.timedelta(days=i * days)),
            "y": 100.0 + i // 7 - i % 7,
            "shape": "hang",
            "r": 3.0,
            "filled": True,
            "colour": look.INK,
            "tip": str(i),
        }
        for i in range(count)
    ]


def x(count: int) -> look.Scale:
    """An axis of days for them."""
    return look.days(DAY, DAY + dt.timedelta(days=count), 0, 700)


@pytest.mark.parametrize(("more", "left"), [(0, False), (1, True)])
def test_charts_are_thinned_from_a_number_on(more: int, left: bool) -> None:
    """As many as the limit are all drawn; with one more each week keeps its highest and lowest."""
    rows = marks(look.MARKS + more)
    kept = look.thinned(rows, x(500))
    assert (len(kept) < len(rows)) is left
    if not left:
        return
    weeks: dict[int, list[float]] = {}
    for row in rows:
        week = dt.date.fromisoformat(str(row["x"])).toordinal() // 7
        weeks.setdefault(week, []).append(float(str(row["y"])))
    assert len(kept) == sum(len({min(of), max(of)}) for of in weeks.values())
    assert {(min(of), max(of)) for of in weeks.values()} == {
        (min(of), max(of))
        for week in weeks
        for of in [[r["y"] for r in kept if dt.date.fromisoformat(r["x"]).toordinal() // 7 == week]]
    }
    assert list(kept) == [row for row in rows if row in list(kept)]


def test_many_years_take_more_weeks_at_a_time() -> None:
    """Never more than the limit; and marks that look different stand for themselves."""
    rows = marks(9000)
    kept = look.thinned(rows, x(9000))
    assert look.MARKS / 4 < len(kept) <= look.MARKS
    odd = {**rows[4000], "shape": "pull"}
    assert odd in look.thinned([*rows, odd], x(9000))


def test_how_many_are_left_out_stands_at_the_chart() -> None:
    """Nothing where all are drawn."""

    def paint(rows: list[dict[str, object]], width: float) -> look.Sheet:
        sheet = look.Sheet(width, 100)
        sheet.points(x(1001), look.Scale(0, 400, 100, 0), rows)
        return sheet

    few = look.picture("few", lambda width: paint(marks(10), width))
    many = look.picture("many", lambda width: paint(marks(1001), width))
    assert "left out" not in figure(few, "Each set.").html
    left = 1001 - many.wide["layer"][0]["data"]["values"].__len__()
    said = figure(many, "Each set.").html
    assert many.thinned == (left, 1001)
    assert f"<figcaption>Each set. A long log: {left} of 1" in said
    assert len(said.encode()) < 100_000


@pytest.mark.parametrize("more", [0, 1, 9])
def test_long_tables_keep_both_ends(more: int) -> None:
    """The first and the last rows, and how many are missing between them."""
    rows = [{"n": f"row {i}"} for i in range(layout.ROWS + more)]
    for table in (
        layout.table(rows, "t"),
        layout.record_table("t", ["b"], [(row["n"], "x") for row in rows]),
    ):
        said = repr(table)
        assert "row 0" in said
        assert rows[-1]["n"] in said
        assert table.html.count('scope="row"') == layout.ROWS
        assert (f"{more} row" in said) is bool(more)
        assert ("left out" in said) is bool(more)


@pytest.mark.parametrize(("size", "kept"), [(0, True), (1, False)])
def test_what_is_too_large_is_left_out_and_told(size: int, kept: bool) -> None:
    """A fold and a section hold so many bytes, not characters; what fits beside it stays."""
    empty = len(html.paragraph("").html.encode())
    for hold, most in (
        (lambda *parts: layout.fold("More", "", *parts).html, layout.FOLD_BYTES),
        (lambda *parts: "".join(p.html for p in shown(*parts)), layout.SECTION_BYTES),
    ):
        text = "é" * ((most - empty) // 2) + "x" * ((most - empty) % 2 + size)
        said = hold(html.paragraph(text), html.paragraph("") if kept else html.paragraph("small"))
        assert (text in said) is kept
        assert ("small" in said) is not kept
        assert ("left out" in said) is True
        assert len(said.encode()) < most + 1000


def test_the_limits_keep_a_page_under_3_mb() -> None:
    """Nine sections, style, script and typeface beside them."""
    assert 9 * layout.SECTION_BYTES + 200_000 < 3_000_000
    assert layout.FOLD_BYTES <= layout.SECTION_BYTES
    # of the squad's page: its head, table, averages, what it must say
    assert layout.SQUAD_BYTES + 3 * layout.SECTION_BYTES + 200_000 < 3_000_000


@pytest.mark.parametrize(("more", "names"), [(0, "0, 1 and 2"), (1, "0, 1, 2 and 1 more")])
def test_of_many_names_the_first(monkeypatch: pytest.MonkeyPatch, more: int, names: str) -> None:
    """As many as the limit are all named; of one more it is said."""
    assert fmt.NAMES == 20
    monkeypatch.setattr(fmt, "NAMES", 3)
    assert fmt.some([str(i) for i in range(3 + more)]) == names
