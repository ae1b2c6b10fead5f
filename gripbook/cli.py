"""The command line: parse, call one public function, print. Results go to standard output."""

from __future__ import annotations

import math
import os
import sys
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from textwrap import indent
from typing import TYPE_CHECKING, Any, cast

import click

from gripbook import __version__
from gripbook.cli_base import CONTEXT as _CONTEXT
from gripbook.cli_base import Command as _Command
from gripbook.cli_base import tell
from gripbook.cli_logs import add, adopt, check, columns, new, sheet
from gripbook.errors import GripbookError
from gripbook.words import LANGUAGES, use_language
from gripbook.writing import write_named

if TYPE_CHECKING:
    import datetime as dt

    from gripbook.logs import DateOrder, Logs
    from gripbook.report.run.batch import Run
    from gripbook.strength import NoiseScales


def _dates_option(function: Callable[..., Any]) -> Callable[..., Any]:
    return click.option(
        "--dates",
        type=click.Choice(["day-first", "month-first"]),
        help="Order of dates such as 05.12.2026; without it they are refused, never guessed.",
    )(function)


def _share_noise_option(function: Callable[..., Any]) -> Callable[..., Any]:
    return click.option(
        "--share-noise",
        is_flag=True,
        help="Estimate over the whole squad how much good and bad days differ; the ranges of one "
        "athlete then depend on the logs of the others.",
    )(function)


def _shared_noise(logs: Logs, block: str) -> NoiseScales:
    from gripbook.reviews import squad_noise

    noise = squad_noise(logs, block)
    tell(
        f"Noise shared over {noise.athletes} athletes: days differ by "
        f"{100 * math.hypot(noise.day, noise.capacity_day):.1f} % (SD)."
    )
    return noise


def _logs_argument(function: Callable[..., Any]) -> Callable[..., Any]:
    return click.argument("logs", type=click.Path(path_type=Path))(function)


def _read(folder: Path, dates: str | None) -> Logs:
    from gripbook.logs import load_logs

    return load_logs(folder, dates=cast("DateOrder | None", dates))


def _tell_refused(logs: Logs) -> None:
    refused = sum(r.rows_refused for r in logs.reports)
    read = sum(r.rows_read for r in logs.reports)
    if refused or logs.errors:
        tell(
            f"{refused} of {read} rows could not be used; "
            f"`gripbook check {logs.folder}` lists them with what to do."
        )


@click.group(context_settings=_CONTEXT)
@click.version_option(__version__, prog_name="gripbook")
def main() -> None:
    """
    Turn the CSV logs of climbers' finger-strength blocks into evidence.

    Was the block done, did each grip and hand get stronger, did the dose keep to its limits.
    """
    from gripbook.report import claim_process

    claim_process()
    # the matrices of one athlete are small: threads would wait for each other more than they work
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")


for _command in (new, check, adopt, add, columns, sheet):
    main.add_command(_command)


@main.command(
    cls=_Command,
    context_settings=_CONTEXT,
    epilog="""
    gripbook results winter
    gripbook results winter --out results.csv
    gripbook results winter --json
    gripbook results winter --xlsx results.xlsx
    gripbook results winter --diagnostics
    """,
)
@_logs_argument
@click.option("--out", type=click.Path(path_type=Path), help="Write to this file.")
@click.option(
    "--xlsx",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write a spreadsheet file with sheets of results, tests, weeks and plan instead.",
)
@click.option("--json", "as_json", is_flag=True, help="The rows as a JSON list of objects.")
@click.option(
    "--diagnostics",
    is_flag=True,
    help="How often sets were completed against the chance given beforehand, instead of results.",
)
@click.option("--block", default="", help="Only the block of this name.")
@_share_noise_option
@_dates_option
def results(
    logs: Path,
    out: Path | None,
    xlsx: Path | None,
    as_json: bool,
    diagnostics: bool,
    block: str,
    share_noise: bool,
    dates: str | None,
) -> None:
    """
    Print results.csv: one row per athlete, block, capacity, grip and hand, without rendering.
    """
    from gripbook.report.results import (
        chances_in_words,
        diagnostics_csv,
        diagnostics_table,
        results_csv,
        results_table,
        table_json,
    )

    if diagnostics and xlsx is not None:
        raise click.UsageError("--xlsx holds results; give --diagnostics with --out or alone.")
    loaded = _read(logs, dates)
    noise = _shared_noise(loaded, block) if share_noise else None
    told: list[str] = []
    if diagnostics:
        table, odd, failures = diagnostics_table(loaded, block=block, noise=noise)
        told = [*chances_in_words(table), *odd]
        text = diagnostics_csv(table)
    else:
        table, failures = results_table(loaded, block=block, noise=noise)
        text = results_csv(table)
    if as_json:
        text = table_json(table, text)
    if xlsx is not None:
        from gripbook.sheets.results_book import write_results_book

        write_results_book(xlsx, loaded, table, block)
        tell(f"Results, tests, weeks and plan: {xlsx}")
    if out is None and xlsx is None:
        click.echo(text, nl=False)
    elif out is not None:
        write_named(out, text)
    for line in told:
        tell(line)
    _tell_refused(loaded)
    for athlete, reason in failures.items():
        tell(f"{athlete}: no results: {reason}")
    if failures:
        sys.exit(1)


