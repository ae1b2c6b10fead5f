"""The simulator: same seed same bytes, logs as the contract asks, and a truth that holds."""

from __future__ import annotations

import csv
import datetime as dt
import io
import itertools
import math
import re
import subprocess
import sys
import tomllib
from collections import Counter, defaultdict
from pathlib import Path

import pytest

from gripbook.errors import GripbookError
from gripbook.logs import load_logs
from gripbook.simulate import Endurance, Scenario, Series, simulate_squad, write_demo
from gripbook.simulate.squad import finger_days
from gripbook.simulate.truth import Draws
from gripbook.words.problems import problem_line

DATA_DEMO = Path(__file__).resolve().parents[2] / "data_demo"

# Written out by hand from the log format, so that a slip in the package's own list is seen.
NEEDED = {
    "hangs": {"date", "exercise", "grip", "hand", "edge_mm"},
    "body": {"date"},
    "sessions": {"date", "kind"},
    "pain": {"date", "level"},
    "measures": {"date", "measure", "value"},
    "climbs": {"date", "grade", "scale"},
    "athletes": {"name"},
}
ALLOWED = {
    "exercise": {"hang", "repeater", "pull"},
    "test": {"", "yes"},
    "warmup": {"", "yes"},
    "grip": {
        "half_crimp",
        "full_crimp",
        "open_four",
        "open_three",
        "pinch",
        "sloper",
        "pocket_two",
        "pocket_one",
    },
    "stopped": {"", "slip", "skin", "pain", "choice"},
    "kind": {
        "fingers",
        "core",
        "antagonist",
        "mobility",
        "climbing",
        "other",
        "rest",
        "ill",
        "away",
        "injured",
    },
    "when": {"during", "after", "morning"},
    "scale": {"french", "yds", "uiaa", "font", "v", "ewbank"},
    "style": {"onsight", "flash", "redpoint", "attempt"},
    "place": {"", "rock", "indoor"},
    "side": {"", "left", "right", "both"},
    "unit": {"s", "cm", "kg", "reps"},
    "units": {"kg", "lb"},
    "show_body_mass": {"", "yes", "no"},
}


