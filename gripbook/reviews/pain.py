"""
Pain as logged, and what it asks for. Nothing here is a diagnosis.

The levels are the log's own, 0 to 10. The published pain scales for the knee and the Achilles
tendon were made for rehabilitation under supervision and say nothing about fingers; they are not
used. The lines here are cautious choices of our own, without a source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np
import pandas as pd

from gripbook.derive.records import frame_of, records
from gripbook.logs import Block
from gripbook.logs.schema import CLEARED, FINGER_SITES
from gripbook.reviews.people import Athlete

Reason = Literal["sign", "under_18", "level", "stopped", "morning", "rising"]
#: Reasons to stop or hold, most urgent first.
URGENCY: Final[tuple[Reason, ...]] = (
    "sign",
    "under_18",
    "level",
    "stopped",
    "morning",
    "rising",
)
#: Pain has risen (fallen) where the mean of a week's day maxima is at least this much above (below)
#: the mean of the week before (own cautious choice, no source).
CHANGE_IN_TWO_WEEKS: Final = 1.0
#: "None" is a headline only from this share of the finger days on (own choice, no source).
ASKED_SHARE_FOR_NONE: Final = 0.5
#: What asked for a hold so many days before a block and was not cleared holds in it too. A finger
#: is not healed because a new block file begins (own cautious choice, no source).
HELD_BEFORE_DAYS: Final = 183
_COLUMNS: Final = {
    "date": "datetime64[us]",
    "when": "str",
    "site": "str",
    "side": "str",
    "level": "float64",
    "sign": "str",
    "note": "str",
    "file": "str",
    "line": "int64",
}


@dataclass(frozen=True, slots=True)
class Worst:
    """The highest level of a place (0 to 10), its first `date` and `when` ("": not recorded)."""

    level: float
    date: pd.Timestamp
    when: str


@dataclass(frozen=True, slots=True)
class PainFlag:
    """
    One place's reasons to stop or hold.

    `reasons`: most urgent first. `site`: as logged, "" where not recorded. `logged_side`: as
    logged; `side`: the hands meant, `left`, `right`, or `both` where both are meant or the side is
    not recorded. `first`, `last`: days it was felt. `worst`: None where no level is above 0.
    `limit`: the block's limit of pain. `high_dates`: days at or above it (any level above 0 where
    the limit is 0). `finger_days_after`: finger days after the first of them. `sign`, `sign_date`:
    the last pop, swelling or stiffness ("" and None without). `stopped_dates`: days with a set
    stopped for pain and no level. `morning_dates`: mornings on which it was felt. `rising_since`,
    `falling_since`: the last day before pain rose or fell over two weeks; None where it did not.
    `rising`: whether it still rises: over the two weeks to its last entry, which is the highest of
    its week and no later 0 follows.
    `cleared`: the first `cleared` day after its last entry; the flag is then history and holds
    nothing. `none_since`: the last later day with a level 0 there, which ends nothing. `minor`: of
    someone under 18. `rows`: the log rows it rests on, as `file:line`.
    """

    reasons: tuple[Reason, ...]
    site: str
    logged_side: str
    side: str
    first: pd.Timestamp
    last: pd.Timestamp
    worst: Worst | None
    limit: float
    high_dates: tuple[pd.Timestamp, ...]
    finger_days_after: int
    sign: str
    sign_date: pd.Timestamp | None
    stopped_dates: tuple[pd.Timestamp, ...]
    morning_dates: tuple[pd.Timestamp, ...]
    rising_since: pd.Timestamp | None
    rising: bool
    falling_since: pd.Timestamp | None
    cleared: pd.Timestamp | None
    none_since: pd.Timestamp | None
    minor: bool
    rows: tuple[str, ...]

    @property
    def reason(self) -> Reason:
        """The most urgent reason."""
        return self.reasons[0]

    @property
    def date(self) -> pd.Timestamp:
        """The last day it was felt."""
        return self.last

    @property
    def stop(self) -> bool:
        """Whether that side is to be loaded no more until it was looked at."""
        return self.reason in ("sign", "under_18", "level")


@dataclass(frozen=True, slots=True)
class Clearance:
    """A day on which a physician or physiotherapist ended a hold; `note` says who and how far."""

    date: pd.Timestamp
    note: str
    file: str
    line: int


@dataclass(frozen=True, slots=True, eq=False)
class Pain:
    """
    Pain of a block.

    `entries`: the block's rows of pain.csv and its sets stopped for pain, one row each, in order of
    day: `date`, `when` (during, after, morning, ""), `site`, `side`, `level` (NaN: not known, never
    0), `sign` (pop, swelling, stiff, ""), `note`, `stopped` (bool: stands for a set stopped for
    pain), `file`, `line`. `all_flags`: reasons to stop or hold, most urgent first, one a place (and
    one more for what came after it was cleared). `load`: finger work beside it, one row per finger
    day of the block: `date`, `sets` (int), `tension_s` (what is known of it), warm-ups included.
    `limit`: the block's limit. `cleared`: in order of day, those after the block too.
    """

    entries: pd.DataFrame
    all_flags: tuple[PainFlag, ...]
    load: pd.DataFrame
    limit: float
    cleared: tuple[Clearance, ...] = ()

    @property
    def flags(self) -> tuple[PainFlag, ...]:
        """The reasons to stop or hold that nobody has cleared since."""
        return tuple(f for f in self.all_flags if f.cleared is None)

    @property
    def finger_days(self) -> tuple[pd.Timestamp, ...]:
        """Days with finger sets in the block."""
        return tuple(self.load["date"])

    @property
    def recorded(self) -> bool:
        """Whether pain was asked about at all; no entry is not "no pain"."""
        return len(self.entries) > 0

    @property
    def felt(self) -> pd.DataFrame:
        """The entries that name pain or a sign, or a place without a level."""
        return self.entries[_felt(self.entries)]

    @property
    def felt_dates(self) -> tuple[pd.Timestamp, ...]:
        """Days on which pain or a sign was written down."""
        return tuple(sorted(set(self.felt["date"])))

    @property
    def none_dates(self) -> tuple[pd.Timestamp, ...]:
        """Days on which pain was asked about and none felt."""
        return tuple(sorted(set(self.entries["date"]) - set(self.felt["date"])))

    @property
    def silent_dates(self) -> tuple[pd.Timestamp, ...]:
        """Finger days for which nothing is written down; that is not "no pain"."""
        asked = set(self.entries["date"])
        return tuple(d for d in self.finger_days if d not in asked)

    @property
    def none_is_known(self) -> bool:
        """Whether "no pain" may be a headline: none felt, half of the finger days or more asked."""
        days = len(self.finger_days)
        asked = days - len(self.silent_dates)
        return bool(days) and self.felt.empty and asked >= ASKED_SHARE_FOR_NONE * days


def read_pain(
    pain: pd.DataFrame,
    sets: pd.DataFrame,
    block: Block,
    athlete: Athlete,
    sessions: pd.DataFrame | None = None,
) -> Pain:
    """
    The block's pain entries and what they ask for.

    What reached the limit or came with a sign up to `HELD_BEFORE_DAYS` before the block, and was
    not cleared when it began, is flagged too; its entries are not among the block's.

    Flags: a level at or above the block's limit; an entry in the morning; a rise over two weeks;
    any finger pain under 18 (a place not recorded may be a finger); a pop, swelling or stiffness;
    a set stopped for pain on a day without a level.

    Parameters
    ----------
    pain : rows of pain.csv.
    sets : derived sets, whose days are the finger days.
    sessions : rows of sessions.csv, for days of kind `cleared`.
    """
    inside = sets[sets["in_block"]]
    start, end = pd.Timestamp(block.start), pd.Timestamp(block.end)
    written = pain.loc[(pain["date"] >= start) & (pain["date"] <= end), list(_COLUMNS)]
    hurt = inside[inside["stopped"] == "pain"]
    written = _with_hands(written, hurt).assign(stopped=False)
    entries = pd.concat([written, _stopped_sets(hurt, written)]) if len(hurt) else written
    entries = entries.sort_values(["date", "file", "line"], kind="stable").reset_index(drop=True)
    days = tuple(sorted(set(inside["date"])))
    cleared = _clearances(sessions, start)
    felt = entries[_felt(entries)]
    before = _still_held(pain, sessions, start, block, athlete)
    felt = pd.concat([before, felt]) if len(before) else felt
    # what was felt up to a day of clearing is apart from what came after it
    turn = sum((felt["date"] > c.date for c in cleared), start=pd.Series(0, index=felt.index))
    flags = [
        flag
        for (_, _, n), of_place in felt.groupby(["site", "side", turn], sort=True)
        if (flag := _flag_of(of_place, entries, days, block, athlete, cleared[int(n) :]))
        is not None
    ]
    flags.sort(key=lambda f: (f.cleared is not None, URGENCY.index(f.reason)))
    return Pain(entries, tuple(flags), _load(inside), block.limits.pain_level, cleared)


def _load(inside: pd.DataFrame) -> pd.DataFrame:
    """Finger work by day."""
    seconds = inside["tension_s"] * inside["sets"]
    work = inside[["date", "sets"]].assign(tension_s=seconds)
    return work.groupby("date", sort=True)[["sets", "tension_s"]].sum().reset_index()


def _clearances(sessions: pd.DataFrame | None, start: pd.Timestamp) -> tuple[Clearance, ...]:
    if sessions is None:
        return ()
    rows = sessions[(sessions["kind"] == CLEARED) & (sessions["date"] >= start)]
    clearances = [Clearance(r.date, r.note, r.file, int(r.line)) for r in records(rows)]
    return tuple(sorted(clearances, key=lambda c: (c.date, c.file, c.line)))


def _felt(entries: pd.DataFrame) -> pd.Series:
    # a level that is missing was not asked, so it says nothing of "none"
    felt: pd.Series = (entries["level"] != 0) | (entries["sign"] != "")
    return felt


def _with_hands(written: pd.DataFrame, hurt: pd.DataFrame) -> pd.DataFrame:
    """Entries without a side take the hand of that day's sets stopped for pain, where it is one."""
    if hurt.empty:
        return written
    hands = {date: set(sets["hand"]) for date, sets in hurt.groupby("date")}
    one = {date: min(sides) for date, sides in hands.items() if len(sides) == 1}
    known = (written["side"] == "") & written["date"].isin(list(one)) & _felt(written)
    return written.assign(side=written["side"].mask(known, written["date"].map(one)).astype("str"))


