"""Every file and column of log format 1, once: name, kind, range, meaning."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

from gripbook.logs.block import EXERCISES, HANDS
from gripbook.units import KG_PER_LB, MM_PER_INCH

#: Version of the log format that this package reads.
LOG_FORMAT: Final = 1

Kind = Literal["text", "choice", "yes", "number", "integer", "date", "time", "month", "grip"]


@dataclass(frozen=True, slots=True)
class Column:
    """
    One column.

    `low` and `high` bound a number after conversion to the unit in the name; a value outside cannot
    be meant and is refused. `default` fills an empty cell of a choice.
    """

    name: str
    kind: Kind
    meaning: str
    needed: bool = False
    low: float = float("-inf")
    high: float = float("inf")
    choices: tuple[str, ...] = ()
    default: str = ""


@dataclass(frozen=True, slots=True)
class LogFile:
    """One file of the format: its name and columns."""

    name: str
    columns: tuple[Column, ...]

    @property
    def by_name(self) -> Mapping[str, Column]:
        """The columns by name."""
        return {c.name: c for c in self.columns}


#: Kinds of a day without training. They may run `until` a later day and count as load 0.
DAYS_WITHOUT: Final = ("rest", "ill", "away", "injured")
#: The day on which a physician or physiotherapist ended a hold (log format 1.1): no work, no rest.
CLEARED: Final = "cleared"
KINDS: Final = ("fingers", "core", "antagonist", "mobility", "climbing", "other")
PAIN_SITES: Final = (
    "index",
    "middle",
    "ring",
    "little",
    "thumb",
    "palm",
    "wrist",
    "forearm",
    "elbow_inner",
    "elbow_outer",
    "shoulder",
)
FINGER_SITES: Final = ("index", "middle", "ring", "little", "thumb")
SCALES: Final = ("french", "yds", "uiaa", "font", "v", "ewbank")

_ATHLETE = Column(
    "athlete", "text", "the athlete's id, the same text in every file; not the name", needed=True
)
_DATE = Column("date", "date", "the day", needed=True)
_NOTE = Column("note", "text", "free text")
_SIDES = ("left", "right", "both", "")

HANGS: Final = LogFile(
    "hangs",
    (
        _ATHLETE,
        _DATE,
        Column("session", "text", "label where a day has several finger sessions"),
        Column(
            "order",
            "integer",
            "position in the session, from 1; rows of a session with the same order are "
            "one set (hands in turn, two grips mixed); empty: the order of the rows",
            low=1,
            high=1000,
        ),
        Column(
            "sets",
            "integer",
            "how many identical sets this row stands for; empty: 1",
            low=1,
            high=200,
        ),
        Column(
            "exercise",
            "choice",
            "what was done: hang is one timed hold, repeater timed holds with short "
            "rests, pull one all-out pull on a fixed edge",
            needed=True,
            choices=EXERCISES,
        ),
        Column("test", "yes", "yes where the set was meant as a maximal test"),
        Column("warmup", "yes", "yes for a warm-up: counts for minutes, not for strength or plan"),
        Column("grip", "grip", "the grip's name", needed=True),
        Column("hand", "choice", "the hand or hands on the edge", needed=True, choices=HANDS),
        Column(
            "edge_mm",
            "number",
            "depth of the edge in mm (pinch: width); only a sloper needs none",
            low=1,
            high=200,
        ),
        Column(
            "board",
            "text",
            "your name for the board, such as home or gym; another board is another edge",
        ),
        Column(
            "added_kg",
            "number",
            "weight added to the body in kg; negative for a counterweight on a pulley",
            low=-150,
            high=200,
        ),
        Column(
            "scale_kg",
            "number",
            "reading of a scale under the feet while pulling, in kg; feet in the air: 0",
            low=0,
            high=400,
        ),
        Column(
            "stand_kg",
            "number",
            "reading of the same scale just before, standing with everything on, in kg",
            low=10,
            high=400,
        ),
        Column(
            "force_kg",
            "number",
            "load read straight from a force gauge, or weight lifted from the floor by a "
            "small edge, in kg",
            low=0,
            high=400,
        ),
        Column(
            "load_kind",
            "choice",
            "how the load was read: held for 2 to 3 s, the highest reading, or guessed "
            "(band, foot on a chair)",
            choices=("steady", "peak", "guess", ""),
            default="steady",
        ),
        Column(
            "hang_s",
            "number",
            "planned seconds of one hold; empty for a hold to failure (then failed_s is needed)",
            low=0.5,
            high=900,
        ),
        Column(
            "rest_s",
            "number",
            "seconds that this hand rests between the holds of a set",
            low=0,
            high=900,
        ),
        Column(
            "reps",
            "integer",
            "planned holds in the set; empty for a set to failure",
            low=1,
            high=500,
        ),
        Column(
            "reps_done",
            "integer",
            "holds finished before the first miss; empty: all",
            low=0,
            high=500,
        ),
        Column(
            "failed_s",
            "number",
            "seconds of the hold that wasn't finished; empty: nothing failed",
            low=0,
            high=900,
        ),
        Column(
            "stopped",
            "choice",
            "why it ended early; empty where the fingers opened",
            choices=("", "slip", "skin", "pain", "choice"),
        ),
        Column(
            "reserve_s", "number", "hang: seconds more that you judge possible", low=0, high=900
        ),
        Column(
            "reserve_reps",
            "number",
            "repeater: holds more that you judge possible",
            low=0,
            high=500,
        ),
        _NOTE,
    ),
)

BODY: Final = LogFile(
    "body",
    (
        _ATHLETE,
        _DATE,
        Column("body_mass_kg", "number", "body mass in kg", needed=True, low=15, high=300),
        _NOTE,
    ),
)

SESSIONS: Final = LogFile(
    "sessions",
    (
        _ATHLETE,
        _DATE,
        Column("start", "time", "time of day the session began"),
        Column("session", "text", "label, as in hangs.csv"),
        Column(
            "kind",
            "choice",
            "kind of work, or a day without: rest, ill, away, injured; cleared: a physician or "
            "physiotherapist ended a hold",
            needed=True,
            choices=(*KINDS, *DAYS_WITHOUT, CLEARED),
        ),
        Column("until", "date", "last day of a time without training"),
        Column("minutes", "number", "how long the session took, in minutes", low=0, high=1440),
        Column("effort", "number", "how hard the session was: RPE", low=0, high=10),
        Column("place", "choice", "where it was", choices=("rock", "indoor", "")),
        _NOTE,
    ),
)

PAIN: Final = LogFile(
    "pain",
    (
        _ATHLETE,
        _DATE,
        Column(
            "when",
            "choice",
            "when it hurt: during the session, after it, or next morning",
            choices=("during", "after", "morning", ""),
        ),
        Column("site", "text", "where it hurt: " + ", ".join(PAIN_SITES) + ", or other text"),
        Column("side", "choice", "the side of the body", choices=_SIDES),
        Column("level", "number", "how much, 0 to 10; 0 means asked, none", low=0, high=10),
        Column(
            "sign", "choice", "what was seen or heard", choices=("pop", "swelling", "stiff", "")
        ),
        _NOTE,
    ),
)

MEASURES: Final = LogFile(
    "measures",
    (
        _ATHLETE,
        _DATE,
        Column(
            "measure",
            "text",
            "what was measured, such as front_split_gap or handstand_hold; a name that "
            "ends in _gap gets better downwards",
            needed=True,
        ),
        Column("side", "choice", "the side of the body", choices=_SIDES),
        Column("value", "number", "the value", needed=True, low=-1000, high=100000),
        Column("unit", "choice", "the value's unit", choices=("s", "cm", "kg", "reps", "")),
        _NOTE,
    ),
)

CLIMBS: Final = LogFile(
    "climbs",
    (
        _ATHLETE,
        _DATE,
        Column("grade", "text", "grade as written", needed=True),
        Column("scale", "choice", "the scale of the grade", needed=True, choices=SCALES),
        Column(
            "style",
            "choice",
            "how it was climbed",
            choices=("onsight", "flash", "redpoint", "attempt", ""),
        ),
        Column("place", "choice", "where it was", choices=("rock", "indoor", "")),
        _NOTE,
    ),
)

ATHLETES: Final = LogFile(
    "athletes",
    (
        _ATHLETE,
        Column("name", "text", "the name that the page shows"),
        Column("born", "integer", "year of birth", low=1900, high=2100),
        Column("fingers_since", "month", "year or year-month finger training began"),
        Column("hand", "choice", "dominant hand", choices=("left", "right", "")),
        Column("units", "choice", "the units of the page", choices=("kg", "lb", ""), default="kg"),
        Column("show_body_mass", "yes", "whether the page may show body mass"),
    ),
)

FILES: Final[Mapping[str, LogFile]] = {
    f.name: f for f in (HANGS, BODY, SESSIONS, PAIN, MEASURES, CLIMBS, ATHLETES)
}


def other_unit(column: Column) -> tuple[str, float] | None:
    """Name and factor of the same column in pounds or inches, None where there is none."""
    if column.name == "edge_mm":
        return "edge_in", MM_PER_INCH
    if column.name.endswith("_kg"):
        return column.name.removesuffix("_kg") + "_lb", KG_PER_LB
    return None
