"""Squads that hide body mass, their pages, and pages made to leak."""

from __future__ import annotations

import csv
from collections.abc import Callable
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import pandas as pd

from gripbook.charts.paths import draw_paths
from gripbook.derive import derive_sets
from gripbook.logs import Block, load_logs
from gripbook.report.pictures import figure
from gripbook.report.run.batch import render_reports
from gripbook.report.run.work import Job, Made, make_page
from gripbook.reviews import review
from gripbook.simulate import simulate_squad


def show(folder: Path, answer: str) -> None:
    """Every athlete of the folder shows body mass, "yes" or "no"."""
    path = folder / "athletes.csv"
    rows = list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, rows[0].keys())
        writer.writeheader()
        writer.writerows({**row, "show_body_mass": answer} for row in rows)


def hidden_squad(folder: Path, athletes: int, seed: int) -> Path:
    """Logs and pages of a simulated squad that hides body mass, in `logs` and `out`."""
    simulate_squad(folder / "logs", athletes, seed=seed)
    show(folder / "logs", "no")
    render(folder / "logs", folder / "out")
    return folder


def render(
    folder: Path, out: Path, athletes: tuple[str, ...] = (), executor: Executor | None = None
) -> Path:
    """Pages of a log folder."""
    run = render_reports(load_logs(folder), out, athletes=athletes, workers=1, executor=executor)
    assert run.failed == []
    return out


class Forked(Executor):
    """Makes pages in a fork of this process, so that what is patched here is patched there."""

    def __init__(self) -> None:
        self._pool = ProcessPoolExecutor(1, mp_context=get_context("fork"))

    def submit(  # type: ignore[override]
        self, fn: Callable[..., Any], job: Job, *_: Any
    ) -> Future[Made]:
        """Make the page, without the process of its own that it would get elsewhere."""
        return self._pool.submit(make_page, job)

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """End the fork."""
        self._pool.shutdown(wait, cancel_futures=cancel_futures)


def true_mass_kg(folder: Path, athlete: str) -> float:
    """Mean of the weigh-ins."""
    body = load_logs(folder).for_athlete(athlete).body
    return float(body["body_mass_kg"].mean())


def known_sets(folder: Path, athlete: str) -> tuple[pd.DataFrame, Block]:
    """An athlete's derived sets and plan, for an attacker who knows the log but body mass."""
    logs = load_logs(folder).for_athlete(athlete)
    block = logs.block_for(athlete)
    return derive_sets(logs.hangs, logs.body, block), block


def strength_pictures(folder: Path, athlete: str, *, values: bool) -> str:
    """
    Markup of the strength charts as they are where body mass is shown: a load for each set.

    Parameters
    ----------
    folder : logs of athletes who show body mass.
    values : the marks say their values; else only their places tell.
    """
    r = review(load_logs(folder), athlete)
    return "".join(
        figure(picture, values=values).html
        for picture in draw_paths(r.change, r.block, r.last.date())
    )


def plant(page: Path, markup: str) -> None:
    """Put markup at the end of a page."""
    text = page.read_text(encoding="utf-8")
    page.write_text(text.replace("</main>", f"{markup}</main>", 1), encoding="utf-8")


def shift(folder: Path, out: Path, kg: float) -> None:
    """The same logs of athletes heavier by `kg` who did the same: only scales read more."""
    out.mkdir()
    for path in folder.iterdir():
        if not path.is_file():
            continue
        data = path.read_bytes()
        if path.name in ("body.csv", "hangs.csv"):
            frame = pd.read_csv(path, dtype=str, keep_default_na=False)
            for column in {"body_mass_kg", "scale_kg", "stand_kg"} & set(frame.columns):
                frame[column] = [f"{float(x) + kg:g}" if x else "" for x in frame[column]]
            data = frame.to_csv(index=False, lineterminator="\n").encode()
        (out / path.name).write_bytes(data)
