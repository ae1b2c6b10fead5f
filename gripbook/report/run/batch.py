"""A log folder to pages: one per athlete, one for the squad, results.csv and run.json."""

from __future__ import annotations

import os
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from pathlib import Path

from gripbook import words
from gripbook.errors import GripbookError, UnknownBlockError
from gripbook.logs import DateOrder, Logs
from gripbook.logs.anonymous import Coded
from gripbook.report.bundle import BundleError, load_bundle
from gripbook.report.names import page_names
from gripbook.report.run.engine import check_engine
from gripbook.report.run.lock import folder_lock
from gripbook.report.run.manifest import (
    LogHashes,
    Manifest,
    Record,
    about_run,
    are_other_logs,
    athlete_inputs,
    first_days,
    squad_inputs,
)
from gripbook.report.run.notebooks import PageNotebooks, page_notebooks
from gripbook.report.run.places import without_places
from gripbook.report.run.work import Job, Made, isolated_page, make_page, page_of, results_again
from gripbook.report.run.workers import FEW_PAGES, Workers
from gripbook.reviews import review_squad, squad_noise
from gripbook.reviews.squad import failed_row, with_rows
from gripbook.strength import RESULT_COLUMNS, NoiseScales
from gripbook.writing import clear_asides, make_folder, set_access, write_file

#: How long one page may take before it counts as failed, in seconds.
TIMEOUT_S = 300.0
#: Most data that the making of one page may hold, in megabytes, where the system can limit it.
MEMORY_MB = 2048


@dataclass(slots=True)
class PageResult:
    """
    What became of one page: `status` is "rendered", "unchanged" (it stood there) or "failed".

    `earlier`: it failed, and the page that stands in its place is of an earlier run. `cell`: the
    code of the notebook's cell that it stopped in, "" where there is none.
    """

    athlete: str
    page: str
    status: str
    reason: str = ""
    earlier: bool = False
    cell: str = ""


