"""
The parts of a page, in the page's order: words, charts, and the figures as tables.

Each function takes a review and returns a tuple of things to show (`Fragment`s and charts). The
notebooks show them one section a cell; headings stand in the notebooks' own text.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from gripbook import charts, fmt, html
from gripbook.derive import LOAD_CONVENTION
from gripbook.html import Fragment
from gripbook.report.names import page_names
from gripbook.reviews import BlockReview, SeriesChange, SquadReview
from gripbook.reviews.pain import place_words
from gripbook.reviews.sentences import CAUTION_MINOR
from gripbook.reviews.shown import ADDED, DIFFERENCE, LOAD

Parts = tuple[Any, ...]

_FIGURES = "The figures as a table"
_KIND_WORDS = {
    "fingers": "finger work",
    "core": "core",
    "antagonist": "antagonist",
    "mobility": "mobility",
    "climbing": "climbing",
    "other": "other",
}


def opening(r: BlockReview) -> Parts:
    """Title, the block's dates, and the first sentences."""
    block = r.block
    title = f"{r.athlete.name}: {block.name}"
    when = f"{fmt.day(block.start)} to {fmt.day(block.end)}, {fmt.count(block.weeks, 'week')}"
    if r.last.date() < block.end:
        when += f"; logged to {fmt.day(r.last.date())}, so this is the block to date"
    return (
        html.heading(1, title),
        html.paragraph(fmt.sentence(when) + "."),
        *(html.paragraph(text) for text in r.lead),
        *((html.paragraph(html.strong(CAUTION_MINOR)),) if r.athlete.minor else ()),
    )


# --- what changed -----------------------------------------------------------------------------


def change(r: BlockReview) -> Parts:
    """Each series' change in words, its path, the figures, and what would make it sharper."""
    c = r.change
    if not c.series:
        return (html.paragraph("No set with a known load tells of strength."),)
    parts: list[Any] = [html.bullets(s.sentence for s in c.series)]
    if c.note:
        parts.append(html.paragraph(c.note))
    drawn = charts.strength_path(r)
    if drawn:
        parts.append(html.paragraph(_PATH_KEY))
        parts += drawn
    parts.append(_change_table(r))
    if r.fit.edge_exponent is not None and any(s.fit.converted for s in c.series):
        parts.append(html.paragraph(_edge_words(r)))
    if c.pairs:
        parts += [html.heading(3, "Hands and grips at the end"), html.bullets(c.pairs)]
    if c.ratio:
        parts += [html.heading(3, "Load and body mass"), html.paragraph(c.ratio)]
    if c.sharper:
        parts += [html.heading(3, "What would make this sharper"), html.bullets(c.sharper)]
    return tuple(parts)


_PATH_KEY = (
    "In the charts the band holds the true strength in about nine of ten cases. Filled circles are "
    "sets that tell the load (failed sets and pulls); hollow triangles pointing up are finished "
    "sets, which tell that at least this was possible (pointing down: at most). Dotted upright "
    "lines are test days."
)


def _change_table(r: BlockReview) -> Fragment:
    show = r.athlete.show_body_mass
    rows = [
        {
            "series": s.name,
            "start": _path_kg(s, s.start_kg),
            "end": _path_kg(s, s.end_kg),
            "kg": _range_kg(s),
            "pct": _range_pct(s),
            "verdict": s.fit.verdict if s.fit.ok else "not measured",
            "sets": f"{s.fit.sets} on {s.fit.days} days, {s.fit.exact_sets} exact",
            "from": fmt.listing(f"{fmt.number(e)} mm" for e in s.fit.converted_mm),
        }
        for s in r.change.series
    ]
    kinds = "" if show else ", as the difference to the start"
    columns = {"series": "series", "start": "start (kg)", "end": "end (kg)", "kg": "change (kg)"}
    if show:
        columns["pct"] = "change (%)"
    columns |= {"verdict": "verdict", "sets": "sets used"}
    if any(row["from"] for row in rows):
        columns["from"] = "converted from"
    return html.details(
        _FIGURES,
        html.table(
            rows,
            f"Load at the reference edge{kinds}, first and last day, with the range that holds the "
            "change in nine of ten cases",
            columns=columns,
            numbers=["start", "end", "kg", "pct"],
        ),
    )


