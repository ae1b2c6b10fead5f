"""Measures, climbs and earlier blocks as data and in sentences."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from gripbook.derive.climbs import climbs_around, climbs_by, grade_climbs, month_span
from gripbook.derive.measures import OwnError, by_day, pooled_error, trend, visit_groups
from gripbook.logs import Block, load_logs
from gripbook.report import sections
from gripbook.report.sections.earlier import earlier
from gripbook.reviews import review
from gripbook.reviews.climbed import climbs_table
from gripbook.reviews.done import sets_table, weeks_table
from gripbook.reviews.earlier import Figure
from gripbook.reviews.measured import measures_table
from gripbook.strength import fit_strength
from gripbook.words import other as words
from gripbook.words.earlier import line
from gripbook.words.fmt import NBSP
from gripbook.words.problems import problem_line
from tests.reviewed import reviewed
from tests.unit.test_reviews import add_rows

MEASURES = "athlete,date,measure,side,value,unit,note"
CLIMBS = "athlete,date,grade,scale,style,place,note"
#: Three weeks from 5 January 2026, as in the shared small logs.
BLOCK = Block(name="Small block", start=dt.date(2026, 1, 5), weeks=3)


def with_file(folder: Path, file: str, header: str, *rows: str) -> Path:
    """A log file written anew."""
    (folder / file).write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    return folder


def plain(texts: tuple[str, ...] | list[str]) -> list[str]:
    """Sentences with ordinary blanks."""
    return [t.replace(NBSP, " ") for t in texts]


def measured(folder: Path, *rows: str, athlete: str = "ada") -> list[str]:
    """The sentences on each measure."""
    with_file(folder, "measures.csv", MEASURES, *rows)
    found = reviewed(folder, athlete).measured
    return plain([*map(words.measure, found.trends), *map(words.difference, found.compared)])


# --- measures --------------------------------------------------------------------------------


def test_no_repeat_gives_raw_points(small_logs: Path) -> None:
    """Without a repeat the first and last reading stand there with the words, and no range."""
    assert measured(
        small_logs,
        "ada,2026-01-06,l_sit_hold,,12,s,",
        "ada,2026-01-20,l_sit_hold,,15,s,",
    ) == [
        "L-sit hold: 12 s on 6 January, 15 s on 20 January; can't tell without a repeat within "
        "4 days."
    ]


def test_one_visit_tells_no_change(small_logs: Path) -> None:
    """One visit, repeated or not, is no trend."""
    assert measured(
        small_logs,
        "ada,2026-01-06,handstand_hold,,20,s,",
        "ada,2026-01-08,handstand_hold,,24,s,",
    ) == ["Handstand hold: 22 s on 6 January; measured once, so no change."]


def test_a_gap_gets_better_downwards(small_logs: Path) -> None:
    """Beyond the own error a smaller gap is called better, and a longer hold longer, no more."""
    rows = [
        f"ada,{day},{measure},,{value},{unit},"
        for measure, unit, values in (
            ("front_split_gap", "cm", (20, 20, 10, 10)),
            ("handstand_hold", "s", (20, 20, 40, 41)),
        )
        for day, value in zip(
            ("2026-01-05", "2026-01-06", "2026-01-20", "2026-01-21"), values, strict=True
        )
    ]
    # by hand: days -8 -7 7 8 about their mean, so slopes -150/226 and 308/226 over 16 days; errors
    # 1/sqrt(12) (rounding) and 0.5, t(0.95, 2) = 2.920: -10.62 +- 0.90 cm and 21.81 +- 1.55 s
    assert measured(small_logs, *rows) == [
        "Front split gap: 20.3 to 9.7 cm, 9.7 to 11.5 cm smaller (better).",
        "Handstand hold: 19 to 41 s, 20 to 23 s longer.",
    ]


def test_change_within_the_error_is_unclear(small_logs: Path) -> None:
    """A change no larger than repeats differ is unclear, with what it may be."""
    rows = [
        f"ada,{day},handstand_hold,,{value},s,"
        for day, value in (
            ("2026-01-05", 20),
            ("2026-01-07", 28),
            ("2026-01-20", 21),
            ("2026-01-22", 29),
        )
    ]
    (told,) = measured(small_logs, *rows)
    assert told.startswith("Handstand hold: 23 to 26 s; can't tell, from ")
    assert told.endswith(" longer.")


def test_left_against_right_and_front_against_side(small_logs: Path) -> None:
    """Sides are compared at the last visit, the side split with the mean of the front splits."""
    rows = [
        f"ada,{day},{measure},{side},{value},cm,"
        for measure, side, values in (
            ("front_split_gap", "left", (20, 20)),
            ("front_split_gap", "right", (30, 30)),
            ("side_split_gap", "", (40, 42)),
        )
        for day, value in zip(("2026-01-05", "2026-01-07"), values, strict=True)
    ]
    found = measured(small_logs, *rows)
    assert found[-2] == "Front split gap, left against right: 9.2 to 10.8 cm smaller."
    assert found[-1].startswith(
        "Front split gap 25 cm (mean of its sides), side split gap 41 cm at the last visit; side "
        "against front: 10 to 22 cm larger"
    )


def test_visits_have_an_end() -> None:
    """Daily readings do not chain into one visit: a visit holds its first day and the next four."""
    days = pd.Series(pd.date_range("2026-01-01", periods=10, freq="D"))
    assert visit_groups(days).tolist() == [0] * 5 + [1] * 5
    assert visit_groups(days.iloc[::-1]).tolist() == [1] * 5 + [0] * 5


def test_tries_of_one_day_are_no_repeat() -> None:
    """Two tries of a day are averaged; they tell nothing of the error from day to day."""
    rows = pd.DataFrame(
        {"date": pd.to_datetime(["2026-01-01", "2026-01-01"]), "value": [10.0, 14.0]}
    )
    days = by_day(rows)
    assert days["value"].tolist() == [12.0]
    assert not pooled_error([days["value"].tolist()]).known


def test_equal_whole_readings_have_the_error_of_rounding() -> None:
    """Readings rounded to whole numbers and equal do not pass for free of error."""
    assert pooled_error([[25, 25]], resolution=1.0) == OwnError(1 / math.sqrt(12), 1)


def test_two_readings_make_the_classic_range() -> None:
    """With one reading at either end the SE is sqrt(2) times the error."""
    rows = pd.DataFrame(
        {"date": pd.to_datetime(["2026-01-01", "2026-02-01"]), "value": [10.0, 14.0]}
    )
    found = trend(rows, OwnError(2.0, 10))
    assert found.change.value == pytest.approx(4)
    assert found.change.high - 4 == pytest.approx(1.8125 * math.sqrt(2) * 2, abs=1e-3)


def test_hidden_body_mass_hides_measures_of_the_body(small_logs: Path) -> None:
    """Where body mass is hidden nothing in kilograms and nothing named after the body is told."""
    with_file(
        small_logs,
        "measures.csv",
        MEASURES,
        "cy,2026-01-06,weight,,61,kg,",
        "cy,2026-01-06,body_mass,,61,,",
        "cy,2026-01-06,total_pull_up,,77,kg,",
        "cy,2026-01-06,l_sit_hold,,12,s,",
    )
    found = reviewed(small_logs, "cy")
    assert [t.measure for t in found.measured.trends] == ["l_sit_hold"]
    assert found.measured.left_out == 3
    page = "".join(str(getattr(p, "html", "")) for p in sections.other(found))
    assert "61" not in page
    assert "77" not in page


def test_other_work_is_counted_against_the_plan(small_logs: Path) -> None:
    """Core days done and planned, and the weeks in which the plan was met."""
    add_rows(
        small_logs, "sessions.csv", *(f"ada,2026-01-{d:02d},core,,20,4,," for d in (8, 13, 14))
    )
    found = reviewed(small_logs, "ada").measured
    (core,) = found.work
    # the log ends on the Friday of week 3, which leaves room for its two days
    assert (core.kind, core.done, core.due, core.met, core.weeks) == ("core", 4, 4, 2, 2)
    assert plain([words.work([core])]) == ["Core 4 of 4 planned days."]
    add_rows(small_logs, "body.csv", "ada,2026-01-24,61")
    (core,) = reviewed(small_logs, "ada").measured.work
    assert (core.due, core.weeks) == (5, 2)
    add_rows(small_logs, "body.csv", "ada,2026-01-25,61")
    (core,) = reviewed(small_logs, "ada").measured.work
    assert (core.due, core.met, core.weeks) == (6, 2, 3)
    assert plain([words.work([core])]) == ["Core 4 of 6 planned days."]


def test_measures_may_be_missing(small_logs: Path) -> None:
    """Without measures.csv nothing is said of measures."""
    parts = sections.other(reviewed(small_logs, "ada"))
    page = "".join(p.html for p in parts if hasattr(p, "html"))
    assert "Core" in page
    assert "easure" not in page


def test_tables_of_measures_and_climbs(small_logs: Path) -> None:
    """The tidy frames hold what the page says, in columns that are written down."""
    with_file(
        small_logs,
        "measures.csv",
        MEASURES,
        "ada,2026-01-06,l_sit_hold,,12,s,",
        "ada,2026-01-20,l_sit_hold,,15,s,",
    )
    r = reviewed(small_logs, "ada")
    (row,) = measures_table(r.measured).to_dict("records")
    assert (row["first"], row["last"], row["change"], row["verdict"]) == (12, 15, 3, "no_repeat")
    for column in measures_table(r.measured).columns:
        assert f"`{column}`" in (measures_table.__doc__ or ""), column
    assert climbs_table(r.climbed).empty
    weeks = weeks_table(r.done, r.dose.weeks)
    for column in weeks.columns:
        assert f"`{column}`" in (weeks_table.__doc__ or ""), column
    assert weeks["sessions_done"].sum() == r.done.sessions_done
    assert len(sets_table(r.sets)) == int(r.sets["in_block"].sum())


def test_text_of_measures_is_escaped(small_logs: Path) -> None:
    """A measure's name cannot become markup."""
    with_file(
        small_logs,
        "measures.csv",
        MEASURES,
        "ada,2026-01-06,<script>alert(1)</script>,,12,s,",
        "ada,2026-01-16,<script>alert(1)</script>,,13,s,",
    )
    parts = sections.other(reviewed(small_logs, "ada"))
    page = "".join(p.html for p in parts if hasattr(p, "html"))
    assert "<script" not in page
    assert "&lt;script&gt;" in page