def _stopped_sets(hurt: pd.DataFrame, written: pd.DataFrame) -> pd.DataFrame:
    """Sets stopped for pain, as entries; the place is that of the day's own entry, if one fits."""
    rows = []
    felt = written[_felt(written)]
    for s in records(hurt, "date", "hand", "file", "line"):
        fits = felt[(felt["date"] == s.date) & felt["side"].isin([s.hand, "both", ""])]
        if s.hand == "both":
            fits = felt[felt["date"] == s.date]
        site, side = (fits.iloc[0]["site"], fits.iloc[0]["side"]) if len(fits) else ("", s.hand)
        rows.append((s.date, "during", site, side, np.nan, "", "", s.file, s.line))
    frame = frame_of(rows, _COLUMNS)
    return frame.assign(stopped=True)


def _still_held(
    pain: pd.DataFrame,
    sessions: pd.DataFrame | None,
    start: pd.Timestamp,
    block: Block,
    athlete: Athlete,
) -> pd.DataFrame:
    """Entries from before the block that ask to stop and that nobody had cleared when it began."""
    since = start - pd.Timedelta(days=HELD_BEFORE_DAYS)
    if sessions is not None:
        ended = sessions.loc[(sessions["kind"] == CLEARED) & (sessions["date"] < start), "date"]
        if len(ended):
            since = max(since, ended.max() + pd.Timedelta(days=1))
    rows = pain.loc[(pain["date"] >= since) & (pain["date"] < start), list(_COLUMNS)]
    rows = rows[_felt(rows)]
    stops = (rows["level"] >= max(block.limits.pain_level, 0.5)) | (rows["sign"] != "")
    if athlete.minor is True:
        stops |= rows["site"].isin([*FINGER_SITES, ""])
    return rows[stops].assign(stopped=False)


