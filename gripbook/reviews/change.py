"""
What changed: the strength model's estimates in words, and in the kilograms a page may show.

Where body mass is hidden, a change has a verdict and a range in whole kilograms, no more: see
`reviews.shown`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import pandas as pd

from gripbook.logs import Block
from gripbook.reviews.people import Athlete
from gripbook.strength import Estimate, SeriesFit, SeriesKey, StrengthFit, split_ratio
from gripbook.words import Table, fmt, mark, say

#: What the verdict's rule lets pass: a rise told in 5 of 100 series that did not change.
FALSE_RISE_SHARE = 0.05
#: A way of logging or a test day is worth naming from this share of a narrower interval on
#: (own choice, no source).
WORTH_NAMING = 0.05
#: What the verdicts are called in a table.
VERDICT_WORDS = Table(
    {
        "rise": mark("rise"),
        "fall": mark("fall"),
        "steady": mark("steady"),
        "unclear": mark("unclear"),
    }
)


@dataclass(frozen=True, slots=True, eq=False)
class SeriesChange:
    """
    One series as the page tells it; NaN where a figure is not known.

    `path`: `day` (date), `kg`, `low_kg`, `high_kg`. `points`: `day`, `kg`, `kind` (`exact`,
    `at least`, `at most`), `file`, `line`. `low_kg` to `high_kg` is the change with its 90 %
    interval. Where body mass is hidden that is in whole kilograms rounded outward, `path` and
    `points` are empty, `start_kg` and `end_kg` NaN, and `fit` holds no true load (see
    `reviews.shown`).
    """

    fit: SeriesFit
    name: str
    short: str
    sentence: str
    start_kg: float
    end_kg: float
    low_kg: float
    high_kg: float
    path: pd.DataFrame
    points: pd.DataFrame


@dataclass(frozen=True, slots=True, eq=False)
class Change:
    """
    All series of a block, the headline first.

    `headline` is the series the plan named beforehand (None where the log lacks it), `note` says
    how many were looked at, `pairs` compares hands and grips, `weaker` says which hand and which
    grip is the weaker one where that can be told, `ratio` splits the ratio's change,
    `sharper` says what would narrow the headline's interval, `reasons` what was not used.
    """

    series: tuple[SeriesChange, ...]
    headline: SeriesChange | None
    note: str
    pairs: tuple[str, ...]
    weaker: str
    ratio: str
    sharper: tuple[str, ...]
    reasons: tuple[str, ...]


def describe_change(
    fit: StrengthFit, sets: pd.DataFrame, block: Block, athlete: Athlete, *, hurt: bool
) -> Change:
    """
    Put a fit into words and into what the page may show.

    Parameters
    ----------
    fit : from `fit_strength` of `sets`, the athlete's derived sets. hurt : pain holds loading, so
        no test day is suggested.
    """
    told = [_describe(s, block, athlete) for s in fit.series]
    headline = _headline(told, block)
    order = sorted(told, key=lambda t: t is not headline)
    may_test = not hurt and not athlete.minor
    pairs = [*_pairs(fit, told, athlete)]
    return Change(
        series=tuple(order),
        headline=headline,
        note=_note(told),
        pairs=tuple(pair.words for pair in pairs),
        weaker=_weaker(pairs, athlete),
        ratio=_ratio(headline, sets, block) if athlete.show_body_mass else "",
        sharper=tuple(_sharper(fit, headline, sets, may_test)) if headline else (),
        reasons=fit.reasons,
    )


def _headline(told: list[SeriesChange], block: Block) -> SeriesChange | None:
    """The series named beforehand; without one, the series with most sets."""
    wanted = block.headline
    if wanted is None:
        return max(told, key=lambda t: (t.fit.ok, t.fit.sets), default=None)
    name = (wanted.capacity, wanted.grip, wanted.hand)
    own = [t for t in told if (t.fit.capacity, t.fit.grip, t.fit.hand) == name]
    return own[0] if own else None


def _note(told: list[SeriesChange]) -> str:
    judged = sum(t.fit.ok for t in told)
    if judged < 2:
        return ""
    rate = 1 - (1 - FALSE_RISE_SHARE) ** judged
    return say(
        "{seriess} were looked at. Even if nothing changed in any, up to {rate} "
        "in 100 athletes would see a rise in one by chance; so the series named "
        "beforehand counts, not the biggest change.",
        seriess=fmt.sentence(fmt.count(judged, "{n} series", "{n} series")),
        rate=fmt.number(100 * rate, 0),
    )


# --- one series -------------------------------------------------------------------------------


def capacity_words(capacity: str, block: Block) -> str:
    """A capacity in words, with the hold or set it is stated for."""
    if capacity == "hang":
        return say(
            "timed hang of {reference_hang_s}~s",
            reference_hang_s=fmt.number(block.reference_hang_s),
        )
    if capacity == "repeater":
        phase = next((p for p in block.phases if p.exercise == "repeater"), None)
        reps = phase.reps if phase and phase.reps else 6
        hold = phase.hang_s if phase and phase.hang_s else 7.0
        return say("repeaters, {reps} holds of {hold}~s", reps=reps, hold=fmt.number(hold))
    return say("all-out pull")


def _describe(s: SeriesFit, block: Block, athlete: Athlete) -> SeriesChange:
    show = athlete.show_body_mass
    kind = say(", highest reading") if s.load_kind == "peak" else ""
    short = fmt.series(s.grip, s.hand, s.edge_mm) + kind
    name = f"{capacity_words(s.capacity, block)}, {short}"
    low, high = s.low_pct * s.start_kg / 100.0, s.high_pct * s.start_kg / 100.0
    if not show and math.isfinite(low) and math.isfinite(high):
        low, high = float(math.floor(low)), float(math.ceil(high))
    words = _words(s, low, high, show=show, goal=block.goal)
    path, points = _path(s, block), _points(s, block)
    return SeriesChange(
        fit=s,
        name=name,
        short=short,
        sentence=fmt.headed(fmt.sentence(name), words),
        start_kg=s.start_kg if show else math.nan,
        end_kg=s.end_kg if show else math.nan,
        low_kg=low,
        high_kg=high,
        path=path if show else path.iloc[:0],
        points=points if show else points.iloc[:0],
    )


def _path(s: SeriesFit, block: Block) -> pd.DataFrame:
    day = pd.Timestamp(block.start) + pd.to_timedelta(s.path_day, unit="D")
    kg = {"kg": s.path_load_kg, "low_kg": s.path_low_kg, "high_kg": s.path_high_kg}
    return pd.DataFrame({"day": day, **kg})


def _points(s: SeriesFit, block: Block) -> pd.DataFrame:
    start = pd.Timestamp(block.start)
    return pd.DataFrame(
        [(start + pd.Timedelta(days=p.day), p.load_kg, p.kind, p.file, p.line) for p in s.points],
        columns=["day", "kg", "kind", "file", "line"],
    )


def _words(s: SeriesFit, low: float, high: float, *, show: bool, goal: str) -> str:
    """The verdict in plain words, kilograms rounded to what the interval supports."""
    if s.at_least:
        ends = ((s.start_kg, say("near the start")), (s.end_kg, say("near the end")))
        floors = [
            say("at least {v} {when}", v=kilograms(v, 9), when=when)
            for v, when in ends
            if math.isfinite(v)
        ]
        fresh = say(", counted as a day's first set")
        shown = (
            say(" It shows {floors}{fresh}.", floors=fmt.listing(floors), fresh=fresh)
            if floors and show
            else ""
        )
        return say(
            "every set was finished, so the log has no upper end and tells no change.{shown}",
            shown=shown,
        )
    if not s.ok:
        return (fmt.clauses(s.reasons) or say("not measured")) + "."
    width = high - low
    start, end = kilograms(s.start_kg, width), kilograms(s.end_kg, width)
    rose = say(" from about {start} to {end}", start=start, end=end) if show else ""
    stood = (
        say(" about {start} at the start, {end} at the end;", start=start, end=end) if show else ""
    )
    if s.verdict == "rise":
        gain = say(
            "between {low} and {high}", low=kilograms_bare(low, width), high=kilograms(high, width)
        )
        return say("stronger{rose}, a gain {gain}.", rose=rose, gain=gain)
    if s.verdict == "fall":
        loss = say(
            "between {high} and {low}",
            high=kilograms_bare(-high, width),
            low=kilograms(-low, width),
        )
        return say("weaker{rose}, a loss {loss}.", rose=rose, loss=loss)
    out = ruled_out(low, high, width)
    if s.verdict == "steady":
        return say(
            "steady{value}:{stood} {out}.",
            value=say(", as planned") if goal == "hold" else "",
            stood=stood,
            out=out,
        )
    return say("unclear:{stood} {out}.", stood=stood, out=out)


def ruled_out(low: float, high: float, width: float) -> str:
    """What an interval of a change in kg rules out."""
    loss = (
        say("not a loss of more than {low}", low=kilograms(-low, width))
        if low < 0
        else say("not a loss")
    )
    gain = (
        say("not a gain of more than {high}", high=kilograms(high, width))
        if high > 0
        else say("not a gain")
    )
    return f"{loss}, {gain}"


def kilograms_bare(value: float, width: float) -> str:
    """The number of `kilograms` without its unit."""
    return fmt.number(fmt.own_mass(value), digits_of(value, width))


def digits_of(value: float, width: float) -> int:
    """Decimals of kilograms that an interval of this width (kg) supports, in the unit in use."""
    return 0 if fmt.own_mass(width) >= 3 and abs(fmt.own_mass(value)) >= 1 else 1


def kilograms(value: float, width: float) -> str:
    """Kilograms in the unit in use, rounded to what an interval of this width (kg) supports."""
    return f"{kilograms_bare(value, width)}{fmt.NBSP}{fmt.mass_unit()}"


# --- series against series --------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Pair:
    """
    Two series compared; `weaker` is None where they are not apart, else the other is
    `stronger_pct` stronger.
    """

    words: str
    weaker: SeriesFit | None
    of: str  # "hand" or "grip"
    stronger_pct: float
    at_start: bool


def _weaker(pairs: list[_Pair], athlete: Athlete) -> str:
    """One sentence: which hand and which grip is the weaker one, where the log tells it."""
    clauses: list[str] = []
    for of in ("hand", "grip"):
        pair = next((p for p in pairs if p.of == of and p.weaker), None)
        if pair is None or pair.weaker is None:
            continue
        own = pair.weaker
        by = (
            say(
                ", the other about {pct} stronger",
                pct=fmt.with_unit(max(pair.stronger_pct, 1), "%", 0),
            )
            if athlete.show_body_mass
            else ""
        )
        what, grip = fmt.EXERCISE_WORDS[own.capacity], fmt.grip(own.grip)
        if of == "hand":
            clauses.append(
                say(
                    "your {hand} is the weaker one in {what}, {grip}{by}",
                    hand=fmt.HAND_WORDS[own.hand],
                    what=what,
                    grip=grip,
                    by=by,
                )
            )
        elif pair.at_start:
            clauses.append(
                say(
                    "the weaker grip in {what} at the block's start: {grip}{by}",
                    what=what,
                    grip=grip,
                    by=by,
                )
            )
        else:
            clauses.append(
                say("the weaker grip in {what}: {grip}{by}", what=what, grip=grip, by=by)
            )
    return f"{fmt.sentence(fmt.clauses(clauses))}." if clauses else ""


def _pairs(fit: StrengthFit, told: list[SeriesChange], athlete: Athlete) -> Iterable[_Pair]:
    """Left against right, and grip against grip, at the block's end."""
    known = [t.fit for t in told if math.isfinite(t.fit.end_kg) and not t.fit.at_least]
    for left in known:
        right = fit.find(left.capacity, left.grip, "right", left.load_kind)
        if left.hand == "left" and right in known and right is not None:
            what = f"{_capacity_name(left)}, {fmt.grip(left.grip)}"
            yield _compare(fit, say("{what}, right against left", what=what), right, left, athlete)
    groups: dict[tuple[str, str, str, float], list[SeriesFit]] = {}
    for s in known:
        groups.setdefault((s.capacity, s.hand, s.load_kind, s.edge_mm), []).append(s)
    for own in groups.values():
        ordered = sorted(own, key=lambda s: -s.end_kg)
        for one, other in pairwise(ordered):
            what = say(
                "{capacity_name}, {hand_words}, {grip} against {grip_2}",
                capacity_name=_capacity_name(one),
                hand_words=fmt.HAND_WORDS[one.hand],
                grip=fmt.grip(one.grip),
                grip_2=fmt.grip(other.grip),
            )
            yield _compare(fit, what, one, other, athlete)
    yield from _pairs_at_the_start(fit, told, known, athlete)