@main.command(
    "next",
    cls=_Command,
    context_settings=_CONTEXT,
    epilog="""
    gripbook next winter
    gripbook next winter --athlete kim --out block-next.toml
    gripbook next winter --week
    gripbook next winter --week --out week.csv
    gripbook next winter --athlete kim --json
    """,
)
@_logs_argument
@click.option("--athlete", "athletes", multiple=True, help="Only this athlete; may be repeated.")
@click.option("--block", default="", help="After the block of this name [default: the latest].")
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write the block file (with --week: the table) here; one for each athlete, with the "
    "athlete's name in it, where there are several.",
)
@click.option(
    "--week",
    is_flag=True,
    help="The running week's open sessions; where none are open, the week after the last logged "
    "day.",
)
@click.option("--json", "as_json", is_flag=True, help="The sessions as a JSON list of objects.")
@click.option("--choices", is_flag=True, help="Also print the choices behind the proposal.")
@click.option(
    "--start",
    type=click.DateTime(["%Y-%m-%d"]),
    help="First day of the next block [default: the first such weekday after block and log].",
)
@_dates_option
def propose(
    logs: Path,
    athletes: tuple[str, ...],
    block: str,
    out: Path | None,
    week: bool,
    as_json: bool,
    choices: bool,
    start: dt.datetime | None,
    dates: str | None,
) -> None:
    """
    Propose the next block after the log folder LOGS, week by week and session by session.

    Loads with their reason, the rule for adding, easier weeks and tests.

    With --out a block file with targets by week is written for a coach to edit. For anyone under
    18, and where pain asks to hold, none is. With --week the same for the coming week alone.
    """
    from gripbook.report.next_block import (
        next_files,
        next_json,
        next_table,
        next_text,
        proposals,
    )

    if week and start is not None:
        raise click.UsageError("--start is for a block; --week follows the log's last day.")
    loaded = _read(logs, dates)
    _tell_refused(loaded)
    day = start.date() if start else None
    made = proposals(loaded, athletes, block=block, week=week, start=day)
    if as_json:
        click.echo(next_json(made), nl=False)
    else:
        click.echo("\n".join(next_text(plan, choices=choices) for plan in made), nl=False)
    if out is None:
        return
    if week:
        write_named(out, next_table(made))
        tell(f"The week as a table: {out}")
        return
    for path, text in next_files(made, out):
        write_named(path, text)
        tell(
            "Block file to edit (in the log folder it stands beside the last one, both called "
            f"block-NAME.toml): {path}"
        )
    for proposal in made:
        if proposal.block is None:
            tell(f"{proposal.athlete}: no block file, since no load is proposed; see above.")


