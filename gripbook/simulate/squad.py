"""Squads of any size: people with known truth, trained through one block."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath

from gripbook.errors import GripbookError
from gripbook.simulate.files import (
    COLUMNS,
    csv_text,
    day_effects_text,
    people_text,
    truth_text,
    write_file,
)
from gripbook.simulate.other import climbing_days, climbs_of, measures_of, other_work
from gripbook.simulate.training import Habits, Row, Trainee
from gripbook.simulate.truth import Draws, Endurance, Path, Person, Series

#: A Monday.
SQUAD_START = dt.date(2025, 1, 6)

#: Sets of a session by exercise and grip: `half` is half crimp, the other grip is the athlete's.
SETS = {"hang": (5, 3), "repeater": (3, 2), "pull": (6, 0)}


@dataclass(frozen=True, slots=True)
class Scenario:
    """
    What is true of a simulated squad. Changes are in log terms over the block.

    `still_share` of the athletes change nothing at all. `curve` is the family of force and
    duration. `reserve_logged` is the chance that a reserve is written down.
    """

    mean_change: float = 0.05
    change_sd: float = 0.04
    still_share: float = 0.0
    day_sd: float = 0.02
    capacity_day_sd: float = 0.012
    wave_sd: float = 0.006
    edge_exponent: float = 0.25
    edge_exponent_sd: float = 0.05
    missed_share: float = 0.08
    edge_switch_share: float = 0.1
    reserve_logged: float = 0.8
    curve: str = "hyperbola"


@dataclass(frozen=True, slots=True)
class Squad:
    """A squad that was written: its people know the truth. `sets` counts the sets in the logs."""

    folder: FilePath
    start: dt.date
    weeks: int
    people: tuple[Person, ...]
    sets: int


def simulate_squad(
    folder: str | FilePath,
    n_athletes: int,
    *,
    weeks: int = 9,
    seed: int = 1,
    sessions_per_week: int = 2,
    scenario: Scenario = Scenario(),
    start: dt.date = SQUAD_START,
) -> Squad:
    """
    Write the logs of an invented squad as a log folder of format 1.

    Parameters
    ----------
    folder : made where missing; files of the same names are written anew.
    n_athletes : about 140 sets each with the defaults.
    weeks : of the block, at least 4: timed hangs, repeaters and pulls as 2 : 4 : 3.
    seed : same seed, same bytes. An athlete's log does not depend on how many there are.
    sessions_per_week : 2 or 3 finger sessions.
    scenario : what is true of the people.
    start : the block's first day, a Monday.

    Returns
    -------
    Squad with the people and their true paths. `truth/truth.csv` holds the paths too.

    Raises
    ------
    GripbookError : a size that cannot be.
    """
    if n_athletes < 1 or weeks < 4 or sessions_per_week not in (2, 3):
        raise GripbookError(
            f"A squad of {n_athletes} over {weeks} weeks with {sessions_per_week} sessions a week "
            "cannot be simulated. Ask for 1 athlete, 4 weeks, and 2 or 3 sessions or more."
        )
    files: dict[str, list[Row]] = {name: [] for name in COLUMNS}
    people: list[Person] = []
    trained: dict[str, list[tuple[int, str]]] = {}
    width = max(3, len(str(n_athletes)))
    for number in range(1, n_athletes + 1):
        athlete = f"a{number:0{width}d}"
        draws = Draws(f"{seed}/{number}")
        person = _person(athlete, f"squad/{seed}/{number}", weeks, scenario, draws)
        log = _log_of(person, weeks, sessions_per_week, scenario, draws)
        for name, rows in log.items():
            files[name] += [{"athlete": athlete, **row} for row in rows]
        people.append(person)
        trained[athlete] = trained_days(log["hangs"])
    root = FilePath(folder)
    for name, rows in files.items():
        write_file(root / f"{name}.csv", csv_text(name, rows, start))
    write_file(root / "block.toml", block_text("Squad block", start, weeks, sessions_per_week))
    write_truth(root, people, trained)
    sets = sum(int(str(row["sets"])) for row in files["hangs"])
    return Squad(root, start, weeks, tuple(people), sets)


def write_truth(
    root: FilePath, people: Sequence[Person], trained: dict[str, list[tuple[int, str]]]
) -> None:
    """Write what is true into `truth/`; the reader of logs passes over this folder."""
    write_file(root / "truth" / "truth.csv", truth_text(people))
    write_file(root / "truth" / "people.csv", people_text(people))
    write_file(root / "truth" / "day_effects.csv", day_effects_text(people, trained))


def in_order(rows: Sequence[Row]) -> list[Row]:
    """Rows by day, those of one day in the order given."""
    return sorted(rows, key=lambda row: int(str(row["day"])))


def trained_days(hangs: Sequence[Row]) -> list[tuple[int, str]]:
    """Days and capacities that stand in rows of hangs.csv, in order."""
    return sorted({(int(str(row["day"])), str(row["exercise"])) for row in hangs})


# --- the plan ------------------------------------------------------------------------------


def phase_weeks(weeks: int) -> tuple[int, int, int]:
    """Weeks of timed hangs, repeaters and pulls, as 2 : 4 : 3."""
    hangs, pulls = max(1, round(2 * weeks / 9)), max(1, round(weeks / 3))
    return hangs, weeks - hangs - pulls, pulls


def exercise_of(week: int, weeks: int) -> str:
    """The exercise of a block week."""
    hangs, repeaters, _ = phase_weeks(weeks)
    return "hang" if week <= hangs else "repeater" if week <= hangs + repeaters else "pull"


def finger_days(weeks: int, per_week: int) -> list[tuple[int, bool]]:
    """
    Days of the finger sessions, each with whether it is a test day.

    A rest day at least between any two, and two before each test, which are the first session of
    the first week and the last but at most one of the last week.
    """
    plain, first, last = {
        2: ((1, 4), (2, 5), (1, 4)),
        3: ((1, 3, 5), (2, 4), (0, 3, 5)),
    }[per_week]
    days: list[tuple[int, bool]] = []
    for week in range(weeks):
        offsets = first if week == 0 else last if week == weeks - 1 else plain
        for place, offset in enumerate(offsets):
            test = (week == 0 and place == 0) or (week == weeks - 1 and place == 1)
            days.append((7 * week + offset, test))
    return days


def block_text(name: str, start: dt.date, weeks: int, per_week: int) -> str:
    """The block file of a simulated squad."""
    hangs, repeaters, pulls = phase_weeks(weeks)
    return f"""\
