"""The block: plan against log, limits with their dates, the calendar's words."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from gripbook.derive.weeks import HARD_CLIMBING_EFFORT
from gripbook.reviews.dose import ACSM_STEP_PCT
from gripbook.words import fmt
from gripbook.words.messages import Table, mark, say, say_count
from gripbook.words.pain import day_words, days_listed

if TYPE_CHECKING:
    from gripbook.logs.block import Limits
    from gripbook.reviews.done import Done
    from gripbook.reviews.dose import Breach, Dose, LoadSteps, YouthWork

#: Two letters of each kind of day in the calendar.
CODES = Table(
    {
        "test": mark("Te"),
        "fingers": mark("Fi"),
        "core": mark("Co"),
        "antagonist": mark("An"),
        "mobility": mark("Mb"),
        "climbing": mark("Cl"),
        "other": mark("Ot"),
        "rest": mark("\u2013"),
        "ill": mark("il"),
        "away": mark("aw"),
        "injured": mark("in"),
        "cleared": mark("cl"),
    }
)
#: What the two letters stand for.
CODE_WORDS = Table(
    {
        "test": mark("finger test"),
        "fingers": mark("fingers"),
        "core": mark("core"),
        "antagonist": mark("antagonist"),
        "mobility": mark("mobility"),
        "climbing": mark("climbing"),
        "other": mark("other work"),
        "rest": mark("rest"),
        "ill": mark("ill"),
        "away": mark("away"),
        "injured": mark("injured"),
        "cleared": mark("cleared by a physician or physiotherapist"),
    }
)
#: Weekdays over the calendar, from Monday on; give them to `say`.
WEEKDAYS = (
    mark("Mon"),
    mark("Tue"),
    mark("Wed"),
    mark("Thu"),
    mark("Fri"),
    mark("Sat"),
    mark("Sun"),
)
#: A day on which a row of finger work could not be read.
#: What the calendar's key says besides its codes.
KEY = Table(
    {
        "unreadable_code": mark("??"),
        "unreadable": mark("finger rows that could not be read"),
        "nothing": mark("blank: nothing logged"),
        "to_come": mark("still to come, on your usual days"),
        "on_hold": mark("planned, on hold until it has been checked"),
    }
)


#: How monotony and strain are computed; printed wherever they are shown.
LOAD_CONVENTION = mark(
    "Session load = effort (session RPE, 0 to 10) x minutes. Monotony = mean of seven days' loads "
    "divided by their population SD; weekly strain = weekly load x monotony (Foster 1998). "
    "A day logged as rest, ill, away or injured counts 0. A week with a day neither logged nor "
    "confirmed, or with a session without effort or minutes, is marked and not computed."
)

#: Why no ratio of loads stands on the page.
NO_RATIO = mark(
    "No risk of injury is worked out from these loads. The ratio of the last "
    "week to the last four looks like a predictor, but dividing by a fixed "
    "or even a random number does about as well (Impellizzeri et al. 2020, "
    "Sports Medicine, doi 10.1007/s40279-020-01378-6); the two weeks share "
    "days, which alone ties them together (Lolli et al. 2019, British "
    "Journal of Sports Medicine 53:921-922); and load measures cannot tell "
    "whether a change raises or lowers the risk (Impellizzeri et al. 2020, "
    "Journal of Athletic Training 55:893-901; Wang et al. 2020, Sports "
    "Medicine 50:1243-1254). So the figures describe what was done and no "
    "more."
)
#: Published advice on young climbers' fingers, for pages of anyone under 18.
YOUTH_NOTES = (
    mark(
        "Intensive finger strength training is not recommended for adolescents "
        "(Morrison and Schöffl 2007, British Journal of Sports Medicine "
        "41:852-861)."
    ),
    mark(
        "Pain at the back of a finger's middle joint in an adolescent climber "
        "must be looked into promptly; it can be an injury of the growing bone "
        "(Jones et al. 2022, Current Sports Medicine Reports 21:436-442)."
    ),
)


# --- done of planned --------------------------------------------------------------------------

#: Titles of the section's folds and tables, and what stands where one is empty.
TITLES = Table(
    {
        "rows_behind_limits": mark("Rows of the log behind each limit not kept"),
        "by_week": mark("Finger sessions and sets by block week, done of planned"),
        "by_phase": mark("Finger sessions and sets by phase, done of planned"),
        "rows_of_weeks": mark("Rows counted in each block week, and compared between weeks"),
        "session_load": mark("Session load by week, with monotony and strain"),
        "minutes": mark("Finger sessions: minutes logged and estimated"),
        "days_by_kind": mark(
            "Days a week by kind of work, done of planned (a plan for other work is a "
            "target, not a limit)"
        ),
        "week_by_week": mark("Week by week"),
        "week_by_week_holds": mark("sessions, sets, load or edge, limits"),
        "load_by_week": mark("Load by week"),
        "load_by_week_holds": mark("effort × minutes, finger work, days by kind"),
        "day_by_day": mark("Day by day"),
        "swaps": mark("What was done in place of the plan (a board: of the one used most)"),
        "outside": mark(
            "Sets of another kind than their phase plans, or in a week without a phase"
        ),
        "load_by_block_week": mark("Session load by block week (effort × minutes)"),
        "rows_behind_loads": mark("Rows of the log behind each week's load"),
        "minutes_of_sessions": mark(
            "Minutes of each finger session: logged, and estimated from its sets and the "
            "planned rests between them (warming up and chatting are not in the estimate)"
        ),
        "no_phase": mark("no phase"),
        "no_session": mark("No finger session is logged in this block."),
    }
)


def sessions(done: Done, *, gaps: bool = True) -> str:
    """Finger sessions done of those due, and (`gaps`) where one is missing."""
    if done.sessions_planned is None:
        n = done.sessions_done
        logged = fmt.sentence(fmt.count(n, "{n} finger session", "{n} finger sessions"))
        text = say("{sessions} logged; no plan says how many were due.", sessions=logged)
        return " ".join([text, *_unreadable(done)])
    over, now = done.over, done.this_week
    parts: list[str] = []
    if now is None:
        parts.append(_of_due(over.done, over.planned, missing(done) if gaps else ""))
    else:
        if over.planned or over.done:
            parts.append(
                say(
                    "{done} of {planned} finger sessions due in {weeks}; {now} of {this_week} this "
                    "week.",
                    done=over.done,
                    planned=over.planned,
                    weeks=_span(1, (done.state.week or 1) - 1),
                    now=now.done,
                    this_week=now.planned,
                )
            )
        else:
            parts.append(
                say(
                    "{now} of {this_week} finger sessions this week.",
                    now=now.done,
                    this_week=now.planned,
                )
            )
        if gaps and (missed := missing(done)):
            parts.append(f"{fmt.sentence(missed)}.")
    return " ".join([*parts, *_unreadable(done)])


def answer(done: Done) -> str:
    """What was done of what was due, in a sentence or two, for the section on the block."""
    planned, sets = done.sessions_planned, sets_done(done)
    if planned is None or done.this_week is not None or not sets:
        return " ".join(filter(None, [sessions(done, gaps=False), sets]))
    w = done.weeks
    values = {
        "done": done.sessions_done,
        "planned": planned,
        "sets": int(w["sets_done"].sum()),
        "due": int(w["sets_due"].sum()),
    }
    text = (
        say(
            "You did {done} finger sessions, {planned} planned, and {sets} of {due} sets.", **values
        )
        if done.sessions_done > planned and values["sets"] <= values["due"]
        else say(
            "You did {done} finger sessions and {sets} sets, {planned} and {due} planned.", **values
        )
        if values["sets"] > values["due"]
        else say("You did {done} of {planned} finger sessions and {sets} of {due} sets.", **values)
    )
    return " ".join([text, *_unreadable(done)])


def _of_due(done: int, planned: int, missed: str) -> str:
    if done > planned:
        return say("{done} finger sessions, {planned} planned.", done=done, planned=planned)
    values = {"done": done, "planned": planned}
    if missed:
        return say("{done} of {planned} finger sessions; {missed}.", missed=missed, **values)
    return say("{done} of {planned} finger sessions.", **values)


def _span(first: int, last: int) -> str:
    """Weeks from one to another: week 1; weeks 1 to 3."""
    if last <= first:
        return say("week {n}", n=first)
    return say("weeks {first} to {last}", first=first, last=last)


#: Up to so many weeks with missing sessions are told one by one.
WEEKS_TOLD = 3


def missing(done: Done) -> str:
    """Which sessions are missing: one is missing in week 3, one in week 9 (ill four days)."""
    by_week = done.missing
    if len(by_week) > WEEKS_TOLD:
        n = sum(by_week.values())
        return say(
            "{n} are missing in {weeks} weeks",
            n=fmt.in_words(n),
            weeks=fmt.in_words(len(by_week)),
        )
    without = dict(zip(done.weeks["week"], done.weeks["without"], strict=True))
    parts: list[str] = []
    for week, n in by_week.items():
        values = {"n": fmt.in_words(n), "week": week}
        text = say("{n} in week {week}", **values)
        if not parts:
            text = say_count(
                n, "{n} is missing in week {week}", "{n} are missing in week {week}", **values
            )
        if without[week]:
            text = say("{text} ({reason})", text=text, reason=days_without(without[week]))
        parts.append(text)
    return ", ".join(parts)


def _unreadable(done: Done) -> list[str]:
    n = done.unreadable_sessions
    if not n:
        return []
    return [
        fmt.sentence(
            fmt.count(
                n,
                "{n} more session has rows we could not read.",
                "{n} more sessions have rows we could not read.",
            )
        )
    ]


def days_without(kinds: Iterable[tuple[str, int]]) -> str:
    """Days without training: ill 4 days, away one day."""
    return ", ".join(
        say(
            "{kind} {days}",
            kind=fmt.KIND_WORDS[kind],
            days=fmt.count(n, "{n} day", "{n} days"),
        )
        for kind, n in kinds
    )


def sets_done(done: Done) -> str:
    """Sets done of those due: 102 of 108 sets; "" where the plan names none."""
    w = done.weeks
    due = w["sets_due"].sum()
    if w["sets_planned"].isna().all() or not due:
        return ""
    return say("{done} of {due} sets.", done=int(w["sets_done"].sum()), due=int(due))


def phase_head(phase: object) -> tuple[str, str]:
    """A phase over its weeks in the calendar: its name; 4 of 4 sessions, 31 of 32 sets."""
    p: dict[str, Any] = phase._asdict()  # type: ignore[attr-defined]
    name = str(p["phase"]) or say("No phase")
    planned = p["sessions_planned"]
    if planned != planned:
        n = int(p["sessions_done"])
        text = fmt.count(n, "{n} session done", "{n} sessions done")
    elif p["state"] == "ahead":
        text = fmt.count(int(planned), "{n} session planned", "{n} sessions planned")
    elif p["state"] == "part":
        text = say(
            "{done} of {planned} sessions so far",
            done=int(p["sessions_done"]),
            planned=int(planned),
        )
    else:
        text = _of_planned_sessions(int(p["sessions_done"]), int(planned))
        if p["sets_due"] == p["sets_due"] and p["sets_due"]:
            sets = _of_due_sets(int(p["sets_done"]), int(p["sets_due"]))
            over = p["sessions_done"] > planned or p["sets_done"] > p["sets_due"]
            text = fmt.clauses([text, sets]) if over else f"{text}, {sets}"
    return name, text


def _of_planned_sessions(done: int, planned: int) -> str:
    if done > planned:
        return say("{done} sessions, {planned} planned", done=done, planned=planned)
    return say("{done} of {planned} sessions", done=done, planned=planned)


def _of_due_sets(done: int, due: int) -> str:
    if done > due:
        return say("{done} sets, {due} planned", done=done, due=due)
    return say("{done} of {due} sets", done=done, due=due)


def missing_in_week(n: int) -> str:
    """The remark of a calendar week: one finger session missing."""
    return fmt.count(n, "{n} finger session missing", "{n} finger sessions missing")


def comparisons(done: Done) -> str:
    """Whether load or edge got harder from week to week; "" without a comparison."""
    c = done.comparisons
    if not c.total:
        return ""
    counts = {
        mark("{n} harder"): c.harder,
        mark("{n} the same"): c.same,
        mark("{n} easier"): c.easier,
        mark("{n} not comparable"): c.not_comparable,
    }
    parts = [say(words, n=n) for words, n in counts.items() if n or words == "{n} harder"]
    return say(
        "Load or edge from week to week, grip by grip: {counts} (hangs and repeaters, no tests).",
        counts=", ".join(parts),
    )


# --- limits -----------------------------------------------------------------------------------


def limits(of: Limits, *, first_block: bool) -> str:
    """The block's limits: 3 finger days a week; one rest day between; 60 minutes a session."""

    def marked(words: str, key: str) -> str:
        if key in of.stated:
            return words
        return say("{words} (common practice, no source)", words=words)

    rest = of.rest_days_between_finger_days
    parts = [
        marked(say("{n} finger days a week", n=of.fingers_per_week), "fingers_per_week"),
        marked(
            say(
                "{rest_days} between them (hard climbing, effort {effort} or more, counts too)",
                rest_days=fmt.count(rest, "{n} rest day", "{n} rest days"),
                effort=fmt.number(HARD_CLIMBING_EFFORT),
            ),
            "rest_days_between_finger_days",
        ),
        marked(
            say("{n} minutes a finger session", n=fmt.number(of.finger_session_minutes, 0)),
            "finger_session_minutes",
        ),
    ]
    if first_block:
        parts.append(
            say("no all-out pulls, as in a beginner's first block (common practice, no source)")
        )
    return say("Limits: {parts}.", parts=fmt.clauses(parts))


