"""Limits: defaults and their mark, a first block without pulls, the young, rows behind each."""

from __future__ import annotations

from pathlib import Path

import pytest

from gripbook.html import Fragment
from gripbook.logs import load_logs
from gripbook.report import sections
from gripbook.reviews import BlockReview, review
from gripbook.reviews.dose import Breach
from gripbook.words.fmt import NBSP
from tests.unit.test_reviews import add_rows


def page_words(r: BlockReview) -> str:
    """The words of the dose section."""
    parts = [repr(p) for p in sections.dose(r) if isinstance(p, Fragment)]
    return "\n".join(parts).replace(NBSP, " ")


def test_stated_limits_have_no_mark(small_logs: Path) -> None:
    """Limits of the block file stand without a mark."""
    text = page_words(review(load_logs(small_logs), "ada"))
    assert (
        "Limits of this block: 2 finger days a week; one rest day between them, where a climbing "
        "session of effort 7 or more counts too; 60 minutes a finger session. Not kept:"
    ) in text


def test_defaults_are_marked(small_logs: Path) -> None:
    """Without a block file the beginner's limits are marked as common practice, pulls too."""
    (small_logs / "block.toml").unlink()
    text = page_words(review(load_logs(small_logs), "ada"))
    assert (
        "Limits of this block: 2 finger days a week (common practice, no source); one rest day "
        "between them, where a climbing session of effort 7 or more counts too (common practice, "
        "no source); 60 minutes a finger session (common practice, no source); no all-out pulls, "
        "as in a beginner's first block (common practice, no source). Not kept:"
    ) in text


def test_pulls_in_a_first_block(small_logs: Path) -> None:
    """Without a plan, pulls of someone not known to have trained a year are told with their day."""
    (small_logs / "block.toml").unlink()
    told = [b for b in review(load_logs(small_logs), "ada").dose.breaches if "pulls" in b.limit]
    assert [b.text.replace(NBSP, " ") for b in told] == [
        "Week 3, 19 January: two all-out pulls; a beginner's first block has none (common "
        "practice, no source)."
    ]
    assert told[0].rows == ("hangs.csv:8", "hangs.csv:9")


@pytest.mark.parametrize(
    ("since", "first"), [("2023", False), ("2025-02", True), ("2025-01", False), ("", True)]
)
def test_a_year_of_finger_work_is_no_first_block(small_logs: Path, since: str, first: bool) -> None:
    """Whoever has trained the fingers for a year is held to no beginner's rule on pulls."""
    (small_logs / "block.toml").unlink()
    (small_logs / "athletes.csv").write_text(f"athlete,born,fingers_since\nada,1998,{since}\n")
    found = review(load_logs(small_logs), "ada").dose.breaches
    assert any(b.limit == "pulls_in_first_block" for b in found) is first


def test_estimated_minutes_are_told_as_such() -> None:
    """A breach that rests on an estimate says so."""
    breach = Breach("finger_session_minutes", 2, None, 71.0, 60.0, estimated=True)
    assert "71 minutes of finger work by sets and rests (not logged), limit 60." in breach.text


def test_every_breach_names_its_rows(small_logs: Path) -> None:
    """Each limit not kept can be followed to rows of the log."""
    rows = {
        b.text[:7] + b.limit: b.rows for b in review(load_logs(small_logs), "ada").dose.breaches
    }
    assert rows["Week 2,finger_session_minutes"] == ("hangs.csv:5", "hangs.csv:6", "sessions.csv:8")
    assert rows["Week 2,rest_days_between_finger_days"] == (
        "hangs.csv:5",
        "hangs.csv:6",
        "sessions.csv:7",
        "sessions.csv:8",
    )
    assert rows["Week 3:fingers_per_week"] == tuple(f"hangs.csv:{n}" for n in (8, 9, 10, 11))


def test_targets_are_no_limits(small_logs: Path) -> None:
    """More or less mobility than planned breaks nothing."""
    path = small_logs / "block.toml"
    path.write_text(path.read_text().replace("core = 2", "core = 7\nmobility = 1"))
    before = {b.text for b in review(load_logs(small_logs), "ada").dose.breaches}
    add_rows(
        small_logs, "sessions.csv", *(f"ada,2026-01-{d:02},mobility,,20,1,," for d in (5, 6, 7))
    )
    found = review(load_logs(small_logs), "ada").dose
    assert {b.text for b in found.breaches} == before
    assert found.targets.loc[found.targets["kind"] == "mobility", "done"].tolist()[0] == 3


def test_no_breach_is_not_safe(small_logs: Path) -> None:
    """Where no limit was broken the page says that this is not the same as safe."""
    text = page_words(review(load_logs(small_logs), "cy"))
    assert "None was broken by what is logged, which is not the same as safe." in text


def test_intensive_work_under_18(small_logs: Path) -> None:
    """Tests and sets to failure under 18 are told as outside published advice."""
    found = review(load_logs(small_logs), "bo")
    assert found.dose.youth == (
        "Maximal tests in weeks 1 and 2 and sets to failure in week 2: outside published advice "
        "for climbers under 18; coach and guardian decide.",
    )
    assert found.dose.youth[0] in page_words(found)
    assert review(load_logs(small_logs), "ada").dose.youth == ()


def test_impulse_is_a_figure_without_a_line(small_logs: Path) -> None:
    """The week's finger impulse and its rise stand in the table where body mass is shown only."""
    assert "finger impulse (kg\u00b7s)" in page_words(review(load_logs(small_logs), "ada"))
    assert "impulse" not in page_words(review(load_logs(small_logs), "cy"))
