"""The review as data, and its sentences whole."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path

import pandas as pd
import pytest

from gripbook.errors import UnknownAthleteError, UnknownBlockError
from gripbook.logs import load_logs
from gripbook.report import sections
from gripbook.reviews import review, review_squad
from gripbook.reviews.shown import ADDED, DIFFERENCE, LOAD, REVEALING
from gripbook.strength import RESULT_COLUMNS
from gripbook.words import block as block_words
from gripbook.words import log as log_words
from gripbook.words import series, strength
from gripbook.words.fmt import NBSP
from gripbook.words.lead import lead
from tests.reviewed import reviewed, reviewed_squad


def add_rows(folder: Path, file: str, *rows: str) -> None:
    """Append rows to a log file."""
    with (folder / file).open("a", encoding="utf-8") as out:
        out.writelines(row + "\n" for row in rows)


def test_lead_puts_safety_first(small_logs: Path) -> None:
    """Under 18 the page opens with who decides, then finger pain whatever its level."""
    first = lead(reviewed(small_logs, "bo"))[0]
    assert first.word == "minor"
    text = first.text.replace(NBSP, " ")
    assert text.startswith("Coach, guardian and physician decide what you train. ")
    assert "2 of 10 while training on 13 January" in text


@pytest.mark.parametrize("athlete", ["ada", "bo", "cy"])
def test_lead_is_short(small_logs: Path, athlete: str) -> None:
    """The first screen has at most four lines, each led by another word."""
    words = [line.word for line in lead(reviewed(small_logs, athlete))]
    assert 1 <= len(words) <= 4
    assert len(set(words)) == len(words)


def test_missing_pain_is_not_no_pain(small_logs: Path) -> None:
    """Without entries the review says that pain was not recorded."""
    found = reviewed(small_logs, "cy")
    assert not found.pain.recorded
    assert log_words.gaps(found.gaps, found.block)[0] == (
        "Pain was not noted, which doesn't mean no pain. Write 0 if there was none."
    )


def test_breaches_with_date_and_figure(small_logs: Path) -> None:
    """Each limit not kept is told with its week, day and figure; hard climbing counts for rest."""
    found = reviewed(small_logs, "ada").dose.breaches
    assert [block_words.breach(b).replace(NBSP, " ") for b in found] == [
        "75 minutes of finger work on 12 January (limit 60)",
        "fingers on 12 January, the day after hard climbing (effort 7) (limit: one rest day "
        "between)",
        "3 finger days in week 3 (limit 2): 19 January, 22 January and 23 January",
        "fingers on 23 January, the day after fingers (limit: one rest day between)",
    ]


def test_no_breach_is_never_called_safe(small_logs: Path) -> None:
    """Where no limit is broken the words claim no more than the log holds."""
    r = reviewed(small_logs, "cy")
    assert not r.dose.breaches
    assert not any("safe" in s or "Limits not kept" in s for s in (line.text for line in lead(r)))
    shown = "".join(getattr(p, "html", "") for p in sections.block(r))
    assert "What you logged kept the limits" in shown
    assert not re.search(r"\bsafe\b", shown)


@pytest.mark.parametrize(
    ("born", "said", "shown"),
    [
        ("1998", "", True),
        ("", "", True),
        ("2008", "", False),  # turns 18 in the block's year: counts as under 18
        ("2007", "", True),
        ("2010", "yes", True),
        ("1998", "no", False),
    ],
)
def test_who_shows_body_mass(small_logs: Path, born: str, said: str, shown: bool) -> None:
    """Body mass is hidden for minors, counted low, unless turned on, and for whoever says no."""
    path = small_logs / "athletes.csv"
    path.write_text(f"athlete,name,born,units,show_body_mass\nada,Ada,{born},kg,{said}\n")
    found = reviewed(small_logs, "ada")
    assert found.athlete.show_body_mass is shown
    assert found.ratio.empty is not shown


def test_hidden_review_holds_nothing_revealing(small_logs: Path) -> None:
    """Where body mass is hidden, no frame a chart can see holds it or leads to it."""
    (small_logs / "athletes.csv").write_text("athlete,show_body_mass\nada,no\n")
    found = reviewed(small_logs, "ada")
    assert set(REVEALING).isdisjoint(found.sets.columns)
    assert set(REVEALING).isdisjoint(found.weekly_best.columns)
    assert set(REVEALING).isdisjoint(found.tests.columns)
    assert found.work["impulse_kg_s"].isna().all()
    assert found.work["load_per_hand_kg"].isna().all()
    assert set(found.sets["shown_as"]) == {ADDED, DIFFERENCE}
    pulls = found.sets[found.sets["exercise"] == "pull"]
    assert list(pulls["shown_kg"]) == [0.0, 0.0]  # each is the first of its series
    for name in ("start_ratio", "end_ratio", "ratio_force_pct", "ratio_mass_pct"):
        assert found.results[name].isna().all()


def test_hidden_gauge_loads_are_told(small_logs: Path) -> None:
    """A load read from a gauge says nothing of body mass and is shown as it is."""
    (small_logs / "athletes.csv").write_text("athlete,show_body_mass\nada,no\n")
    header = "athlete,date,exercise,grip,hand,edge_mm,force_kg\n"
    sub = small_logs / "ada"
    sub.mkdir()
    (sub / "hangs.csv").write_text(header + "ada,2026-01-20,pull,half_crimp,left,20,41.25\n")
    found = reviewed(small_logs, "ada")
    gauge = found.sets[found.sets["shown_as"] == LOAD]
    assert list(gauge["shown_kg"]) == [41.25]


def test_results_come_from_the_model(small_logs: Path) -> None:
    """One row per capacity, grip and hand, in the contract's columns, as the fit has them."""
    found = reviewed(small_logs, "ada")
    rows = found.results
    assert list(rows.columns) == list(RESULT_COLUMNS)
    keys = list(zip(rows["capacity"], rows["grip"], rows["hand"], strict=True))
    assert sorted(keys) == sorted((s.capacity, s.grip, s.hand) for s in found.fit.series)
    assert set(rows["verdict"]) <= {"rise", "fall", "steady", "unclear"}
    assert (rows["athlete"] == "ada").all()


