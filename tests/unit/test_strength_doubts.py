"""What a verdict hangs on, and how far the model's expectation pulls: facts and sentences."""

from __future__ import annotations

from dataclasses import replace

import pytest

from gripbook.report import sections
from gripbook.reviews import BlockReview, ChangeVerdict
from gripbook.reviews.change import hangs_on
from gripbook.reviews.change_facts import Deciding
from gripbook.strength import Cause, Doubt, SeriesFit, Verdict
from gripbook.words import strength as words
from tests.reviewed import DEMO, reviewed


@pytest.fixture(scope="module")
def arvo() -> BlockReview:
    """A review with a sure headline."""
    return reviewed(DEMO, "arvo")


def fit(r: BlockReview, told: Verdict, prob_rise: float, *doubts: Doubt) -> SeriesFit:
    """A series' fit with a verdict and doubts."""
    s = next(x.fit for x in r.change.series if x.fit.ok)
    return replace(s, verdict=told, prob_rise=prob_rise, doubts=doubts)


@pytest.mark.parametrize(
    ("told", "prob", "other", "other_prob", "verdict", "tenths"),
    [
        ("unclear", 0.85, "rise", 0.97, ChangeVerdict.STRONGER, 0),
        ("rise", 0.97, "unclear", 0.88, ChangeVerdict.PROBABLY_STRONGER, 9),
        ("fall", 0.03, "unclear", 0.40, ChangeVerdict.CANT_TELL, 0),
        ("unclear", 0.60, "steady", 0.60, ChangeVerdict.NO_CHANGE, 0),
    ],
)
def test_a_cause_that_decides(
    arvo: BlockReview,
    told: Verdict,
    prob: float,
    other: Verdict,
    other_prob: float,
    verdict: ChangeVerdict,
    tenths: int,
) -> None:
    """What the page would say were the cause known, where that is another verdict."""
    found = hangs_on(fit(arvo, told, prob, Doubt("body_mass", 0.3, other, other_prob)))
    assert found == (Deciding("body_mass", verdict, tenths),)


@pytest.mark.parametrize(
    ("told", "prob", "other", "other_prob"),
    [("rise", 0.97, "rise", 0.999), ("unclear", 0.78, "unclear", 0.83)],
)
def test_a_cause_that_does_not(
    arvo: BlockReview, told: Verdict, prob: float, other: Verdict, other_prob: float
) -> None:
    """Nothing where the verdict stands, or where neither of the two is sure."""
    assert hangs_on(fit(arvo, told, prob, Doubt("scale", 0.3, other, other_prob))) == ()


@pytest.mark.parametrize(
    ("cause", "sentence"),
    [
        ("body_mass", "if body mass was just what the weigh-ins say, the verdict is: stronger."),
        (
            "scale",
            "if the scale is known to have shown the same all along, the verdict is: stronger.",
        ),
        ("fatigue", "if the easy days at the end took no fatigue away, the verdict is: stronger."),
        (
            "order",
            "if sets of other exercises are known to tire as little as usual, the verdict is: "
            "stronger.",
        ),
        ("edge", "if loads convert from edge to edge as usual, the verdict is: stronger."),
    ],
)
def test_sentences_of_doubt(arvo: BlockReview, cause: Cause, sentence: str) -> None:
    """One sentence for all series that agree, in the fold; the headline's in the answer."""
    on = (Deciding(cause, ChangeVerdict.STRONGER, 0),)
    pulls = {"left", "right"}
    some = tuple(replace(s, hangs_on=on if s.hand in pulls else ()) for s in arvo.change.series)
    change = replace(arvo.change, series=some, headline=some[0])
    told = f"Both pulls (half crimp): {sentence}"
    assert words.hang_on(change) == (told,)
    assert sentence not in words.answer(change)
    page = "".join(getattr(p, "html", "") for p in sections.strength(replace(arvo, change=change)))
    assert told in page
    own = replace(some[0], hangs_on=on)
    assert f"(half crimp): {sentence} Weaker hand" in words.answer(replace(change, headline=own))


def test_the_pull_of_the_prior_is_told(arvo: BlockReview) -> None:
    """The largest of the pulls, from one per cent on; nothing of it where body mass is hidden."""
    series = arvo.change.series
    most = max(abs(s.fit.prior_pull_pct) for s in series if s.fit.ok)
    assert words.prior_pull(arvo.change).replace("\u00a0", " ") == (
        "Before any set the model expects no change, which makes changes smaller here by up to "
        f"{round(most, 1):g} % of the load."
    )
    for pull, is_told in ((0.99, False), (-1.0, True)):
        some = tuple(replace(s, prior_pull_pct=pull) for s in series)
        assert bool(words.prior_pull(replace(arvo.change, series=some))) == is_told
    hidden = reviewed(DEMO, "eske")
    shown = hidden.athlete.show_body_mass
    assert all(s.prior_pull_pct != s.prior_pull_pct for s in hidden.change.series) == (not shown)