def _files(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def _rows(path: Path) -> list[dict[str, str]]:
    """Rows of a file as text, however it is written; the sub-folder names the athlete."""
    text = path.read_bytes().decode("utf-8-sig")
    delimiter = ";" if ";" in text.splitlines()[0] else ","
    rows = list(csv.DictReader(io.StringIO(text), delimiter=delimiter, strict=True))
    for row in rows:
        row.setdefault("athlete", path.parent.name)
    return rows


def _number(text: str) -> float:
    return float(text.replace(",", ".")) if text else math.nan


def _log_files(folder: Path) -> list[Path]:
    return [p for p in sorted(folder.rglob("*.csv")) if p.parent.name != "truth"]


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo squad, written anew."""
    folder = tmp_path_factory.mktemp("demo")
    write_demo(folder)
    return folder


@pytest.fixture(scope="module")
def squad_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twelve athletes over the default block."""
    folder = tmp_path_factory.mktemp("squad")
    simulate_squad(folder, 12, seed=4)
    return folder


def test_same_seed_same_bytes(tmp_path: Path) -> None:
    """The same seed writes the same bytes, another seed does not."""
    for name, seed in (("one", 3), ("two", 3), ("other", 5)):
        simulate_squad(tmp_path / name, 4, seed=seed)
    assert _files(tmp_path / "one") == _files(tmp_path / "two")
    assert _files(tmp_path / "one")["hangs.csv"] != _files(tmp_path / "other")["hangs.csv"]


def test_an_athlete_does_not_depend_on_the_squad(tmp_path: Path) -> None:
    """An athlete's log is the same whether 3 or 6 are simulated."""
    simulate_squad(tmp_path / "few", 3, seed=2)
    simulate_squad(tmp_path / "more", 6, seed=2)
    for name in ("hangs", "body", "sessions"):
        few, more = (
            _rows(tmp_path / "few" / f"{name}.csv"),
            _rows(tmp_path / "more" / f"{name}.csv"),
        )
        kept = {"a001", "a002", "a003"}
        filled = [[v for v in row.values() if v] for row in few]
        assert filled == [[v for v in row.values() if v] for row in more if row["athlete"] in kept]


def test_data_demo_is_what_the_simulator_writes(demo: Path) -> None:
    """The folder in the repository holds exactly what `write_demo` writes."""
    assert _files(DATA_DEMO) == _files(demo)


def test_the_command_writes_the_demo(demo: Path, tmp_path: Path) -> None:
    """`python -m gripbook.simulate DIR` writes the demo squad."""
    command = [sys.executable, "-m", "gripbook.simulate", str(tmp_path / "out")]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert _files(tmp_path / "out") == _files(demo)


def test_a_size_that_cannot_be_is_refused(tmp_path: Path) -> None:
    """No athletes, too few weeks or four sessions a week are refused, and nothing is written."""
    for n, weeks, per_week in ((0, 9, 2), (3, 3, 2), (3, 9, 4)):
        with pytest.raises(GripbookError, match="cannot be simulated"):
            simulate_squad(tmp_path / "no", n, weeks=weeks, sessions_per_week=per_week)
    assert not (tmp_path / "no").exists()


def test_sixty_athletes_give_ten_thousand_sets(tmp_path: Path) -> None:
    """A squad of 60 over 12 weeks holds 10 000 sets, and the count told is the count written."""
    squad = simulate_squad(tmp_path, 60, weeks=12)
    rows = _rows(tmp_path / "hangs.csv")
    assert squad.sets == sum(int(row["sets"]) for row in rows)
    assert squad.sets >= 10_000
    assert len({row["athlete"] for row in rows}) == 60


# --- what the contract asks ------------------------------------------------------------------


@pytest.mark.parametrize("which", ["demo", "squad_folder"])
def test_files_hold_to_the_contract(which: str, request: pytest.FixtureRequest) -> None:
    """Every file has its needed columns and every choice its allowed words (bad rows aside)."""
    folder: Path = request.getfixturevalue(which)
    for path in _log_files(folder):
        rows = _rows(path)
        assert rows, path
        assert NEEDED[path.stem] <= set(rows[0]), path
        columns = set(rows[0])
        assert not {c for c in columns if c.endswith("_kg") and c[:-2] + "lb" in columns}
        for row in rows:
            if path.as_posix().endswith("hesk/hangs.csv"):
                continue
            assert None not in row, path  # a row with more cells than the header
            assert row["athlete"]
            if "date" in row:
                dt.date.fromisoformat(row["date"])
            for column, words in ALLOWED.items():
                # in hangs.csv nothing but scale_kg is called scale
                if column in row and row[column] not in (None, ""):
                    assert row[column] in words, (path, column, row)


@pytest.mark.parametrize("which", ["demo", "squad_folder"])
def test_sets_say_what_their_exercise_needs(which: str, request: pytest.FixtureRequest) -> None:
    """Hangs have seconds, repeaters holds and rests, pulls a reading; misses are below plan."""
    folder: Path = request.getfixturevalue(which)
    for path in (p for p in _log_files(folder) if p.stem == "hangs" and p.parent.name != "hesk"):
        for row in _rows(path):
            value = defaultdict(
                lambda: math.nan,
                {
                    k: _number(v)
                    for k, v in row.items()
                    if k.split("_")[-1] in {"kg", "lb", "s", "mm"}
                    or k in {"reps", "reps_done", "sets"}
                },
            )
            assert value["sets"] >= 1
            assert 6 <= value["edge_mm"] <= 40
            added = value["added_kg"] if "added_kg" in row else value["added_lb"]
            assert math.isfinite(added)
            if row["exercise"] == "pull":
                assert row["hand"] in ("left", "right")
                readings = ("scale_kg", "scale_lb", "force_kg")
                assert any(value[r] >= 0 for r in readings)
            else:
                assert value["hang_s"] > 0
                assert row["hand"] == "both"
                assert not value["failed_s"] >= value["hang_s"]
            if row["exercise"] == "repeater":
                assert value["rest_s"] == 3
                assert not value["reps_done"] >= value["reps"]


@pytest.mark.parametrize("which", ["demo", "squad_folder"])
def test_a_session_costs_about_four_rows(which: str, request: pytest.FixtureRequest) -> None:
    """Logs are lean: half of the sessions need four rows or fewer, none more than a dozen."""
    folder: Path = request.getfixturevalue(which)
    counts: Counter[tuple[str, str]] = Counter(
        (row["athlete"], row["date"])
        for path in _log_files(folder)
        if path.stem == "hangs"
        for row in _rows(path)
    )
    sizes = sorted(counts.values())
    assert sizes[len(sizes) // 2] <= 4
    assert sizes[-1] <= 12


@pytest.mark.parametrize(("weeks", "per_week"), [(4, 2), (9, 2), (9, 3), (13, 3)])
def test_finger_days_leave_rest(weeks: int, per_week: int) -> None:
    """Finger days have a rest day between them; tests have two before, in first and last week."""
    days = finger_days(weeks, per_week)
    gaps = [b[0] - a[0] for a, b in itertools.pairwise(days)]
    assert min(gaps) >= 2
    tests = [day for day, test in days if test]
    assert [day // 7 + 1 for day in tests] == [1, weeks]
    before = [max((d for d, _ in days if d < t), default=-9) for t in tests]
    assert all(t - b >= 3 for t, b in zip(tests, before, strict=True))


def test_squads_load_without_a_problem(squad_folder: Path) -> None:
    """The package's own reader finds nothing to tell about a simulated squad."""
    logs = load_logs(squad_folder)
    assert [problem_line(p) for p in logs.problems] == []
    assert len(logs.blocks) == 1


# --- the truth -------------------------------------------------------------------------------


def test_truth_file_holds_the_paths(tmp_path: Path) -> None:
    """truth.csv holds the path of every series, each week's first day and the block's last."""
    squad = simulate_squad(tmp_path, 3, seed=8)
    rows = _rows(tmp_path / "truth" / "truth.csv")
    people = {p.id: p for p in squad.people}
    for row in rows:
        series = Series(row["capacity"], row["grip"], row["hand"])
        true = people[row["athlete"]].load_kg(series, int(row["day"]))
        assert float(row["load_kg"]) == pytest.approx(true, abs=1e-4)
    assert {int(r["day"]) for r in rows} == {0, 7, 14, 21, 28, 35, 42, 49, 56, 62}
    assert len(rows) == 10 * sum(len(p.paths) for p in squad.people)
    with pytest.raises(GripbookError, match="a001 has no series pull/sloper/left"):
        people["a001"].load_kg(Series("pull", "sloper", "left"), 0)


def test_change_is_exact_between_the_block_ends(tmp_path: Path) -> None:
    """The waves of a path are zero at both ends, and an unmoved squad has no change at all."""
    still = simulate_squad(tmp_path, 5, seed=1, scenario=Scenario(still_share=1.0))
    for person in still.people:
        for series, path in person.paths.items():
            assert person.load_kg(series, 62) == pytest.approx(path.start_kg, rel=1e-12)
            assert person.load_kg(series, -20) == path.start_kg
            assert person.load_kg(series, 31) != pytest.approx(path.start_kg, rel=1e-6)


@pytest.mark.parametrize(
    "curve", [Endurance(), Endurance("logarithm", slope=0.2, scale_s=15.0)], ids=lambda c: c.family
)
def test_endurance_runs_both_ways(curve: Endurance) -> None:
    """Seconds to share and back give the same seconds; a longer hold bears less."""
    holds = [1.0, 5.0, 10.0, 30.0, 60.0, 90.0]
    shares = [curve.share(t) for t in holds]
    assert shares == sorted(shares, reverse=True)
    assert [curve.hold_s(s) for s in shares] == pytest.approx(holds)
    assert curve.hold_s(1.01) == 0.0


@pytest.mark.parametrize("seed", [11, 12, 13])
def test_logged_loads_follow_the_truth(tmp_path: Path, seed: int) -> None:
    """
    A pull's reading averages to the true load, and 10 s hangs end as the truth says.

    Day SD 0.02 and 0.012 and set SD 0.03 give a reading of a first pull an SD of 0.04.
    """
    squad = simulate_squad(tmp_path, 80, seed=seed, scenario=Scenario(edge_switch_share=0))
    people = {p.id: p for p in squad.people}
    pulls, below, above = [], [], []
    for row in _rows(tmp_path / "hangs.csv"):
        day = (dt.date.fromisoformat(row["date"]) - squad.start).days
        person = people[row["athlete"]]
        if row["warmup"]:
            continue
        true = person.load_kg(Series(row["exercise"], row["grip"], row["hand"]), day)
        if row["exercise"] == "pull" and row["force_kg"] and row["test"]:
            pulls.append(math.log(_number(row["force_kg"]) / true))
        elif row["exercise"] == "hang":
            load = person.body_mass_kg(day) + _number(row["added_kg"])
            (above if row["failed_s"] else below).append(math.log(load / true))
    mean = sum(pulls) / len(pulls)
    spread = math.sqrt(sum((x - mean) ** 2 for x in pulls) / len(pulls))
    assert len(pulls) > 100
    assert abs(mean) < 0.012
    assert 0.03 < spread < 0.05
    # a finished hang lies below the true load but for the noise of day and set, a miss above it
    assert max(below) < 0.15
    assert min(above) > -0.20
    assert sum(below) / len(below) < -0.03 < sum(above) / len(above)


def test_loads_are_chosen_without_knowing_the_day(tmp_path: Path) -> None:
    """
    Loads come from plan and past: other day effects leave the first loads of a block untouched.

    A simulator that picks loads around the day's strength would move them.
    """
    firsts = []
    for name, sd in (("calm", 0.0), ("wild", 0.15)):
        scenario = Scenario(day_sd=sd, capacity_day_sd=sd)
        simulate_squad(tmp_path / name, 30, seed=6, scenario=scenario)
        seen: dict[str, tuple[str, str]] = {}
        for row in _rows(tmp_path / name / "hangs.csv"):
            seen.setdefault(row["athlete"], (row["date"], row["added_kg"]))
        firsts.append(seen)
    assert firsts[0] == firsts[1]
    assert (tmp_path / "calm/hangs.csv").read_bytes() != (tmp_path / "wild/hangs.csv").read_bytes()


@pytest.mark.parametrize("seed", ["check", "again", "once more"])
def test_draws_are_normal(seed: str) -> None:
    """20 000 normal draws have mean 0, SD 1 and 5 % beyond 1.96, within four standard errors."""
    draws = Draws(seed)
    many = [draws.normal() for _ in range(20_000)]
    mean = sum(many) / len(many)
    sd = math.sqrt(sum((x - mean) ** 2 for x in many) / len(many))
    beyond = sum(abs(x) > 1.96 for x in many) / len(many)
    assert abs(mean) < 4 / math.sqrt(20_000)
    assert abs(sd - 1) < 4 / math.sqrt(40_000)
    assert abs(beyond - 0.05) < 4 * math.sqrt(0.05 * 0.95 / 20_000)


# --- what is planted in the demo ----------------------------------------------------------------


def test_demo_has_three_bad_rows_and_nothing_else(demo: Path) -> None:
    """The reader refuses exactly the three rows planted in one file and warns of nothing."""
    logs = load_logs(demo)
    assert [(p.severity, p.file, p.code) for p in logs.problems] == [
        ("error", "hesk/hangs.csv", "edge_missing"),
        ("error", "hesk/hangs.csv", "out_of_range"),
        ("error", "hesk/hangs.csv", "not_a_number"),
    ]
    assert logs.athlete_ids == ("arvo", "brin", "celm", "dova", "eske", "fenn", "galo", "hesk")


def test_demo_blocks_are_valid_and_cover_everyone(demo: Path) -> None:
    """Both block files run nine weeks from 5 January 2026 and together name each athlete once."""
    blocks = [tomllib.loads(p.read_text(encoding="utf-8")) for p in demo.glob("block-*.toml")]
    assert {(b["block"]["start"], b["block"]["weeks"]) for b in blocks} == {
        (dt.date(2026, 1, 5), 9)
    }
    named = sorted(a for b in blocks for a in b["block"]["athletes"])
    assert named == [row["athlete"] for row in _rows(demo / "athletes.csv")]
    loft = next(b for b in blocks if "arvo" in b["block"]["athletes"])
    assert [(p["exercise"], p["weeks"]) for p in loft["phase"]] == [
        ("hang", 2),
        ("repeater", 4),
        ("pull", 3),
    ]


def test_demo_events_are_planted(demo: Path) -> None:
    """Each event that the README names stands in the logs of the athlete it names."""
    hangs = [r for p in _log_files(demo) if p.stem == "hangs" for r in _rows(p)]
    of = defaultdict(list)
    for row in hangs:
        of[row["athlete"]].append(row)

    slips = [(r["athlete"], r["date"]) for r in hangs if r.get("stopped") == "slip"]
    assert slips == [("arvo", "2026-01-27")]
    assert any(r["note"] == "<b>felt strong</b> today" for r in of["arvo"])
    assert sum(bool(r["failed_s"]) for r in of["arvo"]) >= 3
    assert {r["board"] for r in of["brin"]} == {"loft", "cabin"}
    stops = [(r["athlete"], r["date"]) for r in hangs if r.get("stopped") == "pain"]
    assert stops == [("celm", "2026-03-03")]
    assert {r["exercise"] for r in of["dova"]} == {"hang"}
    assert not any(r["failed_s"] or r["test"] for r in of["dova"])
    assert min(_number(r["reserve_s"]) for r in of["dova"] if r["reserve_s"]) >= 5
    edges = {r["edge_mm"] for r in of["eske"] if r["exercise"] == "hang" and not r["test"]}
    assert {"20", "18", "15"} <= edges
    assert {r["edge_mm"] for r in of["eske"] if r["test"]} == {"20"}
    assert "added_lb" in of["galo"][0]
    assert "added_kg" not in of["galo"][0]
    assert (demo / "fenn/hangs.csv").read_bytes().startswith(b"\xef\xbb\xbfdate;")
    assert re.search(r";\d+,\d", (demo / "fenn/hangs.csv").read_text(encoding="utf-8-sig"))
    assert len({r["date"] for r in of["hesk"]}) <= 6

    ill = [r for r in _rows(demo / "sessions.csv") if r["kind"] == "ill"]
    assert [(r["athlete"], r["date"], r["until"]) for r in ill] == [
        ("brin", "2026-01-26", "2026-02-05")
    ]
    elbow = [r for r in _rows(demo / "pain.csv") if r["site"] == "elbow_inner"]
    assert {r["athlete"] for r in elbow} == {"celm"}
    levels = [float(r["level"]) for r in elbow]
    assert levels == sorted(levels)
    assert sum(r["when"] == "morning" for r in elbow) >= 3


def test_demo_limits_are_broken_by_one_athlete_alone(demo: Path) -> None:
    """Only galo has more than three finger days in a week, in weeks 5, 6 and 7."""
    days: dict[tuple[str, int], set[str]] = defaultdict(set)
    for path in (p for p in _log_files(demo) if p.stem == "hangs"):
        for row in _rows(path):
            if re.fullmatch(r"\d{4}-\d\d-\d\d", row["date"]):
                week = (dt.date.fromisoformat(row["date"]) - dt.date(2026, 1, 5)).days // 7 + 1
                days[row["athlete"], week].add(row["date"])
    over = sorted(key for key, dates in days.items() if len(dates) > 3)
    assert over == [("galo", 5), ("galo", 6), ("galo", 7)]


def test_demo_body_masses_move_as_told(demo: Path) -> None:
    """
    Of means of three weigh-ins at each end only fenn's falls, beyond 5 %, and only galo's rises.
    """
    weighed: dict[str, list[float]] = defaultdict(list)
    for path in (p for p in _log_files(demo) if p.stem == "body"):
        for row in _rows(path):
            mass = row.get("body_mass_kg") or row.get("body_mass_lb") or ""
            weighed[row["athlete"]].append(_number(mass))
    change = {
        athlete: sum(m[-3:]) / sum(m[:3]) - 1 for athlete, m in weighed.items() if len(m) >= 3
    }
    assert -0.08 < change.pop("fenn") < -0.05
    assert 0.03 < change.pop("galo") < 0.05
    assert max(abs(x) for x in change.values()) < 0.012


def test_demo_truth_tells_who_gained(demo: Path) -> None:
    """One athlete gains clearly, one loses a little, one does not change at all."""
    ends = {
        (r["athlete"], int(r["day"])): float(r["load_kg"])
        for r in _rows(demo / "truth" / "truth.csv")
        if (r["capacity"], r["grip"]) == ("hang", "half_crimp")
    }
    change = {a: ends[a, 62] / ends[a, 0] - 1 for a, day in ends if day == 0}
    assert max(change, key=lambda a: change[a]) == "arvo"
    assert change["arvo"] == pytest.approx(math.expm1(0.095), abs=1e-5)
    assert [a for a, x in change.items() if x < -0.01] == ["brin"]
    assert change["eske"] == pytest.approx(0.0, abs=1e-5)