def test_missed_and_reasoned_weeks(small_logs: Path) -> None:
    """Illness is told with its days; a silent week is told as such once the log is past it."""
    found = reviewed(small_logs, "bo")
    assert list(found.done.weeks["without"]) == [(), (("ill", 5),), ()]
    add_rows(small_logs, "body.csv", "cy,2026-01-30,70")
    r = reviewed(small_logs, "cy")
    assert (
        "No finger session and no reason in weeks 2 and 3. Ill, away or resting? One row each is "
        "enough."
    ) in log_words.gaps(r.gaps, r.block)


def test_review_without_any_plan(small_logs: Path) -> None:
    """Without a block file the whole log is reviewed, and the page says that no plan was given."""
    (small_logs / "block.toml").unlink()
    found = reviewed(small_logs, "ada")
    assert not found.block.planned
    assert found.block.start.isoformat() == "2026-01-05"
    assert found.block.weeks == 3
    assert found.gaps[0].kind == "no_plan"
    assert found.done.sessions_planned is None


def test_old_weigh_ins_are_told(small_logs: Path) -> None:
    """Loads that lean on a weigh-in more than 14 days away are counted, with their error."""
    add_rows(small_logs, "hangs.csv", "bo,2026-01-25,1,hang,,,half_crimp,both,20,0,,10,,,,,,,")
    (small_logs / "athletes.csv").write_text("athlete,born\nbo,1990\n")
    r = reviewed(small_logs, "bo")
    gaps = [g.replace(NBSP, " ") for g in log_words.gaps(r.gaps, r.block)]
    # 19 days: the square root of 0.5^2 + 0.9^2 * 19 / 7 kg^2
    assert (
        "On 1 of 4 finger days the nearest weigh-in is more than 14 days away, so the load is "
        "known to about 1.6 kg only."
    ) in gaps


def test_unknown_names_are_answered_with_those_there(small_logs: Path) -> None:
    """A wrong athlete or block is told with the right ones."""
    logs = load_logs(small_logs)
    with pytest.raises(UnknownAthleteError, match=re.escape("Athletes there: ada, bo, cy.")):
        review(logs, "zed")
    with pytest.raises(UnknownBlockError, match=re.escape("Blocks there: Small block.")):
        review(logs, "ada", "Summer")


