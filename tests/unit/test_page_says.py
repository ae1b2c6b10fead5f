"""Sentences of pages beside the rows they speak of."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from gripbook.charts.paths import draw_so_far, track
from gripbook.charts.ratio import draw_ratio
from gripbook.logs import load_logs
from gripbook.report import sections
from gripbook.reviews import BlockReview, review
from gripbook.reviews.squad import squad_row
from gripbook.words import fmt, loads, pain, series, squad, strength
from gripbook.words.block import phase_head
from gripbook.words.fmt import NBSP
from gripbook.words.lead import LeadWord, lead
from tests.reviewed import reviewed

DEMO = Path(__file__).parents[2] / "data_demo"
BY_HAND = Path(__file__).parents[1] / "data" / "by_hand"


@cache
def of(name: str) -> BlockReview:
    """The review of one of the demo squad, or of a log written by hand."""
    return reviewed(BY_HAND / name) if (BY_HAND / name).is_dir() else demo(name)


def demo(name: str) -> BlockReview:
    """The review of one of the demo squad."""
    return reviewed(DEMO, name)


def line(name: str, word: LeadWord) -> str:
    """One line of the first screen."""
    return next(x.text for x in lead(of(name)) if x.word is word).replace(NBSP, " ")


def text(parts: object) -> str:
    """A section's markup."""
    return " ".join(map(repr, parts)).replace(NBSP, " ")  # type: ignore[call-overload]


def test_later_notes_are_not_said_to_be_of_the_injury() -> None:
    """Two rows say "finger taped": they are to be read, and no more is said of them."""
    told = line("notes", LeadWord.NOTE)
    assert "heard a small pop" in told
    assert "Two more notes to read under Pain." in told
    held = text(sections.next_block(of("notes")))
    assert "Because of the notes of 26 September, 28 September and 5 October." in held
    assert "Three finger days followed, on 28 September, 5 October and 8 October." in held


def test_what_ends_the_hold_of_a_note() -> None:
    """One sentence, whatever the hands; who decides stands in the first screen and under Next."""
    assert pain.note_hold(of("notes").notes).startswith("They hold until “cleared” is logged")
    assert pain.note_hold(of("arvo").notes) == ""


def test_pain_is_said_as_it_was_answered() -> None:
    """On all finger days, on some, or not at all."""
    assert "Pain: 0 on all 17 finger days." in line("arvo", LeadWord.DONE)
    assert "Pain: 0 on 3 of 23 finger days, otherwise not noted." in line("galo", LeadWord.DONE)
    assert "Pain wasn't noted." in line("hesk", LeadWord.DONE)


def test_other_verdicts_are_said_each_by_its_name() -> None:
    """After "can't tell" come the others, each with its verdict, in any order."""
    told = line("galo", LeadWord.STRONGER)
    assert told.endswith("Repeaters: probably stronger, about 8 in 10; both pulls: can't tell.")


def test_the_first_day_of_the_coming_week_is_that_of_its_first_session() -> None:
    """Week 9 begins on Monday 2 March; the day named is the first session's."""
    told = line("hesk", LeadWord.NEXT)
    assert told.startswith("Week 9 starts with pulls on 3 March: ")
    assert of("hesk").block.test_weeks[-1] == 9


def test_no_test_is_promised_that_the_plan_lets_wait() -> None:
    """Hesk's tests of week 9 wait; Vera's of week 8 don't."""
    assert "can show" not in line("hesk", LeadWord.SO_FAR)
    assert "Let them wait." in text(sections.next_block(of("hesk")))
    assert line("running", LeadWord.SO_FAR).endswith(
        "The test in week 8 can show a large rise; a small one stays inside the range."
    )


def test_sessions_due_are_those_of_the_last_four_weeks() -> None:
    """Hesk: two of the seven due in weeks 5 to 8."""
    told = text(sections.next_block(of("hesk")))
    assert "2 of the 7 finger sessions due in the last four weeks were done" in told
    weeks = of("hesk").done.weeks.set_index("week").loc[5:8]
    assert (weeks["sessions_done"].sum(), weeks["sessions_due"].sum()) == (2, 7)


