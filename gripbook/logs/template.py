"""An empty log folder to fill: headers, and a commented block file with a careful first block."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from gripbook.errors import GripbookError
from gripbook.logs.describe import readme_text
from gripbook.logs.schema import FILES
from gripbook.writing import make_folder, write_file

#: The columns a lean hangs.csv starts with; the format knows more.
HANGS_HEADER = (
    "athlete",
    "date",
    "sets",
    "exercise",
    "test",
    "grip",
    "hand",
    "edge_mm",
    "added_kg",
    "scale_kg",
    "hang_s",
    "rest_s",
    "reps",
    "reps_done",
    "failed_s",
    "stopped",
    "reserve_s",
    "reserve_reps",
    "note",
)

#: A row of each file to see how it is written. The sign in front keeps it from being read.
EXAMPLES: Final[Mapping[str, Mapping[str, str]]] = {
    name: {"athlete": "# kim", "date": "2026-01-05", **cells}
    for name, cells in {
        "hangs": {
            **{"sets": "3", "exercise": "hang", "grip": "half_crimp", "hand": "both"},
            **{"edge_mm": "20", "added_kg": "5", "hang_s": "10", "note": "an example"},
        },
        "body": {"body_mass_kg": "62.5"},
        "sessions": {"kind": "fingers", "minutes": "45", "effort": "6"},
        "pain": {"when": "after", "site": "ring", "side": "left", "level": "0"},
        "measures": {"measure": "front_split_gap", "value": "20", "unit": "cm"},
        "climbs": {"grade": "6c", "scale": "french", "style": "redpoint", "place": "rock"},
        "athletes": {"name": "Kim", "born": "1998", "units": "kg"},
    }.items()
}

BLOCK_TEMPLATE = """\
# What is planned. Lines after "#" are remarks. `gripbook check` tells what it cannot read.
#
# This first block is careful: two easy weeks of timed hangs, then repeaters, two finger days a
# week, at least one rest day between them, no all-out pulls (common practice, no source).
# Stop a set at once when a finger, hand or elbow hurts; see a physician or physiotherapist.
# Under 18: what to train is for coach, guardian and physician to decide.

[block]
name = "First block"
start = {start}          # first day, a Monday; weeks run from it
weeks = 8
goal = "build"              # build, hold, or return
headline = {{ capacity = "hang", grip = "half_crimp", hand = "both" }}   # named beforehand
reference_edge_mm = 20      # strength is stated for this edge
reference_hang_s = 10       # and this hold
plates_kg = [0.5, 1.25, 2.5, 2.5, 5]   # the pieces you have
edges_mm = [20]             # the edges you have
# Test every planned capacity in the first and in the last week, after two days of rest, and mark
# the sets with test = yes in hangs.csv. Here: one timed hang and one repeater set, half crimp.
# New to finger training: stop each test with some seconds in reserve and write them in reserve_s.
test_weeks = [1, 8]
easy_weeks = [1, 2]

[limits]                    # what the block must not exceed
fingers_per_week = 2
rest_days_between_finger_days = 1
finger_session_minutes = 60
pain_level = 3              # from here on hold loading and have it looked at

[[phase]]
name = "Easy timed hangs"
weeks = 2
exercise = "hang"
hang_s = 10
sets_per_session = 6
set_rest_s = [120, 120]
sessions_per_week = 2

[[phase]]
name = "Repeaters"
weeks = 6
exercise = "repeater"
hang_s = 7
rest_s = 3
reps = 6
sets_per_session = 5
set_rest_s = [120, 180]     # two to three minutes between sets
sessions_per_week = 2

# A later block may end with all-out one-arm pulls over a scale, hands in turn, three to four
# minutes between them. They are not for a first block.
# [[phase]]
# name = "One-arm pulls"
# weeks = 3
# exercise = "pull"
# sets_per_session = 6
# set_rest_s = [180, 240]
# alternate_hands = true
# sessions_per_week = 2

[weekly]                    # other work, days a week; a target, not a limit
core = 2
antagonist = 1
mobility = 3
"""


def write_template(
    folder: str | Path, *, today: dt.date | None = None, tables: bool = True
) -> list[Path]:
    """
    Make an empty log folder.

    Parameters
    ----------
    folder : made where missing; may exist if none of the files to be written does.
    tables : whether the CSV files are written; False: only README.txt and block.toml.
    today : the block starts on the Monday after it; default: the computer's date.

    Returns
    -------
    The files written.

    Raises
    ------
    GripbookError : a file of that name exists; nothing is written then.
    """
    root = Path(folder)
    day = today or dt.date.today()
    monday = day + dt.timedelta(days=7 - day.weekday())
    files = {
        f"{name}.csv": ",".join(HANGS_HEADER if name == "hangs" else [c.name for c in kind.columns])
        + "\n"
        for name, kind in FILES.items()
    }
    for name, example in EXAMPLES.items():
        header = files[f"{name}.csv"].strip().split(",")
        files[f"{name}.csv"] += ",".join(example.get(c, "") for c in header) + "\n"
    if not tables:
        files = {}
    files["README.txt"] = readme_text()
    files["block.toml"] = BLOCK_TEMPLATE.format(start=monday.isoformat())
    taken = [name for name in files if (root / name).exists()]
    if taken or (root.exists() and not root.is_dir()):
        raise GripbookError(
            f"{root} already holds {', '.join(taken) or 'a file of that name'}. Nothing was "
            "written. Name a new folder."
        )
    make_folder(root)
    for name, text in files.items():
        write_file(root / name, text)
    return [root / name for name in files]
