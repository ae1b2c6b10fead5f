"""Nothing in a log folder acts on what it isn't about: columns, sub-folders, links, other rows."""

from __future__ import annotations

import os
import sys
import unicodedata
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from gripbook.errors import LogFolderError
from gripbook.logs import Logs, load_logs
from gripbook.logs.schema import FILES
from gripbook.reviews import review
from gripbook.words.lead import lead
from gripbook.words.problems import problem_line, reason_and_remedy
from tests.conftest import FILES as SMALL
from tests.unknown_columns import extra_names, one_athlete, with_columns, write


def same_frames(one: Logs, other: Logs) -> None:
    """Both folders give equal frames."""
    for name in FILES:
        pd.testing.assert_frame_equal(one.frame(name), other.frame(name))


@pytest.mark.parametrize("file", FILES)
def test_an_unknown_column_changes_no_frame(tmp_path: Path, file: str) -> None:
    """Every other file's column names, and fifty others, as more columns: kept apart and told."""
    lines = one_athlete()
    write(tmp_path, lines)
    plain = load_logs(tmp_path)
    assert plain.errors == ()
    names = extra_names(file)
    assert len(names) >= 70
    write(tmp_path, {file: with_columns(lines[file], names)})
    logs = load_logs(tmp_path)
    same_frames(plain, logs)
    told = [p.column for p in logs.problems if p.code == "unknown_column"]
    assert sorted(told) == sorted({n.lower() for n in names})
    assert len(logs.problems) == len(plain.problems) + len(told)
    assert list(logs.extra) == [file]
    assert list(logs.extra[file].columns) == [n.lower() for n in names]
    assert len(logs.extra[file]) == len(logs.frame(file)) == len(lines[file]) - 1


def test_reviews_stand_beside_every_unknown_column(tmp_path: Path) -> None:
    """All of them at once in every file, and the review is that of the plain logs."""
    lines = one_athlete()
    write(tmp_path / "plain", lines)
    write(tmp_path / "odd", {f: with_columns(r, extra_names(f)) for f, r in lines.items()})
    plain, odd = load_logs(tmp_path / "plain"), load_logs(tmp_path / "odd")
    same_frames(plain, odd)
    one, other = review(plain, "ada"), review(odd, "ada")
    pd.testing.assert_frame_equal(one.results, other.results)
    pd.testing.assert_frame_equal(one.sets, other.sets)
    assert lead(one) == lead(other)


def test_unknown_columns_are_cut_with_their_rows(tmp_path: Path) -> None:
    """An athlete's slice holds the unknown cells of that athlete's rows alone."""
    (tmp_path / "hangs.csv").write_text(SMALL["hangs.csv"])
    body = ["athlete,date,body_mass_kg,mood", "bo,2026-01-01,50,b", "ada,2026-01-01,60,a"]
    (tmp_path / "body.csv").write_text("\n".join(body))
    own = load_logs(tmp_path).for_athlete("ada")
    assert own.extra["body"]["mood"].tolist() == ["a"]


HANGS = "date,exercise,grip,hand,edge_mm,hang_s\n2026-01-05,hang,half_crimp,both,20,10\n"


def named(athlete: str) -> str:
    """A hangs.csv whose row names an athlete."""
    head, row = HANGS.splitlines()
    return f"athlete,{head}\n{athlete},{row}\n"


def test_rows_of_others_in_a_sub_folder_are_refused(tmp_path: Path) -> None:
    """mallory's folder un-hides nobody's body mass, and its errors stand on nobody's page."""
    (tmp_path / "hangs.csv").write_text(named("kim"))
    (tmp_path / "athletes.csv").write_text("athlete,born\nkim,2012\n")
    (tmp_path / "mallory").mkdir()
    (tmp_path / "mallory" / "hangs.csv").write_text(named("mallory"))
    rows = "athlete,born,show_body_mass\nkim,1980,yes\nmallory,1990,no\n"
    (tmp_path / "mallory" / "athletes.csv").write_text(rows)
    logs = load_logs(tmp_path)
    assert [problem_line(p) for p in logs.errors] == [
        "mallory/athletes.csv:2: error: athlete = 'kim': is another athlete: this sub-folder "
        "speaks for mallory alone. Move the row to that athlete's folder, or to the top "
        "of the log folder."
    ]
    assert logs.errors[0].athlete == ""
    assert not review(logs, "kim").athlete.show_body_mass
    assert review(logs, "kim").athlete.minor
    (report,) = (r for r in logs.reports if r.file == "mallory/athletes.csv")
    assert (report.rows_read, report.rows_used, report.rows_refused) == (2, 1, 1)


