"""Body mass on any day, and its error."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest

from gripbook import derive
from gripbook.derive.body import OLD_WEIGH_IN_DAYS, body_mass_error_kg
from tests.derive_frames import day, weigh_ins


def mass_on(numbers: list[int], *of: tuple[int, float]) -> pd.DataFrame:
    """Body mass on block days `numbers` from weigh-ins `of`."""
    dates = pd.Series(pd.to_datetime([day(n) for n in numbers]))
    return derive.body_mass_on(dates, weigh_ins(*of))


def test_straight_line_between_weigh_ins() -> None:
    """A quarter of the way from 70 to 72 kg lies 70.5 kg; days may come in any order."""
    found = mass_on([6, 2, 0, 8], (0, 70.0), (8, 72.0))
    assert found["body_mass_kg"].tolist() == pytest.approx([71.5, 70.5, 70.0, 72.0], abs=1e-12)


def test_age_is_that_of_the_nearest_weigh_in() -> None:
    """Age counts to the nearest weigh-in on either side, and beyond both ends."""
    found = mass_on([0, 3, 5, 8, 11, -4], (0, 70.0), (8, 72.0))
    assert found["body_mass_age_days"].tolist() == [0, 3, 3, 0, 3, 4]


def test_nearest_weigh_in_beyond_the_ends() -> None:
    """Before the first and after the last weigh-in its mass holds: no line is drawn further."""
    found = mass_on([-30, 60], (0, 70.0), (8, 72.0))
    assert found["body_mass_kg"].tolist() == [70.0, 72.0]


@pytest.mark.parametrize(("age", "variance"), [(0, 0.25), (7, 1.06), (28, 3.49), (56, 6.73)])
def test_error_widens_with_age(age: int, variance: float) -> None:
    """0.5 kg on the day, and a random walk of 0.9 kg a week: 0.25 + 0.81 kg^2 a week."""
    found = mass_on([age], (0, 70.0))
    assert found["body_mass_error_kg"].item() ** 2 == pytest.approx(variance, abs=1e-12)


def test_error_goes_on_growing() -> None:
    """A weigh-in of a year ago is not refused; its error is beyond that of eight weeks."""
    found = mass_on([365], (0, 70.0))
    assert found["body_mass_kg"].item() == 70.0
    assert found["body_mass_error_kg"].item() == pytest.approx(
        math.hypot(0.5, 0.9 * math.sqrt(365 / 7))
    )


def test_error_of_ages() -> None:
    """The error takes arrays of any shape."""
    assert body_mass_error_kg(np.array([[0.0], [7.0]])).tolist() == [[0.5], [math.hypot(0.5, 0.9)]]


def test_several_weigh_ins_a_day() -> None:
    """Weigh-ins of one day are averaged."""
    found = mass_on([0, 1], (0, 70.0), (0, 71.0), (2, 72.5))
    assert found["body_mass_kg"].tolist() == pytest.approx([70.5, 71.5], abs=1e-12)


def test_weigh_ins_in_any_order() -> None:
    """A file that is not sorted by day gives the same masses."""
    found = mass_on([2], (8, 72.0), (0, 70.0))
    assert found["body_mass_kg"].item() == pytest.approx(70.5, abs=1e-12)


def test_no_weigh_in_leaves_all_unknown() -> None:
    """Without a weigh-in mass, error and age are unknown, not zero."""
    found = mass_on([0, 1])
    assert found.shape == (2, 3)
    assert found.isna().all(axis=None)


def test_index_of_the_dates_is_kept() -> None:
    """The answer stands on the index it was asked with."""
    dates = pd.Series(pd.to_datetime([day(1), day(0)]), index=[7, 3])
    found = derive.body_mass_on(dates, weigh_ins((0, 70.0), (2, 72.0)))
    assert found["body_mass_kg"].to_dict() == pytest.approx({7: 71.0, 3: 70.0})


def test_no_dates() -> None:
    """No day asked gives no row."""
    assert len(mass_on([], (0, 70.0))) == 0


def test_old_weigh_in_is_two_weeks() -> None:
    """A page speaks up beyond 14 days."""
    assert OLD_WEIGH_IN_DAYS == 14