# --- climbs ----------------------------------------------------------------------------------


def climbs(*rows: str) -> pd.DataFrame:
    """Climbs as read: date, grade, scale, style, place."""
    cells = [r.split(",") for r in rows]
    frame = pd.DataFrame(cells, columns=["date", "grade", "scale", "style", "place"])
    return frame.assign(
        date=pd.to_datetime(frame["date"]), file="climbs.csv", line=np.arange(2, 2 + len(frame))
    )


def test_hardest_and_median_of_the_best_five() -> None:
    """Of six climbs the easiest falls out; attempts never count; boulders stand apart."""
    rows = climbs(
        *(
            f"2026-01-{6 + i:02d},{g},french,redpoint,rock"
            for i, g in enumerate(["7a", "7a+", "7b", "6a", "7c", "6c"])
        ),
        "2026-01-09,8a,french,attempt,rock",
        "2026-01-09,7A,font,flash,rock",
    )
    found = climbs_by(climbs_around(grade_climbs(rows), BLOCK), ["discipline", "place", "period"])
    boulder, route = found.to_dict("records")
    assert (route["hardest_grade"], route["median_grade"], route["climbs"]) == ("7c", "7a+", 6)
    assert route["best_of"] == 5
    assert route["line"] == 6
    assert (boulder["climbs"], boulder["median_error"]) == (1, 1.0)


