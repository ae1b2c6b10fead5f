"""The what-if: its figures are the model's, and it stays silent where it must."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from gripbook.errors import GripbookError
from gripbook.explore import Explorer, WhatIf, answer, explorer_of, what_if, work_out
from gripbook.explore.chances import (
    HIDDEN,
    IN_PAIN,
    UNDER_18,
    NotOfferedError,
    reason_not_offered,
    wanted_edge,
    wanted_weight,
)
from gripbook.html import Fragment
from gripbook.logs import load_logs
from gripbook.strength.outlook import outlook
from tests.explorers import demo, small

pytestmark = pytest.mark.whole

SERIES = [
    ("hang", "half_crimp", "both"),
    ("repeater", "half_crimp", "both"),
    ("pull", "half_crimp", "left"),
]


def opened(folder: Path, athlete: str) -> Explorer:
    """An athlete of a folder, to explore."""
    return explorer_of(load_logs(folder), athlete)


@pytest.fixture
def ada() -> Explorer:
    """An adult who shows body mass and has no pain."""
    return small("ada")


@pytest.fixture
def arvo() -> Explorer:
    """An adult of the demo squad, with a whole block."""
    return demo("arvo")


def predicted(x: Explorer, w: WhatIf, e: int, n: int, k: int) -> float:
    """The chance as `StrengthFit.predict` gives it."""
    length = w.lengths[n]
    of_repeater = w.key.capacity == "repeater"
    return x.review.fit.predict(
        w.key,
        edge_mm=w.edges_mm[e],
        load_kg=w.weights_kg[k] + (0.0 if w.of_load else w.body_mass_kg),
        hang_s=w.hold_s if of_repeater else None if np.isnan(length) else length,
        reps=length if of_repeater else None,
    )


@pytest.mark.parametrize("name", SERIES, ids=lambda s: s[0])
def test_chances_are_the_model_s(arvo: Explorer, name: tuple[str, str, str]) -> None:
    """Every chance on the grid is what the fit predicts for that one set."""
    w = work_out(arvo, *name)
    known = np.argwhere(~np.isnan(w.chance)).tolist()
    assert len(known) >= 8  # pulls: two edges, and a step beyond on either side
    for e, n, k in known[:: max(1, len(known) // 60)]:
        assert w.chance[e, n, k] == pytest.approx(predicted(arvo, w, e, n, k), abs=1e-9)


def test_several_edges_are_learned_of_one_another() -> None:
    """Where the log tells the exponent of the edge, the grid still agrees with the fit."""
    x = demo("eske")  # whose edges got smaller over the block
    key = x.review.fit.find("hang", "half_crimp", "both")
    assert key is not None
    edges, loads = [15.0, 18.0, 20.0], [60.0, 70.0, 80.0]
    found = outlook(x.review.fit, key.key, edges_mm=edges, lengths=[8.0], loads_kg=loads)
    for e, edge in enumerate(edges):
        for k, load in enumerate(loads):
            alone = x.review.fit.predict(key.key, edge_mm=edge, load_kg=load, hang_s=8.0)
            assert found.chance[e, 0, k] == pytest.approx(alone, abs=1e-9)


def test_interval_holds_nine_in_ten_of_the_strengths(arvo: Explorer) -> None:
    """The interval's ends are the 5 % and 95 % quantiles of the chance, by drawing strengths."""
    w = work_out(arvo, "hang", "half_crimp", "both")
    fit = arvo.review.fit
    mixture, k = fit.posterior_of(w.key)
    row = mixture.layout.form_rows(k, np.array([float(fit.evidence.last_day)]))
    means, sds = mixture.moments(row)
    load = w.weights_kg[-4] + w.body_mass_kg
    rng = np.random.default_rng(1)
    node = rng.choice(len(mixture.weight), size=200_000, p=mixture.weight)
    level = rng.normal(means[node, 0], sds[node, 0]) + mixture.layout.centre
    own = mixture.noise.of_set[0] * mixture.set_factor
    daily = np.hypot(mixture.noise.day, mixture.noise.capacity_day) * mixture.day_factor
    spread = np.hypot(own, daily)[node]
    luck = rng.normal(size=200_000)
    from scipy.special import ndtr

    chance = ndtr((level - np.log(load)) / spread)
    found = outlook(fit, w.key, edges_mm=[20.0], lengths=[10.0], loads_kg=[load])
    assert found.low[0, 0, 0] == pytest.approx(np.quantile(chance, 0.05), abs=0.01)
    assert found.high[0, 0, 0] == pytest.approx(np.quantile(chance, 0.95), abs=0.01)
    # and the chance itself counts good and bad days on top
    assert found.chance[0, 0, 0] == pytest.approx(
        np.mean(level + spread * luck > np.log(load)), abs=0.01
    )


