"""Notes: which speak of an injury, what takes that back, and whose hand they hold."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from gripbook.html import Fragment
from gripbook.report import sections
from gripbook.reviews import BlockReview
from gripbook.reviews.notes import injury_words, side_in, sites_in
from gripbook.reviews.squad import HEALTH, FlagKind
from gripbook.words import pain as words
from gripbook.words.fmt import NBSP
from gripbook.words.lead import LeadWord, lead
from tests.reviewed import reviewed, reviewed_squad
from tests.unit.test_reviews import add_rows


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("tweaked left ring finger, heard a small pop - stopped", ("tweaked", "pop")),
        ("finger taped", ("taped",)),
        ("Elbow SWOLLEN", ("swollen",)),
        ("numb and tingling", ("numb", "tingling")),
        ("no pain", ()),
        ("no more pain", ()),
        ("no real pain today", ("pain",)),
        ("not much pain", ("pain",)),
        ("not only pain", ("pain",)),
        ("didn't stop despite pain", ("pain",)),
        ("nothing but pain", ("pain",)),
        ("keine neuen Schmerzen", ()),
        ("plus de douleur", ("douleur",)),
        ("no pain or finger swelling", ()),
        ("no pain, swelling", ("swelling",)),
        ("without any pain", ()),
        ("didn\u2019t hurt", ()),
        ("no pain or swelling", ()),
        ("no pain but a pop", ("pop",)),
        ("no tape, some pain", ("pain",)),
        ("no warm-up at all and then pain", ("pain",)),
        ("not the best day for my poor finger: pain", ("pain",)),
        ("pain-free", ()),
        ("repeaters hurt the pride", ()),
        ("popular route, pulled hard", ()),
        ("stopped, elbow", ("stopped",)),
        ("stopped early, tired", ()),
        ("Ringfinger gezerrt, hat geknackt", ("gezerrt", "geknackt")),
        ("keine Schmerzen", ()),
        ("schmerzfrei", ()),
        ("Finger taub", ("taub",)),
        ("aufgehört, Ellbogen", ("aufgehört",)),
        ("douleur au doigt, gonflé", ("douleur", "gonflé")),
        ("pas de douleur", ()),
        ("sans douleur", ()),
        ("craquement à l\u2019annulaire", ("craquement",)),
        ("felt strong", ()),
        ("", ()),
    ],
)
def test_words_of_injury(text: str, found: tuple[str, ...]) -> None:
    """Words of three languages, whole; negated ones are taken back within their clause."""
    assert injury_words(text) == found


@pytest.mark.parametrize(
    ("text", "side"),
    [
        ("left ring", "left"),
        ("right after the left", "left"),
        ("all right", ""),
        ("links und rechts", "both"),
        ("doigt de la main droite", "right"),
        ("finger", ""),
    ],
)
def test_side_of_a_note(text: str, side: str) -> None:
    """The side that the words name."""
    assert side_in(text) == side


def test_places_of_a_note() -> None:
    """Places as in pain.csv; what stays open is a finger or an elbow."""
    assert sites_in("left ring finger") == ("ring", "finger")
    assert sites_in("Ellbogen") == ("elbow",)
    assert sites_in("during the session") == ()


def noted(folder: Path, *rows: str, note: str = "", **more: str) -> BlockReview:
    """Ada's review with a note on a climbing session of 20 January and rows of pain.csv."""
    if note:
        add_rows(folder, "sessions.csv", f"ada,2026-01-20,climbing,,90,5,,{note}")
    add_rows(folder, "pain.csv", *rows)
    for file, row in more.items():
        add_rows(folder, f"{file}.csv", row)
    return reviewed(folder, "ada")


TWEAKED = "tweaked left ring finger - heard a small pop - stopped"


def test_a_note_of_an_injury_comes_first(small_logs: Path) -> None:
    """It opens the page whole, holds its hand, stands beside its day and says what ends that."""
    r = noted(small_logs, note=TWEAKED)
    assert r.notes.held_sides == ("left",)
    first = lead(r)[0]
    assert first.word == LeadWord.NOTE
    assert f"\u201c{TWEAKED}\u201d" in first.text
    assert "physician or physiotherapist" in first.text
    block = " ".join(repr(p) for p in sections.block(r) if isinstance(p, Fragment))
    assert f"Tue: {TWEAKED}" in block
    section = " ".join(map(repr, sections.pain(r))).replace(NBSP, " ")
    assert section.startswith("Read this note first: 20 January, left: ")
    assert TWEAKED in section


def test_a_note_without_a_side_holds_both(small_logs: Path) -> None:
    """Where no side is named both hands are held, as two notes are told as two."""
    r = noted(small_logs, note="finger taped", hangs=(
        "ada,2026-01-23,1,hang,,,half_crimp,both,20,0,,10,,,,,,,still swollen"
    ))  # fmt: skip
    assert r.notes.held_sides == ("left", "right")
    assert "Read these two notes first" in words.notes_head(r.notes)
    assert words.note_hold(r.notes).startswith("They hold until")


@pytest.mark.parametrize("side", ["left", "right", "both", ""])
@pytest.mark.parametrize("site", ["ring", ""])
def test_a_zero_of_ones_own_ends_no_hold(small_logs: Path, site: str, side: str) -> None:
    """Whatever hand and place a later level 0 names, the hand that popped stays held, it alone."""
    r = noted(small_logs, f"ada,2026-01-22,morning,{site},{side},0,,", note=TWEAKED)
    assert r.notes.held_sides == ("left",)
    (note,) = [n for n in r.notes.all if n.injury]
    assert note.past is None
    assert "a 0 you write yourself doesn't end it" in words.note_hold(r.notes)


