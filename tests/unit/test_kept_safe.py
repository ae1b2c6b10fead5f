"""A slip in the log or in the block's first day costs a line of words, never what matters."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from gripbook.logs import load_logs
from gripbook.report.results import results_table
from gripbook.report.run.work import gather_facts
from gripbook.words import log
from gripbook.words.fmt import NBSP
from gripbook.words.lead import lead
from gripbook.words.problems import reason_and_remedy
from tests.reviewed import reviewed

HANGS = """\
athlete,date,exercise,grip,hand,edge_mm,added_kg,hang_s,reserve_s
kim,2026-01-05,hang,half_crimp,both,20,10,10,2
kim,2026-01-05,hang,open_three,both,20,5,10,2
kim,2026-01-08,hang,half_crimp,both,20,105,10,2
kim,2026-01-12,hang,half_crimp,both,20,12.5,10,1
kim,2026-01-15,hang,half_crimp,both,20,12.5,10,2
"""
BLOCK = '[block]\nname = "Winter"\nstart = 2026-11-30\nweeks = 8\n[limits]\nfingers_per_week = 1\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Logs of January with a pain entry, 105 for 10.5, and a block of next November."""
    (tmp_path / "hangs.csv").write_text(HANGS)
    (tmp_path / "body.csv").write_text("athlete,date,body_mass_kg\nkim,2026-01-05,62.4\n")
    (tmp_path / "pain.csv").write_text(
        "athlete,date,when,site,side,level\nkim,2026-01-15,after,middle,left,4\n"
    )
    (tmp_path / "block.toml").write_text(BLOCK)
    return tmp_path


def first_words(folder: Path) -> list[str]:
    """The sentences of the first screen."""
    return [line.text.replace(NBSP, " ") for line in lead(reviewed(folder, "kim"))]


def test_pain_before_the_block_is_still_said_first(folder: Path) -> None:
    """Nothing is logged in the block's days: the whole log is reviewed and its pain told."""
    words = first_words(folder)
    assert "4 of 10" in words[0]
    pages = reviewed(folder, "kim")
    told = log.gaps(pages.gaps, pages.block)
    assert any("Winter" in s and "nothing is logged" in s.lower() for s in told), told
    assert pages.next_block.holds
    assert not pages.block.planned
    assert pages.block.aside is not None
    assert pages.block.aside.name == "Winter"
    assert pages.block.limits.fingers_per_week == 1  # what doesn't hang on weeks still holds


def test_the_block_without_entries_is_told_once(folder: Path) -> None:
    """The check names the athlete, the days and what to set; right days end it."""
    told = [p for p in load_logs(folder).problems if p.code == "block_empty"]
    assert [(p.athlete, p.file, p.column) for p in told] == [("kim", "block.toml", "start")]
    assert "2026-01-05" in reason_and_remedy(told[0])[1]
    (folder / "block.toml").write_text(BLOCK.replace("2026-11-30", "2026-01-05"))
    logs = load_logs(folder)
    assert not [p for p in logs.problems if p.code == "block_empty"]
    assert logs.block_for("kim").name == "Winter"


def test_a_block_of_pain_alone_is_not_left(folder: Path) -> None:
    """An entry of any kind in the block's days keeps the block."""
    with (folder / "pain.csv").open("a") as file:
        file.write("kim,2026-12-02,morning,middle,left,3\n")
    assert load_logs(folder).block_for("kim").name == "Winter"


def test_results_and_report_name_the_same_blocks(folder: Path) -> None:
    """Both tell the block planned and the whole log."""
    logs = load_logs(folder)
    table, failures = results_table(logs)
    assert not failures
    facts, shown = gather_facts(logs, "kim", "", None)
    assert shown is not None
    assert not facts.failed
    assert set(table["block"]) <= {"Winter", "Whole log"}
    assert "Whole log" in set(table["block"])
    assert shown.block.name == "Whole log"


def test_a_slip_of_the_pen_is_no_news(folder: Path) -> None:
    """105 for 10.5 is told with its day and place, left out of strength, and counts as work."""
    found = reviewed(folder, "kim")
    odd = found.sets["line"] == 4
    assert np.isnan(found.sets.loc[odd, "load_kg"].item())
    assert found.sets.loc[odd, "wrong_kg"].item() == pytest.approx(167.4)
    assert found.sets.loc[odd, "tension_s"].item() == 10
    words = " ".join(first_words(folder))
    assert "one set looks wrong" in words.lower()
    assert "167.4 kg on the fingers on 8 January" in words
    top = max(h.end_kg for h in found.fit.series if np.isfinite(h.end_kg))
    assert top < 100
    told = [p for p in load_logs(folder).problems if p.code == "load_high"]
    assert [(p.file, p.line) for p in told] == [("hangs.csv", 4)]
    assert "counts as work only" in reason_and_remedy(told[0])[0]