@dataclass(slots=True)
class Run:
    """
    What a batch did.

    `failed` pages make the run fail; the others stand. `left`: pages of earlier runs in the folder,
    of athletes who are not in the logs. `notes`: what was set aside in the folder, in words.
    """

    out: Path
    pages: list[PageResult] = field(default_factory=list)
    left: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

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
    engine: str = "shell",
    timeout_s: float = TIMEOUT_S,
    memory_mb: int | None = MEMORY_MB,
    force: bool = False,
    executor: Executor | None = None,
    share_noise: bool = False,
    lang: str = "",
    notebooks: Sequence[str | Path] = (),
    shared: bool = False,
    codes: Mapping[str, str] | None = None,
    progress: Progress | None = None,
) -> Run:
    """
    Render one page per athlete and the squad page.

    Pages that stand in `out` and depend on nothing that has changed are left as they are. A run
    that was stopped is taken up where it stopped. The same logs give the same bytes, whatever the
    engine, the workers and the order they come in.

    Parameters
    ----------
    logs : from `load_logs`; read once for all pages. Only the kernel engine's notebooks read the
        folder again.
    out : folder for the pages; made where missing.
    athletes : ids; empty: all.
    block : name; empty: each athlete's latest.
    dates : as given to `load_logs`.
    workers : pages made at the same time; default: one per core.
    engine : "shell" runs notebooks in warm processes, "kernel" each in a Jupyter kernel.
    timeout_s : a page that takes longer has failed, and its process is killed.
    memory_mb : most data the making of a page may hold, where the system can limit it (Linux).
    force : make all pages anew, also in a folder that holds the pages of other logs.
    executor : where to make the pages instead of processes here, for example on a cluster. It has
        to pickle functions, arguments and results; the pages come back and are written here.
    share_noise : estimate over all athletes of the logs how much days differ (`squad_noise`), once;
        run.json and each page say so.
    lang : language of the pages, "en", "de" or "fr"; default: the one in use (`use_language`).
    notebooks : files of your own notebooks to make the pages with; see `page_notebooks`.
    shared : let the system's mask say who may read what is written; else the owner alone may.
    codes : a code for each athlete of the logs, which then stands in place of id and name in all
        that is written; see `gripbook.logs.anonymous`. Not with the kernel engine, whose notebooks
        read the logs themselves.
    progress : called after each page with its result, how many are done, and how many there are.

    Returns
    -------
    Run. A page that fails leaves its half-run notebook and the code of the cell it stopped in, in
    `out/failed/`; the others are made. A page of an earlier run that stands in its place stays, and
    run.json says so (`earlier`).

    Raises
    ------
    GripbookError : there is nothing to report, an athlete or block asked for does not exist, a
        notebook can't be used, or no worker could be started; the folder holds pages of other logs,
        or files that are none of ours and would be overwritten.
    FolderHeldError : another run is at work in the folder.
    NotWrittenError : the folder can't be written to, or the disk is full.
    KeyboardInterrupt : the workers are ended; what is made stands, and is found by the next run.
    """
    with words.in_language(lang or words.language()):
        check_engine(engine)
        wanted = _wanted(logs, athletes, block)
        made_with = page_notebooks(notebooks)
        coded = None
        if codes is not None:
            if engine == "kernel":
                raise GripbookError(
                    "A notebook in a kernel reads the names in the logs. Leave out --engine kernel."
                )
            coded = Coded(logs, codes)
            logs, block = coded.logs(), coded.text(block)
            wanted = sorted(codes[athlete] for athlete in wanted)
        target = Path(out)
        make_folder(target, private=not shared)
        if notebooks:  # made here and once, where it never was; a page that needs it says so
            with suppress(BundleError):
                load_bundle()
        with folder_lock(target):
            clear_asides(target, target / "failed")
            _check_ours(target, logs.folder, ["run.json"])
            noise = squad_noise(logs, block) if share_noise else None
            batch = _Batch(
                logs, target, block, dates or "", engine, noise, force, shared, progress, made_with
            )
            if coded:
                batch.name_file = coded.file
                batch.check_no_names(set(logs.athlete_ids))
            batch.check_folder()
            batch.total = len(wanted) + (not athletes)
            count = workers or os.cpu_count() or 1
            with batch.handing_to(executor, count, timeout_s, memory_mb):
                batch.make_athletes(wanted)
                if not athletes:
                    batch.make_squad(wanted)
            return batch.finish(wanted)