@main.command(
    cls=_Command,
    context_settings=_CONTEXT,
    epilog="""
    gripbook design winter
    gripbook design winter --athlete kim --out design.html
    gripbook design block-next.toml
    gripbook design winter --json
    """,
)
@click.argument("logs", type=click.Path(path_type=Path))
@click.option("--athlete", "athletes", multiple=True, help="Only this athlete; may be repeated.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Also write the charts to this HTML file.",
)
@click.option("--json", "as_json", is_flag=True, help="The figures as a JSON list of objects.")
@_dates_option
def design(
    logs: Path,
    athletes: tuple[str, ...],
    out: Path | None,
    as_json: bool,
    dates: str | None,
) -> None:
    """
    Tell the smallest rise that the coming block of LOGS could show, before it is done.

    With the planned sets and test days, and what other ways of logging would buy: what is left
    noted, one edge, a second test day. LOGS is a log folder, or a block file alone.
    """
    from gripbook.report.design import design_file, design_json, design_page, design_text, designs

    if logs.is_file():
        if athletes:
            raise click.UsageError("--athlete needs a log folder; a block file has no athlete.")
        made = [design_file(logs)]
    else:
        found = _read(logs, dates)
        _tell_refused(found)
        made = designs(found, athletes)
    click.echo(design_json(made) if as_json else "\n".join(map(design_text, made)), nl=False)
    if out is not None:
        write_named(out, design_page(made))
        tell(f"The charts: {out}")


@main.command(
    cls=_Command,
    context_settings=_CONTEXT,
    epilog="""
    gripbook report winter --out pages
    gripbook report winter --out pages --athlete kim --athlete lou
    gripbook report winter --block "Winter fingers" --workers 4
    gripbook report winter --force
    gripbook report winter --notebook mine.ipynb
    gripbook report winter --anonymous --out for-the-study
    """,
)
@_logs_argument
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for the pages [default: reports/NAME OF LOGS].",
)
@click.option("--athlete", "athletes", multiple=True, help="Only this athlete; may be repeated.")
@click.option("--block", default="", help="The block of this name [default: the latest begun].")
@click.option("--workers", type=click.IntRange(1), help="Pages at a time [default: one per core].")
@click.option(
    "--timeout-s",
    type=click.FloatRange(1),
    default=300.0,
    show_default=True,
    help="Seconds a page may take.",
)
@click.option(
    "--memory-mb",
    type=click.IntRange(256),
    default=2048,
    show_default=True,
    help="Megabytes a page may take (kept on Linux).",
)
@click.option(
    "--force",
    is_flag=True,
    help="Make pages anew that nothing has changed for, and write over pages of other logs.",
)
@click.option(
    "--shared",
    is_flag=True,
    help="Let others on this machine read what is written, as your system's mask says; else only "
    "you can.",
)
@click.option(
    "--anonymous",
    is_flag=True,
    help="Codes in place of ids and names; which is whose stands in a key file outside the folder.",
)
@click.option(
    "--key",
    type=click.Path(path_type=Path, dir_okay=False),
    help="With --anonymous: the key file [default: DIR-key.csv beside the folder].",
)
@click.option(
    "--engine",
    type=click.Choice(["shell", "kernel"]),
    default="shell",
    show_default=True,
    help="What runs the notebooks: warm processes, or a Jupyter kernel for each.",
)
@click.option(
    "--notebook",
    "notebooks",
    multiple=True,
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
    help="Make the pages with this notebook of your own: an athlete's if it has a parameter "
    "`athlete`, else the squad's; may be repeated.",
)
@click.option("--scheduler", metavar="ADDRESS", help="Make the pages on a dask cluster.")
@click.option(
    "--pdf", is_flag=True, help="Also print each page to a PDF, by an installed Chromium."
)
@click.option("--full", is_flag=True, help="With --pdf: print what is folded too.")
@click.option(
    "--paper",
    type=click.Choice(["A4", "Letter"]),
    default="A4",
    show_default=True,
    help="Paper of the PDFs.",
)
@click.option(
    "--lang",
    type=click.Choice(LANGUAGES),
    default=LANGUAGES[0],
    show_default=True,
    help="Language of the pages.",
)
@_share_noise_option
@_dates_option
def report(
    logs: Path,
    out: Path | None,
    athletes: tuple[str, ...],
    block: str,
    dates: str | None,
    scheduler: str | None,
    lang: str,
    pdf: bool,
    full: bool,
    paper: str,
    anonymous: bool,
    key: Path | None,
    memory_mb: int,
    **options: Any,
) -> None:
    """
    Render one page per athlete and the squad page from the log folder LOGS.

    Writes DIR/<athlete>.html, DIR/index.html, DIR/results.csv and DIR/run.json. Pages that nothing
    has changed for are left as they are; a run that was stopped is taken up where it stopped.
    Refused rows are told and do not fail the run. Exit status 1 when a page or its PDF failed,
    else 0.
    """
    if key and not anonymous:
        raise click.UsageError("--key is for codes: give --anonymous as well.")
    if full and not pdf:
        raise click.UsageError("--full says how PDFs are printed: give --pdf as well.")
    if pdf:
        from gripbook.report.run.pdf import find_chromium

        find_chromium()  # told before the work, not after it
    from gripbook.report.run.workers import FEW_PAGES, started_early

    use_language(lang)
    with ExitStack() as stack:
        if 0 < len(athletes) <= FEW_PAGES and not scheduler:
            stack.enter_context(started_early(memory_mb))
        loaded = _read(logs, dates)
        _tell_refused(loaded)
        target = out or Path("reports") / loaded.folder.resolve().name
        options |= {"athletes": athletes, "block": block, "dates": dates, "memory_mb": memory_mb}
        if anonymous:
            options["codes"] = _codes(loaded, target, key)
        run = _render(loaded, target, scheduler, **options)
    printed = not pdf or _print_pages(run, paper, options["workers"], full=full)
    if run.failed or not printed:
        sys.exit(1)


