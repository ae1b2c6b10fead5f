"""What each set tells of strength: one test a rule, each at the rule's edge."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pandas as pd
import pytest

from gripbook.derive import derive_sets
from gripbook.errors import MissingColumnError
from gripbook.logs.block import Block
from gripbook.strength import Evidence, evidence, gather_evidence
from gripbook.strength.evidence import AT_LEAST, AT_MOST, EXACT
from gripbook.strength.model import build_layout
from gripbook.strength.reasons import LeftOut, LeftOutReason
from tests.strength.scenarios import SCENARIOS, START, block_of, hangs_frame

BLOCK = block_of(SCENARIOS[0])
LAST_DAY = 7 * BLOCK.weeks - 1


def body(*weighed: tuple[int, float]) -> pd.DataFrame:
    """Weigh-ins: (day, kg)."""
    dates = pd.to_datetime([pd.Timestamp(START) + pd.Timedelta(days=d) for d, _ in weighed])
    return pd.DataFrame(
        {
            "athlete": "a",
            "date": dates.astype("datetime64[us]"),
            "body_mass_kg": [kg for _, kg in weighed],
            "note": "",
        }
    )


EVERY_WEEK = body(*((d, 70.0) for d in range(-49, 64, 7)))


def gathered(
    *rows: dict[str, object], weighed: pd.DataFrame = EVERY_WEEK, block: Block = BLOCK
) -> Evidence:
    """Evidence of hand-written rows."""
    return gather_evidence(derive_sets(hangs_frame(list(rows)), weighed, block), block)


def hang(day: int = 1, **more: object) -> dict[str, object]:
    """A hang of 10 s on the reference edge with 10 kg more than body mass."""
    return {
        "day": day, "exercise": "hang", "grip": "half_crimp", "hand": "both", "edge_mm": 20.0,
        "hang_s": 10.0, "added_kg": 10.0, **more,
    }  # fmt: skip


def repeater(day: int = 1, **more: object) -> dict[str, object]:
    """Six holds of 7 s with 3 s between."""
    return hang(day, exercise="repeater", hang_s=7.0, rest_s=3.0, reps=6.0, **more)


def pull(day: int = 1, **more: object) -> dict[str, object]:
    """A pull of the left hand with 30 kg left on the scale."""
    return hang(
        day, **{"exercise": "pull", "hand": "left", "hang_s": np.nan, "added_kg": 0.0,
                "scale_kg": 30.0, **more}
    )  # fmt: skip


def seconds(evidence: Evidence) -> np.ndarray:
    """Seconds each hang stands for, from the curve's second shape, log((T + 1) / 11)."""
    return np.exp(evidence.drop.basis[:, 1]) * 11.0 - 1.0


# --- which sets ---------------------------------------------------------------------------------


def test_days_from_42_before_to_the_last() -> None:
    """42 days before the block counts, 43 does not; the last day counts, the day after does not."""
    rows = [hang(d, failed_s=8.5) for d in (-43, -42, LAST_DAY, LAST_DAY + 1)]
    assert gathered(*rows).day.tolist() == [-42, LAST_DAY]


@pytest.mark.parametrize(
    ("edge", "used"), [(5.9, False), (6.0, True), (45.0, True), (45.1, False), (np.nan, False)]
)
def test_edges_from_6_to_45_mm(edge: float, used: bool) -> None:
    """The two edges of what is converted count still; what is left out is counted by reason."""
    found = gathered(hang(edge_mm=edge, failed_s=8.5, sets=2))
    assert len(found) == (2 if used else 0)
    assert sum(out.sets for out in found.left_out) == (0 if used else 2)


def test_slopers_need_no_edge() -> None:
    """A sloper has no edge and is no less evidence."""
    found = gathered(hang(grip="sloper", edge_mm=np.nan, failed_s=8.5))
    assert found.edge_log.tolist() == [0.0]