def test_before_during_after() -> None:
    """Periods end with the block's days, and eight weeks on either side."""
    days = ["2025-11-09", "2025-11-10", "2026-01-04", "2026-01-05", "2026-01-25", "2026-01-26",
            "2026-03-22", "2026-03-23"]  # fmt: skip
    rows = climbs(*(f"{d},7a,french,redpoint,rock" for d in days))
    found = climbs_around(grade_climbs(rows), BLOCK)
    assert found["period"].tolist() == ["before"] * 2 + ["during"] * 2 + ["after"] * 2
    first, last = month_span(pd.Timestamp(2026, 1, 1), "before", BLOCK)
    assert (first, last) == (dt.date(2026, 1, 1), dt.date(2026, 1, 4))


def test_climbs_in_words(small_logs: Path) -> None:
    """Rock and indoor apart; a time not yet reached is not "none"; what need not show is said."""
    with_file(
        small_logs,
        "climbs.csv",
        CLIMBS,
        "ada,2025-12-06,7a,french,redpoint,indoor,",
        "ada,2025-12-07,7b,french,redpoint,indoor,",
        "ada,2025-12-08,6c,french,flash,indoor,",
        "ada,2026-01-07,7b,french,,indoor,",
        "ada,2026-01-08,7A,font,flash,rock,",
        "ada,2026-01-08,7A,font,attempt,rock,",
    )
    found = reviewed(small_logs, "ada").climbed
    assert [plain(line) for line in words.climbs(found)] == [
        ["Boulders, rock", "During 7A (one climb); none logged before."],
        [
            "Routes, indoors",
            "Before median 7a, hardest 7b (three climbs); during 7b (one climb).",
        ],
    ]
    assert plain([*words.climbs_notes(found)]) == [
        "Before and after are the eight weeks on either side of the block. The first grade is the "
        "median of the best five climbs, of all where there are fewer.",
        "A stronger grip need not show in the grade: skill, tactics, rock and conditions count "
        "too, and a few climbs are few data.",
        "A boulder grade is known to plus or minus one on the scale of comparison.",
        "One attempt not counted.",
        "One climb without a style counted as done; write attempt if it was not.",
    ]