_DAYS_AND_MINUTES = {
    "fingers_per_week",
    "rest_days_between_finger_days",
    "finger_session_minutes",
}


def limits_kept(of: Limits, dose: Dose) -> str:
    """The limits that what is logged kept, in a clause: what else, where others were broken."""
    n = len(dose.sessions)
    if not n:
        return ""
    broken = {b.limit for b in dose.breaches}
    rest = of.rest_days_between_finger_days
    kept = []
    if "fingers_per_week" not in broken:
        kept.append(say("{n} finger days a week", n=of.fingers_per_week))
    if "rest_days_between_finger_days" not in broken:
        kept.append(say("{rest} between", rest=fmt.count(rest, "{n} rest day", "{n} rest days")))
    if "finger_session_minutes" not in broken:
        minutes = fmt.number(of.finger_session_minutes, 0)
        guessed = n - int(dose.sessions["minutes_logged"].notna().sum())
        kept.append(
            say(
                "{n} minutes a session (estimated for {guessed} of {sessions})",
                n=minutes,
                guessed=guessed,
                sessions=n,
            )
            if guessed
            else say("{n} minutes a session", n=minutes)
        )
    if not kept:
        return ""
    listed = ", ".join(kept)
    if broken:
        return say("Kept, as far as logged: {limits}.", limits=listed)
    if not of.stated & _DAYS_AND_MINUTES:
        return say(
            "No limits were set; what you logged kept a beginner's: {limits}.",
            limits=listed,
        )
    return say("What you logged kept the limits: {limits}.", limits=listed)