def test_heavier_longer_and_smaller_are_harder(arvo: Explorer) -> None:
    """The chance falls with weight and time and rises with the edge."""
    w = work_out(arvo, "hang", "half_crimp", "both")
    for axis, sign in ((0, 1), (1, -1), (2, -1)):
        steps = sign * np.diff(w.chance, axis=axis)
        assert np.nanmin(steps) >= -1e-12
        assert np.nanmax(steps) > 0


def test_answers_end_one_step_beyond_the_log(ada: Explorer) -> None:
    """From a log of 20 mm, 10 s and 5 to 12.5 kg: 18 to 22 mm, 7 to 12 s, 3.75 to 13.75 kg."""
    w = work_out(ada, "hang", "half_crimp", "both")
    assert w.tried_edges_mm == (18.0, 22.0)
    assert w.tried_lengths == (7.0, 12.0)
    assert w.tried_weights_kg == (3.75, 13.75)
    known = np.argwhere(~np.isnan(w.chance))
    assert {w.edges_mm[e] for e, _, _ in known} == {18, 20, 22}
    assert {w.lengths[n] for _, n, _ in known} == {7, 8, 9, 10, 11, 12}
    weights = sorted({w.weights_kg[k] for _, _, k in known})
    assert (weights[0], weights[-1]) == (3.75, 13.75)
    # the controls reach further, so that the end is seen
    assert min(w.edges_mm) < 18
    assert max(w.weights_kg) > 13.75


@pytest.mark.parametrize(
    ("asked", "tried"),
    [
        ({"edge_mm": 18}, True),
        ({"edge_mm": 17.9}, False),
        ({"edge_mm": 15}, False),
        ({"hang_s": 12}, True),
        ({"hang_s": 13}, False),
        ({"added_kg": 13.75}, True),
        ({"added_kg": 13.8}, False),
    ],
)
def test_further_out_there_is_no_figure(
    ada: Explorer, asked: dict[str, float], tried: bool
) -> None:
    """One step beyond the log there is an answer, a hair further the words and no chance."""
    words = str(answer(ada, capacity="hang", grip="half_crimp", hand="both", **asked))
    assert ("of 100 cases" in words) is tried
    assert ("not tried, no figure" in words) is not tried


def test_beyond_the_log_in_one_thing_at_a_time(ada: Explorer) -> None:
    """A step smaller or a step heavier is answered, both together is not; shorter is no matter."""
    series = {"capacity": "hang", "grip": "half_crimp", "hand": "both"}
    assert "of 100 cases" in str(answer(ada, **series, edge_mm=18, added_kg=12.5))
    assert "of 100 cases" in str(answer(ada, **series, edge_mm=20, added_kg=13.75))
    assert "of 100 cases" in str(answer(ada, **series, hang_s=7, added_kg=13.75))
    assert "not tried, no figure" in str(answer(ada, **series, edge_mm=18, added_kg=13.75))
    w = work_out(ada, **series)
    small, heavy = w.edges_mm.index(18.0), w.weights_kg.index(13.75)
    assert np.isnan(w.chance[small, :, heavy]).all()


def test_harder_than_any_set_is_said(small_logs: Path) -> None:
    """Each thing for itself was done, together they were not: the words say what was."""
    with (small_logs / "hangs.csv").open("a") as file:
        file.write("ada,2026-01-24,1,hang,,,half_crimp,both,15,2.5,,10,,,,,,,\n")
    x = opened(small_logs, "ada")
    series = {"capacity": "hang", "grip": "half_crimp", "hand": "both", "hang_s": 10}
    told = str(answer(x, **series, edge_mm=15, added_kg=10)).replace("\u00a0", " ")
    assert "of 100 cases" in told
    assert "Harder than any set in the log: on 15 mm for 10 s the most is +2.5 kg." in told
    assert "Harder" not in str(answer(x, **series, edge_mm=15, added_kg=2.5))
    assert "Harder" not in str(answer(x, **series, edge_mm=20, added_kg=12.5))
    assert "none was done" in str(answer(x, **{**series, "hang_s": 12}, edge_mm=20, added_kg=5))