def _pairs_at_the_start(
    fit: StrengthFit, told: list[SeriesChange], at_end: list[SeriesFit], athlete: Athlete
) -> Iterable[_Pair]:
    """Grip against grip on the block's first day, where only that tells of both."""
    groups: dict[tuple[str, str, str, float], list[SeriesFit]] = {}
    for s in (t.fit for t in told if math.isfinite(t.fit.start_kg) and not t.fit.at_least):
        groups.setdefault((s.capacity, s.hand, s.load_kind, s.edge_mm), []).append(s)
    for own in groups.values():
        for one, other in pairwise(sorted(own, key=lambda s: -s.start_kg)):
            if one in at_end and other in at_end:
                continue
            what = say(
                "{capacity_name}, {hand_words}, {grip} against {grip_2}, at the block's start",
                capacity_name=_capacity_name(one),
                hand_words=fmt.HAND_WORDS[one.hand],
                grip=fmt.grip(one.grip),
                grip_2=fmt.grip(other.grip),
            )
            yield _compare(fit, what, one, other, athlete, day=0.0)


def _capacity_name(s: SeriesFit) -> str:
    return fmt.sentence(fmt.EXERCISE_WORDS[s.capacity])


def _compare(
    fit: StrengthFit,
    what: str,
    one: SeriesFit,
    other: SeriesFit,
    athlete: Athlete,
    day: float | None = None,
) -> _Pair:
    found = fit.difference(one.key, other.key, day)
    apart = found.low > 0 or found.high < 0
    more = found.value if found.value > 0 else 100 / (1 + found.value / 100) - 100
    return _Pair(
        words=_compared(found, what, athlete, apart=apart),
        weaker=(one if found.value < 0 else other) if apart else None,
        of="hand" if one.grip == other.grip else "grip",
        stronger_pct=more,
        at_start=day is not None,
    )


