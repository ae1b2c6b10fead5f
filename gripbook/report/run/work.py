"""
The job a batch hands out: one page, from its athlete's rows to HTML.

`make_page` is a plain function of a picklable `Job`, so any `concurrent.futures.Executor` can run
it. It writes no file: the page comes back and the owner of the batch puts it in its place.
"""

from __future__ import annotations

import contextlib
import copy
import gc
import os
import tempfile
import threading
from collections.abc import Mapping
from concurrent.futures import Future
from dataclasses import dataclass, field
from importlib import import_module
from pathlib import Path
from typing import Any

import nbformat
from nbformat import NotebookNode

from gripbook import words
from gripbook.errors import GripbookError
from gripbook.logs import Logs
from gripbook.report import notebook_view, render
from gripbook.report.notebook_view import Ready
from gripbook.report.results import results_csv
from gripbook.report.run import worker
from gripbook.report.run.engine import NotebookFailedError, execute, parameter_names
from gripbook.report.run.plain import from_plain, to_plain
from gripbook.report.run.workers import WorkerEndedError, Workers
from gripbook.reviews import BlockReview, SquadReview, block_results, review
from gripbook.reviews.squad import SquadRow, failed_row, squad_row


@dataclass(frozen=True, slots=True, eq=False)
class Job:
    """
    One page to make.

    `logs` is the athlete's slice, None for the squad's page, whose rows are `squad`. `parameters`
    are the notebook's. `noise`: noise scales fitted to the whole squad, None where each athlete
    stands alone.
    """

    page: str
    notebook: NotebookNode
    parameters: Mapping[str, Any]
    engine: str
    athlete: str = ""
    logs: Logs | None = None
    squad: SquadReview | None = None
    noise: Any = None


@dataclass(frozen=True, slots=True)
class Facts:
    """
    What a review says beyond its page.

    Rows of results.csv as text without a header, the athlete's row of the squad page, and why there
    are no results ("" = there are). `private`: body mass is hidden in one of the blocks, and the
    results lead to it.
    """

    results: str
    row: SquadRow
    failed: str = ""
    private: bool = False


@dataclass(frozen=True, slots=True)
class Made:
    """
    What became of a job.

    `html`, or why it `failed`, with the half-run notebook and the code of the cell it stopped in
    ("" where there are none). `facts` is None for the squad's page, and where not even they could
    be had.
    """

    html: str = ""
    failed: str = ""
    half_run: str = ""
    cell: str = ""
    facts: Facts | None = None


@dataclass(frozen=True, slots=True)
class CellNote:
    """How far a cell has come, told to whoever watches: `state` holds its outputs and count."""

    cell_id: str
    state: dict[str, Any] = field(default_factory=dict)


#: New objects between two looks for unreachable ones: a page makes many, and few in circles.
_RARELY = 50_000


def make_page(job: Job) -> Made:
    """
    Review, run the notebook, convert it.

    Nothing is raised for what goes wrong in a review or a notebook; it's told in the result.
    """
    with words.in_language(job.parameters.get("lang", words.LANGUAGES[0])):
        return _make_page(job)


def _make_page(job: Job) -> Made:
    facts: Facts | None = None
    review_here: BlockReview | None = None
    if job.logs is not None:
        facts, review_here = gather_facts(job.logs, job.athlete, job.parameters["block"], job.noise)
        worker.note(facts)
    # with a kernel the notebook reads the logs itself, as it does in anybody's hands
    ready = Ready({**job.parameters}, review_here or job.squad)
    from gripbook.report.run.shell_engine import watcher

    watching = watcher.set(_tell)
    often = gc.get_threshold()
    gc.set_threshold(_RARELY, *often[1:])
    try:
        with notebook_view.given(ready if ready.review else None):
            known = parameter_names(job.notebook)  # a user's own need not take all of them
            taken = {name: v for name, v in job.parameters.items() if name in known}
            done = execute(job.notebook, taken, engine=job.engine)
        from gripbook.report.page import to_page

        return Made(html=to_page(done, lang=words.language()), facts=facts)
    except NotebookFailedError as error:
        half = nbformat.writes(error.notebook)
        return Made(failed=_words(error), half_run=half, cell=error.source, facts=facts)
    except Exception as error:  # whatever one page dies of, the others are made
        return Made(failed=_words(error), facts=facts)
    finally:
        gc.set_threshold(*often)
        watcher.reset(watching)


