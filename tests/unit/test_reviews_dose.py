"""Limits: defaults and their mark, a first block without pulls, the young, rows behind each."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pandas as pd
import pytest

from gripbook.html import Fragment
from gripbook.report import sections
from gripbook.reviews import BlockReview
from gripbook.reviews.dose import Breach, days_of_tests
from gripbook.words import block as words
from gripbook.words.fmt import NBSP
from tests.derive_frames import BLOCK, derived, hang
from tests.reviewed import reviewed
from tests.unit.test_reviews import add_rows


def page_words(r: BlockReview) -> str:
    """The words of the block's section."""
    parts = [repr(p) for p in sections.block(r) if isinstance(p, Fragment)]
    return "\n".join(parts).replace(NBSP, " ")


def test_stated_limits_have_no_mark(small_logs: Path) -> None:
    """Limits of the block file stand without a mark."""
    text = page_words(reviewed(small_logs, "ada"))
    assert (
        "Limits: 2 finger days a week; one rest day between them (hard climbing, effort 7 or more, "
        "counts too); 60 minutes a finger session."
    ) in text


def test_defaults_are_marked(small_logs: Path) -> None:
    """Without a block file the beginner's limits are marked as common practice, pulls too."""
    (small_logs / "block.toml").unlink()
    text = page_words(reviewed(small_logs, "ada"))
    assert (
        "Limits: 2 finger days a week (common practice, no source); one rest day between them "
        "(hard climbing, effort 7 or more, counts too) (common practice, no source); 60 minutes a "
        "finger session (common practice, no source); no all-out pulls, as in a beginner's first "
        "block (common practice, no source)."
    ) in text


def test_pulls_in_a_first_block(small_logs: Path) -> None:
    """Without a plan, pulls of someone not known to have trained a year are told with their day."""
    (small_logs / "block.toml").unlink()
    told = [b for b in reviewed(small_logs, "ada").dose.breaches if "pulls" in b.limit]
    assert [words.breach(b).replace(NBSP, " ") for b in told] == [
        "two all-out pulls on 19 January; a beginner's first block has none (common practice, no "
        "source)"
    ]
    assert told[0].rows == ("hangs.csv:8", "hangs.csv:9")


@pytest.mark.parametrize(
    ("since", "first"), [("2023", False), ("2025-02", True), ("2025-01", False), ("", True)]
)
def test_a_year_of_finger_work_is_no_first_block(small_logs: Path, since: str, first: bool) -> None:
    """Whoever has trained the fingers for a year is held to no beginner's rule on pulls."""
    (small_logs / "block.toml").unlink()
    (small_logs / "athletes.csv").write_text(f"athlete,born,fingers_since\nada,1998,{since}\n")
    found = reviewed(small_logs, "ada").dose.breaches
    assert any(b.limit == "pulls_in_first_block" for b in found) is first


def test_estimated_minutes_are_told_as_such() -> None:
    """A breach that rests on an estimate says so."""
    days = (pd.Timestamp(2026, 1, 12),)
    breach = Breach("finger_session_minutes", 2, days, 71.0, 60.0, estimated=True)
    assert words.breach(breach).replace(NBSP, " ") == (
        "about 71 minutes of finger work on 12 January, by sets and rests (limit 60)"
    )


def test_every_breach_names_its_rows(small_logs: Path) -> None:
    """Each limit not kept can be followed to rows of the log."""
    rows = {(b.week, b.limit): b.rows for b in reviewed(small_logs, "ada").dose.breaches}
    assert rows[2, "finger_session_minutes"] == ("hangs.csv:5", "hangs.csv:6", "sessions.csv:8")
    assert rows[2, "rest_days_between_finger_days"] == (
        "hangs.csv:5",
        "hangs.csv:6",
        "sessions.csv:7",
        "sessions.csv:8",
    )
    assert rows[3, "fingers_per_week"] == tuple(f"hangs.csv:{n}" for n in (8, 9, 10, 11))


def test_targets_are_no_limits(small_logs: Path) -> None:
    """More or less mobility than planned breaks nothing."""
    path = small_logs / "block.toml"
    path.write_text(path.read_text().replace("core = 2", "core = 7\nmobility = 1"))
    before = reviewed(small_logs, "ada").dose.breaches
    add_rows(
        small_logs, "sessions.csv", *(f"ada,2026-01-{d:02},mobility,,20,1,," for d in (5, 6, 7))
    )
    found = reviewed(small_logs, "ada").dose
    assert repr(found.breaches) == repr(before)
    assert found.targets.loc[found.targets["kind"] == "mobility", "done"].tolist()[0] == 3