def _path_kg(s: SeriesChange, value: float) -> str:
    words = fmt.number(value, 0 if s.high_kg - s.low_kg >= 3 else 1)
    return f"at least {words}" if s.fit.at_least and words != "\u2013" else words


def _range_kg(s: SeriesChange) -> str:
    return _range(s.low_kg, s.high_kg, 0 if s.high_kg - s.low_kg >= 3 else 1)


def _range_pct(s: SeriesChange) -> str:
    return _range(s.fit.low_pct, s.fit.high_pct, 0 if s.fit.high_pct - s.fit.low_pct >= 3 else 1)


def _range(low: float, high: float, digits: int) -> str:
    if not np.isfinite(low):
        return ""
    return f"{fmt.number(low, digits, sign=True)} to {fmt.number(high, digits, sign=True)}"


def _edge_words(r: BlockReview) -> str:
    found = r.fit.edge_exponent
    assert found is not None
    return (
        "Loads on other edges were converted: a load that goes with the edge's depth to the power "
        f"of {fmt.number(found.value, 2)} (between {fmt.number(found.low, 2)} and "
        f"{fmt.number(found.high, 2)}). Below 6 mm nothing is converted."
    )


# --- was it done ------------------------------------------------------------------------------


def done(r: BlockReview) -> Parts:
    """Plan against log, by week and by phase."""
    weeks = r.done.weeks
    planned = r.block.planned and weeks["sessions_planned"].notna().any()
    columns = (
        {"week": "week", "from": "from", "phase": "phase"}
        if r.block.phases
        else {
            "week": "week",
            "from": "from",
        }
    )
    columns |= {"sessions": "finger sessions", "sets": "sets", "time": "time under load"}
    columns |= {"note": "note"}
    rows = [
        {
            "week": int(w.week),
            "from": fmt.day(w.start.date(), year=False),
            "phase": w.phase,
            "sessions": _of(w.sessions_done, w.sessions_planned),
            "sets": _of(w.sets_done, w.sets_planned),
            "time": fmt.minutes(w.tension_s) if w.tension_s else "",
            "note": _week_note(w),
        }
        for w in weeks.itertuples()
        if w.state != "ahead"
    ]
    parts: list[Any] = []
    if planned and len(r.done.phases) > 1:
        parts.append(_phase_table(r))
    words = "done of planned" if planned else "done"
    parts.append(
        html.table(
            rows,
            f"Finger sessions and sets by block week, {words}",
            columns=columns,
            numbers=["sessions", "sets", "time"],
        )
    )
    if len(r.done.outside):
        parts.append(_outside(r))
    return tuple(parts)


def _phase_table(r: BlockReview) -> Fragment:
    rows = [
        {
            "phase": p.phase or "no phase",
            "sessions": _of(p.sessions_done, p.sessions_planned),
            "sets": _of(p.sets_done, p.sets_planned),
            "time": fmt.minutes(p.tension_s) if p.tension_s else "",
        }
        for p in r.done.phases.itertuples()
    ]
    columns = {
        "phase": "phase",
        "sessions": "finger sessions",
        "sets": "sets",
        "time": "time under load",
    }
    return html.table(
        rows,
        "Finger sessions and sets by phase, done of planned",
        columns=columns,
        numbers=["sessions", "sets", "time"],
    )


def _outside(r: BlockReview) -> Fragment:
    outside = r.done.outside
    n = int(outside["sets"].sum())
    rows = [
        {
            "day": o.date.date(),
            "what": f"{fmt.EXERCISE_WORDS[o.exercise]}, {fmt.series(o.grip, o.hand, o.edge_mm)}",
            "sets": int(o.sets),
            "row": f"{o.file}:{o.line}",
        }
        for o in outside.itertuples()
    ]
    return html.details(
        f"{fmt.sentence(fmt.count(n, 'set'))} outside the plan",
        html.table(
            rows,
            "Sets of another kind than their phase plans, or in a week without a phase",
            columns={"day": "day", "what": "set", "sets": "sets", "row": "row of the log"},
        ),
    )


