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

_ATHLETE = Column("athlete", "text", "id: the same text in every file", needed=True)
_DATE = Column("date", "date", "day", needed=True)
_NOTE = Column("note", "text", "free text")
_SIDES = ("left", "right", "both", "")

HANGS: Final = LogFile(
    "hangs",
    (
        _ATHLETE,
        _DATE,
        Column("session", "text", "label where a day has several finger sessions"),
        Column("order", "integer", "position in the session", low=1, high=1000),
        Column("sets", "integer", "identical sets this row stands for", low=1, high=200),
        Column("exercise", "choice", "hang, repeater or pull", needed=True, choices=EXERCISES),
        Column("test", "yes", "meant as a maximal test"),
        Column("warmup", "yes", "counts for minutes, not for strength or plan"),
        Column("grip", "grip", "grip", needed=True),
        Column("hand", "choice", "both, left or right", needed=True, choices=HANDS),
        Column("edge_mm", "number", "edge depth (pinch: width)", low=1, high=200),
        Column("board", "text", "label of the board"),
        Column("added_kg", "number", "weight added to the body", low=-150, high=200),
        Column("scale_kg", "number", "what still stands on the floor", low=0, high=400),
        Column("stand_kg", "number", "standing with everything on", low=10, high=400),
        Column("force_kg", "number", "load read from a gauge", low=0, high=400),
        Column(
            "load_kind",
            "choice",
            "steady, peak or guess",
            choices=("steady", "peak", "guess", ""),
            default="steady",
        ),
        Column("hang_s", "number", "planned seconds of one hold", low=0.5, high=900),
        Column("rest_s", "number", "rest between holds of a set", low=0, high=900),
        Column("reps", "integer", "planned holds in the set", low=1, high=500),
        Column("reps_done", "integer", "holds finished before the first miss", low=0, high=500),
        Column("failed_s", "number", "seconds of the unfinished hold", low=0, high=900),
        Column(
            "stopped",
            "choice",
            "why it ended early",
            choices=("", "slip", "skin", "pain", "choice"),
        ),
        Column("reserve_s", "number", "seconds more judged possible", low=0, high=900),
        Column("reserve_reps", "number", "holds more judged possible", low=0, high=500),
        _NOTE,
    ),
)

BODY: Final = LogFile(
    "body",
    (
        _ATHLETE,
        _DATE,
        Column("body_mass_kg", "number", "body mass", needed=True, low=15, high=300),
        _NOTE,
    ),
)

SESSIONS: Final = LogFile(
    "sessions",
    (
        _ATHLETE,
        _DATE,
        Column("start", "time", "time of day"),
        Column("session", "text", "label as in hangs.csv"),
        Column(
            "kind",
            "choice",
            "kind of work",
            needed=True,
            choices=(*KINDS, *DAYS_WITHOUT, CLEARED),
        ),
        Column("until", "date", "last day of a time without training"),
        Column("minutes", "number", "minutes", low=0, high=1440),
        Column("effort", "number", "session RPE, 0 to 10", low=0, high=10),
        Column("place", "choice", "rock or indoor", choices=("rock", "indoor", "")),
        _NOTE,
    ),
)

PAIN: Final = LogFile(
    "pain",
    (
        _ATHLETE,
        _DATE,
        Column("when", "choice", "when", choices=("during", "after", "morning", "")),
        Column("site", "text", "where"),
        Column("side", "choice", "side", choices=_SIDES),
        Column("level", "number", "0 to 10; 0 = asked, none", low=0, high=10),
        Column("sign", "choice", "a sign", choices=("pop", "swelling", "stiff", "")),
        _NOTE,
    ),
)

MEASURES: Final = LogFile(
    "measures",
    (
        _ATHLETE,
        _DATE,
        Column("measure", "text", "what was measured", needed=True),
        Column("side", "choice", "side", choices=_SIDES),
        Column("value", "number", "value", needed=True, low=-1000, high=100000),
        Column("unit", "choice", "unit", choices=("s", "cm", "kg", "reps", "")),
        _NOTE,
    ),
)

CLIMBS: Final = LogFile(
    "climbs",
    (
        _ATHLETE,
        _DATE,
        Column("grade", "text", "grade as written", needed=True),
        Column("scale", "choice", "grade scale", needed=True, choices=SCALES),
        Column(
            "style",
            "choice",
            "style",
            choices=("onsight", "flash", "redpoint", "attempt", ""),
        ),
        Column("place", "choice", "rock or indoor", choices=("rock", "indoor", "")),
        _NOTE,
    ),
)

ATHLETES: Final = LogFile(
    "athletes",
    (
        _ATHLETE,
        Column("name", "text", "name on the page"),
        Column("born", "integer", "year of birth", low=1900, high=2100),
        Column("fingers_since", "month", "year or year-month finger training began"),
        Column("hand", "choice", "dominant hand", choices=("left", "right", "")),
        Column("units", "choice", "kg or lb", choices=("kg", "lb", ""), default="kg"),
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