def gather_facts(
    logs: Logs, athlete: str, block: str, noise: Any = None
) -> tuple[Facts, BlockReview | None]:
    """
    The athlete's facts, and the review of the block that the page shows (None where it failed).

    Each block is reviewed once: the page's review also gives its results and its squad row.
    """
    shown: BlockReview | None = None
    rows: list[str] = []
    failed, private = "", False
    try:
        chosen = logs.block_for(athlete, block).name
    except Exception as error:
        return Facts("", failed_row(athlete, str(error)), _words(error)), None
    row = failed_row(athlete, "")
    for name in logs.block_names(athlete, block):
        try:
            reviewed = _review(logs, athlete, name, noise)
            text = results_csv(reviewed.results)
            rows.append(text.partition("\n")[2])
            private |= not reviewed.athlete.show_body_mass
            if reviewed.block.name == chosen:
                shown = reviewed
                row = squad_row(reviewed)
        except Exception as error:  # one athlete's odd log must not cost the others theirs
            failed = _words(error)
            if (name or chosen) == chosen:
                row = failed_row(
                    athlete, str(error) if isinstance(error, GripbookError) else failed
                )
    # as it comes back from a record, so that a page that stands and one just made hash alike
    row = from_plain(SquadRow, to_plain(row))
    return Facts("".join(rows), row, failed, private), shown


def results_again(logs: Logs, athlete: str, block: str, noise: Any = None) -> str:
    """The athlete's rows of results.csv, as in `gather_facts`, without the rest."""
    rows = []
    for name in logs.block_names(athlete, block):
        with contextlib.suppress(Exception):  # a block that failed then fails again
            rows.append(results_csv(block_results(logs, athlete, name, noise)).partition("\n")[2])
    return "".join(rows)


def _review(logs: Logs, athlete: str, block: str, noise: Any) -> BlockReview:
    return review(logs, athlete, block, noise)


def _words(error: Exception) -> str:
    return f"{type(error).__name__}: {error}"


def _tell(index: int, cell: NotebookNode) -> None:
    if index == 0:  # the shell is there now: for notebooks that open no review
        render.enable()
    state = {k: cell[k] for k in ("outputs", "execution_count") if cell.get(k)}
    worker.note(CellNote(cell.id, state))


def ended_early(job: Job, reason: str, notes: list[Any]) -> Made:
    """What is left of a job whose process ended: its facts, the cells so far, the one it was in."""
    facts = next((n for n in notes if isinstance(n, Facts)), None)
    cells = {n.cell_id: n.state for n in notes if isinstance(n, CellNote)}
    if not cells:
        return Made(failed=reason, facts=facts)
    half = copy.deepcopy(job.notebook)
    for cell in half.cells:
        cell.update(cells.get(cell.id, {}))
    last = [n.cell_id for n in notes if isinstance(n, CellNote)][-1]
    at = next((i for i, cell in enumerate(half.cells) if cell.id == last), None)
    if at is None:  # in the cell of parameters, which papermill puts in
        return Made(failed=reason, half_run=nbformat.writes(half), facts=facts)
    return Made(
        failed=f"notebook cell {at + 1}: {reason}",
        half_run=nbformat.writes(half),
        cell=half.cells[at].source,
        facts=facts,
    )


def isolated_page(job: Job, timeout_s: float | None, memory_mb: int | None) -> Made:
    """`make_page` in a process of its own, for executors whose workers must outlive a bad page."""
    with _lock:
        if (timeout_s, memory_mb) not in _pools:
            count = os.cpu_count() or 1
            pool = Workers(count, timeout_s=timeout_s, memory_mb=memory_mb)
            _pools[timeout_s, memory_mb] = pool
    return page_of(_pools[timeout_s, memory_mb].submit(make_page, job), job)


_lock = threading.Lock()
_pools: dict[tuple[float | None, int | None], Workers] = {}


def page_of(future: Future[Made], job: Job) -> Made:
    """What became of a job that was handed to `Workers`."""
    try:
        return future.result()
    except WorkerEndedError as error:
        return ended_early(job, error.reason, error.notes)
    except GripbookError:  # no worker can be started: that is no fault of this page
        raise
    except Exception as error:  # an executor of somebody else's gave the page up
        return Made(failed=_words(error))


def warm_up(rehearsed: bool) -> None:
    """Import what jobs need; for many jobs also make a page, so that forks find it all done."""
    from gripbook.report import page
    from gripbook.report.bundle import load_bundle
    from gripbook.report.run.engine import load_papermill

    load_papermill()
    load_bundle()
    page.load_exporter()
    import_module("gripbook.report.sections")
    if rehearsed:
        rehearse()
    # what is there now stays: it need not be looked at again, nor its memory copied for each fork
    gc.collect()
    gc.freeze()


def rehearse() -> None:
    """Make the page of an invented athlete."""
    from gripbook.logs import load_logs
    from gripbook.report.run.notebooks import load_notebook
    from gripbook.simulate import simulate_squad

    import_module("altair")  # notebooks of a user's own draw with it
    with tempfile.TemporaryDirectory(prefix="gripbook-rehearsal-") as name:
        simulate_squad(Path(name), 1, seed=1)
        logs = load_logs(name)
    athlete = logs.athlete_ids[0]
    parameters = {"logs": "", "athlete": athlete, "block": "", "dates": "", "share_noise": False}
    parameters["lang"] = words.language()
    athlete_logs = logs.for_athlete(athlete)
    made = make_page(
        Job("", load_notebook("block_review"), parameters, "shell", athlete, athlete_logs)
    )
    if made.failed:
        raise GripbookError(made.failed)