def test_a_failed_test_is_said_up_to_where_it_failed() -> None:
    """8 of 10 s were held: neither the sentence nor the table says 10 s."""
    h = of("refused").change.headline
    assert h is not None
    assert h.last_test is not None
    assert h.last_test.best.outcome == "failed"
    assert strength.test_words(h.last_test).replace(NBSP, " ") == "+25 kg × 8 s"
    assert strength.test_detail(h.last_test).replace(NBSP, " ") == "103.1 kg, failed"
    assert "you did +25 kg × 8 s" in strength.answer(of("refused").change).replace(NBSP, " ")


def test_a_failed_repeater_is_said_by_its_holds() -> None:
    """Five of six holds; where it failed is not known: as planned, and that it failed."""
    (row,) = (
        t.failed
        for s in of("celm").change.series
        if (t := s.first_test) is not None and t.failed is not None
    )
    failed = replace(row, reps=6.0, reps_done=5.0)
    assert series.length(failed).replace(NBSP, " ") == "5 holds"
    assert series.length(replace(failed, outcome="finished")).replace(NBSP, " ") == "6 holds"
    unknown = replace(row, reps_done=np.nan, held_s=np.nan)
    assert series.length(unknown).replace(NBSP, " ") == "10 s"
    assert series.ended(unknown) == "failed"


def test_more_than_planned_is_no_fraction() -> None:
    """12 sessions of 8 planned are said as two numbers; fewer as one of the other."""
    heads = [phase_head(p)[1] for p in of("galo").done.phases.itertuples()]
    assert heads[0] == "3 of 4 sessions, 22 of 32 sets"
    assert heads[1] == "12 sessions, 8 planned; 60 sets, 40 planned"


def test_work_without_an_end_is_named_once() -> None:
    """No hangs and no repeaters of Celm have an end, whatever the grip; of Arvo's one grip's."""
    assert strength.without_end(of("celm").change) == (
        "Not done at both ends of the block: timed hangs and repeaters."
    )
    assert "timed hangs (open hand, three fingers)" in strength.without_end(of("arvo").change)


def test_a_pull_need_not_be_the_hardest_load() -> None:
    """Arvo's last test hang loaded each hand more than most pulls, so no page says otherwise."""
    sets = of("arvo").sets
    hands = np.where(sets["hand"] == "both", 2, 1)
    per_hand = (sets["load_kg"] / hands).groupby(sets["exercise"])
    assert per_hand.max()["hang"] > per_hand.median()["pull"]
    assert "hardest" not in loads.finger_work(show=True, pulls=True)


def test_the_first_screen_and_the_chart_give_one_estimate() -> None:
    """Both are of the log's last day, though the path is known from week to week."""
    h = of("refused").change.headline
    assert h is not None
    end = of("refused").last
    found = h.at(end)
    assert found is not None
    step = track(h, end.date())[-1]
    assert found == pytest.approx(step[1:4])
    assert f"({found[1]:.0f} to {found[2]:.0f} kg" in line("refused", LeadWord.SO_FAR)
    assert h.at(h.path["day"].iloc[0] - pd.Timedelta(days=1)) is None


def test_a_flag_of_the_first_screen_is_not_said_again_in_its_section() -> None:
    """What to do stands in the first screen; the section gives its history."""
    told = text(sections.pain(of("celm")))
    assert "See a physician or physiotherapist this week" in line("celm", LeadWord.PAIN)
    assert "See a physician or physiotherapist this week" not in told
    assert "reached the block's limit of 3 on 25 February" in told


def test_the_reason_for_a_lower_start_is_said_once() -> None:
    """Under Next, not in the first screen as well."""
    assert "No finger work for 52 days" not in line("arvo", LeadWord.NEXT)
    assert text(sections.next_block(of("arvo"))).count("start at 90 %") == 1


def test_pain_to_log_is_asked_for_once() -> None:
    """In a running block under Next; else about the log."""
    asked = "Log pain after every finger day"
    assert asked not in text(sections.log(of("running")))
    assert "After every finger day, 0 too." in text(sections.next_block(of("running")))
    assert asked in text(sections.log(of("galo")))


def test_every_page_says_that_it_holds_health_data() -> None:
    """Whose consent it needs, and that it is deleted."""
    for name in ("arvo", "minor"):
        told = text(sections.log(of(name)))
        assert "This page holds health data." in told
        assert "a guardian's if you are under 18" in told.replace("&#x27;", "'")