def test_the_day_and_the_pause_are_said(arvo: Explorer) -> None:
    """The answer is for the block's end, no start after weeks off, and asks to stop at pain."""
    for words in (str(answer(arvo)), "".join(map(str, what_if(arvo)[1:]))):
        plain = words.replace("\u00a0", " ")
        assert "8 March 2026, the block's last day" in plain
        assert "Don't start with it: the page's What next begins lower" in plain
        assert "No finger work for 52 days, from 7 March to 27 April" in plain
        assert "Stop a set at once" in plain
    fenn = demo("fenn")  # who climbed on to the end and kept the limits
    assert "Don't start with it" not in str(answer(fenn))


def test_a_range_of_one_figure_is_none(arvo: Explorer) -> None:
    """No "between more than 99 and more than 99"."""
    told = str(answer(arvo, capacity="hang", grip="half_crimp", hand="both", added_kg=10))
    assert "in more than 99 of 100 cases. " in told


def test_wanted_chance_gives_the_edge_of_what_reaches_it(arvo: Explorer) -> None:
    """The weight for a wanted chance reaches it, the next heavier does not; so does the edge."""
    w = work_out(arvo, "hang", "half_crimp", "both")
    e, n = w.edges_mm.index(18.0), w.lengths.index(10.0)
    weight = wanted_weight(w, e, n, 80)
    k = w.weights_kg.index(weight)
    assert w.chance[e, n, k] >= 0.8
    assert np.isnan(w.chance[e, n, k + 1]) or w.chance[e, n, k + 1] < 0.8
    edge = wanted_edge(w, n, k, 80)
    assert edge <= 18.0
    assert w.chance[w.edges_mm.index(edge), n, k] >= 0.8


def test_time_reached_agrees_with_the_chances(arvo: Explorer) -> None:
    """At the time told as the middle one the chance is a half, where it lies within the log."""
    w = work_out(arvo, "hang", "half_crimp", "both")
    found = 0
    for e, k in np.argwhere(np.isfinite(w.reached[1])).tolist():
        at = np.interp(w.reached[1, e, k], w.lengths, np.nan_to_num(w.chance[e, :, k]))
        assert at == pytest.approx(0.5, abs=0.02)
        assert w.reached[0, e, k] <= w.reached[1, e, k] <= w.reached[2, e, k]
        found += 1
    assert found


def test_no_what_if_under_18() -> None:
    """A minor gets a sentence: no chart, no figure."""
    x = small("bo")
    with pytest.raises(NotOfferedError, match="under 18"):
        work_out(x)
    shown = what_if(x)
    assert isinstance(shown, Fragment)
    assert UNDER_18.format(what="what-if") in str(shown)
    assert UNDER_18.format(what="what-if") in str(answer(x, edge_mm=20))


@pytest.mark.parametrize(
    "row",
    ["01-20,after,ring,left,5,,", "01-20,after,ring,left,1,pop,", "02-10,after,ring,left,5,,"],
    ids=["level", "sign", "after the block"],
)
def test_no_what_if_while_pain_holds_loading(small_logs: Path, row: str) -> None:
    """A level at the block's limit or a pop, also later, silences the what-if for all hands."""
    with (small_logs / "pain.csv").open("a") as file:
        file.write(f"ada,2026-{row}\n")
    x = opened(small_logs, "ada")
    assert IN_PAIN.format(what="what-if") in str(what_if(x))
    assert IN_PAIN.format(what="what-if") in str(answer(x))


def test_little_pain_below_the_limit_leaves_the_what_if(small_logs: Path) -> None:
    """Pain below the block's limit is no hold, so the what-if answers."""
    with (small_logs / "pain.csv").open("a") as file:
        file.write("ada,2026-01-20,after,elbow_inner,left,1,,\n")
    assert "of 100 cases" in str(answer(opened(small_logs, "ada"), capacity="hang"))


def test_no_what_if_where_body_mass_is_hidden(small_logs: Path) -> None:
    """Where body mass is hidden and the load holds it, there is a sentence only."""
    with (small_logs / "body.csv").open("a") as file:
        file.write("cy,2026-01-06,71.3\n")
    x = opened(small_logs, "cy")
    assert HIDDEN.format(what="what-if") in str(what_if(x))
    assert HIDDEN.format(what="what-if") in str(answer(x))


