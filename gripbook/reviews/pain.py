"""Pain as logged, and what the log asks for. Nothing here is a diagnosis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from gripbook import fmt
from gripbook.logs import Block
from gripbook.logs.schema import FINGER_SITES
from gripbook.reviews.people import Athlete

_SITE_WORDS = {"elbow_inner": "inner elbow", "elbow_outer": "outer elbow"}


@dataclass(frozen=True, slots=True)
class PainFlag:
    """One reason to stop or hold, with the day it was last seen."""

    reason: str
    place: str
    date: pd.Timestamp
    text: str


@dataclass(frozen=True, slots=True, eq=False)
class Pain:
    """
    `entries`: the block's rows of pain.csv in order of day. `asked_none`: rows that say none.
    `flags`: reasons to stop or hold.
    """

    entries: pd.DataFrame
    flags: tuple[PainFlag, ...]

    @property
    def recorded(self) -> bool:
        """Whether pain was asked about at all; no entry is not "no pain"."""
        return len(self.entries) > 0

    @property
    def felt(self) -> pd.DataFrame:
        """The entries that name pain or a sign."""
        return self.entries[(self.entries["level"] > 0) | (self.entries["sign"] != "")]


def place_words(site: str, side: str) -> str:
    """Site and side in words: left inner elbow; ring finger."""
    words = _SITE_WORDS.get(site, site.replace("_", " ")) or "place not recorded"
    if site in FINGER_SITES and site != "thumb":
        words += " finger"
    if side == "both":
        return f"{words}, both sides"
    return f"{side} {words}".strip()


def read_pain(
    pain: pd.DataFrame, finger_days: Sequence[pd.Timestamp], block: Block, athlete: Athlete
) -> Pain:
    """
    The block's pain entries and what they ask for; `finger_days`: the days with finger work.

    Flags: a level at or above the block's limit; any finger pain under 18; a pop, swelling or
    stiffness. The levels are the log's own; no published scale for fingers is used, since there
    is none.
    """
    start, end = pd.Timestamp(block.start), pd.Timestamp(block.end)
    entries = pain[(pain["date"] >= start) & (pain["date"] <= end)]
    entries = entries.sort_values(["date", "file", "line"], kind="stable").reset_index(drop=True)
    flags: list[PainFlag] = []
    places = [place_words(a, b) for a, b in zip(entries["site"], entries["side"], strict=True)]
    for place, own in entries.groupby(pd.Series(places, index=entries.index, dtype="str")):
        flags += _flags_of(str(place), own, finger_days, block, athlete)
    return Pain(entries, tuple(flags))


def _flags_of(
    place: str,
    own: pd.DataFrame,
    finger_days: Sequence[pd.Timestamp],
    block: Block,
    athlete: Athlete,
) -> list[PainFlag]:
    flags: list[PainFlag] = []
    limit = block.limits.pain_level
    high = own[own["level"] >= limit] if limit > 0 else own[own["level"] > 0]
    if len(high):
        worst = high.loc[high["level"].idxmax()]
        first = high["date"].min()
        after = [d for d in finger_days if d > first]
        since = ""
        if after:
            since = (
                f" The limit was first reached on {fmt.day(first.date(), year=False)}; "
                f"{fmt.count(len(after), 'finger day')} followed."
            )
        flags.append(
            PainFlag(
                "level",
                place,
                high["date"].max(),
                f"Hold loading that side: {place}, {fmt.number(worst['level'])} of 10 on "
                f"{fmt.day(worst['date'].date(), year=False)} (the block's limit is "
                f"{fmt.number(limit)}). Have it looked at by a physician or physiotherapist."
                + since,
            )
        )
    signs = own[own["sign"] != ""]
    if len(signs):
        row = signs.iloc[-1]
        word = {"pop": "a pop", "swelling": "swelling", "stiff": "stiffness"}[row["sign"]]
        flags.append(
            PainFlag(
                "sign",
                place,
                row["date"],
                f"Stop loading: {word} in the {place} on "
                f"{fmt.day(row['date'].date(), year=False)}. See a physician before loading again.",
            )
        )
    young = own[(own["level"] > 0) & own["site"].isin(FINGER_SITES)]
    if athlete.minor and len(young):
        flags.append(
            PainFlag(
                "under_18",
                place,
                young["date"].max(),
                f"Stop loading: pain in the {place} under 18 must be looked at by a physician "
                "promptly, whatever its level.",
            )
        )
    return flags
