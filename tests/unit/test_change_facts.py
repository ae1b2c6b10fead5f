"""What changed, as facts and in words: verdicts, tests, rankings, bounds, languages."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import pandas as pd
import pytest

import gripbook as gb
from gripbook.reviews import BlockReview
from gripbook.reviews.change import describe_change, verdict_of_page
from gripbook.reviews.change_facts import ChangeVerdict, OutsideReason, PathKind
from gripbook.reviews.people import Athlete
from gripbook.strength import fit_strength
from gripbook.strength.fit import SeriesFit
from gripbook.strength.reasons import NoChange, SeriesReason
from gripbook.words import series, strength
from gripbook.words.fmt import NBSP
from gripbook.words.lead import lead, stronger
from tests.derive_frames import BLOCK, derived, hang, pull
from tests.reviewed import DEMO, reviewed

ADULT = Athlete("ada", "Ada", 1990, False, "", "kg", True)
HIDDEN = dataclasses.replace(ADULT, show_body_mass=False)


def change(*rows: dict[str, Any], athlete: Athlete = ADULT) -> Any:
    """What changed in a log written row by row."""
    sets = derived(*rows)
    return describe_change(fit_strength(sets, BLOCK), sets, BLOCK, athlete, hurt=False)


@pytest.fixture(scope="module")
def arvo() -> BlockReview:
    """The demo athlete who got stronger."""
    return reviewed(DEMO, "arvo")


def fit_with(fit: SeriesFit, **figures: Any) -> SeriesFit:
    """A series with other figures."""
    return dataclasses.replace(fit, **figures)


@pytest.mark.parametrize(
    ("verdict", "chance", "said", "tenths"),
    [
        ("rise", 0.99, "stronger", 0),
        ("fall", 0.01, "weaker", 0),
        ("steady", 0.90, "no_change", 0),
        ("unclear", 0.95, "stronger", 0),
        ("unclear", 0.949, "probably_stronger", 9),
        ("unclear", 0.80, "probably_stronger", 8),
        ("unclear", 0.799, "cant_tell", 0),
        ("unclear", 0.201, "cant_tell", 0),
        ("unclear", 0.20, "probably_weaker", 8),
        ("unclear", 0.051, "probably_weaker", 9),
        ("unclear", 0.049, "weaker", 0),
    ],
)
def test_verdicts_by_chance(
    arvo: BlockReview, verdict: Any, chance: float, said: str, tenths: int
) -> None:
    """The page parts by its chance what results.csv calls unclear, and agrees with the rest."""
    h = arvo.change.headline
    assert h is not None
    fit = fit_with(h.fit, verdict=verdict, prob_rise=chance)
    found = verdict_of_page(fit)
    assert found == said
    assert dataclasses.replace(h, verdict=found, chance=chance).tenths == tenths


def test_bounds_are_no_measured_change(arvo: BlockReview) -> None:
    """Every set finished is `at_least`; without an end it is not measured, finished or not."""
    h = arvo.change.headline
    assert h is not None
    done, no_end = SeriesReason(NoChange.ALL_FINISHED), SeriesReason(NoChange.NO_END, 2)
    assert verdict_of_page(fit_with(h.fit, ok=False, reasons=(done,))) == "at_least"
    assert verdict_of_page(fit_with(h.fit, ok=False, reasons=(no_end, done))) == "not_measured"


def test_a_path_of_bounds_says_so() -> None:
    """Finished sets alone give bounds, as data: the path's kind, no point with a known limit."""
    (s,) = change(*(hang(on=d, added_kg=5.0 + d / 8) for d in range(0, 62, 4))).series
    assert s.verdict is ChangeVerdict.AT_LEAST
    assert s.path_kind is PathKind.AT_LEAST
    assert set(s.path["kind"]) == {"at_least"}
    assert not s.points["known"].any()
    assert "never reached your limit" in strength.summary(s)


def test_test_days_are_those_of_the_series_itself() -> None:
    """A marked test of hangs makes no test of the pulls of that week."""
    rows = [hang(on=d, failed_s=8.0, test=d in (1, 60)) for d in range(1, 62, 4)]
    rows += [hang(on=60, failed_s=8.0, test=True)]
    rows += [pull(on=d) for d in (2, 30, 57)]
    found = change(*rows)
    by = {s.capacity: s for s in found.series}
    assert by["hang"].first_test.best.day == pd.Timestamp("2026-01-06")
    assert by["hang"].last_test.best.day == pd.Timestamp("2026-03-06")
    assert by["pull"].first_test is None