def test_a_gauge_is_answered_though_body_mass_is_hidden(small_logs: Path) -> None:
    """A load read from a gauge holds no body mass, so it may be asked about."""
    rows = [
        f"gy,2026-01-{day:02},pull,half_crimp,left,20,{kg}"
        for day, kg in ((6, 40), (9, 41), (13, 40.5), (16, 42), (20, 41.5), (23, 43))
    ]
    text = "athlete,date,exercise,grip,hand,edge_mm,force_kg\n" + "\n".join(rows) + "\n"
    (small_logs / "gy").mkdir()
    (small_logs / "gy" / "hangs.csv").write_text(text)
    with (small_logs / "athletes.csv").open("a") as file:
        file.write("gy,Gy,1990,kg,no\n")
    x = opened(small_logs, "gy")
    assert "of 100 cases" in str(answer(x, load_kg=42))
    with pytest.raises(GripbookError, match="load_kg"):
        answer(x, added_kg=5)


def test_a_wrong_question_is_answered_with_the_right_words(ada: Explorer) -> None:
    """A name that means nothing for the series, and a series not in the log, name what there is."""
    with pytest.raises(GripbookError, match="edge_mm, hang_s or added_kg"):
        answer(ada, capacity="hang", reps=6)
    with pytest.raises(GripbookError, match='capacity="repeater", grip="half_crimp"'):
        answer(ada, grip="sloper")
    with pytest.raises(GripbookError, match="no number"):
        answer(ada, capacity="hang", added_kg=float("nan"))
    with pytest.raises(GripbookError, match=r"no edge\. Did you mean edge_mm\?"):
        answer(ada, edge=15)
    with pytest.raises(GripbookError, match="number in millimetres: edge_mm=18"):
        answer(ada, edge_mm="15 mm")


# --- where the controls stand at first ---------------------------------------------------------


def controls(view: Any) -> dict[str, Any]:
    """What a chart's controls stand on at first, by name."""
    spec = next(part for part in view if hasattr(part, "to_dict")).to_dict()
    return {p["name"]: p["value"] for p in spec["params"]}


def test_another_edge_can_be_asked_for(arvo: Explorer) -> None:
    """An edge between those of the list is added and chosen; where answers end doesn't move."""
    before, asked = work_out(arvo), what_if(arvo, edge_mm=17, hang_s=8, added_kg=11)
    assert controls(what_if(arvo))["edge"] == before.usual_edge_mm
    found = controls(asked)
    assert (found["edge"], found["length"]) == (17, 8)
    assert found["weight"] == min(before.weights_kg, key=lambda kg: abs(kg - 11))
    w = work_out(arvo, edge_mm=17)
    assert w.edges_mm == tuple(sorted({*before.edges_mm, 17.0}))
    assert w.tried_edges_mm == before.tried_edges_mm
    e, n, k = w.edges_mm.index(17), 7, w.weights_kg.index(20)
    assert w.chance[e, n, k] == pytest.approx(predicted(arvo, w, e, n, k), abs=1e-6)
    # further out it can be asked for, and is told to be untried
    far = what_if(arvo, edge_mm=10)
    assert controls(far)["edge"] == 10
    assert "Not tried, no figure" in str(
        next(p for p in far if hasattr(p, "spec")).spec["description"]
    )


def test_wrong_starts_are_told(arvo: Explorer) -> None:
    """A name or unit that the series has not, as in `answer`."""
    with pytest.raises(GripbookError, match=r"what_if\(\) takes no edge\. Did you mean edge_mm"):
        what_if(arvo, edge=17)
    with pytest.raises(GripbookError, match="load_kg means nothing for these timed hangs"):
        what_if(arvo, load_kg=40)


# --- bounds, and what is plainly easier ---------------------------------------------------------


@pytest.fixture
def hesk() -> Explorer:
    """Five sessions, hangs never to the limit."""
    return demo("hesk")


@pytest.mark.parametrize("name", ["hesk", "celm", "galo"])
def test_no_chance_where_no_limit_was_met(name: str) -> None:
    """A series of finished sets alone gets no figure: a chance there would be the prior's."""
    x = demo(name)
    bounds = [s for s in x.review.change.series if s.path_kind == "at_least"]
    assert bounds
    for s in bounds:
        series = {"capacity": s.capacity, "grip": s.grip, "hand": s.hand}
        if reason_not_offered(x):
            continue
        w = work_out(x, **series)
        assert np.isnan(w.chance).all()
        assert np.isnan(w.reached).all()
        for more in (0.0, 1.25, 5.0, 10.0):
            told = str(answer(x, **series, added_kg=w.usual_weight_kg + more))
            assert "of 100 cases" not in told
            assert "fewer than 1" not in told
        shown = str(what_if(x, **series))
        assert "You never reached your limit" in shown
        assert "chance (in 100)" not in shown