def test_unknown_grade_is_listed_and_not_guessed(small_logs: Path) -> None:
    """The row stays and is told with its place, value, reason and remedy; it stands on no scale."""
    with_file(
        small_logs,
        "climbs.csv",
        CLIMBS,
        "ada,2026-01-07,7z,french,redpoint,rock,",
        "ada,2026-01-08,5.10,yds,redpoint,rock,",
    )
    logs = load_logs(small_logs)
    told = [p for p in logs.problems if p.code == "unknown_grade"]
    assert [problem_line(p) for p in told] == [
        "climbs.csv:2: warning: grade = '7z': isn't in the published comparison for "
        "the scale french, so the climb is placed nowhere; none is guessed. Check the grade and "
        "its scale.",
        "climbs.csv:3: warning: grade = '5.10': isn't in the published comparison for "
        "the scale yds, so the climb is placed nowhere; none is guessed. Did you mean 5.10a, "
        "5.10b, 5.10c or 5.10d?",
    ]
    found = review(logs, "ada").climbed
    assert found.unknown == 2
    assert found.months.empty
    assert any("Two climbs left out" in n for n in words.climbs_notes(found))


# --- earlier blocks ---------------------------------------------------------------------------


def two_blocks(folder: Path) -> Path:
    """The small logs with their block cut in two."""
    text = (folder / "block.toml").read_text(encoding="utf-8")
    head, _, rest = text.partition("[[phase]]")
    phase = "[[phase]]" + rest.partition("[[phase]]")[0]
    head = head.replace("weeks = 3", "weeks = 1").replace("test_weeks = [1, 3]", "")
    (folder / "block.toml").unlink()
    (folder / "block-a.toml").write_text(head + phase, encoding="utf-8")
    later = head.replace('"Small block"', '"Later <i>block"').replace("2026-01-05", "2026-01-12")
    later = later.replace("weeks = 1", "weeks = 2")
    (folder / "block-b.toml").write_text(
        later + phase.replace("weeks = 1", "weeks = 2"), encoding="utf-8"
    )
    return folder


def test_one_block_says_nothing_of_earlier_ones(small_logs: Path) -> None:
    """With a single block the page has no list of blocks."""
    assert earlier(reviewed(small_logs, "ada")) == ()


def test_each_block_has_its_line(small_logs: Path) -> None:
    """Two blocks: a line each in time's order, sessions as counts, names escaped."""
    found = reviewed(two_blocks(small_logs), "ada")
    assert found.block.name == "Later <i>block"
    lines = plain([line(x) for x in found.earlier.lines])
    assert lines[0].startswith(
        "Small block, 5 January 2026 to 11 January 2026: 2 of 2 finger sessions; "
    )
    assert lines[1].startswith(
        "Later <i>block, 12 January 2026 to 25 January 2026: 5 of 4 finger sessions; "
    )
    page = "".join(p.html for p in earlier(found) if hasattr(p, "html"))
    assert "Later &lt;i&gt;block" in page
    assert "<i>block" not in page


def test_a_block_not_begun_is_no_line(small_logs: Path) -> None:
    """A block planned for later is not among the blocks so far."""
    text = (small_logs / "block.toml").read_text(encoding="utf-8")
    (small_logs / "block-later.toml").write_text(
        text.replace("2026-01-05", "2027-01-04").replace("Small block", "Next year"),
        encoding="utf-8",
    )
    assert reviewed(small_logs, "ada").earlier.lines == ()