class _Batch:
    """One run: what it was asked, what is under way, what is done."""

    def __init__(
        self,
        logs: Logs,
        out: Path,
        block: str,
        dates: str,
        engine: str,
        noise: NoiseScales | None,
        force: bool,
        shared: bool,
        progress: Progress | None,
        notebooks: PageNotebooks,
    ) -> None:
        self.logs, self.out, self.block, self.engine = logs, out, block, engine
        self.noise, self.force, self.progress = noise, force, progress
        self.notebooks = notebooks
        self.private = not shared
        self.name_file: Callable[[str], str] = str
        self.parameters = {
            "logs": str(logs.folder.resolve()),
            "block": block,
            "dates": dates,
            "share_noise": noise is not None,
            "lang": words.language(),
        }
        self.names = page_names(logs.athlete_ids)
        self.manifest = Manifest(out, private=self.private)
        self.days = {a: first_days(logs.for_athlete(a)) for a in logs.athlete_ids}
        self.records: dict[str, Record] = {}  # by page
        self.run = Run(out, notes=self.manifest.notes)
        self.total = 0
        self._under_way: dict[Future[Made], tuple[Job, str]] = {}
        self._submit: Callable[[Job], Future[Made]]
        self._ahead = 1

    def check_no_names(self, codes: Collection[str]) -> None:
        """
        See that pages under codes come to no pages with names.

        Raises
        ------
        GripbookError : the folder has pages of athletes with no code.
        """
        named = [r.page for r in self.manifest.earlier.values() if r.athlete not in {"", *codes}]
        if named or self.manifest.left({*self.names.values(), "index.html"}):
            raise GripbookError(
                f"{self.out} holds pages with names. Name another folder with --out for the "
                "anonymous ones."
            )

    def check_folder(self) -> None:
        """
        See that nothing of somebody else's is overwritten.

        Raises
        ------
        GripbookError : the pages there are of other logs (`force` has them overwritten); or the
            pages would go in among the logs, and a file there is none of ours.
        """
        if not self.force and are_other_logs(self.manifest.earlier, self.days):
            raise GripbookError(
                f"{self.out} holds the pages of other logs than {self.logs.folder}. Name another "
                "folder with --out; or, if these are to take their place, add --force."
            )
        names = [*self.names.values(), "index.html", "results.csv"]
        _check_ours(self.out, self.logs.folder, names, self.manifest.earlier)

    @contextmanager
    def handing_to(
        self, executor: Executor | None, count: int, timeout_s: float, memory_mb: int | None
    ) -> Iterator[None]:
        """Choose who makes the pages, and end them if this ends early."""
        pool: Workers | None = None

        def to_workers(job: Job) -> Future[Made]:
            nonlocal pool
            if pool is None:  # not before there is something to make
                pool = Workers(
                    min(count, self.total),
                    timeout_s=timeout_s,
                    memory_mb=memory_mb,
                    rehearsed=self.total > FEW_PAGES,
                )
            return pool.submit(make_page, job)

        def to_executor(job: Job) -> Future[Made]:
            assert executor is not None
            return executor.submit(isolated_page, job, timeout_s, memory_mb)

        self._submit = to_workers if executor is None else to_executor
        # a few more than can be worked on, so that no worker waits; not all, for the memory
        self._ahead = 2 * count
        try:
            yield
        except BaseException:
            for future in self._under_way:
                future.cancel()
            if pool is not None:
                pool.shutdown(cancel_futures=True)
            raise
        if pool is not None:
            pool.shutdown()

    def make_athletes(self, wanted: Sequence[str]) -> None:
        """Make the athletes' pages."""
        notebook = self.notebooks.athlete
        text, hashes = str(notebook), LogHashes(self.logs)
        for athlete in wanted:
            athlete_logs = self.logs.for_athlete(athlete)
            parameters = {**self.parameters, "athlete": athlete}
            page = self.names[athlete]
            job = Job(
                page, notebook, parameters, self.engine, athlete, athlete_logs, noise=self.noise
            )
            self._begin(
                job, athlete_inputs(athlete_logs, hashes.of(athlete), text, self.block, self.noise)
            )
        self._await(0)

    def make_squad(self, wanted: Sequence[str]) -> None:
        """Make the squad's page out of what the athletes' reviews said."""
        notebook = self.notebooks.squad
        # of a block that nobody has there is the frame alone: name, last day, rows of nobody
        frame = review_squad(self.logs, "\0")
        rows = [
            record.facts.row if record.facts else failed_row(record.athlete, record.reason)
            for record in (self.records[self.names[athlete]] for athlete in wanted)
        ]
        squad = with_rows(frame, rows)
        job = Job("index.html", notebook, self.parameters, self.engine, squad=squad)
        self._begin(job, squad_inputs(squad, str(notebook)))
        self._await(0)

    def _begin(self, job: Job, inputs: str) -> None:
        standing = None if self.force else self.manifest.standing(job.page, inputs)
        if standing:
            set_access(self.out / job.page, private=self.private)
            self._done(self._with_results(standing, job), "unchanged")
            return
        self._await(self._ahead - 1)
        self._under_way[self._submit(job)] = job, inputs

    def _with_results(self, record: Record, job: Job) -> Record:
        """A page's record with its rows of results.csv, where run.json may not hold them."""
        if record.facts is None or not record.facts.private or job.logs is None:
            return record
        rows = results_again(job.logs, job.athlete, self.block, self.noise)
        return replace(record, facts=replace(record.facts, results=rows))

    def _await(self, left: int) -> None:
        """Take in pages until no more than `left` are under way."""
        while len(self._under_way) > left:
            for future in wait(self._under_way, return_when=FIRST_COMPLETED).done:
                job, inputs = self._under_way.pop(future)
                self._take(job, inputs, page_of(future, job))

    def _take(self, job: Job, inputs: str, made: Made) -> None:
        """Put a page, or what is left of it, in its place and on record."""
        kept = self.out / "failed" / Path(job.page).stem
        leftovers = {".ipynb": made.half_run, ".py": made.cell}
        for ending, text in leftovers.items():
            path = kept.with_name(kept.name + ending)
            if text:
                make_folder(path.parent, private=self.private)
                write_file(path, self._without_places(text), private=self.private)
            else:
                path.unlink(missing_ok=True)
        days = self.days.get(job.athlete, ())
        failed = self._without_places(made.failed)
        if failed:
            # a page that stood there stays, as it may be all that somebody has, on record as old
            record = Record(
                job.athlete,
                job.page,
                "failed",
                failed,
                inputs,
                facts=made.facts,
                earlier=(self.out / job.page).is_file(),
                days=days,
            )
        else:
            sha256 = write_file(self.out / job.page, made.html, private=self.private)
            reason = made.facts.failed if made.facts else ""
            reason = f"no results: {reason}" if reason else ""
            record = Record(
                job.athlete,
                job.page,
                "rendered",
                reason,
                inputs,
                sha256,
                made.facts,
                days=days,
            )
        self.manifest.add(record)
        self._done(record, record.status, made.cell)

    def _without_places(self, text: str) -> str:
        """What is kept of a failed page, without a path of this machine."""
        return without_places(text, self.logs.folder, self.out)

    def _done(self, record: Record, status: str, cell: str = "") -> None:
        self.records[record.page] = record
        self.run.pages.append(
            PageResult(record.athlete, record.page, status, record.reason, record.earlier, cell)
        )
        if self.progress:
            self.progress(self.run.pages[-1], len(self.run.pages), self.total)

    def finish(self, wanted: Sequence[str]) -> Run:
        """Write results.csv and run.json."""
        order = [self.names[a] for a in wanted] + ["index.html"]
        self.run.pages.sort(key=lambda p: order.index(p.page))
        records = [self.records[p.page] for p in self.run.pages]
        header = ",".join(RESULT_COLUMNS) + "\n"
        rows = "".join(r.facts.results for r in records if r.facts)
        write_file(self.out / "results.csv", header + rows, private=self.private)
        self.run.left = self.manifest.left({*self.names.values(), "index.html"})
        about = about_run(self.logs, self.block, self.noise, self.name_file)
        self.manifest.finish(about, records, self.run.left)
        return self.run


