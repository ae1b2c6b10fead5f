"""What surrounds finger work: climbing, core, antagonists, mobility, measures, grades."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from gripbook.simulate.training import Row
from gripbook.simulate.truth import Draws

#: Grades in rising order, by scale; lists on different scales do not line up.
# fmt: off
GRADES = {
    "french": ("5a", "5b", "5c", "6a", "6a+", "6b", "6b+", "6c", "6c+",
               "7a", "7a+", "7b", "7b+", "7c", "7c+", "8a", "8a+"),
    "font": ("4", "5", "5+", "6A", "6A+", "6B", "6B+", "6C", "6C+",
             "7A", "7A+", "7B", "7B+", "7C"),
    "yds": ("5.7", "5.8", "5.9", "5.10a", "5.10b", "5.10c", "5.10d",
            "5.11a", "5.11b", "5.11c", "5.11d", "5.12a", "5.12b", "5.12c"),
}
# fmt: on
#: Days a week of other work, by kind: weekday offsets, minutes, effort.
_OTHER = {
    "core": ((0, 3), 20.0, 5.0),
    "antagonist": ((5,), 25.0, 4.0),
    "mobility": ((0, 2, 6), 15.0, 2.0),
}
#: Start value, unit, change over a block and spread between visits, by measure.
_MEASURES = {
    "front_split_gap": (17.0, "cm", -3.0, 0.8),
    "side_split_gap": (24.0, "cm", -2.0, 1.2),
    "handstand_hold": (21.0, "s", 6.0, 4.0),
    "l_sit_hold": (14.0, "s", 3.0, 1.5),
}


def climbing_days(draws: Draws, first_week: int, last_week: int, share: float) -> list[int]:
    """Sundays with climbing, from one week (0: the block's first) up to, not with, another."""
    return [7 * week + 6 for week in range(first_week, last_week) if draws.chance(share)]


def climbing(day: int, fingers: Collection[int], draws: Draws) -> Row:
    """A climbing session; hard ones keep a day clear of finger work, as the limits ask."""
    effort = float(min(max(round(draws.normal(6.5, 1.2)), 3), 9))
    if {day - 1, day, day + 1} & set(fingers):
        effort = min(effort, 6.0)
    return {
        "day": day,
        "kind": "climbing",
        "minutes": 15.0 * round(draws.uniform(5, 9)),
        "effort": effort,
        "place": "indoor",
    }


def other_work(
    weeks: int,
    fingers: Collection[int],
    climbs: Collection[int],
    draws: Draws,
    *,
    kept: float,
    away: Collection[int] = (),
) -> Iterator[Row]:
    """
    Rows of sessions.csv beside finger work.

    `kept` is the chance that a planned day of core, antagonist or mobility work is done and
    logged; nothing happens on `away` days.
    """
    for week in range(weeks):
        for kind, (offsets, minutes, effort) in _OTHER.items():
            for offset in offsets:
                day = 7 * week + offset
                if draws.chance(kept) and day not in away:
                    more = 5.0 * round(draws.uniform(-0.5, 1.5))
                    yield {"day": day, "kind": kind, "minutes": minutes + more, "effort": effort}
    for day in climbs:
        if 0 <= day < 7 * weeks and day not in away:
            yield climbing(day, fingers, draws)


def climbs_of(
    scale: str, usual: int, days: Sequence[int], draws: Draws, *, rock_from: int = 10_000
) -> list[Row]:
    """
    Rows of climbs.csv: one to three ascents on each day, about the grade number `usual`.

    Grades follow skill and the day, not finger strength: they need not rise with it.
    """
    grades, rows = GRADES[scale], []
    for day in days:
        for _ in range(1 + int(draws.uniform(0, 2.2))):
            step = round(draws.normal(0, 1.1))
            style = "attempt" if step > 1 else "redpoint" if step > 0 else "flash"
            if style == "flash" and draws.chance(0.4):
                style = "onsight" if scale != "font" else "redpoint"
            row: Row = {"day": day, "scale": scale, "style": style}
            row["grade"] = grades[min(max(usual + step, 0), len(grades) - 1)]
            row["place"] = "rock" if day >= rock_from else "indoor"
            rows.append(row)
    return rows


def measures_of(measures: Sequence[str], days: Sequence[int], draws: Draws) -> list[Row]:
    """Rows of measures.csv, each measure on each day; front splits on both sides."""
    rows: list[Row] = []
    span = max(days) - min(days) or 1
    sides = {"front_split_gap": (("left", 0.0), ("right", 2.0))}
    for measure in measures:
        start, unit, change, spread = _MEASURES[measure]
        level = start * (1.0 + draws.uniform(-0.25, 0.25))
        for day in days:
            for side, shift in sides.get(measure, (("", 0.0),)):
                value = level + shift + change * (day - min(days)) / span
                row: Row = {"day": day, "measure": measure, "side": side, "unit": unit}
                row["value"] = float(max(round(value + draws.normal(0, spread)), 1))
                rows.append(row)
    return sorted(rows, key=lambda row: int(str(row["day"])))