def test_an_odd_earlier_block_costs_nothing(
    small_logs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A block that can't be reviewed keeps a line that says so."""
    found = review(load_logs(two_blocks(small_logs)), "ada")

    def broken(sets: pd.DataFrame, block: Block) -> object:
        if block.name == "Small block":
            raise ZeroDivisionError("odd")
        return fit_strength(sets, block)

    monkeypatch.setattr("gripbook.reviews.earlier.fit_strength", broken)
    lines = found.earlier.lines
    assert line(lines[0]).endswith("could not be read.")
    assert lines[0].failed == "ZeroDivisionError: odd"
    assert lines[1].failed == ""


def test_hidden_body_mass_in_earlier_blocks(small_logs: Path) -> None:
    """Where body mass is hidden the lines hold differences, and the table no loads."""
    folder = two_blocks(small_logs)
    path = folder / "athletes.csv"
    path.write_text(path.read_text().replace("ada,Ada <i>A</i>,1998,kg,", "ada,A,1998,kg,no"))
    found = reviewed(folder, "ada")
    page = "".join(p.html for p in earlier(found) if hasattr(p, "html"))
    assert "Small block" in page
    assert "start (kg)" not in page
    for x in found.earlier.paths:
        assert x.series is not None
        assert x.series.path["kg"].abs().max() < 20


# --- two blocks side by side ------------------------------------------------------------------


def test_the_block_before_stands_beside_this_one(small_logs: Path) -> None:
    """A row for each series of both, and what differed in plan and work; nothing for one block."""
    alone = reviewed(small_logs, "ada").earlier
    assert alone.two is None
    found = reviewed(two_blocks(small_logs), "ada")
    two = found.earlier.two
    assert two is not None
    assert (two.before.name, two.now.name) == ("Small block", "Later <i>block")
    of_now = {s.fit.key: s for s in found.change.series}
    before, now = found.earlier.lines
    both = {s.fit.key for s in before.every} & {s.fit.key for s in now.every}
    assert {p.now.fit.key for p in two.pairs} | {s.fit.key for s in two.apart} == both
    assert two.pairs
    for pair in two.pairs:
        assert pair.before.fit.key == pair.now.fit.key
        assert pair.now.end_kg == pytest.approx(of_now[pair.now.fit.key].end_kg, nan_ok=True)
    figures = {x.what: (x.before, x.now) for x in two.differs}
    assert figures[Figure.WEEKS] == (1, 2)
    assert figures[Figure.SESSIONS_PLANNED] == (2, 4)
    assert figures[Figure.SESSIONS_DONE] == (2, 5)
    assert all(before != now for before, now in figures.values())
    page = plain(["".join(p.html for p in earlier(found) if hasattr(p, "html"))])[0]
    assert "Later &lt;i&gt;block beside Small block" in page
    assert "What differed" in page
    # the block before has none before it
    first = reviewed(small_logs, "ada", "Small block")
    assert first.earlier.two is None


@pytest.mark.parametrize("column", ["board", "edge_mm"])
def test_other_boards_and_edges_are_never_compared(small_logs: Path, column: str) -> None:
    """A series on another board or edge than before stands apart and has no row."""
    path = two_blocks(small_logs) / "hangs.csv"
    frame = pd.read_csv(path, dtype=str, keep_default_na=False)
    if column not in frame:
        frame[column] = ""
    later = frame["date"] >= "2026-01-12"
    frame.loc[later, column] = "new" if column == "board" else "15"
    frame.to_csv(path, index=False)
    found = reviewed(small_logs, "ada")
    two = found.earlier.two
    assert two is not None
    assert two.pairs == ()
    assert two.apart
    page = "".join(p.html for p in earlier(found) if hasattr(p, "html"))
    assert "Not compared, since edge, board or hold differ" in page
    assert "Start and end of each block" not in page


def test_hidden_body_mass_in_two_blocks(small_logs: Path) -> None:
    """Where body mass is hidden the rows hold changes and no loads."""
    folder = two_blocks(small_logs)
    path = folder / "athletes.csv"
    path.write_text(path.read_text().replace("ada,Ada <i>A</i>,1998,kg,", "ada,A,1998,kg,no"))
    found = reviewed(folder, "ada")
    assert found.earlier.two is not None
    page = "".join(p.html for p in earlier(found) if hasattr(p, "html"))
    assert "Start and end of each block" not in page
    if found.earlier.two.pairs:
        assert "Change in each block" in page