def test_best_of_a_test_day_and_what_failed_above_it() -> None:
    """The highest mastered load stands for the day, with the lightest failure above it."""
    tests = [
        hang(on=1, test=True, added_kg=5.0, reserve_s=3.0),
        hang(on=1, test=True, added_kg=10.0, reserve_s=1.0),
        hang(on=1, test=True, added_kg=15.0, failed_s=7.0),
        hang(on=1, test=True, added_kg=20.0, failed_s=2.0),
    ]
    test = change(*tests).series[0].first_test
    assert (test.best.added_kg, test.best.left, test.sets) == (10.0, 1.0, 4)
    assert test.failed.added_kg == 15.0
    told = strength.test_detail(test).replace(NBSP, " ")
    assert told == "80 kg, 1 s left, +15 kg failed after 7 s"


def test_the_weakest_of_three_grips_is_named() -> None:
    """All comparable grips are ranked: the lowest is the weakest, not the second."""
    kg = {"half_crimp": 25.0, "open_four": 15.0, "open_three": 2.0}
    rows = [
        hang(on=d, grip=grip, added_kg=added, failed_s=9.0)
        for d in range(1, 62, 4)
        for grip, added in kg.items()
    ]
    found = change(*rows)
    (weakest,) = found.weakest
    assert [s.grip for s in weakest.compared] == ["half_crimp", "open_four", "open_three"]
    assert [s.grip for s in weakest.weakest] == ["open_three"]
    assert weakest.strongest.grip == "half_crimp"
    assert weakest.below_pct.value == pytest.approx(100 * (1 - 72 / 95), abs=3)
    told = strength.weakest(weakest)
    assert told.startswith("Weakest grip in timed hangs: open hand, three fingers, ")
    assert told.endswith(" below half crimp.")


def test_grips_not_apart_share_the_last_place() -> None:
    """Two grips of one strength are both the weakest; none is picked by a hair."""
    kg = {"half_crimp": 25.0, "open_four": 5.0, "open_three": 5.2}
    rows = [
        hang(on=d, grip=grip, added_kg=added, failed_s=9.0)
        for d in range(1, 62, 4)
        for grip, added in kg.items()
    ]
    (weakest,) = change(*rows).weakest
    assert {s.grip for s in weakest.weakest} == {"open_four", "open_three"}


def test_hidden_body_mass_leaves_no_load_and_no_per_cent() -> None:
    """Whole kilograms of the change remain; loads, per cent, paths and points do not."""
    rows = [hang(on=d, added_kg=5 + d / 10, failed_s=9.0) for d in range(1, 62, 4)]
    (s,) = change(*rows, athlete=HIDDEN).series
    gone = [s.start_kg, s.end_kg, s.change_pct, s.low_pct, s.high_pct]
    assert all(map(math.isnan, gone))
    assert len(s.path) == len(s.points) == 0
    assert (s.low_kg, s.high_kg) == (math.floor(s.low_kg), math.ceil(s.high_kg))
    assert "%" not in strength.summary(s).replace(f"90{NBSP}%", "")


def test_training_loads_without_an_end_test() -> None:
    """How much the weight rose and how many sets were finished, on the edge used most."""
    rows = [hang(on=d, added_kg=5 + d / 7, sets=3) for d in (0, 7, 14, 21)]
    rows += [hang(on=21, added_kg=8.0, failed_s=6.0), hang(on=20, edge_mm=15.0, added_kg=0.0)]
    (s,) = change(*rows).series
    assert s.training is not None
    assert (s.training.rise_kg, s.training.sets, s.training.finished) == (3.0, 13, 12)


def test_the_best_set_has_one_day() -> None:
    """Of equal loads the earliest stands, everywhere."""
    rows = [hang(on=d, added_kg=kg) for d, kg in ((1, 5.0), (9, 7.5), (20, 7.5), (30, 2.5))]
    (s,) = change(*rows, athlete=HIDDEN).series
    assert s.best.day == pd.Timestamp("2026-01-14")
    assert math.isnan(s.best.load_kg)  # body mass is hidden


