"""A log folder to `Logs`: all files, all blocks, all problems."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from gripbook.errors import LogFolderError, UnknownAthleteError, UnknownBlockError
from gripbook.logs.block import Block, read_block
from gripbook.logs.files import Source, find_files, unreadable
from gripbook.logs.odd import high_loads, wrong_looking
from gripbook.logs.problem import Problem, problems_frame
from gripbook.logs.reader import read_table
from gripbook.logs.rules import Context, DateOrder, FileReport, empty_frame, judge_table
from gripbook.logs.schema import ATHLETES, FILES, LogFile, other_unit
from gripbook.words import say, say_count

#: The files of days, the finger work first.
DATED = ("hangs", "body", "sessions", "pain", "measures", "climbs")


@dataclass(frozen=True, slots=True, eq=False)
class Logs:
    """
    Everything a log folder says, in canonical units (kg, mm, s).

    The frames hold the usable rows with the columns of the log format, `file` and `line` of each.
    Text that was not recorded is "", a number NaN, a day NaT. `extra` holds by the file's name,
    row by row with its frame, the columns that the format doesn't know, as text.
    `problems` lists refused rows (errors) and suspicious ones (warnings); `reports` says for each
    file how many rows were read, used and refused.
    """

    folder: Path
    hangs: pd.DataFrame
    body: pd.DataFrame
    sessions: pd.DataFrame
    pain: pd.DataFrame
    measures: pd.DataFrame
    climbs: pd.DataFrame
    athletes: pd.DataFrame
    blocks: tuple[Block, ...]
    problems: tuple[Problem, ...]
    reports: tuple[FileReport, ...]
    extra: Mapping[str, pd.DataFrame] = field(default_factory=dict)
    _places: dict[str, Mapping[str, npt.NDArray[np.intp]]] = field(default_factory=dict, repr=False)

    def _rows_of(self, name: str) -> Mapping[str, npt.NDArray[np.intp]]:
        """Positions of each athlete's rows in one frame, found once: slices are cut often."""
        if name not in self._places:
            self._places[name] = self.frame(name).groupby("athlete", sort=False).indices
        return self._places[name]

    def frame(self, name: str) -> pd.DataFrame:
        """The frame of one file of the format, for example `frame("hangs")`."""
        found: pd.DataFrame = getattr(self, name)
        return found

    @property
    def athlete_ids(self) -> tuple[str, ...]:
        """Every athlete with a usable row in any file, in alphabetical order."""
        return tuple(sorted({a for name in FILES for a in self._rows_of(name)}))

    @property
    def errors(self) -> tuple[Problem, ...]:
        """The problems that refuse rows."""
        return tuple(p for p in self.problems if p.severity == "error")

    @property
    def warnings(self) -> tuple[Problem, ...]:
        """The problems of rows that are used all the same."""
        return tuple(p for p in self.problems if p.severity == "warning")

    @property
    def problem_table(self) -> pd.DataFrame:
        """The problems as a frame, one row each."""
        return problems_frame(self.problems)

    def places(self, name: str, athlete: str) -> npt.NDArray[np.intp]:
        """Positions of an athlete's rows in one frame."""
        return self._rows_of(name).get(athlete, np.array([], dtype=np.intp))

    def check_athlete(self, athlete: str) -> None:
        """
        See that there is a row of an athlete.

        Raises
        ------
        UnknownAthleteError : there is none; names the athletes there are.
        """
        if not any(athlete in self._rows_of(name) for name in FILES):
            raise UnknownAthleteError(
                f"No row for athlete {athlete!r} in {self.folder.name}. "
                f"Athletes there: {', '.join(self.athlete_ids) or 'none'}."
            )

    def for_athlete(self, athlete: str) -> Logs:
        """
        One athlete's slice: own rows, own blocks, own problems, nothing of anybody else.

        Raises
        ------
        UnknownAthleteError : names the athletes there are.
        """
        self.check_athlete(athlete)
        frames = {
            name: self.frame(name).take(self.places(name, athlete)).reset_index(drop=True)
            for name in FILES
        }
        extra = {
            name: frame.take(self.places(name, athlete)).reset_index(drop=True)
            for name, frame in self.extra.items()
        }
        blocks = tuple(b.for_athlete(athlete) for b in self.blocks if b.holds_for(athlete))
        problems = tuple(p for p in self.problems if p.athlete == athlete)
        return replace(
            self,
            **frames,
            extra=extra,
            blocks=blocks,
            problems=problems,
            reports=(),
            _places={},
        )

    def block_for(self, athlete: str, name: str = "") -> Block:
        """
        An athlete's block: the one named, else the latest one begun, else the whole log.

        The whole log also where nothing is logged in the days of the latest block: its first day
        may be mistaken, and no entry, least of all one of pain, may be left out for that.

        Raises
        ------
        UnknownBlockError : `name` is given and no such block holds for the athlete.
        """
        own = [b.for_athlete(athlete) for b in self.blocks if b.holds_for(athlete)]
        if name:
            for planned in own:
                if planned.name == name:
                    return planned
            raise UnknownBlockError(
                f"No block named {name!r} holds for {athlete}. "
                f"Blocks there: {', '.join(b.name for b in own) or 'none'}."
            )
        never = dt.date(2000, 1, 3)
        work = self._span(athlete, "hangs")
        last = (work or self._span(athlete, *DATED) or (never, never))[1]
        block: Block | None = None
        if own:
            begun = [b for b in own if b.start <= last]
            block = max(begun or own, key=lambda b: b.start)
            if block.start <= last <= block.end or self._any_in(athlete, block):
                return block
        names = ("hangs", "pain") if work else DATED
        first, last = self._span(athlete, *names) or (never, never)
        weeks = max(1, (last - first).days // 7 + 1)
        whole = Block(name="Whole log", start=first, weeks=weeks, planned=False)
        if block is None:
            return whole
        # what doesn't hang on weeks still holds: limits, plates, edges, what strength is stated for
        return replace(
            block,
            name=whole.name,
            start=whole.start,
            weeks=whole.weeks,
            planned=False,
            phases=(),
            test_weeks=(),
            easy_weeks=(),
            weekly={},
            aside=block,
        )

    def block_names(self, athlete: str, name: str = "") -> tuple[str, ...]:
        """
        What to review of an athlete: the blocks planned (of them the one named), and "", which is
        the whole log, where there is none or nothing is logged in the latest.
        """
        own = [b.name for b in self.blocks if b.holds_for(athlete) and name in ("", b.name)]
        whole = not name and not self.block_for(athlete).planned
        return (*own, "") if whole else tuple(own)

    def _any_in(self, athlete: str, block: Block) -> bool:
        """Whether anything of an athlete is logged in a block's days."""
        days = self._days(athlete, *DATED)
        return bool(
            ((days >= np.datetime64(block.start)) & (days <= np.datetime64(block.end))).any()
        )

    def _span(self, athlete: str, *names: str) -> tuple[dt.date, dt.date] | None:
        """First and last day of an athlete's entries in these files."""
        days = self._days(athlete, *names)
        return (days.min().item(), days.max().item()) if len(days) else None

    def _days(self, athlete: str, *names: str) -> npt.NDArray[np.datetime64]:
        """The days of an athlete's entries in these files."""
        dates = [self.frame(n)["date"].to_numpy()[self.places(n, athlete)] for n in names]
        return np.concatenate(dates).astype("datetime64[D]")


Progress = Callable[[str], None]


def load_logs(
    folder: str | Path,
    *,
    dates: DateOrder | None = None,
    today: dt.date | None = None,
    progress: Progress | None = None,
) -> Logs:
    """
    Read a log folder (log format 1).

    Parameters
    ----------
    folder : holds `hangs.csv` at its top, or in sub-folders named after the athletes, and the
        optional files beside it.
    dates : "day-first" or "month-first" where dates are not written year-month-day. Without it
        such a date refuses its row: 05.12.2026 may mean two days.
    today : days after it are warned of; default: the computer's date.
    progress : called with the name of each file before it is read.

    Returns
    -------
    Logs. Every row is in a frame or among the problems.

    Raises
    ------
    LogFolderError : the folder is missing or holds no `hangs.csv`.
    """
    root = Path(folder)
    if not root.is_dir():
        fault = "is a file, not a folder" if root.exists() else "does not exist"
        raise LogFolderError(
            f"{root} {fault}. Name the folder that holds hangs.csv; "
            f"`gripbook new {root}` makes an empty one."
        )
    sources, problems = find_files(root)
    if not any(source.kind == "hangs" for source in sources):
        links = [p.file for p in problems if p.code == "link"]
        raise LogFolderError(
            f"{root} holds no hangs.csv, neither at its top nor in a sub-folder. "
            f"It is the one file that is needed; `gripbook new` makes an empty one."
            + (f" Links out of a folder are not read: {', '.join(links)}." if links else "")
        )
    plans, block_problems = _read_blocks([s for s in sources if s.kind == "block"])
    problems += block_problems
    blocks = [block for block, _ in plans]
    shared = {grip for block, owner in plans if not owner for grip in block.grips}
    owners: dict[str, set[str]] = defaultdict(set)  # of a grip that only sub-folders declare
    for block, owner in plans:
        for grip in set(block.grips) - shared:
            owners[grip].add(owner)
    context = Context(
        date_order=dates, today=today or dt.date.today(), grips=tuple(sorted(shared)), owners=owners
    )
    frames: dict[str, list[pd.DataFrame]] = defaultdict(list)
    extras: dict[str, list[pd.DataFrame]] = defaultdict(list)
    reports: list[FileReport] = []
    private = _Private()
    for source in sources:
        if source.kind == "block":
            continue
        if progress:
            progress(source.file)
        kind = FILES[source.kind]
        found: list[Problem]
        try:
            data = source.path.read_bytes()
        except OSError as err:
            found = [unreadable(source.file, err)]
        else:
            table = read_table(data, source.file, _known_headers(kind))
            own = replace(context, folder_athlete=source.athlete)
            frame, extra_columns, found, report = judge_table(table, kind, own)
            frames[kind.name].append(frame)
            extras[kind.name].append(extra_columns)
            reports.append(report)
        if kind is ATHLETES:
            private.note(found, source.athlete)
        problems += found
    whole = {name: _joined(frames[name], kind) for name, kind in FILES.items()}
    extra = {name: _joined_extra(parts) for name, parts in extras.items()}
    extra = {name: columns for name, columns in extra.items() if len(columns.columns)}
    ids = {athlete for frame in whole.values() for athlete in frame["athlete"].unique()}
    whole["athletes"], disagreements = private.apply(whole["athletes"], ids)
    problems += disagreements
    people = {name: _People.of(frame) for name, frame in whole.items()}
    problems += _suspicions(whole, extra, people, blocks)
    logs = Logs(
        folder=root,
        **whole,
        blocks=tuple(blocks),
        problems=tuple(problems),
        reports=tuple(reports),
        extra=extra,
        _places={name: of.places() for name, of in people.items()},
    )
    return replace(logs, problems=(*logs.problems, *_blocks_aside(logs)))


def _known_headers(kind: LogFile) -> list[str]:
    names = [c.name for c in kind.columns]
    return names + [other[0] for c in kind.columns if (other := other_unit(c))]


def _read_blocks(sources: list[Source]) -> tuple[list[tuple[Block, str]], list[Problem]]:
    """The blocks, each with the athlete whose sub-folder it stands in ("" at the top)."""
    blocks: list[tuple[Block, str]] = []
    problems: list[Problem] = []
    for path, file, _, athlete in sources:
        try:
            text = path.read_bytes().decode("utf-8-sig")
        except OSError as err:
            problems.append(unreadable(file, err))
            continue
        except UnicodeDecodeError:
            reason = say("is not UTF-8, which TOML asks for.")
            remedy = say("Save the file as UTF-8.")
            problems.append(Problem("error", "block_toml", file, 0, "", "", reason, remedy))
            continue
        read, found = read_block(text, file)
        problems += found
        if read is None:
            continue
        block, found = _kept_to(athlete, read)
        problems += found
        if block is None:
            continue
        twin = next((b for b, _ in blocks if _same_name(b, block)), None)
        if twin is not None:
            problems.append(
                Problem(
                    "error",
                    "block_name_twice",
                    file,
                    0,
                    "name",
                    block.name,
                    say("names a block like {file} does for the same athletes.", file=twin.file),
                    say("Give each block a name of its own."),
                )
            )
            continue
        blocks.append((block, athlete))
    return blocks, problems


def _kept_to(athlete: str, block: Block) -> tuple[Block | None, list[Problem]]:
    """A sub-folder's block, for its athlete alone; None where it was made for others only."""
    if not athlete:
        return block, []
    others = sorted({*block.athletes, *block.overrides} - {athlete})
    problems = [
        Problem(
            "error",
            "other_athlete",
            block.file,
            0,
            "athlete",
            other,
            say(
                "can't be planned for here: a sub-folder speaks for its own athlete, {athlete}.",
                athlete=athlete,
            ),
            say("Move what is planned for others to a block file at the top of the log folder."),
        )
        for other in others
    ]
    if block.athletes and athlete not in block.athletes:
        return None, problems
    overrides = {key: own for key, own in block.overrides.items() if key == athlete}
    return replace(block, athletes=(athlete,), overrides=overrides), problems


class _Private:
    """
    What the rows of athletes.csv say of privacy, read for the most private.

    Where two rows disagree, and where a row can't be read, nothing is shown that one of them may
    have meant to hide.
    """

    def __init__(self) -> None:
        self._unread: set[str] = set()
        self._anyone = False

    def note(self, problems: Iterable[Problem], folder_athlete: str) -> None:
        """Take in the problems of one athletes.csv."""
        for problem in problems:
            if problem.severity != "error" or problem.code == "other_athlete":
                continue
            athlete = problem.athlete or folder_athlete
            if athlete:
                self._unread.add(athlete)
            else:  # it may have been anybody's who has no other row
                self._anyone = True

    def apply(
        self, athletes: pd.DataFrame, ids: Iterable[str]
    ) -> tuple[pd.DataFrame, list[Problem]]:
        """The rows with what holds in `born` and `show_body_mass`, and what is told of it."""
        problems: list[Problem] = []
        for _, rows in athletes[athletes["athlete"].duplicated(keep=False)].groupby("athlete"):
            shown, born = rows["show_body_mass"], rows["born"]
            held = {"show_body_mass": min(shown, key=_MOST_PRIVATE.index), "born": born.max()}
            for column, value in held.items():
                for _, row in rows.iterrows():
                    if row[column] not in ("", value) and not pd.isna(row[column]):
                        problems.append(_overruled(row, column, value))
                athletes.loc[rows.index, column] = value
        unread = set(self._unread)
        if self._anyone:
            unread |= set(ids) - set(athletes["athlete"])
        if not unread:
            return athletes, problems
        athletes.loc[athletes["athlete"].isin(unread), "show_body_mass"] = "no"
        lost = sorted((unread & set(ids)) - set(athletes["athlete"]))
        if lost:
            blank: dict[str, object] = {"name": "", "fingers_since": "", "hand": "", "units": "kg"}
            blank |= {"born": np.nan, "show_body_mass": "no", "file": "athletes.csv", "line": 0}
            made = pd.DataFrame([{"athlete": athlete, **blank} for athlete in lost])
            made = made[list(athletes.columns)].astype(dict(athletes.dtypes))
            athletes = pd.concat([athletes, made], ignore_index=True)
        problems.append(
            Problem(
                "warning",
                "body_mass_hidden",
                "athletes.csv",
                0,
                "",
                "",
                say("has rows that can't be read, so body mass stays hidden for whom they may be."),
                say("Correct the rows listed above."),
            )
        )
        return athletes, problems


#: Answers to show_body_mass; an empty one is decided by age.
_MOST_PRIVATE = ("no", "", "yes")


def _overruled(row: pd.Series, column: str, value: object) -> Problem:
    held = f"{value:g}" if isinstance(value, float) else value or say("an empty cell")
    return _warn(
        row,
        "rows_disagree",
        column,
        f"{row[column]:g}" if isinstance(row[column], float) else str(row[column]),
        say("is not what another row says; the more private one holds ({held}).", held=held),
        say("Keep one row for each athlete."),
    )


def _same_name(one: Block, other: Block) -> bool:
    shared = not one.athletes or not other.athletes or set(one.athletes) & set(other.athletes)
    return one.name == other.name and bool(shared)


def _joined(frames: list[pd.DataFrame], kind: LogFile) -> pd.DataFrame:
    """All files of one kind as one frame."""
    filled = [f for f in frames if len(f)]
    if not filled:
        return frames[0] if frames else empty_frame(kind)
    return pd.concat(filled, ignore_index=True) if len(filled) > 1 else filled[0]


def _joined_extra(extras: list[pd.DataFrame]) -> pd.DataFrame:
    """The unknown columns of all files of one kind; one that only some have is "" elsewhere."""
    filled = [f for f in extras if len(f)]
    if not filled:
        return pd.DataFrame()
    return pd.concat(filled, ignore_index=True).fillna("") if len(filled) > 1 else filled[0]


# --- suspicions that need more than one row ---------------------------------------------------


def _warn(row: pd.Series, code: str, column: str, value: str, reason: str, remedy: str) -> Problem:
    return Problem(
        "warning",
        code,
        str(row["file"]),
        int(row["line"]),
        column,
        value,
        reason,
        remedy,
        athlete=str(row["athlete"]),
    )


class _People(NamedTuple):
    """Who stands in a frame: row `i` is of `ids[codes[i]]`. Found once, as it takes a while."""

    codes: npt.NDArray[np.intp]
    ids: npt.NDArray[np.object_]

    @classmethod
    def of(cls, frame: pd.DataFrame) -> _People:
        codes, ids = pd.factorize(frame["athlete"].to_numpy(dtype=object))
        return cls(codes, ids)

    def places(self) -> dict[str, npt.NDArray[np.intp]]:
        """Positions of each person's rows."""
        return dict(zip(self.ids.tolist(), _rows_by_code(self.codes), strict=True))


def _suspicions(
    frames: Mapping[str, pd.DataFrame],
    extra: Mapping[str, pd.DataFrame],
    people: Mapping[str, _People],
    blocks: list[Block],
) -> list[Problem]:
    return [
        *_body_mass_jumps(frames["body"]),
        *_odd_loads(frames["hangs"], people["hangs"], frames["body"]),
        *_sessions_twice(frames["hangs"], extra.get("hangs"), people["hangs"]),
        *_rows_twice(frames["sessions"], extra.get("sessions")),
        *_athletes_twice(frames["athletes"]),
        *_athletes_in_one_file(frames, people),
        *_unknown_block_athletes(people, blocks),
        *_load_unknown(frames["hangs"], people),
    ]


#: A change between two weigh-ins above this share is warned of: within a day, and within two
#: weeks, where it smells of another unit (own choice, no source).
_JUMP_DAY, _JUMP_FORTNIGHT = 0.05, 0.10


def _body_mass_jumps(body: pd.DataFrame) -> list[Problem]:
    ordered = body.sort_values(["athlete", "date", "file", "line"], kind="stable")
    before = ordered.groupby("athlete")[["date", "body_mass_kg"]].shift()
    gap = (ordered["date"] - before["date"]).dt.days
    change = ordered["body_mass_kg"] / before["body_mass_kg"] - 1
    jump = ((gap <= 1) & (change.abs() > _JUMP_DAY)) | (
        (gap <= 14) & (change.abs() > _JUMP_FORTNIGHT)
    )
    return [
        _warn(
            ordered.loc[i],
            "body_mass_jump",
            "body_mass_kg",
            f"{ordered.at[i, 'body_mass_kg']:.1f}",
            say(
                "is {change} % {value} the weigh-in {value_2}.",
                change=f"{abs(change[i]) * 100:.0f}",
                value=say("above") if change[i] > 0 else say("below"),
                value_2=say("of the same day")
                if gap[i] == 0
                else say("{gap} day(s) before", gap=f"{gap[i]:.0f}"),
            ),
            say("Check the figure and its unit."),
        )
        for i in ordered.index[jump]
    ]


def _mass_near(hangs: pd.DataFrame, people: _People, body: pd.DataFrame) -> npt.NDArray[np.float64]:
    """Body mass about the day of each set (NaN: none known); good enough to smell an error."""
    out = np.full(len(hangs), np.nan)
    if body.empty:
        return out
    weighed = body.sort_values("date", kind="stable").groupby("athlete")
    known = {a: (g["date"].to_numpy(), g["body_mass_kg"].to_numpy()) for a, g in weighed}
    days = hangs["date"].to_numpy().astype("int64")
    for athlete, rows in zip(people.ids, _rows_by_code(people.codes), strict=True):
        if athlete in known:
            weigh_ins, masses = known[athlete]
            out[rows] = np.interp(days[rows], weigh_ins.astype("int64"), masses)
    return out


def _rows_by_code(codes: npt.NDArray[np.intp]) -> list[npt.NDArray[np.intp]]:
    """Positions of each code's rows, for every code from 0."""
    if not len(codes):
        return []
    few = codes.max() < np.iinfo(np.uint16).max  # such numbers are sorted in a tenth of the time
    order = np.argsort(codes.astype(np.uint16) if few else codes, kind="stable")
    return np.split(order, np.cumsum(np.bincount(codes))[:-1])


def _odd_loads(hangs: pd.DataFrame, people: _People, body: pd.DataFrame) -> list[Problem]:
    """Loads above twice body mass, and loads of zero or less, which then are not known."""
    mass = pd.Series(_mass_near(hangs, people, body), index=hangs.index)
    hung = mass + hangs["added_kg"] - hangs["scale_kg"].fillna(0.0)
    load = hangs["force_kg"].fillna(hangs["stand_kg"] - hangs["scale_kg"]).fillna(hung)
    kg, of_mass = load.to_numpy(dtype=np.float64), mass.to_numpy(dtype=np.float64)
    wrong = wrong_looking(hangs, kg, of_mass, people.codes)
    high = [
        _warn(
            hangs.loc[i],
            "load_high",
            "force_kg" if hangs.at[i, "force_kg"] > 0 else "added_kg",
            # the load alone, never the body mass it is compared with: some pages hide that
            say("{load} kg on the fingers", load=f"{load[i]:.1f}"),
            say(
                "is far above every other such set of this athlete; the set counts as work only, "
                "until another comes near it."
            )
            if wrong[n]
            else say("is more than twice body mass.")
            if of_mass[n] > 0
            else say("is an unusual load."),
            say("Check the figure and its unit."),
        )
        for n in np.flatnonzero(high_loads(kg, of_mass))
        for i in (hangs.index[n],)
    ]
    none = [
        _warn(
            hangs.loc[i],
            "load_not_positive",
            "force_kg" if hangs.at[i, "force_kg"] <= 0 else "added_kg",
            "",
            say("leaves no load on the fingers; the set counts as work only."),
            say("Check counterweight and scale against body mass."),
        )
        for i in hangs.index[load <= 0]
    ]
    return high + none


def _load_unknown(hangs: pd.DataFrame, people: Mapping[str, _People]) -> list[Problem]:
    """One warning for an athlete whose loads cannot be known for want of any weigh-in."""
    codes, ids = people["hangs"]
    direct = hangs["force_kg"].notna() | (hangs["stand_kg"].notna() & hangs["scale_kg"].notna())
    weighed = np.isin(ids, list(people["body"].ids))[codes]
    lost = np.flatnonzero(~direct.to_numpy() & ~weighed)
    found, first, counts = np.unique(codes[lost], return_index=True, return_counts=True)
    by_id = np.argsort(ids[found])
    return [
        _warn(
            hangs.iloc[lost[row]],
            "body_mass_missing",
            "",
            "",
            say(
                "needs a body mass to know its load; {rows} of this athlete can count as work "
                "only.",
                rows=say_count(count, "{n} row", "{n} rows", n=count),
            ),
            say("Add a weigh-in to body.csv."),
        )
        for count, row in zip(counts[by_id], first[by_id], strict=True)
    ]


def _sessions_twice(
    hangs: pd.DataFrame, extra: pd.DataFrame | None, people: _People
) -> list[Problem]:
    """
    Sessions whose rows look entered twice.

    Equal sets in a row are how people train, so equality alone proves nothing. Told are: rows
    that repeat an `order`; a run of rows that stands again elsewhere (apart, or in another file);
    and two equal halves that are long, varied, or twice as many rows as the athlete's usual day.
    Sessions of a day with labels of their own are two sessions.
    """
    if hangs.empty:
        return []
    days = (hangs["date"].to_numpy() - hangs["date"].min().to_datetime64()).astype("m8[D]")
    labels = pd.factorize(hangs["session"].to_numpy(dtype=object))[0]
    span = int(days.astype(np.int64).max()) + 1
    labelled = people.codes * (int(labels.max()) + 1) + labels
    sessions = pd.factorize(labelled * span + days.astype(np.int64))[0].astype(np.int64)
    size = np.bincount(sessions)
    numbered = hangs["order"].notna().to_numpy()
    with_order = np.bincount(sessions, weights=numbered) > 0
    ignored = {"file", "line", "order", "note"}
    content = [c for c in hangs.columns if c not in ignored]

    # numbers alone are quick to compare: what differs in them needs no closer look
    rough = _RoughKeys(hangs[content])
    doubtful = _maybe_equal_halves(rough, sessions, size) & ~with_order
    if numbered.any():
        rows = np.flatnonzero(numbered)
        own, order = sessions[rows], hangs["order"].to_numpy(dtype=np.float64)[rows]
        step, rise = np.diff(own), np.diff(order)
        equal = (step == 0) & (rise == 0)
        pairs = _mixed(order.view(np.uint64), own.view(np.uint64))
        if ((step > 0) | ((step == 0) & (rise >= 0))).all():  # in order, as they mostly are
            again = np.concatenate([[False], equal]) | np.concatenate([equal, [False]])
        else:
            again = pd.Series(pairs).duplicated(keep=False).to_numpy()
        rows = rows[again]
        repeated = pd.Series(_mixed(rough.of(rows), pairs[again])).duplicated().to_numpy()
        doubtful[sessions[rows[repeated]]] = True
    if not doubtful.any():
        return []

    owner = people.codes[np.unique(sessions, return_index=True)[1]]
    usual = pd.Series(size).groupby(owner).agg(["median", "size"])
    median, many_days = usual["median"].to_numpy(), usual["size"].to_numpy() >= 3
    looked = np.flatnonzero(doubtful[sessions])
    keys = _hashes(hangs[content], extra, looked)
    files = hangs["file"].to_numpy(dtype=object)[looked]
    orders = hangs["order"].to_numpy()[looked]
    # an order that stands again in its session with equal content: the first such row of each
    of = sessions[looked]
    again = pd.DataFrame({"s": of, "o": orders, "k": keys}).duplicated().to_numpy()
    again = again & with_order[of] & ~np.isnan(orders)
    found: list[int] = looked[again][np.unique(of[again], return_index=True)[1]].tolist()
    # of the others, those that are one run of rows twice
    plain = np.flatnonzero(~with_order[of])
    codes = pd.factorize(of[plain])[0].astype(np.intp)
    twice = _equal_halves(keys[plain], codes, np.bincount(codes))
    plain = plain[twice[codes]] if len(codes) else plain
    for part in _rows_by_code(pd.factorize(of[plain])[0]):
        at = plain[part]
        rows, key = looked[at], keys[at]
        half = len(rows) // 2
        who = people.codes[rows[0]]
        apart = files[at[half - 1]] != files[at[half]] or rows[half] != rows[half - 1] + 1
        varied = len(set(key[:half].tolist())) >= 3
        many = many_days[who] and len(rows) >= 2 * median[who] and half >= 2
        if apart or varied or many:
            found.append(int(rows[half]))
    return [
        _warn(
            hangs.iloc[i],
            "session_twice",
            "date",
            f"{hangs.iloc[i]['date']:%Y-%m-%d}",
            say("begins rows that repeat those already entered for this day; both were counted."),
            say("Delete one copy if the session was done once."),
        )
        for i in sorted(found)
    ]


def _hashes(
    content: pd.DataFrame, extra: pd.DataFrame | None, rows: npt.NDArray[np.intp]
) -> npt.NDArray[np.uint64]:
    """A hash of all cells of some rows, those of unknown columns too."""
    parts = [content] if extra is None else [content, extra]
    keys = np.zeros(len(rows), dtype=np.uint64)
    for part in parts:
        keys = _mixed(keys, pd.util.hash_pandas_object(part.iloc[rows], index=False).to_numpy())
    return keys


class _RoughKeys:
    """A key of a row's numbers: rows whose keys differ are different."""

    def __init__(self, content: pd.DataFrame) -> None:
        self._numbers = [
            content[name].to_numpy()
            for name in content.columns
            if pd.api.types.is_numeric_dtype(content[name].dtype)
        ]

    def of(self, rows: npt.NDArray[np.intp]) -> npt.NDArray[np.uint64]:
        """The keys of some rows, given by place."""
        keys = np.zeros(len(rows), dtype=np.uint64)
        for numbers in self._numbers:
            values = numbers[rows].astype(np.float64) + 0.0  # -0.0 is 0.0
            keys = _mixed(keys, values.view(np.uint64))
        return keys


def _mixed(keys: npt.NDArray[np.uint64], more: npt.NDArray[np.uint64]) -> npt.NDArray[np.uint64]:
    """Keys of (key, more): equal where both are, almost surely different elsewhere."""
    mixed: npt.NDArray[np.uint64] = keys * np.uint64(0x9E3779B97F4A7C15) + more
    mixed ^= mixed >> np.uint64(29)
    return mixed


def _maybe_equal_halves(
    rough: _RoughKeys, groups: npt.NDArray[np.intp], size: npt.NDArray[np.intp]
) -> npt.NDArray[np.bool_]:
    """For each group: whether its rows may be one run twice, by the rough keys."""
    rising = bool((groups[1:] >= groups[:-1]).all())  # as rows mostly are
    order = np.arange(len(groups)) if rising else np.argsort(groups, kind="stable")
    start = np.cumsum(size) - size
    even = np.flatnonzero(size % 2 == 0)
    # most are told from the first row of each half alone
    first, second = (rough.of(order[start[even] + at]) for at in (0, size[even] // 2))
    even = even[first == second]
    equal = np.zeros(len(size), dtype=bool)
    if len(even):
        rows = order[np.isin(groups[order], even)]
        codes = pd.factorize(groups[rows])[0]
        equal[even] = _equal_halves(rough.of(rows), codes, size[even])
    return equal


def _equal_halves(
    keys: npt.NDArray[np.uint64], groups: npt.NDArray[np.intp], size: npt.NDArray[np.intp]
) -> npt.NDArray[np.bool_]:
    """For each group: whether its rows are one run of keys, twice."""
    order = np.argsort(groups, kind="stable")
    start = np.cumsum(size) - size
    within = np.arange(len(order)) - np.repeat(start, size)
    half = np.repeat(size // 2, size)
    first = np.flatnonzero(within < half)
    differ = keys[order[first]] != keys[order[first + half[first]]]
    differing = np.bincount(groups[order[first]], weights=differ, minlength=len(size))
    equal: npt.NDArray[np.bool_] = (differing == 0) & (size % 2 == 0)
    return equal


def _rows_twice(sessions: pd.DataFrame, extra: pd.DataFrame | None) -> list[Problem]:
    content = sessions.drop(columns=["file", "line", "note"])
    keys = _hashes(content, extra, np.arange(len(sessions)))
    again = sessions[pd.Series(keys).duplicated().to_numpy() & (sessions["minutes"] > 0)]
    return [
        _warn(
            row,
            "session_twice",
            "date",
            f"{row['date']:%Y-%m-%d}",
            say("repeats a row already entered for this day; both were counted."),
            say("Delete one copy, or write the start of each session."),
        )
        for _, row in again.iterrows()
    ]


def _athletes_twice(athletes: pd.DataFrame) -> list[Problem]:
    return [
        _warn(
            row,
            "athlete_twice",
            "athlete",
            str(row["athlete"]),
            say("stands in more than one row; the last one counts."),
            say("Keep one row for each athlete."),
        )
        for _, row in athletes[athletes["athlete"].duplicated()].iterrows()
    ]


def _athletes_in_one_file(
    frames: Mapping[str, pd.DataFrame], people: Mapping[str, _People]
) -> list[Problem]:
    filled = {name: set(of.ids) for name, of in people.items() if len(of.ids)}
    if len(filled) < 2:
        return []
    found: list[Problem] = []
    everybody = sorted(set().union(*filled.values()))
    alike: dict[str, list[str]] = defaultdict(list)
    for athlete in everybody:
        alike["".join(athlete.casefold().split())].append(athlete)
    for athlete in everybody:
        where = [name for name, ids in filled.items() if athlete in ids]
        if len(where) == 1:
            frame = frames[where[0]]
            twins = [one for one in alike["".join(athlete.casefold().split())] if one != athlete]
            twin = next(((one, n) for one in twins for n in filled if one in filled[n]), None)
            told = {"twin": twin[0], "file": twin[1]} if twin else {}
            found.append(
                _warn(
                    frame[frame["athlete"] == athlete].iloc[0],
                    "athlete_in_one_file",
                    "athlete",
                    athlete,
                    say("stands in {where}.csv only.", where=where[0]),
                    say("Write the id alike in every file: {file}.csv has {twin}.", **told)
                    if told
                    else say("Check that the id is written alike in every file."),
                )
            )
    return found


def _blocks_aside(logs: Logs) -> list[Problem]:
    """Athletes with finger work and with nothing in the days of the latest block planned."""
    found: list[Problem] = []
    for athlete in logs.athlete_ids if logs.blocks else ():
        block, span = logs.block_for(athlete).aside, logs._span(athlete, "hangs")
        if block is None or span is None:
            continue
        first, last = (day.isoformat() for day in span)
        found.append(
            Problem(
                "warning",
                "block_empty",
                block.file,
                0,
                "start",
                block.start.isoformat(),
                say(
                    "no entry of {athlete} lies in the block, {start} to {end}: finger work is "
                    "logged from {first} to {last}. The report covers the whole log instead.",
                    athlete=athlete,
                    start=block.start.isoformat(),
                    end=block.end.isoformat(),
                    first=first,
                    last=last,
                ),
                say("Set start to the block's first day ({first}?).", first=first),
                athlete=athlete,
            )
        )
    return found


def _unknown_block_athletes(people: Mapping[str, _People], blocks: list[Block]) -> list[Problem]:
    ids = {athlete for of in people.values() for athlete in of.ids}
    return [
        Problem(
            "warning",
            "block_unknown_athlete",
            block.file,
            0,
            "athlete",
            athlete,
            say("is named in the block file and stands in no log."),
            say("Check that the id is written alike in every file."),
        )
        for block in blocks
        for athlete in sorted({*block.athletes, *block.overrides} - ids)
    ]