def _of(count: float, planned: float) -> str:
    return f"{int(count)}" if np.isnan(planned) else f"{int(count)} of {int(planned)}"


def _week_note(week: Any) -> str:
    words = []
    if week.test:
        words.append("test week")
    if week.easy:
        words.append("easy week")
    if week.without:
        words.append(week.without)
    if week.state == "part":
        words.append("part of a week: the log ends here")
    return ", ".join(words)


# --- loads ------------------------------------------------------------------------------------


def loads(r: BlockReview) -> Parts:
    """Loads by grip and hand over time, one chart per kind of work, and the best of each week."""
    drawn = charts.loads(r)
    if not drawn:
        return (html.paragraph("No set with a known load is logged in this block."),)
    parts: list[Any] = []
    if not r.athlete.show_body_mass:
        parts.append(html.paragraph(_hidden_words(r)))
    parts.append(_block_best_table(r))
    for chart, name in zip(drawn, _drawn_names(r), strict=True):
        parts.append(html.heading(3, fmt.sentence(fmt.EXERCISE_WORDS[name])))
        parts.append(chart)
        parts.append(_best_table(r, name))
    return tuple(parts)


def _drawn_names(r: BlockReview) -> list[str]:
    order = [p.exercise for p in r.block.phases if p.exercise]
    known = r.sets[r.sets["in_block"] & ~r.sets["warmup"] & r.sets["shown_kg"].notna()]
    here = set(known["exercise"])
    return [e for e in dict.fromkeys([*order, "hang", "repeater", "pull"]) if e in here]


def _hidden_words(r: BlockReview) -> str:
    kinds = set(r.sets["shown_as"])
    told = []
    if ADDED in kinds:
        told.append("hangs are given by the weight added")
    if DIFFERENCE in kinds:
        told.append("pulls over a scale by their difference to the first one")
    if LOAD in kinds:
        told.append("loads read from a gauge as they are")
    return (
        "Body mass is not shown on this page, and neither is what would give it away: "
        f"{fmt.listing(told)}."
    )


def _block_best_table(r: BlockReview) -> Fragment:
    """Best load of the block by kind, grip, hand and edge; no edge is converted into another."""
    order = {name: i for i, name in enumerate(_drawn_names(r))}
    best = r.best.assign(place=[order.get(e, len(order)) for e in r.best["exercise"]])
    best = best.sort_values(["place", "grip", "hand", "edge_mm"], kind="stable")
    rows = [
        {
            "kind": fmt.EXERCISE_WORDS[b.exercise],
            "series": fmt.series(b.grip, b.hand, b.edge_mm) + (f", {b.board}" if b.board else ""),
            "kg": fmt.number(b.shown_kg, 1, trim=False, sign=b.shown_as != LOAD),
            "day": fmt.day(b.date.date(), year=False),
        }
        for b in best.itertuples()
    ]
    kinds = list(dict.fromkeys(best["shown_as"]))
    return html.table(
        rows,
        f"Best set mastered in the block, {fmt.listing(kinds, 'or')} in kg",
        columns={"kind": "kind of work", "series": "grip, hand, edge", "kg": "kg", "day": "day"},
        numbers=["kg"],
        empty="No set with a known load was mastered.",
    )


