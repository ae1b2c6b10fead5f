"""Distance to a target, best days, two blocks, and the lists over the charts."""

from __future__ import annotations

import ast
import csv
import dataclasses
import datetime as dt
import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
import vl_convert

from gripbook.errors import GripbookError
from gripbook.explore import (
    Explorer,
    best_days,
    blocks,
    days_view,
    distance,
    distance_view,
    explorer_of,
    picker,
    save_page,
    what_if,
)
from gripbook.explore.block_view import ONE_BLOCK
from gripbook.explore.chances import HIDDEN, IN_PAIN, UNDER_18, work_out
from gripbook.explore.days_view import FEW, LimitDay, limit_days
from gripbook.explore.distance_view import distance_words, strength_now
from gripbook.logs import load_logs
from gripbook.report.notebook_view import flat
from gripbook.report.render import IS_STYLE
from tests.conftest import FILES
from tests.explorers import DEMO, demo, small
from tests.unit.test_measured_climbed import two_blocks

ASKS = "distance to a target"
HANGS = {"capacity": "hang", "grip": "half_crimp", "hand": "both"}


def plain(*views: Any) -> str:
    """Words of views, with plain spaces."""
    return "\n".join(map(str, flat(views))).replace("\u00a0", " ")


def chart_of(view: Any) -> dict[str, Any]:
    """The one chart among what a view gives."""
    (chart,) = [part for part in flat([view]) if hasattr(part, "to_dict")]
    return chart.to_dict()


# --- distance to a target ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("series", "edges", "lengths"),
    [
        (("hang", "half_crimp", "both"), (15.0, 20.0), (8.0, 10.0)),
        (("repeater", "half_crimp", "both"), (20.0,), (4.0, 6.0)),
        (("pull", "half_crimp", "left"), (20.0,), (math.nan,)),
    ],
    ids=["hang", "repeater", "pull"],
)
def test_strength_now_is_held_one_time_in_two(
    series: tuple[str, str, str], edges: tuple[float, ...], lengths: tuple[float, ...]
) -> None:
    """At the load given, the fit itself predicts that a first set is held in half of all cases."""
    x = demo("arvo")
    w = work_out(x, *series)
    now = strength_now(x, w, edges, lengths)
    for e, edge in enumerate(edges):
        for n, length in enumerate(lengths):
            repeater = series[0] == "repeater"
            chance = x.review.fit.predict(
                w.key,
                edge_mm=edge,
                load_kg=float(now.middle[e, n]),
                hang_s=w.hold_s if repeater else None if math.isnan(length) else length,
                reps=length if repeater else None,
            )
            assert chance == pytest.approx(0.5, abs=0.003)
            assert now.low[e, n] < now.middle[e, n] < now.high[e, n]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_range_of_strength_holds_nine_in_ten(seed: int) -> None:
    """Its ends are the 5 % and 95 % quantiles of strengths drawn from the posterior's nodes."""
    x = demo("arvo")
    w = work_out(x, "hang", "half_crimp", "both")
    now = strength_now(x, w, (20.0,), (10.0,))
    mixture, k = x.review.fit.posterior_of(w.key)
    row = mixture.layout.form_rows(k, np.array([float(x.review.fit.evidence.last_day)]))
    means, sds = mixture.moments(row)
    rng = np.random.default_rng(seed)
    node = rng.choice(len(mixture.weight), size=100_000, p=mixture.weight)
    kg = np.exp(rng.normal(means[node, 0], sds[node, 0]) + mixture.layout.centre)
    assert now.low[0, 0] == pytest.approx(np.quantile(kg, 0.05), rel=0.004)
    assert now.high[0, 0] == pytest.approx(np.quantile(kg, 0.95), rel=0.004)