def breach(b: Breach) -> str:
    """One limit not kept, with its day."""
    allowed, figure = fmt.number(b.allowed, 0), fmt.number(b.figure, 0)
    day = day_words(b.date)
    if b.limit == "fingers_per_week":
        return say(
            "{figure} finger days in week {week} (limit {allowed}): {days}",
            figure=figure,
            week=b.week,
            allowed=allowed,
            days=days_listed(b.dates),
        )
    if b.limit == "rest_days_between_finger_days":
        return _too_little_rest(b)
    if b.limit == "finger_session_minutes":
        if b.estimated:
            return say(
                "about {figure} minutes of finger work on {day}, by sets and rests "
                "(limit {allowed})",
                figure=figure,
                day=day,
                allowed=allowed,
            )
        return say(
            "{figure} minutes of finger work on {day} (limit {allowed})",
            figure=figure,
            day=day,
            allowed=allowed,
        )
    if b.limit == "pulls_in_first_block":
        return say(
            "{pulls} on {day}; a beginner's first block has none (common practice, no source)",
            pulls=fmt.count(int(b.figure), "{n} all-out pull", "{n} all-out pulls"),
            day=day,
        )
    return say(
        "{figure} sets on {day} (planned: {allowed} a session)",
        figure=figure,
        day=day,
        allowed=allowed,
    )


