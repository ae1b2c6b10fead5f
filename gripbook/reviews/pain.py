"""
Pain as logged, and what the log asks for. Nothing here is a diagnosis.

The levels are the log's own, 0 to 10. The published pain scales for the knee and the Achilles
tendon were made for rehabilitation under supervision and say nothing about fingers; they are not
used. The lines here are cautious choices of our own, without a source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import pandas as pd

from gripbook.derive.records import records
from gripbook.logs import Block
from gripbook.logs.schema import FINGER_SITES
from gripbook.reviews.people import Athlete
from gripbook.words import Table, fmt, mark, say

Reason = Literal["sign", "under_18", "level", "stopped", "morning", "rising"]

_SITE_WORDS = Table(
    {
        "index": mark("index finger"),
        "middle": mark("middle finger"),
        "ring": mark("ring finger"),
        "little": mark("little finger"),
        "thumb": mark("thumb"),
        "palm": mark("palm"),
        "wrist": mark("wrist"),
        "forearm": mark("forearm"),
        "elbow_inner": mark("inner elbow"),
        "elbow_outer": mark("outer elbow"),
        "shoulder": mark("shoulder"),
    }
)
_SIGN_WORDS = Table(
    {"pop": mark("a pop"), "swelling": mark("swelling"), "stiff": mark("stiffness")}
)
_WHEN_WORDS = Table(
    {
        "during": mark("while training"),
        "after": mark("after training"),
        "morning": mark("in the morning"),
    }
)
#: Pain has risen where the mean of a week's entries is at least this much above the mean of the
#: week before (own cautious choice, no source).
RISE_IN_TWO_WEEKS: Final = 1.0
_COLUMNS: Final = ("date", "when", "site", "side", "level", "sign", "note", "file", "line")


@dataclass(frozen=True, slots=True)
class PainFlag:
    """
    One place's reasons to stop or hold.

    `reasons`: most urgent first; `reason` is the first of them. `side`: `left`, `right`, or `both`
    where both are meant or the side is not recorded. `date`: the last day it was felt. `facts`:
    what was logged there, part of `text`. `rows`: the log rows it rests on, as `file:line`.
    """

    reasons: tuple[Reason, ...]
    place: str
    site: str
    side: str
    date: pd.Timestamp
    facts: str
    text: str
    rows: tuple[str, ...]

    @property
    def reason(self) -> Reason:
        """The most urgent reason."""
        return self.reasons[0]

    @property
    def stop(self) -> bool:
        """Whether that side is to be loaded no more until it was looked at."""
        return self.reason in ("sign", "under_18", "level")


@dataclass(frozen=True, slots=True, eq=False)
class Pain:
    """
    `entries`: the block's rows of pain.csv and its sets stopped for pain, in order of day, with
    `place` (words) added. A level that is missing is not known, never 0. `flags`: reasons to stop
    or hold, most urgent first, one a place.
    """

    entries: pd.DataFrame
    flags: tuple[PainFlag, ...]

    @property
    def recorded(self) -> bool:
        """Whether pain was asked about at all; no entry is not "no pain"."""
        return len(self.entries) > 0

    @property
    def felt(self) -> pd.DataFrame:
        """The entries that name pain or a sign, or a place without a level."""
        return self.entries[_felt(self.entries)]


def place_words(site: str, side: str) -> str:
    """Site and side in words: left inner elbow; ring finger."""
    if not site:
        sided = (
            say("{side} side", side=fmt.SIDE_WORDS[side])
            if side in ("left", "right")
            else say("both sides")
            if side
            else ""
        )
        return (
            say("{sided}, place not recorded", sided=sided) if sided else say("place not recorded")
        )
    words = _SITE_WORDS.get(site, site.replace("_", " "))
    if side == "both":
        return say("{words}, both sides", words=words)
    return say("{side} {words}", side=fmt.SIDE_WORDS[side], words=words) if side else words


def read_pain(pain: pd.DataFrame, sets: pd.DataFrame, block: Block, athlete: Athlete) -> Pain:
    """
    The block's pain entries and what they ask for.

    Flags: a level at or above the block's limit; an entry in the morning; a rise over two weeks;
    any finger pain under 18 (a place not recorded may be a finger); a pop, swelling or stiffness;
    a set stopped for pain on a day without a level.

    Parameters
    ----------
    pain : rows of pain.csv; sets : derived sets, whose days are the finger days.
    """
    inside = sets[sets["in_block"]]
    start, end = pd.Timestamp(block.start), pd.Timestamp(block.end)
    written = pain.loc[(pain["date"] >= start) & (pain["date"] <= end), list(_COLUMNS)]
    stopped = _stopped_sets(inside, written)
    entries = pd.concat([written, stopped], ignore_index=True) if len(stopped) else written.copy()
    entries = entries.sort_values(["date", "file", "line"], kind="stable").reset_index(drop=True)
    words = [place_words(a, b) for a, b in zip(entries["site"], entries["side"], strict=True)]
    entries["place"] = pd.Series(words, index=entries.index, dtype="str")
    days = sorted(set(inside["date"]))
    flags = [
        flag
        for _, own in entries[_felt(entries)].groupby("place", sort=True)
        if (flag := _flag_of(own, days, block, athlete)) is not None
    ]
    urgency = ("sign", "under_18", "level", "stopped", "morning", "rising")
    flags.sort(key=lambda f: (urgency.index(f.reason), f.place))
    return Pain(entries, tuple(flags))


def _felt(entries: pd.DataFrame) -> pd.Series:
    # a level that is missing was not asked, so it says nothing of "none"
    felt: pd.Series = (entries["level"] != 0) | (entries["sign"] != "")
    return felt


def _stopped_sets(sets: pd.DataFrame, written: pd.DataFrame) -> pd.DataFrame:
    """Sets stopped for pain, as entries; the place is that of the day's own entry, if one fits."""
    rows = []
    hurt = sets[sets["stopped"] == "pain"]
    if hurt.empty:
        return written.iloc[:0]
    felt = written[_felt(written)]
    for s in records(hurt, "date", "hand", "file", "line"):
        fits = felt[(felt["date"] == s.date) & felt["side"].isin([s.hand, "both", ""])]
        if s.hand == "both":
            fits = felt[felt["date"] == s.date]
        site, side = (fits.iloc[0]["site"], fits.iloc[0]["side"]) if len(fits) else ("", s.hand)
        note = say("a set was stopped for pain")
        rows.append((s.date, "during", site, side, np.nan, "", note, s.file, s.line))
    return pd.DataFrame(rows, columns=list(_COLUMNS)).astype(
        {"date": "datetime64[us]", "level": "float64", "line": "int64"}
        | dict.fromkeys(("when", "site", "side", "sign", "note", "file"), "str")
    )