[block]
name = "{name}"
start = {start.isoformat()}
weeks = {weeks}
goal = "build"
headline = {{ capacity = "hang", grip = "half_crimp", hand = "both" }}
reference_edge_mm = 20
reference_hang_s = 10
plates_kg = [1.25, 1.25, 2.5, 5, 10, 10, 20]
edges_mm = [22, 20, 18, 15]
test_weeks = [1, {weeks}]

[limits]
fingers_per_week = 3
rest_days_between_finger_days = 1
finger_session_minutes = 60
pain_level = 3

[[phase]]
name = "Timed hangs"
weeks = {hangs}
exercise = "hang"
hang_s = 10
sets_per_session = {sum(SETS["hang"])}
set_rest_s = [120, 120]
sessions_per_week = {per_week}

[[phase]]
name = "Repeaters"
weeks = {repeaters}
exercise = "repeater"
reps = 6
hang_s = 7
rest_s = 3
sets_per_session = {sum(SETS["repeater"])}
set_rest_s = [120, 180]
sessions_per_week = {per_week}

[[phase]]
name = "One-arm pulls"
weeks = {pulls}
exercise = "pull"
sets_per_session = {sum(SETS["pull"])}
set_rest_s = [180, 240]
alternate_hands = true
sessions_per_week = {per_week}

