"""`block.toml` to `Block`: what was planned, and the limits it must keep to."""

from __future__ import annotations

import datetime as dt
import re
import tomllib
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import Any, Final, Literal

from gripbook.logs.bounds import KEY_PARTS, OWN_GRIPS, UNKNOWN_KEYS
from gripbook.logs.problem import Code, Parameter, Problem

Exercise = Literal["hang", "repeater", "pull"]
EXERCISES: Final = ("hang", "repeater", "pull")
HANDS: Final = ("both", "left", "right")
GOALS: Final = ("build", "hold", "return")
#: Grips every log may use; a block file may name more.
GRIPS: Final = (
    "half_crimp",
    "full_crimp",
    "open_four",
    "open_three",
    "pinch",
    "sloper",
    "pocket_two",
    "pocket_one",
)

#: Years that a day of a log or block may lie in, both included; others are slips of the pen.
YEARS: Final = (1950, 2200)

#: Change (per cent) that matters, by capacity, where the block names none.
#: Our own choice, no source.
SMALLEST_CHANGE_PCT: Final[Mapping[str, float]] = {"hang": 3.0, "pull": 5.0, "repeater": 5.0}
#: Rest between sets in seconds where no phase plans one (common practice, no source).
SET_REST_S: Final[Mapping[str, tuple[float, float]]] = {
    "hang": (120.0, 120.0),
    "repeater": (120.0, 180.0),
    "pull": (180.0, 240.0),
}


@dataclass(frozen=True, slots=True)
class Limits:
    """
    What a block must not exceed.

    The defaults are a beginner's (two finger days a week; common practice, no source); the pain
    level is a cautious line of our own, no source. `stated` names the limits a block file set.
    """

    fingers_per_week: int = 2
    rest_days_between_finger_days: int = 1
    finger_session_minutes: float = 60.0
    pain_level: float = 3.0
    stated: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Headline:
    """The capacity named beforehand as the one that counts."""

    capacity: Exercise
    grip: str
    hand: str


@dataclass(frozen=True, slots=True)
class Target:
    """
    A load planned for one grip and hand in a phase; None where the plan leaves it open.

    `sets`: of a session, this grip and hand alone. `at_most`: the load is the most that the rule
    for adding may have reached, no load to begin with.
    """

    grip: str
    hand: str = "both"
    edge_mm: float | None = None
    added_kg: float | None = None
    force_kg: float | None = None
    sets: int | None = None
    at_most: bool = False


@dataclass(frozen=True, slots=True)
class Phase:
    """
    A stretch of the block with one kind of finger work. Weeks count from 1.

    `set_rest_s` is (shortest, longest) rest between sets in seconds.
    `weekly` holds other work in days a week where this phase differs from the block.
    """

    name: str
    weeks: int
    from_week: int
    exercise: Exercise | None = None
    hang_s: float | None = None
    rest_s: float | None = None
    reps: int | None = None
    sets_per_session: int | None = None
    set_rest_s: tuple[float, float] | None = None
    sessions_per_week: int | None = None
    alternate_hands: bool = False
    targets: tuple[Target, ...] = ()
    weekly: Mapping[str, int] = field(default_factory=dict)

    @property
    def to_week(self) -> int:
        """The phase's last week, counted from 1."""
        return self.from_week + self.weeks - 1

    def holds_week(self, week: int) -> bool:
        """Whether block week `week` lies in this phase."""
        return self.from_week <= week <= self.to_week