@pytest.mark.parametrize("side", ["left", "right", "both", ""])
def test_no_zero_selects_a_hand(small_logs: Path, side: str) -> None:
    """A taped finger without a side holds both hands, whichever hand is said not to hurt."""
    r = noted(small_logs, f"ada,2026-01-22,morning,ring,{side},0,,", note="finger taped")
    assert r.notes.held_sides == ("left", "right")


def test_pain_in_a_finger_tells_no_side(small_logs: Path) -> None:
    """Nor does pain in a finger, or the hand of the day's sets: the taped one may be another."""
    add_rows(
        small_logs,
        "hangs.csv",
        "ada,2026-01-21,1,hang,,,half_crimp,right,20,0,,10,,,,,,,finger taped",
    )
    r = noted(small_logs, "ada,2026-01-21,after,ring,right,1,,")
    assert r.notes.held_sides == ("left", "right")


@pytest.mark.parametrize(("day", "held"), [("20", True), ("21", False)])
def test_cleared_ends_the_hold_of_a_note(small_logs: Path, day: str, held: bool) -> None:
    """A later day of kind `cleared` ends it, and what its note says is no new injury."""
    r = noted(
        small_logs,
        note=TWEAKED,
        sessions=f"ada,2026-01-{day},cleared,,,,,physio: pulley strain is healed",
    )
    assert bool(r.notes.held_sides) is held
    assert [n.injury for n in r.notes.all if n.text.startswith("physio")] == [False]


def test_pain_at_that_place_tells_the_side(small_logs: Path) -> None:
    """A note about an elbow takes the side of the pain logged there within two days."""
    r = noted(small_logs, "ada,2026-01-22,morning,elbow_inner,right,2,,", note="elbow taped")
    assert r.notes.held_sides == ("right",)


def test_pain_three_days_off_tells_no_side(small_logs: Path) -> None:
    """Further away both hands stay held; so they do where both sides hurt."""
    r = noted(small_logs, "ada,2026-01-23,morning,elbow_inner,right,2,,", note="elbow taped")
    assert r.notes.held_sides == ("left", "right")


def test_a_row_of_kind_injured_needs_no_such_word(small_logs: Path) -> None:
    """The note of a day logged as injured is read first, whatever it says."""
    r = noted(small_logs, sessions="ada,2026-01-21,injured,2026-01-23,,,,left hand")
    assert r.notes.held_sides == ("left",)


def test_notes_after_the_block_still_hold(small_logs: Path) -> None:
    """They stand in no calendar of the block, but hold."""
    r = noted(small_logs, sessions="ada,2026-02-10,climbing,,90,5,,left finger popped")
    assert r.notes.held_sides == ("left",)
    assert not any("popped" in n.text for n in r.notes.inside)
    assert all(n.date >= r.notes.block_start for n in r.notes.inside)


@pytest.mark.parametrize(("days", "held"), [(183, ("left",)), (184, ())])
def test_a_new_block_ends_no_hold(small_logs: Path, days: int, held: tuple[str, ...]) -> None:
    """What was written half a year before the block and never cleared holds in it, not earlier."""
    start = pd.Timestamp(reviewed(small_logs, "ada").block.start)
    day = (start - pd.Timedelta(days=days)).date()
    add_rows(small_logs, "sessions.csv", f"ada,{day},climbing,,90,5,,left finger popped")
    r = reviewed(small_logs, "ada")
    assert r.notes.held_sides == held
    assert not any("popped" in n.text for n in r.notes.inside)


@pytest.mark.parametrize(("days", "held"), [(2, True), (1, False)])
def test_what_was_cleared_before_a_block_is_past(small_logs: Path, days: int, held: bool) -> None:
    """Cleared after the note and before the block, it is not told again; cleared before, it is."""
    start = pd.Timestamp(reviewed(small_logs, "ada").block.start)
    note = (start - pd.Timedelta(days=2)).date()
    clear = (start - pd.Timedelta(days=days)).date()
    add_rows(
        small_logs,
        "sessions.csv",
        f"ada,{note},climbing,,90,5,,left finger popped",
        f"ada,{clear},cleared,,,,,physio",
    )
    r = reviewed(small_logs, "ada")
    assert bool(r.notes.held_sides) is held


def test_text_of_notes_is_escaped(small_logs: Path) -> None:
    """A note cannot become markup, on the first screen or beside its day."""
    r = noted(small_logs, note="<script>pop</script>")
    parts = (*sections.opening(r), *sections.block(r), *sections.pain(r))
    page = "".join(p.html for p in parts if isinstance(p, Fragment))
    assert "<script" not in page
    assert "&lt;script&gt;pop" in page


def test_the_squad_page_names_notes_of_an_injury(small_logs: Path) -> None:
    """Such notes are among the reasons to look at an athlete first."""
    noted(small_logs, note=TWEAKED)
    row = next(r for r in reviewed_squad(small_logs).rows if r.athlete == "ada")
    (flag,) = [f for f in row.flags if f.kind is FlagKind.INJURY_NOTE]
    assert flag.number == 1
    assert row.flags[0].kind in HEALTH