def test_warm_ups_and_guesses_count_in_neither_way() -> None:
    """A warm-up is not used and takes no place in the session; a guess takes its place."""
    rows = [hang(warmup=True), hang(load_kind="guess"), hang(failed_s=8.5)]
    found = gathered(*rows)
    assert len(found) == 1
    assert found.others.tolist() == [1.0]
    assert found.left_out == (LeftOut(LeftOutReason.GUESSED_LOAD, 1),)


def test_a_load_far_from_the_others() -> None:
    """Beyond 2.5 times the middle load of three a set is left out by its line; at 2.4 it stays."""
    usual = [pull(d, force_kg=20.0, scale_kg=np.nan) for d in (1, 8)]
    for kg, kept in ((20.0 * 2.4, 3), (20.0 * 2.6, 2), (20.0 / 2.4, 3), (20.0 / 2.6, 2)):
        found = gathered(*usual, pull(15, force_kg=kg, scale_kg=np.nan))
        assert len(found) == kept, kg
    assert found.left_out == (LeftOut(LeftOutReason.FAR_OFF, 1, (("hangs.csv", 4),)),)


def test_absent_columns_are_named() -> None:
    """A frame of another kind is refused with the names of what it lacks."""
    with pytest.raises(MissingColumnError, match="load_source"):
        gather_evidence(derive_sets(hangs_frame([hang()]), EVERY_WEEK, BLOCK).drop(
            columns="load_source"), BLOCK)  # fmt: skip


# --- what a set observed ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "kind"),
    [
        (hang(), AT_LEAST),
        (hang(failed_s=8.5), EXACT),
        (hang(reserve_s=2.0), EXACT),
        (hang(reserve_s=4.9), EXACT),
        (hang(reserve_s=5.0), AT_LEAST),
        (hang(failed_s=1.5), EXACT),
        (hang(failed_s=1.4), AT_MOST),
        (hang(failed_s=4.5, stopped="skin"), AT_LEAST),
        (repeater(), AT_LEAST),
        (repeater(reps_done=3.0, failed_s=4.0), EXACT),
        (repeater(reserve_reps=1.0), EXACT),
        (pull(), EXACT),
        (pull(scale_kg=0.0), AT_LEAST),
        (pull(stopped="pain"), AT_LEAST),
    ],
)
def test_kinds(row: dict[str, object], kind: int) -> None:
    """Failed: exactly; finished or stopped: at least; opened at once: at most."""
    assert gathered(row).kind.tolist() == [kind]


def test_a_set_stopped_at_once_says_nothing() -> None:
    """Stopped after a second for another reason than strength it is no upper bound."""
    found = gathered(hang(failed_s=1.0, stopped="pain"))
    assert len(found) == 0
    assert found.left_out == (LeftOut(LeftOutReason.UNKNOWN_TIME, 1),)


def test_a_stopped_set_tells_its_own_seconds() -> None:
    """A hang stopped at 4 s was held for 4 s, not for the planned ten; no part was cut off."""
    assert seconds(gathered(hang(failed_s=4.0, stopped="skin"))) == pytest.approx([4.0])


def test_whole_seconds_were_cut() -> None:
    """A failure at 7 s stands for 7.4 s, one at 7.5 s for itself; planned times stay whole."""
    found = gathered(hang(1, failed_s=7.0), hang(2, failed_s=7.5), hang(3))
    assert seconds(found) == pytest.approx([7.4, 7.5, 10.0])


def test_reserves_lengthen_the_set() -> None:
    """Two seconds left make twelve of ten; none left a quarter; from five on it stays at 4.5."""
    found = gathered(*(hang(d, reserve_s=r) for d, r in enumerate((2.0, 0.0, 5.0, 15.0), 1)))
    assert seconds(found) == pytest.approx([12.0, 10.25, 14.5, 14.5])


def test_beyond_two_minutes_is_at_least() -> None:
    """The curve ends at 120 s: longer is "at least so long"."""
    found = gathered(hang(1, hang_s=150.0, failed_s=119.5), hang(2, hang_s=150.0, failed_s=130.0))
    assert found.kind.tolist() == [EXACT, AT_LEAST]
    assert seconds(found) == pytest.approx([119.5, 120.0])