[weekly]
core = 2
antagonist = 1
mobility = 3
"""


# --- one block of one athlete ------------------------------------------------------------------


def train_block(
    trainee: Trainee,
    weeks: int,
    days: Sequence[tuple[int, bool]],
    *,
    other_grip: str,
    missed: Collection[int] = (),
    board_on: Callable[[int], str] = lambda day: "",
    notes: Mapping[int, str] | None = None,
    exercise: str = "",
) -> list[Row]:
    """
    Train through the finger days of a block, those `missed` left out.

    `exercise` in every week where it is named, else as the weeks ask.

    Returns the finger sessions as rows of sessions.csv; the sets are in `trainee.rows`.
    """
    sessions: list[Row] = []
    notes = notes or {}
    for day, test in days:
        if day in missed:
            continue
        kind = exercise or exercise_of(day // 7 + 1, weeks)
        board, note = board_on(day), notes.get(day, "")
        if test:
            sets = trainee.test(day, "half_crimp", board=board, note=note)
            minutes, effort = 15.0 + 4.0 * sets, 8.0
        else:
            first, second = SETS[kind] if not trainee.habits.easy else (3, 2)
            work = [("half_crimp", first)] + ([(other_grip, second)] if second else [])
            sets = trainee.session(day, kind, work, board=board, note=note)
            minutes = 12.0 + sets * {"hang": 2.2, "repeater": 3.6, "pull": 4.3}[kind]
            effort = {"hang": 6.0, "repeater": 7.0, "pull": 7.0}[kind]
        minutes = min(55.0, 5.0 * round((minutes + trainee.draws.uniform(-4, 4)) / 5.0))
        effort = min(max(effort + round(trainee.draws.normal(0, 0.8)), 4.0), 9.0)
        row: Row = {"day": day, "start": "18:30", "kind": "fingers"}
        sessions.append(row | {"minutes": minutes, "effort": effort})
    return sessions


def _waves(draws: Draws, sd: float) -> tuple[float, ...]:
    return tuple(draws.normal(0, sd / j) for j in (1, 2, 3))


def _person(athlete: str, seed: str, weeks: int, scenario: Scenario, draws: Draws) -> Person:
    """Someone: levels in the range of club climbers, own choice, no source."""
    mass = min(max(draws.normal(67, 9), 45.0), 95.0)
    hang = mass * min(max(draws.normal(1.32, 0.14), 0.98), 1.75)
    change = draws.normal(scenario.mean_change, scenario.change_sd)
    still = draws.chance(scenario.still_share)
    other = draws.pick(("open_three", "open_four"))
    bend, shared = draws.uniform(0.7, 1.4), _waves(draws, scenario.wave_sd)

    def path(level_kg: float, weight: float) -> Path:
        own = 0.0 if still else weight * change + draws.normal(0, 0.01)
        bumps = _waves(draws, scenario.wave_sd / 2)
        waves = tuple(a + b for a, b in zip(shared, bumps, strict=True))
        return Path(level_kg, own, bend, waves)

    offset = math.exp(draws.normal(-0.03, 0.08))
    repeated = hang * min(max(draws.normal(0.76, 0.03), 0.66), 0.86)
    one_arm = hang * 0.5 * math.exp(draws.normal(0, 0.05))
    paths = {
        Series("hang", "half_crimp", "both"): path(hang, 1.0),
        Series("hang", other, "both"): path(hang * offset, 0.9),
        Series("repeater", "half_crimp", "both"): path(repeated, 1.2),
        Series("repeater", other, "both"): path(repeated * offset, 1.1),
        Series("pull", "half_crimp", "left"): path(one_arm * 0.98, 0.8),
        Series("pull", "half_crimp", "right"): path(one_arm * 1.01, 0.8),
    }
    endurance = (
        Endurance("logarithm", slope=draws.uniform(0.18, 0.26), scale_s=draws.uniform(11, 19))
        if scenario.curve == "logarithm"
        else Endurance(floor=draws.uniform(0.3, 0.46), scale_s=draws.uniform(28, 45))
    )
    return Person(
        id=athlete,
        seed=seed,
        last_day=7 * weeks - 1,
        paths=paths,
        body_mass_start_kg=mass,
        body_mass_change_kg=draws.normal(0, 0.8),
        edge_exponent=draws.normal(scenario.edge_exponent, scenario.edge_exponent_sd),
        endurance=endurance,
        repeater_power=draws.uniform(0.28, 0.44),
        day_sd=scenario.day_sd,
        capacity_day_sd=scenario.capacity_day_sd,
    )


def _other_grip(person: Person) -> str:
    return next(s.grip for s in person.paths if s.grip != "half_crimp")


def _log_of(
    person: Person, weeks: int, per_week: int, scenario: Scenario, draws: Draws
) -> dict[str, list[Row]]:
    """One athlete's rows of every file."""
    habits = Habits(
        caution=draws.uniform(0.86, 0.94),
        reserve_logged=scenario.reserve_logged,
        warmup_logged=0.3 if draws.chance(0.3) else 0.0,
        pull_by=draws.pick(("scale", "scale", "stand", "gauge")),
        edges_mm=(20.0, 18.0, 15.0) if draws.chance(scenario.edge_switch_share) else (),
    )
    trainee = Trainee(person, draws, habits)
    trainee.weigh(-3)
    for day in range(4, person.last_day, 7):
        if draws.chance(0.8):
            trainee.weigh(day)
    days = finger_days(weeks, per_week)
    missed = [d for d, test in days if draws.chance(scenario.missed_share) and not test]
    fingers = train_block(trainee, weeks, days, other_grip=_other_grip(person), missed=missed)
    climbs = climbing_days(draws, 0, weeks, 0.6)
    worked = {int(str(r["day"])) for r in fingers}
    sessions = in_order([*fingers, *other_work(weeks, worked, climbs, draws, kept=0.7)])
    pain: list[Row] = [
        {"day": row["day"], "when": "after", "site": "ring", "level": 0.0}
        for row in fingers
        if draws.chance(0.2)
    ]
    born = 1975 + int(draws.uniform(0, 31))
    return {
        "hangs": trainee.rows,
        "body": [{"day": d, "body_mass_kg": m} for d, m in trainee.weigh_ins],
        "sessions": sessions,
        "pain": pain,
        "measures": measures_of(("front_split_gap",), (1, person.last_day - 2), draws),
        "climbs": climbs_of("french", 8 + int(draws.uniform(0, 7)), climbs, draws),
        "athletes": [
            {
                "name": person.id.upper(),
                "born": born,
                "fingers_since": 2021,
                "hand": draws.pick(("right", "right", "right", "left")),
                "units": "kg",
            }
        ],
    }