def _too_little_rest(b: Breach) -> str:
    """Say what happened: fingers on 10 September, the day after hard climbing (effort 7)."""
    what, before = _cause(b.cause, b.effort), _cause(b.before_cause, b.effort)
    values = {"what": what, "day": day_words(b.date), "before": before}
    if b.figure == 0:
        return _with_limit(b, say("{what} on {day}, the day after {before}", **values))
    days = fmt.count(int(b.figure) + 1, "{n} day", "{n} days")
    return _with_limit(b, say("{what} on {day}, {days} after {before}", days=days, **values))


def _little_rest_often(same: list[Breach]) -> str:
    """The same too little rest on several days."""
    b = same[0]
    effort = b.effort if len({x.effort for x in same}) == 1 else math.nan
    values = {
        "what": _cause(b.cause, effort),
        "before": _cause(b.before_cause, effort),
        "days": days_listed(x.date for x in same),
    }
    if b.figure == 0:
        return _with_limit(b, say("{what} the day after {before}, on {days}", **values))
    apart = fmt.count(int(b.figure) + 1, "{n} day", "{n} days")
    return _with_limit(b, say("{what} {apart} after {before}, on {days}", apart=apart, **values))


def _cause(cause: str, effort: float) -> str:
    if cause == "fingers":
        return say("fingers")
    if math.isnan(effort):
        return say("hard climbing")
    return say("hard climbing (effort {effort})", effort=fmt.number(effort))


