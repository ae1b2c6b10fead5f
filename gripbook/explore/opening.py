"""An athlete's log opened for exploring: the review, and what stands in the log around it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import cast

import pandas as pd

from gripbook.errors import GripbookError
from gripbook.explore import picker
from gripbook.logs import DateOrder, Logs, load_logs
from gripbook.report.notebook_view import check_dates, demo_folder, draw_here
from gripbook.reviews import BlockReview, review
from gripbook.reviews.change_facts import PathKind
from gripbook.reviews.people import Athlete
from gripbook.words import fmt
from gripbook.words.pain import place

CAPACITIES = ("hang", "repeater", "pull")


@dataclass(frozen=True, slots=True, eq=False)
class Explorer:
    """
    One athlete's block to explore.

    `review`: as `gripbook.review` gives it, so that every chart of `gripbook.charts` can be drawn
    of it. `body`: weigh-ins of the block, `date` and `body_mass_kg`; empty where body mass is
    hidden. `marks`: notes and pain entries of the block, `date`, `kind` (`note` or `pain`),
    `words`, `file`, `line`. `logs`: the athlete's own.
    """

    review: BlockReview
    body: pd.DataFrame
    marks: pd.DataFrame
    logs: Logs

    @property
    def athlete(self) -> Athlete:
        """Whose block it is; views write loads in their units."""
        return self.review.athlete

    def series(self) -> list[tuple[str, str, str]]:
        """Capacity, grip and hand of all that was done in the block, most sets first."""
        rows = self.review.sets
        rows = rows[rows["in_block"] & ~rows["warmup"]]
        count = rows.groupby(["exercise", "grip", "hand"])["sets"].sum()
        order = sorted(count.items(), key=lambda item: (-item[1], item[0]))
        return [(str(e), str(g), str(h)) for (e, g, h), _ in order]

    def __repr__(self) -> str:
        """Name the block, and its series as arguments that can be copied."""
        r = self.review
        lines = [f"{r.athlete.name}, {r.block.name}", *map(picker.arguments, self.series())]
        return "\n  ".join(lines if len(lines) > 1 else [*lines, "no sets"])


def open_log(logs: str = "", athlete: str = "", block: str = "", dates: str = "") -> Explorer:
    """
    Open one athlete's block for exploring. Charts are drawn by the notebook from here on.

    Parameters
    ----------
    logs : the folder; empty: the demo squad.
    athlete, block : empty: the first athlete, and the latest block begun.
    dates : "", "day-first" or "month-first".

    Raises
    ------
    GripbookError : the folder, athlete or block is not there; the message names what is.
    """
    draw_here()
    check_dates(dates)
    folder = load_logs(logs or demo_folder(), dates=cast("DateOrder | None", dates or None))
    found = explorer_of(folder, athlete, block)
    _head(folder, found.review)
    return found


def _head(logs: Logs, r: BlockReview) -> None:
    """Show in a notebook whose block it is, to choose another, and how old the logs are."""
    from IPython.core.getipython import get_ipython
    from IPython.display import display

    changed = [(logs.folder / report.file) for report in logs.reports]
    times = [path.stat().st_mtime for path in changed if path.is_file()]
    if times and get_ipython() is not None:
        when = dt.datetime.fromtimestamp(max(times))
        rows = sum(report.rows_used for report in logs.reports)
        words = (
            f"Logs of {fmt.day(when.date(), year=False)}, {when:%H:%M}: "
            f"{fmt.count(rows, '{n} row', '{n} rows')}. Newer ones? Run > Run All Cells."
            f"{not_used(logs)}"
        )
        display(picker.people(logs, r, words))


def not_used(logs: Logs) -> str:
    """That rows were refused, or a block file has errors; "" where neither is so."""
    refused = sum(report.rows_refused for report in logs.reports)
    told = [fmt.count(refused, "{n} row was refused", "{n} rows were refused")] if refused else []
    told += [
        f"{name} has errors"
        for name in sorted({p.file for p in logs.problems if p.severity == "error"})
        if name.endswith(".toml")
    ]
    said = f" {fmt.sentence(fmt.listing(told))}: gripbook check says what to do."
    return said if told else ""


def explorer_of(logs: Logs, athlete: str = "", block: str = "") -> Explorer:
    """Open one athlete's block of logs already read."""
    r = review(logs, athlete, block)
    own = logs.for_athlete(r.athlete.id)
    return Explorer(r, _body(own, r), _marks(own, r), own)