# --- its place in the session -------------------------------------------------------------------


def test_position_and_others() -> None:
    """Sets of the series, and of others, done earlier on the day; the next day starts anew."""
    rows = [
        hang(1, failed_s=8.5, order=1), pull(1, order=2), hang(1, failed_s=7.5, order=3),
        hang(2, failed_s=8.5, order=1),
    ]  # fmt: skip
    found = gathered(*rows)
    by_line = np.argsort(found.line)
    assert found.position[by_line].tolist() == [0, 0, 1, 0]
    assert found.others[by_line].tolist() == [0, 1, 1, 0]


def test_two_sessions_of_one_day_are_one() -> None:
    """What was done in the morning tires for the evening."""
    found = gathered(
        hang(failed_s=8.5, session="am", order=1.0), hang(failed_s=7.5, session="pm", order=1.0)
    )
    assert found.position.tolist() == [0, 1]


def test_merged_bounds_stand_at_their_middle() -> None:
    """Three equal bounds are one of weight 3 at the middle place; exact sets stay one by one."""
    merged = gathered(hang(failed_s=8.5), hang(sets=3), hang(failed_s=7.5, sets=2))
    assert merged.weight.tolist() == [1, 3, 1, 1]
    assert merged.position.tolist() == [0, 2, 4, 5]
    apart = gathered(hang(failed_s=8.5), hang(), hang(), hang(), hang(failed_s=7.5, sets=2))
    assert apart.position.tolist() == merged.position.tolist()
    other = gathered(hang(), hang(added_kg=12.0))
    assert other.weight.tolist() == [1, 1]
    assert other.position.tolist() == [0, 1]


# --- errors of loads and times ------------------------------------------------------------------


def test_gauge_rows() -> None:
    """A gauge needs no body mass: no error of it, no practice, and a scale at 0 is no bound."""
    once = body((-40, 70.0))
    found = gathered(
        pull(1, force_kg=40.0, scale_kg=0.0), pull(60, force_kg=41.0, scale_kg=np.nan), weighed=once
    )
    assert found.kind.tolist() == [EXACT, EXACT]
    assert np.exp(found.log_load) == pytest.approx([40.0, 41.0])
    assert found.load_error_log.tolist() == [0.0, 0.0]
    assert found.mass_log.shape == (2, 0)
    assert found.scale_log.tolist() == [0.0, 0.0]


def test_the_first_pull_over_a_scale_is_practice() -> None:
    """Of each hand the first, 6 % more error; from the second on only the scale's and mass's."""
    rows = [pull(d, hand=h) for d in (0, 7) for h in ("left", "right")]
    found = gathered(*rows)
    plain = math.hypot(0.5, 1.0) / 40.0
    assert found.load_error_log == pytest.approx([math.hypot(plain, 0.06)] * 2 + [plain] * 2)
    stood = gathered(pull(stand_kg=70.0))
    assert stood.load_error_log == pytest.approx([math.hypot(1.0 / 40.0, 0.06)])


def test_errors_of_time() -> None:
    """Half a second of a hang, 0.8 s of a repeater set, a guess in proportion to two units."""
    found = gathered(
        hang(1, failed_s=8.5), hang(2, reserve_s=3.0), hang(3), hang(4, failed_s=8.5),
        repeater(5, reps_done=3.0, failed_s=4.5), repeater(6, reserve_reps=2.0),
        repeater(7, reps_done=3.0),
    )  # fmt: skip
    total = np.array([8.5, 13.0, 10.0, 8.5, 25.5, 56.0, 24.5])
    error_s = found.time_error_log * total / found.drop.slope
    guess = np.hypot(0.35 * 2.0, 0.5)
    holds = 7.0 * np.hypot(0.35 * 2.0, 0.3)
    assert error_s == pytest.approx([0.5, guess, 0.0, 0.5, 0.8, holds, 7.0 / math.sqrt(12.0)])


