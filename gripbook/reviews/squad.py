"""The squad on one page: one row an athlete, and whom to look at first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import pandas as pd

from gripbook import fmt
from gripbook.errors import GripbookError
from gripbook.logs import Logs
from gripbook.reviews.block_review import BlockReview, review


@dataclass(frozen=True, slots=True)
class SquadRow:
    """
    One athlete on the squad page. `open_first` says why to look here first ("" = no reason
    logged). `failed` tells why no review could be made.
    """

    athlete: str
    name: str
    block: str
    change: str
    sessions_done: int | None
    sessions_planned: int | None
    breaches: int | None
    pain_flags: int | None
    pain_words: str
    refused: int
    last: pd.Timestamp | None
    days_since_last: int | None
    open_first: str
    rank: int
    failed: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class SquadReview:
    """All athletes of a log folder. `last` is the squad's last logged day."""

    name: str
    last: pd.Timestamp
    rows: tuple[SquadRow, ...]
    unplaced: int

    @property
    def by_need(self) -> tuple[SquadRow, ...]:
        """The rows, those to open first on top, then by name; never by weight or ratio."""
        return tuple(sorted(self.rows, key=lambda r: (r.rank, r.name.casefold(), r.athlete)))


def review_squad(logs: Logs, block: str = "") -> SquadReview:
    """
    Review every athlete of the logs in short; with `block`, those it was planned for.

    One athlete whose review fails keeps a row that says so; the others are not touched by it.
    """
    lasts = [
        frame["date"].max()
        for name in ("hangs", "body", "sessions", "pain", "measures", "climbs")
        for frame in (logs.frame(name),)
        if len(frame)
    ]
    last = max(lasts) if lasts else pd.Timestamp(2000, 1, 3)
    rows: list[SquadRow] = []
    named = [b for b in logs.blocks if b.name == block]
    for athlete in logs.athlete_ids:
        if block and not any(b.holds_for(athlete) for b in named):
            continue
        try:
            rows.append(_row(review(logs, athlete, block), last))
        except GripbookError as err:
            rows.append(_failed(athlete, str(err)))
        except Exception as err:  # one athlete's odd log must not hide the squad
            rows.append(_failed(athlete, f"{type(err).__name__}: {err}"))
    unplaced = sum(1 for p in logs.errors if not p.athlete and p.line)
    return SquadReview(logs.folder.resolve().name, last, tuple(rows), unplaced)


def _failed(athlete: str, reason: str) -> SquadRow:
    return SquadRow(
        athlete,
        athlete,
        "",
        "",
        None,
        None,
        None,
        None,
        "",
        0,
        None,
        None,
        "The review failed",
        0,
        reason,
    )


def _row(own: BlockReview, last: pd.Timestamp) -> SquadRow:
    refused = len({(p.file, p.line) for p in own.problems if p.severity == "error"})
    since = int((last - own.last).days)
    reasons = list(_reasons(own, refused))
    return SquadRow(
        athlete=own.athlete.id,
        name=own.athlete.name,
        block=own.block.name,
        change=_change_words(own),
        sessions_done=own.done.sessions_done,
        sessions_planned=own.done.sessions_planned,
        breaches=len(own.dose.breaches),
        pain_flags=len(own.pain.flags),
        pain_words=_pain_words(own),
        refused=refused,
        last=own.last,
        days_since_last=since,
        open_first=fmt.sentence("; ".join(text for _, text in reasons)),
        rank=min((rank for rank, _ in reasons), default=9),
    )


def _pain_words(own: BlockReview) -> str:
    """Pain in a few words: reasons to hold, what was felt, or that nobody asked."""
    if own.pain.flags:
        return fmt.count(len(own.pain.flags), "reason to hold", "reasons to hold")
    if not own.pain.recorded:
        return "not recorded"
    asked = fmt.count(own.pain.entries["date"].nunique(), "day")
    felt = own.pain.felt["date"].nunique()
    return f"asked on {asked}, {f'felt on {felt}' if felt else 'none felt'}"


def _change_words(own: BlockReview) -> str:
    """The series named beforehand in a few words: its name, its verdict, its range in kg."""
    headline = own.change.headline
    if headline is None:
        return ""
    fit = headline.fit
    if fit.at_least or not fit.ok:
        return f"{headline.short}: not measured"
    width = headline.high_kg - headline.low_kg
    verdict = {"rise": "stronger", "fall": "weaker"}.get(fit.verdict, fit.verdict)
    low, high = (
        fmt.number(v, 0 if width >= 3 and abs(v) >= 1 else 1, sign=True)
        for v in (headline.low_kg, headline.high_kg)
    )
    return f"{headline.short}: {verdict}, {low} to {high}{fmt.NBSP}kg"


def _reasons(own: BlockReview, refused: int) -> Iterable[tuple[int, str]]:
    """Why to look at this athlete first, weightiest first, each with its rank."""
    if own.pain.flags:
        yield 1, f"pain: {own.pain.flags[0].place}"
    if own.dose.breaches:
        yield 2, f"{fmt.count(len(own.dose.breaches), 'limit')} broken"
    missed = own.done.missed_weeks
    if missed:
        weeks = own.done.weeks.set_index("week")["without"]
        why = ", ".join(dict.fromkeys(w for w in weeks[missed] if w))
        yield 3, f"no finger session in {fmt.weeks(missed)}" + (f" ({why})" if why else "")
    if refused:
        yield 4, f"{fmt.count(refused, 'row')} of the log not usable"