def _inside(frame: pd.DataFrame, r: BlockReview) -> pd.DataFrame:
    start, end = pd.Timestamp(r.block.start), pd.Timestamp(r.block.end)
    return frame[(frame["date"] >= start) & (frame["date"] <= end)]


def _body(own: Logs, r: BlockReview) -> pd.DataFrame:
    rows = _inside(own.body, r)
    rows = rows if r.athlete.show_body_mass else rows.iloc[:0]
    return rows[["date", "body_mass_kg", "file", "line"]].reset_index(drop=True)


def _marks(own: Logs, r: BlockReview) -> pd.DataFrame:
    found: list[dict[str, object]] = []
    for e in r.pain.felt.itertuples():
        where = place(e.site, e.side)
        level = f", {fmt.number(e.level)} of 10" if e.level == e.level else ""
        told = [f"{where}{level}", e.when, e.sign, plain_note(e.note, r)]
        found.append(_mark(e, "pain", ", ".join(w for w in told if w)))
    frames = [_inside(own.hangs, r), _inside(own.sessions, r)]
    if r.athlete.show_body_mass:
        frames.append(_inside(own.body, r))
    for frame in frames:
        noted = frame[frame["note"] != ""]
        found += [
            _mark(e, "note", words) for e in noted.itertuples() if (words := plain_note(e.note, r))
        ]
    columns = ["date", "kind", "words", "file", "line"]
    marks = pd.DataFrame(found, columns=columns)
    return marks.sort_values(["date", "kind", "file", "line"]).reset_index(drop=True)


def _mark(row: object, kind: str, words: str) -> dict[str, object]:
    get = {name: getattr(row, name) for name in ("date", "file", "line")}
    return {**get, "kind": kind, "words": words}


def plain_note(text: str, r: BlockReview) -> str:
    """A note as it may be shown: where body mass is hidden, none with a figure in it."""
    if not r.athlete.show_body_mass and any(c.isdigit() for c in text):
        return ""
    return text


def choose(x: Explorer, capacity: str = "", grip: str = "", hand: str = "") -> tuple[str, str, str]:
    """
    The series meant by what was given of its name: the headline where it fits, else most sets.

    Raises
    ------
    GripbookError : nothing in the block is called so; the message names what there is.
    """
    known = x.series()
    if not known:
        raise GripbookError(
            f"{x.review.athlete.name} has no sets in {x.review.block.name}, so there is nothing "
            "to explore. Look at `gripbook check` for rows that were refused."
        )
    asked_for = (capacity, grip, hand)
    fits = [s for s in known if all(map(_meant, asked_for, s, _WORDS))]
    if not fits:  # "open hand", where one open hand was trained
        fits = [s for s in known if all(map(_begun, asked_for, s, _WORDS))]
        fits = fits if len({s[1] for s in fits}) == 1 else []
    if not fits:
        asked = ", ".join(
            f'{k}="{v}"' for k, v in (("capacity", capacity), ("grip", grip), ("hand", hand)) if v
        )
        there = "\n".join(f"  {picker.arguments(s)}" for s in known)
        raise GripbookError(f"No sets with {asked} in this block. There are:\n{there}")
    if (first := x.review.change.headline) is not None:
        name = (first.fit.capacity, first.fit.grip, first.fit.hand)
        if name in fits:
            return name
    return fits[0]


#: What menus and tables call a capacity, grip and hand.
_WORDS: tuple[Callable[[str], str], ...] = (
    lambda capacity: fmt.EXERCISE_WORDS[capacity],
    fmt.grip,
    lambda hand: fmt.HAND_WORDS[hand],
)


def _meant(asked: str, name: str, words: Callable[[str], str]) -> bool:
    """Whether a name is meant: as the log writes it or as menus do, in small or capital letters."""
    return _plain(asked) in ("", _plain(name), _plain(words(name)))


def _begun(asked: str, name: str, words: Callable[[str], str]) -> bool:
    """Whether the words of a name begin with what was asked for, up to a comma."""
    return _meant(asked, name, words) or _plain(words(name)).startswith(f"{_plain(asked)},")


def _plain(text: str) -> str:
    return " ".join(text.replace("_", " ").replace("-", " ").casefold().split())


def bound_words(x: Explorer, series: tuple[str, str, str]) -> str:
    """What is known of a series that no set tells the limit of, to be set after its name."""
    found = [s for s in x.review.change.series if (s.capacity, s.grip, s.hand) == series]
    kinds = {s.path_kind for s in found}
    if kinds == {PathKind.AT_LEAST}:
        return ": limit never reached, at least the hollow marks"
    if kinds == {PathKind.AT_MOST}:
        return ": every set failed, at most the hollow marks"
    return ""