def _flag_of(
    entries: pd.DataFrame,
    asked: pd.DataFrame,
    finger_days: tuple[pd.Timestamp, ...],
    block: Block,
    athlete: Athlete,
    cleared: tuple[Clearance, ...],
) -> PainFlag | None:
    """
    The flag of one place, from its entries that tell of pain.

    Parameters
    ----------
    asked : all entries of the block, those of level 0 too.
    cleared : the clearances that came on or after the last of the entries.
    """
    site, side = str(entries.iloc[0]["site"]), str(entries.iloc[0]["side"])
    limit = block.limits.pain_level
    high = entries[entries["level"] >= limit] if limit > 0 else entries[entries["level"] > 0]
    signs = entries[entries["sign"] != ""]
    mornings = entries[entries["when"] == "morning"]
    with_level = set(entries.loc[entries["level"].notna(), "date"])
    stopped = entries[
        entries["level"].isna() & (entries["sign"] == "") & ~entries["date"].isin(with_level)
    ]
    rising = _changed_since(entries, +1)
    true: dict[Reason, bool] = {
        "sign": len(signs) > 0,
        "under_18": athlete.minor is True and (site in FINGER_SITES or not site),
        "level": len(high) > 0,
        "stopped": len(stopped) > 0,
        "morning": len(mornings) > 0,
        "rising": rising is not None,
    }
    reasons = tuple(reason for reason in URGENCY if true[reason])
    if not reasons:
        return None
    none = asked[(asked["date"] > entries["date"].max()) & (asked["level"] == 0)]
    none = none[none["site"].isin([site, ""]) & none["side"].isin([side, "both", ""])]
    none = none[none["sign"] == ""]
    since = high["date"].min()
    after = [d for d in finger_days if d > since] if len(high) else []
    return PainFlag(
        reasons=reasons,
        site=site,
        logged_side=side,
        side=side if side in ("left", "right") else "both",
        first=entries["date"].min(),
        last=entries["date"].max(),
        worst=_worst(entries),
        limit=limit,
        high_dates=_dates(high),
        finger_days_after=len(after),
        sign=str(signs["sign"].iloc[-1]) if len(signs) else "",
        sign_date=signs["date"].iloc[-1] if len(signs) else None,
        stopped_dates=_dates(stopped),
        morning_dates=_dates(mornings),
        rising_since=rising,
        rising=none.empty and _still_rising(entries),
        falling_since=_changed_since(entries, -1),
        cleared=cleared[0].date if cleared else None,
        none_since=none["date"].max() if len(none) else None,
        minor=athlete.minor is True,
        rows=tuple(f"{f}:{n}" for f, n in zip(entries["file"], entries["line"], strict=True)),
    )


