"""Six people's spreadsheets come in, each once."""

from __future__ import annotations

from pathlib import Path

import pytest

from gripbook.cli_adopt import adoption_lines, question_text
from gripbook.logs import load_logs
from gripbook.logs.adopt import adopt
from gripbook.logs.adopt.map_file import read_map
from tests.spreadsheets import GERMAN_WIDE, SPREADSHEETS, Spreadsheet


def answered(sheet: Spreadsheet, folder: Path) -> tuple[Path, Path]:
    """A spreadsheet in `folder` and a log folder with its map, as its coach corrected it."""
    path, logs = folder / sheet.name, folder / "logs"
    sheet.write(path)
    adopt([path], logs)
    text = (logs / "map.toml").read_text()
    for line, mended in sheet.edits.items():
        assert text.count(line) == 1
        text = text.replace(line, mended)
    (logs / "map.toml").write_text(text)
    return path, logs


def bytes_of(folder: Path) -> dict[str, bytes]:
    """Every file of a folder."""
    return {p.name: p.read_bytes() for p in sorted(folder.iterdir())}


@pytest.mark.parametrize("sheet", SPREADSHEETS, ids=lambda s: s.name)
def test_a_spreadsheet_comes_in_with_few_edits(tmp_path: Path, sheet: Spreadsheet) -> None:
    """At most five edits; every row is used or ignored by a rule; nothing is left to refuse."""
    assert len(sheet.edits) <= 5
    path, logs = answered(sheet, tmp_path)
    done = adopt([path], logs)
    outcome = done.outcome
    assert (done.questions, outcome.refused, done.conflicts) == ((), [], [])
    assert outcome.rows_in == sheet.rows
    assert len(outcome.ignored) == sheet.ignored
    assert outcome.used == sheet.rows - sheet.ignored
    read = load_logs(logs)
    assert read.errors == ()
    assert len(read.hangs) == sheet.hangs


@pytest.mark.parametrize("sheet", SPREADSHEETS, ids=lambda s: s.name)
def test_the_same_command_again_changes_nothing(tmp_path: Path, sheet: Spreadsheet) -> None:
    """Twice the same bytes, also where the file that remembers is lost."""
    path, logs = answered(sheet, tmp_path)
    adopt([path], logs)
    before = bytes_of(logs)
    again = adopt([path], logs)
    assert (again.added, bytes_of(logs)) == (0, before)
    (logs / ".adopted.json").unlink()
    assert adopt([path], logs).added == 0
    assert bytes_of(logs) == before


@pytest.mark.parametrize("sheet", SPREADSHEETS, ids=lambda s: s.name)
def test_nothing_is_written_while_questions_remain(tmp_path: Path, sheet: Spreadsheet) -> None:
    """The first run writes the map alone, and again while a question mark stands there."""
    path, logs = tmp_path / sheet.name, tmp_path / "logs"
    sheet.write(path)
    adopt([path], logs)
    assert [p.name for p in logs.iterdir()] == ["map.toml"]
    if sheet.edits:
        assert not adopt([path], logs).settled
        assert [p.name for p in logs.iterdir()] == ["map.toml"]


def test_what_the_german_sheet_gives(tmp_path: Path) -> None:
    """Each filled cell of Satz1 to Satz6 is a set, body mass goes to its file once a day."""
    path, logs = answered(SPREADSHEETS[0], tmp_path)
    adopt([path], logs)
    read = load_logs(logs)
    first = read.hangs[read.hangs["date"] == "2026-09-17"]
    assert first["added_kg"].tolist() == [5, 5, 7.5, 7.5, 7.5]
    assert set(first["grip"]) == {"half_crimp"}
    assert set(first["edge_mm"]) == {20}
    assert read.body["body_mass_kg"].tolist() == [62.4, 62.0, 62.1]
    assert read.hangs["note"].iloc[-1] == "letzter Satz, knapp"


def test_pounds_and_inches(tmp_path: Path) -> None:
    """10 lb are 4.536 kg, 0.75 inches 19.05 mm."""
    path, logs = answered(SPREADSHEETS[3], tmp_path)
    adopt([path], logs)
    read = load_logs(logs).hangs
    assert read["added_kg"].tolist() == pytest.approx([4.5359, 6.8039, 2.268, 6.8039], abs=1e-3)
    assert set(read["edge_mm"]) == {19.05}
    assert [f"{d:%m-%d}" for d in read["date"]] == ["01-05", "01-08", "01-13", "01-15"]


def test_days_of_a_sheet_a_month(tmp_path: Path) -> None:
    """The sheet's name gives month and year, a failed hold its seconds."""
    path, logs = answered(SPREADSHEETS[2], tmp_path)
    adopt([path], logs)
    read = load_logs(logs).hangs
    assert sorted({f"{d:%Y-%m-%d}" for d in read["date"]}) == [
        *("2026-01-05", "2026-01-08", "2026-01-12", "2026-02-02", "2026-02-05"),
    ]
    assert sorted(read["failed_s"].dropna()) == [8, 8]