def _best_table(r: BlockReview, exercise: str) -> Fragment:
    best = r.weekly_best[r.weekly_best["exercise"] == exercise]
    best = best.sort_values(["grip", "hand", "week", "edge_mm"], kind="stable")
    rows = [
        {
            "series": fmt.series(b.grip, b.hand, b.edge_mm) + (f", {b.board}" if b.board else ""),
            "week": int(b.week),
            "kg": fmt.number(b.shown_kg, 1, trim=False, sign=b.shown_as != LOAD),
            "day": b.date.date(),
            "row": f"{b.file}:{b.line}",
        }
        for b in best.itertuples()
    ]
    words = rows and best["shown_as"].mode().iloc[0]
    return html.details(
        _FIGURES,
        html.table(
            rows,
            f"Best set mastered in each block week: {words or LOAD} in kg",
            columns={
                "series": "grip, hand, edge",
                "week": "week",
                "kg": "kg",
                "day": "day",
                "row": "row of the log",
            },
            numbers=["kg"],
            empty="No set was mastered.",
        ),
    )


def finger_work(r: BlockReview) -> Parts:
    """Time under load and impulse by week, always beside the load per hand."""
    drawn = charts.finger_work(r)
    if not drawn:
        return (html.paragraph("No finger work with a known time is logged in this block."),)
    rows = [
        {
            "week": int(w.week),
            "phase": w.phase,
            "sets": int(w.sets),
            "time": fmt.minutes(w.tension_s) if w.tension_s else "",
            "impulse": w.impulse_kg_s,
            "per_hand": w.load_per_hand_kg,
        }
        for w in r.work.itertuples()
        if w.sets
    ]
    columns = {"week": "week", "phase": "phase", "sets": "sets by row", "time": "time under load"}
    if r.athlete.show_body_mass:
        text = "Impulse is load times time; load per hand is the mean load on one hand."
        if (r.sets["exercise"] == "pull").any():
            text += (
                " Impulse falls when the all-out pulls begin, because a pull is short, though each "
                "one is the hardest load of the block; so the two stand side by side."
            )
        columns |= {"impulse": "impulse (kg\u00b7s)", "per_hand": "load per hand (kg)"}
    else:
        text = "Only times are given: kilograms times seconds would give body mass away."
    formats = {"impulse": lambda v: fmt.number(v, 0), "per_hand": lambda v: fmt.number(v, 1)}
    return (
        html.paragraph(text),
        *drawn,
        html.details(
            _FIGURES,
            html.table(
                rows,
                "Finger work by block week, warm-ups left out",
                columns=columns,
                formats={k: v for k, v in formats.items() if k in columns},
                numbers=["time"],
            ),
        ),
    )


def strength_to_weight(r: BlockReview) -> Parts:
    """Best load of the week over body mass."""
    if not r.athlete.show_body_mass:
        return (html.paragraph("Body mass is not shown on this page."),)
    drawn = charts.strength_to_weight(r)
    if not drawn:
        return (html.paragraph("No body mass is logged, so no ratio can be given."),)
    rows = [
        {
            "series": f"{fmt.EXERCISE_WORDS[b.exercise]}, {fmt.series(b.grip, b.hand, b.edge_mm)}",
            "week": int(b.week),
            "ratio": fmt.number(b.ratio, 2, trim=False),
            "mass": fmt.number(b.body_mass_kg, 1, trim=False),
            "row": f"{b.file}:{b.line}",
        }
        for b in r.ratio.sort_values(
            ["exercise", "grip", "hand", "edge_mm", "week"], kind="stable"
        ).itertuples()
    ]
    return (
        html.paragraph(
            "The best load of each week divided by the body mass of that day. The ratio moves "
            "with either; a rise is not always a gain in strength."
        ),
        *drawn,
        html.details(
            _FIGURES,
            html.table(
                rows,
                "Best load of the week over body mass",
                columns={
                    "series": "kind, grip, hand, edge",
                    "week": "week",
                    "ratio": "load / body mass",
                    "mass": "body mass (kg)",
                    "row": "row of the log",
                },
                numbers=["ratio", "mass"],
            ),
        ),
    )


# --- dose -------------------------------------------------------------------------------------