def _compared(found: Estimate, what: str, athlete: Athlete, *, apart: bool) -> str:
    if not athlete.show_body_mass:  # a per cent beside kilograms gives the load away
        if not apart:
            return say("{what}: not distinguishable.", what=what)
        stronger = found.value > 0
        return (
            say("{what}: stronger.", what=what) if stronger else say("{what}: weaker.", what=what)
        )
    between = say(
        "between {low} and {high}",
        low=fmt.number(found.low, 0),
        high=fmt.with_unit(found.high, "%", 0),
    )
    if not apart:
        return say("{what}: not distinguishable ({between}).", what=what, between=between)
    return fmt.headed(what, f"{fmt.number(found.value, 0, sign=True)}{fmt.NBSP}% ({between}).")


# --- the ratio --------------------------------------------------------------------------------


def _ratio(headline: SeriesChange | None, sets: pd.DataFrame, block: Block) -> str:
    """How the headline's load per kilogram of body mass moved, and what moved it."""
    weighed = sets[sets["in_block"] & sets["body_mass_kg"].notna()]
    if headline is None or not headline.fit.ok or weighed.empty:
        return ""
    first, last = weighed.iloc[0], weighed.iloc[-1]
    error = max(first["body_mass_error_kg"], last["body_mass_error_kg"])
    split = split_ratio(headline.fit, first["body_mass_kg"], last["body_mass_kg"], error)
    return say(
        "{name}: load {moved} ({between}), body mass {moved_2} ({between_2}): "
        "load per kilogram of body mass {moved_3} ({between_3}). Body mass "
        "changes for many reasons; this page gives no advice on it.",
        name=fmt.sentence(headline.name),
        moved=_moved(split.force.value),
        between=_between(split.force.low, split.force.high),
        moved_2=_moved(split.mass.value),
        between_2=_between(split.mass.low, split.mass.high),
        moved_3=_moved(split.ratio.value),
        between_3=_between(split.ratio.low, split.ratio.high),
    )