def _with_limit(b: Breach, text: str) -> str:
    rest = fmt.count(int(b.allowed), "{n} rest day", "{n} rest days")
    return say("{text} (limit: {rest} between)", text=text, rest=rest)


def breaches(broken: Iterable[Breach]) -> tuple[str, ...]:
    """Limits not kept, one sentence each; too many finger days are drawn together over weeks."""
    all_breaches = list(broken)
    over = [b for b in all_breaches if b.limit == "fingers_per_week"]
    parts = []
    by_figure: dict[float, list[Breach]] = {}
    for b in over:
        by_figure.setdefault(b.figure, []).append(b)
    for figure, same in by_figure.items():
        parts.append(
            say(
                "{figure} finger days in {weeks} (limit {allowed})",
                figure=fmt.number(figure, 0),
                weeks=fmt.weeks(b.week for b in same),
                allowed=fmt.number(same[0].allowed, 0),
            )
        )
    near: dict[tuple[object, ...], list[Breach]] = {}
    for b in all_breaches:
        if b.limit == "rest_days_between_finger_days":
            near.setdefault((b.cause, b.before_cause, b.figure, b.allowed), []).append(b)
    for same in near.values():
        parts.append(_too_little_rest(same[0]) if len(same) == 1 else _little_rest_often(same))
    drawn = ("fingers_per_week", "rest_days_between_finger_days")
    alike: dict[tuple[object, ...], list[Breach]] = {}
    for b in all_breaches:
        if b.limit not in drawn:
            alike.setdefault((b.limit, b.allowed, b.estimated), []).append(b)
    parts += [breach(same[0]) if len(same) == 1 else _often(same) for same in alike.values()]
    return tuple(f"{fmt.sentence(text)}." for text in parts)


def _often(same: list[Breach]) -> str:
    """One limit not kept in several sessions."""
    values = {
        "figures": figures(b.figure for b in same),
        "n": fmt.in_words(len(same)),
        "weeks": fmt.weeks(sorted({b.week for b in same})),
        "allowed": fmt.number(same[0].allowed, 0),
    }
    if same[0].limit == "sets_per_session":
        return say(
            "{figures} sets in {n} sessions, {weeks} (planned: {allowed} a session)", **values
        )
    if same[0].limit == "pulls_in_first_block":
        return say(
            "{figures} all-out pulls in {n} sessions, {weeks}; a beginner's first block has none "
            "(common practice, no source)",
            **values,
        )
    if same[0].estimated:
        return say(
            "about {figures} minutes of finger work in {n} sessions, {weeks}, by sets and rests "
            "(limit {allowed})",
            **values,
        )
    return say(
        "{figures} minutes of finger work in {n} sessions, {weeks} (limit {allowed})", **values
    )


def figures(values: Iterable[float]) -> str:
    """The least and the most of some figures: 70 to 100; one where they are the same."""
    known = list(values)
    least, most = fmt.number(min(known), 0), fmt.number(max(known), 0)
    return least if least == most else say("{low} to {high}", low=least, high=most)


def breaches_in_short(broken: Iterable[Breach]) -> str:
    """
    For the first screen: the first kind of limit not kept, and what other kinds there are.

    More sets than planned are no limit; they stand with the block.
    """
    kinds: dict[str, list[Breach]] = {}
    for b in broken:
        if b.limit != "sets_per_session":
            kinds.setdefault(b.limit, []).append(b)
    if not kinds:
        return ""
    first, *others = kinds.values()
    told = breaches(first)
    text = told[0] if len(told) == 1 else f"{fmt.sentence(_kind_in_short(first))}."
    if not others:
        return text
    also = say("Also {kinds}.", kinds=fmt.listing(map(_kind_in_short, others)))
    return f"{text} {also}"