def test_a_distance_is_the_target_less_what_is_held() -> None:
    """Kilograms and per cent of the load, from the strength and its range."""
    x = demo("arvo")
    w = work_out(x, **HANGS)
    now = strength_now(x, w, (20.0,), (10.0,))
    middle, low, high = (float(a[0, 0]) for a in (now.middle, now.low, now.high))
    goal = round(high - w.body_mass_kg) + 6.0
    load = goal + w.body_mass_kg
    told = plain(distance_words(w, now, 20.0, 10.0, goal))
    gap = [load - m for m in (middle, high, low)]
    assert f"{gap[0]:.1f} kg more than you hold one time in two" in told
    assert f"({gap[1]:.1f} to {gap[2]:.1f} kg, 90 % range)" in told
    pct = [100 * g / m for g, m in zip(gap, (middle, high, low), strict=True)]
    assert f", {pct[0]:.0f} % of the load ({pct[1]:.0f} to {pct[2]:.0f} %)" in told
    below = plain(distance_words(w, now, 20.0, 10.0, 0.0))
    assert f"{middle - w.body_mass_kg:.1f} kg below what you hold one time in two" in below


def test_the_target_stands_on_its_slider_and_gives_no_date() -> None:
    """The chart begins with what was asked; the words promise nothing."""
    view = distance(demo("arvo"), **HANGS, edge_mm=18, hang_s=12, added_kg=41.3)
    spec = chart_of(view)
    chosen = {p["name"]: p["value"] for p in spec["params"]}
    assert chosen == {"edge": 18.0, "length": 12.0, "goal": 41.3}
    (goal,) = [p["bind"] for p in spec["params"] if p["name"] == "goal"]
    steps = (41.3 - goal["min"]) / goal["step"]
    assert steps == pytest.approx(round(steps))
    assert goal["min"] < 41.3 < goal["max"]
    told = plain(view)
    assert "No date" in told
    assert told.count("Stop a set at once") == 1
    vl_convert.vegalite_to_vega(spec, vl_version="5.8")


def test_without_a_target_it_is_a_little_above_now() -> None:
    """The next whole step of 2.5 kg from 5 % more load on."""
    x = demo("arvo")
    w = work_out(x, **HANGS)
    now = strength_now(x, w, (w.usual_edge_mm,), (w.usual_length,))
    least = 1.05 * float(now.middle[0, 0]) - w.body_mass_kg
    params = chart_of(distance(x, **HANGS))["params"]
    (goal,) = [p["value"] for p in params if p["name"] == "goal"]
    assert goal % 2.5 == 0
    assert least <= goal < least + 2.5


def test_a_multiple_of_body_mass_is_a_target() -> None:
    """1.5 times the logged mass is half of it added; both ways at once are refused."""
    x = demo("arvo")
    mass = work_out(x, **HANGS).body_mass_kg
    params = chart_of(distance(x, **HANGS, times_body_mass=1.5))["params"]
    (goal,) = [p["value"] for p in params if p["name"] == "goal"]
    assert goal == pytest.approx(mass / 2, abs=0.01)
    pulls = {"capacity": "pull", "hand": "left"}
    params = chart_of(distance(x, **pulls, times_body_mass=0.75))["params"]
    (load,) = [p["value"] for p in params if p["name"] == "goal"]
    assert load == pytest.approx(0.75 * mass, abs=0.01)
    with pytest.raises(GripbookError, match="once"):
        distance(x, **HANGS, times_body_mass=1.5, added_kg=20)


def test_no_distance_where_no_load_may_be_told(small_logs: Path) -> None:
    """Under 18, while pain holds loading and where body mass is hidden a sentence says why."""
    assert UNDER_18.format(what=ASKS) == str(distance(small("bo"), added_kg=20))
    assert IN_PAIN.format(what=ASKS) == str(distance(demo("celm"), added_kg=20))
    with (small_logs / "body.csv").open("a") as file:
        file.write("cy,2026-01-06,71.375\n")
    hidden = plain(distance(explorer_of(load_logs(small_logs), "cy"), added_kg=20))
    assert HIDDEN.format(what=ASKS) in hidden
    assert "71" not in hidden


def test_a_distance_from_a_bound_is_none() -> None:
    """Hesk never reached a limit: no figure, but what was finished."""
    told = plain(distance(demo("hesk"), capacity="hang", grip="half crimp", added_kg=10))
    assert "the distance to a target can't be told" in told
    assert "Hardest finished: +5 kg on 20 mm for 10 s (20 January)." in told
    assert "more than you hold" not in told


def test_a_distance_on_an_untried_edge_is_none() -> None:
    """One step beyond the log there is a distance, further out none, and the words say so."""
    x = small("ada")  # 20 mm, 10 s: answers from 18 to 22 mm
    assert "not tried, no figure" in plain(distance(x, **HANGS, edge_mm=17.9))
    assert "not tried, no figure" in plain(distance(x, **HANGS, hang_s=13))
    assert "not tried" not in plain(distance(x, **HANGS, edge_mm=18, hang_s=12))