#: What stands in every page of ours, and in no other file.
_MARK = b'<main id="page" data-values="'


def _check_ours(out: Path, logs: Path, names: Iterable[str], earlier: Collection[str] = ()) -> None:
    """See that among the logs nothing is overwritten but what a run wrote."""
    place, among = out.resolve(), logs.resolve()
    if among != place and among not in place.parents:
        return
    theirs = [name for name in names if not _is_ours(out / name, earlier)]
    if theirs:
        raise GripbookError(
            f"{out} is in the log folder and holds {theirs[0]}, which gripbook didn't write and "
            "would overwrite. Name another folder with --out."
        )


def _is_ours(path: Path, earlier: Collection[str]) -> bool:
    """Whether what stands at a name of a folder of pages, if anything does, was written here."""
    if not os.path.lexists(path) or path.name in earlier:
        return True
    if not path.is_file():
        return False
    data = path.read_bytes()
    if path.suffix == ".html":
        return _MARK in data
    if path.name == "results.csv":
        return data.startswith(",".join(RESULT_COLUMNS).encode() + b"\n")
    return data.startswith(b'{\n  "gripbook": ')


def _wanted(logs: Logs, athletes: Sequence[str], block: str) -> list[str]:
    if not logs.athlete_ids:
        raise GripbookError(
            f"{logs.folder} holds no usable row yet, so there is nothing to report. "
            f"`gripbook check {logs.folder}` lists what was refused."
        )
    for athlete in athletes:
        logs.check_athlete(athlete)
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
