"""Derived measures: frame in, frame out, pure. Nothing here reads a file or draws a chart."""

from __future__ import annotations

from gripbook.derive.best import best_loads, best_of_week, changes_between_tests, completed_sets
from gripbook.derive.body import body_mass_on
from gripbook.derive.loading import derive_sets, load_on_fingers_kg
from gripbook.derive.weeks import (
    count_sets,
    daily_load,
    days_by_kind,
    days_without,
    distinct_sets,
    finger_sessions,
    last_logged_day,
    loading_days,
    main_sets,
    monotony,
    rest_between,
    session_load,
    week_of_day,
    weekly_finger_work,
    weekly_load,
)

__all__ = [
    "best_loads",
    "best_of_week",
    "body_mass_on",
    "changes_between_tests",
    "completed_sets",
    "count_sets",
    "daily_load",
    "days_by_kind",
    "days_without",
    "derive_sets",
    "distinct_sets",
    "finger_sessions",
    "last_logged_day",
    "load_on_fingers_kg",
    "loading_days",
    "main_sets",
    "monotony",
    "rest_between",
    "session_load",
    "week_of_day",
    "weekly_finger_work",
    "weekly_load",
]