def test_a_bound_names_the_hardest_that_was_finished(hesk: Explorer) -> None:
    """From 3.75 and 5 kg on 20 mm: the harder one, and no chance of what is harder still."""
    series = {"capacity": "hang", "grip": "half crimp"}
    harder = str(answer(hesk, **series, added_kg=6.25)).replace("\u00a0", " ")
    assert "you never reached your limit here, so no chance can be given" in harder
    assert "Hardest finished: +5 kg on 20 mm for 10 s (20 January)." in harder
    just = str(answer(hesk, **series, added_kg=5)).replace("\u00a0", " ")
    assert "just what you finished on 20 January" in just
    for easier in ({"added_kg": 2.5}, {"edge_mm": 21.5, "added_kg": 5}, {"hang_s": 9}):
        told = str(answer(hesk, **{**series, "added_kg": 5, **easier})).replace("\u00a0", " ")
        assert "no harder than +5 kg on 20 mm for 10 s, finished on 20 January" in told
    for harder_in in ({"hang_s": 11}, {"edge_mm": 19}):
        told = str(answer(hesk, **{**series, "added_kg": 5, **harder_in}))
        assert "no chance can be given" in told


def test_what_is_plainly_easier_is_answered(arvo: Explorer) -> None:
    """The README's question, and one on an edge between, stand below a set that was finished."""
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    asked = re.search(r"gb\.explore\.answer\(x, (.*?)\)\)", readme)
    assert asked is not None
    told = str(answer(arvo, **eval(f"dict({asked[1]})"))).replace("\u00a0", " ")
    assert "no harder than +10 kg on 15 mm for 10 s, finished on 16 January" in told
    between = str(answer(arvo, capacity="hang", grip="half_crimp", edge_mm=16.5, added_kg=0))
    assert "no harder than" in between
    # the set it names is in the log, finished
    sets = arvo.review.sets
    rows = sets[(sets["date"] == "2026-01-16") & (sets["exercise"] == "hang")]
    assert ((rows["added_kg"] == 10) & (rows["edge_mm"] == 15) & (rows["hang_s"] == 10)).any()
    assert set(rows["outcome"]) == {"finished"}


def test_a_failed_set_makes_nothing_easier(small_logs: Path) -> None:
    """A set that failed says nothing of what is easier than it; the same set finished does."""
    asked = {"capacity": "hang", "grip": "half_crimp", "hand": "both"}
    asked |= {"edge_mm": 25, "hang_s": 5, "added_kg": 30}
    before = (small_logs / "hangs.csv").read_text()
    header = before.splitlines()[0].split(",")
    cells = {"athlete": "ada", "date": "2026-01-24", "exercise": "hang", "grip": "half_crimp"}
    cells |= {"hand": "both", "edge_mm": "15", "added_kg": "40", "hang_s": "10", "session": "1"}
    for failed, words in (("8", "not tried"), ("", "no harder than")):
        row = ",".join({**cells, "failed_s": failed}.get(name, "") for name in header)
        (small_logs / "hangs.csv").write_text(f"{before}{row}\n")
        assert words in str(answer(opened(small_logs, "ada"), **asked))


@pytest.mark.parametrize(("heavier", "easier"), [(1.02, True), (1.021, False)])
def test_a_heavier_body_makes_the_same_weight_harder(
    small_logs: Path, heavier: float, easier: bool
) -> None:
    """A set named as no easier was done at a body mass at most 2 % below the last one."""
    x = opened(small_logs, "ada")
    sets = x.review.sets
    series = sets[(sets["exercise"] == "hang") & (sets["grip"] == "half_crimp")]
    last = series["body_mass_kg"].iloc[0] * heavier
    with (small_logs / "body.csv").open("a") as file:
        file.write(f"ada,2026-02-27,{last:.4f}\n")
    with (small_logs / "hangs.csv").open("a") as file:
        file.write("ada,2026-02-27,1,pull,,,half_crimp,left,20,,30,,,,,,,,\n")
    w = work_out(opened(small_logs, "ada"), "hang", "half_crimp", "both")
    assert w.body_mass_kg == pytest.approx(last, abs=1e-3)
    first = series["date"].min().date()
    assert {one.comparable for one in w.finished if one.day == first} == {easier}


def test_it_says_once_to_stop(arvo: Explorer) -> None:
    """One answer says once to stop at pain, and for which day it is."""
    for told in (str(answer(arvo)), "".join(map(str, what_if(arvo)[1:]))):
        assert told.count("Stop a set at once") == 1
        assert told.count("the block's last day") == 1
