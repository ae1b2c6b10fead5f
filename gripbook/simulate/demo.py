"""The demo squad: eight invented athletes of an invented club, each with planted events."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path as FilePath

from gripbook.simulate.files import COLUMNS, Style, csv_text, write_file
from gripbook.simulate.other import climbing_days, climbs_of, measures_of, other_work
from gripbook.simulate.squad import (
    Squad,
    finger_days,
    in_order,
    train_block,
    trained_days,
    write_truth,
)
from gripbook.simulate.training import Habits, Row, Trainee
from gripbook.simulate.truth import Draws, Endurance, Path, Person, Series
from gripbook.units import KG_PER_LB

DEMO_START = dt.date(2026, 1, 5)
DEMO_WEEKS = 9
_SEED = "ostermoor"
_LAST_DAY = 7 * DEMO_WEEKS - 1
#: Climbing is logged from nine weeks before the block to the end of April.
_CLIMBS_FROM_WEEK, _CLIMBS_TO_WEEK = -8, 16

LOFT_BLOCK = """\
# The winter block of the Ostermoor Loft Club. All of it is invented.

[block]
name = "Winter in the loft"
start = 2026-01-05
weeks = 9
goal = "build"
athletes = ["arvo", "brin", "celm", "eske", "fenn", "galo", "hesk"]
headline = { capacity = "hang", grip = "half_crimp", hand = "both" }
reference_edge_mm = 20
reference_hang_s = 10
plates_kg = [1.25, 1.25, 2.5, 2.5, 5, 10, 10, 20]
edges_mm = [22, 20, 18, 15]
test_weeks = [1, 9]
smallest_change_pct = { hang = 3, pull = 5, repeater = 5 }

[limits]
fingers_per_week = 3
rest_days_between_finger_days = 1
finger_session_minutes = 60
pain_level = 3

[[phase]]
name = "Timed hangs"
weeks = 2
exercise = "hang"
hang_s = 10
sets_per_session = 8
set_rest_s = [120, 120]
sessions_per_week = 2

[[phase]]
name = "Repeaters"
weeks = 4
exercise = "repeater"
reps = 6
hang_s = 7
rest_s = 3
sets_per_session = 5
set_rest_s = [120, 180]
sessions_per_week = 2

[[phase]]
name = "One-arm pulls"
weeks = 3
exercise = "pull"
sets_per_session = 6
set_rest_s = [180, 240]
alternate_hands = true
sessions_per_week = 2

[weekly]
core = 2
antagonist = 1
mobility = 3

[athlete.galo]              # plates of 2.5, 5, 10, 25 and 45 lb
plates_kg = [1.13, 1.13, 2.27, 4.54, 4.54, 11.34, 20.41]
"""

YOUTH_BLOCK = """\
# Easy hangs for the youth of the Ostermoor Loft Club, agreed with a coach and the family:
# always with seconds to spare, no tests, no all-out pulls. All of it is invented.

[block]
name = "Youth winter"
start = 2026-01-05
weeks = 9
goal = "hold"
athletes = ["dova"]
reference_edge_mm = 20
reference_hang_s = 10

[limits]
fingers_per_week = 2
rest_days_between_finger_days = 1
finger_session_minutes = 40
pain_level = 1

[[phase]]
name = "Easy timed hangs"
weeks = 9
exercise = "hang"
hang_s = 10
sets_per_session = 5
set_rest_s = [120, 180]
sessions_per_week = 2

[weekly]
core = 2
antagonist = 1
mobility = 3
"""

README = """\
# The Ostermoor Loft Club, winter 2026

Everything here is invented: the club, its eight athletes, their strength, bodies and pains. The
logs were written by `python -m gripbook.simulate DIR`; the same command writes the same bytes.
Nothing in them is advice or a model to follow.

The club hangs in the loft above a joinery. Seven train one block of nine weeks from Monday
5 January 2026 (`block-loft.toml`): two weeks of timed hangs, four of repeaters, three of one-arm
pulls, with tests in weeks 1 and 9 after two days of rest. The youngest has a block of easy hangs
(`block-youth.toml`). The coach keeps the files at the top; three athletes keep `hangs.csv` and
`body.csv` of their own, each in a folder of their name and written in their own way.

What is planted, and who carries it:

- **arvo** gains clearly (hang +10 %), and goes to smaller edges (20, 18, 15 mm). Failed holds; a
  slip (27 January); a note with HTML in it (13 February); one session missed; two sessions before
  the block; every rest day logged, and "no pain" after every session; mobility measured twice at
  each visit.