def dose(r: BlockReview) -> Parts:
    """Weekly load, days by kind of work, and the limits."""
    parts: list[Any] = [_limits(r)]
    chart = charts.weekly_load(r)
    if chart is None:
        parts.append(
            html.paragraph("No session has both effort and minutes, so no load can be given.")
        )
    else:
        parts += [
            html.paragraph(
                "Session load is effort times minutes. Bars: the week's sum, pale where a day is "
                "not known and the sum may be more. Line: mean of four weeks, where all are known."
            ),
            chart,
        ]
    parts += [_week_table(r), _session_table(r), _kind_table(r)]
    return tuple(parts)


def _limits(r: BlockReview) -> Fragment:
    limits = r.block.limits
    minutes = fmt.number(limits.finger_session_minutes, 0)
    rest = limits.rest_days_between_finger_days
    text = (
        f"Limits of this block: {limits.fingers_per_week} finger days a week, "
        f"{fmt.count(rest, 'rest day')} between them (for the rest days a climbing session of "
        f"effort 7 or more counts too), {minutes} minutes a finger session."
    )
    if not r.dose.breaches:
        return html.paragraph(text + " None was broken by what is logged.")
    return html.paragraph(text + " Not kept:") + html.bullets(b.text for b in r.dose.breaches)


def _week_table(r: BlockReview) -> Fragment:
    rows = [
        {
            "week": int(w.week),
            "load": fmt.number(w.load_au, 0) + ("" if w.complete else " or more"),
            "change": fmt.with_unit(w.change_pct, "%", 0, sign=True),
            "mean": fmt.number(w.mean4_au, 0),
            "monotony": fmt.number(w.monotony, 2, trim=False),
            "strain": fmt.number(w.strain, 0),
            "note": _load_note(w),
        }
        for w in r.dose.weeks.itertuples()
    ]
    return html.details(
        "Session load by week, with monotony and strain",
        html.table(
            rows,
            "Session load by block week (effort \u00d7 minutes)",
            columns={
                "week": "week",
                "load": "load",
                "change": "on the week before",
                "mean": "four-week mean",
                "monotony": "monotony",
                "strain": "weekly strain",
                "note": "note",
            },
            numbers=["load", "change", "mean", "monotony", "strain"],
        ),
        html.paragraph(LOAD_CONVENTION + " No figure here says anything about injury."),
    )


def _session_table(r: BlockReview) -> Fragment:
    rows = [
        {
            "day": fmt.day(s.date.date(), year=False) + (f", {s.session}" if s.session else ""),
            "kind": fmt.EXERCISE_WORDS[s.exercise],
            "sets": s.sets,
            "logged": fmt.number(s.minutes_logged, 0),
            "estimated": fmt.number(s.minutes_estimated, 0),
        }
        for s in r.dose.sessions.itertuples()
    ]
    return html.details(
        "Finger sessions: minutes logged and estimated",
        html.table(
            rows,
            "Minutes of each finger session: logged, and estimated from its sets and the planned "
            "rests between them (warming up and chatting are not in the estimate)",
            columns={
                "day": "day",
                "kind": "kind of work",
                "sets": "sets",
                "logged": "minutes logged",
                "estimated": "estimated",
            },
            numbers=["logged", "estimated"],
            empty="No finger session is logged in this block.",
        ),
    )


def _load_note(week: Any) -> str:
    words = []
    if week.part:
        words.append("part of a week")
    if week.open_days:
        words.append(f"{fmt.count(week.open_days, 'day')} neither logged nor confirmed")
    if week.unknown:
        words.append(f"{fmt.count(week.unknown, 'session')} without effort or minutes")
    return ", ".join(words)


def _kind_table(r: BlockReview) -> Fragment:
    kinds = [k for k in _KIND_WORDS if r.dose.kinds[k].any() or k == "fingers"]
    planned = r.dose.targets
    kinds += [k for k in dict.fromkeys(planned["kind"]) if k not in kinds]
    targets = {(t.week, t.kind): t.planned for t in planned.itertuples()}
    begun = r.done.weeks.loc[r.done.weeks["state"] != "ahead", "week"]
    rows = [
        {"week": int(w)}
        | {k: _of(r.dose.kinds.loc[w, k], float(targets.get((w, k), np.nan))) for k in kinds}
        for w in begun
    ]
    return html.table(
        rows,
        "Days a week by kind of work, done of planned (a plan for other work is a target, "
        "not a limit)",
        columns={"week": "week", **{k: _KIND_WORDS[k] for k in kinds}},
        numbers=kinds,
    )