def _moved(pct: float) -> str:
    if abs(pct) < 0.05:
        return say("stayed")
    by = fmt.number(abs(pct), 1)
    return say("rose {by}~%", by=by) if pct > 0 else say("fell {by}~%", by=by)


def _between(low: float, high: float) -> str:
    return say("between {low} and {high}", low=fmt.number(low, 1), high=fmt.with_unit(high, "%", 1))


# --- what would make it sharper ---------------------------------------------------------------


def _sharper(
    fit: StrengthFit, headline: SeriesChange, sets: pd.DataFrame, may_test: bool
) -> Iterable[str]:
    """Ways of logging first, then test days, each with how much it would narrow the interval."""
    key = headline.fit.key
    if headline.fit.at_least:
        yield (
            say(
                "Writing down after finished sets how many seconds or holds were left "
                "would give the log an upper end, so that a change could be told."
            )
        )
        return
    if not headline.fit.ok:
        return
    now = fit.change_sd(key)
    if not math.isfinite(now) or now <= 0:
        return
    gain = 1 - fit.with_reserves(key) / now
    if gain >= WORTH_NAMING:
        yield (
            say(
                "Writing down after finished sets how many seconds or holds were left "
                "would have made the interval about {gain}~% narrower.",
                gain=fmt.number(100 * gain, 0),
            )
        )
    if headline.fit.edge_share >= WORTH_NAMING:
        yield (
            say(
                "The edge changed with time, so change and edge can't be told fully "
                "apart: a set on {edge_mm}~mm in the last week would help.",
                edge_mm=fmt.number(headline.fit.edge_mm),
            )
        )
    if not may_test:
        return
    extra = _test_rows(sets, key, fit.evidence.last_day)
    gain = 1 - fit.change_sd(key, extra) / now if len(extra) else 0.0
    if gain >= WORTH_NAMING:
        yield (
            say(
                "One more test set to the limit in the first and in the last week, two "
                "days rested, would make it about {gain}~% narrower.",
                gain=fmt.number(100 * gain, 0),
            )
        )


def _test_rows(sets: pd.DataFrame, key: SeriesKey, last_day: int) -> pd.DataFrame:
    """Two sets that ended in failure, on the block's first and last days, like those logged."""
    own = sets[
        (sets["exercise"] == key.capacity)
        & (sets["grip"] == key.grip)
        & (sets["hand"] == key.hand)
        & ~sets["warmup"]
        & sets["load_kg"].notna()
    ]
    if own.empty:
        return own
    row = own.iloc[[-1]].copy()
    if key.capacity != "pull":
        row["outcome"] = "failed"
        row["failed_s"] = row["hang_s"] - 1.0
        row["reps_done"] = row["reps"] - 1.0
        total = row["tension_s"] if key.capacity == "repeater" else row["hang_s"]
        row["tension_s"] = total - 1.0
    days = (2, last_day - 2)
    out = pd.concat([row.assign(day=d, sets=1, set_id=10_000 + d) for d in days])
    return out.assign(date=row["date"].iloc[0], line=[10_000_001, 10_000_002])