def test_wrong_targets_are_told() -> None:
    """What means nothing for the series, or is no number, is refused with what to write."""
    x = demo("arvo")
    with pytest.raises(GripbookError, match="edge_mm, hang_s, added_kg or times_body_mass"):
        distance(x, **HANGS, load_kg=50)
    with pytest.raises(GripbookError, match=r"number: times_body_mass=1\.5"):
        distance(x, **HANGS, times_body_mass=float("nan"))
    with pytest.raises(GripbookError, match=r"no added\. Did you mean added_kg\?"):
        distance(x, **HANGS, added=3)


# --- best days --------------------------------------------------------------------------------


def test_days_are_counted_from_the_log_itself() -> None:
    """Rest days and sets before each day's best set, counted in hangs.csv."""
    x = demo("arvo")
    with (DEMO / "hangs.csv").open(encoding="utf-8", newline="") as file:
        rows = [(n, r) for n, r in enumerate(csv.DictReader(file), start=2)]
    rows = [(n, r) for n, r in rows if r["athlete"] == "arvo" and not r.get("warmup")]
    days = sorted({dt.date.fromisoformat(r["date"]) for _, r in rows})
    found = limit_days(x, x.review.change.series)
    assert len(found) > 10
    for d in found:
        day = d.day.date()
        earlier = [one for one in days if one < day]
        assert d.rest_days == (day - earlier[-1]).days - 1
        before = [int(r["sets"]) for n, r in rows if r["date"] == str(day) and n < d.line]
        assert d.sets_before == sum(before)
    assert [d.above_pct for d in found] == sorted((d.above_pct for d in found), reverse=True)


def test_only_days_that_tell_of_the_limit_count() -> None:
    """A day of sets finished below what was expected, with nothing noted, is left out."""
    x = demo("arvo")
    start = pd.Timestamp(x.review.block.start)
    for s in x.review.change.series:
        told = set()
        for p in s.fit.points:
            expected = np.interp(p.day, s.fit.path_day, s.fit.path_load_kg)
            if p.day >= 0 and (p.kind == "exact" or p.load_kg >= expected):
                told.add(start + pd.Timedelta(days=p.day))
        assert {d.day for d in limit_days(x, [s])} == told


def test_days_before_the_block_are_no_days_of_it() -> None:
    """A set before the block's first day may tell of the limit, and is still none of its days."""
    x = demo("arvo")
    s = next(s for s in x.review.change.series if min(p.day for p in s.fit.points) < 0)
    points = tuple(p._replace(kind="exact") for p in s.fit.points)
    told = dataclasses.replace(s, fit=dataclasses.replace(s.fit, points=points))
    found = {d.day for d in limit_days(x, [told])}
    assert len(found) == len({p.day for p in points if p.day >= 0})
    assert min(found) >= pd.Timestamp(x.review.block.start)


def logged(*days: tuple[str, float]) -> pd.DataFrame:
    """Sets of 60 s, one a row, so many on each day."""
    rows = [
        {"date": pd.Timestamp(day), "sets": int(sets), "tension_s": 60.0, "file": "f", "line": n}
        for n, (day, sets) in enumerate(days)
    ]
    return pd.DataFrame(rows)


def test_work_of_seven_days_before_counts() -> None:
    """The seventh day before is in, the eighth and the day itself are not."""
    sets = logged(("2026-01-02", 8), ("2026-01-03", 4), ("2026-01-09", 2), ("2026-01-10", 1))
    d = days_view._about(sets, pd.Timestamp("2026-01-10"), 1.0, "f", 3)
    assert (d.minutes_before, d.minutes, d.sets_before, d.rest_days) == (6, 1, 0, 0)