# --- pain, gaps, rows -------------------------------------------------------------------------


def pain(r: BlockReview) -> Parts:
    """Pain as logged, beside the finger work of the same days."""
    if not r.pain.recorded:
        return (html.paragraph("Pain was not recorded, which is not the same as none."),)
    entries = r.pain.entries
    felt = r.pain.felt
    days = entries["date"].nunique()
    text = f"Pain was asked about on {fmt.count(days, 'day')}"
    text += (
        f"; felt on {fmt.count(felt['date'].nunique(), 'of them', 'of them')}."
        if len(felt)
        else "; none was felt on any of them."
    )
    rows = [
        {
            "day": e.date.date(),
            "when": e.when,
            "place": place_words(e.site, e.side) if e.site or e.side else "",
            "level": e.level,
            "sign": e.sign,
            "note": e.note,
            "row": f"{e.file}:{e.line}",
        }
        for e in felt.itertuples()
    ]
    table = html.details(
        _FIGURES,
        html.table(
            rows,
            "Pain felt, by day (0 to 10)",
            columns={
                "day": "day",
                "when": "when",
                "place": "where",
                "level": "level",
                "sign": "sign",
                "note": "note",
                "row": "row of the log",
            },
        ),
    )
    return (
        *(html.paragraph(html.strong(flag.text)) for flag in r.pain.flags),
        html.paragraph(text),
        *charts.pain_and_load(r),
        *((table,) if rows else ()),
    )


def gaps(r: BlockReview) -> Parts:
    """What the log leaves open."""
    if not r.gaps:
        return (html.paragraph("Nothing that this page asks for is missing in the log."),)
    return (html.bullets(r.gaps),)


def rows(r: BlockReview) -> Parts:
    """Rows of the log that were refused, or used with a doubt."""
    if not r.problems:
        return (html.paragraph("Every row of the log was used, without a doubt about any."),)
    refused = {(p.file, p.line) for p in r.problems if p.severity == "error"}
    doubts = sum(1 for p in r.problems if p.severity == "warning")
    text = (
        f"{fmt.sentence(fmt.count(len(refused), 'row'))} could not be used; "
        f"{fmt.count(doubts, 'note')} on rows that were."
    )
    table = [
        {
            "row": p.place,
            "kind": "not used" if p.severity == "error" else "used, but look",
            "what": f"{p.column} {p.value}".strip(),
            "why": f"{p.reason} {p.remedy}",
        }
        for p in r.problems
    ]
    return (
        html.paragraph(text),
        html.details(
            "The rows, why, and what to do",
            html.table(
                table,
                "Rows of the log that need a look",
                columns={
                    "row": "row",
                    "kind": "used?",
                    "what": "cell",
                    "why": "why, and what to do",
                },
            ),
        ),
    )


def cautions(r: BlockReview) -> Parts:
    """What the page must say of safety."""
    return (html.bullets(r.cautions),)