@dataclass(frozen=True, slots=True)
class Block:
    """
    One training block.

    `choices` holds what `[choices]` sets for proposals; what it leaves out has its default there.
    `planned` is False where the block was made to span the log: no block file was given, or nothing
    is logged in the days of the file's block, which then is `aside`.
    """

    name: str
    start: dt.date
    weeks: int
    goal: str = "build"
    headline: Headline | None = None
    reference_edge_mm: float = 20.0
    reference_hang_s: float = 10.0
    plates_kg: tuple[float, ...] = ()
    edges_mm: tuple[float, ...] = ()
    test_weeks: tuple[int, ...] = ()
    easy_weeks: tuple[int, ...] = ()
    smallest_change_pct: Mapping[str, float] = field(
        default_factory=lambda: dict(SMALLEST_CHANGE_PCT)
    )
    limits: Limits = Limits()
    phases: tuple[Phase, ...] = ()
    weekly: Mapping[str, int] = field(default_factory=dict)
    choices: Mapping[str, float] = field(default_factory=dict)
    athletes: tuple[str, ...] = ()
    grips: tuple[str, ...] = ()
    planned: bool = True
    file: str = ""
    overrides: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    stated: frozenset[str] = frozenset()
    aside: Block | None = None

    @property
    def end(self) -> dt.date:
        """The block's last day."""
        return self.start + dt.timedelta(days=7 * self.weeks - 1)

    @property
    def given(self) -> bool:
        """Whether a block file stands behind it, if only for its limits, plates and edges."""
        return self.planned or self.aside is not None

    def holds_for(self, athlete: str) -> bool:
        """Whether this block was planned for `athlete`."""
        return not self.athletes or athlete in self.athletes

    def for_athlete(self, athlete: str) -> Block:
        """The block for one athlete alone, with what `[athlete.ID]` changes."""
        changes = self.overrides.get(athlete, {})
        # the others' ids are nothing of this athlete's, and many to hand on with each page
        alone = (athlete,) if self.athletes else ()
        return replace(self, **{"athletes": alone, **changes, "overrides": {}})

    def week_of(self, day: dt.date) -> int:
        """Block week of a day, from 1; 0 or less before the block, above `weeks` after it."""
        return (day - self.start).days // 7 + 1

    def phase_in(self, week: int, exercise: str | None = None) -> Phase | None:
        """The phase of a week (the one with this exercise where phases overlap)."""
        here = [p for p in self.phases if p.holds_week(week)]
        for phase in here:
            if exercise is None or phase.exercise == exercise:
                return phase
        return None

    def weekly_in(self, week: int) -> dict[str, int]:
        """Days a week planned for other work in a week; a phase's own figure wins."""
        plan = dict(self.weekly)
        for phase in self.phases:
            if phase.holds_week(week):
                plan.update(phase.weekly)
        return plan


# --- reading -------------------------------------------------------------------------------


class _RefusedValueError(Exception):
    """A value the block file may not hold; becomes a `Problem` with file and line."""

    def __init__(self, code: Code, key: str, value: object, **parameters: Parameter) -> None:
        super().__init__(code)
        self.code, self.key, self.value, self.parameters = code, key, value, parameters
        # where a key is missing: the table that lacks it
        self.table = str(parameters["table"]) if code == "block_key_missing" else ""
        self.place = _ANYWHERE


#: A table of the file by its name and, where there are several of one name, its number from 0.
_Place = tuple[str, int]
_ANYWHERE: Final[_Place] = ("", 0)
_Unknown = list[tuple[str, _Place]]


@contextmanager
def _within(table: str, number: int, unknown: _Unknown) -> Iterator[None]:
    """Say of what is refused or unknown meanwhile that it stands in this table."""
    before = len(unknown)
    try:
        yield
    except _RefusedValueError as refusal:
        refusal.place = (table, number)
        raise
    unknown[before:] = [(key, (table, number)) for key, _ in unknown[before:]]