def test_an_accent_spelt_otherwise_is_the_same_athlete(tmp_path: Path) -> None:
    """Disks may write é as two characters; the folder's and the file's id are one all the same."""
    (tmp_path / unicodedata.normalize("NFD", "Zoé")).mkdir()
    sub = next(tmp_path.iterdir())
    (sub / "hangs.csv").write_text(named(unicodedata.normalize("NFC", "Zoé")), encoding="utf-8")
    (sub / "body.csv").write_text("date,body_mass_kg\n2026-01-05,60\n")
    logs = load_logs(tmp_path)
    assert logs.errors == ()
    assert logs.athlete_ids == (unicodedata.normalize("NFC", "Zoé"),)


PLAN = '[block]\nname = "{name}"\nstart = 2026-01-05\nweeks = 4\n{more}'


def test_a_block_in_a_sub_folder_plans_for_its_athlete_alone(tmp_path: Path) -> None:
    """No list of athletes and no table in it reaches anybody else; that it tried to is told."""
    for athlete in ("kim", "mallory"):
        (tmp_path / athlete).mkdir()
        (tmp_path / athlete / "hangs.csv").write_text(HANGS)
    more = 'athletes = ["mallory", "kim"]\n[athlete.kim]\nweeks = 9\n[athlete.mallory]\nweeks = 3\n'
    (tmp_path / "mallory" / "block.toml").write_text(PLAN.format(name="Mine", more=more))
    only = PLAN.format(name="Theirs", more='athletes = ["kim"]\n')
    (tmp_path / "mallory" / "block-2.toml").write_text(only)
    logs = load_logs(tmp_path)
    assert [(b.name, b.athletes, list(b.overrides)) for b in logs.blocks] == [
        ("Mine", ("mallory",), ["mallory"])
    ]
    assert not logs.block_for("kim").planned
    assert logs.block_for("mallory").weeks == 3
    assert [(p.code, p.file, p.value) for p in logs.errors] == [
        ("block_other_athlete", "mallory/block-2.toml", "kim"),
        ("block_other_athlete", "mallory/block.toml", "kim"),
    ]


def test_a_grip_of_a_sub_folder_is_its_athletes_alone(tmp_path: Path) -> None:
    """What mallory's block file declares makes nobody else's misspelt grip a word, wherever."""
    odd = HANGS.replace("half_crimp", "mono_drag")
    (tmp_path / "hangs.csv").write_text(
        named("kim").replace("half_crimp", "mono_drag")
        + named("mallory").replace("half_crimp", "mono_drag").splitlines()[1]
    )
    for athlete in ("kim", "mallory"):
        (tmp_path / athlete).mkdir()
        (tmp_path / athlete / "hangs.csv").write_text(odd)
    more = 'grips = ["mono_drag"]\n'
    (tmp_path / "mallory" / "block.toml").write_text(PLAN.format(name="Mine", more=more))
    logs = load_logs(tmp_path)
    assert [(p.code, p.file, p.line) for p in logs.errors] == [
        ("grip_of_another", "hangs.csv", 2),
        ("unknown_grip", "kim/hangs.csv", 2),
    ]
    assert logs.hangs["athlete"].tolist() == ["mallory", "mallory"]
    (tmp_path / "block.toml").write_text(PLAN.format(name="All", more=more))
    assert load_logs(tmp_path).errors == ()


PAIN = "date,site,side,level\n2026-01-05,ring,left,6\n"
links = pytest.mark.skipif(os.name == "nt", reason="links there need rights")


