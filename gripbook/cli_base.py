"""What every command of the command line shares."""

from __future__ import annotations

import errno
from typing import Any, Final

import click

from gripbook.errors import GripbookError
from gripbook.visible import visible
from gripbook.writing import not_written, write_refused

CONTEXT: Final = {"help_option_names": ["-h", "--help"], "max_content_width": 100}


class Command(click.Command):
    """A command whose help keeps the layout of its examples, and whose errors are ours."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run, and print what our own errors and those of the system say."""
        try:
            return super().invoke(ctx)
        except GripbookError as err:
            raise click.ClickException(_said(err)) from err
        except OSError as err:
            if err.errno == errno.EPIPE:  # whoever read the output has gone: click ends in silence
                raise
            if not err.filename or write_refused(err):
                where = err.filename or "What the command prints"
                raise click.ClickException(str(not_written(where, err))) from err
            raise click.ClickException(
                f"{err.filename} can't be used: {err.strerror}. Check the path and who may use it."
            ) from err

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the examples line by line."""
        if self.epilog:
            formatter.write("\n")
            with formatter.section("Examples"):
                for line in self.epilog.strip().splitlines():
                    formatter.write(f"  {line.strip()}\n")


def _said(error: GripbookError) -> str:
    """What an error says; a refused file speaks as it does in `gripbook check`."""
    from gripbook.logs.bounds import FileRefusedError  # only after a failure is it worth loading
    from gripbook.words.problems import problem_line

    return problem_line(error.problem) if isinstance(error, FileRefusedError) else str(error)


def tell(text: str) -> None:
    """Print to standard error: what isn't a result."""
    click.echo(visible(text), err=True)