def test_seconds_held_under_a_header_of_two_rows(tmp_path: Path) -> None:
    """`Set 1 kg`, `Set 1 s`: eight seconds of ten are a failed hold, ten are none."""
    path, logs = answered(SPREADSHEETS[5], tmp_path)
    adopt([path], logs)
    read = load_logs(logs)
    assert read.hangs["failed_s"].dropna().tolist() == [8]
    assert read.hangs["added_kg"].tolist() == [5, 5, 0, 0, 7.5, 7.5, 5, 5]
    assert read.sessions["minutes"].tolist() == [45, 50, 40]


def test_a_grown_spreadsheet_adds_its_new_rows(tmp_path: Path) -> None:
    """Rows behind the known ones are added, what the athlete changed in the log stands."""
    path, logs = answered(SPREADSHEETS[0], tmp_path)
    adopt([path], logs)
    hangs = logs / "hangs.csv"
    hangs.write_text(hangs.read_text().replace("letzter Satz, knapp", "knapp"))
    more = GERMAN_WIDE + "12.10.2026;Halbcrimp;20 mm;10;+10;;;;;;;\n"
    path.write_bytes(more.encode("cp1252"))
    done = adopt([path], logs)
    assert done.added == 1
    assert hangs.read_text().endswith("kim,2026-10-12,hang,half_crimp,both,20,10,10,\n")


def test_a_changed_row_is_shown_and_not_doubled(tmp_path: Path) -> None:
    """A load that was corrected in the spreadsheet is a conflict, not another set."""
    path, logs = answered(SPREADSHEETS[1], tmp_path)
    adopt([path], logs)
    before = bytes_of(logs)
    path.write_text(path.read_text().replace("+15kg", "+17.5kg"))
    done = adopt([path], logs)
    assert done.added == 0
    assert len(done.conflicts) == 1
    (said,) = [x for x in adoption_lines(done, logs) if "not added" in x]
    assert said.startswith("  not added: fingers.csv:5: hangs.csv holds athlete arvo, ")
    assert "added_kg 15," in said
    assert "added_kg 17.5," in said
    assert bytes_of(logs)["hangs.csv"] == before["hangs.csv"]


def test_bad_cells_refuse_their_row_with_the_reason(tmp_path: Path) -> None:
    """What can't be read is refused, the rest is used, and the sum is that of the rows."""
    path, logs = answered(SPREADSHEETS[1], tmp_path)
    text = path.read_text().replace("8 Jan 2026", "8 Foo 2026").replace("4x6 7/3", "4 of 6")
    path.write_text(text)
    done = adopt([path], logs)
    outcome = done.outcome
    assert outcome.used == 2
    assert [place for place, _ in outcome.refused] == ["fingers.csv:3", "fingers.csv:5"]
    assert outcome.used + len(outcome.refused) + len(outcome.ignored) == outcome.rows_in == 4
    said = [x for x in adoption_lines(done, logs) if "refused:" in x]
    assert any(x.startswith("Refused rows come in once") for x in adoption_lines(done, logs))
    assert said[0] == (
        "  refused: fingers.csv:3: date = '8 Foo 2026': no day, or its order isn't known."
    )
    assert said[1] == (
        "  refused: fingers.csv:5: Scheme = '4 of 6': fits none of "
        "'{sets}x{reps} {hang_s}/{rest_s}'."
    )


def test_a_map_may_name_only_what_there_is(tmp_path: Path) -> None:
    """A slip in the map is told with its name."""
    (tmp_path / "map.toml").write_text('[[sheet]]\n[sheet.columns]\n"Datum" = "dat"\n')
    with pytest.raises(Exception, match=r"'dat' is no column of hangs\.csv"):
        read_map(tmp_path / "map.toml")


def test_another_row_of_a_known_day_is_added(tmp_path: Path) -> None:
    """A row added to a day that was taken before contradicts nothing, and twice the same is two."""
    path, logs = answered(SPREADSHEETS[1], tmp_path)
    adopt([path], logs)
    last = path.read_text().splitlines()[1]
    path.write_text(path.read_text() + last.replace("+12.5kg", "+10kg") + "\n" + last + "\n")
    done = adopt([path], logs)
    assert (done.added, done.conflicts) == (2, [])
    loads = load_logs(logs).hangs["added_kg"].tolist()
    assert loads == [12.5, 12.5, 0, 15, 10, 12.5]


