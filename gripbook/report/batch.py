"""A log folder to pages: one per athlete, one for the squad, results.csv and run.json."""

from __future__ import annotations

import hashlib
import json
import os
import platform
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from dataclasses import dataclass, field
from importlib import metadata
from pathlib import Path
from typing import Any

import nbformat

from gripbook import __version__
from gripbook.errors import GripbookError, UnknownBlockError
from gripbook.logs import DateOrder, Logs
from gripbook.logs.schema import LOG_FORMAT
from gripbook.report.engine import NotebookFailedError, execute
from gripbook.report.names import page_names
from gripbook.report.notebooks import load_notebook
from gripbook.report.page import to_page
from gripbook.report.results import results_csv, results_table

#: How long one page may take before it counts as failed, in seconds.
TIMEOUT_S = 300.0
#: The squad's page reviews everybody: it may take so long for each athlete at least.
SQUAD_S_PER_ATHLETE = 4.0


@dataclass(slots=True)
class PageResult:
    """What became of one page: `status` is "rendered" or "failed"."""

    athlete: str
    page: str
    status: str
    reason: str = ""


@dataclass(slots=True)
class Run:
    """What a batch did. `failed` pages make the run fail; the others stand."""

    out: Path
    pages: list[PageResult] = field(default_factory=list)

    @property
    def failed(self) -> list[PageResult]:
        """The pages that could not be made."""
        return [p for p in self.pages if p.status == "failed"]


Progress = Callable[[PageResult, int, int], None]


def render_reports(
    logs: Logs,
    out: str | Path,
    *,
    athletes: Sequence[str] = (),
    block: str = "",
    dates: DateOrder | None = None,
    workers: int | None = None,
    engine: str = "kernel",
    timeout_s: float = TIMEOUT_S,
    progress: Progress | None = None,
) -> Run:
    """
    Render one page per athlete and the squad page.

    Parameters
    ----------
    logs : from `load_logs`; the notebooks read the same folder again.
    out : folder for the pages; made where missing.
    athletes : ids; empty: all. block : name; empty: each athlete's latest.
    dates : as given to `load_logs`.
    workers : pages made at the same time; default: one per core.
    timeout_s : a page that takes longer has failed; the squad's page is given more where there
        are many athletes.
    progress : called after each page with its result, how many are done, and how many there are.

    Returns
    -------
    Run. A page that fails leaves its half-run notebook in `out/failed/`; the others are made.

    Raises
    ------
    GripbookError : there is nothing to report, or an athlete or block asked for does not exist.
    """
    target = Path(out)
    wanted = _wanted(logs, athletes, block)
    names = page_names(logs.athlete_ids)
    target.mkdir(parents=True, exist_ok=True)
    run = Run(target)
    parameters: dict[str, Any] = {
        "logs": str(logs.folder.resolve()),
        "block": block,
        "dates": dates or "",
    }
    jobs = [("block_review", a, names[a], {**parameters, "athlete": a}) for a in wanted]
    if not athletes:
        jobs.append(("squad_review", "", "index.html", parameters))

    def make(job: tuple[str, str, str, dict[str, Any]]) -> PageResult:
        notebook, athlete, page, values = job
        limit_s = timeout_s
        if not athlete:
            limit_s = max(timeout_s, SQUAD_S_PER_ATHLETE * len(logs.athlete_ids))
        return _make_page(target, notebook, athlete, page, values, engine, limit_s)

    with ThreadPoolExecutor(max_workers=workers or os.cpu_count() or 1) as pool:
        futures = [pool.submit(make, job) for job in jobs]
        for future in as_completed(futures):
            run.pages.append(future.result())
            if progress:
                progress(run.pages[-1], len(run.pages), len(jobs))
    order = {page: i for i, (_, _, page, _) in enumerate(jobs)}
    run.pages.sort(key=lambda p: order[p.page])
    table, failures = results_table(logs, athletes=wanted, block=block)
    _write(target / "results.csv", results_csv(table))
    for page in run.pages:
        if page.athlete in failures and page.status == "rendered":
            page.reason = f"no results: {failures[page.athlete]}"
    _write(target / "run.json", json.dumps(_manifest(logs, run, block), indent=2) + "\n")
    return run


def _wanted(logs: Logs, athletes: Sequence[str], block: str) -> list[str]:
    if not logs.athlete_ids:
        raise GripbookError(
            f"{logs.folder} holds no usable row yet, so there is nothing to report. "
            f"`gripbook check {logs.folder}` lists what was refused."
        )
    for athlete in athletes:
        logs.for_athlete(athlete)  # raises and names those there are
        if block:
            logs.block_for(athlete, block)
    if athletes or not block:
        return list(
            dict.fromkeys(athletes or logs.athlete_ids)
        )  # one page each, however often asked
    planned = [b for b in logs.blocks if b.name == block]
    if not planned:
        raise UnknownBlockError(
            f"No block named {block!r} in {logs.folder}. "
            f"Blocks there: {', '.join(b.name for b in logs.blocks) or 'none'}."
        )
    return [a for a in logs.athlete_ids if any(b.holds_for(a) for b in planned)]


def _make_page(
    target: Path,
    notebook: str,
    athlete: str,
    page: str,
    parameters: dict[str, Any],
    engine: str,
    timeout_s: float,
) -> PageResult:
    kept = target / "failed" / (Path(page).stem + ".ipynb")
    try:
        done = execute(load_notebook(notebook), parameters, engine=engine, timeout_s=timeout_s)
        _write(target / page, to_page(done))
    except Exception as err:  # whatever one page dies of, the others are made
        if isinstance(err, NotebookFailedError) and err.notebook is not None:
            kept.parent.mkdir(exist_ok=True)
            _write(kept, nbformat.writes(err.notebook))
        stale = target / page
        stale.unlink(missing_ok=True)  # an old page must not pass for the new one
        return PageResult(athlete, page, "failed", f"{type(err).__name__}: {err}")
    kept.unlink(missing_ok=True)
    return PageResult(athlete, page, "rendered")


def _write(path: Path, text: str) -> None:
    """Write aside and rename, so that nobody ever reads half a file."""
    aside = path.with_name(f".{path.name}.{os.getpid()}.tmp")
    aside.write_text(text, encoding="utf-8", newline="\n")
    aside.replace(path)


def _manifest(logs: Logs, run: Run, block: str) -> dict[str, Any]:
    packages = ("altair", "nbconvert", "numpy", "pandas", "papermill", "scipy")
    blocks = sorted({b.file for b in logs.blocks if b.file})
    inputs = {r.file: r.sha256 for r in logs.reports}
    inputs |= {f: hashlib.sha256((logs.folder / f).read_bytes()).hexdigest() for f in blocks}
    return {
        "gripbook": __version__,
        "log_format": LOG_FORMAT,
        "python": platform.python_version(),
        "packages": {name: metadata.version(name) for name in packages},
        "block": block,
        "inputs": dict(sorted(inputs.items())),
        "rows": {
            "read": sum(r.rows_read for r in logs.reports),
            "used": sum(r.rows_used for r in logs.reports),
            "refused": sum(r.rows_refused for r in logs.reports),
        },
        "pages": [
            {"athlete": p.athlete, "page": p.page, "status": p.status, "reason": p.reason}
            for p in run.pages
        ],
    }