def test_far_from_a_weigh_in_body_mass_walks() -> None:
    """
    Up to a week from a weigh-in each set has its own error, the root of the days; from then on the
    sets share a walk of 0.9 kg a root week, of which two waves hold nine tenths of the variance.
    """
    near = gathered(hang(1, failed_s=8.5), hang(8, failed_s=8.5), weighed=body((1, 70.0)))
    assert near.load_error_log == pytest.approx([0.5 / 80.0, math.hypot(0.5, 0.9) / 80.0])
    assert near.mass_log.shape == (2, 0)
    days = range(0, 57, 4)
    far = gathered(*(hang(d, failed_s=8.5) for d in days), weighed=body((0, 70.0)))
    spread = 80.0 * np.linalg.norm(far.mass_log, axis=1)
    assert far.mass_log.shape[1] == 2
    assert spread[:2].tolist() == [0.0, 0.0]
    assert spread[-1] == pytest.approx(0.9 * math.sqrt(56 / 7))
    walked = 0.9 * np.sqrt(np.array(days) / 7)
    assert spread[2:] == pytest.approx(walked[2:], abs=0.35)


def test_each_weigh_in_has_a_walk_of_its_own() -> None:
    """Sets after one weigh-in and before the next share nothing: body mass is known in between."""
    days = (10, 14, 18, 42, 46, 50)
    found = gathered(*(hang(d, failed_s=8.5) for d in days), weighed=body((0, 70.0), (60, 70.0)))
    assert found.mass_log.shape[1] == 4
    assert (found.mass_log[:3] @ found.mass_log[3:].T == 0).all()
    assert (found.mass_log[:3] @ found.mass_log[:3].T > 0).all()


def test_body_mass_counts_by_the_middle_load() -> None:
    """Its error in log load is that of the series' middle load: a set's own carries its noise."""
    rows = [hang(d, failed_s=8.5, added_kg=a) for d, a in ((50, 0.0), (52, 10.0), (54, 30.0))]
    found = gathered(*rows, weighed=body((0, 70.0)))
    spread = np.linalg.norm(found.mass_log, axis=1)
    assert spread[2] / spread[0] == pytest.approx(1.0, abs=0.1)


# --- what the days were -------------------------------------------------------------------------


def test_the_first_session_of_a_series() -> None:
    """Each series begins once; one that stands in the log before the 42 days does not begin."""
    rows = [hang(1, failed_s=8.5), pull(1), pull(8), hang(8, failed_s=8.5), repeater(8)]
    found = gathered(*rows)
    names = [found.series[k].capacity for k in found.series_of]
    first = dict(zip(zip(found.day.tolist(), names, strict=True), found.first, strict=True))
    assert first == {
        (1, "hang"): True, (1, "pull"): True, (8, "pull"): False, (8, "hang"): False,
        (8, "repeater"): True,
    }  # fmt: skip
    assert not gathered(hang(-43, failed_s=8.5), hang(1, failed_s=8.5)).first.any()


def test_fatigue_needs_easy_days_before_the_last_sets() -> None:
    """Even work tells none; ten days off before the last test do, and so does a planned week."""
    even = [hang(d, failed_s=8.5, sets=6) for d in range(0, 63, 3)]
    assert gathered(*even).tired.size == 0
    taper = [r for r in even if r["day"] <= 48 or r["day"] == 60]  # type: ignore[operator]
    found = gathered(*taper)
    at = found.tired[42:]
    assert at[48] == pytest.approx(1.0)
    assert at[60] < 0.4
    planned = gathered(*even, block=dataclasses.replace(BLOCK, easy_weeks=(9,)))
    assert planned.tired.size


def every_third_day(until: int, sets: int = 6) -> list[dict[str, object]]:
    """Hangs each third day from the block's first on."""
    return [hang(d, failed_s=8.5, sets=sets) for d in range(0, until + 1, 3)]