def test_no_breach_claims_no_more_than_the_log(small_logs: Path) -> None:
    """Where no limit was broken the page speaks of what was logged, and says what was estimated."""
    text = page_words(reviewed(small_logs, "cy"))
    assert "What you logged kept the limits: " in text
    assert "60 minutes a session.\n" in text
    assert "safe" not in text
    add_rows(small_logs, "hangs.csv", "cy,2026-01-09,4,hang,,,half_crimp,both,20,0,,8,,,,,,,")
    assert "60 minutes a session (estimated for 1 of 2)." in page_words(reviewed(small_logs, "cy"))
    path = small_logs / "sessions.csv"
    path.write_text(path.read_text().replace("cy,2026-01-06,fingers,,30,4,,\n", ""))
    assert "60 minutes a session (estimated for 2 of 2)." in page_words(reviewed(small_logs, "cy"))


def test_intensive_work_under_18(small_logs: Path) -> None:
    """Tests and sets to failure under 18 are told as outside published advice."""
    found = reviewed(small_logs, "bo")
    assert [(x.kind, x.weeks) for x in found.dose.youth] == [("test", (1, 2)), ("failed", (2,))]
    told = words.youth(found.dose.youth)
    assert told == (
        "Maximal tests in weeks 1 and 2 and sets to failure in week 2: outside published advice "
        "for climbers under 18; coach and guardian decide."
    )
    assert told in page_words(found)
    assert reviewed(small_logs, "ada").dose.youth == ()


def test_fingers_the_day_after_hard_climbing(small_logs: Path) -> None:
    """Monday fingers, Wednesday climbing at effort 7, Thursday fingers: say what happened."""
    add_rows(small_logs, "hangs.csv", "cy,2026-01-22,1,hang,,,half_crimp,both,20,0,,10,,,,,,,")
    add_rows(small_logs, "sessions.csv", "cy,2026-01-21,climbing,,90,7,,")
    found = [b for b in reviewed(small_logs, "cy").dose.breaches if "rest" in b.limit]
    assert [(b.cause, b.before_cause, b.effort, b.figure) for b in found] == [
        ("fingers", "climbing", 7.0, 0.0)
    ]
    assert found[0].before == pd.Timestamp(2026, 1, 21)
    assert [t.replace(NBSP, " ") for t in words.breaches(found)] == [
        "Fingers on 22 January, the day after hard climbing (effort 7) (limit: one rest day "
        "between)."
    ]


@pytest.mark.parametrize(("effort", "broken"), [(6.9, False), (7, True)])
def test_easy_climbing_is_rest(small_logs: Path, effort: float, broken: bool) -> None:
    """Climbing below effort 7 loads no fingers."""
    add_rows(small_logs, "hangs.csv", "cy,2026-01-22,1,hang,,,half_crimp,both,20,0,,10,,,,,,,")
    add_rows(small_logs, "sessions.csv", f"cy,2026-01-21,climbing,,90,{effort},,")
    assert bool(reviewed(small_logs, "cy").dose.breaches) is broken


def rest(day: int, **changes: object) -> Breach:
    """Too little rest before a day of January."""
    values: dict[str, object] = {"figure": 0.0, "allowed": 1.0, "before": pd.Timestamp(2026, 1, 1)}
    values |= changes
    days = (pd.Timestamp(2026, 1, day),)
    return Breach("rest_days_between_finger_days", 1, days, **values)  # type: ignore[arg-type]


def test_days_of_one_kind_are_drawn_together() -> None:
    """The same on several days is one sentence with its days; too many days name their weeks."""
    weeks = [Breach("fingers_per_week", w, (pd.Timestamp(2026, 2, w),), 4.0, 3.0) for w in (5, 6)]
    found = [*weeks, rest(9), rest(16), rest(20, before_cause="climbing", effort=8.0)]
    assert [t.replace(NBSP, " ") for t in words.breaches(found)] == [
        "4 finger days in weeks 5 and 6 (limit 3).",
        "Fingers the day after fingers, on 9 January and 16 January (limit: one rest day between).",
        "Fingers on 20 January, the day after hard climbing (effort 8) (limit: one rest day "
        "between).",
    ]
    two = [rest(9, figure=1.0, allowed=2.0), rest(16, cause="climbing", effort=9.0)]
    assert [t.replace(NBSP, " ") for t in words.breaches(two)] == [
        "Fingers on 9 January, two days after fingers (limit: two rest days between).",
        "Hard climbing (effort 9) on 16 January, the day after fingers (limit: one rest day "
        "between).",
    ]
    assert words.breaches_in_short(found).replace(NBSP, " ") == (
        "4 finger days in weeks 5 and 6 (limit 3). Also too little rest on three days."
    )
    assert found[0].date == pd.Timestamp(2026, 2, 5)