@links
@pytest.mark.parametrize("inside", [True, False])
def test_links_out_of_a_sub_folder_are_refused(tmp_path: Path, inside: bool) -> None:
    """kim's pain doesn't stand on mallory's page, nor a file from anywhere else; it is told."""
    logs_folder, elsewhere = tmp_path / "logs", tmp_path / "elsewhere"
    for folder in (logs_folder / "kim", logs_folder / "mallory", elsewhere):
        folder.mkdir(parents=True)
    (logs_folder / "kim" / "hangs.csv").write_text(HANGS)
    (logs_folder / "mallory" / "hangs.csv").write_text(HANGS)
    source = (logs_folder / "kim" if inside else elsewhere) / "pain.csv"
    source.write_text(PAIN)
    (logs_folder / "mallory" / "pain.csv").symlink_to(source)
    block = source.with_name("block.toml")
    block.write_text(PLAN.format(name="Kim's", more=""))
    (logs_folder / "mallory" / "block-x.toml").symlink_to(block)
    logs = load_logs(logs_folder)
    assert "mallory" not in logs.pain["athlete"].tolist()
    assert not logs.block_for("mallory").planned
    assert [problem_line(p) for p in logs.errors] == [
        f"mallory/{name}: error: is a link out of its folder, or to nothing, and was not read. "
        "Put a copy of the file there instead."
        for name in ("block-x.toml", "pain.csv")
    ]


@links
@pytest.mark.parametrize("target", ["kim", "../elsewhere", "nowhere"])
def test_a_linked_sub_folder_is_refused(tmp_path: Path, target: str) -> None:
    """A sub-folder that is a link would give its athlete what is another's."""
    root = tmp_path / "logs"
    for folder in (root / "kim", tmp_path / "elsewhere"):
        folder.mkdir(parents=True)
        (folder / "hangs.csv").write_text(HANGS)
    (root / "mallory").symlink_to(target, target_is_directory=True)
    logs = load_logs(root)
    assert logs.athlete_ids == ("kim",)
    assert [(p.code, p.file) for p in logs.errors] == (
        [("link", "mallory")] if target != "nowhere" else []
    )


@links
def test_links_at_the_top_stay_in_the_log_folder(tmp_path: Path) -> None:
    """One that leaves it, or leads nowhere, is refused; one within it, and to itself, is not."""
    root = tmp_path / "logs"
    (root / "kim").mkdir(parents=True)
    (root / "kim" / "real.txt").write_text(named("kim"))
    (root / "hangs.csv").symlink_to(root / "kim" / "real.txt")
    (tmp_path / "body.csv").write_text("athlete,date,body_mass_kg\nkim,2026-01-05,60\n")
    (root / "body.csv").symlink_to(tmp_path / "body.csv")
    (root / "pain.csv").symlink_to(root / "nothing")
    (root / "climbs.csv").symlink_to(root / "climbs.csv")
    logs = load_logs(root)
    assert logs.hangs["athlete"].tolist() == ["kim"]
    assert [(p.code, p.file) for p in logs.errors] == [
        ("link", "body.csv"),
        ("link", "climbs.csv"),
        ("link", "pain.csv"),
    ]
    linked = tmp_path / "linked"
    linked.symlink_to(root, target_is_directory=True)
    assert load_logs(linked).hangs["athlete"].tolist() == ["kim"]
    (root / "hangs.csv").unlink()
    (root / "hangs.csv").symlink_to(tmp_path / "hangs.csv")
    (tmp_path / "hangs.csv").write_text(named("kim"))
    with pytest.raises(LogFolderError, match=r"not read: body\.csv, climbs\.csv, hangs\.csv, pain"):
        load_logs(root)