@main.command(
    cls=_Command,
    context_settings=_CONTEXT,
    epilog="""
    gripbook notebooks mine
    gripbook report winter --notebook mine/block_review.ipynb
    """,
)
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path, file_okay=False))
def notebooks(folder: Path) -> None:
    """
    Copy the notebooks of the pages into DIR, to change them and make pages with your own.

    No file is written over. Cells tagged notebook-only are for you: a page neither runs nor shows
    them.
    """
    from gripbook.report.run.notebooks import copy_notebooks

    copies = copy_notebooks(folder)
    for path in copies:
        click.echo(path)
    named = {path.stem: path for path in copies}
    tell("Change one, in JupyterLab or any editor, then make pages with it:")
    for name, pages in (("block_review", "each athlete's page"), ("squad_review", "the squad's")):
        tell(f"  gripbook report LOGS --notebook {named[name]}   ({pages})")


def _codes(logs: Logs, out: Path, key: Path | None) -> dict[str, str]:
    """A code for each athlete, from the key file, which is made or added to."""
    from gripbook.logs.anonymous import read_key

    path = key or out.with_name(f"{out.resolve().name}-key.csv")
    if out.resolve() in path.resolve().parents:
        raise click.UsageError(f"{path} would go with the pages. Name a key outside {out}.")
    codes = read_key(path, logs.athlete_ids)
    tell(f"Who is who: {path}. Keep it apart from the pages.")
    return codes


#: So many pages of earlier runs are named.
_LEFT_SHOWN = 5


def _render(logs: Logs, out: Path, scheduler: str | None = None, **options: Any) -> Run:
    """Render with progress on standard error."""
    from gripbook.report.run.batch import render_reports
    from gripbook.report.run.progress import Progress

    with ExitStack() as stack:
        if scheduler:
            from gripbook.report.run.cluster import executor_at

            options["executor"], slots = stack.enter_context(executor_at(scheduler))
            options["workers"] = options.get("workers") or slots
        progress = stack.enter_context(Progress(sys.stderr))
        try:
            run = render_reports(logs, out, progress=progress, **options)
        except KeyboardInterrupt:
            stack.close()
            tell("Stopped. The pages made so far stand; the same command makes the others.")
            sys.exit(130)
    for note in run.notes:
        tell(note)
    cells: set[str] = set()
    for page in run.pages:
        if page.reason:
            tell(f"{page.athlete or 'squad'}: {page.status}: {page.reason}")
        if page.cell and page.cell not in cells:  # once, though many pages may stop in it
            cells.add(page.cell)
            tell(indent(page.cell.strip(), "    "))
        if page.earlier:
            tell(f"{page.athlete or 'squad'}: {page.page} there is of an earlier run.")
    kept = sum(page.status == "unchanged" for page in run.pages)
    made = len(run.pages) - len(run.failed)
    tell(f"{made} of {len(run.pages)} pages in {out}" + (f", {kept} unchanged" if kept else ""))
    if run.left:
        more = ["\u2026"] if len(run.left) > _LEFT_SHOWN else []
        few = ", ".join([*run.left[:_LEFT_SHOWN], *more])
        pages = "1 page" if len(run.left) == 1 else f"{len(run.left)} pages"
        tell(
            f"{pages} of an earlier run still in the folder, of nobody in these logs: {few}. "
            "Delete what is not needed."
        )
    if run.failed:
        tell(f"What was left of those that failed is in {out / 'failed'}")
    index = out / "index.html"
    click.echo(index if index.exists() and not options.get("athletes") else out)
    return run