def test_hidden_body_mass_is_in_no_change_of_the_squad_page() -> None:
    """A tenth more body mass changes nothing of Eske's row, and the page says where it stands."""
    logs = load_logs(DEMO)
    heavier = replace(logs, body=logs.body.assign(body_mass_kg=logs.body["body_mass_kg"] * 1.1))
    rows = [squad_row(review(x, "eske")) for x in (logs, heavier)]
    told = [[(m.verdict, m.tenths, m.hidden, squad.lane(m)) for m in row.marks] for row in rows]
    assert told[0] == told[1]
    assert not any(np.isfinite(m.low_pct) for row in rows for m in row.marks)
    found = squad.hidden(squad_of(rows[0]))
    assert found.startswith("Body mass is hidden for Eske: ")


def squad_of(row: object) -> squad.SquadReview:
    """A squad of one row."""
    return squad.SquadReview("squad", pd.Timestamp("2026-04-26"), (row,), 0, (), ("eske",))  # type: ignore[arg-type]


def test_ends_of_the_ratio_chart_have_the_same_decimals() -> None:
    """Per cent of strength and of body mass in whole numbers, both masses with one decimal."""
    r = of("galo")
    assert r.change.ratio is not None
    with fmt.in_mass_unit(r.athlete.units):
        picture = draw_ratio(r.change.ratio, r.body_mass, r.block, r.last.date())
    assert picture is not None
    words = [row["text"].replace(NBSP, " ") for row in picture.wide["layer"][-1]["data"]["values"]]
    assert {"+4 %", "+3 %", "180.2 to 187.6 lb"} <= set(words)


def test_sets_beneath_the_axis_are_told_where_they_were_done() -> None:
    """In a running block left of what is to come, so not across the line of the test ahead."""
    r = of("running")
    assert r.change.headline is not None
    picture = draw_so_far(r.change.headline, r.block, r.last.date())
    assert picture is not None
    rows = picture.wide["layer"][-1]["data"]["values"]
    (lower,) = (row for row in rows if row["text"] == "one set lower")
    (ahead,) = (row for row in rows if row["text"] == "to come")
    assert lower["x"] < ahead["x"] - 60


def test_best_sets_stand_over_body_mass_in_the_fold() -> None:
    """By hand: a pull of 51.5 kg at 71.5 kg on 6 March; nothing where body mass is hidden."""
    told = text(sections.ratio(of("arvo")))
    table = told[told.index("Best set of each week, on the edge used most") :]
    assert f"left hand, 20 mm\t9\t{51.5 / 71.5:.2f}\thangs.csv:87" in table.replace("\\t", "\t")
    assert sections.ratio(of("eske")) == ()


def test_a_hidden_pull_is_said_beside_the_first() -> None:
    """Eske's pulls: by how much more or less than the first one, never as a load of their own."""
    told = text(sections.strength(of("eske")))
    assert "2 kg more than in the first pull" in told
    assert "as in the first pull" in told
    assert "0.5 kg less than in the first pull" in told


def test_a_test_that_rose_is_said_where_the_range_is_wide() -> None:
    """By how much, and what came within two days before it; not beside a verdict."""
    assert line("adult", LeadWord.STRONGER).endswith("The test rose by 5 kg; the range is wide.")
    told = line("healthy", LeadWord.STRONGER)
    assert (
        "The test rose by 2.5 kg; the range is wide. It came two days after all-out pulls." in told
    )
    assert "The test rose" not in line("beginner", LeadWord.STRONGER)


def test_a_load_on_an_edge_never_hung_on_is_said_to_be_worked_out() -> None:
    """Bea hung on 25 mm alone; Ada on the edge her load is stated for."""
    assert "20 mm for 10 s (worked out from 25 mm)" in line("beginner", LeadWord.STRONGER)
    assert "worked out from" not in line("adult", LeadWord.STRONGER)


def test_pulls_that_a_minor_leaves_out_are_no_substitution() -> None:
    """Nobody under 18 owes an all-out pull."""
    assert any("pull" in plan for plan in of("minor").done.swaps["plan"])
    told = text(sections.block(of("minor")))
    assert "in place of repeaters" in told
    assert "in place of pulls" not in told
    assert "in place of all-out" not in told


def test_training_loads_leave_out_the_day_of_a_test() -> None:
    """Vera's hangs at 0 on the day of her test led up to it."""
    (hangs,) = [s for s in of("running").change.series if s.capacity == "hang"]
    assert hangs.training is not None
    assert hangs.training.first.day == pd.Timestamp(2026, 9, 3)
    assert hangs.training.rise_kg == 2.5
