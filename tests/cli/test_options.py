"""Options and keywords of one name, data as JSON, completion."""

from __future__ import annotations

import csv
import inspect
import io
import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from gripbook.cli import main
from gripbook.explore.start import explore
from gripbook.logs import load_logs
from gripbook.report.run import workers
from gripbook.report.run.batch import render_reports
from gripbook.reviews import propose_next
from gripbook.strength import RESULT_COLUMNS


def run(*words: str | Path) -> Result:
    """Run the command line in this process."""
    return CliRunner().invoke(main, [str(w) for w in words])


def options(command: str) -> dict[str, list[str]]:
    """The options of a command by the name of their values."""
    found = main.commands[command].params
    return {str(p.name): list(p.opts) for p in found if isinstance(p, click.Option)}


def test_options_of_report_are_keywords_of_render_reports() -> None:
    """Each keyword has its option and the other way round, but for what only one of them can do."""
    keywords = set(inspect.signature(render_reports).parameters)
    named = set(options("report"))
    assert named - keywords == {"scheduler", "pdf", "full", "paper", "anonymous", "key"}
    assert keywords - named == {"logs", "executor", "codes", "progress"}


@pytest.mark.parametrize("command", ["design", "explore", "next", "report", "results"])
def test_an_option_is_called_as_its_value(command: str) -> None:
    """`timeout_s` is `--timeout-s`; what may be repeated is one at a time: `--athlete`."""
    for name, flags in options(command).items():
        one = {"athletes": "athlete", "notebooks": "notebook"}.get(name, name)
        expected = {"as_json": "json"}.get(one, one).replace("_", "-")
        assert f"--{expected}" in flags, (command, name)


def test_options_of_next_and_explore_are_keywords() -> None:
    """The same names in Python."""
    assert {"week", "start"} <= set(inspect.signature(propose_next).parameters)
    assert {"week", "start"} <= set(options("next"))
    assert set(options("explore")) <= set(inspect.signature(explore).parameters)


def test_results_as_json(small_logs: Path) -> None:
    """`--json` holds the rows of the CSV: numbers as numbers, what isn't known as null."""
    rows = json.loads(run("results", small_logs, "--json").stdout)
    written = list(csv.DictReader(io.StringIO(run("results", small_logs).stdout)))
    assert len(rows) == len(written) > 3
    for row, text in zip(rows, written, strict=True):
        assert list(row) == list(RESULT_COLUMNS)
        for name, value in row.items():
            if isinstance(value, int | float):
                assert value == float(text[name])
            else:
                assert (value or "") == text[name]
    assert {type(r["sets"]) for r in rows} == {int}
    assert None in {r["start_ratio"] for r in rows}


def test_words_in_json_are_the_log_s(small_logs: Path) -> None:
    """A spreadsheet's guard against formulas is none of JSON's."""
    block = small_logs / "block.toml"
    block.write_text(block.read_text().replace("Small block", "=Small"))
    assert {r["block"] for r in json.loads(run("results", small_logs, "--json").stdout)} == {
        "=Small"
    }
    assert "'=Small" in run("results", small_logs).stdout


def test_diagnostics_as_json(small_logs: Path) -> None:
    """Also of the counts."""
    rows = json.loads(run("results", small_logs, "--diagnostics", "--json").stdout)
    written = list(csv.DictReader(io.StringIO(run("results", small_logs, "--diagnostics").stdout)))
    assert [r["sets"] for r in rows] == [int(w["sets"]) for w in written]


@pytest.mark.parametrize(
    ("words", "offered"), [("gripbook rep", "report"), ("gripbook report --time", "--timeout-s")]
)
def test_completion(words: str, offered: str) -> None:
    """The shell's completion knows commands and options."""
    given = {
        "_GRIPBOOK_COMPLETE": "zsh_complete",
        "COMP_WORDS": words,
        "COMP_CWORD": str(len(words.split()) - 1),
    }
    done = CliRunner().invoke(main, [], env=given, prog_name="gripbook")
    assert offered in done.stdout.splitlines()


def test_completion_has_a_script() -> None:
    """The line of the README gives the shell something to run."""
    env = {"_GRIPBOOK_COMPLETE": "zsh_source"}
    done = CliRunner().invoke(main, [], env=env, prog_name="gripbook")
    assert "compdef _gripbook_completion gripbook" in done.stdout


class FakeServer:
    """Stands for the warm process: each start costs seconds."""

    alive, worked = True, False

    def __init__(self, memory_mb: int | None, rehearsed: bool) -> None:
        self.made_with = memory_mb, rehearsed
        self.ended = 0

    def kill(self) -> None:
        """Count."""
        self.ended += 1


@pytest.mark.skipif(not workers.CAN_FORK, reason="no fork")
def test_a_server_started_early_is_taken_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first workers alike take it, others start their own; nobody's is ended."""
    monkeypatch.setattr(workers, "_Server", FakeServer)
    with workers.started_early(512):
        (early,) = workers._early.values()
        with workers.Workers(1, memory_mb=256) as other, workers.Workers(1, memory_mb=512) as one:
            assert other._server is not early
            assert one._server is early
            with workers.Workers(1, memory_mb=512) as next_one:
                assert next_one._server is not early
        assert early.made_with == (512, False)
        assert early.ended == 1  # by those that took it
    assert early.ended == 1
    with workers.started_early(512):
        (unused,) = workers._early.values()
    assert unused.ended == 1
    assert workers._early == {}


@pytest.mark.parametrize(
    ("athletes", "early"), [(0, []), (1, [300]), (3, [300]), (4, [])], ids=["all", "1", "3", "4"]
)
def test_few_pages_start_the_server_before_the_logs_are_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, athletes: int, early: list[int]
) -> None:
    """Up to three athletes asked for; more pages are worth a rehearsal, which comes later."""
    begun: list[int | None] = []

    @contextmanager
    def started(memory_mb: int | None) -> Iterator[None]:
        begun.append(memory_mb)
        yield

    monkeypatch.setattr(workers, "started_early", started)
    asked = [word for n in range(athletes) for word in ("--athlete", f"a{n}")]
    done = run("report", tmp_path / "none", "--memory-mb", "300", *asked)
    assert done.exit_code == 1
    assert begun == early


def test_json_has_no_row_where_there_is_none(tmp_path: Path) -> None:
    """A folder of headers alone gives an empty list."""
    (tmp_path / "hangs.csv").write_text("athlete,date,exercise,grip,hand,edge_mm,hang_s\n")
    assert load_logs(tmp_path).athlete_ids == ()
    assert json.loads(run("results", tmp_path, "--json").stdout) == []
