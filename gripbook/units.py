"""Units and their exact factors. Everything inside the package is kg, s, mm and N."""

from __future__ import annotations

#: Conventional standard gravity in m/s2 (3rd CGPM 1901; the exact value used by the SI).
STANDARD_GRAVITY = 9.80665
#: International avoirdupois pound in kg, exact since the agreement of 1959.
KG_PER_LB = 0.45359237
#: International inch in mm, exact since 1959.
MM_PER_INCH = 25.4


def kg_to_n(kilograms: float) -> float:
    """Weight in newtons of a mass in kilograms at standard gravity."""
    return kilograms * STANDARD_GRAVITY


def lb_to_kg(pounds: float) -> float:
    """Pounds to kilograms."""
    return pounds * KG_PER_LB


def kg_to_lb(kilograms: float) -> float:
    """Kilograms to pounds."""
    return kilograms / KG_PER_LB


def inch_to_mm(inches: float) -> float:
    """Inches to millimetres."""
    return inches * MM_PER_INCH