def test_review_is_independent_of_the_others(small_logs: Path) -> None:
    """Every figure of an athlete is the same with the others' rows taken away."""
    whole = reviewed(small_logs, "ada")
    for name in ("hangs", "body", "sessions", "pain", "athletes"):
        path = small_logs / f"{name}.csv"
        lines = path.read_text().splitlines(keepends=True)
        path.write_text("".join(x if not x.startswith(("bo,", "cy,")) else "\n" for x in lines))
    alone = reviewed(small_logs, "ada")
    assert lead(alone) == lead(whole)
    assert repr(alone.gaps) == repr(whole.gaps)
    for field in ("sets", "work", "ratio", "results", "weekly_best"):
        pd.testing.assert_frame_equal(getattr(alone, field), getattr(whole, field))


def test_squad_order_and_reasons(small_logs: Path) -> None:
    """Pain first, then broken limits, then the rest by name."""
    found = reviewed_squad(small_logs)
    assert [r.athlete for r in found.by_need] == ["bo", "ada", "cy"]
    kinds = {r.athlete: [str(f.kind) for f in r.flags] for r in found.rows}
    assert kinds["bo"][0] == "pain_at_limit"
    assert kinds["ada"][:2] == ["limit_broken", "limit_broken"]
    assert kinds["cy"][-1] == "pain_not_noted"


def test_squad_survives_one_failure(small_logs: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A review that raises is told in its row; the others are reviewed."""
    from gripbook.reviews import squad

    real = squad.review

    def broken(logs: object, athlete: str, *more: object) -> object:
        if athlete == "bo":
            raise ZeroDivisionError("odd log")
        return real(logs, athlete, *more)  # type: ignore[arg-type]

    monkeypatch.setattr(squad, "review", broken)
    rows = {r.athlete: r for r in review_squad(load_logs(small_logs)).rows}
    assert rows["bo"].failed == "ZeroDivisionError: odd log"
    assert rows["ada"].sessions_done == 7


def test_review_is_frozen(small_logs: Path) -> None:
    """A review cannot be changed by what shows it."""
    found = reviewed(small_logs, "ada")
    with pytest.raises(dataclasses.FrozenInstanceError):
        found.gaps = ()  # type: ignore[misc]


def test_change_in_words(small_logs: Path) -> None:
    """Each series has a sentence; what was not measured says why, and no per cent is made up."""
    change = reviewed(small_logs, "ada").change
    assert change.series[0] is change.headline
    for s in change.series:
        told = strength.sentence(s)
        assert told.lower().startswith(series.name(s).lower() + ": ")
        assert told.endswith(".")
        assert s.measured or "90" not in told


def test_hidden_change_is_in_whole_kilograms() -> None:
    """Where body mass is hidden no load, per cent or ratio is given."""
    demo = Path(__file__).parents[2] / "data_demo"
    change = reviewed(demo, "eske").change
    assert change.ratio is None
    for s in change.series:
        assert len(s.path) == 0
    assert not any("%" in strength.pair(p) for p in change.pairs)


def test_no_test_day_is_asked_of_the_hurt_or_the_young(small_logs: Path) -> None:
    """What would make it sharper never names a test day under 18 or while pain holds loading."""
    add_rows(small_logs, "pain.csv", "ada,2026-01-15,during,ring,right,5,,")
    for athlete in ("ada", "bo"):
        sharper = reviewed(small_logs, athlete).change.sharper
        assert "test_days" not in [x.by for x in sharper]


def test_squad_of_one_block(small_logs: Path) -> None:
    """With a block's name the squad is those it was planned for; the others are no failures."""
    path = small_logs / "block.toml"
    named = 'name = "Small block"\nathletes = ["ada", "bo"]'
    path.write_text(path.read_text().replace('name = "Small block"', named))
    rows = review_squad(load_logs(small_logs), "Small block").rows
    assert [(r.athlete, r.failed) for r in rows] == [("ada", ""), ("bo", "")]