def test_fatigue_by_hand() -> None:
    """
    Six sets each third day to day 48, then nothing to the test on day 60: a forty-second part goes
    a day; from day 53 on, five days after the last session, where three are usual, 1/2.5 more.
    """
    found = gathered(*every_third_day(48), hang(60, failed_s=8.5)).tired[42:]
    before = sum(6 * math.exp(-3 * k / 42) for k in range(1, 17))
    assert found[48] == pytest.approx(1.0)
    assert found[52] == pytest.approx((before + 6) * math.exp(-4 / 42) / before)
    assert found[60] == pytest.approx((before + 6) * math.exp(-12 / 42 - 8 / 2.5) / before)


def test_half_the_sets_are_partly_easy() -> None:
    """A week of half the usual sets is 0.3 of 0.8 easy: short by 0.5, of which 0.2 is usual."""
    half = [hang(d, failed_s=8.5, sets=3) for d in range(48, 63, 3)]
    found = gathered(*every_third_day(45), *half).tired[42:]
    assert found[60] == pytest.approx((found[59] * math.exp(-1 / 42 - 0.3 / 0.8 / 2.5)), rel=1e-6)


@pytest.mark.parametrize(("last", "told"), [(53, False), (54, True)])
def test_fatigue_is_told_only_where_it_is_clearly_gone(last: int, told: bool) -> None:
    """By hand 0.66 of its highest is left on day 53 and 0.43 on day 54; 0.65 is the line."""
    assert bool(gathered(*every_third_day(48), hang(last, failed_s=8.5)).tired.size) == told


def test_other_sets_tire_up_to_fifteen() -> None:
    """The sixteenth set of another series on the day tires no more."""
    column = []
    for others in (14, 15, 16, 30):
        found = gathered(pull(1, sets=others, force_kg=30.0), hang(1, failed_s=8.5))
        layout = build_layout(found)
        mine = np.flatnonzero(layout.capacity == 0)
        column.append(float(layout.design[mine, layout.at["others"]][0, 0]))
    assert column == pytest.approx([-14 * 0.002, -15 * 0.002, -15 * 0.002, -15 * 0.002])


# --- what was converted -------------------------------------------------------------------------


def test_the_usual_board_and_set_need_no_offset() -> None:
    """Another board, another repeater set and another pinch width have one each, named."""
    rows = [
        hang(1, failed_s=8.5), hang(2, failed_s=8.5), hang(3, failed_s=8.5, board="wall"),
        repeater(4, reps_done=3.0, failed_s=4.5) | {"rest_s": 5.0},
        hang(5, failed_s=8.5, grip="pinch", edge_mm=40.0, hand="left"),
        hang(6, failed_s=8.5, grip="pinch", edge_mm=40.0, hand="left"),
        hang(7, failed_s=8.5, grip="pinch", edge_mm=60.0, hand="left"),
    ]  # fmt: skip
    found = gathered(*rows)
    names = [found.offsets[i] if i >= 0 else "" for i in found.offset]
    wanted = ["", "", "board wall", "holds of 7 s with 5 s rest", "", "", "pinch 60 mm"]
    assert names == wanted


def test_rare_boards_are_noise(monkeypatch: pytest.MonkeyPatch) -> None:
    """So many other boards as the limit have an offset each; of one more the rarest is error."""
    assert evidence.OFFSETS == 30
    boards = ["", *("" for _ in range(4)), "one", "one", "two", "two", "three"]
    rows = [hang(1 + i, failed_s=8.5, board=board) for i, board in enumerate(boards)]
    errors = []
    for limit, names in (
        (3, ("board one", "board three", "board two")),
        (2, ("board one", "board two")),
    ):
        monkeypatch.setattr(evidence, "OFFSETS", limit)
        found = gathered(*rows)
        assert found.offsets == names
        assert bool(found.offset[-1] == -1) is (limit == 2)
        errors.append(found.load_error_log)
    each, shared = errors
    assert shared[:-1] == pytest.approx(each[:-1])
    assert shared[-1] == pytest.approx(math.hypot(each[-1], evidence.BOARD_SD))
