"""Conversions of units."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gripbook import units


def test_kilograms_to_newtons() -> None:
    """One kilogram weighs 9.80665 N; weights add up."""
    assert units.kg_to_n(1.0) == 9.80665
    assert units.kg_to_n(10.0) == pytest.approx(98.0665, rel=1e-15)
    assert units.kg_to_n(0.0) == 0.0


def test_pounds_to_kilograms() -> None:
    """45 lb are 20.41165665 kg, by exact fractions."""
    exact = 45 * Fraction(45359237, 100_000_000)
    assert units.lb_to_kg(45.0) == pytest.approx(float(exact), rel=1e-15)


@pytest.mark.parametrize("kilograms", [0.5, 1.25, 20.0, 72.0])
def test_pounds_there_and_back(kilograms: float) -> None:
    """Kilograms to pounds and back give the same kilograms."""
    assert units.lb_to_kg(units.kg_to_lb(kilograms)) == pytest.approx(kilograms, rel=1e-15)


def test_pounds_are_lighter() -> None:
    """A kilogram is more than two pounds: the factors are not swapped."""
    assert units.kg_to_lb(1.0) == pytest.approx(2.2046226218, rel=1e-10)


def test_inches_to_millimetres() -> None:
    """Three quarters of an inch are 19.05 mm."""
    assert units.inch_to_mm(0.75) == pytest.approx(19.05, rel=1e-15)