def _kind_in_short(same: list[Breach]) -> str:
    """Say how often a kind of limit was not kept, without its days."""
    values = {
        "figures": figures(b.figure for b in same),
        "allowed": fmt.number(same[0].allowed, 0),
    }
    if same[0].limit == "fingers_per_week":
        weeks = fmt.weeks(sorted({b.week for b in same}))
        return say("{figures} finger days in {weeks} (limit {allowed})", weeks=weeks, **values)
    if same[0].limit == "rest_days_between_finger_days":
        return fmt.count(len(same), "too little rest on {n} day", "too little rest on {n} days")
    if same[0].limit == "finger_session_minutes":
        sessions = fmt.count(len(same), "{n} session", "{n} sessions")
        return say("{figures} minutes in {sessions} (limit {allowed})", sessions=sessions, **values)
    return say(
        "all-out pulls in a first block on {days}",
        days=fmt.count(len(same), "{n} day", "{n} days"),
    )


def load_steps(steps: LoadSteps | None) -> str:
    """Steps up in load from week to week beside general guidance: a note, never a limit."""
    if steps is None:
        return ""
    low, high = ACSM_STEP_PCT
    text = say(
        "Load on the fingers went up from one week to the next in {up} of {known} comparisons, at "
        "most by {top} ({exercise}, {series}, week {week})",
        up=steps.up,
        known=steps.known,
        top=fmt.with_unit(steps.top_pct, "%", 0),
        exercise=fmt.EXERCISE_WORDS[steps.exercise],
        series=fmt.series(steps.grip, steps.hand),
        week=steps.week,
    )
    if steps.over:
        text += say("; above {high}~%: {over}", high=fmt.number(high), over=steps.over)
    return text + say(
        ". A note, not a limit: for strength training in general ACSM (2009) names steps of {low} "
        "to {high}~% once the planned repetitions are passed; for finger hangs nothing of the kind "
        "is published.",
        low=fmt.number(low),
        high=fmt.number(high),
    )


_YOUTH_WORDS = Table(
    {
        "pull": mark("all-out pulls"),
        "test": mark("maximal tests"),
        "failed": mark("sets to failure"),
    }
)


def youth(works: Iterable[YouthWork]) -> str:
    """Intensive work of someone under 18, with its weeks; "" for none."""
    parts = [
        say("{words} in {weeks}", words=_YOUTH_WORDS[x.kind], weeks=fmt.weeks(x.weeks))
        for x in works
    ]
    if not parts:
        return ""
    return say(
        "{parts}: outside published advice for climbers under 18; coach and guardian decide.",
        parts=fmt.sentence(fmt.listing(parts)),
    )


# --- in place of the plan ---------------------------------------------------------------------


def swap(s: object) -> str:
    """What was done in place of the plan, from a row of `Done.swaps`."""
    row = s._asdict()  # type: ignore[attr-defined]
    instead, plan, kind = row["instead"], row["plan"], row["kind"]
    if kind == "exercise":
        a = fmt.listing(fmt.EXERCISE_WORDS[k] for k in instead)
        b = fmt.one_of(fmt.EXERCISE_WORDS[k] for k in plan)
    elif kind == "grip":
        a, b = (fmt.listing(fmt.grip(g) for g in names) for names in (instead, plan))
    elif kind == "edge":
        return say(
            "{grip} on {instead}~mm in place of {plan}~mm",
            grip=fmt.grip(row["grip"]),
            instead=fmt.listing(fmt.number(e) for e in instead),
            plan=fmt.plain(plan[0]),
        )
    else:
        names = fmt.listing(b or say("not named") for b in instead)
        return say("board {instead} in place of {plan}", instead=names, plan=plan[0])
    return say("{instead} in place of {plan}", instead=a, plan=b)


def weekday(n: int) -> str:
    """A weekday in short, 0 for Monday; numbers beyond Sunday begin anew."""
    return say(WEEKDAYS[n % 7])


def weekday_head(date: dt.date) -> str:
    """The weekday that a note beside the calendar begins with."""
    return say("{weekday}: ", weekday=weekday(date.weekday()))


def youth_notes() -> str:
    """What the sources say of young climbers' fingers."""
    return " ".join(map(say, YOUTH_NOTES))