def test_a_file_that_the_system_refuses_costs_itself(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No right to read one file is told; the others are read."""
    (tmp_path / "hangs.csv").write_text(named("kim"))
    (tmp_path / "pain.csv").write_text(PAIN)
    real = Path.open

    def opened(path: Path, *args: Any, **kwargs: Any) -> Any:
        if path.name == "pain.csv":
            raise PermissionError(13, "Permission denied")
        return real(path, *args, **kwargs)

    monkeypatch.setattr(Path, "open", opened)
    logs = load_logs(tmp_path)
    assert [(p.code, p.file, reason_and_remedy(p)[0]) for p in logs.errors] == [
        ("unreadable", "pain.csv", "can't be read: Permission denied.")
    ]
    assert len(logs.hangs) == 1


@pytest.mark.skipif(sys.platform != "linux", reason="other systems refuse such names")
def test_a_folder_whose_name_is_no_utf_8_costs_itself(tmp_path: Path) -> None:
    """It is refused by name and printable; the others are read."""
    for name in (b"kim", b"k\xffim"):
        folder = os.fsencode(tmp_path) + b"/" + name
        os.mkdir(folder)
        Path(os.fsdecode(folder), "hangs.csv").write_text(HANGS)
    Path(os.fsdecode(os.fsencode(tmp_path) + b"/kim/h\xff.csv")).write_text("x\n")
    logs = load_logs(tmp_path)
    assert logs.athlete_ids == ("kim",)
    assert [(p.code, p.file) for p in logs.problems if p.code != "body_mass_missing"] == [
        ("folder_name", "k\ufffdim"),
        ("unknown_file", "kim/h\ufffd.csv"),
    ]
    "".join(map(problem_line, logs.problems)).encode("utf-8")


def shown(tmp_path: Path, athletes: str) -> tuple[bool, list[tuple[str, int, str, str]]]:
    """Whether kim's body mass is shown, and what is told of athletes.csv."""
    (tmp_path / "hangs.csv").write_text(named("kim"))
    (tmp_path / "athletes.csv").write_text(athletes)
    logs = load_logs(tmp_path)
    told = [(p.code, p.line, p.column, p.value) for p in logs.warnings if p.file == "athletes.csv"]
    assert logs.athlete_ids == ("kim",)
    return review(logs, "kim").athlete.show_body_mass, told


HEAD = "athlete,born,show_body_mass\n"


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize(
    ("rows", "shows", "overruled"),
    [
        (("kim,1980,no", "kim,1980,yes"), False, [("show_body_mass", "yes")]),
        (("kim,1980,no", "kim,1980,"), False, []),
        (("kim,2012,", "kim,1980,"), False, [("born", "1980")]),
        (("kim,2012,", "kim,,"), False, []),
        (("kim,2012,", "kim,2012,yes"), False, [("show_body_mass", "yes")]),
        (("kim,1980,yes", "kim,1980,yes"), True, []),
        (("kim,1980,", "kim,1981,"), True, [("born", "1980")]),
    ],
)
def test_of_rows_that_disagree_the_more_private_holds(
    tmp_path: Path, rows: tuple[str, str], shows: bool, overruled: list[object], turned: bool
) -> None:
    """In whatever order they stand; the row that is overruled is told."""
    ordered = rows[::-1] if turned else rows
    found, told = shown(tmp_path, HEAD + "\n".join(ordered) + "\n")
    assert found is shows
    assert [(column, value) for code, _, column, value in told if code == "rows_disagree"] == (
        overruled
    )
    assert sum(code == "athlete_twice" for code, *_ in told) == 1


@pytest.mark.parametrize(
    "athletes",
    [
        HEAD + "kim,2010,nope\n",
        HEAD + "kim,20100,no\n",
        HEAD + "kim,1980,yes\nkim,x,no\n",
        "athlete,born,born\nkim,2012,2012\n",
        HEAD + '"kim,2012,\n',
    ],
)
def test_a_row_of_athletes_that_cannot_be_read_hides_body_mass(
    tmp_path: Path, athletes: str
) -> None:
    """It may have asked to hide it, or given a minor's year of birth."""
    found, told = shown(tmp_path, athletes)
    assert not found
    assert ("body_mass_hidden", 0, "", "") in told


def test_body_mass_is_hidden_for_nobody_else(tmp_path: Path) -> None:
    """Another athlete's unreadable row hides nothing of who has a row of one's own."""
    (tmp_path / "hangs.csv").write_text(named("kim") + named("lou").splitlines()[1])
    (tmp_path / "athletes.csv").write_text(HEAD + "kim,1980,\nlou,1990,nope\n")
    logs = load_logs(tmp_path)
    assert review(logs, "kim").athlete.show_body_mass
    assert not review(logs, "lou").athlete.show_body_mass