def _dates(rows: pd.DataFrame) -> tuple[pd.Timestamp, ...]:
    return tuple(sorted(set(rows["date"])))


def _worst(entries: pd.DataFrame) -> Worst | None:
    levels = entries[entries["level"] > 0]
    if levels.empty:
        return None
    top: Any = levels.loc[levels["level"].idxmax()]
    return Worst(float(top["level"]), top["date"], str(top["when"]))


def _still_rising(entries: pd.DataFrame) -> bool:
    """Whether pain rose over the two weeks to its last day, the worst of its week."""
    days = _day_maxima(entries)
    if days.empty or not _rose(days, days.index[-1], +1):
        return False
    week = days[days.index > days.index[-1] - pd.Timedelta(days=7)]
    return bool(days.iloc[-1] == week.max())


def _day_maxima(entries: pd.DataFrame) -> pd.Series:
    return entries[entries["level"] > 0].groupby("date")["level"].max()


def _rose(days: pd.Series, last: pd.Timestamp, way: int) -> pd.Timestamp | None:
    """The last day before the second of the two weeks to `last`, if pain rose or fell in it."""
    since = days.index - last
    second = days[(since > pd.Timedelta(days=-7)) & (days.index <= last)]
    first = days[(since > pd.Timedelta(days=-14)) & (since <= pd.Timedelta(days=-7))]
    if len(first) and way * (second.mean() - first.mean()) >= CHANGE_IN_TWO_WEEKS:
        return pd.Timestamp(first.index[-1])
    return None


def _changed_since(entries: pd.DataFrame, way: int) -> pd.Timestamp | None:
    """
    The last day before pain rose (`way` 1) or fell (-1) over two weeks; None where it did not.

    Two weeks end on each day with an entry; the mean of the second week's day maxima is compared
    with the mean of the first's. Pain that only began in the second week has not risen: it is new.
    A rise is found at its earliest, a fall only where the last two weeks hold one.
    """
    days = _day_maxima(entries)
    ends = days.index if way > 0 else days.index[-1:]
    return next((since for last in ends if (since := _rose(days, last, way))), None)