def no_ratio() -> str:
    """Why no ratio of acute to chronic load is shown."""
    return say(NO_RATIO)


def load_convention() -> str:
    """What monotony and strain are, and are not."""
    return say(LOAD_CONVENTION) + say(" No figure here says anything about injury.")


def week_load(load_au: float, *, complete: bool) -> str:
    """A week's load in effort times minutes; at least that where something was not logged."""
    return fmt.number(load_au, 0) + ("" if complete else say(" or more"))


def of_planned(count: float, planned: float) -> str:
    """`3 of 4`; the count alone where nothing was planned (NaN)."""
    return (
        f"{int(count)}"
        if math.isnan(planned)
        else say("{count} of {planned}", count=int(count), planned=int(planned))
    )


def steps_in(steps: Iterable[Any], week: int) -> str:
    """Load or edge of each series against the week before."""
    parts = []
    for s in steps:
        gap = "" if s.before == week - 1 else say(" since week {before}", before=s.before)
        parts.append(f"{step(s)}{gap}")
    return fmt.clauses(parts)


def step(s: Any) -> str:
    """How much harder a series was, with its grip and hand."""
    return f"{_step_words(s)} {_grip_hand(s)}"


def _grip_hand(step: Any) -> str:
    grip = fmt.grip(step.grip)
    return grip if step.hand == "both" else f"{grip} {fmt.SIDE_WORDS[step.hand]}"


def _step_words(step: Any) -> str:
    parts = []
    if step.edge_mm != step.edge_before_mm and step.edge_mm == step.edge_mm:
        old, new = fmt.number(step.edge_before_mm), fmt.number(step.edge_mm)
        parts.append(say("edge {old} to {new}~mm", old=old, new=new))
    if step.board != step.board_before:
        parts.append(say("other board ({value})", value=step.board or say("not named")))
    if step.step_kg != step.step_kg:
        parts.append(say("not comparable"))
    elif abs(step.step_kg) >= 0.05:
        parts.append(fmt.mass(step.step_kg, 2, sign=True))
    elif not parts:
        parts.append(say("same"))
    return ", ".join(parts)


def calendar_remarks(week: Any, *, tested: bool, minor: bool) -> list[str]:
    """What the calendar's days don't show: a test to come or left out, an easy week, a gap."""
    parts = []
    if week.test and not tested and not minor:
        over = week.state == "done"
        parts.append(say("no test logged") if over else say("test week"))
    if week.easy:
        parts.append(say("easy week"))
    # nobody under 18 owes a finger session
    if week.sessions_missing and not minor:
        parts.append(missing_in_week(int(week.sessions_missing)))
    if week.state == "part":
        parts.append(say("the log ends here"))
    return parts


def remarks(week: Any, *, minor: bool) -> list[str]:
    """What a week's row says beside its notes."""
    parts = []
    if week.test:
        parts.append(say("test week"))
    if week.easy:
        parts.append(say("easy week"))
    # nobody under 18 owes a finger session
    if week.sessions_missing and not minor:
        parts.append(missing_in_week(int(week.sessions_missing)))
    if week.without:
        parts.append(days_without(week.without))
    if week.state == "part":
        parts.append(say("the log ends here"))
    return parts


def load_note(week: Any) -> str:
    """What a week's load leaves out."""
    parts = []
    if week.part:
        parts.append(say("part of a week"))
    if week.open_days:
        parts.append(
            say(
                "{days} neither logged nor confirmed",
                days=fmt.count(week.open_days, "{n} day", "{n} days"),
            )
        )
    if week.unknown:
        parts.append(
            say(
                "{sessions} without effort or minutes",
                sessions=fmt.count(week.unknown, "{n} session", "{n} sessions"),
            )
        )
    return ", ".join(parts)


def week(n: object) -> str:
    """A week of the block."""
    return say("week {week}", week=n)


def step_week(n: int) -> str:
    """What is said of a week's load or edge."""
    return say("load or edge, week {week}", week=n)


def outside(n: int) -> str:
    """So many sets that the plan doesn't know."""
    return say("{sets} outside the plan", sets=fmt.sentence(fmt.count(n, "{n} set", "{n} sets")))


def substitutions(n: int) -> str:
    """So many sessions done in place of others."""
    return fmt.count(n, "{n} substitution", "{n} substitutions")