def methods(r: BlockReview) -> Parts:
    """How the figures are made."""
    show = r.athlete.show_body_mass
    lines = [
        "Weeks are block weeks, counted from the block's first day. A week in which the log ends "
        "is marked and compared with no other.",
        "A set counts as mastered when all its planned holds were finished, or when it was an "
        "all-out pull. Guessed loads and warm-ups count as work, never as strength.",
        "Strength is estimated from all sets of the block together, each hand and grip apart but "
        "on the same days. A set that failed and a pull tell how much was possible; a finished "
        "set, or one stopped by slip, skin, pain or choice, only that at least this was; guesses "
        "of what was left count with their error. Good and bad days, tiring within a session, "
        "other edges and hold times are allowed for.",
        "A range holds the true change in about nine of ten cases. Stronger is written when a gain "
        "has a probability of 95 % or more and is at least half the smallest change that matters "
        f"({_smallest_words(r)}, set in the block file), weaker likewise, steady when the whole "
        "range lies within that change, else unclear.",
        "Time under load is the seconds of all holds that were made; a pull without a logged time "
        "counts three seconds (common practice, no source).",
        "A session's estimated minutes are its sets and the planned rests between them.",
    ]
    if show:
        lines[1:1] = [
            "Load on the fingers: a gauge's reading; else standing minus pulling on the same "
            "scale; else body mass of that day plus added weight minus what stays on the scale. "
            "1 kg pulls with 9.80665 N.",
            "Body mass between weigh-ins lies on a straight line; its error is taken as 0.5 kg on "
            "the day of a weigh-in and grows to 2 kg at eight weeks (own choice, no source).",
        ]
    lines.append(f"Log format 1; {_dates_words(r)}.")
    return (html.bullets(lines),)


def _smallest_words(r: BlockReview) -> str:
    smallest = r.block.smallest_change_pct
    return fmt.listing(
        f"{fmt.number(pct)}{fmt.NBSP}% for {fmt.EXERCISE_WORDS[name]}"
        for name, pct in smallest.items()
    )


def _dates_words(r: BlockReview) -> str:
    return f"the log covers this athlete to {fmt.day(r.last.date())}"


# --- the squad --------------------------------------------------------------------------------


def squad_opening(s: SquadReview) -> Parts:
    """Title and what the page is."""
    first = [row for row in s.rows if row.open_first]
    text = (
        f"{fmt.sentence(fmt.count(len(s.rows), 'athlete'))}, logged to {fmt.day(s.last.date())}. "
        "This is the coach's own page; the athletes' pages do not link to it or to each other."
    )
    parts: list[Any] = [html.heading(1, f"Squad: {s.name}"), html.paragraph(text)]
    if first:
        names = fmt.listing(row.name for row in s.by_need if row.open_first)
        parts.append(html.paragraph(f"Open first: {names}."))
    if s.unplaced:
        parts.append(
            html.paragraph(
                f"{fmt.sentence(fmt.count(s.unplaced, 'refused row'))} could be placed with no "
                "athlete; `gripbook check` lists them."
            )
        )
    return tuple(parts)


def squad_table(s: SquadReview) -> Parts:
    """One row an athlete, those to open first on top, then by name."""
    names = page_names(row.athlete for row in s.rows)
    rows = [
        {
            "name": html.link(row.name, names[row.athlete]),
            "first": row.failed or row.open_first,
            "block": row.block,
            "change": row.change,
            "sessions": ""
            if row.sessions_done is None
            else _of(row.sessions_done, _nan(row.sessions_planned)),
            "breaches": row.breaches,
            "pain": row.pain_words,
            "last": "" if row.last is None else fmt.day(row.last.date(), year=False),
        }
        for row in s.by_need
    ]
    return (
        html.table(
            rows,
            "Finger sessions done of planned; limits not kept; days as logged",
            columns={
                "name": "athlete",
                "first": "open first because",
                "block": "block",
                "change": "change, 90 % range",
                "sessions": "finger sessions",
                "breaches": "limits broken",
                "pain": "pain",
                "last": "last entry",
            },
            numbers=["sessions"],
        ),
    )


def _nan(value: int | None) -> float:
    return np.nan if value is None else float(value)


def squad_cautions(s: SquadReview) -> Parts:
    """What the squad page must say."""
    return (
        html.bullets(
            [
                "A row without a reason to open it first is not a row without trouble: it says "
                "what was logged, no more.",
                "No athlete is ranked; the order is reasons to look, then names.",
                "The pages hold health data (pain, illness, body mass). Keep them where only those "
                "who need them can read them, and delete them on request. results.csv is the "
                "coach's too: from a load and the weight added body mass can be worked out, also "
                "for athletes whose pages hide it.",
            ]
        ),
    )