- **brin** loses a little (hang -4 %). Ill from 26 January to 5 February, so week 4 has no session;
  a trip in week 6 with another board (`cabin`); pain never recorded.
- **celm** has a sore right inner elbow from week 5 on, rising from 1 to 4, with entries on
  mornings; a set stopped for pain (3 March); no test in week 9.
- **dova** is under 18: easy timed hangs only, with seconds to spare; no tests, no all-out pulls;
  body mass hidden by default.
- **eske** changes nothing (0 %). Goes to a smaller edge (20, 18, 15 mm) in place of more weight,
  and is tested on 20 mm; body mass hidden by choice.
- **fenn** weighs 7 % less at the end than at the start. Own files with semicolons, decimal commas
  and a byte-order mark; pulls read from a force gauge.
- **galo** logs in pounds and weighs nearly 5 % more at the end. Four finger days in each of weeks
  5 to 7 (limit 3), twice on days that follow each other; standing weight noted before each pull.
- **hesk** hardly logs: six finger days in nine weeks, one weigh-in, no pain, no tests; three rows
  cannot be used, each for another reason, and two are written otherwise and read.

The three rows of `hesk/hangs.csv`: no edge, a negative time, a word for a number. The two: a day
before its month, a grip without its underscore.

`truth/` holds what no log can know: `truth.csv` the true load of every capacity, grip and hand
(kg, 20 mm edge, 10 s hold or the reference set) by day of the block; `people.csv` edge exponent,
day-to-day SD (log), body mass at both ends and the board's offset (log); `day_effects.csv` how far
each day was off the path (log). The reader of logs passes over this folder.
"""


_PLAIN = Style()


@dataclass(frozen=True, slots=True)
class _Member:
    """One of the eight: who, what is true, how it is logged, what is planted."""

    id: str
    born: int
    fingers_since: str
    mass_kg: float
    hang_ratio: float
    changes: tuple[float, float, float]
    """Of hang, repeater and pull, in log terms over the block."""
    mass_change_kg: float = 0.0
    other_grip: str = "open_three"
    hand: str = "right"
    units: str = "kg"
    show_body_mass: str = ""
    edge_exponent: float = 0.25
    habits: Habits = field(default_factory=Habits)
    style: Style = _PLAIN
    days: tuple[tuple[int, bool], ...] = ()
    missed: frozenset[int] = frozenset()
    weigh_days: tuple[int, ...] = ()
    cabin_days: frozenset[int] = frozenset()
    slip_days: frozenset[int] = frozenset()
    pain_days: frozenset[int] = frozenset()
    away_days: frozenset[int] = frozenset()
    notes: Mapping[int, str] = field(default_factory=dict)
    mass_notes: Mapping[int, str] = field(default_factory=dict)
    extra_sessions: tuple[Row, ...] = ()
    kept: float = 0.6
    """Share of the other work that is done and logged; 0 where none is."""
    rest_logged: bool = False
    climbs: tuple[str, int] | None = None
    measures: tuple[tuple[str, ...], tuple[int, ...]] = ((), ())
    pain: tuple[Row, ...] = ()
    asked_none: tuple[int, ...] = ()


def _every(step: int, first: int = 0, last: int = _LAST_DAY) -> tuple[int, ...]:
    return tuple(range(first, last + 1, step))


_PLAIN_DAYS = tuple(finger_days(DEMO_WEEKS, 2))
_ELBOW: Row = {"site": "elbow_inner", "side": "right"}

_MEMBERS = (
    _Member(
        id="arvo",
        born=1994,
        fingers_since="2021-09",
        mass_kg=71.4,
        hang_ratio=1.36,
        changes=(0.095, 0.12, 0.07),
        other_grip="open_three",
        edge_exponent=0.26,
        habits=Habits(edges_mm=(20.0, 18.0, 15.0), caution=0.92, reserve_logged=1.0),
        days=((-12, False), (-8, False), *_PLAIN_DAYS),
        missed=frozenset({43}),
        weigh_days=(-12, *_every(4)),
        slip_days=frozenset({22}),
        notes={
            2: "two days off before, good skin",
            8: "cold loft",
            22: "second set: foot mat slid, let go",
            39: "<b>felt strong</b> today",
            50: "first pulls over the scale, odd feeling",
            60: "test, slept well",
        },
        kept=0.85,
        rest_logged=True,
        climbs=("french", 10),
        measures=(
            ("front_split_gap", "side_split_gap", "handstand_hold", "l_sit_hold"),
            (0, 2, 28, 30, 56, 58),
        ),
        asked_none=tuple(day for day, _ in _PLAIN_DAYS if day != 43),
    ),
    _Member(
        id="brin",
        born=1988,
        fingers_since="2019",
        mass_kg=64.2,
        hang_ratio=1.31,
        changes=(-0.045, -0.05, -0.03),
        other_grip="open_four",
        days=_PLAIN_DAYS,
        missed=frozenset({22, 25, 29}),
        weigh_days=_every(7),
        cabin_days=frozenset({36, 39}),
        away_days=frozenset(range(21, 32)) | {35, 37, 38},
        notes={
            32: "back after the flu, kept it short",
            36: "board in the cabin, rounder edge",
            39: "cabin again",
            60: "test, legs heavy",
        },
        extra_sessions=(
            {"day": 21, "kind": "ill", "until": "2026-02-05", "note": "flu, in bed"},
            {"day": 35, "kind": "away", "note": "drive to the cabin"},
        ),
        climbs=("font", 8),
        measures=(("front_split_gap",), (1, 34, 61)),
    ),
    _Member(
        id="celm",
        born=1991,
        fingers_since="2022",
        mass_kg=59.6,
        hang_ratio=1.40,
        changes=(0.01, 0.01, 0.0),
        other_grip="open_three",
        days=_PLAIN_DAYS,
        missed=frozenset({18, 60}),
        weigh_days=_every(14),
        pain_days=frozenset({57}),
        notes={
            32: "elbow a bit odd after",
            43: "elbow warm, taped",
            57: "stopped, elbow",
        },
        extra_sessions=(
            {"day": 58, "kind": "injured", "until": "2026-03-08", "note": "elbow, no test"},
        ),
        away_days=frozenset(range(58, 63)),
        pain=(
            {"day": 29, "when": "during", **_ELBOW, "level": 1.0},
            {"day": 32, "when": "after", **_ELBOW, "level": 1.0},
            {"day": 36, "when": "during", **_ELBOW, "level": 1.0},
            {"day": 43, "when": "after", **_ELBOW, "level": 2.0},
            {"day": 44, "when": "morning", **_ELBOW, "level": 2.0, "note": "lifting the kettle"},
            {"day": 50, "when": "during", **_ELBOW, "level": 2.0},
            {"day": 51, "when": "morning", **_ELBOW, "level": 3.0},
            {"day": 53, "when": "during", **_ELBOW, "level": 3.0},
            {"day": 54, "when": "morning", **_ELBOW, "level": 3.0},
            {"day": 57, "when": "during", **_ELBOW, "level": 4.0, "note": "stopped the set"},
            {"day": 58, "when": "morning", **_ELBOW, "level": 4.0},
        ),
        asked_none=(2, 11, 22),
        measures=(("l_sit_hold",), (3, 31)),
    ),
    _Member(
        id="dova",
        born=2010,
        fingers_since="2025-10",
        mass_kg=51.8,
        mass_change_kg=0.3,
        hang_ratio=1.22,
        changes=(0.03, 0.0, 0.0),
        other_grip="open_four",
        hand="left",
        habits=Habits(caution=0.72, easy=True, reserve_logged=1.0, step_kg=2.5),
        days=tuple((day, False) for day, _ in _PLAIN_DAYS),
        missed=frozenset({11, 32, 53}),
        weigh_days=(1, 31, 59),
        notes={2: "with coach", 25: "fun", 46: "easy"},
        kept=0.5,
        climbs=("font", 6),
        measures=(("handstand_hold",), (0, 1, 14, 28, 42, 56, 57)),
        asked_none=(2, 15, 29, 43, 57),
    ),
    _Member(
        id="eske",
        born=1999,
        fingers_since="2023",
        mass_kg=57.3,
        hang_ratio=1.24,
        changes=(0.0, 0.0, 0.0),
        other_grip="open_four",
        show_body_mass="no",
        edge_exponent=0.24,
        habits=Habits(edges_mm=(20.0, 18.0, 15.0), caution=0.86, step_kg=2.5, pull_by="stand"),
        days=_PLAIN_DAYS,
        missed=frozenset({25, 46}),
        weigh_days=_every(7, 1),
        notes={11: "18 mm from today, same weight", 18: "repeaters hurt the pride"},
        climbs=("french", 9),
        asked_none=(5, 15, 36, 57),
    ),
    _Member(
        id="fenn",
        born=1996,
        fingers_since="2020-03",
        mass_kg=63.8,
        mass_change_kg=-4.6,
        hang_ratio=1.33,
        changes=(0.03, 0.03, 0.02),
        other_grip="open_three",
        habits=Habits(pull_by="gauge"),
        style=Style(delimiter=";", decimal_comma=True, byte_order_mark=True, own_folder=True),
        days=_PLAIN_DAYS,
        missed=frozenset({29, 39}),
        weigh_days=(-1, *_every(4, 2)),
        notes={4: "4 °C in the loft", 15: "répéteurs, enfin", 53: "gauge borrowed from the club"},
        mass_notes={22: "night shifts this month"},
        kept=0.5,
        asked_none=(15, 36, 50),
    ),
    _Member(
        id="galo",
        born=1985,
        fingers_since="2018",
        mass_kg=81.5,
        mass_change_kg=3.9,
        hang_ratio=1.22,
        changes=(0.06, 0.06, 0.05),
        other_grip="open_three",
        hand="left",
        units="lb",
        habits=Habits(step_kg=2.5 * KG_PER_LB, pull_by="stand", reading_step_kg=KG_PER_LB),
        style=Style(pounds=True, own_folder=True),
        days=tuple(
            sorted(
                {d for d in _PLAIN_DAYS if not 28 <= d[0] < 49}
                | {(7 * week + offset, False) for week in (4, 5, 6) for offset in (0, 2, 4, 6)}
            )
        ),
        missed=frozenset({11}),
        weigh_days=(-2, *_every(5, 1)),
        notes={28: "off work, hanging every other day", 42: "pulls at last", 46: "skin thin"},
        kept=0.5,
        climbs=("yds", 10),
        asked_none=(15, 34, 48),
    ),
    _Member(
        id="hesk",
        born=1992,
        fingers_since="2024",
        mass_kg=74.0,
        hang_ratio=1.25,
        changes=(0.03, 0.03, 0.03),
        other_grip="open_four",
        habits=Habits(reserve_logged=0.3),
        style=Style(own_folder=True),
        days=tuple((day, False) for day in (5, 15, 18, 32, 54)),
        weigh_days=(-20,),
        notes={32: "forgot to write the last weeks"},
        kept=0.0,
    ),
)


def write_demo(folder: str | FilePath) -> Squad:
    """
    Write the demo squad's logs, its README and its truth; always the same bytes.

    Parameters
    ----------
    folder : made where missing; files of the same names are written anew.

    Returns
    -------
    Squad with the people and their true paths.
    """
    root = FilePath(folder)
    top: dict[str, list[Row]] = {name: [] for name in COLUMNS}
    people: list[Person] = []
    trained: dict[str, list[tuple[int, str]]] = {}
    sets = 0
    for member in _MEMBERS:
        person = _person(member)
        log = _log_of(member, person)
        people.append(person)
        trained[member.id] = trained_days(log["hangs"])
        sets += sum(int(str(row["sets"])) for row in log["hangs"])
        if member.id == "hesk":
            log["hangs"] = _with_bad_rows(log["hangs"])
        for name, rows in log.items():
            if member.style.own_folder and name in ("hangs", "body"):
                text = csv_text(name, rows, DEMO_START, member.style)
                write_file(root / member.id / f"{name}.csv", text, member.style)
            else:
                top[name] += [{"athlete": member.id, **row} for row in rows]
    for name, rows in top.items():
        write_file(root / f"{name}.csv", csv_text(name, rows, DEMO_START))
    write_file(root / "block-loft.toml", LOFT_BLOCK)
    write_file(root / "block-youth.toml", YOUTH_BLOCK)
    write_file(root / "README.md", README)
    write_truth(root, people, trained)
    return Squad(root, DEMO_START, DEMO_WEEKS, tuple(people), sets)


def _person(member: _Member) -> Person:
    draws = Draws(f"{_SEED}/{member.id}/person")
    hang = member.mass_kg * member.hang_ratio
    other = hang * draws.uniform(0.92, 1.0)
    repeated = hang * draws.uniform(0.74, 0.79)
    one_arm = hang * draws.uniform(0.48, 0.53)
    left, right = (0.97, 1.0) if member.hand == "right" else (1.0, 0.97)
    of_hang, of_repeater, of_pull = member.changes
    bend = draws.uniform(0.8, 1.2)
    shared = tuple(draws.normal(0, 0.005 / j) for j in (1, 2, 3))

    def path(level_kg: float, change: float) -> Path:
        return Path(level_kg, change, bend, shared)

    grip, both = member.other_grip, "half_crimp"
    paths = {
        Series("hang", both, "both"): path(hang, of_hang),
        Series("hang", grip, "both"): path(other, 0.9 * of_hang),
    }
    if member.id != "dova":
        paths |= {
            Series("repeater", both, "both"): path(repeated, of_repeater),
            Series("repeater", grip, "both"): path(repeated * other / hang, 0.9 * of_repeater),
            Series("pull", both, "left"): path(one_arm * left, of_pull),
            Series("pull", both, "right"): path(one_arm * right, of_pull),
        }
    return Person(
        id=member.id,
        seed=_SEED,
        last_day=_LAST_DAY,
        paths=paths,
        body_mass_start_kg=member.mass_kg,
        body_mass_change_kg=member.mass_change_kg,
        body_mass_day_sd_kg=0.25,
        edge_exponent=member.edge_exponent,
        board_offset={"loft": 0.0, "cabin": -0.05},
        endurance=Endurance(floor=draws.uniform(0.33, 0.43), scale_s=draws.uniform(30, 42)),
        repeater_power=draws.uniform(0.32, 0.40),
        day_sd=0.015,
        capacity_day_sd=0.008,
    )


def _log_of(member: _Member, person: Person) -> dict[str, list[Row]]:
    """All rows of one athlete, by file."""
    draws = Draws(f"{_SEED}/{member.id}/log")
    trainee = Trainee(person, draws, member.habits, slip_days=member.slip_days)
    trainee.pain_days = member.pain_days
    for day in member.weigh_days:
        trainee.weigh(day)
    fingers = train_block(
        trainee,
        DEMO_WEEKS,
        member.days,
        other_grip=member.other_grip,
        missed=member.missed,
        board_on=lambda day: "cabin" if day in member.cabin_days else "loft",
        notes=member.notes,
        exercise="hang" if member.id == "dova" else "",
    )
    climbs = climbing_days(draws, _CLIMBS_FROM_WEEK, _CLIMBS_TO_WEEK, 0.55)
    climbs = [day for day in climbs if day not in member.away_days]
    if member.id == "galo":  # hangs on Sundays then
        climbs = [day for day in climbs if not 28 <= day < 49]
    return {
        "hangs": trainee.rows,
        "body": [
            {"day": day, "body_mass_kg": mass, "note": member.mass_notes.get(day)}
            for day, mass in trainee.weigh_ins
        ],
        "sessions": _sessions(member, fingers, climbs if member.climbs else [], draws),
        "pain": in_order(
            [
                *member.pain,
                *({"day": day, "when": "after", "level": 0.0} for day in member.asked_none),
            ]
        ),
        "measures": measures_of(*member.measures, draws) if member.measures[0] else [],
        "climbs": climbs_of(*member.climbs, climbs, draws, rock_from=84) if member.climbs else [],
        "athletes": [
            {
                "name": member.id.capitalize(),
                "born": member.born,
                "fingers_since": member.fingers_since,
                "hand": member.hand,
                "units": member.units,
                "show_body_mass": member.show_body_mass,
            }
        ],
    }


def _sessions(member: _Member, fingers: list[Row], climbs: list[int], draws: Draws) -> list[Row]:
    """Rows of sessions.csv; one athlete also writes down each day of rest."""
    worked = {int(str(row["day"])) for row in fingers}
    rows = [*fingers, *member.extra_sessions]
    if member.id == "hesk":
        rows = fingers[:2]
    if member.kept:
        rows += other_work(
            DEMO_WEEKS, worked, climbs, draws, kept=member.kept, away=member.away_days
        )
    if member.rest_logged:
        busy = {int(str(row["day"])) for row in rows}
        rows += [{"day": d, "kind": "rest"} for d in range(_LAST_DAY + 1) if d not in busy]
    return in_order(rows)


def _with_bad_rows(rows: list[Row]) -> list[Row]:
    """Two rows written otherwise and three that no reader may accept, among the good ones."""
    base: Row = {
        "sets": 1,
        "exercise": "hang",
        "grip": "half_crimp",
        "hand": "both",
        "edge_mm": 20.0,
        "board": "loft",
        "added_kg": 5.0,
        "hang_s": 10.0,
    }
    bad: list[tuple[int, Row]] = [
        (9, base | {"date": "14/01/2026"}),
        (15, base | {"day": 15, "grip": "halfcrimp"}),
        (18, base | {"day": 18, "edge_mm": None, "note": "big edge"}),
        (32, base | {"day": 32, "hang_s": -10.0}),
        (54, base | {"day": 54, "added_kg": "five"}),
    ]
    out: list[Row] = []
    for row in rows:
        while bad and bad[0][0] < int(str(row["day"])):
            out.append(bad.pop(0)[1])
        out.append(row)
    return out + [row for _, row in bad]
