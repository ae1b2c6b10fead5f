"""The command line as a user meets it."""

from __future__ import annotations

import csv
import io
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from gripbook.cli import main
from gripbook.logs import load_logs
from gripbook.report.results import DIAGNOSTICS_COLUMNS
from gripbook.reviews import block_diagnostics
from gripbook.strength import RESULT_COLUMNS


def run(*words: str | Path) -> Result:
    """Run the command line in this process."""
    return CliRunner().invoke(main, [str(w) for w in words])


@pytest.mark.parametrize("command", ["new", "check", "report", "results", "next", "demo"])
def test_every_help_has_an_example(command: str) -> None:
    """`-h` of each command says what it does and shows an example that names it."""
    result = run(command, "-h")
    assert result.exit_code == 0
    assert "Examples:" in result.stdout
    assert f"gripbook {command}" in result.stdout


def test_help_imports_no_heavy_library() -> None:
    """`gripbook --help` answers without loading pandas, altair or papermill."""
    code = (
        "import sys; from click.testing import CliRunner; from gripbook.cli import main; "
        "r = CliRunner().invoke(main, ['--help']); assert r.exit_code == 0; "
        "print(sorted({'pandas', 'altair', 'papermill', 'nbconvert'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_new_makes_a_folder_that_checks_clean(tmp_path: Path) -> None:
    """A new folder holds all files and a block that reads without a problem."""
    folder = tmp_path / "winter"
    made = run("new", folder)
    assert made.exit_code == 0
    assert set(made.stdout.split()) == {str(p) for p in folder.iterdir()}
    checked = run("check", folder)
    assert checked.exit_code == 0
    assert checked.stdout == ""
    block = load_logs(folder).blocks[0]
    assert block.test_weeks == (1, block.weeks)
    assert block.phases[0].exercise == "hang"
    assert block.phases[0].weeks == 2
    assert block.limits.fingers_per_week == 2
    assert not any(p.exercise == "pull" for p in block.phases)


def test_new_touches_no_existing_file(tmp_path: Path) -> None:
    """A folder that holds one of the files is left as it is, with exit status 1."""
    (tmp_path / "hangs.csv").write_text("mine")
    result = run("new", tmp_path)
    assert result.exit_code == 1
    assert "already holds hangs.csv. Nothing was written." in result.stderr
    assert [p.name for p in tmp_path.iterdir()] == ["hangs.csv"]


def test_check_is_silent_on_good_logs(small_logs: Path) -> None:
    """Good logs exit 0, the counts go to standard error."""
    result = run("check", small_logs)
    assert result.exit_code == 0, result.output
    assert "hangs.csv: 14 rows read, 14 used, 0 refused" in result.stderr


def test_check_lists_a_refused_row(small_logs: Path) -> None:
    """A bad cell is told with file, line, column, value, reason and remedy; exit status 1."""
    with (small_logs / "hangs.csv").open("a") as file:
        file.write("ada,2026-01-24,1,hang,,,half_crimp,both,20,5,,ten,,,,,,,\n")
    result = run("check", small_logs)
    assert result.exit_code == 1
    expected = (
        "hangs.csv:16: error: hang_s = 'ten': isn't a number. "
        "Write a number, or leave the cell empty.\n"
    )
    assert expected in result.stdout


def test_missing_folder_is_our_error(tmp_path: Path) -> None:
    """A folder that does not exist exits 1 and says what to do; no traceback."""
    result = run("check", tmp_path / "nowhere")
    assert result.exit_code == 1
    assert result.stderr.startswith("Error: ")
    assert "does not exist" in result.stderr
    assert "gripbook new" in result.stderr


def test_wrong_usage_exits_2(small_logs: Path) -> None:
    """An unknown option is a usage error."""
    assert run("check", small_logs, "--colour").exit_code == 2
    assert run("report", small_logs, "--workers", "0").exit_code == 2


def test_results_have_the_contract_columns(small_logs: Path) -> None:
    """results prints CSV with the contract's columns, a row per capacity, grip and hand."""
    result = run("results", small_logs)
    assert result.exit_code == 0
    rows = list(csv.DictReader(io.StringIO(result.stdout)))
    assert list(rows[0]) == list(RESULT_COLUMNS)
    keys = [(r["athlete"], r["block"], r["capacity"], r["grip"], r["hand"]) for r in rows]
    assert len(set(keys)) == len(keys)
    assert ("ada", "Small block", "hang", "half_crimp", "both") in keys
    assert ("ada", "Small block", "pull", "half_crimp", "left") in keys


def test_results_hide_the_ratio_where_asked(small_logs: Path) -> None:
    """The ratio columns are empty for a minor and for whoever hides body mass."""
    rows = list(csv.DictReader(io.StringIO(run("results", small_logs).stdout)))
    for row in rows:
        if row["athlete"] in ("bo", "cy"):
            ratios = ("start_ratio", "end_ratio", "ratio_force_pct", "ratio_mass_pct")
            assert [row[c] for c in ratios] == ["", "", "", ""]


def test_results_out_writes_the_same(small_logs: Path, tmp_path: Path) -> None:
    """--out writes the bytes that are printed without it."""
    printed = run("results", small_logs).stdout
    target = tmp_path / "r.csv"
    assert run("results", small_logs, "--out", target).exit_code == 0
    assert target.read_text(encoding="utf-8") == printed


def test_diagnostics_count_each_foretold_set() -> None:
    """
    results --diagnostics: a row a class of chance, as `diagnose` counts it; all together in words.
    """
    demo = Path(__file__).parents[2] / "data_demo"
    result = run("results", demo, "--diagnostics", "--block", "Youth winter")
    assert result.exit_code == 0
    rows = list(csv.DictReader(io.StringIO(result.stdout)))
    assert list(rows[0]) == DIAGNOSTICS_COLUMNS
    logs = load_logs(demo)
    found = block_diagnostics(logs, "dova", "Youth winter")
    assert found is not None
    mine = [r for r in rows if r["athlete"] == "dova"]
    assert [int(r["sets"]) for r in mine] == found.classes["sets"].tolist()
    assert [int(r["done"]) for r in mine] == found.classes["done"].tolist()
    expected = sum(float(r["expected_done"]) for r in mine)
    assert expected == pytest.approx(
        (found.chances["chance"] * found.chances["sets"]).sum(), abs=0.05 * len(mine)
    )
    top = [r for r in rows if r["chance_from"] == "0.8"]
    sets, done = (sum(int(r[c]) for r in top) for c in ("sets", "done"))
    said = re.search(
        rf"Chance of 80 to 100 %: {sets} sets, (\d+) expected to be completed, {done} were.",
        result.stderr,
    )
    assert said is not None
    assert float(said[1]) == pytest.approx(sum(float(r["expected_done"]) for r in top), abs=1.0)


def test_diagnostics_are_no_spreadsheet(small_logs: Path, tmp_path: Path) -> None:
    """--diagnostics with --xlsx is refused with what to do."""
    result = run("results", small_logs, "--diagnostics", "--xlsx", tmp_path / "r.xlsx")
    assert result.exit_code == 2
    assert "give --diagnostics with --out or alone" in result.stderr
    assert not (tmp_path / "r.xlsx").exists()


def test_athletes_do_not_move_each_other(small_logs: Path) -> None:
    """An athlete's results are the same when another athlete's rows are taken away."""
    before = [x for x in run("results", small_logs).stdout.splitlines() if x.startswith("ada")]
    for name in ("hangs.csv", "body.csv", "sessions.csv", "pain.csv", "athletes.csv"):
        path = small_logs / name
        lines = path.read_text().splitlines(keepends=True)
        path.write_text("".join(x for x in lines if not x.startswith(("bo,", "cy,"))))
    after = [x for x in run("results", small_logs).stdout.splitlines() if x.startswith("ada")]
    assert before
    assert after == before


def test_unknown_athlete_is_named(small_logs: Path, tmp_path: Path) -> None:
    """report --athlete with a wrong id exits 1 and lists the ids there are."""
    result = run("report", small_logs, "--out", tmp_path / "o", "--athlete", "zed")
    assert result.exit_code == 1
    assert "No row for athlete 'zed'" in result.stderr
    assert "ada, bo, cy" in result.stderr


def test_unknown_block_is_named(small_logs: Path, tmp_path: Path) -> None:
    """report --block with a wrong name exits 1 and lists the blocks there are."""
    result = run("report", small_logs, "--out", tmp_path / "o", "--block", "Summer")
    assert result.exit_code == 1
    assert "No block named 'Summer'" in result.stderr
    assert "Small block" in result.stderr


def test_empty_logs_are_told(tmp_path: Path) -> None:
    """A new, unfilled folder has nothing to report: exit 1 in plain words."""
    run("new", tmp_path / "n")
    result = run("report", tmp_path / "n", "--out", tmp_path / "o")
    assert result.exit_code == 1
    assert "nothing to report" in result.stderr


@pytest.mark.usefixtures("one_server")
def test_report_writes_what_the_contract_names(small_logs: Path, tmp_path: Path) -> None:
    """Pages, index, results and manifest are written; standard output names the squad page."""
    out = tmp_path / "pages"
    result = run("report", small_logs, "--out", out, "--workers", "2")
    assert result.exit_code == 0, result.output
    found = {p.name for p in out.iterdir()}
    records = {"run.json", ".run.inputs"}
    assert found == {"ada.html", "bo.html", "cy.html", "index.html", "results.csv", *records}
    assert result.stdout.strip() == str(out / "index.html")
    manifest = json.loads((out / "run.json").read_text())
    assert {p["status"] for p in manifest["pages"]} == {"rendered"}
    # without weigh-ins and readings of a scale: a short file could be guessed until its hash fits
    assert set(manifest["inputs"]) == {
        "sessions.csv",
        "pain.csv",
        "athletes.csv",
        "block.toml",
    }
    assert manifest["rows"] == {"read": 33, "used": 33, "refused": 0}
    assert str(tmp_path) not in (out / "run.json").read_text()


@pytest.mark.usefixtures("one_server")
def test_refused_rows_do_not_fail_the_report(small_logs: Path, tmp_path: Path) -> None:
    """Bad rows are told and listed on their athlete's page; the good rows give the page."""
    with (small_logs / "hangs.csv").open("a") as file:
        file.write("ada,04.01.2026,1,hang,,,half_crimp,both,20,5,,10,,,,,,,\n")
        file.write('ada,2026-01-24,1,hang,,,"<u>crimp</u>",both,20,5,,10,,,,,,,\n')
    out = tmp_path / "pages"
    result = run("report", small_logs, "--out", out, "--athlete", "ada")
    assert result.exit_code == 0, result.output
    assert "2 of 35 rows could not be used" in result.stderr
    text = (out / "ada.html").read_text(encoding="utf-8")
    assert "hangs.csv:16" in text
    assert "hangs.csv:17" in text
    assert "&lt;u&gt;crimp&lt;/u&gt;" in text
    assert "<u>" not in text
