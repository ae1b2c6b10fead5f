"""
Grades on the IRCRA scale: Draper N et al. 2015, Sports Technology 8(3-4):88-94, as agreed on by
public transcriptions of its table.
"""

from __future__ import annotations

import pytest

from gripbook.logs.grades import UnknownGradeError, nearest_grade, read_grade


@pytest.mark.parametrize(
    ("scale", "grade", "index"),
    [
        ("french", "6a", 11),
        ("french", "7a", 17),
        ("french", "7a+", 18),
        ("french", "8a", 23),
        ("french", "9b+", 32),
        ("yds", "5.10a", 10),
        ("yds", "5.11d", 17),
        ("yds", "5.12a", 18),
        ("yds", "5.15c", 32),
        ("ewbank", "18", 10),
        ("ewbank", "24", 18),
        ("ewbank", "30", 24),
        ("ewbank", "38", 32),
        ("uiaa", "VI", 10),
        ("uiaa", "VIII", 17),
        ("uiaa", "8", 17),
        ("uiaa", "XI-", 27),
    ],
)
def test_route_grades(scale: str, grade: str, index: float) -> None:
    """Each route grade stands in its row of the table."""
    found = read_grade(grade, scale)
    assert (found.index, found.discipline) == (index, "route")


@pytest.mark.parametrize(
    ("scale", "grade", "low", "high"),
    [
        ("v", "V4", 18, 18),
        ("v", "V6", 20, 20),
        ("v", "V10", 25, 25),
        ("font", "7A", 20, 20.5),
        ("font", "8A", 26, 26.5),
        # midpoints of a second reading of the chart
        ("font", "6B", 17, 17),
        ("font", "6C+", 19.5, 19.5),
        ("font", "7C", 24.5, 24.5),
        ("v", "V13", 28.5, 28.5),
        ("v", "V16", 32, 32),
    ],
)
def test_boulder_grades(scale: str, grade: str, low: float, high: float) -> None:
    """A boulder grade holds every reading of the chart within its plus or minus one."""
    found = read_grade(grade, scale)
    assert found.discipline == "boulder"
    assert found.high - found.low >= 2
    assert found.low <= low
    assert high <= found.high


@pytest.mark.parametrize("scale", ["french", "yds"])
def test_round_trip(scale: str) -> None:
    """IRCRA 1 to 32 to a grade and back is the same number."""
    for index in range(1, 33):
        assert read_grade(nearest_grade(float(index), scale), scale).index == index


@pytest.mark.parametrize(
    ("scale", "grade"), [("french", "7z"), ("french", ""), ("yds", "5.10"), ("v", "V17")]
)
def test_unknown_grades_are_not_guessed(scale: str, grade: str) -> None:
    """A grade outside the table is an error that says so."""
    with pytest.raises(UnknownGradeError, match="none is guessed"):
        read_grade(grade, scale)


def test_writing_does_not_matter() -> None:
    """Case and blanks do not; a boulder scale reads 7a as 7A, a route scale as 7a."""
    assert read_grade(" 7 A ", "french") == read_grade("7a", "french")
    assert read_grade("7a", "font") == read_grade("7A", "font")
    assert read_grade("7a", "font").index != read_grade("7a", "french").index