def _print_pages(run: Run, paper: str, workers: int | None, *, full: bool) -> bool:
    """Print the pages of a run that have no PDF of their own yet; whether all have one now."""
    from gripbook.report.run.pdf import Paper, is_current, print_pages

    pages = [run.out / p.page for p in run.pages if p.status != "failed"]
    due = [page for page in pages if not is_current(page, cast("Paper", paper), full=full)]

    def printed(pdf: Path, reason: str) -> None:
        tell(f"{pdf.name}: {reason or 'printed'}")

    try:
        failed = print_pages(
            due,
            paper=cast("Paper", paper),
            full=full,
            workers=workers or os.cpu_count() or 1,
            progress=printed,
        )
    except KeyboardInterrupt:
        tell("Stopped. What is printed so far stands; the same command prints the rest.")
        sys.exit(130)
    kept = len(pages) - len(due)
    tell(
        f"{len(pages) - len(failed)} of {len(pages)} pages printed"
        + (f", {kept} before" if kept else "")
    )
    return not failed


@main.command(
    cls=_Command,
    context_settings=_CONTEXT,
    epilog="""
    gripbook forget kim --in pages
    """,
)
@click.argument("athlete", metavar="ID")
@click.option(
    "--in",
    "folder",
    required=True,
    type=click.Path(path_type=Path, file_okay=False, exists=True),
    help="The folder of pages.",
)
def forget(athlete: str, folder: Path) -> None:
    """
    Remove the athlete ID from a folder of pages.

    Pages, PDFs, what was left of failed ones, the lines in results.csv and run.json, and the squad
    page, which `gripbook report` makes anew. The logs are not touched, nor any copy elsewhere.
    """
    from gripbook.report.run.forget import forget as forgotten

    for removed in forgotten(athlete, folder):
        click.echo(f"removed: {removed}")
    tell(
        f"{athlete} still stands in the logs, and in copies of the pages that were sent, printed "
        "or backed up. Take the rows out of the logs before the next `gripbook report`; delete the "
        "copies by hand."
    )


@main.command(
    cls=_Command,
    context_settings=_CONTEXT,
    epilog="""
    gripbook explore winter
    gripbook explore winter --athlete kim
    """,
)
@_logs_argument
@click.option("--athlete", default="", help="This athlete [default: the first one].")
@click.option("--block", default="", help="The block of this name [default: the latest begun].")
@click.option(
    "--browser/--no-browser", default=True, help="Open it in the browser, or only say where."
)
@_dates_option
def explore(logs: Path, athlete: str, block: str, browser: bool, dates: str | None) -> None:
    """
    Open a notebook on the log folder LOGS, to choose, compare and ask what if.

    Copies explore.ipynb into LOGS (with --athlete: explore-ID.ipynb) and starts JupyterLab on it;
    a copy that is there keeps your cells, and is run anew when the logs are newer. No network is
    needed. Needs JupyterLab, which comes with the extra `lab`.
    """
    from gripbook.explore.start import explore as start

    tell(start(logs, athlete=athlete, block=block, dates=dates or "", browser=browser, say=tell))


@main.command(
    cls=_Command,
    context_settings=_CONTEXT,
    epilog="""
    gripbook demo
    gripbook demo try-it
    """,
)
@click.argument("folder", type=click.Path(path_type=Path), default=Path("gripbook-demo"))
def demo(folder: Path) -> None:
    """
    Write the logs of an invented squad to FOLDER/logs and their pages to FOLDER/pages.
    """
    from gripbook.simulate import write_demo

    logs = folder / "logs"
    if logs.exists() and any(logs.iterdir()):
        raise GripbookError(f"{logs} exists and is not empty. Name another folder.")
    write_demo(logs)
    loaded = _read(logs, None)
    _tell_refused(loaded)
    if _render(loaded, folder / "pages").failed:
        sys.exit(1)


if __name__ == "__main__":
    main()