def test_why_an_estimate_lies_outside_the_test(arvo: BlockReview) -> None:
    """The demo's last test: its estimate rests on a guess of 7 s left."""
    h = arvo.change.headline
    assert h is not None
    (end,) = [x for x in h.outside if x.at_end]
    assert (end.reason, end.left) == (OutsideReason.RESERVE_GUESS, 7.0)
    assert end.estimate_kg > end.seen_kg * (1 + h.smallest_pct / 200)
    assert "because it rests on your guess of 7" in strength.answer(arvo.change)


def test_ratio_is_the_models_level_on_one_edge(arvo: BlockReview) -> None:
    """Load at the reference edge over body mass at both ends: like with like."""
    r, h = arvo.change.ratio, arvo.change.headline
    assert r is not None
    assert h is not None
    assert r.start == pytest.approx(h.start_kg / r.start_mass_kg)
    assert r.end == pytest.approx(h.end_kg / r.end_mass_kg)
    assert len(r.path) == len(h.path)


def test_tables_are_tidy(arvo: BlockReview) -> None:
    """A row a thing, series named by columns; the frames agree with the facts."""
    t = arvo.tables
    assert len(t.changes) == len(arvo.change.series)
    assert {"capacity", "day", "kg", "kind", "logged"} <= set(t.paths.columns)
    assert t.points["known"].sum() == (t.points["kind"] == "exact").sum()
    assert (t.tests.groupby(["capacity", "grip", "hand"]).size() <= 2).all()
    marked = arvo.sets[arvo.sets["test"]][["file", "line"]]
    assert len(t.tests.merge(marked, on=["file", "line"])) == len(t.tests)


def test_the_line_on_strength(arvo: BlockReview) -> None:
    """Yes, what, from where to where, the range; then the others in short."""
    told = stronger(arvo).replace(NBSP, " ")
    h = arvo.change.headline
    assert h is not None
    assert 90 < h.start_kg < h.end_kg < 120
    assert told == (
        f"Yes. Half crimp, both hands, 20 mm for 10 s: from {h.start_kg:.0f} to {h.end_kg:.0f} kg, "
        f"{h.low_kg:+.0f} to {h.high_kg:+.0f} kg (90 % range). Repeaters and both pulls rose too."
    )


@pytest.mark.parametrize(
    ("verdict", "chance", "opening"),
    [
        (ChangeVerdict.PROBABLY_STRONGER, 0.9, "Probably, about 9 in 10. "),
        (ChangeVerdict.NO_CHANGE, 0.6, "No change worth naming. "),
        (ChangeVerdict.PROBABLY_WEAKER, 0.15, "Probably weaker, about 9 in 10. "),
        (ChangeVerdict.WEAKER, 0.01, "No, weaker. "),
        (ChangeVerdict.CANT_TELL, 0.5, "Can't tell. "),
    ],
)
def test_each_verdict_opens_the_line(
    arvo: BlockReview, verdict: ChangeVerdict, chance: float, opening: str
) -> None:
    """Each verdict has its own first words."""
    h = dataclasses.replace(arvo.change.headline, verdict=verdict, chance=chance)  # type: ignore[type-var]
    found = dataclasses.replace(arvo.change, headline=h, series=(h,))
    assert stronger(dataclasses.replace(arvo, change=found)).startswith(opening)


def test_a_review_holds_no_language(arvo: BlockReview) -> None:
    """Reviewed in English, then told in another language: whole lines, none of them mixed."""
    english = [line.text for line in lead(arvo)]
    gb.use_language("de")
    try:
        german = [line.text for line in lead(arvo)]
    finally:
        gb.use_language("en")
    assert len(german) == len(english)
    assert [line.text for line in lead(arvo)] == english
    texts = [v for s in arvo.change.series for v in vars_of(s) if type(v) is str]
    assert not [t for t in texts if " " in t]


def vars_of(thing: Any) -> list[Any]:
    """The field values of a frozen dataclass."""
    return [getattr(thing, f.name) for f in dataclasses.fields(thing)]


def test_ranges_round_to_what_they_support() -> None:
    """Wide ranges to whole kilograms, narrow ones and ends near zero to one decimal."""
    assert series.range_kg(-0.4, 5.2).replace(NBSP, " ") == "\u22120.4 to +5 kg"
    assert series.range_kg(-1.24, 1.38).replace(NBSP, " ") == "\u22121.2 to +1.4 kg"