def _flag_of(
    own: pd.DataFrame, finger_days: list[pd.Timestamp], block: Block, athlete: Athlete
) -> PainFlag | None:
    """The flag of one place, from its entries that tell of pain."""
    site, side, place = (str(own.iloc[0][c]) for c in ("site", "side", "place"))
    limit = block.limits.pain_level
    high = own[own["level"] >= limit] if limit > 0 else own[own["level"] > 0]
    signs = own[own["sign"] != ""]
    mornings = own[own["when"] == "morning"]
    since = _rising_since(own)
    days_with_level = set(own.loc[own["level"].notna(), "date"])
    stopped = own[own["level"].isna() & (own["sign"] == "") & ~own["date"].isin(days_with_level)]
    young = athlete.minor is True and (site in FINGER_SITES or not site)

    found: dict[Reason, bool] = {
        "sign": len(signs) > 0,
        "under_18": young,
        "level": len(high) > 0,
        "stopped": len(stopped) > 0,
        "morning": len(mornings) > 0,
        "rising": since is not None,
    }
    reasons = tuple(reason for reason, true in found.items() if true)
    if not reasons:
        return None

    facts = []
    if len(signs):
        row = signs.iloc[-1]
        where = say(" in the {place}", place=place) if site else ""
        facts.append(
            say(
                "{sign_words}{where} on {day}",
                sign_words=_SIGN_WORDS[row["sign"]],
                where=where,
                day=_day(row["date"]),
            )
        )
    levels = own[own["level"] > 0]
    if len(levels):
        worst = levels.loc[levels["level"].idxmax()]
        when = _WHEN_WORDS.get(worst["when"], "")
        words = say(
            "{level} of 10 {when}", level=fmt.number(worst["level"]), when=when
        ).strip() + say(" on {day}", day=_day(worst["date"]))
        if len(high):
            words += say(" (the block's limit is {limit})", limit=fmt.number(limit))
        facts.append(words)
    if len(stopped):
        facts.append(
            say(
                "pain on {value}, its level not recorded",
                value=fmt.listing(_day(d) for d in sorted(set(stopped["date"]))),
            )
        )
    if len(mornings):
        n = mornings["date"].nunique()
        if n == 1:
            facts.append(say("there on the morning of {day}", day=_day(mornings["date"].iloc[0])))
        else:
            facts.append(
                say("there on {mornings}", mornings=fmt.count(n, "{n} morning", "{n} mornings"))
            )
    if since is not None:
        facts.append(say("rising since {day}", day=_day(since)))

    told, tail = ", ".join(facts), ""
    if reasons[0] == "sign":
        text = say(
            "Stop today: {told}. Don't load {hand} again before a doctor has looked at {value}.",
            told=told,
            hand=_hand(side),
            value=say("it") if site else say("the place"),
        )
    else:
        text = fmt.headed(_action(reasons[0], place, site, side), f"{told}.")
    if len(high):
        first = high["date"].min()
        after = sum(1 for d in finger_days if d > first)
        if after:
            tail = say(
                " {finger_days} came after {day}, the first day at the limit.",
                finger_days=fmt.sentence(fmt.count(after, "{n} finger day", "{n} finger days")),
                day=_day(first),
            )
    meant = side if side in ("left", "right") else "both"
    return PainFlag(
        reasons=reasons,
        place=place,
        site=site,
        side=meant,
        date=own["date"].max(),
        facts=told,
        text=text + tail,
        rows=tuple(f"{f}:{n}" for f, n in zip(own["file"], own["line"], strict=True)),
    )


