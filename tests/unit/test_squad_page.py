"""The squad's rows, its pooled change and its table."""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pytest

from gripbook import html
from gripbook.logs import load_logs
from gripbook.report import sections
from gripbook.reviews import SquadReview, review, review_squad
from gripbook.reviews.squad import CapacityChange, about
from gripbook.strength.model import PRIORS
from gripbook.words.fmt import NBSP

DEMO = Path(__file__).parents[2] / "data_demo"


@pytest.fixture(scope="module")
def demo() -> SquadReview:
    """The demo squad."""
    return review_squad(load_logs(DEMO))


def test_row_tells_the_athletes_own_change(demo: SquadReview) -> None:
    """A row's range is that of the athlete's own page, for the series named beforehand."""
    row = next(r for r in demo.rows if r.athlete == "brin")
    change = row.change_in("hang")
    headline = review(load_logs(DEMO), "brin").change.headline
    assert change is not None
    assert headline is not None
    assert (change.low_kg, change.high_kg) == (headline.low_kg, headline.high_kg)
    assert change.low_kg < change.change_kg < change.high_kg
    assert change.words.startswith(("unclear, \u2212", "weaker, \u2212"))


def test_prior_is_that_of_a_nine_week_block(demo: SquadReview) -> None:
    """
    `kept` rests on the prior SD of the change: root of the weeks times the three rates' SDs, a
    formula of its own.
    """
    for row in demo.rows:
        for c in row.changes:
            own = review(load_logs(DEMO), row.athlete).fit
            weeks = own.evidence.last_day / 7
            both2 = PRIORS.capacity_slope**2 + PRIORS.grip_slope**2
            one_hand = c.capacity == "pull"
            mixture = own._mixture
            assert mixture is not None
            rate2 = sum(
                w
                * (
                    (s.slope * PRIORS.slope) ** 2
                    + s.apart**2 * (both2 + (PRIORS.series_slope * s.hands**one_hand) ** 2)
                )
                for w, s in zip(mixture.weight, mixture.shapes, strict=True)
            )
            prior = math.sqrt(9 * weeks * rate2)
            sd = 1 / math.sqrt(1 / c.log_sd**2 + 1 / prior**2)
            assert c.kept == pytest.approx(1 - (sd / prior) ** 2, abs=1e-9)
        if row.changes:
            break


def test_pooled_change_of_each_block(demo: SquadReview) -> None:
    """Three athletes or more of one block are pooled; the youth block with one is not."""
    assert {c.block for c in demo.changes} == {"Winter in the loft"}
    assert [c.capacity for c in demo.changes] == ["hang", "repeater", "pull"]
    for c in demo.changes:
        assert c.athletes == 7
        assert c.pooled.low < c.pooled.mean < c.pooled.high
        assert c.by_noise < c.pooled.n


def test_squad_sentences(demo: SquadReview) -> None:
    """The three sentences of a capacity, whole."""
    told = [s.replace(NBSP, " ") for s in demo.changes[0].sentences]
    number = r"[+\u2212]?\d+(\.\d)?"
    assert re.fullmatch(
        rf"Timed hangs, Winter in the loft: {number} % on average, between {number} and {number} "
        r"%, in 5 of 7 athletes \(the logs of the others do not tell it\)\.",
        told[0],
    )
    assert re.fullmatch(
        r"The athletes may all have changed alike: their differences are no more than chance "
        r"explains \(a spread, as an SD, of \d+ % at most\)\."
        r"|The athletes differ by more than chance explains: a spread \(SD\) between \d+ and \d+ "
        r"%\.",
        told[1],
    )
    assert re.fullmatch(
        r"(One|Two|Three) athletes? shows? a gain above 3 %, the smallest that matters; had nobody "
        r"changed, chance alone would put (about one|hardly one) there, had all changed alike "
        r"(about|hardly) \w+\.",
        told[2],
    )


def test_about_claims_no_more_than_it_knows() -> None:
    """Expected counts in words."""
    assert [about(x) for x in (0.2, 0.8, 2.4, 37.2)] == [
        "hardly one",
        "about one",
        "about two",
        "about 37",
    ]


def test_two_athletes_are_no_squad(small_logs: Path) -> None:
    """Fewer than three measured athletes: nothing is pooled, and the page says so."""
    found = review_squad(load_logs(small_logs))
    assert found.changes == ()
    assert "Fewer than three athletes" in sections.squad_change(found)[0].html


def test_table_holds_no_body_mass_or_ratio(demo: SquadReview) -> None:
    """No column, sort key or word of mass or ratio; no per cent in a row (kg beside % is mass)."""
    page = sections.squad_table(demo)[0].html
    assert not re.search(r"mass|weight|ratio|%", page)
    keys = re.findall(r'data-sort="([^"]*)"', page)
    assert len(keys) == 8 * 10


def test_table_has_roles_and_labels(demo: SquadReview) -> None:
    """Rows shown as blocks keep their meaning: roles, and each cell's column as its label."""
    page = sections.squad_table(demo)[0].html
    assert page.count('role="row"') == 9
    assert page.count('data-label="days since last entry"') == 8
    assert 'class="stacked sortable"' in page


def test_names_are_escaped_in_keys(small_logs: Path) -> None:
    """A name with markup is text in its cell and in its sort key."""
    page = sections.squad_table(review_squad(load_logs(small_logs)))[0].html
    assert "<i>" not in page
    assert 'data-sort="ada &lt;i&gt;a&lt;/i&gt;"' in page


def test_days_since_the_squads_last_entry(demo: SquadReview) -> None:
    """Days run to the squad's last entry, not to the day of printing."""
    assert min(r.days_since_last for r in demo.rows if r.days_since_last is not None) == 0


def test_interval_line_keeps_inside() -> None:
    """A range is drawn in its place, cut at the drawing's ends, with zero where it lies."""
    drawn = html.interval_line(-1, 30, 4, -10, 10).html
    numbers = [float(x) for x in re.findall(r' x[12]="([^"]*)"', drawn)]
    assert numbers == [60.0, 60.0, 54.2, 118.0, 83.2, 83.2]
    assert 'aria-hidden="true"' in drawn


def test_words_of_a_change_round_alike() -> None:
    """Wide ranges to whole kilograms, narrow ones and ends near zero to one decimal."""
    change = CapacityChange(
        "hang", "half crimp", "unclear", 1.0, -0.4, 5.2, 0.0, np.inf, 0.0, 3.0, False
    )
    assert change.words == f"unclear, \u22120.4 to +5{NBSP}kg"