def _number(low: float, high: float) -> Callable[[str, Any], float]:
    def convert(key: str, value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise _RefusedValueError("block_number", key, value)
        if not low <= value <= high:
            raise _RefusedValueError("block_range", key, value, low=low, high=high)
        return float(value)

    return convert


def _integer(low: int, high: int) -> Callable[[str, Any], int]:
    def convert(key: str, value: Any) -> int:
        number = _number(low, high)(key, value)
        if number != int(number):
            raise _RefusedValueError("block_whole", key, value)
        return int(number)

    return convert


def _text(key: str, value: Any) -> str:
    if not isinstance(value, str) or not value.strip():
        raise _RefusedValueError("block_text", key, value)
    return value.strip()


def _choice(*allowed: str) -> Callable[[str, Any], str]:
    def convert(key: str, value: Any) -> str:
        if value not in allowed:
            raise _RefusedValueError("block_word", key, value, allowed=allowed)
        return str(value)

    return convert


def _flag(key: str, value: Any) -> bool:
    if not isinstance(value, bool):
        raise _RefusedValueError("block_flag", key, value)
    return value


def _date(key: str, value: Any) -> dt.date:
    try:
        day = (
            dt.date(value.year, value.month, value.day)
            if isinstance(value, dt.date)
            else dt.date.fromisoformat(str(value))
        )
    except ValueError:
        raise _RefusedValueError("block_date", key, value) from None
    first, last = YEARS
    if not first <= day.year <= last:
        raise _RefusedValueError("block_year", key, value, first=first, last=last)
    return day


def _many(
    item: Callable[[str, Any], Any], *, least: int = 0, most: int = 1000
) -> Callable[[str, Any], tuple[Any, ...]]:
    def convert(key: str, value: Any) -> tuple[Any, ...]:
        if not isinstance(value, list):
            raise _RefusedValueError("block_list", key, value)
        if not least <= len(value) <= most:
            count = len(value)
            raise _RefusedValueError(
                "block_list_length", key, value, count=count, least=least, most=most
            )
        return tuple(item(key, v) for v in value)

    return convert


def _rest_range(key: str, value: Any) -> tuple[float, float]:
    seconds = _number(0, 3600)
    if isinstance(value, list):
        low, high = _many(seconds, least=2, most=2)(key, value)
    else:
        low = high = seconds(key, value)
    if low > high:
        raise _RefusedValueError("block_rest_order", key, value)
    return low, high


def _table(
    key: str,
    value: Any,
    converters: Mapping[str, Callable[[str, Any], Any]],
    unknown: _Unknown,
    needed: tuple[str, ...] = (),
) -> dict[str, Any]:
    """Convert a TOML table key by key; keys without a converter are collected in `unknown`."""
    if not isinstance(value, dict):
        raise _RefusedValueError("block_table", key, value, table=key)
    for name in needed:
        if name not in value:
            raise _RefusedValueError("block_key_missing", name, "", table=key)
    out: dict[str, Any] = {}
    for name, entry in value.items():
        if name in converters:
            out[name] = converters[name](name, entry)
        else:
            unknown.append((name, _ANYWHERE))
    return out


_WEEKLY_KINDS = ("fingers", "core", "antagonist", "mobility", "climbing", "other")
_weekly_converters = {kind: _integer(0, 7) for kind in _WEEKLY_KINDS}
_limit_converters: dict[str, Callable[[str, Any], Any]] = {
    "fingers_per_week": _integer(0, 7),
    "rest_days_between_finger_days": _integer(0, 6),
    "finger_session_minutes": _number(1, 600),
    # at most 5: above it no log should read as harmless (own cautious line, no source)
    "pain_level": _number(0, 5),
}
#: What `[choices]` may hold, and between which bounds (bounds: own choice, no source).
_choice_converters: dict[str, Callable[[str, Any], Any]] = {
    "chance": _number(0.5, 0.99),
    "step_kg": _number(0, 5),
    "step_pct": _number(0, 10),
    "step_one_hand_kg": _number(0, 5),
    "step_one_hand_pct": _number(0, 10),
    "edge_step_mm": _number(0, 10),
    "add_when_left_s": _number(0, 60),
    "loading_weeks": _integer(1, 6),
    "easier_share": _number(0.1, 1),
    "rest_days_before_test": _integer(0, 14),
    "rest_days_after_block": _integer(0, 28),
}
_target_converters: dict[str, Callable[[str, Any], Any]] = {
    "grip": _text,
    "hand": _choice(*HANDS),
    "edge_mm": _number(1, 200),
    "added_kg": _number(-150, 200),
    "force_kg": _number(0, 300),
    "sets": _integer(1, 200),
    "at_most": _flag,
}


def _headline(unknown: _Unknown) -> Callable[[str, Any], Headline]:
    def convert(key: str, value: Any) -> Headline:
        converters: dict[str, Callable[[str, Any], Any]] = {
            "capacity": _choice(*EXERCISES),
            "grip": _text,
            "hand": _choice(*HANDS),
        }
        return Headline(**_table(key, value, converters, unknown, ("capacity", "grip", "hand")))

    return convert


def _block_converters(unknown: _Unknown) -> dict[str, Callable[[str, Any], Any]]:
    def smallest(key: str, value: Any) -> dict[str, float]:
        given = _table(key, value, {e: _number(0.1, 50) for e in EXERCISES}, unknown)
        return {**SMALLEST_CHANGE_PCT, **given}

    return {
        "name": _text,
        "start": _date,
        "weeks": _integer(1, 104),
        "goal": _choice(*GOALS),
        "headline": _headline(unknown),
        "reference_edge_mm": _number(6, 60),
        "reference_hang_s": _number(3, 60),
        "plates_kg": _many(_number(0.05, 100)),
        "edges_mm": _many(_number(1, 200)),
        "test_weeks": _many(_integer(1, 104)),
        "easy_weeks": _many(_integer(1, 104)),
        "smallest_change_pct": smallest,
        "athletes": _many(_text),
        "grips": _many(_text),
    }


def _phase(raw: Any, next_week: int, unknown: _Unknown) -> Phase:
    def targets(key: str, value: Any) -> tuple[Target, ...]:
        if not isinstance(value, list):
            raise _RefusedValueError("block_tables", key, value, table="phase.target")
        return tuple(
            Target(**_table("phase.target", v, _target_converters, unknown, ("grip",)))
            for v in value
        )

    converters: dict[str, Callable[[str, Any], Any]] = {
        "name": _text,
        "weeks": _integer(1, 104),
        "from_week": _integer(1, 104),
        "exercise": _choice(*EXERCISES),
        "hang_s": _number(1, 600),
        "rest_s": _number(0, 600),
        "reps": _integer(1, 500),
        "sets_per_session": _integer(1, 200),
        "set_rest_s": _rest_range,
        "sessions_per_week": _integer(0, 14),
        "alternate_hands": _flag,
        "target": targets,
        "weekly": lambda key, v: _table(key, v, _weekly_converters, unknown),
    }
    fields = _table("phase", raw, converters, unknown, ("name", "weeks"))
    fields["targets"] = fields.pop("target", ())
    fields.setdefault("from_week", next_week)
    return Phase(**fields)


def _lines_of(text: str, place: _Place) -> tuple[int, int]:
    """First and last line of a table with its sub-tables, from 1 (all lines if not found)."""
    lines = text.splitlines()
    table, number = place
    heads = [
        (at, head.group(1).replace('"', "").replace(" ", ""))
        for at, line in enumerate(lines, 1)
        if (head := re.match(r"\s*\[\[?([^\[\]]+)\]", line))
    ]
    tables = [k for k, (_, name) in enumerate(heads) if name == table]
    if number >= len(tables):
        return 1, len(lines)
    first = tables[number]
    after = (at for at, name in heads[first + 1 :] if not name.startswith(table + "."))
    return heads[first][0], next(after, len(lines) + 1) - 1


def _line_of(text: str, key: str, value: object, place: _Place) -> int:
    """The line a key stands on, from 1 (0: not found). tomllib itself tells no lines."""
    first, last = _lines_of(text, place)
    lines = text.splitlines()
    named = [
        number
        for number in range(first, last + 1)
        if re.search(rf"(^|[\s{{,\[.]){re.escape(key)}\s*(=|\]|$)", lines[number - 1].split("#")[0])
    ]
    for number in named:
        if str(value) and str(value) in lines[number - 1]:
            return number
    return named[0] if named else 0


_PART: Final = r"""(?:"[^"\n]*"|'[^'\n]*'|[\w-]+)"""
_DEEP_KEY: Final = re.compile(
    rf"(?m)(?:^|[\[{{,])[ \t]*(?:{_PART}[ \t]*\.[ \t]*){{{KEY_PARTS}}}{_PART}"
)


def read_block(text: str, file: str) -> tuple[Block | None, list[Problem]]:
    """
    Read one block file.

    Parameters
    ----------
    text : the file's content.
    file : its name, for messages.

    Returns
    -------
    The block, or None where the file holds an error (then the problems say which), and the
    problems. A key that is not known is a warning and changes nothing.
    """
    if deep := _DEEP_KEY.search(
        text
    ):  # what tomllib keeps of it grows with the square of its parts
        line = text.count("\n", 0, deep.end()) + 1
        parameters = {"fault": f"a key of more than {KEY_PARTS} parts"}
        return None, [Problem("error", "block_toml", file, line, parameters=parameters)]
    try:
        raw = tomllib.loads(text)
    except (ValueError, RecursionError) as err:  # the latter for brackets without end
        at = re.search(r"at line (\d+)", str(err))
        line = int(at.group(1)) if at else 0
        return None, [Problem("error", "block_toml", file, line, parameters={"fault": str(err)})]
    unknown: _Unknown = []
    try:
        _refuse_long_numbers(raw)
        block = _read_tables(raw, file, unknown)
    except _RefusedValueError as refusal:
        problem = Problem(
            "error",
            refusal.code,
            file,
            _lines_of(text, refusal.place)[0]
            if refusal.table and refusal.table == refusal.place[0]
            else _line_of(text, refusal.table or refusal.key, refusal.value, refusal.place),
            refusal.key,
            str(refusal.value),
            refusal.parameters,
        )
        return None, [problem]
    if len(unknown) > UNKNOWN_KEYS:
        counts = {"count": len(unknown), "limit": UNKNOWN_KEYS}
        return None, [Problem("error", "block_unknown_keys", file, parameters=counts)]
    warnings = [
        Problem("warning", "block_unknown_key", file, _line_of(text, key, "", place), key)
        for key, place in unknown
    ]
    return block, warnings


def _refuse_long_numbers(table: Mapping[str, Any]) -> None:
    """Whole numbers beyond 64 bits with sign are no TOML; Python can't even print the longest."""
    for key, value in table.items():
        for item in value if isinstance(value, list) else [value]:
            if isinstance(item, dict):
                _refuse_long_numbers(item)
            elif isinstance(item, int) and not -(2**63) <= item < 2**63:
                raise _RefusedValueError("block_number", key, "")


def _read_tables(raw: dict[str, Any], file: str, unknown: _Unknown) -> Block:
    known_tables = ("block", "limits", "phase", "weekly", "choices", "athlete")
    unknown.extend((key, _ANYWHERE) for key in raw if key not in known_tables)
    needed = ("name", "start", "weeks")
    with _within("block", 0, unknown):
        fields = _table("block", raw.get("block", {}), _block_converters(unknown), unknown, needed)
        _check_weeks(fields, fields["weeks"])
    stated = frozenset(fields)
    with _within("limits", 0, unknown):
        limits = _table("limits", raw.get("limits", {}), _limit_converters, unknown)
    with _within("weekly", 0, unknown):
        weekly = _table("weekly", raw.get("weekly", {}), _weekly_converters, unknown)
    with _within("choices", 0, unknown):
        choices = _table("choices", raw.get("choices", {}), _choice_converters, unknown)

    phases: list[Phase] = []
    next_week = 1
    raw_phases = raw.get("phase", [])
    if not isinstance(raw_phases, list):
        raise _RefusedValueError("block_tables", "phase", "", table="phase")
    for number, entry in enumerate(raw_phases):
        with _within("phase", number, unknown):
            phase = _phase(entry, next_week, unknown)
            if phase.to_week > fields["weeks"]:
                raise _RefusedValueError(
                    "block_phase_too_long",
                    "name",
                    phase.name,
                    week=phase.to_week,
                    weeks=fields["weeks"],
                )
        phases.append(phase)
        next_week = phase.to_week + 1

    overrides: dict[str, dict[str, Any]] = {}
    raw_athletes = raw.get("athlete", {})
    if not isinstance(raw_athletes, dict):
        raise _RefusedValueError("block_table", "athlete", raw_athletes, table="athlete.ID")
    for athlete, table in raw_athletes.items():
        with _within(f"athlete.{athlete}", 0, unknown):
            plan = {"limits": limits, "weekly": weekly, "choices": choices, **fields}
            changed = _athlete_override(f"athlete.{athlete}", table, plan, unknown)
            _check_weeks(changed, changed.get("weeks", fields["weeks"]))
        overrides[str(athlete)] = changed

    declared = {t.grip for p in phases for t in p.targets} | set(fields.pop("grips", ()))
    if "headline" in fields:
        declared.add(fields["headline"].grip)
    declared |= {o["headline"].grip for o in overrides.values() if "headline" in o}
    own = tuple(sorted(declared - set(GRIPS)))
    if len(own) > OWN_GRIPS:
        raise _RefusedValueError(
            "block_list_length", "grips", "", count=len(own), least=0, most=OWN_GRIPS
        )
    return Block(
        **fields,
        limits=Limits(**limits, stated=frozenset(limits)),
        weekly=weekly,
        choices=choices,
        phases=tuple(phases),
        grips=own,
        overrides=overrides,
        file=file,
        stated=stated,
    )


def _check_weeks(fields: Mapping[str, Any], weeks: int) -> None:
    for key in ("test_weeks", "easy_weeks"):
        for week in fields.get(key, ()):
            if week > weeks:
                raise _RefusedValueError("block_week_too_late", key, week, weeks=weeks)


def _athlete_override(
    key: str, table: Any, plan: Mapping[str, Any], unknown: _Unknown
) -> dict[str, Any]:
    """
    What one `[athlete.ID]` table changes: keys of [block] and of the limits, weekly, choices.

    Of a table, what the athlete's leaves out stays as the `plan` for everybody has it.
    """
    if not isinstance(table, dict):
        raise _RefusedValueError("block_table", key, table, table=key)
    converters = _block_converters(unknown)
    for fixed in ("name", "athletes", "grips"):
        del converters[fixed]
    limits: dict[str, Any] = {}
    weekly: dict[str, Any] = {}
    choices: dict[str, Any] = {}
    converters["choices"] = lambda k, v: choices.update(_table(k, v, _choice_converters, unknown))
    converters["limits"] = lambda k, v: limits.update(_table(k, v, _limit_converters, unknown))
    converters["weekly"] = lambda k, v: weekly.update(_table(k, v, _weekly_converters, unknown))
    out = _table(key, table, converters, unknown)
    if "limits" in out:
        merged = {**plan["limits"], **limits}
        out["limits"] = Limits(**merged, stated=frozenset(merged))
    if "weekly" in out:
        out["weekly"] = {**plan["weekly"], **weekly}
    if "choices" in out:
        out["choices"] = {**plan["choices"], **choices}
    if "smallest_change_pct" in out:
        given = {
            k: out["smallest_change_pct"][k] for k in EXERCISES if k in table["smallest_change_pct"]
        }
        out["smallest_change_pct"] = {
            **plan.get("smallest_change_pct", SMALLEST_CHANGE_PCT),
            **given,
        }
    return out
