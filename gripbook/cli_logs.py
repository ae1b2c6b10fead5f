"""The commands about log folders: new, check, adopt, add, columns."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from gripbook.cli_base import CONTEXT, Command, tell
from gripbook.words import LANGUAGES, use_language
from gripbook.writing import make_folder, write_named

if TYPE_CHECKING:
    from gripbook.logs import DateOrder

_logs_argument = click.argument("logs", type=click.Path(path_type=Path))
_dates_option = click.option(
    "--dates",
    type=click.Choice(["day-first", "month-first"]),
    help="Order of dates such as 05.12.2026, where no date of the file proves it.",
)


@click.command(
    cls=Command,
    context_settings=CONTEXT,
    epilog="""
    gripbook new winter
    gripbook check winter
    """,
)
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--sheets", is_flag=True, help="One log.xlsx with drop-downs in place of CSV files.")
def new(folder: Path, sheets: bool) -> None:
    """
    Make FOLDER, an empty log folder to fill.

    It gets one CSV file of each kind with its header and an example that isn't read, a README.txt
    that says what each column is, and a commented block.toml with a careful first block. Existing
    files are never touched.
    """
    from gripbook.logs.template import write_template

    for path in write_template(folder, tables=not sheets):
        click.echo(path)
    if sheets:
        from gripbook.sheets.workbook import write_log_book

        write_log_book(folder / "log.xlsx")
        click.echo(folder / "log.xlsx")


@click.command(
    cls=Command,
    context_settings=CONTEXT,
    epilog="""
    gripbook check winter
    gripbook check winter --all
    gripbook check winter --dates day-first
    """,
)
@_logs_argument
@click.option("--all", "every", is_flag=True, help="A line for every row, not for every fault.")
@click.option("--json", "as_json", is_flag=True, help="The same for programs, every row.")
@click.option("--quiet", is_flag=True, help="Print nothing; the exit status tells.")
@_dates_option
def check(logs: Path, every: bool, as_json: bool, quiet: bool, dates: str | None) -> None:
    """
    List every problem in the log folder LOGS: file and line, column, value, reason, remedy.

    Errors are rows that can't be used, warnings are rows that are used and look wrong. A fault that
    many rows share is one line. Exit status 1 when a row (or a block file) was refused, else 0.
    """
    from gripbook.logs import load_logs
    from gripbook.words.notes import grouped_lines, note_line
    from gripbook.words.problems import problem_line, problems_frame

    read = load_logs(logs, dates=cast("DateOrder | None", dates))
    notes = [note for report in read.reports for note in report.notes]
    errors, warnings = len(read.errors), len(read.warnings)
    if as_json:
        files = [
            {
                "file": r.file,
                "rows_read": r.rows_read,
                "rows_used": r.rows_used,
                "rows_refused": r.rows_refused,
                "rows_blank": r.rows_blank,
            }
            for r in read.reports
        ]
        said = {
            "problems": problems_frame(read.problems).to_dict("records"),
            "notes": [
                {"kind": n.kind, "file": n.file, "column": n.column, "written": n.written}
                | {"read": n.read, "rows": n.rows}
                for n in notes
            ],
            "files": files,
        }
        click.echo(json.dumps(said, ensure_ascii=False, indent=1))
    elif not quiet:
        lines = map(problem_line, read.problems) if every else grouped_lines(read.problems)
        for line in lines:
            click.echo(line)
        for note in notes:
            tell(note_line(note))
        for report in read.reports:
            blank = f", {report.rows_blank} blank" if report.rows_blank else ""
            tell(
                f"{report.file}: {report.rows_read} rows read, {report.rows_used} used, "
                f"{report.rows_refused} refused{blank}"
            )
        tell(
            f"{errors} {'error' if errors == 1 else 'errors'}, "
            f"{warnings} {'warning' if warnings == 1 else 'warnings'}"
        )
    if errors:
        sys.exit(1)


@click.command(
    cls=Command,
    context_settings=CONTEXT,
    epilog="""
    gripbook adopt training.xlsx --into winter
    gripbook adopt kim.csv lou.csv --into winter --map squad.toml
    """,
)
@click.argument(
    "files", nargs=-1, required=True, type=click.Path(path_type=Path, exists=True, dir_okay=False)
)
@click.option(
    "--into", "folder", required=True, type=click.Path(path_type=Path), help="The log folder."
)
@click.option(
    "--map",
    "map_path",
    type=click.Path(path_type=Path, dir_okay=False),
    help="The map [default: map.toml in the log folder].",
)
def adopt(files: tuple[Path, ...], folder: Path, map_path: Path | None) -> None:
    """
    Take spreadsheets of your own (FILE: .csv, .xlsx, .ods) into a log folder.

    The first run writes a map of their columns and words, with a question where it isn't sure, and
    shows what would come of it. Correct the map; the same command then writes the log files, and
    again when the spreadsheet has grown. Rows taken before are recognised, nothing is overwritten.
    Exit status 1 while questions or conflicts remain.
    """
    from gripbook.cli_adopt import adoption_lines
    from gripbook.logs.adopt import adopt as adopted

    done = adopted(files, folder, map_path=map_path)
    click.echo("\n".join(adoption_lines(done, folder)))
    if not done.settled:
        sys.exit(1)


@click.command(
    cls=Command,
    context_settings=CONTEXT,
    epilog="""
    gripbook add winter kim-2026-12-05.csv
    """,
)
@_logs_argument
@click.argument(
    "files", nargs=-1, required=True, type=click.Path(path_type=Path, exists=True, dir_okay=False)
)
def add(logs: Path, files: tuple[Path, ...]) -> None:
    """
    Append rows in log format from each FILE to the files of the log folder LOGS.

    A FILE may hold several tables, each under its header. The rows are checked first: with a faulty
    row nothing is added. Rows that are there already are recognised; a session that is there with
    other rows is shown and left as it is. Exit status 1 when anything was left out.
    """
    from gripbook.logs.add import add_files
    from gripbook.words.problems import problem_line

    done = add_files(logs, files)
    for problem in done.problems:
        click.echo(problem_line(problem))
    for conflict in done.conflicts:
        click.echo(
            f"{conflict.file}.csv has {conflict.session} already: {conflict.held} rows there, "
            f"{conflict.given} here, and they differ. Nothing of it was added. Correct the log by "
            "hand, or give the session another name."
        )
    tell(f"{done.added} rows added, {done.known} were there")
    if done.refused or done.conflicts:
        sys.exit(1)


@click.command(
    cls=Command,
    context_settings=CONTEXT,
    epilog="""
    gripbook columns
    gripbook columns hangs
    """,
)
@click.argument("names", nargs=-1, metavar="[FILE]...")
def columns(names: tuple[str, ...]) -> None:
    """
    Print the log format: each FILE (all without a name) with its columns, and results.csv.
    """
    from gripbook.logs.describe import format_text

    click.echo(format_text([name.removesuffix(".csv").lower() for name in names]))


@click.command(
    cls=Command,
    context_settings=CONTEXT,
    epilog="""
    gripbook sheet winter --athlete kim --out kim.html
    gripbook sheet winter --athlete kim --week 4 --out kim.pdf
    gripbook sheet winter --athlete kim --phone --out kim-phone.html
    """,
)
@_logs_argument
@click.option("--athlete", required=True, help="The athlete's id.")
@click.option(
    "--week",
    type=click.IntRange(min=1),
    help="A later week of the block [default: the coming one].",
)
@click.option("--block", default="", help="The block of this name [default: the latest begun].")
@click.option("--phone", is_flag=True, help="A page that collects the sets on a phone.")
@click.option(
    "--out",
    required=True,
    type=click.Path(path_type=Path, dir_okay=False),
    help="The page; on paper also a name ending in .pdf.",
)
@click.option(
    "--lang",
    type=click.Choice(LANGUAGES),
    default=LANGUAGES[0],
    show_default=True,
    help="Language of the page.",
)
@_dates_option
def sheet(
    logs: Path,
    athlete: str,
    week: int | None,
    block: str,
    phone: bool,
    out: Path,
    lang: str,
    dates: str | None,
) -> None:
    """
    Make the sheet of an athlete's coming week, or with --week of a later one.

    After a block's end the weeks are those of the next block, as it is proposed.

    One page of paper to write on, or with --phone an offline page that collects the sets and gives
    rows for `gripbook add`.

    What was tapped stays on that phone until it is cleared there. Nothing is sent.
    """
    from gripbook.logs import load_logs
    from gripbook.reviews import review
    from gripbook.sheets import paper_page, phone_page, proposed_week, sheet_plan

    if phone and out.suffix.lower() == ".pdf":
        raise click.UsageError("--phone makes a page with buttons; name a file ending in .html.")
    use_language(lang)
    read = load_logs(logs, dates=cast("DateOrder | None", dates))
    seen = review(read, athlete, block)
    proposed, later = proposed_week(seen, week)
    as_of = seen.last.date() if later else None
    plan = sheet_plan(proposed, seen.block, seen.athlete.name, as_of, seen.sets["board"])
    text = phone_page(plan, lang) if phone else paper_page(plan, lang)
    page = out.with_suffix(".html") if out.suffix.lower() == ".pdf" else out
    make_folder(page.parent)
    write_named(page, text)
    if out.suffix.lower() == ".pdf":
        from gripbook.report.run.pdf import print_pages

        failed = print_pages([page], paper="A4", workers=1, progress=lambda *_: None)
        if failed:
            raise click.ClickException(f"{out} could not be printed; {page} is there.")
    click.echo(out)
