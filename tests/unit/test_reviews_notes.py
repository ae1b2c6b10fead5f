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


@pytest.mark.parametrize(
    ("row", "held"),
    [
        ("ada,2026-01-22,morning,ring,left,0,,", ()),
        ("ada,2026-01-22,morning,ring,,0,,", ()),
        ("ada,2026-01-22,morning,,left,0,,", ()),
        ("ada,2026-01-22,morning,ring,right,0,,", ("left",)),
        ("ada,2026-01-22,morning,elbow_inner,left,0,,", ("left",)),
        ("ada,2026-01-22,morning,ring,left,1,,", ("left",)),
        ("ada,2026-01-22,morning,ring,left,0,pop,", ("left",)),
        ("ada,2026-01-20,during,ring,left,0,,", ("left",)),  # perhaps before it happened
    ],
)
def test_what_ends_the_hold_of_a_note(small_logs: Path, row: str, held: tuple[str, ...]) -> None:
    """A later level 0 for that place and side, nothing less."""
    r = noted(small_logs, row, note=TWEAKED)
    assert r.notes.held_sides == held
    (note,) = [n for n in r.notes.all if n.injury]
    assert (note.past is None) is bool(held)


def test_each_hand_of_a_note_without_side_is_asked_for(small_logs: Path) -> None:
    """A level 0 of one hand leaves the other held."""
    row = "ada,2026-01-22,morning,ring,left,0,,"
    r = noted(small_logs, row, note="finger taped")
    assert r.notes.held_sides == ("right",)
    r = noted(small_logs, row.replace("left", "right"))
    assert r.notes.held_sides == ()


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
    """A note about a place takes the side of the pain logged there within two days."""
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
    """They stand in no calendar of the block, but hold; notes before its first day do not."""
    r = noted(small_logs, sessions="ada,2026-02-10,climbing,,90,5,,left finger popped")
    assert r.notes.held_sides == ("left",)
    assert not any("popped" in n.text for n in r.notes.inside)
    first = pd.Timestamp(r.block.start)
    assert all(n.date >= first for n in r.notes.all)


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