@pytest.mark.parametrize(
    ("weights", "asked"), [(("20", "25"), True), (("5", "25"), False), (("+20", "25"), False)]
)
def test_a_column_called_weight_is_a_question(
    tmp_path: Path, weights: tuple[str, str], asked: bool
) -> None:
    """Unless a cell proves that it is weight added, the coach says which; then it is taken."""
    path, logs = tmp_path / "sheet.csv", tmp_path / "logs"
    rows = "".join(
        f"kim,2026-01-0{i},hang,half crimp,20,10,{w}\n" for i, w in enumerate(weights, 5)
    )
    path.write_text("Who,Date,Exercise,Grip,Edge,Seconds,Weight\n" + rows)
    first = adopt([path], logs)
    question = "[sheet.columns] 'Weight': weight added (added_kg) or body mass (body.body_mass_kg)?"
    assert any(question_text(q).startswith(question) for q in first.questions) is asked
    text = (logs / "map.toml").read_text()
    assert ('"Weight" = "?"' in text) is asked
    (logs / "map.toml").write_text(text.replace('"Weight" = "?"', '"Weight" = "body.body_mass_kg"'))
    assert adopt([path], logs).questions == ()
    read = load_logs(logs)
    if asked:
        assert read.body["body_mass_kg"].tolist() == [20, 25]
    else:
        assert read.hangs["added_kg"].tolist() == [float(w) for w in weights]


MESSY = """\
Finger log of two, invented;;;;;
;;;;;
Date;Who;Exercise;Grip / edge;Load;Sets x time
2026-01-06;Mia;max hangs;Half crimp 20mm;+5;5x10s
2026-01-06;Tom;max hangs;Half crimp 18mm;+20kg;5 x 10 s
9.1.;Mia;repeaters;half crimp 20 mm;-5;4x6 7/3
13.1.;Mia;max hangs;HC 20mm;+7,5;3x10 sec
Fr 16.1.;Tom;max hangs;HC 18mm;+7,5;3x10s
"""


def messy(tmp_path: Path, text: str = MESSY) -> tuple[Path, Path, str]:
    """A messy sheet, its log folder, and the map drafted of it."""
    path, logs = tmp_path / "messy.csv", tmp_path / "logs"
    path.write_text(text)
    adopt([path], logs)
    return path, logs, (logs / "map.toml").read_text()


def test_days_without_a_year_among_whole_ones(tmp_path: Path) -> None:
    """The year is asked once; 13.1. proves that the day comes first."""
    path, logs, text = messy(tmp_path)
    assert 'dates = "day-first"' in text
    assert [question_text(q) for q in read_map(logs / "map.toml").questions()] == [
        "year: which year are the days of that have none?"
    ]
    (logs / "map.toml").write_text(text.replace('year = "?"', "year = 2026"))
    done = adopt([path], logs)
    assert (done.outcome.refused, done.outcome.used) == ([], 5)
    read = load_logs(logs).hangs
    days = [f"{d:%m-%d}" for d in read["date"]]
    assert days == ["01-06", "01-06", "01-09", "01-13", "01-16"]


def test_sets_are_taken_apart_in_the_ways_that_they_are_written(tmp_path: Path) -> None:
    """`5 x 10 s`, `5x10s`, `3x10 sec` and `4x6 7/3` in one column, none of them in most cells."""
    path, logs, text = messy(tmp_path)
    (logs / "map.toml").write_text(text.replace('year = "?"', "year = 2026"))
    adopt([path], logs)
    read = load_logs(logs).hangs
    assert read["sets"].tolist() == [5, 5, 4, 3, 3]
    assert read["hang_s"].tolist() == [10, 10, 7, 10, 10]
    assert read["reps"].fillna(0).tolist() == [0, 0, 6, 0, 0]


def test_days_that_nothing_proves_are_asked_for(tmp_path: Path) -> None:
    """5.1. may be January or May: the order is a question, too."""
    text = MESSY.replace("13.1.", "5.1.").replace("Fr 16.1.", "6.1.")
    _, logs, drafted = messy(tmp_path, text)
    asked = [question_text(q) for q in read_map(logs / "map.toml").questions()]
    assert asked[0] == "dates: day-first or month-first?"
    assert 'dates = "?"' in drafted


def test_a_sheet_of_which_only_days_are_known_is_left_out(tmp_path: Path) -> None:
    """Its rows are ignored by a rule that is named, and no question is asked about it."""
    two = tmp_path / "weights.csv"
    two.write_text("Date,Mia,Tom\n2026-01-06,58.5,74\n")
    path, logs = tmp_path / "messy.csv", tmp_path / "logs"
    path.write_text(MESSY)
    done = adopt([path, two], logs)
    assert [q.about for q in done.questions] == ["year"]
    left = [x for x in adoption_lines(done, logs) if "weights.csv" in x]
    assert left == ["  ignored: weights.csv: no [[sheet]] of the map names this sheet"]