def test_long_sessions_are_one_line() -> None:
    """Minutes and sets of several sessions: from least to most, how often, in which weeks."""

    def often(limit: str, figures: tuple[float, ...], allowed: float) -> list[Breach]:
        return [
            Breach(limit, 1 + i // 2, (pd.Timestamp(2026, 1, 5 + i),), n, allowed)  # type: ignore[arg-type]
            for i, n in enumerate(figures)
        ]

    minutes = often("finger_session_minutes", (70.0, 100.0, 85.0), 60.0)
    sets = often("sets_per_session", (6.0, 6.0), 5.0)
    assert [t.replace(NBSP, " ") for t in words.breaches([*minutes, *sets])] == [
        "70 to 100 minutes of finger work in three sessions, weeks 1 and 2 (limit 60).",
        "6 sets in two sessions, week 1 (planned: 5 a session).",
    ]
    assert (
        words.breaches_in_short([rest(9), *minutes, *sets])
        .replace(NBSP, " ")
        .endswith("Also 70 to 100 minutes in three sessions (limit 60).")
    )
    assert words.breaches_in_short(sets) == ""


def test_days_of_tests_are_exempt_from_the_sets_planned(small_logs: Path) -> None:
    """More sets than planned on a day with a marked test break nothing; unmarked they do."""
    row = "cy,2026-01-13,9,repeater,{test},,half_crimp,both,20,-10,,7,3,6,,,,,"
    path = small_logs / "hangs.csv"
    before = path.read_text()
    for test, broken in (("yes", False), ("", True)):
        path.write_text(before)
        add_rows(small_logs, "hangs.csv", row.format(test=test))
        limits = {b.limit for b in reviewed(small_logs, "cy").dose.breaches}
        assert ("sets_per_session" in limits) is broken


def test_days_of_tests() -> None:
    """Days with a marked test; in a test week without any mark, all its finger days."""
    sets = derived(hang(on=0, test=True), hang(on=2), hang(on=10, test=True), hang(on=11))
    plan = dataclasses.replace(BLOCK, test_weeks=(1,))
    assert {d.day for d in days_of_tests(sets, plan)} == {5, 15}
    unmarked = derived(hang(on=0), hang(on=2), hang(on=10))
    assert {d.day for d in days_of_tests(unmarked, plan)} == {5, 7}


def test_impulse_is_a_figure_without_a_line(small_logs: Path) -> None:
    """The week's finger impulse and its rise stand in the table where body mass is shown only."""
    assert "finger impulse (kg\u00b7s)" in page_words(reviewed(small_logs, "ada"))
    assert "impulse" not in page_words(reviewed(small_logs, "cy"))


def test_what_nothing_is_known_of_is_no_zero(tmp_path: Path) -> None:
    """Hangs without a weigh-in: no impulse of 0, no session load of "0 or more", no limits kept."""
    head = "athlete,date,sets,exercise,grip,hand,edge_mm,added_kg,hang_s\n"
    rows = "".join(f"kim,2026-01-{d:02},3,hang,half_crimp,both,20,0,10\n" for d in (5, 9, 14))
    (tmp_path / "hangs.csv").write_text(head + rows)
    text = page_words(reviewed(tmp_path))
    assert "impulse (kg·s)" in text
    assert "1\t\u2013\t6\t1 min\t\u2013\t\u2013" in text
    assert "0 or more" not in text
    assert "No limits were set; what you logged kept a beginner's: 2 finger days a week" in text
    assert "What you logged kept the limits" not in text


def test_a_known_session_load_has_its_table(small_logs: Path) -> None:
    """One session with effort and minutes is enough."""
    assert "or more" in page_words(reviewed(small_logs, "ada"))