def test_two_that_agree_stand_by_each_other(folder: Path) -> None:
    """A second set near the first makes both count."""
    with (folder / "hangs.csv").open("a") as file:
        file.write("kim,2026-01-19,hang,half_crimp,both,20,100,10,2\n")
    found = reviewed(folder, "kim")
    assert found.wrong == ()
    assert found.sets["load_kg"].max() == pytest.approx(167.4)


def test_few_sets_call_none_wrong(folder: Path) -> None:
    """With fewer than three others of its kind nothing says which of them is the slip."""
    rows = HANGS.splitlines(keepends=True)
    (folder / "hangs.csv").write_text("".join(rows[:5]))
    assert reviewed(folder, "kim").wrong == ()


def test_hidden_body_mass_stays_hidden_in_what_looks_wrong(folder: Path) -> None:
    """Load and added weight together would tell it."""
    (folder / "athletes.csv").write_text("athlete,show_body_mass\nkim,no\n")
    found = reviewed(folder, "kim")
    assert [place for place, _ in found.wrong] == ["hangs.csv:4"]
    assert np.isnan(found.wrong[0][1])
    assert "167" not in " ".join(line.text for line in lead(found))


@pytest.mark.parametrize(
    ("column", "word", "meant"),
    [
        ("grip", "crimp", "Did you mean half_crimp or full_crimp?"),
        ("grip", "half crmp", "Did you mean half_crimp?"),
        ("grip", "open", "Did you mean open_four or open_three?"),
        ("grip", "xyz", "Use one of these words."),
        ("kind", "boulder hall", "Did you mean climbing?"),
        ("kind", "stretch it", "Did you mean mobility?"),
    ],
)
def test_a_word_that_was_meant_is_named(tmp_path: Path, column: str, word: str, meant: str) -> None:
    """Every word of the format that holds what was written, or that it stands for in the trade."""
    grip = word if column == "grip" else "half_crimp"
    (tmp_path / "hangs.csv").write_text(
        "athlete,date,exercise,grip,hand,edge_mm,added_kg,hang_s\n"
        f"kim,2026-01-05,hang,{grip},both,20,5,10\n"
    )
    if column == "kind":
        (tmp_path / "sessions.csv").write_text(f"athlete,date,kind\nkim,2026-01-05,{word}\n")
    told = [
        reason_and_remedy(p)[1]
        for p in load_logs(tmp_path).problems
        if p.code.startswith("unknown_")
    ]
    assert [one.partition(" A grip of your own")[0] for one in told] == [meant]


@pytest.mark.parametrize(
    ("file", "column", "word", "read"),
    [
        ("hangs", "grip", "Half-Crimp", "half_crimp"),
        ("sessions", "kind", "bouldern", "climbing"),
        ("sessions", "kind", "stretching", "mobility"),
    ],
)
def test_a_word_of_one_meaning_is_read_and_noted(
    tmp_path: Path, file: str, column: str, word: str, read: str
) -> None:
    """It is no problem; the file's notes say what was written and what was read."""
    grip, kind = (word, "climbing") if column == "grip" else ("half_crimp", word)
    (tmp_path / "hangs.csv").write_text(
        "athlete,date,exercise,grip,hand,edge_mm,added_kg,hang_s\n"
        f"kim,2026-01-05,hang,{grip} ,both,20,5,10\n"
    )
    (tmp_path / "body.csv").write_text("athlete,date,body_mass_kg\nkim,2026-01-05,62.4\n")
    (tmp_path / "sessions.csv").write_text(f"athlete,date,kind\nkim,2026-01-05,{kind} \n")
    logs = load_logs(tmp_path)
    assert logs.problems == ()
    assert logs.frame(file)[column].tolist() == [read]
    (note,) = (note for report in logs.reports for note in report.notes)
    assert (note.column, note.written, note.read, note.rows) == (column, word, read, 1)


def test_both_days_that_a_date_may_mean_are_written_out(tmp_path: Path) -> None:
    """The remedy can be copied, whichever of the two was meant."""
    (tmp_path / "hangs.csv").write_text(
        "athlete,date,exercise,grip,hand,edge_mm,added_kg,hang_s\n"
        "kim,05.01.2026,hang,half_crimp,both,20,5,10\n"
    )
    (told,) = load_logs(tmp_path).errors
    assert (
        "2026-01-05 if the day comes first, as 2026-05-01 if the month does"
        in reason_and_remedy(told)[1]
    )


def test_an_id_in_other_letters_is_named(tmp_path: Path) -> None:
    """Kim and kim are two athletes; each is told of the other."""
    (tmp_path / "hangs.csv").write_text(
        "athlete,date,exercise,grip,hand,edge_mm,added_kg,hang_s\n"
        "kim,2026-01-05,hang,half_crimp,both,20,5,10\n"
    )
    (tmp_path / "body.csv").write_text("athlete,date,body_mass_kg\nKim,2026-01-05,60\n")
    told = {
        p.athlete: reason_and_remedy(p)[1]
        for p in load_logs(tmp_path).problems
        if "in_one" in p.code
    }
    assert told == {
        "Kim": "Write the id the same in every file: hangs.csv has kim.",
        "kim": "Write the id the same in every file: body.csv has Kim.",
    }