def _hand(side: str) -> str:
    """Which hands are meant; a side that is not recorded means both."""
    if side in ("left", "right"):
        return say("the {side} hand, two-hand hangs included,", side=fmt.SIDE_WORDS[side])
    return say("both hands") if side == "both" else say("both hands (the side is not recorded)")


def _action(reason: Reason, place: str, site: str, side: str) -> str:
    """What to do and whom to see: the first half of a flag's sentence."""
    hand = _hand(side)
    part = say("the {place}", place=place) if site else say("it")
    if reason == "under_18":
        return say(
            "Stop loading {hand} and have {part} looked at by a physician promptly, "
            "as any finger pain under 18",
            hand=hand,
            part=part,
        )
    if reason == "level":
        return say(
            "Stop loading {hand} and have {part} looked at by a physician or "
            "physiotherapist this week",
            hand=hand,
            part=part,
        )
    return say(
        "Hold: nothing heavier, smaller or longer for {hand} until a physician "
        "or physiotherapist has looked at {part}",
        hand=hand,
        part=part,
    )


def _rising_since(own: pd.DataFrame) -> pd.Timestamp | None:
    """
    The last day before pain rose over two weeks, the earliest there is; None where it did not.

    Two weeks end on each day with an entry; the mean of the second week's day maxima is compared
    with the mean of the first's. Pain that only began in the second week has not risen: it is new.
    """
    days = own[own["level"] > 0].groupby("date")["level"].max()
    for last in days.index:
        second = days[(days.index > last - pd.Timedelta(days=7)) & (days.index <= last)]
        first = days[
            (days.index > last - pd.Timedelta(days=14))
            & (days.index <= last - pd.Timedelta(days=7))
        ]
        if len(first) and second.mean() - first.mean() >= RISE_IN_TWO_WEEKS:
            return pd.Timestamp(first.index[-1])
    return None


def _day(day: pd.Timestamp) -> str:
    return fmt.day(day.date(), year=False)
