"""A week tapped on the phone and added gives the results of the same rows typed by hand."""

from __future__ import annotations

import csv
import json
import random
import shutil
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from gripbook.cli import main
from gripbook.logs import load_logs
from gripbook.report.results import results_csv, results_table
from tests.browser.conftest import Open

pytestmark = pytest.mark.browser

#: The phone's clock, which the test sets to the evening of each session.
CLOCK = """
const Now = Date;
Date = class extends Now {
  constructor(...given) { if (given.length) super(...given); else super(globalThis.evening || 0); }
};
"""
PHONE = {"width": 390, "height": 800, "has_touch": True, "is_mobile": True, "before": CLOCK}


def run(*words: object) -> str:
    """Run the command line; its standard output."""
    done = CliRunner().invoke(main, [str(w) for w in words], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.stdout


def log_until(demo: Path, day: str, folder: Path) -> None:
    """One athlete's part of the demo squad's logs, before a day."""
    folder.mkdir()
    shutil.copy(demo / "block-loft.toml", folder)
    for name in ("hangs", "body", "sessions", "pain", "athletes"):
        with (demo / f"{name}.csv").open(newline="") as source:
            header, *rows = csv.reader(source)
        at = header.index("date") if "date" in header else None
        rows = [r for r in rows if r[0] == "arvo" and (at is None or r[at] < day)]
        with (folder / f"{name}.csv").open("w", newline="") as out:
            csv.writer(out).writerows([header, *rows])


def typed(folder: Path, name: str, row: dict[str, object]) -> None:
    """Type a row at the end of a log's file, under its header."""
    path = folder / f"{name}.csv"
    header = next(csv.reader(path.read_text().splitlines()))
    assert set(row) <= set(header)
    with path.open("a", newline="") as out:
        csv.DictWriter(out, header, restval="").writerow(row)


def tap(page: Any, name: str) -> None:
    """Tap the last button of this name, past the time in which a bounce is dropped."""
    page.wait_for_timeout(510)
    page.get_by_role("button", name=name, exact=True).last.tap()


def do_set(page: Any, planned: dict[str, Any], chance: random.Random) -> dict[str, object]:
    """One set of the simulated athlete on the phone; what differs from the plan comes back."""
    draw = chance.random()
    if draw < 0.5:
        tap(page, "Done as planned")
        return {}
    if draw < 0.75:
        left = chance.randint(0, 4)
        tap(page, str(left))
        return {"reserve_reps" if planned["reps"] else "reserve_s": left}
    added, holds, at = planned["added_kg"] + 2.5, chance.randint(1, 5), chance.randint(1, 6)
    tap(page, "Something was different")
    tap(page, "+2.5")
    if draw < 0.85:
        tap(page, "Held to the end")
        tap(page, "Write it")
        return {"added_kg": added}
    tap(page, "Fingers opened" if draw < 0.95 else "Slipped")
    if planned["reps"]:
        tap(page, str(holds))
    page.get_by_label("At how many seconds?").fill(str(at))
    tap(page, "Write it")
    done = {"reps_done": holds} if planned["reps"] else {}
    return {"added_kg": added, "failed_s": at, "stopped": "" if draw < 0.95 else "slip"} | done


# the block's third week holds repeaters, its second timed hangs
@pytest.mark.parametrize(("day", "seed"), [("2026-01-12", 1), ("2026-01-18", 2)])
def test_a_week_on_the_phone_is_the_week_typed(
    open_page: Open, tmp_path: Path, demo_logs_folder: Path, day: str, seed: int
) -> None:
    """Planned by the sheet, tapped, exported, added: the same results.csv, and a changed one."""
    chance = random.Random(seed)
    tapped, hand = tmp_path / "tapped", tmp_path / "typed"
    log_until(demo_logs_folder, day, tapped)
    shutil.copytree(tapped, hand)
    before = results_csv(results_table(load_logs(hand))[0])
    week = json.loads(run("next", tapped, "--athlete", "arvo", "--week", "--json"))
    sheet = tmp_path / "kim.html"
    run("sheet", tapped, "--athlete", "arvo", "--phone", "--out", sheet)
    with open_page(sheet, wait=False, **PHONE) as page:
        sessions = sorted({row["session"] for row in week})
        for session in sessions:
            rows = [row for row in week if row["session"] == session]
            date = rows[0]["day"]
            page.evaluate(f"evening = '{date}T19:00:00'")
            if len(sessions) > 1:
                tap(page, "AB"[session - 1])
            for planned in rows:
                for _ in range(planned["sets"]):
                    differs = do_set(page, planned, chance)
                    usual = ("exercise", "grip", "hand", "edge_mm", "added_kg", "reps", "hang_s")
                    row = {"athlete": "arvo", "date": date, "board": "loft"}
                    row |= {k: planned[k] for k in usual if planned[k] is not None}
                    row |= {"rest_s": 3} if planned["reps"] else {}
                    typed(hand, "hangs", row | differs)
            tap(page, "No, nothing hurt")
            tap(page, "45")
            page.get_by_label("Body mass (kg)").fill(f"71.{session}")
            usual = {"athlete": "arvo", "date": date}
            typed(hand, "sessions", usual | {"kind": "fingers", "minutes": 45})
            typed(hand, "pain", usual | {"when": "during", "level": 0})
            typed(hand, "body", usual | {"body_mass_kg": f"71.{session}"})
        with page.expect_download() as download:
            page.locator("#share").tap()
        rows_file = tmp_path / "rows.csv"
        shutil.copy(download.value.path(), rows_file)
    run("add", tapped, rows_file)
    first, second = load_logs(tapped), load_logs(hand)
    assert first.errors == second.errors == ()
    assert len(first.hangs) == len(second.hangs)
    given = results_csv(results_table(first)[0])
    assert given == results_csv(results_table(second)[0])
    assert given != before
    run("add", tapped, rows_file)  # handed over twice it stands once
    assert len(load_logs(tapped).hangs) == len(second.hangs)