@pytest.mark.parametrize(("days", "best"), [(5, 0), (6, 2), (7, 2), (8, 3), (9, 3)])
def test_a_third_of_six_days_or_more_are_the_best(
    days: int, best: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With five days nothing is compared; from six on a third, with counts, ranges and caution."""
    found = [
        LimitDay(pd.Timestamp("2026-01-05"), 9.0 - i, "hangs.csv", 10, i, i, 2.0, 3.0)
        for i in range(days)
    ]
    monkeypatch.setattr(days_view, "limit_days", lambda x, series: found)
    told = plain(best_days(demo("arvo")))
    assert (FEW in told) is (best > 0)
    if best:
        assert f"best days ({best})\tother days ({days - best})" in told
        low, high = best, days - 1
        middle = f"{(low + high) / 2:.1f}".removesuffix(".0")
        assert f"({low} to {high})" in told
        assert f"\t{middle} (" in told
    else:
        assert "6 are needed" in told


def test_best_days_of_who_hides_body_mass_hold_no_per_cent() -> None:
    """Per cent of a load would lead back to it."""
    assert "above what was expected" in plain(best_days(demo("arvo")))
    hidden = plain(best_days(demo("eske")))
    assert "best days (" in hidden
    assert "expected" not in hidden
    assert "%" not in hidden


# --- two blocks -------------------------------------------------------------------------------


def test_one_block_has_none_beside_it() -> None:
    """A sentence says what it takes, with the names of this folder's files."""
    told = plain(blocks(small("ada")))
    assert told == ONE_BLOCK.format(file="block.toml", copy="block-2.toml")
    told = plain(blocks(demo("arvo")))
    assert "copy block-loft.toml as block-loft-2.toml" in told


@pytest.fixture(scope="module")
def two(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Explorer, Any]:
    """A folder of two blocks, ada opened, and the view of her hangs; not to be changed."""
    folder = tmp_path_factory.mktemp("two")
    for name, text in FILES.items():
        (folder / name).write_text(text, encoding="utf-8")
    x = explorer_of(load_logs(two_blocks(folder)), "ada")
    return folder, x, blocks(x, capacity="hang")


def test_two_blocks_stand_side_by_side(two: tuple[Path, Explorer, Any]) -> None:
    """Sets, days and heaviest of each block, counted by hand, and one panel each on one scale."""
    _, x, view = two
    told = plain(view)
    lines = [line.split("\t") for line in told.splitlines() if line.startswith("Timed hangs")]
    first, second = lines[:2]
    assert first[:4] == ["Timed hangs, half crimp, both hands", "Small block", "5", "2"]
    assert second[:2] == ["Timed hangs, half crimp, both hands", "Later <i>block"]
    rows = x.review.sets
    rows = rows[rows["in_block"] & ~rows["warmup"]]
    mine = rows[(rows["exercise"] == "hang") & (rows["grip"] == "half_crimp")]
    assert second[2:4] == [str(mine["sets"].sum()), str(mine["date"].nunique())]
    assert float(second[5]) == pytest.approx(
        mine[mine["outcome"] == "finished"]["shown_kg"].max(), abs=0.06
    )
    spec = chart_of(view)
    panels = spec["vconcat"][1]["hconcat"]
    assert [p["title"]["text"] for p in panels] == ["Small block", "Later <i>block"]
    assert spec["vconcat"][1]["resolve"] == {"scale": {"y": "shared"}}
    vl_convert.vegalite_to_vega(spec, vl_version="5.8")
    markup = "".join(part.html for part in flat(view) if hasattr(part, "html"))
    assert "Later &lt;i&gt;block" in markup


def counted(view: Any) -> tuple[int, int]:
    """Sets of half crimp hangs in the later block's row of the table, and marks of both panels."""
    (line,) = [
        text.split("\t")
        for text in plain(view).splitlines()
        if text.startswith("Timed hangs, half crimp") and "Later" in text
    ]
    marks = [r for text in chart_of(view)["datasets"].values() for r in json.loads(text)]
    return int(line[2]), sum("ended" in r and r["grip"] == "half_crimp" for r in marks)


@pytest.mark.parametrize("column", ["board", "edge_mm"])
def test_sets_on_another_edge_or_board_are_not_counted(
    small_logs: Path, two: tuple[Path, Explorer, Any], column: str
) -> None:
    """One set of the later block on an edge or board of its own is in no figure and no panel."""
    path = two_blocks(small_logs) / "hangs.csv"
    frame = pd.read_csv(path, dtype=str, keep_default_na=False)
    if column not in frame:
        frame[column] = ""
    mine = (frame["athlete"] == "ada") & (frame["exercise"] == "hang")
    later = frame[mine & (frame["grip"] == "half_crimp") & (frame["date"] >= "2026-01-12")]
    assert len(later) > 1
    frame.loc[later.index[-1], column] = "new" if column == "board" else "15"
    frame.to_csv(path, index=False)
    sets, marks = counted(two[2])
    view = blocks(explorer_of(load_logs(small_logs), "ada"), capacity="hang")
    assert counted(view) == (sets - int(later["sets"].iloc[-1]), marks - 1)


def test_hidden_body_mass_stays_hidden_in_two_blocks(small_logs: Path) -> None:
    """No whole load, no strength, no body mass; a set's figure is the same in both reviews."""
    path = two_blocks(small_logs) / "athletes.csv"
    path.write_text(path.read_text().replace("ada,Ada <i>A</i>,1998,kg,", "ada,A,1998,kg,no"))
    x = explorer_of(load_logs(small_logs), "ada")
    view = blocks(x)
    told = plain(view) + json.dumps([v.to_dict() for v in flat(view) if hasattr(v, "to_dict")])
    assert "Small block" in told
    assert "strength" not in told.casefold()
    for secret in ("61.0", "61.6", "66", "74.1", "body_mass"):
        assert secret not in told
    before = explorer_of(load_logs(small_logs), "ada", "Small block").review.sets
    both = before.merge(x.review.sets, on=["file", "line"])
    assert len(both) == len(before)
    assert np.allclose(both["shown_kg_x"], both["shown_kg_y"], equal_nan=True)


# --- lists ------------------------------------------------------------------------------------


def test_lists_hold_what_there_is_and_are_escaped(two: tuple[Path, Explorer, Any]) -> None:
    """Athletes and blocks as lists, the one shown chosen, names as text."""
    folder, x, _ = two
    markup = picker.people(load_logs(folder), x.review, "Logs of today.").shown.html
    assert '<option value="ada" selected>Ada &lt;i&gt;A&lt;/i&gt;</option>' in markup
    assert '<option value="bo">' in markup
    assert '<option value="Later &lt;i&gt;block" selected>' in markup
    assert markup.count("<select") == 2
    assert markup.count(" selected") == 2
    assert "<i>" not in markup


def test_the_list_of_series_writes_arguments() -> None:
    """Each choice is the arguments that call that series."""
    x = demo("arvo")
    pick, *_ = what_if(x)
    assert pick.shown.html.count("<option") == len(x.series())
    first = x.series()[0]
    assert "capacity=&quot;{}&quot;, grip=&quot;{}&quot;, hand=&quot;{}&quot;".format(*first) in (
        pick.shown.html
    )
    every, *_ = best_days(x)
    assert '<option value="" selected>all series</option>' in every.shown.html


@pytest.mark.parametrize(
    "grip", ['x", hand=print("run"), capacity="y', "back\\slash\\", "it's", "line\nbreak", "ö"]
)
def test_a_grip_s_name_is_never_code(grip: str) -> None:
    """Whatever a block file calls a grip, the cell gets a text of three arguments."""
    (call,) = ast.parse(f"dict({picker.arguments(('hang', grip, 'both'))})").body
    assert isinstance(call, ast.Expr)
    assert isinstance(call.value, ast.Call)
    told = {k.arg: ast.literal_eval(k.value) for k in call.value.keywords}
    assert told == {"capacity": "hang", "grip": grip, "hand": "both"}


def test_pages_hold_no_lists(tmp_path: Path) -> None:
    """A saved page has no list of ours, and an executed notebook's page leaves its output out."""
    pick, *rest = what_if(demo("arvo"))
    assert pick._repr_mimebundle_()[1] == IS_STYLE
    text = save_page(pick, *rest, path=tmp_path / "view.html").read_text(encoding="utf-8")
    assert "jupyterapp" not in text
    assert "<option" not in text.split("<script")[0]


def test_constants_are_the_ones_told() -> None:
    """Own choices that a reader meets."""
    assert (days_view.FEWEST_DAYS, days_view.BEFORE_DAYS) == (6, 7)
    assert (distance_view._NEXT_SHARE, distance_view._NEXT_STEP_KG) == (1.05, 2.5)
    assert days_view.BEST_SHARE == 1 / 3
    assert distance_view._FURTHER_KG == 30
